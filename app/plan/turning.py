"""Marks of the turn: axle lines, arcs, the turn centre."""

from __future__ import annotations

import math

import numpy as np
from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QFontMetricsF, QPainter, QPolygonF

from app.plan.scene import Scene, polygon
from app.theme import colour, mixed, pen
from app.units import show_length
from geometry.alignment import CALM
from geometry.axes import Floats
from geometry.motion import pose_after
from geometry.plane import clip_line

_EDGE = 26.0
"""How far from the edge the mark of an unseen turn centre stands [px]."""
MOST_ARC_POINTS = 361


def draw_arcs(painter: QPainter, scene: Scene) -> None:
    """Draw each wheel's path near it, or its whole circle."""
    view = scene.view
    if not len(view.contacts):
        return
    painter.setBrush(Qt.BrushStyle.NoBrush)
    # One pixel and no more: Qt strokes a wider curve some thirty times slower.
    painter.setPen(pen(scene.theme.arc, 1.0))
    if scene.options.full_circles and _span_of_circle(scene) <= _span_in_sight(scene):
        middle = QPointF(*scene.centre.tolist())
        for radius in (view.alignment.radius[0] * scene.camera.scale).tolist():
            painter.drawEllipse(middle, radius, radius)
        return
    screen = scene.camera.to_screen(arc_paths(scene))
    for i in range(screen.shape[1]):
        painter.drawPolyline(polygon(screen[:, i]))


def arc_paths(scene: Scene) -> Floats:
    """Points of every wheel's path, (T, N, 2) [mm]."""
    view = scene.view
    span, count = 0.7 * view.facts.size / _fastest(scene), 49
    if scene.options.full_circles:
        span, count = min(_span_of_circle(scene), _span_in_sight(scene)), MOST_ARC_POINTS
    times = np.linspace(-span, span, count)
    pose = pose_after(view.motion.twist, times)[0]
    cos, sin = np.cos(pose[:, 2])[:, None], np.sin(pose[:, 2])[:, None]
    x, y = view.contacts[:, 0][None, :], view.contacts[:, 1][None, :]
    return np.stack([pose[:, :1] + x * cos - y * sin, pose[:, 1:2] + x * sin + y * cos], axis=-1)


def _fastest(scene: Scene) -> float:
    """Speed of the fastest contact, never 0 [speed units]."""
    found = scene.view.alignment
    return max(float(np.hypot(found.roll, found.side).max()), 1e-9)


def _span_of_circle(scene: Scene) -> float:
    """Time for half a circle; infinite where the path has no end."""
    rate = abs(float(scene.view.motion.twist[0, 2]))
    return math.pi / rate if rate > 0 else math.inf


def _span_in_sight(scene: Scene) -> float:
    """Time for a way of a few canvases: what is beyond cannot be seen."""
    camera = scene.camera
    reach = 4.0 * (camera.width + camera.height) / camera.scale + scene.view.facts.size
    return reach / _fastest(scene)


def draw_axle_lines(painter: QPainter, scene: Scene) -> None:
    """Draw each axle line through the view, stronger from the wheel towards the turn centre.

    Lines are clipped here: Qt takes seconds to dash a line that is kilometres long.
    """
    view, camera = scene.view, scene.camera
    if not len(view.contacts):
        return
    start = scene.contacts
    # A left normal (-sin, cos) in the chassis points to (-cos, sin) on the screen, y down.
    across = np.stack([-np.cos(view.heading), np.sin(view.heading)], axis=1)
    t_in, t_out = clip_line(start, across, (-4.0, -4.0), (camera.width + 4.0, camera.height + 4.0))
    toward = _toward_centre(scene, start, across)
    faint = mixed(scene.theme.axle, scene.theme.ground, 0.3)
    for i, state in enumerate(view.states):
        if t_in[i] > t_out[i]:
            continue
        a, b = start[i] + t_in[i] * across[i], start[i] + t_out[i] * across[i]
        painter.setPen(pen(faint))
        painter.drawLine(QLineF(a[0], a[1], b[0], b[1]))
        low, high = max(min(0.0, toward[i]), t_in[i]), min(max(0.0, toward[i]), t_out[i])
        if low >= high:
            continue
        a, b = start[i] + low * across[i], start[i] + high * across[i]
        drags = state in ("slight drag", "drags")
        style = Qt.PenStyle.DashLine if drags else Qt.PenStyle.SolidLine
        painter.setPen(pen(scene.theme.state(state) if drags else scene.theme.axle, 1.5, style))
        painter.drawLine(QLineF(a[0], a[1], b[0], b[1]))
        if drags:
            _draw_miss(painter, scene, start[i] + toward[i] * across[i])


def _toward_centre(scene: Scene, start: Floats, across: Floats) -> Floats:
    """How far along each axle line its nearest point to the turn centre is, (N,) [px]."""
    if not np.isfinite(scene.view.centre).all():
        return np.zeros(len(start))
    centre = scene.centre
    return np.asarray(np.einsum("ni,ni->n", centre - start, across))


