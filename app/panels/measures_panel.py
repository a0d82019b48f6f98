"""The room to turn at the turn that is shown, and the least and most of it over the range."""

from __future__ import annotations

import math
from dataclasses import dataclass

from PySide6.QtCore import QModelIndex, QSortFilterProxyModel, Qt
from PySide6.QtGui import QStandardItem, QStandardItemModel
from PySide6.QtWidgets import QAbstractItemView, QFrame, QHeaderView, QTableView, QVBoxLayout

from app.design.facts import Facts
from app.document import Document
from app.panels.form import enable_copy
from app.panels.panel import Panel
from app.picture.view import View
from app.plain import plain_label, plain_tip
from app.theme import sized, table_palette
from app.units import LengthUnit, decimals, in_length_unit, show_number
from app.words.space_words import (
    LANE_TIP,
    MEASURES,
    OFF_TRACKING_TIP,
    Span,
    lane_sentence,
    off_tracking_name,
    reading,
    span_of,
)
from geometry.turn_range.sweep import turns_between
from geometry.turning_space.measures import Measures, measures_of

_SORT = Qt.ItemDataRole.UserRole
_TURN = Qt.ItemDataRole.UserRole + 1
_ROW, _HEAD_HEIGHT, _MOST_ROWS = 26, 26, 14
# Even turns of the range; straight ahead, both halves and both ends are among them.
_RANGE_ROWS = 81
_HEADS = (
    ("Measure", "What is measured, as built. Click to sort."),
    ("This turn", "At the turn that is shown. Click to sort."),
    ("Least", f"Least at {_RANGE_ROWS} even turns of the range in use. Click to sort."),
    ("Most", "Most at these turns; the gentler a turn, the larger its circles. Click to sort."),
)
_WIDEST = "10000.00"
_WAITS = "…"


@dataclass(frozen=True)
class _Row:
    """One line of the table."""

    name: str
    tip: str
    now: str
    key: float
    span: Span | None
    waits: bool
    """Whether the range is not worked out yet."""


