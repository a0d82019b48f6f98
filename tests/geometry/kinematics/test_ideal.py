from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from geometry.kinematics.ideal import CONTINUOUS, FLIPPED, Solution, solve
from geometry.kinematics.motion import Motion, from_turn, from_twist, turn_centre
from geometry.model.base_axle import base_of
from geometry.model.design import Design
from geometry.model.wheel import Wheel
from geometry.model.wheel_arrays import wheel_arrays
from tests.geometry.six_wheels import PLACES, H, X, contact_velocity, fastest, six, solved
from tests.strategies import about, designs, driven_designs, plain, turns


@pytest.mark.parametrize("s", [0.0, 0.01, 0.2, 0.49, 0.51, 0.75, 1.0])
def test_corner_angles_follow_the_closed_forms_on_both_sides(s: float) -> None:
    found = solved(six(), s, -s)
    for i, (x, y) in enumerate(PLACES):
        if x == 0:
            continue
        outer, inner = math.atan2(x * s / H, 1.0), math.atan2(x * s / H, 1.0 - 2.0 * s)
        left, right = (inner, outer) if y > 0 else (outer, inner)
        assert found.steer[0, i] == pytest.approx(left, abs=1e-13)
        assert found.steer[1, i] == pytest.approx(-right, abs=1e-13)


def test_the_inner_corner_points_across_when_its_side_stops() -> None:
    found = solved(six(), 0.5)
    assert math.degrees(found.steer[0, 0]) == pytest.approx(90.0, abs=1e-12)
    assert math.degrees(found.steer[0, 4]) == pytest.approx(-90.0, abs=1e-12)


def test_front_and_rear_of_a_symmetric_chassis_turn_by_opposite_angles() -> None:
    found = solved(six(), 0.3, 0.8, -0.6)
    np.testing.assert_allclose(found.steer[:, 0], -found.steer[:, 4], atol=1e-14)
    np.testing.assert_allclose(found.steer[:, 1], -found.steer[:, 5], atol=1e-14)


@given(driven_designs(min_wheels=1))
def test_no_number_is_ever_nan_or_infinite(case: tuple[Design, Motion]) -> None:
    design, motion = case
    found = solve(wheel_arrays(design), motion)
    for array in (found.steer, found.heading, found.roll, found.side):
        assert np.isfinite(array).all()


@given(driven_designs(min_wheels=1))
def test_every_ideal_axle_passes_through_the_turn_centre(case: tuple[Design, Motion]) -> None:
    design, motion = case
    found = solve(wheel_arrays(design), motion)
    twist = motion.twist[0]
    for n, wheel in enumerate(design.wheels):
        if wheel.kind == "fixed" or found.limited[0, n] or found.unreachable[0, n]:
            continue
        heading = float(found.heading[0, n])
        scale = fastest(design, twist)
        _, side = contact_velocity(wheel, heading, twist)
        # Where the speed is next to the pull of the trail, a half-precise angle is the best there is.
        assert abs(side) <= 1e-7 * scale
        if abs(twist[2]) > 1e-6:
            cx, cy = -twist[1] / twist[2], twist[0] / twist[2]
            c, s = math.cos(heading), math.sin(heading)
            qx = wheel.x_mm - wheel.trail_mm * c - wheel.lateral_offset_mm * s
            qy = wheel.y_mm - wheel.trail_mm * s + wheel.lateral_offset_mm * c
            miss = abs((cx - qx) * c + (cy - qy) * s)
            assert miss <= 1e-7 * scale / abs(twist[2])


@given(driven_designs(min_wheels=1))
def test_reported_speeds_are_those_of_the_contact_points(case: tuple[Design, Motion]) -> None:
    design, motion = case
    found = solve(wheel_arrays(design), motion)
    twist = motion.twist[0]
    scale = fastest(design, twist)
    for n, wheel in enumerate(design.wheels):
        roll, side = contact_velocity(wheel, float(found.heading[0, n]), twist)
        assert found.roll[0, n] == pytest.approx(roll, abs=1e-7 * scale)
        assert found.side[0, n] == pytest.approx(side, abs=1e-7 * scale)


@given(driven_designs(min_wheels=1, kinds=["steered"]))
def test_a_wheel_is_limited_only_where_no_angle_of_its_travel_suits(case: tuple[Design, Motion]) -> None:
    design, motion = case
    found = solve(wheel_arrays(design), motion)
    twist = motion.twist[0]
    toe = wheel_arrays(design).built_in
    for n, wheel in enumerate(design.wheels):
        low, high = math.radians(wheel.travel_min_deg), math.radians(wheel.travel_max_deg)
        assert low - 1e-9 <= found.steer[0, n] <= high + 1e-9
        angles = np.linspace(low, high, 721) + toe[n]
        sides = np.array([contact_velocity(wheel, a, twist)[1] for a in angles])
        # The sideways speed is one wave of the angle: a change of sign is a root within the travel.
        if (sides.min() < -1e-6) and (sides.max() > 1e-6):
            assert not found.limited[0, n]
        elif np.abs(sides).min() > 1e-2 * fastest(design, twist):
            assert found.limited[0, n] or found.unreachable[0, n]


