"""A script as steps: what is asked for at each, when a move ends, and which moves never would."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, inf

import numpy as np

from app.simulation.inputs import AT_REST, STEP_S, STEP_US, Input, input_of
from app.simulation.mechanics import Mechanics, Solved
from app.simulation.robot_code import Answer, RobotCode
from app.units import degrees, radians
from geometry.errors import DesignError, Problem
from geometry.model.driving import Move, Script, Until

MOST_SECONDS = 3_600
"""Longest run of a script [s]."""
# By then every limiter is through: the farthest target at the slowest rate, in calls of a second each.
_MOST_CALLS = 4_000
# A move ends this much before its amount, so that rounding costs no further step [mm or rad].
_ENOUGH = 1e-9


@dataclass(frozen=True)
class Planned:
    """A move in the run's own numbers."""

    asked: Input
    until: Until
    amount: float
    """Steps, mm, or rad."""


def planned(script: Script, mechanics: Mechanics) -> tuple[Planned, ...]:
    """The moves of a script as a run takes them; a time is rounded to whole steps, at least one."""
    return tuple(
        Planned(input_of(move, mechanics.robot.base), move.until, _amount(move)) for move in script.moves
    )


def _amount(move: Move) -> float:
    match move.until:
        case "time":
            return max(1, round(move.amount / STEP_S))
        case "heading":
            return radians(move.amount)
        case _:
            return move.amount


def rest_steps(mechanics: Mechanics) -> int:
    """Steps in which the robot comes to rest after the last move: a call of the code, then the ramp."""
    design = mechanics.programme.design
    call = ceil(1_000 * design.controller.period_ms / STEP_US)
    return call + ceil(design.driving.ramp_s / STEP_S) + 1


def refuse_endless(script: Script, place: str, code: RobotCode, mechanics: Mechanics) -> None:
    """Name what makes a script run without end, before it starts.

    Parameters
    ----------
    script : Script
        The script.
    place : str
        Its place in the design, such as ``driving.scripts[2]``.
    code : RobotCode
        What answers.
    mechanics : Mechanics
        What moves.

    Raises
    ------
    DesignError
        With a problem for each move that never ends or takes longer than a run may, and for a stick
        where the code does not mix.
    """
    moves = planned(script, mechanics)
    broken = [
        Problem(
            f"{place}.moves[{i}].by",
            "must not be stick while the controller's code is without mixing; use speeds, or put mixing in",
        )
        for i, move in enumerate(moves)
        if move.asked.call == "stick" and not code.mixes
    ]
    if broken:
        raise DesignError(broken)
    total = 0.0
    for i, (move, seconds) in enumerate(zip(moves, _seconds(moves, code, mechanics), strict=True)):
        total += seconds
        if seconds > MOST_SECONDS:
            broken.append(_endless(f"{place}.moves[{i}]", move, seconds))
    if not broken and total > MOST_SECONDS:
        rule = f"must take at most {MOST_SECONDS} s in all"
        broken.append(Problem(place, rule, f"about {total:.0f} s"))
    if broken:
        raise DesignError(broken)


def _endless(place: str, move: Planned, seconds: float) -> Problem:
    if move.until == "time":
        return Problem(f"{place}.amount", f"must be at most {MOST_SECONDS} s", f"{seconds:g}")
    what = "does not get on" if move.until == "distance" else "does not turn"
    shown = f"{move.amount:g} mm" if move.until == "distance" else f"{degrees(move.amount):g} degrees"
    if np.isinf(seconds):
        rule = f"would never end: with what the move asks for, the robot {what}; give it another end or speed"
    else:
        rule = (
            f"would take {seconds:.0f} s, more than the {MOST_SECONDS} of a run; ask for less, or go faster"
        )
    return Problem(f"{place}.until", rule, f"{move.until}, {shown}")


def _seconds(moves: tuple[Planned, ...], code: RobotCode, mechanics: Mechanics) -> list[float]:
    """How long each move takes once the robot is at speed [s]; ``inf`` where it never ends."""
    if not moves:
        return []
    answers = [_settled(move.asked, code) for move in moves]
    twist = mechanics.steady_twist(answers)
    # What rounding leaves of a standstill is no motion.
    least = 1e-6 * mechanics.full_speed
    way = mechanics.way_speed(twist)
    turning = np.abs(twist[:, 2])
    found = []
    for i, move in enumerate(moves):
        if move.until == "time":
            found.append(move.amount * STEP_S)
            continue
        by_way = move.until == "distance"
        rate = float(way[i]) if by_way else float(turning[i])
        floor = least if by_way else least / mechanics.robot.base.half_track
        found.append(move.amount / rate if rate > floor else inf)
    return found


def _settled(asked: Input, code: RobotCode) -> Answer:
    """What the code answers in the end, where nothing else is asked of it."""
    controller = code.started()
    answer = code.call(controller, asked, 1_000)
    for _ in range(_MOST_CALLS):
        before, answer = answer, code.call(controller, asked, 1_000)
        if not answer.holding and answer.steer == before.steer:
            break
    return answer


class Plan:
    """Where a script is: it fills steps, and is told what they came to.

    Parameters
    ----------
    moves : tuple of Planned
        The moves.
    rest : int
        Steps at rest after the last one.
    """

    def __init__(self, moves: tuple[Planned, ...], rest: int) -> None:
        self._moves = moves
        self._rest = rest if moves else 0
        self._move = 0
        self._done = 0
        # Way or heading at which an open move began; None before that is solved.
        self._start: float | None = None
        self._row = 0

    @property
    def share(self) -> float:
        """Share of the moves that are through, 0 to 1."""
        return self._move / max(len(self._moves), 1)

    @property
    def through(self) -> bool:
        """Whether the robot is at rest after the last move."""
        return self._move >= len(self._moves) and self._rest == 0

    def fill(self, row: int, room: int) -> list[tuple[Input, int]]:
        """What is asked for at the next steps, with the number of the move (-1 after the last).

        Parameters
        ----------
        row : int
            Place of the first of them in the block.
        room : int
            How many may come; an open move takes all of them for now.
        """
        found: list[tuple[Input, int]] = []
        while len(found) < room and self._move < len(self._moves):
            move = self._moves[self._move]
            left = room - len(found)
            if move.until != "time":
                if self._start is None:
                    self._row = row + len(found)
                return found + [(move.asked, self._move)] * left
            took = min(left, int(move.amount) - self._done)
            found += [(move.asked, self._move)] * took
            self._done += took
            if self._done == move.amount:
                self._next()
        took = min(room - len(found), self._rest)
        self._rest -= took
        return found + [(AT_REST, -1)] * took

    def ended(self, solved: Solved, rows: int) -> int | None:
        """Row of the block after which the open move ends, which is over then; None where none does.

        Parameters
        ----------
        solved : Solved
            What the block comes to.
        rows : int
            How many rows of it count.
        """
        if self._move >= len(self._moves) or self._moves[self._move].until == "time":
            return None
        move = self._moves[self._move]
        value = solved.distance if move.until == "distance" else solved.pose[:, 2]
        if self._start is None:
            self._start = float(value[self._row])
        gone = np.abs(value[self._row + 1 : rows + 1] - self._start)
        there = np.flatnonzero(gone >= move.amount - _ENOUGH)
        if not there.size:
            # It goes on from the first row of the next block.
            self._row = 0
            return None
        row = self._row + int(there[0])
        self._next()
        self._row = row + 1
        return row

    def _next(self) -> None:
        self._move += 1
        self._done = 0
        self._start = None
