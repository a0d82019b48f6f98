"""The lookup table as the controller holds it, and the integer arithmetic that it does.

A turn input s is the whole number ``q = round(turn_one * s)``, its turn step; an output is
a whole number of counts, each worth `Table.scale`. Between two rows, w turn steps apart, d
steps past the first, an output is ``v0 +- (|v1 - v0| d + w // 2) // w``: one division of
numbers that are not negative, so that Python, MicroPython and C99 agree to the last bit.

Two rows one turn step apart have no turn between them. So a flip needs no special case: the
last step before it and the first one after it are both rows, and nothing is interpolated
across. In a table with even spacing each segment between flips has its own step.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
import numpy.typing as npt

from geometry.axes import Floats

Counts = npt.NDArray[np.int64]
Spacing = Literal["even", "free"]

# The largest whole number of a signed 32-bit register.
MOST_32 = 2**31 - 1
# Values beyond these would overflow a register when one is taken from another.
MOST_VALUE = {2: 2**15 - 1, 4: 2**30 - 1}
# What a segment of an even table takes: first turn step, distance of rows, first row.
NUMBERS_OF_A_SEGMENT = 3


@dataclass(frozen=True)
class Segment:
    """A run of rows without a flip."""

    first: int
    """Turn step of its first row."""
    last: int
    """Last turn step that it answers; the last row of an even segment may lie beyond."""
    step: int
    """Turn steps from row to row in a table with even spacing, else 0."""
    row: int
    """Its first row in the table."""
    rows: int
    """Number of its rows."""


@dataclass(frozen=True, eq=False)
class LookupTable:
    """A fitted table of N rows and C outputs; arrays are read-only."""

    spacing: Spacing
    turn_one: int
    """Turn steps that make a turn input of 1."""
    segments: tuple[Segment, ...]
    """In rising order; each turn step from the first to the last belongs to one."""
    nodes: Counts
    """(N,): turn step of each row; rising within a segment. An even table need not store them."""
    values: Counts
    """(N, C): outputs [counts]."""
    shift: Counts
    """(C,): a count is ``2 ** -shift`` of the output's unit."""
    value_bytes: int
    """Bytes of a stored value: 2 or 4."""

    @property
    def scale(self) -> Floats:
        """What a count of each output is worth, (C,) [unit of the output]."""
        return np.asarray(np.ldexp(1.0, -self.shift))

    @property
    def turn_bytes(self) -> int:
        """Bytes of a stored turn step or of a distance between two: 2 or 4."""
        # One row at either end of the whole range stands twice turn_one from the other.
        steps = (segment.step for segment in self.segments) if self.spacing == "even" else ()
        return 2 if max(self.turn_one, *steps, 0) <= MOST_VALUE[2] else 4

    @property
    def size(self) -> int:
        """Bytes of all numbers that the controller stores."""
        values = self.values.size * self.value_bytes
        if self.spacing == "free":
            return values + len(self.nodes) * self.turn_bytes
        return values + len(self.segments) * NUMBERS_OF_A_SEGMENT * self.turn_bytes

    @property
    def first(self) -> int:
        """The first turn step that it answers."""
        return self.segments[0].first

    @property
    def last(self) -> int:
        """The last turn step that it answers."""
        return self.segments[-1].last


def turn_step(table: LookupTable, turn: float) -> int:
    """Nearest turn step of a turn input, half a step away from 0; held within the table.

    Parameters
    ----------
    table : LookupTable
        The table to ask later.
    turn : float
        Turn input s.

    Returns
    -------
    int
        Turn step, within the first and last of the table.
    """
    size = int(abs(turn) * table.turn_one + 0.5)
    return min(max(size if turn >= 0 else -size, table.first), table.last)


