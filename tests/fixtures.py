"""Fixtures of all tests that open the window: a plugin of pytest, which `tests/conftest.py` names.

Each loads Qt and the window only when a test asks for it: tests of `geometry` run without them.
"""

from __future__ import annotations

import os
import threading
import weakref
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from PySide6.QtCore import QObject
    from PySide6.QtWidgets import QApplication

    from app.document import Document
    from app.settings import Settings
    from app.window.main_window import MainWindow
    from geometry.model.design import Design
    from tests.windows import Answers, MakeDocument, MakeWindow

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

_ASKED_IN = {
    "ask_export": "app.window.file_actions",
    "ask_advice": "app.dialogs.sharing",
    "ask_controller_export": "app.window.file_actions",
    "ask_picture": "app.window.file_actions",
    "ask_outline": "app.window.file_actions",
}


def _no_dialog(*args: object, **_named: object) -> None:
    pytest.fail(f"a dialog was opened that nobody would answer: {args}")


@pytest.fixture
def answers(monkeypatch: pytest.MonkeyPatch) -> Answers:
    """Answer every question from the test."""
    from tests.windows import Answers

    made = Answers()
    for name in Answers.NAMES:

        def ask(*args: object, _name: str = name) -> object:
            return made.answer(_name, *args)

        monkeypatch.setattr(f"{_ASKED_IN.get(name, 'app.dialogs.questions')}.{name}", ask)
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
    from PySide6.QtWidgets import QDialog, QFileDialog, QMenu, QMessageBox

    for kind in (QDialog, QMessageBox, QMenu):
        monkeypatch.setattr(kind, "exec", _no_dialog)
    for name in ("warning", "question", "about", "critical", "information"):
        monkeypatch.setattr(QMessageBox, name, _no_dialog)
    for name in ("getOpenFileName", "getSaveFileName"):
        monkeypatch.setattr(QFileDialog, name, _no_dialog)


@pytest.fixture
def _nothing_left_alive(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Fail where a timer ticks or a thread runs on after the test."""
    from PySide6.QtCore import QTimer

    made: weakref.WeakSet[QTimer] = weakref.WeakSet()

    class WatchedTimer(QTimer):
        def __init__(self, parent: QObject | None = None) -> None:
            super().__init__(parent)
            made.add(self)

    monkeypatch.setattr("app.document.QTimer", WatchedTimer)
    before = set(threading.enumerate())
    yield
    assert [timer for timer in made if timer.isActive()] == []
    assert [thread for thread in threading.enumerate() if thread not in before] == []


@pytest.fixture
def make_document(qapp: QApplication, home: Path, _nothing_left_alive: None) -> Iterator[MakeDocument]:
    """Make documents that are closed after the test."""
    from app.document import Document

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
    from app.design.samples import sample_design
    from tests.windows import KEYS

    return make_document(sample_design(KEYS[0]))


@pytest.fixture
def make_window(
    qapp: QApplication, make_document: MakeDocument, answers: Answers, _no_modal_dialogs: None
) -> Iterator[MakeWindow]:
    """Make windows that are closed without questions after the test."""
    from PySide6.QtCore import QCoreApplication, QEvent, Qt
    from PySide6.QtTest import QTest

    from app.design.samples import sample_design
    from app.settings import load_settings
    from app.window.main_window import MainWindow
    from tests.windows import KEYS

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
        qapp.processEvents()
        # A key that a test before pressed with Shift or Ctrl counts as held until another event.
        QTest.keyRelease(window, Qt.Key.Key_Shift)
        return window

    yield make
    answers.give("ask_unsaved", "discard")
    for window in made:
        window.close()
        window.deleteLater()
    QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
    qapp.processEvents()


@pytest.fixture
def window(make_window: MakeWindow) -> MainWindow:
    """The window with the six-wheeled sample, its first wheel selected."""
    from app.design.references import references_to

    made = make_window()
    made.document.select(references_to("wheel", {0}))
    return made


@pytest.fixture
def told(document: Document) -> list[str]:
    """What the document told the person."""
    from tests.windows import listen

    return listen(document)
