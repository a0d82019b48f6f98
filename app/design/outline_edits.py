"""Edits that take a body outline or openings from a drawing; each is a function from design to design."""

from __future__ import annotations

import heapq
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from app.design.outline_files.curves import Floats, distances
from app.design.outline_files.drawing import Circle, Outline, Shape
from geometry.errors import DesignError, Problem
from geometry.model.design import MOST_CORNERS, SAME_POINT_MM, Design
from geometry.model.frozen import built
from geometry.model.packaging import MOST_OPENINGS, Face, Opening

Shift = tuple[float, float]
"""By how much a drawing is moved on the chassis: forward and to the left [mm]."""
NO_SHIFT: Shift = (0.0, 0.0)

THIN_MM = 0.05
"""How far a corner may be from the sides of a thinned outline before it must stay [mm]."""
# Sides of a rectangle may lean by this, as share of their length: a third of a degree.
_UPRIGHT = 0.006
# Lengths are kept in tenths of a micrometre: files read well, and no machine is finer.
_DIGITS = 4


@dataclass(frozen=True)
class Thinned:
    """Corners of an outline, and how far they are from what was drawn."""

    points: Floats
    """(K, 2) [mm]."""
    error_mm: float
    """No point of the drawn outline is further from the corners' sides."""


def thinned(points: Floats, most: int = MOST_CORNERS, within_mm: float = THIN_MM) -> Thinned:
    """Leave out corners of a closed outline, those first that tell least.

    The corner that is furthest from the side over it is put back, until none is further than `within_mm` or
    there are `most`.

    Parameters
    ----------
    points : ndarray, (K, 2)
        Corners of a closed outline [mm].
    most : int
        The largest number of corners, 3 at least.
    within_mm : float
        Where to stop earlier [mm].

    Examples
    --------
    >>> square = np.array([(0, 0), (5, 0), (10, 0), (10, 10), (0, 10)], dtype=float)
    >>> found = thinned(square)
    >>> found.points.tolist(), found.error_mm
    ([[0.0, 0.0], [10.0, 0.0], [10.0, 10.0], [0.0, 10.0]], 0.0)
    """
    count = len(points)
    around = np.vstack([points, points[:1]])
    first = int(np.argmin(points.sum(axis=1)))  # the tip of a corner, never the middle of a side
    turned = np.vstack([points[first:], around[:1] if first == 0 else points[: first + 1]])
    second = int(np.argmax(np.hypot(*(turned[:-1] - turned[0]).T)))
    kept = {0, second, count}
    spans = [_furthest(turned, 0, second), _furthest(turned, second, count)]
    heapq.heapify(spans)
    while len(kept) - 1 < min(most, count) and (-spans[0][0] > within_mm or len(kept) - 1 < 3):
        _, start, middle, end = heapq.heappop(spans)
        kept.add(middle)
        heapq.heappush(spans, _furthest(turned, start, middle))
        heapq.heappush(spans, _furthest(turned, middle, end))
    places = sorted(kept)[:-1]
    return Thinned(turned[places], max(-spans[0][0], 0.0))


def _furthest(points: Floats, start: int, end: int) -> tuple[float, int, int, int]:
    """The point between two that is furthest from the side between them, with its distance, negative."""
    if end - start < 2:
        return 0.0, start, start, end
    off = distances(points[start + 1 : end], points[start], points[end])
    middle = int(np.argmax(off))
    return -float(off[middle]), start, start + 1 + middle, end


def corners_of(shape: Shape, within_mm: float = THIN_MM) -> Thinned:
    """Corners for a body outline, 200 at most, with the largest distance that was lost.

    Raises
    ------
    DesignError
        If fewer than three corners are left.
    """
    if isinstance(shape, Circle):
        return _polygon(shape, within_mm)
    found = thinned(shape.points, MOST_CORNERS, within_mm)
    # Corners nearer than this are one place for a chassis.
    apart = np.abs(found.points - np.roll(found.points, 1, axis=0)).max(axis=1) >= 2 * SAME_POINT_MM
    points = found.points[apart]
    if len(points) < 3:
        raise DesignError([Problem("the outline", "is too small for a body; check unit and scale")])
    lost = 0.0 if apart.all() else 2 * math.sqrt(2) * SAME_POINT_MM
    return Thinned(points, found.error_mm + lost)


def _polygon(circle: Circle, within_mm: float) -> Thinned:
    r = 0.5 * circle.diameter
    step = 2.0 * math.acos(max(1.0 - within_mm / r, 0.0))
    # So many quarters that the outermost points are corners.
    count = min(4 * math.ceil(0.5 * math.pi / step), MOST_CORNERS)
    t = 2.0 * math.pi * np.arange(count) / count
    points = np.column_stack([circle.x + r * np.cos(t), circle.y + r * np.sin(t)])
    return Thinned(points, r * (1.0 - math.cos(math.pi / count)))


