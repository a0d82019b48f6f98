"""Where to look closer at a chassis with motors, whose motion has no simple roots.

What it does may change much between two neighbouring turns: near a turn at which its wheels
cannot agree on any motion, the motion that results may turn right round.
"""

from __future__ import annotations

import numpy as np

from geometry.alignment import alignment_of
from geometry.as_built import AsBuilt, MotorArrays, as_built
from geometry.axes import Floats
from geometry.chassis import Base, WheelArrays
from geometry.motion import from_turn

# A change from one turn to the next that is worth a closer look: of the motion's direction, with
# the half-track for unit of length, and of a wheel's slip [rad].
_CHANGE = 0.1
# Each stretch is cut into so many parts, so often; of more stretches the steepest are.
_PARTS, _LEVELS, _MOST = 8, 6, 48


def closer_turns(
    wheels: WheelArrays, motors: MotorArrays, base: Base, turn: Floats, built: AsBuilt
) -> Floats:
    """Find turns between those of a first look, where the motion or a slip changes much.

    Parameters
    ----------
    wheels : WheelArrays
        N wheels.
    motors : MotorArrays
        Their motors.
    base : Base
        Base axle and reference points.
    turn : ndarray, (M,)
        Turn inputs of the first look, rising.
    built : AsBuilt
        What the chassis does there.

    Returns
    -------
    ndarray, (L,)
        Turn inputs in no order; none where all goes gently. What comes and goes wholly between
        two turns of the first look stays unseen.
    """
    points, found = turn[None], [np.zeros(0)]
    for _ in range(_LEVELS):
        change = _changes(wheels, base, built).reshape(-1)
        # Between the last of one stretch and the first of the next there is nothing.
        change = np.append(change, 0.0).reshape(points.shape)[:, :-1]
        row, k = np.nonzero(change > _CHANGE)
        if not len(row):
            break
        steepest = np.argsort(-change[row, k], kind="stable")[:_MOST]
        row, k = row[steepest], k[steepest]
        points = np.linspace(points[row, k], points[row, k + 1], _PARTS + 1, axis=1)
        found.append(points[:, 1:-1].ravel())
        built = as_built(wheels, motors, from_turn(points.ravel(), base))
    return np.concatenate(found)


def _changes(wheels: WheelArrays, base: Base, built: AsBuilt) -> Floats:
    """The larger of both changes from each motion to the next, (M - 1,)."""
    twist = built.solution.motion.twist * (1.0, 1.0, base.half_track)
    size = np.linalg.norm(twist, axis=1, keepdims=True)
    direction = np.divide(twist, size, out=np.zeros_like(twist), where=size > 0)
    moved = np.linalg.norm(np.diff(direction, axis=0), axis=1)
    found = alignment_of(wheels, built.solution)
    slip = np.where(found.pivots, 0.0, found.slip)
    return np.asarray(np.maximum(moved, np.abs(np.diff(slip, axis=0)).max(axis=1, initial=0.0)))
