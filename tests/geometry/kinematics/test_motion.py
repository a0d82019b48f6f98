from __future__ import annotations

import math
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from geometry.errors import CommandError
from geometry.kinematics.motion import (
    from_radius,
    from_sides,
    from_turn,
    from_twist,
    pose_after,
    radius_of_turn,
    sides_of_turn,
    turn_centre,
    turn_of_radius,
    turn_of_sides,
    velocity_at,
)
from geometry.model.base_axle import Base
from tests.strategies import turns

EVEN = Base(0.0, 120.0, -120.0, 0, 1, "fixed wheels")
UNEVEN = Base(-40.0, 150.0, -90.0, 0, 1, "chosen")

bases = st.builds(
    lambda x, right, width: Base(x, right + width, right, None, None, "chosen"),
    st.floats(-500, 500),
    st.floats(-300, 300),
    st.floats(1.0, 800.0),
)
sizes = st.floats(-1e4, 1e4)


@pytest.mark.parametrize("base", [EVEN, UNEVEN])
@pytest.mark.parametrize("s", [-1.0, -0.5, -0.2, 0.0, 0.3, 0.5, 1.0])
def test_the_reference_points_have_the_side_speeds(base: Base, s: float) -> None:
    twist = from_turn([s], base).twist
    left, right = sides_of_turn([s])
    vx, vy = velocity_at(twist, [base.x, base.x], [base.y_left, base.y_right])
    assert vx[0] == pytest.approx([left[0], right[0]], abs=1e-15)
    assert vy[0] == pytest.approx([0.0, 0.0], abs=1e-15)


def test_the_turn_centre_of_a_turn_lies_on_the_base_axle_at_the_turn_radius() -> None:
    s = np.array([-1.0, -0.4, 0.1, 0.5, 0.9])
    centre = turn_centre(from_turn(s, UNEVEN).twist)
    np.testing.assert_allclose(centre[:, 0], UNEVEN.x, atol=1e-10)
    np.testing.assert_allclose(centre[:, 1], radius_of_turn(s, UNEVEN), atol=1e-10)


@pytest.mark.parametrize("s", [-0.9, -0.3, 0.2, 0.5, 1.0])
def test_even_references_give_the_textbook_radius(s: float) -> None:
    k = 1.0 - 2.0 * abs(s)
    radius = radius_of_turn([s], EVEN)[0]
    assert radius == pytest.approx(120.0 * (1.0 - abs(s)) / s, abs=1e-12)
    assert abs(radius) == pytest.approx(120.0 * (1.0 + k) / (1.0 - k), abs=1e-12)


def test_straight_ahead_has_no_turn_centre() -> None:
    assert turn_centre(from_turn([0.0], EVEN).twist).tolist() == [[math.inf, math.inf]]
    assert radius_of_turn([0.0, -0.0], EVEN).tolist() == [math.inf, math.inf]


def test_a_turn_too_gentle_for_a_number_counts_as_straight_and_warns_of_nothing() -> None:
    assert turn_centre([(1.0, 0.0, 5e-324)]).tolist() == [[math.inf, math.inf]]
    assert radius_of_turn([-5e-324], EVEN).tolist() == [-math.inf]


def test_a_stopped_side_is_where_the_chassis_turns() -> None:
    assert radius_of_turn([0.5, -0.5], UNEVEN) == pytest.approx([UNEVEN.y_left, UNEVEN.y_right])


def test_on_the_spot_turns_midway_between_the_references() -> None:
    assert radius_of_turn([1.0, -1.0], UNEVEN) == pytest.approx([UNEVEN.middle, UNEVEN.middle])


@given(turns(), bases, st.sampled_from([1.0, -1.0, 0.3]))
def test_mirrored_turns_are_mirrored_to_the_last_bit(s: float, base: Base, speed: float) -> None:
    mirrored = Base(base.x, -base.y_right, -base.y_left, None, None, "chosen")
    there, back = from_turn([s], base, speed).twist[0], from_turn([-s], mirrored, speed).twist[0]
    assert there.tolist() == [back[0], -back[1], -back[2]]


@given(st.floats(1e-12, 1.0), bases)
def test_a_gentle_turn_is_as_precise_as_a_tight_one(s: float, base: Base) -> None:
    vx, _, omega = from_turn([s], base).twist[0]
    exact = Fraction(s) / ((Fraction(base.y_left) - Fraction(base.y_right)) / 2)
    assert omega == pytest.approx(float(exact), rel=1e-15)
    middle = (Fraction(base.y_left) + Fraction(base.y_right)) / 2
    centre_line = 1 - Fraction(s) + exact * middle
    assert vx == pytest.approx(float(centre_line), abs=4e-16 * (1 + abs(float(exact * middle))))


@pytest.mark.parametrize("step", [-2e-14, -1e-14, 0.0, 1e-14, 2e-14])
def test_no_radius_next_to_the_middle_turns_more_than_on_the_spot(step: float) -> None:
    for right in np.linspace(-300.0, 300.0, 401):
        base = Base(0.0, right + 123.4, right, None, None, "chosen")
        radius = [base.middle + step * max(1.0, abs(base.middle))]
        assert np.abs(turn_of_radius(radius, base)) <= 1.0
        from_radius(radius, base)


@given(turns(), bases)
def test_radius_and_turn_are_inverse(s: float, base: Base) -> None:
    radius = radius_of_turn([s], base)
    back = turn_of_radius(radius, base)[0]
    if abs(s) == 1.0:
        assert abs(back) == pytest.approx(1.0)  # the direction of a spin is not in its radius
    elif abs(s) < 1.0 - 1e-9:
        assert back == pytest.approx(s, rel=1e-7, abs=1e-12)


