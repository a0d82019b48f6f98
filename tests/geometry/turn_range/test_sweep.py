from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from geometry.errors import CommandError
from geometry.kinematics.ideal import solve
from geometry.kinematics.motion import from_turn, turn_of_radius
from geometry.model.base_axle import base_of
from geometry.model.design import Design
from geometry.model.wheel import Wheel
from geometry.model.wheel_arrays import wheel_arrays
from geometry.turn_range.sweep import JUMPS, Landmark, landmarks, sweep, turns_between
from tests.strategies import designs

H, X = 120.0, 132.0


def front_pair(low: float, high: float, **more: float) -> Design:
    """A fixed axle and two steered wheels ahead of it."""
    steered = {"kind": "steered", "travel_min_deg": low, "travel_max_deg": high, **more}
    return Design(
        wheels=(
            Wheel(name="RL", x_mm=0.0, y_mm=H),
            Wheel(name="RR", x_mm=0.0, y_mm=-H),
            Wheel.model_validate({"name": "FL", "x_mm": X, "y_mm": H, **steered}),
            Wheel.model_validate({"name": "FR", "x_mm": X, "y_mm": -H, **steered}),
        )
    )


def marks_of(design: Design, largest: float = 1.0) -> tuple[Landmark, ...]:
    return landmarks(wheel_arrays(design), base_of(design), largest)


def of_wheel(design: Design, n: int) -> list[tuple[float, str]]:
    return [(mark.turn, mark.kind) for mark in marks_of(design) if mark.wheel == n]


def test_the_named_turns_are_landmarks_in_rising_order() -> None:
    found = [(mark.turn, mark.kind) for mark in marks_of(Design())]
    assert found == [
        (-1.0, "on the spot"),
        (-0.5, "side stopped"),
        (0.0, "straight"),
        (0.5, "side stopped"),
        (1.0, "on the spot"),
    ]


def test_a_smaller_range_ends_in_its_own_landmarks() -> None:
    found = [(mark.turn, mark.kind) for mark in marks_of(Design(), 0.4)]
    assert found == [(-0.4, "largest turn"), (0.0, "straight"), (0.4, "largest turn")]


def test_travel_ends_lie_where_the_closed_form_says() -> None:
    tangent = X / H  # outer: tan = (x/h) s; inner: tan = (x/h) s / (1 - 2 s)
    want = math.tan(math.radians(40.0))
    inner = want / (tangent + 2.0 * want)
    outer = want / tangent
    left_turns = [(s, kind) for s, kind in of_wheel(front_pair(-40.0, 40.0), 2) if s > 0]
    assert left_turns[0] == (pytest.approx(inner, abs=1e-14), "travel end")
    right_turns = [(s, kind) for s, kind in of_wheel(front_pair(-40.0, 40.0), 2) if s < 0]
    assert (pytest.approx(-outer, abs=1e-14), "travel end") in right_turns


def test_between_its_ends_a_wheel_changes_end_where_the_flow_is_across_the_middle() -> None:
    flips = [s for s, kind in of_wheel(front_pair(-40.0, 40.0), 2) if kind == "changes end"]
    assert flips == [pytest.approx(0.5, abs=1e-14)]
    # Travel -20 to 60: middle 20 degrees, so the flow at the flip is at 110 degrees.
    lopsided = [s for s, kind in of_wheel(front_pair(-20.0, 60.0), 2) if kind == "changes end" and s > 0]
    t = math.tan(math.radians(110.0))
    assert lopsided == [pytest.approx(t / (X / H + 2.0 * t), abs=1e-13)]


def test_a_flip_tells_the_angles_before_and_after() -> None:
    flip = next(mark for mark in marks_of(front_pair(-90.0, 90.0)) if mark.kind == "flip" and mark.turn > 0)
    assert (flip.wheel, flip.turn) == (2, pytest.approx(0.5))
    assert np.degrees([flip.before, flip.after]) == pytest.approx([90.0, -90.0], abs=1e-5)


