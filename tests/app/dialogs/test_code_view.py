"""The preview of the code: text, facts and errors, or in their place why there are none."""

from dataclasses import replace

import pytest
from PySide6.QtGui import QGuiApplication

from app.controller.programme import programme_of
from app.design.samples import sample_design
from app.dialogs.code_view import MOST_LINES, CodeView
from app.export.preview import preview_of
from app.theme import DARK, LIGHT, apply_appearance
from tests.written import only_file


@pytest.fixture(scope="module")
def preview():
    return preview_of(programme_of(sample_design("marsh_scout_motors")), "micropython")


@pytest.fixture
def view(qtbot):
    made = CodeView()
    qtbot.addWidget(made)
    made.resize(760, 640)
    made.show()
    return made


def test_it_shows_text_size_and_bound(view, preview):
    view.show_preview(preview)
    assert view.text.toPlainText() == preview.text
    assert view.text.isReadOnly()
    assert f"{len(only_file(preview.files)):,} bytes" in view.facts.text()
    assert "(0.1° allowed)" in view.facts.text()
    assert "ALIGNED: every axle points at the turn centre" in view.facts.text()


def test_the_whole_file_is_copied(view, preview):
    view.show_preview(preview)
    view.show_busy(busy=False)
    view.copy.click()
    assert QGuiApplication.clipboard().text() == preview.text


def test_a_long_file_is_cut_in_the_preview_and_copied_whole(view, preview):
    long = replace(preview, text="x = 1\n" * (MOST_LINES + 50))
    view.show_preview(long)
    view.show_busy(busy=False)
    lines = view.text.toPlainText().splitlines()
    assert len(lines) == MOST_LINES + 1
    assert lines[-1] == "… and 50 more lines"
    view.copy.click()
    assert QGuiApplication.clipboard().text() == long.text


def test_the_place_in_the_text_stays_while_it_changes(view, preview):
    view.show_preview(preview)
    view.text.verticalScrollBar().setValue(40)
    view.show_preview(replace(preview, text=preview.text.replace("chassis", "scout")))
    assert view.text.verticalScrollBar().value() == 40


def test_the_plot_shows_each_output_between_its_limits(view, preview):
    view.show_preview(preview)
    chart = view.chart
    for index, errors in enumerate(preview.errors):
        view.which.setCurrentIndex(index)
        assert chart.errors is errors
        shown = [curve for curve in chart.curves if curve.isVisible()]
        assert len(shown) == len(errors.names)
        for k, curve in enumerate(shown):
            turns, values = curve.getData()
            assert (turns == errors.turns).all()
            assert (values == errors.values[:, k]).all()
        allowed, reached = errors.allowed, errors.reached
        assert [line.value() for line in chart.limits] == [allowed, -allowed, reached, -reached]
        low, high = chart.plot.viewRange()[1]
        assert low < -allowed < allowed < high
        assert all(name.replace(" ", "&nbsp;") in view.legend.text() for name in errors.names)


def test_curves_of_another_design_do_not_stay(view, preview):
    four = preview_of(programme_of(sample_design("mudflat_carrier_four")), "micropython")
    for shown, count in ((four, 4), (preview, 2), (four, 4)):
        view.show_preview(shown)
        assert sum(curve.isVisible() for curve in view.chart.curves) == count


def test_left_turns_are_on_the_left_as_on_the_slider(view, preview):
    view.show_preview(preview)
    box = view.chart.plot.getViewBox()
    left, right = (
        box.mapViewToScene(box.viewRect().center().__class__(turn, 0.0)).x() for turn in (0.5, -0.5)
    )
    assert left < right


def test_the_items_of_the_plot_are_made_once(view, preview):
    view.show_preview(preview)
    chart = view.chart
    items, curves = len(chart.plot.getPlotItem().items), list(chart.curves)
    for _ in range(3):
        view.show_preview(replace(preview, text=preview.text + "\n"))
        view.show_error("no table keeps to it")
    view.show_preview(preview)
    assert view.chart is chart
    assert chart.curves == curves
    assert len(chart.plot.getPlotItem().items) == items


def test_an_error_stands_in_place_of_the_preview(view, preview):
    view.show_preview(preview)
    view.show_error("no table keeps to 0.1 degrees; the best is about 0.2 degrees: allow that")
    view.show_busy(busy=False)
    assert view.text.toPlainText() == ""
    assert view.facts.text() == "✗ No table keeps to 0.1 degrees; the best is about 0.2 degrees: allow that."
    assert not view.chart.isVisible()
    assert not view.copy.isEnabled()
    view.show_preview(preview)
    assert view.chart.isVisible()
    assert "✗" not in view.facts.text()


def test_while_it_works_nothing_is_copied(view, preview):
    view.show_preview(preview)
    view.show_busy(busy=True)
    assert view.busy.isVisible()
    assert not view.copy.isEnabled()
    view.show_busy(busy=False)
    assert not view.busy.isVisible()
    assert view.copy.isEnabled()


def test_the_plot_follows_light_and_dark(view, preview, qapp):
    view.show_preview(preview)
    try:
        for appearance, theme in (("dark", DARK), ("light", LIGHT)):
            apply_appearance(appearance)
            qapp.processEvents()
            assert view.chart.plot.backgroundBrush().color().name() == theme.paper
            assert theme.series[0] in view.legend.text()
    finally:
        apply_appearance("light")
