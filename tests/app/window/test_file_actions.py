"""Opening, saving, exporting and recovering: every question, and every answer to it."""

import json
import shutil
import time
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QMenu, QPushButton

from app.design import edits, recovery
from app.design.files import read_design
from app.design.references import references_to
from app.design.samples import sample_design
from app.dialogs.export import Export
from app.dialogs.first_chassis import Made
from app.settings import load_settings
from geometry.model.design import Design
from tests.windows import KEYS, listen, saved_sample


@pytest.fixture
def filing(window):
    return window.filing


def widen(window, by=1.0):
    window.document.edit("Widen", lambda d: edits.change_wheels(d, [0], width_mm=d.wheels[0].width_mm + by))


def leave_work(home, monkeypatch, design, original=None, session="1-old"):
    """Leave behind what a crash would."""
    recovery.write_recovery(home / "recovery", session, design, original)
    monkeypatch.setattr(recovery, "may_still_run", lambda kept, _heard: not kept.session.endswith("old"))


def test_nothing_is_asked_where_nothing_can_be_lost(window, filing, answers):
    filing.new()
    assert window.document.design == Design()
    filing.open_sample(KEYS[2])
    assert window.document.design == sample_design(KEYS[2])
    assert answers.asked == []


@pytest.mark.parametrize("act", ["new", "open", "open_path", "open_sample"])
def test_unsaved_work_is_asked_about_and_kept_on_cancel(window, filing, answers, act, tmp_path):
    answers.give("ask_unsaved", "cancel")
    widen(window)
    before = window.document.design
    words = {"open_path": (saved_sample(tmp_path, KEYS[3]),), "open_sample": (KEYS[3],)}.get(act, ())
    getattr(filing, act)(*words)
    assert window.document.design is before
    assert window.document.modified
    assert answers.names() == ["ask_unsaved"]


def test_unsaved_work_may_be_dropped(window, filing, answers):
    answers.give("ask_unsaved", "discard")
    widen(window)
    filing.new()
    assert window.document.design == Design()


def test_unsaved_work_may_be_saved_first(window, filing, answers, tmp_path):
    path = tmp_path / "kept.json"
    answers.give("ask_unsaved", "save")
    answers.give("ask_save", path)
    widen(window)
    design = window.document.design
    filing.new()
    assert read_design(path).design == design
    assert window.document.design == Design()


def test_giving_up_the_save_keeps_the_work(window, filing, answers):
    answers.give("ask_unsaved", "save")
    answers.give("ask_save", None)
    widen(window)
    before = window.document.design
    filing.new()
    assert window.document.design is before


def test_a_chassis_from_numbers_is_taken_up_unsaved_and_its_unit_kept(window):
    made = Made(sample_design(KEYS[2]), "inch")
    window.action["new"].trigger()
    assert window.at_start
    window.start_page().made.emit(made)
    assert not window.at_start
    assert window.document.design == made.design
    assert window.document.modified
    assert window.document.path is None
    assert load_settings().length_unit == "inch"


def test_leaving_the_start_page_keeps_the_chassis(window):
    before = window.document.design
    window.action["new"].trigger()
    QTest.keyClick(window.windowHandle(), Qt.Key.Key_Escape)
    assert not window.at_start
    assert window.document.design is before
    assert not window.document.modified


def test_unsaved_work_stays_where_the_person_stays_with_it(window, answers):
    answers.give("ask_unsaved", "cancel")
    widen(window)
    before = window.document.design
    window.action["new"].trigger()
    page = window.start_page()
    page.made.emit(Made(sample_design(KEYS[2]), "mm"))
    page.sample_asked.emit(KEYS[1])
    page.empty_asked.emit()
    page.open_asked.emit()
    assert answers.names() == ["ask_unsaved"] * 4
    assert window.at_start
    assert window.document.design is before


def test_an_empty_chassis_from_the_start_page_is_nothing_to_lose(window):
    window.action["new"].trigger()
    window.start_page().empty_asked.emit()
    assert not window.at_start
    assert window.document.design == Design()
    assert not window.document.modified


def test_a_sample_and_a_file_from_the_start_page_are_shown(window, tmp_path):
    window.action["new"].trigger()
    window.start_page().sample_asked.emit(KEYS[3])
    assert not window.at_start
    assert window.document.design == sample_design(KEYS[3])
    path = saved_sample(tmp_path, KEYS[1])
    window.action["new"].trigger()
    window.start_page().file_asked.emit(path)
    assert not window.at_start
    assert window.document.path == path


