"""DXF drawings that ezdxf wrote: areas and places by closed forms and by Shapely."""

import io
import math

import ezdxf
import numpy as np
import pytest
import shapely
from ezdxf import recover
from ezdxf.lldxf.const import DXFStructureError
from scipy.interpolate import BSpline

from app.design.outline_files.drawing import DrawingError
from app.design.outline_files.laying import laid_out
from app.design.outline_files.reading import sketch_of

FINE = 0.001


def drawn(draw, *, unit=4, version="R2000", form="asc", **asked):
    document = ezdxf.new(version)
    document.header["$INSUNITS"] = unit
    draw(document.modelspace(), document)
    if form == "bin":
        stream = io.BytesIO()
        document.write(stream, fmt="bin")
        data = stream.getvalue()
    else:
        text = io.StringIO()
        document.write(text)
        data = text.getvalue().encode()
    # Drawing right is forward here: then x and y are those of the file.
    return laid_out(sketch_of(data, "plate.dxf"), FINE, **{"forward": "right", **asked})


def only_outline(drawing):
    assert not drawing.circles
    assert drawing.left_out == {}
    (outline,) = drawing.outlines
    return outline


def test_a_circle_by_two_bulges_is_an_exact_circle():
    found = drawn(lambda msp, _: msp.add_lwpolyline([(10, 5, 1), (50, 5, 1)], format="xyb", close=True))
    (circle,) = found.circles
    assert (circle.x, circle.y, circle.diameter) == pytest.approx((30, 5, 40))
    assert not found.outlines


@pytest.mark.parametrize("bulge", [0.2, -0.2, 1.0, -1.0, 2.5, math.tan(math.pi / 8)])
def test_a_bulge_encloses_the_segment_of_its_circle(bulge):
    """Chord 60 and a bulge of tan(a/4): the segment has r²(a - sin a)/2, r = chord / (2 sin(a/2))."""
    found = only_outline(
        drawn(
            lambda msp, _: msp.add_lwpolyline(
                [(0, 0, bulge), (60, 0, 0), (60, 80, 0), (0, 80, 0)], format="xyb", close=True
            )
        )
    )
    angle = 4 * math.atan(abs(bulge))
    radius = 60 / (2 * math.sin(angle / 2))
    segment = radius**2 * (angle - math.sin(angle)) / 2
    # The line runs to the right below the rest: a bulge above 0 turns left, and so hangs below.
    assert found.area_mm2 == pytest.approx(4800 + math.copysign(segment, bulge), abs=FINE * 400)
    # Its greatest height over the chord is half of the chord times the bulge.
    assert found.bounds[1] == pytest.approx(min(0, -30 * bulge), abs=FINE)


def test_old_polylines_have_bulges_too():
    found = only_outline(
        drawn(
            lambda msp, _: msp.add_polyline2d(
                [(0, 0, 0), (60, 0, 1), (60, 80, 0), (0, 80, 0)], format="xyb", close=True
            ),
            version="R12",
            unit=0,
        )
    )
    assert found.area_mm2 == pytest.approx(4800 + math.pi * 1600 / 2, abs=FINE * 200)


def test_an_ellipse_has_the_area_and_the_box_of_its_axes():
    found = only_outline(drawn(lambda msp, _: msp.add_ellipse((5, 6), (30, 40), 0.4)))
    assert found.area_mm2 == pytest.approx(math.pi * 50 * 20, abs=FINE * 300)
    half = math.hypot(30, 0.4 * 40), math.hypot(40, 0.4 * 30)
    assert found.bounds == pytest.approx((5 - half[0], 6 - half[1], 5 + half[0], 6 + half[1]), abs=2 * FINE)


def test_half_an_ellipse_and_its_chord_make_half_the_area():
    def draw(msp, _):
        msp.add_ellipse((0, 0), (50, 0), 0.5, start_param=0, end_param=math.pi)
        msp.add_line((50, 0), (-50, 0))

    assert only_outline(drawn(draw)).area_mm2 == pytest.approx(math.pi * 50 * 25 / 2, abs=FINE * 200)


