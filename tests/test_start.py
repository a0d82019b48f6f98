"""The set-up script: its decisions, without making an environment."""

import ast
import hashlib
import importlib.util
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent


@pytest.fixture(scope="module")
def start():
    sys.path.insert(0, str(ROOT / ".start"))  # as Python does when it runs the folder
    spec = importlib.util.spec_from_file_location("axlewright_start", ROOT / ".start" / "__main__.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    yield module
    sys.path.remove(str(ROOT / ".start"))


@pytest.fixture(scope="module")
def pip_wheel(start):
    return start.pip_wheel


def index_page(*rows):
    return (
        "<html><body>" + "".join(f'<a href="{link}" {more}>x</a>' for link, more in rows) + "</body></html>"
    )


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        ([], ([], "program", [])),
        (["tests"], (["test"], "tests", [])),
        (["tests", "-k", "name"], (["test"], "tests", ["-k", "name"])),
        (["dev"], (["dev", "test"], "nothing", [])),
        (["gamepad"], (["gamepad"], "program", [])),
        (["gamepad", "a b.json"], (["gamepad"], "program", ["a b.json"])),
        (["check", "a b.json"], ([], "program", ["check", "a b.json"])),
    ],
)
def test_words_choose_the_extras_and_what_runs(start, words, expected):
    assert start.plan(words) == expected


def test_each_word_installs_extras_that_the_project_has(start):
    with (ROOT / "pyproject.toml").open("rb") as file:
        known = tomllib.load(file)["project"]["optional-dependencies"]
    assert {extra for extras in start.EXTRAS_OF.values() for extra in extras} <= set(known)
    assert known["gamepad"] == ["pygame-ce>=2.5.8"]
    assert all(f"python3 .start {word}" in start.__doc__ for word in start.EXTRAS_OF)


def test_game_pads_stay_where_the_window_is_opened_without_the_word(start):
    stamp = {"state": "ready", "root": str(ROOT), "digest": "d", "extras": ["gamepad"]}
    assert start.needed_extras(stamp, ROOT, "d", start.plan([])[0]) is None
    assert start.needed_extras(stamp, ROOT, "d", start.plan(["tests"])[0]) == ["gamepad", "test"]


def test_the_quick_tests_are_some_of_those_that_are_there(start):
    extras, what, words = start.plan(["tests", "quick", "-x"])
    assert (extras, what, words[-1]) == (["test"], "tests", "-x")
    places = [word for word in words[:-1] if "/" in word or (ROOT / word).is_dir()]
    assert len(places) >= 3
    assert [place for place in places if not (ROOT / place).exists()] == []


def test_an_old_python_is_told_so_in_one_sentence(start):
    told = start.age_problem((3, 9, 6), find=lambda name: None)
    assert "3.11 or newer" in told
    assert "this one is 3.9" in told


def test_an_old_python_is_pointed_to_a_newer_one_that_is_installed(start):
    told = start.age_problem((3, 8), find=lambda name: name == "python3.12")
    assert "python3.12 .start" in told


@pytest.mark.parametrize("version", [(3, 11, 0), (3, 14, 2), (4, 0)])
def test_a_new_enough_python_is_no_problem(start, version):
    assert start.age_problem(version, find=lambda name: None) is None


@pytest.mark.parametrize("name", ["__main__.py", "pip_wheel.py"])
def test_the_script_parses_on_old_pythons(name):
    source = (ROOT / ".start" / name).read_text(encoding="utf-8")
    tree = ast.parse(source, feature_version=(3, 7))
    futures = [
        node for node in ast.walk(tree) if isinstance(node, ast.ImportFrom) and node.module == "__future__"
    ]
    assert futures == []


def test_the_interpreter_is_where_each_system_puts_it(start):
    assert start.venv_python(Path("v"), windows=True) == Path("v/Scripts/python.exe")
    assert start.venv_python(Path("v"), windows=False) == Path("v/bin/python")


def test_a_fresh_environment_needs_what_is_asked_for(start):
    assert start.needed_extras({}, ROOT, "d", ["test"]) == ["test"]
    assert start.needed_extras({}, ROOT, "d", []) == []


def test_an_environment_that_holds_all_needs_nothing(start):
    stamp = {"state": "ready", "root": str(ROOT), "digest": "d", "extras": ["test"]}
    assert start.needed_extras(stamp, ROOT, "d", ["test"]) is None


def test_the_window_does_not_take_the_tests_tools_away(start):
    stamp = {"state": "ready", "root": str(ROOT), "digest": "d", "extras": ["test"]}
    assert start.needed_extras(stamp, ROOT, "d", []) is None
    assert start.needed_extras(stamp, ROOT, "d", ["dev", "test"]) == ["dev", "test"]


