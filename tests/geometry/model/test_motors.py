from __future__ import annotations

import itertools
import math
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from geometry.errors import DesignError
from geometry.model.design import Design
from geometry.model.frozen import built, built_from_json
from geometry.model.motors import (
    DriveMotor,
    Gearing,
    SteerMotor,
    command_of_reading,
    ratio_of_train,
    reading_of_shaft,
    rolling_per_turn,
    shaft_range,
)
from geometry.model.wheel import Wheel

WHEELS = (
    Wheel(name="front left", x_mm=132.0, y_mm=120.0, kind="steered", driven=True),
    Wheel(name="front right", x_mm=132.0, y_mm=-120.0, kind="steered"),
    Wheel(name="rear left", x_mm=0.0, y_mm=120.0, driven=True),
    Wheel(name="rear right", x_mm=0.0, y_mm=-120.0),
)


def on(wheel: str, ratio: float = 1.0) -> Gearing:
    return Gearing(wheel=wheel, ratio=ratio)


def steer(name: str = "A", *wheels: Gearing, **more: Any) -> SteerMotor:
    return SteerMotor(name=name, wheels=wheels or (on("front left"),), **more)


def drive(name: str = "D", *wheels: Gearing, **more: Any) -> DriveMotor:
    return DriveMotor(name=name, wheels=wheels or (on("rear left"),), **more)


def told(**motors: tuple[object, ...]) -> str:
    """What the person reads when these motors are put on the chassis."""
    with pytest.raises(DesignError) as caught:
        Design(wheels=WHEELS).edited(**motors)
    return str(caught.value)


def told_of_gearing(**values: object) -> str:
    return told(steer_motors=({"name": "A", "wheels": ({"wheel": "front left", **values},)},))


PLACE = "steer_motors[0].wheels[0]"

teeth = st.integers(6, 200)
chains = st.lists(teeth, min_size=2, max_size=5)
trains = st.lists(chains, min_size=1, max_size=4)


# --- gear trains -----------------------------------------------------------------------------


@given(trains)
def test_a_train_is_as_its_gears_turn_tooth_by_tooth(train: list[list[int]]) -> None:
    # Each mesh lets the same number of teeth pass on either gear, in opposite senses.
    turned = Fraction(1)
    for chain in train:
        for driver, driven in itertools.pairwise(chain):
            turned = -turned * driver / driven
    assert ratio_of_train(train) == pytest.approx(float(turned), rel=1e-12)


@given(chains, teeth)
def test_an_idler_changes_the_sense_alone(chain: list[int], idler: int) -> None:
    longer = [chain[0], idler, *chain[1:]]
    assert ratio_of_train([longer]) == pytest.approx(-ratio_of_train([chain]), rel=1e-12)


@given(trains)
def test_a_train_driven_from_its_far_end_has_the_inverse_ratio(train: list[list[int]]) -> None:
    back = [chain[::-1] for chain in train[::-1]]
    assert ratio_of_train(train) * ratio_of_train(back) == pytest.approx(1.0, rel=1e-12)


def test_a_ring_gear_keeps_the_sense_of_its_pinion() -> None:
    assert ratio_of_train([[20, -80]]) == 0.25
    assert ratio_of_train([[-80, 20]]) == 4.0
    # Through the planet of a held carrier the ring turns against the sun.
    assert ratio_of_train([[20, 30, -80]]) == -0.25


def test_an_empty_train_is_a_shaft_straight_through() -> None:
    assert ratio_of_train([]) == 1.0


def test_the_turns_of_a_wheel_come_from_its_number_or_its_train() -> None:
    assert on("front left", -0.4).turns == -0.4
    assert Gearing(wheel="front left", train=((12, 20, 36), (10, 40))).turns == pytest.approx(-1 / 12)


# --- readings --------------------------------------------------------------------------------

readings = st.floats(-720.0, 720.0)


