"""Swept regions: nothing between two poses is missed, and nothing is called nearer than it comes."""

import itertools

import numpy as np
import pytest
import shapely

from geometry.shapes.rectangles import gap_between, rectangles
from geometry.shapes.sweeps import SHRUNK, Sweeps, first_nearer, gap_of_sweeps, swept_gap
from tests.effort import effort
from tests.geometry.shapes.drawn import polygons, posed, scattered, turning

# The turning shape counts as smaller by this at its corners [mm].
EXACT = 1.5 * SHRUNK


def wheel(low=-45.0, high=45.0, x=0.0, y=0.0):
    """A wheel 60 by 25 that stands at x, y beside its kingpin at the origin."""
    return Sweeps(rectangles([x], y, 30.0, 12.5), np.zeros(1, complex), *np.radians([[low], [high]]))


def regions(sweeps, i, poses):
    """The union of poses, which is too small, and that of hulls of neighbours, which is too large.

    A hull still cuts off what an arc bulges out between two poses; it is grown by that.
    """
    drawn = polygons(posed(sweeps, i, np.linspace(sweeps.low[i], sweeps.high[i], poses)))
    bulge = sweeps.nearest_and_farthest[1][i] * (
        1.0 - np.cos(0.5 * (sweeps.high[i] - sweeps.low[i]) / (poses - 1))
    )
    hulls = [shapely.convex_hull(shapely.union(a, b)) for a, b in itertools.pairwise(drawn)]
    return shapely.union_all(drawn), shapely.union_all(hulls).buffer(bulge)


def test_the_gap_lies_between_those_of_hulls_and_of_poses():
    random = np.random.default_rng(11)
    count = effort(80, 1_000)
    sweeps, still = turning(random, count), scattered(random, count, 90.0, 20.0, 6.0)
    found = swept_gap(sweeps, still)
    for i, one in enumerate(polygons(still)):
        poses, hulls = regions(sweeps, i, 181)
        nearest, farthest = (region.distance(one) - still.radius[i] for region in (hulls, poses))
        assert max(nearest, 0.0) - EXACT <= max(found[i], 0.0) <= max(farthest, 0.0) + EXACT


def test_no_contact_is_missed_among_random_pairs_at_401_poses():
    random = np.random.default_rng(5)
    count = effort(1_500, 6_000)
    sweeps, still = turning(random, count), scattered(random, count, 90.0, 20.0)
    found = swept_gap(sweeps, still)
    drawn = polygons(still)
    share, far = 0, sweeps.nearest_and_farthest[1]
    for i in range(count):
        angles = np.linspace(sweeps.low[i], sweeps.high[i], 401)
        least = shapely.distance(polygons(posed(sweeps, i, angles)), drawn[i]).min()
        assert found[i] <= least + EXACT
        share += least == 0
        # Between two poses no point moves further than this towards the other shape.
        assert least - max(found[i], 0.0) <= far[i] * 0.5 * (angles[1] - angles[0]) + EXACT
    assert 0.1 < share / count < 0.5


def test_a_post_between_two_poses_a_degree_apart_is_found():
    # The corner passes the post within a twentieth of a degree, and reaches over it by a micrometre.
    reach = abs(30.0 + 12.5j)
    for degrees in np.arange(-20.0, 20.0, 1.3):
        place = (reach - 1e-3) * np.exp(1j * np.radians(degrees))
        post = rectangles([place.real], place.imag, 0.0, 0.0)
        assert swept_gap(wheel(), post)[0] < 0.0
        at = first_nearer(wheel(), post, np.zeros(1))[0]
        corner = np.degrees(np.angle(30.0 + 12.5j))
        assert abs(abs(np.degrees(at)) - min(abs(degrees - corner), abs(degrees + corner))) < 0.5


def test_a_wheel_runs_over_what_lies_between_the_ends_of_its_travel():
    # Nothing of the outline of the swept region comes near the post: it lies wholly within.
    post = rectangles([20.0], 0.0, 1.0, 1.0)
    beside = Sweeps(rectangles([20.0], 0.0, 15.0, 4.0), np.zeros(1, complex), *np.radians([[-60.0], [60.0]]))
    assert swept_gap(beside, post)[0] < 0.0
    ends = Sweeps(beside.shape, beside.about, beside.high, beside.high)
    assert swept_gap(ends, post)[0] > 5.0


