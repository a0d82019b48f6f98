"""Points, lines and outlines in the plane. Arrays only; no chassis is known here."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from geometry.axes import Floats

# Keeps an edge without a length from a division by 0 [mm²].
_LEAST_SQUARE = 1e-300


def crossing_edges(outline: npt.ArrayLike) -> tuple[int, int] | None:
    """Find two edges of a closed outline that meet where they should not.

    Edge i runs from point i to point i + 1, the last one back to the first. Neighbours
    share a corner and count only when one folds back onto the other.

    Parameters
    ----------
    outline : array_like, (K, 2)
        Corners [mm].

    Returns
    -------
    (int, int) or None
        The first pair of edges that cross, touch or overlap; None for a simple outline.

    Examples
    --------
    >>> crossing_edges([(0, 0), (1, 0), (1, 1), (0, 1)]) is None
    True
    >>> crossing_edges([(0, 0), (1, 1), (1, 0), (0, 1)])
    (0, 2)
    """
    start = np.asarray(outline, dtype=np.float64)
    count = len(start)
    end = np.roll(start, -1, axis=0)
    first, second = np.triu_indices(count, k=1)
    a, b, c, d = start[first], end[first], start[second], end[second]
    ab_c, ab_d = _side(a, b, c), _side(a, b, d)
    cd_a, cd_b = _side(c, d, a), _side(c, d, b)
    meets = (ab_c * ab_d < 0) & (cd_a * cd_b < 0)
    for line_start, line_end, point, turn in (
        (a, b, c, ab_c),
        (a, b, d, ab_d),
        (c, d, a, cd_a),
        (c, d, b, cd_b),
    ):
        meets |= (turn == 0) & _within_box(line_start, line_end, point)
    neighbours = (second - first == 1) | ((first == 0) & (second == count - 1))
    # Neighbours always touch at their shared corner: only a fold back along the edge counts.
    shared = np.where((second - first == 1)[:, None], b, a)
    others = (np.where((second - first == 1)[:, None], a, b), np.where((second - first == 1)[:, None], d, c))
    arm, leg = others[0] - shared, others[1] - shared
    folds = (_cross(arm, leg) == 0) & (np.sum(arm * leg, axis=1) > 0)
    bad = np.flatnonzero(np.where(neighbours, folds, meets))
    return (int(first[bad[0]]), int(second[bad[0]])) if bad.size else None


def _cross(p: Floats, q: Floats) -> Floats:
    return np.asarray(p[:, 0] * q[:, 1] - p[:, 1] * q[:, 0])


def _side(a: Floats, b: Floats, point: Floats) -> Floats:
    return np.sign(_cross(b - a, point - a))


def _within_box(a: Floats, b: Floats, point: Floats) -> npt.NDArray[np.bool_]:
    low, high = np.minimum(a, b), np.maximum(a, b)
    return np.asarray(np.all((low <= point) & (point <= high), axis=1))


def points_outside(outline: npt.ArrayLike, points: npt.ArrayLike) -> npt.NDArray[np.intp]:
    """Find the points that lie outside a simple outline; those on an edge lie within.

    Parameters
    ----------
    outline : array_like, (K, 2)
        Corners of a closed outline, in order [mm].
    points : array_like, (M, 2)
        Points [mm].

    Returns
    -------
    ndarray of int
        Numbers of the points outside, ascending. Inside is what a ray leaves through an odd number of edges.

    Examples
    --------
    >>> points_outside([(0, 0), (4, 0), (4, 4), (0, 4)], [(2, 2), (5, 2), (4, 1), (0, 0)])
    array([1])
    """
    a = np.asarray(outline, dtype=np.float64)
    b, p = np.roll(a, -1, axis=0), np.asarray(points, dtype=np.float64)
    x, y = p[:, 0][:, None], p[:, 1][:, None]
    above = a[:, 1] > y, b[:, 1] > y
    across = (b[:, 0] - a[:, 0]) * (y - a[:, 1]) - (b[:, 1] - a[:, 1]) * (x - a[:, 0])
    # The ray runs in +x: it meets an edge that goes up and has the point on its left, or down and right.
    met = (above[0] != above[1]) & ((across > 0) == above[1])
    within = np.minimum(a, b), np.maximum(a, b)
    on = (across == 0) & (x >= within[0][:, 0]) & (x <= within[1][:, 0])
    on &= (y >= within[0][:, 1]) & (y <= within[1][:, 1])
    inside = (met.sum(axis=1) % 2 == 1) | on.any(axis=1)
    return np.flatnonzero(~inside)


def clip_line(
    point: npt.ArrayLike, direction: npt.ArrayLike, low: npt.ArrayLike, high: npt.ArrayLike
) -> tuple[Floats, Floats]:
    """Clip endless lines to a box.

    Parameters
    ----------
    point, direction : array_like, (N, 2)
        A point on each line and its direction, of any length above 0.
    low, high : array_like, (2,)
        Opposite corners of the box, in the units of `point`.

    Returns
    -------
    (t_in, t_out) : ndarrays, (N,)
        The line is within the box for ``t_in <= t <= t_out`` along `direction`;
        ``t_in > t_out`` where it misses the box.

    Examples
    --------
    >>> clip_line([(0.0, 0.0)], [(1.0, 0.0)], (-5.0, -5.0), (10.0, 5.0))
    (array([-5.]), array([10.]))
    >>> t_in, t_out = clip_line([(0.0, 9.0)], [(1.0, 0.0)], (-5.0, -5.0), (10.0, 5.0))
    >>> bool(t_in[0] > t_out[0])
    True
    """
    p, d = np.asarray(point, dtype=np.float64), np.asarray(direction, dtype=np.float64)
    low_side, high_side = np.asarray(low, dtype=np.float64), np.asarray(high, dtype=np.float64)
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        to_low, to_high = (low_side - p) / d, (high_side - p) / d
    parallel = d == 0
    inside = (low_side <= p) & (p <= high_side)
    enter = np.where(parallel, np.where(inside, -np.inf, np.inf), np.minimum(to_low, to_high))
    leave = np.where(parallel, np.where(inside, np.inf, -np.inf), np.maximum(to_low, to_high))
    return enter.max(axis=1), leave.min(axis=1)


def least_squares_meeting_point(
    point: npt.ArrayLike, heading_normal: npt.ArrayLike, weight: npt.ArrayLike
) -> Floats:
    """Find the point whose weighted squared distances from all lines sum to the least.

    Parameters
    ----------
    point : array_like, (M, N, 2)
        A point on each line [mm].
    heading_normal : array_like, (M, N, 2)
        Unit normal of each line.
    weight : array_like, (N,)
        Weight of each line, above 0.

    Returns
    -------
    ndarray, (M, 2)
        The point [mm]; ``inf`` in both places where all lines are parallel, since then
        there is no finite point that suits best.

    Notes
    -----
    Normal equations of the distance of a point from a line in normal form, as in any text
    on least squares. Two parallel lines and one across them give the point on the across
    line midway between the two.

    Examples
    --------
    >>> least_squares_meeting_point([[(0, 0), (0, 5)]], [[(0, 1), (1, 0)]], (1, 1))
    array([[0., 0.]])
    >>> least_squares_meeting_point([[(0, 0), (3, 0)]], [[(1, 0), (1, 0)]], (1, 1))
    array([[inf, inf]])
    """
    p, n = np.asarray(point, dtype=np.float64), np.asarray(heading_normal, dtype=np.float64)
    w = np.asarray(weight, dtype=np.float64)[None, :, None]
    matrix = np.einsum("mni,mnj->mij", n * w, n)
    offset = np.einsum("mni,mni->mn", p, n)
    right = np.einsum("mni,mn->mi", n * w, offset)
    determinant = matrix[:, 0, 0] * matrix[:, 1, 1] - matrix[:, 0, 1] ** 2
    trace = matrix[:, 0, 0] + matrix[:, 1, 1]
    # Relative to the trace the determinant is the squared spread of the directions [rad^2].
    parallel = determinant <= 1e-14 * trace**2
    safe = np.where(parallel, 1.0, determinant)
    x = (matrix[:, 1, 1] * right[:, 0] - matrix[:, 0, 1] * right[:, 1]) / safe
    y = (matrix[:, 0, 0] * right[:, 1] - matrix[:, 0, 1] * right[:, 0]) / safe
    found = np.stack([x, y], axis=1)
    found[parallel] = np.inf
    return found


def turned_box_touches(
    offset: npt.ArrayLike, half: npt.ArrayLike, angle: npt.ArrayLike, box_half: npt.ArrayLike
) -> npt.NDArray[np.bool_]:
    """Whether a turned rectangle touches an upright one, holding it or being held included.

    Parameters
    ----------
    offset : array_like, (..., 2)
        From the middle of the turned rectangle to the middle of the upright one [mm].
    half : array_like, (..., 2)
        Half length and half width of the turned rectangle [mm].
    angle : array_like, (...)
        How far it is turned, counter-clockwise [rad].
    box_half : array_like, (..., 2)
        Half of the sides of the upright rectangle along x and y [mm].

    Returns
    -------
    ndarray of bool, (...)
        For each case.

    Notes
    -----
    Separating axes of two convex outlines, as in any text on collision: they are apart
    where their shadows are, on a normal of one of the edges.

    Examples
    --------
    Straight it clears the other, across it does not; edges that meet touch:

    >>> turned_box_touches((0, 20), (30, 10), [0, np.pi / 2], (50, 5))
    array([False,  True])
    >>> turned_box_touches((0, 15), (30, 10), [0], (50, 5))
    array([ True])
    """
    dx, dy = np.moveaxis(np.asarray(offset, dtype=np.float64), -1, 0)
    length, width = np.moveaxis(np.asarray(half, dtype=np.float64), -1, 0)
    box_x, box_y = np.moveaxis(np.asarray(box_half, dtype=np.float64), -1, 0)
    cos, sin = np.cos(angle), np.sin(angle)
    c, s = np.abs(cos), np.abs(sin)
    return np.asarray(
        (np.abs(dx) <= box_x + length * c + width * s)
        & (np.abs(dy) <= box_y + length * s + width * c)
        & (np.abs(dx * cos + dy * sin) <= length + box_x * c + box_y * s)
        & (np.abs(dy * cos - dx * sin) <= width + box_x * s + box_y * c)
    )


def outline_gaps(one: npt.ArrayLike, others: npt.ArrayLike) -> Floats:
    """Least distance from the edges of one outline to those of others.

    Parameters
    ----------
    one : array_like, (K, 2)
        Corners of a closed outline, in order [mm].
    others : array_like, (..., M, 2)
        Corners of closed outlines, in order [mm].

    Returns
    -------
    ndarray, (...)
        For each of the others; 0 where edges cross or touch [mm]. An outline that lies wholly
        within another is as far from it as its nearest edge.

    Examples
    --------
    >>> square = np.array([(1, 1), (-1, 1), (-1, -1), (1, -1)])
    >>> outline_gaps(square, [square + (5, 0), square + (5, 6), square + (2, 0), 4 * square])
    array([3., 5., 0., 3.])
    """
    # Points as complex numbers, since this runs at each step of a drag: the real part of conj(p) q is
    # the dot product, the imaginary part the cross product. Every edge meets every edge, (..., K, M).
    a, b = _as_complex(one)[:, None], _as_complex(others)[..., None, :]
    along_a, along_b = np.roll(a, -1, axis=0) - a, np.roll(b, -1, axis=-1) - b
    between = b - a
    turned_a, turned_b = along_a.conj(), along_b.conj()
    with np.errstate(divide="ignore", invalid="ignore"):  # parallel edges do not cross
        across = (turned_a * along_b).imag
        on_a, on_b = -(turned_b * between).imag / across, -(turned_a * between).imag / across
    crossing = (on_a > 0.0) & (on_a < 1.0) & (on_b > 0.0) & (on_b < 1.0)
    share_b = (turned_b * -between).real / np.maximum((turned_b * along_b).real, _LEAST_SQUARE)
    share_a = (turned_a * between).real / np.maximum((turned_a * along_a).real, _LEAST_SQUARE)
    gaps = np.minimum(
        np.abs(between + share_b.clip(0.0, 1.0) * along_b), np.abs(between - share_a.clip(0.0, 1.0) * along_a)
    )
    return np.asarray(np.where(crossing, 0.0, gaps).min(axis=(-2, -1)))


def _as_complex(points: npt.ArrayLike) -> npt.NDArray[np.complex128]:
    p = np.asarray(points, dtype=np.float64)
    return np.asarray(p[..., 0] + 1j * p[..., 1])
