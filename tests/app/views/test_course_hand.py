"""Obstacles and the start laid out by mouse and keys: live, one step each, never while something drives."""

import pytest
from PySide6.QtCore import QEvent, QPointF, Qt
from PySide6.QtGui import QContextMenuEvent, QFocusEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QMenu

from app.design import driving_edits
from app.design.obstacle_edits import ends_of
from app.design.samples import sample_design
from app.views.course_hand import KEEP_FIRST
from app.views.obstacles import box_of, middle_of, numbers_of, outlines_of, words_place
from geometry.model.driving import Course, Driving, Obstacle
from tests import mouse

Key = Qt.Key
ALT = Qt.KeyboardModifier.AltModifier
SHIFT = Qt.KeyboardModifier.ShiftModifier
CURSOR = Qt.CursorShape
WALL = Obstacle(kind="wall", x_mm=800.0, y_mm=100.0, turn_deg=90.0, length_mm=600.0)
POST = Obstacle(kind="post", x_mm=700.0, y_mm=-600.0, width_mm=60.0)
BOX = Obstacle(kind="box", x_mm=-700.0, y_mm=300.0, length_mm=200.0, width_mm=120.0)
GATE = Obstacle(kind="gate", x_mm=-700.0, y_mm=-500.0, length_mm=300.0, width_mm=40.0)
COURSE = Course(name="marsh gate", obstacles=(WALL, POST, BOX, GATE))


@pytest.fixture
def window(make_window, make_document):
    design = sample_design("marsh_scout_six").edited(driving=Driving(courses=(COURSE,)), hole_pitch_mm=None)
    made = make_window(make_document(design))
    made.resize(1280, 800)
    made.go_to_stage("drive")
    made.middle.session.choose(course="marsh gate")
    QApplication.processEvents()
    yield made
    made.middle.session.close()


@pytest.fixture
def view(window):
    window.middle.drive.setFocus()
    return window.middle.drive


@pytest.fixture
def session(window):
    return window.middle.session


def obstacles(window):
    return window.document.view.design.driving.courses[0].obstacles


def steps(window):
    return window.document.undo_stack.count()


def at(view, x, y):
    return QPointF(*view.camera.to_screen((x, y)).tolist())


def drag(view, start, end, **how):
    first, last = at(view, *start), at(view, *end)
    drag_px(view, first, last, **how)


def drag_px(view, first, last, *, held=mouse.NONE, release=True):
    mouse.press_at(view, first)
    for n in range(1, 6):
        mouse.move_to(view, first + (last - first) * (n / 5), held=held)
    if release:
        mouse.release_at(view, last, held=held)


def grip_px(view, part, which=0):
    """Where a grip of what is chosen stands."""
    return next(
        QPointF(*place) for grip, place in view.hand.grips() if (grip.part, grip.which) == (part, which)
    )


def test_a_drag_moves_an_obstacle_live_and_is_one_step(window, view, session):
    before = window.document.design
    drag(view, (800.0, 250.0), (950.4, 150.0), release=False)
    assert (obstacles(window)[0].x_mm, obstacles(window)[0].y_mm) == pytest.approx((950.0, 0.0), abs=2.0)
    assert obstacles(window)[0].x_mm == int(obstacles(window)[0].x_mm)  # snapped
    assert window.document.design is before
    mouse.release_at(view, at(view, 950.4, 150.0))
    assert window.document.design.driving.courses[0].obstacles == obstacles(window)
    assert steps(window) == 1
    assert window.document.undo_stack.undoText() == "Move wall 1"
    assert session.chosen == 0
    assert (session.state, session.frame) == ("idle", None)
    window.document.undo()
    assert window.document.design == before
    assert session.chosen == 0


