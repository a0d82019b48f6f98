"""Why a wheel does not point at the turn centre at one turn: causes as data, without a word of text.

What might be at fault is taken away, and the chassis is solved again (`trials`). A cause is that
whose removal alone leaves the wheel aligned; of several such the one nearest to the wheel is
given. Where no removal alone does, the cause is a set of them that together do, and of which
none can be spared.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from geometry.axes import Bools, Floats
from geometry.kinematics.robot import Response
from geometry.model.design import Design
from geometry.turn_range.trials import AT_END, Removal, Trials, What

# The least that a design accepts as its largest turn; advice below it would be refused.
SMALLEST_LARGEST_TURN = 0.01
# Contacts nearer along the chassis stand at one place [mm].
_SAME_PLACE = 1e-6


@dataclass(frozen=True)
class TrailTooLong:
    """The turn centre is nearer to the wheel's kingpin than its trail."""


@dataclass(frozen=True)
class WheelAtEnd:
    """The wheel's own travel stops it, or would if it were steered by itself."""

    angle: float
    """That end of its travel [rad]."""
    stands: bool
    """Whether it stands there, for a shared motor may turn it elsewhere."""


@dataclass(frozen=True)
class MotorAtEnd:
    """The travel of the wheel's steer motor stops it, or would if it turned this wheel alone."""

    motor: int
    stands: bool


@dataclass(frozen=True)
class MatesAtEnd:
    """The travel of other wheels on the same steer motor stops it."""

    motor: int
    wheels: tuple[int, ...]


@dataclass(frozen=True)
class SharedAngle:
    """The wheel's steer motor turns other wheels too, and no one shaft angle suits them all."""

    motor: int
    wheels: tuple[int, ...]
    """The others."""


@dataclass(frozen=True)
class ToedAxle:
    """The toe of a fixed wheel turns its axle off the turn centre."""

    adds: bool
    """Whether the wheel would slip visibly less without it, other faults left as they are."""


@dataclass(frozen=True)
class AxlesApart:
    """The fixed wheels do not stand on the base axle."""

    sort: Literal["base", "toe", "apart"]
    """Whether the base axle was chosen elsewhere, a toe moves contacts, or the axles stand apart."""
    wheels: tuple[int, ...]
    places: tuple[float, ...]
    """x of the contact of each of these wheels [mm]."""
    toed: tuple[int, ...]
    """Those whose toe moves their contact along the chassis."""
    by_offset: bool
    """Whether that is by their lateral offset alone, and not by a trail as well."""
    base_x: float
    """x of the base axle [mm]."""
    chosen: bool
    """Whether the builder put the base axle there."""
    untoed: bool
    """Whether all this is so only once the wheel has no toe."""


@dataclass(frozen=True)
class SharedDrive:
    """One drive motor cannot roll all of its wheels as the motion asks, and so turns the chassis aside."""

    motor: int
    sort: Literal["sense", "gearing", "speed"]
    """Whether wheels are geared to roll against the others, or to roll unlike straight ahead, or
    roll alike, but should not at this turn."""
    wheels: tuple[int, ...]
    rolling: tuple[float, ...]
    """How far each rolls for a turn of the motor, signed [mm]."""
    against: tuple[int, ...]
    """The fewer wheels of one sense, where senses differ; of equals those unlike the first wheel."""


@dataclass(frozen=True)
class OtherWheels:
    """The wheel stands as it should, but others pull the chassis about another centre."""

    wheels: tuple[int, ...]
    """Those that pull."""
    motor: int | None
    """The wheel's steer motor."""
    alone: bool
    """Whether that motor turns no other wheel."""
    suits: bool
    """Whether it would be right if every wheel were steered and driven by itself."""
    source: Cause | None = None
    """A fault of one of the others whose removal alone leaves this wheel aligned."""


Part = (
    TrailTooLong
    | WheelAtEnd
    | MotorAtEnd
    | MatesAtEnd
    | SharedAngle
    | ToedAxle
    | AxlesApart
    | SharedDrive
    | OtherWheels
)
ENDS = (WheelAtEnd, MotorAtEnd, MatesAtEnd)


@dataclass(frozen=True)
class Cause:
    """Why one wheel is off at one turn."""

    wheel: int
    parts: tuple[Part, ...]
    """One, or several that are at fault together; none for a wheel that is not off."""
    largest_turn: float | None = None
    """Where travel ends: the largest turn at which it does not yet; None where that is no advice."""


def cause_of(design: Design, turn: float, wheel: int, response: Response) -> Cause:
    """Find what is at fault for a wheel that is off at a turn.

    Parameters
    ----------
    design : Design
        All N wheels and their motors.
    turn : float
        Turn input.
    wheel : int
        The wheel.
    response : Response
        What the design's robot does at that one turn.

    Returns
    -------
    Cause
        With one part, or with several none of which is at fault alone. A wheel that nothing
        can put off, such as a caster, has none.
    """
    trials = Trials(design, response.robot, turn, wheel, response)
    possible = trials.possible()
    removed = trials.alone(possible) or trials.together(possible)
    return Cause(wheel, tuple(_part(trials, what, removed) for what in removed))


