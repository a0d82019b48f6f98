"""Body outlines and openings from a drawing: thinned within a stated error, placed, refused by place."""

import math

import numpy as np
import pytest
import shapely

from app.design.outline_edits import (
    add_openings,
    corners_of,
    set_body,
    shift_to_origin,
    shift_to_wheels,
    take_drawing,
    thinned,
    upright_rectangle,
)
from app.design.outline_files.drawing import Circle, Outline
from app.design.samples import sample_design
from geometry.errors import DesignError
from geometry.model.design import Design
from geometry.model.packaging import Opening

SCOUT = sample_design("marsh_scout_six")


def outline(points):
    return Outline("body", np.array(points, dtype=float))


def wavy(count=5_000):
    t = 2 * np.pi * np.arange(count) / count
    r = 150 + 20 * np.sin(5 * t) + 3 * np.cos(31 * t)
    return np.column_stack([r * np.cos(t), r * np.sin(t)])


@pytest.mark.parametrize("within", [5.0, 0.5, 0.05, 0.0])
def test_a_thinned_outline_is_off_by_no_more_than_it_says(within):
    points = wavy()
    found = thinned(points, 200, within)
    assert 3 <= len(found.points) <= 200
    ring = shapely.LinearRing(found.points)
    off = max(ring.distance(shapely.Point(p)) for p in points)
    assert off <= found.error_mm + 1e-9
    assert shapely.hausdorff_distance(shapely.LinearRing(points), ring) <= found.error_mm + 1e-9
    assert found.error_mm <= within or len(found.points) == 200
    assert off > 0.3 * found.error_mm


def test_corners_that_are_left_are_those_of_the_drawing_in_its_order():
    points = wavy(700)
    found = thinned(points, 60)
    places = [int(np.flatnonzero((points == p).all(axis=1))[0]) for p in found.points]
    turned = places.index(min(places))
    assert places[turned:] + places[:turned] == sorted(places)


def test_a_polygon_keeps_all_its_corners_and_loses_points_on_its_sides():
    found = thinned(np.array([(0, 0), (50, 0), (100, 0), (100, 80), (50, 80), (0, 80), (0, 40)], dtype=float))
    assert sorted(map(tuple, found.points.tolist())) == [(0, 0), (0, 80), (100, 0), (100, 80)]
    assert found.error_mm == 0


def test_a_triangle_stays_a_triangle_however_much_is_allowed():
    assert len(thinned(np.array([(0, 0), (9, 0), (4, 1)], dtype=float), 200, 1e9).points) == 3


def test_a_circle_becomes_a_body_with_the_stated_error_and_the_same_size():
    found = corners_of(Circle("", 10, 20, 300))
    radii = np.hypot(*(found.points - (10, 20)).T)
    middles = 0.5 * (found.points + np.roll(found.points, 1, axis=0)) - (10, 20)
    np.testing.assert_allclose(radii, 150)
    assert 150 - np.hypot(*middles.T).min() == pytest.approx(found.error_mm)
    assert found.error_mm <= 0.05
    assert found.points[:, 0].max() == pytest.approx(160)
    assert found.points[:, 1].min() == pytest.approx(-130)


def test_the_body_is_set_where_the_shift_says_and_nothing_else_changes():
    changed = set_body(SCOUT, outline([(0, 0), (100, 0), (100, 60), (0, 60)]), shift_to_origin(100, 60))
    assert set(changed.body_mm) == {(-100, -60), (0, -60), (0, 0), (-100, 0)}
    assert changed.edited(body_mm=SCOUT.body_mm) == SCOUT


def test_the_middle_of_the_outline_comes_to_the_middle_of_the_wheels():
    shape = outline([(1000, 0), (1300, 0), (1300, 160), (1000, 160)])
    body = np.array(set_body(SCOUT, shape, shift_to_wheels(SCOUT, shape)).body_mm)
    wheels = np.array([(wheel.x_mm, wheel.y_mm) for wheel in SCOUT.wheels])
    np.testing.assert_allclose(body.min(0) + body.max(0), wheels.min(0) + wheels.max(0), atol=1e-9)
    with pytest.raises(DesignError, match="wheels are needed"):
        shift_to_wheels(Design(), shape)


