"""Pictures: their size and place in pixels, and the same picture as SVG shows."""

from dataclasses import replace

import numpy as np
import pytest
from PySide6.QtCore import QByteArray, QRectF, Qt
from PySide6.QtGui import QFontDatabase, QImage, QPainter
from PySide6.QtSvg import QSvgRenderer

from app.controller.export_error import ExportError
from app.drawing.elements import Circle, Corner, Drawing, Line, Outline, Text
from app.drawing.lettering import font_bytes
from app.export import png_drawing, svg_drawing
from app.export.drawing_parts import frame_of
from tests.app.export.drawn import CUT, ONE_OF, PAGE

pytestmark = pytest.mark.usefixtures("qapp")
MM_PER_INCH = 25.4


def grey(image):
    """Brightness of each pixel, 0 to 255, (rows, columns)."""
    image = image.convertToFormat(QImage.Format.Format_Grayscale8)
    rows = np.frombuffer(image.constBits(), np.uint8).reshape(image.height(), image.bytesPerLine())
    return rows[:, : image.width()].astype(int)


def picture(drawing, dpi=None):
    return QImage.fromData(png_drawing.render(drawing, dpi), "PNG")


def svg_picture(drawing, dpi):
    frame = frame_of(drawing)
    scale = dpi / MM_PER_INCH
    image = QImage(picture(drawing, dpi).size(), QImage.Format.Format_RGB32)
    image.fill(Qt.GlobalColor.white)
    painter = QPainter(image)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    renderer = QSvgRenderer(QByteArray(svg_drawing.render(drawing).encode()))
    renderer.render(painter, QRectF(0, 0, frame.width * scale, frame.height * scale))
    painter.end()
    return image


@pytest.mark.parametrize("dpi", [50, 300, 1200])
def test_a_millimetre_has_as_many_pixels_as_the_resolution_says(dpi):
    drawing = Drawing("reed", (Line("outline", (0, 0), (0, 20)), Line("outline", (40, 0), (40, 20))))
    image = picture(drawing, dpi)
    scale = dpi / MM_PER_INCH
    assert image.dotsPerMeterX() == image.dotsPerMeterY() == round(1000 * scale)
    dark = 255 - grey(image)
    across = dark.sum(axis=0)
    half = len(across) // 2
    columns = np.arange(len(across)) + 0.5
    left = np.average(columns[:half], weights=across[:half])
    right = np.average(columns[half:], weights=across[half:])
    assert (right - left) / scale == pytest.approx(40, abs=0.05)
    assert left / scale == pytest.approx(0 - frame_of(drawing).left, abs=0.05)
    up = np.flatnonzero(dark.sum(axis=1))
    assert (up[-1] + 1 - up[0]) / scale == pytest.approx(20, abs=2 / scale)


