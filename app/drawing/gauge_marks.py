"""What a gauge has to mark: where each steered wheel stands at the turns that matter, and what is told there.

Angles are steer angles as built: where a motor shares, a wheel stands beside its ideal angle, and
its mark with it.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from app.controller.code_outputs import command_whole
from app.controller.export_error import ExportError
from app.controller.programme import Programme, programme_of
from app.controller.runtime import Runtime
from app.design.facts import Facts
from app.units import degrees, radians, show_number
from geometry.kinematics.motion import from_turn, radius_of_turn, turn_of_radius
from geometry.kinematics.robot import Robot
from geometry.lookup_table.error_band import nearest
from geometry.model.design import Design
from geometry.model.motors import SteerMotor
from geometry.progress import Progress, unwatched
from geometry.transmission.scale import Scale
from geometry.transmission.steer_law import SteerLaw
from geometry.turn_range.sweep import JUMPS, Landmark, LandmarkKind

MarkKind = LandmarkKind | Literal["radius", "left end", "right end", "zero"]
Side = Literal["at", "before", "after"]
"""Whether a mark stands for its turn, or for the side of it that is nearer to straight ahead, or farther."""

_SERIES = (250.0, 500.0, 1000.0, 2000.0)
_JUMP_WORDS = {"flip": "its flip", "changes end": "it changes ends", "jump": "its jump"}
_UNIT_WORDS = {"degrees": "", "counts": "", "microseconds": " µs"}
_UNIT_NAMES = {"degrees": "Degrees", "counts": "Counts", "microseconds": "Pulse in µs"}
# Of two marks, or of two wheels, that are the same [rad].
SAME = 1e-9
_MIRRORED = 1e-6
MINUS = "\u2212"


@dataclass(frozen=True)
class Mark:
    """Where a wheel stands, and why."""

    kind: MarkKind
    turn: float | None
    """Turn input at which it stands there; None for the ends of its travel."""
    side: Side
    angle: float
    """Steer angle, left positive [rad]."""
    name: str
    told: str = ""
    """What its motor is told there, with its unit; empty without a motor."""


@dataclass(frozen=True)
class MotorWords:
    """What the motor of a wheel is told, in words."""

    name: str
    unit: str
    others: tuple[str, ...]
    """Wheels that it turns besides."""
    at_angles: tuple[tuple[int, str], ...]
    """What it is told at each 5 degrees of the wheel's travel: degrees, and the number alone."""


@dataclass(frozen=True)
class WheelMarks:
    """All that is marked of one steered wheel."""

    wheel: int
    low: float
    """Right end of its travel, as its motor leaves it [rad]."""
    high: float
    """Left end of its travel [rad]."""
    marks: tuple[Mark, ...]
    """By rising angle."""
    motor: MotorWords | None


def signed(number: str) -> str:
    """A number as it is printed: with a true minus."""
    return number.replace("-", MINUS)


def show_steer(angle: float) -> str:
    """A steer angle [rad] with its sign, left positive.

    Examples
    --------
    >>> show_steer(0.5), show_steer(-0.5), show_steer(-1e-9)
    ('+28.65°', '−28.65°', '0°')
    """
    text = show_number(degrees(angle), 2)
    return text + "°" if text == "0" else f"{'' if text.startswith('-') else '+'}{signed(text)}°"


def radii_for(half_track: float) -> tuple[float, ...]:
    """Turn radii that suit the size of a chassis [mm]: 250, 500, 1000 and 2000, or these by powers of ten.

    Examples
    --------
    >>> radii_for(120.0), radii_for(20.0)
    ((250.0, 500.0, 1000.0, 2000.0), (25.0, 50.0, 100.0, 200.0))
    """
    power = math.floor(math.log10(half_track / _SERIES[0]) + 1e-12) + 1
    return tuple(radius * 10.0**power for radius in _SERIES)


