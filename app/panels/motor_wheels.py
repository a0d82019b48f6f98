"""The wheels of one motor: a check box for each that it can hold, its gearing, and what follows."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import partial

from PySide6.QtCore import QEvent, QSize, Qt
from PySide6.QtGui import QColor, QPaintEvent, QPalette, QResizeEvent
from PySide6.QtWidgets import (
    QCheckBox,
    QGridLayout,
    QLabel,
    QStyle,
    QStyleOptionButton,
    QStylePainter,
    QWidget,
)

from app.design import motor_edits
from app.design.motor_edits import MotorKind
from app.document import Document
from app.panels.gear_field import GearField
from app.picture.motor_facts import DrivenWheel, MotorFacts, SteeredWheel
from app.picture.view import View
from app.plain import plain_label, plain_tip
from app.theme import current_theme, sized
from app.units import LengthUnit, Proportion, Train, decimals, show_gearing, show_number
from app.words.lengths import drag_unit, in_drag_unit
from geometry.model.wheel import Wheel

_SUITS = ("Suits", "The ratio with which this wheel would agree with the first one at the turn shown.")
_HEADS: dict[MotorKind, tuple[tuple[str, str], ...]] = {
    "steer": (
        ("Off by", "How far this wheel stands off the angle that would suit the turn shown."),
        _SUITS,
    ),
    "drive": (
        (
            "Slip mm/m",
            "How much is rolled too far, or with a minus too little, for each length at the turn shown.",
        ),
        _SUITS,
    ),
}
_MORE_TIP = (
    "How far the motor can turn this wheel, right to left, with all its wheels on it; the turn of this wheel "
    "for the smallest step of the motor; the play at this wheel, from end to end."
)
_RESULTS = 2
_WIDEST = ("-1234.5_", "-0.000123_")
_GEAR_WIDTH = 104
_GAP = 8
_LINES = 4
"""Lines of the grid for each wheel: name, numbers where they have no room behind it, refusal, more."""
_INDENT = 24


class _NameBox(QCheckBox):
    """A check box that takes the room it gets; a name that is longer is told whole by its tooltip."""

    TIP = "Ticked: this motor holds the wheel. A motor without a wheel is deleted."

    def minimumSizeHint(self) -> QSize:
        """As narrow as its panel."""
        return QSize(60, super().minimumSizeHint().height())

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002
        """Shorten the name in the middle where it has to be."""
        option = QStyleOptionButton()
        self.initStyleOption(option)
        inside = self.style().subElementRect(QStyle.SubElement.SE_CheckBoxContents, option, self)
        text = self.fontMetrics().elidedText(self.text(), Qt.TextElideMode.ElideMiddle, inside.width())
        option.text = text.replace("&", "&&")
        QStylePainter(self).drawControl(QStyle.ControlElement.CE_CheckBox, option)


@dataclass(frozen=True)
class _Row:
    """The widgets of one wheel."""

    box: QCheckBox
    gearing: GearField
    results: tuple[QLabel, ...]
    note: QLabel
    more: QLabel

    @property
    def widgets(self) -> tuple[QWidget, ...]:
        return (self.box, self.gearing, *self.results, self.note, self.more)


class MotorWheels(QWidget):
    """Rows that follow the view; ticking moves a wheel to this motor."""

    def __init__(self, document: Document, above: QWidget) -> None:
        super().__init__()
        self._document = document
        self._last_stop = above
        self._kind: MotorKind = "steer"
        self._index = 0
        self._stacked = True
        self.rows: list[_Row] = []
        self._names: list[str] = []
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(_GAP)
        self._grid.setVerticalSpacing(2)
        self._grid.setColumnStretch(0, 1)
        self.heads = [plain_label() for _ in range(_RESULTS + 2)]
        for column, head in enumerate(self.heads):
            right = Qt.AlignmentFlag.AlignRight if column else Qt.AlignmentFlag.AlignLeft
            head.setAlignment(right | Qt.AlignmentFlag.AlignVCenter)
            _small(head)
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
                for widget in row.widgets:
                    widget.hide()
                continue
            wheel = shown[n]
            row.box.setText(wheel.name)
            row.box.setToolTip(plain_tip(f"{wheel.name}\n{_NameBox.TIP}"))
            row.box.show()
            row.box.setChecked(wheel.name in held)
            row.gearing.show_gearing(held.get(wheel.name), (motor, wheel.name))
            row.gearing.setVisible(wheel.name in held)
            row.gearing.setAccessibleName(f"Gearing of {wheel.name}")
            texts = _results(found[wheel.name], self._document.length_unit) if wheel.name in found else ()
            for label, text in zip(row.results, (*texts, *[""] * _RESULTS), strict=False):
                label.setText(text)
                label.setVisible(bool(texts))
            more = _more(found[wheel.name]) if wheel.name in found else ""
            row.more.setText(more)
            row.more.setVisible(bool(more))
            row.note.setText("" if texts else self._note(view, wheel))
            row.note.setVisible(not texts)
        self._arrange()

    def _show_heads(self) -> None:
        heads = (("Wheel", "Tick the wheels that this motor holds."), ("Gearing", ""), *_HEADS[self._kind])
        here = drag_unit(self._document.length_unit, short=True)
        for label, (text, tip) in zip(self.heads, heads, strict=True):
            label.setText(text.replace(drag_unit("mm", short=True), here))
            label.setToolTip(tip)
        for row in self.rows:
            for label, (_text, tip) in zip(row.results, _HEADS[self._kind], strict=True):
                label.setToolTip(tip)

    def _note(self, view: View, wheel: Wheel) -> str:
        holder = motor_edits.holder_of(view.design, self._kind, wheel.name)
        if holder is not None:
            name = motor_edits.motors_of(view.design, self._kind)[holder].name
            return f"held by {name}; ticking moves it"
        if self._kind == "drive" and not wheel.driven:
            return "rolls free; ticking makes it driven"
        return "without a motor"

    # Rows ------------------------------------------------------------------------------

    def _add_row(self) -> None:
        n = len(self.rows)
        box = _NameBox()
        box.clicked.connect(lambda on: self._tick(n, on))  # a partial would get no argument
        gearing = GearField(
            "Gearing",
            lambda ratio, train, proportion: self._document.answer(
                lambda: self._gear(n, ratio, train, proportion)
            ),
        )
        gearing.setFixedWidth(_GEAR_WIDTH)
        self._document.opened.connect(gearing.give_up)
        results = tuple(plain_label() for _ in range(_RESULTS))
        note, more = plain_label(), plain_label()
        more.setToolTip(_MORE_TIP)
        for label in (note, more):
            label.setWordWrap(True)
            label.setIndent(_INDENT)
            _small(label)
        for label, widest in zip(results, _WIDEST, strict=True):
            # A label of fixed size does not lay the whole panel out anew with each number.
            label.setFixedSize(label.fontMetrics().horizontalAdvance(widest), label.sizeHint().height())
            label.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        self.rows.append(_Row(box, gearing, results, note, more))
        self._place(n)
        self._quieten()
        # Rows made late would come last when Tab goes round.
        for stop in (box, gearing):
            QWidget.setTabOrder(self._last_stop, stop)
            self._last_stop = stop

    def _quieten(self) -> None:
        """Write heads and notes in the quieter colour; it is still one that can be read."""
        faint = QColor(current_theme().faint)
        for label in (*self.heads, *(label for row in self.rows for label in (row.note, row.more))):
            if label.palette().color(QPalette.ColorRole.WindowText) != faint:
                palette = label.palette()
                palette.setColor(QPalette.ColorRole.WindowText, faint)
                label.setPalette(palette)

    def changeEvent(self, event: QEvent) -> None:
        """Follow light and dark."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.PaletteChange:
            self._quieten()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Put the numbers behind the names where both have room, else below them."""
        super().resizeEvent(event)
        self._arrange()

    def _arrange(self) -> None:
        """Choose between the two ways to stand, by the room and the longest name."""
        names = max((row.box.sizeHint().width() for row in self.rows if not row.box.isHidden()), default=0)
        numbers = _GEAR_WIDTH + sum(label.width() for label in self.rows[0].results) if self.rows else 0
        stacked = self.width() < names + numbers + (_RESULTS + 1) * _GAP
        if stacked != self._stacked:
            self._stacked = stacked
            for n in range(len(self.rows)):
                self._place(n)

    def _place(self, n: int) -> None:
        """Give the widgets of a row their cells."""
        row, top, wide = self.rows[n], 1 + _LINES * n, _RESULTS + 2
        numbers = top + 1 if self._stacked else top
        self._grid.addWidget(row.box, top, 0, 1, wide if self._stacked else 1)
        self._grid.addWidget(row.gearing, numbers, 1)
        for column, label in enumerate(row.results, start=2):
            self._grid.addWidget(label, numbers, column)
        self._grid.addWidget(row.gearing.reason, top + 2, 0, 1, wide)
        for label in (row.note, row.more):
            self._grid.addWidget(label, top + 3, 0, 1, wide)

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
                        f"{motor.name} held no other wheel and was deleted; undo brings it back."
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


def _small(label: QLabel) -> None:
    label.setFont(sized(label.font(), "small"))


def _results(found: SteeredWheel | DrivenWheel, unit: LengthUnit) -> tuple[str, ...]:
    """What stands below the heads."""
    suits = "–" if math.isnan(found.suits) else show_gearing(found.suits)
    if isinstance(found, DrivenWheel):
        if math.isnan(found.slip):
            return "stands", suits
        slip = f"{in_drag_unit(found.slip, unit):.{decimals(unit, 1)}f}"
        return slip.removeprefix("-") if float(slip) == 0 else slip, suits
    return f"{found.off:.1f}°", suits


def _more(found: SteeredWheel | DrivenWheel) -> str:
    """What else a steer motor makes of a wheel, in words."""
    if isinstance(found, DrivenWheel):
        return ""
    if found.low > found.high:
        turns = "cannot turn: the travels of its motor and of the wheels share no angle"
    else:
        turns = f"turns {found.low:.1f}° to {found.high:.1f}°".replace("-0.0°", "0.0°")
    step = f"steps of {show_number(found.step, 3)}°" if found.step else "stepless"
    play = f"play {show_number(found.play, 3)}°" if found.play else "no play"
    return f"{turns}, {step}, {play}"
