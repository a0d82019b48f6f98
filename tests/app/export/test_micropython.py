import ast
import re

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from app.controller.programme import programme_of
from app.controller.runtime import Runtime
from app.design.samples import sample_design
from app.export.micropython import render
from geometry.errors import AxlewrightError
from geometry.model.controller import PARTS
from geometry.model.design import Design
from geometry.model.wheel import Wheel
from sample_chassis import SAMPLES
from tests.app.export.robots import (
    BARE,
    commands,
    controller_of,
    errors,
    flipping,
    loose_calls,
    module_of,
    sample,
    with_settings,
    worst_allowed,
)
from tests.strategies import motored_designs
from tests.unpacked import unpacked
from tests.whole.odd_robots import MORE

ALL = [(s.key, method) for s in SAMPLES for method in ("table", "formula")]


def answers_of(programme, controller, calls):
    """What the module answers, and what the runtime in Python does."""
    runtime = Runtime(programme)
    for name, a, b, ms in calls:
        steer, speed = getattr(controller, name)(a, b, ms)
        due = getattr(runtime, name)(a, b, ms)
        yield (*steer, *speed, getattr(controller, "holding", False)), (*due.steer, *due.speed, due.holding)


def calls(count, seed=1, names=("drive", "stick")):
    draw = np.random.default_rng(seed)
    a, b = draw.integers(-1100, 1101, (2, count)).tolist()
    return [
        (str(draw.choice(names)), a[i], b[i], int(draw.choice([0, 1, 7, 20, 1000, 5000])))
        for i in range(count)
    ]


@pytest.mark.parametrize(("key", "method"), ALL)
def test_ten_thousand_commands_keep_to_the_stated_bound_on_every_sample(key, method):
    programme = programme_of(sample(key, method=method, **BARE))
    off = np.abs(errors(programme, controller_of(programme), commands(programme, 10_000)))
    assert off.shape[0] > 9_900
    assert (off <= worst_allowed(programme)).all()
    assert programme.bound_deg <= 0.1 + 1e-9


@pytest.mark.parametrize("spacing", ["free", "even"])
def test_a_flip_keeps_to_the_bound_on_either_side(spacing):
    programme = programme_of(flipping(spacing=spacing, **BARE))
    assert len(programme.table.segments) >= 3
    off = np.abs(errors(programme, controller_of(programme), commands(programme, 4_000)))
    assert (off <= worst_allowed(programme)).all()


@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(motored_designs(min_wheels=1, max_wheels=5), st.sampled_from([0.2, 1.0]), st.booleans())
def test_random_chassis_keep_to_the_stated_bound(design, error, clamp):
    try:
        programme = programme_of(with_settings(design, error=error, **{**BARE, "clamp": clamp}))
    except AxlewrightError as refused:
        told = str(refused)
        if not any(remedy in told for remedy in ("allow", "give", "check")):
            raise
        return
    off = np.abs(errors(programme, controller_of(programme), commands(programme, 200)))
    if programme.chassis.outputs:
        assert (off <= worst_allowed(programme)).all()
        allowed = np.array([output.allowed for output in programme.chassis.outputs])
        assert (programme.bound <= allowed * (1 + 1e-9)).all()


@pytest.mark.parametrize("byte", [0, 40, -40, -1])
def test_a_broken_row_is_found_by_these_commands(byte):
    programme = programme_of(sample("marsh_scout_motors", **BARE))
    names = module_of(programme)
    values = bytearray(names["_chassis_VALUES"])
    values[byte | 1] ^= 0x10
    names["_chassis_VALUES"] = bytes(values)
    off = np.abs(errors(programme, names["chassis_controller"](), commands(programme, 10_000)))
    assert not (off <= worst_allowed(programme)).all()


@pytest.mark.parametrize(("key", "method"), ALL)
def test_the_module_answers_as_the_runtime_does_to_the_last_bit(key, method):
    programme = programme_of(sample(key, method=method))
    for found, due in answers_of(programme, controller_of(programme), calls(1_500)):
        assert found == due


