"""A new chassis from a few numbers: the form, and what must be said of what it makes."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, Any, Literal

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import (
    QCheckBox,
    QComboBox,
    QFormLayout,
    QHBoxLayout,
    QLineEdit,
    QProgressBar,
    QPushButton,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from app.design.first_chassis import FirstChassis, first_chassis, headline, laid_out, unsearched
from app.design.first_request import FEWEST_WHEELS, LIMITS_MM, MOST_WHEELS, FirstRequest, proportions
from app.dialogs.entries import CountField, Entry
from app.dialogs.page_parts import AccentButton, Column, SmallLabel
from app.dialogs.segments import Segments
from app.panels.form import choice, take_typed
from app.panels.number_field import NumberField
from app.plain import plain_label
from app.units import LengthUnit, UnitError, parse_length, show_length
from app.words.lengths import lengths_in
from geometry.errors import DesignError
from geometry.model.design import Design
from geometry.model.frozen import built

if TYPE_CHECKING:
    from app.jobs import Job

_LENGTHS = {
    "wheelbase_mm": ("Wheelbase", "first to last axle", "From the first axle to the last."),
    "track_mm": ("Track", "centre to centre", "Between the middles of the left and the right wheels."),
    "diameter_mm": ("Wheel diameter", "", "Rolling diameter of every wheel."),
    "width_mm": ("Wheel width", "", "Tyre width of every wheel."),
    "body_length_mm": ("Body length", "0 for no body", "Length of the body; 0: no body."),
    "body_width_mm": ("Body width", "0 for no body", "Width of the body; 0: no body."),
    "hole_pitch_mm": (
        "Hole pitch",
        "0 for none",
        "Pitch of the hole pattern on which the wheels stand; 0: none.",
    ),
}
_COUNTS = (3, 4, 6, 8)
_OTHER = 0
_STEERED = {
    "front and rear": "Front and rear",
    "front": "Front",
    "rear": "Rear",
    "all": "All wheels",
}
_ENDS = {"front": "In front", "rear": "At the rear"}
_MOTORS = {"none": "None", "each": "One for each wheel", "share": "Share"}
_UNITS: dict[LengthUnit, str] = {"mm": "Millimetres", "inch": "Inches"}
_IN_LINE = (
    "Ticked: all wheels of a side stand in line. Else those between the first and the last "
    "axle stand one tyre width further out."
)
_NO_MIDDLE = "There are no wheels between the first and the last axle."
_MAKE, _MAKE_ANYWAY = "&Make this chassis", "&Make it all the same"
_FIELD_WIDTH, _COUNT_WIDTH, _LABEL_WIDTH, _ROW = 104, 56, 112, 28


Tone = Literal["good", "bad", "busy"]


@dataclass(frozen=True)
class Made:
    """A chassis, and the unit in which the person gave its lengths."""

    design: Design
    unit: LengthUnit


class WheelCount(QWidget):
    """How many wheels: the usual numbers side by side, and a field for any other."""

    changed = Signal()

    def __init__(self) -> None:
        super().__init__()
        words = {**{n: str(n) for n in _COUNTS}, _OTHER: "Other"}
        spoken = {**{n: f"{n} wheels" for n in _COUNTS}, _OTHER: "another number"}
        self.usual = Segments(
            "Wheels", f"How many wheels there are, {FEWEST_WHEELS} to {MOST_WHEELS}.", words, spoken
        )
        self.other = _count("Number of wheels", 10, "How many wheels there are.", least=FEWEST_WHEELS)
        row = QHBoxLayout()
        row.setSpacing(8)
        row.addWidget(self.usual, 1)
        row.addWidget(self.other)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(1)
        layout.addLayout(row)
        layout.addWidget(self.other.reason)
        self.usual.choose(FirstRequest().wheels)
        self.other.hide()
        self.usual.chosen.connect(self._chosen)
        self.other.changed.connect(self.changed)

    @property
    def value(self) -> int:
        """The number."""
        usual: int = self.usual.value
        return int(self.other.value) if usual == _OTHER else usual

    def choose(self, wheels: int) -> None:
        """Take a number, as a click does."""
        if wheels not in _COUNTS:
            self.other.choose(wheels)
        self.usual.choose(wheels if wheels in _COUNTS else _OTHER)

    def _chosen(self, usual: int) -> None:
        self.other.setVisible(usual == _OTHER)
        self.other.give_up()
        self.changed.emit()


class FirstChassisForm(QWidget):
    """What the person says of a chassis to be, with the buttons in sight below.

    Enter from any field makes the chassis; one that is not aligned is made by the second Enter,
    after the reason.
    """

    made = Signal(object)
    """A `Made`."""
    empty_asked = Signal()
    shown = Signal()
    """What is found, said or measured in is another."""

    def __init__(self, unit: LengthUnit) -> None:
        super().__init__()
        self.unit: LengthUnit = unit
        self._edited: dict[str, float] = {}
        self._request: FirstRequest | None = FirstRequest()
        self._asked_again: FirstRequest | None = None
        self._job: Job | None = None
        self.found: FirstChassis = laid_out(FirstRequest())
        self.said: tuple[Tone, str] = ("good", "")
        """How it is, and one sentence about it."""
        self.notes: tuple[str, ...] = ()
        """What else must be said, a sentence each."""
        self.fields: dict[str, NumberField] = {}
        self.entries: dict[str, Entry] = {}
        self._make_choices()
        self._make_lengths()
        self._make_buttons()
        self.area = Column(self._rows())
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(0)
        layout.addWidget(self.area, 1)
        layout.addWidget(self._foot())
        self._follow()

    # Parts -----------------------------------------------------------------------------

    def _make_choices(self) -> None:
        self.name = QLineEdit(FirstRequest().name)
        self.name.setAccessibleName("Name")
        self.name.setToolTip("Name of the chassis, up to 40 characters.")
        self.name.setMaxLength(40)
        self.name.textEdited.connect(self._changed)
        self.wheels = WheelCount()
        self.wheels.changed.connect(self._changed)
        self.single = _choices("Single wheel", "Where the one wheel of an odd number stands.", _ENDS)
        self.steered = _choices(
            "Steered", "Which axles steer; others join where axle lines could not meet.", _STEERED
        )
        self.units = Segments("Units", "Unit of numbers that stand alone; the window keeps it.", _UNITS)
        self.units.choose(self.unit)
        self.units.chosen.connect(self._changed)
        self.in_line = QCheckBox("Middle wheels in line")
        self.in_line.setChecked(True)
        self.in_line.toggled.connect(self._changed)
        self.motors = _choices(
            "Motors",
            "None: motors come later. Share: the best sharing among so many motors is found.",
            _MOTORS,
        )
        self.steer = _count("Motors to steer", FirstRequest().steer_motors, "How many motors turn wheels.")
        self.drive = _count("Motors to drive", FirstRequest().drive_motors, "How many motors drive wheels.")
        self.counts = (self.wheels.other, self.steer, self.drive)
        for count in self.counts:
            count.reason_changed.connect(partial(self._tell_refused, count.name))
        for count in (self.steer, self.drive):
            count.changed.connect(self._changed)
        for box in (self.single, self.steered, self.motors):
            box.currentIndexChanged.connect(self._changed)

    def _make_lengths(self) -> None:
        for key, (name, hint, tip) in _LENGTHS.items():
            field = NumberField(
                name,
                parse=partial(self._parse, key),
                show=lambda value: show_length(value, self.unit),
                ask=partial(self._ask, key),
                step=1.0,
                tip=tip,
            )
            field.setFixedWidth(_FIELD_WIDTH)
            field.reason_changed.connect(partial(self._tell_refused, name))
            self.fields[key] = field
            self.entries[key] = Entry(field, *([SmallLabel(hint)] if hint else []))

    def _tell_refused(self, name: str, why: str) -> None:
        """Say that the picture is not of what stands in the fields, until all of it is taken up."""
        if why:
            self._say("bad", f"{name} is refused. The picture is of the numbers that were taken last.")
        elif self._refused() is None and self._request is not None and self._job is None:
            self._follow()

    def _rows(self) -> QWidget:
        inner = QWidget()
        self._layout = form = QFormLayout(inner)
        form.setContentsMargins(16, 0, 16, 8)
        form.setVerticalSpacing(6)
        form.setHorizontalSpacing(8)
        form.setFieldGrowthPolicy(QFormLayout.FieldGrowthPolicy.AllNonFixedFieldsGrow)
        self.entries["name"] = Entry(self.name, wide=True)
        both = QWidget()
        stacked = QVBoxLayout(both)
        stacked.setContentsMargins(0, 0, 0, 0)
        stacked.setSpacing(1)
        row = QHBoxLayout()
        row.setSpacing(6)
        stacked.addLayout(row)
        for count, word in ((self.steer, "to steer"), (self.drive, "to drive")):
            count.setMinimumHeight(_ROW)
            row.addWidget(count)
            row.addWidget(SmallLabel(word))
            stacked.addWidget(count.reason)
        row.addStretch(1)
        self._share = both
        rows: list[tuple[str, QWidget, QWidget]] = [
            ("Name", self.entries["name"], self.name),
            ("Wheels", self.wheels, self.wheels.usual),
            ("Single wheel", self.single, self.single),
            ("Steered", self.steered, self.steered),
            ("Units", self.units, self.units),
            *((name, self.entries[key], self.fields[key]) for key, (name, *_) in _LENGTHS.items()),
            ("", self.in_line, self.in_line),
            ("Motors", self.motors, self.motors),
            ("", both, self.steer),
        ]
        for name, part, buddy in rows:
            label = plain_label(name)
            label.setMinimumSize(_LABEL_WIDTH, _ROW)
            label.setToolTip(buddy.toolTip())
            if name:
                label.setBuddy(buddy)
            buddy.setMinimumHeight(_ROW)
            form.addRow(label, part)
        return inner

    def _make_buttons(self) -> None:
        self.make = AccentButton(_MAKE)
        self.make.setToolTip("Take this chassis into the plan. Enter in any field does it too.")
        self.make.setAutoDefault(True)
        self.make.clicked.connect(self._make_it)
        self.empty = QPushButton("Em&pty")
        self.empty.setAutoDefault(True)  # Enter on it means it, not what Enter means elsewhere
        self.empty.setToolTip("Start without wheels.")
        self.empty.clicked.connect(self.empty_asked)
        self.progress = QProgressBar()
        self.progress.setAccessibleName("Progress of the search")
        self.progress.setRange(0, 100)
        self.stop = QPushButton("Stop the search")
        self.stop.setAutoDefault(True)
        self.stop.setToolTip("Go back to the numbers.")
        self.stop.clicked.connect(self._cancel)
        for button in (self.make, self.empty, self.stop):
            button.setMinimumHeight(36)
        self.make.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def _foot(self) -> QWidget:
        foot = QWidget()
        row = QHBoxLayout()
        row.setSpacing(8)
        for part in (self.make, self.empty, self.progress, self.stop):
            row.addWidget(part)
        self.later = SmallLabel("Everything can be changed later.")
        layout = QVBoxLayout(foot)
        layout.setContentsMargins(16, 8, 16, 12)
        layout.setSpacing(6)
        layout.addLayout(row)
        layout.addWidget(self.later)
        return foot

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Make the chassis with Enter, from wherever in the form; Escape ends a search first."""
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self._make_it()
        elif event.key() == Qt.Key.Key_Escape and self._job is not None:
            self._cancel()
        else:
            super().keyPressEvent(event)

    # What is typed ---------------------------------------------------------------------

    def _limits(self, key: str) -> str:
        low, high = LIMITS_MM[key]
        return f"{show_length(low, self.unit, suffix=False)} to {show_length(high, self.unit)}"

    def _parse(self, key: str, text: str) -> float:
        value = parse_length(text, self.unit)
        low, high = LIMITS_MM[key]
        if not low <= value <= high:
            raise UnitError(f"must be {self._limits(key)} (got {show_length(value, self.unit)})")
        return value

    def _ask(self, key: str, value: float) -> bool | str:
        low, high = LIMITS_MM[key]
        if not low <= value <= high:
            return f"must be {self._limits(key)}"
        self._edited[key] = value
        self._follow()
        return True

    def _changed(self, _value: object = None) -> None:
        self._follow()

    def _values(self) -> dict[str, Any]:
        return {
            "name": self.name.text().strip(),
            "wheels": self.wheels.value,
            "single": self.single.currentData(),
            "steered": self.steered.currentData(),
            "middle_in_line": self.in_line.isChecked(),
            "motors": self.motors.currentData(),
            "steer_motors": int(self.steer.value),
            "drive_motors": int(self.drive.value),
            "unit": self.unit,
            **proportions(self.wheels.value, self._edited, self.unit),
        }

    def _follow(self) -> None:
        """Bring fields, picture and words up to what is chosen."""
        self.unit = self.units.value
        values = self._values()
        self._show_rows(values)
        for key, field in self.fields.items():
            field.set_tip(f"{_LENGTHS[key][2]} {self._limits(key)}.")
            field.show_value(values[key])
        for key, entry in self.entries.items():
            if key not in self.fields or not self.fields[key].isModified():
                entry.tell("")
        self._asked_again = None
        self.make.setText(_MAKE)
        try:
            self._request = built(FirstRequest, values)
        except DesignError as error:
            self._request = None
            self._tell_problems(error)
        else:
            shared = self._request.motors == "share"  # found only when it is made: a search takes long
            self._show_found((laid_out if shared else first_chassis)(self._request), self._request)
        self._show_busy()

    def _show_rows(self, values: dict[str, Any]) -> None:
        """Show what the choices leave to say."""
        self._layout.setRowVisible(self.single, values["wheels"] % 2 == 1)
        shared = values["motors"] == "share"
        self._layout.setRowVisible(self._share, shared)
        if not shared:
            self.steer.give_up()
            self.drive.give_up()
        inner = values["wheels"] > 4
        self.in_line.setEnabled(inner)
        tip = _IN_LINE if inner else _NO_MIDDLE
        self.in_line.setToolTip(tip)

    def _tell_problems(self, error: DesignError) -> None:
        lines = []
        for problem in error.problems:
            if problem.place in self.entries:
                self.entries[problem.place].tell(problem.rule)
            name = _LENGTHS.get(problem.place, (problem.place.capitalize(),))[0]
            lines.append(f"{name} {problem.rule} (got {problem.value}).")
        self._say("bad", lines[0], tuple(lines[1:]))

    def _show_found(self, found: FirstChassis, request: FirstRequest) -> None:
        self.found = found
        tone: Tone = "bad" if found.reason else "busy" if unsearched(found, request) else "good"
        self._say(tone, lengths_in(headline(found, request), request.unit), found.told)

    def _say(self, tone: Tone, text: str, notes: tuple[str, ...] = ()) -> None:
        self.said, self.notes = (tone, text), notes
        self.shown.emit()

    # Making it -------------------------------------------------------------------------

    def _cancel(self) -> None:
        if self._job is not None:
            self._job.cancel()
            self._say("busy", "Stopping the search …", self.notes)

    def _refused(self) -> NumberField | None:
        held = (*self.counts, *self.fields.values())
        told = (key for key in self.fields if self.entries[key].refused)
        refused = next((field for field in held if field.refused), None)
        return refused or next((self.fields[key] for key in told), None)

    def _make_it(self) -> None:
        """Make the chassis; one that is not aligned is shown with the reason first."""
        take_typed(self.window())
        request = self._request
        refused = self._refused()
        if refused is not None and request is not None:
            refused.setFocus()
            if not refused.isModified():  # what was refused is gone: once is enough to see it
                next(entry for key, entry in self.entries.items() if self.fields.get(key) is refused).tell("")
            return
        if request is None or self._job is not None:
            return
        if request == self._asked_again:
            self._finish()
        elif request.motors == "share":
            self._search(request)
        else:
            self._take(request, self.found)

    def _search(self, request: FirstRequest) -> None:
        from app.jobs import Job  # late: most forms are made without a search

        job = Job(lambda progress: first_chassis(request, progress), self)
        job.progressed.connect(lambda share: self.progress.setValue(round(100 * share)))
        job.ended.connect(self._ended)
        job.done.connect(lambda found: self._take(request, found))
        job.failed.connect(lambda why: self._say("bad", why))
        job.cancelled.connect(lambda: self._say("busy", "The search was stopped."))
        self._job = job
        self._say("busy", "Searching for the best sharing …", self.notes)
        self._show_busy()
        self.stop.setFocus()
        job.start()

    def _ended(self) -> None:
        if self._job is not None:
            self._job.deleteLater()
        self._job = None
        held = self.isAncestorOf(self.window().focusWidget())
        self._show_busy()
        if held:
            self.make.setFocus()

    def _take(self, request: FirstRequest, found: FirstChassis) -> None:
        self.found = found
        if not found.reason:
            self._finish()
            return
        self._asked_again = request
        self._show_found(found, request)
        self.make.setText(_MAKE_ANYWAY)
        self.make.setFocus()

    def _finish(self) -> None:
        self.made.emit(Made(self.found.design, self.unit))

    def _show_busy(self) -> None:
        busy = self._job is not None
        if not busy:
            self.progress.setValue(0)
        self.progress.setVisible(busy)
        self.stop.setVisible(busy)
        self.make.setVisible(not busy)
        self.empty.setVisible(not busy)
        self.area.setEnabled(not busy)
        self.make.setEnabled(self._request is not None and not busy)

    def begin(self, unit: LengthUnit) -> None:
        """Take lengths in the window's unit, and put the keyboard on the name, selected."""
        self.units.choose(unit)
        self._follow()  # nothing of a search that was left
        self.name.setFocus()
        self.name.selectAll()

    def leave(self) -> None:
        """Leave no search behind."""
        if self._job is not None:
            self._job.stop()
            self._job.deleteLater()
            self._job = None
            self._follow()


def _count(name: str, value: int, tip: str, *, least: int = 1) -> CountField:
    box = CountField(name, value, least, MOST_WHEELS, tip)
    box.setFixedWidth(_COUNT_WIDTH)
    return box


def _choices(name: str, tip: str, words: dict[Any, str]) -> QComboBox:
    box = choice(name, tip)
    for key, word in words.items():
        box.addItem(word, key)
    return box
