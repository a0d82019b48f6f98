"""Turns that matter for a chassis with motors: its own landmarks, and those of shared steering."""

from __future__ import annotations

import numpy as np

from geometry.as_built import MotorArrays, as_built, narrowed
from geometry.axes import Bools, Floats
from geometry.chassis import Base, WheelArrays
from geometry.motion import from_turn
from geometry.sweep import Landmark, LandmarkKind, landmarks, turns_between

# The first as exact as it gets; the second for pictures that pass while something is dragged.
FINE, COARSE = (1001, 30), (101, 5)
# A steer angle that changes by more between neighbouring rows may have jumped [rad].
_SUSPECT, _JUMP = 0.3, 0.1


def built_landmarks(
    wheels: WheelArrays,
    motors: MotorArrays,
    base: Base,
    largest_turn: float = 1.0,
    *,
    grid: tuple[int, int] = FINE,
) -> tuple[Landmark, ...]:
    """Find the turns that matter, as `sweep.landmarks` does, with the travel that the motors leave.

    Where one motor holds several wheels, the angle that suits them best has no simple root;
    its jumps and stops are found on a grid and narrowed down by halving. One that comes and
    goes between two rows of the grid stays unseen.

    Parameters
    ----------
    wheels : WheelArrays
        N wheels.
    motors : MotorArrays
        Their motors.
    base : Base
        Base axle and reference points.
    largest_turn : float
        Half of the range, above 0 and up to 1.
    grid : (int, int)
        Rows of the first look for jumps of a shared motor, and halvings of the gap where one is.

    Returns
    -------
    tuple of Landmark
        In rising order of turn input.
    """
    shared = {int(n) for group in motors.steer if len(group.wheels) > 1 for n in group.wheels}
    own = landmarks(narrowed(wheels, motors), base, largest_turn)
    kept = [mark for mark in own if mark.wheel not in shared]
    if shared:
        kept += _shared_marks(
            wheels, motors, base, turns_between(-largest_turn, largest_turn, grid[0]), grid[1], sorted(shared)
        )
    return tuple(sorted(kept, key=lambda mark: (mark.turn, mark.wheel is not None, mark.wheel or 0)))


def _shared_marks(
    wheels: WheelArrays, motors: MotorArrays, base: Base, turn: Floats, halvings: int, shared: list[int]
) -> list[Landmark]:
    def angles(turns: Floats) -> tuple[Floats, Bools, Floats]:
        found = as_built(wheels, motors, from_turn(turns, base)).solution
        return found.steer[:, shared], found.limited[:, shared], found.roll[:, shared]

    steer, limited, _ = angles(turn)
    rows, columns = np.nonzero((np.abs(np.diff(steer, axis=0)) > _SUSPECT) | np.diff(limited, axis=0))
    if not len(rows):
        return []
    low, high = turn[rows].copy(), turn[rows + 1].copy()
    each = np.arange(len(rows))
    at_low, stop_low, roll_low = (part[each, columns] for part in angles(low))
    at_high, stop_high, roll_high = (part[each, columns] for part in angles(high))
    for _ in range(halvings):
        middle = 0.5 * (low + high)
        at, stop, roll = (part[each, columns] for part in angles(middle))
        differs = stop != stop_low
        differs |= (stop_low == stop_high) & (np.abs(at - at_low) > np.abs(at - at_high))
        low, high = np.where(differs, low, middle), np.where(differs, middle, high)
        at_low, stop_low = np.where(differs, at_low, at), np.where(differs, stop_low, stop)
        roll_low, roll_high = np.where(differs, roll_low, roll), np.where(differs, roll, roll_high)
        at_high, stop_high = np.where(differs, at, at_high), np.where(differs, stop, stop_high)
    marks = []
    for i, n in enumerate(columns.tolist()):
        jumps = abs(at_high[i] - at_low[i]) > _JUMP
        if not jumps and stop_low[i] == stop_high[i]:
            continue
        inner = abs(low[i]) < abs(high[i])
        before, after = (at_low[i], at_high[i]) if inner else (at_high[i], at_low[i])
        kind: LandmarkKind = "travel end"
        if jumps:
            opposed = roll_low[i] * roll_high[i] < 0
            kind = "changes end" if stop_low[i] and stop_high[i] else "flip" if opposed else "jump"
        marks.append(
            Landmark(float(low[i] if inner else high[i]), kind, shared[n], float(before), float(after))
        )
    return marks
