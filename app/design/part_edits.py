"""Edits of parts, of the body in height and of its openings: from design to design, validated as a whole.

Every function raises `DesignError` when the edited design breaks a rule.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from typing import Any, Literal

from app.design.edits import ON_CENTRE_LINE_MM, PARTNER_WITHIN_MM
from geometry.model.design import Design
from geometry.model.packaging import SIZES, Opening, Packaging, Part, PartKind, Shape
from geometry.model.part_outline import box_of, plan_size, tall

Align = Literal["front", "rear", "left", "right", "middle", "centre line", "bottom"]
ALIGNS: tuple[Align, ...] = ("front", "rear", "left", "right", "middle", "centre line", "bottom")

# Length, width, height of a new part, as they are common in small robots [mm].
_USUAL: dict[PartKind, tuple[float, float, float]] = {
    "controller": (70.0, 50.0, 15.0),
    "battery": (75.0, 35.0, 25.0),
    "motor": (40.0, 20.0, 38.0),
    "gear box": (30.0, 30.0, 30.0),
    "other": (40.0, 40.0, 20.0),
}
# How far a body of which nothing is known stands above the wheels below it [mm].
_ABOVE_WHEELS = 5.0


# Parts ------------------------------------------------------------------------------------


def add_part(design: Design, kind: PartKind, x_mm: float, y_mm: float) -> Design:
    """Add a box of a usual size on the floor of the body, with a fresh name such as "battery 2"."""
    length, width, height = _USUAL[kind]
    packaging = design.packaging
    if packaging == Packaging():
        packaging = _first_heights(design)
    part = {
        "name": _fresh(design, kind),
        "kind": kind,
        "x_mm": x_mm,
        "y_mm": y_mm,
        "bottom_mm": packaging.floor_mm + packaging.wall_mm,
        "length_mm": length,
        "width_mm": width,
        "height_mm": height,
    }
    return _with_parts(
        design, (*packaging.parts, part), floor_mm=packaging.floor_mm, roof_mm=packaging.roof_mm
    )


def _first_heights(design: Design) -> Packaging:
    """Heights of a body of which none were given: above the wheels where one stands below it."""
    usual = Packaging()
    if not design.body_mm or not design.wheels:
        return usual
    x, y = [corner[0] for corner in design.body_mm], [corner[1] for corner in design.body_mm]
    below = [
        wheel.diameter_mm
        for wheel in design.wheels
        if min(x) < wheel.x_mm + wheel.diameter_mm / 2
        and wheel.x_mm - wheel.diameter_mm / 2 < max(x)
        and min(y) < wheel.y_mm + wheel.width_mm / 2
        and wheel.y_mm - wheel.width_mm / 2 < max(y)
    ]
    if not below or max(below) <= usual.floor_mm:
        return usual
    floor = math.ceil(max(below)) + _ABOVE_WHEELS
    return usual.edited(floor_mm=floor, roof_mm=floor + usual.roof_mm - usual.floor_mm)


def change_parts(design: Design, indices: Iterable[int], *, mirror: bool = False, **fields: Any) -> Design:
    """Set fields of several parts, with `mirror` of their partners too; references follow a changed name.

    Another shape takes the sizes that it has from those that there were.
    """
    chosen = dict.fromkeys(indices)
    changes = {i: _suited(design.packaging.parts[i], fields) for i in chosen}
    if mirror:
        partners = {i: part_partner(design, i) for i in chosen}
        for partner in partners.values():
            if partner is not None and partner not in chosen:
                other = {
                    key: value for key, value in fields.items() if key not in ("name", "motor", "mounted_on")
                }
                for key in ("y_mm", "turn_deg"):
                    if key in other:
                        other[key] = 0.0 - other[key]
                changes[partner] = _suited(design.packaging.parts[partner], other)
    return _changed(design, changes)


def change_each(design: Design, changes: Mapping[int, Mapping[str, Any]]) -> Design:
    """Set fields of parts, each its own; references follow a changed name."""
    parts = design.packaging.parts
    return _changed(design, {i: {**dict(parts[i]), **fields} for i, fields in changes.items()})


def _suited(part: Part, fields: Mapping[str, Any]) -> dict[str, Any]:
    """Fields of a part after a change, with the sizes that its shape has."""
    values = {**dict(part), **fields}
    if values["kind"] != "motor":
        values["motor"] = None
    if values["shape"] == part.shape:
        return values
    length, width = plan_size(part)
    shape: Shape = values["shape"]
    there = {"length_mm": length, "width_mm": width, "height_mm": tall(part), "diameter_mm": width}
    return {**values, **{key: there[key] if key in SIZES[shape] else None for key in there}}


def move_parts(design: Design, places: Mapping[int, tuple[float, float]], *, mirror: bool = False) -> Design:
    """Put middles of parts at places [mm]; with `mirror`, other partners follow to (x, -y)."""
    moves = dict(places)
    if mirror:
        for index, (x, y) in places.items():
            partner = part_partner(design, index)
            if partner is not None and partner not in places:
                moves[partner] = (x, 0.0 - y)
    parts = design.packaging.parts
    return _changed(design, {i: {**dict(parts[i]), "x_mm": x, "y_mm": y} for i, (x, y) in moves.items()})


def raise_parts(design: Design, bottoms: Mapping[int, float]) -> Design:
    """Put lower edges of parts at heights above the ground [mm]."""
    parts = design.packaging.parts
    return _changed(design, {i: {**dict(parts[i]), "bottom_mm": bottom} for i, bottom in bottoms.items()})


def shift_parts(
    design: Design, indices: Iterable[int], by: tuple[float, float, float], *, mirror: bool = False
) -> Design:
    """Move parts forward, to the left and upward [mm]; with `mirror`, partners to the mirrored places."""
    chosen, (dx, dy, dz) = tuple(indices), by
    parts = design.packaging.parts
    places = {i: (round(parts[i].x_mm + dx, 6), round(parts[i].y_mm + dy, 6)) for i in chosen}
    partners = [part_partner(design, i) for i in chosen] if mirror else []
    raised = {*chosen, *(partner for partner in partners if partner is not None)}
    bottoms = {i: round(parts[i].bottom_mm + dz, 6) for i in raised}
    return raise_parts(move_parts(design, places, mirror=mirror), bottoms)


def delete_parts(design: Design, indices: Iterable[int]) -> Design:
    """Remove parts, and the pairs that might touch one of them."""
    gone = set(indices)
    kept = tuple(part for i, part in enumerate(design.packaging.parts) if i not in gone)
    names = {part.name for part in kept}
    pairs = tuple(pair for pair in design.packaging.may_touch if set(pair) <= names)
    return design.edited(packaging=design.packaging.edited(parts=kept, may_touch=pairs))


def duplicate_parts(design: Design, indices: Iterable[int], *, mirrored: bool = False) -> Design:
    """Copy parts beside themselves, or to the mirrored place, with fresh names and tied to nothing."""
    copies: list[Any] = []
    names = _names(design)
    for i in sorted(set(indices)):
        part = design.packaging.parts[i]
        name = _free_name(names, part.kind)
        names.add(name.casefold())
        place = (
            {"y_mm": 0.0 - part.y_mm, "turn_deg": 0.0 - part.turn_deg}
            if mirrored
            else {"y_mm": part.y_mm - plan_size(part)[1] - 5.0}
        )
        copies.append({**dict(part), "name": name, "motor": None, "mounted_on": None, **place})
    return _with_parts(design, (*design.packaging.parts, *copies))


def align_parts(design: Design, indices: Iterable[int], how: Align) -> Design:
    """Bring edges or middles of parts, as they are turned, into line with those of the outermost one."""
    chosen = sorted(set(indices))
    parts = design.packaging.parts
    if how == "bottom":
        lowest = min(parts[i].bottom_mm for i in chosen)
        return raise_parts(design, dict.fromkeys(chosen, lowest))
    boxes = {i: box_of(parts[i]) for i in chosen}
    places = {}
    for i, (rear, right, front, left) in boxes.items():
        x, y = parts[i].x_mm, parts[i].y_mm
        match how:
            case "front":
                x += max(box[2] for box in boxes.values()) - front
            case "rear":
                x += min(box[0] for box in boxes.values()) - rear
            case "left":
                y += max(box[3] for box in boxes.values()) - left
            case "right":
                y += min(box[1] for box in boxes.values()) - right
            case "middle":
                x = parts[chosen[0]].x_mm
            case "centre line":
                y = 0.0
        places[i] = (round(x, 9) + 0.0, round(y, 9) + 0.0)
    return move_parts(design, places)


def part_partner(design: Design, index: int) -> int | None:
    """The part of the same shape and size that stands at the mirrored place, or None."""
    parts = design.packaging.parts
    part = parts[index]
    if abs(part.y_mm) <= ON_CENTRE_LINE_MM:
        return None
    for i, other in enumerate(parts):
        near = max(abs(other.x_mm - part.x_mm), abs(other.y_mm + part.y_mm)) <= PARTNER_WITHIN_MM
        same = (other.shape, plan_size(other), tall(other)) == (part.shape, plan_size(part), tall(part))
        if i != index and near and same:
            return i
    return None


def _changed(design: Design, changes: Mapping[int, Mapping[str, Any]]) -> Design:
    parts = design.packaging.parts
    renamed = {parts[i].name: change["name"] for i, change in changes.items()}
    pairs = tuple(
        (renamed.get(one, one), renamed.get(other, other)) for one, other in design.packaging.may_touch
    )
    after = tuple(changes.get(i, part) for i, part in enumerate(parts))
    return _with_parts(design, after, may_touch=pairs)


def _with_parts(design: Design, parts: Iterable[Any], **fields: Any) -> Design:
    return design.edited(packaging={**dict(design.packaging), **fields, "parts": tuple(parts)})


def _names(design: Design) -> set[str]:
    return {part.name.casefold() for part in design.packaging.parts}


def _fresh(design: Design, kind: PartKind) -> str:
    return _free_name(_names(design), kind)


def _free_name(taken: set[str], kind: PartKind) -> str:
    led = "part" if kind == "other" else kind
    number = 1
    while (name := led if number == 1 else f"{led} {number}") in taken:
        number += 1
    return name


# Pairs, body and openings -----------------------------------------------------------------


def let_touch(design: Design, one: int, other: int, *, allowed: bool) -> Design:
    """Let two parts touch, as a shaft and its gear box do, or not any more."""
    parts, pairs = design.packaging.parts, design.packaging.may_touch
    pair = {parts[one].name, parts[other].name}
    left = tuple(known for known in pairs if set(known) != pair)
    after = (*left, (parts[one].name, parts[other].name)) if allowed else left
    return design.edited(packaging=design.packaging.edited(may_touch=after))


def take_load_shares(design: Design) -> Design:
    """Give each wheel the load share that its weight makes; left as it is where no weights are known."""
    from geometry.packaging.weights import load_shares  # late: the window opens without it

    shares = load_shares(design)
    if shares is None:
        return design
    pairs = zip(design.wheels, shares, strict=True)
    return design.edited(wheels=tuple({**dict(wheel), "load_share": share} for wheel, share in pairs))


def change_packaging(design: Design, **fields: Any) -> Design:
    """Set fields of the body in height, such as ``floor_mm``."""
    return design.edited(packaging={**dict(design.packaging), **fields})


def add_opening(design: Design, opening: Opening) -> Design:
    """Add a hole in a face of the body."""
    return change_packaging(design, openings=(*design.packaging.openings, opening))


def change_opening(design: Design, index: int, **fields: Any) -> Design:
    """Set fields of an opening."""
    openings: list[Any] = list(design.packaging.openings)
    openings[index] = {**dict(openings[index]), **fields}
    return change_packaging(design, openings=tuple(openings))


def delete_openings(design: Design, indices: Iterable[int]) -> Design:
    """Remove openings."""
    gone = set(indices)
    kept = tuple(opening for i, opening in enumerate(design.packaging.openings) if i not in gone)
    return change_packaging(design, openings=kept)
