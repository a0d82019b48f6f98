from __future__ import annotations

import re

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from geometry.errors import Cancelled, TableError
from geometry.lookup_table.error_band import (
    OutputCurves,
    Stretch,
    Tube,
    checked_allowed,
    counts_for,
    nearest,
    sampled,
    tubes_of,
)
from tests.geometry.tabled import arctan, one, step_at


def ends(curves: OutputCurves, turn_one: int = 16_384) -> list[tuple[int, int]]:
    return [(stretch.first, stretch.last) for stretch in sampled(curves, turn_one, 1)]


def test_every_turn_step_is_evaluated():
    (stretch,) = sampled(one(arctan), 16_384, 1)
    assert (stretch.first, stretch.last) == (-16_384, 16_384)
    assert stretch.exact[:, 0] == pytest.approx(arctan(np.arange(-16_384, 16_385) / 16_384))


def test_the_step_at_a_break_belongs_to_the_side_nearer_to_straight():
    right_of, left_of = 8192, -8192
    found = ends(one(step_at(-0.5, 0.5), breaks=(-0.5, 0.5)))
    assert found == [(-16_384, left_of - 1), (left_of, right_of), (right_of + 1, 16_384)]


def test_a_step_at_a_break_is_asked_on_its_own_side():
    _, middle, _ = sampled(one(step_at(-0.5, 0.5), breaks=(0.5, -0.5)), 16_384, 1)
    assert middle.exact[[0, -1], 0] == pytest.approx(arctan(np.array([-0.5, 0.5])) + 100.0, abs=1e-6)


def test_a_curve_that_has_jumped_at_the_break_itself_is_asked_just_before():
    def jumped(turn):
        return arctan(turn) + 100.0 * (np.abs(turn) >= 0.5)

    _, middle, _ = sampled(one(jumped, breaks=(0.5, -0.5)), 16_384, 1)
    assert middle.exact[[0, -1], 0] == pytest.approx(arctan(np.array([-0.5, 0.5])), abs=1e-6)


def test_a_break_between_two_steps_parts_them():
    place = 1000.4 / 16_384
    assert ends(one(step_at(place), breaks=(place,))) == [(-16_384, 1000), (1001, 16_384)]
    assert ends(one(step_at(-place), breaks=(-place,))) == [(-16_384, -1001), (-1000, 16_384)]


def test_several_breaks_at_one_turn_part_the_range_once():
    found = ends(one(step_at(0.25), breaks=(0.25, 0.25, 0.25 + 1e-12)))
    assert found == [(-16_384, 4096), (4097, 16_384)]


@pytest.mark.parametrize("place", [-1.0, 1.0])
def test_a_break_at_an_end_of_the_range_is_seen_from_inside(place):
    def jumping(turn):
        return np.where(np.abs(turn) == 1.0, 777.0, arctan(turn))

    (stretch,) = sampled(one(jumping, breaks=(place,)), 16_384, 1)
    inside = stretch.exact[-1 if place > 0 else 0, 0]
    assert inside == pytest.approx(arctan(np.array(place)), abs=1e-6)


def test_a_break_outside_the_range_changes_nothing():
    assert ends(one(arctan, low=-0.25, high=0.25, breaks=(-0.5, 0.5))) == [(-4096, 4096)]


def test_a_range_that_is_no_whole_number_of_steps_is_held_within_itself():
    asked = []

    def watching(turn):
        asked.append(turn)
        return arctan(turn)

    assert ends(one(watching, low=-0.39, high=0.39)) == [(-6390, 6390)]
    assert (asked[0].min(), asked[0].max()) == (-0.39, 0.39)


@given(st.floats(-0.999, 0.999))
def test_no_curve_goes_further_within_half_a_step_than_is_told(turn):
    turn_one = 256
    (stretch,) = sampled(one(lambda s: np.sin(7.0 * s) / (1.1 - s)), turn_one, 1)
    row = nearest(turn * turn_one) - stretch.first
    there = np.sin(7.0 * turn) / (1.1 - turn)
    assert abs(there - stretch.exact[row, 0]) <= stretch.between[row, 0] + 1e-12


def test_how_far_a_straight_line_goes_within_half_a_step_is_told_exactly():
    (stretch,) = sampled(one(lambda turn: 90.0 * turn), 16_384, 1)
    assert stretch.between[1:-1, 0] == pytest.approx(45.0 / 16_384)


def test_the_bend_counts_a_quarter_of_the_largest_second_difference_beside_a_step():
    # With steps of 1/16, k = 32 turn is the number of half steps.
    square, cube = (
        sampled(one(lambda turn: (32.0 * turn) ** 2), 16, 1),
        sampled(one(lambda turn: (32.0 * turn) ** 3), 16, 1),
    )
    step = np.abs(np.arange(-15, 16))
    # (k + 1)^2 - k^2 = 2 k + 1 at k = 2 step, and second differences of 2 everywhere.
    assert square[0].between[1:-1, 0] == pytest.approx(4 * step + 1 + 0.25 * 2)
    # (k + 1)^3 - k^3 = 3 k^2 + 3 k + 1, and the largest second difference, at k + 1, is 6 (k + 1).
    assert cube[0].between[1:-1, 0] == pytest.approx(12 * step**2 + 6 * step + 1 + 0.25 * 6 * (2 * step + 1))


