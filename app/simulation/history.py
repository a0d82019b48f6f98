"""What happened in a run, to go back to and to plot: the blocks that were solved for good."""

from __future__ import annotations

from bisect import bisect_right
from collections import deque

from app.simulation.frame import Block, Frame, frame_of

MOST_STEPS = 120_000
"""Steps that are remembered; ten minutes."""


class History:
    """It listens to the frames of a run; what is older than `most_steps` is dropped.

    Parameters
    ----------
    most_steps : int
        Steps that are remembered, to whole blocks.
    """

    def __init__(self, most_steps: int = MOST_STEPS) -> None:
        self._most = most_steps
        self._blocks: deque[Block] = deque()

    def add(self, frame: Frame) -> None:
        """Take up the blocks of a frame."""
        self._blocks.extend(frame.blocks)
        while self._blocks and self.last - self.first - len(self._blocks[0]) >= self._most:
            self._blocks.popleft()

    @property
    def blocks(self) -> tuple[Block, ...]:
        """All that is remembered, in order; for plots over time."""
        return tuple(self._blocks)

    @property
    def first(self) -> int:
        """Steps before the first one that is remembered."""
        return self._blocks[0].first if self._blocks else 0

    @property
    def last(self) -> int:
        """Steps up to the last one that is remembered."""
        return self._blocks[-1].first + len(self._blocks[-1]) if self._blocks else 0

    def frame_at(self, steps: int) -> Frame | None:
        """The frame after so many steps since the start, held to what is remembered; None of nothing.

        Its contacts are those that are remembered up to then.
        """
        if not self._blocks:
            return None
        held = max(self.first + 1, min(self.last, steps))
        at = bisect_right([block.first for block in self._blocks], held - 1) - 1
        block = self._blocks[at]
        frame = frame_of(block, held - 1 - block.first, ())
        contacts = tuple(c for one in self._blocks for c in one.contacts if c.time_s <= frame.time_s)
        return frame_of(block, held - 1 - block.first, contacts)
