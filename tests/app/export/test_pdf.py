"""PDF read back by other programs' eyes: sizes, places, fonts, text, pixels; the same bytes everywhere."""

import io
import itertools
import math
import os
import re
import subprocess
import sys
from functools import partial
from pathlib import Path

import numpy as np
import pdfplumber
import pypdf
import pypdfium2
import pytest
from scipy import ndimage

from app import qt_check
from app.controller.export_error import ExportError
from app.design.files import design_text
from app.design.samples import sample_design
from app.drawing.elements import (
    Arc,
    Circle,
    Corner,
    Dimension,
    Drawing,
    Line,
    Outline,
    Text,
    box_of,
)
from app.drawing.layers import LAYERS
from app.drawing.lettering import text_width
from app.drawing.page_frame import MARGIN
from app.drawing.pages import FIT, PAPERS, Page, Window, pages_of
from app.drawing.plan import on_paper, plan_of
from app.export.pdf import pdf_of, settled
from geometry.model.design import Design
from sample_chassis import SAMPLES

ROOT = Path(__file__).parents[3]
MM = 25.4 / 72.0
SOME = Drawing("Reed cart", (Line("outline", (0, 0), (300, 200)), Text("text", (20, 150), "reed cart", 5.0)))


def one_page(*elements, wide=210.0, tall=297.0, window=None):
    return pdf_of([Page(wide, tall, Drawing("page", elements), window)], "page")


def shown(data, dpi=300, page=0):
    """A page as gray pixels, 0 black to 1 white, row by row from the top."""
    with pypdfium2.PdfDocument(data) as document:
        picture = document[page].render(scale=dpi / 72.0, grayscale=True).to_numpy()
    return picture.reshape(picture.shape[:2]) / 255.0


def drawn(data, page=0):
    """Lines, curves and rectangles of a page, each as its points [mm], y up, with its colour."""
    with pdfplumber.open(io.BytesIO(data)) as document:
        sheet = document.pages[page]
        found = [*sheet.lines, *sheet.curves, *sheet.rects]
        high = float(sheet.height)
        return [
            (
                np.array([(x * MM, (high - y) * MM) for x, y in one["pts"]]),
                tuple(round(255 * v) for v in one["stroking_color"] or ()),
            )
            for one in found
        ]


def ink(role):
    return tuple(int(LAYERS[role].ink[k : k + 2], 16) for k in (1, 3, 5))


def circles(data, role, page=0):
    """Centre and radius of each circle in the ink of a role."""
    boxes = [
        (p.min(axis=0), p.max(axis=0))
        for p, colour in drawn(data, page)
        if colour == ink(role) and len(p) > 4
    ]
    return [((low + high) / 2, (high - low)[0] / 2) for low, high in boxes if np.ptp(high - low) < 1e-3]


def kingpins(data, page=0):
    """Middles of lines and circles in the ink of kingpins, where two lines cross in their middles."""
    return [
        (p.min(axis=0) + p.max(axis=0)) / 2 for p, colour in drawn(data, page) if colour == ink("kingpin")
    ]


# Places and sizes ------------------------------------------------------------------------------


@pytest.mark.parametrize("size", [*PAPERS.values(), (297.0, 210.0), (1234.5, 4999.9)])
def test_the_page_box_is_the_size_of_the_paper_and_a_point_is_where_it_should_be(qapp, size):
    wide, tall = size
    data = one_page(
        Line("gauge", (10, 10), (wide - 10, tall - 10)), Circle("kingpin", (50, 70), 3), wide=wide, tall=tall
    )
    box = pypdf.PdfReader(io.BytesIO(data), strict=True).pages[0].mediabox
    assert (float(box.width) * MM, float(box.height) * MM) == pytest.approx(size, abs=1e-3)
    (line,) = [points for points, colour in drawn(data) if colour == ink("gauge")]
    assert line == pytest.approx(np.array([(10, 10), (wide - 10, tall - 10)]), abs=2e-3)
    ((centre, radius),) = circles(data, "kingpin")
    assert (*centre, radius) == pytest.approx((50, 70, 3), abs=2e-3)


