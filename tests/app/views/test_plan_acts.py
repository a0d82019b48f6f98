"""What may be done on the plan by what is under the mouse: menus, numbers, pairs, tips, cursors."""

from __future__ import annotations

import pytest
from PySide6.QtCore import QEvent, QPoint, QPointF, Qt
from PySide6.QtGui import QContextMenuEvent, QEnterEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

import app.views.canvas
from app.design import edits
from app.design.references import Reference, references_to
from app.design.samples import sample_design
from app.panels.body_editor import BodyEditor
from app.panels.wheel_editor import WheelEditor
from geometry.model.design import Design
from geometry.model.wheel import Wheel
from tests import mouse
from tests.windows import KEYS

Key = Qt.Key
Shape = Qt.CursorShape
SIX = sample_design(KEYS[0]).edited(hole_pitch_mm=None)


@pytest.fixture
def document(make_document):
    return make_document(SIX)


@pytest.fixture
def window(make_window, document):
    made = make_window(document)
    made.canvas.setFocus()
    made.canvas.fit()
    return made


@pytest.fixture
def empty(make_window, make_document):
    made = make_window(make_document(Design()))
    made.canvas.setFocus()
    return made


@pytest.fixture
def menus(monkeypatch):
    """What menus of the plan were opened: title, keys of the actions, and what is chosen from them."""
    seen = []

    class Menu(app.views.canvas.QMenu):
        choose = ""

        def exec(self, *_args):
            entries = [action for action in self.actions() if not action.isSeparator()]
            title = entries[0].text() if not entries[0].isEnabled() else ""
            seen.append((title, [action.objectName() for action in entries if action.objectName()]))
            for action in entries:
                if self.choose and action.objectName() == self.choose:
                    action.trigger()

    monkeypatch.setattr(app.views.canvas, "QMenu", Menu)
    return seen, Menu


def open_menu(canvas, at: QPoint, reason=QContextMenuEvent.Reason.Mouse):
    QApplication.sendEvent(canvas, QContextMenuEvent(reason, at, canvas.mapToGlobal(at)))


def centre(window):
    return mouse.pixel(window.canvas, *window.document.view.centre.tolist())


def place(document, index=0):
    return document.design.wheels[index].x_mm, document.design.wheels[index].y_mm


# Menus -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("spot", "title", "acts"),
    [
        (
            "wheel",
            "rear left",
            ["numbers", "rename", "mirror", "delete", "fixed", "steered", "caster", "driven"],
        ),
        ("corner", "body corner 3", ["numbers", "delete", "add_corner"]),
        ("centre", "turn centre", ["straight", "radius", "reverse", "fit"]),
        ("ground", "", ["add", "body", "part", "select_all", "fit", "measure"]),
    ],
)
def test_the_menu_is_that_of_what_is_under_the_mouse(window, document, menus, spot, title, acts):
    at = {
        "wheel": mouse.pixel(window.canvas, *place(document, 4)),
        "corner": mouse.pixel(window.canvas, *document.design.body_mm[2]),
        "centre": centre(window),
        "ground": mouse.pixel(window.canvas, 40.0, 20.0),
    }[spot]
    open_menu(window.canvas, at.toPoint())
    assert menus[0] == [(title, acts)]
    chosen = {"wheel": Reference("wheel", 4), "corner": Reference("corner", 2)}.get(spot)
    assert document.selection == (() if chosen is None else (chosen,))


@pytest.mark.parametrize("by", ["menu key", "shift f10"])
@pytest.mark.parametrize(
    ("chosen", "title"),
    [(Reference("wheel", 5), "rear right"), (Reference("corner", 0), "body corner 1"), (None, "")],
)
def test_by_key_the_menu_is_that_of_what_is_selected(window, document, menus, by, chosen, title):
    document.select(() if chosen is None else (chosen,))
    if by == "menu key":
        open_menu(window.canvas, QPoint(3, 3), QContextMenuEvent.Reason.Keyboard)
    else:
        QTest.keyClick(window.canvas, Key.Key_F10, mouse.SHIFT)
    assert [found for found, _ in menus[0]] == [title]


def test_a_pair_is_added_where_the_menu_of_the_ground_was_opened(window, document, menus):
    menus[1].choose = "add"
    open_menu(window.canvas, mouse.pixel(window.canvas, 61.0, -199.0).toPoint())
    left, right = document.design.wheels[6:]
    assert (left.x_mm, right.x_mm) == (60.0, 60.0)
    assert (left.y_mm, right.y_mm) == (200.0, -200.0)
    assert window.canvas.place_for_new() is None  # the place is that of the menu alone


