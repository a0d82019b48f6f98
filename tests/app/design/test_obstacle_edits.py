"""Edits of a course by hand: what is not drawn stays, what is drawn comes to where it is drawn."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.design import driving_edits, obstacle_edits
from app.design.obstacle_edits import end_drawn, ends_of, new_obstacle, side_drawn, sides_of
from app.design.samples import sample_design
from geometry.driving.ready_courses import reach_of
from geometry.model.driving import OBSTACLE_KINDS, Course, Driving, Obstacle

CHASSIS = sample_design("marsh_scout_six").edited(driving=Driving(courses=(Course(name="c"),)))
WALL = Obstacle(kind="wall", x_mm=100.0, y_mm=0.0, length_mm=200.0)
BOX = Obstacle(kind="box", length_mm=200.0, width_mm=80.0)
GATE = Obstacle(kind="gate", length_mm=400.0, width_mm=40.0)
POST = Obstacle(kind="post", x_mm=10.0, y_mm=20.0, width_mm=40.0)

places = st.tuples(st.floats(-3_000, 3_000), st.floats(-3_000, 3_000))
turns = st.floats(-180, 180)
sizes = st.floats(5, 2_000)


@given(
    obstacle=st.builds(
        lambda kind, at, turn, length, width: Obstacle(
            kind=kind,
            x_mm=at[0],
            y_mm=at[1],
            turn_deg=turn,
            length_mm=length,
            width_mm=None if kind == "wall" else width,
        ),
        st.sampled_from(["wall", "box", "gate"]),
        places,
        turns,
        sizes,
        sizes,
    ),
    end=st.sampled_from([0, 1]),
    to=places,
)
def test_the_end_that_is_drawn_comes_there_and_the_other_stays(obstacle, end, to):
    drawn = obstacle.edited(**end_drawn(obstacle, end, to, None))
    assert math.dist(ends_of(drawn)[1 - end], ends_of(obstacle)[1 - end]) < 1e-4
    if math.dist(to, ends_of(obstacle)[1 - end]) > 1.0:
        assert math.dist(ends_of(drawn)[end], to) < 1e-4
    assert drawn.width_mm == obstacle.width_mm


@pytest.mark.parametrize(
    ("end", "to", "numbers"),
    [
        (0, (400.3, 2.0), {"x_mm": 200.0, "y_mm": 0.0, "length_mm": 400.0, "turn_deg": 0.0}),
        (0, (1.0, 299.7), {"x_mm": 0.0, "y_mm": 150.0, "length_mm": 300.0, "turn_deg": 90.0}),
        (1, (200.4, 149.8), {"x_mm": 200.0, "y_mm": 75.0, "length_mm": 150.0, "turn_deg": -90.0}),
    ],
)
def test_with_snap_the_length_keeps_to_the_grid_and_the_turn_to_whole_degrees(end, to, numbers):
    assert end_drawn(WALL, end, to, 10.0 if end == 1 else 1.0) == numbers


def test_an_end_drawn_onto_the_other_leaves_the_least_length_and_the_turn():
    drawn = end_drawn(WALL.edited(turn_deg=30.0), 0, ends_of(WALL.edited(turn_deg=30.0))[1], None)
    assert (drawn["length_mm"], drawn["turn_deg"]) == (0.1, 30.0)


def test_the_posts_of_a_gate_are_its_ends():
    assert ends_of(GATE) == ((0.0, 200.0), (0.0, -200.0))
    turned = GATE.edited(**end_drawn(GATE, 0, (300.0, -200.0), 1.0))
    assert (turned.turn_deg, turned.length_mm, turned.x_mm, turned.y_mm) == (-90.0, 300.0, 150.0, -200.0)


def test_a_side_of_a_box_is_drawn_and_the_other_stays_whatever_its_turn():
    turned = BOX.edited(turn_deg=90.0)
    drawn = turned.edited(**side_drawn(turned, 0, (-99.6, 30.0), 1.0))
    assert (drawn.width_mm, drawn.x_mm, drawn.y_mm, drawn.turn_deg) == (140.0, -30.0, 0.0, 90.0)
    assert sides_of(drawn)[1] == pytest.approx((40.0, 0.0))
    assert side_drawn(BOX, 1, (0.0, 70.0), 1.0)["width_mm"] == 1.0  # beyond the side that stays


def test_the_rim_of_a_post_is_drawn_about_its_middle():
    assert side_drawn(POST, 0, (10.0, 50.2), 1.0) == {"width_mm": 60.0}
    assert sides_of(WALL) == ends_of(POST) == ()


def test_the_start_looks_where_it_is_drawn_to():
    assert (
        obstacle_edits.turn_start(CHASSIS, 0, (100.0, 99.0), 1.0).driving.courses[0].start_heading_deg == 45.0
    )
    free = obstacle_edits.turn_start(CHASSIS, 0, (100.0, 99.0), None).driving.courses[0]
    assert free.start_heading_deg == pytest.approx(44.712083, abs=1e-6)
    assert obstacle_edits.turn_start(CHASSIS, 0, (0.0, 0.0), 1.0) is CHASSIS


@pytest.mark.parametrize("kind", OBSTACLE_KINDS)
def test_a_new_obstacle_stands_where_it_is_asked_for_but_never_on_the_robot(kind):
    course = Course(name="c", start_x_mm=50.0, start_heading_deg=90.0)
    there = new_obstacle(CHASSIS, course, kind, (2_000.0, -500.0))
    assert (there.kind, there.x_mm, there.y_mm) == (kind, 2_000.0, -500.0)
    for middle in (None, (60.0, 10.0)):
        ahead = new_obstacle(CHASSIS, course, kind, middle)
        assert (ahead.x_mm, ahead.y_mm) == (50.0, 600.0)
        assert math.dist((ahead.x_mm, ahead.y_mm), (50.0, 0.0)) > reach_of(CHASSIS)


def test_a_new_one_and_a_copy_do_not_hide_what_stands_there():
    design = CHASSIS
    for _ in range(3):
        one = new_obstacle(design, design.driving.courses[0], "post", None)
        design = driving_edits.add_obstacle(design, 0, one)
    assert [o.x_mm for o in design.driving.courses[0].obstacles] == [600.0, 700.0, 800.0]
    copied = obstacle_edits.duplicate_obstacle(design, 0, 0).driving.courses[0].obstacles
    assert copied[:3] == design.driving.courses[0].obstacles
    assert copied[3] == copied[0].edited(x_mm=900.0)


def test_at_the_end_of_what_a_course_may_hold_a_copy_stands_behind():
    far = POST.edited(x_mm=100_000.0)
    design = driving_edits.add_obstacle(CHASSIS, 0, far)
    assert obstacle_edits.duplicate_obstacle(design, 0, 0).driving.courses[0].obstacles[1].x_mm == 99_900.0
