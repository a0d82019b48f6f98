"""Every steer angle, speed, miss or drag over the turn input, with a cursor tied to the slider."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import pyqtgraph as pg
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QHBoxLayout, QLabel, QVBoxLayout, QWidget

from app.document import Document
from app.look import Facts, View
from app.panels.form import choice
from app.theme import colour, current_theme, pen
from app.units import MM_PER_INCH, LengthUnit, degrees
from geometry.axes import Floats
from geometry.solve import FLIPPED

_STYLES = (Qt.PenStyle.SolidLine, Qt.PenStyle.DashLine, Qt.PenStyle.DotLine, Qt.PenStyle.DashDotLine)


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
    """Curves of all wheels; made once, updated only while they can be seen."""

    def __init__(self, document: Document) -> None:
        super().__init__()
        self._document = document
        self._shown: tuple[Facts | None, int] = (None, -1)
        self._unit: LengthUnit = "mm"
        self._showing = False
        self._seen = False
        self.quantity = choice("Quantity", "What is plotted over the turn input.")
        self.quantity.addItems([q.name for q in QUANTITIES])
        self.quantity.currentIndexChanged.connect(lambda _i: self.show_view(document.view))
        self.plot = pg.PlotWidget()
        self.plot.setAccessibleName("Plot over the turn input")
        item = self.plot.getPlotItem()
        item.setMenuEnabled(False)
        item.hideButtons()
        item.showGrid(x=True, y=True, alpha=0.25)
        item.invertX(True)  # noqa: FBT003 - left is left, as on the slider
        item.setLabel("bottom", "turn input, left turns to the left")
        self.legend = item.addLegend(offset=(8, 4), colCount=2)
        self.curves: list[pg.PlotDataItem] = []
        self.marker = pg.InfiniteLine(angle=90, movable=True)
        self.marker.sigPositionChanged.connect(self._marker_moved)
        item.addItem(self.marker)
        row = QHBoxLayout()
        label = QLabel("Plot")
        label.setBuddy(self.quantity)
        row.addWidget(label)
        row.addWidget(self.quantity)
        row.addStretch(1)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(8, 6, 8, 4)
        layout.addLayout(row)
        layout.addWidget(self.plot, 1)
        self.refresh_theme()
        document.changed.connect(self.show_view)

    def refresh_theme(self) -> None:
        """Follow a change from light to dark or back."""
        theme = current_theme()
        self.plot.setBackground(colour(theme.ground))
        item = self.plot.getPlotItem()
        for side in ("left", "bottom"):
            axis = item.getAxis(side)
            axis.setPen(pen(theme.faint))
            axis.setTextPen(pen(theme.ink))
            axis.enableAutoSIPrefix(False)  # noqa: FBT003
        self.marker.setPen(pen(theme.centre, 2.0))
        self.marker.setHoverPen(pen(theme.select, 3.0))
        self.legend.setLabelTextColor(colour(theme.ink))
        self._shown = (None, -1)
        for i, curve in enumerate(self.curves):
            curve.setPen(self._pen(i))
        self.show_view(self._document.view)

    def set_unit(self, unit: LengthUnit) -> None:
        """Show lengths in another unit."""
        self._unit = unit
        self._shown = (None, -1)
        self.show_view(self._document.view)

    def _pen(self, index: int) -> object:
        series = current_theme().series
        style = _STYLES[(index // len(series) + index) % len(_STYLES)]
        return pen(series[index % len(series)], 2.0, style)

    def show_view(self, view: View) -> None:
        """Show the curves of this design and the cursor of this command."""
        if not self._seen:
            return
        self._showing = True
        wanted = (view.facts, self.quantity.currentIndex())
        if wanted != self._shown:
            self._shown = wanted
            self._draw(view, QUANTITIES[self.quantity.currentIndex()])
        self.marker.setValue(view.command.turn)
        self._showing = False

    def _draw(self, view: View, quantity: Quantity) -> None:
        values = with_gaps(view.facts, quantity.values(view.facts))
        axis = quantity.axis
        if quantity.is_length:
            values = values / (MM_PER_INCH if self._unit == "inch" else 1.0)
            axis = f"{axis}, {self._unit}"
        turn = np.asarray(view.facts.check.dense.turns)
        item = self.plot.getPlotItem()
        names = [wheel.name for wheel in view.design.wheels]
        while len(self.curves) < len(names):
            curve = item.plot(pen=self._pen(len(self.curves)), connect="finite")
            self.curves.append(curve)
        self.legend.clear()
        for i, curve in enumerate(self.curves):
            curve.setVisible(i < len(names))
            if i < len(names):
                curve.setData(turn, values[:, i], connect="finite")
                self.legend.addItem(curve, names[i])
        item.setLabel("left", axis)
        reach = view.design.largest_turn
        item.setXRange(-reach, reach, padding=0.02)
        self.marker.setBounds((-reach, reach))
        finite = values[np.isfinite(values)]
        if finite.size:
            low, high = float(finite.min()), float(finite.max())
            pad = max(0.35 * (high - low), 0.1)
            item.setYRange(low - 0.1 * pad, high + pad, padding=0.0)

    def _marker_moved(self) -> None:
        if not self._showing:
            self._document.set_turn(float(self.marker.value()))

    def set_seen(self, seen: bool) -> None:  # noqa: FBT001 - Qt's signal
        """Rest while nobody sees it, and then catch up."""
        self._seen = seen
        self.show_view(self._document.view)
