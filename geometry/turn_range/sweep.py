"""Whole ranges of turns at once, and the places along them that matter."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from geometry.axes import Floats, frozen_array
from geometry.errors import CommandError
from geometry.kinematics.ideal import Solution, solve
from geometry.kinematics.motion import from_turn, radius_of_turn, sides_of_turn
from geometry.model.base_axle import Base
from geometry.model.wheel_arrays import WheelArrays

LandmarkKind = Literal[
    "straight", "side stopped", "on the spot", "largest turn", "travel end", "flip", "changes end", "jump"
]
# The kinds at which a steer angle jumps.
JUMPS: tuple[LandmarkKind, ...] = ("flip", "changes end", "jump")

MOST_ROWS = 1_000_001
# How far on either side of a crossing the solver is asked what changes there.
_NEAR = 1e-9
# A steer angle that changes by more within that distance has jumped [rad]; where the branch is
# another as well, less will do.
JUMP, _JUMP_OF_BRANCHES = 0.1, 0.01
# Rolling speeds below this are rounding and have no sense [faster side = 1].
_STILL = 1e-12


@dataclass(frozen=True)
class Sweep:
    """A range of turns with all that the wheels do; arrays of shape (M,) unless said."""

    turn: Floats
    """Turn inputs."""
    left: Floats
    """Left side speed, the faster side at 1."""
    right: Floats
    """Right side speed, the faster side at 1."""
    radius: Floats
    """Signed turn radius, ``inf`` straight ahead [mm]."""
    solution: Solution
    """(M, N) wheels."""


@dataclass(frozen=True)
class Landmark:
    """A turn input where something happens."""

    turn: float
    kind: LandmarkKind
    wheel: int | None = None
    """The wheel that it happens to."""
    before: float = 0.0
    """Steer angle on the side nearer to straight ahead [rad]."""
    after: float = 0.0
    """Steer angle on the far side [rad]; differs from `before` where it jumps."""


def turns_between(low: float, high: float, rows: int) -> Floats:
    """Evenly spaced turn inputs with both ends; a symmetric range mirrors itself exactly.

    Raises
    ------
    CommandError
        If the range is empty or out of -1 to 1, or the number of rows is out of range.

    Examples
    --------
    >>> turns_between(-1.0, 1.0, 5)
    array([-1. , -0.5,  0. ,  0.5,  1. ])
    """
    if not (-1.0 <= low < high <= 1.0):
        raise CommandError(f"the turn range must rise within -1 to 1 (got {low:g} to {high:g})")
    if not 2 <= rows <= MOST_ROWS:
        raise CommandError(f"the number of rows must be from 2 to {MOST_ROWS} (got {rows})")
    # Whole steps first: both halves of a symmetric range then mirror each other to the last bit.
    step = np.arange(rows, dtype=np.float64)
    turns = (low * step[::-1] + high * step) / (rows - 1)
    turns[0], turns[-1] = low, high
    return turns


def sweep(wheels: WheelArrays, base: Base, turn: Floats) -> Sweep:
    """Solve a whole range of turn inputs, driving forward.

    Parameters
    ----------
    wheels : WheelArrays
        N wheels.
    base : Base
        Base axle and reference points.
    turn : ndarray, (M,)
        Turn inputs in any order.

    Returns
    -------
    Sweep
        Arrays of shape (M,) and (M, N).

    Raises
    ------
    CommandError
        If a turn input is not a number or out of range.
    """
    left, right = sides_of_turn(turn)
    return Sweep(
        turn=frozen_array(np.array(turn, dtype=np.float64, ndmin=1)),  # the caller's stays writeable
        left=frozen_array(left),
        right=frozen_array(right),
        radius=frozen_array(radius_of_turn(turn, base)),
        solution=solve(wheels, from_turn(turn, base)),
    )


def landmarks(wheels: WheelArrays, base: Base, largest_turn: float = 1.0) -> tuple[Landmark, ...]:
    """Find the turns that matter within +-largest_turn, in rising order.

    Straight, one side stopped, on the spot, the end of the range, and for each steered
    wheel where it reaches an end of its travel and where its angle jumps: by a flip, after
    which it rolls the other way; by a change of ends, where it stands at one end of its travel
    before and at the other after; or by a jump that leaves the rolling sense. On either half
    of the range the velocity of a kingpin is linear in the turn input, so the turn at which a
    wheel would need a given heading t is the root of the linear
    ``v_y cos t - v_x sin t + omega e_x``; the crossings are exact, not sampled.

    Parameters
    ----------
    wheels : WheelArrays
        N wheels.
    base : Base
        Base axle and reference points.
    largest_turn : float
        Half of the range, above 0 and up to 1.

    Returns
    -------
    tuple of Landmark
        In rising order of turn input.
    """
    found = [Landmark(0.0, "straight")]
    named: tuple[tuple[float, LandmarkKind], ...] = ((0.5, "side stopped"), (1.0, "on the spot"))
    for size, kind in named:
        if size <= largest_turn:
            found += [Landmark(-size, kind), Landmark(size, kind)]
    if largest_turn < 1.0:
        found += [Landmark(-largest_turn, "largest turn"), Landmark(largest_turn, "largest turn")]
    found += _crossings(wheels, base, largest_turn)
    return tuple(sorted(found, key=lambda mark: (mark.turn, mark.wheel is not None, mark.wheel or 0)))


def _crossings(wheels: WheelArrays, base: Base, largest_turn: float) -> list[Landmark]:
    """Travel ends and jumps: candidates in closed form, each confirmed by the solver."""
    steered = np.flatnonzero(wheels.steered)
    if steered.size == 0:
        return []
    low, high = wheels.low + wheels.built_in, wheels.high + wheels.built_in
    middle = 0.5 * (wheels.low + wheels.high) + wheels.built_in
    no_trail = np.zeros_like(middle)
    targets = [
        (low, wheels.along),
        (high, wheels.along),
        # Where both branches are equally far outside the travel, v points half-way between; so it
        # does where a wheel without any ideal angle is equally far from both ends.
        (middle + 0.5 * np.pi, no_trail),
    ]
    if wheels.along.any():
        # Where no angle suits, for its trail, a wheel stands across v.
        across = np.where(wheels.along != 0, 0.5 * np.pi, np.nan)
        targets += [(low + across, no_trail), (high + across, no_trail)]
    sides, sizes, columns = [], [], []
    for side in (1.0, -1.0):
        start = from_turn([0.0], base).twist[0]
        slope = from_turn([side], base).twist[0] - start
        roots = [_linear_root(start, slope, wheels, heading, along) for heading, along in targets]
        for root in (*roots, _rest_root(start, slope, wheels)):
            inside = steered[np.isfinite(root[steered])]
            inside = inside[(root[inside] >= -_NEAR) & (root[inside] <= largest_turn)]
            sides += [side] * len(inside)
            sizes += np.maximum(root[inside], 0.0).tolist()
            columns += list(inside)
    return _confirmed(wheels, base, np.array(sides), np.array(sizes), np.array(columns, dtype=np.int64))


def _linear_root(start: Floats, slope: Floats, wheels: WheelArrays, heading: Floats, along: Floats) -> Floats:
    """Size of the turn at which a contact under `heading` has no sideways speed, (N,)."""

    def sideways(twist: Floats) -> Floats:
        vx, vy = twist[0] - twist[2] * wheels.y, twist[1] + twist[2] * wheels.x
        return np.asarray(vy * np.cos(heading) - vx * np.sin(heading) + twist[2] * along)

    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        return -sideways(start) / sideways(slope)


def _rest_root(start: Floats, slope: Floats, wheels: WheelArrays) -> Floats:
    """Size of the turn whose centre is on the kingpin, (N,); NaN where there is none."""
    forward = start[0] - start[2] * wheels.y
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        root = -forward / (slope[0] - slope[2] * wheels.y)
        sideways = (start[1] + start[2] * wheels.x) + root * (slope[1] + slope[2] * wheels.x)
    return np.where(np.abs(sideways) <= _NEAR, root, np.nan)


def _confirmed(
    wheels: WheelArrays,
    base: Base,
    sides: Floats,
    sizes: Floats,
    columns: np.ndarray[tuple[int], np.dtype[np.int64]],
) -> list[Landmark]:
    """Keep the candidates at which the solver's angle jumps or comes to an end of travel."""
    if not len(sizes):
        return []
    nearer = solve(wheels, from_turn(sides * np.maximum(sizes - _NEAR, 0.0), base))
    farther = solve(wheels, from_turn(sides * np.minimum(sizes + _NEAR, 1.0), base))
    marks: dict[tuple[float, int], Landmark] = {}
    for row, n in enumerate(columns.tolist()):
        branches = nearer.branch[row, n] != farther.branch[row, n]
        kind = what_happens(
            float(farther.steer[row, n] - nearer.steer[row, n]),
            (bool(nearer.limited[row, n]), bool(farther.limited[row, n])),
            (float(nearer.roll[row, n]), float(farther.roll[row, n])),
            least=_JUMP_OF_BRANCHES if branches else JUMP,
        )
        if kind is None:
            continue
        turn = float(sides[row] * sizes[row]) + 0.0
        before, after = float(nearer.steer[row, n]), float(farther.steer[row, n])
        marks[round(turn, 9), n] = Landmark(turn, kind, n, before, after)
    return list(marks.values())


def what_happens(
    change: float, at_ends: tuple[bool, bool], rolls: tuple[float, float], *, least: float = JUMP
) -> LandmarkKind | None:
    """Tell what a wheel does from one side of a turn to the other.

    Parameters
    ----------
    change : float
        Of its steer angle [rad].
    at_ends : (bool, bool)
        Whether its travel stops it on either side.
    rolls : (float, float)
        Its rolling speeds there [faster side = 1].
    least : float
        A larger change is a jump [rad].

    Returns
    -------
    str or None
        One of JUMPS, or "travel end"; None where nothing happens.

    Examples
    --------
    >>> what_happens(-3.1, (False, False), (0.5, -0.5))
    'flip'
    >>> what_happens(-3.1, (True, True), (0.5, -0.5))
    'changes end'
    """
    if abs(change) <= least:
        return "travel end" if at_ends[0] != at_ends[1] else None
    if all(at_ends):
        return "changes end"
    return "flip" if min(rolls) < -_STILL and max(rolls) > _STILL else "jump"
