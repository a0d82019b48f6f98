from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume, given
from scipy.optimize import lsq_linear

from geometry.kinematics.alignment import alignment_of
from geometry.kinematics.as_built import motor_arrays
from geometry.kinematics.motion import Motion, from_turn, turn_centre
from geometry.model.base_axle import base_of
from geometry.model.design import Design
from geometry.model.motors import Gearing, SteerMotor
from geometry.model.wheel_arrays import wheel_arrays
from tests.geometry.motored_six import drive, four_motors, otherwise_driven, over, run, steer, with_driven
from tests.geometry.six_wheels import H, X, contact_velocity, fastest, six
from tests.strategies import driven_motored_designs

# --- an independent route: every rolling constraint as a row, solved by a library ---------------


def asked_speeds(design: Design, rolling: list[float]) -> list[float]:
    """Rolling speeds that the drives ask for, by the normal equation of each motor."""
    asked = list(rolling)
    for motor in design.drive_motors:
        held = [design.index_of(g.wheel) for g in motor.wheels]
        sign = -1.0 if motor.reversed else 1.0
        way = [
            sign * g.turns * math.pi * design.wheels[i].diameter_mm
            for g, i in zip(motor.wheels, held, strict=True)
        ]
        load = [design.wheels[i].load_share for i in held]
        over_all = sum(m * r * r for m, r in zip(load, way, strict=True))
        turns = sum(m * r * rolling[i] for m, r, i in zip(load, way, held, strict=True)) / over_all
        for r, i in zip(way, held, strict=True):
            asked[i] = r * turns
    return asked


