"""What a screen reader hears: each control of window and dialogs has a role, and its label as name."""

from __future__ import annotations

from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QAccessible
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractItemView,
    QAbstractScrollArea,
    QAbstractSlider,
    QAbstractSpinBox,
    QApplication,
    QComboBox,
    QLabel,
    QLineEdit,
    QPlainTextEdit,
    QProgressBar,
    QScrollBar,
    QTextEdit,
    QWidget,
)

from app.design.references import references_to
from app.design.samples import sample_design
from app.dialogs.controller_export import ControllerExportDialog
from app.dialogs.export import ExportDialog
from app.dialogs.help import help_dialog, news_dialog
from app.dialogs.outline_import import OutlineImportDialog
from app.dialogs.plan_picture import PictureDialog, PictureKind
from app.dialogs.sharing import AdviceDialog
from app.panels.chart import Chart
from app.settings import Settings
from app.views.canvas import PlanCanvas
from app.views.drive_view import DriveView
from app.views.elevation import ElevationView
from app.views.plan_picture import PlanPicture
from app.views.time_line import Curves
from app.window.find import Finder
from app.window.stages import STAGES, is_shown
from app.window.start_page import StartPage
from geometry.model.design import Design

ROLE, TEXT = QAccessible.Role, QAccessible.Text
CONTROLS = (
    QAbstractButton,
    QAbstractItemView,
    QAbstractSlider,
    QAbstractSpinBox,
    QComboBox,
    QLineEdit,
    QPlainTextEdit,
    QProgressBar,
    QTextEdit,
)
# Roles of a mere area: nothing says what can be done there. Qt has no way to give what is drawn another.
BARE = {ROLE.NoRole, ROLE.Client, ROLE.Pane}
DRAWN = (PlanCanvas, Chart, ElevationView, DriveView, Curves)
DESIGNS = {
    "motors": sample_design("marsh_scout_motors"),
    "caster": sample_design("creek_tricycle"),
    "fault": sample_design("misbuilt_scout"),
    "empty": Design(),
}


def controls(area: QWidget) -> list[QWidget]:
    """What can be used and is not a part of another control."""
    found = []
    for widget in area.findChildren(QWidget):
        used = isinstance(widget, CONTROLS) or bool(widget.focusPolicy() & Qt.FocusPolicy.TabFocus)
        if used and not isinstance(widget, QScrollBar) and not _is_part(widget):
            found.append(widget)
    return found


def _is_part(widget: QWidget) -> bool:
    """Whether it is the inside of another control, which speaks for it."""
    parent = widget.parentWidget()
    inside = isinstance(parent, QAbstractSpinBox | QComboBox | QLineEdit | QAbstractItemView)
    inside = inside or (isinstance(parent, QAbstractScrollArea) and parent.viewport() is widget)
    return inside or (parent is not None and parent.inherits("QComboBoxPrivateContainer"))


def label_of(widget: QWidget, area: QWidget) -> str:
    """The text beside it on the screen that names it, without the mark of its letter; empty for none.

    A text that begins small goes on with a sentence, as in "201 rows, or a step of", and names nothing.
    """
    texts = [label.text() for label in area.findChildren(QLabel) if label.buddy() is widget]
    text = texts[0].replace("&", "").rstrip(":…") if texts else ""
    return text if text[:1].isupper() or "," in text else ""


def spoken(widget: QWidget) -> tuple[QAccessible.Role, str, str]:
    """Role, name and value."""
    heard = QAccessible.queryAccessibleInterface(widget)
    return heard.role(), heard.text(TEXT.Name), heard.text(TEXT.Value)


def labelled_by(widget: QWidget) -> set[str]:
    """Names of what is told to be its label."""
    relations = QAccessible.queryAccessibleInterface(widget).relations(QAccessible.RelationFlag.Label)
    return {other.text(TEXT.Name) for other, _flag in relations}


def faults(area: QWidget) -> list[str]:
    """What is wrong with the controls of a window or dialog, a line each."""
    found = []
    for widget in controls(area):
        role, name, value = spoken(widget)
        what = f"{type(widget).__name__} {name or widget.objectName() or widget.toolTip()!r}"
        if role in BARE and not isinstance(widget, DRAWN):
            found.append(f"{what}: no role")
        if not name.strip():
            found.append(f"{what}: no name")
        # On X11 Qt gives the value of a list to choose from as its name, and the name by its label.
        own = widget.accessibleName() if isinstance(widget, QComboBox) else name
        if isinstance(widget, QComboBox) and own not in labelled_by(widget):
            found.append(f"{what}: gives its value {value!r} as its name, and no label gives {own!r}")
        elif not isinstance(widget, QComboBox) and value and name == value:
            found.append(f"{what}: gives its value as its name")
        label = label_of(widget, area)
        if label and label.casefold() not in own.casefold():
            found.append(f"{what}: its label is {label!r}, its name is {own!r}")
    return found


@pytest.fixture(params=DESIGNS)
def shown(request, make_window, make_document):
    window = make_window(make_document(DESIGNS[request.param]))
    window.document.select(references_to("wheel", {0}))
    return window


def test_every_control_of_every_stage_has_role_and_name(shown):
    stages = [spec.key for spec in STAGES if is_shown(spec.key)]
    assert len(stages) >= 4
    for stage in stages:
        shown.go_to_stage(stage)
        for key, section in shown.sections.items():
            if section.spec.stage == stage:
                shown.show_panel(key)
        QApplication.processEvents()
        assert "\n".join(faults(shown)) == "", stage
    assert len(controls(shown)) > 60


def test_every_control_of_the_finder_has_role_and_name(shown):
    shown.action["find"].trigger()
    (finder,) = shown.findChildren(Finder)
    assert len(controls(finder)) >= 2
    assert faults(finder) == []


DECK = Path(__file__).parent / "dialogs" / "deck.svg"
MAKERS = {
    "table": lambda window: ExportDialog(window, window.document.design, 21),
    "sharing": lambda window: AdviceDialog(window, window.document.design),
    "code": lambda window: ControllerExportDialog(
        window, window.document.design, "micropython", lambda *_: False
    ),
    "start page": lambda _window: StartPage(Settings()),
    "help": help_dialog,
    "news": news_dialog,
    "outline": lambda window: OutlineImportDialog(window, window.document.design, DECK),
    "picture": lambda window: PictureDialog(window, PlanPicture(window.canvas.scene()), PictureKind(2)),
}


@pytest.mark.parametrize("name", MAKERS)
def test_every_control_of_every_dialog_has_role_and_name(make_window, make_document, qtbot, name):
    window = make_window(make_document(DESIGNS["motors"]))
    dialog = MAKERS[name](window)
    dialog.show()
    qtbot.waitUntil(lambda: not getattr(dialog, "working", False), timeout=20_000)
    assert len(controls(dialog)) >= 3
    found = faults(dialog)
    dialog.close()
    assert "\n".join(found) == ""


def test_a_control_without_a_name_and_a_list_without_a_label_are_found_out(qtbot):
    area = QWidget()
    qtbot.addWidget(area)
    QLineEdit(area)
    box = QComboBox(area)
    box.addItems(["a", "b"])
    box.setAccessibleName("Letter")
    named = QLineEdit(area)
    named.setAccessibleName("Width")
    QLabel("&Height", area).setBuddy(named)
    assert [fault.partition(": ")[2] for fault in faults(area)] == [
        "no name",
        "gives its value 'a' as its name, and no label gives 'Letter'",
        "its label is 'Height', its name is 'Width'",
    ]
