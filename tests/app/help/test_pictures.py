"""The pictures of the help: each is there, small, light, told in words, and made by the script."""

import re

import numpy as np
import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QColor, QImage

from app.help.contents import page
from tests import pictures
from tests.pictures import PICTURES, PLACE, WIDE, few_colours, framed, png

PAGE = page("words.html")
ON_PAGE = re.findall(r'<img src="([\w.-]+\.png)" alt="([^"]*)"', PAGE)
# One file; a page with all of them still loads at once.
MOST_BYTES = 80_000


def test_the_page_shows_every_picture_of_the_script_in_its_order():
    assert [name for name, _ in ON_PAGE] == list(PICTURES)


def test_no_picture_is_left_over():
    assert sorted(path.name for path in PLACE.glob("robot-*.png")) == sorted(PICTURES)


@pytest.mark.parametrize(("name", "words"), ON_PAGE)
def test_a_picture_is_small_and_says_in_words_what_it_shows(name, words):
    image = QImage(str(PLACE / name))
    assert 400 <= image.width() <= WIDE
    assert 200 <= image.height() <= 640
    assert (PLACE / name).stat().st_size < MOST_BYTES
    assert len(words.split()) > 8


@pytest.mark.parametrize("name", PICTURES)
def test_a_picture_is_light_and_shows_something(name):
    small = QImage(str(PLACE / name)).scaled(60, 40, mode=Qt.TransformationMode.SmoothTransformation)
    values = [QColor(small.pixel(x, y)).lightness() for x in range(60) for y in range(40)]
    assert np.mean(values) > 190
    assert np.std(values) > 8


def rough(image):
    """How light a picture is in 48 x 32 cells, in which the letters of another font are much the same."""
    small = image.scaled(48, 32, mode=Qt.TransformationMode.SmoothTransformation)
    return np.array([QColor(small.pixel(x, y)).lightness() for x in range(48) for y in range(32)], float)


@pytest.mark.parametrize("name", PICTURES)
def test_the_window_of_now_still_looks_as_its_picture_and_as_no_other(name, qapp, home):
    made = framed(PICTURES[name]())
    kept = {other: QImage(str(PLACE / other)) for other in PICTURES}
    assert made.size() == kept[name].size()
    alike = {other: np.corrcoef(rough(made), rough(image))[0, 1] for other, image in kept.items()}
    assert max(alike, key=alike.get) == name
    assert alike[name] > 0.9, "make the pictures anew, and look at them: python -m tests.pictures"


def test_a_picture_is_written_with_the_colours_of_its_cells(qapp, home):
    made = framed(PICTURES["robot-4-motors.png"]())
    again = QImage.fromData(png(made))
    assert again.size() == made.size()
    assert made.width() <= WIDE
    assert np.abs(rough(again) - rough(made)).max() < 8


def test_the_colours_of_large_areas_stay_as_they_are():
    image = QImage(64, 64, QImage.Format.Format_RGB32)
    image.fill("#f8f7f2")
    for n in range(64 * 20):
        image.setPixel(n % 64, n // 64, QColor.fromHsv(n % 360, 40 + n % 200, 250 - n % 90).rgb())
    few = few_colours(image)
    assert few.pixelColor(5, 60) == QColor("#f8f7f2")
    assert few.colorCount() <= 256
    few_row, row = (np.array([pic.pixelColor(x, 8).getRgb() for x in range(64)]) for pic in (few, image))
    assert np.abs(few_row - row).max() < 60


def test_all_are_written_to_a_folder(tmp_path, monkeypatch, qapp):
    image = QImage(40, 20, QImage.Format.Format_RGB32)
    image.fill("#0a6548")
    monkeypatch.setattr(pictures, "PICTURES", {"a.png": lambda: image, "b.png": lambda: image})
    monkeypatch.setattr(pictures, "readme_picture", lambda: image)
    monkeypatch.setenv("AXLEWRIGHT_HOME", str(tmp_path))
    assert pictures.main([str(tmp_path / "out")]) == 0
    assert sorted(path.name for path in (tmp_path / "out").iterdir()) == ["a.png", "b.png", pictures.README]
