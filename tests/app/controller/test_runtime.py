from itertools import pairwise
from math import inf, nan

import pytest

from app.controller.programme import programme_of
from app.controller.runtime import Runtime
from tests.app.export.robots import BARE, flipping, sample

QUIET = {**BARE, "scaling": True}


def runtime(key="marsh_scout_motors", **changes):
    return Runtime(programme_of(sample(key, **changes)))


def settled(robot, left, right):
    for _ in range(50):
        answer = robot.drive(left, right, 1000)
    return answer


def test_equal_and_opposite_sides_turn_on_the_spot_to_either_side():
    robot = runtime("marsh_scout_six", **BARE)
    left = robot.drive(-700, 700, 20)
    assert robot.step == robot.programme.last
    assert left.speed == (-700, 700)
    right = robot.drive(700, -700, 20)
    assert robot.step == robot.programme.first
    assert right.speed == (700, -700)


def test_one_side_at_rest_turns_about_its_wheel():
    robot = runtime("marsh_scout_six", **BARE)
    assert robot.drive(0, 300, 20).speed == (0, 300)
    assert robot.step == robot.programme.turn_one // 2


def test_reverse_keeps_the_angles_and_turns_the_speeds_round():
    robot = runtime(**BARE)
    ahead, back = robot.drive(400, 900, 20), robot.drive(-400, -900, 20)
    assert ahead.steer == back.steer
    assert [-speed for speed in ahead.speed] == list(back.speed)


def test_at_rest_the_wheels_keep_their_angles():
    robot = runtime(**BARE)
    turning = robot.drive(200, 900, 20)
    assert robot.drive(0, 0, 20).steer == turning.steer
    assert robot.drive(0, 0, 20).speed == (0, 0)


def test_inputs_beyond_full_count_as_full():
    robot = runtime(**BARE)
    assert robot.drive(5000, -20_000, 20) == runtime(**BARE).drive(1000, -1000, 20)


def test_inputs_within_the_dead_band_count_as_none():
    robot = runtime("marsh_scout_six", **{**BARE, "dead_band": True, "dead_band_permille": 50})
    assert robot.drive(50, -50, 20).speed == (0, 0)
    assert robot.drive(51, 50, 20).speed == (51, 0)


@pytest.mark.parametrize(
    ("throttle", "turn", "sides"),
    [
        (600, 0, (600, 600)),
        (0, 300, (-300, 300)),
        (600, 200, (400, 800)),
        (1000, 1000, (0, 1000)),
        (1000, 500, (333, 1000)),
        (-1000, 500, (-1000, -333)),
    ],
)
def test_the_stick_mixes_throttle_and_turn(throttle, turn, sides):
    robot = runtime("marsh_scout_six", **{**BARE, "mixing": True})
    assert robot.stick(throttle, turn, 20).speed == sides


def test_no_motor_runs_over_its_top_and_all_slow_down_alike():
    free = runtime("marsh_scout_six", **BARE)
    design = sample("marsh_scout_motors", **QUIET)
    slow = design.drive_motors[0].edited(usable_rpm=60.0)
    robot = Runtime(programme_of(design.edited(drive_motors=(slow, design.drive_motors[1]))))
    loose = Runtime(
        programme_of(sample("marsh_scout_motors", **BARE).edited(drive_motors=(slow, design.drive_motors[1])))
    )
    assert free.drive(1000, 1000, 20).speed == (1000, 1000)
    tops = [output.top for output in robot.programme.drive]
    for left, right in ((1000, 1000), (1000, 0), (0, 1000), (1000, -1000), (-600, 1000)):
        held, asked = robot.drive(left, right, 20).speed, loose.drive(left, right, 20).speed
        assert all(abs(speed) <= top for speed, top in zip(held, tops, strict=True))
        # Cut to whole thousandths of the faster side.
        assert held[0] * asked[1] == pytest.approx(held[1] * asked[0], rel=2e-3, abs=2e4)


def test_the_limiter_moves_as_fast_as_the_motor_and_no_faster():
    robot = runtime(**{**BARE, "limiter": True})
    rate = robot.programme.steer[0].per_second
    start = robot.drive(1000, 1000, 0).steer[0]
    places = [robot.drive(-1000, 1000, 7).steer[0] for _ in range(40)]
    # Thousandths that are left over are not lost.
    assert abs(places[-1] - start) == rate * 7 * 40 // 1000
    assert max(abs(b - a) for a, b in pairwise(places)) <= rate * 7 // 1000 + 1


