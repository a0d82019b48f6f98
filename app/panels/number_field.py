"""A text field that holds one number: decimal comma and point, units, arrow keys, plain errors."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QFocusEvent, QKeyEvent
from PySide6.QtWidgets import QLineEdit

from app.plain import plain_tip
from geometry.errors import AxlewrightError


class NumberField(QLineEdit):
    """Shows a number and asks for a new one; it never changes anything itself.

    Parameters
    ----------
    name
        What the number is, for screen readers and errors.
    parse, show
        From typed text to a number and back; `parse` raises `AxlewrightError`.
    ask
        Called with each new number; returns False where it was refused.
    step
        What the up and down keys add, in the number's own unit.
    tip
        What it means, its unit and its range.
    """

    refused = Signal(str)

    def __init__(
        self,
        name: str,
        *,
        parse: Callable[[str], float],
        show: Callable[[float], str],
        ask: Callable[[float], bool | None],
        step: float,
        tip: str,
    ) -> None:
        super().__init__()
        self.name = name
        self._parse = parse
        self._show = show
        self._ask = ask
        self._step = step
        self._tip = tip
        self._value: float | None = None
        self._refused_text: str | None = None
        self.setAccessibleName(name)
        self.setAccessibleDescription(tip)
        self.setToolTip(tip)
        self.setAlignment(Qt.AlignmentFlag.AlignRight)
        self.setMaximumWidth(150)
        self.editingFinished.connect(self._take)

    @property
    def value(self) -> float | None:
        """The number that is shown; None where several differ."""
        return self._value

    def show_value(self, value: float | None) -> None:
        """Show a number, unless the person is typing another one just now."""
        self._value = value
        if not (self.hasFocus() and self.isModified()):
            self._reset_text()

    def reshow(self) -> None:
        """Show the same number again, after its unit changed."""
        self.show_value(self._value)

    def _reset_text(self) -> None:
        text = "" if self._value is None else self._show(self._value)
        if text != self.text():
            self.setText(text)
        self.setModified(False)
        self.setPlaceholderText("several" if self._value is None else "")
        self._mark("")

    def _take(self) -> None:
        if not self.isModified() or self.text() == self._refused_text:
            return
        text = self.text().strip()
        if not text and self._value is not None:
            self._reset_text()
            return
        try:
            value = self._parse(text)
        except AxlewrightError as error:
            self._refuse(str(error))
            return
        self.setModified(False)
        if self._ask(value) is False:
            # The document has said why; the text stays, so that it can be mended.
            self.setText(text)
            self._refuse("")
        else:
            self._refused_text = None
            self._reset_text()

    def _refuse(self, why: str) -> None:
        self._refused_text = self.text()
        self.setModified(True)
        self._mark(why or "This was refused; see the message at the bottom.")
        if why:
            self.refused.emit(f"{self.name}: {why}")

    def _mark(self, why: str) -> None:
        if why:
            self.setStyleSheet("QLineEdit { border: 2px solid #c0392b; }")
            self.setToolTip(plain_tip(f"{why}\n\n{self._tip}"))
        elif self.styleSheet():
            self.setStyleSheet("")
            self.setToolTip(self._tip)
        if not why:
            self._refused_text = None

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Step with the up and down keys, give up with Escape."""
        key = event.key()
        if key in (Qt.Key.Key_Up, Qt.Key.Key_Down) and self._value is not None and not self.isReadOnly():
            big = 10 if event.modifiers() & Qt.KeyboardModifier.ShiftModifier else 1
            way = 1 if key == Qt.Key.Key_Up else -1
            self._take()
            if self._refused_text is not None:
                return
            self._ask(round(self._value + way * big * self._step, 9))
            self._reset_text()
            self.selectAll()
        elif key == Qt.Key.Key_Escape and self.isModified():
            self._reset_text()
            self.selectAll()
        else:
            super().keyPressEvent(event)

    def focusOutEvent(self, event: QFocusEvent) -> None:
        """Show what holds once the person has left a refused text behind."""
        super().focusOutEvent(event)
        if self._refused_text is not None:
            self._reset_text()
