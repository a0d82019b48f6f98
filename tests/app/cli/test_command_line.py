import csv
import json
import math
import os
import subprocess
import sys
from pathlib import Path

import pytest

from app.cli.command_line import run
from app.cli.registry import verb_names
from app.design.edits import change_wheels
from app.design.files import design_text, read_design, write_design
from app.design.samples import sample_design, sample_text
from geometry.model.design import Design
from sample_chassis import SAMPLES

ROOT = Path(__file__).parents[3]
SCOUT = sample_design("marsh_scout_six")


@pytest.fixture
def file(tmp_path):
    """A place to save a design to, and its path."""

    def saved(design, name="chassis.json"):
        path = tmp_path / name
        write_design(path, design, overwrite=True)
        return str(path)

    return saved


def call(capsys, *words):
    code = run(words)
    out, err = capsys.readouterr()
    return code, out, err


# check -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("key", "code"),
    [
        ("marsh_scout_six", 0),
        ("reed_cart_four", 0),
        ("mudflat_carrier_four", 0),
        ("creek_tricycle", 0),
        ("dyke_hauler_eight", 1),
        ("misbuilt_scout", 1),
    ],
)
def test_the_exit_code_says_whether_a_sample_is_aligned(capsys, file, key, code):
    found, out, err = call(capsys, "check", file(sample_design(key)))
    assert (found, err) == (code, "")
    assert ("\nALIGNED." in out) == (code == 0)
    assert ("\nNOT ALIGNED." in out) == (code == 1)


def test_the_check_shows_a_table_of_wheels_at_telling_turns(capsys, file):
    _, out, _ = call(capsys, "check", file(SCOUT))
    heads = [line for line in out.splitlines() if line.startswith("turn ")]
    assert [line.split(",")[0] for line in heads] == [
        f"turn {t}" for t in (-1, -0.75, -0.5, -0.25, 0, 0.25, 0.5, 0.75, 1)
    ]
    assert heads[4] == "turn 0, speed ratio 1, straight ahead"
    assert heads[6] == "turn 0.5, speed ratio 0, turn radius 120 mm"
    assert out.count("front left") == 9
    # Abreast of the stopped side: atan(132 / 240) outside, and a right angle inside.
    half = out[out.index("turn 0.5,") : out.index("turn 0.75,")].splitlines()
    assert half[2].split()[:4] == ["front", "left", "steered", "90.0°"]
    assert half[3].split()[:4] == ["front", "right", "steered", "28.8°"]


def test_the_check_names_the_worst_wheel_where_and_by_how_much(capsys, file):
    _, out, _ = call(capsys, "check", file(sample_design("misbuilt_scout")))
    worst = next(line for line in out.splitlines() if line.startswith("Worst: "))
    assert worst.startswith("Worst: middle left at turn 0.5")
    for words in ("slip ", "misses the turn centre by 6 mm", "mm per metre"):
        assert words in worst
    assert "share no axle line (middle left at x 12 mm, middle right at x 0 mm)" in out


def test_a_wheel_at_its_end_of_travel_is_told_with_a_remedy_that_works(capsys, file):
    # The inner front wheel reaches atan(1.1 s / (1 - 2 s)) = 40 degrees at s = 0.3020.
    design = change_wheels(SCOUT, range(6), travel_min_deg=-40.0, travel_max_deg=40.0)
    code, out, _ = call(capsys, "check", file(design))
    t = math.tan(math.radians(40))
    exact = t / (1.1 + 2 * t)
    reach = math.floor(exact * 1e4) / 1e4
    assert code == 1
    assert "It stands at its end of travel" in out
    assert f"set largest_turn to at most {reach:g}." in out
    assert f"turn {exact:.3f}: front left comes to its end of travel, 40.0°" in out
    assert call(capsys, "check", file(design.edited(largest_turn=reach)))[0] == 0
    assert call(capsys, "check", file(design.edited(largest_turn=reach + 0.02)))[0] == 1


def test_flips_are_listed_and_a_flipped_chassis_is_aligned(capsys, file):
    design = change_wheels(SCOUT, range(6), travel_min_deg=-95.0, travel_max_deg=95.0)
    code, out, _ = call(capsys, "check", file(design), "--turn", "0.8")
    assert code == 0
    flips = [line for line in out.splitlines() if "flips from" in line]
    assert len(flips) == 4
    assert any("front left flips from 95.0° to -85.0° and rolls the other way" in line for line in flips)
    assert "aligned, flipped" in out


