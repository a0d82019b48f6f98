"""Does every axle point at the turn centre, and if not, which one misses by how much."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

from geometry.axes import Bools, Floats, frozen_array, rolling_direction
from geometry.kinematics.ideal import Solution, contact_speeds
from geometry.kinematics.motion import velocity_at
from geometry.model.wheel_arrays import WheelArrays
from geometry.plane import least_squares_meeting_point

State = Literal["aligned", "pivots", "swings round", "slight drag", "drags"]
STATES: tuple[State, ...] = ("aligned", "pivots", "swings round", "slight drag", "drags")
ALIGNED = STATES.index("aligned")
# The first state that counts as a fault.
FAULTY = STATES.index("slight drag")
CALM: tuple[State, ...] = STATES[:FAULTY]

# Half of the length of a contact patch as a share of the diameter: our choice, of the size
# that firm tyres and hard wheels have under a light chassis.
HALF_PATCH = 0.05

# Relative size of a singular value below which a constraint counts as repeated.
RANK_TOLERANCE = 1e-7
# Sideways speed, relative to the fastest wheel, below which it is rounding.
STILL = 1e-12
# A caster whose trail is that close to its distance from the centre counts as beyond it.
_ROUNDING = 1e-12


@dataclass(frozen=True)
class Alignment:
    """How M motions suit N wheels; read-only arrays of shape (M, N)."""

    roll: Floats
    """Rolling speed at the contact [speed units]."""
    side: Floats
    """Sideways speed of the contact, to the wheel's left [speed units]."""
    miss: Floats
    """Distance from the turn centre to the axle line [mm]; 0 or ``inf`` straight ahead,
    where the centre is infinitely far: 0 if the axle lies across the motion."""
    slip: Floats
    """Angle between where the wheel points and where its contact moves, within +-pi/2 and
    positive where the contact moves to the wheel's left, whichever way it rolls; 0 where the
    contact is at rest [rad]."""
    drag: Floats
    """Millimetres dragged sideways for each metre that the contact travels [mm/m]."""
    radius: Floats
    """Distance from the turn centre to the contact; ``inf`` straight ahead [mm]."""
    pivots: Bools
    """True where the contact patch covers the turn centre, so that the wheel turns on its contact."""
    swings: Bools
    """True where the turn centre is nearer to a caster's kingpin than its trail: it has no rolling
    angle there and swings round freely, so that its slip, drag and miss count as 0."""


def contacts(wheels: WheelArrays, heading: npt.ArrayLike) -> tuple[Floats, Floats]:
    """Contact points on the ground for given headings.

    Parameters
    ----------
    wheels : WheelArrays
        N wheels.
    heading : array_like, (M, N)
        Wheel headings [rad].

    Returns
    -------
    (x, y) : ndarrays, (M, N)
        Kingpin plus the offset (e_x, e_y), turned with the wheel [mm].
    """
    tx, ty = rolling_direction(heading)
    return (
        wheels.x + wheels.along * tx - wheels.across * ty,
        wheels.y + wheels.along * ty + wheels.across * tx,
    )


def alignment(wheels: WheelArrays, twist: npt.ArrayLike, heading: npt.ArrayLike) -> Alignment:
    """Judge headings against motions, whatever made the headings.

    Nothing is taken from the solver: the sideways speed is that of the contact point
    under the twist, and the miss is ``|(C - q) . t| = |side / omega|``.

    Parameters
    ----------
    wheels : WheelArrays
        N wheels.
    twist : array_like, (M, 3)
        Motions.
    heading : array_like, (M, N)
        Wheel headings [rad].

    Returns
    -------
    Alignment
        Arrays of shape (M, N), none with NaN.
    """
    t = np.asarray(twist, dtype=np.float64)
    vx, vy = velocity_at(t, wheels.x, wheels.y)
    omega = t[:, 2:3]
    roll, side = contact_speeds(
        vx, vy, omega, np.asarray(heading, dtype=np.float64), wheels.along, wheels.across
    )
    pull = np.abs(wheels.along * omega)
    beyond = (pull > 0) & (pull * (1.0 + _ROUNDING) > np.sqrt(vx * vx + vy * vy))
    return _judged(wheels, t, (roll, side), wheels.caster & beyond)


def alignment_of(wheels: WheelArrays, solution: Solution) -> Alignment:
    """Judge a solution by the speeds that it already holds; cheaper for whole ranges."""
    swings = wheels.caster & solution.unreachable
    return _judged(wheels, solution.motion.twist, (solution.roll, solution.side), swings)


