"""The table of parts, with buttons to add, copy and line them up; its selection is the document's."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from PySide6.QtWidgets import QGridLayout, QMenu, QPushButton, QVBoxLayout, QWidget

from app.design import part_edits
from app.design.part_edits import ALIGNS
from app.design.references import references_to, selected
from app.document import Document
from app.panels.fit_list import FitList, Stance
from app.panels.wheel_table import Column, WheelTable
from app.picture.view import View
from app.plain import plain_tip
from app.units import LengthUnit, show_length, show_number
from geometry.model.design import Design
from geometry.model.packaging import PART_KINDS, PartKind

if TYPE_CHECKING:
    from geometry.packaging.fit import Fit

_APART_MM = 60.0
"""How far a new part is from one that stands in its place [mm]."""
_ALIGN_WORDS = {
    "front": "Front ends",
    "rear": "Rear ends",
    "left": "Left sides",
    "right": "Right sides",
    "middle": "Middles across the chassis",
    "centre line": "On the centre line",
    "bottom": "Lower edges",
}

PART_COLUMNS = (
    Column("Part", "Name of the part", lambda p, _u: p.name, lambda p: p.name, "rear gear box"),
    Column(
        "x",
        "Its middle, forward of the origin",
        lambda p, u: show_length(p.x_mm, u, suffix=False),
        lambda p: p.x_mm,
        "-1000.5",
        unit="length",
    ),
    Column(
        "y",
        "Its middle, to the left of the origin; negative is right",
        lambda p, u: show_length(p.y_mm, u, suffix=False),
        lambda p: p.y_mm,
        "-1000.5",
        unit="length",
    ),
    Column(
        "up",
        "Its lower edge, above the ground",
        lambda p, u: show_length(p.bottom_mm, u, suffix=False),
        lambda p: p.bottom_mm,
        "1000.5",
        unit="length",
    ),
    Column(
        "kg",
        "Its mass",
        lambda p, _u: show_number(p.mass_kg, 3),
        lambda p: p.mass_kg,
        "10.250",
        from_width=360,
    ),
)


class PartTable(WheelTable):
    """A row for each part."""

    COLUMNS = PART_COLUMNS
    NAME = "Parts"
    KIND = "part"
    NONE = "Nothing yet. Add what must fit inside."

    def __init__(self, document: Document) -> None:
        super().__init__(document)
        self.add = QPushButton("Add part")
        self.add.setToolTip("Add a controller, a battery, a motor or another part.")
        kinds = QMenu(self.add)
        for kind in PART_KINDS:
            one = kinds.addAction("Other" if kind == "other" else kind.capitalize())
            one.triggered.connect(lambda _on=False, k=kind: self.add_part(k))
        self.add.setMenu(kinds)
        self.copy = QPushButton("Duplicate")
        self.copy.setToolTip("Copy the selected parts beside themselves.")
        self.copy.clicked.connect(lambda: self._duplicate(mirrored=False))
        self.mirror = QPushButton("Mirror")
        self.mirror.setToolTip("Copy the selected parts to the other side.")
        self.mirror.clicked.connect(lambda: self._duplicate(mirrored=True))
        self.line_up = QPushButton("Line up")
        self.line_up.setToolTip("Bring edges or middles of the selected parts into line.")
        lines = QMenu(self.line_up)
        for how in ALIGNS:
            act = lines.addAction(_ALIGN_WORDS[how])
            act.triggered.connect(lambda _on=False, h=how: self._align(h))
        self.line_up.setMenu(lines)
        self.pair = QPushButton("May touch")
        self.pair.setCheckable(True)
        self.pair.setToolTip("Let the two selected parts touch, as a shaft and its gear box do.")
        self.pair.clicked.connect(self._let_touch)
        self.remove = QPushButton("Delete")
        self.remove.setToolTip("Delete the selected parts.")
        self.remove.clicked.connect(self._remove)
        below = QWidget()
        buttons = QGridLayout(below)
        buttons.setContentsMargins(12, 0, 12, 8)
        for n, button in enumerate((self.add, self.copy, self.mirror, self.line_up, self.pair, self.remove)):
            buttons.addWidget(button, n // 3, n % 3)
        layout = self.layout()
        assert isinstance(layout, QVBoxLayout)  # noqa: S101 - the table above has made it
        layout.addWidget(below)
        self.fit, self.stance = FitList(document), Stance(document)
        layout.insertWidget(0, self.fit)
        layout.addWidget(self.stance)
        self._show_buttons(document.view)

    def rows(self, view: View) -> Sequence[Any]:
        """As designed."""
        return view.design.packaging.parts

    def summary(self, view: View) -> str:
        """How many there are, and what they weigh."""
        parts = view.design.packaging.parts
        if not parts:
            return "none yet"
        mass = sum(part.mass_kg for part in parts)
        return f"{len(parts)}" + (f", {show_number(mass, 3)} kg" if mass else "")

    def show_view(self, view: View) -> None:
        """Show the parts of this view."""
        super().show_view(view)
        if hasattr(self, "remove"):  # the table shows itself before the buttons are made
            self._show_buttons(view)

    def show_fit(self, fit: Fit | None, design: Design) -> None:
        """Show what collides in a design, and how it stands."""
        self.fit.show_fit(fit, design)
        self.stance.show_fit(fit, design)

    def refresh_theme(self) -> None:
        """Follow a change from light to dark or back."""
        super().refresh_theme()
        self.fit.refresh_theme()

    def set_unit(self, unit: LengthUnit) -> None:
        """Show lengths in another unit."""
        super().set_unit(unit)
        self.fit.set_unit(unit)
        self.stance.set_unit(unit)

    def _show_buttons(self, view: View) -> None:
        chosen = selected(view.selection, "part")
        for button in (self.copy, self.mirror, self.line_up, self.remove):
            button.setEnabled(bool(chosen))
        self.pair.setEnabled(len(chosen) == 2)
        parts = view.design.packaging.parts
        names = {parts[i].name for i in chosen}
        self.pair.setChecked(
            len(chosen) == 2 and any(set(p) == names for p in view.design.packaging.may_touch)
        )
        told = "Let the two selected parts touch, as a shaft and its gear box do."
        self.pair.setToolTip(plain_tip(told if len(chosen) == 2 else f"{told} Select two parts first."))

    def add_part(self, kind: PartKind) -> None:
        """Add a part in the middle of the body, or of the wheels, and select it."""
        document = self._document
        document.cancel_preview()
        count = len(document.design.packaging.parts)
        x, y = _middle(document.view)
        if document.edit(f"Add {kind}", lambda d: part_edits.add_part(d, kind, x, y)):
            document.select(references_to("part", (count,)))

    def _chosen(self) -> tuple[int, ...]:
        return selected(self._document.selection, "part")

    def _duplicate(self, *, mirrored: bool) -> None:
        chosen, before = self._chosen(), len(self._document.design.packaging.parts)
        label = "Duplicate to the mirrored place" if mirrored else "Duplicate"
        if self._document.edit(label, lambda d: part_edits.duplicate_parts(d, chosen, mirrored=mirrored)):
            self._document.select(references_to("part", range(before, before + len(chosen))))

    def _align(self, how: part_edits.Align) -> None:
        chosen = self._chosen()
        self._document.edit("Line up parts", lambda d: part_edits.align_parts(d, chosen, how))

    def _let_touch(self, on: bool) -> None:  # noqa: FBT001 - as the signal gives it
        one, other = self._chosen()
        label = "Let parts touch" if on else "Keep parts apart"
        self._document.edit(label, lambda d: part_edits.let_touch(d, one, other, allowed=on))

    def _remove(self) -> None:
        chosen = self._chosen()
        self._document.edit("Delete part", lambda d: part_edits.delete_parts(d, chosen))


def _middle(view: View) -> tuple[float, float]:
    design = view.design
    places = list(design.body_mm) or [(w.x_mm, w.y_mm) for w in design.wheels] or [(0.0, 0.0)]
    x, y = [p[0] for p in places], [p[1] for p in places]
    at = round(0.5 * (min(x) + max(x))) + 0.0, round(0.5 * (min(y) + max(y))) + 0.0
    taken = {(part.x_mm, part.y_mm) for part in design.packaging.parts}
    while at in taken:
        at = at[0] - _APART_MM, at[1]
    return at
