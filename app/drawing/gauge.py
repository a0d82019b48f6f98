"""Gauges: a protractor at full size for each steered wheel, pinned under its kingpin.

Straight ahead is up, seen from above, and angles count to the left. A tick is the line on which the
wheel's own centre line lies at its angle: with a lateral offset it does not point at the kingpin, but
still turns about it. Where two wheels mirror each other, one sheet serves both: the marks of the
second are drawn open.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

from app.controller.export_error import ExportError
from app.drawing.elements import (
    Align,
    Arc,
    Circle,
    Corner,
    Drawing,
    Element,
    Line,
    Outline,
    Point,
    Role,
    Text,
    box_of,
)
from app.drawing.gauge_marks import (
    MINUS,
    SAME,
    Mark,
    Marker,
    WheelMarks,
    mirrored,
    show_steer,
)
from app.drawing.lettering import printable, text_width
from app.drawing.spreading import spread
from app.units import degrees, radians, show_number
from geometry.model.design import Design
from geometry.model.wheel import Wheel
from geometry.progress import Progress, unwatched

LEAST_RIM_MM, LARGEST_RIM_MM = 60.0, 400.0
"""Radius of the scale: it grows with the wheel between these."""
BEYOND_DEG = 5
"""How far the scale goes on beyond the travel."""
FULL, OPEN = "\u25cf", "\u25cb"
"""What stands before the marks of the first wheel of a pair, and of the second."""

_TICK, _TICK_5, _MARK, _DOT = 2.5, 4.5, 6.0, 0.7
_NUMBER, _TOLD, _LABEL, _TITLE = 2.1, 1.8, 2.2, 4.2
_LINE = 1.25
"""From one line of a text to the next, by its height."""
_CAPITAL = 0.73
_CLEAR, _CLEAR_THIN, _THIN = 3.0, 16.0, 9.0
"""Between wheel and scale; the same for a wheel so thin that words on it would hang over."""
_CROSS, _COLUMN, _AIR = 6.0, 5.0, 1.3
_WIDEST, _WIDEST_LABEL = 230.0, 50.0


@dataclass(frozen=True)
class _Side:
    """One wheel of a gauge."""

    wheel: Wheel
    built_in: float
    marks: WheelMarks
    sign: str
    """Before its texts; empty where the gauge has one wheel."""


@dataclass(frozen=True)
class _Frame:
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
        return self.rim + _MARK

    def bearing(self, steer: float, along: float) -> float:
        """Direction of such a point from the kingpin, counted from straight ahead to the left [rad]."""
        return steer + self.toe + math.atan2(self.across, along)


def gauges_of(
    design: Design,
    *,
    hole_mm: float = 3.0,
    radii_mm: Sequence[float] | None = None,
    progress: Progress = unwatched,
) -> tuple[Drawing, ...]:
    """Draw a gauge for each steered wheel, or one for two wheels that mirror each other.

    Parameters
    ----------
    design : Design
        The chassis; casters have no gauge.
    hole_mm : float
        Diameter of the hole that the gauge is pinned by [mm].
    radii_mm : sequence of float, optional
        Turn radii to mark, both ways [mm]; if not given, four that suit the size of the chassis.
    progress : callable, optional
        Told the share that is done, as `geometry.progress` has it.

    Raises
    ------
    ExportError
        If no wheel is steered.
    Cancelled
        If `progress` says to stop.
    """
    marker = Marker(design, radii_mm, progress)
    steered = marker.steered()
    if not steered:
        raise ExportError(
            "no wheel of the chassis is steered, so there is nothing to gauge; a gauge is for a steered "
            "wheel, and a caster needs none"
        )
    sides = {n: (design.wheels[n], marker.marks_of(n)) for n in steered}
    made = []
    for pair in _pairs(sides):
        signs = (FULL, OPEN) if len(pair) == 2 else ("",)
        toe = [float(marker.robot.wheels.built_in[n]) for n in pair]
        chosen = [
            _Side(sides[n][0], t, sides[n][1], sign) for n, t, sign in zip(pair, toe, signs, strict=True)
        ]
        made.append(_gauge(design, chosen, hole_mm, marker))
    return tuple(made)


def _pairs(sides: dict[int, tuple[Wheel, WheelMarks]]) -> list[tuple[int, ...]]:
    """Wheels that share a sheet, the left one first; their scales must be one and the same."""
    left = list(sides)
    found: list[tuple[int, ...]] = []
    while left:
        n = left.pop(0)
        other = next((m for m in left if _share(sides[n], sides[m])), None)
        if other is None:
            found.append((n,))
            continue
        left.remove(other)
        found.append((n, other) if sides[n][0].y_mm >= sides[other][0].y_mm else (other, n))
    return found


def _share(one: tuple[Wheel, WheelMarks], other: tuple[Wheel, WheelMarks]) -> bool:
    (a, marks), (b, others) = one, other
    same = (a.x_mm, a.diameter_mm, a.width_mm, a.trail_mm) == (b.x_mm, b.diameter_mm, b.width_mm, b.trail_mm)
    one_scale = not any((a.toe_deg, b.toe_deg, a.lateral_offset_mm, b.lateral_offset_mm))
    return same and one_scale and mirrored(marks, others)


def _gauge(design: Design, sides: list[_Side], hole_mm: float, marker: Marker) -> Drawing:
    frame = _frame(sides)
    drawn = [*_wheel(sides[0], frame), *_scale(sides, frame)]
    for side, ends in zip(sides, frame.told, strict=False):
        drawn += _told_ring(side, ends, frame)
    marks, labels = _marks(sides, frame)
    drawn += [*marks, *labels, *_pin(hole_mm)]
    notes = [*marker.notes]
    if frame.reach > frame.inner:
        notes.append(
            f"The wheel reaches over the scale, whose radius is at most {LARGEST_RIM_MM:g} mm: "
            "lay a straight edge along its centre line."
        )
    drawn += _words(_Said(_usage(sides, hole_mm), _told(sides, marker)), drawn, frame)
    drawn += _headline(f"{_title(sides)} \u00b7 {design.name or 'unnamed'}, full size", drawn)
    return Drawing(_title(sides), tuple(drawn), tuple(printable(note) for note in notes))


def _frame(sides: list[_Side]) -> _Frame:
    wheel = sides[0].wheel
    ahead, behind = (abs(-wheel.trail_mm + sign * 0.5 * wheel.diameter_mm) for sign in (1.0, -1.0))
    beside = abs(wheel.lateral_offset_mm) + 0.5 * wheel.width_mm
    reach = math.hypot(max(ahead, behind), beside)
    widths = [
        max((text_width(text, _TOLD) for _, text in side.marks.motor.at_angles), default=0.0)
        for side in sides
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
    return _Frame(wheel.lateral_offset_mm, sides[0].built_in, rim, rim - depth, told, reach)


# The wheel and the hole ------------------------------------------------------------------------


def _wheel(side: _Side, frame: _Frame) -> list[Element]:
    """The wheel at the zero of its steering, and its centre line as far as the scale."""
    wheel = side.wheel
    front, rear = (-wheel.trail_mm + sign * 0.5 * wheel.diameter_mm for sign in (1.0, -1.0))
    half = 0.5 * wheel.width_mm
    places = ((front, half), (rear, half), (rear, -half), (front, -half))
    corners = tuple(Corner(*frame.at(0.0, along, more)) for along, more in places)
    made: list[Element] = [Outline("wheel", corners, filled=True)]
    far = min(rear, 0.0) - 4.0
    made.append(Line("centre", frame.at(0.0, far), frame.at(0.0, frame.out)))
    if frame.toe:
        made.append(Line("axle line", (0.0, -frame.reach - 4.0), (0.0, frame.inner - 1.0)))
    made += _read_here(wheel, front, frame)
    return made


def _read_here(wheel: Wheel, front: float, frame: _Frame) -> list[Element]:
    text, room = "read here", text_width("read here", _LABEL)
    # On the wheel if that is wide enough, else between wheel and scale.
    on_wheel = wheel.width_mm >= _THIN and front - 1.0 - room > 0.75 * _CROSS
    end = front - 1.0 if on_wheel else max(front + 1.0, _CROSS + 1.0) + room
    tip, back = frame.at(0.0, frame.inner - 0.5), frame.inner - 3.0
    corners = (Corner(*tip), Corner(*frame.at(0.0, back, 0.7)), Corner(*frame.at(0.0, back, -0.7)))
    place = frame.at(0.0, end, -(0.8 + 0.76 * _LABEL))
    return [
        Outline("gauge", corners, filled=True),
        Text("text", place, text, _LABEL, "right", 0.5 * math.pi + frame.toe),
    ]


def _pin(hole_mm: float) -> list[Element]:
    return [
        Line("kingpin", (-_CROSS, 0.0), (_CROSS, 0.0)),
        Line("kingpin", (0.0, -_CROSS), (0.0, _CROSS)),
        Circle("kingpin", (0.0, 0.0), 0.5 * hole_mm),
    ]


# The scale -------------------------------------------------------------------------------------


def _scale(sides: list[_Side], frame: _Frame) -> list[Element]:
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


def _along(text: str, height: float, angle: float, end: float, frame: _Frame) -> Text:
    """A number along the wheel's line, up to `end`, and never upside down."""
    along = 0.5 * math.pi + angle + frame.toe
    half = 0.5 * _CAPITAL * height
    if math.cos(along) >= -1e-9:
        return Text("text", frame.at(angle, end, -half), text, height, "right", along)
    return Text("text", frame.at(angle, end, half), text, height, "left", along - math.pi)


