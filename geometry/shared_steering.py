"""One motor, several steered wheels: the shaft angle at which they drag least.

Wheel i of a motor at shaft angle q points at ``r_i q`` from straight ahead. Its sideways
speed under the wanted twist is ``|v_i| sin(phi_i - b_i - r_i q) + omega e_x``, with the
velocity v_i of its kingpin (direction phi_i) and its toe b_i. The motor shall take the
shaft angle within its travel that makes the load-weighted sum of squared sideways speeds
least: the same measure by which the chassis finds its own motion.

Without trail and with ratios of one size r the sum is
``1/2 (sum w |v|^2 - |z| cos(2 r q - arg z))`` with ``z = sum w u_i^2``, where u_i is v_i as a
complex number, turned back by the toe and mirrored where the ratio is negative. So
``q = arg z / 2 r``, and every ``pi / r`` away. On the way from straight ahead, t from 0 to
1, the v_i change linearly, so z is a quadratic of t and its imaginary part, seen from where
it starts, is ``t`` times something linear: z passes the negative axis at most once. That
tells the argument of z that is continuous from straight ahead, for each motion by itself.

Otherwise the sum is ``sum A cos 2 r q + B sin 2 r q + C cos r q + D sin r q`` and a constant.
It is sampled over the whole travel, 16 times in each period of its fastest part, as one
matrix product; every hollow that could hold the least value is followed to its bottom.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace

import numpy as np

from geometry.axes import Bools, Floats, Ints
from geometry.chassis import WheelArrays
from geometry.motion import Motion, velocity_at
from geometry.solve import TRAVEL_SLACK, Solution, solve

# Shaft angles this near agree [rad], and so do ratios that differ by no larger share.
_AGREE = 1e-12
# Below this share of the wheels' speeds a component is rounding.
_ROUNDING = 1e-13
# A half-turn of all wheels must earn something: of two minima the one that is continuous
# from straight ahead wins unless the other spares this mean square of slip angles,
# a tenth of a degree [rad^2].
_WORTH_A_FLIP = 3e-6
# A slope of the sum below this share of its size is none.
_LEVEL = 1e-9
# Samples in each period of the fastest part, half a turn of the wheel that turns furthest.
_SAMPLES = 16
# Newton's error squares in each step: after one this small it is 1e-12 [rad of the wheel].
_SETTLED, _MOST_STEPS = 1e-6, 40


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


def common_travel(wheels: WheelArrays, held: Ints, ratio: Floats) -> tuple[float, float]:
    """Shaft angles that the travels of all wheels of one motor leave it.

    Parameters
    ----------
    wheels : WheelArrays
        All N wheels of the chassis.
    held : ndarray, (G,)
        Indices of those on the motor.
    ratio : ndarray, (G,)
        Steer angle of each by shaft angle.

    Returns
    -------
    (low, high) : floats
        Around 0, since every travel holds straight ahead [rad].
    """
    ends = np.sort(np.stack([wheels.low[held], wheels.high[held]]) / ratio, axis=0)
    return float(ends[0].max()), float(ends[1].min())


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
    mirror = np.sign(group.ratio)
    along, across = _at_straight(part, twist)
    across *= mirror[:, None]
    weight = part.load / part.load.sum()
    squares = weight @ (along * along), weight @ (across * across)
    start = np.exp(-1j * mirror * part.built_in)
    first = complex(np.sum(weight * start * start))
    # Wheels built in at right angles to each other have no direction to start from.
    unit = first / abs(first) if abs(first) > _ROUNDING else 1.0 + 0.0j
    # Both seen from where z starts: z itself, and its half slope at the start plus |first|.
    z = (squares[0] - squares[1] + 2j * (weight @ (along * across))) * unit.conjugate()
    toward = weight * start * unit.conjugate()
    slope = toward.real @ along - toward.imag @ across, toward.imag @ along + toward.real @ across
    speed = np.sqrt(squares[0] + squares[1])
    turn = float(np.angle(unit)) + _argument_kept(abs(first), slope, z, speed, twist[:, 2])
    return _within(group, turn / (2.0 * size), size)


def _argument_kept(
    first: float, half_slope: tuple[Floats, Floats], z: np.ndarray, speed: Floats, omega: Floats
) -> Floats:
    """Argument of z, (M,), that is continuous along ``first (1 - t)^2 + 2 t (1 - t) half_slope + t^2 z``.

    Where z comes through 0 along the axis both ways round are equal: to the left in a left turn.
    """
    real, imag = half_slope
    angle: Floats = np.angle(z)
    below = z.real < 0
    tie = below & (np.abs(imag) <= _ROUNDING * speed) & (np.abs(z.imag) <= _ROUNDING * speed**2)
    level = below & (z.imag == 0)
    angle[level] = np.copysign(np.pi, imag[level])
    angle[tie] = np.copysign(np.pi, omega[tie])
    over = np.flatnonzero((imag * z.imag < 0) & ~tie)
    if over.size:
        # The imaginary part is 2 t (1 - t) imag + t^2 z.imag.
        rise = 2.0 * imag[over]
        t = rise / (rise - z.imag[over])
        at_axis = first * (1.0 - t) ** 2 + 2.0 * t * (1.0 - t) * real[over] + t * t * z.real[over]
        angle[over] += np.where(at_axis < 0, np.copysign(2.0 * np.pi, rise), 0.0)
    return angle


def _at_straight(part: WheelArrays, twist: Floats) -> tuple[Floats, Floats]:
    """Kingpin velocities along and across the wheels set straight ahead, (G, M) each."""
    vx, vy = (v.T for v in velocity_at(twist, part.x, part.y))
    if not part.built_in.any():
        return vx, vy
    cos, sin = np.cos(part.built_in)[:, None], np.sin(part.built_in)[:, None]
    return vx * cos + vy * sin, vy * cos - vx * sin


def _within(group: SteerGroup, shaft: Floats, size: float) -> tuple[Floats, Bools]:
    """The nearest of the equal minima to `shaft` that lies in the travel, else the better end."""
    period = np.pi / size
    out = (shaft < group.low - TRAVEL_SLACK) | (shaft > group.high + TRAVEL_SLACK)
    if not out.any():
        return shaft, out
    found, limited = shaft.copy(), np.zeros_like(out)
    # Beyond the travel, which holds 0, only the minima towards 0 can lie in it.
    back = -np.copysign(period, shaft[out])
    best, solved = np.empty(back.shape), np.zeros(back.shape, dtype=bool)
    for turns in (1, 2):
        other = shaft[out] + turns * back
        fits = ~solved & (other >= group.low - TRAVEL_SLACK) & (other <= group.high + TRAVEL_SLACK)
        best[fits] = other[fits]
        solved |= fits
    # The sum of squares at an end falls with this cosine.
    low, high = (np.cos(2.0 * size * (end - shaft[out])) for end in (group.low, group.high))
    nearer_low = np.abs(shaft[out] - group.low) < np.abs(shaft[out] - group.high)
    take_low = np.where(np.abs(low - high) <= _LEVEL, nearer_low, low > high)
    found[out] = np.where(solved, best, np.where(take_low, group.low, group.high))
    limited[out] = ~solved
    return found, limited


def _searched(group: SteerGroup, part: WheelArrays, twist: Floats) -> tuple[Floats, Bools]:
    """The least value over the whole travel, by samples and Newton's method."""
    problem = _squares(group, part, twist)
    rows, low, start, high = problem.hollows(group.low, group.high)
    shaft = problem.bottoms(rows, low, start, high)
    value = problem.value(rows, shaft)
    least = np.minimum.reduceat(value, np.flatnonzero(np.diff(rows, prepend=-1)))
    chosen = np.flatnonzero(value <= (least + _WORTH_A_FLIP * problem.size)[rows])
    if len(chosen) > len(twist):
        again = np.diff(rows[chosen], prepend=-1) == 0
        several = np.unique(rows[chosen[again]])
        about = np.zeros(len(twist))
        about[several] = _suits_all_about(group, part, twist[several])
        away = np.abs(shaft[chosen] - about[rows[chosen]])
        nearest = np.minimum.reduceat(away, np.flatnonzero(~again))
        chosen = chosen[away == nearest[rows[chosen]]]
        chosen = chosen[np.diff(rows[chosen], prepend=-1) > 0]
    found = np.where(problem.size > 0, shaft[chosen], 0.0)
    limited = (found <= group.low + TRAVEL_SLACK) | (found >= group.high - TRAVEL_SLACK)
    ends = np.flatnonzero(limited)
    slope, _ = problem.slopes(problem.parts[:, :, ends], found[ends])
    outward = np.where(found[ends] >= group.high - TRAVEL_SLACK, -slope, slope)
    if group.low == group.high:
        outward = np.abs(slope)
    limited[ends] = outward > _LEVEL * problem.size[ends] * np.abs(group.ratio).max()
    return found, limited