def test_without_snap_or_with_alt_a_place_is_free(window, view):
    camera = view.camera
    drag(view, (800.0, 250.0), (900.0, 250.0), held=ALT)
    assert view.camera == camera  # nothing jumps under the mouse
    moved = obstacles(window)[0].x_mm
    assert moved == pytest.approx(900.0, abs=0.01)
    window.document.undo()
    window.prefer(snap=False)
    first = at(view, 800.0, 250.0)
    drag_px(view, first, first + QPointF(0.0, -31.0))
    assert obstacles(window)[0].x_mm == pytest.approx(800.0 + 31.0 / camera.scale)
    assert steps(window) == 1


@pytest.mark.parametrize("how", ["Esc", "right", "focus", "undo key"])
def test_a_drag_is_given_up(window, view, session, how):
    before = window.document.design
    window.document.edit("Rename", lambda d: d.edited(name="other"))
    if how != "undo key":
        before = window.document.design
    drag(view, (800.0, 250.0), (950.0, 150.0), release=False)
    assert obstacles(window)[0] != WALL
    if how == "Esc":
        QTest.keyClick(view, Key.Key_Escape)
    elif how == "right":
        mouse.press_at(view, at(view, 950.0, 150.0), button=mouse.RIGHT)
    elif how == "focus":
        QApplication.sendEvent(view, QFocusEvent(QEvent.Type.FocusOut, Qt.FocusReason.OtherFocusReason))
    else:
        window.document.undo()
    assert window.document.view.design == before
    mouse.move_to(view, at(view, 400.0, 150.0))
    mouse.release_at(view, at(view, 400.0, 150.0))
    assert window.document.view.design == before
    assert steps(window) == 1
    assert session.state == "idle"


def test_a_press_that_moves_nothing_chooses_and_leaves_no_step(window, view, session):
    place = at(view, 700.0, -600.0)
    mouse.press_at(view, place)
    mouse.move_to(view, place + QPointF(1.0, 1.0))
    mouse.release_at(view, place + QPointF(1.0, 1.0))
    assert session.chosen == 1
    drag_px(view, place, place + QPointF(0.0, 0.0))
    assert steps(window) == 0
    assert session.state == "idle"


def test_an_end_of_a_wall_is_drawn_and_turned(window, view, session):
    session.pick(0)
    grip = grip_px(view, "end", 0)  # the left end, at y 400
    to = at(view, 1_000.0, 400.0) + (grip - at(view, 800.0, 400.0))
    drag_px(view, grip, to)
    wall = obstacles(window)[0]
    assert wall.turn_deg == int(wall.turn_deg)
    assert 65 < wall.turn_deg < 78
    assert wall.length_mm == pytest.approx(632.0, abs=25.0)
    assert ends_of(wall)[1] == pytest.approx(ends_of(WALL)[1], abs=1e-5)
    assert steps(window) == 1
    assert window.document.undo_stack.undoText() == "Change wall 1"


@pytest.mark.parametrize(("chosen", "part"), [(1, "side"), (2, "side"), (2, "end"), (3, "end")])
def test_what_has_a_size_has_a_grip_for_it(window, view, session, chosen, part):
    before = obstacles(window)[chosen]
    session.pick(chosen)
    grip = grip_px(view, part)
    middle = at(view, before.x_mm, before.y_mm)
    drag_px(view, grip, grip + 0.5 * (grip - middle))
    key = "width_mm" if part == "side" else "length_mm"
    after = obstacles(window)[chosen]
    assert getattr(after, key) > getattr(before, key) + 5
    assert after.turn_deg == pytest.approx(before.turn_deg, abs=1.0)
    assert steps(window) == 1


def test_the_start_is_dragged_and_turned(window, view, session):
    drag(view, (30.0, 10.0), (-70.0, 60.0))  # the robot stands there
    course = window.document.design.driving.courses[0]
    assert (course.start_x_mm, course.start_y_mm) == pytest.approx((-100.0, 50.0), abs=2.0)
    assert session.chosen == "start"
    assert view.pose()[:2] == (course.start_x_mm, course.start_y_mm)
    drag_px(view, grip_px(view, "turn"), at(view, course.start_x_mm, course.start_y_mm + 900.0))
    assert window.document.design.driving.courses[0].start_heading_deg == 90.0
    assert window.document.undo_stack.undoText() == "Turn the start"
    assert steps(window) == 2


