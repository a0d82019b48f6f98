"""Names of wheels stay apart from their ratios, whatever the wheels are called."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.words.motor_words import held_parts, held_words, ratio_words
from geometry.model.motors import Gearing


def of(wheel, **gearing):
    return Gearing(wheel=wheel, **(gearing or {"ratio": 1.0}))


@pytest.mark.parametrize(
    ("gearing", "words"),
    [
        ({"ratio": -0.5}, "\u22120.5"),
        ({"ratio": 2.0}, "2"),
        ({"proportion": (12.0, 36.0)}, "12:36"),
        ({"proportion": (-12.0, 36.0)}, "\u221212:36"),
        ({"train": ((12, 36),)}, "12-36"),
        ({"train": ((20, -80),)}, "20-80r"),
    ],
)
def test_a_ratio_is_written_as_typed_with_a_true_minus(gearing, words):
    assert ratio_words(of("left", **gearing)) == words


@pytest.mark.parametrize(
    ("name", "shown"),
    [
        ("front left", "front left"),
        ("wheel 1", "wheel 1"),
        ("wheel 1 x 1", "“wheel 1 x 1”"),
        ("box X2", "“box X2”"),
        ("a × b", "“a × b”"),
        ("left, front", "“left, front”"),
        ("axle 1:3", "“axle 1:3”"),
        ("voorwiel", "voorwiel"),
    ],
)
def test_a_name_that_could_be_read_on_into_a_ratio_stands_in_quotes(name, shown):
    assert held_parts(of(name)) == (shown, "× 1")


def test_wheels_are_listed_with_commas_and_a_train_of_two_chains_in_brackets():
    listed = held_words([of("left", train=((12, 20), (10, 40))), of("right", proportion=(1.0, 3.0))])
    assert listed == "left × (12-20, 10-40), right × 1:3"


@given(st.text(st.sampled_from("a1 x×,:;“”-"), min_size=1, max_size=9))
def test_outside_quotes_the_sign_stands_only_between_a_name_and_its_ratio(name):
    text = " ".join(held_parts(Gearing.model_construct(wheel=name, ratio=0.5, train=(), proportion=None)))
    if not text.startswith("“"):
        assert text.count("×") == 1
        assert re.search(r"[xX*:]\s*-?\s*[0-9]", text.removesuffix("× 0.5")) is None
        assert "," not in text
