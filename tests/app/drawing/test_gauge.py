"""Gauges read back from their own lines: against geometry, the exported code, and a wheel that is turned."""

from __future__ import annotations

import math

import pytest
import shapely

from app.controller.export_error import ExportError
from app.design.samples import sample_design
from app.drawing.elements import Circle, Line, Outline, box_of, text_corners
from app.drawing.gauge import gauges_of
from app.drawing.gauge_marks import radii_for
from app.drawing.lettering import printable, text_width
from geometry.errors import Cancelled
from geometry.model.design import Design
from geometry.model.wheel import Wheel
from sample_chassis import SAMPLES
from tests.app.drawing.gauge_cases import CASES, PULSES, pair, servo, wheel
from tests.app.drawing.gauge_expected import (
    JUMPS,
    TRAVEL_END,
    expected,
    facts_of,
    gauges,
    numbered_ticks,
    served,
)
from tests.app.drawing.gauge_read import (
    FILLED,
    OPEN,
    angle_between,
    heading_of,
    mark_ticks,
    marks_of,
    rim_of,
    scale_ticks,
    texts,
    wheel_line,
)

cases = pytest.mark.parametrize("key", CASES)


# Marks against geometry -----------------------------------------------------------------------


@cases
def test_each_mark_read_back_stands_where_geometry_has_the_wheel(key):
    toe = facts_of(key).robot.wheels.built_in
    for gauge in gauges(key):
        read = marks_of(gauge)
        for sign, n in served(key, gauge):
            wanted = expected(key, n)
            mine = [mark for mark in read if mark.sign == sign]
            assert {mark.name for mark in mine} == set(wanted)
            for name, places in wanted.items():
                headings = [mark.heading - toe[n] for mark in mine if mark.name == name]
                # The two sides of a turn where a wheel comes to its end differ by 1e-9 of the turn.
                near = 1e-7 if name.startswith(TRAVEL_END) else 1e-9
                for angle, _ in places:
                    assert min(angle_between(angle, h) for h in headings) < near, name


@cases
def test_each_label_tells_the_angle_of_its_tick(key):
    for gauge in gauges(key):
        (_, n), *_ = served(key, gauge)
        toe = facts_of(key).robot.wheels.built_in[n]
        read = marks_of(gauge)
        assert len(read) >= 5
        for mark in read:
            assert angle_between(math.radians(mark.shown), mark.heading - toe) <= math.radians(0.0051)


@cases
def test_a_wheel_turned_about_the_kingpin_lies_along_the_tick_of_its_angle(key):
    """By the outline as it is drawn at zero, turned by the number that stands at the tick."""
    for gauge in gauges(key):
        rear, front = wheel_line(gauge)
        numbered = [(math.radians(deg), tick) for deg, tick in numbered_ticks(key, gauge)]
        for angle, tick in numbered:
            cos, sin = math.cos(angle), math.sin(angle)
            a, b = ((x * cos - y * sin, x * sin + y * cos) for x, y in (rear, front))
            length = math.dist(a, b)
            for px, py in (tick.start, tick.end):
                across = ((b[0] - a[0]) * (py - a[1]) - (b[1] - a[1]) * (px - a[0])) / length
                ahead = ((b[0] - a[0]) * (px - a[0]) + (b[1] - a[1]) * (py - a[1])) / length
                assert abs(across) < 1e-9
                assert ahead > 0


@cases
def test_the_scale_has_a_tick_each_degree_over_the_travel_and_five_beyond(key):
    facts = facts_of(key)
    for gauge in gauges(key):
        wheels = [n for _, n in served(key, gauge)]
        toe = facts.robot.wheels.built_in[wheels[0]]
        low = min(math.degrees(facts.robot.motor_travel.low[n]) for n in wheels)
        high = max(math.degrees(facts.robot.motor_travel.high[n]) for n in wheels)
        first, last = max(math.ceil(low - 5 - 1e-9), -180), min(math.floor(high + 5 + 1e-9), 180)
        wanted = list(range(first + (last - first == 360), last + 1))
        ticks = scale_ticks(gauge)
        assert len(ticks) == len(wanted)
        for deg, tick in zip(wanted, ticks, strict=True):
            assert angle_between(heading_of(tick) - toe, math.radians(deg)) < 1e-9
            assert math.dist(tick.start, tick.end) == pytest.approx(2.5 if deg % 5 else 4.5)
            assert (tick.role == "gauge") == (low - 1e-6 <= deg <= high + 1e-6)
        assert len(numbered_ticks(key, gauge)) == sum(deg % 5 == 0 and deg != 0 for deg in wanted)


