"""The room to turn in words and in plain values: what each measure is called, what it means, how it reads.

One table of measures serves the command line, its CSV and JSON, and the panel.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from app.units import LengthUnit, degrees, show_length, show_number
from geometry.axes import Floats
from geometry.model.design import Design
from geometry.turning_space.measures import PATH_TURNS, Measures
from geometry.turning_space.swept import SweptMeasures

_DIGITS = 1
_CIRCLES, _INNER_WHEEL = "Turning circles", "Inner wheel"
# Least width of the column of names, and how many turns stand side by side.
_FEWEST, _COLUMNS = 24, 7


@dataclass(frozen=True)
class Measure:
    """One measure: its name on the screen, its key in files, what it means, and its values at M turns."""

    key: str
    name: str
    tip: str
    values: Callable[[Measures], Floats]
    none: str = "none"
    """What is said in place of a number where the robot turns and has no such measure."""
    plot: str = ""
    """The plot over all turns that it shares with others; without one it has a plot of its own name."""
    grows: bool = True
    """Whether it grows without end the gentler the turn."""


def _inner(k: int) -> Measure:
    turned = round(degrees(PATH_TURNS[k]))
    return Measure(
        f"inner_wheel_{turned}_deg_turn_mm",
        f"Inner wheel, {turned}° turn",
        f"Smallest radius of the inner rear wheel in a turn of {turned}° from and to straight, the middle of "
        "the foremost wheels led along straight, arc and straight; the rear has no time to come in as far "
        "as in the steady circle",
        lambda found: np.asarray(found.least_inner_wheel[:, k]),
        "no wheels",
        plot=_INNER_WHEEL,
    )


MEASURES: tuple[Measure, ...] = (
    Measure(
        "kerb_to_kerb_mm",
        "Kerb to kerb",
        "Diameter of the turning circle to the contact centre of the outermost tyre (SAE J695)",
        lambda found: found.kerb_to_kerb,
        "no wheels",
        plot=_CIRCLES,
    ),
    Measure(
        "wall_to_wall_mm",
        "Wall to wall",
        "Diameter of the turning circle to the outermost point of body, tyres and parts (SAE J695)",
        lambda found: found.wall_to_wall,
        plot=_CIRCLES,
    ),
    Measure(
        "inner_radius_mm",
        "Inner radius",
        "Radius of the circle in the middle that nothing sweeps; 0 where the turn centre is in the outline",
        lambda found: found.inner_radius,
    ),
    Measure(
        "width_to_turn_mm",
        "Width to turn about",
        "Between two walls with this fixed turn centre: the diameter of the outer circle; on the spot twice "
        "the farthest point",
        lambda found: found.width_to_turn,
        plot=_CIRCLES,
    ),
    Measure(
        "lane_mm",
        "Right-angled lane",
        "Narrowest lane, the same before and after a right angle, with this one fixed turn centre and "
        "straight on both sides",
        lambda found: found.lane,
    ),
    Measure(
        "kerb_gap_mm",
        "Kerb gap",
        "Shortest gap at a kerb that is entered backwards in one move at this turn, before a neighbour as "
        "wide as the robot; not where the centre is within its width",
        lambda found: found.kerb_gap,
    ),
    Measure(
        "tail_swing_mm",
        "Tail swing",
        "How far the rear swings out over the kerb in that move",
        lambda found: found.tail_swing,
        grows=False,
    ),
    Measure(
        "inner_wheel_mm",
        "Inner wheel, steady",
        "Radius of the innermost rear wheel once the circle is steady",
        lambda found: found.inner_wheel,
        "no wheels",
        plot=_INNER_WHEEL,
    ),
    *(_inner(k) for k in range(len(PATH_TURNS))),
)
"""In the order in which they are shown."""

LANE_TIP = (
    "Narrowest right-angled lane with any motion, turning while it moves: for the box around body, tyres and "
    "parts, straight ahead"
)


@dataclass(frozen=True)
class Span:
    """Least and most of one measure over a range of turns, and where; None where it has no value there."""

    least: float
    least_at: float
    most: float
    most_at: float


def off_tracking_name(wheel: str) -> str:
    """What the off-tracking of one wheel is called.

    Examples
    --------
    >>> off_tracking_name("rear left")
    'Off-tracking, rear left'
    """
    return f"Off-tracking, {wheel}"


OFF_TRACKING_TIP = (
    "How much nearer to the turn centre the wheel runs than a point abreast of the foremost wheels would"
)


def reading(measure: Measure, found: Measures, row: int, unit: LengthUnit, *, suffix: bool = True) -> str:
    """One measure at one turn, in the person's unit, or a word for why there is none.

    Examples
    --------
    >>> from geometry.kinematics.robot import robot_of
    >>> from geometry.turning_space.measures import measures_of
    >>> bare = Design(body_mm=((180, 130), (-180, 130), (-180, -130), (180, -130)))
    >>> found = measures_of(robot_of(bare), bare, [1.0, 0.0])
    >>> [reading(measure, found, 0, "mm") for measure in MEASURES[:3]], reading(MEASURES[1], found, 1, "mm")
    (['no wheels', '444.1 mm', '0 mm'], 'straight')
    """
    value = float(measure.values(found)[row])
    if math.isfinite(value):
        return show_length(value, unit, of_mm=_DIGITS, suffix=suffix)
    if found.box is None:
        return "nothing there"
    return "straight" if found.straight[row] else measure.none


def span_of(values: Floats, turns: Floats) -> Span | None:
    """Least and most of finite values over turns; of equal ones the gentlest, to the left first."""
    order = np.lexsort((-turns, np.abs(turns)))
    kept = order[np.isfinite(values[order])]
    if not len(kept):
        return None
    least, most = kept[np.argmin(values[kept])], kept[np.argmax(values[kept])]
    return Span(float(values[least]), float(turns[least]), float(values[most]), float(turns[most]))


def lane_sentence(found: Measures, unit: LengthUnit) -> str:
    """Say through which right-angled lane the robot gets with any motion, and for which box that is."""
    if found.box is None:
        return "There is nothing to measure: no wheels, no body, no parts."
    length, width = (show_length(side, unit, of_mm=_DIGITS) for side in (found.box.length, found.box.width))
    turned, slid = (
        show_length(lane, unit, of_mm=_DIGITS) for lane in (found.any_motion_lane, found.sliding_lane)
    )
    sideways = f"; {slid} if it may slide sideways" if slid != turned else ""
    return (
        f"The box around body, tyres and parts, straight ahead, is {length} by {width}. With any motion it "
        f"gets through a right-angled lane of {turned}{sideways}."
    )


def text_of(
    design: Design, found: Measures, over: Measures, unit: LengthUnit, swept: Sequence[SweptMeasures | None]
) -> str:
    """Write the measures of chosen turns, and the least and most of each over the whole range.

    Parameters
    ----------
    design : Design
        What is measured.
    found, over : Measures
        At the chosen turns, and over the range.
    unit : 'mm' or 'inch'
        Unit of lengths.
    swept : sequence
        The chosen turns measured pose by pose; empty if nobody asked.
    """
    lines = [f"{design.name}: room to turn, as built; circles as diameters.", *_of_the_box(found, unit), ""]
    for first in range(0, len(found), _COLUMNS):
        lines += [*_table(design, found, range(first, min(first + _COLUMNS, len(found))), unit), ""]
    lines += [_swept_line(found, swept, unit), ""] if swept else []
    return "\n".join([*lines, *_range_lines(design, over, unit), ""])


def _of_the_box(found: Measures, unit: LengthUnit) -> list[str]:
    lines = [lane_sentence(found, unit)]
    if found.box is not None:
        wide = show_length(found.neighbour, unit, of_mm=_DIGITS)
        lines.append(
            f"The neighbour at the kerb is {wide} wide. A kerb gap of none: no single move leads out of it, "
            "since the turn centre is within that width."
        )
    return lines


def _table(design: Design, found: Measures, rows: range, unit: LengthUnit) -> list[str]:
    heads = ["turn", *(show_number(float(found.turns[row]), 4) for row in rows)]
    centres = ["turn centre"]
    for row in rows:
        place = (show_length(float(v), unit, of_mm=_DIGITS, suffix=False) for v in found.centre[row])
        centres.append("straight" if found.straight[row] else ", ".join(place))
    cells = [heads, centres]
    for measure in MEASURES:
        readings = (reading(measure, found, row, unit, suffix=False) for row in rows)
        cells.append([measure.name, *readings])
    for n, wheel in enumerate(design.wheels):
        offs = (
            show_length(float(found.off_tracking[row, n]), unit, of_mm=_DIGITS, suffix=False) for row in rows
        )
        cells.append([off_tracking_name(wheel.name), *offs])
    head = f"At these turns [{'in' if unit == 'inch' else 'mm'}]:"
    return [head, *_aligned(cells)]


def _aligned(cells: Sequence[Sequence[str]]) -> list[str]:
    widths = [max(len(line[k]) for line in cells) for k in range(len(cells[0]))]
    widths[0] = max(widths[0], _FEWEST)
    return [
        "  "
        + "  ".join(
            cell.rjust(width) if k else cell.ljust(width)
            for k, (cell, width) in enumerate(zip(line, widths, strict=True))
        ).rstrip()
        for line in cells
    ]


def _swept_line(found: Measures, swept: Sequence[SweptMeasures | None], unit: LengthUnit) -> str:
    if not any(swept):
        return "Measured pose by pose as well: no turn among these has a circle."
    gaps = [abs(a - b) for row, one in enumerate(swept) if one for a, b in _pairs(found, row, one)]
    most = show_length(max(gaps), unit, digits=4)
    return f"Measured pose by pose as well, the largest difference is {most}."


def _pairs(found: Measures, row: int, one: SweptMeasures) -> list[tuple[float, float]]:
    closed = (found.wall_to_wall, found.inner_radius, found.lane, found.kerb_gap, found.tail_swing)
    poses = (one.wall_to_wall, one.inner_radius, one.lane, one.kerb_gap, one.tail_swing)
    return [
        (float(a[row]), b)
        for a, b in zip(closed, poses, strict=True)
        if math.isfinite(float(a[row])) or math.isfinite(b)
    ]


def _range_lines(design: Design, over: Measures, unit: LengthUnit) -> list[str]:
    turns = over.turns
    cells = [["", "least", "at turn", "most", "at turn"]]
    for name, span in _spans(design, over):
        if span is None:
            cells.append([name, "-", "-", "-", "-"])
            continue
        sides = ((span.least, span.least_at), (span.most, span.most_at))
        cells.append([name])
        for length, turn in sides:
            shown = show_length(length, unit, of_mm=_DIGITS, suffix=False)
            cells[-1] += [shown, show_number(turn, 4)]
    head = (
        f"Over {len(turns)} even turns from {turns[0]:g} to {turns[-1]:g} "
        f"[{'in' if unit == 'inch' else 'mm'}]; the gentler a turn, the larger its circles:"
    )
    return [head, *_aligned(cells)]


def _spans(design: Design, over: Measures) -> list[tuple[str, Span | None]]:
    named = [(measure.name, span_of(measure.values(over), over.turns)) for measure in MEASURES]
    offs = [
        (off_tracking_name(wheel.name), span_of(over.off_tracking[:, n], over.turns))
        for n, wheel in enumerate(design.wheels)
    ]
    return named + offs


NULL_MEANS = (
    "null stands for a measure that there is not: all circles straight ahead, those of wheels without "
    "wheels, kerb gap and tail swing where no single move leads out of the gap"
)


def values_of(
    design: Design, found: Measures, over: Measures, swept: Sequence[SweptMeasures | None]
) -> dict[str, Any]:
    """Give the same as plain values for JSON, with the unit in each name and null for what there is not."""
    box = found.box
    return {
        "chassis": design.name,
        "largest_turn": design.largest_turn,
        "null_means": NULL_MEANS,
        "box": None
        if box is None
        else {
            "front_mm": _finite(box.front),
            "rear_mm": _finite(box.rear),
            "left_mm": _finite(box.left),
            "right_mm": _finite(box.right),
        },
        "lane_any_motion_mm": None if box is None else _finite(found.any_motion_lane),
        "lane_sliding_mm": None if box is None else _finite(found.sliding_lane),
        "neighbour_mm": _finite(found.neighbour),
        "turns": [
            _turn_values(design, found, row) | ({"pose_by_pose": _swept_values(swept[row])} if swept else {})
            for row in range(len(found))
        ],
        "range": {
            "turns": len(over),
            **{
                key: _span_values(span_of(values, over.turns))
                for key, values in ((measure.key, measure.values(over)) for measure in MEASURES)
            },
            "off_tracking": [
                {"wheel": wheel.name, **(_span_values(span_of(over.off_tracking[:, n], over.turns)) or {})}
                for n, wheel in enumerate(design.wheels)
            ],
        },
    }


def _turn_values(design: Design, found: Measures, row: int) -> dict[str, Any]:
    return {
        "turn_input": float(found.turns[row]),
        "straight": bool(found.straight[row]),
        "centre_x_mm": _finite(float(found.centre[row, 0])),
        "centre_y_mm": _finite(float(found.centre[row, 1])),
        "centre_inside": bool(found.centre_inside[row]),
        **{measure.key: _finite(float(measure.values(found)[row])) for measure in MEASURES},
        "off_tracking": [
            {"wheel": wheel.name, "off_tracking_mm": _finite(float(found.off_tracking[row, n]))}
            for n, wheel in enumerate(design.wheels)
        ],
    }


def _swept_values(one: SweptMeasures | None) -> dict[str, float | None] | None:
    if one is None:
        return None
    return {
        "wall_to_wall_mm": _finite(one.wall_to_wall),
        "inner_radius_mm": _finite(one.inner_radius),
        "lane_mm": _finite(one.lane),
        "kerb_gap_mm": _finite(one.kerb_gap),
        "tail_swing_mm": _finite(one.tail_swing),
    }


def _span_values(span: Span | None) -> dict[str, float | None] | None:
    if span is None:
        return None
    return {
        "least_mm": _finite(span.least),
        "least_at_turn_input": span.least_at,
        "most_mm": _finite(span.most),
        "most_at_turn_input": span.most_at,
    }


def _finite(value: float) -> float | None:
    return round(value, 6) + 0.0 if math.isfinite(value) else None
