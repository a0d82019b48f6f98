"""A game pad in the stage Drive: what it starts and stops, and when it drives nothing."""

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QDialog

from app.design import driving_edits
from app.design.samples import sample_design
from app.drive_session import MOST_DRIVEN
from app.simulation.inputs import AT_REST, sides, stick
from geometry.errors import CommandError
from geometry.model.driving import Driving
from tests.pads import FakePad

Key = Qt.Key
HANDS = ("keys", "one stick", "two sticks")


@pytest.fixture
def window(make_window, make_document, pygame):
    made = make_window(make_document(sample_design("marsh_scout_motors").edited(driving=Driving())))
    made.resize(1280, 800)
    made.go_to_stage("drive")
    QApplication.processEvents()
    yield made
    made.middle.session.close()


@pytest.fixture
def session(window):
    return window.middle.session


@pytest.fixture
def hand(window):
    """The hand on the pads, looked for by the test alone: its timer waits."""
    return window.middle.drive.pad


def choose(window, how):
    panel = window.panels["drive"]
    panel.hand.setCurrentIndex(HANDS.index(how))
    panel.hand.activated.emit(HANDS.index(how))
    window.middle.drive.pad._timer.stop()


def rested(window, pygame, how="one stick"):
    """A pad that is chosen, plugged in and was seen at rest."""
    choose(window, how)
    pad = pygame.plug(FakePad())
    window.middle.drive.pad.look()
    return pad


def live(session, qtbot):
    qtbot.waitUntil(lambda: session.state == "live", timeout=20_000)


@pytest.mark.parametrize(
    ("how", "asked"), [("one stick", stick(0.5, 0.25)), ("two sticks", sides(0.5, -0.5))]
)
def test_a_push_begins_a_drive_by_one_stick_or_by_two(window, session, hand, pygame, qtbot, how, asked):
    pad = rested(window, pygame, how)
    assert session.state == "idle"
    pad.push(x=-0.35, y=-0.55, right_y=0.55)
    hand.look()
    live(session, qtbot)
    hand.look()
    assert session.asked == asked
    qtbot.waitUntil(lambda: session.frame.steps > 100, timeout=20_000)
    assert session.recording.held[-1][:3] == asked


def test_a_recording_by_pad_is_kept_as_a_script(window, session, hand, pygame, qtbot):
    pad = rested(window, pygame)
    pad.push(y=-1.0)
    hand.look()
    live(session, qtbot)
    hand.look()
    qtbot.waitUntil(lambda: session.frame.steps > 60, timeout=20_000)
    pad.buttons[0] = True
    hand.look()
    window.middle.time_line.keep.click()
    (script,) = window.document.design.driving.scripts
    assert max(move.throttle or 0.0 for move in script.moves) == 1.0


@pytest.mark.parametrize("how", ["one stick", "two sticks"])
def test_a_button_stops_and_a_stick_that_is_still_pushed_starts_nothing(
    window, session, hand, pygame, qtbot, how
):
    pad = rested(window, pygame, how)
    pad.push(y=-1.0, right_y=-1.0)
    hand.look()
    live(session, qtbot)
    pad.buttons[1] = True
    hand.look()
    assert session.state == "paused"
    pad.buttons[1] = False
    for _ in range(3):
        hand.look()
    assert session.state == "paused"
    pad.push()
    hand.look()
    pad.push(y=-1.0)
    hand.look()
    assert session.state == "preparing"


def test_a_pad_that_lies_on_its_stick_starts_nothing_and_another_one_does(window, session, hand, pygame):
    choose(window, "one stick")
    pygame.plug(FakePad("Lying")).push(y=1.0)
    used = pygame.plug(FakePad("Held"))
    for _ in range(3):
        hand.look()
    assert session.state == "idle"
    used.push(y=-1.0)
    hand.look()
    assert session.state == "preparing"
    assert hand.asked == stick(1.0, 0.0)


