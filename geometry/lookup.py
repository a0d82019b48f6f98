"""Lookup tables fitted to a stated error, with the proof that they keep to it.

`fit` finds few rows for which the controller's own integer arithmetic stays within the
allowed error of the curves at every turn. The proof has two parts, both in the result:

1. the controller's answer against the curves at every turn step that exists: not a sample,
   all of them. It counts the rounding of rows and of the interpolation;
2. how far the curves go within half a step, since the wanted turn is rounded to a step:
   evaluated at the halves, with the analytic bound for what lies between (see `tube`).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from geometry.axes import Floats, frozen_array
from geometry.errors import TableError
from geometry.even_nodes import even_step
from geometry.fixed_point import (
    MOST_32,
    MOST_VALUE,
    NUMBERS_OF_A_SEGMENT,
    Counts,
    Segment,
    Spacing,
    Table,
    lookup_all,
)
from geometry.free_nodes import THINNINGS, fewest_rows, samples_of
from geometry.sweep import JUMPS, Landmark
from geometry.tube import (
    MOST_TURN_ONE,
    TURN_ONE,
    Curves,
    Stretch,
    Tube,
    TurnRounding,
    checked_allowed,
    counts_for,
    sampled,
    tubes_of,
)

# The search for the best error within a size ends when it is known this well.
_SIZE_SEARCH = 1.02
_MOST_TIMES = 1e6
# A part of a table: the first and last step it answers, distance of rows, their steps and values.
_Part = tuple[int, int, int, Counts, Floats]


@dataclass(frozen=True, eq=False)
class Fit:
    """A table with its proof; arrays over all M turn steps are read-only."""

    table: Table
    allowed: Floats
    """(C,): what was asked for [unit of the output]."""
    turn: Floats
    """(M,): turn input of each turn step."""
    error: Floats
    """(M, C): the controller's answer minus the curve at each step [unit of the output]."""
    turn_rounding: Floats
    """(M, C): how far the curve goes within half a step [unit of the output]."""

    @property
    def bound_at_steps(self) -> Floats:
        """Largest error where the turn is a whole step, (C,) [unit of the output]."""
        return np.asarray(np.abs(self.error).max(axis=0))

    @property
    def bound(self) -> Floats:
        """Largest error at any turn, its rounding to a step counted, (C,) [unit of the output].

        Within half a step of a break the answer may be that of its other side.
        """
        return np.asarray((np.abs(self.error) + self.turn_rounding).max(axis=0))


