"""Arcs by bulges, boxes and dimensions, against points laid on them by other means."""

import math

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from app.drawing.elements import (
    Arc,
    Circle,
    Corner,
    Dimension,
    Drawing,
    Line,
    Outline,
    Text,
    arc_edge,
    box_of,
    bulge_of,
    moved,
    on_circle,
    parts_of,
    points_of,
    text_corners,
)

turns = st.floats(-math.pi, math.pi)
places = st.tuples(st.floats(-500, 500), st.floats(-500, 500))


def no_width(_text, _height):
    return 0.0


@given(centre=places, radius=st.floats(0.1, 500), start=turns, sweep=st.floats(0.05, 6.0))
@pytest.mark.parametrize("way", [1.0, -1.0])
def test_the_bulge_of_an_arc_gives_that_arc_back(way, centre, radius, start, sweep):
    here, there = on_circle(centre, radius, start), on_circle(centre, radius, start + way * sweep)
    found = arc_edge(Corner(*here, bulge_of(way * sweep)), Corner(*there))
    assert found.sweep == pytest.approx(way * sweep)
    assert found.radius == pytest.approx(radius, rel=1e-6)
    assert math.dist(found.centre, centre) < 1e-6 * radius + 1e-9
    assert math.dist(on_circle(found.centre, found.radius, found.start), here) < 1e-6 * radius + 1e-9


def test_two_half_circles_enclose_the_area_of_one():
    ring = Outline("opening", (Corner(-5, 0, 1.0), Corner(5, 0, 1.0)))
    assert shapely.Polygon(points_of(ring, 1e-4)).area == pytest.approx(math.pi * 25, rel=1e-4)
    assert box_of([ring], no_width) == pytest.approx((-5, -5, 5, 5))


@given(centre=places, radius=st.floats(0.5, 300), start=turns, sweep=st.floats(-6.2, 6.2))
def test_the_box_of_an_arc_holds_each_of_its_points_and_is_no_larger(centre, radius, start, sweep):
    low_x, low_y, high_x, high_y = box_of([Arc("gauge", centre, radius, start, sweep)], no_width)
    points = [on_circle(centre, radius, start + sweep * k / 4000) for k in range(4001)]
    xs, ys = [x for x, _ in points], [y for _, y in points]
    near = 1e-5 * radius + 1e-9
    assert (low_x, low_y) == pytest.approx((min(xs), min(ys)), abs=near)
    assert (high_x, high_y) == pytest.approx((max(xs), max(ys)), abs=near)


def test_the_box_of_a_text_counts_its_width_and_its_turn():
    text = Text("text", (10, 20), "abc", 4.0, "right", 0.5 * math.pi)
    corners = text_corners(text, lambda _text, height: 3 * height)
    assert min(y for _, y in corners) == pytest.approx(8)
    assert max(y for _, y in corners) == pytest.approx(20)
    assert max(x for x, _ in corners) == pytest.approx(10 + 0.24 * 4)


@pytest.mark.parametrize("along", [0.0, 0.5 * math.pi, math.pi, 2.0, -2.5])
def test_a_dimension_measures_along_its_direction_and_reads_from_below_or_from_the_right(along):
    made = Dimension((3, 4), (60, 80), along, 12.0, "95")
    parts = parts_of(made)
    line = next(
        part for part in parts if isinstance(part, Line) and part.end != part.start and _is_long(parts, part)
    )
    measured = 57 * math.cos(along) + 76 * math.sin(along)
    assert math.dist(line.start, line.end) == pytest.approx(abs(measured))
    (number,) = (part for part in parts if isinstance(part, Text))
    assert -0.5 * math.pi < number.turn <= 0.5 * math.pi + 1e-12
    arrows = [part for part in parts if isinstance(part, Outline)]
    tips = {tuple(round(v, 9) for v in arrow.corners[0][:2]) for arrow in arrows}
    assert tips == {tuple(round(v, 9) for v in end) for end in (line.start, line.end)}
    # The line is to the left of the direction, by the offset.
    side = -math.sin(along) * (line.start[0] - 3) + math.cos(along) * (line.start[1] - 4)
    assert side == pytest.approx(12.0)


@pytest.mark.parametrize("long", [3.0, 40.0])
def test_arrows_without_room_between_the_ends_stand_outside_of_them(long):
    arrows = [
        part for part in parts_of(Dimension((0, 0), (long, 0), 0.0, 8.0, "")) if isinstance(part, Outline)
    ]
    backs = [sum(c.x for c in arrow.corners) / 3 for arrow in arrows]
    assert all((0 <= x <= long) == (long > 10) for x in backs)


def _is_long(parts, line):
    """Whether both arrows end on it: witness lines hold one of them at most."""
    tips = [part.corners[0][:2] for part in parts if isinstance(part, Outline)]
    return all(min(math.dist(tip, line.start), math.dist(tip, line.end)) < 1e-9 for tip in tips)


ALL = (
    Line("outline", (0, 0), (10, 5)),
    Arc("sweep", (3, 3), 4, 0.3, 2.0),
    Circle("opening", (1, 2), 3),
    Outline("wheel", (Corner(0, 0), Corner(4, 0, 0.4), Corner(4, 4)), filled=True),
    Text("text", (2, 2), "eel", 3.0, "middle", 0.3),
    Dimension((0, 0), (10, 0), 0.0, 8.0, "10"),
)


@pytest.mark.parametrize("element", ALL, ids=lambda element: type(element).__name__)
def test_what_is_moved_has_the_box_moved_and_scaled_but_texts_keep_their_height(element):
    if isinstance(element, Text):
        there = moved(element, 5, 7, 2.0)
        assert there.place == (9, 11)
        assert there.height == element.height
        return
    if isinstance(element, Dimension):
        there = moved(element, 5, 7, 2.0)
        assert (there.start, there.end, there.offset, there.height) == ((5, 7), (25, 7), 16.0, 3.0)
        return
    before = box_of([element], no_width)
    after = box_of([moved(element, 5, 7, 2.0)], no_width)
    wanted = [2 * v + (5, 7)[i % 2] for i, v in enumerate(before)]
    assert after == pytest.approx(wanted)


def test_a_drawing_tells_its_roles_and_parts_by_them():
    drawing = Drawing("eel", ALL, ("a note",))
    assert drawing.roles() == ("outline", "sweep", "opening", "wheel", "text", "dimension")
    assert [type(e).__name__ for e in drawing.only(["opening", "text"]).elements] == ["Circle", "Text"]
    assert drawing.only(["opening"]).notes == ("a note",)


def test_nothing_has_no_size():
    with pytest.raises(ValueError, match="no size"):
        box_of([], no_width)
