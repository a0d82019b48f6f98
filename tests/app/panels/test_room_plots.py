"""The room to turn as curves: the command line's numbers, never during a drag, off the window's thread."""

from __future__ import annotations

import csv
import io
import math
import threading

import numpy as np
import pytest
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QApplication

from app.cli.command_line import run
from app.controller.steering_table import slugs_of
from app.design import edits
from app.design.facts import Facts
from app.design.files import write_design
from app.design.samples import sample_design
from app.panels import room_curves
from app.panels.plot_curves import PlotCurves, values_range
from app.panels.plot_panel import WAITS
from app.panels.quantities import QUANTITIES, RUNS_OUT
from app.panels.room_curves import room_at
from app.words.space_words import MEASURES
from geometry.model.design import Design
from tests.app.odd_chassis import BARE
from tests.app.panels.test_plot_panel import see

ROOM = [quantity.name for quantity in QUANTITIES if quantity.of_room is not None]
MOVED = {1: (170.0, -150.0)}


@pytest.fixture
def plots(qtbot, make_window, make_document):
    """The panel of a design with these plots, once they are worked out."""

    def plots(design, names=ROOM):
        plot = see(make_window(make_document(design)))
        plot.choose(names)
        if set(names) & set(ROOM):
            qtbot.waitUntil(lambda: drawn(plot), timeout=60_000)
        QApplication.processEvents()
        return plot

    return plots


def drawn(plot):
    lanes = [lane for lane in plot.chart.shown if lane.curves.title in ROOM]
    return bool(lanes) and all("Being worked out" not in lane.curves.note for lane in lanes)


def lane_of(plot, title):
    return next(lane for lane in plot.chart.shown if lane.curves.title == title)


def jobs():
    return [thread for thread in threading.enumerate() if thread.name.startswith("job")]


@pytest.mark.parametrize("key", ["marsh_scout_motors", "reed_cart_four"])
def test_the_curves_have_the_numbers_that_the_command_line_writes(plots, tmp_path, capsys, key):
    design = sample_design(key)
    write_design(tmp_path / "chassis.json", design)
    assert run(["measure", str(tmp_path / "chassis.json"), "--curves", "-o", "-"]) == 0
    heads, *rows = list(csv.reader(io.StringIO(capsys.readouterr().out)))
    written = dict(zip(heads, np.array(rows, dtype=float).T, strict=True))
    plot = plots(design)
    slugs = slugs_of([wheel.name for wheel in design.wheels], [measure.key for measure in MEASURES])
    keys = {measure.name: measure.key for measure in MEASURES}
    keys |= {w.name: f"{slug}_off_tracking_mm" for w, slug in zip(design.wheels, slugs, strict=True)}
    seen = set()
    for lane in plot.chart.shown:
        curves = lane.curves
        at = np.array([int(np.abs(curves.turns - turn).argmin()) for turn in written["turn_input"]])
        assert np.abs(curves.turns[at] - written["turn_input"]).max() < 1e-9
        for column, name in enumerate(curves.names):
            values, wanted = curves.values[at, column], written[keys[name]]
            there = np.isfinite(wanted)
            assert (np.isfinite(values) == there).all()
            assert values[there] == pytest.approx(wanted[there], abs=2e-6, rel=1e-9)
            seen.add(keys[name])
    assert seen | {"turn_input"} == set(heads)


def test_they_are_copied_as_numbers_with_gaps_straight_ahead(plots):
    plot = plots(sample_design("marsh_scout_six"), ["Turning circles", "Off-tracking"])
    plot.copy_numbers.trigger()
    heads, *rows = [line.split("\t") for line in QGuiApplication.clipboard().text().splitlines()]
    assert heads[1:3] == ["Kerb to kerb, as built, mm", "Wall to wall, as built, mm"]
    assert heads[4] == "front left, off-tracking, mm"
    straight = next(row for row in rows if float(row[0]) == 0.0)
    assert straight[1:4] == ["", "", ""]
    assert all(row[1] for row in rows if abs(float(row[0])) > 1e-6)


def test_nothing_is_copied_before_it_is_worked_out(make_window, make_document):
    plot = see(make_window(make_document(sample_design("marsh_scout_six"))))
    told = []
    plot._document.message.connect(told.append)
    QGuiApplication.clipboard().setText("before")
    plot.choose(["Kerb gap"])
    plot.copy_numbers.trigger()
    assert (told, QGuiApplication.clipboard().text()) == ([WAITS], "before")


def test_a_drag_leaves_gaps_and_its_end_the_curves_of_the_new_design(qtbot, plots):
    plot = plots(sample_design("marsh_scout_six"), ["Turning circles", "Drag"])
    document, lane = plot._document, lane_of(plot, "Turning circles")
    before, heights = lane.curves, plot.chart.heights
    document.preview(lambda d: edits.move_wheels(d, MOVED))
    assert np.isnan(lane.curves.values).all()
    assert lane.curves.note == "Waits for the end of the drag."
    assert plot.chart.heights == heights
    assert np.isfinite(lane_of(plot, "Drag").curves.values).any()
    assert np.isnan(lane.readings).all()
    assert not jobs()
    document.commit_preview("Move")
    qtbot.waitUntil(lambda: drawn(plot), timeout=60_000)
    facts = Facts(document.design)
    wanted = room_at(facts, facts.check.dense.turns).measures[:, 0]
    assert lane.curves.values[:, 0] == pytest.approx(wanted, nan_ok=True)
    assert (
        np.nanmax(
            np.abs(lane.curves.values[:, 0] - np.interp(lane.curves.turns, before.turns, before.values[:, 0]))
        )
        > 1
    )