def test_time_that_runs_backward_or_long_moves_nothing_wild():
    robot = runtime(**{**BARE, "limiter": True})
    start = robot.drive(-1000, 1000, -500).steer
    assert start == runtime(**BARE).drive(1000, 1000, 0).steer
    assert abs(robot.drive(-1000, 1000, 10**9).steer[0] - start[0]) <= robot.programme.steer[0].per_second


@pytest.mark.parametrize(
    ("given", "taken"),
    [(400.5, 401), (-400.5, -401), (400.499, 400), (-0.4, 0), (1e30, 1000), (-inf, -1000), (True, 1)],
)
def test_an_input_with_a_fraction_is_rounded_halves_away_from_0(given, taken):
    assert runtime(**BARE).drive(given, 900, 20) == runtime(**BARE).drive(taken, 900, 20)
    mixing = {**BARE, "mixing": True}
    assert runtime(**mixing).stick(300, given, 20) == runtime(**mixing).stick(300, taken, 20)


def test_the_fraction_of_a_time_is_cut_off():
    robot, whole = (runtime(**{**BARE, "limiter": True}) for _ in range(2))
    for ms in (7.9, 0.99, 20.0, -3.5, inf):
        found, due = robot.drive(-1000, 1000, ms), whole.drive(-1000, 1000, int(min(ms, 1000)))
        assert found == due
        assert {type(number) for number in (*found.steer, *found.speed)} == {int}


def test_an_input_that_is_no_number_stops_the_drive_and_leaves_the_steering():
    robot = runtime(**{**BARE, "mixing": True})
    turning = robot.drive(200, 900, 20)
    for call in (robot.drive, robot.stick):
        for inputs in ((nan, 900), (200, nan), (nan, nan)):
            answer = call(*inputs, 20)
            assert answer.steer == turning.steer
            assert answer.speed == (0, 0)


def test_a_time_that_is_no_number_moves_nothing():
    robot = runtime(**{**BARE, "limiter": True})
    start = robot.drive(-1000, 1000, 0)
    assert robot.drive(-1000, 1000, nan) == start


def test_a_measured_place_that_is_no_number_holds_the_drive():
    robot = runtime(**{**BARE, "hold": True})
    there = list(settled(robot, 0, 1000).steer)
    assert not robot.drive(0, 1000, 20, there).holding
    for k in range(len(there)):
        places = [nan if i == k else place for i, place in enumerate(there)]
        answer = robot.drive(0, 1000, 20, places)
        assert (answer.holding, answer.speed) == (True, (0, 0))


def test_around_a_flip_the_robot_stops_turns_its_wheels_and_goes_on():
    robot = Runtime(programme_of(flipping()))
    jumps = [mark.turn for mark in robot.programme.chassis.marks if mark.kind == "changes end"]
    assert jumps == pytest.approx([-0.5, -0.5, 0.5, 0.5])
    before = settled(robot, 60, 1000)
    assert (before.holding, any(before.speed)) == (False, True)
    slow = -60
    answers = [robot.drive(slow, 1000, 50) for _ in range(100)]
    held = [answer.holding for answer in answers]
    assert held[0]
    assert not held[-1]
    assert held == sorted(held, reverse=True)
    assert all(answer.speed == (0, 0) for answer in answers if answer.holding)
    assert answers[-1].speed != (0, 0)
    # Half a turn at the motor's 180 degrees a second, less the angle at which it may go.
    assert sum(held) * 50 == pytest.approx(1000 * (160 - 10) / 180, abs=120)


def test_it_creeps_instead_where_that_is_chosen():
    still, creeping = (Runtime(programme_of(flipping(creep_permille=share))) for share in (0, 100))
    assert still.drive(-1000, 1000, 20).speed == (0, 0)
    slow = creeping.drive(-1000, 1000, 20).speed
    full = settled(creeping, -1000, 1000).speed
    assert [abs(speed) for speed in slow] == pytest.approx([abs(speed) / 10 for speed in full], abs=1)


def test_the_hold_works_without_the_limiter_too():
    robot = runtime(**{**BARE, "hold": True})
    first = robot.drive(-1000, 1000, 20)
    assert first.holding
    assert first.steer == runtime(**BARE).drive(-1000, 1000, 20).steer
    assert not settled(robot, -1000, 1000).holding


def test_beyond_the_largest_turn_the_sides_are_those_of_the_largest_turn():
    robot = runtime("reed_cart_four", **BARE)
    turn = robot.programme.design.largest_turn
    assert robot.drive(-1000, 1000, 20).speed == (round(1000 * (1 - 2 * turn)), 1000)
