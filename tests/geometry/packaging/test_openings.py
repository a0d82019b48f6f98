"""Openings: what passes with all that crosses, and what is told to miss."""

import math

import pytest

from geometry.model.packaging import Opening
from tests.geometry.packaging.chassis import box, chassis, found, post, rod, told, wheel

AXLE = rod("axle", y=74.0, bottom=47.0, size=(60.0, 6.0), turn_deg=90.0)


def hole(face="left", **more):
    return Opening(face=face, **more)


def round_(face="left", diameter=6.0, **more):
    return Opening(face=face, diameter_mm=diameter, **more)


def oblong(face="left", length=10.0, width=10.0, **more):
    return Opening(face=face, length_mm=length, width_mm=width, **more)


def test_an_axle_passes_a_round_hole_of_its_own_size():
    assert told(chassis(AXLE, openings=(round_(z_mm=50.0),))) == []
    assert told(chassis(AXLE)) == [("part 0", "wall 0", 23.0, "y", -1)]


def test_an_axle_that_is_off_its_hole_is_told_with_the_shift_into_it():
    assert told(chassis(AXLE, openings=(round_(x_mm=2.0, z_mm=50.0),))) == [
        ("part 0", "opening 0", 2.0, "x", 1)
    ]
    assert told(chassis(AXLE, openings=(round_(z_mm=49.0),))) == [("part 0", "opening 0", 1.0, "z", -1)]
    # A little play: half of it on each side.
    assert told(chassis(AXLE, openings=(round_(x_mm=2.0, z_mm=50.0, diameter=8.0),))) == [
        ("part 0", "opening 0", 1.0, "x", 1)
    ]


def test_clearance_counts_between_axle_and_hole():
    wide = AXLE.edited(clearance_mm=1.0)
    assert told(chassis(wide, openings=(round_(z_mm=50.0, diameter=8.0),))) == []
    assert len(told(chassis(wide, openings=(round_(z_mm=50.0, diameter=7.9),)))) == 1


def test_an_opening_in_another_face_is_no_help():
    for other in (round_("right", z_mm=50.0), round_("front", z_mm=50.0), round_("floor")):
        assert told(chassis(AXLE, openings=(other,)))[0][1] == "wall 0"


def test_only_what_crosses_the_wall_must_lie_in_the_opening():
    # A turned box pokes its corner out through the left wall; as a whole it is wider than the opening.
    corner = box(y=60.0, size=(40.0, 40.0, 20.0), turn_deg=45.0)
    out = 60.0 + 20.0 * math.sqrt(2.0)
    across = 2.0 * (out - 81.0)
    slot = oblong(length=across, width=20.0, z_mm=40.0)
    assert told(chassis(corner, openings=(slot,))) == []
    assert len(told(chassis(corner, openings=(slot.edited(length_mm=across - 0.1),)))) == 1
    assert len(told(chassis(corner, openings=(slot.edited(width_mm=19.9),)))) == 1


def test_two_openings_that_meet_are_not_one():
    plate = box(y=80.0, size=(20.0, 40.0, 10.0))
    halves = [oblong(length=10.0, width=10.0, x_mm=x, z_mm=35.0) for x in (-5.0, 5.0)]
    assert len(told(chassis(plate, openings=tuple(halves)))) == 1
    assert told(chassis(plate, openings=(oblong(length=20.0, z_mm=35.0),))) == []


def test_a_part_through_floor_and_roof_needs_an_opening_in_both():
    mast = post("mast", x=10.0, bottom=0.0, size=(8.0, 200.0))
    both = (round_("floor", 8.0, x_mm=10.0), round_("roof", 8.0, x_mm=10.0))
    assert told(chassis(mast, openings=both)) == []
    assert [one[1] for one in told(chassis(mast, openings=both[:1]))] == ["roof 0"]
    assert [one[1] for one in told(chassis(mast, openings=(both[0], round_("roof", 8.0, x_mm=11.0))))] == [
        "opening 1"
    ]


def test_a_wheel_well_must_hold_the_wheel_over_all_its_travel():
    # The wheel of 60 x 25 stands half in the body; at the floor, 7 below the axle, it is 58.34 long.
    turning = wheel(travel_min_deg=-30.0, travel_max_deg=30.0)
    well = oblong("floor", length=66.0, width=52.0)
    assert told(chassis(wheels=[turning], openings=(well,))) == []
    (one,) = found(chassis(wheels=[turning], openings=(well.edited(width_mm=40.0),)))
    assert (one.first.kind, one.second.kind, one.now, one.wheel) == ("wheel", "opening", False, 0)
    # Half the width of 20 is reached where 29.17 sin(a) + 12.5 cos(a) = 20.
    chord = math.sqrt(30.0**2 - 7.0**2)
    reach, own = math.hypot(chord, 12.5), math.atan2(12.5, chord)
    at = math.degrees(math.asin(20.0 / reach) - own)
    assert abs(math.degrees(one.steer)) == pytest.approx(at, abs=0.6)
    assert [
        c.now for c in found(chassis(wheels=[turning], openings=(well.edited(width_mm=40.0),)), degrees=25.0)
    ] == [True]


def test_a_round_well_holds_a_wheel_that_turns_all_round():
    reach = math.hypot(math.sqrt(30.0**2 - 7.0**2), 12.5)
    caster = wheel(kind="caster")
    assert told(chassis(wheels=[caster], openings=(round_("floor", 2.0 * reach + 0.6),))) == []
    assert len(told(chassis(wheels=[caster], openings=(round_("floor", 2.0 * reach - 0.1),)))) == 1


def test_a_wheel_through_the_side_wall_needs_the_wall_open_only_above_the_floor():
    # Half out of the left wall; it stands from 0 to 60, the wall from 23 on, the floor below.
    fixed = wheel(kind="fixed", y=84.0)
    side = oblong(length=60.0, width=38.0, z_mm=42.0)
    floor = oblong("floor", length=60.0, width=30.0, y_mm=84.0)
    assert told(chassis(wheels=[fixed], openings=(side, floor))) == []
    assert [one[1] for one in told(chassis(wheels=[fixed], openings=(floor,)))] == ["wall 0"]
    low = oblong(length=60.0, width=36.0, z_mm=41.0)
    assert [one[1] for one in told(chassis(wheels=[fixed], openings=(low, floor)))] == ["opening 0"]


def test_an_opening_serves_a_wall_that_is_seen_from_its_side_however_it_slants():
    slant = ((180.0, 40.0), (140.0, 80.0), (-180.0, 80.0), (-180.0, -80.0), (180.0, -80.0))
    pin = rod("pin", x=160.0, y=60.0, bottom=47.0, size=(30.0, 6.0), turn_deg=45.0)
    through = oblong(length=24.0, width=6.0, x_mm=160.0, z_mm=50.0)
    assert len(told(chassis(pin, body=slant))) == 1
    assert told(chassis(pin, body=slant, openings=(through,))) == []
    from_front = oblong("front", length=24.0, width=6.0, y_mm=60.0, z_mm=50.0)
    assert told(chassis(pin, body=slant, openings=(from_front,))) == []
    assert (
        len(told(chassis(pin, body=slant, openings=(oblong("rear", 24.0, 6.0, y_mm=60.0, z_mm=50.0),)))) == 1
    )
