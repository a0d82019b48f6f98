"""The export of the steering table: choose the rows, see the file, save it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QFontDatabase, QKeyEvent
from PySide6.QtWidgets import (
    QCheckBox,
    QDialog,
    QDialogButtonBox,
    QFormLayout,
    QHBoxLayout,
    QPlainTextEdit,
    QPushButton,
    QSpinBox,
    QVBoxLayout,
    QWidget,
)

from app.controller.export_error import ExportError
from app.controller.steering_table import FLAGS, MOST_ROWS, SteeringTable, named_by_number, table_of
from app.design.facts import Facts
from app.dialogs.fitting import lay_out
from app.dialogs.table_columns import ColumnChoice, TablePreview
from app.export.preview import shown_text, size_of
from app.export.registry import Exporter, Files, exporter, exporters_of, files_of
from app.panels.form import choice
from app.panels.number_field import NumberField
from app.plain import plain_label
from app.units import LengthUnit, UnitError, parse_sum, show_number
from app.words.alignment_summary import verdict_sentence
from geometry.model.design import Design
from geometry.turn_range.sweep import turns_between

PREVIEW_LINES = 60
_TREE_WIDTH = 232


@dataclass(frozen=True)
class Export:
    """What the person chose."""

    files: Files
    """Whole files, as a rule one."""
    rows: int
    """The number of rows asked for, to be remembered."""
    suffix: str


def export_turns(design: Design, rows: int, *, with_marks: bool) -> tuple[float, ...]:
    """Evenly spaced turns over the range in use, and if wanted every mark on the slider."""
    turns = turns_between(-design.largest_turn, design.largest_turn, rows)
    if with_marks:
        marks = np.array([mark.turn for mark in Facts(design).landmarks])
        merged = np.concatenate([turns, marks])
        turns = np.unique(np.clip(merged, -design.largest_turn, design.largest_turn))
    return tuple(turns.tolist())


class ExportDialog(QDialog):
    """Rows or step, the columns, and a preview of exactly what will be saved."""

    def __init__(self, parent: QWidget | None, design: Design, rows: int, unit: LengthUnit = "mm") -> None:
        super().__init__(parent)
        self.setWindowTitle("Export the steering table")
        self._design = design
        self._turns: tuple[float, ...] = ()
        self._names = named_by_number(design)
        self.format = choice("Format", "What the file is written in.")
        for form in exporters_of("table"):
            self.format.addItem(form.label, form.key)
        self.format.currentIndexChanged.connect(lambda _i: self._refresh())
        self.rows = QSpinBox()
        self.rows.setRange(2, MOST_ROWS)
        self.rows.setValue(min(max(rows, 2), MOST_ROWS))
        self.rows.setAccessibleName("Number of rows")
        self.rows.setSuffix(" rows")
        self.rows.setGroupSeparatorShown(True)
        self.rows.setKeyboardTracking(False)
        self.rows.setToolTip(f"Evenly spaced over the range in use, both ends included. 2 to {MOST_ROWS:,}.")
        self.rows.valueChanged.connect(lambda _n: self._refresh())
        self.step = NumberField(
            "Step of the turn input",
            parse=self._parse_step,
            show=lambda v: show_number(v, 6),
            ask=self._ask_step,
            step=0.01,
            tip="Distance from row to row; the nearest that divides the range is taken.",
        )
        self.marks = QCheckBox("Also a row at every mark: side stopped, travel ends, flips")
        self.marks.setToolTip("Adds the exact turn inputs at which something happens.")
        self.marks.toggled.connect(lambda _on: self._refresh())
        self.columns = ColumnChoice()
        self.columns.chosen_changed.connect(self._refresh)
        self.table = TablePreview()
        self.as_text = QCheckBox("Preview as text")
        self.as_text.setToolTip("Show the file letter by letter in place of its columns.")
        self.as_text.toggled.connect(self._show_as_text)
        self.preview = QPlainTextEdit()
        self.preview.setReadOnly(True)
        self.preview.setLineWrapMode(QPlainTextEdit.LineWrapMode.NoWrap)
        self.preview.setFont(QFontDatabase.systemFont(QFontDatabase.SystemFont.FixedFont))
        self.preview.setAccessibleName("Preview of the file")
        self.preview.hide()
        self.named = plain_label("; ".join(f"{slug} is {name}" for slug, name in self._names.items()) + ".")
        self.named.setWordWrap(True)
        self.named.setVisible(bool(self._names))
        self.named.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.size_label = plain_label()
        self.size_label.setWordWrap(True)
        facts = Facts(design)
        self.verdict = plain_label(verdict_sentence(facts, unit))
        self.verdict.setWordWrap(True)
        self.verdict.setVisible(not facts.check.aligned)
        self._lay_out()
        self.rows.setFocus()  # else the format has it, which is seldom changed
        self._refresh()

    def _lay_out(self) -> None:
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Cancel)
        self.save = buttons.addButton("Save as…", QDialogButtonBox.ButtonRole.AcceptRole)
        buttons.accepted.connect(self.accept)
        buttons.rejected.connect(self.reject)
        form = QFormLayout()
        both = QHBoxLayout()
        both.addWidget(self.rows)
        or_step = plain_label("or a step of")
        or_step.setBuddy(self.step)
        both.addWidget(or_step)
        both.addWidget(self.step)
        both.addStretch(1)
        form.addRow("Format", self.format)
        form.addRow("Turn inputs", both)
        form.addRow("", self.step.reason)
        form.addRow("", self.marks)
        content = QWidget()
        inside = QVBoxLayout(content)
        inside.setContentsMargins(0, 0, 0, 0)
        inside.addLayout(form)
        shown = QHBoxLayout()
        shown.addWidget(self.columns)
        shown.addWidget(self.table, 1)
        shown.addWidget(self.preview, 1)
        self.columns.setFixedWidth(_TREE_WIDTH)
        inside.addLayout(shown, 1)
        inside.addWidget(self.as_text)
        inside.addWidget(self.named)
        inside.addWidget(self.size_label)
        inside.addWidget(self.verdict)
        lay_out(self, content, buttons, QSize(860, 560))

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Let Enter finish a field; only a press of the button saves."""
        enter = event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter)
        if not enter or isinstance(self.focusWidget(), QPushButton):
            super().keyPressEvent(event)

    def _parse_step(self, text: str) -> float:
        value = parse_sum(text)
        least, most = 2 * self._design.largest_turn / (MOST_ROWS - 1), 2 * self._design.largest_turn
        if not least <= value <= most:
            raise UnitError(f"must be from {least:g} to {most:g} (got {value:g})")
        return value

    def _ask_step(self, step: float) -> bool:
        rows = round(2 * self._design.largest_turn / step) + 1 if step > 0 else 0
        if not 2 <= rows <= MOST_ROWS:
            return False
        self.rows.setValue(rows)
        self._refresh()
        return True

    @property
    def table_format(self) -> Exporter:
        """The format that is chosen."""
        return exporter("table", self.format.currentData())

    @property
    def files(self) -> Files:
        """Whole files, worked out when it is asked for: a long one takes a second."""
        return files_of(self.table_format, self._chosen(table_of(self._design, self._turns)))

    def _chosen(self, table: SteeringTable) -> SteeringTable:
        """A table with the columns that are ticked; the very same one where all are."""
        self.columns.show_columns([*table.columns, FLAGS])
        return table.only(self.columns.chosen)

    def _show_as_text(self, on: bool) -> None:  # noqa: FBT001 - Qt's signal
        self.preview.setVisible(on)
        self.table.setVisible(not on)

    def _refresh(self) -> None:
        self._turns = export_turns(self._design, self.rows.value(), with_marks=self.marks.isChecked())
        self.step.show_value(2 * self._design.largest_turn / (self.rows.value() - 1))
        try:
            table = self._chosen(table_of(self._design, self._turns[:PREVIEW_LINES]))
            head = files_of(self.table_format, table)
        except ExportError as error:
            self.save.setEnabled(False)
            self.preview.setPlainText("")
            self.table.show_text("", {})
            why = str(error)
            self.size_label.setText(f"✗ {why[:1].upper()}{why[1:]}.")
            return
        self.save.setEnabled(True)
        rows = len(self._turns)
        more = rows - PREVIEW_LINES
        lines = "\n".join(shown_text(head).splitlines())
        self.preview.setPlainText(lines + (f"\n… and {more:,} more rows" if more > 0 else ""))
        self.table.show_text(shown_text(head), self._names)
        size = size_of(head) / 1000
        if more > 0:  # the rest is about as wide as the rows that are shown
            about, size = "about ", size * rows / PREVIEW_LINES
        else:
            about = ""
        first = f" (shown: the first {PREVIEW_LINES})" if more > 0 else ""
        columns = len(table.columns) + table.with_flags
        self.size_label.setText(
            f"{rows:,} rows{first}, {columns} columns, {about}{size:,.{0 if more > 0 else 1}f} kB. "
            "Speeds are shares of the faster side, driving forward. Straight ahead the radius is inf. "
            "First run with the wheels off the ground."
        )


def ask_export(parent: QWidget, design: Design, rows: int, unit: LengthUnit = "mm") -> Export | None:
    """Show the export; None where the person gave up."""
    dialog = ExportDialog(parent, design, rows, unit)
    dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose, on=False)
    accepted = dialog.exec() == QDialog.DialogCode.Accepted
    result = Export(dialog.files, dialog.rows.value(), dialog.table_format.suffix) if accepted else None
    dialog.deleteLater()
    return result
