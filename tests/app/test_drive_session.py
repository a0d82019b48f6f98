"""The drive that is shown: live by a clock, scripts run through and played, kept and the same again."""

import pytest
from PySide6.QtTest import QSignalSpy

from app.design import driving_edits, edits
from app.design.samples import sample_design
from app.drive_session import session_of
from app.simulation.inputs import stick
from geometry.model.driving import Driving, Move, Script

AHEAD = Script(name="ahead", moves=(Move(turn=0.0, speed=0.5, until="distance", amount=200.0),))


@pytest.fixture
def driven(make_document, qtbot):
    bare = sample_design("marsh_scout_motors").edited(driving=Driving())
    document = make_document(driving_edits.add_script(bare, AHEAD))
    session = session_of(document)
    yield session
    session.close()


def prepared(session, qtbot):
    qtbot.waitUntil(lambda: session.state != "preparing", timeout=20_000)


def test_there_is_one_session_for_a_document(driven):
    assert session_of(driven.parent()) is driven


def test_a_script_is_run_through_and_shown_at_any_time(driven, qtbot):
    driven.play()
    prepared(driven, qtbot)
    assert driven.state == "playing"
    driven.pause()
    assert driven.state == "paused"
    driven.seek(driven.shown.steps)
    assert driven.frame.pose[0] == pytest.approx(200.0, abs=60.0)
    whole = driven.frame.distance
    driven.seek(driven.shown.steps // 3)
    assert 0 < driven.frame.distance < whole
    driven.seek(-5)
    assert driven.steps == 0
    driven.seek(10**9)
    assert driven.steps == driven.shown.steps
    driven.play()  # from its start again, since it is through
    prepared(driven, qtbot)
    assert driven.steps == 0


def test_playing_goes_on_by_the_clock_and_stops_at_the_end(driven, qtbot):
    driven.play()
    prepared(driven, qtbot)
    qtbot.waitUntil(lambda: driven.state == "paused", timeout=20_000)
    assert driven.steps == driven.shown.steps


def test_what_was_driven_by_hand_is_kept_and_replayed_to_the_last_bit(driven, qtbot):
    document = driven.parent()
    driven.start_live()
    prepared(driven, qtbot)
    driven.ask(stick(0.6, 0.0))
    qtbot.waitUntil(lambda: driven.frame.steps > 60)
    driven.ask(stick(0.6, 0.5))
    qtbot.waitUntil(lambda: driven.frame.steps > 120)
    driven.stop()
    assert driven.state == "paused"
    end = driven.frame
    assert driven.keep("mine")
    assert document.undo_stack.count() == 1
    assert driven.script_name == "mine"
    driven.play()
    prepared(driven, qtbot)
    driven.pause()
    driven.seek(driven.shown.steps)
    assert driven.frame.pose == end.pose
    assert driven.frame.drag == end.drag
    document.undo()
    assert [s.name for s in document.design.driving.scripts] == ["ahead"]


def test_an_edit_of_the_chassis_ends_what_goes_on(driven, qtbot):
    document = driven.parent()
    driven.play()
    prepared(driven, qtbot)
    assert document.edit("Move", lambda d: edits.move_wheels(d, {0: (140.0, 120.0)}, mirror=True))
    assert (driven.state, driven.frame, driven.shown) == ("idle", None, None)


def test_a_part_of_the_code_that_is_left_out_changes_the_drive(driven, qtbot):
    document = driven.parent()
    turn = Script(name="turn", moves=(Move(turn=0.8, speed=0.5, until="heading", amount=60.0),))
    assert document.edit("Add", lambda d: driving_edits.add_script(d, turn))
    drags = []
    for without in ((), ("hold",)):
        driven.leave_out(without)
        driven.choose(script="turn")
        driven.play()
        prepared(driven, qtbot)
        driven.pause()
        driven.seek(driven.shown.steps)
        drags.append(sum(driven.frame.drag))
    assert drags[1] > drags[0] + 1.0


def test_a_course_that_is_too_narrow_is_touched(driven, qtbot):
    driven.choose(course="slalom", script="ahead")
    assert driven.course.obstacles
    document = driven.parent()
    far = Script(name="far", moves=(Move(turn=0.0, speed=0.8, until="distance", amount=1_200.0),))
    assert document.edit("Add", lambda d: driving_edits.add_script(d, far))
    driven.choose(script="far")
    driven.play()
    prepared(driven, qtbot)
    assert driven.shown.last.contacts
    driven.pause()
    driven.seek(1)
    assert driven.frame.contacts == ()


def test_what_cannot_be_driven_says_why(make_document, qtbot):
    document = make_document()
    session = session_of(document)
    refused = QSignalSpy(session.refused)
    session.play()
    assert "no script yet" in refused.at(0)[0]
    session.start_live()
    prepared(session, qtbot)
    assert session.state == "idle"
    assert refused.count() == 2
    assert session.keep() is False
    session.close()


def test_a_script_that_never_ends_is_named(driven, qtbot):
    document = driven.parent()
    still = Script(name="still", moves=(Move(turn=0.0, speed=0.0, until="distance", amount=10.0),))
    assert document.edit("Add", lambda d: driving_edits.add_script(d, still))
    refused = QSignalSpy(driven.refused)
    driven.choose(script="still")
    driven.play()
    prepared(driven, qtbot)
    assert driven.state == "idle"
    assert "driving.scripts[1].moves[0]" in refused.at(0)[0]


def test_closing_while_the_code_is_written_leaves_no_thread(driven):
    driven.play()
    driven.close()
