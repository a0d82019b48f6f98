"""Chassis with their code, scripts, and comparisons of runs to the last bit."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import fields
from functools import cache

import numpy as np

from app.controller.programme import programme_of
from app.design.samples import sample_design
from app.simulation.frame import Block
from app.simulation.robot_code import RobotCode
from app.simulation.run import Run
from geometry.model.design import Design
from geometry.model.driving import Move, Script

ARRAYS = [f.name for f in fields(Block) if f.name not in {"first", "contacts"}]

MIXED = Script(
    name="mixed",
    moves=(
        Move(turn=0.3, speed=0.8, until="distance", amount=400),
        Move(by="speeds", left=-0.7, right=0.9, until="heading", amount=100),
        Move(by="radius", radius_mm=-350.0, speed=-0.6, amount=1.3),
        Move(by="stick", throttle=0.5, turn=-0.48, amount=0.7),
        Move(by="speeds", left=0.0, right=0.0, amount=0.4),
        Move(by="turn", turn=-1.0, speed=0.5, until="heading", amount=30),
        Move(by="turn", turn=0.0, speed=1.0, until="distance", amount=120),
    ),
)

# Each ends within the first steps, at some time between two calls of the code.
HASTY = Script(
    name="hasty",
    moves=tuple(
        Move(turn=0.4 * (-1) ** i, speed=0.9, until="distance", amount=7.0 + i)
        if i % 3
        else Move(turn=1.0, speed=0.7, until="heading", amount=4.0)
        for i in range(12)
    ),
)


def with_controller(design: Design, **changes: object) -> Design:
    return design.edited(controller=design.controller.edited(**changes))


@cache
def sample_code(key: str, period_ms: int = 5, **changes: object) -> RobotCode:
    return RobotCode(programme_of(with_controller(sample_design(key), period_ms=period_ms, **changes)))


def code_of(design: Design) -> RobotCode:
    return RobotCode(programme_of(design))


def headless(code: RobotCode, script: Script, **more: object) -> list[Block]:
    return list(Run(code, script=script, **more).blocks())  # type: ignore[arg-type]


def joined(blocks: Iterable[Block], name: str) -> np.ndarray:
    """One array or list of all blocks; of those that hold a start as well, the starts once."""
    parts = [np.array(getattr(block, name)) for block in blocks]
    if name in {"pose", "drag", "distance"}:
        parts = parts[:1] + [part[1:] for part in parts[1:]]
    return np.concatenate(parts)


def same_bits(one: Sequence[Block], other: Sequence[Block]) -> bool:
    """Whether two runs are the same in every number, however they were cut."""
    return all(np.array_equal(joined(one, name), joined(other, name)) for name in ARRAYS) and [
        contact for block in one for contact in block.contacts
    ] == [contact for block in other for contact in block.contacts]
