"""Pages of a sheet: nothing overlaps, nothing falls off, nothing is missing."""

import re
from dataclasses import replace

import pytest

from app.design.facts import Facts
from app.drawing.elements import Dimension, Text, box_of, text_corners
from app.drawing.lettering import printable, text_width
from app.drawing.pages import LACKING
from app.sheet.blocks import Heading, Paragraph, Steps, Table
from app.sheet.build_sheet import sheet_of
from app.sheet.paper_blocks import SMALL, column_widths, wrapped
from app.sheet.paper_pages import MARGIN, SHEET_PAPERS, sheet_pages
from tests.app.sheet_designs import ARABIC, DESIGNS, GREEK, JAPANESE, crowd, named

SLACK = 1e-6


def texts(page):
    return [e for e in page.drawing.elements if isinstance(e, Text)]


def box(text):
    corners = text_corners(text, text_width)
    xs, ys = zip(*corners, strict=True)
    return min(xs), min(ys), max(xs), max(ys)


def overlapping(page):
    """Pairs of texts of a page whose boxes meet."""
    boxes = sorted(((box(text), text.text) for text in texts(page)), key=lambda pair: pair[0][1])
    found = []
    for i, (a, one) in enumerate(boxes):
        for b, other in boxes[i + 1 :]:
            if b[1] >= a[3] - SLACK:
                break
            if a[0] < b[2] - SLACK and b[0] < a[2] - SLACK:
                found.append((one, other))
    return found


def beyond(page):
    """Elements that reach into the margins; the foot stands in the lower one."""
    found = []
    for element in page.drawing.elements:
        left, low, right, high = box_of([element], text_width)
        foot = isinstance(element, Text) and element.place[1] == pytest.approx(8.0)
        least = 5.0 if foot else MARGIN
        if (
            left < MARGIN - SLACK
            or right > page.width_mm - MARGIN + SLACK
            or high > page.height_mm - MARGIN + SLACK
            or low < least - SLACK
        ):
            found.append(element)
    return found


@pytest.fixture(scope="module", params=[(key, paper) for key in DESIGNS for paper in SHEET_PAPERS], ids=str)
def laid(request):
    key, paper = request.param
    sheet = sheet_of(Facts(DESIGNS[key]()))
    return sheet, sheet_pages(sheet, paper)


def test_no_two_texts_overlap(laid):
    _, pages = laid
    assert [pair for page in pages for pair in overlapping(page)] == []


def test_nothing_reaches_beyond_the_margins(laid):
    _, pages = laid
    assert [element for page in pages for element in beyond(page)] == []


def test_every_word_of_the_sheet_is_on_some_page(laid):
    sheet, pages = laid
    there = "".join(text.text for page in pages for text in texts(page)).replace(" ", "")
    for block in sheet.blocks:
        told = []
        if isinstance(block, Paragraph):
            told = [block.text]
        elif isinstance(block, Steps):
            told = list(block.items)
        elif isinstance(block, Table):
            told = [cell for row in block.rows for cell in row]
        for text in told:
            for word in printable(" ".join(text.split())).split():
                assert any(part in there for part in (word, word[:4])), word


def test_pages_are_numbered_and_the_contents_point_to_their_headings(laid):
    sheet, pages = laid
    for n, page in enumerate(pages, 1):
        assert f"page {n} of {len(pages)}" in [text.text for text in texts(page)]
    front = texts(pages[0])
    for heading in (b for b in sheet.blocks if isinstance(b, Heading) and b.key != "care"):
        line = next(t for t in front if re.fullmatch(rf"\d+\. {re.escape(heading.text)}", t.text))
        number = next(t for t in front if t.place[1] == line.place[1] and t.align == "right")
        on = texts(pages[int(number.text) - 1])
        assert any(t.text == heading.text and t.height > 4.0 for t in on)


def test_a_table_that_goes_on_has_its_head_on_the_next_page():
    pages = sheet_pages(sheet_of(Facts(crowd())))
    heads = [n for n, page in enumerate(pages) if any(t.text == "Part" for t in texts(page))]
    assert len(heads) >= 2
    assert heads == list(range(heads[0], heads[-1] + 1))


def test_what_the_font_lacks_is_told_and_what_it_has_is_not():
    lacking = sheet_pages(sheet_of(Facts(named(JAPANESE))))[0]
    assert LACKING in [text.text for text in texts(lacking)]
    there = sheet_pages(sheet_of(Facts(named(GREEK, ARABIC))))[0]
    assert LACKING not in [text.text for text in texts(there)]


def test_no_page_holds_a_dimension_that_is_not_to_scale():
    pages = sheet_pages(sheet_of(Facts(DESIGNS["marsh_scout_six"]())))
    assert not [e for page in pages for e in page.drawing.elements if isinstance(e, Dimension)]


def test_a_word_that_is_wider_than_its_column_is_parted_and_loses_no_letter():
    lines = wrapped("a" * 40 + " reed", 3.0, 20.0)
    assert "".join(lines) == "a" * 40 + "reed"
    assert all(text_width(line, 3.0) <= 20.0 for line in lines)
    assert len(lines) > 3


def test_columns_fill_no_more_than_their_room():
    wide = Table(("a", "b"), (("x " * 200, "1"),), ("left", "right"))
    columns = column_widths(wide, 100.0)
    assert sum(columns) + 3.0 <= 100.0
    assert columns[1] == pytest.approx(text_width("b", SMALL), abs=5.0)


def test_the_search_finds_texts_that_overlap_and_fall_off():
    page = sheet_pages(sheet_of(Facts(DESIGNS["empty"]())))[0]
    text = next(t for t in texts(page) if t.text == "Contents")
    both = (*page.drawing.elements, text, Text("text", (2.0, 2.0), "off", 3.0))
    spoiled = replace(page, drawing=replace(page.drawing, elements=both))
    assert overlapping(spoiled) == [("Contents", "Contents")]
    assert [e.text for e in beyond(spoiled)] == ["off"]
