"""Blocks of a sheet as items that are stacked on paper, each short enough for a page.

The origin of an item is its upper left corner: all of it has y from 0 down to minus its height.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from app.drawing.elements import Corner, Element, Line, Outline, Text
from app.drawing.lettering import printable, text_width
from app.sheet.blocks import MOST_WIDE, Block, Caution, Figure, Heading, Paragraph, Side, Steps, Table

TITLE, HEAD, BODY, SMALL = 7.0, 4.6, 3.1, 2.6
"""Heights of the font [mm]."""
_PITCH = 1.4
"""From one line to the next, in heights of the font."""
_GAP = 3.0
"""Between columns [mm]."""
_PAD = 1.0
"""Above and below the lines of a row [mm]."""
_MOST_LINES = 25
"""Of one item: what is longer goes on in the next."""
_LONGEST_WORD, _LEAST_COLUMN = 30.0, 6.0
"""What a word wants of its column at most, and what every column has [mm]."""
_ROUNDING = 1e-6
"""[mm]."""
_BOX, _NUMBER, _INDENT = 3.2, 6.0, 14.0
"""Side of a box to tick; where its step's number and its words begin [mm]."""


@dataclass(frozen=True)
class Item:
    """Something that is not parted."""

    height: float
    elements: tuple[Element, ...] = ()
    keep: bool = False
    """Whether what follows must stand on the same page."""
    repeat: Item | None = None
    """What must stand above it where it begins a page."""
    key: str = ""
    """Of a heading, so that the contents find its page."""


def items_of(block: Block, width: float) -> list[Item]:
    """A block as items so wide."""
    match block:
        case Heading():
            return heading(block.text, block.key, width)
        case Paragraph():
            return [*lines_of(block.text, BODY, width), Item(2.0)]
        case Caution():
            return _caution(block, width)
        case Steps():
            return [item for n, text in enumerate(block.items, 1) for item in _step(n, text, width)]
        case Table():
            return _table(block, width)
        case Figure():
            return _figure(block, width)


def heading(text: str, key: str, width: float) -> list[Item]:
    """A heading under a line across."""
    lines = wrapped(text, HEAD, width)
    tall = 6.0 + _PITCH * HEAD * len(lines) + 1.5
    made: list[Element] = [Line("frame", (0.0, -3.0), (width, -3.0))]
    made += _stacked(lines, HEAD, -6.0)
    return [Item(tall, tuple(made), keep=True, key=key)]


def lines_of(text: str, height: float, width: float) -> list[Item]:
    """Sentences, a line an item; blank lines stay."""
    lines = [line for part in text.splitlines() or [""] for line in wrapped(part, height, width)]
    return [Item(_PITCH * height, tuple(_stacked([line], height, 0.0))) for line in lines]


def wrapped(text: str, height: float, width: float) -> list[str]:
    """A text as it can be printed, in lines that keep to a width; a longer word is parted.

    Examples
    --------
    >>> wrapped("front left", 3.0, 12.0)
    ['front', 'left']
    """
    space = text_width(" ", height)
    lines, line, long = [], "", 0.0
    for word in _words(printable(" ".join(text.split())), height, width):
        wide = text_width(word, height)
        if line and long + space + wide > width:
            lines.append(line)
            line, long = word, wide
        elif line:
            line, long = f"{line} {word}", long + space + wide
        else:
            line, long = word, wide
    return [*lines, line]


def _words(text: str, height: float, width: float) -> list[str]:
    found = []
    for word in text.split():
        rest = word
        while text_width(rest, height) > width and len(rest) > 1:
            fits = len(rest) - 1
            while fits > 1 and text_width(rest[:fits], height) > width:
                fits -= 1
            found.append(rest[:fits])
            rest = rest[fits:]
        found.append(rest)
    return found


def _stacked(
    lines: Sequence[str], height: float, top: float, x: float = 0.0, side: Side = "left"
) -> list[Text]:
    """Lines below each other, the first with its upper edge at `top`."""
    return [
        Text("text", (x, top - (k * _PITCH + 1.0) * height), line, height, side)
        for k, line in enumerate(lines)
        if line
    ]


def _caution(caution: Caution, width: float) -> list[Item]:
    lines = [line for told in caution.lines for line in wrapped(f"- {told}", BODY, width - 8.0)]
    tall = _PITCH * BODY * len(lines) + 5.0
    corners = ((0.0, 0.0), (width, 0.0), (width, -tall), (0.0, -tall))
    frame = Outline("kingpin", tuple(Corner(*place) for place in corners))
    return [Item(tall, (frame, *_stacked(lines, BODY, -2.5, 4.0))), Item(2.0)]


