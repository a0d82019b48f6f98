"""The table of wheels: live numbers, sorting, copying, and a selection shared with the plan."""

import math
import re

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtTest import QTest

from app.design import edits
from app.design.references import references_to, selected_wheels
from app.design.samples import sample_design
from app.panels.form import copy_rows
from app.panels.wheel_table import COLUMNS, STATE_MARKS, WheelModel
from geometry.kinematics.alignment import alignment_of
from geometry.kinematics.ideal import solve
from geometry.kinematics.motion import from_turn
from geometry.model.base_axle import base_of
from geometry.model.design import Design
from geometry.model.wheel_arrays import wheel_arrays
from tests.app.scouts import FRONT, REAR, scout
from tests.windows import KEYS

HEADS = [column.head for column in COLUMNS]


def cells(table, head):
    """Texts of a column in the order on the screen."""
    column = HEADS.index(head)
    return [table.order.index(row, column).data() for row in range(table.order.rowCount())]


def keys(table, head):
    column = HEADS.index(head)
    return [
        table.order.index(row, column).data(WheelModel.SORT_ROLE) for row in range(table.order.rowCount())
    ]


@pytest.mark.parametrize("key", KEYS)
@pytest.mark.parametrize("turn", [0.0, 0.3, -0.25])
def test_live_numbers_are_those_of_the_geometry(make_window, make_document, key, turn):
    design = sample_design(key)
    turn = max(-design.largest_turn, min(design.largest_turn, turn))
    window = make_window(make_document(design))
    window.document.set_turn(turn)
    wheels = wheel_arrays(design)
    solved = solve(wheels, from_turn([turn], base_of(design)))
    found = alignment_of(wheels, solved)
    table = window.panels["wheels"]
    for n in range(len(design.wheels)):
        angle = solved.steer if wheels.steered[n] else solved.heading
        assert cells(table, "Angle")[n] == f"{math.degrees(angle[0, n]) + 0.0:.1f}°".replace("-0.0°", "0.0°")
        assert float(cells(table, "Speed")[n]) == pytest.approx(found.roll[0, n], abs=6e-4)
        assert float(cells(table, "Drag")[n]) == pytest.approx(found.drag[0, n], abs=0.06)
        for head, values in (("Radius", found.radius), ("Miss", found.miss)):
            shown = cells(table, head)[n]
            wanted = float(values[0, n])
            assert shown == "∞" if math.isinf(wanted) else float(shown) == pytest.approx(wanted, abs=0.06)
    assert not re.search(r"nan|inf", " ".join(text for head in HEADS for text in cells(table, head)))


@pytest.mark.parametrize("head", HEADS)
@pytest.mark.parametrize("order", [Qt.SortOrder.AscendingOrder, Qt.SortOrder.DescendingOrder])
def test_each_column_sorts_by_number(make_window, make_document, head, order):
    window = make_window(make_document(sample_design("misbuilt_scout")))
    window.document.set_turn(0.3)
    table = window.panels["wheels"]
    table.table.sortByColumn(HEADS.index(head), order)
    found = keys(table, head)
    assert found == sorted(found, reverse=order == Qt.SortOrder.DescendingOrder)
    assert len(set(found)) > 1


def test_infinite_values_sort_last(make_window, make_document):
    toed = sample_design(KEYS[0])
    toed = edits.change_wheels(toed, [2], toe_deg=3.0)
    window = make_window(make_document(toed))
    window.document.set_turn(0.0)
    table = window.panels["wheels"]
    table.table.sortByColumn(HEADS.index("Miss"), Qt.SortOrder.AscendingOrder)
    assert cells(table, "Miss")[-1] == "∞"
    assert cells(table, "Miss").count("∞") < len(toed.wheels)


def test_sorting_does_not_mix_up_the_selection(window):
    document, table = window.document, window.panels["wheels"]
    document.select(references_to("wheel", {3}))
    table.table.sortByColumn(0, Qt.SortOrder.DescendingOrder)
    row = next(index.row() for index in table.table.selectionModel().selectedRows())
    assert table.order.index(row, 0).data() == document.design.wheels[3].name
    table.table.selectRow(0)
    (chosen,) = selected_wheels(document.selection)
    assert document.design.wheels[chosen].name == table.order.index(0, 0).data()


