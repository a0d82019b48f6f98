"""Fewest evenly spaced rows for one stretch without a break.

Where the rows stand is given by their number; whether values exist that keep all outputs in
their tubes is asked in two ways. The quick one moves the rows off the curves until the error
is as far above as below in each piece. Where that fails, the values that can be reached are
followed from row to row, an interval for each output, as with free rows.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np

from geometry.axes import Floats
from geometry.lookup_table.error_band import Tube
from geometry.lookup_table.fixed_point import Counts
from geometry.progress import Progress, tell, unwatched

# Rounds of the quick way.
_ROUNDS = 5
# Places within each piece at which a fit is tried; every step is asked in the end.
_SAMPLES = 24
# What the room is held below where not every step is among those places: the error between
# S of them is at most (1 / S)^2 of the bulge, which is up to twice the room.
_HELD_BACK = 2.016
# Where only some steps are looked at: fewer places, and no more pieces than this many numbers make.
_FEW_SAMPLES, MOST_NUMBERS = 8, 250_000
# Values from which lines are followed.
_STARTS = 5
# Tables of more pieces gain little by the slow way, and would wait for it; and those of more numbers.
MOST_FOLLOWED, _MOST_FOLLOWED_NUMBERS = 500, 5_000
# Share of the pieces of the quick way below which the slow way finds nothing.
_SLOW_GAIN = 0.75
# Smaller numbers of rows tried below the one that halving finds: fits are not strictly nested.
_BELOW = 3
# So many larger numbers are tried close together; a curve that none of them suits is a wild one.
_CLOSE = 40


def may_follow(pieces: int, outputs: int) -> bool:
    """Whether a table of so many pieces is small enough for the slow way, which saves some rows."""
    return pieces <= MOST_FOLLOWED and pieces * outputs <= _MOST_FOLLOWED_NUMBERS


def even_step(
    tube: Tube,
    most_value: float,
    most_product: float,
    most_pieces: int | None = None,
    progress: Progress = unwatched,
) -> tuple[int, Floats] | None:
    """Largest distance of rows for one stretch.

    Parameters
    ----------
    tube : Tube
        M steps and C outputs.
    most_value : float
        Largest size of a row's value [counts].
    most_product : float
        Largest rise times width that the controller's register holds.
    most_pieces : int, optional
        More pieces are of no use, so that the search may end without a result.
    progress : callable
        Told the share that is done, as far as it can be guessed.

    Returns
    -------
    step : int
        Turn steps from row to row.
    values : ndarray, (R, C)
        Row values, not yet rounded; the last row may lie beyond the stretch [counts].

    None instead where it takes more pieces than are of use, or, with only some steps of the
    stretch looked at, more than are searched.

    Raises
    ------
    Cancelled
        If `progress` returned False.
    """
    span, outputs = int(tube.stretch.steps[-1]), tube.middle.shape[1]
    if span == 0:
        return 1, tube.middle.copy()
    every = tube.stretch.chosen is None
    most = span if every else min(span, MOST_NUMBERS // outputs)
    if most_pieces is not None:
        most = min(most, int(most_pieces / _SLOW_GAIN) + _BELOW + 1)
    search = _Search(tube, span, most_value, most_product, progress)
    good = 1
    while good < span and search.values(good, slow=False) is None:
        if good >= most:
            return None
        good = min(2 * good, span)
    good = _halved(good // 2, good, lambda pieces: search.values(pieces, slow=False) is not None)
    slow = every and may_follow(good, outputs)
    if slow:
        worth = int(_SLOW_GAIN * good)
        good = _halved(worth, good, lambda pieces: search.values(pieces, slow=True) is not None)
    for pieces in _tries(good, span, good // 100 if every else good // 16):
        if pieces > most:
            return None
        step, values = -(-span // pieces), search.values(pieces, slow=slow)
        if values is not None and _holds_everywhere(tube, step, values):
            return step, values
    few = every or (span + 1) * outputs <= MOST_NUMBERS
    return (1, tube.at(np.arange(span + 1))[0]) if few else None


@dataclass
class _Search:
    """Row values for one number of pieces after the other."""

    tube: Tube
    span: int
    most_value: float
    most_product: float
    progress: Progress
    tries: int = 0

    def values(self, pieces: int, *, slow: bool) -> Floats | None:
        """Row values that seem to keep to the tube, if any are found."""
        self.tries += 1
        tell(self.progress, 1.0 - 0.95**self.tries)
        step = -(-self.span // pieces)
        if _bulges(self.tube, step):
            return None
        placed = _placed(self.tube, step)
        found = _balanced(self.tube, placed)
        if found is None and slow:
            found = _followed(placed)
        within = found is not None and _within_register(found, step, self.most_value, self.most_product)
        return found if within else None


def _tries(good: int, span: int, wider: int) -> Iterator[int]:
    """Numbers of pieces worth trying: some below, many above, and then ever wider apart."""
    yield from range(max(1, good - _BELOW), good)
    pieces = good
    for tried in itertools.count():
        if pieces >= span:
            return
        yield pieces
        pieces += 1 + (wider if tried < _CLOSE else max(wider, pieces // 8))


def _bulges(tube: Tube, step: int) -> bool:
    """Whether the middle of some piece is farther from any line than the room there and at its ends."""
    start, half = np.arange(0, int(tube.stretch.steps[-1]) - step + 1, step), step // 2
    (first, first_room), (last, last_room) = tube.at(start), tube.at(start + step)
    middle, room = tube.at(start + half)
    share = half / step
    off = np.abs(middle - first * (1.0 - share) - last * share)
    room = room + first_room * (1.0 - share) + last_room * share
    return bool((off > (1.0 + 1e-9) * room).any())


def _halved(bad: int, good: int, fits: Callable[[int], bool]) -> int:
    """Smallest number above `bad` that fits, as halving finds it; `good` is known to fit."""
    while good - bad > 1:
        middle = (good + bad) // 2
        good, bad = (middle, bad) if fits(middle) else (good, middle)
    return good


@dataclass(frozen=True)
class _Placed:
    """Rows at one spacing: B pieces, S places within each, C outputs."""

    step: int
    """Turn steps from row to row."""
    share: Floats
    """(B, S): where in its piece each place is, 0 to 1; held at the end of the stretch."""
    middle: Floats
    """(B, S, C): the curves there [counts]."""
    room: Floats
    """(B, S, C): the largest distance from them [counts]."""


def _placed(tube: Tube, step: int) -> _Placed:
    last, samples = int(tube.stretch.steps[-1]), _samples(tube)
    start = np.arange(0, last, step)[:, None]
    offset = np.unique(np.linspace(0, step, min(step, samples) + 1).round().astype(np.int64))
    place = np.minimum(start + offset, last)
    middle, room = tube.at(place)
    room = room * (1.0 - _HELD_BACK / samples**2 * (step > samples))
    return _Placed(step, (place - start) / step, middle, room)


def _samples(tube: Tube) -> int:
    return _SAMPLES if tube.stretch.chosen is None else _FEW_SAMPLES


def _balanced(tube: Tube, placed: _Placed) -> Floats | None:
    """Row values such that the error is about as far above as below in each piece, if in the tube."""
    values = _on_curve(tube, placed.step)
    at_rows = np.minimum(np.arange(len(values)) * placed.step, int(tube.stretch.steps[-1]))
    _, room = tube.at(at_rows)
    share = placed.share[..., None]
    for _ in range(_ROUNDS):
        miss = values[:-1, None] * (1.0 - share) + values[1:, None] * share
        miss -= placed.middle
        miss /= placed.room
        top, bottom = miss.max(axis=1), miss.min(axis=1)
        if max(top.max(initial=0.0), -bottom.min(initial=0.0)) <= 1.0:
            return values
        values = values - _at_rows(0.5 * (top + bottom)) * room
    return None


def _followed(placed: _Placed) -> Floats | None:
    """Row values by following what can be reached from row to row, if anything can."""
    low, high = placed.middle - placed.room, placed.middle + placed.room
    share = np.linspace(0.0, 1.0, _STARTS)[:, None]
    reached = [(low[0, 0], high[0, 0])]
    for piece in range(len(low)):
        bottom, top = reached[-1]
        start = (bottom + (top - bottom) * share)[:, None]
        part = placed.share[piece, 1:, None]
        ahead = start * (1.0 - part)
        least = ((low[piece, 1:] - ahead) / part).max(axis=1)
        most = ((high[piece, 1:] - ahead) / part).min(axis=1)
        fits = least <= most
        if not fits.any(axis=0).all():
            return None
        reached.append((np.where(fits, least, np.inf).min(axis=0), np.where(fits, most, -np.inf).max(axis=0)))
    values = [0.5 * (reached[-1][0] + reached[-1][1])]
    for piece in range(len(low) - 1, -1, -1):
        before = placed.share[piece] < 1.0
        part = placed.share[piece, before, None]
        least = ((low[piece, before] - values[-1] * part) / (1.0 - part)).max(axis=0)
        most = ((high[piece, before] - values[-1] * part) / (1.0 - part)).min(axis=0)
        bottom, top = reached[piece]
        values.append(0.5 * (np.maximum(least, bottom) + np.minimum(most, top)))
    return np.stack(values[::-1])


def _at_rows(shift: Floats) -> Floats:
    """Means of what the pieces on either side of a row ask, (pieces, C) to (pieces + 1, C)."""
    found = np.empty((len(shift) + 1, shift.shape[1]))
    found[0], found[-1] = shift[0], shift[-1]
    found[1:-1] = 0.5 * (shift[1:] + shift[:-1])
    return found


def _on_curve(tube: Tube, step: int) -> Floats:
    """The curves at the rows; a row beyond the end continues the line through the last step."""
    span = int(tube.stretch.steps[-1])
    values, _ = tube.at(np.arange(0, span + 1, step))
    over = span % step
    if over:
        beyond = values[-1] + (tube.middle[-1] - values[-1]) * (step / over)
        values = np.concatenate([values, beyond[None]])
    return np.asarray(values, dtype=np.float64)


def _within_register(values: Floats, step: int, most_value: float, most_product: float) -> bool:
    if np.abs(values).max(initial=0.0) > most_value - 1.0:
        return False
    rise = np.abs(np.diff(values, axis=0)).max(initial=0.0) + 1.0
    return step == 1 or bool((rise + 1.0) * step <= most_product)


def _holds_everywhere(tube: Tube, step: int, values: Floats) -> bool:
    every: Counts = tube.stretch.steps
    if tube.stretch.chosen is not None:
        every = np.union1d(every, np.arange(0, int(every[-1]), step))
    index = np.minimum(every // step, len(values) - 2)
    share = ((every - index * step) / step)[:, None]
    middle, room = tube.at(every)
    miss = np.abs(values[index] * (1.0 - share) + values[index + 1] * share - middle)
    return bool((miss <= room).all())
