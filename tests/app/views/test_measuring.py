"""Measuring on the plan: ends are caught by things, distance and angle are those between them."""

import math

import pytest
from PySide6.QtCore import QPointF, Qt
from PySide6.QtTest import QTest

from app.units import show_length
from app.views.measuring import anchors, measured
from tests import mouse


def between(window, one, other):
    wheels = window.document.design.wheels
    return [
        QPointF(*window.canvas.camera.to_screen((wheels[i].x_mm, wheels[i].y_mm)).tolist())
        for i in (one, other)
    ]


def drag(window, start, end):
    mouse.press_at(window.canvas, start)
    mouse.move_to(window.canvas, end)
    mouse.release_at(window.canvas, end)


@pytest.mark.parametrize(("one", "other"), [(0, 1), (0, 5), (2, 4)])
def test_between_two_wheels_it_is_the_distance_of_their_kingpins(window, one, other):
    wheels, before = window.document.design.wheels, window.document.design
    window.action["measure"].trigger()
    start, end = between(window, one, other)
    drag(window, start + QPointF(3, -2), end + QPointF(-2, 4))
    found = window.canvas.measured
    assert (found.start, found.end) == tuple((wheels[i].x_mm, wheels[i].y_mm) for i in (one, other))
    gap = math.dist(found.start, found.end)
    assert measured(found.start, found.end, "mm").startswith(show_length(gap, "mm", of_mm=2))
    assert window.document.design is before
    assert window.document.undo_stack.count() == 0


def test_the_next_drag_moves_wheels_again_and_takes_the_measure_away(window):
    window.action["measure"].trigger()
    drag(window, *between(window, 0, 1))
    start, _ = between(window, 0, 1)
    drag(window, start, start + QPointF(30, 0))
    assert window.canvas.measured is None
    assert window.document.undo_stack.count() == 1


def test_escape_ends_it(window):
    window.action["measure"].trigger()
    drag(window, *between(window, 0, 1))
    QTest.keyClick(window.canvas, Qt.Key.Key_Escape)
    assert window.canvas.measured is None
    window.action["measure"].trigger()
    QTest.keyClick(window.canvas, Qt.Key.Key_Escape)
    start, _ = between(window, 0, 1)
    drag(window, start, start + QPointF(30, 0))
    assert window.document.undo_stack.count() == 1


@pytest.mark.parametrize(
    ("end", "told"),
    [((100.0, 0.0), "0.0°"), ((0.0, 100.0), "90.0°"), ((-100.0, -100.0), "-135.0°"), ((30.0, 40.0), "53.1°")],
)
def test_the_angle_counts_from_straight_ahead_to_the_left(end, told):
    assert f", {told} (" in measured((0.0, 0.0), end, "mm")


def test_no_length_has_no_angle():
    assert "°" not in measured((5.0, 5.0), (5.0, 5.0), "mm")


def test_nothing_to_catch_is_no_fault(make_document):
    assert anchors(make_document().view, parts=True) == []
