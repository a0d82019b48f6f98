"""The editor of the chassis: base axle, reference wheels, limits, names."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
from PySide6.QtWidgets import (
    QCheckBox,
    QComboBox,
    QFormLayout,
    QPlainTextEdit,
)

from app.design import edits
from app.design.places import field_word
from app.document import Document
from app.panels.form import (
    ANGLE,
    LENGTH,
    NUMBER,
    FieldMaker,
    add_row,
    add_with_reason,
    choice,
    name_field,
    set_choice,
)
from app.panels.panel import Panel
from app.picture.view import View
from app.plain import plain_label
from app.units import LengthUnit, show_length

_AUTO = "by rule"
_MOVES = (
    "When it is moved sideways, the track goes with it, and the same turn input gives another turn radius. "
    "Choose another wheel here to keep the track."
)
_RANKS = (
    "no wheel holds the chassis sideways: it can roll any way",
    "the chassis can turn about any point of one line without drag",
    "the wheels leave one motion free of drag",
    "no motion is free of drag",
)


class ChassisEditor(Panel):
    """Fields of the design as a whole."""

    def __init__(self, document: Document) -> None:
        super().__init__(document)
        self._maker = FieldMaker(document)
        self._make_words()
        self._make_axle()
        self._make_limits()
        self._lay_out()
        self.show_view(document.view)

    def _make_words(self) -> None:
        self.name = name_field(
            self._document,
            "Chassis name",
            "Name of the chassis, up to 40 characters.",
            lambda text: self._ask("name", text),
        )
        self.notes = QPlainTextEdit()
        self.notes.setAccessibleName("Notes")
        self.notes.setToolTip("Free text, kept with the chassis; up to 4 000 characters.")
        self.notes.setTabChangesFocus(True)
        self.notes.setFixedHeight(64)
        self.notes.textChanged.connect(self._note)
        self.derived = plain_label()
        self.derived.setWordWrap(True)

    def _make_axle(self) -> None:
        self.axle_chosen = QCheckBox("Choose the base axle")
        self.axle_chosen.setToolTip(
            "The line across the chassis on which turn centres lie. "
            "Unchecked, it follows from the fixed wheels."
        )
        self.axle_chosen.clicked.connect(self._choose_axle)
        self.axle = self._maker.make(
            LENGTH,
            "Base axle x",
            "Where turn centres lie, forward of the origin. -10 000 to 10 000 mm.",
            lambda v: self._ask("base_axle_x_mm", v),
        )
        self.references = {
            f"{side}_reference": choice(
                f"{side.capitalize()} reference",
                f"The wheel abreast of which the {side} side speed is measured. {_MOVES}",
            )
            for side in ("left", "right")
        }
        for key, box in self.references.items():
            box.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
            box.activated.connect(lambda i, k=key: self._refer(k, i))

    def _make_limits(self) -> None:
        maker = self._maker
        self.has_pitch = QCheckBox("Hole pattern")
        self.has_pitch.setToolTip("Wheels and corners snap to the holes of the builder's plate.")
        self.has_pitch.clicked.connect(lambda on: self._ask("hole_pitch_mm", 8.0 if on else None))
        self.pitch = maker.make(
            replace(LENGTH, step=0.5),
            "Hole pitch",
            "Distance between holes. 0.1 to 1 000 mm.",
            lambda v: self._ask("hole_pitch_mm", v),
        )
        self.reach = maker.make(
            replace(NUMBER, step=0.05),
            "Largest turn",
            "Largest turn input in use, 0.01 to 1. The slider, checks and tables stop there.",
            lambda v: self._ask("largest_turn", v),
        )
        self.aligned = maker.make(
            replace(ANGLE, step=0.1),
            "Aligned within",
            "Slip angle up to which a wheel counts as aligned. 0.001 to 45 degrees.",
            lambda v: self._ask("aligned_within_deg", v),
        )
        self.slight = maker.make(
            replace(ANGLE, step=0.1),
            "Slight drag within",
            "Slip angle up to which drag counts as slight. 0.001 to 45 degrees.",
            lambda v: self._ask("slight_drag_within_deg", v),
        )

    def _lay_out(self) -> None:
        form = QFormLayout(self)
        form.setContentsMargins(12, 4, 12, 12)
        form.setHorizontalSpacing(10)
        add_with_reason(form, "Chassis", self.name)
        add_with_reason(form, self.axle_chosen, self.axle)
        form.addRow("Left reference", self.references["left_reference"])
        form.addRow("Right reference", self.references["right_reference"])
        add_with_reason(form, self.has_pitch, self.pitch)
        for box in (self.reach, self.aligned, self.slight):
            add_row(form, box)
        form.addRow(self.derived)
        form.addRow("Notes", self.notes)

    def summary(self, view: View) -> str:
        """Its name."""
        return view.design.name

    def set_unit(self, unit: LengthUnit) -> None:
        """Show lengths in another unit."""
        self._maker.set_unit(unit)
        self.refresh()

    def show_view(self, view: View) -> None:
        """Show the design of this view."""
        design = view.design
        self.name.show_value(design.name)
        if self.notes.toPlainText() != design.notes:
            self.notes.blockSignals(True)  # noqa: FBT003
            self.notes.setPlainText(design.notes)
            self.notes.blockSignals(False)  # noqa: FBT003
        self.axle_chosen.setChecked(design.base_axle_x_mm is not None)
        self.axle.show_value(view.robot.base.x)
        self.axle.setEnabled(design.base_axle_x_mm is not None)
        self.has_pitch.setChecked(design.hole_pitch_mm is not None)
        self.pitch.show_value(design.hole_pitch_mm if design.hole_pitch_mm is not None else 8.0)
        self.pitch.setEnabled(design.hole_pitch_mm is not None)
        self.reach.show_value(design.largest_turn)
        self.aligned.show_value(design.aligned_within_deg)
        self.slight.show_value(design.slight_drag_within_deg)
        names = [wheel.name for wheel in design.wheels]
        base = view.robot.base
        for key, index in (("left_reference", base.left), ("right_reference", base.right)):
            self._show_reference(self.references[key], names, getattr(design, key), index)
        self.derived.setText(self._derived(view))

    def _show_reference(
        self, box: QComboBox, names: list[str], chosen: str | None, index: int | None
    ) -> None:
        auto = f"{_AUTO}: {names[index]}" if index is not None and chosen is None else _AUTO
        wanted = [auto, *names]
        if [box.itemText(i) for i in range(box.count())] != wanted:
            box.blockSignals(True)  # noqa: FBT003
            box.clear()
            box.addItems(wanted)
            box.blockSignals(False)  # noqa: FBT003
        set_choice(box, 0 if chosen is None else 1 + names.index(chosen))

    def _derived(self, view: View) -> str:
        base, unit = view.robot.base, self._maker.unit
        x = view.robot.wheels.x
        wheelbase = show_length(float(np.ptp(x)), unit, of_mm=1) if len(x) else "none"
        track = show_length(2 * base.half_track, unit, of_mm=1)
        names = [view.design.wheels[n].name for n in (base.left, base.right) if n is not None]
        source = "chosen" if base.source == "chosen" else f"from the {base.source}"
        return (
            f"Wheelbase {wheelbase}, foremost to rearmost. Track {track} between the references. "
            f"{_radius_follows(names)}"
            f"Base axle {source}. At this turn {_RANKS[view.rank]}."
        )

    def _ask(self, key: str, value: Any) -> bool:
        label = f"Change {field_word('chassis', key)}"
        done = self._document.edit(
            label, lambda d: edits.change_chassis(d, **{key: value}), merge_key=f"chassis {key}"
        )
        if not done:
            self.refresh()
        return done

    def _choose_axle(self, on: bool) -> None:  # noqa: FBT001 - Qt's signal
        x = self._document.view.robot.base.x
        self._ask("base_axle_x_mm", round(x, 6) if on else None)

    def _refer(self, key: str, index: int) -> None:
        wheels = self._document.design.wheels
        self._ask(key, None if index == 0 else wheels[index - 1].name)

    def _note(self) -> None:
        self._ask("notes", self.notes.toPlainText())


def _radius_follows(names: list[str]) -> str:
    """Why moving a wheel may change the turn radius; nothing where no wheel is a reference."""
    if not names:
        return ""
    return f"Moving {' or '.join(names)} changes it, and the turn radius of the same turn input. "