def free_turn(turns: Floats, limited: Bools) -> float | None:
    """Largest turn up to which nothing stands at an end of travel, to either side.

    Parameters
    ----------
    turns : ndarray, (M,)
        Turn inputs, in any order.
    limited : ndarray, (M,)
        Where something stands at an end of travel.

    Returns
    -------
    float or None
        Cut to four digits, since advice must not lie beyond the end of travel; None where that is
        less than a design accepts, or where nothing stands at its end.

    Examples
    --------
    >>> free_turn(np.array([-0.5, 0.0, 0.30009, 0.6]), np.array([False, False, False, True]))
    0.3
    """
    reach = math.inf
    for side in (1.0, -1.0):
        stops = side * turns[limited & (side * turns >= 0)]
        if stops.size:
            free = side * turns[(side * turns >= 0) & (side * turns < stops.min())]
            reach = min(reach, float(free.max(initial=0.0)))
    reach = math.floor(reach * 1e4) / 1e4 if math.isfinite(reach) else 0.0
    return reach if reach >= SMALLEST_LARGEST_TURN else None


def _part(trials: Trials, removal: Removal, removed: list[Removal]) -> Part:
    """What was taken away, with all that is to be told of it."""
    match removal.what:
        case What.TOE:
            without = trials.tried(removal)[1]
            slip = trials.judged(trials.robot.wheels, trials.here)[1]
            return ToedAxle(adds=without < slip - trials.robot.aligned_within)
        case What.AXLES:
            return _axles_apart(trials, toe_too=Removal(What.TOE) in removed)
        case What.TRAIL:
            return TrailTooLong()
        case What.TRAVEL:
            return _wheel_at_end(trials)
        case What.OTHERS:
            pull = trials.pulling(*(other for other in removed if other != removal))
            source = _source(trials, pull) if len(removed) == 1 else None
            return OtherWheels(pull, trials.holder, not trials.mates, trials.suits, source)
        case What.DRIVE_SENSE | What.DRIVE_GEARING | What.DRIVE_SPEED:
            return _shared_drive(trials, removal)
        case _:
            return _of_steer_motor(trials, removal.what)


def _source(trials: Trials, pulling: tuple[int, ...]) -> Cause | None:
    """The first single fault of a wheel that pulls, without which the wheel of these trials is aligned."""
    for other in pulling:
        there = replace(trials, wheel=other, known={})
        for removal in there.own_faults():
            if there.cured(removal, wheel=trials.wheel):
                return Cause(other, (_part(there, removal, [removal]),))
    return None


def _wheel_at_end(trials: Trials) -> WheelAtEnd:
    n, wheels = trials.wheel, trials.robot.wheels
    here, ideal = float(trials.here.steer[0, n]), float(trials.ideal.steer[0, n])
    ends = np.array([wheels.low[n], wheels.high[n]])
    stands = bool(np.abs(ends - here).min() < AT_END)
    return WheelAtEnd(here if stands else ideal, stands)


def _of_steer_motor(trials: Trials, what: What) -> Part:
    if trials.holder is None or trials.built is None:
        raise AssertionError("a removal of a steer motor that is not there")
    own, mates = trials.bound(trials.built, trials.holder)
    if what is What.MOTOR_TRAVEL:
        return MotorAtEnd(trials.holder, own)
    if what is What.MATES_TRAVEL:
        return MatesAtEnd(trials.holder, mates)
    return SharedAngle(trials.holder, trials.mates)


def _shared_drive(trials: Trials, removal: Removal) -> SharedDrive:
    group = trials.robot.motors.drive[removal.drive]
    backward = np.sign(group.rolling) != np.sign(group.rolling[0])
    if 2 * backward.sum() > len(backward):
        backward = ~backward
    sorts: dict[What, Literal["sense", "gearing", "speed"]] = {
        What.DRIVE_SENSE: "sense",
        What.DRIVE_GEARING: "gearing",
    }
    against = tuple(itertools.compress(group.wheels, backward.tolist()))
    sort = sorts.get(removal.what, "speed")
    return SharedDrive(removal.drive, sort, group.wheels, tuple(group.rolling.tolist()), against)


def _axles_apart(trials: Trials, *, toe_too: bool) -> AxlesApart:
    fault, then = trials.axle_fault(toe_gone=False), trials.axle_fault(toe_gone=toe_too)
    # They may agree by this wheel's toe, and no more without it.
    agree = np.abs(fault.places - fault.base_x).max() < _SAME_PLACE
    untoed = bool(agree or then.sort != fault.sort)
    fault = then if untoed else fault
    return AxlesApart(
        fault.sort,
        tuple(fault.wheels.tolist()),
        tuple(fault.places.tolist()),
        tuple(fault.toed.tolist()),
        by_offset=not trials.robot.wheels.along[fault.toed].any(),
        base_x=fault.base_x,
        chosen=trials.design.base_axle_x_mm is not None,
        untoed=untoed,
    )
