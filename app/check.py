"""The check over a design's whole range: what the command line prints, as facts."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import numpy.typing as npt

from app.causes import ENDS, Cause, cause_of, free_turn
from app.design.motors import MotorKind, holder_of
from app.motor_outputs import MotorOutputs, outputs_of
from app.remedies import remedy_words
from app.trials import Chassis
from app.units import LengthUnit, radians
from geometry.alignment import CALM, FAULTY, STATES, Alignment, State, alignment_of, states
from geometry.as_built import AsBuilt, MotorArrays, as_built, motor_arrays, narrowed
from geometry.axes import Floats
from geometry.built_landmarks import COARSE, FINE, built_landmarks
from geometry.chassis import Base, Design, WheelArrays, base_of, wheel_arrays
from geometry.closer import closer_turns
from geometry.decisive import decisive_turns
from geometry.grouping import off_course
from geometry.motion import from_turn, radius_of_turn, turn_centre
from geometry.solve import FLIPPED, Solution, solve
from geometry.sweep import Landmark, landmarks, turns_between

DENSE_ROWS = 2001
# While something is dragged: what decides the verdict is still among them, less of what lies between.
PREVIEW_ROWS = 201
# Axles that differ by less point the same way: at most 1e-6 mm/m of drag [rad].
_EXACT = 1e-9
# Sides that differ by less than two of this run straight [faster side = 1].
_STRAIGHT = 1e-3


@dataclass(frozen=True)
class Case:
    """One wheel at one turn; rad, mm and mm/m."""

    wheel: int
    turn: float
    radius: float
    """Turn radius of the chassis, ``inf`` straight ahead [mm]."""
    state: State
    slip: float
    miss: float
    drag: float


@dataclass(frozen=True)
class Turned:
    """How a chassis turns, beside how it is asked to; signed turn radii and a distance, in mm."""

    asked: float
    """Turn radius that is asked for; ``inf`` straight ahead."""
    true: float
    """That which results; ``inf`` where it runs straight."""
    gap: float
    """From the one turn centre to the other; ``inf`` where one of them has none."""


@dataclass(frozen=True)
class Judged:
    """M turns of N wheels, solved and judged."""

    turns: Floats
    radius: Floats
    solution: Solution
    found: Alignment
    kinds: npt.NDArray[np.int8]
    """(M, N) indices into STATES."""
    built: AsBuilt | None = None
    """What the motors make of it; None for a design without motors. `solution` and `found`
    are then as built, and `radius` is what was asked."""

    @cached_property
    def true_radius(self) -> Floats:
        """Signed turn radius of the motion that results, (M,) [mm]; ``inf`` straight ahead."""
        if self.built is None:
            return self.radius
        return np.asarray(turn_centre(self.solution.motion.twist)[:, 1])

    def turned(self, row: int) -> Turned:
        """How the chassis turns at one of its turns, beside how it is asked to."""
        asked, true = float(self.radius[row]), float(self.true_radius[row])
        if self.built is None:
            return Turned(asked, true, 0.0)
        twists = np.stack([self.built.ideal.motion.twist[row], self.solution.motion.twist[row]])
        centres = turn_centre(twists)
        there = np.isfinite(centres).all()
        return Turned(asked, true, float(np.hypot(*(centres[1] - centres[0]))) if there else math.inf)

    def case(self, row: int, wheel: int) -> Case:
        """One of its wheels at one of its turns."""
        return Case(
            wheel=wheel,
            turn=float(self.turns[row]),
            radius=float(self.radius[row]),
            state=STATES[self.kinds[row, wheel]],
            slip=float(self.found.slip[row, wheel]),
            miss=float(self.found.miss[row, wheel]),
            drag=float(self.found.drag[row, wheel]),
        )

    def flags(self, row: int, wheel: int) -> tuple[str, ...]:
        """What is special about a wheel at a turn: flipped, travel_end, no_angle, swings, pivots."""
        swings = self.found.swings[row, wheel]
        marks = {
            "flipped": self.solution.branch[row, wheel] == FLIPPED,
            "travel_end": self.solution.limited[row, wheel],
            "no_angle": self.solution.unreachable[row, wheel] and not swings,
            "swings": swings,
            "pivots": STATES[self.kinds[row, wheel]] == "pivots",
        }
        return tuple(name for name, holds in marks.items() if holds)


class Check:
    """A design judged at many turns over its whole range, landmarks included."""

    def __init__(self, design: Design, rows: int = DENSE_ROWS) -> None:
        self.design = design
        self.rows = rows
        self.wheels: WheelArrays = wheel_arrays(design)
        self.base: Base = base_of(design)
        self._tolerances = radians(design.aligned_within_deg), radians(design.slight_drag_within_deg)
        self.motors: MotorArrays = motor_arrays(design, self.wheels)

    @cached_property
    def landmarks(self) -> tuple[Landmark, ...]:
        """Turns at which something happens, in rising order."""
        reach = self.design.largest_turn
        if not self.motors.steer:
            return landmarks(self.wheels, self.base, reach)
        rows, within = FINE if self.rows >= DENSE_ROWS else COARSE
        return built_landmarks(self.wheels, self.motors, self.base, reach, rows=rows, within=within)

    @cached_property
    def dense(self) -> Judged:
        """The whole range, with every landmark and every turn that decides a judgement in it.

        With motors the last are not all known; it looks closer where much changes.
        """
        reach, marks = self.design.largest_turn, [mark.turn for mark in self.landmarks]
        even = turns_between(-reach, reach, self.rows)
        decisive = decisive_turns(narrowed(self.wheels, self.motors), self.base, reach, self._tolerances)
        # A set and not numpy's unique, whose first use loads all of its masked arrays.
        turns = {*even.tolist(), *marks, *decisive.tolist()}
        first = self.at(sorted(turns))
        if first.built is None or self.rows < DENSE_ROWS:
            return first
        closer = closer_turns(self.wheels, self.motors, self.base, first.turns, first.built)
        return self.at(sorted({*turns, *closer.tolist()})) if closer.size else first

    def at(self, turns: npt.ArrayLike) -> Judged:
        """Solve and judge any turns, (M,).

        Raises
        ------
        CommandError
            If a turn input is not a number or out of range.
        """
        s = np.atleast_1d(np.asarray(turns, dtype=np.float64))
        motion = from_turn(s, self.base)
        built = as_built(self.wheels, self.motors, motion) if self.motors else None
        solution = built.solution if built else solve(self.wheels, motion)
        found = alignment_of(self.wheels, solution)
        kinds = states(found, *self._tolerances)
        return Judged(s, radius_of_turn(s, self.base), solution, found, kinds, built)

    def outputs(self, judged: Judged) -> MotorOutputs | None:
        """What the motors are told there; None for a design without motors."""
        if judged.built is None:
            return None
        return outputs_of(self.design, self.wheels, self.motors, self.base, judged.built)

    @cached_property
    def aligned(self) -> bool:
        """Whether every axle points at the turn centre at every turn checked."""
        return not bool((self.dense.kinds >= FAULTY).any())

    @cached_property
    def astray(self) -> int | None:
        """Row of `dense` at which the chassis does not turn as it is asked to; None where it does.

        Straight ahead where it does not run straight, or with less than half of the speed; else the
        gentlest turn at which its rate of turn is off by half of the largest or more. Its
        axles may yet all point at the centre about which it truly turns.
        """
        built = self.dense.built
        if built is None:
            return None
        asked, true = built.ideal.motion.twist, built.solution.motion.twist
        off = np.abs(true[:, 2] - asked[:, 2])
        ahead = int(np.abs(self.dense.turns).argmin())
        slow = true[ahead, 0] < 0.5 * asked[ahead, 0]
        if slow or off[ahead] * self.base.half_track > _STRAIGHT:
            return ahead
        rows = np.flatnonzero(off_course(asked, true))
        return int(rows[np.abs(self.dense.turns[rows]).argmin()]) if rows.size else None

    @cached_property
    def exact(self) -> bool:
        """Whether the motors turn every steered wheel to an ideal angle at every turn checked."""
        built, steered = self.dense.built, self.wheels.steered
        if built is None or not self.motors.steer:
            return False
        off = built.solution.heading[:, steered] - built.ideal.heading[:, steered]
        return bool(np.abs(np.sin(off)).max() < _EXACT)

    @cached_property
    def faulty(self) -> tuple[int, ...]:
        """Wheels that do not point at the turn centre somewhere in the range."""
        return tuple(int(n) for n in np.flatnonzero((self.dense.kinds >= FAULTY).any(axis=0)))

    @cached_property
    def pivoting(self) -> tuple[int, ...]:
        """Wheels that pivot on the turn centre somewhere in the range, past which they may point."""
        pivots = self.dense.kinds == STATES.index("pivots")
        return tuple(int(n) for n in np.flatnonzero(pivots.any(axis=0)))

    @cached_property
    def worst_of_wheels(self) -> tuple[Case, ...]:
        """The worst turn of each wheel, at the least turn of equals."""
        order = self._order
        return tuple(
            self.dense.case(_first_largest(order[:, n], self.dense.turns), n) for n in range(len(self.wheels))
        )

    @cached_property
    def worst(self) -> Case | None:
        """The worst wheel at its worst turn, the first of equals; None where all are aligned."""
        if self.aligned:
            return None
        # Rounded, so that noise does not choose between mirrored wheels, on any machine.
        return max(self.worst_of_wheels, key=lambda c: (STATES.index(c.state), round(abs(c.slip), 9)))

    @property
    def _order(self) -> Floats:
        """States first, slip angle within a state; a pivoting wheel's slip says nothing."""
        slip = np.where(self.dense.found.pivots, 0.0, np.abs(self.dense.found.slip))
        return np.asarray(slip + self.dense.kinds * np.pi)

    def first_fault(self, wheel: int) -> float | None:
        """The gentlest turn at which a wheel drags at all; None if it never does."""
        faulty = self.dense.turns[self.dense.kinds[:, wheel] >= FAULTY]
        return float(faulty[np.abs(faulty).argmin()]) if faulty.size else None

    def cause(self, case: Case, judged: Judged | None = None) -> Cause:
        """What is at fault for a wheel at a turn; who has judged that turn already passes it on."""
        if case.state in CALM:
            return Cause(case.wheel, ())
        judged = self.at([case.turn]) if judged is None else judged
        chassis = Chassis(self.design, self.wheels, self.motors, self.base, self._tolerances)
        found = cause_of(chassis, case.turn, case.wheel, judged.solution, judged.built)
        if not any(isinstance(part, ENDS) for part in found.parts):
            return found
        limited = self.dense.solution.limited[:, case.wheel]
        return replace(found, largest_turn=free_turn(self.dense.turns, limited))

    def remedy(self, case: Case, unit: LengthUnit = "mm", judged: Judged | None = None) -> str:
        """What the builder can do about a wheel's fault at a turn, in one sentence or several."""
        return remedy_words(self.design, self.cause(case, judged), unit)

    @cached_property
    def notices(self) -> tuple[str, ...]:
        """What is taken for granted where motors are given but not for all, as sentences."""
        told = []
        wheels = self.design.wheels
        if self.motors.steer:
            bare = [w.name for w in wheels if w.kind == "steered" and self._unheld("steer", w.name)]
            if bare:
                told.append(f"No steer motor turns {', '.join(bare)}: taken at the ideal angle.")
        if self.motors.drive:
            bare = [w.name for w in wheels if w.driven and self._unheld("drive", w.name)]
            if bare:
                told.append(f"No drive motor drives {', '.join(bare)}: taken at the ideal speed.")
        return tuple(told)

    def _unheld(self, kind: MotorKind, wheel: str) -> bool:
        return holder_of(self.design, kind, wheel) is None


def _first_largest(values: Floats, turns: Floats) -> int:
    """Index of the largest value, at the gentlest turn of those that equal it but for rounding."""
    near = np.flatnonzero(values >= values.max() - 1e-9)
    return int(near[np.abs(turns[near]).argmin()])
