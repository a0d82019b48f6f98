from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from geometry.kinematics.alignment import (
    STATES,
    Alignment,
    Verdict,
    alignment,
    alignment_of,
    best_fit_centre,
    constraint_rows,
    contacts,
    miss_distance,
    rank,
    states,
    verdicts,
)
from geometry.kinematics.ideal import solve
from geometry.kinematics.motion import Motion, from_radius, from_turn, from_twist
from geometry.model.base_axle import base_of
from geometry.model.design import Design
from geometry.model.wheel import Wheel
from geometry.model.wheel_arrays import wheel_arrays
from tests.strategies import designs, driven_designs

H = 100.0


def wheel(name: str, x: float, y: float, **more: object) -> Wheel:
    return Wheel.model_validate({"name": name, "x_mm": x, "y_mm": y, **more})


def two_axles(gap: float) -> Design:
    """Four fixed wheels on two axles; no turn centre suits both."""
    return Design(wheels=tuple(wheel(f"{x:g} {y:g}", x, y) for x in (0.5 * gap, -0.5 * gap) for y in (H, -H)))


def judged(design: Design, *turn: float) -> Alignment:
    arrays, base = wheel_arrays(design), base_of(design)
    return alignment_of(arrays, solve(arrays, from_turn(turn, base)))


def test_a_fixed_axle_off_the_centre_misses_by_its_distance() -> None:
    found = judged(two_axles(80.0), 0.5, 0.25, 1.0)
    np.testing.assert_allclose(found.miss, 40.0, atol=1e-10)


def test_slip_is_the_angle_at_which_the_contact_leaves_the_wheel_plane() -> None:
    found = judged(two_axles(80.0), 0.25)  # centre at y = 300: contacts 200 and 400 mm away
    want = [math.atan2(40.0, 200.0), math.atan2(40.0, 400.0)]
    assert found.slip[0] == pytest.approx([want[0], want[1], -want[0], -want[1]])
    assert found.drag[0] == pytest.approx([1000.0 * math.sin(a) for a in (want[0], want[1]) * 2])
    assert found.radius[0] == pytest.approx([math.hypot(40.0, 200.0), math.hypot(40.0, 400.0)] * 2)


def test_straight_ahead_nothing_misses_and_the_radius_is_endless() -> None:
    found = judged(two_axles(80.0), 0.0)
    assert (found.miss == 0.0).all()
    assert (found.slip == 0.0).all()
    assert np.isinf(found.radius).all()


def test_straight_ahead_a_turned_wheel_misses_without_end() -> None:
    found = judged(Design(wheels=(wheel("a", 0.0, H, toe_deg=3.0), wheel("b", 0.0, -H))), 0.0)
    assert found.miss[0].tolist() == [math.inf, 0.0]
    assert math.degrees(found.slip[0, 0]) == pytest.approx(3.0)


@pytest.mark.parametrize("speed", [1e-6, 1.0, 1e9])
def test_the_miss_straight_ahead_does_not_depend_on_the_speed(speed: float) -> None:
    arrays = wheel_arrays(Design(wheels=(wheel("a", 0.0, H, toe_deg=5.0), wheel("b", 0.0, -H))))
    direction = math.radians(-5.0)  # along the first wheel
    twist = [(speed * math.cos(direction), speed * math.sin(direction), 0.0)]
    found = alignment(arrays, twist, [arrays.built_in])
    assert found.miss[0].tolist() == [0.0, math.inf]


