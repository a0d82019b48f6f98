"""The deciding turns against closed forms and against many other turns."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from geometry.kinematics.alignment import FAULTY, STATES, Alignment, alignment_of, states
from geometry.kinematics.ideal import solve
from geometry.kinematics.motion import from_turn, turn_of_radius
from geometry.kinematics.robot import robot_of
from geometry.model.base_axle import base_of
from geometry.model.design import Design
from geometry.model.wheel import Wheel
from geometry.model.wheel_arrays import wheel_arrays
from geometry.turn_range.critical_turns import NEIGHBOUR, critical_turns
from geometry.turn_range.sweep import landmarks
from tests.strategies import designs

TOLERANCES = (math.radians(0.5), math.radians(2.0))


def decisive(design: Design) -> np.ndarray:
    return critical_turns(
        robot_of(design.edited(aligned_within_deg=0.5, slight_drag_within_deg=2.0)), design.largest_turn
    )


def judged(design: Design, turns: np.ndarray) -> tuple[Alignment, np.ndarray]:
    arrays = wheel_arrays(design)
    found = alignment_of(arrays, solve(arrays, from_turn(turns, base_of(design))))
    return found, states(found, *TOLERANCES)


def axle(*more: Wheel, h: float = 100.0, width: float = 25.0, base: float | None = 0.0) -> Design:
    pair = (
        Wheel(name="L", x_mm=0.0, y_mm=h, width_mm=width),
        Wheel(name="R", x_mm=0.0, y_mm=-h, width_mm=width),
    )
    names = {"left_reference": "L", "right_reference": "R", "base_axle_x_mm": base}
    return Design.model_validate({"wheels": (*pair, *more), **names})


def at_radius(design: Design, radius: float) -> float:
    return float(turn_of_radius([radius], base_of(design))[0])


def assert_among(design: Design, *wanted: float) -> None:
    turns = decisive(design)
    for turn in wanted:
        for near in (turn - NEIGHBOUR, turn, turn + NEIGHBOUR):
            assert np.abs(turns - near).min() < 1e-13, turn


@pytest.mark.parametrize("side", [1.0, -1.0])
def test_a_fixed_wheel_off_the_axle_decides_where_its_slip_is_the_tolerance_and_where_it_stops(
    side: float,
) -> None:
    design = axle(Wheel(name="B", x_mm=-60.0, y_mm=side * 130.0))
    crossings = [130.0 + 60.0 / math.tan(tolerance) for tolerance in TOLERANCES]
    assert_among(design, *(at_radius(design, side * radius) for radius in (130.0, *crossings)))


def test_a_fixed_wheel_decides_where_its_patch_comes_to_the_centre() -> None:
    # 2 mm off the axle with a patch of 3 mm: the disc of 12.5 mm decides.
    near = axle(Wheel(name="B", x_mm=-2.0, y_mm=40.0, width_mm=25.0))
    reach = math.sqrt(12.5**2 - 2.0**2)
    assert_among(near, at_radius(near, 40.0 + reach), at_radius(near, 40.0 - reach))
    # Turned by 30 degrees, the miss |R - y| sin 30 decides.
    turned = axle(Wheel(name="B", x_mm=0.0, y_mm=40.0, width_mm=100.0, toe_deg=30.0))
    assert_among(turned, at_radius(turned, 40.0 + 6.0), at_radius(turned, 40.0 - 6.0))


@pytest.mark.parametrize("toe", [30.0, -20.0])
@pytest.mark.parametrize("x", [-60.0, 45.0])
def test_a_fixed_wheel_turned_off_the_axle_decides_where_the_flow_crosses_it_and_leaves_it_by_a_tolerance(
    x: float, toe: float
) -> None:
    design = axle(Wheel(name="B", x_mm=x, y_mm=230.0, toe_deg=toe), base=0.0)
    heading = float(wheel_arrays(design).built_in[2])
    # At a radius R the flow at the wheel is along (R - y, x).
    across = 230.0 - x * math.tan(heading)
    leaving = [230.0 + x / math.tan(heading + way * t) for t in TOLERANCES for way in (-1.0, 1.0)]
    assert_among(design, *(at_radius(design, radius) for radius in (across, *leaving)))


def test_a_wheel_at_an_end_of_travel_decides_where_the_flow_is_across_the_middle_of_it() -> None:
    wheel = Wheel(name="s", x_mm=-60.0, y_mm=230.0, kind="steered", travel_min_deg=-20.0, travel_max_deg=40.0)
    design = axle(wheel)
    middle = math.radians(10.0)
    assert_among(design, at_radius(design, 230.0 + 60.0 * math.tan(middle)))


def test_a_trail_beyond_the_centre_decides_at_both_ends_and_abreast() -> None:
    design = axle(Wheel(name="o", x_mm=0.5, y_mm=400.0, kind="steered", trail_mm=3.0, width_mm=1.0), h=10.0)
    half = math.sqrt(3.0**2 - 0.5**2)
    assert_among(design, *(at_radius(design, 400.0 + d) for d in (-half, 0.0, half)))
    found, kinds = judged(design, np.array([at_radius(design, 400.0)]))
    assert (STATES[kinds[0, 2]], found.drag[0, 2]) == ("drags", 1000.0)
    assert (judged(design, decisive(design))[1][:, 2] >= FAULTY).any()


def test_a_narrow_fault_between_even_turns_is_found() -> None:
    design = axle(
        Wheel(name="o", x_mm=0.5, y_mm=400.0, kind="steered", trail_mm=3.0, width_mm=1.0), h=10.0, width=5.0
    )
    faulty = judged(design, np.linspace(-1.0, 1.0, 2001))[1] >= FAULTY
    assert not faulty.any()
    assert (judged(design, decisive(design))[1] >= FAULTY).any()


def test_a_chassis_in_order_or_empty_has_little_to_decide() -> None:
    assert decisive(Design()).shape == (0,)
    free = tuple(Wheel(name=f"s{x:g}", x_mm=x, y_mm=9.0, kind="steered") for x in (-90.0, 90.0))
    assert decisive(Design(wheels=free)).shape == (0,)


@given(designs(min_wheels=1))
def test_every_deciding_turn_lies_within_the_range(design: Design) -> None:
    turns = decisive(design)
    assert np.isfinite(turns).all()
    assert (np.abs(turns) <= design.largest_turn).all()


@settings(max_examples=60)
@given(designs(min_wheels=1, max_wheels=4), st.integers(0, 10**6))
def test_no_turn_is_worse_than_the_deciding_ones_and_the_ends(design: Design, seed: int) -> None:
    reach = design.largest_turn
    chosen = np.concatenate([decisive(design), [-reach, 0.0, reach]])
    others = np.concatenate(
        [
            np.random.default_rng(seed).uniform(-reach, reach, 400),
            np.linspace(-reach, reach, 801),
        ]
    )
    found, kinds = judged(design, chosen)
    other_found, other_kinds = judged(design, others)
    for n in range(len(design.wheels)):
        worst = kinds[:, n].max()
        assert other_kinds[:, n].max() <= max(worst, FAULTY - 1)
        slip = np.abs(found.slip[kinds[:, n] == worst, n]).max()
        other_slip = np.abs(other_found.slip[other_kinds[:, n] == worst, n]).max(initial=0.0)
        assert worst < FAULTY or other_slip <= slip + 1e-5


@settings(max_examples=60)
@given(designs(min_wheels=1, max_wheels=4))
def test_between_deciding_turns_no_wheel_changes_its_state(design: Design) -> None:
    reach = design.largest_turn
    turns = np.unique(np.concatenate([decisive(design), [-reach, 0.0, reach]]))
    gaps = np.flatnonzero(np.diff(turns) > 1e-7)
    low, high = turns[gaps], turns[gaps + 1]
    rolling = ~wheel_arrays(design).caster
    first = judged(design, low + 0.1 * (high - low))[1][:, rolling]
    for share in (0.35, 0.5, 0.6, 0.9):
        np.testing.assert_array_equal(judged(design, low + share * (high - low))[1][:, rolling], first)


def test_with_a_lateral_offset_a_missing_angle_drags_by_the_tolerance_at_a_distance_of_its_own() -> None:
    wheel = Wheel(name="o", x_mm=0.0, y_mm=40.0, kind="steered", trail_mm=20.0, lateral_offset_mm=30.0)
    design = axle(wheel)
    distances = [20.0 - 30.0 * math.tan(tolerance) for tolerance in TOLERANCES]
    turns = [at_radius(design, 40.0 + d) for d in distances]
    assert_among(design, *turns, *(at_radius(design, 40.0 - d) for d in distances))
    assert np.abs(judged(design, np.array(turns))[0].slip[:, 2]) == pytest.approx(TOLERANCES, abs=1e-12)


def test_a_missing_angle_is_covered_where_the_patch_reaches_the_centre() -> None:
    # Contact 20 - d along and 5 across from the centre; the tyre reaches 12.5.
    wheel = Wheel(
        name="o",
        x_mm=0.0,
        y_mm=40.0,
        kind="steered",
        trail_mm=20.0,
        lateral_offset_mm=5.0,
        diameter_mm=400.0,
    )
    d = 20.0 - math.sqrt(12.5**2 - 25.0)
    design = axle(wheel)
    assert_among(design, at_radius(design, 40.0 + d), at_radius(design, 40.0 - d))
    small = axle(wheel.edited(diameter_mm=60.0))  # half a patch of 3 mm is the less
    assert_among(small, at_radius(small, 40.0 + 17.0), at_radius(small, 40.0 - 17.0))


def test_a_missing_angle_decides_where_it_comes_to_an_end_of_travel() -> None:
    # It stands along the line to the centre: tan(-30 deg) = (50 - R) / 5.
    wheel = Wheel(name="o", x_mm=5.0, y_mm=50.0, kind="steered", trail_mm=20.0, lateral_offset_mm=4.0)
    design = axle(wheel.edited(travel_min_deg=-30.0, travel_max_deg=60.0))
    assert_among(design, at_radius(design, 50.0 + 5.0 * math.tan(math.radians(30.0))))


@given(designs(min_wheels=1, max_wheels=4, kinds=["steered"]))
def test_every_travel_end_decides(design: Design) -> None:
    turns = decisive(design)
    marks = landmarks(wheel_arrays(design), base_of(design), design.largest_turn)
    for mark in marks:
        if mark.kind == "travel end":
            assert np.abs(turns - mark.turn).min(initial=math.inf) < 1e-9, mark


@pytest.mark.parametrize("across", [30.0, -30.0])
@pytest.mark.parametrize("trail", [20.0, -20.0])
def test_a_lateral_offset_to_either_side_decides_where_the_trail_passes_the_centre(
    across: float, trail: float
) -> None:
    # No angle suits within 20 mm of the centre: there the wheel slips by atan((20 - d) / 30).
    wheel = Wheel(
        name="o", x_mm=0.0, y_mm=40.0, kind="steered", trail_mm=trail, lateral_offset_mm=across, width_mm=1.0
    )
    design = axle(wheel)
    for tolerance in TOLERANCES:
        d = 20.0 - 30.0 * math.tan(tolerance)
        assert_among(design, at_radius(design, 40.0 + d), at_radius(design, 40.0 - d))
        here = np.array([at_radius(design, 40.0 + d)])
        assert abs(judged(design, here)[0].slip[0, 2]) == pytest.approx(tolerance, abs=1e-12)


@pytest.mark.parametrize("across", [5.0, -5.0])
def test_a_lateral_offset_to_either_side_decides_where_the_patch_covers_the_centre(across: float) -> None:
    # Half of the tyre's width is 12.5 mm; 5 of it are to the side.
    wheel = Wheel(
        name="o",
        x_mm=0.0,
        y_mm=40.0,
        kind="steered",
        trail_mm=20.0,
        lateral_offset_mm=across,
        diameter_mm=400.0,
    )
    design = axle(wheel)
    d = 20.0 - math.sqrt(12.5**2 - 25.0)
    assert_among(design, at_radius(design, 40.0 + d), at_radius(design, 40.0 - d))