def test_pages_of_unlike_size_stand_in_one_file(qapp):
    pages = [Page(210, 297, SOME), Page(841, 1189, SOME), Page(100, 150, SOME)]
    boxes = [page.mediabox for page in pypdf.PdfReader(io.BytesIO(pdf_of(pages, "t"))).pages]
    assert [round(float(box.width) * MM) for box in boxes] == [210, 841, 100]
    for page in range(3):
        data = pdf_of(pages, "t")
        (line,) = [points for points, colour in drawn(data, page) if colour == ink("outline")]
        assert line[0] == pytest.approx((0, 0), abs=2e-3)


PRIMITIVES = (
    Line("outline", (20, 20), (120, 45)),
    Arc("sweep", (60, 120), 35, 0.4, 2.5),
    Arc("sweep", (60, 120), 30, 0.4, -4.5),
    Circle("opening", (140, 70), 12.5),
    Circle("wheel", (140, 120), 9.5, filled=True),
    Outline("outline", (Corner(20, 200, 0.4), Corner(70, 200), Corner(70, 250, -1.0), Corner(20, 250))),
    Outline("part", (Corner(100, 200), Corner(140, 200, 0.4), Corner(140, 250)), closed=False),
    Dimension((20, 20), (120, 45), 0.0, 40.0, "100"),
)


@pytest.mark.parametrize("element", PRIMITIVES, ids=lambda e: f"{type(e).__name__} {e.role}")
def test_each_primitive_is_drawn_where_it_is_in_its_ink_and_width(qapp, element):
    data = one_page(element)
    found = [points for points, colour in drawn(data) if colour == ink(element.role)]
    points = np.concatenate(found)
    box = box_of([element], text_width)
    picture = shown(data)
    dark = np.argwhere(picture < 0.9)
    (top, left), (foot, right) = dark.min(axis=0), dark.max(axis=0)
    px = 25.4 / 300
    seen = (left * px, 297 - (foot + 1) * px, (right + 1) * px, 297 - top * px)
    assert seen == pytest.approx(box, abs=LAYERS[element.role].width / 2 + 1.5 * px + 0.35)
    if isinstance(element, Line):
        assert (*points.min(axis=0), *points.max(axis=0)) == pytest.approx(box, abs=2e-3)


@pytest.mark.parametrize("radius", [5.0, 400.0, 2000.0])
@pytest.mark.parametrize("sweep", [0.7, -2.0, 2.0 * math.pi])
def test_an_arc_is_one_to_a_hundredth_of_a_millimetre(qapp, radius, sweep):
    data = one_page(Arc("gauge", (50, 60), radius, 0.3, sweep), wide=4500, tall=4500)
    content = pypdf.PdfReader(io.BytesIO(data)).pages[0].get_contents().get_data().decode()
    scale = 25.4 / 1200
    # Each curve worked out anew at its quarter points, from the writer's own numbers.
    matrices = re.findall(r"([\d.-]+) 0 0 ([\d.-]+) ([\d.-]+) ([\d.-]+) cm", content)
    a, d, e, f = (float(v) for v in matrices[-1])
    here, worst, count = None, 0.0, 0
    for words in re.findall(r"^([\d. -]+) ([mc])$", content, flags=re.MULTILINE):
        values = [float(v) for v in words[0].split()]
        points = [complex(x, y) for x, y in zip(values[::2], values[1::2], strict=True)]
        if words[1] == "c":
            count += 1
            for t in (0.0, 0.25, 0.5, 0.75, 1.0):
                chain = [here, *points]
                while len(chain) > 1:
                    chain = [(1 - t) * p + t * q for p, q in itertools.pairwise(chain)]
                worst = max(worst, abs(abs(chain[0] - complex(50, 60)) - radius))
        here = points[-1]
    assert a * scale == pytest.approx(1.0)
    assert d * scale == pytest.approx(-1.0)
    assert e == 0
    assert f > 0
    assert 0 < count <= 8
    assert worst < 0.01


