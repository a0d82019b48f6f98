"""Sharing is offered where steered wheels have no steer motor: found by a job, taken up by a button."""

import threading
from threading import Event

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QGuiApplication

import app.panels.sharing_offer as module
from app.design import edits, motor_edits
from app.design.samples import sample_design
from app.panels.form import copy_rows
from app.panels.sharing_offer import SharingOffer, wanted
from geometry.errors import AxlewrightError
from geometry.model.design import Design
from tests.windows import KEYS

SIX = sample_design(KEYS[0])
ALL_STEERED = edits.change_wheels(SIX, range(6), kind="steered")


@pytest.fixture
def make_offer(qtbot, make_document):
    before = set(threading.enumerate())
    made = []

    def make(design=SIX):
        document = make_document(design)
        offer = SharingOffer(document)
        document.changed.connect(offer.show_view)
        qtbot.addWidget(offer)
        offer.resize(300, 400)
        offer.show_view(document.view)
        made.append(offer)
        return document, offer

    yield make
    for offer in made:
        offer.hide()
    assert [thread for thread in threading.enumerate() if thread not in before] == []


@pytest.fixture
def stuck(monkeypatch):
    """A search that goes on until it is told to stop; counted."""
    begun = []

    def search(design, progress):
        begun.append(design)
        while progress(0.5):
            Event().wait(0.005)
        return ()

    monkeypatch.setattr(module, "search", search)
    return begun


def found(qtbot, offer):
    qtbot.waitUntil(lambda: offer.model.rowCount() > 0, timeout=60_000)
    return [
        [offer.model.index(r, c).data() for c in range(offer.model.columnCount())]
        for r in range(offer.model.rowCount())
    ]


def test_the_best_sharing_for_each_number_of_motors_is_shown_without_being_asked_for(qtbot, make_offer):
    _document, offer = make_offer()
    assert offer.isVisible()
    rows = found(qtbot, offer)
    assert [row[0] for row in rows] == ["1", "2"]
    assert rows[1] == ["2", "0.0", "0.0", "none"]
    assert float(rows[0][1]) > 100
    assert "4 from 0.4" in rows[0][3]
    assert offer.table.selectionModel().selectedRows()[0].row() == 1
    assert offer.details.text().splitlines() == [
        "Nothing is lost against a motor for each wheel.",
        "S1: front left + rear left opposite",
        "S2: front right + rear right opposite",
    ]
    assert not offer.start.isVisible()
    assert not offer.progress.isVisible()


def test_another_row_says_what_it_loses(qtbot, make_offer):
    _document, offer = make_offer()
    found(qtbot, offer)
    offer.table.selectRow(0)
    assert "drags most: up to" in offer.details.text()
    assert offer.details.text().count("\n") == 1


def test_taking_it_up_is_one_step_and_the_offer_goes(qtbot, make_offer):
    document, offer = make_offer()
    found(qtbot, offer)
    offer.use.click()
    held = [[(g.wheel, g.turns) for g in motor.wheels] for motor in document.design.steer_motors]
    assert held == [
        [("front left", 1.0), ("rear left", -1.0)],
        [("front right", 1.0), ("rear right", -1.0)],
    ]
    assert document.undo_stack.undoText() == "Share 2 steer motors"
    assert offer.isHidden()
    document.undo()
    assert document.design == SIX
    assert offer.isVisible()
    assert offer.model.rowCount() == 2  # the answer of before still holds


@pytest.mark.parametrize(
    ("design", "offered"),
    [
        (SIX, True),
        (Design(), False),
        (edits.change_wheels(SIX, range(6), kind="fixed"), False),
        (motor_edits.add_motor(SIX, "steer", ["front left"]), True),
        (motor_edits.add_motor(SIX, "drive", ["front left"]), True),
        (sample_design("marsh_scout_motors"), False),
    ],
)
def test_it_is_offered_where_steered_wheels_have_no_steer_motor(make_offer, design, offered):
    assert wanted(design) is offered
    _document, offer = make_offer(design)
    assert offer.isHidden() is not offered


def test_the_head_counts_the_wheels_that_lack_a_motor(make_offer):
    _document, offer = make_offer(motor_edits.add_motor(SIX, "steer", ["front left", "rear left"]))
    assert offer.title.text() == "2 steered wheels lack a steer motor"


