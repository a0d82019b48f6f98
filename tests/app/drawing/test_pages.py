"""How a drawing comes to lie on paper: sizes, tiles, what stands on each page, and what is refused."""

import dataclasses
import math
import re

import pytest
import shapely

from app.design.samples import sample_design
from app.drawing.elements import (
    Circle,
    Corner,
    Dimension,
    Drawing,
    Line,
    Outline,
    Text,
    box_of,
    parts_of,
    text_corners,
)
from app.drawing.lettering import text_width
from app.drawing.page_frame import CAUTION, CUT, MARGIN, PRINT, Tile, shortened, wrapped
from app.drawing.pages import (
    FIT,
    LACKING,
    LARGEST_SHEET,
    MOST_PAGES,
    PAPERS,
    PaperError,
    pages_of,
    scale_words,
)
from app.drawing.plan import plan_of
from sample_chassis import SAMPLES


def rectangle(wide, tall, name="Reed cart"):
    corners = (Corner(0, 0), Corner(wide, 0), Corner(wide, tall), Corner(0, tall))
    size = Dimension((0, 0), (wide, 0), 0.0, -12.0, f"{wide:g}")
    return Drawing(name, (Outline("outline", corners), size, Circle("kingpin", (wide / 2, tall / 2), 3.0)))


def texts(page):
    return [element for element in page.drawing.elements if isinstance(element, Text)]


def said(page):
    return [text.text for text in texts(page)]


def bars(page):
    return [
        line
        for line in page.drawing.elements
        if isinstance(line, Line) and line.role == "gauge" and math.dist(line.start, line.end) > 50
    ]


def marks(page):
    """Centres of the register marks."""
    squares = [e for e in page.drawing.elements if isinstance(e, Outline) and e.role == "frame"]
    # A diamond's first corner is at its right, half of a mark from the centre.
    return {
        (round(e.corners[0].x - 1.5, 6), round(e.corners[0].y, 6))
        for e in squares
        if e.corners[0].y == e.corners[2].y and e.corners[0].x - e.corners[2].x == pytest.approx(3.0)
    }


def tile_of(page):
    (name,) = re.findall(r"tile ([A-Z]+)([0-9]+)", " ".join(said(page)))
    column = 0
    for letter in name[0]:
        column = 26 * column + ord(letter) - ord("A") + 1
    return Tile(column - 1, int(name[1]) - 1)


# Sheets ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(("paper", "size"), PAPERS.items())
@pytest.mark.parametrize("orientation", ["portrait", "landscape"])
def test_a_page_has_the_size_of_its_paper(paper, size, orientation):
    (page,) = pages_of(rectangle(60, 50), paper, orientation=orientation).pages
    due = size if orientation == "portrait" else size[::-1]
    assert (page.width_mm, page.height_mm) == due
    assert any(f"{paper} {orientation}" in text for text in said(page))


def test_what_only_fits_lying_is_laid_on_lying_paper():
    (page,) = pages_of(rectangle(240, 100)).pages
    assert (page.width_mm, page.height_mm) == (297, 210)
    with pytest.raises(PaperError, match="A4 portrait has room for"):
        pages_of(rectangle(240, 100), orientation="portrait", tiles=False)


@pytest.mark.parametrize("size", [(60, 60), (700, 300), (300, 2000)])
def test_a_sheet_made_to_fit_is_as_large_as_the_drawing_wants(size):
    drawing = rectangle(*size)
    (page,) = pages_of(drawing, FIT).pages
    left, low, right, high = box_of(page.drawing.elements, text_width)
    assert (left, low) == pytest.approx((MARGIN, MARGIN), abs=0.1)
    assert right <= page.width_mm - MARGIN
    assert high <= page.height_mm - MARGIN
    if size[0] > 300:
        assert page.width_mm == pytest.approx(size[0] + 2 * MARGIN + 10, abs=2)


def test_a_round_scale_that_fits_one_page_is_the_largest_of_them():
    for size, due in (((100, 100), "1:1"), ((190, 100), "1:1"), ((300, 300), "1:2"), ((9000, 4000), "1:50")):
        (page,) = pages_of(rectangle(*size), scale="fit").pages
        assert any(f" · {due} · " in text for text in said(page)), (size, said(page))


