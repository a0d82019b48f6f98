"""The way of a chassis over many short steps: its poses, how far a point goes, and a line to draw."""

from __future__ import annotations

from math import asin, atan2, hypot, pi

import numpy as np
import numpy.typing as npt

from geometry.axes import Floats
from geometry.kinematics.motion import velocity_at


def steps_of(twist: npt.ArrayLike, duration: float) -> Floats:
    """Pose after a constant twist, seen from the pose before it: the exponential of SE(2).

    Parameters
    ----------
    twist : array_like, (M, 3)
        Motions in the body frame [mm/s, mm/s, rad/s].
    duration : float
        How long each lasts [s].

    Returns
    -------
    ndarray, (M, 3)
        x, y [mm] and heading [rad].

    Notes
    -----
    With ``a = omega t``: ``x = t (vx sin a - vy (1 - cos a)) / a`` and
    ``y = t (vx (1 - cos a) + vy sin a) / a``; without turning ``x = t vx, y = t vy``, which is a branch
    of its own. ``1 - cos a = 2 sin(a / 2)^2`` keeps the digits of gentle turns.

    Examples
    --------
    >>> steps_of([(100.0, 0.0, 0.0), (0.0, 0.0, 0.0)], 0.5)
    array([[50.,  0.,  0.],
           [ 0.,  0.,  0.]])
    """
    t = np.asarray(twist, dtype=np.float64)
    angle = duration * t[:, 2]
    straight = angle == 0
    safe = np.where(straight, 1.0, angle)
    along = np.where(straight, 1.0, np.sin(safe) / safe)
    across = np.where(straight, 0.0, 2.0 * np.sin(0.5 * safe) ** 2 / safe)
    found = np.empty((len(t), 3))
    found[:, 0] = duration * (t[:, 0] * along - t[:, 1] * across)
    found[:, 1] = duration * (t[:, 0] * across + t[:, 1] * along)
    found[:, 2] = angle
    return found


def poses_along(twist: npt.ArrayLike, duration: float, start: npt.ArrayLike) -> Floats:
    """Poses that constant twists lead to, one after the other.

    Parameters
    ----------
    twist : array_like, (M, 3)
        Motions in the body frame [mm/s, mm/s, rad/s].
    duration : float
        How long each lasts [s].
    start : array_like, (3,)
        x, y [mm] and heading [rad] before the first.

    Returns
    -------
    ndarray, (M + 1, 3)
        The start, and the pose after each step; headings run on beyond a whole turn.

    Examples
    --------
    >>> poses_along([(10.0, 0.0, np.pi / 2), (10.0, 0.0, 0.0)], 1.0, (0.0, 0.0, 0.0))[1:].round(3)
    array([[ 6.366,  6.366,  1.571],
           [ 6.366, 16.366,  1.571]])
    """
    step = steps_of(twist, duration)
    found = np.empty((len(step) + 1, 3))
    found[0] = start
    found[1:, 2] = step[:, 2]
    # Sums run from first to last, as if each step were taken by itself.
    found[:, 2] = np.cumsum(found[:, 2])
    cos, sin = np.cos(found[:-1, 2]), np.sin(found[:-1, 2])
    found[1:, 0] = cos * step[:, 0] - sin * step[:, 1]
    found[1:, 1] = sin * step[:, 0] + cos * step[:, 1]
    found[:, :2] = np.cumsum(found[:, :2], axis=0)
    return found


def way_of_point(twist: npt.ArrayLike, duration: float, x: float, y: float) -> Floats:
    """How far a point of the body goes in each step, along its arc.

    Parameters
    ----------
    twist : array_like, (M, 3)
        Motions in the body frame [mm/s, mm/s, rad/s].
    duration : float
        How long each lasts [s].
    x, y : float
        The point in the body frame [mm].

    Returns
    -------
    ndarray, (M,)
        Lengths of the arcs [mm].

    Examples
    --------
    >>> way_of_point([(100.0, 0.0, 0.0), (0.0, 0.0, 2.0)], 0.5, 0.0, 30.0)
    array([50., 30.])
    """
    vx, vy = velocity_at(twist, [x], [y])
    return np.asarray(duration * np.hypot(vx[:, 0], vy[:, 0]))


def thinned(points: npt.ArrayLike, within: float) -> npt.NDArray[np.int64]:
    """Which points of a line to keep, so that those left out lie near the line that remains.

    Parameters
    ----------
    points : array_like, (M, 2)
        Points of the line, in order [mm].
    within : float
        How far a point that is left out may lie from the line at most, above 0 [mm].

    Returns
    -------
    ndarray of int
        Numbers of the points kept, ascending; first and last are among them.

    Notes
    -----
    From the point kept last, each further one leaves a cone of directions that pass it closely enough.
    The line goes on while the next point lies within all cones and not nearer than one before.

    Examples
    --------
    >>> thinned([(0, 0), (1, 0), (2, 0.1), (3, 0), (3, 5)], 0.3)
    array([0, 3, 4])
    >>> thinned(np.zeros((0, 2)), 0.3)
    array([], dtype=int64)
    """
    line = np.asarray(points, dtype=np.float64).tolist()
    if len(line) < 3:
        return np.arange(len(line))
    kept = [0]
    x, y = line[0]
    far, low, high, middle = 0.0, -pi, pi, None
    for i in range(1, len(line)):
        dx, dy = line[i][0] - x, line[i][1] - y
        size = hypot(dx, dy)
        if size > within or far > within:
            toward = atan2(dy, dx)
            if middle is None:
                middle = toward
            off = toward - middle
            off -= 2 * pi * round(off / (2 * pi))
            if size < far or not low <= off <= high:
                kept.append(i - 1)
                x, y = line[i - 1]
                far, low, high, middle = 0.0, -pi, pi, None
                dx, dy = line[i][0] - x, line[i][1] - y
                size = hypot(dx, dy)
                if size <= within:
                    continue
                middle, off = atan2(dy, dx), 0.0
            room = asin(within / size) if size > within else pi
            low, high, far = max(low, off - room), min(high, off + room), max(far, size)
    kept.append(len(line) - 1)
    return np.array(kept, dtype=np.int64)
