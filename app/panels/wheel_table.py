"""The table of all wheels with live numbers: sorts, copies, and selects on the plan."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from PySide6.QtCore import (
    QAbstractTableModel,
    QItemSelection,
    QItemSelectionModel,
    QModelIndex,
    QPersistentModelIndex,
    QSortFilterProxyModel,
    Qt,
)
from PySide6.QtGui import QColor
from PySide6.QtWidgets import QAbstractItemView, QHeaderView, QTableView, QVBoxLayout, QWidget

from app.document import Document
from app.look import View, WheelRow
from app.panels.form import enable_copy
from app.theme import colour, current_theme
from app.units import MM_PER_INCH, LengthUnit, show_angle

_Index = QModelIndex | QPersistentModelIndex
STATE_MARKS = {"aligned": "●", "pivots": "◉", "slight drag": "△", "drags": "▲"}


@dataclass(frozen=True)
class Column:
    """One column: its head, what it means, how a row is shown and by what it sorts."""

    head: str
    tip: str
    text: Callable[[WheelRow, LengthUnit], str]
    key: Callable[[WheelRow], Any]


def _length(value: float, unit: LengthUnit) -> str:
    """Always with the same decimals, so that the points stand below each other."""
    if math.isinf(value):
        return "∞"
    return f"{value:.1f}" if unit == "mm" else f"{value / MM_PER_INCH:.3f}"


COLUMNS = (
    Column("Wheel", "Name of the wheel", lambda r, _u: r.name, lambda r: r.name),
    Column(
        "Angle",
        "Steer angle, left positive; for fixed wheels and casters where they point",
        lambda r, _u: show_angle(r.steer if r.kind == "steered" else r.heading),
        lambda r: r.steer if r.kind == "steered" else r.heading,
    ),
    Column(
        "Radius",
        "Turning radius: from the turn centre to the contact point",
        lambda r, u: _length(r.radius, u),
        lambda r: r.radius,
    ),
    Column(
        "Speed",
        "Rolling speed as a share of full speed; negative rolls backward",
        lambda r, _u: f"{r.speed + 0.0:.3f}",
        lambda r: r.speed,
    ),
    Column(
        "Miss",
        "How far the axle line misses the turn centre",
        lambda r, u: _length(r.miss, u),
        lambda r: r.miss,
    ),
    Column(
        "Drag",
        "Millimetres dragged sideways for each metre travelled",
        lambda r, _u: "–" if r.state == "pivots" else f"{r.drag:.1f}",
        lambda r: r.drag,
    ),
    Column(
        "State",
        "Aligned, slight drag or drags, by the slip angle; pivots where the tyre covers the turn centre",
        lambda r, _u: f"{STATE_MARKS[r.state]} " + ", ".join((r.state, *r.notes)),
        lambda r: (abs(r.slip), r.state),
    ),
)
# The widest usual text of each column but the last, from which the first widths follow.
_WIDEST = ("rear middle right", "-135.0°", "10000.0", "Speed_", "1000.0", "1000.0")
_NUMBERS = range(1, 6)
_STATE = 6


class WheelModel(QAbstractTableModel):
    """Rows of a view; `SORT_ROLE` gives the numbers behind the text."""

    SORT_ROLE = Qt.ItemDataRole.UserRole

    def __init__(self) -> None:
        super().__init__()
        self._rows: tuple[WheelRow, ...] = ()
        self._unit: LengthUnit = "mm"

    @property
    def rows(self) -> tuple[WheelRow, ...]:
        """The rows that are shown."""
        return self._rows

    def show_rows(self, rows: tuple[WheelRow, ...], unit: LengthUnit) -> None:
        """Show other rows; a change of numbers alone keeps selection and scroll."""
        same = len(rows) == len(self._rows)
        other_unit = unit != self._unit
        if not same:
            self.beginResetModel()
        self._rows, self._unit = rows, unit
        if not same:
            self.endResetModel()
        elif rows:
            self.dataChanged.emit(self.index(0, 0), self.index(len(rows) - 1, len(COLUMNS) - 1))
        if other_unit:
            self.headerDataChanged.emit(Qt.Orientation.Horizontal, 0, len(COLUMNS) - 1)

    def rowCount(self, parent: _Index = QModelIndex()) -> int:  # noqa: B008
        """Number of wheels."""
        return 0 if parent.isValid() else len(self._rows)

    def columnCount(self, parent: _Index = QModelIndex()) -> int:  # noqa: B008
        """Number of columns."""
        return 0 if parent.isValid() else len(COLUMNS)

    def data(self, index: _Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """Text, number behind it, alignment, colour or tooltip of a cell."""
        if not index.isValid() or index.row() >= len(self._rows):
            return None
        row, column = self._rows[index.row()], COLUMNS[index.column()]
        match role:
            case Qt.ItemDataRole.DisplayRole:
                return column.text(row, self._unit)
            case WheelModel.SORT_ROLE:
                return column.key(row)
            case Qt.ItemDataRole.TextAlignmentRole:
                right = index.column() in _NUMBERS
                side = Qt.AlignmentFlag.AlignRight if right else Qt.AlignmentFlag.AlignLeft
                return int(side | Qt.AlignmentFlag.AlignVCenter)
            case Qt.ItemDataRole.ForegroundRole:
                return self._colour(row, index.column())
            case Qt.ItemDataRole.ToolTipRole:
                return f"{row.name} ({row.kind})\n{column.tip}: {column.text(row, self._unit)}"
            case _:
                return None

    def _colour(self, row: WheelRow, column: int) -> QColor | None:
        if column == _STATE and row.state not in ("aligned", "pivots"):
            return colour(current_theme().state(row.state))
        return None

    def headerData(
        self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole
    ) -> Any:
        """Heads with their units, and what they mean."""
        if orientation != Qt.Orientation.Horizontal:
            return None
        column = COLUMNS[section]
        if role == Qt.ItemDataRole.DisplayRole:
            unit = {"Radius": self._unit, "Miss": self._unit, "Drag": "mm/m"}.get(column.head)
            return f"{column.head}\n{unit}" if unit else column.head
        if role == Qt.ItemDataRole.ToolTipRole:
            return f"{column.tip}. Click to sort."
        return None


class _Order(QSortFilterProxyModel):
    """Sorts by number; infinite last."""

    def lessThan(self, left: _Index, right: _Index) -> bool:
        """Compare the keys behind the text."""
        a = self.sourceModel().data(left, WheelModel.SORT_ROLE)
        b = self.sourceModel().data(right, WheelModel.SORT_ROLE)
        if isinstance(a, float) and isinstance(b, float) and (math.isnan(a) or math.isnan(b)):
            return False
        return bool(a < b)


class WheelTable(QWidget):
    """The table; its selection is the document's."""

    def __init__(self, document: Document) -> None:
        super().__init__()
        self._document = document
        self._unit: LengthUnit = "mm"
        self._showing = False
        self.model = WheelModel()
        self.order = _Order(self)
        self.order.setSourceModel(self.model)
        self.order.setDynamicSortFilter(False)
        self.table = QTableView()
        self.table.setModel(self.order)
        self.table.setSortingEnabled(True)
        self.table.horizontalHeader().setSortIndicator(-1, Qt.SortOrder.AscendingOrder)
        self.order.sort(-1)
        self.table.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.table.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.table.setAccessibleName("Wheels")
        self.table.setTabKeyNavigation(False)
        self.table.setAlternatingRowColors(True)
        self.table.setShowGrid(False)
        self.table.verticalHeader().hide()
        self.table.verticalHeader().setDefaultSectionSize(22)
        header = self.table.horizontalHeader()
        header.setSectionResizeMode(QHeaderView.ResizeMode.Interactive)
        header.setStretchLastSection(True)
        header.setMinimumSectionSize(34)
        metrics = self.table.fontMetrics()
        for column, widest in enumerate(_WIDEST):
            self.table.setColumnWidth(column, metrics.horizontalAdvance(widest) + 12)
        self.table.selectionModel().selectionChanged.connect(self._selected)
        enable_copy(self.table)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.addWidget(self.table)
        document.changed.connect(self.show_view)
        self.show_view(document.view)

    def set_unit(self, unit: LengthUnit) -> None:
        """Show lengths in another unit."""
        self._unit = unit
        self.show_view(self._document.view)

    def show_view(self, view: View) -> None:
        """Show the wheels of this view."""
        self._showing = True
        self.model.show_rows(view.rows, self._unit)
        wanted = view.selection
        model = self.table.selectionModel()
        shown = {self.order.mapToSource(index).row() for index in model.selectedRows()}
        if shown != wanted:
            chosen = QItemSelection()
            for i in sorted(wanted):
                index = self.order.mapFromSource(self.model.index(i, 0))
                chosen.select(index, index)
            flags = QItemSelectionModel.SelectionFlag
            model.select(chosen, flags.ClearAndSelect | flags.Rows)
        self._showing = False

    def _selected(self) -> None:
        if not self._showing:
            rows = self.table.selectionModel().selectedRows()
            self._document.select(self.order.mapToSource(index).row() for index in rows)
