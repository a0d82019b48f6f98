"""Room to turn, as standards, tables and texts state it, and as others' tools add it up.

Each value says where it comes from: `read` (in the source or an excerpt of it), `memory` (recalled),
`derived` (by hand from the definition in the test's name). Lengths are in the source's unit.
"""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from shapely import MultiPoint, Polygon, affinity, unary_union

from geometry.kinematics.motion import turn_of_radius
from geometry.kinematics.robot import robot_of
from geometry.model.design import Design
from geometry.model.wheel import Wheel
from geometry.turning_space.area import swept_area
from geometry.turning_space.box import any_motion_lane
from geometry.turning_space.guided import least_radius, stepped_least_radius
from geometry.turning_space.measures import Measures, measures_of

FOOT = 304.8
BODY = ((180.0, 130.0), (-180.0, 130.0), (-180.0, -130.0), (180.0, -130.0))


def box(front: float, rear: float, width: float) -> Design:
    half = 0.5 * width
    return Design(body_mm=((front, half), (-rear, half), (-rear, -half), (front, -half)))


def turning(design: Design, radius: float) -> Measures:
    """At a turn about a point so far to the left, on the base axle."""
    robot = robot_of(design)
    return measures_of(robot, design, turn_of_radius([radius], robot.base))


# TxDOT Roadway Design Manual, Table 4-1 (AASHTO's figures); radii read, wheelbase and width mostly memory.
# Wheelbase, width, radius of the front axle's middle, published inside radius of the rear wheel [ft].
VEHICLES = {
    "P": (11.0, 7.0, 21.0, 14.4),
    "SU-30": (20.0, 8.0, 38.0, 28.4),
    "SU-40": (25.0, 8.0, 47.4, 36.4),
    "S-BUS-36": (21.3, 8.0, 34.9, 23.8),
    "S-BUS-40": (20.0, 8.0, 35.4, 25.3),
}


def vehicle(wheelbase: float, width: float) -> Design:
    """A design vehicle in millimetres with the outer edges of its tyres for its contacts."""
    half = 0.5 * width * FOOT
    return Design(
        wheels=(
            Wheel(name="rear left", x_mm=0.0, y_mm=half),
            Wheel(name="rear right", x_mm=0.0, y_mm=-half),
            Wheel(name="front left", x_mm=wheelbase * FOOT, y_mm=half, kind="steered"),
            Wheel(name="front right", x_mm=wheelbase * FOOT, y_mm=-half, kind="steered"),
        )
    )


@pytest.mark.parametrize("name", VEHICLES)
def test_the_smallest_radius_of_a_half_turn_is_that_of_a_design_vehicle(name: str) -> None:
    wheelbase, width, front, published = VEHICLES[name]
    found = turning(vehicle(wheelbase, width), FOOT * math.sqrt(front**2 - wheelbase**2))
    assert found.least_inner_wheel[0, 1] / FOOT == pytest.approx(published, abs=0.1)
    stepped = stepped_least_radius(wheelbase, front, (0.0, 0.5 * width), math.pi, steps=4000)
    assert stepped == pytest.approx(published, abs=0.1)
    assert stepped == pytest.approx(found.least_inner_wheel[0, 1] / FOOT, abs=1e-3)


@pytest.mark.parametrize("name", VEHICLES)
def test_the_steady_circle_of_a_design_vehicle_is_at_most_the_published_radius(name: str) -> None:
    wheelbase, width, front, published = VEHICLES[name]
    found = turning(vehicle(wheelbase, width), FOOT * math.sqrt(front**2 - wheelbase**2))
    steady = found.inner_wheel[0] / FOOT
    assert steady == pytest.approx(math.sqrt(front**2 - wheelbase**2) - 0.5 * width)
    assert published - 0.2 < steady < published


def test_the_smallest_radius_comes_some_degrees_after_the_arc() -> None:
    # Our own finding, by an independent simulation: 2.8 to 5.2 degrees beyond the half turn.
    after = []
    for wheelbase, width, front, _ in VEHICLES.values():
        size = np.array([wheelbase]), np.array([front])
        _, way = least_radius(*size, np.array([[0.0]]), np.array([[0.5 * width]]), math.pi)
        after.append(math.degrees(way[0, 0] / front))
    assert (round(min(after), 1), round(max(after), 1)) == (2.8, 5.2)


