"""The closed form: what the controller needs to find the outputs with arctangents.

With s the turn input and h the half-track, the kingpin of a wheel moves with
``vx = 1 - |s| + s ax`` and ``vy = s ay``: from straight ahead along a straight line. Its steer
angle is ``atan2(vy, vx) +- asin(s ex / |v|)``, plus a constant that holds between two jumps:
less its toe, and half a turn where it has flipped. The motor's angle is that by its ratio, held
within the travel. A drive motor's speed is the sum of its wheels' rolling speeds
``vx cos t + vy sin t - s ey``, each with a weight.

The constants are found by trial, stretch by stretch between jumps, and proved against the
chassis as built at every turn step. Where no trial fits, because wheels that share a motor
do not suit one angle, there is no formula.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from app.export.curves import Chassis
from app.export.outputs import ExportError, bare_wheels, bare_whole, told_whole, units_of_rpm
from geometry.axes import Floats
from geometry.fixed_point import Counts
from geometry.lookup import breaks_and_kinks
from geometry.tube import Curves, Stretch, sampled

FORMULA_TURN_ONE = 65_536
# Nine digits: the last bits of a constant may differ from one machine to the next.
_DIGITS = 9
# How far a trial may be off [whole numbers of an output], beyond nine digits of its size.
_AGREES, _AGREES_SHARE = 1e-3, 1e-7
_HALF_TURNS = (0, 1, -1, 2, -2)


@dataclass(frozen=True)
class Piece:
    """The angle of one steering output on one stretch."""

    offset: float
    """What is added, or the angle itself where `turns` is 0 [rad]."""
    turns: int
    """1, or 0 where the angle stays."""
    lead: int
    """Sign of the trail's part: -1 where the wheel has flipped."""


@dataclass(frozen=True)
class Angle:
    """One steering output: its leading wheel, and what is told for its angle."""

    ax: float
    ay: float
    ex: float
    """By half-track, as in this module's head."""
    ratio: float
    """Steer angle of that wheel by the motor's angle."""
    low: float
    """Lowest angle of the motor [rad]."""
    high: float
    """Highest angle of the motor [rad]."""
    told: float
    """What is told straight ahead [whole numbers]."""
    told_per_rad: float
    """What is told for each rad more."""


@dataclass(frozen=True)
class Rolling:
    """One wheel's part in the speed of its drive motor."""

    weight: float
    """Whole numbers of the output for a rolling speed of 1."""
    ax: float
    ay: float
    ey: float
    built_in: float
    """Where it points with its steering straight ahead [rad]."""
    angle: int
    """The steering output that turns it; -1 for none."""
    ratio: float


@dataclass(frozen=True)
class Formula:
    """All constants of the closed form."""

    starts: tuple[int, ...]
    """First turn step of each stretch between jumps; the first one reaches down to the end."""
    angles: tuple[Angle, ...]
    pieces: tuple[tuple[Piece, ...], ...]
    """For each stretch, one for each angle."""
    rollings: tuple[tuple[Rolling, ...], ...]
    """For each drive motor, its wheels."""

    @property
    def trails(self) -> bool:
        """Whether a leading wheel has trail."""
        return any(angle.ex != 0 for angle in self.angles)

    def values(self, steps: Counts) -> Floats:
        """Outputs at turn steps (M,), (M, C) [whole numbers, unrounded]."""
        s = np.asarray(steps) / FORMULA_TURN_ONE
        stretch = np.maximum(np.searchsorted(self.starts, steps, side="right") - 1, 0)
        angle = np.zeros((len(s), len(self.angles)))
        for k, one in enumerate(self.angles):
            for i, pieces in enumerate(self.pieces):
                here = stretch == i
                angle[here, k] = motor_angle(one, pieces[k], s[here])
        columns = [one.told + one.told_per_rad * angle[:, k] for k, one in enumerate(self.angles)]
        columns += [np.sum([_rolling(w, s, angle) for w in wheels], axis=0) for wheels in self.rollings]
        return np.stack(columns, axis=1)

    def whole(self, steps: Counts) -> Counts:
        """Outputs at turn steps as the code answers them, halves away from 0, (M, C)."""
        values = self.values(steps)
        return np.asarray(np.copysign(np.floor(np.abs(values) + 0.5), values)).astype(np.int64)


