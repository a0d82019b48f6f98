"""Weights on equal springs and tipping, as in any text on statics; derived by hand besides."""

from __future__ import annotations

import numpy as np
import pytest

from geometry.packaging.weights import spring_loads, tipping_of

X, Y = (200, 200, 0, 0, -200, -200), (150, -150, 160, -160, 150, -150)
WEIGHT = 22.563


def by_axle(loads):
    """Of a centre on the middle line left and right are alike."""
    assert loads[::2] == pytest.approx(loads[1::2])
    return loads[::2]


def test_six_wheels_share_a_weight_like_the_bolts_of_a_bracket() -> None:
    # Statics, the form of a group of bolts: N = (1 x y) (A^T A)^-1 W (1, xc, yc).
    assert by_axle(spring_loads(X, Y, (20.0, 0.0), WEIGHT)) == pytest.approx(
        [4.3246, 3.7605, 3.1964], abs=1e-4
    )


def test_a_weight_far_ahead_lifts_the_rear_wheels() -> None:
    # Derived: with N >= 0 as in any text on contact of springs without tension.
    assert by_axle(spring_loads(X, Y, (150.0, 0.0), WEIGHT)) == pytest.approx([8.4611, 2.8204, 0.0], abs=1e-4)


def test_a_weight_at_a_corner_lifts_two_wheels_that_do_not_stand_together() -> None:
    found = spring_loads(X, Y, (120.0, 100.0), WEIGHT)
    assert found == pytest.approx([10.9027, 3.9722, 6.3509, 0.0, 1.3371, 0.0], abs=1e-4)


def test_taking_lifted_wheels_out_one_by_one_would_be_wrong_here() -> None:
    x, y = np.array([(190, 60), (-120, -150), (-30, -30), (-50, 130), (-100, -100)]).T
    found = spring_loads(x, y, (-56.0, 90.0), 1.0)
    assert found == pytest.approx([0.0, 0.015126, 0.051727, 0.813632, 0.119514], abs=1e-6)


def test_on_a_slope_the_weight_acts_where_it_meets_the_ground() -> None:
    # Statics: nose up by 25 degrees, a centre 20 ahead and 60 high acts 60 tan 25 further back, by W cos 25.
    slope = np.radians(25.0)
    found = by_axle(spring_loads(X, Y, (20.0 - 60.0 * np.tan(slope), 0.0), WEIGHT * np.cos(slope)))
    assert found == pytest.approx([3.2042, 3.4082, 3.6121], abs=2e-4)


def test_three_wheels_carry_by_moments_alone() -> None:
    # Statics: moments about each side of the triangle.
    assert spring_loads([100, 100, -200], [80, -80, 0], (0.0, 20.0), 3.0) == pytest.approx(
        [1.375, 0.625, 1.0]
    )


def test_it_tips_at_the_angle_of_half_the_track_over_the_height() -> None:
    # Statics: atan(distance to the side of the support polygon / height): 150 / 120 and 180 / 120.
    sides = tipping_of([180, 180, -180, -180], [150, -150, 150, -150], (0.0, 0.0, 120.0))
    angles = sorted(float(np.degrees(side.angle)) for side in sides)
    assert angles == pytest.approx([51.340, 51.340, 56.310, 56.310], abs=1e-3)
