import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from app.controller.export_error import ExportError
from app.controller.formula import FORMULA_TURN_ONE, GROUP, functions_of
from app.controller.programme import programme_of
from app.controller.runtime import Runtime
from app.export.micropython import render
from geometry.model.design import Design
from geometry.model.motors import DriveMotor, Gearing, SteerMotor
from geometry.model.wheel import Wheel
from tests.app.export.robots import BARE, commands, controller_of, errors, flipping, sample, worst_allowed
from tests.geometry.motored_six import four_motors, steer
from tests.geometry.six_wheels import six
from tests.strategies import designs


def by_formula(design):
    return programme_of(design.edited(controller=design.controller.edited(method="formula", **BARE)))


def test_straight_wheels_need_one_arctangent_alone():
    assert functions_of(by_formula(sample("marsh_scout_six")).formula) == ("atan2",)


def test_trail_needs_its_arcsine_and_drives_need_sines():
    assert functions_of(by_formula(sample("creek_tricycle")).formula) == ("asin", "atan2", "sqrt")
    assert functions_of(by_formula(sample("marsh_scout_motors")).formula) == ("atan2", "cos", "sin")


def test_the_formula_is_off_by_its_last_rounding_and_the_step_of_the_turn_alone():
    programme = by_formula(sample("marsh_scout_motors"))
    assert np.abs(programme.error).max() <= 0.5 + 1e-6
    assert programme.turn_one == FORMULA_TURN_ONE


def test_a_formula_knows_where_wheels_change_ends():
    programme = by_formula(flipping())
    half = FORMULA_TURN_ONE // 2
    # The jump itself belongs to the side nearer to straight ahead.
    assert programme.formula.starts == (-FORMULA_TURN_ONE, -half, half + 1)
    off = np.abs(errors(programme, controller_of(programme), commands(programme, 3_000)))
    assert (off <= worst_allowed(programme)).all()


@pytest.mark.parametrize("spread", [1.0, -1.0, 0.5])
@pytest.mark.parametrize("travel", [60.0, 90.0, 135.0])
def test_wheels_that_turn_equally_far_have_one_though_no_angle_suits_them_all(spread, travel):
    design = six(travel, toe_deg=1.5).edited(
        steer_motors=(steer("front", w0=spread, w1=spread), steer("rear", w4=-spread, w5=spread))
    )
    programme = by_formula(design)
    assert programme.formula.follows(GROUP)
    off = np.abs(errors(programme, controller_of(programme), commands(programme, 2_000)))
    assert (off <= worst_allowed(programme)).all()
    for name, a, b, ms in [("drive", a, -a // 3, 20) for a in range(-1000, 1001, 50)]:
        steer_targets, _ = getattr(controller_of(programme), name)(a, b, ms)
        assert tuple(steer_targets) == getattr(Runtime(programme), name)(a, b, ms).steer


def test_wheels_that_share_a_motor_but_no_angle_have_no_formula():
    with pytest.raises(ExportError, match=r"steer (left|right): no formula.*choose the method table"):
        by_formula(four_motors(error=0.05))
    assert programme_of(four_motors(error=0.05)).bound_deg <= 0.1


def test_a_wheel_that_never_turns_needs_no_mathematics():
    beside = Wheel(name="beside", x_mm=0.0, y_mm=50.0, kind="steered")
    programme = by_formula(Design(wheels=(beside,)))
    assert functions_of(programme.formula) == ()
    assert "from math" not in render(programme)
    assert controller_of(programme).drive(-1000, 1000, 20) == ([0], [-1000, 1000])


def test_a_driven_caster_has_no_formula():
    tricycle = sample("creek_tricycle")
    wheels = tuple(w.edited(driven=w.kind == "caster") for w in tricycle.wheels)
    (caster,) = (w.name for w in wheels if w.driven)
    motor = DriveMotor(name="D", wheels=(Gearing(wheel=caster, ratio=1.0),))
    with pytest.raises(ExportError, match="driven caster"):
        by_formula(tricycle.edited(wheels=wheels, drive_motors=(motor,)))


def test_a_driven_wheel_that_steers_and_has_toe_and_offset_is_followed():
    design = sample("marsh_scout_six")
    corner = design.wheels[0].edited(driven=True, toe_deg=2.0, lateral_offset_mm=12.0)
    wheels = (corner, *(w.edited(driven=False) for w in design.wheels[1:]))
    turner = SteerMotor(name="S", wheels=(Gearing(wheel=corner.name, ratio=-0.5),))
    pusher = DriveMotor(name="D", wheels=(Gearing(wheel=corner.name, ratio=1.0),))
    programme = by_formula(design.edited(wheels=wheels, steer_motors=(turner,), drive_motors=(pusher,)))
    off = np.abs(errors(programme, controller_of(programme), commands(programme, 2_000)))
    assert (off <= worst_allowed(programme)).all()


@settings(max_examples=20, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(designs(min_wheels=1, max_wheels=4), st.integers(0, 99))
def test_where_there_is_a_formula_it_is_right(design, seed):
    try:
        programme = by_formula(design)
    except ExportError as refused:
        if "choose the method table" not in str(refused):
            raise
        return
    off = np.abs(errors(programme, controller_of(programme), commands(programme, 200, seed)))
    if programme.chassis.outputs:
        assert (off <= worst_allowed(programme)).all()