@pytest.mark.parametrize("kind", ["fixed", "caster"])
def test_a_kind_is_ticked_and_chosen_for_the_pair(window, document, menus, kind):
    menus[1].choose = kind
    at = mouse.pixel(window.canvas, *place(document, 0)).toPoint()
    assert not window.action["steered"].isChecked()
    open_menu(window.canvas, at)
    assert [w.kind for w in document.design.wheels[:2]] == [kind, kind]
    ticks = [key for key in ("fixed", "steered", "caster") if window.action[key].isChecked()]
    assert ticks == [kind]
    window.action[kind].trigger()  # already so: nothing is done, and the tick stays
    assert window.action[kind].isChecked()
    assert document.undo_stack.count() == 1


def test_wheels_of_unlike_kinds_tick_none(window, document):
    document.select(references_to("wheel", {0, 2}))
    assert not any(window.action[key].isChecked() for key in ("fixed", "steered", "caster"))


def test_drive_is_ticked_and_switched_for_the_pair(window, document):
    document.select(references_to("wheel", {0}))
    assert window.action["driven"].isChecked()
    window.action["driven"].trigger()
    assert [w.driven for w in document.design.wheels[:2]] == [False, False]
    assert not window.action["driven"].isChecked()


# Numbers ---------------------------------------------------------------------------------


def test_a_double_click_on_a_wheel_goes_to_its_numbers(window, document):
    before = window.canvas.camera
    mouse.double_click(window.canvas, mouse.pixel(window.canvas, *place(document, 3)))
    assert document.selection == references_to("wheel", {3})
    assert window.focusWidget() is window.panel("wheel", WheelEditor).fields["x_mm"]
    assert window.canvas.camera == before


def test_a_double_click_on_a_corner_goes_to_its_row(window, document):
    mouse.double_click(window.canvas, mouse.pixel(window.canvas, *document.design.body_mm[2]))
    table = window.panel("body", BodyEditor).table
    assert window.focusWidget() is table
    assert table.currentIndex().row() == 2


def test_a_double_click_on_the_turn_centre_goes_to_the_radius(window):
    mouse.double_click(window.canvas, centre(window))
    assert window.focusWidget() is window.middle.turn.radius


def test_a_key_goes_to_the_numbers_of_what_is_selected(window, document):
    QTest.keyClick(window.windowHandle(), Key.Key_F4)
    assert "Select a wheel, a body corner or a part first" in window.middle.note.text
    document.select(references_to("wheel", {1}))
    QTest.keyClick(window.windowHandle(), Key.Key_F4)
    assert window.focusWidget() is window.panel("wheel", WheelEditor).fields["x_mm"]


def test_rename_goes_to_the_name_of_one_wheel(window, document):
    window.action["rename"].trigger()
    assert "Select a wheel first" in window.middle.note.text
    document.select(references_to("wheel", {0, 1}))
    window.action["rename"].trigger()
    assert "one wheel alone" in window.middle.note.text
    document.select(references_to("wheel", {1}))
    window.action["rename"].trigger()
    assert window.focusWidget() is window.panel("wheel", WheelEditor).name


# Pairs -----------------------------------------------------------------------------------


def test_a_pair_is_added_at_the_mouse_on_the_grid_that_is_drawn(window, document):
    mouse.hover(window.canvas, 61.0, 199.0)
    window.action["add"].trigger()
    assert [place(document, i) for i in (6, 7)] == [(60.0, 200.0), (60.0, -200.0)]
    assert document.selection == references_to("wheel", {6})
    assert document.undo_stack.count() == 1
    document.edit("Pattern", lambda d: d.edited(hole_pitch_mm=8.0))
    mouse.hover(window.canvas, -61.0, 203.0)
    window.action["add"].trigger()
    assert place(document, 8) == (-64.0, 200.0)


@pytest.mark.parametrize("where", ["left the plan", "on a note", "on a wheel"])
def test_with_the_mouse_elsewhere_a_pair_makes_the_next_axle(window, document, where):
    mouse.hover(window.canvas, 60.0, 200.0)
    if where == "left the plan":
        QApplication.sendEvent(window.canvas, QEvent(QEvent.Type.Leave))
    elif where == "on a note":
        at = QPointF(3, 3)
        QApplication.sendEvent(window.middle.note, QEnterEvent(at, at, at))
    else:
        mouse.hover(window.canvas, *place(document, 2))
    window.action["add"].trigger()
    assert place(document, 6) == edits.next_axle(SIX, 1.0)
    assert place(document, 7) == (place(document, 6)[0], -place(document, 6)[1])


def test_without_symmetry_one_wheel_is_added_and_the_action_says_so(window, document):
    action = window.action["add"]
    assert (action.text(), action.iconText()) == ("&Add a pair of wheels", "Add pair")
    window.action["symmetry"].trigger()
    assert (action.text(), action.iconText()) == ("&Add a wheel", "Add wheel")
    mouse.hover(window.canvas, 61.0, -199.0)
    action.trigger()
    assert [place(document, i) for i in range(6, len(document.design.wheels))] == [(60.0, -200.0)]