class Marker:
    """Finds the marks of each wheel of one chassis.

    Parameters
    ----------
    design : Design
        The chassis.
    radii_mm : sequence of float, optional
        Turn radii to mark, both ways; those beyond the largest turn in use are left out.
    progress : callable, optional
        Told the share that is done of working out the code, as `geometry.progress` has it.
    """

    def __init__(
        self, design: Design, radii_mm: Sequence[float] | None = None, progress: Progress = unwatched
    ) -> None:
        self.design = design
        self.facts = Facts(design)
        self.notes: list[str] = []
        self._runtime = self._code_of(design, progress)
        base, reach = self.robot.base, design.largest_turn
        radii = radii_for(base.half_track) if radii_mm is None else radii_mm
        both = [sign * radius for radius in radii for sign in (1.0, -1.0)]
        turns = zip(both, turn_of_radius(both, base).tolist() if both else [], strict=True)
        self._of_all = [mark for mark in self.facts.landmarks if mark.wheel is None]
        self._radii = [(radius, turn) for radius, turn in turns if abs(turn) <= reach]

    @property
    def robot(self) -> Robot:
        """The chassis as numbers."""
        return self.facts.robot

    @property
    def how_told(self) -> str:
        """Where what the motors are told comes from, as a sentence."""
        if self._runtime is None:
            return "Marks: by the settings of the motor, since there is no code yet."
        bound = show_number(self._runtime.programme.bound_deg, 2)
        return f"Marks: what the exported code says at that turn, within {bound}\u00b0 of the mark."

    def steered(self) -> list[int]:
        """Indices of the steered wheels."""
        found: list[int] = np.flatnonzero(self.robot.wheels.steered).tolist()
        return found

    def marks_of(self, wheel: int) -> WheelMarks:
        """All marks of one steered wheel, by rising angle."""
        travel = self.robot.motor_travel
        low, high = float(travel.low[wheel]), float(travel.high[wheel])
        found = [
            Mark("right end", None, "at", low, "end of travel, right"),
            Mark("zero", None, "at", 0.0, "zero"),
            *self._at_turns(wheel),
            *(mark for m in self.facts.landmarks if m.wheel == wheel for mark in self._own(m, (low, high))),
            Mark("left end", None, "at", high, "end of travel, left"),
        ]
        k = self._motor_of(wheel)
        if k is not None:
            found = [replace(mark, told=self._told(k, wheel, mark)) for mark in found]
        found.sort(key=lambda mark: mark.angle)
        words = None if k is None else self._motor_words(k, wheel, (low, high))
        return WheelMarks(wheel, low, high, tuple(found), words)

    def _at_turns(self, wheel: int) -> list[Mark]:
        """What happens to the whole chassis, and chosen radii."""
        kinds: list[tuple[MarkKind, float, str]] = [
            (mark.kind, mark.turn, _name_of(mark)) for mark in self._of_all
        ]
        kinds += [
            ("radius", turn, f"radius {show_number(abs(radius), 1)} mm, {_way(radius)}")
            for radius, turn in self._radii
        ]
        turns = [turn for _, turn, _ in kinds]
        steer = self.robot.at(from_turn(turns, self.robot.base)).solution.steer[:, wheel].tolist()
        return [
            Mark(kind, turn, "at", angle, name)
            for (kind, turn, name), angle in zip(kinds, steer, strict=True)
        ]

    def _own(self, mark: Landmark, ends: tuple[float, float]) -> Iterable[Mark]:
        """What happens to this wheel alone."""
        radius = float(radius_of_turn(mark.turn, self.robot.base)[0])
        at = "straight ahead"
        if math.isfinite(radius):
            size = radius if mark.turn > 0 else -radius
            at = f"radius {signed(show_number(size, 1))} mm, {_way(mark.turn)}"
        if mark.kind in JUMPS:
            words = _JUMP_WORDS[mark.kind]
            yield Mark(mark.kind, mark.turn, "before", mark.before, f"before {words}, {at}")
            yield Mark(mark.kind, mark.turn, "after", mark.after, f"after {words}, {at}")
        else:
            # On the side where it is stopped it stands at the very end.
            angle = min((mark.before, mark.after), key=lambda a: min(abs(a - end) for end in ends))
            yield Mark(mark.kind, mark.turn, "at", angle, f"reaches its end, {at}")

    # What motors are told -------------------------------------------------------------------

    def _motor_of(self, wheel: int) -> int | None:
        groups = self.robot.motors.steer
        return next((k for k, group in enumerate(groups) if wheel in group.wheels.tolist()), None)

    def _code_of(self, design: Design, progress: Progress) -> Runtime | None:
        if not design.steer_motors:
            return None
        try:
            programme = programme_of(design, progress, robot=self.robot)
        except ExportError as error:
            self.notes.append(
                f"No code can be written for the controller yet: {error}. What motors are told follows "
                "from their own settings alone."
            )
            return None
        # What the code aims at; with the limiter it would still be on its way.
        return Runtime(replace(programme, parts=programme.parts - {"limiter", "hold"}))

    def _told(self, k: int, wheel: int, mark: Mark) -> str:
        if mark.turn is None or self._runtime is None:
            whole = self._at_angle(k, wheel, mark.angle)
        else:
            self._runtime.step = step_of(self._runtime.programme, mark.turn, mark.side)
            whole = self._runtime.drive(0.0, 0.0, 0.0).steer[k]
        motor = self.design.steer_motors[k]
        return number_words(motor, whole) + _UNIT_WORDS[motor.unit]

    def _at_angle(self, k: int, wheel: int, angle: float) -> int:
        """What the code tells the motor for a steer angle of the wheel [rad], in whole numbers."""
        law, scale, place = self._parts_of(k, wheel)
        shaft = np.asarray(law.shaft_of(place, np.array([angle])))
        whole = nearest(float(command_whole(self.design.steer_motors[k], scale, shaft)[0]))
        if self._runtime is not None and "clamp" in self._runtime.programme.parts:
            output = self._runtime.programme.steer[k]
            whole = max(output.low, min(output.high, whole))
        return whole

    def _parts_of(self, k: int, wheel: int) -> tuple[SteerLaw, Scale, int]:
        group = self.robot.motors.steer[k]
        return group.law, self.robot.motors.scales[k], group.wheels.tolist().index(wheel)

    def _motor_words(self, k: int, wheel: int, ends: tuple[float, float]) -> MotorWords:
        motor = self.design.steer_motors[k]
        name = self.design.wheels[wheel].name
        others = tuple(g.wheel for g in motor.wheels if g.wheel != name)
        low, high = (degrees(end) for end in ends)
        each = range(5 * math.ceil((low - 1e-9) / 5.0), 5 * math.floor((high + 1e-9) / 5.0) + 1, 5)
        told = tuple((deg, number_words(motor, self._at_angle(k, wheel, radians(deg)))) for deg in each)
        return MotorWords(motor.name, _UNIT_NAMES[motor.unit], others, told)


