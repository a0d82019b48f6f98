"""The drag of each wheel in a drive: so far and now, in the person's unit, sorted and copied."""

from __future__ import annotations

from dataclasses import replace

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication

from app.design.samples import sample_design
from app.drive_session import session_of
from app.panels.drag_panel import DragPanel, drag_rows
from app.panels.form import copy_rows
from app.simulation.frame import frame_of
from tests.app.simulation.driven import MIXED, headless, sample_code

DESIGN = sample_design("marsh_scout_motors")
BLOCK = max(
    headless(sample_code("marsh_scout_motors", 20), MIXED)[:-1],
    key=lambda block: float(abs(block.side[100]).max()),
)
FRAME = replace(
    frame_of(BLOCK, 100, ()),
    drag=(1.0, 12.7, 0.0, 3.0, 4.0, 2.5),
    side_speeds=(0.0, -30.0, 0.8, 0.0, 0.0, 5.0),
    wheel_speeds=(100.0, 40.0, 50.0, 0.0, 100.0, 0.0),
)


@pytest.fixture
def panel(make_document, qtbot):
    made = DragPanel(make_document(DESIGN))
    qtbot.addWidget(made)
    made.resize(320, 300)
    made.show()
    yield made
    session_of(made._document).close()


def texts(panel):
    model = panel.order
    return [[model.index(r, c).data() for c in range(3)] for r in range(model.rowCount())]


def tell(panel, frame):
    session = session_of(panel._document)
    session.frame = frame
    session.frame_changed.emit(frame)
    QApplication.processEvents()


def test_a_row_tells_drag_so_far_and_at_this_moment_with_its_state():
    rows = drag_rows(DESIGN, FRAME)
    assert [row.dragged for row in rows] == list(FRAME.drag)
    assert [row.now for row in rows] == pytest.approx([0.0, 600.0, 15.998, None, 0.0, 1000.0], abs=1e-3)
    assert [row.state for row in rows] == ["aligned", "drags", "slight drag", "", "aligned", "drags"]


def test_the_side_speeds_of_a_frame_add_up_to_its_drag():
    before, after = frame_of(BLOCK, 99, ()), frame_of(BLOCK, 100, ())
    grown = [b - a for a, b in zip(before.drag, after.drag, strict=True)]
    assert grown == pytest.approx([0.005 * abs(side) for side in after.side_speeds], abs=1e-12)
    assert max(grown) > 0


def test_the_table_follows_the_drive_and_its_unit(panel):
    assert texts(panel)[1][1:] == ["–", "–"]
    tell(panel, FRAME)
    assert texts(panel)[1] == [DESIGN.wheels[1].name, "12.7", "▲ 600.0"]
    assert texts(panel)[0][1:] == ["1.0", "0.0"]
    panel.set_unit("inch")
    assert texts(panel)[1][1] == "0.500"
    assert texts(panel)[1][2].startswith("▲ 7.2")
    heads = [panel.model.headerData(c, Qt.Orientation.Horizontal) for c in range(3)]
    assert heads == ["Wheel", "Dragged inch", "Now in/ft"]
    tell(panel, None)
    assert texts(panel)[1][1:] == ["–", "–"]


def test_it_sorts_by_number_and_copies_what_it_shows(panel):
    tell(panel, FRAME)
    panel.table.sortByColumn(1, Qt.SortOrder.DescendingOrder)
    assert [row[1] for row in texts(panel)] == ["12.7", "4.0", "3.0", "2.5", "1.0", "0.0"]
    copy_rows(panel.table)
    lines = QApplication.clipboard().text().splitlines()
    assert lines[0] == "Wheel\tDragged mm\tNow mm/m"
    assert lines[1] == f"{DESIGN.wheels[1].name}\t12.7\t▲ 600.0"


def test_while_driving_it_waits_until_numbers_can_be_read(panel):
    session = session_of(panel._document)
    tell(panel, FRAME)
    session.state = "live"
    tell(panel, replace(FRAME, steps=FRAME.steps + 5, drag=(9.0,) * 6))
    assert texts(panel)[0][1] == "1.0"
    tell(panel, replace(FRAME, steps=FRAME.steps + 25, drag=(9.0,) * 6))
    assert texts(panel)[0][1] == "9.0"
    session.state = "idle"
