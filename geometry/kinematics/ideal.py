"""Design and motions to one solution: where each wheel must point and how fast it rolls.

A wheel rolls without dragging when the velocity of its contact point has no component
along its axle line. For a kingpin at p with velocity v (direction phi), and the contact
point e_x ahead of it along the wheel, that asks

    |v| sin(phi - delta) + omega e_x = 0,

which has two solutions, rolling forward and rolling backward:

    delta_1 = phi + asin(e_x omega / |v|)        rolling speed  +sqrt(v^2 - (e_x omega)^2) - omega e_y
    delta_2 = phi + pi - asin(e_x omega / |v|)   rolling speed  -sqrt(v^2 - (e_x omega)^2) - omega e_y

Without trail the two are 180 degrees apart. From straight ahead to either end of the turn
input, v moves along a straight line that starts at (1, 0), so phi never jumps: delta_1 is
the branch that is continuous from straight ahead. Where delta_1 leaves the travel, delta_2
is the flip.

The exception is a steered wheel whose contact point, straight ahead, is on the base axle:
``v_y + omega e_x = 0``, so that heading 0 suits every turn. Where v_x passes zero, beside the
centre, the two solutions cross; the wheel keeps heading 0 and rolls backward beyond, with
``v_x - omega e_y``. A wheel without trail whose kingpin is on the base axle is the plainest
case. Of a kingpin on the base axle with trail the angle does jump, amid the turns for which
no angle suits; there phi stays 0 and |v| counts as negative beyond, so that a trail that
shrinks to nothing leads to the same angles.

This rule has a cliff. Put the contact a hair off the axle, 0.02 mm, and the two solutions no
longer cross but pass close by each other: the wheel goes off on the other one and turns by
half a turn while the centre passes, without trail within a minute range of turns. Both
answers are exact; no builder places a wheel so well that the second one is of use.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np

from geometry.axes import Bools, Floats, Ints, rolling_direction, wrap
from geometry.kinematics.motion import Motion, velocity_at
from geometry.model.wheel_arrays import WheelArrays

# Slack at the ends of travel, so that a travel of exactly 90 degrees reaches 90 [rad].
TRAVEL_SLACK = 1e-12
# A speed below this share of the body's fastest point counts as rest.
REST = 1e-12

# Rows solved at a time: temporaries stay in the processor's cache (measured: twice as fast).
BLOCK = 2048

CONTINUOUS, FLIPPED = 0, 1


@dataclass(frozen=True)
class Solution:
    """The wheels of one chassis at M motions; read-only arrays of shape (M, N)."""

    motion: Motion
    steer: Floats
    """What the steering must be set to, 0 straight ahead; 0 for a fixed wheel [rad]."""
    heading: Floats
    """Where the wheel points, steer plus built-in toe; not wrapped [rad]."""
    roll: Floats
    """Rolling speed at the contact, negative where the wheel turns backward [speed units]."""
    side: Floats
    """Sideways speed of the contact, to the wheel's left; 0 for an aligned wheel [speed units]."""
    branch: Ints
    """CONTINUOUS from straight ahead, or FLIPPED to the opposite rolling sense."""
    limited: Bools
    """True where a steered wheel stands at an end of its travel because no angle suits."""
    unreachable: Bools
    """True where the turn centre is nearer to the kingpin than the trail: no angle suits."""


