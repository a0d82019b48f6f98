"""What is at fault for a wheel and what is taken for granted, in words."""

from __future__ import annotations

from dataclasses import replace

from app.causes import ENDS, Cause, cause_of, free_turn
from app.design.facts import Facts
from app.design.motors import MotorKind, holder_of
from app.remedies import remedy_words
from app.units import LengthUnit
from geometry.alignment import CALM
from geometry.chassis import Design
from geometry.range_check import AtTurns, WheelAtTurn, at_turns


def cause(facts: Facts, off: WheelAtTurn, at: AtTurns | None = None) -> Cause:
    """What is at fault for a wheel at a turn; who has asked for that turn already passes it on."""
    if off.state in CALM:
        return Cause(off.wheel, ())
    at = at_turns(facts.robot, [off.turn]) if at is None else at
    found = cause_of(facts.design, off.turn, off.wheel, at.response)
    if not any(isinstance(part, ENDS) for part in found.parts):
        return found
    dense = facts.check.dense
    limited = dense.response.solution.limited[:, off.wheel]
    return replace(found, largest_turn=free_turn(dense.turns, limited))


def remedy(facts: Facts, off: WheelAtTurn, unit: LengthUnit = "mm", at: AtTurns | None = None) -> str:
    """What the builder can do about a wheel's fault at a turn, in one sentence or several."""
    return remedy_words(facts.design, cause(facts, off, at), unit)


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
