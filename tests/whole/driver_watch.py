"""What must hold after each act on the window, and where it does not, a report to act on."""

from __future__ import annotations

import os
import re
import sys
import threading
import traceback
from collections import Counter, deque
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType

import numpy as np
from PySide6.QtCore import (
    QElapsedTimer,
    QEventLoop,
    QMessageLogContext,
    QPoint,
    QRect,
    QtMsgType,
    qInstallMessageHandler,
)
from PySide6.QtGui import QGuiApplication, QImage
from PySide6.QtWidgets import QApplication, QWidget

from app.document import Document
from app.window.main_window import MainWindow
from geometry.model.design import Design
from tests.whole.driver_choice import called
from tests.whole.driver_hand import Act, Key, front

LAST_ACTS = 30
DRIVER_FAILED = 4
_OF_THE_HAND = re.compile(r"^Mouse event at .* occurs outside target window")
"""What the functions that send events say themself; a drag may well end outside."""
_MOST_DRAWING_MS = 1_500
_LEAST_SEEN_PX = 8


Mark = tuple[float, ...]
"""Where a thing is on the plan, and how large [px]."""


@dataclass(frozen=True)
class _Seen:
    """What was there before an act."""

    plan: dict[str, Mark]
    command: object
    windows: frozenset[int]
    picture: QImage


class Watch:
    """Looks at the window around each act.

    Parameters
    ----------
    log
        Gets each act before it is done, for where the process dies of it.
    pixels
        Whether to look at the pixels, too; it takes most of the time.
    """

    def __init__(self, log: Path, *, pixels: bool = True) -> None:
        self._pixels = pixels
        self._log = log.open("w", encoding="utf-8", buffering=1)
        self._last: deque[str] = deque(maxlen=LAST_ACTS)
        self._told = ""
        self._heard: list[str] = []
        self._seen: _Seen | None = None
        self._focus: QWidget | None = None
        self._front: QWidget | None = None
        self.count = 0
        self.changes = 0
        """How many acts changed what the plan draws."""
        self.notes: list[str] = []
        """What a course has to say at its end."""
        self.steps = 0
        """How many steps were undone and redone."""
        self.windows: Counter[str] = Counter()
        """How many acts were done in windows of each title or kind."""
        self.started: Design | None = None
        """The design with which the steps that can be undone began."""

    def listen(self) -> None:
        """Hear every exception and every warning of Qt from now on."""
        sys.excepthook = self._raised
        sys.unraisablehook = lambda found: self._raised(found.exc_type, found.exc_value, found.exc_traceback)
        threading.excepthook = lambda found: self._raised(
            found.exc_type, found.exc_value, found.exc_traceback
        )
        qInstallMessageHandler(self._said)

    def _raised(
        self, kind: type[BaseException], error: BaseException | None, trace: TracebackType | None
    ) -> None:
        told = "".join(traceback.format_exception(kind, error, trace))
        self._heard.append(told)
        frames = traceback.extract_tb(trace)
        if frames and Path(frames[-1].filename).name.startswith("driver"):
            print(f"the driver itself failed:\n{told}", flush=True)
            os._exit(DRIVER_FAILED)  # its course is broken off: nothing would happen any more

    def _said(self, kind: QtMsgType, _where: QMessageLogContext, text: str) -> None:
        if kind not in (QtMsgType.QtDebugMsg, QtMsgType.QtInfoMsg) and not _OF_THE_HAND.search(text):
            self._heard.append(f"Qt said: {text}\n{''.join(traceback.format_stack(limit=8))}")

    @property
    def window(self) -> MainWindow | None:
        """The window of the program."""
        return next((w for w in QApplication.topLevelWidgets() if isinstance(w, MainWindow)), None)

    @property
    def document(self) -> Document | None:
        """What the window shows."""
        window = self.window
        return None if window is None else window.document

    def follow(self) -> None:
        """Know from now on with which design the steps began."""
        document = self.document
        assert document is not None
        self.started = document.design
        document.opened.connect(self._opened)

    def _opened(self) -> None:
        document = self.document
        self.started = None if document is None else document.design

    def blame(self, wrong: str) -> Act:
        """Say what a run found wrong; the act is to look, after which it is reported."""
        self._heard.append(wrong)
        return Act(f"look: {wrong}", ())

    # Around each act ----------------------------------------------------------------------

    def before(self, act: Act) -> None:
        """Note what is there, and what is about to be done."""
        self.count += 1
        words = f"{self.count}: {act.words}"
        if act.strokes or act.words != self._told:  # waiting is told once
            self._last.append(words)
            self._log.write(words + "\n")
        self._told = act.words
        shown = front()
        if shown is not None:
            self.windows[
                "the window" if shown is self.window else shown.windowTitle() or type(shown).__name__
            ] += 1
        self._seen = self._look()
        self._focus, self._front = QApplication.focusWidget(), shown

    def after(self, act: Act) -> str:
        """What is wrong after an act; nothing where all is well."""
        if self._heard:
            return "\n".join(self._heard)
        return self._still(lambda: self._focus_out_of_sight(act)) or self._change_unseen()

    def _still(self, wrong: Callable[[], str]) -> str:
        """What is wrong and stays wrong for a while: panels are laid out and drawn a little later."""
        clock = QElapsedTimer()
        clock.start()
        found = wrong()
        while found and clock.elapsed() < _MOST_DRAWING_MS:
            QApplication.processEvents(QEventLoop.ProcessEventsFlag.ExcludeUserInputEvents, 20)
            found = wrong()
        return found

    def _look(self) -> _Seen | None:
        window = self.window
        if window is None or not window.isVisible() or not self._pixels:
            return None
        document = window.document
        shown = {int(w.winId()) for w in QApplication.topLevelWidgets() if w.isVisible()}
        # Without wheels there is nothing that a turn would show on.
        command = document.command if document.view.design.wheels else None
        return _Seen(_on_plan(window), command, frozenset(shown), _picture_of(window))

    def _focus_out_of_sight(self, act: Act) -> str:
        shown = front()
        if shown is None:
            return "no window takes the keyboard"
        focus = QApplication.focusWidget()
        if focus is None or QApplication.activePopupWidget() is not None or act.scrolls:
            return ""
        if not focus.isVisible():
            return f"the keyboard is with {called(focus)}, which is hidden"
        new = focus is not self._focus and shown is self._front
        if not new and not any(isinstance(stroke, Key) for stroke in act.strokes):
            return ""  # who has scrolled it away may look on; what matters is where a key goes
        seen = _in_sight(focus)
        came_by_key = new and all(isinstance(stroke, Key) for stroke in act.strokes)
        least = _LEAST_SEEN_PX if came_by_key else 1  # a click may be on the edge that is in sight
        enough = max(1, min(focus.width(), 2 * least)), max(1, min(focus.height(), least))
        if seen.width() < enough[0] or seen.height() < enough[1]:
            place = focus.mapTo(focus.window(), focus.rect().topLeft()).toTuple()
            return (
                f"the keyboard is with {called(focus)} of {focus.width()} x {focus.height()} px at {place}, "
                f"of which {seen.width()} x {seen.height()} px are in sight"
            )
        return ""

    def _change_unseen(self) -> str:
        before = self._seen
        now = self._look()
        if before is None or now is None or now.windows != before.windows:
            return ""
        moved = _moved(before.plan, now.plan)
        if not moved and now.command == before.command:
            return ""
        self.changes += 1
        moved = moved or f"{before.command} became {now.command}"
        same = f"not one pixel of the screen changed, and yet: {moved}"
        window = self.window
        assert window is not None
        return self._still(lambda: same if _picture_of(window) == before.picture else "")

    # Report -------------------------------------------------------------------------------

    def told(self) -> str:
        """How much a run came to."""
        where = ", ".join(f"{count} in {words}" for words, count in self.windows.most_common())
        found = f"{self.changes} changed the plan; {self.steps} steps undone and redone. Acts: {where}."
        return "\n".join([found, *self.notes])

    def report(self, wrong: str, again: str, pictures: Path) -> str:
        """All that is needed to see the fault again.

        Parameters
        ----------
        wrong
            What does not hold.
        again
            The command that comes to the same place.
        pictures
            Folder for a picture of the screen.
        """
        pictures.mkdir(parents=True, exist_ok=True)
        path = pictures / f"act-{self.count}.png"
        QGuiApplication.primaryScreen().grabWindow(0).save(str(path))
        last = "\n".join(f"  {words}" for words in self._last)
        return f"{wrong}\n\nThe last acts:\n{last}\nThe screen: {path}\nAgain: {again}"


