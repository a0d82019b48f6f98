"""Fewest rows at free turns, shared by all outputs, for one stretch without a break.

The row values need not lie on the curves: a straight line that starts and ends a little off
on one side and bulges on the other reaches about 1.4 times as far for the same error.

From a row whose values may lie within an interval for each output, all straight lines that
stay in the tube of every output are followed as far as any goes. What values can be reached
there is again an interval, because the lines that stay in the tube form a convex set. A
greedy walk takes the furthest row each time; that leaves the next one few values to start
from, so a few nearer rows are tried beside it, and those that will reach furthest in the
next step are kept.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from geometry.axes import Floats
from geometry.lookup_table.error_band import Tube
from geometry.lookup_table.fixed_point import Counts
from geometry.progress import Progress, tell, unwatched

# Error between the chosen samples, as a share of the room. The final proof asks every step;
# where it fails the next finer one is tried, and 0 chooses every step.
THINNINGS = (5e-4, 2e-5, 0.0)
_ALL_SAMPLES_UP_TO = 512
_STARTS = 5
_NEARER = (1.0, 0.96, 0.9, 0.8, 0.65)
_KEPT = 4
# The same for many outputs, of which only chosen steps are looked at; some rows more, much sooner.
_FEW_STARTS, _FEW_NEARER, _FEW_KEPT = 3, (1.0, 0.9), 2
_MANY_OUTPUTS = 16


@dataclass(frozen=True)
class Samples:
    """The tube of a stretch at P chosen steps; outputs along the first axis."""

    step: Counts
    """(P,): turn steps from the stretch's first."""
    low: Floats
    """(C, P): lower wall [counts]."""
    high: Floats
    """(C, P): upper wall [counts]."""
    kinks: Counts
    """Samples that make good rows."""
    most_product: float
    """Largest rise times width that the controller's register holds."""
    cursory: bool = False
    """Whether the search shall try less."""


def samples_of(tube: Tube, most_product: float, thinning: float = THINNINGS[0]) -> Samples:
    """Choose the steps at which the tube is looked at: dense where a curve bends.

    Parameters
    ----------
    tube : Tube
        M steps and C outputs.
    most_product : float
        Largest rise times width [counts times steps].
    thinning : float
        Error that may arise between the chosen steps, as a share of the room; 0 for every step.

    Returns
    -------
    Samples
        Both ends, all kinks, and what lies between as needed.
    """
    rows, steps = len(tube.middle), tube.stretch.steps
    chosen = np.ones(rows, dtype=bool)
    if rows > _ALL_SAMPLES_UP_TO and thinning > 0:
        chosen = _thinned(tube, thinning)
        chosen[[0, rows - 1, *np.searchsorted(steps, tube.stretch.kinks)]] = True
        _mend(tube, chosen, 4.0 * thinning)
    row = np.flatnonzero(chosen)
    return Samples(
        step=steps[row],
        low=np.ascontiguousarray((tube.middle[row] - tube.room[row]).T),
        high=np.ascontiguousarray((tube.middle[row] + tube.room[row]).T),
        kinks=np.searchsorted(steps[row], tube.stretch.kinks),
        most_product=most_product,
        cursory=tube.stretch.chosen is not None and tube.middle.shape[1] > _MANY_OUTPUTS,
    )


def _thinned(tube: Tube, thinning: float) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    """Evenly spaced in the integral of sqrt(curvature), which makes all chords equally good."""
    bend = np.zeros(len(tube.middle))
    width = np.diff(tube.stretch.steps)
    if tube.middle.shape[1]:
        if tube.stretch.chosen is None:
            curved = np.abs(np.diff(tube.middle, n=2, axis=0))
        else:
            slope = np.diff(tube.middle, axis=0) / width[:, None]
            curved = 2.0 * np.abs(np.diff(slope, axis=0)) / (width[1:] + width[:-1])[:, None]
        bend[1:-1] = (curved / tube.room[1:-1]).max(axis=1)
    density = np.minimum(np.sqrt(bend / (8.0 * thinning)), 1.0)
    count = np.floor(np.cumsum(density * np.diff(tube.stretch.steps, prepend=-1)))
    chosen = np.zeros(len(bend), dtype=bool)
    chosen[1:] = count[1:] != count[:-1]
    return chosen