def test_a_changed_project_file_installs_again(start):
    stamp = {"state": "ready", "root": str(ROOT), "digest": "old", "extras": ["test"]}
    assert start.needed_extras(stamp, ROOT, "new", []) == ["test"]


@pytest.mark.parametrize(
    ("stamp", "works", "rebuilt"),
    [
        ({}, True, False),
        ({}, False, True),
        ({"state": "working", "root": str(ROOT)}, True, True),
        ({"state": "ready", "root": "/elsewhere"}, True, True),
        ({"state": "ready", "root": str(ROOT)}, True, False),
        ({"state": "ready", "root": str(ROOT)}, False, True),
    ],
)
def test_broken_killed_and_moved_environments_are_made_anew(start, stamp, works, rebuilt):
    assert start.must_rebuild(stamp, ROOT, works) is rebuilt


def test_a_stamp_survives_writing_and_reading(start, tmp_path):
    start.write_stamp(tmp_path, state="ready", extras=["test"])
    assert start.read_stamp(tmp_path) == {"state": "ready", "extras": ["test"]}


@pytest.mark.parametrize("content", ["", "{", "[1]", "\0"])
def test_an_unreadable_stamp_counts_as_none(start, tmp_path, content):
    (tmp_path / "axlewright-stamp.json").write_text(content)
    assert start.read_stamp(tmp_path) == {}


def test_children_do_not_inherit_what_leads_out_of_the_environment(start):
    inherited = {
        "PYTHONPATH": "/opt/tools",
        "PYTHONHOME": "/x",
        "PIP_USER": "1",
        "PATH": "/bin",
        "HOME": "/h",
    }
    kept = start.clean_environment(inherited)
    assert "PYTHONPATH" not in kept
    assert "PYTHONHOME" not in kept
    assert kept["PIP_USER"] == "0"
    assert (kept["PATH"], kept["HOME"]) == ("/bin", "/h")


@pytest.mark.parametrize(
    ("line", "shown"),
    [
        ("  Downloading numpy-2.4.6-cp311-x86_64.whl (16.9 MB)", "  numpy, 16.9 MB"),
        ("Using cached typing_extensions-4.1-py3-none-any.whl (45 kB)", "  typing-extensions, 45 kB"),
        ("  Downloading numpy-2.4.6-cp311-x86_64.whl.metadata (6.6 kB)", None),
        ("Installing collected packages: a, b, c", "  unpacking 3 packages"),
        ("Collecting numpy", None),
    ],
)
def test_only_lines_worth_showing_are_shown(start, line, shown):
    assert start.short_line(line) == shown


CHILD = (
    "import os, sys; print('Downloading numpy-2.4.6.whl (16.9 MB)', os.getcwd(), "
    "os.environ.get('PYTHONPATH'), flush=True); print('é', sys.stdin.read(), file=sys.stderr); sys.exit({})"
)


@pytest.mark.parametrize("way", ["quiet", "run_pip"])
@pytest.mark.parametrize("code", [0, 3])
def test_a_child_runs_in_the_project_reads_nothing_and_is_heard_whole(start, monkeypatch, capsys, way, code):
    monkeypatch.setenv("PYTHONPATH", "/elsewhere")
    monkeypatch.setenv("PYTHONIOENCODING", "utf-8")
    worked, told = getattr(start, way)([sys.executable, "-c", CHILD.format(code)])
    first, second = told.splitlines()
    assert worked is (code == 0)
    assert first == f"Downloading numpy-2.4.6.whl (16.9 MB) {ROOT} None"
    assert second.split() == ["é"]
    assert capsys.readouterr().out == ("  numpy, 16.9 MB\n" if way == "run_pip" else "")


def test_a_command_that_does_not_exist_is_told_and_not_raised(start, tmp_path):
    worked, told = start.quiet([tmp_path / "nothing"])
    assert not worked
    assert "nothing" in told


def test_the_newest_pip_is_chosen_by_number_not_by_letters(pip_wheel):
    a, b = "a" * 64, "b" * 64
    page = index_page(
        (f"../files/pip-9.0.3-py3-none-any.whl#sha256={a}", ""),
        (f"../files/pip-25.1-py3-none-any.whl#sha256={b}", 'data-requires-python="&gt;=3.9"'),
        (f"../files/pip-25.2b1-py3-none-any.whl#sha256={a}", ""),
        (f"../files/pip-26.0.tar.gz#sha256={a}", ""),
    )
    assert pip_wheel.newest(page, (3, 11)) == ("../files/pip-25.1-py3-none-any.whl", b)


