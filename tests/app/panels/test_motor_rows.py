"""The rows of the list of motors: what fits into a line, and what is painted."""

import pytest
from PySide6.QtGui import QFont, QFontMetricsF, QImage

from app.design import motor_edits
from app.design.samples import sample_design
from app.panels.motor_rows import ROW, MotorList, shown_wheels
from app.theme import current_theme
from tests.windows import KEYS

SIX = sample_design(KEYS[0])
HELD = [("front left", "× 1"), ("middle left", "× 12:36"), ("rear left", "× 1")]


@pytest.mark.parametrize(("width", "count"), [(10_000, 3), (170, 1), (1, 1)])
def test_wheels_that_find_no_room_are_counted_and_at_least_one_is_shown(qapp, width, count):
    shown, more = shown_wheels(HELD, QFontMetricsF(QFont()), width)
    assert (len(shown), more) == (count, 3 - count)


def test_what_is_said_to_fit_fits(qapp):
    metrics = QFontMetricsF(QFont())
    for width in range(60, 500, 10):
        shown, more = shown_wheels(HELD, metrics, width)
        text = ", ".join(" ".join(part) for part in shown) + (f", {more} more" if more else "")
        assert len(shown) == 1 or metrics.horizontalAdvance(text) <= width
        assert len(shown) + more == 3


def painted(rows, width=320):
    made = MotorList()
    made.resize(width, 200)
    design = motor_edits.add_motor(
        motor_edits.add_motor(SIX, "steer", ["front left"]), "drive", ["rear left"]
    )
    made.show_motors(design, rows)
    image = made.grab().toImage().convertToFormat(QImage.Format.Format_RGB32)
    made.deleteLater()
    return image


def tones(image, top, left, right, rows=ROW):
    return {image.pixelColor(x, y).name() for y in range(top, top + rows) for x in range(left, right)}


def test_each_kind_has_a_mark_of_its_own_and_ratios_the_colour_of_motors(qapp):
    image = painted([("steer", 0), ("drive", 0)])
    theme = current_theme()
    for row in (0, 1):
        top = ROW * row
        assert theme.motor_ground in tones(image, top, 13, 34)
        assert theme.motor in tones(image, top + 24, 44, 320, 18)
    # Near its corner a square mark is coloured, and a round one leaves the ground of its row.
    round_mark, square = (image.pixelColor(13, ROW * row + 13).name() for row in (0, 1))
    assert round_mark == image.pixelColor(6, 6).name() != square


@pytest.mark.parametrize("width", [200, 272, 320, 560])
def test_a_row_takes_the_width_that_there_is(qapp, width):
    made = MotorList()
    made.resize(width, 200)
    made.show_motors(motor_edits.add_motor(SIX, "steer", ["front left"]), [("steer", 0)])
    made.show()
    assert made.horizontalScrollBar().maximum() == 0
    assert made.columnWidth(0) == made.viewport().width()
    assert made.rowHeight(0) == ROW
    made.close()
