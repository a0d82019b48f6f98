"""Cut paths: closed, simple, once, none across another, by Shapely; and each thing left out is told."""

import itertools

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from app.design.samples import sample_design
from app.drawing.cut import cut_of
from app.drawing.elements import Circle, Corner, Dimension, Drawing, Line, Outline, Text
from app.drawing.plan import plan_of
from geometry.model.design import Design
from geometry.model.packaging import Opening, Packaging
from geometry.model.wheel import Wheel
from sample_chassis import SAMPLES
from tests.app.drawing.laid import full, polygon

KEYS = [sample.key for sample in SAMPLES]
BODY = ((200.0, 80.0), (-150.0, 80.0), (-150.0, -80.0), (200.0, -80.0))
SQUARE = tuple(Corner(x, y) for x, y in ((-50, -40), (50, -40), (50, 40), (-50, 40)))


def drawing(*elements):
    return Drawing("tray", elements)


def are_clean(cut):
    """Closed, valid, and no line of one meets that of another."""
    assert all(isinstance(path, Circle | Outline) for path in cut.elements)
    shapes = [polygon(path, 400) for path in cut.elements]
    for path, shape in zip(cut.elements, shapes, strict=True):
        assert shape.is_valid
        assert shape.area > 0
        if isinstance(path, Outline):
            assert path.closed
            assert all(
                a[:2] != b[:2]
                for a, b in zip(path.corners, [*path.corners[1:], path.corners[0]], strict=True)
            )
    for one, other in itertools.combinations(shapes, 2):
        assert not one.exterior.intersects(other.exterior)
    return True


@pytest.mark.parametrize("key", KEYS)
def test_of_each_sample_body_and_every_hole_are_cut_once(key):
    design = sample_design(key)
    cut = cut_of(plan_of(design))
    assert are_clean(cut)
    roles = [path.role for path in cut.elements]
    floor = sum(o.face == "floor" for o in design.packaging.openings)
    turning = sum(w.kind != "fixed" for w in design.wheels)
    assert (roles.count("outline"), roles.count("opening"), roles.count("kingpin")) == (1, floor, turning)


def test_no_text_line_or_open_path_is_left_and_what_was_taken_is_counted():
    cut = cut_of(plan_of(sample_design("marsh_scout_six")))
    assert {type(path) for path in cut.elements} == {Circle, Outline}
    (told,) = (note for note in cut.notes if note.startswith("Left out, since it is not cut"))
    assert "text" in told
    assert "line" in told
    assert "outline of wheel" in told


@settings(deadline=None, max_examples=60)
@example(rows=[(0, 0, None, 1)] * 8)  # so crowded that a size stands away, with a dot where it belongs
@given(
    st.lists(
        st.tuples(
            st.integers(-200, 220),
            st.integers(-90, 90),
            st.sampled_from([None, 5.0, 20.0, 60.0]),
            st.integers(1, 9),
        ),
        max_size=12,
    )
)
def test_whatever_openings_a_body_has_the_paths_are_clean_and_each_one_is_cut_or_told(rows):
    openings = tuple(
        Opening(x_mm=x, y_mm=y, diameter_mm=d)
        if d
        else Opening(x_mm=x, y_mm=y, length_mm=7.0 * k, width_mm=4.0 * k)
        for x, y, d, k in rows
    )
    wheel = Wheel(name="front", x_mm=100, y_mm=0, kind="steered")
    plan = plan_of(Design(body_mm=BODY, wheels=(wheel,), packaging=Packaging(openings=openings)))
    cut = cut_of(plan)
    assert are_clean(cut)
    refused = [note for note in cut.notes if note.startswith(("Refused", "Left out the"))]
    assert len(cut.elements) + len(refused) == 2 + len(openings)


@pytest.mark.parametrize("length", [60.0, 9000.0])
def test_a_full_chassis_has_clean_paths(length):
    assert are_clean(cut_of(plan_of(full(length))))


def test_an_opening_across_the_edge_of_the_body_is_refused_by_its_place():
    opening = Opening(x_mm=198, y_mm=10, length_mm=20, width_mm=30)
    cut = cut_of(plan_of(Design(body_mm=BODY, packaging=Packaging(openings=(opening,)))))
    assert [path.role for path in cut.elements] == ["outline"]
    assert any("Refused the opening 30 × 20 about x -10, y 198" in n and "outline" in n for n in cut.notes)