def test_a_full_turn_leaves_a_ring_with_a_hole():
    ring = Sweeps(
        rectangles([40.0], 0.0, 10.0, 5.0), np.zeros(1, complex), np.array([-np.pi]), np.array([np.pi])
    )
    for x, gap in ((0.0, 30.0), (25.0, 5.0), (35.0, 0.0), (60.0, 60.0 - np.hypot(50.0, 5.0))):
        for angle in (0.0, 1.0, 3.0):
            place = x * np.exp(1j * angle)
            found = swept_gap(ring, rectangles([place.real], place.imag, 0.0, 0.0))[0]
            assert max(found, 0.0) == pytest.approx(gap, abs=EXACT)
    near, far = ring.nearest_and_farthest
    assert (near[0], far[0]) == pytest.approx((30.0, np.hypot(50.0, 5.0)))


def test_what_only_touches_is_told_from_what_overlaps():
    touching, deeper = (rectangles([30.0 + 10.0 - d], 0.0, 10.0, 40.0) for d in (0.0, 1e-5))
    still = wheel(0.0, 0.0)
    assert swept_gap(still, touching)[0] > -0.5 * SHRUNK > swept_gap(still, deeper)[0]


def test_two_sweeps_are_as_far_apart_as_their_regions():
    random = np.random.default_rng(8)
    count = effort(60, 600)
    one, other = turning(random, count, 10.0, off=30.0), turning(random, count, 10.0, off=30.0)
    away = random.uniform(-120, 120, count) + 1j * random.uniform(-120, 120, count)
    other = Sweeps(other.shape.shifted(away), other.about + away, other.low, other.high)
    found = gap_of_sweeps(one, other)
    for i in range(count):
        (poses, hulls), (poses2, hulls2) = regions(one, i, 121), regions(other, i, 121)
        assert hulls.distance(hulls2) - 2 * EXACT <= max(found[i], 0.0) <= poses.distance(poses2) + 2 * EXACT
    assert gap_of_sweeps(other, one) == pytest.approx(found, abs=2 * EXACT)
    assert 0.05 < (found < 0).mean() < 0.6


def test_two_sweeps_may_be_nearest_where_a_flat_side_passes_a_corner_between_the_ends():
    # A flat side that stays 30 from the origin; within, a corner reaches 2 + hypot(20, 1) at the most.
    around = Sweeps(rectangles([40.0], 0.0, 10.0, 5.0), np.zeros(1, complex), *np.radians([[-60.0], [60.0]]))
    pin = Sweeps(rectangles([17.0], 0.0, 5.0, 1.0), np.array([2 + 0j]), *np.radians([[-30.0], [30.0]]))
    for found in (gap_of_sweeps(around, pin), gap_of_sweeps(pin, around)):
        assert found[0] == pytest.approx(28.0 - np.hypot(20.0, 1.0), abs=2 * EXACT)


def test_one_sweep_within_the_other_is_no_gap():
    small = Sweeps(rectangles([20.0], 0.0, 1.0, 1.0), np.array([20 + 0j]), np.zeros(1), np.ones(1))
    large = Sweeps(rectangles([20.0], 0.0, 15.0, 4.0), np.zeros(1, complex), *np.radians([[-60.0], [60.0]]))
    assert gap_of_sweeps(small, large)[0] <= 0.0
    assert gap_of_sweeps(large, small)[0] <= 0.0


@pytest.mark.parametrize("wanted", [0.0, 3.0])
def test_the_first_angle_is_the_one_nearest_to_straight_ahead_at_which_they_are_so_near(wanted):
    random = np.random.default_rng(21)
    count = effort(400, 2_000)
    sweeps, still = turning(random, count), scattered(random, count, 90.0, 20.0, 4.0)
    first = first_nearer(sweeps, still, np.full(count, wanted))
    drawn, met = polygons(still), 0
    for i in range(count):
        angles = np.linspace(sweeps.low[i], sweeps.high[i], 301)
        gaps = shapely.distance(polygons(posed(sweeps, i, angles)), drawn[i]) - still.radius[i]
        near = np.abs(angles[gaps < wanted - 1e-9])
        if near.size:
            assert abs(first[i]) <= near.min() + 1e-9
        if np.isfinite(first[i]) and first[i]:
            met += 1
            assert gap_between(sweeps.at(first), still)[i] <= wanted + 1e-6
            before = sweeps.at(first * (1 - 1e-6))
            assert gap_between(before, still)[i] > wanted - 1e-3
    assert met > 30
