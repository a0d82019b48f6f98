from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from geometry.errors import CommandError
from geometry.kinematics.as_built import as_built, motor_arrays, narrowed
from geometry.kinematics.motion import from_turn
from geometry.kinematics.robot import robot_of
from geometry.model.base_axle import base_of
from geometry.model.design import Design
from geometry.model.motors import Gearing, SteerMotor
from geometry.model.wheel_arrays import wheel_arrays
from geometry.turn_range.shared_landmarks import COARSE, landmarks_with_motors
from geometry.turn_range.sweep import JUMPS, Landmark, landmarks
from tests.geometry.motored_six import four_motors, steer
from tests.geometry.shared_oracle import dragged, least_drag, shaft_ends
from tests.geometry.six_wheels import H, X, six
from tests.strategies import designs

FRONT = six(135.0).edited(steer_motors=(steer("front", w0=1.0, w1=1.0),))
DESIGNS = {
    "exact, short travel": four_motors(travel=80.0),
    "unequal ratios": four_motors(0.05),
    "unequal ratios, short travel": four_motors(0.05, travel=80.0),
    "front pair, short travel": FRONT.edited(
        wheels=tuple(w.edited(travel_min_deg=-35.0, travel_max_deg=35.0) for w in FRONT.wheels)
    ),
    "with trail, short travel": four_motors(travel=80.0).edited(
        wheels=tuple(
            w.edited(trail_mm=10.0 if w.kind == "steered" else 0.0) for w in four_motors(travel=80.0).wheels
        )
    ),
}


def marks_of(design: Design, largest: float = 1.0, **more: float) -> tuple[Landmark, ...]:
    return landmarks_with_motors(robot_of(design), largest, **more)  # type: ignore[arg-type]


def of_wheels(marks: tuple[Landmark, ...]) -> list[Landmark]:
    return [mark for mark in marks if mark.wheel is not None]


def built(design: Design, *turn: float):
    wheels = wheel_arrays(design)
    return as_built(wheels, motor_arrays(design, wheels), from_turn(turn, base_of(design)))


@settings(max_examples=40)
@given(designs(min_wheels=1, max_wheels=4, kinds=["steered"]), st.sampled_from([1.0, -1.0, 0.5, -2.0]))
def test_motors_of_one_wheel_have_the_landmarks_of_wheels_with_less_travel(
    design: Design, ratio: float
) -> None:
    motors = tuple(
        SteerMotor(
            name=f"of {wheel.name}",
            wheels=(Gearing(wheel=wheel.name, ratio=ratio),),
            travel_min_deg=-50.0,
            travel_max_deg=70.0,
        )
        for wheel in design.wheels
    )
    design = design.edited(steer_motors=motors)
    wheels = wheel_arrays(design)
    less = narrowed(wheels, motor_arrays(design, wheels))
    assert marks_of(design, 0.8) == landmarks(less, base_of(design), 0.8)


def test_exact_sharing_with_free_travel_has_no_landmarks_of_its_own() -> None:
    found = marks_of(four_motors())
    assert [(mark.turn, mark.kind) for mark in found] == [
        (-1.0, "on the spot"),
        (-0.5, "side stopped"),
        (0.0, "straight"),
        (0.5, "side stopped"),
        (1.0, "on the spot"),
    ]


def test_a_side_that_shares_exactly_stops_and_changes_end_where_the_closed_form_says() -> None:
    # The inner wheels want tan = (x / h) s / (1 - 2 s), and are short of it from 80 to 100 degrees.
    tangent = math.tan(math.radians(80.0))
    stop, free = tangent / (X / H + 2.0 * tangent), tangent / (2.0 * tangent - X / H)
    left = [mark for mark in of_wheels(marks_of(four_motors(travel=80.0))) if mark.turn > 0]
    assert [(mark.wheel, mark.kind) for mark in left] == [
        (n, kind) for kind in ("travel end", "changes end", "travel end") for n in (0, 4)
    ]
    assert [mark.turn for mark in left] == pytest.approx([stop, stop, 0.5, 0.5, free, free], abs=1e-9)
    assert np.degrees([left[2].before, left[2].after]) == pytest.approx([80.0, -80.0])


def test_the_flip_of_a_shared_pair_lies_where_brute_force_finds_it() -> None:
    design = four_motors(0.05)
    held = design.steer_motors[0]
    low, high = shaft_ends(design, held)
    (mark,) = [m for m in of_wheels(marks_of(design)) if m.turn > 0 and m.wheel == 0]
    assert mark.kind == "flip"
    shafts = np.linspace(low, high, 20_001)

    def best(turn: float) -> float:
        twist = from_turn([turn], base_of(design)).twist[0]
        return float(shafts[dragged(design, held, twist, shafts).argmin()])

    # Brute force flips where both are equally good, ours where the flip has become worth it.
    assert best(mark.turn + 2e-3) == pytest.approx(mark.after, abs=0.02)
    assert best(mark.turn - 2e-3) == pytest.approx(mark.before, abs=0.02)
    twist = from_turn([mark.turn], base_of(design)).twist[0]
    spared = float(dragged(design, held, twist, np.array(mark.before))) - least_drag(design, held, twist)
    at_end = float(dragged(design, held, twist, np.array(mark.after))) - least_drag(design, held, twist)
    assert at_end == pytest.approx(0.0, abs=1e-9)
    assert 0.0 <= spared < 1e-4


