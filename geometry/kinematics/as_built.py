"""The chassis as built: what its motors make of the motion that is asked for.

A steer motor that holds several wheels takes the shaft angle at which they drag least; a
drive motor that holds several wheels runs at the speed that suits them best. The chassis
then moves as its wheels let it: with the twist that makes least the load-weighted sum of
squared sideways speeds of all wheels but casters, plus squared rolling mismatches of the
driven ones (least squares of the rolling constraints; Campion, Bastin, d'Andrea-Novel,
IEEE T-RA 12(1), 1996, give the rows). Where everything agrees that is the wanted twist.

A part of the motion that no wheel settles stays as wanted, by a small pull. A chassis whose
wheels hardly settle it is pulled as well: where the rows' condition number is below 1e3, by a
millionth of the twist or so; at 1e4, by as much as half of the way.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, fields, replace

import numpy as np

from geometry.axes import Bools, Floats, Ints, frozen_array, rolling_direction
from geometry.kinematics.ideal import BLOCK, Solution, solve
from geometry.kinematics.motion import Motion, velocity_at
from geometry.kinematics.shared_steering import SteerGroup, common_travel, shaft_angles
from geometry.model.design import Design
from geometry.model.motors import rolling_per_turn
from geometry.model.wheel_arrays import WheelArrays
from geometry.transmission.scale import LinearScale, Scale
from geometry.transmission.steer_law import Gears, SteerLaw

# Where no wheel settles a part of the motion, this pull keeps the wanted one.
_PULL, _REFINEMENTS = 1e-8, 3
# Speeds below this, relative to the wanted motion, are rounding.
_STILL = 1e-13


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
    scales: tuple[Scale, ...] = ()
    """How the controller of each steer motor counts its shaft, (K,); only its range counts here."""

    def __bool__(self) -> bool:
        """Whether there is any motor."""
        return bool(self.steer or self.drive)


def motor_arrays(design: Design, wheels: WheelArrays) -> MotorArrays:
    """Lay the motors out as numbers; the shaft travel is what motor and wheels leave together."""
    index = {wheel.name: i for i, wheel in enumerate(design.wheels)}
    scales = tuple(LinearScale(motor) for motor in design.steer_motors)
    steer = tuple(
        steer_group(
            wheels,
            frozen_array([index[g.wheel] for g in motor.wheels], np.int64),
            Gears(frozen_array([g.turns for g in motor.wheels])),
            scale.ends,
        )
        for motor, scale in zip(design.steer_motors, scales, strict=True)
    )
    drive = tuple(
        DriveGroup(
            tuple(index[g.wheel] for g in motor.wheels),
            frozen_array(
                [rolling_per_turn(motor, g, design.wheels[index[g.wheel]].diameter_mm) for g in motor.wheels]
            ),
            motor.usable_rpm / 60.0,
        )
        for motor in design.drive_motors
    )
    return MotorArrays(steer, drive, frozen_array([wheel.driven for wheel in design.wheels], bool), scales)


def steer_group(
    wheels: WheelArrays, held: Ints, law: SteerLaw, range_of_shaft: tuple[float, float]
) -> SteerGroup:
    """A steer motor with the travel that its scale, its law and its wheels leave together.

    Parameters
    ----------
    wheels : WheelArrays
        All N wheels of the chassis.
    held : ndarray, (G,)
        Indices of those on the motor.
    law : SteerLaw
        How they follow the shaft.
    range_of_shaft : (float, float)
        Travel of the motor itself, from straight ahead [rad].
    """
    least, most = common_travel(wheels, held, law)
    low, high = range_of_shaft
    return SteerGroup(held, law, float(max(low, least)), float(min(high, most)))


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

    Steered wheels without a motor take their ideal angles; driven wheels without a motor
    turn as the wanted motion asks of a wheel that points where they point. Casters follow
    the motion that results. Where no wheel is driven, somebody pushes: all wheels but
    casters then count as driven, since nothing else would say how fast the chassis goes.

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
    heading, limited = ideal.heading.copy(order="F"), ideal.limited.copy(order="F")
    shaft = np.zeros((len(motion), len(motors.steer)), order="F")
    stopped = np.zeros(shaft.shape, dtype=bool, order="F")
    if motors.steer:
        less = narrowed(wheels, motors)
        same = np.array_equal(less.low, wheels.low) and np.array_equal(less.high, wheels.high)
        alone = ideal if same else solve(less, motion)
        for here in _blocks(len(motion)):
            part = alone if len(motion) <= BLOCK else _rows_of(alone, here)
            for k, group in enumerate(motors.steer):
                turned, stops = shaft_angles(group, wheels, part.motion, part)
                shaft[here, k], stopped[here, k] = turned, stops
                heading[here, group.wheels] = group.law.angles(turned) + wheels.built_in[group.wheels]
                limited[here, group.wheels] = stops[:, None]
    solution, drive, short = moved_by(wheels, motors, ideal, heading - wheels.built_in, limited)
    return AsBuilt(ideal, solution, frozen_array(shaft), drive, short, frozen_array(stopped, bool))


def _blocks(rows: int) -> Iterator[slice]:
    return (slice(start, start + BLOCK) for start in range(0, rows, BLOCK))


def _rows_of(solution: Solution, here: slice) -> Solution:
    motion = Motion(solution.motion.twist[here], solution.motion.sense[here])
    arrays = (getattr(solution, f.name)[here] for f in fields(solution) if f.name != "motion")
    return Solution(motion, *arrays)


def moved_by(
    wheels: WheelArrays,
    motors: MotorArrays,
    ideal: Solution,
    steer: Floats,
    limited: Bools,
    drive: Floats | None = None,
) -> tuple[Solution, Floats, Floats]:
    """Find how the chassis moves with steer angles that its wheels have taken.

    Parameters
    ----------
    wheels : WheelArrays
        N wheels.
    motors : MotorArrays
        D drive motors; the steer motors have done their part.
    ideal : Solution
        Every wheel by itself, for the M wanted motions.
    steer : ndarray, (M, N)
        Steer angles of the wheels; those of casters do not count [rad].
    limited : ndarray, (M, N)
        Where the steering stopped short.
    drive : ndarray, (M, D), optional
        Turns of each drive motor for each mm of the faster side [1/mm]; else each runs as suits
        its wheels best.

    Returns
    -------
    (solution, drive, mismatch)
        As the fields of these names in `AsBuilt`.
    """
    heading = np.asfortranarray(steer + wheels.built_in if wheels.built_in.any() else steer.copy())
    out = _Follows(
        heading=heading,
        unreachable=ideal.unreachable.copy(order="F"),
        roll=np.empty(heading.shape, order="F"),
        side=np.empty(heading.shape, order="F"),
        mismatch=np.zeros(heading.shape, order="F"),
        twist=ideal.motion.twist.copy(),
        drive=np.zeros((len(heading), len(motors.drive)), order="F"),
    )
    if drive is not None:
        out.drive[:] = drive
    for here in _blocks(len(heading) if len(wheels) else 0):
        _follow(wheels, motors, ideal.motion.sense[here], out.rows(here), best_speeds=drive is None)
    # The same half-turn as the ideal angle, or the other one.
    turned = np.abs(heading - ideal.heading)
    opposite = (turned > 0.5 * np.pi) & (turned < 1.5 * np.pi) & wheels.steered
    solution = Solution(
        Motion(frozen_array(out.twist), ideal.motion.sense),
        steer=frozen_array(np.where(wheels.caster, heading - wheels.built_in, steer)),
        heading=frozen_array(heading),
        roll=frozen_array(out.roll),
        side=frozen_array(out.side),
        branch=frozen_array(ideal.branch ^ opposite, np.int8),
        limited=frozen_array(limited, bool),
        unreachable=frozen_array(out.unreachable, bool),
    )
    return solution, frozen_array(out.drive), frozen_array(out.mismatch)


@dataclass
class _Follows:
    """What follows from headings; filled in by rows."""

    heading: Floats
    unreachable: Bools
    roll: Floats
    side: Floats
    mismatch: Floats
    twist: Floats
    drive: Floats

    def rows(self, chosen: slice) -> _Follows:
        return _Follows(**{f.name: getattr(self, f.name)[chosen] for f in fields(self)})


def _follow(
    wheels: WheelArrays, motors: MotorArrays, sense: Floats, out: _Follows, *, best_speeds: bool
) -> None:
    """Fill in some rows, whose headings and wanted twists are there already."""
    tx, ty = rolling_direction(out.heading.T)
    roll, side = _contact_speeds(wheels, out.twist, tx, ty)
    if best_speeds:
        _choose_speeds(wheels, motors, roll, out.drive)
    asked = _asked_of_wheels(motors, roll, out.drive)
    use = ~wheels.caster
    driven = motors.driven if (motors.driven & use).any() else use
    short = np.where(driven[:, None], asked - roll, 0.0)
    fastest = np.abs(roll).max(axis=0) + np.abs(side).max(axis=0)
    off = (np.abs(side) > _STILL * fastest) | (np.abs(short) > _STILL * fastest)
    rows = np.flatnonzero(off[use].any(axis=0))
    if rows.size:
        part = wheels.take(use)
        tx_off, ty_off, side_off, short_off = (a[use].take(rows, axis=1) for a in (tx, ty, side, short))
        out.twist[rows] += _least_change(part, driven[use], (tx_off, ty_off), (side_off, short_off)).T
        roll, side = _contact_speeds(wheels, out.twist, tx, ty)
    out.roll[:], out.side[:] = roll.T, side.T
    if wheels.caster.any():
        swung = solve(wheels, Motion(out.twist, sense))
        for name in ("heading", "roll", "side", "unreachable"):
            getattr(out, name)[:, wheels.caster] = getattr(swung, name)[:, wheels.caster]
    out.mismatch[:] = np.where(motors.driven, asked.T - out.roll, 0.0)


def _contact_speeds(wheels: WheelArrays, twist: Floats, tx: Floats, ty: Floats) -> tuple[Floats, Floats]:
    """Rolling and sideways speeds of wheels that point along (tx, ty), (N, M) each."""
    vx, vy = (v.T for v in velocity_at(twist, wheels.x, wheels.y))
    roll, side = vx * tx + vy * ty, vy * tx - vx * ty
    if wheels.across.any():
        roll -= wheels.across[:, None] * twist[:, 2]
    if wheels.along.any():
        side += wheels.along[:, None] * twist[:, 2]
    return roll, side


def _choose_speeds(wheels: WheelArrays, motors: MotorArrays, roll: Floats, drive: Floats) -> None:
    """The speed of each drive motor that suits its wheels best; fills in `drive` (M, D)."""
    for d, group in enumerate(motors.drive):
        held = list(group.wheels)
        weight = wheels.load[held] * group.rolling
        drive[:, d] = weight @ roll[held] / (weight @ group.rolling)


def _asked_of_wheels(motors: MotorArrays, roll: Floats, drive: Floats) -> Floats:
    """Rolling speeds (N, M) that the drive asks for; wheels without a motor roll as they do."""
    asked = roll.copy()
    for d, group in enumerate(motors.drive):
        asked[list(group.wheels)] = group.rolling[:, None] * drive[:, d]
    return asked


def _least_change(
    part: WheelArrays, driven: Bools, heading: tuple[Floats, Floats], gaps: tuple[Floats, Floats]
) -> Floats:
    """Change of the twist, (3, M), that makes the squares of sideways speeds and mismatches least.

    Each wheel adds its load times n n' to the matrix, n the row of its sideways speed
    ``(-ty, tx, x tx + y ty)``, and where driven times t t' as well, t the row of its rolling
    speed ``(tx, ty, x ty - y tx)``. In the plane n n' + t t' is the unit matrix.
    """
    (tx, ty), (side, short) = heading, gaps
    length = max(float(np.hypot(part.x, part.y).max()), 1.0)
    x = (part.x[:, None] + part.along[:, None] * tx - part.across[:, None] * ty) / length
    y = (part.y[:, None] + part.along[:, None] * ty + part.across[:, None] * tx) / length
    free, pulled = part.load * ~driven, part.load * driven
    arm, lever = x * tx + y * ty, x * ty - y * tx
    matrix = (
        free @ (ty * ty) + pulled.sum(),
        free @ (-tx * ty),
        free @ (-ty * arm) - pulled @ y,
        free @ (tx * tx) + pulled.sum(),
        free @ (tx * arm) + pulled @ x,
        part.load @ (arm * arm) + pulled @ (lever * lever),
    )
    gap = (
        part.load @ (tx * short + ty * side),
        part.load @ (ty * short - tx * side),
        part.load @ (lever * short - arm * side),
    )
    change = _solved(matrix, gap)
    change[2] /= length
    return change


def _solved(matrix: tuple[Floats, ...], gap: tuple[Floats, ...]) -> Floats:
    """Solve symmetric 3 x 3 systems (upper triangle by rows) for the least solution, (3, M).

    A small pull to 0 on the diagonal settles what the matrix does not; steps of refinement
    take out what it does to the rest.
    """
    a, b, c, d, e, f = matrix
    pull = _PULL * (a + d + f)
    first = a + pull
    ba, ca = b / first, c / first
    second = d + pull - ba * b
    rest = e - ca * b
    er = rest / second
    third = f + pull - ca * c - er * rest
    found = np.zeros((3, len(pull)))
    left = np.array(gap)
    for _ in range(_REFINEMENTS):
        u, v, w = left
        v = v - ba * u
        z = (w - ca * u - er * v) / third
        y = v / second - er * z
        found += np.array([u / first - ba * y - ca * z, y, z])
        p, q, r = found
        left = np.array(gap) - np.array([a * p + b * q + c * r, b * p + d * q + e * r, c * p + e * q + f * r])
    return found


def narrowed(wheels: WheelArrays, motors: MotorArrays) -> WheelArrays:
    """The wheels with the travel that their motors leave them."""
    low, high = wheels.low.copy(), wheels.high.copy()
    for group in motors.steer:
        ends = np.sort(group.law.angles(np.array([group.low, group.high])), axis=0)
        low[group.wheels], high[group.wheels] = ends
    return replace(wheels, low=frozen_array(low), high=frozen_array(high))
