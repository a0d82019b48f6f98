"""Scripts of moves: which one is played, its moves as a table, and the numbers of the one that is chosen."""

from __future__ import annotations

from typing import Any

from PySide6.QtWidgets import (
    QAbstractItemView,
    QComboBox,
    QFormLayout,
    QGridLayout,
    QHeaderView,
    QPushButton,
    QTableWidget,
    QTableWidgetItem,
    QVBoxLayout,
    QWidget,
)

from app.design import driving_edits
from app.document import Document
from app.drive_session import session_of
from app.panels.form import (
    ANGLE,
    LENGTH,
    NUMBER,
    FieldMaker,
    Measure,
    add_row,
    add_with_reason,
    choice,
    enable_copy,
    name_field,
    set_choice,
    show_field,
)
from app.panels.panel import Panel
from app.picture.view import View
from app.plain import plain_label
from app.theme import table_palette
from app.units import LengthUnit, show_length, show_number
from geometry.model.driving import OF_WAY, UNTILS, WAYS, Move, Script

_WAY_WORDS = {
    "turn": "Turn input",
    "radius": "Turn radius",
    "speeds": "Side speeds",
    "stick": "One stick",
}
_UNTIL_WORDS = {"time": "Time, s", "distance": "Distance", "heading": "Heading, degrees"}
_NUMBERS = (
    (NUMBER, "turn", "Move's turn", "-1 on the spot to the right, 0 straight, 1 on the spot to the left."),
    (
        LENGTH,
        "radius_mm",
        "Move's radius",
        "Turn radius, positive to the left, not 0. -10 000 000 to 10 000 000 mm.",
    ),
    (NUMBER, "speed", "Move's speed", "Of the faster side, as a share of full. -1 to 1, below 0 backward."),
    (NUMBER, "left", "Move's left", "Speed of the left side, as a share of full. -1 to 1."),
    (NUMBER, "right", "Move's right", "Speed of the right side, as a share of full. -1 to 1."),
    (NUMBER, "throttle", "Move's throttle", "Of the stick, as a share of full. -1 to 1, below 0 backward."),
)
_HEADS = ("Drives by", "Speed", "Until")
_ROW, _MOST_ROWS = 24, 8


