"""Undo and redo reach the document from everywhere, but from a field that holds what is not taken up yet."""

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from app.design import edits
from app.panels.number_field import NumberField

Key = Qt.Key
CTRL, SHIFT = Qt.KeyboardModifier.ControlModifier, Qt.KeyboardModifier.ShiftModifier
REDO = [(Key.Key_Y, CTRL), (Key.Key_Z, CTRL | SHIFT)]


def press(window, key, modifiers=Qt.KeyboardModifier.NoModifier):
    QTest.keyClick(window.windowHandle(), key, modifiers)


def type_over(window, field, text):
    field.setFocus()
    press(window, Key.Key_A, CTRL)
    QTest.keyClicks(field, text)


def undone_and_redone(window):
    """Press undo and each key of redo in turn."""
    document = window.document
    after, count = document.design, document.undo_stack.index()
    assert count > 0
    for redo in REDO:
        press(window, Key.Key_Z, CTRL)
        assert document.undo_stack.index() == count - 1
        assert document.design != after
        press(window, *redo)
        assert document.undo_stack.index() == count
        assert document.design == after


def fields_of(window, panel):
    return [f for f in window.panels[panel].findChildren(NumberField) if f.isVisible() and f.isEnabled()]


@pytest.fixture
def motored(window):
    """A steer motor and a drive motor on the first sample."""
    window.action["add_drive_motor"].trigger()
    window.action["add_steer_motor"].trigger()
    return window


@pytest.mark.parametrize("leave", [Key.Key_Return, Key.Key_Tab])
@pytest.mark.parametrize("panel", ["wheel", "body", "chassis", "motors"])
def test_undo_works_after_every_number_that_was_typed(motored, panel, leave):
    motored.go_to(panel)
    QApplication.processEvents()
    fields = fields_of(motored, panel)
    assert fields
    document, tried = motored.document, 0
    for field in fields:
        if field.value is None:
            continue
        before = document.undo_stack.index()
        type_over(motored, field, f"{field.value + 1:g}")
        press(motored, leave)
        if document.undo_stack.index() == before:  # refused, as a travel beyond its end is
            press(motored, Key.Key_Escape)
            continue
        undone_and_redone(motored)
        press(motored, Key.Key_Z, CTRL)
        tried += 1
    assert tried >= min(2, len(fields))


@pytest.mark.parametrize("leave", [Key.Key_Return, Key.Key_Tab])
def test_undo_works_from_the_fields_of_the_turn(window, leave):
    window.document.edit("Widen", lambda d: edits.change_wheels(d, [0], width_mm=33.0))
    for field, text in zip(window.middle.turn.fields, ("0.3", "0.5", "60", "70", "500"), strict=True):
        type_over(window, field, text)
        press(window, leave)
        assert not field.isModified()
        undone_and_redone(window)


@pytest.mark.parametrize("leave", [Key.Key_Return, Key.Key_Tab])
@pytest.mark.parametrize("panel", ["wheel", "chassis", "motors"])
def test_undo_works_after_a_name_was_typed(motored, panel, leave):
    motored.go_to(panel)
    inner = motored.panels[panel]
    name = inner.editor.name if panel == "motors" else inner.name
    type_over(motored, name, "reed warbler")
    press(motored, leave)
    assert "name" in motored.document.undo_stack.undoText().lower()
    undone_and_redone(motored)


def test_undo_works_after_a_corner_was_typed(window):
    window.go_to("body")
    table = window.panels["body"].table
    table.setFocus()
    table.setCurrentIndex(table.model().index(0, 0))
    press(window, Key.Key_F2)
    type_over(window, QApplication.focusWidget(), "211")
    press(window, Key.Key_Return)
    assert window.document.design.body_mm[0][0] == 211
    undone_and_redone(window)


def test_undo_works_from_a_cell_that_is_open_and_untouched(window):
    window.document.edit("Widen", lambda d: edits.change_wheels(d, [0], width_mm=33.0))
    window.go_to("body")
    table = window.panels["body"].table
    table.setFocus()
    table.setCurrentIndex(table.model().index(0, 0))
    press(window, Key.Key_F2)
    assert QApplication.focusWidget() is not table
    undone_and_redone(window)


@pytest.mark.parametrize("where", ["wheels", "working", "list", "corners", "plan", "slider"])
def test_undo_works_where_nothing_is_typed(motored, where):
    panels = motored.panels
    panel = {"list": "motors", "corners": "body"}.get(where, where)
    if panel in panels:
        motored.go_to(panel)
        QApplication.processEvents()
    part = {
        "wheels": panels["wheels"].table,
        "working": panels["working"].text,
        "list": panels["motors"].list,
        "corners": panels["body"].table,
        "plan": motored.canvas,
        "slider": motored.middle.turn.slider,
    }[where]
    part.setFocus()
    assert part.hasFocus()
    undone_and_redone(motored)


def test_undo_in_a_field_that_holds_what_is_not_taken_up_is_for_its_text(window):
    window.document.edit("Widen", lambda d: edits.change_wheels(d, [0], width_mm=33.0))
    window.go_to("wheel")
    field = window.panels["wheel"].fields["x_mm"]
    shown, design = field.text(), window.document.design
    type_over(window, field, "140")
    press(window, Key.Key_Z, CTRL)
    assert window.document.design == design
    assert field.text() != "140"
    while field.isModified():
        press(window, Key.Key_Z, CTRL)
    assert (field.text(), window.document.design) == (shown, design)
    press(window, Key.Key_Z, CTRL)
    assert window.document.design != design


def test_with_nothing_to_undo_a_field_keeps_what_was_taken_up(window):
    field = window.middle.turn.turn
    type_over(window, field, "0.3")
    press(window, Key.Key_Return)
    press(window, Key.Key_Z, CTRL)
    assert field.text() == "0.3"
    assert not field.isModified()
    assert window.document.command.turn == 0.3
