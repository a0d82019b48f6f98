"""Chooses at random what a person could do next, from what is on the screen and nothing else.

It knows kinds of widgets, and of this program only that a plan has a camera, so that a drag begins on a
wheel, or on an obstacle of the course, more often than not.
"""

from __future__ import annotations

import random
from collections.abc import Iterator, Sequence
from pathlib import Path

from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QAction, QKeySequence
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractItemView,
    QAbstractSpinBox,
    QApplication,
    QComboBox,
    QFileDialog,
    QLineEdit,
    QMenu,
    QMenuBar,
    QScrollArea,
    QScrollBar,
    QSplitterHandle,
    QWidget,
)

from tests.whole.driver_hand import LEFT, NONE, Act, Key, Mouse, Stroke, Turn, chord, front, typed

_K = Qt.Key
_CTRL = Qt.KeyboardModifier.ControlModifier
_SHIFT = Qt.KeyboardModifier.ShiftModifier
_ALT = Qt.KeyboardModifier.AltModifier
RIGHT = Qt.MouseButton.RightButton
MIDDLE = Qt.MouseButton.MiddleButton
_BUTTONS = {LEFT: "left", RIGHT: "right", MIDDLE: "middle"}
TEXTS = (
    "132", "5 1/4 in", "132+10", "", "nan", "1e308", "-", "-40", "0", "0.5", "-1", "12:36", "25 mm", "12,5",
    "1/0", "--3", "7 furlongs", "inf", " ", "½ in", "30°", "<b>bold</b> & \"quoted\"", "<img src=x>",
    "левое", "1" * 60, "front left",
)  # fmt: skip
_NAVIGATION = (
    _K.Key_Tab, _K.Key_Tab, _K.Key_Tab, _K.Key_Backtab, _K.Key_Up, _K.Key_Down, _K.Key_Left, _K.Key_Right,
    _K.Key_Return, _K.Key_Space, _K.Key_Escape, _K.Key_Home, _K.Key_End, _K.Key_PageUp, _K.Key_PageDown,
    _K.Key_F2, _K.Key_F6, _K.Key_Delete, _K.Key_Menu, _K.Key_Plus, _K.Key_Minus, _K.Key_Comma, _K.Key_Period,
)  # fmt: skip
_TYPING = {" ": _K.Key_Space, "+": _K.Key_Plus, "-": _K.Key_Minus, ",": _K.Key_Comma, ".": _K.Key_Period}
_TEXT_OF = {key: text for text, key in _TYPING.items()} | {_K.Key_Return: "\r", _K.Key_Tab: "\t"}
_LEAVING = ("quit", "close window", "exit")
_STARTING_ANEW = ("Ctrl+N", "Ctrl+O", "Ctrl+Shift+N", "New", "Open")
_LONGEST_NAME = 36


