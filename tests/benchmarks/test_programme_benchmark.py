"""Time to work out what the controller gets, and time of a call on MicroPython.

Run with ``pytest tests/benchmarks --benchmark-enable``; skipped otherwise, since times say
nothing while other tests run beside it. A call's time is told, not judged: the board is a
WebAssembly build, whose times say something only against each other.
"""

from __future__ import annotations

import time
from pathlib import Path
from typing import Any

import pytest

from app.controller.programme import programme_of
from app.design.samples import sample_design
from geometry.model.design import Design
from tests.board import micropython
from tests.written import code_text

MOST_SECONDS = 0.3
REPEATS = 8
CALLS = 20_000
KEYS = ("marsh_scout_six", "marsh_scout_motors")
MODES = (("table", "free"), ("table", "even"), ("formula", "free"))

TIMER = """
import sys
sys.path.append("/")
import time
import robot
controller = robot.chassis_controller()
best = 1e9
for _ in range(5):
    start = time.ticks_us()
    for i in range({calls}):
        controller.drive((i * 37) % 2001 - 1000, 1000, 20)
    best = min(best, time.ticks_diff(time.ticks_us(), start))
print(best / {calls})
"""


@pytest.fixture(autouse=True)
def enabled(request: pytest.FixtureRequest) -> None:
    if not request.config.getoption("--benchmark-enable"):
        pytest.skip("runs with --benchmark-enable")


def chosen(key: str, method: str, spacing: str) -> Design:
    design = sample_design(key)
    return design.edited(controller=design.controller.edited(method=method, spacing=spacing, error=0.1))


@pytest.mark.parametrize("spacing", ["free", "even"])
@pytest.mark.parametrize("key", KEYS)
def test_six_wheels_at_a_tenth_of_a_degree_are_worked_out_within_300_ms(
    key: str, spacing: str, benchmark: Any
) -> None:
    design = chosen(key, "table", spacing)
    assert programme_of(design).bound_deg <= 0.1
    best = float("inf")
    for _ in range(REPEATS):
        start = time.process_time()
        programme_of(design)
        best = min(best, time.process_time() - start)
    print(f"{key}, {spacing}: {1e3 * best:.0f} ms of processor time")
    benchmark.pedantic(programme_of, args=(design,), rounds=3)
    assert best <= MOST_SECONDS


@pytest.mark.parametrize("key", KEYS)
def test_a_call_on_micropython_is_timed_by_table_and_by_formula(
    key: str, tmp_path: Path, benchmark: Any, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "timer.py").write_text(TIMER.format(calls=CALLS), encoding="utf-8")
    for method, spacing in MODES:
        text = code_text(programme_of(chosen(key, method, spacing)), "micropython")
        (tmp_path / "robot.py").write_text(text, encoding="utf-8")
        each = float(micropython(tmp_path / "timer.py", tmp_path / "robot.py"))
        benchmark.extra_info[f"{method} {spacing}, us a call"] = each
        with capsys.disabled():
            print(f"\n{key}, {method}, {spacing}: {each:.1f} us a call on MicroPython", end="")
        assert each > 0
    benchmark.pedantic(lambda: None)
