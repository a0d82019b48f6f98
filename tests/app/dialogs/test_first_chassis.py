"""The form for a new chassis, by keys alone."""

from __future__ import annotations

import threading

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLineEdit

from app.dialogs.first_chassis import FirstChassisDialog
from geometry.kinematics.robot import robot_of
from geometry.turn_range.range_check import RangeCheck


@pytest.fixture
def make_dialog(qtbot):
    before = set(threading.enumerate())
    made = []

    def make(unit="mm"):
        dialog = FirstChassisDialog(None, unit)
        qtbot.addWidget(dialog)
        dialog.show()
        dialog.activateWindow()
        QApplication.processEvents()
        made.append(dialog)
        return dialog

    yield make
    for dialog in made:
        dialog.close()
    assert [thread for thread in threading.enumerate() if thread not in before] == []


@pytest.fixture
def dialog(make_dialog):
    return make_dialog()


def press(dialog, *keys):
    for key in keys:
        QTest.keyClick(dialog.focusWidget(), key)


def tab_to(dialog, widget):
    """Go by Tab; the widget must be reached."""
    for _ in range(40):
        if dialog.focusWidget() is widget:
            return
        press(dialog, Qt.Key.Key_Tab)
    pytest.fail(f"Tab does not reach {widget.accessibleName()}")


def typed(dialog, widget, text):
    tab_to(dialog, widget)
    box = widget if isinstance(widget, QLineEdit) else widget.lineEdit()
    box.selectAll()
    QTest.keyClicks(box, text)
    press(dialog, Qt.Key.Key_Tab)


def chosen(dialog, box, index):
    tab_to(dialog, box)
    while box.currentIndex() < index:
        press(dialog, Qt.Key.Key_Down)


def test_a_name_and_enter_make_the_six_wheeler_of_the_defaults(dialog):
    QTest.keyClicks(dialog.focusWidget(), "Marsh hopper")
    press(dialog, Qt.Key.Key_Return)
    assert dialog.made.name == "Marsh hopper"
    assert len(dialog.made.wheels) == 6
    assert not dialog.isVisible()


def test_an_own_robot_is_made_by_keys_alone(dialog, qtbot):
    typed(dialog, dialog.wheels, "4")
    chosen(dialog, dialog.steered, 1)
    typed(dialog, dialog.fields["wheelbase_mm"], "300")
    assert dialog.fields["track_mm"].text() == "276 mm"
    typed(dialog, dialog.fields["hole_pitch_mm"], "10")
    chosen(dialog, dialog.motors, 2)
    typed(dialog, dialog.steer, "2")
    press(dialog, Qt.Key.Key_Return)
    qtbot.waitUntil(lambda: dialog.made is not None, timeout=20_000)
    design = dialog.made
    assert [wheel.kind for wheel in design.wheels] == ["steered", "steered", "fixed", "fixed"]
    assert {wheel.x_mm for wheel in design.wheels} == {150.0, -150.0}
    assert len(design.steer_motors) == 2
    assert RangeCheck(robot_of(design), design.largest_turn).aligned


def test_what_is_typed_last_counts_when_enter_makes_it(dialog):
    tab_to(dialog, dialog.fields["track_mm"])
    dialog.fields["track_mm"].selectAll()
    QTest.keyClicks(dialog.fields["track_mm"], "288")
    press(dialog, Qt.Key.Key_Return)
    assert max(wheel.y_mm for wheel in dialog.made.wheels) == 144


def test_a_refused_number_stays_with_its_reason_and_nothing_is_made(dialog):
    tab_to(dialog, dialog.fields["track_mm"])
    dialog.fields["track_mm"].selectAll()
    QTest.keyClicks(dialog.fields["track_mm"], "19")
    press(dialog, Qt.Key.Key_Return)
    assert dialog.made is None
    assert dialog.isVisible()
    assert dialog.fields["track_mm"].text() == "19"
    assert "20 to 9000 mm" in dialog.entries["track_mm"].message.text()


