"""The stages of the work: one row each, from which the window makes the stage bar, keys and tools."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from app.panels import registry
from app.panels.registry import Stage
from app.words.stage_states import (
    StageState,
    WorkSoFar,
    build_state,
    check_state,
    drive_state,
    lay_out_state,
    motors_state,
)

StateOf = Callable[[WorkSoFar], StageState]


@dataclass(frozen=True)
class StageSpec:
    """One stage."""

    key: Stage
    """Also of its icon."""
    title: str
    shortcut: str
    tip: str
    state: StateOf
    tools: tuple[tuple[str, ...], ...] = ()
    """Actions that float on the plan, in groups with a line between them."""
    wide: bool = True
    """Whether its panel is the wide one."""
    faint_lines: bool = False
    """Whether axle lines step back behind what is laid out."""
    parts: bool = False
    """Whether parts are on the plan, and a second view from the side may stand below it."""


STAGES: tuple[StageSpec, ...] = (
    StageSpec(
        "lay out",
        "Lay out",
        "Ctrl+1",
        "Place wheels and body.",
        lambda work: lay_out_state(work.facts, work.collisions),
        (("add", "body", "part", "mirror", "delete"), ("symmetry", "snap")),
        wide=False,
        faint_lines=True,
        parts=True,
    ),
    StageSpec(
        "motors",
        "Motors",
        "Ctrl+2",
        "Decide which motor steers and drives which wheels.",
        lambda work: motors_state(work.facts),
        (("add_steer_motor", "add_drive_motor"), ("suggest",)),
    ),
    StageSpec(
        "check",
        "Check",
        "Ctrl+3",
        "See every wheel's angle, miss and drag, at this turn and over the whole range.",
        lambda work: check_state(work.facts),
        (("circles", "ideal", "labels"),),
    ),
    StageSpec(
        "drive",
        "Drive",
        "Ctrl+4",
        "Drive the chassis on the screen.",
        lambda work: drive_state(work.facts, work.touches),
        wide=False,
    ),
    StageSpec(
        "build",
        "Build",
        "Ctrl+5",
        "Take away the steering table and the code for the controller.",
        lambda work: build_state(work.facts, work.made),
        (("labels",),),
    ),
    StageSpec(
        "bench",
        "Bench",
        "Ctrl+6",
        "Set, measure and correct the robot itself.",
        lambda _work: StageState("open", ""),
        wide=False,
    ),
)
"""In the order of the work."""


def is_shown(stage: Stage) -> bool:
    """Whether some panel belongs to a stage; another is not shown, and its key stays its own."""
    return any(spec.stage == stage for spec in registry.PANELS)
