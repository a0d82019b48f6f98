"""Edits of motors: who holds which wheel, and what follows when wheels come and go."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.design import edits, motor_edits
from app.design.samples import sample_design
from geometry.errors import DesignError
from geometry.model.design import Design
from geometry.model.wheel import Wheel
from tests.windows import KEYS

SIX = sample_design(KEYS[0])
LEFT, RIGHT = ["front left", "rear left"], ["front right", "rear right"]


def held(design, kind):
    return [[(g.wheel, g.turns) for g in motor.wheels] for motor in motor_edits.motors_of(design, kind)]


@pytest.fixture
def four():
    design = SIX
    for wheels in (LEFT, RIGHT):
        design = motor_edits.add_motor(design, "steer", wheels)
    for wheel in ("middle left", "middle right"):
        design = motor_edits.add_motor(design, "drive", [wheel])
    return design


def test_a_rear_wheel_turns_the_other_way_than_the_front_wheel_on_its_motor(four):
    assert held(four, "steer") == [
        [("front left", 1.0), ("rear left", -1.0)],
        [("front right", 1.0), ("rear right", -1.0)],
    ]
    assert held(four, "drive") == [[("middle left", 1.0)], [("middle right", 1.0)]]


def test_motors_get_names_that_nobody_has(four):
    renamed = motor_edits.change_motor(four, "steer", 0, name="steer motor 3")
    more = motor_edits.add_motor(renamed, "steer", ["front left"])
    names = [motor.name for motor in more.steer_motors]
    assert names == ["steer motor 3", "steer motor 2", "steer motor 4"]


def test_a_new_motor_takes_its_wheels_off_the_others(four):
    design = motor_edits.add_motor(four, "steer", ["rear left", "rear right"])
    assert [[wheel for wheel, _ in motor] for motor in held(design, "steer")] == [
        ["front left"],
        ["front right"],
        ["rear left", "rear right"],
    ]


def test_a_wheel_that_gets_a_drive_motor_is_driven():
    free = edits.change_wheels(SIX, [2], driven=False)
    assert motor_edits.add_motor(free, "drive", ["middle left"]).wheels[2].driven
    other = motor_edits.add_motor(free, "drive", ["middle right"])
    assert motor_edits.hold_wheel(other, "drive", 0, "middle left").wheels[2].driven
    assert not motor_edits.add_motor(free, "steer", ["front left"]).wheels[2].driven


def test_a_motor_whose_last_wheel_moves_on_is_gone(four):
    one = motor_edits.hold_wheel(four, "drive", 0, "middle right")
    assert held(one, "drive") == [[("middle left", 1.0), ("middle right", 1.0)]]
    other = motor_edits.hold_wheel(four, "drive", 1, "middle left")
    assert [motor.name for motor in other.drive_motors] == ["drive motor 2"]


def test_a_wheel_held_or_released_twice_changes_nothing(four):
    assert motor_edits.hold_wheel(four, "steer", 0, "front left") is four
    assert motor_edits.release_wheel(SIX, "steer", "front left") is SIX
    assert motor_edits.set_gearing(SIX, "steer", "front left", ratio=2.0) is SIX


def test_a_train_takes_the_place_of_a_ratio_and_the_reverse(four):
    geared = motor_edits.set_gearing(four, "steer", "front left", train=((12, 36),))
    assert geared.steer_motors[0].wheels[0].turns == pytest.approx(-1 / 3)
    back = motor_edits.set_gearing(geared, "steer", "front left", ratio=1.0)
    assert back == four


@pytest.mark.parametrize(
    ("ratio", "train", "words"),
    [
        (0.0, (), "must not be 0"),
        (None, ((12, 0),), "a gear has teeth"),
        (None, ((12,),), "2 to 20 gears"),
        (None, (), "must be a number"),
    ],
)
def test_a_gearing_that_cannot_be_is_refused_with_its_place(four, ratio, train, words):
    with pytest.raises(DesignError, match=words) as refused:
        motor_edits.set_gearing(four, "steer", "rear left", ratio=ratio, train=train)
    assert "steer_motors[0].wheels[1]" in str(refused.value)


def test_sharing_keeps_what_motors_can_do_and_names_new_ones_apart(four):
    known = motor_edits.change_motor(four, "steer", 0, top_speed_deg_s=99.0, name="steer motor 2x")
    known = motor_edits.change_motor(known, "steer", 1, name="steer motor 3")
    groups = [[("front left", 1.0)], [("front right", 1.0)], [("rear left", 1.0), ("rear right", 0.5)]]
    shared = motor_edits.group_steering(known, groups)
    assert shared.steer_motors[0].top_speed_deg_s == 99.0
    names = [motor.name for motor in shared.steer_motors]
    assert names == ["steer motor 2x", "steer motor 3", "steer motor 4"]
    assert held(shared, "steer") == [[tuple(pair) for pair in group] for group in groups]
    assert shared.drive_motors == four.drive_motors


def test_fewer_groups_leave_fewer_motors(four):
    one = motor_edits.group_steering(four, [[(name, 1.0) for name in (*LEFT, *RIGHT)]])
    assert [motor.name for motor in one.steer_motors] == ["steer motor 1"]


def test_motors_follow_a_renamed_wheel_and_let_a_deleted_one_go(four):
    renamed = edits.rename_wheel(four, 0, "nose")
    assert held(renamed, "steer")[0] == [("nose", 1.0), ("rear left", -1.0)]
    left = edits.delete_wheels(four, [four.index_of("rear left"), four.index_of("middle left")])
    assert held(left, "steer")[0] == [("front left", 1.0)]
    assert [motor.name for motor in left.drive_motors] == ["drive motor 2"]


def test_gearing_of_named_wheels_alone_is_changed(four):
    both = motor_edits.hold_wheel(four, "drive", 0, "middle right")
    geared = motor_edits.gear_wheels(both, 0, {"middle right": 0.25})
    assert held(geared, "drive") == [[("middle left", 1.0), ("middle right", 0.25)]]


# Which wheels another motor would hold ----------------------------------------------------


def test_selected_wheels_without_a_motor_come_first():
    assert motor_edits.wheels_for(SIX, "steer", {0, 2, 4}) == ("front left", "rear left")
    assert motor_edits.wheels_for(SIX, "drive", {2, 4}) == ("middle left", "rear left")


def test_without_such_a_selection_the_next_wheel_without_a_motor_is_taken(four):
    some = motor_edits.delete_motor(four, "steer", 1)
    assert motor_edits.wheels_for(some, "steer", {0, 4}) == ("front right",)
    assert motor_edits.wheels_for(some, "steer", ()) == ("front right",)


def test_a_part_of_a_motor_can_be_split_off_but_a_whole_one_not(four):
    assert motor_edits.wheels_for(four, "steer", {0}) == ("front left",)
    assert motor_edits.wheels_for(four, "steer", {0, 4}) == ()
    assert motor_edits.wheels_for(four, "steer", ()) == ()


def test_a_wheel_that_rolls_free_is_not_driven_unasked(four):
    free = edits.change_wheels(four, [0, 1, 4, 5], driven=False)
    assert motor_edits.wheels_for(free, "drive", ()) == ()
    assert motor_edits.wheels_for(free, "drive", {0}) == ("front left",)


def test_the_first_drive_motor_of_a_chassis_without_drive_takes_the_first_wheel():
    caster = Wheel(name="c", x_mm=0.0, y_mm=0.0, kind="caster")
    fixed = Wheel(name="f", x_mm=50.0, y_mm=0.0)
    design = Design(wheels=(caster, fixed))
    assert motor_edits.wheels_for(design, "drive", ()) == ("f",)
    assert motor_edits.wheels_for(design, "drive", {0}) == ("f",)
    assert motor_edits.wheels_for(design, "steer", {0, 1}) == ()


# Any order of edits --------------------------------------------------------------------------

kinds = st.sampled_from(["steer", "drive"])
places = st.integers(0, 5)
acts = st.one_of(
    st.tuples(st.just("add"), kinds, st.sets(places)),
    st.tuples(st.just("hold"), kinds, places, places),
    st.tuples(st.just("release"), kinds, places),
    st.tuples(st.just("delete"), kinds, places),
    st.tuples(st.just("kind"), places, st.sampled_from(["fixed", "steered", "caster"])),
    st.tuples(st.just("driven"), places, st.booleans()),
)


def act(design, what, *details):
    if what == "kind":
        return edits.change_wheels(design, [details[0]], kind=details[1])
    if what == "driven":
        return edits.change_wheels(design, [details[0]], driven=details[1])
    kind = details[0]
    if what == "add":
        wheels = motor_edits.wheels_for(design, kind, details[1])
        return motor_edits.add_motor(design, kind, wheels) if wheels else design
    there = motor_edits.motors_of(design, kind)
    wheel = design.wheels[details[1]]
    if what == "release":
        return motor_edits.release_wheel(design, kind, wheel.name)
    if not there:
        return design
    if what == "delete":
        return motor_edits.delete_motor(design, kind, details[1] % len(there))
    if not motor_edits.can_hold(kind, wheel):
        return design
    return motor_edits.hold_wheel(design, kind, details[2] % len(there), wheel.name)


@given(st.lists(acts, max_size=25))
def test_no_order_of_edits_is_refused_or_loses_track_of_a_wheel(order):
    design = SIX
    for what, *details in order:
        before = design
        design = act(design, what, *details)
        for kind in ("steer", "drive"):
            names = [wheel for motor in held(design, kind) for wheel, _ in motor]
            assert len(names) == len(set(names))
            if what == "hold" and kind == details[0] and design is not before:
                assert design.wheels[details[1]].name in names
            if what == "release" and kind == details[0]:
                assert design.wheels[details[1]].name not in names
