"""Gear trains and shared steering as others print them; `read` and `memory` as in the other files here."""

from __future__ import annotations

import math

import numpy as np
import pytest

from geometry.kinematics.alignment import rank
from geometry.kinematics.as_built import AsBuilt, as_built, motor_arrays
from geometry.kinematics.motion import from_radius, from_turn
from geometry.model.base_axle import base_of
from geometry.model.design import Design
from geometry.model.motors import Gearing, SteerMotor, ratio_of_train
from geometry.model.wheel import Wheel
from geometry.model.wheel_arrays import wheel_arrays


def wheel(name: str, x: float, y: float, **more: object) -> Wheel:
    return Wheel.model_validate({"name": name, "x_mm": x, "y_mm": y, **more})


def motor(name: str, **ratios: float) -> SteerMotor:
    return SteerMotor(name=name, wheels=tuple(Gearing(wheel=w, ratio=r) for w, r in ratios.items()))


def over(design: Design, turns: object) -> AsBuilt:
    arrays = wheel_arrays(design)
    return as_built(arrays, motor_arrays(design, arrays), from_turn(turns, base_of(design)))


# --- gear trains -----------------------------------------------------------------------------


def test_a_compound_train_of_an_entrance_examination_keeps_its_sense() -> None:
    # GATE 2014, mechanical engineering, set 3; read, with its answer: gear 2 turns at 1200 rpm
    # counter-clockwise and meshes with gear 3, on whose shaft gear 4 meshes with gear 5; teeth
    # 20, 40, 15, 30. Answer: gear 5 at 300 rpm counter-clockwise.
    assert 1200.0 * ratio_of_train([[20, 40], [15, 30]]) == pytest.approx(300.0)


def test_the_train_of_a_machine_tool_brings_975_rpm_down_to_52() -> None:
    # A textbook exercise on theory of machines; the question read (teeth 20, 50, 25, 75, 26, 65, motor
    # at 975 rpm), its answer of 52 rpm from memory. Three meshes turn the sense round.
    assert 975.0 * ratio_of_train([[20, 50], [25, 75], [26, 65]]) == pytest.approx(-52.0)


def test_a_ring_gear_drives_planet_and_sun_as_a_solved_problem_says() -> None:
    # Solved problem 1 on epicyclic gears (course notes, read): ring A with 72 internal teeth held, planet B
    # with 20, sun C with 32, arm at 18 rpm: C at +58.5 and B at -46.8 rpm. Seen from the arm that is a
    # plain train: A at -18, B at -64.8, C at +40.5 rpm.
    arm, ring = 18.0, 0.0 - 18.0
    assert ring * ratio_of_train([[-72, 20]]) + arm == pytest.approx(-46.8)
    assert ring * ratio_of_train([[-72, 20, 32]]) + arm == pytest.approx(58.5)


# --- mobility --------------------------------------------------------------------------------

TURNS = np.array([-0.8, -0.3, -0.05, 0.02, 0.4, 0.7])


def four_corners(**ratios: float) -> Design:
    """Corner wheels on one motor for each side."""
    return Design(
        wheels=tuple(
            wheel(name, x, y, kind="steered", driven=True)
            for name, x, y in (
                ("fl", 130.0, 100.0),
                ("fr", 130.0, -100.0),
                ("rl", -130.0, 100.0),
                ("rr", -130.0, -100.0),
            )
        ),
        base_axle_x_mm=0.0,
        steer_motors=(
            motor("left", fl=1.0, rl=ratios.get("left", -1.0)),
            motor("right", fr=1.0, rr=ratios.get("right", -1.0)),
        ),
    )


