"""The chart: several plots with one cursor, the selected wheel, hidden curves, values, keys and copies."""

import itertools
import math

import numpy as np
import pytest
from PySide6.QtCore import QEvent, QPoint, QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QContextMenuEvent, QFont, QFontMetricsF, QGuiApplication, QImage, QPainter
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from app.design import edits
from app.design.references import references_to
from app.design.samples import sample_design
from app.panels.chart_items import free_spot, wrapped
from app.panels.plot_curves import coinciding
from app.panels.quantities import QUANTITIES
from app.theme import current_theme
from tests.app.panels.test_plot_panel import NO_BUTTON, at_turn, pixels, see
from tests.app.scouts import DRIVES, FRONT, REAR, scout
from tests.mouse import CONTROL, move_to, wheel

FOUR = ["Steer angle", "Rolling speed", "Miss", "Drag"]
# The screenless platform has no windows to raise.
POPS_UP = pytest.mark.qt_log_ignore("does not support (raise|grabbing)", extend=True)
LONG = "Vorderes linkes Rad mit langem Namen 012"


@pytest.fixture
def plot(window):
    return see(window)


def notes(lane):
    return [note.text for note in lane.notes.notes]


def tones(plot):
    """How many pixels have about the colour of each number of a curve; fine lines are nowhere quite of it."""
    found = pixels(plot.chart)
    shown = np.array([QColor(name).getRgb()[:3] for name in found])
    counts = np.array(list(found.values()))
    return [
        int(counts[np.abs(shown - QColor(tone).getRgb()[:3]).sum(axis=1) < 60].sum())
        for tone in current_theme().series
    ]


def key(plot, pressed, held=Qt.KeyboardModifier.NoModifier):
    plot.chart.setFocus()
    QTest.keyClick(plot.chart, pressed, held)


def test_angle_and_drag_are_plotted_at_first_each_with_its_unit(plot):
    assert plot.chosen == ("Steer angle", "Drag")
    assert [(lane.curves.title, lane.curves.unit) for lane in plot.chart.shown] == [
        ("Steer angle", "degrees"),
        ("Drag", "mm per metre"),
    ]
    assert plot.summary(plot._document.view) == "steer angle, drag"


@POPS_UP
def test_ticks_choose_the_plots_and_the_list_stays_open(plot):
    menu = plot.quantities.menu()
    menu.popup(QPoint(0, 0))
    at = menu.actionGeometry(plot.ticks["Miss"]).center()
    QTest.mouseClick(menu, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier, at)
    assert menu.isVisible()
    assert plot.chosen == ("Steer angle", "Miss", "Drag")
    menu.setActiveAction(plot.ticks["Steer angle"])
    QTest.keyClick(menu, Qt.Key.Key_Space)
    assert menu.isVisible()
    assert [lane.curves.title for lane in plot.chart.shown] == ["Miss", "Drag"]
    menu.close()


def test_plots_stand_one_below_the_other_over_the_same_turns(window, plot):
    plot.choose(FOUR)
    QApplication.processEvents()
    rooms = [lane.view.sceneBoundingRect() for lane in plot.chart.shown]
    for above, below in itertools.pairwise(rooms):
        assert above.bottom() < below.top()
        assert (above.left(), above.right()) == (below.left(), below.right())
    wheel(plot.chart.viewport(), plot.chart.pixel_of(0.3, 0.0, 2), 3, held=CONTROL)
    spans = [lane.view.viewRange()[0] for lane in plot.chart.shown]
    assert all(span == pytest.approx(spans[0], abs=1e-12) for span in spans)
    assert spans[0][1] - spans[0][0] < 1.9
    window.document.set_turn(0.37)
    assert [lane.cursor.value() for lane in plot.chart.shown] == [0.37] * 4