def test_left_is_drawn_left_with_a_plus():
    (gauge,) = gauges("reed_cart_four")
    read = {(mark.sign, mark.name): mark for mark in marks_of(gauge)}
    mark = read[FILLED, "tightest turn, left"]
    assert mark.line.end[0] < -10
    assert mark.shown == pytest.approx(73.54)
    assert "+73.54°" in [word for text in texts(gauge) for word in text.text.split()]
    # In a turn to the left, rear wheels that steer turn to the right.
    _, rear = gauges("marsh_scout_six")
    mark = next(m for m in marks_of(rear) if (m.sign, m.name) == (FILLED, "on the spot, left"))
    assert mark.line.end[0] > 10
    assert mark.shown < -100


# Ends, flips, pairs, zero ------------------------------------------------------------------------


def test_ends_are_those_that_the_motor_leaves():
    design = pair(servo("servo", "left", zero_deg=20.0, travel_min_deg=-30, travel_max_deg=60))
    gauge = next(g for g in gauges_of(design) if "left" in g.name)
    read = {mark.name: mark.shown for mark in marks_of(gauge)}
    assert (read["end of travel, right"], read["end of travel, left"]) == (-50, 40)
    far = {deg for deg, _ in numbered_ticks("", gauge)}
    assert (min(far), max(far)) == (-55, 45)


@pytest.mark.parametrize("key", ["flips", "flips without motors", "pulses"])
def test_a_jump_has_a_mark_on_either_side(key):
    found = 0
    for gauge in gauges(key):
        read = marks_of(gauge)
        for sign, n in served(key, gauge):
            jumps = [mark for mark in facts_of(key).landmarks if mark.wheel == n and mark.kind in JUMPS]
            for word in ("before", "after"):
                shown = sorted(
                    mark.shown for mark in read if mark.sign == sign and mark.name.startswith(word)
                )
                wanted = sorted(math.degrees(getattr(mark, word)) for mark in jumps)
                assert shown == pytest.approx(wanted, abs=0.0051)
            found += len(jumps)
    assert found


def mirror_name(name: str) -> str:
    return name.replace("left", "LEFT").replace("right", "left").replace("LEFT", "right")


@cases
def test_the_mirror_image_of_a_pair_reads_right_for_the_other_wheel(key):
    for gauge in gauges(key):
        if len(served(key, gauge)) == 1:
            continue
        read = marks_of(gauge)
        first, second = ([m for m in read if m.sign == sign] for sign in (FILLED, OPEN))
        assert len(first) == len(second)
        for mark in first:
            image = [m for m in second if m.name == mirror_name(mark.name)]
            # A whole turn's ends are one place; the angle is what tells them apart.
            assert min(angle_between(-mark.heading, m.heading) for m in image) < 1e-6
            assert min(abs(-mark.shown - m.shown) for m in image) < 0.011
            x, y = mark.line.end
            assert min(math.dist((-x, y), m.line.end) for m in image) < 1e-4


def test_pairs_share_a_sheet_and_wheels_that_differ_do_not():
    assert [g.name for g in gauges("marsh_scout_six")] == [
        "Gauge: front left; mirrored: front right",
        "Gauge: rear left; mirrored: rear right",
    ]
    wider = sample_design("marsh_scout_six")
    wheels = tuple(w.edited(width_mm=w.width_mm + 1) if w.name == "front left" else w for w in wider.wheels)
    assert [g.name for g in gauges_of(wider.edited(wheels=wheels))] == [
        "Gauge: front left",
        "Gauge: front right",
        "Gauge: rear left; mirrored: rear right",
    ]
    assert len(gauges("toe")) == len(gauges("offset")) == 2


