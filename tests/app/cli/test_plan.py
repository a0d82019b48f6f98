"""The verb ``plan``, as a person types it."""

import io
import os
import subprocess
import sys
from pathlib import Path

import pypdf
import pytest

from app import qt_check
from app.cli.command_line import run
from app.design.files import read_design, write_design
from app.design.samples import sample_design
from app.drawing.pages import FIT, pages_of
from app.drawing.plan import plan_of
from app.export.pdf import pdf_of
from geometry.model.design import Design

ROOT = Path(__file__).parents[3]
MM = 25.4 / 72.0


@pytest.fixture
def chassis(tmp_path):
    path = tmp_path / "scout.json"
    write_design(path, sample_design("marsh_scout_six"))
    return path


def call(capsys, *words):
    code = run([str(word) for word in words])
    out, err = capsys.readouterr()
    return code, out, err


def sizes(path):
    boxes = [page.mediabox for page in pypdf.PdfReader(path, strict=True).pages]
    return [(round(float(box.width) * MM), round(float(box.height) * MM)) for box in boxes]


def words_of(path):
    return pypdf.PdfReader(path).pages[0].extract_text()


def test_a_chassis_that_one_sheet_has_no_room_for_goes_on_tiles(qapp, capsys, chassis, tmp_path):
    out = tmp_path / "plan.pdf"
    code, shown, told = call(capsys, "plan", chassis, "-o", out)
    assert (code, shown) == (0, "")
    assert f"note: {len(sizes(out))} sheets of A4" in told
    assert len(sizes(out)) > 1
    assert {tuple(sorted(size)) for size in sizes(out)} == {(210, 297)}
    assert "Marsh scout" in words_of(out)
    assert " 1:1 " in words_of(out)


def test_it_writes_the_bytes_that_the_function_gives(qapp, capsys, chassis, tmp_path):
    out = tmp_path / "plan.pdf"
    call(capsys, "plan", chassis, "-o", out, "--paper", FIT)
    design = read_design(chassis).design
    assert out.read_bytes() == pdf_of(pages_of(plan_of(design), FIT).pages, f"{design.name}: plan")


@pytest.mark.parametrize(
    ("words", "size", "scale"),
    [
        (["--scale", "1:5"], (210, 297), "1:5"),
        (["--scale", "fit", "--landscape"], (297, 210), None),
        (["--scale", "fit", "--paper", "A3", "--one-sheet"], (297, 420), None),
        (["--paper", "A1", "--portrait"], (594, 841), "1:1"),
        (["--one-sheet", "--paper", "A0", "--landscape"], (1189, 841), "1:1"),
        (["--paper", "Tabloid", "--scale", "1:2.5", "--portrait"], (279, 432), "1:2.5"),
    ],
)
def test_paper_scale_and_orientation_are_as_asked(qapp, capsys, chassis, tmp_path, words, size, scale):
    out = tmp_path / "plan.pdf"
    assert call(capsys, "plan", chassis, "-o", out, *words)[0] == 0
    assert sizes(out) == [size]
    if scale:
        assert f" {scale} " in words_of(out)


def test_one_sheet_alone_is_made_to_fit(qapp, capsys, chassis, tmp_path):
    out = tmp_path / "plan.pdf"
    assert call(capsys, "plan", chassis, "-o", out, "--one-sheet")[0] == 0
    assert "sheet of" in words_of(out)
    assert len(sizes(out)) == 1


def test_a_wider_overlap_may_take_more_tiles_and_an_inch_is_an_inch(qapp, capsys, chassis, tmp_path):
    made = []
    for overlap in ("1in", "25.4", "25.4mm"):
        out = tmp_path / "plan.pdf"
        assert call(capsys, "plan", chassis, "-o", out, "--tiles", "--overlap", overlap)[0] == 0
        made.append(out.read_bytes())
    assert made[0] == made[1] == made[2]
    assert call(capsys, "plan", chassis, "-o", out, "--tiles")[0] == 0
    assert out.read_bytes() != made[0]


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (["--paper", "A9"], "the paper must be one of A4"),
        (["--paper", ""], "the paper must be one of A4"),
        (["--scale", "half"], "--scale must be paper to full size, such as 1:2, or fit (got 'half')"),
        (["--scale", "1:0"], "--scale must be paper to full size"),
        (["--scale", "٣:1"], "--scale must be paper to full size"),
        (["--scale", "40:1"], "the scale must be from 1:200 to 10:1 (got 40"),
        (["--view", "back"], "--view must be plan, side, front (got 'back')"),
        (["--overlap", "wide"], "--overlap: "),
        (["--overlap", "2mm"], "the overlap must be from 3 to 50 mm (got 2 mm)"),
        (["--tiles", "--paper", "fit"], "tiles are of paper with a size"),
        (["--one-sheet", "--paper", "A4"], "choose tiles, larger paper"),
        (["--tiles", "--one-sheet"], "not allowed with argument"),
    ],
)
def test_what_cannot_be_is_told_in_a_sentence_and_nothing_is_written(
    capsys, chassis, tmp_path, words, sentence
):
    out = tmp_path / "plan.pdf"
    code, shown, told = call(capsys, "plan", chassis, "-o", out, *words)
    assert (code, shown) == (2, "")
    assert sentence in told
    assert "Traceback" not in told
    assert not out.exists()


def test_an_empty_chassis_has_nothing_to_draw(capsys, tmp_path):
    path = tmp_path / "empty.json"
    write_design(path, Design(name="Empty"))
    code, _, told = call(capsys, "plan", path, "-o", tmp_path / "plan.pdf")
    assert code == 2
    assert "add some first" in told


def test_a_body_without_wheels_is_drawn(qapp, capsys, tmp_path):
    path = tmp_path / "bare.json"
    write_design(path, Design(name="Bare", body_mm=((90, 60), (-90, 60), (-90, -60), (90, -60))))
    assert call(capsys, "plan", path, "-o", tmp_path / "plan.pdf")[0] == 0


def test_a_chassis_is_never_written_over(qapp, capsys, chassis):
    before = chassis.read_bytes()
    code, _, told = call(capsys, "plan", chassis, "-o", chassis)
    assert code == 2
    assert "left untouched" in told
    assert chassis.read_bytes() == before


def test_where_qt_lacks_a_library_the_command_says_so_and_ends_with_2(capsys, chassis, tmp_path, monkeypatch):
    lacking = qt_check.Library("libEGL.so.1", "libegl1")
    monkeypatch.setattr(qt_check, "paper_trouble", lambda: qt_check._no_paper(qt_check._gap([lacking])))
    code, _, told = call(capsys, "plan", chassis, "-o", tmp_path / "plan.pdf")
    assert code == 2
    assert told.startswith("axlewright: a page cannot be drawn: the system lacks libraries")
    assert "sudo apt install libegl1" in told


def test_it_needs_neither_screen_nor_home_and_prints_to_a_pipe(chassis, tmp_path):
    environment = {"PYTHONPATH": str(ROOT), "PATH": os.environ["PATH"], "AXLEWRIGHT_HOME": str(tmp_path)}
    words = [sys.executable, "-P", "-m", "app.main", "plan", str(chassis), "-o", "-"]
    done = subprocess.run(words, env=environment, capture_output=True, timeout=120)
    assert done.returncode == 0, done.stderr
    assert len(pypdf.PdfReader(io.BytesIO(done.stdout)).pages) > 1
    assert done.stderr.startswith(b"axlewright: note: ")
    assert done.stderr.count(b"\n") == 1
