"""Menus and the menu of the plan, made from the rows of actions and panels."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import Qt
from PySide6.QtGui import QAction, QActionGroup, QKeySequence
from PySide6.QtWidgets import QMenu, QPushButton, QToolButton

from app.icons import icon
from app.plain import plain_tip
from app.theme import current_theme
from app.window import actions
from app.window.file_actions import Filing
from app.window.frame import Frame
from sample_chassis import SAMPLES


def make_menus(window: Frame) -> None:
    """Fill the menu bar."""
    menus = {name: window.menuBar().addMenu(f"&{name}") for name in actions.MENUS}
    groups: dict[str, tuple[QMenu, QActionGroup]] = {}
    for spec in actions.ACTIONS:
        menu, action = menus[spec.menu], window.action[spec.key]
        if spec.gap:
            menu.addSeparator()
        if spec.group:
            if spec.group not in groups:
                groups[spec.group] = (menu.addMenu(f"&{spec.group}"), QActionGroup(window))
                if spec.held is not None:  # several things may hold several of them, or none
                    groups[spec.group][1].setExclusive(False)
            menu, group = groups[spec.group]
            group.addAction(action)
        menu.addAction(action)
        if spec.key == "open":
            _follow_recent(menu.addMenu("Open &recent"), window.filing)
            _list_samples(menu.addMenu("Open a sa&mple"), window.filing)
    for menu in menus.values():
        menu.setToolTipsVisible(True)
    more = window.menuBar().findChild(QToolButton)  # Qt's own, where the bar is too narrow for all
    if more is not None:
        more.setAccessibleName("More menus")
    _put_find(window)
    _list_panels(menus["Stage"].addMenu("Sec&tions"), window)


def _list_samples(menu: QMenu, filing: Filing) -> None:
    menu.setToolTipsVisible(True)
    for sample in SAMPLES:
        action = menu.addAction(sample.title)
        action.setToolTip(sample.sentence)
        action.triggered.connect(lambda _on=False, key=sample.key: filing.open_sample(key))


def _follow_recent(menu: QMenu, filing: Filing) -> None:
    menu.aboutToShow.connect(lambda: _list_recent(menu, filing))


def _list_recent(menu: QMenu, filing: Filing) -> None:
    menu.clear()
    for text in filing.settings.recent_files:
        path = Path(text)
        action = menu.addAction(f"{path.name}  ({path.parent})".replace("&", "&&"))
        action.setToolTip(plain_tip(text))
        action.triggered.connect(lambda _on=False, p=path: filing.open_path(p))
    if menu.isEmpty():
        menu.addAction("No recent file").setEnabled(False)


def _put_find(window: Frame) -> None:
    """Put what opens the search at the right of the menu bar."""
    action = window.action["find"]
    keys = action.shortcut().toString(QKeySequence.SequenceFormat.NativeText)
    button = QPushButton(icon("find"), f"Find an action   {keys}", window.menuBar())
    button.setObjectName("find")
    button.setAccessibleName("Find an action")
    button.setToolTip(action.toolTip())
    button.setFocusPolicy(Qt.FocusPolicy.TabFocus)
    button.clicked.connect(action.trigger)
    window.menuBar().setCornerWidget(button, Qt.Corner.TopRightCorner)
    dress_menu_bar(window)


def dress_menu_bar(window: Frame) -> None:
    """Give the menu bar the colours of now."""
    theme = current_theme()
    window.menuBar().setStyleSheet(
        f"QMenuBar {{ background: {theme.window}; border: none; }}"
        f"QMenuBar::item {{ background: transparent; color: {theme.ink}; padding: 5px 9px; }}"
        f"QMenuBar::item:selected {{ background: {theme.soft}; }}"
        f"QMenuBar QPushButton {{ background: {theme.field}; color: {theme.faint};"
        f" border: 1px solid {theme.edge}; border-radius: 4px; padding: 2px 12px; margin: 2px 8px 2px 0; }}"
    )
    corner = window.menuBar().cornerWidget(Qt.Corner.TopRightCorner)
    if isinstance(corner, QPushButton):
        corner.setIcon(icon("find", faint=True))


def _list_panels(menu: QMenu, window: Frame) -> None:
    """List each section twice: to go to it by its key, and to show it in a window of its own."""
    for key, section in window.sections.items():
        go_to = QAction(f"Go to {section.spec.title}", window)
        if section.spec.shortcut is not None:
            go_to.setShortcut(QKeySequence(section.spec.shortcut))
        go_to.setToolTip(plain_tip(f"Show {section.spec.title}, and bring the keyboard there."))
        go_to.triggered.connect(lambda _on=False, key=key: window.go_to(key))
        menu.addAction(go_to)
        window.work_actions.append(go_to)
    menu.addSeparator()
    for section in window.sections.values():
        # Of the window, as the others: one of the menu's own is lost to Python with what stands for the menu.
        out = QAction(f"{section.spec.title} in a window of its own", window)
        out.setToolTip(plain_tip("For a second screen; closing it puts the section back."))
        out.triggered.connect(section.take_out)
        menu.addAction(out)
        window.work_actions.append(out)


def make_plan_menu(window: Frame) -> None:
    """Give the plan the actions that its own menus offer."""
    for spec in actions.ACTIONS:
        if spec.on_plan:
            window.canvas.offer(window.action[spec.key], spec.spots, gap=spec.gap)
