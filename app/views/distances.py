"""What is written beside what is dragged: its place, and the distances that matter."""

from __future__ import annotations

import numpy as np
from PySide6.QtCore import QPointF
from PySide6.QtGui import QFontMetricsF, QPainter

from app.design import body_edits
from app.design.references import Reference
from app.picture.view import View
from app.theme import pen
from app.units import LengthUnit, show_length
from app.views.parts import placed_outline
from app.views.scene import Scene, wheel_corners
from geometry.axes import Floats
from geometry.plane import outline_gaps

SAME_AXLE_MM = 0.5
"""Kingpins no farther apart along the chassis stand on one axle."""
# An edge nearer than this is touched [mm].
_TOUCHES_MM = 0.05
_OFF_PX = 14.0
_EDGE_PX = 6.0
CORNER_PX = 4.0
"""Half the size of a body corner that is dragged [px]."""
# Two strokes on the diagonal part letters from lines as well as four around them would.
_RIM = (-0.9, 0.9)


def lines_of(view: View, thing: Reference, partner: int | None, unit: LengthUnit) -> list[str]:
    """Say where a thing stands and how far it is from others, line by line.

    Parameters
    ----------
    view : View
        The picture during the drag.
    thing : Reference
        A wheel or a body corner.
    partner : int, optional
        Number of the thing of the same kind that stands, or stood before the drag, at its mirrored place.
    unit : 'mm' or 'inch'
        Unit to show.
    """
    if thing.kind == "part":
        return _part_lines(view, thing.index, unit)
    return (
        _wheel_lines(view, thing.index, partner, unit)
        if thing.kind == "wheel"
        else _corner_lines(view, thing.index, unit)
    )


def _wheel_lines(view: View, index: int, partner: int | None, unit: LengthUnit) -> list[str]:
    wheels = view.robot.wheels
    x, y = float(wheels.x[index]), float(wheels.y[index])
    lines = [_place(x, y, unit)]
    if partner is not None and abs(float(wheels.x[partner]) - x) <= SAME_AXLE_MM:
        lines.append(f"track {show_length(abs(y - float(wheels.y[partner])), unit)}")
    away = wheels.x - x
    for word, gaps in (("ahead", away[away > SAME_AXLE_MM]), ("behind", -away[away < -SAME_AXLE_MM])):
        if len(gaps):
            lines.append(f"axle {word} {show_length(float(gaps.min()), unit)}")
    corners = wheel_corners(view)
    others = [i for i in range(len(corners)) if i != index]
    if others:
        gaps = outline_gaps(corners[index], corners[others])
        nearest = int(gaps.argmin())
        name, gap = view.design.wheels[others[nearest]].name, float(gaps[nearest])
        lines.append(f"meets {name}" if gap < _TOUCHES_MM else f"{show_length(gap, unit)} to {name}")
    if view.design.body_mm:
        gap = float(outline_gaps(corners[index], view.design.body_mm))
        lines.append(
            "on the body's edge" if gap < _TOUCHES_MM else f"{show_length(gap, unit)} to the body's edge"
        )
    return lines


def _part_lines(view: View, index: int, unit: LengthUnit) -> list[str]:
    """Place of a part, and the nearest other part and edge of the body as they are seen from above."""
    parts = view.design.packaging.parts
    outline = placed_outline(view, parts[index])
    lines = [_place(parts[index].x_mm, parts[index].y_mm, unit)]
    others = [
        (float(outline_gaps(outline, placed_outline(view, p))), p.name)
        for p in parts
        if p is not parts[index]
    ]
    if others:
        gap, name = min(others)
        lines.append(f"meets {name}" if gap < _TOUCHES_MM else f"{show_length(gap, unit)} to {name}")
    if view.design.body_mm:
        gap = float(outline_gaps(outline, view.design.body_mm))
        lines.append(
            "on the body's edge" if gap < _TOUCHES_MM else f"{show_length(gap, unit)} to the body's edge"
        )
    return lines


