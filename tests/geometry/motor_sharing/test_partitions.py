from __future__ import annotations

import pytest

from geometry.errors import Cancelled
from geometry.kinematics.robot import robot_of
from geometry.model.design import Design
from geometry.model.wheel import Wheel
from geometry.motor_sharing.grouping import Group
from geometry.motor_sharing.partitions import MOST_JUDGED, Question, best_groupings
from geometry.turn_range.sweep import turns_between
from tests.geometry.six_wheels import six

TURN = turns_between(-0.6, 0.6, 51)


def question_of(design: Design, progress=None) -> Question:
    return Question(robot_of(design), progress)


def steered(count: int) -> Design:
    """Two rows of steered wheels."""
    return Design(
        wheels=tuple(
            Wheel(name=f"w{i}", x_mm=90.0 * (i // 2) - 150.0, y_mm=(110.0, -110.0)[i % 2], kind="steered")
            for i in range(count)
        ),
        base_axle_x_mm=0.0,
    )


def parts(groupings: list[tuple[Group, ...]]) -> set[frozenset[frozenset[int]]]:
    return {frozenset(frozenset(i for i, _ in group) for group in groups) for groups in groupings}


@pytest.mark.parametrize(
    ("count", "motors", "ways"), [(1, 1, 1), (2, 2, 2), (3, 2, 4), (5, 2, 16), (5, 5, 52)]
)
def test_all_ways_to_part_are_found(count: int, motors: int, ways: int) -> None:
    # Sums of Stirling numbers of the second kind; with as many motors as wheels, Bell numbers.
    found = best_groupings(question_of(steered(count)), TURN, tuple(range(count)), motors)
    assert len(parts(found)) == ways
    assert all(len(groups) <= motors for groups in found)


@pytest.mark.slow
def test_of_too_many_ways_the_best_are_kept_the_exact_one_among_them() -> None:
    # 877 ways to part 7 wheels. Rows at 120 and -120 mm from the base axle turn opposite.
    places = [(120.0, 100.0), (120.0, -100.0), (-120.0, 100.0), (-120.0, -100.0), (60.0, 70.0), (60.0, -70.0)]
    wheels = [Wheel(name=f"w{i}", x_mm=x, y_mm=y, kind="steered") for i, (x, y) in enumerate(places)]
    wheels.append(Wheel(name="w6", x_mm=-60.0, y_mm=70.0, kind="steered"))
    design = Design(wheels=tuple(wheels), base_axle_x_mm=0.0)
    found = best_groupings(question_of(design), TURN, tuple(range(7)), 7)
    assert len(parts(found)) == MOST_JUDGED
    exact = (((0, 1.0), (2, -1.0)), ((1, 1.0), (3, -1.0)), ((4, 1.0), (6, -1.0)), ((5, 1.0),))
    assert exact in found


def test_an_exact_way_is_told_with_equal_ratios_alone() -> None:
    found = best_groupings(question_of(six()), TURN, (0, 1, 4, 5), 2)
    sides = [
        groups for groups in found if parts([groups]) == {frozenset({frozenset({0, 4}), frozenset({1, 5})})}
    ]
    assert sides == [(((0, 1.0), (4, -1.0)), ((1, 1.0), (5, -1.0)))]


def test_a_share_that_the_person_stops_at_ends_the_search() -> None:
    question = question_of(six(), progress=lambda share: share < 0.3)
    with pytest.raises(Cancelled):
        best_groupings(question, TURN, (0, 1, 4, 5), 2)
    assert 0.3 <= question.done < 0.5
