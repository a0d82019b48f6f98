from __future__ import annotations

import re

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

import geometry.lookup_table.fit
from geometry.errors import TableError
from geometry.lookup_table.error_band import ROUNDING_COUNTS, TURN_ONE, OutputCurves, counts_for, sampled
from geometry.lookup_table.fit import FittedTable, breaks_and_kinks, fit_table
from geometry.lookup_table.fixed_point import MOST_32, largest_number, lookup, lookup_all, turn_step
from geometry.model.design import Design
from geometry.model.wheel import Wheel
from geometry.turn_range.sweep import Landmark
from tests.geometry.six_wheels import six
from tests.geometry.tabled import arctan, one, steering_of, step_at
from tests.strategies import designs

SPACINGS = ["free", "even"]
spacings = pytest.mark.parametrize("spacing", SPACINGS)


def kept(found: FittedTable, curves: OutputCurves, turns: np.ndarray, beside: float = 0.5) -> np.ndarray:
    """Errors of the table at real turns, those within `beside` steps of a break left out, (M, C)."""
    table = found.table
    far = np.ones(len(turns), dtype=bool)
    for place in curves.breaks:
        far &= np.abs(turns - place) * table.turn_one > beside + 1e-4
    turns = turns[far]
    steps = [turn_step(table, turn) for turn in turns.tolist()]
    return lookup_all(table, steps) * table.scale - curves.values(turns)


def too_steep(curves: OutputCurves) -> bool:
    """Whether the rounding of the turn alone, and a count for the whole numbers, take the error."""
    allowed = np.array(curves.allowed)
    stretches = sampled(curves, TURN_ONE, len(allowed))
    shift, _ = counts_for(stretches, allowed, 1.0)
    return any((stretch.between + ROUNDING_COUNTS * 0.5**shift >= allowed).any() for stretch in stretches)


@pytest.mark.slow
@spacings
@given(st.data())
def test_a_random_chassis_steers_within_the_bound_at_ten_thousand_random_turns(spacing, data):
    design = data.draw(designs(min_wheels=1, max_wheels=5))
    curves = steering_of(design, 0.2)
    rounding = data.draw(st.sampled_from(["counted", "told"]))
    if rounding == "counted" and too_steep(curves):
        with pytest.raises(TableError, match="so steep"):
            fit_table(curves, spacing, turn_rounding=rounding)
        return
    found = fit_table(curves, spacing, turn_rounding=rounding)
    assert (found.bound_at_steps <= 0.2).all()
    assert rounding == "told" or (found.bound <= 0.2).all()
    assert largest_number(found.table) <= MOST_32
    turns = np.random.default_rng(1).uniform(curves.low, curves.high, 10_000)
    errors = np.abs(kept(found, curves, turns))
    assert (errors <= found.bound + 1e-9).all()


@spacings
def test_the_bound_is_reached_and_not_just_kept(spacing):
    curves = steering_of(six(135.0))
    found = fit_table(curves, spacing)
    assert 0.9 * 0.1 < found.bound.max() <= 0.1
    turns = np.linspace(-1.0, 1.0, 200_001)
    assert np.abs(kept(found, curves, turns)).max() > 0.9 * found.bound.max()


