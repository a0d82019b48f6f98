"""Drive motors that make no wheel slip, offered where driven wheels have none."""

from __future__ import annotations

from typing import Any

from PySide6.QtWidgets import QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from app.design import motor_edits
from app.document import Document
from app.picture.view import View
from app.plain import plain_label
from app.theme import sized
from geometry.model.design import Design


def wanted(design: Design) -> bool:
    """Whether drive motors are to be suggested: wheels are to be driven, and some have no drive motor."""
    driven = [wheel.name for wheel in design.wheels if wheel.driven]
    return any(motor_edits.holder_of(design, "drive", name) is None for name in driven)


class DriveOffer(QWidget):
    """Says which driven wheels roll alike at every turn, and gives each such group a motor."""

    def __init__(self, document: Document) -> None:
        super().__init__()
        self._document = document
        self._asked: tuple[Any, ...] | None = None
        self._groups: tuple[tuple[str, ...], ...] = ()
        self.title = plain_label("Sharing of drive motors")
        self.title.setFont(sized(self.title.font(), "text", strong=True))
        self.told = plain_label()
        self.told.setWordWrap(True)
        self.use = QPushButton("Use these drive motors")
        self.use.setToolTip("Replace the drive motors by these, each geared 1; one undo takes it back.")
        self.use.clicked.connect(self.take_up)
        row = QHBoxLayout()
        row.addWidget(self.use)
        row.addStretch(1)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(4)
        layout.addWidget(self.title)
        layout.addWidget(self.told)
        layout.addLayout(row)

    def show_view(self, view: View) -> None:
        """Follow the design at rest: the speeds over the whole range are not for a drag."""
        design = view.design
        if view.previewing:
            return
        self.setVisible(wanted(design))
        asked = (
            design.wheels,
            design.base_axle_x_mm,
            design.left_reference,
            design.right_reference,
            design.largest_turn,
        )
        if not wanted(design) or asked == self._asked:
            return
        self._asked, self._groups = asked, motor_edits.wheels_of_one_speed(design)
        count = len(self._groups)
        motors = "1 drive motor" if count == 1 else f"{count} drive motors"
        lines = [f"D{n}: {' + '.join(group)}" for n, group in enumerate(self._groups, start=1)]
        said = f"With {motors} no driven wheel slips, each at its ideal angle:"
        self.told.setText("\n".join([said, *lines]))

    def take_up(self) -> None:
        """Replace the drive motors by one for each group, as one step."""
        groups = self._groups
        count = "1 drive motor" if len(groups) == 1 else f"{len(groups)} drive motors"
        self._document.edit(f"Share {count}", lambda d: motor_edits.group_driving(d, groups))
