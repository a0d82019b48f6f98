"""Parts of a page: a column that scrolls, small letters, and the one button that the page is for."""

from __future__ import annotations

from PySide6.QtCore import QEvent, Qt
from PySide6.QtWidgets import QApplication, QFrame, QLabel, QPushButton, QScrollArea, QWidget

from app.theme import current_theme, sized

_BAR = 8


class Column(QScrollArea):
    """Scrolls where there is too little height, and to where the keys are; the ground is seen behind it."""

    def __init__(self, inner: QWidget) -> None:
        super().__init__()
        self._inner = inner
        self.setWidget(inner)
        self.setWidgetResizable(True)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)  # Tab goes straight to the fields
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        for part in (self.viewport(), inner):
            part.setAutoFillBackground(False)
        self._paint()
        application = QApplication.instance()
        if isinstance(application, QApplication):
            application.focusChanged.connect(self._follow_keys)

    def _follow_keys(self, _before: QWidget | None, now: QWidget | None) -> None:
        """Bring what has the keyboard into sight; Qt does so only where Tab stays within the column."""
        if now is not None and self.isAncestorOf(now):
            # Of a line to type in, `ensureWidgetVisible` would show no more than the caret.
            middle = now.mapTo(self._inner, now.rect().center())
            self.ensureVisible(middle.x(), middle.y(), 0, now.height() // 2 + 8)

    def _paint(self) -> None:
        theme = current_theme()
        wanted = (
            f"QScrollBar:vertical {{ background: {theme.panel}; width: {_BAR}px; margin: 0; }}"
            f"QScrollBar::handle:vertical {{ background: {theme.edge}; border-radius: 3px;"
            " min-height: 24px; }"
            "QScrollBar::add-line, QScrollBar::sub-line { height: 0; }"
        )
        if wanted != self.verticalScrollBar().styleSheet():
            self.verticalScrollBar().setStyleSheet(wanted)

    def changeEvent(self, event: QEvent) -> None:
        """Follow light and dark."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.PaletteChange:
            self._paint()


class SmallLabel(QLabel):
    """Faint small letters: captions, hints, states."""

    def __init__(self, text: str = "") -> None:
        super().__init__(text)
        self.setTextFormat(Qt.TextFormat.PlainText)
        self.setFont(sized(self.font(), "small"))
        self._paint()

    def _paint(self) -> None:
        wanted = f"color: {current_theme().faint};"
        if wanted != self.styleSheet():
            self.setStyleSheet(wanted)

    def changeEvent(self, event: QEvent) -> None:
        """Follow light and dark."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.PaletteChange:
            self._paint()


class AccentButton(QPushButton):
    """The one button that the page is for."""

    def __init__(self, text: str) -> None:
        super().__init__(text)
        self._paint()

    def _paint(self) -> None:
        theme = current_theme()
        wanted = (
            f"QPushButton {{ background: {theme.accent}; color: {theme.on_accent}; font-weight: 600;"
            f" border: 1px solid {theme.accent}; border-radius: 4px; padding: 0 12px; }}"
            f"QPushButton:hover {{ border-color: {theme.ink}; }}"
            f"QPushButton:pressed {{ background: {theme.soft}; color: {theme.accent}; }}"
            f"QPushButton:disabled {{ background: {theme.soft}; color: {theme.faint};"
            f" border-color: {theme.line}; }}"
        )
        if wanted != self.styleSheet():
            self.setStyleSheet(wanted)

    def changeEvent(self, event: QEvent) -> None:
        """Follow light and dark."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.PaletteChange:
            self._paint()
