"""What is taken for granted of a design, as sentences, and names of wheels as they stand in one."""

from __future__ import annotations

from collections.abc import Sequence

from app.design.facts import Facts
from app.design.motor_edits import MotorKind, holder_of
from geometry.model.design import Design

NAMED = 4
"""More wheels than that are not listed in a sentence."""


def notices(facts: Facts) -> tuple[str, ...]:
    """What is taken for granted where motors are given but not for all, as sentences."""
    told, design = [], facts.design
    if design.steer_motors:
        bare = [w.name for w in design.wheels if w.kind == "steered" and _unheld(design, "steer", w.name)]
        if bare:
            told.append(f"No steer motor turns {', '.join(bare)}: taken at the ideal angle.")
    if design.drive_motors:
        bare = [w.name for w in design.wheels if w.driven and _unheld(design, "drive", w.name)]
        if bare:
            told.append(f"No drive motor drives {', '.join(bare)}: taken at the ideal speed.")
    return tuple(told)


def _unheld(design: Design, kind: MotorKind, wheel: str) -> bool:
    return holder_of(design, kind, wheel) is None


def some_names(names: Sequence[str]) -> str:
    """The first few names, and whether there are others."""
    return ", ".join(names[:NAMED]) + (", and others" if len(names) > NAMED else "")
