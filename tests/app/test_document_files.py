"""The document and its file: saving, changes by others, work kept for after a crash."""

import errno
import json
import os
import time

import pytest

from app.design import edits, recovery
from app.design.files import ChangedElsewhereError, FileError, NewerFormatError, read_design
from app.design.samples import sample_design
from app.document import AUTOSAVE_MS
from geometry.errors import AxlewrightError
from tests.windows import KEYS, saved_sample


def widen(document, by=1.0):
    document.edit("Widen", lambda d: edits.change_wheels(d, [0], width_mm=d.wheels[0].width_mm + by))


@pytest.fixture
def titles(document):
    """How often the title had to be written anew, and what it then said."""
    said = []
    document.file_changed.connect(lambda: said.append(document.modified))
    return said


@pytest.fixture
def crashed(monkeypatch):
    """Make every autosave look as if its process had ended."""
    monkeypatch.setattr(recovery, "may_still_run", lambda _kept, _heard: False)


def kept(home):
    return sorted((home / "recovery").glob("*")) if (home / "recovery").exists() else []


def test_an_edit_makes_it_modified_and_undo_takes_that_back(document, titles):
    widen(document)
    assert document.modified
    document.undo()
    assert not document.modified
    assert titles == [True, False]


def test_what_is_saved_is_read_back(document, tmp_path):
    path = tmp_path / "chassis.json"
    widen(document)
    document.save(path)
    assert document.path == path
    assert not document.modified
    assert read_design(path).design == document.design


def test_a_preview_is_never_saved(document, tmp_path):
    before = document.design
    document.preview(lambda d: edits.move_wheels(d, {0: (200.0, 90.0)}))
    document.save(tmp_path / "chassis.json")
    assert read_design(tmp_path / "chassis.json").design == before


def test_undo_past_a_save_makes_it_modified(document, tmp_path):
    widen(document)
    document.save(tmp_path / "chassis.json")
    document.undo()
    assert document.modified


def test_opening_takes_up_the_file(document, tmp_path):
    path = saved_sample(tmp_path, KEYS[3])
    document.open(path)
    assert document.design == sample_design(KEYS[3])
    assert document.path == path
    assert not document.modified


@pytest.mark.parametrize(
    "text", ["", "{", "[]", '{"format": "axlewright-chassis", "version": 1, "wheels": 3}']
)
def test_a_file_that_cannot_be_read_changes_nothing(document, tmp_path, text):
    widen(document)
    before, path = document.design, tmp_path / "broken.json"
    path.write_text(text)
    with pytest.raises(AxlewrightError, match=r"broken\.json"):
        document.open(path)
    assert document.design is before
    assert document.modified
    assert document.path is None


def test_a_missing_file_changes_nothing(document, tmp_path):
    with pytest.raises(FileError, match="no such file"):
        document.open(tmp_path / "nowhere.json")
    assert document.path is None


def test_a_file_changed_by_another_program_is_not_overwritten(document, tmp_path):
    path = saved_sample(tmp_path)
    document.open(path)
    path.write_text(path.read_text().replace("front left", "vorn links"))
    others = path.read_bytes()
    widen(document)
    with pytest.raises(ChangedElsewhereError, match="another program"):
        document.save(path)
    assert path.read_bytes() == others
    assert document.modified
    document.save(path, overwrite=True)
    assert read_design(path).design == document.design
    assert not document.modified


def test_saving_twice_is_no_change_by_another_program(document, tmp_path):
    path = saved_sample(tmp_path)
    document.open(path)
    for _ in range(3):
        widen(document)
        document.save(path)
    assert read_design(path).design == document.design


def test_a_file_that_is_there_already_is_not_overwritten_unasked(document, tmp_path):
    path = saved_sample(tmp_path, KEYS[3])
    before = path.read_bytes()
    with pytest.raises(ChangedElsewhereError, match="exists already"):
        document.save(path)
    assert path.read_bytes() == before


def test_a_newer_format_is_never_overwritten(document, tmp_path):
    path = saved_sample(tmp_path)
    newer = json.loads(path.read_text()) | {"version": 99}
    path.write_text(json.dumps(newer))
    for overwrite in (False, True):
        with pytest.raises(NewerFormatError, match="99"):
            document.save(path, overwrite=overwrite)
    assert json.loads(path.read_text()) == newer


def test_a_place_that_cannot_be_written_leaves_it_modified(document, tmp_path):
    widen(document)
    with pytest.raises(FileError):
        document.save(tmp_path / "no such folder" / "chassis.json")
    assert document.modified
    assert document.path is None


def test_nothing_is_kept_aside_without_a_change(document, home):
    document.autosave()
    assert kept(home) == []


def test_the_timer_keeps_unsaved_work_aside(document, home, crashed):
    (timer,) = [child for child in document.children() if hasattr(child, "timeout") and child.isActive()]
    assert timer.isActive()
    assert timer.interval() == AUTOSAVE_MS
    widen(document)
    timer.timeout.emit()
    (found,) = recovery.find_recoveries(home / "recovery")
    assert found.design == document.design
    assert found.original is None


