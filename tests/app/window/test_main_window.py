"""The window as a whole: what it remembers, how it follows preferences, and what a screen reader finds."""

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import (
    QAbstractButton,
    QApplication,
    QCheckBox,
    QComboBox,
    QDockWidget,
    QLabel,
    QLineEdit,
    QPlainTextEdit,
    QSlider,
    QStatusBar,
    QTableView,
    QToolBar,
)

from app.design import edits
from app.design.references import references_to
from app.design.samples import sample_design
from app.settings import Settings, load_settings
from app.theme import DARK, LIGHT, current_theme
from geometry.model.design import Design
from tests.windows import KEYS

INPUTS = (QLineEdit, QComboBox, QPlainTextEdit, QSlider, QTableView, QCheckBox)
# Parts that Qt itself makes inside the widgets above.
QT_OWN = {"qt_spinbox_lineedit", "qt_toolbar_ext_button"}


def settle():
    QApplication.processEvents()


def test_every_input_has_a_name_for_a_screen_reader(window):
    nameless = [
        widget
        for kind in INPUTS
        for widget in window.findChildren(kind)
        if widget.objectName() not in QT_OWN
        and not (widget.accessibleName() or (isinstance(widget, QAbstractButton) and widget.text()))
    ]
    assert nameless == []
    assert window.canvas.accessibleName()
    assert window.canvas.accessibleDescription()


def test_every_input_and_button_says_what_it_is_for(window):
    kinds = (QLineEdit, QComboBox, QCheckBox, QAbstractButton)
    silent = [
        (type(widget).__name__, widget.accessibleName() or widget.objectName())
        for kind in kinds
        for widget in window.findChildren(kind)
        if widget.isEnabled()
        and not widget.objectName().startswith("qt_")
        and not isinstance(widget.parent(), QTableView | QDockWidget)
        and not widget.toolTip()
    ]
    assert silent == []


def test_the_title_names_chassis_and_file_and_marks_what_is_unsaved(window, tmp_path):
    assert "not saved yet" in window.windowTitle()
    assert not window.isWindowModified()
    window.action["add"].trigger()
    assert window.isWindowModified()
    window.document.save(tmp_path / "scout.json")
    assert "scout.json" in window.windowTitle()
    assert not window.isWindowModified()
    window.action["undo"].trigger()
    assert window.isWindowModified()


def test_the_window_remembers_where_its_panels_were(make_window, make_document, home):
    first = make_window()
    first.resize(1100, 640)
    first.docks["chassis"].close()
    settle()
    first.close()
    again = make_window(make_document(sample_design(KEYS[0])), load_settings())
    settle()
    assert not again.docks["chassis"].toggleViewAction().isChecked()
    assert again.docks["body"].toggleViewAction().isChecked()
    # The screenless screen is narrower than the window, so only the height can come back.
    assert again.height() == pytest.approx(640, abs=2)


def test_a_layout_that_cannot_be_read_gives_the_first_one(make_window, make_document):
    settings = Settings(window_state="bm9uc2Vuc2U=", window_geometry="!!! not base64 !!!")
    window = make_window(make_document(sample_design(KEYS[0])), settings)
    assert window.isVisible()
    assert all(dock.toggleViewAction().isChecked() for dock in window.docks.values())


def test_the_layout_can_be_reset(window):
    for dock in window.docks.values():
        dock.close()
    settle()
    window.action["layout"].trigger()
    settle()
    assert all(dock.toggleViewAction().isChecked() for dock in window.docks.values())
    assert not any(dock.isFloating() for dock in window.docks.values())


@pytest.mark.parametrize(("key", "theme"), [("light", LIGHT), ("dark", DARK)])
def test_light_and_dark_reach_every_part(window, key, theme):
    window.action[key].trigger()
    settle()
    assert current_theme() is theme
    corner = window.canvas.grab().toImage().pixelColor(3, 3)
    assert abs(corner.lightness() - (250 if key == "light" else 31)) < 25
    assert theme.good_ground in window.middle.verdict.styleSheet()
    assert load_settings().appearance == key
    assert window.action[key].isChecked()


