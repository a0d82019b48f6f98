"""How far the work has come, stage by stage: a mark and a few words each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, NamedTuple

from app.design.facts import Facts
from app.design.motor_edits import lacking
from app.words.verdict import tone

Mark = Literal["done", "begun", "open", "slight", "wrong", "unused"]
Made = Literal["no", "yes", "changed since"]
"""Whether a file was made, and whether from the design as it is now."""

_FEWEST_WHEELS = 3
_FIRST = "wheels first"


@dataclass(frozen=True)
class WorkSoFar:
    """All that the states of the stages follow from."""

    facts: Facts
    made: tuple[Made, ...] = ()
    """One for each thing that can be made."""
    collisions: int = 0
    touches: int | None = None
    """Touches of the drive that is shown; None where there is none."""


class StageState(NamedTuple):
    """What stands below the name of a stage."""

    mark: Mark
    words: str


def lay_out_state(facts: Facts, collisions: int = 0) -> StageState:
    """Done with three wheels, of which less do not stand, and wrong where something collides."""
    count = len(facts.design.wheels)
    if collisions:
        return StageState("wrong", _counted(collisions, "collision"))
    parts = [_counted(count, "wheel")] if count else []
    if facts.design.body_mm:
        parts.append("body")
    if not parts:
        return StageState("open", "nothing yet")
    return StageState("done" if count >= _FEWEST_WHEELS else "begun", ", ".join(parts))


def motors_state(facts: Facts) -> StageState:
    """Done when every steered wheel has a steer motor and every driven one a drive motor, or none is used."""
    design = facts.design
    if not design.wheels:
        return StageState("unused", _FIRST)
    count = len(design.steer_motors) + len(design.drive_motors)
    if not count:
        return StageState("unused", "not used")
    waiting = len({*lacking(design, "steer"), *lacking(design, "drive")})
    if waiting:
        return StageState("begun", f"{_counted(waiting, 'wheel')} lack{'' if waiting > 1 else 's'} one")
    return StageState("done", f"{count}, every wheel")


def check_state(facts: Facts) -> StageState:
    """What the headline of the verdict says, in two words."""
    match tone(facts):
        case "empty":
            return StageState("unused", _FIRST)
        case "good":
            return StageState("done", "aligned")
        case "slight":
            return StageState("slight", "slight drag")
    worst = facts.check.worst
    if worst is None or worst.state != "drags":
        return StageState("wrong", "off course")
    # The wheels are counted at rest only: that takes the whole range wheel by wheel.
    count = "" if facts.previewing else f", {_counted(len(facts.check.faulty), 'wheel')}"
    return StageState("wrong", f"drags{count}")


def drive_state(facts: Facts, touches: int | None) -> StageState:
    """What came of the last drive; None stands for none."""
    if not facts.design.wheels:
        return StageState("unused", _FIRST)
    if touches is None:
        return StageState("open", "not driven yet")
    if not touches:
        return StageState("done", "no touch")
    return StageState("wrong", "1 touch" if touches == 1 else f"{touches} touches")


def build_state(facts: Facts, made: Sequence[Made]) -> StageState:
    """How many of the things that can be made were made from this design."""
    if not facts.design.wheels:
        return StageState("unused", _FIRST)
    count = made.count("yes")
    if "changed since" in made:
        return StageState("slight", "changed since")
    if not count:
        return StageState("open", "nothing made")
    return StageState("done" if count == len(made) else "begun", f"{count} of {len(made)} made")


def _counted(count: int, what: str) -> str:
    return f"{count} {what}{'' if count == 1 else 's'}"
