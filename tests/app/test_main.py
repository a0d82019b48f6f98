"""The start: which way the words lead, and what a failing start says."""

import os
import signal
import subprocess
import sys
import time
from importlib import resources

import pytest

from app import crash, main, qt_check
from app.cli.registry import verb_names


@pytest.fixture(autouse=True)
def _unhooked(monkeypatch):
    """Keep the test run's own hook: main installs the program's."""
    monkeypatch.setattr(sys, "excepthook", sys.excepthook)
    monkeypatch.delenv("AXLEWRIGHT_QUIT_AFTER", raising=False)
    before = {request: signal.getsignal(request) for request in crash.REQUESTS_TO_STOP}
    yield
    for request, handler in before.items():
        signal.signal(request, handler)


@pytest.fixture
def opened(monkeypatch):
    """Collect what the window is opened with instead of opening it."""
    calls = []
    monkeypatch.setattr(main, "_window", lambda path, seconds: calls.append((path, seconds)) or 0)
    return calls


def run_program(*words, **variables):
    environment = {name: text for name, text in os.environ.items() if not name.endswith("DISPLAY")}
    environment.pop("QT_QPA_PLATFORM", None)
    return subprocess.run(
        [sys.executable, "-m", "app.main", *words],
        capture_output=True,
        text=True,
        timeout=60,
        env=environment | variables,
    )


def test_no_word_opens_the_window_without_a_file(opened):
    assert main.main([]) == 0
    assert opened == [(None, None)]


def test_a_file_opens_in_the_window(opened, tmp_path):
    chassis = tmp_path / "a b é.json"
    chassis.write_text("{}")
    assert main.main([str(chassis)]) == 0
    assert main.main(["--", str(chassis)]) == 0
    assert opened == [(chassis, None)] * 2


@pytest.mark.parametrize("verb", verb_names())
def test_each_verb_goes_to_the_command_line(opened, monkeypatch, verb):
    seen = []
    monkeypatch.setattr(main, "run", lambda words: seen.append(list(words)) or 0)
    assert main.main([verb, "x"]) == 0
    assert seen == [[verb, "x"]]
    assert opened == []


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["chekc"], "Did you mean: axlewright check"),
        (["none.json"], "none.json: there is no such file"),
        (["-x"], "-x is no option"),
        (["a", "b"], "one file at a time"),
    ],
)
def test_wrong_words_are_told_and_open_nothing(opened, capsys, words, said):
    assert main.main(words) == 2
    assert said in capsys.readouterr().err
    assert opened == []


def test_the_window_can_be_told_to_close_by_itself(opened, monkeypatch):
    monkeypatch.setenv("AXLEWRIGHT_QUIT_AFTER", "2.5")
    assert main.main([]) == 0
    assert opened == [(None, 2.5)]


@pytest.mark.parametrize("text", ["soon", "-1", "nan", "inf"])
def test_a_senseless_time_to_close_is_told(opened, monkeypatch, capsys, text):
    monkeypatch.setenv("AXLEWRIGHT_QUIT_AFTER", text)
    assert main.main([]) == 2
    assert f"got {text!r}" in capsys.readouterr().err
    assert opened == []


def test_a_system_without_the_libraries_is_told_before_qt_loads(monkeypatch, capsys):
    monkeypatch.setattr(qt_check, "trouble", lambda: "lacks libxcb-cursor.so.0")
    assert main.main([]) == 2
    assert capsys.readouterr().err == "lacks libxcb-cursor.so.0\n"


def test_a_binding_that_does_not_load_is_told(monkeypatch, capsys):
    monkeypatch.setattr(qt_check, "trouble", lambda: None)
    # None in sys.modules makes the import fail, as the loader does.
    monkeypatch.setitem(sys.modules, "PySide6.QtWidgets", None)
    assert main.main([]) == 2
    assert "PySide6, the part that draws it, does not load here" in capsys.readouterr().err


def test_ctrl_c_is_quiet(monkeypatch, capsys):
    def interrupted(words):
        raise KeyboardInterrupt

    monkeypatch.setattr(main, "run", interrupted)
    assert main.main(["check", "x"]) == 130
    assert capsys.readouterr() == ("", "")


@pytest.mark.skipif(not crash.REQUESTS_TO_STOP, reason="this system sends no such signals")
@pytest.mark.parametrize("number", crash.REQUESTS_TO_STOP)
def test_a_request_to_stop_ends_a_verb_as_an_error_would(monkeypatch, capsys, number):
    cleared = []

    def asked(words):
        try:
            os.kill(os.getpid(), number)
            time.sleep(10)
        finally:
            cleared.append(words)

    monkeypatch.setattr(main, "run", asked)
    with pytest.raises(SystemExit) as stopped:
        main.main(["check", "x"])
    assert stopped.value.code == 128 + number
    assert cleared == [["check", "x"]]
    assert capsys.readouterr() == ("", "")


@pytest.mark.skipif(not crash.REQUESTS_TO_STOP, reason="this system sends no such signals")
def test_a_request_that_the_caller_had_ignored_stays_ignored(monkeypatch):
    signal.signal(signal.SIGHUP, signal.SIG_IGN)  # as nohup does
    monkeypatch.setattr(main, "run", lambda _words: os.kill(os.getpid(), signal.SIGHUP) or 0)
    assert main.main(["check", "x"]) == 0


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="other systems always have a screen")
def test_a_session_without_a_screen_gets_a_sentence():
    done = run_program()
    assert done.returncode == 2
    assert "no screen" in done.stderr
    assert "Traceback" not in done.stderr


def test_the_command_line_loads_no_qt():
    code = (
        "import sys; from app.main import main; code = main(['schema']);"
        "sys.exit(code or any(name.startswith(('PySide6', 'pyqtgraph')) for name in sys.modules))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, timeout=60)
    assert done.returncode == 0, done.stderr


def test_the_whole_program_checks_a_sample(tmp_path):
    chassis = tmp_path / "scout.json"
    sample = resources.files("sample_chassis").joinpath("marsh_scout_six.json")
    chassis.write_text(sample.read_text(encoding="utf-8"), encoding="utf-8")
    done = run_program("check", str(chassis))
    assert (done.returncode, done.stderr) == (0, "")
    assert "ALIGNED" in done.stdout
