"""SVG drawings written by hand: every shape and command, units, transforms, copies."""

import math

import numpy as np
import pytest
import shapely

from app.design.outline_files.drawing import DrawingError
from app.design.outline_files.laying import laid_out
from app.design.outline_files.reading import sketch_of

FINE = 0.001
MM = 'width="200mm" height="100mm" viewBox="0 0 200 100"'


def drawn(inside, root=MM, **asked):
    text = (
        f'<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" '
        f'xmlns:own="http://example.org/own" {root}>{inside}</svg>'
    )
    # Drawing right is forward here: x is that of the file, and y its negative, since Y points down there.
    return laid_out(sketch_of(text.encode(), "plate.svg"), FINE, **{"forward": "right", **asked})


def only(inside, root=MM, **asked):
    found = drawn(inside, root, **asked)
    assert found.left_out == {}
    assert not found.circles
    (outline,) = found.outlines
    return outline


def test_y_points_down_in_the_file_and_nothing_is_mirrored():
    found = only('<polygon points="0,0 30,0 30,10"/>')
    assert sorted(map(tuple, found.points.round(9).tolist())) == [(0, 0), (30, -10), (30, 0)]


@pytest.mark.parametrize(
    ("forward", "place"), [("up", (-20, -10)), ("right", (10, -20)), ("down", (20, 10)), ("left", (-10, 20))]
)
def test_up_on_the_screen_is_forward_unless_another_direction_is_chosen(forward, place):
    (circle,) = drawn('<circle cx="10" cy="20" r="3"/>', forward=forward).circles
    assert (circle.x, circle.y, circle.diameter) == pytest.approx((*place, 6))


def test_a_round_rectangle_lacks_the_corners_of_its_square_ones():
    found = only('<rect x="10" y="20" width="60" height="30" rx="8" ry="4"/>')
    assert found.area_mm2 == pytest.approx(1800 - (4 - math.pi) * 8 * 4, abs=FINE * 200)
    assert found.bounds == pytest.approx((10, -50, 70, -20))
    plain = only('<rect x="10" y="20" width="60" height="30"/>')
    assert plain.area_mm2 == pytest.approx(1800)


def test_one_radius_of_a_rectangle_stands_for_both_and_none_is_larger_than_half_a_side():
    one, both = (only(f'<rect width="60" height="30" {radii}/>') for radii in ('ry="8"', 'rx="8" ry="8"'))
    np.testing.assert_array_equal(one.points, both.points)
    found = only('<rect width="60" height="30" rx="99"/>')
    assert found.area_mm2 == pytest.approx(math.pi * 30 * 15, abs=FINE * 200)


def test_an_ellipse_has_its_area():
    found = only('<ellipse cx="100" cy="50" rx="40" ry="20"/>')
    assert found.area_mm2 == pytest.approx(math.pi * 800, abs=FINE * 200)


SQUARE = shapely.box(10, -40, 50, -20)


@pytest.mark.parametrize(
    "data",
    [
        "M10 20 H50 V40 H10 Z",
        "m10,20h40v20h-40z",
        "M10 20 50 20 50 40 10 40z",
        "m10 20 40 0 0 20-40 0z",
        "M10 20L50 20L50 40L10 40L10 20",
        "M 10 20 l 40 0 l 0 20 l -40 0 Z",
        "M1e1,2.0E1H+50V40H.1e2z",
        "M10 20C10 20 50 20 50 20c0 0 0 20 0 20Q30 40 10 40z",
    ],
)
def test_the_same_rectangle_by_every_way_of_writing_it(data):
    found = shapely.Polygon(only(f'<path d="{data}"/>').points)
    assert found.symmetric_difference(SQUARE).area == pytest.approx(0, abs=1e-6)


def test_cubic_and_quadratic_curves_enclose_what_their_integrals_say():
    # Between a cubic of height 3h/4 and its chord: 3/5 b h for controls at both ends; a parabola: 2/3 b h/2.
    cubic = only('<path d="M0 0 C 0 20 60 20 60 0 Z"/>')
    assert cubic.area_mm2 == pytest.approx(0.6 * 60 * 20, abs=FINE * 90)
    parabola = only('<path d="M0 0 Q 30 40 60 0 Z"/>')
    assert parabola.area_mm2 == pytest.approx(2 / 3 * 60 * 20, abs=FINE * 90)


