"""Side speeds and poses as printed in courses, and facts that every builder knows."""

from __future__ import annotations

import math

import numpy as np
import pytest

from geometry.kinematics.alignment import alignment_of
from geometry.kinematics.ideal import solve
from geometry.kinematics.motion import (
    from_sides,
    from_turn,
    pose_after,
    radius_of_turn,
    sides_of_turn,
    turn_centre,
)
from geometry.model.base_axle import Base, base_of
from geometry.model.design import Design
from geometry.model.wheel import Wheel
from geometry.model.wheel_arrays import wheel_arrays
from geometry.turn_range.sweep import landmarks


def axle(width: float) -> Base:
    return Base(0.0, 0.5 * width, -0.5 * width, None, None, "origin")


def test_half_a_turn_on_the_spot_in_four_seconds() -> None:
    # CSCE 452/752, Fall 2025, homework 3 solutions; read: wheels 10 cm apart, pi in 4 s takes
    # v_r = 5 pi / 4 cm/s and v_l = -v_r.
    speed = 5.0 * math.pi / 4.0
    motion = from_sides([-speed], [speed], axle(10.0))
    assert pose_after(motion.twist, [4.0])[0, 0] == pytest.approx([0.0, 0.0, math.pi])


def test_the_distance_between_wheels_from_a_spin() -> None:
    # The same solutions; read: v_l 3, v_r -3 for 3 s turns by -pi/2, so they are 36 / pi cm apart.
    motion = from_sides([3.0], [-3.0], axle(36.0 / math.pi))
    assert pose_after(motion.twist, [3.0])[0, 0, 2] == pytest.approx(-0.5 * math.pi)


def test_the_pose_after_three_moves_is_the_printed_one_to_the_last_digits() -> None:
    # Printed output of a student's solution to Freiburg's Introduction to Mobile Robotics, sheet 3;
    # read: axle 0.5, from (1.5, 2.0, pi/2).
    x, y, heading = 1.5, 2.0, 0.5 * math.pi
    for left, right, time in ((0.3, 0.3, 3.0), (0.1, -0.1, 1.0), (0.2, 0.0, 2.0)):
        dx, dy, turned = pose_after(from_sides([left], [right], axle(0.5)).twist, [time])[0, 0]
        c, s = math.cos(heading), math.sin(heading)
        x, y, heading = x + c * dx - s * dy, y + s * dx + c * dy, heading + turned
    assert (x, y, heading) == pytest.approx(
        (1.6396758098815527, 3.035655185914644, 0.3707963267948966), abs=1e-14
    )


# Facts of the trade: common practice, no source.
H = 100.0
SIX = Design(
    wheels=tuple(
        Wheel(name=f"{x:g} {y:g}", x_mm=x, y_mm=y, kind="steered" if x else "fixed")
        for x in (1.1 * H, 0.0, -1.1 * H)
        for y in (H, -H)
    )
)


@pytest.mark.parametrize("radius", [101.0, 150.0, 400.0, 5000.0])
def test_common_practice_corner_angles_of_a_chassis_a_tenth_longer_than_wide(radius: float) -> None:
    turn = H / (radius + H)
    found = solve(wheel_arrays(SIX), from_turn([turn], base_of(SIX))).steer[0]
    assert math.tan(found[0]) == pytest.approx(1.1 * H / (radius - H))
    assert math.tan(found[1]) == pytest.approx(1.1 * H / (radius + H))
    assert found[4:].tolist() == pytest.approx([-found[0], -found[1]])


@pytest.mark.parametrize(("left", "right"), [(0.2, 0.9), (0.9, 0.2), (-0.3, 1.0), (0.0, 1.0)])
def test_common_practice_radius_from_the_side_speeds(left: float, right: float) -> None:
    centre = turn_centre(from_sides([left], [right], base_of(SIX)).twist)[0]
    assert centre[1] / H == pytest.approx((right + left) / (right - left))


def test_common_practice_opposite_speeds_spin_and_a_stopped_side_is_turned_about() -> None:
    base = base_of(SIX)
    assert sides_of_turn([1.0]) == ([-1.0], [1.0])
    assert radius_of_turn([1.0, 0.5, -0.5], base).tolist() == pytest.approx([0.0, H, -H])
    stopped = alignment_of(wheel_arrays(SIX), solve(wheel_arrays(SIX), from_turn([0.5], base)))
    assert stopped.radius[0, 2] == pytest.approx(0.0, abs=1e-12)  # the middle wheel of that side


# Wheelbase, width, radius of the front axle's middle and least radius of the inner rear wheel
# [ft]. Radii: TxDOT Roadway Design Manual, Table 4-1 (AASHTO's figures); read. Wheelbase and
# width: mostly from memory.
CIRCLES = {
    "P": (11.0, 7.0, 21.0, 14.4),
    "SU-30": (20.0, 8.0, 38.0, 28.4),
    "SU-40": (25.0, 8.0, 47.4, 36.4),
    "S-BUS-36": (21.3, 8.0, 34.9, 23.8),
    "S-BUS-40": (20.0, 8.0, 35.4, 25.3),
}


@pytest.mark.parametrize("name", CIRCLES)
def test_a_steady_circle_cuts_in_at_least_as_far_as_a_printed_half_turn(name: str) -> None:
    # The table is no steady state but fits the least radius in a half turn between straights
    # (a finding of this project; no source says so), so a circle without end cuts in a little more.
    wheelbase, width, front, printed = CIRCLES[name]
    k = 100.0
    angle = math.degrees(math.asin(wheelbase / front))  # not the arc tangent: R is at the front axle
    design = Design(
        wheels=(
            Wheel(name="left", x_mm=0.0, y_mm=0.5 * k * width),
            Wheel(name="right", x_mm=0.0, y_mm=-0.5 * k * width),
            Wheel(name="front", x_mm=k * wheelbase, y_mm=0.0, kind="steered", travel_max_deg=angle),
        )
    )
    arrays, base = wheel_arrays(design), base_of(design)
    turn = next(m.turn for m in landmarks(arrays, base) if m.wheel == 2 and m.turn > 0)
    radius = alignment_of(arrays, solve(arrays, from_turn([turn], base))).radius[0] / k
    assert radius[2] == pytest.approx(front)
    assert printed - 0.2 <= radius[0] <= printed + 0.05 - 1e-9  # printed to a tenth
    np.testing.assert_allclose(radius[0], math.sqrt(front**2 - wheelbase**2) - 0.5 * width)
