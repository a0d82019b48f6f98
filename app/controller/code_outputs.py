"""What the controller's code returns: one whole number for each motor, with its unit and limits.

A steer motor is told in its own unit: whole encoder counts, whole microseconds, or hundredths
of a degree (``_cdeg``). A steered wheel without a motor is told as hundredths of a degree at
the wheel. A drive motor has its speed in rpm or its own units a second; where whole ones
would be too coarse, in hundredths (``_crpm``, ``_cunits_per_s``) or ten-thousandths. Without
drive motors the two side speeds are returned, in thousandths of full.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import asin, ceil, floor

import numpy as np

from app.controller.export_error import ExportError
from app.controller.motor_outputs import STEER_SUFFIX, drive_unit
from app.controller.steering_table import slugs_of
from app.units import degrees
from geometry.axes import Floats
from geometry.kinematics.robot import Robot
from geometry.model.controller import Controller
from geometry.model.design import Design
from geometry.model.motors import DriveMotor, SteerMotor
from geometry.transmission.scale import Scale

FULL = 1_000
"""What an input of 1 is: inputs and side speeds are whole thousandths."""
MOST_MS = 1_000
"""Most time that one call may count [ms]; after a longer pause no steering leaps."""
# Times FULL, with room for a rounding, this stays within 32 bits.
MOST_SPEED = 2_000_000
# Times the most milliseconds of a step, this stays within 32 bits.
_MOST_RATE = 2_000_000
# Farther than any two places of a motor are apart, and less than what a measured place is held to.
_MOST_WITHIN = 500_000_000
_CENTI = 100
_STEER_WORDS = {
    "degrees": "hundredths of a degree on the motor's own scale",
    "counts": "counts of the motor",
    "microseconds": "microseconds of pulse",
}
# Whole numbers in a unit, what comes before the unit's name, and after it, and in words.
_FINENESS = ((1, "", "", ""), (100, "c", "", "hundredths of "), (10_000, "", "_e4", "ten-thousandths of "))
_LEAST_TOP = 1_000


@dataclass(frozen=True)
class SteerOutput:
    """A target that the code returns for a steer motor, or for a steered wheel without one."""

    name: str
    """Such as ``right_corners_counts``: what, and the unit of the whole number."""
    label: str
    """The motor's or the wheel's name as the person typed it."""
    unit: str
    """The unit in words."""
    per_degree: float
    """Whole numbers for a degree at the wheel that its motor turns furthest."""
    allowed: float
    """Largest error [whole numbers]."""
    low: int
    """Lowest target within the travel."""
    high: int
    """Highest target within the travel."""
    per_second: int
    """How far it moves in a second at most."""
    within: int
    """How near its target it must be for the drive to go."""


@dataclass(frozen=True)
class DriveOutput:
    """A speed that the code returns for a drive motor."""

    name: str
    label: str
    unit: str
    allowed: float
    """Largest error at full speed [whole numbers]."""
    top: int
    """Its usable speed."""
    per_unit: int
    """Whole numbers in an rpm or a unit a second."""
    usable: float
    """Its usable speed, not rounded [whole numbers]."""


def error_at_wheel_deg(controller: Controller) -> float:
    """Allowed error of a steer angle [degrees].

    Drag of e mm/m is the sine of the angle between a wheel and its way, so that an error of
    asin(e / 1000) adds e to it at most, whatever drag is there already (to first order).
    """
    if controller.error_unit == "deg":
        return controller.error
    return degrees(asin(controller.error / 1000.0))


def steer_outputs(design: Design, robot: Robot) -> tuple[SteerOutput, ...]:
    """List the steer motors in their order, then the steered wheels that no motor turns.

    Raises
    ------
    ExportError
        If a travel holds no whole number of the output's unit.
    """
    slugs = _slugs(design)
    found = [
        _of_motor(design, robot, k, slugs[len(design.wheels) + k]) for k in range(len(design.steer_motors))
    ]
    for n in bare_wheels(design):
        low, high = (degrees(float(end[n])) for end in (robot.wheels.low, robot.wheels.high))
        found.append(
            _steer(
                design.controller,
                f"{slugs[n]}_cdeg",
                design.wheels[n].name,
                "hundredths of a degree at the wheel",
                (_CENTI * low, _CENTI * high),
                float(_CENTI),
                _CENTI * design.controller.wheel_speed_deg_s,
            )
        )
    return tuple(found)


def bare_wheels(design: Design) -> list[int]:
    """Indices of the steered wheels that no motor turns."""
    held = {gearing.wheel for motor in design.steer_motors for gearing in motor.wheels}
    return [n for n, w in enumerate(design.wheels) if w.kind == "steered" and w.name not in held]


def _slugs(design: Design) -> list[str]:
    names = [motor.name for motor in design.steer_motors] + [motor.name for motor in design.drive_motors]
    slugs = slugs_of([wheel.name for wheel in design.wheels])
    return slugs + slugs_of(names, slugs, "motor")


def _of_motor(design: Design, robot: Robot, k: int, slug: str) -> SteerOutput:
    motor, group, scale = design.steer_motors[k], robot.motors.steer[k], robot.motors.scales[k]
    ends = sorted(command_whole(motor, scale, np.array([group.low, group.high])).tolist())
    # Where a scale is finer elsewhere, errors, rates and the hold keep to its least slope.
    a_degree = scale.least_slope * _fineness(motor)
    suffix = "cdeg" if motor.unit == "degrees" else STEER_SUFFIX[motor.unit]
    return _steer(
        design.controller,
        f"{slug}_{suffix}",
        motor.name,
        _STEER_WORDS[motor.unit],
        (ends[0], ends[1]),
        a_degree / group.steepest,
        a_degree * motor.top_speed_deg_s,
    )


def command_whole(motor: SteerMotor, scale: Scale, shaft: Floats) -> Floats:
    """What a steer motor is told for shaft angles [rad], in its output's whole numbers, unrounded."""
    return scale.command(shaft) * _fineness(motor)


