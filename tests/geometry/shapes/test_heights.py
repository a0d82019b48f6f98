"""Heights and chords of what lies, and how gaps from above and upward join."""

import numpy as np
import pytest

from geometry.shapes.heights import Heights, height_gap, joined, left_across


def lying(low=0.0, radius=30.0, play=0.0, width=0.0):
    return Heights(
        *(
            np.array([v])
            for v in (low, low + 2 * radius + play, radius, low + radius, low + radius + play, width)
        )
    )


@pytest.mark.parametrize(
    ("low", "high", "chord"),
    [(0, 100, 30), (30, 31, 30), (48, 99, 24), (-50, 12, 24), (60, 80, 0), (59.9999, 80, 0.07746)],
)
def test_a_wheel_is_as_wide_as_its_widest_chord_in_the_shared_heights(low, high, chord):
    assert lying().widest(low, high)[0] == pytest.approx(chord, abs=1e-4)


def test_room_above_and_beside_lets_the_axis_rise_and_widens_the_chord():
    roomy = lying(play=10.0, width=5.0)
    assert roomy.widest(40.0, 41.0)[0] == pytest.approx(35.0)
    assert roomy.widest(58.0, 99.0)[0] == pytest.approx(5.0 + 24.0)


def test_heights_that_touch_have_no_gap_and_a_sheet_within_is_crossed():
    assert height_gap(lying(), 60.0, 70.0)[0] == 0.0
    assert height_gap(lying(), 20.0, 20.0)[0] == -20.0
    assert height_gap(lying().raised(5.0), 60.0, 70.0)[0] == -5.0


def test_the_gap_that_is_left_across_joins_to_the_wanted_one():
    upward = np.array([-1.0, 0.0, 3.0, 5.0, 5.1])
    left = left_across(5.0, upward)
    assert left[:4] == pytest.approx([5.0, 5.0, 4.0, 0.0])
    assert left[4] == -np.inf
    assert joined(left[:4], upward[:4]) == pytest.approx(np.full(4, 5.0))