def test_dashes_have_their_lengths_and_full_lines_have_none(qapp):
    for role in ("axle line", "outline"):
        row = 1.0 - shown(one_page(Line(role, (20, 100), (80, 100))), 600)[round((297 - 100) * 600 / 25.4)]
        runs = (
            np.diff(np.flatnonzero(np.diff(np.concatenate([[0], row > 0.3, [0]]).astype(int))))[::2]
            * 25.4
            / 600
        )
        if role == "outline":
            assert runs == pytest.approx([60], abs=0.1)
        else:
            assert runs[:4] == pytest.approx([6, 1, 6, 1], abs=0.1)


def test_fills_have_the_ground_of_their_layer_and_cover_what_lies_below(qapp):
    lies_below = Line("outline", (0, 100), (200, 100))
    on_top = Circle("wheel", (100, 100), 20, filled=True)
    with pypdfium2.PdfDocument(one_page(lies_below, on_top)) as document:
        picture = document[0].render(scale=100 / 72).to_pil().convert("RGB")
    there = picture.getpixel((round(100 / 25.4 * 100), round(197 / 25.4 * 100)))
    assert there == tuple(int(LAYERS["wheel"].ground[k : k + 2], 16) for k in (1, 3, 5))


def test_a_window_cuts_its_drawing_off_and_nothing_else(qapp):
    window = Window((50, 60, 120, 140), Drawing("below", (Line("outline", (0, 100), (210, 100)),)))
    data = one_page(Line("outline", (0, 200), (210, 200)), window=window)
    picture = shown(data)
    px = 25.4 / 300
    for height, due in ((100, (50, 120)), (200, (0, 210))):
        dark = np.flatnonzero(picture[round((297 - height) / px)] < 0.5)
        assert (dark[0] * px, (dark[-1] + 1) * px) == pytest.approx(due, abs=0.1)


# The plan --------------------------------------------------------------------------------------


def centres_in_a_row(profile):
    """Middle of each dark run of a row of pixels, by its weight."""
    labels, count = ndimage.label(profile > 0.15)
    return np.array(ndimage.center_of_mass(profile, labels, range(1, count + 1)))[:, 0]


@pytest.mark.parametrize(
    "chosen", [{}, {"tiles": True, "paper": "Letter"}, {"paper": FIT}, {"scale": "fit"}], ids=str
)
def test_both_bars_measure_100_mm_in_pixels_on_every_page(qapp, chosen):
    paged = pages_of(plan_of(sample_design("mudflat_carrier_four")), **chosen)
    data = pdf_of(paged.pages, "t")
    px = 25.4 / 300
    for number, page in enumerate(paged.pages):
        picture = 1.0 - shown(data, page=number)
        tall = picture.shape[0]
        right = round((MARGIN + 101) / px)
        ticks = centres_in_a_row(picture[tall - 1 - round((MARGIN + 1.0) / px), :right])
        assert len(ticks) == 11
        assert (ticks[-1] - ticks[0]) * px == pytest.approx(100.0, abs=0.03)
        (bar,) = [
            e
            for e in page.drawing.elements
            if isinstance(e, Line) and e.role == "gauge" and e.end[1] - e.start[1] > 50
        ]
        x, (low, high) = bar.start[0] - 1.0, (bar.start[1] - 2, bar.end[1] + 1)
        column = picture[tall - round(high / px) : tall - round(low / px), round(x / px)]
        ticks = centres_in_a_row(column)
        assert len(ticks) == 11
        assert (ticks[-1] - ticks[0]) * px == pytest.approx(100.0, abs=0.03)