@spacings
def test_a_broken_row_breaks_the_bound(spacing):
    curves = steering_of(six(135.0))
    found = fit_table(curves, spacing)
    values = found.table.values.copy()
    values[len(values) // 3, 1] += 40
    broken = type(found.table)(**{**vars(found.table), "values": values})
    steps = np.arange(-16_384, 16_385)
    errors = lookup_all(broken, steps) * broken.scale - curves.values(steps / 16_384)
    assert np.abs(errors).max() > 0.1


@spacings
def test_nothing_is_interpolated_across_a_flip(spacing):
    curves = steering_of(six(80.0))
    assert len(curves.breaks) >= 2
    found = fit_table(curves, spacing)
    table = found.table
    for place in curves.breaks:
        q = place * 16_384
        near, far = (np.floor(q + 1e-6), np.floor(q + 1e-6) + 1) if q > 0 else (np.ceil(q - 1e-6),) * 2
        far = far if q > 0 else near - 1
        for step, turn in ((near, place - np.sign(q) * 1e-9), (far, far / 16_384)):
            answer = np.array(lookup(table, int(step))) * table.scale
            assert answer == pytest.approx(curves.values(np.array([turn]))[0], abs=0.1)
    assert (found.bound <= 0.1).all()


@spacings
def test_a_flip_at_an_end_and_several_at_one_turn_are_met(spacing):
    curves = one(step_at(0.5), breaks=(-1.0, 0.5, 0.5, 1.0))
    found = fit_table(curves, spacing)
    assert [(s.first, s.last) for s in found.table.segments] == [(-16_384, 8192), (8193, 16_384)]
    assert found.bound.max() <= 0.1


def test_a_jump_that_nobody_named_is_refused_or_has_its_rows_side_by_side():
    hidden = one(step_at(0.3))
    with pytest.raises(TableError, match=re.escape("near turn 0.3")):
        fit_table(hidden)
    found = fit_table(hidden, turn_rounding="told")
    assert found.bound_at_steps.max() <= 0.1
    beside = int(np.floor(0.3 * 16_384))
    assert {beside, beside + 1} <= set(found.table.nodes.tolist())


@spacings
def test_the_error_of_each_piece_is_within_the_analytic_bound(spacing):
    # f = degrees(arctan s): max |f''| is 180 / pi times 3 sqrt(3) / 8, at s = 1 / sqrt(3).
    found = fit_table(one(arctan), spacing)
    table = found.table
    off = np.abs(table.values[:, 0] * table.scale[0] - arctan(np.minimum(table.nodes / 16_384, 1.0)))
    for i, (start, end) in enumerate(zip(table.nodes[:-1], table.nodes[1:], strict=True)):
        if end > table.last:
            continue
        width = (end - start) / 16_384
        bulge = width**2 * np.degrees(3.0 * np.sqrt(3.0) / 8.0) / 8.0
        inside = np.abs(found.error[start + 16_384 : end + 16_385, 0]).max()
        assert inside <= max(off[i], off[i + 1]) + bulge + 0.5 * table.scale[0]


def test_an_error_that_hides_between_too_few_samples_is_found_by_the_proof(monkeypatch):
    monkeypatch.setattr("geometry.lookup_table.fit.THINNINGS", (50.0, 0.0))
    found = fit_table(steering_of(six(135.0)))
    assert found.bound.max() <= 0.1


def test_a_table_that_never_keeps_to_the_error_is_refused(monkeypatch):
    monkeypatch.setattr("geometry.lookup_table.fit.THINNINGS", (50.0,))
    with pytest.raises(TableError, match="allow a larger one"):
        fit_table(steering_of(six(135.0)))


@spacings
def test_the_same_curves_give_the_same_table_to_the_last_bit(spacing):
    first, second = (fit_table(steering_of(six(80.0), share=0.01), spacing).table for _ in range(2))
    assert first.segments == second.segments
    assert first.nodes.tobytes() == second.nodes.tobytes()
    assert first.values.tobytes() == second.values.tobytes()


def test_free_rows_take_fewer_bytes_than_even_ones_where_curves_bend_unevenly():
    curves = steering_of(six(135.0))
    assert fit_table(curves, "free").table.size < fit_table(curves, "even").table.size


@spacings
def test_half_the_error_takes_about_1_4_times_the_rows(spacing):
    rows = [len(fit_table(steering_of(six(135.0), e), spacing).table.nodes) for e in (0.4, 0.2, 0.1)]
    assert rows[1] / rows[0] == pytest.approx(np.sqrt(2.0), rel=0.12)
    assert rows[2] / rows[1] == pytest.approx(np.sqrt(2.0), rel=0.12)


@spacings
def test_no_output_at_all_makes_an_empty_table(spacing):
    found = fit_table(OutputCurves(lambda turn: np.empty((len(turn), 0)), -1.0, 1.0, []), spacing)
    assert lookup(found.table, 5) == ()
    assert found.bound.shape == (0,)
    assert found.table.values.size == 0


@spacings
def test_a_constant_curve_needs_two_rows(spacing):
    found = fit_table(one(lambda turn: np.full_like(turn, 30.0), kinks=(0.0,)), spacing)
    assert len(found.table.nodes) == 2
    assert found.bound[0] <= 1e-12


def test_an_even_table_starts_anew_at_a_kink_where_that_takes_fewer_bytes():
    corner = one(np.abs, 0.01, low=-0.3, kinks=(0.0,))
    found = fit_table(corner, "even")
    assert [(s.first, s.rows) for s in found.table.segments] == [(-4915, 2), (0, 2)]
    # In the middle of the range a row stands at the kink by itself, and one segment is enough.
    assert len(fit_table(one(np.abs, 0.01, kinks=(0.0,)), "even").table.segments) == 1
    between = one(lambda turn: np.abs(turn - 0.20003), 0.01, kinks=(0.20003,))
    assert [s.first for s in fit_table(between, "even").table.segments] == [-16_384, 3278]


@spacings
def test_a_single_wheel_has_a_table(spacing):
    wheel = Wheel(name="A", x_mm=150.0, y_mm=0.0, kind="steered")
    design = Design(wheels=(wheel,), base_axle_x_mm=0.0)
    assert fit_table(steering_of(design), spacing).bound.max() <= 0.1


@spacings
def test_a_range_narrower_than_a_step_is_one_row(spacing):
    found = fit_table(one(arctan, low=0.25, high=0.25 + 1e-5), spacing)
    assert found.table.nodes.tolist() == [4096]
    assert found.bound[0] <= 0.1


@spacings
def test_an_error_too_fine_for_two_bytes_takes_four_and_stays_within_32_bits(spacing):
    curves = one(lambda turn: 1_000_000.0 * np.arctan(turn), 20.0)
    found = fit_table(curves, spacing, turn_rounding="told")
    assert found.table.value_bytes == 4
    assert np.abs(found.table.values).max() > 32_767
    assert largest_number(found.table) <= MOST_32
    assert found.bound_at_steps[0] <= 20.0


@spacings
@pytest.mark.parametrize("turn_one", [16, 1000, 32_768, 262_144])
def test_other_turn_steps_keep_the_bound_too(spacing, turn_one):
    found = fit_table(steering_of(six(135.0), 0.5), spacing, turn_one=turn_one, turn_rounding="told")
    assert found.bound_at_steps.max() <= 0.5
    assert largest_number(found.table) <= MOST_32
    assert found.table.turn_bytes == (2 if turn_one < 32_768 else 4)


@pytest.mark.parametrize("turn_one", [0, 15, 262_145])
def test_turn_steps_out_of_range_are_refused(turn_one):
    with pytest.raises(TableError, match=re.escape(f"turn_one must be from 16 to 262144 (got {turn_one})")):
        fit_table(one(arctan), turn_one=turn_one)


@spacings
def test_a_size_that_is_too_small_is_refused_with_the_best_that_it_holds(spacing):
    curves = steering_of(six(135.0))
    needed = fit_table(curves, spacing).table.size
    limit = needed // 2
    with pytest.raises(TableError, match=f"takes {needed} bytes, but at most {limit}") as refused:
        fit_table(curves, spacing, largest_bytes=limit)
    times = refused.value.times_allowed
    assert fit_table(steering_of(six(135.0), 0.1 * times), spacing).table.size <= limit
    assert fit_table(steering_of(six(135.0), 0.1 * times / 1.25), spacing).table.size > limit
    assert fit_table(curves, spacing, largest_bytes=needed).table.size == needed


def test_a_size_that_no_error_meets_is_refused():
    with pytest.raises(TableError, match="no error makes the table that small"):
        fit_table(one(arctan), largest_bytes=3)


@spacings
def test_no_array_of_a_result_can_be_changed(spacing):
    found = fit_table(one(arctan), spacing)
    arrays = [*vars(found).values(), *vars(found.table).values()]
    arrays = [array for array in arrays if isinstance(array, np.ndarray)]
    assert len(arrays) == 8
    assert not any(array.flags.writeable for array in arrays)


def test_flips_are_breaks_and_ends_of_travel_are_kinks():
    marks = [
        Landmark(-0.5, "flip", 1),
        Landmark(0.0, "straight"),
        Landmark(0.3, "travel end", 1),
        Landmark(0.5, "side stopped"),
        Landmark(0.5, "flip", 2),
        Landmark(0.5, "flip", 3),
    ]
    assert breaks_and_kinks(marks) == ((-0.5, 0.5), (0.0, 0.3))


@given(st.data())
def test_every_jump_of_an_ideal_angle_is_among_the_breaks(data):
    curves = steering_of(data.draw(designs(min_wheels=1, max_wheels=5)))
    assume(len(curves.allowed) > 0)
    turn = np.linspace(curves.low, curves.high, 20_001)
    jumps = np.abs(np.diff(curves.values(turn), axis=0)).max(axis=1) > 30.0
    for m in np.flatnonzero(jumps):
        closer = np.linspace(turn[m], turn[m + 1], 20_001)
        still = np.abs(np.diff(curves.values(closer), axis=0)).max() > 30.0
        named = any(turn[m] - 1e-9 <= place <= turn[m + 1] + 1e-9 for place in curves.breaks)
        assert named or not still


def smooth(turn_one: int, wheels: int, allowed: float = 0.02) -> FittedTable:
    return fit_table(
        one(lambda turn: np.degrees(np.arctan(5.0 * turn)), allowed, wheels=wheels), turn_one=turn_one
    )


def test_chosen_steps_give_hardly_more_rows_than_all_of_them():
    every, chosen = smooth(65_536, 1), smooth(65_536, 64)
    assert every.every_step
    assert not chosen.every_step
    assert len(chosen.steps) < 0.1 * len(every.steps)
    assert len(every.table.nodes) <= len(chosen.table.nodes) <= 1.1 * len(every.table.nodes)


@spacings
@given(st.floats(1.0, 30.0), st.floats(-0.8, 0.8))
def test_a_table_proved_at_chosen_steps_keeps_to_its_bound_at_each(spacing, steep, place):
    curves = one(lambda turn: np.degrees(np.arctan(steep * (turn - place))), 0.1, wheels=64)
    found = fit_table(curves, spacing, turn_one=65_536)
    assert not found.every_step
    assert found.bound[0] <= 0.1
    steps = np.arange(-65_536, 65_537)
    for off in (-0.49, 0.0, 0.49):
        turn = np.clip((steps + off) / 65_536, -1.0, 1.0)
        error = lookup_all(found.table, steps) * found.table.scale - curves.values(turn)
        assert np.abs(error).max() <= found.bound[0] + 1e-9


def test_a_row_between_two_chosen_steps_is_proved_too():
    curves = one(lambda turn: np.degrees(np.arctan(5.0 * turn)), 0.1, wheels=64)
    found = fit_table(curves, "even", turn_one=65_536)
    nodes = found.table.nodes
    assert set(nodes[nodes <= 65_536].tolist()) <= set(found.steps.tolist())


def test_even_rows_that_are_too_many_to_search_are_refused_with_the_remedy():
    # Fifty jumps of the slope in a range of thousandths, for whose sake all rows would stand close.
    def jagged(turn):
        wave = np.where(np.abs(turn) < 2e-3, np.sin(turn * 2e5), 0.0)
        return np.repeat(wave[:, None], 64, axis=1)

    curves = OutputCurves(jagged, -1.0, 1.0, [0.3] * 64, kinks=())
    with pytest.raises(TableError, match="choose free spacing"):
        fit_table(curves, "even", turn_one=262_144, turn_rounding="told")


def test_the_search_for_a_size_ends_after_few_fits_where_steps_were_chosen(monkeypatch):
    sizes, table = [], geometry.lookup_table.fit._table

    def counted(*given):
        found = table(*given)
        sizes.append(found.size)
        return found

    monkeypatch.setattr("geometry.lookup_table.fit._table", counted)
    curves = OutputCurves(
        lambda turn: np.stack([np.degrees(np.arctan((5 + c) * turn)) for c in range(24)], axis=1),
        -1.0,
        1.0,
        [0.02] * 24,
        kinks=(),
    )
    with pytest.raises(TableError, match="within them the best"):
        fit_table(curves, turn_one=65_536, largest_bytes=200)
    assert len(sizes) <= 12


def test_a_size_below_the_end_rows_is_refused_without_a_search(monkeypatch):
    fitted, calls = geometry.lookup_table.fit._fitted, []
    monkeypatch.setattr("geometry.lookup_table.fit._fitted", lambda *given: calls.append(1) or fitted(*given))
    with pytest.raises(TableError, match="no error makes the table that small"):
        fit_table(one(arctan), largest_bytes=7)
    assert len(calls) == 1
