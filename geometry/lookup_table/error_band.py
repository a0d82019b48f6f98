"""Curves to be tabled, sampled at every turn step, and the tube that a table must stay in.

A controller holds the turn input as a whole number of steps, so a curve has only so many
turns that can be asked, and all of them are evaluated. What lies between two steps counts
as well: the turn that the person meant is rounded to the nearest step. How far a curve goes
within half a step is evaluated at both halves, plus the analytic bound ``d^2 max|f''| / 8``
for what could lie between those samples, with d half a step and f'' from their second
differences, doubled for safety. Where there are too many steps for it, some are chosen (see
`chosen_steps`), and what lies between them is bounded in the same way.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import ceil, floor, log2
from typing import Literal

import numpy as np

from geometry.axes import Floats
from geometry.errors import SteepError, TableError
from geometry.kinematics.ideal import BLOCK
from geometry.lookup_table.chosen_steps import Run, chosen_steps
from geometry.lookup_table.fixed_point import MOST_VALUE, Counts
from geometry.progress import Progress, part_of, tell, unwatched

TURN_ONE = 16_384
MOST_TURN_ONE = 262_144
TurnRounding = Literal["counted", "told"]

# How far on either side of a break a curve is asked for its value there [turn input].
BESIDE = 1e-9
# Rounding: half a count of a row's value and half a count of the interpolation, and a trace
# for the rounding of the search itself.
ROUNDING_COUNTS = 1.0 + 1e-6
# Turn steps times what one costs, up to which each of them is looked at: what eight wheels take
# at 65536 steps, or 36 at 16384, and a few more.
MOST_LOOKS = 1_200_000
# Numbers evaluated at a time, in whole blocks of rows, so that memory stays small.
_AT_ONCE = 500_000
# Counts that the allowed error should span, so that rounding costs little; and the fewest.
_WANTED_COUNTS = {2: 64.0, 4: 16.0}
_FEWEST_COUNTS = 2.0


@dataclass(frozen=True)
class OutputCurves:
    """What a table is to hold: C outputs over a range of turns."""

    values: Callable[[Floats], Floats]
    """Turn inputs (M,) to outputs (M, C), each in its own unit."""
    low: float
    """Lowest turn input."""
    high: float
    """Highest turn input."""
    allowed: Sequence[float]
    """Largest error of each output, (C,) [unit of the output]."""
    breaks: Sequence[float] = ()
    """Turns at which an output jumps. The turn itself counts to the side nearer to straight."""
    kinks: Sequence[float] = (0.0,)
    """Turns at which a slope jumps; good places for a row."""
    wheels: int = 1
    """Wheels that are worked out for each turn; more of them than outputs count as its cost."""


@dataclass(frozen=True)
class Stretch:
    """A run of turn steps without a break: M of them that are looked at, and C outputs."""

    first: int
    """First turn step."""
    exact: Floats
    """(M, C): the curves at each step [unit of the output]."""
    between: Floats
    """(M, C): how far each curve goes within half a step [unit of the output]."""
    kinks: tuple[int, ...]
    """Steps, counted from `first`, beside which a slope jumps."""
    chosen: Counts | None = None
    """(M,): the steps, counted from `first`; None for each of them."""

    @property
    def steps(self) -> Counts:
        """(M,): the steps that are looked at, counted from `first`."""
        return np.arange(len(self.exact)) if self.chosen is None else self.chosen

    @property
    def last(self) -> int:
        """Last turn step."""
        return self.first + int(self.steps[-1])

    def part(self, start: int, end: int) -> Stretch:
        """The steps from `start` up to `end`, both counted from `first`; without kinks."""
        rows = self.rows(start, end)
        chosen = None if self.chosen is None else self.chosen[rows] - start
        return Stretch(self.first + start, self.exact[rows], self.between[rows], (), chosen)

    def rows(self, start: int, end: int) -> slice:
        """Rows of the steps from `start` up to `end`, both counted from `first`."""
        return slice(*np.searchsorted(self.steps, (start, end)).tolist())


@dataclass(frozen=True)
class Tube:
    """A stretch in counts, with how far a table may be from it."""

    stretch: Stretch
    middle: Floats
    """(M, C): the curves [counts]."""
    room: Floats
    """(M, C): the largest distance before rounding, above 0 [counts]."""

    def at(self, steps: Counts) -> tuple[Floats, Floats]:
        """Middle and room at steps counted from the stretch's first; between chosen ones on their chord."""
        chosen = self.stretch.chosen
        if chosen is None:
            return self.middle[steps], self.room[steps]
        after = np.clip(np.searchsorted(chosen, steps), 1, len(chosen) - 1)
        before = after - 1
        share = ((steps - chosen[before]) / (chosen[after] - chosen[before]))[..., None]
        middle = self.middle[before] * (1.0 - share) + self.middle[after] * share
        return middle, np.minimum(self.room[before], self.room[after])


