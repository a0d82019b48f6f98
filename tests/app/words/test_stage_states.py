"""How far the work has come: a mark and a few words for each stage."""

import pytest

from app.design import edits, motor_edits
from app.design.facts import Facts
from app.design.samples import sample_design
from app.window.stages import STAGES
from app.words.stage_states import WorkSoFar, build_state, check_state, lay_out_state, motors_state
from geometry.model.design import Design
from geometry.model.wheel import Wheel
from tests.app.scouts import DRIVES, FRONT, REAR, drive_motor, scout
from tests.windows import KEYS

BODY = ((50.0, 40.0), (-50.0, 40.0), (-50.0, -40.0))
SIX = sample_design(KEYS[0])


def facts(design, *, previewing=False):
    return Facts(design, previewing=previewing)


def wheels(count):
    return Design(wheels=tuple(Wheel(name=f"w{n}", x_mm=100.0 * n, y_mm=50.0) for n in range(count)))


def middle_driven(*motors):
    """The scout with motors; its corners roll free."""
    return edits.change_wheels(scout(*motors), [0, 1, 4, 5], driven=False)


@pytest.mark.parametrize(
    ("design", "mark", "words"),
    [
        (Design(), "open", "nothing yet"),
        (Design(body_mm=BODY), "begun", "body"),
        (wheels(1), "begun", "1 wheel"),
        (wheels(2), "begun", "2 wheels"),
        (wheels(3), "done", "3 wheels"),
        (wheels(3).edited(body_mm=BODY), "done", "3 wheels, body"),
    ],
)
def test_the_layout_is_done_with_three_wheels(design, mark, words):
    assert lay_out_state(facts(design)) == (mark, words)


def test_motors_wait_for_wheels_and_are_done_when_no_wheel_lacks_one():
    assert motors_state(facts(Design())) == ("unused", "wheels first")
    assert motors_state(facts(scout())) == ("unused", "not used")
    assert motors_state(facts(middle_driven(FRONT, *DRIVES))) == ("begun", "2 wheels lack one")
    assert motors_state(facts(scout(FRONT, REAR, *DRIVES))) == ("begun", "4 wheels lack one")
    whole = middle_driven(FRONT, REAR, *DRIVES)
    count = len(whole.steer_motors) + len(whole.drive_motors)
    assert motors_state(facts(whole)) == ("done", f"{count}, every wheel")


def test_one_wheel_lacks_one_in_the_singular():
    design = middle_driven(FRONT, REAR, *DRIVES)
    rear = next(n for n, w in enumerate(design.wheels) if w.name == "rear left")
    freed = motor_edits.release_wheel(design, "steer", design.wheels[rear].name)
    assert motors_state(facts(freed)) == ("begun", "1 wheel lacks one")


def test_the_check_says_what_the_headline_says():
    assert check_state(facts(Design())) == ("unused", "wheels first")
    assert check_state(facts(SIX)) == ("done", "aligned")
    slight = edits.change_wheels(SIX, [2], toe_deg=1.0)
    assert check_state(facts(slight)) == ("slight", "slight drag")
    bad = edits.move_wheels(SIX, {2: (40.0, SIX.wheels[2].y_mm)})
    found = facts(bad)
    assert check_state(found) == ("wrong", f"drags, {len(found.check.faulty)} wheels")
    assert len(found.check.faulty) > 1


def test_wheels_that_drag_are_counted_at_rest_only():
    bad = edits.move_wheels(SIX, {2: (40.0, SIX.wheels[2].y_mm)})
    assert check_state(facts(bad, previewing=True)) == ("wrong", "drags")


def test_a_chassis_that_goes_another_way_without_drag_is_off_course():
    wheels = (
        Wheel(name="L", x_mm=0.0, y_mm=100.0, driven=True),
        Wheel(name="R", x_mm=0.0, y_mm=-100.0, driven=True),
        Wheel(name="C", x_mm=150.0, y_mm=0.0, kind="caster", trail_mm=20.0),
    )
    rigid = Design(wheels=wheels, drive_motors=(drive_motor("M", {"L": 1.0, "R": 1.0}),))
    assert facts(rigid).check.aligned
    assert check_state(facts(rigid)) == ("wrong", "off course")


@pytest.mark.parametrize(
    ("made", "mark", "words"),
    [
        (("no", "no"), "open", "nothing made"),
        (("yes", "no"), "begun", "1 of 2 made"),
        (("yes", "yes"), "done", "2 of 2 made"),
        (("yes", "no", "yes", "no", "no", "yes"), "begun", "3 of 6 made"),
        (("changed since", "no"), "slight", "changed since"),
        (("yes", "changed since"), "slight", "changed since"),
    ],
)
def test_the_files_are_counted_that_were_made_from_this_design(made, mark, words):
    assert build_state(facts(SIX), made) == (mark, words)
    assert build_state(facts(Design()), made) == ("unused", "wheels first")


def test_each_stage_takes_its_state_from_one_bundle_and_nothing_beside_it():
    states = {spec.key: spec.state for spec in STAGES}
    work = WorkSoFar(facts(SIX), ("yes", "no"), collisions=2, touches=3)
    assert states["lay out"](work) == ("wrong", "2 collisions")
    assert states["check"](work) == ("done", "aligned")
    assert states["drive"](work) == ("wrong", "3 touches")
    assert states["build"](work) == ("begun", "1 of 2 made")
    fresh = WorkSoFar(facts(SIX))
    assert states["lay out"](fresh).mark == "done"
    assert states["drive"](fresh) == ("open", "not driven yet")
    assert states["drive"](WorkSoFar(facts(SIX), touches=0)) == ("done", "no touch")
