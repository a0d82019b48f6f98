"""Plots one above the other over one turn axis, on the plotting library, with a cursor that steers.

Axes, ticks, ranges, zoom and pan are the library's. It is slow to load: import this late.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import pyqtgraph as pg
from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QAccessible,
    QAccessibleAnnouncementEvent,
    QAccessibleEvent,
    QContextMenuEvent,
    QFocusEvent,
    QFontMetricsF,
    QHelpEvent,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QResizeEvent,
    QWheelEvent,
)
from PySide6.QtWidgets import QGraphicsItem, QGraphicsView, QMenu, QSizePolicy, QToolTip

from app.panels.chart_items import MARGIN, Legend, small
from app.panels.chart_lane import LEAST_TALL, USUAL_TALL, Lane
from app.panels.plot_curves import NO_CURVES, PlotCurves
from app.plain import plain_tip
from app.theme import colour, current_theme, pen
from app.units import show_number
from geometry.axes import Floats

_ENDS = ("spot left", "spot right")
_BETWEEN, _ABOVE, _RIGHT = 8.0, 4.0, 4.0
# How far the name of an end may reach beyond its tick before it is moved in [px].
_ASIDE = 80
_STEP, _LARGE_STEP = 0.01, 0.1
_KEYS = {
    Qt.Key.Key_Left: 1,
    Qt.Key.Key_Right: -1,
    Qt.Key.Key_PageUp: 10,
    Qt.Key.Key_PageDown: -10,
}


class TurnAxis(pg.AxisItem):
    """The axis below the last plot: names at straight ahead and at the ends, numbers where it is zoomed."""

    def __init__(self) -> None:
        super().__init__("bottom")
        self.reach = 1.0

    def _whole(self, one: float, other: float) -> bool:
        return min(one, other) <= -self.reach and max(one, other) >= self.reach

    def tickValues(self, minVal: float, maxVal: float, size: float) -> list[tuple[float, list[float]]]:  # noqa: N802, N803 - the library's names
        """The ends and the middle while all turns are shown."""
        if self._whole(minVal, maxVal):
            return [(self.reach, [-self.reach, 0.0, self.reach])]
        found: list[tuple[float, list[float]]] = super().tickValues(minVal, maxVal, size)
        return found

    def tickStrings(self, values: Sequence[float], scale: float, spacing: float) -> list[str]:  # noqa: N802
        """Turns by name, or as numbers."""
        if spacing == self.reach and list(values) == [-self.reach, 0.0, self.reach]:
            return [end_words(-self.reach), "straight", end_words(self.reach)]
        found: list[str] = super().tickStrings(values, scale, spacing)
        return found

    def generateDrawSpecs(self, p: QPainter) -> object:  # noqa: N802 - the library's name
        """Keep the names at the ends inside."""
        specs = super().generateDrawSpecs(p)
        if specs is None:
            return None
        line, ticks, texts = specs
        room = self.mapRectFromParent(self.geometry())
        for rect, _flags, _text in texts:
            rect.moveLeft(min(max(rect.left(), room.left()), room.right() - rect.width()))
        return line, ticks, texts


def end_words(turn: float) -> str:
    """The name of an end of the range.

    Examples
    --------
    >>> end_words(1.0), end_words(-0.5)
    ('spot left', '0.5 right')
    """
    if abs(turn) == 1.0:
        return _ENDS[turn < 0]
    return f"{show_number(abs(turn), 3)} {'left' if turn > 0 else 'right'}"


class Chart(pg.GraphicsView):
    """Plots with a cursor in all of them.

    The left button steers, as the arrow keys do; Ctrl and the mouse wheel zoom over the turns, the middle
    button moves them, a double click shows all of them. The values follow by themselves.
    """

    asked = Signal(float)
    """A turn input the person wants."""
    stepped = Signal(int)
    """The next (1) or the last (-1) wheel shall be selected."""

    def __init__(self) -> None:
        super().__init__()
        self.turn = 0.0
        self.lanes: list[Lane] = []
        self._shown = 0
        self._reach = 0.0
        self._dragging = False
        self._entries: tuple[tuple[int, str], ...] = ()
        self._chosen: frozenset[int] = frozenset()
        self._menu = QMenu(self)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setViewportUpdateMode(QGraphicsView.ViewportUpdateMode.SmartViewportUpdate)
        self._legend = Legend()
        self.addItem(self._legend)
        self._bottom = TurnAxis()
        self._bottom.setStyle(tickFont=small(self.font()), hideOverlappingLabels=_ASIDE, tickLength=4)
        self._bottom.setCacheMode(QGraphicsItem.CacheMode.DeviceCoordinateCache)
        self._bottom_tall = math.ceil(QFontMetricsF(small(self.font())).height()) + 8
        self._bottom.setHeight(self._bottom_tall)
        self.addItem(self._bottom)
        self._lane(0)
        self._bottom.linkToView(self.lanes[0].view)
        self.refresh_theme()

    # What is shown --------------------------------------------------------------------------

    @property
    def shown(self) -> list[Lane]:
        """The plots that are shown, from above."""
        return self.lanes[: self._shown]

    @property
    def curves(self) -> PlotCurves:
        """The curves of the first plot."""
        return self.lanes[0].curves if self._shown else NO_CURVES

    def _lane(self, number: int) -> Lane:
        """A plot; its items are made once: made and dropped again and again they leak."""
        while len(self.lanes) <= number:
            lane = Lane(self.font())
            for part in lane.parts:
                self.addItem(part)
            lane.view.sigXRangeChanged.connect(self._share_span)
            lane.refresh_theme()
            lane.set_shown(shown=False)
            self.lanes.append(lane)
        return self.lanes[number]

    def refresh_theme(self) -> None:
        """Follow a change from light to dark or back."""
        theme = current_theme()
        self.setBackground(colour(theme.panel))
        for lane in self.lanes:
            lane.refresh_theme()
        self._bottom.setPen(pen(theme.faint))
        self._bottom.setTickPen(pen(theme.faint))
        self._bottom.setTextPen(pen(theme.faint))
        self._legend.update()

    def show_curves(self, *plots: PlotCurves, settled: bool = True) -> None:
        """Draw these from now on, one plot below the other; all are over the same turns."""
        count, reach = self._shown, self._reach
        numbers, self._entries = _numbered(plots)
        self._shown = len(plots)
        for n, (curves, numbers_of_one) in enumerate(zip(plots, numbers, strict=True)):
            self._lane(n).feed(curves, numbers_of_one, settled=settled)
            self.lanes[n].choose(self._chosen)
        for n, lane in enumerate(self.lanes):
            lane.set_shown(shown=n < self._shown)
        self._bottom.setVisible(bool(plots))
        if plots:
            self._reach = self._bottom.reach = plots[0].reach
        if settled or count != self._shown:
            self._place()
        if self._reach != reach or count != self._shown:
            for lane in self.shown:
                lane.stretch()
            if self._reach != reach:
                self._show_all()
            else:
                self._share_span(self.lanes[0].view)
        for lane in self.shown:
            lane.view.updateAutoRange()
        if count != self._shown:
            self.updateGeometry()

    def choose(self, wheels: frozenset[int]) -> None:
        """Emphasise these wheels."""
        if wheels != self._chosen:
            self._chosen = wheels
            for lane in self.shown:
                lane.choose(wheels)
            self._place()

    def show_cursor(self, turn: float, readings: Sequence[Floats] = ()) -> None:
        """Stand the cursor at a turn input, with the values of each plot there."""
        self.turn = turn
        for n, lane in enumerate(self.shown):
            lane.show_cursor(
                turn, readings[n] if n < len(readings) else lane.curves.values[lane.row_at(turn)]
            )
        if self.hasFocus():
            self.setAccessibleDescription(self.reading)

    @property
    def reading(self) -> str:
        """All values at the cursor, as sentences."""
        where = "straight ahead" if self.turn == 0 else f"Turn {show_number(self.turn, 4)}"
        told = [f"{where[:1].upper()}{where[1:]}.", *(lane.readings_words() for lane in self.shown)]
        return " ".join(told)

    # Places ---------------------------------------------------------------------------------

    def sizeHint(self) -> QSize:
        """Room for the curves and their legend."""
        return QSize(384, self._tall(384, USUAL_TALL))

    def minimumSizeHint(self) -> QSize:
        """Below this nothing can be read."""
        width = max(self.width(), 220)
        return QSize(220, self._tall(width, LEAST_TALL) if self.isVisible() else 160)

    def _tall(self, width: int, curves: float) -> int:
        across = width - _RIGHT
        heads = sum(lane.head_height(across) + curves + _BETWEEN for lane in self.shown)
        return math.ceil(_ABOVE + self._legend_tall(across) + heads + self._bottom_tall)

    def _legend_tall(self, width: float) -> float:
        tall = self._legend.feed(self._entries, self._chosen, width) if self._entries else 0.0
        return tall + _BETWEEN if tall else 0.0

    def resizeEvent(self, event: QResizeEvent | None) -> None:
        """Place all anew."""
        super().resizeEvent(event)
        if hasattr(self, "_bottom_tall") and self.lanes:  # the library calls this before the items are made
            self._place()
            self.updateGeometry()

    def _place(self) -> None:
        """Give the legend, each plot and the axis below the last one their places."""
        width, y = self.width() - _RIGHT, _ABOVE
        tall = self._legend_tall(width)
        self._legend.setGeometry(QRectF(0.0, y, width, tall))
        y += tall
        heads = [lane.head_height(width) for lane in self.shown]
        room = self.height() - y - self._bottom_tall - sum(heads) - _BETWEEN * max(len(heads) - 1, 0)
        each = math.floor(max(room / max(len(heads), 1), 8.0))
        for lane, head in zip(self.shown, heads, strict=True):
            lane.place(0.0, y, width, head + each)
            y += head + each + _BETWEEN
        left = self.lanes[0].axis_width
        below = QRectF(left, y - _BETWEEN, max(width - left, 1.0), self._bottom_tall)
        self._bottom.setGeometry(below)

    def _share_span(self, view: pg.ViewBox, *_span: object) -> None:
        """Show the same turns in all plots."""
        low, high = view.viewRange()[0]
        for lane in self.shown:
            if lane.view is not view and lane.view.viewRange()[0] != [low, high]:
                lane.view.setXRange(low, high, padding=0)

    def _show_all(self) -> None:
        widest = MARGIN * self._reach
        for lane in self.shown:
            lane.view.setXRange(-widest, widest, padding=0)

    @property
    def span(self) -> tuple[float, float]:
        """Turn inputs that are shown, rising."""
        low, high = self.lanes[0].view.viewRange()[0]
        return low, high

    @property
    def heights(self) -> tuple[float, float]:
        """Values that the first plot shows, rising."""
        low, high = self.lanes[0].view.viewRange()[1]
        return low, high

    def pixel_of(self, turn: float, value: float, lane: int = 0) -> QPointF:
        """Where a value at a turn input stands in one of the plots."""
        place: QPointF = self.lanes[lane].view.mapViewToScene(QPointF(turn, value))
        return place

    def turn_at(self, at: QPointF) -> float:
        """The turn input at a pixel."""
        return float(self.lanes[0].view.mapSceneToView(at).x())

    def _lane_at(self, at: QPointF) -> Lane | None:
        return next((lane for lane in self.shown if lane.view.sceneBoundingRect().contains(at)), None)

    # Mouse ----------------------------------------------------------------------------------

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Steer to where the mouse is."""
        if event.button() == Qt.MouseButton.LeftButton and self._lane_at(event.position()) is not None:
            self._dragging = True
            self._ask(event.position())
        elif event.button() != Qt.MouseButton.RightButton:  # which opens the menu, and scales nothing
            super().mousePressEvent(event)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Follow the mouse at every step; the library would pass on a hundred in a second."""
        if self._dragging:
            self._ask(event.position())
        else:
            super().mouseMoveEvent(event)
            if event.buttons() == Qt.MouseButton.NoButton:
                self.point_at(event.position())

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Stop following."""
        if self._dragging and event.button() == Qt.MouseButton.LeftButton:
            self._dragging = False
        elif event.button() != Qt.MouseButton.RightButton:
            super().mouseReleaseEvent(event)

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Zoom where Ctrl is held; else leave it to what scrolls the plots."""
        if event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            super().wheelEvent(event)
        else:
            event.ignore()

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:  # noqa: ARG002
        """Show the whole range again."""
        self.show_all()

    def show_all(self) -> None:
        """Show the whole range."""
        self._show_all()

    def leaveEvent(self, event: QEvent) -> None:
        """Say nothing of the pointer any more."""
        super().leaveEvent(event)
        self.point_at(None)

    def point_at(self, at: QPointF | None) -> None:
        """Write the value of the curve under the pointer beside it, and draw its turn in all plots."""
        over = None if at is None else self._lane_at(at)
        turn = None if at is None or over is None else self.turn_at(at)
        for lane in self.shown:
            near = lane.near(at, turn) if lane is over and at is not None and turn is not None else None
            lane.tell(self.turn, turn, near)

    def _ask(self, at: QPointF) -> None:
        self.asked.emit(self._limited(self.turn_at(at)))

    def _limited(self, turn: float) -> float:
        return max(-self._reach, min(self._reach, turn))

    def viewportEvent(self, event: QEvent) -> bool:
        """Say what the nearest curve is, and its value, when the mouse rests."""
        if event.type() == QEvent.Type.ToolTip and isinstance(event, QHelpEvent):
            text = self.text_at(QPointF(event.pos()))
            QToolTip.showText(event.globalPos(), plain_tip(text), self)
            return True
        return bool(super().viewportEvent(event))

    def text_at(self, at: QPointF) -> str:
        """The curve near a pixel in words, or the note under it; empty where none is."""
        lane = self._lane_at(at)
        if lane is None:
            return next(
                (one.head.words for one in self.shown if one.head.sceneBoundingRect().contains(at)), ""
            )
        turn = self.turn_at(at)
        nearest = lane.near(at, turn)
        if nearest is None:
            return ""
        curves, row = lane.curves, lane.row_at(turn)
        value = curves.words_of(float(curves.values[row, nearest]))
        ideal = math.nan if curves.ideal is None else float(curves.ideal[row, nearest])
        beside = f", ideal {curves.words_of(ideal)}" if math.isfinite(ideal) else ""
        where = f"at turn input {curves.turns[row]:.3f}"
        also = [
            curves.names[k] for group in lane.look.groups if nearest in group for k in group if k != nearest
        ]
        same = f"\nThe same: {', '.join(also)}" if also else ""
        return f"{curves.names[nearest]}: {value}{beside} ({curves.axis}) {where}{same}"

    # Keys and menu ----------------------------------------------------------------------------

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Steer with the keys of the slider, and select the next wheel up or down."""
        key = event.key()
        if key in _KEYS:
            large = event.modifiers() & Qt.KeyboardModifier.ShiftModifier
            step = _KEYS[Qt.Key(key)] * (_LARGE_STEP if large and abs(_KEYS[Qt.Key(key)]) == 1 else _STEP)
            self._steer(round(self.turn + step, 6))
        elif key in (Qt.Key.Key_Home, Qt.Key.Key_End):
            self._steer(self._reach if key == Qt.Key.Key_Home else -self._reach)
        elif key == Qt.Key.Key_0:
            self._steer(0.0)
        elif key in (Qt.Key.Key_Up, Qt.Key.Key_Down):
            self.stepped.emit(1 if key == Qt.Key.Key_Down else -1)
            self._announce()
        elif key == Qt.Key.Key_Escape:
            event.ignore()
        else:
            super().keyPressEvent(event)
            event.ignore()

    def _steer(self, turn: float) -> None:
        self.asked.emit(self._limited(turn))
        self._announce()

    def _announce(self) -> None:
        """Let a screen reader tell the values at the cursor."""
        self.setAccessibleDescription(self.reading)
        if QAccessible.isActive():
            QAccessible.updateAccessibility(QAccessibleEvent(self, QAccessible.Event.DescriptionChanged))
            QAccessible.updateAccessibility(QAccessibleAnnouncementEvent(self, self.reading))

    def focusInEvent(self, event: QFocusEvent) -> None:
        """Be ready to tell the values."""
        super().focusInEvent(event)
        self.setAccessibleDescription(self.reading)

    def contextMenuEvent(self, event: QContextMenuEvent) -> None:
        """Offer the actions of the chart."""
        self._menu.clear()
        self._menu.addActions(self.actions())
        self._menu.popup(event.globalPos())
        event.accept()


def _numbered(plots: Sequence[PlotCurves]) -> tuple[list[tuple[int, ...]], tuple[tuple[int, str], ...]]:
    """A number for each curve of each plot, the same for the same wheel, and the entries of the legend."""
    entries = {wheel: name for each in plots for wheel, name in zip(each.wheels, each.names, strict=False)}
    free = max(entries, default=-1) + 1
    found = []
    for each in plots:
        if each.wheels:
            found.append(each.wheels[: len(each.names)])
            continue
        count = len(each.names)
        if count == 1:  # its title names it
            found.append((-1,))
            continue
        found.append(tuple(range(free, free + count)))
        entries |= dict(zip(found[-1], each.names, strict=True))
        free += count
    return found, tuple(sorted(entries.items()))
