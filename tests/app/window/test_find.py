"""The field that finds: it lists every row of every table, says why not, and is all keys."""

import pytest
from PySide6.QtCore import QCoreApplication, QEvent, QPoint, Qt
from PySide6.QtGui import QAccessible, QGuiApplication, QKeySequence
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QPlainTextEdit

from app.design.references import references_to
from app.design.samples import sample_design
from app.dialogs.help import PageDialog
from app.help.contents import places
from app.panels import registry
from app.window import actions
from app.window.action_spec import ActionSpec
from app.window.actions import ACTIONS
from app.window.find import Entry, Finder, entries, matching
from app.window.stages import STAGES, is_shown
from geometry.model.design import Design
from sample_chassis import SAMPLES
from tests.windows import KEYS, saved_sample


def press(window, keys):
    """Send a key as the platform does: to what has the keyboard."""
    combination = QKeySequence(keys)[0]
    QTest.keyClick(window.windowHandle(), combination.key(), combination.keyboardModifiers())


@pytest.fixture
def finder(window):
    press(window, "Ctrl+K")
    (made,) = window.findChildren(Finder)
    return made


def shown(finder):
    return [entry.title for entry in finder.rows.entries]


def keys(finder, text):
    for letter in text:
        QTest.keyClick(finder.window().windowHandle(), letter)


def test_every_row_of_every_table_is_listed(window, tmp_path):
    path = saved_sample(tmp_path)
    window.filing.open_path(path)
    found = {(entry.title, entry.told) for entry in entries(window, ACTIONS)}
    tips = {told for _title, told in found}
    hidden = {f"stage {spec.key}" for spec in STAGES if not is_shown(spec.key)}
    assert {spec.tip for spec in ACTIONS if spec.key not in {"find", *hidden}} <= tips
    assert not {spec.tip for spec in ACTIONS if spec.key in hidden} & tips
    assert {(sample.title, sample.sentence) for sample in SAMPLES} <= found
    assert {spec.title for spec in registry.PANELS} <= {title for title, _told in found}
    assert {place.title for place in places()} <= {title for title, _told in found}
    assert (path.name, str(path)) in found


def test_a_row_from_outside_is_found_and_done(make_window, monkeypatch):
    heard = []
    row = ActionSpec("honk", "Turn", "&Honk", "Make a noise.", run=heard.append)
    monkeypatch.setattr(actions, "ACTIONS", (*ACTIONS, row))
    window = make_window()
    press(window, "Ctrl+K")
    (finder,) = window.findChildren(Finder)
    keys(finder, "noise")
    assert shown(finder) == ["Honk"]
    press(window, "Return")
    assert heard == [window]
    assert not finder.isVisible()


@pytest.mark.parametrize(
    ("typed", "first"),
    [
        ("worst wheel", "Select the worst wheel"),
        ("wheel worst sel", "Select the worst wheel"),
        ("CTRL+D", "Duplicate to the mirrored place"),
        ("opposite senses left", "On the spot to the left"),
        ("dyke", "Dyke hauler, eight wheels"),
        ("kingpin", "kingpin"),
        ("whole range over", "Over the whole range"),
        ("turn mark", "Next mark to the left"),  # by the name of its menu
        ("stage check", "Check"),
    ],
)
def test_words_are_found_in_any_order_in_titles_tips_and_keys(finder, typed, first):
    keys(finder, typed)
    assert shown(finder)[0] == first


def test_every_word_must_be_there():
    found = [Entry("Save", "File", "Save the chassis.", lambda: None)]
    assert matching(found, "save chassis") == found
    assert matching(found, "save robot") == []


def test_what_has_the_words_in_its_title_comes_before_what_has_them_in_its_tip():
    tip, part, start = (
        Entry(title, "", told, lambda: None)
        for title, told in (("Mirror", "Copy a wheel."), ("All wheels", ""), ("Wheel", ""))
    )
    assert matching([tip, part, start], "wheel") == [start, part, tip]


def test_arrows_choose_and_enter_takes(window, finder):
    keys(finder, "on the spot")
    assert shown(finder)[:2] == ["On the spot to the left", "On the spot to the right"]
    press(window, "Down")
    press(window, "Return")
    assert window.document.command.turn == -1.0