def test_a_scale_shrinks_the_drawing_but_neither_texts_nor_bars():
    whole, half = (pages_of(rectangle(150, 120), scale=s).pages[0] for s in (1.0, 0.5))
    for page, wide in ((whole, 150), (half, 75)):
        (body,) = [e for e in page.drawing.elements if isinstance(e, Outline) and e.role == "outline"]
        xs = [corner.x for corner in body.corners]
        assert max(xs) - min(xs) == pytest.approx(wide)
        (size,) = [e for e in page.drawing.elements if isinstance(e, Dimension)]
        assert (size.text, size.height) == ("150", 3.0)
        assert [math.dist(bar.start, bar.end) for bar in bars(page)] == pytest.approx([100.0, 100.0])
    assert "100 mm on paper, 200 mm of the robot" in said(half)


@pytest.mark.parametrize(
    ("scale", "words"), [(1.0, "1:1"), (0.5, "1:2"), (1 / 3, "1:3"), (0.4, "1:2.5"), (5.0, "5:1")]
)
def test_scales_are_said_as_drawings_say_them(scale, words):
    assert scale_words(scale) == words


# What stands on each page ------------------------------------------------------------------------

LONG = "Watercourse " * 3 + "six"
NAMES = (
    "Marsh scout",
    "Κάρο του έλους αρ. 7",
    "مستكشف المستنقع",
    "潮の調査車両第七号機",
    LONG,
    "潮" * 40,
    "W" * 40,
)


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("chosen", [{}, {"tiles": True}, {"paper": FIT}, {"scale": "fit"}], ids=str)
def test_every_page_says_all_that_it_must_and_no_two_texts_overlap(name, chosen):
    drawing = dataclasses.replace(rectangle(330, 260, name), notes=("The battery has no mass.",))
    paged = pages_of(drawing, **chosen)
    for number, page in enumerate(paged.pages, 1):
        words = said(page)
        assert any(text[:5] == texts(page)[0].text[:5] for text in words)
        assert PRINT in words
        assert CAUTION in words
        assert "The battery has no mass." in words
        assert any(text.endswith(f"page {number} of {len(paged.pages)}") for text in words)
        assert (CUT in words) == (len(paged.pages) > 1)
        assert words.count("100 mm") == 2 or any("100 mm on paper" in text for text in words)
        spans = sorted((b.end[0] - b.start[0], b.end[1] - b.start[1]) for b in bars(page))
        assert spans == [pytest.approx((0, 100)), pytest.approx((100, 0))]
        boxes = [shapely.Polygon(text_corners(text, text_width)) for text in texts(page)]
        for i, one in enumerate(boxes):
            assert all(not one.intersects(other) for other in boxes[:i]), words
        left, low, right, high = box_of(page.drawing.elements, text_width)
        assert left >= MARGIN - 1e-9
        assert low >= MARGIN - 1e-9
        assert right <= page.width_mm - MARGIN + 3 + 1e-9  # an arm of a register mark
        assert high <= page.height_mm - MARGIN + 3 + 1e-9
    assert (LACKING in paged.told) == any("U+" in text for text in said(paged.pages[0]) if text != LACKING)


def test_a_note_that_is_too_long_is_wrapped_and_too_many_are_said_to_be_more():
    notes = tuple(
        f"Note {k}: the mass of part {k} is not known, so it is left out of all weights." for k in range(30)
    )
    drawing = dataclasses.replace(rectangle(100, 80), notes=notes)
    paged = pages_of(drawing, "A3")
    words = said(paged.pages[0])
    assert "There are more notes; the program tells them all." in words
    assert paged.told == notes
    left, _, right, _ = box_of(texts(paged.pages[0]), text_width)
    assert left >= MARGIN
    assert right <= 297 - MARGIN


def test_words_are_wrapped_and_cut_to_the_width_that_there_is():
    lines = wrapped(["one two three " * 12, "W" * 300], 80.0)
    assert len(lines) > 3
    assert all(text_width(line, 2.4) <= 80.0 for line in lines)
    assert lines[-1].endswith("W…")
    assert " ".join(lines[:-1]) == ("one two three " * 12).strip()
    assert shortened("reed", 3.0, 100.0) == "reed"


# Tiles -----------------------------------------------------------------------------------------


