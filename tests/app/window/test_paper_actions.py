"""Paper and files for other tools from the window: the bytes of the verbs, or no file at all."""

import threading

import pytest
from PySide6.QtCore import QLocale
from PySide6.QtWidgets import QLabel, QProgressDialog, QPushButton

from app.cli.command_line import run
from app.design.files import read_design, write_design
from app.design.samples import sample_design
from app.settings import load_settings
from app.window import paper_actions
from app.window.paper_actions import local_paper
from geometry.errors import AxlewrightError
from geometry.model.design import Design
from geometry.model.wheel import Wheel
from geometry.progress import tell
from tests.windows import listen

MOTORS = sample_design("marsh_scout_motors")
ACTIONS = {"plan": "make_plan", "gauge": "make_gauges", "sheet": "make_sheet", "drawing": "make_drawing"}
VERBS = [
    ("plan", "robot.pdf", ["plan"]),
    ("gauge", "robot.pdf", ["gauge"]),
    ("sheet", "robot.html", ["sheet"]),
    ("sheet", "robot.PDF", ["sheet"]),
    *(("drawing", f"robot.{key}", ["export", "--format", key]) for key in ("dxf", "svg", "png", "urdf")),
]


@pytest.fixture(autouse=True)
def european(monkeypatch):
    """Measure in millimetres, wherever the test runs."""
    before = QLocale()
    QLocale.setDefault(QLocale(QLocale.Language.German, QLocale.Country.Germany))
    yield
    QLocale.setDefault(before)


@pytest.fixture
def robot(make_window, make_document):
    return make_window(make_document(MOTORS))


@pytest.fixture
def make(robot, answers, qtbot):
    """Make a thing by its action, and wait for what becomes of it."""

    def made(what, place):
        answers.give("ask_save", place)
        robot.action[ACTIONS[what]].trigger()
        qtbot.waitUntil(lambda: not robot.paper.working, timeout=30_000)

    return made


def by_verb(folder, verb, name, design=MOTORS, *more):
    write_design(folder / "chassis.json", design)
    assert run([verb[0], str(folder / "chassis.json"), *verb[1:], "-o", str(folder / name), *more]) == 0
    return (folder / name).read_bytes()


@pytest.mark.parametrize(("what", "name", "verb"), VERBS)
def test_it_writes_the_bytes_and_tells_the_notes_of_its_verb(robot, make, tmp_path, capsys, what, name, verb):
    heard = listen(robot.document)
    make(what, tmp_path / f"window_{name}")
    wanted = by_verb(tmp_path, verb, name)
    assert (tmp_path / f"window_{name}").read_bytes() == wanted
    (told,) = heard
    assert f" saved to {tmp_path / f'window_{name}'}." in told
    notes = [line for line in capsys.readouterr().err.splitlines() if "note: " in line]
    assert told.partition(f"{name}.")[2].split() == " ".join(n.partition("note: ")[2] for n in notes).split()


def test_a_chassis_that_drags_is_told_beside_its_build_sheet(robot, make, tmp_path):
    robot.document.start(sample_design("misbuilt_scout"))
    heard = listen(robot.document)
    make("sheet", tmp_path / "t.html")
    assert "drag" in heard[-1].partition("t.html.")[2]


@pytest.mark.parametrize(("what", "verb"), [("plan", "plan"), ("gauge", "gauge"), ("sheet", "sheet")])
def test_where_lengths_are_in_inches_the_paper_is_letter(make, tmp_path, what, verb):
    assert local_paper() == "A4"
    QLocale.setDefault(QLocale(QLocale.Language.English, QLocale.Country.UnitedStates))
    assert local_paper() == "Letter"
    make(what, tmp_path / "window.pdf")
    wanted = by_verb(tmp_path, [verb], "verb.pdf", MOTORS, "--paper", "Letter")
    assert (tmp_path / "window.pdf").read_bytes() == wanted


@pytest.mark.parametrize("what", ACTIONS)
def test_what_is_made_is_remembered_and_the_stage_counts_it(robot, make, tmp_path, what):
    robot.show_panel("build")
    place = tmp_path / ("t.svg" if what == "drawing" else "t.pdf")
    make(what, place)
    assert str(place) in robot.panels["build"].items[what].state.text()
    assert robot.middle.bar.buttons["build"].state == ("begun", "1 of 6 made")
    assert robot.sections["build"].head.summary == "1 of 6 made"
    kept = load_settings()
    assert [one.what for one in kept.made] == [what]
    assert kept.last_folder == str(tmp_path)


def test_what_is_made_is_of_the_design_that_was_asked_for(robot, answers, qtbot, tmp_path):
    answers.give("ask_save", tmp_path / "t.html")
    robot.action["make_sheet"].trigger()
    robot.document.edit("Note", lambda d: d.edited(notes="mud"))
    qtbot.waitUntil(lambda: not robot.paper.working, timeout=30_000)
    assert robot.middle.bar.buttons["build"].state == ("slight", "changed since")
    assert (tmp_path / "t.html").read_bytes() == by_verb(tmp_path, ["sheet"], "verb.html")


@pytest.mark.parametrize("what", ACTIONS)
def test_without_a_place_nothing_is_worked_out(robot, answers, what):
    answers.give("ask_save", None)
    robot.action[ACTIONS[what]].trigger()
    assert not robot.paper.working
    assert answers.names() == ["ask_save"]


