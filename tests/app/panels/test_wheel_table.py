"""The tables of wheels: live numbers, places, sorting, copying, and a selection shared with the plan."""

import math
import re

import pytest
from PySide6.QtCore import QItemSelectionModel, Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtTest import QTest

from app.design import edits
from app.design.references import references_to, selected_wheels
from app.design.samples import sample_design
from app.panels.form import copy_rows, scrolled
from app.panels.wheel_table import PLACE_COLUMNS, STATE_MARKS, TURN_COLUMNS, TurnTable, WheelModel
from geometry.kinematics.alignment import alignment_of
from geometry.kinematics.ideal import solve
from geometry.kinematics.motion import from_turn
from geometry.model.base_axle import base_of
from geometry.model.design import Design
from geometry.model.wheel_arrays import wheel_arrays
from tests.app.scouts import FRONT, REAR, scout
from tests.windows import KEYS

HEADS = [column.head for column in TURN_COLUMNS]
PLACES = [column.head for column in PLACE_COLUMNS]
BOTH = ("this turn", "wheels")


def see(window, key="this turn"):
    """Bring one of the tables into sight: that of the turn works nothing out before."""
    window.show_panel(key)
    return window.panels[key]


def cells(table, head):
    """Texts of a column in the order on the screen."""
    column = column_of(table, head)
    return [table.order.index(row, column).data() for row in range(table.order.rowCount())]


def column_of(table, head):
    return [column.head for column in table.COLUMNS].index(head)


def keys(table, head):
    column = column_of(table, head)
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
    table = see(window)
    for n in range(len(design.wheels)):
        angle = solved.steer if wheels.steered[n] else solved.heading
        assert cells(table, "Angle")[n] == f"{math.degrees(angle[0, n]) + 0.0:.1f}°".replace("-0.0°", "0.0°")
        assert float(cells(table, "Speed")[n]) == pytest.approx(100 * found.roll[0, n], abs=0.06)
        assert float(cells(table, "Drag")[n]) == pytest.approx(found.drag[0, n], abs=0.06)
        for head, values in (("Radius", found.radius), ("Miss", found.miss)):
            shown = cells(table, head)[n]
            wanted = float(values[0, n])
            assert shown == "∞" if math.isinf(wanted) else float(shown) == pytest.approx(wanted, abs=0.06)
    assert not re.search(r"nan|inf", " ".join(text for head in HEADS for text in cells(table, head)))


@pytest.mark.parametrize("key", KEYS)
def test_places_are_those_of_the_design_and_follow_a_drag(make_window, make_document, key):
    window = make_window(make_document(sample_design(key)))
    table = see(window, "wheels")

    def assert_places(wheels):
        assert cells(table, "Wheel") == [wheel.name for wheel in wheels]
        assert [float(text) for text in cells(table, "x")] == pytest.approx(
            [w.x_mm for w in wheels], abs=1e-3
        )
        assert [float(text) for text in cells(table, "y")] == pytest.approx(
            [w.y_mm for w in wheels], abs=1e-3
        )

    assert_places(window.document.design.wheels)
    wheel = window.document.design.wheels[1]
    x, y = wheel.x_mm - 1.25, wheel.y_mm - 0.5
    assert window.document.preview(lambda d: edits.move_wheels(d, {1: (x, y)}))
    assert (float(cells(table, "x")[1]), float(cells(table, "y")[1])) == (x, y)
    window.document.cancel_preview()
    assert_places(window.document.design.wheels)


@pytest.mark.parametrize(("key", "head"), [("this turn", h) for h in HEADS] + [("wheels", h) for h in PLACES])
@pytest.mark.parametrize("order", [Qt.SortOrder.AscendingOrder, Qt.SortOrder.DescendingOrder])
def test_each_column_sorts_by_number(make_window, make_document, key, head, order):
    window = make_window(make_document(sample_design("misbuilt_scout")))
    window.document.set_turn(0.3)
    table = see(window, key)
    table.table.sortByColumn(column_of(table, head), order)
    found = keys(table, head)
    assert found == sorted(found, reverse=order == Qt.SortOrder.DescendingOrder)
    assert len(set(found)) > 1


