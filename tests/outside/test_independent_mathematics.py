"""The same answers by SymPy, which derives the formulas, and SciPy, which knows only the constraints."""

from __future__ import annotations

import math

import numpy as np
import pytest
import sympy as sp
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.linalg import null_space
from scipy.optimize import brentq, least_squares

from geometry.kinematics.alignment import constraint_rows
from geometry.kinematics.ideal import solve
from geometry.kinematics.motion import from_turn, turn_centre
from geometry.model.base_axle import base_of
from geometry.model.design import Design
from geometry.model.wheel import Wheel
from geometry.model.wheel_arrays import wheel_arrays
from tests.strategies import designs

H, X = 120.0, 132.0
SIX = Design(
    wheels=tuple(
        Wheel(name=f"{x:g} {y:g}", x_mm=x, y_mm=y, kind="steered" if x else "fixed")
        for x in (X, 0.0, -X)
        for y in (H, -H)
    )
)


def derived_tangent(side: int) -> sp.Expr:
    """tan(delta) of a corner at (x, side * h), from nothing but two wheel speeds and rigidity."""
    s, h, x = sp.symbols("s h x", positive=True)
    u, w = sp.symbols("u w")
    # Left turn: the right side has speed 1, the left one 1 - 2 s.
    motion = sp.solve([u - w * h - (1 - 2 * s), u + w * h - 1], [u, w], dict=True)[0]
    t = sp.Symbol("t")
    sideways = motion[w] * x - t * (motion[u] - motion[w] * side * h)
    (tangent,) = sp.solve(sideways, t)
    return sp.simplify(tangent)


def test_sympy_derives_the_closed_forms_of_the_corner_angles() -> None:
    s, h, x = sp.symbols("s h x", positive=True)
    assert sp.simplify(derived_tangent(-1) - x * s / h) == 0
    assert sp.simplify(derived_tangent(+1) - x * s / (h * (1 - 2 * s))) == 0


@pytest.mark.parametrize("turn", [0.05, 0.3, 0.45, 0.7, 1.0])
def test_the_solver_gives_the_tangents_that_sympy_derives(turn: float) -> None:
    s, h, x = sp.symbols("s h x", positive=True)
    found = solve(wheel_arrays(SIX), from_turn([turn], base_of(SIX))).steer[0]
    for n, side in ((0, 1), (1, -1)):
        exact = derived_tangent(side).subs({s: sp.Rational(str(turn)), h: 120, x: 132})
        assert math.tan(found[n]) == pytest.approx(float(exact), rel=1e-12)
        assert math.tan(found[n + 4]) == pytest.approx(-float(exact), rel=1e-12)


def test_sympy_confirms_both_solutions_with_trail_and_their_rolling_speeds() -> None:
    v, phi, delta, pull, across = sp.symbols("v phi delta pull across", positive=True)
    side = v * sp.sin(phi - delta) + pull
    roll = v * sp.cos(phi - delta) - across
    for angle, sign in ((phi + sp.asin(pull / v), 1), (phi + sp.pi - sp.asin(pull / v), -1)):
        assert sp.simplify(sp.expand_trig(side.subs(delta, angle))) == 0
        got = sp.simplify(sp.expand_trig(roll.subs(delta, angle)) + across)
        point = {v: sp.Rational(5), pull: sp.Rational(3)}
        assert sp.simplify(got.subs(point)) == sign * 4


@settings(max_examples=30)
@given(designs(min_wheels=2, kinds=["steered"]), st.floats(0.02, 1.0), st.integers(0, 10**6))
def test_least_squares_from_a_random_start_finds_the_same_turn_centre(
    design: Design, turn: float, seed: int
) -> None:
    free = design.edited(
        wheels=tuple(w.edited(travel_min_deg=-180.0, travel_max_deg=180.0) for w in design.wheels)
    )
    motion = from_turn([turn], base_of(free))
    found = solve(wheel_arrays(free), motion)
    heading = found.heading[0]
    spread = np.abs(np.sin(heading - heading[0])).max()
    if spread < 0.05 or found.unreachable.any() or found.limited.any():
        return

    def misses(point: np.ndarray) -> list[float]:
        out = []
        for w, angle in zip(free.wheels, heading, strict=True):
            c, s = math.cos(angle), math.sin(angle)
            qx = w.x_mm - w.trail_mm * c - w.lateral_offset_mm * s
            qy = w.y_mm - w.trail_mm * s + w.lateral_offset_mm * c
            out.append((point[0] - qx) * c + (point[1] - qy) * s)
        return out

    start = np.random.default_rng(seed).uniform(-2000.0, 2000.0, 2)
    fitted = least_squares(misses, start, xtol=1e-14, ftol=1e-14, gtol=1e-14)
    assert fitted.x == pytest.approx(turn_centre(motion.twist)[0], rel=1e-5, abs=1e-3)


@settings(max_examples=30)
@given(st.floats(0.02, 1.0), st.sampled_from([1.0, -1.0]))
def test_the_null_space_of_the_constraints_is_the_motion(turn: float, side: float) -> None:
    motion = from_turn([side * turn], base_of(SIX))
    rows = constraint_rows(wheel_arrays(SIX), solve(wheel_arrays(SIX), motion).heading)[0]
    basis = null_space(rows * np.array([1.0, 1.0, 0.01]), rcond=1e-9)
    assert basis.shape == (3, 1)
    free = basis[:, 0] * np.array([1.0, 1.0, 0.01])
    twist = motion.twist[0]
    np.testing.assert_allclose(free * (twist[2] / free[2]), twist, atol=1e-9)


@settings(max_examples=60)
@given(
    st.floats(-1.0, 1.0),
    st.sampled_from([-40.0, -15.0, 10.0, 30.0]),
    st.integers(-300, 300).filter(lambda x: abs(x) > 5),
    st.integers(-300, 300),
)
def test_every_angle_that_a_root_search_finds_is_one_of_the_two_solutions(
    turn: float, trail: float, x: int, y: int
) -> None:
    wheel = Wheel(name="w", x_mm=x, y_mm=y, kind="steered", trail_mm=trail)
    axle = tuple(Wheel(name=f"{s}", x_mm=0.0, y_mm=s * H) for s in (1, -1))
    design = Design(wheels=(*axle, wheel))
    motion = from_turn([turn], base_of(design))
    found = solve(wheel_arrays(design), motion)
    vx, vy, omega = motion.twist[0]

    def sideways(angle: float) -> float:
        c, s = math.cos(angle), math.sin(angle)
        qx, qy = x - trail * c, y - trail * s
        return float((vy + omega * qx) * c - (vx - omega * qy) * s)

    grid = np.linspace(-math.pi, math.pi, 1442)
    values = [sideways(a) for a in grid]
    crossed = [i for i in range(len(grid) - 1) if values[i] * values[i + 1] < 0]
    if not crossed and min(abs(v) for v in values) > 1e-3:
        assert found.unreachable[0, 2]
        return
    roots = [brentq(sideways, grid[i], grid[i + 1], xtol=1e-14) for i in crossed]
    if len(roots) == 2 and not found.unreachable[0, 2]:
        off = [abs(math.sin(0.5 * (float(found.steer[0, 2]) - root))) for root in roots]
        assert min(off) < 1e-9
