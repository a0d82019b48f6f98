from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import linprog

from geometry.errors import Cancelled
from geometry.lookup_table.error_band import Stretch, Tube, counts_for, sampled, tubes_of
from geometry.lookup_table.free_nodes import Samples, fewest_rows, samples_of
from tests.geometry.tabled import arctan, one


def tube(kind: str, seed: int) -> Samples:
    """A small tube around one to three outputs."""
    random = np.random.default_rng(seed)
    rows, outputs = int(random.integers(12, 22)), int(random.integers(1, 4))
    x = np.linspace(-1.0, 1.0, rows)
    if kind == "steering":
        grow = random.uniform([0.5, 0.5], [3.0, 2.0], (outputs, 2))
        curves = np.stack([np.arctan2(a * x, 1.0 - b * np.abs(x)) for a, b in grow])
    elif kind == "waves":
        curves = np.stack([np.sin(a * x + b) for a, b in random.uniform([1, 0], [3, 6], (outputs, 2))])
    else:
        curves = 0.05 * np.cumsum(np.cumsum(random.normal(size=(outputs, rows)), axis=1), axis=1)
    error = random.uniform(0.02, 0.1)
    return Samples(np.arange(rows), curves - error, curves + error, np.array([rows // 2]), 2.0**31)


def lines_fit(samples: Samples, rows: list[int]) -> bool:
    """Whether some row values keep all outputs in the tube up to the last row: a linear program."""
    every = np.arange(rows[-1] + 1)
    weight = np.stack([np.interp(every, rows, unit) for unit in np.eye(len(rows))], axis=1)
    for low, high in zip(samples.low, samples.high, strict=True):
        walls = np.concatenate([high[every], -low[every]])
        found = linprog(
            np.zeros(len(rows)), A_ub=np.vstack([weight, -weight]), b_ub=walls, bounds=(None, None)
        )
        if found.status != 0:
            return False
    return True


def some_rows_fit(samples: Samples, count: int) -> bool:
    """Try every choice of that many rows, both ends among them; slow and sure."""
    end = len(samples.step) - 1

    def go_on(chosen: list[int]) -> bool:
        left = count - len(chosen)
        if left == 1:
            return lines_fit(samples, [*chosen, end])
        places = range(end - left + 1, chosen[-1], -1)
        return any(lines_fit(samples, [*chosen, p]) and go_on([*chosen, p]) for p in places)

    return go_on([0])


@pytest.mark.slow
@pytest.mark.parametrize("kind", ["steering", "waves", "random walk"])
@pytest.mark.parametrize("seed", range(6))
def test_no_choice_of_fewer_rows_fits_on_small_cases(kind, seed):
    samples = tube(kind, seed)
    steps, _ = fewest_rows(samples)
    rows = len(steps)
    # Within 10 per cent of the optimum means the optimum itself below ten rows.
    assert rows <= 10
    assert some_rows_fit(samples, rows)
    assert rows == 2 or not some_rows_fit(samples, rows - 1)


@pytest.mark.parametrize("kind", ["steering", "waves", "random walk"])
@pytest.mark.parametrize("seed", range(20))
def test_the_lines_between_the_rows_stay_in_the_tube(kind, seed):
    samples = tube(kind, seed)
    steps, values = fewest_rows(samples)
    for c in range(len(samples.low)):
        line = np.interp(samples.step, steps, values[:, c])
        assert (line >= samples.low[c] - 1e-9).all()
        assert (line <= samples.high[c] + 1e-9).all()


def test_a_parabola_takes_the_rows_that_the_best_chords_need():
    x = np.arange(2001)
    error, rows = 1.0, []
    for bend in (1e-3, 4e-3):
        curve = (0.5 * bend * x**2)[None]
        steps, _ = fewest_rows(Samples(x, curve - error, curve + error, x[:0], 2.0**31))
        rows.append(len(steps) - 1)
        # A chord that lies `error` below at its ends and above in the middle spans sqrt(16 error / f'').
        assert rows[-1] == int(np.ceil(2000 / np.floor(np.sqrt(16.0 * error / bend))))
    assert rows[1] > 1.9 * rows[0]


def test_a_straight_line_needs_its_ends_alone():
    x = np.arange(50)
    steps, values = fewest_rows(Samples(x, x[None] * 2.0 - 1, x[None] * 2.0 + 1, x[:0], 2.0**31))
    assert steps.tolist() == [0, 49]
    assert abs(values[:, 0] - [0.0, 98.0]).max() <= 1.0


def test_a_narrow_register_keeps_the_rows_close():
    x = np.arange(400)
    line = 100.0 * x[None]
    steps, _ = fewest_rows(Samples(x, line - 1.0, line + 1.0, x[:0], 1e6))
    width = np.diff(steps)
    assert ((100 * width + 2) * width <= 1e6).all()
    assert len(steps) > 4


def test_thin_samples_tell_the_same_tube_as_all_of_them():
    stretches = sampled(one(arctan), 16_384, 1)
    shift, _ = counts_for(stretches, np.array([0.1]), 1.0)
    (whole,) = tubes_of(stretches, np.array([0.1]), shift, 16_384, "counted")
    thin = samples_of(whole, 2.0**31)
    assert len(thin.step) < 0.1 * len(whole.middle)
    every = np.arange(len(whole.middle))
    chord = np.interp(every, thin.step, whole.middle[thin.step, 0])
    assert np.abs(chord - whole.middle[:, 0]).max() < 0.01 * whole.room.min()
    assert len(samples_of(whole, 2.0**31, 0.0).step) == len(every)
    assert len(fewest_rows(thin)[0]) == len(fewest_rows(samples_of(whole, 2.0**31, 2e-5))[0])


def bent_at_03(turn):
    """Two straight lines whose corner is so slight that no single step tells it."""
    return 0.8 * np.abs(turn - 0.3)


def needle_at_03(turn):
    return 5.0 * np.exp(-(((turn - 0.3) / 2e-3) ** 2))


@pytest.mark.parametrize("curve", [bent_at_03, needle_at_03])
def test_what_bends_between_thin_samples_is_not_overlooked(curve):
    stretches = sampled(one(curve), 16_384, 1)
    shift, _ = counts_for(stretches, np.array([0.1]), 1.0)
    (whole,) = tubes_of(stretches, np.array([0.1]), shift, 16_384, "told")
    thin = samples_of(whole, 2.0**31)
    chord = np.interp(np.arange(len(whole.middle)), thin.step, whole.middle[thin.step, 0])
    assert np.abs(chord - whole.middle[:, 0]).max() < 0.01 * whole.room.min()
    assert len(thin.step) < 0.1 * len(whole.middle)


def test_work_on_free_rows_stops_where_it_is_told_to():
    told = []
    with pytest.raises(Cancelled):
        fewest_rows(tube("waves", 1), lambda share: told.append(share) or len(told) < 2)
    assert told == sorted(told)


def test_many_outputs_at_chosen_steps_are_searched_less():
    curves = np.stack([np.arctan((2 + c) * np.linspace(-1, 1, 900)) for c in range(20)], axis=1)
    steps = np.arange(0, 9_000, 10)
    room = np.full_like(curves, 0.002)
    chosen = samples_of(Tube(Stretch(0, curves, 0 * curves, (), steps), curves, room), 2.0**31)
    every = samples_of(Tube(Stretch(0, curves, 0 * curves, ()), curves, room), 2.0**31)
    assert (chosen.cursory, every.cursory) == (True, False)
    whole = len(fewest_rows(replace(chosen, cursory=False))[0])
    assert whole <= len(fewest_rows(chosen)[0]) <= 1.1 * whole


def test_thin_samples_of_chosen_steps_tell_the_same_tube():
    uneven = np.unique(np.concatenate([np.arange(-16_384, 16_385, 16), np.arange(-900, 900)]))
    curve = np.degrees(np.arctan(uneven[:, None] / 1_000))
    stretch = Stretch(-16_384, curve, np.zeros_like(curve), (), uneven + 16_384)
    thin = samples_of(Tube(stretch, curve, np.full_like(curve, 0.1)), 2.0**31)
    assert len(thin.step) < 0.5 * len(uneven)
    chord = np.interp(stretch.steps, thin.step, 0.5 * (thin.low + thin.high)[0])
    assert np.abs(chord - curve[:, 0]).max() < 0.01 * 0.1