def test_toe_on_a_fixed_wheel_is_told(capsys, file):
    code, out, _ = call(capsys, "check", file(change_wheels(SCOUT, [2], toe_deg=3.0)))
    assert code == 1
    assert "Worst: middle left" in out
    assert "Its toe of 3°" in out


def test_a_base_axle_off_the_fixed_axle_is_told(capsys, file):
    code, out, _ = call(capsys, "check", file(SCOUT.edited(base_axle_x_mm=30.0)))
    assert code == 1
    assert "clear base_axle_x_mm" in out


def test_tolerances_of_the_design_decide(capsys, file):
    hauler = sample_design("dyke_hauler_eight").edited(largest_turn=0.01)
    assert call(capsys, "check", file(hauler))[0] == 0
    assert call(capsys, "check", file(hauler.edited(aligned_within_deg=0.01)))[0] == 1


def test_a_chassis_without_wheels_is_no_error(capsys, file):
    code, out, _ = call(capsys, "check", file(SCOUT.edited(wheels=())))
    assert code == 0
    assert "no wheels to check" in out


def test_rows_are_spread_over_the_range_in_use(capsys, file):
    _, out, _ = call(capsys, "check", file(SCOUT.edited(largest_turn=0.6)), "--rows", "3")
    assert [line.split(",")[0] for line in out.splitlines() if line.startswith("turn ")] == [
        "turn -0.6",
        "turn 0",
        "turn 0.6",
    ]


@pytest.mark.parametrize("key", [sample.key for sample in SAMPLES])
def test_machine_output_is_strict_json_that_agrees_with_the_exit_code(capsys, file, key):
    def refuse(constant):
        pytest.fail(f"{constant} is not JSON")

    code, out, _ = call(capsys, "check", file(sample_design(key)), "--json")
    found = json.loads(out, parse_constant=refuse)
    assert found["aligned"] == (code == 0) == (found["worst"] is None)
    straight = next(row for row in found["turns"] if row["turn_input"] == 0)
    assert straight["turn_radius_mm"] is None
    assert "infinite" in found["null_means"]
    assert {wheel["kind"] for row in found["turns"] for wheel in row["wheels"] if "steer_deg" in wheel} <= {
        "steered"
    }


def test_machine_output_tells_the_mistake_in_numbers(capsys, file):
    _, out, _ = call(capsys, "check", file(sample_design("misbuilt_scout")), "--json", "--turn=0.25")
    found = json.loads(out)
    assert found["worst"]["wheel"] == "middle left"
    assert found["worst"]["miss_mm"] == pytest.approx(6.0)
    assert found["base_axle_x_mm"] == 6.0
    (row,) = found["turns"]
    left = next(wheel for wheel in row["wheels"] if wheel["wheel"] == "middle left")
    # 6 mm ahead of the centre's line and 240 mm beside it.
    assert left["slip_deg"] == pytest.approx(math.degrees(math.atan2(6, 240)))
    assert left["drag_mm_per_m"] == pytest.approx(1000 * 6 / math.hypot(6, 240))


# bad input -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (["--turn", "2"], "--turn must be from -1 to 1 (got 2)"),
        (["--turn", "-0.5,x"], "(got 'x')"),
        (["--turn", "nan"], "--turn must be from -1 to 1 (got nan)"),
        (["--turn", ""], "(got '')"),
        (["--turn", "0.1;0.2"], "commas between"),
        (["--rows", "1"], "--rows must be a whole number from 2 to"),
        (["--rows", "x"], "(got 'x')"),
        (["--rows", "9" * 30], "--rows must be a whole number"),
        (["--rows", "-5"], "--rows"),
        (["--rows", "3", "--turn", "0"], "not allowed with"),
        (["--wheels"], "unrecognized arguments"),
    ],
)
@pytest.mark.parametrize("verb", [["check"], ["table", "-o", "-"]])
def test_bad_options_end_in_one_sentence_and_code_2(capsys, file, verb, words, sentence):
    code, out, err = call(capsys, *verb, file(SCOUT), *words)
    assert (code, out) == (2, "")
    assert sentence in err


def test_a_bad_file_is_told_with_places_and_code_2(capsys, tmp_path):
    path = tmp_path / "bad.json"
    path.write_text(design_text(SCOUT).replace('"diameter_mm": 60', '"diameter_mm": -60', 1))
    code, out, err = call(capsys, "check", str(path))
    assert (code, out) == (2, "")
    assert "wheels[0].diameter_mm must be at least 5 (got -60)" in err