def miss_distance(side: npt.ArrayLike, omega: npt.ArrayLike, rest: npt.ArrayLike = STILL) -> Floats:
    """Distance from the turn centre to an axle line, ``|side / omega|``.

    Parameters
    ----------
    side : array_like, (M, N)
        Sideways speeds of the contacts [speed units].
    omega : array_like, (M, 1)
        Yaw rates [speed units / mm].
    rest : array_like, (M, 1) or scalar
        Sideways speed that counts as rounding [speed units].

    Returns
    -------
    ndarray, (M, N)
        Miss [mm]; straight ahead 0 for an axle across the motion, else ``inf``.

    Examples
    --------
    >>> miss_distance([[0.5, 0.0]], [[0.01]])
    array([[50.,  0.]])
    >>> miss_distance([[0.5, 0.0]], [[0.0]])
    array([[inf,  0.]])
    """
    speed = np.abs(np.asarray(side, dtype=np.float64))
    rate = np.abs(np.asarray(omega, dtype=np.float64))
    straight = np.flatnonzero(rate[:, 0] == 0)
    if straight.size:
        rate[straight] = 1.0
    with np.errstate(over="ignore"):
        miss = np.asarray(speed / rate)
    if straight.size:
        limit = np.broadcast_to(np.asarray(rest), speed.shape)[straight]
        miss[straight] = np.where(speed[straight] > limit, np.inf, 0.0)
    return miss


def patch_covers_centre(wheels: WheelArrays, speed: Floats, side: Floats, omega: Floats) -> Bools:
    """Tell where a wheel's contact patch covers the turn centre; see `states`.

    Parameters
    ----------
    wheels : WheelArrays
        N wheels.
    speed, side : ndarrays, (..., N)
        Speeds of the contacts, whole and sideways [speed units].
    omega : ndarray, (..., 1)
        Yaw rates [speed units / mm].

    Returns
    -------
    ndarray, (..., N)
        Nowhere where the chassis goes straight.
    """
    rate = np.abs(omega)
    within = speed < 0.5 * wheels.width * rate
    return np.asarray(within & (np.abs(side) <= HALF_PATCH * wheels.diameter * rate))


def _judged(wheels: WheelArrays, twist: Floats, speeds: tuple[Floats, Floats], swings: Bools) -> Alignment:
    roll, side = speeds
    omega = twist[:, 2:3]
    speed = np.hypot(roll, side)
    fastest = speed.max(axis=1, keepdims=True, initial=0.0)
    reach = max(np.abs(wheels.x).max(initial=1.0), np.abs(wheels.y).max(initial=1.0))
    moving = speed > STILL * (np.abs(twist[:, :2]).sum(axis=1, keepdims=True) + reach * np.abs(omega))
    slip = np.where(moving, np.arctan2(side, np.abs(roll)), 0.0)
    share = np.divide(np.abs(side), speed, out=np.zeros_like(speed), where=moving)
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        radius = np.where(omega != 0, speed / np.abs(omega), np.inf)
    covered = patch_covers_centre(wheels, speed, side, omega)
    miss = miss_distance(side, omega, STILL * fastest)
    if swings.any():
        for array in (slip, share, miss):
            array[swings] = 0.0
    return Alignment(
        roll=frozen_array(roll),
        side=frozen_array(side),
        miss=frozen_array(miss),
        slip=frozen_array(slip),
        drag=frozen_array(1000.0 * share),
        radius=frozen_array(radius),
        pivots=frozen_array(covered & ~swings, bool),
        swings=frozen_array(swings, bool),
    )


def states(found: Alignment, aligned_within: float, slight_within: float) -> npt.NDArray[np.int8]:
    """Sort wheels into STATES by their slip angle.

    A wheel whose contact patch covers the turn centre pivots there: its slip angle says
    nothing. The patch is taken as half the tyre's width to either side and a twentieth of
    the diameter to front and rear. A caster that swings round has no slip either.

    Parameters
    ----------
    found : Alignment
        (M, N) wheels.
    aligned_within, slight_within : float
        Largest slip angle of the first two kinds [rad].

    Returns
    -------
    ndarray, (M, N)
        Indices into STATES.
    """
    size = np.abs(found.slip)
    index = np.where(size <= aligned_within, 0, np.where(size <= slight_within, FAULTY, FAULTY + 1))
    index = np.where(found.pivots & (index != 0), STATES.index("pivots"), index)
    return np.where(found.swings, STATES.index("swings round"), index).astype(np.int8)