@given(driven_designs(min_wheels=1))
def test_miss_and_slip_agree_with_lines_drawn_in_the_plane(case: tuple[Design, Motion]) -> None:
    design, motion = case
    arrays = wheel_arrays(design)
    heading = np.array([[0.1 * n - 0.3 for n in range(len(arrays))]])
    found = alignment(arrays, motion.twist, heading)
    vx, vy, omega = motion.twist[0]
    x, y = contacts(arrays, heading)
    for n in range(len(arrays)):
        c, s = math.cos(heading[0, n]), math.sin(heading[0, n])
        moves = (vx - omega * y[0, n], vy + omega * x[0, n])
        if found.swings[0, n]:
            assert arrays.caster[n]
            assert (found.drag[0, n], found.slip[0, n], found.miss[0, n]) == (0.0, 0.0, 0.0)
            continue
        if math.hypot(*moves) > 1e-6:
            across = (moves[1] * c - moves[0] * s) / math.hypot(*moves)
            assert found.drag[0, n] == pytest.approx(1000.0 * abs(across), abs=1e-5)
            assert abs(math.sin(found.slip[0, n])) == pytest.approx(abs(across), abs=1e-8)
        if abs(omega) > 1e-5:
            cx, cy = -vy / omega, vx / omega
            miss = abs((cx - x[0, n]) * c + (cy - y[0, n]) * s)
            assert found.miss[0, n] == pytest.approx(miss, rel=1e-6, abs=1e-6)
            radius = math.hypot(cx - x[0, n], cy - y[0, n])
            assert found.radius[0, n] == pytest.approx(radius, rel=1e-6, abs=1e-6)


@given(driven_designs(min_wheels=1))
def test_no_judgement_is_nan(case: tuple[Design, Motion]) -> None:
    design, motion = case
    arrays = wheel_arrays(design)
    solution = solve(arrays, motion)
    for found in (alignment_of(arrays, solution), alignment(arrays, motion.twist, solution.heading)):
        for array in (found.roll, found.side, found.miss, found.slip, found.drag, found.radius):
            assert not np.isnan(array).any()
        assert (np.abs(found.slip) <= 0.5 * np.pi).all()
        assert (found.drag <= 1000.0 + 1e-9).all()


@given(driven_designs(min_wheels=1))
def test_judging_a_solution_is_judging_its_headings(case: tuple[Design, Motion]) -> None:
    design, motion = case
    arrays = wheel_arrays(design)
    solution = solve(arrays, motion)
    quick, whole = alignment_of(arrays, solution), alignment(arrays, motion.twist, solution.heading)
    reach = np.abs(motion.twist) @ [1.0, 1.0, 1000.0]
    np.testing.assert_allclose(quick.roll, whole.roll, atol=1e-7 * reach[0])
    np.testing.assert_allclose(quick.side, whole.side, atol=1e-7 * reach[0])


@given(st.lists(st.floats(-3.1, 3.1), min_size=3, max_size=3), designs(min_wheels=3, max_wheels=3))
def test_each_constraint_row_times_a_twist_is_the_sideways_speed(angles: list[float], design: Design) -> None:
    arrays = wheel_arrays(design)
    rows = constraint_rows(arrays, [angles])
    for twist in ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.3, -0.2, 0.01)):
        found = alignment(arrays, [twist], [angles])
        np.testing.assert_allclose(rows[0] @ np.array(twist), found.side[0], atol=1e-12)


def heading_of(design: Design, *degrees: float) -> np.ndarray:
    assert len(degrees) == len(design.wheels)
    return np.radians([degrees])


def test_the_rank_counts_what_is_left_of_freedom() -> None:
    axle = Design(wheels=(wheel("a", 0.0, H), wheel("b", 0.0, -H)))
    assert rank(wheel_arrays(axle), heading_of(axle, 0.0, 0.0)).tolist() == [1]
    car = axle.edited(wheels=(*axle.wheels, wheel("c", 150.0, 0.0, kind="steered")))
    assert rank(wheel_arrays(car), heading_of(car, 0.0, 0.0, 20.0)).tolist() == [2]
    two = two_axles(80.0)
    assert rank(wheel_arrays(two), heading_of(two, 0.0, 0.0, 0.0, 0.0)).tolist() == [2]
    bent = two.edited(wheels=(*two.wheels, wheel("c", 150.0, 0.0, kind="steered")))
    assert rank(wheel_arrays(bent), heading_of(bent, 0.0, 0.0, 0.0, 0.0, 20.0)).tolist() == [3]
    casters = Design(wheels=(wheel("a", 0.0, 0.0, kind="caster"),))
    assert rank(wheel_arrays(casters), heading_of(casters, 10.0)).tolist() == [0]
    assert rank(wheel_arrays(Design()), np.zeros((2, 0))).tolist() == [0, 0]


