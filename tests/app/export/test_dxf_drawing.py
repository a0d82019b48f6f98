"""DXF, read back by ezdxf: layers, kinds of entities, arcs, texts, and no fault that it would mend."""

import io
import math

import ezdxf
import numpy as np
import pytest
from ezdxf.enums import TextEntityAlignment
from ezdxf.math import bulge_to_arc
from hypothesis import given
from hypothesis import strategies as st

from app.controller.export_error import ExportError
from app.drawing.elements import (
    Arc,
    Circle,
    Corner,
    Dimension,
    Drawing,
    Line,
    Outline,
    Role,
    Text,
    arc_edge,
    bulge_of,
    on_circle,
)
from app.drawing.layers import LAYERS
from app.export.dxf_drawing import COLOURS, render
from tests.app.export.drawn import CUT, ONE_OF, PAGE


def read(drawing, **chosen):
    document = ezdxf.read(io.StringIO(render(drawing, **chosen)))
    found = document.audit()
    assert (found.errors, found.fixes) == ([], [])
    return document


def kinds(document):
    return [entity.dxftype() for entity in document.modelspace()]


def only(drawing, kind):
    (found,) = read(drawing).modelspace().query(kind)
    return found


def test_the_file_says_millimetres_and_shows_all_of_it():
    document = read(CUT)
    assert document.dxfversion == "AC1024"
    assert document.header["$INSUNITS"] == 4
    assert document.header["$MEASUREMENT"] == 1
    low, high = document.header["$EXTMIN"], document.header["$EXTMAX"]
    assert (low[0] < -80, low[1] < -120, high[0] > 80, high[1] > 120) == (True,) * 4
    (view,) = document.viewports.get("*Active")
    assert tuple(view.dxf.center)[:2] == pytest.approx((0.5 * (low[0] + high[0]), 0.5 * (low[1] + high[1])))
    assert view.dxf.height >= 240


def test_each_role_has_a_layer_with_colour_weight_and_strokes():
    every = Drawing("reed", tuple(Line(role, (0, k), (9, k)) for k, role in enumerate(LAYERS)))
    document = read(every)
    for role, layer in LAYERS.items():
        made = document.layers.get(layer.key)
        assert made.color == COLOURS[role]
        assert made.dxf.lineweight == round(100 * layer.width)
        strokes = document.linetypes.get(made.dxf.linetype).pattern_tags.tags
        lengths = [abs(tag.value) for tag in strokes if tag.code == 49]
        assert lengths == pytest.approx(layer.dash)
    assert [entity.dxf.layer for entity in document.modelspace()] == [one.key for one in LAYERS.values()]


def test_each_role_has_a_colour_and_what_is_cut_one_of_its_own():
    assert set(COLOURS) == set(Role.__args__)
    cut = [COLOURS[role] for role in ("outline", "opening", "kingpin", "axle", "part")]
    assert len(set(cut)) == len(cut)


def test_layers_that_hold_nothing_are_not_there():
    names = {layer.dxf.name for layer in read(Drawing("reed", (PAGE,))).layers}
    assert names == {"0", "Defpoints", "frame"}


@given(
    centre=st.tuples(st.floats(-5000, 5000), st.floats(-5000, 5000)),
    radius=st.floats(0.1, 5000),
    start=st.floats(-7, 7),
    sweep=st.floats(0.01, 6.28),
    way=st.sampled_from([1, -1]),
)
def test_arcs_of_any_turn_and_either_way_are_arcs(centre, radius, start, sweep, way):
    arc = only(Drawing("reed", (PAGE, Arc("sweep", centre, radius, start, way * sweep))), "ARC")
    assert tuple(arc.dxf.center)[:2] == centre
    assert arc.dxf.radius == radius
    ends = [on_circle(centre, radius, start), on_circle(centre, radius, start + way * sweep)][::way]
    np.testing.assert_allclose(tuple(arc.start_point)[:2], ends[0], atol=1e-6)
    np.testing.assert_allclose(tuple(arc.end_point)[:2], ends[1], atol=1e-6)
    assert math.radians((arc.dxf.end_angle - arc.dxf.start_angle) % 360) == pytest.approx(sweep)


def test_a_whole_turn_is_a_circle():
    circle = only(Drawing("reed", (Arc("sweep", (3, 4), 5, 1.0, 2 * math.pi),)), "CIRCLE")
    assert (tuple(circle.dxf.center)[:2], circle.dxf.radius) == ((3, 4), 5)


@pytest.mark.parametrize("sweep", [0.3, math.pi, 5.5, -0.3, -math.pi, -5.5])
def test_an_outline_is_one_closed_polyline_with_its_arcs(sweep):
    corners = (Corner(0, 0), Corner(40, 0, bulge_of(sweep)), Corner(40, 30))
    line = only(Drawing("reed", (Outline("wheel", corners),)), "LWPOLYLINE")
    assert line.closed
    points = line.get_points("xyb")
    assert points == [tuple(corner) for corner in corners]
    centre, start, end, radius = bulge_to_arc(points[1][:2], points[2][:2], points[1][2])
    wanted = arc_edge(corners[1], corners[2])
    np.testing.assert_allclose(tuple(centre), wanted.centre, atol=1e-9)
    assert radius == pytest.approx(wanted.radius)
    assert (end - start) % (2 * math.pi) == pytest.approx(abs(sweep))


