"""All that a view needs, computed once per change from design, command and selection.

Cheap parts are computed at once, the whole range when first asked. What depends on the
design alone is kept in `Facts` and shared by every picture of that design.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np

from app.check import DENSE_ROWS, PREVIEW_ROWS, Check, Judged
from app.units import radians
from geometry.alignment import (
    STATES,
    Alignment,
    State,
    Verdict,
    alignment,
    best_fit_centre,
    contacts,
    rank,
    states,
    verdicts,
)
from geometry.as_built import AsBuilt, as_built
from geometry.axes import Floats
from geometry.chassis import Base, Design, WheelArrays
from geometry.driving import full_speed
from geometry.motion import Motion, from_turn, radius_of_turn, sides_of_turn, turn_centre
from geometry.solve import FLIPPED, Solution, solve
from geometry.sweep import Landmark


@dataclass(frozen=True)
class Command:
    """What the person asks the chassis to do."""

    turn: float = 0.0
    """Turn input, -1 (on the spot to the right) to 1 (on the spot to the left)."""
    speed: float = 1.0
    """Speed of the faster side as a share of full speed; negative in reverse."""

    @property
    def sides(self) -> tuple[float, float]:
        """Left and right side speed as shares of full speed."""
        left, right = sides_of_turn(self.turn, self.speed)
        return float(left[0]), float(right[0])

    @property
    def ratio(self) -> float:
        """Slower side divided by faster side."""
        return 1.0 - 2.0 * abs(self.turn)


class Facts:
    """What follows from a design alone; a preview looks at fewer turns of the whole range."""

    def __init__(self, design: Design, *, previewing: bool = False) -> None:
        self.design = design
        self.previewing = previewing
        self.check = Check(design, PREVIEW_ROWS if previewing else DENSE_ROWS)
        self.wheels: WheelArrays = self.check.wheels
        self.base: Base = self.check.base
        self.aligned_within = radians(design.aligned_within_deg)
        self.slight_within = radians(design.slight_drag_within_deg)

    @cached_property
    def full_speed(self) -> float:
        """Largest speed straight ahead that the drive motors allow [mm/s]; ``inf`` without any."""
        return full_speed(self.wheels, self.check.motors, self.base)

    @property
    def landmarks(self) -> tuple[Landmark, ...]:
        """Turns at which something happens."""
        return self.check.landmarks

    @cached_property
    def size(self) -> float:
        """Longest side of the box around wheels and body, at least 1 [mm]."""
        points = [(w.x_mm, w.y_mm) for w in self.design.wheels] + list(self.design.body_mm)
        if len(points) < 2:
            return 200.0
        return max(float(np.ptp(np.array(points), axis=0).max()), 1.0)


# Angles that are shown with one decimal differ visibly from here on [rad].
_VISIBLE = radians(0.05)


@dataclass(frozen=True)
class WheelRow:
    """One wheel as the table and the labels show it; mm and rad."""

    index: int
    name: str
    kind: str
    driven: bool
    steer: float
    heading: float
    radius: float
    speed: float
    miss: float
    drag: float
    slip: float
    state: State
    notes: tuple[str, ...]
    ideal: float | None = None
    """Steer angle that would suit the wanted motion; None without motors or steering."""

    @property
    def differs(self) -> bool:
        """Whether the motors turn it visibly elsewhere than would suit."""
        return self.ideal is not None and abs(self.steer - self.ideal) > _VISIBLE


@dataclass(frozen=True)
class View:
    """One picture of the world."""

    facts: Facts
    command: Command
    selection: frozenset[int] = frozenset()
    previewing: bool = False
    alone: bool = False
    """Whether every wheel is steered and driven by itself, whatever the motors."""
    asked: Motion = field(init=False)
    """The motion that the command asks for."""
    motion: Motion = field(init=False)
    """The motion that is shown: with motors, what the chassis makes of it."""
    built: AsBuilt | None = field(init=False)
    """What the motors do; None for a design without motors."""
    solution: Solution = field(init=False)
    alignment: Alignment = field(init=False)

    def __post_init__(self) -> None:
        """Solve the one motion that is shown; angles do not depend on how fast it is driven."""
        sense = -1.0 if self.command.speed < 0 else 1.0
        asked = from_turn(self.command.turn, self.facts.base, sense)
        wheels, motors = self.facts.wheels, self.facts.check.motors
        built = as_built(wheels, motors, asked) if motors and not self.alone else None
        solution = built.solution if built else solve(wheels, asked)
        found = alignment(wheels, solution.motion.twist, solution.heading)
        object.__setattr__(self, "asked", asked)
        object.__setattr__(self, "motion", solution.motion)
        object.__setattr__(self, "built", built)
        object.__setattr__(self, "solution", solution)
        object.__setattr__(self, "alignment", found)

    @cached_property
    def ideal(self) -> View:
        """The same picture with every wheel steered and driven by itself; this one without motors.

        Its facts over the whole range remain those of the chassis with its motors.
        """
        return self if self.built is None else replace(self, alone=True)

    @property
    def judged(self) -> Judged:
        """The turn that is shown, as the check judges turns."""
        kinds = states(self.alignment, self.facts.aligned_within, self.facts.slight_within)
        turn, radius = np.array([self.command.turn]), np.array([self.radius])
        return Judged(turn, radius, self.solution, self.alignment, kinds, self.built)

    @property
    def design(self) -> Design:
        """The design that is shown; a preview while something is dragged."""
        return self.facts.design

    @property
    def heading(self) -> Floats:
        """Wheel headings, (N,) [rad]."""
        return np.asarray(self.solution.heading[0])

    @cached_property
    def contacts(self) -> Floats:
        """Contact points, (N, 2) [mm]."""
        x, y = contacts(self.facts.wheels, self.solution.heading)
        return np.stack([x[0], y[0]], axis=1)

    @cached_property
    def centre(self) -> Floats:
        """Turn centre of the motion that is shown, (2,) [mm]; ``inf`` straight ahead."""
        return np.asarray(turn_centre(self.motion.twist)[0])

    @cached_property
    def asked_centre(self) -> Floats:
        """Turn centre of the motion that is asked for, (2,) [mm]; ``inf`` straight ahead."""
        return np.asarray(turn_centre(self.asked.twist)[0])

    @property
    def gap(self) -> float:
        """From the turn centre that is asked for to that which results [mm]; ``inf`` where one has none."""
        if self.built is None:
            return 0.0
        there = np.isfinite([self.centre, self.asked_centre]).all(axis=1)
        if not there.any():
            return 0.0
        return float(np.hypot(*(self.centre - self.asked_centre))) if there.all() else math.inf

    @cached_property
    def best_fit(self) -> Floats:
        """Where the axle lines meet best, (2,) [mm]; ``inf`` where they are parallel."""
        return np.asarray(best_fit_centre(self.facts.wheels, self.solution.heading)[0])

    @cached_property
    def radius(self) -> float:
        """Signed turn radius that is asked for [mm]; ``inf`` straight ahead."""
        return float(radius_of_turn(self.command.turn, self.facts.base)[0])

    @property
    def true_radius(self) -> float:
        """Signed distance of the turn centre from the chassis centre line [mm]; ``inf`` straight ahead."""
        return self.radius if self.built is None else float(self.centre[1])

    @cached_property
    def rank(self) -> int:
        """Rank of the rolling constraints."""
        return int(rank(self.facts.wheels, self.solution.heading)[0])

    @cached_property
    def states(self) -> tuple[State, ...]:
        """State of each wheel."""
        kinds = states(self.alignment, self.facts.aligned_within, self.facts.slight_within)[0]
        return tuple(STATES[k] for k in kinds)

    @cached_property
    def verdict(self) -> Verdict:
        """The worst wheel and its state."""
        return verdicts(self.alignment, self.facts.aligned_within, self.facts.slight_within)[0]

    @cached_property
    def rows(self) -> tuple[WheelRow, ...]:
        """Every wheel as the table shows it."""
        found, solved = self.alignment, self.solution
        pace = abs(self.command.speed)
        ideal = self.built.ideal.steer[0] if self.built else None
        return tuple(
            WheelRow(
                index=i,
                name=wheel.name,
                kind=wheel.kind,
                driven=wheel.driven,
                steer=float(solved.steer[0, i]),
                heading=float(solved.heading[0, i]),
                radius=float(found.radius[0, i]),
                speed=float(found.roll[0, i]) * pace,
                miss=float(found.miss[0, i]),
                drag=float(found.drag[0, i]),
                slip=float(found.slip[0, i]),
                state=self.states[i],
                notes=self._notes(i),
                ideal=float(ideal[i]) if ideal is not None and wheel.kind == "steered" else None,
            )
            for i, wheel in enumerate(self.design.wheels)
        )

    def _notes(self, i: int) -> tuple[str, ...]:
        solved = self.solution
        notes = []
        if solved.limited[0, i]:
            notes.append("at end of travel")
        if self.alignment.swings[0, i]:
            notes.append("the centre is nearer than its trail")
        elif solved.unreachable[0, i]:
            notes.append("no angle suits: the centre is nearer than the trail")
        if solved.branch[0, i] == FLIPPED:
            notes.append("flipped")
        return tuple(notes)
