"""Motions: a twist, the commands that make it, and the names people give it.

A twist ``(vx, vy, omega)`` is the whole truth. Turn input, speed ratio, side speeds,
turn radius and turn centre are names for it; where a chassis goes straight some of those
names are infinite, the twist never is.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from geometry.axes import Floats, frozen_array
from geometry.errors import CommandError
from geometry.model.base_axle import Base


@dataclass(frozen=True)
class Motion:
    """M motions of the body."""

    twist: Floats
    """(M, 3): vx, vy of the body's origin [speed units] and omega [speed units / mm]."""
    sense: Floats
    """(M,): 1 where the chassis drives forward, -1 in reverse. Steering is continuous from
    straight ahead in this sense, so that reversing leaves every steer angle as it is."""

    def __len__(self) -> int:
        """Number of motions."""
        return len(self.twist)


def _column(name: str, values: npt.ArrayLike, limit: float = np.inf) -> Floats:
    array = np.atleast_1d(np.asarray(values, dtype=np.float64))
    bad = np.flatnonzero(~(np.abs(array) <= limit))
    if bad.size:
        allowed = "a number" if np.isinf(limit) else f"a number from {-limit:g} to {limit:g}"
        raise CommandError(f"{name} must be {allowed} (got {array.flat[bad[0]]:g})")
    return array


def sides_of_turn(turn: npt.ArrayLike, speed: npt.ArrayLike = 1.0) -> tuple[Floats, Floats]:
    """Left and right side speed of a turn input: the faster side has `speed`.

    ``k = 1 - 2 |s|`` is the slower side's share (CONVENTIONS of this project; the
    ratio runs from 1 straight ahead through 0 to -1 on the spot).

    Parameters
    ----------
    turn : array_like, (M,)
        Turn input s, -1 (on the spot to the right) to 1 (on the spot to the left).
    speed : array_like, (M,) or scalar
        Speed of the faster side; negative in reverse [speed units].

    Returns
    -------
    (left, right) : ndarrays, (M,)
        Side speeds [speed units].

    Raises
    ------
    CommandError
        If an input is not a number or the turn input is out of range.

    Examples
    --------
    >>> sides_of_turn([0.0, 0.5, -1.0])
    (array([1., 0., 1.]), array([ 1.,  1., -1.]))
    """
    s = _column("the turn input", turn, limit=1.0)
    fast = _column("the speed", speed, limit=1e9)
    slow = fast * (1.0 - 2.0 * np.abs(s))
    fast = np.broadcast_to(fast, slow.shape)
    return np.where(s > 0, slow, fast), np.where(s < 0, slow, fast)


def turn_of_sides(left: npt.ArrayLike, right: npt.ArrayLike) -> tuple[Floats, Floats]:
    """Turn input and speed of two side speeds; the inverse of `sides_of_turn`.

    Equal and opposite speeds turn on the spot, and count as forward; both at rest count
    as straight ahead at speed 0.

    Parameters
    ----------
    left, right : array_like, (M,)
        Side speeds [speed units].

    Returns
    -------
    (turn, speed) : ndarrays, (M,)
        Turn input and speed of the faster side; negative in reverse.

    Raises
    ------
    CommandError
        If a speed is not a finite number of sane size.

    Examples
    --------
    >>> turn_of_sides([1.0, -1.0, -1.0, 0.0], [0.0, 1.0, -0.5, 0.0])
    (array([-0.5 ,  1.  , -0.25,  0.  ]), array([ 1.,  1., -1.,  0.]))
    """
    vl, vr = np.broadcast_arrays(
        _column("the left speed", left, limit=1e9), _column("the right speed", right, limit=1e9)
    )
    right_faster = np.abs(vr) > np.abs(vl)
    spin = (np.abs(vr) == np.abs(vl)) & (vr == -vl) & (vr != 0)
    fast = np.where(right_faster, vr, vl)
    slow = np.where(right_faster, vl, vr)
    fast = np.where(spin, np.abs(vl), fast)
    slow = np.where(spin, -np.abs(vl), slow)
    share = np.divide(slow, fast, out=np.ones_like(fast), where=fast != 0)
    to_left = np.where(spin, vr > vl, right_faster)
    size = 0.5 * (1.0 - share)
    return np.where(to_left, size, -size) + 0.0, fast


