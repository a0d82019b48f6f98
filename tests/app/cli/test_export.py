import csv
import io
import json

import pytest

from app.cli.command_line import run
from app.controller.programme import programme_of
from app.design.files import read_design, write_design
from app.design.samples import sample_design
from app.export import urdf
from geometry.model.design import Design
from tests.app.export.robots import many_wheels
from tests.written import CODE_FORMATS, code_text


@pytest.fixture
def chassis(tmp_path):
    path = tmp_path / "scout.json"
    write_design(path, sample_design("marsh_scout_motors"))
    return path


def call(capsys, *words):
    code = run([str(word) for word in words])
    out, err = capsys.readouterr()
    return code, out, err


@pytest.mark.parametrize("key", [form.key for form in CODE_FORMATS])
def test_each_format_is_written_as_the_one_function_gives_it(capsys, chassis, tmp_path, key):
    out = tmp_path / "out.txt"
    assert call(capsys, "export", chassis, "--format", key, "-o", out) == (0, "", "")
    assert out.read_bytes() == code_text(programme_of(read_design(chassis).design), key).encode()


def test_what_the_file_remembers_holds_unless_an_option_says_otherwise(capsys, tmp_path):
    design = sample_design("marsh_scout_motors")
    path = tmp_path / "scout.json"
    write_design(path, design.edited(controller=design.controller.edited(prefix="reed", hold=False)))
    _, kept, _ = call(capsys, "export", path, "--format", "c", "-o", "-")
    assert "reed_start" in kept
    assert "holding" not in kept
    _, changed, _ = call(
        capsys, "export", path, "--format", "c", "-o", "-", "--prefix", "dyke", "--with", "hold"
    )
    assert "dyke_start" in changed
    assert "holding" in changed


def test_a_larger_error_gives_a_smaller_table(capsys, chassis):
    sizes = []
    for error in ("0.1deg", "1deg", "30mm"):
        _, text, _ = call(capsys, "export", chassis, "--format", "csv", "-o", "-", "--error", error)
        sizes.append(text.count("\n"))
    assert sizes[0] > sizes[1] > sizes[2]


def test_vectors_are_written_in_place_of_a_format(capsys, chassis):
    code, text, err = call(capsys, "export", chassis, "--vectors", "25", "--seed", "3", "-o", "-")
    assert (code, err) == (0, "")
    assert len(list(csv.reader(io.StringIO(text)))) == 26
    _, other, _ = call(capsys, "export", chassis, "--vectors", "25", "-o", "-")
    assert text != other


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ((), "give one of --format and --vectors"),
        (("--format", "c", "--vectors", "3"), "give one of --format and --vectors"),
        (("--format", "xml"), "the format must be one of"),
        (("--vectors", "many"), "--vectors must be a whole number from 1 to 1000000"),
        (("--vectors", "99999999999"), "--vectors must be a whole number from 1 to 1000000"),
        (("--vectors", "3", "--seed", "-1"), "--seed must be a whole number from 0 to 999999999"),
        (("--format", "c", "--largest-bytes", "-1"), "from 16 to 1000000; or none, for no limit (got '-1')"),
        (("--format", "c", "--without", "hold", "--with", "hold"), "must not name the same part"),
        (("--format", "c", "--error", "wide"), "--error must be a number"),
        (("--format", "c", "--prefix", "for"), "--prefix must not be a word"),
        (("--format", "c", "--largest-bytes", "64"), "the best is about"),
        (("--format", "csv", "--method", "formula"), "no rows"),
    ],
)
def test_bad_words_are_told_in_a_sentence_and_write_nothing(capsys, chassis, tmp_path, words, told):
    out = tmp_path / "out.txt"
    code, shown, err = call(capsys, "export", chassis, "-o", out, *words)
    assert (code, shown) == (2, "")
    assert err.startswith("axlewright: ")
    assert told in err
    assert not out.exists()


