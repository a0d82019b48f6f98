"""Courses to start from, as large as a chassis needs them."""

from __future__ import annotations

from collections.abc import Callable
from math import hypot
from typing import NamedTuple

from geometry.model.base_axle import base_of
from geometry.model.design import Design
from geometry.model.driving import Course, Obstacle, ObstacleKind

# Where a chassis has neither wheels nor body [mm].
_NOTHING_MM = 100.0


class Extent(NamedTuple):
    """How far a chassis reaches with its wheels straight ahead [mm]."""

    front: float
    rear: float
    left: float
    right: float

    @property
    def length(self) -> float:
        """From end to end [mm]."""
        return self.front - self.rear

    @property
    def width(self) -> float:
        """From side to side [mm]."""
        return self.left - self.right


def extent_of(design: Design) -> Extent:
    """Measure body and wheels together.

    Examples
    --------
    >>> extent_of(Design())
    Extent(front=100.0, rear=-100.0, left=100.0, right=-100.0)
    """
    x, y = [place[0] for place in design.body_mm], [place[1] for place in design.body_mm]
    for wheel in design.wheels:
        middle = wheel.x_mm - wheel.trail_mm, wheel.y_mm + wheel.lateral_offset_mm
        x += [middle[0] + 0.5 * wheel.diameter_mm, middle[0] - 0.5 * wheel.diameter_mm]
        y += [middle[1] + 0.5 * wheel.width_mm, middle[1] - 0.5 * wheel.width_mm]
    if not x:
        return Extent(_NOTHING_MM, -_NOTHING_MM, _NOTHING_MM, -_NOTHING_MM)
    return Extent(max(x), min(x), max(y), min(y))


def reach_of(design: Design) -> float:
    """How far a chassis reaches from the middle of its base axle, about which it turns on the spot [mm].

    The corners of the box around the chassis count, so that it is rather too much.
    """
    base, extent = base_of(design), extent_of(design)
    return max(
        hypot(x - base.x, y - base.middle)
        for x in (extent.front, extent.rear)
        for y in (extent.left, extent.right)
    )


def doorway(design: Design) -> Course:
    """Walls across the way, with an opening a quarter wider than the chassis."""
    e = extent_of(design)
    middle, opening = 0.5 * (e.left + e.right), 1.25 * e.width
    x = e.front + e.length
    walls = [
        _wall((x, middle + side * 0.5 * opening), (x, middle + side * (0.5 * opening + 2 * e.width)))
        for side in (1, -1)
    ]
    return _course("doorway", walls)


def right_angled_lane(design: Design) -> Course:
    """A lane with a right angle to the left, in which the chassis can turn on the spot."""
    e, base, reach = extent_of(design), base_of(design), reach_of(design)
    width = 2.3 * reach
    low, high = base.middle - 0.5 * width, base.middle + 0.5 * width
    start, corner = e.rear - 0.5 * e.length, e.front + e.length
    end = high + 3 * e.length
    walls = [
        _wall((start, low), (corner + width, low)),
        _wall((corner + width, low), (corner + width, end)),
        _wall((start, high), (corner, high)),
        _wall((corner, high), (corner, end)),
    ]
    return _course("right-angled lane", walls)


def turning_square(design: Design) -> Course:
    """A square room about the middle of the base axle, with a little room for a turn on the spot."""
    base, half = base_of(design), 1.1 * reach_of(design)
    corners = [(base.x + a * half, base.middle + b * half) for a, b in ((1, 1), (-1, 1), (-1, -1), (1, -1))]
    walls = [_wall(corners[i], corners[(i + 1) % 4]) for i in range(4)]
    return _course("turning square", walls)


def radius_of_eight(design: Design) -> float:
    """Turn radius of both rings of the figure of eight [mm]."""
    e = extent_of(design)
    return round(max(1.5 * e.length, 2.0 * e.width, 2.0 * reach_of(design)), 1)


def figure_of_eight(design: Design) -> Course:
    """A post in the middle of each of two rings that meet where the chassis starts."""
    base, radius = base_of(design), radius_of_eight(design)
    width = max(0.5 * (radius - reach_of(design)), 1.0)
    posts = [_obstacle("post", base.x, side * radius, width_mm=width) for side in (1, -1)]
    return _course("figure of eight", posts)


def slalom(design: Design) -> Course:
    """Five posts in a row ahead, two and a half lengths apart."""
    e = extent_of(design)
    middle = 0.5 * (e.left + e.right)
    posts = [
        _obstacle("post", e.front + (1.0 + 2.5 * i) * e.length, middle, width_mm=max(0.1 * e.width, 1.0))
        for i in range(5)
    ]
    return _course("slalom", posts)


READY: dict[str, Callable[[Design], Course]] = {
    "doorway": doorway,
    "right-angled lane": right_angled_lane,
    "turning square": turning_square,
    "figure of eight": figure_of_eight,
    "slalom": slalom,
}
"""Every ready course by its name."""


def _wall(start: tuple[float, float], end: tuple[float, float]) -> Obstacle:
    """A wall along x or along y."""
    (x1, y1), (x2, y2) = start, end
    along_y = abs(y2 - y1) > abs(x2 - x1)
    return _obstacle(
        "wall",
        0.5 * (x1 + x2),
        0.5 * (y1 + y2),
        turn_deg=90.0 if along_y else 0.0,
        length_mm=hypot(x2 - x1, y2 - y1),
    )


def _obstacle(kind: ObstacleKind, x: float, y: float, **more: float) -> Obstacle:
    # Tenths of a millimetre, as a person would type them.
    numbers = {key: round(value, 1) for key, value in {"x_mm": x, "y_mm": y, **more}.items()}
    return Obstacle.model_validate({"kind": kind, **numbers})


def _course(name: str, obstacles: list[Obstacle]) -> Course:
    return Course(name=name, obstacles=tuple(obstacles))