def _mend(tube: Tube, chosen: np.ndarray[tuple[int], np.dtype[np.bool_]], most: float) -> None:
    """Add steps where a chord between chosen ones is too far from a curve; in place."""
    every = tube.stretch.steps
    for _ in range(len(chosen)):
        row = np.flatnonzero(chosen)
        bad = np.zeros(len(chosen), dtype=bool)
        for c in range(tube.middle.shape[1]):
            chord = np.interp(every, every[row], tube.middle[row, c])
            bad |= np.abs(chord - tube.middle[:, c]) > most * tube.room[:, c]
        if not bad.any():
            return
        holes = np.unique(np.searchsorted(row, np.flatnonzero(bad)))
        chosen[(row[holes - 1] + row[holes]) // 2] = True


@dataclass(frozen=True)
class _Row:
    """A row of the table to be, reached by some way from the first."""

    sample: int
    low: Floats
    """(C,): lowest value from which the way back is known [counts]."""
    high: Floats
    before: _Row | None

    def width(self, samples: Samples) -> float:
        """Least share of the tube that is left to choose from."""
        wall = samples.high[:, self.sample] - samples.low[:, self.sample]
        return float(((self.high - self.low) / wall).min(initial=1.0))


@dataclass(frozen=True)
class _Fan:
    """Lines from E rows over windows of L samples, from K values of each of C outputs."""

    start: Floats
    """(C, E, K): values at the rows."""
    steepest: Floats
    """(C, E, K, L): largest slope that stays in the tube up to there."""
    flattest: Floats
    width: Floats
    """(E, L): steps from the row."""
    reach: Counts
    """(E,): samples that can be reached with all outputs."""


def fewest_rows(samples: Samples, progress: Progress = unwatched) -> tuple[Counts, Floats]:
    """Search the rows for one stretch.

    Parameters
    ----------
    samples : Samples
        P steps and C outputs.
    progress : callable
        Told the share that is done.

    Returns
    -------
    steps : ndarray of int, (R,)
        Turn steps of the rows, from the stretch's first; both ends among them.
    values : ndarray, (R, C)
        Row values, not yet rounded [counts].

    Raises
    ------
    Cancelled
        If `progress` returned False.
    """
    end = len(samples.step) - 1
    layer = [_Row(0, samples.low[:, 0], samples.high[:, 0], None)]
    if end == 0:
        return samples.step, samples.low[:, :1].T + 0.5 * (samples.high - samples.low)[:, :1].T
    window = 64
    while True:
        tell(progress, max(row.sample for row in layer) / end)
        fan, window = _fan(samples, layer, window)
        arrived = [e for e in range(len(layer)) if layer[e].sample + int(fan.reach[e]) >= end]
        if arrived:
            ends = [_row_at(samples, fan, layer, e, end - layer[e].sample) for e in arrived]
            return _way_back(samples, max(ends, key=lambda row: row.width(samples)))
        best = sorted(
            range(len(layer)),
            key=lambda e: (-layer[e].sample - int(fan.reach[e]), -layer[e].width(samples), layer[e].sample),
        )
        layer = _next_rows(samples, fan, layer, best[: _FEW_KEPT if samples.cursory else _KEPT])
        window = int(1.25 * fan.reach.max()) + 2


def _fan(samples: Samples, layer: list[_Row], window: int) -> tuple[_Fan, int]:
    """Follow all lines from the rows; widens the window until each line has ended in it."""
    end = len(samples.step) - 1
    sample = np.array([row.sample for row in layer])
    share = np.linspace(0.0, 1.0, _FEW_STARTS if samples.cursory else _STARTS)
    low, high = np.stack([row.low for row in layer], axis=1), np.stack([row.high for row in layer], axis=1)
    start = low[..., None] + (high - low)[..., None] * share
    while True:
        index = sample[:, None] + np.arange(1, window + 1)
        valid = index <= end
        index = np.minimum(index, end)
        width = (samples.step[index] - samples.step[sample][:, None]).astype(np.float64)
        width[~valid] = 1.0
        flattest = (samples.low[:, index][:, :, None, :] - start[..., None]) / width[:, None, :]
        np.maximum.accumulate(flattest, axis=-1, out=flattest)
        steepest = (samples.high[:, index][:, :, None, :] - start[..., None]) / width[:, None, :]
        np.minimum.accumulate(steepest, axis=-1, out=steepest)
        fits = (flattest <= steepest).any(axis=2).all(axis=0) & valid
        fits &= _within_register(samples, sample, index, width)
        reach = np.logical_and.accumulate(fits, axis=1).sum(axis=1)
        if not ((reach == window) & (sample + window < end)).any():
            return _Fan(start, steepest, flattest, width, reach), window
        window *= 2


def _within_register(
    samples: Samples, sample: Counts, index: Counts, width: Floats
) -> np.ndarray[tuple[int, ...], np.dtype[np.bool_]]:
    """Whether the controller's product of rise and width fits, whatever values are chosen, (E, L)."""
    rise = np.maximum(
        samples.high[:, index] - samples.low[:, sample][:, :, None],
        samples.high[:, sample][:, :, None] - samples.low[:, index],
    )
    product = (rise.max(axis=0, initial=0.0) + 1.0) * width + width
    return np.asarray((product <= samples.most_product) | (width == 1.0))


def _row_at(samples: Samples, fan: _Fan, layer: list[_Row], e: int, reach: int) -> _Row:
    """The row `reach` samples after row e, with the values that lines lead to."""
    flat, steep = fan.flattest[:, e, :, reach - 1], fan.steepest[:, e, :, reach - 1]
    fits, width, start = flat <= steep, fan.width[e, reach - 1], fan.start[:, e]
    low = np.where(fits, start + flat * width, np.inf).min(axis=1)
    high = np.where(fits, start + steep * width, -np.inf).max(axis=1)
    sample = layer[e].sample + reach
    # Rounding must not lead out of the tube by the last bit.
    low, high = np.maximum(low, samples.low[:, sample]), np.minimum(high, samples.high[:, sample])
    return _Row(sample, np.minimum(low, high), high, layer[e])


def _next_rows(samples: Samples, fan: _Fan, layer: list[_Row], kept: list[int]) -> list[_Row]:
    """Rows to go on from: the furthest, some nearer, and kinks on the way; one a place."""
    found: dict[int, _Row] = {}
    for e in kept:
        furthest = int(fan.reach[e])
        nearer = _FEW_NEARER if samples.cursory else _NEARER
        reaches = {max(1, round(share * furthest)) for share in nearer}
        kinks = samples.kinks - layer[e].sample
        reaches |= set(kinks[(kinks >= 1) & (kinks <= furthest)].tolist())
        for reach in reaches:
            row = _row_at(samples, fan, layer, e, reach)
            other = found.get(row.sample)
            if other is None or row.width(samples) > other.width(samples):
                found[row.sample] = row
    return [found[place] for place in sorted(found)]


def _way_back(samples: Samples, last: _Row) -> tuple[Counts, Floats]:
    """Choose values from the last row to the first, each amid what leads to the next."""
    rows = [last]
    while rows[-1].before is not None:
        rows.append(rows[-1].before)
    rows.reverse()
    values = [0.5 * (last.low + last.high)]
    for row, after in reversed(list(pairwise(rows))):
        inner = slice(row.sample + 1, after.sample)
        span = float(samples.step[after.sample] - samples.step[row.sample])
        share = (samples.step[inner] - samples.step[row.sample]) / span
        ahead = values[-1][:, None] * share
        low = ((samples.low[:, inner] - ahead) / (1.0 - share)).max(axis=1, initial=-np.inf)
        high = ((samples.high[:, inner] - ahead) / (1.0 - share)).min(axis=1, initial=np.inf)
        low, high = np.maximum(low, row.low), np.minimum(high, row.high)
        values.append(0.5 * (low + high))
    values.reverse()
    return samples.step[[row.sample for row in rows]], np.stack(values)
