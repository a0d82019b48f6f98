"""How best to share few steer motors among the steered wheels.

Every way to part the wheels into groups is judged as built: the shaft angles at which each
motor's wheels drag least, then the motion that follows. Since a motor minds only the
wanted motion, what a group costs under that motion is found once for each group, with the
best few patterns of ratios (`geometry.ratios`), and ranks the ways to part. The best of
those are then judged whole, first on a few turns to choose among the patterns, then on many.

Groups grow as ``2^n`` and ways to part faster still (203 for 6 wheels, 4140 for 8, 115975
for 10), so more than MOST_STEERED wheels are refused.
"""

from __future__ import annotations

import heapq
import itertools
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

import numpy as np

from geometry.axes import Bools, Floats
from geometry.chassis import Base, WheelArrays
from geometry.errors import AdviceError, Cancelled
from geometry.grouping import EXACT, Group, Grouping, Taken, grouping_of, judge, taken_by
from geometry.motion import Motion, from_turn
from geometry.ratios import Way, squares, ways_to_share
from geometry.solve import solve
from geometry.sweep import turns_between

MOST_STEERED = 10
# Largest number of ways to part the wheels that are judged whole.
MOST_JUDGED = 300

# Turns at which patterns of ratios are chosen, and at which groupings are judged.
_FEW_TURNS, _TURNS = 33, 201
# Patterns of ratios tried whole for each way to part.
_PATTERNS = 12
# Ratios other than 1 and -1 must lower the drag at least to this share.
_HELPS = 0.99
# Rows judged at a time, so that memory stays small and cancelling is quick.
_ROWS = 16_000
# Travel that no wheel leaves [rad].
_ENDLESS = 2.0 * np.pi

Members = tuple[int, ...]
Progress = Callable[[float], bool]
_Ways = dict[Members, tuple[list[Way], list[Way]]]


@dataclass(frozen=True)
class FlipFacts:
    """Whether a flip can be avoided, and what does."""

    without: Grouping | None
    """The best grouping that has no flip within the range; None: every grouping has one."""
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


@dataclass
class _Case:
    """What stays the same through one question."""

    wheels: WheelArrays
    base: Base
    driven: Bools
    progress: Progress | None
    done: float = 0.0

    def tell(self, share: float) -> None:
        """Count a share of the work as done; stop where the person has cancelled."""
        self.done = min(self.done + share, 1.0)
        if self.progress is not None and not self.progress(self.done):
            raise Cancelled("the search for ways to share the steer motors was cancelled")


def advise(
    wheels: WheelArrays,
    base: Base,
    driven: Bools,
    motors: int,
    reach: float = 1.0,
    progress: Progress | None = None,
) -> tuple[Grouping, ...]:
    """Rank the ways to hang all steered wheels on at most so many motors.

    Each way to part the wheels comes with its best pattern of ratios 1 and -1, and once more
    with other simple ratios (`geometry.ratios.SIMPLE`) where those lower the drag by a
    hundredth or more. Motors are taken to leave the wheels their whole travel, and drive
    motors to give every driven wheel its own best speed.

    Parameters
    ----------
    wheels : WheelArrays
        N wheels.
    base : Base
        Base axle and reference points.
    driven : ndarray, (N,)
        Wheels that a motor drives.
    motors : int
        Number of steer motors at hand; more than one for each steered wheel serve nothing.
    reach : float
        Largest turn input that matters, above 0 and up to 1.
    progress : callable, optional
        Told the share that is done, from 0 to 1; returns False to cancel.

    Returns
    -------
    tuple of Grouping
        By rising worst drag, then mean drag; of equals the fewest motors first. Where there
        are more than MOST_JUDGED ways to part, the best by their drag under the wanted motion.

    Raises
    ------
    AdviceError
        If no wheel or more than MOST_STEERED wheels are steered, or there is no motor.
    CommandError
        If the reach is out of range.
    Cancelled
        If `progress` returned False; nothing is kept.
    """
    few, turn = (turns_between(-reach, reach, rows) for rows in (_FEW_TURNS, _TURNS))
    steered = _steered(wheels, motors)
    case = _Case(wheels, base, np.asarray(driven, dtype=bool), progress)
    motion = from_turn(few, base)
    ways = _ways(case, motion, steered, motors)
    parts = _best_parts(steered, min(motors, len(steered)), ways)
    chosen = _patterns(case, motion, parts, ways)
    groupings = [tuple(tuple(zip(w.wheels, w.ratios, strict=True)) for w in combo) for combo in chosen]
    return tuple(sorted(_judged(case, turn, groupings, steered), key=_order))


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


def _order(grouping: Grouping) -> tuple[float, float, int, int, tuple[Group, ...]]:
    # Rounded far below what matters, so that mirrored groupings count as equals.
    odd = sum(abs(ratio) != 1.0 for group in grouping.groups for _, ratio in group)
    return round(grouping.worst, 6), round(grouping.mean, 6), grouping.motors, odd, grouping.groups


