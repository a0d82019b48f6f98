"""The motors panel: the list and the wheels of each motor show the view and ask the document."""

import math

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from app.design import edits, motor_edits
from app.design.references import Reference, references_to
from app.design.samples import sample_design
from app.panels.form import copy_rows
from geometry.model.design import Design
from tests.motored import enter, results, row_of, shown, wheels_of
from tests.windows import KEYS, listen

Key = Qt.Key

# The list ---------------------------------------------------------------------------------


def test_without_motors_two_sentences_and_the_buttons_are_shown(panel):
    assert panel.welcome.isVisible()
    assert panel.welcome.text().count(". ") == 1
    assert not panel.list.isVisible()
    assert not panel.editor.isVisible()
    assert not panel.remove.isVisible()
    assert panel.add_steer.isVisible()
    assert panel.add_drive.isVisible()
    assert panel.suggest.isVisible()


def test_a_motor_for_the_selected_wheels_is_added_chosen_and_listed(window, panel):
    window.document.select(references_to("wheel", {0, 4}))
    panel.add_steer.click()
    assert shown(panel) == [["steer motor 1", "steers", "front left × 1, rear left × \u22121"]]
    assert panel.chosen == ("steer", 0)
    assert panel.editor.name.text() == "steer motor 1"
    assert not panel.welcome.isVisible()
    window.action["undo"].trigger()
    assert window.document.design == sample_design(KEYS[0])
    assert panel.welcome.isVisible()
    assert not panel.editor.isVisible()


def test_the_buttons_stay_where_they_are_as_motors_are_added(window, panel):
    window.document.select(())
    places = set()
    for _ in range(4):
        panel.add_steer.click()
        QApplication.processEvents()
        places.add((panel.list.height(), panel.add_steer.y()))
    assert len(shown(panel)) == 4
    assert len(places) == 1
    last = panel.list.visualItemRect(panel.list.item(3, 0))
    assert panel.list.viewport().rect().contains(last)


@pytest.mark.parametrize("kind", ["steer", "drive"])
def test_the_first_motor_moves_neither_a_part_of_the_panel_nor_the_plan(window, panel, kind):
    """From none to one the list, the buttons and the offer stay, and so does what the plan looks at."""

    def places():
        QApplication.processEvents()
        kept = (panel.above, panel.add_steer, panel.add_drive, panel.suggest, panel.code, panel.offer.title)
        return [
            *((part.mapTo(panel, QPoint()), part.height()) for part in kept),
            window.canvas.size(),
            window.canvas.camera,
        ]

    window.document.select(())
    before = places()
    (panel.add_steer if kind == "steer" else panel.add_drive).click()
    assert len(shown(panel)) == 1
    assert places() == before
    assert panel.minimumSizeHint().width() <= 280


def test_a_row_is_44_high_and_tells_mark_name_and_wheels_to_a_screen_reader(steered):
    assert steered.list.rowHeight(0) == steered.list.rowHeight(1) == 44
    told = steered.list.item(0, 0).data(Qt.ItemDataRole.AccessibleTextRole)
    assert told == "S1, steer motor 1, steers front left × 1, rear left × \u22121"


def test_names_stay_apart_from_ratios_whatever_a_wheel_is_called(window, steered):
    window.document.edit("Rename", lambda d: edits.change_wheels(d, [0], name="wheel 1 x 1"))
    assert shown(steered)[0][2] == "“wheel 1 x 1” × 1, rear left × \u22121"


def test_a_motor_that_is_selected_on_the_plan_is_chosen_and_its_wheels_are_left_alone(window, steered):
    window.document.select((Reference("steer motor", 1),))
    assert steered.chosen == ("steer", 1)
    assert steered.editor.name.text() == "steer motor 2"
    assert window.document.selection == (Reference("steer motor", 1),)
    window.document.select(())
    assert steered.chosen == ("steer", 1)


def test_the_wheel_that_a_new_motor_found_is_selected(window, panel):
    window.document.select(())
    panel.add_steer.click()
    assert window.document.selection == references_to("wheel", {0})


