"""Ways to share steer motors, offered where wheels have none: found by a job, taken up by a button."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QEvent, QSize, Qt, QTimer
from PySide6.QtGui import QHideEvent, QResizeEvent, QShowEvent, QStandardItem, QStandardItemModel
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHBoxLayout,
    QHeaderView,
    QProgressBar,
    QPushButton,
    QTableView,
    QVBoxLayout,
    QWidget,
)

from app.design import motor_edits
from app.document import Document
from app.panels.form import enable_copy
from app.picture.view import View
from app.plain import plain_label, plain_tip
from app.theme import sized, table_palette
from app.units import LengthUnit, decimals
from app.words.lengths import drag_unit, in_drag_unit
from app.words.sharing_advice import (
    best_for_each_number,
    flips_in_short,
    gain_words,
    radius_words,
    recommended,
    sharing_lines,
)
from geometry.model.design import Design

if TYPE_CHECKING:
    from app.jobs import Job, Progress
    from geometry.motor_sharing.grouping import Grouping

HEADS = (
    ("Motors", "How many steer motors it takes."),
    (
        "Worst drag\nmm/m",
        "Largest drag of any wheel at any turn of the range.",
    ),
    (
        "Radius\nerror %",
        "How far the turn radius is off at most; off course: it does not turn as it is asked to.",
    ),
    ("Jumps", "How many wheels flip or jump within the range, and the smallest turn input with one."),
)
_KEY = Qt.ItemDataRole.UserRole
_NUMBER = Qt.ItemDataRole.UserRole + 1
_ROW, _MOST_ROWS = 28, 5
_HEAD_MARGIN = 14
_WAIT_MS = 300
"""So long the chassis rests before a search begins."""

Question = tuple[Any, ...]


def search(design: Design, progress: Progress) -> tuple[Grouping, ...]:
    """Find the best sharing for each number of motors.

    Raises
    ------
    AxlewrightError
        If there is nothing to share, too much of it, or the person has cancelled.
    """
    from geometry.kinematics.robot import robot_of
    from geometry.motor_sharing.advice import advise  # late: the window opens without it

    steered = sum(wheel.kind == "steered" for wheel in design.wheels)
    return best_for_each_number(advise(robot_of(design), steered, design.largest_turn, progress))


def wanted(design: Design) -> bool:
    """Whether sharing is to be suggested: wheels are steered, and some have no steer motor."""
    steered = [wheel.name for wheel in design.wheels if wheel.kind == "steered"]
    return any(motor_edits.holder_of(design, "steer", name) is None for name in steered)


def _question(design: Design) -> Question:
    """What the answer depends on."""
    return (
        design.wheels,
        design.base_axle_x_mm,
        design.left_reference,
        design.right_reference,
        design.largest_turn,
    )


class SharingOffer(QWidget):
    """Searches while it is in sight and nothing is dragged; shows a row for each number of motors."""

    def __init__(self, document: Document) -> None:
        super().__init__()
        self._document = document
        self._unit: LengthUnit = "mm"
        self._asked: Question | None = None
        """What is searched for, was answered, or was given up."""
        self._stopped = False
        """Whether the person stopped the search."""
        self._design = document.design
        self._found: tuple[Grouping, ...] = ()
        self._job: Job | None = None
        self._ending: list[Job] = []
        """Searches that were told to stop, and have not yet."""
        self._wait = QTimer(self)
        self._wait.setSingleShot(True)
        self._wait.setInterval(_WAIT_MS)
        self._wait.timeout.connect(self.seek)
        self._make_parts()
        self._make_table()
        self._lay_out()
        self._show_state()

    def _make_parts(self) -> None:
        self.title = plain_label("Sharing of steer motors")
        self.title.setFont(sized(self.title.font(), "text", strong=True))
        self.told = plain_label()
        self.told.setWordWrap(True)
        self.progress = QProgressBar()
        self.progress.setAccessibleName("Progress of the search for the best sharing")
        self.progress.setRange(0, 100)
        self.stop = QPushButton("Stop")
        self.stop.setToolTip("Stop the search; Find starts it again.")
        self.stop.clicked.connect(self._give_up)
        self.start = QPushButton("Find")
        self.start.setToolTip("Search for the best sharing for each number of steer motors.")
        self.start.clicked.connect(self.seek)
        self.details = plain_label()
        self.details.setWordWrap(True)
        self.use = QPushButton("Use this sharing")
        self.use.setToolTip("Replace the steer motors by the chosen sharing; one undo takes it back.")
        self.use.clicked.connect(self.take_up)

    def _make_table(self) -> None:
        self.model = QStandardItemModel(0, len(HEADS), self)
        self.model.setSortRole(_KEY)
        for column, (head, tip) in enumerate(HEADS):
            item = QStandardItem(head)
            item.setToolTip(f"{tip} Click to sort.")
            self.model.setHorizontalHeaderItem(column, item)
        self.table = _Table()
        self.table.setModel(self.model)
        self.table.selectionModel().selectionChanged.connect(self._show_chosen)

    def _lay_out(self) -> None:
        busy = QHBoxLayout()
        busy.addWidget(self.progress, 1)
        busy.addWidget(self.stop)
        busy.addWidget(self.start)
        busy.addStretch(0)
        acts = QHBoxLayout()
        acts.addWidget(self.use)
        acts.addStretch(1)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(4)
        for part in (self.title, self.told):
            layout.addWidget(part)
        layout.addLayout(busy)
        layout.addWidget(self.table)
        layout.addWidget(self.details)
        layout.addLayout(acts)

    def refresh_theme(self) -> None:
        """Follow a change from light to dark or back."""
        self.table.setPalette(table_palette())

    # When it searches ------------------------------------------------------------------

    def show_view(self, view: View) -> None:
        """Search anew where the answer may be another; stop while something is dragged."""
        if view.previewing:
            self._rest()
            return
        design = view.design
        self._design = design
        if self._document.length_unit != self._unit:
            self._unit = self._document.length_unit
            self._show_unit()
        self.setVisible(wanted(design))
        lacking = len(motor_edits.lacking(design, "steer"))
        self.title.setText(
            f"{lacking} steered {'wheels lack' if lacking > 1 else 'wheel lacks'} a steer motor"
            if lacking
            else "Sharing of steer motors"
        )
        if not wanted(design):
            self._rest()
        elif _question(design) != self._asked:
            self._rest()
            self._asked = None
            self._show_found(())
            if self.isVisible():
                self._wait.start()

    def showEvent(self, event: QShowEvent) -> None:
        """Search for what was not searched while it was out of sight."""
        super().showEvent(event)
        if self._asked is None and wanted(self._design):
            self._wait.start()

    def hideEvent(self, event: QHideEvent) -> None:
        """Leave no search behind."""
        super().hideEvent(event)
        self._rest()
        for job in self._ending:
            job.stop()
            job.deleteLater()
        self._ending = []

    def _rest(self) -> None:
        """Stop waiting and searching; what was being searched for counts as not asked.

        Nothing waits for the search to stop: a drag that begins would stand still meanwhile.
        """
        self._wait.stop()
        self._stopped = False
        if self._job is not None:
            self._job.cancel()
            self._ending.append(self._job)
            self._job, self._asked = None, None
            self._say("")
            self._show_state()

    def seek(self) -> None:
        """Start the search; the window stays usable meanwhile."""
        from app.jobs import Job  # late: the window opens without it

        self._rest()
        design = self._design
        self._asked = _question(design)
        job = Job(lambda progress: search(design, progress), self)
        job.progressed.connect(lambda share: self._progressed(job, share))
        job.ended.connect(lambda: self._end(job))
        job.done.connect(self._done)
        job.failed.connect(lambda why: self._say(f"{why[:1].upper()}{why[1:]}."))
        self._job = job
        self._show_found(())
        job.start()

    def _give_up(self) -> None:
        """Stop, and do not start again by itself."""
        asked = self._asked
        self._rest()
        self._asked, self._stopped = asked, True
        self._show_state()
        self._say("The search was stopped.")

    def _progressed(self, job: Job, share: float) -> None:
        if job is self._job:
            self.progress.setValue(round(100 * share))

    def _end(self, job: Job) -> None:
        """The thread of a search is gone; what it found comes after, unless it was told to stop."""
        job.deleteLater()
        if job is self._job:
            self._job = None
            self._show_found(())
        else:
            self._ending.remove(job)

    def _done(self, found: tuple[Grouping, ...]) -> None:
        self._show_found(found)
        best = recommended(found)
        if best is not None:
            self.table.selectRow(found.index(best))

    def _say(self, text: str) -> None:
        self.told.setText(text)
        self.told.setVisible(bool(text))

    # What it shows ---------------------------------------------------------------------

    def _show_unit(self) -> None:
        """Show what was found in the unit of the screen."""
        for column, (head, _tip) in enumerate(HEADS):
            here = drag_unit(self._unit, short=True)
            self.model.horizontalHeaderItem(column).setText(head.replace(drag_unit("mm", short=True), here))
        row = self.table.currentIndex().row()
        self._show_found(self._found)
        if row >= 0:
            self.table.selectRow(row)

    def _show_found(self, found: Sequence[Grouping]) -> None:
        self._found = tuple(found)
        self.model.setRowCount(0)
        for number, grouping in enumerate(found):
            self.model.appendRow([_item(number, *cell) for cell in _cells(grouping, self._unit)])
        self.table.fit_rows()
        self._say("")
        self._show_state()

    def _show_state(self) -> None:
        busy, found = self._job is not None, bool(self._found)
        if busy:
            self._say("Searching for the best sharing …")
        self.progress.setVisible(busy)
        self.progress.setValue(0)
        self.stop.setVisible(busy)
        self.stop.setEnabled(busy)
        self.start.setVisible(self._stopped)
        for part in (self.table, self.details, self.use):
            part.setVisible(found)
        self._show_chosen()

    @property
    def chosen(self) -> Grouping | None:
        """The sharing that is selected."""
        rows = self.table.selectionModel().selectedRows()
        return self._found[rows[0].data(_NUMBER)] if rows and self._found else None

    def _show_chosen(self) -> None:
        chosen, names = self.chosen, [wheel.name for wheel in self._design.wheels]
        self.use.setEnabled(chosen is not None)
        self.details.setText(
            ""
            if chosen is None
            else f"{gain_words(names, chosen, self._unit)}\n{sharing_lines(names, chosen.groups)}"
        )

    def take_up(self) -> None:
        """Replace the steer motors by the chosen sharing, as one step."""
        chosen = self.chosen
        if chosen is None:
            return
        names = [wheel.name for wheel in self._design.wheels]
        groups = [[(names[wheel], ratio) for wheel, ratio in group] for group in chosen.groups]
        count = "1 steer motor" if len(groups) == 1 else f"{len(groups)} steer motors"
        self._document.edit(f"Share {count}", lambda d: motor_edits.group_steering(d, groups))


class _Table(QTableView):
    """As high as its rows; their number differs little."""

    def __init__(self) -> None:
        super().__init__()
        self.setAccessibleName("Best sharing for each number of steer motors")
        self.setTabKeyNavigation(False)  # Tab leaves it; arrows move within
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setShowGrid(False)
        self.setSortingEnabled(True)
        self.verticalHeader().hide()
        self.verticalHeader().setDefaultSectionSize(_ROW)
        head = self.horizontalHeader()
        head.setSortIndicator(-1, Qt.SortOrder.AscendingOrder)
        head.setHighlightSections(False)  # bold heads would not fit
        head.setFont(sized(head.font(), "small"))
        self.setPalette(table_palette())
        head.setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        head.setStretchLastSection(True)
        self.setWordWrap(False)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        enable_copy(self)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Share the width out anew."""
        super().resizeEvent(event)
        self._share_out()

    def _share_out(self) -> None:
        """Give each column what it needs and an equal part of the rest.

        Qt's own need of a head has room for an arrow in each, which the narrowest panel has not.
        """
        metrics = self.horizontalHeader().fontMetrics()
        needs = []
        for column, (head, _) in enumerate(HEADS):
            words = max(metrics.horizontalAdvance(line) for line in head.splitlines()) + _HEAD_MARGIN
            needs.append(max(words, self.sizeHintForColumn(column)))
        each = max(self.viewport().width() - sum(needs), 0) // len(needs)
        for column, need in enumerate(needs):
            self.setColumnWidth(column, need + each)

    def minimumSizeHint(self) -> QSize:
        """It is as narrow as its panel."""
        return QSize(160, super().minimumSizeHint().height())

    def fit_rows(self) -> None:
        """Take the height of the rows that there are."""
        rows = min(self.model().rowCount(), _MOST_ROWS)
        self.setFixedHeight(self.horizontalHeader().sizeHint().height() + _ROW * rows + 4)
        self._share_out()

    def changeEvent(self, event: QEvent) -> None:
        """Follow another font."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.FontChange and self.model() is not None:
            self.fit_rows()


def _cells(grouping: Grouping, unit: LengthUnit) -> tuple[tuple[str, Any], ...]:
    """Text and sort key of each column."""
    return (
        (f"{grouping.motors}", grouping.motors),
        (f"{in_drag_unit(grouping.worst, unit):.{decimals(unit, 1)}f}", grouping.worst),
        ("off course" if grouping.off_course else radius_words(grouping), grouping.radius_error),
        (flips_in_short(grouping, 2), len(grouping.flips)),
    )


def _item(number: int, text: str, key: Any) -> QStandardItem:
    item = QStandardItem(text)
    item.setData(key, _KEY)
    item.setData(number, _NUMBER)
    item.setToolTip(plain_tip(text))
    item.setTextAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
    return item