def test_the_ends_are_named_below_the_last_plot_and_numbers_stand_there_where_it_is_zoomed(window, plot):
    def marks():
        image = QImage(8, 8, QImage.Format.Format_RGB32)
        painter = QPainter(image)
        texts = plot.chart._bottom.generateDrawSpecs(painter)[2]
        painter.end()
        return texts

    room = plot.chart._bottom.mapRectFromParent(plot.chart._bottom.geometry())
    found = marks()
    assert {text for _r, _f, text in found} == {"spot left", "straight", "spot right"}
    assert all(room.left() <= rect.left() and rect.right() <= room.right() for rect, _f, _t in found)
    window.document.edit("Reach", lambda d: edits.change_chassis(d, largest_turn=0.5))
    assert {text for _r, _f, text in marks()} == {"0.5 left", "straight", "0.5 right"}
    wheel(plot.chart.viewport(), at_turn(plot, 0.2), 4, held=CONTROL)
    assert {text for _r, _f, text in marks()}.isdisjoint({"straight", "0.5 left"})


def test_the_selected_wheel_is_strong_and_the_others_are_pale(window, plot):
    theme = current_theme()
    before = pixels(plot.chart)
    assert before[theme.accent] > 100
    assert max(tones(plot)[1:4]) < 10  # the fourth is near to the colour of a limit
    window.document.select(())
    after = pixels(plot.chart)
    assert after.get(theme.accent, 0) < 5
    assert min(tones(plot)[:6]) > 15


def test_the_selected_wheel_has_the_values_of_the_table_at_the_cursor(window, plot):
    plot.choose(FOUR)
    for turn in (0.3, -0.8123, 0.0):
        window.document.set_turn(turn)
        for index in (0, 4):
            window.document.select(references_to("wheel", {index}))
            row = window.document.view.rows[index]
            values = (math.degrees(row.steer), row.speed, row.miss, row.drag)
            for lane, value in zip(plot.chart.shown, values, strict=True):
                (text,) = notes(lane)
                name, shown = text.rsplit(" ", 1)
                assert name == row.name
                assert float(shown.rstrip("°")) == pytest.approx(
                    value, abs=0.0051 if lane.curves.sign else 0.051
                )


def test_in_reverse_the_values_stay_those_of_the_curves(window, plot):
    plot.choose(["Rolling speed"])
    window.document.set_turn(0.3)
    before = notes(plot.chart.shown[0])
    window.document.set_speed(-1.0)
    assert notes(plot.chart.shown[0]) == before


def test_a_hidden_curve_is_named_and_its_strokes_take_turns(window, plot):
    angles = plot.chart.shown[0]
    assert "middle right: on the curve of middle left." in angles.head.words
    assert "All 6 curves lie on one another." in plot.chart.shown[1].head.words
    window.document.select(())
    plot.choose(["Drag"])  # all six lie on the line of 0
    assert min(tones(plot)[:6]) > 15


def test_while_something_is_dragged_nothing_is_said_of_hidden_curves(window, plot):
    window.document.preview(lambda d: edits.move_wheels(d, {0: (171.0, 128.0)}))
    assert "curve of" not in plot.chart.shown[0].head.words
    window.document.cancel_preview()
    assert "curve of" in plot.chart.shown[0].head.words


def test_curves_that_differ_for_a_stretch_are_no_hidden_ones():
    turns = np.linspace(-1.0, 1.0, 201)
    bump = np.where(np.abs(turns) < 0.02, 5.0, 0.0)
    values = np.stack([turns, turns + bump, turns + 1e-4, np.full(201, np.nan)], axis=1)
    assert coinciding(values) == ((0, 2),)
    gap = values.copy()
    gap[50, 2] = np.nan
    assert coinciding(gap) == ()


def test_the_pointer_shows_the_value_of_the_curve_below_it_and_its_turn_in_all_plots(window, plot):
    chart, lane = plot.chart, plot.chart.shown[0]
    row = lane.row_at(-0.5)
    turn, value = lane.curves.turns[row], lane.curves.values[row, 1]
    move_to(chart.viewport(), chart.pixel_of(turn, value), button=NO_BUTTON)
    (text,) = notes(lane)
    assert text == f"front right {f'{value:.2f}'.rstrip('0').rstrip('.')}°"
    assert all(one.notes.pointer == pytest.approx(turn, abs=0.01) for one in chart.shown)
    QApplication.sendEvent(chart, QEvent(QEvent.Type.Leave))
    assert notes(lane)[0].startswith("front left ")
    assert lane.notes.pointer is None


