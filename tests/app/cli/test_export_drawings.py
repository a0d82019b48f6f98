"""Drawings by the command line: which options go together, and the way out to a file and back."""

import os
import subprocess
import sys
from pathlib import Path
from types import SimpleNamespace

import ezdxf
import numpy as np
import pytest

from app.cli.command_line import run
from app.design.files import read_design, write_design
from app.design.samples import sample_design
from app.drawing.cut import cut_of
from app.drawing.elements import Circle, Drawing, Outline
from app.drawing.plan import plan_of
from app.export.registry import exporter, files_of
from geometry.model.design import Design
from sample_chassis import SAMPLES
from tests.written import only_file

ROOT = Path(__file__).resolve().parents[3]
pytestmark = pytest.mark.usefixtures("qapp")


@pytest.fixture
def chassis(tmp_path):
    path = tmp_path / "scout.json"
    write_design(path, sample_design("marsh_scout_motors"))
    return path


def call(capsys, *words):
    code = run([str(word) for word in words])
    out, err = capsys.readouterr()
    return code, out, err


def written(key, drawing, **chosen):
    return only_file(files_of(exporter("drawing", key), drawing, **chosen))


@pytest.fixture
def views(monkeypatch):
    """Elevations and cut paths that can be told apart."""

    def elevation_of(design, view, *, scale=1.0):
        at = {"side": 3.0, "front": 4.0}[view]
        return Drawing(view, (Circle("wheel", (0, 0), at),), (f"Seen from the {view}.",))

    def closed_of(drawing):
        closed = (e for e in drawing.elements if isinstance(e, Circle | Outline))
        return Drawing(drawing.name, tuple(closed), ("Lines are left out.",))

    monkeypatch.setitem(sys.modules, "app.drawing.elevation", SimpleNamespace(elevation_of=elevation_of))
    monkeypatch.setitem(sys.modules, "app.drawing.cut", SimpleNamespace(cut_of=closed_of))
    return SimpleNamespace(elevation_of=elevation_of, cut_of=closed_of)


@pytest.mark.parametrize("key", ["dxf", "svg", "png"])
def test_each_format_is_written_as_the_one_function_gives_it(capsys, chassis, tmp_path, key):
    out = tmp_path / f"out.{key}"
    code, printed, err = call(capsys, "export", chassis, "--format", key, "-o", out)
    drawing = plan_of(read_design(chassis).design)
    assert (code, printed) == (0, "")
    assert err == "".join(f"axlewright: note: {note}\n" for note in drawing.notes)
    assert out.read_bytes() == written(key, drawing)


@pytest.mark.parametrize("key", ["dxf", "svg", "png"])
@pytest.mark.parametrize("view", ["side", "front"])
def test_a_view_is_chosen_and_its_notes_are_told(capsys, chassis, tmp_path, views, key, view):
    out = tmp_path / "out"
    told = call(capsys, "export", chassis, "--format", key, "--view", view, "-o", out)
    assert told == (0, "", f"axlewright: note: Seen from the {view}.\n")
    assert out.read_bytes() == written(key, views.elevation_of(None, view))


@pytest.mark.parametrize("key", ["dxf", "svg"])
def test_the_cut_choice_writes_the_closed_paths_of_the_plan(capsys, chassis, tmp_path, views, key):
    out = tmp_path / "out"
    told = call(capsys, "export", chassis, "--format", key, "--cut", "--view", "plan", "-o", out)
    drawing = plan_of(read_design(chassis).design)
    # What the person is told is what holds for the file: the notes of what is cut.
    assert told == (0, "", "axlewright: note: Lines are left out.\n")
    assert out.read_bytes() == written(key, views.cut_of(drawing), cut=True)
    assert out.read_bytes() != written(key, drawing)


def test_the_resolution_is_chosen(capsys, chassis, tmp_path):
    out = tmp_path / "out.png"
    assert call(capsys, "export", chassis, "--format", "png", "--dpi", "60", "-o", out)[0] == 0
    assert out.read_bytes() == written("png", plan_of(read_design(chassis).design), dpi=60)


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--format", "xml"), "one of micropython, c, json, csv, dxf, svg, png"),
        (("--format", "c", "--view", "plan"), "--view is for dxf or svg or png; leave it out"),
        (("--format", "json", "--cut"), "--cut is for dxf or svg; leave it out"),
        (("--vectors", "3", "--dpi", "90"), "--dpi is for png; leave it out"),
        (("--format", "png", "--cut"), "--cut is for dxf or svg (got --format png)"),
        (("--format", "svg", "--dpi", "90"), "--dpi is for png (got --format svg)"),
        (("--format", "svg", "--dpi", ""), "--dpi is for png (got --format svg)"),
        (("--format", "png", "--dpi", "49"), "--dpi must be a whole number from 50 to 1200 (got '49')"),
        (("--format", "png", "--dpi", "1201"), "--dpi must be a whole number from 50 to 1200"),
        (("--format", "png", "--dpi", "x"), "--dpi must be a whole number from 50 to 1200"),
        (("--format", "svg", "--view", "top"), "--view must be plan, side or front (got 'top')"),
        (("--format", "svg", "--view", ""), "--view must be plan, side or front (got '')"),
        (("--format", "dxf", "--cut", "--view", "side"), "--cut is of the plan; leave out --view side"),
        (
            ("--format", "svg", "--method", "table"),
            "--method is for the controller's code, and svg is a draw",
        ),
        (("--format", "svg", "--speed-error", "1%"), "--speed-error is for the controller's code"),
        (("--format", "svg", "--vectors", "3"), "give one of --format and --vectors"),
    ],
)
def test_options_that_do_not_go_together_are_told_and_write_nothing(capsys, chassis, tmp_path, words, told):
    out = tmp_path / "out"
    code, shown, err = call(capsys, "export", chassis, "-o", out, *words)
    assert (code, shown) == (2, "")
    assert err.startswith("axlewright: ")
    assert told in err
    assert not out.exists()


