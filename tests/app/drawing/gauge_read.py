"""A gauge read back from its own lines and texts, as a person with a rule would read it."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from itertools import pairwise

from app.drawing.elements import Arc, Drawing, Line, Outline, Text, text_corners
from app.drawing.lettering import text_width

NEAR = 1e-6
FILLED, OPEN = "●", "○"
# The end of a label: whose mark it is, its angle, and what the motor is told there.
_TOLD = re.compile(r"(?:(●○|●|○)  )?([+−]?[0-9.]+)°(?:  (−?[0-9.]+)(?: µs)?)?$")


@dataclass(frozen=True)
class Read:
    """A mark as it is drawn."""

    sign: str
    name: str
    heading: float
    """Direction of its tick, counter-clockwise from straight ahead [rad]."""
    shown: float
    """Angle that its label tells [degrees]."""
    told: str
    """What its label tells the motor; empty where nothing."""
    line: Line


def number(text: str) -> float:
    return float(text.replace("−", "-").removeprefix("±"))


def heading_of(line: Line) -> float:
    (ax, ay), (bx, by) = line.start, line.end
    return math.atan2(-(bx - ax), by - ay)


def angle_between(one: float, other: float) -> float:
    return abs(math.remainder(one - other, 2.0 * math.pi))


def rim_of(gauge: Drawing) -> float:
    (arc,) = (e for e in gauge.elements if isinstance(e, Arc))
    assert arc.centre == (0.0, 0.0)
    return arc.radius


def _lines(gauge: Drawing) -> list[Line]:
    return [e for e in gauge.elements if isinstance(e, Line)]


def scale_ticks(gauge: Drawing) -> list[Line]:
    """Lines that end on the scale from inside."""
    rim = rim_of(gauge)
    return [
        line
        for line in _lines(gauge)
        if abs(math.hypot(*line.end) - rim) < NEAR and 1.0 < rim - math.hypot(*line.start) < 6.0
    ]


def mark_ticks(gauge: Drawing) -> list[Line]:
    """Lines that go out from the scale."""
    rim = rim_of(gauge)
    return [
        line
        for line in _lines(gauge)
        if line.role == "gauge"
        and abs(math.hypot(*line.start) - rim) < NEAR
        and math.hypot(*line.end) > rim + 1.0
    ]


def texts(gauge: Drawing) -> list[Text]:
    return [e for e in gauge.elements if isinstance(e, Text)]


def middle(text: Text) -> tuple[float, float]:
    corners = text_corners(text, text_width)
    return sum(x for x, _ in corners) / 4, sum(y for _, y in corners) / 4


def _blocks(gauge: Drawing) -> list[list[Text]]:
    """Lines of text that stand below each other as one."""
    columns: dict[tuple[float, str], list[Text]] = {}
    for text in texts(gauge):
        if text.turn == 0.0 and abs(text.height - 2.2) < 1e-9:
            columns.setdefault((round(text.place[0], 3), text.align), []).append(text)
    found = []
    for column in columns.values():
        column.sort(key=lambda text: -text.place[1])
        block = [column[0]]
        for above, below in pairwise(column):
            if above.place[1] - below.place[1] > 3.2:
                found.append(block)
                block = []
            block.append(below)
        found.append(block)
    return found


def _block_at(gauge: Drawing, leader: Line) -> list[Text]:
    """The label at the end of a leader: beside it at its height; above it for what is ahead."""
    x, y = leader.end

    def off(block: list[Text]) -> float:
        top, low = block[0].place[1], block[-1].place[1]
        if block[0].align == "middle":
            return math.hypot(block[0].place[0] - x, low - 1.2 - y)
        gap = block[0].place[0] - x
        return math.hypot(abs(gap) - 0.8, 0.5 * (top + low) + 0.5 * 0.73 * 2.2 - y)

    best = min(_blocks(gauge), key=off)
    assert off(best) < 1e-6, (leader, best)
    return best


def marks_of(gauge: Drawing) -> list[Read]:
    """Each mark with its name: from its tick along its leader to its label."""
    found = []
    for tick in mark_ticks(gauge):
        leaders = [line for line in _lines(gauge) if line.start == tick.end]
        assert leaders, "a mark without a label"
        for leader in leaders:
            found += _read(gauge, tick, _block_at(gauge, leader))
    return found


def _read(gauge: Drawing, tick: Line, block: list[Text]) -> list[Read]:
    found, names = [], ""
    for text in block:
        told = _TOLD.search(text.text)
        if told is None:
            names = f"{names} {text.text}".strip()
            continue
        names = f"{names} {text.text[: told.start()]}".strip()
        signs, shown, motor = told.groups(default="")
        found += [
            Read(sign, name, heading_of(tick), number(shown), motor, tick)
            for name in names.split("; ")
            for sign in signs or ("",)
        ]
        if not _more_of_the_same(gauge, text):
            names = ""
    return found


def _more_of_the_same(gauge: Drawing, text: Text) -> bool:
    """Whether the line below tells of the other wheel, by the same names."""
    step = 1.25 * 2.2
    return any(
        other.align == text.align
        and other.place[0] == text.place[0]
        and abs(text.place[1] - other.place[1] - step) < 1e-6
        and other.text.startswith(OPEN)
        for other in texts(gauge)
    )


def wheel_line(gauge: Drawing) -> tuple[tuple[float, float], tuple[float, float]]:
    """Rear and front end of the wheel's centre line, by its outline."""
    (outline,) = (e for e in gauge.elements if isinstance(e, Outline) and e.role == "wheel")
    front_left, rear_left, rear_right, front_right = ((c.x, c.y) for c in outline.corners)

    def between(a: tuple[float, float], b: tuple[float, float]) -> tuple[float, float]:
        return 0.5 * (a[0] + b[0]), 0.5 * (a[1] + b[1])

    return between(rear_left, rear_right), between(front_left, front_right)
