"""A drawing as SVG at full size: one unit is a millimetre, arcs are arcs, texts are texts.

The origin of the file is that of the drawing; y points down there, so that each y has the other sign.
"""

from __future__ import annotations

import math
from itertools import groupby
from xml.etree import ElementTree as ET

from app.drawing.elements import (
    Arc,
    ArcEdge,
    Circle,
    Drawing,
    Line,
    Outline,
    Point,
    Role,
    Text,
    arc_edge,
    edges,
    on_circle,
)
from app.drawing.layers import LAYERS
from app.drawing.lettering import FAMILY
from app.export.drawing_parts import Part, for_cutting, frame_of, one_line, parts
from app.units import degrees

_LONGEST_ARC = 0.5 * math.pi
"""Of one command [rad]: from two ends and a radius, the centre of half a turn would be as good as lost."""
_ANCHORS = {"left": "start", "middle": "middle", "right": "end"}


def render(drawing: Drawing, *, cut: bool = False) -> str:
    """Write a drawing as the text of an SVG file.

    What follows each other on one layer is one group, labelled by that layer; a layer that is come back to
    has several, since what comes later lies on top.

    Parameters
    ----------
    drawing : Drawing
        Of any size.
    cut : bool
        Only closed paths, none filled or dashed, none twice.

    Raises
    ------
    ExportError
        If there is nothing on it, or what a cutter cannot cut where it is to be cut.
    """
    found = parts(drawing.elements)
    found = for_cutting(found) if cut else found
    frame = frame_of(drawing)
    root = ET.Element(
        "svg",
        {
            "xmlns": "http://www.w3.org/2000/svg",
            "xmlns:axlewright": "urn:axlewright",
            "version": "1.1",
            "width": f"{_number(frame.width)}mm",
            "height": f"{_number(frame.height)}mm",
            "viewBox": _numbers(frame.left, -frame.low - frame.height, frame.width, frame.height),
            "xml:space": "preserve",
            "fill": "none",
            "font-family": f"'{FAMILY}', sans-serif",
        },
    )
    ET.SubElement(root, "title").text = one_line(drawing.name)
    if drawing.notes:
        ET.SubElement(root, "desc").text = " ".join(one_line(note) for note in drawing.notes)
    times: dict[Role, int] = {}
    for role, run in groupby(found, key=lambda part: part.role):
        times[role] = times.get(role, 0) + 1
        group = ET.SubElement(root, "g", _look(role, times[role], dashed=not cut))
        group.extend(_element(part) for part in run)
    ET.indent(root, " ")
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{ET.tostring(root, encoding="unicode")}\n'


def _look(role: Role, time: int, *, dashed: bool) -> dict[str, str]:
    layer = LAYERS[role]
    look = {
        "id": layer.key if time == 1 else f"{layer.key}-{time}",
        "axlewright:label": layer.key,
        "stroke": layer.ink,
        "stroke-width": _number(layer.width),
    }
    if dashed and layer.dash:
        look["stroke-dasharray"] = _numbers(*layer.dash)
    return look


def _element(part: Part) -> ET.Element:
    match part:
        case Line():
            (x1, y1), (x2, y2) = _flipped(part.start), _flipped(part.end)
            return ET.Element("line", {"x1": x1, "y1": y1, "x2": x2, "y2": y2})
        case Arc():
            arc = ArcEdge(part.centre, part.radius, part.start, part.sweep)
            data = f"M{_place(on_circle(arc.centre, arc.radius, arc.start))} {_arc(arc)}"
            return ET.Element("path", {"d": data})
        case Circle():
            x, y = _flipped(part.centre)
            return ET.Element("circle", {"cx": x, "cy": y, "r": _number(part.radius), **_fill(part)})
        case Outline():
            return ET.Element("path", {"d": _path(part), **_fill(part)})
        case Text():
            return _text(part)


def _fill(part: Circle | Outline) -> dict[str, str]:
    return {"fill": LAYERS[part.role].ground} if part.filled else {}


def _path(outline: Outline) -> str:
    words = [f"M{_place(outline.corners[0][:2])}"]
    for here, there in edges(outline):
        end = there[:2]
        words.append(_arc(arc_edge(here, there), end) if here.bulge else f"L{_place(end)}")
    if outline.closed:  # which draws the last line, where that is straight
        words = [*(words if outline.corners[-1].bulge else words[:-1]), "Z"]
    return " ".join(words)


def _arc(arc: ArcEdge, end: Point | None = None) -> str:
    """The commands of an arc; `end` where that is known to the last bit."""
    count = max(1, math.ceil(abs(arc.sweep) / _LONGEST_ARC - 1e-9))
    stops = [
        on_circle(arc.centre, arc.radius, arc.start + arc.sweep * k / count) for k in range(1, count + 1)
    ]
    if end is not None:
        stops[-1] = end
    radius = _number(arc.radius)
    # With y downwards, counter-clockwise on paper is the negative direction of the file.
    return " ".join(f"A{radius} {radius} 0 0 {int(arc.sweep < 0)} {_place(stop)}" for stop in stops)


def _text(text: Text) -> ET.Element:
    x, y = _flipped(text.place)
    words = {
        "x": x,
        "y": y,
        "font-size": _number(text.height),
        "fill": LAYERS[text.role].ink,
        "stroke": "none",
    }
    if text.align != "left":
        words["text-anchor"] = _ANCHORS[text.align]
    if text.turn:
        words["transform"] = f"rotate({_number(-degrees(text.turn))} {x} {y})"
    element = ET.Element("text", words)
    element.text = one_line(text.text)
    return element


def _flipped(point: Point) -> tuple[str, str]:
    return _number(point[0]), _number(-point[1])


def _place(point: Point) -> str:
    return " ".join(_flipped(point))


def _numbers(*values: float) -> str:
    return " ".join(_number(value) for value in values)


def _number(value: float) -> str:
    """A number with up to nine decimals: far below what anybody measures, above the noise of rounding.

    Examples
    --------
    >>> _number(12.5), _number(-0.0), _number(100.0), _number(1 / 3)
    ('12.5', '0', '100', '0.333333333')
    """
    return f"{round(value, 9) + 0.0:.9f}".rstrip("0").rstrip(".")