def functions_of(formula: Formula) -> tuple[str, ...]:
    """Names of the mathematical functions that the controller needs, as C and Python both have them."""
    names: set[str] = {"atan2"} if formula.angles else set()
    names |= {"asin", "sqrt"} if formula.trails else set()
    return tuple(sorted(names | ({"cos", "sin"} if formula.rollings else set())))


def motor_angle(one: Angle, piece: Piece, s: Floats) -> Floats:
    """Angle of a motor at turn inputs (M,) of one stretch [rad]."""
    angle = np.full(len(s), piece.offset)
    if piece.turns:
        vx, vy = 1.0 - np.abs(s) + s * one.ax, s * one.ay
        speed = np.sqrt(vx * vx + vy * vy)
        pull = np.divide(s * one.ex, speed, out=np.zeros(len(s)), where=speed > 0)
        angle += np.arctan2(vy, vx) + piece.lead * np.arcsin(np.clip(pull, -1.0, 1.0))
    return np.clip(angle / one.ratio, one.low, one.high)


def _rolling(wheel: Rolling, s: Floats, angle: Floats) -> Floats:
    heading = np.full(len(s), wheel.built_in)
    if wheel.angle >= 0:
        heading += wheel.ratio * angle[:, wheel.angle]
    along = (1.0 - np.abs(s) + s * wheel.ax) * np.cos(heading) + s * wheel.ay * np.sin(heading)
    return np.asarray(wheel.weight * (along - s * wheel.ey))


def formula_of(chassis: Chassis) -> tuple[Formula, Floats, Floats]:
    """Find the closed form of a chassis.

    Returns
    -------
    (formula, exact, between)
        The constants; the outputs at every turn step, and how far each goes within half a
        step, both (M, C) [whole numbers of the output].

    Raises
    ------
    ExportError
        If there is none.
    """
    breaks, _ = breaks_and_kinks(chassis.marks)
    reach = chassis.design.largest_turn
    curves = Curves(chassis.values, -reach, reach, [1.0] * len(chassis.outputs), breaks)
    stretches = sampled(curves, FORMULA_TURN_ONE, len(chassis.outputs))
    found = [_steering(chassis, k, stretches) for k in range(len(chassis.steer))]
    formula = Formula(
        starts=tuple(stretch.first for stretch in stretches),
        angles=tuple(angle for angle, _ in found),
        pieces=tuple(tuple(pieces[i] for _, pieces in found) for i in range(len(stretches))),
        rollings=tuple(_driving(chassis, d) for d in range(len(chassis.drive))),
    )
    exact = np.concatenate([stretch.exact for stretch in stretches])
    off = np.abs(formula.values(np.arange(stretches[0].first, stretches[-1].last + 1)) - exact)
    for c in np.flatnonzero((off > _agrees(exact)).any(axis=0))[:1]:
        raise ExportError(_no_formula(chassis.outputs[c].label))
    return formula, exact, np.concatenate([stretch.between for stretch in stretches])


def _agrees(exact: Floats) -> Floats:
    return np.asarray(_AGREES + _AGREES_SHARE * np.abs(exact).max(axis=0))


def _no_formula(label: str) -> str:
    return (
        f"{label}: no formula gives what it should do (wheels that share a motor do not suit one angle, or "
        "the turn centre comes nearer to a kingpin than its trail); choose the method table"
    )


def _short(value: float) -> float:
    return float(f"{value:.{_DIGITS}g}") + 0.0  # no negative zero


