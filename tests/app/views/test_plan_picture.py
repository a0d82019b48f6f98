"""The picture of the plan: light on paper, nothing selected, and an SVG of lines and texts."""

from xml.etree import ElementTree

import numpy as np
import pytest
from PySide6.QtCore import QByteArray, QRectF, Qt
from PySide6.QtGui import QColor, QImage, QPainter
from PySide6.QtSvg import QSvgRenderer

from app.design.references import references_to
from app.design.samples import sample_design
from app.theme import apply_appearance
from app.views.canvas import PlanCanvas
from app.views.ground import _picture
from app.views.plan_picture import SCALES, PlanPicture
from app.views.scene import PlanOptions
from tests.windows import KEYS

SVG = "{http://www.w3.org/2000/svg}"


def canvas_of(document):
    canvas = PlanCanvas(document)
    canvas.resize(420, 360)
    canvas.grab()  # it takes its size
    return canvas


@pytest.fixture
def canvas(document):
    return canvas_of(document)


def rendered(svg):
    image = QImage(420, 360, QImage.Format.Format_RGB32)
    image.fill("white")
    painter = QPainter(image)
    renderer = QSvgRenderer(QByteArray(svg))
    assert renderer.isValid()
    renderer.render(painter, QRectF(0, 0, 420, 360))
    painter.end()
    return image


def coarse(image):
    """The picture as grey values of a few large pixels, between which single lines count little."""
    small = image.scaled(105, 90, mode=Qt.TransformationMode.SmoothTransformation)
    return np.array([[QColor(small.pixel(x, y)).lightness() for x in range(105)] for y in range(90)], float)


@pytest.mark.parametrize("scale", SCALES)
def test_a_png_is_so_many_times_as_fine_as_the_screen(canvas, scale):
    image = QImage.fromData(PlanPicture(canvas.scene()).png(scale))
    assert (image.width(), image.height()) == (420 * scale, 360 * scale)
    assert image.dotsPerMeterX() == round(96 * scale / 0.0254)


def test_the_svg_is_lines_and_texts_without_a_pixel(canvas):
    root = ElementTree.fromstring(PlanPicture(canvas.scene()).svg())  # noqa: S314 - our own
    kinds = {item.tag.removeprefix(SVG) for item in root.iter()}
    assert "image" not in kinds
    assert root.get("viewBox") == "0 0 420 360"
    texts = " ".join("".join(item.itertext()) for item in root.iter(f"{SVG}text"))
    assert "front left" in texts
    assert "turn centre" in texts
    fonts = {item.get("font-family") for item in root.iter(f"{SVG}text")}
    assert all(font.endswith(", sans-serif") for font in fonts)
    assert root.findtext(f"{SVG}title") == "Marsh scout"


@pytest.mark.parametrize("key", KEYS)
def test_the_svg_drawn_elsewhere_looks_like_the_png(make_document, key):
    picture = PlanPicture(canvas_of(make_document(sample_design(key))).scene())
    lines, pixels = coarse(rendered(picture.svg())), coarse(picture.image(1.0))
    bare = coarse(rendered(b'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 420 360"/>'))
    apart = np.abs(lines - pixels).mean()
    assert apart < 2.0
    assert apart < 0.2 * np.abs(bare - pixels).mean()


def test_names_with_marks_of_xml_stay_as_they_are(document, canvas):
    document.edit("Name", lambda d: d.edited(wheels=(d.wheels[0].edited(name='<a & "b">'), *d.wheels[1:])))
    root = ElementTree.fromstring(PlanPicture(canvas.scene()).svg())  # noqa: S314 - our own
    assert '<a & "b">' in {"".join(item.itertext()).strip() for item in root.iter(f"{SVG}text")}


def test_a_dark_window_makes_the_same_light_picture(document, canvas):
    try:
        apply_appearance("dark")
        canvas.refresh_theme()
        dark = PlanPicture(canvas.scene()).png(1)
        assert QColor(canvas.grab().toImage().pixel(2, 2)).lightness() < 128
    finally:
        apply_appearance("light")
        canvas.refresh_theme()
    assert dark == PlanPicture(canvas.scene()).png(1)
    assert QColor(QImage.fromData(dark).pixel(2, 2)).lightness() > 200


def test_nothing_is_selected_in_the_picture(document, canvas):
    document.select(())
    before = PlanPicture(canvas.scene()).png(1)
    document.select(references_to("wheel", {0, 3}))
    assert PlanPicture(canvas.scene()).png(1) == before


def test_the_picture_shows_what_the_plan_shows(document, canvas):
    before = PlanPicture(canvas.scene()).png(1)
    canvas.set_options(PlanOptions(labels=False))
    bare = PlanPicture(canvas.scene()).png(1)
    document.set_turn(-0.4)
    assert len({before, bare, PlanPicture(canvas.scene()).png(1)}) == 3


def test_a_large_picture_does_not_stay_in_memory(canvas):
    canvas.grab()
    kept = _picture.cache_info().currsize
    misses = _picture.cache_info().misses
    PlanPicture(canvas.scene()).png(4)
    assert (_picture.cache_info().currsize, _picture.cache_info().misses) == (kept, misses)
