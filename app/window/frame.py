"""The parts of the window, and what an action may ask of it; what joins them is in `main_window`."""

from __future__ import annotations

from PySide6.QtCore import QByteArray, Signal
from PySide6.QtGui import QAction
from PySide6.QtWidgets import QDockWidget, QMainWindow

from app.document import Document
from app.panels.panel import Panel
from app.settings import Settings
from app.window.docks import P, PanelDocks
from app.window.edit_actions import Acts
from app.window.file_actions import Filing
from app.window.middle import Middle


class Frame(QMainWindow):
    """The middle, the panels around it, and the acts on the document."""

    preferences_changed = Signal()

    def __init__(self, document: Document, settings: Settings) -> None:
        super().__init__()
        self.document = document
        self.filing = Filing(document, self, settings)
        self.setObjectName("axlewright")
        self.setDockOptions(QMainWindow.DockOption.AnimatedDocks | QMainWindow.DockOption.AllowTabbedDocks)
        self.middle = Middle(document)
        self.canvas = self.middle.canvas
        self.setCentralWidget(self.middle)
        self.panel_docks = PanelDocks(self, document, self.canvas)
        self.panels: dict[str, Panel] = self.panel_docks.panels
        self.docks: dict[str, QDockWidget] = self.panel_docks.docks
        self.acts = Acts(document, self.canvas)
        self.action: dict[str, QAction] = {}
        """By the keys of their rows."""
        self._first_layout = QByteArray()

    def panel(self, key: str, kind: type[P]) -> P:
        """The panel of a row of the registry, as the kind that it is known to be."""
        return self.panel_docks.panel(key, kind)

    def show_panel(self, key: str) -> None:
        """Bring a panel to the front."""
        self.panel_docks.show(key)

    def go_to(self, key: str) -> None:
        """Bring a panel to the front, and the keyboard to its first field."""
        self.panel_docks.go_to(key)

    def prefer(self, **changes: object) -> None:
        """Change preferences, keep them, and show them."""
        self.filing.change_settings(**changes)
        self.preferences_changed.emit()

    def reset_layout(self) -> None:
        """Put every panel back where it was at first."""
        self.restoreState(self._first_layout)
        self.panel_docks.arrange()
