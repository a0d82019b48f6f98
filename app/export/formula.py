"""The closed form: what the controller needs to find the outputs with arctangents."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from app.export.outputs import ExportError
from geometry.axes import Floats
from geometry.chassis import Design
from geometry.sweep import Landmark


@dataclass(frozen=True)
class Formula:
    """Not yet."""


def formula_of(
    design: Design, values: Callable[[Floats], Floats], marks: tuple[Landmark, ...]
) -> tuple[Formula, Floats, Floats]:
    raise ExportError("not yet")
