"""The wheels of one motor: a check box for each that it can hold, its gearing, and what follows."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import partial

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QCheckBox, QGridLayout, QLabel, QWidget

from app.design import motor_edits
from app.design.motor_edits import MotorKind
from app.document import Document
from app.panels.gear_field import GearField
from app.picture.motor_facts import DrivenWheel, MotorFacts, SteeredWheel
from app.picture.view import View
from app.plain import plain_label
from app.units import Proportion, Train, show_gearing, show_number
from geometry.model.wheel import Wheel

_HEADS: dict[MotorKind, tuple[tuple[str, str], ...]] = {
    "steer": (
        ("Travel", "How far the motor can turn this wheel, right to left, with all its wheels on it."),
        ("Step", "Turn of this wheel for the smallest step of the motor."),
        ("Play", "Play at this wheel, from end to end."),
    ),
    "drive": (
        (
            "Slip",
            "Millimetres rolled too far, or with a minus too little, for each metre at the turn shown.",
        ),
        ("Suits", "The ratio with which this wheel would agree with the first one at the turn shown."),
    ),
}
_RESULTS = 3
_WIDEST = ("-180.0° to 180.0°_", "0.000123__", "stepless_")


@dataclass(frozen=True)
class _Row:
    """The widgets of one wheel."""

    box: QCheckBox
    gearing: GearField
    results: tuple[QLabel, ...]
    note: QLabel


class MotorWheels(QWidget):
    """Rows that follow the view; ticking moves a wheel to this motor."""

    def __init__(self, document: Document, above: QWidget) -> None:
        super().__init__()
        self._document = document
        self._last_stop = above
        self._kind: MotorKind = "steer"
        self._index = 0
        self.rows: list[_Row] = []
        self._names: list[str] = []
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(10)
        self._grid.setVerticalSpacing(3)
        self._grid.setColumnStretch(_RESULTS + 2, 1)
        self.heads = [plain_label() for _ in range(_RESULTS + 2)]
        for column, head in enumerate(self.heads):
            right = Qt.AlignmentFlag.AlignRight if column > 1 else Qt.AlignmentFlag.AlignLeft
            head.setAlignment(right | Qt.AlignmentFlag.AlignVCenter)
            head.setEnabled(False)  # quieter than what stands below
            self._grid.addWidget(head, 0, column)

    def show_motor(self, view: View, kind: MotorKind, index: int, facts: MotorFacts) -> None:
        """Show the wheels that this motor holds or could hold."""
        self._kind, self._index = kind, index
        held = {g.wheel: g for g in motor_edits.motors_of(view.design, kind)[index].wheels}
        shown = [w for w in view.design.wheels if w.name in held or motor_edits.can_hold(kind, w)]
        self._names = [wheel.name for wheel in shown]
        while len(self.rows) < len(shown):
            self._add_row()
        self._show_heads()
        found: dict[str, SteeredWheel] | dict[str, DrivenWheel]
        found = facts.steered_wheels(index) if kind == "steer" else facts.driven_wheels(index)
        motor = motor_edits.motors_of(view.design, kind)[index].name
        for n, row in enumerate(self.rows):
            there = n < len(shown)
            if not there:
                row.gearing.give_up()
                for widget in (row.box, row.gearing, *row.results, row.note):
                    widget.hide()
                continue
            wheel = shown[n]
            row.box.setText(wheel.name)
            row.box.show()
            row.box.setChecked(wheel.name in held)
            row.gearing.show_gearing(held.get(wheel.name), (motor, wheel.name))
            row.gearing.setVisible(wheel.name in held)
            row.gearing.setAccessibleName(f"Gearing of {wheel.name}")
            texts = _results(found[wheel.name]) if wheel.name in found else ()
            for label, text in zip(row.results, (*texts, *[""] * _RESULTS), strict=False):
                label.setText(text)
                label.setVisible(bool(texts))
            row.note.setText("" if texts else self._note(view, wheel))
            row.note.setVisible(not texts)

    def _show_heads(self) -> None:
        heads = (("Wheel", "Tick the wheels that this motor holds."), ("Gearing", ""), *_HEADS[self._kind])
        for n, label in enumerate(self.heads):
            text, tip = heads[n] if n < len(heads) else ("", "")
            label.setText(text)
            label.setToolTip(tip)
        for row in self.rows:
            for label, (_text, tip) in zip(row.results, _HEADS[self._kind], strict=False):
                label.setToolTip(tip)

    def _note(self, view: View, wheel: Wheel) -> str:
        holder = motor_edits.holder_of(view.design, self._kind, wheel.name)
        if holder is not None:
            name = motor_edits.motors_of(view.design, self._kind)[holder].name
            return f"held by {name}; ticking moves it"
        if self._kind == "drive" and not wheel.driven:
            return "rolls free; ticking makes it driven"
        return "without a motor"

    def _add_row(self) -> None:
        n = len(self.rows)
        box = QCheckBox()
        box.setToolTip("Ticked: this motor holds the wheel. A motor without a wheel is removed.")
        box.clicked.connect(lambda on: self._tick(n, on))  # a partial would get no argument
        gearing = GearField(
            "Gearing",
            lambda ratio, train, proportion: self._document.answer(
                lambda: self._gear(n, ratio, train, proportion)
            ),
        )
        gearing.setMaximumWidth(130)
        gearing.setMinimumWidth(80)
        self._document.opened.connect(gearing.give_up)
        results = tuple(plain_label() for _ in range(_RESULTS))
        note = plain_label()
        note.setEnabled(False)
        at = 2 * n + 1
        self._grid.addWidget(box, at, 0)
        self._grid.addWidget(gearing, at, 1)
        self._grid.addWidget(gearing.reason, at + 1, 1, 1, _RESULTS + 2)
        for column, label in enumerate(results, start=2):
            # A label of fixed size does not lay the whole panel out anew with each number.
            label.setFixedSize(
                label.fontMetrics().horizontalAdvance(_WIDEST[column - 2]), label.sizeHint().height()
            )
            label.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
            self._grid.addWidget(label, at, column)
        self._grid.addWidget(note, at, 2, 1, _RESULTS + 1)
        # Rows made late would come last when Tab goes round.
        for stop in (box, gearing):
            QWidget.setTabOrder(self._last_stop, stop)
            self._last_stop = stop
        self.rows.append(_Row(box, gearing, results, note))

    def _tick(self, row: int, on: bool) -> None:  # noqa: FBT001 - Qt's signal
        kind, index, wheel = self._kind, self._index, self._names[row]
        document = self._document
        before = motor_edits.motors_of(document.design, kind)
        if on:
            change = partial(motor_edits.hold_wheel, kind=kind, index=index, wheel=wheel)
            label = f"Put {wheel} on {before[index].name}"
        else:
            change = partial(motor_edits.release_wheel, kind=kind, wheel=wheel)
            label = f"Take {wheel} off {before[index].name}"
        if document.edit(label, change):
            kept = {motor.name for motor in motor_edits.motors_of(document.design, kind)}
            for motor in before:
                if motor.name not in kept:
                    document.step_done.emit(
                        f"{motor.name} held no other wheel and was removed; undo brings it back."
                    )

    def _gear(self, row: int, ratio: float | None, train: Train, proportion: Proportion | None) -> bool:
        kind, wheel = self._kind, self._names[row]
        return self._document.edit(
            f"Change gearing of {wheel}",
            lambda d: motor_edits.set_gearing(
                d, kind, wheel, ratio=ratio, train=train, proportion=proportion
            ),
            merge_key=f"gearing {kind} {wheel}",
        )


def _results(found: SteeredWheel | DrivenWheel) -> tuple[str, ...]:
    if isinstance(found, DrivenWheel):
        slip = "stands" if math.isnan(found.slip) else f"{found.slip + 0.0:.1f} mm/m".replace("-0.0 ", "0.0 ")
        return slip, "–" if math.isnan(found.suits) else show_gearing(found.suits)
    travel = (
        "none"
        if found.low > found.high
        else f"{found.low:.1f}° to {found.high:.1f}°".replace("-0.0°", "0.0°")
    )
    step = f"{show_number(found.step, 3)}°" if found.step else "stepless"
    return travel, step, f"{show_number(found.play, 3)}°" if found.play else "none"
