"""The working, followed by a pocket calculator of our own that knows nothing of the program."""

from __future__ import annotations

import ast
import math
import re
from collections.abc import Callable, Mapping

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.design.facts import Facts
from app.design.samples import sample_design
from app.picture.view import Command, View
from app.working.wheel_working import Step, working, working_text
from geometry.model.design import Design
from geometry.model.wheel import Wheel
from sample_chassis import SAMPLES
from tests.strategies import designs

KEYS = [sample.key for sample in SAMPLES]
DEGREE = math.pi / 180.0


def _asin(share: float) -> float:
    # A calculator of twelve digits works decimals and rounds to 1 what binary leaves above it.
    return math.asin(max(-1.0, min(1.0, share))) / DEGREE if abs(share) < 1.0 + 1e-11 else math.nan


KEYPAD: dict[str, Callable[..., float]] = {
    "sqrt": math.sqrt,
    "sin": lambda a: math.sin(a * DEGREE),
    "cos": lambda a: math.cos(a * DEGREE),
    "asin": _asin,
    "atan2": lambda a, b: math.atan2(a, b) / DEGREE,
    "abs": abs,
}
OPERATORS: dict[type[ast.operator], Callable[[float, float], float]] = {
    ast.Add: lambda a, b: a + b,
    ast.Sub: lambda a, b: a - b,
    ast.Mult: lambda a, b: a * b,
    ast.Div: lambda a, b: a / b,
    ast.Pow: lambda a, b: a**b,
}


def _press(tree: ast.expr, known: Mapping[str, float]) -> float:
    """Work a tree of sums out, degrees throughout."""
    match tree:
        case ast.Constant(value=int() | float() as value):
            return float(value)
        case ast.Name(id=name):
            return known[name]
        case ast.UnaryOp(op=ast.USub(), operand=operand):
            return -_press(operand, known)
        case ast.BinOp(left=left, op=operator, right=right):
            return OPERATORS[type(operator)](_press(left, known), _press(right, known))
        case ast.Call(func=ast.Name(id=name), args=arguments, keywords=[]):
            return KEYPAD[name](*(_press(argument, known) for argument in arguments))
        case _:
            raise AssertionError(f"no key for {ast.dump(tree)}")


def _tree(text: str) -> ast.expr:
    return ast.parse(text.replace("^", "**"), mode="eval").body


def calculator(text: str) -> float:
    """Value of a sum as it is written."""
    return _press(_tree(text), {})


def digits_of(text: str) -> int:
    """How many significant digits a number is written with."""
    return len(text.lstrip("-").split("e")[0].replace(".", "").lstrip("0"))


def rounded_like(value: float, shown: str, digits: int) -> str:
    """A calculator's result, written with the digits of the page."""
    text = f"{value:.{digits}g}"
    return "0" if text == "-0" or (shown == "0" and abs(value) < 1e-9) else text


def _symbols(text: str) -> str:
    """A formula as Python reads it: our names, and a sign for every product."""
    text = text.replace("built-in angle of the toe", "built_in").replace("lambda", "lead").replace("|v|", "V")
    text = re.sub(r"\|([^|]+)\|", r"abs(\1)", text)
    return re.sub(r"(?<=[\w)]) +(?=[\w(])", " * ", text)


def view_of(design: Design, turn: float, speed: float = 1.0) -> View:
    return View(Facts(design), Command(turn, speed))


def inputs(view: View, index: int) -> dict[str, float]:
    """What the person set, by the symbols of the working."""
    wheel, base = view.design.wheels[index], view.robot.base
    return motor_inputs(view.design, wheel) | {
        "s": view.command.turn,
        "p": view.command.speed,
        "y_L": base.y_left,
        "y_R": base.y_right,
        "x_b": base.x,
        "x": wheel.x_mm,
        "y": wheel.y_mm,
        "e_x": -wheel.trail_mm,
        "e_y": wheel.lateral_offset_mm,
        "toe": wheel.toe_deg,
        "built_in": -wheel.toe_deg if wheel.y_mm + wheel.lateral_offset_mm >= 0 else wheel.toe_deg,
    }


