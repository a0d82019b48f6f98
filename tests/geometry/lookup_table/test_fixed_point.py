from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from geometry.lookup_table.fit import fit_table
from geometry.lookup_table.fixed_point import (
    MOST_32,
    MOST_VALUE,
    LookupTable,
    Segment,
    interpolate,
    largest_number,
    lookup,
    lookup_all,
    turn_step,
)
from tests.geometry.six_wheels import six
from tests.geometry.tabled import steering_of

counts = st.integers(-MOST_VALUE[2], MOST_VALUE[2])


def table(nodes: list[int], values: list[list[int]], spacing: str = "free", step: int = 0) -> LookupTable:
    return LookupTable(
        spacing=spacing,  # type: ignore[arg-type]
        turn_one=16_384,
        segments=(Segment(nodes[0], nodes[-1], step, 0, len(nodes)),),
        nodes=np.array(nodes),
        values=np.array(values),
        shift=np.zeros(len(values[0]), dtype=np.int64),
        value_bytes=2,
    )


@given(counts, counts, st.integers(1, 32_768), st.data())
def test_an_answer_is_at_most_half_a_count_from_the_straight_line(v0, v1, width, data):
    past = data.draw(st.integers(0, width))
    line = v0 + Fraction((v1 - v0) * past, width)
    assert abs(interpolate(v0, v1, past, width) - line) <= Fraction(1, 2)


@given(counts, counts, st.integers(1, 32_768))
def test_a_line_starts_and_ends_in_its_rows_exactly(v0, v1, width):
    assert (interpolate(v0, v1, 0, width), interpolate(v0, v1, width, width)) == (v0, v1)


@given(counts, counts, st.integers(1, 32_768), st.data())
def test_a_mirrored_line_gives_mirrored_answers(v0, v1, width, data):
    past = data.draw(st.integers(0, width))
    assert interpolate(-v0, -v1, past, width) == -interpolate(v0, v1, past, width)


def test_two_bytes_and_the_usual_turn_steps_cannot_overflow_a_32_bit_register():
    most = MOST_VALUE[2]
    worst = table([-16_384, 16_384], [[-most], [most]])
    assert largest_number(worst) == 2 * most * 32_767 + 16_384 <= MOST_32


def test_the_largest_number_is_what_a_lookup_really_meets():
    found = table([-5, 0, 7, 8], [[3], [-90], [40], [-30_000]])
    met = [130 * 6 + 3, 93 * 4 + 2, 30_040, 30_000]
    assert largest_number(found) == max(met)


@pytest.mark.parametrize("spacing", ["free", "even"])
@pytest.mark.parametrize("travel", [80.0, 135.0])
def test_one_answer_at_a_time_is_the_same_as_all_at_once(spacing, travel):
    found = fit_table(steering_of(six(travel), share=0.01), spacing).table
    steps = np.arange(found.first - 3, found.last + 4)
    few = np.unique(np.concatenate([steps[::37], *(found.nodes[:, None] + [-1, 0, 1])]))
    many = lookup_all(found, few)
    assert [tuple(row) for row in many.tolist()] == [lookup(found, q) for q in few.tolist()]


def test_beyond_its_ends_a_table_answers_as_at_its_ends():
    found = table([-10, 10], [[5], [25]])
    assert (lookup(found, -99), lookup(found, 99)) == ((5,), (25,))
    assert lookup_all(found, [-99, 99]).tolist() == [[5], [25]]


def test_a_lookup_gives_plain_whole_numbers():
    (answer,) = lookup(table([-10, 10], [[5], [25]]), 3)
    assert type(answer) is int
    assert answer == 18


def test_the_last_row_of_an_even_segment_may_lie_beyond_what_it_answers():
    found = table([0, 8, 16], [[0], [80], [0]], "even", 8)
    short = LookupTable(**{**vars(found), "segments": (Segment(0, 11, 8, 0, 3),)})
    assert [lookup(short, q)[0] for q in (8, 10, 11, 12, 99)] == [80, 60, 50, 50, 50]


@given(st.floats(-1.0, 1.0))
def test_a_turn_step_is_the_nearest_one(turn):
    found = table([-16_384, 16_384], [[0], [0]])
    assert abs(turn_step(found, turn) - turn * 16_384) <= 0.5 + 1e-9
    assert turn_step(found, -turn) == -turn_step(found, turn)


def test_a_turn_beyond_the_table_is_held_at_its_end():
    assert turn_step(table([-100, 50], [[0], [0]]), 0.9) == 50


def test_the_size_is_that_of_all_stored_numbers():
    free = table([-10, 0, 10], [[1, 2]] * 3)
    assert free.size == 3 * 2 + 3 * 2 * 2
    even = table([-10, 0, 10], [[1, 2]] * 3, "even", 10)
    assert even.size == 3 * 2 + 3 * 2 * 2
    wide = LookupTable(**{**vars(free), "value_bytes": 4, "turn_one": 65_536})
    assert wide.size == 3 * 4 + 3 * 2 * 4


@pytest.mark.parametrize(("step", "size"), [(32_767, 2), (32_768, 4)])
def test_a_distance_between_even_rows_is_stored_in_as_many_bytes_as_it_needs(step, size):
    two = table([-16_384, -16_384 + step], [[0], [9]], "even", step)
    assert two.turn_bytes == size
    assert two.size == 2 * two.value_bytes + 3 * size
    assert table([-16_384, 16_384], [[0], [9]]).turn_bytes == 2