def test_a_spline_goes_through_the_points_that_another_library_computes():
    controls = np.array([(0, 0), (20, 60), (70, 90), (120, 30), (80, -20), (0, 0)], dtype=float)
    document = ezdxf.new("R2000").modelspace().add_open_spline([(*p, 0) for p in controls])
    knots = np.array(document.knots, dtype=float)

    found = only_outline(drawn(lambda msp, _: msp.add_open_spline([(*p, 0) for p in controls])))
    dense = BSpline(knots, controls, 3)(np.linspace(knots[0], knots[-1], 20_001))
    ring = shapely.LinearRing(found.points)
    assert shapely.hausdorff_distance(shapely.LineString(dense), ring) <= FINE * 1.05
    assert found.area_mm2 == pytest.approx(shapely.Polygon(dense).area, abs=0.2)


def test_a_rational_spline_of_a_circle_is_round():
    """Nine control points with weights 1 and 1/sqrt(2), degree 2: a whole circle, in any book on splines."""
    corners = [(1, 0), (1, 1), (0, 1), (-1, 1), (-1, 0), (-1, -1), (0, -1), (1, -1), (1, 0)]
    weights = [1, math.sqrt(0.5)] * 4 + [1]
    knots = [0, 0, 0, 1, 1, 2, 2, 3, 3, 4, 4, 4]

    def draw(msp, _):
        made = msp.add_spline(degree=2)
        made.control_points = [(40 * x, 40 * y, 0) for x, y in corners]
        made.knots, made.weights = knots, weights
        made.dxf.flags = 4

    found = only_outline(drawn(draw))
    radii = np.hypot(*found.points.T)
    np.testing.assert_allclose(radii, 40, atol=1e-9)
    assert found.area_mm2 == pytest.approx(math.pi * 1600, abs=FINE * 260)


def test_fit_points_alone_are_passed_through():
    points = [(0, 0), (40, 30), (80, 0), (40, -50), (0, 0)]
    found = only_outline(drawn(lambda msp, _: msp.add_spline([(*p, 0) for p in points])))
    ring = shapely.LinearRing(found.points)
    assert max(ring.distance(shapely.Point(p)) for p in points) <= FINE


def test_lines_and_arcs_drawn_apart_are_chained_to_one_stadium():
    def draw(msp, _):
        msp.add_arc((100, 20), 20, 270, 90)
        msp.add_line((0, 40), (100, 40))
        msp.add_line((100, 0), (0, 0))
        msp.add_arc((0, 20), 20, 90, 270)

    found = only_outline(drawn(draw))
    assert found.area_mm2 == pytest.approx(100 * 40 + math.pi * 400, abs=FINE * 130)
    assert found.gap_mm < 1e-9


def test_blocks_in_blocks_are_scaled_unequally_turned_mirrored_and_repeated():
    def draw(msp, document):
        inner = document.blocks.new("INNER", base_point=(1, 1))
        inner.add_circle((1, 1), 10)
        inner.add_lwpolyline([(0, 0, 0.5), (8, 0, 0), (8, 4, -0.3), (0, 4, 0)], format="xyb", close=True)
        outer = document.blocks.new("OUTER")
        outer.add_blockref("INNER", (5, -3), dxfattribs={"xscale": 3, "yscale": -1, "rotation": 20})
        msp.add_blockref("OUTER", (100, 50), dxfattribs={"xscale": 0.5, "yscale": 2, "rotation": -35})

    def chain(points):
        def mapped(p, at, sx, sy, degrees, base=(0, 0)):
            a = math.radians(degrees)
            turn = np.array([[math.cos(a), -math.sin(a)], [math.sin(a), math.cos(a)]])
            return (p - base) @ (turn @ np.diag([sx, sy])).T + at

        return mapped(mapped(points, (5, -3), 3, -1, 20, (1, 1)), (100, 50), 0.5, 2, -35)

    found = drawn(draw)
    assert len(found.outlines) == 2
    big, small = found.outlines
    assert big.area_mm2 == pytest.approx(3 * math.pi * 100, abs=0.2)  # 3 · 1 · 0.5 · 2
    t = np.linspace(0, 2 * np.pi, 3_000)
    circle = chain(np.column_stack([1 + 10 * np.cos(t), 1 + 10 * np.sin(t)]))
    assert shapely.hausdorff_distance(shapely.LineString(circle), shapely.LinearRing(big.points)) < 2 * FINE
    corners = chain(np.array([(0, 0), (8, 0), (8, 4), (0, 4)], dtype=float))
    ring = shapely.LinearRing(small.points)
    assert max(ring.distance(shapely.Point(p)) for p in corners) < 1e-9
    assert min(np.hypot(*(small.points - corner).T).min() for corner in corners) < 1e-9
    lowest = chain(np.array([(4, -2.0)]))  # the top of the bulge of half the chord times 0.5
    assert ring.distance(shapely.Point(lowest[0])) < 2 * FINE