def test_a_deletion_says_which_motors_it_took_along(window, document):
    motors = sample_design("marsh_scout_motors")
    document.start(motors)
    document.select(references_to("wheel", {0, 1, 2, 3, 4, 5}))
    window.action["delete"].trigger()
    assert window.middle.note.text == "Deleted 6 wheels, and 4 motors, which have no wheel left."
    document.undo()
    assert document.design == motors
    window.action["symmetry"].trigger()
    document.select(references_to("wheel", {2}))
    window.action["delete"].trigger()
    assert window.middle.note.text == "Deleted middle left, and 1 motor, which has no wheel left."
    document.undo()
    document.select((Reference("steer motor", 0), *references_to("wheel", {1, 5})))
    window.action["delete"].trigger()
    assert window.middle.note.text == "Deleted 2 wheels and steer motor."


def test_a_pair_is_deleted_together_and_named(window, document):
    document.select(references_to("wheel", {0}))
    window.action["delete"].trigger()
    assert [w.name for w in document.design.wheels] == [w.name for w in SIX.wheels[2:]]
    assert window.middle.note.text == "Deleted front left and front right."
    document.undo()
    assert document.design == SIX


def test_a_corner_is_added_after_the_selected_one_with_its_partner(window, document):
    document.select(references_to("corner", {0}))
    before = document.design.body_mm
    window.action["add_corner"].trigger()
    assert len(document.design.body_mm) == len(before) + 2
    (new,) = document.selection
    assert document.design.body_mm[new.index] not in before
    document.undo()
    assert document.design.body_mm == before


# The empty plan --------------------------------------------------------------------------


def test_a_click_on_an_empty_plan_puts_the_first_axle_there(empty):
    document = empty.document
    mouse.hover(empty.canvas, -41.0, 62.0)
    assert empty.canvas.cursor().shape() == Shape.CrossCursor
    mouse.click(empty.canvas, -41.0, 62.0)
    assert [(w.x_mm, w.y_mm) for w in document.design.wheels] == [(-40.0, 60.0), (-40.0, -60.0)]
    assert document.undo_stack.count() == 1
    document.undo()
    assert document.design == Design()


def test_a_drag_on_an_empty_plan_moves_the_plan(empty):
    before = empty.canvas.camera
    mouse.drag(empty.canvas, (-40.0, 60.0), (-20.0, 60.0))
    assert empty.document.design == Design()
    assert empty.canvas.camera.x < before.x


def test_an_empty_plan_says_what_to_do_until_there_is_a_wheel(empty):
    overlay = empty.middle.plan.empty
    assert overlay.isVisible()
    assert "Click where your first axle is" in overlay.label.text()
    overlay.buttons["body"].click()
    assert len(empty.document.design.body_mm) == 4
    assert overlay.isVisible()
    overlay.buttons["add"].setFocus()
    overlay.buttons["add"].click()
    assert [(w.x_mm, w.y_mm) for w in empty.document.design.wheels] == [(0.0, 120.0), (0.0, -120.0)]
    assert not overlay.isVisible()
    assert empty.canvas.hasFocus()
    empty.document.undo()
    assert overlay.isVisible()


def test_the_empty_plan_leads_to_the_start_from_numbers(empty):
    empty.middle.plan.empty.buttons["new"].click()
    assert empty.at_start


@pytest.mark.parametrize("size", [(1024, 700), (1280, 800), (1920, 1080), (640, 480)])
def test_what_the_empty_plan_says_is_whole_and_leaves_its_middle_free(empty, size):
    empty.resize(*size)
    QApplication.processEvents()
    overlay, canvas = empty.middle.plan.empty, empty.canvas
    assert canvas.rect().contains(overlay.geometry())
    for part in (overlay.title, overlay.label, *overlay.buttons.values()):
        assert overlay.rect().contains(part.geometry())
    assert overlay.label.height() >= overlay.label.heightForWidth(overlay.label.width())
    if canvas.height() > 400:
        assert not overlay.geometry().contains(canvas.rect().center())


# What the mouse shows --------------------------------------------------------------------


