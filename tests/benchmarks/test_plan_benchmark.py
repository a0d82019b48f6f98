"""How long a plan on paper takes: the pages and their PDF, against a plain start of the same interpreter.

Run with ``pytest tests/benchmarks --benchmark-enable``; skipped otherwise.
"""

from __future__ import annotations

import os
import resource
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
CHASSIS = "sample_chassis/marsh_scout_motors.json"
MOST_SECONDS = 0.7
ROUNDS = 7


@pytest.fixture(autouse=True)
def enabled(request: pytest.FixtureRequest) -> None:
    if not request.config.getoption("--benchmark-enable"):
        pytest.skip("runs with --benchmark-enable")


def processor_seconds(*words: str) -> float:
    """Least processor time of a process, its start included: a busy machine adds little to it."""
    best = float("inf")
    for _ in range(ROUNDS):
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        command = [sys.executable, "-P", *words]
        environment = {**os.environ, "PYTHONPATH": str(ROOT)}
        subprocess.run(command, cwd=ROOT, check=True, capture_output=True, env=environment)
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        best = min(best, after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime)
    return best


def test_a_plan_takes_no_longer_than_three_checks_and_less_than_seven_tenths_of_a_second(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    check = processor_seconds("-m", "app.main", "check", CHASSIS)
    plan = processor_seconds("-m", "app.main", "plan", CHASSIS, "-o", str(tmp_path / "plan.pdf"))
    with capsys.disabled():
        print(f"\na plan: {plan:.2f} s of processor time, a check: {check:.2f} s", end="")
    assert plan < MOST_SECONDS
    assert plan < 3.0 * check
