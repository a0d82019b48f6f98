"""The line that the robot leaves, thinned as it grows, with the drag along it."""

from __future__ import annotations

import numpy as np

from app.simulation.frame import Frame
from geometry.axes import Floats
from geometry.driving.way import thinned

WITHIN_MM = 0.3
"""How far a point that is left out may lie from the line, at first [mm]."""
MOST_POINTS = 20_000
_GATHERED = 64


class Track:
    """Points of the origin of the chassis, from frames; memory stays flat.

    Points are only added, and those that are kept stay the same, so that a picture of the line can be
    added to; but where they become more than `MOST_POINTS`, the line is thinned anew at twice the error, and
    `renewed` counts that.
    """

    def __init__(self) -> None:
        self._kept = np.zeros((0, 3))
        self._tail: list[tuple[float, float, float]] = []
        self.within_mm = WITHIN_MM
        """How far a point that is left out may lie from the line now [mm]."""
        self.renewed = 0
        """How often all of the line was thinned anew."""

    def add(self, frame: Frame) -> None:
        """Take up a frame."""
        self._tail.append((frame.pose[0], frame.pose[1], sum(frame.drag)))
        if len(self._tail) < _GATHERED:
            return
        line = np.concatenate([self._kept[-1:], np.array(self._tail)])
        chosen = line[thinned(line[:, :2], self.within_mm)]
        self._kept = np.concatenate([self._kept, chosen[1:] if len(self._kept) else chosen])
        self._tail.clear()
        if len(self._kept) > MOST_POINTS:
            # Each thinning adds its own error to those before.
            self._kept = self._kept[thinned(self._kept[:, :2], self.within_mm)]
            self.within_mm *= 2
            self.renewed += 1

    @property
    def points(self) -> Floats:
        """(P, 3): x, y [mm] and the drag of all wheels so far [mm], the latest frame last."""
        return np.concatenate([self._kept, np.array(self._tail).reshape(-1, 3)])
