"""Closing, copies, pictures, the last file at the start, and a file that another window has open."""

import subprocess
import sys
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QGuiApplication, QImage
from PySide6.QtTest import QTest

from app.design import edits
from app.design.files import read_design
from app.design.open_files import open_folder
from app.design.samples import sample_design
from app.dialogs.plan_picture import SVG, PictureDialog, PictureKind
from app.settings import Settings, load_settings
from app.views.plan_picture import PlanPicture
from geometry.model.design import Design
from tests.windows import KEYS, listen, saved_sample

ROOT = Path(__file__).parents[3]
_OTHER = """
import sys
from pathlib import Path
from app.design.open_files import OpenFile
OpenFile().follow(Path(sys.argv[1]))
print("noted", flush=True)
input()
"""


@pytest.fixture
def filing(window):
    return window.filing


def widen(window):
    window.document.edit("Widen", lambda d: edits.change_wheels(d, [0], width_mm=d.wheels[0].width_mm + 1.0))


# Close -------------------------------------------------------------------------------


def test_close_leaves_an_empty_chassis_without_a_file(window, filing, tmp_path):
    filing.open_path(saved_sample(tmp_path))
    window.action["close"].trigger()
    assert window.document.design == Design()
    assert window.document.path is None
    assert not window.document.modified
    assert window.isVisible()


def test_close_asks_about_what_is_not_saved(window, answers):
    answers.give("ask_unsaved", "cancel")
    widen(window)
    before = window.document.design
    QTest.keyClick(window.windowHandle(), Qt.Key.Key_W, Qt.KeyboardModifier.ControlModifier)
    assert window.document.design is before
    assert answers.names() == ["ask_unsaved"]


@pytest.mark.parametrize("answer", ["discard", "cancel"])
def test_close_goes_to_the_start_page_where_the_window_has_one(window, answers, answer):
    answers.give("ask_unsaved", answer)
    widen(window)
    seen = []
    window.show_start = lambda: seen.append(window.document.design)
    window.action["close"].trigger()
    assert seen == ([Design()] if answer == "discard" else [])


# A copy ------------------------------------------------------------------------------


def test_a_copy_is_written_and_the_file_stays_the_one_worked_on(window, filing, answers, tmp_path):
    path, copy = saved_sample(tmp_path), tmp_path / "copy.json"
    filing.open_path(path)
    before = path.read_bytes()
    widen(window)
    heard = listen(window.document)
    answers.give("ask_save", copy)
    assert filing.save_copy()
    assert read_design(copy).design == window.document.design
    assert path.read_bytes() == before
    assert window.document.path == path
    assert window.document.modified
    assert any(str(copy) in text for text in heard)
    (_, (_, start, *_)) = answers.asked[0]
    assert start == tmp_path / "chassis_copy.json"


def test_a_copy_never_goes_over_the_file_that_is_open(window, filing, answers, tmp_path):
    path, link = saved_sample(tmp_path), tmp_path / "link.json"
    link.symlink_to(path)
    filing.open_path(path)
    widen(window)
    before = path.read_bytes()
    answers.give("tell", None)
    for place in (path, link):
        answers.give("ask_save", place)
        assert not filing.save_copy()
    assert path.read_bytes() == before
    assert "choose another name" in answers.asked[-1][1][2]


def test_a_copy_that_cannot_be_written_is_told(window, filing, answers, tmp_path):
    answers.give("ask_save", tmp_path / "no" / "such.json")
    answers.give("tell", None)
    assert not filing.save_copy()
    assert answers.names() == ["ask_save", "tell"]
    answers.give("ask_save", None)
    assert not filing.save_copy()


# The picture -------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "scale", "head"),
    [
        ("plan.png", 2, b"\x89PNG"),
        ("plan.svg", SVG, b"<?xml"),
        ("plan.SVG", 2, b"<?xml"),  # the suffix decides
        ("plan.png", SVG, b"\x89PNG"),
    ],
)
def test_a_picture_is_saved_in_the_kind_of_its_suffix(window, answers, tmp_path, name, scale, head):
    path = tmp_path / name
    answers.give("ask_picture", PictureKind(scale))
    answers.give("ask_save", path)
    heard = listen(window.document)
    window.action["picture"].trigger()
    data = path.read_bytes()
    assert data.startswith(head)
    if head != b"<?xml":
        assert QImage.fromData(data).width() == window.canvas.width() * max(scale, 1)
    assert heard == [f"Picture of the plan saved to {path}."]
    assert load_settings().picture_scale == scale
    assert load_settings().last_folder == str(tmp_path)


def test_another_suffix_is_refused_with_the_remedy(window, answers, tmp_path):
    answers.give("ask_picture", PictureKind(1))
    answers.give("ask_save", tmp_path / "plan.bmp")
    answers.give("tell", None)
    window.action["picture"].trigger()
    assert not (tmp_path / "plan.bmp").exists()
    assert "plan.bmp" in answers.asked[-1][1][2]
    assert ".png or a .svg" in answers.asked[-1][1][2]


def test_a_picture_never_goes_over_a_chassis(window, answers, tmp_path):
    path = saved_sample(tmp_path, name="chassis.png")
    before = path.read_bytes()
    answers.give("ask_picture", PictureKind(1))
    answers.give("ask_save", path)
    answers.give("tell", None)
    window.action["picture"].trigger()
    assert path.read_bytes() == before
    assert "is a chassis file" in answers.asked[-1][1][2]


