"""What the program says about itself."""

from importlib.metadata import PackageNotFoundError

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QMessageBox

from app.dialogs import help as about
from tests.windows import collect_garbage


@pytest.fixture
def told(monkeypatch):
    heard = []
    monkeypatch.setattr(QMessageBox, "about", lambda *words: heard.append(words[-1]))
    return heard


def test_the_version_is_told(monkeypatch, told):
    monkeypatch.setattr(about, "version", lambda _name: "7.8.9")
    about.show_about(None)
    assert told[0].startswith("Axlewright 7.8.9\n")


def test_without_an_installation_the_source_folder_is_told(monkeypatch, told):
    def missing(name):
        raise PackageNotFoundError(name)

    monkeypatch.setattr(about, "version", missing)
    about.show_about(None)
    assert told[0].startswith("Axlewright, run from its source folder\n")


def pages(window):
    return window.findChildren(about.PageDialog)


def test_fifty_presses_of_the_help_key_raise_the_one_window_that_is_there(window):
    assert window.panels, "made here, where those of folded sections would come meanwhile"
    window.action["help"].trigger()
    (page,) = pages(window)
    collect_garbage()
    count = len(QApplication.allWidgets())
    for press in range(50):
        if press % 5 == 0:
            page.close()
            assert not page.isVisible()
        window.action["help"].trigger()
        collect_garbage()
        assert pages(window) == [page]
        assert page.isVisible()
    assert len(QApplication.allWidgets()) == count


def test_help_and_news_are_two_windows(window):
    for key in ("help", "news", "help", "news"):
        window.action[key].trigger()
    assert sorted(page.windowTitle() for page in pages(window)) == ["Help", "What is new"]


@pytest.fixture
def page(window):
    window.action["help"].trigger()
    (made,) = pages(window)
    made.activateWindow()
    QApplication.processEvents()
    return made


def chosen(page):
    return page.page.textCursor().selectedText()


def at(page):
    return page.page.textCursor().selectionStart()


def test_what_is_typed_is_found_and_enter_goes_on(page):
    QTest.keyClick(page, Qt.Key.Key_F, Qt.KeyboardModifier.ControlModifier)
    assert page.sought.hasFocus()
    QTest.keyClicks(page.sought, "kingpin")
    assert chosen(page).casefold() == "kingpin"
    first = at(page)
    QTest.keyClick(page.sought, Qt.Key.Key_Return)
    second = at(page)
    assert second > first
    assert page.isVisible()
    QTest.keyClick(page.sought, Qt.Key.Key_Return, Qt.KeyboardModifier.ShiftModifier)
    assert at(page) == first
    page.next.click()
    assert at(page) == second


def test_the_search_goes_round_and_says_so(page):
    QTest.keyClicks(page.sought, "kingpin")
    first, places = at(page), []
    assert chosen(page)
    while page.found.text() == "" and len(places) < 500:
        places.append(at(page))
        page.find_next()
    assert page.found.text() == "from the top"
    assert at(page) == first
    assert len(places) == page.page.toPlainText().casefold().count("kingpin")


def test_words_that_do_not_stand_there_are_told(page):
    QTest.keyClicks(page.sought, "left-handed spanner")
    assert page.found.text() == "not found"
    page.find_next()
    assert page.found.text() == "not found"
    assert page.isVisible()
