"""Which motor does what, on the plan: a mark for each motor, right-angled lines to its wheels, a legend.

A steer motor is a round mark with full lines, a drive motor a square one with dashed lines. A wheel that
lacks a drive motor is hollow and dashed, and the kingpin of one that lacks a steer motor is dashed.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QFont, QFontMetricsF, QPainter

from app.design import motor_edits
from app.design.motor_edits import MotorKind
from app.design.references import Kind, Reference
from app.picture.view import View
from app.theme import colour, mixed, pen, sized
from app.views.camera import Camera
from app.views.scene import Scene, polygon, wheel_corners
from app.words.motor_words import ratio_words
from geometry.model.motors import Gearing

KIND_OF: dict[MotorKind, Kind] = {"steer": "steer motor", "drive": "drive motor"}
KINDS: tuple[MotorKind, ...] = ("drive", "steer")
"""The drive motors come first: they stand nearest to their wheels."""
_LARGEST_MARK, _SMALLEST_MARK = 14.0, 8.0
"""Half the size of a motor's mark [px]."""
_PITCHES = (34.0, 24.0, 16.0, 10.0)
"""Distances between lines side by side; the wide ones are tried first [px]."""
_LANES = 8
_OFF_TYRE = 24.0
_ALONG: dict[MotorKind, tuple[float, ...]] = {
    "steer": (0.4, 0.5, 0.3, 0.6, 0.2, 0.7, 0.8),
    "drive": (0.6, 0.5, 0.7, 0.4, 0.8, 0.3, 0.2),
}
"""Where on its line a mark may stand, as shares of the line's length, the best first."""
_SAME_PX = 1.0
_END_GAP = 6.0
_NARROW = 60.0
"""Wheels no wider apart stand in one line, for what is drawn beside them [px]."""
_LEGEND_AT = (16.0, 12.0)
"""Where nothing floats at the top left [px]."""
_LEGEND_ROW = 24.0


@dataclass(frozen=True)
class MotorMark:
    """Where a motor stands on the plan, and how its lines run."""

    kind: MotorKind
    index: int
    at: tuple[float, float]
    """Middle of its mark [px]."""
    half: float
    """Half the size of its mark [px]."""
    ends: tuple[tuple[float, float], ...]
    """Where its lines meet its wheels [px]."""

    @property
    def reference(self) -> Reference:
        """What the mark stands for."""
        return Reference(KIND_OF[self.kind], self.index)

    @property
    def box(self) -> QRectF:
        """Where the mark is."""
        return _square(self.at, self.half)

    @property
    def lines(self) -> list[QLineF]:
        """From each wheel straight across to one line along the chassis, on which the mark stands."""
        x, y = self.at
        rows = [row for _, row in self.ends] + [y]
        across = [QLineF(px, py, x, py) for px, py in self.ends]
        return [*across, QLineF(x, min(rows), x, max(rows))]


def motor_words(view: View) -> tuple[str, ...]:
    """What stands in the label of each wheel: its motors with their gearing, or which motor it lacks.

    Parameters
    ----------
    view : View
        What is shown.

    Returns
    -------
    tuple of str, (N,)
        One for each wheel, such as "S1 × 1, D1 12:36" or "no drive motor"; "" where there is nothing to
        say: without any motor, or at a wheel that neither steers nor is driven.
    """
    design = view.design
    parts: dict[str, list[str]] = {wheel.name: [] for wheel in design.wheels}
    for kind in reversed(KINDS):
        for index, motor in enumerate(motor_edits.motors_of(design, kind)):
            for gearing in motor.wheels:
                parts[gearing.wheel].append(_geared(motor_edits.short_name(kind, index), gearing))
        for name in motor_edits.lacking(design, kind):
            parts[name].append(f"no {kind} motor")
    return tuple(", ".join(found) for found in parts.values())


def _geared(motor: str, gearing: Gearing) -> str:
    return (
        f"{motor} × {ratio_words(gearing)}"
        if gearing.ratio is not None
        else f"{motor} {ratio_words(gearing)}"
    )


def _square(at: tuple[float, float], half: float) -> QRectF:
    return QRectF(at[0] - half, at[1] - half, 2 * half, 2 * half)


def _meets(box: QRectF, *others: Sequence[QRectF]) -> bool:
    return any(box.intersects(other) for group in others for other in group)


# Where the marks stand ---------------------------------------------------------------------