def test_the_ground_is_still_the_stick(window, view, session):
    mouse.press_at(view, at(view, 400.0, 700.0))
    assert session.state == "preparing"
    mouse.move_to(view, at(view, 400.0, 700.0) + QPointF(0, -80))
    assert view.asked().a != 0 or view.asked().b != 0
    mouse.release_at(view, at(view, 400.0, 700.0))
    assert steps(window) == 0


def test_nothing_is_gripped_while_something_drives(window, view, session, qtbot):
    session.start_live()
    assert session.state == "preparing"
    for wait in (False, True):
        if wait:
            qtbot.waitUntil(lambda: session.state == "live", timeout=20_000)
        mouse.move_to(view, at(view, 800.0, 250.0), button=Qt.MouseButton.NoButton)
        assert view.cursor().shape() == CURSOR.ArrowCursor
        drag(view, (800.0, 250.0), (950.0, 150.0))
        QTest.keyClick(view, Key.Key_Delete)
        assert obstacles(window) == COURSE.obstacles
    session.stop()
    drag(view, (800.0, 250.0), (950.0, 150.0))
    assert obstacles(window)[0] != WALL


def test_a_drive_that_begins_gives_a_drag_up(window, view, session):
    drag(view, (800.0, 250.0), (950.0, 150.0), release=False)
    QTest.keyPress(view, Key.Key_Up)
    assert session.state == "preparing"
    assert obstacles(window)[0] == WALL
    mouse.release_at(view, at(view, 950.0, 150.0))
    assert steps(window) == 0


def test_the_mouse_shows_what_a_press_would_do(window, view, session):
    def cursor(place):
        mouse.move_to(view, place, button=Qt.MouseButton.NoButton)
        return view.cursor().shape()

    assert cursor(at(view, 400.0, 700.0)) == CURSOR.ArrowCursor
    assert view.toolTip() == ""
    assert cursor(at(view, 800.0, 250.0)) == CURSOR.SizeAllCursor
    assert view.toolTip().startswith("Wall 1: drag to move it")
    session.pick(0)
    assert cursor(grip_px(view, "end")) == CURSOR.CrossCursor
    assert "length" in view.toolTip()
    assert cursor(at(view, 30.0, 10.0)) == CURSOR.SizeAllCursor


def test_a_ready_course_says_that_it_is_kept_first_and_does_not_drive(window, view, session):
    session.choose(course="doorway")
    wall = session.course.obstacles[0]
    mouse.move_to(view, at(view, wall.x_mm, wall.y_mm), button=Qt.MouseButton.NoButton)
    assert view.cursor().shape() == CURSOR.ForbiddenCursor
    assert view.toolTip() == KEEP_FIRST
    drag(view, (wall.x_mm, wall.y_mm), (wall.x_mm + 200.0, wall.y_mm))
    assert window.middle.note.text == KEEP_FIRST
    assert (session.state, steps(window)) == ("idle", 0)
    window.panels["drive"].keep.click()
    drag(view, (wall.x_mm, wall.y_mm), (wall.x_mm + 100.0, wall.y_mm))
    assert steps(window) == 2