@pytest.mark.parametrize("sample", [sample.key for sample in SAMPLES])
@pytest.mark.parametrize("scale", [1.0, 0.5])
def test_every_kingpin_is_at_its_place_on_one_sheet(qapp, sample, scale):
    design = sample_design(sample)
    (page,) = pages_of(partial(drawn_at, design), FIT, scale=scale).pages
    found = np.array(kingpins(pdf_of([page], "t")))
    due = scale * np.array([on_paper(wheel.x_mm, wheel.y_mm) for wheel in design.wheels])
    assert hits(found, due) < 0.05


def drawn_at(design, scale):
    return plan_of(design, scale=scale)


def hits(found, due):
    """How far the worst of the places is from the next one found, at the best of all shifts."""
    return min(
        max(np.hypot(*(found + shift - place).T).min() for place in due)
        for shift in (due[0] - one for one in found)
    )


def tile_places(data):
    """Column and row of each page, as its words say."""
    for page in pypdf.PdfReader(io.BytesIO(data)).pages:
        (letter, row) = re.search(r"tile ([A-Z])(\d+)", page.extract_text()).groups()
        yield ord(letter) - ord("A"), int(row) - 1


def test_every_kingpin_is_at_its_place_on_its_tiles(qapp):
    design = sample_design("dyke_hauler_eight")
    pages = pages_of(plan_of(design), tiles=True).pages
    data = pdf_of(pages, "t")
    left, low, right, high = pages[0].window.clip
    found = [
        (centre[0] + column * (right - left - 10), centre[1] - row * (high - low - 10))
        for number, (column, row) in enumerate(tile_places(data))
        for centre in kingpins(data, number)
    ]
    due = np.array([on_paper(wheel.x_mm, wheel.y_mm) for wheel in design.wheels])
    assert len(pages) > 3
    assert hits(np.array(found), due) < 0.05


def test_tiles_put_together_give_the_whole(qapp):
    corners = (Corner(0, 0, 0.2), Corner(420, 0), Corner(450, 300, -0.3), Corner(0, 330))
    elements = (
        Outline("outline", corners),
        Circle("opening", (180, 160), 70),
        Arc("gauge", (200, 150), 140, 0.3, 4.0),
        Line("kingpin", (-20, 10), (440, 310)),
        Text("text", (130, 150), "the words go over the seam of two tiles", 9.0, turn=0.3),
    )
    drawing = Drawing("Reed cart", elements)
    dpi, px = 150, 25.4 / 150
    pages = pages_of(drawing, tiles=True).pages
    data = pdf_of(pages, "t")
    left, low, right, high = pages[0].window.clip
    step = right - left - 10, high - low - 10
    places = list(tile_places(data))
    wide = max(column for column, _ in places) * step[0] + right - left
    tall = max(row for _, row in places) * step[1] + high - low
    together = np.ones((round(tall / px) + 2, round(wide / px) + 2))
    inset = 0.6  # the frame itself
    for number, (column, row) in enumerate(places):
        picture = shown(data, dpi, number)
        # What a register mark covers is not compared; it stands within 3.2 mm of its place.
        a, b = round((left + inset) / px), round((right - inset) / px)
        top = round((pages[0].height_mm - high + inset) / px)
        foot = round((pages[0].height_mm - low - inset) / px)
        piece = without_marks(picture, pages[number], px)[top:foot, a:b]
        x, y = round((column * step[0] + inset) / px), round((row * step[1] + inset) / px)
        target = together[y : y + piece.shape[0], x : x + piece.shape[1]]
        np.minimum(target, piece, out=target)
    moved = drawing.moved(*(np.array(first_corner(pages, places, step)) - (left, 0)))
    # The same on one sheet, whose upper left corner is that of the first tile's window.
    first_high = high
    whole = shown(one_page(*moved.moved(0, tall - first_high).elements, wide=wide, tall=tall), dpi)
    seen, due = (
        together[: whole.shape[0], : whole.shape[1]] < 0.6,
        whole[: together.shape[0], : together.shape[1]] < 0.6,
    )
    near = np.ones((7, 7))
    lacking = due & ~ndimage.binary_dilation(seen, near)
    added = seen & ~ndimage.binary_dilation(due, near)
    assert due.sum() > 5000
    assert lacking.sum() == 0
    assert added.sum() == 0


