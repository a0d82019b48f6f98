from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given

from geometry.errors import DesignError
from geometry.model.base_axle import Base, base_of
from geometry.model.design import Design
from geometry.model.wheel import Wheel
from geometry.model.wheel_arrays import wheel_arrays
from tests.strategies import designs


def wheel(name: str, x: float, y: float, **more: object) -> Wheel:
    return Wheel.model_validate({"name": name, "x_mm": x, "y_mm": y, **more})


def chassis(*wheels: Wheel, **more: object) -> Design:
    return Design().edited(wheels=wheels, **more)


def told(*wheels: Wheel, **more: object) -> str:
    with pytest.raises(DesignError) as caught:
        Design().edited(wheels=wheels, **more)
    return str(caught.value)


PAIR = (wheel("L", 0.0, 100.0), wheel("R", 0.0, -100.0))


def test_two_wheels_of_one_name_are_refused_whatever_the_capitals() -> None:
    assert told(wheel("Front", 0.0, 1.0), wheel("front", 5.0, 1.0)) == (
        "wheels[1].name must differ from wheels[0].name; capitals do not count (got 'front')"
    )


def test_two_wheels_on_one_point_are_refused() -> None:
    assert told(wheel("a", 1.0, 1.0), wheel("b", 1.0, 1.001)) == (
        "wheels[1].x_mm must not stand on wheels[0] (a); move one of them (got x 1, y 1.001)"
    )


@pytest.mark.parametrize(
    ("body", "words"),
    [
        (((0.0, 0.0), (1.0, 0.0)), "body_mm must have at least 3 corners, or none (got 2)"),
        (((0.0, 0.0), (9.0, 0.0), (9.0, 0.0)), "body_mm[2] must not repeat body_mm[1]"),
        (((0.0, 0.0), (9.0, 0.0), (0.0, 9.0), (0.0, 0.0)), "body_mm[0] must not repeat body_mm[3]"),
        (((0.0, 0.0), (9.0, 9.0), (9.0, 0.0), (0.0, 9.0)), "body_mm must not cross itself"),
    ],
)
def test_a_bad_outline_is_refused(body: tuple[tuple[float, float], ...], words: str) -> None:
    assert words in told(body_mm=body)


def test_references_must_exist_and_stand_left_to_right() -> None:
    assert told(*PAIR, left_reference="X") == (
        "left_reference must name a wheel of this chassis, or be null (got 'X')"
    )
    assert "must stand at least 1 mm to the left of right_reference" in told(
        *PAIR, left_reference="R", right_reference="L"
    )


def test_references_are_judged_by_their_contacts_as_the_wheels_stand() -> None:
    # 45 degrees of toe swing the contact of a long trail across the centre line.
    swung = wheel("L", 0.0, 20.0, trail_mm=-60.0, toe_deg=45.0)
    assert "must stand at least 1 mm to the left" in told(
        swung, wheel("R", 0.0, -20.0), left_reference="L", right_reference="R"
    )


def test_tolerances_must_rise() -> None:
    assert "slight_drag_within_deg must be at least aligned_within_deg, which is 5" in told(
        aligned_within_deg=5.0
    )


def test_arrays_are_radians_and_mm_with_toe_in_turned_inward() -> None:
    found = wheel_arrays(
        chassis(
            wheel("L", 10.0, 100.0, toe_deg=2.0, trail_mm=5.0, lateral_offset_mm=3.0, load_share=3.0),
            wheel("R", 10.0, -100.0, toe_deg=2.0, kind="steered", travel_min_deg=-30.0, travel_max_deg=45.0),
        )
    )
    assert np.degrees(found.built_in) == pytest.approx([-2.0, 2.0])
    assert np.degrees([found.low[1], found.high[1]]) == pytest.approx([-30.0, 45.0])
    assert (found.along[0], found.across[0]) == (-5.0, 3.0)
    assert found.load.tolist() == [0.75, 0.25]
    assert (found.fixed.tolist(), found.steered.tolist()) == ([True, False], [False, True])


def test_one_fixed_axle_is_the_base_axle() -> None:
    assert base_of(chassis(*PAIR, wheel("F", 150.0, 0.0, kind="steered"))) == Base(
        0.0, 100.0, -100.0, 0, 1, "fixed wheels"
    )


def test_two_fixed_axles_share_the_line_midway_or_by_load() -> None:
    pairs = [wheel(f"{x}{y}", x, y) for x in (-60.0, 20.0) for y in (100.0, -100.0)]
    assert base_of(chassis(*pairs)).x == pytest.approx(-20.0)
    heavy = [w.edited(load_share=3.0) if w.x_mm > 0 else w for w in pairs]
    assert base_of(chassis(*heavy)).x == pytest.approx(0.0)


def test_without_fixed_wheels_the_steered_ones_give_the_base_axle_and_the_builder_overrules() -> None:
    steered = [wheel(f"{x}{y}", x, y, kind="steered") for x in (-50.0, 150.0) for y in (80.0, -80.0)]
    assert (base_of(chassis(*steered)).x, base_of(chassis(*steered)).source) == (50.0, "steered wheels")
    chosen = base_of(chassis(*steered, base_axle_x_mm=-50.0))
    assert (chosen.x, chosen.source) == (-50.0, "chosen")


