from __future__ import annotations

import math

import numpy as np
import pytest

from geometry.kinematics.as_built import AsBuilt, as_built, motor_arrays
from geometry.kinematics.drive_speeds import least_mismatch_rolling, lengthwise_slip, speed_limit
from geometry.kinematics.motion import from_turn
from geometry.model.base_axle import base_of
from geometry.model.design import Design
from geometry.model.wheel import Wheel
from geometry.model.wheel_arrays import wheel_arrays
from tests.geometry.motored_six import TURNS, drive, four_motors, otherwise_driven, over, with_driven
from tests.geometry.six_wheels import H, X, contact_velocity, six


def pair(x: float, y: float, **values: float) -> Design:
    """Two driven fixed wheels at (x, y) and (-x, -y)."""
    return Design(
        wheels=(
            Wheel(name="a", x_mm=x, y_mm=y, driven=True),
            Wheel(name="b", x_mm=-x, y_mm=-y, driven=True, **values),
        )
    )


@pytest.mark.parametrize("turn", [0.0, 0.2, -0.7, 1.0])
def test_a_locked_axle_goes_straight_at_the_mean_speed(turn: float) -> None:
    # Both wheels do 1 - |s|: nothing is left to turn the chassis.
    found = over(pair(0.0, 100.0).edited(drive_motors=(drive("D", a=1.0, b=1.0),)), [turn])
    np.testing.assert_allclose(found.solution.motion.twist, [[1.0 - abs(turn), 0.0, 0.0]], atol=1e-12)
    np.testing.assert_allclose(found.mismatch, 0.0, atol=1e-12)
    assert found.drive[0, 0] == pytest.approx((1.0 - abs(turn)) / (math.pi * 60.0), abs=1e-15)


@pytest.mark.parametrize(("ratio", "diameter"), [(1.0, 66.0), (1.1, 60.0), (0.5, 60.0)])
def test_wheels_in_line_on_one_motor_share_their_mismatch_evenly(ratio: float, diameter: float) -> None:
    # Straight ahead both should do 1. One motor gives p n and q n with n = (p + q) / (p^2 + q^2), the
    # chassis goes at their mean, and each wheel is off by half of their difference.
    design = pair(100.0, 0.0, diameter_mm=diameter).edited(drive_motors=(drive("D", a=1.0, b=ratio),))
    found = over(design, [0.0])
    p, q = math.pi * 60.0, ratio * math.pi * diameter
    n = (p + q) / (p * p + q * q)
    assert found.drive[0, 0] == pytest.approx(n)
    assert found.mismatch[0] == pytest.approx([0.5 * (p - q) * n, 0.5 * (q - p) * n])
    assert found.solution.motion.twist[0] == pytest.approx([0.5 * (p + q) * n, 0.0, 0.0], abs=1e-12)


def test_corner_and_middle_wheel_on_one_motor_are_asked_for_their_mean_speed() -> None:
    design = otherwise_driven(four_motors(), drive("left", w0=1.0, w2=1.0), drive("right", w3=1.0))
    found = over(design, [-0.4])
    outer, middle = math.hypot(1.0, X / H * 0.4), 1.0
    assert found.drive[0, 0] * math.pi * 60.0 == pytest.approx(0.5 * (outer + middle))
    slips = found.mismatch[0]
    assert slips[0] < -0.01
    assert slips[2] > 0.01
    asked = slips + found.solution.roll[0]
    assert asked[[0, 2]] == pytest.approx([0.5 * (outer + middle)] * 2)
    assert (slips[[1, 4, 5]] == 0).all()


def test_free_wheels_add_no_mismatch() -> None:
    sides = {"left": ("w0", "w2", "w4"), "right": ("w1", "w3", "w5")}
    tank = six().edited(
        wheels=tuple(w.edited(kind="fixed", driven=True) for w in six().wheels),
        base_axle_x_mm=0.0,
        drive_motors=tuple(drive(name, **dict.fromkeys(held, 1.0)) for name, held in sides.items()),
    )
    assert np.abs(over(tank).solution.side).max() > 0.1  # it drags
    free = with_driven(tank.edited(drive_motors=()), ("w2", "w3"))
    found = over(free)
    assert (found.mismatch[:, [0, 1, 4, 5]] == 0).all()
    # Symmetric front and rear: the drag of the corners slows both middle wheels down alike.
    np.testing.assert_allclose(found.mismatch[:, 2], -found.mismatch[:, 3], atol=1e-12)


