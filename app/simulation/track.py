"""Where the robot has been, thinned as it grows: its poses, where its wheels pointed, and their drag."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from app.simulation.footprint import Footprint
from app.simulation.frame import Block, Frame
from geometry.axes import Floats
from geometry.driving.way import halved_together, thinned_together

WITHIN_MM = 0.3
"""How far a point that is left out may lie from its line, at first [mm]."""
MOST_POINTS = 20_000
_GATHERED = 64


@dataclass(frozen=True, eq=False)
class Rows:
    """M moments, in their order."""

    steps: Floats
    """(M,): steps since the start."""
    pose: Floats
    """(M, 3): x, y [mm] and heading [rad] in the frame of the course."""
    heading: Floats
    """(M, N): where the wheels point [rad]."""
    drag: Floats
    """(M, N): dragged sideways since the start [mm]."""

    def __len__(self) -> int:
        """Number of moments."""
        return len(self.steps)

    def part(self, first: int, end: int) -> Rows:
        """Some of them."""
        some = slice(first, end)
        return Rows(self.steps[some], self.pose[some], self.heading[some], self.drag[some])

    def chosen(self, numbers: npt.NDArray[np.int64]) -> Rows:
        """Those of these numbers."""
        return Rows(self.steps[numbers], self.pose[numbers], self.heading[numbers], self.drag[numbers])


def rows_of(frame: Frame) -> Rows:
    """One moment."""
    return _rows(np.array([_row(frame)]))


class Track:
    """Moments of a run, from frames or from whole blocks; memory stays flat.

    A moment that is left out lies near the line between those that are kept: the origin of the chassis,
    each contact and the front of each tyre, and the drag of each wheel, which counts like a length. Moments
    are only added, and those that are kept stay the same; but where they become more than `MOST_POINTS`,
    every second one is left out where that costs no more than the error so far, which is then twice as
    large, and `renewed` counts that.

    Parameters
    ----------
    footprint : Footprint, optional
        What the robot covers; without one only the line of the origin is kept near.
    """

    def __init__(self, footprint: Footprint | None = None) -> None:
        self.footprint = footprint
        self._table = np.zeros((0, 4))
        self._count = 0
        self._tail: list[tuple[float, ...]] = []
        self.within_mm = WITHIN_MM
        """How far a point that is left out may lie from its line now [mm]."""
        self.renewed = 0
        """How often all of it was thinned anew."""

    def add(self, frame: Frame) -> None:
        """Take up a frame."""
        self._tail.append(_row(frame))
        if len(self._tail) >= _GATHERED:
            self._gather(np.array(self._tail))
            self._tail.clear()

    def add_block(self, block: Block, every: int) -> None:
        """Take up a block, of `every` so many steps the last, and its end."""
        rows = np.unique(np.append(np.arange(every - 1, len(block), every), len(block) - 1))
        taken = [(block.first + rows + 1)[:, None], block.pose[rows + 1], block.heading[rows]]
        fresh = np.concatenate([*taken, block.drag[rows + 1]], axis=1)
        for start in range(0, len(fresh), _GATHERED):
            self._gather(fresh[start : start + _GATHERED])

    def _gather(self, fresh: Floats) -> None:
        """Take up at most `_GATHERED` moments."""
        if not len(self._table):
            # All the room at once: arrays that grow leave holes behind.
            self._table = np.empty((MOST_POINTS + _GATHERED, fresh.shape[1]))
        line = np.concatenate([self._kept[-1:], fresh])
        chosen = line[thinned_together(self.lines(_rows(line)), self.within_mm)]
        self._keep(chosen, max(self._count - 1, 0))
        while self._count > MOST_POINTS:
            # Each thinning adds its own error to those before.
            kept = self._kept
            self._keep(kept[halved_together(self.lines(_rows(kept)), self.within_mm)], 0)
            self.within_mm *= 2
            self.renewed += 1

    def _keep(self, chosen: Floats, start: int) -> None:
        self._count = start + len(chosen)
        self._table[start : self._count] = chosen

    @property
    def _kept(self) -> Floats:
        return self._table[: self._count]

    def lines(self, rows: Rows) -> Floats:
        """Places that must stay near their lines, (M, K, 3) [mm]; the third number is a contact's drag."""
        origin = np.zeros((len(rows), 1, 3))
        origin[:, 0, :2] = rows.pose[:, :2]
        if self.footprint is None:
            return origin
        places = self.footprint.witnesses(rows.pose, rows.heading)
        drag = np.zeros((len(rows), places.shape[1], 1))
        drag[:, : rows.drag.shape[1], 0] = rows.drag
        return np.concatenate([origin, np.concatenate([places, drag], axis=2)], axis=1)

    @property
    def points(self) -> Floats:
        """(P, 3): x, y [mm] and the drag of all wheels so far [mm], the latest frame last."""
        rows = self.between(-1, np.inf)
        return np.column_stack([rows.pose[:, :2], rows.drag.sum(axis=1)])

    def between(self, after: float, before: float) -> Rows:
        """Find the moments later than so many steps, and earlier than so many."""
        kept = self._kept
        first = np.searchsorted(kept[:, 0], after, side="right")
        found = kept[first : np.searchsorted(kept[:, 0], before)].copy()
        tail = [row for row in self._tail if after < row[0] < before]
        if tail:
            found = np.concatenate([found.reshape(-1, len(tail[0])), tail])
        return _rows(found)


def _row(frame: Frame) -> tuple[float, ...]:
    return (frame.steps, *frame.pose, *frame.headings, *frame.drag)


def _rows(table: Floats) -> Rows:
    """Moments from a table: steps, pose, headings, drag."""
    table = table.reshape(-1, table.shape[-1])
    wheels = (table.shape[1] - 4) // 2
    return Rows(table[:, 0], table[:, 1:4], table[:, 4 : 4 + wheels], table[:, 4 + wheels :])