def test_more_looks_than_the_limit_are_made_at_chosen_steps():
    asked = 0

    def counted(turn):
        nonlocal asked
        asked += len(turn)
        return arctan(turn)

    (stretch,) = sampled(one(counted, wheels=64), 262_144, 1)
    assert 64 * asked < 1_600_000
    assert (stretch.first, stretch.last) == (-262_144, 262_144)
    assert stretch.exact[:, 0] == pytest.approx(arctan((stretch.first + stretch.steps) / 262_144))
    (every,) = sampled(one(arctan, wheels=2), 262_144, 1)
    assert len(every.exact) == 2 * 262_144 + 1


def test_the_curves_are_asked_for_some_rows_at_a_time():
    asked = []

    def counted(turn):
        asked.append(len(turn))
        return arctan(turn)

    sampled(one(counted, wheels=30), 16_384, 1)
    assert max(asked) * 30 <= 500_000
    assert sum(asked) == 4 * 16_384 + 3


def test_the_middle_between_chosen_steps_is_on_the_chord_and_the_room_is_the_least():
    stretch = Stretch(0, np.array([[0.0], [8.0]]), np.zeros((2, 1)), (), np.array([0, 4]))
    tube = Tube(stretch, stretch.exact, np.array([[2.0], [1.0]]))
    middle, room = tube.at(np.array([0, 1, 3, 4]))
    assert middle[:, 0].tolist() == [0.0, 2.0, 6.0, 8.0]
    assert room[:, 0].tolist() == [1.0, 1.0, 1.0, 1.0]


def test_work_on_the_curves_stops_where_it_is_told_to():
    with pytest.raises(Cancelled):
        sampled(one(arctan, wheels=64), 65_536, 1, lambda share: share < 0.5)


@pytest.mark.parametrize(
    ("peak", "error", "shift", "value_bytes"),
    [
        (90.0, 0.1, 8, 2),  # 90.1 degrees at 2**8 counts is below 32767, at 2**9 above
        (1.0, 0.005, 14, 2),  # 64 counts in the error would be 2**14
        (180.0, 0.001, 14, 4),  # two bytes would give 0.1 counts in the error
        (100_000.0, 50.0, -2, 2),  # encoder counts: four of them make one
    ],
)
def test_a_count_is_as_fine_as_its_bytes_allow(peak, error, shift, value_bytes):
    stretches = sampled(one(lambda turn: peak * turn), 1024, 1)
    found, width = counts_for(stretches, np.array([error]), 1.0)
    assert (found.tolist(), width) == ([shift], value_bytes)
    assert (peak + error) * 2.0**shift <= {2: 2**15 - 1, 4: 2**30 - 1}[value_bytes]


def test_an_error_finer_than_32_bits_is_refused_with_the_best():
    stretches = sampled(one(lambda turn: 1e9 * turn), 1024, 1)
    with pytest.raises(TableError, match="32 bits hold it to") as refused:
        counts_for(stretches, np.array([0.01]), 1.0)
    times = refused.value.times_allowed
    counts_for(stretches, np.array([0.01]), times)


def test_a_curve_too_steep_for_the_turn_steps_is_refused_with_its_place_and_the_least():
    curves = one(lambda turn: np.degrees(np.arctan((turn - 0.25) * 1e5)))
    stretches = sampled(curves, 1024, 1)
    shift, _ = counts_for(stretches, np.array([0.1]), 1.0)
    with pytest.raises(TableError, match=re.escape("near turn 0.25")) as refused:
        tubes_of(stretches, np.array([0.1]), shift, 1024, "counted")
    times = refused.value.times_allowed
    assert times > 100
    tubes_of(stretches, times * np.array([0.1]), shift, 1024, "counted")
    tubes_of(stretches, np.array([0.1]), shift, 1024, "told")


@pytest.mark.parametrize(
    ("low", "high"), [(0.5, 0.5), (0.5, 0.2), (-1.1, 1.0), (0.0, 1.5), (float("nan"), 1.0)]
)
def test_an_empty_or_impossible_range_is_refused(low, high):
    with pytest.raises(TableError, match="must rise within -1 to 1"):
        checked_allowed(one(arctan, low=low, high=high))


@pytest.mark.parametrize("allowed", [0.0, -1.0, float("nan"), float("inf")])
def test_an_allowed_error_must_be_above_0(allowed):
    with pytest.raises(TableError, match="allowed error of output 1 must be above 0"):
        checked_allowed(one(arctan, allowed))


def test_a_curve_that_is_no_number_is_named_with_its_place():
    with pytest.raises(TableError, match=re.escape("output 1 must be a number at turn 0.5")):
        sampled(one(lambda turn: np.where(turn < 0.5, turn, np.nan)), 1024, 1)


def test_each_output_needs_its_allowed_error():
    with pytest.raises(TableError, match="must give 2 outputs"):
        sampled(one(arctan), 1024, 2)
