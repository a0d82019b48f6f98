from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from geometry.kinematics.as_built import AsBuilt, as_built, motor_arrays
from geometry.kinematics.motion import Motion, from_turn
from geometry.model.base_axle import base_of
from geometry.model.design import Design
from geometry.model.motors import Gearing, SteerMotor
from geometry.model.wheel import Wheel
from geometry.model.wheel_arrays import wheel_arrays
from tests.geometry.shared_oracle import dragged, least_drag, shaft_ends, size_of_drag
from tests.geometry.six_wheels import H, X, six
from tests.strategies import motions, motored_designs

FRONT_LEFT, FRONT_RIGHT, REAR_LEFT, REAR_RIGHT = "w0", "w1", "w4", "w5"
TURNS = np.linspace(-1.0, 1.0, 401)

# A flip of all wheels must spare a tenth of a degree of slip, as a mean square [rad^2].
WORTH_A_FLIP = 3e-6


def motor(ratios: dict[str, float], **more: Any) -> SteerMotor:
    wheels = tuple(Gearing(wheel=name, ratio=ratio) for name, ratio in ratios.items())
    return SteerMotor(name="M", wheels=wheels, **more)


def with_motor(ratios: dict[str, float], travel: float = 180.0, **corner: float) -> Design:
    return six(travel, **corner).edited(steer_motors=(motor(ratios),))


def run(design: Design, motion: Motion) -> AsBuilt:
    arrays = wheel_arrays(design)
    return as_built(arrays, motor_arrays(design, arrays), motion)


def shafts(design: Design, turns: Any = TURNS, speed: float = 1.0) -> np.ndarray:
    """Shaft angles of the first motor over turn inputs."""
    return run(design, from_turn(turns, base_of(design), speed)).shaft[:, 0]


def stops(design: Design, turns: Any = TURNS) -> np.ndarray:
    return run(design, from_turn(turns, base_of(design))).stopped[:, 0]


SIDE = {FRONT_LEFT: 1.0, REAR_LEFT: -1.0}
CASES = {
    "one side": with_motor(SIDE),
    "one side, short travel": with_motor(SIDE, travel=80.0),
    "front pair": with_motor({FRONT_LEFT: 1.0, FRONT_RIGHT: 1.0}, travel=135.0),
    "front pair, short travel": with_motor({FRONT_LEFT: 1.0, FRONT_RIGHT: 1.0}, travel=35.0),
    "front pair, geared": with_motor({FRONT_LEFT: 0.5, FRONT_RIGHT: 0.4}, travel=135.0),
    "all four": with_motor({FRONT_LEFT: 1.0, FRONT_RIGHT: 1.0, REAR_LEFT: -1.0, REAR_RIGHT: -1.0}),
    "diagonal": with_motor({FRONT_LEFT: 1.0, REAR_RIGHT: -1.0}),
    "unequal": with_motor({FRONT_LEFT: 1.0, REAR_LEFT: -1.2}, travel=135.0),
    "with trail": with_motor({FRONT_LEFT: 1.0, FRONT_RIGHT: 1.0}, travel=80.0, trail_mm=25.0),
    "with toe": with_motor(SIDE, toe_deg=3.0),
    "with toe, short travel": with_motor(SIDE, travel=80.0, toe_deg=3.0),
    "with toe, skewed travel": six(toe_deg=3.0).edited(
        steer_motors=(motor(SIDE, travel_min_deg=-20.0, travel_max_deg=60.0),)
    ),
    "with toe of 45": with_motor({FRONT_LEFT: 1.0, FRONT_RIGHT: 1.0}, toe_deg=45.0),
}


@given(st.data())
def test_no_shaft_angle_in_the_travel_drags_less(data: st.DataObject) -> None:
    design = data.draw(motored_designs(min_wheels=2, max_wheels=5, kinds=("steered", "steered", "fixed")))
    assume(design.steer_motors)
    motion = data.draw(motions(design))
    twist = motion.twist[0]
    found = run(design, motion)
    for k, held in enumerate(design.steer_motors):
        low, high = shaft_ends(design, held)
        shaft = found.shaft[0, k]
        assert low - 1e-9 <= shaft <= high + 1e-9
        mine = float(dragged(design, held, twist, np.asarray(shaft)))
        spare = WORTH_A_FLIP * 1.01 if len(held.wheels) > 1 else 1e-9
        if len(held.wheels) > 1 or not found.stopped[0, k]:
            assert mine <= least_drag(design, held, twist) + spare * size_of_drag(design, held, twist)


