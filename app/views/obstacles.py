"""What stands on the course, from above: how it is drawn, and what of it a press would grip.

The robot's start is drawn and gripped as an obstacle is. Grips for ends, sides and turn stand a little
outside of what is chosen, so that the smallest thing can still be moved by its middle.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

import numpy as np
from PySide6.QtCore import QLineF, QPointF, Qt
from PySide6.QtGui import QPainter

from app.design.obstacle_edits import ends_of, sides_of
from app.drive_session import Chosen
from app.simulation.surroundings import cores_of
from app.theme import Theme, colour, mixed, pen
from app.units import LengthUnit, show_length, show_number
from app.views.camera import Camera
from app.views.scene import polygon
from geometry.driving.swept_contact import Core, core, overlaps
from geometry.model.driving import Course, Obstacle
from geometry.model.part_outline import turned

Point = tuple[float, float]

REACH_PX = 8.0
"""How near to a grip or to a line a press must be [px]."""
_OUTSIDE_PX = 13.0
_GRIP_PX = 4.5
_START_PX = 7.0
_WORDS_PX = (22.0, 34.0, 60.0, 100.0)
"""How far words may stand from what they belong to, the nearest first [px]."""
_EDGE_PX = 8.0


@dataclass(frozen=True)
class Grip:
    """What a press grips."""

    thing: Chosen
    part: Literal["whole", "end", "side", "turn"] = "whole"
    which: int = 0
    """Which end or side."""


@dataclass(frozen=True)
class Start:
    """The robot at the start of its course, as it is gripped."""

    far: float
    """From the origin of the chassis to the grip that turns it [mm]."""
    body: tuple[Point, ...] = ()
    """Outline of the robot where it stands there, in the frame of the course; else empty [mm]."""


@lru_cache(maxsize=1024)
def outlines_of(obstacle: Obstacle) -> tuple[Core, ...]:
    """Outlines of an obstacle, those that the robot touches."""
    return cores_of(obstacle)


def box_of(obstacle: Obstacle) -> list[Point]:
    """Two corners of the box around an obstacle [mm]."""
    low = np.min([one.points.min(axis=0) - one.radius for one in outlines_of(obstacle)], axis=0)
    high = np.max([one.points.max(axis=0) + one.radius for one in outlines_of(obstacle)], axis=0)
    return [(float(low[0]), float(low[1])), (float(high[0]), float(high[1]))]


def called(course: Course, thing: Chosen) -> str:
    """What a thing of the course is called on the screen."""
    return f"{course.obstacles[thing].kind} {thing + 1}" if isinstance(thing, int) else "start"


def numbers_of(course: Course, thing: Chosen, unit: LengthUnit) -> tuple[str, str]:
    """Place, and size with turn, of a thing of the course in words."""
    if not isinstance(thing, int):
        x, y = show_length(course.start_x_mm, unit), show_length(course.start_y_mm, unit)
        return f"x {x}, y {y}", f"heading {show_number(course.start_heading_deg, 1)}°"
    one = course.obstacles[thing]
    sizes = [("length", one.length_mm), ("width", one.width_mm)]
    words = [f"{word} {show_length(size, unit)}" for word, size in sizes if size is not None]
    if one.kind != "post":
        words.append(f"turned {show_number(one.turn_deg, 1)}°")
    return f"x {show_length(one.x_mm, unit)}, y {show_length(one.y_mm, unit)}", ", ".join(words)


def middle_of(course: Course, thing: Chosen) -> Point:
    """Where a thing of the course stands [mm]."""
    if isinstance(thing, int):
        return course.obstacles[thing].x_mm, course.obstacles[thing].y_mm
    return course.start_x_mm, course.start_y_mm


# What a press would grip ---------------------------------------------------------------------------


def grip_at(course: Course, start: Start, camera: Camera, at: QPointF, chosen: Chosen) -> Grip | None:
    """What is under a pixel: a grip of what is chosen, the start, an obstacle, the robot at its start."""
    px, py = at.x(), at.y()
    for grip, place in grips_of(course, start, camera, chosen):
        if math.dist(place, (px, py)) <= REACH_PX:
            return grip
    if math.dist(_px(camera, middle_of(course, "start")), (px, py)) <= REACH_PX:
        return Grip("start")
    number = obstacle_at(course, camera, at)
    if number is not None:
        return Grip(number)
    point = core(camera.to_chassis(px, py))
    return Grip("start") if start.body and overlaps(point, core(start.body)) else None


def obstacle_at(course: Course, camera: Camera, at: QPointF) -> int | None:
    """The obstacle under a pixel, the smallest of several."""
    x, y = camera.to_chassis(at.x(), at.y())
    reach = REACH_PX / camera.scale
    point = core((x, y), reach)
    found = []
    for i, one in enumerate(course.obstacles):
        size = math.hypot(one.length_mm or 0.0, one.width_mm or 0.0)
        near = math.dist((x, y), (one.x_mm, one.y_mm)) <= size + reach
        if near and any(overlaps(point, outline) for outline in outlines_of(one)):
            found.append((size, i))
    return min(found)[1] if found else None


def grips_of(course: Course, start: Start, camera: Camera, chosen: Chosen) -> list[tuple[Grip, Point]]:
    """The grips of what is chosen, and where they stand [px]."""
    if chosen is None:
        return []
    if not isinstance(chosen, int):
        return [(Grip("start", "turn"), _tip(course, start, camera))]
    one = course.obstacles[chosen]
    middle = _px(camera, (one.x_mm, one.y_mm))
    beyond = 0.5 * (one.width_mm or 0.0) * camera.scale if one.kind == "gate" else 0.0
    found = [
        (Grip(chosen, "end", n), _outward(middle, _px(camera, end), _way(one, n), beyond + _OUTSIDE_PX))
        for n, end in enumerate(ends_of(one))
    ]
    for n, side in enumerate(sides_of(one)):
        found.append((Grip(chosen, "side", n), _outward(middle, _px(camera, side), (0.0, 0.0), _OUTSIDE_PX)))
    return found


def _way(obstacle: Obstacle, end: int) -> Point:
    """On the screen, from the middle to an end: right and down."""
    c, s = turned(obstacle.turn_deg)
    x, y = (-s, c) if obstacle.kind == "gate" else (c, s)
    return (-y, -x) if end == 0 else (y, x)


def _outward(middle: Point, end: Point, way: Point, far: float) -> Point:
    """A place beyond an end, seen from the middle [px]."""
    size = math.dist(middle, end)
    x, y = ((end[0] - middle[0]) / size, (end[1] - middle[1]) / size) if size > 0 else way
    return end[0] + x * far, end[1] + y * far


def _tip(course: Course, start: Start, camera: Camera) -> Point:
    c, s = turned(course.start_heading_deg)
    x, y = _px(camera, middle_of(course, "start"))
    far = max(start.far * camera.scale, 3.0 * _START_PX)
    return x - s * far, y - c * far


def _px(camera: Camera, point: Point) -> Point:
    x, y = camera.to_screen(point).tolist()
    return x, y


# Drawing -------------------------------------------------------------------------------------------


def draw_obstacles(painter: QPainter, theme: Theme, camera: Camera, course: Course) -> None:
    """Draw walls, posts, boxes and gates."""
    for obstacle in course.obstacles:
        painter.setPen(pen(theme.ink, 3.0 if obstacle.kind == "wall" else 1.4))
        painter.setBrush(colour(theme.part))
        _draw_outlines(painter, camera, obstacle)


def draw_lit(painter: QPainter, theme: Theme, camera: Camera, obstacle: Obstacle, *, chosen: bool) -> None:
    """Draw the light around an obstacle that is chosen or under the mouse, and the obstacle on it."""
    tone = theme.accent if chosen else mixed(theme.accent, theme.paper, 0.55)
    wide = 3.0 if obstacle.kind == "wall" else 1.4
    painter.setBrush(Qt.BrushStyle.NoBrush)
    for rim, width in ((tone, 9.0), (theme.paper, 5.0)) if chosen else ((tone, 4.0),):
        painter.setPen(pen(rim, wide + width))
        _draw_outlines(painter, camera, obstacle)
    painter.setPen(pen(theme.ink, wide))
    painter.setBrush(colour(theme.part))
    _draw_outlines(painter, camera, obstacle)


def _draw_outlines(painter: QPainter, camera: Camera, obstacle: Obstacle) -> None:
    for outline in outlines_of(obstacle):
        points = camera.to_screen(outline.points)
        if len(points) == 1:
            radius = max(outline.radius * camera.scale, 1.0)
            painter.drawEllipse(QPointF(*points[0].tolist()), radius, radius)
        elif len(points) == 2:
            painter.drawLine(QPointF(*points[0].tolist()), QPointF(*points[1].tolist()))
        else:
            painter.drawPolygon(polygon(points))


def draw_start(
    painter: QPainter, theme: Theme, camera: Camera, course: Course, start: Start, *, lit: bool
) -> None:
    """Draw where the robot starts, and which way it points then: a ring with an arrow."""
    tone = theme.accent if lit else theme.faint
    middle, tip = QPointF(*_px(camera, middle_of(course, "start"))), QPointF(*_tip(course, start, camera))
    painter.setPen(pen(tone, 2.0 if lit else 1.4))
    painter.setBrush(colour(theme.paper))
    way = QLineF(middle, tip)
    painter.drawLine(way)
    for angle in (150.0, -150.0):
        barb = QLineF.fromPolar(8.0, way.angle() + angle).translated(tip)
        painter.drawLine(barb)
    painter.drawEllipse(middle, _START_PX, _START_PX)
    painter.setBrush(colour(tone))
    painter.drawEllipse(middle, 2.0, 2.0)


def draw_grips(painter: QPainter, theme: Theme, grips: list[tuple[Grip, Point]], hover: Grip | None) -> None:
    """Draw the grips of what is chosen; the one under the mouse is full."""
    for grip, place in grips:
        painter.setPen(pen(theme.accent, 1.6))
        painter.setBrush(colour(theme.accent if grip == hover else theme.paper))
        painter.drawEllipse(QPointF(*place), _GRIP_PX, _GRIP_PX)


def words_place(camera: Camera, at: Point, size: tuple[float, float], covered: list[Core]) -> Point:
    """Left upper corner of words beside a place [mm], where they cover none of these outlines [px]."""
    px, py = _px(camera, at)
    wide, high = size
    ways = ((1, 0), (-1, 0), (0, -1), (0, 1), (1, -1), (-1, -1), (1, 1), (-1, 1))
    places = []
    for far in _WORDS_PX:
        for x, y in ways:
            left, top = px + x * (far + 0.5 * wide) - 0.5 * wide, py + y * (far + 0.5 * high) - 0.5 * high
            inside = (
                min(max(left, _EDGE_PX), max(camera.width - wide - _EDGE_PX, _EDGE_PX)),
                min(max(top, _EDGE_PX), max(camera.height - high - _EDGE_PX, _EDGE_PX)),
            )
            places.append(inside)
    return next((p for p in places if not _covers(camera, p, size, covered)), places[0])


def _covers(camera: Camera, place: Point, size: tuple[float, float], covered: list[Core]) -> bool:
    left, top, right, bottom = place[0], place[1], place[0] + size[0], place[1] + size[1]
    corners = [
        camera.to_chassis(x, y) for x, y in ((left, top), (left, bottom), (right, bottom), (right, top))
    ]
    box = core(corners, 4.0 / camera.scale)
    return any(overlaps(box, one) for one in covered)
