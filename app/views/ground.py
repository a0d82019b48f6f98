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
from app.views.lettering import lettering
from app.views.placing import Box
from app.views.scene import Scene, polygon
from geometry.axes import Floats

_LEAST_GAP_PX = 9.0
CORNER_PX = 4.0
_BAR_PX = 14.0
"""How far from the corner of the canvas the scale bar is [px]."""


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


def _scale_bar(scene: Scene) -> tuple[float, str]:
    """Length of the scale bar [px], and what it says."""
    unit = MM_PER_INCH if scene.options.unit == "inch" else 1.0
    length = nice_step(70.0 / scene.camera.scale / unit) * unit
    return length * scene.camera.scale, show_length(length, scene.options.unit)


def scale_bar_box(scene: Scene) -> Box:
    """Where the scale bar is, with its text [px]."""
    wide, text = _scale_bar(scene)
    letters, y = lettering(scene.font, scene.ratio), scene.camera.height - _BAR_PX
    reach = max(wide, letters.width(text, "small"))
    return _BAR_PX - 2.0, y - 6.0 - letters.heights["small"], _BAR_PX + reach + 2.0, y + 6.0


def draw_scale_bar(painter: QPainter, scene: Scene) -> None:
    """Draw a bar of a round length with its length above."""
    wide, text = _scale_bar(scene)
    x, y = _BAR_PX, scene.camera.height - _BAR_PX
    painter.setPen(pen(scene.theme.ink, 1.5))
    painter.drawLines(
        [QLineF(x, y, x + wide, y), QLineF(x, y - 4, x, y + 4), QLineF(x + wide, y - 4, x + wide, y + 4)]
    )
    letters = lettering(scene.font, scene.ratio)
    above = (x, y - 4.0 - letters.heights["small"])
    letters.draw(painter, text, "small", above, (scene.theme.ink, scene.theme.paper))


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


def forward_mark(scene: Scene) -> Floats:
    """The origin and the tip of the arrow that points forward from it, (2, 2) [px]."""
    return scene.camera.to_screen(np.array([(0.0, 0.0), (0.08 * scene.view.facts.size, 0.0)]))


def draw_forward_mark(painter: QPainter, scene: Scene) -> None:
    """Draw the origin with a short arrow that points forward."""
    (x, y), (_, tip) = forward_mark(scene)
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