def test_alt_with_an_arrow_nudges_and_the_arrow_alone_drives(window, view, session):
    QTest.keyClick(view, Key.Key_Left, ALT)
    assert "Choose an obstacle first" in window.middle.note.text
    session.pick(0)
    QTest.keyClick(view, Key.Key_Up, ALT)
    QTest.keyClick(view, Key.Key_Up, ALT)
    QTest.keyClick(view, Key.Key_Right, ALT | SHIFT)
    assert (obstacles(window)[0].x_mm, obstacles(window)[0].y_mm) == (802.0, 90.0)
    assert steps(window) == 1  # a run of nudges is one step
    session.pick("start")
    QTest.keyClick(view, Key.Key_Down, ALT)
    assert window.document.design.driving.courses[0].start_x_mm == -1.0
    assert steps(window) == 2
    assert session.state == "idle"
    QTest.keyPress(view, Key.Key_Up)
    assert session.state == "preparing"
    assert steps(window) == 2


def test_delete_by_key_takes_the_chosen_one_away_and_undo_brings_it_back(window, view, session):
    session.pick(1)
    QTest.keyClick(window.windowHandle(), Key.Key_Delete)
    assert obstacles(window) == (WALL, BOX, GATE)
    assert session.chosen is None
    assert window.document.undo_stack.undoText() == "Delete post 2"
    window.document.undo()
    assert obstacles(window) == COURSE.obstacles
    session.pick("start")
    QTest.keyClick(window.windowHandle(), Key.Key_Delete)
    assert obstacles(window) == COURSE.obstacles
    assert "always a start" in window.middle.note.text


def test_what_is_chosen_stays_chosen_where_one_before_it_is_deleted(window, session):
    session.pick(2)
    window.document.edit("Delete", lambda d: driving_edits.delete_obstacles(d, 0, [0]))
    assert session.chosen == 1
    window.document.undo()
    assert session.chosen == 2
    session.choose(course="doorway")
    assert session.chosen is None
    session.pick(0)
    assert session.chosen is None  # of a ready one nothing is chosen


def test_comma_and_full_stop_choose_and_esc_lets_go(window, view, session):
    chosen = []
    for key in (Key.Key_Period, Key.Key_Period, Key.Key_Comma, Key.Key_Comma, Key.Key_Escape):
        QTest.keyClick(view, key)
        chosen.append(session.chosen)
    assert chosen == [0, 1, 0, 3, None]


def test_panel_and_course_choose_the_same(window, view, session):
    window.go_to("course")
    panel = window.panels["course"]
    assert (panel.which.currentIndex(), panel.delete.isVisibleTo(panel)) == (-1, False)
    mouse.press_at(view, at(view, 700.0, -600.0))
    mouse.release_at(view, at(view, 700.0, -600.0))
    assert panel.which.currentText() == "2: post"
    assert panel.fields["x_mm"].text() == "700 mm"
    panel.which.activated.emit(0)
    assert session.chosen == 0
    drag(view, (800.0, 250.0), (900.0, 250.0), release=False)
    assert panel.fields["x_mm"].text() == f"{obstacles(window)[0].x_mm:g} mm"  # live
    mouse.release_at(view, at(view, 900.0, 250.0))


def test_a_new_obstacle_stands_in_the_middle_of_what_is_seen_chosen(window, view, session):
    window.go_to("course")
    panel = window.panels["course"]
    view._look(view.camera.panned(0.0, 250.0))
    view._fitted = False
    middle = view.camera.x, view.camera.y
    panel.adds["post"].click()
    added = obstacles(window)[4]
    assert (added.x_mm, added.y_mm) == pytest.approx(middle, abs=1e-3)
    assert session.chosen == 4
    drag(view, (added.x_mm, added.y_mm), (added.x_mm + 150.0, added.y_mm))
    assert obstacles(window)[4].x_mm == pytest.approx(added.x_mm + 150.0, abs=2.0)


def test_what_is_chosen_out_of_sight_is_brought_into_sight(window, view, session):
    view._look(view.camera.panned(0.0, 5_000.0))
    view._fitted = False
    session.pick(3)
    assert view.rect().contains(at(view, GATE.x_mm, GATE.y_mm).toPoint())