def test_numbers_that_do_not_fit_together_say_so_and_cannot_be_made(dialog):
    typed(dialog, dialog.fields["body_width_mm"], "300")
    typed(dialog, dialog.fields["track_mm"], "240")
    assert "leave room for the wheels" in dialog.entries["body_width_mm"].message.text()
    assert not dialog.make.isEnabled()
    typed(dialog, dialog.fields["body_width_mm"], "168")
    assert dialog.entries["body_width_mm"].message.isHidden()
    assert dialog.make.isEnabled()


def test_a_chassis_that_drags_is_made_only_at_the_second_enter_after_the_reason(dialog, qtbot):
    chosen(dialog, dialog.motors, 2)
    typed(dialog, dialog.steer, "1")
    press(dialog, Qt.Key.Key_Return)
    qtbot.waitUntil(lambda: "It is not aligned" in dialog.told.toPlainText(), timeout=20_000)
    assert dialog.made is None
    press(dialog, Qt.Key.Key_Return)
    assert len(dialog.made.steer_motors) == 1
    assert "It is not aligned" in dialog.made.notes


def test_a_change_after_the_reason_asks_anew(dialog, qtbot):
    chosen(dialog, dialog.motors, 2)
    typed(dialog, dialog.steer, "1")
    press(dialog, Qt.Key.Key_Return)
    qtbot.waitUntil(lambda: "It is not aligned" in dialog.told.toPlainText(), timeout=20_000)
    dialog.steer.setValue(2)
    assert dialog.make.text() == "&Make this chassis"
    assert "✓" in dialog.told.toPlainText()


def test_escape_leaves_a_search_and_makes_nothing(dialog):
    dialog.wheels.setValue(10)
    dialog.steered.setCurrentIndex(3)
    dialog.motors.setCurrentIndex(2)
    dialog.make.click()
    dialog.reject()
    assert dialog.made is None
    assert not dialog.isVisible()


def test_stop_ends_the_search_and_the_form_can_be_used_again(dialog, qtbot):
    dialog.wheels.setValue(10)
    dialog.steered.setCurrentIndex(3)
    dialog.motors.setCurrentIndex(2)
    dialog.make.click()
    assert not dialog.form.isEnabled()
    dialog.stop.click()
    qtbot.waitUntil(dialog.form.isEnabled, timeout=20_000)
    assert dialog.made is None
    assert dialog.told.toPlainText() == "The search was stopped."


def test_inches_are_shown_and_read(make_dialog):
    dialog = make_dialog("inch")
    typed(dialog, dialog.fields["wheelbase_mm"], "12")
    dialog.units.setCurrentIndex(0)
    assert dialog.fields["wheelbase_mm"].text() == "304.8 mm"
    assert dialog.unit == "mm"


def test_the_picture_follows_what_is_chosen(dialog):
    before = dialog.picture.grab().toImage()
    dialog.wheels.setValue(4)
    assert dialog.picture.grab().toImage() != before


def test_an_empty_chassis_is_one_button_away(dialog):
    dialog.empty.click()
    assert dialog.made.wheels == ()


def test_it_fits_a_small_screen_with_its_buttons_in_sight(dialog):
    dialog.resize(1000, 600)
    QApplication.processEvents()
    assert dialog.height() <= 600
    bottom = dialog.make.mapTo(dialog, dialog.make.rect().bottomRight())
    assert dialog.rect().contains(bottom)
    assert dialog.minimumSizeHint().height() < 600


def test_every_field_has_a_name_and_is_reached_by_tab(dialog):
    for widget in (
        *(dialog.name, dialog.wheels, dialog.steered, dialog.units, dialog.in_line, dialog.motors),
        *dialog.fields.values(),
        *(dialog.told, dialog.make, dialog.empty),
    ):
        assert widget.accessibleName() or widget.text()
        tab_to(dialog, widget)