def radius_of_turn(turn: npt.ArrayLike, base: Base) -> Floats:
    """Signed turn radius from the chassis centre line along the base axle.

    With reference wheels at y = +-h this is ``R = h (1 - |s|) / s``; with others it
    follows from ``omega = (v_R - v_L) / (y_L - y_R)`` and ``u = v_L + omega y_L``.

    Parameters
    ----------
    turn : array_like, (M,)
        Turn input.
    base : Base
        Base axle and reference points.

    Returns
    -------
    ndarray, (M,)
        Radius, positive to the left [mm]; ``inf`` straight ahead.

    Raises
    ------
    CommandError
        If the turn input is not a number or out of range.
    """
    s = _column("the turn input", turn, limit=1.0)
    with np.errstate(divide="ignore", over="ignore"):
        reach = base.half_track / np.abs(s)
    # |omega| = |s| / h, and the outer reference point, where the speed is 1, is `reach` away.
    return np.where(s >= 0, reach + base.y_right, base.y_left - reach) if s.size else s


def turn_of_radius(radius: npt.ArrayLike, base: Base) -> Floats:
    """Turn input that turns about a point on the base axle; the inverse of `radius_of_turn`.

    Parameters
    ----------
    radius : array_like, (M,)
        Signed turn radius, positive to the left; either infinity is straight ahead [mm].
    base : Base
        Base axle and reference points.

    Returns
    -------
    ndarray, (M,)
        Turn input. Exactly midway between the reference points the chassis turns on the
        spot; that direction is ambiguous, and is taken as to the left.

    Raises
    ------
    CommandError
        If a radius is not a number.

    Examples
    --------
    >>> base = Base(0.0, 120.0, -120.0, None, None, "origin")
    >>> turn_of_radius([120.0, -120.0, 0.0, np.inf], base)
    array([ 0.5, -0.5,  1. ,  0. ])
    """
    array = np.atleast_1d(np.asarray(radius, dtype=np.float64))
    if np.isnan(array).any():
        raise CommandError("the turn radius must be a number (got nan)")
    to_left = array >= base.middle
    reach = np.where(to_left, array - base.y_right, base.y_left - array)
    # Either side of the middle the reach can come out below the half-track by a last bit.
    size = np.minimum(base.half_track / reach, 1.0)
    return np.where(to_left, size, -size) + 0.0


def from_turn(turn: npt.ArrayLike, base: Base, speed: npt.ArrayLike = 1.0) -> Motion:
    """Motions of turn inputs: the turn centre lies on the base axle.

    Parameters
    ----------
    turn : array_like, (M,)
        Turn input.
    base : Base
        Base axle and reference points.
    speed : array_like, (M,) or scalar
        Speed of the faster side; negative in reverse [speed units].

    Returns
    -------
    Motion
        M motions.

    Raises
    ------
    CommandError
        If an input is not a number or the turn input is out of range.

    Examples
    --------
    >>> base = Base(0.0, 120.0, -120.0, None, None, "origin")
    >>> from_turn([0.0, 0.5], base).twist * 240
    array([[240.,   0.,   0.],
           [120.,   0.,   1.]])
    """
    s = _column("the turn input", turn, limit=1.0)
    fast = _column("the speed", speed, limit=1e9)
    # v_R - v_L = 2 s v and (v_R + v_L) / 2 = (1 - |s|) v hold exactly; differences of the side
    # speeds would lose the last digits of a gentle turn.
    omega = fast * s / base.half_track
    twist = np.empty((len(omega), 3))
    twist[:, 0] = fast * (1.0 - np.abs(s)) + omega * base.middle
    twist[:, 1] = 0.0 - omega * base.x
    twist[:, 2] = omega
    sense = np.where(np.broadcast_to(fast, omega.shape) < 0, -1.0, 1.0)
    return Motion(frozen_array(twist), frozen_array(sense))


def from_sides(left: npt.ArrayLike, right: npt.ArrayLike, base: Base) -> Motion:
    """Motions of side speeds; see `turn_of_sides` and `from_turn`.

    Raises
    ------
    CommandError
        If a speed is not a finite number of sane size.
    """
    turn, speed = turn_of_sides(left, right)
    return from_turn(turn, base, speed)


def from_radius(radius: npt.ArrayLike, base: Base, speed: npt.ArrayLike = 1.0) -> Motion:
    """Motions of turn radii; see `turn_of_radius` and `from_turn`.

    Raises
    ------
    CommandError
        If a radius is not a number.
    """
    return from_turn(turn_of_radius(radius, base), base, speed)