@given(bases, st.floats(-1e12, 1e12) | st.sampled_from([math.inf, -math.inf, 0.0]))
def test_a_typed_radius_is_the_radius_that_is_driven(base: Base, radius: float) -> None:
    s = turn_of_radius([radius], base)
    assert (np.abs(s) <= 1.0).all()
    again = radius_of_turn(s, base)[0]
    if math.isinf(radius):
        assert s[0] == 0.0
    else:
        assert again == pytest.approx(radius, rel=1e-9, abs=1e-6)


@given(turns(), st.sampled_from([1.0, -1.0, 0.25, -300.0]))
def test_side_speeds_and_turn_are_inverse(s: float, speed: float) -> None:
    turn, fast = turn_of_sides(*sides_of_turn([s], [speed]))
    if abs(s) == 1.0:  # a spin counts as forward: reversed it is the spin to the other side
        assert (turn[0], fast[0]) == (math.copysign(1.0, s * speed), abs(speed))
    else:
        assert turn[0] == pytest.approx(s, abs=1e-15)
        assert fast[0] == speed


@given(sizes, sizes, bases)
def test_side_speeds_are_driven_as_typed(left: float, right: float, base: Base) -> None:
    motion = from_sides([left], [right], base)
    vx, _ = velocity_at(motion.twist, [base.x, base.x], [base.y_left, base.y_right])
    big = max(abs(left), abs(right), 1e-300)
    reach = 1.0 + max(abs(base.y_left), abs(base.y_right)) / base.half_track
    assert vx[0] / big == pytest.approx([left / big, right / big], abs=1e-14 * reach)


@pytest.mark.parametrize(
    ("left", "right", "turn", "speed"),
    [
        (0.0, 0.0, 0.0, 0.0),
        (-1.0, -1.0, 0.0, -1.0),
        (1.0, -1.0, -1.0, 1.0),
        (-1.0, 1.0, 1.0, 1.0),
        (0.0, -2.0, 0.5, -2.0),
        (0.5, -1.0, 0.75, -1.0),
    ],
)
def test_side_speeds_have_these_names(left: float, right: float, turn: float, speed: float) -> None:
    found_turn, found_speed = turn_of_sides([left], [right])
    assert (found_turn[0], found_speed[0]) == (turn, speed)


def test_reverse_is_the_negated_twist_with_the_reverse_sense() -> None:
    forward, back = from_turn([0.3, 1.0], EVEN), from_turn([0.3, 1.0], EVEN, -1.0)
    np.testing.assert_array_equal(back.twist, -forward.twist)
    assert (forward.sense.tolist(), back.sense.tolist()) == ([1.0, 1.0], [-1.0, -1.0])


def test_a_radius_is_the_same_motion_as_its_turn() -> None:
    by_radius, by_turn = from_radius([360.0], EVEN), from_turn([0.25], EVEN)
    np.testing.assert_allclose(by_radius.twist, by_turn.twist, atol=1e-16)


@pytest.mark.parametrize("bad", [math.nan, math.inf, 1.0000001, -2.0])
def test_a_turn_out_of_range_is_refused_with_its_value(bad: float) -> None:
    with pytest.raises(CommandError, match=r"the turn input must be a number from -1 to 1 \(got"):
        from_turn([0.0, bad], EVEN)


def test_bad_speeds_radii_and_twists_are_refused() -> None:
    with pytest.raises(CommandError, match=r"the left speed must be .* \(got nan\)"):
        from_sides([math.nan], [0.0], EVEN)
    with pytest.raises(CommandError, match="the turn radius must be a number"):
        from_radius([math.nan], EVEN)
    with pytest.raises(CommandError, match="a component of the twist"):
        from_twist([(0.0, math.inf, 0.0)])
    with pytest.raises(CommandError, match="must have 3 components"):
        from_twist([(0.0, 1.0)])


@given(st.floats(-2, 2), st.floats(-2, 2), st.floats(-3, 3), st.floats(-3, 3), st.floats(-3, 3))
def test_velocities_are_those_of_a_small_rigid_step(
    vx: float, vy: float, omega: float, x: float, y: float
) -> None:
    step = 1e-6
    pose = pose_after([(vx, vy, omega)], [step])[0, 0]
    c, s = math.cos(pose[2]), math.sin(pose[2])
    moved = (pose[0] + c * x - s * y - x, pose[1] + s * x + c * y - y)
    found_x, found_y = velocity_at([(vx, vy, omega)], [x], [y])
    assert moved[0] / step == pytest.approx(found_x[0, 0], abs=1e-4)
    assert moved[1] / step == pytest.approx(found_y[0, 0], abs=1e-4)


@given(st.floats(-2, 2), st.floats(-2, 2), st.floats(-2, 2), st.floats(0, 3), st.floats(0, 3))
def test_two_drives_in_a_row_are_one_long_drive(
    vx: float, vy: float, omega: float, first: float, second: float
) -> None:
    a, b, whole = pose_after([(vx, vy, omega)], [first, second, first + second])[0]
    c, s = math.cos(a[2]), math.sin(a[2])
    joined = (a[0] + c * b[0] - s * b[1], a[1] + s * b[0] + c * b[1], a[2] + b[2])
    assert whole == pytest.approx(joined, abs=1e-12)


def test_the_turn_centre_does_not_move_while_driving() -> None:
    twist = (1.0, 0.4, 0.01)
    (cx, cy) = turn_centre([twist])[0]
    for x, y, heading in pose_after([twist], np.linspace(0.0, 500.0, 11))[0]:
        c, s = math.cos(heading), math.sin(heading)
        assert (x + c * cx - s * cy, y + s * cx + c * cy) == pytest.approx((cx, cy), abs=1e-9)