def without_marks(picture, page, px):
    """A page without its register marks, where nothing of this drawing is."""
    made = picture.copy()
    for element in page.drawing.elements:
        if isinstance(element, Line) and element.role == "frame":
            box = box_of([element], text_width)
            x0, x1 = round((box[0] - 0.5) / px), round((box[2] + 0.5) / px)
            y0, y1 = round((page.height_mm - box[3] - 0.5) / px), round((page.height_mm - box[1] + 0.5) / px)
            made[max(y0, 0) : y1, max(x0, 0) : x1] = 1.0
        if isinstance(element, Outline) and element.role == "frame" and len(element.corners) == 4:
            box = box_of([element], text_width)
            if box[2] - box[0] < 4:
                x0, x1 = round((box[0] - 0.5) / px), round((box[2] + 0.5) / px)
                y0, y1 = (
                    round((page.height_mm - box[3] - 0.5) / px),
                    round((page.height_mm - box[1] + 0.5) / px),
                )
                made[max(y0, 0) : y1, max(x0, 0) : x1] = 1.0
    return made


def first_corner(pages, places, step):
    """Where the origin of the drawing would be in the frame of the page of tile A1."""
    for page, (column, row) in zip(pages, places, strict=True):
        for element in page.window.drawing.elements:
            if isinstance(element, Outline):
                return element.corners[0].x + column * step[0], element.corners[0].y - row * step[1]
    raise AssertionError("no tile has the outline")


@pytest.mark.parametrize("size", [60.0, 9000.0])
def test_a_tiny_and_a_huge_chassis_are_drawn(qapp, size):
    wheels = sample_design("marsh_scout_six").wheels
    factor = size / 320.0
    moved = [wheel.edited(x_mm=wheel.x_mm * factor, y_mm=wheel.y_mm * factor) for wheel in wheels]
    design = Design(name="Odd size", wheels=tuple(moved))
    paged = pages_of(partial(drawn_at, design), scale="fit")
    data = pdf_of(paged.pages, design.name)
    (scale,) = re.findall(r" (\d+:\d+) ", pypdf.PdfReader(io.BytesIO(data)).pages[0].extract_text())
    found = np.array(kingpins(data))
    due = np.array([on_paper(wheel.x_mm, wheel.y_mm) for wheel in design.wheels]) / int(scale.split(":")[1])
    assert hits(found, due) < 0.05


# Text, fonts, pictures ---------------------------------------------------------------------------

NAMES = (
    "Reed cart",
    "Κάρο του έλους",
    "مستكشف",
    "潮の調査車両",
    "fi ffi <b>&amp;</b> (a) \\ %",
    "−12.5° Ø 3 × 4",
)


@pytest.mark.parametrize("name", NAMES)
def test_text_is_text_in_the_one_font_which_is_embedded(qapp, name):
    reader = pypdf.PdfReader(
        io.BytesIO(pdf_of(pages_of(Drawing(name, SOME.elements), FIT).pages, name)), strict=True
    )
    text = reader.pages[0].extract_text()
    assert "Print at 100 %, not fit to page." in text
    assert "\t" not in text
    if name == "潮の調査車両":
        assert "U+6F6EU+306E" in text
    elif name == "مستكشف":
        # Letters in the forms that they take within a word, whose order a reader may turn.
        assert sum(1 for c in text if "\ufe70" <= c <= "\ufeff" or "\u0600" <= c <= "\u06ff") == len(name)
    else:
        assert name in text
    assert reader.metadata.title == name
    (fonts,) = [page["/Resources"]["/Font"] for page in reader.pages]
    for font in fonts.values():
        made = font.get_object()
        assert made["/BaseFont"].endswith("DejaVuSans")
        (inner,) = made["/DescendantFonts"]
        assert "/FontFile2" in inner.get_object()["/FontDescriptor"]