def test_a_search_shows_its_progress_and_stops_when_it_is_told(qtbot, make_offer, stuck):
    _document, offer = make_offer()
    qtbot.waitUntil(lambda: offer.progress.value() == 50, timeout=5_000)
    assert offer.progress.isVisible()
    assert offer.told.text() == "Searching for the best sharing …"
    offer.stop.click()
    assert offer.told.text() == "The search was stopped."
    assert offer.start.isVisible()
    assert not offer.stop.isVisible()
    qtbot.wait(2 * module._WAIT_MS)
    assert len(stuck) == 1  # it does not start again by itself
    offer.start.click()
    qtbot.waitUntil(lambda: len(stuck) == 2)


def test_it_rests_during_a_drag_and_searches_anew_for_what_came_of_it(qtbot, make_offer, stuck):
    document, offer = make_offer()
    qtbot.waitUntil(lambda: len(stuck) == 1)
    document.preview(lambda d: edits.move_wheels(d, {0: (140.0, 120.0)}, mirror=False))
    assert not offer.progress.isVisible()
    document.commit_preview("Move")
    qtbot.waitUntil(lambda: len(stuck) == 2)
    assert stuck[1] == document.design


def test_what_does_not_change_the_answer_starts_no_search(qtbot, make_offer, stuck):
    document, _offer = make_offer()
    qtbot.waitUntil(lambda: len(stuck) == 1)
    document.set_turn(0.2)
    document.edit("Note", lambda d: d.edited(notes="other"))
    document.edit("Drive", lambda d: motor_edits.add_motor(d, "drive", ["front left"]))
    qtbot.wait(2 * module._WAIT_MS)
    assert len(stuck) == 1


def test_nothing_is_searched_out_of_sight_and_a_hidden_offer_leaves_no_thread(qtbot, make_offer, stuck):
    document, offer = make_offer()
    qtbot.waitUntil(lambda: len(stuck) == 1)
    threads = [t for t in threading.enumerate() if t.name.startswith("job")]
    assert len(threads) == 1
    offer.hide()
    assert not threads[0].is_alive()
    qtbot.wait(2 * module._WAIT_MS)
    assert len(stuck) == 1
    offer.show()
    qtbot.waitUntil(lambda: len(stuck) == 2)
    assert document.design == SIX


def test_why_there_is_no_answer_is_said(qtbot, make_offer, monkeypatch):
    def search(_design, _progress):
        raise AxlewrightError("too many wheels")

    monkeypatch.setattr(module, "search", search)
    _document, offer = make_offer()
    qtbot.waitUntil(lambda: offer.told.text() == "Too many wheels.", timeout=5_000)
    assert offer.told.isVisible()
    assert not offer.start.isVisible()  # it would find no more
    assert not offer.use.isVisible()


def test_the_rows_are_sorted_by_number_and_copied_with_heads(qtbot, make_offer):
    _document, offer = make_offer()
    found(qtbot, offer)
    offer.table.sortByColumn(1, Qt.SortOrder.AscendingOrder)
    assert [row[0] for row in found(qtbot, offer)] == ["2", "1"]
    offer.table.selectRow(0)
    assert offer.chosen is not None
    assert offer.chosen.motors == 2
    offer.table.clearSelection()
    copy_rows(offer.table)
    lines = QGuiApplication.clipboard().text().splitlines()
    assert lines[0] == "Motors\tWorst drag mm/m\tRadius error %\tJumps"
    assert lines[1] == "2\t0.0\t0.0\tnone"


def test_the_table_is_whole_in_the_narrowest_panel(qtbot, make_offer):
    _document, offer = make_offer()
    offer.resize(272, 400)
    found(qtbot, offer)
    qtbot.wait(20)
    table = offer.table
    head = table.horizontalHeader()
    assert table.verticalScrollBar().maximum() == 0
    assert head.length() <= table.viewport().width()
    for column, (words, _tip) in enumerate(module.HEADS):
        widest = max(head.fontMetrics().horizontalAdvance(line) for line in words.splitlines())
        assert head.sectionSize(column) >= max(table.sizeHintForColumn(column), widest + 8)
