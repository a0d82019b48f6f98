"""Wheels whose contact stands away from the kingpin."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given

from geometry.chassis import Design, Wheel, wheel_arrays
from geometry.motion import Motion
from geometry.solve import Solution, solve
from tests.geometry.six_wheels import H, X, contact_velocity, fastest, six, solved
from tests.strategies import about, driven_designs


@pytest.mark.parametrize("side", [1.0, -1.0])
def test_a_small_trail_changes_little_on_the_base_axle_beyond_the_centre(side: float) -> None:
    def with_trail(trail: float) -> Solution:
        wheel = Wheel(name="extra", x_mm=0.0, y_mm=side * 60.0, kind="steered", trail_mm=trail)
        return solved(six().edited(wheels=(*six().wheels, wheel)), side * 0.9)

    none, little = with_trail(0.0), with_trail(0.01)
    assert little.steer[0, 6] == pytest.approx(none.steer[0, 6], abs=1e-3)
    assert little.roll[0, 6] == pytest.approx(none.roll[0, 6], abs=1e-3)


def test_a_wheel_stops_at_the_end_that_is_nearer_in_direction_though_its_angle_passed_half_a_turn() -> None:
    axle = (Wheel(name="L", x_mm=0.0, y_mm=H), Wheel(name="R", x_mm=0.0, y_mm=-H))
    wheel = Wheel(
        name="w",
        x_mm=40.0,
        y_mm=20.0,
        kind="steered",
        trail_mm=-40.0,
        travel_min_deg=-140.0,
        travel_max_deg=10.0,
    )
    found = solved(Design(wheels=(*axle, wheel)), 0.64)
    twist = found.motion.twist[0]
    angles = np.arange(-180.0, 180.0, 0.05)
    sides = [contact_velocity(wheel, math.radians(a), twist)[1] for a in angles]
    ideal = angles[np.flatnonzero(np.sign(sides) != np.sign(np.roll(sides, -1)))]
    away = {end: np.abs((ideal - end + 180.0) % 360.0 - 180.0).min() for end in (-140.0, 10.0)}
    assert len(ideal) == 2
    assert math.degrees(found.steer[0, 2]) == pytest.approx(min(away, key=lambda end: away[end]))
    assert found.limited[0, 2]


def test_a_trailing_wheel_whose_kingpin_is_the_centre_stands_across_in_mirrored_ways() -> None:
    def steer(y: float, omega: float) -> float:
        design = Design(wheels=(Wheel(name="w", x_mm=50.0, y_mm=y, kind="steered", trail_mm=10.0),))
        found = solve(wheel_arrays(design), about(50.0, y, omega))
        assert found.unreachable[0, 0]
        return math.degrees(found.steer[0, 0])

    assert (steer(60.0, 0.01), steer(-60.0, -0.01)) == (-90.0, 90.0)


@pytest.mark.parametrize(("trail", "sign"), [(30.0, 1.0), (-30.0, -1.0)])
def test_trail_turns_a_wheel_by_the_arc_sine_of_trail_over_distance(trail: float, sign: float) -> None:
    design = Design(
        wheels=(
            Wheel(name="L", x_mm=0.0, y_mm=100.0),
            Wheel(name="R", x_mm=0.0, y_mm=-100.0),
            Wheel(name="F", x_mm=120.0, y_mm=0.0, kind="steered", trail_mm=trail),
        )
    )
    found = solved(design, 0.5)  # centre (0, 100): distance 20 sqrt(61) from the kingpin
    distance = math.hypot(120.0, 100.0)
    expected = math.atan2(120.0, 100.0) - sign * math.asin(30.0 / distance)
    assert found.steer[0, 2] == pytest.approx(expected, abs=1e-14)
    assert found.roll[0, 2] == pytest.approx(math.sqrt(distance**2 - 900.0) / 200.0, abs=1e-14)


def test_a_centre_nearer_than_the_trail_is_told() -> None:
    design = six(trail_mm=40.0)
    found = solve(wheel_arrays(design), about(X, H + 20.0, 0.01))
    assert found.unreachable[0].tolist() == [True, False, False, False, False, False]
    assert abs(found.side[0, 0]) == pytest.approx(0.01 * 20.0)


@given(driven_designs(min_wheels=1, kinds=["caster"]))
def test_a_caster_trails_its_kingpin_in_the_true_direction(case: tuple[Design, Motion]) -> None:
    design, motion = case
    found = solve(wheel_arrays(design), motion)
    for n, wheel in enumerate(design.wheels):
        if found.unreachable[0, n] or wheel.trail_mm == 0:
            continue
        heading = float(found.heading[0, n])
        ahead = -wheel.trail_mm
        vx = motion.twist[0, 0] - motion.twist[0, 2] * wheel.y_mm
        vy = motion.twist[0, 1] + motion.twist[0, 2] * wheel.x_mm
        forward = vx * math.cos(heading) + vy * math.sin(heading)
        assert ahead * forward <= 1e-7 * fastest(design, motion.twist[0]) * abs(ahead)
