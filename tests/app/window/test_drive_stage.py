"""The stage Drive: keys and mouse drive while they are held, a script is edited and played."""

import math
from dataclasses import replace

import pytest
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QColor
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from app.design import driving_edits, edits
from app.design.references import references_to
from app.design.samples import sample_design
from app.settings import Settings
from app.simulation.inputs import AT_REST, stick
from app.views.tracks import swept_colour
from geometry.model.driving import OF_WAY, UNTILS, WAYS, Driving
from tests import mouse

Key = Qt.Key


@pytest.fixture
def window(make_window, make_document, qtbot):
    made = make_window(make_document(sample_design("marsh_scout_motors").edited(driving=Driving())))
    made.resize(1280, 800)
    made.go_to_stage("drive")
    QApplication.processEvents()
    yield made
    made.middle.session.close()


@pytest.fixture
def session(window):
    return window.middle.session


def enter(field, text):
    field.setFocus()
    field.selectAll()
    field.insert(text)
    QTest.keyClick(field, Key.Key_Return)


def live(session, qtbot):
    qtbot.waitUntil(lambda: session.state == "live", timeout=20_000)


def test_the_course_stands_in_the_place_of_the_plan(window):
    assert window.middle.drive.isVisible()
    assert window.middle.time_line.isVisible()
    assert not window.canvas.isVisible()
    assert window.middle.bar.buttons["drive"].accessibleName() == "Drive: not driven yet"
    window.go_to_stage("check")
    assert window.canvas.isVisible()
    assert not window.middle.drive.isVisible()


@pytest.mark.parametrize(
    ("keys", "asked"),
    [
        ([Key.Key_Up], stick(0.5, 0.0)),
        ([Key.Key_W, Key.Key_A], stick(0.5, 0.5)),
        ([Key.Key_Down, Key.Key_Right], stick(-0.5, -0.5)),
    ],
)
def test_keys_drive_while_they_are_held(window, session, qtbot, keys, asked):
    view = window.middle.drive
    view.setFocus()
    for key in keys:
        QTest.keyPress(view, key)
    live(session, qtbot)
    assert view.asked() == asked
    QTest.keyPress(view, Key.Key_Space)
    assert view.asked() in (AT_REST, stick(0.0, 0.0))
    assert session.state == "paused"


def test_the_robot_moves_ahead_and_stops_when_the_key_is_let_go(window, session, qtbot):
    view = window.middle.drive
    view.setFocus()
    session.start_live()
    live(session, qtbot)
    QTest.keyPress(view, Key.Key_Up)
    qtbot.waitUntil(lambda: session.frame.pose[0] > 20.0, timeout=10_000)
    QTest.keyRelease(view, Key.Key_Up)
    qtbot.waitUntil(lambda: abs(session.frame.twist[0]) < 1e-6, timeout=10_000)
    assert session.frame.pose[0] > 20.0
    assert len(session.track.points) > 0


def test_leaving_the_stage_or_the_keyboard_lets_go_of_the_sticks(window, session, qtbot):
    view = window.middle.drive
    view.setFocus()
    session.start_live()
    live(session, qtbot)
    QTest.keyPress(view, Key.Key_Up)
    assert session.asked != AT_REST
    window.middle.time_line.curves.setFocus()
    assert view.asked() in (AT_REST, stick(0.0, 0.0))
    window.go_to_stage("check")
    assert session.state == "paused"


def test_a_drag_of_the_mouse_is_one_stick(window, session, qtbot):
    view, middle = window.middle.drive, QPointF(300, 300)
    session.start_live()
    live(session, qtbot)
    mouse.press_at(view, middle)
    mouse.move_to(view, middle + QPointF(-40, -80))
    assert view.asked() == stick(0.9, 0.45)  # as far as the stick goes, on its circle
    mouse.release_at(view, middle + QPointF(-40, -80))
    assert view.asked() in (AT_REST, stick(0.0, 0.0))


def test_a_script_is_made_edited_and_played(window, session, qtbot):
    document, panel = window.document, window.panels["script"]
    assert panel.none.isVisibleTo(panel)
    panel.add.click()
    assert [s.name for s in document.design.driving.scripts] == ["script"]
    panel.until.activated.emit(1)
    enter(panel.amount, "150")
    panel.add_move.click()
    assert len(document.design.driving.scripts[0].moves) == 2
    enter(panel.fields["turn"], "-0.5")
    move = document.design.driving.scripts[0].moves[1]
    assert (move.turn, move.until, move.amount) == (-0.5, "distance", 150.0)
    panel.up.click()
    assert document.design.driving.scripts[0].moves[0].turn == -0.5
    assert panel.table.item(0, 0).text() == "turn -0.5"
    window.middle.time_line.play.click()
    qtbot.waitUntil(lambda: session.state == "playing", timeout=20_000)
    window.middle.time_line.play.click()
    assert session.state == "paused"
    assert window.middle.bar.buttons["drive"].accessibleName() == "Drive: no touch"
    count = document.undo_stack.count()
    for _ in range(count):
        window.action["undo"].trigger()
    assert document.design.driving.scripts == ()


