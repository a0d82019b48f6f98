"""Edits of scripts, courses and recordings."""

from __future__ import annotations

import pytest

from app.design import driving_edits as edits
from app.design.driving_edits import Held
from app.design.files import design_from_text, design_text
from app.design.samples import sample_design
from geometry.errors import DesignError
from geometry.model.design import Design
from geometry.model.driving import (
    MOST_STEPS,
    OBSTACLE_KINDS,
    OF_OBSTACLE,
    OF_WAY,
    WAYS,
    Move,
    Obstacle,
    Script,
)

SCOUT = sample_design("marsh_scout_six")


def with_three() -> Design:
    design = SCOUT
    for name in ("one", "two", "three"):
        design = edits.add_script(design, Script(name=name, moves=(Move(turn=0.0, speed=0.5),)))
        design = edits.add_course(design)
    return design


def names(design: Design) -> list[str]:
    return [script.name for script in design.driving.scripts]


def test_scripts_and_courses_are_added_under_free_names_and_the_design_before_stays() -> None:
    design = edits.add_script(edits.add_script(edits.add_script(SCOUT)))
    assert names(design) == ["script", "script 2", "script 3"]
    assert names(edits.duplicate_script(design, 1)) == ["script", "script 2", "script 3", "script 4"]
    long = edits.add_script(edits.add_script(SCOUT, Script(name="x" * 40)), Script(name="X" * 40))
    assert [len(name) for name in names(long)] == [40, 40]
    assert names(SCOUT) == []
    assert [course.name for course in with_three().driving.courses] == ["course", "course 2", "course 3"]


def test_scripts_and_courses_are_moved_renamed_and_removed() -> None:
    design = with_three()
    assert names(edits.move_script(design, 0, 2)) == ["two", "three", "one"]
    assert names(edits.move_script(design, 2, 0)) == ["three", "one", "two"]
    assert names(edits.delete_script(design, 1)) == ["one", "three"]
    assert names(edits.change_script(design, 1, name="other")) == ["one", "other", "three"]
    assert [c.name for c in edits.move_course(design, 2, 0).driving.courses] == [
        "course 3",
        "course",
        "course 2",
    ]
    assert len(edits.delete_course(design, 0).driving.courses) == 2
    assert edits.change_course(design, 0, start_x_mm=5.0).driving.courses[0].start_x_mm == 5.0
    assert edits.change_driving(design, ramp_s=1.0).driving.ramp_s == 1.0


def test_moves_are_added_changed_moved_and_removed() -> None:
    design = edits.add_move(with_three(), 1)
    design = edits.add_move(design, 1, Move(by="speeds", left=1.0, right=0.5), at=0)
    moves = design.driving.scripts[1].moves
    assert [move.by for move in moves] == ["speeds", "turn", "turn"]
    assert [m.by for m in edits.move_move(design, 1, 0, 2).driving.scripts[1].moves] == [
        "turn",
        "turn",
        "speeds",
    ]
    assert edits.delete_moves(design, 1, [0, 2]).driving.scripts[1].moves == (moves[1],)
    assert edits.change_move(design, 1, 1, amount=7.0).driving.scripts[1].moves[1].amount == 7.0
    assert design.driving.scripts[0] == with_three().driving.scripts[0]


@pytest.mark.parametrize("before", WAYS)
@pytest.mark.parametrize("after", WAYS)
def test_a_move_may_take_any_other_way(before: str, after: str) -> None:
    design = edits.change_move(with_three(), 0, 0, by=before)
    changed = edits.change_move(design, 0, 0, by=after).driving.scripts[0].moves[0]
    given = {key for way in WAYS for key in OF_WAY[way] if getattr(changed, key) is not None}
    assert (changed.by, given) == (after, set(OF_WAY[after]))  # type: ignore[index]


@pytest.mark.parametrize("before", OBSTACLE_KINDS)
@pytest.mark.parametrize("after", OBSTACLE_KINDS)
def test_an_obstacle_may_become_any_other_kind(before: str, after: str) -> None:
    design = edits.add_obstacle(with_three(), 2, Obstacle(kind="wall", length_mm=300.0))
    design = edits.change_obstacle(design, 2, 0, kind=before)
    changed = edits.change_obstacle(design, 2, 0, kind=after).driving.courses[2].obstacles[0]
    given = {key for key in ("length_mm", "width_mm") if getattr(changed, key) is not None}
    assert (changed.kind, given) == (after, set(OF_OBSTACLE[after]))  # type: ignore[index]


def test_obstacles_are_placed_and_removed() -> None:
    design = with_three()
    for _ in range(3):
        design = edits.add_obstacle(design, 0, Obstacle(kind="post", width_mm=30.0))
    design = edits.place_obstacles(design, 0, {0: (1.0, 2.0), 2: (3.0, 4.0)})
    assert [(o.x_mm, o.y_mm) for o in design.driving.courses[0].obstacles] == [(1, 2), (0, 0), (3, 4)]
    left = edits.delete_obstacles(design, 0, [0, 1]).driving.courses[0].obstacles
    assert [(o.x_mm, o.y_mm) for o in left] == [(3, 4)]


def test_errors_name_the_place() -> None:
    design = edits.add_obstacle(with_three(), 2, Obstacle(kind="post", width_mm=30.0))
    for edit, place in (
        (
            lambda: edits.change_move(design, 1, 0, amount=-1.0),
            r"driving\.scripts\[1\]\.moves\[0\]\.amount must be",
        ),
        (lambda: edits.change_script(design, 2, name="one"), r"driving\.scripts\[2\]\.name must differ"),
        (
            lambda: edits.change_obstacle(design, 2, 0, width_mm=-3.0),
            r"courses\[2\]\.obstacles\[0\]\.width_mm must",
        ),
        (
            lambda: edits.place_obstacles(design, 2, {0: (1e9, 0.0)}),
            r"courses\[2\]\.obstacles\[0\]\.x_mm must",
        ),
        (
            lambda: edits.change_course(design, 0, start_heading_deg=400.0),
            r"courses\[0\]\.start_heading_deg must",
        ),
        (lambda: edits.change_driving(design, ramp_s=-1.0), r"driving\.ramp_s must"),
        (lambda: edits.change_move(design, 1, 0, by="sideways"), r"moves\[0\]\.by must be one of"),
    ):
        with pytest.raises(DesignError, match=place):
            edit()


def test_a_recording_becomes_moves_and_too_long_a_one_is_refused_with_its_count() -> None:
    held = [Held("drive", 500, -250, 0.4), Held("stick", 1000, -20, 0.005), Held("drive", 0, 0, 0.0)]
    script = edits.recorded("drive", held)
    assert [(m.by, m.left, m.right, m.throttle, m.turn, m.amount) for m in script.moves] == [
        ("speeds", 0.5, -0.25, None, None, 0.4),
        ("stick", None, None, 1.0, -0.02, 0.005),
    ]
    with pytest.raises(DesignError, match=rf"at most {MOST_STEPS} changes.*got {MOST_STEPS + 1}"):
        edits.recorded("drive", [Held("drive", i, 0, 0.1) for i in range(MOST_STEPS + 1)])


def test_what_is_driven_is_saved_and_read_back() -> None:
    design = edits.change_move(with_three(), 0, 0, by="stick", throttle=0.25)
    design = edits.add_obstacle(design, 1, Obstacle(kind="gate", length_mm=300.0, width_mm=30.0))
    assert design_from_text(design_text(design)).driving == design.driving
