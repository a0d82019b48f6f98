"""The outline of all that a rectangle covers while it turns about a point, by exact lines and arcs."""

from __future__ import annotations

import cmath
import itertools
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import NamedTuple, TypeAlias

from geometry.shapes.sweeps import Sweeps

# Radii nearer than this, as a share of the largest, are one; so are angles [rad].
_SAME = 1e-9
# Ends of pieces that differ by less than this share of the size are equally near.
_JOINED = 1e-11
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
    On a circle about the turning point the rectangle covers arcs, and the region these arcs made longer by
    the range. As the circle grows, the ends of the arcs go along edges of the rectangle at the two ends of
    the range. They begin, end or meet at few radii: those of corners, of the points of edges that are
    nearest to the turning point, and of places where edges at the two ends cross. What is covered just
    within such a circle but not just beyond it, or the reverse, is bounded by an arc.

    Examples
    --------
    >>> import numpy as np
    >>> from geometry.shapes.rectangles import rectangles
    >>> wheel = rectangles([0.0], 0.0, 30.0, 12.5)
    >>> (loop,), = swept_loops(Sweeps(wheel, np.zeros(1, complex), *np.radians([[-20], [20]])))
    >>> len(loop), sum(1 for edge in loop if edge.sweep)
    (12, 4)
    >>> swept_loops(Sweeps(wheel, np.zeros(1, complex), *np.radians([[-180], [180]])))
    [(Ring(radius=32.5),)]
    """
    found = []
    for k in range(len(sweeps.low)):
        about = complex(sweeps.about[k])
        corners = [complex(c) - about for c in sweeps.shape.corners[k]]
        pieces = _bounding(corners, float(sweeps.low[k]), float(sweeps.high[k]))
        near = _JOINED * max(abs(c) for c in corners)
        found.append(tuple(_edges(chain, about, near) for chain in _chained(pieces, near)))
    return found


# Bands between radii -----------------------------------------------------------------------------


@dataclass(frozen=True)
class _Side:
    """An edge of the rectangle as a line."""

    start: complex
    end: complex

    @property
    def foot(self) -> tuple[float, float]:
        """Share along it of the point of its line nearest to the origin, and how far that is."""
        along = self.end - self.start
        share = -(along.conjugate() * self.start).real / abs(along) ** 2
        return share, abs(self.start + share * along)

    def shares(self, radius: float) -> list[tuple[float, float]]:
        """Where a circle meets its line: sign of the root and share along it."""
        share, level = self.foot
        off = _half_chord(radius, level) / abs(self.end - self.start)
        return [(sign, share + sign * off) for sign in (-1.0, 1.0)]

    def at(self, sign: float, radius: float) -> complex:
        """The point of its line at a radius."""
        share, level = self.foot
        along = self.end - self.start
        return self.start + (share + sign * _half_chord(radius, level) / abs(along)) * along


def _half_chord(radius: float, level: float) -> float:
    return math.sqrt(max((radius - level) * (radius + level), 0.0))


class _Way(NamedTuple):
    """The way of one end of a covered arc as the circle grows: a side at one end of the range."""

    side: _Side
    sign: float
    turn: float

    def at(self, radius: float) -> complex:
        return self.side.at(self.sign, radius) * cmath.exp(1j * self.turn)


class _Covered(NamedTuple):
    """An arc that is covered on one circle, and how its ends go on."""

    start: float
    end: float
    """Above its start, by a whole turn at the most."""
    first: _Way
    last: _Way

    def ends(self, radius: float) -> tuple[float, float]:
        """Start and end on a circle nearby."""
        return (
            self.start + math.remainder(cmath.phase(self.first.at(radius)) - self.start, _WHOLE),
            self.end + math.remainder(cmath.phase(self.last.at(radius)) - self.end, _WHOLE),
        )


class _Band(NamedTuple):
    """What is covered between two radii."""

    low: float
    high: float
    arcs: tuple[_Covered, ...]
    whole: bool

    def on(self, radius: float) -> list[tuple[float, float]] | None:
        """Arcs that are covered on one of its two circles; None where all is."""
        return None if self.whole else [arc.ends(radius) for arc in self.arcs]


class _Piece(NamedTuple):
    """A piece of an outline; what is covered is on its left."""

    start: complex
    end: complex
    sweep: float


def _bounding(corners: Sequence[complex], low: float, high: float) -> list[_Piece]:
    """All pieces of the outline of a region, about the origin."""
    sides = [_Side(a, b) for a, b in zip(corners, [*corners[1:], corners[0]], strict=True)]
    radii = _radii(sides, low, high)
    bands = [_band(sides, a, b, low, high) for a, b in itertools.pairwise(radii)]
    pieces: list[_Piece] = []
    for band in bands:
        if band.whole:
            continue
        for arc in band.arcs:
            pieces.append(_Piece(arc.first.at(band.low), arc.first.at(band.high), 0.0))
            pieces.append(_Piece(arc.last.at(band.high), arc.last.at(band.low), 0.0))
    nothing = _Band(0.0, 0.0, (), whole=False)
    for i, radius in enumerate(radii):
        # At the origin there is no circle.
        if radius > 0.0:
            within = bands[i - 1] if i else nothing
            beyond = bands[i] if i < len(bands) else nothing
            pieces += _arcs_between(within.on(radius), beyond.on(radius), radius)
    return pieces


def _radii(sides: Sequence[_Side], low: float, high: float) -> list[float]:
    """Radii at which anything begins or ends, ascending."""
    found = [abs(side.start) for side in sides]
    for side in sides:
        share, level = side.foot
        if 0.0 < share < 1.0:
            found.append(level)
    for one in sides:
        a, b = (p * cmath.exp(1j * low) for p in (one.start, one.end))
        for other in sides:
            c, d = (p * cmath.exp(1j * high) for p in (other.start, other.end))
            across = ((b - a).conjugate() * (d - c)).imag
            if across:
                crossing = a + ((c - a).conjugate() * (d - c)).imag / across * (b - a)
                found.append(abs(crossing))
    far = max(abs(side.start) for side in sides)
    inside = all((side.start.conjugate() * side.end).imag >= 0 for side in sides)
    least = 0.0 if inside else min(r for r in found if r >= 0.0)
    radii = [least]
    for radius in sorted(found):
        if radii[-1] + _SAME * far < radius <= far:
            radii.append(radius)
    return radii


def _band(sides: Sequence[_Side], a: float, b: float, low: float, high: float) -> _Band:
    radius = 0.5 * (a + b)
    roots: list[tuple[float, _Side, float]] = []
    for side in sides:
        if side.foot[1] < radius:
            for sign, share in side.shares(radius):
                if 0.0 <= share < 1.0:
                    roots.append((cmath.phase(side.at(sign, radius)) % _WHOLE, side, sign))
    if not roots:
        inside = _holds(sides, complex(radius))
        return _Band(a, b, (), whole=inside)
    roots.sort(key=lambda root: root[0])
    arcs = []
    for (here, side, sign), (there, next_side, next_sign) in zip(roots, [*roots[1:], roots[0]], strict=True):
        long = (there - here) % _WHOLE
        if _holds(sides, radius * cmath.exp(1j * (here + 0.5 * long))):
            arcs.append(
                _Covered(
                    here + low,
                    here + long + high,
                    _Way(side, sign, low),
                    _Way(next_side, next_sign, high),
                )
            )
    merged = _merged(arcs)
    return _Band(a, b, () if merged is None else tuple(merged), whole=merged is None)


def _holds(sides: Sequence[_Side], point: complex) -> bool:
    """Whether the rectangle, counter-clockwise, holds a point."""
    return all(((s.end - s.start).conjugate() * (point - s.start)).imag >= 0 for s in sides)


def _merged(arcs: list[_Covered]) -> list[_Covered] | None:
    """Arcs of one circle, those that overlap made one; None where they cover all of it."""
    if not arcs:
        return []
    # Twice round the circle, so that what goes past the end meets what comes after it.
    begun = sorted((_shifted(arc, -_WHOLE * (arc.start // _WHOLE)) for arc in arcs), key=lambda a: a.start)
    merged: list[_Covered] = []
    for arc in [*begun, *(_shifted(arc, _WHOLE) for arc in begun)]:
        if merged and arc.start <= merged[-1].end:
            if arc.end > merged[-1].end:
                merged[-1] = merged[-1]._replace(end=arc.end, last=arc.last)
        else:
            merged.append(arc)
    if merged[0].end - merged[0].start >= _WHOLE or len(merged) == 1:
        return None
    # Those of the last turn before the last one have met all that reach them.
    end = merged[-1].start - 0.5 * _SAME
    return [arc for arc in merged if end - _WHOLE < arc.start < end]


def _shifted(arc: _Covered, by: float) -> _Covered:
    return arc._replace(start=arc.start + by, end=arc.end + by)


Arcs: TypeAlias = list[tuple[float, float]] | None


def _arcs_between(within: Arcs, beyond: Arcs, radius: float) -> list[_Piece]:
    """Pieces of a circle that are covered on one side of it only."""
    ends = sorted(angle % _WHOLE for arcs in (within, beyond) for arc in arcs or () for angle in arc)
    marks: list[float] = []
    for angle in ends:
        if not marks or angle - marks[-1] > _SAME:
            marks.append(angle)
    if len(marks) > 1 and marks[-1] > marks[0] + _WHOLE - _SAME:
        marks.pop()
    marks = marks if len(marks) > 1 else [*(marks or [0.0]), (marks or [0.0])[0] + math.pi]
    pieces = []
    for here, there in zip(marks, [*marks[1:], marks[0] + _WHOLE], strict=True):
        middle = 0.5 * (here + there)
        inner, outer = _on(within, middle), _on(beyond, middle)
        if inner != outer:
            a, b = (radius * cmath.exp(1j * angle) for angle in (here, there))
            pieces.append(_Piece(a, b, there - here) if inner else _Piece(b, a, here - there))
    return pieces


def _on(arcs: Arcs, angle: float) -> bool:
    return arcs is None or any((angle - start) % _WHOLE < end - start for start, end in arcs)


# Chains ------------------------------------------------------------------------------------------


def _chained(pieces: Iterable[_Piece], same: float) -> list[list[_Piece]]:
    """Join pieces to closed chains; where several go on, the one furthest to the left."""
    left = [piece for piece in pieces if piece.sweep or abs(piece.end - piece.start) > 0.0]
    chains = []
    while left:
        chain = [left.pop(0)]
        while left:
            here = chain[-1].end
            gaps = [abs(piece.start - here) for piece in left]
            nearest = min(gaps) + same
            if abs(chain[0].start - here) <= nearest:
                break
            back = _way(_Piece(here, chain[-1].start, -chain[-1].sweep)) + math.pi
            on = [i for i, gap in enumerate(gaps) if gap <= nearest]
            best = max(on, key=lambda i: math.remainder(_way(left[i]) - back, _WHOLE))
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
            joined.append(_Piece(last.start, piece.end, last.sweep + piece.sweep))
        else:
            joined.append(piece)
    if len(joined) > 1 and _go_on(joined[-1], joined[0], same):
        last = joined.pop()
        joined[0] = _Piece(last.start, joined[0].end, last.sweep + joined[0].sweep)
    if len(joined) == 1:
        return Ring(abs(joined[0].start))
    edges: list[Edge] = []
    for piece in joined:
        if abs(piece.sweep) > math.pi:
            half = 0.5 * piece.sweep
            edges.append(Edge(about + piece.start, half))
            edges.append(Edge(about + piece.start * cmath.exp(1j * half), half))
        else:
            edges.append(Edge(about + piece.start, piece.sweep))
    return tuple(edges)


def _go_on(one: _Piece, other: _Piece, same: float) -> bool:
    """Whether two pieces, one after the other, are one edge."""
    if one.sweep and other.sweep:
        return one.sweep * other.sweep > 0 and abs(abs(one.start) - abs(other.start)) <= same
    if one.sweep or other.sweep:
        return False
    way, next_way = one.end - one.start, other.end - other.start
    return abs((way.conjugate() * next_way).imag) <= 1e-7 * abs(way) * abs(next_way)