def _ways(case: _Case, motion: Motion, steered: Members, motors: int) -> _Ways:
    """The best few patterns of ratios of every group that can occur."""
    sizes = [len(steered)] if motors == 1 else range(1, len(steered) + 1)
    groups = [group for size in sizes for group in itertools.combinations(steered, size)]
    tables = {
        first: squares(case.wheels, motion, first, [i for i in steered if i > first])
        for first in {group[0] for group in groups}
    }
    work = 0.8 / sum(len(group) for group in groups)
    found = {}
    for group in groups:
        found[group] = ways_to_share(tables[group[0]], group, _PATTERNS)
        case.tell(work * len(group))
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


def _best_parts(steered: Members, most: int, ways: _Ways) -> list[tuple[Members, ...]]:
    """The MOST_JUDGED ways to part that cost least under the wanted motion."""
    least = {
        group: min((round(way.worst, 3), way.total) for kind in kinds for way in kind[:1])
        for group, kinds in ways.items()
    }

    def estimate(parts: tuple[Members, ...]) -> tuple[float, float, int]:
        return max(least[g][0] for g in parts), sum(least[g][1] for g in parts), len(parts)

    return heapq.nsmallest(MOST_JUDGED, _partitions(steered, most), key=estimate)


def _patterns(
    case: _Case, motion: Motion, parts: list[tuple[Members, ...]], ways: _Ways
) -> list[tuple[Way, ...]]:
    """For each way to part the pattern that is best as built, and with fractions where they help."""
    ideal = solve(case.wheels, motion)
    size = max(_ROWS // len(motion), 1)
    combos = [(p, *kind) for p, groups in enumerate(parts) for kind in _combos(groups, ways)]
    best: dict[tuple[int, bool], tuple[float, float, tuple[Way, ...]]] = {}
    for start in range(0, len(combos), size):
        chunk = combos[start : start + size]
        headings = [[(list(way.wheels), way.heading) for way in combo] for _, _, combo in chunk]
        drag = judge(case.wheels, case.driven, ideal, headings).drag
        worst, mean = drag.max(axis=(1, 2)).tolist(), drag.mean(axis=(1, 2)).tolist()
        for (p, equal, combo), high, middle in zip(chunk, worst, mean, strict=True):
            old = best.get((p, equal))
            if old is None or (round(high, 3), middle) < (round(old[0], 3), old[1]):
                best[p, equal] = high, middle, combo
        case.tell(0.1 * len(chunk) / len(combos))
    return [combo for p in range(len(parts)) for combo in _kept(best[p, True], best.get((p, False)))]


def _kept(
    equal: tuple[float, float, tuple[Way, ...]], mixed: tuple[float, float, tuple[Way, ...]] | None
) -> Iterator[tuple[Way, ...]]:
    yield equal[2]
    if mixed is None or equal[0] <= EXACT:
        return
    if mixed[0] < _HELPS * equal[0] or (mixed[0] <= equal[0] and mixed[1] < _HELPS * equal[1]):
        yield mixed[2]


def _combos(groups: tuple[Members, ...], ways: _Ways) -> Iterator[tuple[bool, tuple[Way, ...]]]:
    """Patterns for one way to part; True: with ratios of one size alone."""
    for combo in _variations([ways[group][0] for group in groups]):
        yield True, combo
    both = [[*ways[group][0], *ways[group][1]] for group in groups]
    for combo in _variations([sorted(pool, key=lambda way: (way.worst, way.total)) for pool in both]):
        if not all(way.equal for way in combo):
            yield False, combo


def _variations(pools: list[list[Way]]) -> Iterator[tuple[Way, ...]]:
    """The best way of every group, and that with one group after the other in its next ways."""
    first = tuple(pool[0] for pool in pools)
    yield first
    several = sum(len(pool) > 1 for pool in pools)
    for g, pool in enumerate(pools):
        for way in pool[1 : 1 + _PATTERNS // max(several, 1)]:
            yield (*first[:g], way, *first[g + 1 :])


def _judged(
    case: _Case, turn: Floats, groupings: list[tuple[Group, ...]], steered: Members
) -> list[Grouping]:
    """Judge the chosen groupings on many turns, each beside one motor for every wheel."""
    ideal = solve(case.wheels, from_turn(turn, case.base))
    own: tuple[Group, ...] = tuple(((i, 1.0),) for i in steered)
    taken: dict[Group, Taken] = {}

    def rows(groups: tuple[Group, ...]) -> list[tuple[list[int], Floats]]:
        for group in groups:
            if group not in taken:
                taken[group] = taken_by(case.wheels, case.base, group, turn)
        return [([i for i, _ in group], taken[group].heading) for group in groups]

    alone = judge(case.wheels, case.driven, ideal, [rows(own)]).drag[0]
    found = []
    size = max(_ROWS // len(turn), 1)
    for start in range(0, len(groupings), size):
        chunk = groupings[start : start + size]
        judged = judge(case.wheels, case.driven, ideal, [rows(groups) for groups in chunk])
        found += [
            grouping_of([taken[g] for g in groups], case.base, turn, drag, twist, alone)
            for groups, drag, twist in zip(chunk, judged.drag, judged.twist, strict=True)
        ]
        case.tell(0.1 * len(chunk) / len(groupings))
    return found


def flip_facts(wheels: WheelArrays, base: Base, advice: tuple[Grouping, ...], reach: float) -> FlipFacts:
    """Say whether any grouping avoids the flip in the range, and what else does.

    Parameters
    ----------
    wheels : WheelArrays
        N wheels.
    base : Base
        Base axle and reference points.
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
