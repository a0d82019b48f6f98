"""The number field: what can be typed, what is refused, and what the keys do."""

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QLineEdit, QVBoxLayout, QWidget

from app.panels.number_field import NumberField
from app.units import UnitError, parse_number, show_number

Key = Qt.Key


class Bench:
    """A field with a neighbour to go to, and all that it asked and told."""

    def __init__(self, qtbot):
        self.asked, self.told, self.answer = [], [], True
        self.page = QWidget()
        self.field = NumberField(
            "Width",
            parse=self.parse,
            show=lambda v: show_number(v, 3),
            ask=self.ask,
            step=0.5,
            tip="Width of something.",
        )
        self.other = QLineEdit()
        layout = QVBoxLayout(self.page)
        layout.addWidget(self.field)
        layout.addWidget(self.other)
        self.field.refused.connect(self.told.append)
        qtbot.addWidget(self.page)
        self.page.show()
        self.page.activateWindow()
        self.field.setFocus()

    @staticmethod
    def parse(text):
        value = parse_number(text)
        if value < 0:
            raise UnitError(f"must be at least 0 (got {value:g})")
        return value

    def ask(self, value):
        self.asked.append(value)
        if self.answer:
            self.field.show_value(value)
        return self.answer

    def type(self, text, key=Key.Key_Return):
        self.field.selectAll()
        self.field.insert(text)  # Qt's own key clicks abort on what is not ASCII
        if key is not None:
            QTest.keyClick(self.field, key)

    @property
    def marked(self):
        return "border" in self.field.styleSheet()


@pytest.fixture
def bench(qtbot):
    made = Bench(qtbot)
    made.field.show_value(2.5)
    return made


def test_it_shows_the_number(bench):
    assert bench.field.text() == "2.5"
    assert bench.field.value == 2.5
    assert bench.asked == []


@pytest.mark.parametrize(
    ("text", "value"), [("12", 12.0), ("12.5", 12.5), ("12,5", 12.5), (" 7 ", 7.0), ("1e2", 100.0)]
)
def test_a_typed_number_is_asked_for_once(bench, text, value):
    bench.type(text)
    assert bench.asked == [value]
    bench.other.setFocus()
    assert bench.asked == [value]
    assert not bench.marked


def test_leaving_the_field_takes_what_was_typed(bench):
    bench.type("4", key=None)
    assert bench.asked == []
    bench.other.setFocus()
    assert bench.asked == [4.0]


def test_leaving_an_untouched_field_asks_nothing(bench):
    bench.other.setFocus()
    assert bench.asked == []


def test_typing_the_same_number_asks_for_nothing_else(bench):
    bench.type("2.5")
    assert set(bench.asked) <= {2.5}
    assert bench.field.text() == "2.5"


@pytest.mark.parametrize("text", ["abc", "1..2", "1,234.5", "nan", "inf", "--1", "-3", "1e999", "½"])
def test_garbage_is_marked_told_and_kept_for_mending(bench, text):
    bench.type(text)
    assert bench.asked == []
    assert bench.marked
    assert bench.field.text() == text
    assert bench.told[0].startswith("Width: ")
    assert "Width of something." in bench.field.toolTip()
    bench.type("3")
    assert bench.asked == [3.0]
    assert not bench.marked
    assert bench.field.toolTip() == "Width of something."


def test_garbage_that_is_left_behind_gives_way_to_what_holds(bench):
    bench.type("abc", key=None)
    bench.other.setFocus()
    assert bench.field.text() == "2.5"
    assert len(bench.told) == 1
    assert not bench.marked


def test_a_number_that_the_document_refuses_is_kept_and_marked(bench):
    bench.answer = False
    bench.type("99")
    assert bench.asked == [99.0]
    assert bench.field.text() == "99"
    assert bench.marked
    QTest.keyClick(bench.field, Key.Key_Return)
    assert bench.asked == [99.0]


def test_escape_brings_back_what_holds(bench):
    bench.type("77", key=Key.Key_Escape)
    assert bench.field.text() == "2.5"
    bench.other.setFocus()
    assert bench.asked == []


def test_an_emptied_field_brings_back_what_holds(bench):
    bench.field.selectAll()
    QTest.keyClick(bench.field, Key.Key_Delete)
    QTest.keyClick(bench.field, Key.Key_Return)
    assert bench.field.text() == "2.5"
    assert bench.asked == []


def test_the_up_and_down_keys_step(bench):
    QTest.keyClick(bench.field, Key.Key_Up)
    QTest.keyClick(bench.field, Key.Key_Up)
    QTest.keyClick(bench.field, Key.Key_Down, Qt.KeyboardModifier.ShiftModifier)
    assert bench.asked == [3.0, 3.5, -1.5]


def test_a_step_starts_from_what_was_just_typed(bench):
    bench.type("10", key=Key.Key_Up)
    assert bench.asked == [10.0, 10.5]
    assert bench.field.text() == "10.5"


def test_a_step_waits_until_garbage_is_mended(bench):
    bench.type("ten", key=Key.Key_Up)
    assert bench.asked == []
    assert bench.field.text() == "ten"
    assert bench.marked


def test_ten_small_steps_are_one_whole_step(bench):
    bench.field._step = 0.1
    bench.field.show_value(0.0)
    for _ in range(10):
        QTest.keyClick(bench.field, Key.Key_Up)
    assert bench.asked[-1] == 1.0


def test_a_new_number_does_not_overwrite_what_is_being_typed(bench):
    bench.type("12", key=None)
    bench.field.show_value(3.0)
    assert bench.field.text() == "12"
    QTest.keyClick(bench.field, Key.Key_Escape)
    assert bench.field.text() == "3"


def test_several_numbers_show_as_several(bench):
    bench.field.show_value(None)
    assert bench.field.text() == ""
    assert bench.field.placeholderText() == "several"
    QTest.keyClick(bench.field, Key.Key_Up)
    QTest.keyClick(bench.field, Key.Key_Return)
    bench.other.setFocus()
    assert bench.asked == []
    bench.field.setFocus()
    bench.type("6")
    assert bench.asked == [6.0]


def test_it_says_its_name_and_meaning_to_a_screen_reader(bench):
    assert bench.field.accessibleName() == "Width"
    assert bench.field.accessibleDescription() == "Width of something."