def test_tiles_are_named_by_column_and_row_in_the_order_of_the_pages():
    paged = pages_of(rectangle(600, 500), tiles=True, orientation="portrait")
    assert [tile_of(page).name for page in paged.pages][:5] == ["A1", "B1", "C1", "D1", "A2"]


@pytest.mark.parametrize("overlap", [3.0, 10.0, 25.0])
@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_neighbours_have_their_overlap_and_four_register_marks_at_its_corners(paper, overlap):
    pages = pages_of(rectangle(600, 500), paper, tiles=True, overlap=overlap).pages
    by_tile = {tile_of(page): page for page in pages}
    left, low, right, high = pages[0].window.clip
    step = (right - left - overlap, high - low - overlap)
    joints = 0
    for tile, page in by_tile.items():
        for beside, dx, dy in (
            (Tile(tile.column + 1, tile.row), step[0], 0.0),
            (Tile(tile.column, tile.row + 1), 0.0, -step[1]),
        ):
            if beside not in by_tile:
                continue
            joints += 1
            there = {(round(x + dx, 6), round(y + dy, 6)) for x, y in marks(by_tile[beside])}
            common = marks(page) & there
            xs, ys = sorted({x for x, _ in common}), sorted({y for _, y in common})
            assert len(common) >= 4
            sides = (xs[-1] - xs[0], ys[-1] - ys[0])
            assert min(sides) == pytest.approx(overlap)
    assert joints > 8


def test_every_tile_shows_its_part_of_the_drawing_at_its_place():
    drawing = rectangle(600, 500)
    pages = pages_of(drawing, tiles=True).pages
    left, low, right, high = pages[0].window.clip
    places = set()
    for page in pages:
        column, row = tile_of(page)
        x, y = column * (right - left - 10.0), -row * (high - low - 10.0)
        bodies = [e for e in page.window.drawing.elements if isinstance(e, Outline)]
        places |= {(round(b.corners[0].x + x, 6), round(b.corners[0].y + y, 6)) for b in bodies}
    assert len(places) == 1


def cells(page):
    """The cells of the page map, and which of them are filled."""
    found = [e for e in page.drawing.elements if isinstance(e, Outline) and len(e.corners) == 4]
    small = [
        e for e in found if abs(e.corners[1].x - e.corners[0].x) < 12 and e.corners[0].y == e.corners[1].y
    ]
    return len(small), [e for e in small if e.filled]


def test_the_page_map_has_all_tiles_and_fills_this_one():
    pages = pages_of(rectangle(600, 500), tiles=True).pages
    filled = []
    for page in pages:
        count, (own,) = cells(page)
        assert count == len(pages)
        filled.append((round(own.corners[0].x, 6), -round(own.corners[0].y, 6)))
    xs, ys = sorted({x for x, _ in filled}), sorted({y for _, y in filled})
    assert [(xs.index(x), ys.index(y)) for x, y in filled] == [tuple(tile_of(page)) for page in pages]


def test_empty_tiles_are_left_out_and_told():
    corner = Drawing("L", (Line("outline", (0, 0), (700, 0)), Line("outline", (0, 0), (0, 900))))
    paged = pages_of(corner)
    names = [tile_of(page).name for page in paged.pages]
    assert "B1" not in names
    told = paged.told[0]
    left_out = set(re.findall(r"\b[A-Z]+[0-9]+\b", told.split(":")[-1]))
    assert "B1" in left_out
    assert not left_out & set(names)
    assert f"{len(names)} sheets" in told
    # A register mark belongs to a neighbour that is there.
    assert all(len(marks(page)) <= 8 for page in paged.pages)


def test_an_empty_tile_that_holds_others_together_stays():
    apart = Drawing("two", (Circle("kingpin", (0, 0), 3.0), Circle("kingpin", (1000, 0), 3.0)))
    pages = pages_of(apart).pages
    columns = sorted(tile_of(page).column for page in pages)
    assert columns == list(range(columns[-1] + 1))
    assert sum(not page.window.drawing.elements for page in pages) == len(pages) - 2 > 0


def test_the_line_of_a_large_body_does_not_fill_the_tiles_within():
    drawing = Drawing("ring", (Circle("outline", (0, 0), 500.0),))
    plain = pages_of(drawing)
    filled = pages_of(Drawing("disc", (Circle("outline", (0, 0), 500.0, filled=True),)))
    assert len(plain.pages) < len(filled.pages)


