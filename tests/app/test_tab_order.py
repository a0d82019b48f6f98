"""The keyboard reaches everything, in the order in which it is read, and each stop has a name."""

from __future__ import annotations

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtWidgets import QAbstractButton, QLabel, QTableView, QWidget

from app.design.part_edits import add_part
from app.design.references import references_to
from app.panels.number_field import NumberField
from app.panels.registry import PANELS
from app.window.section import SectionHead

KEYS = [spec.key for spec in PANELS]


def stops(area: QWidget) -> list[QWidget]:
    """Where Tab stops within an area, in its order."""
    found, here = [], area.nextInFocusChain()
    while here is not area and here is not None:
        # Where another widget takes the keyboard for it, Tab goes to that alone.
        tabbed = bool(here.focusPolicy() & Qt.FocusPolicy.TabFocus) and here.focusProxy() is None
        if tabbed and area.isAncestorOf(here) and here.isVisible() and here.isEnabled():
            found.append(here)
        here = here.nextInFocusChain()
    return found


def panel(window, key: str) -> QWidget:
    window.show_panel(key)
    return window.panels[key]


def name_of(stop: QWidget) -> str:
    return stop.accessibleName() or (stop.text() if isinstance(stop, QAbstractButton) else "")


@pytest.fixture
def shown(window, qtbot):
    window.resize(1280, 800)
    window.show()
    window.document.edit("Add part", lambda d: add_part(d, "battery", 0.0, 0.0))
    window.document.select((*references_to("wheel", {0}), *references_to("part", {0})))
    qtbot.waitExposed(window)
    return window


def place(stop: QWidget, area: QWidget) -> QPoint:
    return stop.mapTo(area, QPoint(0, 0))


@pytest.mark.parametrize("key", KEYS)
def test_every_stop_of_a_panel_has_a_name(shown, qtbot, key: str) -> None:
    area = panel(shown, key)
    qtbot.waitUntil(area.isVisible)
    found = stops(area)
    assert found
    assert all(name_of(stop) for stop in found), [type(stop).__name__ for stop in found]


@pytest.mark.parametrize("key", KEYS)
def test_tab_goes_down_a_panel_in_reading_order(shown, qtbot, key: str) -> None:
    area = panel(shown, key)
    qtbot.waitUntil(area.isVisible)
    heights = [place(stop, area).y() for stop in stops(area)]
    assert heights == sorted(heights)


def test_tab_goes_down_the_panel_of_the_wheel_and_on_to_its_travel(shown, qtbot) -> None:
    shown.middle.side.unfold_only(["wheel", "swing"])
    qtbot.waitUntil(shown.panels["swing"].isVisible)
    names = [name_of(stop) for stop in stops(shown.middle.side)]
    at = names.index("Name")
    place = ["Name", "Kind", "x, forward", "y, left", "Diameter", "Width", "Driven by a motor"]
    title = shown.sections["swing"].spec.title
    heads = [title, f"{title} in a window of its own"]
    swing = ["Travel, right", "Travel, left", "Toe-in", "Trail", "Lateral offset", "Load share"]
    assert names[at : at + 15] == [*place, *heads, *swing]


@pytest.mark.parametrize("stage", ["lay out", "motors", "check", "build"])
def test_tab_goes_through_a_stage_in_reading_order_and_never_to_what_is_hidden(shown, stage: str) -> None:
    shown.go_to_stage(stage)
    found = stops(shown)
    areas = [shown.middle.bar, shown.middle.plan, shown.middle.side, shown.middle.turn, shown.menuBar()]
    order = [next(n for n, area in enumerate(areas) if area.isAncestorOf(stop)) for stop in found]
    first = order.index(0)  # Tab goes round
    order = order[first:] + order[:first]
    assert order == sorted(order), [name_of(stop) for stop in found]
    assert set(order) == {0, 1, 2, 3, 4}
    heads = [section.spec.title for section in shown.sections.values() if section.spec.stage == stage]
    inside = [name_of(stop) for stop in found if isinstance(stop, SectionHead)]
    assert inside == heads
    along = [place(stop, areas[0]).x() for stop in found if areas[0].isAncestorOf(stop)]
    assert along == sorted(along)
    hidden = [p for p in shown.panels.values() if not p.isVisible()]
    assert not any(p.isAncestorOf(stop) for p in hidden for stop in found)
    assert all(name_of(stop) for stop in found)


def test_tab_goes_from_the_name_of_a_motor_along_its_wheels_to_its_properties(shown, qtbot) -> None:
    area = panel(shown, "motors")
    qtbot.waitUntil(area.isVisible)
    shown.document.select(references_to("wheel", {0, 4}))
    shown.action["add_steer_motor"].trigger()
    names = [name_of(stop) for stop in stops(area)]
    start = names.index("Motor name")
    buttons = ["Add steer motor", "Add drive motor", "Suggest sharing…", "Code for the controller…"]
    buttons += ["Use these drive motors", "Delete"]
    assert names[:start] == ["Motors", *buttons]
    wheels = ["front left", "Gearing of front left", "front right", "rear left", "Gearing of rear left"]
    assert names[start + 1 : start + 8] == [*wheels, "rear right", "Zero"]
    assert names[-3:] == ["Reversed", "Told in", "Top speed °/s"]


def test_tab_goes_from_the_panel_to_the_slider_and_along_the_turn_fields(shown) -> None:
    names = [name_of(stop) for stop in stops(shown.centralWidget())]
    expected = ["Turn input", "Turn input", "Speed ratio", "Left speed", "Right speed", "Turn radius"]
    assert names[-8:] == [*expected, "Straight", "Reverse"]


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
