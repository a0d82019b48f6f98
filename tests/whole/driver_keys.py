"""Courses by keys alone: the whole job from the start to code in a file; each dialog over and over.

A field is found by pressing Tab until the accessible name of what has the keyboard is the one that is wanted,
as somebody does who hears the screen read out.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import psutil
from PySide6.QtCore import QElapsedTimer, Qt
from PySide6.QtGui import QAccessible, QAction, QKeySequence
from PySide6.QtWidgets import QApplication, QDialog, QMenu

from tests.whole.driver_course import to_the_window
from tests.whole.driver_hand import Act, chord, front, typed
from tests.whole.driver_watch import Watch

_MOST_TABS = 150
_MOST_WAIT_MS = 60_000
_FEWEST_DIALOGS = 6
ROUNDS, WARM = 50, 20
MOST_GROWN_BYTES = 1_000_000
"""For each time that a dialog is opened, after the first times. It wavers by some 0.3 MB where threads work
for it; a help window that stayed behind took 11 MB. Smaller ones that stay are found by counting."""
Course = Iterator[Act]


def heard() -> str:
    """The accessible name of what has the keyboard; nothing where nothing has it."""
    focus = QApplication.focusWidget()
    if focus is not None and focus.accessibleName():
        return focus.accessibleName()  # of a list, Qt gives the chosen entry as name on this system
    interface = None if focus is None else QAccessible.queryAccessibleInterface(focus)
    return "" if interface is None else interface.text(QAccessible.Text.Name).replace("&", "")


def title() -> str:
    """The title of what is in front."""
    shown = front()
    return "" if shown is None else shown.window().windowTitle()


class Keys:
    """Presses keys, and blames what does not come of them."""

    def __init__(self, watch: Watch) -> None:
        self.watch = watch

    def press(self, *keys: str) -> Course:
        """Press keys as menus write them."""
        for key in keys:
            yield Act(f"key {key}", (chord(key),))

    def type(self, text: str, end: str = "") -> Course:
        """Type a text in place of what is in the field."""
        yield Act(f'type "{text}"', (chord("Ctrl+A"), *typed(text)))
        if end:
            yield from self.press(end)

    def until(self, what: str, held: Callable[[], bool]) -> Course:
        """Wait until something is so."""
        clock = QElapsedTimer()
        clock.start()
        yield Act(f"wait for: {what}", ())
        while not held():
            if clock.elapsed() > _MOST_WAIT_MS:
                yield self.watch.blame(f"waited in vain for: {what} (in front: {title()})")
                return
            yield Act(f"wait for: {what}", ())

    def window(self, words: str) -> Course:
        """Wait until a window whose title begins so is in front."""
        yield from self.until(f'the window "{words}"', lambda: title().startswith(words))

    def tab_to(self, name: str) -> Course:
        """Press Tab until what has the keyboard is called so, or begins so."""
        passed = []
        for _ in range(_MOST_TABS):
            if heard().startswith(name):
                return
            passed.append(heard())
            yield from self.press("Tab")
        yield self.watch.blame(f'Tab never comes to "{name}", but to: {", ".join(dict.fromkeys(passed))}')


def job(watch: Watch, files: Path) -> Course:
    """From the start of the program to the robot's code in a file; the last act looks at the file."""
    keys = Keys(watch)
    yield from keys.tab_to("Name")
    yield from keys.type("Reed carrier", "Tab")
    yield from keys.tab_to("Wheelbase")
    yield from keys.type("300", "Tab")
    yield from keys.tab_to("Motors")
    yield from keys.press("Down", "Down")
    yield from keys.tab_to("Motors to steer")
    yield from keys.type("2", "Tab")
    yield from keys.tab_to("Make this chassis")
    yield from keys.press("Space")
    yield from keys.window("Reed carrier")
    document = watch.document
    assert document is not None
    # One number of one wheel, undone and redone on the way.
    made = document.design
    yield from keys.press("Ctrl+.", "Alt+2")
    yield from keys.tab_to("Diameter")
    yield from keys.type("62", "Return")
    yield from keys.until("the wheel is larger", lambda: document.design != made)
    edited = document.design
    yield from keys.press("Ctrl+Z")
    yield from keys.until("the wheel is as it was", lambda: document.design == made)
    yield from keys.press("Ctrl+Y")
    yield from keys.until("the wheel is larger again", lambda: document.design == edited)
    yield from keys.press("Ctrl+Left", "Ctrl+Left", "Ctrl+Up")
    yield from keys.press("Ctrl+S")
    yield from keys.window("Save the chassis")
    yield from keys.type(str(files / "reed_carrier.json"), "Return")
    yield from keys.window("Reed carrier – reed_carrier.json")
    yield from keys.press("Ctrl+Shift+E")
    yield from keys.window("Export code for the controller")
    yield from keys.tab_to("Save…")
    yield from keys.press("Space")
    yield from keys.window("Save the ")
    yield from keys.type(str(files / "reed_carrier.py"), "Return")
    yield from keys.until("the code is in its file", (files / "reed_carrier.py").exists)
    yield from keys.window("Reed carrier")


