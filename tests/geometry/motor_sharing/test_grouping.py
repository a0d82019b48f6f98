from __future__ import annotations

import numpy as np
import pytest

from geometry.kinematics.ideal import solve
from geometry.kinematics.motion import from_turn
from geometry.model.base_axle import base_of
from geometry.model.design import Design
from geometry.model.wheel import Wheel
from geometry.model.wheel_arrays import wheel_arrays
from geometry.motor_sharing.grouping import Grouping, grouping_of, judge, steering_of, taken_by
from geometry.turn_range.sweep import JUMPS, landmarks, turns_between
from tests.geometry.six_wheels import H, X, six

TURN = turns_between(-1.0, 1.0, 201)
NOBODY = np.zeros(6, dtype=bool)


def grouping(design: Design, *groups, turn: np.ndarray = TURN) -> Grouping:
    wheels, base = wheel_arrays(design), base_of(design)
    ideal = solve(wheels, from_turn(turn, base))
    alone = judge(wheels, NOBODY, ideal, [[]])
    taken = [taken_by(wheels, base, group, turn) for group in groups]
    headings = [([i for i, _ in motor.group], motor.heading) for motor in taken]
    found = judge(wheels, NOBODY, ideal, [headings])
    return grouping_of(taken, base, turn, found.drag[0], found.twist[0], alone)


def test_several_groupings_are_judged_as_each_by_itself() -> None:
    wheels, base = wheel_arrays(six()), base_of(six())
    motion = from_turn(TURN, base)
    ideal = solve(wheels, motion)
    headings = [
        [(list(g), steering_of(wheels, tuple((i, 1.0) for i in g), motion)[1])] for g in ((0, 1), (4, 5))
    ]
    both = judge(wheels, NOBODY, ideal, headings)
    for b, one in enumerate(headings):
        alone = judge(wheels, NOBODY, ideal, [one])
        np.testing.assert_array_equal(both.drag[b], alone.drag[0])
        np.testing.assert_array_equal(both.twist[b], alone.twist[0])
    assert both.drag.max(axis=(1, 2)) == pytest.approx([both.drag[0].max()] * 2)  # front and rear mirror


def test_a_chassis_with_a_motor_for_every_wheel_loses_nothing() -> None:
    found = grouping(six(travel=70.0), *(((i, 1.0),) for i in (0, 1, 4, 5)))
    assert found.exact
    assert found.lost == (0.0,) * 6
    assert found.worst > 1.0
    assert found.motors == 4


def test_the_worst_wheel_and_turn_are_those_of_the_largest_drag() -> None:
    found = grouping(six(), ((0, 1.0), (1, 1.0)), ((4, 1.0),), ((5, 1.0),))
    assert found.drag[found.worst_wheel] == found.worst == max(found.drag)
    assert found.mean < found.worst
    again = grouping(six(), ((0, 1.0), (1, 1.0)), ((4, 1.0),), ((5, 1.0),), turn=np.array([found.worst_turn]))
    assert again.worst == pytest.approx(found.worst, rel=1e-9)
    assert not found.exact
    assert found.lost == pytest.approx(found.drag, abs=1e-6)


def test_the_radius_error_is_nothing_where_all_agree_and_a_share_of_the_radius_else() -> None:
    exact = grouping(six(), ((0, 1.0), (4, -1.0)), ((1, 1.0), (5, -1.0)))
    assert exact.radius_error < 1e-9
    # One turn about (0, 3 h): the two front wheels share an angle, so the centre moves.
    turn = np.array([0.25])
    design = six()
    shared = ((0, 1.0), (1, 1.0)), ((4, 1.0), (5, 1.0))
    found = grouping(design, *shared, turn=turn)
    wheels, base = wheel_arrays(design), base_of(design)
    ideal = solve(wheels, from_turn(turn, base))
    headings = [([0, 1], steering_of(wheels, shared[0], ideal.motion)[1])]
    headings += [([4, 5], steering_of(wheels, shared[1], ideal.motion)[1])]
    vx, _, omega = judge(wheels, NOBODY, ideal, [headings]).twist[0, 0]
    assert found.radius_error == pytest.approx(abs(vx / omega - 3 * H) / (3 * H), rel=1e-9)
    assert found.radius_error > 1e-3


def test_a_chassis_that_goes_straight_has_no_radius_to_miss() -> None:
    assert grouping(six(), ((0, 1.0), (4, 1.0)), turn=np.array([0.0])).radius_error == 0.0


@pytest.mark.parametrize("travel", [80.0, 60.0, 110.0])
def test_flips_of_single_wheels_are_those_that_the_landmarks_tell(travel: float) -> None:
    design = six(travel)
    wheels, base = wheel_arrays(design), base_of(design)
    known = [mark for mark in landmarks(wheels, base) if mark.kind in JUMPS]
    found = grouping(design, *(((i, 1.0),) for i in (0, 1, 4, 5))).flips
    assert [(mark.wheel, mark.kind) for mark in found] == [(mark.wheel, mark.kind) for mark in known]
    assert {mark.kind for mark in found} == {"flip" if travel > 90.0 else "changes end"}
    for name, within in (("turn", 2e-6), ("before", 1e-4), ("after", 1e-4)):
        each = [[getattr(mark, name) for mark in marks] for marks in (found, known)]
        assert each[0] == pytest.approx(each[1], abs=within)
    assert len(found) == 4


def test_a_steep_change_is_no_flip() -> None:
    # The turn centre passes 0.5 mm from the kingpin: 180 degrees within a few thousandths of the turn input.
    near = Wheel(name="near", x_mm=0.5, y_mm=H, kind="steered")
    fixed = [Wheel(name=f"f{y}", x_mm=0.0, y_mm=y + 200.0) for y in (H - 200.0 + 1.0, -H - 200.0)]
    design = Design(wheels=(*fixed, near))
    wheels, base = wheel_arrays(design), base_of(design)
    motor = taken_by(wheels, base, ((2, 1.0),), TURN)
    assert np.abs(np.diff(motor.shaft)).max() > 1.0
    assert motor.flips == ()


def test_every_wheel_of_a_motor_that_jumps_is_told() -> None:
    design = six(travel=80.0)
    found = taken_by(wheel_arrays(design), base_of(design), ((0, 1.0), (4, -1.0)), TURN)
    assert [(mark.wheel, round(mark.turn, 5)) for mark in found.flips] == [(0, 0.5), (4, 0.5)]
    assert [mark.after for mark in found.flips] == pytest.approx(
        [-mark.before for mark in found.flips], abs=1e-5
    )
    assert found.flips[0].before > 0 > found.flips[1].before


def test_a_motor_leaves_its_wheels_their_travel() -> None:
    design = Design(
        wheels=(
            Wheel(name="a", x_mm=X, y_mm=H, kind="steered", travel_min_deg=-30.0, travel_max_deg=60.0),
            Wheel(name="b", x_mm=X, y_mm=-H, kind="steered", travel_min_deg=-20.0, travel_max_deg=50.0),
        ),
        base_axle_x_mm=0.0,
    )
    wheels = wheel_arrays(design)
    shaft, heading = steering_of(wheels, ((0, 1.0), (1, -0.5)), from_turn(TURN, base_of(design)))
    assert (heading >= wheels.low - 1e-9).all()
    assert (heading <= wheels.high + 1e-9).all()
    np.testing.assert_allclose(heading, shaft[:, None] * [1.0, -0.5])
    assert np.degrees(shaft.max()) <= 40.0 + 1e-9  # 20 degrees of the second wheel, at half the angle
