"""Rectangles with rounded corners, as seen from above: gaps, and the way out of an overlap.

A circle is a rectangle of no size with a radius, a straight edge one of no width. Points of the plane
are complex numbers here, x + iy: ``(p.conjugate() * q).real`` is the dot product and ``.imag`` the
cross product of two vectors.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from geometry.axes import Bools, Floats

Points = npt.NDArray[np.complex128]

# Keeps an edge without a length from a division by 0 [mm²].
_LEAST_SQUARE = 1e-300
DIRECTIONS: tuple[complex, ...] = (1.0, -1.0, 1j, -1j)
"""Forward, backward, to the left, to the right: the order of `ways_along`."""


@dataclass(frozen=True, eq=False)
class Rectangles:
    """Rounded rectangles; all arrays have one shape, or shapes that broadcast [mm]."""

    middle: Points
    along: Points
    """From the middle to the middle of one end: half of the length, in its direction."""
    across: Points
    """From the middle to the middle of the left side: half of the width, in its direction."""
    radius: Floats
    """Everything within this distance of the rectangle belongs to the shape."""

    def take(self, index: npt.ArrayLike) -> Rectangles:
        """Some of them, by indices or by a mask of the first axis."""
        i = np.asarray(index)
        return Rectangles(self.middle[i], self.along[i], self.across[i], self.radius[i])

    def shaped(self, length: npt.ArrayLike, width: npt.ArrayLike) -> Rectangles:
        """The same with other half lengths and half widths [mm]; their directions stay."""
        long, wide = np.asarray(length, dtype=np.float64), np.asarray(width, dtype=np.float64)
        return Rectangles(self.middle, _unit(self.along) * long, _unit(self.across) * wide, self.radius)

    def shifted(self, by: npt.ArrayLike) -> Rectangles:
        """The same elsewhere."""
        return Rectangles(self.middle + np.asarray(by), self.along, self.across, self.radius)

    def turned(self, about: Points, angle: Floats) -> Rectangles:
        """The same turned about points, counter-clockwise [rad]."""
        turn = np.exp(1j * np.asarray(angle))
        return Rectangles(
            about + (self.middle - about) * turn, self.along * turn, self.across * turn, self.radius
        )

    @property
    def column(self) -> Rectangles:
        """The same with one more axis at the end, to be compared with a row of others."""
        return Rectangles(
            self.middle[..., None], self.along[..., None], self.across[..., None], self.radius[..., None]
        )

    @property
    def corners(self) -> Points:
        """(..., 4): corners of the rectangle within the rounding, counter-clockwise [mm]."""
        m, a, b = self.middle, self.along, self.across
        return np.stack([m + a + b, m - a + b, m - a - b, m + a - b], axis=-1)

    @property
    def reach(self) -> Floats:
        """Radius of the circle about the middle that holds the shape [mm]."""
        return np.asarray(np.hypot(np.abs(self.along), np.abs(self.across)) + self.radius)


def _unit(vector: Points) -> Points:
    size = np.abs(vector)
    return np.asarray(vector / np.where(size > 0, size, 1.0))


def rectangles(
    x: npt.ArrayLike,
    y: npt.ArrayLike,
    half_length: npt.ArrayLike,
    half_width: npt.ArrayLike,
    angle: npt.ArrayLike = 0.0,
    radius: npt.ArrayLike = 0.0,
) -> Rectangles:
    """Lay rectangles out.

    Parameters
    ----------
    x, y : array_like
        Middles [mm].
    half_length, half_width : array_like
        Half of the sides, 0 for a line or a point [mm].
    angle : array_like
        Directions of the lengths, counter-clockwise from x [rad].
    radius : array_like
        How far the shapes reach beyond the rectangles all around [mm].
    """
    direction = np.exp(1j * np.asarray(angle, dtype=np.float64))
    middle = np.asarray(x, dtype=np.float64) + 1j * np.asarray(y, dtype=np.float64)
    m, along, across, r = np.broadcast_arrays(
        middle, direction * half_length, 1j * direction * half_width, np.asarray(radius, dtype=np.float64)
    )
    return Rectangles(m, along, across, r)


def edges_of(outline: npt.ArrayLike) -> Rectangles:
    """The K edges of a closed outline (K, 2) as rectangles of no width, edge i from point i on."""
    points = np.asarray(outline, dtype=np.float64).reshape(-1, 2)
    start = np.asarray(points[:, 0] + 1j * points[:, 1], dtype=np.complex128)
    end = np.roll(start, -1)
    along = 0.5 * (end - start)
    return Rectangles(0.5 * (start + end), along, np.zeros_like(along), np.zeros(len(along)))


def gap_between(one: Rectangles, other: Rectangles) -> Floats:
    """Nearest distance between shapes, below 0 where they overlap.

    Parameters
    ----------
    one, other : Rectangles
        Of shapes that broadcast.

    Returns
    -------
    ndarray
        Gaps [mm]; of shapes that overlap, less the shortest shift that takes them apart.

    Notes
    -----
    Two convex shapes are as far apart as the origin is from their Minkowski difference, which for two
    rectangles is an octagon.

    Examples
    --------
    >>> plate, post = rectangles(0, 0, 10, 5), rectangles([13, 12, 9, 14], [0, 5, 0, 8], 0, 0, 0, 2.0)
    >>> gap_between(plate, post)
    array([ 1.,  0., -3.,  3.])
    """
    corner = _difference(one, other)
    to = np.roll(corner, -1, axis=-1) - corner
    rel = -corner
    turned = to.conj() * rel
    share = turned.real / np.maximum(to.real**2 + to.imag**2, _LEAST_SQUARE)
    distance = np.abs(rel - share.clip(0.0, 1.0) * to).min(axis=-1)
    # Of lines and points there is no inside: all on one line is on neither side.
    inside = (turned.imag >= 0).all(axis=-1) & (turned.imag > 0).any(axis=-1)
    return np.asarray(np.where(inside, -distance, distance) - one.radius - other.radius)


def _difference(one: Rectangles, other: Rectangles) -> Points:
    """Corners (..., 8) of the octagon of all differences of points, one less other, counter-clockwise."""
    sides = np.stack(np.broadcast_arrays(one.along, one.across, other.along, other.across), axis=-1)
    sides = np.where((sides.imag < 0) | ((sides.imag == 0) & (sides.real < 0)), -sides, sides)
    sides = np.take_along_axis(sides, np.argsort(np.angle(sides), axis=-1), axis=-1)
    # From the lowest corner up on the right, then down on the left: the octagon is its own mirror image.
    chain = 2.0 * np.cumsum(sides, axis=-1)
    low = -sides.sum(axis=-1, keepdims=True)
    rising = np.concatenate([low, low + chain[..., :3]], axis=-1)
    middle = np.asarray(one.middle - other.middle)[..., None]
    return np.asarray(middle + np.concatenate([rising, -rising], axis=-1))


def ways_along(
    one: Rectangles,
    other: Rectangles,
    wanted: npt.ArrayLike,
    directions: tuple[complex, ...] = DIRECTIONS,
) -> Floats:
    """How far one must be shifted along each of some directions until it has left the other behind.

    Parameters
    ----------
    one, other : Rectangles
        Of shapes that broadcast; `one` is shifted.
    wanted : array_like
        The gap that is wanted then [mm].
    directions : tuple of complex
        Of size 1; the four of `DIRECTIONS` if not given.

    Returns
    -------
    ndarray, (..., D)
        Shifts, below 0 where that lies behind; ``-inf`` where it would never come so near [mm]. Along
        the line of the first two directions it is too near from less the second to the first.

    Examples
    --------
    >>> ways_along(rectangles(0, 0, 10, 5), rectangles(8, 0, 4, 4), 1.0)
    array([23.,  7., 10., 10.])
    """
    near = np.asarray(one.radius + other.radius + np.asarray(wanted, dtype=np.float64))
    corner = _difference(one, other)
    found = [_ray_exit(-corner * np.conj(way), near) for way in directions]
    return np.stack(found, axis=-1)


def _ray_exit(corner: Points, near: Floats) -> Floats:
    """Where the x axis leaves a convex outline (..., K), counter-clockwise, grown by `near` (...)."""
    near = near[..., None]
    ahead = corner.real + np.sqrt(np.maximum(near**2 - corner.imag**2, 0.0))
    round_ = np.where(np.abs(corner.imag) <= near, ahead, -np.inf)
    to = np.roll(corner, -1, axis=-1) - corner
    size = np.abs(to)
    start = corner - 1j * near * to / np.where(size > 0, size, 1.0)
    end = start + to
    crosses = (
        (np.minimum(start.imag, end.imag) <= 0) & (np.maximum(start.imag, end.imag) >= 0) & (to.imag != 0)
    )
    at = start.real - start.imag * to.real / np.where(to.imag != 0, to.imag, 1.0)
    straight = np.where(crosses, at, -np.inf)
    return np.asarray(np.maximum(round_, straight).max(axis=-1))


def holds(outline: npt.ArrayLike, points: Points) -> Bools:
    """Whether points (...) lie inside a simple outline (K, 2) or on it; nothing lies in an empty one."""
    corners = np.asarray(outline, dtype=np.float64).reshape(-1, 2)
    if not len(corners):
        return np.zeros(np.shape(points), dtype=bool)
    a = corners[:, 0] + 1j * corners[:, 1]
    b, p = np.roll(a, -1), np.asarray(points)[..., None]
    up = a.imag > p.imag
    goes = up != (b.imag > p.imag)
    across = ((b - a).conj() * (p - a)).imag
    # The ray runs in +x: it meets an edge that goes up and has the point on its left, or down and right.
    met = goes & ((across > 0) == ~up)
    return np.asarray(met.sum(axis=-1) % 2 == 1)
