from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import linprog

from geometry.errors import Cancelled
from geometry.lookup_table.error_band import Stretch, Tube
from geometry.lookup_table.even_nodes import _tries, even_step


def tube(curves: np.ndarray, room: float) -> Tube:
    """A tube of the same room everywhere around (M, C) curves, in counts."""
    stretch = Stretch(0, curves, np.zeros_like(curves), ())
    return Tube(stretch, curves, np.full_like(curves, room))


def steering(rows: int, outputs: int, seed: int) -> np.ndarray:
    random = np.random.default_rng(seed)
    x = np.linspace(-1.0, 1.0, rows)
    grow = random.uniform([0.5, 0.5], [3.0, 2.0], (outputs, 2))
    return 100.0 * np.stack([np.arctan2(a * x, 1.0 - b * np.abs(x)) for a, b in grow], axis=1)


def line(step: int, values: np.ndarray, rows: int) -> np.ndarray:
    nodes = step * np.arange(len(values))
    return np.stack([np.interp(np.arange(rows), nodes, column) for column in values.T], axis=1)


def values_exist(given_tube: Tube, step: int) -> bool:
    """Whether any row values at that spacing keep all outputs in the tube: linear programs."""
    rows = len(given_tube.middle)
    nodes = step * np.arange(-(-(rows - 1) // step) + 1)
    weight = np.stack([np.interp(np.arange(rows), nodes, unit) for unit in np.eye(len(nodes))], axis=1)
    for middle, room in zip(given_tube.middle.T, given_tube.room.T, strict=True):
        walls = np.concatenate([middle + room, room - middle])
        cost = np.zeros(len(nodes))
        if linprog(cost, A_ub=np.vstack([weight, -weight]), b_ub=walls, bounds=(None, None)).status != 0:
            return False
    return True


@pytest.mark.parametrize("outputs", [1, 2, 4])
@pytest.mark.parametrize("seed", range(6))
def test_at_most_a_tenth_more_rows_than_the_fewest_that_linear_programs_find(outputs, seed):
    whole = tube(steering(160, outputs, seed), 1.5)
    _, values = even_step(whole, 32_767, 2.0**31)
    fewest = next(n for n in range(1, 160) if values_exist(whole, -(-159 // n))) + 1
    assert fewest > 5
    assert fewest <= len(values) <= 1.1 * fewest


@given(st.integers(2, 300), st.integers(1, 3), st.integers(0, 10_000), st.floats(0.01, 20.0))
def test_the_lines_between_the_rows_stay_in_the_tube(rows, outputs, seed, room):
    whole = tube(steering(rows, outputs, seed), room)
    step, values = even_step(whole, 32_767, 2.0**31)
    assert (len(values) - 1) * step >= rows - 1
    assert (len(values) - 2) * step < rows - 1
    assert (np.abs(line(step, values, rows) - whole.middle) <= room + 1e-9).all()


def test_a_parabola_takes_the_rows_that_the_best_chords_need():
    bend = 0.004
    whole = tube((0.5 * bend * np.arange(2001.0) ** 2)[:, None], 1.0)
    step, values = even_step(whole, 32_767, 2.0**31)
    widest = np.sqrt(16.0 / bend)
    assert len(values) - 1 == np.ceil(2000 / widest)
    assert step <= widest


def test_one_step_is_one_row():
    step, values = even_step(tube(np.array([[7.0]]), 1.0), 32_767, 2.0**31)
    assert (step, values.tolist()) == (1, [[7.0]])


def test_a_narrow_register_keeps_the_rows_close():
    whole = tube(100.0 * np.arange(400.0)[:, None], 1.0)
    step, _ = even_step(whole, 1e6, 1e6)
    assert step > 1
    assert (100 * step + 2) * step <= 1e6


def test_a_spike_between_the_places_that_are_tried_is_not_overlooked():
    curve = np.zeros((601, 1))
    curve[307] = 5.0
    step, values = even_step(tube(curve, 1.0), 32_767, 2.0**31)
    assert (np.abs(line(step, values, 601) - curve) <= 1.0).all()


@pytest.mark.parametrize("rows", range(300, 330, 3))
def test_no_row_beyond_the_end_leaves_the_range_of_its_bytes(rows):
    # Steep up to the end, and nearly all that two bytes hold: a row beyond would pass it.
    whole = tube((32_700.0 * np.linspace(0.0, 1.0, rows) ** 4)[:, None], 40.0)
    step, values = even_step(whole, 32_767, 2.0**31)
    assert np.abs(values).max() <= 32_766
    free, _ = even_step(whole, 1e9, 2.0**31)
    assert step <= free


def test_a_search_that_can_be_of_no_use_ends_without_a_result():
    whole = tube(steering(400, 2, 3), 0.5)
    step, values = even_step(whole, 32_767, 2.0**31)
    assert even_step(whole, 32_767, 2.0**31, most_pieces=(len(values) - 1) // 2) is None
    found = even_step(whole, 32_767, 2.0**31, most_pieces=len(values) - 1)
    assert (found[0], found[1].tolist()) == (step, values.tolist())


@given(st.integers(20, 300), st.integers(1, 3), st.integers(0, 10_000), st.floats(0.05, 3.0))
def test_the_chosen_steps_of_a_tube_lead_to_rows_that_keep_to_all_of_it(rows, outputs, seed, room):
    curves = steering(rows, outputs, seed)
    kept = np.unique([0, rows - 1, *np.random.default_rng(seed).integers(0, rows, rows // 2)])
    stretch = Stretch(0, curves[kept], np.zeros_like(curves[kept]), (), kept)
    found = even_step(Tube(stretch, curves[kept], np.full_like(curves[kept], room)), 32_767, 2.0**31)
    chord = np.stack([np.interp(np.arange(rows), kept, column) for column in curves[kept].T], axis=1)
    step, values = found
    assert (np.abs(line(step, values, rows) - chord) <= room + 1e-9).all()


def test_work_on_even_rows_stops_where_it_is_told_to():
    with pytest.raises(Cancelled):
        even_step(tube(steering(400, 2, 3), 0.5), 32_767, 2.0**31, progress=lambda share: share < 0.2)


@pytest.mark.parametrize("good", [1, 40, 3_000])
def test_a_wild_curve_is_not_tried_with_every_number_of_rows(good):
    tries = list(_tries(good, 500_000, good // 100))
    assert len(tries) < 150
    # Those just about the number that halving found are the ones that serve.
    assert tries[:4] == list(range(max(1, good - 3), good + 4))[:4]
    assert all(after <= 1.2 * before + 2 for before, after in pairwise(tries))
