"""Text fields that ask for what is typed in them, and say right below why it was refused."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from PySide6.QtCore import QEvent, Qt, Signal
from PySide6.QtGui import QFocusEvent, QKeyEvent
from PySide6.QtWidgets import QLineEdit

from app.plain import plain_label, plain_tip
from app.theme import current_theme
from geometry.errors import AxlewrightError

_REFUSED = "This was refused; type another value."


class TypedField(QLineEdit):
    """Shows a value and asks for a new one; it never changes anything itself.

    What is refused stays as it was typed, marked, with the reason in `reason`, until it is
    mended, Escape is pressed, or the value is changed in another way.

    Parameters
    ----------
    name
        What the value is, for screen readers.
    parse, show
        From typed text to a value and back; `parse` raises `AxlewrightError`.
    ask
        Called with each new value; returns False or the reason where it was refused.
    tip
        What it means, its unit and its range.
    blank
        Why it may not be blank; without a reason what holds is shown again.
    """

    reason_changed = Signal(str)
    """Why the text is refused; nothing where it is not any more."""

    def __init__(
        self,
        name: str,
        *,
        parse: Callable[[str], Any],
        show: Callable[[Any], str],
        ask: Callable[[Any], bool | str | None],
        tip: str,
        blank: str = "",
    ) -> None:
        super().__init__()
        self.name = name
        self._parse = parse
        self._show = show
        self._ask = ask
        self._tip = tip
        self._blank = blank
        self._value: Any = None
        self._subject: object = None
        self._tried: str | None = None
        self._came_back = False
        self.reason = plain_label()
        """The line below the field; whoever lays out the field gives it its place."""
        self.reason.setWordWrap(True)
        self.reason.hide()
        self.setAccessibleName(name)
        self.setAccessibleDescription(tip)
        self.setToolTip(tip)
        self.editingFinished.connect(self._take)
        self.textChanged.connect(self._back_to_what_holds)

    @property
    def value(self) -> Any:
        """The value that is shown; None where several differ."""
        return self._value

    @property
    def refused(self) -> bool:
        """Whether it holds a text that was refused."""
        return self._tried is not None

    def show_value(self, value: Any, subject: object = None) -> None:
        """Show a value, unless the person is typing another one just now.

        Parameters
        ----------
        value
            The value; None where several differ.
        subject
            What it is a value of: with another one, what was typed for the first is dropped.
        """
        same_subject = subject == self._subject
        same = same_subject and value == self._value
        self._value, self._subject = value, subject
        typing = self.hasFocus() and self.isModified() and same_subject
        if not (same if self.refused else typing):
            self._reset_text()

    def set_tip(self, tip: str) -> None:
        """Say in other words what the value means, as where its range is told in another unit."""
        self._tip = tip
        self._explain(self.reason.text().removeprefix("✗ "))

    def reshow(self) -> None:
        """Show the same value again, after its unit changed."""
        self.show_value(self._value, self._subject)

    def give_up(self) -> None:
        """Drop what is typed or refused, and show what holds."""
        if self.isModified() or self.refused or self.reason.text():
            self._reset_text()

    def _back_to_what_holds(self, text: str) -> None:
        """Forget a refusal once undoing has brought back the value that holds."""
        if self.refused and self._value is not None and text == self._show(self._value):
            self._reset_text()

    def _reset_text(self) -> None:
        text = "" if self._value is None else self._show(self._value)
        if text != self.text():
            self.setText(text)
        self.setModified(False)
        self.setPlaceholderText("several" if self._value is None else "")
        self._tried = None
        self._explain("")

    def _take(self) -> None:
        if not self.isModified() or self.text() == self._tried:
            return
        text = self.text().strip()
        if not text and self._value is not None:
            if self._blank:
                self._refuse(self._blank)
            else:
                self._reset_text()
            return
        try:
            value = self._parse(text)
        except AxlewrightError as error:
            self._refuse(str(error))
            return
        self.setModified(False)
        self._tried = None
        answer = self._ask(value)
        if answer is False or isinstance(answer, str):
            self.setText(text)
            self._refuse(answer or _REFUSED)
        else:
            self._reset_text()

    def _refuse(self, why: str) -> None:
        self._tried, self._came_back = self.text(), False
        self.setModified(True)
        self._explain(why)

    def _explain(self, why: str) -> None:
        """Say below why something was refused, and mark the field where its text is."""
        before = self.reason.text()
        self.reason.setText(f"✗ {why}" if why else "")
        # Without a place in a layout it would be a window of its own.
        self.reason.setVisible(bool(why) and self.reason.parent() is not None)
        self.setToolTip(plain_tip(f"{why}\n\n{self._tip}") if why else self._tip)
        self.setAccessibleDescription(f"{why} {self._tip}" if why else self._tip)
        self._paint_mark()
        if before != self.reason.text():
            self.reason_changed.emit(why)

    def _paint_mark(self) -> None:
        bad = current_theme().bad
        if self.reason.text():
            self.reason.setStyleSheet(f"color: {bad}; font-size: 11px;")
        mark = f"QLineEdit {{ border: 2px solid {bad}; }}" if self.refused else ""
        if mark != self.styleSheet():
            self.setStyleSheet(mark)

    def changeEvent(self, event: QEvent) -> None:
        """Follow light and dark; drop a refused text where nothing can be typed any more."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.EnabledChange and not self.isEnabled():
            self.give_up()
        elif event.type() == QEvent.Type.PaletteChange and self.reason.text():
            self._paint_mark()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Give up with Escape; with Enter, try again a refused text that one has come back to."""
        if event.key() == Qt.Key.Key_Escape and (self.isModified() or self.reason.text()):
            self._reset_text()
            self.selectAll()
            return
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and self.refused and self._came_back:
            self._tried = ""  # what it depends on may be another by now
        super().keyPressEvent(event)

    def focusInEvent(self, event: QFocusEvent) -> None:
        """Know that the person was elsewhere meanwhile."""
        super().focusInEvent(event)
        self._came_back = True

    def focusOutEvent(self, event: QFocusEvent) -> None:
        """Keep a refused text; what was said of a refused step is over."""
        super().focusOutEvent(event)
        if self.reason.text() and not self.refused:
            self._explain("")


class NumberField(TypedField):
    """A field for one number: decimal comma and point, sums, units, arrow keys.

    Parameters
    ----------
    name, parse, show, ask, tip
        As `TypedField` has them.
    step
        What the up and down keys add, in the number's own unit.
    """

    def __init__(
        self,
        name: str,
        *,
        parse: Callable[[str], float],
        show: Callable[[float], str],
        ask: Callable[[float], bool | str | None],
        step: float,
        tip: str,
    ) -> None:
        super().__init__(name, parse=parse, show=show, ask=ask, tip=tip)
        self._step = step
        self.setAlignment(Qt.AlignmentFlag.AlignRight)
        self.setMaximumWidth(150)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Step with the up and down keys."""
        key = event.key()
        if key in (Qt.Key.Key_Up, Qt.Key.Key_Down) and self._value is not None and not self.isReadOnly():
            big = 10 if event.modifiers() & Qt.KeyboardModifier.ShiftModifier else 1
            way = 1 if key == Qt.Key.Key_Up else -1
            self._take()
            if self.refused:
                return
            answer = self._ask(round(self._value + way * big * self._step, 9))
            self._reset_text()
            if answer is False or isinstance(answer, str):
                self._explain(answer or _REFUSED)
            self.selectAll()
        else:
            super().keyPressEvent(event)
