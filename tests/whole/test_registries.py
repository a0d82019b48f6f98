"""A row that is added to a registry from outside is found wherever the registry is read."""

from __future__ import annotations

import importlib
import os
import subprocess
import sys
from pathlib import Path, PurePath
from types import SimpleNamespace

import pytest

from app import main
from app.cli import registry as verbs
from app.cli.command_line import run
from app.controller.programme import programme_of
from app.controller.steering_table import table_of
from app.design.files import design_text
from app.design.samples import sample_design
from app.dialogs import controller_export, export
from app.dialogs.controller_export import ControllerExportDialog
from app.dialogs.export import ExportDialog
from app.drawing.plan import plan_of
from app.export import registry as exporters
from app.export.registry import Exporter

SMALL = sample_design("creek_tricycle")
TIDE = Exporter(
    "tide",
    "Tide marks",
    ".tide",
    "table",
    lambda table: {"marks.tide": b"\xff" + str(len(table.flags)).encode()},
    remark="one byte and a number",
)
REED = Exporter(
    "reed",
    "Reed script",
    ".reed",
    "programme",
    lambda programme: {f"{programme.controller.prefix}.reed": f"rows {programme.size}\n".encode()},
)
TWO = Exporter("two", "Two files", ".a", "table", lambda _table: {"one.a": b"1", "other.b": b"\xfe"})
PAIR = Exporter("pair", "Pair", ".a", "programme", lambda _programme: {"one.a": b"1", "other.b": b"22"})

MADE = {
    "table": lambda design: table_of(design, [0.0, 0.5]),
    "programme": programme_of,
    "drawing": plan_of,
    "design": lambda design: design,
}

# No test reads or writes the preferences of whoever runs it.
pytestmark = pytest.mark.usefixtures("home")


@pytest.fixture
def added(monkeypatch):
    monkeypatch.setattr(exporters, "EXPORTERS", (*exporters.EXPORTERS, TIDE, REED, TWO, PAIR))


@pytest.fixture
def chassis(tmp_path):
    path = tmp_path / "creek.json"
    path.write_text(design_text(SMALL), encoding="utf-8")
    return path


def call(capsys, *words):
    code = run([str(word) for word in words])
    out, err = capsys.readouterr()
    return code, out, err


# Verbs ---------------------------------------------------------------------------------------


@pytest.fixture
def wade(monkeypatch):
    """A verb from outside; the list holds what its parts were asked."""
    asked = []

    def load():
        asked.append("load")
        return SimpleNamespace(
            add_arguments=lambda parser: parser.add_argument("depth", help="of the water"),
            run=lambda options: asked.append(options.depth) or 3,
        )

    monkeypatch.setattr(verbs, "VERBS", (*verbs.VERBS, verbs.Verb("wade", "go through a creek", load)))
    return asked


def test_a_verb_from_outside_is_in_the_help_which_does_not_load_it(capsys, wade):
    code, out, _ = call(capsys, "--help")
    assert code == 0
    assert "wade" in out
    assert "go through a creek" in out
    assert wade == []


def test_a_verb_from_outside_runs_and_its_exit_code_is_the_programs(wade):
    assert main.main(["wade", "2"]) == 3
    assert wade == ["load", "2"]


def test_a_verb_from_outside_has_help_of_its_own(capsys, wade):
    code, out, _ = call(capsys, "wade", "--help")
    assert code == 0
    assert "of the water" in out


def test_a_verb_from_outside_is_proposed_for_a_slip(capsys, wade):
    assert main.main(["waed"]) == 2
    assert "Did you mean: axlewright wade" in capsys.readouterr().err
    assert wade == []


def loaded_by(*words):
    """Modules of the program that a child process holds after these words."""
    code = (
        "import sys; from app.main import main; code = main(sys.argv[1:]);"
        "print(*sorted(n for n in sys.modules if n.split('.')[0] in ('app', 'geometry')), file=sys.stderr)"
    )
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)}
    done = subprocess.run(
        [sys.executable, "-c", code, *words], capture_output=True, env=environment, text=True
    )
    assert done.returncode == 0
    return set(done.stderr.split())


VERB_MODULES = {f"app.cli.{name}" for name in verbs.verb_names()}


@pytest.mark.parametrize("words", [["--help"], ["--version"]])
def test_no_verb_is_imported_for_the_help_of_all(words):
    assert loaded_by(*words) & VERB_MODULES == set()


