"""The verb sheet: what it writes, and what it refuses."""

import csv

import pytest

from app.cli.command_line import run
from app.design.facts import Facts
from app.design.files import write_design
from app.design.samples import sample_design
from app.export.html_sheet import render
from app.export.parts_csv import render as parts
from app.sheet.build_sheet import sheet_of
from geometry.model.design import Design


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


@pytest.mark.parametrize("name", ["sheet.html", "SHEET.HTM"])
def test_the_page_is_that_of_the_writer(capsys, file, tmp_path, name):
    design, out = sample_design("marsh_scout_motors"), tmp_path / name
    assert call(capsys, "sheet", file(design), "-o", str(out)) == (0, "", "")
    assert out.read_bytes() == render(sheet_of(Facts(design))).encode()


def test_it_prints_the_page_and_notes_a_drag(capsysbinary, file):
    assert run(["sheet", file(sample_design("dyke_hauler_eight")), "-o", "-"]) == 0
    out, err = capsysbinary.readouterr()
    assert out == render(sheet_of(Facts(sample_design("dyke_hauler_eight")))).encode()
    assert b"note: NOT ALIGNED" in err


def test_the_parts_list_goes_by_itself_or_beside_the_sheet(capsys, file, tmp_path):
    design, page, listed = sample_design("crowded_scout"), tmp_path / "a.html", tmp_path / "parts.csv"
    assert call(capsys, "sheet", file(design), "--parts", str(listed))[0] == 0
    assert listed.read_bytes() == parts(design).encode()
    assert call(capsys, "sheet", file(design), "-o", str(page), "--parts", str(listed))[0] == 0
    assert page.exists()
    with listed.open(newline="", encoding="utf-8") as lines:
        assert len(list(csv.reader(lines))) == 1 + len(design.packaging.parts) + len(design.wheels) + 1


def test_an_empty_chassis_has_a_sheet(capsys, file, tmp_path):
    out = tmp_path / "a.html"
    assert call(capsys, "sheet", file(Design()), "-o", str(out)) == (0, "", "")
    assert b"no wheels yet" in out.read_bytes()


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ([], "say where to"),
        (["-o", "sheet.doc"], "-o must end with .html, .htm, .pdf (got 'sheet.doc')"),
        (["-o", "sheet"], "-o must end with"),
        (["-o", "sheet.html", "--paper", "A4"], "--paper is for -o OUT.pdf; leave it out"),
        (["-o", "sheet.pdf", "--paper", "A5"], "--paper must be A4 or Letter (got 'A5')"),
    ],
)
def test_what_it_cannot_do_is_told_with_the_remedy_and_nothing_is_written(
    capsys, file, tmp_path, monkeypatch, words, told
):
    monkeypatch.chdir(tmp_path)
    code, out, err = call(capsys, "sheet", file(sample_design("reed_cart_four")), *words)
    assert (code, out) == (2, "")
    assert told in err
    assert [path.name for path in tmp_path.iterdir() if path.is_file()] == ["chassis.json"]


def test_a_chassis_is_never_written_over(capsys, file, tmp_path):
    chassis = file(sample_design("reed_cart_four"))
    other = tmp_path / "other.html"
    other.write_bytes((tmp_path / "chassis.json").read_bytes())
    code, _, err = call(capsys, "sheet", chassis, "-o", str(other))
    assert code == 2
    assert "holds a chassis" in err


@pytest.mark.parametrize("paper", ["A4", "letter"])
def test_paper_is_written_page_by_page(capsys, file, tmp_path, paper):
    out = tmp_path / "a.pdf"
    design = file(sample_design("reed_cart_four"))
    assert call(capsys, "sheet", design, "-o", str(out), "--paper", paper)[0] == 0
    assert out.read_bytes().startswith(b"%PDF")
