"""From the first window to an own six-wheeler with four motors and its code, by few clicks."""

from __future__ import annotations

import pytest
from PySide6.QtCore import QElapsedTimer, Qt, QTimer
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QComboBox, QWidget

from app.dialogs import questions
from app.dialogs.controller_export import ControllerExportDialog
from app.document import Document
from app.settings import Settings
from app.window.main_window import MainWindow

MOST_CLICKS = 12
NUMBERS = {"wheelbase_mm": "288", "track_mm": "252", "diameter_mm": "66"}


class Hand:
    """Clicks what is in sight, and counts."""

    def __init__(self) -> None:
        self.clicks = 0

    def click(self, widget: QWidget, at=None) -> None:
        assert widget.isVisible(), widget
        assert widget.isEnabled(), widget
        assert not widget.visibleRegion().isEmpty(), widget
        self.clicks += 1
        where = at if at is not None else widget.rect().center()
        QTest.mouseClick(widget, Qt.MouseButton.LeftButton, pos=where)
        QApplication.processEvents()

    def choose(self, box: QComboBox, text: str) -> None:
        self.click(box)
        view = box.view()
        QTest.qWait(QApplication.doubleClickInterval() + 50)  # a list that just opened takes no release
        index = box.model().index(box.findText(text), 0)
        self.click(view.viewport(), view.visualRect(index).center())
        assert box.currentText() == text


@pytest.fixture
def window(qapp, home, monkeypatch, tmp_path):
    monkeypatch.setattr(questions, "ask_save", lambda *_words: tmp_path / "own.py")
    qapp.setStyle("Fusion")
    document = Document(recovery_folder=home / "recovery")
    made = MainWindow(document, Settings())
    made.show_start()
    made.resize(1280, 800)
    made.show()
    made.activateWindow()
    QApplication.processEvents()
    yield made
    document.close()
    made.hide()
    made.deleteLater()


@pytest.mark.qt_log_ignore("does not support grabbing the keyboard")
def test_an_own_six_wheeler_with_four_motors_and_its_code_take_twelve_clicks(window, qtbot, tmp_path, capsys):
    watch, hand = QElapsedTimer(), Hand()
    watch.start()
    form = window.start_page().form
    for key, text in NUMBERS.items():
        field = form.fields[key]
        field.setFocus(Qt.FocusReason.TabFocusReason)
        QTest.keyClick(field, Qt.Key.Key_A, Qt.KeyboardModifier.ControlModifier)
        QTest.keyClicks(field, text)
        QTest.keyClick(field, Qt.Key.Key_Tab)
    hand.choose(form.motors, "Share")
    assert (form.steer.value, form.drive.value) == (2, 2)
    hand.click(form.make)
    qtbot.waitUntil(lambda: not window.at_start, timeout=60_000)
    design = window.document.design
    assert len(design.wheels) == 6
    assert (len(design.steer_motors), len(design.drive_motors)) == (2, 2)
    assert max(w.x_mm for w in design.wheels) - min(w.x_mm for w in design.wheels) == 288.0
    assert design.body_mm
    assert window.document.view.facts.check.aligned
    hand.click(window.middle.bar.buttons["build"])
    told = []

    def save_code() -> None:
        dialog = QApplication.activeModalWidget()
        if isinstance(dialog, ControllerExportDialog) and dialog.save.isEnabled() and not dialog.working:
            told.append(dialog)
            hand.click(dialog.save)
            hand.clicks += 1  # for Save in the system's dialog for files, which is answered here
            dialog.reject()
        else:
            QTimer.singleShot(20, save_code)

    QTimer.singleShot(0, save_code)
    hand.click(window.panels["build"].items["code"].button)
    assert told
    code = (tmp_path / "own.py").read_text(encoding="utf-8")
    compile(code, "own.py", "exec")
    assert window.middle.bar.buttons["build"].state.words == "1 of 6 made"
    with capsys.disabled():
        print(f"\n  first robot: {hand.clicks} clicks, {watch.elapsed() / 1000:.1f} s without a person")
    assert hand.clicks <= MOST_CLICKS