@pytest.mark.parametrize("name", DESIGNS)
def test_landmarks_of_shared_motors_are_what_the_built_chassis_does(name: str) -> None:
    design = DESIGNS[name]
    marks = [mark for mark in of_wheels(marks_of(design)) if mark.wheel in _shared(design)]
    assert marks
    for mark in marks:
        away = 3e-9 if mark.turn >= 0 else -3e-9
        found = built(design, mark.turn - away, mark.turn + away).solution
        steer, limited = found.steer[:, mark.wheel], found.limited[:, mark.wheel]
        assert [mark.before, mark.after] == pytest.approx(steer, abs=1e-5)
        assert (abs(steer[1] - steer[0]) > 0.1) == (mark.kind in JUMPS)
        assert (mark.kind == "changes end") == (mark.kind in JUMPS and bool(limited.all()))
        if mark.kind == "travel end":
            assert limited[0] != limited[1]


@pytest.mark.parametrize("name", DESIGNS)
def test_between_landmarks_shared_motors_neither_jump_nor_stop(name: str) -> None:
    design = DESIGNS[name]
    marks = [mark for mark in of_wheels(marks_of(design)) if mark.wheel in _shared(design)]
    turns = np.linspace(-1.0, 1.0, 40_001)
    found = built(design, *turns).solution
    for n in sorted(_shared(design)):
        steps = (np.abs(np.diff(found.steer[:, n])) > 0.1) | np.diff(found.limited[:, n])
        places = [mark.turn for mark in marks if mark.wheel == n]
        for k in np.flatnonzero(steps).tolist():
            assert any(turns[k] - 1e-8 <= place <= turns[k + 1] + 1e-8 for place in places), (n, turns[k])
        assert len(places) == np.count_nonzero(steps)


def test_a_coarse_look_finds_the_same_but_for_its_error() -> None:
    design = four_motors(0.05, travel=80.0)
    fine, coarse = marks_of(design), marks_of(design, rows=COARSE[0], within=COARSE[1])
    assert [(mark.kind, mark.wheel) for mark in fine] == [(mark.kind, mark.wheel) for mark in coarse]
    assert [m.turn for m in fine] == pytest.approx([m.turn for m in coarse], abs=COARSE[1])


def test_a_smaller_range_keeps_what_lies_in_it() -> None:
    design = four_motors(0.05, travel=80.0)
    whole, part = of_wheels(marks_of(design)), of_wheels(marks_of(design, 0.49))
    inside = [mark for mark in whole if abs(mark.turn) < 0.49]
    assert [(m.kind, m.wheel) for m in part] == [(m.kind, m.wheel) for m in inside]
    assert [m.turn for m in part] == pytest.approx([m.turn for m in inside], abs=2e-9)


@pytest.mark.parametrize(("largest", "rows"), [(0.0, 101), (1.5, 101), (1.0, 1)])
def test_a_range_that_is_none_is_refused(largest: float, rows: int) -> None:
    with pytest.raises(CommandError):
        marks_of(four_motors(), largest, rows=rows)


def _shared(design: Design) -> set[int]:
    names = [wheel.name for wheel in design.wheels]
    return {names.index(g.wheel) for m in design.steer_motors if len(m.wheels) > 1 for g in m.wheels}


def test_a_wheel_without_a_motor_keeps_its_own_travel_beside_wheels_with_one() -> None:
    # Only the left side hangs on a motor, whose travel is less than that of any wheel.
    design = four_motors(travel=80.0)
    left = design.steer_motors[0].edited(travel_min_deg=-30.0, travel_max_deg=50.0)
    design = design.edited(steer_motors=(left,))
    wheels = wheel_arrays(design)
    less = narrowed(wheels, motor_arrays(design, wheels))
    np.testing.assert_array_equal(np.degrees(less.low).round(9), [-30, -80, -180, -180, -50, -80])
    np.testing.assert_array_equal(np.degrees(less.high).round(9), [50, 80, 180, 180, 30, 80])
    marks = [mark for mark in of_wheels(marks_of(design)) if mark.kind == "travel end"]
    # The right front wheel stops at its own 80 degrees: tan = (x / h) s / (1 - 2 s), to the right.
    tangent = math.tan(math.radians(80.0))
    stops = [-mark.turn for mark in marks if mark.wheel == 1 and mark.turn < 0]
    assert min(stops) == pytest.approx(tangent / (X / H + 2.0 * tangent), abs=1e-9)
