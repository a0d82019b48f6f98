"""One motor, several steered wheels: the shaft angle at which they drag least.

Wheel i of a motor at shaft angle q points at ``r_i q`` from straight ahead. Its sideways
speed under the wanted twist is ``|v_i| sin(phi_i - b_i - r_i q) + omega e_x``, with the
velocity v_i of its kingpin (direction phi_i) and its toe b_i. The motor shall take the
shaft angle within its travel that makes the load-weighted sum of squared sideways speeds
least: the same measure by which the chassis finds its own motion.

Without trail and with ratios of one size r the sum is
``1/2 (sum w |v|^2 - |z| cos(2 r q - arg z))`` with ``z = sum w u_i^2``, where u_i is v_i as a
complex number, turned back by the toe and mirrored where the ratio is negative. So
``q = arg z / 2 r``, and every ``pi / r`` away. Along the way from straight ahead the v_i
change linearly, so z is a quadratic of that way: a product of two factors ``1 - x t``, whose
arguments never jump. Their sum gives the argument of z that is continuous from straight
ahead, for each motion by itself.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace

import numpy as np

from geometry.axes import Bools, Floats, Ints
from geometry.chassis import WheelArrays
from geometry.motion import Motion, velocity_at
from geometry.solve import TRAVEL_SLACK, Solution, solve

# A factor this near to the negative axis passes through 0 and turns back no way [rad].
_THROUGH = 1e-7
# Shaft angles this near agree [rad], and so do ratios that differ by no larger share.
_AGREE = 1e-12
# Among equal minima the one that is continuous from straight ahead wins.
_AS_GOOD = 1e-9
# Newton's steps from every start, and then from the best.
_FIRST_STEPS, _LAST_STEPS = 3, 8


@dataclass(frozen=True)
class SteerGroup:
    """A steer motor as numbers."""

    wheels: Ints
    """Indices of its G wheels."""
    ratio: Floats
    """(G,): steer angle of each wheel by shaft angle."""
    low: float
    """Least shaft angle that its own travel and that of its wheels leave [rad]."""
    high: float
    """Largest such shaft angle [rad]."""


def shaft_angles(
    group: SteerGroup, wheels: WheelArrays, motion: Motion, alone: Solution
) -> tuple[Floats, Bools]:
    """Shaft angles that make the wheels of one motor drag least.

    Parameters
    ----------
    group : SteerGroup
        The motor.
    wheels : WheelArrays
        All N wheels of the chassis.
    motion : Motion
        M wanted motions.
    alone : Solution
        Every wheel by itself under these motions, each with the travel that its motor
        leaves it. Where these angles agree, nothing is left to search.

    Returns
    -------
    (shaft, limited) : ndarrays, (M,)
        Angles from straight ahead [rad], and where the travel stops the motor short of any
        angle at which the sum of squares is least.
    """
    each = alone.steer[:, group.wheels] / group.ratio
    shaft = each[:, 0].copy()
    limited = np.asarray(alone.limited[:, group.wheels].any(axis=1))
    apart = np.flatnonzero((np.abs(each - each[:, :1]) > _AGREE).any(axis=1))
    if apart.size:
        part = WheelArrays(**{f.name: getattr(wheels, f.name)[group.wheels] for f in fields(wheels)})
        forward = motion.twist[apart] * motion.sense[apart, None]
        same = np.ptp(np.abs(group.ratio)) <= _AGREE * np.abs(group.ratio[0])
        found = _in_step if same and not part.along.any() else _searched
        shaft[apart], limited[apart] = found(group, part, forward)
    return shaft, limited


def _in_step(group: SteerGroup, part: WheelArrays, twist: Floats) -> tuple[Floats, Bools]:
    """Closed form for ratios of one size, without trail."""
    size = abs(float(group.ratio[0]))
    vx, vy = velocity_at(twist, part.x, part.y)
    mirror = np.sign(group.ratio)
    straight = np.exp(-1j * mirror * part.built_in)
    moved = (vx + 1j * mirror * vy) * straight
    step = moved - straight
    weight = part.load / part.load.sum()
    a, b, c = (
        np.sum(weight * straight * straight),
        2.0 * np.sum(weight * straight * step, axis=1),
        np.sum(weight * step * step, axis=1),
    )
    total = np.sum(weight * moved * moved, axis=1)
    root = np.sqrt(b * b - 4.0 * a * c)
    way = np.angle(a) + _way_round(1.0 + (b - root) / (2.0 * a)) + _way_round(1.0 + (b + root) / (2.0 * a))
    near = np.angle(total)
    turn = np.where(np.abs(total) > 0, near + 2.0 * np.pi * np.round((way - near) / (2.0 * np.pi)), way)
    return _within(group, turn / (2.0 * size), size)


def _way_round(factor: Floats) -> Floats:
    """Argument of ``1 - x t`` at t = 1; 0 where it passes through 0, as for a wheel on the base axle."""
    through = (factor.real < 0) & (np.abs(factor.imag) <= _THROUGH * np.abs(factor.real))
    return np.where(through, 0.0, np.angle(factor))


def _within(group: SteerGroup, shaft: Floats, size: float) -> tuple[Floats, Bools]:
    """The nearest of the equal minima to `shaft` that lies in the travel, else the better end."""
    period = np.pi / size
    out = (shaft < group.low - TRAVEL_SLACK) | (shaft > group.high + TRAVEL_SLACK)
    if not out.any():
        return shaft, out
    found, limited = shaft.copy(), np.zeros_like(out)
    back = -np.where(shaft < 0, -1.0, 1.0)[out] * period
    best, solved = np.empty(back.shape), np.zeros(back.shape, dtype=bool)
    for turns in (1, 2, -1):
        other = shaft[out] + turns * back
        fits = ~solved & (other >= group.low - TRAVEL_SLACK) & (other <= group.high + TRAVEL_SLACK)
        best[fits] = other[fits]
        solved |= fits
    # The sum of squares at an end falls with this cosine.
    low, high = (np.cos(2.0 * size * (end - shaft[out])) for end in (group.low, group.high))
    nearer_low = np.abs(shaft[out] - group.low) < np.abs(shaft[out] - group.high)
    take_low = np.where(np.abs(low - high) <= _AS_GOOD, nearer_low, low > high)
    found[out] = np.where(solved, best, np.where(take_low, group.low, group.high))
    limited[out] = ~solved
    return found, limited


def _searched(group: SteerGroup, part: WheelArrays, twist: Floats) -> tuple[Floats, Bools]:
    """Newton's method from the shaft angle that suits each wheel, and from what suits all about."""
    free = replace(part, low=np.full(len(part), -np.inf), high=np.full(len(part), np.inf))
    first = solve(free, Motion(twist, np.ones(len(twist)))).steer
    vx, vy = velocity_at(twist, part.x, part.y)
    problem = _Squares(group, part, vx, vy, twist[:, 2:3])
    weight = part.load * (vx * vx + vy * vy)
    scale = np.maximum(weight.sum(axis=1), np.finfo(float).tiny)
    about = (weight * group.ratio * first).sum(axis=1) / np.maximum(
        (weight * group.ratio**2).sum(axis=1), np.finfo(float).tiny
    )
    starts = first.T / group.ratio[:, None]
    half = np.pi / np.abs(group.ratio[:, None])
    ends = np.broadcast_to(np.array([[group.low], [group.high]]), (2, len(twist)))
    tried = np.concatenate([about[None, :], starts, starts - half, starts + half])
    tried = np.concatenate([problem.refined(tried, _FIRST_STEPS), ends])
    values = problem.value(tried)
    values[0] -= _AS_GOOD * scale
    shaft = np.take_along_axis(tried, values.argmin(axis=0)[None, :], axis=0)
    shaft = problem.refined(shaft, _LAST_STEPS)[0]
    at_end = (shaft <= group.low + TRAVEL_SLACK) | (shaft >= group.high - TRAVEL_SLACK)
    slope = np.abs(problem.slopes(shaft[None, :])[0][0])
    return shaft, at_end & (slope > _AS_GOOD * scale * np.abs(group.ratio).max())