def motor_inputs(design: Design, wheel: Wheel) -> dict[str, float]:
    """What the person set of the motors of a wheel."""
    found = {"pi": math.pi, "D": wheel.diameter_mm}
    for motor in design.steer_motors:
        if wheel.name in {gearing.wheel for gearing in motor.wheels}:
            found |= {"m_0": motor.zero_deg, "z_1": motor.counts_per_turn}
            found |= {"t_0": motor.neutral_us, "t_1": motor.us_per_90_deg}
    return found


def check_sum(step: Step) -> None:
    """The sum, by what stands on the page alone, gives the very digits of the result."""
    line = str(step).splitlines()[1]
    *_, worked, result = line.split(" = ")
    shown = re.match(r"-?[\d.]+(e[+-]\d+)?", result)
    assert shown, line
    assert worked == step.sum
    # Zeros at the end of a result are not written; they count all the same.
    digits = max(digits_of(shown[0]), step.digits)
    assert rounded_like(calculator(worked), shown[0], digits) == shown[0], line
    assert float(shown[0]) == pytest.approx(step.value, rel=10.0 ** (1 - max(digits, 1)), abs=1e-9)
    assert all(digits_of(figure) <= 12 for figure in re.findall(r"[\d.]+(?:e[+-]\d+)?", worked)), line


def check_formula(step: Step, known: dict[str, float]) -> None:
    """Every formula on the line, with the values of the lines above it, gives the value."""
    name, *rest = step.formula.split(" = ")
    if re.fullmatch(r"[\w|]+", name):
        known[_symbols(name)] = step.value
    else:
        rest.insert(0, name)
    for formula in rest:
        try:
            value = _press(_tree(_symbols(formula)), known)
        except KeyError as missing:
            raise AssertionError(f"{missing} stands on no line above: {step}") from None
        if value != pytest.approx(step.value, rel=1e-6, abs=1e-6):
            # A difference of nearly equal numbers is as far off as their last digits.
            raise AssertionError(f"{formula} gives {value}: {step}")


def check_working(view: View, index: int) -> None:
    known = inputs(view, index)
    for step in working(view, index):
        if step.sum:
            check_sum(step)
        if step.formula:
            check_formula(step, known)


turn_inputs = st.one_of(
    st.sampled_from([0.0, 0.5, -0.5, 1.0, -1.0, 0.001, -0.001]),
    st.integers(-10_000, 10_000).map(lambda n: n / 10_000),
)
speeds = st.sampled_from([1.0, -1.0, 0.5, -0.25, 0.0])


@given(designs(min_wheels=1, max_wheels=3), turn_inputs, speeds)
def test_a_pocket_calculator_follows_every_line(design: Design, turn: float, speed: float) -> None:
    view = view_of(design, turn, speed)
    for index in range(len(design.wheels)):
        check_working(view, index)


@pytest.mark.parametrize("key", KEYS)
@pytest.mark.parametrize("speed", [1.0, -0.5])
def test_a_pocket_calculator_follows_the_samples_to_six_digits(key: str, speed: float) -> None:
    facts = Facts(sample_design(key))
    for n in range(-8, 9):
        view = View(facts, Command(n / 8, speed))
        for index in range(len(view.rows)):
            check_working(view, index)
            for step in working(view, index):
                assert step.digits >= 6
                if step.sum:
                    assert calculator(step.sum) == pytest.approx(step.value, rel=6e-6, abs=1e-9), str(step)


@given(designs(min_wheels=1, max_wheels=3), turn_inputs)
def test_a_line_is_shown_with_the_digits_that_later_lines_use(design: Design, turn: float) -> None:
    view = view_of(design, turn)
    for index in range(len(design.wheels)):
        shown: dict[float, Step] = {}
        for step in working(view, index):
            for value in step.sums.figures() if step.sums else ():
                above = shown.get(abs(value))
                # Where numbers cancel beyond a calculator's digits, a result has fewer than are asked for.
                if above and above.digits >= 6 and step.taken < 10:
                    near = 0.51 * 10.0 ** (1 - step.taken)
                    assert abs(float(above.shown)) == pytest.approx(abs(value), rel=near), f"{above}\n{step}"
            shown[abs(step.value)] = step


