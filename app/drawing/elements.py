"""What a drawing is made of. Its frame is that of paper: x to the right, y up, in millimetres.

What stands for the same thing has the same role, and lies on the layer of that role. An outline is a chain
of corners; each has the bulge of the edge that leaves it, so that an arc stays an arc in every file.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Literal, NamedTuple, TypeAlias

Role = Literal[
    "outline",
    "opening",
    "kingpin",
    "axle",
    "part",
    "wheel",
    "sweep",
    "axle line",
    "centre",
    "dimension",
    "gauge",
    "text",
    "frame",
]
Align = Literal["left", "middle", "right"]
Point = tuple[float, float]


class Corner(NamedTuple):
    """A corner of an outline."""

    x: float
    y: float
    bulge: float = 0.0
    """Tangent of a quarter of the arc to the next corner, counter-clockwise positive; 0: straight."""


@dataclass(frozen=True)
class Line:
    """A straight line."""

    role: Role
    start: Point
    end: Point


@dataclass(frozen=True)
class Arc:
    """A part of a circle."""

    role: Role
    centre: Point
    radius: float
    start: float
    """Direction from the centre to its start [rad]."""
    sweep: float
    """How far it goes, counter-clockwise positive, at most a whole turn [rad]."""


@dataclass(frozen=True)
class Circle:
    """A whole circle."""

    role: Role
    centre: Point
    radius: float
    filled: bool = False


@dataclass(frozen=True)
class Outline:
    """A chain of lines and arcs."""

    role: Role
    corners: tuple[Corner, ...]
    closed: bool = True
    filled: bool = False
    """With the layer's ground, for what lies on top of something else."""


@dataclass(frozen=True)
class Text:
    """One line of text."""

    role: Role
    place: Point
    """Of its baseline, at the end that `align` names."""
    text: str
    height: float
    """Of the font: of capitals it is 0.73."""
    align: Align = "left"
    turn: float = 0.0
    """Counter-clockwise about its place [rad]."""


@dataclass(frozen=True)
class Dimension:
    """The distance of two points, measured along a direction, with its number."""

    start: Point
    end: Point
    along: float
    """Direction in which it is measured [rad]."""
    offset: float
    """From `start` to the line that has the number, to the left of that direction."""
    text: str
    height: float = 3.0
    role: Role = "dimension"


Element: TypeAlias = Line | Arc | Circle | Outline | Text | Dimension
Box = tuple[float, float, float, float]
"""Least x, least y, greatest x, greatest y."""
TextWidth = Callable[[str, float], float]
"""How wide a text is at a height of its font."""


@dataclass(frozen=True)
class Drawing:
    """Everything that is on it, from the ground up."""

    name: str
    elements: tuple[Element, ...]
    notes: tuple[str, ...] = ()
    """What must be told beside it, as sentences."""

    def roles(self) -> tuple[Role, ...]:
        """Roles that it has anything of, in the order in which they come first."""
        return tuple(dict.fromkeys(element.role for element in self.elements))

    def only(self, roles: Iterable[Role]) -> Drawing:
        """What has one of these roles."""
        kept = frozenset(roles)
        return Drawing(self.name, tuple(e for e in self.elements if e.role in kept), self.notes)

    def moved(self, x: float, y: float, scale: float = 1.0) -> Drawing:
        """The same at another place: scaled about the origin first, then shifted; texts keep their height."""
        return Drawing(self.name, tuple(moved(e, x, y, scale) for e in self.elements), self.notes)


def moved(element: Element, x: float, y: float, scale: float = 1.0) -> Element:
    """An element at another place, as `Drawing.moved` has it."""

    def at(point: Point) -> Point:
        return scale * point[0] + x, scale * point[1] + y

    match element:
        case Line():
            return Line(element.role, at(element.start), at(element.end))
        case Arc():
            return Arc(element.role, at(element.centre), scale * element.radius, element.start, element.sweep)
        case Circle():
            return Circle(element.role, at(element.centre), scale * element.radius, element.filled)
        case Outline():
            corners = tuple(Corner(*at((c.x, c.y)), c.bulge) for c in element.corners)
            return Outline(element.role, corners, element.closed, element.filled)
        case Text():
            return Text(
                element.role, at(element.place), element.text, element.height, element.align, element.turn
            )
        case Dimension():
            return Dimension(
                at(element.start),
                at(element.end),
                element.along,
                scale * element.offset,
                element.text,
                element.height,
                element.role,
            )


