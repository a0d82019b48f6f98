"""The form for a new chassis, by keys alone."""

from __future__ import annotations

import threading

import pytest
from PySide6.QtCore import QCoreApplication, QEvent, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QHBoxLayout, QLineEdit, QSpinBox, QWidget

from app.dialogs.first_chassis import FirstChassisForm
from app.dialogs.first_chassis_picture import FirstChassisPicture
from geometry.kinematics.robot import robot_of
from geometry.turn_range.range_check import RangeCheck


class Shown(QWidget):
    """Form and picture side by side, and what the form asked for."""

    def __init__(self, unit):
        super().__init__()
        self.form = FirstChassisForm(unit)
        self.picture = FirstChassisPicture(self.form)
        self.made, self.emptied = [], []
        self.form.made.connect(self.made.append)
        self.form.empty_asked.connect(lambda: self.emptied.append(self.form.unit))
        layout = QHBoxLayout(self)
        layout.addWidget(self.form)
        layout.addWidget(self.picture, 1)

    @property
    def told(self):
        """All that stands below the picture."""
        notes = self.picture.notes
        return "\n".join([self.picture.line.text(), "" if notes.isHidden() else notes.toPlainText()])


@pytest.fixture
def make_shown(qtbot):
    before = set(threading.enumerate())
    made = []

    def make(unit="mm"):
        shown = Shown(unit)
        qtbot.addWidget(shown)
        shown.resize(1000, 720)
        shown.show()
        shown.activateWindow()
        QApplication.processEvents()
        shown.form.begin(unit)
        made.append(shown)
        return shown

    yield make
    for shown in made:
        shown.form.leave()
    QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
    assert [thread for thread in threading.enumerate() if thread not in before] == []


@pytest.fixture
def shown(make_shown):
    return make_shown()


@pytest.fixture
def form(shown):
    return shown.form


def press(widget, *keys):
    for key in keys:
        QTest.keyClick(widget.window().focusWidget(), key)


def tab_to(widget):
    """Go by Tab; the widget must be reached."""
    for _ in range(40):
        if widget.window().focusWidget() is widget:
            return
        press(widget, Qt.Key.Key_Tab)
    pytest.fail(f"Tab does not reach {widget.accessibleName()}")


def typed(widget, text):
    tab_to(widget)
    box = widget if isinstance(widget, QLineEdit) else widget.lineEdit()
    box.selectAll()
    QTest.keyClicks(box, text)
    press(widget, Qt.Key.Key_Tab)


def chosen(box, index):
    tab_to(box)
    while box.currentIndex() < index:
        press(box, Qt.Key.Key_Down)


def segment_chosen(segments, key):
    """Go to the segment that holds, and from there by arrow keys."""
    tab_to(segments.buttons[segments.value])
    keys = list(segments.buttons)
    way = Qt.Key.Key_Right if keys.index(key) > keys.index(segments.value) else Qt.Key.Key_Left
    for _ in keys:
        if segments.value != key:
            press(segments, way)
    assert segments.value == key


def test_a_name_and_enter_make_the_six_wheeler_of_the_defaults(shown):
    QTest.keyClicks(shown.focusWidget(), "Marsh hopper")
    press(shown, Qt.Key.Key_Return)
    (made,) = shown.made
    assert made.design.name == "Marsh hopper"
    assert len(made.design.wheels) == 6
    assert made.unit == "mm"


def test_an_own_robot_is_made_by_keys_alone(shown, form, qtbot):
    segment_chosen(form.wheels.usual, 4)
    chosen(form.steered, 1)
    typed(form.fields["wheelbase_mm"], "300")
    assert form.fields["track_mm"].text() == "264 mm"
    typed(form.fields["hole_pitch_mm"], "10")
    chosen(form.motors, 2)
    typed(form.steer, "2")
    press(shown, Qt.Key.Key_Return)
    qtbot.waitUntil(lambda: bool(shown.made), timeout=20_000)
    design = shown.made[0].design
    assert [wheel.kind for wheel in design.wheels] == ["steered", "steered", "fixed", "fixed"]
    assert {wheel.x_mm for wheel in design.wheels} == {150.0, -150.0}
    assert len(design.steer_motors) == 2
    assert RangeCheck(robot_of(design), design.largest_turn).aligned


@pytest.mark.parametrize("wheels", [3, 5, 7, 24])
def test_any_number_of_wheels_can_be_typed(shown, form, wheels):
    segment_chosen(form.wheels.usual, 0)
    typed(form.wheels.other, str(wheels))
    assert form.single.isVisible() == (wheels % 2 == 1)
    press(shown, Qt.Key.Key_Return)
    assert len(shown.made[0].design.wheels) == wheels


