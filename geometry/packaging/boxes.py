"""The body as upright boxes within its outline; and which upright things the wheels keep clear of."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from geometry.axes import Bools, Floats
from geometry.kinematics.robot import Robot
from geometry.model.design import Design
from geometry.packaging.solids import solids_of
from geometry.shapes.heights import height_gap
from geometry.shapes.rectangles import Rectangles, rectangles
from geometry.shapes.sweeps import swept_gap

MOST_BOXES = 200
# What lies outside the boxes is no wider than this share of the outline's larger side.
_FINE = 0.02
# Boxes thinner than this are left out [mm].
_THIN = 0.01


@dataclass(frozen=True, eq=False)
class Boxes:
    """Rectangles seen from above, sides along x and y."""

    spans: Floats
    """(B, 4): rear, right, front and left end of each [mm]."""
    short: float
    """How far the outline reaches beyond them at the most, along y [mm]; 0 for the one around it."""
    around: bool = False
    """Whether it is the one box around an outline that would take too many."""


def boxes_within(outline: npt.ArrayLike) -> Boxes:
    """Cut an outline across at its corners, and finer where it is slanted, into boxes that lie within it.

    Parameters
    ----------
    outline : array_like, (K, 2)
        Corners of an outline that does not cross itself [mm].

    Returns
    -------
    Boxes
        At most `MOST_BOXES`; exact where all edges lie along x or y.

    Examples
    --------
    >>> boxes_within([(0, 0), (30, 0), (30, 10), (10, 10), (10, 20), (0, 20)]).spans
    array([[ 0.,  0., 10., 20.],
           [10.,  0., 30., 10.]])
    """
    corner = np.asarray(outline, dtype=np.float64)
    (rear, right), (front, left) = corner.min(axis=0), corner.max(axis=0)
    size = float(max(front - rear, left - right))
    wanted = _FINE * size
    while True:
        boxes = _strips(corner, wanted)
        if len(boxes.spans) <= MOST_BOXES:
            return boxes
        if wanted > size:
            return Boxes(np.array([[rear, right, front, left]]), 0.0, around=True)
        wanted *= 2.0


def _strips(corner: Floats, wanted: float) -> Boxes:
    found: list[tuple[float, float, float, float]] = []
    short, at = 0.0, np.unique(corner[:, 0])
    for rear, front in itertools.pairwise(at.tolist()):
        lost = max((abs(b - a) for a, b in _edges(corner, rear, front)), default=0.0)
        count = max(1, min(int(np.ceil(lost / wanted)), int((front - rear) / _THIN)))
        cuts = np.linspace(rear, front, count + 1)
        for low, high in itertools.pairwise(cuts.tolist()):
            if high - low < _THIN:
                continue
            ends = sorted(_edges(corner, low, high), key=sum)
            for (a, b), (c, d) in zip(ends[::2], ends[1::2], strict=True):
                short = max(short, abs(b - a), abs(d - c))
                if max(a, b) + _THIN < min(c, d):
                    found.append((low, max(a, b), high, min(c, d)))
    return Boxes(np.array(found, dtype=np.float64).reshape(-1, 4), short)


def _edges(corner: Floats, rear: float, front: float) -> list[tuple[float, float]]:
    """Where the edges that pass between two x have their ends there, as pairs of y."""
    after = np.roll(corner, -1, axis=0)
    swap = (corner[:, 0] > after[:, 0])[:, None]
    a, b = np.where(swap, after, corner), np.where(swap, corner, after)
    middle = 0.5 * (rear + front)
    through = (a[:, 0] < middle) & (b[:, 0] > middle)
    a, b = a[through], b[through]
    slope = (b[:, 1] - a[:, 1]) / (b[:, 0] - a[:, 0])
    ends = (a[:, 1] + slope * (np.clip(x, a[:, 0], b[:, 0]) - a[:, 0]) for x in (rear, front))
    return list(zip(*(end.tolist() for end in ends), strict=True))


def clear_of_wheels(
    robot: Robot, design: Design, shape: Rectangles, low: npt.ArrayLike, high: npt.ArrayLike
) -> Bools:
    """Whether no wheel overlaps upright things anywhere in its travel.

    Parameters
    ----------
    robot : Robot
        The design's, with N wheels.
    design : Design
        The design.
    shape : Rectangles, (B,)
        Things that stand still, seen from above.
    low, high : array_like, (B,)
        From where to where they reach upward [mm].

    Returns
    -------
    ndarray, (B,)
    """
    solids = solids_of(robot, design)
    bottom, top = np.asarray(low, dtype=np.float64), np.asarray(high, dtype=np.float64)
    count = len(shape.middle)
    clear = np.ones(count, dtype=bool)
    for n in range(solids.wheels):
        wheel = np.full(count, n, dtype=np.intp)
        meet = height_gap(solids.heights.take(wheel), bottom, top) < 0
        which = np.flatnonzero(clear & meet)
        if which.size:
            wheel = wheel[: which.size]
            at_its_widest = solids.between(wheel, bottom[which], top[which])
            sweeps = solids.swept(wheel, at_its_widest, np.zeros(which.size, dtype=np.complex128))
            clear[which] = swept_gap(sweeps, shape.take(which)) >= 0
    return clear


def rectangles_of(spans: Floats | Sequence[Sequence[float]]) -> Rectangles:
    """Rectangles with sides along x and y from their rear, right, front and left ends, (B, 4) [mm]."""
    rear, right, front, left = np.asarray(spans, dtype=np.float64).reshape(-1, 4).T
    return rectangles(0.5 * (rear + front), 0.5 * (right + left), 0.5 * (front - rear), 0.5 * (left - right))