def checked_allowed(curves: OutputCurves) -> Floats:
    """Give the allowed errors as an array after the checks that need no curve.

    Raises
    ------
    TableError
        If the range is empty or out of -1 to 1, or an allowed error is not above 0.
    """
    if not (-1.0 <= curves.low < curves.high <= 1.0):
        raise TableError(
            f"the turn range of a table must rise within -1 to 1 (got {curves.low:g} to {curves.high:g})"
        )
    allowed = np.array(curves.allowed, dtype=np.float64, ndmin=1)
    for i in np.flatnonzero(~((allowed > 0) & np.isfinite(allowed)))[:1]:
        raise TableError(f"the allowed error of output {i + 1} must be above 0 (got {allowed[i]:g})")
    return allowed


def sampled(
    curves: OutputCurves, turn_one: int, outputs: int, progress: Progress = unwatched
) -> tuple[Stretch, ...]:
    """Evaluate the curves at every turn step and at every half step between.

    Where that takes more than `MOST_LOOKS`, only at chosen ones.

    Parameters
    ----------
    curves : OutputCurves
        C outputs.
    turn_one : int
        Turn steps that make a turn input of 1.
    outputs : int
        C, as the allowed errors say.
    progress : callable
        Told the share that is done.

    Returns
    -------
    tuple of Stretch
        In rising order, without a gap.

    Raises
    ------
    TableError
        If the curves give other than C outputs, or one that is not a number.
    Cancelled
        If `progress` returned False.
    """
    first, last = nearest(curves.low * turn_one), nearest(curves.high * turn_one)
    ends = _ends_of_stretches(curves, turn_one, first, last)
    if (last - first + 1) * max(outputs, curves.wheels) > MOST_LOOKS:
        return _sampled_here_and_there(curves, turn_one, outputs, ends, progress)
    turns = []
    for start, end, low, high in ends:
        halves = np.arange(2 * start - 1, 2 * end + 2) / (2.0 * turn_one)
        turns.append(np.clip(halves, low, high))
    values = _evaluated(curves, np.concatenate(turns), outputs, progress)
    parts = np.split(values, np.cumsum([len(part) for part in turns])[:-1])
    return tuple(
        _stretch(part, start, _kinks_within(curves, turn_one, start, end))
        for part, (start, end, _, _) in zip(parts, ends, strict=True)
    )


def _sampled_here_and_there(
    curves: OutputCurves,
    turn_one: int,
    outputs: int,
    ends: list[tuple[int, int, float, float]],
    progress: Progress,
) -> tuple[Stretch, ...]:
    kinks = [_kinks_within(curves, turn_one, start, end) for start, end, _, _ in ends]
    runs = [
        Run(*end, (0, *(end[0] + kink + beside for kink in inner for beside in (-1, 0))))
        for end, inner in zip(ends, kinks, strict=True)
    ]
    rounds = 0

    def values(turn: Floats) -> Floats:
        nonlocal rounds
        rounds += 1
        start, end = 1.0 - 0.5 ** (rounds - 1), 1.0 - 0.5**rounds
        return _evaluated(curves, turn, outputs, part_of(progress, start, end))

    width = max(outputs, curves.wheels)
    found = chosen_steps(values, runs, turn_one, np.asarray(curves.allowed, dtype=np.float64), width)
    return tuple(
        Stretch(run.first, one.exact, one.between, inner, one.step - run.first)
        for run, one, inner in zip(runs, found, kinks, strict=True)
    )