@pytest.mark.parametrize("text", ["99", "2", "7.5"])
def test_a_number_of_wheels_that_cannot_be_is_refused_with_the_range_and_stays(shown, form, text):
    segment_chosen(form.wheels.usual, 0)
    typed(form.wheels.other, text)
    assert form.wheels.other.text() == text
    assert form.wheels.other.reason.isVisible()
    assert "must be a whole number from 3 to 24" in form.wheels.other.reason.text()
    press(shown, Qt.Key.Key_Return)
    assert shown.made == []
    typed(form.wheels.other, "9")
    assert not form.wheels.other.reason.isVisible()
    press(shown, Qt.Key.Key_Return)
    assert len(shown.made[0].design.wheels) == 9


def test_a_refused_number_of_motors_is_dropped_with_its_field(shown, form):
    chosen(form.motors, 2)
    typed(form.steer, "99")
    assert form.steer.text() == "99"
    assert form.said[0] == "bad"
    form.motors.setCurrentIndex(0)
    assert form.steer.text() == "2"
    press(shown, Qt.Key.Key_Return)
    assert len(shown.made) == 1


def test_enter_makes_the_chassis_from_every_field(make_shown):
    shown = make_shown()
    form = shown.form
    form.wheels.choose(7)
    form.motors.setCurrentIndex(1)
    stops = [
        *(form.name, form.wheels.usual.buttons[0], form.wheels.other, form.single, form.steered),
        *(form.units.buttons["mm"], *form.fields.values(), form.in_line, form.motors, form.make),
    ]
    for n, stop in enumerate(stops, start=1):
        tab_to(stop)
        press(shown, Qt.Key.Key_Return)
        assert len(shown.made) == n, stop.accessibleName()


def test_what_is_typed_last_counts_when_enter_makes_it(shown, form):
    tab_to(form.fields["track_mm"])
    form.fields["track_mm"].selectAll()
    QTest.keyClicks(form.fields["track_mm"], "288")
    press(shown, Qt.Key.Key_Return)
    assert max(wheel.y_mm for wheel in shown.made[0].design.wheels) == 144


def test_what_is_typed_last_counts_when_a_click_makes_it(shown, form):
    form.fields["track_mm"].setFocus()
    form.fields["track_mm"].selectAll()
    QTest.keyClicks(form.fields["track_mm"], "288")
    form.make.click()
    assert max(wheel.y_mm for wheel in shown.made[0].design.wheels) == 144


def test_a_refused_number_stays_with_its_reason_and_nothing_is_made(shown, form):
    tab_to(form.fields["track_mm"])
    form.fields["track_mm"].selectAll()
    QTest.keyClicks(form.fields["track_mm"], "19")
    press(shown, Qt.Key.Key_Return)
    assert shown.made == []
    assert form.fields["track_mm"].text() == "19"
    assert "20 to 9000 mm" in form.entries["track_mm"].message.text()


def test_a_step_out_of_range_says_the_range(shown, form):
    typed(form.fields["diameter_mm"], "5")
    tab_to(form.fields["diameter_mm"])
    press(shown, Qt.Key.Key_Down)
    assert form.fields["diameter_mm"].text() == "5 mm"
    assert "must be 5 to 2000 mm" in form.entries["diameter_mm"].message.text()


def test_numbers_that_do_not_fit_together_say_so_and_cannot_be_made(shown, form):
    typed(form.fields["body_width_mm"], "300")
    typed(form.fields["track_mm"], "240")
    assert "leave room for the wheels" in form.entries["body_width_mm"].message.text()
    assert "Body width must leave room" in shown.told
    assert not form.make.isEnabled()
    press(shown, Qt.Key.Key_Return)
    assert shown.made == []
    typed(form.fields["body_width_mm"], "168")
    assert form.entries["body_width_mm"].message.isHidden()
    assert form.make.isEnabled()


def test_a_chassis_that_drags_is_made_only_at_the_second_enter_after_the_reason(shown, form, qtbot):
    chosen(form.motors, 2)
    typed(form.steer, "1")
    press(shown, Qt.Key.Key_Return)
    qtbot.waitUntil(lambda: "It is not aligned" in shown.told, timeout=20_000)
    assert shown.made == []
    press(shown, Qt.Key.Key_Return)
    assert len(shown.made[0].design.steer_motors) == 1
    assert "It is not aligned" in shown.made[0].design.notes


def test_a_change_after_the_reason_asks_anew(shown, form, qtbot):
    chosen(form.motors, 2)
    typed(form.steer, "1")
    press(shown, Qt.Key.Key_Return)
    qtbot.waitUntil(lambda: "It is not aligned" in shown.told, timeout=20_000)
    typed(form.steer, "2")
    assert form.make.text() == "&Make this chassis"
    assert form.said[0] == "busy"  # how it comes out is known once it is searched for


