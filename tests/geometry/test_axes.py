from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from geometry.axes import frozen_array, rolling_direction, wrap


@given(st.floats(-1e4, 1e4))
def test_a_wrapped_angle_is_the_same_direction_within_half_a_turn(angle: float) -> None:
    found = float(wrap(angle))
    assert -math.pi - 1e-11 < found <= math.pi + 1e-11
    assert math.cos(found) == pytest.approx(math.cos(angle), abs=1e-9)
    assert math.sin(found) == pytest.approx(math.sin(angle), abs=1e-9)


def test_half_a_turn_either_way_is_told_as_positive() -> None:
    assert wrap([math.pi, -math.pi, 3 * math.pi]) == pytest.approx([math.pi] * 3)


def test_left_is_counter_clockwise() -> None:
    tx, ty = rolling_direction(math.radians(90.0))
    assert (float(tx), float(ty)) == pytest.approx((0.0, 1.0), abs=1e-15)


def test_a_frozen_array_cannot_be_written_to() -> None:
    array = frozen_array([1, 2])
    assert array.dtype == np.float64
    with pytest.raises(ValueError, match="read-only"):
        array[0] = 3.0