@pytest.mark.parametrize("away", [0.0, 9_000.0])
def test_the_rank_does_not_depend_on_where_the_origin_is(away: float) -> None:
    small = Design(
        wheels=(wheel("a", away, away + 2.0), wheel("b", away, away - 2.0), wheel("c", away + 3.0, away))
    )
    assert rank(wheel_arrays(small), heading_of(small, 0.0, 0.0, 30.0)).tolist() == [2]
    assert rank(wheel_arrays(small), heading_of(small, 0.0, 1.0, 30.0)).tolist() == [3]


@pytest.mark.parametrize("size", [0.02, 1.0, 40.0])
def test_the_rank_does_not_depend_on_the_unit(size: float) -> None:
    # Two wheels across: as parallel axle lines they are one constraint, else two.
    design = Design(wheels=(wheel("a", 0.0, size * H), wheel("b", 0.0, -size * H)))
    assert rank(wheel_arrays(design), [[0.0, 1e-6]]).tolist() == [2]
    assert rank(wheel_arrays(design), [[0.0, 1e-9]]).tolist() == [1]


def test_the_best_fit_centre_leans_to_the_heavier_axle() -> None:
    two = two_axles(80.0)
    heavy = [w.edited(load_share=3.0) if w.x_mm > 0 else w for w in two.wheels]
    design = two.edited(wheels=(*heavy, wheel("c", 200.0, 0.0, kind="steered")))
    found = best_fit_centre(wheel_arrays(design), heading_of(design, 0.0, 0.0, 0.0, 0.0, 40.0))
    assert found[0, 0] == pytest.approx((3.0 * 40.0 - 40.0) / 4.0)


def test_the_best_fit_centre_of_two_equal_fixed_axles_lies_midway() -> None:
    two = two_axles(80.0)
    steered = two.edited(wheels=(*two.wheels, wheel("c", 200.0, 0.0, kind="steered")))
    found = best_fit_centre(wheel_arrays(steered), heading_of(steered, 0.0, 0.0, 0.0, 0.0, 40.0))
    # Four lines across at x = 40 and -40, one from (200, 0): the fit is on that line.
    (x, y) = found[0]
    line = (x - 200.0) * math.cos(math.radians(40.0)) + y * math.sin(math.radians(40.0))
    assert line == pytest.approx(0.0, abs=1e-9)
    assert x == pytest.approx(0.0, abs=1e-9)


def test_the_best_fit_centre_leaves_out_casters_and_is_endless_for_parallel_axles() -> None:
    axle = Design(wheels=(wheel("a", 0.0, H), wheel("b", 0.0, -H), wheel("c", 99.0, 0.0, kind="caster")))
    assert best_fit_centre(wheel_arrays(axle), heading_of(axle, 0.0, 0.0, 45.0)).tolist() == [
        [math.inf, math.inf]
    ]
    casters = Design(wheels=(wheel("c", 99.0, 0.0, kind="caster"),))
    assert np.isinf(best_fit_centre(wheel_arrays(casters), heading_of(casters, 45.0))).all()


@given(designs(min_wheels=3, kinds=["steered"]), st.floats(0.01, 1.0))
def test_the_best_fit_centre_of_aligned_wheels_is_the_turn_centre(design: Design, s: float) -> None:
    free = design.edited(
        wheels=tuple(w.edited(travel_min_deg=-180.0, travel_max_deg=180.0) for w in design.wheels)
    )
    arrays, base = wheel_arrays(free), base_of(free)
    motion = from_turn([s], base)
    found = solve(arrays, motion)
    centre = (-motion.twist[0, 1] / motion.twist[0, 2], motion.twist[0, 0] / motion.twist[0, 2])
    spread = np.abs(np.sin(found.heading - found.heading[:, :1])).max()
    if found.unreachable.any() or found.limited.any() or spread < 0.05:
        return
    assert best_fit_centre(arrays, found.heading)[0] == pytest.approx(centre, rel=1e-5, abs=1e-4)


