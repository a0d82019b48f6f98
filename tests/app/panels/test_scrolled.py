"""What scrolls keeps in sight the field that has the keyboard."""

from __future__ import annotations

import pytest
from PySide6.QtCore import QPointF, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLabel, QLineEdit, QVBoxLayout, QWidget

from app.panels.form import scrolled
from tests import mouse

ROWS = 40


@pytest.fixture
def area(qtbot):
    """Fields in a column that is much taller than its window; above each a line that comes and goes."""
    inner = QWidget()
    column = QVBoxLayout(inner)
    for _ in range(ROWS):
        line = QLabel("why it was refused,\nin two lines")
        line.hide()
        column.addWidget(line)
        column.addWidget(QLineEdit())
    made = scrolled(inner)
    qtbot.addWidget(made)
    made.resize(240, 200)
    made.show()
    made.activateWindow()
    QApplication.processEvents()
    return made


def field(area, row):
    return area.widget().findChildren(QLineEdit)[row]


def in_sight(area, widget):
    top = widget.mapTo(area.viewport(), widget.rect().topLeft()).y()
    return top >= 0 and top + widget.height() <= area.viewport().height()


def turn_wheel(area, notches):
    mouse.wheel(area.viewport(), QPointF(20, 20), notches)
    QApplication.processEvents()


def test_a_key_brings_back_a_field_that_the_mouse_wheel_took_out_of_sight(area):
    field(area, 0).setFocus()
    turn_wheel(area, -20)
    assert not in_sight(area, field(area, 0))
    QTest.keyClick(field(area, 0), Qt.Key.Key_5)
    assert in_sight(area, field(area, 0))
    assert field(area, 0).text() == "5"


def test_the_mouse_wheel_may_leave_the_field_that_has_the_keyboard(area):
    field(area, 0).setFocus()
    turn_wheel(area, -20)
    area.widget().findChildren(QLabel)[5].show()
    QApplication.processEvents()
    QApplication.processEvents()
    assert not in_sight(area, field(area, 0))


def test_a_field_stays_in_sight_while_lines_appear_above_it(area):
    QTest.keyClick(field(area, 0), Qt.Key.Key_Tab)
    field(area, 9).setFocus(Qt.FocusReason.TabFocusReason)
    area.ensureWidgetVisible(field(area, 9))
    for line in area.widget().findChildren(QLabel)[:9]:
        line.show()
    for _ in range(4):
        QApplication.processEvents()
    assert in_sight(area, field(area, 9))


def test_a_field_stays_in_sight_where_it_moves_and_the_whole_keeps_its_height(qtbot):
    inner = QWidget()
    inner.setMinimumHeight(2_000)
    section = QWidget(inner)
    section.setGeometry(0, 1_500, 200, 60)
    one = QLineEdit(section)
    made = scrolled(inner)
    qtbot.addWidget(made)
    made.resize(240, 200)
    made.show()
    made.activateWindow()
    QApplication.processEvents()
    one.setFocus(Qt.FocusReason.TabFocusReason)
    made.ensureWidgetVisible(one)
    assert in_sight(made, one)
    section.move(0, 100)
    QApplication.processEvents()
    assert in_sight(made, one)


def test_what_the_keyboard_comes_to_from_outside_is_brought_into_sight(qtbot):
    window = QWidget()
    column = QVBoxLayout(window)
    outside, inner = QLineEdit(), QWidget()
    rows = QVBoxLayout(inner)
    for _ in range(ROWS):
        rows.addWidget(QLineEdit())
    made = scrolled(inner)
    column.addWidget(outside)
    column.addWidget(made)
    qtbot.addWidget(window)
    window.resize(240, 260)
    window.show()
    window.activateWindow()
    QApplication.processEvents()
    last = field(made, ROWS - 1)
    QWidget.setTabOrder(last, outside)
    outside.setFocus()
    QTest.keyClick(outside, Qt.Key.Key_Backtab)
    assert last.hasFocus()
    qtbot.waitUntil(lambda: in_sight(made, last), timeout=2_000)


@pytest.mark.parametrize("out_of_sight", [True, False])
def test_a_click_elsewhere_that_gives_the_keyboard_back_brings_only_what_is_hidden(
    qtbot, monkeypatch, out_of_sight
):
    window = QWidget()
    column = QVBoxLayout(window)
    outside, inner = QLineEdit(), QWidget()
    rows = QVBoxLayout(inner)
    for _ in range(ROWS):
        rows.addWidget(QLineEdit())
    made = scrolled(inner)
    column.addWidget(outside)
    column.addWidget(made)
    qtbot.addWidget(window)
    window.resize(240, 260)
    window.show()
    window.activateWindow()
    QApplication.processEvents()
    outside.setFocus()
    first = field(made, 0)
    beside = first.height() + (40 if out_of_sight else -4)
    made.verticalScrollBar().setValue(beside)
    monkeypatch.setattr(QApplication, "mouseButtons", lambda: Qt.MouseButton.LeftButton)
    first.setFocus()
    QApplication.processEvents()
    assert (made.verticalScrollBar().value() != beside) == out_of_sight
