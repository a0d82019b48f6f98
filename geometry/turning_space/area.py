"""The area that an outline sweeps about a fixed centre, ring by ring."""

from __future__ import annotations

import itertools

import numpy as np
import numpy.typing as npt

from geometry.axes import Floats
from geometry.plane import points_outside

_POINTS = 40


def swept_area(outline: npt.ArrayLike, centre: npt.ArrayLike, angle: float) -> float:
    """Area that a polygon covers while it turns about a point.

    Parameters
    ----------
    outline : array_like, (K, 2)
        Corners of a simple polygon, in order [mm].
    centre : array_like, (2,)
        Turn centre [mm].
    angle : float
        How far it turns, at least 0 [rad].

    Returns
    -------
    float
        Area [mm2].

    Notes
    -----
    On the ring of radius r the polygon covers some arcs, and turning makes each longer by `angle`; the
    area is the integral of ``r * (covered angle)``. Between the radii at which corners and edges come in it
    is smooth but for square roots at the ends, which a substitution by a cosine takes away.

    Examples
    --------
    A square about its corner, without turning and for a whole turn:

    >>> square = [(0, 0), (10, 0), (10, 10), (0, 10)]
    >>> round(swept_area(square, (0, 0), 0.0), 6), round(swept_area(square, (0, 0), 7.0) / np.pi, 6)
    (100.0, 200.0)
    """
    corners = np.asarray(outline, dtype=np.float64) - np.asarray(centre, dtype=np.float64)
    ends = np.roll(corners, -1, axis=0)
    along = ends - corners
    share = np.clip(-(corners * along).sum(axis=1) / (along**2).sum(axis=1), 0.0, 1.0)
    feet = corners + share[:, None] * along
    start = 0.0 if not points_outside(corners, [(0.0, 0.0)]).size else np.inf
    radii = np.unique(np.concatenate([np.hypot(*corners.T), np.hypot(*feet.T), [start]]))
    radii = radii[np.isfinite(radii)]
    node, weight = np.polynomial.legendre.leggauss(_POINTS)
    theta = 0.5 * np.pi * (node + 1.0)
    total = 0.0
    for low, high in itertools.pairwise(radii.tolist()):
        half, middle = 0.5 * (high - low), 0.5 * (high + low)
        at = middle - half * np.cos(theta)
        covered = np.array([_covered(corners, ends, radius, angle) for radius in at])
        total += float((weight * at * covered * half * np.sin(theta)).sum() * 0.5 * np.pi)
    return total


def _covered(corners: Floats, ends: Floats, radius: float, angle: float) -> float:
    """Angle of a ring that is covered, each arc made longer by `angle`."""
    along = ends - corners
    a, b = (along**2).sum(axis=1), (corners * along).sum(axis=1)
    c = (corners**2).sum(axis=1) - radius**2
    root = np.sqrt(np.maximum(b * b - a * c, 0.0))
    share = np.concatenate([(-b - root) / a, (-b + root) / a])
    met = (share >= 0) & (share < 1) & np.tile(b * b > a * c, 2)
    points = (np.tile(corners, (2, 1)) + share[:, None] * np.tile(along, (2, 1)))[met]
    cuts = np.sort(np.arctan2(points[:, 1], points[:, 0]))
    if not len(cuts):
        return 0.0 if points_outside(corners, [(radius, 0.0)]).size else 2.0 * np.pi
    after = np.append(cuts[1:], cuts[0] + 2.0 * np.pi)
    between = 0.5 * (cuts + after)
    outside = points_outside(corners, radius * np.stack([np.cos(between), np.sin(between)], axis=1))
    free = np.maximum(_joined_gaps(after - cuts, set(outside.tolist())) - angle, 0.0)
    return float(2.0 * np.pi - free.sum())


def _joined_gaps(widths: Floats, outside: set[int]) -> Floats:
    """Widths of the free arcs; cuts without a change between them do not part one."""
    if len(outside) == len(widths):
        return np.array([2.0 * np.pi])
    first = next(k for k in range(len(widths)) if k not in outside)
    gaps, running = [], 0.0
    for k in range(first, first + len(widths)):
        if k % len(widths) in outside:
            running += float(widths[k % len(widths)])
        elif running:
            gaps.append(running)
            running = 0.0
    return np.array([*gaps, *([running] if running else [])])