def _steering(chassis: Chassis, k: int, stretches: tuple[Stretch, ...]) -> tuple[Angle, list[Piece]]:
    """Try each wheel of a steering output as the leading one."""
    for angle, built_in in _leaders(chassis, k):
        pieces: list[Piece] = []
        for stretch in stretches:
            piece = _piece(angle, built_in, stretch, stretch.exact[:, k])
            if piece is None:
                break
            pieces.append(piece)
        if len(pieces) == len(stretches):
            return angle, pieces
    raise ExportError(_no_formula(chassis.steer[k].label))


def _leaders(chassis: Chassis, k: int) -> list[tuple[Angle, float]]:
    """Wheels that a steering output turns, each with its toe as a heading."""
    wheels, count = chassis.wheels, len(chassis.motors.steer)
    ends = np.array([0.0, 1.0])
    if k < count:
        group = chassis.motors.steer[k]
        told = told_whole(chassis.design.steer_motors[k], ends)
        held = list(zip(group.wheels.tolist(), group.ratio.tolist(), strict=True))
        low, high = group.low, group.high
    else:
        n = bare_wheels(chassis.design)[k - count]
        told, held = bare_whole(ends), [(n, 1.0)]
        low, high = float(wheels.low[n]), float(wheels.high[n])
    base = chassis.base
    return [
        (
            Angle(
                ax=_short((base.middle - wheels.y[n]) / base.half_track),
                ay=_short((wheels.x[n] - base.x) / base.half_track),
                ex=_short(wheels.along[n] / base.half_track),
                ratio=_short(ratio),
                low=_short(low),
                high=_short(high),
                told=_short(told[0]),
                told_per_rad=_short(told[1] - told[0]),
            ),
            float(wheels.built_in[n]),
        )
        for n, ratio in held
    ]


def _piece(angle: Angle, built_in: float, stretch: Stretch, exact: Floats) -> Piece | None:
    s = np.arange(stretch.first, stretch.last + 1) / FORMULA_TURN_ONE
    trials = [Piece(_short(n * np.pi - built_in), 1, 1 - 2 * (n % 2)) for n in _HALF_TURNS]
    mean = float((exact.mean() - angle.told) / angle.told_per_rad) * angle.ratio
    for piece in (*trials, Piece(_short(mean), 0, 1)):
        off = np.abs(angle.told + angle.told_per_rad * motor_angle(angle, piece, s) - exact)
        if (off <= _agrees(exact)).all():
            return piece
    return None


def _driving(chassis: Chassis, d: int) -> tuple[Rolling, ...]:
    wheels, base, group = chassis.wheels, chassis.base, chassis.motors.drive[d]
    held = list(group.wheels)
    for n in held:
        if wheels.caster[n]:
            label = chassis.design.wheels[n].name
            raise ExportError(f"{label} is a driven caster, for which there is no formula; choose the table")
    weight = wheels.load[held] * group.rolling
    per = 60.0 * chassis.full_speed * units_of_rpm(chassis.design.drive_motors[d])
    weight = weight / (weight @ group.rolling) * per * chassis.drive[d].per_unit
    turned = _turned(chassis)
    return tuple(
        Rolling(
            weight=_short(float(weight[i])),
            ax=_short((base.middle - wheels.y[n]) / base.half_track),
            ay=_short((wheels.x[n] - base.x) / base.half_track),
            ey=_short(wheels.across[n] / base.half_track),
            built_in=_short(float(wheels.built_in[n])),
            angle=turned.get(n, (-1, 0.0))[0],
            ratio=_short(turned.get(n, (-1, 0.0))[1]),
        )
        for i, n in enumerate(held)
    )


def _turned(chassis: Chassis) -> dict[int, tuple[int, float]]:
    """The steering output of each steered wheel, and its ratio there."""
    found = {
        int(n): (k, float(ratio))
        for k, group in enumerate(chassis.motors.steer)
        for n, ratio in zip(group.wheels, group.ratio, strict=True)
    }
    count = len(chassis.motors.steer)
    return found | {n: (count + i, 1.0) for i, n in enumerate(bare_wheels(chassis.design))}
