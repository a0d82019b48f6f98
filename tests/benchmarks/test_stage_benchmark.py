"""A change of stage, from the click to the painted window.

Run with ``pytest tests/benchmarks --benchmark-enable``. The limit grows with the time of plain items in
the same run, as that of a drag step does.
"""

from __future__ import annotations

import statistics
import time

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from app.design.samples import sample_design
from app.settings import Settings
from tests.benchmarks.test_drag_benchmark import ROOM, USUAL_PLAIN_MS, Plain

MOST_MS = 100.0


@pytest.mark.parametrize("sample", ["marsh_scout_six", "marsh_scout_motors"])
def test_a_stage_is_painted_within_a_tenth_of_a_second(make_window, make_document, request, sample, capsys):
    if not request.config.getoption("--benchmark-enable"):
        pytest.skip("runs with --benchmark-enable")
    window = make_window(make_document(sample_design(sample)), Settings(welcome_dismissed=True))
    window.resize(1280, 800)
    plain = Plain(42, window.canvas.size())
    bare = min(statistics.median(plain.step() for _ in range(15)) for _ in range(10))
    plain.view.close()
    took: dict[str, list[float]] = {}
    for _ in range(5):
        for key, button in window.middle.bar.buttons.items():
            begun = time.perf_counter()
            QTest.mouseClick(button, Qt.MouseButton.LeftButton)
            QApplication.processEvents()
            took.setdefault(key, []).append(1000.0 * (time.perf_counter() - begun))
            assert window.middle.side.stage == key
    # The first time a stage is seen it is laid out, and the library of the plots loaded.
    least = {key: min(times[1:]) for key, times in took.items()}
    with capsys.disabled():
        print(f"\n  stage, {sample}: " + ", ".join(f"{key} {ms:.0f} ms" for key, ms in least.items()))
    assert max(least.values()) <= MOST_MS * ROOM * max(1000.0 * bare / USUAL_PLAIN_MS[6], 1.0)
