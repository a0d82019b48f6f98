"""The verb gauge: a page for each sheet, what it says, and what it refuses."""

from __future__ import annotations

import math
from types import SimpleNamespace

import pdfplumber
import pypdf
import pytest

from app.cli import gauge
from app.cli.command_line import run
from app.design.files import write_design
from app.design.samples import sample_design, sample_text
from app.drawing import pages
from app.drawing.gauge import gauges_of
from geometry.kinematics.robot import robot_of
from geometry.model.design import Design
from geometry.model.wheel import Wheel
from geometry.turn_range.range_check import at_turns

TURNS = (-1.0, -0.5, 0.0, 0.5, 1.0)


@pytest.fixture
def here(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    for key in ("marsh_scout_motors", "creek_tricycle", "mudflat_carrier_four"):
        (tmp_path / f"{key}.json").write_text(sample_text(key), encoding="utf-8")
    return tmp_path


@pytest.fixture
def paper(monkeypatch):
    """Stands in for what lays a drawing on pages and writes them."""
    seen = SimpleNamespace(laid=[], written=[])

    def pages_of(drawing, paper="A4", **more):
        seen.laid.append((drawing, paper, more))
        return SimpleNamespace(pages=(f"page of {drawing.name}",), told=("Two sheets of A4.",))

    def pdf_of(pages, title):
        seen.written.append((list(pages), title))
        return b"%PDF of a stand-in"

    monkeypatch.setattr(pages, "pages_of", pages_of)
    monkeypatch.setattr(gauge, "pdf_of", pdf_of)
    return seen


def call(capsys, *words):
    code = run(words)
    out, err = capsys.readouterr()
    assert "Traceback" not in err
    return code, out, err


def test_each_sheet_is_laid_on_the_paper_and_all_are_written_as_one_file(here, paper, capsys):
    code, out, err = call(capsys, "gauge", "marsh_scout_motors.json", "-o", "gauge.pdf", "--paper", "A3")
    assert (code, out) == (0, "")
    assert err == "axlewright: note: Two sheets of A4.\n"
    assert (here / "gauge.pdf").read_bytes() == b"%PDF of a stand-in"
    gauges = gauges_of(sample_design("marsh_scout_motors"))
    assert [drawing for drawing, _, _ in paper.laid] == list(gauges)
    assert {name for _, name, _ in paper.laid} == {"A3"}
    ((pages, title),) = paper.written
    assert pages == [f"page of {gauge.name}" for gauge in gauges]
    assert title == "Marsh scout with four motors: gauges"


def test_the_hole_is_taken_in_any_unit_and_paper_is_a4_of_itself(here, paper, capsys):
    assert call(capsys, "gauge", "creek_tricycle.json", "-o", "gauge.pdf", "--hole", "1/4 in")[0] == 0
    ((drawing, name, _),) = paper.laid
    assert name == "A4"
    assert drawing == gauges_of(sample_design("creek_tricycle"), hole_mm=6.35)[0]


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (("--hole", "0"), "--hole must be from 0.5 to 50 mm (got 0 mm)"),
        (("--hole", "6in"), "--hole must be from 0.5 to 50 mm (got 152.4 mm)"),
        (("--hole", "wide"), "--hole: "),
    ],
)
def test_an_odd_hole_is_refused(here, paper, capsys, words, sentence):
    code, out, err = call(capsys, "gauge", "creek_tricycle.json", "-o", "gauge.pdf", *words)
    assert (code, out) == (2, "")
    assert err.startswith(f"axlewright: {sentence}")
    assert not (here / "gauge.pdf").exists()


def test_a_chassis_without_steered_wheels_is_told_plainly(here, paper, capsys):
    wheels = tuple(Wheel(name=name, x_mm=0, y_mm=y) for name, y in (("left", 80), ("right", -80)))
    write_design(here / "straight.json", Design(wheels=wheels), overwrite=True)
    code, out, err = call(capsys, "gauge", "straight.json", "-o", "gauge.pdf")
    assert (code, out) == (2, "")
    assert err.startswith("axlewright: no wheel of the chassis is steered")
    assert not (here / "gauge.pdf").exists()


def test_a_chassis_is_never_written_over(here, paper, capsys):
    code, _, err = call(capsys, "gauge", "creek_tricycle.json", "-o", "creek_tricycle.json")
    assert code == 2
    assert "holds a chassis" in err


def test_the_written_pdf_has_a_page_for_each_sheet_with_its_words(here, capsys):
    assert call(capsys, "gauge", "marsh_scout_motors.json", "-o", "gauge.pdf") == (0, "", "")
    pages = pypdf.PdfReader(here / "gauge.pdf").pages
    assert len(pages) == 2
    for page, name in zip(pages, ("front", "rear"), strict=True):
        words = " ".join(page.extract_text().split())
        assert f"Gauge: {name} left; mirrored: {name} right" in words
        assert "read here" in words
        assert "−2047" in words


def test_marks_read_back_from_the_pdf_are_within_a_twentieth_of_a_degree(here, capsys):
    assert call(capsys, "gauge", "mudflat_carrier_four.json", "-o", "gauge.pdf") == (0, "", "")
    wanted = at_turns(robot_of(sample_design("mudflat_carrier_four")), TURNS).response.solution.steer
    with pdfplumber.open(here / "gauge.pdf") as pdf:
        for page, pair in zip(pdf.pages, ((0, 1), (2, 3)), strict=True):
            marks = [
                math.degrees(math.atan2(ax - bx, by - ay))
                for (ax, ay), (bx, by) in (line["pts"] for line in page.lines)
                for ay, by in ((float(page.height) - ay, float(page.height) - by),)
                if abs(math.hypot(bx - ax, by - ay) * 25.4 / 72 - 6.0) < 0.02
            ]
            for angle in (math.degrees(a) for n in pair for a in wanted[:, n]):
                assert min(abs(math.remainder(angle - mark, 360.0)) for mark in marks) < 0.05
