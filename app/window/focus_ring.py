"""One ring round whatever has the keyboard."""

from __future__ import annotations

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtWidgets import QApplication, QFocusFrame, QMainWindow, QWidget

from app.theme import current_theme, pen

_WIDE, _OFF, _RADIUS = 2.0, 3, 6.0


class FocusRing(QFocusFrame):
    """Follows the keyboard within one window; the plan shows its own line."""

    def __init__(self, window: QMainWindow, plan: QWidget) -> None:
        super().__init__(window)
        self._window, self._plan = window, plan
        self.hide()
        application = QApplication.instance()
        if isinstance(application, QApplication):
            application.focusChanged.connect(self._follow)

    def _follow(self, _before: QWidget | None, now: QWidget | None) -> None:
        ours = now is not None and self._window.isAncestorOf(now) and now.window() is self._window
        if ours and now is not self._plan and now is not None and now.focusPolicy() != Qt.FocusPolicy.NoFocus:
            self.setWidget(now)
        else:
            self.setWidget(None)  # type: ignore[arg-type]
            self.hide()

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002
        """Draw the ring."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(pen(current_theme().accent, _WIDE))
        painter.drawRoundedRect(QRectF(self.rect()).adjusted(1, 1, -1, -1), _RADIUS, _RADIUS)
        painter.end()
