"""Marks of the wheels: tyres, rolling direction, labels."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QFontMetricsF, QPainter, QPolygonF

from app.design.references import Reference
from app.picture.view import WheelRow
from app.theme import colour, mixed, pen
from app.units import show_angle, show_length
from app.views.ideal import RING_PX, ideal_at
from app.views.scene import CROSS_PX, Scene, polygon, wheel_corners
from geometry.axes import Floats
from geometry.kinematics.alignment import CALM


def draw_wheels(painter: QPainter, scene: Scene) -> None:
    """Draw every tyre as it stands, turned, with its kingpin."""
    view, theme = scene.view, scene.theme
    if not view.design.wheels:
        return
    tyres = scene.camera.to_screen(wheel_corners(view))
    kingpins = scene.camera.to_screen(np.stack([view.robot.wheels.x, view.robot.wheels.y], axis=1))
    contacts = scene.contacts
    for i, wheel in enumerate(view.design.wheels):
        chosen = i in view.selected_wheels
        shape = polygon(tyres[i])
        painter.setBrush(colour(theme.wheel(wheel.kind)))
        if chosen or Reference("wheel", i) == scene.hover:
            lit = theme.accent if chosen else mixed(theme.accent, theme.paper, 0.55)
            painter.setPen(pen(lit, 5.0 if chosen else 3.0))
            painter.drawPolygon(shape)
        painter.setPen(pen(theme.tyre_line, 1.2))
        painter.drawPolygon(shape)
        _draw_kind(painter, scene, wheel.kind, kingpins[i], contacts[i])
    _draw_rolling(painter, scene, contacts)


def _draw_kind(painter: QPainter, scene: Scene, kind: str, kingpin: Floats, contact: Floats) -> None:
    """Mark the kingpin: a ring where the wheel steers, a dot where it is fixed."""
    at = QPointF(*kingpin.tolist())
    if abs(kingpin - contact).max() > 1.0:
        painter.setPen(pen(scene.theme.tyre_line, 2.0))
        painter.drawLine(at, QPointF(*contact.tolist()))
    painter.setPen(pen(scene.theme.tyre_line, 1.4))
    painter.setBrush(colour(scene.theme.paper))
    if kind == "fixed":
        painter.drawRect(QRectF(at.x() - 2, at.y() - 2, 4, 4))
    else:
        painter.drawEllipse(at, 3.6, 3.6)
        if kind == "caster":
            painter.drawEllipse(at, 1.2, 1.2)


def _draw_rolling(painter: QPainter, scene: Scene, contacts: Floats) -> None:
    """Draw an arrow before each wheel, the way it rolls, longer where it is faster."""
    view = scene.view
    roll = view.alignment.roll[0]
    fastest = float(np.abs(roll).max(initial=0.0))
    if fastest <= 0:
        return
    share = roll / fastest
    ahead = np.stack([-np.sin(view.heading), -np.cos(view.heading)], axis=1) * np.sign(share)[:, None]
    painter.setPen(pen(scene.theme.ink, 1.6))
    painter.setBrush(colour(scene.theme.ink))
    for i, wheel in enumerate(view.design.wheels):
        if abs(share[i]) < 1e-3:
            continue
        start = contacts[i] + ahead[i] * (0.5 * wheel.diameter_mm * scene.camera.scale + 3.0)
        tip = start + ahead[i] * (7.0 + 15.0 * abs(share[i]))
        neck = tip - ahead[i] * 7.0
        aside = np.array([-ahead[i][1], ahead[i][0]]) * 3.5
        painter.drawLine(QLineF(start[0], start[1], neck[0], neck[1]))
        painter.drawPolygon(QPolygonF([QPointF(*tip), QPointF(*(neck + aside)), QPointF(*(neck - aside))]))


def label_lines(row: WheelRow, scene: Scene) -> list[str]:
    """Name, angle, the ideal one beside it, and, where it is not aligned, what is wrong."""
    angle = row.heading if row.kind != "steered" else row.steer
    lines = [row.name, show_angle(angle)]
    if row.ideal is not None and row.index in scene.ghosts:
        lines.append(f"(ideal {show_angle(row.ideal)})")
    if row.state in ("slight drag", "drags"):
        miss = (
            f"misses {show_length(row.miss, scene.options.unit, of_mm=1)}"
            if math.isfinite(row.miss)
            else "askew"
        )
        lines.append(f"{'△' if row.state == 'slight drag' else '▲'} {miss}")
    if "flipped" in row.notes:
        lines.append("⇅ flipped")
    return lines


@dataclass(frozen=True)
class Label:
    """What is written beside a wheel, and where."""

    row: WheelRow
    lines: list[str]
    plate: QRectF
    to_left: bool
    """Whether it stands to the left of its wheel."""


def label_plates(scene: Scene) -> list[Label]:
    """Labels beside the wheels, on the side away from the chassis; what would overlap is left out.

    Selected wheels come first, then those that drag, so that what matters stays readable. A label
    steps aside from the cross at the turn centre and from the ring at the ideal one.
    """
    if not scene.options.labels:
        return []
    metrics = QFontMetricsF(scene.font)
    placed: list[Label] = []
    for row in sorted(scene.view.rows, key=lambda row: _label_order(row, scene)):
        lines = label_lines(row, scene)
        plate, to_left = _label_plate(row, lines, scene, metrics)
        free = [
            place
            for place in _off_the_centres(plate, scene)
            if not any(place.intersects(other.plate) for other in placed)
        ]
        if free:
            placed.append(Label(row, lines, free[0], to_left))
    return placed


def _off_the_centres(plate: QRectF, scene: Scene) -> list[QRectF]:
    """The places of a label, the best first: above or below the centre marks where they are in its way."""
    marks = [_square(scene.centre.tolist(), CROSS_PX + 2)] if np.isfinite(scene.centre).all() else []
    ideal = ideal_at(scene)
    if ideal is not None:
        marks.append(_square(ideal, RING_PX + 2))
    if not any(plate.intersects(mark) for mark in marks):
        return [plate]
    above = plate.translated(0.0, min(mark.top() for mark in marks) - plate.bottom())
    below = plate.translated(0.0, max(mark.bottom() for mark in marks) - plate.top())
    return [*sorted((above, below), key=lambda place: abs(place.top() - plate.top())), plate]


def _square(at: Sequence[float], reach: float) -> QRectF:
    return QRectF(at[0] - reach, at[1] - reach, 2 * reach, 2 * reach)


def draw_labels(painter: QPainter, scene: Scene, labels: list[Label] | None = None) -> None:
    """Write beside each wheel; the labels of this scene are found unless they are known."""
    tall = QFontMetricsF(scene.font).height()
    for label in label_plates(scene) if labels is None else labels:
        plate = label.plate
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(colour(scene.theme.paper))
        painter.drawRoundedRect(plate, 3, 3)
        side = Qt.AlignmentFlag.AlignRight if label.to_left else Qt.AlignmentFlag.AlignLeft
        for n, line in enumerate(label.lines):
            painter.setPen(pen(_tone_of(n, line, label.row, scene)))
            spot = QRectF(plate.left() + 4, plate.top() + 2 + n * tall, plate.width() - 8, tall)
            painter.drawText(spot, int(side | Qt.AlignmentFlag.AlignVCenter), line)


def _tone_of(n: int, line: str, row: WheelRow, scene: Scene) -> str:
    if line.startswith("(ideal"):
        return scene.theme.ghost
    return (scene.theme.faint, scene.theme.ink)[n] if n < 2 else scene.theme.state(row.state)


def _label_order(row: WheelRow, scene: Scene) -> tuple[bool, bool, bool, int]:
    calm = row.state in CALM
    chosen = row.index in scene.view.selected_wheels
    return not chosen, Reference("wheel", row.index) != scene.hover, calm, row.index


def _label_plate(
    row: WheelRow, lines: list[str], scene: Scene, metrics: QFontMetricsF
) -> tuple[QRectF, bool]:
    """Where a label stands, and whether that is to the left of its wheel."""
    wheel = scene.view.design.wheels[row.index]
    at = scene.contacts[row.index]
    wide = max(metrics.horizontalAdvance(line) for line in lines) + 8
    tall = metrics.height() * len(lines) + 4
    reach = 0.5 * math.hypot(wheel.diameter_mm, wheel.width_mm) * scene.camera.scale + 6
    to_left = wheel.y_mm >= float(np.mean(scene.view.robot.wheels.y))
    x = at[0] - reach - wide if to_left else at[0] + reach
    return QRectF(x, at[1] - 0.5 * tall, wide, tall), to_left