def test_doubled_paths_are_cut_once_wherever_they_begin_and_whichever_way_they_go():
    turned = (*SQUARE[2:], *SQUARE[:2])
    cut = cut_of(
        drawing(
            Outline("outline", SQUARE),
            Outline("outline", turned),
            Outline("outline", tuple(reversed(SQUARE))),
            Circle("kingpin", (5, 5), 1.5),
            Circle("opening", (5, 5), 1.5),
            Outline("opening", (Corner(6.5, 5, 1.0), Corner(3.5, 5, 1.0))),
        )
    )
    assert [type(path) for path in cut.elements] == [Outline, Circle]
    assert sum("cut twice" in note for note in cut.notes) == 4


def test_arcs_count_in_what_is_doubled_and_in_what_crosses():
    slot = (Corner(-20, -5), Corner(20, -5, 1.0), Corner(20, 5), Corner(-20, 5, 1.0))
    flat = tuple(Corner(c.x, c.y) for c in slot)
    one = cut_of(
        drawing(Outline("outline", SQUARE), Outline("opening", slot), Outline("opening", slot[1:] + slot[:1]))
    )
    assert len(one.elements) == 2
    assert are_clean(one)
    # A rectangle between the ends of a slot shares its long edges.
    assert len(cut_of(drawing(Outline("opening", slot), Outline("opening", flat))).elements) == 1
    # A hole beside the slot's end is clear of it, though not of the box around.
    beside = cut_of(drawing(Outline("opening", slot), Circle("opening", (24.9, 4.9), 1.5)))
    assert len(beside.elements) == 2
    touching = cut_of(drawing(Outline("opening", slot), Circle("opening", (26.5, 0), 1.5)))
    assert len(touching.elements) == 1
    crossing = cut_of(drawing(Circle("opening", (0, 0), 10), Circle("opening", (12, 0), 4)))
    assert len(crossing.elements) == 1
    within = cut_of(drawing(Circle("opening", (0, 0), 10), Circle("kingpin", (1, 0), 4)))
    assert len(within.elements) == 2
    assert any("lies within the opening ø20" in note for note in within.notes)


def test_edges_without_length_are_taken_out_and_what_encloses_nothing_is_refused():
    doubled = (SQUARE[0], SQUARE[0], *SQUARE[1:])
    cut = cut_of(drawing(Outline("outline", doubled)))
    assert cut.elements[0].corners == SQUARE
    assert any("edge of no length" in note and "x -50, y -40" in note for note in cut.notes)
    for bad in (
        Outline("opening", (Corner(0, 0), Corner(5, 0))),
        Outline("opening", (Corner(0, 0), Corner(0, 0))),
        Outline("opening", SQUARE, closed=False),
        Circle("opening", (3, 4), 0.0),
    ):
        refused = cut_of(drawing(bad))
        assert refused.elements == ()
        assert any(note.startswith(("Refused the opening", "Left out the opening")) for note in refused.notes)


def test_a_path_that_crosses_itself_is_refused():
    bow = (Corner(0, 0), Corner(10, 10), Corner(10, 0), Corner(0, 10))
    arched = (Corner(0, 0, -1.0), Corner(20, 0), Corner(20, 5), Corner(0, 5))
    assert not polygon(Outline("outline", arched)).is_valid
    for corners in (bow, arched):
        cut = cut_of(drawing(Outline("outline", corners)))
        assert cut.elements == ()
        assert any("crosses or touches itself" in note for note in cut.notes)
    clear = (Corner(0, 0, 1.0), Corner(20, 0), Corner(20, 5), Corner(0, 5))
    assert len(cut_of(drawing(Outline("outline", clear))).elements) == 1


def test_holes_outside_of_the_body_are_cut_and_told():
    wheel = Wheel(name="front", x_mm=100, y_mm=120, kind="steered")
    cut = cut_of(plan_of(Design(body_mm=BODY, wheels=(wheel,))))
    assert len(cut.elements) == 2
    assert any(note.startswith("The kingpin hole ø3 about x -120, y 100") for note in cut.notes)


def test_an_empty_drawing_gives_an_empty_cut():
    cut = cut_of(plan_of(Design()))
    assert cut.elements == ()
    lines = drawing(
        Line("outline", (0, 0), (1, 1)), Text("text", (0, 0), "a", 3.0), Dimension((0, 0), (1, 0), 0, 5, "1")
    )
    assert cut_of(lines).elements == ()
