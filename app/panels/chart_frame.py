"""What stands around the curves of a chart: ticks, grid, legend; one picture for as long as it holds."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QFont, QFontMetricsF, QImage, QPainter

from app.plan.ground import nice_step
from app.theme import Theme, colour, pen
from app.units import show_number
from geometry.axes import Floats

_STYLES = (Qt.PenStyle.SolidLine, Qt.PenStyle.DashLine, Qt.PenStyle.DotLine, Qt.PenStyle.DashDotLine)
_LEFT, _RIGHT = 52.0, 12.0
_SAMPLE, _GAP = 22.0, 12.0
_TICK_X, _TICK_Y = 64.0, 34.0
BOTTOM_TEXT = "turn input, left turns to the left"


@dataclass(frozen=True)
class Frame:
    """All that the surroundings of the curves are drawn from."""

    width: int
    """Of the whole chart [px]."""
    height: int
    turns: tuple[float, float]
    """Range that is shown, rising."""
    values: tuple[float, float]
    """Range that is shown, rising."""
    axis: str
    """What the values are, with their unit."""
    names: tuple[str, ...]
    theme: Theme
    font: str
    """As `QFont.toString` writes it."""
    ratio: float
    """Device pixels for a pixel."""
    limits: tuple[tuple[float, str], ...] = ()
    """Values that part good from bad, with their names."""

    @property
    def plot(self) -> QRectF:
        """Where the curves are [px]."""
        line = _metrics(self.font).height()
        top = 1.3 * line + 4 + line * len(_legend(self)) + 4
        bottom = self.height - 2.3 * line - 6
        return QRectF(_LEFT, top, max(self.width - _LEFT - _RIGHT, 10.0), max(bottom - top, 10.0))

    def x_of(self, turn: float | Floats) -> float | Floats:
        """Where a turn input stands; left is left [px]."""
        plot, (low, high) = self.plot, self.turns
        return plot.left() + (high - turn) * (plot.width() / (high - low))

    def y_of(self, value: float | Floats) -> float | Floats:
        """Where a value stands [px]."""
        plot, (low, high) = self.plot, self.values
        return plot.bottom() - (value - low) * (plot.height() / (high - low))

    def turn_at(self, x: float) -> float:
        """The turn input at a pixel."""
        plot, (low, high) = self.plot, self.turns
        return high - (x - plot.left()) * (high - low) / plot.width()


def line_style(index: int) -> Qt.PenStyle:
    """Style of a wheel's curve: a colour that comes again comes in another style."""
    return _STYLES[(index // 8 + index) % len(_STYLES)]


def line_colour(theme: Theme, index: int) -> str:
    """Colour of a wheel's curve."""
    return theme.series[index % len(theme.series)]


def round_range(low: float, high: float) -> tuple[float, float]:
    """A range with round ends around another, so that it rarely moves while something is dragged."""
    if high - low < 1e-6:
        low, high = low - 0.5, high + 0.5
    step = nice_step((high - low) / 6.0)
    least, most = step * math.floor(low / step - 0.15), step * math.ceil(high / step + 0.15)
    # What is never negative stands on the line of 0.
    return (max(least, 0.0) if low >= 0 else least), most


@lru_cache(maxsize=2)
def frame_picture(frame: Frame) -> QImage:
    """Ticks, grid, axis texts and legend."""
    size = (math.ceil(frame.width * frame.ratio), math.ceil(frame.height * frame.ratio))
    image = QImage(*size, QImage.Format.Format_RGB32)
    image.setDevicePixelRatio(frame.ratio)
    image.fill(colour(frame.theme.ground))
    painter = QPainter(image)
    painter.setFont(_font(frame.font))
    _draw_ticks(painter, frame)
    _draw_limits(painter, frame)
    painter.setPen(pen(frame.theme.faint))
    painter.drawRect(frame.plot)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    _draw_legend(painter, frame)
    painter.end()
    return image


def _draw_ticks(painter: QPainter, frame: Frame) -> None:
    """Draw grid lines with their numbers."""
    plot, metrics = frame.plot, _metrics(frame.font)
    tall = metrics.height()
    for n, step in _ticks(frame.turns, plot.width() / _TICK_X):
        x = float(frame.x_of(n * step))
        painter.setPen(pen(frame.theme.grid_strong))
        painter.drawLine(QLineF(x, plot.top(), x, plot.bottom()))
        painter.setPen(pen(frame.theme.ink))
        spot = QRectF(x - 40, plot.bottom() + 3, 80, tall)
        painter.drawText(spot, int(Qt.AlignmentFlag.AlignCenter), show_number(n * step, 4))
    for n, step in _ticks(frame.values, plot.height() / _TICK_Y):
        y = float(frame.y_of(n * step))
        painter.setPen(pen(frame.theme.grid_strong))
        painter.drawLine(QLineF(plot.left(), y, plot.right(), y))
        painter.setPen(pen(frame.theme.ink))
        spot = QRectF(0, y - 0.5 * tall, _LEFT - 5, tall)
        side = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
        painter.drawText(spot, int(side), show_number(n * step, 4))
    painter.setPen(pen(frame.theme.faint))
    below = QRectF(plot.left(), plot.bottom() + 3 + tall, plot.width(), tall)
    painter.drawText(below, int(Qt.AlignmentFlag.AlignCenter), BOTTOM_TEXT)
    above = QRectF(_LEFT, 2, plot.width(), 1.3 * tall)
    painter.drawText(above, int(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter), frame.axis)


def _draw_limits(painter: QPainter, frame: Frame) -> None:
    """Draw a fine line for each limit; names stand above, in one where the lines are too near."""
    plot, tall = frame.plot, _metrics(frame.font).height()
    heights = [float(frame.y_of(value)) for value, _ in frame.limits]
    texts = [f"{name} up to {show_number(value, 1)}" for value, name in frame.limits]
    if len(heights) == 2 and abs(heights[0] - heights[1]) < tall:
        texts = ["", ", ".join(texts)]
    for n, (y, text) in enumerate(zip(heights, texts, strict=True)):
        tone = (frame.theme.slight, frame.theme.bad)[n % 2]
        painter.setPen(pen(tone, 1.0, (Qt.PenStyle.DashLine, Qt.PenStyle.DashDotLine)[n % 2]))
        painter.drawLine(QLineF(plot.left(), y, plot.right(), y))
        spot = QRectF(plot.left() + 4, y - tall, plot.width() - 8, tall)
        painter.drawText(spot, int(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter), text)


def _ticks(span: tuple[float, float], most: float) -> list[tuple[int, float]]:
    """Whole multiples of a round step within a range, as (multiple, step)."""
    low, high = span
    step = nice_step((high - low) / max(most, 1.0))
    return [(n, step) for n in range(math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9) + 1)]


def _draw_legend(painter: QPainter, frame: Frame) -> None:
    """Draw a sample of each curve with the wheel's name."""
    line, index = _metrics(frame.font).height(), 0
    y = 1.3 * line + 4
    for row in _legend(frame):
        x = _LEFT
        for name, wide in row:
            middle = y + 0.5 * line
            painter.setPen(pen(line_colour(frame.theme, index), 2.0, line_style(index)))
            painter.drawLine(QPointF(x, middle), QPointF(x + _SAMPLE - 4, middle))
            painter.setPen(pen(frame.theme.ink))
            spot = QRectF(x + _SAMPLE, y, wide, line)
            painter.drawText(spot, int(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter), name)
            x += _SAMPLE + wide + _GAP
            index += 1
        y += line


@lru_cache(maxsize=2)
def _rows_of(font: str, names: tuple[str, ...], room: float) -> tuple[tuple[tuple[str, float], ...], ...]:
    """Names in rows of one width each, with their widths [px]; long ones are cut."""
    metrics = _metrics(font)
    widest = min(max((metrics.horizontalAdvance(name) for name in names), default=0.0) + 1, 0.4 * room)
    columns = max(int((room + _GAP) / (_SAMPLE + widest + _GAP)), 1)
    texts = [metrics.elidedText(name, Qt.TextElideMode.ElideRight, widest) for name in names]
    return tuple(tuple((t, widest) for t in texts[i : i + columns]) for i in range(0, len(texts), columns))


def _legend(frame: Frame) -> tuple[tuple[tuple[str, float], ...], ...]:
    return _rows_of(frame.font, frame.names, frame.width - _LEFT - _RIGHT)


@lru_cache(maxsize=4)
def _font(text: str) -> QFont:
    font = QFont()
    font.fromString(text)
    return font


@lru_cache(maxsize=4)
def _metrics(text: str) -> QFontMetricsF:
    return QFontMetricsF(_font(text))


def finite_runs(values: Floats) -> list[tuple[int, int]]:
    """Where an array (M,) holds numbers, as (start, stop) of each run."""
    there = np.isfinite(values)
    if there.all():
        return [(0, len(values))] if len(values) else []
    edges = np.flatnonzero(np.diff(np.concatenate([[False], there, [False]])))
    return list(zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True))
