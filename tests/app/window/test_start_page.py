"""The start page: what a person may begin with, by mouse and by keys alone, at every size."""

from __future__ import annotations

import os
import threading
from datetime import datetime, timedelta

import pytest
from PySide6.QtCore import QCoreApplication, QEvent, QPoint, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QScrollArea, QToolButton, QWidget

import app.window.start_page as start_page
from app.design.files import write_design
from app.design.samples import sample_design
from app.settings import Settings
from app.theme import DARK, LIGHT
from app.views.still import small_picture
from app.window.start_page import StartPage, saved_when
from sample_chassis import SAMPLES

SIZES = [(1280, 772), (1024, 672), (960, 512)]
NOON = datetime(2026, 3, 12, 12, 0)


class Heard:
    """What a page asked for, in order."""

    def __init__(self, page: StartPage) -> None:
        self.all: list[tuple[str, object]] = []
        for name in ("made", "sample_asked", "file_asked", "file_forgotten"):
            getattr(page, name).connect(lambda value, n=name: self.all.append((n, value)))
        for name in ("open_asked", "empty_asked", "left"):
            getattr(page, name).connect(lambda n=name: self.all.append((n, None)))


@pytest.fixture
def make_page(qtbot):
    before = set(threading.enumerate())

    def make(settings=None, *, can_leave=False, size=SIZES[0]):
        page = StartPage(settings or Settings())
        qtbot.addWidget(page)
        page.begin(settings or Settings(), can_leave=can_leave)
        page.resize(*size)
        page.show()
        page.activateWindow()
        page.form.begin("mm")
        qtbot.waitUntil(lambda: all(tile.design is not None for tile in page.samples), timeout=20_000)
        return page

    yield make
    QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
    assert [thread for thread in threading.enumerate() if thread not in before] == []


@pytest.fixture
def files(tmp_path):
    """A file that is there, and one that is gone."""
    there = tmp_path / "robots" / "six wheels.json"
    there.parent.mkdir()
    write_design(there, sample_design(SAMPLES[0].key))
    return there, tmp_path / "robots" / "garden cart.json"


def recent(files) -> Settings:
    return Settings(recent_files=tuple(str(path) for path in files))


def press(page, *keys):
    for key in keys:
        QTest.keyClick(page.focusWidget(), key)


def stops(page) -> list[QWidget]:
    """Where Tab stops, from the name on until it comes round."""
    page.form.name.setFocus()
    found = [page.focusWidget()]
    for _ in range(60):
        press(page, Qt.Key.Key_Tab)
        if page.focusWidget() is found[0]:
            return found
        found.append(page.focusWidget())
    pytest.fail("Tab never comes round")


def name_of(widget: QWidget) -> str:
    return widget.accessibleName() or widget.text()


# What is asked for ------------------------------------------------------------------------


def test_enter_on_the_name_makes_the_chassis(make_page):
    page = make_page()
    heard = Heard(page)
    QTest.keyClicks(page.focusWidget(), "Reed hopper")
    press(page, Qt.Key.Key_Return)
    ((name, made),) = heard.all
    assert name == "made"
    assert made.design.name == "Reed hopper"
    assert len(made.design.wheels) == 6


def test_each_way_to_begin_is_taken_by_enter_and_means_itself_alone(make_page, files):
    page = make_page(recent(files[:1]), can_leave=True)
    for stop, asked in (
        (page.back, ("left", None)),
        (page.form.empty, ("empty_asked", None)),
        (page.files[0], ("file_asked", files[0])),
        (page.open, ("open_asked", None)),
        *((tile, ("sample_asked", tile.sample.key)) for tile in page.samples),
    ):
        for key in (Qt.Key.Key_Return, Qt.Key.Key_Space):
            heard = Heard(page)
            stop.setFocus()
            press(page, key)
            assert heard.all == [asked], name_of(stop)


def test_escape_goes_back_only_where_there_is_something_to_go_back_to(make_page):
    page = make_page(can_leave=True)
    heard = Heard(page)
    press(page, Qt.Key.Key_Escape)
    assert heard.all == [("left", None)]
    page.begin(Settings(), can_leave=False)
    assert not page.back.isVisible()
    press(page, Qt.Key.Key_Escape)
    assert heard.all == [("left", None)]