def _told_ring(side: _Side, ends: float, frame: _Frame) -> list[Element]:
    """What the motor is told at each 5 degrees, along the wheel's line."""
    made: list[Element] = []
    for deg, text in side.marks.motor.at_angles if side.marks.motor is not None else ():
        if deg == 0 or (deg == -180 and side.marks.high >= math.pi - SAME):
            continue
        made.append(_along(text, _TOLD, radians(deg), ends, frame))
    return made


# The marks and their labels ----------------------------------------------------------------------


@dataclass(frozen=True)
class _Label:
    """Marks at one angle that are told the same."""

    angle: float
    bearing: float
    ahead: bool
    """Whether the wheel points straight ahead there."""
    names: tuple[str, ...]
    signs: tuple[str, ...]
    told: tuple[str, ...]
    """Angle, and what the motor is told, for each of `signs`."""

    @property
    def lines(self) -> tuple[str, ...]:
        """As few as the column is wide enough for."""
        lines = _wrapped("; ".join(self.names), _LABEL, _WIDEST_LABEL)
        one = f"{lines[-1]}  {self.told[0]}"
        if len(self.told) == 1 and text_width(one, _LABEL) <= _WIDEST_LABEL:
            return (*lines[:-1], one)
        return (*lines, *self.told)

    @property
    def high(self) -> float:
        return _LABEL * (1.0 + _LINE * (len(self.lines) - 1))


