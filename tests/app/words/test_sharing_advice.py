"""Advice in words: groups with their ratios, losses, and what avoids a flip."""

import math

import pytest

from app.design import edits
from app.design.samples import sample_design
from app.words.sharing_advice import (
    flip_advice,
    flips_in_short,
    flips_words,
    losses_words,
    radius_words,
    sharing_words,
)
from geometry.motor_sharing.advice import FlipFacts
from geometry.motor_sharing.grouping import Grouping
from geometry.turn_range.sweep import Landmark
from tests.windows import KEYS

SIX = sample_design(KEYS[0])
NAMES = [wheel.name for wheel in SIX.wheels]
SIDES = (((0, 1.0), (4, -1.0)), ((1, 1.0), (5, -1.0)))
FLIP = Landmark(0.427, "flip", 0, 1.0, -2.0)


def grouping(**changes):
    values = {
        "groups": SIDES,
        "worst": 12.34,
        "mean": 1.0,
        "worst_wheel": 4,
        "worst_turn": 0.4,
        "drag": (0.0, 0.0, 0.0, 0.0, 12.34, 0.01),
        "lost": (0.0, 0.0, 0.0, 0.0, 12.34, 0.01),
        "exact": False,
        "radius_error": 0.125,
        "off_course": False,
        "flips": (),
        "shaft": ((-0.5, 0.25), (-0.25, 0.5)),
    }
    return Grouping(**{**values, **changes})


def facts(**changes):
    flipping = grouping(flips=(FLIP,))
    values = {
        "without": None,
        "best": flipping,
        "travel": ((0, -0.5, 2.5), (1, -2.5, 0.5), (4, -2.5, 0.5), (5, -0.5, 2.5)),
        "travel_helps": True,
        "largest_turn": 0.427,
        "widest": flipping,
    }
    return FlipFacts(**{**values, **changes})


@pytest.mark.parametrize(
    ("groups", "words"),
    [
        (SIDES, "front left + rear left opposite; front right + rear right opposite"),
        ((((0, 1.0),), ((1, 1.0), (5, 1.0))), "front left alone; front right + rear right"),
        ((((0, 1.0), (4, -2 / 3)),), "front left + rear left at -2/3"),
        ((((0, 1.0), (4, 0.123456)),), "front left + rear left at 0.1235"),
        ((((0, 1.0), (4, 2.0)),), "front left + rear left at 2"),
    ],
)
def test_groups_are_told_with_their_ratios(groups, words):
    assert sharing_words(NAMES, groups) == words


def test_flips_are_told_in_short_and_in_full():
    marks = (Landmark(-0.5, "flip", 1), FLIP)
    assert flips_in_short(grouping(flips=marks)) == "2 from 0.427"
    assert flips_words(NAMES, marks) == "at -0.500 front right; at +0.427 front left"
    assert flips_in_short(grouping()) == flips_words(NAMES, ()) == "none"


def test_losses_name_the_wheels_that_lose():
    text = losses_words(NAMES, grouping())
    assert "rear left 12.3" in text
    assert "rear right" not in text
    assert "-28.6° to 14.3°; -14.3° to 28.6°" in text
    assert "flips" not in text
    assert "It flips at +0.427 front left." in losses_words(NAMES, grouping(flips=(FLIP,)))


def test_each_kind_of_jump_is_called_by_its_name():
    marks = (Landmark(-0.5, "changes end", 1), FLIP, Landmark(0.6, "jump", 4))
    lines = losses_words(NAMES, grouping(flips=marks)).splitlines()
    assert lines[-3:] == [
        "It flips at +0.427 front left.",
        "It goes from one end of travel to the other at -0.500 front right.",
        "It jumps at +0.600 rear left.",
    ]
    text = flip_advice(SIX, facts(best=grouping(flips=marks), without=grouping()))
    assert text.startswith("The best sharing jumps within this range.")


def test_an_exact_sharing_loses_nothing():
    assert losses_words(NAMES, grouping(exact=True)).startswith("No wheel loses anything")


def test_losses_too_small_to_show_are_not_called_none():
    assert "less than 0.1" in losses_words(NAMES, grouping(lost=(0.01,) * 6))


def test_the_radius_error_is_a_percentage():
    assert radius_words(grouping()) == "12.5"
    assert radius_words(grouping(radius_error=math.inf)) == "∞"


def test_a_best_sharing_without_a_flip_needs_no_remedy():
    text = flip_advice(SIX, facts(best=grouping(), without=grouping()))
    assert text == "With the best sharing no wheel flips or jumps within this range."


def test_where_every_sharing_flips_travel_range_and_stopping_are_offered():
    text = flip_advice(SIX, facts())
    first, *remedies = text.splitlines()
    assert first == "None of the ways listed avoids a flip or another jump within this range. What does:"
    # 135 degrees of travel either way are short of 143.2.
    outer, inner = (
        "-28.6° to 143.2° for front left, rear right",
        "-143.2° to 28.6° for front right, rear left",
    )
    assert remedies == [
        f"– more travel: {outer}; {inner}",
        "– a smaller range: turn inputs below 0.427",
        "– stop and turn: stand still at +0.427 front left, turn these wheels, drive on",
    ]


def test_a_sharing_that_gets_further_without_a_flip_is_named():
    other = grouping(groups=(((0, 1.0), (1, 1.0)), ((4, 1.0), (5, 1.0))), flips=(Landmark(0.6, "flip", 0),))
    text = flip_advice(SIX, facts(largest_turn=0.6, widest=other))
    assert "below 0.427, or 0.600 with front left + front right; rear left + rear right" in text


def test_travel_that_is_there_already_is_not_asked_for():
    text = flip_advice(SIX, facts(travel=((0, -0.5, 2.5), (1, -0.5, 0.5))))
    assert "for front left\n" in text
    assert "front right" not in text.splitlines()[1]
    ample = edits.change_wheels(SIX, [0], travel_max_deg=170.0)
    assert "more travel" not in flip_advice(ample, facts(travel=((0, -0.5, 2.5),)))


def test_travel_is_not_offered_where_it_does_not_help():
    assert "more travel" not in flip_advice(SIX, facts(travel_helps=False))


def test_the_best_without_a_flip_is_named_where_there_is_one():
    other = grouping(groups=(((0, 1.0), (1, 1.0)), ((4, 1.0), (5, 1.0))), worst=99.0)
    text = flip_advice(SIX, facts(without=other, largest_turn=1.0, widest=other))
    assert "The best sharing flips within this range. Without a flip or another jump the best is" in text
    assert "the best is front left + front right; rear left + rear right, with 99.0" in text
    assert "turn inputs below 0.427\n" in text


def test_a_sharing_that_does_not_turn_as_asked_says_so_first():
    kept = losses_words(NAMES, grouping())
    lost = losses_words(NAMES, grouping(off_course=True))
    first, *rest = lost.splitlines()
    assert first.startswith("Not for use: the chassis does not turn as it is asked to")
    assert "\n".join(rest) == kept
