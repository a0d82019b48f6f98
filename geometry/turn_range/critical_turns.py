"""The turns that decide how wheels are judged over a whole range, in closed form.

On either half of the range, to the left and to the right, the motion is linear in the size t
of the turn input: at t the twist is ``(1, 0, 0) + t (slope of the half)``. So are the rolling
and the sideways speed of a wheel that keeps its heading, which is a fixed wheel or a steered
one at an end of its travel:

- its slip, atan(side / roll), has no extreme but where roll passes zero, and meets a tolerance
  where ``side = +-tan(tolerance) roll``: roots of lines;
- its contact is as far from the turn centre as its patch reaches where
  ``roll^2 + side^2 = (omega w / 2)^2``: a quadratic.

A steered wheel leaves its ideal angle at an end of travel, a line again, and where the centre
is nearer to the kingpin than the trail, ``|v|^2 = (omega e_x)^2``. Among those turns it stands
across the line to the centre, a distance d away, and its slip is ``atan((|e_x| - d) / |e_y|)``:
greatest where the centre is abreast of the kingpin, v_x = 0, and at a tolerance where d is
``|e_x| - |e_y| tan(tolerance)``.

A caster is never at fault, and decides nothing.

Nothing here says what holds on either side of such a turn: the solver and `alignment` do.
"""

from __future__ import annotations

import numpy as np

from geometry.axes import Floats
from geometry.kinematics.alignment import HALF_PATCH
from geometry.kinematics.ideal import TRAVEL_SLACK
from geometry.kinematics.motion import from_turn, velocity_at
from geometry.kinematics.robot import Robot
from geometry.model.base_axle import Base
from geometry.model.wheel_arrays import WheelArrays

# How far on either side of a deciding turn it is looked at as well.
NEIGHBOUR = 1e-9

Line = tuple[Floats, Floats]
"""Start and slope of linear functions of the size of a turn, (K,) and (2, K): left half, right half."""


def critical_turns(robot: Robot, largest_turn: float) -> Floats:
    """Find every turn at which the judgement of a wheel can change or be at its worst.

    Parameters
    ----------
    robot : Robot
        N wheels, with the travel that their motors leave them, and the slip angles that part
        their states.
    largest_turn : float
        Half of the range, above 0 and up to 1.

    Returns
    -------
    ndarray, (M,)
        Turn inputs within the range, each with its neighbours 1e-9 before and after, in no
        order and not without repeats. The ends of the range are not among them by themselves.

    Examples
    --------
    A fixed wheel 60 mm behind the line of turn centres comes to a slip of 45 degrees where
    the centre is 60 mm beside it, at a radius of 160 mm:

    >>> from geometry.model.design import Design
    >>> from geometry.model.wheel import Wheel
    >>> from geometry.kinematics.robot import robot_of
    >>> names = (("L", 0.0, 100.0), ("R", 0.0, -100.0), ("B", -60.0, 100.0))
    >>> design = Design(
    ...     wheels=tuple(Wheel(name=n, x_mm=x, y_mm=y) for n, x, y in names),
    ...     base_axle_x_mm=0.0,
    ...     aligned_within_deg=45.0,
    ...     slight_drag_within_deg=45.0,
    ... )
    >>> turns = critical_turns(robot_of(design), 1.0)
    >>> bool(np.isclose(turns, 100.0 / (100.0 + 160.0), rtol=0, atol=1e-14).any())
    True
    """
    wheels, base = robot.motor_travel, robot.base
    tangents = np.tan([robot.aligned_within, robot.slight_within])
    parts = [
        *_of_kept_headings(wheels, base, tangents),
        *_of_missing_angles(wheels, base, tangents),
    ]
    sizes = np.concatenate(parts, axis=1) if parts else np.zeros((2, 0))
    found = []
    for sign, roots in zip((1.0, -1.0), sizes, strict=True):
        within = roots[(roots >= 0.0) & (roots <= largest_turn)]
        near = np.concatenate([within - NEIGHBOUR, within, within + NEIGHBOUR])
        found.append(sign * np.clip(near, 0.0, largest_turn))
    return np.concatenate(found) + 0.0