@pytest.mark.parametrize("way", WAYS)
def test_a_move_shows_the_numbers_of_its_way_alone(window, way):
    panel = window.panels["script"]
    panel.add.click()
    panel.by.activated.emit(WAYS.index(way))
    QApplication.processEvents()
    move = window.document.design.driving.scripts[0].moves[0]
    assert move.by == way
    shown = {key for key, box in panel.fields.items() if box.isVisibleTo(panel)}
    assert shown == set(OF_WAY[way])


def test_a_ready_course_is_driven_and_kept(window, session):
    panel, document = window.panels["drive"], window.document
    names = [panel.course.itemText(i) for i in range(panel.course.count())]
    assert names[0] == "empty plane"
    panel.course.setCurrentIndex(names.index("doorway"))
    panel.course.activated.emit(names.index("doorway"))
    assert session.course.name == "doorway"
    panel.keep.click()
    assert [c.name for c in document.design.driving.courses] == ["doorway"]
    assert document.undo_stack.count() == 1
    assert not panel.keep.isEnabled()


def test_speed_and_ramp_are_set_and_undone(window):
    panel, document = window.panels["drive"], window.document
    enter(panel.speed, "250")
    enter(panel.ramp, "1.5")
    assert (document.design.driving.full_speed_mm_s, document.design.driving.ramp_s) == (250.0, 1.5)
    window.action["undo"].trigger()
    window.action["undo"].trigger()
    assert document.design.driving.full_speed_mm_s == 300.0


def test_the_period_is_a_whole_number_of_milliseconds(window):
    panel, document = window.panels["drive"], window.document
    enter(panel.period, "20")
    assert document.design.controller.period_ms == 20
    enter(panel.period, "7.5")
    assert document.design.controller.period_ms == 20
    assert "whole number" in panel.period.reason.text()
    enter(panel.period, "51")
    assert "at most 50" in panel.period.reason.text()
    window.action["undo"].trigger()
    assert document.design.controller.period_ms == 5


def test_a_part_that_the_code_lacks_is_greyed_and_says_so(window):
    panel, document = window.panels["drive"], window.document
    assert panel.parts["hold"].isEnabled()
    document.edit("Without", lambda d: d.edited(controller=d.controller.edited(hold=False)))
    assert not panel.parts["hold"].isEnabled()
    assert "leaves it out" in panel.parts["hold"].toolTip()


def test_no_wheels_grey_what_drives(make_window, make_document):
    window = make_window(make_document())
    window.go_to_stage("drive")
    assert not window.middle.time_line.drive.isEnabled()
    assert not window.middle.time_line.play.isEnabled()
    QTest.keyPress(window.middle.drive, Key.Key_Up)
    assert window.middle.session.state == "idle"
    window.middle.session.close()


def test_a_chassis_of_another_file_is_driven_from_its_own_start(window, session, qtbot):
    session.start_live()
    live(session, qtbot)
    window.document.start(driving_edits.add_script(sample_design("marsh_scout_six")))
    assert (session.state, session.frame) == ("idle", None)
    assert session.script.name == "script"


def test_what_is_refused_is_said_over_the_course(window):
    window.document.message.emit("No.")
    note = window.middle.note
    assert note.isVisible()
    assert note.parentWidget() is window.middle.drive
    window.go_to_stage("check")
    assert note.text == "No."
    assert note.parentWidget() is window.canvas
    assert note.isVisible()


def test_zoom_and_fit_work_on_the_course(window):
    plan, course = window.canvas.camera, window.middle.drive.camera
    window.action["zoom_in"].trigger()
    assert window.middle.drive.camera.scale > course.scale
    window.action["fit"].trigger()
    assert window.middle.drive.camera == course
    assert window.canvas.camera == plan


@pytest.mark.parametrize(
    "key", ["delete", "mirror", "add", "add_corner", "fixed", "driven", "measure", "reverse"]
)
def test_what_works_on_the_plan_is_refused_where_it_is_not_in_sight(window, key):
    window.document.select(references_to("wheel", (0,)))
    before = window.document.design, window.document.command
    window.action[key].trigger()
    assert (window.document.design, window.document.command) == before
    assert "not in sight" in window.middle.note.text
    window.go_to_stage("lay out")
    window.middle.note.clear()
    window.action[key].trigger()
    assert "not in sight" not in window.middle.note.text


