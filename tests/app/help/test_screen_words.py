"""F1 explains every word on the screen: those of the real window and of its dialogs are collected."""

from __future__ import annotations

import html
import re
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QAction
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractItemView,
    QApplication,
    QCheckBox,
    QComboBox,
    QFormLayout,
    QGroupBox,
    QLabel,
    QListWidget,
    QTabBar,
    QWidget,
)

from app.design.references import references_to
from app.design.samples import sample_design
from app.dialogs.controller_export import ControllerExportDialog
from app.dialogs.export import ExportDialog
from app.dialogs.help import help_text
from app.dialogs.outline_import import OutlineImportDialog
from app.dialogs.sharing import AdviceDialog
from app.settings import Settings
from app.window.start_page import StartPage
from sample_chassis import SAMPLES

DECK = Path(__file__).parents[1] / "dialogs" / "deck.svg"
MOTORS = sample_design("marsh_scout_motors")
# Sentences explain themselves; what is no longer than this is a word that may need explaining.
MOST_WORDS = 4

# Words that everybody knows, with the reason why the page need not explain them.
PLAIN = {
    "a name that the person gives": {"name", "chassis", "notes"},
    "a size or place in plain words": {
        *("diameter", "width", "x, forward", "y, left", "x, forward mm", "y, left mm"),
        *("angle", "speed %", "radius", "miss", "x mm", "y mm", "radius mm"),
    },
    "a stage that is not shown yet": {"bench"},
    "a unit": {"bytes", "degrees", "mm", "°", "°/s", "‰", "‰ of full"},
    "a state in plain words": {"no wheels yet", "not made yet"},
    "a tab or a head that says what lies under it": {
        *("wheels", "wheel", "body", "working", "motors", "motor", "does", "wheels and gearing"),
        *("go to part", "go to parts"),
        *("sections", "go to chassis", "go to motors", "go to wheel", "go to wheels"),
        *("go to body", "go to working"),
        *("what have you got?", "from numbers", "go on with"),
    },
    "a choice that stands in a sentence": {"kind", "turn inputs", "or a step of"},
    "a direction": {"straight", "reverse"},
    "what every desktop program has": {
        *("about axlewright", "appearance", "as the system", "light", "dark", "edit", "file", "help", "view"),
        "what is new",
        *("fit", "zoom in", "zoom out", "open", "open recent", "open a sample", "save", "save as", "quit"),
        *("save a copy", "picture of the plan"),
        "find an action",
        *("undo", "redo", "delete", "copy rows", "copy all", "cancel", "close"),
        *("reset the layout", "got it", "select it", "find", "stop the search", "labels"),
        *("select all wheels", "add wheels", "copy the working", "show the first steps"),
    },
    "a choice of unit or of language": {"lengths", "inches", "millimetres"},
}
PLAIN_WORDS = {word for words in PLAIN.values() for word in words}
# A word of the screen that is made of one that the page explains.
MADE_OF = {
    "add a drive motor": "drive motor",
    "add a steer motor": "steer motor",
    "add drive motor": "drive motor",
    "add steer motor": "steer motor",
    "steer motors": "steer motor",
    "driven by a motor": "drive motor",
    "motor position, counts": "counts",
    "motor position, degrees": "told in",
    "motor position, microseconds": "microseconds of pulse",
    "add corner": "corner",
    "add pair": "a pair of wheels",
    "body mass, kg": "body mass",
    "ramp, s": "ramp",
    "controller's period, ms": "controller's period",
    "go to drive by": "drive",
    "go to script": "script",
    "go to course": "course",
    "drive by": "drive",
    "mass, kg": "mass",
    "up mm": "up",
    "add a body corner": "corner",
    "kind of wheel": "fixed, steered, caster",
    "type the turn radius": "turn radius",
    "delete corner": "corner",
    "choose the base axle": "base axle",
    "front overhang": "overhang",
    "rear overhang": "overhang",
    "left reference": "reference wheels",
    "right reference": "reference wheels",
    "select the next wheel": "the next wheel",
    "travel, highest": "travel, lowest and highest",
    "travel, lowest": "travel, lowest and highest",
    "travel, left": "travel, left and right",
    "travel, right": "travel, left and right",
    "export steering table": "the steering table",
    "drag mm/m": "drag",
    "dragged mm": "dragged",
    "now mm/m": "now",
    "miss mm": "miss distance",
    "this turn mm": "this turn",
    "least mm": "least",
    "most mm": "most",
    "up to": "dead band",
    "sharing of steer motors": "sharing",
    "sharing of drive motors": "sharing",
    "use these drive motors": "drive motor",
}


def page_words() -> str:
    """The text of the page in one line, in small letters."""
    return " ".join(html.unescape(re.sub(r"<[^>]*>", " ", help_text())).casefold().split())


def explained_words() -> str:
    """What stands in the left column of the page's tables."""
    cells = re.findall(r"<td[^>]*><b>(.*?)</b></td>", help_text(), flags=re.DOTALL)
    return html.unescape(" | ".join(cells)).casefold()


def plain(text: str) -> str:
    """A word of the screen without its keys, its dots and its second line, which holds the unit."""
    word = re.sub(r"&(?!&)", "", text).splitlines()[0].rstrip("….:").strip().casefold()
    word = re.sub(r"^\d {2}| {2,}ctrl\+\w$", "", word)
    return re.sub(r" (°/s|rpm)$", "", word)


