"""A name that is written like rich text is shown as it is written, everywhere, and loads nothing."""

import ast
from collections import Counter
from functools import cache
from pathlib import Path

import pytest
from PySide6.QtCore import QAbstractItemModel, QAbstractListModel, QPoint, Qt
from PySide6.QtGui import QAction, QHelpEvent, QTextDocument
from PySide6.QtGui import Qt as GuiQt
from PySide6.QtWidgets import (
    QAbstractItemView,
    QApplication,
    QFileDialog,
    QGraphicsTextItem,
    QGraphicsView,
    QLabel,
    QMessageBox,
    QToolTip,
    QWidget,
)

from app.design.edits import change_wheels
from app.design.files import design_from_text, design_text, write_design
from app.design.made import MadeFile
from app.design.references import references_to
from app.dialogs.controller_export import ControllerExportDialog
from app.dialogs.export import ExportDialog
from app.dialogs.questions import ask_recover, ask_replace, ask_save, ask_unsaved, tell
from app.dialogs.sharing import AdviceDialog
from app.plain import plain_box, plain_label, plain_tip
from app.window import start
from tests.app.scouts import DRIVES, FRONT, REAR, scout
from tests.motored import enter
from tests.windows import recent_menu

ROOT = Path(__file__).parents[2]
TAG = "<img src="
PICTURE = "\ufffc"
"""What stands for a picture in the text of a document."""
Role = Qt.ItemDataRole


def marked(number):
    return f'{TAG}"x{number}.png"> {number}'


def marked_design():
    """A chassis whose every name is a picture's tag; its motors do not suit it."""
    plain = scout(FRONT, REAR, *DRIVES)
    plain = change_wheels(plain, [0, 1, 4, 5], travel_min_deg=-40.0, travel_max_deg=40.0)
    names = [part.name for part in (*plain.wheels, *plain.steer_motors, *plain.drive_motors)]
    text = design_text(plain.edited(name=marked(99), notes=marked(98)))
    for number, name in enumerate(names):
        text = text.replace(f'"{name}"', '"' + marked(number).replace('"', '\\"') + '"')
    return design_from_text(text, "marked.json")


@cache  # most texts are the same at every turn
def rendered(text, *, rich):
    """What Qt shows of a text."""
    document = QTextDocument()
    if rich:
        document.setHtml(text)
    else:
        document.setPlainText(text)
    return document.toPlainText().replace("\u00a0", " ")


def is_rich(text, form=Qt.TextFormat.AutoText):
    return form == Qt.TextFormat.RichText or (form == Qt.TextFormat.AutoText and GuiQt.mightBeRichText(text))


def texts_of(top: QWidget):
    """Every text of a widget and of all in it that Qt could take for rich text; with where, and whether."""
    for widget in (top, *top.findChildren(QWidget)):
        kind = type(widget).__name__
        if isinstance(widget, QLabel):
            yield (
                f"label in {type(widget.parent()).__name__}",
                widget.text(),
                is_rich(widget.text(), widget.textFormat()),
            )
        for tip in (widget.toolTip(), widget.statusTip(), widget.whatsThis()):
            yield f"tip of {kind}", tip, is_rich(tip)
        if isinstance(widget, QAbstractItemView) and widget.model() is not None:
            for text in model_tips(widget.model()):
                yield f"tip in {kind}", text, is_rich(text)
        if isinstance(widget, QGraphicsView) and widget.scene() is not None:
            for item in widget.scene().items():
                if isinstance(item, QGraphicsTextItem):
                    yield f"text in {kind}", item.toHtml(), True
    for action in top.findChildren(QAction):
        for tip in (action.toolTip(), action.statusTip(), action.whatsThis()):
            yield "tip of an action", tip, is_rich(tip)


def model_tips(model: QAbstractItemModel):
    # The model of a plain list keeps its one column to itself.
    columns = 1 if isinstance(model, QAbstractListModel) else model.columnCount()
    for role in (Role.ToolTipRole, Role.StatusTipRole, Role.WhatsThisRole):
        for row in range(model.rowCount()):
            for column in range(columns):
                yield str(model.index(row, column).data(role) or "")
        for way, count in (
            (Qt.Orientation.Horizontal, columns),
            (Qt.Orientation.Vertical, model.rowCount()),
        ):
            for section in range(count):
                yield str(model.headerData(section, way, role) or "")


