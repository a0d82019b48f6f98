import math
import os
import subprocess
import sys
import time
from pathlib import Path

import pytest

from app.design import owner
from app.design.owner import may_still_run, start_of, this_process, writer_ended, writer_mark

ROOT = Path(__file__).parents[3]
LONG_AGO = 0.0
linux = pytest.mark.skipif(sys.platform != "linux", reason="marks that Linux gives")


def own(**changes):
    return this_process().edited(**changes)


@pytest.fixture
def child():
    """A process that runs until its input is closed."""
    with subprocess.Popen([sys.executable, "-c", "input()"], stdin=subprocess.PIPE) as made:
        yield made
        if made.poll() is None:
            made.communicate()


@pytest.fixture(params=["by the system's file", "by the library"])
def asked_each_way(request, monkeypatch):
    """Ask for starts as on Linux, and as on systems that have no such file."""
    if request.param == "by the library":
        monkeypatch.setattr(owner, "_start_on_linux", owner._start_elsewhere)
    elif sys.platform != "linux":
        pytest.skip("no such file here")
    owner._this.cache_clear()
    yield
    owner._this.cache_clear()


@pytest.mark.usefixtures("asked_each_way")
def test_processes_are_told_alive_from_ended(child):
    assert start_of(child.pid) >= start_of(os.getpid()) > 0
    assert start_of(child.pid) == start_of(child.pid)
    child.communicate()
    assert start_of(child.pid) is None
    assert start_of(0) is start_of(-1) is start_of(10**40) is None


@pytest.mark.usefixtures("asked_each_way")
@pytest.mark.skipif(not hasattr(os, "waitid"), reason="only POSIX leaves the ended to be buried")
def test_a_process_that_ended_and_waits_to_be_buried_is_ended(child):
    assert start_of(child.pid) is not None
    child.stdin.close()
    # Seen ended, yet not collected: its number is still taken.
    os.waitid(os.P_PID, child.pid, os.WEXITED | os.WNOWAIT)
    os.kill(child.pid, 0)
    assert start_of(child.pid) is None
    child.wait()


@linux
def test_a_start_is_counted_from_the_boot():
    uptime = float(Path("/proc/uptime").read_text().split()[0])
    assert 0 < start_of(os.getpid()) < uptime
    import psutil

    since_boot = psutil.Process().create_time() - psutil.boot_time()
    assert start_of(os.getpid()) == pytest.approx(since_boot, abs=1.0)


@pytest.mark.usefixtures("asked_each_way")
def test_a_process_with_the_number_of_the_owner_is_the_owner_only_if_it_started_with_it(child):
    started = start_of(child.pid)
    assert may_still_run(own(pid=child.pid, started=started), LONG_AGO)
    assert not may_still_run(own(pid=child.pid, started=started - 20.0), time.time())
    child.communicate()
    assert not may_still_run(own(pid=child.pid, started=started), time.time())


def test_another_process_of_the_same_number_as_this_one_is_over():
    assert may_still_run(own(), LONG_AGO)
    assert not may_still_run(own(process="another"), time.time())


def test_a_new_name_of_the_machine_changes_nothing(child):
    started = start_of(child.pid)
    assert may_still_run(own(pid=child.pid, started=started, host="renamed"), LONG_AGO)
    child.communicate()
    assert not may_still_run(own(pid=child.pid, started=started, host="renamed"), time.time())


@linux
@pytest.mark.parametrize("host", ["the same", "renamed"])
def test_what_ran_before_the_machine_was_started_anew_is_over(monkeypatch, host):
    monkeypatch.setattr(owner, "_machine", lambda: "this one")
    owner._this.cache_clear()
    host = this_process().host if host == "the same" else host
    # Even with the number and the start of a process that runs now.
    before = own(boot="an earlier one", host=host, pid=os.getppid(), started=start_of(os.getppid()))
    assert not may_still_run(before, time.time())
    owner._this.cache_clear()


@pytest.mark.parametrize("days", [0.0, 6.9, -6.9, 7.1, -7.1, 300.0])
def test_a_process_on_another_machine_is_over_once_it_was_silent_for_a_week(days):
    elsewhere = own(machine="another", boot="another")
    assert may_still_run(elsewhere, time.time() - days * 24 * 3600) == (abs(days) < 7)


