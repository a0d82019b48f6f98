"""Remedies carried out: what a builder would edit in a design for each cause that is named."""

from __future__ import annotations

import math
from collections.abc import Iterable

from geometry.kinematics.alignment import contacts
from geometry.kinematics.ideal import solve
from geometry.kinematics.motion import from_turn
from geometry.model.base_axle import base_of
from geometry.model.design import Design
from geometry.model.motors import DriveMotor, Gearing, SteerMotor
from geometry.model.wheel_arrays import wheel_arrays
from geometry.turn_range.causes import (
    AxlesApart,
    Cause,
    MatesAtEnd,
    MotorAtEnd,
    OtherWheels,
    Part,
    SharedAngle,
    SharedDrive,
    ToedAxle,
    TrailTooLong,
    WheelAtEnd,
)


def mended(design: Design, cause: Cause, turn: float) -> Design:
    """The design with every part of a cause done away with."""
    # The last drive motor first, since one that is parted changes the numbers of those behind it.
    drives = sorted((p for p in cause.parts if isinstance(p, SharedDrive)), key=lambda p: -p.motor)
    others = [p for p in cause.parts if isinstance(p, OtherWheels)]
    first = [p for p in cause.parts if p not in drives and p not in others]
    for part in (*first, *drives, *others):
        design = without(design, cause.wheel, part, turn)
    return design


def without(design: Design, wheel: int, part: Part, turn: float) -> Design:
    """The design with one part of a cause done away with."""
    match part:
        case TrailTooLong():
            return with_wheels(pinned(design), [wheel], trail_mm=0.0)
        case WheelAtEnd():
            return with_wheels(design, [wheel], travel_min_deg=-180.0, travel_max_deg=180.0)
        case MotorAtEnd():
            return _with_steer_motor(design, part.motor, travel_min_deg=-3600.0, travel_max_deg=3600.0)
        case MatesAtEnd():
            mates = _held(design, part.motor) - {wheel}
            return with_wheels(design, mates, travel_min_deg=-180.0, travel_max_deg=180.0)
        case SharedAngle():
            return _steered_alone(design, _held(design, part.motor) - {wheel})
        case ToedAxle():
            return with_wheels(design, [wheel], toe_deg=0.0)
        case AxlesApart():
            return _on_one_axle(design, part)
        case SharedDrive():
            return _driven_otherwise(design, part)
        case OtherWheels():
            return _others_right(design, wheel, part, turn)


def pinned(design: Design) -> Design:
    """The same design, whose base axle and side references stay as they are whatever its wheels do."""
    base = base_of(design)
    fields: dict[str, object] = {"base_axle_x_mm": base.x}
    if base.left is not None and base.right is not None:
        fields |= {"left_reference": design.wheels[base.left].name}
        fields |= {"right_reference": design.wheels[base.right].name}
    return design.edited(**fields)


def with_wheels(design: Design, chosen: Iterable[int], **fields: object) -> Design:
    return design.edited(
        wheels=tuple(
            wheel.edited(**fields) if n in set(chosen) else wheel for n, wheel in enumerate(design.wheels)
        )
    )


def _with_steer_motor(design: Design, motor: int, **fields: object) -> Design:
    motors = list(design.steer_motors)
    motors[motor] = motors[motor].edited(**fields)
    return design.edited(steer_motors=tuple(motors))


def _held(design: Design, motor: int) -> set[int]:
    return {design.index_of(g.wheel) for g in design.steer_motors[motor].wheels}


def _steered_alone(design: Design, wheels: Iterable[int]) -> Design:
    """Each of these wheels on a steer motor of its own, which can turn it anywhere."""
    names = {design.wheels[n].name for n in wheels}
    kept = []
    for motor in design.steer_motors:
        left = tuple(g for g in motor.wheels if g.wheel not in names)
        kept += [motor.edited(wheels=left)] if left else []
    alone = [
        SteerMotor(name=f"steer of {name}", wheels=(Gearing(wheel=name, ratio=1.0),))
        for name in sorted(names)
    ]
    return design.edited(steer_motors=(*kept, *alone))


def _on_one_axle(design: Design, part: AxlesApart) -> Design:
    if part.sort == "base":
        return design.edited(base_axle_x_mm=None)
    if part.sort == "toe":
        return with_wheels(design, part.toed, toe_deg=0.0)
    design = pinned(design)
    arrays = wheel_arrays(design)
    now = contacts(arrays, arrays.built_in[None])[0][0]
    assert design.base_axle_x_mm is not None
    shift = {n: design.base_axle_x_mm - float(now[n]) for n in part.wheels}
    return design.edited(
        wheels=tuple(w.edited(x_mm=w.x_mm + shift.get(n, 0.0)) for n, w in enumerate(design.wheels))
    )


def _driven_otherwise(design: Design, part: SharedDrive) -> Design:
    motors = list(design.drive_motors)
    motor = motors.pop(part.motor)
    if part.sort == "speed":
        each = [
            DriveMotor(name=f"drive of {g.wheel}", wheels=(Gearing(wheel=g.wheel, ratio=1.0),))
            for g in motor.wheels
        ]
        return design.edited(drive_motors=(*motors, *each))
    turned = {design.wheels[n].name for n in part.against}
    way = part.rolling[0] / math.pi * (-1.0 if motor.reversed else 1.0)
    geared = tuple(
        Gearing(wheel=g.wheel, ratio=g.turns * (-1.0 if g.wheel in turned else 1.0))
        if part.sort == "sense"
        else Gearing(wheel=g.wheel, ratio=way / design.wheels[design.index_of(g.wheel)].diameter_mm)
        for g in motor.wheels
    )
    motors.insert(part.motor, motor.edited(wheels=geared))
    return design.edited(drive_motors=tuple(motors))


def _others_right(design: Design, wheel: int, part: OtherWheels, turn: float) -> Design:
    """The wheels that pull steer as they must, each by itself; the base axle stays where it was."""
    design = pinned(design)
    arrays = wheel_arrays(design)
    side = solve(arrays, from_turn([turn], base_of(design))).side[0]
    wrong = {n for n in part.wheels if abs(side[n]) > 1e-9}
    freed = {"kind": "steered", "trail_mm": 0.0, "travel_min_deg": -180.0, "travel_max_deg": 180.0}
    holder = next((k for k in range(len(design.steer_motors)) if wheel in _held(design, k)), None)
    mates = set() if holder is None else _held(design, holder)
    return _steered_alone(with_wheels(design, wrong, **freed), set(part.wheels) - mates)
