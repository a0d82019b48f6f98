"""Labels in a column: spread so that none covers the next, each as near to its own place as that allows."""

from __future__ import annotations

from collections.abc import Sequence


def spread(wanted: Sequence[float], heights: Sequence[float], gap: float) -> list[float]:
    """Middles of labels from the top down, with the least sum of squares of their shifts.

    Neighbours that would touch become one block, which lies where its members want it on average.

    Parameters
    ----------
    wanted : sequence of float, (K,)
        Where each label's middle would be, from the top down: its order is kept whatever they say [mm].
    heights : sequence of float, (K,)
        How high each label is [mm].
    gap : float
        Least distance between two of them [mm].

    Examples
    --------
    >>> spread([10.0, 9.0, 0.0], [4.0, 4.0, 4.0], 1.0)
    [12.0, 7.0, 0.0]
    """
    below = [0.0]
    for k in range(1, len(wanted)):
        below.append(below[-1] + 0.5 * (heights[k - 1] + heights[k]) + gap)
    # With each label lifted by what must lie above it, they only need to fall.
    blocks: list[tuple[float, int]] = []
    for want, lift in zip(wanted, below, strict=False):
        mean, count = want + lift, 1
        while blocks and blocks[-1][0] < mean:
            last, many = blocks.pop()
            mean, count = (mean * count + last * many) / (count + many), count + many
        blocks.append((mean, count))
    level = [mean for mean, count in blocks for _ in range(count)]
    return [high - lift for high, lift in zip(level, below, strict=False)]