def test_a_recent_file_that_is_gone_leaves_the_start_page_and_its_list(window, answers, tmp_path):
    path = saved_sample(tmp_path, KEYS[1])
    assert window.filing.open_path(path)
    path.unlink()
    answers.give("tell", None)
    window.action["new"].trigger()
    window.start_page().file_asked.emit(path)
    assert window.at_start
    assert load_settings().recent_files == ()
    assert window.start_page().files == []


def test_what_needs_a_chassis_takes_no_key_on_the_start_page(window):
    widen(window)
    before = window.document.design
    window.action["new"].trigger()
    for key, held in (("Z", "Control"), ("Delete", "No"), ("Insert", "No"), ("2", "Control"), ("3", "Alt")):
        modifier = getattr(Qt.KeyboardModifier, f"{held}Modifier")
        QTest.keyClick(window.windowHandle(), getattr(Qt.Key, f"Key_{key}"), modifier)
    assert window.document.design is before
    assert window.at_start
    enabled = {key for key, action in window.action.items() if action.isEnabled()}
    assert {"new", "open", "quit", "help", "find", "dark", "inch"} <= enabled
    assert not {"save", "undo", "delete", "export", "fit", "stage check"} & enabled
    window.show_work()
    assert window.action["undo"].isEnabled()
    assert window.action["delete"].isEnabled()


def test_the_first_steps_lead_to_the_start_page(window):
    buttons = window.middle.first_steps.findChildren(QPushButton)
    next(button for button in buttons if "New" in button.text()).click()
    assert window.at_start


def test_a_window_with_unsaved_work_closes_only_with_leave(window, answers):
    answers.give("ask_unsaved", "cancel", "discard")
    widen(window)
    assert not window.close()
    assert window.isVisible()
    assert window.close()


def test_a_file_is_opened_and_remembered(window, filing, answers, tmp_path):
    path = saved_sample(tmp_path, KEYS[3])
    answers.give("ask_open", path)
    filing.open()
    assert window.document.design == sample_design(KEYS[3])
    assert load_settings().recent_files == (str(path),)
    assert load_settings().last_folder == str(tmp_path)
    assert path.name in window.windowTitle()


def test_giving_up_the_choice_of_a_file_changes_nothing(window, filing, answers):
    answers.give("ask_open", None)
    before = window.document.design
    filing.open()
    assert window.document.design is before


@pytest.mark.parametrize("text", ["soup", "{}", '{"format": "axlewright-chassis", "version": 99}'])
def test_a_file_that_cannot_be_opened_is_told_with_the_reason(window, filing, answers, tmp_path, text):
    path = tmp_path / "odd.json"
    path.write_text(text)
    answers.give("tell", None)
    before = window.document.design
    assert not filing.open_path(path)
    assert window.document.design is before
    (_, (_, title, why)) = answers.asked[0]
    assert "cannot be opened" in title
    assert "odd.json" in why
    assert "Traceback" not in why


def test_a_recent_file_that_is_gone_is_forgotten(window, filing, answers, tmp_path):
    path = saved_sample(tmp_path)
    filing.open_path(path)
    path.unlink()
    answers.give("tell", None)
    assert not filing.open_path(path)
    assert load_settings().recent_files == ()


def test_recent_files_are_in_the_menu(window, filing, tmp_path):
    path = saved_sample(tmp_path, KEYS[4], "a & b.json")
    filing.open_path(path)
    filing.new()
    (recent,) = [menu for menu in window.findChildren(QMenu) if menu.title() == "Open &recent"]
    recent.aboutToShow.emit()
    (action,) = recent.actions()
    assert "a && b.json" in action.text()
    action.trigger()
    assert window.document.path == path


def test_saving_goes_back_to_the_file(window, filing, tmp_path):
    path = saved_sample(tmp_path)
    filing.open_path(path)
    widen(window)
    heard = listen(window.document)
    assert filing.save()
    assert read_design(path).design == window.document.design
    assert heard == [f"Saved to {path}."]


def test_the_place_that_is_offered_is_made_of_the_name(window, filing, answers):
    answers.give("ask_save", None)
    window.document.edit("Name", lambda d: edits.change_chassis(d, name="Marsh / scout: 2?"))
    assert not filing.save()
    (_, (_, start, *_)) = answers.asked[0]
    assert not set(start.name) & set('/\\:?*"<>|')
    assert start.suffix == ".json"


