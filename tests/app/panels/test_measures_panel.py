"""The panel of measures: this turn live, the range when a drag is over, words where there is no number."""

from __future__ import annotations

import re

import numpy as np
import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QGuiApplication

from app.design import edits
from app.design.samples import sample_design
from app.panels.form import copy_rows
from app.panels.measures_panel import MeasuresPanel
from app.words.space_words import MEASURES, span_of
from geometry.kinematics.robot import robot_of
from geometry.model.design import Design
from geometry.turning_space.measures import measures_of
from tests.app.odd_chassis import BARE
from tests.windows import KEYS


@pytest.fixture
def seen(make_window, make_document):
    """The panel in sight, and its document."""

    def seen(design):
        window = make_window(make_document(design))
        window.show_panel("measures")
        return window.panel("measures", MeasuresPanel), window

    return seen


def texts(panel, column):
    return [panel.order.index(row, column).data() for row in range(panel.order.rowCount())]


def row_of(panel, name):
    return texts(panel, 0).index(name)


@pytest.mark.parametrize("key", KEYS)
@pytest.mark.parametrize("turn", [0.0, 0.3, -0.35])
def test_the_numbers_are_those_of_the_geometry(seen, key, turn):
    design = sample_design(key)
    panel, window = seen(design)
    window.document.set_turn(turn)
    found = measures_of(robot_of(design), design, [window.document.command.turn])
    over = measures_of(robot_of(design), design, np.linspace(-design.largest_turn, design.largest_turn, 81))
    for number, measure in enumerate(MEASURES):
        value = float(measure.values(found)[0])
        shown = texts(panel, 1)[number]
        assert (
            shown in {"straight", measure.none}
            if np.isinf(value)
            else float(shown) == pytest.approx(value, abs=0.06)
        )
        span = span_of(measure.values(over), over.turns)
        assert float(texts(panel, 2)[number]) == pytest.approx(span.least, abs=0.06)
        assert float(texts(panel, 3)[number]) == pytest.approx(span.most, abs=0.06)
    offs = [float(text) for text in texts(panel, 1)[len(MEASURES) :]]
    assert offs == pytest.approx(found.off_tracking[0], abs=0.06)
    assert not re.search(
        r"\b(nan|inf)\b|∞", " ".join(text for column in range(4) for text in texts(panel, column))
    )


def test_the_range_waits_while_something_is_dragged_and_this_turn_does_not(seen):
    panel, window = seen(sample_design("marsh_scout_six"))
    document = window.document
    document.set_turn(0.4)
    wall, least = texts(panel, 1)[1], texts(panel, 2)[1]
    document.preview(lambda d: edits.move_wheels(d, {1: (300.0, -190.0)}))
    assert texts(panel, 1)[1] != wall
    assert set(texts(panel, 2)) == {"…"}
    document.cancel_preview()
    assert (texts(panel, 1)[1], texts(panel, 2)[1]) == (wall, least)
    document.preview(lambda d: edits.move_wheels(d, {1: (300.0, -190.0)}))
    document.commit_preview("Move")
    assert texts(panel, 2)[1] not in (least, "…")
    document.undo()
    assert (texts(panel, 1)[1], texts(panel, 2)[1]) == (wall, least)


def test_inches_are_shown_with_their_heads(seen):
    panel, window = seen(BARE)
    window.document.set_turn(1.0)
    wall = float(texts(panel, 1)[1])
    window.action["inch"].trigger()
    heads = [panel.model.headerData(n, Qt.Orientation.Horizontal) for n in range(4)]
    assert heads == ["Measure", "This turn in", "Least in", "Most in"]
    assert float(texts(panel, 1)[1]) == pytest.approx(wall / 25.4, abs=3e-3)
    assert " mm" not in panel.lane.text()


def test_straight_ahead_it_says_straight_and_without_anything_that_there_is_nothing(seen):
    panel, window = seen(BARE)
    window.document.set_turn(0.0)
    assert set(texts(panel, 1)) == {"straight"}
    assert "lane of 311.1 mm" in panel.lane.text()
    panel, window = seen(Design())
    assert panel.lane.text() == "There is nothing to measure: no wheels, no body, no parts."
    assert panel.table.isHidden()
    window.document.edit("Add", lambda d: d.edited(body_mm=BARE.body_mm))
    assert not panel.table.isHidden()


def test_enter_on_a_least_goes_to_its_turn(seen):
    panel, window = seen(sample_design("marsh_scout_six"))
    window.document.set_turn(0.0)
    index = panel.order.index(row_of(panel, "Wall to wall"), 2)
    panel.table.activated.emit(index)
    assert window.document.command.turn == 1.0
    assert texts(panel, 1)[index.row()] == index.data()
    panel.table.activated.emit(panel.order.index(0, 1))
    assert window.document.command.turn == 1.0


@pytest.mark.parametrize("column", [1, 2, 3])
def test_columns_sort_by_number_with_words_last(seen, column):
    panel, window = seen(sample_design("marsh_scout_six"))
    window.document.set_turn(1.0)
    panel.table.sortByColumn(column, Qt.SortOrder.AscendingOrder)
    shown = texts(panel, column)
    values = [float(text) for text in shown if text not in ("none", "–")]
    assert values == sorted(values)
    assert [text for text in shown[: len(values)] if text == "none"] == []


def test_rows_are_copied_with_their_heads(seen):
    panel, window = seen(sample_design("creek_tricycle"))
    window.document.set_turn(0.5)
    copy_rows(panel.table)
    lines = QGuiApplication.clipboard().text().splitlines()
    assert lines[0] == "Measure\tThis turn mm\tLeast mm\tMost mm"
    assert len(lines) == 1 + len(MEASURES) + 4
    assert lines[2].startswith("Wall to wall\t")


def test_a_name_with_tags_is_shown_as_it_is_written(seen):
    design = sample_design("creek_tricycle")
    odd = edits.change_wheels(design, [0], name="<b>odd</b>")
    panel, _ = seen(odd)
    row = row_of(panel, "Off-tracking, <b>odd</b>")
    assert "<b>odd" not in panel.order.index(row, 1).data(Qt.ItemDataRole.ToolTipRole)
