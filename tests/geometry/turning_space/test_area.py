"""The swept area between a union of poses, which understates, and of hulls, which overstates."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import MultiPoint, Polygon, affinity, unary_union

from geometry.turning_space.area import swept_area


@given(
    st.lists(st.integers(20, 300), min_size=3, max_size=7),
    st.tuples(st.integers(-300, 300), st.integers(-300, 300)),
    st.floats(0.0, 7.0),
)
@settings(max_examples=40)
def test_the_area_lies_between_poses_and_hulls(
    reach: list[int], centre: tuple[int, int], angle: float
) -> None:
    around = np.linspace(0.0, 2.0 * np.pi, len(reach), endpoint=False)
    outline = [(r * np.cos(a), r * np.sin(a)) for r, a in zip(reach, around, strict=True)]
    steps = 120
    poses = [
        affinity.rotate(Polygon(outline), k * angle / steps, origin=centre, use_radians=True)
        for k in range(steps + 1)
    ]
    # The hull of each piece of the outline holds what that piece sweeps but for slivers of its arcs.
    triangles = [Polygon([(0.0, 0.0), outline[k], outline[k - 1]]) for k in range(len(outline))]
    hulls = []
    for triangle in triangles:
        turned = [
            affinity.rotate(triangle, k * angle / steps, origin=centre, use_radians=True)
            for k in range(steps + 1)
        ]
        hulls += [
            MultiPoint([*a.exterior.coords, *b.exterior.coords]).convex_hull
            for a, b in itertools.pairwise(turned)
        ]
    found = swept_area(outline, centre, angle)
    far = max(np.hypot(x - centre[0], y - centre[1]) for x, y in outline)
    slivers = far**2 * (angle / steps) ** 2 * (angle + 1.0)
    assert unary_union(poses).area <= found + 1e-6 * found
    assert found <= unary_union(hulls).area + slivers + 1e-6 * found


def test_a_centre_in_a_notch_is_not_covered() -> None:
    notched = [
        (100, 100),
        (-100, 100),
        (-100, 20),
        (50, 20),
        (50, -20),
        (-100, -20),
        (-100, -100),
        (100, -100),
    ]
    assert swept_area(notched, (0, 0), 2 * np.pi) == pytest.approx(np.pi * (20000.0 - 400.0))
    assert swept_area(notched, (0, 0), 0.0) == pytest.approx(Polygon(notched).area)