def test_a_skid_steered_chassis_turns_less_than_it_is_asked_to() -> None:
    # Two driven middle wheels (0, +-h), four free ones at (+-x, +-h), all straight. For (0, 0, c) the squares
    # are 2 h^2 (omega - c)^2 of rolling and 4 x^2 c^2 of dragging: c = omega h^2 / (h^2 + 2 x^2).
    design = with_driven(
        six().edited(wheels=tuple(w.edited(kind="fixed") for w in six().wheels), base_axle_x_mm=0.0),
        ("w2", "w3"),
    )
    found = over(design)
    np.testing.assert_allclose(
        found.solution.motion.twist[:, 2], TURNS / H * H**2 / (H**2 + 2 * X**2), atol=1e-15
    )
    np.testing.assert_allclose(found.solution.motion.twist[:, 0], 1.0 - np.abs(TURNS), atol=1e-12)


def test_a_chassis_that_nobody_drives_is_pushed() -> None:
    found = over(pushed(0.1))
    ideal = found.ideal.motion.twist
    assert np.abs(found.solution.side).max() > 0.01
    np.testing.assert_allclose(found.solution.motion.twist[:, 0], ideal[:, 0], atol=0.1)
    assert (np.abs(found.solution.motion.twist[:, 2]) >= 0.8 * np.abs(ideal[:, 2])).all()
    assert (found.mismatch == 0).all()


def pushed(error: float) -> Design:
    return otherwise_driven(four_motors(error))


def test_casters_follow_the_motion_that_results() -> None:
    caster = Wheel(name="tail", x_mm=-200.0, y_mm=30.0, kind="caster", trail_mm=25.0)
    design = four_motors(0.15).edited(wheels=(*four_motors().wheels, caster))
    found = over(design)
    twist = found.solution.motion.twist
    assert np.abs(twist[:, 1]).max() > 0.005  # the chassis creeps sideways
    for row in range(0, len(TURNS), 40):
        roll, side = contact_velocity(caster, float(found.solution.heading[row, 6]), twist[row])
        if not found.solution.unreachable[row, 6]:
            assert side == pytest.approx(0.0, abs=1e-12)
            assert roll >= -1e-12
    # It changes nothing for the others.
    np.testing.assert_allclose(twist, over(four_motors(0.15)).solution.motion.twist, atol=1e-12)


def test_no_motor_runs_faster_than_it_can_and_one_runs_as_fast() -> None:
    design = four_motors().edited(
        drive_motors=(
            drive("left", w2=0.5),
            drive("right", w3=-0.25).edited(usable_rpm=90.0, no_load_rpm=120.0),
        )
    )
    arrays = wheel_arrays(design)
    motors = motor_arrays(design, arrays)
    found = as_built(arrays, motors, from_turn(TURNS, base_of(design)))
    limit = speed_limit(motors, found.drive)
    rpm = np.abs(found.drive) * limit[:, None] * 60.0
    top = np.array([150.0, 90.0])
    assert (rpm <= top * (1 + 1e-12)).all()
    np.testing.assert_allclose((rpm / top).max(axis=1), 1.0, atol=1e-12)
    # Straight ahead the right motor decides: 90 / 60 turns a second, a quarter of pi 60 mm each.
    assert limit[200] == pytest.approx(1.5 * 0.25 * math.pi * 60.0)
    # With the right side stopped the left one decides: 150 / 60 turns of half of pi 60 mm.
    assert limit[np.isclose(TURNS, -0.5)] == pytest.approx(2.5 * 0.5 * math.pi * 60.0)


def test_without_drive_motors_there_is_no_limit() -> None:
    arrays = wheel_arrays(six())
    motors = motor_arrays(six(), arrays)
    assert not motors
    assert speed_limit(motors, np.zeros((2, 0))).tolist() == [math.inf, math.inf]


def test_a_motor_that_stands_still_sets_no_limit() -> None:
    design = four_motors()
    arrays = wheel_arrays(design)
    motors = motor_arrays(design, arrays)
    assert speed_limit(motors, np.array([[0.0, 0.0]])).tolist() == [math.inf]


@pytest.mark.parametrize("turn", [0.1, -0.3, 0.8])
def test_the_gearing_of_least_mismatch_leaves_none_at_its_own_turn(turn: float) -> None:
    names = ("w0", "w2", "w4")
    design = otherwise_driven(four_motors(), drive("left", w0=0.7, w2=0.7, w4=0.7), drive("right", w3=1.0))
    arrays = wheel_arrays(design)
    group = motor_arrays(design, arrays).drive[0]
    before = over(design, [turn])
    rolling = least_mismatch_rolling(group, before.ideal.roll[0])
    assert rolling[0] == pytest.approx(0.7 * math.pi * 60.0)
    ratios = {name: float(way) / (math.pi * 60.0) for name, way in zip(names, rolling, strict=True)}
    after = over(design.edited(drive_motors=(drive("left", **ratios), drive("right", w3=1.0))), [turn])
    assert np.abs(before.mismatch).max() > 1e-3
    assert np.abs(after.mismatch).max() < 1e-12


