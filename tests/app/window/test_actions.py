"""The table of actions: each has a handler, a meaning and keys of its own, and works on each sample."""

from collections import Counter

import pytest
import shiboken6
from PySide6.QtCore import Qt
from PySide6.QtGui import QAction, QKeySequence
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QMenu

import app.dialogs.help
from app.design.references import references_to, selected_wheels
from app.design.samples import sample_design
from app.panels import registry
from app.window import actions
from app.window.action_spec import ActionSpec
from app.window.actions import ACTIONS, MENUS
from geometry.model.design import Design
from sample_chassis import SAMPLES
from tests.app.scouts import FRONT, REAR, scout
from tests.windows import KEYS

WIDGET = Qt.ShortcutContext.WidgetShortcut
STANDARD = QKeySequence.StandardKey
# Qt's own lists, which it shows only for the platform that it runs on: X11, Windows, macOS.
BINDINGS = {
    STANDARD.New: ("Ctrl+N", "Ctrl+N", "Ctrl+N"),
    STANDARD.Open: ("Ctrl+O", "Ctrl+O", "Ctrl+O"),
    STANDARD.Save: ("Ctrl+S", "Ctrl+S", "Ctrl+S"),
    STANDARD.Undo: ("Ctrl+Z F14", "Ctrl+Z Alt+Backspace", "Ctrl+Z"),
    STANDARD.Redo: ("Ctrl+Shift+Z", "Ctrl+Y Alt+Shift+Backspace Ctrl+Shift+Z", "Ctrl+Shift+Z"),
    STANDARD.SelectAll: ("Ctrl+A", "Ctrl+A", "Ctrl+A"),
    STANDARD.ZoomIn: ("Ctrl++", "Ctrl++", "Ctrl++"),
    STANDARD.ZoomOut: ("Ctrl+-", "Ctrl+-", "Ctrl+-"),
    STANDARD.HelpContents: ("F1", "F1", "Ctrl+?"),
}


def all_actions(window):
    return [a for a in window.findChildren(QAction) if a.text() and not a.isSeparator() and a.menu() is None]


def entries(menu):
    for action in menu.actions():
        if action.menu() is not None:
            yield from entries(action.menu())
        elif not action.isSeparator():
            yield action


@pytest.fixture
def quiet(window, answers, monkeypatch, tmp_path):
    """Answer every question that a menu may ask."""
    answers.give("ask_unsaved", "discard")
    answers.give("ask_open", None)
    answers.give("ask_save", None)
    answers.give("ask_export", None)
    answers.give("ask_advice", None)
    answers.give("ask_controller_export", None)
    answers.give("ask_picture", None)
    answers.give("ask_drawing", None)
    shown = []
    for name in ("about", "help", "news"):
        monkeypatch.setattr(app.dialogs.help, f"show_{name}", lambda _parent, name=name: shown.append(name))
    return shown


def test_each_action_of_the_table_is_in_its_menu(window):
    tops = {a.text().replace("&", ""): a.menu() for a in window.menuBar().actions()}
    assert tuple(tops) == MENUS
    for spec in ACTIONS:
        assert window.action[spec.key] in list(entries(tops[spec.menu]))


@pytest.mark.parametrize("spec", ACTIONS, ids=lambda spec: spec.key)
def test_each_action_says_what_it_does(window, spec):
    assert spec.tip.endswith(".")
    assert window.action[spec.key].toolTip().startswith(spec.tip)


def test_no_two_actions_share_a_key(window):
    keys = Counter(
        (key.toString(), action.parent() if action.shortcutContext() == WIDGET else None)
        for action in all_actions(window)
        for key in action.shortcuts()
    )
    assert [key for key, count in keys.items() if count > 1] == []
    assert any(key.startswith("Alt+") for (key, _), _count in keys.items())


def keys_of(spec, platform):
    """All keys of an action on a platform; the same key by two ways counts once."""
    if isinstance(spec.shortcut, STANDARD):
        first = BINDINGS[spec.shortcut][platform].split()
    else:
        first = [spec.shortcut] if spec.shortcut is not None else []
    return {*first, *spec.more_shortcuts}


@pytest.mark.parametrize("platform", range(3), ids=["X11", "Windows", "macOS"])
def test_no_two_actions_or_panels_share_a_key_on_any_platform(platform):
    # A key in two lists does nothing at all, and this run sees the lists of one platform only.
    keys = Counter(spec.shortcut for spec in registry.PANELS if spec.shortcut is not None)
    for spec in ACTIONS:
        keys.update(keys_of(spec, platform))
    assert [key for key, count in keys.items() if count > 1] == []


