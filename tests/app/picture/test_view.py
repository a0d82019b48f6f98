"""What a view shows is what `geometry` says; what follows from a design alone is worked out once."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.design.facts import Facts
from app.design.references import references_to
from app.document import Document
from app.picture.view import Command, View
from geometry.kinematics.alignment import STATES, alignment, best_fit_centre, contacts, rank, states, verdicts
from geometry.kinematics.ideal import FLIPPED, solve
from geometry.kinematics.motion import from_turn, radius_of_turn, turn_centre
from geometry.model.base_axle import base_of
from geometry.model.design import Design
from geometry.model.wheel import Wheel
from geometry.model.wheel_arrays import wheel_arrays
from geometry.turn_range.range_check import at_turns
from tests.app.scouts import FRONT, LEFT, REAR, RIGHT, drive_motor, scout
from tests.strategies import designs, turns

speeds = st.sampled_from([1.0, -1.0, 0.4, -0.4, 0.0])


def pair() -> Design:
    return Design(wheels=tuple(Wheel(name=f"{y:g}", x_mm=0.0, y_mm=y) for y in (100.0, -100.0)))


@given(designs(min_wheels=1), turns(), speeds)
def test_the_rows_are_those_of_geometry(design: Design, turn: float, speed: float) -> None:
    view = View(Facts(design), Command(turn, speed))
    wheels, base = wheel_arrays(design), base_of(design)
    motion = from_turn(turn, base, -1.0 if speed < 0 else 1.0)
    solved = solve(wheels, motion)
    found = alignment(wheels, motion.twist, solved.heading)
    kinds = states(found, np.radians(design.aligned_within_deg), np.radians(design.slight_drag_within_deg))
    for i, row in enumerate(view.rows):
        assert (row.index, row.name, row.kind) == (i, design.wheels[i].name, design.wheels[i].kind)
        assert (row.steer, row.heading) == (solved.steer[0, i], solved.heading[0, i])
        assert row.speed == found.roll[0, i] * abs(speed)
        assert (row.miss, row.drag, row.slip) == (found.miss[0, i], found.drag[0, i], found.slip[0, i])
        assert row.radius == found.radius[0, i]
        assert row.state == STATES[kinds[0, i]]
        assert ("at end of travel" in row.notes) == bool(solved.limited[0, i])
        assert ("flipped" in row.notes) == bool(solved.branch[0, i] == FLIPPED)
        none_suits = solved.unreachable[0, i] and not found.swings[0, i]
        assert any("no angle" in note for note in row.notes) == bool(none_suits)


@given(designs(min_wheels=1), turns(), speeds)
def test_the_view_as_a_whole_is_that_of_geometry(design: Design, turn: float, speed: float) -> None:
    facts = Facts(design)
    view = View(facts, Command(turn, speed))
    wheels, base = wheel_arrays(design), base_of(design)
    motion = from_turn(turn, base, -1.0 if speed < 0 else 1.0)
    heading = solve(wheels, motion).heading
    np.testing.assert_array_equal(view.centre, turn_centre(motion.twist)[0])
    np.testing.assert_array_equal(view.best_fit, best_fit_centre(wheels, heading)[0])
    x, y = contacts(wheels, heading)
    np.testing.assert_array_equal(view.contacts, np.stack([x[0], y[0]], axis=1))
    assert view.radius == radius_of_turn(turn, base)[0]
    assert view.rank == rank(wheels, heading)[0]
    found = alignment(wheels, motion.twist, heading)
    assert view.verdict == verdicts(found, facts.robot.aligned_within, facts.robot.slight_within)[0]


@given(turns(), st.floats(-1.0, 1.0))
def test_the_command_names_the_sides_of_its_turn(turn: float, speed: float) -> None:
    command = Command(turn, speed)
    left, right = command.sides
    faster, slower = (right, left) if turn > 0 else (left, right)
    assert faster == speed
    assert slower == pytest.approx(speed * command.ratio, abs=1e-15)


def test_speed_changes_no_angle_and_scales_the_speeds() -> None:
    design = pair().edited(wheels=(*pair().wheels, Wheel(name="front", x_mm=90.0, y_mm=0.0, kind="steered")))
    full, slow, back = (View(Facts(design), Command(0.3, p)) for p in (1.0, 0.25, -0.5))
    for a, b, c in zip(full.rows, slow.rows, back.rows, strict=True):
        assert a.steer == b.steer == c.steer
        assert b.speed == pytest.approx(0.25 * a.speed)
        assert c.speed == pytest.approx(-0.5 * a.speed)


def test_facts_are_reused_while_only_command_or_selection_change(document: Document) -> None:
    facts = document.view.facts
    document.set_turn(-0.2)
    document.set_speed(-1.0)
    document.select(references_to("wheel", {1}))
    assert document.view.facts is facts
    assert document.view.command == Command(-0.2, -1.0)
    document.edit("Rename", lambda d: d.edited(name="Other"))
    assert document.view.facts is not facts


def test_what_a_whole_range_needs_is_worked_out_once() -> None:
    facts = Facts(pair())
    assert facts.landmarks is facts.landmarks
    assert facts.check.dense is facts.check.dense


def test_the_size_is_that_of_wheels_and_body_together() -> None:
    assert Facts(pair()).size == 200.0
    assert Facts(pair().edited(body_mm=((300.0, 20.0), (-100.0, 20.0), (0.0, -50.0)))).size == 400.0
    assert Facts(Design()).size > 0


@given(designs(min_wheels=1))
def test_a_preview_judges_the_whole_range_as_the_full_check_does(design: Design) -> None:
    quick, full = Facts(design, previewing=True).check, Facts(design).check
    assert quick.landmarks == full.landmarks
    assert quick.faulty == full.faulty
    assert quick.aligned == full.aligned
    assert len(quick.dense.turns) < len(full.dense.turns)
    if quick.worst is not None and full.worst is not None:
        assert quick.worst.state == full.worst.state
        assert abs(quick.worst.slip) == pytest.approx(abs(full.worst.slip), abs=1e-6)


@pytest.mark.parametrize("end", ["release", "cancel"])
def test_after_a_drag_the_range_is_checked_in_full(document: Document, end: str) -> None:
    full = len(document.view.facts.check.dense.turns)
    document.preview(lambda d: d.edited(name="Other"))
    assert document.view.facts.design.name == "Other"
    assert len(document.view.facts.check.dense.turns) < 0.2 * full
    if end == "release":
        document.commit_preview("Rename")
    else:
        document.cancel_preview()
    assert document.view.facts.design == document.design
    assert len(document.view.facts.check.dense.turns) == full


def test_without_motors_the_ideal_is_the_same_picture() -> None:
    view = View(Facts(scout()), Command(0.4))
    assert view.ideal is view
    assert not view.motored
    assert view.gap == 0.0
    assert view.asked.twist == pytest.approx(view.motion.twist)
    assert {row.ideal for row in view.rows} == {None}
    assert not any(row.differs for row in view.rows)


@pytest.mark.parametrize("turn", [0.0, 0.3, -0.8])
@pytest.mark.parametrize("speed", [1.0, -0.5])
def test_the_ideal_of_a_chassis_with_motors_is_that_of_the_chassis_without(turn: float, speed: float) -> None:
    bare = View(Facts(scout()), Command(turn, speed), references_to("wheel", {1}))
    view = View(Facts(scout(FRONT, REAR)), Command(turn, speed), references_to("wheel", {1}))
    ideal = view.ideal
    assert (ideal.motored, ideal.selection, ideal.command) == (False, view.selection, view.command)
    for mine, wanted in zip(ideal.rows, bare.rows, strict=True):
        assert mine.steer == pytest.approx(wanted.steer, abs=1e-12)
        assert mine.speed == pytest.approx(wanted.speed, abs=1e-12)
        assert mine.drag == pytest.approx(wanted.drag, abs=1e-9)
    for row, wanted in zip(view.rows, bare.rows, strict=True):
        assert row.ideal == (wanted.steer if row.kind == "steered" else None)
    assert any(row.differs for row in view.rows) == (turn != 0)


def test_the_gap_is_from_the_centre_asked_for_to_the_one_that_results() -> None:
    view = View(Facts(scout(FRONT, REAR)), Command(0.3))
    # By symmetry the chassis still turns on its base axle.
    assert view.centre[0] == pytest.approx(0.0, abs=1e-9)
    assert view.asked_centre == pytest.approx([view.robot.base.x, view.radius])
    assert view.gap == pytest.approx(abs(view.true_radius - view.radius))
    assert view.gap > 30.0
    assert View(Facts(scout(RIGHT, LEFT)), Command(0.3)).gap < 1e-9
    assert View(Facts(scout(FRONT, REAR)), Command(0.0)).gap == 0.0


def test_a_gap_without_two_centres_is_infinite() -> None:
    # Wheels of unlike gearing on one motor: asked to run straight, it turns.
    lame = drive_motor("both", {"middle left": 1.0, "middle right": 0.5})
    view = View(Facts(scout(lame)), Command(0.0))
    assert np.isinf(view.radius)
    assert np.isfinite(view.true_radius)
    assert np.isinf(view.gap)


def test_the_view_judges_its_turn_as_the_check_does() -> None:
    for design in (scout(FRONT, REAR), scout()):
        facts = Facts(design)
        mine, wanted = View(facts, Command(0.35)).at_turn, at_turns(facts.robot, [0.35])
        assert mine.response.seen.drag == pytest.approx(wanted.response.alignment.drag, abs=1e-9)
        assert mine.response.seen_states.tolist() == wanted.response.states.tolist()
        assert mine.turns.tolist() == wanted.turns.tolist()
