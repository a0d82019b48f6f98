"""A turn from straight to straight: how far the rear cuts in before the steady state is reached.

A leading point of the chassis runs straight, through an arc, and straight again; the base axle behind it
only rolls. Tables of design vehicles state the smallest radius of such a turn (of half a circle), which is
larger than that of the steady circle: the rear has no time to come in as far.
"""

from __future__ import annotations

import numpy as np

from geometry.axes import Floats
from geometry.kinematics.motion import pose_after

# Places along the way out that are looked at first, and then between the neighbours of the best.
_FIRST, _CLOSER, _TIMES = 25, 17, 4
# How long the way out is, in leads: the rest of the swing has died down to exp(-6) of itself by then.
_WAY_OUT = 6.0
# A circle no larger than the lead has no steady state but the limit; so near to it is taken [of the lead].
_LIMIT = 1e-7


def angle_behind(along: Floats, lead: Floats, radius: Floats, arc: Floats) -> Floats:
    """Angle from the chassis to the direction in which its leading point runs.

    Parameters
    ----------
    along : ndarray, (..., T)
        Way of the leading point since the arc began, at least 0 [mm].
    lead : ndarray, (..., 1)
        From the base axle forward to the leading point, above 0 [mm].
    radius : ndarray, (..., 1)
        Of the leading point's arc, at least `lead` [mm].
    arc : ndarray, (..., 1)
        Length of the arc, straight from there on [mm].

    Returns
    -------
    ndarray, (..., T)
        Angle, 0 at the start of the arc [rad].

    Notes
    -----
    With b this angle, ``b' = 1/R - sin(b)/L`` on the arc and ``b' = -sin(b)/L`` straight, exactly: with
    ``u = tan(b/2)`` the first is ``u' = (u - p)(u - 1/p) / 2R``, ``p = (R - sqrt(R^2 - L^2)) / L``, and
    ``u = p (1 - e) / (1 - p^2 e)`` with ``e = exp(-s sqrt(R^2 - L^2) / (R L))``; the second has
    ``u = u0 exp(-s/L)`` (a tractrix).
    """
    rest = np.sqrt(np.maximum((radius - lead) * (radius + lead), (_LIMIT * lead) ** 2))
    steady = lead / (radius + rest)
    on_arc = np.minimum(along, arc)
    gone = -np.expm1(-on_arc * rest / (radius * lead))
    turned = steady * gone / (1.0 - steady**2 * (1.0 - gone))
    return np.asarray(2.0 * np.arctan(turned * np.exp(-np.maximum(along - arc, 0.0) / lead)))


def least_radius(
    lead: Floats, radius: Floats, x: Floats, y: Floats, angle: float | Floats
) -> tuple[Floats, Floats]:
    """Least distance of points of a chassis from the middle of its arc, on a left turn from and to straight.

    Parameters
    ----------
    lead : ndarray, (M,)
        From the base axle forward to the leading point, above 0 [mm].
    radius : ndarray, (M,)
        Of the arc of the leading point, at least `lead` [mm].
    x, y : ndarray, (M, N)
        Points, forward of the base axle and to the left of the leading point [mm].
    angle : float or ndarray, (M,)
        How far the path of the leading point turns [rad].

    Returns
    -------
    (least, after) : ndarrays, (M, N)
        Least distance while on the arc or beyond it, and how far beyond the end of the arc the leading
        point is then; 0 where it is still on the arc [mm].

    Notes
    -----
    On the arc the distance hangs on the angle b of `angle_behind` alone, which only grows:
    ``d^2 = p^2 + R^2 - 2 R (y cos b + (L - x) sin b)`` with p from the leading point, least at
    ``atan2(L - x, y)`` or at an end. Beyond the arc it is searched.
    """
    size = lead[:, None, None], radius[:, None, None]
    arc = (radius * angle)[:, None, None]
    point = x[..., None], y[..., None]
    last = angle_behind(arc, *size, arc)
    best = np.clip(np.arctan2(size[0] - point[0], point[1]), 0.0, last)
    on_arc = _distance(np.concatenate([best, 0.0 * best, last + 0.0 * best], axis=2), 0.0, size, point)
    beyond, after = _beyond(size, arc, point)
    least = on_arc.min(axis=2)
    return np.minimum(least, beyond), np.where(beyond < least, after, 0.0)


def _beyond(size: tuple[Floats, Floats], arc: Floats, point: tuple[Floats, Floats]) -> tuple[Floats, Floats]:
    """Least distance once the arc is over, and how far beyond it that is, (M, N) each."""
    shape = np.broadcast_shapes(point[0].shape, size[0].shape)
    low, high = np.zeros(shape), np.broadcast_to(_WAY_OUT * size[0], shape)
    count = _FIRST
    for _ in range(_TIMES + 1):
        gone = low + (high - low) * np.linspace(0.0, 1.0, count)
        far = _distance(angle_behind(arc + gone, *size, arc), gone, size, point)
        best = far.argmin(axis=2)[..., None]
        least, at = (np.take_along_axis(values, best, axis=2) for values in (far, gone))
        step = (high - low) / (count - 1)
        low, high = np.maximum(at - step, 0.0), at + step
        count = _CLOSER
    return np.asarray(least[..., 0]), np.asarray(at[..., 0])


def _distance(
    behind: Floats, gone: Floats | float, size: tuple[Floats, Floats], point: tuple[Floats, Floats]
) -> Floats:
    """From the middle of the arc to points, the leading point so far beyond the arc, seen along the path."""
    (lead, radius), (x, y) = size, point
    cos, sin = np.cos(behind), np.sin(behind)
    forward = (x - lead) * cos + y * sin
    left = y * cos - (x - lead) * sin
    # The middle of the arc is to the left, and falls back once the arc is over.
    return np.asarray(np.hypot(forward + gone, left - radius))


def stepped_least_radius(
    lead: float, radius: float, point: tuple[float, float], angle: float, steps: int = 20_000
) -> float:
    """The same of one point by small steps along the path, each an exact turn about a centre.

    The steps know nothing of the closed form: a pose is led on by the twist that moves the leading point
    along its path. They agree with `least_radius` up to the square of their length.

    Parameters
    ----------
    lead, radius, angle : float
        As for `least_radius`.
    point : (float, float)
        Forward of the base axle and to the left of the leading point [mm].
    steps : int
        How many.
    """
    arc = radius * angle
    step = (arc + _WAY_OUT * lead) / steps
    # The arc begins at the origin, along x; the chassis stands straight behind.
    x, y, heading, least = -lead, 0.0, 0.0, np.inf
    for k in range(steps):
        path = min((k + 0.5) * step, arc) / radius
        half = path - heading - 0.5 * step * np.sin(path - heading) / lead
        twist = (np.cos(half), 0.0, np.sin(half) / lead)
        dx, dy, turned = pose_after([twist], [step])[0, 0].tolist()
        x += dx * np.cos(heading) - dy * np.sin(heading)
        y += dx * np.sin(heading) + dy * np.cos(heading)
        heading += turned
        px = x + point[0] * np.cos(heading) - point[1] * np.sin(heading)
        py = y + point[0] * np.sin(heading) + point[1] * np.cos(heading)
        least = min(least, float(np.hypot(px, py - radius)))
    return least
