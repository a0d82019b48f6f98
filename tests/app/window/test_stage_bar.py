"""The bar of stages: where the work is, how far each stage has come, and the way to each."""

import pytest
from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QAction, QFontMetrics
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from app.icons import shared_picture
from app.panels.registry import PANELS
from app.theme import current_theme, sized
from app.window.stage_bar import HEIGHT, LOW_HEIGHT, StageBar
from app.window.stages import STAGES
from app.words.stage_states import StageState
from tests.picture import shows

Key = Qt.Key
SHOWN = [spec.key for spec in STAGES if any(panel.stage == spec.key for panel in PANELS)]


@pytest.fixture
def bar(qtbot):
    made = StageBar()
    qtbot.addWidget(made)
    actions = {key: QAction(key.capitalize(), made) for key in ("undo", "redo", "save")}
    made.add_tools(actions)
    made.show_states({spec.key: StageState("open", "nothing yet") for spec in STAGES})
    made.show_stage("lay out")
    made.fit(QSize(1280, 800), low=False)
    made.resize(1280, HEIGHT)
    made.show()
    made.activateWindow()
    QApplication.processEvents()
    return made


def test_a_stage_without_a_panel_is_not_shown(bar):
    assert list(bar.buttons) == SHOWN
    assert {spec.key for spec in STAGES} - set(bar.buttons) == {"bench"}


@pytest.mark.parametrize("stage", SHOWN)
def test_a_click_asks_for_a_stage_and_shows_none_by_itself(bar, stage):
    asked = []
    bar.asked.connect(asked.append)
    QTest.mouseClick(bar.buttons[stage], Qt.MouseButton.LeftButton)
    assert asked == [stage]
    bar.show_stage(stage)
    assert [key for key, button in bar.buttons.items() if button.isChecked()] == [stage]


def test_the_state_is_told_to_those_who_do_not_see_it(bar):
    states = {spec.key: StageState("wrong", "drags, 2 wheels") for spec in STAGES}
    bar.show_states(states)
    button = bar.buttons["check"]
    assert button.accessibleName() == "Check: drags, 2 wheels"
    assert "drags, 2 wheels" in button.toolTip()
    assert "(Ctrl+3)" in button.toolTip()


@pytest.mark.parametrize(
    ("mark", "role"),
    [("done", "good"), ("begun", "faint"), ("open", "faint"), ("slight", "slight"), ("wrong", "bad")],
)
def test_the_mark_is_drawn_in_the_colour_of_its_state(bar, mark, role):
    button = bar.buttons["check"]
    bar.show_states({spec.key: StageState("unused", "not used") for spec in STAGES})
    before = button.grab().toImage()
    bar.show_states({spec.key: StageState(mark, "not used") for spec in STAGES})
    now = button.grab().toImage()
    assert now != before
    assert shows(now, getattr(current_theme(), role))
    assert not shared_picture(mark, "#000000", "#ffffff", 1.0).isNull()


def test_the_present_stage_has_a_bar_of_the_accent(bar):
    accent = current_theme().accent
    assert shows(bar.buttons["lay out"].grab().toImage().copy(40, 0, 60, 3), accent)
    assert not shows(bar.buttons["check"].grab().toImage().copy(40, 0, 60, 3), accent)


@pytest.mark.parametrize("width", [960, 1024, 1179, 1180, 1280, 1500, 1920])
@pytest.mark.parametrize("low", [False, True])
def test_the_bar_fits_its_window_and_no_word_is_cut(bar, width, low):
    states = {
        "lay out": StageState("done", "24 wheels, body"),
        "motors": StageState("begun", "24 wheels lack one"),
        "check": StageState("wrong", "drags, 24 wheels"),
        "build": StageState("slight", "changed since"),
    }
    bar.show_states({spec.key: states.get(spec.key, StageState("open", "")) for spec in STAGES})
    bar.fit(QSize(width, 800), low=low)
    bar.resize(width, LOW_HEIGHT if low else HEIGHT)
    QApplication.processEvents()
    assert bar.height() == (LOW_HEIGHT if low else HEIGHT)
    assert bar.minimumSizeHint().width() <= width
    for button in bar.buttons.values():
        assert button.width() % 8 == 0
        assert button.width() <= 168
        assert button.height() == bar.height()
        assert bar.rect().contains(button.geometry())
        room = button.width() - 40
        title = QFontMetrics(sized(button.font(), "text", strong=True)).horizontalAdvance(button.text())
        state = QFontMetrics(sized(button.font(), "small")).horizontalAdvance(button.state.words)
        assert max(title, state) <= room, f"{button.state.words} is cut at {width}"
    words = width >= 1180
    for tool in bar.tools:
        style = Qt.ToolButtonStyle
        assert tool.toolButtonStyle() == (
            style.ToolButtonTextBesideIcon if words else style.ToolButtonIconOnly
        )
        assert bar.rect().contains(tool.geometry())
        assert tool.width() >= tool.sizeHint().width()


def test_the_arrow_keys_go_along_the_stages_and_round(bar):
    buttons = list(bar.buttons.values())
    buttons[0].setFocus()
    for number in (1, 2, 3, 4, 0):
        QTest.keyClick(QApplication.focusWidget(), Key.Key_Right)
        assert buttons[number].hasFocus()
    QTest.keyClick(QApplication.focusWidget(), Key.Key_Left)
    assert buttons[-1].hasFocus()


def test_space_goes_to_the_stage_that_has_the_keyboard(window):
    window.middle.bar.buttons["motors"].setFocus()
    QTest.keyClick(window.middle.bar.buttons["motors"], Key.Key_Space)
    assert window.middle.side.stage == "motors"
    assert window.middle.bar.buttons["motors"].isChecked()
