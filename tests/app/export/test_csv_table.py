import csv
import io
from pathlib import Path

import numpy as np
import pytest

from app.controller.steering_table import SteeringTable, request_rows, table_of
from app.design.samples import sample_design
from app.export.csv_table import render
from tests.written import TABLE_FORMATS, only_file

GOLDEN = Path(__file__).with_name("creek_tricycle_golden.csv")
SCOUT = sample_design("marsh_scout_six")


def rows_of(text):
    return list(csv.reader(io.StringIO(text, newline="")))


def test_the_tricycles_table_is_the_one_on_file():
    written = render(table_of(sample_design("creek_tricycle"), [-1.0, -0.5, 0.0, 0.3, 1.0]))
    # A checkout may have changed the line ends of the file.
    assert written.splitlines() == GOLDEN.read_text(encoding="utf-8").splitlines()


def test_lines_end_after_rfc_4180_and_have_equal_numbers_of_fields():
    text = render(table_of(SCOUT, request_rows(SCOUT, 21).turns))
    assert text.endswith("\r\n")
    assert text.count("\r\n") == text.count("\n") == 22
    assert len({len(row) for row in rows_of(text)}) == 1


def test_numbers_read_back_to_nine_digits_and_infinity_is_spelled_inf():
    table = table_of(SCOUT, request_rows(SCOUT, 101).turns)
    head, *body = rows_of(render(table))
    assert head == [*table.columns, "flags"]
    read = np.array([[float(cell) for cell in row[:-1]] for row in body])
    np.testing.assert_allclose(read, table.values, rtol=1e-8, atol=1e-6)
    assert body[50][head.index("turn_radius_mm")] == "inf"


def test_rounding_noise_and_the_sign_of_zero_do_not_show():
    table = SteeringTable(
        ("a_mm", "b"), np.array([[-0.0, -1e-12], [1e-9, 0.1 + 0.2]]), ("", "x:drags;y:flipped")
    )
    assert render(table) == "a_mm,b,flags\r\n0,0,\r\n0,0.3,x:drags;y:flipped\r\n"


@pytest.mark.parametrize("turn", [1e-300, -1e-306, 1e-17])
def test_next_to_straight_ahead_the_radius_is_written_and_not_infinite(turn):
    head, row = rows_of(render(table_of(SCOUT, [turn])))
    # Half the track by the turn input.
    assert float(row[head.index("turn_radius_mm")]) == pytest.approx(120.0 / turn, rel=1e-8)


@pytest.mark.parametrize(
    ("name", "value", "digits"),
    [
        ("left_speed", 1.2345678948, "1.23456789"),
        ("left_speed", -1.2345678948, "-1.23456789"),
        ("left_speed", 0.9999999996, "1"),
        ("left_speed", 0.12345678949, "0.123456789"),
        ("left_miss_mm", 1234.5678948, "1234.56789"),
        ("left_miss_mm", 999.99999949, "999.999999"),
        ("left_drag_mm_per_m", 0.0000014, "1e-06"),
    ],
)
def test_a_number_is_rounded_once(name, value, digits):
    assert render(SteeringTable((name,), np.array([[value]]), ("",))).splitlines()[1] == f"{digits},"


def test_no_cell_can_be_taken_for_a_formula():
    named = SCOUT.edited(wheels=(SCOUT.wheels[0].edited(name='=cmd("x"),1'), *SCOUT.wheels[1:]))
    for row in rows_of(render(table_of(named, [-0.7, 0.7]))):
        for cell in row:
            assert not cell.startswith(("=", "+", "@", "\t", "\r"))
            assert cell[:1] != "-" or np.isfinite(float(cell))


def test_the_same_design_gives_the_same_bytes():
    first = render(table_of(SCOUT, request_rows(SCOUT, 51).turns))
    again = render(table_of(SCOUT.edited(name="other"), request_rows(SCOUT, 51).turns))
    assert first == again


def test_every_format_has_a_name_a_suffix_and_a_writer_of_bytes():
    table = table_of(SCOUT, [0.0, 0.5])
    for form in TABLE_FORMATS:
        assert form.suffix.startswith(".")
        assert form.label
        assert only_file(form.write(table))
    assert len({form.key for form in TABLE_FORMATS}) == len(TABLE_FORMATS)
