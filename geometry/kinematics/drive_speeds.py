"""What the drive motors make of the wheels: slip along the wheel, the gearing against it, the top speed."""

from __future__ import annotations

import numpy as np

from geometry.axes import Floats
from geometry.kinematics.as_built import DriveGroup, MotorArrays
from geometry.kinematics.ideal import Solution

# A wheel slower than this share of the faster side does not roll [speed units].
_AT_REST = 1e-9


def lengthwise_slip(solution: Solution, mismatch: Floats) -> Floats:
    """How much too far (positive) or too little the motors roll each driven wheel.

    Parameters
    ----------
    solution : Solution
        M motions of N wheels, as they result.
    mismatch : ndarray, (M, N)
        Rolling speed that the motors ask of each less that which it has [speed units].

    Returns
    -------
    ndarray, (M, N)
        Millimetres for each metre that the contact travels [mm/m]; 0 for a contact at rest.
    """
    moved = np.hypot(solution.roll, solution.side)
    return np.asarray(1000.0 * np.divide(mismatch, moved, out=np.zeros_like(moved), where=moved > _AT_REST))


def speed_limit(motors: MotorArrays, drive: Floats) -> Floats:
    """Largest speed of the faster side at which no drive motor passes its usable speed.

    Parameters
    ----------
    motors : MotorArrays
        D drive motors.
    drive : ndarray, (M, D)
        Turns of each for each mm of the faster side [1/mm].

    Returns
    -------
    ndarray, (M,)
        Speeds [mm/s]; ``inf`` without drive motors, or where none of them turns.
    """
    limit = np.full(len(drive), np.inf)
    for d, group in enumerate(motors.drive):
        size = np.abs(drive[:, d])
        # What rounding leaves of a motor whose wheels pull against each other is no turning.
        turns = size * np.abs(group.rolling).max() > _AT_REST
        each = np.divide(group.usable, size, out=np.full(len(size), np.inf), where=turns)
        np.minimum(limit, each, out=limit)
    return limit


def least_mismatch_rolling(group: DriveGroup, roll: Floats) -> Floats:
    """Rolling of each wheel for a turn of its motor at which none of them slips at one motion.

    Parameters
    ----------
    group : DriveGroup
        The motor; its first wheel keeps its gearing.
    roll : ndarray, (N,)
        Ideal rolling speeds of all wheels at the chosen motion [speed units].

    Returns
    -------
    ndarray, (G,)
        mm for each turn; NaN where the first wheel does not roll, so that no gearing serves.
    """
    held = list(group.wheels)
    first = float(roll[held[0]])
    if abs(first) < _AT_REST:
        return np.full(len(held), np.nan)
    return np.asarray(group.rolling[0] * roll[held] / first)