def test_a_travel_that_ends_straight_ahead_is_told_at_straight() -> None:
    assert (0.0, "travel end") in of_wheel(front_pair(0.0, 45.0), 2)


def test_free_wheels_have_no_travel_ends_and_no_flips() -> None:
    assert of_wheel(front_pair(-180.0, 180.0), 2) == []


@pytest.mark.parametrize(("low", "high"), [(-180.0, 180.0), (-180.0, 0.0), (-80.0, 80.0)])
def test_a_trailing_wheel_on_the_base_axle_jumps_where_the_centre_is_on_its_kingpin(
    low: float, high: float
) -> None:
    design = front_pair(-180.0, 180.0)
    extra = Wheel(
        name="mid",
        x_mm=0.0,
        y_mm=60.0,
        kind="steered",
        trail_mm=10.0,
        travel_min_deg=low,
        travel_max_deg=high,
    )
    found = of_wheel(design.edited(wheels=(*design.wheels, extra)), 4)
    # Amid the turns for which no angle suits it only turns about, or goes from end to end.
    kind = "changes end" if high < 90.0 and low > -90.0 else "jump"
    assert (pytest.approx(H / (H + 60.0), abs=1e-14), kind) in found


@pytest.mark.parametrize("base", [-80.0, 0.0, 55.0])
@pytest.mark.parametrize("y", [-7.0, 60.0])
def test_a_wheel_off_the_base_axle_by_rounding_alone_jumps_where_the_centre_is_on_its_kingpin(
    base: float, y: float
) -> None:
    # From straight ahead to straight back: at either end, and at the middle, rounding hides the root.
    travel = {"travel_min_deg": 0.0, "travel_max_deg": 180.0}
    extra = {"name": "mid", "x_mm": base + 8e-10, "y_mm": y, "kind": "steered", **travel}
    wheel = Wheel.model_validate({**extra, "lateral_offset_mm": -20.0})
    design = Design(wheels=(*front_pair(-180.0, 180.0).wheels, wheel), base_axle_x_mm=base)
    turn = float(turn_of_radius([y], base_of(design))[0])
    assert of_wheel(design, 4) == [(pytest.approx(turn, abs=1e-12), "jump")]


@settings(max_examples=40)
@given(designs(min_wheels=1, max_wheels=4, kinds=["steered"]))
def test_every_jump_of_a_dense_sweep_is_reported(design: Design) -> None:
    arrays, base = wheel_arrays(design), base_of(design)
    dense = turns_between(-1.0, 1.0, 2001)
    steer = sweep(arrays, base, dense).solution.steer
    flips = [(mark.turn, mark.wheel) for mark in landmarks(arrays, base) if mark.kind in JUMPS]
    rows, columns = np.nonzero(np.abs(np.diff(steer, axis=0)) > 0.15)
    for row, n in zip(rows.tolist(), columns.tolist(), strict=True):
        place = _jump_within(design, n, float(dense[row]), float(dense[row + 1]))
        if place is not None:
            near = [abs(place - turn) for turn, wheel in flips if wheel == n]
            assert near, (n, place)
            assert min(near) < 1e-8


def _jump_within(design: Design, n: int, low: float, high: float) -> float | None:
    """Halve towards the larger change; None where the change melts away, so that it was no jump."""
    arrays, base = wheel_arrays(design), base_of(design)

    def steer(*turn: float) -> list[float]:
        return [float(a) for a in solve(arrays, from_turn(turn, base)).steer[:, n]]

    while high - low > 1e-11:
        middle = 0.5 * (low + high)
        a, b, c = steer(low, middle, high)
        if abs(c - a) < 0.14 and abs(b - a) < 0.14:
            return None
        low, high = (low, middle) if abs(b - a) >= abs(c - b) else (middle, high)
    return 0.5 * (low + high)


