"""The way of a chassis over many short steps: its poses, how far a point goes, and a line to draw."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from geometry.axes import Floats, wrap
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


def twists_between(poses: npt.ArrayLike) -> Floats:
    """Find the constant twist that leads from each pose to the next in a time of 1: the logarithm of SE(2).

    Parameters
    ----------
    poses : array_like, (M, 3)
        x, y [mm] and heading [rad], M at least 1.

    Returns
    -------
    ndarray, (M - 1, 3)
        Motions in the body frame of each pose but the last [mm, mm, rad]. A heading that changes by more
        than half a turn is taken as the shorter turn.

    Notes
    -----
    With half the turn ``h``: ``vx = x h / tan h + y h`` and ``vy = y h / tan h - x h``, where (x, y) is the
    next pose seen from the one before. Without turning ``h / tan h`` is 1.

    Examples
    --------
    >>> twists_between([(0, 0, 0), (20 / np.pi, 20 / np.pi, np.pi / 2), (20 / np.pi, 30, np.pi / 2)]).round(3)
    array([[10.   ,  0.   ,  1.571],
           [23.634,  0.   ,  0.   ]])
    """
    p = np.asarray(poses, dtype=np.float64)
    gap, turn = np.diff(p[:, :2], axis=0), wrap(np.diff(p[:, 2]))
    cos, sin = np.cos(p[:-1, 2]), np.sin(p[:-1, 2])
    x, y = cos * gap[:, 0] + sin * gap[:, 1], cos * gap[:, 1] - sin * gap[:, 0]
    half = 0.5 * turn
    straight = half == 0
    safe = np.where(straight, 1.0, half)
    share = np.where(straight, 1.0, safe / np.tan(safe))
    return np.stack([x * share + y * half, y * share - x * half, turn], axis=1)


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


def thinned_together(lines: npt.ArrayLike, within: float) -> npt.NDArray[np.int64]:
    """Which moments of several lines to keep, so that on each of them all lies near what remains.

    Parameters
    ----------
    lines : array_like, (M, K, D)
        K lines in D dimensions, each with a point for each of M moments.
    within : float
        How far a point that is left out may lie from the piece of its line between the moments kept.

    Returns
    -------
    ndarray of int
        Numbers of the moments kept, ascending; first and last are among them.

    Notes
    -----
    A stretch is parted at the moment that lies farthest off on any line, until none lies too far off.

    Examples
    --------
    >>> straight, bent = [(0, 0), (1, 0), (2, 0), (3, 0)], [(0, 9), (1, 9), (2, 12), (3, 9)]
    >>> thinned_together(np.stack([straight, bent], axis=1), 0.3)
    array([0, 1, 2, 3])
    >>> thinned_together(np.stack([straight, straight], axis=1), 0.3)
    array([0, 3])
    >>> thinned_together(np.zeros((0, 2, 2)), 0.3)
    array([], dtype=int64)
    """
    line = np.asarray(lines, dtype=np.float64)
    kept = np.zeros(len(line), dtype=bool)
    kept[:1] = kept[-1:] = True
    spans = [(0, len(line) - 1)]
    while spans:
        a, b = spans.pop()
        if b - a < 2:
            continue
        far = _off_chord(line[a], line[a + 1 : b], line[b]).max(axis=1)
        worst = int(far.argmax())
        if far[worst] > within:
            kept[a + 1 + worst] = True
            spans += [(a, a + 1 + worst), (a + 1 + worst, b)]
    return np.flatnonzero(kept)


def halved_together(lines: npt.ArrayLike, within: float) -> npt.NDArray[np.int64]:
    """Which moments remain where of every two one is left out, if it lies near the piece around it.

    Parameters
    ----------
    lines : array_like, (M, K, D)
        As for `thinned_together`; this one takes the same time however bent they are.
    within : float
        How far a point that is left out may lie from that piece.

    Returns
    -------
    ndarray of int
        Numbers of the moments kept, ascending; first and last are among them.

    Examples
    --------
    >>> halved_together(np.array([(0, 0), (1, 0), (2, 0), (3, 1), (4, 0)])[:, None], 0.3)
    array([0, 2, 3, 4])
    """
    line = np.asarray(lines, dtype=np.float64)
    kept = np.ones(len(line), dtype=bool)
    second = np.arange(1, len(line) - 1, 2)
    far = _off_chord(line[second - 1], line[second], line[second + 1]).max(axis=1, initial=0.0)
    kept[second[far <= within]] = False
    return np.flatnonzero(kept)


def _off_chord(start: Floats, points: Floats, end: Floats) -> Floats:
    """How far points (..., K, D) lie from the pieces between start and end, (..., K)."""
    chord, seen = end - start, points - start
    square = np.maximum((chord**2).sum(axis=-1), 1e-30)
    share = np.clip((seen * chord).sum(axis=-1) / square, 0.0, 1.0)
    return np.asarray(np.sqrt(((seen - share[..., None] * chord) ** 2).sum(axis=-1)))
