"""The verdict at the head of the panel: the whole range first, then this turn, then what to do.

While a drive is shown it is the verdict of that drive.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from PySide6.QtCore import QEvent, QSize, Qt, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel, QPushButton, QSizePolicy, QVBoxLayout, QWidget

from app.design.facts import Facts
from app.document import Document
from app.icons import SIZE, shared_picture
from app.picture.view import View
from app.plain import plain_label, plain_tip
from app.theme import current_theme, sized
from app.units import LengthUnit
from app.words.stage_states import Mark
from app.words.verdict import Tone, headline, this_turn, tone, what_to_do

if TYPE_CHECKING:
    from app.words.run_verdict import RunVerdict

_MARKS: dict[str, Mark] = {"good": "done", "slight": "slight", "bad": "wrong", "empty": "open"}
_SPOKEN = {"good": "Good", "slight": "Slight drag", "bad": "Bad", "empty": "Nothing yet"}
_LONGEST_NAME = 20
_GAP, _LEAST = 2, 56
# A name without a space may be broken after so many letters: nothing else would keep it from being cut.
_LONG_WORD = 10
_MAY_BREAK = "\u200b"
FIRST_STEPS = (
    "Drag the wheels to where they are on your robot; the fields of the stage Lay out take exact numbers. "
    "Move the slider at the foot and watch every axle line run to the turn centre. "
    "When the line above says that it is aligned at every turn, go on through the stages; F1 shows each step."
)


_MOST_HEIGHTS = 64


def breakable(text: str) -> str:
    """Let long words be broken, where a label else cuts them; nothing of it is seen."""
    return re.sub(rf"(\S{{{_LONG_WORD}}})(?=\S{{{_LONG_WORD}}})", rf"\1{_MAY_BREAK}", text)


class _Lines(QWidget):
    """Labels one below the other, each as high as its words need.

    It lays them out itself: with a layout each other word would lay out the whole window anew.
    """

    resized = Signal()
    """There is another width now: the words may need another height."""

    def __init__(self, labels: tuple[QLabel, ...]) -> None:
        super().__init__()
        self._labels = labels
        self._heights: dict[tuple[str, int, str], int] = {}
        for label in labels:
            label.setParent(self)
            label.setWordWrap(True)
            label.setAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignTop)
            label.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)

    def sizeHint(self) -> QSize:
        """One line; the bar gives the height."""
        return QSize(0, self.fontMetrics().height())

    def needed(self, label: QLabel) -> int:
        """Height that a label needs at this width, with the gap above it; 0 without words [px]."""
        text, width = label.text(), max(self.width(), _LEAST)
        if not text:
            return 0
        # Asked several times a step of a drag, in which most of the words stay.
        case = text, width, label.font().key()
        height = self._heights.get(case)
        if height is None:
            if len(self._heights) >= _MOST_HEIGHTS:
                self._heights.clear()
            height = self._heights[case] = label.heightForWidth(width)
        return height + _GAP

    def place(self) -> None:
        """Put each below the one before."""
        top = 0
        for label in self._labels:
            height = self.needed(label)
            label.setGeometry(0, top + _GAP, max(self.width(), _LEAST), max(height - _GAP, 0))
            top += height

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Follow the width."""
        super().resizeEvent(event)
        if event.size().width() != event.oldSize().width():
            self.resized.emit()


