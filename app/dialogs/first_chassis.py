"""A new chassis from a few numbers: a form, a picture that follows it, and what must be said about it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, Any

from PySide6.QtWidgets import (
    QCheckBox,
    QComboBox,
    QDialog,
    QDialogButtonBox,
    QFormLayout,
    QHBoxLayout,
    QLineEdit,
    QPlainTextEdit,
    QProgressBar,
    QPushButton,
    QSpinBox,
    QVBoxLayout,
    QWidget,
)

from app.design.facts import Facts
from app.design.first_chassis import (
    FEWEST_WHEELS,
    LIMITS_MM,
    MOST_WHEELS,
    FirstChassis,
    FirstRequest,
    first_chassis,
    laid_out,
    proportions,
)
from app.dialogs.entries import Entry
from app.document import FIRST_TURN
from app.panels.form import choice, scrolled, set_choice
from app.panels.number_field import NumberField
from app.picture.view import Command, View
from app.plain import plain_label
from app.units import LENGTH_UNITS, LengthUnit, UnitError, parse_length, show_length
from app.views.still import StillPlan
from geometry.errors import DesignError
from geometry.model.design import Design
from geometry.model.frozen import built

if TYPE_CHECKING:
    from app.jobs import Job

_LENGTHS = {
    "wheelbase_mm": ("Wheelbase", "From the first axle to the last."),
    "track_mm": ("Track", "Between the middles of the left and the right wheels."),
    "diameter_mm": ("Wheel diameter", "Rolling diameter of every wheel."),
    "width_mm": ("Wheel width", "Tyre width of every wheel."),
    "body_length_mm": ("Body length", "Length of the body; 0: no body."),
    "body_width_mm": ("Body width", "Width of the body; 0: no body."),
    "hole_pitch_mm": ("Hole pitch", "Pitch of the hole pattern on which the wheels stand; 0: none."),
}
_STEERED = {
    "front and rear": "Front and rear",
    "front": "Front",
    "rear": "Rear",
    "all": "All wheels",
}
_ENDS = {"front": "In front", "rear": "At the rear"}
_MOTORS = {"none": "None", "each": "One for each wheel", "share": "Share"}
_UNITS: dict[LengthUnit, str] = {"mm": "Millimetres", "inch": "Inches"}
_MAKE, _MAKE_ANYWAY = "&Make this chassis", "&Make it all the same"
_FORM_WIDTH = 392
_LINES = 5


@dataclass(frozen=True)
class Made:
    """A chassis, and the unit in which the person gave its lengths."""

    design: Design
    unit: LengthUnit


class FirstChassisDialog(QDialog):
    """The form on the left, the picture on the right, what must be said below, the buttons in sight."""

    def __init__(self, parent: QWidget | None, unit: LengthUnit) -> None:
        super().__init__(parent)
        self.setWindowTitle("New from numbers")
        self.unit: LengthUnit = unit
        self._edited: dict[str, float] = {}
        self._request: FirstRequest | None = FirstRequest()
        self._found: FirstChassis = laid_out(FirstRequest())
        self._asked_again: FirstRequest | None = None
        self._job: Job | None = None
        self.made: Design | None = None
        self.fields: dict[str, NumberField] = {}
        self.entries: dict[str, Entry] = {}
        self._make_choices()
        self._make_lengths()
        self.picture = StillPlan(_view(self._found))
        self.told = QPlainTextEdit()
        self.told.setReadOnly(True)
        self.told.setTabChangesFocus(True)
        self.told.setAccessibleName("What becomes of these numbers")
        self.told.setFixedHeight(self.fontMetrics().lineSpacing() * _LINES + 12)
        self._make_buttons()
        self.form = scrolled(self._form())
        self.form.setFixedWidth(_FORM_WIDTH)
        middle = QHBoxLayout()
        middle.addWidget(self.form)
        middle.addWidget(self.picture, 1)
        below = QHBoxLayout()
        below.addWidget(self.progress, 1)
        below.addWidget(self.stop)
        below.addWidget(self.buttons, 1)
        layout = QVBoxLayout(self)
        layout.addLayout(middle, 1)
        layout.addWidget(self.told)
        layout.addLayout(below)
        self._fit_screen()
        # Only within the dialog does a button become the one for Enter.
        self.buttons.button(QDialogButtonBox.StandardButton.Cancel).setAutoDefault(False)
        self.make.setDefault(True)
        self._follow()
        self.name.setFocus()
        self.name.selectAll()

    def _fit_screen(self) -> None:
        room = self.screen().availableSize()
        self.resize(min(980, room.width() - 24), min(680, room.height() - 48))

    # Parts -----------------------------------------------------------------------------

    def _make_choices(self) -> None:
        self.name = QLineEdit(FirstRequest().name)
        self.name.setAccessibleName("Name")
        self.name.setToolTip("Name of the chassis.")
        self.name.textEdited.connect(self._changed)
        self.entries["name"] = Entry(self.name)
        self.wheels = _count("Wheels", FirstRequest().wheels, "How many wheels there are, 3 to 24.")
        self.wheels.setMinimum(FEWEST_WHEELS)
        self.wheels.valueChanged.connect(self._changed)
        self.single = _choices("Single wheel", "Where the one wheel of an odd number stands.", _ENDS)
        self.steered = _choices(
            "Steered", "Which axles steer; others join where axle lines could not meet.", _STEERED
        )
        self.units = _choices("Units", "Unit of numbers that stand alone; the window keeps it.", _UNITS)
        set_choice(self.units, LENGTH_UNITS.index(self.unit))
        self.in_line = QCheckBox("Middle wheels in line")
        self.in_line.setChecked(True)
        self.in_line.setToolTip(
            "Ticked: all wheels of a side stand in line. Else those between the first and the last "
            "axle stand one tyre width further out."
        )
        self.in_line.toggled.connect(self._changed)
        self.motors = _choices(
            "Motors",
            "None: motors come later. Share: the best sharing among so many motors is found.",
            _MOTORS,
        )
        self.steer = _count("Motors to steer", FirstRequest().steer_motors, "How many motors turn wheels.")
        self.drive = _count("Motors to drive", FirstRequest().drive_motors, "How many motors drive wheels.")
        for spin in (self.steer, self.drive):
            spin.valueChanged.connect(self._changed)
        for box in (self.single, self.steered, self.units, self.motors):
            box.currentIndexChanged.connect(self._changed)

    def _make_lengths(self) -> None:
        for key, (name, tip) in _LENGTHS.items():
            field = NumberField(
                name,
                parse=partial(self._parse, key),
                show=lambda value: show_length(value, self.unit),
                ask=partial(self._ask, key),
                step=1.0,
                tip=tip,
            )
            self.fields[key] = field
            self.entries[key] = Entry(field)

    def _form(self) -> QWidget:
        inner = QWidget()
        form = QFormLayout(inner)
        form.setVerticalSpacing(4)
        rows: list[tuple[str, QWidget, QWidget]] = [
            ("Name", self.entries["name"], self.name),
            ("Wheels", self.wheels, self.wheels),
            ("Single wheel", self.single, self.single),
            ("Steered", self.steered, self.steered),
            ("Units", self.units, self.units),
            *((name, self.entries[key], self.fields[key]) for key, (name, _) in _LENGTHS.items()),
            ("", self.in_line, self.in_line),
            ("Motors", self.motors, self.motors),
            ("Motors to steer", self.steer, self.steer),
            ("Motors to drive", self.drive, self.drive),
        ]
        for name, part, buddy in rows:
            label = plain_label(name)
            if name:
                label.setBuddy(buddy)
            form.addRow(label, part)
        return inner

    def _make_buttons(self) -> None:
        self.buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Cancel)
        self.make = self.buttons.addButton(_MAKE, QDialogButtonBox.ButtonRole.AcceptRole)
        self.make.setToolTip("Enter does it too.")
        self.empty = QPushButton("&Empty chassis")
        self.empty.setAutoDefault(False)
        self.empty.setToolTip("Start without wheels.")
        self.buttons.addButton(self.empty, QDialogButtonBox.ButtonRole.ActionRole)
        self.buttons.accepted.connect(self._make_it)
        self.buttons.rejected.connect(self.reject)
        self.empty.clicked.connect(lambda: self._finish(Design()))
        self.progress = QProgressBar()
        self.progress.setAccessibleName("Progress of the search")
        self.progress.setRange(0, 100)
        self.stop = QPushButton("Stop the search")
        self.stop.setAutoDefault(False)
        self.stop.clicked.connect(self._cancel)

    # What is typed ---------------------------------------------------------------------

    def _parse(self, key: str, text: str) -> float:
        value = parse_length(text, self.unit)
        low, high = LIMITS_MM[key]
        if not low <= value <= high:
            limits = f"{show_length(low, self.unit, suffix=False)} to {show_length(high, self.unit)}"
            raise UnitError(f"must be {limits} (got {show_length(value, self.unit)})")
        return value

    def _ask(self, key: str, value: float) -> bool:
        low, high = LIMITS_MM[key]
        if not low <= value <= high:
            return False
        self._edited[key] = value
        self._follow()
        return True

    def _changed(self, _value: object = None) -> None:
        self._follow()

    def _values(self) -> dict[str, Any]:
        return {
            "name": self.name.text().strip(),
            "wheels": self.wheels.value(),
            "single": self.single.currentData(),
            "steered": self.steered.currentData(),
            "middle_in_line": self.in_line.isChecked(),
            "motors": self.motors.currentData(),
            "steer_motors": self.steer.value(),
            "drive_motors": self.drive.value(),
            **proportions(self.wheels.value(), self._edited),
        }

    def _follow(self) -> None:
        """Bring fields, picture and words up to what is chosen."""
        values = self._values()
        unit: LengthUnit = self.units.currentData()
        for key, field in self.fields.items():
            self.unit = unit
            field.show_value(values[key])
        self.single.setEnabled(values["wheels"] % 2 == 1)
        self.in_line.setEnabled(values["wheels"] > 4)
        for spin in (self.steer, self.drive):
            spin.setEnabled(values["motors"] == "share")
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
            return
        self._found = laid_out(self._request)
        self.picture.show_view(_view(self._found), self.unit)
        self._tell_found(self._found)
        self._show_busy()

    def _tell_problems(self, error: DesignError) -> None:
        lines = []
        for problem in error.problems:
            if problem.place in self.entries:
                self.entries[problem.place].tell(problem.rule)
            name = _LENGTHS.get(problem.place, (problem.place.capitalize(), ""))[0]
            lines.append(f"✗ {name} {problem.rule} (got {problem.value}); lengths in mm.")
        self.told.setPlainText("\n".join(lines))
        self._show_busy()

    def _tell_found(self, found: FirstChassis) -> None:
        largest = found.design.largest_turn
        head = f"▲ {found.reason}" if found.reason else f"✓ Aligned at every turn up to {largest:g}."
        self.told.setPlainText("\n".join([head, *found.told]))

    # Making it -------------------------------------------------------------------------

    def _cancel(self) -> None:
        if self._job is not None:
            self._job.cancel()
            self.stop.setEnabled(False)

    def _refused(self) -> str | None:
        return next((key for key in self.fields if self.entries[key].refused), None)

    def _make_it(self) -> None:
        """Make the chassis; one that is not aligned is shown with the reason first."""
        request = self._request
        refused = self._refused()
        if refused is not None and request is not None:
            self.fields[refused].setFocus()
            if not self.fields[refused].isModified():  # what was refused is gone: once is enough to see it
                self.entries[refused].tell("")
            return
        if request is None or self._job is not None:
            return
        if request == self._asked_again:
            self._finish(self._found.design)
        elif request.motors == "share":
            self._search(request)
        else:
            self._take(request, first_chassis(request))

    def _search(self, request: FirstRequest) -> None:
        from app.jobs import Job  # late: most forms are made without a search

        job = Job(lambda progress: first_chassis(request, progress), self)
        job.progressed.connect(lambda share: self.progress.setValue(round(100 * share)))
        job.ended.connect(self._ended)
        job.done.connect(lambda found: self._take(request, found))
        job.failed.connect(self.told.setPlainText)
        job.cancelled.connect(lambda: self.told.setPlainText("The search was stopped."))
        self._job = job
        self.told.setPlainText("Searching for the best sharing …")
        self._show_busy()
        job.start()

    def _ended(self) -> None:
        if self._job is not None:
            self._job.deleteLater()
        self._job = None
        self._show_busy()

    def _take(self, request: FirstRequest, found: FirstChassis) -> None:
        if not found.reason:
            self._finish(found.design)
            return
        self._found, self._asked_again = found, request
        self.picture.show_view(_view(found), self.unit)
        self._tell_found(found)
        self.make.setText(_MAKE_ANYWAY)
        self.make.setFocus()

    def _finish(self, design: Design) -> None:
        self.made = design
        self.accept()

    def _show_busy(self) -> None:
        busy = self._job is not None
        if not busy:
            self.progress.setValue(0)
        self.progress.setVisible(busy)
        self.stop.setVisible(busy)
        self.stop.setEnabled(busy)
        self.form.setEnabled(not busy)
        self.make.setEnabled(self._request is not None and not busy)

    def done(self, result: int) -> None:
        """Leave no search behind."""
        if self._job is not None:
            self._job.stop()
            self._job = None
        super().done(result)


def _view(found: FirstChassis) -> View:
    """The picture in a gentle left turn, as the window opens."""
    return View(Facts(found.design), Command(turn=min(FIRST_TURN, found.design.largest_turn)))


def _count(name: str, value: int, tip: str) -> QSpinBox:
    box = QSpinBox()
    box.setRange(1, MOST_WHEELS)
    box.setValue(value)
    box.setAccessibleName(name)
    box.setToolTip(tip)
    return box


def _choices(name: str, tip: str, words: dict[Any, str]) -> QComboBox:
    box = choice(name, tip)
    for key, word in words.items():
        box.addItem(word, key)
    return box


def ask_first_chassis(parent: QWidget, unit: LengthUnit) -> Made | None:
    """Show the form; None where the person wants no new chassis."""
    dialog = FirstChassisDialog(parent, unit)
    dialog.exec()
    made = None if dialog.made is None else Made(dialog.made, dialog.unit)
    dialog.deleteLater()
    return made
