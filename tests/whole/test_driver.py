"""The window on a drawn screen, driven at random by real keys and mouse events; see `driver.py`."""

from __future__ import annotations

import re
import subprocess
import sys
from types import SimpleNamespace

import pytest
from PySide6.QtWidgets import QWidget

from app.window.section import OwnWindow
from tests.board import lacks, required
from tests.effort import DRIVES, effort
from tests.whole import driver_course
from tests.whole.driver_screen import ROOT, own_screen, why_not

SEEDS = (1, 2, 3, 4)
ACTS = effort(500, 5_000)

# The inside of a run, with one thing of the program broken before its window opens.
BROKEN = """
import sys
from PySide6.QtCore import qWarning
from PySide6.QtWidgets import QLineEdit
from app.panels.number_field import NumberField
from app.undo import DesignChange
from app.views.canvas import PlanCanvas
from app.window import start
from app.window.main_window import MainWindow
made = MainWindow.__init__
def broken(self, *words):
    made(self, *words)
    {breaking}
MainWindow.__init__ = broken
from tests.whole import driver
sys.exit(driver.main(sys.argv[1:]))
"""
FAULTS = {
    "an exception": (
        "[a.triggered.connect(lambda: 1 / 0) for a in self.action.values()]",
        "ZeroDivisionError",
    ),
    "a warning": (
        "[a.triggered.connect(lambda: qWarning('a loose end')) for a in self.action.values()]",
        "Qt said: a loose end",
    ),
    "a window that is not drawn": ("self.setUpdatesEnabled(False)", "not one pixel of the screen changed"),
    "a field out of sight": (
        "self.middle.side.panels; [f.setFixedHeight(0) for f in self.findChildren(NumberField)]",
        "px are in sight",
    ),
    "an undo that leaves something": (
        "DesignChange.undo = lambda step: step._show(step.before.edited(notes='left over'))",
        "undone to the start",
    ),
    "a key that does not undo": ("self.action['undo'].setShortcuts([])", "Ctrl+Z does nothing"),
}


def needs_a_screen() -> None:
    if not DRIVES:
        pytest.skip("runs from .ci/run, or with AXLEWRIGHT_DRIVE=1")
    if why_not() and required() and sys.platform.startswith("linux"):
        lacks(why_not())
    if why_not():
        pytest.skip(why_not())


def driven(*words: str) -> subprocess.CompletedProcess[str]:
    needs_a_screen()
    command = [sys.executable, "-m", "tests.whole.driver", *words]
    return subprocess.run(command, capture_output=True, text=True, cwd=ROOT)


@pytest.mark.slow
@pytest.mark.timeout(3_600)
@pytest.mark.parametrize("seed", SEEDS)
def test_whatever_keys_and_mouse_do_nothing_breaks_hides_or_stays_behind(seed, tmp_path):
    done = driven("--seed", str(seed), "--acts", str(ACTS), "--pictures", str(tmp_path))
    assert done.returncode == 0, done.stdout + done.stderr
    found = re.search(r"(\d+) changed the plan; (\d+) steps undone", done.stdout)
    assert found, done.stdout
    changed, undone = map(int, found.groups())
    assert changed > ACTS / 25, "the acts are to reach the design"
    assert undone > 0


@pytest.mark.slow
@pytest.mark.timeout(1_200)
def test_a_dialog_that_is_opened_over_and_over_takes_no_more_memory(tmp_path):
    done = driven("--course", "openings", "--pictures", str(tmp_path))
    assert done.returncode == 0, done.stdout + done.stderr
    assert "Help: " in done.stdout


@pytest.mark.slow
@pytest.mark.parametrize("fault", FAULTS)
def test_the_driver_finds(fault, tmp_path):
    needs_a_screen()
    breaking, told = FAULTS[fault]
    inside = ["--work", str(tmp_path), "--pictures", str(tmp_path), "--acts", "600", "--seed", "3"]
    with own_screen((1280, 800), tmp_path) as environment:
        done = subprocess.run(
            [sys.executable, "-c", BROKEN.replace("{breaking}", breaking), *inside],
            capture_output=True,
            text=True,
            cwd=ROOT,
            env=environment,
        )
    assert done.returncode == 1, done.stdout + done.stderr
    assert told in done.stdout
    assert "The last acts:\n" in done.stdout
    assert re.search(r"Again: python -m tests\.whole\.driver --seed 3 --acts \d+", done.stdout)
    (picture,) = re.findall(r"The screen: (.+)", done.stdout)
    assert picture.startswith(str(tmp_path))
    assert len(list(tmp_path.glob("act-*.png"))) == 1


def test_a_run_that_dies_tells_its_last_acts(tmp_path, capsys):
    from tests.whole.driver import ended

    (tmp_path / "acts.txt").write_text("1: key Tab\n2: key F1\n", encoding="utf-8")
    assert ended(-11, tmp_path) == 1
    assert "the program ended with -11 at act 2" in capsys.readouterr().out


def test_who_cannot_click_beside_a_window_of_a_section_closes_it(qtbot, monkeypatch):
    main, panel = QWidget(), QWidget()
    own = OwnWindow(main, "Parts", panel)
    qtbot.addWidget(main)
    in_front = [own]
    monkeypatch.setattr(driver_course, "front", lambda: in_front[0])
    monkeypatch.setattr(driver_course, "_free_place", lambda _watch: None)
    told = []
    for act in driver_course.to_the_window(SimpleNamespace(window=main)):
        told.append(act.words)
        if "Ctrl+W" in act.words:
            in_front[0] = main
    assert told[-1] == "key Ctrl+W, to close the window of a section"
    assert len(told) < driver_course._MOST_ESCAPES
