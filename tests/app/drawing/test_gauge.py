"""Gauges read back from their own lines: against geometry, the exported code, and a wheel that is turned."""

from __future__ import annotations

import math
from functools import cache

import pytest
import shapely

from app.controller.export_error import ExportError
from app.controller.programme import Programme, programme_of
from app.controller.runtime import Runtime
from app.controller.steering_table import slugs_of, table_of
from app.design.facts import Facts
from app.design.samples import sample_design
from app.drawing.elements import Circle, Drawing, Line, Outline, box_of, text_corners
from app.drawing.gauge import gauges_of
from app.drawing.gauge_marks import radii_for
from app.drawing.lettering import printable, text_width
from geometry.errors import Cancelled
from geometry.kinematics.motion import radius_of_turn, turn_of_radius
from geometry.model.design import Design
from geometry.model.motors import SteerMotor
from geometry.model.wheel import Wheel
from sample_chassis import SAMPLES
from tests.app.drawing.gauge_cases import CASES, COUNTS, DEGREES, PULSES, pair, servo, wheel
from tests.app.drawing.gauge_read import (
    FILLED,
    OPEN,
    angle_between,
    heading_of,
    mark_ticks,
    marks_of,
    number,
    rim_of,
    scale_ticks,
    texts,
    wheel_line,
)

cases = pytest.mark.parametrize("key", CASES)
JUMPS = {"flip": "its flip", "changes end": "it changes ends", "jump": "its jump"}
TRAVEL_END = "reaches its end"


@cache
def gauges(key: str) -> tuple[Drawing, ...]:
    return gauges_of(CASES[key])


@cache
def facts_of(key: str) -> Facts:
    return Facts(CASES[key])


@cache
def code_of(key: str) -> Programme:
    return programme_of(CASES[key])


def served(key: str, gauge: Drawing) -> list[tuple[str, int]]:
    """The wheels of a sheet, by its title: the sign of their marks, and their index."""
    names = gauge.name.removeprefix("Gauge: ").split("; mirrored: ")
    index = {printable(w.name): n for n, w in enumerate(CASES[key].wheels)}
    signs = (FILLED, OPEN) if len(names) == 2 else ("",)
    return [(sign, index[name]) for sign, name in zip(signs, names, strict=True)]


def way(turn: float) -> str:
    return "left" if turn > 0 else "right"


def expected(key: str, n: int) -> dict[str, list[tuple[float, float | None]]]:
    """Names with steer angle [rad] and turn; by the steering table, landmarks and ends of travel."""
    facts = facts_of(key)
    base, design = facts.robot.base, CASES[key]
    named: list[tuple[str, float]] = []
    for mark in facts.landmarks:
        if mark.wheel is None:
            side = way(mark.turn)
            words = {
                "straight": "straight ahead",
                "side stopped": f"{side} side stopped",
                "on the spot": f"on the spot, {side}",
                "largest turn": f"tightest turn, {side}",
            }
            named.append((words[mark.kind], mark.turn))
    for radius in radii_for(base.half_track):
        for sign in (1.0, -1.0):
            turn = float(turn_of_radius([sign * radius], base)[0])
            if abs(turn) <= design.largest_turn:
                named.append((f"radius {radius:g} mm, {way(sign)}", turn))
    table = table_of(design, [turn for _, turn in named])
    column = table.columns.index(slugs_of([w.name for w in design.wheels])[n] + "_steer_deg")
    found: dict[str, list[tuple[float, float | None]]] = {
        "zero": [(0.0, None)],
        "end of travel, left": [(float(facts.robot.motor_travel.high[n]), None)],
        "end of travel, right": [(float(facts.robot.motor_travel.low[n]), None)],
    }
    for (name, turn), deg in zip(named, table.values[:, column].tolist(), strict=True):
        found.setdefault(name, []).append((math.radians(deg), turn))
    for mark in facts.landmarks:
        if mark.wheel == n:
            radius = abs(float(radius_of_turn(mark.turn, base)[0]))
            where = "straight ahead"
            if math.isfinite(radius):
                where = f"radius {f'{radius:.1f}'.removesuffix('.0')} mm, {way(mark.turn)}"
            if mark.kind in JUMPS:
                for word, angle in (("before", mark.before), ("after", mark.after)):
                    name = f"{word} {JUMPS[mark.kind]}, {where}"
                    found.setdefault(name, []).append((angle, mark.turn))
            else:
                found.setdefault(f"{TRAVEL_END}, {where}", []).append((mark.before, mark.turn))
    return found


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


def numbered_ticks(key: str, gauge: Drawing) -> list[tuple[float, Line]]:
    """Each long tick with the number that stands next to its inner end."""
    numbers = [text for text in texts(gauge) if abs(text.height - 2.1) < 1e-9]
    found = []
    for tick in scale_ticks(gauge):
        if math.dist(tick.start, tick.end) > 3.0:
            nearest = min(numbers, key=lambda text: math.dist(tick.start, text_end(text)), default=None)
            # The zero line takes the place of its number.
            if nearest is not None and math.dist(tick.start, text_end(nearest)) < 2.0:
                found.append((number(nearest.text), tick))
    return found


