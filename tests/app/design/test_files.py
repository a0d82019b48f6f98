import json
from pathlib import Path

import jsonschema
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from app.design import files, migrations
from app.design.files import (
    BadChassisError,
    ChangedElsewhereError,
    FileError,
    NewerFormatError,
    design_from_text,
    design_text,
    read_design,
    write_design,
)
from app.design.samples import sample_design, sample_text
from geometry.errors import DesignError
from geometry.model.design import Design
from sample_chassis import SAMPLES
from tests.strategies import designs

SCOUT = sample_design("marsh_scout_six")
CART = sample_design("reed_cart_four")

text = st.text(max_size=40)
number = st.floats(-1e4, 1e4)


@pytest.fixture
def folder(tmp_path):
    """An empty folder; preferences of the tests live beside it."""
    made = tmp_path / "chassis"
    made.mkdir()
    return made


def told(bad):
    with pytest.raises(BadChassisError) as error:
        design_from_text(bad if isinstance(bad, str) else json.dumps(bad), "scout.json")
    return [str(problem) for problem in error.value.problems]


def plain(**changes):
    values = json.loads(design_text(SCOUT)) | changes
    return {key: value for key, value in values.items() if value is not ...}


@given(designs())
def test_a_design_comes_back_from_its_text(design):
    assert design_from_text(design_text(design)) == design


@given(text, text, number, number, number, st.booleans(), st.floats(0.001, 1))
def test_any_names_notes_and_numbers_come_back_to_the_last_bit(name, notes, x, y, toe, driven, turn):
    wheel = {"name": name, "x_mm": x, "y_mm": y, "toe_deg": toe / 1e3, "driven": driven}
    try:
        design = Design().edited(name=name, notes=notes, wheels=(wheel,), largest_turn=turn)
    except DesignError:
        assume(False)
    written = design_text(design)
    assert design_from_text(written) == design
    assert design_text(design_from_text(written)) == written


def test_the_text_has_one_key_a_line_and_one_corner_a_line():
    lines = design_text(SCOUT).splitlines()
    assert lines[:4] == [
        "{",
        '  "format": "axlewright-chassis",',
        '  "version": 2,',
        '  "name": "Marsh scout",',
    ]
    assert "    [180, 60]," in lines
    assert '      "x_mm": 132,' in lines
    assert design_text(SCOUT).endswith("}\n")
    assert max(line.count('":') for line in lines) == 1


def test_the_text_holds_defaults_too():
    # Sections that came late are left out while nothing is in them: older programs open the file.
    fields = set(Design.model_fields) - {"packaging", "driving"} | {"format", "version"}
    assert set(json.loads(design_text(Design()))) == fields


def test_a_byte_order_mark_is_accepted(folder):
    path = folder / "bom.json"
    path.write_bytes(b"\xef\xbb\xbf" + design_text(SCOUT).encode())
    assert read_design(path).design == SCOUT


def test_all_problems_are_told_together_with_their_places():
    wheels = json.loads(design_text(SCOUT))["wheels"]
    wheels[0]["diametr_mm"] = 50
    wheels[1]["x_mm"] = "12"
    wheels[3]["y_mm"] = 20_000
    wheels[4]["driven"] = 1
    del wheels[5]["name"]
    bad = plain(wheels=wheels, largest_turn=True, body_mm=[[1, 2], [3, "x"], None], notes=7)
    assert told(bad) == [
        "notes must be text (got 7)",
        "wheels[0].diametr_mm is not a known key; did you mean diameter_mm?",
        "wheels[1].x_mm must be a number (got '12')",
        "wheels[3].y_mm must be at most 10000 (got 20000)",
        "wheels[4].driven must be true or false (got 1)",
        "wheels[5].name is missing",
        "body_mm[1][1] must be a number (got 'x')",
        "body_mm[2] must be a list (got null)",
        "largest_turn must be a number (got true)",
    ]


@pytest.mark.parametrize("literal", ["NaN", "Infinity", "-Infinity", "1e999", "-1e999", "1" + "0" * 5000])
def test_numbers_that_are_not_finite_are_refused_at_their_place(literal):
    bad = design_text(SCOUT).replace('"x_mm": 132', f'"x_mm": {literal}', 1)
    assert told(bad)[0].startswith("wheels[0].x_mm must be a finite number (got ")


def test_a_long_whole_number_is_refused_at_its_place():
    bad = design_text(SCOUT).replace('"x_mm": 132', f'"x_mm": {10**250}', 1)
    assert told(bad) == [f"wheels[0].x_mm must be at most 10000 (got {str(10**250)[:37]}...)"]


def test_a_key_given_twice_is_refused_at_its_place():
    bad = design_text(SCOUT).replace('"y_mm": -120', '"y_mm": 1, "y_mm": -120', 1)
    assert told(bad) == ["wheels[1].y_mm is given twice; keep one"]