def test_escape_first_gives_up_what_is_being_typed(make_page):
    page = make_page(can_leave=True)
    heard = Heard(page)
    field = page.form.fields["track_mm"]
    field.setFocus()
    QTest.keyClicks(field, "9")
    press(page, Qt.Key.Key_Escape)
    assert heard.all == []
    assert field.text() == "240 mm"
    press(page, Qt.Key.Key_Escape)
    assert heard.all == [("left", None)]


def test_hiding_the_page_ends_a_search(make_page):
    page = make_page()
    page.form.wheels.choose(10)
    page.form.steered.setCurrentIndex(3)
    page.form.motors.setCurrentIndex(2)
    page.form.make.click()
    assert page.form.stop.isVisible()
    page.hide()
    page.show()
    assert page.form.make.isVisible()


def test_numbers_stay_as_they_were_left_and_the_unit_is_that_of_the_window(make_page):
    page = make_page()
    page.form.wheels.choose(8)
    page.begin(Settings(length_unit="inch"), can_leave=True)
    assert page.form.wheels.value == 8
    assert page.unit == "inch"
    assert page.focusWidget() is page.form.name


# Files ------------------------------------------------------------------------------------


def test_a_recent_file_tells_name_when_and_folder(make_page, files, qtbot, monkeypatch):
    os.utime(files[0], (NOON.timestamp(), NOON.timestamp()))
    monkeypatch.setattr(start_page, "now", lambda: NOON)
    page = make_page(recent(files))
    qtbot.waitUntil(lambda: page.files[1].missing)
    assert page.files[0].accessibleName() == "six wheels, today 12:00, robots"
    assert page.files[0].toolTip() == str(files[0])


def test_a_missing_file_says_so_cannot_be_opened_and_can_be_removed_by_keys(make_page, files, qtbot):
    page = make_page(recent(files))
    heard = Heard(page)
    there, gone = page.files
    qtbot.waitUntil(lambda: gone.missing)
    assert "not found in robots" in gone.accessibleName()
    assert not gone.isEnabled()
    shown = [button for button in page.findChildren(QToolButton) if button.isVisible()]
    (remove,) = shown
    assert remove.accessibleName() == "Remove garden cart from the list"
    assert remove in stops(page)
    remove.setFocus()
    press(page, Qt.Key.Key_Space)
    assert heard.all == [("file_forgotten", files[1])]
    assert page.files == [there]
    assert page.focusWidget() is there


def test_a_folder_where_the_file_was_counts_as_missing(make_page, tmp_path, qtbot):
    page = make_page(Settings(recent_files=(str(tmp_path),)))
    qtbot.waitUntil(lambda: page.files[0].missing)


def test_names_that_look_like_tags_are_shown_as_they_are(make_page, tmp_path):
    odd = tmp_path / "<b>x.json"
    page = make_page(Settings(recent_files=(str(odd),)))
    assert "&lt;b&gt;" in page.files[0].toolTip()
    assert page.files[0].text() == "<b>x"


@pytest.mark.parametrize(
    ("before", "words"),
    [
        (timedelta(hours=3), "today 09:00"),
        (timedelta(hours=13), "yesterday 23:00"),
        (timedelta(days=3), "Monday"),
        (timedelta(days=7), "5 March 2026"),
        (timedelta(days=-2), "14 March 2026"),
    ],
)
def test_when_a_file_was_saved_is_told_in_few_words(before, words):
    assert saved_when(NOON - before, NOON) == words


# Samples ----------------------------------------------------------------------------------


def test_just_the_samples_that_drag_have_a_mark_and_say_so(make_page):
    page = make_page()
    drags = {tile.sample.key for tile in page.samples if tile.faulty}
    assert drags == {"dyke_hauler_eight", "misbuilt_scout"}
    for tile in page.samples:
        assert tile.accessibleName().endswith(", drags") == tile.faulty
        assert ("drags over part of the range" in tile.toolTip()) == tile.faulty


