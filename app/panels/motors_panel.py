"""The motors: the list of them with the wheels that each one holds, and the editor of the chosen one."""

from __future__ import annotations

from PySide6.QtCore import QEvent, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHBoxLayout,
    QHeaderView,
    QPushButton,
    QTableWidget,
    QTableWidgetItem,
    QVBoxLayout,
    QWidget,
)

from app.design import motor_edits
from app.design.motor_edits import MotorKind
from app.design.references import Kind, Reference, kept, references_to, selected_wheels
from app.document import Document
from app.panels.form import enable_copy, scrolled
from app.panels.motor_editor import MotorEditor
from app.panels.panel import Panel
from app.picture.view import View
from app.plain import plain_label, plain_tip
from app.units import LengthUnit, show_gearing
from geometry.model.design import Design
from geometry.model.motors import Gearing

_HEADS = ("Motor", "Does", "Wheels and gearing")
_DOES: dict[MotorKind, str] = {"steer": "steers", "drive": "drives"}
_REFERS: dict[MotorKind, Kind] = {"steer": "steer motor", "drive": "drive motor"}
_WELCOME = (
    "No motors yet: every wheel is steered and driven by itself, as if it had motors of its own. "
    "Add the motors that you have, and see what the chassis does when wheels share them."
)
_ROWS_SEEN = 4
"""So many for any number of motors: the buttons below stay where they are."""


