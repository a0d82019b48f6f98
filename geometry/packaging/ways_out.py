"""The way out: the least shift forward, backward, to a side, up or down that restores a wanted gap.

Seen from above the shift is exact for what stands still: two convex shapes are too near along one
interval of shifts. For what turns, the intervals of all its angles are joined; where they end is sought
among some angles and then more finely about the one that decides, to well below 1 micrometre. Upward
and downward the end is found by dividing. Only the pair at hand counts: another thing may be in the way.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import NamedTuple

import numpy as np

from geometry.axes import Bools, Floats
from geometry.packaging.pairs import SLACK, Pairs
from geometry.packaging.walls import AtBody
from geometry.shapes.rectangles import DIRECTIONS, Points, Rectangles, gap_between, holds, ways_along
from geometry.shapes.sweeps import SHRUNK

_ANGLES, _ANGLES_OF_TWO, _FINER, _ROUNDS = 65, 17, 17, 4
# How much the first angles may tell the end of a shift too short, at the most [mm].
_COARSE = 0.5
# How far a shift is first lengthened where it does not suffice [mm].
_FIRST_STEP = 0.01
# Into how many levels a shift is divided, and when it is known well enough [mm].
_LEVELS, _FINE = 17, 1e-5
# Two intervals that miss one another by less than this are one: between two angles that were tried [mm].
_JOIN = 0.5


class Way(NamedTuple):
    """A shift along an axis."""

    axis: str
    """x, y or z."""
    shift: float
    """Signed [mm]."""


Shapes = Callable[[Floats, Floats], tuple[Rectangles, Rectangles]]
Range = tuple[float, float]
Near = Callable[[Floats, Points], Bools]
"""Whether the pair is too near once it is raised by so much, and shifted by so much."""


def way_of_pair(pairs: Pairs, k: int, *, travel: bool) -> Way:
    """The way out of one pair, by which its first thing must be shifted.

    Parameters
    ----------
    pairs : Pairs
        Pairs of solids.
    k : int
        Which pair.
    travel : bool
        Out of all that is swept; else out of how they stand at this turn.
    """
    one = pairs.take(np.array([k]))
    needed = max(float(one.needed()[0]), 0.0)
    s = one.solids
    i, j = int(one.one[0]), int(one.other[0])
    a, b = one.shapes()

    def shapes(first: Floats, second: Floats) -> tuple[Rectangles, Rectangles]:
        return a.turned(s.about[i], first), b.turned(s.about[j], second)

    turning = [travel and bool(t[0]) for t in one.turning]
    ranges = [
        _range(s.low[n], s.high[n], pairs.angle[n], turns) for n, turns in zip((i, j), turning, strict=True)
    ]
    across = _ends_of_pair(shapes, ranges, needed)

    def near(raised: Floats, moved: Points) -> Bools:
        tried = replace(one.take(np.zeros(len(raised), np.intp)), raised=raised, moved=moved)
        gap = tried.over_the_travel() if travel else tried.at_this_turn()
        return np.asarray(gap < tried.needed() - SLACK)

    h, w = s.heights, float(one.wanted[0])
    if any(turning):
        across = _made_sure(across, near)
    return _least(across, near, float(h.high[j] - h.low[i]) + w, float(h.high[i] - h.low[j]) + w)


def ways_of_pairs(pairs: Pairs, travel: Bools) -> list[Way]:
    """The ways out of K pairs, all that stand still and upright at once.

    Parameters
    ----------
    pairs : Pairs
        K pairs of solids.
    travel : ndarray of bool, (K,)
        Which are too near somewhere in the travel, as in `way_of_pair`.
    """
    round_ = pairs.solids.heights.round_
    first, second = pairs.turning
    slow = first | second | (round_[pairs.one] > 0) | (round_[pairs.other] > 0)
    some = pairs.take(~slow)
    quick = iter(_ways_of_upright(some)) if len(some.one) else iter(())
    return [
        way_of_pair(pairs, k, travel=bool(travel[k])) if alone else next(quick)
        for k, alone in enumerate(slow)
    ]


def _ways_of_upright(pairs: Pairs) -> list[Way]:
    """The ways out of upright things that stand still: all six in closed form."""
    s, h, wanted = pairs.solids, pairs.solids.heights, pairs.wanted
    one, other = pairs.shapes()
    one = one.turned(s.about[pairs.one], pairs.angle[pairs.one])
    other = other.turned(s.about[pairs.other], pairs.angle[pairs.other])
    across = ways_along(one, other, np.maximum(pairs.needed(), 0.0))
    apart = gap_between(one, other).clip(0.0)
    left = np.sqrt(np.maximum(wanted**2 - apart**2, 0.0))
    up = h.high[pairs.other] - h.low[pairs.one] + left
    down = h.high[pairs.one] - h.low[pairs.other] + left
    shifts = np.concatenate([across, up[:, None], down[:, None]], axis=1)
    best = np.round(shifts, 9).argmin(axis=1)
    least = np.take_along_axis(shifts, best[:, None], axis=1)[:, 0]
    return [Way("xyz"[n // 2], float(by) * (1.0 - 2.0 * (n % 2))) for n, by in zip(best, least, strict=True)]


def way_from_body(at: AtBody, k: int, *, travel: bool) -> Way:
    """The way of one solid out of floor, wall or roof: into the inside or out of the body altogether.

    Parameters are those of `way_of_pair`.
    """
    one = at.take(np.array([k]))
    s, hull, i = at.solids, at.hull, int(at.which[k])
    needed = max(float(one.needed()[0]), 0.0)
    shape = one.shapes()
    low, high = _range(s.low[i], s.high[i], at.angle[i], travel and bool(s.turns[i]))
    if at.face != "wall":
        inside = None
    elif len(hull.inner):
        inside = _Clear(hull.inner, hull.inner_edges, needed, holds_it=True)
    else:
        inside = _Clear(hull.outline, hull.edges, needed + hull.wall, holds_it=True)
    places = [_Clear(hull.outline, hull.edges, needed, holds_it=False), *([inside] if inside else [])]

    def turned(angles: Floats) -> Rectangles:
        return shape.take(np.zeros(len(angles), np.intp)).turned(s.about[i], angles)

    across = [_end_at_edges(turned, (low, high), places, way) for way in range(4)]

    def near(raised: Floats, moved: Points) -> Bools:
        tried = replace(one, which=np.repeat(one.which, len(raised)), raised=raised, moved=moved)
        gap, _ = tried.gaps(travel=travel)
        return np.asarray(gap < tried.needed() - SLACK)

    if high > low:
        across = _made_sure(across, near)

    # Above and below the walls are roof and floor: there the way goes on, out of the body.
    walls = at.face == "wall"
    bottom, top = (hull.floor, hull.roof) if walls else hull.spans[at.face]
    w = float(one.wanted[0])
    up, down = top - float(s.heights.low[i]) + w, float(s.heights.high[i]) - bottom + w
    return _least(across, _always if walls else near, up, down)


def _always(raised: Floats, moved: Points) -> Bools:  # noqa: ARG001 - it stands for another
    return np.ones(len(raised), dtype=bool)


def _range(low: float, high: float, now: float, turns: bool) -> Range:  # noqa: FBT001 - a fact, no mode
    return (float(low), float(high)) if turns else (float(now), float(now))


class _Clear(NamedTuple):
    """Where a solid may be: on one side of an outline, and so far from its edges."""

    outline: Floats
    edges: Rectangles
    wanted: float
    holds_it: bool


def _end_at_edges(
    turned: Callable[[Floats], Rectangles], span: Range, places: list[_Clear], way: int
) -> float:
    """Least shift along one of the directions after which a solid is in one of the places, at all angles."""
    angles = np.linspace(*span, _ANGLES) if span[1] > span[0] else np.array(span[:1])
    shape = _shrunk(turned(angles))
    best = np.inf
    for place in places:
        ends = ways_along(shape.column, place.edges, place.wanted)
        leave, enter = ends[..., way].ravel(), -ends[..., way ^ 1].ravel()
        for n in _ends(enter, leave, _JOIN if len(angles) > 1 else 0.0):
            shift = float(leave[n]) + SHRUNK
            at = shape.middle[0] + shift * DIRECTIONS[way]
            if shift < best and bool(holds(place.outline, at)) == place.holds_it:
                t, e = divmod(n, len(place.edges.middle))
                best = _refined(turned, (span, float(angles[t])), place, e, way) if len(angles) > 1 else shift
                break
    return best


def _shrunk(shape: Rectangles) -> Rectangles:
    """A little smaller all around, so that what it only touches is not in its way."""
    round_ = shape.radius > SHRUNK
    sizes = np.abs(shape.along), np.abs(shape.across)
    sides = (np.where(round_, side, np.maximum(side - SHRUNK, 0.0)) for side in sizes)
    smaller = shape.shaped(*sides)
    return replace(smaller, radius=np.where(round_, shape.radius - SHRUNK, shape.radius))


def _refined(
    turned: Callable[[Floats], Rectangles], about: tuple[Range, float], place: _Clear, e: int, way: int
) -> float:
    """The end at one edge, sought more finely about an angle."""
    (low, high), at = about
    step, best = (high - low) / (_ANGLES - 1), -np.inf
    for _ in range(_ROUNDS):
        angles = np.linspace(max(low, at - step), min(high, at + step), _ANGLES)
        edge, only = place.edges.take(np.full(len(angles), e)), DIRECTIONS[way : way + 1]
        leave = ways_along(_shrunk(turned(angles)), edge, place.wanted, only)[:, 0] + SHRUNK
        best, at = max(best, float(leave.max())), float(angles[int(leave.argmax())])
        step = 2.0 * step / (_ANGLES - 1)
    return best


def _ends(enter: Floats, leave: Floats, join: float) -> list[int]:
    """Numbers of the intervals at whose ends, from 0 on, their union ends for a while, in order."""
    real = np.flatnonzero(np.isfinite(leave) & (leave > 0))
    if not real.size:
        return []
    order = real[np.argsort(enter[real])]
    first, last = enter[order], leave[order]
    reach = np.maximum.accumulate(last)
    farthest = np.maximum.accumulate(np.where(last >= reach, np.arange(len(order)), 0))
    gaps = np.flatnonzero(first[1:] > reach[:-1] + join)
    return [int(order[farthest[n]]) for n in (*gaps, len(order) - 1)]


def _ends_of_pair(shapes: Shapes, ranges: list[Range], needed: float) -> list[float]:
    """Least shifts along the four directions, after which no angles of the two are too near.

    Those that are surely not the least of the four are not sought more finely.
    """
    counts = [1 if low == high else _ANGLES for low, high in ranges]
    if min(counts) > 1:
        counts = [_ANGLES_OF_TWO] * 2
    first, second = _grid(ranges, counts)
    ends = ways_along(*shapes(first, second), needed)
    at = [_ends(-ends[:, way ^ 1], ends[:, way], _JOIN)[:1] for way in range(4)]
    found = [float(ends[n[0], way]) if n else 0.0 for way, n in enumerate(at)]
    if max(counts) == 1:
        return found
    least = min(found) + _COARSE
    for way, places in enumerate(at):
        if places and found[way] <= least:
            n = places[0]
            found[way] = _finer(shapes, ranges, (first[n], second[n]), counts, (needed, way, found[way]))
    return found


def _grid(ranges: list[Range], counts: list[int]) -> tuple[Floats, Floats]:
    """All pairs of angles from two ranges."""
    grids = [np.linspace(low, high, count) for (low, high), count in zip(ranges, counts, strict=True)]
    first, second = np.meshgrid(*grids, indexing="ij")
    return first.ravel(), second.ravel()


def _finer(
    shapes: Shapes,
    ranges: list[Range],
    about: tuple[float, float],
    counts: list[int],
    known: tuple[float, int, float],
) -> float:
    """The end along one direction, sought more finely about two angles."""
    needed, way, best = known
    steps = [(high - low) / max(count - 1, 1) for (low, high), count in zip(ranges, counts, strict=True)]
    fewer = [min(count, _FINER) for count in counts]
    for _ in range(_ROUNDS):
        spans = [
            (max(low, v - step), min(high, v + step))
            for (low, high), v, step in zip(ranges, about, steps, strict=True)
        ]
        first, second = _grid(spans, fewer)
        leave = ways_along(*shapes(first, second), needed, DIRECTIONS[way : way + 1])[:, 0]
        n = int(leave.argmax())
        best, about = max(best, float(leave[n])), (float(first[n]), float(second[n]))
        steps = [2.0 * step / max(count - 1, 1) for step, count in zip(steps, fewer, strict=True)]
    return best


def _made_sure(across: list[float], near: Near) -> list[float]:
    """Shifts along the four directions, those that could be the least lengthened until they truly suffice.

    Among angles that were tried the one that decides may be wanting; the exact gap over the whole travel
    tells so.
    """
    least, found = min(across) + _COARSE, list(across)
    for way, shift in enumerate(across):
        if shift <= least:
            found[way] = _lengthened(shift, DIRECTIONS[way], near)
    return found


def _lengthened(shift: float, direction: complex, near: Near) -> float:
    """The shift along a direction, lengthened where it does not suffice."""

    def moved(by: Floats) -> Bools:
        return near(np.zeros(len(by)), np.asarray(by * direction, dtype=np.complex128))

    start, step = shift + SHRUNK, _FIRST_STEP
    if not moved(np.array([start]))[0]:
        return shift
    while moved(np.array([start + step]))[0]:
        start, step = start + step, 2.0 * step
    return start + _end(lambda by: moved(start + by), step)


def _least(across: list[float], near: Near, up: float, down: float) -> Way:
    """The least of the shifts; upward and downward are only sought where they could be less."""
    ways = [Way("xy"[n // 2], shift * (1.0 - 2.0 * (n % 2))) for n, shift in enumerate(across)]
    best = min(across)

    def raised(by: Floats) -> Bools:
        return near(by, np.zeros(len(by), dtype=np.complex128))

    limits = np.array([min(up, best), -min(down, best)])
    for limit, too_near, most in zip(limits, raised(limits), (up, down), strict=True):
        if abs(limit) == most or not too_near:
            ways.append(Way("z", _end(raised, float(limit))))
    return min(ways, key=lambda way: round(abs(way.shift), 9))


def _end(near: Callable[[Floats], Bools], most: float) -> float:
    """Least shift, of the sign of `most`, after which they are no longer too near; `most` surely is."""
    low, high = 0.0, most
    while abs(high - low) > _FINE:
        tried = np.linspace(low, high, _LEVELS)
        clear = ~near(tried)
        clear[-1] = True
        n = max(int(clear.argmax()), 1)
        low, high = float(tried[n - 1]), float(tried[n])
    return high
