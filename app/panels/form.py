"""Small parts that the editors share: fields bound to one key, rows of a form."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import TypeVar

from PySide6.QtCore import QEvent, QObject, QPoint, QRect, Qt, QTimer, Signal
from PySide6.QtGui import QAction, QGuiApplication, QKeySequence
from PySide6.QtWidgets import (
    QApplication,
    QComboBox,
    QFormLayout,
    QFrame,
    QLabel,
    QLineEdit,
    QScrollArea,
    QTableView,
    QWidget,
)
from shiboken6 import isValid

from app.document import Document
from app.panels.number_field import NumberField, TypedField
from app.plain import plain_label, plain_tip
from app.units import LengthUnit, parse_angle, parse_length, parse_sum, show_length, show_number
from app.words.lengths import lengths_in

T = TypeVar("T")
Ask = Callable[[float], bool]


def common(values: Iterable[T]) -> T | None:
    """The value that all share; None where they differ or there is none."""
    found = set(values)
    return found.pop() if len(found) == 1 else None


@dataclass(frozen=True)
class Measure:
    """How one kind of number is read, shown and stepped."""

    parse: Callable[[str, LengthUnit], float]
    show: Callable[[float, LengthUnit], str]
    step: float


LENGTH = Measure(parse_length, show_length, 1.0)
"""Typed in the unit on the screen unless another is written."""
ANGLE = Measure(lambda text, _unit: parse_angle(text), lambda value, _unit: f"{show_number(value, 4)}°", 1.0)
NUMBER = Measure(lambda text, _unit: parse_sum(text), lambda value, _unit: show_number(value, 4), 0.1)


class FieldMaker:
    """Makes number fields that follow the length unit, and say what the document refuses."""

    def __init__(self, document: Document) -> None:
        self._document = document
        self.unit: LengthUnit = "mm"
        self.made: list[NumberField] = []
        self._tips: list[str] = []

    def set_unit(self, unit: LengthUnit) -> None:
        """Show lengths in another unit."""
        if unit == self.unit:
            return
        self.unit = unit
        for box, tip in zip(self.made, self._tips, strict=True):
            box.reshow()
            told = lengths_in(tip, unit)
            box.set_tip(told)
            for label in box.window().findChildren(QLabel):
                if label.buddy() is box:
                    label.setToolTip(plain_tip(told))

    def make(self, measure: Measure, name: str, tip: str, ask: Ask) -> NumberField:
        """A field for one kind of number."""
        box = NumberField(
            name,
            parse=lambda text: measure.parse(text, self.unit),
            show=lambda value: measure.show(value, self.unit),
            ask=lambda value: self._document.answer(lambda: ask(value)),
            step=measure.step,
            tip=tip,
        )
        self._document.opened.connect(box.give_up)
        self.made.append(box)
        self._tips.append(tip)
        return box


def enable_copy(table: QTableView) -> None:
    """Let the copy key and the context menu copy rows as tab-separated text with heads."""
    copy = QAction("Copy rows", table)
    copy.setShortcut(QKeySequence.StandardKey.Copy)
    copy.setShortcutContext(Qt.ShortcutContext.WidgetShortcut)
    copy.triggered.connect(lambda: copy_rows(table))
    table.addAction(copy)
    table.setContextMenuPolicy(Qt.ContextMenuPolicy.ActionsContextMenu)


def copy_rows(table: QTableView) -> None:
    """Copy the selected rows, or all of them where none is, in the order shown."""
    model = table.model()
    columns = range(model.columnCount())
    rows = sorted(index.row() for index in table.selectionModel().selectedRows()) or range(model.rowCount())
    heads = [str(model.headerData(c, Qt.Orientation.Horizontal)).replace("\n", " ") for c in columns]
    lines = ["\t".join(heads), *("\t".join(str(model.index(r, c).data()) for c in columns) for r in rows)]
    QGuiApplication.clipboard().setText("\n".join(lines) + "\n")


def take_typed(window: QWidget) -> None:
    """Finish what is being typed: a key or a tool acts without leaving the field first."""
    box = window.focusWidget()
    if isinstance(box, QLineEdit) and box.isModified():
        box.clearFocus()
        if box.isVisible():  # the editor of a table's cell is gone by now
            box.setFocus()


def name_field(document: Document, what: str, tip: str, ask: Callable[[str], bool]) -> TypedField:
    """A field for a name of up to 40 characters; a blank one is refused."""
    box = TypedField(
        what,
        parse=str,
        show=str,
        ask=lambda text: document.answer(lambda: ask(text)),
        tip=tip,
        blank="must not be blank; Esc brings the name back",
    )
    box.setMaxLength(40)
    document.opened.connect(box.give_up)
    return box


def add_with_reason(form: QFormLayout, label: QWidget | str, box: TypedField) -> None:
    """Put a field into a form, with room below for why a text is refused."""
    if isinstance(label, str):
        form.addRow(label, box)
    else:
        form.addRow(label, box)
    form.addRow(box.reason)


def add_row(form: QFormLayout, box: NumberField) -> None:
    """Put a number field with its name into a form."""
    label = plain_label(box.name)
    label.setToolTip(box.toolTip())
    label.setBuddy(box)
    add_with_reason(form, label, box)


_MOST_DEPTH = 4


class _EventWatch(QObject):
    """Tells of an event of one kind before the widget that it goes to gets it."""

    seen = Signal()

    def __init__(self, parent: QObject, kind: QEvent.Type) -> None:
        super().__init__(parent)
        self._kind = kind

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:  # noqa: ARG002
        """Tell, and let the event pass."""
        if event.type() == self._kind:
            self.seen.emit()
        return False


class ScrolledArea(QScrollArea):
    """Keeps in sight what has the keyboard: when a key goes there, and when the rows around it move.

    Whoever scrolls it away by mouse wheel or scroll bar is left alone until the next key.
    """

    def __init__(self) -> None:
        super().__init__()
        self._watched: QWidget | None = None
        self._follows = True
        self._depth = 0
        self._rows: list[QWidget] = []
        self._keys = _EventWatch(self, QEvent.Type.KeyPress)
        self._keys.seen.connect(self._bring_back)
        self._moves = _EventWatch(self, QEvent.Type.Move)
        self._moves.seen.connect(self._moved)
        application = QApplication.instance()
        if isinstance(application, QApplication):
            application.focusChanged.connect(self._watch)
        for bar in (self.verticalScrollBar(), self.horizontalScrollBar()):
            bar.actionTriggered.connect(self._leave_alone)
            bar.rangeChanged.connect(self._moved)

    def _watch(self, before: QWidget | None, now: QWidget | None) -> None:
        if self._watched is not None and isValid(self._watched):
            self._watched.removeEventFilter(self._keys)
        for row in self._rows:
            if isValid(row):
                row.removeEventFilter(self._moves)
        self._watched = now if now is not None and self.isAncestorOf(now) else None
        self._rows = []
        if self._watched is not None:
            self._follows = True
            self._watched.installEventFilter(self._keys)
            # A section may move while the whole keeps its height: all but the whole, which scrolling moves.
            around: QWidget | None = self._watched
            while around is not None and around is not self.widget() and around is not self.viewport():
                self._rows.append(around)
                around.installEventFilter(self._moves)
                around = around.parentWidget()
            # Qt itself scrolls to what a key goes to from within alone. What is clicked stays where it is.
            from_outside = before is not None and isValid(before) and not self.isAncestorOf(before)
            corner = self.viewport().mapFromGlobal(self._watched.mapToGlobal(QPoint(0, 0)))
            place = QRect(corner, self._watched.size())
            clicked = QApplication.mouseButtons() != Qt.MouseButton.NoButton
            if from_outside and not (clicked and place.intersects(self.viewport().rect())):
                self._moved()

    def _leave_alone(self, _act: int = 0) -> None:
        self._follows = False

    def _moved(self, _least: int = 0, _most: int = 0) -> None:
        if self._watched is not None and self._follows:
            QTimer.singleShot(0, self, self._show_focus)  # once the rows have their new places

    def _show_focus(self) -> None:
        if self._watched is not None and isValid(self._watched) and self.isAncestorOf(self._watched):
            self.ensureWidgetVisible(self._watched)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Stop Qt from laying out without end.

        Where words need a bar without it and none with it, Qt resizes what is scrolled from within its own
        resizing, each time to the other width, until the stack is full.
        """
        if self._depth >= _MOST_DEPTH:
            return False
        self._depth += 1
        try:
            return super().eventFilter(watched, event)
        finally:
            self._depth -= 1

    def _bring_back(self) -> None:
        """Show a field before a key changes it."""
        self._follows = True
        self._show_focus()


