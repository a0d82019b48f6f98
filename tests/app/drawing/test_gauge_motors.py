"""What gauges say of motors, against the exported code and by hand."""

from __future__ import annotations

import math

import pytest

from app.controller.export_error import ExportError
from app.controller.programme import Programme, programme_of
from app.controller.runtime import Runtime
from app.drawing.gauge import gauges_of
from geometry.model.design import Design
from geometry.model.motors import SteerMotor
from tests.app.drawing.gauge_cases import CASES, COUNTS, DEGREES, PULSES, pair, servo
from tests.app.drawing.gauge_expected import (
    code_of,
    expected,
    facts_of,
    gauges,
    served,
    text_end,
)
from tests.app.drawing.gauge_read import (
    FILLED,
    marks_of,
    number,
    texts,
)


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
