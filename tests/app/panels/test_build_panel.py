"""What can be made: each thing says what was made last and from which design, and has a button to make it."""

import pytest
from PySide6.QtWidgets import QApplication

from app.design import edits
from app.design.made import WHATS, MadeFile, hash_of
from app.dialogs.export import Export
from app.icons import shared_picture
from app.panels.build_panel import BuildPanel
from app.theme import current_theme
from geometry.model.design import Design

ACTIONS = {
    "table": "export",
    "code": "export_code",
    "plan": "make_plan",
    "gauge": "make_gauges",
    "sheet": "make_sheet",
    "drawing": "make_drawing",
}
FIRST_ASKED = {"table": "ask_export", "code": "ask_controller_export"}
"""The others ask for a place at once."""


@pytest.fixture
def panel(qtbot, document):
    made = BuildPanel(document)
    qtbot.addWidget(made)
    made.resize(384, 500)
    made.show()
    QApplication.processEvents()
    return made


def file_of(design, what="table", at="2031-05-04T10:20:00", place="robots/reed.csv"):
    return MadeFile(what=what, design=hash_of(design), name=design.name, place=place, at=at)


def assert_marked(item, mark, tint):
    wanted = shared_picture(mark, tint, current_theme().panel, item.devicePixelRatioF())
    assert item.mark.pixmap().toImage() == wanted.toImage()


def test_everything_that_can_be_made_has_a_row(panel):
    assert tuple(panel.items) == WHATS
    for item in panel.items.values():
        assert item.title.text()
        assert item.state.text() == "not made yet"
        assert item.button.isVisible()
        assert item.button.toolTip()
        assert_marked(item, "open", current_theme().faint)


@pytest.mark.parametrize("what", WHATS)
def test_a_button_asks_for_its_action(panel, what):
    asked = []
    panel.action_asked.connect(asked.append)
    panel.items[what].button.click()
    assert asked == [ACTIONS[what]]


@pytest.mark.parametrize("what", WHATS)
def test_in_the_window_a_button_leads_to_its_dialog(window, answers, what):
    window.show_panel("build")
    answers.give("ask_export", None)
    answers.give("ask_controller_export", None)
    answers.give("ask_save", None)
    window.panels["build"].items[what].button.click()
    assert answers.names() == [FIRST_ASKED.get(what, "ask_save")]


def test_a_file_is_told_with_its_time_and_place_until_the_design_changes(panel, document):
    panel.show_made([file_of(document.design)])
    table, code = panel.items["table"], panel.items["code"]
    assert table.state.text().startswith("made 04 May 2031 at ")
    assert table.state.text().endswith(": robots/reed.csv")
    assert "changed" not in table.state.text()
    assert_marked(table, "done", current_theme().good)
    assert code.state.text() == "not made yet"
    assert panel.summary(document.view) == "1 of 6 made"
    document.edit("Move", lambda d: edits.move_wheels(d, {0: (133.0, 120.0)}))
    assert "; the chassis has changed since: robots/reed.csv" in table.state.text()
    assert_marked(table, "slight", current_theme().slight)
    assert panel.summary(document.view) == "0 of 6 made"
    document.undo()
    assert "changed" not in table.state.text()
    assert panel.summary(document.view) == "1 of 6 made"


def test_a_time_that_cannot_be_read_is_left_out(panel, document):
    panel.show_made([file_of(document.design, at="yesterday")])
    assert panel.items["table"].state.text() == "made before: robots/reed.csv"


def test_a_drag_leaves_it_as_it_is(panel, document):
    panel.show_made([file_of(document.design)])
    before = panel.items["table"].state.text()
    document.preview(lambda d: edits.move_wheels(d, {0: (133.0, 120.0)}))
    assert panel.items["table"].state.text() == before
    document.commit_preview("Move")
    assert "changed since" in panel.items["table"].state.text()


def test_without_wheels_nothing_can_be_made(panel, document):
    assert all(item.button.isEnabled() for item in panel.items.values())
    document.start(Design())
    assert not any(item.button.isEnabled() for item in panel.items.values())


def test_the_cautions_are_in_sight(panel):
    assert panel.caution.isVisible()
    for word in ("wheels off the ground", "fingers clear", "fused battery", "low speed", "carrying people"):
        assert word in panel.caution.text()


def test_what_is_exported_is_told_at_once_in_the_panel_and_in_the_stage(window, answers, tmp_path):
    window.show_panel("build")
    assert window.middle.bar.buttons["build"].state.words == "nothing made"
    answers.give("ask_export", Export({"t.csv": b"x"}, 5, ".csv"))
    answers.give("ask_save", tmp_path / "t.csv")
    window.action["export"].trigger()
    assert str(tmp_path / "t.csv") in window.panels["build"].items["table"].state.text()
    assert window.middle.bar.buttons["build"].state == ("begun", "1 of 6 made")
    window.document.edit("Note", lambda d: d.edited(notes="mud"))
    assert window.middle.bar.buttons["build"].state == ("slight", "changed since")
    window.document.undo()
    assert window.middle.bar.buttons["build"].state == ("begun", "1 of 6 made")
