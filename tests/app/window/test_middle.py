"""How the window shares its room: the plan keeps half of it, and each stage its own width of the panel."""

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from app.design.samples import sample_design
from app.settings import Settings, load_settings
from app.window.middle import panel_width
from geometry.model.design import Design

STAGES = ["lay out", "motors", "check", "build"]
SIZES = [(1024, 700), (1280, 800), (1280, 720), (1920, 1080), (960, 540)]


def settle():
    for _ in range(3):
        QApplication.processEvents()


def resized(window, width, height):
    window.resize(width, height)
    settle()
    assert (window.width(), window.height()) == (width, height), "the parts do not fit into this size"
    return window.middle


@pytest.mark.parametrize(
    ("window", "narrow", "wide"),
    [
        (960, 288, 352),
        (999, 288, 352),
        (1000, 304, 384),
        (1179, 304, 384),
        (1180, 320, 448),
        (1499, 320, 448),
        (1500, 400, 560),
        (3840, 400, 560),
    ],
)
def test_the_panel_grows_in_steps_with_the_window(window, narrow, wide):
    assert panel_width(window, wide=False) == narrow
    assert panel_width(window, wide=True) == wide


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("stage", STAGES)
@pytest.mark.parametrize("key", ["marsh_scout_six", "misbuilt_scout", "marsh_scout_motors", None])
def test_the_plan_keeps_half_of_the_window(make_window, make_document, size, stage, key):
    design = Design() if key is None else sample_design(key)
    window = make_window(make_document(design), Settings(welcome_dismissed=False))
    window.go_to_stage(stage)
    middle = resized(window, *size)
    share = middle.plan.width() * middle.plan.height() / (size[0] * size[1])
    assert share >= 0.5, f"{100 * share:.1f} %"
    assert middle.side.width() == panel_width(size[0], wide=stage != "lay out")
    assert middle.rect().contains(middle.turn.geometry())


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("stage", STAGES)
def test_nothing_of_the_panel_is_wider_than_the_panel(make_window, make_document, size, stage):
    window = make_window(make_document(sample_design("misbuilt_scout")))
    window.go_to_stage(stage)
    for key, section in window.sections.items():
        if section.spec.stage == stage:
            window.show_panel(key)
    middle = resized(window, *size)
    area = middle.side.area
    wide = area.viewport().width()
    too_wide = {
        key: section.panel.minimumSizeHint().width()
        for key, section in window.sections.items()
        if section.isVisible() and section.panel.minimumSizeHint().width() > wide
    }
    assert too_wide == {}
    assert area.widget().width() == wide


def drag_line(middle, by):
    handle = middle.splitter.handle(1)
    at = handle.rect().center()
    QTest.mousePress(handle, Qt.MouseButton.LeftButton, pos=at)
    QTest.mouseMove(handle, at + QPoint(by, 0))
    QTest.mouseRelease(handle, Qt.MouseButton.LeftButton, pos=at)
    settle()


def test_each_stage_keeps_the_width_that_was_chosen_in_it(make_window, make_document):
    window = make_window()
    middle = resized(window, 1280, 800)
    first = middle.side.width()
    drag_line(middle, -60)
    chosen = middle.side.width()
    assert chosen >= first + 40
    window.go_to_stage("check")
    settle()
    assert middle.side.width() == panel_width(1280, wide=True)
    drag_line(middle, -30)
    other = middle.side.width()
    window.go_to_stage("lay out")
    settle()
    assert middle.side.width() == chosen
    assert load_settings().panel_widths == {"lay out": chosen, "check": other}
    window.close()
    again = make_window(make_document(sample_design("marsh_scout_six")))
    resized(again, 1280, 800)
    assert again.middle.side.width() == chosen
    again.go_to_stage("check")
    settle()
    assert again.middle.side.width() == other


def test_a_double_click_on_the_line_gives_the_first_share_back_in_this_stage_alone(window):
    middle = resized(window, 1280, 800)
    drag_line(middle, -60)
    window.go_to_stage("check")
    settle()
    drag_line(middle, -40)
    chosen = middle.side.width()
    window.go_to_stage("lay out")
    settle()
    handle = middle.splitter.handle(1)
    QTest.mouseDClick(handle, Qt.MouseButton.LeftButton, pos=handle.rect().center())
    settle()
    assert middle.side.width() == panel_width(1280, wide=False)
    assert load_settings().panel_widths == {"check": chosen}
    window.go_to_stage("check")
    settle()
    assert middle.side.width() == chosen


def test_to_reset_the_layout_gives_every_stage_its_first_share_back(window):
    middle = resized(window, 1280, 800)
    drag_line(middle, -60)
    window.action["layout"].trigger()
    settle()
    assert middle.side.width() == panel_width(1280, wide=False)
    assert load_settings().panel_widths == {}


def test_the_line_cannot_swallow_the_plan_or_the_panel(window):
    middle = resized(window, 1024, 700)
    drag_line(middle, -2000)
    assert middle.plan.width() >= 240
    drag_line(middle, 2000)
    assert middle.side.width() >= 240
    assert middle.verdict.isVisible()


@pytest.mark.parametrize(
    ("height", "bar", "turn"),
    [(1080, 48, 64), (760, 48, 64), (759, 48, 56), (640, 48, 56), (639, 36, 40)],
)
def test_the_bars_are_as_high_as_the_window_allows(window, height, bar, turn):
    middle = resized(window, 1280, height)
    assert middle.bar.height() == bar
    assert middle.turn.height() == turn


@pytest.mark.parametrize(("width", "seen"), [(1180, True), (1179, False)])
def test_a_narrow_window_shows_fewer_turn_fields(window, width, seen):
    turn = resized(window, width, 800).turn
    assert [box.isVisible() for box in turn.fields] == [True, True, seen, seen, True]
    assert turn.straight.isVisible()
    assert turn.reverse.isVisible() is seen
    assert [turn.captions[box].text() for box in turn.fields] == ["Turn", "Ratio", "Left", "Right", "Radius"]
    assert [box.accessibleName() for box in turn.fields] == [
        "Turn input",
        "Speed ratio",
        "Left speed",
        "Right speed",
        "Turn radius",
    ]


@pytest.mark.parametrize("size", SIZES)
def test_every_turn_field_and_caption_is_whole(window, size):
    turn = resized(window, *size).turn
    for box in turn.fields:
        for part in (box, turn.captions[box]):
            if part.isVisible():
                assert turn.rect().contains(part.geometry())
                assert part.height() >= part.minimumSizeHint().height()
                assert part.width() >= part.minimumSizeHint().width()
    shown = [part for part in (*turn.fields, *turn.captions.values(), turn.slider) if part.isVisible()]
    for n, part in enumerate(shown):
        assert not any(part.geometry().intersects(other.geometry()) for other in shown[n + 1 :])


def test_axle_lines_step_back_while_wheels_are_laid_out(window):
    shown = {}
    for stage in STAGES:
        window.go_to_stage(stage)
        shown[stage] = window.canvas.grab().toImage()
    assert shown["lay out"] != shown["build"]
