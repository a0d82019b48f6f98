from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from geometry.model.motors import STEER_UNITS, Gearing, SteerMotor
from geometry.transmission.scale import LinearScale, Scale
from tests.bent import BentScale


def motor(unit: str = "degrees", **more: object) -> SteerMotor:
    return SteerMotor.model_validate(
        {"name": "A", "wheels": (Gearing(wheel="left", ratio=1.0),), "unit": unit, **more}
    )


scales = st.one_of(
    st.builds(
        lambda unit, zero, turned: LinearScale(motor(unit, zero_deg=zero, reversed=turned)),
        st.sampled_from(STEER_UNITS),
        st.floats(-90.0, 90.0),
        st.booleans(),
    ),
    st.builds(lambda curve: BentScale((-1.2, 1.2), curve=curve), st.floats(1e-4, 0.01)),
)


@given(scales, st.floats(-1.2, 1.2))
def test_what_is_told_leads_back_to_the_shaft(scale: Scale, shaft: float) -> None:
    assert float(scale.shaft(scale.command(np.array(shaft)))) == pytest.approx(shaft, abs=1e-11)


@given(scales, st.floats(-1.2, 1.2))
def test_a_degree_changes_what_is_told_by_the_least_slope_or_more(scale: Scale, shaft: float) -> None:
    step = np.radians(1e-3)
    change = np.abs(np.diff(scale.command(np.array([shaft - step / 2, shaft + step / 2]))))
    assert change >= 1e-3 * scale.least_slope * (1 - 1e-6)


def test_a_servo_counts_microseconds_from_its_zero_and_backward_where_it_is_reversed() -> None:
    servo = LinearScale(motor("microseconds", zero_deg=9.0, reversed=True))
    assert float(servo.command(np.radians(18.0))) == pytest.approx(1_400.0, abs=1e-9)
    assert np.degrees(servo.ends) == pytest.approx([-171.0, 189.0])
    assert servo.least_slope == pytest.approx(1_000.0 / 90.0)
