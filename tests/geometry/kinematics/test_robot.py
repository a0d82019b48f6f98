"""The two questions to a robot, against each other and against what is known of them."""

from __future__ import annotations

from dataclasses import fields

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from geometry.axes import Floats
from geometry.kinematics.alignment import FAULTY
from geometry.kinematics.motion import Motion, from_turn
from geometry.kinematics.robot import Response, robot_of
from geometry.model.design import Design
from tests.geometry.motored_six import TURNS, four_motors
from tests.strategies import driven_designs, driven_motored_designs


def settings_of(found: Response) -> tuple[Floats, Floats, Motion]:
    return found.solution.steer, found.drive, found.wanted


def assert_same_motion(found: Response, again: Response) -> None:
    assert np.array_equal(again.motion.twist, found.motion.twist)
    for field in fields(found.solution):
        if field.name not in {"motion", "limited"}:
            ours, theirs = (getattr(one.solution, field.name) for one in (found, again))
            assert np.array_equal(ours, theirs), field.name
    assert np.array_equal(again.drive, found.drive)
    assert np.array_equal(again.mismatch, found.mismatch)


@given(st.one_of(driven_motored_designs(), driven_designs()))
def test_what_is_asked_is_what_its_own_settings_make_to_the_last_bit(case: tuple[Design, Motion]) -> None:
    design, motion = case
    robot = robot_of(design)
    found = robot.at(motion)
    assert_same_motion(found, robot.moved(*settings_of(found)))


def test_many_turns_of_shared_motors_are_what_their_own_settings_make_to_the_last_bit() -> None:
    robot = robot_of(four_motors(0.05, travel=80.0))
    found = robot.at(from_turn(TURNS, robot.base, -1.0))
    again = robot.moved(*settings_of(found))
    assert_same_motion(found, again)
    assert np.abs(again.shaft - found.shaft).max() < 1e-15
    assert np.array_equal(again.stopped, found.stopped)


def test_other_wheel_angles_make_another_motion() -> None:
    robot = robot_of(four_motors())
    found = robot.at(from_turn([0.2], robot.base))
    steer, drive, wanted = settings_of(found)
    front = steer.copy()
    front[:, [0, 1]] += np.radians(5.0)
    moved = robot.moved(front, drive, wanted)
    # The front wheels point further to the left, so that it turns tighter.
    assert moved.motion.twist[0, 2] > found.motion.twist[0, 2] * 1.05
    assert (moved.states >= FAULTY).any()
    faster = robot.moved(steer, 2.0 * drive, wanted)
    assert faster.motion.twist == pytest.approx(2.0 * found.motion.twist, rel=1e-7)


def test_a_drive_motor_that_stands_turns_the_chassis_about_its_side() -> None:
    robot = robot_of(four_motors())
    straight = robot.at(from_turn([0.0], robot.base))
    _, drive, wanted = settings_of(straight)
    about = robot.at(from_turn([0.5], robot.base))
    moved = robot.moved(about.solution.steer, drive * [[0.0, 1.0]], wanted)
    assert moved.centre[0] == pytest.approx(about.centre[0], abs=1e-4)


def test_without_motors_the_chassis_is_led_and_its_wheels_drag_for_it() -> None:
    robot = robot_of(four_motors()).without_motors
    wanted = from_turn([0.3], robot.base)
    crooked = np.zeros((1, len(robot)))
    moved = robot.moved(crooked, np.zeros((1, 0)), wanted)
    assert np.array_equal(moved.motion.twist, wanted.twist)
    ahead = np.flatnonzero(robot.wheels.steered)
    vx, vy = wanted.twist[0, 0] - wanted.twist[0, 2] * robot.wheels.y, wanted.twist[0, 2] * robot.wheels.x
    assert moved.alignment.slip[0, ahead] == pytest.approx(np.arctan2(vy, vx)[ahead], abs=1e-14)


@given(st.one_of(driven_motored_designs(), driven_designs()))
def test_the_picture_and_the_check_judge_alike_but_for_rounding(case: tuple[Design, Motion]) -> None:
    design, motion = case
    found = robot_of(design).at(motion)
    scale = max(1.0, float(np.abs(found.alignment.roll).max(initial=0.0)))
    for name in ("roll", "side"):
        ours, seen = getattr(found.alignment, name), getattr(found.seen, name)
        free = ~(found.alignment.swings | found.seen.swings)
        assert np.abs(ours - seen)[free].max(initial=0.0) <= 1e-12 * scale


def test_centres_that_are_and_are_not_there_have_a_gap() -> None:
    robot = robot_of(four_motors(0.05))
    found = robot.at(from_turn([0.0, 0.3], robot.base))
    assert found.centre_gap[0] == 0.0
    apart = found.centre[1] - found.wanted_centre[1]
    assert found.centre_gap[1] == pytest.approx(np.hypot(*apart), rel=1e-15)
    astray = robot.moved(found.solution.steer[1:], found.drive[1:], from_turn([0.0], robot.base))
    assert astray.centre_gap[0] == np.inf
