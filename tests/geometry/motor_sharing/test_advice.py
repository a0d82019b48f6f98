from __future__ import annotations

import itertools
import math
from collections import Counter

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from geometry.errors import AdviceError, AxlewrightError, Cancelled, CommandError
from geometry.kinematics.alignment import alignment_of
from geometry.kinematics.as_built import as_built, motor_arrays
from geometry.kinematics.motion import from_turn
from geometry.kinematics.robot import robot_of
from geometry.model.base_axle import base_of
from geometry.model.design import Design
from geometry.model.motors import Gearing, SteerMotor
from geometry.model.wheel import Wheel
from geometry.model.wheel_arrays import wheel_arrays
from geometry.motor_sharing.advice import MOST_STEERED, advise, flip_facts
from geometry.motor_sharing.grouping import Grouping
from geometry.motor_sharing.ratios import SIMPLE
from geometry.turn_range.sweep import turns_between
from tests.geometry.sharing_oracle import OneMotor, twists
from tests.geometry.six_wheels import H, X, six
from tests.strategies import designs

TURNS = turns_between(-1.0, 1.0, 201)
LEFT, RIGHT = ((0, 1.0), (4, -1.0)), ((1, 1.0), (5, -1.0))


def ask(design: Design, motors: int, reach: float = 1.0, **more) -> tuple[Grouping, ...]:
    return advise(robot_of(design), motors, reach, **more)


def applied(design: Design, grouping: Grouping) -> Design:
    """The design with real motors as advised."""
    motors = tuple(
        SteerMotor(
            name=f"motor {k}",
            wheels=tuple(Gearing(wheel=design.wheels[i].name, ratio=ratio) for i, ratio in group),
            travel_min_deg=-1_000.0,
            travel_max_deg=1_000.0,
        )
        for k, group in enumerate(grouping.groups)
    )
    return design.edited(steer_motors=motors)


def four(x: tuple[float, float], y: tuple[float, ...], **more: float) -> Design:
    """Two fixed driven wheels in the middle, and four steered ones."""
    places = [(x[0], y[0]), (x[0], -y[1]), (x[1], y[2]), (x[1], -y[3])]
    middle = [Wheel(name=f"m{i}", x_mm=0.0, y_mm=120.0 * side, driven=True) for i, side in enumerate((1, -1))]
    corners = [
        Wheel(name=f"s{i}", x_mm=px, y_mm=py, kind="steered", **more) for i, (px, py) in enumerate(places)
    ]
    return Design(wheels=(*middle, *corners))


def test_two_motors_on_a_symmetric_six_wheeler_turn_a_side_each() -> None:
    found = ask(six(), 2)
    assert found[0].groups == (LEFT, RIGHT)
    assert found[0].exact
    assert found[0].worst < 1e-6
    assert found[0].radius_error < 1e-9
    assert not any(grouping.exact for grouping in found[1:])
    assert found[1].worst > 100.0


def test_with_three_motors_the_exact_ones_still_come_first_and_fewest_motors_before() -> None:
    found = ask(six(), 3)
    assert [grouping.groups for grouping in found[:3]] == [
        (LEFT, RIGHT),
        (((0, 1.0),), RIGHT, ((4, 1.0),)),
        (LEFT, ((1, 1.0),), ((5, 1.0),)),
    ]
    assert [grouping.exact for grouping in found[:4]] == [True, True, True, False]


def test_with_a_motor_for_every_wheel_nothing_is_lost() -> None:
    exact = [grouping for grouping in ask(six(travel=70.0), 9) if grouping.exact]
    assert [grouping.motors for grouping in exact] == [2, 3, 3, 4]
    assert exact[-1].lost == (0.0,) * 6
    # Short travel drags, but not because motors are shared.
    assert exact[0].worst > 10.0