def test_the_choice_stays_within_the_list(window, finder):
    press(window, "Up")
    assert finder.chosen is finder.rows.entries[0]
    for _ in range(finder.rows.rowCount()):
        press(window, "Down")
    assert finder.chosen is finder.rows.entries[-1]
    press(window, "PgUp")
    assert finder.chosen is finder.rows.entries[-11]


@pytest.mark.parametrize("close", ["Esc", "mouse"])
def test_the_keyboard_goes_back_to_where_it_was(window, close):
    field = window.middle.turn.turn
    field.setFocus()
    press(window, "Ctrl+K")
    (finder,) = window.findChildren(Finder)
    assert finder.isVisible()
    assert QGuiApplication.focusObject() is finder.field
    if close == "Esc":
        press(window, "Esc")
    else:
        QTest.mouseClick(window.middle.first_steps, Qt.MouseButton.LeftButton)
    assert not finder.isVisible()
    assert window.focusWidget() is field
    assert QGuiApplication.focusObject() is field


def test_a_click_on_what_takes_the_keyboard_leaves_it_there(window):
    window.middle.turn.turn.setFocus()
    press(window, "Ctrl+K")
    (finder,) = window.findChildren(Finder)
    QTest.mouseClick(window.canvas, Qt.MouseButton.LeftButton, pos=QPoint(30, 200))
    assert not finder.isVisible()
    assert window.focusWidget() is window.canvas


def test_a_click_on_a_row_takes_it(window, finder):
    keys(finder, "straight ahead")
    window.document.set_turn(0.3)
    place = finder.list.visualRect(finder.rows.index(0, 0)).center()
    QTest.mouseClick(finder.list.viewport(), Qt.MouseButton.LeftButton, pos=place)
    assert window.document.command.turn == 0.0
    assert not finder.isVisible()


def test_it_opens_from_a_text_of_several_lines_too(window):
    window.show_panel("chassis")
    QApplication.processEvents()
    (notes,) = window.panels["chassis"].findChildren(QPlainTextEdit)
    notes.setFocus()
    press(window, "Ctrl+K")
    (finder,) = window.findChildren(Finder)
    assert finder.isVisible()


def test_no_key_does_anything_behind_it(window, finder):
    window.action["add"].trigger()
    before = window.document.design
    for key in ("Ins", "Del", "Ctrl+Z", "Ctrl+D", "Ctrl+Left", "Tab", "Alt+2", "Ctrl+A"):
        press(window, key)
    assert window.document.design == before
    assert window.document.command.turn == 0.3
    assert finder.isVisible()
    assert window.focusWidget() is finder.field


def test_what_is_typed_in_a_field_is_taken_up_before(window):
    field = window.middle.turn.turn
    field.setFocus()
    field.selectAll()
    keys(window, "-0.25")
    press(window, "Ctrl+K")
    assert window.document.command.turn == -0.25


def test_what_cannot_be_used_says_why_and_stays(window, finder):
    window.document.select(())
    press(window, "Esc")
    press(window, "Ctrl+K")
    keys(finder, "mirrored place")
    assert finder.chosen.why_not
    assert "Select a wheel or a part first" in finder.about.text()
    press(window, "Return")
    assert finder.isVisible()
    assert window.document.undo_stack.count() == 0


def test_on_the_start_page_what_needs_a_chassis_says_so(window):
    window.show_start()
    press(window, "Ctrl+K")
    (finder,) = window.findChildren(Finder)
    assert finder.isVisible()
    why = {entry.title: entry.why_not for entry in finder.rows.entries}
    assert why["Open…"] == why["Dyke hauler, eight wheels"] == why["kingpin"] == ""
    assert why["Fit"] == why["Chassis"] == "Begin with a chassis first."
    keys(finder, "dyke hauler")
    press(window, "Return")
    assert window.document.design == sample_design("dyke_hauler_eight")
    assert not window.at_start


def test_nothing_found_is_told(window, finder):
    keys(finder, "left-handed spanner")
    assert shown(finder) == []
    assert finder.about.text().startswith("Nothing is found")
    press(window, "Return")
    assert finder.isVisible()


