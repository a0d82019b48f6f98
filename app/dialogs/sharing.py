"""The advice on sharing steer motors: ask, wait or cancel, compare, use one."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QSize, QSortFilterProxyModel, Qt
from PySide6.QtGui import QKeyEvent, QStandardItem, QStandardItemModel
from PySide6.QtWidgets import (
    QAbstractItemView,
    QDialog,
    QDialogButtonBox,
    QFormLayout,
    QHBoxLayout,
    QHeaderView,
    QPlainTextEdit,
    QProgressBar,
    QPushButton,
    QSpinBox,
    QTableView,
    QVBoxLayout,
    QWidget,
)

from app.dialogs.fitting import lay_out
from app.panels.form import enable_copy
from app.panels.number_field import NumberField
from app.plain import plain_label, plain_tip
from app.units import LengthUnit, UnitError, decimals, parse_sum, show_number
from app.words.lengths import drag_unit, in_drag_unit
from app.words.sharing_advice import flip_advice, flips_in_short, losses_words, radius_words, sharing_words
from geometry.model.design import Design

if TYPE_CHECKING:
    from app.jobs import Job, Progress
    from geometry.motor_sharing.advice import FlipFacts
    from geometry.motor_sharing.grouping import Grouping

Sharing = list[list[tuple[str, float]]]
"""For each motor the wheels and their ratios."""

_HEADS = (
    ("Sharing", "The wheels of each motor; opposite: by the same angle the other way."),
    ("Motors", "Number of steer motors that this sharing needs."),
    ("Worst drag", "Largest drag of any wheel at any turn of the range."),
    ("Mean drag", "Mean drag of all wheels over the range."),
    ("Worst wheel", "The wheel that drags most, and the turn input at which it does."),
    (
        "Radius error\n%",
        "Largest error of the turn radius, as share of it or, where less, of the half-track.",
    ),
    (
        "Exact",
        "Whether nothing is lost against a motor for each wheel; off course: it does not turn as asked.",
    ),
    (
        "Jumps",
        "Flips and other jumps of steer angles within the range, and the smallest turn input with one.",
    ),
)
_KEY = Qt.ItemDataRole.UserRole
_LEAST_TURN = 0.01
_WIDEST_SHARING = 480
_LINES = 7
# Drag that is shown as 0.0 names no worst wheel [mm/m].
_NO_DRAG = 0.05


def find_sharing(
    design: Design, motors: int, reach: float, progress: Progress
) -> tuple[tuple[Grouping, ...], FlipFacts]:
    """Rank the ways to share steer motors, and say what avoids a flip.

    Raises
    ------
    AxlewrightError
        If there is nothing to share, too much of it, or the person has cancelled.
    """
    from geometry.kinematics.robot import robot_of
    from geometry.motor_sharing.advice import advise, flip_facts  # late: the window opens without it

    robot = robot_of(design)
    found = advise(robot, motors, reach, progress)
    return found, flip_facts(robot, found, reach)


class AdviceDialog(QDialog):
    """Number of motors and range; a table of what was found; what avoids a flip."""

    def __init__(self, parent: QWidget | None, design: Design, unit: LengthUnit = "mm") -> None:
        super().__init__(parent)
        self.setWindowTitle("Suggest sharing")
        self._design, self._unit = design, unit
        self._names = [wheel.name for wheel in design.wheels]
        self._found: tuple[Grouping, ...] = ()
        self._advice = ""
        self._job: Job | None = None
        self._reach = design.largest_turn
        self._make_question()
        self._make_table()
        self.details = QPlainTextEdit()
        self.details.setReadOnly(True)
        self.details.setTabChangesFocus(True)
        self.details.setAccessibleName("What the chosen sharing loses, and what avoids a flip")
        self.details.setFixedHeight(self.fontMetrics().lineSpacing() * _LINES + 12)
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Close)
        self.use = buttons.addButton("Use this sharing", QDialogButtonBox.ButtonRole.AcceptRole)
        self.use.setToolTip("Replace the steer motors by the chosen sharing; one undo takes it back.")
        buttons.accepted.connect(self.accept)
        buttons.rejected.connect(self.reject)
        content = QWidget()
        inside = QVBoxLayout(content)
        inside.setContentsMargins(0, 0, 0, 0)
        inside.addLayout(self._question)
        inside.addWidget(self.table, 1)
        inside.addWidget(self.details)
        lay_out(self, content, buttons, QSize(1190, 560))
        self._show_busy()

    def _make_question(self) -> None:
        steered = sum(wheel.kind == "steered" for wheel in self._design.wheels)
        self.motors = QSpinBox()
        self.motors.setRange(1, max(steered, 1))
        self.motors.setValue(len(self._design.steer_motors) or min(2, max(steered, 1)))
        self.motors.setAccessibleName("Number of steer motors")
        self.motors.setToolTip("How many steer motors there are; sharings with fewer are shown too.")
        self.reach = NumberField(
            "Largest turn that matters",
            parse=self._parse_reach,
            show=lambda value: show_number(value, 4),
            ask=self._ask_reach,
            step=0.05,
            tip=f"Turn inputs up to this, either way, are compared. {_LEAST_TURN:g} to 1.",
        )
        self.reach.show_value(self._reach)
        self.start = QPushButton("&Find")
        self.start.setToolTip("Compare all ways to share the motors.")
        self.start.clicked.connect(self.search)
        self.stop = QPushButton("Stop the search")
        self.stop.clicked.connect(self._cancel)
        self.progress = QProgressBar()
        self.progress.setAccessibleName("Progress of the search")
        self.progress.setRange(0, 100)
        self.told = plain_label("Choose how many motors there are and press Find.")
        self.told.setWordWrap(True)
        row = QHBoxLayout()
        row.addWidget(self.motors)
        label = plain_label("over turn inputs up to")
        label.setBuddy(self.reach)
        for part in (label, self.reach, self.start, self.stop):
            row.addWidget(part)
        row.addWidget(self.progress, 1)
        row.addStretch(0)
        self._question = QFormLayout()
        self._question.addRow("Steer motors", row)
        self._question.addRow("", self.reach.reason)
        self._question.addRow(self.told)

    def _make_table(self) -> None:
        self.model = QStandardItemModel(0, len(_HEADS), self)
        for column, (head, tip) in enumerate(_HEADS):
            of_drag = f"\n{drag_unit(self._unit, short=True)}" if head.endswith("drag") else ""
            self.model.setHorizontalHeaderItem(column, QStandardItem(head + of_drag))
            self.model.horizontalHeaderItem(column).setToolTip(f"{tip} Click to sort.")
        self.order = QSortFilterProxyModel(self)
        self.order.setSourceModel(self.model)
        self.order.setSortRole(_KEY)
        self.table = QTableView()
        self.table.setModel(self.order)
        self.table.setAccessibleName("Ways to share")
        self.table.setSortingEnabled(True)
        self.table.horizontalHeader().setSortIndicator(-1, Qt.SortOrder.AscendingOrder)
        self.order.sort(-1)
        self.table.setTabKeyNavigation(False)  # Tab leaves it; arrows move within
        self.table.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.table.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.table.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.table.setAlternatingRowColors(True)
        self.table.setShowGrid(False)
        self.table.verticalHeader().hide()
        self.table.verticalHeader().setDefaultSectionSize(22)
        self.table.horizontalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Interactive)
        self.table.horizontalHeader().setStretchLastSection(True)
        self.table.selectionModel().selectionChanged.connect(self._show_chosen)
        enable_copy(self.table)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Let Enter finish a field; only a press of a button acts."""
        enter = event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter)
        if not enter or isinstance(self.focusWidget(), QPushButton):
            super().keyPressEvent(event)

    def _parse_reach(self, text: str) -> float:
        value = parse_sum(text)
        if not _LEAST_TURN <= value <= 1:
            raise UnitError(f"must be from {_LEAST_TURN:g} to 1 (got {value:g})")
        return value

    def _ask_reach(self, value: float) -> bool:
        if not _LEAST_TURN <= value <= 1:
            return False
        self._reach = value
        self.reach.show_value(value)
        return True

    # The search ------------------------------------------------------------------------

    def search(self) -> None:
        """Start the search; the window stays usable meanwhile."""
        from app.jobs import Job  # late: the window opens without it

        if self._job is not None:
            return
        self._show_found((), "")
        design, motors, reach = self._design, self.motors.value(), self._reach
        job = Job(lambda progress: (*find_sharing(design, motors, reach, progress), reach), self)
        job.progressed.connect(self._progressed)
        job.ended.connect(self._ended)
        job.done.connect(self._done)
        job.failed.connect(self.told.setText)
        job.cancelled.connect(lambda: self.told.setText("The search was stopped. Press Find to start again."))
        self._job = job
        self.told.setText("Searching …")
        self._show_busy()
        job.start()

    def _cancel(self) -> None:
        if self._job is not None:
            self._job.cancel()
            self.stop.setEnabled(False)

    def _progressed(self, share: float) -> None:
        self.progress.setValue(round(100 * share))

    def _ended(self) -> None:
        if self._job is not None:
            self._job.deleteLater()
        self._job = None
        self._show_busy()

    def _done(self, result: tuple[tuple[Grouping, ...], FlipFacts, float]) -> None:
        found, facts, reach = result
        self._show_found(found, flip_advice(self._design, facts, self._unit))
        exact = sum(grouping.exact for grouping in found)
        which = "one is exact" if exact == 1 else f"{exact} are exact" if exact else "none is exact"
        self.told.setText(
            f"{len(found)} {'way' if len(found) == 1 else 'ways'} over turn inputs up to {reach:g}, "
            f"best first; {which}."
        )
        if found:
            self.table.selectRow(0)
            self.table.setFocus()

    def _show_busy(self) -> None:
        busy = self._job is not None
        self.progress.setValue(0)
        self.progress.setVisible(busy)
        self.stop.setVisible(busy)
        self.stop.setEnabled(busy)
        for part in (self.start, self.motors, self.reach):
            part.setEnabled(not busy)
        self.use.setEnabled(bool(self._found) and not busy)

    def done(self, result: int) -> None:
        """Leave no search behind."""
        if self._job is not None:
            self._job.stop()
            self._job = None
        super().done(result)

    # What was found --------------------------------------------------------------------

    def _show_found(self, found: Sequence[Grouping], advice: str) -> None:
        self._found = tuple(found)
        self.model.setRowCount(0)
        for grouping in found:
            self.model.appendRow([_item(*cell) for cell in _cells(self._names, grouping, self._unit)])
        self.table.resizeColumnsToContents()
        self.table.setColumnWidth(0, min(self.table.columnWidth(0), _WIDEST_SHARING))
        self._advice = advice
        self.details.setVisible(bool(found))
        self.use.setEnabled(bool(found))

    @property
    def chosen(self) -> Grouping | None:
        """The grouping that is selected in the table."""
        rows = self.table.selectionModel().selectedRows()
        return self._found[self.order.mapToSource(rows[0]).row()] if rows and self._found else None

    def _show_chosen(self) -> None:
        chosen = self.chosen
        lines = [losses_words(self._names, chosen, self._unit)] if chosen is not None else []
        self.details.setPlainText("\n".join([*lines, self._advice]))
        self.use.setEnabled(chosen is not None)

    def sharing(self) -> Sharing | None:
        """The chosen grouping by names; None where none is chosen."""
        chosen = self.chosen
        if chosen is None:
            return None
        return [[(self._names[wheel], ratio) for wheel, ratio in group] for group in chosen.groups]


