"""Wheels whose contact stands away from the kingpin."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given

from geometry.kinematics.ideal import FLIPPED, Solution, solve
from geometry.kinematics.motion import Motion, from_turn
from geometry.model.base_axle import base_of
from geometry.model.design import Design
from geometry.model.wheel import Wheel
from geometry.model.wheel_arrays import wheel_arrays
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


def with_axle(*more: Wheel) -> Design:
    """A fixed axle of track 200 mm at x = 0, and more wheels."""
    return Design(
        wheels=(Wheel(name="L", x_mm=0.0, y_mm=100.0), Wheel(name="R", x_mm=0.0, y_mm=-100.0), *more)
    )


@pytest.mark.parametrize("side", [1.0, -1.0])
@pytest.mark.parametrize("lateral", [0.0, 7.0])
def test_a_wheel_with_its_contact_on_the_base_axle_keeps_straight_beyond_the_centre(
    side: float, lateral: float
) -> None:
    wheel = Wheel(
        name="M",
        x_mm=10.0,
        y_mm=side * 50.0,
        kind="steered",
        trail_mm=10.0,
        lateral_offset_mm=lateral,
        travel_min_deg=-135.0,
        travel_max_deg=135.0,
    )
    s = np.linspace(0.6, 1.0, 401)
    found = solved(with_axle(wheel), *(side * s))
    assert (found.steer[:, 2] == 0.0).all()
    assert not (found.unreachable | found.limited | (found.branch == 1))[:, 2].any()
    assert np.abs(found.side[:, 2]).max() == 0.0
    # At heading 0 it rolls as any fixed wheel on the axle does: 1 - s - s y / h of its contact.
    contact_y = side * 50.0 + lateral
    np.testing.assert_allclose(found.roll[:, 2], 1.0 - s - side * s * contact_y / 100.0, atol=1e-15)
    reverse = solve(wheel_arrays(with_axle(wheel)), from_turn([side * 0.9], base_of(with_axle(wheel)), -1.0))
    assert reverse.steer[0, 2] == 0.0
    assert reverse.roll[0, 2] == pytest.approx(-(1.0 - 0.9 - side * 0.9 * contact_y / 100.0), abs=1e-15)


def test_two_trailing_wheels_that_make_the_base_axle_never_turn() -> None:
    pair = tuple(
        Wheel(
            name=f"{y:g}",
            x_mm=10.0,
            y_mm=y,
            kind="steered",
            trail_mm=10.0,
            travel_min_deg=-60.0,
            travel_max_deg=60.0,
        )
        for y in (100.0, -100.0)
    )
    s = np.linspace(-1.0, 1.0, 2001)
    found = solved(Design(wheels=pair), *s)
    assert (found.steer == 0.0).all()
    assert not found.limited.any()
    slower = 1.0 - 2.0 * np.abs(s)
    np.testing.assert_allclose(found.roll[:, 0], np.where(s > 0, slower, 1.0), atol=1e-15)


@pytest.mark.parametrize("turn", [0.3, 0.69, 0.8, 1.0, -0.4, -1.0])
def test_a_contact_on_the_base_axle_has_a_second_angle_where_the_first_is_out_of_travel(turn: float) -> None:
    # Toe of 20 degrees asks for a steer angle of 20, which this travel does not hold.
    wheel = Wheel(
        name="M",
        x_mm=10.0,
        y_mm=50.0,
        kind="steered",
        trail_mm=10.0,
        toe_deg=20.0,
        travel_min_deg=-180.0,
        travel_max_deg=10.0,
    )
    found = solved(with_axle(wheel), turn)
    heading = float(found.heading[0, 2])
    roll, sideways = contact_velocity(wheel, heading, found.motion.twist[0])
    if found.limited[0, 2]:
        assert math.degrees(found.steer[0, 2]) in (pytest.approx(-180.0), pytest.approx(10.0))
        return
    assert abs(math.remainder(heading, math.tau)) > 0.01
    assert sideways == pytest.approx(0.0, abs=1e-9)
    assert found.roll[0, 2] == pytest.approx(roll, abs=1e-9)
    assert found.branch[0, 2] == FLIPPED


def test_a_hair_off_the_base_axle_the_wheel_turns_round_while_the_centre_passes() -> None:
    wheel = Wheel(name="M", x_mm=0.02, y_mm=50.0, kind="steered")
    edge = 100.0 / 150.0  # the turn whose centre is abreast
    found = solved(with_axle(wheel), edge - 0.01, edge, edge + 0.01)
    assert np.degrees(found.steer[:, 2]) == pytest.approx([0.0, 90.0, 180.0], abs=1.0)
