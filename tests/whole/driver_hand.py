"""A hand on keyboard and mouse: events to the platform's window, one at each tick of a timer.

Qt takes them in through its window system interface, as it takes those of a real keyboard and mouse. Each
tick is a timer of its own, so the hand goes on in the event loop of a menu or a modal dialog that an event
of its own has opened.
"""

from __future__ import annotations

import faulthandler
from collections import deque
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import Literal

from PySide6.QtCore import QElapsedTimer, QPoint, Qt, QTimer
from PySide6.QtGui import QGuiApplication, QKeySequence, QWindow
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QWidget
from shiboken6 import isValid

NONE = Qt.KeyboardModifier.NoModifier
LEFT = Qt.MouseButton.LeftButton
_TICK_MS = 1
_QUIET_TICKS = 3
_MOST_WAIT_MS = 3_000
_MOST_STUCK_SECONDS = 120


@dataclass(frozen=True)
class Key:
    """A key pressed and released, with the text that it types."""

    key: Qt.Key
    held: Qt.KeyboardModifier = NONE
    text: str = ""


@dataclass(frozen=True)
class Mouse:
    """One event of the mouse, at a place of the screen."""

    what: Literal["press", "move", "release", "double"]
    at: QPoint
    button: Qt.MouseButton = LEFT
    held: Qt.KeyboardModifier = NONE


@dataclass(frozen=True)
class Turn:
    """The mouse wheel turned; 120 is one notch."""

    at: QPoint
    amount: int
    held: Qt.KeyboardModifier = NONE


Stroke = Key | Mouse | Turn


@dataclass(frozen=True)
class Act:
    """What a person does at once, and how it is called in a report."""

    words: str
    strokes: tuple[Stroke, ...]
    scrolls: bool = field(default=False)
    """Whether the person moves the page themself."""


def typed(text: str) -> tuple[Key, ...]:
    """Keys that type a text."""
    return tuple(
        Key(Qt.Key(ord(c.upper())) if " " <= c <= "~" else Qt.Key.Key_unknown, NONE, c) for c in text
    )


def chord(keys: str) -> Key:
    """A key with those that are held, as menus write it: Ctrl+Shift+N."""
    both = QKeySequence(keys)[0]  # type: ignore[index]  # the stubs do not know it
    plain = both.keyboardModifiers() in (NONE, Qt.KeyboardModifier.ShiftModifier)
    text = chr(both.key()).lower() if plain and both.key() < 0x80 else ""
    return Key(both.key(), both.keyboardModifiers(), text)


def front() -> QWidget | None:
    """What takes the keyboard: a popup, else the active window."""
    return QApplication.activePopupWidget() or QApplication.activeModalWidget() or QApplication.activeWindow()


class Hand:
    """Does one act after another.

    Parameters
    ----------
    acts
        Asked for the next act when the last one is over; the end of it ends the run.
    before, after
        Called around each act, where nothing is going on any more; `after` may say what is wrong.
    ended
        Called once, with what is wrong or nothing.
    """

    def __init__(
        self,
        acts: Iterator[Act],
        *,
        before: Callable[[Act], None],
        after: Callable[[Act], str],
        ended: Callable[[str], None],
    ) -> None:
        self._acts = acts
        self._before, self._after, self._ended = before, after, ended
        self._strokes: deque[Stroke] = deque()
        self._act: Act | None = None
        self._held: QWindow | None = None
        self._quiet = 0
        self._waited = QElapsedTimer()
        self._waited.start()

    def start(self) -> None:
        """Begin, as soon as the event loop runs."""
        QTimer.singleShot(_TICK_MS, self._tick)

    def _tick(self) -> None:
        faulthandler.dump_traceback_later(_MOST_STUCK_SECONDS, exit=True)
        if self._strokes:
            # First: what is sent may open a dialog, whose event loop the hand must go on in.
            QTimer.singleShot(_TICK_MS, self._tick)
            self._quiet = 0
            self._waited.restart()
            self._send(self._strokes.popleft())
            return
        if not self._settled():
            QTimer.singleShot(_TICK_MS, self._tick)
            return
        wrong = self._after(self._act) if self._act is not None else ""
        self._act = None if wrong else next(self._acts, None)
        if self._act is None:
            faulthandler.cancel_dump_traceback_later()
            self._ended(wrong)
            return
        self._before(self._act)
        self._strokes.extend(self._act.strokes)
        QTimer.singleShot(_TICK_MS, self._tick)

    def _settled(self) -> bool:
        """Whether the windows have answered: one is active, drawn, and some rounds of events have passed."""
        self._quiet += 1
        if self._quiet < _QUIET_TICKS:
            return False
        shown, waited = front(), self._waited.elapsed()
        handle = None if shown is None else _handle(shown)
        if handle is not None and handle.isExposed():
            return True
        if waited > _MOST_WAIT_MS:
            return True  # whoever looks at it after the act says so
        if waited > 300 and QGuiApplication.focusWindow() is None:
            _activate()  # without a window manager nobody else does
        return False

    def _send(self, stroke: Stroke) -> None:
        if isinstance(stroke, Key):
            # What the press opens has the keyboard from then on, and gets the release.
            for action in (QTest.KeyAction.Press, QTest.KeyAction.Release):
                if QGuiApplication.focusObject() is not None:
                    window = QGuiApplication.focusWindow()
                    QTest.sendKeyEvent(action, window, stroke.key, stroke.text, stroke.held)
            return
        target = self._window_at(stroke.at)
        if target is None:
            return
        at = target.mapFromGlobal(stroke.at)
        if isinstance(stroke, Turn):
            QTest.wheelEvent(target, at, QPoint(0, stroke.amount), QPoint(), stroke.held)
        elif stroke.what == "move":
            QTest.mouseMove(target, at)
        elif stroke.what == "press":
            self._held = target
            _give_keyboard(target)
            QTest.mousePress(target, stroke.button, stroke.held, at)
        elif stroke.what == "double":
            QTest.mouseDClick(target, stroke.button, stroke.held, at)
        else:
            self._held = None
            QTest.mouseRelease(target, stroke.button, stroke.held, at)

    def _window_at(self, at: QPoint) -> QWindow | None:
        """Where the window system would send the mouse: a popup, where the button went down, the top."""
        popup = QApplication.activePopupWidget()
        if popup is not None:
            return _handle(popup)
        if self._held is not None and _alive(self._held):
            return self._held
        found = QApplication.topLevelAt(at)
        return None if found is None else _handle(found)


def _handle(widget: QWidget) -> QWindow | None:
    """The platform's window of a widget; `windowHandle` may give one of before that is gone."""
    number = int(widget.window().winId())
    windows = [window for window in QGuiApplication.topLevelWindows() if isValid(window)]
    return next((window for window in windows if window.isVisible() and window.winId() == number), None)


def _alive(window: QWindow) -> bool:
    return isValid(window) and window in QGuiApplication.allWindows() and window.isVisible()


def _give_keyboard(target: QWindow) -> None:
    """Do what a window manager does with a window that is clicked on."""
    plain = QApplication.activePopupWidget() is None and QApplication.activeModalWidget() is None
    if plain and target is not QGuiApplication.focusWindow() and target.type() != Qt.WindowType.ToolTip:
        target.requestActivate()


def _activate() -> None:
    """Do what a window manager does with the window that lies on top."""
    shown = QApplication.activeModalWidget() or next(
        (w for w in reversed(QApplication.topLevelWidgets()) if w.isVisible() and w.windowHandle()), None
    )
    handle = None if shown is None else _handle(shown)
    if handle is not None:
        handle.requestActivate()