def test_every_key_of_the_tables_reaches_an_action_of_the_window(window):
    there = {key.toString() for action in all_actions(window) for key in action.shortcuts()}
    panels = {spec.shortcut for spec in registry.PANELS if spec.shortcut is not None}
    more = {key for spec in ACTIONS for key in spec.more_shortcuts}
    assert panels
    assert more
    assert {QKeySequence(key).toString() for key in panels | more} <= there


def test_no_key_of_a_menu_is_taken_by_a_panel(window):
    letters = {f"Alt+{a.text()[a.text().index('&') + 1].upper()}" for a in window.menuBar().actions()}
    keys = {key.toString() for action in all_actions(window) for key in action.shortcuts()}
    assert letters & keys == set()
    assert len(letters) == len(MENUS)


@pytest.mark.parametrize("key", KEYS)
def test_each_entry_of_each_menu_works_on_each_sample(window, quiet, key):
    window.document.start(sample_design(key))
    window.document.select(references_to("wheel", {0}))
    for top in window.menuBar().actions():
        menu = top.menu()
        menu.aboutToShow.emit()
        for action in list(entries(menu)):
            if action is window.action["quit"] or not action.isEnabled():
                continue
            action.trigger()
            QApplication.processEvents()
            assert window.document.view.design.model_validate(window.document.design.model_dump())
    assert quiet == ["help", "news", "about"]


def test_each_action_works_on_an_empty_chassis(window, quiet):
    changed = set()
    for spec in ACTIONS:
        if spec.key != "quit":
            window.document.start(Design())
            window.action[spec.key].trigger()
            shown = window.document.view.design
            assert shown == window.document.design
            assert shown == Design.model_validate(shown.model_dump())
            if shown != Design():
                changed.add(spec.key)
    # Wheels, a body and a part can be made where there is nothing; nothing else has anything to work on.
    assert changed == {"add", "body", "add_corner", "part"}
    assert quiet == ["help", "news", "about"]


@pytest.mark.parametrize("sample", SAMPLES, ids=lambda sample: sample.key)
def test_each_sample_is_in_the_menu_with_its_sentence(window, sample):
    found = [a for a in all_actions(window) if a.text() == sample.title]
    (action,) = [a for menu in window.findChildren(QMenu) for a in menu.actions() if a.text() == sample.title]
    assert action.toolTip() == sample.sentence
    assert found
    action.trigger()
    assert window.document.design == sample_design(sample.key)


def press(window, keys):
    combination = QKeySequence(keys)[0]
    QTest.keyClick(window.windowHandle(), combination.key(), combination.keyboardModifiers())


@pytest.mark.parametrize(
    ("keys", "turn"),
    [("Ctrl+Up", 0.0), ("Ctrl+Left", 0.35), ("Ctrl+Right", 0.25), ("Ctrl+PgUp", 0.5), ("Ctrl+PgDown", 0.0)],
)
def test_keys_steer_from_anywhere(window, keys, turn):
    window.document.set_turn(0.3)
    window.canvas.setFocus()
    press(window, keys)
    assert window.document.command.turn == pytest.approx(turn)


def test_keys_edit_and_undo(window):
    document = window.document
    window.canvas.setFocus()
    press(window, "Ins")
    assert len(document.design.wheels) == 8
    assert document.selection == references_to("wheel", {6})
    press(window, "Del")
    assert document.design == sample_design(KEYS[0])
    press(window, "Ctrl+Z")
    assert len(document.design.wheels) == 8
    press(window, "Ctrl+A")
    assert document.selection == references_to("wheel", set(range(8)))


def test_undo_says_what_it_takes_back(window):
    assert not window.action["undo"].isEnabled()
    window.action["add"].trigger()
    assert "add a pair of wheels" in window.action["undo"].text()
    window.action["undo"].trigger()
    assert not window.action["undo"].isEnabled()
    assert "add a pair of wheels" in window.action["redo"].text()


def test_a_mirrored_wheel_is_added_and_selected(window):
    document = window.document
    document.select(references_to("wheel", {0}))
    window.action["symmetry"].trigger()
    window.action["delete"].trigger()
    document.select(references_to("wheel", {0}))
    window.action["mirror"].trigger()
    assert len(document.design.wheels) == 6
    (new,) = selected_wheels(document.selection)
    assert document.design.wheels[new].y_mm == -document.design.wheels[0].y_mm


def test_acts_without_a_selection_say_what_to_do(window):
    window.document.select(())
    for key in ("mirror", "delete"):
        window.action[key].trigger()
        assert "Select a wheel first" in window.middle.note.text
    assert window.document.undo_stack.count() == 0


def test_wheels_are_added_beside_each_other(window):
    for _ in range(5):
        window.action["add"].trigger()
    assert len(window.document.design.wheels) == 16
    window.action["symmetry"].trigger()
    for _ in range(5):
        window.action["add"].trigger()
    assert len(window.document.design.wheels) == 21


