"""The room to turn over the whole range of turns, worked out off the window's thread."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from PySide6.QtCore import QObject, Signal

from app.design.facts import Facts
from app.words.space_words import MEASURES
from geometry.axes import Floats
from geometry.model.design import Design
from geometry.turning_space.measures import measures_of

if TYPE_CHECKING:
    from app.jobs import Job

# Turns that are measured between two words of progress.
_BLOCK = 512


@dataclass(frozen=True, eq=False)
class Room:
    """The room that a robot takes at M turns; nan where there is no such measure."""

    measures: Floats
    """(M, K): every one of `MEASURES`, in their order [mm]."""
    off_tracking: Floats
    """(M, N): of each wheel [mm]."""


def no_room(design: Design, rows: int) -> Room:
    """What stands in for the room that is not worked out yet: nothing but gaps."""
    return Room(np.full((rows, len(MEASURES)), np.nan), np.full((rows, len(design.wheels)), np.nan))


def room_at(facts: Facts, turns: Floats, go_on: Callable[[float], bool] = lambda _share: True) -> Room | None:
    """The room to turn, as built and driving forward.

    Parameters
    ----------
    facts : Facts
        The design with its robot.
    turns : ndarray, (M,)
        Turn inputs.
    go_on : callable, optional
        Told the share that is done; answers False where the work shall stop.

    Returns
    -------
    Room or None
        None where it was stopped.
    """
    found, offs = [], []
    for first in range(0, len(turns), _BLOCK):
        if not go_on(first / len(turns)):
            return None
        some = measures_of(facts.robot, facts.design, turns[first : first + _BLOCK])
        found.append(np.stack([measure.values(some) for measure in MEASURES], axis=1))
        offs.append(some.off_tracking)
    measures = np.concatenate(found)
    return Room(np.where(np.isfinite(measures), measures, np.nan), np.concatenate(offs))


class RoomCurves(QObject):
    """The room to turn at all turns of the check, of one design at a time; a drag is waited for."""

    ready = Signal()
    """What was asked for last is there."""

    def __init__(self, parent: QObject) -> None:
        super().__init__(parent)
        self._asked: Facts | None = None
        self._found: Room | None = None
        self._job: Job | None = None
        self._ending: list[Job] = []

    def of(self, facts: Facts) -> Room | None:
        """The room of a design; None while it is dragged, and until it is worked out, which begins now."""
        if facts is not self._asked:
            self.rest()
            if not facts.previewing:
                self._begin(facts)
        return self._found

    def rest(self) -> None:
        """Give up what is worked out; nothing waits for it: a drag would stand still meanwhile."""
        self._asked = self._found = None
        if self._job is not None:
            self._job.cancel()
            self._ending.append(self._job)
            self._job = None

    def stop(self) -> None:
        """Give up, and leave no thread behind."""
        self.rest()
        for job in self._ending:
            job.stop()
            job.deleteLater()
        self._ending = []

    def _begin(self, facts: Facts) -> None:
        from app.jobs import Job  # late: the window opens without it

        self._asked = facts
        turns = np.asarray(facts.check.dense.turns)
        job = Job(lambda go_on: room_at(facts, turns, go_on), self)
        job.ended.connect(lambda: self._end(job))
        job.done.connect(self._take)
        self._job = job
        job.start()

    def _end(self, job: Job) -> None:
        job.deleteLater()
        if job is self._job:
            self._job = None
        if job in self._ending:
            self._ending.remove(job)

    def _take(self, room: Room) -> None:
        # A job that was given up says nothing: this is of what was asked for last.
        self._found = room
        self.ready.emit()