def solve(wheels: WheelArrays, motion: Motion) -> Solution:
    """Find the ideal angle and the speeds of every wheel for every motion.

    Fixed wheels keep their built-in heading. Steered wheels take the branch that is
    continuous from straight ahead while it lies within their travel, else the flipped one
    if that does, else the end of travel nearest to either. Casters swing until they trail.
    A wheel whose kingpin is at rest (the turn centre is on it) stands straight ahead; speeds
    below about 1e-150, whose squares are no numbers any more, count as rest.

    Parameters
    ----------
    wheels : WheelArrays
        N wheels.
    motion : Motion
        M motions.

    Returns
    -------
    Solution
        Arrays of shape (M, N), none with NaN.

    Examples
    --------
    A front wheel 100 mm ahead of the base axle and abreast of the turn centre's side:

    >>> from geometry.model.base_axle import base_of
    >>> from geometry.model.design import Design
    >>> from geometry.model.wheel import Wheel
    >>> from geometry.model.wheel_arrays import wheel_arrays
    >>> from geometry.kinematics.motion import from_turn
    >>> design = Design(
    ...     wheels=(
    ...         Wheel(name="A", x_mm=0.0, y_mm=100.0),
    ...         Wheel(name="B", x_mm=0.0, y_mm=-100.0),
    ...         Wheel(name="C", x_mm=100.0, y_mm=0.0, kind="steered"),
    ...     )
    ... )
    >>> found = solve(wheel_arrays(design), from_turn([0.0, 0.5, 1.0], base_of(design)))
    >>> np.degrees(found.steer[:, 2]).round(6)
    array([ 0., 45., 90.])
    """
    rows, columns = len(motion), len(wheels)
    shape = (rows, columns)
    heading = np.empty(shape, order="F")
    roll = np.empty(shape, order="F")
    side = np.zeros(shape, order="F")
    branch = np.zeros(shape, dtype=np.int8, order="F")
    limited = np.zeros(shape, dtype=bool, order="F")
    unreachable = np.zeros(shape, dtype=bool, order="F")
    everything = _Arrays(heading, roll, side, branch, limited, unreachable)
    if columns:
        for start in range(0, rows, BLOCK):
            rows_here = slice(start, start + BLOCK)
            out = everything.rows(rows_here)
            part = Motion(motion.twist[rows_here], motion.sense[rows_here])
            _solve_fixed(wheels, part, out)
            _solve_turning(wheels, part, out)
    steer = heading - wheels.built_in if wheels.built_in.any() else heading.view()
    for array in (steer, heading, roll, side, branch, limited, unreachable):
        array.setflags(write=False)
    return Solution(motion, steer, heading, roll, side, branch, limited, unreachable)


@dataclass
class _Arrays:
    heading: Floats
    roll: Floats
    side: Floats
    branch: Ints
    limited: Bools
    unreachable: Bools

    def rows(self, chosen: slice) -> _Arrays:
        return _Arrays(**{f.name: getattr(self, f.name)[chosen] for f in fields(self)})


def contact_speeds(
    vx: Floats, vy: Floats, omega: Floats, heading: Floats, along: Floats, across: Floats
) -> tuple[Floats, Floats]:
    """Rolling and sideways speed of contact points at given headings.

    ``roll = v . t - omega e_y`` and ``side = v . n + omega e_x`` with the wheel's rolling
    direction t and left normal n; v is the kingpin's velocity.

    Parameters
    ----------
    vx, vy : ndarrays
        Kingpin velocities [speed units].
    omega : ndarray
        Yaw rates [speed units / mm].
    heading : ndarray
        Wheel headings [rad].
    along, across : ndarrays
        Contact point from the kingpin, e_x and e_y [mm].

    Returns
    -------
    (roll, side) : ndarrays
        Broadcast over all arguments [speed units].
    """
    tx, ty = rolling_direction(heading)
    return vx * tx + vy * ty - omega * across, vy * tx - vx * ty + omega * along


def _solve_fixed(wheels: WheelArrays, motion: Motion, out: _Arrays) -> None:
    fixed = wheels.fixed
    if not fixed.any():
        return
    twist = np.asfortranarray(motion.twist)
    vx, vy = velocity_at(twist, wheels.x[fixed], wheels.y[fixed])
    omega = twist[:, 2:3]
    heading = wheels.built_in[fixed]
    out.heading[:, fixed] = heading
    out.roll[:, fixed], out.side[:, fixed] = contact_speeds(
        vx, vy, omega, heading, wheels.along[fixed], wheels.across[fixed]
    )


