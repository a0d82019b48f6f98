"""How best to share few steer motors among the steered wheels.

Every way to part the wheels into groups (`geometry.motor_sharing.partitions`) with simple ratios
(`geometry.motor_sharing.ratios`) is judged as built: the shaft angles at which each motor's wheels drag
least, then the motion that follows.

Groups grow as ``2^n`` and ways to part faster still (203 for 6 wheels, 4140 for 8, 115975
for 10), so more than MOST_STEERED wheels are refused.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from geometry.axes import Floats
from geometry.errors import AdviceError
from geometry.kinematics.ideal import solve
from geometry.kinematics.motion import from_turn
from geometry.kinematics.robot import Robot
from geometry.model.wheel_arrays import WheelArrays
from geometry.motor_sharing.grouping import Group, Grouping, Taken, grouping_of, judge, taken_by
from geometry.motor_sharing.partitions import Members, Question, best_groupings
from geometry.progress import Progress
from geometry.turn_range.sweep import turns_between

MOST_STEERED = 10

# Turns over the range at which groupings are judged.
_TURNS = 201
# Rows judged at a time, so that memory stays small and cancelling is quick.
_ROWS = 16_000
# Travel that no wheel leaves [rad].
_ENDLESS = 2.0 * np.pi


@dataclass(frozen=True)
class FlipFacts:
    """Whether one of the groupings advised avoids every jump of a steer angle, and what else does.

    A flip here is any of `sweep.JUMPS`. Groupings that were not advised, or have other ratios,
    may do better.
    """

    without: Grouping | None
    """The best of them that has no flip within the range; None: each of them has one."""
    best: Grouping
    """The best grouping of all, to which the next two refer. It also serves where the chassis
    stands still at each of its `flips`, while the wheels turn."""
    travel: tuple[tuple[int, float, float], ...]
    """For each steered wheel its index and the travel from where to where it needs there, to
    go through the range without a flip [rad]."""
    travel_helps: bool
    """False where steer angles jump there whatever the travel, because the wheels of a motor
    want too different angles."""
    largest_turn: float
    """How far from straight ahead `widest` can turn, either way, without a flip."""
    widest: Grouping
    """The grouping that gets furthest without a flip, the best of equals."""


def advise(
    robot: Robot, motors: int, reach: float = 1.0, progress: Progress | None = None
) -> tuple[Grouping, ...]:
    """Rank the ways to hang all steered wheels on at most so many motors.

    Each way to part the wheels comes with its best ratios 1 and -1, and with other simple ones
    (`ratios.SIMPLE`) where those lower the drag by a hundredth or more. Steer motors leave the
    wheels their travel, drive motors give each its own best speed.

    Parameters
    ----------
    robot : Robot
        Only its wheels, its base axle and which wheels are driven count: motors that it has do not.
    motors : int
        Number of steer motors at hand; more than one for each steered wheel serve nothing.
    reach : float
        Largest turn input that matters, above 0 and up to 1.
    progress : callable, optional
        Told the share that is done, from 0 to 1; returns False to cancel.

    Returns
    -------
    tuple of Grouping
        By rising worst drag, then mean drag; of equals the fewest motors first; those that go
        `off_course` last. Of more than 300 ways to part, the best under the wanted motion.

    Raises
    ------
    AdviceError
        If no wheel or more than MOST_STEERED wheels are steered, or there is no motor.
    CommandError
        If the reach is out of range.
    Cancelled
        If `progress` returned False; nothing is kept.

    Examples
    --------
    Two wheels in line about the base axle share a motor exactly; a second motor wins nothing:

    >>> from geometry.model.design import Design
    >>> from geometry.model.wheel import Wheel
    >>> from geometry.kinematics.robot import robot_of
    >>> line = [Wheel(name=f"at {x}", x_mm=x, y_mm=0.0, kind="steered") for x in (100.0, -100.0)]
    >>> design = Design(wheels=tuple(line), base_axle_x_mm=0.0)
    >>> found = advise(robot_of(design), motors=2)
    >>> [(grouping.groups, grouping.exact) for grouping in found]
    [((((0, 1.0), (1, -1.0)),), True), ((((0, 1.0),), ((1, 1.0),)), True)]
    """
    turn = turns_between(-reach, reach, _TURNS)
    steered = _steered(robot.wheels, motors)
    question = Question(robot, progress)
    groupings = best_groupings(question, turn, steered, min(motors, len(steered)))
    return tuple(sorted(_judged(question, turn, groupings, steered), key=_order))


def _steered(wheels: WheelArrays, motors: int) -> Members:
    steered = tuple(int(i) for i in np.flatnonzero(wheels.steered))
    if motors < 1:
        raise AdviceError(f"the number of steer motors must be at least 1 (got {motors})")
    if not steered:
        raise AdviceError("no wheel is steered, so there is nothing to share; make a wheel steered first")
    if len(steered) > MOST_STEERED:
        raise AdviceError(
            f"advice on sharing motors covers at most {MOST_STEERED} steered wheels (got {len(steered)}); "
            "make some of them fixed for the while"
        )
    return steered


def _order(grouping: Grouping) -> tuple[bool, float, float, int, int, tuple[Group, ...]]:
    # Rounded far below what matters, so that mirrored groupings count as equals.
    odd = sum(abs(ratio) != 1.0 for group in grouping.groups for _, ratio in group)
    return (
        grouping.off_course,
        round(grouping.worst, 6),
        round(grouping.mean, 6),
        grouping.motors,
        odd,
        grouping.groups,
    )


def _judged(
    question: Question, turn: Floats, groupings: list[tuple[Group, ...]], steered: Members
) -> list[Grouping]:
    """Judge the chosen groupings on many turns, each beside one motor for every wheel."""
    wheels, base, driven = question.robot.wheels, question.robot.base, question.robot.motors.driven
    ideal = solve(wheels, from_turn(turn, base))
    own: tuple[Group, ...] = tuple(((i, 1.0),) for i in steered)
    taken: dict[Group, Taken] = {}

    def rows(groups: tuple[Group, ...]) -> list[tuple[list[int], Floats]]:
        for group in groups:
            if group not in taken:
                taken[group] = taken_by(wheels, base, group, turn)
        return [([i for i, _ in group], taken[group].heading) for group in groups]

    alone = judge(wheels, driven, ideal, [rows(own)])
    found = []
    size = max(_ROWS // len(turn), 1)
    for start in range(0, len(groupings), size):
        chunk = groupings[start : start + size]
        judged = judge(
            question.robot.wheels, question.robot.motors.driven, ideal, [rows(groups) for groups in chunk]
        )
        found += [
            grouping_of([taken[g] for g in groups], base, turn, drag, twist, alone)
            for groups, drag, twist in zip(chunk, judged.drag, judged.twist, strict=True)
        ]
        question.tell(0.1 * len(chunk) / len(groupings))
    return found


def flip_facts(robot: Robot, advice: tuple[Grouping, ...], reach: float) -> FlipFacts:
    """Say whether any grouping advised avoids the flips in the range, and what else does.

    Parameters
    ----------
    robot : Robot
        That it was asked for.
    advice : tuple of Grouping
        What `advise` returned, not empty.
    reach : float
        The range that it was asked for.

    Returns
    -------
    FlipFacts
        See there.

    Raises
    ------
    CommandError
        If the reach is out of range.
    """
    turn, best = turns_between(-reach, reach, _TURNS), advice[0]
    wheels, base = robot.wheels, robot.base
    endless = np.full(len(wheels), _ENDLESS)
    free = replace(wheels, low=-endless, high=endless)
    motors = [taken_by(free, base, group, turn) for group in best.groups]
    travel = []
    for motor in motors:
        for wheel, ratio in motor.group:
            steer = ratio * motor.shaft
            travel.append((wheel, float(steer.min()), float(steer.max())))

    def free_up_to(grouping: Grouping) -> float:
        return min((abs(mark.turn) for mark in grouping.flips), default=reach)

    widest = max(advice, key=free_up_to)  # the first of equals
    return FlipFacts(
        without=next((grouping for grouping in advice if not grouping.flips), None),
        best=best,
        travel=tuple(sorted(travel)),
        travel_helps=not any(motor.flips for motor in motors),
        largest_turn=free_up_to(widest),
        widest=widest,
    )