class VerdictBar(QFrame):
    """The verdict with a mark; buttons go to the worst wheel and the worst turn.

    It is as high as its words need, and keeps the height that another turn of the same design
    needed: what lies below does not jump while the person steers or drags. What a drag has no room
    for is left out by whole sentences, from the end, and never of the headline or of the turn.
    """

    worst_asked = Signal()
    """The person wants the wheel that drags most selected."""
    worst_turn_asked = Signal(float)
    """The person wants the turn at which it drags most."""

    def __init__(self, document: Document) -> None:
        super().__init__()
        self._document = document
        self._unit: LengthUnit = "mm"
        self._tone: Tone | None = None
        self._facts: Facts | None = None
        self._room = 0
        self._sentences: tuple[str, ...] = ()
        self._run: RunVerdict | None = None
        self.setObjectName("verdict")
        self.mark = plain_label()
        self.mark.setFixedSize(SIZE + 2, SIZE + 6)
        self.headline, self.turn, self.more = plain_label(), plain_label(), plain_label()
        # Never seen: what other words would need.
        self._probe = plain_label()
        self._name_lines()
        self.lines = _Lines((self.headline, self.turn, self.more))
        self._probe.setWordWrap(True)
        self._probe.setParent(self.lines)
        self._probe.hide()
        self.lines.resized.connect(self._fit_anew)
        self.worst_turn = QPushButton("Show worst turn")
        self.worst_turn.setToolTip("Go to the turn at which a wheel drags most.")
        self.worst_turn.clicked.connect(self._ask_worst_turn)
        self.worst = QPushButton("Select it")
        self.worst.setToolTip("Select the wheel that drags most in the whole range.")
        self.worst.clicked.connect(self.worst_asked)
        row = QHBoxLayout()
        row.addWidget(self.worst_turn)
        row.addWidget(self.worst)
        row.addStretch(1)
        column = QVBoxLayout()
        column.setSpacing(4)
        column.addWidget(self.lines)
        column.addLayout(row)
        layout = QHBoxLayout(self)
        layout.setContentsMargins(10, 8, 12, 8)
        layout.setSpacing(8)
        layout.addWidget(self.mark, 0, Qt.AlignmentFlag.AlignTop)
        layout.addLayout(column, 1)
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        self._choose_fonts()
        document.changed.connect(self._show_turn)
        document.range_changed.connect(self.show_view)
        self.show_view(document.view)

    def set_unit(self, unit: LengthUnit) -> None:
        """Show lengths in another unit."""
        self._unit, self._facts = unit, None
        self.show_view(self._document.view)

    def refresh_theme(self) -> None:
        """Follow a change from light to dark or back."""
        self._tone, self._facts = None, None
        self.show_view(self._document.view)

    def changeEvent(self, event: QEvent) -> None:
        """Follow another font."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.FontChange:
            self._choose_fonts()
            self._fit_anew()

    def _choose_fonts(self) -> None:
        self.headline.setFont(sized(self.font(), "title", strong=True))

    def _name_lines(self) -> None:
        names = ("Verdict over the whole range", "Verdict at this turn", "What to do")
        if self._run is not None:
            names = ("Verdict of the drive", "Where it touched, and its drag", "Verdict over the whole range")
        for label, name in zip((self.headline, self.turn, self.more), names, strict=True):
            label.setAccessibleName(name)

    def show_run(self, run: RunVerdict | None) -> None:
        """Head the panel with the verdict of a drive; with None with that of the chassis again."""
        if run == self._run:
            return
        before, self._run = self._run, run
        if before is None or run is None:
            self._name_lines()
            self._tone, self._facts = None, None
        if run is None:
            self.show_view(self._document.view)
            return
        self._tell_run(run, anew=before is None or before.longest != run.longest)

    def _tell_run(self, run: RunVerdict, *, anew: bool) -> None:
        self._dress(run.tone)
        for button in (self.worst_turn, self.worst):
            button.hide()
        for label, words in zip((self.headline, self.turn, self.more), run.lines, strict=True):
            self._tell(label, words)
        self._fit(anew=anew)

    def _show_turn(self, view: View) -> None:
        """Follow each step of a drag, of which the range is judged less often."""
        if view.previewing and self._run is None:
            self._tell(self.turn, this_turn(view, self._unit))
            self._fit(anew=False)

    def show_view(self, view: View) -> None:
        """Show the verdict of this view, unless that of a drive is shown."""
        if self._run is not None:
            self._tell_run(self._run, anew=False)
            return
        facts = view.facts
        other = facts is not self._facts
        if other:
            self._facts = facts
            self._show_tone(facts)
            self._tell(self.headline, headline(facts, self._unit))
            self._sentences = what_to_do(facts, self._unit)
        self._tell(self.turn, this_turn(view, self._unit))
        if not view.previewing:
            self._tell(self.more, " ".join(self._sentences))
        self._fit(anew=other and not view.previewing)

    def _show_tone(self, facts: Facts) -> None:
        if not self._document.view.previewing:
            self._offer(facts)
        self._dress(tone(facts))

    def _dress(self, now: Tone) -> None:
        """Take the mark and the tint of a tone."""
        if now == self._tone:
            return
        self._tone = now
        theme = current_theme()
        edge, ground = theme.verdict(now)
        self.mark.setPixmap(shared_picture(_MARKS[now], edge, ground, self.devicePixelRatioF()))
        self.mark.setAccessibleName(_SPOKEN[now])
        self.setStyleSheet(
            f"#verdict {{ background: {ground}; border-left: 5px solid {edge}; }}"
            f"#verdict QLabel {{ color: {theme.ink}; }}"
        )

    def _offer(self, facts: Facts) -> None:
        worst = facts.check.worst
        for button in (self.worst_turn, self.worst):
            button.setVisible(worst is not None)
        if worst is not None:
            name = facts.design.wheels[worst.wheel].name
            short = name if len(name) <= _LONGEST_NAME else "the worst wheel"
            self.worst.setText(f"Select {short}".replace("&", "&&"))
            self.worst.setToolTip(plain_tip(f"Select {name}, the wheel that drags most in the whole range."))

    def _ask_worst_turn(self) -> None:
        worst = self._document.view.facts.check.worst
        if worst is not None:
            self.worst_turn_asked.emit(worst.turn)

    @staticmethod
    def _tell(label: QLabel, words: str) -> None:
        if words != label.accessibleDescription():
            label.setText(breakable(words))
            label.setAccessibleDescription(words)
            label.setToolTip(plain_tip(words))
            if not words:
                label.clearFocus()  # who copied from it had the keyboard there, and nothing is left to see

    def _fit_anew(self) -> None:
        self._fit(anew=True)

    def _fit(self, *, anew: bool) -> None:
        """Take the height that the words need, or more where they needed more at another turn."""
        if anew:
            self._room = 0
        top = self.lines.needed(self.headline) + self.lines.needed(self.turn)
        if self._run is not None:
            # As high from the start as the longest words of the drive need.
            labels = (self.headline, self.turn, self.more)
            longest = zip(labels, self._run.longest, strict=True)
            self._room = max(self._room, sum(self._height_of(label, words) for label, words in longest))
        elif self._document.view.previewing:
            kept = len(self._sentences)
            while kept and top + self._height_of(self.more, " ".join(self._sentences[:kept])) > self._room:
                kept -= 1
            self._tell(self.more, " ".join(self._sentences[:kept]))
        self._take(max(self._room, top + self.lines.needed(self.more)))

    def _height_of(self, label: QLabel, words: str) -> int:
        """Height that words would take in a label, found without a change of what is shown."""
        self._probe.setFont(label.font())
        self._probe.setText(breakable(words))
        return self.lines.needed(self._probe)

    def _take(self, room: int) -> None:
        self._room = room
        if room != self.lines.minimumHeight():
            self.lines.setFixedHeight(room)
        self.lines.place()


class FirstSteps(QFrame):
    """Three sentences for the first start."""

    dismissed = Signal()
    numbers_asked = Signal()
    """The person wants a chassis of their own at once."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        text = plain_label(FIRST_STEPS)
        text.setWordWrap(True)
        done = QPushButton("Got it")
        done.setToolTip("Hide these sentences; the Help menu shows them again.")
        done.clicked.connect(self.dismissed)
        numbers = QPushButton("&New…")
        numbers.setToolTip("Say how many wheels your robot has, their places and sizes, and start with it.")
        numbers.clicked.connect(self.numbers_asked)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(12, 8, 12, 8)
        layout.addWidget(text)
        buttons = QHBoxLayout()
        buttons.setSpacing(4)
        buttons.addWidget(numbers)
        buttons.addWidget(done)
        buttons.addStretch(1)
        layout.addLayout(buttons)
