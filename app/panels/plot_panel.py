"""Every steer angle, speed, miss or drag over the turn input, with a cursor tied to the slider."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QSignalBlocker
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout

from app.design.facts import Facts
from app.document import Document
from app.panels.form import choice
from app.panels.panel import Panel
from app.panels.quantities import QUANTITIES, Quantity, curves_of
from app.picture.view import View
from app.plain import plain_label
from app.units import LengthUnit
from geometry.model.design import Design

if TYPE_CHECKING:
    from app.panels.chart import Chart


class PlotPanel(Panel):
    """Curves of all wheels, made when first seen, updated only while they can be seen."""

    def __init__(self, document: Document) -> None:
        super().__init__(document)
        self._shown: tuple[Facts | None, Quantity | None, LengthUnit] = (None, None, "mm")
        self._unit: LengthUnit = "mm"
        self._offered: tuple[Quantity, ...] = ()
        self.quantity = choice("Quantity", "What is plotted over the turn input.")
        self._offer(document.design)
        self.quantity.currentIndexChanged.connect(lambda _i: self.refresh())
        self.chart: Chart | None = None
        row = QHBoxLayout()
        label = plain_label("Plot")
        label.setBuddy(self.quantity)
        row.addWidget(label)
        row.addWidget(self.quantity)
        row.addStretch(1)
        self._layout = QVBoxLayout(self)
        self._layout.setContentsMargins(8, 6, 8, 4)
        self._layout.addLayout(row)

    def refresh_theme(self) -> None:
        """Follow a change from light to dark or back."""
        if self.chart is not None:
            self.chart.refresh_theme()

    def _made_chart(self) -> Chart:
        """The chart; made late, since its library takes as long to load as all the rest of the window."""
        if self.chart is None:
            from app.panels.chart import Chart

            chart = self.chart = Chart()
            chart.setAccessibleName("Plot over the turn input")
            chart.setAccessibleDescription(
                "Press or drag to steer; the mouse wheel zooms, the middle button moves what is shown, "
                "a double click shows the whole range."
            )
            chart.asked.connect(self._document.set_turn)
            self._layout.addWidget(chart, 1)
        return self.chart

    def set_unit(self, unit: LengthUnit) -> None:
        """Show lengths in another unit."""
        self._unit = unit
        self.refresh()

    def _offer(self, design: Design) -> None:
        """List what such a design has; what is chosen stays chosen where it can."""
        offered = tuple(quantity for quantity in QUANTITIES if quantity.offered(design))
        if offered == self._offered:
            return
        chosen = self.quantity.currentText()
        self._offered = offered
        with QSignalBlocker(self.quantity):
            self.quantity.clear()
            self.quantity.addItems([quantity.name for quantity in offered])
            self.quantity.setCurrentIndex(max(self.quantity.findText(chosen), 0))

    def show_view(self, view: View) -> None:
        """Show the curves of this design and the cursor of this command."""
        self._offer(view.design)
        quantity = self._offered[self.quantity.currentIndex()]
        wanted, chart = (view.facts, quantity, self._unit), self._made_chart()
        if wanted != self._shown:
            self._shown = wanted
            chart.show_curves(curves_of(view.facts, quantity, self._unit))
        chart.show_cursor(view.command.turn)