# Derived by an independent simulation: the same radius in a quarter of a turn [ft].
QUARTERS = {"P": 14.733, "SU-30": 28.949, "SU-40": 37.075, "S-BUS-36": 24.873, "S-BUS-40": 26.060}


@pytest.mark.parametrize("name", VEHICLES)
def test_a_quarter_turn_of_a_design_vehicle_cuts_in_less(name: str) -> None:
    wheelbase, width, front, _ = VEHICLES[name]
    found = turning(vehicle(wheelbase, width), FOOT * math.sqrt(front**2 - wheelbase**2))
    assert found.least_inner_wheel[0, 0] / FOOT == pytest.approx(QUARTERS[name], abs=6e-4)


def test_the_front_corner_of_the_passenger_car_sweeps_its_published_radius() -> None:
    # dimensions.com, read: 25.5 ft; front overhang 3 ft.
    middle = FOOT * math.sqrt(21.0**2 - 11.0**2)
    found = turning(box(14.0 * FOOT, 5.0 * FOOT, 7.0 * FOOT), middle)
    assert 0.5 * found.wall_to_wall[0] / FOOT == pytest.approx(25.5, abs=0.1)


def test_a_long_vehicle_turns_within_the_ring_of_the_directive() -> None:
    # Directive 97/27/EC, Annex I 7.6.1, read: between circles of 12.50 m and 5.30 m radius. Derived: a body
    # of 12 x 2.55 m, wheelbase 5.9, front overhang 2.7 whose nose touches the outer circle leaves 6.521 m.
    nose, half = 5900.0 + 2700.0, 1275.0
    middle = math.sqrt(12500.0**2 - nose**2) - half
    found = turning(tenth(nose, 12000.0 - nose, 2550.0), 0.1 * middle)
    assert 0.5 * found.wall_to_wall[0] == pytest.approx(1250.0)
    assert found.inner_radius[0] == pytest.approx(652.1, abs=0.05)
    assert found.inner_radius[0] > 530.0


def test_a_nose_further_ahead_leaves_less_than_the_ring_of_the_directive() -> None:
    # Derived: at most 9.728 m from the fixed axle to the nose at a width of 2.55 m.
    for nose, inner in ((9728.0, 530.0), (9900.0, 508.15)):
        middle = math.sqrt(12500.0**2 - nose**2) - 1275.0
        found = turning(tenth(nose, 2000.0, 2550.0), 0.1 * middle)
        assert 0.5 * found.wall_to_wall[0] == pytest.approx(1250.0)
        assert found.inner_radius[0] == pytest.approx(inner, abs=0.06)
    assert found.inner_radius[0] < 530.0


def tenth(front: float, rear: float, width: float) -> Design:
    """A body at a tenth of its size: the program holds places within 10 m."""
    return box(0.1 * front, 0.1 * rear, 0.1 * width)


@pytest.mark.parametrize(
    ("design", "radius", "width"),
    [
        (Design(body_mm=BODY), 400.0, 368.813),
        (Design(body_mm=BODY), 130.0, 316.228),
        (Design(body_mm=BODY), 0.0, 352.036),
        (box(300.0, 60.0, 260.0), 400.0, 384.064),
    ],
)
def test_a_lane_with_a_fixed_centre_is_as_wide_as_derived(
    design: Design, radius: float, width: float
) -> None:
    # Derived, and found by brute force to 0.001; aisle formulas of lift trucks are its cousin.
    found = turning(design, radius)
    assert found.lane[0] == pytest.approx(width, abs=6e-4)
    swept = found.swept(0)
    assert swept is not None
    assert swept.lane == pytest.approx(width, abs=6e-4)


def test_lanes_of_a_body_symmetric_about_the_centre_line_follow_the_two_radii() -> None:
    # Derived: Ro - Ri / sqrt 2; with the centre inside, c beside the middle, Ro + W / 2 - c.
    found = turning(Design(body_mm=BODY), 400.0)
    outer, inner = 0.5 * found.wall_to_wall[0], found.inner_radius[0]
    assert (outer, inner) == (pytest.approx(559.732, abs=6e-4), pytest.approx(270.0))
    assert found.lane[0] == pytest.approx(outer - inner / math.sqrt(2.0))
    within = turning(Design(body_mm=BODY), 60.0)
    assert within.lane[0] == pytest.approx(0.5 * within.wall_to_wall[0] + 130.0 - 60.0)