def _marks(sides: list[_Side], frame: _Frame) -> tuple[list[Element], list[Element]]:
    """A tick for each mark, and its label in a column to the left or to the right, by a leader."""
    labels = _joined([label for side in sides for label in _labels(side, frame)])
    made: list[Element] = []
    ends: list[tuple[Point, Point]] = []
    texts: list[Element] = []
    for way in (1.0, -1.0):
        chosen = [x for x in labels if not x.ahead and (x.bearing > 0) == (way > 0)]
        chosen.sort(key=lambda label: (abs(label.bearing), label.signs))
        for label, middle in zip(chosen, _middles(chosen, way, frame), strict=True):
            tip = frame.at(label.angle, frame.out)
            made.append(Line("gauge", frame.at(label.angle, frame.rim), tip))
            # Marks of the two wheels may come close: their dots lie apart.
            dots = {sign: frame.rim + 0.5 * _MARK if sign == OPEN else frame.out for sign in label.signs}
            made += [
                Circle("gauge", frame.at(label.angle, along), _DOT, filled=sign != OPEN)
                for sign, along in dots.items()
            ]
            turn = -way * _column(frame), middle
            ends.append((tip, turn))
            texts += _block(label, (turn[0] - way * 0.8, middle), "right" if way > 0 else "left")
    made += [Line("frame", *pair) for pair in ends]
    return [*made, *_top(labels, ends, frame)], texts