def _solve_turning(wheels: WheelArrays, motion: Motion, out: _Arrays) -> None:
    turning = ~wheels.fixed
    if not turning.any():
        return
    part = wheels.take(turning)
    # All in the forward sense, so that reverse leaves the angles as they are.
    twist = np.asfortranarray(motion.twist * motion.sense[:, None])
    vx, vy = velocity_at(twist, part.x, part.y)
    omega = twist[:, 2:3]
    steer, rolling = _flow_at_kingpins(part, vx, vy, REST * _fastest(twist, wheels)[:, None])
    lead, unreachable = _lead_of_trail(part.along, omega, rolling)
    if lead is not None:
        steer += lead
        _keep_straight_on_the_axle(part, twist, (vx, vy), lead, (steer, rolling, unreachable))
    if part.built_in.any():
        steer -= part.built_in

    branch = np.zeros_like(steer, dtype=np.int8)
    limited = np.zeros_like(steer, dtype=bool)
    _swing_casters(part, motion.sense, lead, steer, rolling)
    _keep_within_travel(part, lead, steer, branch, limited)
    if branch.any():
        np.negative(rolling, out=rolling, where=branch == FLIPPED)
    if part.across.any():
        rolling -= omega * part.across
    heading = steer + part.built_in if part.built_in.any() else steer

    off = limited if unreachable is None else limited | unreachable
    if off.any():
        sideways = _dragged(part, (vx, vy, omega), heading, off, rolling)
        out.side[:, turning] = sideways * motion.sense[:, None]
    if (motion.sense < 0).any():
        rolling *= motion.sense[:, None]
    out.heading[:, turning] = heading
    out.roll[:, turning] = rolling
    out.branch[:, turning] = branch
    out.limited[:, turning] = limited
    if unreachable is not None:
        out.unreachable[:, turning] = unreachable


def _dragged(
    part: WheelArrays, motion: tuple[Floats, Floats, Floats], heading: Floats, off: Bools, rolling: Floats
) -> Floats:
    """Sideways speeds of wheels off their ideal angle, whose rolling speeds are set as well."""
    n, m = np.nonzero(off.T)
    vx, vy, omega = motion
    sideways = np.zeros_like(rolling)
    rolling[m, n], sideways[m, n] = contact_speeds(
        vx[m, n], vy[m, n], omega[m, 0], heading[m, n], part.along[n], part.across[n]
    )
    return sideways


def _fastest(twist: Floats, wheels: WheelArrays) -> Floats:
    """Bound on the speed of any kingpin, (M,); a scale to tell rest from motion."""
    reach = max(np.abs(wheels.x).max(), np.abs(wheels.y).max())
    size = np.abs(twist)
    return np.asarray(size[:, 0] + size[:, 1] + reach * size[:, 2])


def _flow_at_kingpins(part: WheelArrays, vx: Floats, vy: Floats, rest: Floats) -> tuple[Floats, Floats]:
    """Direction and speed of the kingpins, (M, N) each.

    A steered kingpin on the base axle stays straight and counts as backward beyond the centre.
    """
    vy[np.abs(vy) <= rest] = 0.0
    phi = np.arctan2(vy, vx)
    speed = vx * vx
    speed += vy * vy
    np.sqrt(speed, out=speed)
    through = vy == 0
    if through.any():
        through &= (vx <= rest) & (~part.caster | ((vx >= -rest) & (part.along == 0)))
        phi[through] = 0.0
        np.copyto(speed, vx, where=through)
    return phi, speed


def _lead_of_trail(along: Floats, omega: Floats, speed: Floats) -> tuple[Floats | None, Bools | None]:
    """``asin(e_x omega / |v|)`` and where it has no solution; (None, None) without any trail.

    The speed along the wheel, ``|v| cos(lead)``, takes the place of `speed`.
    """
    if not along.any():
        return None, None
    pull = along * omega
    share = np.zeros_like(speed)
    np.divide(pull, speed, out=share, where=speed != 0)
    unreachable = np.abs(share) > 1.0
    still = speed == 0
    if still.any():
        share[still] = np.sign(pull[still])
        unreachable[still] = pull[still] != 0
    if unreachable.any():
        np.clip(share, -1.0, 1.0, out=share)
    lead = np.arcsin(share)
    share *= share
    np.subtract(1.0, share, out=share)
    speed *= np.sqrt(share, out=share)
    return lead, unreachable


