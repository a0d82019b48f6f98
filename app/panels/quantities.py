"""What can be plotted over the turn input, as curves."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Literal, TypeAlias, TypeVar

import numpy as np

from app.controller.motor_outputs import MotorOutputs, outputs_of
from app.design.facts import Facts
from app.panels.plot_curves import SHOWN, PlotCurves
from app.panels.room_curves import Room, no_room, room_at
from app.units import LengthUnit, decimals, degrees, in_length_unit
from app.words.lengths import drag_unit, in_drag_unit
from app.words.space_words import MEASURES
from geometry.axes import Bools, Floats
from geometry.kinematics.ideal import FLIPPED
from geometry.model.design import Design
from geometry.model.motors import STEER_UNITS, SteerUnit
from geometry.turn_range.range_check import AtTurns

Measure: TypeAlias = Literal["number", "length", "drag", "speed"]
Values = TypeVar("Values", float, Floats)

# An ideal angle is drawn where it differs by more [degrees].
_VISIBLE_DEG = 0.05
# Nearly straight ahead any error of the radius grows without end: it is left out there.
MOST_SIZES = 10.0
RUNS_OUT = f"Gentle turns run off the top: {100 * SHOWN:g} % of the values are within."
"""What is said of a plot whose largest values are beyond its axis."""
# Decimals of a value that is told, where it is no length.
_DIGITS = 2


@dataclass(frozen=True)
class Drawn:
    """M turns of C curves."""

    values: Floats
    """(M, C) in the quantity's own unit."""
    names: tuple[str, ...]
    jumps: Bools
    """(M, C): rows before which no line is drawn, since a wheel flips there."""
    wheels: tuple[int, ...] = ()
    """Number of the wheel of each curve; empty where the curves are of something else."""


@dataclass(frozen=True)
class Quantity:
    """What can be plotted."""

    name: str
    axis: str
    """What the values are; their unit, where it is always the same, stands behind a comma."""
    draw: Callable[[Facts, AtTurns], Drawn] | None
    """Of a design, at any turns; None for what is seen of the room to turn."""
    measure: Measure = "number"
    """Whether the values are mm, mm per metre or m/s, which the screen may show in inches."""
    sign: str = ""
    """What stands right behind each value."""
    offered: Callable[[Design], bool] = lambda _design: True
    """Whether a design has such a thing."""
    ideal: Callable[[Facts], Floats | None] = lambda _facts: None
    """What would suit, (M, C) in the same unit; None where nothing differs from it."""
    limits: Callable[[Facts], tuple[tuple[float, str], ...]] = lambda _facts: ()
    """Values that part good from bad, with their names."""
    at_first: bool = False
    """Whether it is shown before the person chooses."""
    of_room: Callable[[Design, Room], Drawn] | None = None
    """Of the room to turn, which takes longer: its curves come a moment later, and not during a drag."""
    grows: bool = False
    """Whether it grows without end the gentler the turn: what is largest then runs out of the plot."""

    def unit(self, unit: LengthUnit) -> str:
        """What the values are in, on a screen with such lengths."""
        match self.measure:
            case "length":
                return unit
            case "drag":
                return drag_unit(unit)
            case "speed":
                return "metres per second" if unit == "mm" else "inches per second"
            case _:
                return self.axis.rpartition(", ")[2]


def curves_of(facts: Facts, quantity: Quantity, unit: LengthUnit, room: Room | None = None) -> PlotCurves:
    """A quantity over the whole range, in the unit of the screen.

    Where it is of the room to turn and that is not given, there are gaps and words for why.
    """
    dense = facts.check.dense
    drawn, ideal, axis = _drawn(facts, quantity, dense, room), quantity.ideal(facts), quantity.axis
    if quantity.measure != "number":
        axis = f"{axis}, {quantity.unit(unit)}"
    if ideal is not None:
        ideal, axis = _in_unit(quantity, ideal, unit), f"{axis}; finely dotted: ideal"
    return PlotCurves(
        np.asarray(dense.turns),
        _in_unit(quantity, _with_gaps(drawn), unit),
        drawn.names,
        axis,
        facts.design.largest_turn,
        ideal,
        tuple((float(_in_unit(quantity, value, unit)), name) for value, name in quantity.limits(facts)),
        title=quantity.name,
        unit=quantity.unit(unit) + ("" if ideal is None else "; finely dotted: ideal"),
        sign=quantity.sign,
        digits=_DIGITS if quantity.measure == "number" else decimals(unit, 1),
        wheels=drawn.wheels,
        note=_note(facts, quantity, room),
        runs_out=quantity.grows,
    )


