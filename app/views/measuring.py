"""Measuring: distance and angle between two points, caught by the things that stand there, in every view."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import ClassVar

import numpy as np
from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import QPainter

from app.picture.view import View
from app.theme import Theme, pen
from app.units import LengthUnit, show_angle, show_length
from app.views.camera import Camera
from app.views.gestures import Gesture, Pointer
from app.views.lettering import lettering
from app.views.parts import placed_outline
from app.views.scene import Scene
from geometry.axes import Floats
from geometry.model.part_outline import tall

_CATCH_PX = 10.0
_END_PX = 5.0
_MASS_PX = 6.0
_EDGE_PX, _BESIDE_PX = 4.0, 8.0
Point = tuple[float, float]
Catch = Callable[[Pointer], Point]
"""Where an end is that the mouse leads [mm]."""
ON_PLAN = ("x", "y")
"""What the two ways of the plan are called; the angle counts from the first towards the second."""


def mass_centre(view: View) -> tuple[float, float, float] | None:
    """Centre of mass, forward, to the left, above the ground [mm]; None where nothing has a mass."""
    from geometry.packaging.weights import balance_of  # late: the window opens without it

    balance = balance_of(view.robot, view.design, view.heading)
    if balance is None:
        return None
    x, y, z = balance.centre.tolist()
    return x, y, z


def anchors(view: View, *, parts: bool) -> list[Point]:
    """Points of the plan that catch an end.

    Kingpins, contacts, body corners, turn centre; with the parts they, their corners, and the centre of mass.
    """
    design = view.design
    found = [(w.x_mm, w.y_mm) for w in design.wheels] + list(design.body_mm)
    found += [(float(x), float(y)) for x, y in view.contacts]
    if design.wheels and np.isfinite(view.centre).all():
        found.append((float(view.centre[0]), float(view.centre[1])))
    for part in design.packaging.parts if parts else ():
        found.append((part.x_mm, part.y_mm))
        if part.shape != "upright cylinder":
            found += [(float(x), float(y)) for x, y in placed_outline(view, part)]
    mass = mass_centre(view) if parts else None
    return found if mass is None else [*found, mass[:2]]


def caught(view: View, camera: Camera, at: Pointer, *, parts: bool) -> Point:
    """The nearest anchor of the plan within a few pixels of the mouse, else the place of the mouse [mm]."""
    points = [] if at.free else anchors(view, parts=parts)
    return _nearest(points, camera.to_screen(points), at) or (at.x, at.y) if points else (at.x, at.y)


def _nearest(points: Sequence[Point], pixels: Floats, at: Pointer) -> Point | None:
    gaps = np.hypot(*(pixels - (at.px, at.py)).T)
    nearest = int(gaps.argmin())
    return points[nearest] if gaps[nearest] <= _CATCH_PX else None


def upright_anchors(view: View, axis: int) -> list[Point]:
    """Points that catch an end in a view from the side (axis 0) or from the front (1), along and up [mm].

    Wheels' centres and contacts, corners of the body outside and inside, corners and middles of parts,
    middles of the holes that are seen, the centre of mass.
    """
    design, packaging = view.design, view.design.packaging
    along = np.asarray(view.contacts).reshape(-1, 2)[:, axis].tolist()
    found = [
        (at, up)
        for at, wheel in zip(along, design.wheels, strict=True)
        for up in (0.5 * wheel.diameter_mm, 0.0)
    ]
    if design.body_mm:
        ends = [corner[axis] for corner in design.body_mm]
        wall = packaging.wall_mm
        found += _corners(min(ends), max(ends), packaging.floor_mm, packaging.roof_mm)
        inside = [corner[axis] for corner in packaging.inner_mm] or [min(ends) + wall, max(ends) - wall]
        top = packaging.roof_mm - (wall if packaging.has_roof else 0.0)
        found += _corners(min(inside), max(inside), packaging.floor_mm + wall, top) if wall > 0 else []
    for part in packaging.parts:
        ends = placed_outline(view, part)[:, axis].tolist()
        low, high, bottom, top = min(ends), max(ends), part.bottom_mm, part.bottom_mm + tall(part)
        found += [*_corners(low, high, bottom, top), (0.5 * (low + high), 0.5 * (bottom + top))]
    faces = (("left", "right"), ("front", "rear"))[axis]
    found += [((o.x_mm, o.y_mm)[axis], o.z_mm) for o in packaging.openings if o.face in faces]
    mass = mass_centre(view)
    return found if mass is None else [*found, (mass[axis], mass[2])]


def _corners(low: float, high: float, bottom: float, top: float) -> list[Point]:
    return [(low, bottom), (high, bottom), (low, top), (high, top)]


def levels(view: View) -> list[float]:
    """Heights that catch an end which is near no point: the ground, axles, floor and roof [mm]."""
    design = view.design
    body = [design.packaging.floor_mm, design.packaging.roof_mm] if design.body_mm else []
    return [0.0, *(0.5 * wheel.diameter_mm for wheel in design.wheels), *body]


def caught_upright(view: View, axis: int, to_screen: Callable[[Point], Point], at: Pointer) -> Point:
    """The nearest of these points within a few pixels, else the nearest height, else the mouse itself [mm].

    Parameters
    ----------
    view : View
        The picture that is shown.
    axis : int
        0 from the side, 1 from the front.
    to_screen : callable
        Pixel of a place along and above the ground.
    at : Pointer
        Where the mouse is, along and above the ground.
    """
    if at.free:
        return at.x, at.y
    points = upright_anchors(view, axis)
    found = _nearest(points, np.array([to_screen(p) for p in points]), at) if points else None
    if found is not None:
        return found
    gap, height = min((abs(to_screen((at.x, level))[1] - at.py), level) for level in levels(view))
    return at.x, height if gap <= _CATCH_PX else at.y


def measured(start: Point, end: Point, unit: LengthUnit, ways: tuple[str, str] = ON_PLAN) -> str:
    """Distance and direction from one point to another, and how far it is along each of the two ways.

    The angle counts from the first way towards the second: on the plan from straight ahead, left positive.
    """
    dx, dy = end[0] - start[0], end[1] - start[1]
    told = f"{show_length(math.hypot(dx, dy), unit, of_mm=2)}"
    if dx or dy:
        told += f", {show_angle(math.atan2(dy, dx))}"
    first, second = (
        f"{way} {show_length(by, unit, of_mm=2)}" for way, by in zip(ways, (dx, dy), strict=True)
    )
    return f"{told} ({first}, {second})"


class Measure(Gesture):
    """From where the mouse is pressed to where it is let go."""

    cursor: ClassVar[Qt.CursorShape] = Qt.CursorShape.CrossCursor

    def __init__(self, catch: Catch, at: Pointer) -> None:
        self._catch = catch
        self.start = self.end = catch(at)

    def move(self, at: Pointer) -> None:
        """Lead the other end along."""
        self.end = self._catch(at)

    def draw(self, painter: QPainter, scene: Scene) -> None:
        """Draw it on the plan, with what it measures beside its middle."""
        first, last = (QPointF(*p) for p in scene.camera.to_screen((self.start, self.end)).tolist())
        draw_line(painter, scene.theme, first, last)
        text, letters = measured(self.start, self.end, scene.options.unit), lettering(scene.font, scene.ratio)
        wide, high = letters.width(text, "name"), letters.heights["name"]
        middle = (first + last) * 0.5
        x = min(max(middle.x() + _BESIDE_PX, _EDGE_PX), scene.camera.width - wide - _EDGE_PX)
        y = min(max(middle.y() - high - _EDGE_PX, _EDGE_PX), scene.camera.height - high - _EDGE_PX)
        letters.draw(painter, text, "name", (x, y), (scene.theme.accent, scene.theme.paper))


def draw_line(painter: QPainter, theme: Theme, first: QPointF, last: QPointF) -> None:
    """Draw the line between two points that are measured, with its ends [px]."""
    painter.setPen(pen(theme.accent, 1.6))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawLine(first, last)
    for end in (first, last):
        painter.drawEllipse(end, _END_PX, _END_PX)


def draw_mass_on_plan(painter: QPainter, scene: Scene) -> None:
    """Mark the centre of mass where parts are shown."""
    mass = mass_centre(scene.view) if scene.options.parts else None
    if mass is not None:
        draw_mass_centre(painter, scene.theme, QPointF(*scene.camera.to_screen(mass[:2]).tolist()))


def draw_mass_centre(painter: QPainter, theme: Theme, at: QPointF) -> None:
    """Mark the centre of mass, which is measured from and else not drawn: a ring in quarters."""
    painter.setPen(pen(theme.ink, 1.2))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawEllipse(at, _MASS_PX, _MASS_PX)
    reach = _MASS_PX + 3.0
    for dx, dy in ((reach, 0.0), (0.0, reach)):
        painter.drawLine(at - QPointF(dx, dy), at + QPointF(dx, dy))
