"""Where shared motors jump or stop: found on a grid, told by kind, near on a coarser one."""

import numpy as np
import pytest

from geometry.as_built import MotorArrays, as_built, motor_arrays
from geometry.built_landmarks import COARSE, built_landmarks
from geometry.chassis import Base, Design, Wheel, WheelArrays, base_of, wheel_arrays
from geometry.motion import from_turn
from geometry.motors import Gearing, SteerMotor


def six() -> tuple[Wheel, ...]:
    """Six wheels, the corners steered."""
    return tuple(
        Wheel(
            name=f"{end} {side}",
            x_mm=x,
            y_mm=y,
            kind="fixed" if x == 0 else "steered",
            travel_min_deg=-135.0,
            travel_max_deg=135.0,
        )
        for end, x in (("front", 132.0), ("middle", 0.0), ("rear", -132.0))
        for side, y in (("left", 120.0), ("right", -120.0))
    )


def parts(ratio: float, **more: object) -> tuple[WheelArrays, MotorArrays, Base]:
    """The right corners on one motor."""
    gearings = (Gearing(wheel="front right", ratio=1.0), Gearing(wheel="rear right", ratio=ratio))
    motor = SteerMotor.model_validate({"name": "right", "wheels": gearings, **more})
    design = Design(wheels=six(), steer_motors=(motor,))
    wheels = wheel_arrays(design)
    return wheels, motor_arrays(design, wheels), base_of(design)


def of_motor(marks):
    return [mark for mark in marks if mark.wheel in (1, 5)]


def test_an_exact_share_within_its_travel_has_no_marks_of_its_own() -> None:
    assert of_motor(built_landmarks(*parts(-1.0))) == []


def test_a_jump_is_where_the_angles_differ_on_both_sides() -> None:
    wheels, motors, base = parts(-0.9)
    marks = of_motor(built_landmarks(wheels, motors, base))
    assert {mark.wheel for mark in marks} == {1, 5}
    for mark in marks:
        near = from_turn([mark.turn - 1e-6, mark.turn + 1e-6], base)
        steer = as_built(wheels, motors, near).solution.steer[:, mark.wheel]
        assert abs(steer[1] - steer[0]) > 0.1
        assert sorted((mark.before, mark.after)) == pytest.approx(sorted(steer.tolist()), abs=1e-3)


def test_a_motor_that_stops_short_has_its_travel_ends() -> None:
    wheels, motors, base = parts(-1.0, travel_min_deg=-30.0, travel_max_deg=30.0)
    marks = of_motor(built_landmarks(wheels, motors, base))
    ends = [mark for mark in marks if mark.kind == "travel end" and mark.turn > 0 and mark.wheel == 1]
    # tan 30 = (132 / 120) s / 1 for the outer wheel.
    assert ends[0].turn == pytest.approx(np.tan(np.pi / 6) * 120.0 / 132.0, abs=1e-6)
    assert abs(ends[0].before) == pytest.approx(np.pi / 6, abs=1e-6)


def test_a_change_of_ends_is_no_flip() -> None:
    wheels, motors, base = parts(-1.0, travel_min_deg=-30.0, travel_max_deg=30.0)
    marks = of_motor(built_landmarks(wheels, motors, base))
    changes = [mark for mark in marks if mark.kind == "changes end"]
    assert {mark.wheel for mark in changes} == {1, 5}
    for mark in changes:
        assert abs(mark.before) == pytest.approx(np.pi / 6)
        assert mark.after == pytest.approx(-mark.before)


def test_a_flip_rolls_the_other_way_after() -> None:
    wheels, motors, base = parts(-0.9)
    flips = [mark for mark in of_motor(built_landmarks(wheels, motors, base)) if mark.kind == "flip"]
    assert flips
    for mark in flips:
        near = from_turn([mark.turn - 1e-6, mark.turn + 1e-6], base)
        roll = as_built(wheels, motors, near).solution.roll[:, mark.wheel]
        assert roll[0] * roll[1] < 0


def test_a_coarse_look_finds_the_same_marks_nearly_there() -> None:
    fine, coarse = (of_motor(built_landmarks(*parts(-0.9), **more)) for more in ({}, {"grid": COARSE}))
    assert [(mark.kind, mark.wheel) for mark in fine] == [(mark.kind, mark.wheel) for mark in coarse]
    assert [mark.turn for mark in coarse] == pytest.approx([mark.turn for mark in fine], abs=0.011)