@pytest.mark.parametrize("name", CASES)
def test_the_least_drag_is_found_over_the_whole_range(name: str) -> None:
    design = CASES[name]
    held = design.steer_motors[0]
    turns = np.linspace(-1.0, 1.0, 41)
    twists = from_turn(turns, base_of(design)).twist
    for twist, shaft in zip(twists, shafts(design, turns), strict=True):
        least = least_drag(design, held, twist)
        size = size_of_drag(design, held, twist)
        # Here no flip saves as little as a tenth of a degree, so that the least is exact.
        assert float(dragged(design, held, twist, shaft)) == pytest.approx(least, abs=1e-12 * size)


@pytest.mark.parametrize("name", CASES)
def test_a_motor_counts_as_stopped_just_where_it_would_go_on_beyond_its_travel(name: str) -> None:
    design = CASES[name]
    held = design.steer_motors[0]
    low, high = shaft_ends(design, held)
    twists = from_turn(TURNS, base_of(design)).twist
    for twist, shaft, stopped in zip(twists, shafts(design), stops(design), strict=True):
        at_end = min(shaft - low, high - shaft) < 1e-9
        further = shaft + (1e-5 if high - shaft < 1e-9 else -1e-5)
        gain = dragged(design, held, twist, shaft) - dragged(design, held, twist, further)
        assert stopped == (at_end and gain > 1e-9 * size_of_drag(design, held, twist))


def test_equal_and_opposite_sharing_of_a_side_is_exact() -> None:
    left, right = shafts(with_motor(SIDE)), shafts(with_motor({FRONT_RIGHT: 1.0, REAR_RIGHT: -1.0}))
    # tan = (x / h) s for the outer wheel and (x / h) s / (1 - 2 s) for the inner one.
    with np.errstate(divide="ignore"):
        outer = np.arctan2(X / H * TURNS, 1.0)
        inner = np.arctan2(X / H * TURNS, 1.0 - 2.0 * np.abs(TURNS))
    np.testing.assert_allclose(left, np.where(TURNS > 0, inner, outer), atol=1e-12)
    np.testing.assert_allclose(right, np.where(TURNS < 0, inner, outer), atol=1e-12)


def test_a_gear_between_motor_and_wheels_scales_the_shaft_alone() -> None:
    direct = shafts(CASES["front pair"])
    geared = shafts(with_motor({FRONT_LEFT: -0.25, FRONT_RIGHT: -0.25}, travel=135.0), TURNS)
    inside = np.abs(direct) < math.radians(44.0)  # its own travel of 180 degrees ends at 45 of the wheels
    np.testing.assert_allclose(geared[inside], -4.0 * direct[inside], atol=1e-12)
    assert stops(with_motor({FRONT_LEFT: -0.25, FRONT_RIGHT: -0.25}))[np.abs(direct) > math.radians(46)].all()


@pytest.mark.parametrize("name", CASES)
def test_a_mirrored_chassis_takes_mirrored_shaft_angles(name: str) -> None:
    design = CASES[name]
    # The last bits decide between the two ends where both are as good.
    other_way = [
        m.edited(travel_min_deg=-m.travel_max_deg, travel_max_deg=-m.travel_min_deg)
        for m in design.steer_motors
    ]
    mirrored = design.edited(
        wheels=tuple(w.edited(y_mm=-w.y_mm) for w in design.wheels), steer_motors=tuple(other_way)
    )
    np.testing.assert_allclose(shafts(mirrored, -TURNS[1:-1]), -shafts(design, TURNS[1:-1]), atol=1e-9)


@pytest.mark.parametrize("name", CASES)
@pytest.mark.parametrize("scale", [0.1, 7.0])
def test_a_scaled_chassis_takes_the_same_shaft_angles(name: str, scale: float) -> None:
    design = CASES[name]
    scaled = design.edited(
        wheels=tuple(
            w.edited(x_mm=scale * w.x_mm, y_mm=scale * w.y_mm, trail_mm=scale * w.trail_mm)
            for w in design.wheels
        )
    )
    np.testing.assert_allclose(shafts(scaled, TURNS[1:-1]), shafts(design, TURNS[1:-1]), atol=1e-9)


@pytest.mark.parametrize("name", CASES)
@pytest.mark.parametrize("speed", [-1.0, -0.3, 1e-6, 1e6])
def test_speed_and_reverse_leave_the_shaft_angle(name: str, speed: float) -> None:
    design = CASES[name]
    np.testing.assert_allclose(shafts(design, speed=speed), shafts(design), atol=1e-9)


@pytest.mark.parametrize("name", ["one side", "front pair", "all four", "diagonal", "with toe"])
def test_from_straight_on_the_shaft_turns_without_a_jump(name: str) -> None:
    turns = np.linspace(0.0, 1.0, 2001)
    for side in (1.0, -1.0):
        assert np.abs(np.diff(shafts(CASES[name], side * turns))).max() < 0.02


