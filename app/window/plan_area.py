"""The plan, and what floats on it: the tools of the stage, the zoom, the note and the place of the mouse."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from PySide6.QtCore import QPoint, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QAction, QPainter, QPaintEvent, QResizeEvent
from PySide6.QtWidgets import QFrame, QHBoxLayout, QToolButton, QVBoxLayout, QWidget

from app.document import Document
from app.icons import DRAWINGS, icon
from app.theme import colour, current_theme, pen
from app.views.canvas import PlanCanvas
from app.views.note import EmptyPlan, MousePlace, PlanNote

_MARGIN, _HEIGHT = 8, 40


class ToolGroup(QWidget):
    """Buttons for actions, in parts with a line between them.

    Opaque, its corners too: else each step of a drag would draw it anew with the plan below.
    """

    def __init__(self, parent: QWidget, name: str) -> None:
        super().__init__(parent)
        self.setObjectName("tools")
        self.setAccessibleName(name)
        self.setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)
        self._row = QHBoxLayout(self)
        self._row.setContentsMargins(4, 3, 4, 3)
        self._row.setSpacing(2)
        self._parts: Sequence[Sequence[QAction]] = ()
        self.buttons: list[QToolButton] = []
        self._lines: list[QFrame] = []

    def show_tools(self, parts: Sequence[Sequence[QAction]]) -> None:
        """Show these actions."""
        if parts == self._parts:
            return
        self._clear()
        self._parts = parts
        for number, part in enumerate(parts):
            if number:
                line = QFrame()
                line.setFrameShape(QFrame.Shape.VLine)
                line.setObjectName("line")
                self._add(line)
                self._lines.append(line)
            for action in part:
                button = QToolButton()
                button.setDefaultAction(action)
                button.setAutoRaise(True)
                button.setFocusPolicy(Qt.FocusPolicy.TabFocus)
                button.setFixedHeight(_HEIGHT - 8)
                self._add(button)
                self.buttons.append(button)
        self.refresh_theme()

    def _add(self, widget: QWidget) -> None:
        self._row.addWidget(widget)
        widget.show()  # else the layout shows it later, and gives no room until then

    def fit(self, width: int) -> None:
        """Take the size that the tools need: with words where they fit, else by their icons alone [px]."""
        for words in (True, False):
            for button in self.buttons:
                button.setToolButtonStyle(
                    Qt.ToolButtonStyle.ToolButtonTextBesideIcon
                    if words
                    else Qt.ToolButtonStyle.ToolButtonIconOnly
                )
            self._row.activate()
            if self.sizeHint().width() <= width:
                break
        self.resize(self.sizeHint())

    def _clear(self) -> None:
        for widget in (*self.buttons, *self._lines):
            self._row.removeWidget(widget)
            widget.hide()
            widget.deleteLater()
        self.buttons, self._lines = [], []

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002
        """Draw the ground, with round corners on that of the plan."""
        theme = current_theme()
        painter = QPainter(self)
        painter.fillRect(self.rect(), colour(theme.paper))
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(pen(theme.line))
        painter.setBrush(colour(theme.panel))
        painter.drawRoundedRect(QRectF(self.rect()).adjusted(0.5, 0.5, -0.5, -0.5), 6.0, 6.0)
        painter.end()

    def refresh_theme(self) -> None:
        """Follow a change from light to dark or back."""
        theme = current_theme()
        self.update()
        self.setStyleSheet(
            f"#tools #line {{ color: {theme.line}; }}"
            f"#tools QToolButton {{ color: {theme.ink}; border: 1px solid transparent; border-radius: 4px;"
            f" padding: 2px 6px; }}"
            f"#tools QToolButton:hover {{ background: {theme.soft}; }}"
            f"#tools QToolButton:checked {{ background: {theme.soft}; color: {theme.accent};"
            f" border: 1px solid {theme.accent}; border-bottom: 3px solid {theme.accent}; }}"
            f"#tools QToolButton:disabled {{ color: {theme.faint}; }}"
        )
        for button in self.buttons:
            key = button.defaultAction().objectName()
            if key in DRAWINGS:
                button.defaultAction().setIcon(icon(key))


class PlanArea(QWidget):
    """The plan takes all of it; what floats keeps to the corners."""

    floating_moved = Signal()
    """Other parts of the plan are covered."""

    def __init__(self, document: Document) -> None:
        super().__init__()
        self.canvas = PlanCanvas(document)
        self.note = PlanNote(self.canvas)
        self.note.undo_asked.connect(document.undo)
        self.note.covered.connect(self.canvas.set_passing)
        self.where = MousePlace(self.canvas)
        self.canvas.pointed.connect(self.where.show_place)
        self.empty = EmptyPlan(self.canvas)
        self.empty.show_view(document.view)
        document.changed.connect(self.empty.show_view)
        self.tools = ToolGroup(self, "Tools of the stage")
        self.zoom = ToolGroup(self, "Zoom")
        self._parts: Sequence[Sequence[QAction]] = ()
        self._zoom: Sequence[QAction] = ()
        self._low = False
        self._floating: tuple[tuple[float, float, float, float], ...] = ()
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.addWidget(self.canvas)
        self.setMinimumSize(QSize(240, 160))

    def show_tools(self, parts: Sequence[Sequence[QAction]], zoom: Sequence[QAction]) -> None:
        """Offer these tools at the top left, and this zoom at the bottom right."""
        self._parts = [[a for a in part if a.isVisible()] for part in parts]
        self._zoom = zoom
        self._place()

    def fit(self, *, low: bool) -> None:
        """Leave the groups away where the window is so low that the plan needs the room."""
        self._low = low
        self._place()

    def _place(self) -> None:
        self.tools.show_tools(self._parts)
        self.zoom.show_tools([self._zoom])
        # Made anew for each stage, they would come last of all, behind the turn bar.
        for before, after in pairwise([self.canvas, *self.tools.buttons, *self.zoom.buttons]):
            QWidget.setTabOrder(before, after)
        self.tools.fit(self.width() - 2 * _MARGIN)
        self.zoom.fit(0)
        self._move()

    def _move(self) -> None:
        some = any(self._parts) and not self._low
        self.tools.setVisible(some)
        self.tools.move(_MARGIN, _MARGIN)
        size = self.zoom.size()
        self.zoom.setVisible(bool(self._zoom) and not self._low)
        self.zoom.move(QPoint(self.width() - size.width() - _MARGIN, self.height() - size.height() - _MARGIN))
        self.where.keep_clear(size.width() + _MARGIN if not self.zoom.isHidden() else 0)
        for group in (self.tools, self.zoom):
            group.raise_()
        if self.floating() != self._floating:
            self._floating = self.floating()
            self.floating_moved.emit()

    def floating(self) -> tuple[tuple[float, float, float, float], ...]:
        """Left, top, right and bottom of what covers the plan [px]."""
        shown = [group.geometry() for group in (self.tools, self.zoom) if not group.isHidden()]
        return tuple((r.left(), r.top(), r.left() + r.width(), r.top() + r.height()) for r in shown)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Keep to the corners."""
        super().resizeEvent(event)
        if event.size().width() != event.oldSize().width():
            self._place()
        else:
            self._move()

    def refresh_theme(self) -> None:
        """Follow a change from light to dark or back."""
        for part in (self.canvas, self.note, self.where, self.empty, self.tools, self.zoom):
            part.refresh_theme()
