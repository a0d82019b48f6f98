"""The editor of the body outline: its size, the overhang at either end, and corners as numbers."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QPersistentModelIndex, Qt
from PySide6.QtWidgets import (
    QAbstractItemView,
    QFormLayout,
    QGridLayout,
    QHeaderView,
    QPushButton,
    QTableView,
    QVBoxLayout,
)

from app.design import body_edits
from app.design.references import references_to, selected
from app.design.selection_edits import with_partners
from app.document import Document
from app.panels.form import LENGTH, FieldMaker, add_row, enable_copy
from app.panels.panel import Panel
from app.picture.view import View
from app.plain import plain_label, plain_tip
from app.units import LengthUnit, UnitError, parse_length, show_length
from geometry.model.design import Corner

_Index = QModelIndex | QPersistentModelIndex
_HEADS = ("x, forward", "y, left")
_OVERHANG_TIPS = {
    "Front overhang": (
        "From the foremost kingpin to the front of the body; typing moves the foremost corners."
    ),
    "Rear overhang": "From the rearmost kingpin to the rear of the body; typing moves the rearmost corners.",
}
_NO_BODY = "The overhangs need a body: type its length or width, or make the outline."
_NO_WHEELS = "The overhangs need a wheel: they are measured from the outermost kingpins."
_NO_CORNERS = "There is no corner yet: type a length or a width, or make the outline."
_REMOVE_TIP = "Delete the selected corners; with Symmetry on, their partners too. All of them are the body."
_AROUND_TIP = "Replace the outline by a rectangle around all wheels."
_RECTANGLE_TIP = "Make the outline a rectangle; without wheels it is 360 mm long and 168 mm wide."


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
        """Heads, and corner numbers from 1."""
        if role != Qt.ItemDataRole.DisplayRole:
            return None
        if orientation == Qt.Orientation.Horizontal:
            return f"{_HEADS[section]} {self.unit}"
        return str(section + 1)


class BodyEditor(Panel):
    """Size, overhangs, corners, and buttons to add and remove."""

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
        self.length = self._maker.make(
            LENGTH,
            "Length",
            "From the rearmost to the foremost corner; typing stretches the body, or makes one. "
            "1 to 12 000 mm.",
            lambda v: self._size("length", v),
        )
        self.breadth = self._maker.make(
            LENGTH,
            "Width",
            "From the rightmost to the leftmost corner; typing stretches the body, or makes one. "
            "1 to 12 000 mm.",
            lambda v: self._size("width", v),
        )
        self.front = self._maker.make(
            LENGTH, "Front overhang", _OVERHANG_TIPS["Front overhang"], lambda v: self._overhang("front", v)
        )
        self.rear = self._maker.make(
            LENGTH, "Rear overhang", _OVERHANG_TIPS["Rear overhang"], lambda v: self._overhang("rear", v)
        )
        self._make_buttons()
        self._lay_out()
        self.show_view(document.view)

    def _make_buttons(self) -> None:
        self.add = QPushButton("Add corner")
        self.add.setToolTip(
            "Add a corner half-way along the edge after the selected corner, or along the longest edge. "
            "Without a body, draw one."
        )
        self.add.clicked.connect(self._add)
        self.remove = QPushButton("Delete corner")
        self.remove.clicked.connect(self._remove)
        self.around = QPushButton("Outline")
        self.around.clicked.connect(lambda: self._document.edit("Outline around wheels", body_edits.fit_body))

    def _lay_out(self) -> None:
        form = QFormLayout()
        for box in (self.length, self.breadth, self.front, self.rear):
            add_row(form, box)
        self.why = plain_label()
        self.why.setWordWrap(True)
        buttons = QGridLayout()  # three in a row are wider than a narrow panel
        buttons.addWidget(self.add, 0, 0)
        buttons.addWidget(self.remove, 0, 1)
        buttons.addWidget(self.around, 1, 0, 1, 2)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(8, 6, 8, 4)
        layout.addLayout(form)
        layout.addWidget(self.why)
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
        design = view.design
        self.model.show_corners(design.body_mm)
        some, wheels = bool(design.body_mm), bool(design.wheels)
        for box, size in zip((self.length, self.breadth), body_edits.body_size(design), strict=True):
            box.show_value(size)
            box.setPlaceholderText("" if some else "no body yet")
        lacks = _NO_BODY if not some else _NO_WHEELS if not wheels else ""
        for box, reach in zip((self.front, self.rear), body_edits.overhangs(design), strict=True):
            box.show_value(reach)
            box.setEnabled(not lacks)
            box.setPlaceholderText("" if some and wheels else "no wheels yet" if some else "no body yet")
            box.setToolTip(plain_tip(lacks or _OVERHANG_TIPS[box.name]))
        self.remove.setEnabled(some)
        self.remove.setToolTip(plain_tip(_REMOVE_TIP if some else _NO_CORNERS))
        self.around.setText("Outline around wheels" if wheels else "Make the outline")
        self.around.setToolTip(plain_tip(_AROUND_TIP if wheels else _RECTANGLE_TIP))
        # What is greyed says why, also without a mouse.
        self.why.setText(lacks)
        self.why.setVisible(bool(lacks))

    def go_to_corner(self, corner: int) -> None:
        """Bring the keyboard to the numbers of a corner."""
        self.table.setFocus()
        self.table.selectRow(corner)
        self.table.setCurrentIndex(self.model.index(corner, 0))

    def _size(self, what: str, value: float) -> bool:
        return self._document.edit(
            f"Change body {what}",
            lambda d: body_edits.set_body_size(d, **{f"{what}_mm": value}),
            merge_key=f"body {what}",
        )

    def _overhang(self, end: body_edits.End, value: float) -> bool:
        return self._document.edit(
            f"Change {end} overhang",
            lambda d: body_edits.set_overhang(d, end, value),
            merge_key=f"overhang {end}",
        )

    def _rows(self) -> list[int]:
        return sorted(index.row() for index in self.table.selectionModel().selectedRows())

    def _add(self) -> None:
        before, mirror = self._document.design.body_mm, self.symmetric
        row = next(iter(self._rows()), None)
        label = "Add body corner" if before else "Draw body"
        if (
            self._document.edit(label, lambda d: body_edits.add_corner_after(d, row, mirror=mirror))
            and before
        ):
            after = self._document.design.body_mm
            self.table.selectRow(next(i for i, place in enumerate(after) if place not in before))

    def _remove(self) -> None:
        """Delete the selected corners, with symmetry their partners too; all of them are the body."""
        rows = references_to("corner", self._rows())
        if not rows:
            self._document.message.emit("Select a corner in the table first.")
            return
        gone = with_partners(self._document.design, rows) if self.symmetric else rows
        label = "Delete body" if len(gone) == len(self._document.design.body_mm) else "Delete body corner"
        self._document.edit(label, lambda d: body_edits.delete_corners(d, selected(gone, "corner")))