def _cells(names: Sequence[str], grouping: Grouping, unit: LengthUnit) -> tuple[tuple[str, Any], ...]:
    """Text and sort key of each column."""
    worst = names[grouping.worst_wheel]
    sharing = sharing_words(names, grouping.groups)
    return (
        (sharing, sharing),
        (f"{grouping.motors}", grouping.motors),
        (f"{in_drag_unit(grouping.worst, unit):.{decimals(unit, 1)}f}", grouping.worst),
        (f"{in_drag_unit(grouping.mean, unit):.{decimals(unit, 2)}f}", grouping.mean),
        ("–" if grouping.worst < _NO_DRAG else f"{worst} at {grouping.worst_turn:+.3f}", worst),
        (radius_words(grouping), grouping.radius_error),
        ("off course" if grouping.off_course else "yes" if grouping.exact else "no", _rank(grouping)),
        (flips_in_short(grouping), len(grouping.flips)),
    )


def _rank(grouping: Grouping) -> int:
    """Exact before the others, and those that do not turn as asked last."""
    return 2 if grouping.off_course else int(not grouping.exact)


def _item(text: str, key: Any) -> QStandardItem:
    item = QStandardItem(text)
    item.setData(key, _KEY)
    item.setToolTip(plain_tip(text))
    if isinstance(key, int | float):
        item.setTextAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
    return item


def ask_advice(parent: QWidget, design: Design, unit: LengthUnit = "mm") -> Sharing | None:
    """Show the advice; None where the person takes none of it."""
    dialog = AdviceDialog(parent, design, unit)
    accepted = dialog.exec() == QDialog.DialogCode.Accepted
    result = dialog.sharing() if accepted else None
    dialog.deleteLater()
    return result
