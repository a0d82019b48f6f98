"""Dragging on the plan with a real mouse: wheels, corners, the band; and every way to give up."""

from typing import ClassVar

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PySide6.QtCore import QPointF, Qt
from PySide6.QtTest import QTest

from app.design import edits
from app.design.references import Reference, references_to
from app.design.samples import sample_design
from app.document import Document
from app.views import gestures
from app.views.gestures import DragSelected, Gesture, Pointer, snap_step
from geometry.model.design import Design
from geometry.model.wheel import Wheel
from tests import mouse
from tests.windows import KEYS, listen


@pytest.fixture
def document(make_document):
    """Six wheels, no hole pattern: places snap to whole millimetres."""
    return make_document(sample_design(KEYS[0]).edited(hole_pitch_mm=None))


@pytest.fixture
def window(make_window, document):
    return make_window(document)


def place(document, index=0, *, shown=False):
    wheel = (document.view.design if shown else document.design).wheels[index]
    return wheel.x_mm, wheel.y_mm


def by(start, dx, dy):
    return start[0] + dx, start[1] + dy


def test_a_dragged_wheel_goes_where_the_mouse_goes(window, document):
    start = place(document)
    mouse.drag(window.canvas, start, by(start, 23.0, -11.0))
    assert place(document) == by(start, 23.0, -11.0)
    assert document.undo_stack.count() == 1
    assert document.selection == references_to("wheel", {0})


def test_a_drag_is_live_and_then_one_step(window, document):
    start = place(document)
    canvas = window.canvas
    mouse.press(canvas, *start)
    mouse.move(canvas, *by(start, 20.0, 0.0))
    assert place(document, shown=True) == by(start, 20.0, 0.0)
    assert document.undo_stack.count() == 0
    mouse.move(canvas, *by(start, 31.0, 0.0))
    mouse.release(canvas, *by(start, 31.0, 0.0))
    assert document.undo_stack.count() == 1
    window.action["undo"].trigger()
    assert place(document) == start


def test_a_drag_keeps_the_grip(window, document):
    start = place(document)
    grip = by(start, 6.0, 4.0)
    mouse.drag(window.canvas, grip, by(grip, 10.0, 0.0))
    assert place(document) == by(start, 10.0, 0.0)


def test_a_wheel_snaps_to_the_hole_pattern(window, document):
    document.edit("Pattern", lambda d: edits.change_chassis(d, hole_pitch_mm=8.0))
    start = place(document)
    mouse.drag(window.canvas, start, by(start, 13.3, -9.1))
    x, y = place(document)
    assert (x % 8.0, y % 8.0) == (0.0, 0.0)
    assert abs(x - start[0] - 13.3) <= 4.0 + 1.0


def test_alt_frees_a_wheel_from_the_pattern(window, document):
    document.edit("Pattern", lambda d: edits.change_chassis(d, hole_pitch_mm=8.0))
    start = place(document)
    mouse.drag(window.canvas, start, by(start, 13.3, -9.1), held=mouse.ALT)
    x, y = place(document)
    assert x % 8.0 != 0.0
    assert (x, y) == pytest.approx(by(start, 13.3, -9.1), abs=1.0)


def test_without_snap_a_wheel_goes_anywhere(window, document):
    window.action["snap"].trigger()
    assert not window.canvas.snapping
    start = place(document)
    mouse.drag(window.canvas, start, by(start, 10.37, 0.0))
    x, _ = place(document)
    assert x != round(x)


@given(st.floats(-300, 300), st.floats(-300, 300), st.sampled_from([0.1, 1.0, 8.0, 2.54]))
def test_a_snapped_wheel_stands_exactly_on_a_hole(dx, dy, pitch):
    design = Design(
        wheels=(Wheel(name="a", x_mm=132.3, y_mm=-0.7), Wheel(name="b", x_mm=1e3 / 3, y_mm=900.0)),
        hole_pitch_mm=pitch,
    )
    document = Document(design)
    document.select(references_to("wheel", {0, 1}))
    gesture = DragSelected(document, Reference("wheel", 0), Pointer(132.3, -0.7), mirror=False)
    gesture.move(Pointer(132.3 + dx, -0.7 + dy))
    wheel = document.view.design.wheels[0]
    assert wheel.x_mm == edits.snap(132.3 + dx, pitch)
    assert wheel.y_mm == edits.snap(-0.7 + dy, pitch)
    document.close()


