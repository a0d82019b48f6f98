"""Odd words, names and places: each ends in a sentence and code 2, never in a trouble file."""

import itertools
import os
import subprocess
import sys
from pathlib import Path

import pytest

from app import main
from app.cli import command_line, export
from app.design.disk import FileError, named_file, same_place
from app.design.samples import sample_text

ROOT = Path(__file__).parents[3]
LONG = "a" * 300
NO_TEXT = os.fsdecode(b"no\xff\xfetext")
ODD = (
    "",
    " ",
    "-",
    "--",
    "-1",
    "x/",
    ".",
    "0",
    "9" * 400,
    "1e999",
    "nan",
    "٣",
    "0_1",
    "a\0b",
    LONG,
    NO_TEXT,
    ",",
    "=",
)
OPTIONS = {
    "check": ("--rows", "--turn"),
    "fit": ("--turn",),
    "table": ("--rows", "--turn"),
    "export": (
        *(f"--{name}" for name, _, _ in export._OPTIONS),
        "--format",
        "--vectors",
        "--seed",
    ),
    "plan": ("--paper", "--scale", "--view", "--overlap"),
    "drive": ("--script", "--course", "--without", "--with"),
}
posix = pytest.mark.skipif(os.name != "posix", reason="devices and descriptors of POSIX")


@pytest.fixture
def here(tmp_path, monkeypatch):
    """A folder of our own to be in, with one small chassis."""
    folder = tmp_path / "here"
    folder.mkdir()
    monkeypatch.chdir(folder)
    (folder / "cart.json").write_text(sample_text("creek_tricycle"), encoding="utf-8")
    return folder


def call(capsys, *words):
    code = command_line.run(words)
    out, err = capsys.readouterr()
    assert "Traceback" not in err
    return code, out, err


def program(script, home, *words, **pipes):
    """Run the program by a shell, which can close and lead its streams astray."""
    command = f'exec "{sys.executable}" -m app.main "$@" {script}'
    return subprocess.run(
        ["/bin/sh", "-c", command, "sh", *words],
        cwd=home,
        capture_output=True,
        timeout=60,
        env=os.environ | {"PYTHONPATH": str(ROOT), "AXLEWRIGHT_HOME": str(home / "home")},
        **pipes,
    )


@pytest.mark.parametrize(
    ("verb", "option"), [(verb, option) for verb, options in OPTIONS.items() for option in options]
)
def test_every_option_takes_odd_values_or_says_why_not(here, capsys, verb, option):
    refused = 0
    for value, joined in itertools.product(ODD, (True, False)):
        given = [f"{option}={value}"] if joined else [option, value]
        rest = ["-o", "out"] if verb != "check" else []
        if verb == "export" and option not in ("--format", "--vectors"):
            rest += ["--format", "nothing like this"]
        if option == "--seed":
            rest[2:] = ["--vectors", "1"]
        if verb == "drive" and option != "--script":
            rest += ["--script", "there is none"]
        code, _out, err = call(capsys, verb, "cart.json", *given, *rest)
        assert code in (0, 2), given
        assert (code == 2) == bool(err.startswith(("axlewright: ", "usage: ")) and "note:" not in err), given
        refused += code == 2
    assert refused > len(ODD)


@pytest.mark.parametrize("name", [*ODD, "no/such/folder", "cart.json/x"])
def test_every_verb_takes_odd_names_or_says_why_not(here, capsys, name):
    dashed = ["--", name]
    for verb in (["check"], ["table", "-o", "-"], ["export", "--format", "c", "-o", "-"]):
        code, out, err = call(capsys, *verb, *dashed)
        assert (code, out) == (2, "")
        assert len(err.splitlines()) == 1 or err.startswith("usage: ")
    for verb in (["table", "cart.json"], ["samples", "reed_cart_four"]):
        for given in (["-o", name], [f"--output={name}"], [f"-o{name}"]):
            code, _out, err = call(capsys, *verb, *given)
            assert code in (0, 2)
            assert (code == 2) == bool(err)
    left = {path.name for path in here.iterdir()} - {"cart.json", name.lstrip("=")}
    # An option and its value in one word may begin with a sign that belongs to the option.
    assert left <= {name, "=", "-"}


