"""The verb measure: text, JSON and curves, and what it refuses."""

from __future__ import annotations

import csv
import io
import json
import math
import re

import pytest

from app.cli.command_line import run
from app.design.files import write_design
from app.design.samples import sample_design
from geometry.kinematics.motion import turn_of_radius
from geometry.kinematics.robot import robot_of
from geometry.model.design import Design
from geometry.turning_space.measures import measures_of
from sample_chassis import SAMPLES
from tests.app.odd_chassis import BARE


@pytest.fixture
def file(tmp_path):
    def saved(design):
        path = tmp_path / "chassis.json"
        write_design(path, design, overwrite=True)
        return str(path)

    return saved


def call(capsys, *words):
    code = run(words)
    out, err = capsys.readouterr()
    return code, out, err


def line_of(out, name):
    return next(line for line in out.splitlines() if line.strip().startswith(name))


def test_the_text_has_each_measure_at_the_turns_that_are_asked_for(capsys, file):
    (turn,) = turn_of_radius([400.0], robot_of(BARE).base)
    code, out, err = call(capsys, "measure", file(BARE), "--turn", f"{turn},-1,0")
    assert (code, err) == (0, "")
    assert re.split(r" {2,}", line_of(out, "turn centre").strip())[1:] == ["0, 400", "0, 0", "straight"]
    assert line_of(out, "Wall to wall").split()[3:] == ["1119.5", "444.1", "straight"]
    assert line_of(out, "Right-angled lane  ").split()[2:] == ["368.8", "352", "straight"]
    assert line_of(out, "Kerb gap").split()[2:] == ["670.3", "none", "straight"]
    assert line_of(out, "Tail swing").split()[2] == "29.7"
    assert line_of(out, "Kerb to kerb").split()[3:] == ["no", "wheels", "no", "wheels", "straight"]
    assert "gets through a right-angled lane of 311.1 mm." in out


def test_inches_and_the_width_of_the_neighbour_are_taken(capsys, file):
    (turn,) = turn_of_radius([400.0], robot_of(BARE).base)
    words = ("--turn", str(turn), "--unit", "inch", "--neighbour", "4")
    _, out, _ = call(capsys, "measure", file(BARE), *words)
    gap = 180.0 + math.sqrt(180.0**2 + 530.0**2 - (530.0 - 101.6) ** 2)
    assert float(line_of(out, "Kerb gap").split()[2]) == pytest.approx(gap / 25.4, abs=6e-4)
    assert "neighbour at the kerb is 4 in wide" in out
    assert " mm" not in out.replace("[in]", "")


def test_the_json_holds_the_numbers_of_the_geometry_with_null_for_none(capsys, file):
    design = sample_design("marsh_scout_six")
    code, out, _ = call(capsys, "measure", file(design), "--json", "--turn", "0.3,0", "--swept")
    assert code == 0
    values = json.loads(out)
    found = measures_of(robot_of(design), design, [0.3])
    turn, straight = values["turns"]
    assert turn["lane_mm"] == pytest.approx(found.lane[0], abs=1e-6)
    assert turn["pose_by_pose"]["lane_mm"] == pytest.approx(found.lane[0], abs=1e-3)
    assert turn["inner_wheel_180_deg_turn_mm"] == pytest.approx(found.least_inner_wheel[0, 1], abs=1e-6)
    offs = [each["off_tracking_mm"] for each in turn["off_tracking"]]
    assert offs == pytest.approx(found.off_tracking[0], abs=1e-6)
    assert straight["straight"] is True
    assert straight["wall_to_wall_mm"] is straight["pose_by_pose"] is None
    assert values["range"]["wall_to_wall_mm"]["least_at_turn_input"] == 1.0
    assert "NaN" not in out


def test_the_largest_difference_from_poses_is_told(capsys, file):
    _, out, _ = call(capsys, "measure", file(BARE), "--swept")
    (line,) = [line for line in out.splitlines() if line.startswith("Measured pose by pose")]
    assert float(line.rstrip(".").split()[-2]) < 1e-3


def test_the_curves_are_a_table_over_the_whole_range(capsys, file, tmp_path):
    design = sample_design("misbuilt_scout")
    path = tmp_path / "room.csv"
    code, out, err = call(capsys, "measure", file(design), "--curves", "--rows", "11", "-o", str(path))
    assert (code, out) == (0, "")
    assert "NOT ALIGNED" in err
    rows = list(csv.DictReader(io.StringIO(path.read_text())))
    assert [float(row["turn_input"]) for row in rows] == pytest.approx([k / 5 - 1 for k in range(11)])
    found = measures_of(robot_of(design), design, [float(row["turn_input"]) for row in rows])
    assert [float(row["wall_to_wall_mm"]) for row in rows] == pytest.approx(found.wall_to_wall, abs=1e-6)
    assert rows[5]["wall_to_wall_mm"] == "inf"
    offs = [float(row["rear_left_off_tracking_mm"]) for row in rows]
    assert offs == pytest.approx(found.off_tracking[:, 4], abs=1e-6)


@pytest.mark.parametrize("key", [sample.key for sample in SAMPLES])
def test_each_sample_is_measured_without_nan(capsys, file, key):
    code, out, _ = call(capsys, "measure", file(sample_design(key)))
    assert code == 0
    assert "nan" not in out
    assert "inf" not in out.replace("infinite", "")


@pytest.mark.parametrize("words", [(), ("--json",), ("--swept",), ("--curves", "-o", "-")])
def test_an_empty_chassis_has_nothing_to_measure(capsys, file, words):
    code, out, err = call(capsys, "measure", file(Design()), *words)
    assert (code, err) == (0, "")
    assert "nan" not in out.casefold()
    if not words:
        assert "There is nothing to measure: no wheels, no body, no parts." in out
        assert line_of(out, "Wall to wall").split()[3:5] == ["nothing", "there"]


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (("--curves",), "--curves needs a place: add -o OUT.csv"),
        (("-o", "room.csv"), "-o is where the curves go; add --curves"),
        (("--curves", "-o", "-", "--json"), "--curves writes CSV alone"),
        (("--neighbour", "wide"), "--neighbour: 'wide' is not a length; use mm, cm, m or in"),
        (("--neighbour", "-3"), "--neighbour must be from 0 to 10000 mm (got -3 mm)"),
        (("--turn", "2"), "--turn must be from -1 to 1 (got 2)"),
        (("--rows", "1002"), "--rows must be a whole number from 2 to 1001 (got 1002)"),
        (("--rows", "200", "--swept"), "--swept takes at most 101 turns (got 200)"),
    ],
)
def test_odd_words_are_refused_with_place_and_remedy(capsys, file, words, sentence):
    code, out, err = call(capsys, "measure", file(BARE), *words)
    assert (code, out) == (2, "")
    assert sentence in err
    assert err.count("\n") == 1


def test_the_curves_never_replace_a_chassis(capsys, file):
    path = file(BARE)
    code, _, err = call(capsys, "measure", path, "--curves", "-o", path)
    assert code == 2
    assert "holds a chassis, which is left untouched" in err
