"""The choices about the code: each is checked as it is made, and told where it is refused."""

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QComboBox

from app.design.samples import sample_design
from app.dialogs.code_choices import CodeChoices
from geometry.model.controller import PARTS, Controller
from geometry.model.design import Design
from geometry.model.wheel import Wheel
from tests.written import CODE_FORMATS

MOTORS = sample_design("marsh_scout_motors")


@pytest.fixture
def make(qtbot):
    def make(design=MOTORS, key="micropython"):
        made = CodeChoices(design, key)
        qtbot.addWidget(made)
        made.show()
        made.activateWindow()
        made.heard = []
        made.changed.connect(lambda: made.heard.append(made.controller))
        return made

    return make


def enter(field, text):
    field.setFocus()
    field.selectAll()
    QTest.keyClicks(field, text) if text else QTest.keyClick(field, Qt.Key.Key_Delete)
    QTest.keyClick(field, Qt.Key.Key_Return)


def pick(box: QComboBox, data):
    box.setCurrentIndex(box.findData(data))
    box.activated.emit(box.currentIndex())


NUMBERS = [
    ("error", "0,25", 0.25, "60", "at most 45"),
    ("speed_error_permille", "2.5", 2.5, "0", "at least 0.1"),
    ("largest_bytes", "400", 400, "15", "at least 16"),
    ("dead_band_permille", "20", 20, "2.5", "whole number"),
    ("hold_within_deg", "5°", 5, "181", "at most 180"),
    ("creep_permille", "100", 100, "-1", "at least 0"),
]


def field_of(choices, key):
    named = {
        "error": choices.error,
        "speed_error_permille": choices.speed,
        "largest_bytes": choices.most_bytes,
    }
    return named.get(key) or choices.parts.fields[key]


@pytest.mark.parametrize(("key", "typed", "value", "bad", "why"), NUMBERS)
def test_a_number_is_taken_or_told_why_not(make, key, typed, value, bad, why):
    choices = make()
    field, entry = field_of(choices, key), choices.entries[key]
    enter(field, typed)
    assert getattr(choices.controller, key) == value
    assert choices.heard == [choices.controller]
    enter(field, bad)
    assert entry.message.isVisible()
    assert why in entry.message.text()
    assert bad in entry.message.text()
    assert choices.refused
    assert getattr(choices.controller, key) == value
    assert len(choices.heard) == 1
    enter(field, typed)
    assert not choices.refused


def test_a_blank_size_is_no_limit(make):
    choices = make(MOTORS.edited(controller=Controller(largest_bytes=400)))
    assert choices.most_bytes.text() == "400"
    enter(choices.most_bytes, "")
    assert choices.controller.largest_bytes is None
    assert choices.most_bytes.text() == ""
    assert choices.most_bytes.placeholderText() == "no limit"


def test_words_are_no_number(make):
    choices = make()
    enter(choices.error, "little")
    assert "little" in choices.entries["error"].message.text()


def test_arrow_keys_step_and_tell_where_they_cannot(make):
    choices = make(MOTORS.edited(controller=Controller(error=44.98)))
    choices.error.setFocus()
    QTest.keyClick(choices.error, Qt.Key.Key_Up)
    assert choices.controller.error == 44.98
    assert "at most 45" in choices.entries["error"].message.text()
    QTest.keyClick(choices.error, Qt.Key.Key_Down)
    assert choices.controller.error == 44.93
    assert not choices.refused


@pytest.mark.parametrize("bad", ["while", "2robots", "a__b", ""])
def test_a_prefix_that_would_clash_is_refused_in_words(make, bad):
    choices = make()
    enter(choices.prefix, bad)
    assert choices.entries["prefix"].message.isVisible()
    assert choices.controller.prefix == "chassis"
    assert choices.prefix.text() == bad
    enter(choices.prefix, "scout")
    assert choices.controller.prefix == "scout"
    assert not choices.refused


def test_escape_in_a_number_forgets_what_was_refused(make):
    choices = make()
    enter(choices.error, "90")
    assert choices.refused
    QTest.keyClick(choices.error, Qt.Key.Key_Escape)
    assert not choices.refused
    assert not choices.entries["error"].message.isVisible()
    assert choices.error.text() == "0.1"


def test_another_unit_asks_for_the_same_error(make):
    choices = make()
    pick(choices.unit, "mm_per_m")
    assert (choices.controller.error_unit, choices.controller.error) == ("mm_per_m", 1.75)
    assert choices.error.text() == "1.75"
    pick(choices.unit, "deg")
    assert choices.controller.error == 0.1


def test_another_unit_takes_back_what_was_refused_in_the_old_one(make):
    choices = make()
    enter(choices.error, "60")
    assert choices.refused
    pick(choices.unit, "mm_per_m")
    assert not choices.refused


def test_rows_and_size_belong_to_the_table(make):
    choices = make()
    assert choices.spacing.isEnabled()
    assert choices.most_bytes.isEnabled()
    pick(choices.method, "formula")
    assert choices.controller.method == "formula"
    assert not choices.spacing.isEnabled()
    assert not choices.most_bytes.isEnabled()
    pick(choices.method, "table")
    pick(choices.spacing, "even")
    assert choices.controller.spacing == "even"


@pytest.mark.parametrize("part", PARTS)
def test_each_part_can_be_left_out_and_taken_again(make, part):
    choices = make()
    choices.parts.boxes[part].click()
    assert [p for p in PARTS if not getattr(choices.controller, p)] == [part]
    choices.parts.boxes[part].click()
    assert choices.controller == MOTORS.controller


def test_a_number_follows_its_part(make):
    choices = make()
    assert choices.parts.fields["creep_permille"].isEnabled()
    choices.parts.boxes["hold"].click()
    assert not choices.parts.fields["creep_permille"].isEnabled()
    assert not choices.parts.fields["hold_within_deg"].isEnabled()


def test_the_speed_of_bare_wheels_is_asked_where_there_are_some(make):
    assert not make().parts.fields["wheel_speed_deg_s"].isEnabled()
    assert make(sample_design("marsh_scout_six")).parts.fields["wheel_speed_deg_s"].isEnabled()


def test_what_has_nothing_to_act_on_says_so(make):
    carts = Design(wheels=(Wheel(name="L", x_mm=0.0, y_mm=90.0), Wheel(name="R", x_mm=0.0, y_mm=-90.0)))
    choices = make(carts)
    assert not choices.speed.isEnabled()
    for part, why in (("scaling", "no drive motors here"), ("hold", "no steering here")):
        assert not choices.parts.boxes[part].isEnabled()
        assert choices.parts.sizes[part].text() == why
    choices.parts.show_sizes({"mixing": 1_234})
    assert choices.parts.sizes["mixing"].text() == "1,234 bytes"


@pytest.mark.parametrize("form", CODE_FORMATS)
def test_every_format_is_offered_and_the_last_one_comes_first(make, form):
    choices = make(key=form.key)
    assert choices.code_format == form
    assert [choices.format.itemText(i) for i in range(choices.format.count())] == [
        f.label for f in CODE_FORMATS
    ]


def test_an_unknown_format_of_last_time_gives_the_first(make):
    assert make(key="cuneiform").code_format == CODE_FORMATS[0]


def test_every_choice_has_a_name_and_a_tip(make):
    choices = make()
    lists = (choices.format, choices.method, choices.spacing, choices.unit, choices.prefix)
    numbers = [field_of(choices, key) for key, *_ in NUMBERS]
    for part in (*lists, *numbers):
        assert part.accessibleName()
        assert part.toolTip()
    assert all(box.toolTip() for box in choices.parts.boxes.values())
