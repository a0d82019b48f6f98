"""Parts on the plan: their outlines as they lie, with their names; a press grips the smallest one."""

from __future__ import annotations

import math

import numpy as np
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QPainter, QPolygonF

from app.design.references import Reference, selected
from app.picture.view import View
from app.theme import Theme, colour, mixed, pen
from app.views.camera import Camera
from app.views.lettering import lettering
from app.views.scene import Scene, polygon
from geometry.axes import Floats
from geometry.model.packaging import Opening, Part
from geometry.model.part_outline import outline_of, plan_size, tall
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
    """Draw holes and every part, with its name where there is room."""
    if not scene.options.parts:
        return
    _draw_openings(painter, scene)
    parts = scene.view.design.packaging.parts
    if not parts:
        return
    theme, chosen = scene.theme, set(selected(scene.view.selection, "part"))
    letters = lettering(scene.font, scene.ratio)
    # What lies higher covers what is below it.
    for i, part in sorted(enumerate(parts), key=lambda one: one[1].bottom_mm + tall(one[1])):
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
        high_px = letters.heights["small"]
        if scene.options.labels and room > 3 * high_px and high[1] - low[1] > high_px:
            text = letters.named(part.name, "small", float(round(room)))
            at = 0.5 * (low[0] + high[0] - letters.width(text, "small")), 0.5 * (low[1] + high[1] - high_px)
            letters.draw(painter, text, "small", (float(at[0]), float(at[1])), (theme.ink, theme.part))


def _draw_openings(painter: QPainter, scene: Scene) -> None:
    """Draw the holes in floor and roof, dashed."""
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.setPen(pen(scene.theme.faint, 1.2, Qt.PenStyle.DashLine))
    for opening in scene.view.design.packaging.openings:
        if opening.face not in ("floor", "roof"):
            continue
        at = QPointF(*scene.camera.to_screen((opening.x_mm, opening.y_mm)).tolist())
        draw_opening(painter, opening, at, scene.camera.scale, upright=True)


def draw_opening(painter: QPainter, opening: Opening, at: QPointF, scale: float, *, upright: bool) -> None:
    """Draw a hole about its middle [px]; `upright` where its length runs up the screen."""
    if opening.diameter_mm is not None:
        radius = 0.5 * opening.diameter_mm * scale
        painter.drawEllipse(at, radius, radius)
        return
    along, across = (0.5 * scale * (size or 0.0) for size in (opening.length_mm, opening.width_mm))
    wide, tall = (across, along) if upright else (along, across)
    painter.drawRect(QRectF(at.x() - wide, at.y() - tall, 2 * wide, 2 * tall))


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
