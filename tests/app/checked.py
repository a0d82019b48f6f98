"""A design with its check and the words about it in one place, for short tests."""

from __future__ import annotations

from typing import Any

import numpy.typing as npt

from app.controller.motor_outputs import MotorOutputs, outputs_of
from app.design.facts import Facts
from app.units import LengthUnit
from app.words.notices import notices
from app.words.remedies import cause, remedy
from geometry.model.design import Design
from geometry.turn_range.causes import Cause
from geometry.turn_range.range_check import AtTurns, RangeCheck, WheelAtTurn, at_turns


class Checked(RangeCheck):
    """The check of a design over its range, and what there is to say of it."""

    def __init__(self, design: Design, *, rows: int | None = None, **more: Any) -> None:
        self.facts = Facts(design, **more)
        super().__init__(self.facts.robot, design.largest_turn, rows or self.facts.check.rows)
        self.facts.check = self
        self.design = design

    @property
    def notices(self) -> tuple[str, ...]:
        return notices(self.facts)

    def at(self, turns: npt.ArrayLike) -> AtTurns:
        return at_turns(self.robot, turns)

    def outputs(self, at: AtTurns) -> MotorOutputs:
        return outputs_of(self.design, at.response)

    def cause(self, off: WheelAtTurn, at: AtTurns | None = None) -> Cause:
        return cause(self.facts, off, at)

    def remedy(self, off: WheelAtTurn | None, unit: LengthUnit = "mm", at: AtTurns | None = None) -> str:
        assert off is not None
        return remedy(self.facts, off, unit, at)