@pytest.mark.parametrize(
    ("smooth", "spelled"),
    [
        (
            "M0 0 C10 30 20 30 40 0 S 70 -30 80 0 V 50 H 0 z",
            "M0 0 C10 30 20 30 40 0 C 60 -30 70 -30 80 0 V 50 H 0 z",
        ),
        (
            "m0 0c10 30 20 30 40 0s30-30 40 0v50h-80z",
            "M0 0 C10 30 20 30 40 0 C 60 -30 70 -30 80 0 V 50 H 0 z",
        ),
        ("M0 0 Q 20 30 40 0 T 80 0 V 50 H 0 z", "M0 0 Q 20 30 40 0 Q 60 -30 80 0 V 50 H 0 z"),
        ("M0 0 L 40 0 S 70 -30 80 0 V 50 H 0 z", "M0 0 L 40 0 C 40 0 70 -30 80 0 V 50 H 0 z"),
        ("M0 0 C10 30 20 30 40 0 T 80 0 V 50 H0 z", "M0 0 C10 30 20 30 40 0 Q 40 0 80 0 V 50 H 0 z"),
    ],
)
def test_a_smooth_curve_mirrors_the_handle_of_one_of_its_kind_alone(smooth, spelled):
    np.testing.assert_allclose(
        only(f'<path d="{smooth}"/>').points, only(f'<path d="{spelled}"/>').points, atol=1e-9
    )


@pytest.mark.parametrize(("large", "sweep"), [(0, 0), (0, 1), (1, 0), (1, 1)])
def test_the_four_arcs_between_two_points_are_told_apart(large, sweep):
    """Two points 30 apart on a circle of radius 25: chord segments by the closed form."""
    found = only(f'<path d="M50 50 A 25 25 0 {large} {sweep} 80 50 Z"/>')
    angle = 2 * math.asin(15 / 25)
    angle = 2 * math.pi - angle if large else angle
    assert found.area_mm2 == pytest.approx(25**2 * (angle - math.sin(angle)) / 2, abs=FINE * 200)
    # Sweep 1 turns clockwise on the screen: from left to right it passes above, where y is less in the file.
    assert (found.bounds[3] > -50 + 1) == bool(sweep)


def test_an_arc_of_a_leaning_ellipse_stays_on_it():
    found = only('<path d="M60 50 A 40 20 30 1 1 120 50 Z"/>')
    a = math.radians(30)
    turn = np.array([[math.cos(a), math.sin(a)], [-math.sin(a), math.cos(a)]])
    points = found.points * (1, -1)
    fits = []
    for centre in ((points[:-1] @ turn.T) / (40, 20),):
        # On a unit circle after the map: the middle that all points share is found by least squares.
        rows = np.column_stack([2 * centre, np.ones(len(centre))])
        solved = np.linalg.lstsq(rows, (centre**2).sum(axis=1), rcond=None)[0]
        fits.append(solved[2] + solved[:2] @ solved[:2])
    assert fits == pytest.approx([1.0], abs=1e-6)


def test_an_arc_too_small_to_reach_is_enlarged_to_a_half_circle():
    found = only('<path d="M0 0 A 1 1 0 0 1 40 0 Z"/>')
    assert found.area_mm2 == pytest.approx(math.pi * 400 / 2, abs=FINE * 80)


def test_flags_of_arcs_may_stand_close_together():
    close, wide = (
        only(f'<path d="{d}"/>').points for d in ("M0 0a25 25 0 0130 0z", "M0 0 a 25 25 0 0 1 30 0 z")
    )
    np.testing.assert_array_equal(close, wide)


def test_a_circle_by_two_arcs_is_an_exact_circle_and_parts_of_a_path_stand_alone():
    found = drawn('<path d="M20 20 a5 5 0 1 0 10 0 a5 5 0 1 0 -10 0z m 30 0 h10v10h-10z"/>')
    (circle,) = found.circles
    assert (circle.x, circle.y, circle.diameter) == pytest.approx((25, -20, 10))
    assert found.outlines[0].bounds == pytest.approx((50, -30, 60, -20))