def scrolled(inner: QWidget, *, both_ways: bool = False) -> QScrollArea:
    """A frame that scrolls when there is too little height, or if wanted too little width."""
    area = ScrolledArea()
    area.setWidget(inner)
    area.setWidgetResizable(True)
    area.setFrameShape(QFrame.Shape.NoFrame)
    area.setFocusPolicy(Qt.FocusPolicy.NoFocus)  # Tab goes straight to the fields
    if not both_ways:
        area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
    return area


def choice(name: str, tip: str) -> QComboBox:
    """A list to choose from that does not change when the page is scrolled over it."""
    box = QComboBox()
    box.setAccessibleName(name)
    box.setToolTip(tip)
    box.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
    box.wheelEvent = lambda event: event.ignore()  # type: ignore[method-assign]
    return box


def add_unseen_label(box: QWidget) -> None:
    """Give a field in its place, without a label on the screen, one that only a screen reader finds.

    On X11 Qt tells the value of a list to choose from as its name; the name comes from its label alone.
    """
    label = plain_label(box.accessibleName())
    label.setParent(box.parentWidget())
    label.setBuddy(box)
    label.hide()


def list_entries(box: QComboBox, words: Sequence[str]) -> None:
    """List things that are edited one at a time; one that was added is chosen next, else the choice stays."""
    now, before = box.currentIndex(), box.count()
    if list(words) == [box.itemText(i) for i in range(before)]:
        return
    box.clear()
    box.addItems(list(words))
    set_choice(box, len(words) - 1 if len(words) > before else min(max(now, 0), len(words) - 1))


def show_field(form: QFormLayout, box: NumberField, value: float | None, of: object, *, there: bool) -> None:
    """Show the row of a number field with its value, or hide it with what was refused there."""
    form.setRowVisible(box, there)
    box.show_value(value if there else None, of)
    if not there:
        box.reason.hide()


def set_choice(box: QComboBox, index: int) -> None:
    """Show an entry without asking for it."""
    if box.currentIndex() != index:
        box.blockSignals(True)  # noqa: FBT003
        box.setCurrentIndex(index)
        box.blockSignals(False)  # noqa: FBT003
