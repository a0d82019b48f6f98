"""Plots over the turn as drawings: lines, ticks and the numbers of the wheels, no picture of points."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from app.drawing.elements import Corner, Drawing, Element, Line, Outline, Point, Text
from app.drawing.lettering import text_width
from app.sheet.turn_rows import TurnRows
from app.units import show_number
from geometry.axes import Floats

WIDE, HIGH = 170.0, 78.0
"""[mm]."""
_LEFT, _RIGHT, _LOW, _TOP = 18.0, 12.0, 14.0, 8.0
_LETTERS = 2.8
_PITCH = 1.15 * _LETTERS
_NEAR = 0.02
"""How far a point that is left out may be off the line [mm]."""


@dataclass(frozen=True)
class _Frame:
    """Where numbers are on the plot."""

    least: float
    most: float
    reach: float

    def at(self, turn: float, value: float) -> Point:
        across = WIDE - _LEFT - _RIGHT
        upward = HIGH - _LOW - _TOP
        share = (value - self.least) / (self.most - self.least)
        # Left turns to the left.
        return _LEFT + across * 0.5 * (1.0 - turn / self.reach), _LOW + upward * share


def plot(name: str, unit: str, rows: TurnRows, values: Floats, wheels: Sequence[int]) -> Drawing:
    """Draw one curve for each wheel over the turn, each with the wheel's number at its end.

    Parameters
    ----------
    name, unit : str
        What is plotted.
    rows : TurnRows
        Turns and breaks.
    values : ndarray, (M, N)
        One column a wheel.
    wheels : sequence of int
        Which columns to draw.
    """
    reach = float(rows.turns[-1])
    shown = values[:, list(wheels)]
    ticks = ticks_between(float(shown.min(initial=0.0)), float(shown.max(initial=0.0)))
    frame = _Frame(ticks[0], ticks[-1], reach)
    made: list[Element] = [*_grid(frame, ticks), _title(f"{name} [{unit}]")]
    ends = []
    for n in wheels:
        for piece in rows.pieces():
            points = [
                frame.at(turn, value)
                for turn, value in zip(rows.turns[piece].tolist(), values[piece, n].tolist(), strict=True)
            ]
            corners = tuple(Corner(x, y) for x, y in thinned(points, _NEAR))
            if len(corners) > 1:
                made.append(Outline("gauge", corners, closed=False))
        ends.append((frame.at(reach, float(values[-1, n])), n))
    labels, notes = _numbers(ends)
    return Drawing(name, (*made, *labels), notes)


def _title(text: str) -> Text:
    return Text("text", (_LEFT, HIGH - 1.4 * _LETTERS), text, _LETTERS)


def _grid(frame: _Frame, ticks: Sequence[float]) -> list[Element]:
    made: list[Element] = []
    right, left = frame.at(-frame.reach, frame.least)[0], _LEFT
    for value in ticks:
        y = frame.at(0.0, value)[1]
        made.append(Line("frame", (left, y), (right, y)))
        made.append(Text("text", (right + 1.5, y - 0.3 * _LETTERS), show_number(value, 4), _LETTERS))
    for turn in (frame.reach * k / 4 for k in range(-4, 5)):
        x, low = frame.at(turn, frame.least)
        made.append(Line("frame", (x, low), (x, frame.at(turn, frame.most)[1])))
        label = show_number(turn, 3)
        made.append(Text("text", (x, low - 1.4 * _LETTERS), label, _LETTERS, "middle"))
    foot = (0.5 * (left + right), 1.0)
    made.append(Text("text", foot, "turn input: left turns to the left", _LETTERS, "middle"))
    return made


def _numbers(ends: list[tuple[Point, int]]) -> tuple[list[Text], tuple[str, ...]]:
    """The numbers of the wheels beside the ends of their curves, and what is too long to stand there.

    Those that would meet stand in one row; where that is too long, a letter stands for it.
    """
    made: list[Text] = []
    notes: list[str] = []
    groups: list[tuple[float, list[int]]] = []
    for (_, y), n in sorted(ends, key=lambda end: (round(end[0][1], 3), end[1])):
        if groups and y - groups[-1][0] < _PITCH:
            groups[-1][1].append(n + 1)
        else:
            groups.append((y, [n + 1]))
    for y, wheels in groups:
        text = runs_of(wheels)
        if text_width(text, _LETTERS) > _LEFT - 2.0:
            letter = chr(ord("a") + len(notes))
            notes.append(f"{letter}: {text}")
            text = letter
        made.append(Text("text", (_LEFT - 1.5, y - 0.3 * _LETTERS), text, _LETTERS, "right"))
    return made, tuple(notes)


def runs_of(numbers: Sequence[int]) -> str:
    """Numbers as few words: runs by their ends.

    Examples
    --------
    >>> runs_of([3, 1, 2, 7]), runs_of([4, 5])
    ('1-3, 7', '4, 5')
    """
    runs: list[list[int]] = []
    for n in sorted(numbers):
        if runs and n == runs[-1][-1] + 1:
            runs[-1].append(n)
        else:
            runs.append([n])
    told = [f"{r[0]}-{r[-1]}" if len(r) > 2 else ", ".join(map(str, r)) for r in runs]
    return ", ".join(told)


def ticks_between(low: float, high: float) -> list[float]:
    """Round numbers that span two others, 0 among them where it lies between.

    Examples
    --------
    >>> ticks_between(-61.0, 87.0), ticks_between(0.0, 0.0)
    ([-100.0, -50.0, 0.0, 50.0, 100.0], [0.0, 0.2, 0.4, 0.6, 0.8, 1.0])
    """
    if high - low < 1e-6:
        low, high = (low, low + 1.0) if low == 0 else (low - 0.5, high + 0.5)
    power = 10.0 ** math.floor(math.log10((high - low) / 3))
    step = next(s * power for s in (1.0, 2.0, 5.0, 10.0) if s * power * 7 >= high - low)
    first, last = math.floor(low / step + 1e-9), math.ceil(high / step - 1e-9)
    return [round(k * step, 9) + 0.0 for k in range(first, last + 1)]


def thinned(points: Sequence[Point], near: float) -> list[Point]:
    """A chain with fewer points, none of those left out further from it than `near`.

    Examples
    --------
    >>> thinned([(0.0, 0.0), (1.0, 0.001), (2.0, 0.0), (3.0, 5.0)], 0.01)
    [(0.0, 0.0), (2.0, 0.0), (3.0, 5.0)]
    """
    if len(points) < 3:
        return list(points)
    chain = np.array(points)
    kept, spans = {0, len(points) - 1}, [(0, len(points) - 1)]
    while spans:
        a, b = spans.pop()
        if b - a < 2:
            continue
        along = chain[b] - chain[a]
        length = float(np.hypot(*along))
        gap = chain[a + 1 : b] - chain[a]
        across = np.abs(gap[:, 0] * along[1] - gap[:, 1] * along[0]) / length if length else np.hypot(*gap.T)
        worst = int(across.argmax())
        if across[worst] > near:
            middle = a + 1 + worst
            kept.add(middle)
            spans += [(a, middle), (middle, b)]
    return [points[k] for k in sorted(kept)]
