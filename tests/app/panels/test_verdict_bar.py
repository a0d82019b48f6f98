"""The verdict at the head of the panel: no word of it is ever cut, and the plan beside it keeps its place."""

from __future__ import annotations

import pytest
from PySide6.QtCore import QPoint, QRect, Qt
from PySide6.QtGui import QFontMetrics
from PySide6.QtWidgets import QApplication

from app.design import edits
from app.design.references import references_to
from app.design.samples import sample_design
from app.icons import shared_picture
from app.panels.verdict_bar import VerdictBar, breakable
from app.theme import current_theme
from app.words.run_verdict import RunSoFar, Touch, run_verdict
from app.words.verdict import headline, this_turn, what_to_do
from geometry.model.design import Design
from tests.app.scouts import BOTH, FRONT, REAR, scout
from tests.windows import KEYS

LONG = "a rather long name of a wheel here"
UNBROKEN = "W" * 37


@pytest.fixture
def make_bar(qtbot, make_document):
    def make(design, width=700):
        document = make_document(design)
        bar = VerdictBar(document)
        qtbot.addWidget(bar)
        bar.resize(width, bar.height())
        bar.show()
        QApplication.processEvents()
        return bar, document

    return make


def labels(bar):
    return (bar.headline, bar.turn, bar.more)


def needed(label):
    room = QRect(0, 0, label.width(), 10_000)
    return QFontMetrics(label.font()).boundingRect(room, int(Qt.TextFlag.TextWordWrap), label.text())


def assert_nothing_is_cut(bar):
    QApplication.processEvents()
    bottom = 0
    for label in labels(bar):
        if not label.text():
            continue
        assert "…" not in label.text()
        assert needed(label).height() <= label.height(), label.text()
        assert needed(label).width() <= label.width(), label.text()
        assert label.heightForWidth(label.width()) <= label.height()
        assert label.geometry().top() >= bottom
        bottom = label.geometry().bottom()
        assert label.isVisible()
        assert label.parentWidget().rect().contains(label.geometry())
        assert bar.rect().contains(QRect(label.mapTo(bar, label.rect().topLeft()), label.size()))
        assert label.text().replace("\u200b", "") == label.accessibleDescription() == label.toolTip()


def renamed(design, name):
    for n in range(len(design.wheels)):
        design = edits.rename_wheel(design, n, f"{name} {n}")
    return design


@pytest.mark.parametrize("width", [288, 304, 320, 352, 384, *range(400, 1601, 150)])
@pytest.mark.parametrize("unit", ["mm", "inch"])
def test_nothing_is_cut_at_any_width(make_bar, width, unit):
    designs = [*map(sample_design, KEYS), scout(FRONT, REAR, BOTH), Design()]
    designs += [renamed(sample_design("misbuilt_scout"), name) for name in (LONG, UNBROKEN)]
    for design in designs:
        bar, document = make_bar(design, width)
        bar.set_unit(unit)
        for turn in (0.0, 0.1, 0.35, -0.39):
            document.set_turn(turn)
            assert_nothing_is_cut(bar)
            view = document.view
            told = [label.accessibleDescription() for label in labels(bar)]
            assert told == [
                headline(view.facts, unit),
                this_turn(view, unit),
                " ".join(what_to_do(view.facts, unit)),
            ]
        bar.close()


def assert_marked(bar, spoken, key, edge, ground):
    """The mark has the shape of its tone, in its colour, and says it to those who do not see it."""
    assert bar.mark.accessibleName() == spoken
    wanted = shared_picture(key, edge, ground, bar.devicePixelRatioF())
    assert bar.mark.pixmap().toImage() == wanted.toImage()
    assert bar.mark.rect().contains(QRect(QPoint(0, 0), bar.mark.pixmap().size()))
    assert ground in bar.styleSheet()


def test_the_mark_and_the_ground_follow_the_range_and_not_the_turn(make_bar):
    bar, document = make_bar(sample_design("misbuilt_scout"))
    theme = current_theme()
    for turn in (0.0, 0.1, 0.5):
        document.set_turn(turn)
        assert_marked(bar, "Bad", "wrong", theme.bad, theme.bad_ground)
        assert bar.headline.text() == "Drags over part of the range, by up to 1000 mm per metre."
        assert bar.worst.isVisible()
    good, _ = make_bar(sample_design(KEYS[0]))
    assert_marked(good, "Good", "done", theme.good, theme.good_ground)
    assert not good.worst.isVisible()
    assert not good.worst_turn.isVisible()
    empty, _ = make_bar(Design())
    assert_marked(empty, "Nothing yet", "open", theme.faint, theme.panel)


def test_the_worst_wheel_and_the_worst_turn_are_asked_for(make_bar):
    bar, document = make_bar(sample_design("misbuilt_scout"))
    worst = document.view.facts.check.worst
    wheels, turns = [], []
    bar.worst_asked.connect(lambda: wheels.append(True))
    bar.worst_turn_asked.connect(turns.append)
    bar.worst.click()
    bar.worst_turn.click()
    assert (wheels, turns) == ([True], [worst.turn])
    assert document.design.wheels[worst.wheel].name in bar.worst.toolTip()


def test_the_buttons_of_the_window_lead_to_the_worst_wheel_and_turn(make_window, make_document):
    window = make_window(make_document(sample_design("misbuilt_scout")))
    worst = window.document.view.facts.check.worst
    window.document.select(())
    window.middle.verdict.worst.click()
    assert window.document.selection == references_to("wheel", {worst.wheel})
    window.middle.verdict.worst_turn.click()
    assert window.document.command.turn == worst.turn


