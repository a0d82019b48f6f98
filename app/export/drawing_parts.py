"""What the writers of drawings share: how large a file is, what is drawn of a drawing, texts on one line."""

from __future__ import annotations

import math
from collections.abc import Hashable, Iterable
from typing import NamedTuple, TypeAlias

from app.controller.export_error import ExportError
from app.drawing.elements import (
    Arc,
    ArcEdge,
    Circle,
    Corner,
    Dimension,
    Drawing,
    Element,
    Line,
    Outline,
    Point,
    Text,
    arc_edge,
    box_of,
    edges,
    on_circle,
    parts_of,
)
from app.drawing.lettering import printable, text_width

Part: TypeAlias = Line | Arc | Circle | Outline | Text
"""What a dimension is made of, and all else."""
MARGIN = 3.0
"""Least room around what is drawn [mm]."""
_NOTHING = 1e-9
"""What is no longer than this has no length [mm]."""
_SAME = 6
"""Decimals of millimetres and radians to which two things are one."""


class Frame(NamedTuple):
    """The part of the paper that a file shows [mm]."""

    left: float
    low: float
    width: float
    height: float


def frame_of(drawing: Drawing) -> Frame:
    """What a file of a drawing shows: all of it, with a margin, in whole millimetres.

    Raises
    ------
    ExportError
        If there is nothing on the drawing.
    """
    if not drawing.elements:
        raise ExportError("there is nothing to draw yet; add wheels or a body first")
    low_x, low_y, high_x, high_y = box_of(drawing.elements, _printed_width)
    left, low = math.floor(low_x - MARGIN), math.floor(low_y - MARGIN)
    return Frame(left, low, math.ceil(high_x + MARGIN) - left, math.ceil(high_y + MARGIN) - low)


def _printed_width(text: str, height: float) -> float:
    return text_width(printable(text), height)


def one_line(text: str) -> str:
    """A text for a file that others show in fonts of their own: each sign that has no picture as U+XXXX.

    Examples
    --------
    >>> one_line("reed 潮" + chr(10))
    'reed 潮U+000A'
    """
    return "".join(c if c.isprintable() else f"U+{ord(c):04X}" for c in text)


def parts(elements: Iterable[Element]) -> list[Part]:
    """What is drawn: dimensions as lines, arrows and numbers, nothing that has no length or no letters."""
    found: list[Part] = []
    for element in elements:
        if isinstance(element, Dimension):
            found += [part for part in parts_of(element) if _has_size(part)]
        elif isinstance(element, Arc) and abs(element.sweep) >= 2.0 * math.pi - _NOTHING:
            found += parts([Circle(element.role, element.centre, element.radius)])
        elif isinstance(element, Outline):
            tidied = _without_steps_of_no_length(element)
            found += [tidied] if _has_size(tidied) else []
        elif _has_size(element):
            found.append(element)
    return found


def _has_size(part: Part) -> bool:
    match part:
        case Line():
            return math.dist(part.start, part.end) > _NOTHING
        case Arc():
            return part.radius * abs(part.sweep) > _NOTHING
        case Circle():
            return part.radius > _NOTHING
        case Outline():
            return len(part.corners) > 1
        case Text():
            return bool(part.text.strip())


def _without_steps_of_no_length(outline: Outline) -> Outline:
    """Without corners that the next one repeats."""
    kept = [here for here, there in edges(outline) if math.dist(here[:2], there[:2]) > _NOTHING]
    if not outline.closed and outline.corners:
        kept.append(outline.corners[-1])
    return Outline(outline.role, tuple(kept), outline.closed, outline.filled)


def once(found: Iterable[Part]) -> list[Part]:
    """Without what is drawn again on its layer, be it the other way round or from another corner."""
    seen: dict[Hashable, Part] = {}
    for part in found:
        seen.setdefault((part.role, *_mark(part)), part)
    return list(seen.values())


def _mark(part: Part) -> tuple[Hashable, ...]:
    match part:
        case Line():
            return ("line", *sorted([_near(part.start), _near(part.end)]))
        case Arc():
            return _arc_mark(ArcEdge(part.centre, part.radius, part.start, part.sweep))
        case Circle():
            return ("circle", _near(part.centre), round(part.radius, _SAME), part.filled)
        case Outline():
            return ("outline", tuple(sorted(_edge_mark(*edge) for edge in edges(part))), part.filled)
        case Text():
            return (part,)


def _edge_mark(here: Corner, there: Corner) -> tuple[tuple[float, float], ...]:
    ends = sorted([_near(here[:2]), _near(there[:2])])
    if not here.bulge:
        return tuple(ends)
    # Two arcs between two points differ in their middles.
    arc = arc_edge(here, there)
    return (*ends, _near(on_circle(arc.centre, arc.radius, arc.start + 0.5 * arc.sweep)))


def _arc_mark(arc: ArcEdge) -> tuple[Hashable, ...]:
    angles = (arc.start + share * arc.sweep for share in (0.0, 0.5, 1.0))
    start, middle, end = (_near(on_circle(arc.centre, arc.radius, angle)) for angle in angles)
    return ("arc", *sorted([start, end]), middle)


def _near(point: Point) -> Point:
    return round(point[0], _SAME) + 0.0, round(point[1], _SAME) + 0.0


def for_cutting(found: Iterable[Part]) -> list[Part]:
    """Closed paths as a cutter wants them: none filled, none twice.

    Raises
    ------
    ExportError
        If there is anything else than closed paths, or nothing.
    """
    paths: list[Part] = []
    for part in found:
        if isinstance(part, Circle):
            paths.append(Circle(part.role, part.centre, part.radius))
        elif isinstance(part, Outline) and part.closed:
            paths.append(Outline(part.role, part.corners))
        else:
            raise ExportError(
                f"a file to cut holds closed paths only, and this drawing has a {type(part).__name__.lower()}"
                f" of the kind {part.role}; leave out what cuts, or choose the whole plan"
            )
    if not paths:
        raise ExportError("there is nothing to cut yet; give the chassis a body first")
    return once(paths)