@pytest.mark.parametrize(
    ("travel", "kind"), [((-90.0, 90.0), "flip"), ((-95.0, 95.0), "flip"), ((-80.0, 80.0), "changes end")]
)
def test_a_wheel_that_leaves_its_travel_flips_or_changes_end(travel: tuple[float, float], kind: str) -> None:
    jumps = [mark for mark in marks_of(front_pair(*travel)) if mark.wheel == 2 and mark.kind in JUMPS]
    assert [mark.kind for mark in jumps] == [kind]
    assert np.degrees([jumps[0].before, jumps[0].after]) == pytest.approx(
        [travel[1], travel[1] - 180.0 if kind == "flip" else travel[0]], abs=1e-5
    )


def test_a_wheel_far_out_on_its_lateral_offset_jumps_and_rolls_on_the_same_way() -> None:
    # Its contact stays outside, so it rolls forward before as after.
    design = front_pair(-90.0, 90.0, lateral_offset_mm=-200.0)
    (jump,) = [mark for mark in marks_of(design) if mark.wheel == 2 and mark.kind in JUMPS]
    assert jump.kind == "jump"
    found = solve(wheel_arrays(design), from_turn([jump.turn - 1e-6, jump.turn + 1e-6], base_of(design)))
    assert found.branch[:, 2].tolist() == [0, 1]
    assert (found.roll[:, 2] > 0.1).all()


@settings(max_examples=40)
@given(designs(min_wheels=1, max_wheels=4, kinds=["steered"]))
def test_a_landmark_s_kind_is_what_the_wheel_does_there(design: Design) -> None:
    arrays, base = wheel_arrays(design), base_of(design)
    for mark in landmarks(arrays, base):
        if mark.wheel is None or abs(mark.turn) > 1.0 - 1e-8:
            continue
        away = 1e-9 if mark.turn >= 0 else -1e-9
        near = solve(arrays, from_turn([mark.turn - away, mark.turn + away], base))
        steer, roll, limited = (a[:, mark.wheel] for a in (near.steer, near.roll, near.limited))
        assert (abs(steer[1] - steer[0]) > 0.01) == (mark.kind in JUMPS)
        assert (mark.kind == "flip") == (
            roll[0] * roll[1] < -1e-24 and not limited.all() and mark.kind in JUMPS
        )
        assert (mark.kind == "changes end") == (bool(limited.all()) and mark.kind in JUMPS)
        if mark.kind == "travel end":
            assert limited[0] != limited[1]


@pytest.mark.slow
@settings(max_examples=40)
@given(designs(min_wheels=1, max_wheels=4, kinds=["steered"]))
def test_every_travel_end_and_flip_is_found_again_by_halving(design: Design) -> None:
    arrays, base = wheel_arrays(design), base_of(design)
    for mark in landmarks(arrays, base):
        if mark.wheel is None:
            continue

        def state(turn: float, n: int = mark.wheel) -> tuple[int, bool, float]:
            one = solve(arrays, from_turn([turn], base))
            return int(one.branch[0, n]), bool(one.limited[0, n]), float(one.steer[0, n])

        away = math.copysign(1.0, mark.turn) if mark.turn else 1.0
        low, high = mark.turn - away * 3e-9, min(max(mark.turn + away * 3e-9, -1.0), 1.0)
        start, end = state(low), state(high)
        assert start[:2] != end[:2] or abs(start[2] - end[2]) > 0.1
        for _ in range(40):
            middle = 0.5 * (low + high)
            here = state(middle)
            unchanged = here[:2] == start[:2] and abs(here[2] - start[2]) <= 0.1
            low, high = (middle, high) if unchanged else (low, middle)
        assert 0.5 * (low + high) == pytest.approx(mark.turn, abs=3e-9)


