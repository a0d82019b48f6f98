"""The plan of a sheet at one turn, and all that is needed to show it at any other.

Its frame is that of paper: x to the right, y up, in millimetres of the sheet; forward is up.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from app.design.facts import Facts
from app.drawing.elements import (
    Box,
    Circle,
    Corner,
    Drawing,
    Element,
    Line,
    Outline,
    Point,
    Text,
    box_of,
    moved,
)
from app.drawing.from_above import FromAbove, on_paper
from app.drawing.lettering import text_width
from app.sheet.marks import example_turn
from app.sheet.turn_rows import TurnRows, turn_rows
from app.units import degrees, radians
from geometry.kinematics.alignment import contacts
from geometry.model.design import Design

_NUMBER = 3.0
"""Height of the number of a wheel [mm]."""
_MARK = 2.0
"""Half the size of the mark of the turn centre [mm]."""
_FURTHEST = 1.5
"""How far from the middle a turn centre is still in the picture, in sizes of the chassis."""
_PIN = 1.2
"""Half the length of the lines that cross in a kingpin [mm]."""
# Directions in which the number of a wheel may stand beside it, from outward; axle lines often run outward.
_AROUND = tuple(k * math.pi / 6 for k in (1, -1, 2, -2, 3, -3, 0, 4, -4, 6))


@dataclass(frozen=True, eq=False)
class LivePlan:
    """A plan that can move."""

    ground: Drawing
    """What stays: body, openings, parts, kingpins."""
    numbers: tuple[Element, ...]
    """The number of each wheel beside it, as it stands in the table of wheels."""
    wide: float
    high: float
    scale: float
    """Millimetres of the sheet for one of the chassis."""
    origin: Point
    """Where the origin of the chassis is."""
    kingpins: tuple[Point, ...]
    offsets: tuple[Point, ...]
    """From each kingpin to the middle of its wheel, heading straight ahead."""
    sizes: tuple[tuple[float, float], ...]
    """Width and diameter of each wheel."""
    built_in: tuple[float, ...]
    """What the heading of a steered wheel has beside its steer angle [degrees]."""
    half_track: float
    """[mm of the chassis]."""
    base_x: float
    """Of the base axle, forward of the origin [mm of the chassis]."""
    rows: TurnRows
    turn: float
    """The turn that is shown where nothing moves."""

    @property
    def reach(self) -> float:
        """How far an axle line goes to either side, so that it leaves the picture."""
        return math.hypot(self.wide, self.high)

    def centre_at(self, turn: float) -> Point | None:
        """Where the turn centre is; None where the chassis runs straight."""
        u, side, yaw = self.rows.at(self.rows.twist, turn).tolist()
        if yaw == 0.0:
            return None
        x, y = on_paper(-side / yaw * self.half_track, u / yaw * self.half_track)
        return self.origin[0] + self.scale * x, self.origin[1] + self.scale * y

    def at(self, turn: float) -> Drawing:
        """The whole picture at a turn."""
        headings = self.rows.at(self.rows.heading, turn).tolist()
        lines, tyres = [], []
        for n, heading in enumerate(headings):
            wide, diameter = self.sizes[n]
            dx, dy = self.offsets[n]
            half = (0.5 * wide, 0.5 * diameter)
            corners = [(-1, -1), (1, -1), (1, 1), (-1, 1)]
            tyre = [self._turned(n, heading, dx + a * half[0], dy + b * half[1]) for a, b in corners]
            tyres.append(Outline("wheel", tuple(Corner(*p) for p in tyre), filled=True))
            ends = [self._turned(n, heading, dx + far, dy) for far in (-self.reach, self.reach)]
            line = clipped(ends[0], ends[1], (0.0, 0.0, self.wide, self.high))
            if line is not None:
                lines.append(Line("axle line", *line))
        marks = [e for e in self.ground.elements if e.role == "kingpin"]
        rest = [e for e in self.ground.elements if e.role != "kingpin"]
        made = (*rest, *tyres, *lines, *marks, *self._centre_mark(turn), *self.numbers)
        return Drawing(self.ground.name, made)

    def _turned(self, wheel: int, heading: float, dx: float, dy: float) -> Point:
        cos, sin = math.cos(radians(heading)), math.sin(radians(heading))
        x, y = self.kingpins[wheel]
        return x + dx * cos - dy * sin, y + dx * sin + dy * cos

    def _centre_mark(self, turn: float) -> list[Element]:
        centre = self.centre_at(turn)
        if centre is None or not _inside(centre, self.wide, self.high, _MARK):
            return []
        x, y = centre
        return [
            Circle("centre", centre, 0.6 * _MARK),
            Line("centre", (x - _MARK, y), (x + _MARK, y)),
            Line("centre", (x, y - _MARK), (x, y + _MARK)),
        ]


def live_plan(facts: Facts, wide: float, most_high: float) -> LivePlan:
    """Draw the plan of a design with wheels, small enough for a place on a sheet.

    Parameters
    ----------
    facts : Facts
        Of a design with wheels.
    wide, most_high : float
        How wide it is, and how high at most [mm].
    """
    design, robot = facts.design, facts.robot
    turn = example_turn(design.largest_turn)
    rows = turn_rows(facts, (turn, 0.0))
    box = _box(facts, rows, turn)
    scale = min(wide / (box[2] - box[0]), most_high / (box[3] - box[1]))
    high = scale * (box[3] - box[1])
    origin = 0.5 * wide - 0.5 * scale * (box[0] + box[2]), -scale * box[1]
    wheels = robot.wheels
    kingpins = []
    for wheel in design.wheels:
        x, y = on_paper(wheel.x_mm, wheel.y_mm)
        kingpins.append((origin[0] + scale * x, origin[1] + scale * y))
    offsets = [on_paper(float(a), float(b)) for a, b in zip(wheels.along, wheels.across, strict=True)]
    sizes = tuple((scale * wheel.width_mm, scale * wheel.diameter_mm) for wheel in design.wheels)
    return LivePlan(
        ground=Drawing(design.name, (*ground_of(design, scale, origin), *_pins(kingpins))),
        numbers=tuple(_numbers(kingpins, sizes, wide, high)),
        wide=wide,
        high=high,
        scale=scale,
        origin=origin,
        kingpins=tuple(kingpins),
        offsets=tuple((scale * x, scale * y) for x, y in offsets),
        sizes=sizes,
        built_in=tuple(
            degrees(angle) if steered else 0.0
            for angle, steered in zip(wheels.built_in.tolist(), wheels.steered.tolist(), strict=True)
        ),
        half_track=robot.base.half_track,
        base_x=robot.base.x,
        rows=rows,
        turn=turn,
    )


def ground_of(design: Design, scale: float, origin: Point = (0.0, 0.0)) -> list[Element]:
    """What does not turn: the body, holes in floor and roof, and parts.

    Parameters
    ----------
    design : Design
    scale : float
        Millimetres of the sheet for one of the chassis.
    origin : Point
        Where the origin of the chassis is on the sheet.
    """
    seen = FromAbove(design, scale)
    holes = [seen.opening(hole) for hole in design.packaging.openings if hole.face in {"floor", "roof"}]
    return [moved(element, *origin) for element in (*seen.body(), *holes, *seen.parts())]


def _pins(kingpins: list[Point]) -> list[Line]:
    across = [Line("kingpin", (x - _PIN, y), (x + _PIN, y)) for x, y in kingpins]
    return across + [Line("kingpin", (x, y - _PIN), (x, y + _PIN)) for x, y in kingpins]


def _box(facts: Facts, rows: TurnRows, turn: float) -> Box:
    """Around body and wheels, however these turn, with the turn centre of either side where it is near."""
    design, size = facts.design, facts.size
    points = [on_paper(x, y) for x, y in design.body_mm]
    heading = np.zeros((1, len(facts.robot)))
    places = zip(*(c[0].tolist() for c in contacts(facts.robot.wheels, heading)), strict=True)
    for wheel, contact in zip(design.wheels, places, strict=True):
        far = 0.5 * math.hypot(wheel.diameter_mm, wheel.width_mm)
        far += math.hypot(wheel.trail_mm, wheel.lateral_offset_mm)
        for x, y in (on_paper(*contact), on_paper(wheel.x_mm, wheel.y_mm)):
            points += [(x - far, y - far), (x + far, y + far)]
    xs, ys = [x for x, _ in points], [y for _, y in points]
    left, low, right, high = min(xs), min(ys), max(xs), max(ys)
    room = 0.12 * max(right - left, high - low)
    u, _, yaw = rows.at(rows.twist, turn).tolist()
    beside = abs(u / yaw) * facts.robot.base.half_track if yaw else 0.0
    if beside <= _FURTHEST * max(size, right - left, high - low):
        left, right = min(left, -beside), max(right, beside)
    return left - room, low - room, right + room, high + room


def _inside(point: Point, wide: float, high: float, margin: float = 0.0) -> bool:
    return margin <= point[0] <= wide - margin and margin <= point[1] <= high - margin


def _numbers(
    kingpins: list[Point], sizes: tuple[tuple[float, float], ...], wide: float, high: float
) -> list[Text]:
    """The number of each wheel where it hides no other: outward of it, else around it, else further off."""
    placed: list[Text] = []
    boxes: list[Box] = []
    middle = 0.5 * (min(x for x, _ in kingpins) + max(x for x, _ in kingpins))
    for n, (x, y) in enumerate(kingpins):
        out, sense = (math.pi, -1.0) if x < middle else (0.0, 1.0)
        reach = 0.5 * math.hypot(*sizes[n]) + _NUMBER
        tried = [(reach + 0.7 * k * _NUMBER, out + sense * turn) for k in range(12) for turn in _AROUND]
        for far, way in tried:
            at = (x + far * math.cos(way), y + far * math.sin(way) - 0.26 * _NUMBER)
            text = Text("text", at, str(n + 1), _NUMBER, "middle")
            box = box_of([text], text_width)
            if box[0] < 0 or box[1] < 0 or box[2] > wide or box[3] > high:
                continue
            if not any(_overlap(box, other) for other in boxes):
                placed.append(text)
                boxes.append(box)
                break
    return placed


def _overlap(a: Box, b: Box) -> bool:
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


def clipped(start: Point, end: Point, box: Box) -> tuple[Point, Point] | None:
    """The part of a straight line within a box; None where it passes beside it.

    Examples
    --------
    >>> clipped((-1.0, 1.0), (5.0, 1.0), (0.0, 0.0, 2.0, 2.0))
    ((0.0, 1.0), (2.0, 1.0))
    >>> clipped((-1.0, 3.0), (5.0, 3.0), (0.0, 0.0, 2.0, 2.0)) is None
    True
    """
    dx, dy = end[0] - start[0], end[1] - start[1]
    low, high = 0.0, 1.0
    for step, least, most in (
        (dx, box[0] - start[0], box[2] - start[0]),
        (dy, box[1] - start[1], box[3] - start[1]),
    ):
        if step == 0.0:
            if least > 0.0 or most < 0.0:
                return None
            continue
        near, far = sorted((least / step, most / step))
        low, high = max(low, near), min(high, far)
    if low >= high:
        return None
    return (start[0] + low * dx, start[1] + low * dy), (start[0] + high * dx, start[1] + high * dy)