def test_an_equally_scaled_mirrored_block_keeps_its_circles_and_repeats_them():
    def draw(msp, document):
        document.blocks.new("HOLE").add_circle((2, 0), 1.5)
        grid = {"row_count": 2, "column_count": 3, "row_spacing": 10, "column_spacing": 20}
        msp.add_blockref("HOLE", (50, 0), dxfattribs={"xscale": -2, "yscale": 2, **grid})

    found = drawn(draw)
    places = sorted((round(c.x, 9), round(c.y, 9)) for c in found.circles)
    assert places == [(46, 0), (46, 10), (66, 0), (66, 10), (86, 0), (86, 10)]
    assert {round(c.diameter, 9) for c in found.circles} == {6.0}


def test_what_looks_from_below_is_mirrored():
    def draw(msp, _):
        msp.add_circle((30, 10), 4, dxfattribs={"extrusion": (0, 0, -1)})
        msp.add_lwpolyline(
            [(0, 0, 1), (20, 0, 0)], format="xyb", close=True, dxfattribs={"extrusion": (0, 0, -1)}
        )

    found = drawn(draw)
    assert (found.circles[0].x, found.circles[0].y) == pytest.approx((-30, 10))
    assert found.outlines[0].bounds == pytest.approx((-20, -10, 0, 0), abs=FINE)


def test_things_on_layer_0_of_a_block_go_to_the_layer_of_the_insert():
    def draw(msp, document):
        block = document.blocks.new("B")
        block.add_circle((0, 0), 1)
        block.add_circle((0, 0), 2, dxfattribs={"layer": "holes"})
        msp.add_blockref("B", (0, 0), dxfattribs={"layer": "plate"})

    found = drawn(draw)
    assert sorted((c.layer, c.diameter) for c in found.circles) == [("holes", 4), ("plate", 2)]
    assert found.layers == ("holes", "plate")
    assert [c.diameter for c in found.only({"holes"}).circles] == [4]


def test_what_is_left_out_is_told_by_kind_and_number():
    def draw(msp, document):
        msp.add_circle((0, 0), 5)
        msp.add_circle((0, 0), 5)
        msp.add_text("A")
        msp.add_mtext("B")
        msp.add_point((0, 0))
        msp.add_hatch().paths.add_polyline_path([(0, 0), (1, 0), (1, 1)])
        msp.add_linear_dim((0, 5), (0, 0), (9, 0)).render()
        document.layers.add("off").off()
        msp.add_circle((9, 9), 1, dxfattribs={"layer": "off"})
        msp.add_lwpolyline([(0, 0), (5, 0)], close=True)

    found = drawn(draw)
    assert found.left_out == {
        "text": 2,
        "point": 1,
        "hatch": 1,
        "dimension": 1,
        "thing that the drawing hides": 1,
        "path that is drawn twice": 1,
        "lwpolyline that encloses nothing": 1,
    }
    assert "Left out: 2 × text." in found.told()