@given(designs(min_wheels=1), turns())
def test_reverse_leaves_steered_wheels_as_they_are_and_turns_them_back(design: Design, s: float) -> None:
    forward, back = solved(design, s), solved(design, s, speed=-1.0)
    kept = ~wheel_arrays(design).caster
    np.testing.assert_array_equal(forward.steer[:, kept], back.steer[:, kept])
    np.testing.assert_allclose(forward.roll[:, kept], -back.roll[:, kept], atol=1e-15)


def mirrored(design: Design) -> Design:
    """Left and right exchanged, the travel with them; toe-in stays toe-in."""
    return design.edited(
        wheels=tuple(
            w.edited(
                y_mm=-w.y_mm,
                lateral_offset_mm=-w.lateral_offset_mm,
                travel_min_deg=-w.travel_max_deg,
                travel_max_deg=-w.travel_min_deg,
                toe_deg=-w.toe_deg if w.y_mm + w.lateral_offset_mm == 0 else w.toe_deg,
            )
            for w in design.wheels
        )
    )


@given(designs(min_wheels=1), turns())
def test_a_mirrored_chassis_in_a_mirrored_turn_has_mirrored_angles(design: Design, s: float) -> None:
    other = mirrored(design)
    base, base_other = base_of(design), base_of(other)
    twist = from_turn([s], base).twist * np.array([1.0, -1.0, -1.0])
    here = solve(wheel_arrays(design), from_turn([s], base))
    there = solve(wheel_arrays(other), Motion(twist, np.array([1.0])))
    assert base_other.x == pytest.approx(base.x, abs=1e-9)
    # A wheel half a turn round may show either sign, so headings are compared as directions.
    loose = (np.abs(np.abs(here.steer) - np.pi) < 1e-6) | here.unreachable
    same = np.isclose(here.steer, -there.steer, atol=1e-7) | loose
    assert (same | _tied(design, here, there)).all()
    np.testing.assert_allclose(np.where(same, here.roll - there.roll, 0.0), 0.0, atol=1e-7)


def _tied(design: Design, here: Solution, there: Solution) -> np.ndarray:
    """True where both ends or both branches are equally good, so that rounding decides."""
    arrays = wheel_arrays(design)
    ends = here.limited & there.limited
    middle = 0.5 * (arrays.low + arrays.high)
    return ends & np.isclose(np.abs(here.steer - middle), np.abs(-there.steer - middle), atol=1e-7)


@given(designs(min_wheels=1), turns(), st.sampled_from([0.5, 2.0, 3.0]))
def test_a_chassis_scaled_has_the_same_angles_and_speeds(design: Design, s: float, k: float) -> None:
    scaled = design.edited(
        base_axle_x_mm=None if design.base_axle_x_mm is None else k * design.base_axle_x_mm,
        wheels=tuple(
            w.edited(
                x_mm=k * w.x_mm,
                y_mm=k * w.y_mm,
                trail_mm=k * w.trail_mm,
                lateral_offset_mm=k * w.lateral_offset_mm,
            )
            for w in design.wheels
        ),
    )
    if base_of(design).left is None or base_of(design).right is None:
        return  # a bare side takes a width of the program's own, which does not scale
    here, there = solved(design, s), solved(scaled, s)
    settled = ~(here.unreachable | there.unreachable)
    turned = np.abs(here.steer - there.steer)
    same = (turned < 1e-6) | (np.abs(turned - 2 * np.pi) < 1e-6) | _tied(design, here, there)
    assert (same | ~settled).all() or _on_an_edge(design, s)


def _on_an_edge(design: Design, s: float) -> bool:
    """True where a hair's breadth of turn changes a branch."""
    near = solved(design, max(s - 1e-9, -1.0), s, min(s + 1e-9, 1.0))
    return bool((np.ptp(near.branch, axis=0) > 0).any() or (np.ptp(near.steer, axis=0) > 1e-3).any())


@given(designs(min_wheels=1), st.floats(-3.0, 3.0), st.integers(-500, 500), st.integers(-500, 500))
def test_moving_the_frame_moves_nothing_else(design: Design, twist_y: float, dx: int, dy: int) -> None:
    still = plain(design)
    moved = still.edited(
        wheels=tuple(w.edited(x_mm=w.x_mm + dx, y_mm=w.y_mm + dy) for w in still.wheels),
        base_axle_x_mm=None,
    )
    omega = 0.004
    here = solve(wheel_arrays(still), from_twist([(2.0, twist_y, omega)]))
    # The same motion, told at the new origin, which is (-dx, -dy) in the old frame.
    there = solve(
        wheel_arrays(moved),
        Motion(np.array([[2.0 + omega * dy, twist_y - omega * dx, omega]]), np.array([1.0])),
    )
    np.testing.assert_allclose(np.sin(here.steer - there.steer), 0.0, atol=1e-8)
    np.testing.assert_allclose(np.abs(here.roll), np.abs(there.roll), atol=1e-9)


