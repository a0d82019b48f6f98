"""A section: its head folds it, what is hidden rests, and it may have a window of its own."""

import pytest
from PySide6.QtCore import QRect, Qt
from PySide6.QtGui import QKeySequence
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from app.design.samples import sample_design
from app.panels.panel import Panel
from app.panels.registry import PanelSpec
from app.settings import Settings
from app.theme import current_theme
from app.window.section import Section, SectionHead
from tests.picture import shows

Key = Qt.Key


class Counting(Panel):
    """A panel that counts what it was shown."""

    def __init__(self, document):
        super().__init__(document)
        self.shown = 0

    def show_view(self, _view):
        self.shown += 1

    def summary(self, view):
        return f"{len(view.design.wheels)} wheels"


@pytest.fixture(params=[True, False], ids=["rests", "never rests"])
def section(request, qtbot, document):
    spec = PanelSpec("tally", "Tally", "lay out", None, rests=request.param, make=Counting)
    made = Section(spec, document)
    qtbot.addWidget(made)
    document.changed.connect(made.show_view)
    made.show_here(here=True)
    made.resize(320, 200)
    made.show()
    QApplication.processEvents()
    return made


def test_a_panel_is_made_when_it_is_first_seen_or_told_of(qtbot, document):
    made = Section(PanelSpec("tally", "Tally", "lay out", None, rests=True, make=Counting), document)
    qtbot.addWidget(made)
    told = []
    made.made.connect(lambda key, panel: told.append((key, panel)))
    made.show_here(here=False)
    made.unfold()
    made.show_view(document.view)
    made.refresh_theme()
    assert made.panel_so_far is None
    assert told == []
    made.show_here(here=True)
    assert made.panel_so_far is made.panel
    assert told == [("tally", made.panel)]


def test_a_click_on_the_head_unfolds_and_folds(section):
    told = []
    section.changed.connect(lambda: told.append(section.unfolded))
    assert not section.panel.isVisible()
    for seen in (True, False, True):
        QTest.mouseClick(section.head, Qt.MouseButton.LeftButton)
        assert section.panel.isVisible() is section.unfolded is seen
    assert told == [True, False, True]


@pytest.mark.parametrize("key", [Key.Key_Space])
def test_the_head_unfolds_by_key(section, key):
    section.head.setFocus()
    QTest.keyClick(section.head, key)
    assert section.panel.isVisible()


def test_to_unfold_by_the_program_is_no_act_of_the_person(section):
    told = []
    section.changed.connect(lambda: told.append(True))
    section.unfold()
    section.show_here(here=False)
    section.show_here(here=True)
    assert told == []


def test_a_folded_panel_that_rests_works_nothing_out_and_catches_up(section, document):
    before = section.panel.shown
    document.set_turn(0.25)
    assert (section.panel.shown == before) is section.spec.rests
    before = section.panel.shown
    section.unfold()
    assert section.panel.shown > before
    before = section.panel.shown
    document.set_turn(0.5)
    assert section.panel.shown == before + 1


def test_a_section_of_another_stage_is_gone_and_keeps_its_fold(section, document):
    section.unfold()
    section.show_here(here=False)
    assert not section.isVisible()
    assert not section.panel.isVisible()
    assert section.unfolded
    before = section.panel.shown
    document.set_turn(0.25)
    assert (section.panel.shown == before) is section.spec.rests
    section.show_here(here=True)
    assert section.panel.isVisible()


def test_a_window_of_its_own_shows_the_panel_in_every_stage_until_it_is_closed(section, document):
    told = []
    section.changed.connect(lambda: told.append(section.window_of_own is not None))
    section.out.click()
    own = section.window_of_own
    assert own.isVisible()
    assert own.isAncestorOf(section.panel)
    assert own.windowTitle().startswith("Tally")
    section.show_here(here=False)
    assert section.panel.isVisible()
    before = section.panel.shown
    document.set_turn(0.25)
    assert section.panel.shown == before + 1
    section.show_here(here=True)
    own.close()
    assert section.window_of_own is None
    assert section.isAncestorOf(section.panel)
    assert section.panel.isVisible() is section.unfolded
    section.unfold()
    assert section.panel.isVisible()
    assert told == [True, False]


