from __future__ import annotations

import itertools
from fractions import Fraction

import numpy as np
import pytest

from geometry.kinematics.motion import from_turn
from geometry.model.base_axle import base_of
from geometry.model.design import Design
from geometry.model.wheel import Wheel
from geometry.model.wheel_arrays import wheel_arrays
from geometry.motor_sharing.ratios import SIMPLE, Way, squares, ways_to_share
from geometry.turn_range.sweep import turns_between
from tests.geometry.sharing_oracle import OneMotor, twists
from tests.geometry.six_wheels import six

REACH = 0.4
TURN = turns_between(-REACH, REACH, 25)


def shared(design: Design, group: tuple[int, ...], most: int = 500, beam: int = 300) -> tuple[list[Way], ...]:
    wheels = wheel_arrays(design)
    table = squares(wheels, from_turn(TURN, base_of(design)), group[0], group[1:])
    return ways_to_share(table, group, most, beam)


def test_the_wheels_of_one_side_turn_opposite() -> None:
    equal, fractions = shared(six(), (0, 4))
    assert equal[0].ratios == (1.0, -1.0)
    assert equal[0].worst < 0.1
    assert equal[0].equal
    assert equal[0].group == ((0, 1.0), (4, -1.0))
    assert fractions[0].worst > 10.0
    assert not any(way.equal for way in fractions)


def test_a_wheel_at_twice_the_distance_turns_about_twice_as_far() -> None:
    wheels = [Wheel(name=n, x_mm=x, y_mm=0.0, kind="steered") for n, x in (("near", 60.0), ("far", 120.0))]
    design = Design(wheels=tuple(wheels), base_axle_x_mm=0.0)
    _, fractions = shared(design, (0, 1))
    assert fractions[0].ratios == (1.0, 2.0)


def test_a_wheel_by_itself_follows_its_ideal_angle() -> None:
    equal, fractions = shared(six(), (0,))
    assert fractions == []
    assert [way.ratios for way in equal] == [(1.0,)]
    assert equal[0].worst < 0.1  # millimetres on a metre


def test_every_pattern_is_found_where_the_beam_is_wide_enough() -> None:
    equal, fractions = shared(six(), (0, 1, 4), most=10_000)
    patterns = {way.ratios for way in (*equal, *fractions)}
    assert patterns == {(1.0, *others) for others in itertools.product(SIMPLE, repeat=2)}
    assert len(equal) == 4


@pytest.mark.parametrize("trail", [0.0, 15.0])
def test_shaft_angles_and_drag_agree_with_a_search(trail: float) -> None:
    middle = [Wheel(name=f"m{y}", x_mm=0.0, y_mm=y) for y in (120.0, -120.0)]
    places = [(150.0, 110.0), (140.0, -120.0), (-100.0, 115.0)]
    steered = [
        Wheel(name=f"s{i}", x_mm=x, y_mm=y, kind="steered", trail_mm=trail) for i, (x, y) in enumerate(places)
    ]
    design = Design(wheels=(*middle, *steered))
    oracle = OneMotor(design, twists(TURN, 120.0, 0.0))
    ways = [way for kind in shared(design, (2, 3, 4)) for way in kind]
    for way in ways[::9]:
        best = oracle.shaft(np.array(way.ratios))[:, None] * way.ratios
        found, least = (
            sum(
                oracle.load[i] * oracle.sideways(i, angles[:, k : k + 1]) ** 2
                for k, i in enumerate((2, 3, 4))
            )
            for angles in (way.heading, best)
        )
        # At an end of the travel the table's grid may fall short of it by a step. Of two minima
        # that are nearly as good it may take the other: a hundredth of the faster side's speed.
        inside = np.abs(best).max(axis=1) < np.pi - 0.15
        assert inside.sum() > 15
        assert np.sqrt(found[inside]) == pytest.approx(np.sqrt(least[inside]), abs=1e-2)
        drag = []
        for k, i in enumerate((2, 3, 4)):
            angle = way.heading[:, k : k + 1]
            omega = oracle.twist[:, 2]
            vx, vy = oracle.twist[:, 0] - omega * oracle.y[i], oracle.twist[:, 1] + omega * oracle.x[i]
            speed = np.hypot(
                oracle.sideways(i, angle)[:, 0], vx * np.cos(angle[:, 0]) + vy * np.sin(angle[:, 0])
            )
            drag.append(1000.0 * np.abs(oracle.sideways(i, angle)[:, 0]) / speed)
        assert way.worst == pytest.approx(np.max(drag), rel=1e-9)
        assert way.total == pytest.approx(np.sum(drag), rel=1e-9)


def test_ways_come_by_worst_drag_and_stay_in_the_travel() -> None:
    design = six(travel=50.0)
    part = wheel_arrays(design).take((0, 1, 4, 5))
    for kind in shared(design, (0, 1, 4, 5), most=40):
        assert len(kind) <= 40
        worst = [round(way.worst, 3) for way in kind]
        assert worst == sorted(worst)
        for way in kind:
            assert (way.heading >= part.low - 1e-9).all()
            assert (way.heading <= part.high + 1e-9).all()


def test_a_narrow_travel_beside_a_wide_one_still_has_ways() -> None:
    wheels = [
        # No shaft angle of the table is one that suits the tight wheel.
        Wheel(name="wide", x_mm=100.0, y_mm=100.0, kind="steered", travel_min_deg=-171.3),
        Wheel(name="tight", x_mm=100.0, y_mm=-100.0, kind="steered", travel_min_deg=0.0, travel_max_deg=0.5),
    ]
    equal, _ = shared(Design(wheels=tuple(wheels), base_axle_x_mm=0.0), (0, 1))
    assert len(equal) == 2
    for way in equal:
        assert np.degrees(way.heading[:, 1].max()) <= 0.5 + 1e-9
        assert way.heading[:, 1].min() >= -1e-9


def test_simple_ratios_are_of_small_numbers_either_way_round() -> None:
    assert sorted(1.0 / ratio for ratio in SIMPLE) == pytest.approx(sorted(SIMPLE))
    assert {-ratio for ratio in SIMPLE} == set(SIMPLE)
    fractions = {Fraction(ratio).limit_denominator(100) for ratio in SIMPLE}
    assert all(abs(f.numerator) <= 4 and f.denominator <= 4 for f in fractions)


def test_a_narrow_beam_keeps_the_patterns_that_matter() -> None:
    wide, narrow = (shared(six(), (0, 1, 4, 5), most=5, beam=beam)[1] for beam in (300, 16))
    assert narrow[0].ratios == wide[0].ratios
    assert narrow[0].worst == wide[0].worst
