"""Simple gear ratios by which several steered wheels could hang on one motor.

For a grid of shaft angles and a few turns, a table holds the load-weighted squared sideways
speed of each wheel at each simple ratio. The sum over the wheels of a group, least over
the shaft angle, is what a steer motor makes least, so a pattern of ratios costs a few
additions. Ratios of one size are tried in all patterns of signs. From the best of those,
and from the ratios that fit the ideal angles by least squares, one wheel after the other
then takes the ratio that costs least until none wants to change.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, fields, replace

import numpy as np

from geometry.axes import Floats
from geometry.chassis import WheelArrays
from geometry.motion import Motion, velocity_at
from geometry.solve import contact_speeds, solve

SIZES = (1.0, 1 / 2, 2 / 3, 3 / 4, 4 / 3, 3 / 2, 2.0)
SIMPLE = tuple(size * sign for size in SIZES for sign in (1.0, -1.0))
_SAME, _OPPOSITE = 0, 1

# Shaft angles of the table; between them a parabola finds the least sum.
_SHAFTS = 121
# Patterns of each kind whose drag is worked out, of those that cost least.
_JUDGED = 48
# Patterns of equal ratios from which the search for fractions starts, and its rounds.
_STARTS, _ROUNDS = 3, 3

Pattern = tuple[int, ...]


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
    fit: dict[int, int]
    """Ratio that fits the ideal angles of each wheel to those of `first`, as index into SIMPLE."""


def columns(wheels: WheelArrays, chosen: Iterable[int]) -> WheelArrays:
    """Some of the wheels, in the given order; the load shares stay as they are."""
    held = list(chosen)
    return WheelArrays(**{f.name: getattr(wheels, f.name)[held] for f in fields(wheels)})


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
    held = [first, *others]
    shaft = np.linspace(wheels.low[first], wheels.high[first], _SHAFTS)
    ratios = np.array(SIMPLE)
    vx, vy = velocity_at(motion.twist, wheels.x, wheels.y)
    cost = {}
    for i in held:
        steer = ratios[:, None, None] * shaft
        heading = steer + wheels.built_in[i]
        side = vy[:, i, None] * np.cos(heading) - vx[:, i, None] * np.sin(heading)
        side += (motion.twist[:, 2] * wheels.along[i])[:, None]
        inside = (steer >= wheels.low[i] - 1e-9) & (steer <= wheels.high[i] + 1e-9)
        cost[i] = np.where(inside, wheels.load[i] * side * side, np.inf)
    return Squares(wheels, motion, shaft, cost, _fits(columns(wheels, held), motion, held))


def _fits(part: WheelArrays, motion: Motion, held: list[int]) -> dict[int, int]:
    """Simple ratios next to those of least squares between ideal angles."""
    free = replace(part, low=np.full(len(part), -np.inf), high=np.full(len(part), np.inf))
    steer = solve(free, motion).steer
    about = steer.T @ steer[:, 0] / max(float(steer[:, 0] @ steer[:, 0]), np.finfo(float).tiny)
    return {i: int(np.abs(np.array(SIMPLE) - ratio).argmin()) for i, ratio in zip(held, about, strict=True)}


def ways_to_share(table: Squares, group: tuple[int, ...], most: int) -> tuple[list[Way], list[Way]]:
    """Find good ratios for one group of wheels.

    Parameters
    ----------
    table : Squares
        For groups that begin with the first wheel of this one.
    group : tuple of int
        Indices of G wheels.
    most : int
        Number of ways to keep of each kind.

    Returns
    -------
    (equal, fractions) : lists of Way
        With ratios of one size and with others, by rising worst and then total drag. The
        first list is never empty; the second may be.
    """
    signs: dict[Pattern, float] = _sign_patterns(table, group)
    others: dict[Pattern, float] = {}
    if len(group) > 1:
        cheapest = sorted(signs, key=lambda pattern: (signs[pattern], pattern))[:_STARTS]
        fitted = (_SAME, *(table.fit[i] for i in group[1:]))
        for start in (*cheapest, fitted):
            _descend(table, group, start, others)
        others = {p: cost for p, cost in others.items() if max(p) > _OPPOSITE and np.isfinite(cost)}
    return _judged(table, group, signs, most), _judged(table, group, others, most)


def _sign_patterns(table: Squares, group: tuple[int, ...]) -> dict[Pattern, float]:
    sums = table.cost[group[0]][_SAME][None]
    patterns: list[Pattern] = [(_SAME,)]
    for i in group[1:]:
        sums = np.concatenate([sums + table.cost[i][sign] for sign in (_SAME, _OPPOSITE)])
        patterns = [(*p, sign) for sign in (_SAME, _OPPOSITE) for p in patterns]
    return dict(zip(patterns, sums.min(axis=2).sum(axis=1).tolist(), strict=True))


def _descend(table: Squares, group: tuple[int, ...], start: Pattern, seen: dict[Pattern, float]) -> None:
    """Let one wheel after the other take the ratio that costs least; note all that was tried."""
    pattern = start
    for _ in range(_ROUNDS):
        before = pattern
        for j in range(1, len(group)):
            rest = sum(table.cost[i][pattern[k]] for k, i in enumerate(group) if k != j)
            costs = (rest + table.cost[group[j]]).min(axis=2).sum(axis=1)
            tried = [(*pattern[:j], ratio, *pattern[j + 1 :]) for ratio in range(len(SIMPLE))]
            seen.update(zip(tried, costs.tolist(), strict=True))
            pattern = tried[int(costs.argmin())]
        if pattern == before:
            return


def _judged(table: Squares, group: tuple[int, ...], costs: dict[Pattern, float], most: int) -> list[Way]:
    """The patterns that cost least, by worst and then total drag."""
    chosen = sorted(costs, key=lambda pattern: (costs[pattern], pattern))[:_JUDGED]
    if not chosen:
        return []
    sums = sum(table.cost[i][[p[k] for p in chosen]] for k, i in enumerate(group))
    ratio = np.array([[SIMPLE[k] for k in pattern] for pattern in chosen])
    part = columns(table.wheels, group)
    ends = np.sort(np.stack([part.low / ratio, part.high / ratio]), axis=0)
    low, high = ends[0].max(axis=1)[:, None], ends[1].min(axis=1)[:, None]
    shaft = np.clip(_least(table.shaft, np.asarray(sums)), low, high)
    heading = shaft[:, :, None] * ratio[:, None, :] + part.built_in
    drag = _drag(part, table.motion, heading)
    found = [
        Way(group, tuple(ratio[p].tolist()), heading[p], float(drag[p].max()), float(drag[p].sum()))
        for p in range(len(chosen))
    ]
    return sorted(found, key=lambda way: (round(way.worst, 3), way.total, way.ratios))[:most]


def _least(shaft: Floats, sums: Floats) -> Floats:
    """Shaft angles (P, M) at which sums (P, M, Q) are least, by a parabola through three points."""
    at = np.clip(sums.argmin(axis=2), 1, len(shaft) - 2)
    left, middle, right = (np.take_along_axis(sums, (at + k)[..., None], axis=2)[..., 0] for k in (-1, 0, 1))
    with np.errstate(invalid="ignore"):  # inf less inf, outside the travel
        bend = left - 2.0 * middle + right
    usable = np.isfinite(bend) & (bend > 0)
    offset = np.divide(0.5 * (left - right), bend, out=np.zeros_like(bend), where=usable)
    offset = np.where(usable, offset, sums.argmin(axis=2) - at)
    return np.asarray(shaft[at] + np.clip(offset, -1.0, 1.0) * (shaft[1] - shaft[0]))


def _drag(part: WheelArrays, motion: Motion, heading: Floats) -> Floats:
    """Drag (P, M, G) of headings under the wanted motions; 0 where a wheel pivots [mm/m]."""
    vx, vy = velocity_at(motion.twist, part.x, part.y)
    roll, side = contact_speeds(vx, vy, motion.twist[:, 2:3], heading, part.along, part.across)
    speed = np.hypot(roll, side)
    pivots = speed < 0.5 * part.width * np.abs(motion.twist[:, 2:3])
    return np.divide(1000.0 * np.abs(side), speed, out=np.zeros_like(speed), where=(speed > 0) & ~pivots)
