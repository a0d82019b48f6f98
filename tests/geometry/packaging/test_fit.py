"""Collisions by hand: which two, how deep, which way out, at this turn or only in the travel."""

import math

import numpy as np
import pytest

from geometry.model.motors import Gearing, SteerMotor
from geometry.model.packaging import Room
from tests.geometry.packaging.chassis import BODY, box, chassis, fit, found, kinds, post, rod, told, wheel

NO_BODY = ()


def test_an_empty_design_fits_and_has_no_weight():
    empty = fit(chassis(body=NO_BODY))
    assert empty.fits
    assert (empty.collisions, empty.balance, empty.centre_of_mass) == ((), None, None)


def test_parts_that_touch_at_sides_corners_or_heights_fit():
    beside, corner = box("b", x=40.0), box("c", x=-40.0, y=20.0)
    above = box("d", bottom=40.0)
    assert told(chassis(box(), beside, corner, above)) == []
    assert len(found(chassis(box(), box("b", x=39.999)))) == 1


def test_two_parts_name_depth_and_the_shortest_way_out():
    # They overlap by 5 along, 20 across and 10 upward; the first goes back.
    assert told(chassis(box(), box("b", x=35.0))) == [("part 0", "part 1", 5.0, "x", -1)]
    assert told(chassis(box(), box("b", y=-17.0))) == [("part 0", "part 1", 3.0, "y", 1)]
    assert told(chassis(box(), box("b", bottom=38.0))) == [("part 0", "part 1", 2.0, "z", -1)]


def test_the_way_out_also_restores_the_wanted_clearance():
    # 3 apart where 5 is wanted; above by 3 and beside by 3 it is hypot(3, 3) away.
    wide = box("b", x=43.0, clearance_mm=5.0)
    assert told(chassis(box(), wide)) == [("part 0", "part 1", 2.0, "x", -1)]
    (one,) = found(chassis(box(), wide))
    assert (one.clearance, one.wanted) == pytest.approx((3.0, 5.0))
    over = chassis(box(), box("b", x=43.0, bottom=43.0, clearance_mm=5.0))
    (one,) = found(over)
    assert one.clearance == pytest.approx(math.hypot(3.0, 3.0))
    assert one.depth == pytest.approx(1.0)
    assert told(chassis(box(), box("b", x=43.0, bottom=44.0, clearance_mm=5.0))) == []


def test_a_part_within_another_goes_out_by_the_shortest_way():
    assert told(
        chassis(box(size=(100.0, 60.0, 40.0)), box("b", x=10.0, bottom=45.0, size=(4.0, 4.0, 4.0)))
    ) == [("part 0", "part 1", 19.0, "z", 1)]


def test_room_for_plugs_is_wanted_as_the_part_itself():
    plugs = Room(front_mm=15.0)
    turned = box(room=plugs, turn_deg=90.0)
    assert told(chassis(turned, box("b", y=40.0))) == [("part 0", "part 1", 5.0, "y", -1)]
    assert told(chassis(box(turn_deg=90.0), box("b", y=40.0))) == []
    above = box(room=Room(above_mm=7.0, below_mm=2.0))
    assert told(chassis(above, box("b", bottom=45.0), box("c", bottom=23.5, size=(40.0, 20.0, 5.0)))) == [
        ("part 0", "part 1", 2.0, "z", -1),
        ("part 0", "part 2", 0.5, "z", 1),
    ]


def test_a_cylinder_with_room_is_round_at_the_end_of_its_room():
    round_ = post(room=Room(front_mm=10.0), size=(10.0, 10.0))
    corner = box("b", x=15.0 + 10.0 + 4.0, y=14.0, size=(20.0, 20.0, 10.0))
    # From the middle of the round end at (10, 0) to the corner at (19, 4).
    (one,) = found(chassis(round_, corner.edited(clearance_mm=5.0)))
    assert one.clearance == pytest.approx(math.hypot(9.0, 4.0) - 5.0)


def test_pairs_that_may_touch_are_left_out():
    pair = (box("shaft"), box("gear", x=30.0), box("other", x=-30.0))
    assert len(found(chassis(*pair))) == 2
    assert told(chassis(*pair, may_touch=(("gear", "shaft"),))) == [("part 0", "part 2", 10.0, "x", 1)]


def test_a_lying_cylinder_is_as_wide_as_its_chord_in_the_shared_heights():
    # A rod of 10 along x, its axis at 35; the box above it from 38: the chord there is 2 * sqrt(25 - 9) = 8.
    beside = box("b", y=4.0 + 5.0, bottom=38.0, size=(40.0, 10.0, 10.0))
    assert told(chassis(rod(), beside)) == []
    (one,) = found(chassis(rod(), beside.edited(y_mm=6.0)))
    assert one.depth == pytest.approx(math.sqrt(25.0 - 1.0**2) - 3.0, abs=2e-5)
    assert (one.axis, one.sign) == ("z", -1)
    (one,) = found(chassis(rod(), beside.edited(y_mm=8.9, bottom_mm=35.0)))
    assert (one.depth, one.axis, one.sign) == (pytest.approx(1.1), "y", -1)


