"""Fewest evenly spaced rows for one stretch without a break."""

from __future__ import annotations

import numpy as np

from geometry.axes import Floats
from geometry.tube import Tube

# Rounds of moving row values so that the error is as large above as below.
_ROUNDS = 6
# Pieces of each interval at which a fit is tried, before every step is asked.
_SAMPLES = 40
# Smaller numbers of rows tried below the one that halving finds: fits are not strictly nested.
_BELOW = 6


def even_step(tube: Tube, most_value: float, most_product: float) -> tuple[int, Floats]:
    """Largest distance of rows for one stretch.

    Parameters
    ----------
    tube : Tube
        M steps and C outputs.
    most_value : float
        Largest size of a row's value [counts].
    most_product : float
        Largest rise times width that the controller's register holds.

    Returns
    -------
    step : int
        Turn steps from row to row.
    values : ndarray, (R, C)
        Row values, not yet rounded; the last row may lie beyond the stretch [counts].
    """
    span = len(tube.middle) - 1
    if span == 0:
        return 1, tube.middle.copy()

    def attempt(pieces: int) -> bool:
        return _balanced(tube, -(-span // pieces), most_value, most_product) is not None

    good = 1
    while good < span and not attempt(good):
        good = min(2 * good, span)
    bad = good // 2
    while good - bad > 1:
        middle = (good + bad) // 2
        good, bad = (middle, bad) if attempt(middle) else (good, middle)
    for pieces in range(max(1, good - _BELOW), span):
        step = -(-span // pieces)
        values = _balanced(tube, step, most_value, most_product)
        if values is not None and _holds_everywhere(tube, step, values):
            return step, values
    return 1, tube.middle.copy()


def _balanced(tube: Tube, step: int, most_value: float, most_product: float) -> Floats | None:
    """Row values such that the error is about as far above as below in each piece.

    None where they are not within the tube at the samples of each piece, or not within the
    controller's register.
    """
    values = _on_curve(tube.middle, step)
    rows, count = len(tube.middle), len(values) - 1
    offset = np.unique(np.linspace(0, step, min(step, _SAMPLES) + 1).round().astype(np.int64))
    place = np.minimum(np.arange(count)[:, None] * step + offset, rows - 1)
    share = ((place - np.arange(count)[:, None] * step) / step)[..., None]
    middle, room = tube.middle[place], tube.room[place]
    room_at_rows = tube.room[np.minimum(np.arange(count + 1) * step, rows - 1)]
    for _ in range(_ROUNDS):
        miss = values[:-1, None] * (1.0 - share) + values[1:, None] * share
        miss -= middle
        miss /= room
        top, bottom = miss.max(axis=1), miss.min(axis=1)
        if max(top.max(initial=0.0), -bottom.min(initial=0.0)) <= 1.0:
            return values if _within_register(values, step, most_value, most_product) else None
        values = values - _at_rows(0.5 * (top + bottom)) * room_at_rows
    return None


def _at_rows(shift: Floats) -> Floats:
    """Means of what the pieces on either side of a row ask, (pieces, C) to (pieces + 1, C)."""
    found = np.empty((len(shift) + 1, shift.shape[1]))
    found[0], found[-1] = shift[0], shift[-1]
    found[1:-1] = 0.5 * (shift[1:] + shift[:-1])
    return found


def _on_curve(middle: Floats, step: int) -> Floats:
    """The curves at the rows; a row beyond the end continues the line through the last step."""
    span = len(middle) - 1
    values = middle[::step]
    over = span % step
    if over:
        beyond = values[-1] + (middle[-1] - values[-1]) * (step / over)
        values = np.concatenate([values, beyond[None]])
    return np.asarray(values, dtype=np.float64)


def _within_register(values: Floats, step: int, most_value: float, most_product: float) -> bool:
    if np.abs(values).max(initial=0.0) > most_value - 1.0:
        return False
    rise = np.abs(np.diff(values, axis=0)).max(initial=0.0) + 1.0
    return step == 1 or bool((rise + 1.0) * step <= most_product)


def _holds_everywhere(tube: Tube, step: int, values: Floats) -> bool:
    every = np.arange(len(tube.middle))
    index = np.minimum(every // step, len(values) - 2)
    share = ((every - index * step) / step)[:, None]
    miss = np.abs(values[index] * (1.0 - share) + values[index + 1] * share - tube.middle)
    return bool((miss <= tube.room).all())