def test_states_sort_by_the_slip_angle_with_the_bounds_belonging_to_the_milder() -> None:
    one = judged(two_axles(80.0), 0.25)
    size = abs(float(one.slip[0, 0]))
    near = abs(float(one.slip[0, 1]))
    names = [STATES[i] for i in states(one, near, size)[0]]
    assert names == ["slight drag", "aligned", "slight drag", "aligned"]
    assert [STATES[i] for i in states(one, 0.0, near)[0]] == ["drags", "slight drag"] * 2


def test_a_wheel_on_the_turn_centre_pivots_and_is_not_blamed() -> None:
    design = Design(
        wheels=(
            wheel("a", 2.5, H, width_mm=25.0),
            wheel("b", -2.5, H, width_mm=25.0),
            wheel("c", 2.5, -H),
            wheel("d", -2.5, -H),
        )
    )
    found = judged(design, 0.5)  # the centre lies 2.5 mm from the contacts of a and b
    assert found.pivots[0].tolist() == [True, True, False, False]
    assert [STATES[i] for i in states(found, math.radians(0.5), math.radians(2.0))[0]] == [
        "pivots",
        "pivots",
        "slight drag",
        "slight drag",
    ]
    assert not verdicts(found, math.radians(0.5), math.radians(2.0))[0].centre_exists


def test_a_wheel_pivots_only_while_its_own_patch_covers_the_centre() -> None:
    # Across, a patch reaches half the width to either side of the contact.
    near = {"trail_mm": 1.0, "diameter_mm": 60.0}
    beside = [
        wheel(name, x, H + 13.0, width_mm=width, **near)
        for name, x, width in (("a", 1.0, 25.0), ("b", 0.5, 27.0))
    ]
    pair = (wheel("l", 0.0, H), wheel("r", 0.0, -H))
    chosen = {"left_reference": "l", "right_reference": "r", "base_axle_x_mm": 0.0}
    found = judged(Design.model_validate({"wheels": (*beside, *pair), **chosen}), 0.5)
    assert found.pivots[0].tolist() == [False, True, True, False]


def test_a_wheel_pivots_only_while_it_misses_by_no_more_than_half_its_patch() -> None:
    # Along, half a patch is a twentieth of the diameter.
    pair = (
        wheel("a", 5.0, H, diameter_mm=110.0, width_mm=60.0),
        wheel("b", -5.0, H, diameter_mm=90.0, width_mm=60.0),
    )
    found = judged(Design(wheels=(*pair, wheel("c", 0.0, -H)), base_axle_x_mm=0.0), 0.5)
    assert found.miss[0, :2].tolist() == [5.0, 5.0]
    assert found.pivots[0].tolist() == [True, False, False]


def test_the_verdict_does_not_blame_a_wheel_that_pivots() -> None:
    # The first wheel slips by a right angle, yet only its patch turns on the centre.
    design = Design(
        wheels=(wheel("a", 2.5, H), wheel("b", 2.5, -H), wheel("c", 0.0, -0.9 * H)), base_axle_x_mm=0.0
    )
    (found,) = verdicts(judged(design, 0.5), math.radians(0.5), math.radians(2.0))
    assert (found.state, found.worst) == ("slight drag", 1)