def test_an_open_outline_stays_open():
    line = only(Drawing("reed", (Outline("wheel", PAGE.corners, closed=False),)), "LWPOLYLINE")
    assert not line.closed
    assert len(line) == 4


@pytest.mark.parametrize(
    ("align", "wanted"),
    [
        ("left", TextEntityAlignment.LEFT),
        ("middle", TextEntityAlignment.CENTER),
        ("right", TextEntityAlignment.RIGHT),
    ],
)
def test_texts_stand_where_they_should_with_the_height_of_their_capitals(align, wanted):
    text = only(Drawing("reed", (Text("text", (10, 20), "bank 3", 10.0, align, 0.5 * math.pi),)), "TEXT")
    found, place, _ = text.get_placement()
    assert (found, tuple(place)[:2]) == (wanted, (10, 20))
    assert text.dxf.rotation == pytest.approx(90)
    assert text.plain_text() == "bank 3"
    # Of the font's own outline: the letter H.
    from fontTools.ttLib import TTFont

    from app.drawing.lettering import font_bytes

    font = TTFont(io.BytesIO(font_bytes()))
    capital = font["glyf"][font.getBestCmap()[ord("H")]].yMax / font["head"].unitsPerEm
    assert text.dxf.height == pytest.approx(10 * capital, rel=2e-3)


def test_a_dimension_is_its_lines_arrows_and_number():
    document = read(Drawing("reed", (ONE_OF[Dimension],)))
    found = kinds(document)
    assert {kind: found.count(kind) for kind in set(found)} == {
        "LINE": 3,
        "LWPOLYLINE": 2,
        "HATCH": 2,
        "TEXT": 1,
    }
    assert {entity.dxf.layer for entity in document.modelspace()} == {"dimension"}


def test_ink_is_filled_and_ground_is_not():
    found = kinds(
        read(Drawing("r", (Circle("gauge", (0, 0), 2, filled=True), Circle("wheel", (9, 0), 2, filled=True))))
    )
    assert found == ["CIRCLE", "HATCH", "CIRCLE"]


def test_nothing_is_drawn_twice_on_a_layer():
    one = Line("outline", (0, 0), (9, 3))
    back = Line("outline", (9, 3), (0, 0))
    arc = Arc("outline", (0, 0), 5, 1.0, 2.0)
    turned = Arc("outline", (0, 0), 5, 3.0, -2.0)
    other_half = Arc("outline", (0, 0), 5, 3.0, 2 * math.pi - 2.0)
    corners = PAGE.corners
    around = Outline("frame", (*corners[2:], *corners[:2]))
    backward = Outline("frame", corners[::-1])
    elsewhere = Line("sweep", (0, 0), (9, 3))
    drawing = Drawing("r", (one, back, arc, turned, other_half, PAGE, around, backward, elsewhere, one))
    document = read(drawing)
    assert kinds(document) == ["LINE", "ARC", "ARC", "LWPOLYLINE", "LINE"]
    ends = {
        (round(arc.dxf.start_angle), round(arc.dxf.end_angle)) for arc in document.modelspace().query("ARC")
    }
    assert len(ends) == 2


def test_outlines_through_the_same_corners_by_other_arcs_are_two():
    shallow, deep, other_way = (
        Outline("opening", (Corner(0, 0, bulge), Corner(9, 0), Corner(9, 9))) for bulge in (0.2, 0.7, -0.2)
    )
    assert len(read(Drawing("r", (shallow, deep, other_way, shallow))).modelspace()) == 3


def test_what_has_no_length_is_left_out():
    corners = (Corner(0, 0), Corner(0, 0, 0.5), Corner(9, 0), Corner(9, 9), Corner(9, 9), Corner(0, 0))
    nothing = (
        Line("outline", (1, 1), (1, 1)),
        Arc("outline", (0, 0), 5, 1.0, 0.0),
        Circle("outline", (3, 3), 0.0),
        Text("text", (1, 1), "  ", 3.0),
    )
    document = read(Drawing("r", (*nothing, Outline("outline", corners))))
    (line,) = document.modelspace()
    assert line.get_points("xyb") == [(0, 0, 0.5), (9, 0, 0), (9, 9, 0)]


def test_what_is_to_be_cut_is_closed_full_and_there_once():
    dashed = Circle("axle", (0, 0), 4, filled=True)
    document = read(Drawing("cut", (*CUT.elements, dashed, dashed)), cut=True)
    space = document.modelspace()
    assert sorted(set(kinds(document))) == ["CIRCLE", "LWPOLYLINE"]
    assert len(space) == len(CUT.elements) + 1
    assert all(line.closed for line in space.query("LWPOLYLINE"))
    assert all(document.layers.get(entity.dxf.layer).dxf.linetype == "Continuous" for entity in space)


def test_a_text_is_not_cut():
    with pytest.raises(ExportError, match=r"closed paths only.*has a text of the kind text"):
        render(Drawing("cut", (*CUT.elements, ONE_OF[Text])), cut=True)
    with pytest.raises(ExportError, match="nothing to cut yet"):
        render(Drawing("cut", (Circle("outline", (0, 0), 0.0),)), cut=True)


def test_the_library_is_left_as_it_was():
    assert not ezdxf.options.write_fixed_meta_data_for_testing
    render(CUT)
    assert not ezdxf.options.write_fixed_meta_data_for_testing