@given(st.data())
def test_the_closed_form_follows_the_argument_that_is_unwrapped_step_by_step(data: st.DataObject) -> None:
    design = data.draw(motored_designs(min_wheels=2, max_wheels=5, kinds=("steered",)))
    names = [w.name for w in design.wheels]
    held = motor({name: data.draw(st.sampled_from([1.0, -1.0])) for name in names})
    design = design.edited(
        wheels=tuple(
            w.edited(trail_mm=0.0, travel_min_deg=-180.0, travel_max_deg=180.0) for w in design.wheels
        ),
        steer_motors=(held,),
    )
    motion = from_turn([data.draw(st.floats(-1.0, 1.0))], base_of(design))
    end = motion.twist[0]
    way = np.linspace(0.0, 1.0, 4001)[:, None]
    twists = (1.0 - way) * np.array([1.0, 0.0, 0.0]) + way * end
    z = np.zeros(len(twists), dtype=complex)
    size = np.zeros(len(twists))
    for wheel, gearing in zip(design.wheels, held.wheels, strict=True):
        v = twists[:, 0] - twists[:, 2] * wheel.y_mm + 1j * (twists[:, 1] + twists[:, 2] * wheel.x_mm)
        toe = -wheel.toe_deg if wheel.y_mm + wheel.lateral_offset_mm >= 0 else wheel.toe_deg
        u = v * np.exp(-1j * math.radians(toe))
        z += wheel.load_share * (u if gearing.turns > 0 else u.conjugate()) ** 2
        size += wheel.load_share * np.abs(v) ** 2
    # Amid the range every angle may be as good as any other: there is nothing to follow there.
    assume((np.abs(z) > 0.02 * size).all())
    argument = np.unwrap(np.angle(z))
    assume(np.abs(np.diff(argument)).max() < 0.5)
    followed = 0.5 * argument[-1]
    assume(abs(followed) < math.pi - 1e-6)
    assert run(design, motion).shaft[0, 0] == pytest.approx(followed, abs=1e-9)


@pytest.mark.parametrize(
    "name", ["one side", "one side, short travel", "front pair", "front pair, short travel", "all four"]
)
@pytest.mark.parametrize("how", ["ratio", "trail"])
def test_the_search_agrees_with_the_closed_form(name: str, how: str) -> None:
    design = CASES[name]
    held = design.steer_motors[0]
    if how == "ratio":
        other = held.wheels[-1].edited(ratio=(held.wheels[-1].ratio or 0.0) * (1.0 + 1e-9))
        searched = design.edited(steer_motors=(held.edited(wheels=(*held.wheels[:-1], other)),))
    else:
        searched = design.edited(
            wheels=tuple(w.edited(trail_mm=1e-7) if w.kind == "steered" else w for w in design.wheels)
        )
    turns = TURNS[1:-1]
    at_flips = np.zeros(len(turns), dtype=bool)
    if "short" in name:  # where two angles are as good, the last bits decide
        at_flips = np.isclose(np.abs(turns), 0.5, atol=1e-9)
    np.testing.assert_allclose(
        shafts(searched, turns)[~at_flips], shafts(design, turns)[~at_flips], atol=1e-6
    )
    assert (stops(searched, turns) == stops(design, turns))[~at_flips].all()


def test_wheels_whose_kingpins_are_on_the_base_axle_stay_straight_beyond_the_centre() -> None:
    design = six().edited(
        wheels=tuple(w.edited(kind="steered") for w in six().wheels),
        base_axle_x_mm=0.0,
        steer_motors=(motor({"w2": 1.0, "w3": 1.0}),),
    )
    assert shafts(design) == pytest.approx(np.zeros(len(TURNS)), abs=1e-15)


def test_two_wheels_abreast_of_each_other_turn_to_the_left_in_a_left_turn_where_both_ways_are_equal() -> None:
    # Front and rear wheel of a side by equal angles: straight while v_x > v_y, across after that.
    found = shafts(with_motor({FRONT_LEFT: 1.0, REAR_LEFT: 1.0}))
    across = X / H * np.abs(TURNS) > np.abs(np.where(TURNS > 0, 1.0 - 2.0 * np.abs(TURNS), 1.0)) + 1e-9
    np.testing.assert_allclose(found[across], np.sign(TURNS[across]) * math.pi / 2, atol=1e-12)
    straight = X / H * np.abs(TURNS) < np.abs(np.where(TURNS > 0, 1.0 - 2.0 * np.abs(TURNS), 1.0)) - 1e-9
    np.testing.assert_allclose(found[straight], 0.0, atol=1e-12)


