"""Where lengths show in inches they do so everywhere: in all labels, tips, heads and cells of the window."""

import re

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QAction
from PySide6.QtWidgets import QAbstractItemView, QApplication, QLabel, QLineEdit, QWidget

from app.design.places import in_words
from app.design.references import references_to
from app.dialogs.export import ExportDialog
from app.dialogs.sharing import AdviceDialog
from app.panels.quantities import QUANTITIES
from app.panels.registry import PANELS
from app.words.lengths import lengths_in, show_drag
from geometry.errors import DesignError, Problem
from tests.app.scouts import BOTH, FRONT, REAR, scout

Role = Qt.ItemDataRole
MM = re.compile(r"\bmm\b|\bmm/m\b|illimet", re.IGNORECASE)
# The two choices themselves, what snapping does, and what the file holds.
ALLOWED = (
    "&Millimetres",
    "Lengths in millimetres, and drag in millimetres per metre.",
    "Lengths in inches, and drag in inches per foot; files stay in millimetres.",
    "Places snap to the hole pattern, or to whole millimetres. Alt while dragging leaves it.",
)


def texts_of(top: QWidget):
    """Every text that a widget and all in it show, or tell to who rests the mouse or cannot see.

    What is hidden catches up when it is seen.
    """
    for widget in (top, *(inner for inner in top.findChildren(QWidget) if inner.isVisible())):
        kind = type(widget).__name__
        if isinstance(widget, QLabel | QLineEdit):
            yield kind, widget.text()
        told = (widget.toolTip(), widget.statusTip(), widget.accessibleName(), widget.accessibleDescription())
        yield from ((f"tip of {kind} {widget.accessibleName()}", text) for text in told)
        if isinstance(widget, QAbstractItemView) and widget.model() is not None:
            yield from ((f"in {kind}", text) for text in model_texts(widget.model()))
    for action in top.findChildren(QAction):
        yield "action", action.text()
        yield "tip of an action", action.toolTip()


def model_texts(model):
    for role in (Role.DisplayRole, Role.ToolTipRole):
        for row in range(model.rowCount()):
            for column in range(model.columnCount()):
                yield str(model.index(row, column).data(role) or "")
        for section in range(model.columnCount()):
            yield str(model.headerData(section, Qt.Orientation.Horizontal, role) or "")


def in_mm(top):
    return sorted(
        {(where, text) for where, text in texts_of(top) if MM.search(text) and not text.startswith(ALLOWED)}
    )


@pytest.fixture
def inch_window(make_window, make_document):
    """A chassis that drags, with motors that do not suit it, and each panel shown once in inches."""
    window = make_window(make_document(scout(FRONT, REAR, BOTH)))
    window.document.select(references_to("wheel", {0}))
    window.document.set_turn(0.3)
    window.action["inch"].trigger()
    return window


def test_no_length_of_the_window_is_left_in_mm(inch_window):
    window, found = inch_window, []
    for spec in PANELS:
        window.go_to(spec.key)
        QApplication.processEvents()
        found += in_mm(window)
    assert sorted(set(found)) == []
    plot = window.panels["plot"]
    plot.choose([quantity.name for quantity in QUANTITIES])
    for lane in plot.chart.shown:
        assert not MM.search(f"{lane.curves.title} {lane.curves.unit} {lane.curves.axis} {lane.head.words}")
    assert not MM.search(plot.chart.reading)


def test_the_walk_finds_mm_where_they_are_shown(inch_window):
    inch_window.action["mm"].trigger()
    inch_window.go_to("wheel")
    QApplication.processEvents()
    assert len(in_mm(inch_window)) > 10


def test_every_motor_and_every_kind_of_wheel_is_without_mm(inch_window):
    window = inch_window
    window.go_to("motors")
    for kind, index in (("steer", 0), ("steer", 1), ("drive", 0)):
        window.panels["motors"].choose(kind, index)
        QApplication.processEvents()
        assert in_mm(window) == []
    for index in range(6):
        window.document.select(references_to("wheel", {index}))
        assert in_mm(window) == []


def test_what_is_refused_is_told_in_inches(inch_window):
    document = inch_window.document
    document.length_unit = "inch"
    error = DesignError([Problem("wheels[0].diameter_mm", "must be at least 5", "2")])
    assert in_words(error, document.design, "inch") == (
        "front left, diameter must be at least 0.197 in (got 0.079 in)"
    )
    assert in_words(error, document.design) == "front left, diameter must be at least 5 (got 2)"
    place = DesignError([Problem("wheels[0]", "(front left) stands on the centre line", "x 25.4, y 12.7")])
    assert in_words(place, document.design, "inch").endswith("(got x 1 in, y 0.5 in)")
    count = DesignError([Problem("body_mm", "must have at least 3 corners, or none", "2")])
    assert in_words(count, document.design, "inch").endswith("must have at least 3 corners, or none (got 2)")
    angle = DesignError([Problem("wheels[0].toe_deg", "must be at most 45", "50")])
    assert in_words(angle, document.design, "inch").endswith("must be at most 45 (got 50)")
    size = DesignError([Problem("body length", "must be from 1 to 12000 mm", "0.5")])
    assert in_words(size, document.design, "inch").endswith(
        "must be from 0.039 in to 472.441 in (got 0.02 in)"
    )


def test_a_field_says_its_limit_in_inches(inch_window):
    window = inch_window
    window.go_to("wheel")
    box = window.panels["wheel"].fields["diameter_mm"]
    box.setFocus()
    box.setText("100 in")
    box.setModified(True)
    box.editingFinished.emit()
    assert "must be at most 78.74 in (got 100 in)" in box.reason.text()
    assert "0.197 to 78.74 in" in box.toolTip()


@pytest.mark.parametrize("dialog", [ExportDialog, AdviceDialog])
def test_no_dialog_tells_a_drag_in_mm(qtbot, dialog):
    design = scout(FRONT, REAR)
    made = dialog(None, design, 21, "inch") if dialog is ExportDialog else dialog(None, design, "inch")
    qtbot.addWidget(made)
    made.show()
    left = [text for _where, text in in_mm(made) if not re.fullmatch(r"[a-z0-9_]+(\.? .*)?", text)]
    assert left == []


def test_drag_in_inches_per_foot_is_the_same_ratio():
    assert show_drag(1000.0, "inch") == "12 in per foot"
    assert show_drag(250.0, "inch") == "3 in per foot"
    assert show_drag(8.726, "inch") == "0.105 in per foot"
    assert show_drag(8.726, "mm") == "8.7 mm per metre"
    assert lengths_in("1 to 12 000 mm.", "inch") == "0.039 to 472.441 in."
