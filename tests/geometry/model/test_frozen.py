from __future__ import annotations

import json
import re
from collections.abc import Callable
from enum import Enum
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import Field, ValidationError

from geometry.errors import DesignError, Problem
from geometry.model.design import Design
from geometry.model.frozen import Frozen, built, built_from_json, place_of, short
from geometry.model.wheel import Wheel

WHEEL: dict[str, Any] = {"name": "a", "x_mm": 1.0, "y_mm": 2.0}


def problems(values: Any) -> list[str]:
    with pytest.raises(DesignError) as caught:
        built(Design, values)
    return [str(problem) for problem in caught.value.problems]


def problems_in_json(text: str) -> list[str]:
    with pytest.raises(DesignError) as caught:
        built_from_json(Design, text)
    return [str(problem) for problem in caught.value.problems]


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ('{"wheels": null}', "wheels must be a list (got null)"),
        ('{"wheels": {"a": 1}}', "wheels must be a list (got an object)"),
        ('{"wheels": [3]}', "wheels[0] must be an object in braces (got 3)"),
        ("[]", "the design must be an object in braces (got a list of 0)"),
        ('{"body_mm": [[1, 2, 3]]}', "body_mm[0] must have at most 2 entries (got a list of 3)"),
        ('{"body_mm": [[1]]}', "body_mm[0][1] is missing"),
        ('{"body_mm": [["1", 2]]}', "body_mm[0][0] must be a number (got '1')"),
        ('{"hole_pitch_mm": true}', "hole_pitch_mm must be a number (got true)"),
        ('{"hole_pitch_mm": 1e999}', "hole_pitch_mm must be a finite number (got inf)"),
        ('{"hole_pitch_mm": NaN}', "hole_pitch_mm must be a finite number (got nan)"),
        ('{"hole_pitch_mm": 0}', "hole_pitch_mm must be at least 0.1 (got 0)"),
        ('{"largest_turn": 1.5}', "largest_turn must be at most 1 (got 1.5)"),
        ('{"name": ""}', "name must not be empty"),
        ('{"name": " a"}', "name must not hold control characters or outer spaces (got ' a')"),
        ('{"notes": 5}', "notes must be text (got 5)"),
        ('{"notez": ""}', "notez is not a known key; did you mean notes?"),
        ('{"qqqqqq": ""}', "qqqqqq is not a known key"),
    ],
)
def test_bad_json_is_told_by_place_rule_and_value(text: str, told: str) -> None:
    assert problems_in_json(text) == [told]


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"kind": "steerd"}, "wheels[0].kind must be one of 'fixed', 'steered' or 'caster' (got 'steerd')"),
        ({"driven": 1}, "wheels[0].driven must be true or false (got 1)"),
        ({"trial_mm": 1.0}, "wheels[0].trial_mm is not a known key; did you mean trail_mm?"),
        ({"x_mm": 10**5000}, "wheels[0].x_mm must be a number (got a huge number)"),
        ({"x_mm": True}, "wheels[0].x_mm must be a number (got true)"),
        ({"x_mm": "1"}, "wheels[0].x_mm must be a number (got '1')"),
        ({"diameter_mm": -12.0}, "wheels[0].diameter_mm must be at least 5 (got -12.0)"),
        ({"name": "x" * 41}, f"wheels[0].name must have at most 40 characters (got '{'x' * 36}...)"),
        ({"name": "\ud800"}, "wheels[0].name must not hold half of a surrogate pair, which is no text"),
        ({7: 1}, "wheels[0][7] must have a name in quotes as its key (got 7)"),
        (
            {"travel_min_deg": 0.0, "travel_max_deg": 0.0},
            "wheels[0].travel_max_deg must be above travel_min_deg, which is 0 (got 0)",
        ),
    ],
)
def test_a_bad_wheel_is_told_by_place_rule_and_value(change: dict[Any, Any], told: str) -> None:
    assert problems({"wheels": ({**WHEEL, **change},)}) == [told]


def test_every_broken_rule_is_told_at_once() -> None:
    found = problems({"wheels": ({"name": "a", "x_mm": 1.0}, 3), "largest_turn": 0.0})
    assert found == [
        "wheels[0].y_mm is missing",
        "wheels[1] must be an object in braces (got 3)",
        "largest_turn must be at least 0.01 (got 0.0)",
    ]


class Way(Enum):
    LEFT = "left"
    RIGHT = "right"


