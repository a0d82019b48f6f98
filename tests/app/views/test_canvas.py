"""The plan: keys, zoom, what is under the mouse, and chassis of every size."""

import math

import pytest
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QContextMenuEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

import app.views.canvas
from app.design import edits
from app.design.references import Reference, references_to, selected_wheels
from app.design.samples import sample_design
from app.views.fit import FIT_MARGIN_PX
from app.views.scene import PlanOptions
from geometry.model.design import MOST_WHEELS, Design
from geometry.model.wheel import Wheel
from tests import mouse
from tests.windows import KEYS, listen

Key = Qt.Key


@pytest.fixture
def document(make_document):
    return make_document(sample_design(KEYS[0]).edited(hole_pitch_mm=None))


@pytest.fixture
def window(make_window, document):
    made = make_window(document)
    made.canvas.setFocus()
    document.select(references_to("wheel", {0}))
    return made


def place(document, index=0):
    return document.design.wheels[index].x_mm, document.design.wheels[index].y_mm


@pytest.mark.parametrize(
    ("key", "way"),
    [(Key.Key_Up, (1, 0)), (Key.Key_Down, (-1, 0)), (Key.Key_Left, (0, 1)), (Key.Key_Right, (0, -1))],
)
@pytest.mark.parametrize(("held", "step"), [(mouse.NONE, 1.0), (mouse.SHIFT, 10.0), (mouse.ALT, 0.1)])
def test_arrow_keys_move_the_selected_wheel(window, document, key, way, held, step):
    # To the window, as a real key: a shortcut would take it before the plan sees it.
    x, y = place(document)
    turn = document.command.turn
    QTest.keyClick(window.windowHandle(), key, held)
    assert place(document) == pytest.approx((x + way[0] * step, y + way[1] * step))
    assert document.command.turn == turn


def test_arrow_keys_step_from_hole_to_hole(window, document):
    document.edit("Pattern", lambda d: edits.change_chassis(d, hole_pitch_mm=8.0))
    x, y = place(document)
    QTest.keyClick(window.canvas, Key.Key_Up)
    assert place(document) == (x + 8.0, y)


def test_a_run_of_nudges_is_one_step(window, document):
    before = document.design
    for _ in range(10):
        QTest.keyClick(window.canvas, Key.Key_Up, mouse.ALT)
    assert document.undo_stack.count() == 1
    assert place(document)[0] == before.wheels[0].x_mm + 1.0
    document.undo()
    assert document.design == before


def test_a_nudge_of_another_wheel_is_another_step(window, document):
    QTest.keyClick(window.canvas, Key.Key_Up)
    document.select(references_to("wheel", {4}))
    QTest.keyClick(window.canvas, Key.Key_Up)
    assert document.undo_stack.count() == 2


def test_a_nudge_takes_the_partner_along(window, document):
    x, y = place(document, 1)
    QTest.keyClick(window.canvas, Key.Key_Left)
    assert place(document, 1) == (x, y - 1.0)


def test_arrow_keys_without_a_selection_say_what_to_do(window, document):
    document.select(())
    heard = listen(document)
    QTest.keyClick(window.canvas, Key.Key_Up)
    assert heard == ["Select a wheel first; the arrow keys then move it."]
    assert document.undo_stack.count() == 0


def test_a_clicked_corner_is_moved_by_the_arrow_keys(window, document):
    x, y = document.design.body_mm[0]
    mouse.click(window.canvas, x, y)
    QTest.keyClick(window.canvas, Key.Key_Up)
    assert document.design.body_mm[0] == (x + 1.0, y)
    QTest.keyClick(window.canvas, Key.Key_Escape)
    QTest.keyClick(window.canvas, Key.Key_Up)
    assert document.design.body_mm[0] == (x + 1.0, y)


def test_comma_and_full_stop_go_round_the_wheels(window, document):
    seen = []
    for _ in range(7):
        QTest.keyClick(window.canvas, Key.Key_Period)
        seen += selected_wheels(document.selection)
    assert seen == [1, 2, 3, 4, 5, 0, 1]
    QTest.keyClick(window.canvas, Key.Key_Comma)
    QTest.keyClick(window.canvas, Key.Key_Comma)
    assert document.selection == references_to("wheel", {5})