def _of_kept_headings(wheels: WheelArrays, base: Base, tangents: Floats) -> list[Floats]:
    """Sizes of turns for wheels that keep a heading, each (2, K); those out of range among them."""
    n, heading = _kept_headings(wheels)
    if not len(n):
        return []
    (vx0, vx1), (vy0, vy1), omega = _kingpins(wheels, base, n)
    c, s = np.cos(heading), np.sin(heading)
    across = omega * wheels.across[n]
    kingpin = (vx0 * c + vy0 * s, vx1 * c + vy1 * s)
    roll = (kingpin[0], kingpin[1] - across)
    side = (vy0 * c - vx0 * s, vy1 * c - vx1 * s + omega * wheels.along[n])
    slopes = [*tangents, *-tangents]
    lines = [roll, side, *((side[0] - k * roll[0], side[1] - k * roll[1]) for k in slopes)]
    patch = HALF_PATCH * wheels.diameter[n] * omega
    lines += [(side[0], side[1] - patch), (side[0], side[1] + patch)]
    turnable = wheels.steered[n]
    if turnable.any():
        # At an end of travel an angle that is missing elsewhere comes in.
        lines.append((kingpin[0][turnable], kingpin[1][:, turnable]))
        # Where v points half-way between the branches, the nearest end of travel is another.
        middle = (0.5 * (wheels.low + wheels.high) + wheels.built_in)[n]
        c, s = np.where(turnable, np.cos(middle), np.nan), np.sin(middle)
        lines.append((vx0 * c + vy0 * s, vx1 * c + vy1 * s))
    squares = _where_equal((roll, side), 0.5 * wheels.width[n] * omega)
    return [*(_root(line) for line in lines), *squares]


def _of_missing_angles(wheels: WheelArrays, base: Base, tangents: Floats) -> list[Floats]:
    """Sizes of turns for steered wheels whose trail reaches beyond the centre, each (2, K)."""
    n = np.flatnonzero(wheels.steered & (wheels.along != 0))
    if not len(n):
        return []
    vx, vy, omega = _kingpins(wheels, base, n)
    along, across = np.abs(wheels.along[n]), np.abs(wheels.across[n])
    beside = (0.5 * wheels.width[n]) ** 2 - across**2
    distances = [
        along,
        *(along - across * slope for slope in tangents),
        along - HALF_PATCH * wheels.diameter[n],
        along - np.sqrt(np.maximum(beside, 0.0)),
    ]
    found = [_root(vx)]
    for d in distances:
        found += _where_equal((vx, vy), np.maximum(d, 0.0) * omega)
    return found


def _kept_headings(wheels: WheelArrays) -> tuple[np.ndarray[tuple[int], np.dtype[np.int64]], Floats]:
    """Wheels, and the headings at which they may stand though they drag, (K,) each [rad]."""
    span = wheels.high - wheels.low
    # With half a turn of travel one of two opposite angles is always within; trail brings them nearer.
    needed = np.where(wheels.along == 0, np.pi, 2.0 * np.pi) - TRAVEL_SLACK
    stops = np.flatnonzero(wheels.steered & (span < needed))
    fixed = np.flatnonzero(wheels.fixed)
    built_in = wheels.built_in
    heading = [built_in[fixed], (wheels.low + built_in)[stops], (wheels.high + built_in)[stops]]
    return np.concatenate([fixed, stops, stops]), np.concatenate(heading)


def _kingpins(
    wheels: WheelArrays, base: Base, n: np.ndarray[tuple[int], np.dtype[np.int64]]
) -> tuple[Line, Line, Floats]:
    """Both velocities of kingpins, and the slope of the yaw rate, (2, 1)."""
    twist = from_turn([0.0, 1.0, -1.0], base).twist
    vx, vy = velocity_at(twist, wheels.x[n], wheels.y[n])
    return (vx[0], vx[1:] - vx[0]), (vy[0], vy[1:] - vy[0]), twist[1:, 2:3] - twist[0, 2]


def _root(line: Line) -> Floats:
    """Where lines are zero, (2, K); infinite or NaN where they never are."""
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        return np.asarray(-line[0] / line[1])


def _where_equal(velocity: tuple[Line, Line], speed: Floats) -> list[Floats]:
    """Both sizes at which a velocity has the speed ``speed t``, (2, K) each; NaN where it never has."""
    (x0, x1), (y0, y1) = velocity
    square = x1 * x1 + y1 * y1 - speed * speed
    half = x0 * x1 + y0 * y1
    rest = x0 * x0 + y0 * y0
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        # The root of larger size first: no digits cancel in the other.
        larger = -half - np.copysign(np.sqrt(half * half - square * rest), half)
        return [np.asarray(larger / square), np.asarray(rest / larger)]
