import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from app.design import edits
from app.design.samples import sample_design
from geometry.errors import DesignError
from geometry.model.design import MOST_WHEELS, Design
from geometry.model.wheel import Wheel
from tests.strategies import designs

SIX = sample_design("marsh_scout_six")
NAMES = [wheel.name for wheel in SIX.wheels]
FRONT_LEFT, FRONT_RIGHT, MIDDLE_LEFT, MIDDLE_RIGHT = range(4)


def place(design, index):
    return design.wheels[index].x_mm, design.wheels[index].y_mm


def problems(error):
    return [problem.place for problem in error.value.problems]


def test_a_moved_wheel_leaves_the_others_and_the_old_design_alone():
    moved = edits.move_wheels(SIX, {FRONT_LEFT: (140.0, 125.0)})
    assert place(moved, FRONT_LEFT) == (140.0, 125.0)
    assert moved.wheels[1:] == SIX.wheels[1:]
    assert place(SIX, FRONT_LEFT) == (132.0, 120.0)


def test_the_mirror_partner_follows():
    moved = edits.move_wheels(SIX, {FRONT_LEFT: (140.0, 125.0)}, mirror=True)
    assert place(moved, FRONT_RIGHT) == (140.0, -125.0)


def test_a_partner_that_is_moved_itself_goes_where_it_is_sent():
    both = {FRONT_LEFT: (140.0, 125.0), FRONT_RIGHT: (150.0, -110.0)}
    moved = edits.move_wheels(SIX, both, mirror=True)
    assert (place(moved, FRONT_LEFT), place(moved, FRONT_RIGHT)) == tuple(both.values())


def test_a_partner_stands_within_half_a_millimetre_and_not_on_the_centre_line():
    near = edits.move_wheels(SIX, {FRONT_RIGHT: (132.4, -120.4)})
    far = edits.move_wheels(SIX, {FRONT_RIGHT: (132.6, -120.0)})
    line = edits.add_wheel(SIX, 60.0, 0.1)
    assert edits.mirror_partner(near, FRONT_LEFT) == FRONT_RIGHT
    assert edits.mirror_partner(far, FRONT_LEFT) is None
    assert edits.mirror_partner(line, 6) is None


@pytest.mark.parametrize("index", range(6))
def test_partners_are_each_others_partner(index):
    assert edits.mirror_partner(SIX, edits.mirror_partner(SIX, index)) == index


def test_a_wheel_cannot_be_put_on_another():
    with pytest.raises(DesignError, match="must not stand on") as error:
        edits.move_wheels(SIX, {MIDDLE_LEFT: (132.0, 120.0)})
    assert problems(error) == ["wheels[2].x_mm"]


def test_errors_name_the_wheel_and_the_value():
    with pytest.raises(DesignError) as error:
        edits.change_wheels(SIX, [3, 4], diameter_mm=-1.0)
    assert str(error.value).splitlines() == [
        "wheels[3].diameter_mm must be at least 5 (got -1.0)",
        "wheels[4].diameter_mm must be at least 5 (got -1.0)",
    ]


@pytest.mark.parametrize(
    ("value", "pitch", "snapped"), [(13, 8, 16), (-13, 8, -16), (13, None, 13), (0.29, 0.1, 0.3), (-3, 8, 0)]
)
def test_snapping_goes_to_the_nearest_hole(value, pitch, snapped):
    assert str(edits.snap(float(value), pitch)) == str(float(snapped))


def test_several_wheels_change_at_once():
    changed = edits.change_wheels(SIX, [0, 5], diameter_mm=70.0, driven=False)
    assert [wheel.diameter_mm for wheel in changed.wheels] == [70, 60, 60, 60, 60, 70]


def test_partners_get_mirrored_values():
    changed = edits.change_wheels(
        SIX,
        [FRONT_LEFT],
        mirror=True,
        travel_max_deg=40.0,
        lateral_offset_mm=9.0,
        toe_deg=1.5,
        y_mm=130.0,
        width_mm=20.0,
    )
    right = changed.wheels[FRONT_RIGHT]
    assert (right.travel_min_deg, right.travel_max_deg) == (-40.0, 135.0)
    assert (right.lateral_offset_mm, right.toe_deg, right.y_mm, right.width_mm) == (-9.0, 1.5, -130.0, 20.0)


