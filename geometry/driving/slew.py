"""Motors that take their time: a largest speed towards a target, and play in the gears."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from geometry.axes import Floats


def slewed(target: npt.ArrayLike, start: npt.ArrayLike, most: npt.ArrayLike) -> Floats:
    """Where motors get to that move towards their targets by at most so much a step.

    Parameters
    ----------
    target : array_like, (M, K)
        Targets of K motors in M steps, one after the other.
    start : array_like, (K,)
        Where they are before the first step, in the unit of the targets.
    most : array_like, (K,)
        Largest change in a step, at least 0; ``inf`` where a motor is there at once.

    Returns
    -------
    ndarray, (M, K)
        Where they are at the end of each step.

    Examples
    --------
    >>> slewed([[5.0], [5.0], [-1.0]], [0.0], [3.0]).T
    array([[3., 5., 2.]])
    >>> slewed(np.zeros((0, 1)), [0.0], [1.0]).shape
    (0, 1)
    """
    goals = np.asarray(target, dtype=np.float64)
    found = goals.copy()
    begin, step = np.asarray(start, dtype=np.float64).tolist(), np.asarray(most, dtype=np.float64).tolist()
    for k in np.flatnonzero((goals != begin).any(axis=0)).tolist() if goals.size else ():
        # Each step starts from the one before: plain numbers are the quickest.
        at, by = begin[k], step[k]
        column = []
        for goal in goals[:, k].tolist():
            way = goal - at
            at = goal if -by <= way <= by else at + by if way > 0 else at - by
            column.append(at)
        found[:, k] = column
    return found


def with_play(shaft: npt.ArrayLike, start: npt.ArrayLike, play: npt.ArrayLike) -> Floats:
    """Where gears with play stand behind their shafts: they move once the play is taken up.

    Parameters
    ----------
    shaft : array_like, (M, K)
        Shafts of K motors in M steps.
    start : array_like, (K,)
        Where the gears stand before the first step, within half of the play of their shafts.
    play : array_like, (K,)
        From end to end, at least 0, in the unit of the shafts.

    Returns
    -------
    ndarray, (M, K)
        Where the gears stand, turned back to the shaft; the shafts themselves without play.

    Examples
    --------
    >>> with_play([[1.0], [3.0], [2.0], [0.0]], [0.0], [2.0]).T
    array([[0., 2., 2., 1.]])
    """
    found = np.array(shaft, dtype=np.float64)
    begin, half = np.asarray(start, dtype=np.float64).tolist(), 0.5 * np.asarray(play, dtype=np.float64)
    for k in np.flatnonzero(half > 0).tolist():
        at, room = begin[k], float(half[k])
        low, high = found[:, k] - room, found[:, k] + room
        if (low <= at).all() and (high >= at).all():
            found[:, k] = at
            continue
        column = []
        for least, most in zip(low.tolist(), high.tolist(), strict=True):
            at = least if at < least else min(at, most)
            column.append(at)
        found[:, k] = column
    return found