def look_over(top: QWidget) -> Counter:
    """Check every text that holds a name; how many there are, by where they are."""
    found = Counter()
    for where, text, rich in texts_of(top):
        shown = rendered(text, rich=rich)
        assert PICTURE not in shown, f"{where} loads a picture: {text}"
        if TAG in text or "&lt;img" in text:
            assert TAG in shown, f"{where} takes a name for rich text: {text}"
            found[where] += 1
    return found


@pytest.fixture
def marked_window(make_window, make_document):
    window = make_window(make_document(marked_design()))
    window.resize(1500, 950)
    return window


@pytest.fixture
def boxes(monkeypatch):
    """Look over every message box instead of waiting for its answer."""
    seen = []

    def look(box):
        seen.append((box.windowTitle(), look_over(box)))
        return QMessageBox.StandardButton.No

    monkeypatch.setattr(QMessageBox, "exec", look)
    return seen


def test_the_search_sees_rich_text(qtbot):
    label = QLabel(marked(1))
    qtbot.addWidget(label)
    with pytest.raises(AssertionError, match="loads a picture"):
        look_over(label)
    label.setText("<b>bold</b>")
    assert not look_over(label)
    label.setText("")
    label.setToolTip(f"of {marked(1)}")
    with pytest.raises(AssertionError, match="loads a picture"):
        look_over(label)


@pytest.mark.parametrize(
    "text",
    [
        marked(1),
        f"two\nlines {marked(1)}",
        "a < b & c",
        "&lt;b&gt;",
        "<b>x</b>\n  y  z",
        "  <i>",
        "plain",
        "",
    ],
)
def test_a_tip_is_shown_with_the_very_characters_of_the_text(qapp, text):
    tip = plain_tip(text)
    assert rendered(tip, rich=is_rich(tip)) == text
    assert is_rich(tip) == is_rich(text)
    assert plain_tip("of 5 mm") == "of 5 mm"


def test_labels_and_boxes_show_the_very_characters(qtbot):
    label = plain_label(marked(1))
    box = plain_box(None, QMessageBox.Icon.Warning, "Title", marked(2))
    for widget in (label, box):
        qtbot.addWidget(widget)
        assert sum(look_over(widget).values()) == 1


def test_no_panel_takes_a_name_for_rich_text(marked_window):
    window, found = marked_window, Counter()
    document = window.document
    for stage in dict.fromkeys(section.spec.stage for section in window.sections.values()):
        keys = [key for key, section in window.sections.items() if section.spec.stage == stage]
        for key in keys:  # each is unfolded, and the others stay so
            window.show_panel(key)
        QApplication.processEvents()
        assert all(window.panels[key].isVisible() for key in keys)
        for turn in (0.4, 1.0):
            document.set_turn(turn)
            for wheel in range(len(document.design.wheels)):
                document.select(references_to("wheel", {wheel}))
                found += look_over(window)
    for kind in ("steer", "drive"):
        for motor in range(2):
            window.panels["motors"].choose(kind, motor)
            found += look_over(window)
    made = MadeFile(what="code", design="0", name=document.design.name[:40], place=f"robots/{marked(97)}")
    window.show_panel("build")
    window.panels["build"].show_made([made])
    QApplication.processEvents()
    found += look_over(window)
    # The verdict, the wheel's title, what was made, the motor's wheels, and the tips of the tables.
    places = (
        "label in _Lines",
        "label in WheelEditor",
        "label in _Item",
        "label in MotorWheels",
        "tip in QTableView",
        "tip in MotorList",
    )
    assert set(places) <= set(found)
    assert TAG in window.windowTitle()


def test_no_sentence_of_the_window_takes_a_name_for_rich_text(marked_window, tmp_path, answers):
    window = marked_window
    names = [wheel.name for wheel in window.document.design.wheels]
    window.document.select(references_to("wheel", {0}))
    assert not window.document.edit(
        "Rename", lambda d: d.edited(wheels=(d.wheels[0].edited(name=names[1]), *d.wheels[1:]))
    )
    assert look_over(window)["label in PlanNote"] == 1
    window.show_panel("wheel")
    QApplication.processEvents()
    enter(window.panels["wheel"].fields["width_mm"], marked(3))
    assert look_over(window)["tip of NumberField"] == 1
    path = tmp_path / f"{TAG}x.json"
    write_design(path, window.document.design)
    assert window.filing.open_path(path)
    recent_menu(window)
    assert look_over(window)["tip of an action"] >= 1