def test_the_mirror_partner_follows(window, document):
    start, partner = place(document, 0), place(document, 1)
    assert partner == (start[0], -start[1])
    mouse.drag(window.canvas, start, by(start, 20.0, 15.0))
    assert place(document, 1) == (start[0] + 20.0, -start[1] - 15.0)
    assert document.undo_stack.count() == 1


def test_without_symmetry_the_partner_stays(window, document):
    window.action["symmetry"].trigger()
    start, partner = place(document, 0), place(document, 1)
    mouse.drag(window.canvas, start, by(start, 20.0, 15.0))
    assert place(document, 1) == partner


def test_selected_wheels_move_together(window, document):
    window.action["symmetry"].trigger()
    document.select(references_to("wheel", {0, 2, 4}))
    starts = [place(document, i) for i in range(6)]
    mouse.drag(window.canvas, starts[2], by(starts[2], 17.0, 9.0))
    for i in range(6):
        assert place(document, i) == (by(starts[i], 17.0, 9.0) if i in {0, 2, 4} else starts[i])
    assert document.selection == references_to("wheel", {0, 2, 4})
    assert "3 wheels" in document.undo_stack.undoText()


def test_a_drag_that_ends_where_it_began_leaves_no_step(window, document):
    start = place(document)
    canvas = window.canvas
    mouse.press(canvas, *start)
    mouse.move(canvas, *by(start, 40.0, 40.0))
    mouse.move(canvas, *start)
    mouse.release(canvas, *start)
    assert place(document) == start
    assert document.undo_stack.count() == 0
    assert not document.modified


def test_a_click_moves_nothing(window, document):
    start = place(document)
    mouse.click(window.canvas, *by(start, 3.0, 2.0))
    assert place(document) == start
    assert document.selection == references_to("wheel", {0})
    assert document.undo_stack.count() == 0


def _escape(window):
    QTest.keyClick(window.canvas, Qt.Key.Key_Escape)


def _right_button(window):
    QTest.mousePress(window.canvas, mouse.RIGHT)


def _focus_elsewhere(window):
    window.middle.turn.turn.setFocus()


def _undo(window):
    window.action["undo"].trigger()


def _open_sample(window):
    window.filing.open_sample(KEYS[3])


@pytest.mark.parametrize("give_up", [_escape, _right_button, _focus_elsewhere])
def test_a_drag_can_be_given_up(window, document, give_up):
    start, before = place(document), document.design
    mouse.press(window.canvas, *start)
    mouse.move(window.canvas, *by(start, 40.0, 10.0))
    assert document.view.previewing
    give_up(window)
    assert document.view.design is before
    # What the hand does after that is no drag any more.
    mouse.move(window.canvas, *by(start, 60.0, 10.0))
    mouse.release(window.canvas, *by(start, 60.0, 10.0))
    assert document.design is before
    assert document.undo_stack.count() == 0


def test_giving_up_by_the_right_button_opens_no_menu(window, document):
    # Through the window system's door, where a right press also asks for the menu.
    handle, canvas = window.windowHandle(), window.canvas
    start = mouse.pixel(canvas, *place(document)).toPoint()
    QTest.mousePress(handle, mouse.LEFT, mouse.NONE, canvas.mapTo(window, start))
    mouse.move(canvas, *by(place(document), 40.0, 10.0))
    assert document.view.previewing
    QTest.mousePress(handle, mouse.RIGHT, mouse.NONE, canvas.mapTo(window, start))
    assert not document.view.previewing
    QTest.mouseRelease(handle, mouse.RIGHT, mouse.NONE, canvas.mapTo(window, start))
    QTest.mouseRelease(handle, mouse.LEFT, mouse.NONE, canvas.mapTo(window, start))
    assert document.undo_stack.count() == 0


def test_undo_during_a_drag_ends_it(window, document):
    document.edit("Add", lambda d: edits.add_wheel(d, 0.0, 300.0))
    window.canvas.fit()
    start = place(document, 6)
    mouse.press(window.canvas, *start)
    mouse.move(window.canvas, *by(start, 30.0, 0.0))
    _undo(window)
    assert len(document.design.wheels) == 6
    mouse.move(window.canvas, *by(start, 50.0, 0.0))
    mouse.release(window.canvas, *by(start, 50.0, 0.0))
    assert len(document.design.wheels) == 6
    assert not document.view.previewing


