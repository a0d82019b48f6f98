"""Names of files that are too long, no text, or no name at all: told, and nothing is lost."""

import os
from pathlib import Path

import pytest
from PySide6.QtWidgets import QFileDialog

from app.design import recovery
from app.design.files import read_design, write_design
from app.design.samples import sample_design
from app.dialogs import questions
from app.settings import load_settings
from tests.windows import KEYS, recent_menu, saved_sample

LONG = "a" * 300 + ".json"
LOST = sample_design(KEYS[3]).edited(name="lost work")


@pytest.fixture
def filing(window):
    return window.filing


@pytest.fixture
def left_on(home, monkeypatch):
    """Leave work behind that was done on a file of this name."""

    def leave(original):
        recovery.write_recovery(home / "recovery", "1-old", LOST, original)
        monkeypatch.setattr(recovery, "may_still_run", lambda kept, _heard: not kept.session.endswith("old"))

    return leave


def rename(window, name):
    assert window.document.edit("Rename", lambda design: design.edited(name=name))


def test_a_file_of_a_name_too_long_is_not_opened_and_forgotten(window, filing, answers, tmp_path):
    filing.keep(filing.settings.with_recent(tmp_path / LONG))
    answers.give("tell", None)
    assert not filing.open_path(tmp_path / LONG)
    assert "the name is too long; choose a shorter one" in answers.asked[-1][1][-1]
    assert load_settings().recent_files == ()


def test_a_name_too_long_to_save_under_is_told(window, filing, answers, tmp_path):
    rename(window, "Other")
    answers.give("ask_save", tmp_path / LONG)
    answers.give("tell", None)
    assert not filing.save_as()
    assert "the name is too long; choose a shorter one" in answers.asked[-1][1][-1]
    assert window.document.modified


def test_a_name_that_its_suffix_makes_too_long_is_asked_for_no_replacement(qapp, monkeypatch, tmp_path):
    typed = tmp_path / ("a" * 253)
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_args: (str(typed), ""))
    assert questions.ask_save(None, tmp_path, "Save", "*", ".json") == typed.with_suffix(".json")


@pytest.mark.parametrize("named", [False, True])
@pytest.mark.parametrize("original", [LONG, "loop", "a\0b.json"])
def test_work_on_a_file_whose_name_leads_nowhere_is_taken_up(
    window, filing, answers, home, left_on, tmp_path, original, named
):
    (tmp_path / "loop").symlink_to(tmp_path / "loop")
    left_on(tmp_path / original)
    answers.give("ask_recover", "recover")
    filing.begin(home / "recovery", saved_sample(tmp_path) if named else None)
    assert window.document.design == LOST
    assert window.document.path is None
    assert window.document.modified


@pytest.mark.skipif(os.name != "posix", reason="names of bytes")
def test_a_file_whose_name_is_no_text_is_opened_saved_kept_and_remembered(
    window, filing, answers, home, tmp_path, monkeypatch
):
    path = Path(os.fsdecode(bytes(tmp_path) + b"/\xff\xfe.json"))
    try:
        write_design(path, sample_design(KEYS[3]))
    except OSError:
        pytest.skip("this file system takes text only")
    assert filing.open_path(path)
    assert load_settings().recent_files == (str(path),)
    rename(window, "Other")
    assert window.document.autosave()
    monkeypatch.setattr(recovery, "may_still_run", lambda *_args, **_more: False)
    (found,) = recovery.find_recoveries(home / "recovery")
    assert found.original == path
    assert filing.save()
    assert read_design(path).design.name == "Other"
    recent_menu(window)