def _draw_miss(painter: QPainter, scene: Scene, foot: Floats) -> None:
    """Draw the gap between an axle line and the turn centre."""
    centre = scene.centre
    if not (np.isfinite(centre).all() and np.abs(centre).max() < 20_000 and np.abs(foot).max() < 20_000):
        return
    painter.setPen(pen(scene.theme.bad, 2.5))
    painter.drawLine(QLineF(foot[0], foot[1], centre[0], centre[1]))


def draw_centre(painter: QPainter, scene: Scene) -> None:
    """Draw the turn centre, or at the edge where and how far it is."""
    view, camera = scene.view, scene.camera
    if not np.isfinite(view.centre).all():
        draw_tag(painter, scene, QPointF(0.5 * camera.width, 18.0), "straight ahead: no turn centre")
        return
    at = scene.centre
    if 0 <= at[0] <= camera.width and 0 <= at[1] <= camera.height:
        _draw_cross(painter, scene, QPointF(*at.tolist()))
    else:
        _draw_edge_mark(painter, scene, at)


def draw_best_fit(painter: QPainter, scene: Scene) -> None:
    """Draw where the axle lines meet best, when they do not all meet the turn centre."""
    view = scene.view
    if view.verdict.state in CALM or not np.isfinite(view.best_fit).all():
        return
    x, y = scene.camera.to_screen(view.best_fit).tolist()
    if not (0 <= x <= scene.camera.width and 0 <= y <= scene.camera.height):
        return
    diamond = QPolygonF([QPointF(x, y - 8), QPointF(x + 8, y), QPointF(x, y + 8), QPointF(x - 8, y)])
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.setPen(pen(scene.theme.bad, 1.8))
    painter.drawPolygon(diamond)
    gap = float(np.hypot(*(view.best_fit - view.centre))) if np.isfinite(view.centre).all() else math.inf
    if math.isinf(gap) or gap * scene.camera.scale > 12:
        draw_tag(painter, scene, QPointF(x, y - 22), "best fit of the axles")


def _draw_cross(painter: QPainter, scene: Scene, at: QPointF) -> None:
    painter.setPen(pen(scene.theme.ground, 5.0))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    for width, name in ((5.0, scene.theme.ground), (2.0, scene.theme.centre)):
        painter.setPen(pen(name, width))
        painter.drawEllipse(at, 7, 7)
        painter.drawLines(
            [
                QLineF(at.x() - 12, at.y(), at.x() + 12, at.y()),
                QLineF(at.x(), at.y() - 12, at.x(), at.y() + 12),
            ]
        )
    radius = scene.view.true_radius
    side = "left" if radius > 0 else "right"
    size = show_length(abs(radius), scene.options.unit, digits=1)
    text = "turn centre" if abs(radius) < 0.05 else f"turn centre, {size} {side}"
    draw_tag(painter, scene, QPointF(at.x(), at.y() + 26), text)


def _draw_edge_mark(painter: QPainter, scene: Scene, at: Floats) -> None:
    """Draw an arrow at the edge that points to an unseen turn centre."""
    camera, view = scene.camera, scene.view
    middle = np.array([0.5 * camera.width, 0.5 * camera.height])
    direction = at - middle
    direction /= np.hypot(*direction)
    low, high = (_EDGE, _EDGE), (camera.width - _EDGE, camera.height - _EDGE)
    _, t = clip_line([middle], [direction], low, high)
    tip = middle + t[0] * direction
    back = tip - 12 * direction
    aside = np.array([-direction[1], direction[0]]) * 7
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(colour(scene.theme.centre))
    painter.drawPolygon(QPolygonF([QPointF(*tip), QPointF(*(back + aside)), QPointF(*(back - aside))]))
    away = float(np.hypot(*(view.centre - np.array([view.facts.base.x, 0.0]))))
    side = "left" if view.true_radius > 0 else "right"
    text = f"turn centre {show_length(away, scene.options.unit, digits=0)} to the {side}"
    draw_tag(painter, scene, QPointF(tip[0], tip[1] + (22 if tip[1] < 0.7 * camera.height else -22)), text)


def draw_tag(painter: QPainter, scene: Scene, middle: QPointF, text: str, tone: str = "") -> None:
    """Draw a short text on a plate, kept within the canvas; in the colour of the centre by itself."""
    metrics = QFontMetricsF(scene.font)
    wide, tall = metrics.horizontalAdvance(text) + 12, metrics.height() + 4
    x = min(max(middle.x() - 0.5 * wide, 4.0), max(scene.camera.width - wide - 4.0, 4.0))
    y = min(max(middle.y() - 0.5 * tall, 4.0), max(scene.camera.height - tall - 4.0, 4.0))
    plate = QRectF(x, y, wide, tall)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(colour(scene.theme.label))
    painter.drawRoundedRect(plate, 4, 4)
    painter.setPen(pen(tone or scene.theme.centre))
    painter.drawText(plate, int(Qt.AlignmentFlag.AlignCenter), text)
