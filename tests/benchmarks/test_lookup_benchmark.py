"""Time to fit a table to the six-wheeled chassis, and to prove it.

Run with ``pytest tests/benchmarks --benchmark-enable``; skipped otherwise, since times say
nothing while other tests run beside it.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from geometry.axes import Floats
from geometry.kinematics.ideal import solve
from geometry.kinematics.motion import from_turn
from geometry.lookup_table.error_band import TURN_ONE, OutputCurves
from geometry.lookup_table.fit import breaks_and_kinks, fit_table
from geometry.lookup_table.fixed_point import Spacing
from geometry.model.base_axle import base_of
from geometry.model.design import Design
from geometry.model.wheel import Wheel
from geometry.model.wheel_arrays import wheel_arrays
from geometry.turn_range.sweep import landmarks

MOST_SECONDS = 0.3
# The fit against one evaluation of all its samples: a ratio that does not depend on the machine.
MOST_TIMES = 20.0
REPEATS = 12


@pytest.fixture(autouse=True)
def enabled(request: pytest.FixtureRequest) -> None:
    if not request.config.getoption("--benchmark-enable"):
        pytest.skip("runs with --benchmark-enable")


def six(travel: float) -> OutputCurves:
    """Four steered corners at 0.1 degrees and six driven wheels at half a per cent."""
    places = [(x, y) for x in (132.0, 0.0, -132.0) for y in (120.0, -120.0)]
    wheels = tuple(
        Wheel(
            name=f"w{i}",
            x_mm=x,
            y_mm=y,
            kind="fixed" if x == 0 else "steered",
            travel_min_deg=-travel,
            travel_max_deg=travel,
        )
        for i, (x, y) in enumerate(places)
    )
    arrays, base = wheel_arrays(Design(wheels=wheels)), base_of(Design(wheels=wheels))
    steered = np.flatnonzero(arrays.steered)

    def values(turn: Floats) -> Floats:
        found = solve(arrays, from_turn(turn, base))
        return np.concatenate([np.degrees(found.steer[:, steered]), found.roll], axis=1)

    breaks, kinks = breaks_and_kinks(landmarks(arrays, base))
    return OutputCurves(values, -1.0, 1.0, [0.1] * 4 + [0.005] * 6, breaks, kinks)


def best_of(*calls: Callable[[], object]) -> list[float]:
    """Shortest processor time of each call, interleaved so that a busy machine slows all alike [s]."""
    best = [float("inf")] * len(calls)
    for _ in range(REPEATS):
        for i, call in enumerate(calls):
            start = time.process_time()
            call()
            best[i] = min(best[i], time.process_time() - start)
    return best


@pytest.mark.parametrize("travel", [80.0, 135.0])
@pytest.mark.parametrize("spacing", ["free", "even"])
def test_a_table_of_ten_outputs_is_fitted_within_300_ms(
    travel: float, spacing: Spacing, benchmark: Any
) -> None:
    curves = six(travel)
    turn = np.linspace(-1.0, 1.0, 4 * TURN_ONE + 1)
    found = fit_table(curves, spacing)
    assert (found.bound <= found.allowed).all()
    floor, ours = best_of(lambda: curves.values(turn), lambda: fit_table(curves, spacing))
    benchmark.extra_info["ratio"] = ours / floor
    benchmark.pedantic(fit_table, args=(curves, spacing), rounds=5)
    print(f"{1e3 * ours:.0f} ms, ratio {ours / floor:.1f}, {len(found.table.nodes)} rows")
    assert ours <= MOST_SECONDS
    assert ours <= MOST_TIMES * floor
