"""One plot of a chart: its head, its values' axis, its curves and its cursor; its items are made once."""

from __future__ import annotations

import math

import numpy as np
import pyqtgraph as pg
from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QFont, QFontMetricsF
from PySide6.QtWidgets import QGraphicsItem, QGraphicsRectItem

from app.panels.chart_items import MARGIN, CurvesItem, LaneHead, Look, Note, NotesItem, small
from app.panels.plot_curves import NO_CURVES, PlotCurves, coinciding, limits_words, same_words, within
from app.theme import colour, current_theme, pen
from geometry.axes import Floats

NEAR_PX = 10.0
_LEAST_SPAN = 1e-3
_WIDEST_NUMBER = "-1.2e+05"
# More selected wheels than that are not told at the cursor: the plot would be full of numbers.
_MOST_NOTES = 3
LEAST_TALL, USUAL_TALL = 74.0, 84.0
"""Height of the curves [px]."""


class Lane:
    """A plot; the chart says where it stands."""

    def __init__(self, font: QFont) -> None:
        self.curves = NO_CURVES
        self.look = Look()
        self.readings: Floats = np.empty(0)
        """Values at the cursor, (C,)."""
        self.head = LaneHead()
        self.view = pg.ViewBox(enableMenu=False, invertX=True)
        self.view.setDefaultPadding(0.0)
        self.view.setMouseEnabled(x=True, y=False)
        self.view.enableAutoRange(x=False, y=True)
        self.view.setAutoVisible(y=True)
        # By itself the library lets the values follow only while the turns are automatic too.
        self.view.sigXRangeChanged.connect(self.view.updateAutoRange)
        self.items, self.notes = CurvesItem(), NotesItem()
        self.cursor = pg.InfiniteLine(angle=90)
        self.view.addItem(self.items)
        self.view.addItem(self.cursor, ignoreBounds=True)
        self.view.addItem(self.notes, ignoreBounds=True)
        self.axis = pg.AxisItem("left", linkView=self.view)
        self.axis.enableAutoSIPrefix(False)  # noqa: FBT003 - the library's way
        # A number at the very end of the axis may reach beyond it by half its height.
        self.axis.setStyle(tickFont=small(font), maxTickLevel=0, maxTextLevel=0, hideOverlappingLabels=8)
        self.axis.setGrid(255)
        # Behind the curves, and kept as a picture while only the curves change.
        self.axis.setZValue(-1000)
        self.axis.setCacheMode(QGraphicsItem.CacheMode.DeviceCoordinateCache)
        # Of one size, so that the curves do not jump while a number grows.
        self.axis_width = math.ceil(QFontMetricsF(small(font)).horizontalAdvance(_WIDEST_NUMBER)) + 8
        self.axis.setWidth(self.axis_width)
        self.paper = QGraphicsRectItem()
        """The ground of the curves, below the lines of the axis."""
        self.paper.setZValue(-2000)
        self.parts: tuple[QGraphicsItem, ...] = (self.paper, self.head, self.axis, self.view)
        self._note = ""

    def feed(self, curves: PlotCurves, numbers: tuple[int, ...], *, settled: bool) -> None:
        """Draw these curves; which of them hide one another is worked out once they are settled."""
        self.curves = curves
        groups = coinciding(within(curves)) if settled else ()
        self._note = " ".join(filter(None, [limits_words(curves), same_words(curves, groups), curves.note]))
        self.look = Look(numbers, self.look.chosen, groups)
        if not settled:  # the height stays: the curves must not jump while something is dragged
            self.head_height(self.head.size().width())
        self._fit()

    def choose(self, wheels: frozenset[int]) -> None:
        """Emphasise the curves of these wheels."""
        of_wheels = zip(range(len(self.curves.names)), self.curves.wheels, strict=False)
        chosen = frozenset(k for k, wheel in of_wheels if wheel in wheels)
        if chosen != self.look.chosen:
            self.look = Look(self.look.numbers, chosen, self.look.groups)
            self._fit()

    def _fit(self) -> None:
        self.items.feed(self.curves, self.look)

    def stretch(self) -> None:
        """Let no more be shown than the turns in use, with a margin."""
        widest = MARGIN * self.curves.reach
        self.view.setLimits(xMin=-widest, xMax=widest, minXRange=_LEAST_SPAN)

    def place(self, left: float, top: float, width: float, height: float) -> None:
        """Stand in a rectangle, whose height holds that of the head [px]."""
        head = self.head_height(width)
        self.head.setGeometry(QRectF(left, top, width, head))
        across = QRectF(left + self.axis_width, top + head, width - self.axis_width, max(height - head, 1.0))
        beside = QRectF(left, across.top(), self.axis_width, across.height())
        if beside != self.axis.geometry():
            self.axis.setGeometry(beside)
            self.axis.picture = None  # the library keeps that of the size before
            self.axis.update()
        self.view.setGeometry(across)
        self.paper.setRect(across)

    def head_height(self, width: float) -> float:
        """What the head takes in a width [px]."""
        return self.head.feed(self.curves.title, self.curves.unit, self._note, width)

    def show_cursor(self, turn: float, readings: Floats) -> None:
        """Stand the cursor at a turn input, with the values there."""
        self.readings = readings
        self.cursor.setValue(turn)
        self.tell(turn, None, None)

    def tell(self, turn: float, pointer: float | None, near: int | None) -> None:
        """Write the selected wheels' values at the cursor, or one curve's at the pointer."""
        notes: list[Note] = []
        if pointer is not None and near is not None:
            row = self.row_at(pointer)
            at, value = float(self.curves.turns[row]), float(self.curves.values[row, near])
            if math.isfinite(value):
                notes.append(Note(at, value, self.words_at(row, near), self.curves.words_of(value), dot=True))
        elif pointer is None:
            for k in sorted(self.look.chosen)[:_MOST_NOTES]:
                value = float(self.readings[k]) if k < len(self.readings) else math.nan
                if math.isfinite(value):
                    short = self.curves.words_of(value)
                    notes.append(Note(turn, value, f"{self.curves.names[k]} {short}", short))
        self.notes.tell(notes, pointer)

    def row_at(self, turn: float) -> int:
        """The row of the curves that is nearest to a turn input."""
        return int(np.abs(self.curves.turns - turn).argmin())

    def words_at(self, row: int, column: int) -> str:
        """Name and value of a curve at a row, with those that it hides."""
        curves = self.curves
        text = f"{curves.names[column]} {curves.words_of(float(curves.values[row, column]))}"
        also = [len(group) - 1 for group in self.look.groups if column in group]
        return f"{text}, and {also[0]} more here" if also else text

    def near(self, at: QPointF, turn: float, reach: float = NEAR_PX) -> int | None:
        """The column whose curve is nearest to a pixel, at most so far above or below."""
        curves = self.curves
        if not curves.values.size:
            return None
        tall = self.view.viewPixelSize()[1]
        away = np.abs(curves.values[self.row_at(turn)] - self.view.mapSceneToView(at).y()) / tall
        away = np.where(np.isfinite(away), away, np.inf)
        nearest = int(away.argmin())
        return nearest if away[nearest] <= reach else None

    def readings_words(self) -> str:
        """Every value at the cursor, as a sentence."""
        curves = self.curves
        told = [
            f"{name} {curves.words_of(float(value))}"
            for name, value in zip(curves.names, self.readings, strict=False)
        ]
        return f"{curves.title}, {curves.unit.partition(';')[0]}: {', '.join(told) or 'nothing'}."

    def set_shown(self, *, shown: bool) -> None:
        """Show or hide all parts."""
        for part in self.parts:
            # Not by `setVisible`: the library's axis takes its width in these two alone.
            part.show() if shown else part.hide()

    def refresh_theme(self) -> None:
        """Follow a change from light to dark or back."""
        theme = current_theme()
        self.cursor.setPen(pen(theme.ink, 1.0))
        self.paper.setBrush(colour(theme.paper))
        self.paper.setPen(pen(theme.grid_strong))
        self.axis.setPen(pen(theme.grid_strong))
        self.axis.setTickPen(pen(theme.grid_strong))
        self.axis.setTextPen(pen(theme.faint))
        for part in (self.head, self.items, self.notes):
            part.update()