def test_a_pad_that_is_pulled_out_stops_the_robot_and_says_so(window, session, hand, pygame, qtbot):
    pad = rested(window, pygame)
    pad.push(y=-1.0)
    hand.look()
    live(session, qtbot)
    hand.look()
    qtbot.waitUntil(lambda: session.frame.steps > 60, timeout=20_000)
    pygame.pull(pad)
    hand.look()
    assert session.state == "paused"
    assert session.asked in (AT_REST, stick(0.0, 0.0))
    assert abs(session.frame.twist[0]) < 1e-6
    assert "Marsh Pad was pulled out" in window.middle.note.text
    assert "No game pad" in window.panels["drive"].pad.text()


def test_a_pad_that_is_not_driving_is_pulled_out_without_a_word(window, session, hand, pygame):
    pad = rested(window, pygame)
    pygame.pull(pad)
    hand.look()
    assert (session.state, window.middle.note.text) == ("idle", "")


def test_where_another_window_is_used_the_pad_drives_nothing(window, session, hand, pygame, qtbot):
    pad = rested(window, pygame)
    pad.push(y=-1.0)
    hand.look()
    live(session, qtbot)
    hand.look()
    assert session.asked == stick(1.0, 0.0)
    dialog = QDialog(window)
    qtbot.addWidget(dialog)
    dialog.setModal(True)
    dialog.show()
    dialog.activateWindow()
    qtbot.waitUntil(lambda: QApplication.activeWindow() is dialog)
    hand.look()
    assert session.asked in (AT_REST, stick(0.0, 0.0))
    dialog.close()
    window.activateWindow()
    qtbot.waitUntil(lambda: QApplication.activeWindow() is window)
    hand.look()
    assert session.asked in (AT_REST, stick(0.0, 0.0))  # it was not let go of since
    pad.push()
    hand.look()
    pad.push(y=-1.0)
    hand.look()
    assert session.asked == stick(1.0, 0.0)


def test_a_section_in_a_window_of_its_own_lets_the_pad_drive(window, session, hand, pygame, qtbot):
    pad = rested(window, pygame)
    window.sections["script"].take_out()
    tool = window.panels["script"].window()
    assert tool is not window
    tool.activateWindow()
    qtbot.waitUntil(lambda: QApplication.activeWindow() is tool)
    pad.push(y=-1.0)
    hand.look()
    assert session.state == "preparing"


def test_the_timer_runs_while_a_pad_is_chosen_and_the_course_in_sight(window, session, hand, pygame):
    assert not hand.looking
    session.drive_by("one stick")
    assert hand.looking
    window.go_to_stage("check")
    assert not hand.looking
    assert pygame.running == set()
    assert session.pads is None
    window.go_to_stage("drive")
    assert hand.looking
    window.show_start()
    assert not hand.looking
    window.show_work()
    assert hand.looking
    session.drive_by("keys")
    assert not hand.looking
    session.drive_by("two sticks")
    window.close()
    assert not hand.looking
    assert pygame.running == set()


def test_leaving_the_stage_stops_what_the_pad_drove(window, session, hand, pygame, qtbot):
    pad = rested(window, pygame)
    pad.push(y=-1.0)
    hand.look()
    live(session, qtbot)
    window.go_to_stage("check")
    assert session.state == "paused"
    assert hand.asked is None
    window.go_to_stage("drive")
    hand.look()
    assert session.state == "paused"


def test_the_timer_alone_finds_a_pad_and_drives(window, session, pygame, qtbot):
    session.drive_by("one stick")
    pad = pygame.plug(FakePad())
    qtbot.waitUntil(lambda: session.pads == ("Marsh Pad",))
    pad.push(y=-1.0)
    live(session, qtbot)
    qtbot.waitUntil(lambda: session.frame.pose[0] > 20.0, timeout=20_000)


