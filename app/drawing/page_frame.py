"""What stands round a drawing on each page: bars to check a print by, words, register marks, a page map."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import NamedTuple

from app.drawing.elements import Box, Corner, Element, Line, Outline, Point, Text
from app.drawing.lettering import text_width

MARGIN = 10.0
"""Of a sheet that no printer prints on [mm]."""
STRIP = 8.0
"""At the left, for the upright bar [mm]."""
BAR = 100.0
"""Length of the bars [mm]."""
LEAST_WIDTH, LEAST_HEIGHT = 200.0, 180.0
"""Of a sheet that all this has room on [mm]."""

_LINE, _NAME, _WORDS, _SMALL = 4.2, 3.6, 2.8, 2.4
"""From line to line of the words; heights of the name, of what matters, and of the rest [mm]."""
_BAR_ROOM, _GAP = 6.5, 4.0
"""Height that the lying bar takes with its number; between words and drawing [mm]."""
_MAP_WIDTH, _MAP_HEIGHT, _MAP_CELL = 34.0, 22.0, 8.0
"""Most of the page map, and of one tile in it [mm]."""
_MARK = 3.0
"""Half the length of the lines of a register mark [mm]."""

PRINT = "Print at 100 %, not fit to page. Measure both bars before you mark, cut or drill."
CAUTION = "Clamp the work, wear eye protection, keep fingers clear of tools."
CUT = "Cut along the left and the lower line; lay the sheet on its neighbours, mark on mark."


class Tile(NamedTuple):
    """A place in the grid of tiles, counted from 0 at the upper left."""

    column: int
    row: int

    @property
    def name(self) -> str:
        """The column as letters, the row as a number, as in A1, B2.

        Examples
        --------
        >>> Tile(0, 0).name, Tile(27, 4).name
        ('A1', 'AB5')
        """
        letters, left = "", self.column + 1
        while left:
            left, letter = divmod(left - 1, 26)
            letters = chr(ord("A") + letter) + letters
        return f"{letters}{self.row + 1}"


class Grid(NamedTuple):
    """The tiles that a drawing takes."""

    kept: tuple[Tile, ...]
    """Those that have anything, in the order of the pages: row by row."""
    columns: int
    rows: int
    width: float
    """Of the part of a sheet that shows the drawing [mm]."""
    height: float
    overlap: float
    """Of two neighbours [mm]."""


class Words(NamedTuple):
    """What is said on each page of a set."""

    name: str
    about: str
    """What is drawn, at which scale, on which paper."""
    bar: str
    """What the lying bar says."""
    told: tuple[str, ...] = ()
    """Cautions and notes, a sentence each."""


def window_of(width: float, height: float, lines: int) -> Box:
    """The part of a sheet that shows the drawing, above so many lines of words below the name."""
    low = MARGIN + _BAR_ROOM + _NAME + lines * _LINE + _GAP
    return MARGIN + STRIP, low, width - MARGIN, height - MARGIN


def words_width(width: float) -> float:
    """How wide words may be on a sheet: the page map stands beside them [mm]."""
    return width - 2.0 * MARGIN - _MAP_WIDTH - 4.0


def wrapped(sentences: Iterable[str], width: float) -> tuple[str, ...]:
    """Sentences as lines of the small words that keep to a width; a longer word is cut."""
    lines: list[str] = []
    for sentence in sentences:
        line = ""
        for word in sentence.split():
            longer = f"{line} {word}" if line else word
            if text_width(longer, _SMALL) <= width:
                line = longer
                continue
            lines += [line] if line else []
            line = shortened(word, _SMALL, width)
        lines += [line] if line else []
    return tuple(lines)


def shortened(text: str, height: float, width: float) -> str:
    """A text, cut to a width with an ellipsis where it is wider."""
    if text_width(text, height) <= width:
        return text
    kept = text
    while kept and text_width(f"{kept}…", height) > width:
        kept = kept[:-1]
    return f"{kept.rstrip()}…"


def frame_of(width: float, height: float, words: Words) -> list[Element]:
    """Bars and words of a page; `words.told` is wrapped already."""
    low = window_of(width, height, 2 + len(words.told))[1]
    room = words_width(width)
    y = low - _GAP - 0.76 * _NAME
    made: list[Element] = [
        Text("text", (MARGIN, y), shortened(words.name, _NAME, room), _NAME),
        Text("text", (MARGIN, y - _LINE), shortened(words.about, _WORDS, room), _WORDS),
        Text("text", (MARGIN, y - 2.0 * _LINE), PRINT, _WORDS),
    ]
    made += [Text("text", (MARGIN, y - (3 + k) * _LINE), line, _SMALL) for k, line in enumerate(words.told)]
    made += _bar((MARGIN, MARGIN), (1.0, 0.0), words.bar)
    return made + _bar((MARGIN + _WORDS, low), (0.0, 1.0), "100 mm")


_TICK = 2.5
"""Length of the ticks at the ends of a bar [mm]."""


def _bar(start: Point, along: Point, text: str) -> list[Element]:
    """A bar with a tick each 10 mm, to the left of its direction."""
    (x, y), (ux, uy) = start, along

    def at(far: float, beside: float) -> Point:
        return x + far * ux - beside * uy, y + far * uy + beside * ux

    made: list[Element] = [Line("gauge", at(0.0, 0.0), at(BAR, 0.0))]
    for k in range(11):
        tick = _TICK if k % 5 == 0 else 0.6 * _TICK
        made.append(Line("gauge", at(0.1 * BAR * k, 0.0), at(0.1 * BAR * k, tick)))
    return [*made, Text("text", at(BAR + 2.0, 0.24 * _WORDS), text, _WORDS, "left", math.atan2(uy, ux))]


def tile_frame(grid: Grid, tile: Tile, window: Box, width: float) -> list[Element]:
    """The lines to cut along, the register marks and the page map of a tile."""
    left, low, right, high = window
    corners = (Corner(left, low), Corner(right, low), Corner(right, high), Corner(left, high))
    marks = [mark for place in _mark_places(grid, tile, window) for mark in _register_mark(place)]
    return [Outline("frame", corners), *marks, *_page_map(grid, tile, (width - MARGIN, low - _GAP))]


def _mark_places(grid: Grid, tile: Tile, window: Box) -> list[Point]:
    """Corners of what a tile has in common with its neighbours, each once."""
    left, low, right, high = window
    kept, (column, row), o = frozenset(grid.kept), tile, grid.overlap
    places: list[Point] = []
    for beside, edge, inner in ((column - 1, left, left + o), (column + 1, right, right - o)):
        if Tile(beside, row) in kept:
            places += [(x, y) for x in (edge, inner) for y in (low, high)]
    for beside, edge, inner in ((row - 1, high, high - o), (row + 1, low, low + o)):
        if Tile(column, beside) in kept:
            places += [(x, y) for y in (edge, inner) for x in (left, right)]
    return list(dict.fromkeys(places))


def _register_mark(place: Point) -> list[Element]:
    """A cross in a square that stands on its corner: no kingpin and no hole looks so."""
    (x, y), half = place, 0.5 * _MARK
    diamond = (Corner(x + half, y), Corner(x, y + half), Corner(x - half, y), Corner(x, y - half))
    return [
        Line("frame", (x - _MARK, y), (x + _MARK, y)),
        Line("frame", (x, y - _MARK), (x, y + _MARK)),
        Outline("frame", diamond),
    ]


def _page_map(grid: Grid, tile: Tile, corner: Point) -> Sequence[Element]:
    """All tiles in their grid, this one filled; its upper right corner at `corner`."""
    scale = min(
        _MAP_WIDTH / (grid.columns * grid.width),
        _MAP_HEIGHT / (grid.rows * grid.height),
        _MAP_CELL / max(grid.width, grid.height),
    )
    wide, high = scale * grid.width, scale * grid.height
    x0, y1 = corner[0] - grid.columns * wide, corner[1]
    # The one that is filled comes last, on top of the lines of its neighbours.
    made: list[Element] = []
    for other in sorted(grid.kept, key=lambda one: one == tile):
        x, y = x0 + other.column * wide, y1 - (other.row + 1) * high
        cell = (Corner(x, y), Corner(x + wide, y), Corner(x + wide, y + high), Corner(x, y + high))
        made.append(Outline("dimension", cell, filled=True) if other == tile else Outline("frame", cell))
    return made