def shift_to_wheels(design: Design, shape: Shape) -> Shift:
    """Bring the middle of an outline to the middle of the wheels.

    Both are middles of the box around them; a wheel counts by its kingpin.

    Raises
    ------
    DesignError
        If there is no wheel.
    """
    if not design.wheels:
        raise DesignError(
            [Problem("wheels", "are needed for their middle; add one, or choose another place")]
        )
    x, y = ([getattr(wheel, key) for wheel in design.wheels] for key in ("x_mm", "y_mm"))
    low_x, low_y, high_x, high_y = shape.bounds
    return (
        0.5 * (min(x) + max(x)) - 0.5 * (low_x + high_x),
        0.5 * (min(y) + max(y)) - 0.5 * (low_y + high_y),
    )


def shift_to_origin(x: float, y: float) -> Shift:
    """Bring a point of the drawing [mm, as laid on the chassis] to the origin."""
    return 0.0 - x, 0.0 - y


def set_body(design: Design, shape: Shape, shift: Shift = NO_SHIFT, within_mm: float = THIN_MM) -> Design:
    """Take an outline of a drawing as that of the body, thinned to at most 200 corners.

    Raises
    ------
    DesignError
        If it crosses itself, reaches too far, or the inside no longer lies within it; the design stays.
    """
    points = corners_of(shape, within_mm).points + shift
    body = tuple((_kept(x), _kept(y)) for x, y in points.tolist())
    return design.edited(body_mm=body)


def add_openings(
    design: Design, shapes: Sequence[Shape], shift: Shift = NO_SHIFT, face: Face = "floor"
) -> Design:
    """Take circles and upright rectangles of a drawing as openings, beside those that there are.

    One that is there already is not added again.

    Raises
    ------
    DesignError
        If one is neither circle nor upright rectangle, is too small or too large, or there are too many.
    """
    there = list(design.packaging.openings)
    for shape in shapes:
        opening = _opening(shape, shift, face)
        if opening not in there:
            there.append(opening)
    if len(there) > MOST_OPENINGS:
        rule = f"must be at most {MOST_OPENINGS}; choose fewer layers"
        raise DesignError([Problem("packaging.openings", rule, str(len(there)))])
    return design.edited(packaging=design.packaging.edited(openings=tuple(there)))


def take_drawing(
    design: Design,
    body: Shape | None,
    holes: Sequence[Shape],
    shift: Shift = NO_SHIFT,
    within_mm: float = THIN_MM,
) -> Design:
    """Take a body outline, openings in the floor, or both, in one edit.

    Raises
    ------
    DesignError
        As `set_body` and `add_openings`.
    """
    changed = design if body is None else set_body(design, body, shift, within_mm)
    return add_openings(changed, holes, shift) if holes else changed


def upright_rectangle(outline: Outline) -> tuple[float, float, float, float] | None:
    """Least and greatest x and y of an upright rectangle, as of `bounds` [mm]; None for another outline."""
    corners = thinned(outline.points, 5, 1e-3).points
    if len(corners) != 4:
        return None
    low, high = corners.min(axis=0), corners.max(axis=0)
    size = high - low
    at_ends = np.minimum(np.abs(corners - low), np.abs(corners - high))
    if not (size > 0).all() or (at_ends > _UPRIGHT * size[::-1]).any():
        return None
    box = np.array([low, (high[0], low[1]), high, (low[0], high[1])])
    if (
        np.hypot(*(corners[:, None] - box[None]).transpose(2, 0, 1)).min(axis=0).max()
        > _UPRIGHT * size.max() * 2
    ):
        return None  # two corners at one place of the box
    return outline.bounds


def _opening(shape: Shape, shift: Shift, face: Face) -> Opening:
    low_x, low_y, high_x, high_y = shape.bounds
    given: dict[str, object] = {
        "face": face,
        "x_mm": _kept(0.5 * (low_x + high_x) + shift[0]),
        "y_mm": _kept(0.5 * (low_y + high_y) + shift[1]),
    }
    if isinstance(shape, Circle):
        given["diameter_mm"] = _kept(shape.diameter)
    elif upright_rectangle(shape) is None:
        rule = "must be a circle or a rectangle along the axes of the chassis"
        where = f"the outline at x {low_x:.1f}, y {low_y:.1f} mm"
        raise DesignError([Problem(where, rule)])
    else:
        given["length_mm"], given["width_mm"] = _kept(high_x - low_x), _kept(high_y - low_y)
    return built(Opening, given)


def _kept(value: float) -> float:
    return round(value, _DIGITS) + 0.0
