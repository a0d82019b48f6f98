"""The outline of all that a rectangle covers while it turns about a point, by exact lines and arcs."""

from __future__ import annotations

import cmath
import math
from collections.abc import Sequence
from typing import NamedTuple, TypeAlias

import numpy as np

from geometry.axes import Bools
from geometry.shapes.rectangles import rectangles
from geometry.shapes.sweeps import SHRUNK, Sweeps, swept_gap

# Two points nearer than this, as a share of the size, are one.
_SAME = 1e-7
# How far beside an edge it is asked what is covered there, as a share of the size.
_BESIDE = 1e-6
_WHOLE = 2.0 * math.pi


class Edge(NamedTuple):
    """An edge of a closed outline, from its start to the start of the next one."""

    start: complex
    """Where it begins, x + iy [mm]."""
    sweep: float
    """Angle of an arc about the turning point, counter-clockwise positive [rad]; 0: straight."""


class Ring(NamedTuple):
    """A whole circle about the turning point."""

    radius: float


Loop: TypeAlias = tuple[Edge, ...] | Ring


class _Piece(NamedTuple):
    """A piece of an outline in the frame of the turning point."""

    start: complex
    end: complex
    sweep: float

    @property
    def middle(self) -> complex:
        if self.sweep:
            return self.start * cmath.exp(0.5j * self.sweep)
        return 0.5 * (self.start + self.end)

    @property
    def left(self) -> complex:
        """The unit normal to the left of its middle."""
        if self.sweep:
            return -math.copysign(1.0, self.sweep) * self.middle / abs(self.middle)
        return 1j * (self.end - self.start) / abs(self.end - self.start)

    @property
    def back(self) -> _Piece:
        return _Piece(self.end, self.start, -self.sweep)


def swept_loops(sweeps: Sweeps) -> list[tuple[Loop, ...]]:
    """Bound the region that each rectangle sweeps.

    Parameters
    ----------
    sweeps : Sweeps
        K rectangles that turn, without rounding.

    Returns
    -------
    list of tuples
        For each, the closed loops that bound its region: counter-clockwise around it, clockwise around a
        hole in it; the smaller one of two rings is a hole. No arc goes further than half a turn.

    Notes
    -----
    The region is bounded by edges of the rectangle at the two ends of the range, by the arcs of its
    corners, and by the arcs of the points of its edges that are nearest to the turning point. These are
    cut where they meet, and a piece belongs to the outline if just one of its sides is covered.

    Examples
    --------
    >>> wheel = rectangles([0.0], 0.0, 30.0, 12.5)
    >>> (loop,), = swept_loops(Sweeps(wheel, np.zeros(1, complex), *np.radians([[-20], [20]])))
    >>> len(loop), sum(1 for edge in loop if edge.sweep)
    (12, 4)
    >>> swept_loops(Sweeps(wheel, np.zeros(1, complex), *np.radians([[-180], [180]])))
    [(Ring(radius=32.5),)]
    """
    count = len(sweeps.low)
    whole = sweeps.high - sweeps.low >= _WHOLE - _SAME
    pieces = [[] if whole[k] else _pieces(sweeps, k) for k in range(count)]
    sides = iter(_covered(sweeps, pieces))
    near, far = sweeps.nearest_and_farthest
    loops: list[tuple[Loop, ...]] = []
    for k in range(count):
        if whole[k]:
            rings = (Ring(float(far[k])), Ring(float(near[k])))
            loops.append(rings if near[k] > _SAME * far[k] else rings[:1])
            continue
        kept = []
        for piece, (on_left, on_right) in zip(pieces[k], sides, strict=False):
            if on_left != on_right:
                kept.append(piece if on_left else piece.back)
        same = _SAME * float(far[k])
        about = complex(sweeps.about[k])
        loops.append(tuple(_edges(chain, about, same) for chain in _chained(kept, same)))
    return loops


# Pieces ------------------------------------------------------------------------------------------


def _pieces(sweeps: Sweeps, k: int) -> list[_Piece]:
    """All that may bound a region, cut where it meets."""
    corners = [complex(c) for c in sweeps.shape.corners[k] - sweeps.about[k]]
    low, high = float(sweeps.low[k]), float(sweeps.high[k])
    same = _SAME * max(abs(c) for c in corners)
    # A range without an extent leaves the rectangle itself.
    turns = (low, high) if high - low > _SAME else (low,)
    lines = [
        (a * cmath.exp(1j * turn), b * cmath.exp(1j * turn)) for turn in turns for a, b in _around(corners)
    ]
    arcs = _arcs(corners, low, high, same) if len(turns) > 1 else []
    found = [piece for line in lines for piece in _cut_line(line, lines, arcs, same)]
    found += [piece for arc in arcs for piece in _cut_arc(arc, lines, same)]
    return _once(found, same)