def _corner_lines(view: View, index: int, unit: LengthUnit) -> list[str]:
    length, width = body_edits.body_size(view.design)
    lines = [_place(*view.design.body_mm[index], unit)]
    if length is not None and width is not None:
        lines += [f"body length {show_length(length, unit)}", f"body width {show_length(width, unit)}"]
    return lines


def _place(x: float, y: float, unit: LengthUnit) -> str:
    return f"x {show_length(x, unit)}, y {show_length(y, unit)}"


def draw_lines(painter: QPainter, scene: Scene, thing: Reference, lines: list[str]) -> None:
    """Write lines beside a thing, with a rim of the ground round the letters."""
    metrics = QFontMetricsF(scene.font)
    tall, wide = metrics.height(), max(metrics.horizontalAdvance(line) for line in lines)
    left, top = _place_of_block(scene, thing, wide, tall * len(lines))
    places = [QPointF(left, top + n * tall + metrics.ascent()) for n in range(len(lines))]
    painter.setPen(pen(scene.theme.paper))
    for place, line in zip(places, lines, strict=True):
        for off in _RIM:
            painter.drawText(QPointF(place.x() + off, place.y() + off), line)
    painter.setPen(pen(scene.theme.ink))
    for place, line in zip(places, lines, strict=True):
        painter.drawText(place, line)


def _place_of_block(scene: Scene, thing: Reference, wide: float, tall: float) -> tuple[float, float]:
    """Left and top of what is written beside a thing [px].

    On its side towards the middle of the chassis, since its label stands on the other; where a tyre is in
    the way, before it, behind it, or beyond its label.
    """
    tyres = scene.camera.to_screen(wheel_corners(scene.view))
    x, y, reach_x, reach_y = _middle_and_reach(scene, thing, tyres)
    inward = 1.0 if x <= scene.camera.to_screen((0.0, _middle_y(scene.view)))[0] else -1.0
    beside, over = reach_x + _OFF_PX + 0.5 * wide, reach_y + _OFF_PX + 0.5 * tall
    tries = np.array(
        [
            (x + inward * beside, y),
            (x + inward * 0.5 * wide, y - over),
            (x + inward * 0.5 * wide, y + over),
            (x - inward * beside, y - over),
            (x - inward * beside, y + over),
        ]
    )
    half = np.array([0.5 * wide, 0.5 * tall])
    room = np.array([scene.camera.width, scene.camera.height]) - half - _EDGE_PX
    middles = np.maximum(np.minimum(tries, room), half + _EDGE_PX)
    floating = np.reshape(scene.options.obstacles, (-1, 4))
    low = np.concatenate([tyres.min(axis=1), floating[:, :2]])
    high = np.concatenate([tyres.max(axis=1), floating[:, 2:]])
    shared = np.minimum(middles[:, None] + half, high) - np.maximum(middles[:, None] - half, low)
    best = int(np.clip(shared, 0.0, None).prod(axis=2).sum(axis=1).argmin())
    left, top = (middles[best] - half).tolist()
    return left, top


def _middle_y(view: View) -> float:
    ys = [wheel.y_mm for wheel in view.design.wheels] or [y for _, y in view.design.body_mm]
    return sum(ys) / len(ys)


def _middle_and_reach(scene: Scene, thing: Reference, tyres: Floats) -> tuple[float, float, float, float]:
    """Where a thing is drawn, and how far it reaches across and along [px]."""
    if thing.kind == "wheel":
        tyre = tyres[thing.index]
        (x, y), (reach_x, reach_y) = tyre.mean(axis=0).tolist(), (0.5 * np.ptp(tyre, axis=0)).tolist()
        return x, y, reach_x, reach_y
    if thing.kind == "part":
        part = scene.camera.to_screen(
            placed_outline(scene.view, scene.view.design.packaging.parts[thing.index])
        )
        (x, y), (reach_x, reach_y) = part.mean(axis=0).tolist(), (0.5 * np.ptp(part, axis=0)).tolist()
        return x, y, reach_x, reach_y
    x, y = scene.camera.to_screen(scene.view.design.body_mm[thing.index]).tolist()
    return x, y, CORNER_PX, CORNER_PX