def constraint_rows(wheels: WheelArrays, heading: npt.ArrayLike) -> Floats:
    """Rolling constraints: each row times a twist is a wheel's sideways speed.

    For heading d and contact (x, y) the row is ``(-sin d, cos d, x cos d + y sin d)``
    (Campion, Bastin, d'Andrea-Novel, IEEE T-RA 12(1), 1996; Siegwart and Nourbakhsh,
    Introduction to Autonomous Mobile Robots).

    Parameters
    ----------
    wheels : WheelArrays
        N wheels.
    heading : array_like, (M, N)
        Wheel headings [rad].

    Returns
    -------
    ndarray, (M, N, 3)
        Rows; the third column carries mm.
    """
    x, y = contacts(wheels, heading)
    tx, ty = rolling_direction(heading)
    return np.stack([-ty, tx, x * tx + y * ty], axis=-1)


def rank(wheels: WheelArrays, heading: npt.ArrayLike) -> npt.NDArray[np.int64]:
    """Rank of the rolling constraints of all wheels but casters.

    3: no motion is free of drag. 2: one turn centre, possibly at infinity. 1: the centre may
    lie anywhere on one line. 0: nothing constrains the body. Mobility is 3 minus the rank.

    Parameters
    ----------
    wheels : WheelArrays
        N wheels.
    heading : array_like, (M, N)
        Wheel headings [rad].

    Returns
    -------
    ndarray, (M,)
        Rank; the third column is scaled by the size of the chassis first, since a rank
        that mixes units would depend on them.
    """
    rows = constraint_rows(wheels, heading)[:, ~wheels.caster, :]
    if rows.shape[1] == 0:
        return np.zeros(len(rows), dtype=np.int64)
    size = max(float(np.ptp(wheels.x)), float(np.ptp(wheels.y)), 1.0)
    # About the middle of the wheels, so that the rank does not depend on the origin either.
    middle_x, middle_y = float(wheels.x.mean()), float(wheels.y.mean())
    third = rows[:, :, 2] + middle_y * rows[:, :, 0] - middle_x * rows[:, :, 1]
    scaled = np.stack([rows[:, :, 0], rows[:, :, 1], third / size], axis=-1)
    values = np.linalg.svd(scaled, compute_uv=False)
    return np.asarray((values > RANK_TOLERANCE * values[:, :1]).sum(axis=1), dtype=np.int64)


def best_fit_centre(wheels: WheelArrays, heading: npt.ArrayLike) -> Floats:
    """The point that all axle lines but casters' miss least, by load-weighted squares.

    Parameters
    ----------
    wheels : WheelArrays
        N wheels.
    heading : array_like, (M, N)
        Wheel headings [rad].

    Returns
    -------
    ndarray, (M, 2)
        Points [mm]; ``inf`` where the axle lines are parallel or there is none.
    """
    use = ~wheels.caster
    angle = np.asarray(heading, dtype=np.float64)
    x, y = contacts(wheels, angle)
    tx, ty = rolling_direction(angle)
    if not use.any():
        return np.full((len(angle), 2), np.inf)
    points = np.stack([x, y], axis=-1)[:, use]
    normals = np.stack([tx, ty], axis=-1)[:, use]
    return least_squares_meeting_point(points, normals, wheels.load[use])


@dataclass(frozen=True)
class Verdict:
    """The answer for one motion."""

    state: State
    """The worst state of any wheel; aligned for a chassis without wheels."""
    worst: int | None
    """Wheel with the largest slip angle among those that are worst; None without wheels."""
    centre_exists: bool
    """True where all axles meet the turn centre: every wheel is aligned, or a caster that swings
    round. A wheel that pivots on the centre may well point past it."""


def verdicts(found: Alignment, aligned_within: float, slight_within: float) -> tuple[Verdict, ...]:
    """Sum up each motion in a state and its worst wheel.

    Parameters
    ----------
    found : Alignment
        (M, N) wheels.
    aligned_within, slight_within : float
        Tolerances on the slip angle [rad].

    Returns
    -------
    tuple of Verdict
        One for each of the M motions.
    """
    kinds = states(found, aligned_within, slight_within)
    if kinds.shape[1] == 0:
        return tuple(Verdict("aligned", None, centre_exists=True) for _ in range(len(kinds)))
    order = np.where(found.pivots, 0.0, np.abs(found.slip)) + kinds * np.pi
    worst = order.argmax(axis=1)
    meets = np.isin(kinds, (STATES.index("aligned"), STATES.index("swings round")))
    return tuple(
        Verdict(STATES[kinds[m, n]], int(n), centre_exists=bool(meets[m].all())) for m, n in enumerate(worst)
    )