def _around(corners: Sequence[complex]) -> list[tuple[complex, complex]]:
    return list(zip(corners, [*corners[1:], corners[0]], strict=True))


class _Arc(NamedTuple):
    """An arc about the origin."""

    radius: float
    start: float
    sweep: float

    def holds(self, angle: float, slack: float) -> float | None:
        """How far along it a direction is, from 0 to its sweep; None where it is beside it."""
        on = (angle - self.start + slack) % _WHOLE - slack
        return on if on <= self.sweep + slack else None


def _arcs(corners: list[complex], low: float, high: float, same: float) -> list[_Arc]:
    """The ways of corners and of nearest points of edges; those that overlap are one."""
    points = list(corners)
    for a, b in _around(corners):
        along = b - a
        share = -(along.conjugate() * a).real / abs(along) ** 2
        foot = a + share * along
        if 0.0 < share < 1.0 and abs(foot) > same:
            points.append(foot)
    rows = sorted((abs(p), cmath.phase(p)) for p in points if abs(p) > same)
    groups: list[list[tuple[float, float]]] = []
    for row in rows:
        if groups and row[0] - groups[-1][-1][0] <= same:
            groups[-1].append(row)
        else:
            groups.append([row])
    return [arc for group in groups for arc in _joined(group, low, high)]


def _joined(group: list[tuple[float, float]], low: float, high: float) -> list[_Arc]:
    """Arcs of one radius that go from `low` to `high` past each of some directions."""
    radius, sweep = group[0][0], high - low
    starts = sorted((phase + low) % _WHOLE for _, phase in group)
    # It begins after the widest gap, so that nothing is joined over its end.
    gaps = [(starts[i] - starts[i - 1]) % _WHOLE if len(starts) > 1 else _WHOLE for i in range(len(starts))]
    first = max(range(len(starts)), key=lambda i: gaps[i])
    turned = [starts[first] + (start - starts[first]) % _WHOLE for start in starts]
    arcs: list[_Arc] = []
    for start in sorted(turned):
        if arcs and start <= arcs[-1].start + arcs[-1].sweep + _SAME:
            last = arcs.pop()
            arcs.append(_Arc(radius, last.start, start + sweep - last.start))
        else:
            arcs.append(_Arc(radius, start, sweep))
    if arcs[-1].start + arcs[-1].sweep >= arcs[0].start + _WHOLE - _SAME:
        # The last one reaches the first one again.
        if len(arcs) == 1:
            return [_Arc(radius, arcs[0].start, _WHOLE)]
        last = arcs.pop()
        end = max(last.start + last.sweep, arcs[0].start + arcs[0].sweep + _WHOLE)
        arcs[0] = _Arc(radius, last.start, end - last.start)
    return arcs


def _cut_line(
    line: tuple[complex, complex], lines: Sequence[tuple[complex, complex]], arcs: list[_Arc], same: float
) -> list[_Piece]:
    a, b = line
    along = b - a
    length = abs(along)
    cuts = [0.0, 1.0]
    for c, d in lines:
        across = (along.conjugate() * (d - c)).imag
        if abs(across) > _SAME * length * abs(d - c):
            cuts.append(((c - a).conjugate() * (d - c)).imag / across)
        elif abs((along.conjugate() * (c - a)).imag) <= same * length:
            # On one line: cut where the other one ends.
            cuts += [(along.conjugate() * (p - a)).real / length**2 for p in (c, d)]
    foot = -(along.conjugate() * a).real / length**2
    level = abs(a + foot * along)
    for arc in arcs:
        if level < arc.radius + same:
            off = _half_chord(arc.radius, level) / length
            cuts += [foot - off, foot + off]
    marks = _marks(cuts, 1.0, same / length)
    points = [a, *(a + m * along for m in marks[1:-1]), b]
    return [_Piece(p, q, 0.0) for p, q in zip(points, points[1:], strict=False)]


def _cut_arc(arc: _Arc, lines: Sequence[tuple[complex, complex]], same: float) -> list[_Piece]:
    slack = same / arc.radius
    cuts = [0.0, arc.sweep]
    if arc.sweep >= _WHOLE:  # so that no piece is a whole circle
        cuts += [_WHOLE / 3.0, 2.0 * _WHOLE / 3.0]
    for a, b in lines:
        along = b - a
        foot = -(along.conjugate() * a).real / abs(along) ** 2
        level = abs(a + foot * along)
        if level > arc.radius + same:
            continue
        off = _half_chord(arc.radius, level) / abs(along)
        for share in (foot - off, foot + off):
            on = arc.holds(cmath.phase(a + share * along), slack)
            if on is not None:
                cuts.append(on)
    marks = _marks(cuts, arc.sweep, slack)
    return [
        _Piece(
            arc.radius * cmath.exp(1j * (arc.start + m)), arc.radius * cmath.exp(1j * (arc.start + n)), n - m
        )
        for m, n in zip(marks, marks[1:], strict=False)
    ]


