"""The verb `outline`: a chassis with the outline of a drawing, and every refusal in a sentence."""

import io
from pathlib import Path

import ezdxf
import numpy as np
import pytest

from app.cli.command_line import run
from app.design.files import design_from_text, read_design, write_design
from app.design.samples import sample_design
from geometry.model.packaging import Opening

DECK = Path(__file__).parents[1] / "dialogs" / "deck.svg"
SCOUT = sample_design("marsh_scout_six")


@pytest.fixture
def chassis(tmp_path):
    path = tmp_path / "scout.json"
    write_design(path, SCOUT)
    return path


@pytest.fixture
def plate(tmp_path):
    """A drawing in inches with two layers."""
    document = ezdxf.new("R2000")
    document.header["$INSUNITS"] = 1
    space = document.modelspace()
    space.add_lwpolyline([(0, 0), (4, 0), (4, 8), (0, 8)], close=True, dxfattribs={"layer": "plate"})
    space.add_circle((1, 1), 0.25, dxfattribs={"layer": "holes"})
    text = io.StringIO()
    document.write(text)
    path = tmp_path / "plate.dxf"
    path.write_text(text.getvalue(), encoding="utf-8")
    return path


def call(capsys, *words):
    code = run([str(word) for word in words])
    out, err = capsys.readouterr()
    return code, out, err


def test_outline_and_holes_come_into_a_new_file_and_the_old_one_stays(capsys, chassis, tmp_path):
    before = chassis.read_bytes()
    out = tmp_path / "deck.json"
    code, printed, told = call(capsys, "outline", chassis, DECK, "--holes", "-o", out)
    assert (code, printed) == (0, "")
    made = read_design(out).design
    assert np.ptp(np.array(made.body_mm), axis=0).tolist() == [400, 220]
    assert [opening.diameter_mm for opening in made.packaging.openings] == [9.0, 9.0]
    assert made.wheels == SCOUT.wheels
    assert chassis.read_bytes() == before
    assert "note: Left out: 1 × text." in told
    assert "Open path on layer notes" in told


def test_layers_unit_scale_direction_and_place_are_chosen(capsys, chassis, plate):
    _, text, told = call(
        capsys,
        "outline",
        chassis,
        plate,
        "--layer",
        "plate",
        "--forward",
        "right",
        "--place",
        "drawn",
        "-o",
        "-",
    )
    made = design_from_text(text)
    assert sorted(made.body_mm) == [(0, 0), (0, 203.2), (101.6, 0), (101.6, 203.2)]
    assert made.packaging == SCOUT.packaging
    assert told == ""
    words = [
        "--layer",
        "plate",
        "--layer",
        "holes",
        "--unit",
        "mm",
        "--scale",
        "10",
        "--place",
        "drawn",
        "--holes",
    ]
    _, text, _ = call(capsys, "outline", chassis, plate, *words, "-o", "-")
    made = design_from_text(text)
    assert sorted(made.body_mm) == [(0, -40), (0, 0), (80, -40), (80, 0)]
    assert made.packaging.openings == (Opening(x_mm=10.0, y_mm=-10.0, diameter_mm=5.0),)


@pytest.mark.parametrize(
    ("words", "why"),
    [
        (["--layer", "nowhere"], "has no layer 'nowhere'; it has holes, plate"),
        (["--unit", "furlong"], "--unit must be mm, cm, m, inch, px or in (got 'furlong')"),
        (["--scale", "big"], "--scale 'big' is not a number"),
        (["--scale", "0"], "scale must be from"),
        (["--forward", "north"], "--forward must be up or right or down or left"),
        (["--place", "moon"], "--place must be wheels or drawn"),
    ],
)
def test_a_bad_word_is_named(capsys, chassis, plate, words, why):
    code, out, err = call(capsys, "outline", chassis, plate, *words, "-o", "-")
    assert (code, out) == (2, "")
    assert why in err


def test_a_file_that_is_there_and_one_that_is_no_drawing_are_refused(capsys, chassis, plate):
    assert "left untouched" in call(capsys, "outline", chassis, plate, "-o", chassis)[2]
    code, _, err = call(capsys, "outline", chassis, chassis, "-o", "-")
    assert code == 2
    assert "scout.json is neither a DXF nor an SVG drawing" in err
