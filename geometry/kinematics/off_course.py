"""How far the motion that results is from the one that is asked for."""

from __future__ import annotations

import numpy as np

from geometry.axes import Bools, Floats
from geometry.model.base_axle import Base

# Share of the largest yaw rate by which a chassis that does not turn as asked to is off.
_OFF_COURSE = 0.5


def radius_error(base: Base, wanted: Floats, built: Floats) -> Floats:
    """Find the largest error of the turn radius over a range.

    Parameters
    ----------
    base : Base
        Base axle and reference points.
    wanted, built : ndarrays, (M, 3) and (..., M, 3)
        Motions.

    Returns
    -------
    ndarray, (...)
        Share of the radius or, where that is less, of the half-track; ``inf`` where the
        chassis should turn and does not; 0 where it should nowhere turn.
    """
    turning = wanted[:, 2] != 0
    radius = wanted[turning, 0] / wanted[turning, 2] - base.middle
    speed, rate = built[..., turning, 0], built[..., turning, 2]
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        found = np.where(rate != 0, speed / rate - base.middle, np.inf)
    share = np.abs(found - radius) / np.maximum(np.abs(radius), base.half_track)
    return np.asarray(share.max(axis=-1, initial=0.0))


def goes_off_course(wanted: Floats, built: Floats) -> Bools:
    """Tell whether a chassis does not turn as it is asked to.

    Parameters
    ----------
    wanted, built : ndarrays, (M, 3) and (..., M, 3)
        Motions.

    Returns
    -------
    ndarray, (...)
        True where the yaw rate is somewhere off by too much.
    """
    return np.asarray(off_course(wanted, built).any(axis=-1))


def off_course(wanted: Floats, built: Floats) -> Bools:
    """Tell at which turns of a range the yaw rate is off by half of the largest or more.

    Parameters
    ----------
    wanted, built : ndarrays, (M, 3) and (..., M, 3)
        Motions.

    Returns
    -------
    ndarray, (..., M)
        False everywhere where no turn is wanted.
    """
    most = np.abs(wanted[:, 2]).max(initial=0.0)
    return np.asarray((np.abs(built[..., 2] - wanted[:, 2]) >= _OFF_COURSE * most) & (most > 0))
