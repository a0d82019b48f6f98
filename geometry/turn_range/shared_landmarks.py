"""Turns that matter for a chassis with motors: its own landmarks, and those of shared steering.

Where one motor holds several wheels, the angle that suits them best has no simple root. Its
jumps and stops are looked for between the turns of a grid, and each place where it changes
is cut into parts until the change stands out from a steep one.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from geometry.axes import Bools, Floats, frozen_array
from geometry.kinematics.as_built import MotorArrays, narrowed
from geometry.kinematics.ideal import contact_speeds, solve
from geometry.kinematics.motion import Motion, from_turn, velocity_at
from geometry.kinematics.robot import Robot
from geometry.kinematics.shared_steering import SteerGroup, shaft_angles
from geometry.model.base_axle import Base
from geometry.model.wheel_arrays import WheelArrays
from geometry.turn_range.sweep import JUMP, Landmark, landmarks, turns_between, what_happens

# Turns of the first look, and how near to a jump or stop to come; the second for pictures
# that pass while something is dragged.
FINE, COARSE = (1001, 1e-9), (101, 1e-3)
# Parts into which the search cuts each stretch, and stretches that it follows at most: only
# where rounding makes a motor stop and start all the way are there more.
_PARTS, _MOST = 40, 400


def landmarks_with_motors(
    robot: Robot, largest_turn: float = 1.0, *, rows: int = FINE[0], within: float = FINE[1]
) -> tuple[Landmark, ...]:
    """Find the turns that matter, as `sweep.landmarks` does, with the travel that the motors leave.

    Parameters
    ----------
    robot : Robot
        N wheels with their motors.
    largest_turn : float
        Half of the range, above 0 and up to 1.
    rows : int
        Turns of the first look for jumps and stops of a shared motor. A change that
        starts and ends between two of them is not detected.
    within : float
        Error of the turn input of such a jump or stop. A steep change from end to end of
        this stretch counts as a jump.

    Returns
    -------
    tuple of Landmark
        In rising order of turn input.

    Raises
    ------
    CommandError
        If the range or the number of rows is out of range.
    """
    wheels, base = robot.wheels, robot.base
    sharing = [motor for motor in robot.motors.steer if len(motor.wheels) > 1]
    shared = {int(n) for motor in sharing for n in motor.wheels}
    alone = wheels.steered.copy()
    alone[list(shared)] = False
    own = replace(robot.motor_travel, steered=frozen_array(alone, bool))
    found = list(landmarks(own, base, largest_turn))
    if sharing:
        turn = turns_between(-largest_turn, largest_turn, rows)
        for motor in sharing:
            found += motor_landmarks(wheels, motor, base, turn, within=within)
    return tuple(sorted(found, key=lambda mark: (mark.turn, mark.wheel is not None, mark.wheel or 0)))


def taken_by_motor(wheels: WheelArrays, motor: SteerGroup, motion: Motion) -> tuple[Floats, Bools]:
    """Work out what one motor does by itself.

    Parameters
    ----------
    wheels : WheelArrays
        N wheels.
    motor : SteerGroup
        The motor, with one wheel or several.
    motion : Motion
        M wanted motions.

    Returns
    -------
    (shaft, stopped) : ndarrays, (M,)
        Its angles from straight ahead [rad], and where its travel stops it short.
    """
    part = wheels.take(motor.wheels)
    only = replace(motor, wheels=frozen_array(range(len(part)), np.int64))
    less = narrowed(part, MotorArrays((only,), (), np.zeros(len(part), dtype=bool)))
    return shaft_angles(only, part, motion, solve(less, motion))


def motor_landmarks(
    wheels: WheelArrays, motor: SteerGroup, base: Base, turn: Floats, *, within: float = FINE[1]
) -> list[Landmark]:
    """Find where the wheels of one motor jump, and where its travel stops or frees it.

    A jump is of the kind that the wheel shows under the motion that is asked for.

    Parameters
    ----------
    wheels : WheelArrays
        N wheels.
    motor : SteerGroup
        The motor.
    base : Base
        Base axle and reference points.
    turn : ndarray, (M,)
        Turn inputs, rising, at which it is looked for.
    within : float
        Error of the turn inputs that are found.

    Returns
    -------
    list of Landmark
        By rising turn; one for each wheel to which it happens.
    """
    ends, shaft, stopped = _changes(wheels, motor, base, turn, within)
    if not len(ends):
        return []
    part = wheels.take(motor.wheels)
    # The side nearer to straight ahead first.
    swap = np.abs(ends[:, 0]) > np.abs(ends[:, 1])
    for pair in (ends, shaft, stopped):
        pair[swap] = pair[swap, ::-1]
    steer = motor.law.angles(shaft)
    twist = from_turn(ends.ravel(), base).twist
    vx, vy = (v.reshape(steer.shape) for v in velocity_at(twist, part.x, part.y))
    omega = twist[:, 2].reshape(*ends.shape, 1)
    roll, _ = contact_speeds(vx, vy, omega, steer + part.built_in, part.along, part.across)
    marks = []
    for at, stops, angles, rolls in zip(
        ends[:, 0].tolist(), stopped.tolist(), steer.tolist(), roll.tolist(), strict=True
    ):
        for n, before, after, *speeds in zip(motor.wheels.tolist(), *angles, *rolls, strict=True):
            kind = what_happens(after - before, tuple(stops), tuple(speeds))
            if kind is not None:
                marks.append(Landmark(at, kind, n, before, after))
    return marks


def _changes(
    wheels: WheelArrays, motor: SteerGroup, base: Base, turn: Floats, within: float
) -> tuple[Floats, Floats, Bools]:
    """Pairs of near turns between which something happens, with the shaft angles and stops there, (K, 2)."""
    most = motor.steepest
    points = turn[None]
    while True:
        shaft, stopped = taken_by_motor(wheels, motor, from_turn(points.ravel(), base))
        shaft, stopped = shaft.reshape(points.shape), stopped.reshape(points.shape)
        happens = np.abs(np.diff(shaft, axis=1)) * most > JUMP
        happens |= stopped[:, 1:] != stopped[:, :-1]
        row, k = (index[:_MOST, None] for index in np.nonzero(happens))
        pair = row, k + np.arange(2)
        low, high = points[pair].T
        if not len(low) or (high - low).max() <= within:
            return points[pair], shaft[pair], stopped[pair]
        points = np.linspace(low, high, _PARTS + 1, axis=1)
