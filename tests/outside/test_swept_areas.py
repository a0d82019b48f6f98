"""Areas swept by a wheel about its kingpin, from the closed form of the radial integral; derived by hand."""

from __future__ import annotations

import numpy as np
import pytest

from geometry.shapes.rectangles import Rectangles, rectangles
from geometry.shapes.sweeps import Sweeps, swept_gap

STEP = 0.5


def swept_area(along: float, across: float, travel: float) -> float:
    """Area that a wheel 60 by 25 covers, counted in points of a grid that it comes to [mm2]."""
    line = np.arange(-80.0, 80.0, STEP) + 0.37 * STEP
    x, y = (axis.ravel() for axis in np.meshgrid(line, line))
    near = np.hypot(x, y) < 68.0
    points = rectangles(x[near], y[near], 0.0, 0.0)
    covered, count = 0, 20_000
    for start in range(0, len(points.middle), count):
        some = points.take(np.arange(start, min(start + count, len(points.middle))))
        k = len(some.middle)
        wheel = Rectangles(*(np.repeat(a, k) for a in _wheel(along, across)))
        ends = np.radians(travel) * np.ones(k)
        covered += int((swept_gap(Sweeps(wheel, np.zeros(k, complex), -ends, ends), some) <= 0).sum())
    return covered * STEP**2


def _wheel(along: float, across: float) -> tuple[np.ndarray, ...]:
    one = rectangles([along], across, 30.0, 12.5)
    return one.middle, one.along, one.across, one.radius


@pytest.mark.parametrize(
    ("along", "across", "travel", "area"),
    [(0.0, 0.0, 45.0, 2930.6499), (0.0, 30.0, 30.0, 3130.7873), (-20.0, 30.0, 60.0, 5704.3068)],
)
def test_a_wheel_sweeps_this_area_about_its_kingpin(along, across, travel, area) -> None:
    assert swept_area(along, across, travel) == pytest.approx(area, rel=2e-3)