@given(readings, st.floats(-360.0, 360.0), st.booleans(), st.floats(1.0, 720.0), st.floats(1.0, 720.0))
def test_the_ends_of_the_shaft_are_the_ends_of_the_reading(
    shaft: float, zero: float, turned: bool, below: float, above: float
) -> None:
    motor = steer(zero_deg=zero, reversed=turned, travel_min_deg=zero - below, travel_max_deg=zero + above)
    low, high = shaft_range(motor)
    assert low < 0 < high
    ends = sorted(reading_of_shaft(motor, end) for end in (low, high))
    assert ends == pytest.approx([zero - below, zero + above], abs=1e-9)
    assert reading_of_shaft(motor, 0.0) == zero
    assert (reading_of_shaft(motor, shaft) - zero) * (-1 if turned else 1) == pytest.approx(shaft, abs=1e-9)


def test_a_controller_is_told_degrees_counts_or_microseconds() -> None:
    # A quarter turn: 90 degrees, 1024 of 4096 counts, and 1000 microseconds beyond the neutral pulse.
    assert command_of_reading(steer(), 90.0) == 90.0
    assert command_of_reading(steer(unit="counts"), 90.0) == 1024.0
    assert command_of_reading(steer(unit="microseconds"), 90.0) == 2500.0
    assert command_of_reading(steer(unit="microseconds", us_per_90_deg=900.0), -45.0) == 1050.0


def test_a_wheel_rolls_its_circumference_for_each_of_its_own_turns() -> None:
    motor = drive("D", on("rear left", -0.5))
    assert rolling_per_turn(motor, motor.wheels[0], 60.0) == pytest.approx(-0.5 * math.pi * 60.0)
    other = motor.edited(reversed=True)
    assert rolling_per_turn(other, other.wheels[0], 60.0) == pytest.approx(0.5 * math.pi * 60.0)


# --- what is refused -------------------------------------------------------------------------


def test_motors_that_suit_the_chassis_are_accepted() -> None:
    design = Design(
        wheels=WHEELS,
        steer_motors=(steer("A"), steer("B", on("front right", -2.0))),
        drive_motors=(drive("C", on("front left"), on("rear left")),),
    )
    assert [motor.name for motor in design.steer_motors] == ["A", "B"]


@pytest.mark.parametrize(
    ("values", "words"),
    [
        (
            {"ratio": 0.0},
            f"{PLACE}.ratio must not be 0: at least 0.0001 either way, or the wheel would never turn (got 0)",
        ),
        ({"ratio": -5e-5}, f"{PLACE}.ratio must not be 0: at least 0.0001 either way"),
        ({"ratio": 2e3}, f"{PLACE}.ratio must be at most 1000 (got 2000.0)"),
        ({"ratio": -2e3}, f"{PLACE}.ratio must be at least -1000 (got -2000.0)"),
        ({"ratio": math.nan}, f"{PLACE}.ratio must be a finite number (got nan)"),
        ({"ratio": "2:1"}, f"{PLACE}.ratio must be a number (got '2:1')"),
        ({}, f"{PLACE}.ratio must be a number, or train must list the gears"),
        (
            {"ratio": 0.5, "train": ((12, 24),)},
            f"{PLACE}.ratio must be null where a train is given; keep one of the two (got 0.5)",
        ),
        ({"train": ((12, 0),)}, f"{PLACE}.train[0][1] must not be 0: a gear has teeth (got 0)"),
        ({"train": ((12, 24), (0, 24))}, f"{PLACE}.train[1][0] must not be 0: a gear has teeth (got 0)"),
        ({"train": ((12,),)}, f"{PLACE}.train[0] must list 2 to 20 gears that mesh (got 1)"),
        ({"train": ((12,) * 21,)}, f"{PLACE}.train[0] must list 2 to 20 gears that mesh (got 21)"),
        ({"train": ((12, 12.5),)}, f"{PLACE}.train[0][1] must be a whole number (got 12.5)"),
        ({"train": ((12, 1001),)}, f"{PLACE}.train[0][1] must be at most 1000 (got 1001)"),
        (
            {"train": ((12, -40, -80),)},
            f"{PLACE}.train[0] must not let two ring gears mesh (got -40 with -80)",
        ),
        (
            {"train": ((1, 1000), (1, 1000))},
            f"{PLACE}.train must give a ratio from 0.0001 to 1000 (got 1e-06)",
        ),
        (
            {"ratio": 0.5, "proportion": (12.0, 36.0)},
            f"{PLACE}.proportion must be null where a ratio is given; keep one of the two (got 12:36)",
        ),
        (
            {"train": ((12, 24),), "proportion": (12.0, 36.0)},
            f"{PLACE}.proportion must be null where a train is given; keep one of the two (got 12:36)",
        ),
        ({"proportion": (12.0, 0.0)}, f"{PLACE}.proportion[1] must not be 0: the wheel would never turn"),
        ({"proportion": (0.0, 3.0)}, f"{PLACE}.proportion[0] must not be 0: the wheel would never turn"),
        (
            {"proportion": (1.0, 20_000.0)},
            f"{PLACE}.proportion must give a ratio from 0.0001 to 1000 either way (got 1:20000)",
        ),
        ({"proportion": (12.0, 2e6)}, f"{PLACE}.proportion[1] must be at most 1e+06"),
        ({"proportion": (12.0,)}, f"{PLACE}.proportion"),
        ({"proportion": "12:36"}, f"{PLACE}.proportion"),
    ],
)
def test_a_bad_gearing_is_told_with_its_place_and_remedy(values: dict[str, object], words: str) -> None:
    assert words in told_of_gearing(**values)


