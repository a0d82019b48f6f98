"""Edits of motors: functions from design to design, each validated as a whole.

A motor without wheels makes no sense, so one whose last wheel is taken away goes with it.
Every function raises `DesignError` when the edited design breaks a rule.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any, Literal

import numpy as np

from app.design.part_links import parts_followed
from geometry.kinematics.robot import robot_of
from geometry.model.design import Design
from geometry.model.motors import DriveMotor, SteerMotor
from geometry.model.wheel import Wheel
from geometry.turn_range.range_check import at_turns
from geometry.turn_range.sweep import turns_between

_SPEED_ROWS = 201
"""Turns at which speeds of wheels are compared."""
_SAME_ROLL = 1e-9
"""Of the speed of the faster side."""

MotorKind = Literal["steer", "drive"]
Motor = SteerMotor | DriveMotor


_NOTHING: Mapping[str, str] = {}


def motors_of(design: Design, kind: MotorKind) -> tuple[Motor, ...]:
    """All motors of one kind."""
    return design.steer_motors if kind == "steer" else design.drive_motors


def holder_of(design: Design, kind: MotorKind, wheel: str) -> int | None:
    """Index of the motor that holds a wheel; None where none does."""
    for i, motor in enumerate(motors_of(design, kind)):
        if any(gearing.wheel == wheel for gearing in motor.wheels):
            return i
    return None


def lacking(design: Design, kind: MotorKind) -> tuple[str, ...]:
    """Wheels that wait for a motor of this kind: steered or driven ones that none holds.

    Parameters
    ----------
    design : Design
        The design.
    kind : 'steer' or 'drive'
        Which motors are meant.

    Returns
    -------
    tuple of str
        Names in the order of the wheels; none where the chassis has no motor at all, for each wheel then
        runs as if it had its own.
    """
    if not design.steer_motors and not design.drive_motors:
        return ()
    held = {gearing.wheel for motor in motors_of(design, kind) for gearing in motor.wheels}
    wants = [w for w in design.wheels if (w.kind == "steered" if kind == "steer" else w.driven)]
    return tuple(wheel.name for wheel in wants if wheel.name not in held)


def wheels_of_one_speed(design: Design) -> tuple[tuple[str, ...], ...]:
    """Driven wheels that may share a drive motor: those of one size that roll equally fast at every turn.

    Each wheel is taken at its ideal angle, whatever the motors that there are.

    Parameters
    ----------
    design : Design
        The design.

    Returns
    -------
    tuple of tuples of str
        Names; each driven wheel stands in one group, in the order of the wheels.
    """
    if not design.wheels:
        return ()
    turns = turns_between(-design.largest_turn, design.largest_turn, _SPEED_ROWS)
    roll = at_turns(robot_of(design).without_motors, turns).response.solution.roll
    groups: list[list[int]] = []
    for i, wheel in enumerate(design.wheels):
        if not wheel.driven:
            continue
        for group in groups:
            same_size = design.wheels[group[0]].diameter_mm == wheel.diameter_mm
            if same_size and np.abs(roll[:, i] - roll[:, group[0]]).max() <= _SAME_ROLL:
                group.append(i)
                break
        else:
            groups.append([i])
    return tuple(tuple(design.wheels[i].name for i in group) for group in groups)


def short_name(kind: MotorKind, index: int) -> str:
    """What a motor is called where room is short: S1 for the first steer motor, D1 for the first drive motor.

    Examples
    --------
    >>> short_name("steer", 0), short_name("drive", 11)
    ('S1', 'D12')
    """
    return f"{'S' if kind == 'steer' else 'D'}{index + 1}"


def wheels_for(design: Design, kind: MotorKind, chosen: Iterable[int]) -> tuple[str, ...]:
    """Wheels that another motor would hold: of those chosen, else the next one without a motor.

    Where every wheel has a motor, it takes wheels chosen off motors that keep others.

    Parameters
    ----------
    design : Design
        The design.
    kind : 'steer' or 'drive'
        A steer motor holds steered wheels; a drive motor any but casters.
    chosen : iterable of int
        Indices of the selected wheels.

    Returns
    -------
    tuple of str
        Names; empty where there is none to hold.
    """
    able = [wheel for wheel in design.wheels if can_hold(kind, wheel)]
    free = [wheel for wheel in able if holder_of(design, kind, wheel.name) is None]
    picked = {design.wheels[i].name for i in chosen if i < len(design.wheels)}
    asked = tuple(wheel.name for wheel in free if wheel.name in picked)
    if asked:
        return asked
    # A wheel that rolls free is not driven unasked, unless none is driven yet.
    usual = [w for w in free if kind == "steer" or w.driven or not any(v.driven for v in able)]
    if usual:
        return (usual[0].name,)
    held = tuple(wheel.name for wheel in able if wheel.name in picked)
    left = [{g.wheel for g in motor.wheels} - picked for motor in motors_of(design, kind)]
    return held if all(left) else ()


def can_hold(kind: MotorKind, wheel: Wheel) -> bool:
    """Whether a motor of this kind may hold a wheel; a drive motor makes it a driven one."""
    return wheel.kind == "steered" if kind == "steer" else wheel.kind != "caster"


def add_motor(design: Design, kind: MotorKind, wheels: Sequence[str]) -> Design:
    """Add a motor that holds these wheels, taken off the motors that held them.

    A steered wheel behind the base axle gets the ratio -1 where the first one stands
    before it, and the reverse: on a symmetric chassis they turn by opposite angles. A wheel
    that gets a drive motor counts as driven from now on.
    """
    freed = design
    for wheel in wheels:
        freed = release_wheel(freed, kind, wheel)
    gearings = [{"wheel": wheel, "ratio": _usual_ratio(design, kind, wheels[0], wheel)} for wheel in wheels]
    motor = {
        "name": _fresh_name(_names(design), kind, len(motors_of(design, kind)) + 1),
        "wheels": tuple(gearings),
    }
    return _with_motors(_driven(freed, kind, wheels), kind, (*motors_of(freed, kind), motor))


def delete_motor(design: Design, kind: MotorKind, index: int) -> Design:
    """Remove a motor; its wheels stay, without one."""
    kept = tuple(motor for i, motor in enumerate(motors_of(design, kind)) if i != index)
    return _with_motors(design, kind, kept)


def change_motor(design: Design, kind: MotorKind, index: int, **fields: Any) -> Design:
    """Set fields of one motor."""
    motors: list[Any] = list(motors_of(design, kind))
    before = motors[index].name
    motors[index] = {**dict(motors[index]), **fields}
    return _with_motors(design, kind, motors, {before: motors[index]["name"]})


def hold_wheel(design: Design, kind: MotorKind, index: int, wheel: str) -> Design:
    """Put a wheel on a motor, and take it off the one that held it."""
    motor = motors_of(design, kind)[index]
    if any(gearing.wheel == wheel for gearing in motor.wheels):
        return design
    first = motor.wheels[0]
    gearing = {"wheel": wheel, "ratio": first.turns * _usual_ratio(design, kind, first.wheel, wheel)}
    freed = _driven(release_wheel(design, kind, wheel), kind, [wheel])
    place = [other.name for other in motors_of(freed, kind)].index(motor.name)
    return change_motor(freed, kind, place, wheels=(*motor.wheels, gearing))


def release_wheel(design: Design, kind: MotorKind, wheel: str) -> Design:
    """Take a wheel off its motor, if it has one."""
    index = holder_of(design, kind, wheel)
    if index is None:
        return design
    kept = tuple(g for g in motors_of(design, kind)[index].wheels if g.wheel != wheel)
    if not kept:
        return delete_motor(design, kind, index)
    return change_motor(design, kind, index, wheels=kept)


def set_gearing(
    design: Design,
    kind: MotorKind,
    wheel: str,
    *,
    ratio: float | None = None,
    train: tuple[tuple[int, ...], ...] = (),
    proportion: tuple[float, float] | None = None,
) -> Design:
    """Gear a wheel to its motor by a ratio, a train or two numbers, of which one is given."""
    index = holder_of(design, kind, wheel)
    if index is None:
        return design
    new = {"wheel": wheel, "ratio": ratio, "train": train, "proportion": proportion}
    motor = motors_of(design, kind)[index]
    return change_motor(
        design, kind, index, wheels=tuple(new if g.wheel == wheel else g for g in motor.wheels)
    )


def group_steering(design: Design, groups: Iterable[Sequence[tuple[str, float]]]) -> Design:
    """Replace the steer motors by groups of wheels with ratios; motors keep what they can do.

    Parameters
    ----------
    design : Design
        The design before.
    groups : iterable of sequences of (str, float)
        Wheels and ratios of each motor; the first takes over from the first motor, and so on.
    """
    return _grouped(design, "steer", groups)


def group_driving(design: Design, groups: Iterable[Sequence[str]]) -> Design:
    """Replace the drive motors by groups of driven wheels, each geared 1; motors keep what they can do."""
    return _grouped(design, "drive", [[(wheel, 1.0) for wheel in group] for group in groups])


def _grouped(design: Design, kind: MotorKind, groups: Iterable[Sequence[tuple[str, float]]]) -> Design:
    before = motors_of(design, kind)
    motors: list[Any] = []
    taken = _names(design)
    for i, group in enumerate(groups):
        known: dict[str, Any] = dict(before[i]) if i < len(before) else {}
        wheels = tuple({"wheel": wheel, "ratio": ratio} for wheel, ratio in group)
        name = known.get("name") or _fresh_name(taken, kind, i + 1)
        taken.add(name.casefold())
        motors.append({**known, "name": name, "wheels": wheels})
    return _with_motors(design, kind, motors)


def followed(
    design: Design, wheels: Iterable[Wheel | Mapping[str, Any]], renamed: Mapping[str, str]
) -> dict[str, tuple[Any, ...]]:
    """Both lists of motors after their wheels changed: names follow, what no longer fits is let go.

    Parameters
    ----------
    design : Design
        The design before.
    wheels : iterable of Wheel or mapping
        Its wheels after, validated or not.
    renamed : mapping of str to str
        New names by old ones.
    """
    after: dict[str, dict[str, Any]] = {}
    for wheel in wheels:
        values = dict(wheel)
        after[values["name"]] = values
    fits = {
        "steer_motors": {name for name, w in after.items() if w.get("kind", "fixed") == "steered"},
        "drive_motors": {name for name, w in after.items() if w.get("driven", False)},
    }
    return {
        "steer_motors": _let_go(design.steer_motors, fits["steer_motors"], renamed),
        "drive_motors": _let_go(design.drive_motors, fits["drive_motors"], renamed),
    }


def _let_go(motors: Iterable[Motor], fits: set[str], renamed: Mapping[str, str]) -> tuple[Any, ...]:
    kept: list[Any] = []
    for motor in motors:
        named = [(renamed.get(g.wheel, g.wheel), g) for g in motor.wheels]
        wheels = tuple({**dict(g), "wheel": name} for name, g in named if name in fits)
        if wheels:
            kept.append({**dict(motor), "wheels": wheels})
    return tuple(kept)


def names_of_motors(motors: Mapping[str, Sequence[Any]]) -> set[str]:
    """Names in lists of motors, validated or not, as `followed` gives them."""
    return {dict(motor)["name"] for some in motors.values() for motor in some}


def _with_motors(
    design: Design, kind: MotorKind, motors: Sequence[Any], renamed: Mapping[str, str] = _NOTHING
) -> Design:
    other: MotorKind = "drive" if kind == "steer" else "steer"
    names = names_of_motors({kind: motors, other: motors_of(design, other)})
    parts = parts_followed(design, motors=names, renamed_motors=renamed)
    return design.edited(**{f"{kind}_motors": tuple(motors)}, **parts)


def _driven(design: Design, kind: MotorKind, wheels: Iterable[str]) -> Design:
    if kind == "steer":
        return design
    chosen = set(wheels)
    return design.edited(
        wheels=tuple({**dict(w), "driven": w.driven or w.name in chosen} for w in design.wheels)
    )


def _usual_ratio(design: Design, kind: MotorKind, first: str, wheel: str) -> float:
    if kind == "drive":
        return 1.0
    axle = robot_of(design).base.x
    one, other = (design.wheels[design.index_of(name)].x_mm - axle for name in (first, wheel))
    return -1.0 if one * other < 0 else 1.0


def _names(design: Design) -> set[str]:
    everyone: tuple[Motor, ...] = (*design.steer_motors, *design.drive_motors)
    return {motor.name.casefold() for motor in everyone}


def _fresh_name(taken: set[str], kind: MotorKind, number: int) -> str:
    while f"{kind} motor {number}" in taken:
        number += 1
    return f"{kind} motor {number}"


def gear_wheels(design: Design, index: int, ratios: Mapping[str, float]) -> Design:
    """Gear wheels of one drive motor anew by ratios; the others keep theirs."""
    wheels = tuple(
        {"wheel": g.wheel, "ratio": ratios[g.wheel], "train": ()} if g.wheel in ratios else g
        for g in design.drive_motors[index].wheels
    )
    return change_motor(design, "drive", index, wheels=wheels)