# The body -------------------------------------------------------------------------------------


def test_a_part_that_keeps_its_clearance_to_walls_floor_and_roof_fits():
    # Inside are 354 x 162 between heights 23 and 117.
    full = box(bottom=25.0, size=(350.0, 158.0, 90.0), clearance_mm=2.0)
    assert told(chassis(full)) == []
    assert kinds(chassis(full.edited(length_mm=350.01))) == [("part", "wall")]
    assert told(chassis(full.edited(x_mm=0.5))) == [("part 0", "wall 3", 0.5, "x", -1)]
    assert told(chassis(full.edited(bottom_mm=24.5))) == [("part 0", "floor 0", 0.5, "z", 1)]
    assert told(chassis(full.edited(bottom_mm=25.25))) == [("part 0", "roof 0", 0.25, "z", -1)]


def test_without_a_roof_a_part_may_stand_out_above_and_still_meets_the_walls():
    tall = box(bottom=23.0, size=(40.0, 20.0, 200.0))
    assert kinds(chassis(tall)) == [("part", "roof")]
    assert told(chassis(tall, has_roof=False)) == []
    assert kinds(chassis(tall.edited(y_mm=80.0), has_roof=False)) == [("part", "wall")]


@pytest.mark.parametrize(
    "out",
    [
        box(x=200.0, bottom=0.0, size=(39.0, 20.0, 200.0)),
        box(bottom=120.0),
        box(bottom=10.0),
        box(x=203.0, clearance_mm=3.0),
        box(bottom=122.0, x=180.0, clearance_mm=2.0),
    ],
)
def test_a_part_wholly_outside_the_body_fits(out):
    assert told(chassis(out)) == []


def test_a_part_outside_that_comes_too_near_is_told_with_the_nearest_face():
    assert told(chassis(box(x=202.0, clearance_mm=3.0))) == [("part 0", "wall 3", 1.0, "x", 1)]
    assert told(chassis(box(bottom=121.0, clearance_mm=2.0))) == [("part 0", "roof 0", 1.0, "z", 1)]


def test_a_part_larger_than_the_body_meets_all_of_it():
    assert kinds(chassis(box(bottom=0.0, size=(500.0, 300.0, 200.0)))) == [
        ("part", "floor"),
        ("part", "roof"),
        ("part", "wall"),
    ]


@pytest.mark.parametrize("wall", [0.0, 3.0])
def test_walls_of_no_thickness_still_are_walls(wall):
    assert kinds(chassis(box(y=84.0), wall_mm=wall)) == [("part", "wall")]
    assert kinds(chassis(box(bottom=15.0), wall_mm=wall)) == [("part", "floor")]
    assert told(chassis(box(x=160.0 - wall, y=74.0 - wall, bottom=20.0 + wall), wall_mm=wall)) == []


def test_a_body_without_an_outline_is_met_by_nothing():
    assert told(chassis(box(y=84.0, bottom=0.0), body=NO_BODY)) == []


def test_an_inside_of_its_own_takes_the_place_of_the_walls_thickness():
    inner = ((100.0, 40.0), (-100.0, 40.0), (-100.0, -40.0), (100.0, -40.0))
    assert told(chassis(box(x=80.0, y=30.0), inner_mm=inner)) == []
    assert told(chassis(box(x=80.0, y=31.0), inner_mm=inner)) == [("part 0", "wall 0", 1.0, "y", -1)]
    # Wholly within the wall the nearest way is down, out of the body altogether.
    assert told(chassis(box(x=0.0, y=60.0), inner_mm=inner)) == [("part 0", "wall 0", 20.0, "z", -1)]
    assert told(chassis(box(x=0.0, y=60.0, bottom=60.0), inner_mm=inner)) == [
        ("part 0", "wall 0", 30.0, "y", -1)
    ]


def test_a_hollow_outline_keeps_what_is_in_its_bay_outside():
    bay = ((100, 80), (20, 80), (20, 0), (-20, 0), (-20, 80), (-100, 80), (-100, -80), (100, -80))
    body = tuple((float(x), float(y)) for x, y in bay)
    assert told(chassis(box(y=40.0, size=(40.0, 60.0, 10.0)), body=body)) == []
    assert told(chassis(box(y=40.0, size=(42.0, 60.0, 10.0)), body=body))[0][1].startswith("wall")
    assert told(chassis(box(x=60.0, y=40.0, size=(70.0, 60.0, 10.0)), body=body)) == []