def test_two_numbers_turn_a_wheel_as_their_quotient_does() -> None:
    assert Gearing(wheel="front left", proportion=(12.0, 36.0)).turns == 12.0 / 36.0
    assert Gearing(wheel="front left", proportion=(-1.5, 2.0)).turns == -0.75


@pytest.mark.parametrize(
    ("motors", "words"),
    [
        (
            {"steer_motors": (steer("A"), steer("B", on("front right"), on("front left")))},
            (
                "steer_motors[1].wheels[1].wheel must not be held twice: A holds it already; "
                "take it off one of them (got 'front left')"
            ),
        ),
        (
            {"steer_motors": (steer("A", on("front left"), on("front left", 2.0)),)},
            (
                "steer_motors[0].wheels[1].wheel must not be held twice: A holds it already; "
                "take it off one of them (got 'front left')"
            ),
        ),
        (
            {"drive_motors": (drive("C"), drive("D"))},
            (
                "drive_motors[1].wheels[0].wheel must not be held twice: C holds it already; "
                "take it off one of them (got 'rear left')"
            ),
        ),
        (
            {"steer_motors": (steer("A", on("frnt left")),)},
            (
                "steer_motors[0].wheels[0].wheel must name a wheel of this chassis; "
                "did you mean front left? (got 'frnt left')"
            ),
        ),
        (
            {"drive_motors": (drive("D", on("zzz")),)},
            (
                "drive_motors[0].wheels[0].wheel must name a wheel of this chassis; "
                "take it off the motor (got 'zzz')"
            ),
        ),
        (
            {"steer_motors": (steer("A", on("rear left")),)},
            (
                "steer_motors[0].wheels[0].wheel must be a steered wheel, but it is fixed; "
                "make it steered, or take it off the motor (got 'rear left')"
            ),
        ),
        (
            {"drive_motors": (drive("D", on("rear left"), on("rear right")),)},
            (
                "drive_motors[0].wheels[1].wheel must be a driven wheel; "
                "mark it as driven, or take it off the motor (got 'rear right')"
            ),
        ),
        (
            {"steer_motors": (steer("Left"), steer("left", on("front right")))},
            "steer_motors[1].name must differ from steer_motors[0].name; capitals do not count (got 'left')",
        ),
        (
            {"steer_motors": (steer("M"),), "drive_motors": (drive("m"),)},
            "drive_motors[0].name must differ from steer_motors[0].name; capitals do not count (got 'm')",
        ),
        (
            {"steer_motors": ({"name": "A", "wheels": ()},)},
            "steer_motors[0].wheels must hold at least one wheel; give it one, or remove the motor",
        ),
        (
            {"drive_motors": ({"name": "D", "wheels": ()},)},
            "drive_motors[0].wheels must hold at least one wheel; give it one, or remove the motor",
        ),
    ],
)
def test_motors_and_wheels_that_do_not_match_are_told_with_their_place_and_remedy(
    motors: dict[str, tuple[object, ...]], words: str
) -> None:
    assert told(**motors) == words