@dataclass(frozen=True)
class _Squares:
    """The load-weighted sum of squared sideways speeds of one motor's wheels over its shaft angle."""

    group: SteerGroup
    part: WheelArrays
    vx: Floats
    vy: Floats
    omega: Floats

    def _speeds(self, shaft: Floats) -> tuple[Floats, Floats, Floats]:
        """Sideways speed, its slope and its bend over the shaft angle; (S, M, G) each."""
        heading = shaft[..., None] * self.group.ratio + self.part.built_in
        cos, sin = np.cos(heading), np.sin(heading)
        across, along = self.vy * cos - self.vx * sin, self.vx * cos + self.vy * sin
        ratio = self.group.ratio
        return across + self.omega * self.part.along, -ratio * along, -(ratio**2) * across

    def value(self, shaft: Floats) -> Floats:
        """The sum for shaft angles (S, M)."""
        side, _, _ = self._speeds(shaft)
        return np.asarray((self.part.load * side * side).sum(axis=-1))

    def slopes(self, shaft: Floats) -> tuple[Floats, Floats]:
        """Half the first and second derivative."""
        side, slope, bend = self._speeds(shaft)
        load = self.part.load
        return (load * side * slope).sum(axis=-1), (load * (slope * slope + side * bend)).sum(axis=-1)

    def refined(self, shaft: Floats, steps: int) -> Floats:
        """Newton's steps from shaft angles (S, M) to minima, kept within the travel."""
        furthest = 0.3 / np.abs(self.group.ratio).max()
        found = np.clip(shaft, self.group.low, self.group.high)
        for _ in range(steps):
            slope, bend = self.slopes(found)
            # Downhill even where the sum bends the wrong way.
            step = -slope / np.maximum(np.abs(bend), np.finfo(float).tiny)
            found = np.clip(found + np.clip(step, -furthest, furthest), self.group.low, self.group.high)
        return found
