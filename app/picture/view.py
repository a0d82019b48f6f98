"""All that a view needs, computed once per change from design, command and selection.

Cheap parts are computed at once, the whole range when first asked. What depends on the
design alone is kept in `Facts` (`app.design.facts`) and shared by every picture of that design.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np

from app.design.facts import Facts
from app.design.references import Selection, selected_wheels
from app.units import radians
from geometry.axes import Floats
from geometry.kinematics.alignment import (
    STATES,
    Alignment,
    State,
    Verdict,
    best_fit_centre,
    contacts,
    rank,
    verdicts,
)
from geometry.kinematics.ideal import FLIPPED, Solution
from geometry.kinematics.motion import Motion, from_turn, radius_of_turn, sides_of_turn
from geometry.kinematics.robot import Response, Robot
from geometry.model.design import Design
from geometry.turn_range.range_check import AtTurns


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
    selection: Selection = ()
    previewing: bool = False
    alone: bool = False
    """Whether every wheel is steered and driven by itself, whatever the motors."""
    response: Response = field(init=False)
    """What the robot makes of the motion that the command asks for."""

    def __post_init__(self) -> None:
        """Solve the one motion that is shown; angles do not depend on how fast it is driven."""
        sense = -1.0 if self.command.speed < 0 else 1.0
        asked = from_turn(self.command.turn, self.robot.base, sense)
        object.__setattr__(self, "response", self.robot.at(asked))

    @property
    def robot(self) -> Robot:
        """The robot that is shown."""
        return self.facts.robot.without_motors if self.alone else self.facts.robot

    @property
    def asked(self) -> Motion:
        """The motion that the command asks for."""
        return self.response.wanted

    @property
    def motion(self) -> Motion:
        """The motion that is shown: with motors, what the chassis makes of it."""
        return self.response.motion

    @property
    def motored(self) -> bool:
        """Whether motors make the motion that is shown another than the ideal, or could."""
        return bool(self.robot.motors)

    @property
    def solution(self) -> Solution:
        """The wheels at the motion that is shown."""
        return self.response.solution

    @property
    def alignment(self) -> Alignment:
        """How they suit it, judged by twist and headings alone."""
        return self.response.seen

    @cached_property
    def ideal(self) -> View:
        """The same picture with every wheel steered and driven by itself; this one without motors.

        Its facts over the whole range remain those of the chassis with its motors.
        """
        return replace(self, alone=True) if self.motored else self

    @property
    def at_turn(self) -> AtTurns:
        """The turn that is shown, as the check has turns."""
        return AtTurns(np.array([self.command.turn]), self.response)

    @cached_property
    def selected_wheels(self) -> tuple[int, ...]:
        """Numbers of the selected wheels, ascending."""
        return selected_wheels(self.selection)

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
        x, y = contacts(self.robot.wheels, self.solution.heading)
        return np.stack([x[0], y[0]], axis=1)

    @cached_property
    def centre(self) -> Floats:
        """Turn centre of the motion that is shown, (2,) [mm]; ``inf`` straight ahead."""
        return np.asarray(self.response.centre[0])

    @cached_property
    def asked_centre(self) -> Floats:
        """Turn centre of the motion that is asked for, (2,) [mm]; ``inf`` straight ahead."""
        return np.asarray(self.response.wanted_centre[0])

    @property
    def gap(self) -> float:
        """From the turn centre that is asked for to that which results [mm]; ``inf`` where one has none."""
        return float(self.response.centre_gap[0]) if self.motored else 0.0

    @cached_property
    def best_fit(self) -> Floats:
        """Where the axle lines meet best, (2,) [mm]; ``inf`` where they are parallel."""
        return np.asarray(best_fit_centre(self.robot.wheels, self.solution.heading)[0])

    @cached_property
    def radius(self) -> float:
        """Signed turn radius that is asked for [mm]; ``inf`` straight ahead."""
        return float(radius_of_turn(self.command.turn, self.robot.base)[0])

    @property
    def true_radius(self) -> float:
        """Signed distance of the turn centre from the chassis centre line [mm]; ``inf`` straight ahead."""
        return float(self.centre[1]) if self.motored else self.radius

    @cached_property
    def rank(self) -> int:
        """Rank of the rolling constraints."""
        return int(rank(self.robot.wheels, self.solution.heading)[0])

    @cached_property
    def states(self) -> tuple[State, ...]:
        """State of each wheel."""
        return tuple(STATES[k] for k in self.response.seen_states[0])

    @cached_property
    def verdict(self) -> Verdict:
        """The worst wheel and its state."""
        return verdicts(self.alignment, self.robot.aligned_within, self.robot.slight_within)[0]

    @cached_property
    def rows(self) -> tuple[WheelRow, ...]:
        """Every wheel as the table shows it."""
        found, solved = self.alignment, self.solution
        pace = abs(self.command.speed)
        ideal = self.response.ideal.steer[0] if self.motored else None
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
