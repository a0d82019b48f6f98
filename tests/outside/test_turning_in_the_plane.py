"""Turns of cars, trucks and robots as printed by others.

Each value says where it comes from: `read` (in the source or an excerpt of it), `memory`
(recalled; it recomputes, which supports the number and not the citation). Lengths are in
the source's unit times a factor; no angle and no ratio depends on it.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from geometry.kinematics.alignment import alignment, alignment_of, best_fit_centre, constraint_rows, rank
from geometry.kinematics.ideal import solve
from geometry.kinematics.motion import from_radius, from_turn, turn_centre
from geometry.model.base_axle import base_of
from geometry.model.design import Design
from geometry.model.wheel import Wheel
from geometry.model.wheel_arrays import wheel_arrays
from geometry.turn_range.sweep import landmarks


def wheel(name: str, x: float, y: float, **more: object) -> Wheel:
    return Wheel.model_validate({"name": name, "x_mm": x, "y_mm": y, **more})


def car(wheelbase: float, track: float, kingpins: float | None = None, **front: float) -> Design:
    """Fixed rear axle at the origin, two steered front wheels; half of the track is beyond the kingpins."""
    pins = track if kingpins is None else kingpins
    out = 0.5 * (track - pins)
    steered = {"kind": "steered", **front}
    return Design(
        wheels=(
            wheel("rear left", 0.0, 0.5 * track),
            wheel("rear right", 0.0, -0.5 * track),
            wheel("front left", wheelbase, 0.5 * pins, lateral_offset_mm=out, **steered),
            wheel("front right", wheelbase, -0.5 * pins, lateral_offset_mm=-out, **steered),
        )
    )


LEFT, RIGHT = 2, 3


def turn_at_travel_end(design: Design, index: int) -> float:
    """Left turn at which a wheel reaches the end of its travel."""
    found = landmarks(wheel_arrays(design), base_of(design))
    return next(m.turn for m in found if m.wheel == index and m.turn > 0 and m.kind in {"travel end", "flip"})


def at_angle(design: Design, index: int, degrees: float) -> tuple[np.ndarray, np.ndarray]:
    """Steer angles [degrees] and radii of all wheels in the left turn that steers one wheel so."""
    stopped = design.edited(
        wheels=tuple(
            w.edited(travel_max_deg=degrees) if i == index else w for i, w in enumerate(design.wheels)
        )
    )
    turn = turn_at_travel_end(stopped, index)
    arrays = wheel_arrays(design)
    found = solve(arrays, from_turn([turn], base_of(design)))
    return np.degrees(found.steer[0]), alignment_of(arrays, found).radius[0]


# McGough, Introduction to Robotics (open text), chapter on manoeuvrability; read.
MCGOUGH_ROWS = np.array(
    [
        (-0.514495755, -0.857492926, -1.80073514),
        (0.393919299, 0.919145030, 0.984798246),
        (0.0, -1.0, 1.5),
    ]
)
MCGOUGH = Design(
    wheels=(
        wheel("right", 1.5, -1.0, kind="steered"),
        wheel("left", 1.5, 1.0, kind="steered"),
        wheel("rear", -1.5, 0.0),
    )
)
MCGOUGH_HEADINGS = [[-math.atan2(3, 5), -math.atan2(3, 7), 0.0]]


def test_mcgough_prints_our_rolling_constraints_up_to_their_signs() -> None:
    rows = constraint_rows(wheel_arrays(MCGOUGH), MCGOUGH_HEADINGS)[0]
    signs = np.sign((rows * MCGOUGH_ROWS).sum(axis=1, keepdims=True))
    np.testing.assert_allclose(rows, signs * MCGOUGH_ROWS, atol=1e-8)


def test_mcgough_finds_one_turn_centre_for_the_right_angles_and_none_for_equal_ones() -> None:
    arrays = wheel_arrays(MCGOUGH)
    assert rank(arrays, MCGOUGH_HEADINGS).tolist() == [2]
    assert best_fit_centre(arrays, MCGOUGH_HEADINGS)[0] == pytest.approx([-1.5, -6.0], abs=1e-9)
    equal = math.radians(-30.964)
    assert rank(arrays, [[equal, equal, 0.0]]).tolist() == [3]


def test_the_angles_of_mcgough_are_what_the_solver_asks_for() -> None:
    motion = from_radius([-6.0], base_of(MCGOUGH))
    found = solve(wheel_arrays(MCGOUGH), motion)
    assert found.steer[0] == pytest.approx(MCGOUGH_HEADINGS[0], abs=1e-12)


def test_two_steered_wheels_in_line_meet_where_a_course_solution_says() -> None:
    # Yale CS474 (2001), solution 1; read: rear distance d cos(front) / sin(front - rear),
    # speed ratio rear / front = cos(front) / cos(rear); no centre where the angles are equal.
    d, front, rear = 1000.0, math.radians(40.0), math.radians(-20.0)
    design = Design(wheels=(wheel("front", d, 0.0, kind="steered"), wheel("rear", 0.0, 0.0, kind="steered")))
    arrays = wheel_arrays(design)
    centre = best_fit_centre(arrays, [[front, rear]])[0]
    assert math.hypot(*centre) == pytest.approx(d * math.cos(front) / math.sin(front - rear))
    found = alignment(arrays, [(0.001 * centre[1], -0.001 * centre[0], 0.001)], [[front, rear]])
    assert found.side[0] == pytest.approx([0.0, 0.0], abs=1e-12)
    assert found.roll[0, 1] / found.roll[0, 0] == pytest.approx(math.cos(front) / math.cos(rear))
    assert np.isinf(best_fit_centre(arrays, [[front, front]])).all()


def test_the_outer_wheel_of_a_truck_runs_at_the_radius_of_a_county_handbook() -> None:
    # A county road handbook after SAE practice; read: wheelbase 198 in, track 77 in, inner 30 degrees.
    _, radius = at_angle(car(198.0, 77.0), LEFT, 30.0)
    assert radius[RIGHT] == pytest.approx(464.3, abs=0.05)


@pytest.mark.parametrize(
    ("wheelbase", "track", "printed"), [(80.0, 40.0, 24.0), (80.0, 94.0, 32.5), (260.0, 94.0, 22.7)]
)
def test_inner_angles_match_an_alignment_table_for_20_degrees_at_the_outer_wheel(
    wheelbase: float, track: float, printed: float
) -> None:
    # Table of truckalignment.com, read; the 20 degrees is inferred from the fit, and the
    # printed figures are not rounded evenly.
    steer, _ = at_angle(car(wheelbase, track), RIGHT, 20.0)
    assert steer[LEFT] == pytest.approx(printed, abs=0.06)


@pytest.mark.parametrize("outer", [5.0, 20.0, 35.0])
def test_cotangents_differ_by_kingpin_distance_over_wheelbase(outer: float) -> None:
    # "The fundamental equation for correct steering", cot(outer) - cot(inner) = c / b with c
    # between the pivots and b the wheelbase; read (examians.com, theory of machines).
    steer, _ = at_angle(car(2000.0, 1300.0, kingpins=1100.0), RIGHT, outer)
    cot = [1.0 / math.tan(math.radians(a)) for a in (steer[RIGHT], steer[LEFT])]
    assert cot[0] - cot[1] == pytest.approx(1100.0 / 2000.0)


def test_wheels_outside_their_kingpins_run_where_an_examination_answer_says() -> None:
    # A worked examination answer; read: outer front wheel 5.25 m, inner rear wheel 3.18 m. It
    # mixes two wheelbases, so 0.015 m on the second; its two angles are not an exact pair.
    design = car(2743.0, 1217.0, kingpins=1065.0)
    _, by_outer = at_angle(design, RIGHT, 32.0)
    steer, by_inner = at_angle(design, LEFT, 40.0)
    assert by_outer[RIGHT] == pytest.approx(5250.0, abs=5.0)
    assert by_inner[0] == pytest.approx(3180.0, abs=15.0)
    assert steer[RIGHT] == pytest.approx(32.33, abs=0.005)  # ours: the exact partner of 40 degrees


def test_the_turning_diameter_is_that_of_sae_j695() -> None:
    # SAE J695, read in an excerpt: TD = 2 (WB / sin(outer angle) + OS), OS from pivot to tyre.
    _, radius = at_angle(car(3000.0, 1600.0, kingpins=1400.0), RIGHT, 33.0)
    assert 2.0 * radius[RIGHT] == pytest.approx(2.0 * (3000.0 / math.sin(math.radians(33.0)) + 100.0))


def test_two_parallel_fixed_axles_turn_about_the_line_midway() -> None:
    # SAE J695 (1998), 3.1, read in an excerpt: "the turning center is assumed to fall on a line
    # parallel to and midway between these axle centerlines".
    tandem = [wheel(f"{x} {y}", x, y) for x in (-600.0, 700.0) for y in (900.0, -900.0)]
    design = Design(wheels=(*tandem, wheel("front", 4000.0, 0.0, kind="steered")))
    centre = turn_centre(from_turn([0.2], base_of(design)).twist)[0]
    assert centre[0] == pytest.approx(50.0)
    heading = solve(wheel_arrays(design), from_turn([0.2], base_of(design))).heading
    assert best_fit_centre(wheel_arrays(design), heading)[0] == pytest.approx(centre)


@pytest.mark.parametrize("radius", [900.0, 2000.0, 1e5])
def test_front_angles_have_the_tangents_of_a_robotics_textbook(radius: float) -> None:
    # Correll et al., Introduction to Autonomous Robots; read: tan = L / (R -+ l / 2).
    design = car(700.0, 500.0)
    steer = solve(wheel_arrays(design), from_radius([radius], base_of(design))).steer[0]
    assert math.tan(steer[LEFT]) == pytest.approx(700.0 / (radius - 250.0))
    assert math.tan(steer[RIGHT]) == pytest.approx(700.0 / (radius + 250.0))


MOBILITY = {
    "three casters": (3, [("caster", 0.0, 0.0), ("caster", 90.0, 0.0), ("caster", -90.0, 30.0)], 0.0),
    "one fixed axle": (2, [("fixed", 0.0, 90.0), ("fixed", 0.0, -90.0), ("caster", 100.0, 0.0)], 0.0),
    "one steered wheel": (2, [("steered", 0.0, 0.0), ("caster", 90.0, 50.0), ("caster", 90.0, -50.0)], 25.0),
    "fixed axle and steered": (
        1,
        [("fixed", 0.0, 90.0), ("fixed", 0.0, -90.0), ("steered", 150.0, 0.0)],
        25.0,
    ),
    "two steered wheels": (1, [("steered", -90.0, 0.0), ("steered", 90.0, 0.0), ("caster", 0.0, 60.0)], 25.0),
}


@pytest.mark.parametrize("name", MOBILITY)
def test_mobility_is_three_less_the_rank_for_each_class_of_robot(name: str) -> None:
    # Classes (3,0) (2,0) (2,1) (1,1) (1,2) of Campion, Bastin, d'Andrea-Novel, IEEE T-RA 12(1),
    # 1996, after notes on the paper; the paper itself was not seen.
    mobility, places, angle = MOBILITY[name]
    design = Design(wheels=tuple(wheel(f"w{i}", x, y, kind=kind) for i, (kind, x, y) in enumerate(places)))
    heading = [
        [math.radians(angle) * (i + 1) if kind != "fixed" else 0.0 for i, (kind, _, _) in enumerate(places)]
    ]
    assert 3 - rank(wheel_arrays(design), heading)[0] == mobility


def test_a_vehicle_dynamics_book_agrees_within_its_rounding() -> None:
    # Jazar, Vehicle Dynamics, chapter 7; memory: wheelbase 103.1 in, track 61.6, mass centre
    # 60 in ahead of the rear axle, inner 12 degrees: outer 10.661 degrees, R 520.46 in. The book
    # rounds 12 degrees to 0.209 rad, so 0.25 % at best.
    design = car(103.1, 61.6)
    steer, radius = at_angle(design, LEFT, 12.0)
    assert steer[RIGHT] == pytest.approx(10.661, rel=2.5e-3)
    middle = 0.5 * (radius[0] + radius[1])
    assert math.hypot(60.0, middle) == pytest.approx(520.46, rel=2.5e-3)
