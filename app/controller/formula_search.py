"""The search for the closed form of a chassis.

Its constants are found by trial, stretch by stretch between jumps, and proved against the
chassis as built at every turn step, or at chosen ones where they are too many. Where no trial
fits there is no formula.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from app.controller.code_outputs import bare_wheels, bare_whole, command_whole, units_of_rpm
from app.controller.export_error import ExportError
from app.controller.formula import (
    FORMULA_TURN_ONE,
    GROUP,
    STAYS,
    WHEEL,
    Angle,
    Formula,
    Piece,
    Rolling,
    motor_angle,
)
from app.controller.output_curves import ChassisOutputs
from geometry.axes import Floats
from geometry.lookup_table.error_band import OutputCurves, Stretch, sampled
from geometry.lookup_table.fit import breaks_and_kinks
from geometry.lookup_table.fixed_point import Counts
from geometry.progress import Progress, part_of, tell, unwatched

# Nine digits: the last bits of a constant may differ from one machine to the next.
_DIGITS = 9
# How far a trial may be off [whole numbers of an output], beyond nine digits of its size.
_AGREES, _AGREES_SHARE = 1e-3, 1e-7
# Places along a scale at which it is tried for straightness.
_PLACES_OF_SCALE = 33
_HALF_TURNS = (0, 1, -1, 2, -2)


@dataclass(frozen=True, eq=False)
class Found:
    """A closed form with its proof at M turn steps."""

    formula: Formula
    steps: Counts
    """(M,): turn steps; each of them, or chosen ones where they are too many."""
    exact: Floats
    """(M, C): the outputs there [whole numbers of the output, unrounded]."""
    between: Floats
    """(M, C): how far each goes within half a step."""


def formula_of(chassis: ChassisOutputs, progress: Progress = unwatched) -> Found:
    """Find the closed form of a chassis.

    Raises
    ------
    ExportError
        If there is none.
    Cancelled
        If `progress` returned False.
    """
    breaks, _ = breaks_and_kinks(chassis.marks)
    reach = chassis.design.largest_turn
    allowed = [1.0] * len(chassis.outputs)
    curves = OutputCurves(chassis.values, -reach, reach, allowed, breaks, wheels=len(chassis.robot.wheels))
    stretches = sampled(curves, FORMULA_TURN_ONE, len(allowed), part_of(progress, 0.0, 0.7))
    trying = part_of(progress, 0.7, 1.0)
    try:
        found = _all_steering(chassis, stretches, trying)
    except ExportError:
        if all(_quadratic(chassis, k) is None for k in range(len(chassis.steer))):
            raise
        stretches = tuple(half for stretch in stretches for half in _halves(stretch))
        found = _all_steering(chassis, stretches, trying)
    formula = Formula(
        starts=tuple(stretch.first for stretch in stretches),
        angles=tuple(angle for angle, _ in found),
        pieces=tuple(tuple(pieces[i] for _, pieces in found) for i in range(len(stretches))),
        rollings=tuple(_driving(chassis, d) for d in range(len(chassis.drive))),
    )
    exact = np.concatenate([stretch.exact for stretch in stretches])
    steps = np.concatenate([stretch.first + stretch.steps for stretch in stretches])
    off = np.abs(formula.values(steps) - exact)
    for c in np.flatnonzero((off > _agrees(exact)).any(axis=0))[:1]:
        raise ExportError(_no_formula(chassis.outputs[c].label))
    return Found(formula, steps, exact, np.concatenate([stretch.between for stretch in stretches]))


def _all_steering(
    chassis: ChassisOutputs, stretches: tuple[Stretch, ...], progress: Progress
) -> list[tuple[Angle, list[Piece]]]:
    found = []
    for k in range(len(chassis.steer)):
        tell(progress, k / len(chassis.steer))
        found.append(_steering(chassis, k, stretches))
    return found


def _agrees(exact: Floats) -> Floats:
    return np.asarray(_AGREES + _AGREES_SHARE * np.abs(exact).max(axis=0))


def _no_formula(label: str) -> str:
    return (
        f"{label}: no formula gives what it should do (wheels that share a motor do not suit one angle, or "
        "the turn centre comes nearer to a kingpin than its trail); choose the method table"
    )


def _short(value: float) -> float:
    return float(f"{value:.{_DIGITS}g}") + 0.0  # no negative zero


def _steering(chassis: ChassisOutputs, k: int, stretches: tuple[Stretch, ...]) -> tuple[Angle, list[Piece]]:
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
    by_group = _by_group(chassis, k, stretches)
    if by_group is None:
        raise ExportError(_no_formula(chassis.steer[k].label))
    return by_group


def _halves(stretch: Stretch) -> list[Stretch]:
    """The stretch cut at straight ahead: on either side the argument of a group turns less than once."""
    if not stretch.first < 0 <= stretch.last:
        return [stretch]
    return [stretch.part(*ends) for ends in pairwise((0, -stretch.first, stretch.last - stretch.first + 1))]


def _quadratic(chassis: ChassisOutputs, k: int) -> tuple[complex, complex, complex] | None:
    """Factors of z of a shared motor; None where its wheels have trail or turn unequally far."""
    if k >= len(chassis.robot.motors.steer):
        return None
    group, wheels, base = chassis.robot.motors.steer[k], chassis.robot.wheels, chassis.robot.base
    ratio = _gears(chassis, k)
    held, size = group.wheels, np.abs(ratio)
    if len(held) < 2 or np.ptp(size) > 1e-12 * size[0] or wheels.along[held].any():
        return None
    mirror = np.sign(ratio)
    ax, ay = (base.middle - wheels.y[held]) / base.half_track, (wheels.x[held] - base.x) / base.half_track
    weight = wheels.load[held] / wheels.load[held].sum() * np.exp(-2j * mirror * wheels.built_in[held])
    arm = ax + 1j * mirror * ay
    return complex(weight.sum()), complex(2.0 * weight @ arm), complex(weight @ arm**2)


def _by_group(
    chassis: ChassisOutputs, k: int, stretches: tuple[Stretch, ...]
) -> tuple[Angle, list[Piece]] | None:
    """Follow all wheels of a motor at once."""
    factors = _quadratic(chassis, k)
    if factors is None:
        return None
    leader, _ = _leaders(chassis, k)[0]
    angle = replace(leader, ratio=abs(leader.ratio))
    pieces = []
    for stretch in stretches:
        exact = stretch.exact[:, k]
        ends = (np.array([exact.min(), exact.max()]) - angle.told) / angle.told_per_rad * angle.ratio
        middle = _short(float(ends.mean()))
        turned = np.array(factors) * np.exp(-2j * middle)
        numbers = tuple(_short(float(n)) for n in (*turned.real, *turned.imag))
        trials = (Piece(middle, GROUP, 1, numbers), Piece(middle, STAYS))
        s = (stretch.first + stretch.steps) / FORMULA_TURN_ONE
        fits = [piece for piece in trials if _fits(angle, piece, s, exact)]
        if not fits:
            return None
        pieces.append(fits[0])
    return angle, pieces


def _gears(chassis: ChassisOutputs, k: int) -> Floats:
    """Ratios of a motor's wheels; there is no formula for other transmissions."""
    ratio = chassis.robot.motors.steer[k].law.ratio
    if ratio is None:
        raise ExportError(
            f"{chassis.steer[k].label}: its wheels do not follow its shaft in a fixed ratio, for which there "
            "is no formula; choose the method table"
        )
    return ratio


