"""The plot: curves equal the sweep, gaps where an angle flips, nothing drawn while hidden."""

import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pyqtgraph
import pytest
from PySide6.QtCore import QEvent, QPointF, Qt
from PySide6.QtGui import QColor, QGuiApplication, QHelpEvent, QImage, QTextCursor
from PySide6.QtWidgets import QApplication, QPushButton, QToolTip

from app.design import edits
from app.design.references import references_to
from app.design.samples import sample_design
from app.panels.chart_lane import NEAR_PX
from app.panels.plot_curves import finite_runs, round_range
from app.panels.quantities import QUANTITIES
from app.theme import DARK, LIGHT, current_theme
from app.working.wheel_working import working_text
from geometry.kinematics.ideal import solve
from geometry.kinematics.motion import from_turn
from geometry.model.base_axle import base_of
from geometry.model.design import Design
from geometry.model.wheel_arrays import wheel_arrays
from geometry.turn_range.sweep import JUMPS
from tests.mouse import CONTROL, MIDDLE, double_click, move_to, press_at, release_at, wheel
from tests.windows import KEYS

ROOT = Path(__file__).parents[3]
NO_BUTTON = Qt.MouseButton.NoButton


def see(window, key="plot"):
    """Bring a panel to the front."""
    window.go_to(key)
    QApplication.processEvents()
    return window.panels["plot"]


@pytest.fixture
def plot(window):
    return see(window)


def curve(plot, n):
    shown = plot.chart.curves
    return shown.turns, shown.values[:, n]


def test_no_curve_is_worked_out_before_the_plot_is_seen(window):
    assert window.panels["plot"].chart is None
    see(window)
    assert len(window.panels["plot"].chart.curves.names) == 6


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
    assert plot.chart.curves.names == tuple(wheel.name for wheel in design.wheels)


def test_a_flip_leaves_a_gap(window, plot):
    window.document.edit(
        "Travel",
        lambda d: edits.change_wheels(d, [0], mirror=True, travel_min_deg=-80.0, travel_max_deg=80.0),
    )
    flips = [m.turn for m in window.document.view.facts.landmarks if m.kind in JUMPS and m.wheel == 0]
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
    for key in (KEYS[3], "misbuilt_scout"):
        plot = see(make_window(make_document(sample_design(key))))
        plot.choose([QUANTITIES[number].name])
        values = np.concatenate([curve(plot, n)[1] for n in range(len(sample_design(key).wheels))])
        assert np.isfinite(values).any()
        low, high = plot.chart.heights
        assert low <= np.nanmin(values)
        assert high >= np.nanmax(values)


def test_the_curves_follow_an_edit_only_while_they_are_seen(window, plot):
    document = window.document
    before = curve(plot, 0)[1].copy()
    see(window, "wheel")
    document.edit("Move", lambda d: edits.move_wheels(d, {0: (170.0, 120.0)}))
    assert curve(plot, 0)[1] == pytest.approx(before, nan_ok=True)
    see(window)
    assert np.nanmax(np.abs(curve(plot, 0)[1] - before)) > 1.0


def test_a_turn_alone_draws_no_curve_anew(window, plot):
    drawn = plot.chart.curves
    window.document.set_turn(0.44)
    assert plot.chart.turn == pytest.approx(0.44)
    assert plot.chart.curves is drawn


def at_turn(plot, turn):
    """A pixel of the chart, half-way up."""
    return plot.chart.pixel_of(turn, sum(plot.chart.heights) / 2)


def test_the_cursor_steers_and_stops_at_the_largest_turn(window, plot):
    document, shown = window.document, plot.chart.viewport()
    press_at(shown, at_turn(plot, -0.35))
    assert document.command.turn == pytest.approx(-0.35)
    move_to(shown, at_turn(plot, 0.2))
    assert document.command.turn == plot.chart.turn == pytest.approx(0.2)
    release_at(shown, at_turn(plot, 0.2))
    move_to(shown, at_turn(plot, 0.6), button=NO_BUTTON)
    assert document.command.turn == pytest.approx(0.2)
    document.edit("Reach", lambda d: edits.change_chassis(d, largest_turn=0.5))
    press_at(shown, at_turn(plot, 0.45))
    move_to(shown, at_turn(plot, 0.9))
    assert document.command.turn == plot.chart.turn == 0.5
    release_at(shown, at_turn(plot, 0.9))


def test_the_items_of_the_chart_are_made_once(window, plot):
    made = {id(item) for item in plot.chart.scene().items()}
    for number in range(4):
        plot.choose([QUANTITIES[number].name])
        window.document.edit("Add", lambda d: edits.add_wheel(d, 0.0, 300.0))
        window.document.set_turn(0.1 * number)
        plot.chart.grab()
    assert {id(item) for item in plot.chart.scene().items()} == made


