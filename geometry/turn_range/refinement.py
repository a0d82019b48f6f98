"""Where to look closer at a chassis with motors, whose motion has no simple roots.

What it does may change much between two neighbouring turns: near a turn at which its wheels
cannot agree on any motion, the motion that results may turn right round.
"""

from __future__ import annotations

import numpy as np

from geometry.axes import Floats
from geometry.kinematics.motion import from_turn
from geometry.kinematics.robot import Response, Robot

# A change from one turn to the next that is worth a closer look: of the motion's direction, with
# the half-track for unit of length, and of a wheel's slip [rad].
_CHANGE = 0.1
# Each stretch is cut into so many parts, so often; of more stretches the steepest are.
_PARTS, _LEVELS, _MOST = 8, 6, 48


def refined_turns(robot: Robot, turn: Floats, response: Response) -> Floats:
    """Find turns between those of a first look, where the motion or a slip changes much.

    Parameters
    ----------
    robot : Robot
        With motors.
    turn : ndarray, (M,)
        Turn inputs of the first look, rising.
    response : Response
        What it does there.

    Returns
    -------
    ndarray, (L,)
        Turn inputs in no order; none where all goes gently. A change that starts and ends
        between two turns of the first look is not detected.
    """
    points, found = turn[None], [np.zeros(0)]
    for _ in range(_LEVELS):
        change = _changes(response).reshape(-1)
        # Between the last of one stretch and the first of the next there is nothing.
        change = np.append(change, 0.0).reshape(points.shape)[:, :-1]
        row, k = np.nonzero(change > _CHANGE)
        if not len(row):
            break
        steepest = np.argsort(-change[row, k], kind="stable")[:_MOST]
        row, k = row[steepest], k[steepest]
        points = np.linspace(points[row, k], points[row, k + 1], _PARTS + 1, axis=1)
        found.append(points[:, 1:-1].ravel())
        response = robot.at(from_turn(points.ravel(), robot.base))
    return np.concatenate(found)


def _changes(response: Response) -> Floats:
    """The larger of both changes from each motion to the next, (M - 1,)."""
    twist = response.motion.twist * (1.0, 1.0, response.robot.base.half_track)
    size = np.linalg.norm(twist, axis=1, keepdims=True)
    direction = np.divide(twist, size, out=np.zeros_like(twist), where=size > 0)
    moved = np.linalg.norm(np.diff(direction, axis=0), axis=1)
    found = response.alignment
    slip = np.where(found.pivots, 0.0, found.slip)
    return np.asarray(np.maximum(moved, np.abs(np.diff(slip, axis=0)).max(axis=1, initial=0.0)))