def test_the_right_wheel_may_come_first_in_the_design():
    design = sample_design("reed_cart_four")
    turned = design.edited(wheels=tuple(reversed(design.wheels)))
    assert [g.name for g in gauges_of(turned)] == ["Gauge: front left; mirrored: front right"]


@pytest.mark.parametrize(("key", "toe"), [("toe", -4.0), ("much toe", 40.0), ("offset", 0.0)])
def test_the_zero_line_lies_along_the_wheel_and_straight_ahead_is_up(key, toe):
    gauge = gauges(key)[0]
    zero = next(
        e for e in gauge.elements if isinstance(e, Line) and e.role == "centre" and math.hypot(*e.end) > 50
    )
    assert math.degrees(heading_of(zero)) == pytest.approx(toe, abs=1e-9)
    assert math.dist(zero.start, zero.end) > rim_of(gauge)
    read = {mark.name: mark for mark in marks_of(gauge)}
    assert math.degrees(read["zero"].heading) == pytest.approx(toe, abs=1e-9)
    assert read["straight ahead"].heading == pytest.approx(0.0, abs=1e-9)
    assert read["straight ahead"].shown == -toe
    dashed = [e for e in gauge.elements if isinstance(e, Line) and e.role == "axle line"]
    assert len(dashed) == bool(toe)
    assert all(line.start[0] == line.end[0] == 0.0 for line in dashed)


# The sheet -----------------------------------------------------------------------------------------


def test_the_hole_is_as_wide_as_asked_about_the_kingpin():
    design = sample_design("creek_tricycle")
    for given, wide in (({}, 3.0), ({"hole_mm": 5.2}, 5.2)):
        (gauge,) = gauges_of(design, **given)
        (hole,) = (e for e in gauge.elements if isinstance(e, Circle) and e.role == "kingpin")
        assert (hole.centre, 2 * hole.radius) == ((0.0, 0.0), wide)
        cross = [e for e in gauge.elements if isinstance(e, Line) and e.role == "kingpin"]
        assert sorted(box_of(cross, text_width)) == [-6.0, -6.0, 6.0, 6.0]
        assert f"its {wide:g} mm hole" in " ".join(text.text for text in texts(gauge))


def test_the_wheel_is_drawn_at_full_size_where_trail_and_offset_put_it():
    design = pair(lateral_offset_mm=18.0, trail_mm=7.0, diameter_mm=64.0, width_mm=22.0)
    gauge = gauges_of(design)[0]
    (outline,) = (e for e in gauge.elements if isinstance(e, Outline) and e.role == "wheel")
    # Left is to the left of the paper, forward is up.
    assert box_of([outline], text_width) == pytest.approx((-18 - 11, -7 - 32, -18 + 11, -7 + 32))


@cases
def test_the_scale_clears_the_wheel_unless_that_is_larger_than_the_largest_scale(key):
    for gauge in gauges(key):
        rim = rim_of(gauge)
        inner = min(
            math.hypot(*p) for t in texts(gauge) for p in text_corners(t, text_width) if t.height < 2.15
        )
        (outline,) = (e for e in gauge.elements if isinstance(e, Outline) and e.role == "wheel")
        reach = max(math.hypot(c.x, c.y) for c in outline.corners)
        if any("reaches over the scale" in note for note in gauge.notes):
            assert rim == pytest.approx(400.0)
            assert key in ("huge", "over the rim")
        else:
            assert rim >= 60.0
            assert reach < inner
            assert key != "over the rim"


def test_radii_are_those_that_are_asked_for_and_that_the_chassis_reaches():
    design = sample_design("reed_cart_four")
    (gauge,) = gauges_of(design, radii_mm=[100.0, 333.0])
    names = {mark.name for mark in marks_of(gauge)}
    assert {name for name in names if name.startswith("radius")} == {
        "radius 333 mm, left",
        "radius 333 mm, right",
    }
    assert not any("radius" in m.name for m in marks_of(gauges_of(design, radii_mm=[])[0]))


