"""Helpers for tests that open the window; their fixtures are in `tests.fixtures`."""

from __future__ import annotations

import gc
from pathlib import Path
from typing import Protocol

import pytest
from PySide6.QtCore import QCoreApplication, QEvent
from PySide6.QtWidgets import QApplication, QMenu

from app.design.samples import sample_design
from app.document import Document
from app.settings import Settings
from app.window.main_window import MainWindow
from geometry.model.design import Design
from sample_chassis import SAMPLES

KEYS = [sample.key for sample in SAMPLES]


class MakeDocument(Protocol):
    """Makes a document that is closed after the test."""

    def __call__(self, design: Design | None = None) -> Document: ...


class MakeWindow(Protocol):
    """Makes a window that is closed without questions after the test."""

    def __call__(self, document: Document | None = None, settings: Settings | None = None) -> MainWindow: ...


class Answers:
    """What the person answers; a question that a test does not expect fails it."""

    NAMES = (
        "ask_unsaved",
        "ask_replace",
        "ask_recover",
        "ask_open",
        "ask_save",
        "ask_folder",
        "tell",
        "ask_export",
        "ask_advice",
        "ask_controller_export",
        "ask_picture",
        "ask_drawing",
        "ask_outline",
    )

    def __init__(self) -> None:
        self.asked: list[tuple[str, tuple[object, ...]]] = []
        self._given: dict[str, list[object]] = {}

    def give(self, name: str, *answers: object) -> None:
        """Prepare answers to a question, in order; the last one holds for ever after."""
        assert name in self.NAMES
        self._given[name] = list(answers)

    def answer(self, name: str, *args: object) -> object:
        self.asked.append((name, args))
        if name not in self._given:
            pytest.fail(f"asked without need: {name}{args[1:]}")
        given = self._given[name]
        found = given.pop(0) if len(given) > 1 else given[0]
        return found(*args) if callable(found) else found

    def names(self) -> list[str]:
        return [name for name, _ in self.asked]


def listen(document: Document) -> list[str]:
    """Collect what a document tells from now on."""
    heard: list[str] = []
    for signal in (document.message, document.done, document.step_done):
        signal.connect(heard.append)
    return heard


def saved_sample(folder: Path, key: str = KEYS[0], name: str = "chassis.json") -> Path:
    """A sample as a file of its own."""
    from app.design.files import write_design

    path = folder / name
    write_design(path, sample_design(key))
    return path


def collect_garbage() -> None:
    """Let Qt and Python both drop what nobody holds."""
    QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
    QApplication.processEvents()
    while gc.collect():  # what goes may let go of more
        pass


def recent_menu(window: MainWindow) -> QMenu:
    """The menu of recent files, as it is when it is opened."""
    menus = [action.menu() for action in window.menuBar().actions()]
    inner = [action.menu() for menu in menus if isinstance(menu, QMenu) for action in menu.actions()]
    found = next(menu for menu in inner if isinstance(menu, QMenu) and "recent" in menu.title())
    found.aboutToShow.emit()
    return found