def test_texts_are_as_wide_and_as_high_as_the_layout_reckons(qapp):
    text = Text("text", (100, 150), "AVAVAV To 1234.5 mm", 6.0, "middle")
    with pdfplumber.open(io.BytesIO(one_page(text))) as document:
        signs = document.pages[0].chars
        assert (signs[-1]["x1"] - signs[0]["x0"]) * MM == pytest.approx(text_width(text.text, 6.0), abs=0.3)
        middle = (signs[-1]["x1"] + signs[0]["x0"]) / 2 * MM
    assert middle == pytest.approx(100, abs=0.05)
    for turn, align in ((0.5 * math.pi, "left"), (0.0, "right")):
        picture = shown(one_page(Text("text", (100, 150), "HHH", 6.0, align, turn)))
        dark = np.argwhere(picture < 0.5) * 25.4 / 300
        (top, left), (foot, right) = dark.min(axis=0), dark.max(axis=0)
        capitals = right - left if turn else foot - top
        assert capitals == pytest.approx(0.73 * 6.0, abs=0.15)
        assert (297 - foot if turn else right) == pytest.approx(150 if turn else 100, abs=1.0)


def test_no_page_holds_a_picture(qapp):
    for sample in SAMPLES:
        reader = pypdf.PdfReader(io.BytesIO(pdf_of(pages_of(plan_of(sample_design(sample.key))).pages, "t")))
        for page in reader.pages:
            assert len(page.images) == 0
            assert b"BI\n" not in page.get_contents().get_data()
            assert not page["/Resources"].get("/XObject")


# The same bytes ----------------------------------------------------------------------------------

MAKE = """
import sys
from functools import partial
from pathlib import Path
from app.design.files import read_design
from app.drawing.pages import pages_of
from app.drawing.plan import plan_of
from app.export.pdf import pdf_of
design = read_design(Path(sys.argv[1])).design
sys.stdout.buffer.write(pdf_of(pages_of(plan_of(design)).pages, design.name))
"""
NO_FONTS = '<?xml version="1.0"?><!DOCTYPE fontconfig SYSTEM "fonts.dtd"><fontconfig></fontconfig>'


@pytest.fixture
def chassis(tmp_path):
    path = tmp_path / "scout.json"
    path.write_text(
        design_text(sample_design("marsh_scout_six").edited(name="潮 Κάρο مستكشف")), encoding="utf-8"
    )
    return path


def made(chassis, **surroundings):
    environment = {**os.environ, "PYTHONPATH": str(ROOT), **surroundings}
    environment.pop("QT_QPA_PLATFORM", None)
    done = subprocess.run(
        [sys.executable, "-P", "-c", MAKE, str(chassis)], env=environment, capture_output=True, timeout=120
    )
    assert (done.returncode, done.stderr) == (0, b"")
    return done.stdout


def test_time_zone_locale_home_fonts_and_a_later_clock_do_not_show(qapp, chassis, tmp_path):
    bare = tmp_path / "fonts.conf"
    bare.write_text(NO_FONTS, encoding="utf-8")
    first = made(chassis)  # it takes more than a second until the last: another second on the clock
    others = [
        made(chassis, TZ="Asia/Kolkata", LC_ALL="C", HOME=str(tmp_path / "home")),
        made(chassis, TZ="America/St_Johns", LC_ALL="de_DE.UTF-8", PYTHONHASHSEED="7"),
        made(chassis, FONTCONFIG_FILE=str(bare), FONTCONFIG_PATH=str(tmp_path)),
    ]
    assert all(other == first for other in others)
    design = sample_design("marsh_scout_six").edited(name="潮 Κάρο مستكشف")
    # And with an application that runs, as in the window.
    assert pdf_of(pages_of(plan_of(design)).pages, design.name) == first


