"""When a moving outline first touches one that stands, exactly, between one pose and the next.

Two outlines that are apart touch first where a corner of one comes to an edge of the other. So a
corner of the moving one goes along an arc to an edge that stands; or, seen from the moving one, a
corner that stands comes along the arc of the reverse motion. A rounded outline is its core with a
radius: a post is a point with one. Edges are then met at the sum of the radii, and corners too.

With ``s = 2 rho tan(theta / 2)``, rho the radius of the arc and theta the angle gone, a point at q
with unit velocity t and curvature k is at ``q + (s t + s^2 (k / 2) n) / (1 + s^2 k^2 / 4)``, n to the
left of t (tangent half-angle substitution, any text on integrals). That is a line where k is 0, and
each question is a quadratic in s, so that the gentlest arc is as exact as the tightest.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from geometry.axes import Bools, Floats, frozen_array
from geometry.plane import points_outside

Numbers = npt.NDArray[np.int64]

# Slack at both ends of a step and of an edge, so that nothing slips through between two [mm].
SLACK_MM = 1e-9
# A point slower than this stands [mm/s].
_STANDS = 1e-9


@dataclass(frozen=True, eq=False)
class Core:
    """An outline in the plane: corners, edges between neighbours, and a radius around all of it."""

    points: Floats
    """(V, 2): one point, two ends of a line, or the corners of a closed outline [mm]."""
    radius: float = 0.0
    """How far it reaches beyond its core [mm]."""

    @property
    def edges(self) -> tuple[Numbers, Numbers]:
        """(E,) each: corners where edges start and end; a single point is an edge without a length."""
        count = len(self.points)
        start = np.arange(count if count != 2 else 1)
        return start, (start + 1) % count


def core(points: npt.ArrayLike, radius: float = 0.0) -> Core:
    """Make an outline from corners.

    Examples
    --------
    >>> core((3.0, 4.0), 5.0).points.shape
    (1, 2)
    """
    return Core(frozen_array(np.atleast_2d(np.asarray(points, dtype=np.float64))), radius)


def first_touches(
    shape: Floats, radius: float, twist: Floats, duration: float, poses: Floats, standing: tuple[Core, ...]
) -> Floats:
    """When an outline that moves along arcs first touches each of several that stand.

    Parameters
    ----------
    shape : ndarray, (M, V, 2)
        Corners of the moving outline in the body frame, at each of M steps [mm]; its edges are those
        of a `Core`.
    radius : float
        How far it reaches beyond its core [mm].
    twist : ndarray, (M, 3)
        How it moves in each step, seen from the body frame as it is at the start of the step
        [mm/s, mm/s, rad/s]; it turns by less than half a turn in a step.
    duration : float
        How long a step lasts [s].
    poses : ndarray, (M, 3)
        Pose of the body frame at the start of each step [mm, mm, rad].
    standing : tuple of Core
        O outlines that stand.

    Returns
    -------
    ndarray, (M, O)
        Share of the step, 0 to 1, at which it first touches; ``inf`` where it does not. What overlaps
        before the step meets only what it comes to: ask `overlaps` of the first pose.

    Examples
    --------
    A corner runs into a post half way:

    >>> box = np.array([[(10.0, 5.0), (-10.0, 5.0), (-10.0, -5.0), (10.0, -5.0)]])
    >>> post = core((25.0, 0.0), 5.0)
    >>> first_touches(box, 0.0, np.array([(20.0, 0.0, 0.0)]), 1.0, np.zeros((1, 3)), (post,)).round(9)
    array([[0.5]])
    """
    found = np.full((len(poses), len(standing)), np.inf)
    if not found.size:
        return found
    near = _near(shape, radius, twist, duration, poses, standing)
    edges = Core(shape[0]).edges
    for o in np.flatnonzero(near.any(axis=0)).tolist():
        rows = np.flatnonzero(near[:, o])
        other = standing[o]
        # All that stands is brought into the body frame, (m, W, 2).
        there = _into(poses[rows], other.points)
        reach = radius + other.radius
        found[rows, o] = np.minimum(
            _corners_to_edges(shape[rows], twist[rows], duration, there, other.edges, reach),
            _corners_to_edges(there, -twist[rows], duration, shape[rows], edges, reach),
        )
    return found


def _near(
    shape: Floats, radius: float, twist: Floats, duration: float, poses: Floats, standing: tuple[Core, ...]
) -> Bools:
    """(M, O): where circles around both, widened by the way of the step, meet."""
    middle = 0.5 * (shape.min(axis=1) + shape.max(axis=1))
    size = np.hypot(*(shape - middle[:, None]).transpose(2, 0, 1)).max(axis=1) + radius
    cos, sin = np.cos(poses[:, 2]), np.sin(poses[:, 2])
    x = poses[:, 0] + cos * middle[:, 0] - sin * middle[:, 1]
    y = poses[:, 1] + sin * middle[:, 0] + cos * middle[:, 1]
    speed = np.hypot(twist[:, 0] - twist[:, 2] * middle[:, 1], twist[:, 1] + twist[:, 2] * middle[:, 0])
    reach = size + duration * (speed + np.abs(twist[:, 2]) * size) + 1.0
    spots = np.array([0.5 * (one.points.min(axis=0) + one.points.max(axis=0)) for one in standing])
    wide = np.array(
        [
            np.hypot(*(one.points - spot).T).max() + one.radius
            for one, spot in zip(standing, spots, strict=True)
        ]
    )
    gap = np.hypot(x[:, None] - spots[:, 0], y[:, None] - spots[:, 1])
    return np.asarray(gap <= reach[:, None] + wide)


def _into(poses: Floats, points: Floats) -> Floats:
    """Points that stand, seen from each pose, (M, V, 2)."""
    cos, sin = np.cos(poses[:, 2:]), np.sin(poses[:, 2:])
    dx, dy = points[:, 0] - poses[:, :1], points[:, 1] - poses[:, 1:2]
    return np.stack([cos * dx + sin * dy, cos * dy - sin * dx], axis=-1)


def _corners_to_edges(
    corners: Floats,
    twist: Floats,
    duration: float,
    outline: Floats,
    edges: tuple[Numbers, Numbers],
    reach: float,
) -> Floats:
    """Share of the step, (M,), at which the first of the corners comes to an edge of the outline."""
    a, b = outline[:, None, edges[0]], outline[:, None, edges[1]]
    q = corners[:, :, None]
    t = twist[:, None, None]
    vx, vy = t[..., 0] - t[..., 2] * q[..., 1], t[..., 1] + t[..., 2] * q[..., 0]
    speed = np.hypot(vx, vy)
    stands = speed <= _STANDS
    safe = np.where(stands, 1.0, speed)
    tau = np.stack([vx / safe, vy / safe], axis=-1)
    curve = np.where(stands, 0.0, t[..., 2] / safe)
    half = 0.5 * duration * t[..., 2]
    end = duration * speed * np.where(half == 0, 1.0, np.tan(half) / np.where(half == 0, 1.0, half))
    arc = _Arc(q, tau, curve, end)
    first = np.where(_distance(q, a, b) <= reach + SLACK_MM, 0.0, np.inf)
    for met in _meetings(arc, a, b, reach):
        np.minimum(first, met, out=first)
    first = np.where(stands & (first > 0), np.inf, first).reshape(len(corners), -1).min(axis=1)
    return np.asarray(first)


@dataclass(frozen=True)
class _Arc:
    """Ways of points, broadcast over steps, corners and edges."""

    start: Floats
    tau: Floats
    curve: Floats
    end: Floats

    @property
    def left(self) -> Floats:
        return np.stack([-self.tau[..., 1], self.tau[..., 0]], axis=-1)

    def share(self, s: Floats) -> Floats:
        """Share of the step for a place on the arc; ``inf`` where that is not within the step."""
        with np.errstate(invalid="ignore", divide="ignore"):
            within = (s >= -SLACK_MM) & (s <= self.end + SLACK_MM)
            s = np.where(within, np.clip(s, 0.0, self.end), 0.0)
            bend = 0.5 * self.curve
            whole = np.arctan(bend * self.end)
            gentle = np.abs(whole) < 1e-6
            share = np.where(
                gentle,
                s / np.where(self.end > 0, self.end, 1.0),
                np.arctan(bend * s) / np.where(gentle, 1.0, whole),
            )
        return np.where(within, np.clip(share, 0.0, 1.0), np.inf)

    def at(self, s: Floats) -> Floats:
        bend = 0.5 * self.curve * s
        scale = s / (1.0 + bend * bend)
        return self.start + scale[..., None] * (self.tau + bend[..., None] * self.left)


def _meetings(arc: _Arc, a: Floats, b: Floats, reach: float) -> list[Floats]:
    """Shares of the step at which points come to lines at a distance, and to circles about their ends."""
    found = []
    along, gap = b - a, arc.start - a
    length = np.hypot(along[..., 0], along[..., 1])
    has_length = length > 0
    safe = np.where(has_length, length, 1.0)
    unit = along / safe[..., None]
    normal = np.stack([-unit[..., 1], unit[..., 0]], axis=-1)
    quarter = 0.25 * arc.curve * arc.curve
    slope, bow, off = _dot(normal, arc.tau), 0.5 * arc.curve * _dot(normal, arc.left), _dot(normal, gap)
    for side in (reach, -reach) if reach > 0 else (0.0,):
        rest = off - side
        for s in _roots(bow + rest * quarter, slope, rest):
            place = np.where(np.abs(s) <= arc.end + 1.0, s, 0.0)
            on = _dot(unit, arc.at(place) - a)
            on_edge = has_length & (on >= -SLACK_MM) & (on <= length + SLACK_MM)
            found.append(np.where(on_edge, arc.share(s), np.inf))
    if reach > 0:
        for end in (a, b):
            gap = arc.start - end
            rest = _dot(gap, gap) - reach * reach
            square = 1.0 + arc.curve * _dot(gap, arc.left) + rest * quarter
            found += [arc.share(s) for s in _roots(square, 2.0 * _dot(gap, arc.tau), rest)]
    return found


def _dot(p: Floats, q: Floats) -> Floats:
    return np.asarray(p[..., 0] * q[..., 0] + p[..., 1] * q[..., 1])


def _roots(square: Floats, linear: Floats, constant: Floats) -> tuple[Floats, Floats]:
    """Both solutions of quadratics, without loss of digits; NaN or infinite where there is none."""
    with np.errstate(invalid="ignore", divide="ignore", over="ignore"):
        root = np.sqrt(linear * linear - 4.0 * square * constant)
        half = -0.5 * (linear + np.copysign(root, linear))
        return half / square, constant / half


def _distance(p: Floats, a: Floats, b: Floats) -> Floats:
    """Distance of points from edges."""
    along = b - a
    square = _dot(along, along)
    share = np.clip(_dot(p - a, along) / np.where(square > 0, square, 1.0), 0.0, 1.0)
    gap = p - a - share[..., None] * along
    return np.hypot(gap[..., 0], gap[..., 1])


def overlaps(one: Core, other: Core) -> bool:
    """Whether two outlines touch as they stand, one within the other included.

    Examples
    --------
    >>> square = core([(1, 1), (-1, 1), (-1, -1), (1, -1)])
    >>> overlaps(square, core((0.2, 0.2))), overlaps(square, core((3.0, 0.0), 1.5))
    (True, False)
    """
    reach = one.radius + other.radius
    return gap_between(one, other)[0] <= reach or _holds(one, other) or _holds(other, one)


def gap_between(one: Core, other: Core) -> tuple[float, Floats]:
    """Least distance between the cores of two outlines, and the place on the second where it is.

    Returns
    -------
    (gap, place) : float and ndarray, (2,)
        0 where edges cross [mm].
    """
    best, place = np.inf, other.points[0]
    for first, second, swapped in ((one, other, False), (other, one, True)):
        a, b = (second.points[i] for i in second.edges)
        gaps = _distance(first.points[:, None], a, b)
        v, e = np.unravel_index(int(gaps.argmin()), gaps.shape)
        if gaps[v, e] < best:
            best = float(gaps[v, e])
            along, point = b[e] - a[e], first.points[v]
            share = float(
                np.clip(float(_dot(point - a[e], along)) / max(float(_dot(along, along)), 1e-300), 0.0, 1.0)
            )
            place = point if swapped else a[e] + share * along
    crossing = _crossing(one, other)
    return (best, place) if crossing is None else (0.0, crossing)


def _crossing(one: Core, other: Core) -> Floats | None:
    a, b = (one.points[i][:, None] for i in one.edges)
    c, d = (other.points[i] for i in other.edges)
    u, v, w = b - a, d - c, c - a
    with np.errstate(invalid="ignore", divide="ignore"):
        across = u[..., 0] * v[..., 1] - u[..., 1] * v[..., 0]
        on_u = (w[..., 0] * v[..., 1] - w[..., 1] * v[..., 0]) / across
        on_v = (w[..., 0] * u[..., 1] - w[..., 1] * u[..., 0]) / across
        hit = np.argwhere((on_u >= 0) & (on_u <= 1) & (on_v >= 0) & (on_v <= 1))
    if not len(hit):
        return None
    i, j = hit[0]
    return np.asarray(one.points[one.edges[0][i]] + on_u[i, j] * u[i, 0])


def _holds(outer: Core, inner: Core) -> bool:
    return len(outer.points) > 2 and not len(points_outside(outer.points, inner.points[:1]))
