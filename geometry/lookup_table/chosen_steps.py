"""Turn steps at which curves are looked at where there are too many steps to look at all.

An even grid comes first; it is halved wherever a curve bends so much that the chord between
two chosen steps could be off by more than a small share of what is allowed. That is judged by
``w^2 max|f''| / 8``, with w the distance of two steps and f'' from second divided differences,
doubled for safety (any text on interpolation). A spike that starts and ends between two steps
of the grid is not detected.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from geometry.axes import Bools, Floats
from geometry.lookup_table.fixed_point import Counts

# Numbers (steps times what a step costs) of the even grid, and of all chosen steps at most.
_GRID, _MOST = 500_000, 1_500_000
# A stretch gets at least so many pieces.
_FEWEST_PIECES = 8
# Share of the allowed error that a chord between two chosen steps may be off.
_OFF = 0.01


@dataclass(frozen=True)
class Run:
    """A run of turn steps without a break."""

    first: int
    last: int
    """Its last turn step."""
    low: float
    """Turn input below which its curves do not hold."""
    high: float
    """Turn input above which they do not."""
    forced: tuple[int, ...]
    """Turn steps that are chosen in any case, where they lie within it."""


@dataclass(frozen=True)
class Chosen:
    """What was found on one run: P chosen steps, C outputs."""

    step: Counts
    """(P,): turn steps, rising; both ends among them."""
    exact: Floats
    """(P, C): the curves there."""
    between: Floats
    """(P, C): how far each curve goes within half a step of any step on the way to the next
    chosen ones, beyond the chord, with the distance from the chord itself."""


def chosen_steps(
    values: Callable[[Floats], Floats], runs: Sequence[Run], turn_one: int, allowed: Floats, width: int
) -> list[Chosen]:
    """Choose the steps and look there.

    Parameters
    ----------
    values : callable
        Turn inputs (P,) to outputs (P, C).
    runs : sequence of Run
        In rising order.
    turn_one : int
        Turn steps that make a turn input of 1.
    allowed : ndarray, (C,)
        Largest error of each output [unit of the output].
    width : int
        Numbers that one turn costs: outputs, or wheels where they are more.

    Returns
    -------
    list of Chosen
        One for each run. Where a limit on all steps together stops the halving, `between`
        tells how far the chords may be off.
    """
    rows = sum(run.last - run.first + 1 for run in runs)
    stride = 1 << max(0, (rows * width - 1) // _GRID).bit_length()
    steps = [_grid(run, stride) for run in runs]
    found = _asked(values, runs, steps, turn_one)
    while True:
        more = [_middles(*one, allowed) for one in zip(steps, found, strict=True)]
        new = sum(map(len, more))
        if not new or (new + sum(map(len, steps))) * width > _MOST:
            break
        exact_there = _asked(values, runs, more, turn_one)
        for i, (step, exact) in enumerate(zip(more, exact_there, strict=True)):
            place = np.searchsorted(steps[i], step)
            steps[i] = np.insert(steps[i], place, step)
            found[i] = np.insert(found[i], place, exact, axis=0)
    # What lies half a step beyond the ends is asked for.
    beyond = _asked(values, runs, [np.array([run.first - 0.5, run.last + 0.5]) for run in runs], turn_one)
    return [_told(*one) for one in zip(steps, found, beyond, strict=True)]


def _grid(run: Run, stride: int) -> Counts:
    stride = min(stride, max(1, (run.last - run.first) // _FEWEST_PIECES))
    even = np.arange(-(-run.first // stride) * stride, run.last + 1, stride)
    forced = [step for step in run.forced if run.first < step < run.last]
    return np.array(sorted({run.first, *even.tolist(), *forced, run.last}), dtype=np.int64)


def _asked(
    values: Callable[[Floats], Floats], runs: Sequence[Run], steps: Sequence[Counts | Floats], turn_one: int
) -> list[Floats]:
    turns = [np.clip(step / turn_one, run.low, run.high) for step, run in zip(steps, runs, strict=True)]
    return np.split(values(np.concatenate(turns)), np.cumsum([len(turn) for turn in turns])[:-1])


def _bent(step: Counts, exact: Floats) -> tuple[Floats, Floats]:
    """Steepest slope within each piece, and how far it may be from its chord, (P - 1, C) each."""
    width = np.diff(step)[:, None].astype(np.float64)
    slope = np.diff(exact, axis=0) / width
    bend = np.zeros_like(exact)
    if len(step) > 2:
        bend[1:-1] = 2.0 * np.abs(np.diff(slope, axis=0)) / (width[1:] + width[:-1])
        bend[0], bend[-1] = bend[1], bend[-2]
    most = np.maximum(bend[1:], bend[:-1])
    # Between two steps that are neighbours there is no other slope to ask for.
    return np.abs(slope) + most * np.where(width > 1, 0.5 * width, 0.0), most * width**2 / 4.0


def _middles(step: Counts, exact: Floats, allowed: Floats) -> Counts:
    width, (_, off) = np.diff(step), _bent(step, exact)
    bad: Bools = (off > _OFF * allowed).any(axis=1) & (width > 1)
    return np.asarray(step[:-1][bad] + width[bad] // 2)


def _told(step: Counts, exact: Floats, beyond: Floats) -> Chosen:
    slope, off = _bent(step, exact)
    reach = 0.5 * slope + off
    between = np.zeros_like(exact)
    between[:-1] = reach
    between[1:] = np.maximum(between[1:], reach)
    for end, outside in ((0, beyond[0]), (-1, beyond[1])):
        between[end] = np.maximum(between[end], np.abs(outside - exact[end]))
    return Chosen(step, exact, between)