@pytest.mark.parametrize("motors", [1, 2, 3, 4])
def test_every_way_to_part_the_wheels_is_told_once_or_with_fractions_twice(motors: int) -> None:
    found = ask(six(), motors)
    parts = Counter(frozenset(frozenset(i for i, _ in group) for group in g.groups) for g in found)
    # Stirling numbers of the second kind for 4 wheels.
    assert len(parts) == sum((1, 7, 6, 1)[:motors])
    assert max(parts.values()) <= 2
    for grouping in found:
        assert sorted(i for group in grouping.groups for i, _ in group) == [0, 1, 4, 5]
        assert all(group[0][1] == 1.0 and {r for _, r in group} <= set(SIMPLE) for group in grouping.groups)


def test_groupings_come_by_worst_then_mean_drag_then_motors() -> None:
    found = ask(six(), 4)
    keys = [(g.off_course, round(g.worst, 6), round(g.mean, 6), g.motors) for g in found]
    assert keys == sorted(keys)
    assert ask(six(), 4) == found


def test_wheels_that_stay_parallel_drag_nothing_but_do_not_turn_the_chassis() -> None:
    line = [Wheel(name=f"at {x}", x_mm=x, y_mm=y, kind="steered") for x, y in ((100.0, 0.0), (-100.0, 0.0))]
    found = ask(Design(wheels=tuple(line), base_axle_x_mm=0.0), 2)
    assert [(g.groups, g.exact, g.off_course) for g in found[:2]] == [
        ((((0, 1.0), (1, -1.0)),), True, False),
        ((((0, 1.0),), ((1, 1.0),)), True, False),
    ]
    # No wheel is fixed here, so that wheels in line and parallel would let the chassis go straight on.
    wheels = [Wheel(name=f"w{i}", x_mm=x, y_mm=50.0, kind="steered") for i, x in enumerate((100.0, 150.0))]
    others = ask(Design(wheels=tuple(wheels), base_axle_x_mm=0.0), 1)
    assert all(g.worst > 0.1 or g.off_course for g in others)
    assert not others[0].off_course


CASES = {
    "symmetric": (four((132.0, -132.0), (120.0,) * 4), 1.0, True),
    "lopsided": (four((180.0, -90.0), (120.0, 110.0, 130.0, 95.0)), 0.4, True),
    "with trail": (four((190.0, -95.0), (120.0, 100.0, 120.0, 100.0), trail_mm=15.0), 0.4, True),
    "short travel": (
        four((160.0, -200.0), (105.0,) * 4, travel_min_deg=-100.0, travel_max_deg=100.0),
        0.7,
        True,
    ),
}


@pytest.mark.slow
@pytest.mark.parametrize("case", CASES)
def test_one_motor_gets_the_ratios_that_a_search_through_all_finds(case: str) -> None:
    design, reach, fractions_win = CASES[case]
    turn = np.linspace(-reach, reach, 201)
    few, many = (OneMotor(design, twists(t, 120.0, 0.0)) for t in (turn[::6], turn))
    everything = np.array([(1.0, *others) for others in itertools.product(SIMPLE, repeat=3)])
    keys = []
    for pattern in everything:
        drag = few.drag(pattern)
        keys.append((few.yaw_off >= 0.5, drag.max(), drag.mean()))
    best = sorted(range(len(everything)), key=lambda k: keys[k])[:40]
    equal = [k for k, pattern in enumerate(everything) if np.all(np.abs(pattern) == 1.0)]
    found = ask(design, 1, reach)
    for grouping, choice in ((found[0], best), (found[-1], equal)):
        drags = [(many.drag(everything[k]).max(), many.yaw_off) for k in choice]
        least = min(worst for worst, off in drags if off < 0.5)
        assert grouping.worst == pytest.approx(least, rel=1e-4)
        pattern = np.array([ratio for _, ratio in grouping.groups[0]])
        drag = many.drag(pattern)
        assert grouping.worst == pytest.approx(drag.max(), rel=1e-4)
        np.testing.assert_allclose(grouping.drag, drag.max(axis=0), rtol=1e-3, atol=1e-3)
    assert any(abs(ratio) != 1.0 for _, ratio in found[0].groups[0]) == fractions_win