# Wheels ---------------------------------------------------------------------------------------


def test_a_wheel_that_turns_is_told_with_the_angle_at_which_it_first_meets_a_part():
    # The corner of a wheel 60 x 25 reaches 32.5 from the kingpin, at 22.62 degrees from its heading.
    beside = box(x=0.0, y=21.0 + 10.0, bottom=0.0, size=(100.0, 20.0, 60.0))
    design = chassis(beside, wheels=[wheel(travel_min_deg=-40.0, travel_max_deg=60.0)], body=NO_BODY)
    (one,) = found(design)
    assert (one.first.kind, one.second.kind, one.now) == ("part", "wheel", False)
    assert (one.wheel, one.axis, one.sign, one.clearance) == (0, "y", 1, 0.0)
    # It is deepest where the corner stands straight to the side, at 67.38 degrees; it gets to 60.
    corner = math.degrees(math.atan2(12.5, 30.0))
    assert one.depth == pytest.approx(32.5 * math.sin(math.radians(60.0 + corner)) - 21.0)
    assert abs(math.degrees(one.steer)) == pytest.approx(math.degrees(math.asin(21.0 / 32.5)) - corner)
    assert [c.now for c in found(design, degrees=30.0)] == [True]


def test_a_steer_motor_that_leaves_less_travel_leaves_more_room():
    beside = box(x=0.0, y=31.0, bottom=0.0, size=(100.0, 20.0, 60.0))
    design = chassis(beside, wheels=[wheel()], body=NO_BODY)
    assert len(found(design)) == 1
    motor = SteerMotor(
        name="servo", wheels=(Gearing(wheel="wheel", ratio=0.5),), travel_min_deg=-30.0, travel_max_deg=30.0
    )
    assert found(design.edited(steer_motors=(motor,))) == ()


def test_a_fixed_wheel_sweeps_nothing_and_a_caster_all_round():
    beside = box(x=0.0, y=31.0, bottom=0.0, size=(100.0, 20.0, 60.0))
    fixed = wheel(kind="fixed")
    assert found(chassis(beside, wheels=[fixed], body=NO_BODY)) == ()
    # Its wheel trails: to the left it comes only by turning to the right, and the other way round.
    caster = wheel(kind="caster", trail_mm=30.0, travel_min_deg=-1.0, travel_max_deg=1.0)
    both = [box(f"b{y}", y=y, bottom=0.0, size=(10.0, 10.0, 60.0)) for y in (40.0, -40.0)]
    assert len(found(chassis(*both, wheels=[caster], body=NO_BODY))) == 2


def test_a_wheel_beside_its_kingpin_sweeps_further():
    # Contact 30 beside the kingpin: the far corner reaches hypot(30, 42.5).
    reach = math.hypot(30.0, 42.5)
    ahead = box(x=reach + 20.0, y=30.0, bottom=0.0, size=(40.0, 200.0, 60.0))
    beside = wheel(lateral_offset_mm=30.0)
    assert found(chassis(ahead, wheels=[beside], body=NO_BODY)) == ()
    (one,) = found(chassis(ahead.edited(x_mm=reach + 19.5), wheels=[beside], body=NO_BODY))
    assert one.depth == pytest.approx(0.5, abs=1e-6)


def test_a_wheel_passes_under_a_part_as_far_as_its_roundness_allows():
    # At height 48 the chord of a wheel of 60 is 48; the part ahead may come to 24.
    over = box(x=24.0 + 20.0, bottom=48.0, size=(40.0, 20.0, 30.0))
    fixed = [wheel(kind="fixed")]
    assert found(chassis(over, wheels=fixed, body=NO_BODY)) == ()
    (one,) = found(chassis(over.edited(x_mm=36.0), wheels=fixed, body=NO_BODY))
    assert (one.axis, one.sign) == ("z", 1)
    assert one.depth == pytest.approx(math.sqrt(30.0**2 - 16.0**2) - 18.0, abs=2e-5)


def test_wheels_meet_one_another_each_at_its_own_angle():
    # Two corners of 32.5 reach one another below 65, though no one angle of both alike does.
    pair = [wheel("a"), wheel("b", x=64.9, travel_min_deg=-90.0, travel_max_deg=90.0)]
    (one,) = found(chassis(wheels=pair, body=NO_BODY))
    assert (one.first.index, one.second.index, one.now) == (0, 1, False)
    assert one.depth == pytest.approx(0.1, abs=1e-3)
    assert found(chassis(wheels=[pair[0], pair[1].edited(x_mm=65.1)], body=NO_BODY)) == ()


