"""The advice dialog: ask, wait or stop, compare, use one."""

import threading
from dataclasses import replace
from threading import Event

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QDialog, QHeaderView

import app.dialogs.sharing as module
from app.design import edits, motor_edits
from app.design.samples import sample_design
from app.dialogs.sharing import AdviceDialog, ask_advice, find_sharing
from app.panels.form import copy_rows
from geometry.errors import AxlewrightError
from geometry.model.design import Design
from geometry.model.wheel import Wheel
from tests.windows import KEYS

SIX = sample_design(KEYS[0])


@pytest.fixture
def make_dialog(qtbot):
    before = set(threading.enumerate())
    made = []

    def make(design=SIX):
        dialog = AdviceDialog(None, design)
        qtbot.addWidget(dialog)
        dialog.show()
        made.append(dialog)
        return dialog

    yield make
    for dialog in made:
        dialog.close()
    assert [thread for thread in threading.enumerate() if thread not in before] == []


def searched(qtbot, dialog):
    dialog.start.click()
    qtbot.waitUntil(dialog.start.isEnabled, timeout=20_000)
    return dialog


def column(dialog, head):
    heads = [
        dialog.model.horizontalHeaderItem(c).text().splitlines()[0] for c in range(dialog.model.columnCount())
    ]
    at = heads.index(head)
    return [dialog.order.index(r, at).data() for r in range(dialog.order.rowCount())]


def enter(field, text):
    field.setFocus()
    field.selectAll()
    field.insert(text)
    QTest.keyClick(field, Qt.Key.Key_Return)


@pytest.fixture
def stuck(monkeypatch):
    """A search that goes on until it is told to stop."""
    begun = Event()

    def search(_design, _motors, _reach, progress):
        begun.set()
        while progress(0.5):
            pass
        return (), None

    monkeypatch.setattr(module, "find_sharing", search)
    return begun


def test_it_asks_for_the_motors_that_there_are_over_the_range_in_use(make_dialog):
    assert make_dialog().motors.value() == 2
    design = edits.change_chassis(SIX, largest_turn=0.6)
    for wheel in ("front left", "front right", "rear left"):
        design = motor_edits.add_motor(design, "steer", [wheel])
    dialog = make_dialog(design)
    assert dialog.motors.value() == 3
    assert dialog.motors.maximum() == 4
    assert dialog.reach.value == 0.6
    assert not dialog.use.isEnabled()


def test_the_exact_sharing_of_a_symmetric_six_wheeler_comes_first(qtbot, make_dialog):
    dialog = searched(qtbot, make_dialog())
    assert (
        column(dialog, "Sharing")[0] == "front left + rear left opposite; front right + rear right opposite"
    )
    assert column(dialog, "Worst drag")[0] == "0.0"
    assert column(dialog, "Exact")[0] == "yes"
    assert column(dialog, "Worst wheel")[0] == "–"
    assert "one is exact" in dialog.told.text()
    assert "No wheel loses anything" in dialog.details.toPlainText()
    assert "no wheel flips" in dialog.details.toPlainText()


def test_the_range_that_matters_is_searched(qtbot, make_dialog):
    dialog = make_dialog()
    dialog.motors.setValue(1)
    searched(qtbot, dialog)
    whole = column(dialog, "Worst drag")[0]
    enter(dialog.reach, "0,2")
    searched(qtbot, dialog)
    assert float(column(dialog, "Worst drag")[0]) < float(whole)
    assert "up to 0.2" in dialog.told.text()


@pytest.mark.parametrize("text", ["0", "1.5", "-0.2", "abc"])
def test_a_range_that_cannot_be_is_marked(make_dialog, text):
    dialog = make_dialog()
    enter(dialog.reach, text)
    assert "border" in dialog.reach.styleSheet()
    assert dialog.isVisible()


def test_the_losses_follow_the_row(qtbot, make_dialog):
    dialog = searched(qtbot, make_dialog())
    dialog.table.selectRow(1)
    assert "Lost against a motor for each wheel" in dialog.details.toPlainText()
    assert dialog.chosen is dialog._found[1]


def test_rows_sort_by_number_and_the_choice_stays_right(qtbot, make_dialog):
    dialog = searched(qtbot, make_dialog())
    header = dialog.table.horizontalHeader()
    dialog.table.sortByColumn(3, Qt.SortOrder.DescendingOrder)
    mean = [float(text) for text in column(dialog, "Mean drag")]
    assert mean == sorted(mean, reverse=True)
    # By their letters, these would stand otherwise.
    assert sorted(map(str, mean), reverse=True) != list(map(str, mean))
    dialog.table.selectRow(0)
    assert dialog.chosen.mean == max(g.mean for g in dialog._found)
    assert header.sectionResizeMode(0) == QHeaderView.ResizeMode.Interactive