class ScriptPanel(Panel):
    """The scripts of the chassis; the chosen one is what Play plays."""

    def __init__(self, document: Document) -> None:
        super().__init__(document)
        self._session = session_of(document)
        self._maker = FieldMaker(document)
        self._unit: LengthUnit = "mm"
        self._showing = False
        self.which = choice("Script", "The script that Play plays.")
        self.which.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
        self.which.activated.connect(lambda i: self._session.choose(script=self.which.itemText(i)))
        self.name = name_field(
            document, "Script's name", "Name, unique among the scripts; up to 40 characters.", self._rename
        )
        self.table = QTableWidget(0, len(_HEADS))
        self.table.setHorizontalHeaderLabels(list(_HEADS))
        self.table.setAccessibleName("Moves")
        self.table.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.table.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.table.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.table.setTabKeyNavigation(False)
        self.table.verticalHeader().setDefaultSectionSize(_ROW)
        self.table.verticalHeader().hide()
        self.table.setPalette(table_palette())
        self.table.horizontalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Stretch)
        self.table.itemSelectionChanged.connect(self._chosen_changed)
        enable_copy(self.table)
        self.by = choice("Drives by", "What says how the move drives.")
        for way in WAYS:
            self.by.addItem(_WAY_WORDS[way], way)
        self.by.activated.connect(lambda i: self._ask("by", WAYS[i]))
        self.until = choice("Until", "What ends the move.")
        for until in UNTILS:
            self.until.addItem(_UNTIL_WORDS[until], until)
        self.until.activated.connect(lambda i: self._ask("until", UNTILS[i]))
        self.fields = {
            key: self._maker.make(measure, name, tip, lambda v, k=key: self._ask(k, v))  # type: ignore[misc]
            for measure, key, name, tip in _NUMBERS
        }
        self.amount = self._maker.make(
            self._of_until(),
            "Amount",
            "How long it takes in seconds, how far it goes, or how many degrees it turns. Above 0.",
            lambda v: self._ask("amount", v),
        )
        self.none = plain_label("No script yet. Press Drive and keep what you drove, or add one.")
        self.none.setWordWrap(True)
        self._buttons()
        self._lay_out()
        self._session.state_changed.connect(self.refresh)
        self.show_view(document.view)

    def _of_until(self) -> Measure:
        """Seconds, a length or an angle: by what ends the move that is shown."""
        measures = {"time": NUMBER, "distance": LENGTH, "heading": ANGLE}

        def parsed(text: str, unit: LengthUnit) -> float:
            return measures[self.until.currentData()].parse(text, unit)

        def shown(value: float, unit: LengthUnit) -> str:
            return measures[self.until.currentData()].show(value, unit)

        return Measure(parsed, shown, NUMBER.step)

    def _buttons(self) -> None:
        self.add = QPushButton("Add script")
        self.add.setToolTip("Add a script with one move, straight ahead.")
        self.add.clicked.connect(self._add)
        self.copy = QPushButton("Copy script")
        self.copy.setToolTip("Add a copy of this script.")
        self.copy.clicked.connect(
            lambda: self._edit("Copy script", driving_edits.duplicate_script, last=True)
        )
        self.remove = QPushButton("Delete script")
        self.remove.setToolTip("Delete this script with all its moves.")
        self.remove.clicked.connect(lambda: self._edit("Delete script", driving_edits.delete_script))
        self.add_move = QPushButton("Add move")
        self.add_move.setToolTip("Add a move after the chosen one, like it.")
        self.add_move.clicked.connect(self._add_move)
        self.up = QPushButton("Move up")
        self.up.setToolTip("Drive the chosen move earlier.")
        self.up.clicked.connect(lambda: self._shift(-1))
        self.remove_move = QPushButton("Delete move")
        self.remove_move.setToolTip("Delete the chosen move.")
        self.remove_move.clicked.connect(self._remove_move)

    def _lay_out(self) -> None:
        top, below = QGridLayout(), QGridLayout()
        for n, button in enumerate((self.add, self.copy, self.remove)):
            top.addWidget(button, 0, n)
        for n, button in enumerate((self.add_move, self.up, self.remove_move)):
            below.addWidget(button, 0, n)
        self.body = QWidget()
        inner = QVBoxLayout(self.body)
        inner.setContentsMargins(0, 0, 0, 0)
        head = QFormLayout()
        head.addRow("Script", self.which)
        add_with_reason(head, "Script's name", self.name)
        self.form = QFormLayout()
        self.form.addRow("Drives by", self.by)
        for box in self.fields.values():
            add_row(self.form, box)
        self.form.addRow("Until", self.until)
        add_row(self.form, self.amount)
        inner.addLayout(head)
        inner.addWidget(self.table)
        inner.addLayout(below)
        inner.addLayout(self.form)
        column = QVBoxLayout(self)
        column.setContentsMargins(12, 4, 12, 12)
        column.addWidget(self.none)
        column.addLayout(top)
        column.addWidget(self.body)

    def set_unit(self, unit: LengthUnit) -> None:
        """Show lengths in another unit."""
        self._unit = unit
        self._maker.set_unit(unit)
        self.refresh()

    def summary(self, view: View) -> str:
        """Which script is chosen, and how many moves it has."""
        script = self._session.script
        if script is None:
            return "none yet" if not view.design.driving.scripts else "none chosen"
        return (
            f"{script.name}, {len(script.moves)} moves"
            if len(script.moves) != 1
            else f"{script.name}, 1 move"
        )

    def refresh_theme(self) -> None:
        """Follow a change from light to dark or back."""
        self.table.setPalette(table_palette())

    # What is shown ---------------------------------------------------------------------------

    def _index(self) -> int:
        """Number of the chosen script; -1 for none."""
        script = self._session.script
        return -1 if script is None else self._document.design.driving.scripts.index(script)

    def _move(self) -> int:
        rows = self.table.selectionModel().selectedRows()
        return rows[0].row() if rows else -1

    def show_view(self, view: View) -> None:
        """Show the scripts of this design."""
        scripts = view.design.driving.scripts
        self.none.setVisible(not scripts)
        self.body.setVisible(bool(scripts))
        for button in (self.copy, self.remove):
            button.setEnabled(bool(scripts))
        names = [script.name for script in scripts]
        if [self.which.itemText(i) for i in range(self.which.count())] != names:
            self.which.clear()
            self.which.addItems(names)
        index = self._index()
        set_choice(self.which, index)
        if index < 0:
            return
        script = scripts[index]
        self.name.show_value(script.name, index)
        self._show_moves(script)
        self._show_move(script)

    def _show_moves(self, script: Script) -> None:
        self._showing = True
        now = max(self._move(), 0)
        self.table.setRowCount(len(script.moves))
        for row, move in enumerate(script.moves):
            for column, words in enumerate(self._words(move)):
                item = self.table.item(row, column)
                if item is None:
                    item = QTableWidgetItem()
                    self.table.setItem(row, column, item)
                if item.text() != words:
                    item.setText(words)
        if script.moves:
            self.table.selectRow(min(now, len(script.moves) - 1))
        tall = (
            self.table.horizontalHeader().sizeHint().height() + _ROW * min(len(script.moves), _MOST_ROWS) + 4
        )
        self.table.setFixedHeight(max(tall, 2 * _ROW))
        self._showing = False

    def _words(self, move: Move) -> tuple[str, str, str]:
        if move.by == "radius":
            how = f"radius {show_length(move.radius_mm or 0.0, self._unit)}"
        elif move.by == "speeds":
            how = "side speeds"
        else:
            how = f"turn {show_number(move.turn or 0.0, 3)}" + (", stick" if move.by == "stick" else "")
        if move.by == "speeds":
            fast = (
                f"{show_number(100 * (move.left or 0.0), 1)} %, {show_number(100 * (move.right or 0.0), 1)} %"
            )
        else:
            fast = f"{show_number(100 * ((move.throttle if move.by == 'stick' else move.speed) or 0.0), 1)} %"
        if move.until == "time":
            end = f"{show_number(move.amount, 3)} s"
        elif move.until == "distance":
            end = show_length(move.amount, self._unit)
        else:
            end = f"{show_number(move.amount, 2)}°"
        return how, fast, end

    def _show_move(self, script: Script) -> None:
        at = self._move()
        move = script.moves[at] if 0 <= at < len(script.moves) else None
        for choice_box in (self.by, self.until):
            self.form.setRowVisible(choice_box, move is not None)
        self.form.setRowVisible(self.amount, move is not None)
        for key, box in self.fields.items():
            there = move is not None and key in OF_WAY[move.by]
            value = getattr(move, key) if move is not None else None
            show_field(self.form, box, value, (script.name, at), there=there)
        self.up.setEnabled(at > 0)
        self.remove_move.setEnabled(move is not None)
        if move is not None:
            set_choice(self.by, WAYS.index(move.by))
            set_choice(self.until, UNTILS.index(move.until))
            self.amount.show_value(move.amount, (script.name, at, move.until))

    def _chosen_changed(self) -> None:
        index = self._index()
        if not self._showing and index >= 0:
            self._show_move(self._document.design.driving.scripts[index])

    # What is asked ---------------------------------------------------------------------------

    def _rename(self, name: str) -> bool:
        index = self._index()
        if index < 0:
            return False
        before = self._session.script_name
        self._session.script_name = name
        done = self._document.edit(
            "Rename script",
            lambda d: driving_edits.change_script(d, index, name=name),
            merge_key=f"script name {index}",
        )
        if not done:
            self._session.script_name = before
        return done

    def _ask(self, key: str, value: Any) -> bool:
        script, move = self._index(), self._move()
        if script < 0 or move < 0:
            return False
        return self._document.edit(
            "Change move",
            lambda d: driving_edits.change_move(d, script, move, **{key: value}),
            merge_key=f"move {script} {move} {key}",
        )

    def _add(self) -> None:
        count = len(self._document.design.driving.scripts)
        if self._document.edit("Add script", driving_edits.add_script):
            self._session.choose(script=self._document.design.driving.scripts[count].name)

    def _edit(self, label: str, edit: Any, *, last: bool = False) -> None:
        index = self._index()
        if index >= 0 and self._document.edit(label, lambda d: edit(d, index)):
            scripts = self._document.design.driving.scripts
            at = len(scripts) - 1 if last else min(index, len(scripts) - 1)
            self._session.choose(script=scripts[at].name if scripts else "")

    def _add_move(self) -> None:
        script, move = self._index(), self._move()
        if script >= 0:
            at = None if move < 0 else move + 1
            if self._document.edit("Add move", lambda d: driving_edits.add_move(d, script, at=at)):
                self.table.selectRow(self.table.rowCount() - 1 if at is None else at)

    def _shift(self, by: int) -> None:
        script, move = self._index(), self._move()
        if script >= 0 and self._document.edit(
            "Reorder moves", lambda d: driving_edits.move_move(d, script, move, move + by)
        ):
            self.table.selectRow(move + by)

    def _remove_move(self) -> None:
        script, move = self._index(), self._move()
        if script >= 0 and move >= 0:
            self._document.edit("Delete move", lambda d: driving_edits.delete_moves(d, script, [move]))
