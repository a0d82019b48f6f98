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
    QTabBar,
    QTableView,
    QToolBar,
)

from app.design import edits, made
from app.design.references import references_to
from app.design.samples import sample_design
from app.settings import Settings, load_settings
from app.theme import DARK, LIGHT, current_theme
from app.window.middle import panel_width
from geometry.model.design import Design
from tests.windows import KEYS

INPUTS = (QLineEdit, QComboBox, QPlainTextEdit, QSlider, QTableView, QCheckBox)
# Parts that Qt itself makes inside the widgets above.
QT_OWN = {"qt_spinbox_lineedit", "qt_toolbar_ext_button"}


def settle():
    QApplication.processEvents()


def press_with_control(window, number):
    key = getattr(Qt.Key, f"Key_{number}")
    QTest.keyClick(window.windowHandle(), key, Qt.KeyboardModifier.ControlModifier)


def click(widget):
    QTest.mouseClick(widget, Qt.MouseButton.LeftButton)


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
        and not isinstance(widget.parent(), QTableView)
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
    click(first.sections["wheels"].head)
    click(first.sections["body"].head)
    first.go_to_stage("check")
    settle()
    first.middle.splitter.moveSplitter(500, 1)
    width = first.middle.side.width()
    first.sections["plot"].take_out()
    first.close()
    again = make_window(make_document(sample_design(KEYS[0])), load_settings())
    settle()
    assert again.middle.side.stage == "check"
    assert again.middle.side.width() == width
    assert again.sections["plot"].window_of_own.isVisible()
    assert again.sections["plot"].panel.isVisible()
    again.go_to_stage("lay out")
    settle()
    assert not again.panels["wheels"].isVisible()
    assert again.panels["body"].isVisible()
    assert again.panels["wheel"].isVisible()
    assert again.middle.side.width() == panel_width(again.width(), wide=False)
    # The screenless screen is narrower than the window, so only the height can come back.
    assert again.height() == pytest.approx(640, abs=2)


def test_a_layout_that_cannot_be_read_gives_the_first_one(make_window, make_document):
    settings = Settings(window_state="bm9uc2Vuc2U=", window_geometry="!!! not base64 !!!")
    window = make_window(make_document(sample_design(KEYS[0])), settings)
    assert window.isVisible()
    assert window.middle.side.unfolded == window.middle.side.first_unfolded()


def test_preferences_of_another_version_of_the_window_are_no_trouble(make_window, make_document):
    settings = Settings(
        stage="nowhere", unfolded=("gone", "body"), taken_out=("gone",), panel_widths={"x": 9}
    )
    window = make_window(make_document(sample_design(KEYS[0])), settings)
    assert window.middle.side.stage == "lay out"
    assert window.middle.side.unfolded == ("body",)
    assert window.middle.side.taken_out == ()


def test_the_layout_can_be_reset(window):
    first = window.middle.side.unfolded
    for section in window.sections.values():
        click(section.head)
    window.sections["working"].take_out()
    window.middle.splitter.moveSplitter(500, 1)
    settle()
    assert not set(window.middle.side.unfolded) & set(first)
    window.action["layout"].trigger()
    settle()
    assert window.middle.side.unfolded == first
    assert window.middle.side.taken_out == ()
    assert window.middle.side.width() == panel_width(window.width(), wide=False)
    assert load_settings().taken_out == ()


def test_no_dock_tab_bar_tool_bar_or_status_bar_is_left(window):
    for kind in (QDockWidget, QTabBar, QToolBar, QStatusBar):
        assert window.findChildren(kind) == []


def test_a_section_in_a_window_of_its_own_follows_and_comes_back(window):
    window.go_to_stage("check")
    section = window.sections["this turn"]
    section.out.click()
    settle()
    own = section.window_of_own
    assert own.isVisible()
    assert section.panel.window() is own
    window.go_to_stage("lay out")
    window.document.set_turn(0.7)
    angle = section.panel.model.index(0, 1).data()
    window.document.set_turn(0.2)
    assert section.panel.model.index(0, 1).data() != angle
    assert load_settings().taken_out == ("this turn",)
    own.close()
    settle()
    assert section.window_of_own is None
    assert section.panel.window() is window
    assert not section.panel.isVisible()
    window.go_to_stage("check")
    assert section.panel.isVisible()
    assert load_settings().taken_out == ()