def test_a_rename_takes_its_references_along():
    chosen = edits.change_chassis(SIX, left_reference="middle left", right_reference="middle right")
    renamed = edits.rename_wheel(chosen, MIDDLE_LEFT, " port drive ")
    assert (renamed.left_reference, renamed.right_reference) == ("port drive", "middle right")
    assert edits.change_wheels(chosen, [MIDDLE_LEFT], name="a").left_reference == "a"


def test_a_rename_to_a_taken_name_is_refused():
    with pytest.raises(DesignError, match="must differ"):
        edits.rename_wheel(SIX, 0, "Front RIGHT")


def test_an_added_wheel_has_a_fresh_name_and_comes_last():
    once = edits.add_wheel(SIX, 10.0, 20.0)
    twice = edits.add_wheel(edits.rename_wheel(once, 0, "Wheel 8"), 30.0, 20.0)
    assert once.wheels[6] == Wheel(name="wheel 7", x_mm=10.0, y_mm=20.0)
    assert twice.wheels[7].name == "wheel 9"


def test_a_wheel_like_another_copies_it_mirrored_on_the_other_side():
    base = edits.change_wheels(SIX, [0], travel_min_deg=-20.0, lateral_offset_mm=4.0)
    same, other = edits.add_wheel(base, 50.0, 60.0, like=0), edits.add_wheel(base, 50.0, -60.0, like=0)
    assert (same.wheels[6].travel_min_deg, same.wheels[6].lateral_offset_mm) == (-20.0, 4.0)
    assert (other.wheels[6].travel_max_deg, other.wheels[6].lateral_offset_mm) == (20.0, -4.0)
    assert (other.wheels[6].y_mm, other.wheels[6].kind) == (-60.0, "steered")


def test_a_duplicate_stands_mirrored_under_a_mirrored_name():
    alone = Design(
        wheels=(Wheel(name="Front LEFT", x_mm=5.0, y_mm=9.0, travel_min_deg=-30.0, kind="steered"),)
    )
    copy = edits.duplicate_mirrored(alone, [0]).wheels[1]
    assert (copy.name, copy.x_mm, copy.y_mm, copy.travel_max_deg) == ("Front RIGHT", 5.0, -9.0, 30.0)
    nameless = edits.rename_wheel(alone, 0, "leftover")
    assert edits.duplicate_mirrored(nameless, [0]).wheels[1].name == "wheel 2"


def test_duplicating_on_the_centre_line_or_onto_a_wheel_is_refused():
    line = edits.add_wheel(SIX, 60.0, 0.0)
    with pytest.raises(DesignError, match="centre line"):
        edits.duplicate_mirrored(line, [6])
    with pytest.raises(DesignError, match="taken by front right"):
        edits.duplicate_mirrored(SIX, [0])


def test_deleting_drops_wheels_and_references_to_them():
    chosen = edits.change_chassis(SIX, left_reference="middle left", right_reference="middle right")
    left = edits.delete_wheels(chosen, [0, 2])
    assert [wheel.name for wheel in left.wheels] == [NAMES[1], *NAMES[3:]]
    assert (left.left_reference, left.right_reference) == (None, "middle right")
    assert edits.delete_wheels(chosen, range(6)).wheels == ()


def test_a_design_takes_64_wheels_and_refuses_one_more():
    design = Design()
    for i in range(64):
        design = edits.add_wheel(design, 10.0 * i, 50.0)
    with pytest.raises(DesignError, match="at most 64 entries"):
        edits.add_wheel(design, 0.0, 0.0)


wheel_places = st.dictionaries(
    st.integers(0, 5), st.tuples(st.integers(-400, 400), st.integers(-400, 400)), min_size=1
)