def test_delete_during_a_drag_ends_it(window, document):
    start = place(document, 5)
    mouse.press(window.canvas, *start)
    mouse.move(window.canvas, *by(start, 30.0, 0.0))
    window.action["delete"].trigger()
    mouse.move(window.canvas, *by(start, 50.0, 0.0))
    mouse.release(window.canvas, *by(start, 50.0, 0.0))
    assert len(document.design.wheels) == 4  # with symmetry, its partner too
    assert document.undo_stack.count() == 1


def test_another_chassis_during_a_drag_ends_it(window, document):
    start = place(document, 5)
    mouse.press(window.canvas, *start)
    mouse.move(window.canvas, *by(start, 30.0, 0.0))
    window.filing.open_sample(KEYS[3])
    mouse.move(window.canvas, 0.0, 0.0)
    mouse.release(window.canvas, 0.0, 0.0)
    assert document.design == sample_design(KEYS[3])
    assert not document.modified


def test_two_wheels_on_one_point_are_refused_and_told(window, document):
    window.action["symmetry"].trigger()
    heard = listen(document)
    start, other = place(document, 0), place(document, 2)
    canvas = window.canvas
    mouse.press(canvas, *start)
    near = by(other, 30.0, 0.0)
    mouse.move(canvas, *near)
    good = place(document, shown=True)
    assert heard == []
    mouse.move(canvas, *other)
    assert place(document, shown=True) == good
    assert "must not stand on" in heard[0]
    assert "must not stand on" in window.middle.note.text
    mouse.release(canvas, *other)
    assert place(document) == good
    assert "must not stand on" in window.middle.note.text
    document.undo()
    assert window.middle.note.text == ""


def test_a_body_corner_is_dragged_with_its_partner(window, document):
    corners = document.design.body_mm
    x, y = corners[0]
    partner = next(i for i, c in enumerate(corners) if c == (x, -y))
    mouse.drag(window.canvas, (x, y), (x + 12.0, y + 9.0))
    assert document.design.body_mm[0] == (x + 12.0, y + 9.0)
    assert document.design.body_mm[partner] == (x + 12.0, -y - 9.0)
    assert document.undo_stack.undoText() == "Move body corner"


def test_a_body_that_would_cross_itself_is_refused(window, document):
    heard = listen(document)
    window.action["symmetry"].trigger()
    before = document.design.body_mm
    x, y = before[0]
    canvas = window.canvas
    mouse.press(canvas, x, y)
    mouse.move(canvas, x - 1.0, y - 400.0)
    mouse.move(canvas, -x - 80.0, -y - 80.0)
    mouse.release(canvas, -x - 80.0, -y - 80.0)
    assert any("cross itself" in sentence or "repeat" in sentence for sentence in heard)


def test_a_corner_drag_can_be_given_up(window, document):
    before = document.design
    x, y = before.body_mm[0]
    mouse.press(window.canvas, x, y)
    mouse.move(window.canvas, x + 30.0, y + 10.0)
    assert document.view.previewing
    _escape(window)
    assert document.view.design is before


def test_shift_and_a_drag_on_the_ground_select_what_is_inside(window, document):
    xs = [w.x_mm for w in document.design.wheels]
    ys = [w.y_mm for w in document.design.wheels]
    start, end = (max(xs) + 70.0, max(ys) + 70.0), (min(xs) - 70.0, 20.0)
    mouse.drag(window.canvas, start, end, held=mouse.SHIFT)
    assert document.selection == references_to("wheel", {i for i, y in enumerate(ys) if y > 20.0})
    assert document.undo_stack.count() == 0


def test_a_band_adds_to_the_selection_and_escape_takes_that_back(window, document):
    document.select(references_to("wheel", {1}))
    ys = [w.y_mm for w in document.design.wheels]
    xs = [w.x_mm for w in document.design.wheels]
    mouse.press(window.canvas, max(xs) + 70.0, max(ys) + 70.0, held=mouse.SHIFT)
    mouse.move(window.canvas, min(xs) - 70.0, 20.0, held=mouse.SHIFT)
    assert document.selection == references_to("wheel", {i for i, y in enumerate(ys) if y > 20.0} | {1})
    assert window.canvas.grab().width() > 0
    _escape(window)
    assert document.selection == references_to("wheel", {1})


def test_shift_click_toggles_a_wheel(window, document):
    document.select(references_to("wheel", {0}))
    mouse.click(window.canvas, *place(document, 3), held=mouse.SHIFT)
    assert document.selection == references_to("wheel", {0, 3})
    mouse.click(window.canvas, *place(document, 0), held=mouse.CONTROL)
    assert document.selection == references_to("wheel", {3})