@pytest.mark.parametrize("spacing", ["free", "even"])
def test_values_of_four_bytes_are_read_as_they_were_written(spacing):
    design = sample("marsh_scout_motors", spacing=spacing, error=0.01)
    motors = tuple(motor.edited(counts_per_turn=1e6) for motor in design.steer_motors)
    programme = programme_of(design.edited(steer_motors=motors))
    assert programme.table.value_bytes == 4
    for found, due in answers_of(programme, controller_of(programme), calls(1_000)):
        assert found == due


@pytest.mark.parametrize("spacing", ["free", "even"])
def test_turn_steps_of_four_bytes_are_read_as_they_were_written(spacing):
    near = Wheel(name="near the stopped side", x_mm=8.0, y_mm=100.0, kind="steered")
    sides = (Wheel(name="left", x_mm=0.0, y_mm=100.0), Wheel(name="right", x_mm=0.0, y_mm=-100.0))
    programme = programme_of(with_settings(Design(wheels=(near, *sides)), spacing=spacing, **BARE))
    assert programme.table.turn_bytes == 4
    off = np.abs(errors(programme, controller_of(programme), commands(programme, 3_000)))
    assert (off <= worst_allowed(programme)).all()


@pytest.mark.parametrize("number", range(2 ** len(PARTS)))
def test_each_part_can_be_left_out(number):
    parts = {part: bool(number >> i & 1) for i, part in enumerate(PARTS)}
    programme = programme_of(flipping(creep_permille=200, spacing="even", **parts))
    names = ("drive", "stick") if parts["mixing"] else ("drive",)
    text = render(programme)
    assert ("def stick" in text) == parts["mixing"]
    assert ("_WITHIN" in text) == parts["hold"]
    assert ("_TOP" in text) == parts["scaling"]
    assert ("_LOW" in text) == parts["clamp"]
    assert ("def _move" in text) == (parts["limiter"] or parts["hold"])
    for found, due in answers_of(programme, controller_of(programme), calls(60, number, names)):
        assert found == due


def test_the_table_needs_no_import_and_no_float():
    for spacing in ("free", "even"):
        tree = ast.parse(render(programme_of(flipping(spacing=spacing))))
        assert not [n for n in ast.walk(tree) if isinstance(n, ast.Import | ast.ImportFrom)]
        assert not [n for n in ast.walk(tree) if isinstance(n, ast.Constant) and isinstance(n.value, float)]
        assert not [n for n in ast.walk(tree) if isinstance(n, ast.Div)]


def test_the_formula_imports_nothing_but_math():
    tree = ast.parse(render(programme_of(sample("creek_tricycle", method="formula"))))
    found = [n for n in ast.walk(tree) if isinstance(n, ast.Import | ast.ImportFrom)]
    assert [n.module for n in found] == ["math"]


def test_measured_places_decide_the_hold_where_they_are_given():
    programme = programme_of(sample("marsh_scout_motors"))
    controller = controller_of(programme)
    for _ in range(20):
        steer, speed = controller.drive(0, 1000, 1000)
    assert not controller.holding
    assert speed != [0, 0]
    away = [place + programme.steer[0].within + 1 for place in steer]
    _, speed = controller.drive(0, 1000, 20, away)
    assert controller.holding
    assert speed == [0, 0]
    near = [place + programme.steer[0].within for place in steer]
    controller.drive(0, 1000, 20, near)
    assert not controller.holding


@pytest.mark.parametrize(("method", "dead_band"), [("table", True), ("table", False), ("formula", False)])
def test_numbers_of_any_kind_are_answered_by_whole_ones_as_the_runtime_does(method, dead_band):
    programme = programme_of(sample("marsh_scout_motors", method=method, dead_band=dead_band))
    controller, runtime = controller_of(programme), Runtime(programme)
    for name, a, b, ms, measured in loose_calls(programme, 1_500, seed=4):
        steer, speed = getattr(controller, name)(a, b, ms, measured)
        due = getattr(runtime, name)(a, b, ms, measured)
        assert (*steer, *speed, controller.holding) == (*due.steer, *due.speed, due.holding)
        assert (controller._at, controller._rest) == (runtime.at, runtime.rest)
        state = (*steer, *speed, controller.step, *controller._at, *controller._rest)
        assert {type(number) for number in state} == {int}