def test_the_menu_of_an_obstacle_duplicates_and_deletes_it(window, view, session, monkeypatch):
    shown = []

    class Shown(QMenu):
        def exec(self, *_args):
            shown.append([action.text() for action in self.actions()])

    monkeypatch.setattr("app.views.course_hand.QMenu", Shown)
    place = at(view, 700.0, -600.0)
    mouse.press_at(view, place, button=mouse.RIGHT)
    reason = QContextMenuEvent.Reason.Mouse
    QApplication.sendEvent(
        view, QContextMenuEvent(reason, place.toPoint(), view.mapToGlobal(place.toPoint()))
    )
    assert shown == [["Post 2", "", "D&uplicate", "Dele&te"]]
    camera = view.camera
    mouse.move_to(view, place + QPointF(40, 40), button=Qt.MouseButton.NoButton)
    assert view.camera == camera  # the menu took the button: the view does not stick to the mouse
    menu = view.hand.menu(view)
    menu.actions()[2].trigger()
    assert obstacles(window)[4] == POST.edited(x_mm=POST.x_mm + 100.0)
    assert session.chosen == 4
    view.hand.menu(view).actions()[3].trigger()
    assert obstacles(window) == COURSE.obstacles
    ground = at(view, 400.0, 700.0).toPoint()
    QApplication.sendEvent(view, QContextMenuEvent(reason, ground, view.mapToGlobal(ground)))
    assert len(shown) == 1


def test_the_numbers_stand_beside_what_is_dragged(window, view):
    assert numbers_of(COURSE, 0, "mm") == ("x 800 mm, y 100 mm", "length 600 mm, turned 90°")
    assert numbers_of(COURSE, 1, "inch") == ("x 27.559 in, y -23.622 in", "width 2.362 in")
    assert numbers_of(COURSE, "start", "mm") == ("x 0 mm, y 0 mm", "heading 0°")
    before = view.grab().toImage()
    drag(view, (800.0, 250.0), (600.0, 250.0), release=False)
    during = view.grab().toImage()
    place = at(view, 600.0, 100.0).toPoint()
    differ = sum(
        before.pixel(x, y) != during.pixel(x, y)
        for x in range(place.x() + 25, place.x() + 150)
        for y in range(place.y() - 16, place.y() - 4)
    )
    assert differ > 100
    mouse.release_at(view, at(view, 600.0, 250.0))


@pytest.mark.parametrize(
    ("obstacle", "low", "high"),
    [
        (WALL, (800.0, -200.0), (800.0, 400.0)),
        (POST, (670.0, -630.0), (730.0, -570.0)),
        (BOX, (-800.0, 240.0), (-600.0, 360.0)),
        (GATE, (-720.0, -670.0), (-680.0, -330.0)),
    ],
)
def test_what_is_drawn_and_fitted_is_what_the_robot_touches(obstacle, low, high):
    found = box_of(obstacle)
    assert found[0] == pytest.approx(low)
    assert found[1] == pytest.approx(high)


@pytest.mark.parametrize("part", ["whole", "end"])
def test_the_numbers_do_not_cover_what_is_dragged(window, view, session, part):
    session.pick(0)
    first = at(view, 800.0, 250.0) if part == "whole" else grip_px(view, "end", 1)
    for way in (QPointF(-60, 70), QPointF(40, 90), QPointF(-10, 200)):
        drag_px(view, first, first + way, release=False)
        course, camera = view.hand.course, view.camera
        size = (180.0, 34.0)
        place = middle_of(course, 0) if part == "whole" else ends_of(course.obstacles[0])[1]
        left, top = words_place(camera, place, size, list(outlines_of(course.obstacles[0])))
        for end in ends_of(course.obstacles[0]):
            for share in range(51):
                middle = middle_of(course, 0)
                x, y = (m + (e - m) * share / 50 for m, e in zip(middle, end, strict=True))
                px, py = camera.to_screen((x, y)).tolist()
                assert not (left < px < left + size[0] and top < py < top + size[1])
        QTest.keyClick(view, Key.Key_Escape)