def test_escape_and_a_click_on_the_ground_clear_the_selection(window, document):
    QTest.keyClick(window.canvas, Key.Key_Escape)
    assert document.selection == ()
    document.select(references_to("wheel", {0}))
    at = QPointF(8.0, 8.0)
    mouse.press_at(window.canvas, at)
    mouse.release_at(window.canvas, at)
    assert document.selection == ()


def test_the_mouse_wheel_zooms_about_the_mouse(window, document):
    canvas = window.canvas
    at = mouse.pixel(canvas, *place(document, 4))
    before = canvas.camera
    mouse.wheel(canvas, at, 3.0)
    assert canvas.camera.scale == pytest.approx(before.scale * 1.2**3)
    assert mouse.pixel(canvas, *place(document, 4)).toTuple() == pytest.approx(at.toTuple())
    mouse.wheel(canvas, at, -3.0)
    assert canvas.camera.scale == pytest.approx(before.scale)


def test_a_double_click_on_the_ground_fits_the_view(window):
    canvas = window.canvas
    window.action["fit"].trigger()
    fitted = canvas.camera
    mouse.wheel(canvas, QPointF(30.0, 30.0), 4.0)
    mouse.wheel(canvas, QPointF(30.0, 30.0), -4.5)
    mouse.double_click(canvas, QPointF(8.0, 8.0))
    assert canvas.camera == fitted


def test_the_middle_button_pans_even_over_a_wheel(window, document):
    canvas = window.canvas
    start, before = place(document), canvas.camera
    mouse.drag(canvas, start, (start[0] + 50.0, start[1]), button=mouse.MIDDLE)
    assert canvas.camera.x == pytest.approx(before.x - 50.0, abs=2.0)
    assert place(document) == start


@pytest.mark.parametrize("turn", [0.0, 0.7])
@pytest.mark.parametrize("size", [(900, 1000), (1500, 700)])
def test_fit_fills_the_view_with_the_chassis_and_a_near_turn_centre(window, document, turn, size):
    window.resize(*size)
    QApplication.processEvents()
    document.set_turn(turn)
    window.canvas.fit()
    view, canvas = document.view, window.canvas
    points = [(w.x_mm, w.y_mm) for w in view.design.wheels] + list(view.design.body_mm)
    # A tenth of the chassis is left free around it, and then a margin in pixels.
    pad = 0.1 * view.facts.size
    lows, highs = ([end(p[axis] for p in points) for axis in (0, 1)] for end in (min, max))
    seen = [(x - pad, y - pad) for x, y in [lows]] + [(x + pad, y + pad) for x, y in [highs]]
    if turn:
        seen.append(tuple(view.centre))
        assert math.hypot(*view.centre) < 2.2 * view.facts.size
    across, down = canvas.camera.to_screen(seen).T
    free = [across.min(), canvas.width() - across.max(), down.min(), canvas.height() - down.max()]
    assert min(free) == pytest.approx(FIT_MARGIN_PX, abs=1e-6)
    assert free[0] == pytest.approx(free[1])
    assert free[2] == pytest.approx(free[3])


def test_fit_leaves_a_far_turn_centre_out_of_sight(window, document):
    document.set_turn(0.0)
    window.canvas.fit()
    straight = window.canvas.camera
    document.set_turn(0.02)
    window.canvas.fit()
    assert window.canvas.camera == straight


def test_a_fitted_view_stays_fitted_when_the_window_grows(window):
    canvas = window.canvas
    canvas.fit()
    window.resize(1500, 950)
    QApplication.processEvents()
    resized = canvas.camera
    canvas.fit()
    assert canvas.camera == resized


def test_the_view_is_fitted_anew_once_the_wheel_that_was_far_off_is_gone(window, document):
    canvas = window.canvas
    window.action["fit"].trigger()
    fitted = canvas.camera
    document.edit("Add wheel", lambda d: edits.add_wheels(d, 3000.0, 200.0, mirror=False))
    assert canvas.camera.scale < 0.5 * fitted.scale
    document.undo()
    assert canvas.camera == fitted


def test_a_view_that_the_person_chose_stays_over_an_undo_in_sight(window, document):
    canvas = window.canvas
    mouse.wheel(canvas, QPointF(200.0, 200.0), -6.0)
    document.edit("Move", lambda d: edits.move_wheels(d, {0: (400.0, 120.0)}))
    chosen = canvas.camera
    document.undo()
    assert canvas.camera == chosen


