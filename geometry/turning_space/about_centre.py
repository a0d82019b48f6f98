"""What a robot sweeps about its turn centre, point by point on exact arcs.

A point that turns about the centre stays on its circle, so that the farthest and nearest points of the
outline, and where an arc meets a line, have closed forms. Right turns are mirrored to left ones first.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from geometry.axes import Bools, Floats
from geometry.turning_space.outlines import Outlines

_QUARTER = 0.5 * np.pi
_ROOT = np.sqrt(2.0)
# An angle that far before the start of an arc still counts as its start, for rounding [rad].
_SLACK = 1e-12


@dataclass(frozen=True, eq=False)
class AboutCentre:
    """M outlines seen from their turn centres, every turn as one to the left."""

    x: Floats
    """(M, P): deciding points forward of the centre: corners, and the nearest point of each edge [mm]."""
    y: Floats
    """(M, P): the same, to the left of it [mm]."""
    inside: Bools
    """(M,): whether the centre lies within the outline."""

    @property
    def outer(self) -> Floats:
        """(M,): radius of the farthest point [mm]."""
        return np.asarray(np.hypot(self.x, self.y).max(axis=1))

    @property
    def inner(self) -> Floats:
        """(M,): radius of the nearest point; 0 where the centre is within the outline [mm]."""
        return np.asarray(np.where(self.inside, 0.0, np.hypot(self.x, self.y).min(axis=1)))


def about_centre(outlines: Outlines, centre: Floats, to_left: Bools) -> AboutCentre:
    """See outlines from finite turn centres, (M, 2) [mm]; at least one polygon is needed."""
    points = np.concatenate([outlines.corners, outlines.nearest(centre)], axis=1) - centre[:, None, :]
    return AboutCentre(
        np.asarray(points[..., 0]),
        np.asarray(np.where(to_left[:, None], points[..., 1], -points[..., 1])),
        outlines.hold(centre),
    )


def fixed_centre_lane(turning: AboutCentre, straight: AboutCentre) -> Floats:
    """Narrowest lane, the same before and after a right angle, in which to turn about one centre.

    The robot runs in straight ahead, turns by a quarter about the centre, and runs out straight. The
    width is the largest of ``min(distance to outer wall 1, to outer wall 2)`` over all swept points, the
    walls as near as the sweep lets them. Straight it is seen with its wheels straight, in the turn with
    its wheels as they stand then; how they steer from one to the other, at rest, does not count.

    Parameters
    ----------
    turning, straight : AboutCentre
        M outlines in the turn, and straight ahead, from the same centres.

    Returns
    -------
    ndarray, (M,)
        Width [mm].

    Notes
    -----
    Of an edge the point nearest to the centre is the only one besides its corners that can decide: where
    the lane's inner corner touches an edge at the widest, it touches where the edge is square to the
    corner's own radius. There ``w = ((a + b) - sqrt(2 Ri^2 - (a - b)^2)) / 2``, with a and b the reach
    beyond the centre towards each outer wall; for a body that is symmetric about the centre's line
    it is ``Ro - Ri / sqrt 2``.
    """
    x, y = turning.x, turning.y
    radius, start = np.hypot(x, y), np.arctan2(y, x)
    side = np.maximum(-straight.y.min(axis=1), -y.min(axis=1))
    a = np.maximum(side, _highest(radius, start, -_QUARTER, np.maximum(-y, -x)))
    b = np.maximum(side, _highest(radius, start, 0.0, np.maximum(x, -y)))
    a_, b_ = a[:, None], b[:, None]

    def nearer_wall(angle: Floats) -> Floats:
        return np.asarray(np.minimum(b_ - radius * np.cos(angle), a_ + radius * np.sin(angle)))

    lean = np.arccos(np.clip((b_ - a_) / np.maximum(_ROOT * radius, 1e-300), -1.0, 1.0))
    found = [nearer_wall(start), nearer_wall(start + _QUARTER)]
    # Along an arc each distance is a sine: the lower is highest where they cross, or at a crest of one.
    crests = np.full_like(start, _QUARTER), np.full_like(start, np.pi)
    found += [
        np.where(_passes(start, angle), nearer_wall(angle), -np.inf)
        for angle in (0.5 * _QUARTER + lean, 0.5 * _QUARTER - lean, *crests)
    ]
    within = np.where(turning.inside, np.minimum(a, b), -np.inf)
    left = np.maximum(straight.y.max(axis=1), y.max(axis=1))
    return np.asarray(np.maximum.reduce([np.max(found, axis=(0, 2)), within, a + left, b + left]))


def kerb_gap(turning: AboutCentre, neighbour: Floats) -> tuple[Floats, Floats]:
    """Shortest gap at a kerb that is entered backwards in one move, and how far the tail swings over it.

    The robot ends along the kerb, its rear at the rear end of the gap. Before the gap stands a neighbour
    as wide as given, against the same line. All is of the outline as it turns, wheels included.

    Parameters
    ----------
    turning : AboutCentre
        M outlines in the turn.
    neighbour : ndarray, (M,)
        Width of the neighbour [mm].

    Returns
    -------
    (gap, tail) : ndarrays, (M,)
        Length of the gap, and how far the outline swings beyond the line of the kerb [mm]. Both ``inf``
        where the neighbour reaches beyond the centre: no turn about it leads out of the gap.

    Notes
    -----
    For a rectangle ``ar + sqrt(hypot(af, R + W/2)^2 - (R + W/2 - wn)^2)`` with af and ar its ends before
    and behind the centre, af the longer, wn the neighbour's width; the tail swings by
    ``hypot(ar, R + W/2) - (R + W/2)``. Where the rear end is the longer, its corner passes the
    neighbour widest, and takes the place of af.
    """
    x, y = turning.x, turning.y
    radius, start = np.hypot(x, y), np.arctan2(y, x)
    kerb = y.min(axis=1)
    line = kerb + neighbour
    level = np.broadcast_to(line[:, None], y.shape)
    meets = np.abs(level) <= radius
    angle = np.arcsin(np.clip(level / np.maximum(radius, 1e-300), -1.0, 1.0))
    # What stands behind the centre passes the line late, after more than a quarter of a turn.
    crossing = np.where(meets & _passes(start, angle, np.pi), radius * np.cos(angle), -np.inf)
    reach = np.maximum(crossing.max(axis=1), np.where(y <= level, x, -np.inf).max(axis=1))
    deepest = _highest(radius, start, -_QUARTER, np.maximum(-y, -x))
    leads_out = line <= _SLACK * np.maximum(turning.outer, 1.0)
    gap = np.where(leads_out, reach - x.min(axis=1), np.inf)
    return np.asarray(gap), np.asarray(np.where(leads_out, deepest + kerb, np.inf))


def _passes(start: Floats, angle: Floats | float, turned: float = _QUARTER) -> Bools:
    """Whether a turn to the left from `start`, of a quarter unless said, comes by an angle."""
    return np.asarray(np.mod(angle - start + _SLACK, 2.0 * np.pi) <= turned + 2.0 * _SLACK)


def _highest(radius: Floats, start: Floats, towards: float, at_ends: Floats) -> Floats:
    """Farthest that points reach in one direction during a quarter of a turn, (M,) [mm]."""
    return np.asarray(np.where(_passes(start, towards), radius, at_ends).max(axis=1))
