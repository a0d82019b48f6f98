"""Outlines of swept regions, against known areas and against poses drawn in Shapely."""

import cmath
import itertools

import numpy as np
import pytest
import shapely

from geometry.shapes.rectangles import rectangles
from geometry.shapes.sweeps import Sweeps
from geometry.shapes.swept_outlines import Ring, swept_loops
from tests.effort import effort
from tests.geometry.shapes.drawn import polygons, posed


def turned(along=0.0, across=0.0, low=-45.0, high=45.0, length=30.0, width=12.5, angle=0.0):
    """A rectangle beside its turning point at the origin."""
    shape = rectangles([along], across, length, width, angle)
    return Sweeps(shape, np.zeros(1, complex), *np.radians([[low], [high]]))


def signed_area(loop):
    """Area that a loop encloses, by Green's theorem, arcs included; counter-clockwise positive."""
    if isinstance(loop, Ring):
        return np.pi * loop.radius**2
    area = 0.0
    for here, there in itertools.pairwise([*loop, loop[0]]):
        if here.sweep:
            area += 0.5 * abs(here.start) ** 2 * here.sweep
        else:
            area += 0.5 * (here.start.conjugate() * there.start).imag
    return area


def drawn(loop):
    if isinstance(loop, Ring):
        turns = np.linspace(0.0, 2.0 * np.pi, 2_000, endpoint=False)
        points = loop.radius * np.exp(1j * turns)
    else:
        points = np.concatenate(
            [
                e.start * np.exp(1j * np.linspace(0.0, e.sweep, 2 + int(600 * abs(e.sweep)))[:-1])
                if e.sweep
                else np.array([e.start])
                for e in loop
            ]
        )
    return shapely.Polygon(np.stack([points.real, points.imag], axis=1))


def region(loops):
    """What loops bound: all that is around less all holes."""
    areas = [signed_area(loop) for loop in loops]
    rings = [isinstance(loop, Ring) for loop in loops]
    largest = max(abs(a) for a in areas)
    holes = [a < 0 or (ring and a < largest) for a, ring in zip(areas, rings, strict=True)]
    shapes = [drawn(loop) for loop in loops]
    assert all(shape.is_valid for shape in shapes)
    solid = shapely.union_all([s for s, hole in zip(shapes, holes, strict=True) if not hole])
    return shapely.difference(solid, shapely.union_all([s for s, h in zip(shapes, holes, strict=True) if h]))


@pytest.mark.parametrize(
    ("along", "across", "travel", "area"),
    [(0.0, 0.0, 45.0, 2930.6499), (0.0, 30.0, 30.0, 3130.7873), (-20.0, 30.0, 60.0, 5704.3068)],
)
def test_a_wheel_sweeps_this_area_about_its_kingpin(along, across, travel, area):
    (loops,) = swept_loops(turned(along, across, -travel, travel))
    assert sum(signed_area(loop) for loop in loops) == pytest.approx(area, abs=1e-3)


def test_a_whole_turn_covers_a_ring():
    (loops,) = swept_loops(turned(0.0, 40.0, -180, 180))
    assert sorted(loop.radius for loop in loops) == pytest.approx([27.5, np.hypot(30, 52.5)])
    (loops,) = swept_loops(turned(low=-180, high=180))
    assert [loop.radius for loop in loops] == pytest.approx([32.5])


def test_half_a_turn_about_its_middle_covers_all_that_a_whole_one_does():
    (loops,) = swept_loops(turned(low=-90, high=90))
    assert loops == (Ring(pytest.approx(32.5)),)


def test_a_range_that_nearly_closes_leaves_a_hole():
    (loops,) = swept_loops(turned(0.0, 40.0, -170, 170))
    areas = sorted(signed_area(loop) for loop in loops)
    assert len(areas) == 2
    assert areas[0] == pytest.approx(-np.pi * 27.5**2, rel=0.05)


def test_each_edge_ends_where_the_next_one_begins_and_none_is_without_length():
    random = np.random.default_rng(4)
    for _ in range(effort(200, 2_000)):
        for loop in swept_loops(scattered(random))[0]:
            if isinstance(loop, Ring):
                continue
            for here, there in itertools.pairwise([*loop, loop[0]]):
                end = here.start * cmath.exp(1j * here.sweep) if here.sweep else there.start
                size = max(abs(e.start) for e in loop)
                assert abs(end - there.start) < 1e-7 * size
                assert abs(there.start - here.start) > 1e-10 * size or abs(here.sweep) > 3
                assert abs(here.sweep) <= np.pi + 1e-12


def scattered(random):
    """One rectangle about the origin, round numbers and degenerate ranges often."""
    length, width = random.choice([5, 12.5, 30, 60]), random.choice([1, 5, 12.5, 30])
    x = random.choice([0, 0, 10, -10, 12.5, -30, 35, random.uniform(-80, 80)])
    y = random.choice([0, 0, 12, -12.5, 30, random.uniform(-80, 80)])
    low = random.choice([-180, -135, -90, -80, -35, 0, -random.uniform(0, 180)])
    high = random.choice([180, 135, 90, 80, 45, random.uniform(0.01, 180)])
    angle = random.choice([0, 0, np.radians(20), random.uniform(-0.7, 0.7)])
    return turned(x, y, low, high, length, width, angle)


def test_the_region_holds_every_pose_and_nothing_that_hulls_of_neighbours_do_not():
    random = np.random.default_rng(8)
    poses = 61
    for _ in range(effort(60, 1_000)):
        sweeps = scattered(random)
        found = region(swept_loops(sweeps)[0])
        angles = np.linspace(sweeps.low[0], sweeps.high[0], poses)
        shapes = polygons(posed(sweeps, 0, angles))
        far = float(sweeps.nearest_and_farthest[1][0])
        bulge = far * (1.0 - np.cos(0.5 * (angles[1] - angles[0])))
        # The arcs are drawn as chords here.
        inner = shapely.union_all(shapes)
        assert inner.difference(found.buffer(1e-6 * far + 1e-4)).area < 1e-9 * far**2
        pairs = [shapely.convex_hull(shapely.union(a, b)) for a, b in itertools.pairwise(shapes)]
        outer = shapely.union_all(pairs).buffer(bulge + 1e-6)
        assert found.difference(outer).area < 1e-9 * far**2


def test_thin_bands_between_a_corner_and_the_nearest_point_of_an_edge_are_kept():
    # The corner is 0.0001 mm further from the kingpin than the edge's nearest point.
    sweeps = turned(-48.54392592187505, -12.5, -80.0, 80.0, 60.0, 5.0, np.radians(20.0))
    (loops,) = swept_loops(sweeps)
    assert len(loops) == 1
    assert region(loops).is_valid
