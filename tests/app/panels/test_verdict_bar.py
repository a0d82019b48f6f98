"""The verdict bar: the words fit, and none is lost."""

import pytest
from PySide6.QtCore import QRect, Qt
from PySide6.QtGui import QFontMetrics
from PySide6.QtWidgets import QApplication

from app.design import edits
from app.design.samples import sample_design
from app.words.verdict import range_line, verdict_line
from tests.windows import KEYS


def fits(label, text):
    room = QRect(0, 0, label.width(), 10_000)
    return QFontMetrics(label.font()).boundingRect(room, int(Qt.TextFlag.TextWordWrap), text).height() <= (
        label.height()
    )


@pytest.mark.parametrize("width", [900, 1280, 1920])
@pytest.mark.parametrize("key", KEYS)
def test_the_verdict_is_shown_whole_or_cut_at_a_word_and_kept_as_a_tooltip(
    make_window, make_document, key, width
):
    window = make_window(make_document(sample_design(key)))
    window.resize(width, 800)
    long = "a rather long name of a wheel that drags"
    for change in (None, lambda d: edits.rename_wheel(d, 2, long)):
        if change is not None:
            window.document.edit("Rename", change)
        QApplication.processEvents()
        label, view = window.middle.verdict.text, window.document.view
        whole = verdict_line(view, "mm")
        assert label.toolTip() == label.accessibleDescription() == whole
        assert window.middle.verdict.range.toolTip() == range_line(view, "mm")
        assert fits(label, label.text())
        if label.text() != whole:
            assert label.text().endswith(" …")
            assert whole.startswith(label.text().removesuffix(" …") + " ")
            assert not fits(label, whole)


def test_the_plan_keeps_its_place_when_the_verdict_grows(make_window, make_document):
    window = make_window(make_document(sample_design(KEYS[4])))
    QApplication.processEvents()
    before = window.canvas.geometry()
    for turn in (0.0, 0.1, 0.4, -0.4):
        window.document.set_turn(turn)
        QApplication.processEvents()
        assert window.canvas.geometry() == before


@pytest.mark.parametrize("width", [900, 1280])
@pytest.mark.parametrize("key", KEYS)
def test_the_second_line_is_cut_with_dots_also_as_the_button_comes_and_goes(
    make_window, make_document, key, width
):
    window = make_window(make_document(sample_design(key)))
    window.resize(width, 800)
    for turn in (0.0, 0.3, 0.0, 0.45):
        window.document.set_turn(turn)
        QApplication.processEvents()
        label = window.middle.verdict.range
        assert label.fontMetrics().horizontalAdvance(label.text()) <= label.width()
        assert label.text() == label.toolTip() or label.text().endswith("…")
