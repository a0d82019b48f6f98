"""What a chart holds beside the library's own axes: the curves of a plot as one item, notes, heads, legend.

One item for each curve, as the library has them, takes ten to twenty times as long to paint.
None of these may have a method that is named as one of Qt's items, such as `show`, `x` or `update`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import pyqtgraph as pg
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QFont, QFontMetricsF, QPainter, QPen, QPolygonF, QStaticText, QTransform
from PySide6.QtWidgets import QStyleOptionGraphicsItem, QWidget

from app.panels.plot_curves import NO_CURVES, Groups, PlotCurves, finite_runs, values_range
from app.theme import Theme, colour, current_theme, pen
from geometry.axes import Floats

# Lengths of strokes and gaps [px]; the first is a whole line.
_DASHES: tuple[tuple[float, ...], ...] = (
    (),
    (7.0, 4.0),
    (1.5, 3.0),
    (8.0, 3.0, 1.5, 3.0),
    (14.0, 4.0),
    (3.0, 3.0),
    (14.0, 3.0, 1.5, 3.0, 1.5, 3.0),
)
# Of curves that hide one another each shows in strokes of this length in turn [px].
_IN_TURN = 9.0
# Room for half a number at the ends: the library leaves out those that would be cut.
MARGIN = 1.07
_AROUND = 0.04
_STEP_PX = 2.0
_SAMPLE, _GAP = 22.0, 12.0
_SMALL_PX = 11
# Where a line is drawn again, so that it looks two pixels wide: Qt strokes a broad curve thirty times slower.
_Shifts = tuple[tuple[float, float], ...]
_BOLD: _Shifts = ((0.0, -0.6), (0.0, 0.6), (0.6, 0.0), (-0.6, 0.0))
_PALE: _Shifts = ((0.0, 0.0),)
_FULL: _Shifts = ((0.0, 0.0), (0.0, 0.8))
_HALO = ((-1.5, -0.5), (1.5, 0.5), (0.5, -1.5), (-0.5, 1.5))

Shapes = list[list[QPolygonF]]
_LEFT = int(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
_RIGHT = int(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)


@dataclass(frozen=True)
class Look:
    """How the curves of one plot are told apart."""

    numbers: tuple[int, ...] = ()
    """For each curve the number of its dash and colour, the same in every plot and in the legend."""
    chosen: frozenset[int] = frozenset()
    """Columns of the curves of what is selected."""
    groups: Groups = ()
    """Columns of curves that hide one another."""


def small(font: QFont) -> QFont:
    """The size of units, marks and notes."""
    made = QFont(font)
    made.setPixelSize(_SMALL_PX)
    return made


def bold(font: QFont) -> QFont:
    """The same font, stronger."""
    made = QFont(font)
    made.setWeight(QFont.Weight.DemiBold)
    return made


def line_colour(theme: Theme, number: int) -> str:
    """Colour of a curve while none is selected."""
    return theme.ink if number < 0 else theme.series[number % len(theme.series)]


@lru_cache(maxsize=512)
def dashed(name: str, dashes: tuple[float, ...], offset: float = 0.0) -> QPen:
    """A fine pen with strokes of its own, shared; never change it."""
    made = QPen(pen(name, 1.0))
    if dashes:
        made.setDashPattern(list(dashes))
        made.setDashOffset(offset)
    return made


def _dashes(number: int) -> tuple[float, ...]:
    """A colour that comes again comes with other strokes."""
    return () if number < 0 else _DASHES[(number // 8 + number) % len(_DASHES)]


def _pens(theme: Theme, look: Look) -> list[tuple[int, QPen, _Shifts]]:
    """Column, pen and shifts of every curve, in the order in which they are painted."""
    place = {k: (group, j) for group in look.groups for j, k in enumerate(group)}
    found: list[tuple[int, QPen, _Shifts]] = []
    for k, number in enumerate(look.numbers):
        if k in look.chosen:
            whole = len(look.chosen) == 1
            found.append((k, dashed(theme.accent, () if whole else _dashes(number)), _BOLD))
            continue
        ink = theme.faint if look.chosen else line_colour(theme, number)
        dashes, offset = _dashes(number), 0.0
        if k in place:
            group, j = place[k]
            over = bool(look.chosen & set(group))
            ink = theme.ink if over else ink
            dashes = (_IN_TURN, max(len(group) - 1, 1) * _IN_TURN)
            offset = -j * _IN_TURN
        found.append((k, dashed(ink, dashes, offset), _PALE if look.chosen else _FULL))
    # What is selected lies over the others, and under those that it would hide.
    return sorted(found, key=lambda one: _layer(one[0], look))


def _layer(k: int, look: Look) -> int:
    if k in look.chosen:
        return 1
    return 2 if any(k in group and look.chosen & set(group) for group in look.groups) else 0


def halo_text(painter: QPainter, at: QPointF, text: str, ink: str, ground: str) -> None:
    """Write a text with its top left corner at a place, so that it stays legible over lines."""
    # Laid out once and not nine times: it is written at each step of a drag.
    laid = QStaticText(text)
    laid.setTextFormat(Qt.TextFormat.PlainText)
    laid.prepare(QTransform(), painter.font())
    painter.setPen(pen(ground))
    for dx, dy in _HALO:
        painter.drawStaticText(at + QPointF(dx, dy), laid)
    painter.setPen(pen(ink))
    painter.drawStaticText(at, laid)


class CurvesItem(pg.UIGraphicsItem):
    """Every curve of a plot, its ideal and the limits, painted in pixels."""

    def __init__(self) -> None:
        super().__init__()
        self.curves = NO_CURVES
        self.look = Look()
        self._drawn: tuple[object, Shapes, Shapes] = (None, [], [])
        self._values = (0.0, 1.0)
        self.setZValue(1.0)

    def feed(self, curves: PlotCurves, look: Look) -> None:
        """Draw these curves from now on."""
        if curves is not self.curves:
            self.curves = curves
            self.informViewBoundsChanged()
        self.look = look
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
        if np.isfinite(self.curves.values).any():  # else the axis stays: curves come back after a drag
            self._values = values_range(self.curves, *(orthoRange or (-reach, reach)))
        low, high = self._values
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
        for column, made, shifts in _pens(theme, self.look):
            if column < len(self._drawn[2]):
                painter.setPen(pen(made.color().name(), 1.0, Qt.PenStyle.DotLine))
                for shape in self._drawn[2][column]:
                    painter.drawPolyline(shape)
            painter.setPen(made)
            for shape in self._drawn[1][column]:
                for dx, dy in shifts:
                    painter.drawPolyline(shape.translated(dx, dy) if dx or dy else shape)
        painter.restore()

    def _shapes(self, values: Floats, to_pixels: QTransform, room: QRectF) -> Shapes:
        """Every curve as polylines [px]; what lies far beyond the sides is left out."""
        curves, bounds = self.curves, self.boundingRect()
        first = max(int(np.searchsorted(curves.turns, bounds.left())) - 1, 0)
        last = int(np.searchsorted(curves.turns, bounds.right())) + 1
        x = curves.turns[first:last] * to_pixels.m11() + to_pixels.dx()
        y = values[first:last] * to_pixels.m22() + to_pixels.dy()
        # Dashes along what runs out without end would take minutes.
        y = np.clip(y, room.top() - room.height(), room.bottom() + room.height())
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
        """Draw a fine line for each limit; the head says what they are, where curves cannot hide it."""
        theme = current_theme()
        for n, (value, _name) in enumerate(self.curves.limits):
            y = value * to_pixels.m22() + to_pixels.dy()
            tone = (theme.slight, theme.bad)[n % 2]
            painter.setPen(pen(tone, 1.0, (Qt.PenStyle.DashLine, Qt.PenStyle.DashDotLine)[n % 2]))
            painter.drawLine(QPointF(room.left(), y), QPointF(room.right(), y))


@dataclass(frozen=True)
class Note:
    """A value that is written at its place in a plot."""

    turn: float
    value: float
    text: str
    short: str
    """What is written where the text finds no room."""
    dot: bool = False
    """Whether a dot stands on the curve there."""


class NotesItem(pg.UIGraphicsItem):
    """Values at the cursor and at the pointer, written beside their places, and a line at the pointer."""

    def __init__(self) -> None:
        super().__init__()
        self.notes: tuple[Note, ...] = ()
        self.pointer: float | None = None
        self.setZValue(20.0)
        self.setAcceptedMouseButtons(Qt.MouseButton.NoButton)

    def tell(self, notes: Sequence[Note], pointer: float | None) -> None:
        """Write these from now on."""
        found = tuple(notes)
        if (found, pointer) != (self.notes, self.pointer):
            self.notes, self.pointer = found, pointer
            self.update()

    def dataBounds(self, *_args: object, **_named: object) -> None:  # noqa: N802 - the library's name
        """It asks for no room."""

    def paint(self, painter: QPainter, _option: QStyleOptionGraphicsItem, _widget: QWidget) -> None:
        """Draw the line of the pointer, then each value where it hides no other."""
        if not self.notes and self.pointer is None:
            return
        to_pixels, theme = painter.worldTransform(), current_theme()
        room = to_pixels.mapRect(self.boundingRect())
        painter.save()
        painter.resetTransform()
        painter.setFont(bold(small(painter.font())))
        if self.pointer is not None:
            x = to_pixels.map(QPointF(self.pointer, 0.0)).x()
            painter.setPen(pen(theme.faint, 1.0, Qt.PenStyle.DotLine))
            painter.drawLine(QPointF(x, room.top()), QPointF(x, room.bottom()))
        taken: list[QRectF] = []
        for note in self.notes:
            at = to_pixels.map(QPointF(note.turn, note.value))
            if note.dot and room.contains(at):
                painter.setPen(pen(theme.paper, 1.5))
                painter.setBrush(colour(theme.ink))
                painter.drawEllipse(at, 4.0, 4.0)
            metrics = QFontMetricsF(painter.font())
            for text in (note.text, note.short):
                spot = free_spot(metrics, text, at, room, taken)
                if spot is not None:
                    taken.append(spot)
                    ink = theme.ink if note.dot else theme.accent
                    halo_text(painter, spot.topLeft(), text, ink, theme.paper)
                    break
        painter.restore()


def free_spot(
    metrics: QFontMetricsF, text: str, at: QPointF, room: QRectF, taken: Sequence[QRectF]
) -> QRectF | None:
    """A place for a text beside a point, inside the room and off the others; None where there is none."""
    wide, tall, gap = metrics.horizontalAdvance(text), metrics.height(), 6.0
    for dy in (-tall - 2.0, 2.0, -2 * tall - 2.0, tall + 2.0):
        for dx in (gap, -gap - wide):
            spot = QRectF(at.x() + dx, at.y() + dy, wide, tall)
            spot.moveTop(min(max(spot.top(), room.top()), room.bottom() - tall))
            inside = room.left() <= spot.left() and spot.right() <= room.right()
            if inside and not any(spot.intersects(other) for other in taken):
                return spot
    return None


class LaneHead(pg.GraphicsWidget):
    """Title on the left and unit on the right; below, which curves hide one another."""

    def __init__(self) -> None:
        super().__init__()
        self._title, self._unit, self._lines = "", "", [""]
        self.words = ""
        """The whole note, for who rests the mouse on it."""
        self.setCacheMode(self.CacheMode.DeviceCoordinateCache)

    def feed(self, title: str, unit: str, note: str, room: float) -> float:
        """Say these in this width [px]; the height that it takes."""
        metrics = QFontMetricsF(small(self.font()))
        lines = wrapped(note, metrics, room)
        if (title, unit, lines) != (self._title, self._unit, self._lines):
            self._title, self._unit, self._lines = title, unit, lines
            self.update()
        self.words = note
        titled = QFontMetricsF(self.font()).height() + 2.0
        if QFontMetricsF(self.font()).horizontalAdvance(title) + metrics.horizontalAdvance(unit) + 12 > room:
            titled += metrics.height()
        return titled + len(lines) * metrics.height()

    def paint(self, painter: QPainter, _option: QStyleOptionGraphicsItem, _widget: QWidget) -> None:
        """Draw the texts."""
        theme, room = current_theme(), self.size().width()
        tall, fine = QFontMetricsF(self.font()), QFontMetricsF(small(self.font()))
        y = tall.height()
        painter.setFont(self.font())
        painter.setPen(pen(theme.ink))
        painter.drawText(QRectF(0, 0, room, y), _LEFT, self._title)
        painter.setFont(small(self.font()))
        painter.setPen(pen(theme.faint))
        if tall.horizontalAdvance(self._title) + fine.horizontalAdvance(self._unit) + 12 > room:
            painter.drawText(QRectF(0, y, room, fine.height()), _LEFT, self._unit)
            y += fine.height()
        else:
            painter.drawText(QRectF(0, 0, room, y), _RIGHT, self._unit)
        for line in self._lines:
            painter.drawText(QRectF(0, y, room, fine.height()), _LEFT, line)
            y += fine.height()


def wrapped(text: str, metrics: QFontMetricsF, room: float) -> list[str]:
    """A text in lines of a width [px], broken at spaces; a word without one is broken where it must."""
    lines: list[str] = []
    for word in text.split(" ") if text else []:
        if lines and metrics.horizontalAdvance(f"{lines[-1]} {word}") <= room:
            lines[-1] += f" {word}"
            continue
        rest = word
        while metrics.horizontalAdvance(rest) > room and len(rest) > 1:
            kept = next(
                (n for n in range(len(rest) - 1, 1, -1) if metrics.horizontalAdvance(rest[:n]) <= room), 1
            )
            lines.append(rest[:kept])
            rest = rest[kept:]
        lines.append(rest)
    return lines


class Legend(pg.GraphicsWidget):
    """A sample of each curve with its name, in as many rows as it takes.

    The library's own legend neither breaks into rows of the room there is nor breaks a long name.
    """

    def __init__(self) -> None:
        super().__init__()
        self._entries: tuple[tuple[int, str], ...] = ()
        self._chosen: frozenset[int] = frozenset()
        self._texts: list[list[str]] = []
        self._columns, self._column = 1, 0.0
        # It changes with the names alone, and must not be drawn anew with the curves.
        self.setCacheMode(self.CacheMode.DeviceCoordinateCache)

    def feed(self, entries: tuple[tuple[int, str], ...], chosen: frozenset[int], room: float) -> float:
        """Name curves in this width [px], the chosen ones strong; the height that it takes."""
        metrics = QFontMetricsF(bold(small(self.font())))
        widest = max((metrics.horizontalAdvance(name) for _, name in entries), default=0.0) + 1
        widest = min(widest, max(room - _SAMPLE, 10.0))
        self._entries, self._chosen = entries, chosen
        self._column = _SAMPLE + widest + _GAP
        self._columns = max(int((room + _GAP) / self._column), 1)
        self._texts = [wrapped(name, metrics, widest) or [""] for _, name in entries]
        self.update()
        return sum(self._tall(row) for row in range(self._rows())) * metrics.height()

    def _rows(self) -> int:
        return -(-len(self._entries) // self._columns)

    def _tall(self, row: int) -> int:
        """Lines of the longest name of a row."""
        return max(len(lines) for lines in self._texts[row * self._columns : (row + 1) * self._columns])

    def paint(self, painter: QPainter, _option: QStyleOptionGraphicsItem, _widget: QWidget) -> None:
        """Draw the samples and the names."""
        theme, font = current_theme(), small(self.font())
        line = QFontMetricsF(bold(font)).height()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        y = 0.0
        for row in range(self._rows()):
            for column in range(self._columns):
                n = row * self._columns + column
                if n < len(self._entries):
                    self._paint_entry(painter, theme, n, QPointF(column * self._column, y))
            y += self._tall(row) * line

    def _paint_entry(self, painter: QPainter, theme: Theme, n: int, at: QPointF) -> None:
        number = self._entries[n][0]
        chosen = number in self._chosen
        font = bold(small(self.font())) if chosen else small(self.font())
        line = QFontMetricsF(bold(font)).height()
        middle = at.y() + 0.5 * line
        if chosen:
            ink, shifts = theme.accent, _BOLD
            dashes = () if len(self._chosen) == 1 else _dashes(number)
        else:
            ink = theme.faint if self._chosen else line_colour(theme, number)
            dashes, shifts = _dashes(number), _PALE if self._chosen else _FULL
        painter.setPen(dashed(ink, dashes))
        for dx, dy in shifts:
            painter.drawLine(
                QPointF(at.x() + dx, middle + dy), QPointF(at.x() + _SAMPLE - 4 + dx, middle + dy)
            )
        painter.setFont(font)
        painter.setPen(pen(theme.ink))
        for k, text in enumerate(self._texts[n]):
            spot = QRectF(at.x() + _SAMPLE, at.y() + k * line, self._column, line)
            painter.drawText(spot, _LEFT, text)