def test_digits_are_added_only_where_nearly_equal_numbers_cancel() -> None:
    assert "v_x = u - w y = 0.75 - 0.0025 * 299.99 = 2.5e-05" in lines(cart(x_mm=1.0, y_mm=299.99), 0.25)
    rear = [Wheel(name=f"rear {y:g}", x_mm=0.0, y_mm=y) for y in (95.0, -95.0)]
    plain = Design(wheels=(*rear, Wheel(name="front", x_mm=1.0, y_mm=100.0, kind="steered")))
    assert "v_x = u - w y = 0.6 - 0.00421053 * 100 = 0.178947\n" in lines(plain, 0.4, index=2)
    # Abreast of the turn centre nearly nothing is left of the speed.
    near = plain.edited(wheels=(*rear, Wheel(name="front", x_mm=1.0, y_mm=142.49, kind="steered")))
    text = lines(near, 0.4, index=2)
    assert "v_x = u - w y = 0.6 - 0.0042105263158 * 142.49 = 4.21053e-05\n" in text
    assert "2 s / b = 2 * 0.4 / 190 = 0.0042105263158 per mm" in text


@given(designs(min_wheels=1, max_wheels=3), turn_inputs, speeds)
def test_the_working_ends_where_the_table_of_wheels_does(design: Design, turn: float, speed: float) -> None:
    view = view_of(design, turn, speed)
    for row in view.rows:
        steps = working(view, row.index)
        values = {step.formula.split(" = ")[0]: step.value for step in steps}
        assert values["delta"] == pytest.approx(math.degrees(row.heading), abs=1e-9)
        if "steer" in values:
            assert values["steer"] == pytest.approx(math.degrees(row.steer), abs=1e-9)
        assert values.get("p * roll", values["roll"]) == pytest.approx(row.speed, abs=1e-9)
        assert values["miss"] == pytest.approx(row.miss, rel=1e-6, abs=1e-6)
        if "r" in values:
            assert values["r"] == pytest.approx(row.radius, rel=1e-6, abs=1e-6)
        if "slip" in values:
            assert values["slip"] == pytest.approx(math.degrees(abs(row.slip)), abs=1e-6)
            assert values["drag"] == pytest.approx(row.drag, abs=1e-4)
        else:
            assert row.state == "swings round" or row.radius < 1e-6


def cart(**front: object) -> Design:
    """A fixed axle of track 200 mm at x = 0, and one front wheel on the centre line."""
    values: dict[str, object] = {"name": "front", "x_mm": 100.0, "y_mm": 0.0, "kind": "steered", **front}
    rear = [Wheel(name=f"rear {y:g}", x_mm=0.0, y_mm=y) for y in (100.0, -100.0)]
    return Design(wheels=(Wheel.model_validate(values), *rear))


def lines(design: Design, turn: float, speed: float = 1.0, index: int = 0) -> str:
    view = view_of(design, turn, speed)
    check_working(view, index)
    return working_text(view, index)


def test_the_working_shows_the_numbers_of_a_plain_steered_wheel() -> None:
    text = lines(cart(), 0.5)
    assert "w = (v_R - v_L) / b = 2 s / b = 2 * 0.5 / 200 = 0.005 per mm" in text
    assert "R = u / w = 0.5 / 0.005 = 100 mm" in text
    assert "phi = atan2(v_y, v_x) = atan2(0.5, 0.5) = 45°" in text


def test_straight_ahead_the_working_says_that_there_is_no_turn_centre() -> None:
    text = lines(cart(), 0.0)
    assert "no turn centre" in text
    assert "R = infinite\n" in text


def test_a_limited_wheel_shows_what_would_suit_and_where_it_stands() -> None:
    text = lines(cart(travel_min_deg=-30.0, travel_max_deg=30.0), 0.5)
    assert "Heading that would suit (or the one that rolls the other way)\n    phi = 45°" in text
    assert "Steer angle (the end of its travel)\n    delta = 30°" in text
    assert "slip = atan2(|side|, |roll|) = atan2(0.183013, 0.683013) = 15°" in text
    assert "No angle within the travel suits" in text


