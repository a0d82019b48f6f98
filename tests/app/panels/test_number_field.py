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
        self.field.reason_changed.connect(self.told.append)
        layout.insertWidget(1, self.field.reason)
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
        if self.answer is True:
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
    assert bench.told[0] in bench.field.reason.text()
    assert bench.field.reason.isVisible()
    assert "Width of something." in bench.field.toolTip()
    bench.type("3")
    assert bench.asked == [3.0]
    assert not bench.marked
    assert bench.field.toolTip() == "Width of something."


def test_garbage_that_is_left_behind_stays_with_its_reason_until_escape(bench):
    bench.type("abc", key=None)
    QTest.keyClick(bench.field, Key.Key_Tab)
    assert not bench.field.hasFocus()
    assert bench.field.text() == "abc"
    assert len(bench.told) == 1
    assert "'abc'" in bench.field.reason.text()
    assert bench.field.reason.isVisible()
    assert bench.marked
    bench.field.show_value(2.5)
    assert bench.field.text() == "abc"
    bench.field.setFocus()
    QTest.keyClick(bench.field, Key.Key_Escape)
    assert bench.field.text() == "2.5"
    assert not bench.field.reason.isVisible()
    assert not bench.marked


def test_garbage_gives_way_once_the_value_is_changed_in_another_way(bench):
    bench.type("abc")
    bench.field.show_value(4.0)
    assert bench.field.text() == "4"
    assert not bench.field.reason.isVisible()


def test_garbage_that_was_typed_for_one_thing_is_not_shown_for_another(bench):
    bench.field.show_value(2.5, "first")
    bench.type("abc")
    bench.field.show_value(2.5, "first")
    assert bench.field.text() == "abc"
    bench.field.show_value(2.5, "second")
    assert bench.field.text() == "2.5"
    assert not bench.marked


def test_what_is_being_typed_for_one_thing_is_not_asked_for_another(bench):
    bench.field.show_value(2.5, "first")
    bench.type("7", key=None)
    bench.field.show_value(3.0, "second")
    assert bench.field.text() == "3"
    bench.other.setFocus()
    assert bench.asked == []


def test_what_is_being_typed_is_dropped_once_another_chassis_is_opened(bench):
    bench.type("7", key=None)
    bench.field.give_up()
    bench.other.setFocus()
    assert bench.asked == []
    assert bench.field.text() == "2.5"


def test_a_field_that_is_switched_off_keeps_no_garbage(bench):
    bench.type("abc")
    bench.field.setEnabled(False)
    assert bench.field.text() == "2.5"
    assert not bench.field.reason.isVisible()


def test_the_reason_of_the_one_who_refuses_stands_below(bench):
    bench.answer = "must be at most 50 (got 99)"
    bench.type("99")
    assert bench.field.reason.text() == "✗ must be at most 50 (got 99)"
    assert "at most 50" in bench.field.accessibleDescription()
    assert bench.field.reason.textFormat() == Qt.TextFormat.PlainText


def test_enter_tries_again_once_one_has_been_elsewhere(bench):
    bench.answer = "not beside that one"
    bench.type("99")
    bench.other.setFocus()
    assert bench.asked == [99.0]
    bench.answer = True
    bench.field.setFocus()
    bench.other.setFocus()
    assert bench.asked == [99.0]
    bench.field.setFocus()
    QTest.keyClick(bench.field, Key.Key_Return)
    assert bench.asked == [99.0, 99.0]
    assert not bench.marked
    assert not bench.field.reason.isVisible()


def test_a_refused_step_is_explained_until_the_next_one(bench):
    bench.answer = "must be at most 2.5 (got 3)"
    QTest.keyClick(bench.field, Key.Key_Up)
    assert bench.field.text() == "2.5"
    assert "at most 2.5" in bench.field.reason.text()
    assert not bench.field.refused
    bench.answer = True
    QTest.keyClick(bench.field, Key.Key_Down)
    assert not bench.field.reason.isVisible()


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


def test_undoing_a_refused_text_in_its_field_forgets_the_refusal(qtbot):
    field = NumberField("x", parse=float_of, show=str, ask=lambda _value: True, step=1.0, tip="A number.")
    qtbot.addWidget(field)
    field.show_value(5.0)
    field.setFocus()
    field.selectAll()
    QTest.keyClicks(field, "nonsense")
    QTest.keyClick(field, Qt.Key.Key_Return)
    assert field.refused
    while field.isUndoAvailable():
        field.undo()
    assert field.text() == "5.0"
    assert not field.refused
    assert field.reason.text() == ""
    assert not field.isModified()


def float_of(text):
    try:
        return float(text)
    except ValueError as error:
        raise UnitError(str(error)) from None