@pytest.mark.parametrize("verb", [["check"], ["table", "-o", "-"]])
def test_a_missing_file_or_a_folder_is_told(capsys, tmp_path, verb):
    assert call(capsys, *verb, str(tmp_path))[0] == 2
    code, _, err = call(capsys, *verb, str(tmp_path / "none.json"))
    assert code == 2
    assert "there is no such file" in err


# table -----------------------------------------------------------------------------------------


def test_the_table_has_201_rows_unless_told_otherwise(capsys, file, tmp_path):
    path = tmp_path / "out.csv"
    for words, rows in (([], 201), (["--rows", "7"], 7), (["--turn", "-0.5,0,0.25"], 3)):
        assert call(capsys, "table", file(SCOUT), "-o", str(path), *words) == (0, "", "")
        with path.open(newline="") as text:
            assert len(list(csv.DictReader(text))) == rows


@pytest.mark.parametrize("words", [(), ("--turn=0.1",)])
def test_a_table_says_beside_it_that_the_chassis_drags_as_the_export_of_code_does(
    capsys, file, tmp_path, words
):
    misbuilt = file(sample_design("misbuilt_scout"))
    code, out, err = call(capsys, "table", misbuilt, "-o", str(tmp_path / "out.csv"), *words)
    assert (code, out) == (0, "")
    assert err.startswith("axlewright: note: NOT ALIGNED: middle left drags up to 1000 mm per metre")
    _, _, of_code = call(capsys, "export", misbuilt, "--format", "json", "-o", str(tmp_path / "out.json"))
    assert err in of_code


def test_the_table_can_be_printed(capfdbinary, file):
    assert run(["table", file(SCOUT), "-o", "-", "--turn=-0.5"]) == 0
    out, _ = capfdbinary.readouterr()
    head, row, rest = out.split(b"\r\n")
    assert head.startswith(b"turn_input,")
    assert row.startswith(b"-0.5,0,1,0,-120,")
    assert rest == b""


def test_the_table_never_replaces_a_chassis(capsys, file, tmp_path):
    path = file(SCOUT)
    for target in (path, f"{tmp_path}/./chassis.json"):
        code, _, err = call(capsys, "table", path, "-o", target)
        assert code == 2
        assert "holds a chassis" in err
    assert read_design(Path(path)).design == SCOUT


def test_a_table_that_cannot_be_written_is_told(capsys, file, tmp_path):
    code, _, err = call(capsys, "table", file(SCOUT), "-o", str(tmp_path / "no" / "out.csv"))
    assert code == 2
    assert "there is no such file or folder" in err


def test_a_chassis_without_wheels_has_no_table(capsys, file, tmp_path):
    out = tmp_path / "out.csv"
    empty = file(Design())
    for words in (("table",), ("export", "--format", "c")):
        code, shown, err = call(capsys, words[0], empty, "-o", str(out), *words[1:])
        assert (code, shown) == (2, "")
        assert err == "axlewright: the chassis has no wheels, so there is nothing to export; add some first\n"
        assert not out.exists()


# schema, samples, help ---------------------------------------------------------------------------


def test_the_schema_is_printed_as_json(capsys):
    code, out, _ = call(capsys, "schema")
    assert code == 0
    assert json.loads(out)["$schema"].endswith("2020-12/schema")


def test_samples_are_listed_and_copied_but_never_over_a_file(capsys, tmp_path):
    _, out, _ = call(capsys, "samples")
    assert [line.split()[0] for line in out.splitlines()] == [sample.key for sample in SAMPLES]
    path = tmp_path / "mine.json"
    assert call(capsys, "samples", "creek_tricycle", "-o", str(path))[0] == 0
    assert path.read_text(encoding="utf-8") == sample_text("creek_tricycle")
    other = tmp_path / "list.txt"
    other.write_text("milk")
    for taken in (path, other):
        code, _, err = call(capsys, "samples", "reed_cart_four", "-o", str(taken))
        assert code == 2
        assert "untouched" in err
    assert other.read_text() == "milk"


def test_an_unknown_sample_is_told_with_the_nearest_name(capsys):
    code, _, err = call(capsys, "samples", "reed_cart", "-o", "-")
    assert code == 2
    assert "did you mean reed_cart_four?" in err
    assert call(capsys, "samples", "reed_cart_four")[0] == 2
    assert call(capsys, "samples", "-o", "x")[0] == 2


@pytest.mark.parametrize("words", [["--help"], *([verb, "--help"] for verb in verb_names())])
def test_help_is_there_for_every_verb(capsys, words):
    code, out, _ = call(capsys, *words)
    assert code == 0
    assert "usage: axlewright" in out
    without = ("drive", "export", "gauge", "outline", "plan", "samples", "schema", "sheet")
    assert "--turn" in out or words[0] in without


