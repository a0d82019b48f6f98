"""Time of the advice on sharing steer motors, and how it grows with the steered wheels.

Run with ``pytest tests/benchmarks --benchmark-enable``; skipped otherwise. Processor time is
what is bounded, so that other work on the machine does not count.
"""

from __future__ import annotations

import time

import numpy as np
import pytest

from geometry.kinematics.robot import robot_of
from geometry.model.design import Design
from geometry.model.wheel import Wheel
from geometry.motor_sharing.advice import advise

# Seconds for three motors, by steered wheels; 6 wheels are what a builder asks for.
MOST_SECONDS = {4: 2.0, 5: 3.0, 6: 5.0, 7: 8.0, 8: 12.0}
MOST_WAIT = 2.0
ROWS_MM = (200.0, -200.0, 100.0, -100.0)


def chassis(steered: int, trail: float) -> Design:
    """Two fixed driven wheels in the middle, and pairs of steered ones before and behind."""
    middle = [Wheel(name=f"m{y}", x_mm=0.0, y_mm=y, driven=True) for y in (120.0, -120.0)]
    rest = [
        Wheel(name=f"s{i}", x_mm=ROWS_MM[i // 2], y_mm=(120.0, -120.0)[i % 2], kind="steered", trail_mm=trail)
        for i in range(steered)
    ]
    return Design(wheels=(*middle, *rest))


@pytest.fixture(autouse=True)
def only_when_asked(request: pytest.FixtureRequest) -> None:
    if not request.config.getoption("--benchmark-enable"):
        pytest.skip("runs with --benchmark-enable")


@pytest.mark.parametrize("trail", [0.0, 10.0])
@pytest.mark.parametrize("steered", MOST_SECONDS)
def test_advice_for_three_motors_is_quick_and_can_be_cancelled_all_the_while(
    steered: int, trail: float
) -> None:
    design = chassis(steered, trail)
    told = [time.process_time()]

    def note(share: float) -> bool:
        told.append(time.process_time())
        return share <= 1.0

    found = advise(robot_of(design), 3, 1.0, note)
    taken, waits = told[-1] - told[0], np.diff(told)
    print(f"{steered} steered: {len(found)} groupings in {taken:.2f} s, longest wait {waits.max():.2f} s")
    assert taken <= MOST_SECONDS[steered]
    assert waits.max() <= MOST_WAIT