class Chooser:
    """Somebody who does anything, the same for the same seed and screen.

    Parameters
    ----------
    seed
        Of the dice.
    files
        The only folder in which files may be chosen; a file dialog that leaves it is left.
    without
        Widgets whose name and kind, as `called` gives them, hold one of these are left alone.
    """

    def __init__(self, seed: int, files: Path, without: Sequence[str] = ()) -> None:
        self.dice = random.Random(seed)  # noqa: S311 - the same acts each time
        self._files = files.resolve()
        self._without = tuple(without)

    def acts(self, count: int) -> Iterator[Act]:
        """Random acts, each chosen when it is asked for."""
        for _ in range(count):
            yield self.act()

    def act(self) -> Act:
        """The next act, by what is in front."""
        shown = front()
        if shown is None:
            return self._keys(_K.Key_Escape)
        if isinstance(shown, QMenu):
            return self._in_menu(shown)
        if QApplication.activePopupWidget() is not None:
            return self._in_list(shown)
        window = shown.window()
        if isinstance(window, QFileDialog):
            return self._in_file_dialog(window)
        draw = self.dice.random()
        if draw < 0.24:
            return self._navigate()
        if draw < 0.34:
            return self._shortcut(window)
        targets = self._targets(window)
        if not targets:
            return self._navigate()
        target = self.dice.choices(targets, [_weight(widget) for widget in targets])[0]
        return self._on(target)

    # By what is in front ------------------------------------------------------------------

    def _in_menu(self, menu: QMenu) -> Act:
        draw = self.dice.random()
        offered = [a for a in menu.actions() if a.isEnabled() and a.isVisible() and not a.isSeparator()]
        offered = [a for a in offered if not _leaves(a)]
        if draw < 0.15 or not offered:
            return self._keys(_K.Key_Escape)
        if draw < 0.35:
            return self._keys(*self.dice.choices((_K.Key_Down, _K.Key_Up, _K.Key_Right, _K.Key_Left), k=3))
        active = menu.activeAction()
        if draw < 0.5 and active is not None and not _leaves(active):
            return self._keys(_K.Key_Return)
        action = self.dice.choice(offered)
        at = menu.mapToGlobal(menu.actionGeometry(action).center())
        strokes = (Mouse("move", at), Mouse("press", at), Mouse("release", at))
        return Act(f'click on "{action.text()}" in a menu', strokes)

    def _in_list(self, popup: QWidget) -> Act:
        if self.dice.random() < 0.4:
            keys = self.dice.choices((_K.Key_Down, _K.Key_Up, _K.Key_Home, _K.Key_End), k=2)
            return self._keys(*keys, self.dice.choice((_K.Key_Return, _K.Key_Escape)))
        return self._click(popup)

    def _in_file_dialog(self, dialog: QFileDialog) -> Act:
        inside = Path(dialog.directory().absolutePath()).resolve().is_relative_to(self._files)
        draw = self.dice.random()
        if not inside or draw < 0.4:
            return self._keys(_K.Key_Escape)
        if draw < 0.65:
            name = self.dice.choice([text for text in TEXTS if "/" not in text])
            field = next((w for w in dialog.findChildren(QLineEdit) if w.isVisible()), None)
            if field is not None:
                return self._type(field, name, (_K.Key_Return,))
        if draw < 0.8:
            return self._keys(self.dice.choice((_K.Key_Tab, _K.Key_Backtab, _K.Key_Down, _K.Key_Return)))
        # Nothing there is renamed, dragged or deleted: whatever is chosen belongs to this run, but be sure.
        return self._click(self.dice.choice(self._targets(dialog)))

    def _navigate(self) -> Act:
        keys = [self.dice.choice(_NAVIGATION)] * self.dice.choice((1, 1, 1, 2, 4))
        held = self.dice.choices((NONE, _SHIFT, _CTRL, _ALT), (12, 1, 1, 1))[0]
        if held == _ALT and keys[0] in (_K.Key_Space, _K.Key_Tab, _K.Key_Backtab):
            held = NONE  # a menu of the window manager's
        return self._keys(*keys, held=held)

    def _shortcut(self, window: QWidget) -> Act:
        """The key of any action, as menus offer it, or the letter that opens a menu or goes to a field."""
        actions = [
            a for a in window.findChildren(QAction) if a.isEnabled() and a.isVisible() and not _leaves(a)
        ]
        keys = sorted({key.toString() for a in actions for key in a.shortcuts() if key.count() == 1})
        letters = [w.text() for w in window.findChildren(QAbstractButton) if w.isVisible()]
        bars = [bar for bar in window.findChildren(QMenuBar) if bar.isVisible()]
        letters += [a.text() for bar in bars for a in bar.actions()]
        keys += sorted({found for text in letters if (found := QKeySequence.mnemonic(text).toString())})
        if not keys:
            return self._navigate()
        chosen = self.dice.choice(keys)
        if chosen in _STARTING_ANEW and self.dice.random() < 0.9:
            return self._navigate()  # else no run would ever have many steps to undo
        return Act(f"key {chosen}", (chord(chosen),))

    # By widget ----------------------------------------------------------------------------

    def _targets(self, window: QWidget) -> list[QWidget]:
        found = [w for w in window.findChildren(QWidget) if w.window() is window and w.isEnabled()]
        found = [w for w in found if w.isVisible() and _weight(w) > 0 and not w.visibleRegion().isEmpty()]
        return [w for w in found if not any(words in called(w) for words in self._without)]

    def _on(self, widget: QWidget) -> Act:
        draw = self.dice.random()
        if isinstance(widget, QLineEdit) and not widget.isReadOnly() and draw < 0.8:
            ends = ((_K.Key_Return,), (_K.Key_Return,), (_K.Key_Tab,), (_K.Key_Escape,), (), (_K.Key_Up,))
            number = f"{self.dice.uniform(-200, 200):.2f}"
            text = self.dice.choice((number, self.dice.choice(TEXTS)))
            return self._type(widget, text, self.dice.choice(ends))
        if isinstance(widget, QMenuBar):
            offered = [a for a in widget.actions() if a.isEnabled() and a.isVisible()]
            if offered:
                action = self.dice.choice(offered)
                at = widget.mapToGlobal(widget.actionGeometry(action).center())
                return Act(f'click on menu "{action.text()}"', (Mouse("press", at), Mouse("release", at)))
        if isinstance(widget, QSplitterHandle | QScrollBar):
            return self._drag(widget)
        if hasattr(widget, "camera") and draw < 0.5:
            return self._drag(widget)
        if isinstance(widget, QAbstractButton | QComboBox):
            return self._click(widget) if draw < 0.9 else self._turn(widget)
        if draw < 0.1:
            return self._turn(widget)
        if draw < 0.2:
            return self._click(widget, RIGHT)
        if draw < 0.3:
            return self._click(widget, double=True)
        if draw < 0.4:
            return self._drag(widget)
        return self._click(widget, held=self.dice.choices((NONE, _SHIFT, _CTRL), (6, 1, 1))[0])

    def _place(self, widget: QWidget) -> QPoint:
        """A place in sight of a widget, on the screen; on plan and course often that of a thing on it."""
        seen = widget.visibleRegion()
        thing = self._obstacle_on(widget) if hasattr(widget, "hand") else self._wheel_on(widget)
        if thing is not None and seen.contains(thing.toPoint()):
            return widget.mapToGlobal(thing.toPoint())
        bounds = seen.boundingRect()
        at = bounds.center()
        for _ in range(20):
            tried = QPoint(
                self.dice.randint(bounds.left(), bounds.right()),
                self.dice.randint(bounds.top(), bounds.bottom()),
            )
            if seen.contains(tried) and widget.childAt(tried) is None:
                at = tried
                break
        return widget.mapToGlobal(at)

    def _wheel_on(self, widget: QWidget) -> QPointF | None:
        camera = getattr(widget, "camera", None)
        document = getattr(widget.window(), "document", None)
        if camera is None or document is None or not document.design.wheels or self.dice.random() < 0.3:
            return None
        wheel = self.dice.choice(document.design.wheels)
        return QPointF(*camera.to_screen((wheel.x_mm, wheel.y_mm)).tolist())

    def _obstacle_on(self, widget: QWidget) -> QPointF | None:
        """A place of the course that can be gripped."""
        hand = getattr(widget, "hand", None)
        course, camera = getattr(hand, "course", None), getattr(widget, "camera", None)
        if hand is None or course is None or camera is None or self.dice.random() < 0.3:
            return None
        places = [QPointF(*place) for _, place in hand.grips()]
        places += [
            QPointF(*camera.to_screen((one.x_mm, one.y_mm)).tolist())
            for one in course.obstacles
            if one.kind != "gate"
        ]
        return self.dice.choice(places) if places else None

    # Acts ---------------------------------------------------------------------------------

    def _keys(self, *keys: Qt.Key, held: Qt.KeyboardModifier = NONE) -> Act:
        strokes = tuple(Key(key, held, _TEXT_OF.get(key, "") if held == NONE else "") for key in keys)
        words = ", ".join(QKeySequence(held | key).toString() for key in keys)
        scrolls = keys[-1] in (_K.Key_PageUp, _K.Key_PageDown)
        return Act(f"keys {words}", strokes, scrolls=scrolls)

    def _click(
        self,
        widget: QWidget,
        button: Qt.MouseButton = LEFT,
        *,
        held: Qt.KeyboardModifier = NONE,
        double: bool = False,
    ) -> Act:
        at = self._place(widget)
        strokes: list[Stroke] = [Mouse("move", at, button, held), Mouse("press", at, button, held)]
        strokes.append(Mouse("release", at, button, held))
        if double:
            strokes += [Mouse("double", at, button, held)]
        how = f"{'double-' if double else ''}click {_BUTTONS[button]}"
        return Act(f"{how}{_held_words(held)} at {_point_in(widget, at)} of {called(widget)}", tuple(strokes))

    def _drag(self, widget: QWidget) -> Act:
        held = self.dice.choices((NONE, _ALT, _SHIFT, _CTRL), (8, 1, 1, 1))[0]
        button = self.dice.choices((LEFT, MIDDLE, RIGHT), (10, 1, 1))[0]
        if not hasattr(widget, "camera"):
            held, button = NONE, LEFT
        start, end = self._place(widget), self._place(widget)
        end += QPoint(self.dice.randint(-60, 60), self.dice.randint(-60, 60))
        strokes: list[Stroke] = [Mouse("move", start, button, held), Mouse("press", start, button, held)]
        count = self.dice.randint(2, 6)
        for n in range(1, count + 1):
            strokes.append(Mouse("move", start + (end - start) * (n / count), button, held))
            if self.dice.random() < 0.04:
                strokes.append(self.dice.choice((Key(_K.Key_Escape), chord("Ctrl+Z"), Key(_K.Key_Delete))))
        strokes.append(Mouse("release", end, button, held))
        words = f"drag {_BUTTONS[button]}{_held_words(held)}"
        words += f" from {_point_in(widget, start)} to {_point_in(widget, end)} of {called(widget)}"
        return Act(words, tuple(strokes), scrolls=isinstance(widget, QScrollBar | QSplitterHandle))

    def _turn(self, widget: QWidget) -> Act:
        at = self._place(widget)
        amount = 120 * self.dice.choice((-5, -2, -1, 1, 2, 5))
        words = f"turn the mouse wheel by {amount} at {_point_in(widget, at)} of {called(widget)}"
        return Act(words, (Mouse("move", at), Turn(at, amount)), scrolls=True)

    def _type(self, field: QLineEdit, text: str, ends: tuple[Qt.Key, ...]) -> Act:
        at = self._place(field)
        strokes: list[Stroke] = [Mouse("move", at), Mouse("press", at), Mouse("release", at), chord("Ctrl+A")]
        ending: list[Stroke] = [Key(key, NONE, _TEXT_OF.get(key, "")) for key in ends]
        erased: list[Stroke] = [] if text else [Key(_K.Key_Delete)]
        words = f'type "{text}" into {called(field)}'
        words += "".join(f", {QKeySequence(key).toString()}" for key in ends)
        return Act(words, (*strokes, *typed(text), *erased, *ending))


