"""The working as built, followed by the same pocket calculator as the ideal part."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.design.edits import change_wheels
from app.design.samples import sample_design
from app.picture.view import View
from app.working.calculator import Step
from app.working.motor_working import built_steps
from app.working.wheel_working import working, working_text
from geometry.model.design import Design
from geometry.model.motors import DriveMotor, Gearing, SteerMotor
from tests.app.scouts import BOTH, FRONT, REAR, RIGHT, scout, steer_motor
from tests.app.working.test_wheel_working import check_working, view_of

CORNERS = ("front left", "front right", "rear left", "rear right")


def by_symbol(steps: tuple[Step, ...]) -> dict[str, float]:
    return {step.formula.split(" = ")[0]: step.value for step in steps}


def text_of(design: Design, turn: float, index: int, speed: float = 1.0) -> str:
    view = view_of(design, turn, speed)
    check_working(view, index)
    return working_text(view, index)


gearings = st.one_of(
    st.sampled_from([1.0, -1.0, 0.5, -0.9]).map(lambda r: {"ratio": r}),
    st.sampled_from([((12, 20, 36),), ((12, 36), (10, -40)), ((30, 31),)]).map(lambda t: {"train": t}),
)


@st.composite
def with_motors(draw: st.DrawFn) -> Design:
    """The six-wheeled sample with toe and trail, its corners shared out at random."""
    plain = sample_design("marsh_scout_six")
    toe, trail = draw(st.sampled_from([0.0, 2.0])), draw(st.sampled_from([0.0, 12.0]))
    wheels = [w.edited(toe_deg=toe, trail_mm=trail) if w.kind == "steered" else w for w in plain.wheels]
    hold = draw(st.lists(st.integers(0, 2), min_size=4, max_size=4))
    steer = []
    for m in range(2):  # the third stands for no motor
        held = [CORNERS[i] for i in range(4) if hold[i] == m]
        if held:
            steer.append(
                SteerMotor.model_validate(
                    {
                        "name": f"steer {m}",
                        "wheels": tuple(Gearing(wheel=wheel, **draw(gearings)) for wheel in held),
                        "unit": draw(st.sampled_from(["degrees", "counts", "microseconds"])),
                        "zero_deg": draw(st.sampled_from([0.0, 7.5])),
                        "reversed": draw(st.booleans()),
                        "travel_min_deg": -60.0,
                    }
                )
            )
    gears = [draw(gearings) for _ in range(2)] if draw(st.booleans()) else []
    middle = ("middle left", "middle right")
    pair = tuple(Gearing(wheel=wheel, **g) for wheel, g in zip(middle, gears, strict=False))
    drive = (DriveMotor(name="drive", wheels=pair, reversed=draw(st.booleans())),) if pair else ()
    return plain.edited(wheels=tuple(wheels), steer_motors=tuple(steer), drive_motors=drive)


turn_inputs = st.one_of(
    st.sampled_from([0.0, 0.5, -0.5, 1.0, -1.0]), st.integers(-1000, 1000).map(lambda n: n / 1000)
)


@given(with_motors(), turn_inputs, st.sampled_from([1.0, -1.0, 0.5]))
def test_a_pocket_calculator_follows_every_line_as_built(design: Design, turn: float, speed: float) -> None:
    view = view_of(design, turn, speed)
    for index in range(len(design.wheels)):
        check_working(view, index)


@given(with_motors(), turn_inputs, st.sampled_from([1.0, -0.5]))
def test_the_working_as_built_ends_where_the_table_of_wheels_does(
    design: Design, turn: float, speed: float
) -> None:
    view = view_of(design, turn, speed)
    for row in view.rows:
        steps = built_steps(view, row.index)
        if not (design.steer_motors or design.drive_motors):
            assert steps == ()
            continue
        values = by_symbol(steps)
        assert values["delta_b"] == pytest.approx(math.degrees(row.heading), abs=1e-9)
        assert values.get("p * roll_b", values["roll_b"]) == pytest.approx(row.speed, abs=1e-9)
        if row.radius > 1e-6 and math.isfinite(row.miss):
            assert values["slip_b"] == pytest.approx(math.degrees(abs(row.slip)), abs=1e-6)
            assert values["drag_b"] == pytest.approx(row.drag, abs=1e-4)
        if "miss_b" in values:
            assert values["miss_b"] == pytest.approx(row.miss, rel=1e-6, abs=1e-6)
            assert values["r_b"] == pytest.approx(row.radius, rel=1e-6, abs=1e-6)
        if "y_C" in values:
            assert values["y_C"] == pytest.approx(view.true_radius, rel=1e-9)
            if turn:  # straight ahead nothing is asked for that has a centre
                assert values["gap"] == pytest.approx(view.gap, rel=1e-6, abs=1e-6)


def test_without_motors_nothing_is_added() -> None:
    view = view_of(scout(), 0.4)
    assert built_steps(view, 0) == ()
    assert "AS BUILT" not in working_text(view, 0)
    assert "IDEAL" not in working_text(view, 0)


def test_the_ideal_comes_first_and_is_that_of_the_chassis_without_motors() -> None:
    bare, motors = view_of(scout(), 0.4), view_of(scout(FRONT), 0.4)
    steps = working(bare, 0)
    assert [s.value for s in working(motors, 0)[: len(steps)]] == pytest.approx([s.value for s in steps])
    assert working_text(motors, 0).index("IDEAL") < working_text(motors, 0).index("AS BUILT")


def test_an_exact_motor_turns_to_the_ideal_angle_and_its_reading_follows() -> None:
    text = text_of(scout(RIGHT), 0.6, 1)
    assert "front right" in text
    angle = math.degrees(math.atan2(0.66, 1.0))
    assert f"theta = delta / n = {angle:.4f}"[:24] in text
    assert "the ideal angle, which also suits its other wheels" in text
    assert "m = m_0 - theta = 5 - 33.4248 = -28.4248°" in text
    assert "Motion that results, as asked" in text
    assert "E = " not in text


def test_a_motor_told_in_counts_or_microseconds_says_what_it_is_told() -> None:
    pulse = RIGHT.edited(unit="microseconds", zero_deg=0.0, reversed=False, us_per_90_deg=900.0)
    assert "t = t_0 + m t_1 / 90 = 1500 + 33.4248 * 900 / 90 = 1834.25 microseconds" in text_of(
        scout(pulse), 0.6, 1
    )
    counts = pulse.edited(unit="counts", counts_per_turn=3600.0)
    assert "z = m z_1 / 360 = 33.4248 * 3600 / 360 = 334.248 counts" in text_of(scout(counts), 0.6, 1)


def test_a_shared_angle_that_suits_no_wheel_shows_the_error_of_the_radius() -> None:
    view = view_of(scout(FRONT, REAR), 0.3)
    text = text_of(view.design, 0.3, 0)
    assert "where its 2 wheels together drag least\n    theta = " in text
    values = by_symbol(built_steps(view, 0))
    assert values["E"] == pytest.approx(view.true_radius - view.radius)
    assert values["E"] > 30.0


def test_the_teeth_of_a_train_are_shown() -> None:
    geared = RIGHT.edited(
        wheels=(Gearing(wheel="front right", train=((12, 20, 36), (10, 40))), RIGHT.wheels[1])
    )
    assert "n = -12 / 20 * 20 / 36 * 10 / 40 = -0.0833333" in text_of(scout(geared), 0.1, 1)


def test_two_numbers_are_divided_as_they_were_typed() -> None:
    geared = RIGHT.edited(wheels=(Gearing(wheel="front right", proportion=(12.0, 36.0)), RIGHT.wheels[1]))
    assert "n = 12 / 36 = 0.333333" in text_of(scout(geared), 0.1, 1)


def test_a_motor_at_its_end_of_travel_says_so() -> None:
    stopped = steer_motor(
        "front", {"front left": 1.0, "front right": 1.0}, travel_min_deg=-10.0, travel_max_deg=10.0
    )
    text = text_of(scout(stopped), 0.4, 0)
    assert "(the end of its travel)\n    theta = 10°" in text
    assert "front stands at the end of the travel" in text


def test_wheels_without_a_motor_follow_the_ideal_and_fixed_ones_say_so() -> None:
    assert "no motor turns it: taken at its ideal angle" in text_of(scout(FRONT), 0.4, 4)
    assert "Heading as built (fixed)" in text_of(scout(FRONT), 0.4, 2)


def test_a_drive_motor_shows_what_it_gives_and_what_slips() -> None:
    view: View = view_of(scout(RIGHT, BOTH), 0.3)
    text = text_of(view.design, 0.3, 2)
    assert "c = pi D n_d = " in text
    assert "where its wheels together slip least" in text
    assert "Lengthwise slip" in text
    slips = [s.value for s in built_steps(view, 2) if s.what == "Lengthwise slip"]
    assert slips[0] > 10.0


@pytest.mark.parametrize("radius", [1e40, 1e100, 1e200, -1e300])
def test_the_gap_to_a_turn_centre_beyond_all_squares_is_worked_without_them(radius: float) -> None:
    # One wheel that toes in turns the chassis even where it is asked to go all but straight.
    toed = change_wheels(scout(FRONT), [2], toe_deg=2.0)
    turn = 120.0 / radius
    steps = by_symbol(built_steps(view_of(toed, turn), 0))
    assert steps["gap"] == pytest.approx(abs(radius))
    text = text_of(toed, turn, 0)
    assert ("gap = |E| = " in text) == (abs(radius) > 1e49)
