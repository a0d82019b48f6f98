import errno
import json
import os
import stat
import subprocess
import sys
import time
from pathlib import Path

import pytest

from app.design import owner
from app.design.disk import FileError
from app.design.recovery import (
    drop_recovery,
    find_recoveries,
    recovery_folder,
    still_kept,
    write_recovery,
)
from app.design.samples import sample_design

SCOUT, CART = sample_design("marsh_scout_six"), sample_design("reed_cart_four")
ROOT = Path(__file__).parents[3]
posix = pytest.mark.skipif(sys.platform == "win32", reason="permission bits of POSIX")


LATER_KEYS = ["process", "machine", "boot", "process_table", "started"]
DAY = 24 * 3600.0


@pytest.fixture
def crashed(tmp_path):
    """A folder of autosaves of processes that ended."""
    return tmp_path / "state" / "recovery"


def keep(folder, session="one", design=SCOUT, original=None):
    """Write as a process that ended since."""
    write_recovery(folder, session, design, original)
    path = folder / f"recovery-{session}.json"
    edit(path, process="ended")
    return path


def edit(path, **changes):
    path.write_text(json.dumps(json.loads(path.read_text()) | changes))


def heard(path, days):
    """Let the last sign of life be so many days ago."""
    then = time.time() - days * DAY
    os.utime(path, (then, then))


def test_what_an_ended_process_left_is_found(crashed):
    before = time.time()
    keep(crashed, "one", SCOUT, Path("scout.json"))
    (found,) = find_recoveries(crashed)
    assert (found.session_id, found.design, found.original) == ("one", SCOUT, Path("scout.json"))
    assert before <= found.saved_at <= time.time()


def test_a_design_that_was_never_saved_has_no_original(crashed):
    keep(crashed)
    assert find_recoveries(crashed)[0].original is None


def test_a_crash_for_real_leaves_what_was_kept(tmp_path):
    script = (
        "import os, sys; from pathlib import Path; from app.design.recovery import write_recovery;"
        "from app.design.samples import sample_design;"
        "write_recovery(Path(sys.argv[1]), 's', sample_design('creek_tricycle'), None); os._exit(9)"
    )
    ended = subprocess.run([sys.executable, "-c", script, str(tmp_path)], cwd=ROOT)
    assert ended.returncode == 9
    assert [found.design.name for found in find_recoveries(tmp_path)] == ["Creek tricycle"]


def test_this_process_and_others_alive_keep_theirs(tmp_path):
    write_recovery(tmp_path, "mine", SCOUT, None)
    write_recovery(tmp_path, "parents", SCOUT, None)
    edit(tmp_path / "recovery-parents.json", pid=os.getppid(), started=owner.start_of(os.getppid()))
    assert find_recoveries(tmp_path) == []


@pytest.mark.parametrize(("days", "offered"), [(6, 0), (8, 1)])
def test_a_process_on_another_machine_is_taken_for_alive_until_it_was_silent_for_a_week(
    crashed, days, offered
):
    path = keep(crashed)
    edit(path, host="elsewhere", machine="another", boot="another", saved_at=time.time() - days * DAY)
    heard(path, days)
    assert len(find_recoveries(crashed)) == offered


def test_a_sign_of_life_keeps_work_on_another_machine_from_being_offered(crashed):
    path = keep(crashed)
    edit(path, host="elsewhere", machine="another", boot="another", saved_at=time.time() - 30 * DAY)
    heard(path, 30)
    assert len(find_recoveries(crashed)) == 1
    assert still_kept(crashed, "one")
    assert find_recoveries(crashed) == []


def test_work_of_a_window_that_is_open_for_weeks_is_not_offered(tmp_path):
    write_recovery(tmp_path, "mine", SCOUT, None)
    write_recovery(tmp_path, "parents", SCOUT, None)
    edit(tmp_path / "recovery-parents.json", pid=os.getppid(), started=owner.start_of(os.getppid()))
    for name in ("mine", "parents"):
        path = tmp_path / f"recovery-{name}.json"
        edit(path, saved_at=time.time() - 30 * DAY)
        heard(path, 30)
    assert find_recoveries(tmp_path) == []


def test_work_is_offered_at_once_though_the_machine_was_renamed_since(crashed):
    edit(keep(crashed), host="renamed since")
    assert len(find_recoveries(crashed)) == 1


def test_work_is_offered_at_once_though_another_process_has_the_old_number(crashed):
    # The parent runs, but did not start when the writer did.
    edit(keep(crashed), pid=os.getppid(), started=owner.start_of(os.getppid()) - 100.0)
    assert len(find_recoveries(crashed)) == 1


def test_a_copy_of_the_first_version_is_judged_by_number_and_name(crashed):
    path = keep(crashed)
    first = {
        "format": "axlewright-recovery",
        "version": 1,
        **{key: json.loads(path.read_text())[key] for key in ("session", "process", "pid", "host")},
        **{key: json.loads(path.read_text())[key] for key in ("saved_at", "original", "design")},
    }
    path.write_text(json.dumps(first))
    assert [found.design for found in find_recoveries(crashed)] == [SCOUT]
    edit(path, pid=os.getppid())
    assert find_recoveries(crashed) == []
    heard(path, 8)
    assert len(find_recoveries(crashed)) == 1