def test_adding_again_takes_the_next_wheel_without_a_motor(window, panel):
    window.document.select(references_to("wheel", {0, 4}))
    panel.add_steer.click()
    panel.add_steer.click()
    assert [row[2] for row in shown(panel)] == ["front left × 1, rear left × \u22121", "front right × 1"]


def test_steer_motors_stand_before_drive_motors(driving, window):
    window.document.select(())
    driving.add_steer.click()
    assert [row[1] for row in shown(driving)] == ["steers", "drives"]
    assert driving.chosen == ("steer", 0)


def test_adding_without_a_wheel_to_hold_says_what_to_do(window, panel):
    window.document.start(Design())
    heard = listen(window.document)
    panel.add_steer.click()
    panel.add_drive.click()
    assert ["wheel" in text for text in heard] == [True, True]
    assert window.document.undo_stack.count() == 0


def test_a_chosen_motor_selects_its_wheels(window, steered):
    steered.choose("steer", 1)
    assert window.document.selection == references_to("wheel", {1, 5})
    steered.list.setFocus()
    QTest.keyClick(steered.list, Key.Key_Up)
    assert steered.chosen == ("steer", 0)
    assert window.document.selection == references_to("wheel", {0, 4})
    assert steered.editor.name.text() == "steer motor 1"


def test_a_click_on_the_chosen_motor_selects_its_wheels_again(window, steered):
    window.document.select(references_to("wheel", {3}))
    middle = steered.list.visualItemRect(steered.list.item(0, 0)).center()
    QTest.mouseClick(steered.list.viewport(), Qt.MouseButton.LeftButton, pos=middle)
    assert window.document.selection == references_to("wheel", {0, 4})


def test_the_key_of_the_panel_leads_to_the_list_or_to_the_first_button(window, panel):
    assert window.focusWidget() is panel.add_steer
    panel.add_steer.click()
    QTest.keyClick(window.windowHandle(), Key.Key_6, Qt.KeyboardModifier.AltModifier)
    assert window.focusWidget() is panel.list


def test_selecting_wheels_elsewhere_leaves_the_chosen_motor(window, steered):
    window.document.select(references_to("wheel", {3}))
    assert steered.chosen == ("steer", 0)
    assert window.document.selection == references_to("wheel", {3})


def test_remove_takes_the_motor_and_leaves_its_wheels(window, steered):
    steered.remove.click()
    assert [row[0] for row in shown(steered)] == ["steer motor 2"]
    assert len(window.document.design.wheels) == 6
    window.action["undo"].trigger()
    assert len(shown(steered)) == 2


def test_the_delete_key_in_the_list_removes_the_motor_and_no_wheel(window, steered):
    steered.list.setFocus()
    QTest.keyClick(window.windowHandle(), Key.Key_Delete)
    assert [row[0] for row in shown(steered)] == ["steer motor 2"]
    assert len(window.document.design.wheels) == 6


def test_the_list_is_copied_with_heads(steered):
    copy_rows(steered.list)
    lines = QGuiApplication.clipboard().text().splitlines()
    assert lines[0] == "Motor\tDoes\tWheels and gearing"
    assert "steer motor 1\tsteers\tfront left × 1, rear left × \u22121" in lines


def test_a_renamed_motor_stays_chosen_and_a_name_in_use_is_refused(window, steered):
    steered.choose("steer", 1)
    enter(steered.editor.name, "stern")
    assert window.document.design.steer_motors[1].name == "stern"
    assert steered.chosen == ("steer", 1)
    heard = listen(window.document)
    enter(steered.editor.name, "Steer Motor 1")
    name = steered.editor.name
    assert "stern, name must differ from the name of steer motor 1" in name.reason.text()
    assert heard == []
    assert window.document.design.steer_motors[1].name == "stern"
    assert name.text() == "Steer Motor 1"
    steered.choose("steer", 0)
    assert (name.text(), name.reason.isVisible()) == ("steer motor 1", False)