def _half_chord(radius: float, level: float) -> float:
    """Half of the chord at a distance from the middle; none where it only touches."""
    touches = radius - level <= 1e-10 * radius
    return 0.0 if touches else math.sqrt((radius - level) * (radius + level))


def _marks(cuts: list[float], end: float, same: float) -> list[float]:
    """Places to cut at, ascending from 0 to the end, no two of them the same."""
    marks = [0.0]
    for cut in sorted(cuts):
        if marks[-1] + same < cut < end - same:
            marks.append(cut)
    return [*marks, end]


def _once(pieces: list[_Piece], same: float) -> list[_Piece]:
    """Without the second one of two straight pieces that lie on each other."""
    kept: list[_Piece] = []
    middles: list[complex] = []
    for piece in pieces:
        if piece.sweep or all(
            abs(piece.middle - m) > 2 * same or abs((piece.left.conjugate() * k.left).imag) > 1e-3
            for k, m in zip(kept, middles, strict=True)
            if not k.sweep
        ):
            kept.append(piece)
            middles.append(piece.middle)
    return kept


def _covered(sweeps: Sweeps, pieces: list[list[_Piece]]) -> list[tuple[bool, bool]]:
    """Whether the region is to the left and to the right of each piece."""
    owner = np.repeat(np.arange(len(pieces)), [len(some) for some in pieces])
    if not owner.size:
        return []
    middle = np.array([piece.middle for some in pieces for piece in some])
    normal = np.array([piece.left for some in pieces for piece in some])
    size = np.abs(sweeps.shape.corners - sweeps.about[:, None]).max(axis=1)
    step = (_BESIDE * size + 10.0 * SHRUNK)[owner] * normal
    turning = sweeps.take(owner)
    sides: list[Bools] = []
    for side in (1.0, -1.0):
        point = turning.about + middle + side * step
        sides.append(np.asarray(swept_gap(turning, rectangles(point.real, point.imag, 0.0, 0.0)) < 0))
    return list(zip(sides[0].tolist(), sides[1].tolist(), strict=True))


# Chains ------------------------------------------------------------------------------------------


def _chained(pieces: list[_Piece], same: float) -> list[list[_Piece]]:
    """Join pieces to closed chains; where several go on, the one furthest to the left."""
    left = list(pieces)
    chains = []
    while left:
        chain = [left.pop(0)]
        while abs(chain[-1].end - chain[0].start) > 4 * same or len(chain) == 1:
            ahead = _way(chain[-1].back) + math.pi
            # Nearest first: what is further than the tolerance is a crumb that was left out.
            gaps = [abs(piece.start - chain[-1].end) for piece in left]
            if not gaps:
                break
            nearest = min(gaps)
            on = [i for i, gap in enumerate(gaps) if gap <= nearest + 4 * same]
            best = max(on, key=lambda i: math.remainder(_way(left[i]) - ahead, _WHOLE))
            chain.append(left.pop(best))
        chains.append(chain)
    return chains


def _way(piece: _Piece) -> float:
    """The direction in which a piece begins [rad]."""
    if piece.sweep:
        return cmath.phase(piece.start) + math.copysign(0.5 * math.pi, piece.sweep)
    return cmath.phase(piece.end - piece.start)


def _edges(chain: list[_Piece], about: complex, same: float) -> Loop:
    """The chain with pieces of one edge joined again, at its place."""
    joined: list[_Piece] = []
    for piece in chain:
        if joined and _go_on(joined[-1], piece, same):
            last = joined.pop()
            piece = _Piece(last.start, piece.end, last.sweep + piece.sweep)
        joined.append(piece)
    if len(joined) > 1 and _go_on(joined[-1], joined[0], same):
        last = joined.pop()
        joined[0] = _Piece(last.start, joined[0].end, last.sweep + joined[0].sweep)
    if len(joined) == 1:
        return Ring(abs(joined[0].start))
    edges: list[Edge] = []
    for piece in joined:
        edges.append(Edge(about + piece.start, 0.5 * piece.sweep if _is_long(piece) else piece.sweep))
        if _is_long(piece):
            edges.append(Edge(about + piece.middle, 0.5 * piece.sweep))
    return tuple(edges)


def _is_long(piece: _Piece) -> bool:
    return abs(piece.sweep) > math.pi


def _go_on(one: _Piece, other: _Piece, same: float) -> bool:
    """Whether two pieces, one after the other, are one edge."""
    if one.sweep and other.sweep:
        return one.sweep * other.sweep > 0 and abs(abs(one.start) - abs(other.start)) <= 2 * same
    if one.sweep or other.sweep:
        return False
    way, next_way = one.end - one.start, other.end - other.start
    return abs((way.conjugate() * next_way).imag) <= 1e-7 * abs(way) * abs(next_way)