@pytest.mark.parametrize(
    "words",
    [
        ("check", "cart.json", "--turn=--"),
        ("table", "cart.json", "-o--"),
        ("table", "cart.json", "-o=--"),
        ("export", "cart.json", "--format", "c", "-o", "-", "--error=--"),
    ],
)
def test_two_dashes_are_no_value(here, capsys, words):
    code, out, err = call(capsys, *words)
    assert (code, out) == (2, "")
    assert "two dashes are no value" in err


def test_after_two_dashes_any_name_goes(here, capsys):
    (here / "--turn=--").write_text(sample_text("creek_tricycle"), encoding="utf-8")
    assert call(capsys, "check", "--", "--turn=--")[0] == 0


@pytest.mark.parametrize("digits", ["٠.٥", "0_1", "0.1_5"])
@pytest.mark.parametrize("option", ["--turn", "--rows"])
def test_rows_and_turns_refuse_the_same_digits(here, capsys, option, digits):
    code, _, err = call(capsys, "check", "cart.json", option, digits)
    assert code == 2
    assert f"(got {digits!r})" in err


@pytest.mark.parametrize("name", ["x/", "x/.", ".", "..", "cart.json/", "./"])
def test_a_name_of_a_folder_is_not_taken_for_a_file(here, capsys, name):
    for words in (
        ("table", "cart.json", "-o", name),
        ("samples", "reed_cart_four", "-o", name),
        ("check", name),
    ):
        code, out, err = call(capsys, *words)
        assert (code, out) == (2, "")
        assert err == f"axlewright: {name} names a folder; add the name of a file\n"
    assert [path.name for path in here.iterdir()] == ["cart.json"]


def test_an_empty_name_is_told(here, capsys):
    for words in (("check", ""), ("table", "cart.json", "-o", "")):
        code, _, err = call(capsys, *words)
        assert code == 2
        assert "the name of a file is empty" in err


def test_a_typed_name_is_a_path():
    assert named_file("a/b.json") == Path("a/b.json")
    with pytest.raises(FileError, match="names a folder"):
        named_file("a/")


def test_two_names_of_one_place_are_told_apart_from_others(tmp_path):
    (tmp_path / "link").symlink_to(tmp_path / "file")
    (tmp_path / "loop").symlink_to(tmp_path / "loop")
    assert same_place(tmp_path / "link", tmp_path / "file")
    assert not same_place(tmp_path / "file", tmp_path / "other")
    for odd in (tmp_path / LONG, tmp_path / "loop", Path("a\0b"), None):
        assert not same_place(odd, tmp_path / "file")
    assert not same_place(None, None)


# Where the output goes ---------------------------------------------------------------------------


@posix
def test_the_standard_output_by_its_name_is_what_a_dash_is(here):
    dash = program("", here, "table", "cart.json", "--rows", "3", "-o", "-")
    assert dash.returncode == 0
    for name in ("/dev/stdout", "/dev/fd/1"):
        named = program("", here, "table", "cart.json", "--rows", "3", "-o", name)
        assert (named.returncode, named.stdout, named.stderr) == (0, dash.stdout, b"")
    # Into a file it is added to what stands there, and replaces nothing.
    log = here / "log.csv"
    log.write_bytes(b"first\n")
    program(">> log.csv", here, "table", "cart.json", "--rows", "3", "-o", "/dev/stdout")
    assert log.read_bytes() == b"first\n" + dash.stdout


@pytest.fixture
def pipe(here):
    """A pipe of a name, and a reader of so many bytes; it does not wait for a writer that never comes."""
    path, readers = here / "pipe", []
    os.mkfifo(path)

    def read(most):
        readers.append(subprocess.Popen(["head", "-c", str(most), str(path)], stdout=subprocess.PIPE))
        return readers[0]

    yield read
    assert path.is_fifo()
    for reader in readers:
        reader.kill()
        reader.stdout.close()
        reader.wait()


@posix
def test_a_pipe_gets_the_table(here, pipe):
    reader = pipe(10_000_000)
    done = program("", here, "table", "cart.json", "--rows", "3", "-o", "pipe")
    assert (done.returncode, done.stderr) == (0, b"")
    dash = program("", here, "table", "cart.json", "--rows", "3", "-o", "-")
    assert reader.communicate()[0] == dash.stdout


