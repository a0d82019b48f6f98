"""Marks of the turn: axle lines, arcs, the turn centre."""

from __future__ import annotations

import math

import numpy as np
from PySide6.QtCore import QLineF, QPointF, Qt
from PySide6.QtGui import QPainter, QPolygonF

from app.theme import colour, mixed, pen
from app.units import show_length
from app.views.scene import CROSS_PX, Scene, polygon
from app.views.tags import Tag
from geometry.axes import Floats
from geometry.kinematics.alignment import CALM
from geometry.kinematics.motion import pose_after

MOST_ARC_POINTS = 361
_STEPPED_BACK = 0.6
# Shapes beside colours: long dashes for slight drag, short and thick ones for drag.
_STROKES = {"slight drag": (1.5, Qt.PenStyle.DashLine), "drags": (3.0, Qt.PenStyle.DotLine)}
_FAR_MM = 1e8
DIAMOND_PX = 8.0
"""Half the size of the mark of the best fit [px]."""


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


def arc_paths(scene: Scene, most: int = MOST_ARC_POINTS) -> Floats:
    """Points of every wheel's path, at most so many for each, (T, N, 2) [mm]."""
    view = scene.view
    span, count = 0.7 * view.facts.size / _fastest(scene), 49
    if scene.options.full_circles:
        span, count = min(_span_of_circle(scene), _span_in_sight(scene)), MOST_ARC_POINTS
    times = np.linspace(-span, span, min(count, most))
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
    view, axles = scene.view, scene.axles
    start, across, t_in, t_out, toward = axles.start, axles.across, axles.t_in, axles.t_out, axles.toward
    strength = _STEPPED_BACK if scene.options.faint_lines else 1.0
    faint = mixed(scene.theme.accent, scene.theme.paper, 0.3 * strength)
    aligned = mixed(scene.theme.accent, scene.theme.paper, strength)
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
        width, style = _STROKES.get(state, (1.5, Qt.PenStyle.SolidLine))
        off = state in _STROKES
        painter.setPen(pen(scene.theme.state(state) if off else aligned, width, style))
        painter.drawLine(QLineF(a[0], a[1], b[0], b[1]))
        if off:
            _draw_triangle(painter, scene, 0.5 * (a + b), state)
            _draw_miss(painter, scene, start[i] + toward[i] * across[i])


def _draw_triangle(painter: QPainter, scene: Scene, middle: Floats, state: str) -> None:
    """Mark a line that misses: hollow for slight drag, filled for drag."""
    x, y = middle.tolist()
    tone, theme = scene.theme.state(state), scene.theme
    painter.setPen(pen(tone, 1.5))
    painter.setBrush(colour(tone if state == "drags" else theme.paper))
    painter.drawPolygon(
        QPolygonF([QPointF(x, y - 6.0), QPointF(x + 6.0, y + 5.0), QPointF(x - 6.0, y + 5.0)])
    )


def _draw_miss(painter: QPainter, scene: Scene, foot: Floats) -> None:
    """Draw the gap between an axle line and the turn centre."""
    centre = scene.centre
    if not (np.isfinite(centre).all() and np.abs(centre).max() < 20_000 and np.abs(foot).max() < 20_000):
        return
    painter.setPen(pen(scene.theme.bad, 2.5))
    painter.drawLine(QLineF(foot[0], foot[1], centre[0], centre[1]))


def draw_centre(painter: QPainter, scene: Scene) -> None:
    """Draw the turn centre, or at the edge an arrow towards it; nothing straight ahead."""
    if not np.isfinite(scene.view.centre).all():
        return
    if in_sight(scene, scene.centre):
        _draw_cross(painter, scene, QPointF(*scene.centre.tolist()))
    else:
        _draw_edge_mark(painter, scene)


def centre_tag(scene: Scene) -> Tag:
    """What the mark of the turn centre says."""
    view, camera, unit = scene.view, scene.camera, scene.options.unit
    tone = scene.theme.accent
    if not np.isfinite(view.centre).all():
        top = (0.5 * camera.width, 0.0)
        return Tag("straight ahead: no turn centre", top, 0.0, tone)
    side = "left" if view.true_radius > 0 else "right"
    if in_sight(scene, scene.centre):
        size = abs(view.true_radius)
        text = "turn centre" if size < 0.05 else f"turn centre, {show_length(size, unit, of_mm=1)} {side}"
        return Tag(text, _pair(scene.centre), CROSS_PX, tone, needed=True)
    away = float(np.hypot(*(view.centre - np.array([view.robot.base.x, 0.0]))))
    # A hair's breadth from straight ahead the distance has hundreds of digits.
    how_far = show_length(away, unit, of_mm=0) if away < _FAR_MM else "far"
    text = f"turn centre, {how_far} to the {side}"
    tip, _ = scene.edge_arrow
    return Tag(text, _pair(tip), CROSS_PX, tone, above=bool(tip[1] >= 0.7 * camera.height))


def draw_best_fit(painter: QPainter, scene: Scene) -> None:
    """Draw where the axle lines meet best, when they do not all meet the turn centre."""
    at = best_fit_at(scene)
    if at is None:
        return
    (x, y), r = at, DIAMOND_PX
    diamond = QPolygonF([QPointF(x, y - r), QPointF(x + r, y), QPointF(x, y + r), QPointF(x - r, y)])
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.setPen(pen(scene.theme.bad, 1.8))
    painter.drawPolygon(diamond)


def best_fit_tag(scene: Scene) -> Tag | None:
    """What the mark of the best fit says; None where it is not drawn, or lies on the turn centre."""
    at, view = best_fit_at(scene), scene.view
    if at is None:
        return None
    gap = float(np.hypot(*(view.best_fit - view.centre))) if np.isfinite(view.centre).all() else math.inf
    if gap * scene.camera.scale <= 12:
        return None
    return Tag("best fit of the axles", at, DIAMOND_PX, scene.theme.accent, above=True)


def best_fit_at(scene: Scene) -> tuple[float, float] | None:
    """Where the best fit of the axle lines is drawn [px]."""
    view = scene.view
    if view.verdict.state in CALM or not np.isfinite(view.best_fit).all():
        return None
    at = scene.camera.to_screen(view.best_fit)
    return _pair(at) if in_sight(scene, at) else None


def in_sight(scene: Scene, at: Floats) -> bool:
    """Whether a pixel (2,) is on the canvas."""
    return bool(0 <= at[0] <= scene.camera.width and 0 <= at[1] <= scene.camera.height)


def _pair(at: Floats) -> tuple[float, float]:
    return float(at[0]), float(at[1])


def _draw_cross(painter: QPainter, scene: Scene, at: QPointF) -> None:
    painter.setBrush(Qt.BrushStyle.NoBrush)
    for width, name in ((5.0, scene.theme.paper), (2.0, scene.theme.accent)):
        painter.setPen(pen(name, width))
        painter.drawEllipse(at, 7, 7)
        painter.drawLines(
            [
                QLineF(at.x() - CROSS_PX, at.y(), at.x() + CROSS_PX, at.y()),
                QLineF(at.x(), at.y() - CROSS_PX, at.x(), at.y() + CROSS_PX),
            ]
        )


def _draw_edge_mark(painter: QPainter, scene: Scene) -> None:
    """Draw an arrow at the edge that points to an unseen turn centre."""
    tip, direction = scene.edge_arrow
    back = tip - 12 * direction
    aside = np.array([-direction[1], direction[0]]) * 7
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(colour(scene.theme.accent))
    painter.drawPolygon(QPolygonF([QPointF(*tip), QPointF(*(back + aside)), QPointF(*(back - aside))]))