@pytest.mark.parametrize(
    ("unit", "mm"), [(1, 25.4), (2, 304.8), (4, 1), (5, 10), (6, 1000), (0, 1), (14, 100)]
)
def test_the_unit_of_the_file_counts(unit, mm):
    found = drawn(lambda msp, _: msp.add_circle((2, 1), 1), unit=unit)
    assert found.circles[0].diameter == pytest.approx(2 * mm)
    assert found.circles[0].x == pytest.approx(2 * mm)
    assert ("not stated" in found.unit) == (unit == 0)


def test_a_chosen_unit_and_a_scale_replace_the_files():
    document = ezdxf.new("R2000")
    document.header["$INSUNITS"] = 1
    document.modelspace().add_circle((0, 0), 1)
    text = io.StringIO()
    document.write(text)
    found = laid_out(sketch_of(text.getvalue().encode(), "a.dxf"), unit="cm", scale=3)
    assert found.circles[0].diameter == pytest.approx(60)
    assert found.unit == "cm, as chosen, times 3"


def test_the_chord_error_is_that_of_the_chassis_not_of_the_file():
    found = drawn(lambda msp, _: msp.add_ellipse((0, 0), (4, 0), 0.999), unit=1)
    t = np.linspace(0, 2 * np.pi, 20_000)
    true = 101.6 * np.column_stack([np.cos(t), 0.999 * np.sin(t)])
    off = shapely.hausdorff_distance(shapely.LineString(true), shapely.LinearRing(found.outlines[0].points))
    assert 0.5 * FINE < off <= FINE * 1.01


@pytest.mark.parametrize(
    ("forward", "place"), [("up", (20, -10)), ("right", (10, 20)), ("down", (-20, 10)), ("left", (-10, -20))]
)
def test_the_direction_that_is_forward_turns_the_drawing_and_never_mirrors_it(forward, place):
    def draw(msp, _):
        msp.add_circle((10, 20), 1)
        msp.add_lwpolyline([(0, 0), (30, 0), (30, 10)], close=True)

    found = drawn(draw, forward=forward)
    assert (found.circles[0].x, found.circles[0].y) == pytest.approx(place)
    assert shapely.LinearRing(found.outlines[0].points).is_ccw


def test_binary_files_are_read_as_text_files_are():
    def draw(msp, _):
        msp.add_ellipse((5, 6), (30, 40), 0.4)

    np.testing.assert_array_equal(drawn(draw, form="bin").outlines[0].points, drawn(draw).outlines[0].points)


def test_open_paths_are_told_with_their_gap_and_place():
    def draw(msp, _):
        msp.add_circle((0, 0), 5)
        msp.add_lwpolyline([(3, 4), (90, 0), (90, 50), (0, 0)])

    found = drawn(draw, forward="up", scale=2)
    (path,) = found.open_paths
    assert path.gap_mm == pytest.approx(10)
    assert any(
        "ends are 10 mm apart, one at 3, 4 of the drawing; close it there" in line for line in found.told()
    )


def test_a_drawing_of_open_paths_alone_says_what_would_close_them():
    with pytest.raises(DrawingError, match=r"plate\.dxf holds no closed outline.*join gaps of up to 5 mm"):
        drawn(lambda msp, _: msp.add_lwpolyline([(0, 0), (90, 0), (90, 50), (3, 4)]))


def test_coordinates_that_are_not_finite_are_told_with_the_handle_and_the_rest_stays():
    def draw(msp, _):
        msp.add_circle((0, 0), 5)
        msp.add_line((0, 0), (math.nan, 1))

    found = drawn(draw)
    assert len(found.circles) == 1
    (told,) = [line for line in found.told() if "line (handle" in line]
    assert "layer 0" in told
    assert "mend it in the drawing" in told


def test_a_block_that_holds_itself_ends():
    def draw(msp, document):
        block = document.blocks.new("LOOP")
        block.add_circle((0, 0), 1)
        block.add_blockref("LOOP", (1, 1))
        msp.add_blockref("LOOP", (0, 0))

    found = drawn(draw)
    assert len(found.circles) == 1
    assert found.left_out == {"block that holds itself": 1}