@pytest.mark.parametrize(
    ("values", "words"),
    [
        (
            {"travel_min_deg": 90.0, "travel_max_deg": -90.0},
            "travel_max_deg must be above travel_min_deg, which is 90; swap the two (got -90)",
        ),
        (
            {"travel_min_deg": 30.0, "travel_max_deg": 30.0},
            "travel_max_deg must be above travel_min_deg, which is 30; swap the two (got 30)",
        ),
        (
            {"zero_deg": 200.0},
            (
                "zero_deg must lie within the travel, -180 to 180, "
                "so that its wheels can stand straight (got 200)"
            ),
        ),
        ({"top_speed_deg_s": 0.0}, "top_speed_deg_s must be at least 0.1 (got 0.0)"),
        ({"backlash_deg": -1.0}, "backlash_deg must be at least 0 (got -1.0)"),
        ({"step_deg": 46.0}, "step_deg must be at most 45 (got 46.0)"),
    ],
)
def test_a_bad_steer_motor_is_told_with_its_place_and_remedy(values: dict[str, object], words: str) -> None:
    motor = {"name": "A", "wheels": (on("front left"),), **values}
    assert told(steer_motors=(motor,)) == f"steer_motors[0].{words}"


@pytest.mark.parametrize(
    ("values", "words"),
    [
        (
            {"usable_rpm": 300.0},
            "usable_rpm must be at most no_load_rpm, which is 200 (got 300)",
        ),
        ({"no_load_rpm": 0.0}, "no_load_rpm must be at least 0.1 (got 0.0)"),
        ({"units_per_turn": 0.0}, "units_per_turn must be at least 0.001 (got 0.0)"),
    ],
)
def test_a_bad_drive_motor_is_told_with_its_place_and_remedy(values: dict[str, object], words: str) -> None:
    motor = {"name": "D", "wheels": (on("rear left"),), **values}
    assert f"drive_motors[0].{words}" in told(drive_motors=(motor,))


def test_every_problem_of_the_motors_is_told_at_once() -> None:
    text = told(
        steer_motors=(steer("A", on("rear left")), steer("a", on("nowhere"))),
        drive_motors=(drive("D", on("rear right")),),
    )
    assert [line.split(" ")[0] for line in text.splitlines()] == [
        "steer_motors[0].wheels[0].wheel",
        "steer_motors[1].name",
        "steer_motors[1].wheels[0].wheel",
        "drive_motors[0].wheels[0].wheel",
    ]


def test_a_wheel_may_be_steered_and_driven_by_different_motors() -> None:
    design = Design(wheels=WHEELS, steer_motors=(steer("A"),), drive_motors=(drive("D", on("front left")),))
    assert design.drive_motors[0].wheels[0].wheel == design.steer_motors[0].wheels[0].wheel


@given(trains, st.booleans(), readings)
def test_a_design_with_motors_comes_back_from_its_own_json(
    train: list[list[int]], turned: bool, zero: float
) -> None:
    ratio = abs(ratio_of_train(train))
    assume(1e-3 < ratio < 900)
    gearing = Gearing(wheel="front left", train=tuple(tuple(chain) for chain in train))
    design = Design(
        wheels=WHEELS,
        steer_motors=(
            steer(
                "A",
                gearing,
                reversed=turned,
                zero_deg=zero,
                travel_min_deg=zero - 90.0,
                travel_max_deg=zero + 90.0,
            ),
        ),
        drive_motors=(drive(units_per_turn=48.0),),
    )
    assert built_from_json(Design, design.model_dump_json()) == design


@pytest.mark.parametrize("turned", [False, True])
@pytest.mark.parametrize("zero", [-40.0, 25.0])
def test_a_zero_at_an_end_of_the_travel_leaves_the_other_way(zero: float, turned: bool) -> None:
    motor = steer(zero_deg=zero, travel_min_deg=-40.0, travel_max_deg=25.0, reversed=turned)
    way = (0.0, 65.0) if (zero < 0) != turned else (-65.0, 0.0)
    assert shaft_range(motor) == way
    assert reading_of_shaft(motor, 0.0) == zero
    beyond = {**motor.model_dump(), "zero_deg": math.nextafter(zero, math.copysign(math.inf, zero))}
    with pytest.raises(DesignError, match="zero_deg must lie within the travel, -40 to 25"):
        built(SteerMotor, beyond)
