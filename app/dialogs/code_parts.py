"""Which parts of the code are written, and the number that each one needs."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import partial

from PySide6.QtWidgets import QCheckBox, QFormLayout, QGroupBox, QLabel, QWidget

from app.dialogs.entries import Entry
from app.export.preview import usable_parts
from app.panels.number_field import NumberField
from app.plain import plain_label
from geometry.model.controller import PARTS, Controller, Part
from geometry.model.design import Design

_WORDS: dict[Part, tuple[str, str]] = {
    "mixing": (
        "Mix one stick",
        "Adds a call that takes throttle and turn, beside the one that takes the two side speeds.",
    ),
    "dead_band": ("Dead band", "Takes small inputs for none, so that a stick at rest means standing still."),
    "scaling": (
        "Slow down evenly",
        "Slows all drive motors by one factor where one of them would pass its usable speed.",
    ),
    "clamp": ("Clamp to travel", "Keeps every steering target within the travel."),
    "limiter": (
        "Limit the steering's speed",
        "Moves every steering target no faster than its motor can follow.",
    ),
    "hold": (
        "Hold the drive",
        "Lets the drive wait until every wheel is near its target, above all around a flip.",
    ),
}
_NUMBERS: dict[str, tuple[Part, str, str, str, float]] = {
    "dead_band_permille": (
        "dead_band",
        "up to",
        "‰ of full",
        "Inputs up to this count as none. 1 to 500 thousandths of full.",
        10.0,
    ),
    "wheel_speed_deg_s": (
        "limiter",
        "bare wheels at",
        "°/s",
        "Steering speed of a steered wheel that has no steer motor here. 0.1 to 3 600 degrees per second.",
        10.0,
    ),
    "hold_within_deg": (
        "hold",
        "until within",
        "°",
        "How near to its target every wheel must be for the drive to go. 0.1 to 180 degrees at the wheel.",
        1.0,
    ),
    "creep_permille": (
        "hold",
        "meanwhile at",
        "‰",
        "Speed while it waits, of what is asked for; 0 is at rest. 0 to 1 000 thousandths.",
        50.0,
    ),
}

MakeField = Callable[[str, str, str, float], NumberField]


class CodeParts(QGroupBox):
    """A check box for each part with its size in the file, and the numbers of those that have some."""

    def __init__(self, design: Design, make: MakeField, ask: Callable[[str, object], object]) -> None:
        super().__init__("Parts of the code")
        steered = [wheel.name for wheel in design.wheels if wheel.kind == "steered"]
        turned = {gearing.wheel for motor in design.steer_motors for gearing in motor.wheels}
        self._usable = usable_parts(steers=bool(steered), drives=bool(design.drive_motors))
        self._bare = any(name not in turned for name in steered)
        self.boxes: dict[Part, QCheckBox] = {}
        self.sizes: dict[Part, QLabel] = {}
        self.entries: dict[str, Entry] = {}
        self.fields: dict[str, NumberField] = {}
        form = QFormLayout(self)
        form.setVerticalSpacing(3)
        for part in PARTS:
            text, tip = _WORDS[part]
            box, size = QCheckBox(text), plain_label()
            box.setToolTip(tip)
            box.toggled.connect(partial(ask, part))
            self.boxes[part], self.sizes[part] = box, size
            form.addRow(box, size)
            for key, (of, before, unit, number_tip, step) in _NUMBERS.items():
                if of == part:
                    self.fields[key] = make(key, f"{text}, {before}", number_tip, step)
                    self.entries[key] = Entry(self.fields[key], unit=unit)
                    self._add_number(form, before, self.fields[key], self.entries[key])

    @staticmethod
    def _add_number(form: QFormLayout, before: str, field: NumberField, entry: QWidget) -> None:
        field.setMaximumWidth(80)
        label = plain_label(before)
        label.setIndent(24)
        label.setToolTip(field.toolTip())
        label.setBuddy(field)
        form.addRow(label, entry)

    def show_controller(self, controller: Controller) -> None:
        """Show what is chosen."""
        for part, box in self.boxes.items():
            usable = part in self._usable
            box.blockSignals(True)  # noqa: FBT003
            box.setChecked(bool(getattr(controller, part)))
            box.blockSignals(False)  # noqa: FBT003
            box.setEnabled(usable)
        for key, field in self.fields.items():
            part = _NUMBERS[key][0]
            acts = part in self._usable and bool(getattr(controller, part))
            field.setEnabled(acts and (key != "wheel_speed_deg_s" or self._bare))
            field.show_value(float(getattr(controller, key)))

    def show_sizes(self, sizes: Mapping[Part, int] | None) -> None:
        """Show what each part takes or would take in the file; nothing where it is not known."""
        for part, label in self.sizes.items():
            if part not in self._usable:
                needs = "drive motors" if part == "scaling" else "steering"
                label.setText(f"no {needs} here")
            elif sizes is None or part not in sizes:
                label.setText("")
            else:
                label.setText(f"{sizes[part]:,} bytes")
