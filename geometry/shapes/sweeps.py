"""Rectangles that turn about a point through a range of angles: how near the swept region comes.

The region is bounded by arcs and by the rectangle at the two ends of the range; no pose between is
tried. A corner of the rectangle that turns goes along an arc past the edges of what stands still; seen
from the turning rectangle, a corner of what stands still goes along an arc past its edges. Two outlines
that are apart at one pose first meet so; the nearest approach, too, has a corner in it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from geometry.axes import Bools, Floats
from geometry.shapes.rectangles import Points, Rectangles, gap_between

# A turning rectangle is smaller by this all around, so that what only touches is told from what
# overlaps [mm].
SHRUNK = 1e-6


@dataclass(frozen=True, eq=False)
class Sweeps:
    """K shapes that turn about K points."""

    shape: Rectangles
    """As they stand at the angle 0; shape (K,)."""
    about: Points
    """The points about which they turn."""
    low: Floats
    high: Floats
    """Ends of the range of angles [rad]."""

    def take(self, index: Bools | Floats) -> Sweeps:
        """Some of them."""
        i = np.asarray(index)
        return Sweeps(self.shape.take(i), self.about[i], self.low[i], self.high[i])

    def at(self, angle: Floats) -> Rectangles:
        """The shapes at one angle each."""
        return self.shape.turned(self.about, angle)

    @property
    def nearest_and_farthest(self) -> tuple[Floats, Floats]:
        """Radii of the ring about the point that holds the swept region, (K,) each [mm]."""
        rel = self.shape.middle - self.about
        point = Rectangles(rel * 0, rel * 0, rel * 0, np.zeros(len(rel)))
        near = np.maximum(gap_between(self.shape.shifted(-self.about), point), 0.0)
        far = np.abs(self.shape.corners - self.about[:, None]).max(axis=-1) + self.shape.radius
        return near, far


def swept_gap(sweeps: Sweeps, still: Rectangles) -> Floats:
    """Nearest distance that each turning shape comes to what stands still, over its whole range.

    Parameters
    ----------
    sweeps : Sweeps
        K shapes that turn.
    still : Rectangles, (K,)
        For each, a shape that stands still.

    Returns
    -------
    ndarray, (K,)
        Least distances [mm]; 0 where they touch, below where they overlap, but not by how much.

    Examples
    --------
    A wheel 60 long and 25 wide passes one post ahead of it, and runs over one that it covers at neither
    end of the range nor straight ahead:

    >>> from geometry.shapes.rectangles import rectangles
    >>> wheel = rectangles([0.0, 0.0], 0.0, 30.0, 12.5)
    >>> turning = Sweeps(wheel, np.zeros(2, complex), *np.radians([[-45, -45], [45, 45]]))
    >>> post = rectangles([33.0, 32.0], 0.0, 0.0, 0.0)
    >>> swept_gap(turning, post).round(4)
    array([ 0.5, -0. ])
    """
    middle, half = 0.5 * (sweeps.low + sweeps.high), 0.5 * (sweeps.high - sweeps.low)
    turn = np.exp(-1j * middle)
    shape = _shrunk(sweeps.shape.shifted(-sweeps.about))
    beside = Rectangles(
        (still.middle - sweeps.about) * turn, still.along * turn, still.across * turn, still.radius
    )
    one, other = shape.corners, beside.corners
    apart = np.minimum(_arcs_to_edges(one, half, other), _arcs_to_edges(other, half, one))
    apart -= shape.radius + still.radius
    return np.asarray(np.minimum(apart, gap_between(shape, beside)) - SHRUNK)


def _shrunk(shape: Rectangles) -> Rectangles:
    size = (np.abs(shape.along), np.abs(shape.across))
    return shape.shaped(*(np.maximum(s - SHRUNK, 0.0) for s in size))


def _arcs_to_edges(points: Points, half: Floats, outline: Points) -> Floats:
    """Least distance from arcs that points (K, V) draw about the origin to the edges of outlines (K, E)."""
    radius = np.abs(points)[:, :, None]
    # In a frame of its own each arc lies evenly about the x axis.
    own = _turned_back(points[:, :, None])
    a = outline[:, None, :] * own
    along = np.roll(a, -1, axis=-1) - a
    squared = np.maximum(along.real**2 + along.imag**2, 1e-300)
    half = half[:, None, None]
    foot = -(along.conj() * a).real / squared
    nearest = a + foot.clip(0.0, 1.0) * along
    least = np.minimum(_to_arc(a, radius, half), _to_arc(nearest, radius, half))
    end = radius * np.exp(1j * half)
    for point in (end, end.conj()):
        share = ((along.conj() * (point - a)).real / squared).clip(0.0, 1.0)
        least = np.minimum(least, np.abs(point - a - share * along))
    line = a + foot * along
    chord = radius**2 - (line.real**2 + line.imag**2)
    off = np.sqrt(np.maximum(chord, 0.0) / squared)
    for share in (foot - off, foot + off):
        met = (chord >= 0) & (share >= 0) & (share <= 1) & _in_range(a + share * along, half)
        least = np.where(met, 0.0, least)
    return np.asarray(least.min(axis=(-2, -1)))


def _turned_back(points: Points) -> Points:
    """Unit numbers that turn points onto the x axis; 1 for the origin."""
    size = np.abs(points)
    return np.asarray(np.where(size > 0, points.conj() / np.where(size > 0, size, 1.0), 1.0))


def _in_range(point: Points, half: Floats) -> Bools:
    return np.asarray((point.real >= np.abs(point) * np.cos(half)) | (half >= np.pi))


def _to_arc(point: Points, radius: Floats, half: Floats) -> Floats:
    """Distance of points from arcs of a radius that lie evenly about the x axis."""
    end = radius * (np.cos(half) + 1j * np.sin(half))
    folded = point.real + 1j * np.abs(point.imag)
    return np.asarray(np.where(_in_range(point, half), np.abs(np.abs(point) - radius), np.abs(folded - end)))


def gap_of_sweeps(one: Sweeps, other: Sweeps) -> Floats:
    """Nearest distance of two shapes that turn each for itself, over all pairs of their angles.

    Parameters
    ----------
    one, other : Sweeps
        K shapes each.

    Returns
    -------
    ndarray, (K,)
        Least distances between the two swept regions [mm]; 0 where they touch, below where they
        overlap, but not by how much.

    Examples
    --------
    >>> from geometry.shapes.rectangles import rectangles
    >>> wheels = [Sweeps(rectangles([x], 0.0, 30.0, 12.5), np.array([x + 0j]), np.zeros(1), np.ones(1))
    ...           for x in (0.0, 100.0)]
    >>> gap_of_sweeps(*wheels).round(3)
    array([35.])
    """
    least = np.full(len(one.low), np.inf)
    for a, b in ((one, other), (other, one)):
        for angle in (b.low, b.high):
            least = np.minimum(least, swept_gap(a, b.at(angle)))
    arcs = [_bounding_arcs(sweeps) for sweeps in (one, other)]
    near = _arcs_to_arcs(*arcs[0], *arcs[1]) - one.shape.radius - other.shape.radius - SHRUNK
    return np.asarray(np.minimum(least, near))


def _bounding_arcs(sweeps: Sweeps) -> tuple[Points, Points, Floats]:
    """Arcs of the corners and of the points of the edges that are nearest to the turning point.

    Centres (K, 1), middles of the arcs from the centres (K, 8), half angles (K, 1). An edge whose
    nearest point is a corner gives that corner.
    """
    middle, half = 0.5 * (sweeps.low + sweeps.high), 0.5 * (sweeps.high - sweeps.low)
    shape = _shrunk(sweeps.shape.shifted(-sweeps.about))
    corner = shape.corners * np.exp(1j * middle)[:, None]
    along = np.roll(corner, -1, axis=-1) - corner
    share = -(along.conj() * corner).real / np.maximum(along.real**2 + along.imag**2, 1e-300)
    foot = corner + share.clip(0.0, 1.0) * along
    return sweeps.about[:, None], np.concatenate([corner, foot], axis=-1), half[:, None]


def _arcs_to_arcs(c1: Points, p1: Points, h1: Floats, c2: Points, p2: Points, h2: Floats) -> Floats:
    """Least distance between any of K times 8 arcs and any of K times 8 others, (K,)."""
    p1, p2 = p1[:, :, None], p2[:, None, :]
    c1, c2, h1, h2 = c1[:, :, None], c2[:, None, :], h1[:, :, None], h2[:, None, :]
    r1, r2 = np.abs(p1), np.abs(p2)
    own1, own2 = _turned_back(p1), _turned_back(p2)
    between = c2 - c1
    apart = np.abs(between)
    ahead = np.where(apart > 0, between / np.where(apart > 0, apart, 1.0), 1.0)
    least = np.full(np.broadcast_shapes(r1.shape, r2.shape), np.inf)
    for sign in (1.0, -1.0):
        least = np.minimum(least, _to_arc((c1 + p1 * np.exp(sign * 1j * h1) - c2) * own2, r2, h2))
        least = np.minimum(least, _to_arc((c2 + p2 * np.exp(sign * 1j * h2) - c1) * own1, r1, h1))
        # On the line of the two centres.
        on = np.asarray(sign * ahead * r1, dtype=np.complex128)
        near = _to_arc((c1 + on - c2) * own2, r2, h2)
        least = np.where(_in_range(np.asarray(on * own1), h1), np.minimum(least, near), least)
    along = (apart**2 + r1**2 - r2**2) / np.where(apart > 0, 2.0 * apart, 1.0)
    chord = r1**2 - along**2
    for sign in (1.0, -1.0):
        crossing = ahead * (along + sign * 1j * np.sqrt(np.maximum(chord, 0.0)))
        both = _in_range(crossing * own1, h1) & _in_range((crossing - between) * own2, h2)
        least = np.where((chord >= 0) & (apart > 0) & both, 0.0, least)
    return np.asarray(least.min(axis=(-2, -1)))


def first_nearer(sweeps: Sweeps, still: Rectangles, wanted: Floats) -> Floats:
    """The angle, of the least size, at which a turning shape comes as near as `wanted` to a still one.

    Parameters
    ----------
    sweeps : Sweeps
        K shapes that turn; 0 lies within their ranges.
    still : Rectangles, (K,)
        What stands still.
    wanted : ndarray, (K,)
        Distances, at least 0 [mm].

    Returns
    -------
    ndarray, (K,)
        Angles [rad]; 0 where it is so near at 0 already, ``nan`` where it never comes so near.

    Notes
    -----
    Two outlines that come so near have there a corner at just that distance from an edge. The corner is
    on a circle, the places at that distance from the edge are two lines and two arcs: all roots are known.
    """
    near = np.asarray(sweeps.shape.radius + still.radius + wanted)
    shape = sweeps.shape.shifted(-sweeps.about)
    beside = still.shifted(-sweeps.about)
    one, other = shape.corners, beside.corners
    roots = np.concatenate([_roots(one, other, near), -_roots(other, one, near)], axis=-1)
    roots = np.where((roots >= sweeps.low[:, None]) & (roots <= sweeps.high[:, None]), roots, np.nan)
    sizes = np.where(np.isnan(roots), np.inf, np.abs(roots))
    best = np.take_along_axis(roots, sizes.argmin(axis=-1)[:, None], axis=-1)[:, 0]
    return np.asarray(np.where(gap_between(shape, beside) < wanted, 0.0, best))


def _roots(points: Points, outline: Points, near: Floats) -> Floats:
    """Turns about the origin after which points (K, V) are `near` the edges of outlines (K, E), (K, ...)."""
    p, a = points[:, :, None], outline[:, None, :]
    along = np.roll(a, -1, axis=-1) - a
    length = np.abs(along)
    tangent = along / np.where(length > 0, length, 1.0)
    radius, near = np.abs(p), near[:, None, None]
    found = []
    with np.errstate(invalid="ignore", divide="ignore"):
        level = (tangent.conj() * a).imag
        for side in (1.0, -1.0):
            swing = np.arcsin((level + side * near) / radius)
            for up in (swing, np.pi - swing):
                # At this angle from the edge's direction the point is at that distance from its line.
                at = ((radius * np.exp(1j * up) * tangent - a) * tangent.conj()).real
                good = (at >= -1e-9) & (at <= length + 1e-9) & (length > 0)
                found.append(np.where(good, up + np.angle(tangent) - np.angle(p), np.nan))
        opened = np.arccos((radius**2 + np.abs(a) ** 2 - near**2) / (2.0 * radius * np.abs(a)))
        found += [sign * opened + np.angle(a) - np.angle(p) for sign in (1.0, -1.0)]
    turn = np.stack(found, axis=-1)
    return np.asarray(np.angle(np.exp(1j * turn)).reshape(len(points), -1))
