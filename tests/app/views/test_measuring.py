"""Measuring in every view: ends are caught by things, distance and angle are those between them."""

import math

import pytest
from PySide6.QtCore import QPointF, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from app.design import part_edits
from app.design.references import references_to
from app.design.samples import sample_design
from app.settings import Settings
from app.units import show_length
from app.views.measuring import anchors, levels, mass_centre, measured, upright_anchors
from geometry.model.design import Design
from geometry.model.packaging import Opening
from geometry.packaging.weights import balance_of
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


# From the side and from the front -----------------------------------------------------------


@pytest.fixture(params=["side", "front"])
def below(request, make_window, make_document):
    """A window with parts and the view from there."""
    window = make_window(
        make_document(sample_design("marsh_scout_motors")),
        Settings(elevation=request.param, welcome_dismissed=True),
    )
    window.resize(1280, 1050)
    QApplication.processEvents()
    return window


def axis_of(window):
    return 0 if "side" in window.middle.elevation.accessibleName() else 1


def pixel(view, along, up):
    return QPointF(view.sight().px(along), view.sight().py(up))


def drag_below(window, start, end, held=mouse.NONE):
    view = window.middle.elevation
    mouse.press_at(view, start, held=held)
    mouse.move_to(view, end, held=held)
    mouse.release_at(view, end, held=held)


def told(window):
    found = window.middle.elevation.measured
    return measured(found.start, found.end, window.middle.elevation._unit, ("xy"[axis_of(window)], "up"))


def test_below_the_plan_it_measures_from_axle_to_axle_without_moving_anything(below):
    view, axis, before = below.middle.elevation, axis_of(below), below.document.design
    ends = below.document.view.contacts[:, axis]
    one, other = int(ends.argmin()), int(ends.argmax())
    wheels = before.wheels
    below.action["measure"].trigger()
    start = pixel(view, ends[one], 0.5 * wheels[one].diameter_mm)
    end = pixel(view, ends[other], 0.5 * wheels[other].diameter_mm)
    drag_below(below, start + QPointF(3, -2), end + QPointF(-2, 3))
    found = view.measured
    assert found.start == pytest.approx((ends[one], 0.5 * wheels[one].diameter_mm))
    assert found.end == pytest.approx((ends[other], 0.5 * wheels[other].diameter_mm))
    gap = show_length(float(ends[other] - ends[one]), "mm", of_mm=2)
    assert told(below) == f"{gap}, 0.0° ({'xy'[axis]} {gap}, up 0 mm)"
    assert below.document.design is before
    assert below.document.undo_stack.count() == 0
    assert below.document.selection == ()


def test_corners_and_middles_of_parts_holes_and_the_centre_of_mass_catch_an_end(below):
    view, axis = below.middle.elevation, axis_of(below)
    picture = below.document.view
    points = upright_anchors(picture, axis)
    for part in picture.design.packaging.parts:
        box = view.box_px(part)
        for at in (box.topLeft(), box.bottomRight(), box.center()):
            along, up = view.sight().place(at.x(), at.y())
            assert min(math.dist((along, up), point) for point in points) < 1e-6
    mass = balance_of(picture.robot, picture.design, picture.heading).centre
    assert (float(mass[axis]), float(mass[2])) in points
    holed = part_edits.add_opening(
        picture.design,
        Opening(face=("left", "front")[axis], x_mm=12.0, y_mm=34.0, z_mm=56.0, diameter_mm=8.0),
    )
    below.document.edit("Hole", lambda _d: holed)
    assert ((12.0, 34.0)[axis], 56.0) in upright_anchors(below.document.view, axis)
    below.document.edit("No wheels, no parts", lambda _d: Design())
    assert upright_anchors(below.document.view, axis) == []
    assert levels(below.document.view) == [0.0]


def test_floor_roof_axles_and_ground_catch_the_height_alone(below):
    view, body = below.middle.elevation, below.document.design.packaging
    free = QPointF(11.0, 0.0)  # at the edge, where there is nothing else
    for level in (body.floor_mm, body.roof_mm, 0.0, 0.5 * below.document.design.wheels[0].diameter_mm):
        below.action["measure"].trigger()
        drag_below(below, QPointF(free.x(), view.sight().py(level) + 3), QPointF(free.x() + 40, 4))
        along, up = view.measured.start
        assert min(abs(up - other) for other in levels(below.document.view)) == 0.0
        assert abs(view.sight().py(up) - (view.sight().py(level) + 3)) <= abs(3)
        assert along == pytest.approx(view.sight().place(free.x(), 0)[0])