_OPENS = {
    *("open", "save_as", "save_copy", "picture", "export", "export_code", "suggest"),
    *("help", "news", "about"),
}
"""Actions that open a window."""


def openings(watch: Watch) -> Course:
    """Open and leave each dialog of the menus, over and over; blame memory that grows with it."""
    keys = Keys(watch)
    process = psutil.Process()
    found = [(letter, action) for letter, action in _dialogs(watch) if action.isEnabled()]
    if len(found) < _FEWEST_DIALOGS:
        yield watch.blame(f"only {len(found)} dialogs were found in the menus")
    for letter, action in found:
        words, used = action.text().replace("&", ""), []
        for _ in range(ROUNDS):
            yield from keys.press(f"Alt+{letter}")
            yield from keys.until("a menu", lambda: isinstance(front(), QMenu))
            yield from _choose(keys, action)
            yield from keys.until(f"what {words} opens", lambda: front() not in (None, watch.window))
            yield from to_the_window(watch)
            yield Act("wait until it is gone", ())
            used.append((process.memory_info().rss, _dialogs_kept(watch)))
        (first, kept), (last, kept_now) = used[WARM], used[-1]
        grown = (last - first) / (ROUNDS - 1 - WARM)
        watch.notes.append(
            f"{words}: {first / 1e6:.1f} MB and {kept} dialogs kept after {WARM + 1} times, "
            f"{last / 1e6:.1f} MB and {kept_now} after {ROUNDS}"
        )
        if grown > MOST_GROWN_BYTES or kept_now > kept:
            yield watch.blame(f"something stays behind each time: {watch.notes[-1]}")


def _dialogs_kept(watch: Watch) -> int:
    window = watch.window
    assert window is not None
    return len(window.findChildren(QDialog, options=Qt.FindChildOption.FindDirectChildrenOnly))


def _dialogs(watch: Watch) -> list[tuple[str, QAction]]:
    """The actions that open a window, with their menu's letter."""
    window = watch.window
    assert window is not None
    found = []
    menus = [action for action in window.menuBar().actions() if action.isVisible()]
    for menu in menus:
        inside = menu.menu()
        assert isinstance(inside, QMenu)
        letter = menu.text()[menu.text().index("&") + 1]
        found += [(letter, action) for action in inside.actions() if action.objectName() in _OPENS]
    return found


def _choose(keys: Keys, action: QAction) -> Course:
    """Press the letter of an action in the open menu; where it has none, go down to it."""
    letter = QKeySequence.mnemonic(action.text()).toString().removeprefix("Alt+")
    if letter:
        yield from keys.press(letter)
        return
    for _ in range(_MOST_TABS):
        menu = front()
        if not isinstance(menu, QMenu) or menu.activeAction() is action:
            break
        yield from keys.press("Down")
    yield from keys.press("Return")
