"""The plan against the design: each thing at its place, each number its distance, no text on another."""

import itertools
import math

import numpy as np
import pytest
import shapely
from hypothesis import HealthCheck, given, settings

from app.design.samples import sample_design
from app.drawing.elements import Circle, Dimension, Drawing, Line, Outline, Text, box_of
from app.drawing.from_above import on_paper
from app.drawing.lettering import text_width
from app.drawing.plan import plan_of
from geometry.errors import AxlewrightError
from geometry.kinematics.robot import robot_of
from geometry.model.base_axle import base_of
from geometry.model.design import Design
from geometry.model.motors import Gearing, SteerMotor
from geometry.model.packaging import Opening, Packaging, Part
from geometry.model.wheel import Wheel
from sample_chassis import SAMPLES
from tests.app.drawing.laid import area_of, full, overlaps, polygon, texts_of
from tests.strategies import designs, motored_designs

KEYS = [sample.key for sample in SAMPLES]
BODY = ((180.0, 130.0), (-180.0, 130.0), (-180.0, -130.0), (180.0, -130.0))


def of_role(drawing, role, kind=object):
    return [e for e in drawing.elements if e.role == role and isinstance(e, kind)]


def crosses(drawing):
    """Middles of the crosses of kingpins."""
    lines = of_role(drawing, "kingpin", Line)
    found = []
    for one, other in zip(lines[::2], lines[1::2], strict=True):
        middles = [tuple(0.5 * (a + b) for a, b in zip(x.start, x.end, strict=True)) for x in (one, other)]
        assert math.dist(*middles) < 1e-9
        found.append(middles[0])
    return found


@pytest.mark.parametrize("key", KEYS)
def test_every_kingpin_of_every_sample_is_at_its_place(key):
    design = sample_design(key)
    drawing = plan_of(design)
    assert crosses(drawing) == [pytest.approx(on_paper(w.x_mm, w.y_mm), abs=1e-9) for w in design.wheels]
    holes = of_role(drawing, "kingpin", Circle)
    turning = [w for w in design.wheels if w.kind != "fixed"]
    assert [hole.centre for hole in holes] == [
        pytest.approx(on_paper(w.x_mm, w.y_mm), abs=1e-9) for w in turning
    ]
    assert {hole.radius for hole in holes} == {1.5}


@pytest.mark.parametrize("key", KEYS)
def test_the_body_and_the_openings_are_exact(key):
    design = sample_design(key)
    drawing = plan_of(design)
    (outline,) = of_role(drawing, "outline", Outline)
    assert [(c.x, c.y) for c in outline.corners] == [on_paper(*corner) for corner in design.body_mm]


def test_openings_of_the_floor_are_rectangles_and_circles_with_their_sizes():
    openings = (
        Opening(face="floor", x_mm=50, y_mm=20, length_mm=40, width_mm=12.5),
        Opening(face="floor", x_mm=-50, y_mm=-30, diameter_mm=8),
        Opening(face="roof", x_mm=0, y_mm=60, diameter_mm=18),
        Opening(face="left", x_mm=0, z_mm=60, diameter_mm=6),
    )
    drawing = plan_of(Design(body_mm=BODY, packaging=Packaging(openings=openings)))
    (rectangle,) = of_role(drawing, "opening", Outline)
    assert {(c.x, c.y) for c in rectangle.corners} == {(-26.25, 70), (-13.75, 70), (-26.25, 30), (-13.75, 30)}
    (hole,) = of_role(drawing, "opening", Circle)
    assert (hole.centre, hole.radius) == ((30, -50), 4)
    words = [text.text for text in texts_of(drawing)]
    assert {"40 × 12.5", "ø8", "ø18 in the roof"} <= set(words)
    assert any("in the roof" in note and "x 0, y 60" in note for note in drawing.notes)
    assert any("1 opening is in the walls" in note for note in drawing.notes)
    # Both places of both holes, from the base axle and from the centre line.
    assert {"50", "-50", "20", "-30"} <= set(words)