@pytest.mark.parametrize(
    ("transform", "matrix"),
    [
        ("translate(3 4)", [[1, 0, 3], [0, 1, 4]]),
        ("translate(3)", [[1, 0, 3], [0, 1, 0]]),
        ("scale(2,-3)", [[2, 0, 0], [0, -3, 0]]),
        ("scale(2)", [[2, 0, 0], [0, 2, 0]]),
        ("rotate(90)", [[0, -1, 0], [1, 0, 0]]),
        ("rotate(90, 10, 20)", [[0, -1, 30], [1, 0, 10]]),
        ("skewX(45)", [[1, 1, 0], [0, 1, 0]]),
        ("skewY(45)", [[1, 0, 0], [1, 1, 0]]),
        ("matrix(1 2 3 4 5 6)", [[1, 3, 5], [2, 4, 6]]),
        ("translate(10,0) scale(2)", [[2, 0, 10], [0, 2, 0]]),
        ("scale(2),translate(10,0)", [[2, 0, 20], [0, 2, 0]]),
    ],
)
def test_every_transform_moves_points_as_its_matrix(transform, matrix):
    points = np.array([(0, 0), (30, 0), (30, 10)], dtype=float)
    words = " ".join(f"{x:g},{y:g}" for x, y in points)
    found = only(f'<g transform="{transform}"><polygon points="{words}"/></g>')
    expected = np.column_stack([points, np.ones(3)]) @ np.array(matrix).T * (1, -1)
    assert shapely.Polygon(found.points).symmetric_difference(shapely.Polygon(expected)).area < 1e-6


def test_a_circle_in_a_leaning_group_is_an_ellipse_of_the_right_area_and_groups_nest():
    found = only('<g transform="skewX(30)"><g transform="scale(2 3)"><circle cx="9" cy="9" r="5"/></g></g>')
    assert found.area_mm2 == pytest.approx(6 * math.pi * 25, abs=FINE * 200)


def test_copies_are_placed_and_symbols_are_fitted():
    found = drawn(
        '<defs><circle id="hole" cx="1" cy="2" r="3"/></defs>'
        '<use xlink:href="#hole" x="10" y="20"/><use href="#hole" transform="translate(50 0)" x="1"/>'
        '<symbol id="plate" viewBox="0 0 10 10"><rect width="10" height="10"/></symbol>'
        '<use href="#plate" x="100" y="10" width="40" height="20"/>'
    )
    assert sorted((c.x, c.y) for c in found.circles) == [(11, -22), (52, -2)]
    # Fitted into 40 by 20: 20 by 20 in the middle.
    assert found.outlines[0].bounds == pytest.approx((110, -30, 130, -10))


@pytest.mark.parametrize(
    ("root", "mm"),
    [
        (MM, 1.0),
        ('width="20cm" height="10cm" viewBox="0 0 200 100"', 1.0),
        ('width="2in" height="1in" viewBox="0 0 200 100"', 0.254),
        ('width="144pt" height="72pt" viewBox="0 0 200 100"', 0.254),
        ('width="12pc" height="6pc" viewBox="0 0 200 100"', 0.254),
        ('width="192" height="96" viewBox="0 0 200 100"', 0.254),
        ('width="192px" viewBox="0 0 200 100"', 0.254),
        ('width="192" height="96"', 25.4 / 96),
        ("", 25.4 / 96),
        ('width="100%" viewBox="0 0 200 100"', 25.4 / 96),
        ('width="400mm" height="100mm" viewBox="0 0 200 100"', 1.0),
    ],
)
def test_width_and_view_box_state_the_unit(root, mm):
    found = drawn('<circle cx="30" cy="10" r="5"/>', root)
    assert found.circles[0].diameter == pytest.approx(10 * mm)
    assert ("not stated" in found.unit) == (root in {"", 'width="100%" viewBox="0 0 200 100"'})


def test_a_drawing_that_is_stretched_by_its_own_word_is_stretched():
    found = only(
        '<rect width="10" height="10"/>',
        'width="400mm" height="100mm" viewBox="0 0 200 100" preserveAspectRatio="none"',
    )
    assert found.bounds == pytest.approx((0, -10, 20, 0))


