"""The verb fit: its exit code, its words, its values, and what it refuses."""

import json

import pytest

from app.cli.command_line import run
from app.design.files import write_design
from app.design.samples import sample_design
from geometry.model.design import Design
from geometry.model.packaging import Packaging, Part
from sample_chassis import SAMPLES

CROWDED = sample_design("crowded_scout")


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


@pytest.mark.parametrize("key", [sample.key for sample in SAMPLES])
def test_every_sample_fits_but_the_crowded_one(capsys, file, key):
    code, out, err = call(capsys, "fit", file(sample_design(key)))
    assert (code, err) == (int(key == "crowded_scout"), "")
    assert ("\nFITS. " in out) == (code == 0)
    assert ("\nDOES NOT FIT. 1 collision:" in out) == (code == 1)


def test_the_crowded_sample_is_mended_by_the_way_out_that_is_told(capsys, file):
    _, out, _ = call(capsys, "fit", file(CROWDED), "--json")
    (one,) = json.loads(out)["collisions"]
    assert (one["first"]["name"], one["second"]["name"]) == ("controller", "battery")
    assert one["way_out"] == {"axis": "z", "shift_mm": 5.0}
    assert (one["at_this_turn"], one["wheel"], one["first_steer_deg"]) == (True, None, None)
    assert "shortest way out: controller 5 mm up" in one["sentence"]
    parts = [
        part.edited(bottom_mm=part.bottom_mm + 5.0) if part.name == "controller" else part
        for part in CROWDED.packaging.parts
    ]
    mended = CROWDED.edited(packaging=CROWDED.packaging.edited(parts=tuple(parts)))
    assert call(capsys, "fit", file(mended))[0] == 0


def test_the_values_have_weights_and_tipping(capsys, file):
    code, out, _ = call(capsys, "fit", file(sample_design("marsh_scout_motors")), "--json")
    values = json.loads(out)
    assert (code, values["fits"], values["collisions"], values["turn_input"]) == (0, True, [], 0.0)
    balance = values["balance"]
    assert sum(one["load_n"] for one in balance["weights"]) == pytest.approx(
        9.81 * balance["mass_kg"], abs=1e-4
    )
    assert [one["lifted"] for one in balance["weights"]] == [False] * 6
    assert len(balance["tipping"]) == 4
    assert min(one["angle_deg"] for one in balance["tipping"]) == pytest.approx(71.2, abs=0.1)


def beside_a_wheel():
    beam = Part(
        name="beam", x_mm=140.0, y_mm=-95.0, bottom_mm=50.0, length_mm=20.0, width_mm=20.0, height_mm=9.0
    )
    return sample_design("marsh_scout_six").edited(packaging=Packaging(parts=(beam,)))


def test_a_turn_may_be_named_and_a_minus_sign_is_no_option(capsys, file):
    path = file(beside_a_wheel())
    code, straight, _ = call(capsys, "fit", path)
    assert code == 1
    assert "beam and the wheel front right overlap while it steers, first with front right at " in straight
    code, turned, _ = call(capsys, "fit", path, "--turn", "-0.5")
    assert code == 1
    assert "overlap at this turn" in turned
    assert "at turn -0.5 and over all travel" in turned


def test_a_body_without_heights_is_not_looked_at_and_that_is_said(capsys, file):
    _, out, _ = call(capsys, "fit", file(sample_design("dyke_hauler_eight")))
    assert "so the body was not looked at" in out
    assert "not looked at" not in call(capsys, "fit", file(CROWDED))[1]


def test_a_chassis_without_anything_fits_and_says_that_there_are_no_masses(capsys, file):
    code, out, _ = call(capsys, "fit", file(Design()))
    assert code == 0
    assert "0 parts, 0 wheels, no body" in out
    assert "No masses are given" in out
    _, out, _ = call(capsys, "fit", file(Design()), "--json")
    assert json.loads(out)["balance"] is None


def test_a_chassis_that_falls_over_says_so(capsys, file):
    weight = Part(
        name="anvil", x_mm=400.0, bottom_mm=200.0, length_mm=9.0, width_mm=9.0, height_mm=9.0, mass_kg=9.0
    )
    design = sample_design("marsh_scout_six").edited(packaging=Packaging(parts=(weight,)))
    code, out, _ = call(capsys, "fit", file(design))
    assert code == 0
    assert "It does not stand" in out
    _, out, _ = call(capsys, "fit", file(design), "--json")
    assert json.loads(out)["balance"]["weights"] is None


@pytest.mark.parametrize(
    ("word", "told"),
    [
        ("x", "--turn must be one number from -1 to 1 (got 'x')"),
        ("0,1", "--turn must be one number from -1 to 1 (got '0,1')"),
        ("2", "--turn must be from -1 to 1 (got 2)"),
        ("nan", "--turn must be from -1 to 1 (got nan)"),
    ],
)
def test_a_bad_turn_is_refused_with_its_value(capsys, file, word, told):
    assert call(capsys, "fit", file(Design()), "--turn", word) == (2, "", f"axlewright: {told}\n")


def test_a_file_that_is_not_there_is_named(capsys, tmp_path):
    code, out, err = call(capsys, "fit", str(tmp_path / "none.json"))
    assert (code, out) == (2, "")
    assert "none.json" in err


def test_a_broken_part_is_told_by_its_place(capsys, file, tmp_path):
    path = file(CROWDED)
    text = (
        (tmp_path / "chassis.json").read_text(encoding="utf-8").replace('"length_mm": 86', '"length_mm": -86')
    )
    (tmp_path / "chassis.json").write_text(text, encoding="utf-8")
    code, _, err = call(capsys, "fit", path)
    assert code == 2
    assert "packaging.parts[0].length_mm must be at least 0.1 (got -86" in err
