"""What an edit does not touch is not worked out again."""

from __future__ import annotations

import pytest

from app.design.facts import _READ_BY_ROBOT, Facts
from app.design.samples import sample_design
from geometry.kinematics.robot import robot_of
from geometry.model.design import Design
from tests.bent import BentLaw, with_laws
from tests.unpacked import unpacked

SCOUT = sample_design("marsh_scout_motors")
BODY = ((0.0, 0.0), (90.0, 0.0), (0.0, 90.0))


def wider(design: Design) -> Design:
    return design.edited(wheels=(design.wheels[0].edited(width_mm=31.0), *design.wheels[1:]))


@pytest.mark.parametrize(
    "changes", [{"notes": "for the creek"}, {"name": "other"}, {"body_mm": BODY}, {"hole_pitch_mm": 4.0}]
)
def test_an_edit_that_moves_nothing_keeps_robot_and_check(changes: dict[str, object]) -> None:
    before = Facts(SCOUT)
    dense = before.check.dense
    after = Facts(SCOUT.edited(**changes), like=before)
    assert after.robot is before.robot
    assert after.check is before.check
    assert after.check.dense is dense


def test_another_range_keeps_the_robot_alone() -> None:
    before = Facts(SCOUT)
    after = Facts(SCOUT.edited(largest_turn=0.5), like=before)
    assert after.robot is before.robot
    assert after.check is not before.check
    assert after.check.largest_turn == 0.5


def test_a_preview_looks_at_fewer_turns_with_the_same_robot() -> None:
    before = Facts(SCOUT)
    after = Facts(SCOUT, previewing=True, like=before)
    assert after.robot is before.robot
    assert after.check.rows < before.check.rows


@pytest.mark.parametrize(
    "after",
    [
        wider(SCOUT),
        SCOUT.edited(base_axle_x_mm=3.0),
        unpacked(SCOUT).edited(steer_motors=SCOUT.steer_motors[:1]),
        unpacked(SCOUT).edited(drive_motors=()),
        SCOUT.edited(aligned_within_deg=0.1),
        SCOUT.edited(slight_drag_within_deg=9.0),
    ],
)
def test_an_edit_of_what_the_robot_is_made_from_makes_another(after: Design) -> None:
    before = Facts(SCOUT)
    found = Facts(after, like=before)
    assert found.robot is not before.robot
    fresh = robot_of(after)
    assert found.robot.aligned_within == fresh.aligned_within
    assert found.robot.base == fresh.base


def test_a_robot_that_is_handed_in_is_used() -> None:
    bent = with_laws(robot_of(SCOUT), {0: BentLaw(robot_of(SCOUT).motors.steer[0].law.ratio)})
    found = Facts(SCOUT, robot=bent)
    assert found.robot is bent
    assert found.check.robot is bent


def test_every_key_of_a_design_is_known_to_be_read_or_not() -> None:
    aside = {"name", "notes", "body_mm", "hole_pitch_mm", "largest_turn", "controller"}
    aside |= {"packaging", "driving"}
    assert aside | set(_READ_BY_ROBOT) == set(Design.model_fields)
    assert not aside & set(_READ_BY_ROBOT)
