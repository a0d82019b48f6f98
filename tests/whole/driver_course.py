"""The course of a run: random acts, and now and then all undone and redone by keys."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from PySide6.QtCore import QPoint, Qt
from PySide6.QtWidgets import QApplication

from app.window.section import OwnWindow
from tests.whole.driver_choice import Chooser
from tests.whole.driver_hand import Act, Key, Mouse, chord, front
from tests.whole.driver_watch import Watch

_ESCAPE = Key(Qt.Key.Key_Escape)
_MOST_ESCAPES = 20
_BACK = 0.15
"""How often somebody in a window beside the window clicks on the window."""
_FEW_ESCAPES = 4
_MOST_DEAD_KEYS = 4


def course(chooser: Chooser, watch: Watch, count: int, every: int) -> Iterator[Act]:
    """So many random acts; after some of them, and at the end, all is undone and redone.

    Parameters
    ----------
    chooser, watch
        Who chooses, and who looks.
    count
        Number of random acts.
    every
        After how many of them all is undone and redone.
    """
    for n in range(1, count + 1):
        place = _free_place(watch) if front() is not watch.window else None
        if place is not None and chooser.dice.random() < _BACK:
            yield Act("click on the menu bar", _clicked(place))
        else:
            yield chooser.act()
        if n % every == 0 or n == count:
            yield from _there_and_back(watch)


def _there_and_back(watch: Watch) -> Iterator[Act]:
    """Undo to the start, redo to where it was, and blame what differs."""
    yield from to_the_window(watch)
    window = watch.window
    if window is None or front() is not window or window.at_start:
        return  # on the start page nothing is undone
    document = window.document
    stack = document.undo_stack
    end, steps = document.design, stack.index()
    yield from _pressed(watch, "Ctrl+Z", lambda: stack.index() > 0, stack.index)
    if watch.started is not None and document.design != watch.started:
        yield watch.blame("undone to the start, the design is not the one at the start")
    yield from _pressed(watch, "Ctrl+Y", lambda: stack.index() < steps, stack.index)
    watch.steps += steps
    if document.design != end:
        yield watch.blame(f"after {steps} steps undone and redone the design is another one")


def to_the_window(watch: Watch) -> Iterator[Act]:
    """Leave menus, dialogs and what is being typed, by Escape."""
    for n in range(_MOST_ESCAPES):
        if front() is watch.window and n > 1:
            return
        if n > _FEW_ESCAPES and (place := _free_place(watch)) is not None:
            # A part of the window that has a window of its own stays beside it.
            yield Act("click on the menu bar, to come back to the window", _clicked(place))
            continue
        if n > _FEW_ESCAPES and isinstance(front(), OwnWindow):
            # Windows lie over all of the menu bar: who cannot click beside this one closes it.
            yield Act("key Ctrl+W, to close the window of a section", (chord("Ctrl+W"),))
            continue
        yield Act("key Esc, to come back to the window", (_ESCAPE,))
    yield watch.blame(f"{_MOST_ESCAPES} times Esc do not lead back to the window")


def _free_place(watch: Watch) -> QPoint | None:
    """A place of the window's menu bar that no other window covers, and where no menu is."""
    window = watch.window
    if window is None or QApplication.activeModalWidget() or QApplication.activePopupWidget():
        return None
    bar = window.menuBar()
    for x in range(bar.width() - 4, 0, -12):
        at = QPoint(x, bar.height() // 2)
        free = bar.actionAt(at) is None and bar.childAt(at) is None
        if free and QApplication.topLevelAt(bar.mapToGlobal(at)) is window:
            return bar.mapToGlobal(at)
    return None


def _clicked(at: QPoint) -> tuple[Mouse, ...]:
    return (Mouse("press", at), Mouse("release", at))


def _pressed(watch: Watch, keys: str, wanted: Callable[[], bool], at: Callable[[], int]) -> Iterator[Act]:
    dead = 0
    while wanted():
        if front() is not watch.window:
            yield from to_the_window(watch)  # a dialog that was asked for before came late
        before = at()
        yield Act(f"key {keys}", (chord(keys),))
        dead = dead + 1 if at() == before else 0
        if dead == _MOST_DEAD_KEYS:
            yield watch.blame(f"{keys} does nothing, while there is something to undo or redo")
            return
