"""Fields of a dialog that say in words, right below, why an entry is refused."""

from __future__ import annotations

from collections.abc import Callable
from math import inf, isinf

from PySide6.QtWidgets import QHBoxLayout, QLineEdit, QVBoxLayout, QWidget

from app.panels.number_field import NumberField, TypedField
from app.plain import plain_label
from app.theme import current_theme
from app.units import show_number


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
