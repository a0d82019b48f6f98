"""The chassis as built: what its motors make of the motion that is asked for.

A steer motor that holds several wheels takes the shaft angle at which they drag least; a
drive motor that holds several wheels runs at the speed that suits them best. The chassis
then moves as its wheels let it: with the twist that makes least the load-weighted sum of
squared sideways speeds of all wheels but casters, plus squared rolling mismatches of the
driven ones (least squares of the rolling constraints; Campion, Bastin, d'Andrea-Novel,
IEEE T-RA 12(1), 1996, give the rows). Where everything agrees that is the wanted twist.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace

import numpy as np

from geometry.axes import Bools, Floats, frozen_array, rolling_direction
from geometry.chassis import Design, WheelArrays
from geometry.motion import Motion, velocity_at
from geometry.motors import rolling_per_turn, shaft_range
from geometry.shared_steering import SteerGroup, shaft_angles
from geometry.solve import Solution, contact_speeds, solve

# Where no wheel settles a part of the motion, this pull keeps the wanted one.
_PULL = 1e-9
# Speeds below this, relative to the wanted motion, are rounding.
_STILL = 1e-13
# A wheel slower than this share of the faster side does not roll [speed units].
_AT_REST = 1e-9


@dataclass(frozen=True)
class DriveGroup:
    """A drive motor as numbers."""

    wheels: tuple[int, ...]
    """Indices of its G wheels."""
    rolling: Floats
    """(G,): how far each wheel rolls for a turn of the motor [mm]."""
    usable: float
    """Speed that it keeps under load [turns/s]."""


@dataclass(frozen=True)
class MotorArrays:
    """All motors of a design as numbers; mm and rad."""

    steer: tuple[SteerGroup, ...]
    drive: tuple[DriveGroup, ...]
    driven: Bools
    """(N,): wheels that a motor drives, known or not."""

    def __bool__(self) -> bool:
        """Whether there is any motor."""
        return bool(self.steer or self.drive)


def motor_arrays(design: Design, wheels: WheelArrays) -> MotorArrays:
    """Lay the motors out as numbers; the shaft travel is what motor and wheels leave together."""
    index = {wheel.name: i for i, wheel in enumerate(design.wheels)}
    steer = []
    for motor in design.steer_motors:
        held = np.array([index[g.wheel] for g in motor.wheels])
        ratio = np.array([g.turns for g in motor.wheels])
        low, high = np.radians(shaft_range(motor))
        ends = np.sort(np.stack([wheels.low[held], wheels.high[held]]) / ratio, axis=0)
        steer.append(
            SteerGroup(
                frozen_array(held, np.int64),
                frozen_array(ratio),
                float(max(low, ends[0].max())),
                float(min(high, ends[1].min())),
            )
        )
    drive = [
        DriveGroup(
            tuple(index[g.wheel] for g in motor.wheels),
            frozen_array(
                [rolling_per_turn(motor, g, design.wheels[index[g.wheel]].diameter_mm) for g in motor.wheels]
            ),
            motor.usable_rpm / 60.0,
        )
        for motor in design.drive_motors
    ]
    driven = frozen_array([wheel.driven for wheel in design.wheels], bool)
    return MotorArrays(tuple(steer), tuple(drive), driven)


@dataclass(frozen=True)
class AsBuilt:
    """What M wanted motions become; arrays are read-only."""

    ideal: Solution
    """Every wheel by itself, for the wanted motion."""
    solution: Solution
    """The wheels as the motors turn them, and the motion that follows."""
    shaft: Floats
    """(M, K): shaft angle of each steer motor from straight ahead [rad]."""
    drive: Floats
    """(M, D): turns of each drive motor for each mm that the faster side should go, signed [1/mm]."""
    mismatch: Floats
    """(M, N): rolling speed that the motors ask of a wheel less that which it has; 0 for
    wheels that are not driven [speed units]."""
    stopped: Bools
    """(M, K): steer motors that their travel stops short."""


def as_built(wheels: WheelArrays, motors: MotorArrays, motion: Motion) -> AsBuilt:
    """Find what the chassis does with the motors that it has.

    Steered wheels without a motor take their ideal angles, driven wheels without a motor
    their ideal speeds. Casters follow the motion that results.

    Parameters
    ----------
    wheels : WheelArrays
        N wheels.
    motors : MotorArrays
        K steer motors and D drive motors.
    motion : Motion
        M wanted motions.

    Returns
    -------
    AsBuilt
        Arrays as stated there, none with NaN.
    """
    ideal = solve(wheels, motion)
    heading, limited, shaft, stopped = _steered_by_motors(wheels, motors, motion, ideal)
    solution, drive, short = built_from(wheels, motors, ideal, heading, limited)
    return AsBuilt(
        ideal,
        solution,
        frozen_array(shaft),
        frozen_array(drive),
        frozen_array(short),
        frozen_array(stopped, bool),
    )


def built_from(
    wheels: WheelArrays, motors: MotorArrays, ideal: Solution, heading: Floats, limited: Bools
) -> tuple[Solution, Floats, Floats]:
    """Find what the chassis does with headings that its steering has taken.

    Parameters
    ----------
    wheels : WheelArrays
        N wheels.
    motors : MotorArrays
        D drive motors; the steer motors have done their part.
    ideal : Solution
        Every wheel by itself, for the M wanted motions.
    heading : ndarray, (M, N)
        Where the wheels point; those of casters are overwritten [rad].
    limited : ndarray, (M, N)
        Where the steering stopped short.

    Returns
    -------
    (solution, drive, mismatch)
        As the fields of these names in `AsBuilt`.
    """
    motion = ideal.motion
    vx, vy = velocity_at(motion.twist, wheels.x, wheels.y)
    roll, side = contact_speeds(vx, vy, motion.twist[:, 2:3], heading, wheels.along, wheels.across)
    asked, drive = _asked_of_wheels(wheels, motors, roll)
    short = np.where(motors.driven, asked - roll, 0.0)
    twist = _twist_that_follows(wheels, motors.driven, motion.twist, heading, (side, short))
    built = Motion(frozen_array(twist), motion.sense)
    if twist is not motion.twist:
        vx, vy = velocity_at(twist, wheels.x, wheels.y)
        roll, side = contact_speeds(vx, vy, twist[:, 2:3], heading, wheels.along, wheels.across)
        short = np.where(motors.driven, asked - roll, 0.0)
    return _solution(wheels, built, ideal, heading, limited, roll, side), drive, short


def _steered_by_motors(
    wheels: WheelArrays, motors: MotorArrays, motion: Motion, ideal: Solution
) -> tuple[Floats, Bools, Floats, Bools]:
    """Headings and limits of the wheels, (M, N), shaft angles and stops of the motors, (M, K)."""
    shaft = np.zeros((len(motion), len(motors.steer)))
    stopped = np.zeros(shaft.shape, dtype=bool)
    heading, limited = ideal.heading.copy(order="F"), ideal.limited.copy(order="F")
    if not motors.steer:
        return heading, limited, shaft, stopped
    less = narrowed(wheels, motors)
    same = np.array_equal(less.low, wheels.low) and np.array_equal(less.high, wheels.high)
    alone = ideal if same else solve(less, motion)
    for k, group in enumerate(motors.steer):
        shaft[:, k], stopped[:, k] = shaft_angles(group, wheels, motion, alone)
        heading[:, group.wheels] = shaft[:, k : k + 1] * group.ratio + wheels.built_in[group.wheels]
        limited[:, group.wheels] = stopped[:, k : k + 1]
    return heading, limited, shaft, stopped


def _asked_of_wheels(wheels: WheelArrays, motors: MotorArrays, roll: Floats) -> tuple[Floats, Floats]:
    """Rolling speeds (M, N) that the drive asks for, and motor speeds (M, D)."""
    drive = np.zeros((len(roll), len(motors.drive)))
    if not motors.drive:
        return roll, drive
    asked = roll.copy(order="F")
    for d, group in enumerate(motors.drive):
        held = list(group.wheels)
        weight = wheels.load[held] * group.rolling
        drive[:, d] = roll[:, held] @ weight / (weight @ group.rolling)
        asked[:, held] = drive[:, d : d + 1] * group.rolling
    return asked, drive


def _twist_that_follows(
    wheels: WheelArrays, driven: Bools, wanted: Floats, heading: Floats, gaps: tuple[Floats, Floats]
) -> Floats:
    """Least squares of sideways speeds and rolling mismatches, as a change to the wanted twist.

    `gaps` are both under the wanted twist; where they are nothing, `wanted` is returned.
    """
    use = ~wheels.caster
    side, short = gaps[0][:, use], gaps[1][:, use]
    still = _STILL * np.abs(wanted).max(axis=1, initial=0.0, keepdims=True)
    rows = np.flatnonzero(((np.abs(side) > still) | (np.abs(short) > still)).any(axis=1))
    if not rows.size:
        return wanted
    part = WheelArrays(**{f.name: getattr(wheels, f.name)[use] for f in fields(wheels)})
    length = max(float(np.hypot(part.x, part.y).max()), 1.0)
    tx, ty = rolling_direction(heading[np.ix_(rows, use)])
    x = part.x + part.along * tx - part.across * ty
    y = part.y + part.along * ty + part.across * tx
    root = np.sqrt(part.load)
    across = np.stack([-ty, tx, (x * tx + y * ty) / length], axis=-1) * root[:, None]
    along = np.stack([tx, ty, (x * ty - y * tx) / length], axis=-1) * (root * driven[use])[:, None]
    matrix = np.swapaxes(across, 1, 2) @ across + np.swapaxes(along, 1, 2) @ along
    matrix += _PULL * np.trace(matrix, axis1=1, axis2=2)[:, None, None] * np.eye(3)
    gap = np.swapaxes(along, 1, 2) @ (root * short[rows])[..., None]
    gap -= np.swapaxes(across, 1, 2) @ (root * side[rows])[..., None]
    change = np.linalg.solve(matrix, gap)[..., 0]
    change[:, 2] /= length
    twist = wanted.copy()
    twist[rows] += change
    return twist


def _solution(
    wheels: WheelArrays,
    built: Motion,
    ideal: Solution,
    heading: Floats,
    limited: Bools,
    roll: Floats,
    side: Floats,
) -> Solution:
    """The wheels under the motion that results; casters follow it."""
    unreachable = ideal.unreachable.copy()
    if wheels.caster.any():
        swung = solve(wheels, built)
        for array, source in ((heading, swung.heading), (roll, swung.roll), (side, swung.side)):
            array[:, wheels.caster] = source[:, wheels.caster]
        unreachable[:, wheels.caster] = swung.unreachable[:, wheels.caster]
    # The same half-turn as the ideal angle, or the other one.
    turned = np.abs(heading - ideal.heading)
    opposite = (turned > 0.5 * np.pi) & (turned < 1.5 * np.pi) & wheels.steered
    return Solution(
        built,
        steer=frozen_array(heading - wheels.built_in),
        heading=frozen_array(heading),
        roll=frozen_array(roll),
        side=frozen_array(side),
        branch=frozen_array(ideal.branch ^ opposite, np.int8),
        limited=frozen_array(limited, bool),
        unreachable=frozen_array(unreachable, bool),
    )


def lengthwise_slip(built: AsBuilt) -> Floats:
    """How much too far (positive) or too little the motors roll each driven wheel.

    Parameters
    ----------
    built : AsBuilt
        M motions of N wheels.

    Returns
    -------
    ndarray, (M, N)
        Millimetres for each metre that the contact travels [mm/m]; 0 for a contact at rest.
    """
    moved = np.hypot(built.solution.roll, built.solution.side)
    return np.asarray(
        1000.0 * np.divide(built.mismatch, moved, out=np.zeros_like(moved), where=moved > _AT_REST)
    )


def speed_limit(motors: MotorArrays, drive: Floats) -> Floats:
    """Largest speed of the faster side at which no drive motor passes its usable speed.

    Parameters
    ----------
    motors : MotorArrays
        D drive motors.
    drive : ndarray, (M, D)
        Turns of each for each mm of the faster side [1/mm].

    Returns
    -------
    ndarray, (M,)
        Speeds [mm/s]; ``inf`` without drive motors.
    """
    limit = np.full(len(drive), np.inf)
    for d, group in enumerate(motors.drive):
        with np.errstate(divide="ignore"):
            np.minimum(limit, group.usable / np.abs(drive[:, d]), out=limit)
    return limit


def least_mismatch_rolling(group: DriveGroup, roll: Floats) -> Floats:
    """Rolling of each wheel for a turn of its motor at which none of them slips at one motion.

    Parameters
    ----------
    group : DriveGroup
        The motor; its first wheel keeps its gearing.
    roll : ndarray, (N,)
        Ideal rolling speeds of all wheels at the chosen motion [speed units].

    Returns
    -------
    ndarray, (G,)
        mm for each turn; NaN where the first wheel does not roll, so that no gearing serves.
    """
    held = list(group.wheels)
    first = float(roll[held[0]])
    if abs(first) < _AT_REST:
        return np.full(len(held), np.nan)
    return np.asarray(group.rolling[0] * roll[held] / first)


def narrowed(wheels: WheelArrays, motors: MotorArrays) -> WheelArrays:
    """The wheels with the travel that their motors leave them."""
    low, high = wheels.low.copy(), wheels.high.copy()
    for group in motors.steer:
        ends = np.sort(np.array([[group.low], [group.high]]) * group.ratio, axis=0)
        low[group.wheels], high[group.wheels] = ends
    return replace(wheels, low=frozen_array(low), high=frozen_array(high))