def test_the_cursor_shows_what_a_press_would_begin(window, document):
    canvas = window.canvas

    def shape(x, y, held=mouse.NONE):
        mouse.move(canvas, x, y, button=Qt.MouseButton.NoButton, held=held)
        return canvas.cursor().shape()

    assert shape(*place(document)) == Shape.SizeAllCursor
    assert shape(*document.design.body_mm[0]) == Shape.SizeAllCursor
    assert shape(40.0, 20.0) == Shape.OpenHandCursor
    assert shape(*place(document), mouse.SHIFT) == Shape.PointingHandCursor
    assert shape(40.0, 20.0, mouse.SHIFT) == Shape.CrossCursor
    mouse.hover(canvas, 40.0, 20.0)
    QTest.keyPress(canvas, Key.Key_Control)  # as a real one, before the key counts as held
    assert canvas.cursor().shape() == Shape.CrossCursor
    QTest.keyRelease(canvas, Key.Key_Control, mouse.CONTROL)
    assert canvas.cursor().shape() == Shape.OpenHandCursor
    mouse.press(canvas, 40.0, 20.0)
    assert canvas.cursor().shape() == Shape.ClosedHandCursor
    mouse.release(canvas, 40.0, 20.0)
    assert canvas.cursor().shape() == Shape.OpenHandCursor


def test_a_wheel_a_corner_and_the_centre_have_tips_in_the_unit_on_the_screen(window, document):
    canvas = window.canvas
    mouse.hover(canvas, *place(document))
    assert canvas.toolTip() == "front left: steered, driven\nx 132 mm, y 120 mm\nsteered to 39.5°, aligned"
    mouse.hover(canvas, *document.design.body_mm[1])
    assert canvas.toolTip().startswith("body corner 2\n")
    mouse.hover(canvas, *document.view.centre.tolist())
    assert canvas.toolTip() == "turn centre: radius 280 mm left\nx 0 mm, y 280 mm"
    window.action["inch"].trigger()
    mouse.hover(canvas, *place(document))
    assert "x 5.197 in, y 4.724 in" in canvas.toolTip()
    mouse.hover(canvas, 40.0, 20.0)
    assert canvas.toolTip() == ""


def test_a_tip_follows_an_edit_and_goes_with_its_wheel(window, document):
    mouse.hover(window.canvas, *place(document))
    document.edit("Move", lambda d: edits.move_wheels(d, {0: (140.0, 120.0)}))
    assert "x 140 mm" in window.canvas.toolTip()
    document.edit("Delete all", lambda d: d.edited(wheels=()))
    assert window.canvas.toolTip() == ""


def test_a_name_that_looks_like_rich_text_is_plain_in_its_tip(make_window, make_document):
    wheel = Wheel(name='<img src="x.png">', x_mm=0.0, y_mm=100.0)
    window = make_window(make_document(Design(wheels=(wheel,))))
    mouse.hover(window.canvas, 0.0, 100.0)
    assert "&lt;img" in window.canvas.toolTip()


# The view follows ------------------------------------------------------------------------


def in_sight(canvas, x, y):
    at = mouse.pixel(canvas, x, y)
    return canvas.rect().contains(at.toPoint())


@pytest.mark.parametrize("way", [Key.Key_Up, Key.Key_Down])
def test_the_view_follows_what_was_moved_out_of_sight_without_another_scale(window, document, way):
    window.canvas.zoom(1.3)
    document.select(references_to("wheel", {0}))
    scale = window.canvas.camera.scale
    for _ in range(40):
        QTest.keyClick(window.canvas, way, mouse.SHIFT)
    assert in_sight(window.canvas, *place(document))
    assert window.canvas.camera.scale == scale


def test_a_pair_that_no_longer_fits_is_shown_whole(window, document):
    window.canvas.zoom(1.3)
    document.edit("Wide", lambda d: edits.change_wheels(d, [0], mirror=True, y_mm=3000.0))
    assert all(in_sight(window.canvas, *place(document, i)) for i in range(6))


def test_the_view_stays_where_everything_that_was_changed_is_in_sight(window, document):
    window.canvas.zoom(1.1)
    before = window.canvas.camera
    document.edit("Move", lambda d: edits.move_wheels(d, {0: (140.0, 100.0)}))
    document.set_turn(0.9)
    document.select(references_to("wheel", {3}))
    assert window.canvas.camera == before


def test_the_view_follows_a_wheel_that_is_selected_out_of_sight(window, document):
    window.canvas.zoom(6.0)
    assert not in_sight(window.canvas, *place(document))
    document.select(references_to("wheel", {0}))
    assert in_sight(window.canvas, *place(document))


def test_a_body_that_was_stretched_out_of_sight_is_shown(window, document):
    document.edit("Long", lambda d: edits.set_body_size(d, length_mm=3000.0))
    assert all(in_sight(window.canvas, *corner) for corner in document.design.body_mm)


def test_a_drag_out_of_sight_leaves_the_view(window, document):
    before = window.canvas.camera
    mouse.drag(window.canvas, place(document), (place(document)[0] + 2000.0, 120.0))
    assert place(document)[0] > 1500.0
    assert window.canvas.camera == before
