"""What is selected is moved and deleted together, of whatever kind it is."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.design import edits, selection_edits
from app.design.references import Reference, references_to
from app.design.samples import sample_design
from geometry.errors import DesignError

MOTORS = sample_design("marsh_scout_motors")
WHEEL, CORNER = Reference("wheel", 0), Reference("corner", 0)


def test_places_are_those_of_wheels_and_corners_and_motors_have_none():
    found = selection_edits.places_of(MOTORS, (WHEEL, CORNER, Reference("steer motor", 0)))
    wheel = MOTORS.wheels[0]
    assert found == {WHEEL: (wheel.x_mm, wheel.y_mm), CORNER: MOTORS.body_mm[0]}


@given(st.integers(-3, 3), st.integers(-3, 3))
def test_all_of_it_moves_by_the_same_and_the_rest_stays(dx, dy):
    places = selection_edits.places_of(MOTORS, (WHEEL, CORNER))
    after = selection_edits.move_to(MOTORS, {r: (x + dx, y + dy) for r, (x, y) in places.items()})
    now = selection_edits.places_of(after, (WHEEL, CORNER))
    assert now == {r: (x + dx, y + dy) for r, (x, y) in places.items()}
    assert after.wheels[1:] == MOTORS.wheels[1:]
    assert after.body_mm[1:] == MOTORS.body_mm[1:]


def test_partners_follow_unless_they_are_moved_themselves():
    body = ((180.0, 90.0), (-180.0, 90.0), (-180.0, -90.0), (180.0, -90.0))
    box = MOTORS.edited(body_mm=body)
    one = selection_edits.move_to(box, {CORNER: (200.0, 95.0)}, mirror=True)
    assert one.body_mm == ((200.0, 95.0), *body[1:3], (200.0, -95.0))
    both = {CORNER: (200.0, 95.0), Reference("corner", 3): (190.0, -80.0)}
    assert selection_edits.move_to(box, both, mirror=True).body_mm[3] == (190.0, -80.0)


def test_things_of_every_kind_are_deleted_in_one_go():
    chosen = (*references_to("wheel", {0, 3}), *references_to("corner", {1, 2}))
    chosen += (*references_to("steer motor", {0, 1}), *references_to("drive motor", {1}))
    after = selection_edits.delete(MOTORS, chosen)
    assert [w.name for w in after.wheels] == [w.name for i, w in enumerate(MOTORS.wheels) if i not in {0, 3}]
    assert after.body_mm == tuple(c for i, c in enumerate(MOTORS.body_mm) if i not in {1, 2})
    assert after.steer_motors == ()
    assert MOTORS.drive_motors[1].name not in [m.name for m in after.drive_motors]


def test_wheels_alone_are_deleted_as_ever():
    assert selection_edits.delete(MOTORS, references_to("wheel", {0, 4})) == edits.delete_wheels(
        MOTORS, [0, 4]
    )
    assert selection_edits.delete(MOTORS, ()) == MOTORS


def test_a_body_keeps_three_corners():
    corners = references_to("corner", range(len(MOTORS.body_mm) - 2))
    with pytest.raises(DesignError, match="at least 3 corners"):
        selection_edits.delete(MOTORS, corners)
    assert len(selection_edits.delete(MOTORS, corners[1:]).body_mm) == 3


@pytest.mark.parametrize(
    ("chosen", "words"),
    [
        ((), ""),
        ((WHEEL,), "wheel"),
        ((CORNER,), "body corner"),
        (references_to("wheel", range(3)), "3 wheels"),
        ((*references_to("corner", range(2)), WHEEL), "wheel and 2 body corners"),
    ],
)
def test_what_is_selected_is_said_in_words(chosen, words):
    assert selection_edits.counted(chosen) == words


def test_with_symmetry_the_partner_of_a_wheel_and_of_a_corner_goes_too():
    body = ((180.0, 90.0), (0.0, 95.0), (-180.0, 90.0), (-180.0, -90.0), (0.0, -95.0), (180.0, -90.0))
    box = MOTORS.edited(body_mm=body)
    chosen = (Reference("wheel", 0), Reference("corner", 4))
    after = selection_edits.delete(box, chosen, mirror=True)
    assert after == selection_edits.delete(box, selection_edits.with_partners(box, chosen))
    assert after.body_mm == (body[0], *body[2:4], body[5])
    assert [w.name for w in after.wheels] == [w.name for w in box.wheels[2:]]
    alone = selection_edits.delete(box, chosen)
    assert (len(alone.wheels), len(alone.body_mm)) == (len(box.wheels) - 1, 5)
