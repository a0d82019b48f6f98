"""Collisions and weights in words, in the person's unit."""

import pytest

from app.words.fit_words import balance_lines, collision_words, text_of, thing_words
from geometry.model.packaging import Opening
from geometry.packaging.fit import Thing
from tests.geometry.packaging.chassis import box, chassis, fit, rod, wheel


def said(design, unit="mm", **turn):
    (one,) = fit(design, **turn).collisions
    return collision_words(design, one, unit)


def test_an_overlap_names_both_and_the_way_out():
    assert said(chassis(box("pump"), box("valve", x=35.0))) == (
        "pump and valve overlap; shortest way out: pump 5 mm backward"
    )


def test_what_only_comes_too_near_says_how_near_and_what_is_wanted():
    near = chassis(box("pump"), box("valve", x=43.0, clearance_mm=5.0))
    assert said(near) == (
        "pump comes within 3 mm of valve, and 5 mm is wanted; shortest way out: pump 2 mm backward"
    )
    assert said(near, "inch").startswith("pump comes within 0.118 in of valve, and 0.197 in is wanted")


@pytest.mark.parametrize(
    ("x", "y", "side"),
    [(0.0, 75.0, "left"), (0.0, -75.0, "right"), (165.0, 0.0, "front"), (-165.0, 0.0, "rear")],
)
def test_walls_are_named_by_the_side_that_they_face(x, y, side):
    assert f"the {side} wall" in said(chassis(box("pump", x, y)))


@pytest.mark.parametrize(
    ("place", "way"),
    [
        ({"x": 35.0}, "5 mm backward"),
        ({"x": -35.0}, "5 mm forward"),
        ({"y": 17.0}, "3 mm to the right"),
        ({"y": -17.0}, "3 mm to the left"),
        ({"bottom": 38.0}, "2 mm down"),
        ({"bottom": 22.0}, "2 mm up"),
    ],
)
def test_the_way_out_is_told_by_its_direction(place, way):
    assert said(chassis(box("pump"), box("valve", **place), body=())).endswith(f"pump {way}")


def test_an_opening_that_is_missed_is_named_with_its_face():
    axle = rod("axle", y=74.0, bottom=47.0, size=(60.0, 6.0), turn_deg=90.0)
    hole = Opening(face="left", x_mm=2.0, z_mm=50.0, diameter_mm=6.0)
    assert said(chassis(axle, openings=(hole,))) == (
        "axle does not pass opening 1 (left); shortest way out: axle 2 mm forward"
    )


def test_a_wheel_that_turns_in_says_whose_angle_and_whether_it_is_so_now():
    beside = box("pump", y=31.0, bottom=0.0, size=(100.0, 20.0, 60.0))
    design = chassis(beside, wheels=[wheel("A", travel_max_deg=60.0, travel_min_deg=0.0)], body=())
    assert said(design).startswith("pump and the wheel A overlap while it steers, first with A at 17.6")
    assert said(design, degrees=30.0).startswith(
        "pump and the wheel A overlap at this turn, first with A at 17.6"
    )


def test_a_depth_of_almost_nothing_does_not_read_as_0():
    assert said(chassis(box("pump"), box("valve", x=39.999))).endswith("pump 0.01 mm backward")


def test_floor_and_roof_are_named_plainly():
    assert thing_words(chassis(), Thing("floor", 0)) == "the floor"


def test_a_lifted_wheel_and_the_side_over_which_it_tips_are_told():
    places = ((200, 150), (200, -150), (0, 160), (0, -160), (-200, 150), (-200, -150))
    wheels = [wheel(f"w{i}", x, y, kind="fixed") for i, (x, y) in enumerate(places)]
    design = chassis(box(x=150.0, bottom=55.0, mass_kg=2.3), wheels=wheels, body=())
    lines = balance_lines(design, fit(design).balance)
    assert [line.split()[0] for line in lines if line.endswith("lifted")] == ["w4", "w5"]
    assert "8.46 N" in " ".join(lines)
    assert "It tips first over w" in lines[-1]
    assert "39.8°" in lines[-1]
    assert text_of(design, fit(design), 0.0).endswith("\n")
