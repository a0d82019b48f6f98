"""The verdict on a drive in words: whether it touched, what first and where, and how far it dragged."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from app.design.facts import Facts
from app.units import LengthUnit, show_length, show_number
from app.words.lengths import show_drag
from app.words.stage_states import check_state
from app.words.verdict import Tone

Phase = Literal["none", "preparing", "driving", "playing", "driven"]
# On a shorter way a drag for each metre says nothing [mm].
_LEAST_WAY_MM = 100.0
_MM_IN_A_METRE = 1_000.0
_HOW = "Hold an arrow key on the course, drag the mouse on its ground, or press Play."


@dataclass(frozen=True)
class Touch:
    """One thing of the robot and one obstacle that touched."""

    name: str
    """What of the robot it was."""
    obstacle: str
    """Such as "wall 2"."""
    time_s: float
    x_mm: float
    y_mm: float


@dataclass(frozen=True)
class RunSoFar:
    """What came of a drive so far."""

    phase: Phase
    obstacles: int = 0
    """How many obstacles are on the course."""
    touches: int = 0
    first: Touch | None = None
    drag_mm: float = 0.0
    """Dragged sideways by all wheels together."""
    way_mm: float = 0.0
    """Way of the middle of the base axle."""


@dataclass(frozen=True)
class RunVerdict:
    """What heads the panel in the stage Drive."""

    tone: Tone
    lines: tuple[str, str, str]
    """The drive; where it touched first and its drag; the whole range, briefly."""
    longest: tuple[str, str, str]
    """Words as long as any of this drive can become: room is kept for them."""


def run_verdict(run: RunSoFar, facts: Facts, unit: LengthUnit) -> RunVerdict:
    """Say what came of a drive."""
    range_words = f"Over all turns: {check_state(facts).words}."
    if not facts.design.wheels:
        lines = ("Nothing to drive yet.", "Lay out the chassis first.", "")
        return RunVerdict("empty", lines, lines)
    return RunVerdict(
        _tone(run), (_headline(run), _second(run, unit), range_words), _longest(facts, unit, range_words)
    )


def _tone(run: RunSoFar) -> Tone:
    if run.touches:
        return "bad"
    return "empty" if run.phase in ("none", "preparing") else "good"


def _headline(run: RunSoFar) -> str:
    if run.first is not None:
        return _touched(run.touches, run.first)
    match run.phase:
        case "none":
            return "Not driven yet."
        case "preparing":
            return "About to drive."
    doing = {"driving": "Driving", "playing": "Playing"}.get(run.phase, "Driven")
    if not run.obstacles:
        return f"{doing} with nothing in the way."
    return f"{doing}{', no touch so far' if run.phase != 'driven' else ' without a touch'}."


def _touched(touches: int, first: Touch) -> str:
    if touches == 1:
        return f"1 touch: {first.name} at {first.obstacle}."
    return f"{touches} touches, the first: {first.name} at {first.obstacle}."


def _second(run: RunSoFar, unit: LengthUnit) -> str:
    if run.phase == "none":
        return _HOW
    if run.phase == "preparing":
        return "The robot's code is being written."
    words = _drag(run, unit)
    return words if run.first is None else f"{_where(run.first, unit)} {words}"


def _where(touch: Touch, unit: LengthUnit) -> str:
    x, y = (show_length(v, unit, of_mm=0) for v in (touch.x_mm, touch.y_mm))
    when = f"First at {show_number(touch.time_s, 1)} s" if touch.time_s > 0 else "From the start"
    return f"{when}, x {x}, y {y}."


def _drag(run: RunSoFar, unit: LengthUnit) -> str:
    words = f"Dragged sideways {show_length(run.drag_mm, unit, of_mm=0)} in all"
    if run.way_mm < _LEAST_WAY_MM:
        return f"{words}."
    return f"{words}, {show_drag(_MM_IN_A_METRE * run.drag_mm / run.way_mm, unit)}."


def _longest(facts: Facts, unit: LengthUnit, range_words: str) -> tuple[str, str, str]:
    design = facts.design
    names = ["the body", *(w.name for w in design.wheels), *(p.name for p in design.packaging.parts)]
    touch = Touch(max(names, key=len), "gate 888", 888.8, -88_888.0, -88_888.0)
    run = RunSoFar("driving", 1, 88, touch, 88_888.0, 88_888.0)
    return _headline(run), max(_second(run, unit), _HOW, key=len), range_words
