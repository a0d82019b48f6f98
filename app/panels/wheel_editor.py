"""The editors of the selected wheel, or of several at once."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QCheckBox, QComboBox, QFormLayout, QVBoxLayout, QWidget

from app.design import edits
from app.design.places import field_word
from app.design.references import selected_wheels
from app.document import Document
from app.panels.form import (
    ANGLE,
    LENGTH,
    NUMBER,
    FieldMaker,
    Measure,
    add_row,
    add_with_reason,
    choice,
    common,
    name_field,
    set_choice,
)
from app.panels.panel import Panel
from app.picture.view import View
from app.plain import plain_label
from app.units import LengthUnit, show_angle
from geometry.model.wheel import KINDS, Wheel

_PLACE = (
    (LENGTH, "x_mm", "x, forward", "Kingpin, forward of the origin. -10 000 to 10 000 mm."),
    (
        LENGTH,
        "y_mm",
        "y, left",
        "Kingpin, to the left of the origin; negative is right. -10 000 to 10 000 mm.",
    ),
    (LENGTH, "diameter_mm", "Diameter", "Rolling diameter of the tyre. 5 to 2 000 mm."),
    (LENGTH, "width_mm", "Width", "Width of the tyre. 1 to 1 000 mm."),
)
_SWING = (
    (ANGLE, "travel_min_deg", "Travel, right", "Furthest steer angle to the right. -180 to 0 degrees."),
    (ANGLE, "travel_max_deg", "Travel, left", "Furthest steer angle to the left. 0 to 180 degrees."),
    (
        ANGLE,
        "toe_deg",
        "Toe-in",
        "Built-in angle, positive toe-in: the front of the wheel points inward. -45 to 45 degrees.",
    ),
    (
        LENGTH,
        "trail_mm",
        "Trail",
        "Contact point behind the kingpin, along the wheel; negative is ahead. -1 000 to 1 000 mm.",
    ),
    (
        LENGTH,
        "lateral_offset_mm",
        "Lateral offset",
        "Contact point left of the kingpin, across the wheel; negative is right. -1 000 to 1 000 mm.",
    ),
    (
        NUMBER,
        "load_share",
        "Load share",
        "Weight on this wheel relative to the others. 0.001 to 1 000.",
    ),
    (NUMBER, "mass_kg", "Mass, kg", "Mass of the wheel itself. 0 to 10 000 kg."),
)
_KIND_WORDS = {
    "fixed": "Fixed",
    "steered": "Steered",
    "caster": "Caster",
}
_ONE_ONLY = ("x_mm", "y_mm")


class WheelFields(Panel):
    """Fields of the selected wheels; a change goes to all of them, and to their partners."""

    FIELDS: tuple[tuple[Measure, str, str, str], ...] = ()

    def __init__(self, document: Document) -> None:
        super().__init__(document)
        self._maker = FieldMaker(document)
        self.title = plain_label()
        self.title.setWordWrap(True)
        self.body = QWidget()
        self.form = QFormLayout(self.body)
        self.form.setContentsMargins(0, 0, 0, 0)
        self.form.setHorizontalSpacing(10)
        self.fields = {
            key: self._maker.make(measure, name, tip, lambda v, k=key: self._ask(k, v))  # type: ignore[misc]
            for measure, key, name, tip in self.FIELDS
        }
        layout = QVBoxLayout(self)
        layout.setContentsMargins(12, 4, 12, 12)
        layout.addWidget(self.title)
        layout.addWidget(self.body)

    def set_unit(self, unit: LengthUnit) -> None:
        """Show lengths in another unit."""
        self._maker.set_unit(unit)

    def show_view(self, view: View) -> None:
        """Show the selected wheels of this view."""
        chosen = [view.design.wheels[i] for i in view.selected_wheels]
        self.body.setVisible(bool(chosen))
        if not chosen:
            self._show_title("Select a wheel on the plan or in the table to edit it.")
            self._give_up()
            focus = self.body.focusWidget()
            if focus is not None and focus.hasFocus():
                focus.clearFocus()  # in a window of its own there is no other field for the keyboard
            return
        one = len(chosen) == 1
        self._show_title(self._title(view) if one else f"{len(chosen)} wheels: a change goes to all of them.")
        self._show_wheels(chosen)

    def _show_title(self, text: str) -> None:
        self.title.setVisible(bool(text))
        self.title.setText(text)

    def _title(self, view: View) -> str:  # noqa: ARG002
        return ""

    def _give_up(self) -> None:
        for box in self.fields.values():
            box.give_up()

    def _show_wheels(self, chosen: Sequence[Wheel]) -> None:
        one, names = len(chosen) == 1, tuple(wheel.name for wheel in chosen)
        for key, box in self.fields.items():
            box.show_value(common(getattr(w, key) for w in chosen), names)
            box.setEnabled(one or key not in _ONE_ONLY)

    def _ask(self, key: str, value: Any) -> bool:
        chosen = selected_wheels(self._document.selection)
        mirror = self.symmetric
        if not chosen:
            return False
        label = f"Change {field_word('wheel', key)}"
        return self._document.edit(
            label,
            lambda d: edits.change_wheels(d, chosen, mirror=mirror, **{key: value}),
            merge_key=f"{key} {chosen}",
        )


class WheelEditor(WheelFields):
    """What the selected wheel is called, what it does, where it stands, and its size."""

    FIELDS = _PLACE

    def __init__(self, document: Document) -> None:
        super().__init__(document)
        self.name = name_field(
            document, "Name", "Name, unique within the chassis; up to 40 characters.", self._rename
        )
        self.kind = choice(
            "Kind", "Fixed, steered, or a caster that swings by itself and constrains nothing."
        )
        for kind in KINDS:
            self.kind.addItem(_KIND_WORDS[kind], kind)
        self.kind.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
        self.kind.setPlaceholderText("several")
        self.kind.activated.connect(lambda i: self._ask("kind", KINDS[i]))
        self.driven = QCheckBox("Driven by a motor")
        self.driven.setToolTip("Driven; otherwise the wheel rolls free.")
        self.driven.clicked.connect(lambda on: self._ask("driven", bool(on)))
        add_with_reason(self.form, "Name", self.name)
        self.form.addRow("Kind", self.kind)
        for box in self.fields.values():
            add_row(self.form, box)
        self.form.addRow(self.driven)
        self.show_view(document.view)

    def summary(self, view: View) -> str:
        """Which wheel it is."""
        chosen = view.selected_wheels
        if len(chosen) == 1:
            return view.design.wheels[chosen[0]].name
        return f"{len(chosen)} wheels" if chosen else "none selected"

    def _give_up(self) -> None:
        super()._give_up()
        self.name.give_up()

    def _show_wheels(self, chosen: Sequence[Wheel]) -> None:
        super()._show_wheels(chosen)
        one, names = len(chosen) == 1, tuple(wheel.name for wheel in chosen)
        self.name.show_value(chosen[0].name if one else None, names)
        self.name.setEnabled(one)
        kind = common(w.kind for w in chosen)
        set_choice(self.kind, KINDS.index(kind) if kind else -1)
        driven = common(w.driven for w in chosen)
        self.driven.setCheckState(
            Qt.CheckState.PartiallyChecked
            if driven is None
            else Qt.CheckState.Checked
            if driven
            else Qt.CheckState.Unchecked
        )

    def _title(self, view: View) -> str:
        row = view.rows[view.selected_wheels[0]]
        angle = show_angle(row.heading, 2)
        if row.kind == "steered" and abs(row.heading - row.steer) > 1e-12:
            return f"{row.name}: steered to {show_angle(row.steer, 2)}, points {angle} with its toe"
        return f"{row.name}: points {angle}, {row.state}"

    def _rename(self, text: str) -> bool:
        chosen = selected_wheels(self._document.selection)
        if len(chosen) != 1:
            return False
        index, mirror = chosen[0], self.symmetric
        other = edits.partner_name(self._document.design, index, text) if mirror else None
        done = self._document.edit(
            f"Rename to {text}", lambda d: edits.rename_wheel(d, index, text, mirror=mirror)
        )
        if done and other is not None:
            self._document.step_done.emit(f"Its partner is now called {other}.")
        return done


class SwingEditor(WheelFields):
    """How far the selected wheel turns, and where its tyre stands to its kingpin."""

    FIELDS = _SWING

    def __init__(self, document: Document) -> None:
        super().__init__(document)
        for box in self.fields.values():
            add_row(self.form, box)
        self.show_view(document.view)

    def summary(self, view: View) -> str:
        """The travel, where all selected wheels have one."""
        chosen = [view.design.wheels[i] for i in view.selected_wheels]
        travel = common((w.travel_min_deg, w.travel_max_deg) for w in chosen if w.kind == "steered")
        return "" if travel is None else f"{travel[0]:g}° to {travel[1]:g}°"

    def _show_wheels(self, chosen: Sequence[Wheel]) -> None:
        super()._show_wheels(chosen)
        kind = common(w.kind for w in chosen)
        steered = kind != "caster" and kind != "fixed"
        for key in ("travel_min_deg", "travel_max_deg"):
            self.fields[key].setEnabled(steered)
