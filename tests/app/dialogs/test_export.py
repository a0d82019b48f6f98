"""The export: rows, step and marks; what is previewed is what is saved and what the command line writes."""

import re

import numpy as np
import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QDialog

from app.cli import command_line
from app.controller import steering_table as export_table
from app.design import edits
from app.design.facts import Facts
from app.design.samples import sample_design
from app.dialogs.export import MOST_ROWS, PREVIEW_LINES, Export, ExportDialog, ask_export, export_turns
from app.words.alignment_summary import verdict_sentence
from geometry.model.base_axle import base_of
from geometry.model.design import Design
from geometry.model.wheel_arrays import wheel_arrays
from geometry.turn_range.sweep import landmarks
from tests.windows import KEYS, saved_sample
from tests.written import only_file


@pytest.fixture
def make_dialog(qtbot):
    def make(design=None, rows=21):
        made = ExportDialog(None, design if design is not None else sample_design(KEYS[0]), rows)
        qtbot.addWidget(made)
        made.show()
        made.activateWindow()
        return made

    return make


def text_of(dialog):
    return only_file(dialog.files).decode()


def first_column(dialog):
    return [float(line.split(",")[0]) for line in text_of(dialog).splitlines()[1:]]


def enter(field, text):
    field.setFocus()
    field.selectAll()
    field.insert(text)
    QTest.keyClick(field, Qt.Key.Key_Return)


def test_rows_are_even_over_the_range_in_use(make_dialog):
    dialog = make_dialog(sample_design(KEYS[0]).edited(largest_turn=0.5), 11)
    assert first_column(dialog) == pytest.approx(np.linspace(-0.5, 0.5, 11))


def test_that_the_chassis_drags_stands_above_the_buttons(make_dialog):
    design = sample_design("misbuilt_scout")
    dialog = make_dialog(design)
    assert dialog.verdict.isVisible()
    assert dialog.verdict.text() == verdict_sentence(Facts(design))
    assert dialog.verdict.text().startswith("NOT ALIGNED: middle left drags up to ")
    assert dialog.verdict.geometry().bottom() < dialog.save.mapTo(dialog, dialog.save.rect().topLeft()).y()
    assert dialog.save.isEnabled()
    dialog.resize(dialog.minimumSizeHint())
    assert dialog.verdict.heightForWidth(dialog.verdict.width()) <= dialog.verdict.height()
    assert not make_dialog(sample_design(KEYS[0])).verdict.isVisible()


def test_another_number_of_rows_is_shown_at_once(make_dialog):
    dialog = make_dialog()
    dialog.rows.setValue(5)
    assert first_column(dialog) == [-1.0, -0.5, 0.0, 0.5, 1.0]
    assert dialog.step.value == 0.5
    assert "5 rows" in dialog.size_label.text()


def test_a_step_sets_the_rows(make_dialog):
    dialog = make_dialog()
    enter(dialog.step, "0,25")
    assert dialog.rows.value() == 9
    assert dialog.isVisible()


@pytest.mark.parametrize("text", ["0", "-1", "3", "abc", "1e-9", "nan"])
def test_a_step_that_cannot_be_is_marked_and_saves_nothing(make_dialog, text):
    dialog = make_dialog()
    before = text_of(dialog)
    enter(dialog.step, text)
    assert dialog.isVisible()
    assert "border" in dialog.step.styleSheet()
    assert text_of(dialog) == before


def test_enter_in_the_number_of_rows_does_not_save(make_dialog):
    dialog = make_dialog()
    dialog.rows.setFocus()
    QTest.keyClick(dialog.rows, Qt.Key.Key_Return)
    assert dialog.isVisible()
    QTest.keyClick(dialog, Qt.Key.Key_Escape)
    assert not dialog.isVisible()


