"""Edits of parts: moved, mirrored, lined up, copied; names and pairs follow, undo is the design before."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.design import part_edits
from app.design.files import design_from_text, design_text
from app.design.part_edits import ALIGNS
from app.design.samples import sample_design
from geometry.errors import DesignError
from geometry.model.packaging import PART_KINDS, SHAPES, SIZES, Opening
from geometry.model.part_outline import box_of, outline_of, plan_size, tall

SCOUT = sample_design("marsh_scout_six")
places = st.floats(-300, 300).map(lambda v: round(v, 3))


def loaded(*kinds):
    design = SCOUT
    for n, kind in enumerate(kinds):
        design = part_edits.add_part(design, kind, 10.0 * n, 40.0)
    return design


@st.composite
def with_parts(draw):
    design = SCOUT
    for _ in range(draw(st.integers(1, 5))):
        design = part_edits.add_part(design, draw(st.sampled_from(PART_KINDS)), draw(places), draw(places))
    for i in range(len(design.packaging.parts)):
        shape, turn = draw(st.sampled_from(SHAPES)), draw(st.sampled_from([0.0, 30.0, 90.0, -45.0]))
        design = part_edits.change_parts(design, [i], shape=shape, turn_deg=turn)
    return design


def names(design):
    return [part.name for part in design.packaging.parts]


def test_a_new_part_stands_on_the_floor_with_a_name_of_its_own():
    design = loaded("battery", "battery", "other", "other")
    assert names(design) == ["battery", "battery 2", "part", "part 2"]
    floor = design.packaging.floor_mm + design.packaging.wall_mm
    assert {part.bottom_mm for part in design.packaging.parts} == {floor}


def test_the_first_part_finds_the_body_above_the_wheels_that_stand_below_it():
    below = SCOUT.edited(body_mm=((200.0, 140.0), (-200.0, 140.0), (-200.0, -140.0), (200.0, -140.0)))
    packaging = part_edits.add_part(below, "battery", 0.0, 0.0).packaging
    assert packaging.floor_mm == max(w.diameter_mm for w in SCOUT.wheels) + 5.0
    assert packaging.roof_mm == packaging.floor_mm + 100.0
    assert packaging.parts[0].bottom_mm == packaging.floor_mm + packaging.wall_mm
    set_by_hand = part_edits.change_packaging(below, floor_mm=10.0)
    assert part_edits.add_part(set_by_hand, "battery", 0.0, 0.0).packaging.floor_mm == 10.0


@given(with_parts())
def test_parts_are_written_and_read_again_as_they_are(design):
    assert design_from_text(design_text(design)) == design


@given(with_parts(), st.sampled_from(SHAPES))
def test_another_shape_keeps_what_it_has_of_the_sizes(design, shape):
    before = design.packaging.parts[0]
    after = part_edits.change_parts(design, [0], shape=shape).packaging.parts[0]
    assert {
        key for key in ("length_mm", "width_mm", "height_mm", "diameter_mm") if getattr(after, key)
    } == set(SIZES[shape])
    if shape == before.shape:
        assert after == before
    if "length_mm" in SIZES[shape]:
        assert after.length_mm == plan_size(before)[0]


@given(with_parts())
def test_the_outline_has_the_sizes_of_the_part(design):
    for part in design.packaging.parts:
        corners = outline_of(part)
        middle = [sum(c[k] for c in corners) / len(corners) for k in (0, 1)]
        assert middle == pytest.approx([part.x_mm, part.y_mm], abs=1e-9)
        length, width = plan_size(part)
        reach = max(math.dist(c, (part.x_mm, part.y_mm)) for c in corners)
        assert reach == pytest.approx(
            length / 2 if part.shape == "upright cylinder" else math.hypot(length, width) / 2
        )
        rear, right, front, left = box_of(part)
        turned = abs(part.turn_deg) % 180 == 90 and part.shape != "upright cylinder"
        if part.turn_deg in (0.0, 90.0):
            assert (front - rear, left - right) == pytest.approx(
                (width, length) if turned else (length, width), rel=3e-3
            )


@given(with_parts(), places, places, st.floats(-50, 50))
def test_a_shift_there_and_back_is_the_design_before(design, dx, dy, dz):
    every = range(len(design.packaging.parts))
    there = part_edits.shift_parts(design, every, (dx, dy, dz))
    back = part_edits.shift_parts(there, every, (-dx, -dy, -dz))
    for one, other in zip(design.packaging.parts, back.packaging.parts, strict=True):
        assert (one.x_mm, one.y_mm, one.bottom_mm) == pytest.approx(
            (other.x_mm, other.y_mm, other.bottom_mm), abs=2e-6
        )


def test_the_partner_on_the_other_side_follows_in_place_turn_and_height():
    design = part_edits.change_parts(loaded("motor"), [0], turn_deg=20.0)
    design = part_edits.duplicate_parts(design, [0], mirrored=True)
    one, other = design.packaging.parts
    assert (other.x_mm, other.y_mm, other.turn_deg) == (one.x_mm, -one.y_mm, -20.0)
    assert part_edits.part_partner(design, 0) == 1
    moved = part_edits.shift_parts(design, [0], (5.0, 7.0, 3.0), mirror=True)
    one, other = moved.packaging.parts
    assert (other.x_mm, other.y_mm, other.bottom_mm) == (one.x_mm, -one.y_mm, one.bottom_mm)
    turned = part_edits.change_parts(moved, [1], mirror=True, turn_deg=-35.0, mass_kg=0.2)
    assert [(p.turn_deg, p.mass_kg) for p in turned.packaging.parts] == [(35.0, 0.2), (-35.0, 0.2)]


def test_a_part_on_the_centre_line_or_of_another_size_has_no_partner():
    design = part_edits.move_parts(loaded("battery"), {0: (0.0, 0.0)})
    assert part_edits.part_partner(design, 0) is None
    design = part_edits.duplicate_parts(loaded("battery"), [0], mirrored=True)
    assert part_edits.part_partner(part_edits.change_parts(design, [1], length_mm=99.0), 0) is None


@pytest.mark.parametrize("how", ALIGNS)
def test_what_is_lined_up_shares_that_edge_or_middle(how):
    design = loaded("battery", "motor", "controller")
    design = part_edits.change_parts(design, [1], turn_deg=30.0, bottom_mm=60.0)
    design = part_edits.move_parts(design, {2: (-80.0, -20.0)})
    parts = part_edits.align_parts(design, [0, 1, 2], how).packaging.parts
    before = [box_of(part) for part in design.packaging.parts]
    boxes = [box_of(part) for part in parts]
    edge = {"rear": 0, "right": 1, "front": 2, "left": 3}.get(how)
    if edge is not None:
        outermost = (max if how in ("front", "left") else min)(box[edge] for box in before)
        assert [box[edge] for box in boxes] == pytest.approx([outermost] * 3)
    elif how == "bottom":
        assert {part.bottom_mm for part in parts} == {23.0}
    elif how == "middle":
        assert {part.x_mm for part in parts} == {design.packaging.parts[0].x_mm}
    else:
        assert {part.y_mm for part in parts} == {0.0}


def test_pairs_that_may_touch_follow_a_name_and_go_with_a_part():
    design = part_edits.let_touch(loaded("motor", "gear box"), 0, 1, allowed=True)
    design = part_edits.change_parts(design, [0], name="shaft")
    assert design.packaging.may_touch == (("shaft", "gear box"),)
    assert part_edits.let_touch(design, 1, 0, allowed=False).packaging.may_touch == ()
    assert part_edits.delete_parts(design, [1]).packaging.may_touch == ()


def test_a_name_that_is_taken_is_refused_by_place():
    with pytest.raises(DesignError, match=r"packaging\.parts\[1\]\.name must differ from parts\[0\]\.name"):
        part_edits.change_parts(loaded("battery", "battery"), [1], name="BATTERY")


def test_copies_are_tied_to_nothing():
    motors = sample_design("marsh_scout_motors")
    design = part_edits.add_part(motors, "motor", 0.0, 0.0)
    tied = part_edits.change_parts(
        design, [0], motor=motors.steer_motors[0].name, mounted_on=motors.wheels[0].name
    )
    copy = part_edits.duplicate_parts(tied, [0]).packaging.parts[1]
    assert (copy.motor, copy.mounted_on) == (None, None)
    assert part_edits.change_parts(tied, [0], kind="battery").packaging.parts[0].motor is None


def test_openings_are_added_changed_and_removed():
    design = part_edits.add_opening(SCOUT, Opening(diameter_mm=8.0))
    design = part_edits.change_opening(design, 0, face="left", z_mm=40.0)
    assert (design.packaging.openings[0].face, design.packaging.openings[0].z_mm) == ("left", 40.0)
    with pytest.raises(DesignError, match=r"packaging\.openings\[0\]\.diameter_mm must be at least 0\.1"):
        part_edits.change_opening(design, 0, diameter_mm=0.0)
    assert part_edits.delete_openings(design, [0]).packaging.openings == ()


@given(with_parts())
def test_the_height_is_that_of_the_shape(design):
    for part in design.packaging.parts:
        assert tall(part) == (part.diameter_mm if part.shape == "lying cylinder" else part.height_mm)
