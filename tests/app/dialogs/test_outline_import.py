"""The import of an outline: what is chosen, what is seen, what is taken, and what is said of bad files."""

from pathlib import Path

import numpy as np
import pytest
from PySide6.QtCore import QPointF, QSize, Qt
from PySide6.QtGui import QColor
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QDialog, QDialogButtonBox

from app.design.outline_files.drawing import Circle
from app.design.samples import sample_design
from app.dialogs.outline_import import OutlineImportDialog, Taken, ask_outline
from app.theme import current_theme
from geometry.model.design import Design

DECK = Path(__file__).parent / "deck.svg"
SCOUT = sample_design("marsh_scout_six")


@pytest.fixture
def make_dialog(qtbot):
    made = []

    def make(path=DECK, design=SCOUT, unit="mm"):
        dialog = OutlineImportDialog(None, design, path, unit)
        qtbot.addWidget(dialog)
        dialog.resize(960, 540)
        dialog.show()
        qtbot.waitUntil(lambda: not dialog.working, timeout=20_000)
        made.append(dialog)
        return dialog

    yield make
    for dialog in made:
        dialog.close()


def body_of(dialog):
    return np.array(dialog.taken.into(SCOUT).body_mm)


def enter(field, text):
    field.setFocus()
    field.selectAll()
    QTest.keyClicks(field, text)
    QTest.keyClick(field, Qt.Key.Key_Return)


def test_the_largest_outline_and_the_circles_are_offered_at_once(make_dialog):
    dialog = make_dialog()
    made = dialog.taken.into(SCOUT)
    assert np.ptp(np.array(made.body_mm), axis=0).tolist() == [400, 220]
    assert [opening.diameter_mm for opening in made.packaging.openings] == [9.0, 9.0]
    assert dialog.take.isEnabled()
    assert "2 openings in the floor" in dialog.line.text()
    assert "1 × text" in dialog.told.toPlainText()
    assert "Open path on layer notes" in dialog.told.toPlainText()


def test_the_buttons_are_in_sight_on_a_small_screen(make_dialog):
    dialog = make_dialog()
    assert dialog.size() == QSize(960, 540)
    for button in dialog.findChild(QDialogButtonBox).buttons():
        place = button.mapTo(dialog, button.rect().bottomRight())
        assert dialog.rect().contains(place)
    assert dialog.picture.height() >= 250


def test_an_unticked_layer_is_neither_shown_nor_taken(make_dialog):
    dialog = make_dialog()
    rows = {dialog.layers.item(i).text(): dialog.layers.item(i) for i in range(dialog.layers.count())}
    assert list(rows) == ["deck", "holes", "notes"]
    rows["holes"].setCheckState(Qt.CheckState.Unchecked)
    assert dialog.taken.holes == ()
    rows["deck"].setCheckState(Qt.CheckState.Unchecked)
    assert dialog.taken is None
    assert not dialog.take.isEnabled()
    rows["holes"].setCheckState(Qt.CheckState.Checked)
    assert np.ptp(body_of(dialog), axis=0).tolist() == [90, 60]


def test_unit_scale_and_direction_change_what_is_taken(make_dialog):
    dialog = make_dialog()
    dialog.unit.setCurrentIndex(dialog.unit.findData("cm"))
    enter(dialog.scale, "0.05")
    assert np.ptp(body_of(dialog), axis=0) == pytest.approx([200, 110])
    dialog.forward.setCurrentIndex(dialog.forward.findData("right"))
    assert np.ptp(body_of(dialog), axis=0) == pytest.approx([110, 200])
    enter(dialog.scale, "0")
    assert "must be from 0.0001 to 10000" in dialog.scale.reason.text()
    assert np.ptp(body_of(dialog), axis=0) == pytest.approx([110, 200])


def test_a_coarser_chord_error_gives_fewer_corners_and_is_told(make_dialog):
    dialog = make_dialog()
    fine = len(body_of(dialog))
    enter(dialog.chord, "2")
    assert len(body_of(dialog)) < fine
    assert "at most 2 mm off" in dialog.line.text()


def test_the_place_is_the_wheels_the_drawings_own_or_a_point_of_it(make_dialog):
    dialog = make_dialog()
    wheels = np.array([(wheel.x_mm, wheel.y_mm) for wheel in SCOUT.wheels])
    middle = 0.5 * (wheels.min(0) + wheels.max(0))
    assert 0.5 * (body_of(dialog).min(0) + body_of(dialog).max(0)) == pytest.approx(middle)
    dialog.place.setCurrentIndex(dialog.place.findData("drawn"))
    assert body_of(dialog).max(axis=0) == pytest.approx([200, 110])
    enter_row = dialog.point_x, dialog.point_y
    assert not any(field.isVisible() for field in enter_row)
    dialog.place.setCurrentIndex(dialog.place.findData("point"))
    enter(dialog.point_x, "200")
    enter(dialog.point_y, "-110")
    assert body_of(dialog).max(axis=0) == pytest.approx([0, 220])