def test_keys_drive_beside_a_pad_and_the_pad_goes_on_after(window, session, hand, pygame, qtbot):
    pad, view = rested(window, pygame), window.middle.drive
    pad.push(y=-1.0)
    hand.look()
    live(session, qtbot)
    view.setFocus()
    QTest.keyPress(view, Key.Key_Down)
    hand.look()
    assert session.asked == stick(-0.5, 0.0)
    QTest.keyRelease(view, Key.Key_Down)
    assert session.asked == stick(1.0, 0.0)


def test_a_script_is_not_taken_over_by_a_pad(window, session, hand, pygame, qtbot):
    window.document.edit("Add script", driving_edits.add_script)
    pad = rested(window, pygame)
    session.play()
    qtbot.waitUntil(lambda: session.state == "playing", timeout=20_000)
    pad.push(y=-1.0)
    hand.look()
    assert session.state == "playing"
    session.pause()
    for _ in range(3):
        hand.look()
    assert session.state == "paused"
    session.play()
    pad.buttons[0] = True
    hand.look()
    assert session.state == "paused"


def test_a_drive_that_ends_by_an_error_is_not_begun_again_by_the_same_push(
    window, session, hand, pygame, qtbot, monkeypatch
):
    pad = rested(window, pygame)
    pad.push(y=-1.0)
    hand.look()
    live(session, qtbot)
    hand.look()

    def fails(*_):
        raise CommandError("no more")

    monkeypatch.setattr(session.run, "advance", fails)
    qtbot.waitUntil(lambda: session.state == "paused")
    for _ in range(3):
        hand.look()
    assert session.state == "paused"
    assert window.middle.note.text == "no more"
    pad.push()
    hand.look()
    pad.push(y=-1.0)
    hand.look()
    assert session.state == "preparing"


# What is chosen --------------------------------------------------------------------------------


def test_without_mixing_only_a_stick_for_each_side_is_offered(window, session, hand, pygame, qtbot):
    panel = window.panels["drive"]
    pad = rested(window, pygame)
    assert panel.hand.model().item(1).isEnabled()
    panel.parts["mixing"].click()
    assert not panel.hand.model().item(1).isEnabled()
    assert "does not mix" in panel.hand.model().item(1).toolTip()
    assert panel.hand.currentIndex() == HANDS.index("two sticks")
    assert "does not mix" in panel.pad.text()
    hand.look()
    pad.push(y=-1.0)
    hand.look()
    live(session, qtbot)
    hand.look()
    assert session.asked == sides(1.0, 0.0)
    qtbot.waitUntil(lambda: session.frame.steps > 20)
    panel.parts["mixing"].click()
    assert panel.hand.currentIndex() == HANDS.index("one stick")


def test_the_design_too_may_leave_mixing_out(window, session):
    session.drive_by("one stick")
    window.document.edit("Without", lambda d: d.edited(controller=d.controller.edited(mixing=False)))
    assert window.panels["drive"].hand.currentIndex() == HANDS.index("two sticks")


def test_a_key_drives_code_without_mixing_from_its_first_step(window, session, qtbot):
    window.panels["drive"].parts["mixing"].click()
    QTest.keyPress(window.middle.drive, Key.Key_Up)
    live(session, qtbot)
    qtbot.waitUntil(lambda: session.frame.steps > 20)
    assert session.asked == sides(0.5, 0.5)
    assert window.middle.note.text == ""


def test_the_panel_names_the_pads_that_are_plugged_in(window, hand, pygame):
    panel = window.panels["drive"]
    assert not panel.pad.isVisibleTo(panel)
    choose(window, "two sticks")
    hand.look()
    assert panel.pad.text() == "No game pad is plugged in yet."
    pygame.plug(FakePad("<b>Reed</b>"))
    pygame.plug(FakePad("Dyke"))
    hand.look()
    assert panel.pad.text() == "<b>Reed</b>, Dyke: each stick drives its side, any button stops."
    assert panel.pad.textFormat() == Qt.TextFormat.PlainText


