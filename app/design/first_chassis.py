"""A first chassis from a few numbers: wheels in pairs, a body, travel that clears it, motors.

`laid_out` gives the wheels and the body of a `FirstRequest`, `first_chassis` all of it with motors.
Whatever became of it other than asked is told in sentences, and so is why a chassis is not aligned.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from app.design.edits import snap
from app.design.first_request import (
    CLEAR_MM,
    LEAST_BODY_MM,
    LIMITS_MM,
    WIDEST_TRAVEL_DEG,
    Box,
    FirstRequest,
    body_box,
    steered_axles,
    wheels_of,
    with_travel,
)
from app.design.motor_edits import group_steering
from geometry.kinematics.robot import robot_of
from geometry.model.design import Corner, Design
from geometry.model.wheel import Wheel
from geometry.motor_sharing.advice import MOST_STEERED, advise
from geometry.progress import Progress
from geometry.turn_range.range_check import RangeCheck, at_turns
from geometry.turn_range.sweep import turns_between

# Shares of the largest speed by which wheels may differ that share a drive motor.
_SAME_SPEED = 1e-9
_SPEED_ROWS = 41
# A wheel that near to a hole stands on it [mm].
_ON_HOLE_MM = 1e-6


@dataclass(frozen=True)
class FirstChassis:
    """A chassis made from a request, and what must be said about it."""

    design: Design
    told: tuple[str, ...] = ()
    """What became other than asked, a sentence each."""
    reason: str = ""
    """Why it is not aligned, or does not turn as asked, over its whole range; empty where it is."""


def laid_out(request: FirstRequest) -> FirstChassis:
    """Wheels and body without motors, and the largest turn at which all axles meet.

    Quick enough for a picture that follows the typing.
    """
    body = body_box(request)
    wheels, travel = with_travel(request, wheels_of(request), body)
    _, more = steered_axles(request)
    design = Design(
        name=request.name,
        wheels=tuple(wheels),
        body_mm=_corners(body),
        hole_pitch_mm=request.pitch_mm,
        base_axle_x_mm=0.0 if all(wheel.kind == "steered" for wheel in wheels) else None,
    )
    told = [more, *_other_lengths(request, body), *_short_travel(request, wheels, travel)]
    check = RangeCheck(robot_of(design), 1.0)
    reason = ""
    if not check.aligned:
        design = _gentler(design, check)
        check = RangeCheck(robot_of(design), design.largest_turn)
        where = "beyond it" if check.aligned else "even there"
        told.append(
            f"The largest turn in use is {design.largest_turn:g}: {where} the travel of the wheels "
            "is too short for every axle to point at the turn centre."
        )
        reason = _reason(design, check)
    return FirstChassis(design, tuple(filter(None, told)), reason)


def _corners(body: Box | None) -> tuple[Corner, ...]:
    if body is None:
        return ()
    x, y = body.half
    return tuple((body.x + a * x, b * y) for a, b in ((1, 1), (1, -1), (-1, -1), (-1, 1)))


def _other_lengths(request: FirstRequest, body: Box | None) -> list[str]:
    told, pitch = request.told, request.hole_pitch_mm
    found = [
        f"The {what} of {told(asked)} stays as it was given: its wheels stand between holes of a pattern of "
        f"{told(pitch)}."
        for what, asked in (("wheelbase", request.wheelbase_mm), ("track", request.track_mm))
        if abs(0.5 * asked - snap(0.5 * asked, request.pitch_mm)) > _ON_HOLE_MM
    ]
    if request.body_length_mm and request.body_width_mm:
        length = 2 * body.half[0] if body else 0.0
        if body is None:
            found.append("There is no body: the single wheel leaves no room for it.")
        elif told(length) != told(request.body_length_mm):
            found.append(
                f"The body is {told(length)} long instead of {told(request.body_length_mm)}: "
                "it ends where the single wheel turns."
            )
    return found


_TOUCHED = {"body": "the body", "axle": "a wheel of another axle", "side": "the wheel across"}


def _short_travel(request: FirstRequest, wheels: list[Wheel], travel: dict[str, int]) -> list[str]:
    """That the travel is short, what the wheels would touch, and what gives them their whole travel."""
    short = min((w.travel_max_deg for w in wheels if w.kind == "steered"), default=WIDEST_TRAVEL_DEG)
    near = [what for what, least in travel.items() if least < WIDEST_TRAVEL_DEG]
    if not near:
        return []
    touched = " or ".join(_TOUCHED[what] for what in near)
    remedies = [text for what in near if (text := _room_for_travel(request, what, wheels))]
    remedy = f" {WIDEST_TRAVEL_DEG}° takes {' and '.join(remedies)}." if len(remedies) == len(near) else ""
    return [f"Travel is down to {short:g}° each way, so that no wheel touches {touched}.{remedy}"]


def _room_for_travel(request: FirstRequest, what: str, wheels: list[Wheel]) -> str:
    """The length at which wheels can turn about freely; nothing where it is out of range."""
    apart = 2 * request.swept_mm + 3 * CLEAR_MM  # a tyre grown all round reaches further at its corners
    if what == "body":
        beside = min(abs(wheel.y_mm) for wheel in wheels if wheel.kind == "steered" and wheel.y_mm)
        fits = request.rounded(2 * beside - apart, "down")
        return f"a body at most {request.told(fits)} wide" if fits >= LEAST_BODY_MM else ""
    gaps = request.axles - 1 if what == "axle" else 1
    enough = request.rounded(gaps * (apart + request.hole_pitch_mm), "up")
    name = "wheelbase" if what == "axle" else "track"
    return f"a {name} of {request.told(enough)}" if enough <= LIMITS_MM[f"{name}_mm"][1] else ""


def _gentler(design: Design, check: RangeCheck) -> Design:
    """Stop short of the first turn at which a wheel drags, in steps of 0.01."""
    faults = [check.first_fault(wheel) for wheel in check.faulty]
    first = min((abs(turn) for turn in faults if turn is not None), default=1.0)
    largest = max(round(math.floor(100 * first) / 100, 2), 0.01)
    while largest > 0.01 and not RangeCheck(robot_of(design), largest).aligned:
        largest = round(largest - 0.01, 2)
    return design.edited(largest_turn=largest)


def _reason(design: Design, check: RangeCheck) -> str:
    """Why a chassis is not aligned or does not turn as asked; empty where all is well."""
    if _all_well(check):
        return ""
    because = _because(design)
    worst = check.worst
    if worst is not None:
        drag = float(f"{worst.drag:.3g}")
        return (
            f"It is not aligned: {design.wheels[worst.wheel].name} drags up to {drag:g} mm per metre "
            f"at turn input {worst.turn:.3g}, {because}."
        )
    turn = check.dense.turns[check.off_course or 0]
    return f"Every axle is aligned, but at turn input {turn:.3g} it does not turn as asked, {because}."


def _all_well(check: RangeCheck) -> bool:
    return check.aligned and check.off_course is None


def _because(design: Design) -> str:
    """What a chassis would be aligned without: motors and short travel are taken away in turn."""
    travel = "because its travel is so short"
    if not (design.steer_motors or design.drive_motors):
        return travel
    bare = design.edited(steer_motors=(), drive_motors=())
    if _all_well(RangeCheck(robot_of(bare), design.largest_turn)):
        return "with these motors; one for each wheel would do"
    wheels = tuple(
        wheel.edited(travel_min_deg=-180.0, travel_max_deg=180.0) if wheel.kind == "steered" else wheel
        for wheel in design.wheels
    )
    free = robot_of(design.edited(wheels=wheels))
    return travel if _all_well(RangeCheck(free, design.largest_turn)) else f"{travel}, and with these motors"


def first_chassis(request: FirstRequest, progress: Progress | None = None) -> FirstChassis:
    """Make the whole chassis, with its motors.

    Parameters
    ----------
    request : FirstRequest
        What is asked for.
    progress : callable, optional
        Told the share of the search for the best sharing that is done; returns False to cancel.

    Raises
    ------
    Cancelled
        If `progress` returned False.
    """
    found = laid_out(request)
    if request.motors == "none":
        return _with_notes(found)
    design, told = found.design, list(found.told)
    steered = [wheel.name for wheel in design.wheels if wheel.kind == "steered"]
    own = [[(name, 1.0)] for name in steered]
    drive = [[wheel.name] for wheel in design.wheels]
    if request.motors == "share":
        if len(steered) > MOST_STEERED:
            told.append(
                f"Each steered wheel has its own motor: sharing is worked out for up to {MOST_STEERED} "
                f"steered wheels, and there are {len(steered)}."
            )
        elif request.steer_motors < len(steered):
            best = advise(robot_of(design), request.steer_motors, design.largest_turn, progress)[0]
            own = [[(design.wheels[i].name, ratio) for i, ratio in group] for group in best.groups]
        drive = _drive_groups(design, request.drive_motors)
        told += _other_motors(request, len(own), len(drive))
    driven = {name for group in drive for name in group}
    free = [wheel.name for wheel in design.wheels if wheel.name not in driven]
    if free:
        told.append(f"Rolling free, since no motor has their speed: {', '.join(free)}.")
    design = group_steering(design, own).edited(
        wheels=tuple(wheel.edited(driven=wheel.name in driven) for wheel in design.wheels)
    )
    design = design.edited(
        drive_motors=tuple(
            {"name": f"drive motor {i}", "wheels": tuple({"wheel": n, "ratio": 1.0} for n in group)}
            for i, group in enumerate(drive, start=1)
        )
    )
    reason = _reason(design, RangeCheck(robot_of(design), design.largest_turn))
    return _with_notes(FirstChassis(design, tuple(told), reason))


def _other_motors(request: FirstRequest, steer: int, drive: int) -> list[str]:
    """A sentence each where there are fewer motors than asked for: no motor is without a wheel."""
    told = []
    for what, asked, made in (("steer", request.steer_motors, steer), ("drive", request.drive_motors, drive)):
        if made < asked:
            number = "1 motor is" if made == 1 else f"{made} motors are"
            told.append(f"{number} enough to {what}, instead of {asked}.")
    return told


def headline(found: FirstChassis, request: FirstRequest) -> str:
    """What becomes of a chassis over its turns in use, in one sentence.

    Parameters
    ----------
    found : FirstChassis
        With its motors; where they are shared, before the search for the sharing.
    """
    if found.reason:
        return found.reason
    largest = found.design.largest_turn
    range_ = "at every turn and turns on the spot" if largest == 1 else f"at every turn up to {largest:g}"
    if unsearched(found, request):
        return "Whether it is aligned is not known yet: the best sharing is searched for as it is made."
    return f"Opens aligned {range_}."


def unsearched(found: FirstChassis, request: FirstRequest) -> bool:
    """Whether motors are to be shared, and how is not searched for yet: then nothing can be promised."""
    return request.motors == "share" and not found.design.steer_motors


def _with_notes(found: FirstChassis) -> FirstChassis:
    notes = " ".join(filter(None, (*found.told, found.reason)))
    return replace(found, design=found.design.edited(notes=notes[:4_000]))


def _drive_groups(design: Design, motors: int) -> list[list[str]]:
    """Wheels for each drive motor: those that roll equally fast at every turn share one exactly.

    With fewer motors than there are speeds the largest groups are driven, mirrored ones together, and the
    rest rolls free; with more, groups are parted.
    """
    turns = turns_between(-design.largest_turn, design.largest_turn, _SPEED_ROWS)
    # The speed of the contact, whichever way the wheel points.
    speed = np.abs(at_turns(robot_of(design), turns).response.solution.roll)
    groups: list[list[int]] = []
    for i in range(len(design.wheels)):
        for group in groups:
            if np.abs(speed[:, i] - speed[:, group[0]]).max() <= _SAME_SPEED:
                group.append(i)
                break
        else:
            groups.append([i])
    groups.sort(key=lambda group: (-len(group), group))
    groups = groups[:motors]
    while len(groups) < motors and any(len(group) > 1 for group in groups):
        largest = max(groups, key=len)
        half = len(largest) // 2
        groups.append(largest[half:])
        del largest[half:]
    return [[design.wheels[i].name for i in group] for group in sorted(groups)]