def from_twist(twist: npt.ArrayLike) -> Motion:
    """Motions of free twists, the turn centre anywhere and sideways motion allowed.

    The sense is forward where vx is at least 0.

    Parameters
    ----------
    twist : array_like, (M, 3)
        vx, vy of the body's origin and omega.

    Returns
    -------
    Motion
        M motions.

    Raises
    ------
    CommandError
        If a component is not a finite number of sane size, or the shape is not (M, 3).
    """
    array = np.array(twist, dtype=np.float64, ndmin=2)
    if array.ndim != 2 or array.shape[1] != 3:
        raise CommandError(f"a twist must have 3 components (got shape {array.shape})")
    _column("a component of the twist", array.ravel(), limit=1e9)
    return Motion(frozen_array(array), frozen_array(np.where(array[:, 0] < 0, -1.0, 1.0)))


def velocity_at(twist: npt.ArrayLike, x: npt.ArrayLike, y: npt.ArrayLike) -> tuple[Floats, Floats]:
    """Velocity of points of the body, ``v = (vx - omega y, vy + omega x)``.

    Parameters
    ----------
    twist : array_like, (M, 3)
        Motions.
    x, y : array_like, (N,) or (M, N)
        Points [mm].

    Returns
    -------
    (vx, vy) : ndarrays, (M, N)
        Components forward and to the left [speed units].
    """
    # Wheel by wheel in memory: broadcasting over a few wheels in the inner loop is slow.
    t = np.ascontiguousarray(np.asarray(twist, dtype=np.float64).T)
    px, py = (
        np.atleast_2d(np.asarray(x, dtype=np.float64)).T,
        np.atleast_2d(np.asarray(y, dtype=np.float64)).T,
    )
    vx = t[2] * py
    np.subtract(t[0], vx, out=vx)
    vy = t[2] * px
    vy += t[1]
    return vx.T, vy.T


def turn_centre(twist: npt.ArrayLike) -> Floats:
    """Points about which the body turns, ``(-vy / omega, vx / omega)``.

    Parameters
    ----------
    twist : array_like, (M, 3)
        Motions.

    Returns
    -------
    ndarray, (M, 2)
        Turn centres [mm]; ``inf`` in both places for a motion without turning, and for one
        so gentle that its centre is further away than a number can say.

    Examples
    --------
    >>> turn_centre([(1.0, 0.0, 0.01), (1.0, 0.0, 0.0)])
    array([[  0., 100.],
           [ inf,  inf]])
    """
    t = np.asarray(twist, dtype=np.float64)
    turning = t[:, 2] != 0
    omega = np.where(turning, t[:, 2], 1.0)
    with np.errstate(over="ignore"):
        centre = np.stack([0.0 - t[:, 1] / omega, t[:, 0] / omega], axis=1)
    centre[~(turning & np.isfinite(centre).all(axis=1))] = np.inf
    return centre


def pose_after(twist: npt.ArrayLike, time: npt.ArrayLike) -> Floats:
    """Pose that a constant twist leads to, from the origin: the exponential of SE(2).

    Parameters
    ----------
    twist : array_like, (M, 3)
        Motions in the body frame.
    time : array_like, (T,)
        Durations.

    Returns
    -------
    ndarray, (M, T, 3)
        x, y [mm] and heading [rad] in the frame of the start, exact for every yaw rate.

    Notes
    -----
    With ``a = omega t``: ``x = t (vx sin(a)/a - vy (1 - cos a)/a)`` and
    ``y = t (vx (1 - cos a)/a + vy sin(a)/a)``; any text on rigid motions, e.g. Lynch and
    Park, Modern Robotics, section 3.3. ``sinc`` keeps both quotients exact at a = 0:
    ``(1 - cos a)/a = sin(a/2) sinc(a/2)``.

    Examples
    --------
    >>> pose_after([(1.0, 0.0, 0.0)], [2.0])
    array([[[2., 0., 0.]]])
    """
    t = np.asarray(twist, dtype=np.float64)[:, None, :]
    duration = np.atleast_1d(np.asarray(time, dtype=np.float64))[None, :]
    angle = t[..., 2] * duration
    along = np.sinc(angle / np.pi)
    across = np.sin(0.5 * angle) * np.sinc(0.5 * angle / np.pi)
    x = duration * (t[..., 0] * along - t[..., 1] * across)
    y = duration * (t[..., 0] * across + t[..., 1] * along)
    return np.stack([x, y, angle], axis=-1)
