"""What of a drawing is met by a rectangle."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence

from app.drawing.elements import (
    Arc,
    Box,
    Circle,
    Corner,
    Dimension,
    Element,
    Line,
    Outline,
    Point,
    Text,
    TextWidth,
    bulge_of,
    on_circle,
    parts_of,
    points_of,
    text_corners,
)


def boxes_meet(one: Box, other: Box) -> bool:
    """Whether two boxes have a point in common."""
    return one[0] <= other[2] and other[0] <= one[2] and one[1] <= other[3] and other[1] <= one[3]


def meets(element: Element, box: Box, width_of: TextWidth) -> bool:
    """Whether anything of an element is in a box: its line, or what it fills; the width of lines aside.

    Parameters
    ----------
    element : Element
        Of the drawing that the box is laid on.
    box : Box
        Least x, least y, greatest x, greatest y [mm].
    width_of : callable
        Tells how wide a text is at a height of its font [mm].

    Examples
    --------
    >>> from app.drawing.lettering import text_width
    >>> ring = Circle("opening", (0.0, 0.0), 10.0)
    >>> meets(ring, (5.0, 5.0, 20.0, 20.0), text_width), meets(ring, (-1.0, -1.0, 1.0, 1.0), text_width)
    (True, False)
    """
    match element:
        case Line():
            return line_meets(element.start, element.end, box)
        case Arc():
            return _chain_meets(
                _arc_points(element.centre, element.radius, element.start, element.sweep), box
            )
        case Circle():
            points = _arc_points(element.centre, element.radius, 0.0, 2.0 * math.pi)
            return _chain_meets(points, box) or (element.filled and _holds(points, box[:2]))
        case Outline():
            points = points_of(element)
            chain = [*points, *points[:1]] if element.closed else points
            return _chain_meets(chain, box) or (element.filled and _holds(points, box[:2]))
        case Text():
            corners = text_corners(element, width_of)
            return _chain_meets([*corners, corners[0]], box) or _holds(corners, box[:2])
        case Dimension():
            return any(meets(part, box, width_of) for part in parts_of(element))


def line_meets(start: Point, end: Point, box: Box) -> bool:
    """Whether a straight line has a point in a box."""
    first, last = 0.0, 1.0
    for begun, step, low, high in (
        (start[0], end[0] - start[0], box[0], box[2]),
        (start[1], end[1] - start[1], box[1], box[3]),
    ):
        if step == 0.0:
            if not low <= begun <= high:
                return False
            continue
        enters, leaves = sorted(((low - begun) / step, (high - begun) / step))
        first, last = max(first, enters), min(last, leaves)
    return first <= last


def _chain_meets(points: Sequence[Point], box: Box) -> bool:
    if len(points) == 1:
        return line_meets(points[0], points[0], box)
    return any(line_meets(a, b, box) for a, b in itertools.pairwise(points))


def _arc_points(centre: Point, radius: float, start: float, sweep: float) -> list[Point]:
    """Points on an arc; halves, since an outline's edge is less than a whole turn."""
    bulge = bulge_of(0.5 * sweep)
    corners = (
        Corner(*on_circle(centre, radius, start), bulge),
        Corner(*on_circle(centre, radius, start + 0.5 * sweep), bulge),
        Corner(*on_circle(centre, radius, start + sweep)),
    )
    return points_of(Outline("sweep", corners, closed=False))


def _holds(corners: Sequence[Point], point: Sequence[float]) -> bool:
    """Whether a polygon holds a point: a ray from it crosses the edges an odd number of times."""
    x, y = point
    inside = False
    for (ax, ay), (bx, by) in zip(corners, [*corners[1:], corners[0]], strict=True):
        if (ay > y) != (by > y) and x < ax + (y - ay) / (by - ay) * (bx - ax):
            inside = not inside
    return inside