@pytest.mark.parametrize(
    ("low", "across", "length", "width"),
    [(0.07, 0.2, 3.57879, 1.406715), (0.2, 0.07, 3.72121, 1.365144)],
)
def test_a_lifted_box_is_moved_round_a_corner_as_a_thread_says(
    low: float, across: float, length: float, width: float
) -> None:
    # math.SE 51671, read: a box of 4.3 x 0.2 x 0.07 m under a ceiling of 2.5 m, printed 1.407 and 1.365.
    tilt = math.asin(2.5 / math.hypot(4.3, low)) - math.atan(low / 4.3)
    plan = low * math.sin(tilt) + 4.3 * math.cos(tilt)
    assert plan == pytest.approx(length, abs=6e-6)
    assert any_motion_lane(plan, across) == pytest.approx(width, abs=6e-7)
    assert round(any_motion_lane(plan, across), 3) in (1.407, 1.365)


def test_a_thin_rod_gets_round_the_corner_of_the_calculus_text() -> None:
    # Any calculus text: the longest rod through lanes a and b is (a^(2/3) + b^(2/3))^(3/2); here a = b.
    rod = (2.0 * 1.5 ** (2.0 / 3.0)) ** 1.5
    assert any_motion_lane(rod, 0.0) == pytest.approx(1.5)


def test_the_body_gets_through_with_any_motion_where_derived() -> None:
    assert turning(Design(body_mm=BODY), 400.0).any_motion_lane == pytest.approx(311.127, abs=6e-4)


def test_turning_on_the_spot_takes_the_diagonal() -> None:
    assert turning(Design(body_mm=BODY), 0.0).width_to_turn[0] == pytest.approx(444.072, abs=6e-4)


@pytest.mark.parametrize(("front", "wheelbase", "off"), [(60.0, 6.1, 0.310889), (21.0, 11.0, 3.111)])
def test_the_rear_axle_tracks_inside_the_front_one(front: float, wheelbase: float, off: float) -> None:
    # Road-design texts: R - sqrt(R^2 - L^2), R to the middle of the front axle; L^2 / 2R is no match.
    scale = 100.0
    design = Design(
        wheels=(
            Wheel(name="rear", x_mm=0.0, y_mm=0.0),
            Wheel(name="front", x_mm=wheelbase * scale, y_mm=0.0, kind="steered"),
        )
    )
    found = turning(design, scale * math.sqrt(front**2 - wheelbase**2))
    assert found.off_tracking[0] / scale == pytest.approx([off, 0.0], abs=6e-4)
    assert off != pytest.approx(wheelbase**2 / (2.0 * front), abs=6e-4)


def test_a_gap_at_a_kerb_is_entered_in_one_move_where_derived() -> None:
    found = turning(Design(body_mm=BODY), 400.0)
    assert found.kerb_gap[0] == pytest.approx(670.306, abs=6e-4)
    assert found.tail_swing[0] == pytest.approx(29.732, abs=6e-4)
    swept = found.swept(0)
    assert swept is not None
    assert (swept.kerb_gap, swept.tail_swing) == (
        pytest.approx(670.306, abs=6e-4),
        pytest.approx(29.732, abs=6e-4),
    )


def test_the_swept_area_is_the_radial_integral_between_poses_and_hulls() -> None:
    # Derived; Shapely 2.2: the union of 361 poses is 0.13 % less, of hulls of neighbours 0.08 % more.
    area = swept_area(BODY, (0.0, 400.0), 0.5 * math.pi)
    assert area == pytest.approx(289_584.205, abs=6e-4)
    poses = [affinity.rotate(Polygon(BODY), 0.25 * k, origin=(0.0, 400.0)) for k in range(361)]
    hulls = [
        MultiPoint([*a.exterior.coords, *b.exterior.coords]).convex_hull for a, b in itertools.pairwise(poses)
    ]
    assert unary_union(poses).area < area < unary_union(hulls).area
    assert unary_union(poses).area == pytest.approx(area, rel=0.002)
    assert unary_union(hulls).area == pytest.approx(area, rel=0.002)
