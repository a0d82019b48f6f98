"""One field that finds all that can be done, opened or read, by a word or two.

What it lists comes from the tables of actions, panels and samples, from the recent files and from the page of
help: nothing is listed here.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from PySide6.QtCore import (
    QAbstractTableModel,
    QEvent,
    QModelIndex,
    QObject,
    QPersistentModelIndex,
    Qt,
)
from PySide6.QtGui import QColor, QHideEvent, QKeyEvent, QKeySequence
from PySide6.QtWidgets import QApplication, QFrame, QHeaderView, QLineEdit, QTreeView, QVBoxLayout, QWidget
from shiboken6 import isValid

from app.help.contents import places
from app.panels import registry
from app.plain import plain_label, plain_tip
from app.theme import current_theme
from app.window import why_not
from app.window.action_spec import ActionSpec
from app.window.frame import Frame
from sample_chassis import SAMPLES

_NAME = "find"
_NO_CHASSIS = "Begin with a chassis first."
_WIDE, _TALL, _ROW_TALL, _EDGE = 600, 460, 28, 8
_TOLD = 3
"""Rank of what has the words neither in its title nor in its menu."""
_STEPS = {Qt.Key.Key_Down: 1, Qt.Key.Key_Up: -1, Qt.Key.Key_PageDown: 10, Qt.Key.Key_PageUp: -10}
_Index = QModelIndex | QPersistentModelIndex
_ROLE = Qt.ItemDataRole


@dataclass(frozen=True)
class Entry:
    """One thing that can be found."""

    title: str
    place: str
    """The menu, or the kind of thing."""
    told: str
    """A sentence on it, which is searched too."""
    run: Callable[[], object]
    keys: str = ""
    why_not: str = ""
    """Why it would change nothing now; empty where it can be used."""
    read: bool = False
    """Whether it is only read: a word of the help."""


def entries(window: Frame, specs: Sequence[ActionSpec]) -> list[Entry]:
    """All that can be found now: actions first, words of the help last."""
    return [*_actions(window, specs), *_panels(window), *_samples(window), *_recent(window), *_help(window)]


def _actions(window: Frame, specs: Sequence[ActionSpec]) -> Iterator[Entry]:
    for spec in specs:
        if spec.key == _NAME:
            continue
        action = window.action[spec.key]
        reason = "" if spec.why_not is None else spec.why_not(window)
        if spec.needs_plan:
            reason = why_not.no_plan(window) or reason
        if window.at_start and not spec.at_start:
            reason = _NO_CHASSIS
        if not reason and not action.isVisible():
            continue  # a stage that is not there yet
        if not reason and not action.isEnabled():
            reason = "Not with this chassis as it is."
        menu = f"{spec.menu}, {spec.group}" if spec.group else spec.menu
        yield Entry(
            _without_mark(action.text()),
            f"{menu}, on" if action.isCheckable() and action.isChecked() else menu,
            spec.tip,
            action.trigger,
            action.shortcut().toString(QKeySequence.SequenceFormat.NativeText),
            reason,
        )


def _panels(window: Frame) -> Iterator[Entry]:
    for spec in registry.PANELS:
        stage = spec.stage.capitalize()
        told = f"Go to {spec.title}, in the stage {stage}."
        keys = QKeySequence(spec.shortcut or "").toString(QKeySequence.SequenceFormat.NativeText)
        reason = _NO_CHASSIS if window.at_start else ""
        yield Entry(spec.title, f"{stage}, section", told, partial(window.go_to, spec.key), keys, reason)


def _samples(window: Frame) -> Iterator[Entry]:
    for sample in SAMPLES:
        run = partial(window.filing.open_sample, sample.key)
        yield Entry(sample.title, "Sample", sample.sentence, run)


def _recent(window: Frame) -> Iterator[Entry]:
    for text in window.filing.settings.recent_files:
        path = Path(text)
        yield Entry(path.name, "Recent file", text, partial(window.filing.open_path, path))


def _help(window: Frame) -> Iterator[Entry]:
    for place in places():
        told = place.told or f"Read the part {place.title} of the help."
        yield Entry(place.title, "Help", told, partial(_read, window, place.anchor), read=True)


def _read(window: Frame, anchor: str) -> None:
    from app.dialogs.help import show_help

    show_help(window, anchor)


def _without_mark(text: str) -> str:
    """The text of an action without the mark of its letter, and without a digit that stands for one."""
    text = re.sub(r"^&\d +", "", text)
    return text.replace("&&", "\0").replace("&", "").replace("\0", "&")


def matching(found: Iterable[Entry], typed: str) -> list[Entry]:
    """Those in which every typed word occurs, in any order; what has them in its title comes first.

    Of equals, what can be done comes before what can only be read.

    Parameters
    ----------
    found : iterable of Entry
        What there is, in the order in which equals stay.
    typed : str
        Words, or beginnings or parts of words, in any case.
    """
    words = typed.casefold().split()
    if not words:
        return list(found)
    ranked = ((_rank(entry, words), entry) for entry in found)
    kept = [(rank, entry) for rank, entry in ranked if rank is not None]
    kept.sort(key=lambda one: (one[0] == _TOLD, one[1].read, one[0], bool(one[1].why_not)))
    return [entry for _, entry in kept]


def _rank(entry: Entry, words: list[str]) -> int | None:
    title = entry.title.casefold()
    if not all(word in f"{title} {entry.place} {entry.told} {entry.keys}".casefold() for word in words):
        return None
    if title.startswith(" ".join(words)):
        return 0
    starts = tuple(title.replace(",", " ").split())
    if all(any(start.startswith(word) for start in starts) for word in words):
        return 1
    near = f"{title} {entry.place.casefold()}"
    return 2 if all(word in near for word in words) else _TOLD


class _Rows(QAbstractTableModel):
    """What was found: title, menu or reason, keys."""

    def __init__(self, parent: QObject) -> None:
        super().__init__(parent)
        self.entries: list[Entry] = []

    def show(self, found: list[Entry]) -> None:
        self.beginResetModel()
        self.entries = found
        self.endResetModel()

    def rowCount(self, parent: _Index | None = None) -> int:
        """One for each entry."""
        return 0 if parent is not None and parent.isValid() else len(self.entries)

    def columnCount(self, parent: _Index | None = None) -> int:  # noqa: ARG002
        """Title, where it is or why not now, keys."""
        return 3

    def data(self, index: _Index, role: int = _ROLE.DisplayRole) -> object:
        """Text, and faint where it cannot be used."""
        entry = self.entries[index.row()]
        if role == _ROLE.DisplayRole:
            return (entry.title, entry.why_not or entry.place, entry.keys)[index.column()]
        if role == _ROLE.ToolTipRole:
            return plain_tip(entry.why_not or entry.told)
        if role == _ROLE.AccessibleTextRole and index.column() == 0:
            return spoken(entry)
        if role == _ROLE.ForegroundRole and (entry.why_not or index.column() > 0):
            return QColor(current_theme().faint)
        if role == _ROLE.TextAlignmentRole and index.column() == 2:
            return int(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        return None


def spoken(entry: Entry) -> str:
    """A row as a screen reader says it."""
    parts = (entry.title, entry.place, entry.keys, f"not now: {entry.why_not}" if entry.why_not else "")
    return ", ".join(part for part in parts if part)


class Finder(QFrame):
    """The field, what it finds, and a sentence on the chosen one; it lies over the window until it is done.

    While it is there every key is its own, as in a menu. A part of the window and no window beside it, it
    needs no help of a window manager, and goes wherever the window goes.
    """

    def __init__(self, window: Frame) -> None:
        super().__init__(window)
        self.setObjectName(_NAME)
        self.setAccessibleName("Find an action")
        self.setAutoFillBackground(True)
        self.hide()
        self._window = window
        self._before: QWidget | None = None
        self._all: list[Entry] = []
        self.field = QLineEdit()
        self.field.setAccessibleName("Find an action")
        self.field.setPlaceholderText("Type what you look for")
        self.field.setToolTip("Arrows choose, Enter takes what is chosen, Esc closes.")
        self.field.setClearButtonEnabled(True)
        self.field.setMinimumHeight(_ROW_TALL)
        self.field.textChanged.connect(self._seek)
        self.rows = _Rows(self)
        self.list = self._make_list()
        self.about = plain_label()
        self.about.setWordWrap(True)
        self.about.setMinimumHeight(2 * self.fontMetrics().lineSpacing() + 4)
        self.about.setAlignment(Qt.AlignmentFlag.AlignTop)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(_EDGE, _EDGE, _EDGE, _EDGE)
        layout.setSpacing(_EDGE)
        for part in (self.field, self.list, self.about):
            layout.addWidget(part)
        layout.setStretch(1, 1)

    def _make_list(self) -> QTreeView:
        view = QTreeView()
        view.setModel(self.rows)
        view.setAccessibleName("What is found")
        view.setRootIsDecorated(False)
        view.setUniformRowHeights(True)
        view.setHeaderHidden(True)
        view.setFocusPolicy(Qt.FocusPolicy.NoFocus)  # what is typed goes to the field, also after a click
        view.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        view.setStyleSheet(f"QTreeView::item {{ height: {_ROW_TALL}px; padding: 0 {_EDGE}px; }}")
        view.clicked.connect(self.take)
        header = view.header()
        header.setStretchLastSection(False)
        header.setResizeContentsPrecision(-1)  # by all rows: the columns stand still while it scrolls
        header.setSectionResizeMode(0, QHeaderView.ResizeMode.Stretch)
        for column in (1, 2):
            header.setSectionResizeMode(column, QHeaderView.ResizeMode.ResizeToContents)
        view.selectionModel().currentRowChanged.connect(self._tell)
        return view

    def begin(self, found: list[Entry]) -> None:
        """Show all of it, below the right end of the menu bar."""
        self._all = found
        if not self.isVisible():
            self._before = self._window.focusWidget()
        self.field.clear()
        # Undo and redo are the field's own, too: what is typed here is never taken up.
        self.field.setModified(True)
        self._seek("")
        window = self._window
        below = window.menuBar().geometry().bottom() + 1
        wide, tall = min(_WIDE, window.width() - 2 * _EDGE), min(_TALL, window.height() - below - 2 * _EDGE)
        self.setGeometry(window.width() - wide - _EDGE, below, wide, tall)
        theme = current_theme()
        self.setStyleSheet(f"#{_NAME} {{ background: {theme.window}; border: 1px solid {theme.edge}; }}")
        self.raise_()
        self.show()
        self.field.setFocus(Qt.FocusReason.PopupFocusReason)
        application = QApplication.instance()
        if application is not None:
            application.installEventFilter(self)

    def _seek(self, typed: str) -> None:
        self.rows.show(matching(self._all, typed))
        self._go(0)

    def _go(self, row: int) -> None:
        row = max(0, min(row, self.rows.rowCount() - 1))
        self.list.setCurrentIndex(self.rows.index(row, 0))
        if not self.rows.entries:
            self._tell()

    @property
    def chosen(self) -> Entry | None:
        """What Enter takes."""
        row = self.list.currentIndex().row()
        return self.rows.entries[row] if 0 <= row < len(self.rows.entries) else None

    def _tell(self, *_: object) -> None:
        entry = self.chosen
        if entry is None:
            self.about.setText("Nothing is found. Try another word, or a part of one.")
        else:
            self.about.setText(f"Not now: {entry.why_not}" if entry.why_not else entry.told)
        # A screen reader stays with the field, so the field tells what is chosen.
        self.field.setAccessibleDescription(self.about.text() if entry is None else spoken(entry))

    def take(self, *_: object) -> None:
        """Do what is chosen; where that would change nothing now, stay and say why."""
        entry = self.chosen
        if entry is not None and not entry.why_not:
            self.close()  # the keyboard goes back first: what is done may need it elsewhere
            entry.run()

    def hideEvent(self, event: QHideEvent) -> None:
        """Give the keyboard back to what had it."""
        super().hideEvent(event)
        application = QApplication.instance()
        if application is not None:
            application.removeEventFilter(self)
        before, self._before = self._before, None
        if before is not None and isValid(before) and self._window.focusWidget() in (self.field, None):
            before.setFocus(Qt.FocusReason.PopupFocusReason)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Take every key, and close where the mouse is pressed elsewhere."""
        kind = event.type()
        if kind == QEvent.Type.MouseButtonPress and isinstance(watched, QWidget):
            if watched is not self and not self.isAncestorOf(watched):
                self.close()
        elif watched is self.field and isinstance(event, QKeyEvent):
            if kind == QEvent.Type.ShortcutOverride:
                event.accept()  # no key does anything behind it
                return True
            return kind == QEvent.Type.KeyPress and self._took(Qt.Key(event.key()))
        return False

    def _took(self, key: Qt.Key) -> bool:
        """Act on a key of the list; False where it is for the field."""
        if key in _STEPS:
            self._go(self.list.currentIndex().row() + _STEPS[key])
        elif key in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.take()
        elif key == Qt.Key.Key_Escape:
            self.close()
        else:
            return key in (Qt.Key.Key_Tab, Qt.Key.Key_Backtab)
        return True


def show_find(window: Frame, specs: Sequence[ActionSpec]) -> None:
    """Show the field, with all that can be found now."""
    made = window.findChild(Finder, _NAME, Qt.FindChildOption.FindDirectChildrenOnly)
    finder = made if isinstance(made, Finder) else Finder(window)
    finder.begin(entries(window, specs))