def test_no_verb_is_bad_input(capsys):
    assert call(capsys)[0] == 2
    assert call(capsys, "chek", "x")[0] == 2


# As a program ------------------------------------------------------------------------------------


def program(*words, **options):
    return subprocess.run(
        [sys.executable, "-m", "app.main", *words], cwd=ROOT, capture_output=True, **options
    )


def test_the_verbs_run_as_a_program_without_a_screen_or_its_library(file, tmp_path):
    path = file(SCOUT)
    script = (
        "import sys; from app.main import main; codes = [main(w.split('|')) for w in sys.argv[1:]];"
        "bad = sorted(m for m in sys.modules if m.startswith(('PySide6', 'pyqtgraph', 'shiboken6')));"
        "sys.exit(f'{codes} {bad}' if bad or any(codes) else 0)"
    )
    table = f"table|{path}|-o|{tmp_path / 'out.csv'}"
    words = [f"check|{path}", f"check|{path}|--json", table, "schema", "samples"]
    without = {
        name: value for name, value in os.environ.items() if "DISPLAY" not in name and "QT" not in name
    }
    ended = subprocess.run(
        [sys.executable, "-W", "error", "-c", script, *words], cwd=ROOT, capture_output=True, env=without
    )
    assert (ended.returncode, ended.stderr) == (0, b"")


def test_exit_codes_reach_the_shell(file, tmp_path):
    assert program("check", file(SCOUT)).returncode == 0
    assert program("check", file(sample_design("misbuilt_scout"))).returncode == 1
    bad = program("check", str(tmp_path / "none.json"))
    assert bad.returncode == 2
    assert b"Traceback" not in bad.stderr
    assert bad.stderr.startswith(b"axlewright: cannot read ")


@pytest.mark.skipif(sys.platform == "win32", reason="pipes of POSIX")
@pytest.mark.parametrize("verb", [["schema"], ["check"], ["table", "-o", "-"]])
def test_a_reader_that_leaves_early_is_no_error(file, verb):
    words = [*verb, file(SCOUT)] if verb != ["schema"] else verb
    pipes = {"stdout": subprocess.PIPE, "stderr": subprocess.PIPE}
    with subprocess.Popen([sys.executable, "-m", "app.main", *words], cwd=ROOT, **pipes) as running:
        running.stdout.close()  # long before the first word comes
        assert running.stderr.read() == b""
    assert running.returncode == 0


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no device here that is always full")
@pytest.mark.parametrize("verb", [["schema"], ["check"], ["table", "-o", "-"]])
def test_an_output_that_is_full_is_told(file, verb):
    words = [*verb, file(SCOUT)] if verb != ["schema"] else verb
    with Path("/dev/full").open("wb") as full:
        ended = subprocess.run(
            [sys.executable, "-m", "app.main", *words], cwd=ROOT, stdout=full, stderr=subprocess.PIPE
        )
    assert ended.returncode == 2
    assert ended.stderr.startswith(b"axlewright: cannot print: the disk is full")
    assert ended.stderr.count(b"\n") == 1


def test_a_console_without_a_degree_sign_shows_a_question_mark(file):
    ended = program("check", file(SCOUT), env=os.environ | {"PYTHONIOENCODING": "ascii", "PYTHONUTF8": "0"})
    assert (ended.returncode, ended.stderr) == (0, b"")
    assert b"28.8?" in ended.stdout


def test_ctrl_c_is_quiet(monkeypatch, capsys, file):
    def interrupt(_path):
        raise KeyboardInterrupt

    monkeypatch.setattr("app.cli.check.read_design", interrupt)
    assert call(capsys, "check", file(SCOUT)) == (130, "", "")


def test_turns_beyond_the_largest_one_are_shown_and_leave_the_verdict_alone(capsys, file):
    cart = sample_design("reed_cart_four")
    code, plain, _ = call(capsys, "check", file(cart), "--turn=0")
    beyond, out, _ = call(capsys, "check", file(cart), "--turn=0,1")
    assert (code, beyond) == (0, 0)
    assert out.startswith(plain.rstrip("\n"))
    assert "turn 1, speed ratio -1" in out
    assert cart.largest_turn < 1
    _, table, _ = call(capsys, "table", file(cart), "-o", "-", "--turn=1")
    assert table.splitlines()[1].startswith("1,-1,-1,1,0,")
