"""What collides is told a moment after a change: by the stage, on the drawings, in the list of parts."""

import pytest
from PySide6.QtCore import QPointF
from PySide6.QtWidgets import QApplication

from app.design import part_edits
from app.design.references import Reference, references_to
from app.design.samples import sample_design
from app.settings import Settings
from tests import mouse


@pytest.fixture
def crowded(make_window, make_document):
    window = make_window(
        make_document(sample_design("crowded_scout")), Settings(elevation="side", snap=False)
    )
    window.resize(1280, 900)
    window.fit_watch.look()
    QApplication.processEvents()
    return window


def state(window):
    return window.middle.bar.buttons["lay out"].accessibleName()


def test_the_one_collision_is_told_marked_and_chosen(crowded):
    fit = crowded.fit_watch.fit
    assert len(fit.collisions) == 1
    assert state(crowded) == "Lay out: 1 collision"
    crowded.go_to("parts")
    table = crowded.panels["parts"]
    assert table.fit.list.count() == 1
    table.fit.list.itemClicked.emit(table.fit.list.item(0))
    assert set(crowded.document.selection) == crowded.fit_watch.struck
    assert len(crowded.fit_watch.struck) >= 1


def test_it_is_mended_by_a_drag_in_the_side_view_undone_and_redone(crowded, qtbot):
    document, view = crowded.document, crowded.middle.elevation
    one = crowded.fit_watch.fit.collisions[0]
    part = one.first if one.first.kind == "part" else one.second
    document.select((Reference("part", part.index),))
    # Where the way out is not along this view, up is a way out all the same: far above all else.
    start = QPointF(view.box_px(document.design.packaging.parts[part.index]).center())
    before = document.design
    by = QPointF(0.0, -0.75 * (start.y() - view.rect().top()))
    mouse.press_at(view, start)
    mouse.move_to(view, start + by)
    mouse.release_at(view, start + by)
    assert document.design != before
    raised = document.design.packaging.parts
    assert any(a.bottom_mm > b.bottom_mm for a, b in zip(raised, before.packaging.parts, strict=True))
    document.undo()
    qtbot.waitUntil(lambda: state(crowded) == "Lay out: 1 collision")
    document.redo()
    assert document.design.packaging.parts == raised


def test_a_design_that_fits_says_so_and_weights_become_load_shares(make_window, make_document, qtbot):
    window = make_window(make_document(sample_design("marsh_scout_motors")))
    window.go_to("parts")
    qtbot.waitUntil(lambda: window.fit_watch.fit is not None)
    table = window.panels["parts"]
    assert table.fit.state.text() == "Nothing collides, at this turn or over all travel."
    assert table.fit.list.isHidden()
    assert "centre of mass" in table.stance.words.text()
    before = window.document.design
    table.stance.use.click()
    shares = [wheel.load_share for wheel in window.document.design.wheels]
    assert sum(shares) == pytest.approx(len(shares))
    assert shares != [wheel.load_share for wheel in before.wheels]
    window.action["undo"].trigger()
    assert window.document.design == before


def test_two_parts_in_one_place_collide_and_apart_do_not(make_window, make_document, qtbot):
    window = make_window(
        make_document(part_edits.add_part(sample_design("marsh_scout_six"), "battery", 0.0, 0.0))
    )
    document = window.document
    assert document.edit("Add", lambda d: part_edits.add_part(d, "controller", 20.0, 0.0))
    both = references_to("part", (0, 1))
    qtbot.waitUntil(lambda: window.fit_watch.struck >= set(both))
    assert document.edit("Move", lambda d: part_edits.move_parts(d, {1: (-90.0, 0.0)}))
    qtbot.waitUntil(lambda: not window.fit_watch.struck & set(both))


def test_nothing_on_the_chassis_is_no_fault(make_window, make_document):
    window = make_window(make_document())
    window.fit_watch.look()
    assert window.fit_watch.fit.fits


@pytest.mark.parametrize("made_before", [True, False])
def test_what_was_found_of_the_design_before_is_told_in_its_own_names(crowded, made_before):
    document = crowded.document
    if made_before:
        crowded.go_to("parts")
    document.edit("Empty it", lambda d: part_edits.delete_parts(d, range(len(d.packaging.parts))))
    document.edit("Leave no wheel", lambda d: d.edited(wheels=(), steer_motors=(), drive_motors=()))
    assert crowded.fit_watch.design is not document.design
    crowded.go_to("parts")
    table = crowded.panels["parts"]
    crowded.filing.change_settings(length_unit="inch")
    assert table.fit.list.count() == 1
    table.fit.list.itemClicked.emit(table.fit.list.item(0))
    assert not document.selection, "chosen by a name of the design before"
    crowded.fit_watch.look()
    assert table.fit.list.count() == 0
