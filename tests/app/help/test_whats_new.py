"""The page on what is new: each version in its place, shown by the Help menu."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

from PySide6.QtWidgets import QDialog, QTextBrowser

from app.dialogs.help import news_text

ROOT = Path(__file__).resolve().parents[3]


def sections() -> dict[str, str]:
    """The entry of each version, in the order of the page."""
    _head, *parts = re.split(r"<h2>(.*?)</h2>", news_text())
    return dict(zip(parts[::2], parts[1::2], strict=True))


def numbers(version: str) -> tuple[int, ...]:
    return tuple(int(part) for part in version.split("."))


def test_the_newest_version_comes_first_and_none_comes_twice():
    told = re.findall(r"<h2>(.*?)</h2>", news_text())
    assert sorted(set(told), key=numbers, reverse=True) == told


def test_the_version_of_this_program_has_an_entry():
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    assert project["version"] in sections()


def test_an_entry_says_that_it_is_not_released_just_while_the_program_is_older():
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    for version, entry in sections().items():
        assert ("not released" in entry) == (numbers(version) > numbers(project["version"])), version


def test_every_entry_lists_something():
    assert [version for version, entry in sections().items() if "<li>" not in entry] == []


def test_the_help_menu_shows_what_is_new(window):
    window.action["news"].trigger()
    (dialog,) = (found for found in window.findChildren(QDialog) if found.windowTitle() == "What is new")
    assert dialog.isVisible()
    (page,) = dialog.findChildren(QTextBrowser)
    shown = page.toPlainText()
    assert all(version in shown for version in sections())
    dialog.reject()