def test_the_worst_wheel_is_selected(make_window, make_document):
    window = make_window(make_document(sample_design("misbuilt_scout")))

    def toe_the_other(design):
        wheels = design.wheels
        return design.edited(wheels=(*wheels[:3], wheels[3].edited(toe_deg=0.45), *wheels[4:]))

    # Straight ahead the toe is the most there is, and within the tolerance.
    window.document.set_turn(0.0)
    assert window.document.edit("Toe", toe_the_other)
    assert window.document.view.verdict.worst == 3
    window.middle.verdict.worst.click()
    (chosen,) = selected_wheels(window.document.selection)
    assert chosen == window.document.view.facts.check.worst.wheel == 2


def test_a_named_turn_beyond_reach_is_told(window):
    window.document.edit("Reach", lambda d: d.edited(largest_turn=0.3))
    window.action["spot_left"].trigger()
    assert window.document.command.turn == 0.3
    assert "largest turn" in window.middle.note.text


def test_a_step_beyond_reach_stops_at_its_end(window):
    window.document.set_turn(0.98)
    window.action["left"].trigger()
    assert window.document.command.turn == 1.0


def test_reverse_is_undone_by_itself(window):
    window.action["reverse"].trigger()
    assert window.document.command.speed == -1.0
    window.action["reverse"].trigger()
    assert window.document.command.speed == 1.0


def test_the_ideal_is_offered_once_there_are_motors_and_can_be_hidden(make_window, make_document):
    window = make_window(make_document(scout()))
    action = window.action["ideal"]
    assert not action.isVisible()
    window.document.edit("Motors", lambda d: d.edited(steer_motors=(FRONT, REAR)))
    assert action.isVisible()
    window.document.set_turn(0.5)
    assert action.isChecked()
    assert window.canvas.scene().ghosts
    action.trigger()
    assert not window.canvas.scene().ghosts
    assert not window.filing.settings.show_ideal
    action.trigger()
    assert window.canvas.scene().ghosts
    window.document.undo()
    assert not action.isVisible()


@pytest.fixture
def honked(monkeypatch):
    """What an action from outside did."""
    heard = []
    row = ActionSpec(
        "honk",
        "Turn",
        "&Honk",
        "Make a noise.",
        run=lambda window: heard.append(window.document.design.name),
        shortcut="Ctrl+Shift+H",
        checked=lambda settings: settings.snap,
        offered=lambda view: view.command.turn > 0,
        tool="Honk",
        on_plan=True,
    )
    monkeypatch.setattr(actions, "ACTIONS", (*ACTIONS, row))
    return heard


def test_an_action_from_outside_is_in_its_menu_and_the_menu_of_the_plan(honked, make_window):
    window = make_window()
    action = window.action["honk"]
    tops = {a.text().replace("&", ""): a.menu() for a in window.menuBar().actions()}
    assert action in list(entries(tops["Turn"]))
    assert action in window.canvas.actions()
    assert action.toolTip() == "Make a noise. (Ctrl+Shift+H)"


def test_an_action_from_outside_acts_by_menu_and_by_key(honked, make_window):
    window = make_window()
    window.action["honk"].trigger()
    press(window, "Ctrl+Shift+H")
    assert honked == [window.document.design.name] * 2


def test_an_action_from_outside_takes_up_what_is_being_typed(honked, make_window):
    window = make_window()
    field = window.middle.turn.turn
    field.setFocus()
    field.selectAll()
    field.insert("-0.25")
    window.action["honk"].trigger()
    assert window.document.command.turn == -0.25


def test_an_action_from_outside_is_ticked_and_offered_as_its_row_says(honked, make_window):
    window = make_window()
    action = window.action["honk"]
    assert action.isChecked()
    window.action["snap"].trigger()
    assert not action.isChecked()
    window.document.set_turn(0.3)
    assert action.isVisible()
    window.document.set_turn(-0.3)
    assert not action.isVisible()


def test_the_actions_on_motors_go_to_their_panel_wherever_it_stands(make_window, monkeypatch):
    monkeypatch.setattr(registry, "PANELS", tuple(reversed(registry.PANELS)))
    window = make_window()
    window.action["add_drive_motor"].trigger()
    QApplication.processEvents()
    assert len(window.document.design.drive_motors) == 1
    assert window.panels["motors"].isVisible()


def test_the_start_page_greys_the_sections_also_where_python_has_lost_their_menu(window):
    out = window.work_actions[-1]
    menu = next(m for m in window.findChildren(QMenu) if out in m.actions())
    shiboken6.invalidate(menu)
    window.show_start()
    assert not out.isEnabled()
    window.show_work()
    assert out.isEnabled()