def test_a_picture_can_be_given_up_twice(window, answers, tmp_path):
    answers.give("ask_picture", None)
    window.action["picture"].trigger()
    answers.give("ask_picture", PictureKind(4))
    answers.give("ask_save", None)
    window.action["picture"].trigger()
    assert answers.names() == ["ask_picture", "ask_picture", "ask_save"]
    assert answers.asked[1][1][2] == PictureKind(2)


def test_the_picture_goes_to_the_clipboard_twice_as_fine_as_the_screen(window):
    window.action["copy_picture"].trigger()
    copied = QGuiApplication.clipboard().image()
    assert copied.width() == 2 * window.canvas.width()
    assert copied == QImage.fromData(PlanPicture(window.canvas.scene()).png(2))


_COPY_AND_END = """
from app.window.start import make_application
application = make_application()
from app.design.samples import FIRST_SAMPLE, sample_design
from app.document import Document
from app.settings import Settings
from app.window.main_window import MainWindow
document = Document(sample_design(FIRST_SAMPLE))
window = MainWindow(document, Settings())
window.show()
window.action["copy_picture"].trigger()
document.close()
"""


def test_the_program_ends_well_with_the_picture_on_the_clipboard(home):
    done = subprocess.run([sys.executable, "-c", _COPY_AND_END], cwd=ROOT, capture_output=True, timeout=120)
    assert done.returncode == 0, done.stderr


@pytest.mark.parametrize("scale", [1, 2, 4, SVG])
def test_the_dialog_offers_each_kind_and_begins_with_the_last(window, qtbot, scale):
    dialog = PictureDialog(window, PlanPicture(window.canvas.scene()), PictureKind(scale))
    qtbot.addWidget(dialog)
    assert dialog.chosen == PictureKind(scale)
    assert dialog.kinds.count() == 4
    wide = str(scale * window.canvas.width()) if scale else "SVG"
    assert wide in dialog.kinds.currentText()


# The last file at the start -----------------------------------------------------------


def start(make_window, home, settings, named=None):
    window = make_window(settings=settings)
    heard = listen(window.document)
    return window, window.filing.begin(home / "recovery", named), heard


def test_the_last_file_is_opened_at_the_start_where_that_is_preferred(make_window, home, tmp_path):
    last, other = saved_sample(tmp_path, KEYS[3], "last.json"), saved_sample(tmp_path, KEYS[2], "other.json")
    kept = Settings(recent_files=(str(last), str(other)))
    window, begun, _ = start(make_window, home, kept)
    assert (begun, window.document.path) == (False, None)
    window, begun, _ = start(make_window, home, kept.edited(open_last=True))
    assert (begun, window.document.path) == (True, last)
    window, begun, _ = start(make_window, home, kept.edited(open_last=True), other)
    assert (begun, window.document.path) == (True, other)


def test_a_last_file_that_is_gone_stands_in_no_ones_way(make_window, home, tmp_path):
    kept = Settings(recent_files=(str(tmp_path / "gone.json"), "b.json"), open_last=True)
    window, begun, heard = start(make_window, home, kept)
    assert (begun, window.document.path) == (False, None)
    assert window.filing.settings.recent_files == ("b.json",)
    assert "gone.json" in heard[0]


def test_a_first_start_has_no_last_file(make_window, home):
    _, begun, heard = start(make_window, home, Settings(open_last=True))
    assert (begun, heard) == (False, [])


def test_the_preference_is_ticked_in_the_menu_and_kept(window):
    action = window.action["open_last"]
    assert not action.isChecked()
    action.trigger()
    assert action.isChecked()
    assert load_settings().open_last


# The same file in another window ------------------------------------------------------


@pytest.fixture
def other_window(home, tmp_path):
    """Another process that has the file open until its input is closed."""
    path = saved_sample(tmp_path)
    pipe = subprocess.PIPE
    words = [sys.executable, "-c", _OTHER, str(path)]
    with subprocess.Popen(words, cwd=ROOT, stdin=pipe, stdout=pipe, text=True) as made:
        assert made.stdout.readline() == "noted\n"
        yield path, made
        if made.poll() is None:
            made.communicate("\n")


def test_a_file_that_another_window_has_open_is_told_and_opened(window, filing, other_window):
    path, other = other_window
    assert filing.open_path(path)
    assert window.document.path == path
    assert "open in another window too" in window.middle.note.text
    filing.new()
    other.communicate("\n")
    filing.open_path(path)
    assert "another window" not in window.middle.note.text


def test_saving_to_a_file_that_another_window_has_open_is_told(window, filing, answers, other_window):
    path, _ = other_window
    answers.give("ask_save", path)
    assert filing.save_as()
    assert "open in another window too" in window.middle.note.text


def test_the_note_is_gone_with_the_file_and_with_the_window(window, filing, tmp_path):
    path = saved_sample(tmp_path)
    for leave in (filing.new, window.close):
        filing.open_path(path)
        assert len(list(open_folder().iterdir())) == 1
        leave()
        assert list(open_folder().iterdir()) == []


def test_one_window_alone_is_told_nothing(window, filing, tmp_path):
    heard = listen(window.document)
    filing.open_path(saved_sample(tmp_path))
    filing.open_path(tmp_path / "chassis.json")
    assert heard == []
    assert window.document.design == sample_design(KEYS[0])
