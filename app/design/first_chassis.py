"""A first chassis from a few numbers: wheels in pairs, a body, travel that clears it, motors.

`FirstRequest` is what the person says, `laid_out` the wheels and the body, `first_chassis` all of it with
motors. Whatever became of it other than asked is told in sentences, and so is why a
chassis is not aligned.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Literal, Self

import numpy as np
from pydantic import Field, model_validator

from app.design.edits import snap
from app.design.motor_edits import group_steering
from app.units import MM_PER_INCH, LengthUnit, radians, show_length
from geometry.axes import Floats
from geometry.errors import Problem
from geometry.kinematics.robot import robot_of
from geometry.model.design import Corner, Design
from geometry.model.frozen import BrokenRule, Frozen, Name
from geometry.model.wheel import Wheel
from geometry.motor_sharing.advice import MOST_STEERED, advise
from geometry.plane import turned_box_touches
from geometry.progress import Progress
from geometry.turn_range.range_check import RangeCheck, at_turns
from geometry.turn_range.sweep import turns_between

Steered = Literal["front and rear", "front", "rear", "all"]
STEERED: tuple[Steered, ...] = ("front and rear", "front", "rear", "all")
End = Literal["front", "rear"]
Motors = Literal["none", "each", "share"]
MOTORS: tuple[Motors, ...] = ("none", "each", "share")

FEWEST_WHEELS, MOST_WHEELS = 3, 24
LIMITS_MM: dict[str, tuple[float, float]] = {
    "wheelbase_mm": (20, 9_000),
    "track_mm": (20, 9_000),
    "diameter_mm": (5, 2_000),
    "width_mm": (1, 1_000),
    "body_length_mm": (0, 12_000),
    "body_width_mm": (0, 12_000),
    "hole_pitch_mm": (0, 500),
}
"""Least and largest value of each length."""
_LEAST_PITCH_MM = 0.1
_LEAST_BODY_MM = 1.0
WIDEST_TRAVEL_DEG = 135
# Room between a wheel and what it must not touch; also covers what lies between whole degrees [mm].
_CLEAR_MM = 1.0
# Shares of the largest speed by which wheels may differ that share a drive motor.
_SAME_SPEED = 1e-9
_SPEED_ROWS = 41


def _length(key: str, default: float, what: str) -> float:
    low, high = LIMITS_MM[key]
    made: float = Field(default, ge=low, le=high, description=what)
    return made


class FirstRequest(Frozen):
    """What the person says of a chassis to be. Lengths in millimetres.

    The defaults are our choice: a six-wheeler that turns on the spot.
    """

    name: Name = "New chassis"
    wheels: int = Field(6, ge=FEWEST_WHEELS, le=MOST_WHEELS)
    single: End = Field("front", description="End at which the one wheel of an odd number stands")
    steered: Steered = "front and rear"
    wheelbase_mm: float = _length("wheelbase_mm", 264.0, "From the first axle to the last")
    track_mm: float = _length("track_mm", 240.0, "Between the middles of left and right wheels")
    diameter_mm: float = _length("diameter_mm", 60.0, "Rolling diameter of every wheel")
    width_mm: float = _length("width_mm", 25.0, "Tyre width of every wheel")
    body_length_mm: float = _length("body_length_mm", 360.0, "Length of the body; 0: no body")
    body_width_mm: float = _length("body_width_mm", 168.0, "Width of the body; 0: no body")
    hole_pitch_mm: float = _length("hole_pitch_mm", 12.0, "Pitch of the hole pattern; 0: none")
    middle_in_line: bool = Field(
        default=True, description="False: the pairs between the first and the last stand a tyre further out"
    )
    motors: Motors = "none"
    steer_motors: int = Field(2, ge=1, le=MOST_WHEELS, description="Where motors are shared")
    drive_motors: int = Field(2, ge=1, le=MOST_WHEELS, description="Where motors are shared")
    unit: LengthUnit = Field("mm", description="Unit in which sentences tell lengths")

    @model_validator(mode="after")
    def _check(self) -> Self:
        broken = [
            Problem(
                key,
                f"must be 0, or at least {self.told(self.rounded(least, 'up'))}",
                self.told(getattr(self, key)),
            )
            for key, least in (
                ("hole_pitch_mm", _LEAST_PITCH_MM),
                ("body_length_mm", _LEAST_BODY_MM),
                ("body_width_mm", _LEAST_BODY_MM),
            )
            if 0 < getattr(self, key) < least
        ]
        broken = broken or _room_problems(self)
        if broken:
            raise BrokenRule(*broken)
        return self

    @property
    def axles(self) -> int:
        """Number of axles, of which an odd number of wheels makes one a single wheel's."""
        return (self.wheels + 1) // 2

    @property
    def pitch_mm(self) -> float | None:
        """Pitch of the hole pattern [mm]; None without one."""
        return self.hole_pitch_mm or None

    @property
    def swept_mm(self) -> float:
        """Radius of the circle that a wheel sweeps about its kingpin [mm]."""
        return 0.5 * math.hypot(self.diameter_mm, self.width_mm)

    def told(self, mm: float) -> str:
        """A length as sentences tell it."""
        return show_length(mm, self.unit)

    def rounded(self, mm: float, way: Literal["up", "down"]) -> float:
        """A length that a sentence names as enough, or as not too much, in few digits [mm]."""
        step = 0.001 * MM_PER_INCH if self.unit == "inch" else 1.0 if mm >= 10 else 0.1
        share = round(mm / step, 9)
        return (math.ceil(share) if way == "up" else math.floor(share)) * step


