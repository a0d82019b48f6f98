"""The scale of a gauge: where things lie about the kingpin, the wheel on it, its ticks and its numbers."""

from __future__ import annotations

import math
from dataclasses import dataclass

from app.drawing.elements import Arc, Circle, Corner, Element, Line, Outline, Point, Role, Text
from app.drawing.gauge_marks import MINUS, SAME, WheelMarks
from app.drawing.lettering import text_width
from app.units import degrees, radians
from geometry.model.wheel import Wheel

LEAST_RIM_MM, LARGEST_RIM_MM = 60.0, 400.0
"""Radius of the scale: it grows with the wheel between these."""
BEYOND_DEG = 5
"""How far the scale goes on beyond the travel."""
MARK = 6.0
"""How far a mark stands out from the scale [mm]."""
LABEL, LINE, CAPITAL = 2.2, 1.25, 0.73
"""Height of labels [mm]; from one line to the next, and of capitals, by the height."""

_TICK, _TICK_5, _NUMBER, _TOLD = 2.5, 4.5, 2.1, 1.8
_CLEAR, _CLEAR_THIN, _THIN = 3.0, 16.0, 9.0
"""Between wheel and scale; the same for a wheel so thin that words on it would hang over."""
_CROSS, _AIR = 6.0, 1.3


@dataclass(frozen=True)
class Side:
    """One wheel of a gauge."""

    wheel: Wheel
    built_in: float
    marks: WheelMarks
    sign: str
    """Before its texts; empty where the gauge has one wheel."""


@dataclass(frozen=True)
class Frame:
    """Where things lie about the kingpin, which is at (0, 0)."""

    across: float
    """The wheel's centre line beside the kingpin, to the left [mm]."""
    toe: float
    """Heading of the wheel where its steering is at zero [rad]."""
    rim: float
    """From the kingpin along the wheel's centre line to the scale [mm]."""
    inner: float
    """Nearest that the scale's numbers come [mm]."""
    told: tuple[float, ...]
    """Where the numbers of each motor end, outward [mm]."""
    reach: float
    """How far the wheel itself reaches [mm]."""

    def at(self, steer: float, along: float, more: float = 0.0) -> Point:
        """On the centre line of the wheel at a steer angle, or beside it to the left."""
        heading, across = steer + self.toe, self.across + more
        sin, cos = math.sin(heading), math.cos(heading)
        return -along * sin - across * cos, along * cos - across * sin

    @property
    def out(self) -> float:
        """Where the marks end."""
        return self.rim + MARK

    def bearing(self, steer: float, along: float) -> float:
        """Direction of such a point from the kingpin, counted from straight ahead to the left [rad]."""
        found = steer + self.toe + math.atan2(self.across, along)
        # Both ends of a whole turn stay on their sides.
        return found if abs(found) <= math.pi + SAME else math.remainder(found, 2.0 * math.pi)


def frame_of(sides: list[Side]) -> Frame:
    """Choose the sizes of a gauge for the wheels that it serves."""
    wheel = sides[0].wheel
    ahead, behind = (abs(-wheel.trail_mm + sign * 0.5 * wheel.diameter_mm) for sign in (1.0, -1.0))
    beside = abs(wheel.lateral_offset_mm) + 0.5 * wheel.width_mm
    reach = math.hypot(max(ahead, behind), beside)
    widths = [
        max((text_width(text, _TOLD) for _, text in side.marks.motor.at_angles), default=0.0)
        for side in rings(sides)
        if side.marks.motor is not None
    ]
    # From the scale inward: ticks, angles, and what each motor is told.
    ends = [_TICK_5 + 0.7 + text_width(f"{MINUS}135", _NUMBER) + _AIR]
    for width in widths:
        ends.append(ends[-1] + width + _AIR)
    depth = ends[-1]
    clear = _CLEAR_THIN if wheel.width_mm < _THIN else _CLEAR
    rim = min(max(reach + clear + depth, LEAST_RIM_MM), LARGEST_RIM_MM)
    told = tuple(rim - end for end in ends[:-1])
    return Frame(wheel.lateral_offset_mm, sides[0].built_in, rim, rim - depth, told, reach)


def rings(sides: list[Side]) -> list[Side]:
    """Those whose motors have numbers of their own along the scale."""
    found: list[Side] = []
    for side in sides:
        motor = side.marks.motor
        if motor is not None and not any(
            (o.marks.motor.name, o.marks.motor.at_angles) == (motor.name, motor.at_angles)
            for o in found
            if o.marks.motor is not None
        ):
            found.append(side)
    return found


# The wheel and the hole ------------------------------------------------------------------------


