"""What each motor's controller is told over a set of turns, in the motor's own unit."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from geometry.axes import Floats, frozen_array
from geometry.kinematics.drive_speeds import speed_limit
from geometry.kinematics.robot import Response
from geometry.model.design import Design
from geometry.model.motors import DriveMotor

STEER_SUFFIX = {"degrees": "deg", "counts": "counts", "microseconds": "us"}


@dataclass(frozen=True)
class MotorOutputs:
    """M turns of K steer motors and D drive motors, driven as fast as the motors can."""

    positions: Floats
    """(M, K): position of each steer motor, in its own unit, zero offset and direction included."""
    drive: Floats
    """(M, D): speed of each drive motor at `speed`, in rpm or its own units a second; 0 where
    `speed` is infinite, since no motor turns there."""
    speed: Floats
    """(M,): speed of the faster side, slowed evenly where a motor would pass its usable speed
    [mm/s]; ``inf`` without drive motors, or where none of them turns."""
    full_speed: float
    """The speed straight ahead, which no turn exceeds [mm/s]; ``inf`` as for `speed`."""


def drive_unit(motor: DriveMotor) -> str:
    """Unit of a drive motor's speed, as the end of a column's name."""
    return "rpm" if motor.units_per_turn is None else "units_per_s"


def outputs_of(design: Design, response: Response) -> MotorOutputs:
    """Turn shaft angles and motor speeds into what the controllers are told."""
    robot = response.robot
    told = [scale.command(response.shaft[:, k]) for k, scale in enumerate(robot.motors.scales)]
    fastest = robot.full_speed
    speed = np.minimum(fastest, speed_limit(robot.motors, response.drive))
    finite = np.where(np.isfinite(speed), speed, 0.0)
    each = [
        response.drive[:, d] * finite * (60.0 if motor.units_per_turn is None else motor.units_per_turn)
        for d, motor in enumerate(design.drive_motors)
    ]
    rows = len(response)
    return MotorOutputs(
        positions=frozen_array(np.stack(told, axis=1) if told else np.zeros((rows, 0))),
        drive=frozen_array(np.stack(each, axis=1) if each else np.zeros((rows, 0))),
        speed=frozen_array(speed),
        full_speed=fastest,
    )
