"""Paths whose ends meet, joined to longer ones and to closed ones."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from app.design.outline_files.curves import Floats


@dataclass(frozen=True)
class Chain:
    """Paths joined end to end."""

    points: Floats
    """(K, 2); of a closed one the last is not the first again."""
    closed: bool
    gap: float
    """The widest gap that was joined; of an open one the gap between its ends."""


def chained(paths: Sequence[Floats], within: float) -> list[Chain]:
    """Join open paths where their ends meet.

    The nearest ends are joined first, each with one other; both go to the middle of their gap, so that no
    point moves by more than half of `within`.

    Parameters
    ----------
    paths : sequence of ndarray, (K, 2)
        Points of each path, 2 at least.
    within : float
        The widest gap that is joined.

    Returns
    -------
    list of Chain
        In the order of the first path of each.
    """
    ends = np.array([point for path in paths for point in (path[0], path[-1])]).reshape(-1, 2)
    partner: dict[int, int] = {}
    gaps: dict[int, float] = {}
    for gap, i, j in _meeting(ends, within):
        if i not in partner and j not in partner:
            partner[i], partner[j] = j, i
            gaps[i] = gaps[j] = gap
    moved = ends.copy()
    for i, j in partner.items():
        moved[i] = 0.5 * (ends[i] + ends[j])
    used: set[int] = set()
    # Chains with a free end first, from there; what is left then runs round.
    starts = [end for end in range(len(ends)) if end not in partner] + list(range(0, len(ends), 2))
    found = [
        (start // 2, _chain(start, paths, moved, partner, gaps, used))
        for start in starts
        if start // 2 not in used
    ]
    return [chain for _, chain in sorted(found, key=lambda pair: pair[0])]


def _meeting(ends: Floats, within: float) -> list[tuple[float, int, int]]:
    """Pairs of ends no further apart than that, the nearest first."""
    if not len(ends):
        return []
    size = max(within, 1e-9)
    cells: dict[tuple[int, int], list[int]] = defaultdict(list)
    places = [(int(x), int(y)) for x, y in np.floor(ends / size).tolist()]
    for i, place in enumerate(places):
        cells[place].append(i)
    pairs = []
    for i, (column, row) in enumerate(places):
        near = (
            j
            for across in (-1, 0, 1)
            for up in (-1, 0, 1)
            for j in cells.get((column + across, row + up), ())[:_MOST_MEETING]
        )
        for j in near:
            if j > i:
                gap = float(np.hypot(*(ends[i] - ends[j])))
                if gap <= within:
                    pairs.append((gap, i, j))
    return sorted(pairs)


# Where more ends than this meet in one place it is no outline; comparing all pairs would take for ever.
_MOST_MEETING = 40


def _chain(
    start: int,
    paths: Sequence[Floats],
    moved: Floats,
    partner: dict[int, int],
    gaps: dict[int, float],
    used: set[int],
) -> Chain:
    """Follow the paths from an end of one until an end is free, or the start comes round."""
    parts: list[Floats] = []
    widest = 0.0
    end = start
    while True:
        used.add(end // 2)
        other = end ^ 1
        path = paths[end // 2]
        points = (path if end % 2 == 0 else path[::-1]).copy()
        points[0], points[-1] = moved[end], moved[other]
        parts.append(points if not parts else points[1:])
        following = partner.get(other)
        if following is None:
            whole = np.concatenate(parts)
            return Chain(whole, closed=False, gap=float(np.hypot(*(whole[0] - whole[-1]))))
        widest = max(widest, gaps[other])
        if following == start:
            return Chain(np.concatenate(parts)[:-1], closed=True, gap=widest)
        end = following
