"""The editor of the selected wheel, or of several at once."""

from __future__ import annotations

from typing import Any

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QCheckBox, QFormLayout, QGridLayout, QVBoxLayout, QWidget

from app.design import edits
from app.design.references import selected_wheels
from app.document import Document
from app.panels.form import (
    ANGLE,
    LENGTH,
    NUMBER,
    FieldMaker,
    add_with_reason,
    choice,
    common,
    name_field,
    scrolled,
    set_choice,
)
from app.panels.panel import Panel
from app.picture.view import View
from app.plain import plain_label
from app.units import LengthUnit, show_angle
from geometry.model.wheel import KINDS

_LENGTHS = (
    ("x_mm", "x, forward", "Kingpin, forward of the origin. -10 000 to 10 000 mm."),
    ("y_mm", "y, left", "Kingpin, to the left of the origin; negative is right. -10 000 to 10 000 mm."),
    ("diameter_mm", "Diameter", "Rolling diameter of the tyre. 5 to 2 000 mm."),
    ("width_mm", "Width", "Width of the tyre. 1 to 1 000 mm."),
    (
        "trail_mm",
        "Trail",
        "How far the contact point lies behind the kingpin, along the wheel; negative is ahead.",
    ),
    (
        "lateral_offset_mm",
        "Lateral offset",
        "How far the contact point lies to the left of the kingpin, across the wheel; negative is right.",
    ),
)
_ANGLES = (
    (
        "toe_deg",
        "Toe-in",
        "Built-in angle, positive toe-in: the front of the wheel points inward. -45 to 45 degrees.",
    ),
    ("travel_min_deg", "Travel, right", "Furthest steer angle to the right. -180 to 0 degrees."),
    ("travel_max_deg", "Travel, left", "Furthest steer angle to the left. 0 to 180 degrees."),
)
_SHARE = (("load_share", "Load share", "Weight on this wheel relative to the others. 0.001 to 1 000."),)
_FIELDS = ((LENGTH, _LENGTHS), (ANGLE, _ANGLES), (NUMBER, _SHARE))
_KIND_WORDS = {
    "fixed": "fixed: always points the same way",
    "steered": "steered: turned to the angle shown",
    "caster": "caster: swings by itself",
}
_ONE_ONLY = ("x_mm", "y_mm")


class WheelEditor(Panel):
    """Fields of the selected wheels; a change goes to all of them, and to their partners."""

    def __init__(self, document: Document) -> None:
        super().__init__(document)
        self._maker = FieldMaker(document)
        self.title = plain_label()
        self.title.setWordWrap(True)
        self.name = name_field(
            document, "Name", "Name, unique within the chassis; up to 40 characters.", self._rename
        )
        self.kind = choice(
            "Kind", "Fixed, steered, or a caster that swings by itself and constrains nothing."
        )
        for kind in KINDS:
            self.kind.addItem(_KIND_WORDS[kind], kind)
        self.kind.setPlaceholderText("several")
        self.kind.activated.connect(lambda i: self._ask("kind", KINDS[i]))
        self.driven = QCheckBox("Driven by a motor")
        self.driven.setToolTip("Driven; otherwise the wheel rolls free.")
        self.driven.clicked.connect(lambda on: self._ask("driven", bool(on)))
        self.fields = {
            key: self._maker.make(measure, name, tip, lambda v, k=key: self._ask(k, v))  # type: ignore[misc]
            for measure, fields in _FIELDS
            for key, name, tip in fields
        }
        self._lay_out()
        self.show_view(document.view)

    def _lay_out(self) -> None:
        self.body = QWidget()
        top = QFormLayout()
        top.setHorizontalSpacing(10)
        add_with_reason(top, "Name", self.name)
        top.addRow("Kind", self.kind)
        columns = QVBoxLayout(self.body)
        columns.setContentsMargins(8, 4, 8, 4)
        columns.addLayout(top)
        columns.addLayout(self._pairs())
        columns.addStretch(1)
        inner = QWidget()
        inside = QVBoxLayout(inner)
        inside.setContentsMargins(8, 6, 8, 4)
        inside.addWidget(self.title)
        inside.addWidget(self.body)
        inside.addStretch(1)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.addWidget(scrolled(inner))

    def _pairs(self) -> QGridLayout:
        """Two columns of fields; a reason gets the whole width, below the row of its field."""
        grid = QGridLayout()
        grid.setHorizontalSpacing(10)
        boxes = list(self.fields.values())
        half = len(boxes) // 2
        for n, box in enumerate(boxes):
            row, column = (3 * n, 0) if n < half else (3 * (n - half), 2)
            label = plain_label(box.name)
            label.setToolTip(box.toolTip())
            label.setBuddy(box)
            grid.addWidget(label, row, column)
            grid.addWidget(box, row, column + 1)
            grid.addWidget(box.reason, row + 1 + column // 2, 0, 1, 4)
            if column:
                box.reason.setAlignment(Qt.AlignmentFlag.AlignRight)
        grid.addWidget(self.driven, 3 * half, 3)
        for column in (1, 3):
            grid.setColumnStretch(column, 1)
        return grid

    def set_unit(self, unit: LengthUnit) -> None:
        """Show lengths in another unit."""
        self._maker.set_unit(unit)

    def show_view(self, view: View) -> None:
        """Show the selected wheels of this view."""
        chosen = [view.design.wheels[i] for i in view.selected_wheels]
        self.body.setVisible(bool(chosen))
        if not chosen:
            self.title.setText("Select a wheel on the plan or in the table to edit it.")
            for box in (self.name, *self.fields.values()):
                box.give_up()
            return
        one = len(chosen) == 1
        names = tuple(wheel.name for wheel in chosen)
        self.title.setText(
            self._title(view) if one else f"{len(chosen)} wheels: a change goes to all of them."
        )
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
        for key, box in self.fields.items():
            box.show_value(common(getattr(w, key) for w in chosen), names)
            box.setEnabled(one or key not in _ONE_ONLY)
        steered = kind != "caster" and kind != "fixed"
        for key in ("travel_min_deg", "travel_max_deg"):
            self.fields[key].setEnabled(steered)

    def _title(self, view: View) -> str:
        row = view.rows[view.selected_wheels[0]]
        angle = show_angle(row.heading, 2)
        if row.kind == "steered" and abs(row.heading - row.steer) > 1e-12:
            return f"{row.name}: steered to {show_angle(row.steer, 2)}, points {angle} with its toe"
        return f"{row.name}: points {angle}, {row.state}"

    def _ask(self, key: str, value: Any) -> bool:
        chosen = selected_wheels(self._document.selection)
        mirror = self.symmetric
        if not chosen:
            return False
        label = f"Change {key.rsplit('_', 1)[0].replace('_', ' ')}"
        return self._document.edit(
            label,
            lambda d: edits.change_wheels(d, chosen, mirror=mirror, **{key: value}),
            merge_key=f"{key} {chosen}",
        )

    def _rename(self, text: str) -> bool:
        chosen = selected_wheels(self._document.selection)
        if len(chosen) != 1:
            return False
        index = chosen[0]
        return self._document.edit(f"Rename to {text}", lambda d: edits.rename_wheel(d, index, text))