def test_a_wheel_meets_the_body_when_it_turns_in():
    # Beside the body from 84 on: turned across a wheel of 60 reaches 32.5 inward.
    design = chassis(wheels=[wheel("a", x=0.0, y=84.0 + 32.0)], body_mass_kg=1.0)
    # The floor lies 7 below the axle, where the chord reaches less than 32 inward.
    (one,) = found(design)
    assert (one.first.kind, one.second.kind, one.second.index) == ("wheel", "wall", 0)
    assert (one.depth, one.axis, one.sign) == (pytest.approx(0.5, abs=1e-5), "y", 1)
    assert found(chassis(wheels=[wheel("a", x=0.0, y=84.0 + 32.6)], body_mass_kg=1.0)) == ()


def test_a_body_of_which_no_heights_are_known_is_met_by_nothing():
    assert found(chassis(wheels=[wheel("a", x=0.0, y=84.0)])) == ()
    assert len(found(chassis(wheels=[wheel("a", x=0.0, y=84.0)], has_roof=False))) == 2


def test_a_part_on_a_kingpin_turns_with_its_wheel_and_never_meets_it():
    servo = box("servo", x=0.0, y=30.0, bottom=65.0, size=(10.0, 10.0, 10.0), mounted_on="wheel")
    ahead = box("ahead", x=30.0, y=0.0, bottom=65.0, size=(10.0, 10.0, 10.0))
    turning = wheel(travel_min_deg=-95.0, travel_max_deg=10.0)
    design = chassis(servo, ahead, wheels=[turning], body=NO_BODY)
    (one,) = found(design)
    assert (one.first.index, one.second.index, one.wheel, one.now) == (0, 1, 0, False)
    # Its corner that leads, at (5, 25) from the kingpin or (5, 35), meets the side at y = 5.
    assert -90.0 < math.degrees(one.steer) < -60.0
    assert [c.now for c in found(design, degrees=-90.0)] == [True]
    within = chassis(servo.edited(bottom_mm=20.0, y_mm=0.0), wheels=[turning], body=NO_BODY)
    assert found(within) == ()
    assert kinds(
        within.edited(
            packaging=within.packaging.edited(
                parts=(servo.edited(bottom_mm=20.0, y_mm=0.0, mounted_on=None),)
            )
        )
    ) == [("part", "wheel")]


def test_two_parts_on_one_kingpin_meet_as_they_stand_on_it():
    pair = [
        box(n, x=x, y=40.0, bottom=65.0, size=(10.0, 10.0, 10.0), mounted_on="wheel")
        for n, x in (("a", 0.0), ("b", 9.0))
    ]
    (one,) = found(chassis(*pair, wheels=[wheel()], body=NO_BODY))
    assert (one.depth, one.axis, one.wheel) == (pytest.approx(1.0), "x", None)
    assert found(chassis(pair[0], pair[1].edited(x_mm=10.0), wheels=[wheel()], body=NO_BODY)) == ()


def test_the_deepest_collision_comes_first():
    depths = [
        c.depth for c in found(chassis(box(), box("b", x=35.0), box("c", x=-39.0), box("d", y=-17.0, x=2.0)))
    ]
    assert depths == sorted(depths, reverse=True)
    assert len(depths) >= 3


def test_the_outline_may_run_either_way():
    assert told(chassis(box(x=170.0), body=BODY[::-1]))[0][2:] == told(chassis(box(x=170.0)))[0][2:]


def test_a_wheel_out_of_its_travel_still_collides_at_this_turn():
    beside = box(x=0.0, y=31.0, bottom=0.0, size=(100.0, 20.0, 60.0))
    design = chassis(beside, wheels=[wheel(travel_min_deg=-5.0, travel_max_deg=5.0)], body=NO_BODY)
    assert found(design) == ()
    (one,) = found(design, degrees=90.0)
    assert one.now
    assert one.depth == pytest.approx(9.0)
    assert np.isfinite(one.depth)


def test_as_many_parts_as_there_may_be_in_one_place_are_all_told():
    heap = [box(f"p{i}", x=float(i % 7), y=float(i % 5)) for i in range(200)]
    pairs = found(chassis(*heap, body=NO_BODY))
    assert len(pairs) == 200 * 199 // 2
    assert {one.axis for one in pairs} == {"z"}
    assert {round(one.depth, 6) for one in pairs} == {10.0}


def test_a_clearance_is_also_kept_to_the_bulge_of_a_wheel_below():
    # The part's lower corner, 28.5 ahead at height 48, is hypot(28.5, 18) - 30 = 3.71 from the tread.
    over = box(x=28.5 + 20.0, bottom=48.0, size=(40.0, 20.0, 30.0), clearance_mm=4.0)
    assert len(found(chassis(over, wheels=[wheel(kind="fixed")], body=NO_BODY))) == 1
    assert found(chassis(over.edited(clearance_mm=1.9), wheels=[wheel(kind="fixed")], body=NO_BODY)) == ()
