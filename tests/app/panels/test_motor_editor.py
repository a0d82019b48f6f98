"""The editor of one motor: its properties, and what it does at the turn shown."""

import re

import pytest
from PySide6.QtWidgets import QApplication

from app.design.references import references_to
from tests.motored import enter, results
from tests.windows import listen

STEER_FIELDS = {
    "zero_deg": ("12,5°", 12.5),
    "travel_min_deg": ("-90", -90.0),
    "travel_max_deg": ("95 deg", 95.0),
    "backlash_deg": ("0.5", 0.5),
    "step_deg": ("0,09", 0.09),
    "top_speed_deg_s": ("250", 250.0),
    "counts_per_turn": ("2000", 2000.0),
    "neutral_us": ("1520", 1520.0),
    "us_per_90_deg": ("900", 900.0),
}
DRIVE_FIELDS = {
    "no_load_rpm": ("300", 300.0),
    "usable_rpm": ("120,5", 120.5),
    "units_per_turn": ("1440", 1440.0),
}


# Properties -------------------------------------------------------------------------------


@pytest.mark.parametrize("key", STEER_FIELDS)
def test_each_field_of_a_steer_motor_shows_and_asks(window, steered, key):
    text, value = STEER_FIELDS[key]
    unit = {"counts_per_turn": "counts", "neutral_us": "microseconds", "us_per_90_deg": "microseconds"}
    steered.editor.ask("unit", unit.get(key, "degrees"))
    field = steered.editor.steer.fields[key]
    assert field.isVisible()
    before = getattr(window.document.design.steer_motors[0], key)
    assert field.value == before != value
    enter(field, text)
    assert getattr(window.document.design.steer_motors[0], key) == value
    assert field.value == value
    window.action["undo"].trigger()
    assert field.value == before


@pytest.mark.parametrize("key", DRIVE_FIELDS)
def test_each_field_of_a_drive_motor_shows_and_asks(window, driving, key):
    text, value = DRIVE_FIELDS[key]
    driving.editor.ask("units_per_turn", 100.0)
    field = driving.editor.drive.fields[key]
    assert field.isVisible()
    enter(field, text)
    assert getattr(window.document.design.drive_motors[0], key) == value
    assert field.value == value


def test_every_field_says_its_range(steered):
    fields = [*steered.editor.steer.fields.values(), *steered.editor.drive.fields.values()]
    assert [f.name for f in fields if not re.search("[0-9] to|[0-9] turns a minute to", f.toolTip())] == []
    assert all(field.accessibleName() == field.name for field in fields)


def test_only_the_numbers_of_the_unit_that_is_told_are_shown(steered):
    fields = steered.editor.steer.fields
    for index, visible in enumerate([set(), {"counts_per_turn"}, {"neutral_us", "us_per_90_deg"}]):
        steered.editor.unit.setCurrentIndex(index)
        steered.editor.unit.activated.emit(index)
        found = {k for k in ("counts_per_turn", "neutral_us", "us_per_90_deg") if fields[k].isVisible()}
        assert found == visible


def test_a_refused_property_names_its_place_and_changes_nothing(window, steered):
    heard = listen(window.document)
    field = steered.editor.steer.fields["travel_max_deg"]
    enter(field, "-200")
    assert "steer motor 1, highest travel must be above the lowest travel" in field.reason.text()
    assert heard == []
    assert "border" in field.styleSheet()
    assert window.document.design.steer_motors[0].travel_max_deg == 180.0


def test_what_was_refused_for_one_motor_is_not_shown_for_the_next_in_its_place(window, steered):
    field = steered.editor.steer.fields["backlash_deg"]
    enter(field, "99")
    assert "steer motor 1, backlash" in field.reason.text()
    steered.remove.click()
    assert steered.editor.name.text() == "steer motor 2"
    assert field.text() != "99"
    assert not field.reason.isVisible()


def test_direction_and_own_unit_are_check_boxes(window, driving):
    driving.editor.drive.reversed.click()
    assert window.document.design.drive_motors[0].reversed
    driving.editor.own.click()
    assert window.document.design.drive_motors[0].units_per_turn == 360.0
    driving.editor.own.click()
    assert window.document.design.drive_motors[0].units_per_turn is None
    assert not driving.editor.drive.fields["units_per_turn"].isVisible()
    window.document.select(())
    driving.add_steer.click()
    driving.editor.steer.reversed.click()
    assert window.document.design.steer_motors[0].reversed


# What it does at this turn ----------------------------------------------------------------


def test_the_shaft_is_shown_as_its_controller_is_told(window, steered):
    window.document.set_turn(0.0)
    steered.editor.ask("zero_deg", 90.0)
    assert "reading 90°." in steered.editor.now.text()
    steered.editor.ask("unit", "microseconds")
    assert "told 2500 microseconds" in steered.editor.now.text()
    window.document.set_turn(0.3)
    assert "told 2500 microseconds" not in steered.editor.now.text()


def test_the_end_of_travel_is_said(window, steered):
    steered.editor.ask("travel_max_deg", 5.0)
    window.document.set_turn(0.3)
    assert "the end of its travel" in steered.editor.now.text()


def test_speed_limits_follow_turn_and_unit(window, driving):
    window.document.set_turn(0.0)
    # 150 turns a minute of a wheel of 60 mm: pi * 60 * 2.5 = 471.2 mm/s.
    assert driving.editor.now.text().count("0.471 m/s") == 2
    assert "sets that limit" in driving.editor.now.text()
    window.action["inch"].trigger()
    assert driving.editor.now.text().count("18.6 in/s") == 2


def test_use_makes_the_slip_vanish_at_this_turn_in_one_step(window, driving):
    window.document.set_turn(0.3)
    slips = [float(results(driving, name)[0]) for name in ("front left", "middle left")]
    assert slips[0] < -50 < 50 < slips[1]
    steps = window.document.undo_stack.count()
    driving.editor.use.click()
    assert window.document.undo_stack.count() == steps + 1
    for name in ("front left", "middle left", "rear left"):
        assert results(driving, name)[0] == "0.0"
    # The middle wheel is nearer to the turn centre: 160 by 207.4 mm.
    suits = window.document.design.drive_motors[0].wheels[1].turns
    assert suits == pytest.approx(160 / 207.4, abs=1e-3)
    window.document.set_turn(0.0)
    assert results(driving, "middle left")[0] != "0.0"
    window.action["undo"].trigger()
    assert window.document.design.drive_motors[0].wheels[1].turns == 1.0


def test_gearing_for_a_wheel_that_stands_is_not_offered(window, driving):
    window.document.set_turn(0.5)  # about the left middle wheel
    assert results(driving, "middle left")[1] == "–"
    driving.editor.use.click()
    assert window.document.design.drive_motors[0].wheels[1].turns == 1.0


def test_a_motor_with_one_wheel_has_nothing_to_suit(window, panel):
    window.document.select(references_to("wheel", {2}))
    panel.add_drive.click()
    assert not panel.editor.use.isVisible()


def test_a_field_of_a_motor_that_is_gone_while_the_panel_rests_changes_nothing(window, steered):
    window.go_to("wheel")
    QApplication.processEvents()
    window.document.edit("Bare", lambda d: d.edited(steer_motors=(), drive_motors=()))
    before = window.document.design
    enter(steered.editor.steer.fields["backlash_deg"], "2")
    assert window.document.design is before
