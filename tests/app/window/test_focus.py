"""The keyboard is where the eye is: what is behind a tab takes no key, and what was typed is taken up."""

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QTabBar

from app.panels.registry import PANELS

Key = Qt.Key
TABS = [spec for spec in PANELS if spec.key != "wheels"]


def press(window, *keys):
    for key in keys:
        QTest.keyClick(window.windowHandle(), key)


def click_tab(window, title):
    bars = [bar for bar in window.findChildren(QTabBar) if bar.isVisible()]
    bar, place = next((b, n) for b in bars for n in range(b.count()) if b.tabText(n) == title)
    QTest.mouseClick(bar, Qt.MouseButton.LeftButton, pos=bar.tabRect(place).center())


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


@pytest.mark.parametrize("title", [spec.title for spec in TABS if spec.key != "wheel"])
def test_keys_after_a_click_on_a_tab_change_nothing_that_is_hidden(window, title):
    typing(window, "")
    before = window.document.design
    click_tab(window, title)
    press(window, Key.Key_5, Key.Key_Return)
    assert window.document.design == before
    focus = QApplication.focusWidget()
    front = next(spec.key for spec in PANELS if spec.title == title)
    assert focus is window.panels[front]
    assert focus.isVisible()
    press(window, Key.Key_Tab)
    assert window.panels[front].isAncestorOf(QApplication.focusWidget())


def test_the_keyboard_follows_the_tabs_there_and_back(window):
    typing(window, "")
    for title, key in (("Working", "working"), ("Body", "body"), ("Motors", "motors"), ("Wheel", "wheel")):
        click_tab(window, title)
        assert QApplication.focusWidget() is window.panels[key]
        press(window, Key.Key_Tab)


def test_a_click_on_a_tab_leaves_the_keyboard_where_it_is_in_sight(window):
    typing(window, "")
    window.canvas.setFocus()
    click_tab(window, "Plot")
    assert window.canvas.hasFocus()


def test_a_panel_that_is_closed_leaves_the_keyboard_to_the_plan(window):
    window.go_to("wheels")
    assert window.panels["wheels"].isAncestorOf(QApplication.focusWidget())
    window.docks["wheels"].close()
    assert window.canvas.hasFocus()


def test_what_was_typed_is_taken_up_where_it_was_typed(window):
    typing(window, "140")
    before = window.document.design
    click_tab(window, "Chassis")
    after = window.document.design
    assert after.wheels[0].x_mm == 140
    assert after == before.edited(
        wheels=tuple(w.edited(x_mm=140.0) if w.x_mm == before.wheels[0].x_mm else w for w in before.wheels)
    )
    assert window.document.undo_stack.count() == 1


def test_what_was_typed_and_is_refused_changes_nothing_and_is_told(window):
    field = typing(window, "nonsense")
    before = window.document.design
    click_tab(window, "Plot")
    assert window.document.design == before
    click_tab(window, "Wheel")
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
    click_tab(window, "Plot")
    assert window.document.design.body_mm[0][0] == 211
    assert QApplication.focusWidget() is window.panels["plot"]


@pytest.mark.parametrize("front", [spec.key for spec in TABS])
def test_no_stop_of_tab_lies_in_a_hidden_panel(window, front):
    window.action["add_steer_motor"].trigger()
    window.show_panel(front)
    QApplication.processEvents()
    hidden = [window.panels[spec.key] for spec in TABS if spec.key != front]
    assert window.panels[front].isVisible()
    assert not any(panel.isVisible() for panel in hidden)
    assert [s.accessibleName() for s in stops(window) if any(p.isAncestorOf(s) for p in hidden)] == []


def test_a_window_made_small_and_large_again_keeps_the_keyboard(window):
    field = typing(window, "")
    window.showMinimized()
    QApplication.processEvents()
    window.showNormal()
    QApplication.processEvents()
    window.activateWindow()
    assert field.isVisible()
    assert window.focusWidget() is field
    assert not window.panels["plot"].isVisible()