@settings(deadline=None, max_examples=60)
@given(motored_designs(max_wheels=5))
def test_wheels_stand_with_offset_and_toe_and_sweep_their_travel(design):
    drawing = plan_of(design)
    robot = robot_of(design)
    tyres = of_role(drawing, "wheel", Outline)
    assert len(tyres) == len(design.wheels)
    for i, (wheel, tyre) in enumerate(zip(design.wheels, tyres, strict=True)):
        own = 1j * (tyre_points(tyre) - complex(*on_paper(wheel.x_mm, wheel.y_mm)))
        # On paper forward is up: turned by a quarter, x is forward again, seen as -1j times paper.
        own = -own
        heading = float(robot.wheels.built_in[i])
        straight = own * np.exp(-1j * heading)
        ahead, beside = straight.real, straight.imag
        assert ahead.max() - ahead.min() == pytest.approx(wheel.diameter_mm)
        assert beside.max() - beside.min() == pytest.approx(wheel.width_mm)
        assert 0.5 * (ahead.max() + ahead.min()) == pytest.approx(-wheel.trail_mm, abs=1e-9)
        assert 0.5 * (beside.max() + beside.min()) == pytest.approx(wheel.lateral_offset_mm, abs=1e-9)


def tyre_points(tyre):
    return np.array([complex(c.x, c.y) for c in tyre.corners])


def turned(tyre, about, angle):
    points = (tyre_points(tyre) - about) * np.exp(1j * angle) + about
    return shapely.Polygon(np.stack([points.real, points.imag], axis=1))


@settings(deadline=None, max_examples=25, suppress_health_check=[HealthCheck.too_slow])
@given(motored_designs(min_wheels=1, max_wheels=1, kinds=("steered",)))
def test_a_sweep_holds_every_pose_and_not_more_than_hulls_of_neighbours(design):
    drawing = plan_of(design)
    travel = robot_of(design).motor_travel
    low, high = float(travel.low[0]), float(travel.high[0])
    loops = of_role(drawing, "sweep")
    if high <= low:
        assert loops == []
        return
    about = complex(*on_paper(design.wheels[0].x_mm, design.wheels[0].y_mm))
    (tyre,) = of_role(drawing, "wheel", Outline)
    angles = np.linspace(low, high, 61)
    poses = [turned(tyre, about, angle) for angle in angles]
    shapes = sorted((polygon(loop, 3_000) for loop in loops), key=lambda p: -p.area)
    found = shapes[0]
    for hole in shapes[1:]:
        found = found.difference(hole) if found.covers(hole.buffer(-1e-3)) else found.union(hole)
    far = float(np.abs(tyre_points(tyre) - about).max())
    assert shapely.union_all(poses).difference(found.buffer(2e-6 * far + 1e-3)).area < 1e-6 * far**2
    hulls = [shapely.convex_hull(shapely.union(a, b)) for a, b in itertools.pairwise(poses)]
    bulge = far * (1 - math.cos(0.5 * (angles[1] - angles[0]))) + 1e-6
    assert found.difference(shapely.union_all(hulls).buffer(bulge)).area < 1e-6 * far**2


@pytest.mark.parametrize(
    ("trail", "lateral", "travel", "area"),
    [(0.0, 0.0, 45.0, 2930.6499), (0.0, 30.0, 30.0, 3130.7873), (20.0, 30.0, 60.0, 5704.3068)],
)
def test_a_wheel_of_60_by_25_sweeps_the_known_area(trail, lateral, travel, area):
    wheel = Wheel(
        name="front",
        x_mm=120,
        y_mm=80,
        kind="steered",
        trail_mm=trail,
        lateral_offset_mm=lateral,
        travel_min_deg=-travel,
        travel_max_deg=travel,
    )
    loops = of_role(plan_of(Design(wheels=(wheel,))), "sweep")
    assert area_of(loops) == pytest.approx(area, abs=1e-3)


def test_a_motor_narrows_the_sweep():
    wheel = Wheel(name="front", x_mm=100, y_mm=0, kind="steered")
    motor = SteerMotor(
        name="servo", wheels=(Gearing(wheel="front", ratio=1.0),), travel_min_deg=-45, travel_max_deg=45
    )
    free, held = Design(wheels=(wheel,)), Design(wheels=(wheel,), steer_motors=(motor,))
    assert area_of(of_role(plan_of(free), "sweep")) == pytest.approx(math.pi * 32.5**2)
    assert area_of(of_role(plan_of(held), "sweep")) == pytest.approx(2930.6499, abs=1e-3)