def test_the_library_of_the_plot_is_loaded_only_when_the_plot_is_seen(home):
    script = (
        "import sys; from app.window.start import *; from app.design.samples import sample_design; "
        "a = make_application(); "
        "w = MainWindow(Document(sample_design('marsh_scout_six')), load_settings()); w.show(); "
        "a.processEvents(); before = 'pyqtgraph' in sys.modules; w.go_to('plot'); a.processEvents(); "
        "print(before, 'pyqtgraph' in sys.modules); w.document.close()"
    )
    done = subprocess.run(
        [sys.executable, "-c", script], cwd=ROOT, capture_output=True, text=True, timeout=60
    )
    assert (done.returncode, done.stdout.split()) == (0, ["False", "True"]), done.stderr


def test_a_drag_over_the_plot_loses_no_step(window, plot):
    asked = []
    plot.chart.asked.connect(asked.append)
    press_at(plot.chart.viewport(), at_turn(plot, 0.0))
    for n in range(1, 41):
        move_to(plot.chart.viewport(), at_turn(plot, 0.01 * n))
    release_at(plot.chart.viewport(), at_turn(plot, 0.4))
    assert asked == pytest.approx([0.01 * n for n in range(41)])


def test_the_mouse_wheel_zooms_about_the_mouse_and_a_double_click_shows_all(window, plot):
    chart, at = plot.chart, at_turn(plot, 0.4)
    whole, values = chart.span, chart.heights
    for _ in range(4):
        wheel(chart.viewport(), at, 1, held=CONTROL)
    low, high = chart.span
    assert high - low < 0.5 * (whole[1] - whole[0])
    assert chart.turn_at(at) == pytest.approx(0.4, abs=3e-3)  # Qt rounds the place to a pixel
    for _ in range(90):
        wheel(chart.viewport(), at, 1, held=CONTROL)
    QApplication.processEvents()
    assert chart.heights != values
    assert chart.span[1] - chart.span[0] >= 1e-3 * (1 - 1e-9)
    chart.grab()
    double_click(chart.viewport(), at)
    QApplication.processEvents()
    assert chart.span == whole
    assert chart.heights == values
    for _ in range(9):
        wheel(chart.viewport(), at, -1, held=CONTROL)
    assert chart.span == pytest.approx(whole)


def test_the_mouse_wheel_alone_is_left_to_what_scrolls_the_plots(window, plot):
    span = plot.chart.span
    assert not wheel(plot.chart.viewport(), at_turn(plot, 0.2), -2)
    assert plot.chart.span == span
    assert wheel(plot.chart.viewport(), at_turn(plot, 0.2), 2, held=CONTROL)
    assert plot.chart.span != span


def test_the_middle_button_moves_what_is_shown_but_not_past_the_ends(window, plot, monkeypatch):
    chart, turn = plot.chart, window.document.command.turn
    # A test moves faster than a hand.
    monkeypatch.setitem(pyqtgraph.CONFIG_OPTIONS, "mouseRateLimit", 0)
    for _ in range(6):
        wheel(chart.viewport(), at_turn(plot, 0.0), 1, held=CONTROL)
    before = chart.span
    for way in (-1.0, 40.0):
        at = at_turn(plot, 0.0)
        press_at(chart.viewport(), at, button=MIDDLE)
        for n in range(1, 11):
            move_to(chart.viewport(), at + QPointF(5.0 * way * n, 0.0), button=MIDDLE)
        release_at(chart.viewport(), at + QPointF(50.0 * way, 0.0), button=MIDDLE)
        assert chart.span != before
        assert chart.span[1] - chart.span[0] == pytest.approx(before[1] - before[0])
    assert chart.span[1] == pytest.approx(1.07)
    assert window.document.command.turn == turn


def test_the_chart_names_the_curve_under_the_mouse(window, plot):
    shown = plot.chart.curves
    row = int(np.abs(shown.turns - 0.31).argmin())
    at = plot.chart.pixel_of(shown.turns[row], shown.values[row, 1])
    text = plot.chart.text_at(at)
    assert text.startswith(f"front right: {shown.values[row, 1]:.2f}".rstrip("0"))
    assert "degrees" in text
    assert plot.chart.text_at(plot.chart.pixel_of(shown.turns[row], plot.chart.heights[1])) == ""
    assert plot.chart.text_at(QPointF(at.x(), 1.0)) == ""


@pytest.mark.parametrize("way", [-1, 1])
def test_a_curve_is_named_as_far_from_it_as_the_reach_and_no_farther(plot, way):
    level = np.full_like(plot.chart.curves.values[:, :1], 40.0)
    curves = replace(plot.chart.curves, values=level, names=("level",), ideal=None, wheels=(0,))
    plot.chart.show_curves(curves)
    at = plot.chart.pixel_of(0.31, 40.0)
    assert plot.chart.text_at(at + QPointF(0.0, way * (NEAR_PX - 0.1))).startswith("level: 40°")
    assert plot.chart.text_at(at + QPointF(0.0, way * (NEAR_PX + 0.1))) == ""


