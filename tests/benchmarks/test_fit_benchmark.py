"""Speed of all collisions of 12 wheels and 60 parts over the whole travel, as a ratio to bare numpy.

Run with ``pytest tests/benchmarks --benchmark-enable``; skipped otherwise, since a ratio of times says
nothing while other tests run beside it. The baseline, one arctan2 and one hypot of 100,000 pairs, took
1.9 ms where the fit took 3.0 ms without a collision; each collision over the travel adds some 3 ms, nearly
all of it for its way out.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from geometry.kinematics.robot import robot_of
from geometry.model.design import Design
from geometry.model.packaging import Packaging, Part
from geometry.model.wheel import Wheel
from geometry.packaging.fit import collisions_of

REPEATS = 40
BASELINE = 100_000


def chassis(collisions: int) -> Design:
    """Twelve steered wheels along a body that holds 60 parts; some of the last stand beside wheels."""
    wheels = [
        Wheel(name=f"w{i}", x_mm=x, y_mm=y, kind="steered", travel_min_deg=-60.0, travel_max_deg=60.0)
        for i, (x, y) in enumerate((x, y) for x in np.arange(-250.0, 251.0, 100.0) for y in (150.0, -150.0))
    ]
    places = [(x, y) for x in np.arange(-270.0, 271.0, 60.0) for y in np.arange(-90.0, 91.0, 36.0)]
    sizes = {"length_mm": 40.0, "width_mm": 20.0, "height_mm": 30.0, "bottom_mm": 30.0, "clearance_mm": 1.0}
    parts = [
        Part(name=f"p{i}", x_mm=x, y_mm=y, turn_deg=float(i % 11 - 5), **sizes)
        for i, (x, y) in enumerate(places[: 60 - collisions])
    ]
    parts += [
        Part(name=f"b{i}", x_mm=-250.0 + 100.0 * i, y_mm=120.0, **{**sizes, "width_mm": 8.0})
        for i in range(collisions)
    ]
    body = ((310.0, 110.0), (-310.0, 110.0), (-310.0, -110.0), (310.0, -110.0))
    return Design(wheels=tuple(wheels), body_mm=body, packaging=Packaging(parts=tuple(parts)))


def best_of(*calls: Callable[[], object]) -> list[float]:
    """Shortest time of each call, interleaved so that a busy machine slows all alike [s]."""
    best = [float("inf")] * len(calls)
    for _ in range(REPEATS):
        for i, call in enumerate(calls):
            start = time.perf_counter()
            call()
            best[i] = min(best[i], time.perf_counter() - start)
    return best


@pytest.mark.parametrize(("collisions", "most"), [(0, 2.5), (1, 5.0)])
def test_all_collisions_take_no_longer_than_some_sweeps_of_bare_numpy(
    request: pytest.FixtureRequest, benchmark: Any, collisions: int, most: float
) -> None:
    if not request.config.getoption("--benchmark-enable"):
        pytest.skip("runs with --benchmark-enable")
    design = chassis(collisions)
    robot = robot_of(design)
    heading = robot.wheels.built_in
    found = collisions_of(robot, design, heading)
    assert (len(design.wheels), len(design.packaging.parts), len(found)) == (12, 60, collisions)
    a, b = np.random.default_rng(1).normal(size=(2, BASELINE))

    def bare() -> None:
        np.arctan2(a, b)
        np.hypot(a, b)

    floor, ours = best_of(bare, lambda: collisions_of(robot, design, heading))
    benchmark.extra_info["ratio"] = ours / floor
    benchmark.pedantic(collisions_of, args=(robot, design, heading), rounds=20)
    print(f"ratio {ours / floor:.2f}, {1e3 * ours:.1f} ms to {1e3 * floor:.1f} ms")
    assert ours <= most * floor
