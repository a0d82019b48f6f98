"""A few choices side by side, of which one holds."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from PySide6.QtCore import QRectF, QSize, Qt, Signal
from PySide6.QtGui import QFontMetrics, QPainter, QPaintEvent
from PySide6.QtWidgets import QAbstractButton, QButtonGroup, QHBoxLayout, QSizePolicy, QWidget

from app.theme import colour, current_theme, mixed, pen, sized

_HEIGHT, _RADIUS = 28, 4.0


class Segment(QAbstractButton):
    """One of the choices: soft ground, accent edge and an underline where it holds."""

    def __init__(self, text: str, name: str, tip: str) -> None:
        super().__init__()
        self.setText(text)
        self.setAccessibleName(name)
        self.setToolTip(tip)
        self.setCheckable(True)
        self.setFocusPolicy(Qt.FocusPolicy.ClickFocus)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setAttribute(Qt.WidgetAttribute.WA_Hover)

    def sizeHint(self) -> QSize:
        """The strong letters, with some room."""
        metrics = QFontMetrics(sized(self.font(), "text", strong=True))
        return QSize(metrics.horizontalAdvance(self.text()) + 16, _HEIGHT)

    def minimumSizeHint(self) -> QSize:
        """The letters are never cut."""
        return self.sizeHint() - QSize(8, 0)

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002
        """Draw ground, edge, word and underline."""
        theme, on = current_theme(), self.isChecked()
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        frame = QRectF(self.rect()).adjusted(0.5, 0.5, -0.5, -0.5)
        hover = self.underMouse() and self.isEnabled()
        ground = theme.soft if on else mixed(theme.soft, theme.field, 0.5) if hover else theme.field
        painter.setBrush(colour(ground))
        painter.setPen(pen(theme.accent if on and self.isEnabled() else theme.edge))
        painter.drawRoundedRect(frame, _RADIUS, _RADIUS)
        ink = theme.accent if on else theme.ink
        painter.setPen(pen(ink if self.isEnabled() else theme.faint))
        painter.setFont(sized(self.font(), "text", strong=on))
        painter.drawText(self.rect(), int(Qt.AlignmentFlag.AlignCenter), self.text())
        if on:
            painter.setPen(pen(ink if self.isEnabled() else theme.faint, 2.0))
            below = frame.bottom() - 2.5
            painter.drawLine(int(frame.left()) + 8, int(below), int(frame.right()) - 8, int(below))
        painter.end()


class Segments(QWidget):
    """One stop for Tab; arrow keys go from choice to choice.

    Parameters
    ----------
    name
        What is chosen, for screen readers.
    tip
        What it means.
    words
        What stands on each choice, by its key.
    spoken
        What screen readers say of a choice where its word alone is too little.
    """

    chosen = Signal(object)
    """The key of another choice, made by the person or by `choose`."""

    def __init__(
        self, name: str, tip: str, words: Mapping[Any, str], spoken: Mapping[Any, str] | None = None
    ) -> None:
        super().__init__()
        self.setAccessibleName(name)
        self.setToolTip(tip)
        self._group = QButtonGroup(self)
        self.buttons: dict[Any, Segment] = {}
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(0)
        for key, word in words.items():
            button = Segment(word, f"{name}: {(spoken or {}).get(key, word)}", tip)
            self._group.addButton(button)
            self.buttons[key] = button
            row.addWidget(button)
        self._group.buttonToggled.connect(self._toggled)
        next(iter(self.buttons.values())).setChecked(True)

    @property
    def value(self) -> Any:
        """The key of the choice that holds."""
        return next(key for key, button in self.buttons.items() if button.isChecked())

    def choose(self, key: Any) -> None:
        """Let a choice hold."""
        self.buttons[key].setChecked(True)

    def _toggled(self, button: QAbstractButton, on: object) -> None:
        button.setFocusPolicy(Qt.FocusPolicy.StrongFocus if on else Qt.FocusPolicy.ClickFocus)
        if on:
            self.chosen.emit(self.value)
