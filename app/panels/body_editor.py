"""The editor of the body outline: corners as numbers, and the overhang at either end."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QPersistentModelIndex, Qt
from PySide6.QtWidgets import (
    QAbstractItemView,
    QFormLayout,
    QHBoxLayout,
    QHeaderView,
    QPushButton,
    QTableView,
    QVBoxLayout,
)

from app.design import body_edits
from app.document import Document
from app.panels.form import LENGTH, FieldMaker, add_row, enable_copy
from app.panels.panel import Panel
from app.picture.view import View
from app.units import LengthUnit, UnitError, parse_length, show_length
from geometry.model.design import Corner

_Index = QModelIndex | QPersistentModelIndex
_HEADS = ("x, forward", "y, left")


class CornerModel(QAbstractTableModel):
    """Corners of the outline; an edited cell asks the document."""

    def __init__(self, document: Document, symmetric: Callable[[], bool]) -> None:
        super().__init__()
        self._document = document
        self._symmetric = symmetric
        self._corners: tuple[Corner, ...] = ()
        self.unit: LengthUnit = "mm"

    def show_corners(self, corners: tuple[Corner, ...]) -> None:
        """Show other corners."""
        same = len(corners) == len(self._corners)
        if not same:
            self.beginResetModel()
        self._corners = corners
        if not same:
            self.endResetModel()
        elif corners:
            self.dataChanged.emit(self.index(0, 0), self.index(len(corners) - 1, 1))

    def rowCount(self, parent: _Index = QModelIndex()) -> int:  # noqa: B008
        """Number of corners."""
        return 0 if parent.isValid() else len(self._corners)

    def columnCount(self, parent: _Index = QModelIndex()) -> int:  # noqa: B008
        """Forward and to the left."""
        return 0 if parent.isValid() else 2

    def data(self, index: _Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """The place as text."""
        if not index.isValid() or index.row() >= len(self._corners):
            return None
        if role in (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.EditRole):
            return show_length(self._corners[index.row()][index.column()], self.unit, suffix=False)
        if role == Qt.ItemDataRole.TextAlignmentRole:
            return int(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        return None

    def setData(self, index: _Index, value: Any, role: int = Qt.ItemDataRole.EditRole) -> bool:
        """Ask for another place."""
        if role != Qt.ItemDataRole.EditRole or index.row() >= len(self._corners):
            return False
        try:
            length = parse_length(str(value), self.unit)
        except UnitError as error:
            self._document.message.emit(f"Corner {index.row() + 1}: {error}")
            return False
        row, place = index.row(), list(self._corners[index.row()])
        place[index.column()] = length
        mirror = self._symmetric()
        return self._document.edit(
            "Move body corner", lambda d: body_edits.move_corner(d, row, place[0], place[1], mirror=mirror)
        )

    def flags(self, index: _Index) -> Qt.ItemFlag:
        """Every cell can be edited."""
        return super().flags(index) | Qt.ItemFlag.ItemIsEditable

    def headerData(
        self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole
    ) -> Any:
        """Heads, and corner numbers as errors name them."""
        if role != Qt.ItemDataRole.DisplayRole:
            return None
        return f"{_HEADS[section]} {self.unit}" if orientation == Qt.Orientation.Horizontal else str(section)


class BodyEditor(Panel):
    """Corners, overhangs, and buttons to add and remove."""

    def __init__(self, document: Document) -> None:
        super().__init__(document)
        self._maker = FieldMaker(document)
        self.model = CornerModel(document, lambda: self.symmetric)
        self.table = QTableView()
        self.table.setModel(self.model)
        self.table.setAccessibleName("Body corners")
        self.table.setTabKeyNavigation(False)  # Tab leaves it; arrows move within
        self.table.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.table.verticalHeader().setDefaultSectionSize(22)
        self.table.horizontalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Stretch)
        enable_copy(self.table)
        self.front = self._maker.make(
            LENGTH,
            "Front overhang",
            "From the foremost kingpin to the front of the body; typing moves the foremost corners.",
            lambda v: self._overhang("front", v),
        )
        self.rear = self._maker.make(
            LENGTH,
            "Rear overhang",
            "From the rearmost kingpin to the rear of the body; typing moves the rearmost corners.",
            lambda v: self._overhang("rear", v),
        )
        self._make_buttons()
        self._lay_out()
        self.show_view(document.view)

    def _make_buttons(self) -> None:
        self.add = QPushButton("Add corner")
        self.add.setToolTip("Add a corner half-way along the edge after the selected corner.")
        self.add.clicked.connect(self._add)
        self.remove = QPushButton("Remove corner")
        self.remove.setToolTip("Remove the selected corner.")
        self.remove.clicked.connect(self._remove)
        self.around = QPushButton("Outline around wheels")
        self.around.setToolTip("Replace the outline by a rectangle around all wheels.")
        self.around.clicked.connect(lambda: self._document.edit("Outline around wheels", body_edits.fit_body))

    def _lay_out(self) -> None:
        form = QFormLayout()
        add_row(form, self.front)
        add_row(form, self.rear)
        buttons = QHBoxLayout()
        for button in (self.add, self.remove, self.around):
            buttons.addWidget(button)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(8, 6, 8, 4)
        layout.addLayout(form)
        layout.addWidget(self.table, 1)
        layout.addLayout(buttons)

    def set_unit(self, unit: LengthUnit) -> None:
        """Show lengths in another unit."""
        self._maker.set_unit(unit)
        self.model.unit = unit
        self.refresh()
        self.model.headerDataChanged.emit(Qt.Orientation.Horizontal, 0, 1)

    def show_view(self, view: View) -> None:
        """Show the outline of this view."""
        self.model.show_corners(view.design.body_mm)
        front, rear = body_edits.overhangs(view.design)
        for box, value in ((self.front, front), (self.rear, rear)):
            box.show_value(value)
            box.setEnabled(value is not None)
            box.setPlaceholderText("" if value is not None else "no body")
        some = bool(view.design.body_mm)
        self.add.setEnabled(some)
        self.remove.setEnabled(some)
        self.around.setEnabled(bool(view.design.wheels))

    def _overhang(self, end: body_edits.End, value: float) -> bool:
        return self._document.edit(
            f"Change {end} overhang",
            lambda d: body_edits.set_overhang(d, end, value),
            merge_key=f"overhang {end}",
        )

    def _chosen(self) -> int | None:
        rows = self.table.selectionModel().selectedRows()
        if not rows:
            self._document.message.emit("Select a corner in the table first.")
            return None
        return rows[0].row()

    def _add(self) -> None:
        row = self._chosen()
        if row is not None:
            self._document.edit("Add body corner", lambda d: body_edits.add_corner(d, row))

    def _remove(self) -> None:
        row = self._chosen()
        if row is not None:
            self._document.edit("Remove body corner", lambda d: body_edits.delete_corner(d, row))