def test_up_on_paper_is_up_in_the_picture():
    dark = 255 - grey(picture(Drawing("reed", (PAGE, Circle("gauge", (80, 70), 5, filled=True))), 100))
    rows, columns = dark.shape
    ink = [dark[: rows // 2, : columns // 2], dark[: rows // 2, columns // 2 :], dark[rows // 2 :]]
    assert ink[1].sum() > 2 * (ink[0].sum() + ink[2].sum())


# How far the two may be apart, as share of the ink: edges are smoothed by two ways of drawing an arc. Where
# there are letters, they are set closer there (kerning), and in sizes that are rounded.
ALIKE, ALIKE_IN_LETTERS = 0.02, 0.25
DIGITS = tuple(Text("text", (50, 9 * k), f"8{k} 306", 5, "right", 0.2 * k) for k in range(6))


def unlike(ours, theirs):
    """Share of the ink by which two pictures differ: 0 for one picture, 2 for two that share nothing."""
    ours, theirs = grey(ours), grey(theirs)
    return np.abs(ours - theirs).sum() / (255 - ours).sum()


def letters(drawing):
    return any(isinstance(element, Text) for element in drawing.elements)


@pytest.fixture
def same_font(qapp):
    """The font that SVG asks for, whatever the system has."""
    number = QFontDatabase.addApplicationFontFromData(QByteArray(font_bytes()))
    yield
    QFontDatabase.removeApplicationFont(number)


@pytest.mark.usefixtures("same_font")
@pytest.mark.parametrize(
    "drawing",
    [
        CUT,
        *(Drawing("one", (PAGE, element)) for element in ONE_OF.values()),
        Drawing("all", (PAGE, *ONE_OF.values(), Circle("wheel", (30, 20), 9, filled=True))),
        Drawing("texts", DIGITS),
    ],
    ids=lambda drawing: "-".join(sorted({type(element).__name__ for element in drawing.elements})),
)
@pytest.mark.parametrize("dpi", [100, 300])
def test_the_picture_is_the_one_that_svg_shows(drawing, dpi):
    ours = picture(drawing, dpi)
    assert (grey(ours) < 200).mean() > 0.001
    assert unlike(ours, svg_picture(drawing, dpi)) < (ALIKE_IN_LETTERS if letters(drawing) else ALIKE)


@pytest.mark.usefixtures("same_font")
def test_pictures_of_things_that_are_shifted_turned_or_missing_are_found_to_differ():
    shifted = Drawing("cut", (PAGE, *CUT.moved(0.3, 0).elements))
    whole = picture(Drawing("cut", (PAGE, *CUT.elements)), 300)
    bare = Drawing("cut", (PAGE, *CUT.elements[:-1]))
    for other in (shifted, bare):
        assert unlike(whole, svg_picture(other, 300)) > ALIKE
    texts = picture(Drawing("texts", (PAGE, *DIGITS)), 300)
    turned = tuple(replace(text, turn=text.turn + 0.03) for text in DIGITS)
    smaller = tuple(replace(text, height=0.95 * text.height) for text in DIGITS)
    for other in (turned, smaller, DIGITS[:-2]):
        assert unlike(texts, svg_picture(Drawing("texts", (PAGE, *other)), 300)) > ALIKE_IN_LETTERS


def test_what_lies_on_top_covers():
    below = Line("outline", (0, 20), (100, 20))
    above = Outline("wheel", (Corner(40, 10), Corner(60, 10), Corner(60, 30), Corner(40, 30)), filled=True)
    bright = grey(picture(Drawing("reed", (PAGE, below, above)), 254))
    frame = frame_of(Drawing("reed", (PAGE,)))
    row = round((frame.low + frame.height - 20) * 10)
    left = round((30 - frame.left) * 10), round((50 - frame.left) * 10)
    assert bright[row, left[0]] < 60
    assert bright[row, left[1]] > 200


def test_signs_that_the_font_lacks_are_told_by_their_number_and_no_other_font_is_asked():
    one, other = (
        Drawing("r", (PAGE, Text("text", (5, 40), text, 6.0))) for text in ("reed 潮", "reed U+6F6E")
    )
    assert png_drawing.render(one, 100) == png_drawing.render(other, 100)


def test_the_same_drawing_is_the_same_bytes():
    drawing = Drawing("all", (PAGE, *ONE_OF.values()))
    assert png_drawing.render(drawing, 150) == png_drawing.render(drawing, 150)


@pytest.mark.parametrize("dpi", [49, 1201, -3, 0])
def test_a_resolution_out_of_range_is_refused(dpi):
    with pytest.raises(ExportError, match=rf"from 50 to 1200 dpi \(got {dpi}\)"):
        png_drawing.render(CUT, dpi)


def big(mm):
    return Drawing("big", (Line("outline", (0, 0), (mm, mm)),))


def test_a_picture_of_too_many_pixels_is_refused_with_what_would_do():
    with pytest.raises(
        ExportError, match=r"47,\d{3} by 47,\d{3} pixels.*100,000,000 in all; choose (\d+)"
    ) as told:
        png_drawing.render(big(1000), 1200)
    most = int(str(told.value).split("choose ")[1].split()[0])
    assert 240 < most < 254
    frame = frame_of(big(1000))
    assert np.ceil(frame.width * most / 25.4) * np.ceil(frame.height * most / 25.4) <= 100_000_000
    with pytest.raises(ExportError, match="choose none, and it gets as many as it can"):
        png_drawing.render(big(9000), 50)


def test_a_huge_drawing_gets_as_many_pixels_as_it_can(monkeypatch):
    monkeypatch.setattr(png_drawing, "MOST_PIXELS", 1_000_000)
    image = picture(big(9000))
    assert 950_000 < image.width() * image.height() <= 1_000_000
    usual = picture(Drawing("small", (PAGE,)))
    assert usual.dotsPerMeterX() == round(200 / 0.0254)