def test_infinite_values_sort_last(make_window, make_document):
    toed = sample_design(KEYS[0])
    toed = edits.change_wheels(toed, [2], toe_deg=3.0)
    window = make_window(make_document(toed))
    window.document.set_turn(0.0)
    table = see(window)
    table.table.sortByColumn(HEADS.index("Miss"), Qt.SortOrder.AscendingOrder)
    assert cells(table, "Miss")[-1] == "∞"
    assert cells(table, "Miss").count("∞") < len(toed.wheels)


@pytest.mark.parametrize("key", BOTH)
def test_sorting_does_not_mix_up_the_selection(window, key):
    document, table = window.document, see(window, key)
    document.select(references_to("wheel", {3}))
    table.table.sortByColumn(0, Qt.SortOrder.DescendingOrder)
    row = next(index.row() for index in table.table.selectionModel().selectedRows())
    assert table.order.index(row, 0).data() == document.design.wheels[3].name
    flags = QItemSelectionModel.SelectionFlag
    # Not by selectRow: that asks which keys are held, and other tests hold some.
    table.table.selectionModel().select(table.order.index(0, 0), flags.ClearAndSelect | flags.Rows)
    (chosen,) = selected_wheels(document.selection)
    assert document.design.wheels[chosen].name == table.order.index(0, 0).data()


@pytest.mark.parametrize("key", BOTH)
def test_the_selection_is_that_of_the_plan(window, key):
    table = see(window, key)
    window.document.select(references_to("wheel", {1, 4}))
    rows = {index.row() for index in table.table.selectionModel().selectedRows()}
    assert rows == {1, 4}
    table.table.selectAll()
    assert window.document.selection == references_to("wheel", set(range(6)))


def test_the_table_of_a_hidden_stage_has_the_selection_when_it_is_seen(window):
    window.go_to_stage("lay out")
    window.document.select(references_to("wheel", {1, 4}))
    rows = {index.row() for index in see(window).table.selectionModel().selectedRows()}
    assert rows == {1, 4}


@pytest.mark.parametrize(
    ("key", "heads"), [("this turn", ["Wheel", "Angle", "Radius mm"]), ("wheels", ["Wheel", "x mm", "y mm"])]
)
def test_rows_are_copied_with_their_heads(window, key, heads):
    table = see(window, key)
    window.document.set_turn(0.3)
    window.document.select(references_to("wheel", {0, 2}))
    table.table.setFocus()
    QTest.keyClick(table.table, Qt.Key.Key_C, Qt.KeyboardModifier.ControlModifier)
    lines = QGuiApplication.clipboard().text().splitlines()
    assert lines[0].split("\t")[:3] == heads
    assert [line.split("\t")[0] for line in lines[1:]] == ["front left", "middle left"]
    assert {len(line.split("\t")) for line in lines} == {len(table.COLUMNS)}


@pytest.mark.parametrize("key", BOTH)
def test_without_a_selection_all_rows_are_copied(window, key):
    window.document.select(())
    copy_rows(see(window, key).table)
    assert len(QGuiApplication.clipboard().text().splitlines()) == 7


@pytest.mark.parametrize("key", BOTH)
def test_numbers_change_without_losing_the_place(window, key):
    table = see(window, key)
    window.document.select(references_to("wheel", {2}))
    window.document.set_turn(0.7)
    rows = {index.row() for index in table.table.selectionModel().selectedRows()}
    assert rows == {2}


@pytest.mark.parametrize(("key", "head"), [("this turn", "Radius"), ("wheels", "x")])
def test_the_unit_is_in_the_heads_and_holds_in_the_cells(window, key, head):
    window.document.set_turn(0.5)
    table = see(window, key)
    in_mm = [float(text) for text in cells(table, head)]
    window.action["inch"].trigger()
    heads = [table.model.headerData(c, Qt.Orientation.Horizontal) for c in range(len(table.COLUMNS))]
    assert heads[column_of(table, head)] == f"{head} inch"
    assert [float(text) for text in cells(table, head)] == pytest.approx(
        [mm / 25.4 for mm in in_mm], abs=3e-3
    )