@pytest.mark.parametrize("sample", [sample.key for sample in SAMPLES])
def test_every_sample_goes_on_tiles_and_on_one_sheet(sample):
    drawing = plan_of(sample_design(sample))
    for chosen in ({"tiles": True}, {"paper": FIT}, {"scale": "fit"}, {"paper": "Letter", "tiles": True}):
        assert pages_of(drawing, **chosen).pages


# Refused ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("chosen", "sentence"),
    [
        ({"paper": "A9"}, r"paper must be one of A4, .* or fit \(got 'A9'\)"),
        ({"paper": FIT, "tiles": True}, "tiles are of paper with a size"),
        ({"paper": FIT, "scale": "fit"}, "takes any scale"),
        ({"scale": "fit", "tiles": True}, "needs no tiles"),
        ({"scale": 11.0}, r"from 1:200 to 10:1 \(got 11"),
        ({"scale": 0.001}, r"from 1:200 to 10:1 \(got 0.001"),
        ({"scale": math.nan}, r"from 1:200 to 10:1 \(got nan"),
        ({"overlap": 2.0}, r"from 3 to 50 mm \(got 2 mm\)"),
        ({"overlap": math.nan}, r"from 3 to 50 mm \(got nan"),
    ],
)
def test_a_choice_out_of_range_is_told_with_value_and_remedy(chosen, sentence):
    with pytest.raises(PaperError, match=sentence):
        pages_of(rectangle(100, 80), **chosen)


def test_an_empty_drawing_is_refused_with_what_to_add():
    with pytest.raises(PaperError, match="nothing to draw; add wheels or a body first"):
        pages_of(Drawing("empty", ()))


@pytest.mark.parametrize(
    ("chosen", "most"),
    [({}, str(MOST_PAGES)), ({"paper": FIT}, f"{LARGEST_SHEET:g} mm"), ({"tiles": False}, "has room for")],
)
def test_a_chassis_too_large_for_the_paper_is_told_a_scale_that_serves(chosen, most):
    huge = rectangle(9000, 4000)
    with pytest.raises(PaperError) as told:
        pages_of(huge, **chosen)
    assert most in str(told.value)
    (scale,) = re.findall(r"the scale 1:(\d+)$", str(told.value))
    assert pages_of(huge, **{**chosen, "scale": 1 / int(scale)}).pages


def test_even_the_smallest_scale_may_not_fit():
    with pytest.raises(PaperError, match="choose tiles, larger paper"):
        pages_of(rectangle(60_000, 400), scale="fit")


def test_a_tile_beyond_z_has_two_letters():
    assert [Tile(c, 0).name for c in (25, 26, 51, 52, 701, 702)] == ["Z1", "AA1", "AZ1", "BA1", "ZZ1", "AAA1"]


def test_the_dimension_of_a_tile_edge_is_seen_on_both_tiles():
    pages = pages_of(rectangle(600, 100), tiles=True).pages
    shown = [page for page in pages if any(isinstance(e, Dimension) for e in page.window.drawing.elements)]
    assert len(shown) == len(pages) > 2
    assert parts_of(next(e for e in shown[0].window.drawing.elements if isinstance(e, Dimension)))


def test_what_draws_for_a_scale_is_asked_for_the_one_that_is_taken_and_is_not_resized_again():
    asked = []

    def draw(scale):
        asked.append(scale)
        return rectangle(300 * scale, 300 * scale)

    (page,) = pages_of(draw, scale="fit").pages
    (body,) = [e for e in page.drawing.elements if isinstance(e, Outline) and e.role == "outline"]
    assert body.corners[1].x - body.corners[0].x == pytest.approx(150)
    assert asked == [1.0, 0.5]
    assert any(" · 1:2 · " in text for text in said(page))


def test_that_the_font_lacks_a_character_is_told_once():
    drawing = dataclasses.replace(rectangle(100, 80, "潮"), notes=("The name has U+6F6E.",))
    assert pages_of(drawing).told == ("The name has U+6F6E.",)
    assert pages_of(rectangle(100, 80, "潮")).told == (LACKING,)