def symmetric(design):
    places = {(w.x_mm, w.y_mm) for w in design.wheels}
    return places == {(x, 0.0 - y) for x, y in places}


@given(wheel_places)
def test_mirrored_moves_of_one_side_keep_a_symmetric_chassis_symmetric(places):
    left = {index: (float(x), float(abs(y) + 1)) for index, (x, y) in places.items() if index % 2 == 0}
    assume(left)
    try:
        moved = edits.move_wheels(SIX, left, mirror=True)
    except DesignError:
        assume(False)
    assert symmetric(moved)


@given(designs(min_wheels=1), st.tuples(st.integers(-400, 400), st.integers(-400, 400)))
def test_a_move_there_and_back_gives_the_start(design, place):
    start = (design.wheels[0].x_mm, design.wheels[0].y_mm)
    try:
        moved = edits.move_wheels(design, {0: (float(place[0]), float(place[1]))})
    except DesignError:
        assume(False)
    assert edits.move_wheels(moved, {0: start}) == design


@given(designs(min_wheels=1))
def test_every_added_or_mirrored_wheel_has_a_name_of_its_own(design):
    grown = edits.add_wheel(design, 401.0, 3.0, like=0)
    grown = edits.duplicate_mirrored(grown, [len(grown.wheels) - 1])
    names = [wheel.name.casefold() for wheel in grown.wheels]
    assert len(set(names)) == len(design.wheels) + 2
    assert edits.mirror_partner(grown, len(design.wheels)) == len(design.wheels) + 1


@given(designs(min_wheels=1))
def test_a_mirror_image_of_a_mirror_image_is_the_wheel_itself(design):
    first = edits.change_wheels(design, [0], y_mm=500.0)
    twice = edits.duplicate_mirrored(first, [0])
    alone = edits.delete_wheels(twice, range(len(design.wheels)))
    back = edits.duplicate_mirrored(alone, [0]).wheels[1]
    assert back.edited(name="x") == first.wheels[0].edited(name="x")


def test_a_pair_is_two_wheels_mirrored_the_left_one_first():
    made = edits.add_wheels(Design(), 30.0, -120.0, mirror=True)
    assert [(w.name, w.x_mm, w.y_mm) for w in made.wheels] == [
        ("wheel 1", 30.0, 120.0),
        ("wheel 2", 30.0, -120.0),
    ]
    assert edits.add_wheels(Design(), 30.0, -120.0, mirror=False) == edits.add_wheel(Design(), 30.0, -120.0)


@pytest.mark.parametrize("y", [80.0, -80.0])
def test_a_pair_like_a_wheel_copies_it_each_for_its_side(y):
    base = edits.change_wheels(SIX, [0], travel_min_deg=-20.0, lateral_offset_mm=4.0)
    for like, sign in ((0, 1), (1, 1)):
        pattern = (
            base if like == 0 else edits.change_wheels(SIX, [1], travel_max_deg=20.0, lateral_offset_mm=-4.0)
        )
        left, right = edits.add_wheels(pattern, 50.0, y, like, mirror=True).wheels[6:]
        assert (left.y_mm, right.y_mm) == (80.0, -80.0)
        assert (left.travel_min_deg, left.lateral_offset_mm) == (-20.0, 4.0 * sign)
        assert (right.travel_max_deg, right.lateral_offset_mm) == (20.0, -4.0 * sign)


def test_a_pair_like_a_wheel_on_the_centre_line_is_still_mirrored():
    line = Design(wheels=(Wheel(name="nose", x_mm=0, y_mm=0, lateral_offset_mm=3.0),))
    left, right = edits.add_wheels(line, -80.0, 60.0, 0, mirror=True).wheels[1:]
    assert (left.lateral_offset_mm, right.lateral_offset_mm) == (3.0, -3.0)


def test_a_pair_whose_tyres_would_touch_is_one_wheel_on_the_centre_line():
    assert [w.y_mm for w in edits.add_wheels(Design(), 0.0, 12.5, mirror=True).wheels] == [0.0]
    assert [w.y_mm for w in edits.add_wheels(Design(), 0.0, 12.6, mirror=True).wheels] == [12.6, -12.6]


