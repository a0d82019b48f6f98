"""How the robot is driven on the screen: its dynamics, scripts of moves, and courses to drive through."""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from geometry.errors import Problem
from geometry.model.frozen import BrokenRule, Frozen, Name, same_name_problems

Way = Literal["turn", "radius", "speeds", "stick"]
WAYS: tuple[Way, ...] = ("turn", "radius", "speeds", "stick")
Until = Literal["time", "distance", "heading"]
UNTILS: tuple[Until, ...] = ("time", "distance", "heading")
ObstacleKind = Literal["wall", "post", "box", "gate"]
OBSTACLE_KINDS: tuple[ObstacleKind, ...] = ("wall", "post", "box", "gate")

MOST_STEPS, MOST_SCRIPTS, MOST_OBSTACLES, MOST_COURSES = 500, 50, 500, 50

Place = Annotated[float, Field(ge=-100_000, le=100_000)]
Speed = Annotated[float, Field(ge=-1, le=1)]
Length = Annotated[float, Field(ge=0.1, le=100_000)]

# Which numbers say how a step drives, and which size and place an obstacle has.
OF_WAY: dict[Way, tuple[str, ...]] = {
    "turn": ("turn", "speed"),
    "radius": ("radius_mm", "speed"),
    "speeds": ("left", "right"),
    "stick": ("throttle", "turn"),
}
OF_OBSTACLE: dict[ObstacleKind, tuple[str, ...]] = {
    "wall": ("length_mm",),
    "post": ("width_mm",),
    "box": ("length_mm", "width_mm"),
    "gate": ("length_mm", "width_mm"),
}


class Move(Frozen):
    """One step of a script: how it drives, and until when."""

    by: Way = Field(
        "turn",
        description="turn: turn input and speed; radius: turn radius and speed; speeds: of both sides; "
        "stick: throttle and turn, which the controller mixes",
    )
    turn: Speed | None = Field(
        None, description="Turn input, -1 on the spot right to 1 on the spot left; or the stick's own turn"
    )
    radius_mm: float | None = Field(
        None, ge=-1e7, le=1e7, description="Turn radius, positive to the left; not 0, null otherwise"
    )
    speed: Speed | None = Field(None, description="Of the faster side, as a share of full; below 0 backward")
    left: Speed | None = Field(None, description="Speed of the left side, as a share of full")
    right: Speed | None = Field(None, description="Speed of the right side, as a share of full")
    throttle: Speed | None = Field(None, description="Of a stick, as a share of full; below 0 backward")
    until: Until = Field("time", description="What ends the step: time, distance or change of heading")
    amount: float = Field(
        1.0, gt=0, le=1e6, description="Seconds, millimetres on the way, or degrees turned; always above 0"
    )

    @model_validator(mode="after")
    def _check(self) -> Self:
        broken = _given_problems(
            self, self.by, OF_WAY[self.by], ("turn", "radius_mm", "speed", "left", "right", "throttle")
        )
        if self.until == "time" and self.amount > 3_600:
            broken.append(
                Problem("amount", "must be at most 3600 where it counts seconds", f"{self.amount:g}")
            )
        if broken:
            raise BrokenRule(*broken)
        return self


class Script(Frozen):
    """A run of moves, one after the other."""

    name: Name = Field(description="Name, unique among the scripts")
    moves: tuple[Move, ...] = Field((), max_length=MOST_STEPS, description="In their order")


class Obstacle(Frozen):
    """A thing on the course that must not be touched.

    A wall is a line of no thickness along its own x; a post is round; a gate is two posts, their
    middles `length_mm` apart across its own x.
    """

    kind: ObstacleKind = Field("wall", description="wall, post, box or gate")
    x_mm: Place = Field(0.0, description="Its middle, in the frame of the course")
    y_mm: Place = Field(0.0, description="Its middle, in the frame of the course")
    turn_deg: float = Field(0.0, ge=-180, le=180, description="Turned about its middle")
    length_mm: Length | None = Field(
        None, description="Of a wall or a box along its own x; of a gate between the posts' middles"
    )
    width_mm: Length | None = Field(
        None, description="Of a box across; diameter of a post and of the posts of a gate"
    )

    @model_validator(mode="after")
    def _check(self) -> Self:
        broken = _given_problems(self, self.kind, OF_OBSTACLE[self.kind], ("length_mm", "width_mm"))
        if broken:
            raise BrokenRule(*broken)
        return self


class Course(Frozen):
    """Where the robot starts, and what stands in its way."""

    name: Name = Field(description="Name, unique among the courses")
    start_x_mm: Place = Field(0.0, description="Origin of the chassis at the start")
    start_y_mm: Place = Field(0.0, description="Origin of the chassis at the start")
    start_heading_deg: float = Field(0.0, ge=-180, le=180, description="Heading at the start")
    obstacles: tuple[Obstacle, ...] = Field((), max_length=MOST_OBSTACLES)


class Driving(Frozen):
    """How the robot moves on the screen, and what it drives."""

    full_speed_mm_s: float = Field(
        300.0, ge=0.1, le=20_000, description="Rolling speed of the faster side at full command"
    )
    ramp_s: float = Field(0.3, ge=0, le=60, description="Time in which a drive motor goes from rest to full")
    scripts: tuple[Script, ...] = Field((), max_length=MOST_SCRIPTS)
    courses: tuple[Course, ...] = Field((), max_length=MOST_COURSES)

    @model_validator(mode="after")
    def _check(self) -> Self:
        broken = [
            *same_name_problems("scripts", [script.name for script in self.scripts]),
            *same_name_problems("courses", [course.name for course in self.courses]),
        ]
        if broken:
            raise BrokenRule(*broken)
        return self


def _given_problems(
    model: Frozen, what: str, wanted: tuple[str, ...], every: tuple[str, ...]
) -> list[Problem]:
    broken = []
    for key in every:
        value = getattr(model, key)
        if value is None and key in wanted:
            broken.append(Problem(key, f"must be given for {what}", "null"))
        elif value is not None and key not in wanted:
            rule = f"must be null for {what}, which has {' and '.join(wanted)}"
            broken.append(Problem(key, rule, f"{value:g}"))
    return broken
