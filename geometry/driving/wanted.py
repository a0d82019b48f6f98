"""What a chassis is wanted to do while its motors are on their way: the turn asked for, at their speed."""

from __future__ import annotations

import numpy as np

from geometry.axes import Floats, rolling_direction
from geometry.kinematics.motion import Motion, from_turn, velocity_at
from geometry.kinematics.robot import Robot


def wanted_at(robot: Robot, steer: Floats, drive: Floats, turn: Floats) -> Motion:
    """The turns asked for, at the speeds that suit the drive motors best.

    `Robot.moved` takes from it what the motors leave open, and how driven wheels without a motor roll.

    Parameters
    ----------
    robot : Robot
        With D drive motors, one or more.
    steer : ndarray, (M, N)
        Steer angles of the wheels [rad].
    drive : ndarray, (M, D)
        Speeds of the drive motors, signed [turns/s].
    turn : ndarray, (M,)
        Turn inputs asked for.

    Returns
    -------
    Motion
        [mm/s, mm/s, rad/s]; at rest where no drive motor turns.
    """
    wheels = robot.wheels
    unit = from_turn(turn, robot.base).twist
    tx, ty = rolling_direction(steer + wheels.built_in)
    vx, vy = velocity_at(unit, wheels.x, wheels.y)
    roll = vx * tx + vy * ty - unit[:, 2:3] * wheels.across
    asked, square = np.zeros(len(turn)), np.zeros(len(turn))
    for d, group in enumerate(robot.motors.drive):
        held = list(group.wheels)
        weight = wheels.load[held] * group.rolling
        # Turns of the motor for each mm of the faster side.
        each = (roll[:, held] * weight).sum(axis=1) / (weight @ group.rolling)
        asked += each * drive[:, d]
        square += each * each
    speed = np.divide(asked, square, out=np.zeros(len(turn)), where=square > 0)
    return from_turn(turn, robot.base, speed)
