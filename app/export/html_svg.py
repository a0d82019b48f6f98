"""Drawings as the elements of an SVG picture within a page; how roles look is the page's style."""

from __future__ import annotations

import html
import math

from app.drawing.elements import (
    Arc,
    Circle,
    Dimension,
    Drawing,
    Element,
    Line,
    Outline,
    Text,
    arc_edge,
    edges,
    on_circle,
    parts_of,
)
from app.drawing.layers import LAYERS
from app.units import degrees

_HALF = math.pi


def picture(drawing: Drawing, wide: float, high: float, *, label: str) -> str:
    """A whole picture, x to the right and y up within so many millimetres.

    Parameters
    ----------
    drawing : Drawing
        With its origin at the lower left corner.
    wide, high : float
        [mm].
    label : str
        What it shows, for whoever cannot see it.
    """
    body = "\n".join(element(e, high) for e in drawing.elements)
    return f"{opened(wide, high, label)}\n{body}\n</svg>"


def opened(wide: float, high: float, label: str) -> str:
    """The tag that begins a picture."""
    told = html.escape(label)
    return f'<svg viewBox="0 0 {number(wide)} {number(high)}" role="img" aria-label="{told}">'


def number(value: float) -> str:
    """A number with at most three decimals.

    Examples
    --------
    >>> number(1.5), number(-0.0001), number(2.0)
    ('1.5', '0', '2')
    """
    text = f"{value:.3f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def element(one: Element, high: float) -> str:
    """One element of a drawing in a picture that is so high."""
    role = f"r-{LAYERS[one.role].key}"
    match one:
        case Line():
            (x1, y1), (x2, y2) = one.start, one.end
            ends = f'x1="{number(x1)}" y1="{number(high - y1)}" x2="{number(x2)}" y2="{number(high - y2)}"'
            return f'<line class="{role}" {ends}/>'
        case Circle():
            at = f'cx="{number(one.centre[0])}" cy="{number(high - one.centre[1])}"'
            return f'<circle class="{role}{_filled(filled=one.filled)}" {at} r="{number(one.radius)}"/>'
        case Arc():
            return f'<path class="{role}" d="{_arc_path(one, high)}"/>'
        case Outline():
            return f'<path class="{role}{_filled(filled=one.filled)}" d="{_outline_path(one, high)}"/>'
        case Text():
            return _text(one, high, role)
        case Dimension():
            return "\n".join(element(part, high) for part in parts_of(one))


def _filled(*, filled: bool) -> str:
    return " filled" if filled else ""


def _text(one: Text, high: float, role: str) -> str:
    x, y = number(one.place[0]), number(high - one.place[1])
    turn = f' transform="rotate({number(-degrees(one.turn))} {x} {y})"' if one.turn else ""
    anchor = {"left": "start", "middle": "middle", "right": "end"}[one.align]
    where = f'x="{x}" y="{y}" font-size="{number(one.height)}" text-anchor="{anchor}"{turn}'
    return f'<text class="{role}" {where}>{html.escape(one.text)}</text>'


def _point(x: float, y: float, high: float) -> str:
    return f"{number(x)} {number(high - y)}"


def _arc_to(radius: float, sweep: float, end: str) -> str:
    # Counter-clockwise with y up is against the positive sense of a page with y down.
    return f"A{number(radius)} {number(radius)} 0 {int(abs(sweep) > _HALF)} {int(sweep < 0)} {end}"


def _arc_path(arc: Arc, high: float) -> str:
    # In halves: a whole turn would end where it begins, which is no arc to a browser.
    points = [on_circle(arc.centre, arc.radius, arc.start + arc.sweep * k / 2) for k in range(3)]
    start, *ends = [_point(x, y, high) for x, y in points]
    return f"M{start}" + "".join(_arc_to(arc.radius, arc.sweep / 2, end) for end in ends)


def _outline_path(outline: Outline, high: float) -> str:
    if not outline.corners:
        return ""
    path = f"M{_point(outline.corners[0].x, outline.corners[0].y, high)}"
    for here, there in edges(outline):
        end = _point(there.x, there.y, high)
        if here.bulge:
            arc = arc_edge(here, there)
            path += _arc_to(arc.radius, arc.sweep, end)
        else:
            path += f"L{end}"
    return f"{path}Z" if outline.closed else path
