"""The font that travels with the program, and its widths against Qt's own reading of the same file."""

import pytest
from PySide6.QtCore import QByteArray
from PySide6.QtGui import QFont, QFontDatabase, QFontMetricsF

from app.drawing.layers import LAYERS
from app.drawing.lettering import FAMILY, font_bytes, printable, text_width


@pytest.mark.parametrize("text", ["front left", "−12.5°", "Δ 0.05", "MMMM", "iiii"])
def test_texts_are_as_wide_as_qt_sets_them(qapp, text):
    number = QFontDatabase.addApplicationFontFromData(QByteArray(font_bytes()))
    try:
        assert QFontDatabase.applicationFontFamilies(number) == [FAMILY]
        font = QFont(FAMILY)
        font.setPixelSize(1000)
        font.setKerning(False)
        font.setHintingPreference(QFont.HintingPreference.PreferNoHinting)
        wide = QFontMetricsF(font).horizontalAdvance(text)
    finally:
        QFontDatabase.removeApplicationFont(number)
    assert text_width(text, 1000.0) == pytest.approx(wide, rel=0.003)


def test_what_the_font_lacks_is_written_by_its_number():
    assert printable("Reed 潮\n") == "Reed U+6F6EU+000A"
    assert printable("Ἀθήνα −12°") == "Ἀθήνα −12°"
    assert text_width("U+6F6E", 3.0) == pytest.approx(text_width(printable("潮"), 3.0))


def test_layers_have_names_that_every_format_takes():
    keys = [layer.key for layer in LAYERS.values()]
    assert len(set(keys)) == len(keys)
    assert all(key.isascii() and key.replace("_", "").isalnum() for key in keys)
