"""The rows of the panels are true: one that is added from outside is found in every place."""

from __future__ import annotations

import re
from typing import get_args

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QAction
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLineEdit, QVBoxLayout

from app.design import edits
from app.dialogs.help import help_text
from app.panels import registry
from app.panels.panel import Panel
from app.panels.registry import PANELS, PanelSpec, Stage
from app.panels.wheel_table import TurnTable
from app.picture.view import View


class Tally(Panel):
    """A panel from outside, which notes what it is told."""

    def __init__(self, document):
        super().__init__(document)
        self.heard = []
        layout = QVBoxLayout(self)
        self.field = QLineEdit()
        layout.addWidget(self.field)

    def show_view(self, view):
        self.heard.append(view)

    def set_unit(self, unit):
        self.heard.append(unit)

    def refresh_theme(self):
        self.heard.append("theme")


def settle():
    QApplication.processEvents()


@pytest.fixture
def add(monkeypatch):
    def add(*, rests):
        row = PanelSpec("tally", "Tally & more", "bench", "F9", rests=rests, make=Tally)
        monkeypatch.setattr(registry, "PANELS", (*PANELS, row))

    return add


@pytest.mark.parametrize("spec", PANELS, ids=lambda spec: spec.key)
def test_each_row_is_whole(window, spec):
    assert spec.stage in get_args(Stage)
    panel, section = window.panels[spec.key], window.sections[spec.key]
    assert isinstance(panel, Panel)
    assert section.isAncestorOf(panel)
    assert section.head.text() == spec.title


def test_no_two_rows_share_a_key_a_title_or_a_shortcut():
    for name in ("key", "title", "shortcut"):
        values = [getattr(spec, name) for spec in PANELS if getattr(spec, name) is not None]
        assert len(set(values)) == len(values)


def test_a_panel_from_outside_has_a_stage_a_section_a_menu_entry_and_a_key(add, make_window):
    add(rests=False)
    window = make_window()
    assert list(window.middle.bar.buttons) == ["lay out", "motors", "check", "drive", "build", "bench"]
    assert window.sections["tally"].head.text() == "Tally & more"
    assert not window.sections["tally"].isVisible()
    (menu,) = [a.menu() for a in window.findChildren(QAction) if a.text() == "Sec&tions"]
    texts = [a.text() for a in menu.actions()]
    assert "Go to Tally & more" in texts
    assert texts[-1] == "Tally & more in a window of its own"
    panel = window.panel("tally", Tally)
    assert not panel.field.hasFocus()
    QTest.keyClick(window.windowHandle(), Qt.Key.Key_F9)
    settle()
    assert window.middle.side.stage == "bench"
    assert panel.field.hasFocus()


def test_a_panel_from_outside_gets_units_theme_and_views(add, make_window):
    add(rests=False)
    window = make_window()
    heard = window.panel("tally", Tally).heard
    assert "mm" in heard
    window.action["inch"].trigger()
    window.document.set_turn(0.7)
    assert heard[-2:] == ["inch", window.document.view]
    heard.clear()
    window.action["dark"].trigger()
    settle()
    assert "theme" in heard


def test_a_panel_that_rests_unseen_is_told_when_it_is_seen_and_not_before(add, make_window):
    add(rests=True)
    window = make_window()
    settle()
    heard = window.panel("tally", Tally).heard
    window.document.set_turn(0.7)
    assert not any(isinstance(what, View) for what in heard)
    window.go_to("tally")
    settle()
    assert heard[-1] is window.document.view
    window.document.set_turn(0.2)
    assert heard[-1] is window.document.view
    window.go_to("wheel")
    settle()
    count = len(heard)
    window.document.set_turn(0.1)
    assert len(heard) == count


def test_a_panel_out_of_sight_is_not_told_during_a_drag_but_after_it(add, make_window):
    add(rests=False)
    window = make_window()
    settle()
    document, heard = window.document, window.panel("tally", Tally).heard
    heard.clear()
    document.preview(lambda d: edits.move_wheels(d, {0: (150.0, 90.0)}))
    assert heard == []
    document.commit_preview("Move")
    assert heard == [document.view]
    window.go_to("tally")
    settle()
    document.preview(lambda d: edits.move_wheels(d, {0: (140.0, 90.0)}))
    assert heard[-1] is document.view
    assert document.view.previewing
    document.cancel_preview()


def test_a_panel_asks_for_an_action_by_its_key(add, make_window):
    add(rests=False)
    window = make_window()
    window.panel("tally", Tally).action_asked.emit("select_all")
    assert len(window.document.selection) == 6


def test_the_help_lists_the_key_of_a_panel_from_outside(add):
    pattern = r"<tr><td>(Alt\+1.*?)</td><td>go to a section: (.*?)</td></tr>"
    keys, titles = re.findall(pattern, help_text())[0]
    keyed = [spec for spec in PANELS if spec.shortcut is not None]
    assert keys.split(", ") == [spec.shortcut for spec in keyed]
    assert titles.split(", ") == [spec.title for spec in keyed]
    add(rests=False)
    keys, titles = re.findall(pattern, help_text())[0]
    assert keys.endswith(", F9")
    assert titles.endswith(", Tally &amp; more")


def test_a_panel_that_is_another_than_thought_is_named(window):
    with pytest.raises(TypeError, match="the panel motors is a MotorsPanel and no TurnTable"):
        window.panel("motors", TurnTable)
    with pytest.raises(KeyError, match="tally"):
        window.panel("tally", Tally)