def test_samples_are_read_only_after_the_page_is_seen(qtbot, monkeypatch):
    read = []
    monkeypatch.setattr(start_page, "sample_design", lambda key: read.append(key) or sample_design(key))
    page = StartPage(Settings())
    qtbot.addWidget(page)
    QApplication.processEvents()
    assert read == []
    page.show()
    qtbot.waitUntil(lambda: len(read) == len(SAMPLES), timeout=20_000)


def test_a_small_picture_shows_the_wheels_of_its_design_and_is_made_once():
    one = sample_design("marsh_scout_six")
    made = small_picture(one, LIGHT, 48, 54, 2.0)
    assert (made.width(), made.height()) == (96, 108)
    assert small_picture(one, LIGHT, 48, 54, 2.0) is made
    tints = {made.pixelColor(x, y).name() for x in range(96) for y in range(108)}
    assert {LIGHT.steered, LIGHT.fixed, LIGHT.body} <= tints
    assert small_picture(sample_design("creek_tricycle"), LIGHT, 48, 54, 2.0) != made
    assert small_picture(one, DARK, 48, 54, 2.0) != made
    assert made.pixelColor(0, 54).alpha() == 0


# Keys and room ----------------------------------------------------------------------------


@pytest.mark.parametrize("size", SIZES)
def test_tab_reaches_all_in_reading_order_and_shows_where_it_is(make_page, files, size, qtbot):
    page = make_page(recent(files), can_leave=True, size=size)
    qtbot.waitUntil(lambda: page.files[1].missing)
    form = page.form
    remove = next(button for button in page.findChildren(QToolButton) if button.isVisible())
    wanted = [
        *(form.name, form.wheels.usual.buttons[6], form.steered, form.units.buttons["mm"]),
        *form.fields.values(),
        *(form.in_line, form.motors, form.make, form.empty),
        *(page.files[0], remove, page.open, *page.samples, page.back),
    ]
    assert [name_of(stop) for stop in stops(page)] == [name_of(stop) for stop in wanted]
    for stop in wanted:
        assert name_of(stop)
        assert stop.toolTip()
        assert page.focusWidget() is stop
        QApplication.processEvents()
        assert page.rect().contains(stop.mapTo(page, QPoint(0, 0))), name_of(stop)
        assert stop.visibleRegion().boundingRect() == stop.rect(), name_of(stop)
        press(page, Qt.Key.Key_Tab)


@pytest.mark.parametrize("size", SIZES)
def test_buttons_stay_in_sight_and_columns_scroll(make_page, files, size):
    page = make_page(recent(files), size=size)
    assert (page.width(), page.height()) == size
    for button in (page.form.make, page.form.empty):
        corner = button.mapTo(page, button.rect().bottomRight())
        assert page.rect().contains(corner)
        assert button.visibleRegion().boundingRect() == button.rect()
    page.form.motors.setCurrentIndex(2)
    page.form.wheels.choose(7)
    QApplication.processEvents()
    assert page.form.make.visibleRegion().boundingRect() == page.form.make.rect()
    for area in page.findChildren(QScrollArea):
        assert area.widget().minimumSizeHint().width() <= area.viewport().width()
        content = area.widget().height() - area.viewport().height()
        assert area.verticalScrollBar().maximum() == max(content, 0)


@pytest.mark.parametrize("size", SIZES)
def test_the_picture_keeps_room_whatever_is_said_below_it(make_page, size):
    page = make_page(size=size)
    page.form.wheels.choose(7)
    page.form.fields["body_width_mm"].setFocus()
    page.form.fields["body_width_mm"].selectAll()
    QTest.keyClicks(page.form.fields["body_width_mm"], "190")
    press(page, Qt.Key.Key_Tab)
    QApplication.processEvents()
    assert page.picture.notes.isVisible()
    assert page.picture.picture.height() >= 120
    line = page.picture.line
    assert line.heightForWidth(line.width()) <= line.height()


def test_the_columns_have_the_widths_of_the_window(make_page):
    page = make_page(size=(1280, 772))
    assert page.side.width() == 288
    page.resize(1179, 772)
    QApplication.processEvents()
    assert page.side.width() == 224
    page.resize(1180, 772)
    QApplication.processEvents()
    assert page.side.width() == 288
