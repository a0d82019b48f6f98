"""What a chart holds beside the library's own axes: all curves as one item, and the legend above.

One item for each curve, as the library has them, takes ten to twenty times as long to paint.
None of these may have a method that is named as one of Qt's items, such as `show`, `x` or `update`.
"""

from __future__ import annotations

import numpy as np
import pyqtgraph as pg
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QFontMetricsF, QPainter, QPolygonF, QTransform
from PySide6.QtWidgets import QStyleOptionGraphicsItem, QWidget

from app.panels.plot_curves import NO_CURVES, PlotCurves, finite_runs, values_range
from app.theme import Theme, current_theme, pen
from app.units import show_number
from geometry.axes import Floats

_STYLES = (Qt.PenStyle.SolidLine, Qt.PenStyle.DashLine, Qt.PenStyle.DotLine, Qt.PenStyle.DashDotLine)
# Room for half a number at the ends: the library leaves out those that would be cut.
MARGIN = 1.07
_AROUND = 0.04
_STEP_PX = 2.0
_SAMPLE, _GAP = 22.0, 12.0

Shapes = list[list[QPolygonF]]


def line_style(index: int) -> Qt.PenStyle:
    """Style of a wheel's curve: a colour that comes again comes in another style."""
    return _STYLES[(index // 8 + index) % len(_STYLES)]


def line_colour(theme: Theme, index: int) -> str:
    """Colour of a wheel's curve."""
    return theme.series[index % len(theme.series)]


class CurvesItem(pg.UIGraphicsItem):
    """Every curve, its ideal and the limits, painted in pixels."""

    def __init__(self) -> None:
        super().__init__()
        self.curves = NO_CURVES
        self._drawn: tuple[object, Shapes, Shapes] = (None, [], [])
        self.setZValue(1.0)

    def feed(self, curves: PlotCurves) -> None:
        """Draw these curves from now on."""
        self.curves = curves
        self.informViewBoundsChanged()
        self.update()

    def dataBounds(  # noqa: N802 - the library's name
        self,
        axis: int,
        frac: float = 1.0,  # noqa: ARG002
        orthoRange: tuple[float, float] | None = None,  # noqa: N803
    ) -> tuple[float, float]:
        """What the library shows: all turns, and a round range for the values at those that are shown."""
        reach = MARGIN * self.curves.reach
        if axis == 0:
            return -reach, reach
        low, high = values_range(self.curves, *(orthoRange or (-reach, reach)))
        around = _AROUND * (high - low)
        return low - around, high + around

    def paint(self, painter: QPainter, _option: QStyleOptionGraphicsItem, _widget: QWidget) -> None:
        """Draw limits, ideals and curves; in pixels, since Qt strokes stretched lines far slower."""
        to_pixels = painter.worldTransform()
        room = to_pixels.mapRect(self.boundingRect())
        key = (self.curves, to_pixels.m11(), to_pixels.m22(), to_pixels.dx(), to_pixels.dy(), room.width())
        if key != self._drawn[0]:
            ideal = self.curves.ideal
            shapes = self._shapes(self.curves.values, to_pixels, room)
            self._drawn = (key, shapes, [] if ideal is None else self._shapes(ideal, to_pixels, room))
        theme = current_theme()
        painter.save()
        painter.resetTransform()
        self._paint_limits(painter, to_pixels, room)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        for index, shapes_of_one in enumerate(self._drawn[2]):
            painter.setPen(pen(line_colour(theme, index), 1.0, Qt.PenStyle.DotLine))
            for shape in shapes_of_one:
                painter.drawPolyline(shape)
        for index, shapes_of_one in enumerate(self._drawn[1]):
            # Two fine lines and not one broad one: Qt strokes a broad curve some thirty times slower.
            painter.setPen(pen(line_colour(theme, index), 1.0, line_style(index)))
            for shape in shapes_of_one:
                painter.drawPolyline(shape)
                painter.drawPolyline(shape.translated(0.0, 0.8))
        painter.restore()

    def _shapes(self, values: Floats, to_pixels: QTransform, room: QRectF) -> Shapes:
        """Every curve as polylines [px]; what lies far beyond the sides is left out."""
        curves, bounds = self.curves, self.boundingRect()
        first = max(int(np.searchsorted(curves.turns, bounds.left())) - 1, 0)
        last = int(np.searchsorted(curves.turns, bounds.right())) + 1
        x = curves.turns[first:last] * to_pixels.m11() + to_pixels.dx()
        y = values[first:last] * to_pixels.m22() + to_pixels.dy()
        # Steps much shorter than a pixel pale the line, and it would change its look after a drag.
        stride = max(int(_STEP_PX * len(x) / max(room.width(), 1.0)), 1)
        found = []
        for column in y.T:
            shapes = []
            for start, stop in finite_runs(column):
                kept = np.append(np.arange(start, stop - 1, stride), stop - 1)
                shapes.append(pg.functions.arrayToQPolygonF(x[kept], column[kept]))
            found.append(shapes)
        return found

    def _paint_limits(self, painter: QPainter, to_pixels: QTransform, room: QRectF) -> None:
        """Draw a fine line for each limit; names stand above, in one where the lines are too near."""
        theme, tall = current_theme(), QFontMetricsF(painter.font()).height()
        limits = self.curves.limits
        heights = [value * to_pixels.m22() + to_pixels.dy() for value, _ in limits]
        texts = [f"{name} up to {show_number(value, 1)}" for value, name in limits]
        if len(heights) == 2 and abs(heights[0] - heights[1]) < tall:
            texts = ["", ", ".join(texts)]
        for n, (y, text) in enumerate(zip(heights, texts, strict=True)):
            tone = (theme.slight, theme.bad)[n % 2]
            painter.setPen(pen(tone, 1.0, (Qt.PenStyle.DashLine, Qt.PenStyle.DashDotLine)[n % 2]))
            painter.drawLine(QPointF(room.left(), y), QPointF(room.right(), y))
            spot = QRectF(room.left() + 4, y - tall, room.width() - 8, tall)
            painter.drawText(spot, int(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter), text)


class Legend(pg.GraphicsWidget):
    """What the values are, and a sample of each curve with its name, in as many rows as it takes.

    The library's own legend neither breaks into rows of the room there is nor cuts a long name.
    """

    def __init__(self) -> None:
        super().__init__()
        self._axis = ""
        self._names: tuple[str, ...] = ()
        self._rows: list[list[str]] = []
        self._column = 0.0
        # It changes with the names alone, and must not be drawn anew with the curves.
        self.setCacheMode(self.CacheMode.DeviceCoordinateCache)

    def feed(self, curves: PlotCurves, room: float) -> None:
        """Name these curves, in rows of this width [px]."""
        self._axis, self._names = curves.axis, curves.names
        metrics = QFontMetricsF(self.font())
        widest = max((metrics.horizontalAdvance(name) for name in self._names), default=0.0) + 1
        widest = min(widest, 0.4 * room)
        self._column = _SAMPLE + widest + _GAP
        columns = max(int((room + _GAP) / self._column), 1)
        texts = [metrics.elidedText(name, Qt.TextElideMode.ElideRight, widest) for name in self._names]
        self._rows = [texts[i : i + columns] for i in range(0, len(texts), columns)]
        self.setFixedHeight(round((1.3 + len(self._rows)) * metrics.height() + 6))
        self.update()

    def paint(self, painter: QPainter, _option: QStyleOptionGraphicsItem, _widget: QWidget) -> None:
        """Draw the texts and the samples."""
        theme, metrics = current_theme(), QFontMetricsF(self.font())
        line, room = metrics.height(), self.size().width()
        side = int(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        painter.setFont(self.font())
        painter.setPen(pen(theme.faint))
        heading = metrics.elidedText(self._axis, Qt.TextElideMode.ElideRight, room)
        painter.drawText(QRectF(0, 0, room, 1.3 * line), side, heading)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        index = 0
        for n, row in enumerate(self._rows):
            y = (1.3 + n) * line + 2
            for column, name in enumerate(row):
                x, middle = column * self._column, y + 0.5 * line
                painter.setPen(pen(line_colour(theme, index), 2.0, line_style(index)))
                painter.drawLine(QPointF(x, middle), QPointF(x + _SAMPLE - 4, middle))
                painter.setPen(pen(theme.ink))
                painter.drawText(QRectF(x + _SAMPLE, y, self._column - _SAMPLE, line), side, name)
                index += 1
