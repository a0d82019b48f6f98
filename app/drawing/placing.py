"""Where texts find room: beside what they name, on no other text, and where it can be on no line."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Sequence
from typing import NamedTuple

import numpy as np

from app.drawing.elements import (
    Align,
    Box,
    Circle,
    Dimension,
    Element,
    Line,
    Outline,
    Point,
    Role,
    Text,
    box_of,
    on_circle,
    parts_of,
    points_of,
    text_corners,
)
from app.drawing.lettering import printable, text_width
from geometry.axes import Bools, Floats

SMALL, LETTERS = 2.4, 3.0
"""Heights of the font [mm]."""
_CLEAR = 0.5
"""Least gap between two texts [mm]."""
_MOST_CROSSED = 2
"""A text that must cross more lines than this is called by a number."""
_STEP = 2.0
_MOST_TOLD = 3


class Spot(NamedTuple):
    """A place that a text may have."""

    place: Point
    align: Align = "middle"
    turn: float = 0.0
    height: float = LETTERS


class Board:
    """What stands on paper so far, so that texts find room beside it."""

    def __init__(self, elements: Iterable[Element] = ()) -> None:
        self._texts: list[Box] = []
        self._lines: list[tuple[float, float, float, float]] = []
        self._table: Floats | None = None
        self._boxes: Floats | None = None
        for element in elements:
            self.add(element)

    def add(self, element: Element) -> None:
        """Let something stand where it is."""
        match element:
            case Text():
                self._texts.append(_box(element))
                self._boxes = None
                return
            case Line():
                self._lines.append((*element.start, *element.end))
            case Dimension():
                for part in parts_of(element):
                    self.add(part)
            case Outline():
                points = points_of(element, 0.5)
                ends = [*points[1:], points[0]] if element.closed else points[1:]
                self._lines += [(*a, *b) for a, b in zip(points, ends, strict=False)]
            case _:
                sweep = 2.0 * math.pi if isinstance(element, Circle) else element.sweep
                start = 0.0 if isinstance(element, Circle) else element.start
                turns = [start + sweep * k / 24 for k in range(25)]
                points = [on_circle(element.centre, element.radius, turn) for turn in turns]
                self._lines += [(*a, *b) for a, b in itertools.pairwise(points)]
        self._table = None

    def fit(self, role: Role, text: str, spots: Sequence[Spot], most: int = _MOST_CROSSED) -> Text | None:
        """The text at the first of the places that crosses the fewest lines, and lies on no text.

        It stands there from now on; None where each place is taken or crosses more than `most` lines.
        """
        best: tuple[int, Text] | None = None
        for spot in spots:
            tried = Text(role, spot.place, text, spot.height, spot.align, spot.turn)
            box = _box(tried)
            if not self._are_free(np.array([box]))[0]:
                continue
            crossed = self._crossed(box)
            if crossed <= most and (best is None or crossed < best[0]):
                best = crossed, tried
            if crossed == 0:
                break
        if best is None:
            return None
        self.add(best[1])
        return best[1]

    def near(self, role: Role, text: str, at: Point, height: float = LETTERS) -> list[Element]:
        """The text as near to a point as there is room, with a line to it where it had to go away."""
        wide = text_width(text, height)
        low = at[1] - 0.26 * height
        best: tuple[float, float, Point] | None = None
        last = 1_000.0
        for ring in range(1_000):
            far = _STEP * ring
            if far > last:
                break
            turns = 2.0 * math.pi * np.arange(max(1, 8 * ring)) / max(1, 8 * ring)
            x, y = at[0] + far * np.cos(turns), low + far * np.sin(turns)
            boxes = np.stack([x - 0.5 * wide, y - 0.24 * height, x + 0.5 * wide, y + 0.76 * height], axis=1)
            for k in np.flatnonzero(self._are_free(boxes)):
                # A free place with fewer lines is worth a little way.
                cost = self._crossed(boxes[k]) + far / 6.0
                if best is None or cost < best[0]:
                    best = cost, far, (float(x[k]), float(y[k]))
                    last = min(last, 6.0 * cost, far + 3.0 * _STEP)
        if best is None:  # no drawing is so full
            raise AssertionError("no room for a text")
        found = Text(role, best[2], text, height, "middle")
        self.add(found)
        if best[1] <= 0.5 * height:
            return [found]
        return [*_leader(at, found, wide), found]

    def _are_free(self, boxes: Floats) -> Bools:
        """Which of some boxes (K, 4) lie on no text."""
        if not self._texts:
            return np.ones(len(boxes), dtype=bool)
        if self._boxes is None:
            self._boxes = np.array(self._texts).reshape(-1, 4)
        texts, own = self._boxes, boxes[:, None]
        apart = (
            (texts[:, 0] >= own[..., 2] + _CLEAR)
            | (texts[:, 2] <= own[..., 0] - _CLEAR)
            | (texts[:, 1] >= own[..., 3] + _CLEAR)
            | (texts[:, 3] <= own[..., 1] - _CLEAR)
        )
        return np.asarray(apart.all(axis=1))

    def _crossed(self, box: Sequence[float] | Floats) -> int:
        """How many lines go through a box."""
        if not self._lines:
            return 0
        if self._table is None:
            table = np.array(self._lines).reshape(-1, 4)
            low, high = np.minimum(table[:, :2], table[:, 2:]), np.maximum(table[:, :2], table[:, 2:])
            self._table = np.hstack([table, low, high])
        t = self._table
        near = (t[:, 4] <= box[2]) & (t[:, 5] <= box[3]) & (t[:, 6] >= box[0]) & (t[:, 7] >= box[1])
        some = t[near]
        if not len(some):
            return 0
        # Of those whose own boxes meet it, the lines that have corners of it on both sides.
        along = some[:, 2:4] - some[:, :2]
        across = along[:, 1] * some[:, 0] - along[:, 0] * some[:, 1]
        x, y = np.array([box[0], box[2], box[2], box[0]]), np.array([box[1], box[1], box[3], box[3]])
        side = along[:, :1] * y - along[:, 1:] * x + across[:, None]
        return int(np.count_nonzero((side.min(axis=1) <= 0.0) & (side.max(axis=1) >= 0.0)))


def _box(text: Text) -> Box:
    corners = text_corners(text, text_width)
    xs, ys = [x for x, _ in corners], [y for _, y in corners]
    return min(xs), min(ys), max(xs), max(ys)


def _leader(at: Point, text: Text, wide: float) -> list[Element]:
    """A line from a point to the nearest end of a text; whatever it points at, it is nothing to be cut."""
    middle = text.place[1] + 0.26 * text.height
    ends = (text.place[0] - 0.5 * wide - 0.6, middle), (text.place[0] + 0.5 * wide + 0.6, middle)
    end = min(ends, key=lambda end: math.dist(end, at))
    if math.dist(end, at) < 1.5:
        return []
    return [Circle("dimension", at, 0.35, filled=True), Line("dimension", at, end)]


class Keys:
    """Names that had no room, each called by a number of its own."""

    def __init__(self, letter: str) -> None:
        self._letter = letter
        self.names: list[tuple[str, str]] = []
        """Key and name in turn."""

    def key(self, name: str) -> str:
        """A key for a name, which is listed from now on."""
        self.names.append((f"{self._letter}{len(self.names) + 1}", name))
        return self.names[-1][0]


def spots_around(box: Box, *, outward: float, gap: float = 1.2) -> list[Spot]:
    """Places of a text about a box: away from the middle of the drawing first.

    Parameters
    ----------
    box : Box
        What it names.
    outward : float
        Below 0 where left leads away from the middle, else right.
    gap : float
        Between the two [mm].
    """
    low_x, low_y, high_x, high_y = box
    x, y = 0.5 * (low_x + high_x), 0.5 * (low_y + high_y)
    above, below = high_y + gap + 0.24 * LETTERS, low_y - gap - 0.76 * LETTERS
    level = y - 0.26 * LETTERS
    spots = [Spot((x, above)), Spot((x, below))]
    beside: list[Spot] = []
    for height in (above, below, high_y - LETTERS, low_y + gap, y + gap, level):
        left, right = Spot((low_x - gap, height), "right"), Spot((high_x + gap, height), "left")
        beside += [left, right] if outward < 0 else [right, left]
    # Away from the middle first, level with the ends of what is named.
    return [*beside[4::2], *spots, *beside[0:4], *beside[5::2]]


_SHIFTS = ((0.0, 0.0), (0.0, 0.3), (0.0, -0.3), (0.45, 0.0), (-0.45, 0.0), (0.45, 0.3), (-0.45, 0.3))
"""In the middle, and beside lines that run through it, as shares of the room."""


def spots_within(box: Box, text: str) -> list[Spot]:
    """Places of a text inside a box, where it fits: lying, standing, and both in small letters."""
    low_x, low_y, high_x, high_y = box
    x, y = 0.5 * (low_x + high_x), 0.5 * (low_y + high_y)
    spots: list[Spot] = []
    for height in (LETTERS, SMALL):
        wide, tall = text_width(text, height) + 1.0, height + 0.6
        for turn, along, across in (
            (0.0, high_x - low_x, high_y - low_y),
            (0.5 * math.pi, high_y - low_y, high_x - low_x),
        ):
            if wide > along or tall > across:
                continue
            # In the middle, and beside lines that run through it.
            shifts = [
                (0.0, 0.0),
                (0.0, 0.3),
                (0.0, -0.3),
                (0.45, 0.0),
                (-0.45, 0.0),
                (0.45, 0.3),
                (-0.45, 0.3),
            ]
            for u, v in shifts:
                du, dv = u * (along - wide), v * (across - tall) - 0.26 * height
                place = (x - dv, y + du) if turn else (x + du, y + dv)
                spots.append(Spot(place, turn=turn, height=height))
    return spots


# Below the drawing ---------------------------------------------------------------------------


def wrapped(text: str, wide: float, height: float = LETTERS) -> list[str]:
    """A text in lines as wide as this at the most, unless one word is wider [mm]."""
    lines: list[str] = []
    for word in text.split():
        if lines and text_width(f"{lines[-1]} {word}", height) <= wide:
            lines[-1] = f"{lines[-1]} {word}"
        else:
            lines.append(word)
    return lines


def written_below(
    box: Box, title: str, sentences: Sequence[str], lists: Sequence[tuple[str, Sequence[tuple[str, str]]]]
) -> list[Element]:
    """Title, sentences and lists of keys with names below all else, within its width where they can be."""
    wide = max(box[2] - box[0], 110.0)
    left, y = box[0], box[1] - 11.0
    made: list[Element] = [Text("text", (left, y), title, 5.0)]
    y -= 2.0
    for sentence in sentences:
        for line in wrapped(sentence, wide):
            y -= 4.8
            made.append(Text("text", (left, y), line, LETTERS))
    for head, rows in lists:
        if not rows:
            continue
        y -= 7.5
        made.append(Text("text", (left, y), head, LETTERS))
        key_wide = max(text_width(key, LETTERS) for key, _ in rows) + 2.0
        column = key_wide + max(text_width(name, LETTERS) for _, name in rows) + 6.0
        columns = max(1, min(len(rows), int(wide // column)))
        deep = math.ceil(len(rows) / columns)
        for i, (key, name) in enumerate(rows):
            x, row_y = left + column * (i // deep), y - 4.8 * (1 + i % deep)
            made.append(Text("text", (x, row_y), key, LETTERS))
            made.append(Text("text", (x + key_wide, row_y), name, LETTERS))
        y -= 4.8 * deep
    return made


def size_of(elements: Sequence[Element]) -> Box:
    """The box around elements, their texts included."""
    return box_of(elements, text_width)


# Names -----------------------------------------------------------------------------------------


def notes_of_names(names: Iterable[str]) -> list[str]:
    """A note of the names that hold characters which the font lacks; none where there are no such names."""
    lacking = [printable(name) for name in dict.fromkeys(names) if printable(name) != name]
    if not lacking:
        return []
    told = ", ".join(lacking[:_MOST_TOLD])
    more = f" and {len(lacking) - _MOST_TOLD} more" if len(lacking) > _MOST_TOLD else ""
    return [f"Characters that the font lacks are written by their numbers, U+XXXX, in: {told}{more}."]
