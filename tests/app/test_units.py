import math
from fractions import Fraction

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from app.units import (
    UnitError,
    degrees,
    parse_angle,
    parse_gearing,
    parse_length,
    parse_number,
    parse_proportion,
    parse_sum,
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
    for parse in (parse_number, parse_sum, parse_angle, lambda t: parse_length(t, "mm")):
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


@pytest.mark.parametrize(
    ("text", "unit", "mm"),
    [
        ("132+10", "mm", 142.0),
        ("5 1/4 in", "mm", 133.35),
        ("-5 1/4 in", "mm", -133.35),
        ("5 1/4", "inch", 133.35),
        ('1/2"', "mm", 12.7),
        ("264/2", "mm", 132.0),
        ("264 mm / 2", "inch", 132.0),
        ("12 mm + 1/4 in", "inch", 18.35),
        ("-3 + 1,5", "mm", -1.5),
        ("5 + 1/4 in", "mm", 133.35),
        ("1 + 2 cm + 3 in", "mm", 106.2),
        ("12 mm + 5", "mm", 17.0),
        ("10 \u2212 1/4", "mm", 9.75),
        ("1e+3", "mm", 1000.0),
        ("1e+3+1e-1", "mm", 1000.1),
        ("264-10/2", "mm", 259.0),
        ("0.1+0.2", "mm", 0.3),
        ("1e-999999 + 2", "mm", 2.0),
    ],
)
def test_sums_and_fractions_of_lengths_are_understood(text, unit, mm):
    assert parse_length(text, unit) == mm


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("5-1/4 in", r"can be read as 5 1/4 or as 5 - 1/4"),
        ("1/2/3", "divides twice"),
        ("1 234/500", r"as 1 \+ 234/500 or as 1234/500"),
        ("1 9/4", r"as 1 \+ 9/4 or as 19/4"),
        ("1 in + 5", "unit of its last number, in or mm"),
        ("1,234 + 5", r"can be read as 1234 or as 1\.234"),
        ("1/0", "divides by 0"),
        ("5 1/0", "divides by 0"),
        ("3 mm/2 mm", "divides by a unit"),
        ("5 +", "ends too soon"),
        ("5 / ", "ends too soon"),
        ("3--2", "two signs"),
        ("3 + -2", "two signs"),
        ("3 4 + 5", "two numbers"),
        ("1.5 1/4", "two numbers"),
        ("nan + 1", "not a length"),
        ("3 ft + 1", "not a length"),
        ("½ + 1", "not a number"),
        ("1e308 + 1e308", "too large"),
        ("1e400 + 1", "too large"),
        ("1+" * 70 + "1", "too long"),
        ("/2 + 1", "begins with /"),
    ],
)
def test_a_sum_that_cannot_be_read_in_one_way_says_what_to_type(text, words):
    with pytest.raises(UnitError, match=words) as refused:
        parse_length(text, "mm")
    assert str(refused.value).startswith("'")


def test_sums_of_angles_and_numbers_are_understood():
    assert parse_angle("45 - 1/2°") == 44.5
    assert parse_angle("90 deg/4") == 22.5
    assert parse_sum("1/8 + 2,5") == 2.625
    with pytest.raises(UnitError, match="not an angle"):
        parse_angle("45 mm + 1")
    with pytest.raises(UnitError, match="sum such as"):
        parse_sum("45 mm + 1")


@pytest.mark.parametrize("text", ["132+10", "1/2", "5 1/4", "3-1"])
def test_the_strict_number_and_the_gearing_take_no_sums(text):
    with pytest.raises(UnitError):
        parse_number(text)
    if text != "3-1":  # two gears that mesh
        with pytest.raises(UnitError):
            parse_gearing(text)


decimals = st.decimals(0, 10_000, places=3, allow_nan=False).map(lambda d: format(d, "f"))
wholes = st.integers(0, 999).map(str)
IN_MM = {"mm": Fraction(1), "cm": Fraction(10), "m": Fraction(1000), "in": Fraction(254, 10)}