def _labels(side: _Side, frame: _Frame) -> list[_Label]:
    """The marks of a wheel, those together that are at the same angle and told the same."""
    groups: list[list[Mark]] = []
    for mark in side.marks.marks:
        last = groups[-1][-1] if groups else None
        if last is not None and abs(mark.angle - last.angle) <= SAME and mark.told == last.told:
            groups[-1].append(mark)
        else:
            groups.append([mark])
    found = []
    for group in groups:
        angle = group[0].angle
        names = tuple(printable(name) for name in dict.fromkeys(mark.name for mark in group))
        told = "  ".join(part for part in (side.sign, show_steer(angle), printable(group[0].told)) if part)
        ahead = abs(angle + frame.toe) <= SAME
        bearing = frame.bearing(angle, frame.out)
        found.append(_Label(angle, bearing, ahead, names, (side.sign,), (told,)))
    return found


def _joined(labels: list[_Label]) -> list[_Label]:
    """Those of two wheels that say the same of the same angle as one."""
    found: list[_Label] = []
    for label in labels:
        same = [
            k for k, o in enumerate(found) if o.names == label.names and abs(o.angle - label.angle) <= SAME
        ]
        if not same:
            found.append(label)
            continue
        first = found[same[0]]
        found[same[0]] = replace(first, signs=first.signs + label.signs, told=first.told + label.told)
    return found


def _column(frame: _Frame) -> float:
    return math.hypot(frame.out, frame.across) + _COLUMN


def _middles(labels: list[_Label], way: float, frame: _Frame) -> list[float]:
    """Heights of labels, such that no leader runs back over the scale."""
    radius, column, gap = math.hypot(frame.out, frame.across), _column(frame), 1.5
    bearings = [way * label.bearing for label in labels]
    heights = [label.high for label in labels]
    middles = spread([radius * math.cos(b) for b in bearings], heights, gap)
    upper = [k for k, b in enumerate(bearings) if b < 0.5 * math.pi - 1e-6]
    lower = [k for k, b in enumerate(bearings) if b > 0.5 * math.pi + 1e-6]
    # Beyond the tangent at its mark a leader stays clear of the circle of all marks.
    for k in reversed(upper):
        least = (radius - column * math.sin(bearings[k])) / math.cos(bearings[k])
        low = [middles[k + 1] + 0.5 * (heights[k] + heights[k + 1]) + gap] if k + 1 in upper else []
        middles[k] = max(middles[k], least, *low)
    for k in lower:
        most = (radius - column * math.sin(bearings[k])) / math.cos(bearings[k])
        high = [middles[k - 1] - 0.5 * (heights[k] + heights[k - 1]) - gap] if k - 1 in lower else []
        middles[k] = min(middles[k], most, *high)
    return middles


def _block(label: _Label, beside: Point, align: Align) -> list[Text]:
    """The lines of a label about a middle height."""
    x, middle = beside
    step = _LINE * _LABEL
    first = middle + 0.5 * step * (len(label.lines) - 1) - 0.5 * _CAPITAL * _LABEL
    return [Text("text", (x, first - k * step), line, _LABEL, align) for k, line in enumerate(label.lines)]


def _top(labels: list[_Label], leaders: list[tuple[Point, Point]], frame: _Frame) -> list[Element]:
    """What stands straight ahead, its line drawn long: its words are above all leaders that pass there."""
    ahead = [label for label in labels if label.ahead]
    if not ahead:
        return []
    lines = list(dict.fromkeys(line for label in ahead for line in ("; ".join(label.names), *label.told)))
    tip = frame.at(ahead[0].angle, frame.out)
    half = 0.5 * max(text_width(line, _LABEL) for line in lines) + 1.0
    low = frame.out + 5.0
    for (ax, ay), (bx, by) in leaders:
        for edge in (tip[0] - half, tip[0] + half):
            if min(ax, bx) <= edge <= max(ax, bx) and ax != bx:
                low = max(low, ay + (by - ay) * (edge - ax) / (bx - ax) + 1.5)
    made: list[Element] = [
        Line("gauge", frame.at(ahead[0].angle, frame.rim), tip),
        Line("centre", tip, (tip[0], low)),
    ]
    for k, line in enumerate(reversed(lines)):
        place = tip[0], low + 1.2 + _LINE * _LABEL * k
        made.append(Text("text", place, line, _LABEL, "middle"))
    return made


# What is said beside it ---------------------------------------------------------------------------


class _Said(NamedTuple):
    """Sentences of a sheet."""

    usage: tuple[str, ...]
    told: tuple[str, ...]


def _title(sides: list[_Side]) -> str:
    return "Gauge: " + "; mirrored: ".join(printable(side.wheel.name) for side in sides)


