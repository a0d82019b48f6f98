"""The turn control: one slider, and every name of the same motion as a field beside it."""

from __future__ import annotations

import math
from collections.abc import Callable

from PySide6.QtCore import QSize, Qt
from PySide6.QtWidgets import (
    QBoxLayout,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QSizePolicy,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from app.document import Document
from app.panels.number_field import NumberField
from app.panels.turn_slider import TurnSlider
from app.picture.view import View
from app.plain import plain_label
from app.units import LengthUnit, UnitError, parse_length, parse_sum, show_length, show_number

_CAPTIONS = {
    "Turn input": "Turn",
    "Speed ratio": "Ratio",
    "Left speed": "Left",
    "Right speed": "Right",
    "Turn radius": "Radius",
}
_WIDTHS = {"Turn radius": 104}
_FIELD = 28
_NARROW_WINDOW, _HIGH_WINDOW = 1180, 760
_HIGH, _MIDDLE, _LOW = 64, 56, 40
_ABOVE, _BELOW = 2, 4
_STRAIGHT = {"", "inf", "+inf", "-inf", "∞", "straight"}


class TurnPanel(QWidget):
    """Slider and fields, bound both ways through the document."""

    def __init__(self, document: Document) -> None:
        super().__init__()
        self._document = document
        self._unit: LengthUnit = "mm"
        self.slider = TurnSlider()
        self.slider.asked.connect(document.set_turn)
        self.turn = self._field(
            "Turn input",
            document.ask_turn,
            "Turn input s: -1 on the spot to the right, 0 straight, 1 on the spot to the left.",
        )
        self.ratio = self._field(
            "Speed ratio",
            document.ask_ratio,
            "Slower side divided by faster side: 1 straight, 0 one side stopped, -1 on the spot.",
        )
        self.left = self._speed("Left speed", "Speed of the left side in percent of full speed, -100 to 100.")
        self.right = self._speed(
            "Right speed", "Speed of the right side in percent of full speed, -100 to 100."
        )
        self.radius = NumberField(
            "Turn radius",
            parse=self._parse_radius,
            show=lambda r: show_length(r, self._unit),
            ask=lambda r: document.answer(lambda: document.ask_radius(r)),
            step=5.0,
            tip="From the chassis centre line to the turn centre, positive to the left; 'straight' for none.",
        )
        self.straight = QPushButton("Straight")
        self.straight.setToolTip("Straight ahead (turn input 0)")
        self.straight.clicked.connect(lambda: document.set_turn(0.0))
        self.reverse = QToolButton()
        self.reverse.setText("Reverse")
        self.reverse.setCheckable(True)
        self.reverse.setToolTip("Drive backward: both side speeds change sign, every steer angle stays.")
        self.reverse.clicked.connect(self._reverse)
        self._lay_out()
        document.changed.connect(self.show_view)
        document.range_changed.connect(self.slider.show_range)
        self.show_view(document.view)
        self.slider.show_range(document.view)

    @property
    def fields(self) -> tuple[NumberField, ...]:
        """All number fields."""
        return (self.turn, self.ratio, self.left, self.right, self.radius)

    def _field(self, name: str, ask: Callable[[float], bool], tip: str) -> NumberField:
        return NumberField(
            name,
            parse=lambda text: _within(parse_sum(text), 1.0),
            show=lambda v: show_number(v, 4),
            ask=lambda value: self._document.answer(lambda: ask(value)),
            step=0.01,
            tip=tip,
        )

    def _speed(self, name: str, tip: str) -> NumberField:
        return NumberField(
            name,
            parse=lambda text: _within(parse_sum(text.replace("%", "")), 100.0),
            show=lambda v: f"{show_number(v, 2)} %",
            ask=lambda v: self._document.answer(lambda: self._ask_side(name, v)),
            step=1.0,
            tip=tip,
        )

    def _ask_side(self, name: str, percent: float) -> bool:
        left, right = self._document.command.sides
        share = max(-1.0, min(1.0, percent / 100.0))
        return self._document.ask_sides(*((share, right) if name == "Left speed" else (left, share)))

    def _parse_radius(self, text: str) -> float:
        return math.inf if text.strip().lower() in _STRAIGHT else parse_length(text, self._unit)

    def _reverse(self) -> None:
        speed = self._document.command.speed
        self._document.set_speed(-speed if speed else -1.0)

    def _lay_out(self) -> None:
        fields = QHBoxLayout()
        fields.setSpacing(8)
        below = QVBoxLayout()
        below.setSpacing(0)
        self.captions: dict[NumberField, QLabel] = {}
        self._pairs: list[QBoxLayout] = []
        for box in self.fields:
            label = self.captions[box] = plain_label(_CAPTIONS[box.name])
            label.setToolTip(box.toolTip())
            label.setBuddy(box)
            box.setFixedWidth(_WIDTHS.get(box.name, 72))
            pair = QBoxLayout(QBoxLayout.Direction.TopToBottom)
            pair.setSpacing(2)
            pair.addWidget(label)
            pair.addWidget(box)
            self._pairs.append(pair)
            fields.addLayout(pair)
            # A field is narrow: the reason goes below all of them.
            box.reason.setAlignment(Qt.AlignmentFlag.AlignRight)
            below.addWidget(box.reason)
            self._document.opened.connect(box.give_up)
        for button in (self.straight, self.reverse):
            button.setFixedHeight(_FIELD)
            fields.addWidget(button, 0, Qt.AlignmentFlag.AlignBottom)
        right = QVBoxLayout()
        right.setSpacing(2)
        right.addLayout(fields)
        right.addLayout(below)
        row = QHBoxLayout(self)
        row.setContentsMargins(8, _ABOVE, 12, _BELOW)
        row.setSpacing(16)
        row.addWidget(self.slider, 1)
        row.addLayout(right)
        self.setAutoFillBackground(True)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def fit(self, window: QSize, *, low: bool) -> None:
        """Take the height that suits a window, and show the fields that it has room for."""
        narrow = window.width() < _NARROW_WINDOW
        for box in (self.left, self.right):
            seen = not narrow or box.refused
            box.setVisible(seen)
            self.captions[box].setVisible(seen)
        way = QBoxLayout.Direction
        for pair in self._pairs:
            pair.setDirection(way.LeftToRight if low else way.TopToBottom)
        self.reverse.setVisible(not narrow)
        height = _LOW if low else _MIDDLE if window.height() < _HIGH_WINDOW else _HIGH
        self.setMinimumHeight(height)
        self.slider.fit(height - _ABOVE - _BELOW)

    def set_unit(self, unit: LengthUnit) -> None:
        """Show lengths in another unit."""
        self._unit = unit
        self.radius.reshow()

    def show_view(self, view: View) -> None:
        """Show the command of this view."""
        command = view.command
        left, right = command.sides
        self.slider.show_view(view)
        self.turn.show_value(command.turn)
        self.ratio.show_value(command.ratio)
        self.left.show_value(100.0 * left)
        self.right.show_value(100.0 * right)
        self.radius.show_value(view.radius)
        self.reverse.setChecked(command.speed < 0)
        self.setEnabled(bool(view.design.wheels))


def _within(value: float, limit: float) -> float:
    if abs(value) > limit:
        raise UnitError(f"must be from {-limit:g} to {limit:g} (got {value:g})")
    return value
