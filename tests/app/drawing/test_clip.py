"""What a rectangle meets of a drawing, against a library of plane geometry."""

import math

import shapely
from hypothesis import assume, given
from hypothesis import strategies as st

from app.drawing.clip import boxes_meet, line_meets, meets
from app.drawing.elements import Arc, Circle, Corner, Dimension, Line, Outline, Text, parts_of, points_of

numbers = st.floats(-50, 50)
places = st.tuples(numbers, numbers)
BOX = (-10.0, -6.0, 14.0, 9.0)
NEAR = 0.02
"""Closer to the edge of the box than this, the chords of an arc may decide otherwise."""


def width(text, height):
    return 0.6 * height * len(text)


def agrees(element, shape):
    """The answer for the box is that of the library, wherever a hair's breadth does not decide."""
    box = shapely.box(*BOX)
    gap = shape.distance(box)
    assume(gap == 0 or gap > NEAR)
    if gap == 0:
        assume(shape.intersects(box.buffer(-NEAR)))
    assert meets(element, BOX, width) == (gap == 0)


@given(start=places, end=places)
def test_a_line_meets_a_box_where_the_library_says_so(start, end):
    agrees(Line("outline", start, end), shapely.LineString([start, end]))


@given(centre=places, radius=st.floats(1, 40), start=st.floats(-4, 4), sweep=st.floats(-6, 6))
def test_an_arc_meets_a_box_where_the_library_says_so(centre, radius, start, sweep):
    assume(abs(sweep) > 0.05)
    points = [
        (
            centre[0] + radius * math.cos(start + sweep * k / 500),
            centre[1] + radius * math.sin(start + sweep * k / 500),
        )
        for k in range(501)
    ]
    agrees(Arc("sweep", centre, radius, start, sweep), shapely.LineString(points))


@given(centre=places, radius=st.floats(1, 60), filled=st.booleans())
def test_a_circle_is_its_line_unless_it_is_filled(centre, radius, filled):
    disc = shapely.Point(centre).buffer(radius, quad_segs=200)
    agrees(Circle("opening", centre, radius, filled), disc if filled else disc.exterior)


@given(
    corners=st.lists(places, min_size=3, max_size=6, unique=True),
    bulge=st.floats(-0.8, 0.8),
    filled=st.booleans(),
)
def test_an_outline_is_its_line_unless_it_is_filled(corners, bulge, filled):
    hull = shapely.MultiPoint(corners).convex_hull
    assume(hull.area > 5)
    ring = [Corner(*point) for point in hull.exterior.coords[:-1]]
    ring[0] = ring[0]._replace(bulge=bulge)
    outline = Outline("outline", tuple(ring), filled=filled)
    shape = shapely.Polygon(points_of(outline, 1e-3))
    assume(shape.is_valid)
    agrees(outline, shape if filled else shape.exterior)


def test_an_open_outline_has_no_closing_edge():
    corners = (Corner(-20, -20), Corner(-20, 20), Corner(20, 20))
    assert meets(Outline("outline", corners), BOX, width)
    assert not meets(Outline("outline", corners, closed=False), BOX, width)


def test_a_text_is_met_by_its_letters_and_by_a_box_within_them():
    text = Text("text", (0, 0), "abcdef", 30.0)
    assert meets(text, (5, 2, 6, 3), width)
    assert meets(text, (100, 2, 120, 3), width)
    assert not meets(text, (109, 2, 120, 3), width)


def test_a_dimension_is_met_where_one_of_its_parts_is():
    dimension = Dimension((0, 0), (100, 0), 0.0, 20.0, "100")
    for part in parts_of(dimension):
        x, y = (
            part.place
            if isinstance(part, Text)
            else (part.start if isinstance(part, Line) else part.corners[0][:2])
        )
        assert meets(dimension, (x - 0.1, y - 0.1, x + 0.1, y + 0.1), width)
    assert not meets(dimension, (10, 5, 90, 15), width)


def test_boxes_that_touch_meet():
    assert boxes_meet((0, 0, 1, 1), (1, 1, 2, 2))
    assert not boxes_meet((0, 0, 1, 1), (1.01, 0, 2, 2))
    assert line_meets((1, 1), (1, 1), (0, 0, 1, 1))
