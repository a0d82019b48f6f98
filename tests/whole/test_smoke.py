"""Each verb of the command line once, as a person would call it, in a process of its own."""

from __future__ import annotations

import csv
import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from app.cli.registry import verb_names
from app.design.driving_edits import add_script
from app.design.files import write_design
from app.design.samples import sample_design
from geometry.model.driving import Move, Script

ROOT = Path(__file__).resolve().parents[2]
RUNS = {
    "samples": ((["samples", "marsh_scout_motors", "-o", "scout.json"], 0),),
    "check": ((["check", "scout.json"], 0), (["check", "misbuilt.json"], 1), (["check", "absent.json"], 2)),
    "table": ((["table", "scout.json", "-o", "scout.csv"], 0),),
    "export": ((["export", "scout.json", "--format", "micropython", "-o", "robot.py"], 0),),
    "outline": (
        (["outline", "scout.json", "plate.svg", "--holes", "-o", "plate.json"], 0),
        (["outline", "scout.json", "scout.json", "-o", "other.json"], 2),
    ),
    "measure": ((["measure", "scout.json"], 0), (["measure", "scout.json", "--curves"], 2)),
    "drive": (
        (["drive", "driven.json", "--script", "script", "--course", "doorway", "-o", "path.csv"], 0),
        (["drive", "driven.json", "--script", "script", "--course", "slalom"], 1),
        (["drive", "driven.json", "--script", "absent"], 2),
    ),
    "fit": ((["fit", "scout.json"], 0), (["fit", "absent.json"], 2)),
    "plan": (
        (["plan", "scout.json", "-o", "plan.pdf", "--one-sheet"], 0),
        (["plan", "scout.json", "-o", "plan.pdf", "--paper", "A9"], 2),
    ),
    "gauge": (
        (["gauge", "scout.json", "-o", "gauge.pdf"], 0),
        (["gauge", "absent.json", "-o", "gauge.pdf"], 2),
    ),
    "sheet": (
        (["sheet", "scout.json", "-o", "sheet.html"], 0),
        (["sheet", "scout.json", "-o", "sheet.txt"], 2),
    ),
    "schema": ((["schema"], 0),),
}

PLATE = (
    '<svg width="400mm" height="200mm" viewBox="0 0 400 200">'
    '<rect width="300" height="180"/><circle cx="50" cy="50" r="4"/></svg>'
)


def ran(folder: Path, words: list[str]) -> subprocess.CompletedProcess[str]:
    environment = os.environ | {"PYTHONPATH": str(ROOT), "AXLEWRIGHT_HOME": str(folder / "home")}
    command = [sys.executable, "-m", "app.main", *words]
    return subprocess.run(command, cwd=folder, env=environment, capture_output=True, text=True)


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """A folder with two samples, and one of them with a script."""
    made = tmp_path_factory.mktemp("smoke")
    ran(made, ["samples", "marsh_scout_motors", "-o", "scout.json"])
    ran(made, ["samples", "misbuilt_scout", "-o", "misbuilt.json"])
    (made / "plate.svg").write_text(PLATE, encoding="utf-8")
    ahead = Script(name="script", moves=(Move(turn=0.0, speed=0.8, until="distance", amount=1_200.0),))
    driven = add_script(sample_design("marsh_scout_motors"), ahead)
    write_design(made / "driven.json", driven, overwrite=True)
    return made


def test_every_verb_is_called_below():
    assert set(RUNS) == set(verb_names())


@pytest.mark.parametrize("verb", [verb for verb in RUNS if verb != "samples"])
def test_a_verb_ends_with_the_number_that_is_due_and_no_traceback(folder, verb):
    for words, due in RUNS[verb]:
        done = ran(folder, words)
        assert done.returncode == due, done.stderr
        assert "Traceback" not in done.stderr
        said = [line for line in done.stderr.splitlines() if not line.startswith("axlewright: note: ")]
        assert bool(said) == (due == 2)


def test_a_sample_is_copied_and_never_written_over(tmp_path):
    ((words, due),) = RUNS["samples"]
    assert ran(tmp_path, words).returncode == due
    assert json.loads((tmp_path / "scout.json").read_text(encoding="utf-8"))["wheels"]
    assert ran(tmp_path, words).returncode == 2


def test_what_table_export_and_schema_write_can_be_read_back(folder):
    for verb in ("table", "export"):
        ran(folder, RUNS[verb][0][0])
    rows = list(csv.DictReader((folder / "scout.csv").read_text(encoding="utf-8").splitlines()))
    assert len(rows) == 201
    compile((folder / "robot.py").read_text(encoding="utf-8"), "robot.py", "exec")
    assert json.loads(ran(folder, ["schema"]).stdout)["properties"]["wheels"]