@pytest.mark.parametrize(
    ("what", "suffixes"),
    [("plan", [".pdf"]), ("sheet", [".html", ".pdf"]), ("drawing", [".dxf", ".svg", ".png", ".urdf"])],
)
def test_the_place_is_asked_with_each_format_and_another_is_refused(
    robot, make, answers, tmp_path, what, suffixes
):
    answers.give("tell", None)
    make(what, tmp_path / "t.txt")
    (_, (_, start, _, pattern, suffix)), (_, (_, title, why)) = answers.asked
    assert [part.partition("(*")[2].rstrip(")") for part in pattern.split(";;")] == [*suffixes, ""]
    assert start.suffix == suffix == suffixes[0]
    assert title.endswith("was not saved")
    assert "t.txt" in why
    assert all(one in why for one in suffixes)
    assert list(tmp_path.glob("t.*")) == []


@pytest.fixture
def slow(monkeypatch):
    """Have the work of the plan last until it is let go or stopped."""
    go_on = threading.Event()

    def lay_out(design, suffix, paper, progress):
        while not go_on.wait(0.01):
            tell(progress, 0.5)
        return paper_actions.Laid(lambda: b"whole")

    kinds = paper_actions._kinds()
    monkeypatch.setattr(
        paper_actions, "_kinds", lambda: {**kinds, "plan": kinds["plan"]._replace(lay_out=lay_out)}
    )
    return go_on


def shown_dialog(robot):
    return next((one for one in robot.findChildren(QProgressDialog) if one.isVisible()), None)


def test_long_work_shows_a_dialog_and_cancel_leaves_no_file(robot, slow, answers, qtbot, tmp_path):
    heard = listen(robot.document)
    answers.give("ask_save", tmp_path / "t.pdf")
    robot.action["make_plan"].trigger()
    assert shown_dialog(robot) is None
    qtbot.waitUntil(lambda: shown_dialog(robot) is not None, timeout=2_000)
    dialog = shown_dialog(robot)
    assert dialog.value() == 50
    assert "Working out the full-size plan …" in {label.text() for label in dialog.findChildren(QLabel)}
    (cancel,) = dialog.findChildren(QPushButton)
    cancel.click()
    qtbot.waitUntil(lambda: not robot.paper.working)
    assert shown_dialog(robot) is None
    assert heard == ["The full-size plan was cancelled; no file was written."]
    assert list(tmp_path.glob("*.pdf")) == []
    assert robot.filing.settings.made == ()


def test_short_work_shows_no_dialog(robot, slow, answers, qtbot, tmp_path):
    slow.set()
    seen = []
    answers.give("ask_save", tmp_path / "t.pdf")
    robot.action["make_plan"].trigger()
    while robot.paper.working:
        seen.append(shown_dialog(robot))
        qtbot.wait(1)
    assert set(seen) <= {None}
    assert (tmp_path / "t.pdf").read_bytes() == b"whole"


def test_a_second_file_waits_for_the_first(robot, slow, answers, qtbot, tmp_path):
    answers.give("ask_save", tmp_path / "t.pdf")
    robot.action["make_plan"].trigger()
    heard = listen(robot.document)
    robot.action["make_sheet"].trigger()
    assert answers.names() == ["ask_save"]
    assert heard == ["Another file is being made; wait until it is there."]
    slow.set()
    qtbot.waitUntil(lambda: not robot.paper.working)
    assert (tmp_path / "t.pdf").exists()


def test_closing_the_window_stops_the_work_without_a_file(robot, slow, answers, tmp_path):
    answers.give("ask_save", tmp_path / "t.pdf")
    answers.give("ask_unsaved", "discard")
    robot.action["make_plan"].trigger()
    robot.close()
    assert not robot.paper.working
    assert list(tmp_path.glob("*.pdf")) == []


def test_what_cannot_be_made_is_told_and_leaves_no_file(robot, make, answers, tmp_path):
    fixed = Wheel(name="W", x_mm=0.0, y_mm=100.0)
    robot.document.start(Design(wheels=(fixed, fixed.edited(name="V", y_mm=-100.0))))
    answers.give("tell", None)
    make("gauge", tmp_path / "t.pdf")
    _, (_, title, why) = answers.asked[-1]
    assert title == "The sheet of gauges was not saved"
    assert "no wheel of the chassis is steered" in why
    assert list(tmp_path.glob("*.pdf")) == []
    assert robot.filing.settings.made == ()


def test_what_cannot_be_painted_is_told_and_leaves_no_file(robot, make, answers, monkeypatch, tmp_path):
    def fails(_pages, _title):
        raise AxlewrightError("Qt does not load; install it")

    monkeypatch.setattr("app.export.pdf.pdf_of", fails)
    answers.give("tell", None)
    make("plan", tmp_path / "t.pdf")
    assert answers.asked[-1][1][1:] == ("The full-size plan was not saved", "Qt does not load; install it")
    assert list(tmp_path.glob("*.pdf")) == []


@pytest.mark.parametrize("what", ACTIONS)
def test_a_chassis_is_never_written_over(robot, make, answers, tmp_path, what):
    place = tmp_path / ("robot.svg" if what == "drawing" else "robot.pdf")
    write_design(place, MOTORS)
    answers.give("tell", None)
    make(what, place)
    assert "is a chassis file, and stays as it is" in answers.asked[-1][1][2]
    assert read_design(place).design == MOTORS
    assert robot.filing.settings.made == ()


def test_a_folder_that_takes_no_file_is_told(robot, make, answers, tmp_path):
    answers.give("tell", None)
    make("drawing", tmp_path / "nowhere" / "t.svg")
    assert answers.asked[-1][1][1] == "The drawing for other tools was not saved"
    assert robot.filing.settings.made == ()