def test_more_than_two_steered_wheels_keep_their_mobility_only_where_they_are_coordinated() -> None:
    # Campion, Bastin, d'Andrea-Novel, IEEE T-RA 12(1), 1996, after notes on the paper (not seen):
    # mobility is 3 less the rank; a robot with more than two steered wheels moves only if they
    # are coordinated, so that their axles meet. Class (1, 2): mobility 1.
    shared = four_corners()
    assert (3 - rank(wheel_arrays(shared), over(shared, TURNS).solution.heading) == 1).all()
    wrong = four_corners(left=-0.9)
    assert (3 - rank(wheel_arrays(wrong), over(wrong, TURNS).solution.heading) == 0).all()
    # Straight ahead even that is coordinated: all axles parallel, two of them one line.
    assert 3 - rank(wheel_arrays(wrong), over(wrong, [0.0]).solution.heading)[0] == 1


def test_all_wheels_on_one_motor_can_only_glide() -> None:
    # The same source: wheels that all stay parallel let the body glide along them and never turn.
    names = ("fl", "fr", "rl", "rr")
    glide = four_corners().edited(steer_motors=(motor("all", **dict.fromkeys(names, 1.0)),))
    found = over(glide, TURNS)
    headings = found.solution.heading
    assert np.ptp(headings, axis=1) == pytest.approx(np.zeros(len(TURNS)), abs=1e-12)
    assert (3 - rank(wheel_arrays(glide), headings) == 1).all()


# --- two front wheels on one motor --------------------------------------------------------------


def car(wheelbase: float, track: float) -> Design:
    """Fixed rear axle at the origin; both front wheels on one motor, by equal angles."""
    front = {"kind": "steered"}
    return Design(
        wheels=(
            wheel("rear left", 0.0, 0.5 * track, driven=True),
            wheel("rear right", 0.0, -0.5 * track, driven=True),
            wheel("left", wheelbase, 0.5 * track, **front),
            wheel("right", wheelbase, -0.5 * track, **front),
        ),
        steer_motors=(motor("front", left=1.0, right=1.0),),
    )


@pytest.mark.parametrize("radius", [900.0, 1500.0, -2600.0, 12_000.0])
def test_equal_front_angles_break_the_cotangent_rule_by_track_over_wheelbase(radius: float) -> None:
    """The Ackermann identity, cot(outer) - cot(inner) = track / wheelbase (examians.com, read).

    Equal angles q leave nothing of the left-hand side, so the rule is broken by track / wheelbase
    = 2 h / L. How the motor splits that: the front wheels' velocities are (R -+ h, L) omega, so
    z = (R - h + i L)^2 + (R + h + i L)^2 and cot 2 q = (R^2 + h^2 - L^2) / (2 R L).
    """
    base, half = 1000.0, 300.0
    design = car(base, 2.0 * half)
    arrays = wheel_arrays(design)
    found = as_built(arrays, motor_arrays(design, arrays), from_radius([radius], base_of(design)))
    inner, outer = sorted(np.abs(found.ideal.steer[0, 2:]))[::-1]
    assert 1.0 / math.tan(outer) - 1.0 / math.tan(inner) == pytest.approx(2.0 * half / base)
    q = 0.5 * math.atan2(2.0 * radius * base, radius**2 + half**2 - base**2)
    assert found.shaft[0, 0] == pytest.approx(q, abs=1e-12)
    assert outer < abs(q) < inner


@pytest.mark.parametrize("radius", [2500.0, 5000.0, -20_000.0])
def test_on_a_narrow_track_each_front_wheel_is_off_by_half_of_what_the_rule_asks(radius: float) -> None:
    # From the same rule: d(cot a) = -da / sin^2 a, so that inner less outer angle is about
    # sin^2(a) track / wheelbase, and each wheel is off by half of that.
    base, track = 2000.0, 60.0
    design = car(base, track)
    arrays = wheel_arrays(design)
    found = as_built(arrays, motor_arrays(design, arrays), from_radius([radius], base_of(design)))
    off = np.abs(found.solution.heading - found.ideal.heading)[0, 2:]
    angle = math.atan2(base, abs(radius))
    assert off == pytest.approx([0.5 * track / base * math.sin(angle) ** 2] * 2, rel=0.03)
