"""Rows of dimensions beside a drawing: running numbers from a base, and spans in rows."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import Literal, NamedTuple

from app.drawing.elements import Corner, Dimension, Element, Line, Outline, Point, Text
from app.drawing.lettering import text_width
from app.drawing.placing import LETTERS
from app.units import show_number

Side = Literal["left", "right", "above", "below"]
_PITCH, _ROW = 4.2, 7.0
"""Least distance of two running numbers, and of two rows of spans [mm]."""
_TO_FIRST = 6.0
_GAP = 1.0
_SAME_ROW_GAP = 1.4


def number(value_mm: float) -> str:
    """A length as it is written, with two decimals at the most."""
    return show_number(value_mm, 2)


class Reading(NamedTuple):
    """A place whose distance from the base is told."""

    value: float
    """Signed distance [mm]."""
    at: Point
    """Where its line begins."""


def once(readings: Sequence[Reading], outermost: Callable[[Point], float]) -> list[Reading]:
    """Each number once, from the place that is outermost, in ascending order."""
    found: dict[str, Reading] = {}
    for reading in readings:
        key = number(reading.value)
        if key not in found or outermost(reading.at) > outermost(found[key].at):
            found[key] = reading
    return sorted(found.values())


def running(readings: Sequence[Reading], side: Side, edge: float) -> list[Element]:
    """Running numbers at one side of a drawing, each at the end of a line from its place.

    Parameters
    ----------
    readings : sequence of Reading
        In any order; equal numbers are told once, from the place that is nearest to that side.
    side : Side
        Where the numbers stand.
    edge : float
        x or y from which on there is room, towards that side [mm].

    Returns
    -------
    list of elements
        For each number its line and then the number.
    """
    out = 1.0 if side in ("right", "above") else -1.0
    upright = side in ("above", "below")
    outer, along = (1, 0) if upright else (0, 1)
    chosen = sorted(once(readings, lambda p: out * p[outer]), key=lambda reading: reading.at[along])
    wanted = [reading.at[along] for reading in chosen]
    places = spread(wanted, _PITCH)
    slant = max([3.0, *(0.4 * abs(a - b) for a, b in zip(wanted, places, strict=True))])
    made: list[Element] = []

    def point(u: float, v: float) -> Point:
        return (u, v) if upright else (v, u)

    for reading, place in zip(chosen, places, strict=True):
        u, v = reading.at[along], reading.at[outer]
        start, end = point(u, v + out * _GAP), point(place, edge + out * (3.0 + slant))
        knees = [point(u, edge + out * 1.5), point(place, edge + out * (1.5 + slant))]
        if abs(place - u) < 1e-9:
            made.append(Line("dimension", start, end))
        else:
            corners = tuple(Corner(*p) for p in (start, *knees, end))
            made.append(Outline("dimension", corners, closed=False))
        far = edge + out * (4.0 + slant)
        lift = 0.26 * LETTERS
        text = number(reading.value)
        align: Literal["left", "right"] = "left" if out > 0 else "right"
        where = (place + lift, far) if upright else (far, place - lift)
        made.append(Text("dimension", where, text, LETTERS, align, 0.5 * math.pi if upright else 0.0))
    return made


def spread(wanted: Sequence[float], pitch: float) -> list[float]:
    """Places at least a pitch apart, as near to ascending wanted ones as can be (least squares).

    Examples
    --------
    >>> spread([0.0, 1.0, 10.0], 3.0)
    [-1.0, 2.0, 10.0]
    """
    # Less their own share of the pitches the places must ascend: neighbours that do not are pooled.
    pools: list[tuple[float, int]] = []
    for i, place in enumerate(wanted):
        pools.append((place - pitch * i, 1))
        while len(pools) > 1 and pools[-2][0] > pools[-1][0]:
            (b, n), (a, m) = pools.pop(), pools.pop()
            pools.append(((a * m + b * n) / (m + n), m + n))
    levels = [level for level, count in pools for _ in range(count)]
    return [level + pitch * i for i, level in enumerate(levels)]


class Span(NamedTuple):
    """Two places whose distance is told."""

    start: Point
    end: Point


def rows(
    chains: Sequence[Sequence[Span]], side: Literal["left", "below"], edge: float, scale: float = 1.0
) -> list[Element]:
    """Spans in rows beside a drawing, each chain in rows of its own, as few as its numbers have room in.

    Parameters
    ----------
    chains : sequence of sequences of Span
        From the drawing outward. Below, spans run to the right; at the left they run upward.
    side : 'left' or 'below'
        Where they stand.
    edge : float
        x or y from which on there is room [mm].
    scale : float
        Size on paper by real size; numbers tell real sizes.
    """
    made: list[Element] = []
    first = edge - _TO_FIRST
    axis = 0 if side == "below" else 1
    for chain in chains:
        taken: list[list[tuple[float, float]]] = []
        for span in sorted(chain, key=lambda one: min(one.start[axis], one.end[axis])):
            low, high = sorted((span.start[axis], span.end[axis]))
            text = number((high - low) / scale)
            half = 0.5 * (text_width(text, LETTERS) + _SAME_ROW_GAP)
            middle = 0.5 * (low + high)
            needs = min(low + 0.05, middle - half), max(high - 0.05, middle + half)
            row = next(
                (i for i, row in enumerate(taken) if all(needs[0] >= b or needs[1] <= a for a, b in row)),
                len(taken),
            )
            if row == len(taken):
                taken.append([])
            taken[row].append(needs)
            level = first - _ROW * row
            ordered = span if span.start[axis] == low else Span(span.end, span.start)
            if side == "below":
                made.append(Dimension(*ordered, 0.0, level - ordered.start[1], text, LETTERS))
            else:
                made.append(Dimension(*ordered, 0.5 * math.pi, ordered.start[0] - level, text, LETTERS))
        first -= _ROW * len(taken)
    return made