def motor_marks(view: View, camera: Camera) -> tuple[MotorMark, ...]:
    """Find a place for the mark of each motor, between the wheels and off their tyres.

    The lines of a motor run straight across from its wheels to one line along the chassis. That line is the
    first beside the tyres that keeps clear of other such lines, of marks and of tyres; where room is short
    they come closer.

    Parameters
    ----------
    view : View
        What is shown.
    camera : Camera
        Where the plan looks.

    Returns
    -------
    tuple of MotorMark
        The steer motors in their order, then the drive motors.
    """
    design = view.design
    if not design.steer_motors and not design.drive_motors:
        return ()
    room = _Room(view, camera)
    found: list[MotorMark] = []
    for kind in KINDS:
        for index, motor in enumerate(motor_edits.motors_of(design, kind)):
            held = [design.index_of(gearing.wheel) for gearing in motor.wheels]
            found.append(room.place(kind, index, held))
    return tuple(sorted(found, key=lambda mark: (KINDS[::-1].index(mark.kind), mark.index)))


def motor_under(view: View, camera: Camera, px: float, py: float) -> Reference | None:
    """The motor whose mark is under a pixel."""
    under = (mark for mark in motor_marks(view, camera) if mark.box.contains(px, py))
    return next((mark.reference for mark in under), None)


class _Room:
    """What is free between the wheels, on the screen [px]."""

    def __init__(self, view: View, camera: Camera) -> None:
        wheels = view.robot.wheels
        kingpins = camera.to_screen(np.stack([wheels.x, wheels.y], axis=1))
        self._at: list[tuple[float, float]] = [(x, y) for x, y in kingpins.tolist()]
        self._reach = [0.5 * camera.scale * wheel.diameter_mm for wheel in view.design.wheels]
        across, along = kingpins[:, 0], kingpins[:, 1]
        self._middle = 0.5 * float(across.min() + across.max())
        wide, tall = float(across.max() - across.min()), float(along.max() - along.min())
        self._rows: list[float] = np.unique(along.round()).tolist()
        # Small enough that one mark goes between two rows of wheels, and two go between left and right.
        size = min(
            tall / 20.0,
            0.22 * min((b - a for a, b in itertools.pairwise(self._rows)), default=math.inf),
            wide / 10.0 if wide > _NARROW else math.inf,
        )
        self._half = min(max(size, _SMALLEST_MARK), _LARGEST_MARK)
        # Between the wheels of both sides; beside them where they stand in one line.
        self._bounds = (float(across.min()), float(across.max())) if wide > _NARROW else (-math.inf, math.inf)
        # A drive line leaves its wheel a little behind the kingpin, where the steer line leaves it.
        self._behind = min(max(0.45 * float(np.mean(self._reach)), 5.0), 15.0)
        self._tyres = [
            QRectF(x - r, y - r, 2 * r, 2 * r) for (x, y), r in zip(self._at, self._reach, strict=True)
        ]
        self._marks: list[QRectF] = []
        self._rails: list[QRectF] = []
        """Lines along the chassis that stand already."""

    def place(self, kind: MotorKind, index: int, held: Sequence[int]) -> MotorMark:
        """Give a motor that holds these wheels its place, and keep it from others."""
        behind = self._behind if kind == "drive" else 0.0
        ends = tuple((self._at[i][0], self._at[i][1] + behind) for i in held)
        rows = [y for _, y in ends]
        low, high = min(rows), max(rows)
        shares = self._shares(kind, low, high)
        second: tuple[float, float] | None = None
        top, bottom = low - self._half - 1.0, high + self._half + 1.0
        marks, tyres, rails = (
            [box for box in group if box.top() < bottom and box.bottom() > top]
            for group in (self._marks, self._tyres, self._rails)
        )
        for x, clear in self._lanes(held):
            # A little longer than it is: two lines that only touch would look like one.
            line = QRectF(x - 0.5 * clear, low - _END_GAP, clear, high - low + 2 * _END_GAP)
            free_line = not _meets(line, rails, marks, tyres)
            for share in shares:
                at = (x, low + share * (high - low))
                box = _square(at, self._half + 1.0)
                if _meets(box, marks, tyres):
                    continue
                if free_line and not _meets(box, rails):
                    return self._keep(MotorMark(kind, index, at, self._half, ends), low, high)
                second = second or at
        # Where room is short a mark may stand on the line of another motor, yet on no other mark.
        at = second or (self._middle, 0.5 * (low + high))
        return self._keep(MotorMark(kind, index, at, self._half, ends), low, high)

    def _keep(self, mark: MotorMark, low: float, high: float) -> MotorMark:
        self._marks.append(mark.box)
        self._rails.append(QRectF(mark.at[0] - 0.5, low, 1.0, max(high - low, 1.0)))
        return mark

    def _shares(self, kind: MotorKind, low: float, high: float) -> list[float]:
        """Where along its line a mark may stand, the best first: not beside a wheel, then midway between two.

        Beside a wheel the mark of a motor of that wheel alone has its only place.
        """
        if high - low <= 2 * self._half:
            return [0.5]
        rows = [y for y in self._rows if low <= y <= high]
        between = [(0.5 * (a + b) - low) / (high - low) for a, b in itertools.pairwise(rows)]
        between.sort(key=lambda share: abs(share - _ALONG[kind][0]))
        return sorted([*_ALONG[kind], *between], key=lambda share: self._in_a_row(low + share * (high - low)))

    def _in_a_row(self, y: float) -> bool:
        return any(abs(y - row) < 2.0 * self._half + 2.0 for row in self._rows)

    def _lanes(self, held: Sequence[int]) -> Iterator[tuple[float, float]]:
        """Places across for the line along the chassis, the best first, and how far it keeps from others."""
        right = [self._at[i][0] + self._reach[i] for i in held]
        left = [self._at[i][0] - self._reach[i] for i in held]
        places = [self._at[i][0] for i in held]
        if max(places) <= self._middle + _SAME_PX:
            start, way = max(right) + _OFF_TYRE, [1.0]
        elif min(places) >= self._middle - _SAME_PX:
            start, way = min(left) - _OFF_TYRE, [-1.0]
        else:
            start, way = self._middle, [1.0, -1.0]
        low, high = self._bounds
        for pitch in _PITCHES:
            for step in range(_LANES):
                for sign in way if step else way[:1]:
                    x = start + sign * step * pitch
                    if low < x < high:
                        yield x, pitch - 2.0


