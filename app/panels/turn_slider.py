"""The slider over the turn input, with marks where something happens."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QFontMetricsF, QHelpEvent, QKeyEvent, QMouseEvent, QPainter, QPaintEvent, QPolygonF
from PySide6.QtWidgets import QSizePolicy, QSlider, QToolTip

from app.picture.view import View
from app.plain import plain_tip
from app.theme import Theme, colour, current_theme, pen, sized
from app.units import show_angle
from geometry.turn_range.sweep import JUMPS, Landmark

TICKS = 1000
"""Slider steps for one unit of turn input."""
_MARGIN = 44
_NAMES_FROM = 50
"""Height from which the marks are named [px]."""
_CATCH_PX = 5.0
_CATCHES = ("straight", "side stopped", "on the spot")


class TurnSlider(QSlider):
    """Left is left: the far left turns on the spot to the left (turn input 1)."""

    asked = Signal(float)
    """A turn input the person wants."""

    def __init__(self) -> None:
        super().__init__(Qt.Orientation.Horizontal)
        self.setRange(-TICKS, TICKS)
        self.setInvertedAppearance(True)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setAccessibleName("Turn input")
        self.setAccessibleDescription(
            "Left and right arrows steer, Page Up and Page Down go to the next mark, 0 is straight ahead."
        )
        self.setToolTip(
            "Turn input: left turns left, the middle is straight ahead, the ends turn on the spot."
        )
        self.setMouseTracking(True)
        self._marks: tuple[Landmark, ...] = ()
        self._names: tuple[str, ...] = ()
        self._turn = 0.0
        self._reach = 1.0
        self._dragging = False
        self._height = 60
        self.valueChanged.connect(self._moved)

    def _moved(self, ticks: int) -> None:
        """Steer by the mouse wheel, the up and down keys, or a screen reader."""
        self.asked.emit(self._limited(ticks / TICKS))
        self._show_ticks()

    def _show_ticks(self) -> None:
        self.blockSignals(True)  # noqa: FBT003
        self.setValue(round(self._turn * TICKS))
        self.blockSignals(False)  # noqa: FBT003

    def show_view(self, view: View) -> None:
        """Draw the handle of this view."""
        turn, reach = view.command.turn, view.design.largest_turn
        if (turn, reach) != (self._turn, self._reach):
            self._turn, self._reach = turn, reach
            self._show_ticks()
            self.update()

    def show_range(self, view: View) -> None:
        """Draw the marks of this view."""
        self._names = tuple(wheel.name for wheel in view.design.wheels)
        if view.facts.landmarks != self._marks:
            self._marks = view.facts.landmarks
            self.update()

    def sizeHint(self) -> QSize:
        """Room for the track and two lines of marks."""
        return QSize(500, self._height)

    def minimumSizeHint(self) -> QSize:
        """The marks' names need some width."""
        return QSize(300, self._height)

    def fit(self, height: int) -> None:
        """Take this height; a low slider leaves the names of its marks away [px]."""
        if height != self._height:
            self._height = height
            self.updateGeometry()
            self.update()

    # Places ------------------------------------------------------------------------------

    def place_of(self, turn: float) -> float:
        """Where a turn input is on the track [px]."""
        half = 0.5 * (self.width() - 2 * _MARGIN)
        return _MARGIN + half * (1.0 - turn)

    def turn_at(self, px: float) -> float:
        """Turn input under a pixel, caught by the named marks nearby."""
        half = max(0.5 * (self.width() - 2 * _MARGIN), 1.0)
        turn = 1.0 - (px - _MARGIN) / half
        for mark in self._marks:
            if mark.kind in _CATCHES and abs(self.place_of(mark.turn) - px) <= _CATCH_PX:
                return mark.turn
        return max(-self._reach, min(self._reach, round(turn, 3)))

    # Mouse and keys ------------------------------------------------------------------------

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Go to where the mouse is."""
        if event.button() == Qt.MouseButton.LeftButton:
            self._dragging = True
            self.asked.emit(self.turn_at(event.position().x()))

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Follow the mouse."""
        if self._dragging:
            self.asked.emit(self.turn_at(event.position().x()))

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Stop following."""
        if event.button() == Qt.MouseButton.LeftButton:
            self._dragging = False

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Steer by keys; left is left."""
        step = 0.1 if event.modifiers() & Qt.KeyboardModifier.ShiftModifier else 0.01
        key = event.key()
        if key in (Qt.Key.Key_Left, Qt.Key.Key_Right):
            way = 1 if key == Qt.Key.Key_Left else -1
            self.asked.emit(self._limited(round(self._turn + way * step, 6)))
        elif key in (Qt.Key.Key_PageUp, Qt.Key.Key_PageDown):
            self.asked.emit(self._next_mark(1 if key == Qt.Key.Key_PageUp else -1))
        elif key == Qt.Key.Key_0:
            self.asked.emit(0.0)
        elif key in (Qt.Key.Key_Home, Qt.Key.Key_End):
            self.asked.emit(self._reach if key == Qt.Key.Key_Home else -self._reach)
        else:
            super().keyPressEvent(event)

    def _limited(self, turn: float) -> float:
        return max(-self._reach, min(self._reach, turn))

    def _next_mark(self, way: int) -> float:
        ahead = [mark.turn for mark in self._marks if way * (mark.turn - self._turn) > 1e-9]
        return min(ahead, key=lambda turn: abs(turn - self._turn), default=self._turn)

    def event(self, event: QEvent) -> bool:
        """Say what a mark means when the mouse rests on it."""
        if event.type() == QEvent.Type.ToolTip and isinstance(event, QHelpEvent):
            near = [m for m in self._marks if abs(self.place_of(m.turn) - event.pos().x()) <= 6]
            text = "\n".join(mark_text(mark, self._names) for mark in near) or self.toolTip()
            QToolTip.showText(event.globalPos(), plain_tip(text), self)
            return True
        return super().event(event)

    # Drawing ---------------------------------------------------------------------------------

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002
        """Draw track, marks and handle."""
        theme = current_theme()
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        middle = 18.0 if self._height >= _NAMES_FROM else 0.5 * self._height
        track = QRectF(self.place_of(1.0), middle - 3, self.place_of(-1.0) - self.place_of(1.0), 6)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(colour(theme.line))
        painter.drawRoundedRect(track, 3, 3)
        usable = QRectF(self.place_of(self._reach), middle - 3, 0, 6)
        usable.setRight(self.place_of(-self._reach))
        painter.setBrush(colour(theme.edge))
        painter.drawRoundedRect(usable, 3, 3)
        zero, here = sorted((self.place_of(0.0), self.place_of(self._turn)))
        painter.setBrush(colour(theme.accent))
        painter.drawRect(QRectF(zero, middle - 3, here - zero, 6))
        for mark in self._marks:
            _draw_mark(painter, theme, mark, self.place_of(mark.turn), middle)
        if self._height >= _NAMES_FROM:
            self._draw_names(painter, theme, middle)
        self._draw_handle(painter, theme, middle)
        painter.end()

    def _draw_names(self, painter: QPainter, theme: Theme, middle: float) -> None:
        small = sized(self.font(), "small")
        metrics = QFontMetricsF(small)
        painter.setFont(small)
        painter.setPen(pen(theme.faint))
        for mark in self._marks:
            name = _short_name(mark)
            if name:
                wide = metrics.horizontalAdvance(name)
                x = min(max(self.place_of(mark.turn) - 0.5 * wide, 2.0), self.width() - wide - 2.0)
                painter.drawText(QPointF(x, middle + 22 + metrics.ascent() * 0.5), name)

    def _draw_handle(self, painter: QPainter, theme: Theme, middle: float) -> None:
        x = self.place_of(self._turn)
        painter.setPen(pen(theme.accent, 2.0))
        painter.setBrush(colour(theme.field))
        painter.drawEllipse(QPointF(x, middle), 9, 9)
        painter.setBrush(colour(theme.accent))
        painter.setPen(Qt.PenStyle.NoPen)
        painter.drawEllipse(QPointF(x, middle), 4, 4)