def _straight_scale(chassis: ChassisOutputs, k: int) -> Floats:
    """What a motor is told at 0 and at 1 rad; there is no formula where that is no straight line."""
    motor, group = chassis.design.steer_motors[k], chassis.robot.motors.steer[k]
    scale = chassis.robot.motors.scales[k]
    told = command_whole(motor, scale, np.array([0.0, 1.0]))
    along = np.linspace(group.low, group.high, _PLACES_OF_SCALE)
    off = command_whole(motor, scale, along) - (told[0] + (told[1] - told[0]) * along)
    if np.abs(off).max() > _AGREES + _AGREES_SHARE * np.abs(told).max():
        raise ExportError(
            f"{chassis.steer[k].label}: what it is told is not in proportion to its shaft, for which "
            "there is no formula; choose the method table"
        )
    return told


def _leaders(chassis: ChassisOutputs, k: int) -> list[tuple[Angle, float]]:
    """Wheels that a steering output turns, each with its toe as a heading."""
    wheels, count = chassis.robot.wheels, len(chassis.robot.motors.steer)
    ends = np.array([0.0, 1.0])
    if k < count:
        group = chassis.robot.motors.steer[k]
        told = _straight_scale(chassis, k)
        held = list(zip(group.wheels.tolist(), _gears(chassis, k).tolist(), strict=True))
        low, high = group.low, group.high
    else:
        n = bare_wheels(chassis.design)[k - count]
        told, held = bare_whole(ends), [(n, 1.0)]
        low, high = float(wheels.low[n]), float(wheels.high[n])
    base = chassis.robot.base
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
    s = (stretch.first + stretch.steps) / FORMULA_TURN_ONE
    trials = [Piece(_short(n * np.pi - built_in), WHEEL, 1 - 2 * (n % 2)) for n in _HALF_TURNS]
    mean = float((exact.mean() - angle.told) / angle.told_per_rad) * angle.ratio
    return next((p for p in (*trials, Piece(_short(mean), STAYS)) if _fits(angle, p, s, exact)), None)


def _fits(angle: Angle, piece: Piece, s: Floats, exact: Floats) -> bool:
    off = np.abs(angle.told + angle.told_per_rad * motor_angle(angle, piece, s) - exact)
    return bool((off <= _agrees(exact)).all())


def _driving(chassis: ChassisOutputs, d: int) -> tuple[Rolling, ...]:
    wheels, base, group = chassis.robot.wheels, chassis.robot.base, chassis.robot.motors.drive[d]
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


def _turned(chassis: ChassisOutputs) -> dict[int, tuple[int, float]]:
    """The steering output of each steered wheel, and its ratio there."""
    found = {
        int(n): (k, float(ratio))
        for k, group in enumerate(chassis.robot.motors.steer)
        for n, ratio in zip(group.wheels, _gears(chassis, k), strict=True)
    }
    count = len(chassis.robot.motors.steer)
    return found | {n: (count + i, 1.0) for i, n in enumerate(bare_wheels(chassis.design))}
