"""Every cause that the verdict can name, on a chassis that has just that one; its remedy carried out."""

from __future__ import annotations

import pytest

from app.design.edits import change_wheels
from app.design.samples import sample_design
from app.words.remedies import remedy_words
from geometry.kinematics.alignment import CALM
from geometry.turn_range.causes import AxlesApart, Cause, OtherWheels, SharedAngle, SharedDrive, WheelAtEnd
from geometry.turn_range.range_check import WheelAtTurn
from tests.app.checked import Checked
from tests.app.faulty import TOLD, Told, on_one_motor, steered
from tests.app.mended import mended
from tests.app.scouts import FRONT, drive_motor, scout


def asked(told: Told) -> tuple[Checked, WheelAtTurn]:
    check = Checked(told.design())
    return check, check.at([told.turn]).wheel_at(0, told.wheel)


@pytest.mark.parametrize("name", TOLD)
def test_a_chassis_with_one_fault_is_told_that_fault(name: str) -> None:
    check, case = asked(TOLD[name])
    assert case.state not in CALM
    assert check.remedy(case) == TOLD[name].words


@pytest.mark.parametrize("name", TOLD)
def test_the_remedy_that_is_told_leaves_the_wheel_aligned(name: str) -> None:
    check, case = asked(TOLD[name])
    after = (
        Checked(mended(check.design, check.cause(case), case.turn)).at([case.turn]).wheel_at(0, case.wheel)
    )
    assert after.state == "aligned"


PULLED = (
    "others pull a wheel without a motor",
    "others pull a wheel on its own motor",
    "others pull a wheel on an exact motor",
    "one gear of a shared motor pulls a fixed wheel",
    "a fixed wheel askew pulls its mate",
)


@pytest.mark.parametrize("name", PULLED)
def test_mending_the_one_that_pulls_is_enough(name: str) -> None:
    check, case = asked(TOLD[name])
    (part,) = check.cause(case).parts
    assert isinstance(part, OtherWheels)
    assert part.source is not None
    assert part.source.wheel in part.wheels
    after = Checked(mended(check.design, part.source, case.turn)).at([case.turn])
    assert after.wheel_at(0, case.wheel).state == "aligned"


# Chassis that differ by little, with unlike causes.
NEIGHBOURS = (
    ("travel of the wheel", "travel of the wheel, and then of its motor"),
    ("toe", "toe that brings a contact to a base axle chosen elsewhere"),
    ("opposite senses", "one speed for three, and opposite senses"),
    ("trail", "travel of the wheel"),
    ("travel of the wheel", "travel of its motor"),
    ("travel of its motor", "travel of its mate"),
    ("travel of its mate", "one angle for two"),
    ("one angle for two of unlike load", "one angle, and its own end"),
    ("one angle for two", "others pull a wheel on an exact motor"),
    ("one angle for two", "one speed for three"),
    ("one speed for three", "opposite senses"),
    ("opposite senses", "unlike gearing"),
    ("unlike gearing", "one speed for three others"),
    ("others pull a wheel without a motor", "others pull a wheel on its own motor"),
    ("others pull a wheel on its own motor", "others pull a wheel on an exact motor"),
    ("one gear of a shared motor pulls a fixed wheel", "a fixed wheel askew pulls its mate"),
    (
        "one gear of a shared motor pulls a fixed wheel",
        "a motor and a wheel pull, and neither alone is enough",
    ),
    ("toe", "toe moves a contact"),
    ("toe moves a contact", "axles apart"),
    ("toe moves a contact", "toe of all"),
    ("axles apart", "a base axle chosen elsewhere"),
    ("axles apart beside a chosen base", "a base axle chosen elsewhere"),
    ("a base axle chosen elsewhere", "a base axle chosen elsewhere, and toe"),
)


def kinds(cause: Cause) -> set[tuple[object, ...]]:
    """What is at fault, without the names and numbers of the chassis."""
    found = set()
    for part in cause.parts:
        more: tuple[object, ...] = ()
        if isinstance(part, AxlesApart):
            more = (part.sort, cause.wheel in part.toed)
        elif isinstance(part, SharedDrive):
            more = (part.sort, cause.wheel in part.wheels)
        elif isinstance(part, OtherWheels):
            source = () if part.source is None else tuple(type(fault) for fault in part.source.parts)
            more = (part.motor is None, part.alone, source)
        found.add((type(part), *more))
    return found


