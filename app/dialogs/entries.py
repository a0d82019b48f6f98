"""Fields of a dialog that say in words, right below, why an entry is refused."""

from __future__ import annotations

from collections.abc import Callable
from math import inf, isinf

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QLineEdit, QVBoxLayout, QWidget

from app.panels.number_field import NumberField, TypedField
from app.plain import plain_label
from app.theme import current_theme
from app.units import parse_sum, show_number


class OptionalField(NumberField):
    """A number field that may be left blank, which means no limit: ``inf``."""

    def __init__(
        self,
        name: str,
        *,
        parse: Callable[[str], float],
        ask: Callable[[float], bool | str | None],
        step: float,
        tip: str,
    ) -> None:
        super().__init__(
            name,
            parse=parse,
            show=lambda value: "" if isinf(value) else show_number(value, 0),
            ask=ask,
            step=step,
            tip=tip,
        )

    def _take(self) -> None:
        if self.isModified() and not self.text().strip():
            self.setModified(False)
            self._ask(inf)
            self._reset_text()
        else:
            super()._take()

    def _reset_text(self) -> None:
        super()._reset_text()
        self.setPlaceholderText("no limit")


class CountField(NumberField):
    """A whole number within a range, which it keeps itself; any other is refused with the range, and stays.

    Parameters
    ----------
    name, tip
        As `NumberField` has them.
    value
        At first.
    least, most
        The range, both ends included.
    """

    changed = Signal()

    def __init__(self, name: str, value: int, least: int, most: int, tip: str) -> None:
        super().__init__(
            name,
            parse=parse_sum,
            show=lambda count: f"{count:g}",
            ask=self.choose,
            step=1.0,
            tip=f"{tip} {least} to {most}.",
        )
        self._least, self._most = least, most
        self.show_value(value)

    def choose(self, value: float) -> bool | str:
        """Take a number; why not, where it is none of the range."""
        if not (float(value).is_integer() and self._least <= value <= self._most):
            return f"must be a whole number from {self._least} to {self._most}"
        if value != self.value:
            self.show_value(int(value))
            self.changed.emit()
        return True


class Entry(QWidget):
    """One or two widgets in a row with a unit behind, and below it why an entry was refused.

    Wide ones take all the room of the row.
    """

    def __init__(self, *parts: QWidget, unit: str = "", wide: bool = False) -> None:
        super().__init__()
        self.message = plain_label()
        self.message.setWordWrap(True)
        self.message.hide()
        row = QHBoxLayout()
        row.setSpacing(6)
        for part in parts:
            row.addWidget(part)
        if unit:
            row.addWidget(plain_label(unit))
        if not wide:
            row.addStretch(1)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(1)
        layout.addLayout(row)
        layout.addWidget(self.message)
        self._fields = [part for part in parts if isinstance(part, TypedField)]
        for part in parts:
            if isinstance(part, TypedField):
                part.reason_changed.connect(self.tell)
            elif isinstance(part, QLineEdit):
                part.textEdited.connect(lambda _text: self.tell(""))

    def tell(self, why: str) -> None:
        """Say why the entry is refused; nothing where it is not."""
        self.message.setText(f"✗ {why}" if why else "")
        self.message.setVisible(bool(why))
        if why:
            self.message.setStyleSheet(f"color: {current_theme().bad}; font-size: 11px;")

    @property
    def refused(self) -> bool:
        """Whether the last thing typed here was refused."""
        if self._fields:
            return any(field.refused for field in self._fields)
        return not self.message.isHidden()