@dataclass(frozen=True)
class FirstChassis:
    """A chassis made from a request, and what must be said about it."""

    design: Design
    told: tuple[str, ...] = ()
    """What became other than asked, a sentence each."""
    reason: str = ""
    """Why it is not aligned, or does not turn as asked, over its whole range; empty where it is."""


_INCH = MM_PER_INCH
_USUAL_INCHES_MM = {
    "wheelbase_mm": 11 * _INCH,
    "track_mm": 10 * _INCH,
    "diameter_mm": 2.5 * _INCH,
    "width_mm": 1 * _INCH,
    "body_length_mm": 15 * _INCH,
    "body_width_mm": 7 * _INCH,
    "hole_pitch_mm": 0.5 * _INCH,
}
"""The same usual chassis in round inches."""


def _usual(axles: int, unit: LengthUnit) -> dict[str, float]:
    """What each length is before any is given; more than three axles make it longer [mm]."""
    inches = unit == "inch"
    usual = {key: float(FirstRequest.model_fields[key].default) for key in LIMITS_MM}
    usual = dict(_USUAL_INCHES_MM) if inches else usual
    if axles > 3:
        longer = (4 * _INCH if inches else 96.0) * (axles - 1) - usual["wheelbase_mm"]
        usual["wheelbase_mm"] += longer
        usual["body_length_mm"] += longer
    return usual