def _headline(text: str, drawn: list[Element]) -> list[Element]:
    """The title above everything."""
    left, _, right, high = box_of(drawn, text_width)
    made: list[Element] = []
    y = high + 3.5
    for line in reversed(_wrapped(printable(text), _TITLE, _WIDEST)):
        made.append(Text("text", (0.5 * (left + right), y), line, _TITLE, "middle"))
        y += _LINE * _TITLE
    return made


def _words(said: _Said, drawn: list[Element], frame: _Frame) -> list[Element]:
    """How to use it: between the labels of a column where there is room, else below everything."""
    made: list[Element] = []
    for way, sentences in ((-1.0, said.usage), (1.0, said.told)):
        if not sentences:
            continue
        step = _LINE * _LABEL
        lines = [x for sentence in sentences for x in _wrapped(printable(sentence), _LABEL, _WIDEST_LABEL)]
        gap = _widest_gap(drawn, way, frame)
        if gap[1] - gap[0] >= step * len(lines) + 6.0:
            x = -way * (_column(frame) + 0.8)
            y = 0.5 * (gap[0] + gap[1]) + 0.5 * step * (len(lines) - 1) - 0.5 * _CAPITAL * _LABEL
            align: Align = "right" if way > 0 else "left"
        else:
            lines = [x for sentence in sentences for x in _wrapped(printable(sentence), _LABEL, _WIDEST)]
            left, low, right, _ = box_of([*drawn, *made], text_width)
            x, y, align = 0.5 * (left + right), low - 5.0, "middle"
        made += [Text("text", (x, y - k * step), line, _LABEL, align) for k, line in enumerate(lines)]
    return made


def _widest_gap(drawn: list[Element], way: float, frame: _Frame) -> tuple[float, float]:
    """Heights between which a column of labels is free."""
    _, low, _, high = box_of(drawn, text_width)
    taken = [(low, low), (high, high)]
    for element in drawn:
        left, bottom, right, top = box_of([element], text_width)
        if isinstance(element, Text) and max(-way * left, -way * right) > _column(frame):
            taken.append((bottom, top))
    taken.sort()
    gaps = [(a[1], b[0]) for a, b in itertools.pairwise(taken)]
    return max(gaps, key=lambda gap: gap[1] - gap[0])


def _usage(sides: list[_Side], hole_mm: float) -> tuple[str, ...]:
    found = [
        f"Pin it under the kingpin by its hole of {show_number(hole_mm, 2)} mm, long line along the chassis.",
        "Read where the wheel's centre line meets the scale.",
        f"Seen from above: left is +, right is {MINUS}.",
    ]
    if len(sides) == 2:
        first, second = (side.wheel.name for side in sides)
        found.append(f"Filled dots: {first}. Open dots: {second}.")
    toe = degrees(sides[0].built_in)
    if toe:
        way = "left" if toe > 0 else "right"
        found.append(
            f"By its toe the wheel points {show_number(abs(toe), 2)}\u00b0 to the {way} at the zero of its "
            "steering; the dashed line is straight ahead, along the chassis."
        )
    return tuple(found)


def _told(sides: list[_Side], marker: Marker) -> tuple[str, ...]:
    found = []
    for k, side in enumerate(sides):
        motor = side.marks.motor
        if motor is not None:
            which = ("outer small numbers", "inner small numbers")[k] if len(sides) == 2 else "small numbers"
            also = f" It also turns {', '.join(motor.others)}." if motor.others else ""
            found.append(
                f"{side.sign} {motor.unit} for {motor.name}: {which}, and behind angles.{also}".strip()
            )
    if found:
        found += [marker.how_told, "Wheels off the ground and fingers clear while a motor is powered."]
    return tuple(found)


def _wrapped(text: str, height: float, widest: float) -> list[str]:
    """Lines that are no wider than that; a word that is longer is cut into several."""
    lines: list[str] = []
    line = ""
    for word in text.split(" "):
        longer = f"{line} {word}" if line else word
        if text_width(longer, height) <= widest:
            line = longer
            continue
        lines += [line] if line else []
        line = ""
        for letter in word:
            if text_width(line + letter, height) > widest:
                lines.append(line)
                line = ""
            line += letter
    return [*lines, line]