def test_axles_go_through_the_wheels_and_reach_abreast_of_their_kingpins():
    wheel = Wheel(name="front", x_mm=100, y_mm=50, kind="steered", trail_mm=10, lateral_offset_mm=40)
    (axle,) = of_role(plan_of(Design(wheels=(wheel,))), "axle", Line)
    assert {axle.start, axle.end} == {(-106.5, 90), (-50, 90)}


# Numbers ---------------------------------------------------------------------------------------


def running_numbers(drawing):
    """Numbers with where their lines begin."""
    found = []
    for line, text in itertools.pairwise(drawing.elements):
        if isinstance(text, Text) and text.role == "dimension":
            start = line.start if isinstance(line, Line) else line.corners[0]
            found.append((text, (start[0], start[1])))
    return found


@settings(deadline=None, max_examples=60)
@given(designs(max_wheels=8))
def test_numbers_are_the_distances_of_their_places(design):
    drawing = plan_of(design)
    base = base_of(design).x
    for dimension in of_role(drawing, "dimension", Dimension):
        along = math.cos(dimension.along), math.sin(dimension.along)
        far = sum((b - a) * u for a, b, u in zip(dimension.start, dimension.end, along, strict=True))
        assert float(dimension.text) == pytest.approx(far, abs=0.0051)
    told = set()
    for text, (x, y) in running_numbers(drawing):
        value = -x if text.turn else y - base
        assert float(text.text) == pytest.approx(value, abs=0.0051)
        if not text.turn:
            told.add(round(float(text.text), 2))
    for wheel in design.wheels:
        assert any(abs(wheel.x_mm - base - value) < 0.0051 for value in told)


@settings(deadline=None, max_examples=60)
@given(designs(max_wheels=8))
def test_each_wheel_can_be_found_across_from_the_numbers(design):
    """Of each wheel, or of its mirror image, the place across is an end of a dimension or a number."""
    drawing = plan_of(design)
    ends = {round(abs(p[0]), 2) for d in of_role(drawing, "dimension", Dimension) for p in (d.start, d.end)}
    ends |= {round(abs(x), 2) for text, (x, _) in running_numbers(drawing) if text.turn}
    for wheel in design.wheels:
        assert abs(wheel.y_mm) == 0 or round(abs(wheel.y_mm), 2) in ends


def test_mirrored_wheels_have_their_numbers_once():
    words = [text.text for text in texts_of(plan_of(sample_design("marsh_scout_six")))]
    assert all(words.count(number) == 1 for number in ("132", "-132", "240", "360", "168", "180", "-180"))
    # A wheel out of line stands abreast of pairs that are told: no numbers across again.
    words = [text.text for text in texts_of(plan_of(sample_design("misbuilt_scout")))]
    assert words.count("240") == 1
    assert "120" not in words


def test_axles_of_many_kinds_are_told_by_running_numbers_across():
    wheels = tuple(
        Wheel(name=f"{side}{i}", x_mm=30.0 * i, y_mm=s * (50.0 + 7 * i))
        for i in range(8)
        for side, s in (("left ", 1), ("right ", -1))
    )
    drawing = plan_of(Design(wheels=wheels))
    assert of_role(drawing, "dimension", Dimension) == []
    words = [text.text for text in texts_of(drawing)]
    assert all(f"{s}{50 + 7 * i}" in words for i in range(8) for s in ("", "-"))


def test_the_unit_is_told_once():
    words = " ".join(text.text for text in texts_of(plan_of(sample_design("marsh_scout_motors"))))
    assert words.split().count("mm.") + words.split().count("mm") == 1


# Texts -----------------------------------------------------------------------------------------

LENGTHS = [60.0, 400.0, 9000.0]


@pytest.mark.parametrize("key", KEYS)
@pytest.mark.parametrize("scale", [1.0, 0.2, 0.05])
def test_no_text_of_a_sample_lies_on_another(key, scale):
    assert overlaps(plan_of(sample_design(key), scale=scale)) == []


@pytest.mark.parametrize("scattered", [False, True])
@pytest.mark.parametrize("length", LENGTHS)
def test_no_text_of_a_full_chassis_lies_on_another_and_no_name_is_missing(length, scattered):
    design = full(length, scattered=scattered)
    drawing = plan_of(design)
    assert overlaps(drawing) == []
    words = [text.text for text in texts_of(drawing)]
    for thing in (*design.wheels, *design.packaging.parts, design):
        assert words.count(thing.name) == 1
    assert sum(word.startswith("ø") for word in words) == 3
    assert sum("×" in word for word in words) == 4