def test_a_flipped_wheel_shows_the_half_turn_and_rolls_backward() -> None:
    text = lines(cart(y_mm=80.0, travel_min_deg=-90.0, travel_max_deg=90.0), 1.0)
    assert "delta = phi - 180 = " in text
    assert "Rolling speed (backward)\n    roll = -|v| = -1.28062" in text
    assert "the wheel is flipped" in text


def test_a_kingpin_at_rest_keeps_straight_ahead() -> None:
    text = lines(cart(x_mm=0.0, y_mm=50.0), 2 / 3)
    assert "Direction of the kingpin (at rest: straight ahead)\n    phi = 0°" in text
    assert "atan2(0, 0)" not in text


def test_a_trail_longer_than_the_way_to_the_centre_is_told() -> None:
    text = lines(cart(x_mm=0.0, y_mm=95.0, trail_mm=20.0), 0.5)
    assert "Share for the trail (beyond 1: no angle suits)" in text
    assert "nearer to the kingpin than the trail" in text


def test_toe_turns_the_heading_and_leaves_the_steer_angle() -> None:
    text = lines(cart(toe_deg=2.0), 0.0)
    assert "steer = delta - built-in angle of the toe = 0 - (-2) = 2°" in text
    assert "delta = toe = 3°" in lines(
        Design(wheels=(Wheel(name="right", x_mm=0.0, y_mm=-80.0, toe_deg=3.0),)), 0.0
    )


def test_a_caster_swings_round_in_reverse_and_a_steered_wheel_does_not() -> None:
    caster = cart(kind="caster", trail_mm=15.0)
    assert "delta = phi + lambda = " in lines(caster, 0.2)
    backward = lines(caster, 0.2, -0.5)
    assert "so that it trails in reverse\n    delta = phi - lambda - 180 = " in backward
    assert "in reverse a caster swings round" in backward
    assert "in reverse the angle stays" in lines(cart(), 0.2, -0.5)


def test_a_wheel_on_the_turn_centre_says_that_it_pivots() -> None:
    design = cart().edited(
        wheels=(*cart().wheels[1:], Wheel(name="near", x_mm=2.0, y_mm=99.0)), base_axle_x_mm=0.0
    )
    assert "the wheel pivots there" in lines(design, 0.5, index=2)


def test_small_numbers_are_explained_where_they_appear() -> None:
    assert "2.5e-06 is short for 2.5 / 10^6." in lines(cart(), 0.001)
    assert "short for" not in lines(cart(), 0.5)
    toed = Design(wheels=(Wheel(name="left", x_mm=0.0, y_mm=80.0, toe_deg=3.0),))
    assert "toe-in" in lines(toed, 0.5)
    assert "short for" not in lines(toed, 0.5)


def test_an_end_is_called_the_nearest_to_one_that_would_suit_only_where_one_would() -> None:
    stiff = lines(cart(travel_min_deg=-10.0, travel_max_deg=10.0), 0.5)
    assert "stands at the end nearest to one that would" in stiff
    pair = [Wheel(name=n, x_mm=0.0, y_mm=y) for n, y in (("L", 100.0), ("R", -100.0))]
    swung = Wheel(
        name="F", x_mm=30.0, y_mm=150.0, kind="steered", trail_mm=60.0, travel_min_deg=-45, travel_max_deg=45
    )
    near = lines(Design(wheels=(*pair, swung)), 0.35, index=2)
    assert "No angle within the travel suits: the wheel stands at an end of it." in near
    assert "nearer to the kingpin than the trail: no angle suits" in near


@pytest.mark.parametrize("travel", [180.0, 10.0])
def test_trail_and_lateral_offset_are_told_each_by_its_own_number(travel: float) -> None:
    wheel = cart(trail_mm=12.0, lateral_offset_mm=7.0, travel_min_deg=-travel, travel_max_deg=travel)
    text = lines(wheel, 0.3)
    assert "(e_y = 7, the lateral offset)\n    roll = " in text
    assert "Lead of the trail (e_x = -12 is minus the trail)\n    lambda = asin(e_x w / |v|)" in text
    # Beyond its travel the contact point slides, and the trail swings it.
    note = "Sideways speed of the contact point (e_x = -12, minus the trail)\n    side = "
    assert (note in text) == (travel == 10.0)
