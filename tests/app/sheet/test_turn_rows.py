"""Rows between which straight lines hold: their error, and both sides of every jump."""

import numpy as np
import pytest
from hypothesis import given, settings

from app.design.facts import Facts
from app.sheet.turn_rows import MOST_ROWS, turn_rows
from geometry.model.design import Design
from geometry.model.wheel import Wheel
from geometry.turn_range.range_check import at_turns
from geometry.turn_range.sweep import JUMPS
from tests import strategies
from tests.app.sheet_designs import DESIGNS

WITH_WHEELS = [key for key in DESIGNS if key != "empty"]


def off(facts, rows, turns):
    """How far the straight lines are off the robot's own headings [degrees]."""
    true = np.degrees(at_turns(facts.robot, turns).response.solution.heading)
    return np.abs(np.stack([rows.at(rows.heading, turn) for turn in turns]) - true)


@pytest.mark.parametrize("key", WITH_WHEELS)
def test_straight_lines_are_off_by_no_more_than_they_say_at_turns_that_chose_no_row(key):
    facts = Facts(DESIGNS[key]())
    rows = turn_rows(facts)
    reach = facts.design.largest_turn
    turns = reach * np.sin(np.linspace(-1.5, 1.5, 997))
    assert off(facts, rows, turns).max() <= 1.5 * rows.error.heading_deg + 1e-9
    assert rows.error.heading_deg <= 0.03


@pytest.mark.parametrize("key", ["flips", "mixed motors", "trailing", "crowd"])
def test_every_jump_has_a_row_on_either_side_and_no_line_across(key):
    facts = Facts(DESIGNS[key]())
    rows = turn_rows(facts)
    jumps = [mark for mark in facts.landmarks if mark.kind in JUMPS]
    assert jumps or key == "crowd"
    for mark in jumps:
        low = int(np.searchsorted(rows.turns, mark.turn)) - 1
        assert low in rows.breaks
        assert rows.turns[low + 1] - rows.turns[low] < 1e-8
        for beside in (-1e-6, -1e-8, 1e-8, 1e-6):
            assert off(facts, rows, [mark.turn + beside])[0, mark.wheel] < 0.03
        jumped = abs(rows.heading[low + 1, mark.wheel] - rows.heading[low, mark.wheel])
        assert jumped == pytest.approx(np.degrees(abs(mark.after - mark.before)), abs=0.01)


def test_a_caster_that_swings_round_is_a_break_though_no_landmark_says_so():
    wheels = [("left", 0.0, 80.0, "fixed", 0.0), ("right", 0.0, -80.0, "fixed", 0.0)]
    wheels += [("tail", -3.0, 40.0, "caster", 20.0)]
    design = Design(
        wheels=tuple(Wheel(name=n, x_mm=x, y_mm=y, kind=k, trail_mm=t) for n, x, y, k, t in wheels)
    )
    facts = Facts(design)
    rows = turn_rows(facts)
    assert not [mark for mark in facts.landmarks if mark.kind in JUMPS]
    assert rows.breaks
    turns = [t for t in np.linspace(-1, 1, 1003) if np.abs(rows.turns - t).min() > 1e-7]
    assert off(facts, rows, turns).max() <= 1.5 * rows.error.heading_deg + 1e-9


@settings(max_examples=25, deadline=None)
@given(strategies.designs(min_wheels=1, max_wheels=5))
def test_any_design_gets_rows_that_rise_and_end_where_the_range_does(design):
    facts = Facts(design)
    rows = turn_rows(facts, (0.0,))
    assert (np.diff(rows.turns) > 0).all()
    assert (rows.turns[0], rows.turns[-1]) == (-design.largest_turn, design.largest_turn)
    assert len(rows.turns) <= MOST_ROWS
    assert 0.0 in rows.turns
    # Pieces hold every row once.
    assert [k for piece in rows.pieces() for k in range(piece.start, piece.stop)] == list(
        range(len(rows.turns))
    )
    dense = facts.check.dense.turns
    away = dense[[not set(np.flatnonzero(np.diff(rows.turns > t))) & set(rows.breaks) for t in dense]]
    assert off(facts, rows, away).max(initial=0.0) <= rows.error.heading_deg + 1e-9