def test_inches_reach_every_part(window):
    window.document.select(references_to("wheel", {0}))
    window.document.set_turn(0.5)
    window.action["inch"].trigger()
    assert window.middle.turn.radius.text().endswith("in")
    assert window.panels["wheel"].fields["x_mm"].text().endswith(" in")
    assert window.panels["wheels"].model.headerData(2, Qt.Orientation.Horizontal).endswith("inch")
    assert window.panels["chassis"].derived.text().count(" in") >= 2
    assert window.panels["body"].model.headerData(0, Qt.Orientation.Horizontal).endswith("inch")
    assert window.canvas.scene().options.unit == "inch"
    assert load_settings().length_unit == "inch"
    shown = [label.text() for label in window.findChildren(QLabel) if label.isVisible()]
    assert not [text for text in shown if " mm" in text and "mm per metre" not in text]


@pytest.mark.parametrize(
    ("key", "setting"),
    [("circles", "full_circles"), ("labels", "show_labels"), ("symmetry", "symmetry"), ("snap", "snap")],
)
def test_a_choice_is_kept(window, make_window, make_document, key, setting):
    before = getattr(load_settings(), setting)
    window.action[key].trigger()
    assert getattr(load_settings(), setting) is not before
    again = make_window(make_document(Design()), load_settings())
    assert again.action[key].isChecked() is not before


def test_the_first_steps_go_away_and_come_back(window):
    assert window.middle.first_steps.isVisible()
    window.middle.first_steps.findChild(QAbstractButton).click()
    assert not window.middle.first_steps.isVisible()
    assert load_settings().welcome_dismissed
    window.action["welcome"].trigger()
    assert window.middle.first_steps.isVisible()


def test_what_is_told_is_shown_whole(window):
    window.document.message.emit("first\nsecond")
    assert window.middle.note.text == "first\nsecond"
    assert window.middle.note.label.toolTip() == ""
    assert window.findChildren(QStatusBar) == []


def test_the_verdict_follows_every_change(window):
    window.document.set_turn(0.3)
    good = window.middle.verdict.headline.text()
    window.document.edit(
        "Toe", lambda d: d.edited(wheels=(*d.wheels[:2], d.wheels[2].edited(toe_deg=5.0), *d.wheels[3:]))
    )
    assert window.middle.verdict.headline.text() != good
    assert d_name(window, 2) in window.middle.verdict.turn.text()
    assert d_name(window, 2) in window.middle.verdict.more.text()
    assert window.middle.verdict.worst.isVisible()
    window.action["undo"].trigger()
    assert window.middle.verdict.headline.text() == good


def d_name(window, index):
    return window.document.design.wheels[index].name


@pytest.mark.parametrize("key", KEYS)
@pytest.mark.parametrize("turn", [0.0, 1e-9, 0.3, -1.0])
def test_every_sample_can_be_seen(make_window, make_document, key, turn):
    window = make_window(make_document(sample_design(key)))
    window.document.set_turn(turn)
    image = window.grab().toImage()
    assert not image.isNull()
    assert window.middle.verdict.headline.text()


def test_a_small_window_still_shows_plan_and_turn_control(window):
    window.resize(900, 600)
    settle()
    assert window.canvas.height() >= 200
    assert window.middle.turn.slider.width() >= 300
    assert window.findChild(QToolBar).isVisible()


def test_escape_ends_a_drag_and_nothing_else(window):
    window.canvas.setFocus()
    window.document.set_turn(0.3)
    QTest.keyClick(window.windowHandle(), Qt.Key.Key_Escape)
    assert window.isVisible()
    assert window.document.command.turn == 0.3


def test_a_refusal_is_forgotten_once_an_edit_is_done(window):
    document, note = window.document, window.middle.note
    width = document.design.wheels[0].width_mm
    for done in (
        lambda: document.edit("Widen", lambda d: edits.change_wheels(d, [0], width_mm=width + 1.0)),
        document.undo,
        document.redo,
    ):
        assert not document.edit("Widen", lambda d: edits.change_wheels(d, [0], width_mm=-1.0))
        assert "width must be" in note.text
        document.select(references_to("wheel", {1}))
        assert "width must be" in note.text
        done()
        assert note.text == ""


def test_what_an_edit_itself_tells_stays(window):
    window.document.edit("Widen", lambda d: edits.change_wheels(d, [0], width_mm=30.0))
    window.document.message.emit("Undo brings it back.")
    assert window.middle.note.text == "Undo brings it back."