def test_an_edit_while_it_is_worked_out_shows_the_last_design_alone(qtbot, plots, monkeypatch):
    plot = plots(sample_design("marsh_scout_six"), ["Drag"])
    document, go = plot._document, threading.Event()
    true = room_curves.room_at

    def held(facts, turns, go_on):
        go.wait(20)
        return true(facts, turns, go_on)

    monkeypatch.setattr(room_curves, "room_at", held)
    plot.choose(["Kerb gap"])
    document.edit("Move", lambda d: edits.move_wheels(d, MOVED))
    go.set()
    qtbot.waitUntil(lambda: drawn(plot), timeout=60_000)
    facts = Facts(document.design)
    wanted = room_at(facts, facts.check.dense.turns).measures[:, 5]
    assert lane_of(plot, "Kerb gap").curves.values[:, 0] == pytest.approx(wanted, nan_ok=True)
    qtbot.waitUntil(lambda: not jobs(), timeout=20_000)


def test_nothing_is_worked_out_where_no_such_plot_is_shown_and_closing_leaves_no_thread(plots, monkeypatch):
    asked = []
    monkeypatch.setattr(room_curves, "room_at", lambda *of: asked.append(of))
    plot = plots(sample_design("marsh_scout_six"), ["Drag", "Miss"])
    plot._document.set_turn(0.6)
    assert asked == []
    monkeypatch.undo()
    plot.choose(["Kerb gap"])
    assert jobs()
    plot._document.closed.emit()
    assert not jobs()


def test_the_axis_is_not_blown_up_by_the_gentlest_turns_and_says_so(plots):
    plot = plots(sample_design("marsh_scout_six"), ["Turning circles", "Tail swing"])
    chart, curves = plot.chart, lane_of(plot, "Turning circles").curves
    finite = curves.values[np.isfinite(curves.values)]
    low, high = chart.heights
    assert finite.max() > 100 * high
    assert low <= finite.min()
    assert 0.8 < (finite <= high).mean() < 0.95
    assert curves.note == RUNS_OUT
    assert RUNS_OUT in lane_of(plot, "Turning circles").head.words
    assert RUNS_OUT not in lane_of(plot, "Tail swing").head.words
    # Closer to straight ahead the axis follows what is seen there.
    chart.lanes[0].view.setXRange(-0.05, 0.05, padding=0)
    QApplication.processEvents()
    assert chart.heights[1] > 2 * high


def test_a_line_that_runs_out_is_cut_near_the_edge(plots):
    plot = plots(sample_design("marsh_scout_six"), ["Turning circles"])
    plot.chart.grab()
    tall = plot.chart.height()
    shapes = [shape for column in plot.chart.lanes[0].items._drawn[1] for shape in column]
    assert len(shapes) >= 6  # each of three breaks off straight ahead
    assert all(-tall < point.y() < 2 * tall for shape in shapes for point in shape)


def test_values_at_the_cursor_and_at_the_pointer_are_those_of_the_turn(plots):
    plot = plots(sample_design("marsh_scout_six"), ["Turning circles", "Off-tracking"])
    plot._document.set_turn(0.37)
    facts = plot._document.view.facts
    here = room_at(facts, np.array([0.37]))
    lane = lane_of(plot, "Turning circles")
    assert lane.readings == pytest.approx(here.measures[0, [0, 1, 3]])
    row = lane.row_at(0.37)
    at = plot.chart.pixel_of(float(lane.curves.turns[row]), float(lane.curves.values[row, 0]))
    assert plot.chart.text_at(at).startswith("Kerb to kerb: ")
    plot._document.set_turn(0.0)
    assert "Kerb to kerb –" in plot.chart.reading


def test_inches_are_inches(plots):
    plot = plots(BARE, ["Right-angled lane"])
    mm = lane_of(plot, "Right-angled lane").curves.values
    plot.set_unit("inch")
    inch = lane_of(plot, "Right-angled lane").curves
    assert inch.values * 25.4 == pytest.approx(mm, nan_ok=True)
    assert inch.unit == "inch"


def test_what_has_no_size_and_no_wheels_is_offered_none_of_them():
    offered = [q.name for q in QUANTITIES if q.of_room is not None and q.offered(Design())]
    assert offered == []
    assert "Off-tracking" not in [q.name for q in QUANTITIES if q.offered(BARE)]
    assert "Turning circles" in [q.name for q in QUANTITIES if q.offered(BARE)]


def test_values_that_do_not_run_out_are_all_within():
    turns = np.linspace(-1, 1, 21)
    with np.errstate(divide="ignore"):
        values = np.abs(1 / turns)[:, None]
    values[10] = math.nan
    whole = PlotCurves(turns, values, ("one",), "one", 1.0)
    assert values_range(whole, -1, 1)[1] >= 10
    cut = PlotCurves(turns, values, ("one",), "one", 1.0, runs_out=True)
    assert values_range(cut, -1, 1)[1] < 10


def test_the_head_of_the_section_says_what_was_ticked_just_now(make_window):
    window = make_window()
    plot = see(window)
    plot.ticks["Kerb gap"].trigger()
    assert window.sections["plot"].head.summary == "steer angle, drag, kerb gap"
