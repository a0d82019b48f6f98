"""What can be plotted over the turn input, as curves."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from app.controller.motor_outputs import MotorOutputs, outputs_of
from app.design.facts import Facts
from app.panels.plot_curves import PlotCurves
from app.units import MM_PER_INCH, LengthUnit, degrees
from geometry.axes import Bools, Floats
from geometry.kinematics.ideal import FLIPPED
from geometry.model.design import Design
from geometry.model.motors import STEER_UNITS, SteerUnit

# An ideal angle is drawn where it differs by more [degrees].
_VISIBLE_DEG = 0.05
# Nearly straight ahead any error of the radius grows without end: it is left out there.
MOST_SIZES = 10.0


@dataclass(frozen=True)
class Drawn:
    """M turns of C curves."""

    values: Floats
    """(M, C) in the quantity's own unit."""
    names: tuple[str, ...]
    jumps: Bools
    """(M, C): rows before which no line is drawn, since a wheel flips there."""


@dataclass(frozen=True)
class Quantity:
    """What can be plotted."""

    name: str
    axis: str
    draw: Callable[[Facts], Drawn]
    is_length: bool = False
    """True where the values are millimetres, which the screen may show as inches."""
    offered: Callable[[Design], bool] = lambda _design: True
    """Whether a design has such a thing."""
    ideal: Callable[[Facts], Floats | None] = lambda _facts: None
    """What would suit, (M, C) in the same unit; None where nothing differs from it."""
    limits: Callable[[Facts], tuple[tuple[float, str], ...]] = lambda _facts: ()
    """Values that part good from bad, with their names."""


def curves_of(facts: Facts, quantity: Quantity, unit: LengthUnit) -> PlotCurves:
    """A quantity over the whole range, in the unit of the screen."""
    drawn, ideal, axis = quantity.draw(facts), quantity.ideal(facts), quantity.axis
    turns = np.asarray(facts.check.dense.turns)
    curves = PlotCurves(turns, _with_gaps(drawn), drawn.names, axis, facts.design.largest_turn)
    if quantity.is_length:
        values = curves.values / (MM_PER_INCH if unit == "inch" else 1.0)
        curves = replace(curves, values=values, axis=f"{axis}, {unit}")
    if ideal is not None:
        curves = replace(curves, ideal=ideal, axis=f"{axis}; finely dotted: ideal")
    return replace(curves, limits=quantity.limits(facts))


def _with_gaps(drawn: Drawn) -> Floats:
    """Leave a gap where a wheel flips or a caster swings round, so that no line joins the two sides."""
    return np.where(drawn.jumps | ~np.isfinite(drawn.values), np.nan, drawn.values)


# Of every wheel ----------------------------------------------------------------------------


def _of_wheels(facts: Facts, values: Floats) -> Drawn:
    names = tuple(wheel.name for wheel in facts.design.wheels)
    return Drawn(np.asarray(values), names, _jumps(facts))


def _jumps(facts: Facts) -> Bools:
    """Where a wheel flips, or swings round, between the row before and this one, (M, N)."""
    solved = facts.check.dense.response.solution
    jump = np.zeros(solved.heading.shape, dtype=bool)
    jump[1:] = (solved.branch[1:] == FLIPPED) != (solved.branch[:-1] == FLIPPED)
    jump[1:] |= np.abs(np.diff(solved.heading, axis=0)) > 0.5 * np.pi
    return jump


def _angles(facts: Facts) -> Drawn:
    """Steer angles; for fixed wheels and casters where they point [degrees]."""
    solved = facts.check.dense.response.solution
    return _of_wheels(
        facts, degrees(1.0) * np.where(facts.robot.wheels.steered, solved.steer, solved.heading)
    )


def _ideal_angles(facts: Facts) -> Floats | None:
    """Ideal steer angles where the motors give others [degrees]."""
    response = facts.check.dense.response
    if not facts.robot.motors:
        return None
    ideal = degrees(1.0) * response.ideal.steer
    off = np.abs(degrees(1.0) * response.solution.steer - ideal) > _VISIBLE_DEG
    off &= facts.robot.wheels.steered
    # One row more at both ends, so that the two curves part and meet again.
    near = off.copy()
    near[1:] |= off[:-1]
    near[:-1] |= off[1:]
    jump = np.zeros_like(off)
    jump[1:] = np.abs(np.diff(ideal, axis=0)) > 90.0
    return np.where(near & ~jump, ideal, np.nan) if off.any() else None


