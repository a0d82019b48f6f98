"""Motors that take their time, and play in the gears."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from geometry.driving.slew import slewed, with_play

PLACES = st.lists(st.floats(-50, 50), min_size=1, max_size=40)


def test_a_motor_moves_at_its_top_speed_and_stops_on_its_target() -> None:
    found = slewed(np.full((5, 1), 10.0), [0.0], [3.0])
    assert found[:, 0].tolist() == [3.0, 6.0, 9.0, 10.0, 10.0]


def test_a_motor_without_limit_is_there_at_once_and_one_without_speed_stays() -> None:
    found = slewed([[10.0, 10.0]], [1.0, 1.0], [np.inf, 0.0])
    assert found.tolist() == [[10.0, 1.0]]


@given(PLACES, st.floats(-50, 50), st.floats(0.01, 20))
def test_no_step_is_longer_than_allowed_and_none_leads_away(
    goals: list[float], start: float, most: float
) -> None:
    found = slewed(np.array(goals)[:, None], [start], [most])[:, 0]
    before = np.concatenate([[start], found[:-1]])
    assert (np.abs(found - before) <= most * (1 + 1e-12)).all()
    assert (np.abs(np.array(goals) - found) <= np.abs(np.array(goals) - before)).all()


@given(PLACES, st.integers(0, 40), st.floats(0.01, 20), st.floats(0, 5))
def test_in_two_parts_it_comes_to_the_same_place_to_the_last_bit(
    goals: list[float], cut: int, most: float, play: float
) -> None:
    target = np.array(goals)[:, None]
    whole = slewed(target, [1.0], [most])
    first = slewed(target[:cut], [1.0], [most])
    second = slewed(target[cut:], first[-1] if len(first) else [1.0], [most])
    assert np.array_equal(np.concatenate([first, second]), whole)
    gears = with_play(whole, [1.0], [play])
    one = with_play(whole[:cut], [1.0], [play])
    two = with_play(whole[cut:], one[-1] if len(one) else [1.0], [play])
    assert np.array_equal(np.concatenate([one, two]), gears)


@given(PLACES, st.floats(0.01, 20))
def test_gears_stay_within_half_of_the_play_and_move_only_when_pushed(
    places: list[float], play: float
) -> None:
    shaft = np.array(places)
    gears = with_play(shaft[:, None], [0.0], [play])[:, 0]
    assert (np.abs(gears - shaft) <= 0.5 * play * (1 + 1e-12) + 1e-12).all()
    before = np.concatenate([[0.0], gears[:-1]])
    moved = gears != before
    assert np.abs(np.abs(shaft - gears)[moved] - 0.5 * play).max(initial=0.0) < 1e-9


def test_a_reversed_shaft_takes_the_play_up_before_the_wheel_follows() -> None:
    shaft = np.array([1.0, 2.0, 3.0, 2.5, 2.0, 1.0])[:, None]
    assert with_play(shaft, [0.0], [1.0])[:, 0].tolist() == [0.5, 1.5, 2.5, 2.5, 2.5, 1.5]


@pytest.mark.parametrize("columns", [0, 3])
def test_no_steps_and_no_motors_are_no_error(columns: int) -> None:
    assert slewed(np.zeros((0, columns)), np.zeros(columns), np.ones(columns)).shape == (0, columns)
    assert with_play(np.zeros((4, 0)), [], []).shape == (4, 0)
