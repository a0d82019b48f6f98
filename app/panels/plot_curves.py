"""Curves over the turn input, as numbers; free of the library that draws them, which is slow to load."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from app.units import show_number
from app.views.ground import nice_step
from geometry.axes import Floats

# Curves that are nowhere further apart than this share of what they span look like one.
_SAME = 0.004
# More coinciding curves than that are not listed one by one.
_MOST_NOTES = 4
SHOWN = 0.85
"""Share of the values that is within the axis where the rest runs out of the plot."""

Groups = tuple[tuple[int, ...], ...]
"""Columns of curves that coincide, two or more in each group."""


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
    title: str = ""
    unit: str = ""
    sign: str = ""
    """What stands right behind each value."""
    digits: int = 2
    """Most decimals of a value that is told."""
    wheels: tuple[int, ...] = ()
    """Number of the wheel of each curve; empty where the curves are of something else."""
    note: str = ""
    """What else is to be said of them."""
    runs_out: bool = False
    """Whether the largest values at the turns that are shown run out of the plot: they have no end."""

    def words_of(self, value: float) -> str:
        """A value as it is told."""
        return f"{show_number(value, self.digits)}{self.sign if np.isfinite(value) else ''}"


NO_CURVES = PlotCurves(np.empty(0), np.empty((0, 0)), (), "", 1.0)


def values_range(curves: PlotCurves, low: float, high: float) -> tuple[float, float]:
    """A round range that holds all values, ideals and limits between two turns.

    Of values that run out it holds the lower `SHOWN`, whichever turns they are of.
    """
    inside = (curves.turns >= low) & (curves.turns <= high)
    parts = [curves.values] if curves.ideal is None else [curves.values, curves.ideal]
    seen = np.concatenate([part[inside].ravel() for part in parts])
    seen = np.append(seen[np.isfinite(seen)], [value for value, _ in curves.limits])
    if not seen.size:
        return 0.0, 1.0
    most = np.quantile(seen, SHOWN) if curves.runs_out else seen.max()
    return round_range(float(seen.min()), float(most))


def round_range(low: float, high: float) -> tuple[float, float]:
    """A range with round ends around another, so that it rarely moves while something is dragged."""
    if high - low < 1e-6:
        low, high = low - 0.5, high + 0.5
    step = nice_step((high - low) / 6.0)
    least, most = step * math.floor(low / step - 0.15), step * math.ceil(high / step + 0.15)
    # What is never negative stands on the line of 0.
    return (max(least, 0.0) if low >= 0 else least), most


def within(curves: PlotCurves) -> Floats:
    """The values (M, N) as they are drawn when all turns are shown: what runs out ends at the edge."""
    there = np.isfinite(curves.values)
    if not (curves.runs_out and there.any()):
        return curves.values
    return np.minimum(curves.values, np.quantile(curves.values[there], SHOWN))


def coinciding(values: Floats) -> Groups:
    """Which of some curves (M, C) hide one another over the whole range.

    Examples
    --------
    >>> coinciding(np.array([[0.0, 1.0, 0.0], [5.0, 1.0, 5.0]]))
    ((0, 2),)
    """
    count = values.shape[1]
    there = np.isfinite(values)
    if count < 2 or not there.any():
        return ()
    filled = np.where(there, values, 0.0)
    most = max(_SAME * float(np.ptp(values[there])), 1e-9)
    far = np.abs(filled[:, :, None] - filled[:, None, :]).max(axis=0) > most
    same = ~(far | (there[:, :, None] != there[:, None, :]).any(axis=0))
    same[:, ~there.any(axis=0)] = False
    groups = {tuple(np.flatnonzero(row).tolist()) for row in same}
    found: list[tuple[int, ...]] = []
    for group in sorted(groups):  # what is near a curve of two groups counts to the first
        if len(group) > 1 and not any(set(group) & set(other) for other in found):
            found.append(group)
    return tuple(found)


def same_words(curves: PlotCurves, groups: Groups, most: int = _MOST_NOTES) -> str:
    """Say which curves lie behind which; empty where none does.

    Examples
    --------
    >>> turns = np.array([0.0, 1.0])
    >>> three = PlotCurves(turns, np.zeros((2, 3)), ("left", "right", "rear"), "drag", 1.0)
    >>> same_words(three, ((0, 1),)), same_words(three, ((0, 1, 2),))
    ('right: on the curve of left.', 'All 3 curves lie on one another.')
    """
    if groups and len(groups[0]) == len(curves.names):
        return f"{'Both' if len(groups[0]) == 2 else f'All {len(groups[0])}'} curves lie on one another."
    told = [
        f"{', '.join(curves.names[k] for k in others[:most])}"
        f"{f' and {len(others) - most} more' if len(others) > most else ''}"
        f": on the curve of {curves.names[first]}"
        for first, *others in groups
    ]
    more = f"; and so on, {len(told) - most} more times" if len(told) > most else ""
    return f"{'; '.join(told[:most])}{more}." if told else ""


def limits_words(curves: PlotCurves) -> str:
    """What the lines of the limits are; empty without any."""
    told = [f"{show_number(value, curves.digits)} ({name})" for value, name in curves.limits]
    return f"Lines at {' and '.join(told)}." if told else ""


def values_text(curves: Sequence[PlotCurves]) -> str:
    """Curves over the same turns as tab-separated text, with the unit in each head; a gap is empty."""
    if not curves:
        return ""
    heads = ["turn input", *(f"{name}, {_plain(each)}" for each in curves for name in each.names)]
    columns = np.column_stack([curves[0].turns, *(each.values for each in curves)])
    lines = ["\t".join(" ".join(head.split()) for head in heads)]
    lines += [
        "\t".join("" if math.isnan(value) else f"{value + 0.0:.7g}" for value in row)
        for row in columns.tolist()
    ]
    return "\n".join(lines) + "\n"


def _plain(curves: PlotCurves) -> str:
    return curves.axis.partition(";")[0]


def finite_runs(values: Floats) -> list[tuple[int, int]]:
    """Where an array (M,) holds numbers, as (start, stop) of each run."""
    there = np.isfinite(values)
    if there.all():
        return [(0, len(values))] if len(values) else []
    edges = np.flatnonzero(np.diff(np.concatenate([[False], there, [False]])))
    return list(zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True))
