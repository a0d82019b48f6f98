from __future__ import annotations

import numpy as np
import pytest

from geometry.axes import Floats
from geometry.kinematics.alignment import alignment_of
from geometry.kinematics.as_built import AsBuilt, as_built, motor_arrays
from geometry.kinematics.motion import from_turn
from geometry.kinematics.robot import robot_of
from geometry.model.base_axle import base_of
from geometry.model.design import Design
from geometry.model.wheel_arrays import wheel_arrays
from geometry.turn_range.refinement import refined_turns
from geometry.turn_range.sweep import turns_between
from tests.geometry.motored_six import PAIR, four_motors


def built_of(design: Design, turn: Floats) -> AsBuilt:
    wheels = wheel_arrays(design)
    return as_built(wheels, motor_arrays(design, wheels), from_turn(turn, base_of(design)))


def closer_of(design: Design, turn: Floats) -> Floats:
    robot = robot_of(design)
    return refined_turns(robot, turn, robot.at(from_turn(turn, robot.base)))


def worst_slip(design: Design, turn: Floats) -> float:
    found = alignment_of(wheel_arrays(design), built_of(design, turn).solution)
    return float(np.abs(np.where(found.pivots, 0.0, found.slip)).max())


def test_a_motion_that_turns_round_between_two_turns_is_looked_at_closer() -> None:
    even = turns_between(-1.0, 1.0, 2001)
    assert worst_slip(PAIR, even) < np.radians(0.5)
    closer = closer_of(PAIR, even)
    finest = np.linspace(0.822, 0.824, 200_001)
    assert worst_slip(PAIR, closer) == pytest.approx(worst_slip(PAIR, finest), abs=0.02)
    assert worst_slip(PAIR, closer) > np.radians(5.0)


def test_closer_turns_lie_between_those_of_the_first_look() -> None:
    even = turns_between(-0.9, 0.9, 1001)
    closer = closer_of(PAIR, even)
    assert len(closer)
    assert not set(closer.tolist()) & set(even.tolist())
    assert even[0] < closer.min() < closer.max() < even[-1]
    assert len(closer) < 2001


def test_where_all_goes_gently_there_is_no_closer_look() -> None:
    assert not closer_of(four_motors(), turns_between(-0.4, 0.4, 2001)).size
    assert not closer_of(Design(), turns_between(-1.0, 1.0, 2001)).size