def interpolate(v0: int, v1: int, past: int, width: int) -> int:
    """Value between two rows in whole numbers, as the controller computes it.

    Parameters
    ----------
    v0, v1 : int
        Values of the two rows [counts].
    past : int
        Turn steps past the first row, 0 to `width`.
    width : int
        Turn steps between the rows, at least 1.

    Returns
    -------
    int
        The value, at most half a count from the straight line [counts].

    Examples
    --------
    >>> [interpolate(10, 5, past, 4) for past in range(5)]
    [10, 9, 7, 6, 5]
    """
    if v1 >= v0:
        return v0 + ((v1 - v0) * past + width // 2) // width
    return v0 - ((v0 - v1) * past + width // 2) // width


def lookup(table: LookupTable, step: int) -> tuple[int, ...]:
    """Answer one turn step exactly as the controller does: whole numbers only.

    Parameters
    ----------
    table : LookupTable
        N rows of C outputs.
    step : int
        Turn step; beyond the ends of the table the end answers.

    Returns
    -------
    tuple of int, C long
        Outputs [counts].
    """
    q = min(max(int(step), table.first), table.last)
    row, past, width = _place_even(table, q) if table.spacing == "even" else _place_free(table, q)
    here = table.values[row].tolist()
    if past == 0:
        return tuple(here)
    after = table.values[row + 1].tolist()
    return tuple(interpolate(v0, v1, past, width) for v0, v1 in zip(here, after, strict=True))


def _place_even(table: LookupTable, q: int) -> tuple[int, int, int]:
    """Row at or before a turn step, steps past it, and the width to the next."""
    segment = table.segments[0]
    for other in table.segments[1:]:
        if other.first > q:
            break
        segment = other
    index = (q - segment.first) // segment.step
    return segment.row + index, q - segment.first - index * segment.step, segment.step


def _place_free(table: LookupTable, q: int) -> tuple[int, int, int]:
    """Row at or before a turn step by halving, steps past it, and the width to the next."""
    nodes = table.nodes
    low, high = 0, len(nodes) - 1
    while low < high:
        middle = (low + high + 1) // 2
        if int(nodes[middle]) <= q:
            low = middle
        else:
            high = middle - 1
    past = q - int(nodes[low])
    return low, past, int(nodes[low + 1]) - int(nodes[low]) if past else 1


def lookup_all(table: LookupTable, steps: npt.ArrayLike) -> Counts:
    """Answer many turn steps at once; bit for bit the same as `lookup`.

    Parameters
    ----------
    table : LookupTable
        N rows of C outputs.
    steps : array_like of int, (M,)
        Turn steps; beyond the ends of the table the end answers.

    Returns
    -------
    ndarray of int64, (M, C)
        Outputs [counts].
    """
    row, after, past, width = _places(table, steps)
    return between(table.values[row], table.values[after], past[:, None], width[:, None])


def line_all(table: LookupTable, steps: npt.ArrayLike) -> Floats:
    """The straight lines between the rows, as `lookup_all` but not rounded, (M, C) [counts]."""
    row, after, past, width = _places(table, steps)
    here, share = table.values[row], (past / width)[:, None]
    return np.asarray(here + (table.values[after] - here) * share)


def _places(table: LookupTable, steps: npt.ArrayLike) -> tuple[Counts, Counts, Counts, Counts]:
    """Rows before and after turn steps, steps past the first, and the width to the next; (M,) each."""
    q = np.clip(np.asarray(steps, dtype=np.int64), table.first, table.last)
    starts = np.array([segment.first for segment in table.segments])
    rows = np.array([segment.row for segment in table.segments])
    segment = np.searchsorted(starts, q, side="right") - 1
    if table.spacing == "even":
        width = np.array([other.step for other in table.segments])[segment]
        row = rows[segment] + (q - starts[segment]) // width
    else:
        row = np.searchsorted(table.nodes, q, side="right") - 1
    past = q - table.nodes[row]
    after = np.where(past > 0, row + 1, row)
    width = np.where(past > 0, table.nodes[after] - table.nodes[row], 1)
    return row, after, past, width


def between(v0: Counts, v1: Counts, past: Counts, width: Counts) -> Counts:
    """`interpolate` for arrays that broadcast."""
    rise = v1 - v0
    size = np.abs(rise) * past
    size += width // 2
    size //= width
    return np.asarray(v0 + np.where(rise < 0, -size, size))


def largest_number(table: LookupTable) -> int:
    """Largest size of any number that arises in a lookup, over all turn steps.

    A 32-bit signed register is wide enough where this is at most `MOST_32`. It covers the
    product before the division, the difference of two values, and the values themselves.

    Parameters
    ----------
    table : LookupTable
        N rows of C outputs.

    Returns
    -------
    int
        An upper bound, reached where a row is asked one step before the next.
    """
    largest = max(abs(table.first), abs(table.last), _largest(table.values))
    for segment in table.segments:
        rows = slice(segment.row, segment.row + segment.rows)
        width = np.diff(table.nodes[rows])
        rise = np.abs(np.diff(table.values[rows], axis=0))
        largest = max(largest, _largest(rise), _largest(rise * (width - 1)[:, None] + width[:, None] // 2))
    return largest


def _largest(array: npt.NDArray[Any]) -> int:
    return int(np.abs(array).max(initial=0))
