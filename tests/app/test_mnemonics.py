"""Every menu is reachable by letters that mean one thing, and no key means two."""

from __future__ import annotations

from collections import Counter

import pytest
from PySide6.QtGui import QAction
from PySide6.QtWidgets import QMenu

from app.window.actions import MENUS


def letter(text: str) -> str:
    """The letter that is underlined; empty for none."""
    at = text.replace("&&", "  ").find("&")
    return text[at + 1].casefold() if at >= 0 else ""


def entries(menu: QMenu) -> list[QAction]:
    return [action for action in menu.actions() if not action.isSeparator()]


def menu_of(window, title: str) -> QMenu:
    action = next(a for a in window.menuBar().actions() if a.text().replace("&", "") == title)
    return action.menu()


def doubled(actions: list[QAction]) -> list[str]:
    counts = Counter(letter(action.text()) for action in actions)
    return [key for key, count in counts.items() if key and count > 1]


def test_no_two_menus_share_a_letter(window) -> None:
    actions = window.menuBar().actions()
    assert doubled(actions) == []
    assert all(letter(action.text()) for action in actions)


@pytest.mark.parametrize("title", MENUS)
def test_no_two_entries_of_a_menu_share_a_letter(window, title: str) -> None:
    shown = entries(menu_of(window, title))
    assert doubled(shown) == []
    assert all(letter(action.text()) for action in shown)
    for action in shown:
        if action.menu() is not None:
            assert doubled(entries(action.menu())) == [], action.text()


def test_letters_stay_unique_while_undo_names_its_step(window) -> None:
    window.document.edit("Change width", lambda d: d.edited(name="Another"))
    assert "width" in window.action["undo"].text()
    assert doubled(entries(menu_of(window, "Edit"))) == []


def test_no_key_belongs_to_two_actions(window) -> None:
    keys = Counter(
        key.toString()
        for action in window.findChildren(QAction)
        for key in action.shortcuts()
        if key.toString()
    )
    keys.subtract({"Ctrl+C": keys.get("Ctrl+C", 0)})  # each table copies by itself, while it has the focus
    assert [key for key, count in keys.items() if count > 1] == []