@pytest.mark.parametrize("depth", [20, 900, 100_000])
@pytest.mark.parametrize("pair", ["[]", "{}"])
def test_deep_nesting_is_refused(depth, pair):
    opening = "[" if pair == "[]" else '{"a":'
    deep = opening * depth + "1" + pair[1] * depth
    bad = design_text(SCOUT).replace('"notes": ', f'"notes": {deep}, "x": ', 1)
    assert "nested too deeply" in told(bad)[0]


@pytest.mark.parametrize(
    ("bad", "sentence"),
    [
        ("", "line 1, column 1 is not valid JSON"),
        ("{", "line 1, column 2 is not valid JSON"),
        ("[1, 2]", "must be one JSON object in braces (got a list of 2)"),
        ("null", "must be one JSON object in braces (got null)"),
        (
            "{}",
            'format must be "axlewright-chassis"; this seems to be a file of another program (got nothing)',
        ),
        ('{"format": "drawing"}', "this seems to be a file of another program (got 'drawing')"),
        ('{"format": ["axlewright-chassis"]}', "got a list of 1"),
        ('{"format": "axlewright-chassis"}', "version must be a whole number from 1 (got nothing)"),
        ('{"format": "axlewright-chassis", "version": 0}', "version must be a whole number from 1 (got 0)"),
        (
            '{"format": "axlewright-chassis", "version": true}',
            "version must be a whole number from 1 (got true)",
        ),
        (
            '{"format": "axlewright-chassis", "version": 1e999}',
            "version must be a whole number from 1 (got inf)",
        ),
    ],
)
def test_text_that_is_no_chassis_is_refused_in_a_sentence(bad, sentence):
    assert sentence in told(bad)[0]


def test_half_a_surrogate_pair_is_refused():
    assert "half of a surrogate pair" in told(plain(notes="\ud800"))[0]
    with pytest.raises(DesignError):
        SCOUT.edited(notes="\ud800")


def test_a_file_of_a_newer_version_is_refused_politely_whatever_it_holds():
    deep = json.loads("[" * 50 + "]" * 50)
    with pytest.raises(NewerFormatError, match=r"format version 5.*Update Axlewright"):
        design_from_text(json.dumps(plain(version=5, wheels=deep)))


def test_many_problems_are_counted_rather_than_listed():
    many = plain(wheels=[{"name": f"w{i}", "x_mm": None, "y_mm": None} for i in range(60)])
    with pytest.raises(BadChassisError) as error:
        design_from_text(json.dumps(many))
    assert len(error.value.problems) == 120
    assert str(error.value).endswith("and 95 more")


@pytest.mark.parametrize(("problems", "end"), [(24, ""), (25, ""), (26, "and 1 more")])
def test_up_to_25_problems_are_all_listed(problems, end):
    bad = [{"name": f"w{i}", "x_mm": None, "y_mm": 0} for i in range(problems)]
    with pytest.raises(BadChassisError) as error:
        design_from_text(json.dumps(plain(wheels=bad)))
    assert len(error.value.problems) == problems
    first, *listed = str(error.value).splitlines()
    assert first.endswith("holds no chassis that can be used:")
    assert sum(line.startswith("  wheels[") for line in listed) == min(problems, 25)
    assert [line.strip() for line in listed if not line.startswith("  wheels[")] == ([end] if end else [])


@pytest.mark.parametrize("count", [100, 100_000])
def test_floods_of_keys_and_entries_are_refused_at_once(count):
    for flood in (
        plain(**{f"key{i}": 1 for i in range(count)}),
        plain(wheels=[{}] * count),
        plain(body_mm=[[0, 0]] * count),
        plain(wheels=[{f"wheel{i}": 0 for i in range(count)}]),
    ):
        assert 0 < len(told(flood)) < 500


# What is on the disk ---------------------------------------------------------------------------


def test_a_saved_design_is_opened_again_with_the_same_fingerprint(folder):
    path = folder / "größe 1.json"
    mark = write_design(path, SCOUT)
    opened = read_design(path)
    assert (opened.design, opened.path, opened.fingerprint) == (SCOUT, path, mark)
    assert [entry.name for entry in folder.iterdir()] == [path.name]


def test_saving_again_with_the_known_fingerprint_replaces(folder):
    path = folder / "a.json"
    mark = write_design(path, SCOUT)
    write_design(path, CART, expected=mark)
    assert read_design(path).design == CART


def test_a_file_changed_by_somebody_else_is_not_replaced(folder):
    path = folder / "a.json"
    mark = write_design(path, SCOUT)
    write_design(path, CART, overwrite=True)
    with pytest.raises(ChangedElsewhereError, match="changed by another program"):
        write_design(path, SCOUT.edited(name="mine"), expected=mark)
    assert read_design(path).design == CART
    write_design(path, SCOUT, expected=mark, overwrite=True)
    assert read_design(path).design == SCOUT