def step_of(programme: Programme, turn: float, side: Side) -> int:
    """The turn step at which the code answers for a mark.

    At a jump that is the last step before it, or the first one after it.
    """
    size = abs(turn) * programme.turn_one
    near = round(size) if abs(size - round(size)) < 1e-6 else size
    step = {"at": nearest(size), "before": math.ceil(near) - 1, "after": math.floor(near) + 1}[side]
    step = max(0, min(programme.last, step))
    return step if turn >= 0 else -step


def number_words(motor: SteerMotor, whole: int) -> str:
    """What the code tells a motor, as it is printed; degrees have the two decimals that the code keeps."""
    if motor.unit == "degrees":
        return signed(show_number(whole / 100.0, 2))
    return signed(str(whole))


def mirrored(one: WheelMarks, other: WheelMarks) -> bool:
    """Whether one wheel stands at each turn as the other does at the turn the other way."""

    def listed(marks: WheelMarks, sign: float) -> list[tuple[str, float, str, float]]:
        ends = {"left end": "right end", "right end": "left end"}
        return sorted(
            (
                mark.kind if sign > 0 else ends.get(mark.kind, mark.kind),
                0.0 if mark.turn is None else round(sign * mark.turn, 6) + 0.0,
                mark.side,
                sign * mark.angle,
            )
            for mark in marks.marks
        )

    mine, theirs = listed(one, 1.0), listed(other, -1.0)
    return [row[:3] for row in mine] == [row[:3] for row in theirs] and all(
        abs(a[3] - b[3]) <= _MIRRORED for a, b in zip(mine, theirs, strict=True)
    )


def _name_of(mark: Landmark) -> str:
    way = _way(mark.turn)
    match mark.kind:
        case "side stopped":
            return f"{way} side stopped"
        case "on the spot":
            return f"on the spot, {way}"
        case "largest turn":
            return f"tightest turn, {way}"
        case _:
            return "straight ahead"


def _way(turn: float) -> str:
    return "left" if turn > 0 else "right"
