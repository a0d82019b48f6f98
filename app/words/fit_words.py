"""What collides, and how the chassis stands, in words for people and in plain values for machines."""

from __future__ import annotations

from typing import Any

from app.units import LengthUnit, degrees, show_angle, show_length, show_number
from geometry.model.design import Design
from geometry.packaging.fit import Collision, Fit, Thing
from geometry.packaging.solids import hull_of, knows_heights
from geometry.packaging.weights import GRAVITY, Balance

_WAYS = {
    ("x", 1): "forward",
    ("x", -1): "backward",
    ("y", 1): "to the left",
    ("y", -1): "to the right",
    ("z", 1): "up",
    ("z", -1): "down",
}
NULL_MEANS = (
    "null stands for what there is none of: weights and tipping of a chassis without masses, weights that "
    "the wheels could only hold by pulling, the wheel that steers into a thing where nothing turns"
)
# A depth below this is told as this: so that no way out reads as 0 [mm].
_SHOWN_LEAST = 0.01


def thing_words(design: Design, thing: Thing) -> str:
    """Name one of two that collide, such as ``the wheel front right``."""
    match thing.kind:
        case "part":
            return design.packaging.parts[thing.index].name
        case "wheel":
            return f"the wheel {design.wheels[thing.index].name}"
        case "wall":
            return f"the {hull_of(design).side_of(thing.index)} wall"
        case "opening":
            face = design.packaging.openings[thing.index].face
            return f"opening {thing.index + 1} ({face})"
        case _:
            return f"the {thing.kind}"


def collision_words(design: Design, one: Collision, unit: LengthUnit = "mm") -> str:
    """Say which two collide, how near they come, when, and the shortest way out, as one sentence."""
    first, second = thing_words(design, one.first), thing_words(design, one.second)
    if one.second.kind == "opening":
        how = f"{first} does not pass {second}"
    elif one.clearance > 0:
        apart = show_length(one.clearance, unit)
        how = f"{first} comes within {apart} of {second}, and {show_length(one.wanted, unit)} is wanted"
    else:
        how = f"{first} and {second} overlap"
    shift = show_length(max(one.depth, _SHOWN_LEAST), unit)
    way = f"shortest way out: {first} {shift} {_WAYS[one.axis, one.sign]}"
    return f"{how}{_when(design, one)}; {way}"


def _when(design: Design, one: Collision) -> str:
    if one.wheel is None:
        return ""
    since = ""
    if one.steer is not None:
        hand = "straight ahead" if abs(degrees(one.steer)) < 0.05 else f"at {show_angle(one.steer)}"
        since = f", first with {design.wheels[one.wheel].name} {hand}"
    return f" at this turn{since}" if one.now else f" while it steers{since}"


def balance_lines(design: Design, balance: Balance | None, unit: LengthUnit = "mm") -> list[str]:
    """Say how heavy it is, where the centre of mass is, what each wheel carries, and when it tips."""
    if balance is None:
        return ["No masses are given, so there are no weights to tell."]
    x, y, z = (show_length(float(v), unit) for v in balance.centre)
    lines = [f"Mass {show_number(balance.mass, 3)} kg, centre of mass at x {x}, y {y}, {z} above the ground."]
    if balance.loads is None:
        lines.append("It does not stand: the centre of mass is not above the wheels.")
    else:
        lines.append("Weight on each wheel, as by equal springs:")
        names = [wheel.name for wheel in design.wheels]
        wide = max(map(len, names))
        for n, name in enumerate(names):
            load = float(balance.loads[n])
            note = "  lifted" if n in balance.lifted else ""
            lines.append(f"  {name.ljust(wide)}  {show_number(load, 2)} N ({kilograms(load)} kg){note}")
    side = balance.least_tipping
    if side is not None:
        a, b = (design.wheels[n].name for n in (side.first, side.second))
        margin = show_length(side.margin, unit)
        lean = show_angle(side.angle)
        lines.append(f"It tips first over {a} and {b}, when it leans by {lean}; {margin} are left there.")
    return lines


def kilograms(newtons: float) -> str:
    """How many kilograms a weight is, as a number."""
    return show_number(newtons / GRAVITY, 3)


def text_of(design: Design, fit: Fit, turn: float) -> str:
    """Write what collides, and how the chassis stands."""
    packaging = design.packaging
    parts = "1 part" if len(packaging.parts) == 1 else f"{len(packaging.parts)} parts"
    wheels = "1 wheel" if len(design.wheels) == 1 else f"{len(design.wheels)} wheels"
    body = "" if design.body_mm else ", no body"
    lines = [f"{design.name}: {parts}, {wheels}{body}, at turn {show_number(turn, 4)} and over all travel."]
    if fit.fits:
        lines.append("FITS. Nothing collides.")
    else:
        count = len(fit.collisions)
        told = "1 collision:" if count == 1 else f"{count} collisions, the deepest first:"
        lines.append(f"DOES NOT FIT. {told}")
        lines += [f"  {collision_words(design, one)}." for one in fit.collisions]
    if design.body_mm and not knows_heights(design):
        lines.append("No parts and no heights of the body are given, so the body was not looked at.")
    return "\n".join([*lines, "", *balance_lines(design, fit.balance), ""])


def values_of(design: Design, fit: Fit, turn: float) -> dict[str, Any]:
    """Give the same as plain values for JSON, with the unit in each name."""
    return {
        "chassis": design.name,
        "turn_input": turn,
        "fits": fit.fits,
        "null_means": NULL_MEANS,
        "collisions": [_collision_values(design, one) for one in fit.collisions],
        "balance": None if fit.balance is None else _balance_values(design, fit.balance),
    }


def _collision_values(design: Design, one: Collision) -> dict[str, Any]:
    return {
        "first": _thing_values(design, one.first),
        "second": _thing_values(design, one.second),
        "clearance_mm": _rounded(one.clearance),
        "wanted_mm": _rounded(one.wanted),
        "way_out": {"axis": one.axis, "shift_mm": _rounded(one.sign * one.depth)},
        "at_this_turn": one.now,
        "wheel": None if one.wheel is None else design.wheels[one.wheel].name,
        "first_steer_deg": None if one.steer is None else _rounded(degrees(one.steer)),
        "sentence": collision_words(design, one),
    }


def _thing_values(design: Design, thing: Thing) -> dict[str, Any]:
    values: dict[str, Any] = {"kind": thing.kind, "index": thing.index}
    if thing.kind == "part":
        values["name"] = design.packaging.parts[thing.index].name
    elif thing.kind == "wheel":
        values["name"] = design.wheels[thing.index].name
    return values


def _balance_values(design: Design, balance: Balance) -> dict[str, Any]:
    names = [wheel.name for wheel in design.wheels]
    loads = None
    if balance.loads is not None:
        loads = [
            {"wheel": name, "load_n": _rounded(float(balance.loads[n])), "lifted": n in balance.lifted}
            for n, name in enumerate(names)
        ]
    x, y, z = (_rounded(float(v)) for v in balance.centre)
    return {
        "mass_kg": _rounded(balance.mass),
        "centre_of_mass_mm": {"x": x, "y": y, "z": z},
        "weights": loads,
        "tipping": [
            {
                "over": [names[side.first], names[side.second]],
                "margin_mm": _rounded(side.margin),
                "angle_deg": _rounded(degrees(side.angle)),
            }
            for side in balance.tipping
        ],
    }


def _rounded(value: float) -> float:
    return round(value, 6) + 0.0
