"""Ways to part the steered wheels into groups, each with the ratios that suit it best as built.

Since a motor minds only the wanted motion, what a group costs under that motion is found
once for each group and pattern of ratios, on a few turns. It ranks the ways to part. The
patterns of the best are then judged whole, with the motion that follows: on a few turns
first, and those that come out best once more on many.
"""

from __future__ import annotations

import heapq
import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from geometry.axes import Floats
from geometry.errors import Cancelled
from geometry.kinematics.ideal import solve
from geometry.kinematics.motion import Motion, from_turn
from geometry.kinematics.off_course import goes_off_course
from geometry.kinematics.robot import Robot
from geometry.motor_sharing.grouping import EXACT, Group, judge, steering_of
from geometry.motor_sharing.ratios import Way, squares, ways_to_share
from geometry.progress import Progress
from geometry.turn_range.sweep import turns_between

# Largest number of ways to part the wheels that are judged whole.
MOST_JUDGED = 300

# Turns over the range on which patterns are found.
_FEW_TURNS = 25
# Patterns tried whole on few turns: in all, but at least so many for each way to part; then for the best.
_FIRST, _EACH, _SECOND = 3_000, 12, 8_000
# Patterns of each kind tried on many turns: in all, and at least for each of the best.
_LAST, _LAST_EACH = 96, 4
# How many are the best.
_BEST = 24
# Effort for each group, in all, at least and at most: patterns kept, and patterns followed.
_KEPT, _FOLLOWED = (8_000, 24, 8_000), (1_500, 16, 300)
# Ratios other than 1 and -1 must lower the drag at least to this share.
_HELPS = 0.99
# Rows judged at a time, so that memory stays small and cancelling is quick.
_ROWS = 16_000

Members = tuple[int, ...]
Ways = dict[Members, tuple[list[Way], list[Way]]]
# One way for each group; the same with whether it goes astray, worst and mean drag; the best few
# with ratios of one size, and with others.
_Combo = tuple[Way, ...]
_Scored = tuple[bool, float, float, _Combo]
_Best = dict[bool, list[_Scored]]


@dataclass
class Question:
    """What stays the same through one question about sharing."""

    robot: Robot
    """Only its wheels, its base axle and which wheels are driven count."""
    progress: Progress | None
    done: float = 0.0

    def tell(self, share: float) -> None:
        """Count a share of the work as done; stop where the person has cancelled."""
        self.done = min(self.done + share, 1.0)
        if self.progress is not None and not self.progress(self.done):
            raise Cancelled("the search for ways to share the steer motors was cancelled")


def best_groupings(
    question: Question, turn: Floats, steered: Members, motors: int
) -> list[tuple[Group, ...]]:
    """Find the ways to part that are worth telling, in no order.

    Parameters
    ----------
    question : Question
        The chassis, and whom to tell of the progress.
    turn : ndarray, (M,)
        Turn inputs over the range, rising.
    steered : tuple of int
        Indices of the steered wheels.
    motors : int
        Largest number of groups.

    Returns
    -------
    list of tuples of Group
        Every way to part, or the MOST_JUDGED best of them, with the best ratios 1 and -1, and
        once more with other simple ratios where those help.

    Raises
    ------
    Cancelled
        If the progress function returned False.
    """
    few = from_turn(turns_between(float(turn[0]), float(turn[-1]), _FEW_TURNS), question.robot.base)
    ways = _ways(question, few, steered, motors)
    parts = _best_parts(steered, motors, ways)
    best = _patterns(question, turn, few, parts, ways)
    return [tuple(way.group for way in combo) for kinds in best for combo in _worth_telling(kinds)]


