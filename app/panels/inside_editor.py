"""The editor of the body in height: floor, roof, walls, its mass, and the holes in it."""

from __future__ import annotations

from typing import Any

from PySide6.QtWidgets import QCheckBox, QComboBox, QFormLayout, QHBoxLayout, QPushButton, QVBoxLayout

from app.design import part_edits
from app.document import Document
from app.panels.form import LENGTH, NUMBER, FieldMaker, add_row, choice, list_entries, set_choice, show_field
from app.panels.panel import Panel
from app.picture.view import View
from app.plain import plain_label, plain_tip
from app.units import LengthUnit, show_length
from app.words.lengths import lengths_in
from geometry.model.packaging import FACES, Opening

_HEIGHTS = (
    (LENGTH, "floor_mm", "Floor", "Underside of the floor, above the ground. -1 000 to 10 000 mm."),
    (LENGTH, "roof_mm", "Roof", "Upper side of the roof, above the ground. -1 000 to 10 000 mm."),
    (LENGTH, "wall_mm", "Wall", "Thickness of walls, floor and roof. 0 to 1 000 mm."),
    (NUMBER, "body_mass_kg", "Body mass, kg", "Mass of the bare body. 0 to 10 000 kg."),
)
_OPENING = (
    ("x_mm", "Hole x", "Middle of the hole, forward of the origin. -10 000 to 10 000 mm."),
    ("y_mm", "Hole y", "Middle of the hole, to the left; negative is right. -10 000 to 10 000 mm."),
    ("z_mm", "Hole height", "Middle of the hole, above the ground. -1 000 to 10 000 mm."),
    ("length_mm", "Hole length", "Along x; across at front and rear. 0.1 to 10 000 mm."),
    ("width_mm", "Hole width", "Across in floor and roof, else upward. 0.1 to 10 000 mm."),
    ("diameter_mm", "Hole diameter", "Of a round hole. 0.1 to 10 000 mm."),
)
_LIES_IN = {
    "floor": ("x_mm", "y_mm"),
    "roof": ("x_mm", "y_mm"),
    "left": ("x_mm", "z_mm"),
    "right": ("x_mm", "z_mm"),
    "front": ("y_mm", "z_mm"),
    "rear": ("y_mm", "z_mm"),
}


