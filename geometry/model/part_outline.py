"""A part seen from above: its outline and the box around it, as it is turned."""

from __future__ import annotations

import math

from geometry.model.packaging import Part


def plan_size(part: Part) -> tuple[float, float]:
    """Length and width of a part as it is seen from above, along and across its own x [mm]."""
    if part.shape == "upright cylinder":
        return _size(part, "diameter_mm"), _size(part, "diameter_mm")
    if part.shape == "lying cylinder":
        return _size(part, "length_mm"), _size(part, "diameter_mm")
    return _size(part, "length_mm"), _size(part, "width_mm")


def tall(part: Part) -> float:
    """Height of a part from its lower to its upper edge [mm]."""
    return _size(part, "diameter_mm" if part.shape == "lying cylinder" else "height_mm")


def _size(part: Part, key: str) -> float:
    return float(getattr(part, key))


def way_of(part: Part) -> tuple[float, float]:
    """Cosine and sine of the turn of a part: the direction of its own x, forward and to the left."""
    return turned(part.turn_deg)


def turned(turn_deg: float) -> tuple[float, float]:
    """Cosine and sine of an angle of a model [degrees]."""
    turn = math.radians(turn_deg)
    return math.cos(turn), math.sin(turn)


def box_of(part: Part) -> tuple[float, float, float, float]:
    """Rear, right, front and left end of a part as it is turned, seen from above [mm]."""
    corners = outline_of(part)
    x, y = [p[0] for p in corners], [p[1] for p in corners]
    return min(x), min(y), max(x), max(y)


def outline_of(part: Part, steps: int = 48) -> list[tuple[float, float]]:
    """Corners of a part seen from above, a cylinder that stands as a polygon of so many [mm]."""
    if part.shape == "upright cylinder":
        radius = 0.5 * plan_size(part)[0]
        turns = [2.0 * math.pi * k / steps for k in range(steps)]
        return [(part.x_mm + radius * math.cos(t), part.y_mm + radius * math.sin(t)) for t in turns]
    length, width = plan_size(part)
    cos, sin = way_of(part)
    return [
        (part.x_mm + a * cos - b * sin, part.y_mm + a * sin + b * cos)
        for a, b in (
            (length / 2, width / 2),
            (length / 2, -width / 2),
            (-length / 2, -width / 2),
            (-length / 2, width / 2),
        )
    ]