def called(widget: QWidget) -> str:
    """What a person would call a widget, with its kind."""
    text = getattr(widget, "text", None)
    own = text() if callable(text) and isinstance(widget, QAbstractButton) else ""
    around: QWidget | None = widget
    name = widget.accessibleName() or own or widget.objectName()
    while not name and around is not None and not around.isWindow():
        around = around.parentWidget()
        name = "" if around is None else around.accessibleName() or around.windowTitle()
    name = name if len(name) <= _LONGEST_NAME else f"{name[:_LONGEST_NAME]}…"
    return f'"{name}" ({type(widget).__name__}) in "{widget.window().windowTitle()}"'


def _weight(widget: QWidget) -> float:
    """How often something is done with a widget; 0 where nothing can be."""
    if isinstance(widget, QLineEdit):
        return 4
    if hasattr(widget, "camera"):
        return 10
    if isinstance(widget, QMenuBar):
        return 4
    if isinstance(widget, QAbstractItemView | QScrollArea | QAbstractSpinBox):
        return 0  # what is within them takes the mouse
    if isinstance(widget, QAbstractButton | QComboBox):
        return 3
    if isinstance(widget.parentWidget(), QAbstractItemView):
        return 4
    if isinstance(widget, QScrollBar | QSplitterHandle):
        return 1
    if widget.focusPolicy() & Qt.FocusPolicy.ClickFocus:
        return 3
    return 0.1


def _leaves(action: QAction) -> bool:
    return action.text().replace("&", "").casefold().startswith(_LEAVING)


def _held_words(held: Qt.KeyboardModifier) -> str:
    words = {_SHIFT: " with Shift", _CTRL: " with Ctrl", _ALT: " with Alt"}
    return words.get(held, "")


def _point_in(widget: QWidget, at: QPoint) -> str:
    local = widget.mapFromGlobal(at)
    return f"({local.x()}, {local.y()})"