@pytest.mark.parametrize("method", ["table", "formula"])
@pytest.mark.parametrize("key", ["marsh_scout_motors", "marsh_scout_six"])
def test_before_the_first_call_the_controller_stands_straight_ahead_and_at_rest(key, method):
    programme = programme_of(sample(key, method=method))
    controller, runtime = controller_of(programme), Runtime(programme)
    ahead = runtime.drive(0, 0, 0)
    assert (controller.steer, controller.speed, controller.holding) == ([*ahead.steer], [0, 0], False)
    assert (controller.step, controller._at, controller._rest) == (0, [*ahead.steer], [0] * len(ahead.steer))


@pytest.mark.parametrize(
    ("design", "name", "size"),
    [
        (sample("marsh_scout_motors"), "number", 2),
        (sample("marsh_scout_motors"), "node", 2),
        (MORE["values of four bytes"](), "number", 4),
        (MORE["turn steps of four bytes"](), "node", 4),
    ],
)
def test_stored_numbers_are_read_up_to_the_ends_of_their_range(design, name, size):
    most = 2 ** (8 * size - 1)
    numbers = [number for n in range(8 * size) for number in (2**n - 1, -(2**n), 1 - 2**n)]
    numbers += [most - 2 ** (8 * n) for n in range(size)] + [2 ** (8 * n) - most for n in range(size)]
    data = b"".join(number.to_bytes(size, "little", signed=True) for number in numbers)
    names = module_of(programme_of(design))
    names["_chassis_NODES"] = data
    read = {"number": lambda i: names["_chassis_number"](data, i), "node": names["_chassis_node"]}[name]
    assert [read(size * n) for n in range(len(numbers))] == numbers


def test_every_name_begins_with_the_prefix():
    for method in ("table", "formula"):
        names = module_of(programme_of(sample("marsh_scout_motors", method=method, prefix="Reed2_x")))
        own = {name for name in names if name not in ("__builtins__", "atan2", "sin", "cos", "asin", "sqrt")}
        assert {name.lstrip("_").startswith("Reed2_x_") for name in own} == {True}


@pytest.mark.parametrize(
    "name", ['"', "'''", '"""', "*/ x", "\\", "#", "${p}", "$head", "%end", "左", "\u202e", "x\u2028y", "a\\"]
)
def test_names_of_any_kind_break_neither_code_nor_comment(name):
    design = unpacked(sample_design("marsh_scout_motors"))
    motor = design.steer_motors[0].edited(name=name)
    design = design.edited(name=name, steer_motors=(motor, *design.steer_motors[1:]))
    programme = programme_of(design)
    for found, due in answers_of(programme, controller_of(programme), calls(20)):
        assert found == due
    assert "\u202e" not in render(programme)


def test_the_head_states_chassis_fingerprint_bound_units_call_and_cautions():
    programme = programme_of(sample("marsh_scout_motors"))
    head = render(programme).split("\n\n")[0]
    assert '"Marsh scout with four motors"' in head
    assert programme.fingerprint[:16] in head
    bound = re.search(r"Largest error of a steering angle at any turn: ([0-9.]+) degrees", head)
    assert float(bound[1]) == pytest.approx(programme.bound_deg, rel=1e-2)
    assert "right_steering_counts" in head
    assert "controller.stick(throttle, turn, ms, measured)" in head
    assert "wheels off the ground" in head
    assert "fused battery" in head
    assert "Not for road vehicles" in head


def test_the_same_chassis_gives_the_same_text():
    assert render(programme_of(flipping())) == render(programme_of(flipping()))
