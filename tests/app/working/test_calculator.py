"""Sums as they are told and worked, and how many digits a line takes."""

from __future__ import annotations

import math

import pytest

from app.working.calculator import (
    Expression,
    Figure,
    Step,
    arcsine,
    arctangent,
    cosine,
    number,
    root,
    settled,
    sine,
)

A, B, MINUS = Figure(2.0), Figure(3.0), Figure(-4.0)


@pytest.mark.parametrize(
    ("sums", "text", "value"),
    [
        (A + B * MINUS, "2 + 3 * (-4)", -10.0),
        ((A + B) * MINUS, "(2 + 3) * (-4)", -20.0),
        (MINUS * A - MINUS, "-4 * 2 - (-4)", -4.0),
        (A - (B - MINUS), "2 - (3 - (-4))", -5.0),
        (A - B - MINUS, "2 - 3 - (-4)", 3.0),
        (A / (B * MINUS), "2 / (3 * (-4))", -1.0 / 6.0),
        (A * B / MINUS, "2 * 3 / (-4)", -1.5),
        (B * (MINUS + A), "3 * (-4 + 2)", -6.0),
        (root(MINUS.squared() + B.squared()), "sqrt((-4)^2 + 3^2)", 5.0),
        ((A + B).squared(), "(2 + 3)^2", 25.0),
        (arctangent(MINUS, Figure(4.0)), "atan2(-4, 4)", -45.0),
        (B * cosine(Figure(60.0)) + sine(Figure(-90.0)), "3 * cos(60) + sin(-90)", 0.5),
        (arcsine(A / Figure(4.0)), "asin(2 / 4)", 30.0),
    ],
)
def test_a_sum_is_told_with_just_the_brackets_that_it_needs(
    sums: Expression, text: str, value: float
) -> None:
    assert sums.told(6)[0] == text
    assert sums.worked(6) == pytest.approx(value, abs=1e-12)


def test_a_sum_is_worked_with_the_digits_that_it_is_told_with() -> None:
    third = Figure(1 / 3) * Figure(3.0)
    assert (third.told(6)[0], third.worked(6)) == ("0.333333 * 3", 0.999999)
    assert (third.told(9)[0], third.worked(9)) == ("0.333333333 * 3", 0.999999999)


def test_a_line_takes_more_digits_only_where_its_result_needs_them() -> None:
    (plain,) = settled([Step("", "", Figure(1 / 3) * Figure(1.5), 0.5)])
    assert (plain.sum, plain.shown) == ("0.3333333 * 1.5", "0.5")
    (near,) = settled([Step("", "", Figure(1 / 3) - Figure(0.3333), 1 / 3 - 0.3333)])
    assert (near.sum, near.shown) == ("0.3333333333 - 0.3333", "3.33333e-05")


def test_a_result_is_shown_with_the_digits_that_a_later_line_takes() -> None:
    third = Step("", "", Figure(1.0) / Figure(3.0), 1 / 3)
    first, second = settled([third, Step("", "", Figure(1 / 3) - Figure(0.3333), 1 / 3 - 0.3333)])
    assert first.shown == "0.3333333333"
    assert second.sum.startswith(first.shown)
    alone, _ = settled([third, Step("", "", Figure(0.25) * Figure(2.0), 0.5)])
    assert alone.shown == "0.333333"


def test_where_a_calculator_has_too_few_digits_the_result_has_fewer() -> None:
    a, b = 1 / 3, 1 / 3 - 1.23456789e-9
    (step,) = settled([Step("", "", Figure(a) - Figure(b), a - b)])
    assert step.taken <= 12
    assert 1 <= step.digits < 6
    assert step.sums is not None
    assert number(step.sums.worked(step.taken), step.digits) == step.shown


def test_what_rounding_leaves_of_nothing_is_shown_as_nothing() -> None:
    (step,) = settled([Step("", "side", Figure(0.1) + Figure(0.2) - Figure(0.3), 0.1 + 0.2 - 0.3)])
    assert str(step) == "\n    side = 0.1 + 0.2 - 0.3 = 0"


def test_an_arcsine_forgives_rounding_and_nothing_more() -> None:
    assert arcsine(Figure(1.0 + 1e-12)).worked(15) == 90.0
    with pytest.raises(ValueError, match="domain"):
        arcsine(Figure(1.001)).worked(6)


def test_a_given_or_infinite_value_needs_no_sum() -> None:
    given, endless = settled([Step("", "v_L", None, 0.26), Step("", "R", None, math.inf, "mm")])
    assert (str(given), str(endless)) == ("\n    v_L = 0.26", "\n    R = infinite")


def test_a_square_beyond_all_numbers_leaves_the_result_as_it_is() -> None:
    sums = root(Figure(1e200).squared())
    step = Step("Way", "g", sums, 1e200).settled(6)
    assert step.shown == "1e+200"
