"""Saving the code for the controller: where to, what is never overwritten, and what is remembered."""

import os
import subprocess
import sys

import pytest

import app.window.file_actions
from app.design.files import read_design, write_design
from app.design.samples import sample_design
from app.dialogs import controller_export, export
from app.dialogs.controller_export import Chosen, CodeFile
from app.settings import load_settings
from geometry.model.controller import Controller
from tests.windows import KEYS, listen
from tests.written import CODE_FORMATS, only_file

FORMS = {form.key: form for form in CODE_FORMATS}
CODE = CodeFile({"scout.py": b"answer = 42\n"}, FORMS["micropython"])
SIX = sample_design(KEYS[0])
CHOICE = Controller(error=0.5, prefix="scout")


@pytest.fixture
def filing(window):
    return window.filing


@pytest.fixture
def saving(answers):
    """Let the dialog save a file, and close with its choices where that was done."""

    def prepare(path, file=CODE, controller=CHOICE):
        def run(parent, design, format_key, save):
            return Chosen(controller, file.form.key) if save(parent, file) else None

        answers.give("ask_controller_export", run)
        answers.give("ask_save", path)

    return prepare


def test_a_file_is_written_and_the_choices_are_one_undo_step(window, filing, saving, tmp_path):
    path = tmp_path / "scout.py"
    saving(path)
    heard = listen(window.document)
    before = window.document.design
    assert filing.export_code()
    assert path.read_bytes() == only_file(CODE.files)
    assert window.document.design == before.edited(controller=CHOICE)
    assert window.document.undo_stack.count() == 1
    assert window.document.undo_stack.undoText() == "Change what the controller gets"
    assert str(path) in heard[0]
    window.document.undo()
    assert window.document.design == before


def test_the_choices_are_remembered_with_the_chassis_and_offered_again(
    window, filing, saving, answers, tmp_path
):
    saving(tmp_path / "scout.h", CodeFile({"scout.h": b"x"}, FORMS["c"]))
    assert filing.export_code()
    window.document.save(tmp_path / "chassis.json")
    assert read_design(tmp_path / "chassis.json").design.controller == CHOICE
    saving(None)
    filing.export_code()
    _, (_, design, format_key, _) = next(ask for ask in reversed(answers.asked) if "controller" in ask[0])
    assert (design.controller, format_key) == (CHOICE, "c")


def test_choices_that_change_nothing_are_no_step(window, filing, saving, tmp_path):
    saving(tmp_path / "scout.py", controller=window.document.design.controller)
    assert filing.export_code()
    assert window.document.undo_stack.count() == 0


def test_giving_up_leaves_the_design_alone(window, filing, answers):
    answers.give("ask_controller_export", None)
    before = window.document.design
    assert not filing.export_code()
    assert window.document.design is before
    assert not window.document.modified


def test_choices_are_kept_without_a_file(window, filing, answers):
    answers.give("ask_controller_export", Chosen(CHOICE, "json"))
    assert filing.export_code()
    assert window.document.design.controller == CHOICE
    assert load_settings().code_format == "json"


@pytest.mark.parametrize(
    ("key", "name"),
    [("micropython", "robot.py"), ("c", "scout.h"), ("json", "scout_code.json"), ("csv", "scout_rows.csv")],
)
def test_the_folder_is_remembered_and_the_name_follows_prefix_and_format(
    filing, saving, answers, tmp_path, key, name
):
    file = CodeFile({name: b"x"}, FORMS[key])
    saving(tmp_path / "one", file)
    filing.export_code()
    assert load_settings().last_folder == str(tmp_path)
    saving(None, file)
    filing.export_code()
    _, (_, start, _, pattern, suffix) = answers.asked[-1]
    assert start == tmp_path / name
    assert suffix == FORMS[key].suffix
    assert f"*{suffix}" in pattern


def test_a_place_that_cannot_be_written_loses_nothing(window, filing, saving, answers, tmp_path):
    saving(tmp_path / "nowhere" / "scout.py")
    answers.give("tell", None)
    before = window.document.design
    assert not filing.export_code()
    assert answers.names()[-1] == "tell"
    assert "nowhere" in answers.asked[-1][1][2]
    assert window.document.design is before


@pytest.mark.skipif(sys.platform == "win32", reason="a folder cannot be made read-only there")
def test_an_old_file_survives_a_failed_write(filing, saving, answers, tmp_path, monkeypatch):
    path = tmp_path / "scout.py"
    path.write_bytes(b"old")

    def full(*_args):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.fsync", full)
    saving(path)
    answers.give("tell", None)
    assert not filing.export_code()
    assert "the disk is full" in answers.asked[-1][1][2]
    assert path.read_bytes() == b"old"
    assert [p.name for p in tmp_path.iterdir() if p.name.startswith(".axlewright")] == []


def test_code_is_never_written_over_a_chassis(filing, saving, answers, tmp_path):
    path = tmp_path / "other.json"
    write_design(path, sample_design(KEYS[2]))
    old = path.read_bytes()
    saving(path, CodeFile({"scout_code.json": b"{}"}, FORMS["json"]))
    answers.give("tell", None)
    assert not filing.export_code()
    assert "choose another name" in answers.asked[-1][1][2]
    assert path.read_bytes() == old


def test_the_file_of_the_open_chassis_is_kept_even_where_it_was_spoilt(
    window, filing, saving, answers, tmp_path
):
    path = tmp_path / "mine.json"
    window.document.save(path)
    path.write_bytes(b"spoilt")
    saving(tmp_path / "." / "mine.json", CodeFile({"scout_code.json": b"{}"}, FORMS["json"]))
    answers.give("tell", None)
    assert not filing.export_code()
    assert path.read_bytes() == b"spoilt"


@pytest.mark.parametrize("way", ["menu", "panel"])
def test_menu_and_motors_panel_both_lead_to_it(window, answers, way):
    answers.give("ask_controller_export", None)
    if way == "menu":
        window.action["export_code"].trigger()
    else:
        window.panels["motors"].code.click()
    assert answers.names() == ["ask_controller_export"]


def test_each_question_is_that_of_its_dialog(monkeypatch):
    monkeypatch.setattr(controller_export, "ask_controller_export", lambda *asked: asked)
    monkeypatch.setattr(export, "ask_export", lambda *asked: asked)
    assert app.window.file_actions.ask_controller_export(None, SIX, "c", print) == (None, SIX, "c", print)
    assert app.window.file_actions.ask_export(None, SIX, 21, "inch") == (None, SIX, 21, "inch")


def test_the_window_starts_without_what_only_the_exports_need():
    code = (
        "import sys, app.window.main_window\n"
        "late = {'app.controller.programme', 'geometry.lookup_table.fit', 'pyqtgraph', "
        "'app.dialogs.code_view'}\n"
        "sys.exit(' '.join(sorted(late & set(sys.modules))))"
    )
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)}
    done = subprocess.run([sys.executable, "-c", code], env=environment, capture_output=True, text=True)
    assert done.stderr.strip() == ""
