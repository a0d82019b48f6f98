"""Turns from and to straight: the closed form against small steps along the path."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from geometry.turning_space.guided import angle_behind, least_radius, stepped_least_radius


def column(value: float) -> np.ndarray:
    return np.array([[value]])


@given(st.floats(1.02, 6.0), st.floats(-1.0, 1.0), st.floats(-1.0, 0.4), st.floats(0.3, 6.3))
@settings(max_examples=25)
def test_the_closed_form_agrees_with_steps(share: float, side: float, along: float, angle: float) -> None:
    lead, radius = 200.0, 200.0 * share
    least, _ = least_radius(
        np.array([lead]), np.array([radius]), column(along * lead), column(side * lead), angle
    )
    stepped = stepped_least_radius(lead, radius, (along * lead, side * lead), angle, steps=2000)
    assert stepped == pytest.approx(least[0, 0], abs=0.02 * share)


def test_on_a_long_arc_the_chassis_stands_as_in_a_steady_circle() -> None:
    behind = angle_behind(np.array([[1e5]]), column(200.0), column(500.0), column(2e5))
    assert np.sin(behind[0, 0]) == pytest.approx(200.0 / 500.0)


def test_the_angle_follows_its_differential_equation() -> None:
    way, step = np.linspace(1.0, 900.0, 40), 1e-4
    before, after = (
        angle_behind(way[None] + d, column(200.0), column(260.0), column(400.0)) for d in (-step, step)
    )
    middle = angle_behind(way[None], column(200.0), column(260.0), column(400.0))
    on_arc = np.where(way < 400.0, 1.0 / 260.0, 0.0)
    assert (after - before)[0] / (2 * step) == pytest.approx(on_arc - np.sin(middle[0]) / 200.0, abs=1e-9)


def test_the_sharpest_arc_has_a_limit_and_no_nan() -> None:
    behind = angle_behind(np.linspace(0.0, 2000.0, 50)[None], column(200.0), column(200.0), column(1000.0))
    assert np.isfinite(behind).all()
    # u = tan(b / 2) follows 1 / (1 - u) = 1 + s / 2R there.
    way = np.linspace(0.0, 1000.0, 20)
    u = 1.0 - 1.0 / (1.0 + way / 400.0)
    found = angle_behind(way[None], column(200.0), column(200.0), column(1000.0))[0]
    assert found == pytest.approx(2.0 * np.arctan(u), abs=1e-5)