def test_names_of_other_scripts_are_written_and_what_the_font_lacks_is_told():
    for letters, lacks in (("Ἀλμυρός ", False), ("سبخة ", False), ("潮だまり ", True)):
        drawing = plan_of(full(400.0, letters=letters))
        assert overlaps(drawing) == []
        told = [note for note in drawing.notes if "font lacks" in note]
        assert bool(told) == lacks
        if lacks:
            assert len(told) == 1
            assert "U+6F6E" in told[0]
            assert told[0].endswith("and 82 more.")
            assert any(text.text.startswith("U+6F6E") for text in texts_of(drawing))


@settings(deadline=None, max_examples=40)
@given(designs(max_wheels=8))
def test_no_text_of_any_design_lies_on_another(design):
    assert overlaps(plan_of(design)) == []


# Choices ---------------------------------------------------------------------------------------


def test_an_empty_chassis_is_a_sentence():
    drawing = plan_of(Design(name="Nothing yet"))
    assert [type(e) for e in drawing.elements] == [Text]
    assert "nothing to draw" in drawing.elements[0].text


def test_a_body_alone_and_a_part_alone_are_drawn():
    assert of_role(plan_of(Design(body_mm=BODY)), "outline")
    part = Part(name="battery", length_mm=60, width_mm=40, height_mm=30)
    drawing = plan_of(Design(packaging=Packaging(parts=(part,))))
    assert len(of_role(drawing, "part")) == 1
    assert "battery" in [text.text for text in texts_of(drawing)]


def test_the_hole_of_the_kingpins_is_a_choice():
    design = sample_design("marsh_scout_six")
    assert of_role(plan_of(design, kingpin_hole_mm=0.0), "kingpin", Circle) == []
    holes = of_role(plan_of(design, kingpin_hole_mm=5.0), "kingpin", Circle)
    assert {hole.radius for hole in holes} == {2.5}
    for wrong in (-1.0, 51.0, math.nan):
        with pytest.raises(AxlewrightError, match="kingpin hole must be from 0 to 50 mm"):
            plan_of(design, kingpin_hole_mm=wrong)


def test_a_scale_makes_shapes_smaller_but_numbers_and_letters_stay():
    design = sample_design("marsh_scout_six")
    whole, small = plan_of(design), plan_of(design, scale=0.2)
    for one, other in zip(of_role(whole, "outline"), of_role(small, "outline"), strict=True):
        for a, b in zip(one.corners, other.corners, strict=True):
            assert (b.x, b.y) == pytest.approx((0.2 * a.x, 0.2 * a.y))
    assert {t.text for t in texts_of(whole)} >= {t.text for t in texts_of(small) if t.role == "dimension"}
    assert {t.height for t in texts_of(small)} <= {2.4, 3.0, 5.0}
    for wrong in (0.0, 11.0, math.nan):
        with pytest.raises(AxlewrightError, match="scale must be from"):
            plan_of(design, scale=wrong)


def test_an_inside_of_its_own_is_drawn():
    inner = ((150.0, 100.0), (-150.0, 100.0), (-150.0, -100.0), (150.0, -100.0))
    drawing = plan_of(Design(body_mm=BODY, packaging=Packaging(inner_mm=inner)))
    (wall,) = of_role(drawing, "frame", Outline)
    assert [(c.x, c.y) for c in wall.corners] == [on_paper(*corner) for corner in inner]


@pytest.mark.parametrize("key", KEYS)
def test_dimensions_stand_outside_of_the_body(key):
    drawing = plan_of(sample_design(key))
    (outline,) = of_role(drawing, "outline", Outline)
    body = polygon(outline)
    for element in drawing.elements:
        if isinstance(element, Text) and element.role == "dimension":
            assert not body.contains(shapely.Point(element.place))
    only = Drawing("", tuple(of_role(drawing, "dimension", Dimension)))
    low_x, low_y, _, _ = box_of(only.elements, text_width)
    assert low_x < body.bounds[0]
    assert low_y < body.bounds[1]
