import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.controller.export_error import ExportError
from app.controller.steering_table import FLAGS, named_by_number, request_rows, slugs_of, table_of
from app.design import edits
from app.design.samples import sample_design
from geometry.errors import CommandError
from geometry.model.design import Design
from geometry.model.wheel import Wheel
from tests.strategies import designs, turns
from tests.unpacked import unpacked

SCOUT = sample_design("marsh_scout_six")


def column(table, name):
    return table.values[:, table.columns.index(name)]


def test_corner_angles_obey_the_closed_forms():
    s = np.linspace(-1, 1, 41)
    table = table_of(SCOUT, s)
    size = np.abs(s)
    outer = np.degrees(np.arctan2(132 * size, 120.0))
    inner = np.degrees(np.arctan2(132 * size, 120 * (1 - 2 * size)))
    left = np.where(s > 0, inner, -outer)
    right = np.where(s > 0, outer, -inner)
    np.testing.assert_allclose(column(table, "front_left_steer_deg"), left, atol=1e-9)
    np.testing.assert_allclose(column(table, "front_right_steer_deg"), right, atol=1e-9)
    np.testing.assert_allclose(column(table, "rear_left_steer_deg"), -left, atol=1e-9)


def test_motion_columns_obey_their_definitions():
    s = np.array([-1.0, -0.5, 0.0, 0.25, 1.0])
    table = table_of(SCOUT, s)
    assert table.columns[:5] == ("turn_input", "speed_ratio", "left_speed", "right_speed", "turn_radius_mm")
    assert column(table, "speed_ratio").tolist() == [-1, 0, 1, 0.5, -1]
    assert column(table, "left_speed").tolist() == [1, 1, 1, 0.5, -1]
    assert column(table, "right_speed").tolist() == [-1, 0, 1, 1, 1]
    assert column(table, "turn_radius_mm").tolist() == [0, -120, math.inf, 360, 0]


def test_side_speeds_are_the_rolling_speeds_of_the_middle_wheels():
    table = table_of(SCOUT, np.linspace(-1, 1, 21))
    np.testing.assert_allclose(column(table, "middle_left_speed"), column(table, "left_speed"), atol=1e-12)
    np.testing.assert_allclose(column(table, "middle_right_speed"), column(table, "right_speed"), atol=1e-12)


def test_toe_is_taken_off_what_the_steering_is_set_to():
    toed = edits.change_wheels(SCOUT, [0], toe_deg=2.0)
    table, plain = table_of(toed, [0.2]), table_of(SCOUT, [0.2])
    # Toe-in turns a left wheel clockwise, so its steering must be set 2 degrees further left.
    assert column(table, "front_left_steer_deg") == pytest.approx(column(plain, "front_left_steer_deg") + 2.0)


def test_fixed_wheels_and_casters_have_a_heading_and_no_steer_angle():
    names = table_of(sample_design("creek_tricycle"), [0.0]).columns
    assert "front_steer_deg" in names
    assert {"rear_left_heading_deg", "tail_caster_heading_deg"} <= set(names)
    assert not {"rear_left_steer_deg", "front_heading_deg"} & set(names)


def test_flags_tell_flips_travel_ends_missing_angles_and_drag():
    narrow = edits.change_wheels(SCOUT, range(6), travel_min_deg=-80.0, travel_max_deg=80.0)
    straight, flipped = table_of(narrow, [0.0, 0.6]).flags
    assert straight == ""
    assert flipped == "front_left:flipped;front_left:jumps;rear_left:flipped;rear_left:jumps"
    stiff = edits.change_wheels(SCOUT, [0], travel_min_deg=-10.0, travel_max_deg=10.0)
    assert table_of(stiff, [0.4]).flags == ("front_left:travel_end;front_left:drags",)
    trailing = Design(
        wheels=(
            Wheel(name="A", x_mm=0.0, y_mm=50.0),
            Wheel(name="B", x_mm=0.0, y_mm=-50.0),
            Wheel(name="C", x_mm=20.0, y_mm=0.0, kind="steered", trail_mm=30.0),
        )
    )
    assert "c:no_angle" in table_of(trailing, [1.0]).flags[0].split(";")
    swinging = edits.change_wheels(trailing, [2], kind="caster")
    assert table_of(swinging, [1.0]).flags == ("c:swings",)


def test_rows_cover_the_range_in_use_with_both_ends():
    cart = sample_design("reed_cart_four")
    asked = request_rows(cart, 5).turns
    assert asked == pytest.approx([-0.39, -0.195, 0.0, 0.195, 0.39])
    assert (asked[0], asked[2], asked[-1]) == (-0.39, 0.0, 0.39)
    with pytest.raises(CommandError):
        request_rows(cart, 1)


def test_a_turn_out_of_range_is_refused():
    with pytest.raises(CommandError, match="from -1 to 1"):
        table_of(SCOUT, [0.0, 1.5])


def test_a_chassis_without_wheels_has_no_table():
    with pytest.raises(ExportError, match="no wheels, so there is nothing to export; add some first"):
        table_of(Design(), [0.0])