class Odd(Frozen):
    """Rules that no part of a design has yet, and whose words stand ready."""

    above: float = Field(1.0, gt=0.25)
    below: float = Field(1.0, lt=1234567.0)
    whole: int = 1
    few: tuple[float, ...] = Field((1.0, 2.0), min_length=2)
    many: list[float] = Field(default_factory=list)
    by_number: dict[int, float] = Field(default_factory=dict)
    by_length: dict[float, float] = Field(default_factory=dict)
    by_answer: dict[bool, float] = Field(default_factory=dict)
    way: Way = Way.LEFT


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ('{"above": 0.25}', "above must be above 0.25 (got 0.25)"),
        ('{"below": 2e9}', "below must be below 1.23457e+06 (got 2000000000.0)"),
        ('{"whole": 1.5}', "whole must be a whole number (got 1.5)"),
        ('{"few": [1]}', "few must have at least 2 entries (got a list of 1)"),
        ('{"many": 3}', "many must be a list (got 3)"),
        ('{"by_number": 3}', "by_number must be an object in braces (got 3)"),
        ('{"by_number": {"a": 1}}', "by_number.a.[key] must be a whole number (got 'a')"),
        ('{"by_length": {"a": 1}}', "by_length.a.[key] must be a number (got 'a')"),
        ('{"by_answer": {"a": 1}}', "by_answer.a.[key] must be true or false (got 'a')"),
        ('{"way": "up"}', "way must be one of 'left' or 'right' (got 'up')"),
    ],
)
def test_rules_of_every_kind_have_words_of_their_own(text: str, told: str) -> None:
    with pytest.raises(DesignError) as caught:
        built_from_json(Odd, text)
    assert [str(problem) for problem in caught.value.problems] == [told]


@pytest.mark.parametrize("text", ["", "{", "[" * 5000, '{"name": "\\ud800"}', '{"x": 1' + "0" * 5000 + "}"])
def test_text_that_is_no_json_is_told_as_such(text: str) -> None:
    (told,) = problems_in_json(text)
    assert re.fullmatch(r"the file is not valid JSON: .+ at line 1 column \d+", told)


junk = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=50),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=12), inner, max_size=3),
    max_leaves=8,
)
keys = st.sampled_from([*Design.model_fields, *Wheel.model_fields, "wheels", "body_mm"])


def _problems_or_none(build: Callable[[], Design]) -> tuple[Problem, ...] | None:
    try:
        build()
    except DesignError as error:
        return error.problems
    return None


@given(st.dictionaries(keys, junk | st.lists(st.dictionaries(keys, junk, max_size=6), max_size=3)))
def test_junk_gives_a_design_or_plain_words(values: dict[str, Any]) -> None:
    for build in (
        lambda: built(Design, values),
        lambda: built_from_json(Design, json.dumps(values)),
    ):
        found = _problems_or_none(build)
        assert found is None or found
        for problem in found or ():
            assert len(str(problem)) < 300
            assert re.match(r"(must|is) ", problem.rule)
            assert "is not allowed (" not in problem.rule  # a kind of error without words of its own


def test_an_edit_is_validated_and_leaves_the_first_untouched() -> None:
    wheel = Wheel(name="a", x_mm=1.0, y_mm=2.0)
    assert wheel.edited(x_mm=5.0) == Wheel(name="a", x_mm=5.0, y_mm=2.0)
    with pytest.raises(DesignError, match=r"diameter_mm must be at least 5 \(got 1\)"):
        wheel.edited(diameter_mm=1)
    with pytest.raises(DesignError, match="colour is not a known key"):
        wheel.edited(colour="red")
    assert wheel.x_mm == 1.0


def test_a_model_cannot_be_changed_in_place() -> None:
    wheel = Wheel(name="a", x_mm=1.0, y_mm=2.0)
    with pytest.raises(ValidationError):
        wheel.x_mm = 3.0


def test_places_and_values_are_short_and_plain() -> None:
    assert place_of(("body_mm", 3, 0)) == "body_mm[3][0]"
    assert place_of(()) == ""
    assert short("x" * 38) == repr("x" * 38)
    assert short("x" * 39) == "'" + "x" * 36 + "..."
    assert [short(v) for v in (None, True, {}, (1, 2), "a", 1.5)] == [
        "null",
        "true",
        "an object",
        "a list of 2",
        "'a'",
        "1.5",
    ]