def test_circles_and_rectangles_become_openings_beside_those_that_there_are():
    before = SCOUT.edited(packaging=SCOUT.packaging.edited(openings=(Opening(diameter_mm=5.0),)))
    shapes = [Circle("", 10, 20, 8), outline([(0, 0), (30, 0), (30, 12), (0, 12)])]
    after = add_openings(before, shapes, (1, 2))
    assert after.packaging.openings == (
        Opening(diameter_mm=5.0),
        Opening(x_mm=11.0, y_mm=22.0, diameter_mm=8.0),
        Opening(x_mm=16.0, y_mm=8.0, length_mm=30.0, width_mm=12.0),
    )
    assert {opening.face for opening in after.packaging.openings} == {"floor"}
    assert add_openings(after, shapes, (1, 2)) == after
    assert after.body_mm == before.body_mm


@pytest.mark.parametrize(
    "points",
    [
        [(0, 0), (30, 1), (30, 12), (0, 12)],
        [(0, 0), (30, 0), (30, 12)],
        [(0, 0), (30, 0), (30, 12), (15, 14), (0, 12)],
        [(5, 0), (10, 5), (5, 10), (0, 5)],
    ],
)
def test_what_is_no_upright_rectangle_is_no_opening_and_its_place_is_told(points):
    assert upright_rectangle(outline(points)) is None
    with pytest.raises(
        DesignError, match=r"the outline at x 0\.0, y 0\.0 mm must be a circle or a rectangle"
    ):
        add_openings(SCOUT, [outline(points)])


@pytest.mark.parametrize("turned", range(4))
@pytest.mark.parametrize("way", [1, -1])
def test_a_rectangle_is_one_from_whichever_corner_it_is_drawn(turned, way):
    points = np.roll(
        np.array([(0, 0), (15, 0), (30, 0), (30, 12), (0, 12)], dtype=float)[::way], turned, axis=0
    )
    assert upright_rectangle(Outline("", points)) == (0, 0, 30, 12)


def test_both_are_taken_in_one_edit_with_one_shift():
    after = take_drawing(
        SCOUT, outline([(0, 0), (100, 0), (100, 60), (0, 60)]), [Circle("", 50, 30, 9)], (-50, -30)
    )
    assert after.packaging.openings == (Opening(diameter_mm=9.0),)
    assert np.abs(np.array(after.body_mm)).max(axis=0).tolist() == [50, 30]
    assert take_drawing(SCOUT, None, []) == SCOUT


@pytest.mark.parametrize(
    ("change", "why"),
    [
        (lambda: set_body(SCOUT, outline([(0, 0), (90, 50), (90, 0), (0, 50)])), "must not cross itself"),
        (lambda: set_body(SCOUT, outline([(0, 0), (99_000, 0), (0, 50)])), "body_mm"),
        (lambda: set_body(SCOUT, outline([(0, 0), (0.01, 0), (0, 0.01)])), "too small for a body"),
        (lambda: add_openings(SCOUT, [Circle("", 0, 0, 0.01)]), "diameter_mm"),
        (lambda: add_openings(SCOUT, [Circle("", i, 0, 5) for i in range(101)]), "at most 100; choose fewer"),
    ],
)
def test_what_cannot_be_taken_is_refused_in_a_sentence(change, why):
    with pytest.raises(DesignError, match=why):
        change()


def test_two_hundred_corners_at_most_reach_the_design_however_fine_the_drawing():
    body = set_body(SCOUT, Outline("", 8 * wavy(20_000)), within_mm=0.0).body_mm
    assert len(body) == 200
    assert math.isclose(shapely.Polygon(body).area, shapely.Polygon(8 * wavy(20_000)).area, rel_tol=0.01)


def test_lengths_are_kept_to_a_tenth_of_a_micrometre():
    body = set_body(SCOUT, outline([(0, 0), (100.12344, 0), (100.12344, 60.43216), (0, 60)])).body_mm
    assert (100.1234, 60.4322) in body