@pytest.mark.parametrize("key", [*KEYS, None])
@pytest.mark.parametrize("width", [288, 320, 420, 560, 760])
def test_the_bar_keeps_its_height_as_turn_and_wheel_are_dragged(make_bar, key, width):
    design = scout(FRONT, REAR, BOTH) if key is None else sample_design(key)
    bar, document = make_bar(design, width)
    before = bar.height()
    for turn in (0.0, 0.001, 0.1, 0.3, -0.39):
        document.set_turn(turn)
        QApplication.processEvents()
        assert bar.height() == before
    for step in (0.5, 3.0, 11.0, 40.0, 2.0):
        place = {2: (design.wheels[2].x_mm + step, design.wheels[2].y_mm + step / 2)}
        assert document.preview(lambda d, place=place: edits.move_wheels(d, place))
        assert_nothing_is_cut(bar)
        assert bar.height() == before
    document.commit_preview("Move")
    assert_nothing_is_cut(bar)
    told = bar.more.accessibleDescription()
    assert told == " ".join(what_to_do(document.view.facts, "mm"))


def grounds(bar):
    """Which of the grounds of a verdict the bar stands on."""
    theme = current_theme()
    names = ("good_ground", "slight_ground", "bad_ground")
    return [name for name in names if getattr(theme, name) in bar.styleSheet()]


def test_a_wheel_that_is_dragged_to_a_fault_turns_headline_mark_and_colour_at_the_first_step(make_bar):
    bar, document = make_bar(sample_design(KEYS[0]))
    before = (bar.headline.text(), bar.mark.accessibleName(), grounds(bar))
    assert before == ("Aligned at every turn.", "Good", ["good_ground"])
    document.set_turn(0.3)
    name = document.design.wheels[2].name
    assert document.preview(lambda d: edits.move_wheels(d, {2: (40.0, d.wheels[2].y_mm)}))
    assert bar.headline.text() == headline(document.view.facts, "mm")
    assert bar.headline.text().startswith("Drags over part of the range, by up to ")
    assert bar.turn.text() == this_turn(document.view, "mm")
    assert f"Worst: {name}, slip " in bar.turn.text()
    assert (bar.mark.accessibleName(), grounds(bar)) == ("Bad", ["bad_ground"])
    document.cancel_preview()
    assert (bar.headline.text(), bar.mark.accessibleName(), grounds(bar)) == before


def test_the_plan_keeps_its_place_when_the_verdict_grows(make_window, make_document):
    window = make_window(make_document(sample_design(KEYS[4])))
    QApplication.processEvents()
    before = window.canvas.geometry()
    for turn in (0.0, 0.1, 0.4, -0.4):
        window.document.set_turn(turn)
        QApplication.processEvents()
        assert window.canvas.geometry() == before


def test_only_words_too_long_for_a_line_may_be_broken():
    assert breakable("every axle points at the turn centre") == "every axle points at the turn centre"
    broken = breakable(f"wheel {UNBROKEN} drags")
    assert broken.replace("\u200b", "") == f"wheel {UNBROKEN} drags"
    assert max(map(len, broken.replace("\u200b", " ").split())) < 20


def test_words_that_are_gone_keep_no_keyboard(make_bar):
    bar, document = make_bar(scout(REAR))
    bar.activateWindow()
    document.start(sample_design("misbuilt_scout"))
    QApplication.processEvents()
    assert bar.more.text()
    bar.more.setFocus()
    assert bar.more.hasFocus()
    document.start(Design())
    assert not bar.more.text()
    assert not bar.more.hasFocus()


def run(phase, **come):
    return RunSoFar(phase, obstacles=2, **come)


def test_a_drive_takes_the_head_and_gives_it_back(make_bar):
    bar, document = make_bar(edits.move_wheels(sample_design(KEYS[0]), {2: (40.0, 120.0)}), 320)
    before = [label.accessibleDescription() for label in labels(bar)]
    mark = bar.mark.accessibleName()
    assert bar.worst.isVisible()
    told = run_verdict(run("driven"), document.view.facts, "mm")
    bar.show_run(told)
    assert tuple(label.accessibleDescription() for label in labels(bar)) == told.lines
    assert bar.mark.accessibleName() == "Good"
    assert bar.headline.accessibleName() == "Verdict of the drive"
    assert not bar.worst.isVisible()
    document.set_turn(-0.4)
    document.edit("Name", lambda d: d.edited(name="other"))
    bar.refresh_theme()
    assert tuple(label.accessibleDescription() for label in labels(bar)) == told.lines
    document.set_turn(0.3)
    bar.show_run(None)
    assert [label.accessibleDescription() for label in labels(bar)] == before
    assert bar.mark.accessibleName() == mark
    assert bar.headline.accessibleName() == "Verdict over the whole range"
    assert bar.worst.isVisible()


@pytest.mark.parametrize("width", [304, 320, 400, 560])
def test_the_head_keeps_its_height_while_a_drive_goes_on(make_bar, width):
    bar, document = make_bar(edits.change_wheels(sample_design(KEYS[0]), [0], name=LONG), width)
    touch = Touch(LONG, "gate 12", 63.4, -2_210.0, 1_004.0)
    heights = []
    for so_far in (
        run("none"),
        run("preparing"),
        run("driving", drag_mm=3.0, way_mm=900.0),
        run("driving", drag_mm=300.0, way_mm=9_000.0, touches=1, first=touch),
        run("driven", drag_mm=3_000.0, way_mm=9_000.0, touches=12, first=touch),
        run("none"),
    ):
        bar.show_run(run_verdict(so_far, document.view.facts, "mm"))
        assert_nothing_is_cut(bar)
        heights.append(bar.minimumSizeHint().height())
    assert len(set(heights)) == 1, heights