def test_marks_add_the_exact_turns_at_which_something_happens(make_dialog):
    design = edits.change_wheels(sample_design(KEYS[0]), [0, 1], travel_min_deg=-80.0, travel_max_deg=80.0)
    dialog = make_dialog(design, 21)
    dialog.marks.setChecked(True)
    marks = [mark.turn for mark in landmarks(wheel_arrays(design), base_of(design), design.largest_turn)]
    turns = first_column(dialog)
    for mark in marks:
        assert min(abs(turn - mark) for turn in turns) < 1e-8
    assert len(turns) > 21
    assert turns == sorted(set(turns))
    dialog.marks.setChecked(False)
    assert len(first_column(dialog)) == 21


def test_marks_stay_within_the_range_in_use():
    design = sample_design(KEYS[1])
    turns = export_turns(design, 5, with_marks=True)
    assert max(map(abs, turns)) <= design.largest_turn


def test_a_long_table_is_previewed_by_its_head(make_dialog):
    dialog = make_dialog(rows=501)
    lines = dialog.preview.toPlainText().splitlines()
    assert len(lines) == PREVIEW_LINES + 2
    assert lines[-1] == f"… and {501 - PREVIEW_LINES:,} more rows"
    assert lines[:-1] == text_of(dialog).splitlines()[: PREVIEW_LINES + 1]


def test_the_longest_table_is_the_command_lines_and_previewed_at_once(make_dialog, monkeypatch):
    dialog = make_dialog(rows=MOST_ROWS)
    assert MOST_ROWS == export_table.MOST_ROWS == 100_001
    assert dialog.rows.value() == MOST_ROWS
    worked = []

    def counted(design, turns):
        worked.append(len(turns))
        return export_table.table_of(design, turns)

    monkeypatch.setattr("app.dialogs.export.table_of", counted)
    dialog.marks.setChecked(True)
    assert worked == [PREVIEW_LINES]
    text = text_of(dialog)
    assert sum(worked) > MOST_ROWS
    shown = dialog.preview.toPlainText().splitlines()
    assert shown[:-1] == text.splitlines()[: PREVIEW_LINES + 1]
    said = float(re.search(r"about ([\d,]+) kB", dialog.size_label.text())[1].replace(",", ""))
    assert said == pytest.approx(len(text.encode()) / 1000, rel=0.1)


def test_a_short_table_has_its_exact_size_told(make_dialog):
    dialog = make_dialog(rows=21)
    assert f" {len(text_of(dialog).encode()) / 1000:,.1f} kB" in dialog.size_label.text()


@pytest.mark.parametrize("rows", [-5, 0, 100_002])
def test_a_remembered_number_of_rows_is_kept_in_range(make_dialog, rows):
    assert 2 <= make_dialog(Design(), rows).rows.value() <= MOST_ROWS


@pytest.mark.parametrize("key", KEYS)
def test_the_command_line_writes_the_same_bytes(make_dialog, tmp_path, key):
    dialog = make_dialog(sample_design(key), 41)
    chassis, table = saved_sample(tmp_path, key), tmp_path / "table.csv"
    assert command_line.run(["table", str(chassis), "--rows", "41", "--output", str(table)]) == 0
    assert table.read_bytes() == text_of(dialog).encode()


@pytest.mark.parametrize("accepted", [True, False])
def test_the_dialog_gives_what_was_previewed(qtbot, monkeypatch, accepted):
    seen = []

    def run(dialog):
        dialog.rows.setValue(7)
        seen.append(text_of(dialog))
        return QDialog.DialogCode.Accepted if accepted else QDialog.DialogCode.Rejected

    monkeypatch.setattr(ExportDialog, "exec", run)
    found = ask_export(None, sample_design(KEYS[0]), 21)
    assert found == (Export({"steering_table.csv": seen[0].encode()}, 7, ".csv") if accepted else None)


def test_a_chassis_without_wheels_cannot_be_saved_as_a_table_and_says_so(make_dialog):
    dialog = make_dialog(Design())
    assert not dialog.save.isEnabled()
    assert dialog.preview.toPlainText() == ""
    assert "no wheels" in dialog.size_label.text()
    dialog.rows.setValue(5)
    assert not dialog.save.isEnabled()
