"""What is wanted while motors are on their way, from their speeds."""

from __future__ import annotations

import numpy as np
import pytest

from geometry.driving.wanted import wanted_at
from geometry.kinematics.motion import from_turn
from geometry.kinematics.robot import robot_of
from tests.app.scouts import BOTH, DRIVES, LEFT, RIGHT, scout

TURNS = np.linspace(-1.0, 1.0, 41)


@pytest.mark.parametrize("speed", [250.0, -80.0])
def test_motors_that_run_as_the_turn_asks_give_that_turn_at_that_speed(speed: float) -> None:
    robot = robot_of(scout(LEFT, RIGHT, *DRIVES))
    response = robot.at(from_turn(TURNS, robot.base))
    found = wanted_at(robot, response.solution.steer, speed * response.drive, TURNS)
    due = from_turn(TURNS, robot.base, speed)
    np.testing.assert_allclose(found.twist, due.twist, atol=1e-9)
    assert (found.sense == due.sense).all()


def test_motors_at_rest_give_rest_and_one_that_no_turn_needs_is_no_error() -> None:
    robot = robot_of(scout(LEFT, RIGHT, BOTH))
    response = robot.at(from_turn(TURNS, robot.base))
    assert not wanted_at(robot, response.solution.steer, 0.0 * response.drive, TURNS).twist.any()
    found = wanted_at(robot, response.solution.steer, 0.0 * response.drive + 1.0, TURNS).twist
    assert np.isfinite(found).all()
    # On the spot one motor for both sides can do nothing.
    assert not found[0].any()


def test_a_motor_between_two_speeds_counts_by_least_squares() -> None:
    robot = robot_of(scout(LEFT, RIGHT, *DRIVES))
    turn = np.array([0.25])
    response = robot.at(from_turn(turn, robot.base))
    each = response.drive[0]
    actual = np.array([[3.0 * each[0], 1.0 * each[1]]])
    found = wanted_at(robot, response.solution.steer, actual, turn)
    speed = (3.0 * each[0] ** 2 + each[1] ** 2) / (each**2).sum()
    np.testing.assert_allclose(found.twist, from_turn(turn, robot.base, speed).twist, rtol=1e-12)