def test_without_a_pattern_places_snap_to_whole_millimetres(document):
    assert snap_step(document.design, free=False) == 1.0
    assert snap_step(document.design.edited(hole_pitch_mm=8.0), free=False) == 8.0
    assert snap_step(document.design.edited(hole_pitch_mm=8.0), free=True) is None


def test_a_dragged_ground_pans_and_selects_nothing(window, document):
    document.select(references_to("wheel", {0}))
    canvas = window.canvas
    before = canvas.camera
    at = QPointF(12.0, 12.0)
    mouse.press_at(canvas, at)
    mouse.move_to(canvas, QPointF(52.0, 32.0))
    mouse.release_at(canvas, QPointF(52.0, 32.0))
    assert canvas.camera == before.panned(40.0, 20.0)
    assert document.selection == references_to("wheel", {0})


class Pluck(Gesture):
    """A gesture from outside: it takes presses on the front left wheel, and notes what happens."""

    heard: ClassVar[list[object]] = []

    def move(self, at):
        self.heard.append((round(at.x), round(at.y)))

    def finish(self):
        self.heard.append("finish")

    def cancel(self):
        self.heard.append("cancel")

    def draw(self, painter, scene):
        self.heard.append("draw")


def pluck(surface, press):
    Pluck.heard.append(("asked", press.under, surface.document.design.name))
    return Pluck() if press.under == Reference("wheel", 0) else None


def test_a_gesture_from_outside_is_asked_before_those_after_it(window, document, monkeypatch):
    monkeypatch.setattr(gestures, "GESTURES", (pluck, *gestures.GESTURES))
    monkeypatch.setattr(Pluck, "heard", heard := [])
    start, before = place(document), document.design
    mouse.press(window.canvas, *start)
    mouse.move(window.canvas, start[0] + 30.0, start[1])
    window.canvas.repaint()
    mouse.release(window.canvas, start[0] + 30.0, start[1])
    asked = ("asked", Reference("wheel", 0), before.name)
    assert [asked, (round(start[0] + 30.0), round(start[1])), "draw", "finish"] == list(dict.fromkeys(heard))
    assert document.design is before
    assert document.selection == ()
    # Where it answers with nothing, the next one is asked: the other wheel is dragged.
    other = place(document, 3)
    mouse.drag(window.canvas, other, by(other, 0.0, -12.0))
    assert place(document, 3) == by(other, 0.0, -12.0)
    assert heard[-1] == ("asked", Reference("wheel", 3), before.name)
    mouse.press(window.canvas, *start)
    _escape(window)
    assert heard[-1] == "cancel"


def test_a_gesture_after_one_that_takes_every_press_is_never_asked(window, document, monkeypatch):
    monkeypatch.setattr(gestures, "GESTURES", (*gestures.GESTURES, pluck))
    monkeypatch.setattr(Pluck, "heard", heard := [])
    start = place(document)
    mouse.drag(window.canvas, start, by(start, 12.0, 0.0))
    mouse.press_at(window.canvas, QPointF(8.0, 8.0))
    mouse.release_at(window.canvas, QPointF(8.0, 8.0))
    assert heard == []
    assert place(document) == by(start, 12.0, 0.0)


def test_another_chassis_during_a_band_leaves_nothing_selected(window, document):
    document.select(references_to("wheel", {1}))
    mouse.press(window.canvas, 300.0, 300.0, held=mouse.SHIFT)
    mouse.move(window.canvas, -300.0, 20.0, held=mouse.SHIFT)
    window.filing.open_sample("marsh_scout_motors")
    assert document.design.wheels[1].name == sample_design(KEYS[0]).wheels[1].name
    assert document.selection == ()
    mouse.release(window.canvas, -300.0, 20.0)
    assert document.selection == ()


def test_the_middle_button_pans_in_the_midst_of_a_drag(window, document):
    start, canvas = place(document), window.canvas
    mouse.press(canvas, *start)
    mouse.move(canvas, *by(start, 20.0, 0.0))
    before = canvas.camera
    at = QPointF(100.0, 100.0)
    mouse.press_at(canvas, at, button=mouse.MIDDLE)
    mouse.move_to(canvas, at + QPointF(30.0, 10.0), button=mouse.MIDDLE)
    mouse.release_at(canvas, at + QPointF(30.0, 10.0), button=mouse.MIDDLE)
    assert canvas.camera == before.panned(30.0, 10.0)
    assert document.view.previewing
    mouse.release(canvas, *by(start, 20.0, 0.0))
    assert place(document) == by(start, 20.0, 0.0)
