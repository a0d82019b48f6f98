"""The editors of the selected parts: what they are, where, how large; and the room around them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, TypeVar

from PySide6.QtWidgets import QComboBox, QFormLayout, QVBoxLayout, QWidget

from app.design import part_edits
from app.design.references import selected
from app.document import Document
from app.panels.form import (
    ANGLE,
    LENGTH,
    NUMBER,
    FieldMaker,
    add_row,
    add_with_reason,
    choice,
    common,
    name_field,
    set_choice,
    show_field,
)
from app.panels.panel import Panel
from app.picture.view import View
from app.plain import plain_label
from app.units import LengthUnit, show_length
from geometry.model.motors import DriveMotor, SteerMotor
from geometry.model.packaging import PART_KINDS, SHAPES, SIZES, Part

T = TypeVar("T")

_PLACE = (
    (LENGTH, "x_mm", "x, forward", "Its middle, forward of the origin. -10 000 to 10 000 mm."),
    (LENGTH, "y_mm", "y, left", "Its middle, to the left; negative is right. -10 000 to 10 000 mm."),
    (LENGTH, "bottom_mm", "Lower edge", "Its lower edge, above the ground. -1 000 to 10 000 mm."),
    (ANGLE, "turn_deg", "Turned by", "Turned about its middle, seen from above. -180 to 180 degrees."),
)
_SIZE = (
    (LENGTH, "length_mm", "Length", "Along its own x; a lying cylinder's axis. 0.1 to 10 000 mm."),
    (LENGTH, "width_mm", "Width", "Across. 0.1 to 10 000 mm."),
    (LENGTH, "height_mm", "Height", "Upward. 0.1 to 10 000 mm."),
    (LENGTH, "diameter_mm", "Diameter", "Of a cylinder. 0.1 to 10 000 mm."),
)
_MASS = (NUMBER, "mass_kg", "Mass, kg", "In the middle of its shape. 0 to 10 000 kg.")
_ROOM = (
    ("front_mm", "In front", "Room for plugs and screws before its front end. 0 to 1 000 mm."),
    ("rear_mm", "Behind", "Room behind its rear end. 0 to 1 000 mm."),
    ("left_mm", "At its left", "Room beside its left side. 0 to 1 000 mm."),
    ("right_mm", "At its right", "Room beside its right side. 0 to 1 000 mm."),
    ("above_mm", "Above", "Room above it. 0 to 1 000 mm."),
    ("below_mm", "Below", "Room below it. 0 to 1 000 mm."),
)
_KIND_WORDS = {kind: kind.capitalize() for kind in PART_KINDS}
_SHAPE_WORDS = {shape: shape.capitalize() for shape in SHAPES}
_ONE_ONLY = ("x_mm", "y_mm")


class PartFields(Panel):
    """Fields of the selected parts; a change goes to all of them, and to their partners."""

    def __init__(self, document: Document) -> None:
        super().__init__(document)
        self._maker = FieldMaker(document)
        self.title = plain_label("Select a part on the plan or in the table to edit it.")
        self.title.setWordWrap(True)
        self.body = QWidget()
        self.form = QFormLayout(self.body)
        self.form.setContentsMargins(0, 0, 0, 0)
        self.form.setHorizontalSpacing(10)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(12, 4, 12, 12)
        layout.addWidget(self.title)
        layout.addWidget(self.body)

    def set_unit(self, unit: LengthUnit) -> None:
        """Show lengths in another unit."""
        self._maker.set_unit(unit)

    def show_view(self, view: View) -> None:
        """Show the selected parts of this view."""
        chosen = [view.design.packaging.parts[i] for i in selected(view.selection, "part")]
        self.body.setVisible(bool(chosen))
        self.title.setVisible(len(chosen) != 1)
        if not chosen:
            self.title.setText("Select a part on the plan or in the table to edit it.")
            self._give_up()
            focus = self.body.focusWidget()
            if focus is not None and focus.hasFocus():
                focus.clearFocus()
            return
        self.title.setText(f"{len(chosen)} parts: a change goes to all of them.")
        self._show_parts(view, chosen)

    def _give_up(self) -> None:
        for box in self._maker.made:
            box.give_up()

    def _show_parts(self, view: View, chosen: Sequence[Part]) -> None:
        raise NotImplementedError

    def _ask(self, key: str, value: Any) -> bool:
        chosen, mirror = selected(self._document.selection, "part"), self.symmetric
        if not chosen:
            return False
        label = f"Change {key.rsplit('_', 1)[0].replace('_', ' ')} of a part"
        return self._document.edit(
            label,
            lambda d: part_edits.change_parts(d, chosen, mirror=mirror, **{key: value}),
            merge_key=f"part {key} {chosen}",
        )


class PartEditor(PartFields):
    """What the selected part is, where it is, how large and how heavy, and what it is tied to."""

    def __init__(self, document: Document) -> None:
        super().__init__(document)
        self.name = name_field(
            document,
            "Name",
            "Name, unique among the parts; up to 40 characters.",
            lambda v: self._ask("name", v),
        )
        self.kind = self._choice("Kind", "What the part is.", PART_KINDS, _KIND_WORDS, "kind")
        self.shape = self._choice(
            "Shape",
            "A box, or a cylinder that stands or lies along its own x.",
            SHAPES,
            _SHAPE_WORDS,
            "shape",
        )
        self.fields = {
            key: self._maker.make(measure, name, tip, lambda v, k=key: self._ask(k, v))  # type: ignore[misc]
            for measure, key, name, tip in (*_PLACE, *_SIZE, _MASS)
        }
        self.motor = choice(
            "Is motor", "Motor of the chassis that this part is; it then says which wheels it reaches."
        )
        self.motor.activated.connect(lambda _i: self._ask("motor", self.motor.currentData()))
        self.mounted = choice(
            "Mounted on", "Wheel with whose kingpin it turns; none for a part that stands still."
        )
        self.mounted.activated.connect(lambda _i: self._ask("mounted_on", self.mounted.currentData()))
        self.reaches = plain_label()
        self.reaches.setWordWrap(True)
        for box in (self.kind, self.shape, self.motor, self.mounted):
            box.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
            box.setPlaceholderText("several")
        add_with_reason(self.form, "Name", self.name)
        self.form.addRow("Kind", self.kind)
        self.form.addRow("Shape", self.shape)
        for field in self.fields.values():
            add_row(self.form, field)
        self.form.addRow("Is motor", self.motor)
        self.form.addRow(self.reaches)
        self.form.addRow("Mounted on", self.mounted)
        self.show_view(document.view)

    def _choice(self, name: str, tip: str, values: Sequence[T], words: dict[T, str], key: str) -> QComboBox:
        box = choice(name, tip)
        for value in values:
            box.addItem(words[value], value)
        box.activated.connect(lambda i: self._ask(key, values[i]))
        return box

    def summary(self, view: View) -> str:
        """Which part it is."""
        chosen = selected(view.selection, "part")
        if len(chosen) == 1:
            return view.design.packaging.parts[chosen[0]].name
        return f"{len(chosen)} parts" if chosen else "none selected"

    def _give_up(self) -> None:
        super()._give_up()
        self.name.give_up()

    def _show_parts(self, view: View, chosen: Sequence[Part]) -> None:
        one, names = len(chosen) == 1, tuple(part.name for part in chosen)
        self.name.show_value(chosen[0].name if one else None, names)
        self.name.setEnabled(one)
        kind, shape = common(p.kind for p in chosen), common(p.shape for p in chosen)
        set_choice(self.kind, -1 if kind is None else PART_KINDS.index(kind))
        set_choice(self.shape, -1 if shape is None else SHAPES.index(shape))
        for key, box in self.fields.items():
            sizes = key in ("length_mm", "width_mm", "height_mm", "diameter_mm")
            there = not sizes or (shape is not None and key in SIZES[shape])
            show_field(self.form, box, common(getattr(p, key) for p in chosen), names, there=there)
            box.setEnabled(one or key not in _ONE_ONLY)
        motors = [m.name for m in view.design.steer_motors] + [m.name for m in view.design.drive_motors]
        _fill(self.motor, motors, common(p.motor for p in chosen), same=len({p.motor for p in chosen}) == 1)
        wheels = [wheel.name for wheel in view.design.wheels]
        mounted = {p.mounted_on for p in chosen}
        _fill(self.mounted, wheels, common(mounted), same=len(mounted) == 1)
        self.form.setRowVisible(self.motor, kind == "motor")
        reached = _reached(view, chosen[0]) if one else ""
        self.reaches.setText(reached)
        self.form.setRowVisible(self.reaches, bool(reached))


class RoomEditor(PartFields):
    """How much room the selected part wants around it."""

    def __init__(self, document: Document) -> None:
        super().__init__(document)
        self.clearance = self._maker.make(
            LENGTH,
            "Clearance",
            "Least distance to all else that it wants. 0 to 1 000 mm.",
            lambda v: self._ask("clearance_mm", v),
        )
        add_row(self.form, self.clearance)
        self.fields = {
            key: self._maker.make(LENGTH, name, tip, lambda v, k=key: self._ask_room(k, v))  # type: ignore[misc]
            for key, name, tip in _ROOM
        }
        for box in self.fields.values():
            add_row(self.form, box)
        self.show_view(document.view)

    def summary(self, view: View) -> str:
        """The clearance, where all selected parts have one."""
        chosen = [view.design.packaging.parts[i] for i in selected(view.selection, "part")]
        gap = common(part.clearance_mm for part in chosen)
        return "" if gap is None else f"clearance {show_length(gap, self._maker.unit)}"

    def _show_parts(self, view: View, chosen: Sequence[Part]) -> None:  # noqa: ARG002
        names = tuple(part.name for part in chosen)
        self.clearance.show_value(common(p.clearance_mm for p in chosen), names)
        for key, box in self.fields.items():
            box.show_value(common(getattr(p.room, key) for p in chosen), names)

    def _ask_room(self, key: str, value: float) -> bool:
        chosen = selected(self._document.selection, "part")
        parts = self._document.design.packaging.parts
        # As plain values: what the rules refuse is told with the place in the design.
        rooms = {i: {**dict(parts[i].room), key: value} for i in chosen}
        if len(chosen) == 1:
            return self._ask("room", rooms[chosen[0]])
        return self._document.edit(
            "Change room of parts",
            lambda d: part_edits.change_each(d, {i: {"room": room} for i, room in rooms.items()}),
        )


def _fill(box: QComboBox, names: Sequence[str], now: str | None, *, same: bool) -> None:
    """Offer names and none of them, and show the one of now."""
    wanted = ["", *names]
    if [box.itemData(i) or "" for i in range(box.count())] != wanted:
        box.clear()
        box.addItem("none", None)
        for name in names:
            box.addItem(name, name)
    set_choice(box, -1 if not same else 0 if now is None else wanted.index(now))


def _reached(view: View, part: Part) -> str:
    motors: list[SteerMotor | DriveMotor] = [*view.design.steer_motors, *view.design.drive_motors]
    reached = [gearing.wheel for motor in motors if motor.name == part.motor for gearing in motor.wheels]
    return f"It reaches {', '.join(reached)}." if reached else ""
