"""The verdict on a drive: what touched first and where, how far it dragged, and the whole range briefly."""

import pytest

from app.design import edits
from app.design.facts import Facts
from app.design.samples import sample_design
from app.words.run_verdict import RunSoFar, Touch, run_verdict
from geometry.model.design import Design
from tests.windows import KEYS

SIX = sample_design(KEYS[0])
FIRST = Touch("front left", "wall 2", 3.25, 410.4, -20.0)
HOW = "Hold an arrow key on the course, drag the mouse on its ground, or press Play."


@pytest.mark.parametrize(
    ("run", "tone", "headline", "second"),
    [
        (RunSoFar("none"), "empty", "Not driven yet.", HOW),
        (RunSoFar("preparing"), "empty", "About to drive.", "The robot's code is being written."),
        (
            RunSoFar("driving", obstacles=3, drag_mm=12.0, way_mm=1_500.0),
            "good",
            "Driving, no touch so far.",
            "Dragged sideways 12 mm in all, 8 mm per metre.",
        ),
        (
            RunSoFar("playing", drag_mm=3.2, way_mm=99.0),
            "good",
            "Playing with nothing in the way.",
            "Dragged sideways 3 mm in all.",
        ),
        (
            RunSoFar("driven", obstacles=1, way_mm=400.0),
            "good",
            "Driven without a touch.",
            "Dragged sideways 0 mm in all, 0 mm per metre.",
        ),
        (
            RunSoFar("driving", 3, 1, FIRST, 30.0, 1_000.0),
            "bad",
            "1 touch: front left at wall 2.",
            "First at 3.2 s, x 410 mm, y -20 mm. Dragged sideways 30 mm in all, 30 mm per metre.",
        ),
        (
            RunSoFar("driven", 3, 4, FIRST, 30.0, 50.0),
            "bad",
            "4 touches, the first: front left at wall 2.",
            "First at 3.2 s, x 410 mm, y -20 mm. Dragged sideways 30 mm in all.",
        ),
    ],
)
def test_the_drive_heads_and_the_range_stands_last(run, tone, headline, second):
    told = run_verdict(run, Facts(SIX), "mm")
    assert (told.tone, *told.lines) == (tone, headline, second, "Over all turns: aligned.")


def test_a_touch_from_the_start_says_so_and_lengths_follow_the_unit():
    touch = Touch("the body", "post 1", 0.0, 254.0, 0.0)
    told = run_verdict(RunSoFar("driven", 1, 1, touch, 25.4, 3_048.0), Facts(SIX), "inch")
    assert told.lines[:2] == (
        "1 touch: the body at post 1.",
        "From the start, x 10 in, y 0 in. Dragged sideways 1 in in all, 0.1 in per foot.",
    )


def test_the_range_is_told_as_the_stage_check_tells_it():
    bad = edits.move_wheels(SIX, {2: (40.0, SIX.wheels[2].y_mm)})
    assert run_verdict(RunSoFar("none"), Facts(bad), "mm").lines[2].startswith("Over all turns: drags, ")


def test_without_wheels_there_is_nothing_to_drive():
    told = run_verdict(RunSoFar("none"), Facts(Design()), "mm")
    assert (told.tone, told.lines) == ("empty", ("Nothing to drive yet.", "Lay out the chassis first.", ""))


def test_room_is_kept_for_the_longest_name():
    named = edits.change_wheels(SIX, [0], name="a rather long name of a wheel here")
    told = run_verdict(RunSoFar("none"), Facts(named), "mm")
    touch = Touch("a rather long name of a wheel here", "wall 12", 59.9, -1_234.0, 1_234.0)
    later = run_verdict(RunSoFar("driving", 20, 1, touch, 1_234.0, 5_000.0), Facts(named), "mm")
    assert later.longest == told.longest
    for words, most in zip(later.lines, told.longest, strict=True):
        assert len(words) <= len(most)