def _step(number: int, text: str, width: float) -> list[Item]:
    lines = wrapped(text, BODY, width - _INDENT)
    found = []
    for first in range(0, len(lines), _MOST_LINES):
        part = lines[first : first + _MOST_LINES]
        made: list[Element] = list(_stacked(part, BODY, 0.0, _INDENT))
        if not first:
            low, high = -0.2 - _BOX, -0.2
            corners = ((0.0, low), (_BOX, low), (_BOX, high), (0.0, high))
            made.append(Outline("gauge", tuple(Corner(*place) for place in corners)))
            made += _stacked([f"{number}."], BODY, 0.0, _NUMBER)
        found.append(Item(_PITCH * BODY * len(part) + 1.2, tuple(made)))
    return found


def _figure(figure: Figure, width: float) -> list[Item]:
    aside = 0.5 * (width - MOST_WIDE)
    drawing = figure.drawing.moved(aside, -figure.high)
    caption = lines_of(figure.caption, SMALL, width)
    whole = Item(figure.high + 1.5, tuple(_printable(e) for e in drawing.elements), keep=True)
    return [Item(1.0), whole, *caption, Item(2.0)]


def _printable(element: Element) -> Element:
    if not isinstance(element, Text):
        return element
    text = printable(element.text)
    return Text(element.role, element.place, text, element.height, element.align, element.turn)


# Tables -------------------------------------------------------------------------------------------


def _table(table: Table, width: float) -> list[Item]:
    columns = column_widths(table, width)
    head = _row(table.head, columns, table.sides)
    # A head is never parted: it is short.
    top = Item(sum(part.height for part in head), head[0].elements, keep=True)
    found = [top]
    last = len(table.rows) - 1
    for n, row in enumerate(table.rows):
        parts = _row(row, columns, table.sides)
        # No row stands alone below the head or above the caption.
        keep = n in {0, last - 1} or (n == last and bool(table.caption))
        found += [Item(part.height, part.elements, keep and part is parts[-1], repeat=top) for part in parts]
    caption = [Item(0.8), *lines_of(table.caption, SMALL, width)] if table.caption else []
    return [Item(1.0), *found, *caption, Item(2.0)]


def _row(cells: Sequence[str], columns: Sequence[float], sides: Sequence[Side]) -> list[Item]:
    lines = [wrapped(cell, SMALL, wide) for cell, wide in zip(cells, columns, strict=True)]
    tallest, found = max(map(len, lines)), []
    wide = sum(columns) + _GAP * (len(columns) - 1)
    for first in range(0, tallest, _MOST_LINES):
        last = first + _MOST_LINES >= tallest
        count = min(_MOST_LINES, tallest - first)
        tall = _PITCH * SMALL * count + 2.0 * _PAD
        made: list[Element] = []
        left = 0.0
        for column, told, side in zip(columns, lines, sides, strict=True):
            x = left + column if side == "right" else left
            made += _stacked(told[first : first + count], SMALL, -_PAD, x, side)
            left += column + _GAP
        if last:
            made.append(Line("frame", (0.0, -tall), (wide, -tall)))
        found.append(Item(tall, tuple(made)))
    return found


def column_widths(table: Table, width: float) -> list[float]:
    """How wide the columns are: as their longest cells want it, else the wide ones less.

    Parameters
    ----------
    table : Table
        What stands in them.
    width : float
        Of all together with the gaps between them [mm].
    """
    cells = list(zip(table.head, *table.rows, strict=True))
    natural = [max(text_width(printable(cell), SMALL) for cell in column) + _ROUNDING for column in cells]
    room = width - _GAP * (len(cells) - 1)
    if sum(natural) <= room:
        return natural
    least = [max(_LEAST_COLUMN, *(_longest_word(cell) for cell in column)) for column in cells]
    least = [min(a, max(b, _LEAST_COLUMN)) for a, b in zip(least, natural, strict=True)]
    if sum(least) >= room:
        return [one * room / sum(least) for one in least]
    low, high = 0.0, max(natural)
    for _ in range(50):
        level = 0.5 * (low + high)
        wide = sum(min(n, max(level, a)) for n, a in zip(natural, least, strict=True))
        low, high = (level, high) if wide <= room else (low, level)
    return [min(n, max(low, a)) for n, a in zip(natural, least, strict=True)]


def _longest_word(cell: str) -> float:
    wide = max((text_width(word, SMALL) for word in printable(cell).split()), default=0.0)
    return min(wide, _LONGEST_WORD)
