"""The turn control: the slider by mouse and keys, and every name of the motion both ways."""

import math

import pytest
from PySide6.QtCore import QPointF, Qt
from PySide6.QtTest import QTest

from app.design import edits
from app.design.samples import sample_design
from app.panels.turn_slider import mark_text
from geometry.kinematics.motion import radius_of_turn, sides_of_turn
from geometry.model.base_axle import base_of
from tests import mouse
from tests.windows import KEYS, listen

Key = Qt.Key


@pytest.fixture
def panel(window):
    return window.middle.turn


@pytest.fixture
def slider(panel):
    panel.slider.setFocus()
    return panel.slider


def enter(field, text):
    field.setFocus()
    field.selectAll()
    field.insert(text)  # Qt's own key clicks abort on what is not ASCII
    QTest.keyClick(field, Key.Key_Return)


@pytest.mark.parametrize("turn", [0.0, 0.25, -0.5, 1.0, -1.0, 0.123])
def test_the_fields_show_the_motion(window, panel, turn):
    document = window.document
    document.set_turn(turn)
    left, right = (float(v[0]) for v in sides_of_turn(turn))
    radius = float(radius_of_turn(turn, base_of(document.design))[0])
    assert panel.turn.value == turn
    assert panel.ratio.value == pytest.approx(1 - 2 * abs(turn))
    assert panel.left.value == pytest.approx(100 * left)
    assert panel.right.value == pytest.approx(100 * right)
    assert panel.radius.value == radius
    assert not [box.text() for box in panel.fields if "nan" in box.text().lower()]


@pytest.mark.parametrize(
    ("name", "text", "turn"),
    [
        ("turn", "0.4", 0.4),
        ("turn", "-0,4", -0.4),
        ("ratio", "0", 0.5),
        ("ratio", "-1", 1.0),
        ("left", "0", 0.5),
        ("left", "0 %", 0.5),
        ("right", "-100", None),
        ("radius", "120", 0.5),
        ("radius", "-120 mm", -0.5),
        ("radius", "12 cm", 0.5),
        ("radius", "straight", 0.0),
        ("radius", "∞", 0.0),
        ("radius", "0", 1.0),
    ],
)
def test_each_field_asks_for_its_motion(window, panel, name, text, turn):
    document = window.document
    document.set_turn(0.25)
    enter(getattr(panel, name), text)
    if turn is None:
        assert document.command.sides == pytest.approx((0.5, -1.0))
    else:
        assert document.command.turn == pytest.approx(turn)


@pytest.mark.parametrize("name", ["turn", "ratio", "left", "right", "radius"])
def test_what_a_field_shows_can_be_typed_into_it(window, panel, name):
    document = window.document
    for turn in (0.0, 0.25, -0.4):
        document.set_turn(turn)
        field = getattr(panel, name)
        enter(field, field.text())
        assert document.command.turn == pytest.approx(turn, abs=2e-4)


@pytest.mark.parametrize("name", ["turn", "ratio", "left", "right", "radius"])
@pytest.mark.parametrize("text", ["abc", "1e9999", "nan", "2000"])
def test_garbage_moves_nothing_and_is_told(window, panel, name, text):
    document = window.document
    document.set_turn(0.25)
    before = document.command
    if name == "radius" and text == "2000":
        text = "2000 furlongs"
    enter(getattr(panel, name), text)
    assert document.command == before
    assert getattr(panel, name).reason.isVisible()
    assert window.middle.note.text == ""
    assert "border" in getattr(panel, name).styleSheet()


def test_the_radius_follows_the_unit(window, panel):
    window.document.set_turn(0.5)
    assert panel.radius.text() == "120 mm"
    window.action["inch"].trigger()
    assert panel.radius.text() == "4.724 in"
    enter(panel.radius, "10")
    assert window.document.view.radius == pytest.approx(254.0)


def test_the_radius_of_a_straight_run_is_infinite(window, panel):
    window.document.set_turn(0.0)
    assert panel.radius.text() == "∞"


def test_a_ratio_stepped_up_while_straight_stays_straight(window, panel):
    window.document.set_turn(0.0)
    panel.ratio.setFocus()
    QTest.keyClick(panel.ratio, Key.Key_Up)
    assert window.document.command.turn == 0.0


def test_reverse_and_straight(window, panel):
    document = window.document
    document.set_turn(0.25)
    steer = document.view.solution.steer[0].tolist()
    panel.reverse.click()
    assert document.command.speed == -1.0
    assert panel.reverse.isChecked()
    assert panel.left.value == pytest.approx(-50.0)
    assert document.view.solution.steer[0].tolist() == pytest.approx(steer)
    panel.straight.click()
    assert document.command.turn == 0.0
    panel.reverse.click()
    assert document.command.speed == 1.0


