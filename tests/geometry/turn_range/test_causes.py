"""No cause is named but one whose removal cures; casters have none."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from geometry.axes import rolling_direction
from geometry.errors import DesignError
from geometry.kinematics.alignment import CALM, constraint_rows, contacts
from geometry.model.base_axle import base_of
from geometry.model.design import Design
from geometry.turn_range.causes import (
    AxlesApart,
    Cause,
    MotorAtEnd,
    OtherWheels,
    Part,
    SharedAngle,
    SharedDrive,
    ToedAxle,
    TrailTooLong,
    WheelAtEnd,
    free_turn,
)
from geometry.turn_range.range_check import WheelAtTurn
from tests.app.checked import Checked
from tests.app.mended import mended, pinned
from tests.strategies import designs, motored_designs
from tests.whole.odd_robots import ODD

# None at which a side stops: there a hair decides which way a wheel turns.
TURNS = st.sampled_from([0.0, 0.07, 0.3, -0.45, -0.8, 1.0])
MOST_CONDITION = 100.0


def faulty(check: Checked, turn: float) -> list[tuple[WheelAtTurn, Cause]]:
    judged = check.at([turn])
    cases = [judged.wheel_at(0, n) for n in range(len(check.robot.wheels))]
    return [(case, check.cause(case, judged)) for case in cases if case.state not in CALM]


def settled(check: Checked, turn: float) -> bool:
    """Whether the wheels settle the motion well; where hardly, a hair decides who pulls whom."""
    judged = check.at([turn])
    if not check.robot.motors:
        return True
    wheels, heading = check.robot.wheels, judged.response.solution.heading
    tx, ty = rolling_direction(heading)
    x, y = contacts(wheels, heading)
    rolling = np.stack([tx, ty, x * ty - y * tx], axis=-1)[0]
    driven = check.robot.motors.driven & ~wheels.caster
    rows = np.concatenate([constraint_rows(wheels, heading)[0, ~wheels.caster], rolling[driven]])
    rows *= np.sqrt(np.concatenate([wheels.load[~wheels.caster], wheels.load[driven]]))[:, None]
    values = np.linalg.svd(rows / [1.0, 1.0, 100.0], compute_uv=False)
    return len(values) == 3 and bool(values[0] < MOST_CONDITION * values[2])


def edited(design: Design, cause: Cause, turn: float) -> Checked | None:
    """The check of a design without a cause; None where a design refuses that, or turns otherwise by it."""
    first = tuple(part for part in cause.parts if isinstance(part, ToedAxle) or _moves_base(part))
    try:
        before = base_of(mended(design, Cause(cause.wheel, first), turn))
        after = mended(design, cause, turn)
    except DesignError:
        return None
    # Wheels brought to the base axle may become those whose side speeds are asked for.
    now = base_of(after)
    same = (now.x, now.y_left, now.y_right) == (before.x, before.y_left, before.y_right)
    return Checked(after, rows=3) if same else None


def _moves_base(part: Part) -> bool:
    return isinstance(part, AxlesApart) and part.sort != "apart"


def assert_cures(check: Checked, turn: float) -> None:
    for case, cause in faulty(check, turn):
        assert cause.parts, check.remedy(case)
        after = edited(check.design, cause, turn)
        if after is not None and settled(after, turn):
            assert after.at([turn]).wheel_at(0, case.wheel).state in CALM, check.remedy(case)
        for part in cause.parts:
            source = part.source if isinstance(part, OtherWheels) else None
            after = None if source is None else edited(check.design, source, turn)
            if after is not None and settled(after, turn):
                assert after.at([turn]).wheel_at(0, case.wheel).state in CALM, check.remedy(case)


def singles(check: Checked, turn: float, wheel: int) -> list[Part]:
    """Every fault that this wheel or a motor has, mended by itself, whatever the cause.

    What is no fault is left out: a trail that lets the wheel find its angle may, once gone, turn a
    shared motor to where the wheel happens to suit.
    """
    design, response = check.design, check.at([turn]).response
    name = design.wheels[wheel].name
    tries: list[Part] = [
        SharedDrive(d, "speed", tuple(design.index_of(g.wheel) for g in motor.wheels), (), ())
        for d, motor in enumerate(design.drive_motors)
        if len(motor.wheels) > 1
    ]
    for k, motor in enumerate(design.steer_motors):
        if any(g.wheel == name for g in motor.wheels):
            tries += [MotorAtEnd(k, stands=True)] * bool(response.stopped[0, k]) + [SharedAngle(k, ())]
    if design.wheels[wheel].kind == "steered":
        tries += [TrailTooLong()] * bool(response.ideal.unreachable[0, wheel])
        tries += [WheelAtEnd(0.0, stands=True)] * bool(response.ideal.limited[0, wheel])
    return [*tries, ToedAxle(adds=True)] if design.wheels[wheel].kind == "fixed" else tries


def assert_no_single_is_passed_over(check: Checked, turn: float) -> None:
    for case, cause in faulty(check, turn):
        if len(cause.parts) > 1:
            for part in singles(check, turn, case.wheel):
                after = edited(check.design, Cause(case.wheel, (part,)), turn)
                if after is not None and settled(after, turn):
                    state = after.at([turn]).wheel_at(0, case.wheel).state
                    assert state not in CALM, (part, check.remedy(case))


@given(motored_designs(min_wheels=1), TURNS)
def test_a_wheel_is_aligned_once_what_is_named_is_mended_with_motors(design: Design, turn: float) -> None:
    assert_cures(Checked(design, rows=3), turn)


@given(designs(min_wheels=1), TURNS)
def test_a_wheel_is_aligned_once_what_is_named_is_mended(design: Design, turn: float) -> None:
    assert_cures(Checked(design, rows=3), turn)


@given(motored_designs(min_wheels=2), TURNS)
def test_no_single_fault_is_passed_over_for_a_combination(design: Design, turn: float) -> None:
    assert_no_single_is_passed_over(Checked(pinned(design), rows=3), turn)


@pytest.mark.parametrize("name", ODD)
@pytest.mark.parametrize("turn", [0.0, 0.3, -0.5, 0.8])
def test_an_odd_chassis_is_told_what_cures_it(name: str, turn: float) -> None:
    check = Checked(ODD[name](), rows=3)
    assert_cures(check, turn)
    assert_no_single_is_passed_over(check, turn)


@settings(max_examples=30)
@given(motored_designs(min_wheels=1), TURNS)
def test_a_caster_is_never_at_fault(design: Design, turn: float) -> None:
    check = Checked(design, rows=3)
    assume(check.robot.wheels.caster.any())
    judged = check.at([turn])
    for n in np.flatnonzero(check.robot.wheels.caster).tolist():
        case = judged.wheel_at(0, n)
        assert case.state in CALM
        assert check.cause(case, judged).parts == ()


def test_the_largest_turn_is_cut_to_four_digits_before_the_first_stop_to_either_side() -> None:
    turns = np.array([0.6, -0.60001, -0.30009, 0.0, 0.2, -0.8])
    stops = np.array([False, True, False, False, False, True])
    assert free_turn(turns, stops) == 0.3
    assert free_turn(turns, np.array([True, False, False, False, False, False])) == 0.2
    assert free_turn(turns, np.zeros(6, dtype=bool)) is None
    assert free_turn(np.array([0.0, 0.0099, 0.02]), np.array([False, False, True])) is None
