"""What is touched on a course: where, when, and by what."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from app.design.samples import sample_design
from app.simulation.frame import Contact
from app.simulation.inputs import sides
from app.simulation.run import Run
from app.simulation.surroundings import Surroundings, cores_of, movers_of
from geometry.driving.ready_courses import READY, radius_of_eight
from geometry.driving.swept_contact import core, gap_between, overlaps
from geometry.kinematics.robot import robot_of
from geometry.model.design import Design
from geometry.model.driving import Course, Move, Obstacle, Script
from geometry.model.packaging import Part
from geometry.model.wheel import Wheel
from tests.app.simulation.driven import code_of, joined, sample_code

SIX = "marsh_scout_six"
AHEAD = Script(name="ahead", moves=(Move(turn=0.0, speed=1.0, until="distance", amount=900),))
ROUND = Script(name="round", moves=(Move(turn=1.0, speed=0.5, until="heading", amount=360),))


def touches(
    script: Script, *obstacles: Obstacle, design: Design | None = None, **start: float
) -> list[Contact]:
    code = sample_code(SIX) if design is None else code_of(design)
    course = Course.model_validate({"name": "c", "obstacles": obstacles, **start})
    run = Run(code, course, script)
    return list(run.finish().contacts)


def bare() -> Design:
    """Without a body, so that wheels are all that touches."""
    return sample_design(SIX).edited(body_mm=())


def test_a_wall_across_the_way_is_touched_by_what_reaches_it_first_and_when() -> None:
    design = sample_design(SIX)
    front = max(x for x, _ in design.body_mm)
    found = touches(AHEAD, Obstacle(kind="wall", x_mm=front + 600.0, length_mm=2_000, turn_deg=90.0))
    first = found[0]
    assert (first.what, first.name, first.kind, first.obstacle, first.move) == (
        "body",
        design.name,
        "wall",
        0,
        0,
    )
    assert first.x_mm == pytest.approx(front + 600.0, abs=1e-6)
    # Where the front is on the wall the origin has gone 600 mm.
    run = Run(sample_code(SIX), script=AHEAD)
    blocks = list(run.blocks())
    x = joined(blocks, "pose")[:, 0]
    step = int(np.flatnonzero(x >= 600.0)[0])
    due = (step - 1 + (600.0 - x[step - 1]) / (x[step] - x[step - 1])) * 0.005
    assert first.time_s == pytest.approx(due, abs=1e-9)


def test_a_wheel_that_stands_out_touches_and_not_the_body() -> None:
    design = bare()
    wheel = next(w for w in design.wheels if w.name == "front left")
    outer = wheel.y_mm + 0.5 * wheel.width_mm
    found = touches(AHEAD, Obstacle(kind="post", x_mm=500.0, y_mm=outer + 4.0, width_mm=10.0), design=design)
    assert [(c.what, c.name) for c in found] == [
        ("wheel", "front left"),
        ("wheel", "middle left"),
        ("wheel", "rear left"),
    ]
    # On the rim of the post, 1 mm beyond the wheel's side: 5 mm from its middle.
    assert np.hypot(found[0].x_mm - 500.0, found[0].y_mm - outer - 4.0) == pytest.approx(5.0, abs=1e-6)
    assert (
        touches(AHEAD, Obstacle(kind="post", x_mm=500.0, y_mm=outer + 5.1, width_mm=10.0), design=design)
        == []
    )


def test_a_part_that_stands_out_is_named() -> None:
    design = sample_design(SIX)
    front = max(x for x, _ in design.body_mm)
    mast = Part(name="feeler", shape="upright cylinder", x_mm=front + 30.0, diameter_mm=8.0, height_mm=20.0)
    design = design.edited(packaging=design.packaging.edited(parts=(mast,)))
    wall = Obstacle(kind="wall", x_mm=front + 234.0, length_mm=2_000, turn_deg=90.0)
    found = touches(AHEAD, wall, design=design)
    assert [contact.what for contact in found[:2]] == ["part", "body"]
    assert found[0].name == "feeler"


def test_a_needle_that_no_pose_of_a_step_touches_is_found() -> None:
    """Turning on the spot; the corner of the body sweeps 2 mm and more in a step."""
    design = sample_design(SIX)
    run = Run(sample_code(SIX), script=ROUND)
    blocks = list(run.blocks())
    pose = joined(blocks, "pose")
    corner = max(design.body_mm, key=lambda place: np.hypot(*place))
    reach, angle = np.hypot(*corner), np.arctan2(corner[1], corner[0])
    # Midway between two poses, a hair within the circle of the corner, and far from all corners at any pose.
    fast = np.flatnonzero(np.diff(pose[:, 2]) > 0.9 * np.diff(pose[:, 2]).max())
    toward = angle + 0.5 * (pose[fast, 2] + pose[fast + 1, 2])
    spots = reach * (1 - 1e-8) * np.exp(1j * toward)
    corners = (np.array(design.body_mm) @ (1, 1j)) * np.exp(1j * pose[:, 2:])
    gaps = np.abs(spots[:, None] - corners.ravel()).min(axis=1)
    spot = spots[gaps.argmax()]
    needle = Obstacle(kind="post", x_mm=float(spot.real), y_mm=float(spot.imag), width_mm=0.1)
    (body,) = (mover.points for mover in movers_of(design, robot_of(design)) if mover.what == "body")
    (post,) = cores_of(needle)
    for x, y, turned in pose.tolist():
        c, s = np.cos(turned), np.sin(turned)
        assert not overlaps(core(body @ np.array([[c, s], [-s, c]]) + (x, y)), post)
    (found,) = (contact for contact in touches(ROUND, needle) if contact.what == "body")
    share = found.time_s / 0.005 % 1
    assert 0.01 < share < 0.99


def test_a_needle_that_a_wheel_passes_between_two_headings_while_the_robot_stands_is_found() -> None:
    design = bare()
    wheel = next(w for w in design.wheels if w.name == "front left")
    turn = Script(name="t", moves=(Move(turn=0.9, speed=0.3, amount=0.25),))
    blocks = list(Run(code_of(design), script=turn).blocks())
    n = design.wheels.index(wheel)
    heading = joined(blocks, "heading")[:, n]
    assert not joined(blocks, "distance")[50]
    # Midway between two headings, a hair within the circle of the wheel's corners.
    reach = np.hypot(0.5 * wheel.diameter_mm, 0.5 * wheel.width_mm)
    corner = np.arctan2(0.5 * wheel.width_mm, 0.5 * wheel.diameter_mm)
    toward = corner + 0.5 * (heading[25] + heading[26])
    spot = np.array([np.cos(toward), np.sin(toward)])
    for share, seen in ((1 - 1e-6, True), (1 + 1e-6, False)):
        x, y = (wheel.x_mm, wheel.y_mm) + share * (reach + 0.05 * (not seen)) * spot
        post = Obstacle(kind="post", x_mm=float(x), y_mm=float(y), width_mm=0.1)
        gaps = [gap_between(core(corners_of(wheel, one)), core((x, y)))[0] for one in heading[:50].tolist()]
        assert min(gaps) > 0.05
        found = touches(turn, post, design=design)
        assert [(c.what, c.name) for c in found] == [("wheel", "front left")] * seen


def corners_of(wheel: Wheel, heading: float) -> np.ndarray:
    half = 0.5 * np.array([(1, 1), (-1, 1), (-1, -1), (1, -1)]) * (wheel.diameter_mm, wheel.width_mm)
    c, s = np.cos(heading), np.sin(heading)
    return half @ np.array([[c, s], [-s, c]]) + (wheel.x_mm, wheel.y_mm)


def test_what_touches_from_the_start_is_told_at_time_0() -> None:
    found = touches(AHEAD, Obstacle(kind="box", length_mm=20.0, width_mm=20.0))
    assert (found[0].time_s, found[0].what, found[0].move) == (0.0, "body", -1)
    run = Run(
        sample_code(SIX), Course(name="c", obstacles=(Obstacle(kind="box", length_mm=20.0, width_mm=20.0),))
    )
    assert run.frame.contacts[0].what == "body"


def test_an_empty_course_touches_nothing_and_its_start_is_where_the_robot_starts() -> None:
    run = Run(
        sample_code(SIX), Course(name="c", start_x_mm=50.0, start_y_mm=-20.0, start_heading_deg=90.0), AHEAD
    )
    frame = run.finish()
    assert frame.contacts == ()
    np.testing.assert_allclose(frame.pose[:2], (50.0, -20.0 + frame.distance), atol=1e-6)


def test_contacts_are_seen_live_at_once_and_the_same_as_in_the_replay() -> None:
    design = sample_design(SIX)
    wall = Obstacle(kind="wall", x_mm=max(x for x, _ in design.body_mm) + 100.0, length_mm=900, turn_deg=90.0)
    course = Course(name="c", obstacles=(wall,))
    live = Run(sample_code(SIX), course)
    seen = None
    for _ in range(60):
        frame = live.take(4, sides(1, 1))
        if frame.contacts and seen is None:
            seen = frame.steps
    found = live.finish().contacts
    script = Script(name="s", moves=(Move(by="speeds", left=1.0, right=1.0, amount=240 * 0.005),))
    replayed = Run(sample_code(SIX), course, script).finish().contacts
    assert [replace(contact, move=0) for contact in found] == list(replayed)
    assert seen is not None
    assert seen - 4 <= found[0].time_s / 0.005 <= seen


def test_obstacles_stand_where_they_are_drawn() -> None:
    wall = cores_of(Obstacle(kind="wall", x_mm=10.0, y_mm=5.0, turn_deg=90.0, length_mm=40.0))[0]
    np.testing.assert_allclose(wall.points, [(10.0, -15.0), (10.0, 25.0)], atol=1e-12)
    gate = cores_of(Obstacle(kind="gate", turn_deg=90.0, length_mm=100.0, width_mm=8.0))
    np.testing.assert_allclose([one.points[0] for one in gate], [(-50.0, 0.0), (50.0, 0.0)], atol=1e-12)
    assert [one.radius for one in gate] == [4.0, 4.0]


def test_every_wheel_the_body_and_every_part_may_touch() -> None:
    design = sample_design("marsh_scout_motors")
    named = {(m.what, m.name) for m in movers_of(design, robot_of(design))}
    assert {("wheel", wheel.name) for wheel in design.wheels} <= named
    assert len(named) == len(design.wheels) + bool(design.body_mm) + len(design.packaging.parts)


def test_parts_that_the_body_covers_are_left_to_it_and_others_are_not() -> None:
    design = sample_design(SIX)
    front = max(x for x, _ in design.body_mm)
    parts = tuple(
        Part(name=name, x_mm=x, length_mm=30.0, width_mm=30.0, height_mm=10.0)
        for name, x in (("within", 0.0), ("half out", front), ("outside", front + 90.0))
    )
    design = design.edited(packaging=design.packaging.edited(parts=parts))
    around = Surroundings(design, robot_of(design), Course(name="c"))
    assert [mover.name for mover in around.movers if mover.what == "part"] == ["half out", "outside"]


# A way through each ready course.
def through(name: str, design: Design) -> tuple[Move, ...]:
    match name:
        case "doorway":
            return (Move(turn=0.0, speed=0.8, until="distance", amount=1_500),)
        case "right-angled lane":
            course = READY[name](design)
            corner = course.obstacles[2].x_mm + 0.5 * (course.obstacles[2].length_mm or 0.0)
            width = course.obstacles[1].x_mm - corner
            return (
                Move(turn=0.0, speed=0.5, until="distance", amount=corner + 0.5 * width),
                Move(turn=1.0, speed=0.3, until="heading", amount=89.5),
                Move(turn=0.0, speed=0.5, until="distance", amount=500),
            )
        case "turning square":
            return (Move(turn=-1.0, speed=0.5, until="heading", amount=360),)
        case "figure of eight":
            radius = radius_of_eight(design)
            return tuple(
                Move(by="radius", radius_mm=side * radius, speed=0.8, until="heading", amount=358)
                for side in (1, -1)
            )
        case _:
            return (Move(turn=0.0, speed=0.8, until="distance", amount=1_500),)


@pytest.mark.parametrize("key", ["marsh_scout_six", "marsh_scout_motors"])
@pytest.mark.parametrize("name", READY)
def test_each_ready_course_can_be_driven_and_is_no_empty_plane(name: str, key: str) -> None:
    code = sample_code(key, 20)
    design = code.programme.design
    course = READY[name](design)
    script = Script(name="through", moves=through(name, design))
    found = Run(code, course, script).finish().contacts
    if name == "slalom":
        # Straight on, it runs into the posts that it should go round.
        assert found[0].kind == "post"
    else:
        assert found == ()
        if name != "figure of eight":
            # The same way, started too far to the left, runs into something.
            aside = course.edited(start_y_mm=300.0)
            assert Run(code, aside, script).finish().contacts != ()
