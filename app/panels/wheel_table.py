"""The table of all wheels with live numbers: sorts, copies, and selects on the plan."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from PySide6.QtCore import QItemSelection, QItemSelectionModel, QSortFilterProxyModel, Qt
from PySide6.QtGui import QStandardItemModel
from PySide6.QtWidgets import QAbstractItemView, QHeaderView, QTableView, QVBoxLayout

from app.design.references import references_to
from app.document import Document
from app.panels.form import enable_copy
from app.panels.panel import Panel
from app.picture.view import View, WheelRow
from app.plain import plain_tip
from app.theme import colour, current_theme
from app.units import MM_PER_INCH, LengthUnit, show_angle
from geometry.kinematics.alignment import CALM, STATES

STATE_MARKS = {"aligned": "●", "pivots": "◉", "swings round": "↻", "slight drag": "△", "drags": "▲"}


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
        lambda r, _u: "–" if r.state in ("pivots", "swings round") else f"{r.drag:.1f}",
        lambda r: r.drag,
    ),
    Column(
        "State",
        "Aligned, slight drag or drags, by the slip angle; pivots where the tyre covers the turn centre; "
        "swings round where the centre is nearer to a caster than its trail",
        lambda r, _u: f"{STATE_MARKS[r.state]} " + ", ".join((r.state, *r.notes)),
        lambda r: STATES.index(r.state) + abs(r.slip) / math.pi,
    ),
)
# The widest usual text of each column but the last, from which the first widths follow.
_WIDEST = ("rear middle right", "-135.0°", "10000.0", "Speed_", "1000.0", "1000.0")
_NUMBERS = range(1, 6)
_ANGLE, _STATE = 1, 6


class WheelModel(QStandardItemModel):
    """Rows of a view; `SORT_ROLE` gives the numbers behind the text.

    Qt holds the cells: a table that asks Python for each of them takes longer to paint than the plan.
    """

    SORT_ROLE = Qt.ItemDataRole.UserRole

    def __init__(self) -> None:
        super().__init__(0, len(COLUMNS))
        self._rows: tuple[WheelRow | None, ...] = ()
        self._unit: LengthUnit = "mm"
        self._show_heads()

    def show_rows(self, rows: tuple[WheelRow, ...], unit: LengthUnit) -> None:
        """Show other rows; a change of numbers alone keeps selection and scroll."""
        if unit != self._unit:
            self._unit = unit
            self._show_heads()
            self.forget()
        if len(rows) != len(self._rows):
            self.setRowCount(0)
            self.setRowCount(len(rows))
            self._rows = (None,) * len(rows)
        for number, (row, shown) in enumerate(zip(rows, self._rows, strict=True)):
            if row != shown:
                for place, column in enumerate(COLUMNS):
                    self._show_cell(number, place, column, row)
        self._rows = rows

    def forget(self) -> None:
        """Write every cell anew next time."""
        self._rows = (None,) * len(self._rows)

    def _show_cell(self, number: int, place: int, column: Column, row: WheelRow) -> None:
        index, text = self.index(number, place), column.text(row, self._unit)
        role = Qt.ItemDataRole
        right = Qt.AlignmentFlag.AlignRight if place in _NUMBERS else Qt.AlignmentFlag.AlignLeft
        ideal = "" if place != _ANGLE or row.ideal is None else f" as built, ideal {show_angle(row.ideal)}"
        values: dict[int, Any] = {
            role.DisplayRole: text,
            role.ToolTipRole: plain_tip(f"{row.name} ({row.kind})\n{column.tip}: {text}{ideal}"),
            role.TextAlignmentRole: int(right | Qt.AlignmentFlag.AlignVCenter),
            WheelModel.SORT_ROLE: column.key(row),
        }
        if place == _STATE:
            theme = current_theme()
            values[role.ForegroundRole] = colour(theme.ink if row.state in CALM else theme.state(row.state))
        self.setItemData(index, values)

    def _show_heads(self) -> None:
        across = Qt.Orientation.Horizontal
        units = {"Radius": self._unit, "Miss": self._unit, "Drag": "mm/m"}
        for place, column in enumerate(COLUMNS):
            unit = units.get(column.head)
            self.setHeaderData(place, across, f"{column.head}\n{unit}" if unit else column.head)
            self.setHeaderData(place, across, f"{column.tip}. Click to sort.", Qt.ItemDataRole.ToolTipRole)


class WheelTable(Panel):
    """The table; its selection is the document's."""

    def __init__(self, document: Document) -> None:
        super().__init__(document)
        self._unit: LengthUnit = "mm"
        self._showing = False
        self.model = WheelModel()
        self.order = QSortFilterProxyModel(self)
        self.order.setSortRole(WheelModel.SORT_ROLE)
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
        self.show_view(document.view)

    def set_unit(self, unit: LengthUnit) -> None:
        """Show lengths in another unit."""
        self._unit = unit
        self.refresh()

    def refresh_theme(self) -> None:
        """Follow a change from light to dark or back."""
        self.model.forget()
        self.refresh()

    def show_view(self, view: View) -> None:
        """Show the wheels of this view."""
        self._showing = True
        self.model.show_rows(view.rows, self._unit)
        wanted = set(view.selected_wheels)
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
            wheels = {self.order.mapToSource(index).row() for index in rows}
            self._document.select(references_to("wheel", wheels))