# Drawing -----------------------------------------------------------------------------------


def draw_motor_lines(painter: QPainter, scene: Scene) -> None:
    """Draw what lacks a motor, the lines from motors to wheels, their marks and the legend."""
    design = scene.view.design
    if not scene.options.motors or not (design.steer_motors or design.drive_motors):
        return
    lack_steer, lack_drive = (set(motor_edits.lacking(design, kind)) for kind in KINDS[::-1])
    _draw_hollow(painter, scene, lack_drive)
    marks = motor_marks(scene.view, scene.camera)
    for mark in marks:
        _draw_lines(painter, scene, mark)
    _draw_ends(painter, scene, marks)
    _draw_loose_kingpins(painter, scene, lack_steer)
    for mark in marks:
        _draw_mark(painter, scene, mark)
    _draw_legend(painter, scene)


def _style(kind: MotorKind) -> Qt.PenStyle:
    return Qt.PenStyle.SolidLine if kind == "steer" else Qt.PenStyle.DashLine


def _lit(scene: Scene, mark: MotorMark) -> bool:
    return mark.reference in scene.view.selection or mark.reference == scene.hover


def _draw_hollow(painter: QPainter, scene: Scene, names: set[str]) -> None:
    """Draw the tyres of wheels without a drive motor as hollow, with the bar of a fixed wheel."""
    if not names:
        return
    theme, tyres = scene.theme, scene.camera.to_screen(wheel_corners(scene.view))
    for i, wheel in enumerate(scene.view.design.wheels):
        if wheel.name in names:
            painter.setBrush(colour(theme.paper))
            painter.setPen(pen(theme.paper, 3.0))
            painter.drawPolygon(polygon(tyres[i]))
            painter.setPen(pen(theme.motor, 2.0, Qt.PenStyle.DashLine))
            painter.drawPolygon(polygon(tyres[i]))
            if wheel.kind == "fixed":
                # Corners go round from front left: the middles of both sides are the ends of the axle.
                left, right = tyres[i][[0, 3]].mean(axis=0), tyres[i][[1, 2]].mean(axis=0)
                painter.setPen(pen(theme.tyre_line, 2.0))
                painter.drawLine(QPointF(*left.tolist()), QPointF(*right.tolist()))


def _draw_lines(painter: QPainter, scene: Scene, mark: MotorMark) -> None:
    painter.setPen(pen(scene.theme.motor, 3.0 if _lit(scene, mark) else 2.0, _style(mark.kind)))
    painter.drawLines(mark.lines)


def _draw_ends(painter: QPainter, scene: Scene, marks: Sequence[MotorMark]) -> None:
    painter.setPen(pen(scene.theme.motor, 2.0))
    painter.setBrush(colour(scene.theme.paper))
    for mark in marks:
        for end in mark.ends:
            painter.drawEllipse(QPointF(*end), 4.0, 4.0)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(colour(scene.theme.motor))
    for mark in marks:
        for end in mark.ends:
            painter.drawEllipse(QPointF(*end), 1.5, 1.5)


