"""A bent steer law and a bent scale through all that shows or writes them.

No file can hold either yet; the tests hand the robot in. Each holds the bent one against an
oracle of its own, and finds another answer where the law or the scale is straightened.
"""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from pathlib import Path

import numpy as np
import pytest
from scipy.optimize import minimize_scalar

from app.controller.code_outputs import error_at_wheel_deg
from app.controller.export_error import ExportError
from app.controller.programme import Programme, programme_of
from app.controller.steering_table import table_of
from app.design.facts import Facts
from app.design.samples import sample_design
from app.picture.motor_facts import MotorFacts
from app.picture.view import Command, View
from app.working.wheel_working import working_text
from geometry.kinematics.motion import from_turn
from geometry.kinematics.robot import Robot, robot_of
from geometry.kinematics.shared_steering import SteerGroup
from geometry.motor_sharing.advice import advise
from geometry.turn_range.range_check import RangeCheck
from tests.bent import BentLaw, BentScale, straightened, with_laws
from tests.whole.test_micropython import played

UNIT = {"unit": "microseconds"}
PLAIN = sample_design("marsh_scout_motors")
PLAIN = PLAIN.edited(steer_motors=tuple(motor.edited(**UNIT) for motor in PLAIN.steer_motors))
TURNS = np.linspace(-1.0, 1.0, 41)


def laws(bend: tuple[float, float] = (0.3, -0.2)) -> dict[int, BentLaw]:
    """Each motor's first wheel bent one way, its second the other."""
    groups = robot_of(PLAIN).motors.steer
    return {k: BentLaw(np.asarray(group.law.ratio), np.array(bend)) for k, group in enumerate(groups)}


def scales(curve: float = 0.002) -> dict[int, BentScale]:
    found = {}
    for k, scale in enumerate(robot_of(PLAIN).motors.scales):
        found[k] = BentScale(scale.ends, curve=curve)
    return found


BENT = with_laws(robot_of(PLAIN), laws(), scales())
STRAIGHT_LAW = with_laws(robot_of(PLAIN), {k: straightened(law) for k, law in laws().items()}, scales())
STRAIGHT_SCALE = with_laws(robot_of(PLAIN), laws(), scales(curve=1e-12))


def oracle(robot: Robot, turn: float) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Shaft angles (K,), steer angles (N,) and twist (3,) by brute force and NumPy's least squares."""
    wheels, base = robot.wheels, robot.base
    omega = turn / base.half_track
    wanted = np.array([1.0 - abs(turn) + omega * base.middle, -omega * base.x, omega])
    steer, shafts = np.zeros(len(wheels)), []
    for group in robot.motors.steer:

        def squares(q: np.ndarray, group: SteerGroup = group) -> np.ndarray:
            total = np.zeros(np.shape(q))
            for n, angle in zip(group.wheels, np.moveaxis(group.law.angles(q), -1, 0), strict=True):
                vx, vy = wanted[0] - wanted[2] * wheels.y[n], wanted[1] + wanted[2] * wheels.x[n]
                total = total + wheels.load[n] * (vy * np.cos(angle) - vx * np.sin(angle)) ** 2
            return total

        grid = np.linspace(group.low, group.high, 2001)
        best = grid[int(squares(grid).argmin())]
        step = grid[1] - grid[0]
        ends = max(best - step, group.low), min(best + step, group.high)
        found = minimize_scalar(
            lambda q: float(squares(np.array(q))), bounds=ends, method="bounded", options={"xatol": 1e-13}
        )
        shafts.append(float(found.x))
        steer[group.wheels] = group.law.angles(np.array(found.x))
    rows, right = [], []
    for n in range(len(wheels)):
        c, s, x, y = np.cos(steer[n]), np.sin(steer[n]), wheels.x[n], wheels.y[n]
        root = np.sqrt(wheels.load[n])
        rows.append(root * np.array([-s, c, (x * c + y * s) / 100.0]))
        right.append(0.0)
        if robot.motors.driven[n]:
            rolling = np.array([c, s, (x * s - y * c) / 100.0])
            rows.append(root * rolling)
            right.append(root * float(rolling @ (wanted * [1.0, 1.0, 100.0])))
    twist = np.linalg.lstsq(np.array(rows), np.array(right), rcond=None)[0] / [1.0, 1.0, 100.0]
    return np.array(shafts), steer, twist


@pytest.mark.parametrize("turn", [-0.7, -0.2, 0.0, 0.35, 0.6])
def test_a_bent_robot_stands_and_moves_as_brute_force_finds(turn: float) -> None:
    shafts, steer, twist = oracle(BENT, turn)
    found = BENT.at(from_turn([turn], BENT.base))
    assert found.shaft[0] == pytest.approx(shafts, abs=2e-7)
    assert found.solution.steer[0] == pytest.approx(steer, abs=2e-7)
    assert found.motion.twist[0] * [1.0, 1.0, 100.0] == pytest.approx(twist * [1.0, 1.0, 100.0], abs=1e-6)
    other = STRAIGHT_LAW.at(from_turn([turn], BENT.base))
    assert turn == 0.0 or np.abs(other.solution.steer[0] - steer).max() > 1e-3


