"""What lies over the foot of the plan: what was refused stays, what was done goes, and can be undone."""

import pytest
from PySide6.QtCore import QEvent, QObject, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QStatusBar

from app.design import edits
from app.design.references import references_to
from app.views import note as notes
from tests import mouse


@pytest.fixture
def note(window):
    return window.middle.note


def test_there_is_no_status_bar(window):
    window.document.message.emit("No.")
    window.document.done.emit("Yes.")
    assert window.findChildren(QStatusBar) == []


def test_what_was_done_goes_away_by_itself_and_what_was_refused_does_not(window, note, monkeypatch, qtbot):
    note._timer.setInterval(30)
    window.document.message.emit("Select a wheel first.")
    qtbot.wait(80)
    assert note.text == "Select a wheel first."
    window.document.done.emit("Saved.")
    assert note.text == "Saved."
    qtbot.waitUntil(lambda: note.text == "", timeout=2_000)
    assert notes.NOTE_MS == 6_000


def test_a_refusal_that_follows_something_done_is_not_taken_away_with_it(window, note, qtbot):
    note._timer.setInterval(30)
    window.document.done.emit("Saved.")
    window.document.message.emit("No.")
    qtbot.wait(80)
    assert note.text == "No."


def test_what_was_deleted_is_told_with_a_button_that_brings_it_back(window, note):
    before = window.document.design
    window.document.select(references_to("wheel", {0}))
    window.action["delete"].trigger()
    assert note.text.startswith("Deleted ")
    assert note.undo.isVisible()
    note.undo.click()
    assert window.document.design == before
    assert note.text == ""


def test_what_cannot_be_undone_has_no_such_button(window, note):
    window.document.edit("Widen", lambda d: edits.change_wheels(d, [0], width_mm=30.0))
    for signal in (window.document.message, window.document.done):
        signal.emit("Saved.")
        assert not note.undo.isVisible()


def test_the_next_edit_takes_away_the_offer_to_undo_the_last_one(window, note):
    window.document.select(references_to("wheel", {0}))
    window.action["delete"].trigger()
    window.document.edit("Widen", lambda d: edits.change_wheels(d, [0], width_mm=30.0))
    assert note.text == ""


def test_it_closes_by_its_button_and_leaves_the_keyboard_with_the_plan(window, note):
    window.document.message.emit("No.")
    note.close_button.setFocus()
    QTest.keyClick(note.close_button, Qt.Key.Key_Space)
    assert note.text == ""
    assert window.canvas.hasFocus()


@pytest.mark.parametrize("size", [(1024, 700), (1280, 800), (900, 600)])
def test_a_long_sentence_is_shown_whole_within_the_plan(window, note, size):
    window.resize(*size)
    window.document.message.emit("A sentence that is rather long. " * 8)
    QApplication.processEvents()
    assert window.canvas.rect().contains(note.geometry())
    assert note.label.height() >= note.label.heightForWidth(note.label.width())
    window.resize(size[0] + 60, size[1] + 40)
    QApplication.processEvents()
    assert window.canvas.rect().contains(note.geometry())
    assert note.geometry().bottom() > window.canvas.height() - 60


def test_a_press_on_the_note_grips_nothing_below(window, note):
    window.document.message.emit("No.")
    before = window.document.selection
    QTest.mouseClick(note, Qt.MouseButton.LeftButton, pos=note.rect().center())
    assert window.document.selection == before


def test_the_place_of_the_mouse_stands_in_the_corner_and_goes_with_it(window):
    where = window.middle.where
    assert not where.isVisible()
    mouse.hover(window.canvas, 100.0, -50.0)
    assert where.isVisible()
    assert window.canvas.rect().contains(where.geometry())
    assert where.label.width() >= where.label.sizeHint().width()
    QApplication.sendEvent(window.canvas, mouse_left())
    assert not where.isVisible()


class Paints(QObject):
    """Counts how often a widget is asked to draw itself."""

    def __init__(self, widget):
        super().__init__(widget)
        self.count = 0
        widget.installEventFilter(self)

    def eventFilter(self, watched, event):
        self.count += event.type() == QEvent.Type.Paint
        return super().eventFilter(watched, event)


def test_another_place_of_the_mouse_draws_nothing_of_the_plan_anew(window):
    plan, where = window.canvas, window.middle.where
    mouse.hover(plan, 20.0, 5.0)
    QApplication.processEvents()
    paints, before = Paints(plan), where.text
    mouse.hover(plan, 20.0, 9.0)
    QApplication.processEvents()
    assert where.text not in ("", before)
    assert paints.count == 0


def mouse_left():
    return QEvent(QEvent.Type.Leave)
