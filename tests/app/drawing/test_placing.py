"""Texts that find room, and numbers that are spread."""

import math
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.drawing.dimensioning import Reading, Span, number, rows, running, spread
from app.drawing.elements import Drawing, Line, Text, parts_of
from app.drawing.lettering import text_width
from app.drawing.placing import (
    Board,
    Keys,
    Spot,
    notes_of_names,
    size_of,
    spots_within,
    wrapped,
    written_below,
)
from tests.app.drawing.laid import overlaps


@given(st.lists(st.floats(-500, 500), max_size=30))
def test_spread_places_keep_their_order_and_their_pitch(wanted):
    wanted = sorted(wanted)
    places = spread(wanted, 4.0)
    assert all(b - a >= 4.0 - 1e-9 for a, b in pairwise(places))
    if all(b - a >= 4.0 for a, b in pairwise(wanted)):
        assert places == pytest.approx(wanted)
    assert sum(places) == pytest.approx(sum(wanted), abs=1e-6)


@given(st.lists(st.tuples(st.floats(-300, 300), st.floats(-50, 50)), min_size=1, max_size=20))
@pytest.mark.parametrize("side", ["left", "right", "above", "below"])
def test_running_numbers_overlap_nowhere_and_each_ends_the_line_from_its_place(side, places):
    along = 0 if side in ("above", "below") else 1
    readings = [Reading(u, (u, v) if along == 0 else (v, u)) for u, v in places]
    made = running(readings, side, 60.0 if side in ("right", "above") else -60.0)
    assert overlaps(Drawing("", tuple(made))) == []
    assert [element.text for element in made[1::2]] == list(
        dict.fromkeys(number(u) for u, _ in sorted(places))
    )
    for line, text in zip(made[::2], made[1::2], strict=True):
        start = line.start if isinstance(line, Line) else line.corners[0]
        assert abs(start[along] - float(text.text)) <= 0.005 + 1e-9
        end = line.end if isinstance(line, Line) else line.corners[-1]
        assert math.dist(end[:2], text.place) < 2.0


@given(st.lists(st.integers(-3000, 3000), min_size=2, max_size=25, unique=True))
@pytest.mark.parametrize("side", ["left", "below"])
def test_spans_in_rows_overlap_nowhere_and_tell_their_own_length(side, places):
    axis = 0 if side == "below" else 1
    ends = [(p / 10, 0.0) if axis == 0 else (0.0, p / 10) for p in sorted(places)]
    chain = [Span(a, b) for a, b in pairwise(ends)]
    made = rows([chain, [Span(ends[0], ends[-1])]], side, -20.0)
    assert overlaps(Drawing("", tuple(made))) == []
    assert len(made) == len(chain) + 1
    for dimension in made:
        assert float(dimension.text) == pytest.approx(math.dist(dimension.start, dimension.end), abs=0.005)
        line = parts_of(dimension)[2 if len(parts_of(dimension)) > 5 else 0]
        assert min(line.start[1 - axis], line.end[1 - axis]) <= -20.0


def test_a_text_takes_the_first_place_that_crosses_nothing():
    board = Board([Line("outline", (-50, 0), (50, 0)), Text("text", (0, 10), "reeds", 3.0, "middle")])
    spots = [Spot((0, -1)), Spot((0, 10)), Spot((0, 20)), Spot((0, 30))]
    found = board.fit("text", "eels", spots)
    assert found is not None
    assert found.place == (0, 20)
    # What was placed stands there from now on.
    assert board.fit("text", "eels", [Spot((0, 20))]) is None


def test_a_text_that_has_no_place_without_many_lines_is_refused():
    board = Board([Line("outline", (-50, y), (50, y)) for y in (0, 0.5, 1)])
    assert board.fit("text", "eels", [Spot((0, 0))]) is None
    assert board.fit("text", "eels", [Spot((0, 0))], most=3) is not None


def test_a_hundred_texts_at_one_point_find_room_beside_each_other():
    board = Board()
    made = [element for k in range(100) for element in board.near("text", f"P{k}", (5.0, 5.0))]
    assert overlaps(Drawing("", tuple(made))) == []
    assert sum(isinstance(element, Text) for element in made) == 100
    assert any(isinstance(element, Line) for element in made)


def test_overlaps_are_found_where_there_are_some():
    one, other = Text("text", (0, 0), "sedge", 3.0), Text("text", (5, 1), "rush", 3.0)
    assert overlaps(Drawing("", (one, other))) == [("sedge", "rush")]
    assert overlaps(Drawing("", (one, Text("text", (0, 4), "rush", 3.0)))) == []


def test_a_name_inside_a_box_stays_inside_it():
    box = (0.0, 0.0, 40.0, 12.0)
    for spot in spots_within(box, "echo sounder"):
        text = Text("text", spot.place, "echo sounder", spot.height, spot.align, spot.turn)
        low_x, low_y, high_x, high_y = size_of([text])
        assert low_x >= 0
        assert low_y >= 0
        assert high_x <= 40
        assert high_y <= 12
    assert spots_within((0, 0, 5, 5), "echo sounder") == []


def test_long_sentences_are_wrapped_and_lists_stand_in_columns():
    lines = wrapped("one two three four five six", 20.0)
    assert " ".join(lines) == "one two three four five six"
    assert all(text_width(line, 3.0) <= 20.0 for line in lines)
    keys = Keys("P")
    assert [keys.key(name) for name in ("a" * 40, "b" * 40, "c" * 40)] == ["P1", "P2", "P3"]
    made = written_below((0, 0, 60, 40), "Title", ["A sentence " * 12], [("Parts", keys.names), ("None", [])])
    assert overlaps(Drawing("", tuple(made))) == []
    assert all(element.place[1] < 0 for element in made if isinstance(element, Text))
    assert [e.text for e in made if isinstance(e, Text)].count("None") == 0


def test_a_name_that_the_font_lacks_is_told_once():
    notes = notes_of_names(["reed", "潮 cart", "潮 cart"])
    assert len(notes) == 1
    assert "U+6F6E cart" in notes[0]