@pytest.mark.parametrize(("one", "other"), NEIGHBOURS)
def test_a_neighbour_with_another_fault_is_told_another_cause(one: str, other: str) -> None:
    (check, case), (beside, there) = asked(TOLD[one]), asked(TOLD[other])
    assert kinds(check.cause(case)) != kinds(beside.cause(there))


def test_every_chassis_has_a_neighbour() -> None:
    paired = {name for pair in NEIGHBOURS for name in pair}
    assert {name for name in TOLD if name not in paired} == {
        "toe moves a contact by a trail too",
        "a base axle chosen elsewhere, and a toe that hides it",
    }


def test_a_drive_motor_is_not_blamed_where_its_wheels_do_not_turn_the_chassis_aside() -> None:
    # The front motor's one angle is at fault; the drive motor holds wheels of like speed.
    design = scout(FRONT, drive_motor("D", {"front left": 1.0, "rear left": 1.0}))
    check = Checked(design)
    case = check.at([0.2]).wheel_at(0, 0)
    assert check.remedy(case).startswith("Its motor, front, also turns front right, and no one angle")
    assert "drive motor" not in check.remedy(case)


def test_two_faults_of_which_neither_is_enough_are_told_together_and_mended_together() -> None:
    held = {"front left": 1.0, "middle right": 1.0, "rear left": 1.0}
    check = Checked(scout(FRONT, drive_motor("D", held)))
    case = check.at([0.3]).wheel_at(0, 0)
    cause = check.cause(case)
    assert len(cause.parts) == 2
    assert check.remedy(case) == (
        "Its motor, front, also turns front right, and no one angle suits them all: "
        "share or gear them otherwise. That alone is not enough: its drive motor, D, also drives "
        "middle right, rear left, and no one speed suits them all, which pulls the chassis aside: "
        "give each a drive motor of its own."
    )
    assert Checked(mended(check.design, cause, case.turn)).at([case.turn]).wheel_at(0, 0).state == "aligned"
    for part in cause.parts:
        one = type(cause)(cause.wheel, (part,))
        left = Checked(mended(check.design, one, case.turn)).at([case.turn]).wheel_at(0, 0)
        assert left.state not in CALM


def test_fixed_wheels_one_behind_the_other_can_only_be_mended_by_steering() -> None:
    design = sample_design("dyke_hauler_eight")
    check = Checked(design)
    assert check.worst is not None
    assert check.remedy(check.worst).endswith("bring them to one x, or let some steer.")
    free = {"kind": "steered", "travel_min_deg": -180.0, "travel_max_deg": 180.0}
    pinned = design.edited(base_axle_x_mm=check.robot.base.x)
    after = Checked(change_wheels(pinned, [check.worst.wheel], **free)).at([check.worst.turn])
    assert after.wheel_at(0, check.worst.wheel).state == "aligned"


def test_setting_the_lateral_offset_to_zero_is_the_other_remedy_for_a_toe_that_moves_a_contact() -> None:
    check, case = asked(TOLD["toe moves a contact"])
    plain = change_wheels(check.design, [1], lateral_offset_mm=0.0)
    assert Checked(plain).at([case.turn]).wheel_at(0, case.wheel).state == "aligned"
    check, case = asked(TOLD["toe moves a contact by a trail too"])
    short = change_wheels(check.design, [1], lateral_offset_mm=0.0, toe_deg=45.0)
    assert Checked(short).at([case.turn]).wheel_at(0, case.wheel).state not in CALM


def test_a_wheel_that_is_in_order_is_told_no_cause() -> None:
    check = Checked(scout(FRONT))
    case = check.at([0.0]).wheel_at(0, 0)
    assert case.state in CALM
    assert check.cause(case).parts == ()
    assert remedy_words(check.design, check.cause(case)) == "No part of the chassis puts it off."


def test_more_turn_is_told_last_where_several_faults_are() -> None:
    check = Checked(on_one_motor(steered("A", 150.0, 100.0, 17.3), steered("B", 150.0, -100.0, 17.3)))
    cause = check.cause(check.worst_of_wheels[2])
    assert {type(part) for part in cause.parts} >= {SharedAngle, WheelAtEnd}
    assert check.remedy(check.worst_of_wheels[2]).rstrip(".").endswith(f"at most {cause.largest_turn:g}")