@pytest.mark.parametrize("name", verbs.verb_names())
def test_only_the_chosen_verb_is_imported(name):
    assert loaded_by(name, "--help") & VERB_MODULES == {f"app.cli.{name}"}


def test_the_schema_needs_no_room_that_works_anything_out():
    rooms = {".".join(name.split(".")[:2]) for name in loaded_by("schema")}
    assert {"app.cli", "app.design", "geometry.model"} <= rooms
    kept_out = {"controller", "export", "picture", "settings", "units", "words", "working"}
    assert rooms & {f"app.{room}" for room in kept_out} == set()
    assert rooms & {f"geometry.{room}" for room in ("kinematics", "lookup_table", "turn_range")} == set()


def test_a_verb_that_is_named_as_a_file_of_another_verb_is_not_imported(tmp_path, monkeypatch, chassis):
    monkeypatch.chdir(tmp_path)
    assert loaded_by("check", str(chassis), "--rows", "2") & VERB_MODULES == {"app.cli.check"}
    chassis.rename("table")
    assert loaded_by("check", "table", "--rows", "2") & VERB_MODULES == {"app.cli.check"}


# Exporters on the command line -----------------------------------------------------------------


@pytest.mark.parametrize(("verb", "shown"), [("table", "tide (one byte and a number)"), ("export", "reed")])
def test_a_format_from_outside_is_in_the_help(capsys, added, verb, shown):
    _, out, _ = call(capsys, verb, "--help")
    assert shown in " ".join(out.split())


def test_a_table_format_from_outside_is_written_and_printed(capfdbinary, added, chassis, tmp_path):
    out = tmp_path / "any.name"
    assert run(["table", str(chassis), "--format", "tide", "--rows", "7", "-o", str(out)]) == 0
    assert out.read_bytes() == b"\xff7"
    assert run(["table", str(chassis), "--format", "tide", "--rows", "7", "-o", "-"]) == 0
    assert capfdbinary.readouterr() == (b"\xff7", b"")


def test_a_code_format_from_outside_is_written(capsys, added, chassis, tmp_path):
    out = tmp_path / "any.name"
    assert call(capsys, "export", chassis, "--format", "reed", "-o", out) == (0, "", "")
    assert out.read_bytes() == f"rows {programme_of(SMALL).size}\n".encode()


@pytest.mark.parametrize("verb", ["table", "export"])
def test_an_unknown_format_is_told_with_those_from_outside(capsys, added, chassis, tmp_path, verb):
    out = tmp_path / "out"
    code, _, err = call(capsys, verb, chassis, "--format", "xml", "-o", out)
    drawings = ", ".join(row.key for row in exporters.exporters_of("drawing"))
    known = {
        "table": "csv, tide, two",
        "export": f"micropython, c, json, csv, reed, pair, {drawings}, urdf",
    }[verb]
    assert drawings.startswith("dxf, svg, png")
    assert (code, err) == (2, f"axlewright: the format must be one of {known} (got 'xml')\n")
    assert not out.exists()


def test_a_drawing_format_from_outside_is_written_with_the_choices_that_it_takes(
    capsys, monkeypatch, chassis, tmp_path
):
    def knot(drawing, *, dpi=0):
        return {"drawing.knot": f"{len(drawing.elements)} at {dpi}".encode()}

    row = Exporter("knot", "Knots", ".knot", "drawing", knot, remark="of rope", choices=("dpi",))
    monkeypatch.setattr(exporters, "EXPORTERS", (*exporters.EXPORTERS, row))
    out = tmp_path / "out"
    assert call(capsys, "export", chassis, "--format", "knot", "-o", out)[0] == 0
    count = len(plan_of(SMALL).elements)
    assert out.read_text() == f"{count} at 0"
    assert call(capsys, "export", chassis, "--format", "knot", "--dpi", "90", "-o", out)[0] == 0
    assert out.read_text() == f"{count} at 90"
    code, _, err = call(capsys, "export", chassis, "--format", "knot", "--cut", "-o", out)
    assert (code, err) == (2, "axlewright: --cut is for dxf or svg (got --format knot); leave it out\n")
    assert "knot (of rope)" in call(capsys, "export", "--help")[1]


@pytest.mark.parametrize(("verb", "key", "other"), [("table", "two", b"\xfe"), ("export", "pair", b"22")])
@pytest.mark.parametrize("there", [False, True])
def test_several_files_go_into_the_folder_that_is_named(
    capsys, added, chassis, tmp_path, verb, key, other, there
):
    out = tmp_path / "out"
    if there:
        out.mkdir()
        (out / "one.a").write_bytes(b"old")
    assert call(capsys, verb, chassis, "--format", key, "-o", out) == (0, "", "")
    assert {path.name: path.read_bytes() for path in out.iterdir()} == {"one.a": b"1", "other.b": other}


