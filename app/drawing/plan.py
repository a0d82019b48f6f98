"""The plan of a chassis at full size: seen from above, forward is up, the origin of the chassis at (0, 0)."""

from __future__ import annotations

from app.drawing.elements import Circle, Corner, Drawing, Element, Line, Outline, Point
from geometry.model.design import Design

_CROSS = 4.0
"""Half the length of the lines that cross in a kingpin [mm]."""


def on_paper(x_mm: float, y_mm: float) -> Point:
    """A point of the chassis, x forward and y to the left, on paper, where forward is up."""
    return -y_mm, x_mm


def plan_of(design: Design, *, scale: float = 1.0) -> Drawing:
    """Draw a chassis from above, straight ahead, at a scale of paper by full size."""
    made: list[Element] = []
    if design.body_mm:
        corners = tuple(Corner(*on_paper(x, y)) for x, y in design.body_mm)
        made.append(Outline("outline", corners))
    for wheel in design.wheels:
        x, y = on_paper(wheel.x_mm, wheel.y_mm)
        made.append(Line("kingpin", (x - _CROSS, y), (x + _CROSS, y)))
        made.append(Line("kingpin", (x, y - _CROSS), (x, y + _CROSS)))
        made.append(Circle("kingpin", (x, y), 0.5 * _CROSS))
    return Drawing(design.name, tuple(made)).moved(0.0, 0.0, scale)