def test_pads_that_cannot_be_read_give_keys_and_mouse_back_and_say_why(window, session, hand, pygame, qtbot):
    pygame.broken = "no such device"
    session.drive_by("one stick")
    assert (session.hand, hand.looking) == ("keys", False)
    assert "no such device" in window.middle.note.text
    pygame.broken = ""
    pad = rested(window, pygame)
    pad.push(y=-1.0)
    hand.look()
    live(session, qtbot)
    pygame.broken = "unplugged hub"
    hand.look()
    assert (session.hand, session.state) == ("keys", "paused")
    assert "unplugged hub" in window.middle.note.text
    assert window.panels["drive"].hand.currentIndex() == 0


def test_without_the_extra_the_choice_is_greyed_and_says_the_command(make_window, make_document, no_pygame):
    window = make_window(make_document(sample_design("marsh_scout_motors")))
    window.go_to_stage("drive")
    panel = window.panels["drive"]
    assert not panel.hand.isEnabled()
    assert "python3 .start gamepad" in panel.hand.toolTip()
    assert 'pip install ".[gamepad]"' in panel.hand.toolTip()
    QTest.keyPress(window.middle.drive, Key.Key_Up)  # all else works
    assert window.middle.session.state == "preparing"
    window.middle.session.close()


def test_no_wheels_no_drive(make_window, make_document, pygame):
    window = make_window(make_document())
    window.go_to_stage("drive")
    pad = rested(window, pygame)
    pad.push(y=-1.0)
    for _ in range(3):
        window.middle.drive.pad.look()
    assert window.middle.session.state == "idle"
    window.middle.session.close()


# What was driven and not kept ------------------------------------------------------------------


def drove(session, qtbot, throttle):
    """Drive ahead for some steps, and stop."""
    session.start_live()
    live(session, qtbot)
    session._timer.stop()
    session._take(session.run.take(40, stick(throttle, 0.0)))
    session.stop()


def speeds(script):
    return max(move.throttle or 0.0 for move in script.moves)


@pytest.mark.parametrize("by", ["start_live", "reset", "play"])
def test_what_was_not_kept_can_be_kept_after_a_new_start(window, session, qtbot, by):
    window.document.edit("Add script", driving_edits.add_script)
    drove(session, qtbot, 0.5)
    getattr(session, by)()
    qtbot.waitUntil(lambda: session.state != "preparing", timeout=20_000)
    session.stop()
    assert window.middle.time_line.keep.isEnabled()
    window.middle.time_line.keep.click()
    assert speeds(window.document.design.driving.scripts[-1]) == 0.5
    assert not window.middle.time_line.keep.isEnabled()


def test_drives_before_the_last_are_listed_and_kept(window, session, qtbot):
    line = window.middle.time_line
    drove(session, qtbot, 0.25)
    assert not line.earlier.isVisible()
    drove(session, qtbot, 0.5)
    drove(session, qtbot, 0.75)
    assert line.earlier.isVisible()
    menu = line.earlier.menu()
    menu.aboutToShow.emit()
    texts = [action.text() for action in menu.actions()]
    assert [text.split(",")[0] for text in texts] == [f"Keep the drive {n} before the last" for n in (1, 2)]
    menu.actions()[1].trigger()
    assert speeds(window.document.design.driving.scripts[-1]) == 0.25
    line.keep.click()
    assert speeds(window.document.design.driving.scripts[-1]) == 0.75
    assert not line.earlier.isVisible()
    line.keep.click()
    assert speeds(window.document.design.driving.scripts[-1]) == 0.5
    assert session.driven == ()


def test_an_edit_of_the_chassis_takes_no_drive_away_and_another_file_does(window, session, qtbot):
    drove(session, qtbot, 0.5)
    window.document.edit("Add script", driving_edits.add_script)
    assert window.middle.time_line.keep.isEnabled()
    window.document.start(sample_design("marsh_scout_six"))
    assert session.driven == ()
    assert not window.middle.time_line.keep.isEnabled()


def test_only_so_many_drives_wait(window, session, qtbot):
    for _ in range(MOST_DRIVEN + 2):
        drove(session, qtbot, 0.5)
    assert len(session.driven) == MOST_DRIVEN