@settings(max_examples=40)
@given(designs(min_wheels=1, max_wheels=4, kinds=["steered"]))
def test_every_change_of_limit_in_a_dense_sweep_is_a_landmark(design: Design) -> None:
    arrays, base = wheel_arrays(design), base_of(design)
    dense = turns_between(-1.0, 1.0, 1001)
    limited = sweep(arrays, base, dense).solution.limited
    found = [(mark.turn, mark.wheel) for mark in landmarks(arrays, base)]
    rows, columns = np.nonzero(limited[1:] != limited[:-1])
    for row, n in zip(rows.tolist(), columns.tolist(), strict=True):
        low, high = dense[row] - 1e-8, dense[row + 1] + 1e-8
        told = any(wheel == n and low <= turn <= high for turn, wheel in found)
        assert told or _edge_of_reach(design, n, float(dense[row]), float(dense[row + 1]))


def _edge_of_reach(design: Design, n: int, low: float, high: float) -> bool:
    """True where the limit changes because no angle at all suits from there."""
    found = sweep(wheel_arrays(design), base_of(design), np.linspace(low, high, 401)).solution
    changes = np.flatnonzero(found.limited[1:, n] != found.limited[:-1, n])
    return bool(len(changes)) and bool(found.unreachable[changes[0] : changes[0] + 2, n].any())


@given(st.integers(2, 500))
def test_a_symmetric_range_has_its_ends_and_mirrors_itself(rows: int) -> None:
    found = turns_between(-0.7, 0.7, rows)
    assert (found[0], found[-1]) == (-0.7, 0.7)
    np.testing.assert_array_equal(found, -found[::-1])
    assert (np.diff(found) > 0).all()


@pytest.mark.parametrize(
    ("low", "high", "rows", "words"),
    [
        (0.5, 0.5, 5, "must rise within -1 to 1"),
        (-2.0, 1.0, 5, "got -2 to 1"),
        (float("nan"), 1.0, 5, "got nan"),
        (-1.0, 1.0, 1, "number of rows"),
        (-1.0, 1.0, 10**9, "got 1000000000"),
    ],
)
def test_a_senseless_range_is_refused(low: float, high: float, rows: int, words: str) -> None:
    with pytest.raises(CommandError, match=words):
        turns_between(low, high, rows)


def test_a_sweep_holds_the_names_of_its_motions_and_leaves_the_input_writeable() -> None:
    turn = np.array([-0.5, 0.0, 0.25])
    design = front_pair(-180.0, 180.0)
    found = sweep(wheel_arrays(design), base_of(design), turn)
    assert found.left.tolist() == [1.0, 1.0, 0.5]
    assert found.right.tolist() == [0.0, 1.0, 1.0]
    assert found.radius.tolist() == [-120.0, math.inf, 360.0]
    turn[0] = 0.0
    assert found.turn[0] == -0.5


@pytest.mark.parametrize("travel", [(-45.0, 45.0), (0.0, 90.0)])
def test_ends_of_travel_met_while_no_angle_suits_are_landmarks(travel: tuple[float, float]) -> None:
    low, high = travel
    swung = Wheel(
        name="F",
        x_mm=30.0,
        y_mm=150.0,
        kind="steered",
        trail_mm=60.0,
        travel_min_deg=low,
        travel_max_deg=high,
    )
    pair = [Wheel(name=n, x_mm=0.0, y_mm=y) for n, y in (("L", 100.0), ("R", -100.0))]
    design = Design(wheels=(*pair, swung))
    arrays, base = wheel_arrays(design), base_of(design)
    turns = turns_between(-1.0, 1.0, 20_001)
    found = solve(arrays, from_turn(turns, base))
    marks = np.array([mark.turn for mark in landmarks(arrays, base) if mark.wheel == 2])
    changes = np.flatnonzero(found.limited[1:, 2] != found.limited[:-1, 2])
    amid = [k for k in changes if found.unreachable[k : k + 2, 2].all()]
    assert amid
    for k in changes:
        assert ((marks >= turns[k] - 1e-9) & (marks <= turns[k + 1] + 1e-9)).any(), turns[k]