class MeasuresPanel(Panel):
    """A table of measures; Enter or a double click on a least or most goes to its turn."""

    def __init__(self, document: Document) -> None:
        super().__init__(document)
        self._unit: LengthUnit = "mm"
        self._spans: list[Span | None] | None = None
        self._spans_of: Facts | None = None
        self._shown: list[_Row | None] = []
        self.model = QStandardItemModel(0, len(_HEADS), self)
        for place, (head, tip) in enumerate(_HEADS):
            self.model.setHeaderData(place, Qt.Orientation.Horizontal, tip, Qt.ItemDataRole.ToolTipRole)
            self.model.setHeaderData(place, Qt.Orientation.Horizontal, head)
        self.order = QSortFilterProxyModel(self)
        self.order.setSortRole(_SORT)
        self.order.setSourceModel(self.model)
        self.order.setDynamicSortFilter(False)
        self.table = self._made_table()
        self.lane = plain_label("")
        self.lane.setWordWrap(True)
        self.lane.setToolTip(LANE_TIP)
        self.lane.setContentsMargins(12, 4, 12, 4)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 4)
        layout.addWidget(self.lane)
        layout.addWidget(self.table)
        self._show_heads()

    def _made_table(self) -> QTableView:
        table = QTableView()
        table.setModel(self.order)
        table.setSortingEnabled(True)
        table.horizontalHeader().setSortIndicator(-1, Qt.SortOrder.AscendingOrder)
        self.order.sort(-1)
        table.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        table.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        table.setAccessibleName("Measures")
        table.setTabKeyNavigation(False)
        table.setShowGrid(False)
        table.setFrameShape(QFrame.Shape.NoFrame)
        table.verticalHeader().hide()
        table.verticalHeader().setDefaultSectionSize(_ROW)
        header = table.horizontalHeader()
        header.setFixedHeight(_HEAD_HEIGHT)
        header.setSectionResizeMode(QHeaderView.ResizeMode.Interactive)
        header.setSectionResizeMode(0, QHeaderView.ResizeMode.Stretch)
        header.setHighlightSections(False)
        header.setFont(sized(table.font(), "small"))
        numbers, heads = table.fontMetrics(), header.fontMetrics()
        for column, (head, _) in enumerate(_HEADS[1:], start=1):
            wide = max(numbers.horizontalAdvance(_WIDEST), heads.horizontalAdvance(f"{head} mm"))
            table.setColumnWidth(column, wide + 12)
        table.setPalette(table_palette())
        table.activated.connect(self._go_there)
        enable_copy(table)
        return table

    def set_unit(self, unit: LengthUnit) -> None:
        """Show lengths in another unit."""
        self._unit = unit
        self._shown = [None] * len(self._shown)
        self._show_heads()
        self.refresh()

    def _show_heads(self) -> None:
        across = Qt.Orientation.Horizontal
        unit = "in" if self._unit == "inch" else "mm"
        for place, (head, _) in enumerate(_HEADS):
            self.model.setHeaderData(place, across, f"{head} {unit}" if place else head)

    def refresh_theme(self) -> None:
        """Follow a change from light to dark or back."""
        self.table.setPalette(table_palette())

    def show_view(self, view: View) -> None:
        """Measure this turn; the range only when the design is another, and not during a drag."""
        facts = view.facts
        found = measures_of(facts.robot, facts.design, [view.command.turn])
        if facts.previewing:
            self._spans, self._spans_of = None, None
        elif facts is not self._spans_of:
            self._spans, self._spans_of = _spans(facts), facts
        self.lane.setText(lane_sentence(found, self._unit))
        there = found.box is not None
        if not there:
            self.table.clearFocus()
        self.table.setVisible(there)
        self._show_rows(self._rows(view, found) if there else [])

    def _rows(self, view: View, found: Measures) -> list[_Row]:
        named = [(measure.name, measure.tip, float(measure.values(found)[0])) for measure in MEASURES]
        offs = found.off_tracking[0].tolist()
        named += [
            (off_tracking_name(wheel.name), OFF_TRACKING_TIP, off)
            for wheel, off in zip(view.design.wheels, offs, strict=True)
        ]
        waits = self._spans is None
        spans = self._spans or [None] * len(named)
        rows = []
        for number, ((name, tip, value), span) in enumerate(zip(named, spans, strict=True)):
            finite = math.isfinite(value)
            now = self._length(value) if finite else reading(MEASURES[number], found, 0, self._unit)
            rows.append(_Row(name, tip, now, value, span, waits))
        return rows

    def _length(self, mm: float) -> str:
        """Always with the same decimals, so that the points stand below each other."""
        return f"{in_length_unit(mm, self._unit):.{decimals(self._unit, 1)}f}"

    def _show_rows(self, rows: list[_Row]) -> None:
        if len(rows) != self.model.rowCount():
            self.model.setRowCount(0)
            for _ in rows:
                self.model.appendRow([_cell(column) for column in range(len(_HEADS))])
            self._shown = [None] * len(rows)
            self.table.setFixedHeight(_HEAD_HEIGHT + _ROW * min(len(rows), _MOST_ROWS) + 2)
        for number, (row, shown) in enumerate(zip(rows, self._shown, strict=True)):
            if row == shown:
                continue
            self._show_cell(number, 1, row.now, row.key, f"{row.name}\n{row.tip}: {row.now}")
            if shown is None or (row.name, row.span, row.waits) != (shown.name, shown.span, shown.waits):
                self._show_range(number, row)
        self._shown = list(rows)

    def _show_range(self, number: int, row: _Row) -> None:
        self._show_cell(number, 0, row.name, row.name, f"{row.name}\n{row.tip}")
        if row.span is None:
            for place in (2, 3):
                self._show_cell(number, place, _WAITS if row.waits else "–", math.inf, row.name)
            return
        ends = ((row.span.least, row.span.least_at), (row.span.most, row.span.most_at))
        for place, (length, turn) in enumerate(ends, start=2):
            tip = f"{row.name}\nAt turn {show_number(turn, 4)}. Enter or a double click goes there."
            self._show_cell(number, place, self._length(length), length, tip, turn)

    def _show_cell(
        self, row: int, column: int, text: str, key: str | float, tip: str, turn: float | None = None
    ) -> None:
        values = {
            Qt.ItemDataRole.DisplayRole: text,
            Qt.ItemDataRole.ToolTipRole: plain_tip(tip),
            _SORT: key,
            _TURN: turn,
        }
        self.model.setItemData(self.model.index(row, column), values)

    def _go_there(self, index: QModelIndex) -> None:
        turn = index.data(_TURN)
        if turn is not None:
            self._document.ask_turn(turn)


def _cell(column: int) -> QStandardItem:
    item = QStandardItem()
    side = Qt.AlignmentFlag.AlignRight if column else Qt.AlignmentFlag.AlignLeft
    item.setTextAlignment(side | Qt.AlignmentFlag.AlignVCenter)
    return item


def _spans(facts: Facts) -> list[Span | None]:
    """Least and most of each row over the range in use."""
    reach = facts.design.largest_turn
    over = measures_of(facts.robot, facts.design, turns_between(-reach, reach, _RANGE_ROWS))
    values = [*(measure.values(over) for measure in MEASURES), *over.off_tracking.T]
    return [span_of(each, over.turns) for each in values]
