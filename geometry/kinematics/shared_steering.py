"""One motor, several steered wheels: the shaft angle at which they drag least.

Wheel i of a motor at shaft angle q points at a steer angle from straight ahead that its law
gives; behind gears that is ``r_i q``. Its sideways
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

For a law that is no fixed ratio the slope of the sum is sampled as finely, and every place
where it turns from falling to rising is followed (up to six were seen for one motion).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from geometry.axes import Bools, Floats, Ints
from geometry.kinematics.ideal import TRAVEL_SLACK, Solution, solve
from geometry.kinematics.motion import Motion, velocity_at
from geometry.model.wheel_arrays import WheelArrays
from geometry.transmission.steer_law import SteerLaw

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


@dataclass(frozen=True, eq=False)
class SteerGroup:
    """A steer motor as numbers."""

    wheels: Ints
    """Indices of its G wheels."""
    law: SteerLaw
    """How they follow its shaft."""
    low: float
    """Least shaft angle that its own travel, its law and the travel of its wheels leave [rad]."""
    high: float
    """Largest such shaft angle [rad]."""

    @property
    def steepest(self) -> float:
        """The most that any of its wheels turns for each turn of the shaft."""
        return float(self.law.steepest.max())


def common_travel(wheels: WheelArrays, held: Ints, law: SteerLaw) -> tuple[float, float]:
    """Shaft angles that the law and the travels of all wheels of one motor leave it.

    Parameters
    ----------
    wheels : WheelArrays
        All N wheels of the chassis.
    held : ndarray, (G,)
        Indices of those on the motor.
    law : SteerLaw
        How they follow the shaft.

    Returns
    -------
    (low, high) : floats
        Around 0, since every travel holds straight ahead [rad].
    """
    own = [
        np.stack([law.shaft_of(g, end[n]) for g, n in enumerate(held)]) for end in (wheels.low, wheels.high)
    ]
    ends = np.sort(np.stack(own), axis=0)
    least, most = law.ends
    return max(float(ends[0].max()), least), min(float(ends[1].min()), most)


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
    each = np.stack([group.law.shaft_of(g, alone.steer[:, n]) for g, n in enumerate(group.wheels)], axis=1)
    shaft = each[:, 0].copy()
    limited = np.asarray(alone.limited[:, group.wheels].any(axis=1))
    apart = np.flatnonzero((np.abs(each - each[:, :1]) > _AGREE).any(axis=1))
    if apart.size:
        part = wheels.take(group.wheels)
        forward = motion.twist[apart] * motion.sense[apart, None]
        shaft[apart], limited[apart] = _search_for(group, part)(group, part, forward)
    return shaft, limited


_Search = Callable[["SteerGroup", WheelArrays, Floats], tuple[Floats, Bools]]


def _search_for(group: SteerGroup, part: WheelArrays) -> _Search:
    """The quickest search that holds for a motor: a closed form, a sum of waves, or by slope."""
    ratio = group.law.ratio
    if ratio is None:
        return _searched_by_slope
    same = np.ptp(np.abs(ratio)) <= _AGREE * np.abs(ratio[0])
    return _in_step if same and not part.along.any() else _searched


def _ratio(group: SteerGroup) -> Floats:
    ratio = group.law.ratio
    assert ratio is not None  # noqa: S101 - only gears come here
    return ratio


def _in_step(group: SteerGroup, part: WheelArrays, twist: Floats) -> tuple[Floats, Bools]:
    """Closed form for ratios of one size, without trail."""
    ratio = _ratio(group)
    size = abs(float(ratio[0]))
    mirror = np.sign(ratio)
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
    found = _best_hollow(group, part, twist, (rows, shaft, problem.value(rows, shaft)), problem.size)
    limited = (found <= group.low + TRAVEL_SLACK) | (found >= group.high - TRAVEL_SLACK)
    ends = np.flatnonzero(limited)
    slope, _ = problem.slopes(problem.parts[:, :, ends], found[ends])
    limited[ends] = _pushes_on(group, found[ends], slope, problem.size[ends])
    return found, limited


def _best_hollow(
    group: SteerGroup,
    part: WheelArrays,
    twist: Floats,
    hollows: tuple[np.ndarray, Floats, Floats],
    size: Floats,
) -> Floats:
    """Of the minima (rows, shaft, value), each (P,), the one to take for each motion, (M,).

    The deepest, or of those that are as deep but for what is not worth a flip, the one that is
    continuous from straight ahead.
    """
    rows, shaft, value = hollows
    least = np.minimum.reduceat(value, np.flatnonzero(np.diff(rows, prepend=-1)))
    chosen = np.flatnonzero(value <= (least + _WORTH_A_FLIP * size)[rows])
    if len(chosen) > len(twist):
        again = np.diff(rows[chosen], prepend=-1) == 0
        several = np.unique(rows[chosen[again]])
        about = np.zeros(len(twist))
        about[several] = _suits_all_about(group, part, twist[several])
        away = np.abs(shaft[chosen] - about[rows[chosen]])
        nearest = np.minimum.reduceat(away, np.flatnonzero(~again))
        chosen = chosen[away == nearest[rows[chosen]]]
        chosen = chosen[np.diff(rows[chosen], prepend=-1) > 0]
    return np.where(size > 0, shaft[chosen], 0.0)


def _pushes_on(group: SteerGroup, shaft: Floats, slope: Floats, size: Floats) -> Bools:
    """Where a motor at an end of its travel would go on, if it could, (E,)."""
    outward = np.where(shaft >= group.high - TRAVEL_SLACK, -slope, slope)
    if group.low == group.high:
        outward = np.abs(slope)
    return np.asarray(outward > _LEVEL * size * group.steepest)


def _suits_all_about(group: SteerGroup, part: WheelArrays, twist: Floats) -> Floats:
    """Mean of the shaft angles that suit each wheel, continuous from straight ahead, (M,)."""
    free = replace(part, low=np.full(len(part), -np.inf), high=np.full(len(part), np.inf))
    alone = solve(free, Motion(twist, np.ones(len(twist)))).steer
    vx, vy = velocity_at(twist, part.x, part.y)
    weight = part.load * (vx * vx + vy * vy)
    most = np.maximum(weight.sum(axis=1, keepdims=True), np.finfo(float).tiny)
    weight = weight / most
    ratio = group.law.ratio
    if ratio is not None:
        return np.asarray((weight * ratio * alone).sum(axis=1) / (weight @ ratio**2 + 1e-300))
    shaft = np.stack([group.law.shaft_of(g, alone[:, g]) for g in range(len(part))], axis=1)
    slopes = np.stack([group.law.slopes(shaft[:, g])[:, g] for g in range(len(part))], axis=1)
    weight = weight * slopes**2
    return np.asarray((weight * shaft).sum(axis=1) / (weight.sum(axis=1) + 1e-300))


def _searched_by_slope(group: SteerGroup, part: WheelArrays, twist: Floats) -> tuple[Floats, Bools]:
    """The least value over the whole travel for any law: every hollow is followed to its bottom.

    The slope of the sum of squares is sampled over the shaft; where it turns from falling to
    rising there is a hollow, whose bottom is found by halving. Either end of the travel is a
    hollow where the sum falls towards it.
    """
    along, across = _at_straight(part, twist)
    pull = part.along[:, None] * twist[:, 2]
    load = part.load[:, None]
    size = (load * (along * along + across * across + pull * pull)).sum(axis=0)

    def side_and_rate(rows: np.ndarray, shaft: Floats) -> tuple[Floats, Floats]:
        """Sideways speeds and their change by the shaft, (G, P)."""
        angle, slope = group.law.angles(shaft).T, group.law.slopes(shaft).T
        cos, sin = np.cos(angle), np.sin(angle)
        a, b = along[:, rows], across[:, rows]
        return b * cos - a * sin + pull[:, rows], (-b * sin - a * cos) * slope

    def slope_at(rows: np.ndarray, shaft: Floats) -> Floats:
        side, rate = side_and_rate(rows, shaft)
        return np.asarray(2.0 * (part.load @ (side * rate)))

    rows, shaft = _bottoms_by_slope(group, len(twist), slope_at)
    side, _ = side_and_rate(rows, shaft)
    found = _best_hollow(group, part, twist, (rows, shaft, part.load @ (side * side)), size)
    limited = (found <= group.low + TRAVEL_SLACK) | (found >= group.high - TRAVEL_SLACK)
    ends = np.flatnonzero(limited)
    limited[ends] = _pushes_on(group, found[ends], slope_at(ends, found[ends]), size[ends])
    return found, limited


def _bottoms_by_slope(
    group: SteerGroup, count: int, slope_at: Callable[[np.ndarray, Floats], Floats]
) -> tuple[np.ndarray, Floats]:
    """All minima of `count` sums over the travel: rows, rising, and shaft angles, (P,) each."""
    steps = 2 + int(_SAMPLES * (group.high - group.low) * 2.0 * group.steepest / (2.0 * np.pi))
    grid = np.linspace(group.low, group.high, max(steps, 3))
    every = np.arange(count)
    slope = np.stack([slope_at(every, np.full(count, q)) for q in grid], axis=1)
    # An end towards which the sum falls is a minimum, as though the sum rose beyond it.
    fenced = np.concatenate([np.full((count, 1), -1.0), slope, np.full((count, 1), 1.0)], axis=1)
    rows, k = np.nonzero((fenced[:, :-1] < 0) & (fenced[:, 1:] >= 0))
    fence = np.concatenate([grid[:1], grid, grid[-1:]])
    below, above = fence[k], fence[k + 1]
    while True:
        middle = 0.5 * (below + above)
        inside = (middle > below) & (middle < above) & (above - below > _AGREE)
        if not inside.any():
            return rows, above
        left = np.flatnonzero(inside)
        falls = slope_at(rows[left], middle[left]) < 0
        below[left[falls]], above[left[~falls]] = middle[left[falls]], middle[left[~falls]]


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
    ratio = _ratio(group)
    squares = load * along * along, load * across * across
    parts, rate = [np.stack([0.5 * (squares[1] - squares[0]), -load * along * across])], [2.0 * ratio]
    size = (squares[0] + squares[1]).sum(axis=0)
    if part.along.any():
        pull = part.along[:, None] * twist[:, 2]
        parts.append(2.0 * load * pull * np.stack([across, -along]))
        rate.append(ratio)
        size += (load * pull * pull).sum(axis=0)
    return _Squares(np.concatenate(rate), np.concatenate(parts, axis=1), size)
