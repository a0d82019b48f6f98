"""Drawings on paper: on one sheet, or over tiles that are glued together.

Enter at `pages_of`. A page has the frame of its sheet: the origin is its lower left corner.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Literal, NamedTuple, TypeAlias

from app.drawing.clip import boxes_meet, meets
from app.drawing.elements import Box, Dimension, Drawing, Text, box_of
from app.drawing.lettering import printable, text_width
from app.drawing.page_frame import (
    CAUTION,
    CUT,
    LEAST_HEIGHT,
    LEAST_WIDTH,
    MARGIN,
    STRIP,
    Grid,
    Tile,
    Words,
    frame_of,
    tile_frame,
    window_of,
    words_width,
    wrapped,
)
from geometry.errors import AxlewrightError

Orientation = Literal["portrait", "landscape"]
Scale = float | Literal["fit"]
"""Paper by full size, or the largest round scale that fits one page."""

PAPERS: dict[str, tuple[float, float]] = {
    "A4": (210.0, 297.0),
    "A3": (297.0, 420.0),
    "A2": (420.0, 594.0),
    "A1": (594.0, 841.0),
    "A0": (841.0, 1189.0),
    "Letter": (215.9, 279.4),
    "Tabloid": (279.4, 431.8),
}
"""Width and height upright [mm]."""
Draw: TypeAlias = Callable[[float], Drawing]
"""Draws for a scale, paper by full size."""
FIT = "fit"
"""A sheet as large as the drawing wants."""
LARGEST_SHEET = 5000.0
"""Side of a sheet that is made to fit [mm]; files of pages end at 5080."""
MOST_PAGES = 200
LEAST_SCALE, LARGEST_SCALE = 1 / 200, 10.0
LEAST_OVERLAP, LARGEST_OVERLAP = 3.0, 50.0
"""Of neighbouring tiles [mm]."""
_ROUND_SCALES = (1.0, 1 / 2, 1 / 5, 1 / 10, 1 / 20, 1 / 50, 1 / 100, 1 / 200)
_AIR = 1.0
"""Round the drawing, for the width of its lines [mm]."""
_MOST_NOTES = 8
"""Lines of notes on a page."""
LACKING = "U+ and digits stand for a character that the font of this paper lacks."


class PaperError(AxlewrightError):
    """A drawing that does not go on the paper that was chosen; says what does."""


@dataclass(frozen=True)
class Window:
    """A rectangle of a page, and the drawing that is seen through it."""

    clip: Box
    drawing: Drawing
    """In the frame of the page; what is outside the rectangle is not shown."""


@dataclass(frozen=True)
class Page:
    """One sheet."""

    width_mm: float
    height_mm: float
    drawing: Drawing
    """In the frame of the page: the origin is its lower left corner."""
    window: Window | None = None
    """What lies below it and is cut off at a rectangle."""


class Paged(NamedTuple):
    """A drawing on its pages."""

    pages: tuple[Page, ...]
    told: tuple[str, ...]
    """What is left out, and the notes of the drawing, as sentences."""


class _Job:
    """What is to be laid on pages."""

    def __init__(self, drawing: Drawing | Draw, subject: str) -> None:
        self.subject = subject
        self._draw = partial(_resized, drawing) if isinstance(drawing, Drawing) else drawing
        self._drawn: dict[float, tuple[Drawing, Box]] = {}

    def at(self, scale: float) -> tuple[Drawing, Box]:
        """The drawing on paper, and its box with some air."""
        if scale not in self._drawn:
            drawn = self._draw(scale)
            if not drawn.elements:
                raise PaperError("there is nothing to draw; add wheels or a body first")
            left, low, right, high = box_of(drawn.elements, text_width)
            self._drawn[scale] = drawn, (left - _AIR, low - _AIR, right + _AIR, high + _AIR)
        return self._drawn[scale]

    def box(self, scale: float) -> Box:
        """The box alone."""
        return self.at(scale)[1]

    def told(self, scale: float) -> tuple[str, ...]:
        """The notes of the drawing, and that its font lacks a character."""
        drawing = self.at(scale)[0]
        texts = [drawing.name, *(e.text for e in drawing.elements if isinstance(e, Text | Dimension))]
        lacks = any("U+" in printable(text) for text in texts)
        told = any("U+" in note for note in drawing.notes)
        return (*drawing.notes, LACKING) if lacks and not told else drawing.notes


def _resized(drawing: Drawing, scale: float) -> Drawing:
    return drawing.moved(0.0, 0.0, scale)


class _Sheet(NamedTuple):
    name: str
    width: float
    height: float


def scale_words(scale: float) -> str:
    """A scale as drawings state it.

    Examples
    --------
    >>> scale_words(1.0), scale_words(0.2), scale_words(2.0)
    ('1:1', '1:5', '2:1')
    """
    return f"{scale:.4g}:1" if scale > 1.0 else f"1:{1.0 / scale:.4g}"


def pages_of(
    drawing: Drawing | Draw,
    paper: str = "A4",
    *,
    scale: Scale = 1.0,
    tiles: bool | None = None,
    orientation: Orientation | None = None,
    overlap: float = 10.0,
    subject: str = "Plan, seen from above",
) -> Paged:
    """Lay a drawing on pages.

    Parameters
    ----------
    drawing : Drawing or callable
        At full size, to be resized with its texts at the same height; or what draws it for a scale, so that
        texts and dimensions find their places at that scale.
    paper : str
        One of `PAPERS`, or `FIT`: one sheet as large as the drawing wants.
    scale : float or "fit"
        Paper by full size, from `LEAST_SCALE` to `LARGEST_SCALE`; "fit": the largest of 1:1, 1:2, 1:5, 1:10
        ... at which the drawing fits one page.
    tiles : bool or None
        Several sheets to be glued together, or one; None: one where the drawing fits it.
    orientation : {"portrait", "landscape"} or None
        None: the one that takes fewer sheets, or lets the drawing be larger.
    overlap : float
        Of neighbouring tiles, from `LEAST_OVERLAP` to `LARGEST_OVERLAP` [mm].
    subject : str
        What the drawing shows.

    Raises
    ------
    PaperError
        If there is nothing to draw, a value is out of its range, or the drawing does not go on this paper.
    """
    _refuse(paper, scale, overlap, tiles=tiles)
    job = _Job(drawing, subject)
    number = 1.0 if isinstance(scale, str) else scale
    if paper == FIT:
        return _on_fitting_sheet(job, number)
    sheets = _sheets(paper, orientation)
    one = None if tiles else _on_one_sheet(job, sheets, scale)
    if one is not None:
        return one
    if tiles is False or scale == "fit":
        raise PaperError(_too_large(job, sheets, scale))
    return _on_tiles(job, sheets, number, overlap)


def _refuse(paper: str, scale: Scale, overlap: float, *, tiles: bool | None) -> None:
    if paper != FIT and paper not in PAPERS:
        raise PaperError(f"the paper must be one of {', '.join(PAPERS)} or {FIT} (got {paper[:40]!r})")
    if paper == FIT and (tiles or scale == "fit"):
        what = "tiles are of paper with a size" if tiles else "a sheet made to fit takes any scale"
        raise PaperError(
            f"{what}: choose one of {', '.join(PAPERS)}, or leave {'tiles' if tiles else 'the scale'} out"
        )
    if scale == "fit" and tiles:
        raise PaperError(
            "a scale that fits one page needs no tiles; choose a scale such as 1:2, or one sheet"
        )
    if scale != "fit" and not LEAST_SCALE <= scale <= LARGEST_SCALE:
        least, largest = scale_words(LEAST_SCALE), scale_words(LARGEST_SCALE)
        raise PaperError(f"the scale must be from {least} to {largest} (got {scale:g} mm of paper for 1 mm)")
    if not LEAST_OVERLAP <= overlap <= LARGEST_OVERLAP:
        raise PaperError(
            f"the overlap must be from {LEAST_OVERLAP:g} to {LARGEST_OVERLAP:g} mm (got {overlap:g} mm)"
        )


def _sheets(paper: str, orientation: Orientation | None) -> list[_Sheet]:
    """The sheet in the orientations that may be chosen."""
    short, long = PAPERS[paper]
    upright = _Sheet(f"{paper} portrait", short, long)
    lying = _Sheet(f"{paper} landscape", long, short)
    return {"portrait": [upright], "landscape": [lying]}.get(orientation or "", [upright, lying])


def _words(job: _Job, scale: float, sheet: _Sheet, cautions: Sequence[str]) -> Words:
    """What is said on each page of a set; the tile and the number come later."""
    bar = "100 mm" if scale == 1.0 else f"100 mm on paper, {100.0 / scale:.5g} mm of the robot"
    lines = wrapped([*cautions, *map(printable, job.told(scale))], words_width(sheet.width))
    most = _MOST_NOTES + len(cautions)
    if len(lines) > most:
        lines = (*lines[: most - 1], "There are more notes; the program tells them all.")
    about = f"{job.subject} · {scale_words(scale)} · {sheet.name}"
    return Words(printable(job.at(scale)[0].name), about, bar, lines)


def _window(sheet: _Sheet, words: Words) -> Box:
    return window_of(sheet.width, sheet.height, 2 + len(words.told))


# One sheet ------------------------------------------------------------------------------------


def _on_one_sheet(job: _Job, sheets: Sequence[_Sheet], scale: Scale) -> Paged | None:
    """The drawing on one of the sheets, at the largest of the scales; None where it fits none."""
    for one in _ROUND_SCALES if isinstance(scale, str) else (scale,):
        there, box = job.at(one)
        for sheet in sheets:
            words = _words(job, one, sheet, [CAUTION])
            if _fits(box, _window(sheet, words)):
                return _one_page(there, box, sheet, words, job.told(one))
    return None


def _fits(box: Box, window: Box) -> bool:
    return box[2] - box[0] <= window[2] - window[0] and box[3] - box[1] <= window[3] - window[1]


def _one_page(there: Drawing, box: Box, sheet: _Sheet, words: Words, told: Sequence[str]) -> Paged:
    window = _window(sheet, words)
    shift = [0.5 * (window[k] + window[k + 2] - box[k] - box[k + 2]) for k in (0, 1)]
    numbered = words._replace(about=f"{words.about} · page 1 of 1")
    around = frame_of(sheet.width, sheet.height, numbered)
    placed = there.moved(*shift)
    page = Page(sheet.width, sheet.height, Drawing(there.name, (*placed.elements, *around), there.notes))
    return Paged((page,), tuple(told))


def _on_fitting_sheet(job: _Job, scale: float) -> Paged:
    sheet = _fitting_sheet(job, scale)
    if not _can_be(sheet):
        smaller = _smaller(scale, lambda one: _can_be(_fitting_sheet(job, one)))
        raise PaperError(
            f"one sheet would be {sheet.width:g} × {sheet.height:g} mm at {scale_words(scale)}, "
            f"and {LARGEST_SHEET:g} mm is the most for a side; choose tiles{smaller}"
        )
    there, box = job.at(scale)
    return _one_page(there, box, sheet, _words(job, scale, sheet, [CAUTION]), job.told(scale))


def _can_be(sheet: _Sheet) -> bool:
    return max(sheet.width, sheet.height) <= LARGEST_SHEET


def _fitting_sheet(job: _Job, scale: float) -> _Sheet:
    """The smallest sheet of whole millimetres that has room."""
    box = job.box(scale)
    width = max(LEAST_WIDTH, math.ceil(box[2] - box[0] + 2.0 * MARGIN + STRIP))
    # How many lines the words take, and so how high they are, follows from the width.
    words = _words(job, scale, _Sheet("", width, 0.0), [CAUTION])
    low, high = _window(_Sheet("", width, 0.0), words)[1::2]
    height = max(LEAST_HEIGHT, math.ceil(box[3] - box[1] + low - high))
    return _Sheet(f"sheet of {width:g} × {height:g} mm", width, height)


def _smaller(scale: float, serves: Callable[[float], bool]) -> str:
    """The largest round scale that serves, as the end of a list of remedies; empty where none does."""
    found = next((one for one in _ROUND_SCALES if one < scale and serves(one)), None)
    return "" if found is None else f", or the scale {scale_words(found)}"


def _too_large(job: _Job, sheets: Sequence[_Sheet], scale: Scale) -> str:
    """Why a drawing does not go on one sheet, and what does."""

    def room(one: float) -> Box:
        return _window(sheets[0], _words(job, one, sheets[0], [CAUTION]))

    at = _ROUND_SCALES[-1] if scale == "fit" else scale
    box, window = job.box(at), room(at)
    smaller = _smaller(at, lambda one: _fits(job.box(one), room(one)))
    return (
        f"the drawing is {box[2] - box[0]:.0f} × {box[3] - box[1]:.0f} mm at {scale_words(at)}, "
        f"and {sheets[0].name} has room for {window[2] - window[0]:.0f} × {window[3] - window[1]:.0f} mm; "
        f"choose tiles, larger paper, a sheet made to fit ({FIT}){smaller}"
    )


# Tiles ----------------------------------------------------------------------------------------


class _Laid(NamedTuple):
    """How a drawing lies under the tiles of one kind of sheet."""

    sheet: _Sheet
    words: Words
    columns: int
    rows: int

    @property
    def size(self) -> int:
        """How many sheets, empty ones included."""
        return self.columns * self.rows


def _on_tiles(job: _Job, sheets: Sequence[_Sheet], scale: float, overlap: float) -> Paged:
    laid = _fewest(job, sheets, scale, overlap)
    if laid.size > MOST_PAGES:
        smaller = _smaller(scale, lambda one: _fewest(job, sheets, one, overlap).size <= MOST_PAGES)
        raise PaperError(
            f"{laid.columns} × {laid.rows} = {laid.size} sheets of {laid.sheet.name} would be needed at "
            f"{scale_words(scale)}, and {MOST_PAGES} is the most; choose larger paper{smaller}"
        )
    there, box = job.at(scale)
    left, low, right, high = _window(laid.sheet, laid.words)
    wide, tall = right - left, high - low
    # All tiles together stand about the middle of the drawing.
    x0 = 0.5 * (box[0] + box[2] - overlap - laid.columns * (wide - overlap))
    y1 = 0.5 * (box[1] + box[3] + overlap + laid.rows * (tall - overlap))
    boxes = [box_of([element], text_width) for element in there.elements]
    seen: dict[Tile, Drawing] = {}
    for tile in (Tile(column, row) for row in range(laid.rows) for column in range(laid.columns)):
        x, y = x0 + tile.column * (wide - overlap), y1 - tall - tile.row * (tall - overlap)
        shown = (x, y, x + wide, y + tall)
        inside = [
            element
            for element, around in zip(there.elements, boxes, strict=True)
            if boxes_meet(around, shown) and meets(element, shown, text_width)
        ]
        seen[tile] = Drawing(there.name, tuple(inside)).moved(left - x, low - y)
    kept = _kept([tile for tile in seen if seen[tile].elements], list(seen))
    grid = Grid(tuple(kept), laid.columns, laid.rows, wide, tall, overlap)
    pages = tuple(_tile_pages(laid, grid, seen))
    left_out = [tile.name for tile in seen if tile not in kept]
    return Paged(pages, (*_told_of_tiles(laid, scale, left_out), *job.told(scale)))


def _fewest(job: _Job, sheets: Sequence[_Sheet], scale: float, overlap: float) -> _Laid:
    """The way to lay the drawing that takes the fewest sheets."""
    box = job.box(scale)
    ways = []
    for sheet in sheets:
        words = _words(job, scale, sheet, [CUT, CAUTION])
        window = _window(sheet, words)
        columns, rows = (
            max(1, math.ceil((box[k + 2] - box[k] - overlap) / (window[k + 2] - window[k] - overlap)))
            for k in (0, 1)
        )
        ways.append(_Laid(sheet, words, columns, rows))
    return min(ways, key=lambda way: way.size)


def _tile_pages(laid: _Laid, grid: Grid, seen: dict[Tile, Drawing]) -> Iterator[Page]:
    sheet, window = laid.sheet, _window(laid.sheet, laid.words)
    for number, tile in enumerate(grid.kept, 1):
        about = f"{laid.words.about} · tile {tile.name} · page {number} of {len(grid.kept)}"
        around = [
            *frame_of(sheet.width, sheet.height, laid.words._replace(about=about)),
            *tile_frame(grid, tile, window, sheet.width),
        ]
        name = seen[tile].name
        yield Page(sheet.width, sheet.height, Drawing(name, tuple(around)), Window(window, seen[tile]))


def _told_of_tiles(laid: _Laid, scale: float, left_out: Sequence[str]) -> list[str]:
    count = laid.size - len(left_out)
    pages = f"{count} sheet{'s' if count > 1 else ''} of {laid.sheet.name} at {scale_words(scale)}"
    if not left_out:
        return [f"{pages}."]
    named = ", ".join(left_out)
    return [f"{pages}; left out, since nothing is on {'them' if len(left_out) > 1 else 'it'}: {named}."]


def _kept(drawn: Sequence[Tile], tiles: Sequence[Tile]) -> list[Tile]:
    """Tiles with something on them, and those without that they hang together by."""
    kept = set(tiles)
    for tile in tiles:
        if tile not in drawn and _hang_together(kept - {tile}):
            kept.discard(tile)
    return [tile for tile in tiles if tile in kept]


def _hang_together(tiles: Iterable[Tile]) -> bool:
    left = set(tiles)
    edge = [left.pop()] if left else []
    while edge:
        here = edge.pop()
        near = left & {Tile(here.column + dx, here.row + dy) for dx, dy in ((-1, 0), (1, 0), (0, -1), (0, 1))}
        left -= near
        edge += list(near)
    return not left