def test_several_files_are_not_printed(capsys, added, chassis):
    code, out, err = call(capsys, "table", chassis, "--format", "two", "-o", "-")
    assert (code, out) == (2, "")
    assert "these are 2 (one.a, other.b); name a folder" in err


def test_several_files_take_the_place_of_no_file(capsys, added, chassis, tmp_path):
    out = tmp_path / "out"
    out.write_bytes(b"milk")
    code, _, err = call(capsys, "table", chassis, "--format", "two", "-o", out)
    assert code == 2
    assert "is a file, and 2 files need a folder" in err
    assert out.read_bytes() == b"milk"
    code, _, err = call(capsys, "table", chassis, "--format", "two", "-o", tmp_path / "no" / "out")
    assert (code, "there is no such file or folder" in err) == (2, True)


def test_several_files_leave_a_chassis_alone_and_write_nothing_beside_it(capsys, added, chassis, tmp_path):
    out = tmp_path / "out"
    out.mkdir()
    (out / "other.b").write_text(design_text(SMALL), encoding="utf-8")
    code, _, err = call(capsys, "table", chassis, "--format", "two", "-o", out)
    assert (code, "holds a chassis" in err) == (2, True)
    assert [path.name for path in out.iterdir()] == ["other.b"]


# Exporters in the window -----------------------------------------------------------------------


def choose(box, key):
    index = box.findData(key)
    assert index >= 0
    box.setCurrentIndex(index)


def labels(box):
    return [box.itemText(n) for n in range(box.count())]


def close_with(monkeypatch, key):
    """Let the person choose a format in the dialog of the table and save."""

    def shown(dialog):
        assert labels(dialog.format) == ["Comma-separated values", "Tide marks", "Two files"]
        choose(dialog.format, key)
        dialog.rows.setValue(9)
        return ExportDialog.DialogCode.Accepted

    monkeypatch.setattr(ExportDialog, "exec", shown)


def test_a_table_format_from_outside_is_offered_and_saved(window, answers, added, monkeypatch, tmp_path):
    answers.give("ask_export", export.ask_export)
    answers.give("ask_save", tmp_path / "t.tide")
    close_with(monkeypatch, "tide")
    assert window.filing.export()
    assert (tmp_path / "t.tide").read_bytes() == b"\xff9"
    _, (_, start, _, pattern, suffix) = answers.asked[-1]
    assert (start.suffix, suffix, "(*.tide)" in pattern) == (".tide", ".tide", True)


def test_several_files_of_a_table_are_saved_into_a_folder(window, answers, added, monkeypatch, tmp_path):
    answers.give("ask_export", export.ask_export)
    answers.give("ask_folder", tmp_path / "made")
    close_with(monkeypatch, "two")
    assert window.filing.export()
    assert (tmp_path / "made" / "other.b").read_bytes() == b"\xfe"
    assert window.filing.settings.last_folder == str(tmp_path / "made")


@pytest.mark.parametrize(
    ("key", "question", "place"), [("reed", "ask_save", "t.reed"), ("pair", "ask_folder", "made")]
)
def test_a_code_format_from_outside_is_offered_and_saved(
    window, answers, added, monkeypatch, qtbot, tmp_path, key, question, place
):
    def shown(dialog):
        assert labels(dialog.choices.format)[-2:] == ["Reed script", "Pair"]
        choose(dialog.choices.format, key)
        qtbot.waitUntil(lambda: not dialog.working, timeout=20_000)
        dialog.save.click()
        dialog.done(dialog.result())
        return dialog.result()

    monkeypatch.setattr(ControllerExportDialog, "exec", shown)
    answers.give("ask_controller_export", controller_export.ask_controller_export)
    answers.give(question, tmp_path / place)
    window.filing.export_code()
    programme = programme_of(window.document.design)
    found = tmp_path / place
    if key == "reed":
        assert found.read_bytes() == f"rows {programme.size}\n".encode()
        _, (_, start, *_) = answers.asked[-1]
        assert start.name == f"{programme.controller.prefix}.reed"
    else:
        assert {path.name for path in found.iterdir()} == {"one.a", "other.b"}
    assert window.filing.settings.code_format == key