def test_nothing_is_computed_while_another_stage_is_shown(window, steered):
    window.show_panel("wheel")
    QApplication.processEvents()
    window.document.edit("Rename", lambda d: motor_edits.change_motor(d, "steer", 0, name="bow"))
    assert shown(steered)[0][0] == "steer motor 1"
    window.show_panel("motors")
    QApplication.processEvents()
    assert shown(steered)[0][0] == "bow"
    assert steered.editor.name.text() == "bow"


# Wheels -----------------------------------------------------------------------------------


def test_a_steer_motor_offers_the_steered_wheels_and_a_drive_motor_all_but_casters(window, steered):
    assert wheels_of(steered) == ["front left", "front right", "rear left", "rear right"]
    window.document.edit("Caster", lambda d: edits.change_wheels(d, [3], kind="caster"))
    window.document.select(references_to("wheel", {2}))
    steered.add_drive.click()
    assert wheels_of(steered) == ["front left", "front right", "middle left", "rear left", "rear right"]


def test_ticking_moves_a_wheel_from_its_motor(window, steered):
    row = row_of(steered, "front right")
    assert not row.box.isChecked()
    assert row.note.text() == "held by steer motor 2; ticking moves it"
    assert row.gearing.isHidden()
    row.box.click()
    design = window.document.design
    assert [g.wheel for g in design.steer_motors[0].wheels] == ["front left", "rear left", "front right"]
    assert [g.wheel for g in design.steer_motors[1].wheels] == ["rear right"]
    assert row.box.isChecked()
    assert row.gearing.isVisible()
    assert window.document.undo_stack.undoText() == "Put front right on steer motor 1"


def test_unticking_frees_a_wheel(window, steered):
    row = row_of(steered, "rear left")
    row.box.click()
    assert [g.wheel for g in window.document.design.steer_motors[0].wheels] == ["front left"]
    assert row.note.text() == "without a motor"


def test_unticking_the_last_wheel_removes_the_motor_and_says_so(window, steered):
    heard = listen(window.document)
    row_of(steered, "rear left").box.click()
    row_of(steered, "front left").box.click()
    assert [motor.name for motor in window.document.design.steer_motors] == ["steer motor 2"]
    assert heard == ["steer motor 1 held no other wheel and was deleted; undo brings it back."]
    assert steered.editor.name.text() == "steer motor 2"


def test_moving_the_last_wheel_of_another_motor_keeps_the_chosen_one(window, panel):
    for wheel in (0, 1):
        window.document.select(references_to("wheel", {wheel}))
        panel.add_steer.click()
    window.document.edit("Drive", lambda d: motor_edits.add_motor(d, "drive", ["middle left"]))
    assert panel.chosen == ("steer", 1)
    heard = listen(window.document)
    row_of(panel, "front left").box.click()
    assert [motor.name for motor in window.document.design.steer_motors] == ["steer motor 2"]
    assert panel.chosen == ("steer", 0)
    assert panel.editor.name.text() == "steer motor 2"
    assert "steer motor 1 held no other wheel" in heard[0]


def test_ticking_makes_a_free_wheel_driven(window, driving):
    window.document.edit("Free", lambda d: edits.change_wheels(d, [3], driven=False))
    row = row_of(driving, "middle right")
    assert row.note.text() == "rolls free; ticking makes it driven"
    row.box.click()
    assert window.document.design.wheels[3].driven


def test_gearing_is_typed_as_a_ratio_or_as_teeth(window, steered):
    field = row_of(steered, "rear left").gearing
    enter(field, "-0,5")
    assert window.document.design.steer_motors[0].wheels[1].turns == -0.5
    enter(field, "12-20-36, 10-40")
    gearing = window.document.design.steer_motors[0].wheels[1]
    assert (gearing.ratio, gearing.train) == (None, ((12, 20, 36), (10, 40)))
    assert field.text() == "12-20-36, 10-40"
    assert shown(steered)[0][2] == "front left × 1, rear left × (12-20-36, 10-40)"
    window.action["undo"].trigger()
    enter(field, "1:3")
    assert window.document.design.steer_motors[0].wheels[1].turns == pytest.approx(1 / 3)
    assert field.text() == "1:3"