def test_where_a_machine_has_no_mark_its_name_tells_it(monkeypatch):
    monkeypatch.setattr(owner, "_machine", lambda: "")
    monkeypatch.setattr(owner, "_line", lambda _path: "")
    owner._this.cache_clear()
    assert this_process().machine == this_process().boot == ""
    assert not may_still_run(own(process="another"), time.time())
    assert may_still_run(own(process="another", host="elsewhere"), time.time())
    owner._this.cache_clear()


@linux
def test_a_process_in_another_container_is_over_once_it_was_silent_for_some_minutes():
    beside = own(process_table="pid:[1]", pid=2**22 + 5)
    assert may_still_run(beside, time.time() - 500)
    assert not may_still_run(beside, time.time() - 700)


def test_where_nothing_tells_when_it_started_the_number_counts_for_a_week(monkeypatch, child):
    older = own(pid=child.pid, started=None)
    assert may_still_run(older, time.time())
    assert not may_still_run(older, time.time() - 8 * 24 * 3600)
    known = own(pid=child.pid, started=1.0)
    monkeypatch.setattr(owner, "start_of", lambda _pid: math.nan)
    assert may_still_run(known, time.time())
    assert not may_still_run(known, time.time() - 8 * 24 * 3600)


@linux
def test_the_marks_of_this_process_do_not_show_the_systems_own():
    path = Path("/etc/machine-id")
    if not path.exists():
        pytest.skip("this system has none")
    here = this_process()
    assert path.read_text().strip() not in here.model_dump_json()
    assert len(here.machine) == 16
    assert here.boot == Path("/proc/sys/kernel/random/boot_id").read_text().strip()
    assert here.started == start_of(os.getpid())


@pytest.mark.parametrize("word", ["", "uninitialized"])
def test_a_machine_without_a_mark_of_its_own_gets_none(monkeypatch, word):
    monkeypatch.setattr(sys, "platform", "linux")
    monkeypatch.setattr(owner, "_line", lambda _path: word)
    assert owner._machine() == ""


def test_the_systems_without_marks_get_empty_ones():
    # Neither call exists here; each must say so and not fail.
    if sys.platform != "win32":
        assert owner._mark_on_windows() == ""
    if sys.platform == "linux":
        assert owner._mark_on_macos() == ""
        assert owner._line(Path("/nowhere")) == ""


@pytest.mark.usefixtures("asked_each_way")
def test_the_mark_of_a_writer_tells_whether_it_ended():
    code = "from app.design.owner import writer_mark; print(writer_mark(), flush=True); input()"
    if "by the library" in os.environ.get("PYTEST_CURRENT_TEST", ""):
        code = "from app.design import owner; owner._start_on_linux = owner._start_elsewhere; " + code
    with subprocess.Popen(
        [sys.executable, "-c", code], cwd=ROOT, text=True, stdin=subprocess.PIPE, stdout=subprocess.PIPE
    ) as writer:
        mark = writer.stdout.readline().strip()
        place, pid, hundredths = mark.split("-")
        assert int(pid) == writer.pid
        assert not writer_ended(mark)
        assert writer_ended(f"{place}-{pid}-{int(hundredths) - 100}")  # another had the number before
        assert not writer_ended(f"{place}-{pid}-0")  # nothing tells
        writer.kill()
        writer.wait()
    assert writer_ended(mark)
    assert writer_ended(f"{place}-{pid}-0")
    assert not writer_ended(f"00000000-{pid}-{hundredths}")  # elsewhere
    assert not writer_ended(writer_mark())


@pytest.mark.skipif(not hasattr(os, "fork"), reason="nothing forks here")
def test_a_fork_is_another_owner():
    code = (
        "import os; from app.design.owner import this_process; this_process();"
        "child = os.fork(); print(this_process().pid == os.getpid(), flush=True);"
        "child and os.waitpid(child, 0)"
    )
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True)
    assert done.stdout.split() == ["True", "True"], done.stderr
