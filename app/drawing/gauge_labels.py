"""Marks of a gauge with their labels, in a column on either side, each with a leader to its mark."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from app.drawing.elements import Align, Circle, Element, Line, Point, Text
from app.drawing.gauge_marks import SAME, Mark, show_steer
from app.drawing.gauge_scale import CAPITAL, LABEL, LINE, MARK, Frame, Side
from app.drawing.lettering import printable, text_width
from app.drawing.spreading import spread

FULL, OPEN = "\u25cf", "\u25cb"
"""What stands before the marks of the first wheel of a pair, and of the second."""
WIDEST_LABEL = 50.0
"""Widest line of a label [mm]."""
_DOT, _COLUMN = 0.7, 5.0


@dataclass(frozen=True)
class Label:
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
    def numbers(self) -> tuple[str, ...]:
        """What is told, after the dots of those whom it is told of."""
        signs: dict[str, str] = {}
        for sign, told in zip(self.signs, self.told, strict=True):
            signs[told] = signs.get(told, "") + sign
        return tuple(f"{sign}  {told}" if sign else told for told, sign in signs.items())

    @property
    def lines(self) -> tuple[str, ...]:
        """As few as the column is wide enough for."""
        lines = wrapped("; ".join(self.names), LABEL, WIDEST_LABEL)
        numbers = self.numbers
        one = f"{lines[-1]}  {numbers[0]}"
        if len(numbers) == 1 and text_width(one, LABEL) <= WIDEST_LABEL:
            return (*lines[:-1], one)
        return (*lines, *numbers)

    @property
    def high(self) -> float:
        """From the lowest to the highest of its lines [mm]."""
        return LABEL * (1.0 + LINE * (len(self.lines) - 1))


def marks_of(sides: list[Side], frame: Frame) -> tuple[list[Element], list[Element]]:
    """A tick for each mark, and its label in a column to the left or to the right, by a leader."""
    labels = _joined([label for side in sides for label in _labels(side, frame)])
    made: list[Element] = []
    ends: list[tuple[Point, Point]] = []
    texts: list[Element] = []
    angles: list[float] = []
    for way in (1.0, -1.0):
        chosen = [x for x in labels if not x.ahead and (x.bearing > 0) == (way > 0)]
        chosen.sort(key=lambda label: (abs(label.bearing), label.signs))
        for label, middle in zip(chosen, _middles(chosen, way, frame), strict=True):
            angle = next((a for a in angles if _same_place(a, label.angle)), label.angle)
            angles.append(angle)
            tip = frame.at(angle, frame.out)
            made.append(Line("gauge", frame.at(angle, frame.rim), tip))
            # Marks of the two wheels may come close: their dots lie apart.
            dots = {sign: frame.rim + 0.5 * MARK if sign == OPEN else frame.out for sign in label.signs}
            made += [
                Circle("gauge", frame.at(angle, along), _DOT, filled=sign != OPEN)
                for sign, along in dots.items()
            ]
            turn = -way * column_of(frame), middle
            ends.append((tip, turn))
            texts += _block(label, (turn[0] - way * 0.8, middle), "right" if way > 0 else "left")
    made += [Line("frame", *pair) for pair in ends]
    # Two labels of one angle have one tick.
    return [*dict.fromkeys(made), *_top(labels, ends, frame)], texts


def _labels(side: Side, frame: Frame) -> list[Label]:
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
        told = "  ".join(part for part in (show_steer(angle), group[0].told) if part)
        ahead = abs(angle + frame.toe) <= SAME
        bearing = frame.bearing(angle, frame.out)
        found.append(Label(angle, bearing, ahead, names, (side.sign,), (told,)))
    return found


def _joined(labels: list[Label]) -> list[Label]:
    """Those of two wheels that say the same of the same angle as one."""
    found: list[Label] = []
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


def _same_place(one: float, other: float) -> bool:
    """Whether a wheel stands alike at two steer angles; the ends of a whole turn are one place."""
    return abs(math.remainder(one - other, 2.0 * math.pi)) <= SAME


def column_of(frame: Frame) -> float:
    """How far the columns of labels are from the kingpin, to either side [mm]."""
    return math.hypot(frame.out, frame.across) + _COLUMN


def _middles(labels: list[Label], way: float, frame: Frame) -> list[float]:
    """Heights of labels, such that no leader runs back over the scale."""
    radius, column, gap = math.hypot(frame.out, frame.across), column_of(frame), 1.5
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


def _block(label: Label, beside: Point, align: Align) -> list[Text]:
    """The lines of a label about a middle height."""
    x, middle = beside
    step = LINE * LABEL
    first = middle + 0.5 * step * (len(label.lines) - 1) - 0.5 * CAPITAL * LABEL
    return [Text("text", (x, first - k * step), line, LABEL, align) for k, line in enumerate(label.lines)]


def _top(labels: list[Label], leaders: list[tuple[Point, Point]], frame: Frame) -> list[Element]:
    """What stands straight ahead, its line drawn long: its words are above all leaders that pass there."""
    ahead = [label for label in labels if label.ahead]
    if not ahead:
        return []
    lines = list(dict.fromkeys(line for label in ahead for line in ("; ".join(label.names), *label.numbers)))
    tip = frame.at(ahead[0].angle, frame.out)
    half = 0.5 * max(text_width(line, LABEL) for line in lines) + 1.0
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
        place = tip[0], low + 1.2 + LINE * LABEL * k
        made.append(Text("text", place, line, LABEL, "middle"))
    return made


def wrapped(text: str, height: float, widest: float) -> list[str]:
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