def _keep_straight_on_the_axle(
    part: WheelArrays,
    twist: Floats,
    velocity: tuple[Floats, Floats],
    lead: Floats,
    found: tuple[Floats, Floats, Bools | None],
) -> None:
    """Give steered wheels with their contact on the base axle heading 0 beyond the centre too; in place.

    The lead is turned round there, so that the other branch is still the other solution.
    """
    vx, vy = velocity
    steer, rolling, unreachable = found
    for n in np.flatnonzero(part.steered & (part.along != 0)):
        # Rounding as a length, so that the most gentle turn is no exception.
        rest = REST * (np.abs(twist[:, 1]) + np.abs(twist[:, 2]) * (abs(part.x[n]) + abs(part.along[n])))
        on_axle = np.abs(vy[:, n] + twist[:, 2] * part.along[n]) <= rest
        on_axle &= twist[:, 2] != 0
        if not on_axle.any():
            continue
        np.negative(lead[:, n], out=lead[:, n], where=on_axle & (vx[:, n] < 0))
        steer[on_axle, n] = 0.0
        rolling[on_axle, n] = vx[on_axle, n]
        if unreachable is not None:
            unreachable[on_axle, n] = False


def _other_branch(steer: Floats, lead: Floats | None) -> Floats:
    """delta_2 from delta_1, both as steer: ``phi + pi - lead`` with ``phi = delta_1 - lead``."""
    if lead is None:
        return steer - np.copysign(np.pi, steer)
    other = steer + np.pi
    other -= 2.0 * lead
    np.subtract(other, 2.0 * np.pi, out=other, where=other > np.pi)
    return other


def _swing_casters(
    part: WheelArrays, sense: Floats, lead: Floats | None, steer: Floats, rolling: Floats
) -> None:
    """Turn casters to where the contact trails the kingpin, in the true direction of travel."""
    if not part.caster.any():
        return
    for n in np.flatnonzero(part.caster):
        swung = (sense < 0) != (part.along[n] > 0)
        other = _other_branch(steer[:, n], None if lead is None else lead[:, n])
        steer[:, n] = wrap(np.where(swung, other, steer[:, n]))
        np.negative(rolling[:, n], out=rolling[:, n], where=swung)


def _keep_within_travel(
    part: WheelArrays, lead: Floats | None, steer: Floats, branch: Ints, limited: Bools
) -> None:
    """Flip, or stop at an end of travel, where the continuous branch leaves it; in place."""
    outside = steer < part.low - TRAVEL_SLACK
    outside |= steer > part.high + TRAVEL_SLACK
    if part.caster.any():
        outside &= ~part.caster
    if not outside.any():
        return
    second = _other_branch(steer, lead)
    flip = outside & (second >= part.low - TRAVEL_SLACK)
    flip &= second <= part.high + TRAVEL_SLACK
    outside ^= flip
    if outside.any():
        _stop_at_an_end(part, second, outside, steer, flip, limited)
    np.copyto(steer, second, where=flip)
    np.copyto(branch, flip)


def _stop_at_an_end(
    part: WheelArrays, second: Floats, outside: Bools, steer: Floats, flip: Bools, limited: Bools
) -> None:
    """Turn wheels whose branches both leave the travel to the end nearest to either; in place."""
    n, m = np.nonzero(outside.T)
    low, high = part.low[n], part.high[n]
    # With trail either branch can pass half a turn.
    one, other = _about(steer[m, n], low, high), _about(second[m, n], low, high)
    one_excess, other_excess = _excess(one, low, high), _excess(other, low, high)
    turned = other_excess < one_excess - TRAVEL_SLACK
    steer[m, n] = second[m, n] = np.clip(np.where(turned, other, one), low, high)
    flip[m, n] = turned
    limited[m, n] = np.where(turned, other_excess, one_excess) > TRAVEL_SLACK


def _about(angle: Floats, low: Floats, high: Floats) -> Floats:
    """The same direction within half a turn of the middle of the travel."""
    middle = 0.5 * (low + high)
    return np.asarray(middle + wrap(angle - middle))


def _excess(angle: Floats, low: Floats, high: Floats) -> Floats:
    return np.maximum(np.maximum(angle - high, low - angle), 0.0)