def test_the_slider_follows_the_mouse(window, slider):
    document = window.document
    at = QPointF(slider.place_of(0.7), 20.0)
    mouse.press_at(slider, at)
    assert document.command.turn == pytest.approx(0.7, abs=2e-3)
    mouse.move_to(slider, QPointF(slider.place_of(-0.2), 20.0))
    assert document.command.turn == pytest.approx(-0.2, abs=2e-3)
    mouse.release_at(slider, QPointF(slider.place_of(-0.2), 20.0))
    mouse.move_to(slider, QPointF(slider.place_of(0.9), 20.0), button=Qt.MouseButton.NoButton)
    assert document.command.turn == pytest.approx(-0.2, abs=2e-3)


def test_left_on_the_slider_turns_left(window, slider):
    assert slider.place_of(1.0) < slider.place_of(0.0) < slider.place_of(-1.0)


@pytest.mark.parametrize("mark", [0.0, 0.5, -0.5, 1.0, -1.0])
@pytest.mark.parametrize("aside", [-4.0, 0.0, 4.0])
def test_the_slider_catches_on_its_marks(slider, mark, aside):
    assert slider.turn_at(slider.place_of(mark) + aside) == mark


def test_beyond_the_catch_the_slider_is_free(slider):
    assert slider.turn_at(slider.place_of(0.5) + 8.0) != 0.5


def test_the_slider_stops_at_the_largest_turn(window, slider):
    document = window.document
    document.edit("Reach", lambda d: edits.change_chassis(d, largest_turn=0.4))
    mouse.press_at(slider, QPointF(slider.place_of(0.9), 20.0))
    assert document.command.turn == 0.4
    mouse.release_at(slider, QPointF(slider.place_of(0.9), 20.0))
    QTest.keyClick(slider, Key.Key_End)
    assert document.command.turn == -0.4


@pytest.mark.parametrize(
    ("key", "turn"),
    [
        (Key.Key_Left, 0.26),
        (Key.Key_Right, 0.24),
        (Key.Key_Up, 0.251),
        (Key.Key_Down, 0.249),
        (Key.Key_0, 0.0),
        (Key.Key_Home, 1.0),
        (Key.Key_End, -1.0),
    ],
)
def test_keys_steer(window, slider, key, turn):
    window.document.set_turn(0.25)
    QTest.keyClick(slider, key)
    assert window.document.command.turn == pytest.approx(turn)


def test_page_keys_go_from_mark_to_mark(window, slider):
    document = window.document
    document.set_turn(0.0)
    marks = sorted({mark.turn for mark in document.view.facts.landmarks})
    seen = []
    for _ in marks:
        QTest.keyClick(slider, Key.Key_PageUp)
        seen.append(document.command.turn)
    assert seen[: marks.index(1.0) - marks.index(0.0)] == [m for m in marks if m > 0]
    assert seen[-1] == 1.0
    QTest.keyClick(slider, Key.Key_PageDown)
    assert document.command.turn == marks[-2]


def test_a_screen_reader_can_set_the_slider(window, slider):
    # What assistive programs call is the plain value of a slider.
    slider.setValue(600)
    assert window.document.command.turn == 0.6
    window.document.edit("Reach", lambda d: edits.change_chassis(d, largest_turn=0.4))
    slider.setValue(900)
    assert window.document.command.turn == 0.4
    assert slider.value() == 400


def test_each_mark_says_what_it_means(window):
    window.document.edit(
        "Travel",
        lambda d: edits.change_wheels(d, [0], mirror=True, travel_min_deg=-80.0, travel_max_deg=80.0),
    )
    design = window.document.design
    names = tuple(wheel.name for wheel in design.wheels)
    texts = [mark_text(mark, names) for mark in window.document.view.facts.landmarks]
    assert all(text for text in texts)
    assert not [text for text in texts if "nan" in text]
    assert any("front left goes from one end of its travel, 80.0°, to the other, -80.0°" in t for t in texts)
    window.document.edit(
        "Travel",
        lambda d: edits.change_wheels(d, [0], mirror=True, travel_min_deg=-90.0, travel_max_deg=90.0),
    )
    texts = [mark_text(mark, names) for mark in window.document.view.facts.landmarks]
    assert any("front left flips from 90.0° to -90.0° and rolls the other way" in t for t in texts)


@pytest.mark.parametrize("key", KEYS)
def test_the_slider_is_drawn_for_each_sample(make_window, make_document, key):
    window = make_window(make_document(sample_design(key)))
    for turn in (0.0, 1.0, -0.31):
        window.document.set_turn(turn)
        assert not window.middle.turn.slider.grab().isNull()


def test_a_turn_that_is_not_in_reach_is_told(window, panel):
    window.document.edit("Reach", lambda d: edits.change_chassis(d, largest_turn=0.4))
    heard = listen(window.document)
    enter(panel.radius, "10")
    assert "largest turn" in panel.radius.reason.text()
    assert heard == []
    assert panel.radius.text() == "10"
    assert math.isfinite(window.document.view.radius)