@pytest.mark.parametrize(("answer", "replaced"), [("replace", True), ("cancel", False)])
def test_a_file_changed_elsewhere_is_asked_about(window, filing, answers, tmp_path, answer, replaced):
    path = saved_sample(tmp_path)
    filing.open_path(path)
    path.write_text(path.read_text() + "\n")
    others = path.read_bytes()
    widen(window)
    answers.give("ask_replace", answer)
    assert filing.save() == replaced
    assert (path.read_bytes() != others) == replaced
    assert window.document.modified == (not replaced)


def test_a_file_changed_elsewhere_can_be_left_for_another_name(window, filing, answers, tmp_path):
    path, other = saved_sample(tmp_path), tmp_path / "other.json"
    filing.open_path(path)
    path.write_text(path.read_text() + "\n")
    others = path.read_bytes()
    widen(window)
    answers.give("ask_replace", "elsewhere")
    answers.give("ask_save", other)
    assert filing.save()
    assert path.read_bytes() == others
    assert read_design(other).design == window.document.design
    assert window.document.path == other


def test_a_newer_file_is_never_replaced(window, filing, answers, tmp_path):
    path = saved_sample(tmp_path)
    path.write_text(json.dumps(json.loads(path.read_text()) | {"version": 99}))
    before = path.read_bytes()
    answers.give("ask_save", path)
    answers.give("tell", None)
    widen(window)
    assert not filing.save()
    assert path.read_bytes() == before
    assert window.document.modified


def test_a_place_that_refuses_is_told(window, filing, answers, tmp_path):
    answers.give("ask_save", tmp_path / "nowhere" / "x.json")
    answers.give("tell", None)
    assert not filing.save()
    assert answers.names() == ["ask_save", "tell"]


def test_what_is_being_typed_is_saved_too(window, filing, tmp_path):
    path = saved_sample(tmp_path)
    filing.open_path(path)
    window.document.select(references_to("wheel", {0}))
    window.go_to("wheel")
    field = window.panels["wheel"].fields["width_mm"]
    field.setFocus()
    field.selectAll()
    QTest.keyClicks(field, "41")
    QTest.keyClick(window.windowHandle(), Qt.Key.Key_S, Qt.KeyboardModifier.ControlModifier)
    assert read_design(path).design.wheels[0].width_mm == 41.0


def test_what_is_being_typed_is_not_lost_when_the_window_closes(window, answers):
    answers.give("ask_unsaved", "cancel", "discard")
    window.document.select(references_to("wheel", {0}))
    window.go_to("wheel")
    field = window.panels["wheel"].fields["width_mm"]
    field.setFocus()
    field.selectAll()
    QTest.keyClicks(field, "41")
    assert not window.close()
    assert window.document.design.wheels[0].width_mm == 41.0


def test_the_table_is_saved_as_it_was_previewed(window, filing, answers, tmp_path):
    path = tmp_path / "table.csv"
    answers.give("ask_export", Export({"t.csv": b"a,b\r\n1,2\r\n"}, 33, ".csv"))
    answers.give("ask_save", path)
    assert filing.export()
    assert path.read_bytes() == b"a,b\r\n1,2\r\n"
    assert load_settings().export_rows == 33
    assert not window.document.modified


def test_an_export_can_be_given_up_twice(filing, answers):
    answers.give("ask_export", None, Export({"t.csv": b"x"}, 5, ".csv"))
    answers.give("ask_save", None)
    assert not filing.export()
    assert not filing.export()
    assert load_settings().export_rows != 5


def test_a_table_that_cannot_be_written_is_told(filing, answers, tmp_path):
    answers.give("ask_export", Export({"t.csv": b"x"}, 5, ".csv"))
    answers.give("ask_save", tmp_path / "nowhere" / "t.csv")
    answers.give("tell", None)
    assert not filing.export()
    assert answers.names()[-1] == "tell"


def test_without_a_crash_nothing_is_offered(filing, home):
    assert not filing.offer_recovery(home / "recovery")


def test_work_left_by_a_crash_is_taken_up(window, filing, answers, home, monkeypatch, tmp_path):
    lost, original = sample_design(KEYS[1]).edited(name="lost work"), saved_sample(tmp_path)
    leave_work(home, monkeypatch, lost, original)
    answers.give("ask_recover", "recover")
    assert filing.offer_recovery(home / "recovery")
    assert window.document.design == lost
    assert window.document.modified
    assert window.document.path == original
    (_, (_, name, when, more, _about)) = answers.asked[0]
    assert (name, more) == ("lost work", 0)
    assert time.strftime("%Y") in when
    # A copy is kept at once, and the old one is gone.
    (left,) = (home / "recovery").glob("*")
    assert "old" not in left.name