def _ways(question: Question, motion: Motion, steered: Members, motors: int) -> Ways:
    """The best few patterns of ratios of every group that can occur."""
    sizes = [len(steered)] if motors == 1 else range(1, len(steered) + 1)
    groups = [group for size in sizes for group in itertools.combinations(steered, size)]
    tables = {
        first: squares(question.robot.wheels, motion, first, [i for i in steered if i > first])
        for first in {group[0] for group in groups}
    }
    most, beam = (min(max(all_of // len(groups), low), high) for all_of, low, high in (_KEPT, _FOLLOWED))
    work = 0.66 / sum(len(group) for group in groups)
    found = {}
    for group in groups:
        found[group] = ways_to_share(tables[group[0]], group, most, beam)
        question.tell(work * len(group))
    return found


def _partitions(rest: Members, most: int) -> Iterator[tuple[Members, ...]]:
    """All ways to part wheels into at most so many groups, each group by its first wheel."""
    if not rest:
        yield ()
    elif most == 1:
        yield (rest,)
    else:
        for size in range(len(rest)):
            for others in itertools.combinations(rest[1:], size):
                left = tuple(i for i in rest[1:] if i not in others)
                for tail in _partitions(left, most - 1):
                    yield ((rest[0], *others), *tail)


def _best_parts(steered: Members, most: int, ways: Ways) -> list[tuple[Members, ...]]:
    """The MOST_JUDGED ways to part that cost least under the wanted motion."""
    least = {
        group: min((round(way.worst, 3), way.total) for kind in kinds for way in kind[:1])
        for group, kinds in ways.items()
    }

    def estimate(parts: tuple[Members, ...]) -> tuple[float, float, int]:
        return max(least[g][0] for g in parts), sum(least[g][1] for g in parts), len(parts)

    return heapq.nsmallest(MOST_JUDGED, _partitions(steered, most), key=estimate)


def _patterns(
    question: Question, turn: Floats, few: Motion, parts: list[tuple[Members, ...]], ways: Ways
) -> list[_Best]:
    """For each way to part the patterns that are best as built; those of the best seen on many turns."""
    each, kept = max(_FIRST // len(parts), _EACH), max(_LAST // len(parts), _LAST_EACH)
    best = _tried(question, few, [list(_combos(groups, ways, each)) for groups in parts], kept)
    ranked = sorted(range(len(parts)), key=lambda p: min(_rank(few[0]) for few in best[p].values()))
    ranked = ranked[:_BEST]
    again = [list(_combos(parts[p], ways, _SECOND // len(ranked))) for p in ranked]
    for p, found in zip(ranked, _tried(question, few, again, kept), strict=True):
        best[p] = found
    many = from_turn(turn, question.robot.base)
    seen: dict[Group, Way] = {}

    def closer(way: Way) -> Way:
        group = way.group
        if group not in seen:
            seen[group] = replace(way, heading=steering_of(question.robot.wheels, group, many)[1])
        return seen[group]

    last = [[tuple(map(closer, c)) for kind in best[p].values() for *_, c in kind] for p in ranked]
    for p, found in zip(ranked, _tried(question, many, last, 1), strict=True):
        best[p] = found
    return best


def _tried(question: Question, motion: Motion, combos: Sequence[Sequence[_Combo]], kept: int) -> list[_Best]:
    """Judge patterns as built; for each way to part the best few with ratios of one size, and others."""
    ideal = solve(question.robot.wheels, motion)
    size = max(_ROWS // len(motion), 1)
    queue = [(p, combo) for p, some in enumerate(combos) for combo in some]
    best: list[_Best] = [{} for _ in combos]
    for start in range(0, len(queue), size):
        chunk = queue[start : start + size]
        headings = [[(list(way.wheels), way.heading) for way in combo] for _, combo in chunk]
        found = judge(question.robot.wheels, question.robot.motors.driven, ideal, headings)
        drag, astray = found.drag, goes_off_course(motion.twist, found.twist)
        worst, mean = drag.max(axis=(1, 2)).tolist(), drag.mean(axis=(1, 2)).tolist()
        for (p, combo), *scores in zip(chunk, astray.tolist(), worst, mean, strict=True):
            best[p].setdefault(all(way.equal for way in combo), []).append((*scores, combo))
        question.tell(0.08 * len(chunk) / len(queue))
    return [{kind: sorted(some, key=_rank)[:kept] for kind, some in kinds.items()} for kinds in best]


def _rank(scored: _Scored) -> tuple[bool, float, float]:
    return scored[0], round(scored[1], 3), scored[2]


def _worth_telling(best: _Best) -> Iterator[_Combo]:
    """The best with ratios of one size, and the best with others where they help."""
    astray, worst, mean, equal = best[True][0]
    yield equal
    if False in best and (astray or worst > EXACT):
        mixed_astray, high, middle, mixed = best[False][0]
        helps = high < _HELPS * worst or (high <= worst and middle < _HELPS * mean)
        if mixed_astray < astray or (mixed_astray == astray and helps):
            yield mixed


def _combos(groups: tuple[Members, ...], ways: Ways, most: int) -> Iterator[_Combo]:
    """Patterns for one way to part, the best ways of each group with those of the others."""
    equal = [ways[group][0] for group in groups]
    yield from itertools.product(*_cut(equal, most))
    both = [sorted([*ways[g][0], *ways[g][1]], key=lambda way: (way.worst, way.total)) for g in groups]
    for combo in itertools.product(*_cut(both, most)):
        if not all(way.equal for way in combo):
            yield combo


def _cut(pools: list[list[Way]], most: int) -> list[list[Way]]:
    """Shorten the longest list until there are at most so many combinations."""
    lengths = [len(pool) for pool in pools]
    while math.prod(lengths) > most:
        lengths[lengths.index(max(lengths))] -= 1
    return [pool[:length] for pool, length in zip(pools, lengths, strict=True)]
