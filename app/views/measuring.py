"""Measuring on the plan: distance and angle between two points, caught by the things that stand there."""

from __future__ import annotations

import math
from typing import ClassVar

import numpy as np
from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import QPainter

from app.picture.view import View
from app.theme import pen
from app.units import LengthUnit, show_angle, show_length
from app.views.camera import Camera
from app.views.gestures import Gesture, Pointer
from app.views.lettering import lettering
from app.views.parts import placed_outline
from app.views.scene import Scene

_CATCH_PX = 10.0
_END_PX = 5.0
Point = tuple[float, float]


def anchors(view: View, *, parts: bool) -> list[Point]:
    """Points that catch an end: kingpins, contacts, body corners, turn centre, parts and their corners."""
    design = view.design
    found = [(w.x_mm, w.y_mm) for w in design.wheels] + list(design.body_mm)
    found += [(float(x), float(y)) for x, y in view.contacts]
    if design.wheels and np.isfinite(view.centre).all():
        found.append((float(view.centre[0]), float(view.centre[1])))
    for part in design.packaging.parts if parts else ():
        found.append((part.x_mm, part.y_mm))
        if part.shape != "upright cylinder":
            found += [(float(x), float(y)) for x, y in placed_outline(view, part)]
    return found


def caught(view: View, camera: Camera, at: Pointer, *, parts: bool) -> Point:
    """The nearest anchor within a few pixels of the mouse, else the place of the mouse [mm]."""
    points = [] if at.free else anchors(view, parts=parts)
    if not points:
        return at.x, at.y
    gaps = np.hypot(*(camera.to_screen(points) - (at.px, at.py)).T)
    nearest = int(gaps.argmin())
    return points[nearest] if gaps[nearest] <= _CATCH_PX else (at.x, at.y)


def measured(start: Point, end: Point, unit: LengthUnit) -> str:
    """Distance and direction from one point to another; the angle from straight ahead, left positive."""
    dx, dy = end[0] - start[0], end[1] - start[1]
    told = f"{show_length(math.hypot(dx, dy), unit, of_mm=2)}"
    if dx or dy:
        told += f", {show_angle(math.atan2(dy, dx))}"
    return f"{told} (x {show_length(dx, unit, of_mm=2)}, y {show_length(dy, unit, of_mm=2)})"


class Measure(Gesture):
    """From where the mouse is pressed to where it is let go."""

    cursor: ClassVar[Qt.CursorShape] = Qt.CursorShape.CrossCursor

    def __init__(self, view: View, camera: Camera, at: Pointer, *, parts: bool) -> None:
        self._view, self._camera, self._parts = view, camera, parts
        self.start = self.end = caught(view, camera, at, parts=parts)

    def move(self, at: Pointer) -> None:
        """Lead the other end along."""
        self.end = caught(self._view, self._camera, at, parts=self._parts)

    def draw(self, painter: QPainter, scene: Scene) -> None:
        """Draw the line with its ends, and what it measures beside its middle."""
        first, last = (QPointF(*p) for p in scene.camera.to_screen((self.start, self.end)).tolist())
        painter.setPen(pen(scene.theme.accent, 1.6))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawLine(first, last)
        for end in (first, last):
            painter.drawEllipse(end, _END_PX, _END_PX)
        text = measured(self.start, self.end, scene.options.unit)
        letters = lettering(scene.font, scene.ratio)
        wide, tall = letters.width(text, "name"), letters.heights["name"]
        x = min(max(0.5 * (first.x() + last.x()) + 8.0, 4.0), scene.camera.width - wide - 4.0)
        y = min(max(0.5 * (first.y() + last.y()) - tall - 4.0, 4.0), scene.camera.height - tall - 4.0)
        letters.draw(painter, text, "name", (x, y), (scene.theme.accent, scene.theme.paper))
