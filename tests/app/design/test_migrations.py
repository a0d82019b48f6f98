import json
from pathlib import Path

import pytest

from app.design import migrations
from app.design.files import design_text, read_design, schema
from app.design.samples import sample_design
from sample_chassis import SAMPLES


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


def test_every_sample_is_written_with_version_2_so_that_older_programs_open_it() -> None:
    for sample in SAMPLES:
        assert json.loads(design_text(sample_design(sample.key)))["version"] == 2


def test_the_schema_says_which_version_brought_a_key() -> None:
    known = schema()
    assert known["properties"]["steer_motors"]["description"].endswith("(since version 2 of the format)")
    assert "since version" not in known["properties"]["wheels"].get("description", "")
    assert known["properties"]["version"]["enum"] == [2]


def test_a_late_key_of_a_list_is_found_in_the_schema(monkeypatch: pytest.MonkeyPatch) -> None:
    late = {
        "steer_motors[].backlash_deg": migrations.Since(3, 0),
        "controller.prefix": migrations.Since(3, ""),
    }
    monkeypatch.setattr(migrations, "SINCE", late)
    known = schema()["$defs"]
    for model, key in (("SteerMotor", "backlash_deg"), ("Controller", "prefix")):
        assert "(since version 3 of the format)" in known[model]["properties"][key]["description"]