def test_before_the_search_nothing_is_promised_of_shared_motors(shown, form):
    chosen(form.motors, 2)
    assert "the best sharing is searched for as it is made" in shown.told
    assert "Opens aligned" not in shown.told
    assert form.said[0] == "busy"


def test_leaving_ends_a_search_and_makes_nothing(shown, form):
    start_long_search(form)
    form.leave()
    assert shown.made == []
    assert form.area.isEnabled()
    assert form.make.isVisible()


def test_stop_ends_the_search_and_the_form_can_be_used_again(shown, form, qtbot):
    start_long_search(form)
    assert not form.area.isEnabled()
    assert shown.focusWidget() is form.stop
    press(shown, Qt.Key.Key_Return)
    qtbot.waitUntil(form.area.isEnabled, timeout=20_000)
    assert shown.made == []
    assert "The search was stopped." in shown.told


def test_escape_stops_the_search_and_the_keys_go_to_make(shown, form, qtbot):
    start_long_search(form)
    press(shown, Qt.Key.Key_Escape)
    qtbot.waitUntil(form.area.isEnabled, timeout=20_000)
    assert shown.made == []
    assert shown.focusWidget() is form.make


def start_long_search(form):
    form.wheels.choose(10)
    form.steered.setCurrentIndex(3)
    form.motors.setCurrentIndex(2)
    form.make.click()


def test_inches_are_shown_and_read(make_shown):
    shown = make_shown("inch")
    form = shown.form
    typed(form.fields["wheelbase_mm"], "12")
    form.units.choose("mm")
    assert form.fields["wheelbase_mm"].text() == "304.8 mm"
    assert form.unit == "mm"


def test_on_an_inch_screen_every_sentence_tip_and_default_is_in_inches(make_shown):
    shown = make_shown("inch")
    form = shown.form
    texts = {key: field.text() for key, field in form.fields.items()}
    assert texts["wheelbase_mm"] == "11 in"
    assert texts["hole_pitch_mm"] == "0.5 in"
    assert all(len(text) <= len("10.25 in") for text in texts.values())
    assert "Opens aligned" in shown.told
    typed(form.fields["wheelbase_mm"], "11")
    typed(form.fields["track_mm"], "10")
    typed(form.fields["body_width_mm"], "7.5")
    assert "a body at most 7.1" in shown.told
    typed(form.fields["body_width_mm"], "9.9")
    for text in (
        *(shown.told, form.entries["body_width_mm"].message.text()),
        *(field.toolTip() for field in form.fields.values()),
    ):
        assert " in" in text
        assert "mm" not in text


def test_tips_tell_range_and_unit_and_follow_the_unit(form):
    assert "20 to 9000 mm." in form.fields["track_mm"].toolTip()
    form.units.choose("inch")
    assert "0.787 to 354.331 in." in form.fields["track_mm"].toolTip()


def test_the_picture_follows_what_is_chosen(shown, form):
    before = shown.picture.picture.grab().toImage()
    form.wheels.choose(4)
    assert shown.picture.picture.grab().toImage() != before


def test_an_empty_chassis_is_one_button_away(shown, form):
    tab_to(form.empty)
    press(shown, Qt.Key.Key_Return)
    assert shown.emptied == ["mm"]
    assert shown.made == []


def test_what_has_no_meaning_is_not_shown_or_says_why(form):
    form.wheels.choose(4)
    assert not form.single.isVisible()
    assert not form.steer.isVisible()
    assert not form.in_line.isEnabled()
    assert "no wheels between" in form.in_line.toolTip()
    form.motors.setCurrentIndex(2)
    assert form.steer.isVisible()


def test_every_field_has_a_name_a_tip_and_is_reached_by_tab(shown, form):
    form.wheels.choose(7)
    form.motors.setCurrentIndex(2)
    for widget in (
        *(form.name, form.wheels.usual.buttons[0], form.wheels.other, form.single, form.steered),
        *(form.units.buttons["mm"], form.in_line, form.motors, form.steer, form.drive),
        *form.fields.values(),
        *(form.make, form.empty),
    ):
        assert widget.accessibleName() or widget.text()
        assert widget.toolTip()
        tab_to(widget)


def test_scrolling_the_form_changes_no_number(form):
    for box in form.findChildren(QSpinBox):
        assert box.focusPolicy() == Qt.FocusPolicy.StrongFocus


def test_nothing_good_is_said_while_a_number_is_refused(form):
    field = form.fields["wheelbase_mm"]
    field.setFocus()
    field.selectAll()
    QTest.keyClicks(field, "nan")
    QTest.keyClick(field, Qt.Key.Key_Tab)
    assert form.said[0] == "bad"
    assert "Wheelbase is refused" in form.said[1]
    field.setFocus()
    QTest.keyClick(field, Qt.Key.Key_Escape)
    assert form.said[0] == "good"