def _drag_limits(facts: Facts) -> tuple[tuple[float, str], ...]:
    """Drag at which a wheel is no longer aligned, and at which it drags [mm/m]."""
    aligned, slight = (
        1000.0 * float(np.sin(a)) for a in (facts.robot.aligned_within, facts.robot.slight_within)
    )
    return (aligned, "aligned"), (slight, "slight drag")


# Of motors ---------------------------------------------------------------------------------


def _told(facts: Facts) -> MotorOutputs | None:
    """What the motors are told over the range; None without motors."""
    return outputs_of(facts.design, facts.check.dense.response) if facts.robot.motors else None


def _positions(facts: Facts, unit: SteerUnit) -> Drawn:
    """What the steer motors of one unit are told, in that unit."""
    told = _told(facts)
    motors = facts.design.steer_motors
    chosen = [k for k, motor in enumerate(motors) if motor.unit == unit]
    held = [facts.robot.motors.steer[k].wheels for k in chosen]
    wheel_jumps = _jumps(facts)
    jumps = [wheel_jumps[:, wheels].any(axis=1) for wheels in held]
    names = tuple(motors[k].name for k in chosen)
    if told is None or not chosen:
        return _nothing(facts)
    return Drawn(told.positions[:, chosen], names, np.stack(jumps, axis=1))


def _nothing(facts: Facts) -> Drawn:
    rows = len(facts.check.dense.turns)
    return Drawn(np.empty((rows, 0)), (), np.empty((rows, 0), dtype=bool))


def _radius_errors(facts: Facts) -> Drawn:
    """How much wider the chassis turns than it is asked to [mm]."""
    dense = facts.check.dense
    near = np.abs(dense.radius) <= MOST_SIZES * facts.size
    with np.errstate(invalid="ignore"):  # straight ahead both are infinite
        error = np.where(near, np.abs(dense.true_radius) - np.abs(dense.radius), np.nan)
    return Drawn(error[:, None], ("turn radius",), np.asarray(_jumps(facts).any(axis=1))[:, None])


def _top_speeds(facts: Facts) -> Drawn:
    """Largest speed of the faster side that no drive motor refuses [m/s]."""
    told = _told(facts)
    if told is None:
        return _nothing(facts)
    speed = told.speed[:, None] / 1000.0
    return Drawn(speed, ("faster side",), np.zeros(speed.shape, dtype=bool))


def _slips(facts: Facts) -> Drawn:
    """How much too far (positive) or too little the drive motors roll their wheels [mm/m]."""
    motors = facts.robot.motors
    if not motors:
        return _nothing(facts)
    held = sorted(i for group in motors.drive for i in group.wheels)
    names = tuple(facts.design.wheels[i].name for i in held)
    return Drawn(facts.check.dense.response.lengthwise_slip[:, held], names, _jumps(facts)[:, held])


def _told_in(design: Design, unit: SteerUnit) -> bool:
    return any(motor.unit == unit for motor in design.steer_motors)


def _drives(design: Design) -> bool:
    return bool(design.drive_motors)


QUANTITIES = (
    Quantity("Steer angle", "steer angle, degrees", _angles, ideal=_ideal_angles),
    Quantity(
        "Rolling speed",
        "rolling speed, faster side = 1",
        lambda f: _of_wheels(f, f.check.dense.response.solution.roll),
    ),
    # Straight ahead an axle that is not square misses without end: a gap.
    Quantity(
        "Miss",
        "miss of the axle line",
        lambda f: _of_wheels(f, f.check.dense.response.alignment.miss),
        is_length=True,
    ),
    Quantity(
        "Drag",
        "drag, mm per metre",
        lambda f: _of_wheels(f, f.check.dense.response.alignment.drag),
        limits=_drag_limits,
    ),
    *(
        Quantity(
            f"Motor position, {unit}",
            f"position of the steer motors, {unit}",
            partial(_positions, unit=unit),
            offered=partial(_told_in, unit=unit),
        )
        for unit in STEER_UNITS
    ),
    Quantity(
        "Turn radius error",
        f"turn radius, wider than asked (up to {MOST_SIZES:g} chassis lengths)",
        _radius_errors,
        is_length=True,
        offered=lambda d: bool(d.steer_motors or d.drive_motors),
    ),
    Quantity(
        "Largest speed", "largest speed of the faster side, metres per second", _top_speeds, offered=_drives
    ),
    Quantity("Lengthwise slip", "lengthwise slip of driven wheels, mm per metre", _slips, offered=_drives),
)
