"""The panels around the plan: a dock for each row of the registry, in the order of the rows."""

from __future__ import annotations

from typing import TypeVar

from PySide6.QtCore import Qt
from PySide6.QtGui import QAction, QKeySequence
from PySide6.QtWidgets import QDockWidget, QMainWindow, QMenu, QTabWidget, QWidget

from app.document import Document
from app.panels import registry
from app.panels.panel import Panel
from app.plain import plain_tip

P = TypeVar("P", bound=Panel)


class PanelDocks:
    """Makes the docks, puts them in their places, and brings one to the front."""

    def __init__(self, window: QMainWindow, document: Document) -> None:
        self._window = window
        self.panels: dict[str, Panel] = {}
        """By the keys of their rows."""
        self.docks: dict[str, QDockWidget] = {}
        for spec in registry.PANELS:
            panel = spec.make(document)
            dock = QDockWidget(spec.title, window)
            dock.setObjectName(f"dock {spec.title}")
            dock.setWidget(panel)
            if spec.rests:
                panel.set_seen(False)
                # A widget behind another tab counts as visible; only its dock knows better.
                dock.visibilityChanged.connect(panel.set_seen)
            self.panels[spec.key], self.docks[spec.key] = panel, dock
        self.arrange()

    def arrange(self) -> None:
        """Put every dock in its first place."""
        window = self._window
        table, *tabs = self.docks.values()
        area = Qt.DockWidgetArea.RightDockWidgetArea
        for dock in self.docks.values():
            dock.setFloating(False)
            window.addDockWidget(area, dock)
            dock.show()
        for dock in tabs[1:]:
            window.tabifyDockWidget(tabs[0], dock)
        window.setTabPosition(area, QTabWidget.TabPosition.North)
        tabs[0].raise_()
        window.resizeDocks([table, tabs[0]], [215, 380], Qt.Orientation.Vertical)
        window.resizeDocks([table], [520], Qt.Orientation.Horizontal)

    def panel(self, key: str, kind: type[P]) -> P:
        """The panel of a row, as the kind that it is known to be.

        Raises
        ------
        KeyError
            If no row has the key.
        TypeError
            If the panel of the row is of another kind.
        """
        found = self.panels[key]
        if not isinstance(found, kind):
            raise TypeError(f"the panel {key} is a {type(found).__name__} and no {kind.__name__}")
        return found

    def show(self, key: str) -> None:
        """Bring a panel to the front."""
        self.docks[key].show()
        self.docks[key].raise_()

    def go_to(self, key: str) -> None:
        """Bring a panel to the front, and the keyboard to its first field."""
        self.show(key)
        inner = self.panels[key]
        inner.setFocus(Qt.FocusReason.ShortcutFocusReason)
        stop = inner.nextInFocusChain()
        while stop is not None and inner.isAncestorOf(stop) and not _is_stop(stop, inner):
            stop = stop.nextInFocusChain()
        if stop is not None and inner.isAncestorOf(stop):
            stop.setFocus(Qt.FocusReason.ShortcutFocusReason)

    def fill_menu(self, menu: QMenu) -> None:
        """List each panel twice: to show or hide it, and to go to it by its key."""
        for spec in registry.PANELS:
            toggle = self.docks[spec.key].toggleViewAction()
            toggle.setToolTip(plain_tip(f"Show or hide the {spec.title} panel."))
            menu.addAction(toggle)
            go_to = QAction(f"Go to {spec.title}", self._window)
            if spec.shortcut is not None:
                go_to.setShortcut(QKeySequence(spec.shortcut))
            go_to.triggered.connect(lambda _on=False, key=spec.key: self.go_to(key))
            menu.addAction(go_to)


def _is_stop(widget: QWidget, area: QWidget) -> bool:
    """Whether Tab stops at a widget of an area."""
    tabbed = bool(widget.focusPolicy() & Qt.FocusPolicy.TabFocus)
    return tabbed and widget.isEnabled() and widget.isVisibleTo(area)