def test_a_chassis_file_is_never_written_over(capsys, chassis):
    before = chassis.read_bytes()
    code, _, err = call(capsys, "export", chassis, "--format", "json", "-o", chassis)
    assert code == 2
    assert "left untouched" in err
    assert chassis.read_bytes() == before


def test_an_unwritable_place_loses_nothing(capsys, chassis, tmp_path):
    code, _, err = call(capsys, "export", chassis, "--format", "c", "-o", tmp_path / "none" / "x.h")
    assert code == 2
    assert "no such file or folder" in err


def test_a_chassis_that_drags_is_written_with_a_notice(capsys, tmp_path):
    path = tmp_path / "misbuilt.json"
    write_design(path, sample_design("misbuilt_scout"))
    code, text, err = call(capsys, "export", path, "--format", "json", "-o", "-")
    assert code == 0
    assert err.startswith("axlewright: note: NOT ALIGNED: middle left drags up to ")
    assert err.removeprefix("axlewright: note: ").strip() == json.loads(text)["verdict"]


def test_what_was_given_up_is_noted_beside_the_file(capsys, tmp_path):
    path, out = tmp_path / "many.json", tmp_path / "out.py"
    write_design(path, many_wheels())
    code, _, err = call(capsys, "export", path, "--format", "micropython", "-o", out)
    assert code == 0
    assert "axlewright: note: Checking every turn step would take long here: only" in err


def test_the_chassis_itself_is_written_for_simulators(capsys, chassis, tmp_path):
    out = tmp_path / "scout.urdf"
    assert call(capsys, "export", chassis, "--format", "urdf", "-o", out) == (0, "", "")
    assert out.read_bytes() == urdf.render(read_design(chassis).design).encode()
    code, text, err = call(capsys, "export", chassis, "--format", "urdf", "-o", "-")
    assert (code, text.encode(), err) == (0, out.read_bytes(), "")


def test_default_masses_and_drag_are_noted_beside_a_urdf(capsys, tmp_path):
    path, out = tmp_path / "misbuilt.json", tmp_path / "misbuilt.urdf"
    write_design(path, sample_design("misbuilt_scout"))
    code, _, err = call(capsys, "export", path, "--format", "urdf", "-o", out)
    first, second = err.splitlines()
    assert code == 0
    assert first.startswith(
        "axlewright: note: no mass is given of the body, the wheels; the URDF has default"
    )
    assert second.startswith("axlewright: note: NOT ALIGNED: middle left drags up to ")


def test_settings_for_code_are_refused_for_a_urdf(capsys, chassis, tmp_path):
    out = tmp_path / "scout.urdf"
    words = ("--format", "urdf", "-o", out, "--prefix", "reed", "--largest-bytes", "100")
    code, shown, err = call(capsys, "export", chassis, *words)
    assert (code, shown) == (2, "")
    assert (
        err == "axlewright: --prefix, --largest-bytes: for code only, not for --format urdf; leave it out\n"
    )
    assert not out.exists()


def test_a_chassis_without_wheels_gives_no_urdf_but_the_reason(capsys, tmp_path):
    path, out = tmp_path / "empty.json", tmp_path / "empty.urdf"
    write_design(path, Design())
    code, _, err = call(capsys, "export", path, "--format", "urdf", "-o", out)
    assert code == 2
    assert "the chassis has no wheels" in err
    assert not out.exists()


def test_the_help_names_the_formats_for_other_tools(capsys):
    code, out, _ = call(capsys, "export", "--help")
    assert code == 0
    assert "for simulators urdf" in " ".join(out.split())


def test_stopped_work_leaves_no_file(capsys, tmp_path, monkeypatch):
    path, out = tmp_path / "many.json", tmp_path / "out.py"
    write_design(path, many_wheels())

    def stop(*_):
        raise KeyboardInterrupt

    monkeypatch.setattr("geometry.lookup_table.fit.fewest_rows", stop)
    assert call(capsys, "export", path, "--format", "micropython", "-o", out) == (130, "", "")
    assert not out.exists()
