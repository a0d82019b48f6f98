"""The keyboard reaches everything, in the order in which it is read, and each stop has a name."""

from __future__ import annotations

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtWidgets import QAbstractButton, QLabel, QTableView, QWidget

from app.design.references import references_to
from app.panels.number_field import NumberField

PANELS = ("Wheels", "Wheel", "Body", "Chassis", "Working", "Motors")


def stops(area: QWidget) -> list[QWidget]:
    """Where Tab stops within an area, in its order."""
    found, here = [], area.nextInFocusChain()
    while here is not area and here is not None:
        tabbed = bool(here.focusPolicy() & Qt.FocusPolicy.TabFocus)
        if tabbed and area.isAncestorOf(here) and here.isVisible() and here.isEnabled():
            found.append(here)
        here = here.nextInFocusChain()
    return found


def panel(window, title: str) -> QWidget:
    dock = next(dock for dock in window.docks.values() if dock.windowTitle() == title)
    dock.raise_()
    return dock.widget()


def name_of(stop: QWidget) -> str:
    return stop.accessibleName() or (stop.text() if isinstance(stop, QAbstractButton) else "")


@pytest.fixture
def shown(window, qtbot):
    window.resize(1280, 800)
    window.show()
    window.document.select(references_to("wheel", {0}))
    qtbot.waitExposed(window)
    return window


def place(stop: QWidget, area: QWidget) -> QPoint:
    return stop.mapTo(area, QPoint(0, 0))


@pytest.mark.parametrize("title", PANELS)
def test_every_stop_of_a_panel_has_a_name(shown, qtbot, title: str) -> None:
    area = panel(shown, title)
    qtbot.waitUntil(area.isVisible)
    found = stops(area)
    assert found
    assert all(name_of(stop) for stop in found), [type(stop).__name__ for stop in found]


@pytest.mark.parametrize("title", ["Body", "Chassis", "Working", "Motors"])
def test_tab_goes_down_a_panel_in_reading_order(shown, qtbot, title: str) -> None:
    area = panel(shown, title)
    qtbot.waitUntil(area.isVisible)
    heights = [place(stop, area).y() for stop in stops(area)]
    assert heights == sorted(heights)


def test_tab_goes_down_the_left_column_of_the_wheel_panel_and_then_the_right(shown, qtbot) -> None:
    area = panel(shown, "Wheel")
    qtbot.waitUntil(area.isVisible)
    names = [name_of(stop) for stop in stops(area)]
    assert names[:4] == ["Name", "Kind", "x, forward", "y, left"]
    assert names.index("Trail") < names.index("Lateral offset") < names.index("Driven by a motor")


def test_tab_goes_from_the_name_of_a_motor_along_its_wheels_to_its_properties(shown, qtbot) -> None:
    area = panel(shown, "Motors")
    qtbot.waitUntil(area.isVisible)
    shown.document.select(references_to("wheel", {0, 4}))
    shown.action["add_steer_motor"].trigger()
    names = [name_of(stop) for stop in stops(area)]
    start = names.index("Motor name")
    buttons = ["Add steer motor", "Add drive motor", "Suggest sharing…", "Code for the controller…", "Remove"]
    assert names[:start] == ["Motors", *buttons]
    wheels = ["front left", "Gearing of front left", "front right", "rear left", "Gearing of rear left"]
    assert names[start + 1 : start + 8] == [*wheels, "rear right", "Zero"]
    assert names[-3:] == ["Reversed", "Told in", "Top speed °/s"]


def test_tab_goes_from_the_plan_to_the_slider_and_along_the_turn_fields(shown) -> None:
    names = [name_of(stop) for stop in stops(shown.centralWidget())]
    at = names.index("Plan of the chassis from above")
    expected = ["Turn input", "Turn input", "Speed ratio", "Left speed", "Right speed", "Turn radius"]
    assert names[at + 1 : at + 7] == expected


def test_tab_leaves_a_table_of_numbers(shown) -> None:
    for table in shown.findChildren(QTableView):
        assert not table.tabKeyNavigation(), table.accessibleName()


def test_every_number_field_has_a_label_that_leads_to_it(shown) -> None:
    led = {id(label.buddy()) for label in shown.findChildren(QLabel) if label.buddy() is not None}
    # Two fields of the chassis stand beside the box that switches them on and names them.
    named_by_box = {"Base axle x", "Hole pitch"}
    lost = [
        f.name for f in shown.findChildren(NumberField) if id(f) not in led and f.name not in named_by_box
    ]
    assert lost == []
