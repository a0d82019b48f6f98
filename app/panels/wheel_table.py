"""Tables of all wheels, their places and what they do at this turn; they sort, copy, and select."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from PySide6.QtCore import QItemSelection, QItemSelectionModel, QSortFilterProxyModel, Qt, QTimer
from PySide6.QtGui import QResizeEvent, QStandardItemModel
from PySide6.QtWidgets import QAbstractItemView, QFrame, QHeaderView, QTableView, QVBoxLayout

from app.design.references import Kind, references_to, selected
from app.document import Document
from app.panels.form import enable_copy
from app.panels.panel import Panel
from app.picture.view import View, WheelRow
from app.plain import plain_label, plain_tip
from app.theme import colour, current_theme, sized, table_palette
from app.units import LengthUnit, decimals, in_length_unit, show_angle, show_length
from app.words.lengths import drag_unit, in_drag_unit
from geometry.kinematics.alignment import CALM, STATES
from geometry.model.wheel import Wheel

STATE_MARKS = {"aligned": "●", "pivots": "◉", "swings round": "↻", "slight drag": "△", "drags": "▲"}


@dataclass(frozen=True)
class Column:
    """One column: its head, what it means, how a row is shown and by what it sorts."""

    head: str
    tip: str
    text: Callable[[Any, LengthUnit], str]
    key: Callable[[Any], Any]
    widest: str
    """Its widest usual text, from which its first width follows."""
    unit: Literal["", "%", "length", "drag"] = ""
    """What stands below the head."""
    from_width: int = 0
    """It is shown from this width of the panel on [px]."""


def _length(value: float, unit: LengthUnit) -> str:
    """Always with the same decimals, so that the points stand below each other."""
    if math.isinf(value):
        return "∞"
    return f"{in_length_unit(value, unit):.{decimals(unit, 1)}f}"


def _drag(row: WheelRow, unit: LengthUnit) -> str:
    return "–" if row.state in ("pivots", "swings round") else _drag_number(row.drag, unit)


def _drag_number(value: float, unit: LengthUnit) -> str:
    return f"{in_drag_unit(value, unit):.{decimals(unit, 1)}f}"


def _angle(row: WheelRow) -> float:
    return row.steer if row.kind == "steered" else row.heading


TURN_COLUMNS = (
    Column("Wheel", "Name of the wheel", lambda r, _u: r.name, lambda r: r.name, "middle right"),
    Column(
        "Angle",
        "Steer angle, left positive; for fixed wheels and casters where they point",
        lambda r, _u: show_angle(_angle(r)),
        _angle,
        "-135.0°",
    ),
    Column(
        "Radius",
        "Turning radius: from the turn centre to the contact point",
        lambda r, u: _length(r.radius, u),
        lambda r: r.radius,
        "10000.0",
        unit="length",
        from_width=440,
    ),
    Column(
        "Speed",
        "Rolling speed in percent of full speed; negative rolls backward",
        lambda r, _u: f"{100.0 * r.speed + 0.0:.1f}",
        lambda r: r.speed,
        "-100.0",
        unit="%",
        from_width=520,
    ),
    Column(
        "Miss",
        "How far the axle line misses the turn centre",
        lambda r, u: _length(r.miss, u),
        lambda r: r.miss,
        "1000.0",
        unit="length",
    ),
    Column(
        "Drag",
        "Dragged sideways for each length travelled",
        _drag,
        lambda r: r.drag,
        "1000.0",
        unit="drag",
        from_width=440,
    ),
    Column(
        "State",
        "Aligned, slight drag or drags, by the slip angle; pivots where the tyre covers the turn centre; "
        "swings round where the centre is nearer to a caster than its trail",
        lambda r, _u: f"{STATE_MARKS[r.state]} " + ", ".join((r.state, *r.notes)),
        lambda r: STATES.index(r.state) + abs(r.slip) / math.pi,
        "△ slight drag",
    ),
)
PLACE_COLUMNS = (
    Column("Wheel", "Name of the wheel", lambda w, _u: w.name, lambda w: w.name, "rear middle right"),
    Column(
        "x",
        "Kingpin, forward of the origin",
        lambda w, u: show_length(w.x_mm, u, suffix=False),
        lambda w: w.x_mm,
        "-10000.5",
        unit="length",
    ),
    Column(
        "y",
        "Kingpin, to the left of the origin; negative is right",
        lambda w, u: show_length(w.y_mm, u, suffix=False),
        lambda w: w.y_mm,
        "-10000.5",
        unit="length",
    ),
)


class WheelModel(QStandardItemModel):
    """Rows of a view; `SORT_ROLE` gives the numbers behind the text.

    Qt holds the cells: a table that asks Python for each of them takes longer to paint than the plan.
    """

    SORT_ROLE = Qt.ItemDataRole.UserRole

    def __init__(self, columns: Sequence[Column]) -> None:
        super().__init__(0, len(columns))
        self._columns = tuple(columns)
        self._rows: tuple[Any, ...] = ()
        self._unit: LengthUnit = "mm"
        self._show_heads()

    def show_rows(self, rows: Sequence[WheelRow | Wheel], unit: LengthUnit) -> None:
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
            if row is not shown and row != shown:
                for place, column in enumerate(self._columns):
                    self._show_cell(number, place, column, row)
        self._rows = tuple(rows)

    def forget(self) -> None:
        """Write every cell anew next time."""
        self._rows = (None,) * len(self._rows)

    def _show_cell(self, number: int, place: int, column: Column, row: WheelRow | Wheel) -> None:
        index, text = self.index(number, place), column.text(row, self._unit)
        role = Qt.ItemDataRole
        left = column.head in ("Wheel", "Part", "State")
        side = Qt.AlignmentFlag.AlignLeft if left else Qt.AlignmentFlag.AlignRight
        values: dict[int, Any] = {
            role.DisplayRole: text,
            role.ToolTipRole: plain_tip(
                f"{row.name} ({row.kind})\n{column.tip}: {text}{_ideal(column, row)}"
            ),
            role.TextAlignmentRole: int(side | Qt.AlignmentFlag.AlignVCenter),
            WheelModel.SORT_ROLE: column.key(row),
        }
        if column.head == "State" and isinstance(row, WheelRow):
            theme = current_theme()
            values[role.ForegroundRole] = colour(theme.ink if row.state in CALM else theme.state(row.state))
        self.setItemData(index, values)

    def _show_heads(self) -> None:
        across = Qt.Orientation.Horizontal
        for place, column in enumerate(self._columns):
            units = {"length": self._unit, "drag": drag_unit(self._unit, short=True)}
            unit = units.get(column.unit, column.unit)
            self.setHeaderData(place, across, f"{column.head} {unit}".rstrip())
            self.setHeaderData(place, across, f"{column.tip}. Click to sort.", Qt.ItemDataRole.ToolTipRole)


def _ideal(column: Column, row: WheelRow | Wheel) -> str:
    """The angle that would suit, where it is another than that as built."""
    if column.head != "Angle" or not isinstance(row, WheelRow) or row.ideal is None:
        return ""
    return f" as built, ideal {show_angle(row.ideal)}"


def _and(words: Sequence[str]) -> str:
    return " and ".join(filter(None, (", ".join(words[:-1]), *words[-1:])))


_ROW, _HEAD_HEIGHT, _MOST_ROWS = 26, 26, 10


class WheelTable(Panel):
    """A table with a row for each wheel; its selection is the document's."""

    COLUMNS: tuple[Column, ...] = ()
    NAME = "Wheels"
    KIND: Kind = "wheel"
    """What the rows are."""
    NONE = "No wheels yet."

    def __init__(self, document: Document) -> None:
        super().__init__(document)
        self._unit: LengthUnit = "mm"
        self._showing = False
        self.model = WheelModel(self.COLUMNS)
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
        self.table.setAccessibleName(self.NAME)
        self.table.setTabKeyNavigation(False)
        self.table.setShowGrid(False)
        self.table.setFrameShape(QFrame.Shape.NoFrame)
        self.table.verticalHeader().hide()
        self.table.verticalHeader().setDefaultSectionSize(_ROW)
        header = self.table.horizontalHeader()
        header.setFixedHeight(_HEAD_HEIGHT)
        header.setSectionResizeMode(QHeaderView.ResizeMode.Interactive)
        header.setSectionResizeMode(0, QHeaderView.ResizeMode.Stretch)
        header.setMinimumSectionSize(34)
        header.setHighlightSections(False)
        header.setFont(sized(self.font(), "small"))
        metrics = self.table.fontMetrics()
        heads = header.fontMetrics()
        for column, spec in enumerate(self.COLUMNS):
            head = f"{spec.head} {'inch' if spec.unit == 'length' else spec.unit}"
            wide = max(metrics.horizontalAdvance(spec.widest), heads.horizontalAdvance(head))
            self.table.setColumnWidth(column, wide + 12)
        self.table.setPalette(table_palette())
        self.table.selectionModel().selectionChanged.connect(self._selected)
        enable_copy(self.table)
        self.none = plain_label(self.NONE)
        self.none.setContentsMargins(12, 4, 12, 8)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 4)
        layout.addWidget(self.none)
        layout.addWidget(self.table)
        self.unseen = plain_label()
        self.unseen.setWordWrap(True)
        self.unseen.setContentsMargins(12, 2, 12, 4)
        self.unseen.setFont(sized(self.font(), "small"))
        self.unseen.hide()
        self._unseen_later = QTimer(self)
        self._unseen_later.setSingleShot(True)
        self._unseen_later.setInterval(0)
        self._unseen_later.timeout.connect(self._tell_unseen)
        layout.addWidget(self.unseen)
        self.show_view(document.view)

    def rows(self, view: View) -> Sequence[WheelRow | Wheel]:
        """What stands in the rows."""
        raise NotImplementedError

    def summary(self, view: View) -> str:
        """How many wheels there are."""
        count = len(view.design.wheels)
        return f"{count} wheel{'' if count == 1 else 's'}"

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Leave columns away that a narrow panel has no room for; copied rows hold them all the same."""
        super().resizeEvent(event)
        for place, column in enumerate(self.COLUMNS):
            self.table.setColumnHidden(place, event.size().width() < column.from_width)
        # Later, and not from within: what is shown below may change the width, and with it what is told.
        self._unseen_later.start()

    def _tell_unseen(self) -> None:
        """Say below which columns there is no room for, and how to see them."""
        heads = [c.head for place, c in enumerate(self.COLUMNS) if self.table.isColumnHidden(place)]
        self.unseen.setVisible(bool(heads) and not self.table.isHidden())
        words = f"No room for {_and(heads)}: widen the panel, or open the section in a window of its own."
        if heads and self.unseen.text() != words:
            self.unseen.setText(words)

    def set_unit(self, unit: LengthUnit) -> None:
        """Show lengths in another unit."""
        self._unit = unit
        self.refresh()

    def refresh_theme(self) -> None:
        """Follow a change from light to dark or back."""
        self.table.setPalette(table_palette())
        self.model.forget()
        self.refresh()

    def show_view(self, view: View) -> None:
        """Show the wheels of this view."""
        self._showing = True
        rows = self.rows(view)
        if len(rows) != self.model.rowCount() or self.table.isHidden() != (not rows):
            self.table.setFixedHeight(_HEAD_HEIGHT + _ROW * min(len(rows), _MOST_ROWS) + 2)
            self.table.setVisible(bool(rows))
            if not rows:
                self.table.clearFocus()  # in a window of its own there is no other place for the keyboard
            self.none.setVisible(not rows)
            self._tell_unseen()
        self.model.show_rows(rows, self._unit)
        wanted = set(selected(view.selection, self.KIND))
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
            chosen = {self.order.mapToSource(index).row() for index in rows}
            self._document.select(references_to(self.KIND, chosen))


class TurnTable(WheelTable):
    """What each wheel does at the turn that is shown."""

    COLUMNS = TURN_COLUMNS
    NAME = "Wheels at this turn"

    def rows(self, view: View) -> Sequence[WheelRow]:
        """Live numbers."""
        return view.rows


class PlaceTable(WheelTable):
    """Where each wheel stands."""

    COLUMNS = PLACE_COLUMNS

    def rows(self, view: View) -> Sequence[Wheel]:
        """As designed."""
        return view.design.wheels