@pytest.mark.parametrize("half_track", [7.0, 24.9, 25.0, 120.0, 249.0, 250.0, 1500.0, 1e4])
def test_radii_suit_the_size_of_the_chassis(half_track):
    radii = radii_for(half_track)
    assert 1.0 < radii[0] / half_track <= 10.0 + 1e-9
    assert [radius / radii[0] for radius in radii] == pytest.approx([1, 2, 4, 8])


@cases
def test_texts_lie_clear_of_each_other_and_of_lines(key):
    for gauge in gauges(key):
        boxes = [shapely.Polygon(text_corners(text, text_width)).buffer(-0.02) for text in texts(gauge)]
        tree = shapely.STRtree(boxes)
        names = [text.text for text in texts(gauge)]
        for i, j in zip(*tree.query(boxes, predicate="intersects"), strict=True):
            assert i == j, (names[i], names[j])
        lines = [e for e in gauge.elements if isinstance(e, Line)]
        drawn = [shapely.LineString([line.start, line.end]) for line in lines]
        for i, j in zip(*tree.query(drawn, predicate="intersects"), strict=True):
            raise AssertionError((lines[i], names[j]))


@cases
def test_leaders_neither_cross_each_other_nor_run_over_the_scale(key):
    for gauge in gauges(key):
        leaders = [e for e in gauge.elements if isinstance(e, Line) and e.role == "frame"]
        tips = {line.end for line in mark_ticks(gauge)}
        drawn = [shapely.LineString([e.start, e.end]) for e in leaders if e.start in tips]
        assert len(drawn) >= 2
        outer = math.hypot(*next(iter(tips)))
        disc = shapely.Point(0, 0).buffer(outer, quad_segs=2000).buffer(-0.01)
        for i, one in enumerate(drawn):
            assert not one.crosses(disc)
            for other in drawn[i + 1 :]:
                assert not one.crosses(other) or one.coords[0] == other.coords[0]


@cases
def test_all_that_is_written_can_be_printed(key):
    for gauge in gauges(key):
        for words in (gauge.name, *gauge.notes, *(text.text for text in texts(gauge))):
            assert printable(words) == words
            assert words.strip() == words != ""


@cases
def test_each_sheet_says_how_it_is_read(key):
    for gauge in gauges(key):
        words = " ".join(text.text for text in texts(gauge))
        assert "left is +, right is −" in words
        assert "read here" in words
        assert gauge.name.split()[0] in words
        powered = bool(CASES[key].steer_motors) and any(mark.told for mark in marks_of(gauge))
        assert ("Wheels off the ground" in words) == powered


def test_every_sample_has_a_sheet_for_each_steered_wheel_and_none_for_a_caster():
    for sample in SAMPLES:
        design = sample_design(sample.key)
        wheels = [n for gauge in gauges(sample.key) for _, n in served(sample.key, gauge)]
        assert sorted(wheels) == [n for n, w in enumerate(design.wheels) if w.kind == "steered"]


@pytest.mark.parametrize(
    "wheels",
    [(), (Wheel(name="fixed", x_mm=0, y_mm=50), Wheel(name="swings", x_mm=90, y_mm=0, kind="caster"))],
)
def test_a_chassis_without_steered_wheels_is_refused_in_words(wheels):
    with pytest.raises(ExportError, match=r"no wheel of the chassis is steered.*a caster needs none"):
        gauges_of(Design(wheels=wheels))


def test_a_single_wheel_in_the_middle_has_no_signs():
    gauge = gauges_of(Design(wheels=(wheel("nose", 100, 0), Wheel(name="l", x_mm=0, y_mm=90))))[0]
    assert gauge.name == "Gauge: nose"
    assert not any(sign in text.text for text in texts(gauge) for sign in (FILLED, OPEN))


def test_working_out_the_code_can_be_stopped():
    with pytest.raises(Cancelled):
        gauges_of(PULSES, progress=lambda _share: False)


def test_the_same_chassis_gives_the_same_drawing():
    assert gauges_of(PULSES) == gauges_of(PULSES)
