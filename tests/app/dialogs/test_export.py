"""The export: rows, step and marks; what is previewed is what is saved and what the command line writes."""

import re

import numpy as np
import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QDialog

from app.cli import command_line
from app.controller import steering_table as export_table
from app.controller.steering_table import FLAGS
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


# Columns -----------------------------------------------------------------------------------------

GREEK = ("εμπρός αριστερά", "εμπρός δεξιά", "左後輪", "rear")


def named(names):
    design = sample_design("creek_tricycle")
    wheels = tuple(w.edited(name=name) for w, name in zip(design.wheels, names, strict=False))
    return design.edited(wheels=wheels)


def cells(dialog):
    """What the preview shows: heads, then rows."""
    model = dialog.table.model()
    places = range(model.columnCount())
    heads = [model.headerData(c, Qt.Orientation.Horizontal) for c in places]
    return [heads, *([model.index(r, c).data() for c in places] for r in range(model.rowCount()))]


def item_of(dialog, text):
    (found,) = dialog.columns.findItems(text, Qt.MatchFlag.MatchExactly | Qt.MatchFlag.MatchRecursive)
    return found


def test_the_preview_in_columns_is_the_file(make_dialog):
    dialog = make_dialog(rows=11)
    assert cells(dialog) == [line.split(",") for line in text_of(dialog).splitlines()]
    assert dialog.table.isVisible()
    assert not dialog.preview.isVisible()
    dialog.as_text.setChecked(True)
    assert dialog.preview.isVisible()
    assert not dialog.table.isVisible()


def test_the_preview_sorts_by_its_numbers_and_is_copied(make_dialog):
    dialog = make_dialog(rows=11)
    column = cells(dialog)[0].index("front_left_steer_deg")
    dialog.table.sortByColumn(column, Qt.SortOrder.AscendingOrder)
    values = [float(row[column]) for row in cells(dialog)[1:]]
    assert values == sorted(values)
    assert values[0] < 0
    radius = cells(dialog)[0].index("turn_radius_mm")
    dialog.table.sortByColumn(radius, Qt.SortOrder.DescendingOrder)
    assert cells(dialog)[1][radius] == "inf"
    dialog.table.selectRow(0)
    dialog.table.actions()[0].trigger()
    copied = [line.split("\t") for line in QGuiApplication.clipboard().text().splitlines()]
    assert copied == cells(dialog)[:2]


def test_columns_that_are_not_ticked_are_not_written(make_dialog):
    dialog = make_dialog(rows=5)
    whole = [line.split(",") for line in text_of(dialog).splitlines()]
    item_of(dialog, "Misses").setCheckState(0, Qt.CheckState.Unchecked)
    item_of(dialog, "rear_left_speed").setCheckState(0, Qt.CheckState.Unchecked)
    item_of(dialog, FLAGS).setCheckState(0, Qt.CheckState.Unchecked)
    kept = [
        k
        for k, head in enumerate(whole[0])
        if not head.endswith("_miss_mm") and head not in {"rear_left_speed", FLAGS}
    ]
    assert len(kept) == len(whole[0]) - 8
    assert text_of(dialog).splitlines() == [",".join(row[k] for k in kept) for row in whole]
    assert cells(dialog)[0] == [whole[0][k] for k in kept]
    assert f" {len(kept)} columns" in dialog.size_label.text()
    dialog.rows.setValue(7)
    assert cells(dialog)[0] == [whole[0][k] for k in kept]
    dialog.columns.choose(set())
    assert cells(dialog)[0] == whole[0]


def test_the_turn_input_cannot_be_left_out(make_dialog):
    dialog = make_dialog(rows=5)
    motion = item_of(dialog, "Motion")
    motion.setCheckState(0, Qt.CheckState.Unchecked)
    assert cells(dialog)[0][0] == "turn_input"
    assert "speed_ratio" not in cells(dialog)[0]
    assert not item_of(dialog, "turn_input").flags() & Qt.ItemFlag.ItemIsEnabled


def test_columns_are_ticked_by_keys_too(make_dialog):
    dialog = make_dialog(rows=5)
    dialog.columns.setFocus()
    dialog.columns.setCurrentItem(item_of(dialog, "Drags"))
    QTest.keyClick(dialog.columns, Qt.Key.Key_Space)
    assert not any("drag" in head for head in cells(dialog)[0])


def test_names_in_other_letters_give_heads_that_say_which_wheel_they_are(make_dialog):
    dialog = make_dialog(named(GREEK), 3)
    heads = cells(dialog)[0]
    assert {f"wheel_{n}_speed" for n in (1, 2, 3)} <= set(heads)
    assert len(set(heads)) == len(heads)
    assert dialog.named.text() == "wheel_1 is εμπρός αριστερά; wheel_2 is εμπρός δεξιά; wheel_3 is 左後輪."
    assert dialog.named.isVisible()
    column = heads.index("wheel_2_speed")
    tip = dialog.table.model().headerData(column, Qt.Orientation.Horizontal, Qt.ItemDataRole.ToolTipRole)
    assert "εμπρός δεξιά" in tip
    assert not make_dialog().named.isVisible()


@pytest.mark.parametrize("size", [(1024 - 12, 700 - 40), (948, 500)])
def test_the_dialog_keeps_its_buttons_and_columns_in_sight(make_dialog, size):
    dialog = make_dialog(named(GREEK), 41)
    dialog.resize(*size)
    for part in (dialog.save, dialog.columns, dialog.table):
        corner = part.mapTo(dialog, QPoint(part.width(), part.height()))
        assert corner.x() <= dialog.width()
    assert dialog.save.mapTo(dialog, dialog.save.rect().bottomRight()).y() <= dialog.height()
    assert dialog.table.height() > 120
