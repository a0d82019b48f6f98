"""The columns of a table in a file: which are written, and the first rows as they will be."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Mapping, Sequence

from PySide6.QtCore import QSortFilterProxyModel, Qt, Signal
from PySide6.QtGui import QStandardItem, QStandardItemModel
from PySide6.QtWidgets import QAbstractItemView, QTableView, QTreeWidget, QTreeWidgetItem

from app.controller.steering_table import FLAGS
from app.panels.form import enable_copy
from app.plain import plain_tip

ALWAYS = "turn_input"
"""The column without which a row says nothing."""
_MOTION = "Motion"
_ENDINGS = (
    ("_ideal_steer_deg", "Ideal angles"),
    ("_steer_deg", "Angles"),
    ("_heading_deg", "Angles"),
    ("_miss_mm", "Misses"),
    ("_drag_mm_per_m", "Drags"),
    ("_slip_mm_per_m", "Lengthwise slips"),
    ("_speed", "Speeds"),
)
_OF_MOTION = {
    *("turn_input", "speed_ratio", "left_speed", "right_speed", "turn_radius_mm"),
    *("true_turn_radius_mm", "faster_side_mm_per_s"),
}
_WIDEST = 260
_ROLE = Qt.ItemDataRole.UserRole


def group_of(column: str) -> str:
    """What kind of column one is, for a tick that chooses all of a kind.

    Examples
    --------
    >>> group_of("turn_radius_mm"), group_of("front_left_steer_deg"), group_of("shaft_counts")
    ('Motion', 'Angles', 'Motors')
    """
    if column in _OF_MOTION:
        return _MOTION
    if column == FLAGS:
        return "Flags"
    return next((group for ending, group in _ENDINGS if column.endswith(ending)), "Motors")


class ColumnChoice(QTreeWidget):
    """Ticks for the kinds of columns, and below each for its columns."""

    chosen_changed = Signal()

    def __init__(self) -> None:
        super().__init__()
        self.setHeaderHidden(True)
        self.setAccessibleName("Columns of the file")
        self.setToolTip("Tick the columns that the file shall have. The turn input is always there.")
        self.setUniformRowHeights(True)
        self._left_out: set[str] = set()
        self._shown: tuple[str, ...] = ()
        self.itemChanged.connect(self._changed)

    def show_columns(self, columns: Sequence[str]) -> None:
        """List these columns; which are left out stays as it was."""
        if tuple(columns) == self._shown:
            return
        self._shown = tuple(columns)
        self.blockSignals(True)  # noqa: FBT003
        self.clear()
        groups: dict[str, QTreeWidgetItem] = {}
        for column in columns:
            name = group_of(column)
            if name not in groups:
                groups[name] = QTreeWidgetItem(self, [name])
                groups[name].setFlags(groups[name].flags() | Qt.ItemFlag.ItemIsAutoTristate)
            item = QTreeWidgetItem(groups[name], [column])
            state = Qt.CheckState.Unchecked if column in self._left_out else Qt.CheckState.Checked
            item.setCheckState(0, state)
            item.setDisabled(column == ALWAYS)
        for name, group in groups.items():
            only = group.takeChild(0) if group.childCount() == 1 and name != _MOTION else None
            if only is not None:
                self._alone(group, only)
        self.blockSignals(False)  # noqa: FBT003

    @staticmethod
    def _alone(group: QTreeWidgetItem, item: QTreeWidgetItem) -> None:
        """A kind of one column needs no second tick."""
        group.setFlags(group.flags() & ~Qt.ItemFlag.ItemIsAutoTristate | Qt.ItemFlag.ItemIsUserCheckable)
        group.setText(0, item.text(0))
        group.setCheckState(0, item.checkState(0))

    @property
    def chosen(self) -> set[str]:
        """Names of the columns that are written."""
        return set(self._shown) - self._left_out

    def choose(self, left_out: set[str]) -> None:
        """Leave out these columns and no others."""
        self._left_out = left_out - {ALWAYS}
        shown, self._shown = self._shown, ()
        self.show_columns(shown)
        self.chosen_changed.emit()

    def _changed(self, _item: QTreeWidgetItem, _column: int) -> None:
        found = {
            item.text(0)
            for item in self.findItems("*", Qt.MatchFlag.MatchWildcard | Qt.MatchFlag.MatchRecursive)
            if not item.childCount() and item.checkState(0) == Qt.CheckState.Unchecked
        } - {ALWAYS}
        if found != self._left_out:
            self._left_out = found
            self.chosen_changed.emit()


class TablePreview(QTableView):
    """The rows of a CSV text in columns: they sort by their numbers, and are copied with their heads."""

    def __init__(self) -> None:
        super().__init__()
        self._model = QStandardItemModel(self)
        self._order = QSortFilterProxyModel(self)
        self._order.setSourceModel(self._model)
        self._order.setSortRole(_ROLE)
        self.setModel(self._order)
        self.setAccessibleName("Preview of the file in columns")
        self.setSortingEnabled(True)
        self.setTabKeyNavigation(False)  # Tab leaves it; arrows move within
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setAlternatingRowColors(True)
        self.verticalHeader().hide()
        self.verticalHeader().setDefaultSectionSize(24)
        enable_copy(self)

    def show_text(self, text: str, names: Mapping[str, str]) -> None:
        """Show a CSV text; `names` are those of wheels whose columns do not tell them."""
        rows = list(csv.reader(io.StringIO(text)))
        self.horizontalHeader().setSortIndicator(-1, Qt.SortOrder.AscendingOrder)
        self._order.sort(-1)
        self._model.clear()
        if not rows:
            return
        self._model.setHorizontalHeaderLabels(rows[0])
        for n, head in enumerate(rows[0]):
            owner = next((f" ({name})" for slug, name in names.items() if head.startswith(f"{slug}_")), "")
            self._model.horizontalHeaderItem(n).setToolTip(plain_tip(f"{head}{owner}. Click to sort."))
        for row in rows[1:]:
            self._model.appendRow([_cell(text) for text in row])
        self.resizeColumnsToContents()
        for n in range(len(rows[0])):
            self.setColumnWidth(n, min(self.columnWidth(n), _WIDEST))


def _cell(text: str) -> QStandardItem:
    """A cell that sorts as a number where it is one."""
    item = QStandardItem(text)
    try:
        value: float | str = float(text)
    except ValueError:
        value = text
    side = Qt.AlignmentFlag.AlignRight if isinstance(value, float) else Qt.AlignmentFlag.AlignLeft
    item.setTextAlignment(side | Qt.AlignmentFlag.AlignVCenter)
    item.setData(_finite(value), _ROLE)
    return item


def _finite(value: float | str) -> float | str:
    # Qt finds no order among infinite numbers of a table.
    return math.copysign(1e308, value) if isinstance(value, float) and math.isinf(value) else value
