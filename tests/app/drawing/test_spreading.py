"""Labels spread in a column: in order, apart, and moved no more than that takes."""

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.drawing.spreading import spread

rows = st.lists(st.tuples(st.floats(-100, 100), st.floats(0.5, 12)), max_size=9)


def shifts(found, wanted):
    return sum((a - b) ** 2 for a, b in zip(found, wanted, strict=True))


@given(rows, st.floats(0, 3))
def test_labels_keep_their_order_and_their_gap(labels, gap):
    wanted, heights = [want for want, _ in labels], [high for _, high in labels]
    found = spread(wanted, heights, gap)
    assert len(found) == len(labels)
    for (a, high_a), (b, high_b) in itertools.pairwise(zip(found, heights, strict=True)):
        assert a - b >= 0.5 * (high_a + high_b) + gap - 1e-9


@given(rows)
def test_labels_that_have_room_stay_where_they_belong(labels):
    heights = [high for _, high in labels]
    wanted = [-20.0 * k for k in range(len(labels))]
    assert spread(wanted, heights, 1.0) == pytest.approx(wanted)


@given(rows, st.data())
def test_no_other_places_need_less_of_a_shift(labels, data):
    """Any other arrangement that keeps order and gap, made by pushing labels up or down, is worse."""
    wanted, heights = [want for want, _ in labels], [high for _, high in labels]
    best = spread(wanted, heights, 1.0)
    moved = list(best)
    for k in range(len(moved)):
        moved[k] += data.draw(st.floats(-5, 5))
    for k in range(1, len(moved)):
        moved[k] = min(moved[k], moved[k - 1] - 0.5 * (heights[k - 1] + heights[k]) - 1.0)
    assert shifts(best, wanted) <= shifts(moved, wanted) + 1e-6