def wheel_of(side: Side, frame: Frame) -> list[Element]:
    """The wheel at the zero of its steering, and its centre line as far as the scale."""
    wheel = side.wheel
    front, rear = (-wheel.trail_mm + sign * 0.5 * wheel.diameter_mm for sign in (1.0, -1.0))
    half = 0.5 * wheel.width_mm
    # Not beyond the scale, where it would only take paper.
    most = frame.inner - 1.0
    front, rear = (max(-most, min(most, end)) for end in (front, rear))
    places = ((front, half), (rear, half), (rear, -half), (front, -half))
    corners = tuple(Corner(*frame.at(0.0, along, more)) for along, more in places)
    made: list[Element] = [Outline("wheel", corners, filled=True)]
    far = max(min(rear, 0.0) - 4.0, -most)
    made.append(Line("centre", frame.at(0.0, far), frame.at(0.0, frame.out)))
    if frame.toe:
        made.append(Line("axle line", (0.0, -min(frame.reach + 4.0, most)), (0.0, most)))
    made += _read_here(wheel, front, frame)
    return made


def _read_here(wheel: Wheel, front: float, frame: Frame) -> list[Element]:
    text, room = "read here", text_width("read here", LABEL)
    # On the wheel if that is wide enough, else between wheel and scale.
    on_wheel = wheel.width_mm >= _THIN and front - 1.0 - room > 0.75 * _CROSS
    end = front - 1.0 if on_wheel else max(front + 1.0, _CROSS + 1.0) + room
    tip, back = frame.at(0.0, frame.inner - 0.5), frame.inner - 3.0
    corners = (Corner(*tip), Corner(*frame.at(0.0, back, 0.7)), Corner(*frame.at(0.0, back, -0.7)))
    # On the side away from the chassis' own line.
    beside = 0.8 + 0.24 * LABEL if frame.toe > 0 else -(0.8 + 0.76 * LABEL)
    place = frame.at(0.0, end, beside)
    return [
        Outline("gauge", corners, filled=True),
        Text("text", place, text, LABEL, "right", 0.5 * math.pi + frame.toe),
    ]


def pin_of(hole_mm: float) -> list[Element]:
    """The hole that pins it, with a cross."""
    return [
        Line("kingpin", (-_CROSS, 0.0), (_CROSS, 0.0)),
        Line("kingpin", (0.0, -_CROSS), (0.0, _CROSS)),
        Circle("kingpin", (0.0, 0.0), 0.5 * hole_mm),
    ]


# The scale -------------------------------------------------------------------------------------


def scale_of(sides: list[Side], frame: Frame) -> list[Element]:
    """Ticks over the travel and a bit beyond it, with a number each 5 degrees."""
    low = min(side.marks.low for side in sides)
    high = max(side.marks.high for side in sides)
    radius = math.hypot(frame.rim, frame.across)
    start = 0.5 * math.pi + frame.bearing(low, frame.rim)
    made: list[Element] = [Arc("gauge", (0.0, 0.0), radius, start, high - low)]
    first = max(math.ceil(degrees(low) - BEYOND_DEG - 1e-9), -180)
    last = min(math.floor(degrees(high) + BEYOND_DEG + 1e-9), 180)
    closed = (first, last) == (-180, 180)
    for deg in range(first + closed, last + 1):
        angle = radians(deg)
        # Beyond the travel the scale is there to read, but faint.
        role: Role = "gauge" if low - SAME <= angle <= high + SAME else "frame"
        long = _TICK if deg % 5 else _TICK_5
        made.append(Line(role, frame.at(angle, frame.rim - long), frame.at(angle, frame.rim)))
        if deg % 5 == 0 and deg != 0:
            text = "\u00b1180" if closed and deg == 180 else str(deg).replace("-", MINUS)
            made.append(_along(text, _NUMBER, angle, frame.rim - _TICK_5 - 0.7, frame))
    return made


def _along(text: str, height: float, angle: float, end: float, frame: Frame) -> Text:
    """A number along the wheel's line, up to `end`, and never upside down."""
    along = 0.5 * math.pi + angle + frame.toe
    half = 0.5 * CAPITAL * height
    if math.cos(along) >= -1e-9:
        return Text("text", frame.at(angle, end, -half), text, height, "right", along)
    return Text("text", frame.at(angle, end, half), text, height, "left", along - math.pi)


def told_ring(side: Side, ends: float, frame: Frame) -> list[Element]:
    """What the motor is told at each 5 degrees, along the wheel's line."""
    made: list[Element] = []
    for deg, text in side.marks.motor.at_angles if side.marks.motor is not None else ():
        if deg == 0 or (deg == -180 and side.marks.high >= math.pi - SAME):
            continue
        made.append(_along(text, _TOLD, radians(deg), ends, frame))
    return made