@pytest.mark.parametrize(
    ("pressed", "held", "turn"),
    [
        (Qt.Key.Key_Left, Qt.KeyboardModifier.NoModifier, 0.31),
        (Qt.Key.Key_Right, Qt.KeyboardModifier.NoModifier, 0.29),
        (Qt.Key.Key_Right, Qt.KeyboardModifier.ShiftModifier, 0.2),
        (Qt.Key.Key_PageUp, Qt.KeyboardModifier.NoModifier, 0.4),
        (Qt.Key.Key_Home, Qt.KeyboardModifier.NoModifier, 1.0),
        (Qt.Key.Key_End, Qt.KeyboardModifier.NoModifier, -1.0),
        (Qt.Key.Key_0, Qt.KeyboardModifier.NoModifier, 0.0),
    ],
)
def test_keys_move_the_cursor_which_is_the_turn(window, plot, pressed, held, turn):
    window.document.set_turn(0.3)
    key(plot, pressed, held)
    assert window.document.command.turn == pytest.approx(turn)
    assert plot.chart.turn == window.document.command.turn


def test_keys_stop_at_the_largest_turn(window, plot):
    window.document.edit("Reach", lambda d: edits.change_chassis(d, largest_turn=0.5))
    window.document.set_turn(0.495)
    key(plot, Qt.Key.Key_Left)
    assert window.document.command.turn == 0.5


def test_every_value_at_the_cursor_is_told_to_who_cannot_see_it(window, plot):
    key(plot, Qt.Key.Key_Left)
    told = plot.chart.accessibleDescription()
    view = window.document.view
    assert told.startswith(f"Turn {view.command.turn:g}. Steer angle, degrees: ")
    for row in view.rows:
        angle = f"{math.degrees(row.heading):.2f}".rstrip("0").rstrip(".")
        assert f"{row.name} {angle.replace('-0', '0') if float(angle) == 0 else angle}°" in told
    assert "Drag, mm per metre: front left 0, " in told


def test_up_and_down_select_another_wheel(window, plot):
    key(plot, Qt.Key.Key_Down)
    assert window.document.view.selected_wheels == (1,)
    key(plot, Qt.Key.Key_Up)
    key(plot, Qt.Key.Key_Up)
    assert window.document.view.selected_wheels == (5,)
    assert notes(plot.chart.shown[0])[0].startswith("rear right ")


def test_numbers_are_copied_with_their_units_and_read_back(window, plot):
    plot.choose(["Steer angle", "Miss"])
    plot.copy_numbers.trigger()
    heads, *lines = QGuiApplication.clipboard().text().splitlines()
    assert heads.split("\t")[:2] == ["turn input", "front left, steer angle, degrees"]
    assert heads.split("\t")[-1] == "rear right, miss of the axle line, mm"
    cells = np.array([[float(cell or "nan") for cell in line.split("\t")] for line in lines])
    first, second = (lane.curves for lane in plot.chart.shown)
    wanted = np.column_stack([first.turns, first.values, second.values])
    assert cells == pytest.approx(wanted, rel=1e-6, abs=1e-6, nan_ok=True)
    window.action["inch"].trigger()
    plot.copy_numbers.trigger()
    heads, *lines = QGuiApplication.clipboard().text().splitlines()
    assert heads.endswith("miss of the axle line, inch")


def test_the_picture_is_that_of_the_screen(plot):
    plot.copy_picture.trigger()
    image = QGuiApplication.clipboard().image()
    assert image.size() == plot.chart.size() * plot.chart.devicePixelRatio()
    assert image == plot.chart.grab().toImage().convertToFormat(image.format())


@POPS_UP
def test_the_menu_of_the_chart_has_its_actions(plot):
    at = at_turn(plot, 0.0).toPoint()
    event = QContextMenuEvent(QContextMenuEvent.Reason.Mouse, at, plot.chart.mapToGlobal(at))
    QApplication.sendEvent(plot.chart.viewport(), event)
    assert plot.chart._menu.isVisible()
    assert plot.chart._menu.actions() == [plot.copy_picture, plot.copy_numbers, plot.whole]
    plot.chart._menu.close()


