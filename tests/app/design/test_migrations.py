import json
from pathlib import Path

import pytest

from app.design import migrations
from app.design.files import BadChassisError, design_from_text, design_text, read_design, schema
from app.design.samples import sample_design
from geometry.model.design import Design
from geometry.model.motors import Gearing
from sample_chassis import SAMPLES
from tests.unpacked import unpacked


def test_old_formats_go_through_every_step_in_order():
    steps = {
        1: lambda keys: {**keys, "path": [*keys["path"], 1]},
        2: lambda keys: {**keys, "path": [*keys["path"], 2]},
    }
    start = {"path": []}
    assert migrations.upgrade(start, 1, upgrades=steps, newest=3) == {"path": [1, 2]}
    assert migrations.upgrade(start, 2, upgrades=steps, newest=3) == {"path": [2]}
    assert migrations.upgrade(start, 3, upgrades=steps, newest=3) == {"path": []}
    assert start == {"path": []}


def test_there_is_a_step_from_every_old_version():
    assert sorted(migrations.UPGRADES) == list(range(1, migrations.VERSION))


def test_a_file_from_before_there_were_motors_opens_with_none():
    opened = read_design(Path(__file__).parent / "old" / "version_1.json").design
    assert (opened.steer_motors, opened.drive_motors) == ((), ())
    assert [wheel.name for wheel in opened.wheels] == ["left", "right", "front"]
    assert opened.largest_turn == 0.6
    assert '"version": 2' in design_text(opened)


def test_a_key_that_came_late_is_left_out_at_its_default_and_raises_the_version_where_it_is_not(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    late = {
        "notes": migrations.Since(3, ""),
        "wheels[].driven": migrations.Since(4, False),
        "controller.prefix": migrations.Since(5, "chassis"),
    }
    monkeypatch.setattr(migrations, "SINCE", {**migrations.SINCE, **late})
    design = sample_design("marsh_scout_six").edited(notes="")
    design = design.edited(wheels=tuple(w.edited(driven=False) for w in design.wheels))
    plain = json.loads(design_text(design))
    assert plain["version"] == 2
    assert "notes" not in plain
    assert all("driven" not in wheel for wheel in plain["wheels"])
    assert "prefix" not in plain["controller"]
    noted = json.loads(design_text(design.edited(notes="for the creek")))
    assert (noted["version"], noted["notes"]) == (3, "for the creek")
    driven = design.edited(wheels=(design.wheels[0].edited(driven=True), *design.wheels[1:]))
    assert json.loads(design_text(driven))["version"] == 4
    named = design.edited(controller=design.controller.edited(prefix="scout"))
    assert json.loads(design_text(named))["version"] == 5


def test_every_sample_is_written_with_the_lowest_version_so_that_older_programs_open_it() -> None:
    for sample in SAMPLES:
        design = sample_design(sample.key)
        version = 4 if design.packaging.parts else 2
        assert json.loads(design_text(design))["version"] == version
        assert json.loads(design_text(unpacked(design)))["version"] == 2
    assert sample_design("marsh_scout_motors").packaging.parts


def geared(kind: str, **gearing: object) -> Design:
    """The motored sample with the first wheel of its first motor geared in another way."""
    design = unpacked(sample_design("marsh_scout_motors"))
    first, *others = getattr(design, kind)
    held = Gearing(wheel=first.wheels[0].wheel, **gearing)
    changed = first.edited(wheels=(held, *first.wheels[1:]))
    return design.edited(**{kind: (changed, *others)})


@pytest.mark.parametrize("kind", ["steer_motors", "drive_motors"])
def test_two_numbers_come_back_as_they_were_typed_in_a_file_of_version_3(kind: str) -> None:
    typed = geared(kind, proportion=(12.0, 36.0))
    plain = json.loads(design_text(typed))
    assert plain["version"] == 3
    assert plain[kind][0]["wheels"][0]["proportion"] == [12, 36]
    assert json.dumps(plain).count("proportion") == 1  # every other gearing leaves the key out
    assert design_from_text(design_text(typed)) == typed


@pytest.mark.parametrize("kind", ["steer_motors", "drive_motors"])
def test_a_file_without_two_numbers_stays_at_version_2_and_has_no_key_for_them(kind: str) -> None:
    for gearing in ({"ratio": 0.5}, {"train": ((12, 36),)}):
        text = design_text(geared(kind, **gearing))
        assert json.loads(text)["version"] == 2
        assert "proportion" not in text


@pytest.mark.parametrize("version", [2, 3])
def test_a_file_in_which_ratio_and_two_numbers_meet_is_refused_by_place(version: int) -> None:
    plain = json.loads(design_text(geared("steer_motors", proportion=(12.0, 36.0))))
    plain["version"] = version
    plain["steer_motors"][0]["wheels"][0]["ratio"] = 1 / 3
    with pytest.raises(BadChassisError, match=r"steer_motors\[0\]\.wheels\[0\]\.proportion must be null"):
        design_from_text(json.dumps(plain))


def test_the_schema_says_which_version_brought_a_key() -> None:
    known = schema()
    assert known["properties"]["steer_motors"]["description"].endswith("(since version 2 of the format)")
    assert "since version" not in known["properties"]["wheels"].get("description", "")
    assert known["properties"]["version"]["enum"] == [2, 3, 4]
    told = known["$defs"]["Gearing"]["properties"]["proportion"]["description"]
    assert told.count("(since version 3 of the format)") == 1


def test_a_late_key_of_a_list_is_found_in_the_schema(monkeypatch: pytest.MonkeyPatch) -> None:
    late = {
        "steer_motors[].backlash_deg": migrations.Since(3, 0),
        "controller.prefix": migrations.Since(3, ""),
    }
    monkeypatch.setattr(migrations, "SINCE", late)
    known = schema()["$defs"]
    for model, key in (("SteerMotor", "backlash_deg"), ("Controller", "prefix")):
        assert "(since version 3 of the format)" in known[model]["properties"][key]["description"]
