"""What lies on a drawing, for tests: all its texts, which of them overlap, and designs that are full."""

from __future__ import annotations

import random
from typing import Any

import numpy as np
import shapely

from app.drawing.elements import (
    ArcEdge,
    Circle,
    Corner,
    Dimension,
    Drawing,
    Outline,
    Text,
    arc_edge,
    edges,
    on_circle,
    parts_of,
    text_corners,
)
from app.drawing.lettering import text_width
from geometry.model.design import Design
from geometry.model.packaging import Face, Opening, Packaging, Part
from geometry.model.wheel import Wheel


def texts_of(drawing: Drawing) -> list[Text]:
    """All texts, those of dimensions included."""
    found: list[Text] = []
    for element in drawing.elements:
        parts = parts_of(element) if isinstance(element, Dimension) else (element,)
        found += [part for part in parts if isinstance(part, Text)]
    return found


def overlaps(drawing: Drawing) -> list[tuple[str, str]]:
    """Pairs of texts whose boxes share more than an edge."""
    texts = texts_of(drawing)
    boxes = [shapely.Polygon(text_corners(text, text_width)).buffer(-0.01) for text in texts]
    tree = shapely.STRtree(boxes)
    one, other = tree.query(boxes, predicate="intersects")
    return [(texts[i].text, texts[k].text) for i, k in zip(one, other, strict=True) if i < k]


def polygon(path: Circle | Outline, chord: int = 200) -> Any:
    """A closed path in Shapely."""
    if isinstance(path, Circle):
        turns = np.linspace(0, 2 * np.pi, chord, endpoint=False)
        return shapely.Polygon([on_circle(path.centre, path.radius, t) for t in turns])
    points: list[tuple[float, float]] = []
    for here, there in edges(path):
        points.append((here.x, here.y))
        if here.bulge:
            arc = arc_edge(here, there)
            count = max(2, int(abs(arc.sweep) * chord / 6))
            points += [
                on_circle(arc.centre, arc.radius, arc.start + arc.sweep * k / count) for k in range(1, count)
            ]
    return shapely.Polygon(points)


def area_of(outlines: list[Outline | Circle]) -> float:
    """Area within loops, arcs counted exactly; a loop that goes clockwise counts negative."""
    return sum(np.pi * one.radius**2 if isinstance(one, Circle) else _signed(one.corners) for one in outlines)


def _signed(corners: tuple[Corner, ...]) -> float:
    area = 0.0
    for here, there in zip(corners, [*corners[1:], corners[0]], strict=True):
        area += 0.5 * (here.x * there.y - here.y * there.x)
        if here.bulge:
            arc: ArcEdge = arc_edge(here, there)
            area += 0.5 * arc.radius**2 * (arc.sweep - np.sin(arc.sweep))
    return float(area)


def full(size: float, *, scattered: bool = False, seed: int = 1, letters: str = "") -> Design:
    """A chassis of a length with 24 wheels, 60 parts and 6 openings, with names of 40 characters."""
    r, h = random.Random(seed), 0.5 * size  # noqa: S311
    wheels = []
    for i in range(12):
        x = r.uniform(-h, h) if scattered else 0.95 * h * (1 - 2 * i / 11)
        for sign, side in ((1, "left"), (-1, "right")):
            y = sign * (r.uniform(0.2, 0.9) * h if scattered else 0.6 * h)
            name = f"{letters}wheel {side} {i + 1:02d} of the marsh carrier that"[:38] + " x"
            wheels.append(
                Wheel(
                    name=name,
                    x_mm=round(x, 2),
                    y_mm=round(y, 2),
                    kind="steered" if i % 2 else "fixed",
                    travel_min_deg=-40,
                    travel_max_deg=35,
                    diameter_mm=max(5, size / 20),
                    width_mm=max(2, size / 45),
                    toe_deg=2 if i % 3 else 0,
                    lateral_offset_mm=size / 100,
                )
            )
    shapes: list[dict[str, Any]] = [
        {"shape": "box", "length_mm": size / 12, "width_mm": size / 18, "height_mm": 10},
        {"shape": "upright cylinder", "diameter_mm": size / 20, "height_mm": 8},
        {"shape": "lying cylinder", "diameter_mm": size / 30, "length_mm": size / 15},
    ]
    parts = [
        Part(
            name=f"{letters}part {i + 1:02d} that carries a long sounding line"[:38] + " x",
            x_mm=round(r.uniform(-0.8, 0.8) * h, 1),
            y_mm=round(r.uniform(-0.4, 0.4) * h, 1),
            bottom_mm=r.choice([20, 40, 60]),
            turn_deg=r.choice([0, 0, 90, 30]),
            **r.choice(shapes),
        )
        for i in range(60)
    ]
    faces: list[Face] = [*["floor"] * 6, "roof", "left", "right", "front"]  # type: ignore[list-item]
    openings = [
        Opening(
            face=face,
            x_mm=round(r.uniform(-0.8, 0.8) * h, 1),
            y_mm=round(r.uniform(-0.4, 0.4) * h, 1),
            z_mm=70,
            **({"diameter_mm": size / 40} if i % 2 else {"length_mm": size / 30, "width_mm": size / 50}),
        )
        for i, face in enumerate(faces)
    ]
    body = ((h, 0.5 * h), (-h, 0.5 * h), (-h, -0.5 * h), (h, -0.5 * h))
    return Design(
        name=f"{letters}Carrier of many things for the marsh"[:40],
        wheels=tuple(wheels),
        body_mm=body,
        packaging=Packaging(parts=tuple(parts), openings=tuple(openings)),
    )
