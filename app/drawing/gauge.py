"""Gauges: a protractor at full size for each steered wheel, pinned under its kingpin.

Straight ahead is up, seen from above, and angles count to the left. A tick is the line on which the
wheel's own centre line lies at its angle: with a lateral offset it does not point at the kingpin, but
still turns about it. Where two wheels mirror each other, one sheet serves both: the marks of the
second are drawn open.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from typing import NamedTuple

from app.controller.export_error import ExportError
from app.drawing.elements import Align, Drawing, Element, Text, box_of
from app.drawing.gauge_labels import FULL, OPEN, column_of, marks_of, wrapped
from app.drawing.gauge_marks import MINUS, Marker, WheelMarks, mirrored
from app.drawing.gauge_scale import (
    LABEL,
    LARGEST_RIM_MM,
    LINE,
    Frame,
    Side,
    frame_of,
    pin_of,
    rings,
    scale_of,
    told_ring,
    wheel_of,
)
from app.drawing.lettering import printable, text_width
from app.units import degrees, show_number
from geometry.model.design import Design
from geometry.model.wheel import Wheel
from geometry.progress import Progress, unwatched

_TITLE, _NAME, _WIDEST, _WIDEST_WORDS = 3.2, 2.6, 230.0, 44.0


class _Sentence(NamedTuple):
    text: str
    height: float


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
            Side(sides[n][0], t, sides[n][1], sign) for n, t, sign in zip(pair, toe, signs, strict=True)
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


def _gauge(design: Design, sides: list[Side], hole_mm: float, marker: Marker) -> Drawing:
    frame = frame_of(sides)
    drawn = [*wheel_of(sides[0], frame), *scale_of(sides, frame)]
    for side, ends in zip(rings(sides), frame.told, strict=True):
        drawn += told_ring(side, ends, frame)
    marks, labels = marks_of(sides, frame)
    drawn += [*marks, *labels, *pin_of(hole_mm)]
    notes = [*marker.notes]
    if frame.reach > frame.inner:
        notes.append(
            f"The wheel reaches over the scale, whose radius is at most {LARGEST_RIM_MM:g} mm, and is drawn "
            "as far as the scale: lay a straight edge along its centre line."
        )
    head = [_Sentence(text, _TITLE) for text in _titles(sides)]
    head.append(_Sentence(f"{design.name}, full size", _NAME))
    usage, told = (
        [_Sentence(text, LABEL) for text in texts] for texts in (_usage(sides, hole_mm), _told(sides, marker))
    )
    drawn += _words({-1.0: [*head, *usage], 1.0: told}, drawn, frame)
    return Drawing("; ".join(_titles(sides)), tuple(drawn), tuple(printable(note) for note in notes))


# What is said beside it ---------------------------------------------------------------------------


def _titles(sides: list[Side]) -> list[str]:
    words = ("Gauge", "mirrored")
    return [f"{word}: {printable(side.wheel.name)}" for word, side in zip(words, sides, strict=False)]


def _words(said: dict[float, list[_Sentence]], drawn: list[Element], frame: Frame) -> list[Element]:
    """Sentences between the labels of a column where there is room, else below everything.

    Parameters
    ----------
    said : dict
        Sentences with the heights of their letters, by the column: 1 for the left one, -1 for the right one.
    drawn : list of Element
        All that is there already.
    frame : Frame
        Where it lies.
    """
    made: list[Element] = []
    for way, sentences in said.items():
        lines = _lines(sentences, _WIDEST_WORDS)
        low, high = _widest_gap(drawn, way, frame)
        tall = sum(LINE * height for _, height in lines)
        if high - low >= tall + 4.0:
            x, y = -way * (column_of(frame) + 0.8), 0.5 * (low + high + tall)
            align: Align = "right" if way > 0 else "left"
        elif lines:
            lines = _lines(sentences, _WIDEST)
            left, bottom, right, _ = box_of([*drawn, *made], text_width)
            x, y, align = 0.5 * (left + right), bottom - 2.0, "middle"
        for line, height in lines:
            y -= LINE * height
            made.append(Text("text", (x, y), line, height, align))
    return made


def _lines(sentences: list[_Sentence], widest: float) -> list[_Sentence]:
    return [
        _Sentence(line, height)
        for text, height in sentences
        for line in wrapped(printable(text), height, widest)
    ]


def _widest_gap(drawn: list[Element], way: float, frame: Frame) -> tuple[float, float]:
    """Heights between which a column of labels is free."""
    _, low, _, high = box_of(drawn, text_width)
    taken = [(low, low), (high, high)]
    for element in drawn:
        left, bottom, right, top = box_of([element], text_width)
        if isinstance(element, Text) and max(-way * left, -way * right) > column_of(frame):
            taken.append((bottom, top))
    taken.sort()
    gaps = [(a[1], b[0]) for a, b in itertools.pairwise(taken)]
    return max(gaps, key=lambda gap: gap[1] - gap[0])


def _usage(sides: list[Side], hole_mm: float) -> tuple[str, ...]:
    toe = degrees(sides[0].built_in)
    line = "dashed" if toe else "long"
    found = [
        f"Pin it under the kingpin by its {show_number(hole_mm, 2)} mm hole, {line} line along the chassis.",
        "Read where the wheel's centre line meets the scale.",
        f"Seen from above: left is +, right is {MINUS}.",
    ]
    if len(sides) == 2:
        found += [f"{side.sign} {side.wheel.name}" for side in sides]
    if toe:
        way = "left" if toe > 0 else "right"
        found.append(
            f"By its toe the wheel points {show_number(abs(toe), 2)}\u00b0 to the {way} at the zero of its "
            "steering."
        )
    return tuple(found)


def _told(sides: list[Side], marker: Marker) -> tuple[str, ...]:
    found = []
    ringed = rings(sides)
    names = {side.wheel.name for side in sides}
    for k, side in enumerate(ringed):
        motor = side.marks.motor
        if motor is not None:
            which = ("outer small numbers", "inner small numbers")[k] if len(ringed) == 2 else "small numbers"
            others = [name for name in motor.others if len(ringed) == 2 or name not in names]
            also = f" It also turns {', '.join(others)}." if others else ""
            sign = side.sign if len(ringed) == 2 else ""
            found.append(f"{sign} {motor.unit} for {motor.name}: {which}, and behind angles.{also}".strip())
    if found:
        found += [marker.how_told, "Wheels off the ground and fingers clear while a motor is powered."]
    return tuple(found)
