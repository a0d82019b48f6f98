"""Curves that several tests of the lookup tables share: smooth ones, and those of a chassis."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from geometry.axes import Floats
from geometry.kinematics.ideal import solve
from geometry.kinematics.motion import from_turn
from geometry.lookup_table.error_band import OutputCurves
from geometry.lookup_table.fit import breaks_and_kinks
from geometry.model.base_axle import base_of
from geometry.model.design import Design
from geometry.model.wheel_arrays import wheel_arrays
from geometry.turn_range.sweep import landmarks


def one(curve: Callable[[Floats], Floats], allowed: float = 0.1, **more: object) -> OutputCurves:
    """A single output over the whole range, without a kink."""
    values = {"low": -1.0, "high": 1.0, "kinks": (), **more}
    return OutputCurves(values=lambda turn: curve(turn)[:, None], allowed=[allowed], **values)  # type: ignore[arg-type]


def arctan(turn: Floats) -> Floats:
    """An angle in degrees without a corner."""
    return np.degrees(np.arctan(turn))


def step_at(*places: float) -> Callable[[Floats], Floats]:
    """A curve that bends a little and jumps by 100 at each place."""
    return lambda turn: arctan(turn) + 100.0 * sum((turn > place).astype(float) for place in places)


def steering_of(design: Design, degrees: float = 0.1, share: float | None = None) -> OutputCurves:
    """Steer angles of the steered wheels in degrees, then rolling speeds of the driven ones."""
    wheels, base = wheel_arrays(design), base_of(design)
    steered = np.flatnonzero(wheels.steered)
    driven = np.flatnonzero([wheel.driven for wheel in design.wheels]) if share else steered[:0]

    def values(turn: Floats) -> Floats:
        found = solve(wheels, from_turn(turn, base))
        return np.concatenate([np.degrees(found.steer[:, steered]), found.roll[:, driven]], axis=1)

    breaks, kinks = breaks_and_kinks(landmarks(wheels, base, design.largest_turn))
    allowed = [degrees] * len(steered) + [share or 0.0] * len(driven)
    return OutputCurves(values, -design.largest_turn, design.largest_turn, allowed, breaks, kinks)
