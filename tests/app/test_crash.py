"""The last net under the program."""

import subprocess
import sys
from pathlib import Path

from app import crash


def raised():
    try:
        _ = 1 / 0
    except ZeroDivisionError as error:
        return error


def test_an_unforeseen_error_is_written_down_and_the_person_told_where(tmp_path):
    told = crash.told(raised(), tmp_path / "new")
    (path,) = written(tmp_path / "new")
    assert str(path) in told
    assert "Traceback" not in told
    details = path.read_text(encoding="utf-8")
    assert "ZeroDivisionError" in details
    assert "in raised" in details


def test_details_that_cannot_be_written_down_are_shown(tmp_path):
    blocker = tmp_path / "file"
    blocker.write_text("in the way")
    told = crash.told(raised(), blocker / "below")
    assert "could not be written down" in told
    assert "ZeroDivisionError" in told


def test_the_persons_wish_moves_the_log(monkeypatch, tmp_path):
    monkeypatch.setenv("AXLEWRIGHT_HOME", str(tmp_path))
    assert crash.log_folder() == tmp_path
    monkeypatch.delenv("AXLEWRIGHT_HOME")
    assert "axlewright" in crash.log_folder().parts


def written(home):
    """The details left in the folder; the tests' own preferences may lie beside them."""
    return list(home.glob("trouble-*.txt"))


def hooked(statement, home):
    code = f"from app import crash\ncrash.install()\n{statement}"
    return subprocess.run(
        [sys.executable, "-c", code],
        capture_output=True,
        text=True,
        timeout=60,
        env={"AXLEWRIGHT_HOME": str(home), "PATH": ""},
        cwd=Path(__file__).parents[2],
    )


def test_a_crash_has_an_exit_code_of_its_own_and_shows_no_traceback(tmp_path):
    done = hooked("1 / 0", tmp_path)
    assert done.returncode == crash.EXIT_CODE
    assert "Traceback" not in done.stderr
    assert "The details are in" in done.stderr
    assert len(written(tmp_path)) == 1


def test_ctrl_c_leaves_no_trace(tmp_path):
    done = hooked("raise KeyboardInterrupt", tmp_path)
    assert (done.returncode, done.stdout, done.stderr) == (130, "", "")
    assert written(tmp_path) == []


def test_with_a_window_each_place_that_fails_is_told_once_and_the_program_goes_on(monkeypatch, tmp_path):
    monkeypatch.setenv("AXLEWRIGHT_HOME", str(tmp_path))
    monkeypatch.setattr(sys, "excepthook", sys.excepthook)
    shown = []
    crash.install(shown.append)
    for _ in range(3):
        error = raised()
        sys.excepthook(type(error), error, error.__traceback__)
    assert len(shown) == 1
    assert len(written(tmp_path)) == 1
    other = ValueError("elsewhere")
    sys.excepthook(ValueError, other, None)
    assert len(shown) == 2