class InsideEditor(Panel):
    """Heights and mass of the body, and one of its holes at a time."""

    def __init__(self, document: Document) -> None:
        super().__init__(document)
        self._maker = FieldMaker(document)
        self._unit: LengthUnit = "mm"
        self.heights = {
            key: self._maker.make(measure, name, tip, lambda v, k=key: self._ask(k, v))  # type: ignore[misc]
            for measure, key, name, tip in _HEIGHTS
        }
        self.roof = QCheckBox("Closed above")
        self.roof.setToolTip("Whether the body has a roof; without one, parts may stand out of it.")
        self.roof.clicked.connect(lambda on: self._ask("has_roof", bool(on)))
        self.which = choice("Hole", "The hole whose numbers are shown below.")
        self.which.activated.connect(lambda _i: self.refresh())
        self.add_round = QPushButton("Add round hole")
        self.add_round.clicked.connect(lambda: self._add(Opening(diameter_mm=8.0)))
        self.add_square = QPushButton("Add rectangle")
        self.add_square.clicked.connect(lambda: self._add(Opening(length_mm=40.0, width_mm=20.0)))
        self.remove = QPushButton("Delete hole")
        self.remove.setToolTip("Delete the hole that is shown.")
        self.remove.clicked.connect(self._remove)
        self.face = choice("Face", "The face of the body that the hole is in.")
        for face in FACES:
            self.face.addItem(face.capitalize(), face)
        self.face.activated.connect(lambda i: self._ask_opening("face", FACES[i]))
        for box in (self.which, self.face):
            box.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
        self.opening = {
            key: self._maker.make(LENGTH, name, tip, lambda v, k=key: self._ask_opening(k, v))  # type: ignore[misc]
            for key, name, tip in _OPENING
        }
        self._lay_out()
        self._show_tips()
        self.show_view(document.view)

    def _lay_out(self) -> None:
        self.form = QFormLayout()
        for box in self.heights.values():
            add_row(self.form, box)
        self.form.addRow(self.roof)
        self.form.addRow("Hole", self.which)
        self.form.addRow("Face", self.face)
        for box in self.opening.values():
            add_row(self.form, box)
        first, second = QHBoxLayout(), QHBoxLayout()
        first.addWidget(self.add_round)
        first.addWidget(self.add_square)
        second.addWidget(self.remove)
        second.addStretch(1)
        self.why = plain_label("Heights count once there is a body: draw one, or type its length.")
        self.why.setWordWrap(True)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(12, 4, 12, 12)
        layout.addWidget(self.why)
        layout.addLayout(self.form)
        layout.addLayout(first)
        layout.addLayout(second)

    def set_unit(self, unit: LengthUnit) -> None:
        """Show lengths in another unit."""
        self._unit = unit
        self._maker.set_unit(unit)
        self._show_tips()
        self.refresh()

    def _show_tips(self) -> None:
        for button, tip in (
            (self.add_round, "Add a hole of 8 mm in the floor, for an axle or a cable."),
            (self.add_square, "Add a hole of 40 mm by 20 mm in the floor, for a wheel or a hand."),
        ):
            button.setToolTip(plain_tip(lengths_in(tip, self._unit)))

    def summary(self, view: View) -> str:
        """From where to where."""
        p = view.design.packaging
        return f"{show_length(p.floor_mm, self._unit, suffix=False)} to {show_length(p.roof_mm, self._unit)}"

    def show_view(self, view: View) -> None:
        """Show the body of this view."""
        packaging = view.design.packaging
        self.why.setVisible(not view.design.body_mm)
        for key, box in self.heights.items():
            box.show_value(getattr(packaging, key))
        self.roof.setChecked(packaging.has_roof)
        list_entries(
            self.which, [f"{n}: {o.face}, {self._size(o)}" for n, o in enumerate(packaging.openings, 1)]
        )
        now = self.which.currentIndex()
        some = 0 <= now < len(packaging.openings)
        self.form.setRowVisible(self.which, bool(packaging.openings))
        self.form.setRowVisible(self.face, some)
        self.remove.setVisible(some)
        found = packaging.openings[now] if some else None
        for key, box in self.opening.items():
            value = None if found is None else getattr(found, key)
            there = found is not None and value is not None
            if found is not None and key in ("x_mm", "y_mm", "z_mm"):
                there = key in _LIES_IN[found.face]
            show_field(self.form, box, value, now, there=there)
        if found is not None:
            set_choice(self.face, FACES.index(found.face))

    def _size(self, opening: Opening) -> str:
        if opening.diameter_mm is not None:
            return f"round {show_length(opening.diameter_mm, self._unit)}"
        assert opening.length_mm is not None and opening.width_mm is not None  # noqa: S101, PT018 - the model's rule
        length = show_length(opening.length_mm, self._unit, suffix=False)
        return f"{length} x {show_length(opening.width_mm, self._unit)}"

    def _ask(self, key: str, value: Any) -> bool:
        return self._document.edit(
            "Change the inside of the body",
            lambda d: part_edits.change_packaging(d, **{key: value}),
            merge_key=f"inside {key}",
        )

    def _ask_opening(self, key: str, value: Any) -> bool:
        now = self.which.currentIndex()
        if not 0 <= now < len(self._document.design.packaging.openings):
            return False
        return self._document.edit(
            "Change hole",
            lambda d: part_edits.change_opening(d, now, **{key: value}),
            merge_key=f"hole {now} {key}",
        )

    def _add(self, opening: Opening) -> None:
        self._document.edit("Add hole", lambda d: part_edits.add_opening(d, opening))

    def _remove(self) -> None:
        now = self.which.currentIndex()
        self._document.edit("Delete hole", lambda d: part_edits.delete_openings(d, [now]))
