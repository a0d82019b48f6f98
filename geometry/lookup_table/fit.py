"""Lookup tables fitted to a stated error, with the proof that they keep to it.

`fit_table` finds few rows for which the controller's own integer arithmetic stays within the
allowed error of the curves at every turn. The proof has two parts, both in the result:

1. the controller's answer against the curves at every turn step that exists: not a sample,
   all of them. It counts the rounding of rows and of the interpolation;
2. how far the curves go within half a step, since the wanted turn is rounded to a step:
   evaluated at the halves, with the analytic bound for what lies between (see `tube`).

Where a chassis has so many outputs or needs so fine steps that all of them would take too
long, the first part asks chosen steps and the rows. Between these the table is straight and
the curves are nearly so; how far they are from their chords is counted in the second part.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from geometry.axes import Floats, frozen_array
from geometry.errors import TableError
from geometry.lookup_table.error_band import (
    MOST_TURN_ONE,
    TURN_ONE,
    OutputCurves,
    Stretch,
    Tube,
    TurnRounding,
    checked_allowed,
    counts_for,
    sampled,
    tubes_of,
)
from geometry.lookup_table.even_nodes import MOST_NUMBERS, even_step
from geometry.lookup_table.fixed_point import (
    MOST_32,
    MOST_VALUE,
    NUMBERS_OF_A_SEGMENT,
    Counts,
    LookupTable,
    Segment,
    Spacing,
    line_all,
    lookup_all,
)
from geometry.lookup_table.free_nodes import THINNINGS, fewest_rows, samples_of
from geometry.progress import Progress, part_of, unwatched
from geometry.turn_range.sweep import JUMPS, Landmark

# The search for the best error within a size ends when it is known this well.
_SIZE_SEARCH = 1.02
# ... or, where not every step is looked at, this well.
_COARSE_SIZE_SEARCH, _FASTEST = 1.1, 64.0
_TOO_SMALL = "no error makes the table that small, so allow more bytes"
_MOST_TIMES = 1e6
# A part of a table: the first and last step it answers, distance of rows, their steps and values.
_Part = tuple[int, int, int, Counts, Floats]


@dataclass(frozen=True, eq=False)
class FittedTable:
    """A table with its proof; arrays over all M turn steps are read-only."""

    table: LookupTable
    allowed: Floats
    """(C,): what was asked for [unit of the output]."""
    steps: Counts
    """(M,): the turn steps that are proved: each of them, or chosen ones and the rows."""
    exact: Floats
    """(M, C): the curves there [unit of the output]."""
    error: Floats
    """(M, C): the controller's answer minus the curve there [unit of the output]; where the
    steps are chosen ones, the largest that it can be by its rounding."""
    turn_rounding: Floats
    """(M, C): how far the curve goes within half a step [unit of the output]."""

    @property
    def turn(self) -> Floats:
        """(M,): turn inputs of the steps."""
        return np.asarray(self.steps / self.table.turn_one)

    @property
    def every_step(self) -> bool:
        """Whether each turn step is proved by itself."""
        return len(self.steps) == self.table.last - self.table.first + 1

    def with_table(self, table: LookupTable) -> FittedTable:
        """The proof of another table, all of whose rows are at steps that are proved."""
        return replace(self, table=table, error=frozen_array(_error(table, self.steps, self.exact)))

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


def fit_table(
    curves: OutputCurves,
    spacing: Spacing = "free",
    *,
    turn_one: int = TURN_ONE,
    turn_rounding: TurnRounding = "counted",
    largest_bytes: int | None = None,
    progress: Progress = unwatched,
) -> FittedTable:
    """Fit a table with few rows to curves.

    Parameters
    ----------
    curves : OutputCurves
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
    progress : callable
        Told the share that is done.

    Returns
    -------
    FittedTable
        The table and its proof; the same input gives the same table to the last bit.

    Raises
    ------
    TableError
        If the range, an allowed error or a curve is no good, or if the error cannot be met
        within 32 bits, by steps of the turn, or within the size; it then says what can.
    Cancelled
        If `progress` returned False.

    Examples
    --------
    >>> curves = OutputCurves(lambda turn: np.degrees(np.arctan(turn))[:, None], -1.0, 1.0, [0.5])
    >>> found = fit_table(curves)
    >>> found.table.nodes.size, found.table.size, bool(found.bound[0] <= 0.5)
    (6, 24, True)
    """
    if not 16 <= turn_one <= MOST_TURN_ONE:
        raise TableError(f"turn_one must be from 16 to {MOST_TURN_ONE} (got {turn_one})")
    allowed = checked_allowed(curves)
    stretches = sampled(curves, turn_one, len(allowed), part_of(progress, 0.0, 0.5))
    fits = 0

    def at(times: float) -> FittedTable:
        nonlocal fits
        fits += 1
        part = part_of(progress, 1.0 - 0.5**fits, 1.0 - 0.5 ** (fits + 1) if largest_bytes else 1.0)
        return _fitted(stretches, allowed, times, spacing, turn_one, turn_rounding, part)

    found = at(1.0)
    if largest_bytes is not None and found.table.size > largest_bytes:
        least = _least_size(stretches, len(allowed), spacing)
        _refuse_size(at, found, largest_bytes, hopeless=least > largest_bytes)
    return found


def _refuse_size(
    at: Callable[[float], FittedTable], found: FittedTable, largest_bytes: int, *, hopeless: bool
) -> None:
    """Find the best error within the size by halving, and say so."""
    asked = ", ".join(f"{error:g}" for error in found.allowed)
    start = f"an error of {asked} takes {found.table.size} bytes, but at most {largest_bytes} are allowed"
    low, high, faster = 1.0, 2.0, 2.0
    if hopeless:
        raise TableError(f"{start}; {_TOO_SMALL}")
    while (size := at(high).table.size) > largest_bytes:
        if not found.every_step:  # fewer fits: the rows go with the root of the error
            faster = min(max(2.0, (size / largest_bytes) ** 2), _FASTEST)
        low, high = high, faster * high
        if high > _MOST_TIMES:
            raise TableError(f"{start}; {_TOO_SMALL}")
    near = _SIZE_SEARCH if found.every_step else _COARSE_SIZE_SEARCH
    while high / low > near:
        middle = (low * high) ** 0.5
        low, high = (middle, high) if at(middle).table.size > largest_bytes else (low, middle)
    best = ", ".join(f"{error:.3g}" for error in 1.005 * high * found.allowed)
    raise TableError(
        f"{start}; within them the best is an error of about {best}: allow that, or more bytes", high
    )


def _least_size(stretches: tuple[Stretch, ...], outputs: int, spacing: Spacing) -> int:
    """Bytes below which no table of these stretches falls: their end rows, two bytes a number."""
    rows = sum(1 + (stretch.last > stretch.first) for stretch in stretches)
    more = rows if spacing == "free" else NUMBERS_OF_A_SEGMENT * len(stretches)
    return 2 * (rows * outputs + more)


def _fitted(
    stretches: tuple[Stretch, ...],
    allowed: Floats,
    times: float,
    spacing: Spacing,
    turn_one: int,
    rounding: TurnRounding,
    progress: Progress,
) -> FittedTable:
    shift, value_bytes = counts_for(stretches, allowed, times)
    tubes = tubes_of(stretches, times * allowed, shift, turn_one, rounding)
    if spacing == "even":
        parts = [
            part for tube, told in _each(tubes, progress) for part in _even_parts(tube, value_bytes, told)
        ]
        return _proved(_table(parts, spacing, turn_one, shift, value_bytes), stretches, allowed)
    for i, thinning in enumerate(THINNINGS):
        left = part_of(progress, 1.0 - 0.2**i, 1.0 - 0.2 ** (i + 1))
        parts = [_free_part(tube, thinning, told) for tube, told in _each(tubes, left)]
        found = _proved(_table(parts, spacing, turn_one, shift, value_bytes), stretches, allowed)
        if _keeps(found, times, rounding):
            return found
    raise TableError("found no table that keeps to the allowed error; allow a larger one")


def _each(tubes: tuple[Tube, ...], progress: Progress) -> Iterator[tuple[Tube, Progress]]:
    """The tubes, each with the part of the progress that its steps are worth."""
    ends = np.cumsum([0, *(len(tube.middle) for tube in tubes)])
    ends = ends / ends[-1]
    for tube, (start, end) in zip(tubes, pairwise(ends.tolist()), strict=True):
        yield tube, part_of(progress, start, end)


def _keeps(found: FittedTable, times: float, rounding: TurnRounding) -> bool:
    worst = found.bound if rounding == "counted" else found.bound_at_steps
    return bool((worst <= times * found.allowed).all())


def _free_part(tube: Tube, thinning: float, progress: Progress) -> _Part:
    steps, values = fewest_rows(samples_of(tube, MOST_32, thinning), progress)
    return tube.stretch.first, tube.stretch.last, 0, tube.stretch.first + steps, values


def _even_parts(tube: Tube, value_bytes: int, progress: Progress) -> list[_Part]:
    """One evenly spaced segment, or several that meet at kinks where that takes fewer bytes."""
    # A kink between two steps is told by both; the second one starts anew.
    cuts = [cut for cut in tube.stretch.kinks if cut + 1 not in tube.stretch.kinks]
    edges = [0, *cuts, int(tube.stretch.steps[-1]) + 1]
    shares = np.linspace(0.0, 1.0, len(edges) + 1).tolist()
    split, most = [], None
    for ends, share in zip(pairwise(edges if cuts else []), pairwise(shares[:-1]), strict=False):
        split.append(_even_part(_piece(tube, *ends), value_bytes, None, part_of(progress, *share)))
    parts = [part for part in split if part is not None]
    if cuts and len(parts) == len(split):
        stored = sum(part[4].size for part in parts) + NUMBERS_OF_A_SEGMENT * len(parts)
        # More pieces would take more bytes.
        most = (stored - NUMBERS_OF_A_SEGMENT) // max(1, tube.middle.shape[1]) - 1
    whole = _even_part(tube, value_bytes, most, part_of(progress, shares[-2], 1.0))
    if whole is not None and (most is None or len(whole[4]) - 1 <= most):
        return [whole]
    if most is None:
        raise TableError(
            f"evenly spaced rows would be more than {MOST_NUMBERS:,} numbers; choose free spacing"
        )
    return parts


def _even_part(tube: Tube, value_bytes: int, most_pieces: int | None, progress: Progress) -> _Part | None:
    found = even_step(tube, MOST_VALUE[value_bytes], MOST_32, most_pieces, progress)
    if found is None:
        return None
    step, values = found
    first = tube.stretch.first
    return first, tube.stretch.last, step, first + step * np.arange(len(values)), values


def _piece(tube: Tube, start: int, end: int) -> Tube:
    rows = tube.stretch.rows(start, end)
    stretch = tube.stretch.part(start, end)
    return replace(tube, stretch=stretch, middle=tube.middle[rows], room=tube.room[rows])


def _table(
    parts: list[_Part], spacing: Spacing, turn_one: int, shift: Counts, value_bytes: int
) -> LookupTable:
    segments, row = [], 0
    for first, last, step, nodes, _ in parts:
        segments.append(Segment(first, last, step, row, len(nodes)))
        row += len(nodes)
    return LookupTable(
        spacing=spacing,
        turn_one=turn_one,
        segments=tuple(segments),
        nodes=frozen_array(np.concatenate([part[3] for part in parts]), np.int64),
        values=frozen_array(np.floor(np.concatenate([part[4] for part in parts]) + 0.5), np.int64),
        shift=frozen_array(shift, np.int64),
        value_bytes=value_bytes,
    )


def _proved(table: LookupTable, stretches: tuple[Stretch, ...], allowed: Floats) -> FittedTable:
    if any(stretch.chosen is not None for stretch in stretches):
        stretches = tuple(_with_rows(stretch, table.nodes) for stretch in stretches)
    steps = np.concatenate([stretch.first + stretch.steps for stretch in stretches])
    exact = np.concatenate([stretch.exact for stretch in stretches])
    return FittedTable(
        table=table,
        allowed=frozen_array(allowed),
        steps=frozen_array(steps, np.int64),
        exact=frozen_array(exact),
        error=frozen_array(_error(table, steps, exact)),
        turn_rounding=frozen_array(np.concatenate([stretch.between for stretch in stretches])),
    )


def _error(table: LookupTable, steps: Counts, exact: Floats) -> Floats:
    if len(steps) == table.last - table.first + 1:
        return lookup_all(table, steps) * table.scale - exact
    # Between two of the steps the line is at most as far off as at one of them, and its rounding
    # takes half a count.
    error = line_all(table, steps) * table.scale - exact
    return np.asarray(error + np.copysign(0.5 * table.scale, error))


def _with_rows(stretch: Stretch, nodes: Counts) -> Stretch:
    """A stretch of chosen steps with the rows of a table put in, on the chords of its curves."""
    steps = stretch.steps
    inside = nodes[(nodes > stretch.first) & (nodes < stretch.last)] - stretch.first
    new = np.setdiff1d(inside, steps)
    if not len(new):
        return stretch
    place = np.searchsorted(steps, new)
    share = ((new - steps[place - 1]) / (steps[place] - steps[place - 1]))[:, None]
    exact = stretch.exact[place - 1] * (1.0 - share) + stretch.exact[place] * share
    between = np.maximum(stretch.between[place - 1], stretch.between[place])
    return replace(
        stretch,
        exact=np.insert(stretch.exact, place, exact, axis=0),
        between=np.insert(stretch.between, place, between, axis=0),
        chosen=np.insert(steps, place, new),
    )