def test_what_is_no_text_is_named_in_the_preview(qtbot, added):
    dialog = ExportDialog(None, SMALL, 5)
    qtbot.addWidget(dialog)
    choose(dialog.format, "tide")
    assert dialog.preview.toPlainText() == "(2 bytes, no text)"
    choose(dialog.format, "two")
    assert dialog.preview.toPlainText().splitlines() == ["one.a:", "1", "", "other.b:", "(1 byte, no text)"]


def test_a_folder_is_asked_for_with_a_question_where_files_would_be_replaced(qapp, monkeypatch, tmp_path):
    from PySide6.QtWidgets import QFileDialog, QMessageBox

    from app.dialogs import questions

    asked = []

    def answer(box):
        asked.append(box.text())
        return QMessageBox.StandardButton.No

    monkeypatch.setattr(questions, "_shown", answer)
    monkeypatch.setattr(QFileDialog, "getExistingDirectory", lambda *_: str(tmp_path))
    assert questions.ask_folder(None, tmp_path, "Save", ["one.a", "two.b"]) == tmp_path
    assert asked == []
    (tmp_path / "two.b").write_bytes(b"")
    assert questions.ask_folder(None, tmp_path, "Save", ["one.a", "two.b"]) is None
    assert "two.b" in asked[0]
    assert "one.a" not in asked[0]
    monkeypatch.setattr(QFileDialog, "getExistingDirectory", lambda *_: "")
    assert questions.ask_folder(None, tmp_path, "Save", []) is None


# The rows --------------------------------------------------------------------------------------


def test_keys_are_unique_among_the_exporters_of_a_source():
    keys = [(row.source, row.key) for row in exporters.EXPORTERS]
    assert len(set(keys)) == len(keys)
    # One verb writes all but tables, by the key alone.
    exported = [row.key for row in exporters.EXPORTERS if row.source != "table"]
    assert len(set(exported)) == len(exported)


@pytest.mark.parametrize("row", exporters.EXPORTERS, ids=lambda row: f"{row.source}-{row.key}")
def test_a_row_gives_plain_names_that_end_as_it_says(row):
    names = list(exporters.files_of(row, MADE[row.source](SMALL)))
    assert [PurePath(name).name for name in names] == names
    assert names[0].endswith(row.suffix)


def test_a_format_that_needs_qt_says_so_where_qt_does_not_load(capsys, monkeypatch, chassis, tmp_path):
    def drawn(_table):
        return {"t.drawn": importlib.import_module("PySide6.QtPrintSupport").__name__.encode()}

    row = Exporter("drawn", "Drawing", ".drawn", "table", drawn, needs_qt=True)
    monkeypatch.setattr(exporters, "EXPORTERS", (*exporters.EXPORTERS, row))
    # None in sys.modules makes the import fail, as the loader does.
    monkeypatch.setitem(sys.modules, "PySide6.QtPrintSupport", None)
    code, _, err = call(capsys, "table", chassis, "--format", "drawn", "-o", tmp_path / "t")
    assert code == 2
    assert err.startswith("axlewright: Drawing is drawn with Qt (PySide6), which does not load here")
    # A fault of any other writer is none of the person's making, and is not told as such.
    monkeypatch.setattr(exporters, "EXPORTERS", (row._replace(needs_qt=False),))
    with pytest.raises(ImportError):
        run(["table", str(chassis), "--format", "drawn", "-o", str(tmp_path / "t")])


@pytest.mark.parametrize("row", exporters.EXPORTERS, ids=lambda row: f"{row.source}-{row.key}")
def test_a_row_loads_qt_only_where_it_says_so(row, chassis, tmp_path):
    verb = "table" if row.source == "table" else "export"
    code = (
        "import sys; from app.cli.command_line import run; code = run(sys.argv[1:]);"
        "sys.exit(code or 10 * ('PySide6' in sys.modules))"
    )
    words = [verb, str(chassis), "--format", row.key, "-o", str(tmp_path / "out")]
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)}
    done = subprocess.run([sys.executable, "-c", code, *words], env=environment)
    assert done.returncode == 10 * row.needs_qt


def test_no_writer_is_imported_before_it_writes():
    code = (
        "import sys, app.export.registry as r; r.listed('programme');"
        "print(*(n for n in sys.modules if n.startswith('app.export.')))"
    )
    root = Path(__file__).parents[2]
    done = subprocess.run([sys.executable, "-c", code], cwd=root, capture_output=True, text=True)
    assert done.stdout.split() == ["app.export.registry"]
