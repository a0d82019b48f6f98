"""Curves to be tabled, sampled at every turn step, and the tube that a table must stay in.

A controller holds the turn input as a whole number of steps, so a curve has only so many
turns that can be asked, and all of them are evaluated. What lies between two steps counts
as well: the turn that the person meant is rounded to the nearest step. How far a curve goes
within half a step is evaluated at both halves, plus the analytic bound ``d^2 max|f''| / 8``
for what could lie between those samples, with d half a step and f'' from their second
differences, doubled for safety.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import ceil, floor, log2
from typing import Literal

import numpy as np

from geometry.axes import Floats
from geometry.errors import SteepError, TableError
from geometry.fixed_point import MOST_VALUE, Counts

TURN_ONE = 16_384
MOST_TURN_ONE = 262_144
TurnRounding = Literal["counted", "told"]

# How far on either side of a break a curve is asked for its value there [turn input].
BESIDE = 1e-9
# Rounding: half a count of a row's value and half a count of the interpolation, and a trace
# for the rounding of the search itself.
ROUNDING_COUNTS = 1.0 + 1e-6
# Counts that the allowed error should span, so that rounding costs little; and the fewest.
_WANTED_COUNTS = {2: 64.0, 4: 16.0}
_FEWEST_COUNTS = 2.0


@dataclass(frozen=True)
class Curves:
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


@dataclass(frozen=True)
class Stretch:
    """A run of turn steps without a break: M steps and C outputs."""

    first: int
    """First turn step."""
    exact: Floats
    """(M, C): the curves at each step [unit of the output]."""
    between: Floats
    """(M, C): how far each curve goes within half a step [unit of the output]."""
    kinks: tuple[int, ...]
    """Steps, counted from `first`, beside which a slope jumps."""

    @property
    def last(self) -> int:
        """Last turn step."""
        return self.first + len(self.exact) - 1


@dataclass(frozen=True)
class Tube:
    """A stretch in counts, with how far a table may be from it."""

    stretch: Stretch
    middle: Floats
    """(M, C): the curves [counts]."""
    room: Floats
    """(M, C): the largest distance before rounding, above 0 [counts]."""


def checked_allowed(curves: Curves) -> Floats:
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


def sampled(curves: Curves, turn_one: int, outputs: int) -> tuple[Stretch, ...]:
    """Evaluate the curves at every turn step and at every half step between.

    Parameters
    ----------
    curves : Curves
        C outputs.
    turn_one : int
        Turn steps that make a turn input of 1.
    outputs : int
        C, as the allowed errors say.

    Returns
    -------
    tuple of Stretch
        In rising order, without a gap.

    Raises
    ------
    TableError
        If the curves give other than C outputs, or one that is not a number.
    """
    first, last = nearest(curves.low * turn_one), nearest(curves.high * turn_one)
    ends = _ends_of_stretches(curves, turn_one, first, last)
    turns = []
    for start, end, low, high in ends:
        halves = np.arange(2 * start - 1, 2 * end + 2) / (2.0 * turn_one)
        turns.append(np.clip(halves, low, high))
    turn = np.concatenate(turns)
    values = np.asarray(curves.values(turn), dtype=np.float64)
    if values.shape != (len(turn), outputs):
        raise TableError(
            f"the curves must give {outputs} outputs, one for each allowed error (got shape {values.shape})"
        )
    bad = np.argwhere(~np.isfinite(values))
    if len(bad):
        m, c = bad[0]
        raise TableError(f"output {c + 1} must be a number at turn {turn[m]:g} (got {values[m, c]})")
    parts = np.split(values, np.cumsum([len(part) for part in turns])[:-1])
    return tuple(
        _stretch(part, start, _kinks_within(curves, turn_one, start, end))
        for part, (start, end, _, _) in zip(parts, ends, strict=True)
    )


def nearest(value: float) -> int:
    """Nearest whole number, halves away from 0."""
    return int(floor(value + 0.5) if value >= 0 else ceil(value - 0.5))


def _ends_of_stretches(
    curves: Curves, turn_one: int, first: int, last: int
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


def _kinks_within(curves: Curves, turn_one: int, start: int, end: int) -> tuple[int, ...]:
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
    turn = (stretch.first + int(m)) / turn_one
    raise SteepError(
        f"near turn {turn:.4g} output {c + 1} is so steep that steps of "
        f"1/{turn_one} of the turn input cost up to {least:.3g}, but {error[c]:g} is asked for; "
        "allow a larger error, use finer turn steps, or shorten the range",
        1.01 * least / float(error[c]),
        turn,
        int(c),
    )