STATES = {
    "empty": (Design(), (), 0.3),
    "no wheel selected": (sample_design(KEYS[0]), (), 0.3),
    "one wheel selected": (sample_design(KEYS[0]), references_to("wheel", {0}), 1.0),
    "motors": (sample_design("marsh_scout_motors"), references_to("wheel", {0}), -1.0),
    "short reach": (sample_design("reed_cart_four").edited(largest_turn=0.4), (), 0.0),
}


@pytest.mark.parametrize("state", STATES)
def test_what_is_said_to_change_nothing_changes_nothing(window, answers, state):
    answers.give("ask_export", None)
    answers.give("ask_advice", None)
    answers.give("ask_controller_export", None)
    answers.give("ask_save", None)
    design, chosen, turn = STATES[state]
    reasons = 0
    for spec in ACTIONS:
        window.document.start(design)
        window.document.select(chosen)
        window.document.set_turn(turn)
        if spec.why_not is None or not spec.why_not(window):
            continue
        reasons += 1
        assert spec.why_not(window).endswith(".")
        before = (window.document.design, window.document.command, window.document.selection)
        if spec.offered is None:
            window.action[spec.key].trigger()
        assert before == (window.document.design, window.document.command, window.document.selection)
    assert reasons >= 3


def test_what_has_no_reason_does_something(window):
    design = sample_design(KEYS[0])
    changing = ("delete", "select_all", "next_wheel", "add_steer_motor", "add_drive_motor")
    turning = ("left", "right", "stop_left", "stop_right", "spot_left", "spot_right")
    marks = ("next_mark", "last_mark")
    rows = {spec.key: spec for spec in ACTIONS}
    for key in (*changing, *turning, *marks):
        window.document.start(design)
        window.document.select(references_to("wheel", {0}))
        assert rows[key].why_not(window) == "", key
        before = (window.document.design, window.document.command, window.document.selection)
        window.action[key].trigger()
        assert before != (window.document.design, window.document.command, window.document.selection), key


def test_a_word_of_the_help_opens_the_help_there(window, finder):
    keys(finder, "backlash shaft")
    press(window, "Return")
    (dialog,) = window.findChildren(PageDialog)
    QApplication.processEvents()
    assert dialog.isVisible()
    bar = dialog.page.verticalScrollBar()
    top = dialog.page.cursorForPosition(QPoint(200, 4)).block().text()
    assert bar.value() > 0
    assert "How far the shaft turns" in top


def test_what_is_said_of_a_word_is_its_own_row_and_no_more():
    told = {place.title: place.told for place in places()}
    assert told["tick"] == "Done."
    assert max(len(title) for title in told) < 60


def test_each_anchor_of_the_help_is_on_the_page(window):
    window.action["help"].trigger()
    (dialog,) = window.findChildren(PageDialog)
    text = dialog.page.toHtml()
    assert len(places()) > 100
    assert [place.anchor for place in places() if f'name="{place.anchor}"' not in text] == []


def test_it_is_made_once(window):
    for _ in range(5):
        press(window, "Ctrl+K")
        press(window, "Esc")
        QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
    assert len(window.findChildren(Finder)) == 1


@pytest.mark.parametrize(("width", "height"), [(1024, 700), (700, 480), (1920, 1080)])
def test_it_lies_within_the_window(window, width, height):
    window.resize(width, height)
    QApplication.processEvents()
    press(window, "Ctrl+K")
    (finder,) = window.findChildren(Finder)
    assert window.rect().contains(finder.geometry())
    assert finder.geometry().top() > window.menuBar().geometry().bottom()


def test_a_screen_reader_hears_the_chosen_row_and_why_it_cannot_be_used(window, finder):
    keys(finder, "undo")
    field = QAccessible.queryAccessibleInterface(finder.field)
    assert field.text(QAccessible.Text.Name) == "Find an action"
    told = field.text(QAccessible.Text.Description)
    assert told == "Undo, Edit, Ctrl+Z, not now: There is nothing to take back."
    rows = QAccessible.queryAccessibleInterface(finder.list)
    assert rows.text(QAccessible.Text.Name) == "What is found"
