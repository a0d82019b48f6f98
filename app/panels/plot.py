"""Every steer angle, speed, miss or drag over the turn input, with a cursor tied to the slider."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from PySide6.QtWidgets import QHBoxLayout, QLabel, QVBoxLayout, QWidget

from app.document import Document
from app.look import Facts, View
from app.panels.chart import Chart, Curves
from app.panels.form import choice
from app.units import MM_PER_INCH, LengthUnit, degrees
from geometry.axes import Floats
from geometry.solve import FLIPPED


@dataclass(frozen=True)
class Quantity:
    """What can be plotted."""

    name: str
    axis: str
    values: Callable[[Facts], Floats]
    is_length: bool = False
    """True where the values are millimetres, which the screen may show as inches."""


def _angles(facts: Facts) -> Floats:
    """Steer angles; for fixed wheels and casters where they point [degrees]."""
    solved = facts.check.dense.solution
    return degrees(1.0) * np.where(facts.wheels.steered, solved.steer, solved.heading)


def _misses(facts: Facts) -> Floats:
    """Misses with a gap straight ahead, where an axle that is not square misses without end [mm]."""
    miss = facts.check.dense.found.miss
    return np.where(np.isinf(miss), np.nan, miss)


def with_gaps(facts: Facts, values: Floats) -> Floats:
    """Leave a gap where a wheel flips or a caster swings round, so that no line joins the two sides."""
    solved = facts.check.dense.solution
    jump = np.zeros(values.shape, dtype=bool)
    jump[1:] = (solved.branch[1:] == FLIPPED) != (solved.branch[:-1] == FLIPPED)
    jump[1:] |= np.abs(np.diff(solved.heading, axis=0)) > 0.5 * np.pi
    return np.where(jump, np.nan, values)


QUANTITIES = (
    Quantity("Steer angle", "steer angle, degrees", _angles),
    Quantity(
        "Rolling speed", "rolling speed, faster side = 1", lambda f: np.asarray(f.check.dense.solution.roll)
    ),
    Quantity("Miss", "miss of the axle line", _misses, is_length=True),
    Quantity("Drag", "drag, mm per metre", lambda f: np.asarray(f.check.dense.found.drag)),
)


class PlotPanel(QWidget):
    """Curves of all wheels, updated only while they can be seen."""

    def __init__(self, document: Document) -> None:
        super().__init__()
        self._document = document
        self._shown: tuple[Facts | None, int, LengthUnit] = (None, -1, "mm")
        self._unit: LengthUnit = "mm"
        self._seen = False
        self.quantity = choice("Quantity", "What is plotted over the turn input.")
        self.quantity.addItems([q.name for q in QUANTITIES])
        self.quantity.currentIndexChanged.connect(lambda _i: self.show_view(document.view))
        self.chart = Chart()
        self.chart.setAccessibleName("Plot over the turn input")
        self.chart.setAccessibleDescription(
            "Press or drag to steer; the wheel zooms, a double click shows the whole range."
        )
        self.chart.asked.connect(document.set_turn)
        row = QHBoxLayout()
        label = QLabel("Plot")
        label.setBuddy(self.quantity)
        row.addWidget(label)
        row.addWidget(self.quantity)
        row.addStretch(1)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(8, 6, 8, 4)
        layout.addLayout(row)
        layout.addWidget(self.chart, 1)
        document.changed.connect(self.show_view)

    def refresh_theme(self) -> None:
        """Follow a change from light to dark or back."""
        self.chart.update()

    def set_unit(self, unit: LengthUnit) -> None:
        """Show lengths in another unit."""
        self._unit = unit
        self.show_view(self._document.view)

    def show_view(self, view: View) -> None:
        """Show the curves of this design and the cursor of this command."""
        if not self._seen:
            return
        wanted = (view.facts, self.quantity.currentIndex(), self._unit)
        if wanted != self._shown:
            self._shown = wanted
            self.chart.show_curves(curves_of(view, QUANTITIES[self.quantity.currentIndex()], self._unit))
        self.chart.show_cursor(view.command.turn)

    def set_seen(self, seen: bool) -> None:  # noqa: FBT001 - Qt's signal
        """Rest while nobody sees it, and then catch up."""
        self._seen = seen
        self.show_view(self._document.view)


def curves_of(view: View, quantity: Quantity, unit: LengthUnit) -> Curves:
    """A quantity of every wheel over the whole range, in the unit of the screen."""
    facts = view.facts
    values = with_gaps(facts, quantity.values(facts))
    axis = quantity.axis
    if quantity.is_length:
        values = values / (MM_PER_INCH if unit == "inch" else 1.0)
        axis = f"{axis}, {unit}"
    names = tuple(wheel.name for wheel in view.design.wheels)
    return Curves(np.asarray(facts.check.dense.turns), values, names, axis, view.design.largest_turn)
