"""The export of code: it works on a thread, shows what will be saved, and loses nothing."""

import threading
from threading import Event

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QDialog, QScrollArea

import app.dialogs.controller_export as module
from app.cli import command_line
from app.controller.programme import programme_of
from app.design.files import write_design
from app.design.samples import sample_design
from app.dialogs.controller_export import Chosen, ControllerExportDialog, ask_controller_export
from geometry.errors import Cancelled
from geometry.model.controller import Controller
from geometry.model.design import Design
from tests.app.export.robots import many_wheels
from tests.written import CODE_FORMATS, only_file

MOTORS = sample_design("marsh_scout_motors")
SMALL = sample_design("creek_tricycle")


class Saver:
    """What stands in for the question where to save."""

    def __init__(self):
        self.files = []
        self.answer = True

    def __call__(self, parent, file):
        self.files.append(file)
        return self.answer


@pytest.fixture
def saver():
    return Saver()


@pytest.fixture
def make_dialog(qtbot, saver):
    before = set(threading.enumerate())
    made = []

    def make(design=SMALL, key="micropython", *, wait=True):
        dialog = ControllerExportDialog(None, design, key, saver)
        qtbot.addWidget(dialog)
        dialog.show()
        dialog.activateWindow()
        made.append(dialog)
        if wait:
            settled(qtbot, dialog)
        return dialog

    yield make
    for dialog in made:
        dialog.close()
    assert [thread for thread in threading.enumerate() if thread not in before] == []


def settled(qtbot, dialog):
    qtbot.waitUntil(lambda: not dialog.working, timeout=20_000)
    return dialog


def enter(field, text):
    field.setFocus()
    field.selectAll()
    QTest.keyClicks(field, text)
    QTest.keyClick(field, Qt.Key.Key_Return)


@pytest.fixture
def slow(monkeypatch):
    """Work that goes on until it is let go."""
    begun, go = Event(), Event()

    def wait(design, progress):
        begun.set()
        assert go.wait(20)
        return programme_of(design, progress)

    monkeypatch.setattr(module, "programme_of", wait)
    yield begun, go
    go.set()


@pytest.mark.parametrize("form", CODE_FORMATS, ids=lambda form: form.key)
def test_window_and_command_line_write_the_same_bytes(qtbot, make_dialog, saver, tmp_path, form):
    dialog = make_dialog(MOTORS, form.key)
    enter(dialog.choices.error, "0.5")
    enter(dialog.choices.prefix, "scout")
    dialog.choices.parts.boxes["limiter"].click()
    settled(qtbot, dialog)
    dialog.save.click()
    (file,) = saver.files
    assert file.form == form
    # A module goes by the name that its head has the caller import.
    assert next(iter(file.files)).startswith("robot" if form.key == "micropython" else "scout")
    write_design(tmp_path / "scout.json", MOTORS)
    words = ["--format", form.key, "--error", "0.5deg", "--prefix", "scout", "--without", "limiter"]
    out = tmp_path / "out"
    assert command_line.run(["export", str(tmp_path / "scout.json"), *words, "-o", str(out)]) == 0
    assert out.read_bytes() == only_file(file.files)
    write_design(tmp_path / "kept.json", MOTORS.edited(controller=dialog.chosen.controller))
    assert (
        command_line.run(["export", str(tmp_path / "kept.json"), "--format", form.key, "-o", str(out)]) == 0
    )
    assert out.read_bytes() == only_file(file.files)


def test_what_is_shown_is_what_is_saved(make_dialog, saver):
    dialog = make_dialog()
    assert dialog.view.text.toPlainText().encode() == only_file(dialog.view.preview.files)
    dialog.save.click()
    assert only_file(saver.files[0].files) == only_file(dialog.view.preview.files)
    assert dialog.result() == QDialog.DialogCode.Accepted


def test_another_choice_is_shown_after_it_is_worked_out(qtbot, make_dialog):
    dialog = make_dialog()
    before = dialog.view.preview
    enter(dialog.choices.error, "1")
    assert dialog.working
    assert dialog.view.busy.isVisible()
    settled(qtbot, dialog)
    assert not dialog.view.busy.isVisible()
    after = dialog.view.preview
    assert after.programme.size < before.programme.size
    assert after.programme.controller.error == 1


def test_sizes_of_parts_are_shown_where_there_is_code(qtbot, make_dialog):
    dialog = make_dialog()
    hold = dialog.choices.parts.sizes["hold"]
    assert hold.text() == f"{dialog.view.preview.part_bytes['hold']:,} bytes"
    dialog.choices.format.setCurrentIndex([form.key for form in CODE_FORMATS].index("json"))
    settled(qtbot, dialog)
    assert hold.text() == ""