def test_a_sign_of_life_needs_the_copy(crashed):
    assert not still_kept(crashed, "one")
    path = keep(crashed)
    assert still_kept(crashed, "one")
    path.unlink()
    assert not still_kept(crashed, "one")


@pytest.fixture
def open_mask():
    """A mask that lets everybody do everything."""
    before = os.umask(0)
    yield
    os.umask(before)


def bits(path):
    return stat.S_IMODE(path.stat().st_mode)


@posix
@pytest.mark.usefixtures("open_mask")
def test_a_new_folder_and_its_files_are_the_persons_own(tmp_path):
    folder = tmp_path / "state" / "recovery"
    write_recovery(folder, "one", SCOUT, None)
    assert [bits(path) for path in (folder.parent, folder, *folder.iterdir())] == [0o700, 0o700, 0o600]


@posix
@pytest.mark.usefixtures("open_mask")
@pytest.mark.parametrize("act", ["write anew", "write another", "find"])
def test_a_folder_and_files_that_all_could_read_are_shut(tmp_path, act):
    folder = tmp_path / "recovery"
    path = keep(folder)
    folder.chmod(0o755)
    path.chmod(0o644)
    if act == "find":
        find_recoveries(folder)
    else:
        write_recovery(folder, "one" if act == "write anew" else "another", CART, None)
    assert bits(folder) == 0o700
    assert {bits(file) for file in folder.iterdir()} == {0o600}


@posix
@pytest.mark.usefixtures("open_mask")
def test_a_copy_is_the_persons_own_from_its_first_byte(tmp_path, monkeypatch):
    seen = []
    real = os.fsync

    def look(handle):
        seen.append(stat.S_IMODE(os.fstat(handle).st_mode))
        real(handle)

    monkeypatch.setattr(os, "fsync", look)
    write_recovery(tmp_path / "recovery", "one", SCOUT, None)
    assert seen[0] == 0o600


@posix
def test_a_folder_that_does_not_let_itself_be_shut_is_used_all_the_same(crashed, monkeypatch):
    def refuse(*_args, **_kwargs):
        raise PermissionError(errno.EPERM, os.strerror(errno.EPERM))

    crashed.mkdir(parents=True, mode=0o755)
    monkeypatch.setattr(Path, "chmod", refuse)
    keep(crashed)
    assert len(find_recoveries(crashed)) == 1


def test_the_newest_comes_first_and_a_session_has_one(crashed):
    keep(crashed, "old", SCOUT)
    edit(crashed / "recovery-old.json", saved_at=1.0)
    keep(crashed, "new", SCOUT)
    keep(crashed, "new", CART)
    assert [(found.session_id, found.design) for found in find_recoveries(crashed)] == [
        ("new", CART),
        ("old", SCOUT),
    ]


def test_a_dropped_recovery_is_gone_and_dropping_twice_is_fine(crashed):
    keep(crashed)
    drop_recovery(crashed, "one")
    drop_recovery(crashed, "one")
    drop_recovery(crashed / "nowhere", "one")
    assert find_recoveries(crashed) == []


@pytest.mark.parametrize(
    "broken",
    [b"", b"{", b"\xff", b"[]", b"{}", b'{"format": "axlewright-recovery", "version": 1}', b"[" * 99_999],
)
def test_broken_recoveries_are_passed_over(crashed, broken):
    keep(crashed, "good")
    (crashed / "recovery-bad.json").write_bytes(broken)
    (crashed / "recovery-folder.json").mkdir()
    assert [found.session_id for found in find_recoveries(crashed)] == ["good"]


@pytest.mark.parametrize("key", ["pid", "host", "saved_at", "original", "design", "session", *LATER_KEYS])
@pytest.mark.parametrize("value", [None, "x", -1, 1e400, [], {}, 10**40])
def test_recoveries_with_odd_values_never_stop_a_start(crashed, key, value):
    path = keep(crashed)
    edit(path, **{key: value})
    assert all(found.design == SCOUT for found in find_recoveries(crashed))


def test_no_folder_means_no_recoveries(tmp_path):
    assert find_recoveries(tmp_path / "none") == []


def test_a_place_that_cannot_be_written_is_told(tmp_path):
    (tmp_path / "file").write_text("")
    with pytest.raises(FileError, match="cannot write"):
        write_recovery(tmp_path / "file", "one", SCOUT, None)


def test_a_session_name_cannot_leave_the_folder(tmp_path):
    write_recovery(tmp_path / "in", "../../evil", SCOUT, None)
    assert [entry.name for entry in (tmp_path / "in").iterdir()] == ["recovery-______evil.json"]


def test_a_variable_moves_the_folder(tmp_path, monkeypatch):
    monkeypatch.setenv("AXLEWRIGHT_HOME", str(tmp_path))
    assert recovery_folder() == tmp_path / "recovery"
