"""The place of the plot; the plot itself is made when it is first seen.

An empty window with a plot takes about four times as long to show as one without, nearly
all of it imports.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtWidgets import QVBoxLayout, QWidget

from app.document import Document
from app.units import LengthUnit

if TYPE_CHECKING:
    from app.panels.plot import PlotPanel


class PlotDock(QWidget):
    """Makes the plot on first sight."""

    def __init__(self, document: Document) -> None:
        super().__init__()
        self._document = document
        self.panel: PlotPanel | None = None
        self._unit: LengthUnit = "mm"
        self._layout = QVBoxLayout(self)
        self._layout.setContentsMargins(0, 0, 0, 0)

    def refresh_theme(self) -> None:
        """Follow a change from light to dark or back."""
        if self.panel is not None:
            self.panel.refresh_theme()

    def set_unit(self, unit: LengthUnit) -> None:
        """Show lengths in another unit."""
        self._unit = unit
        if self.panel is not None:
            self.panel.set_unit(unit)

    def set_seen(self, seen: bool) -> None:  # noqa: FBT001 - Qt's signal
        """Make the plot on first sight; let it rest while nobody sees it."""
        if self.panel is None and seen:
            from app.panels.plot import PlotPanel

            self.panel = PlotPanel(self._document)
            self.panel.set_unit(self._unit)
            self._layout.addWidget(self.panel)
        if self.panel is not None:
            self.panel.set_seen(seen)
