"""The import of a body outline and of openings from a drawing: choose, see, take."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import (
    QCheckBox,
    QDialog,
    QDialogButtonBox,
    QFormLayout,
    QHBoxLayout,
    QListWidget,
    QListWidgetItem,
    QPlainTextEdit,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from app.design.outline_edits import (
    NO_SHIFT,
    Shift,
    corners_of,
    shift_to_origin,
    shift_to_wheels,
    take_drawing,
    upright_rectangle,
)
from app.design.outline_files.drawing import (
    CHORD_MM,
    DRAWING_UNITS,
    FORWARDS,
    JOIN_MM,
    LEAST_CHORD_MM,
    LEAST_SCALE,
    MOST_CHORD_MM,
    MOST_JOIN_MM,
    MOST_SCALE,
    Circle,
    Drawing,
    Shape,
    Sketch,
)
from app.design.outline_files.laying import laid_out
from app.design.outline_files.reading import read_sketch
from app.dialogs import questions
from app.dialogs.entries import Entry
from app.dialogs.fitting import lay_out
from app.dialogs.outline_picture import OutlinePicture, Pictured
from app.panels.form import choice
from app.panels.number_field import NumberField
from app.plain import plain_label, plain_tip
from app.theme import current_theme
from app.units import LengthUnit, UnitError, parse_length, parse_sum, show_length, show_number
from geometry.errors import AxlewrightError, DesignError
from geometry.model.design import Design

if TYPE_CHECKING:
    from app.jobs import Job

_COLUMN = 372
_MOST_SHAPES = 60
_LINES = 4
_FARTHEST_MM = 1e6
_FORWARD_WORDS = {
    "up": "Up in the drawing",
    "right": "Right in the drawing",
    "down": "Down in the drawing",
    "left": "Left in the drawing",
}
_UNIT_WORDS = {"px": "px, 96 to an inch"}
_PLACES = {
    "wheels": (
        "Its middle at the middle of the wheels",
        "The middles of the boxes around outline and wheels.",
    ),
    "drawn": ("As drawn", "The origin of the drawing is the origin of the chassis."),
    "point": ("A point of it at the origin", "Type the point, or click a corner or a centre in the picture."),
}


@dataclass(frozen=True)
class Taken:
    """What the person takes from a drawing."""

    name: str
    """Of the file."""
    body: Shape | None
    holes: tuple[Shape, ...]
    shift: Shift

    def into(self, design: Design) -> Design:
        """The design with it.

        Raises
        ------
        DesignError
            If a rule of the design refuses it.
        """
        return take_drawing(design, self.body, self.holes, self.shift)


class OutlineImportDialog(QDialog):
    """Left what is asked, right the picture; the buttons stay in sight."""

    def __init__(self, parent: QWidget | None, design: Design, path: Path, unit: LengthUnit = "mm") -> None:
        super().__init__(parent)
        self.setWindowTitle("Import an outline")
        self._design, self._unit = design, unit
        self._sketch: Sketch | None = None
        self._drawing: Drawing | None = None
        self._job: Job | None = None
        self._scale, self._chord, self._join = 1.0, CHORD_MM, JOIN_MM
        self._point: Shift = NO_SHIFT
        self._shapes: tuple[Shape, ...] = ()
        self.taken: Taken | None = None
        self.picture = OutlinePicture(design)
        self.picture.picked.connect(self._pick)
        self._make_file()
        self._make_numbers()
        self._make_choices()
        self._lay_out()
        self.read(path)

    # Its parts -------------------------------------------------------------------------

    def _make_file(self) -> None:
        self.file_name = plain_label()
        self.file_name.setWordWrap(True)
        self.other = QPushButton("Choose &file…")
        self.other.setToolTip("Choose another drawing, DXF or SVG.")
        self.other.setAutoDefault(False)
        self.other.clicked.connect(self._choose_file)
        self.told = QPlainTextEdit()
        self.told.setReadOnly(True)
        self.told.setTabChangesFocus(True)
        self.told.setAccessibleName("What was left out, joined or not stated")
        self.told.setToolTip("What the drawing holds beside closed outlines and circles.")
        self.told.setFixedHeight(self.fontMetrics().lineSpacing() * _LINES + 12)

    def _make_numbers(self) -> None:
        self.unit = choice("Unit", "What one unit of the drawing is; as a rule the file states it.")
        self.unit.addItem("As the file states", None)
        for key in DRAWING_UNITS:
            self.unit.addItem(_UNIT_WORDS.get(key, key), key)
        self.unit.currentIndexChanged.connect(lambda _i: self._lay())
        self.scale = NumberField(
            "Scale",
            parse=_parse_scale,
            show=lambda value: show_number(value, 6),
            ask=self._ask_scale,
            step=0.1,
            tip=f"Enlarges the drawing; 1 leaves it. {LEAST_SCALE:g} to {MOST_SCALE:,.0f}.",
        )
        self.chord = self._length_field(
            "Chord error",
            self._ask_chord,
            f"Curves become straight pieces that are off by no more than this. "
            f"{self._shown(LEAST_CHORD_MM)} to {self._shown(MOST_CHORD_MM)}.",
            0.01,
        )
        self.join = self._length_field(
            "Join gaps up to",
            self._ask_join,
            f"Ends of paths that are no further apart are joined. 0 to {self._shown(MOST_JOIN_MM)}.",
            0.1,
        )
        self.point_x = self._length_field(
            "Point of the drawing, x", lambda mm: self._ask_point(0, mm), _PLACES["point"][1], 1.0
        )
        self.point_y = self._length_field(
            "Point of the drawing, y", lambda mm: self._ask_point(1, mm), _PLACES["point"][1], 1.0
        )
        for box, value in (
            (self.scale, 1.0),
            (self.chord, CHORD_MM),
            (self.join, JOIN_MM),
            (self.point_x, 0.0),
            (self.point_y, 0.0),
        ):
            box.show_value(value)

    def _length_field(self, name: str, ask: Callable[[float], bool], tip: str, step_mm: float) -> NumberField:
        unit = self._unit
        return NumberField(
            name,
            parse=lambda text: parse_length(text, unit),
            show=lambda mm: show_length(mm, unit, of_mm=3, suffix=False),
            ask=ask,
            step=step_mm,
            tip=tip,
        )

    def _shown(self, mm: float) -> str:
        return show_length(mm, self._unit, of_mm=3)

    def _make_choices(self) -> None:
        self.forward = choice("Forward", "Which direction of the drawing is forward on the chassis.")
        for key in FORWARDS:
            self.forward.addItem(_FORWARD_WORDS[key], key)
        self.forward.currentIndexChanged.connect(lambda _i: self._lay())
        self.layers = QListWidget()
        self.layers.setAccessibleName("Layers")
        self.layers.setToolTip(
            "Only what is on ticked layers is shown and taken. Space ticks the current one."
        )
        self.layers.setFixedHeight(self.fontMetrics().lineSpacing() * 4 + 10)
        self.layers.itemChanged.connect(lambda _item: self._show_shapes())
        self.outline = choice(
            "Outline", "Closed outlines and circles of the ticked layers, the largest first."
        )
        self.outline.currentIndexChanged.connect(lambda _i: self._follow())
        self.place = choice("Place", "Where the drawing comes to lie on the chassis.")
        for place, (words, tip) in _PLACES.items():
            if place != "wheels" or self._design.wheels:
                self.place.addItem(words, place)
                self.place.setItemData(self.place.count() - 1, tip, Qt.ItemDataRole.ToolTipRole)
        self.place.currentIndexChanged.connect(lambda _i: self._follow())
        self.as_body = QCheckBox("Take as &body outline")
        self.as_body.setToolTip("The chosen outline replaces that of the body; 200 corners at most are kept.")
        self.circles = QCheckBox("Take &circles as openings")
        self.circles.setToolTip("Every other circle of the ticked layers becomes an opening in the floor.")
        self.rectangles = QCheckBox("Take &rectangles as openings")
        self.rectangles.setToolTip("So does every other rectangle along the axes of the chassis.")
        self.as_body.setChecked(True)
        for box in (self.as_body, self.circles, self.rectangles):
            box.toggled.connect(lambda _on: self._follow())

    def _lay_out(self) -> None:
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Cancel)
        self.take = buttons.addButton("Take", QDialogButtonBox.ButtonRole.AcceptRole)
        self.take.setToolTip("Change the chassis; one undo takes it back.")
        buttons.accepted.connect(self.accept)
        buttons.rejected.connect(self.reject)
        suffix = "mm" if self._unit == "mm" else "in"
        form = QFormLayout()
        form.setContentsMargins(0, 0, 0, 0)
        form.setVerticalSpacing(4)
        form.addRow("File", Entry(self.file_name, self.other, wide=True))
        form.addRow("Unit", self.unit)
        form.addRow("Scale", Entry(self.scale))
        form.addRow("Forward", self.forward)
        form.addRow("Layers", self.layers)
        form.addRow("Outline", self.outline)
        form.addRow("Place", self.place)
        self._point_row = Entry(self.point_x, self.point_y, unit=suffix)
        form.addRow("Point x, y", self._point_row)
        form.addRow("Chord error", Entry(self.chord, unit=suffix))
        form.addRow("Join gaps up to", Entry(self.join, unit=suffix))
        self._form = form
        left = QWidget()
        left.setFixedWidth(_COLUMN)
        column = QVBoxLayout(left)
        column.setContentsMargins(0, 0, 0, 0)
        column.addLayout(form)
        for box in (self.as_body, self.circles, self.rectangles):
            column.addWidget(box)
        column.addStretch(1)
        self.line = plain_label()
        self.line.setWordWrap(True)
        self.line.setAccessibleName("What is taken")
        right = QVBoxLayout()
        right.addWidget(self.picture, 1)
        right.addWidget(self.line)
        right.addWidget(self.told)
        content = QWidget()
        both = QHBoxLayout(content)
        both.setContentsMargins(0, 0, 0, 0)
        both.addWidget(left)
        both.addLayout(right, 1)
        lay_out(self, content, buttons, QSize(980, 620))

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Let Enter finish a field; only a press of a button acts."""
        enter = event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter)
        if not enter or isinstance(self.focusWidget(), QPushButton):
            super().keyPressEvent(event)

    # The file --------------------------------------------------------------------------

    def _choose_file(self) -> None:
        path = questions.ask_drawing(self, str(self._path.absolute().parent))
        if path is not None:
            self.read(path)

    def read(self, path: Path) -> None:
        """Read a drawing; the window stays usable meanwhile."""
        from app.jobs import Job  # late: as other dialogs have it

        if self._job is not None:
            return
        self._path = path
        self._sketch = self._drawing = None
        self.file_name.setText(path.name)
        self.file_name.setToolTip(plain_tip(str(path)))
        self._say("Reading the drawing …")
        self.told.setPlainText("")
        self._show_layers()
        job = Job(lambda _progress: read_sketch(path), self)
        job.ended.connect(self._ended)
        job.done.connect(self._take_sketch)
        job.failed.connect(self._say_bad)
        self._job = job
        self.other.setEnabled(False)
        self._show_shapes()
        job.start()

    def _ended(self) -> None:
        if self._job is not None:
            self._job.deleteLater()
        self._job = None
        self.other.setEnabled(True)

    def done(self, result: int) -> None:
        """Leave no reading behind."""
        if self._job is not None:
            self._job.stop()
            self._job = None
        super().done(result)

    def _take_sketch(self, sketch: Sketch) -> None:
        self._sketch = sketch
        stated = (
            f"As the file states: {sketch.unit}" if sketch.unit else f"Not stated; {self._taken_for(sketch)}"
        )
        self.unit.setItemText(0, stated)
        self._lay()
        self.circles.setChecked(
            self._drawing is not None and len(self._drawing.circles) > (not self._drawing.outlines)
        )

    @staticmethod
    def _taken_for(sketch: Sketch) -> str:
        return "taken for mm" if sketch.mm_per_unit == 1.0 else "taken for px, 96 to an inch"

    # What is asked ---------------------------------------------------------------------

    def _ask_scale(self, value: float) -> bool:
        if not LEAST_SCALE <= value <= MOST_SCALE:
            return False
        self._scale = value
        self.scale.show_value(value)
        self._lay()
        return True

    def _ask_chord(self, mm: float) -> bool:
        if not LEAST_CHORD_MM <= mm <= MOST_CHORD_MM:
            return False
        self._chord = mm
        self.chord.show_value(mm)
        self._lay()
        return True

    def _ask_join(self, mm: float) -> bool:
        if not 0.0 <= mm <= MOST_JOIN_MM:
            return False
        self._join = mm
        self.join.show_value(mm)
        self._lay()
        return True

    def _ask_point(self, axis: int, mm: float) -> bool:
        if not abs(mm) <= _FARTHEST_MM:
            return False
        x, y = self._point
        self._pick(*((mm, y) if axis == 0 else (x, mm)))
        return True

    def _pick(self, x: float, y: float) -> None:
        """Make a point of the drawing the origin."""
        self._point = x, y
        self.point_x.show_value(x)
        self.point_y.show_value(y)
        self.place.setCurrentIndex(self.place.findData("point"))
        self._follow()

    # What comes of it ------------------------------------------------------------------

    def _lay(self) -> None:
        """Lay the sketch on the chassis anew."""
        if self._sketch is None:
            return
        why = ""
        try:
            self._drawing = laid_out(
                self._sketch,
                self._chord,
                unit=self.unit.currentData(),
                scale=self._scale,
                forward=self.forward.currentData(),
                join_mm=self._join,
            )
        except AxlewrightError as error:
            self._drawing, why = None, str(error)
        self._show_layers()
        self._show_shapes()
        if why:
            self._say_bad(why)

    def _show_layers(self) -> None:
        names = self._drawing.layers if self._drawing is not None else ()
        rows = [self.layers.item(i) for i in range(self.layers.count())]
        if list(names) == [row.text() for row in rows]:
            return
        off = {row.text() for row in rows if row.checkState() == Qt.CheckState.Unchecked}
        self.layers.blockSignals(True)  # noqa: FBT003
        self.layers.clear()
        for name in names:
            row = QListWidgetItem(name)
            row.setToolTip(plain_tip(name))
            row.setFlags(
                Qt.ItemFlag.ItemIsUserCheckable | Qt.ItemFlag.ItemIsEnabled | Qt.ItemFlag.ItemIsSelectable
            )
            row.setCheckState(Qt.CheckState.Unchecked if name in off else Qt.CheckState.Checked)
            self.layers.addItem(row)
        self.layers.blockSignals(False)  # noqa: FBT003

    @property
    def working(self) -> bool:
        """Whether a drawing is being read."""
        return self._job is not None

    @property
    def ticked(self) -> frozenset[str]:
        """Names of the layers that are ticked."""
        rows = (self.layers.item(i) for i in range(self.layers.count()))
        return frozenset(row.text() for row in rows if row.checkState() == Qt.CheckState.Checked)

    @property
    def shown(self) -> Drawing | None:
        """What is on ticked layers."""
        return None if self._drawing is None else self._drawing.only(self.ticked)

    def _show_shapes(self) -> None:
        shown = self.shown
        self._shapes = () if shown is None else shown.shapes[:_MOST_SHAPES]
        before = max(self.outline.currentIndex(), 0)
        self.outline.blockSignals(True)  # noqa: FBT003
        self.outline.clear()
        self.outline.addItems([self._shape_words(shape) for shape in self._shapes])
        self.outline.setCurrentIndex(min(before, len(self._shapes) - 1))
        self.outline.blockSignals(False)  # noqa: FBT003
        self._follow()

    def _shape_words(self, shape: Shape) -> str:
        if isinstance(shape, Circle):
            return f"Circle of {show_length(shape.diameter, self._unit)}, {shape.layer}"
        low_x, low_y, high_x, high_y = shape.bounds
        long, wide = high_x - low_x, high_y - low_y
        return (
            f"{show_length(long, self._unit, suffix=False)} × {show_length(wide, self._unit)}, {shape.layer}"
        )

    def _body(self) -> Shape | None:
        index = self.outline.currentIndex()
        return self._shapes[index] if 0 <= index < len(self._shapes) else None

    def _holes(self) -> tuple[Shape, ...]:
        shown, body = self.shown, self._body() if self.as_body.isChecked() else None
        if shown is None:
            return ()
        circles = shown.circles if self.circles.isChecked() else ()
        boxes = (
            [one for one in shown.outlines if upright_rectangle(one)] if self.rectangles.isChecked() else ()
        )
        return tuple(shape for shape in (*circles, *boxes) if shape is not body)

    def _shift(self) -> Shift:
        place, anchor = self.place.currentData(), self._body()
        if place == "point":
            return shift_to_origin(*self._point)
        return shift_to_wheels(self._design, anchor) if place == "wheels" and anchor is not None else NO_SHIFT

    def _follow(self) -> None:
        """Show what would be taken, and whether it can."""
        self._form.setRowVisible(self._point_row, self.place.currentData() == "point")
        body = self._body() if self.as_body.isChecked() else None
        shown, holes, shift = self.shown, self._holes(), self._shift()
        self.picture.show_drawing(Pictured(shown, body, holes, shift))
        self.taken = None
        self.take.setEnabled(False)
        if shown is None:
            return
        self.told.setPlainText("\n".join(shown.told()) or "Nothing was left out.")
        taken = Taken(shown.name, body, holes, shift)
        try:
            taken.into(self._design)
        except DesignError as error:
            self._say_bad(str(error))
            return
        if body is None and not holes:
            self._say("Tick what is to be taken.")
            return
        self.taken = taken
        self.take.setEnabled(True)
        self._say(self._taken_words(body, holes))

    def _taken_words(self, body: Shape | None, holes: tuple[Shape, ...]) -> str:
        parts = []
        if body is not None:
            found = corners_of(body)
            lost = found.error_mm + (0.0 if isinstance(body, Circle) else self._chord + 0.5 * body.gap_mm)
            parts.append(
                f"a body of {len(found.points)} corners, at most {self._shown(lost)} off the drawing"
            )
        if holes:
            parts.append(
                "1 opening in the floor" if len(holes) == 1 else f"{len(holes)} openings in the floor"
            )
        return f"This makes {', and '.join(parts)}."

    def _say(self, text: str) -> None:
        self.line.setStyleSheet("")
        self.line.setText(text)

    def _say_bad(self, text: str) -> None:
        self.line.setStyleSheet(f"color: {current_theme().bad};")
        first, _, rest = text.partition("\n")
        self.line.setText(f"✗ {first}")
        if rest:
            self.told.setPlainText(rest)


def _parse_scale(text: str) -> float:
    value = parse_sum(text)
    if not LEAST_SCALE <= value <= MOST_SCALE:
        raise UnitError(f"must be from {LEAST_SCALE:g} to {MOST_SCALE:g} (got {value:g})")
    return value


def ask_outline(parent: QWidget, design: Design, path: Path, unit: LengthUnit = "mm") -> Taken | None:
    """Show the import of a drawing; None where the person gave up."""
    dialog = OutlineImportDialog(parent, design, path, unit)
    accepted = dialog.exec() == QDialog.DialogCode.Accepted
    result = dialog.taken if accepted else None
    dialog.deleteLater()
    return result