def shaft_of_whole(motor: SteerMotor, scale: Scale, whole: Floats) -> Floats:
    """Shaft angles [rad] of what a steer motor is told in its output's whole numbers."""
    return scale.shaft(whole / _fineness(motor))


def _fineness(motor: SteerMotor) -> int:
    return _CENTI if motor.unit == "degrees" else 1


def bare_whole(steer: Floats) -> Floats:
    """What a steered wheel without a motor is told for its steer angles [rad], unrounded."""
    return np.asarray(degrees(_CENTI) * steer)


def steer_of_bare_whole(whole: Floats) -> Floats:
    """Steer angles [rad] of what a steered wheel without a motor is told."""
    return np.asarray(whole / degrees(_CENTI))


def _steer(
    controller: Controller,
    name: str,
    label: str,
    unit: str,
    ends: tuple[float, float],
    per_degree: float,
    rate: float,
) -> SteerOutput:
    low, high = ceil(ends[0] - 1e-6), floor(ends[1] + 1e-6)
    if low > high:
        raise ExportError(
            f"{label}: its travel, {ends[0]:.3g} to {ends[1]:.3g}, holds no whole number of {unit}; "
            "give it more travel, or finer counts"
        )
    return SteerOutput(
        name=name,
        label=label,
        unit=unit,
        per_degree=per_degree,
        allowed=error_at_wheel_deg(controller) * per_degree,
        low=low,
        high=high,
        per_second=min(max(1, floor(rate)), _MOST_RATE),
        within=min(max(1, floor(controller.hold_within_deg * per_degree)), _MOST_WITHIN),
    )


def drive_outputs(design: Design) -> tuple[DriveOutput, ...]:
    """List the drive motors in their order."""
    slugs = _slugs(design)[len(design.wheels) + len(design.steer_motors) :]
    return tuple(
        _drive(design.controller, motor, slug) for motor, slug in zip(design.drive_motors, slugs, strict=True)
    )


def _drive(controller: Controller, motor: DriveMotor, slug: str) -> DriveOutput:
    usable = motor.usable_rpm * units_of_rpm(motor)
    per, before, after, words = next(
        (row for row in _FINENESS if usable * row[0] >= _LEAST_TOP), _FINENESS[-1]
    )
    unit = "rpm" if motor.units_per_turn is None else "its own units a second"
    return DriveOutput(
        name=f"{slug}_{before}{drive_unit(motor)}{after}",
        label=motor.name,
        unit=words + unit,
        allowed=controller.speed_error_permille / 1000.0 * usable * per,
        top=floor(usable * per + 1e-6),
        per_unit=per,
        usable=usable * per,
    )


def turns_of_whole(motor: DriveMotor, output: DriveOutput, whole: Floats) -> Floats:
    """Turns a second of what a drive motor is told in its output's whole numbers."""
    return np.asarray(whole / (60.0 * units_of_rpm(motor) * output.per_unit))


def units_of_rpm(motor: DriveMotor) -> float:
    """What 1 rpm is in the unit of the motor's speed."""
    return 1.0 if motor.units_per_turn is None else motor.units_per_turn / 60.0