def test_the_base_axle_goes_through_the_contact_points_not_the_kingpins() -> None:
    pair = [w.edited(trail_mm=15.0) for w in PAIR]
    assert base_of(chassis(*pair)).x == -15.0


def test_driven_wheels_come_first_as_references_then_the_nearest_to_the_base_axle() -> None:
    wheels = (
        *PAIR,
        wheel("FL", 120.0, 90.0, driven=True, kind="steered"),
        wheel("far", -200.0, -90.0, driven=True, kind="steered"),
        wheel("near", 110.0, -90.0, driven=True, kind="steered"),
    )
    base = base_of(chassis(*wheels))
    assert (base.left, base.right) == (2, 4)


def test_the_nearest_reference_is_the_one_whose_contact_is_nearest_not_its_kingpin() -> None:
    wheels = (
        *PAIR,
        wheel("kingpin", 40.0, 90.0, driven=True, kind="steered", trail_mm=-60.0),
        wheel("contact", 60.0, 90.0, driven=True, kind="steered", trail_mm=50.0),
    )
    assert base_of(chassis(*wheels)).left == 3


def test_a_driven_caster_is_a_reference_only_where_nothing_else_is() -> None:
    caster = wheel("caster", 0.0, 150.0, driven=True, kind="caster", trail_mm=20.0)
    assert base_of(chassis(*PAIR, caster)).left == 0
    assert base_of(chassis(PAIR[1], caster)).left == 1


@pytest.mark.parametrize(("y", "beside"), [(0.99, False), (1.0, True), (-0.99, False), (-1.0, True)])
def test_a_wheel_is_beside_the_centre_line_from_one_millimetre_off(y: float, beside: bool) -> None:
    near = base_of(chassis(wheel("near", 0.0, y, driven=True)))
    assert (near.left if y > 0 else near.right) == (0 if beside else None)
    assert near.half_track == pytest.approx(1.0 if beside else 100.0)


@pytest.mark.parametrize("y", [0.0, 0.2, 0.7, -0.7])
def test_a_chosen_reference_near_the_centre_line_still_has_a_partner_a_track_away(y: float) -> None:
    left = base_of(chassis(wheel("near", 0.0, y), left_reference="near"))
    assert (left.left, left.y_left) == (0, y)
    assert left.half_track == pytest.approx(100.0)
    right = base_of(chassis(wheel("near", 0.0, y), right_reference="near"))
    assert (right.right, right.y_right) == (0, y)
    assert right.half_track >= 49


def test_offset_contacts_set_the_track() -> None:
    pair = (wheel("L", 0.0, 100.0, lateral_offset_mm=20.0), wheel("R", 0.0, -100.0, lateral_offset_mm=-10.0))
    base = base_of(chassis(*pair))
    assert (base.y_left, base.y_right, base.half_track, base.middle) == (120.0, -110.0, 115.0, 5.0)


def test_a_bare_side_mirrors_the_other() -> None:
    only_left = base_of(chassis(wheel("L", 0.0, 70.0)))
    assert (only_left.y_left, only_left.y_right, only_left.right) == (70.0, -70.0, None)
    only_right = base_of(chassis(wheel("R", 0.0, -70.0)))
    assert (only_right.y_left, only_right.y_right, only_right.left) == (70.0, -70.0, None)


def test_a_chosen_reference_stays_where_the_other_side_has_none() -> None:
    both_left = (wheel("in", 0.0, 40.0), wheel("out", 0.0, 90.0))
    right = base_of(chassis(*both_left, right_reference="out"))
    assert (right.right, right.y_right, right.left) == (1, 90.0, None)
    left = base_of(chassis(*(w.edited(y_mm=-w.y_mm) for w in both_left), left_reference="out"))
    assert (left.left, left.y_left, left.right) == (1, -90.0, None)


@given(designs())
def test_every_design_has_a_base_with_left_to_the_left(design: Design) -> None:
    base = base_of(design)
    assert math.isfinite(base.x)
    assert base.half_track >= 0.5
    for index, y in ((base.left, base.y_left), (base.right, base.y_right)):
        if index is not None and design.wheels[index].kind != "fixed":
            assert y == design.wheels[index].y_mm + design.wheels[index].lateral_offset_mm


@given(designs())
def test_a_design_survives_json_unchanged(design: Design) -> None:
    assert Design.model_validate_json(design.model_dump_json()) == design


def test_toe_in_goes_by_the_side_of_the_contact_and_not_of_the_kingpin() -> None:
    carried_over = wheel("A", 0.0, -5.0, lateral_offset_mm=60.0, toe_deg=5.0)
    stays = wheel("B", 50.0, -5.0, lateral_offset_mm=4.0, toe_deg=5.0)
    arrays = wheel_arrays(Design(wheels=(carried_over, stays)))
    assert np.degrees(arrays.built_in) == pytest.approx([-5.0, 5.0])


def test_arrays_hold_the_diameters() -> None:
    pair = (wheel("L", 0.0, 20.0, diameter_mm=75.0, width_mm=9.0), wheel("R", 0.0, -20.0))
    arrays = wheel_arrays(Design(wheels=pair))
    assert arrays.diameter.tolist() == [75.0, 60.0]
    assert arrays.width.tolist() == [9.0, 25.0]