def test_the_selection_is_that_of_the_plan(window):
    window.document.select(references_to("wheel", {1, 4}))
    rows = {index.row() for index in window.panels["wheels"].table.selectionModel().selectedRows()}
    assert rows == {1, 4}
    window.panels["wheels"].table.selectAll()
    assert window.document.selection == references_to("wheel", set(range(6)))


def test_rows_are_copied_with_their_heads(window):
    table = window.panels["wheels"]
    window.document.set_turn(0.3)
    window.document.select(references_to("wheel", {0, 2}))
    table.table.setFocus()
    QTest.keyClick(table.table, Qt.Key.Key_C, Qt.KeyboardModifier.ControlModifier)
    lines = QGuiApplication.clipboard().text().splitlines()
    assert lines[0].split("\t")[:3] == ["Wheel", "Angle", "Radius mm"]
    assert [line.split("\t")[0] for line in lines[1:]] == ["front left", "middle left"]
    assert {len(line.split("\t")) for line in lines} == {len(COLUMNS)}


def test_without_a_selection_all_rows_are_copied(window):
    window.document.select(())
    copy_rows(window.panels["wheels"].table)
    assert len(QGuiApplication.clipboard().text().splitlines()) == 7


def test_numbers_change_without_losing_the_place(window):
    window.document.select(references_to("wheel", {2}))
    window.document.set_turn(0.7)
    rows = {index.row() for index in window.panels["wheels"].table.selectionModel().selectedRows()}
    assert rows == {2}


def test_the_unit_is_in_the_heads_and_holds_in_the_cells(window):
    window.document.set_turn(0.5)
    table = window.panels["wheels"]
    in_mm = [float(text) for text in cells(table, "Radius")]
    window.action["inch"].trigger()
    heads = [table.model.headerData(c, Qt.Orientation.Horizontal) for c in range(len(COLUMNS))]
    assert heads[HEADS.index("Radius")] == "Radius\ninch"
    assert [float(text) for text in cells(table, "Radius")] == pytest.approx(
        [mm / 25.4 for mm in in_mm], abs=3e-3
    )


def test_each_head_and_cell_explains_itself(window):
    model = window.panels["wheels"].model
    for column in range(len(COLUMNS)):
        assert model.headerData(column, Qt.Orientation.Horizontal, Qt.ItemDataRole.ToolTipRole)
        assert model.index(0, column).data(Qt.ItemDataRole.ToolTipRole)


def test_an_empty_table_has_no_rows(make_window, make_document):
    window = make_window(make_document(Design()))
    assert window.panels["wheels"].order.rowCount() == 0
    copy_rows(window.panels["wheels"].table)
    assert len(QGuiApplication.clipboard().text().splitlines()) == 1


def test_the_state_is_told_by_a_shape_too(make_window, make_document):
    window = make_window(make_document(sample_design("misbuilt_scout")))
    window.document.set_turn(0.3)
    for row, text in zip(window.document.view.rows, cells(window.panels["wheels"], "State"), strict=True):
        mark = STATE_MARKS[row.state]
        assert text.startswith(mark)


def test_the_angle_tells_the_ideal_too_once_there_are_motors(make_window, make_document):
    window = make_window(make_document(scout(FRONT, REAR)))
    window.document.set_turn(0.3)
    tip = window.panels["wheels"].model.index(0, HEADS.index("Angle")).data(Qt.ItemDataRole.ToolTipRole)
    row = window.document.view.rows[0]
    assert tip.endswith(f"{math.degrees(row.steer):.1f}° as built, ideal {math.degrees(row.ideal):.1f}°")
    fixed = window.panels["wheels"].model.index(2, HEADS.index("Angle")).data(Qt.ItemDataRole.ToolTipRole)
    assert "ideal" not in fixed
    window.document.edit("No motors", lambda d: d.edited(steer_motors=()))
    tip = window.panels["wheels"].model.index(0, HEADS.index("Angle")).data(Qt.ItemDataRole.ToolTipRole)
    assert "ideal" not in tip