def test_a_chassis_file_is_never_written_over(capsys, chassis):
    before = chassis.read_bytes()
    code, _, err = call(capsys, "export", chassis, "--format", "svg", "-o", chassis)
    assert code == 2
    assert "left untouched" in err
    assert chassis.read_bytes() == before


@pytest.mark.parametrize("key", ["dxf", "svg"])
@pytest.mark.parametrize("sample", ["marsh_scout_motors", "marsh_scout_six"])
def test_the_body_comes_back_from_the_file_by_the_verb_outline(capsys, tmp_path, key, sample):
    path, plan, back = tmp_path / "scout.json", tmp_path / f"plan.{key}", tmp_path / "back.json"
    design = sample_design(sample)
    write_design(path, design)
    assert call(capsys, "export", path, "--format", key, "-o", plan)[0] == 0
    words = ("--layer", "outline", "--place", "drawn", "-o", back)
    assert call(capsys, "outline", path, plan, *words)[0] == 0
    found, wanted = (np.array(one.body_mm) for one in (read_design(back).design, design))
    assert len(found) == len(wanted)
    for corner in wanted:
        assert np.hypot(*(found - corner).T).min() < 1e-6


def test_pictures_need_no_screen_and_print_nothing_else(chassis, tmp_path):
    out = tmp_path / "out.png"
    environment = {k: v for k, v in os.environ.items() if not k.startswith(("QT_", "DISPLAY", "WAYLAND"))}
    environment |= {"PYTHONPATH": os.pathsep.join([str(ROOT), *sys.path]), "LC_ALL": "C"}
    words = ["export", str(chassis), "--format", "png", "-o", str(out)]
    done = subprocess.run(
        [sys.executable, "-m", "app.main", *words], env=environment, capture_output=True, text=True
    )
    notes = [line for line in done.stderr.splitlines() if not line.startswith("axlewright: note: ")]
    assert (done.returncode, done.stdout, notes) == (0, "", [])
    assert out.read_bytes() == written("png", plan_of(read_design(chassis).design))


def test_where_qt_does_not_load_a_picture_is_refused_and_drawings_are_written(
    capsys, monkeypatch, chassis, tmp_path
):
    monkeypatch.setitem(sys.modules, "PySide6.QtGui", None)
    code, _, err = call(capsys, "export", chassis, "--format", "png", "-o", tmp_path / "out.png")
    assert code == 2
    assert "does not load here" in err
    assert not (tmp_path / "out.png").exists()
    assert call(capsys, "export", chassis, "--format", "svg", "-o", tmp_path / "out.svg")[0] == 0


def test_code_is_written_without_what_draws(chassis, tmp_path):
    code = (
        "import sys; from app.cli.command_line import run; done = run(sys.argv[1:]);"
        "print(done, *sorted(n for n in sys.modules if n.startswith(('app.drawing', 'ezdxf', 'fontTools'))))"
    )
    words = ["export", str(chassis), "--format", "csv", "-o", str(tmp_path / "out")]
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join([str(ROOT), *sys.path])}
    done = subprocess.run(
        [sys.executable, "-c", code, *words], env=environment, capture_output=True, text=True, check=True
    )
    assert done.stdout.split() == ["0"]


def test_a_chassis_without_a_body_and_wheels_has_nothing_to_cut(capsys, tmp_path, views):
    path, out = tmp_path / "bare.json", tmp_path / "out.dxf"
    write_design(path, Design(name="bare"))
    code, _, err = call(capsys, "export", path, "--format", "dxf", "--cut", "-o", out)
    assert (code, out.exists()) == (2, False)
    assert "nothing to cut yet" in err


@pytest.mark.parametrize("sample", SAMPLES, ids=lambda sample: sample.key)
def test_every_view_and_the_cut_of_every_sample_is_written(capsys, tmp_path, sample):
    path, out = tmp_path / "sample.json", tmp_path / "out.dxf"
    design = sample_design(sample.key)
    write_design(path, design)
    for words in (("--view", "plan"), ("--view", "side"), ("--view", "front"), ("--cut",)):
        assert call(capsys, "export", path, "--format", "dxf", "-o", out, *words)[0] == 0
        document = ezdxf.readfile(out)
        faults = document.audit()
        assert (faults.errors, faults.fixes) == ([], [])
        assert len(document.modelspace()) > 0
    # The last is the cut file.
    assert all(e.dxftype() == "CIRCLE" or e.closed for e in document.modelspace())
    assert len(document.modelspace()) == len(cut_of(plan_of(design)).elements)