def _evaluated(curves: OutputCurves, turn: Floats, outputs: int, progress: Progress) -> Floats:
    """The curves at turn inputs (M,), (M, C), checked; some whole blocks of rows at a time."""
    rows = BLOCK * max(1, _AT_ONCE // max(outputs, curves.wheels) // BLOCK)
    values = np.empty((len(turn), outputs))
    for start in range(0, len(turn), rows):
        tell(progress, start / len(turn))
        part = np.asarray(curves.values(turn[start : start + rows]), dtype=np.float64)
        if part.shape != (len(turn[start : start + rows]), outputs):
            raise TableError(
                f"the curves must give {outputs} outputs, one for each allowed error (got shape {part.shape})"
            )
        values[start : start + rows] = part
    bad = np.argwhere(~np.isfinite(values))
    if len(bad):
        m, c = bad[0]
        raise TableError(f"output {c + 1} must be a number at turn {turn[m]:g} (got {values[m, c]})")
    return values


def nearest(value: float) -> int:
    """Nearest whole number, halves away from 0."""
    return int(floor(value + 0.5) if value >= 0 else ceil(value - 0.5))


def _ends_of_stretches(
    curves: OutputCurves, turn_one: int, first: int, last: int
) -> list[tuple[int, int, float, float]]:
    """First and last step of each stretch, and the turns between which its curves hold."""
    low, high = curves.low, curves.high
    marks = sorted(set(curves.breaks))
    inner = [mark for mark in marks if low + BESIDE < mark < high - BESIDE]
    low += BESIDE * any(abs(mark - low) <= BESIDE for mark in marks)
    high -= BESIDE * any(abs(mark - high) <= BESIDE for mark in marks)
    found = []
    for mark in inner:
        # The step at the break itself belongs to the side nearer to straight ahead.
        place, slack = mark * turn_one, BESIDE * turn_one
        end = floor(place + slack) if mark > 0 else ceil(place - slack) - 1
        if first <= end:
            found.append((first, min(end, last), low, mark - BESIDE))
            first = end + 1
        low = mark + BESIDE
    if first <= last:
        found.append((first, last, low, high))
    return found


def _kinks_within(curves: OutputCurves, turn_one: int, start: int, end: int) -> tuple[int, ...]:
    beside = {
        step - start
        for kink in curves.kinks
        for step in (floor(kink * turn_one), ceil(kink * turn_one))
        if start < step < end
    }
    return tuple(sorted(beside))


def _stretch(halves: Floats, first: int, kinks: tuple[int, ...]) -> Stretch:
    """Steps from samples at every half step, half a step beyond either end."""
    exact = halves[1::2]
    reach = np.maximum(np.abs(halves[2::2] - exact), np.abs(halves[:-1:2] - exact))
    bend = np.zeros_like(halves)
    bend[1:-1] = np.abs(halves[2:] - 2.0 * halves[1:-1] + halves[:-2])
    bend = np.maximum(np.maximum(bend[:-2:2], bend[1:-1:2]), bend[2::2])
    # At a break the clipped samples bend by themselves: too large, so on the safe side.
    return Stretch(first, exact, np.asarray(reach + 2.0 * bend / 8.0), kinks)


def counts_for(stretches: Sequence[Stretch], allowed: Floats, times: float) -> tuple[Counts, int]:
    """Choose what a count is worth: a power of two, so that the controller can shift.

    Parameters
    ----------
    stretches : sequence of Stretch
        All of them, C outputs.
    allowed : ndarray, (C,)
        Largest error of each output [unit of the output].
    times : float
        How many times the allowed error may be used, 1 unless the best is searched.

    Returns
    -------
    shift : ndarray of int, (C,)
        A count is ``2 ** -shift`` units.
    value_bytes : int
        2, or 4 where two bytes would be too coarse for an output.

    Raises
    ------
    TableError
        If even four bytes are too coarse.
    """
    peak = np.zeros(len(allowed))
    for stretch in stretches:
        peak = np.maximum(peak, np.abs(stretch.exact).max(axis=0))
    error = times * allowed
    for value_bytes, most in MOST_VALUE.items():
        shift = [
            min(floor(log2(most / (p + e))), ceil(log2(_WANTED_COUNTS[value_bytes] / e)))
            for p, e in zip(peak.tolist(), error.tolist(), strict=True)
        ]
        counts = np.ldexp(error, shift) if shift else error
        if (counts >= _FEWEST_COUNTS).all():
            return np.array(shift, dtype=np.int64), value_bytes
    c = int(np.argmin(counts))
    best = _FEWEST_COUNTS / 2.0 ** shift[c]
    raise TableError(
        f"output {c + 1} reaches {peak[c]:g}: 32 bits hold it to {best:.3g} at best, but {error[c]:g} "
        "is asked for; allow a larger error",
        float(best / allowed[c]),
    )


def tubes_of(
    stretches: Sequence[Stretch], error: Floats, shift: Counts, turn_one: int, rounding: TurnRounding
) -> tuple[Tube, ...]:
    """What is left of the allowed error at each step, in counts.

    Raises
    ------
    SteepError
        If the rounding of the turn to whole steps alone takes all of it somewhere.
    """
    found = []
    for stretch in stretches:
        room = np.ldexp(np.broadcast_to(error, stretch.exact.shape), shift) - ROUNDING_COUNTS
        if rounding == "counted":
            room = room - np.ldexp(stretch.between, shift)
            _refuse_steep(stretch, room, error, shift, turn_one)
        found.append(Tube(stretch, np.ldexp(stretch.exact, shift), room))
    return tuple(found)


def _refuse_steep(stretch: Stretch, room: Floats, error: Floats, shift: Counts, turn_one: int) -> None:
    if not (room <= 0).any():
        return
    m, c = np.unravel_index(int(np.argmin(room / np.ldexp(error, shift))), room.shape)
    least = float(stretch.between[m, c] + np.ldexp(ROUNDING_COUNTS, -int(shift[c])))
    turn = (stretch.first + int(stretch.steps[m])) / turn_one
    raise SteepError(
        f"near turn {turn:.4g} output {c + 1} is so steep that steps of "
        f"1/{turn_one} of the turn input cost up to {least:.3g}, but {error[c]:g} is asked for; "
        "allow a larger error, use finer turn steps, or shorten the range",
        1.01 * least / float(error[c]),
        turn,
        int(c),
    )
