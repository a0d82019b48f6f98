"""The keys of undo and redo reach the document from every field that holds nothing unfinished.

Qt's own fields take these keys for their own text, also where that text is taken up already or cannot be
edited at all, and then do nothing with them.
"""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QEvent, QObject
from PySide6.QtGui import QAction, QKeyEvent, QKeySequence
from PySide6.QtWidgets import QApplication, QLineEdit, QMainWindow, QPlainTextEdit, QTextEdit, QWidget
from shiboken6 import isValid

_TEXTS = (QLineEdit, QPlainTextEdit, QTextEdit)
_KEYS = (QEvent.Type.ShortcutOverride, QEvent.Type.KeyPress)


class UndoKeys(QObject):
    """Watches the field of a window that has the keyboard, and no other: a drag on the plan is not slowed."""

    def __init__(self, window: QMainWindow, actions: Sequence[QAction]) -> None:
        super().__init__(window)
        self._window = window
        self._actions = tuple(actions)
        self._watched: QWidget | None = None
        application = QApplication.instance()
        if isinstance(application, QApplication):
            application.focusChanged.connect(self._watch)

    def _watch(self, _before: QWidget | None, now: QWidget | None) -> None:
        if self._watched is not None and isValid(self._watched):
            self._watched.removeEventFilter(self)
        self._watched = None
        if isinstance(now, _TEXTS) and isValid(self._window) and self._window.isAncestorOf(now):
            self._watched = now
            now.installEventFilter(self)

    def eventFilter(self, text: QObject, event: QEvent) -> bool:
        """Keep undo and redo from a field, unless they are for what is being typed there."""
        if event.type() not in _KEYS or not isinstance(event, QKeyEvent) or _unfinished(text):
            return False
        typed = QKeySequence(event.keyCombination())
        if not any(typed in action.shortcuts() for action in self._actions):
            return False
        event.ignore()
        return True


def _unfinished(text: QObject) -> bool:
    """Whether a field holds something typed that is not taken up yet."""
    if isinstance(text, QLineEdit):
        return text.isModified() and text.isUndoAvailable() and not text.isReadOnly()
    if isinstance(text, QPlainTextEdit | QTextEdit):
        return text.document().isModified() and not text.isReadOnly()
    return False
