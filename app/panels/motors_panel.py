"""The motors: their list, ways to share them where wheels have none, and the editor of the chosen one."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QHBoxLayout,
    QPushButton,
    QStackedWidget,
    QVBoxLayout,
)

from app.design import motor_edits
from app.design.motor_edits import MotorKind
from app.design.references import Kind, Reference, kept, references_to, selected_wheels
from app.document import Document
from app.panels.drive_offer import DriveOffer
from app.panels.motor_editor import MotorEditor
from app.panels.motor_rows import ROW, MotorList
from app.panels.panel import Panel
from app.panels.sharing_offer import SharingOffer
from app.picture.view import View
from app.plain import plain_label
from app.units import LengthUnit
from geometry.model.design import Design

_REFERS: dict[MotorKind, Kind] = {"steer": "steer motor", "drive": "drive motor"}
_WELCOME = "No motors yet. Each wheel runs as if it had its own."
_ROWS_SEEN = 4
"""So many for any number of motors, none included: what stands below stays where it is."""
_MARGIN = 12


class MotorsPanel(Panel):
    """The list, its buttons and the editor; a chosen motor selects its wheels on the plan."""

    def __init__(self, document: Document) -> None:
        super().__init__(document)
        self._showing = False
        self._keys: list[tuple[MotorKind, int]] = []
        self._listed = document.design
        self._make_list()
        self._make_buttons()
        self.offer = SharingOffer(document)
        self.drive_offer = DriveOffer(document)
        self.editor = MotorEditor(document, self.remove)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 8)
        layout.setSpacing(8)
        layout.addWidget(self.above)
        for buttons in ((self.add_steer, self.add_drive), (self.suggest, self.code)):
            row = QHBoxLayout()
            row.setContentsMargins(_MARGIN, 0, _MARGIN, 0)
            for button in buttons:
                row.addWidget(button)
            row.addStretch(1)
            layout.addLayout(row)
        for part in (self.offer, self.drive_offer, self.editor):
            part.setContentsMargins(_MARGIN, 0, _MARGIN, 0)
            layout.addWidget(part)
        layout.addStretch(1)
        self._show_list(document.design)

    def _make_list(self) -> None:
        self.list = MotorList()
        self.list.remove_asked.connect(self.delete)
        self.list.itemSelectionChanged.connect(self._chose)
        # A click on the chosen motor selects its wheels again.
        self.list.cellClicked.connect(lambda _row, _column: self._chose())
        self.welcome = plain_label(_WELCOME)
        self.welcome.setWordWrap(True)
        self.welcome.setMargin(_MARGIN)
        self.welcome.setAlignment(Qt.AlignmentFlag.AlignTop)
        self.above = QStackedWidget()
        self.above.addWidget(self.welcome)
        self.above.addWidget(self.list)
        self.above.setFixedHeight(ROW * _ROWS_SEEN + 2 * self.list.frameWidth())

    def _make_buttons(self) -> None:
        self.add_steer = QPushButton("Add steer motor")
        self.add_steer.setToolTip("Add a motor for the selected steered wheels, or for the next one without.")
        self.add_steer.clicked.connect(lambda: self.add("steer"))
        self.add_drive = QPushButton("Add drive motor")
        self.add_drive.setToolTip("Add a motor for the selected wheels, or for the next driven one without.")
        self.add_drive.clicked.connect(lambda: self.add("drive"))
        self.suggest = QPushButton("Suggest sharing…")
        self.suggest.setToolTip("Find the best way to share a number of steer motors.")
        self.suggest.clicked.connect(lambda: self.action_asked.emit("suggest"))
        self.code = QPushButton("Code…")
        self.code.setToolTip("Export code for the controller: targets for these motors.")
        self.code.setAccessibleName("Code for the controller…")
        self.code.clicked.connect(lambda: self.action_asked.emit("export_code"))
        self.remove = QPushButton("Delete")
        self.remove.setToolTip("Delete the chosen motor; its wheels stay.")
        self.remove.clicked.connect(self.delete)

    def summary(self, view: View) -> str:
        """How many there are, and how many wheels lack one."""
        design = view.design
        count = len(design.steer_motors) + len(design.drive_motors)
        if not count:
            return ""
        lacks = {*motor_edits.lacking(design, "steer"), *motor_edits.lacking(design, "drive")}
        if not lacks:
            return f"{count}, every wheel"
        return f"{count}, {len(lacks)} {'wheels lack' if len(lacks) > 1 else 'wheel lacks'} one"

    def refresh_theme(self) -> None:
        """Follow a change from light to dark or back."""
        self.list.refresh_theme()
        self.offer.refresh_theme()

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
        """Show the motors of this view; one that was selected on the plan is the chosen one."""
        self._show_list(view.design)
        self.offer.show_view(view)
        self.drive_offer.show_view(view)
        self._follow_selection(view)
        chosen = self.chosen
        if chosen is not None:
            self.editor.show_motor(view, *chosen)

    def _show_list(self, design: Design) -> None:
        kinds: tuple[MotorKind, MotorKind] = ("steer", "drive")
        keys = [(kind, i) for kind in kinds for i in range(len(motor_edits.motors_of(design, kind)))]
        self._showing = True
        row = self._row_after(design, keys)
        self._keys, self._listed = keys, design
        self.list.show_motors(design, keys)
        if keys and self.list.currentRow() != row:
            self.list.selectRow(row)
        self._showing = False
        self.above.setCurrentWidget(self.list if keys else self.welcome)
        for part in (self.editor, self.remove):
            part.setVisible(bool(keys))
        self.suggest.setEnabled(any(wheel.kind == "steered" for wheel in design.wheels))

    def _follow_selection(self, view: View) -> None:
        """Choose the motor that alone is selected; its wheels stay as they are."""
        picked = [key for key in self._keys if Reference(_REFERS[key[0]], key[1]) in view.selection]
        if len(picked) == 1 and picked[0] != self.chosen:
            self._showing = True
            self.list.selectRow(self._keys.index(picked[0]))
            self._showing = False

    def _row_after(self, design: Design, keys: list[tuple[MotorKind, int]]) -> int:
        """Where the chosen motor is in a new list; where it is gone, the one at its old place."""
        before = max(self.list.currentRow(), 0)
        chosen = [Reference(_REFERS[kind], i) for kind, i in self._keys[before : before + 1]]
        now = kept(chosen, self._listed, design)
        same = [n for n, (kind, i) in enumerate(keys) if Reference(_REFERS[kind], i) in now]
        return same[0] if same else min(before, len(keys) - 1)

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
            self._document.edit(f"Delete {name}", lambda d: motor_edits.delete_motor(d, kind, index))


_NO_WHEEL: dict[MotorKind, str] = {
    "steer": "No steered wheel is left for another motor. Set a wheel's kind to Steered in the section "
    "Wheel, or take one off its motor first.",
    "drive": "No wheel is left for another drive motor. Select a wheel that rolls free, or take one off its "
    "motor first.",
}