def test_another_format_needs_no_new_programme(qtbot, make_dialog, monkeypatch):
    dialog = make_dialog()
    monkeypatch.setattr(module, "programme_of", lambda *_: pytest.fail("worked out again"))
    dialog.choices.format.setCurrentIndex(1)
    settled(qtbot, dialog)
    assert dialog.view.text.toPlainText().startswith("/*")


def test_a_newer_choice_overtakes_work_that_is_under_way(qtbot, make_dialog, slow):
    begun, go = slow
    dialog = make_dialog(wait=False)
    assert begun.wait(10)
    enter(dialog.choices.error, "2")
    enter(dialog.choices.error, "1")
    shown = []
    dialog.view.show_preview = lambda preview: shown.append(preview.programme.controller.error)
    go.set()
    settled(qtbot, dialog)
    assert shown == [1]


def test_the_window_answers_while_it_works(qtbot, make_dialog, slow):
    begun, go = slow
    dialog = make_dialog(wait=False)
    assert begun.wait(10)
    dialog.choices.parts.boxes["hold"].click()
    assert dialog.choices.controller.hold is False
    assert dialog.view.busy.isVisible()
    go.set()
    settled(qtbot, dialog)
    assert not dialog.view.preview.programme.controller.hold


def test_an_error_that_cannot_be_met_is_told_with_the_best_that_can(qtbot, make_dialog, saver):
    dialog = make_dialog(MOTORS)
    enter(dialog.choices.most_bytes, "60")
    settled(qtbot, dialog)
    assert "the best is about" in dialog.view.facts.text()
    assert dialog.view.text.toPlainText() == ""
    assert not dialog.save.isEnabled()
    dialog.save.click()
    assert saver.files == []
    assert dialog.isVisible()
    enter(dialog.choices.most_bytes, "600")
    settled(qtbot, dialog)
    assert dialog.view.preview is not None
    assert dialog.save.isEnabled()
    assert not dialog.told.isVisible()


def test_a_format_that_cannot_hold_it_says_which_can(qtbot, make_dialog):
    dialog = make_dialog(SMALL.edited(controller=Controller(method="formula")), "csv")
    assert "choose the method table, or another format" in dialog.view.facts.text()
    dialog.choices.format.setCurrentIndex(0)
    settled(qtbot, dialog)
    assert dialog.view.preview is not None


def test_a_chassis_without_wheels_says_what_to_do(make_dialog):
    dialog = make_dialog(Design())
    assert "add some first" in dialog.view.facts.text()


def test_saving_waits_for_work_that_is_under_way(qtbot, make_dialog, saver):
    dialog = make_dialog()
    dialog.choices.parts.boxes["clamp"].click()
    dialog.save.click()
    assert saver.files == []
    assert "as soon as" in dialog.told.text()
    qtbot.waitUntil(lambda: bool(saver.files), timeout=20_000)
    assert b"clamp to travel" not in only_file(saver.files[0].files)
    assert not dialog.isVisible()


def test_a_choice_after_the_press_takes_the_wish_to_save_back(qtbot, make_dialog, saver):
    dialog = make_dialog()
    dialog.choices.parts.boxes["clamp"].click()
    dialog.save.click()
    dialog.choices.parts.boxes["hold"].click()
    settled(qtbot, dialog)
    assert saver.files == []
    assert dialog.isVisible()


def test_the_dialog_stays_open_where_nothing_was_written(make_dialog, saver):
    dialog = make_dialog()
    saver.answer = False
    dialog.save.click()
    assert len(saver.files) == 1
    assert dialog.isVisible()


def test_what_is_being_typed_counts(qtbot, make_dialog, saver):
    dialog = make_dialog()
    dialog.choices.prefix.setFocus()
    dialog.choices.prefix.selectAll()
    QTest.keyClicks(dialog.choices.prefix, "tide")
    dialog.save.click()
    qtbot.waitUntil(lambda: bool(saver.files), timeout=20_000)
    assert b"tide_controller" in saver.files[0].files["robot.py"]
    assert b"tide_controller" in only_file(saver.files[0].files)


@pytest.mark.parametrize("button", ["save", "keep"])
def test_a_refused_entry_is_told_before_anything_is_taken(make_dialog, saver, button):
    dialog = make_dialog()
    dialog.choices.error.setFocus()
    dialog.choices.error.selectAll()
    QTest.keyClicks(dialog.choices.error, "90")
    getattr(dialog, button).click()
    assert saver.files == []
    assert dialog.isVisible()
    assert "refused" in dialog.told.text()
    # In sight beside the buttons, however far the choices are scrolled.
    assert not dialog.told.visibleRegion().isEmpty()
    assert not any(area.isAncestorOf(dialog.told) for area in dialog.findChildren(QScrollArea))
    assert dialog.choices.error.text() == "90"
    getattr(dialog, button).click()
    assert dialog.isVisible()
    dialog.choices.error.setFocus()
    QTest.keyClick(dialog.choices.error, Qt.Key.Key_Escape)
    assert dialog.isVisible()
    assert dialog.choices.error.text() == "0.1"
    getattr(dialog, button).click()
    assert not dialog.isVisible()
    assert len(saver.files) == (button == "save")