def _suits_all_about(group: SteerGroup, part: WheelArrays, twist: Floats) -> Floats:
    """Mean of the shaft angles that suit each wheel, continuous from straight ahead, (M,)."""
    free = replace(part, low=np.full(len(part), -np.inf), high=np.full(len(part), np.inf))
    alone = solve(free, Motion(twist, np.ones(len(twist)))).steer
    vx, vy = velocity_at(twist, part.x, part.y)
    weight = part.load * (vx * vx + vy * vy)
    most = np.maximum(weight.sum(axis=1, keepdims=True), np.finfo(float).tiny)
    weight = weight / most
    return np.asarray((weight * group.ratio * alone).sum(axis=1) / (weight @ group.ratio**2 + 1e-300))


@dataclass(frozen=True)
class _Squares:
    """The load-weighted sum of squared sideways speeds of one motor's wheels over its shaft angle.

    ``sum_f parts[f, 0] cos(rate_f q) + parts[f, 1] sin(rate_f q)`` and a constant.
    """

    rate: Floats
    """(F,): twice the ratio of each wheel, and with trail the ratio itself."""
    parts: Floats
    """(2, F, M)."""
    size: Floats
    """(M,): load-weighted sum of the squared speeds of the kingpins and of the trails."""

    def value(self, rows: np.ndarray, shaft: Floats) -> Floats:
        """The sum less its constant at shaft angles (P,) of the given rows."""
        parts = self.parts[:, :, rows]
        angle = self.rate[:, None] * shaft
        return np.asarray((parts[0] * np.cos(angle) + parts[1] * np.sin(angle)).sum(axis=0))

    def slopes(self, parts: Floats, shaft: Floats) -> tuple[Floats, Floats]:
        """First and second derivative at shaft angles (P,), parts as (2, F, P)."""
        angle = self.rate[:, None] * shaft
        cos, sin = np.cos(angle), np.sin(angle)
        slope = self.rate @ (parts[1] * cos - parts[0] * sin)
        return slope, -((self.rate**2) @ (parts[0] * cos + parts[1] * sin))

    def hollows(self, low: float, high: float) -> tuple[np.ndarray, Floats, Floats, Floats]:
        """Brackets of all minima in the travel that could be the least: rows, low, start, high; (P,)."""
        fastest = float(np.abs(self.rate).max())
        shaft = np.linspace(low, high, max(3, 2 + int(_SAMPLES * (high - low) * fastest / (2.0 * np.pi))))
        angle = shaft[:, None] * self.rate
        waves = np.concatenate([np.cos(angle), np.sin(angle)], axis=1)
        value = waves @ self.parts.reshape(-1, len(self.size))
        # Below a sample that is lowest about itself the sum can fall by this much.
        step = float(shaft[1] - shaft[0])
        size = np.hypot(self.parts[0], self.parts[1])
        bend = (self.rate**2) @ size
        within = value <= value.min(axis=0) + 0.5 * step**2 * bend + _WORTH_A_FLIP * self.size
        within[1:] &= value[1:] <= value[:-1]
        within[:-1] &= value[:-1] < value[1:]
        rows, j = np.nonzero(within.T)
        before, after = np.maximum(j - 1, 0), np.minimum(j + 1, len(shaft) - 1)
        left, middle, right = value[before, rows], value[j, rows], value[after, rows]
        curve = left - 2.0 * middle + right
        inside = (j > before) & (j < after) & (curve > 0)
        move = np.divide(0.5 * (left - right), curve, out=np.zeros_like(curve), where=inside)
        # A parabola through three samples errs by no more than this (any text on interpolation).
        slack = step**3 / (9.0 * np.sqrt(3.0)) * (np.abs(self.rate) ** 3 @ size) + _WORTH_A_FLIP * self.size
        deep = middle - 0.5 * curve * move**2 <= (value.min(axis=0) + slack)[rows]
        kept = np.flatnonzero(deep | ~inside)
        before, j, after = before[kept], j[kept], after[kept]
        return rows[kept], shaft[before], shaft[j] + step * move[kept], shaft[after]

    def bottoms(self, rows: np.ndarray, low: Floats, start: Floats, high: Floats) -> Floats:
        """Newton's steps to the minima, each kept within its bracket; (P,)."""
        found, parts = start.copy(), self.parts[:, :, rows]
        settled = _SETTLED / np.abs(self.rate).max()
        left = np.arange(len(rows))
        for _ in range(_MOST_STEPS):
            here = found[left]
            slope, bend = self.slopes(parts, here)
            # Downhill even where the sum bends the wrong way.
            step = -slope / np.maximum(np.abs(bend), np.finfo(float).tiny)
            found[left] = np.clip(here + step, low[left], high[left])
            moving = np.abs(found[left] - here) > settled
            if not moving.any():
                break
            if not moving.all():
                left, parts = left[moving], parts[:, :, moving]
        return found


def _squares(group: SteerGroup, part: WheelArrays, twist: Floats) -> _Squares:
    """``(across cos r q - along sin r q + pull)^2`` of each wheel as multiples of cosines and sines."""
    along, across = _at_straight(part, twist)
    load = part.load[:, None]
    squares = load * along * along, load * across * across
    parts, rate = [np.stack([0.5 * (squares[1] - squares[0]), -load * along * across])], [2.0 * group.ratio]
    size = (squares[0] + squares[1]).sum(axis=0)
    if part.along.any():
        pull = part.along[:, None] * twist[:, 2]
        parts.append(2.0 * load * pull * np.stack([across, -along]))
        rate.append(group.ratio)
        size += (load * pull * pull).sum(axis=0)
    return _Squares(np.concatenate(rate), np.concatenate(parts, axis=1), size)
