"""Marks of what would suit, beside what the motors do: dashed wheels, a ring for the turn centre."""

from __future__ import annotations

import numpy as np
from PySide6.QtCore import QLineF, QPointF, Qt
from PySide6.QtGui import QPainter

from app.theme import pen
from app.units import show_length
from app.views.scene import Scene, polygon, tyre_corners
from app.views.tags import Tag
from geometry.axes import Floats
from geometry.kinematics.alignment import contacts

LEAST_GAP_MM = 0.05
RING_PX = 10.0
"""Radius of the ring at the turn centre that is asked for [px]."""
# A line between centres that are farther away than that is not drawn.
_FARTHEST_PX = 20_000.0


def draw_ghosts(painter: QPainter, scene: Scene) -> None:
    """Draw the outline of each wheel at its ideal angle, where the motors give it another."""
    ghosts = scene.ghosts
    if not ghosts:
        return
    _, contact, heading = ghost_wheels(scene)
    screen = scene.camera.to_screen(tyre_corners(scene.view, heading, contact))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    for i in ghosts:
        shape = polygon(screen[i])
        # A light rim first, so that the dashes stand out from the tyre below them.
        painter.setPen(pen(scene.theme.paper, 2.4))
        painter.drawPolygon(shape)
        painter.setPen(pen(scene.theme.ghost, 1.6, Qt.PenStyle.DashLine))
        painter.drawPolygon(shape)


def ghost_wheels(scene: Scene) -> tuple[list[int], Floats, Floats]:
    """Wheels with a ghost, and the ideal contact point (N, 2) [mm] and heading (N,) [rad] of all."""
    heading = scene.view.response.ideal.heading
    x, y = contacts(scene.view.robot.wheels, heading)
    return list(scene.ghosts), np.stack([x[0], y[0]], axis=1), heading[0]


def draw_ideal_centre(painter: QPainter, scene: Scene) -> None:
    """Draw the turn centre that is asked for as a ring, and a line from it to where the chassis turns."""
    ideal = ideal_at(scene)
    if ideal is None:
        return
    at, built = QPointF(*ideal), scene.centre
    if np.isfinite(built).all() and np.abs(built).max() < _FARTHEST_PX:
        painter.setPen(pen(scene.theme.ghost, 1.0))
        painter.drawLine(QLineF(at, QPointF(*built.tolist())))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    for width, name in ((4.5, scene.theme.paper), (1.8, scene.theme.ghost)):
        painter.setPen(pen(name, width))
        painter.drawEllipse(at, RING_PX, RING_PX)


def ideal_tag(scene: Scene) -> Tag | None:
    """How far from the turn centre that is asked for the chassis turns; None where that is not drawn."""
    ideal = ideal_at(scene)
    if ideal is None:
        return None
    text = "ideal turn centre"
    if np.isfinite(scene.centre).all():
        text = f"ideal, {show_length(scene.view.gap, scene.options.unit, of_mm=1)} away"
    # The other centre has its text below: this one goes above.
    return Tag(text, ideal, RING_PX, scene.theme.ghost, above=True)


def ideal_at(scene: Scene) -> tuple[float, float] | None:
    """Where the turn centre that is asked for is drawn [px]; None where the chassis turns about it."""
    view = scene.view
    if not view.motored or not scene.options.ideal or view.gap <= LEAST_GAP_MM:
        return None
    if not np.isfinite(view.asked_centre).all():
        return None
    x, y = scene.camera.to_screen(view.asked_centre).tolist()
    return (x, y) if 0 <= x <= scene.camera.width and 0 <= y <= scene.camera.height else None
