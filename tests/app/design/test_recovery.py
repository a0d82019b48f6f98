import json
import os
import subprocess
import sys
import time
from pathlib import Path

import pytest

from app.design import recovery
from app.design.disk import FileError
from app.design.recovery import drop_recovery, find_recoveries, process_alive, recovery_folder, write_recovery
from app.design.samples import sample_design

SCOUT, CART = sample_design("marsh_scout_six"), sample_design("reed_cart_four")
ROOT = Path(__file__).parents[3]


@pytest.fixture
def crashed(tmp_path, monkeypatch):
    """A folder of autosaves of processes that are taken for ended."""
    monkeypatch.setattr(recovery, "_PROCESS", "an earlier process of this number")
    return tmp_path / "state" / "recovery"


def keep(folder, session="one", design=SCOUT, original=None):
    """Write as a process that ended since."""
    write_recovery(folder, session, design, original)
    path = folder / f"recovery-{session}.json"
    edit(path, process="ended")
    return path


def edit(path, **changes):
    path.write_text(json.dumps(json.loads(path.read_text()) | changes))


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
    edit(tmp_path / "recovery-parents.json", pid=os.getppid())
    assert find_recoveries(tmp_path) == []


def test_a_process_on_another_machine_is_taken_for_alive_for_a_week(crashed):
    path = keep(crashed)
    edit(path, host="elsewhere")
    assert find_recoveries(crashed) == []
    edit(path, saved_at=time.time() - 8 * 24 * 3600)
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


@pytest.mark.parametrize("key", ["pid", "host", "saved_at", "original", "design", "session", "process"])
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


def test_processes_are_told_alive_from_ended():
    child = subprocess.Popen([sys.executable, "-c", "input()"], stdin=subprocess.PIPE)
    assert process_alive(child.pid)
    child.communicate()
    assert not process_alive(child.pid)
    assert process_alive(os.getpid())
    assert not process_alive(0)


@pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="only this system tells the state")
def test_a_process_that_ended_and_waits_to_be_buried_is_ended():
    child = subprocess.Popen([sys.executable, "-c", "input()"], stdin=subprocess.PIPE)
    assert process_alive(child.pid)
    child.stdin.close()
    # Seen ended, yet not collected: its number is still taken.
    os.waitid(os.P_PID, child.pid, os.WEXITED | os.WNOWAIT)
    os.kill(child.pid, 0)
    assert not process_alive(child.pid)
    child.wait()


def test_a_variable_moves_the_folder(tmp_path, monkeypatch):
    monkeypatch.setenv("AXLEWRIGHT_HOME", str(tmp_path))
    assert recovery_folder() == tmp_path / "recovery"