@given(designs(min_wheels=1), st.lists(turns(), min_size=1, max_size=5))
def test_a_table_has_no_nan_and_no_column_twice(design, rows):
    table = table_of(design, rows)
    assert table.values.shape == (len(rows), len(table.columns))
    assert len(set(table.columns)) == len(table.columns)
    assert not np.isnan(table.values).any()
    assert len(table.flags) == len(rows)


@given(st.lists(st.text(min_size=1, max_size=12), max_size=12))
def test_slugs_are_plain_words_and_unique(names):
    slugs = slugs_of(names)
    assert len(set(slugs)) == len(slugs) == len(names)
    assert all(slug.isascii() and slug.isidentifier() and slug == slug.lower() for slug in slugs)


def test_wheels_called_left_and_right_do_not_take_the_columns_of_the_sides():
    pair = Design(wheels=(Wheel(name="Left", x_mm=0.0, y_mm=9.0), Wheel(name="Right", x_mm=0.0, y_mm=-9.0)))
    names = table_of(pair, [0.0]).columns
    assert len(set(names)) == len(names)
    assert "wheel_left_speed" in names


def test_a_slug_with_a_number_does_not_meet_a_name_with_that_number():
    assert slugs_of(["a b", "a_b", "a b 2", "2"]) == ["a_b", "a_b_2", "a_b_2_2", "wheel_2"]


def test_a_name_in_other_letters_gives_its_number_and_takes_no_latin_name():
    names = ["εμπρός αριστερά", "wheel 1", "左 1", "右 1", "!!!", "Ångström", "передний L"]
    slugs = slugs_of(names)
    assert slugs == ["wheel_1_2", "wheel_1", "wheel_3", "wheel_4", "wheel_5", "angstrom", "wheel_7"]


def test_a_motor_whose_name_ascii_cannot_tell_is_called_a_motor():
    design = unpacked(sample_design("marsh_scout_motors"))
    first, *others = design.steer_motors
    design = design.edited(steer_motors=(first.edited(name="левый"), *others))
    columns = table_of(design, [0.0]).columns
    assert any(name.startswith("motor_1_") for name in columns)
    assert named_by_number(design) == {"motor_1": "левый"}


def test_a_table_of_some_columns_has_their_values_in_its_own_order():
    table = table_of(sample_design("marsh_scout_six"), [0.0, 0.5])
    part = table.only({"rear_left_speed", "turn_input"})
    assert part.columns == ("turn_input", "rear_left_speed")
    assert part.values[:, 1].tolist() == table.values[:, table.columns.index("rear_left_speed")].tolist()
    assert not part.with_flags
    assert table.only({*table.columns, FLAGS}).with_flags


def test_a_wheel_that_pivots_on_the_centre_is_flagged_and_does_not_drag():
    near = Wheel(name="M", x_mm=2.0, y_mm=0.0, width_mm=60.0)
    rear = (Wheel(name="A", x_mm=0.0, y_mm=50.0), Wheel(name="B", x_mm=0.0, y_mm=-50.0))
    spin, turn = table_of(Design(wheels=(*rear, near), base_axle_x_mm=0.0), [1.0, 0.8]).flags
    assert (spin, turn) == ("m:pivots", "m:pivots")
    far = near.edited(x_mm=4.0)  # a twentieth of 60 mm is 3 mm
    assert table_of(Design(wheels=(*rear, far), base_axle_x_mm=0.0), [1.0]).flags == ("m:drags",)


@pytest.mark.parametrize(
    "wheel",
    [
        {"x_mm": 0.0, "y_mm": 60.0, "trail_mm": 1.0, "travel_min_deg": -135.0, "travel_max_deg": 135.0},
        {"x_mm": 150.0, "y_mm": 100.0, "travel_min_deg": -30.0, "travel_max_deg": 30.0},
        {"x_mm": 150.0, "y_mm": 100.0, "travel_min_deg": -90.0, "travel_max_deg": 90.0},
    ],
)
def test_an_angle_that_jumps_between_two_rows_is_flagged_on_the_second(wheel):
    rear = (Wheel(name="L", x_mm=0.0, y_mm=100.0), Wheel(name="R", x_mm=0.0, y_mm=-100.0))
    front = Wheel.model_validate({"name": "F", "kind": "steered", **wheel})
    table = table_of(Design(wheels=(*rear, front)), np.linspace(-1, 1, 401))
    angle = column(table, "f_steer_deg")
    flagged = ["f:jumps" in row.split(";") for row in table.flags]
    assert flagged == [False, *(np.abs(np.diff(angle)) > 45.0).tolist()]
    assert any(flagged)


def test_a_steady_table_has_no_jumps():
    steady = table_of(sample_design("reed_cart_four"), np.linspace(-0.39, 0.39, 41))
    assert not any("jumps" in row for row in steady.flags)
    # A fixed wheel or a caster has no angle to set, so it has none that jumps.
    swung = table_of(sample_design("creek_tricycle"), [-1.0, 1.0])
    assert not any("caster:jumps" in row for row in swung.flags)
