"""The editor of one motor: its name, its wheels, its properties, and what it does at this turn."""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import partial
from typing import Any

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import (
    QBoxLayout,
    QCheckBox,
    QFormLayout,
    QHBoxLayout,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from app.design import motor_edits
from app.design.motor_edits import MotorKind
from app.design.places import field_word
from app.document import Document
from app.panels.form import add_row, add_with_reason, choice, name_field, set_choice
from app.panels.motor_wheels import MotorWheels
from app.panels.number_field import NumberField
from app.picture.motor_facts import MotorFacts
from app.picture.view import View
from app.plain import plain_label
from app.theme import sized
from app.units import LengthUnit, parse_angle, parse_sum, show_number, show_speed
from geometry.model.motors import STEER_UNITS, DriveMotor, SteerMotor

_STEER = (
    (
        "zero_deg",
        "Zero",
        "Reading of the motor with its wheels straight ahead; within its travel. -3 600 to 3 600 degrees.",
    ),
    ("travel_min_deg", "Travel, lowest", "Lowest reading that it can take. -3 600 to 3 600 degrees."),
    ("travel_max_deg", "Travel, highest", "Highest reading that it can take. -3 600 to 3 600 degrees."),
    ("backlash_deg", "Backlash", "Play at its shaft, from end to end. 0 to 45 degrees."),
    ("step_deg", "Smallest step", "Smallest step of its shaft; 0 for stepless. 0 to 45 degrees."),
    ("top_speed_deg_s", "Top speed °/s", "Largest speed of its shaft. 0.1 to 36 000 degrees per second."),
    ("counts_per_turn", "Counts a turn", "Counts for a whole turn of its shaft. 1 to 10 000 000."),
    ("neutral_us", "Neutral µs", "Pulse at the reading 0. 100 to 10 000 microseconds."),
    (
        "us_per_90_deg",
        "µs for 90°",
        "Change of the pulse for 90 degrees of reading. 1 to 10 000 microseconds.",
    ),
)
_DRIVE = (
    ("no_load_rpm", "No-load speed rpm", "Speed of its shaft without load. 0.1 to 100 000 turns a minute."),
    (
        "usable_rpm",
        "Usable speed rpm",
        "Speed that it keeps under load; 0.1 turns a minute to the no-load speed.",
    ),
    (
        "units_per_turn",
        "Units a turn",
        "Its own units, such as encoder counts, for each turn of its shaft. 0.001 to 10 000 000.",
    ),
)
_DOES: dict[MotorKind, str] = {"steer": "steers", "drive": "drives"}
_IN_DEGREES = {"zero_deg", "travel_min_deg", "travel_max_deg", "backlash_deg", "step_deg"}
_BIG_STEPS = {"no_load_rpm": 10.0, "usable_rpm": 10.0, "neutral_us": 10.0}
_UNIT_WORDS = {"degrees": "degrees", "counts": "counts", "microseconds": "microseconds of pulse"}
_UNIT_FIELDS = {"counts_per_turn": "counts", "neutral_us": "microseconds", "us_per_90_deg": "microseconds"}
_FIRST_UNITS = 360.0
_FIELD_WIDTH = 104
_TWO_COLUMNS = 500
"""From this width on the properties stand in two columns [px]."""
_NARROWEST = 240


class _Properties(QWidget):
    """Number fields in two columns, for one kind of motor."""

    def __init__(self, editor: MotorEditor, kind: MotorKind) -> None:
        super().__init__()
        self.fields: dict[str, NumberField] = {}
        self.reversed = QCheckBox("Reversed")
        self.reversed.clicked.connect(lambda on: editor.ask("reversed", bool(on)))
        self.forms = QFormLayout(), QFormLayout()
        self._columns = columns = QBoxLayout(QBoxLayout.Direction.TopToBottom, self)
        columns.setContentsMargins(0, 0, 0, 0)
        columns.setSpacing(4)
        for form in self.forms:
            form.setHorizontalSpacing(10)
            form.setVerticalSpacing(4)
            columns.addLayout(form)
            columns.setAlignment(form, Qt.AlignmentFlag.AlignTop)
        for key, name, tip in _STEER if kind == "steer" else _DRIVE:
            self.fields[key] = _field(key, name, tip, partial(editor.answer, key))
            self.fields[key].setFixedWidth(_FIELD_WIDTH)

    def fit(self, width: int) -> None:
        """Stand in two columns where there is room for both, else in one."""
        side_by_side = width >= _TWO_COLUMNS
        way = QBoxLayout.Direction.LeftToRight if side_by_side else QBoxLayout.Direction.TopToBottom
        if self._columns.direction() != way:
            self._columns.setDirection(way)
            self._columns.setSpacing(16 if side_by_side else 4)


def _field(key: str, name: str, tip: str, ask: Callable[[float], bool | str]) -> NumberField:
    angle = key in _IN_DEGREES
    return NumberField(
        name,
        parse=parse_angle if angle else parse_sum,
        show=(lambda v: f"{show_number(v, 4)}°") if angle else (lambda v: show_number(v, 4)),
        ask=ask,
        step=_BIG_STEPS.get(key, 1.0),
        tip=tip,
    )


class MotorEditor(QWidget):
    """Fields of the chosen motor; a change is one undo step of the document."""

    def __init__(self, document: Document, remove: QPushButton) -> None:
        super().__init__()
        self._document = document
        self._kind: MotorKind = "steer"
        self._index = 0
        self._unit: LengthUnit = "mm"
        self.name = name_field(
            document,
            "Motor name",
            "Name, unique among the motors; up to 40 characters.",
            lambda text: self.ask("name", text),
        )
        self.title = plain_label()
        self.title.setFont(sized(self.title.font(), "text", strong=True))
        self.now = plain_label()
        self.now.setWordWrap(True)
        self.wheels = MotorWheels(document, self.name)
        self.use = QPushButton("Use the gearing that suits this turn")
        self.use.setToolTip("Gear every wheel of this motor so that none slips at the turn shown.")
        self.use.clicked.connect(self._use)
        self._make_steer()
        self._make_drive()
        for box in (*self.steer.fields.values(), *self.drive.fields.values()):
            document.opened.connect(box.give_up)
        top = QFormLayout()
        top.setHorizontalSpacing(10)
        add_with_reason(top, "Name", self.name)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(6)
        head = QHBoxLayout()
        head.addWidget(self.title, 1)
        head.addWidget(remove)
        layout.addLayout(head)
        layout.addLayout(top)
        layout.addWidget(self.wheels)
        layout.addWidget(self.use, 0, Qt.AlignmentFlag.AlignLeft)
        layout.addWidget(self.now)
        layout.addWidget(self.steer)
        layout.addWidget(self.drive)

    def _make_steer(self) -> None:
        self.steer = _Properties(self, "steer")
        self.steer.reversed.setToolTip("Tick where its reading grows as its shaft turns clockwise.")
        self.unit = choice(
            "Told in", "What its controller is told: degrees, counts, or microseconds of pulse."
        )
        for unit in STEER_UNITS:
            self.unit.addItem(_UNIT_WORDS[unit], unit)
        self.unit.activated.connect(lambda i: self.ask("unit", STEER_UNITS[i]))
        left, right = self.steer.forms
        keys = list(self.steer.fields)
        for n, key in enumerate(keys):
            if n == 5:
                right.addRow("", self.steer.reversed)
                right.addRow("Told in", self.unit)
            add_row(left if n < 5 else right, self.steer.fields[key])
        # Tab goes down the left column, then down the right one.
        QWidget.setTabOrder(self.steer.fields[keys[4]], self.steer.reversed)

    def _make_drive(self) -> None:
        self.drive = _Properties(self, "drive")
        self.drive.reversed.setToolTip("Tick where a positive command turns its shaft backward.")
        self.own = QCheckBox("Has a unit of its own")
        self.own.setToolTip("Tick where its speed is told in units such as encoder counts a second.")
        self.own.clicked.connect(lambda on: self.ask("units_per_turn", _FIRST_UNITS if on else None))
        left, right = self.drive.forms
        for key in ("no_load_rpm", "usable_rpm"):
            add_row(left, self.drive.fields[key])
        right.addRow("", self.drive.reversed)
        right.addRow("", self.own)
        add_row(right, self.drive.fields["units_per_turn"])

    def minimumSizeHint(self) -> QSize:
        """As narrow as its panel: it stands in one column then."""
        return QSize(_NARROWEST, super().minimumSizeHint().height())

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Take another width."""
        super().resizeEvent(event)
        for properties in (self.steer, self.drive):
            properties.fit(event.size().width())

    def set_unit(self, unit: LengthUnit) -> None:
        """Show speeds in another unit."""
        self._unit = unit

    def show_motor(self, view: View, kind: MotorKind, index: int) -> None:
        """Show one motor of this view."""
        self._kind, self._index = kind, index
        facts = MotorFacts(view)
        motor = motor_edits.motors_of(view.design, kind)[index]
        self.name.show_value(motor.name, kind)
        wheels = "1 wheel" if len(motor.wheels) == 1 else f"{len(motor.wheels)} wheels"
        self.title.setText(f"{motor_edits.short_name(kind, index)} {_DOES[kind]} {wheels}")
        self.wheels.show_motor(view, kind, index, facts)
        self.steer.setVisible(kind == "steer")
        self.drive.setVisible(kind == "drive")
        self.use.setVisible(kind == "drive" and len(motor.wheels) > 1)
        if isinstance(motor, SteerMotor):
            self._show_steer(motor)
            self.now.setText(_steer_words(motor, facts, index))
        else:
            self._show_drive(motor)
            self.use.setEnabled(bool(_suiting(facts, index)))
            self.now.setText(_drive_words(motor, facts, index, self._unit))

    def _show_steer(self, motor: SteerMotor) -> None:
        self.steer.reversed.setChecked(motor.reversed)
        set_choice(self.unit, STEER_UNITS.index(motor.unit))
        for key, box in self.steer.fields.items():
            box.show_value(getattr(motor, key), motor.name)
            if key in _UNIT_FIELDS:
                self._show_row(self.steer.forms[1], box, seen=_UNIT_FIELDS[key] == motor.unit)

    def _show_drive(self, motor: DriveMotor) -> None:
        self.drive.reversed.setChecked(motor.reversed)
        self.own.setChecked(motor.units_per_turn is not None)
        for key, box in self.drive.fields.items():
            box.show_value(getattr(motor, key), motor.name)
        box = self.drive.fields["units_per_turn"]
        self._show_row(self.drive.forms[1], box, seen=motor.units_per_turn is not None)

    @staticmethod
    def _show_row(form: QFormLayout, box: NumberField, *, seen: bool) -> None:
        if not seen:
            box.give_up()
        form.setRowVisible(box, seen)

    def answer(self, key: str, value: float) -> bool | str:
        """Ask on behalf of a field; the reason where it was refused."""
        return self._document.answer(lambda: self.ask(key, value))

    def ask(self, key: str, value: Any) -> bool:
        """Ask the document to set one property of the motor."""
        kind, index = self._kind, self._index
        if index >= len(motor_edits.motors_of(self._document.design, kind)):
            return False  # the panel rests behind another, and its motor is gone meanwhile
        label = f"Change {field_word('motor', key)} of motor"
        done = self._document.edit(
            label,
            lambda d: motor_edits.change_motor(d, kind, index, **{key: value}),
            merge_key=f"motor {kind} {index} {key}",
        )
        if not done:
            self.show_motor(self._document.view, kind, index)
        return done

    def _use(self) -> None:
        index = self._index
        ratios = _suiting(MotorFacts(self._document.view), index)
        self._document.edit(
            "Use the gearing that suits this turn", lambda d: motor_edits.gear_wheels(d, index, ratios)
        )


def _suiting(facts: MotorFacts, index: int) -> dict[str, float]:
    """Ratios that suit the turn shown, of the wheels for which there is one."""
    found = facts.driven_wheels(index)
    return {name: wheel.suits for name, wheel in found.items() if not math.isnan(wheel.suits)}


def _steer_words(motor: SteerMotor, facts: MotorFacts, index: int) -> str:
    now = facts.steer_now(index)
    text = f"At this turn its shaft stands at {show_number(now.shaft, 2)}° from straight ahead"
    if motor.unit == "degrees":
        text += f", reading {show_number(now.reading, 2)}°"
    else:
        text += f", reading {show_number(now.reading, 2)}°, told {show_number(now.command, 1)} {motor.unit}"
    return text + (": the end of its travel." if now.stopped else ".")


def _drive_words(motor: DriveMotor, facts: MotorFacts, index: int, unit: LengthUnit) -> str:
    now = facts.drive_now(index)
    text = (
        f"The faster side may run up to {show_speed(now.here, unit)} at this turn and "
        f"{show_speed(now.straight, unit)} straight ahead. Here this motor then turns "
        f"at {show_number(now.turns_s * 60.0, 1)} rpm"
    )
    if motor.units_per_turn is not None:
        text += f", {show_number(now.turns_s * motor.units_per_turn, 1)} of its units a second"
    return text + (", and sets that limit." if now.limits else ".")