def test_alt_leaves_the_ends_free(below):
    view = below.middle.elevation
    below.action["measure"].trigger()
    wheel, axis = below.document.design.wheels[0], axis_of(below)
    at = pixel(view, float(below.document.view.contacts[0, axis]), 0.5 * wheel.diameter_mm) + QPointF(2, 2)
    drag_below(below, at, at + QPointF(40, -30), mouse.ALT)
    assert view.measured.start == pytest.approx(view.sight().place(at.x(), at.y()))


@pytest.mark.parametrize(
    ("end", "said"), [((100.0, 0.0), "0.0°"), ((0.0, 50.0), "90.0°"), ((-30.0, -30.0), "-135.0°")]
)
def test_up_is_positive_and_the_angle_counts_from_level(end, said):
    text = measured((0.0, 0.0), end, "mm", ("x", "up"))
    assert f", {said} (x " in text
    assert text.endswith(f"up {show_length(end[1], 'mm', of_mm=2)})")


@pytest.mark.parametrize("where", ["canvas", "elevation"])
def test_escape_in_either_view_ends_it_in_both(below, where):
    view, canvas = below.middle.elevation, below.canvas
    below.action["measure"].trigger()
    QTest.keyClick(view if where == "elevation" else canvas, Qt.Key.Key_Escape)
    start = view.box_px(below.document.design.packaging.parts[0]).center()
    drag_below(below, start, start + QPointF(30, 0))
    assert view.measured is None
    assert below.document.undo_stack.count() == 1
    drag(below, *(p + QPointF(1, 0) for p in between(below, 0, 1)))
    assert canvas.measured is None


def test_escape_takes_away_what_was_measured_and_then_the_selection(below):
    view = below.middle.elevation
    below.document.select(references_to("part", (0,)))
    below.action["measure"].trigger()
    drag_below(below, QPointF(40, 20), QPointF(140, 40))
    assert view.measured is not None
    QTest.keyClick(view, Qt.Key.Key_Escape)
    assert view.measured is None
    assert below.document.selection != ()
    QTest.keyClick(view, Qt.Key.Key_Escape)
    assert below.document.selection == ()


def test_where_one_view_takes_the_measure_the_other_is_left_as_it_was(below):
    view, canvas = below.middle.elevation, below.canvas
    below.action["measure"].trigger()
    drag_below(below, QPointF(40, 20), QPointF(140, 40))
    assert view.measured is not None
    drag(below, *between(below, 0, 1))
    assert canvas.measured is None  # it moved a wheel
    assert below.document.undo_stack.count() == 1
    below.action["measure"].trigger()
    drag(below, *between(below, 0, 1))
    assert (canvas.measured is not None, view.measured) == (True, None)
    start = view.box_px(below.document.design.packaging.parts[0]).center()
    drag_below(below, start, start + QPointF(30, 0))
    assert (view.measured, below.document.undo_stack.count()) == (None, 2)


def test_the_right_button_gives_it_up_and_what_is_undone_takes_it_away(below):
    view = below.middle.elevation
    below.action["measure"].trigger()
    mouse.press_at(view, QPointF(40, 20))
    mouse.move_to(view, QPointF(90, 30))
    mouse.press_at(view, QPointF(90, 30), button=mouse.RIGHT)
    assert view.measured is None
    mouse.release_at(view, QPointF(90, 30))
    drag_below(below, QPointF(40, 20), QPointF(140, 40))
    assert view.measured is not None
    below.document.edit("Name", lambda d: d.edited(name="other"))
    assert view.measured is None


def test_it_is_drawn_with_its_words_inside_and_in_the_unit_of_the_screen(below):
    view = below.middle.elevation
    below.action["measure"].trigger()
    plain = view.grab().toImage()
    drag_below(below, QPointF(view.width() - 60, 8), QPointF(view.width() - 12, 12))
    drawn = view.grab().toImage()
    assert drawn != plain
    below.action["inch"].trigger()
    assert view.measured is not None
    assert " in" in told(below)
    assert view.grab().toImage() != drawn
    view.hide()
    assert view.measured is None


def test_the_centre_of_mass_is_marked_while_something_is_measured(below):
    view, axis = below.middle.elevation, axis_of(below)
    before, plan = view.grab().toImage(), below.canvas.grab().toImage()
    below.action["measure"].trigger()
    x, y, z = mass_centre(below.document.view)
    at = pixel(view, (x, y)[axis], z).toPoint()
    now = view.grab().toImage()
    assert any(now.pixel(at.x() + d, at.y()) != before.pixel(at.x() + d, at.y()) for d in range(-9, 10))
    start = QPointF(*below.canvas.camera.to_screen((x, y)).tolist())
    dot = start.toPoint()
    later = below.canvas.grab().toImage()
    assert any(later.pixel(dot.x() + d, dot.y()) != plan.pixel(dot.x() + d, dot.y()) for d in range(-9, 10))
    drag(below, start + QPointF(2, 2), start + QPointF(60, 60))
    assert below.canvas.measured.start == (x, y)