@pytest.mark.parametrize("key", BOTH)
def test_each_head_and_cell_explains_itself(window, key):
    table = see(window, key)
    for column in range(len(table.COLUMNS)):
        assert table.model.headerData(column, Qt.Orientation.Horizontal, Qt.ItemDataRole.ToolTipRole)
        assert table.model.index(0, column).data(Qt.ItemDataRole.ToolTipRole)


@pytest.mark.parametrize("key", BOTH)
def test_an_empty_table_has_no_rows(make_window, make_document, key):
    window = make_window(make_document(Design()))
    table = see(window, key)
    assert table.order.rowCount() == 0
    assert table.none.isVisible()
    copy_rows(table.table)
    assert len(QGuiApplication.clipboard().text().splitlines()) == 1
    window.document.edit("Add", lambda d: edits.add_wheel(d, 10.0, 20.0))
    assert table.order.rowCount() == 1
    assert table.table.isVisible()
    assert not table.none.isVisible()


@pytest.mark.parametrize(
    ("width", "lost"), [(439, {"Radius", "Drag", "Speed"}), (440, {"Speed"}), (519, {"Speed"}), (520, set())]
)
def test_a_narrow_table_leaves_columns_away_and_copies_them_all_the_same(qtbot, make_document, width, lost):
    table = TurnTable(make_document(sample_design(KEYS[0])))
    qtbot.addWidget(table)
    table.resize(width, 400)
    table.show()
    assert {head for n, head in enumerate(HEADS) if table.table.isColumnHidden(n)} == lost
    copy_rows(table.table)
    heads = QGuiApplication.clipboard().text().splitlines()[0].split("\t")
    assert [head.split()[0] for head in heads] == HEADS
    qtbot.waitUntil(lambda: table.unseen.isVisible() == bool(lost))
    if lost:
        told = table.unseen.text().removeprefix("No room for ").partition(":")[0]
        assert set(told.replace(" and ", ", ").split(", ")) == lost


def test_a_line_below_that_takes_width_away_is_told_of_no_end(qtbot, make_document):
    """In a frame that scrolls, the line below may bring a bar, which takes width, which brings the line."""
    table = TurnTable(make_document(sample_design(KEYS[0])))
    area = scrolled(table, both_ways=True)
    qtbot.addWidget(area)
    area.show()
    for width in range(430, 450):
        for height in (table.sizeHint().height() + 4, table.sizeHint().height() - 4):
            area.resize(width, height)
            qtbot.wait(2)
    assert table.unseen.text()


def test_a_table_without_rows_says_nothing_of_columns(qtbot, make_document):
    table = TurnTable(make_document(Design()))
    qtbot.addWidget(table)
    table.resize(300, 400)
    table.show()
    assert not table.unseen.isVisible()


def test_the_state_is_told_by_a_shape_too(make_window, make_document):
    window = make_window(make_document(sample_design("misbuilt_scout")))
    window.document.set_turn(0.3)
    for row, text in zip(window.document.view.rows, cells(see(window), "State"), strict=True):
        mark = STATE_MARKS[row.state]
        assert text.startswith(mark)


def test_the_angle_tells_the_ideal_too_once_there_are_motors(make_window, make_document):
    window = make_window(make_document(scout(FRONT, REAR)))
    window.document.set_turn(0.3)
    tip = see(window).model.index(0, HEADS.index("Angle")).data(Qt.ItemDataRole.ToolTipRole)
    row = window.document.view.rows[0]
    assert tip.endswith(f"{math.degrees(row.steer):.1f}° as built, ideal {math.degrees(row.ideal):.1f}°")
    fixed = see(window).model.index(2, HEADS.index("Angle")).data(Qt.ItemDataRole.ToolTipRole)
    assert "ideal" not in fixed
    window.document.edit("No motors", lambda d: d.edited(steer_motors=()))
    tip = see(window).model.index(0, HEADS.index("Angle")).data(Qt.ItemDataRole.ToolTipRole)
    assert "ideal" not in tip