def test_a_file_that_vanished_meanwhile_is_written_again(folder):
    path = folder / "a.json"
    mark = write_design(path, SCOUT)
    path.unlink()
    assert write_design(path, SCOUT, expected=mark) == mark


def test_an_unknown_file_is_replaced_only_when_the_person_agreed(folder):
    path = folder / "notes.txt"
    path.write_text("shopping list")
    with pytest.raises(ChangedElsewhereError, match="exists already"):
        write_design(path, SCOUT)
    assert path.read_text() == "shopping list"
    write_design(path, SCOUT, overwrite=True)
    assert read_design(path).design == SCOUT


@pytest.mark.parametrize("overwrite", [False, True])
@pytest.mark.parametrize("extra", [{}, {"wheels": json.loads("[" * 60 + "]" * 60)}])
def test_a_file_of_a_newer_version_is_never_overwritten(folder, overwrite, extra):
    path = folder / "future.json"
    path.write_text(json.dumps(plain(version=7, **extra)))
    before = path.read_bytes()
    with pytest.raises(NewerFormatError):
        write_design(path, SCOUT, expected=files.fingerprint(before), overwrite=overwrite)
    assert path.read_bytes() == before


def test_a_file_over_one_mebibyte_is_refused(folder):
    path = folder / "long.json"
    path.write_bytes(b" " * (1024 * 1024) + design_text(SCOUT).encode())
    with pytest.raises(FileError, match="larger than 1024 KiB"):
        read_design(path)
    with pytest.raises(BadChassisError, match="at most 1 MiB"):
        design_from_text(" " * 2_000_000)


def test_bytes_that_are_no_text_are_refused(folder):
    path = folder / "latin.json"
    path.write_bytes(design_text(SCOUT.edited(name="Dünengeist")).encode("latin-1"))
    with pytest.raises(BadChassisError, match="is not UTF-8 text"):
        read_design(path)


def test_what_is_no_file_is_refused_in_a_sentence(folder):
    with pytest.raises(FileError, match="it is a folder"):
        read_design(folder)
    with pytest.raises(FileError, match="no such file"):
        read_design(folder / "none.json")
    with pytest.raises(FileError, match="no file name may hold"):
        read_design(Path("a\0b"))
    with pytest.raises(FileError, match="it is a folder"):
        write_design(folder, SCOUT, overwrite=True)
    with pytest.raises(FileError, match="no such file or folder"):
        write_design(folder / "no" / "a.json", SCOUT)
    with pytest.raises(FileError, match="no file name may hold"):
        write_design(Path("a\0b"), SCOUT)


# Schema, samples, old formats ------------------------------------------------------------------


def test_the_schema_is_one_and_every_sample_obeys_it():
    schema = files.schema()
    jsonschema.Draft202012Validator.check_schema(schema)
    for sample in SAMPLES:
        jsonschema.Draft202012Validator(schema).validate(json.loads(sample_text(sample.key)))


@pytest.mark.parametrize(
    "changes",
    [
        {"version": 5},
        {"format": "other"},
        {"format": ...},
        {"wheel": []},
        {"largest_turn": 2},
        {"largest_turn": "1"},
        {"wheels": [{"name": "a", "x_mm": 0}]},
        {"wheels": [{"name": "a", "x_mm": 0, "y_mm": 10_001}]},
        {"wheels": [{"name": " a", "x_mm": 0, "y_mm": 0}]},
        {"wheels": [{"name": "a", "x_mm": 0, "y_mm": 0, "kind": "driven"}]},
        {"body_mm": [[0, 0, 0]]},
        {"body_mm": [[0]]},
        {"packaging": {"parts": [{"name": "battery", "length_mm": 0}]}},
        {"packaging": {"openings": [{"face": "lid"}]}},
        {"driving": {"scripts": [{"name": "", "moves": []}]}},
        {"driving": {"courses": [{"name": "lane", "obstacles": [{"kind": "tree"}]}]}},
    ],
)
def test_what_the_schema_refuses_the_program_refuses_too(changes):
    bad = plain(**changes)
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(bad, files.schema())
    with pytest.raises(FileError):
        design_from_text(json.dumps(bad))


def test_an_old_file_is_upgraded_when_it_is_read(monkeypatch):
    def upgrade_from_1(keys):
        return {("name" if key == "title" else key): value for key, value in keys.items()}

    monkeypatch.setattr(migrations, "VERSION", 2)
    monkeypatch.setattr(migrations, "UPGRADES", {1: upgrade_from_1})
    old = plain(version=1, name=..., title="Old scout")
    assert design_from_text(json.dumps(old)).name == "Old scout"
