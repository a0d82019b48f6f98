"""Gaps of shapes that stand still and the ways out of an overlap, against Shapely and by hand."""

import numpy as np
import pytest
import shapely
from shapely import affinity

from geometry.shapes.rectangles import DIRECTIONS, edges_of, gap_between, holds, rectangles, ways_along
from tests.geometry.shapes.drawn import polygons, scattered


@pytest.mark.parametrize("seed", [1, 2])
def test_the_gap_is_shapelys_and_overlaps_are_below_0(seed):
    random = np.random.default_rng(seed)
    one, other = scattered(random, 10_000, round_=8.0), scattered(random, 10_000, round_=8.0)
    found = gap_between(one, other)
    a, b = polygons(one), polygons(other)
    apart = shapely.distance(a, b) - one.radius - other.radius
    far = shapely.distance(a, b) > 0
    assert np.abs(found - apart)[far].max() < 1e-9
    assert (found[~far] <= -(one.radius + other.radius)[~far] + 1e-9).all()
    assert 1_000 < far.sum() < 9_900


def test_an_overlap_is_as_deep_as_the_shortest_shift_that_ends_it():
    big, small = rectangles(0.0, 0.0, 10.0, 5.0), rectangles(7.0, 1.0, 2.0, 2.0)
    assert gap_between(big, small) == pytest.approx(-5.0)
    assert gap_between(big, small.shifted(6j)) == pytest.approx(0.0)
    # Of two that are alike it is the least of all directions.
    assert gap_between(big, big) == pytest.approx(-10.0)


def test_a_shift_along_the_way_restores_the_gap_and_less_does_not():
    random = np.random.default_rng(4)
    one, other = scattered(random, 600, 25.0, round_=5.0), scattered(random, 600, 25.0, round_=5.0)
    wanted = random.choice([0.0, 0.5, 4.0], 600)
    ways = ways_along(one, other, wanted)
    deep = gap_between(one, other) < wanted - 1e-6
    assert deep.sum() > 150
    for n, direction in enumerate(DIRECTIONS):
        shift = ways[deep, n]
        assert (shift > 0).all()
        after = gap_between(one.take(deep).shifted(direction * shift), other.take(deep))
        assert after == pytest.approx(wanted[deep], abs=1e-7)
        less = gap_between(one.take(deep).shifted(direction * 0.999 * shift), other.take(deep))
        assert (less < wanted[deep]).all()


def test_a_shape_beside_the_line_is_never_met():
    ways = ways_along(rectangles(0.0, 0.0, 1.0, 1.0), rectangles(0.0, 9.0, 1.0, 1.0), 2.0)
    assert ways[:2].tolist() == [-np.inf, -np.inf]
    assert ways[2:] == pytest.approx([13.0, -5.0])


def test_edges_go_from_each_corner_to_the_next():
    edges = edges_of([(0, 0), (4, 0), (4, 3)])
    assert (edges.middle - edges.along) == pytest.approx([0, 4, 4 + 3j])
    assert (edges.middle + edges.along) == pytest.approx([4, 4 + 3j, 0])
    assert len(edges_of(np.zeros((0, 2))).middle) == 0


@pytest.mark.parametrize("backward", [False, True])
def test_inside_is_shapelys_inside_for_a_hollow_outline(backward):
    outline = [(0, 0), (10, 0), (10, 2), (3, 2), (3, 5), (10, 5), (10, 9), (0, 9)]
    points = np.random.default_rng(3).uniform(-2, 12, (4_000, 2))
    expected = shapely.contains_xy(shapely.Polygon(outline), points)
    found = holds(outline[::-1] if backward else outline, points[:, 0] + 1j * points[:, 1])
    assert (found == expected).all()
    assert not holds(np.zeros((0, 2)), np.array([0j])).any()


def test_turning_and_shifting_move_every_corner_alike():
    shape = rectangles([3.0], [4.0], 2.0, 1.0, 0.3, 0.5)
    moved = shape.turned(np.array([1 + 1j]), np.array([0.7])).shifted(5.0)
    assert moved.corners == pytest.approx((shape.corners - (1 + 1j)) * np.exp(0.7j) + 6 + 1j)
    drawn = affinity.rotate(polygons(shape)[0], 0.7, origin=(1, 1), use_radians=True)
    assert affinity.translate(drawn, 5, 0).symmetric_difference(polygons(moved)[0]).area < 1e-9
