"""A build sheet on paper: page by page as drawings, contents with page numbers at the front."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal

from app.drawing.elements import Drawing, Element, Line, Text, moved
from app.drawing.lettering import printable, text_width
from app.drawing.pages import LACKING, PAPERS, Page
from app.sheet.blocks import Block, Caution, Heading, Sheet
from app.sheet.paper_blocks import BODY, SMALL, TITLE, Item, heading, items_of, lines_of, wrapped

Paper = Literal["A4", "Letter"]
SHEET_PAPERS: tuple[Paper, ...] = ("A4", "Letter")
MARGIN = 15.0
"""Round what stands on a page; the foot stands within the lower one [mm]."""
_FOOT = 8.0


def sheet_pages(sheet: Sheet, paper: Paper = "A4") -> tuple[Page, ...]:
    """Lay a sheet out on paper.

    Parameters
    ----------
    sheet : Sheet
        Of `app.sheet.build_sheet.sheet_of`.
    paper : 'A4' or 'Letter'
        Upright.

    Returns
    -------
    tuple of Page
        The first has title, cautions and contents.
    """
    width, height = PAPERS[paper]
    within = width - 2.0 * MARGIN
    rest = [item for block in _without_cautions(sheet) for item in items_of(block, within)]
    body = _stacked_pages(rest, height)
    # The front has room for the longest name on one page.
    numbers = {item.key: n for n, page in enumerate(body, 2) for item, _ in page if item.key}
    stacks = [*_stacked_pages(_front(sheet, within, numbers), height), *body]
    pages = []
    for number, stack in enumerate(stacks, 1):
        made = [moved(e, MARGIN, top) for item, top in stack for e in item.elements]
        foot = _foot(sheet, f"page {number} of {len(stacks)}", width)
        drawing = Drawing(f"{sheet.title}, page {number}", (*made, *foot))
        pages.append(Page(width, height, drawing))
    return tuple(pages)


def _without_cautions(sheet: Sheet) -> list[Block]:
    first = next(k for k, block in enumerate(sheet.blocks) if isinstance(block, Caution))
    return list(sheet.blocks[first + 1 :])


def _front(sheet: Sheet, width: float, numbers: Mapping[str, int]) -> list[Item]:
    care = [block for block in sheet.blocks if isinstance(block, Caution)]
    first = next(block for block in sheet.blocks if isinstance(block, Heading))
    found = [*lines_of(sheet.title, TITLE, width), *lines_of("Build sheet", BODY, width)]
    found += lines_of(f"Chassis fingerprint (SHA-256): {sheet.fingerprint}", SMALL, width)
    found += heading(first.text, first.key, width)
    for block in care:
        found += items_of(block, width)
    found += heading("Contents", "contents", width)
    for n, one in enumerate((h for h in sheet.headings if h.key in numbers), 1):
        found.append(_contents_line(f"{n}.  {one.text}", str(numbers[one.key]), width))
    if _lacks(sheet):
        found += [Item(3.0), *lines_of(LACKING, SMALL, width)]
    return found


def _contents_line(text: str, number: str, width: float) -> Item:
    tall = 1.7 * BODY
    (told, *_), y = wrapped(text, BODY, width - 20.0), -1.1 * BODY
    left, right = text_width(told, BODY) + 2.0, width - text_width(number, BODY) - 2.0
    made: tuple[Element, ...] = (
        Text("text", (0.0, y), told, BODY),
        Line("frame", (left, y), (right, y)),
        Text("text", (width, y), number, BODY, "right"),
    )
    return Item(tall, made)


def _lacks(sheet: Sheet) -> bool:
    design = sheet.design
    names = [design.name, design.notes.replace("\n", " ").replace("\r", " ").replace("\t", " ")]
    for things in (design.wheels, design.steer_motors, design.drive_motors, design.packaging.parts):
        names += [thing.name for thing in things]
    return any(printable(name) != name for name in names)


def _stacked_pages(items: list[Item], height: float) -> list[list[tuple[Item, float]]]:
    """Items with the y of their upper edge, page by page."""
    top, low = height - MARGIN, MARGIN
    pages: list[list[tuple[Item, float]]] = [[]]
    y = top
    for k, item in enumerate(items):
        if pages[-1] and y - _together(items, k) < low:
            pages.append([])
            y = top
        if not pages[-1]:
            if not item.elements:
                continue  # a page does not begin with a gap
            if item.repeat is not None:
                pages[-1].append((item.repeat, y))
                y -= item.repeat.height
        pages[-1].append((item, y))
        y -= item.height
    return [page for page in pages if page]


def _together(items: list[Item], k: int) -> float:
    """How much room an item wants with all that must stay with it; gaps after it count for nothing."""
    tall = items[k].height
    while (items[k].keep or not items[k].elements) and k + 1 < len(items):
        k += 1
        tall += items[k].height
    return tall


def _foot(sheet: Sheet, page: str, width: float) -> list[Element]:
    right = width - MARGIN
    room = right - MARGIN - text_width(page, SMALL) - 5.0
    told = printable(f"{sheet.title}: build sheet, fingerprint {sheet.fingerprint[:16]}")
    (name, *_) = wrapped(told, SMALL, room)
    return [
        Text("text", (MARGIN, _FOOT), name, SMALL),
        Text("text", (right, _FOOT), page, SMALL, "right"),
    ]
