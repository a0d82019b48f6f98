"""Simple gear ratios by which several steered wheels could hang on one motor.

For a grid of shaft angles and a few turns, a table holds the load-weighted squared sideways
speed of each wheel at each simple ratio. The sum over the wheels of a group, least over
the shaft angle, is what a steer motor makes least, so a pattern of ratios costs a few
additions. Ratios of one size are tried in all patterns of signs. Others are tried wheel
after wheel: every pattern so far with every ratio of the next, of which the cheapest go on.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from geometry.axes import Floats
from geometry.kinematics.alignment import patch_covers_centre
from geometry.kinematics.ideal import contact_speeds
from geometry.kinematics.motion import Motion, velocity_at
from geometry.model.wheel_arrays import WheelArrays

SIZES = (1.0, 1 / 2, 2 / 3, 3 / 4, 4 / 3, 3 / 2, 2.0)
SIMPLE = tuple(size * sign for size in SIZES for sign in (1.0, -1.0))
_SAME, _OPPOSITE = 0, 1

# Shaft angles of the table; between them a parabola finds the least sum.
_SHAFTS = 91
# Patterns that are lengthened at a time, so that memory stays small.
_CHUNK = 16

Pattern = tuple[int, ...]
# Patterns, their shaft angles (P, M) and what they cost (P,).
_Found = tuple[list[Pattern], Floats, Floats]
_NOTHING: _Found = ([], np.empty((0, 0)), np.empty(0))


@dataclass(frozen=True)
class Way:
    """One way to hang some wheels on one motor, judged under the wanted motions."""

    wheels: tuple[int, ...]
    """Indices of its G wheels, rising."""
    ratios: tuple[float, ...]
    """(G,): steer angle of each by that of the first, which has 1."""
    heading: Floats
    """(M, G): where they point [rad]."""
    worst: float
    """Largest drag of any of them [mm/m]."""
    total: float
    """Sum of their drags over all motions [mm/m]."""

    @property
    def group(self) -> tuple[tuple[int, float], ...]:
        """Pairs of wheel and ratio."""
        return tuple(zip(self.wheels, self.ratios, strict=True))

    @property
    def equal(self) -> bool:
        """Whether all turn by angles of one size."""
        return all(abs(ratio) == 1.0 for ratio in self.ratios)


@dataclass(frozen=True)
class Squares:
    """Table of squared sideways speeds over the shaft angle of a motor that turns `first` by 1."""

    wheels: WheelArrays
    motion: Motion
    shaft: Floats
    """(Q,): shaft angles within the travel of `first` [rad]."""
    cost: dict[int, Floats]
    """(R, M, Q) for each wheel: at each ratio of SIMPLE, ``inf`` outside its travel."""


def squares(wheels: WheelArrays, motion: Motion, first: int, others: Iterable[int]) -> Squares:
    """Work out the table for groups that begin with one wheel.

    Parameters
    ----------
    wheels : WheelArrays
        N wheels.
    motion : Motion
        M wanted motions.
    first : int
        The wheel that turns by the shaft angle itself.
    others : iterable of int
        Wheels that may share its motor.

    Returns
    -------
    Squares
        Arrays of shape (Q,) and (R, M, Q).
    """
    shaft = np.linspace(wheels.low[first], wheels.high[first], _SHAFTS)
    ratios = np.array(SIMPLE)
    vx, vy = velocity_at(motion.twist, wheels.x, wheels.y)
    cost = {}
    for i in (first, *others):
        steer = ratios[:, None, None] * shaft
        heading = steer + wheels.built_in[i]
        side = vy[:, i, None] * np.cos(heading) - vx[:, i, None] * np.sin(heading)
        side += (motion.twist[:, 2] * wheels.along[i])[:, None]
        inside = (steer >= wheels.low[i] - 1e-9) & (steer <= wheels.high[i] + 1e-9)
        cost[i] = np.where(inside, wheels.load[i] * side * side, np.inf)
    return Squares(wheels, motion, shaft, cost)


def ways_to_share(
    table: Squares, group: tuple[int, ...], most: int, beam: int
) -> tuple[list[Way], list[Way]]:
    """Find good ratios for one group of wheels.

    Parameters
    ----------
    table : Squares
        For groups that begin with the first wheel of this one.
    group : tuple of int
        Indices of G wheels.
    most : int
        Number of ways to keep of each kind.
    beam : int
        Number of patterns that are followed from wheel to wheel; with ``R^(G - 2)`` every
        pattern is tried.

    Returns
    -------
    (equal, fractions) : lists of Way
        With ratios of one size and with others, by rising worst and then total drag. The
        first list is never empty; the second may be.
    """
    signs = (_SAME, _OPPOSITE)
    equal = _searched(table, group, signs, len(signs) ** len(group))
    mixed = _searched(table, group, tuple(range(len(SIMPLE))), beam) if len(group) > 1 else _NOTHING
    kept = [k for k, pattern in enumerate(mixed[0]) if max(pattern) > _OPPOSITE and np.isfinite(mixed[2][k])]
    mixed = [mixed[0][k] for k in kept], mixed[1][kept], mixed[2][kept]
    return _judged(table, group, equal, most), _judged(table, group, mixed, most)


def _searched(table: Squares, group: tuple[int, ...], choice: Pattern, beam: int) -> _Found:
    """Patterns, wheel after wheel: of each length the cheapest go on; all of full length are returned."""
    patterns: list[Pattern] = [(_SAME,)]
    sums = table.cost[group[0]][_SAME][None]
    shaft, costs = _least(table.shaft, sums), _cost(table, group[:1], sums)
    for g, i in enumerate(group[1:], start=2):
        options = table.cost[i][list(choice)]
        tried = [(*pattern, ratio) for pattern in patterns for ratio in choice]
        parts, shafts, every = [], [], []
        for start in range(0, len(patterns), _CHUNK):
            part = (sums[start : start + _CHUNK, None] + options).reshape(-1, *sums.shape[1:])
            every.append(_cost(table, group[:g], part))
            if g == len(group):
                shafts.append(_least(table.shaft, part))
            else:
                parts.append(part)
        costs = np.concatenate(every)
        if g == len(group):
            return tried, np.concatenate(shafts), costs
        best = np.argsort(costs, kind="stable")[:beam]
        sums, patterns = np.concatenate(parts)[best], [tried[k] for k in best]
    return patterns, shaft, costs


def _cost(table: Squares, members: tuple[int, ...], sums: Floats) -> Floats:
    """What patterns cost, (P,): mean fourth power of the drag, about, so that peaks count most."""
    part = table.wheels.take(members)
    vx, vy = velocity_at(table.motion.twist, part.x, part.y)
    whole = (part.load * (vx * vx + vy * vy)).sum(axis=1)
    whole = np.maximum(whole, 1e-6 * whole.max())  # wheels at the turn centre drag nothing, at any angle
    return np.asarray(((sums.min(axis=2) / whole) ** 2).mean(axis=1))


def _judged(table: Squares, group: tuple[int, ...], found: _Found, most: int) -> list[Way]:
    """The patterns that drag least under the wanted motions."""
    patterns, shaft, _ = found
    if not patterns:
        return []
    ratio = np.array(SIMPLE)[np.array(patterns)]
    part = table.wheels.take(group)
    ends = np.sort(np.stack([part.low / ratio, part.high / ratio]), axis=0)
    low, high = ends[0].max(axis=1)[:, None], ends[1].min(axis=1)[:, None]
    shaft = np.clip(shaft, low, high)
    drag = _drag(part, table.motion, shaft[:, :, None] * ratio[:, None, :] + part.built_in)
    worst, total = drag.max(axis=(1, 2)), drag.sum(axis=(1, 2))
    best = np.lexsort((np.arange(len(patterns)), total, worst.round(3)))[:most]
    return [
        Way(
            group,
            tuple(ratio[p].tolist()),
            shaft[p][:, None] * ratio[p] + part.built_in,
            float(worst[p]),
            float(total[p]),
        )
        for p in best
    ]


def _least(shaft: Floats, sums: Floats) -> Floats:
    """Shaft angles (P, M) at which sums (P, M, Q) are least, by a parabola through three points."""
    at = np.clip(sums.argmin(axis=2), 1, len(shaft) - 2)
    left, middle, right = (np.take_along_axis(sums, (at + k)[..., None], axis=2)[..., 0] for k in (-1, 0, 1))
    with np.errstate(invalid="ignore"):  # inf less inf, outside the travel
        bend, slope = left - 2.0 * middle + right, left - right
    usable = np.isfinite(bend) & (bend > 0)
    offset = np.divide(0.5 * slope, bend, out=np.zeros_like(bend), where=usable)
    offset = np.where(usable, offset, sums.argmin(axis=2) - at)
    return np.asarray(shaft[at] + np.clip(offset, -1.0, 1.0) * (shaft[1] - shaft[0]))


def _drag(part: WheelArrays, motion: Motion, heading: Floats) -> Floats:
    """Drag (P, M, G) of headings under the wanted motions; 0 where a wheel pivots [mm/m]."""
    vx, vy = velocity_at(motion.twist, part.x, part.y)
    roll, side = contact_speeds(vx, vy, motion.twist[:, 2:3], heading, part.along, part.across)
    speed = np.hypot(roll, side)
    pivots = patch_covers_centre(part, speed, side, motion.twist[:, 2:3])
    return np.divide(1000.0 * np.abs(side), speed, out=np.zeros_like(speed), where=(speed > 0) & ~pivots)