def stands_in(word: str, page: str) -> bool:
    return re.search(rf"(?<!\w){re.escape(word)}(?!\w)", page) is not None


def named(widget: QWidget) -> set[str]:
    """Labels, column heads, check boxes and quantities: the names of things."""
    found = {label.text() for label in widget.findChildren(QLabel) if label.buddy() is not None}
    for form in widget.findChildren(QFormLayout):
        for row in range(form.rowCount()):
            item = form.itemAt(row, QFormLayout.ItemRole.LabelRole)
            if item is not None and isinstance(item.widget(), QLabel):
                found.add(item.widget().text())
    found |= {label.text() for label in widget.findChildren(QLabel)}
    found |= {box.text() for box in widget.findChildren(QCheckBox)}
    found |= {group.title() for group in widget.findChildren(QGroupBox)}
    for view in widget.findChildren(QAbstractItemView):
        model = view.model()
        heads = range(model.columnCount()) if model is not None and not _of_list(view) else ()
        found |= {str(model.headerData(n, Qt.Orientation.Horizontal)) for n in heads}
    for box in widget.findChildren(QComboBox):
        if box.accessibleName() in {"Plot", "Told in"}:
            found |= {box.itemText(n) for n in range(box.count())}
    return found


def _of_list(view: QAbstractItemView) -> bool:
    """Whether it is a list, or the one that drops down from a combo box, which have no heads."""
    parent = view.parentWidget()
    return isinstance(view, QListWidget) or (
        parent is not None and parent.inherits("QComboBoxPrivateContainer")
    )


def acted(widget: QWidget) -> set[str]:
    """Buttons, actions and tabs: what can be done."""
    found = {button.text() for button in widget.findChildren(QAbstractButton)}
    found |= {action.text() for action in widget.findChildren(QAction) if not action.isSeparator()}
    return found | {bar.tabText(n) for bar in widget.findChildren(QTabBar) for n in range(bar.count())}


def words_of(texts: set[str]) -> set[str]:
    """Those that are words and no sentences, names of wheels, samples or numbers."""
    names = {DECK.name} | {wheel.name for wheel in MOTORS.wheels} | {sample.title for sample in SAMPLES}
    names |= {motor.name for motor in (*MOTORS.steer_motors, *MOTORS.drive_motors)}
    kept = {text for text in texts if text.strip() and text not in names and not text.startswith("<")}
    # Heads of columns in a file are keys, which the page has by their endings.
    words = {plain(text) for text in kept if not re.fullmatch(r"[a-z0-9]+(_[a-z0-9]+)+", text)}
    return {word for word in words if word and len(word.split()) <= MOST_WORDS and not re.search(r"\d", word)}


@pytest.fixture
def screens(make_window, make_document, qtbot):
    """The window with every section shown once, and the dialogs."""
    window = make_window(make_document(MOTORS))
    window.document.select(references_to("wheel", {0}))
    for key in window.sections:
        window.show_panel(key)
        QApplication.processEvents()
    dialogs = [
        OutlineImportDialog(None, MOTORS, DECK),
        ExportDialog(None, MOTORS, 21),
        AdviceDialog(None, MOTORS),
        ControllerExportDialog(None, MOTORS, "micropython", lambda *_: False),
        StartPage(Settings(recent_files=("/field/robots/marsh 2.json",))),
    ]
    for dialog in dialogs:
        qtbot.addWidget(dialog)
    qtbot.waitUntil(lambda: not (dialogs[0].working or dialogs[3].working), timeout=20_000)
    yield [window, *dialogs]
    for dialog in dialogs:
        dialog.close()


def test_every_word_on_the_screen_is_explained_or_plain(screens):
    names = set().union(*(words_of(named(screen)) for screen in screens))
    acts = set().union(*(words_of(acted(screen)) for screen in screens))
    assert len(names) > 60
    assert len(acts) > 40
    page, explained = page_words(), explained_words()
    missing = {word for word in names if not stands_in(MADE_OF.get(word, word), explained)}
    missing |= {word for word in acts if not stands_in(MADE_OF.get(word, word), page)}
    assert sorted(missing - PLAIN_WORDS) == []


def test_no_plain_word_is_kept_that_no_screen_shows(screens):
    shown = set().union(*(words_of(named(screen)) | words_of(acted(screen)) for screen in screens))
    assert sorted(({*PLAIN_WORDS, *MADE_OF}) - shown) == []


@pytest.mark.parametrize(
    "word",
    [
        *("told in", "degrees", "counts", "microseconds of pulse", "smallest step", "hole pattern", "pulse"),
        *("aligned within", "slight drag within", "slow down evenly", "keep choices", "error of speeds"),
        *("has a unit of its own", "names begin with", "bare wheel", "best fit of the axles", "mean drag"),
        *("worst drag", "worst wheel", "reached"),
    ],
)
def test_a_word_that_puzzles_newcomers_is_on_the_page(word):
    assert stands_in(word, page_words())


def test_the_page_names_the_key_that_mirrors_a_wheel():
    assert stands_in("ctrl+d", page_words())


def test_a_word_that_is_not_on_the_page_is_found_out():
    assert not stands_in("hole pat", page_words())
    assert not stands_in("left-handed spanner", page_words())