def test_blocks_that_multiply_without_end_are_refused_soon():
    def draw(msp, document):
        document.blocks.new("B0").add_circle((0, 0), 1)
        for i in range(1, 9):
            block = document.blocks.new(f"B{i}")
            for j in range(12):
                block.add_blockref(f"B{i - 1}", (j * 3**i, 0))
        msp.add_blockref("B8", (0, 0))

    with pytest.raises(DrawingError, match="far more than an outline"):
        drawn(draw)


def test_blocks_of_texts_that_multiply_are_refused_too():
    def draw(msp, document):
        document.blocks.new("B0").add_text("A")
        for i in range(1, 9):
            block = document.blocks.new(f"B{i}")
            for j in range(12):
                block.add_blockref(f"B{i - 1}", (j * 3**i, 0))
        msp.add_blockref("B8", (0, 0))

    with pytest.raises(DrawingError, match="far more than an outline"):
        drawn(draw)


def test_a_line_drawn_over_another_the_other_way_is_left_out():
    def draw(msp, _):
        msp.add_lwpolyline([(0, 0), (60, 0), (60, 40)])
        msp.add_lwpolyline([(60, 40), (60, 0), (0, 0)])
        msp.add_line((60, 40), (0, 0))

    found = drawn(draw)
    assert found.left_out == {"path that is drawn twice": 1}
    assert found.outlines[0].area_mm2 == pytest.approx(1200)


@pytest.mark.parametrize("spacing", [0, 1])
def test_an_empty_block_that_is_repeated_a_billion_times_is_refused(spacing):
    def draw(msp, document):
        document.blocks.new("NONE")
        grid = {
            "row_count": 32_000,
            "column_count": 32_000,
            "row_spacing": spacing,
            "column_spacing": 1,
        }
        msp.add_blockref("NONE", (0, 0), dxfattribs=grid)

    with pytest.raises(DrawingError, match="far more than an outline"):
        drawn(draw)


def test_a_layer_without_an_end_and_out_of_its_encoding_can_be_shown_and_written():
    document = ezdxf.new("R2010")
    document.modelspace().add_circle((0, 0), 5, dxfattribs={"layer": "DECK"})
    document.modelspace().add_line((0, 0), (90, 0), dxfattribs={"layer": "LONG"})
    text = io.StringIO()
    document.write(text)
    endless = b"\xff\xfe" + b"L" * 5000
    data = (
        text.getvalue()
        .encode()
        .replace(b"\nDECK\n", b"\nDE\xffCK\n")
        .replace(b"\nLONG\n", b"\n" + endless + b"\n")
    )
    found = laid_out(sketch_of(data, "a.dxf"))
    deck, long = found.layers[0], found.open_paths[0].layer
    assert deck == "DE\ufffdCK"
    assert long.startswith("\ufffd")
    assert len(long) == 80
    assert long.endswith("…")
    "\n".join(found.told()).encode()


def test_a_file_with_nothing_closed_and_names_without_end_is_refused_in_few_words():
    def draw(msp, document):
        for i in range(40):
            msp.add_line((0, i), (90, i), dxfattribs={"layer": f"{i}" + "L" * 240})

    with pytest.raises(DrawingError, match="no closed outline") as told:
        drawn(draw)
    assert len(str(told.value)) < 3_000


@pytest.mark.parametrize("at", ["layers", "modelspace", "header"])
def test_what_the_library_refuses_late_is_told_as_a_broken_file(monkeypatch, at):
    document = ezdxf.new("R2000")
    document.modelspace().add_circle((0, 0), 5)
    text = io.StringIO()
    document.write(text)

    class Broken:
        def __init__(self, document):
            self._document = document

        def __getattr__(self, name):
            if name == at:
                raise DXFStructureError("a tag of no kind \udcff")
            return getattr(self._document, name)

    read = recover.read

    def broken(stream):
        document, auditor = read(stream)
        return Broken(document), auditor

    monkeypatch.setattr(recover, "read", broken)
    with pytest.raises(DrawingError, match="cannot be read as a DXF drawing") as told:
        sketch_of(text.getvalue().encode(), "a.dxf")
    str(told.value).encode()