def test_lengths_and_drags_are_in_inches_where_the_screen_is(window, plot):
    plot.choose(["Miss", "Drag"])
    mm = [lane.curves.values for lane in plot.chart.shown]
    limits = [value for value, _ in plot.chart.shown[1].curves.limits]
    window.action["inch"].trigger()
    miss, drag = plot.chart.shown
    assert (miss.curves.unit, drag.curves.unit) == ("inch", "in per foot")
    assert miss.curves.values * 25.4 == pytest.approx(mm[0], nan_ok=True)
    assert drag.curves.values / 0.012 == pytest.approx(mm[1], nan_ok=True)
    assert [value / 0.012 for value, _ in drag.curves.limits] == pytest.approx(limits)


def test_a_wheel_has_the_same_strokes_in_every_plot(make_window, make_document):
    plot = see(make_window(make_document(scout(FRONT, REAR, *DRIVES))))
    plot.choose([quantity.name for quantity in QUANTITIES])
    by_name = {}
    for lane in plot.chart.shown:
        for name, number in zip(lane.curves.names, lane.look.numbers, strict=True):
            by_name.setdefault(name, set()).add(number)
    assert by_name["middle left"] == {2}
    assert by_name["turn radius"] == {-1}
    assert len(by_name["front"] | by_name["rear"] | {0, 1, 2, 3, 4, 5}) == 8


@pytest.mark.parametrize("width", [320, 384, 560])
def test_no_word_is_cut_at_any_width_of_the_panel(make_window, make_document, width):
    window = make_window(make_document(sample_design("misbuilt_scout")))
    document = window.document
    for index, name in enumerate((LONG, "передний правый", "b" * 40)):
        document.edit("Rename", lambda d, i=index, n=name: edits.rename_wheel(d, i, n))
    plot = see(window)
    plot.choose([quantity.name for quantity in QUANTITIES])
    chart = plot.chart
    chart.setMinimumWidth(0)
    chart.setParent(None)
    chart.resize(width - 24, chart._tall(width - 24, 74.0))
    chart.show()
    try:
        font = QFont(chart.font())
        font.setPixelSize(11)
        strong = QFont(font)
        strong.setWeight(QFont.Weight.DemiBold)
        room = chart.width() - 4
        legend = QFontMetricsF(strong)
        shown = [text for lines in chart._legend._texts for text in lines]
        assert "".join(shown).replace(" ", "").startswith(LONG.replace(" ", ""))
        assert all(legend.horizontalAdvance(text) + 22 <= room for text in shown)
        for lane in chart.shown:
            assert all(QFontMetricsF(font).horizontalAdvance(line) <= room for line in lane.head._lines)
            assert "".join(lane.head._lines).replace(" ", "") == lane.head.words.replace(" ", "")
            assert lane.view.sceneBoundingRect().height() >= 73.0
        assert chart._bottom.geometry().bottom() <= chart.height() + 1
    finally:
        plot._layout.addWidget(chart, 1)


def test_a_text_finds_a_free_spot_inside_or_none(qapp):
    metrics, room = QFontMetricsF(QFont()), QRectF(0, 0, 200, 80)
    at = QPointF(195.0, 2.0)
    spot = free_spot(metrics, "rear left 94.9", at, room, [])
    assert room.contains(spot)
    other = free_spot(metrics, "rear left 94.9", at, room, [spot])
    assert room.contains(other)
    assert not other.intersects(spot)
    assert free_spot(metrics, "m" * 60, at, room, []) is None


def test_a_long_word_is_broken_and_nothing_of_it_is_lost(qapp):
    metrics = QFontMetricsF(QFont())
    lines = wrapped(f"front left: on the curve of {'w' * 60}.", metrics, 120.0)
    assert all(metrics.horizontalAdvance(line) <= 120.0 for line in lines)
    assert "".join(lines).replace(" ", "") == f"frontleft:onthecurveof{'w' * 60}."
    assert wrapped("", metrics, 120.0) == []
