"""A robot judged over its whole range of turns: what is worst, where, and where it first drags.

The turns that are looked at are evenly spaced ones, every landmark, and every turn that decides
how a wheel is judged (`critical_turns`). With motors the last are not all known: it is looked
closer where much changes from one turn to the next (`refinement`).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from geometry.axes import Floats, frozen_array
from geometry.kinematics.alignment import FAULTY, STATES, State
from geometry.kinematics.ideal import FLIPPED
from geometry.kinematics.motion import from_turn, radius_of_turn
from geometry.kinematics.off_course import off_course
from geometry.kinematics.robot import Response, Robot
from geometry.turn_range.critical_turns import critical_turns
from geometry.turn_range.refinement import refined_turns
from geometry.turn_range.shared_landmarks import COARSE, FINE, landmarks_with_motors
from geometry.turn_range.sweep import Landmark, landmarks, turns_between

DENSE_ROWS = 2001
# Axles that differ by less point the same way: at most 1e-6 mm/m of drag [rad].
_EXACT = 1e-9
# Sides that differ by less than two of this run straight [faster side = 1].
_STRAIGHT = 1e-3


@dataclass(frozen=True)
class WheelAtTurn:
    """One wheel at one turn; rad, mm and mm/m."""

    wheel: int
    turn: float
    radius: float
    """Turn radius that is asked of the chassis, ``inf`` straight ahead [mm]."""
    state: State
    slip: float
    miss: float
    drag: float


@dataclass(frozen=True)
class CentreError:
    """How a chassis turns, beside how it is asked to; signed turn radii and a distance, in mm."""

    asked: float
    """Turn radius that is asked for; ``inf`` straight ahead."""
    true: float
    """That which results; ``inf`` where it runs straight."""
    gap: float
    """From the one turn centre to the other; ``inf`` where one of them has none."""


@dataclass(frozen=True, eq=False)
class AtTurns:
    """What a robot does at M turn inputs, driving forward unless said."""

    turns: Floats
    """(M,): turn inputs."""
    response: Response

    @property
    def robot(self) -> Robot:
        """The robot."""
        return self.response.robot

    @cached_property
    def radius(self) -> Floats:
        """(M,): signed turn radius that is asked for [mm]; ``inf`` straight ahead."""
        return radius_of_turn(self.turns, self.robot.base)

    @cached_property
    def true_radius(self) -> Floats:
        """(M,): signed turn radius of the motion that results [mm]; ``inf`` straight ahead."""
        return np.asarray(self.response.centre[:, 1]) if self.robot.motors else self.radius

    def centre_error(self, row: int) -> CentreError:
        """How the chassis turns at one of the turns, beside how it is asked to."""
        gap = float(self.response.centre_gap[row]) if self.robot.motors else 0.0
        return CentreError(float(self.radius[row]), float(self.true_radius[row]), gap)

    def wheel_at(self, row: int, wheel: int) -> WheelAtTurn:
        """One of the wheels at one of the turns."""
        found = self.response.alignment
        return WheelAtTurn(
            wheel=wheel,
            turn=float(self.turns[row]),
            radius=float(self.radius[row]),
            state=STATES[self.response.states[row, wheel]],
            slip=float(found.slip[row, wheel]),
            miss=float(found.miss[row, wheel]),
            drag=float(found.drag[row, wheel]),
        )

    def flags(self, row: int, wheel: int) -> tuple[str, ...]:
        """What is special about a wheel at a turn: flipped, travel_end, no_angle, swings, pivots."""
        solution, swings = self.response.solution, self.response.alignment.swings[row, wheel]
        marks = {
            "flipped": solution.branch[row, wheel] == FLIPPED,
            "travel_end": solution.limited[row, wheel],
            "no_angle": solution.unreachable[row, wheel] and not swings,
            "swings": swings,
            "pivots": STATES[self.response.states[row, wheel]] == "pivots",
        }
        return tuple(name for name, holds in marks.items() if holds)


def at_turns(robot: Robot, turns: npt.ArrayLike) -> AtTurns:
    """Ask a robot for any turns.

    Parameters
    ----------
    robot : Robot
        N wheels.
    turns : array_like, (M,)
        Turn inputs.

    Raises
    ------
    CommandError
        If a turn input is not a number or out of range.
    """
    s = np.array(turns, dtype=np.float64, ndmin=1)
    return AtTurns(frozen_array(s), robot.at(from_turn(s, robot.base)))


class RangeCheck:
    """A robot judged at many turns over its whole range; each answer is worked out when first asked.

    Parameters
    ----------
    robot : Robot
        N wheels.
    largest_turn : float
        Half of the range, above 0 and up to 1.
    rows : int, optional
        How many evenly spaced turns are looked at.
    also : tuple of float, optional
        Turn inputs to look at besides; those beyond the range are left out.
    """

    def __init__(
        self, robot: Robot, largest_turn: float, rows: int = DENSE_ROWS, also: tuple[float, ...] = ()
    ) -> None:
        self.robot = robot
        self.largest_turn = largest_turn
        self.rows = rows
        self.also = tuple(turn for turn in also if abs(turn) <= largest_turn)

    @cached_property
    def landmarks(self) -> tuple[Landmark, ...]:
        """Turns at which something happens, in rising order."""
        if not self.robot.motors.steer:
            return landmarks(self.robot.wheels, self.robot.base, self.largest_turn)
        rows, within = FINE if self.rows >= DENSE_ROWS else COARSE
        return landmarks_with_motors(self.robot, self.largest_turn, rows=rows, within=within)

    @cached_property
    def dense(self) -> AtTurns:
        """The whole range, with every landmark and every turn that decides a judgement in it."""
        reach = self.largest_turn
        even = turns_between(-reach, reach, self.rows)
        decisive = critical_turns(self.robot, reach)
        # A set and not numpy's unique, whose first use loads all of its masked arrays.
        turns = {*even.tolist(), *(mark.turn for mark in self.landmarks), *decisive.tolist(), *self.also}
        first = at_turns(self.robot, sorted(turns))
        if not self.robot.motors or self.rows < DENSE_ROWS:
            return first
        closer = refined_turns(self.robot, first.turns, first.response)
        return at_turns(self.robot, sorted({*turns, *closer.tolist()})) if closer.size else first

    @cached_property
    def _faults(self) -> npt.NDArray[np.bool_]:
        """(M, N): where a wheel of `dense` drags."""
        return np.asarray(self.dense.response.states >= FAULTY)

    @cached_property
    def aligned(self) -> bool:
        """Whether every axle points at the turn centre at every turn checked."""
        return not bool(self._faults.any())

    @cached_property
    def off_course(self) -> int | None:
        """Row of `dense` at which the chassis does not turn as it is asked to; None where it does.

        Straight ahead where it does not run straight, or with less than half of the speed; else the
        gentlest turn at which its rate of turn is off by half of the largest or more. Its
        axles may yet all point at the centre about which it truly turns.
        """
        if not self.robot.motors:
            return None
        asked, true = self.dense.response.wanted.twist, self.dense.response.motion.twist
        off = np.abs(true[:, 2] - asked[:, 2])
        ahead = int(np.abs(self.dense.turns).argmin())
        slow = true[ahead, 0] < 0.5 * asked[ahead, 0]
        if slow or off[ahead] * self.robot.base.half_track > _STRAIGHT:
            return ahead
        rows = np.flatnonzero(off_course(asked, true))
        return int(rows[np.abs(self.dense.turns[rows]).argmin()]) if rows.size else None

    @cached_property
    def exact(self) -> bool:
        """Whether the motors turn every steered wheel to an ideal angle at every turn checked."""
        steered = self.robot.wheels.steered
        if not self.robot.motors.steer:
            return False
        response = self.dense.response
        off = response.solution.heading[:, steered] - response.ideal.heading[:, steered]
        return bool(np.abs(np.sin(off)).max() < _EXACT)

    @cached_property
    def faulty(self) -> tuple[int, ...]:
        """Wheels that do not point at the turn centre somewhere in the range."""
        return tuple(int(n) for n in np.flatnonzero(self._faults.any(axis=0)))

    @property
    def faulty_turns(self) -> Floats:
        """(K,): turns of `dense` at which some wheel does not point at the turn centre, in rising order."""
        return np.asarray(self.dense.turns[self._faults.any(axis=1)])

    @cached_property
    def pivoting(self) -> tuple[int, ...]:
        """Wheels that pivot on the turn centre somewhere in the range, past which they may point."""
        pivots = self.dense.response.states == STATES.index("pivots")
        return tuple(int(n) for n in np.flatnonzero(pivots.any(axis=0)))

    @cached_property
    def worst_of_wheels(self) -> tuple[WheelAtTurn, ...]:
        """The worst turn of each wheel, at the least turn of equals."""
        found = self.dense.response.alignment
        # States first, slip angle within a state; a pivoting wheel's slip says nothing.
        order = np.where(found.pivots, 0.0, np.abs(found.slip)) + self.dense.response.states * np.pi
        return tuple(
            self.dense.wheel_at(_first_largest(order[:, n], self.dense.turns), n)
            for n in range(len(self.robot))
        )

    @cached_property
    def worst(self) -> WheelAtTurn | None:
        """The worst wheel at its worst turn, the first of equals; None where all are aligned."""
        if self.aligned:
            return None
        # Rounded, so that noise does not choose between mirrored wheels, on any machine.
        return max(self.worst_of_wheels, key=lambda c: (STATES.index(c.state), round(abs(c.slip), 9)))

    @property
    def judged(self) -> bool:
        """Whether the worst wheel was asked for before, so that to ask again costs nothing."""
        return "worst" in self.__dict__

    def first_fault(self, wheel: int) -> float | None:
        """The gentlest turn at which a wheel drags at all; None if it never does."""
        faulty = self.dense.turns[self._faults[:, wheel]]
        return float(faulty[np.abs(faulty).argmin()]) if faulty.size else None


def _first_largest(values: Floats, turns: Floats) -> int:
    """Index of the largest value, at the gentlest turn of those that equal it but for rounding."""
    near = np.flatnonzero(values >= values.max() - 1e-9)
    return int(near[np.abs(turns[near]).argmin()])