def constraint_system(
    design: Design, heading: np.ndarray, wanted: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Rows and right-hand sides for the change of the twist (third component times `size`)."""
    rows, right = [], []
    speeds = [contact_velocity(w, d, wanted) for w, d in zip(design.wheels, heading, strict=True)]
    asked = asked_speeds(design, [roll for roll, _ in speeds])
    size = max([1.0, *(math.hypot(w.x_mm, w.y_mm) for w in design.wheels if w.kind != "caster")])
    nobody = not any(w.driven and w.kind != "caster" for w in design.wheels)
    for i, (w, d) in enumerate(zip(design.wheels, heading, strict=True)):
        if w.kind == "caster":
            continue
        root = math.sqrt(w.load_share)
        units = [contact_velocity(w, d, np.eye(3)[k]) for k in range(3)]
        scale = np.array([1.0, 1.0, 1.0 / size])
        rows.append(root * scale * [side for _, side in units])
        right.append(-root * speeds[i][1])
        if w.driven or nobody:
            rows.append(root * scale * [roll for roll, _ in units])
            right.append(root * (asked[i] - speeds[i][0]))
    return np.array(rows), np.array(right)


@given(driven_motored_designs(min_wheels=2, max_wheels=6))
def test_the_motion_is_the_least_squares_of_all_rolling_constraints(drawn: tuple[Design, Motion]) -> None:
    design, motion = drawn
    assume(any(w.kind != "caster" for w in design.wheels))
    found = run(design, motion)
    wanted = motion.twist[0]
    # The drives know nothing of where casters will swing: they ask for the wanted motion.
    swung = np.array([w.kind == "caster" for w in design.wheels])
    heading = np.where(swung, found.ideal.heading[0], found.solution.heading[0])
    rows, right = constraint_system(design, heading, wanted)
    values = np.linalg.svd(rows, compute_uv=False)
    # In between nobody can say whether a part of the motion is settled.
    assume(not ((values > 1e-9 * values[0]) & (values < 3e-3 * values[0])).any())
    change = np.linalg.lstsq(rows, right, rcond=1e-6)[0]
    size = max([1.0, *(math.hypot(w.x_mm, w.y_mm) for w in design.wheels if w.kind != "caster")])
    mine = (found.solution.motion.twist[0] - wanted) * [1.0, 1.0, size]
    np.testing.assert_allclose(mine, change, atol=1e-7 * max(fastest(design, wanted), 1e-300))


@pytest.mark.parametrize("turn", [0.05, -0.3, 0.7, 1.0])
@pytest.mark.parametrize("driven", [("w2", "w3"), ("w0",), (), ("w0", "w1", "w2", "w3", "w4", "w5")])
def test_a_bounded_solver_without_bounds_finds_the_same_motion(turn: float, driven: tuple[str, ...]) -> None:
    base = with_driven(six(135.0), driven)
    held = [name for name in ("w0", "w2") if name in driven]
    design = base.edited(
        steer_motors=(steer("front", w0=1.0, w1=1.0), steer("rear", w4=1.0, w5=1.3)),
        drive_motors=(drive("D", **dict.fromkeys(held, 0.5)),) if held else (),
    )
    motion = from_turn([turn], base_of(design))
    found = run(design, motion)
    rows, right = constraint_system(design, found.solution.heading[0], motion.twist[0])
    oracle = lsq_linear(rows, right, tol=1e-14).x / [1.0, 1.0, math.hypot(X, H)]
    np.testing.assert_allclose(found.solution.motion.twist[0] - motion.twist[0], oracle, atol=1e-10)
    assert np.abs(oracle).max() > 1e-4  # the sharing is not exact, so there is something to find


@given(driven_motored_designs(max_wheels=6))
def test_what_is_told_of_every_wheel_is_true_of_its_contact(drawn: tuple[Design, Motion]) -> None:
    design, motion = drawn
    found = run(design, motion)
    twist = found.solution.motion.twist[0]
    near = 1e-9 * max(fastest(design, twist), fastest(design, motion.twist[0]))
    for n, wheel in enumerate(design.wheels):
        roll, side = contact_velocity(wheel, float(found.solution.heading[0, n]), twist)
        assert found.solution.roll[0, n] == pytest.approx(roll, abs=near)
        assert found.solution.side[0, n] == pytest.approx(side, abs=near)
        if not wheel.driven:
            assert found.mismatch[0, n] == 0
        if wheel.kind == "caster" and not found.solution.unreachable[0, n]:
            assert abs(side) <= near
        if wheel.kind == "fixed":
            assert found.solution.steer[0, n] == 0
    for motor, shaft in zip(design.steer_motors, found.shaft[0], strict=True):
        for gearing in motor.wheels:
            steered = found.solution.steer[0, design.index_of(gearing.wheel)]
            assert steered == pytest.approx(gearing.turns * shaft, abs=1e-12)


@given(driven_motored_designs(max_wheels=5))
def test_nothing_is_nan_and_nothing_can_be_written(drawn: tuple[Design, Motion]) -> None:
    found = run(*drawn)
    arrays = [
        *(found.shaft, found.drive, found.mismatch, found.stopped),
        *(found.solution.heading, found.solution.steer, found.solution.roll, found.solution.side),
        *(found.solution.motion.twist, found.solution.limited, found.solution.branch),
    ]
    for array in arrays:
        assert np.isfinite(array).all()
        assert not array.flags.writeable


@given(driven_motored_designs(min_wheels=1, max_wheels=5))
def test_without_motors_a_chassis_is_as_ideal(drawn: tuple[Design, Motion]) -> None:
    design, motion = drawn
    bare = design.edited(
        wheels=tuple(
            w.edited(toe_deg=0.0, trail_mm=0.0, kind="steered", travel_min_deg=-180.0, travel_max_deg=180.0)
            for w in design.wheels
        ),
        steer_motors=(),
        drive_motors=(),
    )
    found = run(bare, motion)
    near = 1e-9 * fastest(bare, motion.twist[0])
    np.testing.assert_allclose(found.solution.motion.twist, motion.twist, atol=near)
    np.testing.assert_array_equal(found.solution.heading, found.ideal.heading)
    assert np.abs(found.mismatch).max() <= near


def test_a_long_range_is_the_same_row_by_row() -> None:
    design = four_motors(0.1)
    turns = np.linspace(-1.0, 1.0, 5001)
    whole = over(design, turns)
    for row in (0, 1, 2047, 2048, 2049, 4095, 4096, 5000):
        alone = over(design, [turns[row]])
        np.testing.assert_allclose(whole.shaft[row], alone.shaft[0], atol=1e-12)
        np.testing.assert_allclose(whole.mismatch[row], alone.mismatch[0], atol=1e-12)
        np.testing.assert_allclose(whole.solution.roll[row], alone.solution.roll[0], atol=1e-12)
        np.testing.assert_allclose(
            whole.solution.motion.twist[row], alone.solution.motion.twist[0], atol=1e-12
        )


# --- exact sharing, and sharing that is nearly exact -----------------------------------------


@pytest.mark.parametrize("driven", [("w2", "w3"), ("w0", "w1", "w2", "w3", "w4", "w5"), ()])
@pytest.mark.parametrize("speed", [1.0, -0.5])
def test_four_motors_steer_and_drive_six_wheels_as_the_ideal_over_the_whole_range(
    driven: tuple[str, ...], speed: float
) -> None:
    design = four_motors()
    if driven != ("w2", "w3"):
        design = otherwise_driven(design, more=driven)
    found = over(design, speed=speed)
    np.testing.assert_allclose(found.solution.heading, found.ideal.heading, atol=1e-9)
    np.testing.assert_allclose(found.solution.roll, found.ideal.roll, atol=1e-9)
    np.testing.assert_allclose(found.solution.motion.twist, found.ideal.motion.twist, atol=1e-9)
    assert np.abs(found.solution.side).max() <= 1e-9
    assert np.abs(found.mismatch).max() <= 1e-9
    assert not found.stopped.any()
    assert (found.solution.branch == found.ideal.branch).all()


def drag_of(design: Design, turns: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Drag of every wheel [mm/m], and how far ahead of the base axle the chassis turns [mm]."""
    found = over(design, turns)
    drag = alignment_of(wheel_arrays(design), found.solution).drag
    return drag, turn_centre(found.solution.motion.twist)[:, 0]


def first_order(error: float, turns: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Drag of a six-wheeler whose rear corners turn by -(1 + e) times the angle of the front ones.

    A corner should stand at +-d, d = atan2(x s / h, 1 - 2 s) on the inner and atan2(x s / h, 1) on
    the outer side. The motor splits the error: (d - q)^2 + (d - (1 + e) q)^2 is least at
    q = d (1 - e / 2). So the front corner stands at d - e d / 2 and the rear one at -d - e d / 2:
    both are turned the same way and go sideways at g = v e d / 2, v their speed.

    Let the twist change by (a, b, c). Going sideways changes by -a sin d + b cos d + c (x cos d + y sin d)
    at a front corner and by a sin d + b cos d - c (x cos d + y sin d) at the rear one behind it. So a
    and c only part what is equal front and rear, as they do for the driven middle wheels
    (rolling a -+ c h, asked for 0): both are 0. With b alone the squares are
    2 sum_i (g_i + b cos d_i)^2 + 2 b^2 over the two sides i, and least at
    b = -sum g_i cos d_i / (1 + sum cos^2 d_i): the chassis creeps sideways, and turns about a point
    -b / omega ahead of the base axle.
    """
    size, omega = np.abs(turns), turns / H
    forward = np.stack([np.where(turns > 0, 1 - 2 * size, 1.0), np.where(turns < 0, 1 - 2 * size, 1.0)])
    sideways = X * omega
    angle, speed = np.arctan2(sideways, forward), np.hypot(sideways, forward)
    g = 0.5 * error * speed * angle
    b = -(g * np.cos(angle)).sum(axis=0) / (1.0 + (np.cos(angle) ** 2).sum(axis=0))
    corner = 1000.0 * np.abs(g + b * np.cos(angle)) / speed
    middle = 1000.0 * np.abs(b / forward)
    drag = np.stack([corner[0], corner[1], middle[0], middle[1], corner[0], corner[1]], axis=1)
    return drag, -b / omega


@pytest.mark.parametrize(("error", "reach"), [(1e-3, 1.0), (-1e-3, 1.0), (0.02, 0.35), (-0.02, 0.35)])
def test_a_ratio_off_by_a_little_drags_as_first_order_theory_says(error: float, reach: float) -> None:
    turns = np.concatenate([np.linspace(-reach, -0.01, 60), np.linspace(0.01, reach, 60)])
    turns = turns[np.abs(np.abs(turns) - 0.5) > 0.02]  # there a middle wheel does not roll
    drag, ahead = drag_of(four_motors(error), turns)
    theory, theory_ahead = first_order(error, turns)
    # What is left over is of the second order in the error.
    assert np.abs(drag - theory).max() <= 2.0 * abs(error) * theory.max()
    assert np.abs(ahead - theory_ahead).max() <= 2.0 * abs(error) * np.abs(theory_ahead).max()
    assert theory.max() > 100.0 * abs(error)


def test_what_theory_leaves_over_falls_with_the_square_of_the_error() -> None:
    turns = np.linspace(0.02, 0.4, 40)

    def left_over(error: float) -> float:
        return float(np.abs(drag_of(four_motors(error), turns)[0] - first_order(error, turns)[0]).max())

    errors = (0.04, 0.02, 0.01)
    left = [left_over(error) for error in errors]
    assert left[0] / left[1] == pytest.approx(4.0, rel=0.15)
    assert left[1] / left[2] == pytest.approx(4.0, rel=0.15)


def short_motors() -> Design:
    """Wheels that turn as far as they like, on motors that reach 80 degrees."""
    design = four_motors(travel=180.0)
    short = [m.edited(travel_min_deg=-80.0, travel_max_deg=80.0) for m in design.steer_motors]
    return design.edited(steer_motors=tuple(short))


def test_a_wheel_that_flips_with_its_motor_counts_as_flipped_and_rolls_backward() -> None:
    found = over(short_motors(), [0.9])
    inner = [0, 4]
    assert (found.ideal.branch == 0).all()
    assert found.solution.branch[0].tolist() == [1, 0, 0, 0, 1, 0]
    assert (found.solution.roll[0, inner] < 0).all()
    assert np.abs(found.solution.side).max() < 1e-12


def test_wheels_of_a_motor_that_is_stopped_count_as_limited() -> None:
    # At half a turn to the left the inner corners should stand at 90 degrees.
    found = over(short_motors(), [0.3, 0.5])
    assert found.stopped.tolist() == [[False, False], [True, False]]
    assert found.solution.limited[1].tolist() == [True, False, False, False, True, False]
    assert not found.solution.limited[0].any()
    assert not found.ideal.limited.any()


def test_the_travel_of_a_motor_is_what_its_wheels_and_itself_leave() -> None:
    design = six(40.0).edited(
        steer_motors=(
            SteerMotor(
                name="M",
                wheels=(Gearing(wheel="w0", ratio=0.5), Gearing(wheel="w4", ratio=-2.0)),
                travel_min_deg=-5.0,
                travel_max_deg=300.0,
            ),
        )
    )
    group = motor_arrays(design, wheel_arrays(design)).steer[0]
    # 40 degrees are 80 of the shaft for the one wheel and 20 for the other.
    assert math.degrees(group.low) == pytest.approx(-5.0)
    assert math.degrees(group.high) == pytest.approx(20.0)


def test_a_design_without_wheels_has_nothing_to_build() -> None:
    found = over(Design(), [0.0, 0.5])
    assert found.solution.roll.shape == (2, 0)
    assert found.shaft.shape == (2, 0)
