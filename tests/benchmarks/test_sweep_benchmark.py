"""Speed and memory of a whole sweep, as ratios to bare numpy in the same run.

Run with ``pytest tests/benchmarks --benchmark-enable``; skipped otherwise, since a ratio of
times says nothing while other tests run beside it.
"""

from __future__ import annotations

import time
import tracemalloc
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from geometry.axes import Floats
from geometry.kinematics.alignment import miss_distance
from geometry.model.base_axle import Base, base_of
from geometry.model.design import Design
from geometry.model.wheel import Wheel
from geometry.model.wheel_arrays import WheelArrays, wheel_arrays
from geometry.turn_range.sweep import Sweep, sweep, turns_between

ROWS, REPEATS = 10_001, 60
MOST_TIMES, MOST_ARRAYS = 4.0, 10.0
Case = tuple[WheelArrays, Base]


def six(travel: float, trail: float = 0.0, casters: int = 0) -> Design:
    """Six wheels with steered corners, the last ones perhaps casters."""
    places = [(x, y) for x in (132.0, 0.0, -132.0) for y in (120.0, -120.0)]
    wheels = []
    for i, (x, y) in enumerate(places):
        kind = "fixed" if x == 0 else "caster" if i >= len(places) - casters else "steered"
        more = {"trail_mm": 20.0 if kind == "caster" else trail} if kind != "fixed" else {}
        values = {"name": f"w{i}", "x_mm": x, "y_mm": y, "kind": kind, **more}
        wheels.append(Wheel.model_validate({**values, "travel_min_deg": -travel, "travel_max_deg": travel}))
    return Design(wheels=tuple(wheels))


CASES = {
    "travel 80, many flips": six(80.0),
    "travel 135": six(135.0),
    "travel 80 with trail": six(80.0, trail=10.0),
    "travel 80 with a caster": six(80.0, casters=1),
}


@pytest.fixture(params=CASES, autouse=True)
def case(request: pytest.FixtureRequest) -> Case:
    if not request.config.getoption("--benchmark-enable"):
        pytest.skip("runs with --benchmark-enable")
    design = CASES[request.param]
    return wheel_arrays(design), base_of(design)


def answers(case: Case, turn: Floats) -> tuple[Sweep, Floats]:
    """Angles and speeds and misses of all wheels."""
    found = sweep(*case, turn)
    return found, miss_distance(found.solution.side, found.solution.motion.twist[:, 2:3])


def best_of(*calls: Callable[[], object]) -> list[float]:
    """Shortest time of each call, interleaved so that a busy machine slows all alike [s].

    Freeing one large array first lets the C library keep memory between calls, as it does in
    a program that has run for a while; else the clearing of fresh pages is timed, by chance
    more in one run than in the next (measured: ratios from 1.9 to 3.1 for one and the same code).
    """
    np.empty(4_000_000)
    best = [float("inf")] * len(calls)
    for _ in range(REPEATS):
        for i, call in enumerate(calls):
            start = time.perf_counter()
            call()
            best[i] = min(best[i], time.perf_counter() - start)
    return best


def test_a_sweep_takes_at_most_four_times_a_bare_arctan2_plus_hypot(case: Case, benchmark: Any) -> None:
    turn = turns_between(-1.0, 1.0, ROWS)
    random = np.random.default_rng(1)
    a, b = random.normal(size=(2, ROWS, len(case[0])))

    def bare() -> None:
        np.arctan2(a, b)
        np.hypot(a, b)

    floor, ours = best_of(bare, lambda: answers(case, turn))
    benchmark.extra_info["ratio"] = ours / floor
    benchmark.pedantic(answers, args=(case, turn), rounds=20)
    print(f"ratio {ours / floor:.2f}")
    assert ours <= MOST_TIMES * floor


def test_a_sweep_holds_at_most_ten_arrays_at_its_peak(case: Case) -> None:
    turn = turns_between(-1.0, 1.0, ROWS)
    answers(case, turn)
    tracemalloc.start()
    try:
        kept = answers(case, turn)
        peak = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    assert kept[1].shape == (ROWS, len(case[0]))
    assert peak <= MOST_ARRAYS * kept[1].nbytes