def text_end(text):
    """Where a number along the scale begins or ends, at half the height of its digits: its outer end."""
    lift = 0.5 * 0.73 * text.height
    x, y = text.place
    return x - lift * math.sin(text.turn), y + lift * math.cos(text.turn)


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


# What motors are told ----------------------------------------------------------------------------


def settled(programme: Programme, step: int) -> tuple[int, ...]:
    """What the code answers at a turn step once its limiter has come there."""
    runtime = Runtime(programme)
    runtime.step = step
    answer = runtime.drive(0, 0, 1000)
    while (after := runtime.drive(0, 0, 1000)) != answer:
        answer = after
    return answer.steer


def printed(motor: SteerMotor, whole: int) -> float:
    return whole / 100.0 if motor.unit == "degrees" else whole


def motor_at(design: Design, n: int) -> int:
    name = design.wheels[n].name
    return next(k for k, m in enumerate(design.steer_motors) if name in [g.wheel for g in m.wheels])


MOTORED = [key for key, design in CASES.items() if design.steer_motors]


@pytest.mark.parametrize("key", MOTORED)
def test_what_a_motor_is_told_at_a_mark_is_what_the_exported_code_answers_there(key):
    design, programme = CASES[key], code_of(key)
    checked = 0
    for gauge in gauges(key):
        for sign, n in served(key, gauge):
            k = motor_at(design, n)
            motor = design.steer_motors[k]
            wanted = expected(key, n)
            for mark in marks_of(gauge):
                if mark.sign != sign:
                    continue
                turns = [turn for _, turn in wanted[mark.name] if turn is not None]
                answers = []
                for turn in turns:
                    size = abs(turn) * programme.turn_one
                    step = math.floor(size + 0.5)
                    if mark.name.startswith("before"):
                        step = math.ceil(round(size, 6)) - 1
                    elif mark.name.startswith("after"):
                        step = math.floor(round(size, 6)) + 1
                    step = min(max(step, 0), programme.last)
                    answers.append(printed(motor, settled(programme, step if turn > 0 else -step)[k]))
                assert not turns or number(mark.told) in answers, mark
                checked += bool(turns)
    assert checked > 10


SIDES = {
    "straight ahead": (1000, 1000),
    "left side stopped": (0, 1000),
    "right side stopped": (1000, 0),
    "on the spot, left": (-1000, 1000),
    "on the spot, right": (1000, -1000),
}


@pytest.mark.parametrize("key", MOTORED)
def test_a_stick_that_asks_for_a_mark_gets_what_the_gauge_says(key):
    design, programme = CASES[key], code_of(key)
    checked = set()
    for gauge in gauges(key):
        for sign, n in served(key, gauge):
            k = motor_at(design, n)
            for mark in marks_of(gauge):
                if mark.sign == sign and mark.name in SIDES:
                    runtime = Runtime(programme)
                    for _ in range(20):
                        answer = runtime.drive(*SIDES[mark.name], 1000)
                    assert number(mark.told) == printed(design.steer_motors[k], answer.steer[k])
                    checked.add(mark.name)
    assert checked == set(SIDES)


@pytest.mark.parametrize("key", MOTORED)
def test_what_a_mark_tells_the_motor_turns_the_wheel_to_the_mark_within_what_the_code_may_be_off(key):
    """Back from the number by the motor's own settings and gears to the wheel."""
    design, programme = CASES[key], code_of(key)
    for gauge in gauges(key):
        for sign, n in served(key, gauge):
            motor = design.steer_motors[motor_at(design, n)]
            (gearing,) = (g for g in motor.wheels if g.wheel == design.wheels[n].name)
            for mark in marks_of(gauge):
                if mark.sign == sign:
                    shaft = shaft_deg(motor, number(mark.told))
                    off = abs(shaft * gearing.turns - mark.shown)
                    assert off <= programme.bound_deg + 0.006 + 1.0 / units_per_degree(motor) * 0.51


def units_per_degree(motor: SteerMotor) -> float:
    per = {
        "degrees": 100.0,
        "counts": motor.counts_per_turn / 360.0,
        "microseconds": motor.us_per_90_deg / 90.0,
    }
    return per[motor.unit]


def shaft_deg(motor: SteerMotor, told: float) -> float:
    """By hand: from what is told to the shaft's angle from straight ahead [degrees]."""
    reading = {
        "degrees": told,
        "counts": told * 360.0 / motor.counts_per_turn,
        "microseconds": (told - motor.neutral_us) * 90.0 / motor.us_per_90_deg,
    }[motor.unit]
    turned = reading - motor.zero_deg
    return -turned if motor.reversed else turned


