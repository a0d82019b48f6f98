"""References: kept over edits to the same thing, whatever comes and goes beside it."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.design import body_edits, edits, motor_edits, part_edits
from app.design.references import (
    KINDS,
    Reference,
    existing,
    kept,
    references_to,
    selected,
    selected_wheels,
)
from app.design.samples import sample_design
from geometry.model.design import Design
from geometry.model.wheel import Wheel
from tests.strategies import designs


def with_parts(design):
    for kind, x in (("battery", 0.0), ("controller", -80.0), ("motor", 90.0)):
        design = part_edits.add_part(design, kind, x, 0.0)
    return design


SIX = sample_design("marsh_scout_six")
MOTORS = with_parts(sample_design("marsh_scout_motors"))
COUNTS = {
    "wheel": len(MOTORS.wheels),
    "corner": len(MOTORS.body_mm),
    "steer motor": len(MOTORS.steer_motors),
    "drive motor": len(MOTORS.drive_motors),
    "part": len(MOTORS.packaging.parts),
}
ALL = tuple(Reference(kind, i) for kind in KINDS for i in range(COUNTS[kind]))
some = st.lists(st.sampled_from(ALL), max_size=12).map(tuple)
names = st.text("abcdefgh", min_size=1, max_size=6)


def name_of(design, reference):
    lists = {
        "wheel": design.wheels,
        "steer motor": design.steer_motors,
        "drive motor": design.drive_motors,
        "part": design.packaging.parts,
    }
    return lists[reference.kind][reference.index].name


def test_the_sample_has_things_of_every_kind():
    assert all(count >= 2 for count in COUNTS.values())


@given(some)
def test_what_an_edit_does_not_touch_is_kept_as_it_is(chosen):
    renamed = MOTORS.edited(name="another")
    for after in (MOTORS, renamed):
        assert kept(chosen, MOTORS, after) == existing(chosen, MOTORS)
        assert set(kept(chosen, MOTORS, after)) == set(chosen)


@given(designs(min_wheels=1), st.data())
def test_a_wheel_is_kept_by_its_name_while_others_go(design, data):
    numbers = st.sets(st.integers(0, len(design.wheels) - 1))
    chosen, gone = data.draw(numbers), data.draw(numbers)
    after = edits.delete_wheels(design, gone)
    found = kept(references_to("wheel", chosen), design, after)
    left = [design.wheels[i].name for i in sorted(chosen - gone)]
    assert [name_of(after, reference) for reference in found] == left
    # Undo: the ones that are left are found again, and those that come back are not selected.
    assert kept(found, after, design) == references_to("wheel", chosen - gone)


@given(designs(min_wheels=1), st.data())
def test_a_wheel_is_kept_while_it_or_another_is_renamed(design, data):
    numbers = st.integers(0, len(design.wheels) - 1)
    chosen, index, name = data.draw(st.sets(numbers)), data.draw(numbers), data.draw(names)
    after = edits.rename_wheel(design, index, name)
    assert kept(references_to("wheel", chosen), design, after) == references_to("wheel", chosen)


@given(st.permutations(range(len(SIX.wheels))), st.sets(st.integers(0, len(SIX.wheels) - 1)))
def test_a_wheel_is_kept_when_the_list_is_in_another_order(order, chosen):
    after = SIX.edited(wheels=tuple(SIX.wheels[i] for i in order))
    found = kept(references_to("wheel", chosen), SIX, after)
    assert {name_of(after, r) for r in found} == {SIX.wheels[i].name for i in chosen}


def test_a_wheel_that_goes_while_another_comes_is_not_taken_for_the_next_one():
    other = Wheel(name="other", x_mm=0.0, y_mm=500.0)
    after = SIX.edited(wheels=(*SIX.wheels[1:], other))
    assert kept(references_to("wheel", {0}), SIX, after) == ()
    assert kept(references_to("wheel", {1}), SIX, after) == references_to("wheel", {0})


@given(
    st.sets(st.integers(0, COUNTS["corner"] - 1)), st.sets(st.integers(0, COUNTS["corner"] - 1), max_size=3)
)
def test_a_corner_is_kept_by_its_place_while_others_go(chosen, gone):
    after = body_edits.delete_corners(MOTORS, gone)
    found = kept(references_to("corner", chosen), MOTORS, after)
    assert {after.body_mm[r.index] for r in found} == {MOTORS.body_mm[i] for i in chosen - gone}
    assert kept(found, after, MOTORS) == references_to("corner", chosen - gone)


@given(st.integers(0, COUNTS["corner"] - 1), st.sets(st.integers(0, COUNTS["corner"] - 1)))
def test_a_corner_is_kept_while_a_new_one_is_added(edge, chosen):
    after = body_edits.add_corner(MOTORS, edge)
    found = kept(references_to("corner", chosen), MOTORS, after)
    assert {after.body_mm[r.index] for r in found} == {MOTORS.body_mm[i] for i in chosen}


@given(st.sets(st.integers(0, COUNTS["corner"] - 1)), st.integers(0, COUNTS["corner"] - 1), st.integers(1, 9))
def test_a_corner_is_kept_while_it_or_another_moves(chosen, moved, by):
    x, y = MOTORS.body_mm[moved]
    after = body_edits.move_corner(MOTORS, moved, x + by, y, mirror=True)
    assert kept(references_to("corner", chosen), MOTORS, after) == references_to("corner", chosen)


def test_a_corner_is_kept_that_moves_to_where_another_one_was():
    body = ((180.0, 90.0), (-180.0, 90.0), (-180.0, -90.0), (180.0, -90.0))
    before = MOTORS.edited(body_mm=body)
    after = body_edits.move_corners(before, {i: (x + 360.0, y) for i, (x, y) in enumerate(body)})
    assert after.body_mm[1] == before.body_mm[0]
    assert kept(references_to("corner", {0, 1}), before, after) == references_to("corner", {0, 1})


@pytest.mark.parametrize("kind", ["steer", "drive"])
def test_a_motor_is_kept_by_its_name_while_another_goes(kind):
    what = f"{kind} motor"
    after = motor_edits.delete_motor(MOTORS, kind, 0)
    assert kept(references_to(what, {0, 1}), MOTORS, after) == references_to(what, {0})
    assert kept(references_to(what, {0}), after, MOTORS) == references_to(what, {1})
    renamed = motor_edits.change_motor(MOTORS, kind, 1, name="bow")
    assert kept(references_to(what, {1}), MOTORS, renamed) == references_to(what, {1})


@given(some, designs(), designs())
def test_what_is_kept_is_always_there(chosen, before, after):
    found = kept(chosen, before, after)
    assert existing(found, after) == found
    assert len(found) <= len(set(chosen))
    assert kept(found, after, Design()) == ()


@given(some)
def test_selections_of_the_same_things_are_equal(chosen):
    selection = existing(chosen, MOTORS)
    assert existing(reversed(selection), MOTORS) == selection
    assert tuple(r for kind in KINDS for r in references_to(kind, selected(selection, kind))) == selection


def test_what_is_not_there_cannot_be_selected():
    asked = [Reference("wheel", -1), Reference("wheel", 6), Reference("corner", 99), Reference("wheel", 5)]
    assert existing(asked, SIX) == references_to("wheel", {5})
    assert selected_wheels(asked) == (-1, 5, 6)