def test_another_title_or_drawing_is_another_document(qapp):
    numbers = set()
    for drawing, title in ((SOME, "a"), (SOME, "b"), (SOME.moved(1, 0), "a")):
        reader = pypdf.PdfReader(io.BytesIO(pdf_of([Page(210, 297, drawing)], title)))
        numbers.add(str(reader.trailer["/ID"][0]))
    assert len(numbers) == 3


def test_the_file_names_no_time_no_person_and_nothing_of_this_machine(qapp):
    data = pdf_of([Page(210, 297, SOME)], "Reed cart & <sedge>")
    reader = pypdf.PdfReader(io.BytesIO(data), strict=True)
    assert reader.metadata.creator == "Axlewright"
    assert reader.metadata.title == "Reed cart & <sedge>"
    assert not reader.metadata.author
    assert "/CreationDate" not in reader.metadata
    assert "/ModDate" not in reader.metadata
    assert re.search(rb"Date|20\d\d-\d\d-\d\d", data[: data.find(b"/Catalog")]) is None
    about = reader.xmp_metadata
    assert about.dc_title["x-default"] == "Reed cart & <sedge>"
    for word in (os.uname().nodename, Path.home().name, str(ROOT)):
        assert word.encode() not in data


@pytest.mark.parametrize("pages", [1, 3])
def test_the_table_of_places_in_the_file_is_right(qapp, pages):
    data = pdf_of([Page(999.7, 352.7, SOME)] * pages, "t")
    start = int(re.search(rb"startxref\n(\d+)", data)[1])
    assert data[start:].startswith(b"xref\n")
    rows = re.findall(rb"(\d{10}) (\d{5}) (n|f) ", data[start:])
    for number, (place, _, kind) in enumerate(rows):
        if kind == b"n":
            assert data[int(place) :].startswith(b"%d 0 obj" % number), number


def test_what_is_no_pdf_of_this_writer_is_left_as_it_is():
    assert settled(b"%PDF-1.7 nothing of this", [(210, 297)]) == b"%PDF-1.7 nothing of this"


# Without Qt ----------------------------------------------------------------------------------------


def test_a_library_that_lacks_is_told_and_not_met(monkeypatch):
    monkeypatch.setattr(qt_check, "paper_trouble", lambda: "a page cannot be drawn: libEGL.so.1")
    with pytest.raises(ExportError, match="a page cannot be drawn: libEGL"):
        pdf_of([Page(210, 297, SOME)], "t")


def test_a_binding_that_does_not_load_is_told(monkeypatch):
    monkeypatch.setitem(sys.modules, "PySide6.QtGui", None)
    with pytest.raises(ExportError, match="PySide6, the part that draws it, does not load here"):
        pdf_of([Page(210, 297, SOME)], "t")


def test_the_application_that_was_made_is_gone_afterwards(tmp_path):
    code = (
        "from PySide6.QtGui import QGuiApplication\n"
        "from PySide6.QtWidgets import QApplication\n"
        "from app.drawing.elements import Drawing, Text\n"
        "from app.drawing.pages import Page\n"
        "from app.export.pdf import pdf_of\n"
        "page = Page(210, 297, Drawing('a', (Text('text', (20, 20), 'reed', 4.0),)))\n"
        "first = pdf_of([page], 'a')\n"
        "assert QGuiApplication.instance() is None\n"
        "assert pdf_of([page], 'a') == first\n"
        "app = QApplication([])\n"
        "assert pdf_of([page], 'a') == first\n"
        "assert QGuiApplication.instance() is app\n"
    )
    environment = {**os.environ, "PYTHONPATH": str(ROOT), "QT_QPA_PLATFORM": "offscreen"}
    done = subprocess.run([sys.executable, "-P", "-c", code], env=environment, capture_output=True, text=True)
    assert (done.returncode, done.stderr) == (0, "")
