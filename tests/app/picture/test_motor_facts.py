"""What the motors panel shows, against hand calculations on the six-wheeled sample."""

import math

import pytest

from app.design import edits, motor_edits
from app.design.facts import Facts
from app.design.samples import sample_design
from app.picture.motor_facts import MotorFacts
from app.picture.view import Command, View
from geometry.model.design import Design
from tests.windows import KEYS

SIX = sample_design(KEYS[0])


def facts_at(design, turn):
    return MotorFacts(View(Facts(design), Command(turn)))


@pytest.fixture
def one_side():
    """One motor drives the left middle and rear wheels, another the right middle one."""
    design = motor_edits.add_motor(SIX, "drive", ["middle left", "rear left"])
    return motor_edits.add_motor(design, "drive", ["middle right"])


@pytest.fixture
def corners():
    return motor_edits.add_motor(SIX, "steer", ["front left", "rear left"])


def test_the_shaft_follows_the_first_wheel_where_sharing_is_exact(corners):
    turn = 0.3
    now = facts_at(corners, turn).steer_now(0)
    front = SIX.wheels[0]
    # The inner corner wheel: tan(angle) = x / h * s / (1 - 2 s), with half-track 120 mm.
    angle = math.degrees(math.atan2(front.x_mm * turn, 120.0 * (1 - 2 * turn)))
    assert now.shaft == pytest.approx(angle, abs=1e-9)
    assert now.reading == now.command == now.shaft
    assert not now.stopped


def test_reading_and_command_follow_zero_direction_and_unit(corners):
    design = motor_edits.change_motor(corners, "steer", 0, zero_deg=30.0, reversed=True, unit="counts")
    now = facts_at(design, 0.2).steer_now(0)
    assert now.reading == pytest.approx(30.0 - now.shaft)
    assert now.command == pytest.approx(now.reading * 4096 / 360)


def test_a_short_travel_stops_the_motor(corners):
    short = motor_edits.change_motor(corners, "steer", 0, travel_min_deg=-10.0, travel_max_deg=10.0)
    now = facts_at(short, 0.3).steer_now(0)
    assert now.stopped
    assert now.shaft == pytest.approx(10.0)


def test_travel_is_what_motor_and_wheels_leave_together(corners):
    design = edits.change_wheels(corners, [SIX.index_of("rear left")], travel_max_deg=20.0)
    found = facts_at(design, 0.1).steered_wheels(0)
    # The rear wheel turns the other way: its 20 degrees to the left stop the front wheel's right.
    assert (found["front left"].low, found["front left"].high) == pytest.approx((-20.0, 135.0))
    assert (found["rear left"].low, found["rear left"].high) == pytest.approx((-135.0, 20.0))


def test_step_and_play_shrink_with_the_gearing(corners):
    design = motor_edits.change_motor(corners, "steer", 0, step_deg=0.3, backlash_deg=2.0)
    design = motor_edits.set_gearing(design, "steer", "rear left", train=((12, 36),))
    found = facts_at(design, 0.0).steered_wheels(0)
    assert (found["front left"].step, found["front left"].play) == (0.3, 2.0)
    assert (found["rear left"].step, found["rear left"].play) == pytest.approx((0.1, 2 / 3))


def test_straight_ahead_the_motors_with_the_least_speed_limit(one_side):
    slow = motor_edits.change_motor(one_side, "drive", 1, usable_rpm=60.0)
    left, right = (facts_at(slow, 0.0).drive_now(i) for i in (0, 1))
    # 60 turns a minute of a wheel of 60 mm.
    assert left.here == left.straight == right.here == pytest.approx(math.pi * 60.0)
    assert (left.turns_s, right.turns_s) == pytest.approx((1.0, 1.0))
    assert (left.limits, right.limits) == (False, True)


def test_in_a_turn_the_outer_side_sets_the_limit(one_side):
    right = facts_at(one_side, 0.3).drive_now(1)
    assert right.limits
    assert not facts_at(one_side, 0.3).drive_now(0).limits
    assert right.straight == pytest.approx(math.pi * 60.0 * 2.5)
    assert right.turns_s == pytest.approx(2.5)


def test_wheels_on_one_motor_slip_by_their_different_ways(one_side):
    found = facts_at(one_side, 0.3).driven_wheels(0)
    assert found["middle left"].slip > 10 > -10 > found["rear left"].slip
    straight = facts_at(one_side, 0.0).driven_wheels(0)
    assert [wheel.slip for wheel in straight.values()] == pytest.approx([0.0, 0.0], abs=1e-9)
    alone = facts_at(one_side, 0.3).driven_wheels(1)
    assert alone["middle right"].suits == 1.0


def test_the_gearing_that_suits_is_the_ratio_of_the_ways(one_side):
    found = facts_at(one_side, 0.3).driven_wheels(0)
    view = View(Facts(SIX), Command(0.3))
    ways = view.rows[SIX.index_of("rear left")].radius / view.rows[SIX.index_of("middle left")].radius
    assert found["rear left"].suits == pytest.approx(ways, rel=1e-8)
    geared = motor_edits.gear_wheels(one_side, 0, {"rear left": found["rear left"].suits})
    after = facts_at(geared, 0.3).driven_wheels(0)
    assert [wheel.slip for wheel in after.values()] == pytest.approx([0.0, 0.0], abs=1e-5)


def test_no_gearing_suits_where_the_first_wheel_stands(one_side):
    found = facts_at(one_side, 0.5).driven_wheels(0)
    assert math.isnan(found["rear left"].suits)
    assert all(math.isfinite(wheel.slip) or name == "middle left" for name, wheel in found.items())


def test_no_gearing_suits_a_wheel_that_stands():
    design = motor_edits.add_motor(SIX, "drive", ["rear left", "middle left"])
    found = facts_at(design, 0.5).driven_wheels(0)
    assert found["rear left"].suits == 1.0
    assert math.isnan(found["middle left"].suits)


def test_without_a_drive_motor_nothing_limits_the_speed():
    design = motor_edits.add_motor(Design(wheels=SIX.wheels), "steer", ["front left"])
    assert MotorFacts(View(Facts(design), Command(0.2))).steer_now(0).shaft != 0.0