def test_a_click_on_a_centre_makes_it_the_origin(make_dialog):
    dialog = make_dialog()
    dialog.place.setCurrentIndex(dialog.place.findData("drawn"))
    dialog.picture.grab()  # lays the camera
    at = dialog.picture._camera.to_screen(np.array([130.0, 80.0])).round().astype(int).tolist()
    QTest.mouseClick(dialog.picture, Qt.MouseButton.LeftButton, pos=QPointF(*at).toPoint())
    assert dialog.place.currentData() == "point"
    made = dialog.taken.into(SCOUT)
    assert (0.0, 0.0) in [(opening.x_mm, opening.y_mm) for opening in made.packaging.openings]


def test_rectangles_are_openings_where_they_are_ticked_and_the_body_never_is(make_dialog):
    dialog = make_dialog()
    dialog.rectangles.setChecked(True)
    dialog.circles.setChecked(False)
    made = dialog.taken.into(SCOUT)
    assert [(opening.length_mm, opening.width_mm) for opening in made.packaging.openings] == [(90.0, 60.0)]
    dialog.outline.setCurrentIndex(1)
    assert dialog.taken.holes == ()


def test_nothing_ticked_is_nothing_taken(make_dialog):
    dialog = make_dialog()
    dialog.as_body.setChecked(False)
    assert dialog.taken.into(SCOUT).body_mm == SCOUT.body_mm
    dialog.circles.setChecked(False)
    assert dialog.taken is None
    assert "Tick what is to be taken" in dialog.line.text()


def test_a_bad_file_is_told_inside_and_another_can_be_chosen(make_dialog, tmp_path, monkeypatch, qtbot):
    bad = tmp_path / "<b>deck.dxf"
    bad.write_bytes(b"no drawing")
    dialog = make_dialog(bad)
    assert "neither a DXF nor an SVG" in dialog.line.text()
    assert not dialog.take.isEnabled()
    monkeypatch.setattr("app.dialogs.questions.ask_drawing", lambda *_: DECK)
    dialog.other.click()
    qtbot.waitUntil(lambda: not dialog.working, timeout=20_000)
    assert dialog.take.isEnabled()
    assert not dialog.line.text().startswith("✗")


def test_what_the_design_refuses_is_told_before_it_is_taken(make_dialog, tmp_path):
    path = tmp_path / "bow.svg"
    path.write_text(
        '<svg width="90mm" height="50mm" viewBox="0 0 90 50"><polygon points="0,0 90,50 90,0 0,40"/></svg>'
    )
    dialog = make_dialog(path)
    assert "must not cross itself" in dialog.line.text()
    assert not dialog.take.isEnabled()


def test_the_picture_shows_the_chassis_and_the_drawing(make_dialog):
    dialog = make_dialog()
    image = dialog.picture.grab().toImage()
    seen = {QColor(image.pixel(x, y)).name() for x in range(image.width()) for y in range(image.height())}
    theme = current_theme()
    assert {theme.accent, theme.motor, theme.body, theme.paper} <= seen


def test_an_empty_chassis_takes_a_drawing_as_it_is_drawn_and_in_inches(make_dialog):
    dialog = make_dialog(design=Design(), unit="inch")
    assert dialog.place.findData("wheels") == -1
    assert "15.748 × 8.661 in" in dialog.outline.currentText()
    assert np.array(dialog.taken.into(Design()).body_mm).max(axis=0) == pytest.approx([200, 110])


def test_closing_while_it_reads_leaves_no_thread(qtbot):
    dialog = OutlineImportDialog(None, SCOUT, DECK)
    qtbot.addWidget(dialog)
    dialog.reject()
    assert not dialog.working


@pytest.mark.parametrize("agreed", [True, False])
def test_the_question_returns_what_is_taken_or_nothing(monkeypatch, qtbot, agreed):
    def exec_(dialog):
        qtbot.waitUntil(lambda: not dialog.working, timeout=20_000)
        return QDialog.DialogCode.Accepted if agreed else QDialog.DialogCode.Rejected

    monkeypatch.setattr(OutlineImportDialog, "exec", exec_)
    found = ask_outline(None, SCOUT, DECK)
    assert isinstance(found, Taken) if agreed else found is None


def test_taken_is_one_undo_step_in_the_window(make_window, make_document, answers):
    window = make_window(make_document(SCOUT))
    answers.give("ask_drawing", DECK)
    answers.give("ask_outline", Taken("deck.svg", Circle("", 0, 0, 300), (Circle("", 10, 0, 5),), (0.0, 0.0)))
    window.action["import_outline"].trigger()
    assert len(window.document.design.packaging.openings) == 1
    assert np.array(window.document.design.body_mm).max() == pytest.approx(150)
    window.document.undo()
    assert window.document.design == SCOUT
    answers.give("ask_outline", None)
    window.action["import_outline"].trigger()
    assert window.document.design == SCOUT