def test_lengths_may_have_units_of_their_own():
    found = drawn('<circle cx="1in" cy="25.4mm" r="48"/>', 'width="192" height="96"')
    (circle,) = found.circles
    assert (circle.x, circle.y, circle.diameter) == pytest.approx((25.4, -25.4, 25.4))


def test_lines_whose_ends_meet_make_an_outline_and_layers_are_groups():
    found = drawn(
        '<g own:label="Deck plate" id="g1"><line x1="0" y1="0" x2="40" y2="0"/>'
        '<polyline points="40,0 40,30 0,30 0,0"/></g><g id="holes"><circle r="3"/></g><circle r="9"/>'
    )
    assert [(o.layer, o.area_mm2) for o in found.outlines] == [("Deck plate", 1200)]
    assert sorted(c.layer for c in found.circles) == ["(no group)", "holes"]


def test_what_is_left_out_is_told():
    found = drawn(
        '<circle r="3"/><text>a</text><text>b</text><image href="x.png"/><g style="display: none"><rect/></g>'
        '<rect width="0" height="5"/><use href="#nowhere"/><own:thing/><title>t</title><path d="M0 0 L 5"/>'
    )
    assert found.left_out == {
        "text": 2,
        "image": 1,
        "thing that the drawing hides": 1,
        "rect without a size": 1,
        "copy of something that is not in the file": 1,
    }
    assert any(
        "path at line 1 has path data that cannot be read at character 9" in line for line in found.told()
    )


def test_an_open_path_is_told_by_the_numbers_of_the_file():
    found = drawn('<circle r="3"/><polyline points="7,20 30,20 30,40"/>')
    assert any("one at 7, 20 of the drawing" in line for line in found.told())


def bomb(levels):
    rows = "".join(f'<g id="g{i}">' + f'<use href="#g{i - 1}"/>' * 10 + "</g>" for i in range(1, levels))
    return f'<defs><g id="g0"><circle r="3"/></g>{rows}</defs><use href="#g{levels - 1}"/>'


def test_copies_that_multiply_or_hold_themselves_are_refused():
    with pytest.raises(DrawingError, match="far more than an outline"):
        drawn(bomb(9))
    found = drawn('<circle r="3"/><g id="a"><use href="#a"/></g>')
    assert found.left_out == {"copy that holds itself": 1}


@pytest.mark.parametrize(
    ("text", "why"),
    [
        (
            '<!DOCTYPE svg [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;">]><svg>&b;</svg>',
            "entities of its own at line 1",
        ),
        ('<!DOCTYPE svg [<!ENTITY x SYSTEM "file:///etc/hostname">]><svg>&x;</svg>', "entities of its own"),
        ("<svg><g></svg>", "not valid XML: mismatched tag at line 1"),
        ("<html/>", "no SVG drawing: it begins with 'html'"),
        ("<svg>" + "<g>" * 80 + "</g>" * 80 + "</svg>", "nested more than 60 deep"),
        ("<svg/>", "no closed outline"),
        ('<svg width="10mm" viewBox="0 0 0 5"/>', "viewBox"),
        ('<svg width="10mm" viewBox="0 0 1e-300 1e-300"/>', "no drawing can have"),
        ('<svg width="1e-300mm" viewBox="0 0 1e9 1e9"/>', "no drawing can have"),
        ('<?xml version="1.0" encoding="no-such"?><svg/>', "save it as plain SVG in UTF-8|save it anew"),
        ('<svg><path d="M0 0 L 1e999 0 L 5 5z"/></svg>', "holds a number beyond 1e\\+09"),
    ],
)
def test_a_bad_file_is_named_with_its_place_and_what_helps(text, why):
    with pytest.raises(DrawingError, match=why) as told:
        laid_out(sketch_of(text.encode(), "plate.svg"))
    assert "plate.svg" in str(told.value)


def test_text_in_utf_16_and_a_mark_in_front_are_read():
    text = f'<svg xmlns="http://www.w3.org/2000/svg" {MM}><circle r="3"/></svg>'
    for data in (text.encode("utf-16"), b"\xef\xbb\xbf" + text.encode(), b"\n \n" + text.encode()):
        assert laid_out(sketch_of(data, "a.svg")).circles[0].diameter == pytest.approx(6)
