"""A chart of curves over the turn input on the plotting library, with a cursor that steers.

Axes, ticks, ranges, zoom and pan are the library's. It is slow to load: import this late.
"""

from __future__ import annotations

import math

import numpy as np
import pyqtgraph as pg
from PySide6.QtCore import QEvent, QPointF, QSize, Qt, Signal
from PySide6.QtGui import QFontMetricsF, QHelpEvent, QMouseEvent, QResizeEvent
from PySide6.QtWidgets import QGraphicsItem, QGraphicsView, QSizePolicy, QToolTip

from app.panels.chart_items import MARGIN, CurvesItem, Legend
from app.panels.plot_curves import NO_CURVES, PlotCurves
from app.plain import plain_tip
from app.theme import colour, current_theme, pen
from app.units import show_number

BOTTOM_TEXT = "turn input, left turns to the left"
_NEAR_PX = 10.0
_LEAST_SPAN = 1e-3
_WIDEST_NUMBER = "-1.2e+05"


class Chart(pg.GraphicsLayoutWidget):
    """Curves with a cursor.

    The left button steers, the mouse wheel zooms over the turns, the middle button moves them, a
    double click shows all of them. The values follow by themselves.
    """

    asked = Signal(float)
    """A turn input the person wants."""

    def __init__(self) -> None:
        super().__init__()
        self.curves = NO_CURVES
        self.turn = 0.0
        self._dragging = False
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.setViewportUpdateMode(QGraphicsView.ViewportUpdateMode.SmartViewportUpdate)
        self._make_items()
        self.refresh_theme()

    def _make_items(self) -> None:
        """Make every item, once: made and dropped again and again they leak."""
        self._view = pg.ViewBox(enableMenu=False, invertX=True)
        self._view.setDefaultPadding(0.0)
        self._view.setMouseEnabled(x=True, y=False)
        self._view.enableAutoRange(x=False, y=True)
        self._view.setAutoVisible(y=True)
        # By itself the library lets the values follow only while the turns are automatic too.
        self._view.sigXRangeChanged.connect(self._view.updateAutoRange)
        self._legend = Legend()
        self._items = CurvesItem()
        self._cursor = pg.InfiniteLine(angle=90)
        self._view.addItem(self._items)
        self._view.addItem(self._cursor, ignoreBounds=True)
        self._axes = {side: pg.AxisItem(side, linkView=self._view) for side in ("left", "bottom")}
        metrics = QFontMetricsF(self.font())
        for axis in self._axes.values():
            axis.enableAutoSIPrefix(False)  # noqa: FBT003 - the library's way
            axis.setStyle(tickFont=self.font(), maxTickLevel=1, maxTextLevel=1)
            axis.setGrid(255)
            # Behind the curves, and kept as a picture while only the curves change.
            axis.setZValue(-1000)
            axis.setCacheMode(QGraphicsItem.CacheMode.DeviceCoordinateCache)
        # Of one size, so that the curves do not jump while a number grows.
        self._axes["left"].setWidth(round(metrics.horizontalAdvance(_WIDEST_NUMBER)) + 8)
        self._axes["bottom"].setLabel(BOTTOM_TEXT)
        self._axes["bottom"].setHeight(round(2.2 * metrics.height()) + 6)
        layout = self.ci.layout
        layout.setContentsMargins(0, 0, 12, 4)
        layout.setSpacing(0)
        self.addItem(self._legend, 0, 1)
        self.addItem(self._axes["left"], 1, 0)
        self.addItem(self._view, 1, 1)
        self.addItem(self._axes["bottom"], 2, 1)

    def refresh_theme(self) -> None:
        """Follow a change from light to dark or back."""
        theme = current_theme()
        self.setBackground(colour(theme.paper))
        self._cursor.setPen(pen(theme.accent, 2.0))
        for axis in self._axes.values():
            axis.setPen(pen(theme.faint))
            axis.setTickPen(pen(theme.grid_strong))
            axis.setTextPen(pen(theme.ink))
        self._legend.update()
        self._items.update()

    def show_curves(self, curves: PlotCurves) -> None:
        """Draw these curves from now on."""
        named = (curves.names, curves.axis) != (self.curves.names, self.curves.axis)
        stretched = curves.reach != self.curves.reach or self.curves is NO_CURVES
        self.curves = curves
        self._items.feed(curves)
        if named:
            self._fit_legend()
        if stretched:
            widest = MARGIN * curves.reach
            self._view.setLimits(xMin=-widest, xMax=widest, minXRange=_LEAST_SPAN)
            self._show_all()
        self._view.updateAutoRange()

    def show_cursor(self, turn: float) -> None:
        """Stand the cursor at a turn input."""
        if turn != self.turn:
            self.turn = turn
            self._cursor.setValue(turn)

    def sizeHint(self) -> QSize:
        """Room for the curves and their legend."""
        return QSize(480, 320)

    def minimumSizeHint(self) -> QSize:
        """Below this nothing can be read."""
        return QSize(220, 160)

    def resizeEvent(self, event: QResizeEvent | None) -> None:
        """Break the legend anew."""
        super().resizeEvent(event)
        if hasattr(self, "_legend"):  # the library calls this before the items are made
            self._fit_legend()

    def _fit_legend(self) -> None:
        self._legend.feed(self.curves, max(self.width() - self._axes["left"].width() - 12, 10.0))

    def _show_all(self) -> None:
        widest = MARGIN * self.curves.reach
        self._view.setXRange(-widest, widest, padding=0)

    # Places --------------------------------------------------------------------------------

    @property
    def span(self) -> tuple[float, float]:
        """Turn inputs that are shown, rising."""
        low, high = self._view.viewRange()[0]
        return low, high

    @property
    def heights(self) -> tuple[float, float]:
        """Values that are shown, rising."""
        low, high = self._view.viewRange()[1]
        return low, high

    def pixel_of(self, turn: float, value: float) -> QPointF:
        """Where a value at a turn input stands."""
        place: QPointF = self._view.mapViewToScene(QPointF(turn, value))
        return place

    def turn_at(self, at: QPointF) -> float:
        """The turn input at a pixel."""
        return float(self._view.mapSceneToView(at).x())

    def _inside(self, at: QPointF) -> bool:
        return bool(self._view.sceneBoundingRect().contains(at))

    # Mouse -------------------------------------------------------------------------------

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Steer to where the mouse is."""
        if event.button() == Qt.MouseButton.LeftButton and self._inside(event.position()):
            self._dragging = True
            self._ask(event.position())
        else:
            super().mousePressEvent(event)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Follow the mouse at every step; the library would pass on a hundred in a second."""
        if self._dragging:
            self._ask(event.position())
        else:
            super().mouseMoveEvent(event)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Stop following."""
        if self._dragging and event.button() == Qt.MouseButton.LeftButton:
            self._dragging = False
        else:
            super().mouseReleaseEvent(event)

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:  # noqa: ARG002
        """Show the whole range again."""
        self._show_all()

    def _ask(self, at: QPointF) -> None:
        reach = self.curves.reach
        self.asked.emit(max(-reach, min(reach, self.turn_at(at))))

    def viewportEvent(self, event: QEvent) -> bool:
        """Say what the nearest curve is, and its value, when the mouse rests."""
        if event.type() == QEvent.Type.ToolTip and isinstance(event, QHelpEvent):
            text = self.text_at(QPointF(event.pos()))
            QToolTip.showText(event.globalPos(), plain_tip(text), self)
            return True
        return bool(super().viewportEvent(event))

    def text_at(self, at: QPointF) -> str:
        """The curve near a pixel in words; empty where none is."""
        curves = self.curves
        if not curves.values.size or not self._inside(at):
            return ""
        row = int(np.abs(curves.turns - self.turn_at(at)).argmin())
        tall = self._view.viewPixelSize()[1]
        away = np.abs(curves.values[row] - self._view.mapSceneToView(at).y()) / tall
        away = np.where(np.isfinite(away), away, np.inf)
        nearest = int(away.argmin())
        if away[nearest] > _NEAR_PX:
            return ""
        value = show_number(float(curves.values[row, nearest]), 2)
        ideal = math.nan if curves.ideal is None else float(curves.ideal[row, nearest])
        beside = f", ideal {show_number(ideal, 2)}" if math.isfinite(ideal) else ""
        where = f"at turn input {curves.turns[row]:.3f}"
        return f"{curves.names[nearest]}: {value}{beside} ({curves.axis}) {where}"
