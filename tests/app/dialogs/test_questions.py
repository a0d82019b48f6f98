"""The small questions: what each button means."""

import pytest
from PySide6.QtWidgets import QFileDialog, QMessageBox

from app.dialogs import questions

Buttons = QMessageBox.StandardButton


@pytest.fixture
def press(monkeypatch):
    """Press a button of the next message box by its text."""

    def prepare(text):
        def run(box):
            box.show()
            (button,) = [b for b in box.buttons() if b.text().replace("&", "") == text]
            button.click()
            return 0

        monkeypatch.setattr(QMessageBox, "exec", run)

    return prepare


@pytest.mark.parametrize(
    ("button", "answer"),
    [
        (Buttons.Save, "save"),
        (Buttons.Discard, "discard"),
        (Buttons.Cancel, "cancel"),
        (Buttons.NoButton, "cancel"),
    ],
)
def test_unsaved_changes(qapp, monkeypatch, button, answer):
    monkeypatch.setattr(QMessageBox, "exec", lambda _box: button)
    assert questions.ask_unsaved(None, "Scout") == answer


def test_unsaved_changes_are_saved_by_enter(qapp, monkeypatch):
    seen = []

    def look(box):
        seen.append((box.standardButtons(), box.standardButton(box.defaultButton())))
        return Buttons.Cancel

    monkeypatch.setattr(QMessageBox, "exec", look)
    questions.ask_unsaved(None, "Scout")
    assert seen == [(Buttons.Save | Buttons.Discard | Buttons.Cancel, Buttons.Save)]


@pytest.mark.parametrize(
    ("text", "answer"),
    [("Replace it", "replace"), ("Save under another name", "elsewhere"), ("Cancel", "cancel")],
)
def test_a_file_that_has_changed(qtbot, press, text, answer):
    press(text)
    assert questions.ask_replace(None, "It has changed.") == answer


@pytest.mark.parametrize(
    ("text", "answer"), [("Take it up", "recover"), ("Delete the copy", "drop"), ("Ask again later", "later")]
)
def test_work_that_a_crash_left(qtbot, press, text, answer):
    press(text)
    assert questions.ask_recover(None, "Scout", "1 May", 2) == answer


@pytest.fixture
def typed(monkeypatch):
    """Type a name into the file dialog."""

    def prepare(name):
        for dialog in ("getSaveFileName", "getOpenFileName"):
            monkeypatch.setattr(QFileDialog, dialog, lambda *_args: (str(name), ""))

    return prepare


def save(tmp_path):
    return questions.ask_save(None, tmp_path, "Save", "*.json", ".json")


def test_a_name_is_taken_as_it_is_typed(typed, tmp_path):
    typed(tmp_path / "a.chassis")
    assert save(tmp_path) == tmp_path / "a.chassis"
    assert questions.ask_open(None, "") == tmp_path / "a.chassis"


def test_the_suffix_is_added(typed, tmp_path):
    typed(tmp_path / "scout")
    assert save(tmp_path) == tmp_path / "scout.json"


@pytest.mark.parametrize("agreed", [True, False])
def test_a_file_that_the_added_suffix_names_is_asked_about(qapp, typed, tmp_path, monkeypatch, agreed):
    (tmp_path / "scout.json").write_text("mine")
    asked = []

    def question(box):
        asked.append(box.text())
        assert box.standardButtons() == Buttons.Yes | Buttons.No
        return Buttons.Yes if agreed else Buttons.No

    monkeypatch.setattr(QMessageBox, "exec", question)
    typed(tmp_path / "scout")
    assert save(tmp_path) == (tmp_path / "scout.json" if agreed else None)
    assert "scout.json exists already" in asked[0]


def test_giving_up_gives_nothing(typed, tmp_path):
    typed("")
    assert save(tmp_path) is None
    assert questions.ask_open(None, "") is None


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("cannot read a.json: it is a folder", "Cannot read a.json: it is a folder"),
        ("scout.json holds no chassis", "scout.json holds no chassis"),
    ],
)
def test_what_went_wrong_begins_with_a_capital_but_a_file_keeps_its_name(qapp, monkeypatch, text, shown):
    told = []
    monkeypatch.setattr(QMessageBox, "exec", lambda box: told.append(box.text()))
    questions.tell(None, "Not opened", text)
    assert told == [shown]
