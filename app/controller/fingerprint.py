"""The fingerprint of a chassis: what moves the robot, and nothing else.

Written code carries it, so that a robot and a design can be told to belong together. It counts
what can change the code: places and kinds of wheels, the base axle and where side speeds are
measured, motors with their gears, zeros, directions and limits, the range of turns, and the
controller's settings. Names, notes, the outline, tolerances, the hole pitch, a tyre's width, play
and steps of motors and the version of the file do not count. A key that comes later counts only
where it is not at its default, so that fingerprints of before stay.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Sequence

from geometry.kinematics.robot import robot_of
from geometry.model.design import Design
from geometry.model.frozen import Frozen
from geometry.model.motors import DriveMotor, SteerMotor

WHEEL_KEYS = (
    "x_mm",
    "y_mm",
    "kind",
    "diameter_mm",
    "trail_mm",
    "lateral_offset_mm",
    "toe_deg",
    "travel_min_deg",
    "travel_max_deg",
    "driven",
    "load_share",
)
STEER_MOTOR_KEYS = (
    "zero_deg",
    "reversed",
    "travel_min_deg",
    "travel_max_deg",
    "top_speed_deg_s",
    "unit",
    "counts_per_turn",
    "neutral_us",
    "us_per_90_deg",
)
DRIVE_MOTOR_KEYS = ("reversed", "usable_rpm", "units_per_turn")
CONTROLLER_KEYS = (
    "method",
    "spacing",
    "error_unit",
    "error",
    "speed_error_permille",
    "largest_bytes",
    "mixing",
    "dead_band",
    "dead_band_permille",
    "scaling",
    "clamp",
    "limiter",
    "wheel_speed_deg_s",
    "hold",
    "hold_within_deg",
    "creep_permille",
)
# Keys that came later, with the value at which they do not count.
CONTROLLER_LATE_KEYS = {"period_ms": 5}
DESIGN_KEYS = ("largest_turn",)
# What cannot change the code; a test finds a key that stands in neither list.
NEVER = {
    "Wheel": {"name", "width_mm", "mass_kg"},
    "SteerMotor": {"name", "wheels", "backlash_deg", "step_deg"},
    "DriveMotor": {"name", "wheels", "no_load_rpm"},
    "Controller": {"prefix"},
}


def fingerprint_of(design: Design) -> str:
    """SHA-256 of what moves the robot, as 64 digits."""
    return hashlib.sha256("\n".join(_lines(design)).encode()).hexdigest()


def _lines(design: Design) -> Iterator[str]:
    """One line for each number that counts, exact, in an order that stays."""
    yield from _of(design, "", DESIGN_KEYS)
    base = robot_of(design).base
    for key, value in (("x", base.x), ("y_left", base.y_left), ("y_right", base.y_right)):
        yield f"base.{key}={_exact(value)}"
    place = {wheel.name: i for i, wheel in enumerate(design.wheels)}
    for i, wheel in enumerate(design.wheels):
        yield from _of(wheel, f"wheels[{i}].", WHEEL_KEYS)
    every: tuple[tuple[str, tuple[str, ...], Sequence[SteerMotor | DriveMotor]], ...] = (
        ("steer", STEER_MOTOR_KEYS, design.steer_motors),
        ("drive", DRIVE_MOTOR_KEYS, design.drive_motors),
    )
    for kind, keys, motors in every:
        for k, motor in enumerate(motors):
            yield from _of(motor, f"{kind}[{k}].", keys)
            for gearing in motor.wheels:
                yield f"{kind}[{k}].wheel[{place[gearing.wheel]}]={_exact(gearing.turns)}"
    yield from _of(design.controller, "controller.", CONTROLLER_KEYS)
    late = (key for key, usual in CONTROLLER_LATE_KEYS.items() if getattr(design.controller, key) != usual)
    yield from _of(design.controller, "controller.", tuple(late))


def _of(model: Frozen, led: str, keys: tuple[str, ...]) -> Iterator[str]:
    return (f"{led}{key}={_exact(getattr(model, key))}" for key in keys)


def _exact(value: object) -> str:
    return (value + 0.0).hex() if isinstance(value, float) else str(value)