class MotorList(QTableWidget):
    """The list; the delete key removes a motor here, and not the wheels that are selected with it."""

    remove_asked = Signal()

    def event(self, event: QEvent) -> bool:
        """Keep the delete key from the menu."""
        if event.type() == QEvent.Type.ShortcutOverride and _is_delete(event):
            event.accept()
            return True
        return super().event(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Ask to remove the chosen motor."""
        if _is_delete(event):
            self.remove_asked.emit()
        else:
            super().keyPressEvent(event)


def _is_delete(event: QEvent) -> bool:
    # Not the standard key: on X11 that is Ctrl+D too, which copies wheels to the other side.
    return (
        isinstance(event, QKeyEvent)
        and event.key() == Qt.Key.Key_Delete
        and event.modifiers() & ~Qt.KeyboardModifier.KeypadModifier == Qt.KeyboardModifier.NoModifier
    )


class MotorsPanel(Panel):
    """The list, its buttons and the editor; a chosen motor selects its wheels on the plan."""

    def __init__(self, document: Document) -> None:
        super().__init__(document)
        self._showing = False
        self._keys: list[tuple[MotorKind, int]] = []
        self._listed = document.design
        self.welcome = plain_label(_WELCOME)
        self.welcome.setWordWrap(True)
        self._make_list()
        self._make_buttons()
        self.editor = MotorEditor(document)
        inner = QWidget()
        inside = QVBoxLayout(inner)
        inside.setContentsMargins(8, 0, 8, 4)
        inside.addWidget(self.editor)
        inside.addStretch(1)
        self.below = scrolled(inner)
        row = QHBoxLayout()
        for button in (self.add_steer, self.add_drive, self.remove, self.suggest, self.code):
            row.addWidget(button)
        row.addStretch(1)
        above = QVBoxLayout()
        above.setContentsMargins(8, 6, 8, 0)
        for part in (self.welcome, self.list):
            above.addWidget(part)
        above.addLayout(row)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.addLayout(above)
        layout.addWidget(self.below, 1)
        self._show_list(document.design)

    def _make_list(self) -> None:
        table = MotorList(0, len(_HEADS))
        table.remove_asked.connect(self.delete)
        table.setHorizontalHeaderLabels(list(_HEADS))
        table.setAccessibleName("Motors")
        table.setToolTip("Choose a motor to edit it; its wheels are selected on the plan.")
        table.setTabKeyNavigation(False)  # Tab leaves it; arrows move within
        table.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        table.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        table.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        table.setShowGrid(False)
        table.setAlternatingRowColors(True)
        table.verticalHeader().hide()
        table.verticalHeader().setDefaultSectionSize(22)
        header = table.horizontalHeader()
        table.setFixedHeight(header.sizeHint().height() + 22 * _ROWS_SEEN + 4)
        header.setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        header.setStretchLastSection(True)
        enable_copy(table)
        table.itemSelectionChanged.connect(self._chose)
        # A click on the chosen motor selects its wheels again.
        table.cellClicked.connect(lambda _row, _column: self._chose())
        self.list = table

    def _make_buttons(self) -> None:
        self.add_steer = QPushButton("Add steer motor")
        self.add_steer.setToolTip("Add a motor for the selected steered wheels, or for the next one without.")
        self.add_steer.clicked.connect(lambda: self.add("steer"))
        self.add_drive = QPushButton("Add drive motor")
        self.add_drive.setToolTip("Add a motor for the selected wheels, or for the next driven one without.")
        self.add_drive.clicked.connect(lambda: self.add("drive"))
        self.remove = QPushButton("Remove")
        self.remove.setToolTip("Remove the chosen motor; its wheels stay.")
        self.remove.clicked.connect(self.delete)
        self.suggest = QPushButton("Suggest sharing…")
        self.suggest.setToolTip("Find the best way to share a number of steer motors.")
        self.suggest.clicked.connect(lambda: self.action_asked.emit("suggest"))
        self.code = QPushButton("Code…")
        self.code.setToolTip("Export code for the controller: targets for these motors.")
        self.code.setAccessibleName("Code for the controller…")
        self.code.clicked.connect(lambda: self.action_asked.emit("export_code"))

    def set_unit(self, unit: LengthUnit) -> None:
        """Show speeds in another unit."""
        self.editor.set_unit(unit)
        self.refresh()

    @property
    def chosen(self) -> tuple[MotorKind, int] | None:
        """Kind and number of the chosen motor."""
        row = self.list.currentRow()
        return self._keys[row] if 0 <= row < len(self._keys) else None

    def choose(self, kind: MotorKind, index: int) -> None:
        """Choose a motor, which also selects its wheels."""
        self.list.selectRow(self._keys.index((kind, index)))
        self._chose()

    def show_view(self, view: View) -> None:
        """Show the motors of this view."""
        self._show_list(view.design)
        chosen = self.chosen
        if chosen is not None:
            self.editor.show_motor(view, *chosen)

    def _show_list(self, design: Design) -> None:
        names = [wheel.name for wheel in design.wheels]
        kinds: tuple[MotorKind, MotorKind] = ("steer", "drive")
        keys = [(kind, i) for kind in kinds for i in range(len(motor_edits.motors_of(design, kind)))]
        rows = []
        for kind, i in keys:
            motor = motor_edits.motors_of(design, kind)[i]
            held = sorted(motor.wheels, key=lambda g: names.index(g.wheel))
            rows.append((motor.name, _DOES[kind], ", ".join(map(_words, held))))
        self._showing = True
        row = self._row_after(design, keys)
        self._keys, self._listed = keys, design
        self._fill(rows)
        if rows and self.list.currentRow() != row:
            self.list.selectRow(row)
        self._showing = False
        self.welcome.setVisible(not rows)
        for part in (self.list, self.editor, self.remove):
            part.setVisible(bool(rows))
        self.suggest.setEnabled(any(wheel.kind == "steered" for wheel in design.wheels))

    def _row_after(self, design: Design, keys: list[tuple[MotorKind, int]]) -> int:
        """Where the chosen motor is in a new list; where it is gone, the one at its old place."""
        before = max(self.list.currentRow(), 0)
        chosen = [Reference(_REFERS[kind], i) for kind, i in self._keys[before : before + 1]]
        now = kept(chosen, self._listed, design)
        same = [n for n, (kind, i) in enumerate(keys) if Reference(_REFERS[kind], i) in now]
        return same[0] if same else min(before, len(keys) - 1)

    def _fill(self, rows: list[tuple[str, str, str]]) -> None:
        self.list.setRowCount(len(rows))
        for r, row in enumerate(rows):
            for c, text in enumerate(row):
                item = self.list.item(r, c)
                if item is None:
                    item = QTableWidgetItem()
                    self.list.setItem(r, c, item)
                if item.text() != text:
                    item.setText(text)
                    item.setToolTip(plain_tip(text))

    def _chose(self) -> None:
        chosen = self.chosen
        if self._showing or chosen is None:
            return
        view = self._document.view
        kind, index = chosen
        held = {g.wheel for g in motor_edits.motors_of(view.design, kind)[index].wheels}
        wheels = (i for i, wheel in enumerate(view.design.wheels) if wheel.name in held)
        self._document.select(references_to("wheel", wheels))
        self.refresh()

    def add(self, kind: MotorKind) -> None:
        """Add a motor for the selected wheels, or for the next one without, and choose it."""
        document = self._document
        wheels = motor_edits.wheels_for(document.design, kind, selected_wheels(document.selection))
        if not wheels:
            document.message.emit(_NO_WHEEL[kind])
            return
        if document.edit(f"Add {kind} motor", lambda d: motor_edits.add_motor(d, kind, wheels)):
            self._show_list(document.design)
            self.choose(kind, len(motor_edits.motors_of(document.design, kind)) - 1)

    def delete(self) -> None:
        """Remove the chosen motor."""
        if self.chosen is not None:
            kind, index = self.chosen
            name = motor_edits.motors_of(self._document.design, kind)[index].name
            self._document.edit(f"Remove {name}", lambda d: motor_edits.delete_motor(d, kind, index))


_NO_WHEEL: dict[MotorKind, str] = {
    "steer": "No steered wheel is left for another motor. Make a wheel steered on the Wheel tab, or take one "
    "off its motor first.",
    "drive": "No wheel is left for another drive motor. Select a wheel that rolls free, or take one off its "
    "motor first.",
}


def _words(gearing: Gearing) -> str:
    ratio = show_gearing(gearing.ratio, gearing.train)
    return f"{gearing.wheel} {ratio}"