@st.composite
def terms(draw):
    """A term as it is typed, and its exact value."""
    kind = draw(st.sampled_from(["decimal", "fraction", "mixed"]))
    if kind == "decimal":
        text = draw(decimals)
        return text, Fraction(text)
    below = draw(st.integers(2, 99))
    above = draw(st.integers(1, below - 1))
    if kind == "fraction":
        return f"{above}/{below}", Fraction(above, below)
    whole = draw(st.integers(0, 5000))
    return f"{whole} {above}/{below}", whole + Fraction(above, below)


@given(st.lists(st.tuples(st.sampled_from("+-"), terms()), min_size=1, max_size=6), st.booleans())
def test_a_sum_is_the_exact_sum_rounded_once(signed, minus):
    text = "-" if minus else ""
    exact = Fraction(0)
    for n, (sign, (term, value)) in enumerate(signed):
        if n:
            text += f" {sign} "
        exact += -value if (sign == "-" if n else minus) else value
        text += term
    assert parse_sum(text) == float(exact)
    assert parse_angle(f"{text}°") == float(exact)
    assert parse_length(f"{text} in", "mm") == pytest.approx(float(exact * IN_MM["in"]), rel=1e-15)


@given(
    st.lists(st.tuples(terms(), st.sampled_from(["", *IN_MM])), min_size=2, max_size=5),
    st.sampled_from(list(IN_MM)),
)
def test_a_unit_counts_for_the_terms_before_it_that_have_none(typed, last):
    typed = [*typed[:-1], (typed[-1][0], last)]
    text = " + ".join(f"{term} {unit}".strip() for (term, _), unit in typed)
    exact, unit = Fraction(0), last
    for (_, value), own in reversed(typed):
        unit = own or unit
        exact += value * IN_MM[unit]
    assert parse_length(text, "inch") == float(exact)


PLAIN_NUMBERS = st.from_regex(
    r"[+-]?([0-9]{1,9}([.,][0-9]{0,6})?|[.,][0-9]{1,6})([eE][+-]?[0-9]{1,3})?", fullmatch=True
)


@given(PLAIN_NUMBERS, st.sampled_from(["", "mm", " in", "cm", '"']))
def test_a_plain_number_is_read_to_the_last_bit_as_python_reads_it(text, unit):
    try:
        value = parse_number(text)
    except UnitError:
        with pytest.raises(UnitError):
            parse_sum(text)
        return
    assert value == float(text.replace(",", "."))
    assert parse_sum(text) == value
    assert parse_angle(text) == value
    factor = {"": 1.0, "mm": 1.0, " in": 25.4, "cm": 10.0, '"': 25.4}[unit]
    if math.isfinite(value * factor):
        assert parse_length(text + unit, "mm") == value * factor


@given(st.text('0123456789.,+-/ einm"°', max_size=30))
def test_anything_like_a_sum_gives_a_finite_number_or_a_short_sentence(text):
    for parse in (parse_sum, parse_angle, lambda t: parse_length(t, "mm")):
        assert outcome(parse, text)


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


part = st.floats(-1e6, 1e6).filter(bool)


@given(part, part)
def test_two_numbers_that_are_shown_can_be_typed_back_to_the_last_bit(wheel, motor):
    assume(math.isfinite(wheel / motor))
    assert parse_proportion(show_gearing(None, (), (wheel, motor))) == (wheel, motor)


@pytest.mark.parametrize(
    ("text", "shown"),
    [("12:36", "12:36"), (" -12 : 36", "-12:36"), ("12,5:36", "12.5:36"), ("1e2:3", "100:3")],
)
def test_two_numbers_are_shown_as_they_were_typed(text, shown):
    assert show_gearing(None, (), parse_proportion(text)) == shown


@pytest.mark.parametrize("text", ["0.5", "12-36", "12-20-36, 10-40"])
def test_what_has_no_colon_is_not_two_numbers(text):
    assert parse_proportion(text) is None


def test_speeds_follow_the_unit():
    assert show_speed(1234.5, "mm") == "1.234 m/s"
    assert show_speed(254.0, "inch") == "10.0 in/s"
    assert show_speed(math.inf, "inch") == "∞"