def test_the_keyboard_comes_to_the_course_and_not_to_the_hidden_plan(window):
    window.middle.turn.turn.setFocus()
    for _ in range(8):
        QTest.keyClick(window.windowHandle(), Key.Key_F6)
        focus = QApplication.focusWidget()
        assert focus.isVisible()
        assert focus is not window.canvas
        if focus is window.middle.drive:
            break
    else:
        pytest.fail("F6 never comes to the course")
    window.show_start()
    window.show_work()
    assert QApplication.focusWidget() is window.middle.drive


def test_what_ends_a_move_is_typed_in_the_unit_on_the_screen(window):
    panel, document = window.panels["script"], window.document
    panel.add.click()
    window.prefer(length_unit="inch")
    panel.until.activated.emit(UNTILS.index("distance"))
    enter(panel.amount, "3")
    move = document.design.driving.scripts[0].moves[0]
    assert (move.until, move.amount) == ("distance", pytest.approx(76.2))
    assert panel.amount.text() == "3 in"
    panel.until.activated.emit(UNTILS.index("heading"))
    assert panel.amount.text().endswith("°")
    enter(panel.amount, "30")
    panel.until.activated.emit(UNTILS.index("time"))
    assert panel.amount.text() == "30"


def test_a_drive_that_begins_takes_away_what_was_refused_before(window, session, qtbot):
    window.document.message.emit("No.")
    session.start_live()
    live(session, qtbot)
    assert window.middle.note.text == ""


def test_a_script_is_seen_from_end_to_end_with_all_of_the_robot(window, session, qtbot):
    window.document.edit("Add script", driving_edits.add_script)
    window.document.edit("Go far", lambda d: driving_edits.change_move(d, 0, 0, until="distance", amount=300))
    session.play()
    qtbot.waitUntil(lambda: session.state == "playing", timeout=20_000)
    session.seek(session.shown.steps)
    assert session.frame.pose[0] > 280
    view = window.middle.drive
    for wheel in window.document.design.wheels:
        x, y = view.camera.to_screen((session.frame.pose[0] + wheel.x_mm, wheel.y_mm))
        assert 0 < x < view.width()
        assert 0 < y < view.height()


def test_who_drives_on_is_not_lost_from_sight(window, session, qtbot):
    view = window.middle.drive
    session.start_live()
    live(session, qtbot)
    session._timer.stop()
    for _ in range(60):
        session._take(session.run.advance(250_000, stick(1.0, 0.0)))
    assert session.frame.pose[0] > 2_000
    x, y = view.camera.to_screen(session.frame.pose[:2])
    assert 0 < x < view.width()
    assert 0 < y < view.height()


def test_a_long_name_is_shortened_beside_the_time_and_none_is_named_for_nothing(window, session, qtbot):
    window.document.edit("Rename", lambda d: edits.change_wheels(d, [0], name="W" * 40))
    least = window.minimumSizeHint().width()
    session.start_live()
    live(session, qtbot)
    told = window.middle.time_line.told
    session._timer.stop()
    session._take(session.run.frame)
    assert told.text() == "dragged so far 0 mm"
    window.middle.time_line._show_frame(replace(session.frame, drag=(900.0, *session.frame.drag[1:])))
    assert told.toolTip() == f"dragged so far 900 mm, most {'W' * 40} 900 mm"
    assert window.minimumSizeHint().width() == least
    told.setFixedWidth(told.fontMetrics().horizontalAdvance("dragged 900 mm") + 2)
    QApplication.processEvents()
    assert told.text() == "dragged 900 mm"
    told.setFixedWidth(told.fontMetrics().horizontalAdvance("drag 900 mm") + 2)
    QApplication.processEvents()
    assert told.text() == "drag 900 mm"
    told.setFixedWidth(30)
    QApplication.processEvents()
    assert told.text().endswith("…")


def test_after_the_button_drive_the_arrow_keys_drive(window, session, qtbot):
    button = window.middle.time_line.drive
    button.setFocus()
    QTest.mouseClick(button, Qt.MouseButton.LeftButton)
    QTest.keyPress(window.windowHandle(), Key.Key_Up)
    live(session, qtbot)
    assert session.asked == stick(0.5, 0.0)
    QTest.keyRelease(window.windowHandle(), Key.Key_Up)
    button.setFocus()
    QTest.mouseClick(button, Qt.MouseButton.LeftButton)
    assert session.state == "paused"
    assert button.hasFocus()


def test_nothing_drives_on_behind_the_start_page(window, session, qtbot):
    session.start_live()
    live(session, qtbot)
    window.show_start()
    assert session.state == "paused"


def test_the_chosen_script_stays_chosen_where_its_new_name_is_undone(window, session):
    document, panel = window.document, window.panels["script"]
    panel.add.click()
    panel.add.click()
    before = session.script.name
    enter(panel.name, "round")
    assert session.script is document.design.driving.scripts[1]
    document.undo()
    assert session.script is document.design.driving.scripts[1]
    assert panel.name.text() == before
    document.redo()
    assert session.script.name == "round"


