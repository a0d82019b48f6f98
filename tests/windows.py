"""Fixtures for tests that open the window; a conftest or a test file imports them by name."""

from __future__ import annotations

import gc
import os
import threading
import weakref
from collections.abc import Iterator
from pathlib import Path
from typing import Protocol

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

import pytest
from PySide6.QtCore import QCoreApplication, QEvent, QObject, QTimer
from PySide6.QtWidgets import QApplication, QDialog, QFileDialog, QMenu, QMessageBox

import app.document
import app.window.edit_actions
import app.window.file_actions
import app.window.start
from app.design.references import references_to
from app.design.samples import sample_design
from app.dialogs import questions
from app.document import Document
from app.settings import Settings, load_settings
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


_ASKED_IN = {
    "ask_export": app.window.file_actions,
    "ask_advice": app.window.edit_actions,
    "ask_controller_export": app.window.file_actions,
    "ask_picture": app.window.file_actions,
    "ask_outline": app.window.file_actions,
}


def _no_dialog(*args: object, **_named: object) -> None:
    pytest.fail(f"a dialog was opened that nobody would answer: {args}")


@pytest.fixture
def answers(monkeypatch: pytest.MonkeyPatch) -> Answers:
    """Answer every question from the test."""
    made = Answers()
    for name in Answers.NAMES:

        def ask(*args: object, _name: str = name) -> object:
            return made.answer(_name, *args)

        monkeypatch.setattr(_ASKED_IN.get(name, questions), name, ask)
    return made


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Keep preferences and recovered work of every test to itself."""
    folder = tmp_path / "preferences"
    folder.mkdir()
    monkeypatch.setenv("AXLEWRIGHT_HOME", str(folder))
    return folder


@pytest.fixture
def _no_modal_dialogs(monkeypatch: pytest.MonkeyPatch) -> None:
    for kind in (QDialog, QMessageBox, QMenu):
        monkeypatch.setattr(kind, "exec", _no_dialog)
    for name in ("warning", "question", "about", "critical", "information"):
        monkeypatch.setattr(QMessageBox, name, _no_dialog)
    for name in ("getOpenFileName", "getSaveFileName"):
        monkeypatch.setattr(QFileDialog, name, _no_dialog)


@pytest.fixture
def _nothing_left_alive(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Fail where a timer ticks or a thread runs on after the test."""
    made: weakref.WeakSet[QTimer] = weakref.WeakSet()

    class WatchedTimer(QTimer):
        def __init__(self, parent: QObject | None = None) -> None:
            super().__init__(parent)
            made.add(self)

    monkeypatch.setattr(app.document, "QTimer", WatchedTimer)
    before = set(threading.enumerate())
    yield
    assert [timer for timer in made if timer.isActive()] == []
    assert [thread for thread in threading.enumerate() if thread not in before] == []


@pytest.fixture
def make_document(qapp: QApplication, home: Path, _nothing_left_alive: None) -> Iterator[MakeDocument]:
    """Make documents that are closed after the test."""
    made: list[Document] = []

    def make(design: Design | None = None) -> Document:
        document = Document(design, recovery_folder=home / "recovery")
        made.append(document)
        return document

    yield make
    for document in made:
        document.close()


@pytest.fixture
def document(make_document: MakeDocument) -> Document:
    """The six-wheeled sample."""
    return make_document(sample_design(KEYS[0]))


@pytest.fixture
def make_window(
    qapp: QApplication, make_document: MakeDocument, answers: Answers, _no_modal_dialogs: None
) -> Iterator[MakeWindow]:
    """Make windows that are closed without questions after the test."""
    qapp.setStyle("Fusion")
    made: list[MainWindow] = []

    def make(document: Document | None = None, settings: Settings | None = None) -> MainWindow:
        window = MainWindow(
            document if document is not None else make_document(sample_design(KEYS[0])),
            settings if settings is not None else load_settings(),
        )
        made.append(window)
        if not window.filing.settings.window_geometry:
            window.resize(1280, 760)  # the screenless screen is narrower, and the first size keeps to it
        window.show()
        # Without an active window no key goes anywhere.
        window.activateWindow()
        QApplication.processEvents()
        return window

    yield make
    answers.give("ask_unsaved", "discard")
    for window in made:
        window.close()
        window.deleteLater()
    QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
    QApplication.processEvents()


@pytest.fixture
def window(make_window: MakeWindow) -> MainWindow:
    """The window with the six-wheeled sample, its first wheel selected."""
    made = make_window()
    made.document.select(references_to("wheel", {0}))
    return made


@pytest.fixture
def told(document: Document) -> list[str]:
    """What the document told the person."""
    heard: list[str] = []
    for signal in (document.message, document.done, document.step_done):
        signal.connect(heard.append)
    return heard


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
    gc.collect()


def recent_menu(window: MainWindow) -> QMenu:
    """The menu of recent files, as it is when it is opened."""
    menus = [action.menu() for action in window.menuBar().actions()]
    inner = [action.menu() for menu in menus if isinstance(menu, QMenu) for action in menu.actions()]
    found = next(menu for menu in inner if isinstance(menu, QMenu) and "recent" in menu.title())
    found.aboutToShow.emit()
    return found