def test_a_sharing_that_does_not_turn_as_asked_is_named_and_sorts_last(qtbot, make_dialog, monkeypatch):
    def search(*asked):
        found, facts = find_sharing(*asked)
        return tuple(replace(g, off_course=place in (1, 3)) for place, g in enumerate(found)), facts

    monkeypatch.setattr(module, "find_sharing", search)
    dialog = searched(qtbot, make_dialog())
    assert column(dialog, "Exact")[:5] == ["yes", "off course", "no", "off course", "no"]
    for row in range(5):
        dialog.table.selectRow(row)
        assert ("does not turn as it is asked to" in dialog.details.toPlainText()) == (row in (1, 3))
    dialog.table.sortByColumn(6, Qt.SortOrder.AscendingOrder)
    exact = column(dialog, "Exact")
    assert exact[0] == "yes"
    assert exact[-2:] == ["off course", "off course"]


def test_rows_are_copied_with_heads(qtbot, make_dialog):
    dialog = searched(qtbot, make_dialog())
    copy_rows(dialog.table)
    lines = QGuiApplication.clipboard().text().splitlines()
    assert lines[0].split("\t")[:3] == ["Sharing", "Motors", "Worst drag mm/m"]
    assert lines[1].startswith("front left + rear left opposite")


def test_a_search_can_be_stopped_and_started_again(qtbot, make_dialog, stuck, monkeypatch):
    dialog = make_dialog()
    dialog.start.click()
    assert stuck.wait(10)
    qtbot.waitUntil(lambda: dialog.progress.value() == 50)
    assert dialog.progress.isVisible()
    assert not dialog.start.isEnabled()
    dialog.stop.click()
    qtbot.waitUntil(dialog.start.isEnabled)
    assert "stopped" in dialog.told.text()
    assert not dialog.progress.isVisible()
    monkeypatch.setattr(module, "find_sharing", find_sharing)
    searched(qtbot, dialog)
    assert column(dialog, "Exact")[0] == "yes"


def test_closing_the_dialog_ends_its_search(make_dialog, stuck):
    dialog = make_dialog()
    dialog.start.click()
    assert stuck.wait(10)
    QTest.keyClick(dialog, Qt.Key.Key_Escape)
    assert not dialog.isVisible()
    assert not any(thread.name.startswith("job") for thread in threading.enumerate())


def test_the_real_search_stops_when_it_is_asked_to():
    shares = []

    def progress(share):
        shares.append(share)
        return len(shares) < 3

    with pytest.raises(AxlewrightError, match="cancelled"):
        find_sharing(SIX, 2, 1.0, progress)
    assert len(shares) == 3


def test_without_a_steered_wheel_it_says_what_to_do(qtbot, make_dialog):
    dialog = searched(qtbot, make_dialog(Design(wheels=(Wheel(name="a", x_mm=0.0, y_mm=50.0),))))
    assert "make a wheel steered first" in dialog.told.text()
    assert not dialog.use.isEnabled()


def test_too_many_steered_wheels_are_refused_in_a_sentence(qtbot, make_dialog):
    many = tuple(
        Wheel(name=f"w{i}", x_mm=50.0 * (i // 2), y_mm=90.0 * (-1) ** i, kind="steered") for i in range(12)
    )
    dialog = searched(qtbot, make_dialog(Design(wheels=many)))
    assert "at most" in dialog.told.text()
    assert "12" in dialog.told.text()


def test_enter_in_a_field_neither_searches_nor_uses(make_dialog):
    dialog = make_dialog()
    dialog.motors.setFocus()
    QTest.keyClick(dialog.motors, Qt.Key.Key_Return)
    assert dialog.isVisible()
    assert dialog.start.isEnabled()


def test_everything_has_a_name_for_a_screen_reader(make_dialog):
    dialog = make_dialog()
    for part in (dialog.motors, dialog.reach, dialog.progress, dialog.table, dialog.details):
        assert part.accessibleName()


@pytest.mark.parametrize("accepted", [True, False])
def test_the_dialog_gives_the_chosen_sharing(qtbot, monkeypatch, accepted):
    def run(dialog):
        searched(qtbot, dialog)
        return QDialog.DialogCode.Accepted if accepted else QDialog.DialogCode.Rejected

    monkeypatch.setattr(AdviceDialog, "exec", run)
    found = ask_advice(None, SIX)
    sides = [[("front left", 1.0), ("rear left", -1.0)], [("front right", 1.0), ("rear right", -1.0)]]
    assert found == (sides if accepted else None)


def test_what_is_used_is_what_the_row_promised(qtbot, make_dialog):
    dialog = searched(qtbot, make_dialog())
    dialog.table.selectRow(2)
    shared = motor_edits.group_steering(SIX, dialog.sharing())
    assert [[(g.wheel, g.turns) for g in motor.wheels] for motor in shared.steer_motors] == dialog.sharing()
    assert len(shared.steer_motors) == dialog.chosen.motors