@settings(max_examples=12, deadline=None)
@given(st.data())
def test_what_is_told_is_what_real_motors_then_do(data: st.DataObject) -> None:
    design = data.draw(designs(max_wheels=5))
    wheels, base = wheel_arrays(design), base_of(design)
    assume(wheels.steered.any() and wheels.steered.sum() <= 4)
    found = ask(design, data.draw(st.integers(1, 3)))
    motion = from_turn(TURNS, base)
    for grouping in {found[0], found[len(found) // 2], found[-1]}:
        real = applied(design, grouping)
        built = as_built(wheels, motor_arrays(real, wheels), motion)
        judged = alignment_of(wheels, built.solution)
        drag = np.where(judged.pivots, 0.0, judged.drag)
        np.testing.assert_allclose(grouping.drag, drag.max(axis=0), rtol=1e-6, atol=1e-6)
        assert grouping.mean == pytest.approx(drag.mean(), rel=1e-6, abs=1e-9)
        ends = np.stack([built.shaft.min(axis=0), built.shaft.max(axis=0)], axis=1)
        np.testing.assert_allclose(grouping.shaft, ends, atol=1e-6)


def test_a_mirrored_chassis_gets_mirrored_advice() -> None:
    places = [(150.0, 100.0), (140.0, -120.0), (-90.0, 110.0), (-130.0, -80.0)]

    def chassis(side: float) -> Design:
        middle = tuple(Wheel(name=f"m{y}", x_mm=0.0, y_mm=y) for y in (120.0, -120.0))
        rest = (Wheel(name=f"s{i}", x_mm=x, y_mm=side * y, kind="steered") for i, (x, y) in enumerate(places))
        return Design(wheels=(*middle, *rest))

    one, other = ask(chassis(1.0), 2, 0.4), ask(chassis(-1.0), 2, 0.4)
    assert [g.groups for g in one[:6]] == [g.groups for g in other[:6]]
    assert [g.worst for g in one[:6]] == pytest.approx([g.worst for g in other[:6]], rel=1e-9)


def test_a_wheel_that_pivots_does_not_count_as_dragging() -> None:
    # The last wheel is on the middle of the base axle, where the chassis turns on the spot.
    corners = [
        Wheel(name=f"c{i}", x_mm=x, y_mm=y, kind="steered")
        for i, (x, y) in enumerate([(100.0, 100.0), (100.0, -100.0)])
    ]
    fixed = [Wheel(name=f"f{y}", x_mm=0.0, y_mm=y) for y in (100.0, -100.0)]
    middle = Wheel(name="middle", x_mm=1.0, y_mm=0.0, kind="steered", travel_min_deg=-5.0, travel_max_deg=5.0)
    found = ask(Design(wheels=(*fixed, *corners, middle)), 3)
    own = next(grouping for grouping in found if grouping.motors == 3)
    # Near the spot it stands across its motion by up to 85 degrees, but turns on the spot.
    assert own.drag[4] < 100.0
    assert own.worst < 100.0


def test_the_progress_rises_to_one() -> None:
    told: list[float] = []

    def note(share: float) -> bool:
        told.append(share)
        return True

    ask(six(), 2, progress=note)
    assert told == sorted(told)
    assert told[-1] == pytest.approx(1.0)
    assert len(told) > 10


@pytest.mark.parametrize("at", [0.0, 0.5, 0.95])
def test_a_cancelled_search_stops_at_once_and_keeps_nothing(at: float) -> None:
    told: list[float] = []

    def stop(share: float) -> bool:
        told.append(share)
        return share < at

    with pytest.raises(Cancelled, match="cancelled") as caught:
        ask(six(), 3, progress=stop)
    assert isinstance(caught.value, AxlewrightError)
    assert [share for share in told if share >= at] == told[-1:]


def test_bad_questions_are_answered_with_place_value_and_remedy() -> None:
    with pytest.raises(AdviceError, match=r"at least 1 \(got 0\)"):
        ask(six(), 0)
    fixed = Design(wheels=(Wheel(name="a", x_mm=0.0, y_mm=0.0),))
    with pytest.raises(AdviceError, match=r"no wheel is steered.*make a wheel steered"):
        ask(fixed, 1)
    many = tuple(
        Wheel(name=f"w{i}", x_mm=50.0 * i, y_mm=0.0, kind="steered") for i in range(MOST_STEERED + 1)
    )
    with pytest.raises(AdviceError, match=rf"at most {MOST_STEERED} .*got {MOST_STEERED + 1}.*fixed"):
        ask(Design(wheels=many), 2)
    for reach in (0.0, -0.5, 1.5, math.nan):
        with pytest.raises(CommandError, match="turn range"):
            ask(six(), 2, reach)


def one_corner(travel: float) -> Design:
    fixed = [Wheel(name=f"f{y}", x_mm=0.0, y_mm=y) for y in (H, -H)]
    corner = Wheel(
        name="corner", x_mm=X, y_mm=H, kind="steered", travel_min_deg=-travel, travel_max_deg=travel
    )
    return Design(wheels=(*fixed, corner))


def facts(design: Design, motors: int, reach: float = 1.0):
    return flip_facts(robot_of(design), ask(design, motors, reach), reach)


def test_a_flip_that_no_sharing_avoids_is_told_with_what_does() -> None:
    found = facts(one_corner(travel=80.0), 1)
    assert found.without is None
    # The inner wheel passes 90 degrees at half the turn input (closed form of the corner wheel).
    assert [mark.turn for mark in found.best.flips] == pytest.approx([0.5], abs=2e-6)
    assert found.largest_turn == pytest.approx(0.5, abs=2e-6)
    assert found.travel_helps
    (wheel, low, high) = found.travel[0]
    assert wheel == 2
    assert low == pytest.approx(math.atan2(-X, H), abs=1e-9)
    assert high == pytest.approx(math.atan2(X, -H), abs=1e-9)


def test_a_smaller_range_or_more_travel_avoids_the_flip() -> None:
    for found in (facts(one_corner(travel=80.0), 1, 0.4), facts(one_corner(travel=135.0), 1)):
        assert found.without == found.best
        assert found.best.flips == ()
    assert facts(one_corner(travel=80.0), 1, 0.4).largest_turn == 0.4


def test_among_groupings_the_one_that_turns_furthest_without_a_flip_is_told() -> None:
    found = facts(six(travel=80.0), 2)
    assert found.best.groups == (LEFT, RIGHT)
    assert sorted({mark.wheel for mark in found.best.flips}) == [0, 1, 4, 5]
    # All on one motor never leave the travel, at the price of much drag.
    assert found.without is not None
    assert found.without.worst > 5 * found.best.worst
    assert found.widest == found.without
    assert found.largest_turn == 1.0


def test_more_travel_helps_nothing_where_wheels_of_a_motor_want_too_different_angles() -> None:
    found = facts(six(), 1)
    assert found.best.flips
    assert not found.travel_helps


def test_the_first_flip_on_either_side_ends_the_range_without_one() -> None:
    corners = [
        Wheel(name=f"c{y}", x_mm=X, y_mm=y, kind="steered", travel_min_deg=-80.0, travel_max_deg=80.0)
        for y in (H, -0.8 * H)
    ]
    fixed = [Wheel(name=f"f{y}", x_mm=0.0, y_mm=y) for y in (H, -H)]
    design = Design(wheels=(*fixed, *corners))
    own = next(grouping for grouping in ask(design, 2) if grouping.motors == 2)
    found = flip_facts(robot_of(design), (own,), 1.0)
    # A wheel abreast of y passes 90 degrees where 1 - s = s y / h.
    assert sorted(abs(mark.turn) for mark in own.flips) == pytest.approx([0.5, 1 / 1.8], abs=2e-6)
    assert found.largest_turn == pytest.approx(0.5, abs=2e-6)
