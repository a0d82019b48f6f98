"""Flattening: no chord further from its curve than stated, ends exact, affine images exact."""

import itertools
import math

import numpy as np
import pytest
from scipy.interpolate import BSpline as OutsideSpline

from app.design.outline_files.curves import Arc, Cubic, CurveError, Lines, Spline, distances

DICE = np.random.default_rng(4)


def furthest_from(polyline, dense):
    """How far points of a curve are from a polyline; dense points run along the curve."""
    off = [distances(dense, a, b) for a, b in itertools.pairwise(polyline)]
    return np.min(off, axis=0).max()


def on_arc(arc, count=4_000):
    t = arc.start + arc.sweep * np.linspace(0, 1, count)[:, None]
    return arc.centre + arc.u * np.cos(t) + arc.v * np.sin(t)


def on_cubic(p, count=4_000):
    t = np.linspace(0, 1, count)[:, None]
    return (1 - t) ** 3 * p[0] + 3 * (1 - t) ** 2 * t * p[1] + 3 * (1 - t) * t * t * p[2] + t**3 * p[3]


@pytest.mark.parametrize("error", [0.5, 0.02, 0.001])
def test_the_chords_of_a_circle_are_off_by_what_is_allowed_and_hardly_less(error):
    arc = Arc(np.array([3.0, 4.0]), np.array([100.0, 0.0]), np.array([0.0, 100.0]), 0.3, 5.0)
    off = furthest_from(arc.flat(error), on_arc(arc))
    assert 0.9 * error < off <= error * (1 + 1e-9)


@pytest.mark.parametrize("seed", range(20))
def test_the_chords_of_any_part_of_any_leaning_ellipse_keep_the_error(seed):
    dice = np.random.default_rng(seed)
    arc = Arc(*dice.normal(0, 50, (3, 2)), dice.uniform(-9, 9), dice.uniform(-6.28, 6.28))
    points = arc.flat(0.05)
    assert furthest_from(points, on_arc(arc)) <= 0.05 * (1 + 1e-9)
    np.testing.assert_allclose(points[[0, -1]], on_arc(arc, 2), atol=1e-12)


@pytest.mark.parametrize("seed", range(20))
def test_the_chords_of_a_cubic_curve_keep_the_error(seed):
    points = np.random.default_rng(seed).normal(0, 60, (4, 2))
    assert furthest_from(Cubic(points).flat(0.03), on_cubic(points)) <= 0.03


def test_the_bound_of_a_parabola_is_used_to_the_full():
    # x = t, y = h 4 t (1 - t) has B'' of one size all along: one chord is off by h exactly.
    h = 1.0
    quadratic = np.array([(0, 0), (0.5, 2 * h), (1, 0)])
    p = np.array(
        [
            quadratic[0],
            (quadratic[0] + 2 * quadratic[1]) / 3,
            (2 * quadratic[1] + quadratic[2]) / 3,
            quadratic[2],
        ]
    )
    assert len(Cubic(p).flat(h)) == 2
    assert len(Cubic(p).flat(h * 0.999)) == 3
    assert len(Cubic(p).flat(h / 100)) == 11


def spline(controls, degree=3):
    n = len(controls)
    knots = np.concatenate([np.zeros(degree), np.linspace(0, 1, n - degree + 1), np.ones(degree)])
    return Spline(controls, knots, lambda c, t: OutsideSpline(knots, c, degree)(np.minimum(t, 1.0)))


@pytest.mark.parametrize("seed", range(10))
def test_the_chords_of_a_spline_keep_the_error(seed):
    curve = spline(np.random.default_rng(seed).normal(0, 40, (9, 2)))
    dense = curve.evaluated(curve.controls, np.linspace(0, 1, 6_000))
    assert furthest_from(curve.flat(0.02), dense) <= 0.02


@pytest.mark.parametrize("seed", range(10))
def test_a_mapped_curve_is_the_map_of_the_curve(seed):
    dice = np.random.default_rng(seed)
    matrix, shift = dice.normal(0, 2, (2, 2)), dice.normal(0, 9, 2)
    arc = Arc(*dice.normal(0, 5, (3, 2)), 0.4, 4.0)
    cubic, lines = Cubic(dice.normal(0, 5, (4, 2))), Lines(dice.normal(0, 5, (7, 2)))
    bent = spline(dice.normal(0, 5, (6, 2)))
    t = np.linspace(0, 1, 50)
    np.testing.assert_allclose(on_arc(arc.moved(matrix, shift)), on_arc(arc) @ matrix.T + shift, atol=1e-10)
    np.testing.assert_allclose(
        on_cubic(cubic.moved(matrix, shift).points), on_cubic(cubic.points) @ matrix.T + shift, atol=1e-10
    )
    np.testing.assert_allclose(lines.moved(matrix, shift).flat(1), lines.points @ matrix.T + shift)
    moved = bent.moved(matrix, shift)
    np.testing.assert_allclose(
        moved.evaluated(moved.controls, t), bent.evaluated(bent.controls, t) @ matrix.T + shift, atol=1e-10
    )


def test_a_circle_is_told_from_an_ellipse_also_where_it_is_turned_and_mirrored():
    turn = 5 * np.array([[math.cos(1), -math.sin(1)], [math.sin(1), math.cos(1)]])
    assert Arc(np.zeros(2), turn[0], turn[1], 0, 1).radius == pytest.approx(5)
    assert Arc(np.zeros(2), turn[0], -turn[1], 0, 1).radius == pytest.approx(5)
    assert Arc(np.zeros(2), turn[0], 1.001 * turn[1], 0, 1).radius is None


@pytest.mark.parametrize(
    "curve",
    [
        Lines(np.array([(0, 0), (math.nan, 1)])),
        Arc(np.zeros(2), np.array([math.inf, 0]), np.array([0, 1.0]), 0, 1),
        Arc(np.zeros(2), np.array([1.0, 0]), np.array([0, 1.0]), math.nan, 1),
        Cubic(np.array([(0, 0), (1, 1), (2, math.nan), (3, 3)])),
        Lines(np.array([(0, 0), (1e12, 1)])),
    ],
)
def test_numbers_that_are_not_finite_are_told(curve):
    with pytest.raises(CurveError, match="not finite"):
        curve.flat(0.1)


def test_a_curve_that_needs_far_too_many_points_is_told():
    with pytest.raises(CurveError, match="more than 20,000 points; choose a larger chord error"):
        Arc(np.zeros(2), np.array([1e8, 0]), np.array([0, 1e8]), 0, 6).flat(0.001)