# Arcs ----------------------------------------------------------------------------------------


class ArcEdge(NamedTuple):
    """An edge of an outline that is an arc."""

    centre: Point
    radius: float
    start: float
    """[rad]."""
    sweep: float
    """Counter-clockwise positive [rad]."""


def arc_edge(here: Corner, there: Corner) -> ArcEdge:
    """The arc from a corner to the next one; its bulge must not be 0.

    The centre is beside the middle of the chord, by half of the chord times the cotangent of half the arc's
    angle: with bulge b = tan(angle / 4), that cotangent is (1 / b - b) / 2.

    Examples
    --------
    >>> edge = arc_edge(Corner(1.0, 0.0, 1.0), Corner(-1.0, 0.0))
    >>> edge.radius, round(edge.sweep, 6)
    (1.0, 3.141593)
    """
    b = here.bulge
    beside = 0.25 * (1.0 / b - b)
    dx, dy = there.x - here.x, there.y - here.y
    centre = 0.5 * (here.x + there.x) - beside * dy, 0.5 * (here.y + there.y) + beside * dx
    radius = 0.25 * math.hypot(dx, dy) * (abs(b) + 1.0 / abs(b))
    return ArcEdge(centre, radius, math.atan2(here.y - centre[1], here.x - centre[0]), 4.0 * math.atan(b))


def bulge_of(sweep: float) -> float:
    """The bulge of an arc of an angle [rad], below a whole turn."""
    return math.tan(0.25 * sweep)


def edges(outline: Outline) -> list[tuple[Corner, Corner]]:
    """Each corner of an outline with the next one."""
    corners = outline.corners
    following = [*corners[1:], corners[0]] if outline.closed else list(corners[1:])
    return list(zip(corners, following, strict=False))


def points_of(outline: Outline, chord: float = 0.05) -> list[Point]:
    """Points on an outline; between two of them it is nowhere further than `chord` from a straight line."""
    points: list[Point] = []
    for here, there in edges(outline):
        points.append((here.x, here.y))
        if here.bulge:
            arc = arc_edge(here, there)
            step = 2.0 * math.acos(max(1.0 - chord / arc.radius, 0.0)) if arc.radius > 0 else math.pi
            count = max(1, math.ceil(abs(arc.sweep) / max(step, 1e-3)))
            points += [
                on_circle(arc.centre, arc.radius, arc.start + arc.sweep * k / count) for k in range(1, count)
            ]
    if not outline.closed and outline.corners:
        points.append((outline.corners[-1].x, outline.corners[-1].y))
    return points


def on_circle(centre: Point, radius: float, angle: float) -> Point:
    """The point of a circle in a direction [rad]."""
    return centre[0] + radius * math.cos(angle), centre[1] + radius * math.sin(angle)


# What a dimension is drawn with ---------------------------------------------------------------

_ARROW, _BEYOND, _GAP = 2.5, 1.5, 1.0
"""Length of an arrow; how far a witness line goes beyond the number's line; its gap to what is measured."""