def test_the_place_of_the_mouse_follows_a_drag(window, document):
    x, y = place(document, 0)
    mouse.hover(window.canvas, x, y)
    mouse.press(window.canvas, x, y)
    mouse.move(window.canvas, x + 40.0, y + 10.0)
    assert window.middle.where.text == f"x {x + 40:g} mm, y {y + 10:g} mm"
    mouse.release(window.canvas, x + 40.0, y + 10.0)


def test_the_place_of_the_mouse_is_shown_in_the_persons_unit(window, document):
    mouse.hover(window.canvas, 100.0, -50.0)
    assert window.middle.where.text == "x 100 mm, y -50 mm"
    window.action["inch"].trigger()
    mouse.hover(window.canvas, 25.4, 50.8)
    assert window.middle.where.text == "x 1 in, y 2 in"


def test_the_wheel_under_the_mouse_is_found_on_its_tyre(window, document):
    canvas = window.canvas
    for i in range(6):
        at = mouse.pixel(canvas, *place(document, i))
        assert canvas.wheel_at(at.x(), at.y()) == i
    assert canvas.wheel_at(4.0, 4.0) is None


def test_a_turned_wheel_is_found_where_it_is_drawn(window, document):
    document.set_turn(1.0)
    wheel = document.design.wheels[0]
    end = 0.45 * wheel.diameter_mm
    angle = float(document.view.heading[0])
    on_tyre = (wheel.x_mm + end * math.cos(angle), wheel.y_mm + end * math.sin(angle))
    at = mouse.pixel(window.canvas, *on_tyre)
    assert window.canvas.wheel_at(at.x(), at.y()) == 0


def test_the_menu_of_the_plan_offers_actions_of_the_menus(window, document, monkeypatch):
    offered = []

    class Menu(app.views.canvas.QMenu):
        def exec(self, *_args):
            offered.extend(action.objectName() for action in self.actions())

    monkeypatch.setattr(app.views.canvas, "QMenu", Menu)
    at = mouse.pixel(window.canvas, *place(document, 3)).toPoint()
    event = QContextMenuEvent(QContextMenuEvent.Reason.Mouse, at, window.canvas.mapToGlobal(at))
    QApplication.sendEvent(window.canvas, event)
    acts = ["numbers", "rename", "mirror", "delete", "fixed", "steered", "caster", "driven"]
    assert [key for key in offered if key] == acts  # lines and the title have none
    assert document.selection == references_to("wheel", {3})


def _use_everything(window):
    canvas = window.canvas
    for turn in (0.0, 0.3, -1.0):
        window.document.set_turn(turn)
        assert not canvas.grab().isNull()
    canvas.fit()
    mouse.wheel(canvas, QPointF(50.0, 50.0), 2.0)
    mouse.hover(canvas, 0.0, 0.0)
    mouse.drag(canvas, (0.0, 0.0), (30.0, 20.0))
    mouse.drag(canvas, (50.0, 60.0), (30.0, 20.0), held=mouse.SHIFT)
    for key in (Key.Key_Up, Key.Key_Period, Key.Key_Comma, Key.Key_Escape):
        QTest.keyClick(canvas, key)
    canvas.set_options(PlanOptions(full_circles=True))
    assert not canvas.grab().isNull()


def test_an_empty_chassis_can_be_looked_at_and_played_with(make_window, make_document):
    window = make_window(make_document(Design()))
    _use_everything(window)
    assert window.document.design == Design()