def _draw_mark(painter: QPainter, theme: Theme, mark: Landmark, x: float, middle: float) -> None:
    if mark.kind in JUMPS:
        painter.setPen(pen(theme.bad, 1.6))
        painter.setBrush(colour(theme.paper))
        up, down = middle - 15, middle - 7
        painter.drawPolygon(
            QPolygonF(
                [
                    QPointF(x, up),
                    QPointF(x + 4, (up + down) / 2),
                    QPointF(x, down),
                    QPointF(x - 4, (up + down) / 2),
                ]
            )
        )
    elif mark.kind == "travel end":
        painter.setPen(pen(theme.slight, 2.0))
        painter.drawLine(QPointF(x, middle - 14), QPointF(x, middle - 5))
    else:
        painter.setPen(pen(theme.ink, 1.4))
        painter.drawLine(QPointF(x, middle + 5), QPointF(x, middle + 12))


def _short_name(mark: Landmark) -> str:
    match mark.kind:
        case "straight":
            return "straight"
        case "side stopped":
            return "left side stopped" if mark.turn > 0 else "right side stopped"
        case "on the spot":
            return "spot left" if mark.turn > 0 else "spot right"
        case "largest turn":
            return "limit"
        case _:
            return ""


def mark_text(mark: Landmark, names: tuple[str, ...]) -> str:
    """A mark in words."""
    wheel = names[mark.wheel] if mark.wheel is not None and mark.wheel < len(names) else ""
    at = f"turn input {mark.turn:.3f}"
    match mark.kind:
        case "flip":
            change = f"from {show_angle(mark.before)} to {show_angle(mark.after)}"
            return f"{at}: {wheel} flips {change} and rolls the other way"
        case "changes end":
            ends = f"{show_angle(mark.before)}, to the other, {show_angle(mark.after)}"
            return f"{at}: {wheel} goes from one end of its travel, {ends}"
        case "jump":
            return f"{at}: {wheel} jumps from {show_angle(mark.before)} to {show_angle(mark.after)}"
        case "travel end":
            return f"{at}: {wheel} reaches an end of its travel, {show_angle(mark.before)}"
        case "side stopped":
            return f"{at}: the {'left' if mark.turn > 0 else 'right'} side is stopped"
        case "on the spot":
            return f"{at}: turns on the spot to the {'left' if mark.turn > 0 else 'right'}"
        case "largest turn":
            return f"{at}: largest turn in use"
        case _:
            return "straight ahead"