def test_saving_drops_what_was_kept_aside(document, home, tmp_path):
    widen(document)
    document.autosave()
    assert len(kept(home)) == 1
    document.save(tmp_path / "chassis.json")
    assert kept(home) == []


def test_closing_drops_what_was_kept_aside(document, home):
    widen(document)
    document.autosave()
    document.close()
    assert kept(home) == []


def test_taking_up_another_design_drops_what_was_kept_aside(document, home):
    widen(document)
    document.autosave()
    document.start(sample_design(KEYS[2]))
    assert kept(home) == []


def test_undoing_all_drops_what_was_kept_aside(document, home):
    widen(document)
    document.autosave()
    document.undo()
    document.autosave()
    assert kept(home) == []


def test_work_is_kept_aside_again_only_after_a_change(document, home):
    widen(document)
    document.autosave()
    (path,) = kept(home)
    written = path.stat().st_ino
    document.autosave()
    assert path.stat().st_ino == written
    widen(document)
    document.autosave()
    assert kept(home) == [path]
    assert path.stat().st_ino != written


def test_a_copy_that_was_cleared_away_is_kept_anew(document, home, crashed):
    widen(document)
    document.autosave()
    (path,) = kept(home)
    path.unlink()
    assert document.autosave()
    (found,) = recovery.find_recoveries(home / "recovery")
    assert found.design == document.design


def test_a_copy_that_could_not_be_kept_is_tried_again_and_told_once(document, home, crashed, monkeypatch):
    heard = []
    document.message.connect(heard.append)
    widen(document)
    with monkeypatch.context() as full:

        def refuse(_handle):
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

        full.setattr(os, "fsync", refuse)
        assert not document.autosave()
        assert not document.autosave()
        assert kept(home) == []
    assert len(heard) == 1
    assert "the disk is full" in heard[0]
    assert document.autosave()
    (found,) = recovery.find_recoveries(home / "recovery")
    assert found.design == document.design
    assert len(heard) == 1


def test_the_copy_before_stays_while_a_newer_one_cannot_be_kept(document, home, crashed, monkeypatch):
    widen(document)
    document.autosave()
    (path,) = kept(home)
    widen(document)
    with monkeypatch.context() as full:
        full.setattr(recovery, "write_bytes", refuse_to_write)
        assert not document.autosave()
        assert not document.autosave()  # what is there is not what is to be kept
        assert kept(home) == [path]  # yet better than nothing
    assert document.autosave()
    (found,) = recovery.find_recoveries(home / "recovery")
    assert found.design == document.design


def test_the_copy_before_is_dropped_with_the_work_though_a_newer_one_could_not_be_kept(
    document, home, monkeypatch
):
    widen(document)
    document.autosave()
    widen(document)
    monkeypatch.setattr(recovery, "write_bytes", refuse_to_write)
    assert not document.autosave()
    document.drop_recovery()
    assert kept(home) == []


def refuse_to_write(*_args, **_kwargs):
    raise FileError("cannot write: the disk is full")


def test_each_tick_is_a_sign_of_life_for_those_who_cannot_ask(document, home):
    widen(document)
    document.autosave()
    (path,) = kept(home)
    os.utime(path, (1000.0, 1000.0))
    document.autosave()
    assert abs(path.stat().st_mtime - time.time()) < 60


def test_a_document_that_is_stopped_leaves_its_copy(document, home):
    widen(document)
    document.autosave()
    document.close(keep_copy=True)
    assert len(kept(home)) == 1


def test_a_folder_that_refuses_is_told_once(make_document, home):
    (home / "recovery").write_text("in the way")
    document = make_document(sample_design(KEYS[0]))
    heard = []
    document.message.connect(heard.append)
    widen(document)
    document.autosave()
    document.autosave()
    assert len(heard) == 1
    assert "could not be kept" in heard[0]


def test_recovered_work_is_unsaved_and_asks_before_it_replaces(document, tmp_path):
    path = saved_sample(tmp_path)
    design = sample_design(KEYS[0]).edited(name="recovered")
    document.start_recovered(design, path)
    assert document.modified
    assert document.path == path
    with pytest.raises(ChangedElsewhereError):
        document.save(path)
    document.save(path, overwrite=True)
    assert not document.modified


def test_recovered_work_whose_file_is_gone_asks_for_a_place(document, tmp_path):
    document.start_recovered(sample_design(KEYS[0]), tmp_path / "gone.json")
    assert document.modified
    assert document.path is None


def test_a_document_that_goes_with_unsaved_work_says_nothing(make_document, capfd):
    from app.document import Document
    from tests.windows import collect_garbage

    document = Document(sample_design(KEYS[0]))
    widen(document)
    document.close()
    del document
    collect_garbage()
    assert capfd.readouterr().err == ""
