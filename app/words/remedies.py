"""Why a wheel drags and what the builder can do about it, in words; the causes are those of `causes`."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from app.design.facts import Facts
from app.units import LengthUnit, show_angle, show_length
from app.words.notices import NAMED, some_names
from geometry.kinematics.alignment import CALM
from geometry.model.design import Design
from geometry.turn_range.causes import (
    ENDS,
    AxlesApart,
    Cause,
    MatesAtEnd,
    MotorAtEnd,
    OtherWheels,
    Part,
    SharedAngle,
    SharedDrive,
    ToedAxle,
    TrailTooLong,
    WheelAtEnd,
    cause_of,
    free_turn,
)
from geometry.turn_range.range_check import AtTurns, WheelAtTurn, at_turns

_ON_SCREEN = (
    ("clear base_axle_x_mm", 'untick "Choose the base axle"'),
    ("largest_turn", "the largest turn"),
)


def cause(facts: Facts, off: WheelAtTurn, at: AtTurns | None = None) -> Cause:
    """What is at fault for a wheel at a turn; who has asked for that turn already passes it on."""
    if off.state in CALM:
        return Cause(off.wheel, ())
    at = at_turns(facts.robot, [off.turn]) if at is None else at
    found = cause_of(facts.design, off.turn, off.wheel, at.response)
    if not any(isinstance(part, ENDS) for part in found.parts):
        return found
    dense = facts.check.dense
    limited = dense.response.solution.limited[:, off.wheel]
    return replace(found, largest_turn=free_turn(dense.turns, limited))


def remedy(facts: Facts, off: WheelAtTurn, unit: LengthUnit = "mm", at: AtTurns | None = None) -> str:
    """What the builder can do about a wheel's fault at a turn, in one sentence or several."""
    return remedy_words(facts.design, cause(facts, off, at), unit)


def on_screen(text: str) -> str:
    """A sentence that names keys of the file, with what the fields of the window are called.

    Examples
    --------
    >>> on_screen("It stands at its end of travel: give it more, or set largest_turn to at most 0.3.")
    'It stands at its end of travel: give it more, or set the largest turn to at most 0.3.'
    """
    for key, words in _ON_SCREEN:
        text = text.replace(key, words)
    return text


def remedy_words(design: Design, cause: Cause, unit: LengthUnit = "mm") -> str:
    """Say what is at fault and what to do about it, a sentence for each part that must go.

    Parameters
    ----------
    design : Design
        The design that the cause speaks of.
    cause : Cause
        Why one of its wheels drags.
    unit : 'mm' or 'inch'
        Unit of lengths.
    """
    match cause.parts:
        case ():
            return "No part of the chassis puts it off."
        case (WheelAtEnd(stands=False) as end, SharedAngle() as shared):
            return _held_and_short(design, end, shared)
        case (ToedAxle() as toe, AxlesApart() as apart) if apart.sort != "toe" and not apart.untoed:
            return f"{_axles(design, cause.wheel, apart, unit)} {_toe_too(design, cause.wheel, toe)}"
    # Where to stop turning is told last.
    parts = sorted(cause.parts, key=lambda part: isinstance(part, ENDS))
    first, *more = (_sentence(design, cause, part, unit) for part in parts)
    led = ("That alone is not enough", *(["Nor is that"] * len(more)))
    return " ".join([first, *(f"{lead}: {_lower(words)}" for lead, words in zip(led, more, strict=False))])


def _sentence(design: Design, cause: Cause, part: Part, unit: LengthUnit) -> str:
    wheel = design.wheels[cause.wheel]
    match part:
        case TrailTooLong():
            trail = show_length(abs(wheel.trail_mm), unit)
            return f"The turn centre is nearer to its kingpin than its trail of {trail}: shorten the trail."
        case WheelAtEnd() | MotorAtEnd() | MatesAtEnd():
            return _at_end(design, cause, part)
        case SharedAngle():
            motor, others = design.steer_motors[part.motor].name, _names(design, part.wheels)
            return (
                f"Its motor, {motor}, also turns {others}, and no one angle suits them all: "
                "share or gear them otherwise."
            )
        case ToedAxle():
            return f"Its toe of {wheel.toe_deg:g}° turns a fixed axle off the turn centre: set the toe to 0."
        case AxlesApart():
            return _axles(design, cause.wheel, part, unit)
        case SharedDrive():
            return _drive(design, cause.wheel, part, unit)
        case OtherWheels():
            return _others(design, cause, part, unit)


def _at_end(design: Design, cause: Cause, part: WheelAtEnd | MotorAtEnd | MatesAtEnd) -> str:
    less = "" if cause.largest_turn is None else f", or set largest_turn to at most {cause.largest_turn:g}"
    if isinstance(part, WheelAtEnd):
        where = "It stands at its" if part.stands else "Alone it would come to its own"
        return f"{where} end of travel ({show_angle(part.angle)}): give it more travel{less}."
    less = less or ", or turn less"
    motor = design.steer_motors[part.motor].name
    if isinstance(part, MatesAtEnd):
        mates = _names(design, part.wheels)
        return f"Its motor, {motor}, is stopped by the travel of {mates}: give {mates} more travel{less}."
    if part.stands:
        return f"Its motor, {motor}, stands at its end of travel: give it more{less}."
    return f"Alone it would bring its motor, {motor}, to its end of travel: give the motor more{less}."