def _in_sight(widget: QWidget) -> QRect:
    """What the parents of a widget leave of it, in its own pixels; scrolled away, nothing."""
    seen, place, inner = widget.rect(), QPoint(0, 0), widget
    while not inner.isWindow() and (around := inner.parentWidget()) is not None:
        place += inner.pos()
        inner = around
        seen = seen.intersected(around.rect().translated(-place))
    return seen


def _picture_of(window: QWidget) -> QImage:
    """The pixels of the screen, since parts of the window may stand in windows of their own."""
    return window.screen().grabWindow(0).toImage()


def _on_plan(window: MainWindow) -> dict[str, Mark]:
    """Wheels and corners of the body that are in sight on the plan: in it, and with no window before them."""
    canvas, design = window.canvas, window.document.view.design
    if not canvas.isVisible():
        return {}
    camera, size = canvas.camera, canvas.size()
    places = [(w.x_mm, w.y_mm) for w in design.wheels] + list(design.body_mm)
    if not places:
        return {}
    at = camera.to_screen(np.asarray(places, dtype=float))
    sizes = [(w.diameter_mm * camera.scale, w.width_mm * camera.scale) for w in design.wheels]
    names = [f"wheel {n} ({w.kind})" for n, w in enumerate(design.wheels)]
    names += [f"corner {n}" for n in range(len(design.body_mm))]
    sizes += [(0.0, 0.0)] * len(design.body_mm)
    return {
        name: (float(x), float(y), *size_px)
        for name, (x, y), size_px in zip(names, at, sizes, strict=True)
        if 0 <= x < size.width() and 0 <= y < size.height() and _in_front(canvas, QPoint(int(x), int(y)))
    }


def _in_front(widget: QWidget, at: QPoint) -> bool:
    """Whether the screen shows a widget at a place of it, and no other window."""
    return QApplication.topLevelAt(widget.mapToGlobal(at)) is widget.window()


def _moved(before: dict[str, Mark], now: dict[str, Mark]) -> str:
    """The first thing on the plan that is new, gone, or elsewhere by a pixel; else nothing."""
    for name in {**before, **now}:
        one, other = before.get(name), now.get(name)
        if one is None or other is None or max(abs(a - b) for a, b in zip(one, other, strict=True)) >= 1:
            return f"{name} at {one} came to {other}"
    return ""
