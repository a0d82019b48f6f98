"""The keyboard is where the eye is: what is hidden takes no key, and what was typed is taken up."""

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QAbstractScrollArea, QApplication

from app.panels.registry import PANELS

Key = Qt.Key
OTHERS = ["motors", "check", "build"]


def press(window, *keys):
    for key in keys:
        QTest.keyClick(window.windowHandle(), key)


def click_stage(window, stage):
    QTest.mouseClick(window.middle.bar.buttons[stage], Qt.MouseButton.LeftButton)
    QApplication.processEvents()


def click_head(window, key):
    window.middle.side.area.ensureWidgetVisible(window.sections[key].head)
    QTest.mouseClick(window.sections[key].head, Qt.MouseButton.LeftButton)
    QApplication.processEvents()


def typing(window, text):
    """Click x of the wheel panel, and type over what stands there."""
    window.show_panel("wheel")
    QApplication.processEvents()
    field = window.panels["wheel"].fields["x_mm"]
    QTest.mouseClick(field, Qt.MouseButton.LeftButton)
    assert field.hasFocus()
    if text:
        QTest.keyClick(field, Key.Key_A, Qt.KeyboardModifier.ControlModifier)
        QTest.keyClicks(field, text)
    return field


def stops(window):
    found, here = [], window.nextInFocusChain()
    while here is not window:
        if here.focusPolicy() & Qt.FocusPolicy.TabFocus and here.isVisible() and here.isEnabled():
            found.append(here)
        here = here.nextInFocusChain()
    return found


def assert_in_sight(window):
    """The keyboard is with something that can be seen, in no section of another stage or folded away."""
    focus = QApplication.focusWidget()
    assert focus in stops(window) or focus is window.canvas
    # A table is covered by its own viewport.
    seen = focus.viewport() if isinstance(focus, QAbstractScrollArea) else focus
    assert not seen.visibleRegion().isEmpty(), "it is scrolled or covered out of sight"
    assert not any(p.isAncestorOf(focus) for p in window.panels.values() if not p.isVisible())


@pytest.mark.parametrize("stage", OTHERS)
def test_keys_after_a_click_on_a_stage_change_nothing_that_is_hidden(window, stage):
    typing(window, "")
    before = window.document.design
    click_stage(window, stage)
    press(window, Key.Key_5, Key.Key_Return)
    assert window.document.design == before
    assert window.canvas.hasFocus()
    for _ in range(12):
        before = QApplication.focusWidget()
        press(window, Key.Key_Tab)
        assert QApplication.focusWidget() is not before
        assert_in_sight(window)


@pytest.mark.parametrize("key", ["Tab", "Space", "5", "Return", "Up"])
def test_keys_after_a_section_is_folded_change_nothing_that_is_hidden(window, key):
    typing(window, "")
    before = window.document.design
    click_head(window, "wheel")
    press(window, getattr(Key, f"Key_{key}"))
    assert window.document.design == before
    assert_in_sight(window)
    assert not window.panels["wheel"].isAncestorOf(QApplication.focusWidget())


def test_a_click_on_a_stage_leaves_the_keyboard_where_it_is_in_sight(window):
    typing(window, "")
    window.middle.turn.turn.setFocus()
    click_stage(window, "check")
    assert window.middle.turn.turn.hasFocus()


@pytest.mark.parametrize(("left", "stage"), [("drive", "lay out"), ("lay out", "drive"), ("drive", "build")])
def test_the_drawing_of_a_stage_gets_the_keyboard_of_a_field_that_is_left(window, left, stage):
    click_stage(window, left)
    key, name = ("drive", "speed") if left == "drive" else ("wheels", "table")
    widget = getattr(window.panels[key], name)
    widget.setFocus()
    assert widget.hasFocus()
    click_stage(window, stage)
    assert window.middle.drawing.hasFocus()
    assert window.middle.drawing.isVisible()


def test_what_was_typed_is_taken_up_where_it_was_typed(window):
    typing(window, "140")
    before = window.document.design
    click_stage(window, "check")
    after = window.document.design
    assert after.wheels[0].x_mm == 140
    assert after == before.edited(
        wheels=tuple(w.edited(x_mm=140.0) if w.x_mm == before.wheels[0].x_mm else w for w in before.wheels)
    )
    assert window.document.undo_stack.count() == 1


def test_what_was_typed_and_is_refused_changes_nothing_and_is_told(window):
    field = typing(window, "nonsense")
    before = window.document.design
    click_stage(window, "check")
    assert window.document.design == before
    click_stage(window, "lay out")
    assert window.document.design == before
    assert field.text() == "nonsense"
    assert not field.reason.isHidden()
    assert "nonsense" in field.reason.text()


def test_a_corner_that_is_being_typed_is_taken_up(window):
    window.go_to("body")
    table = window.panels["body"].table
    table.setFocus()
    table.setCurrentIndex(table.model().index(0, 0))
    press(window, Key.Key_F2)
    editor = QApplication.focusWidget()
    assert editor is not table
    QTest.keyClick(editor, Key.Key_A, Qt.KeyboardModifier.ControlModifier)
    QTest.keyClicks(editor, "211")
    click_stage(window, "check")
    assert window.document.design.body_mm[0][0] == 211
    assert window.canvas.hasFocus()


@pytest.mark.parametrize("stage", ["lay out", *OTHERS])
def test_no_stop_of_tab_lies_in_what_is_hidden(window, stage):
    window.action["add_steer_motor"].trigger()
    window.go_to_stage(stage)
    QApplication.processEvents()
    here = {spec.key for spec in PANELS if spec.stage == stage}
    seen = {key for key, panel in window.panels.items() if panel.isVisible()}
    assert seen == here & set(window.middle.side.unfolded)
    hidden = [panel for key, panel in window.panels.items() if key not in seen]
    assert [s.accessibleName() for s in stops(window) if any(p.isAncestorOf(s) for p in hidden)] == []


def test_a_window_made_small_and_large_again_keeps_the_keyboard(window):
    field = typing(window, "")
    window.showMinimized()
    QApplication.processEvents()
    window.showNormal()
    QApplication.processEvents()
    window.activateWindow()
    assert QApplication.focusWidget() is field
    assert_in_sight(window)
    before = field.text()
    press(window, Key.Key_5)
    assert field.text() == f"5{before}"
    assert not window.panels["plot"].isVisible()


def test_the_key_that_goes_round_brings_what_it_comes_to_into_sight(window):
    window.resize(1024, 700)
    window.show_panel("room")
    window.middle.side.area.verticalScrollBar().setValue(10_000)
    QApplication.processEvents()
    window.canvas.setFocus()
    press(window, Key.Key_F6)
    assert QApplication.focusWidget() is window.sections["wheels"].head
    assert_in_sight(window)