def test_of_two_curves_the_one_nearer_to_the_pointer_is_named(plot):
    levels = np.tile([40.0, 44.0, -100.0], (len(plot.chart.curves.turns), 1))
    names = ("low", "high", "far")
    curves = replace(plot.chart.curves, values=levels, names=names, ideal=None, wheels=(0, 1, 2))
    plot.chart.show_curves(curves)
    for value, named in ((41.8, "low: 40°"), (42.2, "high: 44°")):
        assert plot.chart.text_at(plot.chart.pixel_of(0.31, value)).startswith(named)


def test_a_mouse_at_rest_is_told_the_curve(window, plot, monkeypatch):
    told = []
    # The screenless platform cannot raise a tooltip.
    monkeypatch.setattr(QToolTip, "showText", lambda _place, text, _near: told.append(text))
    at = plot.chart.pixel_of(0.31, np.interp(0.31, *curve(plot, 0))).toPoint()
    shown = plot.chart.viewport()
    QApplication.sendEvent(shown, QHelpEvent(QEvent.Type.ToolTip, at, shown.mapToGlobal(at)))
    assert told == [plot.chart.text_at(QPointF(at))]
    assert told[0].startswith("front left: ")


def test_a_curve_is_painted_where_the_axes_say(window, plot):
    shown = plot.chart.curves
    window.document.select(())
    level = np.full_like(shown.values[:, :1], 40.0)
    plot.chart.show_curves(replace(shown, values=level, names=("level",), ideal=None, wheels=(0,)))
    image = plot.chart.viewport().grab().toImage()
    at = plot.chart.pixel_of(0.0, 40.0)
    wanted = QColor(current_theme().series[0]).getRgbF()
    for x in (at.x() - 30.3, at.x() + 41.6):
        column = [image.pixelColor(round(x), y).getRgbF() for y in range(image.height())]
        away = np.abs(np.array(column) - wanted).sum(axis=1)
        assert away.min() < 0.5
        assert away.argmin() == pytest.approx(at.y(), abs=2.0)


def test_wheels_come_and_go(window, plot):
    document = window.document
    document.edit("Add", lambda d: edits.add_wheel(d, 0.0, 300.0))
    assert plot.chart.curves.values.shape[1] == len(plot.chart.curves.names) == 7
    document.edit("Delete", lambda d: edits.delete_wheels(d, [0, 1]))
    assert plot.chart.curves.values.shape[1] == len(plot.chart.curves.names) == 5


def test_an_empty_chassis_has_an_empty_plot(make_window, make_document):
    window = make_window(make_document(Design()))
    plot = see(window)
    for number in range(4):
        plot.choose([QUANTITIES[number].name])
    window.document.set_turn(0.5)
    assert plot.chart.curves.names == ()
    assert plot.chart.text_at(at_turn(plot, 0.0)) == ""
    assert not plot.grab().isNull()


def test_left_on_the_plot_is_left_on_the_slider(plot):
    assert at_turn(plot, 1.0).x() < at_turn(plot, 0.0).x() < at_turn(plot, -1.0).x()


def pixels(chart):
    """Colours that are shown, {name: count}."""
    image = chart.viewport().grab().toImage().convertToFormat(QImage.Format.Format_RGB32)
    raw = np.frombuffer(image.constBits(), dtype=np.uint32) & 0xFFFFFF
    values, counts = np.unique(raw, return_counts=True)
    return {f"#{value:06x}": int(count) for value, count in zip(values, counts, strict=True)}


def close_to_a_tone(chart):
    """Pixels within the first plot, its legend apart, that show each of the first three tones, (3,)."""
    image = chart.viewport().grab(chart.lanes[0].view.sceneBoundingRect().toRect()).toImage()
    rows, columns = range(image.height()), range(image.width())
    rgb = np.array([[image.pixelColor(x, y).getRgb()[:3] for x in columns] for y in rows])
    tones = np.array([QColor(tone).getRgb()[:3] for tone in current_theme().series[:3]])
    # The plots are small: a fine line is nowhere quite of its colour.
    return np.array([(np.abs(rgb - tone).sum(axis=2) < 60).sum() for tone in tones])


def test_curves_cursor_and_frame_leave_their_traces(window, plot):
    window.document.select(())
    found = pixels(plot.chart)
    theme = current_theme()
    assert found[theme.ink] > 200
    assert found[theme.grid_strong] > 1000
    assert found[theme.faint] > 300
    drawn = close_to_a_tone(plot.chart)
    assert (drawn > 30).all(), drawn
    plot.chart.show_curves(replace(plot.chart.curves, values=plot.chart.curves.values * np.nan))
    assert (close_to_a_tone(plot.chart) < 0.1 * drawn).all()


