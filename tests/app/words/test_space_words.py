"""The words of the room to turn: names, readings, and the least and most over a range."""

from __future__ import annotations

import numpy as np
import pytest

from app.words.space_words import MEASURES, reading, span_of, text_of
from geometry.kinematics.robot import robot_of
from geometry.model.design import Design
from geometry.turning_space.measures import measures_of
from tests.app.odd_chassis import BARE


def test_names_and_keys_are_unique_and_keys_end_in_their_unit():
    assert len({measure.name for measure in MEASURES}) == len(MEASURES)
    assert len({measure.key for measure in MEASURES}) == len(MEASURES)
    assert all(measure.key.endswith("_mm") for measure in MEASURES)
    assert all(measure.tip and not measure.tip.endswith(".") for measure in MEASURES)


@pytest.mark.parametrize("measure", MEASURES, ids=lambda measure: measure.key)
def test_straight_ahead_every_measure_reads_straight(measure):
    found = measures_of(robot_of(BARE), BARE, [0.0])
    assert reading(measure, found, 0, "mm") == "straight"


@pytest.mark.parametrize("measure", MEASURES, ids=lambda measure: measure.key)
def test_where_nothing_is_every_measure_says_so(measure):
    found = measures_of(robot_of(Design()), Design(), [0.5])
    assert reading(measure, found, 0, "mm") == "nothing there"


def test_least_and_most_leave_infinite_values_out_and_prefer_gentle_turns():
    turns = np.array([-1.0, -0.5, 0.0, 0.5, 1.0])
    span = span_of(np.array([3.0, 9.0, np.inf, 9.0, 3.0]), turns)
    assert span is not None
    assert (span.least, span.least_at, span.most, span.most_at) == (3.0, 1.0, 9.0, 0.5)
    assert span_of(np.full(5, np.inf), turns) is None


def test_many_turns_stand_in_several_tables():
    robot = robot_of(BARE)
    found = measures_of(robot, BARE, np.linspace(0.1, 1.0, 10))
    text = text_of(BARE, found, found, "mm", [])
    assert text.count("At these turns [mm]:") == 2
    assert max(len(line) for line in text.splitlines()) < 160