def test_a_caster_swings_round_exactly_where_the_centre_is_nearer_than_its_trail() -> None:
    design = Design(
        wheels=(
            wheel("l", 0.0, H),
            wheel("r", 0.0, -H),
            wheel("c", -10.0, 0.0, kind="caster", trail_mm=18.0, width_mm=10.0),
        )
    )
    # The centre is (0, R), so its distance from the kingpin is hypot(10, R).
    edge = math.sqrt(18.0**2 - 10.0**2)
    arrays, base = wheel_arrays(design), base_of(design)
    motion = from_radius([edge + 0.01, edge - 0.01, 0.0, -edge + 0.01, -edge - 0.01], base)
    solution = solve(arrays, motion)
    for found in (alignment_of(arrays, solution), alignment(arrays, motion.twist, solution.heading)):
        assert found.swings[:, 2].tolist() == [False, True, True, True, False]
        assert not found.swings[:, :2].any()
        assert np.abs(found.slip[:, 2]).max() < 1e-7
        assert found.drag[1:4, 2].tolist() == found.miss[1:4, 2].tolist() == [0.0, 0.0, 0.0]
        kinds = states(found, math.radians(0.5), math.radians(2.0))
        assert [STATES[k] for k in kinds[:, 2]] == ["aligned", *["swings round"] * 3, "aligned"]
        for verdict in verdicts(found, math.radians(0.5), math.radians(2.0)):
            assert verdict.centre_exists


def test_a_steered_wheel_nearer_to_the_centre_than_its_trail_does_not_swing() -> None:
    far = wheel("s", -10.0, 0.0, kind="steered", trail_mm=18.0, width_mm=10.0)
    found = judged(Design(wheels=(wheel("l", 0.0, H), wheel("r", 0.0, -H), far)), 1.0)
    assert not found.swings.any()
    assert found.drag[0, 2] > 900.0


@given(driven_designs(min_wheels=1))
def test_both_ways_to_judge_agree_on_which_casters_swing(case: tuple[Design, Motion]) -> None:
    design, motion = case
    arrays = wheel_arrays(design)
    solution = solve(arrays, motion)
    quick, whole = alignment_of(arrays, solution), alignment(arrays, motion.twist, solution.heading)
    vx, vy, omega = motion.twist[0]
    away = np.hypot(vx - omega * arrays.y, vy + omega * arrays.x)
    edge = np.isclose(away, np.abs(omega * arrays.along), rtol=1e-9, atol=1e-11)
    np.testing.assert_array_equal(quick.swings[0, ~edge], whole.swings[0, ~edge])
    nearer = arrays.caster & (away < np.abs(omega * arrays.along))
    np.testing.assert_array_equal(quick.swings[0, ~edge], nearer[~edge])


def test_the_verdict_names_the_worst_wheel() -> None:
    design = Design(
        wheels=(wheel("a", 0.0, H), wheel("b", 0.0, -H, toe_deg=-4.0), wheel("c", 90.0, 0.0)),
        base_axle_x_mm=0.0,
    )
    found = judged(design, 0.0, 0.5)
    straight, turning = verdicts(found, math.radians(0.5), math.radians(2.0))
    assert straight == Verdict("drags", 1, centre_exists=False)
    assert turning.worst == 2


def test_an_aligned_chassis_and_an_empty_one_have_a_centre() -> None:
    axle = Design(wheels=(wheel("a", 0.0, H), wheel("b", 0.0, -H)))
    (one,) = verdicts(judged(axle, 0.3), 0.01, 0.02)
    assert (one.state, one.centre_exists) == ("aligned", True)
    assert verdicts(judged(Design(), 0.3), 0.01, 0.02) == (Verdict("aligned", None, centre_exists=True),)


def test_the_miss_is_the_sideways_speed_over_the_yaw_rate_and_never_overflows() -> None:
    assert miss_distance([[1.0, -0.25]], [[-0.005]]).tolist() == [[200.0, 50.0]]
    assert miss_distance([[1.0, 0.0]], [[5e-324]]).tolist() == [[math.inf, 0.0]]


def test_a_standing_chassis_drags_nothing() -> None:
    arrays = wheel_arrays(two_axles(80.0))
    found = alignment_of(arrays, solve(arrays, from_twist([(0.0, 0.0, 0.0)])))
    assert (found.slip == 0.0).all()
    assert (found.drag == 0.0).all()