def test_no_tip_at_the_mouse_takes_a_name_for_rich_text(marked_window, monkeypatch):
    window, tips = marked_window, []
    monkeypatch.setattr(QToolTip, "showText", lambda _at, text, *_: tips.append(text))
    window.show_panel("plot")
    QApplication.processEvents()
    chart = window.panels["plot"].chart
    for widget in (window.middle.turn.slider, chart.viewport()):
        for x in range(0, widget.width(), 3):
            for y in range(0, widget.height(), max(widget.height() // 60, 4)):
                QApplication.sendEvent(
                    widget, QHelpEvent(QHelpEvent.Type.ToolTip, QPoint(x, y), QPoint(x, y))
                )
        named = [tip for tip in tips if "img" in tip]
        assert named, widget
        for tip in named:
            shown = rendered(tip, rich=is_rich(tip))
            assert TAG in shown
            assert PICTURE not in shown
        tips.clear()


def test_no_question_takes_a_name_for_rich_text(marked_window, boxes, monkeypatch, tmp_path):
    name, window = marked(99), marked_window
    ask_unsaved(window, name)
    ask_replace(window, f"{name} was changed.")
    ask_recover(window, name, "1 May", 1, name)
    tell(window, "Not saved", f"cannot write {name}")
    taken = tmp_path / f"{TAG}x"
    taken.with_suffix(".json").write_text("{}")
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_args: (str(taken), ""))
    assert ask_save(window, tmp_path, "Save", "*", ".json") is None
    start._tell_trouble(window, name)
    assert [sum(found.values()) for _title, found in boxes] == [1] * 6


def test_no_dialog_takes_a_name_for_rich_text(qtbot, qapp):
    design, found = marked_design(), Counter()
    advice = AdviceDialog(None, design)
    code = ControllerExportDialog(None, design, "micropython", lambda *_: False)
    table = ExportDialog(None, design, 21)
    for dialog in (advice, code, table):
        qtbot.addWidget(dialog)
        dialog.show()
    advice.start.click()
    qtbot.waitUntil(advice.start.isEnabled, timeout=60_000)
    advice.table.selectRow(0)
    qtbot.waitUntil(lambda: not code.working, timeout=60_000)
    for dialog in (advice, code, table):
        found += look_over(dialog)
        dialog.close()
    assert any("tip in" in where for where in found), found


# The rule ----------------------------------------------------------------------------------------


# Words that are fixed in the source, by what brings them; constants have capitals.
FIXED = {
    "tip",
    "self._tip",
    "sample.sentence",
    "f'{spec.tip} ({keys})' if keys else spec.tip",
    "f'{tip} Click to sort.'",
}


def loose_texts(path):
    """Calls that could show a name as rich text: all but those of the helper, and of fixed words."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if not isinstance(node, ast.Call):
            continue
        called = ast.unparse(node.func)
        if called in {"QLabel", "QMessageBox"} or (
            called.startswith("QMessageBox.") and called != "QMessageBox.about"
        ):
            yield f"{path.name}:{node.lineno}: {called}"
        texts = {"setToolTip": node.args[:1], "showText": node.args[1:2]}.get(called.rpartition(".")[2], [])
        for text in texts:
            whole = ast.unparse(text)
            safe = whole.startswith("plain_tip(") or whole.endswith(".toolTip()") or whole in FIXED
            if not safe and not all(
                part.id.isupper() for part in ast.walk(text) if isinstance(part, ast.Name)
            ):
                yield f"{path.name}:{node.lineno}: {called}({whole})"


def test_labels_boxes_and_tips_come_from_the_helper():
    loose = [
        where
        for path in sorted((ROOT / "app").rglob("*.py"))
        if path.name != "plain.py"
        for where in loose_texts(path)
    ]
    assert loose == []