def values_at(
    facts: Facts, quantity: Quantity, unit: LengthUnit, at: AtTurns, room: Room | None = None
) -> Floats:
    """The same quantity at the first of some turns, exact, (C,); not between two turns of the curves."""
    return np.asarray(_in_unit(quantity, _drawn(facts, quantity, at, room).values[0], unit))


def room_here(facts: Facts, quantities: Sequence[Quantity], at: AtTurns) -> Room | None:
    """The room to turn at some turns, for `values_at`; None where nobody asks for it, and during a drag."""
    wanted = any(quantity.of_room is not None for quantity in quantities) and not facts.previewing
    return room_at(facts, at.turns) if wanted else None


def _drawn(facts: Facts, quantity: Quantity, at: AtTurns, room: Room | None) -> Drawn:
    if quantity.of_room is not None:
        return quantity.of_room(facts.design, room or no_room(facts.design, len(at.turns)))
    return quantity.draw(facts, at) if quantity.draw is not None else _nothing(at)


def _note(facts: Facts, quantity: Quantity, room: Room | None) -> str:
    if quantity.of_room is not None and room is None:
        return "Waits for the end of the drag." if facts.previewing else "Being worked out…"
    return RUNS_OUT if quantity.grows else ""


def _in_unit(quantity: Quantity, values: Values, unit: LengthUnit) -> Values:
    match quantity.measure:
        case "length":
            return values * in_length_unit(1.0, unit)
        case "drag":
            return values * in_drag_unit(1.0, unit)
        case "speed" if unit == "inch":
            return values * in_length_unit(1000.0, unit)
        case _:
            return values


def _with_gaps(drawn: Drawn) -> Floats:
    """Leave a gap where a wheel flips or a caster swings round, so that no line joins the two sides."""
    return np.where(drawn.jumps | ~np.isfinite(drawn.values), np.nan, drawn.values)


# Of every wheel ----------------------------------------------------------------------------


def _of_wheels(facts: Facts, at: AtTurns, values: Floats) -> Drawn:
    names = tuple(wheel.name for wheel in facts.design.wheels)
    return Drawn(np.asarray(values), names, _jumps(at), tuple(range(len(names))))


def _jumps(at: AtTurns) -> Bools:
    """Where a wheel flips, or swings round, between the row before and this one, (M, N)."""
    solved = at.response.solution
    if len(at.turns) == 1:
        return np.zeros(solved.heading.shape, dtype=bool)
    jump = np.zeros(solved.heading.shape, dtype=bool)
    jump[1:] = (solved.branch[1:] == FLIPPED) != (solved.branch[:-1] == FLIPPED)
    jump[1:] |= np.abs(np.diff(solved.heading, axis=0)) > 0.5 * np.pi
    return jump