@pytest.mark.parametrize(
    ("text", "words"), [("0", "must not be 0"), ("12-0", "a gear has teeth"), ("12-x", "no chain of gears")]
)
def test_a_gearing_that_cannot_be_is_marked_and_told(window, steered, text, words):
    heard = listen(window.document)
    before = window.document.design
    field = row_of(steered, "rear left").gearing
    enter(field, text)
    assert words in field.reason.text()
    assert field.reason.isVisible()
    assert heard == []
    assert "border" in field.styleSheet()
    assert window.document.design == before
    enter(field, "-2")
    assert field.styleSheet() == ""
    assert window.document.design.steer_motors[0].wheels[1].turns == -2.0


def test_arrow_keys_step_a_ratio_and_leave_teeth_alone(window, steered):
    field = row_of(steered, "front left").gearing
    field.setFocus()
    QTest.keyClick(field, Key.Key_Up)
    assert window.document.design.steer_motors[0].wheels[0].turns == pytest.approx(1.1)
    enter(field, "12-36")
    QTest.keyClick(field, Key.Key_Up)
    assert window.document.design.steer_motors[0].wheels[0].train == ((12, 36),)


def test_teeth_that_were_refused_are_forgotten(window, steered):
    field = row_of(steered, "front left").gearing
    enter(field, "12-0")
    QTest.keyClick(field, Key.Key_Escape)
    QTest.keyClick(field, Key.Key_Up)
    assert window.document.design.steer_motors[0].wheels[0].turns == pytest.approx(1.1)


def test_results_of_a_steer_motor_follow_its_gearing(window, steered):
    steered.editor.ask("step_deg", 0.2)
    steered.editor.ask("backlash_deg", 1.0)
    steered.editor.ask("travel_max_deg", 40.0)
    enter(row_of(steered, "rear left").gearing, "-0.5")
    # The wheels themselves turn 135 degrees either way.
    assert row_of(steered, "front left").more.text() == "turns -135.0° to 40.0°, steps of 0.2°, play 1°"
    assert row_of(steered, "rear left").more.text() == "turns -20.0° to 67.5°, steps of 0.1°, play 0.5°"


def test_a_wheel_of_a_shared_steer_motor_says_how_far_it_is_off_and_what_would_suit(window, steered):
    window.document.set_turn(0.3)
    assert results(steered, "front left") == ["0.0°", "1"]
    assert results(steered, "rear left") == ["0.0°", "-1"]
    enter(row_of(steered, "rear left").gearing, "-0.5")
    off = float(results(steered, "rear left")[0].rstrip("°"))
    ideal = abs(window.document.view.response.ideal.steer[0, 4] - window.document.view.solution.steer[0, 4])
    assert off == pytest.approx(math.degrees(ideal), abs=0.051)
    assert off > 5
    assert results(steered, "rear left")[1] == "-1"
    window.document.set_turn(0.0)
    assert results(steered, "rear left") == ["0.0°", "–"]


# The menu ---------------------------------------------------------------------------------


def test_the_menu_adds_motors_and_shows_the_panel(window):
    window.action["add_steer_motor"].trigger()
    QApplication.processEvents()
    assert window.panels["motors"].isVisible()
    window.action["add_drive_motor"].trigger()
    assert [row[0] for row in shown(window.panels["motors"])] == ["steer motor 1", "drive motor 1"]


def test_the_advice_taken_is_one_step(window, steered, answers):
    groups = [[("front left", 1.0), ("rear right", 0.5)], [("front right", 1.0), ("rear left", 1.0)]]
    answers.give("ask_advice", groups)
    before = window.document.design
    steered.suggest.click()
    assert window.document.undo_stack.undoText() == "Share 2 steer motors"
    assert [
        [(g.wheel, g.turns) for g in motor.wheels] for motor in window.document.design.steer_motors
    ] == groups
    window.action["undo"].trigger()
    assert window.document.design == before


def test_advice_that_is_not_taken_changes_nothing(window, answers):
    answers.give("ask_advice", None)
    window.action["suggest"].trigger()
    assert window.document.undo_stack.count() == 0
