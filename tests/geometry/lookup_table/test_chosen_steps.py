from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from geometry.lookup_table.chosen_steps import Chosen, Run, chosen_steps

TURN_ONE = 65_536
WHOLE = Run(-TURN_ONE, TURN_ONE, -1.0, 1.0, ())


def steep(place: float, width: float):
    return lambda turn: np.degrees(np.arctan((turn - place) / width))[:, None]


def chosen(values, *, runs=(WHOLE,), turn_one=TURN_ONE, allowed=0.1, width=64) -> list[Chosen]:
    return chosen_steps(values, runs, turn_one, np.array([allowed]), width)


@given(st.floats(-0.9, 0.9), st.floats(2e-3, 0.5))
def test_between_chosen_steps_no_curve_is_farther_from_its_chord_than_is_told(place, width):
    values = steep(place, width)
    (found,) = chosen(values)
    turn = np.linspace(-1.0, 1.0, 300_001)
    chord = np.interp(turn * TURN_ONE, found.step, found.exact[:, 0])
    after = np.clip(np.searchsorted(found.step, turn * TURN_ONE), 1, len(found.step) - 1)
    told = np.minimum(found.between[after, 0], found.between[after - 1, 0])
    assert (np.abs(values(turn)[:, 0] - chord) <= told + 1e-12).all()


@given(st.floats(-0.9, 0.9), st.floats(2e-3, 0.5))
def test_within_half_a_step_of_a_chosen_one_no_curve_goes_further_than_is_told(place, width):
    values = steep(place, width)
    (found,) = chosen(values)
    for off in (-0.5, -0.2, 0.3, 0.5):
        there = values(np.clip((found.step + off) / TURN_ONE, -1.0, 1.0))
        assert (np.abs(there - found.exact) <= found.between + 1e-12).all()


def test_chosen_steps_stand_closer_where_the_curve_bends():
    (found,) = chosen(steep(0.3, 1e-3), allowed=0.01)
    width, middle = np.diff(found.step), 0.5 * (found.step[1:] + found.step[:-1]) / TURN_ONE
    assert width[np.abs(middle - 0.3) < 1e-3].max() <= 2
    assert width[np.abs(middle - 0.3) > 0.5].min() >= 8


def test_a_straight_line_is_not_looked_at_closer():
    (found,) = chosen(lambda turn: 90.0 * turn[:, None])
    assert set(np.diff(found.step).tolist()) == {32}
    assert found.between[1:-1, 0] == pytest.approx(45.0 / TURN_ONE)


def test_both_ends_and_what_is_forced_are_chosen():
    runs = (Run(-500, 3, -0.1, 0.0001, (-7, 0, 99)), Run(4, 9_001, 0.0001, 0.2, (5_001,)))
    first, second = chosen(steep(0.0, 0.1), runs=runs)
    assert {-500, -7, 0, 3} <= set(first.step.tolist())
    assert {4, 5_001, 9_001} <= set(second.step.tolist())
    assert (first.step.min(), first.step.max()) == (-500, 3)
    assert 99 not in first.step


def test_a_single_step_tells_how_far_its_curve_goes_within_half_of_it():
    (found,) = chosen(lambda turn: 1e3 * turn[:, None], runs=(Run(7, 7, 0.0, 6.9 / TURN_ONE, ()),))
    assert found.step.tolist() == [7]
    assert found.between[0, 0] == pytest.approx(1e3 * (6.9 - 6.5) / TURN_ONE)


@pytest.mark.parametrize("turn_one", [16_384, 65_536, 262_144])
def test_no_more_is_looked_at_than_the_limit_however_wild_the_curve(turn_one):
    looks = 0

    def wild(turn):
        nonlocal looks
        looks += len(turn)
        return np.sin(1e7 * turn)[:, None]

    run = Run(-turn_one, turn_one, -1.0, 1.0, ())
    (found,) = chosen(wild, runs=(run,), turn_one=turn_one, allowed=1e-6, width=128)
    assert 128 * looks <= 1_600_000
    # What could not be followed is not called near.
    assert found.between.min() > 0.01
