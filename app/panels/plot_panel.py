"""Steer angles, drag and other quantities over the turn input: one small plot each, with one cursor."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QAction, QGuiApplication, QKeyEvent, QMouseEvent
from PySide6.QtWidgets import QHBoxLayout, QMenu, QToolButton, QVBoxLayout

from app.design.facts import Facts
from app.design.references import references_to
from app.document import Document
from app.panels.panel import Panel
from app.panels.plot_curves import values_text
from app.panels.quantities import QUANTITIES, Quantity, curves_of, room_here, values_at
from app.panels.room_curves import Room, RoomCurves
from app.picture.view import View
from app.units import LengthUnit
from geometry.axes import Floats
from geometry.model.design import Design
from geometry.turn_range.range_check import at_turns

if TYPE_CHECKING:
    from app.panels.chart import Chart

_ABOUT = (
    "Press or drag to steer, or use the arrow keys; Home and End go to the ends, up and down select a wheel. "
    "Ctrl and the mouse wheel zoom, the middle button moves what is shown, a double click shows all of it."
)

_Shown = tuple[Facts | None, tuple[Quantity, ...], LengthUnit, Room | None]
WAITS = "The room to turn is being worked out; copy it in a moment."
"""What is said in place of copying gaps as numbers."""


class _Ticks(QMenu):
    """A menu that stays open while several of its entries are ticked."""

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Tick without closing."""
        action = self.actionAt(event.position().toPoint())
        if action is not None and action.isCheckable() and action.isEnabled():
            action.trigger()
        else:
            super().mouseReleaseEvent(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Tick with the space key without closing."""
        action = self.activeAction()
        if event.key() == Qt.Key.Key_Space and action is not None and action.isEnabled():
            action.trigger()
        else:
            super().keyPressEvent(event)


class PlotPanel(Panel):
    """Curves of all wheels, made when first seen, updated only while they can be seen."""

    OF_THE_RANGE = True
    chosen_changed = Signal()
    """Other quantities are shown now."""

    def __init__(self, document: Document) -> None:
        super().__init__(document)
        self._shown: _Shown = (None, (), "mm", None)
        self._unit: LengthUnit = "mm"
        self._offered: tuple[Quantity, ...] = ()
        self._room = RoomCurves(self)
        self._room.ready.connect(self.refresh)
        document.closed.connect(self._room.stop)
        self.chart: Chart | None = None
        self.ticks = {quantity.name: self._tick(quantity) for quantity in QUANTITIES}
        self.quantities = QToolButton()
        self.quantities.setText("Plots")
        self.quantities.setToolTip("Tick what is plotted over the turn input.")
        self.copy = QToolButton()
        self.copy.setText("Copy")
        self.copy.setToolTip("Copy the plots as a picture, or their curves as numbers.")
        for button, menu in ((self.quantities, _Ticks(self)), (self.copy, QMenu(self))):
            button.setPopupMode(QToolButton.ToolButtonPopupMode.InstantPopup)
            button.setMenu(menu)
            button.setAccessibleName(button.text())
            button.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.quantities.menu().addActions(list(self.ticks.values()))
        self._make_actions()
        self._offer(document.design)
        row = QHBoxLayout()
        row.addWidget(self.quantities)
        row.addStretch(1)
        row.addWidget(self.copy)
        self._layout = QVBoxLayout(self)
        self._layout.setContentsMargins(12, 6, 12, 4)
        self._layout.addLayout(row)

    def _tick(self, quantity: Quantity) -> QAction:
        action = QAction(quantity.name, self)
        action.setCheckable(True)
        action.setChecked(quantity.at_first)
        action.toggled.connect(self._ticked)
        return action

    def _make_actions(self) -> None:
        """What the chart's menu and the button both offer."""
        self.copy_picture = QAction("Copy as a picture", self)
        self.copy_picture.triggered.connect(self._copy_picture)
        self.copy_numbers = QAction("Copy as numbers", self)
        self.copy_numbers.triggered.connect(self._copy_numbers)
        self.whole = QAction("Show the whole range", self)
        self.whole.triggered.connect(lambda: self._made_chart().show_all())
        self.copy.menu().addActions([self.copy_picture, self.copy_numbers])

    # What is chosen -------------------------------------------------------------------------

    @property
    def chosen(self) -> tuple[str, ...]:
        """Names of the quantities that are shown, from above."""
        return tuple(q.name for q in self._offered if self.ticks[q.name].isChecked())

    def choose(self, names: Sequence[str]) -> None:
        """Show these quantities, as far as the design has them."""
        for name, action in self.ticks.items():
            action.blockSignals(True)  # noqa: FBT003
            action.setChecked(name in names)
            action.blockSignals(False)  # noqa: FBT003
        self._ticked()

    def _ticked(self) -> None:
        self.refresh()
        self.chosen_changed.emit()

    def summary(self, view: View) -> str:  # noqa: ARG002 - the panel's way
        """What is shown, in a few words for the head of its section."""
        return ", ".join(self.chosen).lower() or "nothing"

    def _offer(self, design: Design) -> None:
        """List what such a design has; what is ticked stays ticked."""
        offered = tuple(quantity for quantity in QUANTITIES if quantity.offered(design))
        if offered != self._offered:
            self._offered = offered
            for quantity in QUANTITIES:
                self.ticks[quantity.name].setVisible(quantity in offered)

    # What is shown --------------------------------------------------------------------------

    def refresh_theme(self) -> None:
        """Follow a change from light to dark or back."""
        if self.chart is not None:
            self.chart.refresh_theme()

    def _made_chart(self) -> Chart:
        """The chart; made late, since its library takes as long to load as all the rest of the window."""
        if self.chart is None:
            from app.panels.chart import Chart

            chart = self.chart = Chart()
            chart.setAccessibleName("Plots over the turn input")
            chart.setAccessibleDescription(_ABOUT)
            chart.asked.connect(self._document.set_turn)
            chart.stepped.connect(self._step)
            chart.addActions([self.copy_picture, self.copy_numbers, self.whole])
            self._layout.addWidget(chart, 1)
            self.setTabOrder(self.copy, chart)  # made late, it would come last of the whole window
        return self.chart

    def set_unit(self, unit: LengthUnit) -> None:
        """Show lengths in another unit."""
        self._unit = unit
        self.refresh()

    def show_view(self, view: View) -> None:
        """Show the curves of this design and the cursor of this command."""
        self._offer(view.design)
        shown = tuple(q for q in self._offered if self.ticks[q.name].isChecked())
        room = self._room_of(view.facts, shown)
        wanted, chart = (view.facts, shown, self._unit, room), self._made_chart()
        if wanted != self._shown:
            self._shown = wanted
            plots = [curves_of(view.facts, quantity, self._unit, room) for quantity in shown]
            chart.show_curves(*plots, settled=not view.previewing)
        chart.choose(frozenset(view.selected_wheels))
        chart.show_cursor(view.command.turn, self._readings(view, shown))

    def _room_of(self, facts: Facts, shown: Sequence[Quantity]) -> Room | None:
        """The room to turn where a plot shows it; where none does, nothing is worked out."""
        if any(quantity.of_room is not None for quantity in shown):
            return self._room.of(facts)
        self._room.rest()
        return None

    def _readings(self, view: View, shown: Sequence[Quantity]) -> list[Floats]:
        """The values at the turn that is shown, driving forward as the curves are."""
        forward = view.command.speed >= 0
        at = view.at_turn if forward else at_turns(view.robot, [view.command.turn])
        room = room_here(view.facts, shown, at)
        return [values_at(view.facts, quantity, self._unit, at, room) for quantity in shown]

    def _step(self, way: int) -> None:
        """Select the next wheel or the one before."""
        view = self._document.view
        count = len(view.design.wheels)
        if count:
            chosen = view.selected_wheels
            last = (chosen[-1] if way > 0 else chosen[0]) if chosen else (-1 if way > 0 else count)
            self._document.select(references_to("wheel", {(last + way) % count}))

    # Copying --------------------------------------------------------------------------------

    def _copy_picture(self) -> None:
        QGuiApplication.clipboard().setPixmap(self._made_chart().grab())

    def _copy_numbers(self) -> None:
        _, shown, _, room = self._shown
        if room is None and any(quantity.of_room is not None for quantity in shown):
            self._document.message.emit(WAITS)
            return
        plots = [lane.curves for lane in self._made_chart().shown]
        QGuiApplication.clipboard().setText(values_text(plots))