def test_a_short_travel_stops_the_motor_where_the_tangent_says() -> None:
    design = six().edited(steer_motors=(motor(SIDE, travel_min_deg=-20.0, travel_max_deg=30.0),))
    # Inner wheel: tan 30 = (x / h) s / (1 - 2 s); outer wheel: tan 20 = (x / h) s.
    inner, outer = math.tan(math.radians(30.0)) * H / X, math.tan(math.radians(20.0)) * H / X
    left = inner / (1.0 + 2.0 * inner)
    near = 1e-9
    assert stops(design, [left - near, left + near, near - outer, -near - outer]).tolist() == [
        False,
        True,
        False,
        True,
    ]
    assert np.degrees(shafts(design, [left + 0.01, -outer - 0.01])) == pytest.approx([30.0, -20.0])


def test_a_motor_short_of_a_right_angle_flips_all_its_wheels_at_once() -> None:
    found, stopped = shafts(CASES["one side, short travel"]), stops(CASES["one side, short travel"])
    free = shafts(with_motor(SIDE))
    beyond = free > math.radians(100.0)
    np.testing.assert_allclose(found[beyond], free[beyond] - math.pi, atol=1e-12)
    assert not stopped[beyond].any()
    between = (free > math.radians(80.0) + 1e-9) & (free < math.radians(100.0) - 1e-9)
    assert stopped[between].all()
    np.testing.assert_allclose(np.abs(found[between]), math.radians(80.0), atol=1e-12)


def test_wheels_that_can_only_turn_apart_on_one_motor_cannot_turn_at_all() -> None:
    design = six().edited(
        wheels=tuple(
            w.edited(travel_min_deg=0.0, travel_max_deg=45.0) if w.kind == "steered" else w
            for w in six().wheels
        ),
        steer_motors=(motor(SIDE), motor({FRONT_RIGHT: 1.0, REAR_RIGHT: -1.2}).edited(name="N")),
    )
    found = run(design, from_turn([0.0, 0.2, -0.2], base_of(design)))
    np.testing.assert_allclose(found.shaft, 0.0, atol=1e-15)
    assert found.stopped.tolist() == [[False, False], [True, True], [True, True]]


def test_a_ratio_off_by_less_than_it_is_worth_makes_no_flip() -> None:
    # One in a thousand: at 130 degrees each wheel is off by 0.065 degrees, a flip would spare half of it.
    slight = shafts(with_motor({FRONT_LEFT: 1.0, REAR_LEFT: -1.001}, travel=135.0), np.linspace(0, 1, 401))
    assert np.abs(np.diff(slight)).max() < 0.02
    plain = shafts(with_motor({FRONT_LEFT: 1.0, REAR_LEFT: -1.2}, travel=135.0), np.linspace(0, 1, 401))
    assert np.abs(np.diff(plain)).max() > 2.0


@pytest.mark.parametrize("ratio", [1.0, 1.1])
def test_a_chassis_at_rest_asks_nothing_of_the_shaft(ratio: float) -> None:
    design = with_motor({FRONT_LEFT: 1.0, FRONT_RIGHT: ratio}, toe_deg=2.0)
    found = run(design, from_turn([0.0, 0.5], base_of(design), 0.0))
    assert np.isfinite(found.shaft).all()
    assert not found.stopped.any()
    assert np.abs(found.solution.roll).max() == 0


def test_the_heavier_wheel_has_its_way() -> None:
    shares, found = (0.001, 1.0, 1000.0), []
    for share in shares:
        wheels = tuple(w.edited(load_share=share) if w.name == FRONT_LEFT else w for w in six().wheels)
        design = six().edited(wheels=wheels, steer_motors=(motor({FRONT_LEFT: 1.0, FRONT_RIGHT: 1.0}),))
        found.append(shafts(design, [0.3])[0])
    inner, outer = math.atan(X / H * 0.3 / 0.4), math.atan(X / H * 0.3)
    assert found[0] == pytest.approx(outer, abs=1e-3)
    assert found[2] == pytest.approx(inner, abs=2e-3)
    assert outer < found[0] < found[1] < found[2] < inner


def test_one_wheel_alone_takes_its_ideal_angle() -> None:
    wheel = Wheel(name="nose", x_mm=150.0, y_mm=0.0, kind="steered", trail_mm=12.0, toe_deg=1.0)
    design = six().edited(wheels=(*six().wheels, wheel), steer_motors=(motor({"nose": -0.5}),))
    found = run(design, from_turn(TURNS, base_of(design)))
    np.testing.assert_allclose(-0.5 * found.shaft[:, 0], found.ideal.steer[:, 6], atol=1e-12)
    assert np.abs(found.ideal.steer[:, 6]).max() > 1.0