def _held_and_short(design: Design, end: WheelAtEnd, shared: SharedAngle) -> str:
    """Of a steered wheel whose motor goes on turning it, though alone it would be stopped."""
    motor, others = design.steer_motors[shared.motor].name, _names(design, shared.wheels)
    return (
        f"Its motor, {motor}, also turns {others}, and alone it would come to its own end of "
        f"travel ({show_angle(end.angle)}): give it more travel, and share or gear them otherwise."
    )


def _axles(design: Design, wheel: int, part: AxlesApart, unit: LengthUnit) -> str:
    base = show_length(part.base_x, unit)
    if part.sort == "base":
        return (
            f"The fixed wheels stand at x {show_length(part.places[0], unit)} but the base axle at x {base}: "
            "clear base_axle_x_mm, or move one of them."
        )
    each = [
        f"{design.wheels[n].name} at x {show_length(x, unit)}"
        for n, x in zip(part.wheels, part.places, strict=True)
    ]
    listed = some_names(each)
    if part.sort == "toe":
        toed = ", ".join(design.wheels[n].name for n in part.toed[:NAMED])
        if wheel in part.toed:
            return (
                f"Toe turns the axles of {toed} off the turn centre, and moves their contacts ({listed}): "
                "set it to 0."
            )
        offset = ", or its lateral offset" if part.by_offset else ""
        return f"Toe moves the contact of {toed} off the axle line ({listed}): set its toe to 0{offset}."
    line = f"the base axle at x {base}" if part.chosen else "one x"
    return f"The fixed wheels share no axle line ({listed}): bring them to {line}, or let some steer."


def _toe_too(design: Design, wheel: int, toe: ToedAxle) -> str:
    how = "adds to it" if toe.adds else "would make it drag too"
    return f"Its toe of {design.wheels[wheel].toe_deg:g}° {how}: set the toe to 0."


def _drive(design: Design, wheel: int, part: SharedDrive, unit: LengthUnit) -> str:
    names = {n: design.wheels[n].name for n in part.wheels}
    led = f"{'Its' if wheel in names else 'A'} drive motor, {design.drive_motors[part.motor].name},"
    if part.sort == "sense":
        back = some_names([names[n] for n in part.against])
        rest = some_names([name for n, name in names.items() if n not in part.against])
        return (
            f"{led} rolls {back} the opposite way to {rest}, which pulls the chassis aside: "
            f"turn the sense of {back} round, by a ratio of the other sign or one gear more or less."
        )
    if part.sort == "gearing":
        each = [
            f"{names[n]} {show_length(way, unit)}" for n, way in zip(part.wheels, part.rolling, strict=True)
        ]
        return (
            f"{led} rolls its wheels unlike for each turn ({some_names(each)}), which pulls the chassis "
            "aside: gear them to roll alike."
        )
    drives = f"also drives {some_names([n for i, n in names.items() if i != wheel])}"
    if wheel not in names:
        drives = f"drives {some_names(list(names.values()))}"
    return (
        f"{led} {drives}, and no one speed suits them all, which pulls the chassis aside: "
        "give each a drive motor of its own."
    )


def _others(design: Design, cause: Cause, part: OtherWheels, unit: LengthUnit) -> str:
    if len(cause.parts) > 1:
        named = f" ({some_names([design.wheels[n].name for n in part.wheels])})" if part.wheels else ""
        return f"Other wheels{named} pull the chassis too."
    who = _who_pulls(design, part, unit)
    if not part.suits:
        return f"Other wheels pull the chassis about another centre.{who}"
    if part.motor is None:
        return f"It would be right about the centre asked for: other wheels pull the chassis aside.{who}"
    own = "Its own motor" if part.alone else f"Its motor, {design.steer_motors[part.motor].name},"
    return f"{own} turns it right: other wheels pull the chassis about another centre.{who}"


def _who_pulls(design: Design, part: OtherWheels, unit: LengthUnit) -> str:
    """The wheel or motor that pulls others aside, with its remedy; all that pull where no one does alone."""
    if part.source is None:
        names = some_names([design.wheels[n].name for n in part.wheels])
        return f" Those that pull: {names}." if names else ""
    (fault,) = part.source.parts
    if isinstance(fault, SharedAngle):
        together = _names(design, sorted((part.source.wheel, *fault.wheels)))
        return (
            f" The motor at fault is {design.steer_motors[fault.motor].name}: it turns {together}, "
            "and no one angle suits them all: share or gear them otherwise."
        )
    words = _lower(_sentence(design, part.source, fault, unit))
    if isinstance(fault, AxlesApart):
        return f" At fault: {words}"
    return f" The wheel at fault is {design.wheels[part.source.wheel].name}: {words}"


def _names(design: Design, wheels: Sequence[int]) -> str:
    return ", ".join(design.wheels[n].name for n in wheels)


def _lower(sentence: str) -> str:
    return sentence[:1].lower() + sentence[1:]
