"""A window learns that another has the same file open, for just as long as it does."""

import json
import os
import stat
import subprocess
import sys
from pathlib import Path

import pytest

from app.design.open_files import OpenFile, open_folder

ROOT = Path(__file__).parents[3]
_OTHER = """
import sys
from pathlib import Path
from app.design.open_files import OpenFile
OpenFile(Path(sys.argv[1])).follow(Path(sys.argv[2]))
print("noted", flush=True)
input()
"""


@pytest.fixture
def notes(tmp_path):
    return tmp_path / "home" / "open"


@pytest.fixture
def scout(tmp_path):
    path = tmp_path / "scout.json"
    path.write_text("{}")
    return path


@pytest.fixture
def other(notes, scout):
    """Another process that has the file open until its input is closed."""
    words = [sys.executable, "-c", _OTHER, str(notes), str(scout)]
    pipe = subprocess.PIPE
    with subprocess.Popen(words, cwd=ROOT, stdin=pipe, stdout=pipe, text=True) as made:
        assert made.stdout.readline() == "noted\n"
        yield made
        if made.poll() is None:
            made.communicate("\n")


def test_a_file_that_a_running_process_has_open_is_told(notes, scout, other):
    here = OpenFile(notes)
    assert not here.elsewhere()
    here.follow(scout)
    assert here.elsewhere()


def test_a_file_of_another_name_for_the_same_place_is_the_same(notes, scout, other, tmp_path):
    link = tmp_path / "link.json"
    link.symlink_to(scout)
    here = OpenFile(notes)
    here.follow(link)
    assert here.elsewhere()
    here.follow(tmp_path / "cart.json")
    assert not here.elsewhere()


def test_what_an_ended_process_left_is_removed_and_not_told(notes, scout, other):
    here = OpenFile(notes)
    here.follow(scout)
    other.kill()
    other.wait()
    assert len(list(notes.iterdir())) == 2
    assert not here.elsewhere()
    assert len(list(notes.iterdir())) == 1


def test_two_windows_of_one_process_know_of_each_other(notes, scout):
    one, two = OpenFile(notes), OpenFile(notes)
    one.follow(scout)
    two.follow(scout)
    assert one.elsewhere()
    assert two.elsewhere()
    two.follow(None)
    assert not one.elsewhere()
    assert two.path is None


def test_one_note_is_kept_however_many_files_are_opened(notes, scout, tmp_path):
    here = OpenFile(notes)
    for name in ("a.json", "b.json", "scout.json"):
        here.follow(tmp_path / name)
    (note,) = notes.iterdir()
    assert json.loads(note.read_text())["path"] == str(scout)
    here.follow(None)
    assert list(notes.iterdir()) == []


@pytest.mark.skipif(sys.platform == "win32", reason="the system knows no such bits")
def test_nobody_else_may_read_a_note(notes, scout):
    OpenFile(notes).follow(scout)
    (note,) = notes.iterdir()
    assert [stat.S_IMODE(path.stat().st_mode) for path in (notes, note)] == [0o700, 0o600]


def test_a_sign_of_life_is_a_change_of_the_note(notes, scout):
    here = OpenFile(notes)
    here.live()
    here.follow(scout)
    (note,) = notes.iterdir()
    os.utime(note, (1.0, 1.0))
    here.live()
    assert note.stat().st_mtime > 1e9


@pytest.mark.parametrize("text", [b"", b"{", b"\xff", b'{"format": "axlewright-open", "version": 9}', b"[]"])
def test_a_broken_note_tells_nothing_and_stays(notes, scout, text):
    here = OpenFile(notes)
    here.follow(scout)
    broken = notes / "open-1-broken.json"
    broken.write_bytes(text)
    assert not here.elsewhere()
    assert broken.read_bytes() == text


def test_a_folder_that_cannot_be_written_stops_nothing(tmp_path, scout):
    blocked = tmp_path / "file"
    blocked.write_text("")
    here = OpenFile(blocked / "open")
    here.follow(scout)
    here.live()
    assert not here.elsewhere()
    here.follow(None)


def test_the_notes_lie_beside_the_autosaves(home):
    assert open_folder() == home / "open"
