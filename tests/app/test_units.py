import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.units import (
    UnitError,
    degrees,
    parse_angle,
    parse_gearing,
    parse_length,
    parse_number,
    radians,
    show_angle,
    show_gearing,
    show_length,
    show_number,
    show_speed,
)


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("12.5", 12.5),
        ("12,5", 12.5),
        (" 12 ", 12.0),
        ("-3", -3.0),
        ("\u22123,25", -3.25),
        ("+4", 4.0),
        ("1e3", 1000.0),
        ("1,5E-2", 0.015),
        (".5", 0.5),
        (",5", 0.5),
        ("5.", 5.0),
        ("0,125", 0.125),
        ("1234,5", 1234.5),
        ("\u00a07", 7.0),
    ],
)
def test_decimal_comma_and_point_are_both_understood(text, value):
    assert parse_number(text) == value


@pytest.mark.parametrize(
    "text", ["1,234.5", "1.234,5", "1,234,567", "1.234.567", "1 234", "1 234,5", "1'234.5"]
)
def test_marks_between_thousands_are_refused_by_name(text):
    with pytest.raises(UnitError, match="marks between thousands"):
        parse_number(text)


def test_one_comma_before_three_digits_is_refused_with_both_readings():
    with pytest.raises(UnitError, match=r"can be read as 1234 or as 1\.234"):
        parse_number("1,234")


@pytest.mark.parametrize(
    "text",
    [
        "",
        "  ",
        "x",
        "1.2.x",
        "--3",
        "nan",
        "inf",
        "-Infinity",
        "0x10",
        "1_000",
        "٣",
        "½",
        "1e",
        "1e400",
        "9" * 400,
    ],
)
def test_what_is_no_number_is_refused(text):
    with pytest.raises(UnitError):
        parse_number(text)


@given(st.text(max_size=80))
def test_any_text_gives_a_finite_number_or_a_short_sentence(text):
    for parse in (parse_number, parse_angle, lambda t: parse_length(t, "mm")):
        assert outcome(parse, text)


def outcome(parse, text):
    try:
        return math.isfinite(parse(text))
    except UnitError as error:
        return 0 < len(str(error)) < 200


@pytest.mark.parametrize(
    ("text", "unit", "mm"),
    [
        ("10", "mm", 10.0),
        ("10", "inch", 254.0),
        ("10mm", "inch", 10.0),
        ("1.5 cm", "mm", 15.0),
        ("0,2 m", "mm", 200.0),
        ("2 in", "mm", 50.8),
        ('2"', "mm", 50.8),
        ("2 Inch", "mm", 50.8),
        ("1e2 mm", "mm", 100.0),
    ],
)
def test_a_suffix_wins_over_the_chosen_unit(text, unit, mm):
    assert parse_length(text, unit) == pytest.approx(mm, rel=1e-15)


@pytest.mark.parametrize("text", ["3 ft", "3 kg", "3°", "mm", "1e308 m"])
def test_a_length_in_no_known_unit_is_refused(text):
    with pytest.raises(UnitError):
        parse_length(text, "mm")


def test_angles_take_a_degree_sign_or_nothing():
    assert [parse_angle(text) for text in ("90", "90°", "90 deg", "\u221245,5 °")] == [90, 90, 90, -45.5]
    with pytest.raises(UnitError, match="not an angle"):
        parse_angle("1 rad")


def test_numbers_are_trimmed_and_zero_has_no_sign():
    assert [show_number(v, 2) for v in (1.0, 1.5, 100.0, -0.001, 0.0, -2.50)] == [
        "1",
        "1.5",
        "100",
        "0",
        "0",
        "-2.5",
    ]
    assert [show_number(v, 0) for v in (100.0, -0.4, 10.0)] == ["100", "0", "10"]


def test_infinite_values_are_shown_as_a_sign():
    assert [show_length(v, "mm") for v in (math.inf, -math.inf)] == ["∞", "-∞"]
    assert show_number(math.nan, 2) == "–"


def test_lengths_follow_the_unit():
    assert show_length(12.5, "mm") == "12.5 mm"
    assert show_length(12.5, "inch") == "0.492 in"
    assert show_length(12.5, "inch", suffix=False, digits=1) == "0.5"


def test_angles_keep_their_decimals_and_lose_the_sign_of_zero():
    assert show_angle(math.radians(-28.81)) == "-28.8°"
    assert show_angle(math.radians(-0.04)) == "0.0°"
    assert show_angle(math.radians(90), digits=0) == "90°"


@given(st.floats(-1e4, 1e4))
def test_what_is_shown_can_be_typed_back(value):
    assert parse_length(show_length(value, "mm", digits=9), "inch") == pytest.approx(value, abs=1e-9)
    assert parse_length(show_length(value, "inch", digits=9), "mm") == pytest.approx(value, abs=3e-8)
    assert parse_angle(show_angle(value, digits=9)) == pytest.approx(math.degrees(value), abs=1e-8)


def test_degrees_and_radians_are_each_others_inverse():
    assert degrees(math.pi) == 180.0
    assert radians(180.0) == pytest.approx(math.pi, rel=1e-15)


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("-0.5", -0.5),
        ("0,25", 0.25),
        ("\u22122", -2.0),
        ("1e-3", 0.001),
        ("1:3", 1 / 3),
        (" -1 : 4 ", -0.25),
        ("12-36", ((12, 36),)),
        ("12 \u2013 20 - 36; 10-40", ((12, 20, 36), (10, 40))),
        ("20-80R", ((20, -80),)),
        ("30r-15", ((-30, 15),)),
    ],
)
def test_gearing_is_read_as_a_ratio_or_as_teeth(text, value):
    assert parse_gearing(text) == value


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "gearing is missing"),
        ("abc", "not a number"),
        ("1:0", "divides by nothing"),
        ("1:", "a number is missing"),
        ("1:2:3", "not a number"),
        ("12-", "no chain of gears"),
        ("-12-36", "no chain of gears"),
        ("12-36,", "no chain of gears"),
        ("12-x", "no chain of gears"),
        ("12.5-36", "no chain of gears"),
        ("12-36, 1/2", "no chain of gears"),
        ("12-" * 200 + "9", "too long"),
        ("12-" + "9" * 300, "no chain of gears"),
    ],
)
def test_a_gearing_that_cannot_be_read_says_what_to_type(text, words):
    with pytest.raises(UnitError, match=words):
        parse_gearing(text)


teeth = st.integers(1, 1000) | st.integers(-1000, -1)


@given(st.lists(st.lists(teeth, min_size=2, max_size=5).map(tuple), min_size=1, max_size=4).map(tuple))
def test_a_train_that_is_shown_can_be_typed_back(train):
    assert parse_gearing(show_gearing(None, train)) == train


@given(st.floats(-1000, 1000))
def test_a_ratio_that_is_shown_can_be_typed_back(ratio):
    assert parse_gearing(show_gearing(ratio)) == pytest.approx(ratio, abs=5.1e-7)


def test_speeds_follow_the_unit():
    assert show_speed(1234.5, "mm") == "1.234 m/s"
    assert show_speed(254.0, "inch") == "10.0 in/s"
    assert show_speed(math.inf, "inch") == "∞"