@pytest.mark.parametrize(("unit", "of_mm"), [("mm", 1.0), ("inch", 25.4)])
def test_the_grid_of_the_course_is_round_in_the_unit_on_the_screen(window, unit, of_mm):
    window.prefer(length_unit=unit)
    step = window.middle.drive.grid_mm / of_mm
    first_digit = step / 10 ** math.floor(math.log10(step) + 1e-9)
    assert first_digit == pytest.approx(round(first_digit))


def told(window):
    bar = window.middle.verdict
    return bar.headline.accessibleDescription(), bar.mark.accessibleName()


def test_the_verdict_heads_the_drive_here_and_the_range_elsewhere(window, session, qtbot):
    elsewhere = "With these motors: aligned at every turn checked."
    assert told(window) == ("Not driven yet.", "Nothing yet")
    height = window.middle.verdict.height()
    session.choose(course="turning square")
    session.start_live()
    assert told(window)[0] == "About to drive."
    live(session, qtbot)
    session._timer.stop()
    assert told(window) == ("Driving, no touch so far.", "Good")
    while not session.frame.contacts:
        session._take(session.run.advance(250_000, stick(1.0, 0.0)))
    first = session.frame.contacts[0]
    name = "the body" if first.what == "body" else first.name
    assert told(window)[0].endswith(f"{name} at wall {first.obstacle + 1}.")
    assert told(window)[1] == "Bad"
    assert window.middle.verdict.height() == height
    second = window.middle.verdict.turn.accessibleDescription()
    assert f"First at {first.time_s:.1f}".rstrip("0").rstrip(".") in second
    window.go_to_stage("check")
    assert told(window) == (elsewhere, "Good")
    assert window.middle.bar.buttons["check"].accessibleName() == "Check: aligned"
    window.go_to_stage("drive")
    assert told(window)[1] == "Bad"
    window.prefer(length_unit="inch")
    assert " in" in window.middle.verdict.turn.accessibleDescription()
    session.reset()
    assert told(window) == ("Not driven yet.", "Nothing yet")


def test_the_verdict_of_a_drive_is_told_anew_a_few_times_a_second(window, session, qtbot, monkeypatch):
    session.start_live()
    live(session, qtbot)
    session._timer.stop()
    seen = []
    shown = window.middle.verdict.show_run
    monkeypatch.setattr(window.middle.verdict, "show_run", lambda run: (seen.append(run), shown(run)))
    for _ in range(100):
        session._take(session.run.advance(10_000, stick(1.0, 0.0)))
    assert 3 <= len(seen) <= 5
    drag = window.middle.verdict.turn.accessibleDescription()
    session.stop()
    assert "Driven" in told(window)[0]
    assert drag


def test_a_window_that_opens_in_the_stage_drive_heads_its_drive(make_window, make_document):
    opened = make_window(make_document(sample_design("marsh_scout_motors")), Settings(stage="drive"))
    assert told(opened) == ("Not driven yet.", "Nothing yet")
    opened.middle.session.close()


def test_tracks_and_swept_space_are_drawn_as_the_person_wants(window, session, qtbot):
    view = window.middle.drive
    session.start_live()
    live(session, qtbot)
    view.setFocus()
    QTest.keyPress(view, Key.Key_Up)
    qtbot.waitUntil(lambda: session.frame.pose[0] > 60.0, timeout=10_000)
    QTest.keyRelease(view, Key.Key_Up)
    session.stop()
    QApplication.processEvents()
    tint = QColor(swept_colour())
    behind = view.camera.to_screen((min(x for x, _ in window.document.design.body_mm) + 20.0, 0.0))
    ground = QPoint(*(round(float(v)) for v in behind))

    def seen():
        return view.grab().toImage().pixelColor(ground)

    assert seen() == tint
    window.action["swept"].trigger()
    assert seen() != tint
    window.action["tracks"].trigger()
    window.action["swept"].trigger()
    assert seen() == tint
    session.reset()
    assert seen() != tint


def test_the_drag_of_each_wheel_is_told_beside_the_course(window, session, qtbot):
    window.go_to("drag")
    session.start_live()
    live(session, qtbot)
    view = window.middle.drive
    view.setFocus()
    QTest.keyPress(view, Key.Key_Up)
    QTest.keyPress(view, Key.Key_Left)
    qtbot.waitUntil(lambda: max(session.frame.drag) > 0.1, timeout=10_000)
    session.stop()
    model = window.panels["drag"].order
    told = [float(model.index(row, 1).data()) for row in range(model.rowCount())]
    assert told == pytest.approx(session.frame.drag, abs=0.05)