def proportions(wheels: int, edited: Mapping[str, float], unit: LengthUnit = "mm") -> dict[str, float]:
    """Every length of a request, of which the person has given some [mm].

    The others keep the ratio of the defaults to the first of those given; wheels then stand on
    the hole pattern, the body is rounded to its pitch, tyres to whole millimetres or eighths of
    an inch. More than three axles make the default wheelbase longer.

    Examples
    --------
    >>> proportions(6, {"wheelbase_mm": 528.0})["track_mm"]
    480.0
    """
    usual = _usual((wheels + 1) // 2, unit)
    pitch = edited.get("hole_pitch_mm", usual["hole_pitch_mm"])
    leader = next((k for k in LIMITS_MM if edited.get(k) and k != "hole_pitch_mm"), None)
    scale = edited[leader] / usual[leader] if leader else 1.0
    fine, whole = (_INCH / 8, _INCH / 4) if unit == "inch" else (1.0, 1.0)
    # Wheels stand at half of it to either side.
    steps = {"diameter_mm": fine, "width_mm": fine, "wheelbase_mm": 2 * pitch, "track_mm": 2 * pitch}
    lengths = {"hole_pitch_mm": pitch}
    for key, (low, high) in LIMITS_MM.items():
        if key != "hole_pitch_mm":
            step = steps.get(key, pitch) or whole
            follows = usual[key] * scale
            nearest = snap(follows, step) or (step if key in ("wheelbase_mm", "track_mm") else follows)
            lengths[key] = edited.get(key, min(max(nearest, low), high))
    return lengths


# Where the wheels stand ---------------------------------------------------------------------


def _axle_places(request: FirstRequest) -> list[float]:
    """Places of the axles from front to rear, on the hole pattern [mm]."""
    gap = request.wheelbase_mm / (request.axles - 1)
    middle = 0.5 * (request.axles - 1)
    return [snap((middle - i) * gap, request.pitch_mm) for i in range(request.axles)]


def _room_problems(request: FirstRequest) -> list[Problem]:
    """What is too narrow for the wheels, or the body too wide, with wheels straight ahead."""
    told, pitch = request.told, request.hole_pitch_mm
    places = _axle_places(request)
    gap = min(a - b for a, b in itertools.pairwise(places))
    # So near that it cannot be steered by one degree without a touch.
    least = 2 * _reach_along(request, 1) + _CLEAR_MM
    broken = []
    if gap < least:
        broken.append(
            Problem("wheelbase_mm", _wheelbase_rule(request, gap, least), told(request.wheelbase_mm))
        )
    half_track = snap(0.5 * request.track_mm, request.pitch_mm)
    across = 2 * _reach_across(request, 1) + _CLEAR_MM
    if 2 * half_track < across:
        enough = told(request.rounded(across + pitch, "up"))
        wheels = f"wheels that are {told(request.width_mm)} wide{_on_holes(request)}"
        rule = f"must leave room between {wheels}: {enough} is enough"
        broken.append(Problem("track_mm", rule, told(request.track_mm)))
    return broken or _body_problems(request, _wheels(request))


def _wheelbase_rule(request: FirstRequest, gap: float, least: float) -> str:
    """What would give the axles room: a longer wheelbase, smaller wheels, or neither alone.

    Parameters
    ----------
    gap, least
        The least distance between axles, and what there should be [mm].
    """
    told, axles = request.told, request.axles
    enough = request.rounded((axles - 1) * (least + request.hole_pitch_mm), "up")
    # A wheel reaches no further than half its diameter and, turned by a degree, half its width.
    small = request.rounded(gap - _CLEAR_MM - request.width_mm * math.sin(radians(1)), "down")
    remedies = [f"{told(enough)} is enough"] if enough <= LIMITS_MM["wheelbase_mm"][1] else []
    if small >= LIMITS_MM["diameter_mm"][0]:
        remedies.append(f"wheels of {told(small)} are small enough")
    remedy = ", and ".join(remedies) or "take fewer or smaller wheels, and a longer wheelbase"
    wheels = f"wheels of {told(request.diameter_mm)}{_on_holes(request)}"
    return f"must leave room between {axles} axles with {wheels}: {remedy}"


def _on_holes(request: FirstRequest) -> str:
    return f" on a hole pattern of {request.told(request.hole_pitch_mm)}" if request.hole_pitch_mm else ""


def _body_problems(request: FirstRequest, wheels: list[Wheel]) -> list[Problem]:
    body = _body_box(request)
    if body is None:
        return []
    # By one degree a steered wheel must turn, so that it is one.
    touching = [w for w in wheels if w.y_mm and _first_touch(request, w, body) <= (w.kind == "steered")]
    if not touching:
        return []
    inner = min(abs(w.y_mm) for w in touching) - _reach_across(request, 1) - 2 * _CLEAR_MM
    fits = request.rounded(2 * inner, "down")
    remedy = f"at most {request.told(fits)}, or 0" if fits >= _LEAST_BODY_MM else "only 0"
    rule = f"must leave room for the wheels beside the body: {remedy} for no body"
    return [Problem("body_width_mm", rule, request.told(request.body_width_mm))]


def _steered_axles(request: FirstRequest) -> tuple[set[int], str]:
    """Which axles steer, and a sentence where these are more than was asked for.

    All wheels aim at one turn centre only if at most one axle is fixed: two parallel axle
    lines never meet (Ackermann's condition, common practice).
    """
    last = request.axles - 1
    every = set(range(request.axles))
    if request.steered == "all":
        return every, ""
    asked = {"front and rear": {0, last}, "front": {0}, "rear": {last}}[request.steered]
    fixed = {"front and rear": last // 2, "front": last, "rear": 0}[request.steered]
    keeps = request.steered != "front and rear" or (last % 2 == 0 and last > 0)
    steered = every - {fixed} if keeps else every
    more = len(steered - asked)
    if not more:
        return steered, ""
    why = "two axles that do not steer have no turn centre in common"
    if not keeps:
        why += ", and a single one could not stand half-way between the first and the last"
    return steered, f"{more} more {'axle steers' if more == 1 else 'axles steer'} than asked for: {why}."


def _wheels(request: FirstRequest) -> list[Wheel]:
    """All wheels in pairs from front to rear, left before right, with the widest travel."""
    pitch, last = request.pitch_mm, request.axles - 1
    steered, _ = _steered_axles(request)
    half_track = snap(0.5 * request.track_mm, pitch)
    further = request.width_mm if pitch is None else math.ceil(request.width_mm / pitch) * pitch
    alone = None if request.wheels % 2 == 0 else 0 if request.single == "front" else last
    made = []
    for i, x in enumerate(_axle_places(request)):
        inner = 0 < i < last
        axle = "front" if i == 0 else "rear" if i == last else "middle" if last == 2 else f"middle {i}"
        y = snap(half_track + (further if inner and not request.middle_in_line else 0.0), pitch)
        sides = {axle: 0.0} if i == alone else {f"{axle} left": y, f"{axle} right": 0.0 - y}
        travel = float(WIDEST_TRAVEL_DEG) if i in steered else 180.0
        made += [
            Wheel(
                name=name,
                x_mm=x,
                y_mm=side,
                kind="steered" if i in steered else "fixed",
                diameter_mm=request.diameter_mm,
                width_mm=request.width_mm,
                travel_min_deg=-travel,
                travel_max_deg=travel,
                driven=True,
            )
            for name, side in sides.items()
        ]
    return made


@dataclass(frozen=True)
class _Box:
    """An upright rectangle [mm]."""

    x: float
    half: tuple[float, float]


def _body_box(request: FirstRequest) -> _Box | None:
    """The body, which ends before a single wheel on the centre line; None without one."""
    low, high = -0.5 * request.body_length_mm, 0.5 * request.body_length_mm
    if request.wheels % 2:
        room = request.swept_mm + 2 * _CLEAR_MM
        places = _axle_places(request)
        if request.single == "front":
            high = min(high, places[0] - room)
        else:
            low = max(low, places[-1] + room)
    if high - low < _LEAST_BODY_MM or request.body_width_mm == 0:
        return None
    return _Box(0.5 * (low + high), (0.5 * (high - low), 0.5 * request.body_width_mm))


# How far they turn --------------------------------------------------------------------------


def _turns(most: int) -> Floats:
    """Every whole degree up to that [rad]."""
    return np.array([radians(d) for d in range(most + 1)])


def _reach_along(request: FirstRequest, travel: int) -> float:
    """How far forward of its kingpin a wheel gets, turned by up to so many degrees [mm]."""
    turned = _turns(travel)
    return float(0.5 * (request.diameter_mm * np.cos(turned) + request.width_mm * np.sin(turned)).max())


def _reach_across(request: FirstRequest, travel: int) -> float:
    turned = _turns(travel)
    return float(0.5 * (request.diameter_mm * np.sin(turned) + request.width_mm * np.cos(turned)).max())


def _grown_half(request: FirstRequest) -> tuple[float, float]:
    return 0.5 * request.diameter_mm + _CLEAR_MM, 0.5 * request.width_mm + _CLEAR_MM


def _first_touch(request: FirstRequest, wheel: Wheel, box: _Box, y: float = 0.0) -> int:
    """The least whole degrees, either way, at which a wheel touches a rectangle; beyond the travel: never."""
    offset = (box.x - wheel.x_mm, y - wheel.y_mm)
    half, turned = _grown_half(request), _turns(WIDEST_TRAVEL_DEG)
    touches = turned_box_touches(offset, half, turned, box.half)
    touches |= turned_box_touches(offset, half, -turned, box.half)
    return int(touches.argmax()) if touches.any() else WIDEST_TRAVEL_DEG + 1


def _travel_between(request: FirstRequest, offset: tuple[float, float]) -> int:
    """How far two steered wheels may both turn, in whole degrees, whatever each of them does."""
    turned = _turns(WIDEST_TRAVEL_DEG)
    along = np.maximum.accumulate(
        0.5 * (request.diameter_mm * np.abs(np.cos(turned)) + request.width_mm * np.sin(turned))
    )
    across = np.maximum.accumulate(
        0.5 * (request.diameter_mm * np.sin(turned) + request.width_mm * np.abs(np.cos(turned)))
    )
    room = np.stack([along, across], axis=-1)[:, None, :]  # what the other may cover, by its travel
    half = _grown_half(request)
    touches = turned_box_touches(offset, half, turned, room) | turned_box_touches(offset, half, -turned, room)
    bad = np.tril(touches).any(axis=1)  # turned by no more than the travel
    return int(bad.argmax()) - 1 if bad.any() else WIDEST_TRAVEL_DEG


def _travels(request: FirstRequest, wheel: Wheel, wheels: list[Wheel], body: _Box | None) -> dict[str, int]:
    """The widest travel of a steered wheel [deg] by what it might touch: body, another axle, other side."""
    far = 2 * request.swept_mm + 2 * _CLEAR_MM
    upright = (0.5 * request.diameter_mm, 0.5 * request.width_mm)
    found = dict.fromkeys(("body", "axle", "side"), WIDEST_TRAVEL_DEG)
    if body is not None:
        found["body"] = _first_touch(request, wheel, body) - 1
    for other in wheels:
        offset = (other.x_mm - wheel.x_mm, other.y_mm - wheel.y_mm)
        if other is wheel or math.hypot(*offset) > far:
            continue
        if other.kind == "steered":
            travel = _travel_between(request, offset)
        else:
            travel = _first_touch(request, wheel, _Box(other.x_mm, upright), other.y_mm) - 1
        what = "axle" if offset[0] else "side"
        found[what] = min(found[what], travel)
    return found


def _with_travel(
    request: FirstRequest, wheels: list[Wheel], body: _Box | None
) -> tuple[list[Wheel], dict[str, int]]:
    """Give each steered wheel the widest travel at which it touches neither body nor wheels.

    Also told is the least travel of all that each of body, other axles and other side leaves.
    """
    made, least = [], dict.fromkeys(("body", "axle", "side"), WIDEST_TRAVEL_DEG)
    for wheel in wheels:
        if wheel.kind != "steered":
            made.append(wheel)
            continue
        found = _travels(request, wheel, wheels, body)
        least = {what: min(travel, found[what]) for what, travel in least.items()}
        end = float(max(min(found.values()), 1))
        made.append(wheel.edited(travel_min_deg=-end, travel_max_deg=end))
    return made, least


# The chassis --------------------------------------------------------------------------------


def laid_out(request: FirstRequest) -> FirstChassis:
    """Wheels and body without motors, and the largest turn at which all axles meet.

    Quick enough for a picture that follows the typing.
    """
    body = _body_box(request)
    wheels, travel = _with_travel(request, _wheels(request), body)
    _, more = _steered_axles(request)
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


def _corners(body: _Box | None) -> tuple[Corner, ...]:
    if body is None:
        return ()
    x, y = body.half
    return tuple((body.x + a * x, b * y) for a, b in ((1, 1), (1, -1), (-1, -1), (-1, 1)))


def _other_lengths(request: FirstRequest, body: _Box | None) -> list[str]:
    places, told = _axle_places(request), request.told
    got = {
        "wheelbase": (request.wheelbase_mm, places[0] - places[-1]),
        "track": (request.track_mm, 2 * snap(0.5 * request.track_mm, request.pitch_mm)),
    }
    found = [
        f"The {what} is {told(made)} instead of {told(asked)}, to stand on the hole pattern."
        for what, (asked, made) in got.items()
        if told(asked) != told(made)
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
    apart = 2 * request.swept_mm + 3 * _CLEAR_MM  # a tyre grown all round reaches further at its corners
    if what == "body":
        beside = min(abs(wheel.y_mm) for wheel in wheels if wheel.kind == "steered" and wheel.y_mm)
        fits = request.rounded(2 * beside - apart, "down")
        return f"a body at most {request.told(fits)} wide" if fits >= _LEAST_BODY_MM else ""
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
    if request.motors == "share" and not found.design.steer_motors:
        return (
            f"Aligned {range_} with a motor for each wheel; the best sharing is searched for as it is made."
        )
    return f"Opens aligned {range_}."


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
