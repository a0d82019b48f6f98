"""The section on the course: made, changed by numbers, driven at once, each change one step."""

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from app.design.samples import sample_design
from geometry.model.driving import OBSTACLE_KINDS, OF_OBSTACLE


@pytest.fixture
def window(make_window, make_document):
    made = make_window(make_document(sample_design("marsh_scout_six")))
    made.go_to("course")
    QApplication.processEvents()
    yield made
    made.middle.session.close()


@pytest.fixture
def panel(window):
    return window.panels["course"]


def enter(field, text):
    field.setFocus()
    field.selectAll()
    field.insert(text)
    QTest.keyClick(field, Qt.Key.Key_Return)


def courses(window):
    return window.document.design.driving.courses


def test_a_course_is_made_filled_and_taken_away_again_by_undo(window, panel):
    before = window.document.design
    assert panel.why.isVisibleTo(panel)
    panel.new.click()
    assert window.middle.session.course is courses(window)[0]
    enter(panel.name, "marsh gate")
    assert window.middle.session.course_name == courses(window)[0].name == "marsh gate"
    enter(panel.start["start_x_mm"], "-250")
    enter(panel.start["start_heading_deg"], "30")
    for kind in OBSTACLE_KINDS:
        panel.adds[kind].click()
    assert [obstacle.kind for obstacle in courses(window)[0].obstacles] == list(OBSTACLE_KINDS)
    assert panel.which.currentIndex() == 3
    enter(panel.fields["y_mm"], "-80")
    assert courses(window)[0].obstacles[3].y_mm == -80.0
    panel.delete.click()
    assert len(courses(window)[0].obstacles) == 3
    while window.document.undo_stack.canUndo():
        window.action["undo"].trigger()
    assert window.document.design == before


@pytest.mark.parametrize("kind", OBSTACLE_KINDS)
def test_only_the_sizes_of_the_kind_are_shown_and_another_kind_keeps_the_place(window, panel, kind):
    panel.new.click()
    panel.adds["box"].click()
    enter(panel.fields["x_mm"], "777")
    panel.kind.activated.emit(OBSTACLE_KINDS.index(kind))
    QApplication.processEvents()
    obstacle = courses(window)[0].obstacles[0]
    assert (obstacle.kind, obstacle.x_mm) == (kind, 777.0)
    for key in ("length_mm", "width_mm"):
        assert panel.fields[key].isVisibleTo(panel) is (key in OF_OBSTACLE[kind])


def test_a_ready_course_says_that_it_is_kept_first(window, panel):
    window.middle.session.choose(course="doorway")
    assert "Keep with the chassis" in panel.why.text()
    assert not panel.body.isVisibleTo(panel)
    window.panels["drive"].keep.click()
    assert panel.body.isVisibleTo(panel)
    panel.remove.click()
    assert courses(window) == ()
    assert window.middle.session.course_name == ""


def test_a_name_that_is_taken_is_refused_at_the_field(window, panel):
    panel.new.click()
    panel.new.click()
    enter(panel.name, courses(window)[0].name)
    assert panel.name.refused
    assert courses(window)[0].name != courses(window)[1].name
    assert window.middle.session.course_name == courses(window)[1].name