def test_a_pip_for_newer_pythons_withdrawn_or_without_checksum_is_passed_over(pip_wheel):
    a = "a" * 64
    page = index_page(
        (f"pip-30.0-py3-none-any.whl#sha256={a}", 'data-requires-python="&gt;=3.12"'),
        (f"pip-29.0-py3-none-any.whl#sha256={a}", 'data-yanked=""'),
        ("pip-28.0-py3-none-any.whl", ""),
        (f"pip-27.0-py3-none-any.whl#sha256={a}", ""),
    )
    assert pip_wheel.newest(page, (3, 11)) == ("pip-27.0-py3-none-any.whl", a)
    assert pip_wheel.newest("<html></html>", (3, 11)) is None


def index_folder(folder, data, digest):
    """A package index on the disk; a page is read from it by its address like one from the net."""
    (folder / "files").mkdir()
    (folder / "files" / "pip-1.0-py3-none-any.whl").write_bytes(data)
    (folder / "index.html").write_text(index_page((f"files/pip-1.0-py3-none-any.whl#sha256={digest}", "")))


def opened_from(folder, monkeypatch, pip_wheel):
    """Answer addresses below https://index.test/simple/pip/ from the folder."""

    def opened(address, timeout):
        name = address.removeprefix("https://index.test/simple/pip/") or "index.html"
        return (folder / name).open("rb")

    monkeypatch.setattr(pip_wheel.urllib.request, "urlopen", opened)


def test_pip_is_fetched_when_its_checksum_holds(pip_wheel, tmp_path, monkeypatch):
    index_folder(tmp_path, b"wheel", hashlib.sha256(b"wheel").hexdigest())
    opened_from(tmp_path, monkeypatch, pip_wheel)
    wheel = pip_wheel.fetched("https://index.test/simple/", tmp_path)
    assert wheel.name == "pip-1.0-py3-none-any.whl"
    assert wheel.read_bytes() == b"wheel"


def test_a_pip_with_another_checksum_is_refused_and_not_kept(pip_wheel, tmp_path, monkeypatch):
    index_folder(tmp_path, b"tampered", hashlib.sha256(b"wheel").hexdigest())
    opened_from(tmp_path, monkeypatch, pip_wheel)
    with pytest.raises(ValueError, match="differs from the index's checksum"):
        pip_wheel.fetched("https://index.test/simple", tmp_path)
    assert not (tmp_path / "pip-1.0-py3-none-any.whl").exists()


@pytest.mark.parametrize(
    ("told", "cause"),
    [
        ("WARNING ... NewConnectionError(...)\n  ERROR: nothing found", "on the network?"),
        ("OSError: [Errno 28] No space left on device", "disk is full"),
        ("ERROR: something else", "could not install"),
    ],
)
def test_a_failed_installation_is_told_with_its_cause_and_the_log(start, told, cause):
    text = start.install_problem(told, Path("v"))
    assert cause in text
    assert "axlewright-pip.log" in text
    assert told.strip().splitlines()[-1].strip() in text


def test_an_old_python_ends_with_a_sentence_and_no_traceback(start, monkeypatch, capsys):
    monkeypatch.setattr(start.sys, "version_info", (3, 8, 1))
    assert start.main([]) == 2
    out = capsys.readouterr()
    assert "needs Python 3.11 or newer" in out.out
    assert out.err == ""


def test_a_child_that_dies_by_a_signal_is_told(start, monkeypatch, capsys):
    if sys.platform == "win32":
        pytest.skip("Windows has no such signals")
    real = subprocess.Popen
    dying = [sys.executable, "-c", "import os, signal; os.kill(os.getpid(), signal.SIGTERM)"]
    monkeypatch.setattr(start.subprocess, "Popen", lambda command, **more: real(dying, **more))
    assert start.run(Path("v"), "program", []) == 128 + 15
    assert "signal 15" in capsys.readouterr().out


def test_a_second_set_up_waits_for_the_first(start, tmp_path):
    holder = (
        "import importlib.util, sys, time\n"
        f"sys.path.insert(0, {str(ROOT / '.start')!r})\n"
        f"spec = importlib.util.spec_from_file_location('s', {str(ROOT / '.start' / '__main__.py')!r})\n"
        "s = importlib.util.module_from_spec(spec)\n"
        "spec.loader.exec_module(s)\n"
        f"with s.one_set_up_at_a_time(s.Path({str(tmp_path / 'lock')!r})):\n"
        "    print('held', time.time(), flush=True)\n"
        "    time.sleep(0.5)\n"
        "    print('left', time.time(), flush=True)\n"
    )
    both = [
        subprocess.Popen([sys.executable, "-c", holder], stdout=subprocess.PIPE, text=True) for _ in range(2)
    ]
    spans = []
    for child in both:
        out, _ = child.communicate(timeout=60)
        spans.append(
            [float(line.split()[1]) for line in out.splitlines() if line.startswith(("held", "left"))]
        )
    first, second = sorted(spans)
    assert first[1] <= second[0]
