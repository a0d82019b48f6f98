"""The verb drive: exit codes, the path as CSV, and errors that name what there is."""

import csv
import json
import subprocess
import sys

import numpy as np
import pytest

from app.cli.command_line import run
from app.controller.programme import programme_of
from app.design.driving_edits import add_course, add_obstacle, add_script
from app.design.files import write_design
from app.design.samples import sample_design
from app.simulation.path_csv import columns_of
from geometry.driving.ready_courses import READY
from geometry.model.driving import Course, Driving, Move, Obstacle, Script
from tests.app.simulation.driven import MIXED, code_of, headless, joined
from tests.unpacked import unpacked

SCOUT = unpacked(sample_design("marsh_scout_motors").edited(driving=Driving()))
AHEAD = Script(name="ahead", moves=(Move(turn=0.0, speed=1.0, until="distance", amount=600.0),))
ENDLESS = Script(name="endless", moves=(Move(turn=0.0, speed=0.0, until="distance", amount=600.0),))
WALL = Obstacle(kind="wall", x_mm=400.0, turn_deg=90.0, length_mm=900.0)


@pytest.fixture
def file(tmp_path):
    design = SCOUT
    for script in (MIXED, AHEAD, ENDLESS, Script(name="nothing")):
        design = add_script(design, script)
    design = add_obstacle(add_course(design, Course(name="Pen")), 0, WALL)
    path = tmp_path / "scout.json"
    write_design(path, design, overwrite=True)
    return str(path)


def call(capsys, *words):
    code = run(["drive", *words])
    out, err = capsys.readouterr()
    return code, out, err


def test_a_drive_that_touches_nothing_ends_with_0_and_tells_time_way_end_and_drag(capsys, file):
    code, out, err = call(capsys, file, "--script", "ahead", "--course", "doorway")
    assert (code, err) == (0, "")
    assert "NOTHING TOUCHED." in out
    for word in ("Time ", "Distance ", "End ", "heading 0°", "Drag ", "front left"):
        assert word in out


def test_a_drive_that_touches_ends_with_1_and_names_what_and_where(capsys, file):
    code, out, _ = call(capsys, file, "--script", "AHEAD", "--course", "pen")
    assert code == 1
    assert "in move 1, the body touches wall 1 at x 400 mm" in out


def test_the_answer_for_machines_is_strict_json_and_agrees(capsys, file):
    code, out, _ = call(capsys, file, "--script", "ahead", "--course", "pen", "--json")
    values = json.loads(out, parse_constant=pytest.fail)
    assert code == 1
    assert values["contacts"][0]["kind"] == "wall"
    assert values["contacts"][0]["x_mm"] == pytest.approx(400.0)
    assert values["drag_mm"] == pytest.approx(sum(one["drag_mm"] for one in values["drag_of_wheels"]))
    assert values["distance_mm"] >= 600.0


def test_the_path_holds_every_step_with_its_commands(capsys, file, tmp_path):
    target = tmp_path / "path.csv"
    code, _, err = call(capsys, file, "--script", "mixed", "-o", str(target))
    assert (code, err) == (0, "")
    rows = list(csv.DictReader(target.read_text(encoding="utf-8").splitlines()))
    design = SCOUT
    blocks = headless(code_of(design), MIXED)
    programme = programme_of(design)
    assert list(rows[0]) == columns_of(programme)
    assert len(rows) == len(joined(blocks, "moves"))
    targets, speeds = joined(blocks, "targets"), joined(blocks, "speeds")
    for k, output in enumerate(programme.steer):
        assert [int(row[output.name]) for row in rows] == targets[:, k].tolist()
    for d, output in enumerate(programme.drive):
        assert [int(row[output.name]) for row in rows] == speeds[:, d].tolist()
    pose = joined(blocks, "pose")[1:]
    found = np.array([[float(row[key]) for key in ("x_mm", "y_mm", "heading_deg")] for row in rows])
    np.testing.assert_allclose(found[:, :2], pose[:, :2], rtol=1e-8, atol=1e-9)
    np.testing.assert_allclose(found[:, 2], np.degrees(pose[:, 2]), rtol=1e-8, atol=1e-9)
    assert [row["time_s"] for row in rows[:2]] == ["0.005", "0.010"]
    assert [row["move"] for row in (rows[0], rows[-1])] == ["1", ""]


def test_every_column_with_a_size_names_its_unit():
    bare = {"move", "call", "holding"}
    units = ("_s", "_mm", "_deg", "_permille", "_counts", "_us", "_cdeg", "rpm", "_per_s", "_e4")
    for key in ("marsh_scout_motors", "marsh_scout_six", "creek_tricycle"):
        names = columns_of(programme_of(sample_design(key)))
        assert len(set(names)) == len(names)
        assert [name for name in names if name not in bare and not name.endswith(units)] == []


def test_two_drives_write_the_same_bytes_and_the_path_can_be_printed(capsys, file, tmp_path):
    one, two = tmp_path / "one.csv", tmp_path / "two.csv"
    for target in (one, two):
        call(capsys, file, "--script", "mixed", "-o", str(target))
    assert one.read_bytes() == two.read_bytes()
    words = ["drive", file, "--script", "mixed", "-o", "-"]
    done = subprocess.run([sys.executable, "-m", "app.main", *words], capture_output=True)
    assert (done.returncode, done.stderr) == (0, b"")
    assert done.stdout == one.read_bytes()


@pytest.mark.parametrize("name", READY)
def test_every_ready_course_is_there_by_its_name(capsys, file, name):
    code, out, _ = call(capsys, file, "--script", "nothing", "--course", name)
    assert code == 0
    assert f"nothing on {name}" in out


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (
            ("--script", "ahaed"),
            "--script must be one of mixed, ahead, endless, nothing (got 'ahaed'); did you mean ahead?",
        ),
        (("--script", "ahead", "--course", "Pne"), "--course must be one of Pen, doorway,"),
        (("--script", "endless"), "driving.scripts[2].moves[0].until would never end"),
        (("--script", "ahead", "--without", "brakes"), "--without must be one of mixing,"),
        (("--script", "mixed", "--without", "mixing"), "driving.scripts[0].moves[3].by must not be stick"),
    ],
)
def test_what_is_not_there_is_named_with_what_there_is(capsys, file, words, said):
    code, out, err = call(capsys, file, *words)
    assert (code, out) == (2, "")
    assert err.startswith("axlewright: ")
    assert said in err


def test_a_chassis_without_scripts_or_wheels_says_so(capsys, tmp_path):
    path = tmp_path / "bare.json"
    write_design(path, SCOUT, overwrite=True)
    code, _, err = call(capsys, str(path), "--script", "x")
    assert code == 2
    assert "the chassis has no scripts" in err
    bare = SCOUT.edited(
        wheels=(), steer_motors=(), drive_motors=(), left_reference=None, right_reference=None
    )
    write_design(path, add_script(bare, AHEAD), overwrite=True)
    code, _, err = call(capsys, str(path), "--script", "ahead")
    assert code == 2
    assert "wheels" in err


def test_parts_left_out_change_the_drag(capsys, file):
    drags = []
    for words in ((), ("--without", "hold,limiter")):
        _, out, _ = call(capsys, file, "--script", "mixed", "--json", *words)
        drags.append(json.loads(out)["drag_mm"])
    assert drags[1] > 1.2 * drags[0]
