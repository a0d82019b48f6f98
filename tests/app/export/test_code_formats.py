"""What the formats share, and those that other programs read: JSON, CSV, vectors."""

import csv
import io
import json
import re

import numpy as np
import pytest

from app.controller.code_outputs import MOST_MS
from app.controller.export_error import ExportError
from app.controller.programme import programme_of
from app.controller.runtime import Runtime
from app.design.samples import sample_design
from app.export.vectors import vectors
from geometry.lookup_table.fixed_point import lookup
from sample_chassis import SAMPLES
from tests.app.export.robots import controller_of, flipping, sample, with_settings
from tests.whole.odd_robots import trailing
from tests.written import CODE_FORMATS, code_text


def rows_of(text):
    return list(csv.reader(io.StringIO(text, newline="")))


@pytest.mark.parametrize("key", [form.key for form in CODE_FORMATS])
def test_every_format_is_deterministic_ends_its_last_line_and_names_itself(key):
    text = code_text(programme_of(flipping()), key)
    assert text == code_text(programme_of(flipping()), key)
    assert text.endswith("\n")
    form = next(form for form in CODE_FORMATS if form.key == key)
    assert form.suffix.startswith(".")
    assert form.label


def test_an_unknown_format_is_refused_with_the_known_ones():
    with pytest.raises(ExportError, match=r"one of micropython, c, json, csv \(got 'xml'\)"):
        code_text(programme_of(flipping()), "xml")


def test_the_json_holds_what_a_port_needs():
    programme = programme_of(flipping(spacing="even"))
    plain = json.loads(code_text(programme, "json"))
    assert plain["format"] == "axlewright-controller"
    assert plain["fingerprint_sha256"] == programme.fingerprint
    assert plain["turn_steps_for_1"] == programme.turn_one
    assert plain["parts"]["dead_band_permille"] == 50
    assert [s["name"] for s in plain["steer"]] == [o.name for o in programme.steer]
    assert [s["top"] for s in plain["speed"]] == [o.top for o in programme.drive]
    bounds = [s["bound_deg_at_wheel"] for s in plain["steer"]]
    assert max(bounds) == pytest.approx(programme.bound_deg, rel=1e-5)