@pytest.mark.parametrize("key", MOTORED)
def test_the_small_numbers_along_the_scale_turn_the_wheel_to_their_ticks(key):
    design, facts = CASES[key], facts_of(key)
    for gauge in gauges(key):
        wheels = served(key, gauge)
        small = [text for text in texts(gauge) if abs(text.height - 1.8) < 1e-9]
        toe, across = facts.robot.wheels.built_in[wheels[0][1]], design.wheels[wheels[0][1]].lateral_offset_mm
        rings = {round(math.hypot(*text_end(text)), 3) for text in small}
        shared = len(wheels) == 2 and motor_at(design, wheels[0][1]) == motor_at(design, wheels[1][1])
        assert len(rings) == (1 if shared else len(wheels))
        for radius, (_, n) in zip(sorted(rings, reverse=True), wheels, strict=False):
            motor = design.steer_motors[motor_at(design, n)]
            (gearing,) = (g for g in motor.wheels if g.wheel == design.wheels[n].name)
            low, high = (
                math.degrees(e[n]) for e in (facts.robot.motor_travel.low, facts.robot.motor_travel.high)
            )
            seen = set()
            for text in small:
                x, y = text_end(text)
                if round(math.hypot(x, y), 3) != radius:
                    continue
                steer = math.degrees(math.atan2(-x, y) - math.asin(across / math.hypot(x, y)) - toe)
                angle = 5 * round(math.remainder(steer, 360.0) / 5)
                assert abs(math.remainder(steer - angle, 360.0)) < 0.01
                # The code rounds, and at an end of the travel never beyond it.
                most = 1.01 if min(angle - low, high - angle) < 0.01 else 0.51
                whole = 0.006 if motor.unit == "degrees" else most / units_per_degree(motor)
                off = math.remainder(shaft_deg(motor, number(text.text)) * gearing.turns - angle, 360.0)
                assert abs(off) <= whole * abs(gearing.turns) + 1e-9
                seen.add(angle)
            due = range(5 * math.ceil(low / 5 - 1e-9), 5 * math.floor(high / 5 + 1e-9) + 1, 5)
            # The zero line takes the place of its number; a whole turn ends where it begins.
            assert seen | {0, -180} == set(due) | {0, -180} or seen | {0, 180} == set(due) | {0, -180}


@pytest.mark.parametrize(
    ("design", "name", "angle", "told"),
    [
        # 5 degrees of zero at 10 us a degree: straight ahead 1550, and 10 more for a degree to the left.
        (PULSES, "left", 20, "1750"),
        (PULSES, "left", -20, "1350"),
        # Reversed, zero at -3: 1520 - 3 * 100 / 9, and down to the left.
        (PULSES, "right", 20, "1264"),
        # 12 teeth drive 36: thrice the angle, the other way; zero at 40 degrees; a million a turn.
        (COUNTS, "left", 20, "−55556"),
        (COUNTS, "right", 20, "341"),
        (DEGREES, "left", 20, "30.25"),
        (DEGREES, "right", 20, "52.5"),
    ],
)
def test_a_number_along_the_scale_is_that_of_the_motors_settings(design, name, angle, told):
    key = next(k for k, d in CASES.items() if d is design)
    gauge = next(g for g in gauges(key) if name in g.name)
    place = [n for _, n in served(key, gauge)].index(design.index_of(name))
    small = [text for text in texts(gauge) if abs(text.height - 1.8) < 1e-9]
    ends = [(text, *text_end(text)) for text in small]
    at_angle = [
        (math.hypot(x, y), text.text)
        for text, x, y in ends
        if abs(math.degrees(math.atan2(-x, y)) - angle) < 0.01
    ]
    assert sorted(at_angle, reverse=True)[place][1] == told


def test_where_no_code_can_be_written_the_numbers_follow_the_motors_settings_and_a_note_says_so():
    coarse = servo("coarse", "left", unit="counts", counts_per_turn=36.0)
    design = pair(coarse, servo("fine", "right"))
    with pytest.raises(ExportError):
        programme_of(design)
    gauge = next(g for g in gauges_of(design) if "left" in g.name)
    assert any("No code can be written" in note and "coarse" in note for note in gauge.notes)
    told = {mark.name: mark.told for mark in marks_of(gauge) if mark.sign in ("", FILLED)}
    assert told["left side stopped"] == "9"
    assert told["on the spot, right"] == f"−{round(68.2 / 10)}"


def test_wheels_without_a_motor_have_no_numbers_but_angles():
    for key in ("marsh_scout_six", "creek_tricycle"):
        for gauge in gauges(key):
            assert not any(mark.told for mark in marks_of(gauge))
            assert not any(abs(text.height - 1.8) < 1e-9 for text in texts(gauge))


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