@given(designs(min_wheels=1, kinds=["caster"]), st.floats(-3.1, 3.1), st.floats(-0.01, 0.01))
def test_turning_the_frame_turns_the_headings(design: Design, angle: float, omega: float) -> None:
    free = design.edited(wheels=tuple(w.edited(toe_deg=0.0) for w in design.wheels))
    c, s = math.cos(angle), math.sin(angle)
    turned = free.edited(
        wheels=tuple(
            w.edited(x_mm=c * w.x_mm - s * w.y_mm, y_mm=s * w.x_mm + c * w.y_mm) for w in free.wheels
        ),
        base_axle_x_mm=None,
    )
    here = solve(wheel_arrays(free), Motion(np.array([[1.0, 0.3, omega]]), np.array([1.0])))
    twist = np.array([[c - 0.3 * s, s + 0.3 * c, omega]])
    there = solve(wheel_arrays(turned), Motion(twist, np.array([1.0])))
    moving = (np.abs(here.roll) > 1e-3) & ~here.unreachable
    off = np.sin(0.5 * (there.heading - here.heading - angle))
    np.testing.assert_allclose(np.where(moving, off, 0.0), 0.0, atol=1e-6)


@given(designs(min_wheels=1), st.sampled_from([1.0, -1.0]))
def test_straight_is_the_limit_of_a_gentle_turn(design: Design, side: float) -> None:
    straight, gentle = solved(design, 0.0), solved(design, side * 1e-8)
    # A caster that looks back may show either half turn: directions are compared.
    np.testing.assert_allclose(np.sin(0.5 * (gentle.steer - straight.steer)), 0.0, atol=1e-4)
    np.testing.assert_allclose(gentle.roll, straight.roll, atol=1e-4)


def test_a_wheel_with_its_kingpin_on_the_centre_stands_straight_and_still() -> None:
    design = six()
    found = solve(wheel_arrays(design), about(X, H, 0.01))
    assert found.steer[0, 0] == 0.0
    assert found.roll[0, 0] == pytest.approx(0.0, abs=1e-12)


def test_a_steered_wheel_on_the_base_axle_rolls_back_beyond_the_centre_and_stays_straight() -> None:
    design = six().edited(wheels=(*six().wheels, Wheel(name="extra", x_mm=0.0, y_mm=60.0, kind="steered")))
    found = solved(design, 0.2, 0.6, 0.7, 1.0)
    assert (found.steer[:, 6] == 0.0).all()
    assert (np.sign(found.roll[:, 6]) == [1, 1, -1, -1]).all()
    assert (found.branch[:, 6] == CONTINUOUS).all()


def test_a_wheel_short_of_travel_flips_by_half_a_turn_and_rolls_the_other_way() -> None:
    found = solved(six(travel=90.0), 0.5 - 1e-6, 0.5 + 1e-6)
    assert found.branch[:, 0].tolist() == [CONTINUOUS, FLIPPED]
    assert np.ptp(found.steer[:, 0]) == pytest.approx(np.pi, abs=1e-4)
    assert found.roll[0, 0] > 0 > found.roll[1, 0]


def test_a_wheel_between_its_ends_stops_at_the_nearer_and_drags() -> None:
    design = six(travel=35.0)
    found = solved(design, 0.4, 0.6)
    ideal = solved(six(), 0.4, 0.6)
    assert found.limited[:, 0].all()
    assert np.degrees(found.steer[:, 0]) == pytest.approx([35.0, -35.0])
    assert (np.abs(found.side[:, 0]) > 0.1).all()
    assert not ideal.limited.any()


def test_toe_turns_the_heading_and_the_steering_takes_it_back() -> None:
    found = solved(six(toe_deg=2.0), 0.0, 0.3)
    bare = solved(six(), 0.0, 0.3)
    np.testing.assert_allclose(found.heading[:, [0, 1, 4, 5]], bare.heading[:, [0, 1, 4, 5]], atol=1e-14)
    assert np.degrees(found.steer[0, [0, 1]]) == pytest.approx([2.0, -2.0])  # toe-in: left one to the right


def test_an_empty_chassis_and_no_motions_are_answered_with_empty_arrays() -> None:
    assert solved(Design(), 0.0, 0.5).steer.shape == (2, 0)
    assert solve(wheel_arrays(six()), from_turn([], base_of(six()))).steer.shape == (0, 6)


def test_results_cannot_be_written_to() -> None:
    found = solved(six(), 0.1)
    with pytest.raises(ValueError, match="read-only"):
        found.steer[0, 0] = 1.0


def test_many_rows_are_the_same_as_one_by_one() -> None:
    design = six(travel=80.0, trail_mm=10.0)
    s = np.linspace(-1.0, 1.0, 4999)
    whole = solved(design, *s)
    for row in (0, 2047, 2048, 2049, 4998):
        single = solved(design, float(s[row]))
        np.testing.assert_array_equal(whole.steer[row], single.steer[0])
        np.testing.assert_array_equal(whole.roll[row], single.roll[0])


def test_the_turn_centre_of_equal_motion_is_shared_by_all_samples_of_a_turn() -> None:
    design = six()
    motion = from_turn([0.25], base_of(design))
    assert turn_centre(motion.twist)[0] == pytest.approx([0.0, 360.0])