def test_the_check_finds_a_bent_transmission_out() -> None:
    bent, straight = (RangeCheck(robot, 1.0) for robot in (BENT, STRAIGHT_LAW))
    assert straight.aligned
    assert not bent.aligned
    assert bent.worst is not None
    _, steer, twist = oracle(BENT, bent.worst.turn)
    n, wheels = bent.worst.wheel, BENT.wheels
    vx, vy = twist[0] - twist[2] * wheels.y[n], twist[1] + twist[2] * wheels.x[n]
    side = vy * np.cos(steer[n]) - vx * np.sin(steer[n])
    roll = vx * np.cos(steer[n]) + vy * np.sin(steer[n])
    assert abs(bent.worst.slip) == pytest.approx(abs(np.arctan2(side, abs(roll))), abs=1e-5)


def test_landmarks_are_where_the_travel_of_a_bent_motor_ends() -> None:
    short = {k: replace(law, reach=0.5) for k, law in laws().items()}
    robot = with_laws(robot_of(PLAIN), short, scales())
    ends = [mark for mark in RangeCheck(robot, 1.0).landmarks if mark.kind == "travel end"]
    assert ends
    for mark in ends:
        assert mark.wheel is not None
        k = next(k for k, group in enumerate(robot.motors.steer) if mark.wheel in group.wheels)
        inside, beyond = (oracle(robot, mark.turn * share)[0][k] for share in (0.999, 1.001))
        assert abs(inside) < 0.5 - 1e-9
        assert abs(beyond) == pytest.approx(0.5, abs=1e-6)
    straight = with_laws(robot_of(PLAIN), {k: straightened(law) for k, law in short.items()}, scales())
    others = {mark.turn for mark in RangeCheck(straight, 1.0).landmarks if mark.kind == "travel end"}
    assert not {round(mark.turn, 6) for mark in ends} & {round(turn, 6) for turn in others}


def test_the_table_has_the_angles_and_what_the_bent_scale_tells() -> None:
    found, other = (table_of(PLAIN, [0.3, -0.6], robot) for robot in (BENT, STRAIGHT_SCALE))
    columns = dict(zip(found.columns, found.values.T, strict=True))
    straight = dict(zip(other.columns, other.values.T, strict=True))
    for row, turn in enumerate((0.3, -0.6)):
        shafts, steer, _ = oracle(BENT, turn)
        for n, wheel in enumerate(PLAIN.wheels):
            if wheel.kind == "steered":
                angle = columns[f"{wheel.name.replace(' ', '_')}_steer_deg"][row]
                assert angle == pytest.approx(np.degrees(steer[n]), abs=1e-5)
        told = [name for name in found.columns if name.endswith("_us")]
        assert len(told) == len(shafts)
        for name, shaft in zip(told, shafts, strict=True):
            q = np.degrees(shaft)
            assert columns[name][row] == pytest.approx(1_500.0 + 10.0 * (q + 0.001 * q * q), abs=1e-3)
            assert abs(columns[name][row] - straight[name][row]) > 0.1


def view_of(robot: Robot, turn: float) -> View:
    return View(Facts(PLAIN, robot=robot), Command(turn))


def test_the_working_claims_no_ratio_and_tells_the_true_numbers() -> None:
    held = int(BENT.motors.steer[0].wheels[0])
    text = working_text(view_of(BENT, 0.3), held)
    shafts, steer, _ = oracle(BENT, 0.3)
    assert "n theta" not in text
    assert "f(theta)" in text
    for number in (np.degrees(shafts[0]), np.degrees(steer[held])):
        assert f"{number:.2f}"[:-1].replace("-", "") in text.replace("−", "")
    told = float(BENT.motors.scales[0].command(np.array(shafts[0])))
    assert f"{told:.1f}"[:-1] in text
    assert "n theta" in working_text(view_of(STRAIGHT_LAW, 0.3), held)


def test_the_motors_panel_tells_travel_step_and_play_at_this_turn() -> None:
    facts = MotorFacts(view_of(BENT, 0.3))
    shafts, _, _ = oracle(BENT, 0.3)
    motor, group = PLAIN.steer_motors[0], BENT.motors.steer[0]
    assert facts.steer_now(0).shaft == pytest.approx(np.degrees(shafts[0]), abs=1e-5)
    assert facts.steer_now(0).command == pytest.approx(
        float(BENT.motors.scales[0].command(np.array(shafts[0]))), abs=1e-3
    )
    near = (group.law.angles(shafts[:1] + 1e-6) - group.law.angles(shafts[:1] - 1e-6))[0] / 2e-6
    for g, gearing in enumerate(motor.wheels):
        wheel = facts.steered_wheels(0)[gearing.wheel]
        assert wheel.play == pytest.approx(motor.backlash_deg * abs(near[g]), rel=1e-4)
        ends = np.degrees(group.law.angles(np.array([group.low, group.high]))[:, g])
        assert (wheel.low, wheel.high) == pytest.approx((ends.min(), ends.max()))


