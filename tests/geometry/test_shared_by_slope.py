"""Shared motors behind any law: the search by slope against the gears' own search and brute force."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from geometry.kinematics.motion import Motion, from_turn
from geometry.kinematics.robot import Robot, robot_of
from geometry.model.design import Design
from geometry.transmission.steer_law import SteerLaw
from tests.bent import BentLaw, straightened, with_laws
from tests.geometry.kinematics.test_shared_steering import CASES
from tests.geometry.motored_six import TURNS, four_motors
from tests.strategies import motions, motored_designs


@dataclass(frozen=True, eq=False)
class Silent:
    """Gears that do not say that they are."""

    gears: SteerLaw
    ratio: None = None

    def __getattr__(self, name: str) -> object:
        return getattr(self.gears, name)


def hidden(robot: Robot) -> Robot:
    """The same robot, whose gears are searched like any law."""
    return with_laws(robot, {k: Silent(group.law) for k, group in enumerate(robot.motors.steer)})


def squares(robot: Robot, k: int, twist: np.ndarray, shaft: np.ndarray) -> np.ndarray:
    """Load-weighted sum of squared sideways speeds of one motor's wheels at shaft angles (Q,)."""
    group, wheels = robot.motors.steer[k], robot.wheels
    total = np.zeros(len(shaft))
    for n, angle in zip(group.wheels, group.law.angles(shaft).T, strict=True):
        d = angle + wheels.built_in[n]
        qx = wheels.x[n] + wheels.along[n] * np.cos(d) - wheels.across[n] * np.sin(d)
        qy = wheels.y[n] + wheels.along[n] * np.sin(d) + wheels.across[n] * np.cos(d)
        vx, vy = twist[0] - twist[2] * qy, twist[1] + twist[2] * qx
        total += wheels.load[n] * (vy * np.cos(d) - vx * np.sin(d)) ** 2
    return total


@pytest.mark.parametrize("name", CASES)
@pytest.mark.parametrize("speed", [1.0, -1.0])
def test_gears_are_searched_by_slope_to_the_same_angles(name: str, speed: float) -> None:
    robot = robot_of(CASES[name])
    motion = from_turn(TURNS, robot.base, speed)
    own, sought = robot.at(motion), hidden(robot).at(motion)
    other = np.flatnonzero(np.abs(own.shaft[:, 0] - sought.shaft[:, 0]) > 2e-8)
    # Where two angles half a turn apart suit alike, either will do.
    assert len(other) <= 2
    for row in other:
        both = squares(robot, 0, motion.twist[row], np.array([own.shaft[row, 0], sought.shaft[row, 0]]))
        assert both[0] == pytest.approx(both[1], abs=1e-12)
    rest = np.setdiff1d(np.arange(len(motion)), other)
    assert np.array_equal(own.stopped[rest], sought.stopped[rest])


@given(st.data())
def test_no_shaft_angle_in_the_travel_drags_less_behind_a_bent_law(data: st.DataObject) -> None:
    design: Design = data.draw(
        motored_designs(min_wheels=2, max_wheels=5, kinds=("steered", "steered", "fixed"))
    )
    assume(design.steer_motors)
    motion: Motion = data.draw(motions(design))
    bend = data.draw(st.floats(-0.8, 0.8))
    plain = robot_of(design)
    laws = {k: BentLaw(np.asarray(g.law.ratio), bend) for k, g in enumerate(plain.motors.steer)}
    robot = with_laws(plain, laws)
    found = robot.at(motion)
    for k, group in enumerate(robot.motors.steer):
        shaft = found.shaft[0, k]
        assert group.low - 1e-12 <= shaft <= group.high + 1e-12
        every = squares(robot, k, motion.twist[0], np.linspace(group.low, group.high, 4001))
        mine = squares(robot, k, motion.twist[0], np.array([shaft]))[0]
        load = robot.wheels.load[group.wheels]
        vx = motion.twist[0, 0] - motion.twist[0, 2] * robot.wheels.y[group.wheels]
        vy = motion.twist[0, 1] + motion.twist[0, 2] * robot.wheels.x[group.wheels]
        pull = motion.twist[0, 2] * robot.wheels.along[group.wheels]
        size = float(load @ (vx * vx + vy * vy + pull * pull))
        assert mine <= every.min() + (3e-6 + 1e-9) * size


def test_the_bend_of_a_law_counts() -> None:
    robot = robot_of(four_motors())
    law = BentLaw(np.array([1.0, -1.0]), np.array([0.4, -0.4]))
    bent, straight = (with_laws(robot, {0: one}) for one in (law, straightened(law)))
    motion = from_turn([0.3], robot.base)
    # Both corners still stand by equal and opposite angles only where the law is straight.
    assert np.abs(straight.at(motion).solution.side).max() < 1e-9
    assert np.abs(bent.at(motion).solution.side).max() > 1e-3


def test_a_single_wheel_behind_a_bent_law_stands_at_its_ideal_angle() -> None:
    design = CASES["front pair"].edited(
        steer_motors=(
            CASES["front pair"].steer_motors[0].edited(wheels=CASES["front pair"].steer_motors[0].wheels[:1]),
        )
    )
    plain = robot_of(design)
    robot = with_laws(plain, {0: BentLaw(np.array([0.7]))})
    motion = from_turn([-0.4, 0.2, 0.45], plain.base)
    found = robot.at(motion)
    held = robot.motors.steer[0].wheels[0]
    assert found.solution.steer[:, held] == pytest.approx(found.ideal.steer[:, held], abs=1e-12)
    assert np.abs(found.shaft[:, 0] - found.ideal.steer[:, held] / 0.7).max() > 0.01