def test_a_second_wish_for_a_window_brings_the_first_to_the_front(section):
    section.take_out()
    own = section.window_of_own
    section.take_out()
    assert section.window_of_own is own
    section.put_back()
    section.put_back()
    assert section.window_of_own is None


def test_the_head_tells_what_the_panel_holds_and_what_a_click_does(section, document):
    section.show_view(document.view)
    head = section.head
    assert (head.text(), head.summary) == ("Tally", "")
    assert section.waits
    section.make()
    assert not section.waits
    assert (head.text(), head.summary) == ("Tally", "6 wheels")
    assert (head.accessibleName(), head.accessibleDescription()) == ("Tally", "6 wheels")
    assert head.toolTip() == "Tally: 6 wheels. Unfold it."
    section.unfold()
    assert head.toolTip() == "Tally: 6 wheels. Fold it away."
    assert section.out.accessibleName() == "Tally in a window of its own"


def test_the_summary_waits_for_the_end_of_a_drag(section, document):
    section.make()
    fewer = document.design.edited(wheels=document.design.wheels[:4])
    document.preview(lambda _d: fewer)
    assert section.head.summary == "6 wheels"
    document.commit_preview("Fewer")
    assert section.head.summary == "4 wheels"


@pytest.mark.parametrize("summary", ["", "6 wheels", "a summary that is much too long for one line of it"])
@pytest.mark.parametrize("width", [288, 560])
def test_title_and_summary_never_meet(qtbot, summary, width):
    head = SectionHead("Title")
    qtbot.addWidget(head)
    head.resize(width, head.sizeHint().height())
    bare = head.grab().toImage()
    head.show_summary(summary)
    now = head.grab().toImage()
    assert (now == bare) == (not summary)
    assert shows(now, current_theme().ink)
    # The title and what stands before it stay as they are.
    left = QRect(0, 0, 12 + head.fontMetrics().horizontalAdvance("Title"), head.height())
    assert now.copy(left) == bare.copy(left)
    if summary:
        assert shows(
            now.copy(left.right() + 8, 4, width - left.right() - 36, 24), current_theme().faint, near=80
        )


@pytest.mark.parametrize("key", ["Del", "Ctrl+A", "Ins", "Ctrl+D"])
def test_keys_in_a_window_of_its_own_change_nothing_that_is_not_seen_there(window, key):
    window.go_to_stage("check")
    section = window.sections["working"]
    section.take_out()
    own = section.window_of_own
    own.activateWindow()
    QApplication.processEvents()
    section.panel.text.setFocus()
    before, chosen = window.document.design, window.document.selection
    QTest.keySequence(own, QKeySequence(key))
    assert window.document.design is before
    assert window.document.selection == chosen
    section.put_back()


def test_the_key_that_closes_closes_a_window_of_its_own_alone(window):
    window.go_to_stage("check")
    section = window.sections["working"]
    section.take_out()
    own = section.window_of_own
    own.activateWindow()
    QApplication.processEvents()
    section.panel.text.setFocus()
    QTest.keySequence(own, QKeySequence("Ctrl+W"))
    assert section.window_of_own is None
    assert not window.at_start


def test_heads_are_of_now_after_a_change_in_another_stage(window):
    window.go_to_stage("motors")
    window.document.edit("Leave one", lambda d: d.edited(wheels=d.wheels[:1]))
    window.go_to_stage("lay out")
    assert window.sections["wheels"].head.summary == "1 wheel"


def test_a_section_is_as_high_as_its_words_need_once_there_are_more_of_them(make_window, make_document):
    window = make_window(make_document(sample_design("marsh_scout_motors")), Settings(welcome_dismissed=True))
    window.resize(1024, 700)
    window.go_to_stage("drive")
    section, panel = window.sections["drive"], window.panels["drive"]
    panel.told.setText("\n".join(["Front left touches a wall at 3.2 s, x 1054 mm, y 60 mm."] * 8))
    for _ in range(5):
        QApplication.processEvents()
    assert panel.height() >= panel.heightForWidth(panel.width())
    assert panel.course.height() >= panel.course.sizeHint().height()
    assert section.mapTo(section.parentWidget(), section.rect().topLeft()).y() == 0
    window.middle.session.close()
