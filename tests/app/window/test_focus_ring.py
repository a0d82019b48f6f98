"""One ring round what has the keyboard; the plan shows its own line."""

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from app.theme import current_theme
from app.window.focus_ring import FocusRing
from tests.picture import shows

Key = Qt.Key


@pytest.fixture
def ring(window):
    (found,) = window.findChildren(FocusRing)
    return found


def settle():
    QApplication.processEvents()
    QApplication.processEvents()


def assert_round(ring, widget):
    settle()
    assert ring.widget() is widget
    assert ring.isVisible()
    at = widget.mapTo(ring.parentWidget(), widget.rect().topLeft())
    inner = widget.rect().translated(at)
    assert ring.geometry().contains(inner)
    assert ring.width() <= widget.width() + 12
    assert ring.height() <= widget.height() + 12


def test_the_ring_goes_round_what_has_the_keyboard(window, ring):
    window.go_to("wheel")
    field = window.panels["wheel"].fields["x_mm"]
    for widget in (field, window.middle.turn.slider, window.middle.bar.buttons["check"]):
        widget.setFocus(Qt.FocusReason.TabFocusReason)
        assert_round(ring, widget)


def test_the_ring_is_drawn_in_the_accent(window, ring):
    window.middle.turn.straight.setFocus(Qt.FocusReason.TabFocusReason)
    settle()
    assert shows(ring.grab().toImage(), current_theme().accent)


def test_the_plan_has_no_ring(window, ring):
    window.middle.turn.slider.setFocus()
    settle()
    window.canvas.setFocus()
    settle()
    assert not ring.isVisible()


def test_the_ring_follows_tab(window, ring):
    window.middle.turn.slider.setFocus()
    QTest.keyClick(window.middle.turn.slider, Key.Key_Tab)
    assert_round(ring, QApplication.focusWidget())
    assert QApplication.focusWidget() is window.middle.turn.turn


@pytest.mark.parametrize("stage", ["motors", "build"])
def test_the_ring_goes_with_what_is_hidden(window, ring, stage):
    window.go_to("wheel")
    settle()
    assert ring.isVisible()
    window.go_to_stage(stage)
    settle()
    assert not ring.isVisible()


def test_the_ring_leaves_the_window_with_the_keyboard(window, ring):
    window.sections["wheel"].take_out()
    settle()
    field = window.panels["wheel"].fields["x_mm"]
    field.window().activateWindow()
    field.setFocus()
    settle()
    assert not ring.isVisible()