def _draw_loose_kingpins(painter: QPainter, scene: Scene, names: set[str]) -> None:
    wheels = scene.view.robot.wheels
    at = scene.camera.to_screen(np.stack([wheels.x, wheels.y], axis=1))
    painter.setPen(pen(scene.theme.motor, 2.0, Qt.PenStyle.DotLine))
    painter.setBrush(colour(scene.theme.paper))
    for i, wheel in enumerate(scene.view.design.wheels):
        if wheel.name in names:
            painter.drawEllipse(QPointF(*at[i].tolist()), 6.0, 6.0)


def _draw_mark(painter: QPainter, scene: Scene, mark: MotorMark) -> None:
    if _lit(scene, mark):
        chosen = mark.reference in scene.view.selection
        lit = scene.theme.accent if chosen else mixed(scene.theme.accent, scene.theme.paper, 0.55)
        painter.setPen(pen(lit, 2.0))
        painter.setBrush(colour(scene.theme.paper))
        _draw_shape(painter, mark.kind, mark.box.adjusted(-4, -4, 4, 4))
    painter.setPen(pen(scene.theme.motor, 2.0))
    painter.setBrush(colour(scene.theme.motor_ground))
    _draw_shape(painter, mark.kind, mark.box)
    word = motor_edits.short_name(mark.kind, mark.index)
    painter.setFont(_mark_font(scene, min(11.0, mark.half * 1.6 / len(word) + 2.0)))
    painter.drawText(mark.box, int(Qt.AlignmentFlag.AlignCenter), word)
    painter.setFont(scene.font)


def _draw_shape(painter: QPainter, kind: MotorKind, box: QRectF) -> None:
    """A round mark for a steer motor, a square one for a drive motor."""
    if kind == "steer":
        painter.drawEllipse(box)
    else:
        painter.drawRoundedRect(box, 3.0, 3.0)


def _mark_font(scene: Scene, pixels: float) -> QFont:
    made = QFont(scene.font)
    made.setPixelSize(max(round(pixels), 6))
    made.setBold(True)
    return made


_HOLLOW = "hollow or dashed: lacks a motor"


def _legend(scene: Scene) -> list[tuple[MotorKind | None, str]]:
    """Rows of the legend: only what is there to be explained."""
    design = scene.view.design
    if not scene.options.motors:
        return []
    words: tuple[tuple[MotorKind, str], ...] = (
        ("steer", "steer motor, full line"),
        ("drive", "drive motor, dashed line"),
    )
    rows: list[tuple[MotorKind | None, str]] = [
        (kind, text) for kind, text in words if motor_edits.motors_of(design, kind)
    ]
    lacks = any(motor_edits.lacking(design, kind) for kind in KINDS)
    return [*rows, (None, _HOLLOW)] if lacks else rows


def _legend_at(scene: Scene) -> tuple[float, float]:
    """Below the tools that float at the top left."""
    x, y = _LEGEND_AT
    above = [bottom for left, top, _, bottom in scene.options.obstacles if left < 2 * x and top < 2 * x]
    return x, max([y, *(bottom + y for bottom in above)])


def legend_box(scene: Scene) -> QRectF | None:
    """Where the legend stands, for what must keep off it [px]; None where there is none."""
    rows = _legend(scene)
    if not rows:
        return None
    metrics = QFontMetricsF(sized(scene.font, "small"))
    wide = _LEGEND_ROW + max(metrics.horizontalAdvance(text) for _, text in rows)
    return QRectF(*_legend_at(scene), wide, _LEGEND_ROW * len(rows))


def _draw_legend(painter: QPainter, scene: Scene) -> None:
    """Say at the top left what the marks mean."""
    theme = scene.theme
    painter.setFont(sized(scene.font, "small"))
    x, y = _legend_at(scene)
    for kind, words in _legend(scene):
        if kind is None:
            painter.setPen(pen(theme.motor, 2.0, Qt.PenStyle.DashLine))
            painter.setBrush(colour(theme.paper))
            painter.drawRoundedRect(QRectF(x + 4, y + 4, 8, 16), 2.0, 2.0)
        else:
            painter.setPen(pen(theme.motor, 2.0))
            painter.setBrush(colour(theme.motor_ground))
            _draw_shape(painter, kind, QRectF(x + 1, y + 5, 14, 14))
        painter.setPen(pen(theme.faint))
        spot = QRectF(x + _LEGEND_ROW, y, 400.0, _LEGEND_ROW)
        painter.drawText(spot, int(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter), words)
        y += _LEGEND_ROW
    painter.setFont(scene.font)