def test_choices_are_kept_without_a_file(make_dialog, saver):
    dialog = make_dialog()
    dialog.choices.parts.boxes["hold"].click()
    dialog.keep.click()
    assert dialog.result() == QDialog.DialogCode.Accepted
    assert dialog.chosen == Chosen(SMALL.controller.edited(hold=False), "micropython")
    assert saver.files == []


def test_enter_in_a_field_saves_nothing(qtbot, make_dialog, saver):
    dialog = make_dialog()
    enter(dialog.choices.error, "0.3")
    settled(qtbot, dialog)
    assert saver.files == []
    assert dialog.isVisible()


def test_closing_ends_the_work(make_dialog, slow):
    begun, go = slow
    dialog = make_dialog(wait=False)
    assert begun.wait(10)
    threading.Timer(0.05, go.set).start()
    QTest.keyClick(dialog, Qt.Key.Key_Escape)
    assert not dialog.isVisible()
    assert not any(thread.name.startswith("job") for thread in threading.enumerate())


def test_it_fits_a_small_screen(make_dialog):
    dialog = make_dialog(MOTORS)
    assert dialog.minimumSizeHint().width() <= 1240
    assert dialog.minimumSizeHint().height() <= 720
    assert dialog.width() <= 1240
    assert dialog.height() <= 740
    area = dialog.choices.parentWidget().parentWidget()
    assert dialog.choices.minimumSizeHint().width() <= area.viewport().width()


def test_tab_goes_through_the_choices_and_then_the_preview(make_dialog):
    dialog = make_dialog(MOTORS)
    dialog.choices.format.setFocus()
    seen = []
    for _ in range(40):
        seen.append(dialog.focusWidget())
        QTest.keyClick(dialog.focusWidget(), Qt.Key.Key_Tab)
    choices, parts = dialog.choices, dialog.choices.parts
    order = [choices.format, choices.method, choices.spacing, choices.error, choices.unit, choices.speed]
    order += [choices.most_bytes, choices.prefix, parts.boxes["mixing"], parts.boxes["dead_band"]]
    order += [parts.fields["dead_band_permille"], parts.boxes["scaling"], dialog.view.text]
    assert [seen.index(part) for part in order] == sorted(seen.index(part) for part in order)


@pytest.mark.parametrize("accepted", [True, False])
def test_the_question_gives_what_was_chosen(qtbot, monkeypatch, saver, accepted):
    def run(dialog):
        settled(qtbot, dialog)
        dialog.choices.parts.boxes["hold"].click()
        dialog.done(0)
        return QDialog.DialogCode.Accepted if accepted else QDialog.DialogCode.Rejected

    monkeypatch.setattr(ControllerExportDialog, "exec", run)
    found = ask_controller_export(None, SMALL, "json", saver)
    assert found == (Chosen(SMALL.controller.edited(hold=False), "json") if accepted else None)


def test_a_newer_choice_stops_work_that_is_under_way_midway(qtbot, make_dialog, monkeypatch):
    begun, stopped = Event(), Event()

    def watched(design, progress):
        def told(share):
            begun.set()
            return progress(share)

        try:
            return programme_of(design, told)
        except Cancelled:
            stopped.set()
            raise

    monkeypatch.setattr(module, "programme_of", watched)
    dialog = make_dialog(many_wheels(), wait=False)
    assert begun.wait(10)
    dialog.choices.parts.boxes["hold"].click()
    settled(qtbot, dialog)
    assert stopped.is_set()
    assert not dialog.view.preview.programme.controller.hold


def test_progress_is_shown_as_it_is_told(qtbot, make_dialog, monkeypatch):
    go = Event()

    def wait(design, progress):
        progress(0.5)
        assert go.wait(20)
        return programme_of(design, progress)

    monkeypatch.setattr(module, "programme_of", wait)
    dialog = make_dialog(wait=False)
    qtbot.waitUntil(lambda: dialog.view.busy.maximum() == 100, timeout=10_000)
    assert dialog.view.busy.value() == 45
    go.set()
    settled(qtbot, dialog)
    assert not dialog.view.busy.isVisible()


def test_what_was_given_up_is_told_beside_the_preview(make_dialog):
    dialog = make_dialog(many_wheels())
    assert "Checking every turn step would take long here" in dialog.view.facts.text()
