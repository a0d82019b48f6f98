"""What floats on the plan keeps within it: tools with words where they fit, else by their icons."""

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication

from app.theme import current_theme
from app.window.stages import STAGES
from tests.picture import shows

STAGE_KEYS = ["lay out", "motors", "check", "build"]
TOOLS = {spec.key: [key for part in spec.tools for key in part] for spec in STAGES}


def resized(window, width, height):
    window.resize(width, height)
    QApplication.processEvents()
    QApplication.processEvents()
    return window.middle.plan


def offered(window, stage):
    return [key for key in TOOLS[stage] if window.action[key].isVisible()]


@pytest.mark.parametrize("stage", STAGE_KEYS)
def test_each_stage_offers_its_tools(window, stage):
    window.go_to_stage(stage)
    plan = resized(window, 1280, 800)
    assert [button.defaultAction().objectName() for button in plan.tools.buttons] == offered(window, stage)
    assert [button.defaultAction().objectName() for button in plan.zoom.buttons] == [
        "measure",
        "fit",
        "zoom_out",
        "zoom_in",
    ]
    assert plan.tools.isVisible()
    assert plan.zoom.isVisible()


@pytest.mark.parametrize("size", [(960, 700), (1024, 700), (1280, 720), (1280, 800), (1920, 1080)])
@pytest.mark.parametrize("stage", STAGE_KEYS)
def test_the_groups_lie_within_the_plan_and_apart_with_every_button_whole(window, stage, size):
    window.go_to_stage(stage)
    plan = resized(window, *size)
    groups = (plan.tools, plan.zoom)
    assert not plan.tools.geometry().intersects(plan.zoom.geometry())
    for group in groups:
        assert plan.rect().contains(group.geometry())
        for button in group.buttons:
            assert group.rect().contains(button.geometry())
            assert button.width() >= button.minimumSizeHint().width()
            assert button.height() <= group.height()
            assert button.toolTip()
    told = [group.geometry() for group in groups]
    assert plan.floating() == tuple((r.x(), r.y(), r.x() + r.width(), r.y() + r.height()) for r in told)


def test_the_words_go_where_there_is_no_room_for_them(window):
    window.go_to_stage("motors")
    plan = resized(window, 1280, 800)
    words = plan.tools.sizeHint().width()
    for room, alone in ((words, False), (words - 1, True)):
        plan.tools.fit(room)
        styles = {button.toolButtonStyle() for button in plan.tools.buttons}
        wanted = Qt.ToolButtonStyle
        assert styles == {wanted.ToolButtonIconOnly if alone else wanted.ToolButtonTextBesideIcon}
        assert plan.tools.width() <= room
    assert {button.toolButtonStyle() for button in plan.zoom.buttons} == {
        Qt.ToolButtonStyle.ToolButtonIconOnly
    }


def test_a_low_window_leaves_the_plan_free(window):
    plan = resized(window, 1100, 639)
    assert not plan.tools.isVisible()
    assert not plan.zoom.isVisible()
    assert plan.floating() == ()
    plan = resized(window, 1100, 640)
    assert plan.tools.isVisible()
    assert len(plan.floating()) == 2


def test_tools_come_and_go_with_what_they_are_for(window):
    window.go_to_stage("check")
    assert not window.action["ideal"].isVisible()
    keys = [button.defaultAction().objectName() for button in window.middle.plan.tools.buttons]
    assert "ideal" not in keys
    window.action["add_steer_motor"].trigger()
    window.go_to_stage("check")
    keys = [button.defaultAction().objectName() for button in window.middle.plan.tools.buttons]
    assert "ideal" in keys


def test_a_button_acts_and_shows_what_is_on(window):
    window.go_to_stage("lay out")
    plan = resized(window, 1280, 800)
    snap = next(b for b in plan.tools.buttons if b.defaultAction().objectName() == "snap")
    assert snap.isChecked()
    assert shows(snap.grab().toImage(), current_theme().accent)
    snap.click()
    assert not window.canvas.snapping
    assert not snap.isChecked()
    assert not shows(snap.grab().toImage(), current_theme().accent)


def test_the_plan_is_told_what_covers_it(window):
    plan = resized(window, 1280, 800)
    moved = []
    plan.floating_moved.connect(lambda: moved.append(plan.floating()))
    window.go_to_stage("build")
    assert moved[-1] == plan.floating()
    before = len(moved)
    resized(window, 1400, 800)
    assert len(moved) > before


@pytest.mark.parametrize("stage", STAGE_KEYS)
def test_a_plan_made_narrow_shows_its_tools_by_icons_and_whole(window, stage):
    window.middle.widths[stage] = 900
    window.go_to_stage(stage)
    plan = resized(window, 1180, 800)
    assert plan.width() < 300
    assert plan.rect().contains(plan.tools.geometry())
    assert not plan.tools.geometry().intersects(plan.zoom.geometry())
    assert all(plan.tools.rect().contains(button.geometry()) for button in plan.tools.buttons)