@pytest.mark.parametrize(("answer", "left"), [("drop", 0), ("later", 1)])
def test_work_left_by_a_crash_may_be_dropped_or_wait(
    window, filing, answers, home, monkeypatch, answer, left
):
    leave_work(home, monkeypatch, sample_design(KEYS[1]))
    before = window.document.design
    answers.give("ask_recover", answer)
    assert not filing.offer_recovery(home / "recovery")
    assert window.document.design is before
    assert len(list((home / "recovery").glob("*"))) == left


def test_the_newest_work_is_offered_first(window, filing, answers, home, monkeypatch):
    moments = iter([1000.0, 3000.0, 2000.0])
    with monkeypatch.context() as patch:
        patch.setattr(recovery.time, "time", lambda: next(moments))
        for n in range(3):
            recovery.write_recovery(
                home / "recovery", f"{n}-old", sample_design(KEYS[0]).edited(name=f"work {n}"), None
            )
    monkeypatch.setattr(recovery, "may_still_run", lambda kept, _heard: not kept.session.endswith("old"))
    answers.give("ask_recover", "recover")
    filing.offer_recovery(home / "recovery")
    assert window.document.design.name == "work 1"
    assert answers.asked[0][1][3] == 2


@pytest.mark.parametrize("answer", ["recover", "drop", "later"])
def test_work_on_the_very_file_that_is_opened_is_asked_about_first(
    window, filing, answers, home, monkeypatch, tmp_path, answer
):
    path = saved_sample(tmp_path)
    lost = sample_design(KEYS[0]).edited(name="lost work")
    leave_work(home, monkeypatch, lost, path)
    leave_work(home, monkeypatch, sample_design(KEYS[2]), session="2-old")
    answers.give("ask_recover", answer)
    filing.begin(home / "recovery", path)
    ((_, (_, name, _, more, about)),) = answers.asked
    assert (name, more) == ("lost work", 1)
    assert f"later work on {path.name}" in about
    assert window.document.path == path
    assert window.document.design == (lost if answer == "recover" else sample_design(KEYS[0]))
    assert window.document.modified == (answer == "recover")


@pytest.mark.parametrize("answer", ["recover", "later"])
def test_other_work_is_offered_before_a_named_file_opens(
    window, filing, answers, home, monkeypatch, tmp_path, answer
):
    path = saved_sample(tmp_path)
    lost = sample_design(KEYS[2])
    leave_work(home, monkeypatch, lost)
    answers.give("ask_recover", answer)
    filing.begin(home / "recovery", path)
    assert f"{path.name} opens if you do not" in answers.asked[0][1][4]
    assert window.document.design == (lost if answer == "recover" else sample_design(KEYS[0]))
    assert (f"{path.name} is not open" in window.middle.note.text) == (answer == "recover")


def test_a_named_file_opens_without_a_question_where_nothing_was_lost(
    window, filing, answers, home, tmp_path
):
    path = saved_sample(tmp_path, KEYS[3])
    filing.begin(home / "recovery", path)
    assert answers.asked == []
    assert window.document.path == path


def test_a_copy_is_dropped_only_once_another_is_kept(window, filing, answers, home, monkeypatch):
    leave_work(home, monkeypatch, sample_design(KEYS[1]))
    answers.give("ask_recover", "recover")

    def refuse(*_args):
        raise recovery.AxlewrightError("the disk is full")

    monkeypatch.setattr(recovery, "write_recovery", refuse)
    filing.offer_recovery(home / "recovery")
    assert window.document.design == sample_design(KEYS[1])
    assert len(list((home / "recovery").glob("*old*"))) == 1


def test_preferences_that_cannot_be_kept_are_told_and_hold_meanwhile(window, filing, home):
    shutil.rmtree(home)
    Path(home).write_text("in the way")
    heard = listen(window.document)
    window.action["inch"].trigger()
    assert "preferences could not be kept" in heard[0]
    assert filing.settings.length_unit == "inch"
    Path(home).unlink()


def test_windows_of_sections_are_away_while_the_start_page_is_shown(window):
    section = window.sections["wheel"]
    section.take_out()
    window.action["new"].trigger()
    assert not section.window_of_own.isVisible()
    window.show_work()
    assert section.window_of_own.isVisible()
    section.put_back()


def test_the_start_page_can_be_left_while_there_is_something_to_redo(make_window, make_document):
    window = make_window(make_document(Design()))
    window.action["add"].trigger()
    window.document.undo()
    window.action["new"].trigger()
    QTest.keyClick(window.windowHandle(), Qt.Key.Key_Escape)
    assert not window.at_start
