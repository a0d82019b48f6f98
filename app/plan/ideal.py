"""Marks of what would suit, beside what the motors do: dashed wheels, a ring for the turn centre."""

from __future__ import annotations

import numpy as np
from PySide6.QtCore import QLineF, QPointF, Qt
from PySide6.QtGui import QPainter

from app.plan.scene import Scene, polygon, tyre_corners
from app.plan.turning import draw_tag
from app.theme import mixed, pen
from app.units import show_length
from geometry.alignment import contacts
from geometry.axes import Floats

LEAST_GAP_MM = 0.05
_RING_PX = 10.0
# A line between centres that are farther away than that is not drawn.
_FARTHEST_PX = 20_000.0


def draw_ghosts(painter: QPainter, scene: Scene) -> None:
    """Draw the outline of each wheel at its ideal angle, where the motors give it another."""
    built, ghosts = scene.view.built, scene.ghosts
    if built is None or not ghosts:
        return
    heading = built.ideal.heading
    x, y = contacts(scene.view.facts.wheels, heading)
    corners = tyre_corners(scene.view, heading[0], np.stack([x[0], y[0]], axis=1))
    screen = scene.camera.to_screen(corners)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    rim = mixed(scene.theme.ground, scene.theme.steered, 0.6)
    for i in ghosts:
        shape = polygon(screen[i])
        # A light rim first, so that the dashes stand out from the tyre below them.
        painter.setPen(pen(rim, 2.6))
        painter.drawPolygon(shape)
        painter.setPen(pen(scene.theme.ghost, 1.6, Qt.PenStyle.DashLine))
        painter.drawPolygon(shape)


def draw_ideal_centre(painter: QPainter, scene: Scene) -> None:
    """Draw the turn centre that is asked for as a ring, and how far from it the chassis turns."""
    view = scene.view
    if view.built is None or not scene.options.ideal or view.gap <= LEAST_GAP_MM:
        return
    if not np.isfinite(view.asked_centre).all():
        return
    ideal = scene.camera.to_screen(view.asked_centre)
    if not _in_sight(scene, ideal):
        return
    at = QPointF(*ideal.tolist())
    built = scene.centre
    text = "ideal turn centre"
    if np.isfinite(built).all():
        text = f"ideal, {show_length(view.gap, scene.options.unit, digits=1)} away"
        if np.abs(built).max() < _FARTHEST_PX:
            painter.setPen(pen(scene.theme.ghost, 1.0))
            painter.drawLine(QLineF(at, QPointF(*built.tolist())))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    for width, name in ((4.5, scene.theme.ground), (1.8, scene.theme.ghost)):
        painter.setPen(pen(name, width))
        painter.drawEllipse(at, _RING_PX, _RING_PX)
    # The other centre has its text below: this one goes above.
    draw_tag(painter, scene, QPointF(at.x(), at.y() - 24), text, scene.theme.ghost)


def _in_sight(scene: Scene, at: Floats) -> bool:
    return bool(0 <= at[0] <= scene.camera.width and 0 <= at[1] <= scene.camera.height)