@lru_cache
def programme(robot: Robot, **changes: object) -> Programme:
    controller = PLAIN.controller.edited(**changes)
    return programme_of(PLAIN.edited(controller=controller), robot=robot)


@pytest.mark.parametrize("runner", ["micropython", "python"])
def test_the_written_module_turns_the_wheels_where_the_bent_robot_wants_them(
    tmp_path: Path, runner: str
) -> None:
    asked = programme(BENT, limiter=False, hold=False)
    steps = [round(turn * asked.turn_one) for turn in TURNS.tolist()]
    flat = [("at", step, 0, 20, None) for step in steps]
    answers = played(tmp_path, runner, [asked], [flat])[0]
    worst = 0.0
    for turn, answer in zip(TURNS, answers, strict=True):
        for k, group in enumerate(BENT.motors.steer):
            shaft = BENT.motors.scales[k].shaft(np.array(float(answer[k])))
            wanted = BENT.at(from_turn([turn], BENT.base)).solution.steer[0, group.wheels]
            off = np.degrees(np.abs(group.law.angles(shaft) - wanted).max())
            worst = max(worst, float(off))
    assert len(answers) == len(steps)
    assert worst <= asked.bound_deg * 1.001 + 1e-6
    assert worst <= error_at_wheel_deg(asked.controller) * 1.001


def test_no_degree_at_a_wheel_is_told_by_less_than_the_code_takes_for_one() -> None:
    for k, output in enumerate(programme(BENT).steer):
        group, scale = BENT.motors.steer[k], BENT.motors.scales[k]
        shaft = np.linspace(group.low, group.high, 4001)
        told = np.abs(np.diff(scale.command(shaft)))
        turned = np.degrees(np.abs(np.diff(group.law.angles(shaft), axis=0)).max(axis=1))
        degrees = np.degrees(np.diff(shaft))
        # The error allowed, the hold and the rate are never looser anywhere on the travel.
        assert (output.allowed * turned / told).max() <= error_at_wheel_deg(PLAIN.controller) * (1 + 1e-3)
        assert (output.within * turned / told).max() <= PLAIN.controller.hold_within_deg * (1 + 1e-3)
        assert (output.per_second * degrees / told).max() <= PLAIN.steer_motors[k].top_speed_deg_s * (
            1 + 1e-3
        )
        ends = sorted(scale.command(np.array([group.low, group.high])).tolist())
        assert (output.low, output.high) == (int(np.ceil(ends[0] - 1e-6)), int(np.floor(ends[1] + 1e-6)))


def test_the_drive_waits_until_the_wheels_are_near_by_the_bent_map(tmp_path: Path) -> None:
    asked = programme(BENT, limiter=True, hold=True)
    calls = [("drive", 1_000, 1_000, 20, None), *[("drive", 0, 1_000, 20, None)] * 250]
    answers = played(tmp_path, "python", [asked], [calls])[0]
    target = BENT.at(from_turn([0.5], BENT.base)).solution.steer[0]
    waited = 0
    for answer in answers[1:]:
        holding = answer[-1]
        waited += holding
        off = 0.0
        for k, group in enumerate(BENT.motors.steer):
            shaft = BENT.motors.scales[k].shaft(np.array(float(answer[k])))
            off = max(off, float(np.degrees(np.abs(group.law.angles(shaft) - target[group.wheels]).max())))
        if not holding:
            assert off <= PLAIN.controller.hold_within_deg + 2 * error_at_wheel_deg(PLAIN.controller)
    assert 0 < waited < len(answers) - 1


@pytest.mark.parametrize(
    ("robot", "cause"),
    [
        (with_laws(robot_of(PLAIN), laws()), "do not follow its shaft in a fixed ratio"),
        (with_laws(robot_of(PLAIN), {}, scales()), "what it is told is not in proportion to its shaft"),
    ],
    ids=["law", "scale"],
)
def test_the_formula_refuses_either_by_its_true_cause(robot: Robot, cause: str) -> None:
    with pytest.raises(ExportError, match=cause):
        programme(robot, method="formula")


def test_advice_proposes_gears_whatever_the_transmission_is() -> None:
    assert advise(BENT, 2) == advise(robot_of(PLAIN), 2)


def test_what_is_asked_is_what_its_own_settings_make_behind_bent_laws_too() -> None:
    found = BENT.at(from_turn(TURNS, BENT.base))
    again = BENT.moved(found.solution.steer, found.drive, found.wanted)
    assert np.array_equal(again.motion.twist, found.motion.twist)
    assert np.array_equal(again.solution.side, found.solution.side)
    assert again.shaft == pytest.approx(found.shaft, abs=1e-12)
