"""Marks below the wheels: grid, body outline, base axle, and the scale bar.

Grid and body stay as they are while wheels are dragged, and to draw them takes longer than all
the rest: their picture is kept for as long as nothing in it changes.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QImage, QPainter

from app.design.references import selected
from app.theme import Theme, colour, pen
from app.units import MM_PER_INCH, LengthUnit, show_length
from app.views.camera import Camera
from app.views.scene import Scene, polygon

_LEAST_GAP_PX = 9.0
CORNER_PX = 4.0


def nice_step(least: float) -> float:
    """The smallest of 1, 2, 5 times a power of ten that is at least `least`."""
    power = 10.0 ** math.floor(math.log10(least))
    return next(power * k for k in (1.0, 2.0, 5.0, 10.0) if power * k >= least * (1 - 1e-9))


@dataclass(frozen=True)
class Ground:
    """All that grid and body are drawn from."""

    camera: Camera
    theme: Theme
    unit: LengthUnit
    pitch_mm: float | None
    body_mm: tuple[tuple[float, float], ...]
    lit: frozenset[int]
    """Body corners under the mouse or the keyboard."""


def ground_of(scene: Scene) -> Ground:
    """The part of a scene that grid and body are drawn from."""
    design = scene.view.design
    lit = frozenset(selected((*scene.view.selection, *([scene.hover] if scene.hover else [])), "corner"))
    unit = scene.options.unit
    return Ground(scene.camera, scene.theme, unit, design.hole_pitch_mm, design.body_mm, lit)


def draw_ground(painter: QPainter, scene: Scene) -> None:
    """Fill the canvas, with grid and body."""
    painter.drawImage(0, 0, _picture(ground_of(scene), scene.ratio))


@lru_cache(maxsize=2)
def _picture(ground: Ground, ratio: float) -> QImage:
    """Grid and body; an image and not a pixmap, since it may outlive the application."""
    camera = ground.camera
    image = QImage(
        math.ceil(camera.width * ratio), math.ceil(camera.height * ratio), QImage.Format.Format_RGB32
    )
    image.setDevicePixelRatio(ratio)
    image.fill(colour(ground.theme.paper))
    painter = QPainter(image)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    draw_grid(painter, ground)
    draw_body(painter, ground)
    painter.end()
    return image


def grid_step(ground: Ground) -> float:
    """Distance between grid lines [mm]: the hole pitch where it can be drawn, else a round one."""
    pitch = ground.pitch_mm
    least = _LEAST_GAP_PX / ground.camera.scale
    if pitch is not None:
        return pitch if pitch >= least else pitch * nice_step(least / pitch)
    unit = MM_PER_INCH if ground.unit == "inch" else 1.0
    return nice_step(least / unit) * unit


def draw_grid(painter: QPainter, ground: Ground) -> None:
    """Draw grid lines through the origin, every fifth one stronger."""
    camera, step = ground.camera, grid_step(ground)
    x_low, y_low = camera.to_chassis(camera.width, camera.height)
    x_high, y_high = camera.to_chassis(0, 0)
    plain: list[QLineF] = []
    strong: list[QLineF] = []
    for n in range(math.ceil(x_low / step), math.floor(x_high / step) + 1):
        py = 0.5 * camera.height - (n * step - camera.x) * camera.scale
        (plain if n % 5 else strong).append(QLineF(0, py, camera.width, py))
    for n in range(math.ceil(y_low / step), math.floor(y_high / step) + 1):
        px = 0.5 * camera.width - (n * step - camera.y) * camera.scale
        (plain if n % 5 else strong).append(QLineF(px, 0, px, camera.height))
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, on=False)
    painter.setPen(pen(ground.theme.grid))
    painter.drawLines(plain)
    painter.setPen(pen(ground.theme.grid_strong))
    painter.drawLines(strong)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, on=True)


def draw_scale_bar(painter: QPainter, scene: Scene) -> None:
    """Draw a bar of a round length with its length above."""
    camera = scene.camera
    unit = MM_PER_INCH if scene.options.unit == "inch" else 1.0
    length = nice_step(70.0 / camera.scale / unit) * unit
    wide = length * camera.scale
    x, y = 14.0, camera.height - 14.0
    text = show_length(length, scene.options.unit)
    painter.setPen(pen(scene.theme.ink, 1.5))
    painter.drawLines(
        [QLineF(x, y, x + wide, y), QLineF(x, y - 4, x, y + 4), QLineF(x + wide, y - 4, x + wide, y + 4)]
    )
    painter.drawText(QRectF(x, y - 22, max(wide, 90), 16), int(Qt.AlignmentFlag.AlignLeft), text)


def draw_body(painter: QPainter, ground: Ground) -> None:
    """Draw the body outline, its corners, and which way is forward."""
    corners = ground.body_mm
    if not corners:
        return
    points = ground.camera.to_screen(np.array(corners))
    painter.setPen(pen(ground.theme.body_line, 1.2))
    painter.setBrush(colour(ground.theme.body, 190))
    painter.drawPolygon(polygon(points))
    painter.setBrush(colour(ground.theme.paper))
    for i, (x, y) in enumerate(points.tolist()):
        lit = i in ground.lit
        size = CORNER_PX if lit else 2.5
        painter.setPen(pen(ground.theme.accent if lit else ground.theme.body_line, 1.6 if lit else 1.0))
        painter.drawRect(QRectF(x - size, y - size, 2 * size, 2 * size))


def draw_forward_mark(painter: QPainter, scene: Scene) -> None:
    """Draw the origin with a short arrow that points forward."""
    (x, y), (_, tip) = scene.camera.to_screen(np.array([(0.0, 0.0), (0.08 * scene.view.facts.size, 0.0)]))
    painter.setPen(pen(scene.theme.faint, 1.2))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawEllipse(QPointF(x, y), 2.5, 2.5)
    painter.drawLines(
        [QLineF(x, y - 3, x, tip), QLineF(x, tip, x - 4, tip + 6), QLineF(x, tip, x + 4, tip + 6)]
    )


def draw_base_axle(painter: QPainter, scene: Scene) -> None:
    """Draw the line across the chassis on which turn centres lie."""
    _, y = scene.camera.to_screen(np.array([scene.view.robot.base.x, 0.0]))
    if -5 < y < scene.camera.height + 5:
        painter.setPen(pen(scene.theme.arc, 1.0, Qt.PenStyle.DotLine))
        painter.drawLine(QLineF(0, y, scene.camera.width, y))