def test_a_pair_beyond_the_most_wheels_is_refused_whole():
    full = Design(wheels=tuple(Wheel(name=f"w{n}", x_mm=90.0 * n, y_mm=50.0) for n in range(MOST_WHEELS - 1)))
    with pytest.raises(DesignError, match=str(MOST_WHEELS)):
        edits.add_wheels(full, -90.0, 50.0, mirror=True)


def test_the_next_axle_is_behind_the_rearmost_by_the_same_step_and_on_the_grid():
    assert edits.next_axle(Design(), 8.0) == (0.0, 120.0)
    one = edits.add_wheels(Design(), 0.0, 120.0, mirror=True)
    assert edits.next_axle(one, 1.0) == (-90.0, 120.0)
    assert edits.next_axle(one, 8.0) == (-96.0, 120.0)
    rear = min(w.x_mm for w in SIX.wheels)
    step = min(w.x_mm - rear for w in SIX.wheels if w.x_mm > rear)
    assert edits.next_axle(SIX, 1.0) == (rear - step, abs(SIX.wheels[4].y_mm))
    # Axles that stand closer than a tyre is long give no step for the next.
    close = edits.add_wheels(one, 10.0, 150.0, mirror=True)
    assert edits.next_axle(close, 1.0) == (-90.0, 120.0)


def test_the_next_axle_is_as_wide_as_the_wheel_that_it_copies():
    wide = edits.add_wheels(edits.add_wheels(Design(), 0.0, 120.0, mirror=True), -90.0, 200.0, mirror=True)
    assert edits.next_axle(wide, 1.0)[1] == 200.0
    assert edits.next_axle(wide, 1.0, like=1)[1] == 120.0
    line = edits.add_wheel(Design(), 0.0, 0.0)
    assert edits.next_axle(line, 1.0)[1] == edits.FIRST_Y_MM


def pair(left="wheel 1", right="wheel 2"):
    return Design(wheels=(Wheel(name=left, x_mm=0, y_mm=90), Wheel(name=right, x_mm=0, y_mm=-90)))


@pytest.mark.parametrize(
    ("before", "index", "name", "after"),
    [
        (pair(), 0, "front left", ("front left", "front right")),
        (pair(), 1, " Front RIGHT ", ("Front LEFT", "Front RIGHT")),
        (pair("front left", "front right"), 0, "nose left", ("nose left", "nose right")),
        # Neither word, or a partner that was given a name of its own: it keeps it.
        (pair(), 0, "nose", ("nose", "wheel 2")),
        (pair("wheel 1", "sounder"), 0, "front left", ("front left", "sounder")),
        (pair("left", "wheel 2"), 1, "right", ("left", "right")),
    ],
)
def test_a_rename_takes_the_name_of_the_partner_along_where_it_belongs_to_it(before, index, name, after):
    assert tuple(w.name for w in edits.rename_wheel(before, index, name, mirror=True).wheels) == after
    alone = edits.rename_wheel(before, index, name)
    assert alone.wheels[1 - index].name == before.wheels[1 - index].name


def test_a_partner_takes_no_name_that_another_wheel_has():
    third = edits.rename_wheel(edits.add_wheel(pair(), 50.0, 0.0), 2, "front right")
    renamed = edits.rename_wheel(third, 0, "front left", mirror=True)
    assert [w.name for w in renamed.wheels] == ["front left", "wheel 2", "front right"]
    long = "left " + "x" * 35
    assert edits.rename_wheel(pair(), 0, long, mirror=True).wheels[1].name == "wheel 2"


def test_references_follow_the_names_of_both():
    chosen = edits.change_chassis(SIX, left_reference="middle left", right_reference="middle right")
    renamed = edits.rename_wheel(chosen, MIDDLE_LEFT, "mid left", mirror=True)
    assert (renamed.left_reference, renamed.right_reference) == ("mid left", "mid right")
