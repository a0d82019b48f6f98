"""Side and front against the design: each thing at its place, heights as they are, no text on another."""

import itertools
import math

import pytest
from hypothesis import given, settings

from app.design.samples import sample_design
from app.drawing.elements import Circle, Dimension, Line, Outline, Text
from app.drawing.elevation import elevation_of
from geometry.errors import AxlewrightError
from geometry.model.design import Design
from geometry.model.packaging import Opening, Packaging, Part
from geometry.model.wheel import Wheel
from sample_chassis import SAMPLES
from tests.app.drawing.laid import full, overlaps, texts_of
from tests.strategies import designs

KEYS = [sample.key for sample in SAMPLES]
COS, SIN = math.cos(math.radians(29)), math.sin(math.radians(29))
SIDES = ["side", "front"]
BODY = ((200.0, 80.0), (-150.0, 80.0), (-150.0, -80.0), (200.0, -80.0))


def of_role(drawing, role, kind=object):
    return [e for e in drawing.elements if e.role == role and isinstance(e, kind)]


def box(outline):
    xs, ys = [c.x for c in outline.corners], [c.y for c in outline.corners]
    return min(xs), min(ys), max(xs), max(ys)


def heights(drawing):
    """Numbers with the height at which their lines begin."""
    found = {}
    for line, text in itertools.pairwise(drawing.elements):
        if isinstance(text, Text) and text.role == "dimension":
            found[text.text] = line.start[1] if isinstance(line, Line) else line.corners[0].y
    return found


def test_from_the_side_forward_is_to_the_left_and_from_the_front_left_is_to_the_right():
    wheel = Wheel(name="front left", x_mm=150, y_mm=100, diameter_mm=60, width_mm=25)
    design = Design(body_mm=BODY, wheels=(wheel,))
    (circle,) = of_role(elevation_of(design, "side"), "wheel", Circle)
    assert (circle.centre, circle.radius) == ((-150, 30), 30)
    (tyre,) = of_role(elevation_of(design, "front"), "wheel", Outline)
    assert box(tyre) == pytest.approx((87.5, 0, 112.5, 60))
    bodies = [of_role(elevation_of(design, side), "outline", Outline)[0] for side in SIDES]
    assert [box(body) for body in bodies] == [(-200, 20, 150, 120), (-80, 20, 80, 120)]


def test_wheels_in_line_are_drawn_once_and_all_are_named():
    drawing = elevation_of(sample_design("marsh_scout_six"), "side")
    assert len(of_role(drawing, "wheel")) == 3
    words = [text.text for text in texts_of(drawing)]
    assert "front left / front right" in words


def test_a_wheel_with_toe_is_as_wide_as_it_is_seen():
    wheel = Wheel(name="a", x_mm=0, y_mm=50, diameter_mm=60, width_mm=20, toe_deg=29)
    for side, wide in (("side", 60 * COS + 20 * SIN), ("front", 60 * SIN + 20 * COS)):
        (tyre,) = of_role(elevation_of(Design(wheels=(wheel,)), side), "wheel", Outline)
        low_x, low_y, high_x, high_y = box(tyre)
        assert high_x - low_x == pytest.approx(wide, abs=1e-9)
        assert (low_y, high_y) == pytest.approx((0, 60))
        assert (len(tyre.corners) == 4) == (side == "front")


def test_parts_and_openings_stand_at_their_heights():
    parts = (
        Part(name="box", x_mm=50, y_mm=20, bottom_mm=30, length_mm=40, width_mm=30, height_mm=25),
        Part(name="post", shape="upright cylinder", x_mm=-80, bottom_mm=25, diameter_mm=20, height_mm=60),
        Part(
            name="roller",
            shape="lying cylinder",
            y_mm=-20,
            bottom_mm=40,
            diameter_mm=16,
            length_mm=50,
            turn_deg=90,
        ),
    )
    openings = (
        Opening(face="left", x_mm=20, z_mm=70, length_mm=30, width_mm=10),
        Opening(face="rear", y_mm=-15, z_mm=55, diameter_mm=12),
        Opening(face="floor", diameter_mm=9),
    )
    design = Design(body_mm=BODY, packaging=Packaging(parts=parts, openings=openings))
    side, front = (elevation_of(design, one) for one in SIDES)
    boxes = sorted(box(part) for part in of_role(side, "part", Outline))
    assert boxes == [pytest.approx((-70, 30, -30, 55)), pytest.approx((70, 25, 90, 85))]
    (roller,) = of_role(side, "part", Circle)
    assert (roller.centre, roller.radius) == ((0, 48), 8)
    assert box(of_role(side, "opening", Outline)[0]) == (-35, 65, -5, 75)
    assert of_role(side, "opening", Circle) == []
    (hole,) = of_role(front, "opening", Circle)
    assert (hole.centre, hole.radius) == ((-15, 55), 6)
    assert heights(side) == {"0": 0, "20": 20, "23": 23, "70": 70, "120": 120}
    assert "55" in heights(front)
    words = [text.text for text in texts_of(side)]
    assert {"box", "post", "roller", "30 to 55", "25 to 85", "40 to 56"} <= set(words)


@pytest.mark.parametrize("side", SIDES)
@pytest.mark.parametrize("key", KEYS)
def test_heights_of_samples_are_those_of_their_places(key, side):
    design = sample_design(key)
    drawing = elevation_of(design, side)
    told = heights(drawing)
    for text, height in told.items():
        assert float(text) == pytest.approx(height, abs=0.0051)
    for height in (0, design.packaging.floor_mm, design.packaging.roof_mm):
        assert f"{height:g}" in told
    for wheel in design.wheels:
        assert f"{0.5 * wheel.diameter_mm:g}" in told
    for dimension in of_role(drawing, "dimension", Dimension):
        assert float(dimension.text) == pytest.approx(dimension.end[0] - dimension.start[0])
    assert overlaps(drawing) == []


@pytest.mark.parametrize("side", SIDES)
@pytest.mark.parametrize("length", [60.0, 400.0, 9000.0])
def test_no_text_of_a_full_chassis_lies_on_another_and_no_name_is_missing(length, side):
    design = full(length, scattered=True)
    drawing = elevation_of(design, side)
    assert overlaps(drawing) == []
    words = " | ".join(text.text for text in texts_of(drawing))
    for thing in (*design.wheels, *design.packaging.parts):
        assert thing.name in words


@settings(deadline=None, max_examples=30)
@given(designs(max_wheels=8))
@pytest.mark.parametrize("side", SIDES)
def test_no_text_of_any_design_lies_on_another(side, design):
    assert overlaps(elevation_of(design, side)) == []


def test_heights_that_nobody_gave_are_told():
    assert any("new chassis" in n for n in elevation_of(Design(body_mm=BODY), "side").notes)
    known = Design(body_mm=BODY, packaging=Packaging(floor_mm=30))
    assert elevation_of(known, "side").notes == ()


def test_an_empty_chassis_is_a_sentence_and_a_wrong_scale_is_refused():
    drawing = elevation_of(Design(), "front")
    assert "nothing to draw" in drawing.elements[0].text
    with pytest.raises(AxlewrightError, match="scale must be from"):
        elevation_of(Design(), "side", scale=0.0)


@pytest.mark.parametrize("key", KEYS)
def test_at_a_small_scale_no_text_lies_on_another(key):
    design = sample_design(key)
    drawing = elevation_of(design, "side", scale=0.1)
    assert overlaps(drawing) == []
    for text, height in heights(drawing).items():
        assert float(text) == pytest.approx(10 * height, abs=0.0051)
