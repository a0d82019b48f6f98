"""Drive motors are offered where driven wheels have none: one for each group that rolls alike."""

import pytest

from app.design import edits, motor_edits
from app.design.facts import Facts
from app.design.samples import sample_design
from app.panels.drive_offer import DriveOffer, wanted
from app.picture.motor_facts import MotorFacts
from app.picture.view import Command, View
from geometry.model.design import Design
from tests.windows import KEYS

SIX = sample_design(KEYS[0])


@pytest.fixture
def made(qtbot, make_document):
    document = make_document(SIX)
    offer = DriveOffer(document)
    document.changed.connect(offer.show_view)
    qtbot.addWidget(offer)
    offer.show_view(document.view)
    return document, offer


def test_wheels_that_roll_alike_at_every_turn_are_told(made):
    _document, offer = made
    assert offer.told.text().splitlines() == [
        "With 4 drive motors no driven wheel slips, each at its ideal angle:",
        "D1: front left + rear left",
        "D2: front right + rear right",
        "D3: middle left",
        "D4: middle right",
    ]


def test_taking_it_up_is_one_step_after_which_no_wheel_slips(made):
    document, offer = made
    offer.use.click()
    assert document.undo_stack.undoText() == "Share 4 drive motors"
    assert offer.isHidden()
    for turn in (-0.8, -0.3, 0.1, 0.6):
        facts = MotorFacts(View(Facts(document.design), Command(turn)))
        for index in range(4):
            for wheel in facts.driven_wheels(index).values():
                assert wheel.slip == pytest.approx(0.0, abs=1e-6)
    document.undo()
    assert document.design == SIX
    assert not offer.isHidden()


def test_wheels_of_another_size_or_off_their_place_need_a_motor_of_their_own():
    assert len(motor_edits.wheels_of_one_speed(SIX)) == 4
    larger = edits.change_wheels(SIX, [4], diameter_mm=70.0)
    moved = edits.change_wheels(SIX, [5], x_mm=-100.0)
    free = edits.change_wheels(SIX, [2, 3], driven=False)
    assert [len(motor_edits.wheels_of_one_speed(d)) for d in (larger, moved, free)] == [5, 5, 2]
    assert motor_edits.wheels_of_one_speed(Design()) == ()


@pytest.mark.parametrize(
    ("design", "offered"),
    [
        (SIX, True),
        (Design(), False),
        (edits.change_wheels(SIX, range(6), driven=False), False),
        (motor_edits.add_motor(SIX, "drive", ["front left"]), True),
        (motor_edits.group_driving(SIX, [[wheel.name for wheel in SIX.wheels]]), False),
    ],
)
def test_it_is_offered_where_driven_wheels_have_no_drive_motor(design, offered):
    assert wanted(design) is offered


def test_motors_that_are_there_keep_their_names_and_limits():
    before = motor_edits.add_motor(SIX, "drive", ["front left"])
    before = motor_edits.change_motor(before, "drive", 0, name="bow", usable_rpm=90.0)
    after = motor_edits.group_driving(before, motor_edits.wheels_of_one_speed(before))
    assert after.drive_motors[0].name == "bow"
    assert after.drive_motors[0].usable_rpm == 90.0
    assert [g.turns for motor in after.drive_motors for g in motor.wheels] == [1.0] * 6
