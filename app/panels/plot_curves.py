"""Curves over the turn input, as numbers; free of the library that draws them, which is slow to load."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from app.views.ground import nice_step
from geometry.axes import Floats


@dataclass(frozen=True, eq=False)
class PlotCurves:
    """One curve for each name; NaN leaves a gap."""

    turns: Floats
    """Turn inputs in rising order, (M,)."""
    values: Floats
    """(M, N) in the unit of the axis."""
    names: tuple[str, ...]
    axis: str
    """What the values are, with their unit."""
    reach: float
    """Largest turn input."""
    ideal: Floats | None = None
    """What would suit, where the values differ from it; else NaN, (M, N)."""
    limits: tuple[tuple[float, str], ...] = ()
    """Values that part good from bad, with their names."""


NO_CURVES = PlotCurves(np.empty(0), np.empty((0, 0)), (), "", 1.0)


def values_range(curves: PlotCurves, low: float, high: float) -> tuple[float, float]:
    """A round range that holds all values, ideals and limits between two turns."""
    inside = (curves.turns >= low) & (curves.turns <= high)
    parts = [curves.values] if curves.ideal is None else [curves.values, curves.ideal]
    seen = np.concatenate([part[inside].ravel() for part in parts])
    seen = np.append(seen[np.isfinite(seen)], [value for value, _ in curves.limits])
    return round_range(float(seen.min()), float(seen.max())) if seen.size else (0.0, 1.0)


def round_range(low: float, high: float) -> tuple[float, float]:
    """A range with round ends around another, so that it rarely moves while something is dragged."""
    if high - low < 1e-6:
        low, high = low - 0.5, high + 0.5
    step = nice_step((high - low) / 6.0)
    least, most = step * math.floor(low / step - 0.15), step * math.ceil(high / step + 0.15)
    # What is never negative stands on the line of 0.
    return (max(least, 0.0) if low >= 0 else least), most


def finite_runs(values: Floats) -> list[tuple[int, int]]:
    """Where an array (M,) holds numbers, as (start, stop) of each run."""
    there = np.isfinite(values)
    if there.all():
        return [(0, len(values))] if len(values) else []
    edges = np.flatnonzero(np.diff(np.concatenate([[False], there, [False]])))
    return list(zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True))
