"""All that may be chosen about the code for the controller, each choice checked as it is made."""

from __future__ import annotations

from functools import partial
from math import isinf

from PySide6.QtCore import QSignalBlocker, Signal
from PySide6.QtWidgets import QComboBox, QFormLayout, QLineEdit, QVBoxLayout, QWidget

from app.dialogs.code_parts import CodeParts
from app.dialogs.entries import Entry, OptionalField
from app.export.preview import in_unit
from app.export.registry import Exporter, exporter, exporters_of
from app.panels.form import add_unseen_label, choice, set_choice
from app.panels.number_field import NumberField
from app.plain import plain_label
from app.units import UnitError, parse_angle, parse_sum, show_number
from geometry.errors import DesignError
from geometry.model.controller import ERROR_UNITS, METHODS, MOST_PREFIX
from geometry.model.design import Design

_METHOD_WORDS = {"table": "Table: whole numbers only", "formula": "Formula: arctangents, needs floats"}
_SPACINGS = {"free": "Free: fewest bytes", "even": "Even: row found by one division"}
_UNIT_WORDS = {"deg": "° at the wheel", "mm_per_m": "mm of drag per metre"}


class CodeChoices(QWidget):
    """Format, exactness, size, name and parts."""

    changed = Signal()
    """Something else is chosen."""

    def __init__(self, design: Design, format_key: str) -> None:
        super().__init__()
        self.controller = design.controller
        self._drives = bool(design.drive_motors)
        self.entries: dict[str, Entry] = {}
        self._make_lists(format_key)
        self._make_fields()
        self.parts = CodeParts(design, self._number, self._ask)
        self.entries.update(self.parts.entries)
        form = QFormLayout()
        form.setVerticalSpacing(5)
        form.setFieldGrowthPolicy(QFormLayout.FieldGrowthPolicy.AllNonFixedFieldsGrow)
        self._form = form
        self._add("Format", self.format)
        self._add("Method", self.method)
        self._add("Rows", self.spacing)
        self._add("Largest error", self.error, self.entries["error"])
        self._add("Error of speeds", self.speed, self.entries["speed_error_permille"])
        self._add("Largest size", self.most_bytes, self.entries["largest_bytes"])
        self._add("Names begin with", self.prefix, self.entries["prefix"])
        layout = QVBoxLayout(self)
        layout.addLayout(form)
        layout.addWidget(self.parts)
        layout.addStretch(1)
        self.parts.show_sizes(None)
        self._show()

    def _make_lists(self, format_key: str) -> None:
        self.format = choice("Format", "What the file is written in.")
        for form in exporters_of("programme"):
            self.format.addItem(form.label, form.key)
        set_choice(self.format, max(self.format.findData(format_key), 0))
        self.format.currentIndexChanged.connect(lambda _i: self.changed.emit())
        self.method = choice(
            "Method",
            "A table needs whole numbers only. A formula is more exact and works out arctangents on the "
            "controller, which needs floating-point numbers there.",
        )
        for method in METHODS:
            self.method.addItem(_METHOD_WORDS[method], method)
        self.spacing = choice(
            "Rows",
            "Free rows take the fewest bytes, and the row is searched for. Even rows take more bytes, and "
            "the row is found by one division.",
        )
        for key, words in _SPACINGS.items():
            self.spacing.addItem(words, key)
        self.unit = choice(
            "Unit of the largest error",
            "Degrees at the wheel, or millimetres dragged sideways for each metre.",
        )
        for unit in ERROR_UNITS:
            self.unit.addItem(_UNIT_WORDS[unit], unit)
        for box, key in ((self.method, "method"), (self.spacing, "spacing")):
            box.activated.connect(partial(self._choose, box, key))
        self.unit.activated.connect(lambda _i: self._change_unit())

    def _make_fields(self) -> None:
        self.error = self._number(
            "error",
            "Largest error",
            "How far a wheel may be off at any turn, all rounding included. 0.001 to 45 degrees at the "
            "wheel, or 0.001 to 500 millimetres of drag per metre.",
            0.05,
        )
        self.speed = self._number(
            "speed_error_permille",
            "Error of speeds",
            "How far a drive motor's speed may be off, in thousandths of its full speed. 0.1 to 500. It "
            "needs drive motors.",
            1.0,
        )
        self.most_bytes = OptionalField(
            "Largest size",
            parse=partial(self._parse, "largest_bytes"),
            ask=partial(self._ask, "largest_bytes"),
            step=10.0,
            tip="Most bytes that the table's numbers may take. 16 to 1 000 000; blank for no limit.",
        )
        for field in (self.error, self.speed, self.most_bytes):
            field.setMaximumWidth(90)
        self.prefix = QLineEdit()
        self.prefix.setAccessibleName("Names begin with")
        self.prefix.setToolTip(
            "What every name in the code begins with, so that it clashes with none of yours. Up to "
            f"{MOST_PREFIX} letters a to z, digits and single underscores, a letter first."
        )
        self.prefix.editingFinished.connect(self._take_prefix)
        self.entries["error"] = Entry(self.error, self.unit)
        add_unseen_label(self.unit)
        self.entries["speed_error_permille"] = Entry(self.speed, unit="‰ of full")
        self.entries["largest_bytes"] = Entry(self.most_bytes, unit="bytes")
        self.entries["prefix"] = Entry(self.prefix)

    def _number(self, key: str, name: str, tip: str, step: float) -> NumberField:
        return NumberField(
            name,
            parse=partial(self._parse, key),
            show=lambda value: show_number(value, 4),
            ask=partial(self._ask, key),
            step=step,
            tip=tip,
        )

    def _add(self, words: str, buddy: QWidget, row: QWidget | None = None) -> None:
        label = plain_label(words)
        label.setBuddy(buddy)
        label.setToolTip(buddy.toolTip())
        self._form.addRow(label, row or buddy)

    # What is chosen ----------------------------------------------------------------------

    @property
    def code_format(self) -> Exporter:
        """The format that is chosen."""
        return exporter("programme", self.format.currentData())

    @property
    def refused(self) -> bool:
        """Whether an entry was refused and is not mended yet."""
        return any(entry.refused for entry in self.entries.values())

    def _parse(self, key: str, text: str) -> float:
        value = parse_angle(text) if key == "hold_within_deg" else parse_sum(text)
        why = self._why_not(key, value)
        if why:
            raise UnitError(why)
        return value

    def _why_not(self, key: str, value: object) -> str:
        try:
            self.controller.edited(**{key: _plain(value)})
        except DesignError as error:
            problem = error.problems[0]
            return problem.rule + (f" (got {problem.value})" if problem.value else "")
        return ""

    def _ask(self, key: str, value: object) -> bool | str:
        why = self._why_not(key, value)
        if why:
            return why
        self._take(**{key: _plain(value)})
        return True

    def _take(self, **changes: object) -> None:
        after = self.controller.edited(**changes)
        if after != self.controller:
            self.controller = after
            self._show()
            self.changed.emit()

    def _choose(self, box: QComboBox, key: str, _index: int) -> None:
        self._take(**{key: box.currentData()})

    def _change_unit(self) -> None:
        unit = self.unit.currentData()
        if unit != self.controller.error_unit:
            self.error.give_up()
            self._take(error_unit=unit, error=in_unit(self.controller, unit))

    def _take_prefix(self) -> None:
        answer = self._ask("prefix", self.prefix.text().strip())
        self.entries["prefix"].tell(answer if isinstance(answer, str) else "")
        if answer is True:
            self.prefix.setModified(False)
            self._show()

    def _show(self) -> None:
        controller = self.controller
        by_table = controller.method == "table"
        set_choice(self.method, self.method.findData(controller.method))
        set_choice(self.spacing, self.spacing.findData(controller.spacing))
        set_choice(self.unit, self.unit.findData(controller.error_unit))
        self.error.show_value(controller.error)
        self.speed.show_value(controller.speed_error_permille)
        self.most_bytes.show_value(_or_inf(controller.largest_bytes))
        for part in (self.spacing, self.most_bytes):
            part.setEnabled(by_table)
        self.speed.setEnabled(self._drives)
        if not self.entries["prefix"].refused:
            with QSignalBlocker(self.prefix):
                self.prefix.setText(controller.prefix)
        self.parts.show_controller(controller)


def _or_inf(most: int | None) -> float:
    return float("inf") if most is None else float(most)


def _plain(value: object) -> object:
    """A number as the model wants it: whole where it is, and no limit as None."""
    if isinstance(value, float):
        if isinf(value):
            return None
        return int(value) if value.is_integer() else value
    return value
