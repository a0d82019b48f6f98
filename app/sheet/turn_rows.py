"""The rows of a table over the turn between which straight lines are true, but for a stated error.

Rows stand at even turns, at every landmark and on both sides of every jump; where a straight line would miss,
there are more. Between the two rows of a jump nothing suits: such a pair is a break.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

from app.design.facts import Facts
from app.units import degrees
from geometry.axes import Bools, Floats, frozen_array
from geometry.kinematics.alignment import STATES
from geometry.kinematics.robot import Response
from geometry.turn_range.range_check import at_turns
from geometry.turn_range.sweep import JUMPS, turns_between

EVEN_ROWS = 81
MOST_ROWS = 2500
# Rows times wheels at most, so that a page with them stays below 2 MB.
_MOST_CELLS = 50_000
# From a jump to the rows on either side of it; a pair of rows as near as twice that which still
# disagrees with its middle is a break.
_BESIDE = 2e-9
_MOTION = 3


class Allowed(NamedTuple):
    """Largest errors of a straight line that call for no further row."""

    heading_deg: float = 0.02
    roll: float = 0.002
    drag: float = 1.0
    twist: float = 0.0005


class RowError(NamedTuple):
    """The largest errors found between rows."""

    heading_deg: float
    roll: float
    """[faster side = 1]."""
    drag: float
    """[mm per metre]."""
    twist: float
    """Of the speeds of the motion [faster side = 1]."""


ALLOWED = Allowed()


@dataclass(frozen=True, eq=False)
class TurnRows:
    """M rows of N wheels; read-only arrays."""

    turns: Floats
    """(M,): turn inputs, rising."""
    breaks: tuple[int, ...]
    """Rows after which something jumps: between such a row and the next there is no straight line."""
    heading: Floats
    """(M, N): where the wheels point [degrees]."""
    roll: Floats
    """(M, N): rolling speeds [faster side = 1]."""
    drag: Floats
    """(M, N): [mm per metre]; 0 of a wheel that pivots on the centre or swings round."""
    twist: Floats
    """(M, 3): forward and leftward speed of the origin, and the yaw rate times the half-track
    [faster side = 1]."""
    error: RowError
    """The largest errors of straight lines at all turns that were looked at."""

    def pieces(self) -> list[slice]:
        """Runs of rows without a break within."""
        ends = [*(b + 1 for b in self.breaks), len(self.turns)]
        return [slice(a, b) for a, b in zip([0, *ends[:-1]], ends, strict=True)]

    def at(self, column: Floats, turn: float) -> Floats:
        """A column at any turn of the range, by the straight line there, beside a break by the nearer row."""
        low = int(np.clip(np.searchsorted(self.turns, turn, side="right") - 1, 0, len(self.turns) - 2))
        part = (turn - self.turns[low]) / (self.turns[low + 1] - self.turns[low])
        if low in self.breaks:
            part = float(part >= 0.5)
        return np.asarray(column[low] + part * (column[low + 1] - column[low]))


def turn_rows(facts: Facts, also: tuple[float, ...] = ()) -> TurnRows:
    """Choose the rows for a design with wheels.

    Parameters
    ----------
    facts : Facts
        Of the design.
    also : tuple of float
        Turn inputs at which there must be a row.

    Returns
    -------
    TurnRows
        From one end of the range in use to the other.
    """
    look = _Look(facts)
    turns, values = look.first(also)
    open_, broken, off = np.ones(len(turns) - 1, bool), np.zeros(len(turns) - 1, bool), look.nothing()
    most = max(len(turns), min(MOST_ROWS, _MOST_CELLS // max(len(facts.robot), 1)))
    while open_.any():
        pairs = np.flatnonzero(open_)
        low, high = turns[pairs], turns[pairs + 1]
        inner = np.stack([low + (high - low) * q for q in (0.25, 0.5, 0.75)])
        found = look.values(inner.ravel()).reshape(3, len(pairs), -1)
        line = np.stack([values[pairs] + q * (values[pairs + 1] - values[pairs]) for q in (0.25, 0.5, 0.75)])
        missed = np.abs(found - line)
        wrong = (missed > look.allowed).any(axis=(0, 2))
        jumps = wrong & (high - low <= 2.5 * _BESIDE)
        split = wrong & ~jumps
        if len(turns) + int(split.sum()) > most:
            split = split & False
        off = np.maximum(off, missed[:, ~split & ~jumps].max(axis=(0, 1), initial=0.0))
        broken[pairs[jumps]] = True
        open_[pairs] = split
        # Each split pair becomes two, both still open.
        at = pairs[split] + 1
        turns = np.insert(turns, at, inner[1, split])
        values = np.insert(values, at, found[1, split], axis=0)
        open_, broken = np.insert(open_, at, True), np.insert(broken, at, False)
    rows = look.rows(turns, values, broken)
    return look.with_error(rows, np.maximum(off, look.off_elsewhere(rows)))


class _Look:
    """What is looked at, as one array with a column for each number."""

    def __init__(self, facts: Facts) -> None:
        self.facts = facts
        wheels = len(facts.robot)
        each = ((ALLOWED.heading_deg, wheels), (ALLOWED.roll, wheels), (ALLOWED.drag, wheels))
        sizes = (*each, (ALLOWED.twist, _MOTION))
        self.allowed = np.concatenate([np.full(count, most) for most, count in sizes])
        self.ends = np.cumsum([count for _, count in sizes])[:-1].tolist()

    def nothing(self) -> Floats:
        return np.zeros(len(self.allowed))

    def first(self, also: tuple[float, ...]) -> tuple[Floats, Floats]:
        """Even turns, landmarks, and both sides of jumps."""
        reach = self.facts.design.largest_turn
        chosen = {*turns_between(-reach, reach, EVEN_ROWS).tolist(), *also}
        jumps = [mark.turn for mark in self.facts.landmarks if mark.kind in JUMPS]
        chosen |= {mark.turn for mark in self.facts.landmarks if mark.kind not in JUMPS}
        # A row within a jump would stand on neither side of it.
        chosen = {turn for turn in chosen if all(abs(turn - jump) > _BESIDE for jump in jumps)}
        chosen |= {turn + side for turn in jumps for side in (-_BESIDE, _BESIDE)}
        turns = np.array(sorted({*(turn for turn in chosen if abs(turn) < reach), -reach, reach}))
        return turns, self.values(turns)

    def values(self, turns: Floats) -> Floats:
        return self._columns(at_turns(self.facts.robot, turns).response)

    def _columns(self, response: Response) -> Floats:
        solution, found = response.solution, response.alignment
        silent = np.isin(response.states, [STATES.index("pivots"), STATES.index("swings round")])
        twist = np.array(response.motion.twist)
        twist[:, 2] *= self.facts.robot.base.half_track
        drag = np.where(silent, 0.0, np.abs(found.drag))
        return np.hstack([degrees(1.0) * solution.heading, solution.roll, drag, twist])

    def rows(self, turns: Floats, values: Floats, broken: Bools) -> TurnRows:
        heading, roll, drag, twist = (frozen_array(part) for part in np.split(values, self.ends, axis=1))
        breaks = tuple(np.flatnonzero(broken).tolist())
        none = RowError(0.0, 0.0, 0.0, 0.0)
        return TurnRows(frozen_array(turns), breaks, heading, roll, drag, twist, none)

    def off_elsewhere(self, rows: TurnRows) -> Floats:
        """How far straight lines are off at the turns of the check, which did not choose the rows."""
        dense = self.facts.check.dense
        low = np.clip(np.searchsorted(rows.turns, dense.turns, side="right") - 1, 0, len(rows.turns) - 2)
        joined = ~np.isin(low, rows.breaks)
        low, turns, true = low[joined], dense.turns[joined], self._columns(dense.response)[joined]
        values = np.hstack([rows.heading, rows.roll, rows.drag, rows.twist])
        part = (turns - rows.turns[low]) / (rows.turns[low + 1] - rows.turns[low])
        line = values[low] + part[:, None] * (values[low + 1] - values[low])
        return np.asarray(np.abs(true - line).max(axis=0, initial=0.0))

    def with_error(self, rows: TurnRows, off: Floats) -> TurnRows:
        error = RowError(*(float(part.max(initial=0.0)) for part in np.split(off, self.ends)))
        return replace(rows, error=error)