def test_a_chassis_with_all_wheels_that_there_may_be(make_window, make_document):
    wheels = tuple(
        Wheel(name=f"w{n}", x_mm=90.0 * (n // 8), y_mm=70.0 * (n % 8 - 3.5), kind=("steered", "fixed")[n % 2])
        for n in range(MOST_WHEELS)
    )
    window = make_window(make_document(Design(wheels=wheels)))
    _use_everything(window)
    assert window.panels["wheels"].model.rowCount() == MOST_WHEELS
    window.action["add"].trigger()
    assert len(window.document.design.wheels) == MOST_WHEELS
    assert str(MOST_WHEELS) in window.middle.note.text


def test_a_wheel_at_the_end_of_the_world_stays_there(make_window, make_document):
    window = make_window(make_document(Design(wheels=(Wheel(name="far", x_mm=10_000.0, y_mm=0.0),))))
    window.document.select(references_to("wheel", {0}))
    window.canvas.setFocus()
    QTest.keyClick(window.canvas, Key.Key_Up)
    assert window.document.design.wheels[0].x_mm == 10_000.0
    assert "10" in window.middle.note.text


def test_the_wheel_that_is_nearest_is_gripped_where_two_overlap(make_window, make_document):
    pair = (Wheel(name="a", x_mm=0.0, y_mm=0.0), Wheel(name="b", x_mm=10.0, y_mm=0.0))
    window = make_window(make_document(Design(wheels=pair)))
    canvas = window.canvas
    for x, wanted in ((-2.0, 0), (12.0, 1)):
        at = mouse.pixel(canvas, x, 0.0)
        assert canvas.wheel_at(at.x(), at.y()) == wanted
    assert canvas.mapFromGlobal(canvas.mapToGlobal(QPoint(3, 4))) == QPoint(3, 4)


def click_corner(window, document, corner=0, held=mouse.NONE):
    mouse.click(window.canvas, *document.design.body_mm[corner], held=held)


def test_a_clicked_corner_is_selected_alone_and_lit(window, document):
    before = window.canvas.grab().toImage()
    click_corner(window, document)
    mouse.hover(window.canvas, 0.0, 0.0)
    assert document.selection == references_to("corner", {0})
    lit = window.canvas.grab().toImage()
    QTest.keyClick(window.canvas, Key.Key_Escape)
    assert document.selection == ()
    dark = window.canvas.grab().toImage()
    at = mouse.pixel(window.canvas, *document.design.body_mm[0]).toPoint() - QPoint(4, 0)
    assert lit.pixelColor(at) != dark.pixelColor(at)
    assert before.pixelColor(at) == dark.pixelColor(at)


def test_the_delete_key_removes_a_selected_corner_and_no_wheel(window, document):
    before = document.design
    click_corner(window, document, 2)
    QTest.keyClick(window.windowHandle(), Key.Key_Delete)
    (x, y) = before.body_mm[2]
    gone = {(x, y), (x, -y)}  # with symmetry, its partner too
    assert document.design.body_mm == tuple(place for place in before.body_mm if place not in gone)
    assert len(document.design.body_mm) == len(before.body_mm) - 2
    assert document.design.wheels == before.wheels
    assert document.selection == ()
    assert document.undo_stack.undoText() == "Delete 2 body corners"
    document.undo()
    assert document.design == before


def test_a_click_on_a_wheel_lets_go_of_the_corner(window, document):
    click_corner(window, document)
    mouse.click(window.canvas, *place(document, 3))
    corners = document.design.body_mm
    QTest.keyClick(window.canvas, Key.Key_Up)
    assert document.design.body_mm == corners
    assert document.selection == references_to("wheel", {3})


def test_a_wheel_and_a_corner_move_and_go_together(window, document):
    window.action["symmetry"].trigger()
    click_corner(window, document, 1, held=mouse.SHIFT)
    assert document.selection == (Reference("wheel", 0), Reference("corner", 1))
    wheel, corner = place(document), document.design.body_mm[1]
    QTest.keyClick(window.canvas, Key.Key_Up)
    QTest.keyClick(window.canvas, Key.Key_Up)
    assert place(document) == (wheel[0] + 2.0, wheel[1])
    assert document.design.body_mm[1] == (corner[0] + 2.0, corner[1])
    assert document.undo_stack.count() == 1
    mouse.drag(window.canvas, document.design.body_mm[1], (corner[0] + 12.0, corner[1] + 5.0))
    assert place(document) == (wheel[0] + 12.0, wheel[1] + 5.0)
    count = len(document.design.body_mm)
    window.action["delete"].trigger()
    assert (len(document.design.wheels), len(document.design.body_mm)) == (5, count - 1)


def test_the_menu_of_the_plan_selects_the_corner_under_the_mouse(window, document, monkeypatch):
    class Menu(app.views.canvas.QMenu):
        def exec(self, *_args):
            pass

    monkeypatch.setattr(app.views.canvas, "QMenu", Menu)
    at = mouse.pixel(window.canvas, *document.design.body_mm[2]).toPoint()
    event = QContextMenuEvent(QContextMenuEvent.Reason.Mouse, at, window.canvas.mapToGlobal(at))
    QApplication.sendEvent(window.canvas, event)
    assert document.selection == references_to("corner", {2})