def test_the_stages_say_how_far_the_work_has_come(window):
    states = {key: button.state for key, button in window.middle.bar.buttons.items()}
    assert states["lay out"] == ("done", "6 wheels, body")
    assert states["motors"] == ("unused", "not used")
    assert states["check"] == ("done", "aligned")
    assert states["build"] == ("open", "nothing made")

    def toed(design):
        wheels = (w.edited(toe_deg=5.0) if w.name == "middle left" else w for w in design.wheels)
        return design.edited(wheels=tuple(wheels))

    window.document.edit("Toe", toed)
    button = window.middle.bar.buttons["check"]
    assert button.state == ("wrong", "drags, 1 wheel")
    assert button.accessibleName() == "Check: drags, 1 wheel"
    window.document.undo()
    assert button.state == ("done", "aligned")


@pytest.mark.parametrize("stage", ["lay out", "motors", "check", "build"])
def test_the_headline_is_never_good_where_the_range_is_bad(window, stage):
    document = window.document
    document.edit(
        "Travel",
        lambda d: d.edited(
            wheels=tuple(w.edited(travel_min_deg=-50.0, travel_max_deg=50.0) for w in d.wheels)
        ),
    )
    document.set_turn(0.1)
    window.go_to_stage(stage)
    settle()
    verdict = window.middle.verdict
    assert verdict.headline.isVisible()
    assert "every axle points at the turn centre" in verdict.turn.text()
    assert "Drags" in verdict.headline.text().replace("\u200b", "")
    assert current_theme().bad_ground in verdict.styleSheet()


@pytest.mark.parametrize("number", [1, 2, 3, 4, 5])
def test_a_key_goes_to_each_stage(window, number):
    press_with_control(window, number)
    settle()
    assert window.middle.side.stage == {1: "lay out", 2: "motors", 3: "check", 4: "drive", 5: "build"}[number]
    checked = [key for key, button in window.middle.bar.buttons.items() if button.isChecked()]
    assert checked == [window.middle.side.stage]


@pytest.mark.parametrize("number", [6])
def test_the_key_of_a_stage_that_is_not_there_does_nothing(window, number):
    press_with_control(window, number)
    assert window.middle.side.stage == "lay out"


def test_f6_goes_round_the_parts_of_the_window(window):
    seen = []
    for _ in range(5):
        QTest.keyClick(window.windowHandle(), Qt.Key.Key_F6)
        seen.append(QApplication.focusWidget())
    middle = window.middle
    assert seen[0] is window.sections["wheels"].head
    assert seen[1] is middle.turn.slider
    assert seen[2] is middle.bar.buttons["lay out"]
    assert seen[3] is window.canvas
    assert seen[4] is seen[0]


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
    [
        *(("circles", "full_circles"), ("labels", "show_labels"), ("symmetry", "symmetry"), ("snap", "snap")),
        *(("tracks", "show_tracks"), ("swept", "show_swept")),
    ],
)
def test_a_choice_is_kept(window, make_window, make_document, key, setting):
    before = getattr(load_settings(), setting)
    window.action[key].trigger()
    assert getattr(load_settings(), setting) is not before
    again = make_window(make_document(Design()), load_settings())
    assert again.action[key].isChecked() is not before


def test_the_first_steps_go_away_and_come_back(window):
    assert window.middle.first_steps.isVisible()
    next(b for b in window.middle.first_steps.findChildren(QAbstractButton) if b.text() == "Got it").click()
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
    assert all(button.isVisible() for button in window.middle.bar.buttons.values())


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


def test_the_ticked_plots_are_remembered(make_window, make_document):
    first = make_window()
    first.go_to_stage("check")
    first.panels["plot"].ticks["Drag"].setChecked(False)
    first.panels["plot"].ticks["Miss"].setChecked(True)
    first.close()
    again = make_window(make_document(sample_design(KEYS[0])), load_settings())
    assert set(again.panels["plot"].chosen) == {"Steer angle", "Miss"}


def test_texts_of_the_plan_keep_off_a_note(window):
    document, note = window.document, window.middle.note
    document.message.emit("Something was refused.")
    (box,) = window.canvas.scene().passing
    assert box == (note.x(), note.y(), note.x() + note.width(), note.y() + note.height())
    note.clear()
    assert window.canvas.scene().passing == ()


def test_steering_looks_up_nothing_of_what_was_made(window, monkeypatch):
    asked = []
    real = made.hash_of
    monkeypatch.setattr(made, "hash_of", lambda design: asked.append(design) or real(design))
    one = made.MadeFile(what="table", design=real(window.document.design), name="Marsh scout")
    window.filing.change_settings(made=(one,))
    window.filing.made.emit()
    window.go_to_stage("build")
    assert window.middle.bar.buttons["build"].state.words == "1 of 6 made"
    asked.clear()
    for turn in (0.1, 0.2, 0.3):
        window.document.set_turn(turn)
    assert asked == []
    window.action["add"].trigger()
    assert asked
    assert window.middle.bar.buttons["build"].state.words == "changed since"
