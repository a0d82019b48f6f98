"""Parts on the plan: their outlines as they lie, with their names; a press grips the smallest one."""

from __future__ import annotations

import math

import numpy as np
from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import QPainter, QPolygonF

from app.design.references import Reference, selected
from app.picture.view import View
from app.theme import Theme, colour, mixed, pen
from app.views.camera import Camera
from app.views.lettering import lettering
from app.views.scene import Scene, polygon
from geometry.axes import Floats
from geometry.model.packaging import Part
from geometry.model.part_outline import outline_of, plan_size
from geometry.plane import points_outside

_LEAST_PX = 10.0
"""A part that is smaller on the screen can still be gripped as if it were this large [px]."""
_NAME_ROOM_PX = 8.0


def placed_outline(view: View, part: Part) -> Floats:
    """Corners of a part where it is at the turn that is shown, (K, 2) [mm].

    One that is mounted on a kingpin stands at its place straight ahead, and turns about it.
    """
    corners = np.array(outline_of(part))
    if part.mounted_on is None:
        return corners
    index = view.design.index_of(part.mounted_on)
    kingpin = np.array([view.robot.wheels.x[index], view.robot.wheels.y[index]])
    steer = view.rows[index].steer
    cos, sin = math.cos(steer), math.sin(steer)
    return np.asarray((corners - kingpin) @ np.array([[cos, sin], [-sin, cos]]) + kingpin)


def draw_parts(painter: QPainter, scene: Scene) -> None:
    """Draw every part, with its name where there is room."""
    parts = scene.view.design.packaging.parts
    if not parts or not scene.options.parts:
        return
    theme, chosen = scene.theme, set(selected(scene.view.selection, "part"))
    letters = lettering(scene.font, scene.ratio)
    for i, part in enumerate(parts):
        points = scene.camera.to_screen(placed_outline(scene.view, part))
        shape = polygon(points)
        painter.setBrush(colour(theme.part, 215))
        if i in chosen or Reference("part", i) == scene.hover:
            lit = theme.accent if i in chosen else mixed(theme.accent, theme.paper, 0.55)
            painter.setPen(pen(lit, 5.0 if i in chosen else 3.0))
            painter.drawPolygon(shape)
        hit = Reference("part", i) in scene.struck
        painter.setPen(pen(theme.bad, 2.4) if hit else pen(theme.body_line, 1.2))
        painter.drawPolygon(shape)
        if part.shape == "lying cylinder":  # a line along it tells it from a box
            ends = 0.5 * (points[0] + points[1]), 0.5 * (points[2] + points[3])
            painter.setPen(pen(theme.body_line, 1.0, Qt.PenStyle.DashLine))
            painter.drawLine(*(QPointF(*end.tolist()) for end in ends))
        low, high = points.min(axis=0), points.max(axis=0)
        if hit:
            draw_warning(painter, scene.theme, QPointF(0.5 * (low[0] + high[0]), high[1] - 8.0))
        room = high[0] - low[0] - _NAME_ROOM_PX
        tall = letters.heights["small"]
        if scene.options.labels and room > 3 * tall and high[1] - low[1] > tall:
            text = letters.elided(part.name, "small", float(round(room)))
            at = 0.5 * (low[0] + high[0] - letters.width(text, "small")), 0.5 * (low[1] + high[1] - tall)
            letters.draw(painter, text, "small", (float(at[0]), float(at[1])), (theme.ink, theme.part))


def draw_warning(painter: QPainter, theme: Theme, at: QPointF) -> None:
    """Draw the filled triangle that marks what collides."""
    x, y = at.x(), at.y()
    painter.setPen(pen(theme.paper, 1.0))
    painter.setBrush(colour(theme.bad))
    painter.drawPolygon(QPolygonF([QPointF(x, y - 7), QPointF(x + 7, y + 5), QPointF(x - 7, y + 5)]))


def part_under(view: View, camera: Camera, px: float, py: float) -> int | None:
    """The part under a pixel; where several are, the smallest, and of equals the one drawn last."""
    parts = view.design.packaging.parts
    at = camera.to_chassis(px, py)
    reach = 0.5 * _LEAST_PX / camera.scale
    found: list[tuple[float, int]] = []
    for i, part in enumerate(parts):
        outline = placed_outline(view, part)
        middle = outline.mean(axis=0)
        near = max(abs(at[0] - middle[0]), abs(at[1] - middle[1])) <= reach
        if near or not points_outside(outline, [at]).size:
            length, width = plan_size(part)
            found.append((length * width, -i))
    return -min(found)[1] if found else None
