"""The view from the side and from the front: what is seen where, and parts that are dragged and nudged."""

import itertools

import pytest
from PySide6.QtCore import QPointF, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from app.design import part_edits
from app.design.references import Reference, references_to
from app.design.samples import sample_design
from app.settings import Settings
from app.views.elevation import ElevationView
from app.views.lettering import lettering
from tests import mouse

Key, Held = Qt.Key, Qt.KeyboardModifier


def loaded():
    design = part_edits.change_packaging(sample_design("marsh_scout_six"), floor_mm=28.0, roof_mm=88.0)
    design = part_edits.add_part(design, "battery", 60.0, 30.0)
    return part_edits.duplicate_parts(design, [0], mirrored=True)


@pytest.fixture(params=["side", "front"])
def view(request, make_window, make_document):
    window = make_window(
        make_document(loaded()), Settings(elevation=request.param, welcome_dismissed=True, snap=False)
    )
    window.resize(1280, 900)
    QApplication.processEvents()
    return window.middle.elevation


def part(view, index=0):
    return view._document.design.packaging.parts[index]


def middle(view, index=0):
    return QPointF(view.box_px(view._view.design.packaging.parts[index]).center())


def axis_of(view):
    return "x_mm" if "side" in view.accessibleName() else "y_mm"


def test_a_part_is_gripped_where_it_is_seen_and_goes_along_and_up(view):
    before, scale, way = part(view), view.sight().scale, view.sight().way
    start = middle(view)
    by = QPointF(round(20 * scale), -round(10 * scale))
    mouse.press_at(view, start)
    mouse.move_to(view, start + by)
    assert view._document.view.previewing
    mouse.release_at(view, start + by)
    after, key = part(view), axis_of(view)
    assert getattr(after, key) - getattr(before, key) == pytest.approx(way * by.x() / scale, abs=1.0 / scale)
    assert after.bottom_mm - before.bottom_mm == pytest.approx(-by.y() / scale, abs=1.0 / scale)
    other = "y_mm" if key == "x_mm" else "x_mm"
    assert getattr(after, other) == getattr(before, other)
    assert view._document.undo_stack.count() == 1
    twin = part(view, 1)
    assert (twin.x_mm, twin.y_mm, twin.bottom_mm) == (after.x_mm, -after.y_mm, after.bottom_mm)
    view._document.undo()
    assert part(view) == before


def test_forward_is_to_the_left_from_the_side_and_left_to_the_right_from_the_front(view):
    box, ahead = view.box_px(part(view)).center().x(), view.box_px(part(view, 1)).center().x()
    if axis_of(view) == "x_mm":
        assert view.sight().px(100.0) < view.sight().px(0.0)
    else:
        assert box > ahead  # the part on the left side stands at the right, seen from the front


def test_escape_gives_a_drag_up(view):
    before, start = view._document.design, middle(view)
    mouse.press_at(view, start)
    mouse.move_to(view, start + QPointF(30, 0))
    QTest.keyClick(view, Key.Key_Escape)
    assert view._document.design is before
    assert not view._document.view.previewing
    mouse.release_at(view, start + QPointF(30, 0))
    assert view._document.undo_stack.count() == 0


@pytest.mark.parametrize(("key", "by"), [(Key.Key_Up, 1.0), (Key.Key_Down, -1.0)])
def test_keys_raise_and_lower_what_is_selected(view, key, by):
    before = part(view).bottom_mm
    view._document.select(references_to("part", (0,)))
    QTest.keyClick(view, key)
    QTest.keyClick(view, key, Held.ShiftModifier)
    assert part(view).bottom_mm == before + 11.0 * by
    assert view._document.undo_stack.count() == 1


@pytest.mark.parametrize(("key", "right"), [(Key.Key_Left, -1), (Key.Key_Right, 1)])
def test_keys_move_it_the_way_they_point_on_the_screen(view, key, right):
    view._document.select(references_to("part", (0,)))
    before = view.box_px(part(view)).center().x()
    at = getattr(part(view), axis_of(view))
    QTest.keyClick(view, key)
    assert getattr(part(view), axis_of(view)) == at + right * view.sight().way
    assert (view.box_px(part(view)).center().x() - before) * right > 0


def test_keys_without_a_part_say_what_to_do(view):
    told = []
    view._document.message.connect(told.append)
    view._document.select(())
    QTest.keyClick(view, Key.Key_Up)
    assert told == ["Select a part first; the arrow keys then move it."]


def test_a_double_click_asks_for_the_numbers(view):
    asked = []
    view.numbers_asked.connect(asked.append)
    mouse.double_click(view, middle(view))
    assert asked == [Reference("part", asked[0].index)]


def test_all_of_the_chassis_is_in_sight(view):
    area = view.rect()
    for i in range(2):
        assert area.contains(view.box_px(part(view, i)).toAlignedRect())
    for i in range(len(view._document.design.wheels)):
        assert area.contains(view.wheel_px(i).toAlignedRect())


def test_the_second_view_is_there_in_the_stage_of_laying_out_alone_and_is_closed_again(make_window):
    window = make_window()
    assert window.middle.elevation.isHidden()
    window.action["side_view"].trigger()
    assert window.middle.elevation.isVisible()
    assert window.action["side_view"].isChecked()
    window.go_to_stage("check")
    assert window.middle.elevation.isHidden()
    window.action["front_view"].trigger()
    assert (window.middle.side.stage, window.middle.elevation.isVisible()) == ("lay out", True)
    window.action["front_view"].trigger()
    assert window.middle.elevation.isHidden()
    assert not window.action["front_view"].isChecked()


@pytest.mark.parametrize("width", [240, 320, 640, 950])
@pytest.mark.parametrize("side", ["side", "front"])
@pytest.mark.parametrize("unit", ["mm", "inch"])
def test_words_at_the_foot_stand_apart_and_inside_however_long_they_are(
    qtbot, make_document, width, side, unit
):
    view = ElevationView(make_document(loaded()))
    qtbot.addWidget(view)
    view.look_from(side)
    view.set_unit(unit)
    view.resize(width, 120)
    told = {view._told()}
    for drags in (False, True):
        start = middle(view)
        if drags:
            mouse.press_at(view, start)
            mouse.move_to(view, start + QPointF(9, 5))
        told.add(view._told())
        words = [(text, place) for text, place in view.foot() if text]
        assert words[0][0].startswith("←")
        assert (words[0][1].left(), round(words[-1][1].right())) == (8, width - 8)
        for (_, one), (_, other) in itertools.pairwise(words):
            assert other.left() - one.right() >= 16
        assert all(view.sight().ground < place.top() + 4 for _, place in words)
    assert len(told) == 2


def test_a_name_in_a_part_is_cut_no_shorter_than_tells_something(qapp):
    letters = lettering(qapp.font())
    name, whole = "left steering servo", letters.width("left steering servo", "small")
    assert letters.named(name, "small", whole) == name
    cuts = {letters.named(name, "small", float(wide)) for wide in range(10, int(whole))}
    assert "" in cuts
    assert 10 <= min(len(cut) for cut in cuts if cut) < 13
    assert letters.named("pump", "small", whole) == "pump"