def breaks_and_kinks(marks: Iterable[Landmark]) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Turns of a sweep's landmarks at which angles jump, and at which slopes may.

    Examples
    --------
    >>> breaks_and_kinks([Landmark(0.0, "straight"), Landmark(0.5, "flip", 2)])
    ((0.5,), (0.0,))
    """
    found = list(marks)
    breaks = sorted({mark.turn for mark in found if mark.kind in JUMPS})
    kinks = sorted({mark.turn for mark in found if mark.kind in {"straight", "travel end"}} - set(breaks))
    return tuple(breaks), tuple(kinks)


def fit(
    curves: Curves,
    spacing: Spacing = "free",
    *,
    turn_one: int = TURN_ONE,
    turn_rounding: TurnRounding = "counted",
    largest_bytes: int | None = None,
) -> Fit:
    """Fit a table with few rows to curves.

    Parameters
    ----------
    curves : Curves
        C outputs over a range of turns, with their allowed errors.
    spacing : {"even", "free"}
        Evenly spaced rows, found by one division, or fewest bytes, found by halving.
    turn_one : int
        Turn steps that make a turn input of 1, from 16 to 262144.
    turn_rounding : {"counted", "told"}
        Whether the rounding of the turn to a step must fit into the allowed error as well,
        or is only told in the result.
    largest_bytes : int, optional
        Largest size of the table.

    Returns
    -------
    Fit
        The table and its proof; the same input gives the same table to the last bit.

    Raises
    ------
    TableError
        If the range, an allowed error or a curve is no good, or if the error cannot be met
        within 32 bits, by steps of the turn, or within the size; it then says what can.

    Examples
    --------
    >>> curves = Curves(lambda turn: np.degrees(np.arctan(turn))[:, None], -1.0, 1.0, [0.5])
    >>> found = fit(curves)
    >>> found.table.nodes.size, found.table.size, bool(found.bound[0] <= 0.5)
    (6, 24, True)
    """
    if not 16 <= turn_one <= MOST_TURN_ONE:
        raise TableError(f"turn_one must be from 16 to {MOST_TURN_ONE} (got {turn_one})")
    allowed = checked_allowed(curves)
    stretches = sampled(curves, turn_one, len(allowed))

    def at(times: float) -> Fit:
        return _fitted(stretches, allowed, times, spacing, turn_one, turn_rounding)

    found = at(1.0)
    if largest_bytes is not None and found.table.size > largest_bytes:
        _refuse_size(at, found, largest_bytes)
    return found


def _refuse_size(at: Callable[[float], Fit], found: Fit, largest_bytes: int) -> None:
    """Find the best error within the size by halving, and say so."""
    asked = ", ".join(f"{error:g}" for error in found.allowed)
    start = f"an error of {asked} takes {found.table.size} bytes, but at most {largest_bytes} are allowed"
    low, high = 1.0, 2.0
    while at(high).table.size > largest_bytes:
        low, high = high, 2.0 * high
        if high > _MOST_TIMES:
            raise TableError(f"{start}; no error makes the table that small, so allow more bytes")
    while high / low > _SIZE_SEARCH:
        middle = (low * high) ** 0.5
        low, high = (middle, high) if at(middle).table.size > largest_bytes else (low, middle)
    best = ", ".join(f"{error:.3g}" for error in 1.005 * high * found.allowed)
    raise TableError(
        f"{start}; within them the best is an error of about {best}: allow that, or more bytes", high
    )


def _fitted(
    stretches: tuple[Stretch, ...],
    allowed: Floats,
    times: float,
    spacing: Spacing,
    turn_one: int,
    rounding: TurnRounding,
) -> Fit:
    shift, value_bytes = counts_for(stretches, allowed, times)
    tubes = tubes_of(stretches, times * allowed, shift, turn_one, rounding)
    if spacing == "even":
        parts = [part for tube in tubes for part in _even_parts(tube, value_bytes)]
        return _proved(_table(parts, spacing, turn_one, shift, value_bytes), stretches, allowed)
    for thinning in THINNINGS:
        parts = [_free_part(tube, thinning) for tube in tubes]
        found = _proved(_table(parts, spacing, turn_one, shift, value_bytes), stretches, allowed)
        if _keeps(found, times, rounding):
            return found
    raise TableError("found no table that keeps to the allowed error; allow a larger one")


def _keeps(found: Fit, times: float, rounding: TurnRounding) -> bool:
    worst = found.bound if rounding == "counted" else found.bound_at_steps
    return bool((worst <= times * found.allowed).all())


def _free_part(tube: Tube, thinning: float) -> _Part:
    steps, values = fewest_rows(samples_of(tube, MOST_32, thinning))
    return tube.stretch.first, tube.stretch.last, 0, tube.stretch.first + steps, values


def _even_parts(tube: Tube, value_bytes: int) -> list[_Part]:
    """One evenly spaced segment, or several that meet at kinks where that takes fewer bytes."""
    whole = [_even_part(tube, value_bytes)]
    # A kink between two steps is told by both; the second one starts anew.
    cuts = [cut for cut in tube.stretch.kinks if cut + 1 not in tube.stretch.kinks]
    if not cuts:
        return whole
    edges = [0, *cuts, len(tube.middle)]
    split = [_even_part(_piece(tube, start, end), value_bytes) for start, end in pairwise(edges)]

    def stored(parts: list[_Part]) -> int:
        return sum(part[4].size for part in parts) + NUMBERS_OF_A_SEGMENT * len(parts)

    return min(whole, split, key=stored)


def _even_part(tube: Tube, value_bytes: int) -> _Part:
    step, values = even_step(tube, MOST_VALUE[value_bytes], MOST_32)
    first = tube.stretch.first
    return first, tube.stretch.last, step, first + step * np.arange(len(values)), values


def _piece(tube: Tube, start: int, end: int) -> Tube:
    rows = slice(start, end)
    stretch = Stretch(
        tube.stretch.first + start, tube.stretch.exact[rows], tube.stretch.between[rows], kinks=()
    )
    return replace(tube, stretch=stretch, middle=tube.middle[rows], room=tube.room[rows])


def _table(parts: list[_Part], spacing: Spacing, turn_one: int, shift: Counts, value_bytes: int) -> Table:
    segments, row = [], 0
    for first, last, step, nodes, _ in parts:
        segments.append(Segment(first, last, step, row, len(nodes)))
        row += len(nodes)
    return Table(
        spacing=spacing,
        turn_one=turn_one,
        segments=tuple(segments),
        nodes=frozen_array(np.concatenate([part[3] for part in parts]), np.int64),
        values=frozen_array(np.floor(np.concatenate([part[4] for part in parts]) + 0.5), np.int64),
        shift=frozen_array(shift, np.int64),
        value_bytes=value_bytes,
    )


def _proved(table: Table, stretches: tuple[Stretch, ...], allowed: Floats) -> Fit:
    steps = np.arange(table.first, table.last + 1)
    exact = np.concatenate([stretch.exact for stretch in stretches])
    return Fit(
        table=table,
        allowed=frozen_array(allowed),
        turn=frozen_array(steps / table.turn_one),
        error=frozen_array(lookup_all(table, steps) * table.scale - exact),
        turn_rounding=frozen_array(np.concatenate([stretch.between for stretch in stretches])),
    )