def test_a_port_that_follows_the_json_gets_the_tables_answers():
    programme = programme_of(flipping())
    table = json.loads(code_text(programme, "json"))["table"]
    rows = table["rows"]
    for step in range(programme.first, programme.last + 1, 97):
        row = max(i for i, cells in enumerate(rows) if cells[0] <= step)
        past = step - rows[row][0]
        after = rows[row + 1] if past else rows[row]
        width = after[0] - rows[row][0] or 1
        values = [
            v0 + (1 if v1 >= v0 else -1) * ((abs(v1 - v0) * past + width // 2) // width)
            for v0, v1 in zip(rows[row][1:], after[1:], strict=True)
        ]
        assert tuple(values) == lookup(programme.table, step)


@pytest.mark.parametrize("method", ["table", "formula"])
def test_each_key_that_the_words_of_the_json_name_is_in_it(method):
    plain = json.loads(code_text(programme_of(flipping(method=method)), "json"))
    words = " ".join(plain["steps"]) + plain[method]["how"]
    named = set(re.findall(r"'(\w+)'", words))
    assert len(named) > 15
    assert named - keys_in(plain) == set()


def keys_in(plain):
    """All keys of an object and of what it holds."""
    if isinstance(plain, list):
        return set().union(*map(keys_in, plain))
    return set(plain).union(*map(keys_in, plain.values())) if isinstance(plain, dict) else set()


def test_the_json_of_a_formula_holds_its_constants():
    programme = programme_of(flipping(method="formula"))
    plain = json.loads(code_text(programme, "json"))
    assert plain["table"] is None
    assert plain["formula"]["starts"] == list(programme.formula.starts)
    assert len(plain["formula"]["angles"]) == 2


def test_names_in_the_json_are_those_of_the_chassis():
    design = sample_design("marsh_scout_motors").edited(name='左 "\\')
    assert json.loads(code_text(programme_of(design), "json"))["chassis"] == '左 "\\'


def trailing_even():
    """A chassis whose even rows stand past the first rows of the next segment."""
    return with_settings(trailing(40.0)(), spacing="even")


@pytest.mark.parametrize(
    "design",
    [
        sample("marsh_scout_motors"),
        sample("marsh_scout_motors", spacing="even"),
        flipping(spacing="even"),
        trailing_even(),
    ],
)
def test_straight_lines_between_the_rows_of_the_csv_keep_to_the_bound(design):
    programme = programme_of(design)
    head, *body = rows_of(code_text(programme, "csv"))
    assert head == ["turn_input", *(o.name for o in programme.chassis.outputs), "largest_drag_mm_per_m"]
    numbers = np.array(body, dtype=float)
    assert (np.diff(numbers[:, 0]) > 0).all()
    assert numbers[[0, -1], 0].tolist() == [-design.largest_turn, design.largest_turn]
    wanted = programme.chassis.values(programme.turn)
    for c, output in enumerate(programme.chassis.outputs):
        line = np.interp(programme.turn, numbers[:, 0], numbers[:, 1 + c])
        assert np.abs(line - wanted[:, c]).max() <= output.allowed


@pytest.mark.parametrize("key", [s.key for s in SAMPLES])
def test_every_sample_can_be_written_as_evenly_spaced_rows(key):
    programme = programme_of(sample(key, spacing="even"))
    assert len(rows_of(code_text(programme, "csv"))) == 1 + len(programme.table.nodes)


def test_a_formula_has_no_rows_for_the_csv():
    with pytest.raises(ExportError, match="no rows"):
        code_text(programme_of(flipping(method="formula")), "csv")


@pytest.mark.parametrize("parts", [{}, {"mixing": False, "hold": False}, {"method": "formula"}])
def test_the_vectors_are_what_the_module_answers(parts):
    programme = programme_of(flipping(**parts))
    head, *body = rows_of(vectors(programme, 400))
    assert len(body) == 400
    assert head[:4] == ["call", "a", "b", "ms"]
    assert {row[0] for row in body} == ({"drive"} if parts.get("mixing") is False else {"drive", "stick"})
    controller = controller_of(programme)
    for name, *numbers in body:
        a, b, ms, *due = (int(number) for number in numbers)
        steer, speed = getattr(controller, name)(a, b, ms)
        assert [*steer, *speed, int(getattr(controller, "holding", False))] == due


def test_the_vectors_hold_both_waiting_and_going():
    body = rows_of(vectors(programme_of(flipping()), 300))[1:]
    assert {row[-1] for row in body} == {"0", "1"}


def test_the_seed_decides_the_vectors():
    programme = programme_of(flipping())
    assert vectors(programme, 50, 1) == vectors(programme, 50, 1) != vectors(programme, 50, 2)


@pytest.mark.parametrize("count", [0, 1_000_001])
def test_the_number_of_vectors_has_limits(count):
    with pytest.raises(ExportError, match=f"from 1 to 1000000 \\(got {count}\\)"):
        vectors(programme_of(flipping()), count)


def test_the_runtime_and_the_table_agree_on_every_step():
    programme = programme_of(sample("reed_cart_four"))
    robot = Runtime(programme)
    shift = programme.table.shift.tolist()
    for step in range(programme.first, programme.last + 1, 211):
        counts = lookup(programme.table, step)
        due = [round(abs(c) / 2**n + 1e-9) * (1 if c > 0 else -1) for c, n in zip(counts, shift, strict=True)]
        assert list(robot._values(step)) == due


@pytest.mark.parametrize("key", ["micropython", "c"])
def test_the_head_says_how_much_time_a_call_may_count(key):
    said = f"more than {MOST_MS} counts as {MOST_MS}"
    assert said in code_text(programme_of(flipping()), key)
    assert said not in code_text(programme_of(flipping(limiter=False, hold=False)), key)


def test_a_call_counts_no_more_time_than_the_files_say():
    programme = programme_of(flipping())
    once, twice = Runtime(programme), Runtime(programme)
    assert once.drive(0, 1000, MOST_MS) == twice.drive(0, 1000, 5 * MOST_MS)
    assert json.loads(code_text(programme, "json"))["most_ms"] == MOST_MS


def test_the_parts_are_named_as_in_the_window():
    assert "slow down evenly" in code_text(programme_of(flipping()), "c")
    assert "slow down evenly" not in code_text(programme_of(flipping(scaling=False)), "c")
