"""What a person says of a chassis to be, where its wheels then stand, and how far they turn.

Wheels that have no room are refused, by the number that is too small and with one that is enough.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal, Self

import numpy as np
from pydantic import Field, model_validator

from app.design.edits import snap
from app.units import MM_PER_INCH, LengthUnit, radians, show_length
from geometry.axes import Floats
from geometry.errors import Problem
from geometry.model.frozen import BrokenRule, Frozen, Name
from geometry.model.wheel import Wheel
from geometry.plane import turned_box_touches

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
LEAST_BODY_MM = 1.0
WIDEST_TRAVEL_DEG = 135
# Room between a wheel and what it must not touch; also covers what lies between whole degrees [mm].
CLEAR_MM = 1.0


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
                ("body_length_mm", LEAST_BODY_MM),
                ("body_width_mm", LEAST_BODY_MM),
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

    What is given stays. The others keep the ratio of the defaults to the first of those given; wheels
    then stand on the hole pattern, the body is rounded to its pitch, tyres to whole millimetres or eighths of
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
    if "width_mm" not in edited:
        # No wheel is proposed wider than it is high, whatever length the proposal follows.
        fits = usual["width_mm"] / usual["diameter_mm"] * lengths["diameter_mm"]
        thin = math.floor(fits / fine) * fine or fits
        lengths["width_mm"] = max(min(lengths["width_mm"], thin), LIMITS_MM["width_mm"][0])
    _leave_travel(lengths, edited, whole)
    return lengths


def _leave_travel(lengths: dict[str, float], edited: Mapping[str, float], whole: float) -> None:
    """Let rounding take no travel: a body that nobody gave is narrow enough, else a track wide enough."""
    pitch = lengths["hole_pitch_mm"]
    step = pitch or whole
    room = math.hypot(lengths["diameter_mm"], lengths["width_mm"]) + 3 * CLEAR_MM
    if "body_width_mm" not in edited:
        fits = math.floor((lengths["track_mm"] - room) / step) * step
        if fits >= LEAST_BODY_MM:
            lengths["body_width_mm"] = min(lengths["body_width_mm"], fits)
    elif "track_mm" not in edited and edited["body_width_mm"]:
        wide = math.ceil((edited["body_width_mm"] + room) / (2 * step)) * 2 * step
        lengths["track_mm"] = min(max(lengths["track_mm"], wide), LIMITS_MM["track_mm"][1])


# Where the wheels stand ---------------------------------------------------------------------


def axle_places(request: FirstRequest) -> list[float]:
    """Places of the axles from front to rear [mm]: the ends as asked, the others on the hole pattern."""
    last = request.axles - 1
    half, gap = 0.5 * request.wheelbase_mm, request.wheelbase_mm / last
    inner = [snap((0.5 * last - i) * gap, request.pitch_mm) for i in range(1, last)]
    return [half, *inner, -half]


def _room_problems(request: FirstRequest) -> list[Problem]:
    """What is too narrow for the wheels, or the body too wide, with wheels straight ahead."""
    told = request.told
    places = axle_places(request)
    gap = min(a - b for a, b in itertools.pairwise(places))
    # So near that it cannot be steered by one degree without a touch.
    least = 2 * _reach_along(request, 1) + CLEAR_MM
    broken = []
    if gap < least:
        broken.append(
            Problem("wheelbase_mm", _wheelbase_rule(request, gap, least), told(request.wheelbase_mm))
        )
    across = 2 * _reach_across(request, 1) + CLEAR_MM
    if request.track_mm < across:
        enough = told(request.rounded(across, "up"))
        wheels = f"wheels that are {told(request.width_mm)} wide"
        rule = f"must leave room between {wheels}: {enough} is enough"
        broken.append(Problem("track_mm", rule, told(request.track_mm)))
    return broken or _body_problems(request, wheels_of(request))


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
    small = request.rounded(gap - CLEAR_MM - request.width_mm * math.sin(radians(1)), "down")
    remedies = [f"{told(enough)} is enough"] if enough <= LIMITS_MM["wheelbase_mm"][1] else []
    if small >= LIMITS_MM["diameter_mm"][0]:
        remedies.append(f"wheels of {told(small)} are small enough")
    remedy = ", and ".join(remedies) or "take fewer or smaller wheels, and a longer wheelbase"
    wheels = f"wheels of {told(request.diameter_mm)}{_on_holes(request)}"
    return f"must leave room between {axles} axles with {wheels}: {remedy}"


def _on_holes(request: FirstRequest) -> str:
    return f" on a hole pattern of {request.told(request.hole_pitch_mm)}" if request.hole_pitch_mm else ""


def _body_problems(request: FirstRequest, wheels: list[Wheel]) -> list[Problem]:
    body = body_box(request)
    if body is None:
        return []
    # By one degree a steered wheel must turn, so that it is one.
    touching = [w for w in wheels if w.y_mm and _first_touch(request, w, body) <= (w.kind == "steered")]
    if not touching:
        return []
    inner = min(abs(w.y_mm) for w in touching) - _reach_across(request, 1) - 2 * CLEAR_MM
    fits = request.rounded(2 * inner, "down")
    remedy = f"at most {request.told(fits)}, or 0" if fits >= LEAST_BODY_MM else "only 0"
    rule = f"must leave room for the wheels beside the body: {remedy} for no body"
    return [Problem("body_width_mm", rule, request.told(request.body_width_mm))]


def steered_axles(request: FirstRequest) -> tuple[set[int], str]:
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


def wheels_of(request: FirstRequest) -> list[Wheel]:
    """All wheels in pairs from front to rear, left before right, with the widest travel."""
    pitch, last = request.pitch_mm, request.axles - 1
    steered, _ = steered_axles(request)
    half_track = 0.5 * request.track_mm
    further = request.width_mm if pitch is None else math.ceil(request.width_mm / pitch) * pitch
    alone = None if request.wheels % 2 == 0 else 0 if request.single == "front" else last
    made = []
    for i, x in enumerate(axle_places(request)):
        inner = 0 < i < last
        axle = "front" if i == 0 else "rear" if i == last else "middle" if last == 2 else f"middle {i}"
        y = half_track + (further if inner and not request.middle_in_line else 0.0)
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
class Box:
    """An upright rectangle [mm]."""

    x: float
    half: tuple[float, float]


def body_box(request: FirstRequest) -> Box | None:
    """The body, which ends before a single wheel on the centre line; None without one."""
    low, high = -0.5 * request.body_length_mm, 0.5 * request.body_length_mm
    if request.wheels % 2:
        room = request.swept_mm + 2 * CLEAR_MM
        places = axle_places(request)
        if request.single == "front":
            high = min(high, places[0] - room)
        else:
            low = max(low, places[-1] + room)
    if high - low < LEAST_BODY_MM or request.body_width_mm == 0:
        return None
    return Box(0.5 * (low + high), (0.5 * (high - low), 0.5 * request.body_width_mm))


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
    return 0.5 * request.diameter_mm + CLEAR_MM, 0.5 * request.width_mm + CLEAR_MM


def _first_touch(request: FirstRequest, wheel: Wheel, box: Box, y: float = 0.0) -> int:
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


def _travels(request: FirstRequest, wheel: Wheel, wheels: list[Wheel], body: Box | None) -> dict[str, int]:
    """The widest travel of a steered wheel [deg] by what it might touch: body, another axle, other side."""
    far = 2 * request.swept_mm + 2 * CLEAR_MM
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
            travel = _first_touch(request, wheel, Box(other.x_mm, upright), other.y_mm) - 1
        what = "axle" if offset[0] else "side"
        found[what] = min(found[what], travel)
    return found


def with_travel(
    request: FirstRequest, wheels: list[Wheel], body: Box | None
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
