"""The panels around the plan: a dock for each row of the registry, in the order of the rows."""

from __future__ import annotations

from functools import partial
from typing import TypeVar

from PySide6.QtCore import Qt
from PySide6.QtGui import QAction, QKeySequence
from PySide6.QtWidgets import QDockWidget, QMainWindow, QMenu, QTabWidget, QWidget
from shiboken6 import isValid

from app.document import Document
from app.panels import registry
from app.panels.form import scrolled
from app.panels.panel import Panel
from app.plain import plain_tip
from app.views.canvas import PlanCanvas

P = TypeVar("P", bound=Panel)


class PanelDocks:
    """Makes the docks, puts them in their places, and brings one to the front.

    A panel behind another tab is hidden: it takes no key and Tab does not stop there. Its dock still
    counts as visible to Qt, so the docks tell the panels.
    """

    def __init__(self, window: QMainWindow, document: Document, plan: PlanCanvas) -> None:
        self._window = window
        self._plan = plan
        self._focus_waits = False
        self.panels: dict[str, Panel] = {}
        """By the keys of their rows."""
        self.docks: dict[str, QDockWidget] = {}
        for spec in registry.PANELS:
            panel = spec.make(document)
            panel.setAccessibleName(spec.title)
            dock = QDockWidget(spec.title, window)
            dock.setObjectName(f"dock {spec.title}")
            # In a frame that scrolls, a large panel does not keep the window from being small.
            dock.setWidget(scrolled(panel, both_ways=True))
            panel.hide()
            if spec.rests:
                panel.set_seen(False)
                dock.visibilityChanged.connect(panel.set_seen)
            dock.visibilityChanged.connect(partial(self._follow, spec.key))
            self.panels[spec.key], self.docks[spec.key] = panel, dock
        self.arrange()

    def _follow(self, key: str, seen: bool) -> None:  # noqa: FBT001 - Qt's signal
        """Show a panel whose dock came to the front, and hide one whose dock went behind another."""
        panel = self.panels[key]
        # A window that is taken down, closed or made small hides its docks too; that is no change of tabs.
        if seen:
            panel.show()
            if self._focus_waits and self._plan.hasFocus():
                panel.setFocus(Qt.FocusReason.OtherFocusReason)
            self._focus_waits = False
        elif isValid(self._window) and self._window.isVisible() and not self._window.isMinimized():
            self._leave(key)
            panel.hide()

    def _leave(self, key: str) -> None:
        """Take up what is typed in a panel, and move the keyboard to what is seen in its place."""
        panel = self.panels[key]
        focus = panel.window().focusWidget()
        if focus is None or not (focus is panel or panel.isAncestorOf(focus)):
            return
        # To the panel itself and to none of its fields: what is typed next would change that field.
        front = next((other for other in self._beside(key) if not other.isHidden()), None)
        (self._plan if front is None else front).setFocus(Qt.FocusReason.OtherFocusReason)
        self._focus_waits = front is None and bool(self._beside(key))

    def _beside(self, key: str) -> list[Panel]:
        """Panels in tabs beside the tab of a panel."""
        mates = self._window.tabifiedDockWidgets(self.docks[key])
        return [self.panels[other] for other, dock in self.docks.items() if dock in mates]

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
        inner.show()  # a dock that was closed is laid out later
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