def _angles(facts: Facts, at: AtTurns) -> Drawn:
    """Steer angles; for fixed wheels and casters where they point [degrees]."""
    solved = at.response.solution
    return _of_wheels(
        facts, at, degrees(1.0) * np.where(facts.robot.wheels.steered, solved.steer, solved.heading)
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


def _told(facts: Facts, at: AtTurns) -> MotorOutputs | None:
    """What the motors are told at some turns; None without motors."""
    return outputs_of(facts.design, at.response) if facts.robot.motors else None


def _positions(facts: Facts, at: AtTurns, unit: SteerUnit) -> Drawn:
    """What the steer motors of one unit are told, in that unit."""
    told = _told(facts, at)
    motors = facts.design.steer_motors
    chosen = [k for k, motor in enumerate(motors) if motor.unit == unit]
    held = [facts.robot.motors.steer[k].wheels for k in chosen]
    wheel_jumps = _jumps(at)
    jumps = [wheel_jumps[:, wheels].any(axis=1) for wheels in held]
    names = tuple(motors[k].name for k in chosen)
    if told is None or not chosen:
        return _nothing(at)
    return Drawn(told.positions[:, chosen], names, np.stack(jumps, axis=1))


def _nothing(at: AtTurns) -> Drawn:
    rows = len(at.turns)
    return Drawn(np.empty((rows, 0)), (), np.empty((rows, 0), dtype=bool))


def _radius_errors(facts: Facts, at: AtTurns) -> Drawn:
    """How much wider the chassis turns than it is asked to [mm]."""
    near = np.abs(at.radius) <= MOST_SIZES * facts.size
    with np.errstate(invalid="ignore"):  # straight ahead both are infinite
        error = np.where(near, np.abs(at.true_radius) - np.abs(at.radius), np.nan)
    return Drawn(error[:, None], ("turn radius",), np.asarray(_jumps(at).any(axis=1))[:, None])


def _top_speeds(facts: Facts, at: AtTurns) -> Drawn:
    """Largest speed of the faster side that no drive motor refuses [m/s]."""
    told = _told(facts, at)
    if told is None:
        return _nothing(at)
    speed = told.speed[:, None] / 1000.0
    return Drawn(speed, ("faster side",), np.zeros(speed.shape, dtype=bool))


def _slips(facts: Facts, at: AtTurns) -> Drawn:
    """How much too far (positive) or too little the drive motors roll their wheels [mm/m]."""
    motors = facts.robot.motors
    if not motors:
        return _nothing(at)
    held = sorted(i for group in motors.drive for i in group.wheels)
    names = tuple(facts.design.wheels[i].name for i in held)
    return Drawn(at.response.lengthwise_slip[:, held], names, _jumps(at)[:, held], tuple(held))


def _told_in(design: Design, unit: SteerUnit) -> bool:
    return any(motor.unit == unit for motor in design.steer_motors)


def _drives(design: Design) -> bool:
    return bool(design.drive_motors)


# Of the room to turn -----------------------------------------------------------------------


def _measures(_design: Design, room: Room, columns: tuple[int, ...]) -> Drawn:
    """Some of the measures [mm]."""
    values = room.measures[:, columns]
    names = tuple(MEASURES[k].name for k in columns)
    return Drawn(values, names, np.zeros(values.shape, dtype=bool))


def _off_tracking(design: Design, room: Room) -> Drawn:
    """How much nearer to the turn centre each wheel runs than one abreast of the foremost [mm]."""
    names = tuple(wheel.name for wheel in design.wheels)
    values = room.off_tracking
    return Drawn(values, names, np.zeros(values.shape, dtype=bool), tuple(range(len(names))))


def _has_size(design: Design) -> bool:
    return bool(design.wheels or design.body_mm or design.packaging.parts)


def _room_quantities() -> tuple[Quantity, ...]:
    """A plot for each name that measures share, and one of the wheels."""
    columns: dict[str, list[int]] = {}
    for k, measure in enumerate(MEASURES):
        columns.setdefault(measure.plot or measure.name, []).append(k)
    plots = [
        Quantity(
            name,
            "as built",
            None,
            measure="length",
            offered=_has_size,
            of_room=partial(_measures, columns=tuple(some)),
            grows=any(MEASURES[k].grows for k in some),
        )
        for name, some in columns.items()
    ]
    offs = Quantity(
        "Off-tracking",
        "off-tracking",
        None,
        measure="length",
        offered=lambda d: bool(d.wheels),
        of_room=_off_tracking,
    )
    return (*plots, offs)


QUANTITIES = (
    Quantity("Steer angle", "steer angle, degrees", _angles, sign="°", ideal=_ideal_angles, at_first=True),
    Quantity(
        "Rolling speed",
        "rolling speed, faster side = 1",
        lambda f, at: _of_wheels(f, at, at.response.solution.roll),
    ),
    # Straight ahead an axle that is not square misses without end: a gap.
    Quantity(
        "Miss",
        "miss of the axle line",
        lambda f, at: _of_wheels(f, at, at.response.alignment.miss),
        measure="length",
    ),
    Quantity(
        "Drag",
        "drag",
        lambda f, at: _of_wheels(f, at, at.response.alignment.drag),
        measure="drag",
        limits=_drag_limits,
        at_first=True,
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
        measure="length",
        offered=lambda d: bool(d.steer_motors or d.drive_motors),
    ),
    Quantity(
        "Largest speed", "largest speed of the faster side", _top_speeds, measure="speed", offered=_drives
    ),
    Quantity(
        "Lengthwise slip",
        "lengthwise slip of driven wheels",
        _slips,
        measure="drag",
        offered=_drives,
    ),
    *_room_quantities(),
)
