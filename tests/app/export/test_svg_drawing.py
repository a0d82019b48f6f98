"""SVG at full size: measured in the file, and read by the reader of outlines."""

import math
from xml.etree import ElementTree as ET

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.controller.export_error import ExportError
from app.design.outline_files.svg_path import paths_of
from app.drawing.elements import (
    Arc,
    Circle,
    Corner,
    Drawing,
    Line,
    Outline,
    Text,
    arc_edge,
    bulge_of,
    on_circle,
)
from app.drawing.layers import LAYERS
from app.export.svg_drawing import render
from tests.app.export.drawn import CUT, PAGE

SVG = "{http://www.w3.org/2000/svg}"
LABEL = "{urn:axlewright}label"


def read(drawing, **chosen):
    return ET.fromstring(render(drawing, **chosen))  # noqa: S314 - what this program wrote


def only(root, tag):
    (found,) = root.iter(SVG + tag)
    return found


def numbers(element, *keys):
    return [float(element.get(key)) for key in keys]


def curves(element):
    """The curves of a path with y up, by the reader of outlines."""
    ((found, closed),) = paths_of(element.get("d"))
    return [curve.moved(np.diag([1.0, -1.0]), np.zeros(2)) for curve in found], closed


def test_a_unit_of_the_file_is_a_millimetre_and_y_points_down():
    root = read(Drawing("reed", (Line("outline", (-10, 5), (90.5, 45.25)),)))
    left, top, width, height = (float(word) for word in root.get("viewBox").split())
    assert (root.get("width"), root.get("height")) == (f"{width:g}mm", f"{height:g}mm")
    assert numbers(only(root, "line"), "x1", "y1", "x2", "y2") == [-10, -5, 90.5, -45.25]
    # All of it is in sight, with a margin of three to four millimetres.
    for side in (-10 - left, left + width - 90.5, -45.25 - top, top + height + 5):
        assert 3 <= side <= 4.5


def test_layers_are_groups_with_their_look_in_the_order_in_which_things_lie():
    drawing = Drawing(
        "reed",
        (
            Line("axle line", (0, 0), (9, 0)),
            Circle("wheel", (3, 3), 2, filled=True),
            Line("axle line", (0, 5), (9, 5)),
        ),
    )
    groups = list(read(drawing).iter(SVG + "g"))
    assert [group.get(LABEL) for group in groups] == ["axle_line", "wheel", "axle_line"]
    assert [group.get("id") for group in groups] == ["axle_line", "wheel", "axle_line-2"]
    layer = LAYERS["axle line"]
    assert groups[0].get("stroke") == layer.ink
    assert float(groups[0].get("stroke-width")) == layer.width
    assert [float(word) for word in groups[0].get("stroke-dasharray").split()] == list(layer.dash)
    assert groups[1].get("stroke-dasharray") is None
    assert only(groups[1], "circle").get("fill") == LAYERS["wheel"].ground


@given(
    centre=st.tuples(st.floats(-5000, 5000), st.floats(-5000, 5000)),
    radius=st.floats(0.1, 5000),
    start=st.floats(-7, 7),
    sweep=st.floats(0.01, 6.28),
    way=st.sampled_from([1, -1]),
)
def test_arcs_of_any_turn_and_either_way_are_circular_arcs(centre, radius, start, sweep, way):
    part = Arc("sweep", centre, radius, start, way * sweep)
    found, closed = curves(only(read(Drawing("reed", (PAGE, part))).find(f"{SVG}g[2]"), "path"))
    assert not closed
    turned = 0.0
    for arc in found:
        assert arc.radius == pytest.approx(radius, abs=1e-6)
        np.testing.assert_allclose(arc.centre, centre, atol=1e-6)
        turned += arc.sweep * np.sign(arc.u[0] * arc.v[1] - arc.u[1] * arc.v[0])
    assert turned == pytest.approx(way * sweep, abs=2e-6 / radius + 1e-9)
    first, last = found[0], found[-1]
    begin = first.centre + first.u * math.cos(first.start) + first.v * math.sin(first.start)
    end = last.start + last.sweep
    np.testing.assert_allclose(begin, on_circle(centre, radius, start), atol=1e-6)
    np.testing.assert_allclose(
        last.centre + last.u * math.cos(end) + last.v * math.sin(end),
        on_circle(centre, radius, start + way * sweep),
        atol=1e-6,
    )


@pytest.mark.parametrize("sweep", [0.3, math.pi, 5.5, -0.3, -math.pi, -5.5])
def test_the_arcs_of_an_outline_bulge_as_they_are_said_to(sweep):
    corners = (Corner(0, 0), Corner(40, 0, bulge_of(sweep)), Corner(40, 30))
    found, closed = curves(only(read(Drawing("reed", (Outline("wheel", corners),))), "path"))
    wanted = arc_edge(corners[1], corners[2])
    arcs = [curve for curve in found if hasattr(curve, "sweep")]
    assert closed
    for arc in arcs:
        np.testing.assert_allclose(arc.centre, wanted.centre, atol=1e-6)
        assert arc.radius == pytest.approx(wanted.radius, abs=1e-6)
    assert sum(abs(arc.sweep) for arc in arcs) == pytest.approx(abs(sweep))


def test_a_whole_turn_is_a_circle():
    circle = only(read(Drawing("reed", (Arc("sweep", (3, 4), 5, 1.0, -2 * math.pi),))), "circle")
    assert numbers(circle, "cx", "cy", "r") == [3, -4, 5]


def test_texts_are_texts_with_their_place_size_turn_and_end():
    drawing = Drawing("reed", (Text("text", (10, 20), "bank 3", 4.5, "right", 0.5 * math.pi),))
    root = read(drawing)
    text = only(root, "text")
    assert (text.text, text.get("text-anchor")) == ("bank 3", "end")
    assert numbers(text, "x", "y", "font-size") == [10, -20, 4.5]
    assert text.get("transform") == "rotate(-90 10 -20)"
    assert root.get("font-family") == "'DejaVu Sans', sans-serif"


def test_title_and_notes_go_with_the_file():
    root = read(Drawing("reed <b>", (PAGE,), ("Mind the gap.", "And the step.")))
    assert root.find(SVG + "title").text == "reed <b>"
    assert root.find(SVG + "desc").text == "Mind the gap. And the step."


def test_what_is_to_be_cut_is_closed_empty_full_and_there_once():
    dashed = Circle("axle", (0, 0), 4, filled=True)
    root = read(Drawing("cut", (*CUT.elements, dashed, dashed)), cut=True)
    assert len(list(root.iter(SVG + "circle"))) == 4
    shapes = [*root.iter(SVG + "path"), *root.iter(SVG + "circle")]
    assert len(shapes) == len(CUT.elements) + 1
    assert all(shape.get("fill") is None for shape in shapes)
    assert all(path.get("d").endswith("Z") for path in root.iter(SVG + "path"))
    assert all(group.get("stroke-dasharray") is None for group in root.iter(SVG + "g"))


def test_an_open_path_or_a_text_is_not_cut():
    for element in (Line("outline", (0, 0), (1, 1)), Outline("outline", PAGE.corners, closed=False)):
        with pytest.raises(ExportError, match=r"closed paths only.* of the kind outline"):
            render(Drawing("cut", (*CUT.elements, element)), cut=True)


def test_nothing_cannot_be_drawn():
    with pytest.raises(ExportError, match="nothing to draw yet"):
        render(Drawing("empty", ()))