def test_a_drag_has_the_curves_drawn_less_often_than_the_plan_and_the_last_ones_in_the_end(
    window, plot, monkeypatch, qtbot
):
    drawn = []
    show = plot.show_view
    monkeypatch.setattr(plot, "show_view", lambda view: (drawn.append(view), show(view)))
    document = window.document
    for n in range(20):
        document.preview(lambda d, n=n: edits.move_wheels(d, {0: (150.0 + n, 128.0)}))
    assert len(drawn) == 1
    qtbot.waitUntil(lambda: len(drawn) == 2)
    assert drawn[-1] is document.view
    document.preview(lambda d: edits.move_wheels(d, {0: (180.0, 128.0)}))
    document.commit_preview("Move")
    assert drawn[-1] is document.view


def test_while_a_wheel_is_dragged_the_curves_are_those_of_the_design_that_is_shown(window, plot):
    document = window.document
    document.preview(lambda d: edits.move_wheels(d, {0: (171.0, 128.0)}))
    wheels = wheel_arrays(document.view.design)
    turns, angle = curve(plot, 0)
    solved = solve(wheels, from_turn(turns, base_of(document.view.design)))
    assert np.degrees(solved.steer[:, 0]) == pytest.approx(angle, nan_ok=True)
    previewed = len(turns)
    document.commit_preview("Move")
    assert len(curve(plot, 0)[0]) > 4 * previewed


def test_the_plot_follows_from_light_to_dark(window, plot):
    window.action["light"].trigger()
    QApplication.processEvents()
    assert LIGHT.paper in pixels(plot.chart)
    window.action["dark"].trigger()
    QApplication.processEvents()
    found = pixels(plot.chart)
    assert DARK.paper in found
    assert LIGHT.paper not in found


def test_the_working_is_that_of_the_first_selected_wheel(window):
    window.document.select(references_to("wheel", {2, 4}))
    see(window, "working")
    view = window.document.view
    text = window.panels["working"].text
    assert text.toPlainText().strip() == working_text(view, 2).strip()
    window.document.set_turn(-0.7)
    assert text.toPlainText().strip() == working_text(window.document.view, 2).strip()
    window.document.select(())
    assert "Select a wheel" in text.toPlainText()


def test_the_working_keeps_its_place_while_its_numbers_change(window):
    window.document.select(references_to("wheel", {0}))
    see(window, "working")
    text = window.panels["working"].text
    bar = text.verticalScrollBar()
    bar.setValue(bar.maximum() // 2)
    place = bar.value()
    assert place > 0
    cursor = text.textCursor()
    cursor.setPosition(0)
    cursor.movePosition(QTextCursor.MoveOperation.EndOfBlock, QTextCursor.MoveMode.KeepAnchor)
    kept = cursor.selectedText()
    text.setTextCursor(cursor)
    bar.setValue(place)
    before = text.toPlainText()
    for x in (140.0, 141.5, 166.25, 139.0):
        window.document.preview(lambda d, x=x: edits.move_wheels(d, {2: (0.0, x)}))
        assert text.toPlainText() == working_text(window.document.view, 0)
        assert text.toPlainText() != before
        assert bar.value() == place
        assert text.textCursor().selectedText() == kept
    window.document.cancel_preview()
    assert text.toPlainText() == before


def test_the_working_waits_while_it_is_hidden(window):
    see(window, "working")
    before = window.panels["working"].text.toPlainText()
    see(window, "wheel")
    window.document.set_turn(-0.7)
    assert window.panels["working"].text.toPlainText() == before
    see(window, "working")
    assert window.panels["working"].text.toPlainText() != before


def test_the_working_can_be_copied(window):
    see(window, "working")
    (button,) = window.panels["working"].findChildren(QPushButton)
    button.click()
    assert QGuiApplication.clipboard().text() == window.panels["working"].text.toPlainText()


def test_runs_of_numbers_are_split_at_gaps():
    nan = np.nan
    assert finite_runs(np.array([nan, 1, 2, nan, 3, nan])) == [(1, 3), (4, 5)]
    assert finite_runs(np.array([1.0, 2.0])) == [(0, 2)]
    assert finite_runs(np.array([nan])) == finite_runs(np.array([])) == []


@pytest.mark.parametrize(
    ("low", "high"), [(0.0, 0.0), (-3.0, 41.0), (1e5, 1e5 + 1.0), (-1e-9, 1e-9), (0, 1e9)]
)
def test_a_round_range_holds_its_values_with_a_little_room(low, high):
    least, most = round_range(low, high)
    assert least <= low <= high < most
    assert least < low or low == 0
    assert most - least < 2 * max(high - low, 1.0)
