"""A chart of curves over the turn input, painted whole from arrays, with a cursor that steers.

It paints in a twentieth of the time that graph items take, so that it can follow a drag.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from PySide6.QtCore import QByteArray, QDataStream, QEvent, QPointF, QSize, Qt, Signal
from PySide6.QtGui import QHelpEvent, QMouseEvent, QPainter, QPaintEvent, QPolygonF, QWheelEvent
from PySide6.QtWidgets import QSizePolicy, QToolTip, QWidget

from app.panels.chart_frame import (
    Frame,
    finite_runs,
    frame_picture,
    line_colour,
    line_style,
    round_range,
)
from app.theme import current_theme, pen
from app.units import show_number
from geometry.axes import Floats

_NEAR_PX = 10.0
_STEP_PX = 2.0
_LEAST_SPAN = 1e-3


@dataclass(frozen=True, eq=False)
class Curves:
    """One curve for each name; NaN leaves a gap."""

    turns: Floats
    """Turn inputs in rising order, (M,)."""
    values: Floats
    """(M, N) in the unit of the axis."""
    names: tuple[str, ...]
    axis: str
    """What the values are, with their unit."""
    reach: float
    """Largest turn input."""
    ideal: Floats | None = None
    """What would suit, where the values differ from it; else NaN, (M, N)."""
    limits: tuple[tuple[float, str], ...] = ()
    """Values that part good from bad, with their names."""


class Chart(QWidget):
    """Curves with a cursor; the wheel zooms over the turns, a double click shows all of them."""

    asked = Signal(float)
    """A turn input the person wants."""

    def __init__(self) -> None:
        super().__init__()
        self.curves = Curves(np.empty(0), np.empty((0, 0)), (), "", 1.0)
        self.turn = 0.0
        self._span: tuple[float, float] | None = None
        self._dragging = False
        self.setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setMouseTracking(True)

    def show_curves(self, curves: Curves) -> None:
        """Draw these curves from now on."""
        if curves.reach != self.curves.reach:
            self._span = None
        self.curves = curves
        self.update()

    def show_cursor(self, turn: float) -> None:
        """Stand the cursor at a turn input."""
        if turn != self.turn:
            self.turn = turn
            self.update()

    def sizeHint(self) -> QSize:
        """Room for the curves and their legend."""
        return QSize(480, 320)

    def minimumSizeHint(self) -> QSize:
        """Below this nothing can be read."""
        return QSize(220, 160)

    @property
    def span(self) -> tuple[float, float]:
        """Turn inputs that are shown, rising."""
        reach = self.curves.reach
        return self._span or (-1.02 * reach, 1.02 * reach)

    def frame(self) -> Frame:
        """Where everything stands now."""
        curves, (low, high) = self.curves, self.span
        inside = (curves.turns >= low) & (curves.turns <= high)
        parts = [curves.values] if curves.ideal is None else [curves.values, curves.ideal]
        seen = np.concatenate([part[inside].ravel() for part in parts])
        seen = np.append(seen[np.isfinite(seen)], [value for value, _ in curves.limits])
        values = round_range(float(seen.min()), float(seen.max())) if seen.size else (0.0, 1.0)
        ratio, font = self.devicePixelRatioF(), self.font().toString()
        size = (self.width(), self.height())
        theme, limits = current_theme(), curves.limits
        return Frame(*size, (low, high), values, curves.axis, curves.names, theme, font, ratio, limits)

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002
        """Draw the frame, every curve and the cursor."""
        frame = self.frame()
        plot = frame.plot
        painter = QPainter(self)
        painter.drawImage(0, 0, frame_picture(frame))
        painter.setClipRect(plot)
        x = float(frame.x_of(self.turn))
        painter.fillRect(round(x) - 1, int(plot.top()), 2, int(plot.height()) + 1, frame.theme.centre)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        if self.curves.ideal is not None:
            for index, points in enumerate(self._points(frame, self.curves.ideal)):
                painter.setPen(pen(line_colour(frame.theme, index), 1.0, Qt.PenStyle.DotLine))
                for shape in points:
                    painter.drawPolyline(shape)
        for index, points in enumerate(self._points(frame, self.curves.values)):
            # Two fine lines and not one broad one: Qt strokes a broad curve some thirty times slower.
            painter.setPen(pen(line_colour(frame.theme, index), 1.0, line_style(index)))
            for shape in points:
                painter.drawPolyline(shape)
                painter.drawPolyline(shape.translated(0.0, 0.8))
        painter.end()

    def _points(self, frame: Frame, values: Floats) -> list[list[QPolygonF]]:
        """Every curve as polylines [px]; what lies far beyond the sides is left out."""
        curves, (low, high) = self.curves, frame.turns
        first = max(int(np.searchsorted(curves.turns, low)) - 1, 0)
        last = int(np.searchsorted(curves.turns, high)) + 1
        x = np.asarray(frame.x_of(curves.turns[first:last]))
        y = np.asarray(frame.y_of(values[first:last]))
        # Steps much shorter than a pixel pale the line, and it would change its look after a drag.
        stride = max(int(_STEP_PX * len(x) / frame.plot.width()), 1)
        found = []
        for n in range(len(curves.names)):
            column, shapes = y[:, n], []
            for start, stop in finite_runs(column):
                kept = np.append(np.arange(start, stop - 1, stride), stop - 1)
                shapes.append(_polyline(x[kept], column[kept]))
            found.append(shapes)
        return found

    # Mouse -------------------------------------------------------------------------------

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Steer to where the mouse is."""
        if event.button() == Qt.MouseButton.LeftButton:
            self._dragging = True
            self._ask(event.position())

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Follow the mouse."""
        if self._dragging:
            self._ask(event.position())

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Stop following."""
        if event.button() == Qt.MouseButton.LeftButton:
            self._dragging = False

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:  # noqa: ARG002
        """Show the whole range again."""
        self._span = None
        self.update()

    def _ask(self, at: QPointF) -> None:
        reach = self.curves.reach
        self.asked.emit(max(-reach, min(reach, self.frame().turn_at(at.x()))))

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Zoom over the turns about the mouse; the values follow."""
        factor = 0.8 ** (event.angleDelta().y() / 120.0)
        (low, high), at = self.span, self.frame().turn_at(event.position().x())
        low, high = at + (low - at) * factor, at + (high - at) * factor
        widest = 1.02 * self.curves.reach
        low, high = max(low, -widest), min(high, widest)
        if high - low >= _LEAST_SPAN:
            self._span = None if (low, high) == (-widest, widest) else (low, high)
            self.update()
        event.accept()

    def event(self, event: QEvent) -> bool:
        """Say what the nearest curve is, and its value, when the mouse rests."""
        if event.type() == QEvent.Type.ToolTip and isinstance(event, QHelpEvent):
            QToolTip.showText(event.globalPos(), self.text_at(QPointF(event.pos())), self)
            return True
        return super().event(event)

    def text_at(self, at: QPointF) -> str:
        """The curve near a pixel in words; empty where none is."""
        curves, frame = self.curves, self.frame()
        if not curves.values.size or not frame.plot.contains(at):
            return ""
        row = int(np.abs(curves.turns - frame.turn_at(at.x())).argmin())
        away = np.abs(np.asarray(frame.y_of(curves.values[row])) - at.y())
        away = np.where(np.isfinite(away), away, np.inf)
        nearest = int(away.argmin())
        if away[nearest] > _NEAR_PX:
            return ""
        value = show_number(float(curves.values[row, nearest]), 2)
        ideal = math.nan if curves.ideal is None else float(curves.ideal[row, nearest])
        beside = f", ideal {show_number(ideal, 2)}" if math.isfinite(ideal) else ""
        where = f"at turn input {curves.turns[row]:.3f}"
        return f"{curves.names[nearest]}: {value}{beside} ({curves.axis}) {where}"


def _polyline(x: Floats, y: Floats) -> QPolygonF:
    """Points as a Qt polyline, handed over as one block: ten times faster than point by point."""
    block = np.stack([x, y], axis=1).astype(">f8").tobytes()
    polygon = QPolygonF()
    stream = QDataStream(QByteArray(len(x).to_bytes(4, "big") + block))
    stream >> polygon
    return polygon