def test_no_gearing_serves_where_the_first_wheel_stands_still() -> None:
    design = otherwise_driven(four_motors(), drive("left", w2=1.0, w0=1.0))
    arrays = wheel_arrays(design)
    group = motor_arrays(design, arrays).drive[0]
    assert np.isnan(least_mismatch_rolling(group, over(design, [0.5]).ideal.roll[0])).all()


def slip_of(found: AsBuilt) -> np.ndarray:
    return lengthwise_slip(found.solution, found.mismatch)


@pytest.mark.parametrize(("ratio", "reverse"), [(1.1, 1.0), (0.5, 1.0), (1.1, -1.0)])
def test_lengthwise_slip_is_the_mismatch_for_each_metre_that_the_contact_travels(
    ratio: float, reverse: float
) -> None:
    # In line and straight ahead both wheels go at the mean of what the motor gives them, 1 and `ratio`.
    design = pair(100.0, 0.0).edited(drive_motors=(drive("D", a=1.0, b=ratio),))
    mean = 0.5 * (1.0 + ratio)
    wanted = [1000.0 * (1.0 - mean) / mean, 1000.0 * (ratio - mean) / mean]
    np.testing.assert_allclose(slip_of(over(design, [0.0]))[0], wanted, rtol=1e-12)
    # In reverse the motor rolls each wheel by as much, backward.
    np.testing.assert_allclose(
        slip_of(over(design, [0.0], reverse))[0], reverse * np.array(wanted), rtol=1e-12
    )


def test_lengthwise_slip_counts_the_way_of_the_contact_and_not_that_along_the_wheel() -> None:
    # A fixed wheel 132 mm ahead drags sideways; its contact goes sqrt(roll^2 + side^2).
    design = otherwise_driven(
        six().edited(wheels=tuple(w.edited(kind="fixed") for w in six().wheels), base_axle_x_mm=0.0),
        drive("left", w0=1.0, w2=1.1),
        drive("right", w3=1.0),
    )
    found = over(design, [0.6])
    twist = found.solution.motion.twist[0]
    for n in (0, 2):
        roll, side = contact_velocity(design.wheels[n], 0.0, twist)
        asked = math.pi * 60.0 * (1.0 if n == 0 else 1.1) * found.drive[0, 0]
        slip = 1000.0 * (asked - roll) / math.hypot(roll, side)
        assert slip_of(found)[0, n] == pytest.approx(slip, rel=1e-12)
    assert abs(contact_velocity(design.wheels[0], 0.0, twist)[1]) > 0.05
    assert (slip_of(found)[0, [1, 4, 5]] == 0.0).all()


def test_a_contact_at_rest_has_no_lengthwise_slip() -> None:
    found = over(otherwise_driven(four_motors(), drive("both", w2=1.0, w3=1.0)), [0.5])
    stopped = over(otherwise_driven(four_motors(), drive("left", w2=1.0), drive("right", w3=1.0)), [0.5])
    assert abs(slip_of(found)[0, 2]) > 1.0
    assert slip_of(stopped)[0, 2] == 0.0


@pytest.mark.parametrize("sense", [1.0, -1.0])
def test_a_first_wheel_that_rolls_backward_still_sets_the_gearing_of_the_others(sense: float) -> None:
    # Turning hard to the left, the left wheels roll backward: side speeds 2 * 0.8 - 1 = 0.6 apart from 1.
    names = ("w2", "w0")
    held = drive("left", w2=0.7 * sense, w0=0.7 * sense)
    design = otherwise_driven(four_motors(), held, drive("right", w3=1.0))
    arrays = wheel_arrays(design)
    group = motor_arrays(design, arrays).drive[0]
    roll = over(design, [0.8]).ideal.roll[0]
    assert roll[2] == pytest.approx(1.0 - 2.0 * 0.8)
    rolling = least_mismatch_rolling(group, roll)
    assert rolling[0] == pytest.approx(0.7 * sense * math.pi * 60.0)
    # Both turn about the centre: the corner's way to the middle wheel's as their distances from it.
    centre = H * (1.0 - 0.8) / 0.8
    corner = math.hypot(X, H - centre) / (H - centre)
    assert abs(rolling[1] / rolling[0]) == pytest.approx(corner)
    ratios = {n: float(way) / (math.pi * 60.0) for n, way in zip(names, rolling, strict=True)}
    mended = design.edited(drive_motors=(drive("left", **ratios), drive("right", w3=1.0)))
    assert np.abs(over(design, [0.8]).mismatch).max() > 1e-3
    assert np.abs(over(mended, [0.8]).mismatch).max() < 1e-12