@posix
def test_a_reader_of_a_pipe_that_leaves_early_is_no_error(here, pipe):
    pipe(10)
    done = program("", here, "table", "cart.json", "--rows", "20001", "-o", "pipe")
    assert (done.returncode, done.stderr) == (0, b"")


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no device here that is always full")
def test_a_device_that_is_full_is_told(here, capsys):
    code, _, err = call(capsys, "table", "cart.json", "-o", "/dev/full")
    assert code == 2
    assert err.startswith("axlewright: cannot write /dev/full: the disk is full")


@posix
@pytest.mark.parametrize(
    ("verb", "closed"),
    [
        (["check", "cart.json"], ">&-"),
        (["table", "cart.json", "-o", "-"], ">&-"),
        (["--help"], ">&-"),
        (["schema"], ">&- <&-"),
    ],
)
def test_a_closed_output_is_told(here, verb, closed):
    done = program(closed, here, *verb)
    assert done.stderr == b"axlewright: cannot print: the output was closed by whoever started this program\n"
    assert done.returncode == 2


@posix
def test_with_a_closed_output_a_file_is_written_all_the_same(here):
    done = program(">&-", here, "table", "cart.json", "-o", "out.csv")
    assert (done.returncode, done.stderr) == (0, b"")
    assert (here / "out.csv").read_bytes().startswith(b"turn_input,")


@posix
@pytest.mark.parametrize(
    ("words", "lost"),
    [
        (["check", "none.json"], "2>&-"),
        (["check", "--nothing"], "2>&-"),
        (["check", "none.json"], "2>/dev/full"),
        (["chek", "x"], "2>/dev/full"),
        (["chek", "x"], ">&- 2>&- <&-"),
        (["check", "cart.json"], ">&- 2>&- <&-"),
    ],
)
def test_an_error_that_cannot_be_told_still_has_its_code(here, lost, words):
    if "/dev/full" in lost and not Path("/dev/full").exists():
        pytest.skip("no device here that is always full")
    done = program(lost, here, *words)
    assert (done.returncode, done.stdout) == (2, b"")


@posix
@pytest.mark.parametrize("lost", ["2>&-", "2>/dev/full"])
def test_a_note_that_cannot_be_told_stops_no_export(here, lost):
    if "/dev/full" in lost and not Path("/dev/full").exists():
        pytest.skip("no device here that is always full")
    (here / "off.json").write_text(sample_text("misbuilt_scout"), encoding="utf-8")
    words = ["export", "off.json", "--format", "c", "-o"]
    done = program(lost, here, *words, "off.h")
    assert (done.returncode, done.stdout) == (0, b"")
    told = program("", here, *words, "-")
    assert b"note: " in told.stderr
    assert (here / "off.h").read_bytes() == told.stdout


# The start ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["chek"], "chek: there is no such file and no such command. Did you mean: axlewright check"),
        (["chek", "cart.json"], "chek is no command of axlewright. Did you mean: axlewright check"),
        (
            ["Table", "cart.json", "-o", "x"],
            "Table is no command of axlewright. Did you mean: axlewright table",
        ),
        (["cart.json", "chek"], "one file at a time"),
        ([""], "the name of a file is empty"),
        (["cart.json/"], "cart.json/ names a folder"),
        ([os.curdir], ". names a folder"),
        (["folder"], "cannot open folder: it is a folder; choose a file"),
        (["cart.json/x"], "cannot open cart.json/x: a part of its path is a file"),
        ([LONG], "the name is too long; choose a shorter one"),
        ([NO_TEXT], "there is no such file"),
        (["a\0b"], "the name holds characters that no file name may hold"),
    ],
)
def test_a_start_with_an_odd_name_is_told_and_opens_nothing(here, monkeypatch, capsys, words, said):
    monkeypatch.setattr(sys, "excepthook", sys.excepthook)
    monkeypatch.setattr(main, "_window", lambda *_: pytest.fail("a window was opened"))
    (here / "folder").mkdir()
    assert main.main(words) == 2
    assert said in capsys.readouterr().err


def test_a_file_that_is_named_like_a_verb_but_for_a_letter_is_counted_as_a_file(here, monkeypatch, capsys):
    monkeypatch.setattr(sys, "excepthook", sys.excepthook)
    (here / "chek").write_text("{}")
    assert main.main(["chek", "cart.json"]) == 2
    assert "one file at a time" in capsys.readouterr().err
