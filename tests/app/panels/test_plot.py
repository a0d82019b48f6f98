"""The plot: curves equal the sweep, gaps where an angle flips, nothing drawn while hidden."""

import numpy as np
import pytest
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QApplication, QPushButton

from app.design import edits
from app.design.samples import sample_design
from app.working import working_text
from geometry.chassis import Design, base_of, wheel_arrays
from geometry.motion import from_turn
from geometry.solve import solve
from tests.windows import KEYS


def see(window, number=5):
    """Bring a panel to the front."""
    window._go_to(window.docks[number - 1])
    QApplication.processEvents()
    return window.plot.panel


@pytest.fixture
def plot(window):
    return see(window)


def curve(plot, n):
    return plot.curves[n].getData()


def test_the_plot_is_made_when_it_is_first_seen(window):
    assert window.plot.panel is None
    see(window)
    first = window.plot.panel
    assert first is not None
    see(window, 2)
    see(window)
    assert window.plot.panel is first


@pytest.mark.parametrize("key", KEYS)
def test_the_curves_are_the_sweep(make_window, make_document, key):
    design = sample_design(key)
    plot = see(make_window(make_document(design)))
    wheels = wheel_arrays(design)
    turns = curve(plot, 0)[0]
    assert len(turns) > 500
    assert (turns[0], turns[-1]) == (-design.largest_turn, design.largest_turn)
    solved = solve(wheels, from_turn(turns, base_of(design)))
    wanted = np.degrees(np.where(wheels.steered, solved.steer, solved.heading))
    for n in range(len(design.wheels)):
        turn, angle = curve(plot, n)
        assert (turn == turns).all()
        there = np.isfinite(angle)
        assert angle[there] == pytest.approx(wanted[there, n])
        assert there.mean() > 0.99
    names = [label.text for _, label in plot.legend.items]
    assert names == [wheel.name for wheel in design.wheels]


def test_a_flip_leaves_a_gap(window, plot):
    window.document.edit(
        "Travel",
        lambda d: edits.change_wheels(d, [0], mirror=True, travel_min_deg=-80.0, travel_max_deg=80.0),
    )
    flips = [m.turn for m in window.document.view.facts.landmarks if m.kind == "flip" and m.wheel == 0]
    assert flips
    turn, angle = curve(plot, 0)
    gaps = turn[~np.isfinite(angle)]
    step = np.diff(turn).max()
    for flip in flips:
        assert np.abs(gaps - flip).min() <= step
    # Nowhere does a line join two angles that are far apart.
    steps = np.abs(np.diff(angle))
    assert np.nanmax(steps) < 90.0


@pytest.mark.parametrize("number", range(4))
def test_each_quantity_is_drawn_for_each_sample(make_window, make_document, number):
    for key in (KEYS[3], KEYS[5]):
        plot = see(make_window(make_document(sample_design(key))))
        plot.quantity.setCurrentIndex(number)
        values = np.concatenate([curve(plot, n)[1] for n in range(len(sample_design(key).wheels))])
        assert np.isfinite(values).any()
        (low, high) = plot.plot.getPlotItem().viewRange()[1]
        assert low <= np.nanmin(values)
        assert high >= np.nanmax(values)


def test_the_curves_follow_an_edit_only_while_they_are_seen(window, plot):
    document = window.document
    before = curve(plot, 0)[1].copy()
    see(window, 2)
    document.edit("Move", lambda d: edits.move_wheels(d, {0: (170.0, 120.0)}))
    assert curve(plot, 0)[1] == pytest.approx(before, nan_ok=True)
    see(window)
    assert np.nanmax(np.abs(curve(plot, 0)[1] - before)) > 1.0


def test_a_turn_alone_draws_no_curve_anew(window, plot):
    drawn = []
    plot.curves[0].sigPlotChanged.connect(drawn.append)
    window.document.set_turn(0.44)
    assert plot.marker.value() == pytest.approx(0.44)
    assert drawn == []


def test_the_cursor_steers_and_stops_at_the_largest_turn(window, plot):
    document = window.document
    plot.marker.setValue(-0.35)
    assert document.command.turn == pytest.approx(-0.35)
    document.edit("Reach", lambda d: edits.change_chassis(d, largest_turn=0.5))
    plot.marker.setValue(0.9)
    assert document.command.turn == 0.5
    assert plot.marker.value() == 0.5


def test_wheels_come_and_go(window, plot):
    document = window.document
    document.edit("Add", lambda d: edits.add_wheel(d, 0.0, 300.0))
    assert [c.isVisible() for c in plot.curves] == [True] * 7
    document.edit("Delete", lambda d: edits.delete_wheels(d, [0, 1]))
    assert [c.isVisible() for c in plot.curves] == [True] * 5 + [False] * 2
    assert len(plot.legend.items) == 5


def test_an_empty_chassis_has_an_empty_plot(make_window, make_document):
    window = make_window(make_document(Design()))
    plot = see(window)
    for number in range(4):
        plot.quantity.setCurrentIndex(number)
    window.document.set_turn(0.5)
    assert plot.curves == []
    assert not plot.grab().isNull()


def test_left_on_the_plot_is_left_on_the_slider(plot):
    assert plot.plot.getPlotItem().getViewBox().xInverted()


def test_the_plot_follows_from_light_to_dark(window, plot):
    window.action["light"].trigger()
    QApplication.processEvents()
    light = plot.plot.backgroundBrush().color().lightness()
    window.action["dark"].trigger()
    QApplication.processEvents()
    assert plot.plot.backgroundBrush().color().lightness() < 80 < light


def test_the_working_is_that_of_the_first_selected_wheel(window):
    window.document.select({2, 4})
    see(window, 6)
    view = window.document.view
    assert window.working.text.toPlainText().strip() == working_text(view, 2).strip()
    window.document.set_turn(-0.7)
    assert window.working.text.toPlainText().strip() == working_text(window.document.view, 2).strip()
    window.document.select(())
    assert "Select a wheel" in window.working.text.toPlainText()


def test_the_working_waits_while_it_is_hidden(window):
    see(window, 6)
    before = window.working.text.toPlainText()
    see(window, 2)
    window.document.set_turn(-0.7)
    assert window.working.text.toPlainText() == before
    see(window, 6)
    assert window.working.text.toPlainText() != before


def test_the_working_can_be_copied(window):
    see(window, 6)
    (button,) = window.working.findChildren(QPushButton)
    button.click()
    assert QGuiApplication.clipboard().text() == window.working.text.toPlainText()