def parts_of(dimension: Dimension) -> tuple[Line | Outline | Text, ...]:
    """The lines, arrows and the number of a dimension, for writers that know none."""
    cos, sin = math.cos(dimension.along), math.sin(dimension.along)
    (ax, ay), (bx, by) = dimension.start, dimension.end
    length = (bx - ax) * cos + (by - ay) * sin
    away = dimension.offset
    # Both ends on the number's line.
    a = ax - away * sin, ay + away * cos
    b = a[0] + length * cos, a[1] + length * sin
    role = dimension.role
    witnesses = [_witness(role, dimension.start, a), _witness(role, dimension.end, b)]
    ahead = math.copysign(1.0, length)
    if abs(length) < 2.4 * _ARROW:
        ahead = -ahead  # two arrows that have no room between the ends stand outside of them
    arrows = [_arrow(role, a, cos * ahead, sin * ahead), _arrow(role, b, -cos * ahead, -sin * ahead)]
    middle = 0.5 * (a[0] + b[0]), 0.5 * (a[1] + b[1])
    # Numbers read from below or from the right.
    turn = math.remainder(dimension.along, 2.0 * math.pi)
    if not -0.5 * math.pi < turn <= 0.5 * math.pi:
        turn = math.remainder(turn + math.pi, 2.0 * math.pi)
    lift = 0.35 * dimension.height
    place = middle[0] - lift * math.sin(turn), middle[1] + lift * math.cos(turn)
    number = Text(role, place, dimension.text, dimension.height, "middle", turn)
    return (*(w for w in witnesses if w is not None), Line(role, a, b), *arrows, number)


def _witness(role: Role, start: Point, end: Point) -> Line | None:
    far = math.hypot(end[0] - start[0], end[1] - start[1])
    if far <= _GAP:
        return None
    ux, uy = (end[0] - start[0]) / far, (end[1] - start[1]) / far
    begun = start[0] + _GAP * ux, start[1] + _GAP * uy
    return Line(role, begun, (end[0] + _BEYOND * ux, end[1] + _BEYOND * uy))


def _arrow(role: Role, tip: Point, ux: float, uy: float) -> Outline:
    back, half = _ARROW, 0.16 * _ARROW
    corners = (
        Corner(*tip),
        Corner(tip[0] + back * ux - half * uy, tip[1] + back * uy + half * ux),
        Corner(tip[0] + back * ux + half * uy, tip[1] + back * uy - half * ux),
    )
    return Outline(role, corners, filled=True)


# Sizes -----------------------------------------------------------------------------------------


def box_of(elements: Sequence[Element], width_of: TextWidth) -> Box:
    """The box around elements; `width_of` tells how wide a text is.

    Raises
    ------
    ValueError
        If there are none.
    """
    points = [point for element in elements for point in extreme_points(element, width_of)]
    if not points:
        raise ValueError("a drawing without elements has no size")
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return min(xs), min(ys), max(xs), max(ys)


def extreme_points(element: Element, width_of: TextWidth) -> list[Point]:
    """Points whose box is that of the element."""
    match element:
        case Line():
            return [element.start, element.end]
        case Arc():
            return _arc_points(ArcEdge(element.centre, element.radius, element.start, element.sweep))
        case Circle():
            (x, y), r = element.centre, element.radius
            return [(x - r, y - r), (x + r, y + r)]
        case Outline():
            found = [(c.x, c.y) for c in element.corners]
            for here, there in edges(element):
                if here.bulge:
                    found += _arc_points(arc_edge(here, there))
            return found
        case Text():
            return text_corners(element, width_of)
        case Dimension():
            return [point for part in parts_of(element) for point in extreme_points(part, width_of)]


def text_corners(text: Text, width_of: TextWidth) -> list[Point]:
    """The four corners of the box of a text, from its descent to its ascent."""
    wide = width_of(text.text, text.height)
    left = {"left": 0.0, "middle": -0.5 * wide, "right": -wide}[text.align]
    cos, sin = math.cos(text.turn), math.sin(text.turn)
    (x, y), low, high = text.place, -0.24 * text.height, 0.76 * text.height
    return [
        (x + u * cos - v * sin, y + u * sin + v * cos)
        for u, v in ((left, low), (left + wide, low), (left + wide, high), (left, high))
    ]


def _arc_points(arc: ArcEdge) -> list[Point]:
    """Its ends, and where it is furthest to each side."""
    low, high = sorted((arc.start, arc.start + arc.sweep))
    quarter = 0.5 * math.pi
    turns = [
        low,
        high,
        *(quarter * k for k in range(math.ceil(low / quarter), math.floor(high / quarter) + 1)),
    ]
    return [on_circle(arc.centre, arc.radius, turn) for turn in turns]
