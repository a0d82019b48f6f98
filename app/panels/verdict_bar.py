"""One line over the plan: whether every axle points at the turn centre, and the first steps."""

from __future__ import annotations

from PySide6.QtCore import QRect, QSize, Qt, Signal
from PySide6.QtGui import QFontMetrics, QResizeEvent
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel, QPushButton, QSizePolicy, QVBoxLayout, QWidget

from app.document import Document
from app.picture.view import View
from app.plain import plain_label, plain_tip
from app.theme import current_theme
from app.units import LengthUnit
from app.words.verdict import range_line, tone, verdict_line

_MARKS = {"good": "✓", "slight": "△", "bad": "▲", "empty": "○"}
_WIDE = 680
# Mark, margins and spacing beside the words and the button [px].
_AROUND = 56
FIRST_STEPS = (
    "Drag the wheels to where they are on your robot; the Wheel tab takes exact numbers. "
    "Move the slider below and watch every axle line run to the turn centre. "
    "When the line above says that every axle points there, export the steering table."
)


class _Room(QWidget):
    """Room for a label whose words change at each mouse move.

    A label of fixed size in a widget without a layout: otherwise each other word would lay out
    the whole window anew.
    """

    resized = Signal()
    """The label has another size now: what it shows may have to be cut anew."""

    def __init__(self, label: QLabel) -> None:
        super().__init__()
        self._label = label
        label.setParent(self)
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)

    def sizeHint(self) -> QSize:
        """One line; the layout gives more where there is more."""
        return QSize(0, self._label.fontMetrics().height())

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Fill it."""
        super().resizeEvent(event)
        self._label.setFixedSize(event.size())
        self.resized.emit()


class VerdictBar(QFrame):
    """The verdict with a mark; a button goes to the worst wheel."""

    worst_asked = Signal()

    def __init__(self, document: Document) -> None:
        super().__init__()
        self._document = document
        self._unit: LengthUnit = "mm"
        self._line = self._range_line = ""
        self._tone = ""
        self._lines = 3
        self.setObjectName("verdict")
        self.mark = plain_label()
        self.text = plain_label()
        self.text.setWordWrap(True)
        self.text.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        self.text.setAccessibleName("Verdict")
        self.text.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.range = plain_label()
        self.range.setObjectName("range")
        self.range.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        self.range.setAccessibleName("Verdict over the whole range")
        self.worst = QPushButton("Select it")
        self.worst.setToolTip("Select the worst wheel.")
        self.worst.clicked.connect(self.worst_asked)
        lines = QVBoxLayout()
        lines.setSpacing(1)
        lines.addWidget(_Room(self.text), 1)
        below = _Room(self.range)
        # The button beside it comes and goes without a change of the bar's own size.
        below.resized.connect(self._fit_range)
        lines.addWidget(below)
        layout = QHBoxLayout(self)
        layout.setContentsMargins(10, 3, 8, 3)
        layout.addWidget(self.mark)
        layout.addLayout(lines, 1)
        layout.addWidget(self.worst)
        document.changed.connect(self.show_view)
        self.show_view(document.view)

    def set_unit(self, unit: LengthUnit) -> None:
        """Show lengths in another unit."""
        self._unit = unit
        self.show_view(self._document.view)

    def refresh_theme(self) -> None:
        """Follow a change from light to dark or back."""
        self._tone = ""
        self.show_view(self._document.view)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Keep room for the longest verdict, so that the plan below never jumps when it grows."""
        super().resizeEvent(event)
        self._fit_height()
        self._fit_text()

    def _fit_height(self) -> None:
        # What motors do takes more words.
        self._lines = (3 if self.width() > _WIDE else 4) + (self._document.view.motored)
        wanted = (self._lines + 1) * self.fontMetrics().height() + 14
        if wanted != self.minimumHeight():
            self.setFixedHeight(wanted)

    def _fit_text(self) -> None:
        """Cut the verdict at a word where it needs more lines than there are; the tooltip has the whole."""
        whole, metrics = self._line, QFontMetrics(self.text.font())
        # As if the button were there: it comes and goes with the words.
        wide = self.width() - self.worst.sizeHint().width() - _AROUND
        room = QRect(0, 0, max(wide, 100), 10_000)
        flags = int(Qt.TextFlag.TextWordWrap)
        text, words = whole, whole.split(" ")
        while metrics.boundingRect(room, flags, text).height() > self._lines * metrics.height() and words:
            words.pop()
            text = " ".join(words) + " …"
        if text != self.text.text():
            self.text.setText(text)

    def _fit_range(self) -> None:
        whole = self._range_line
        room = max(self.range.width(), 100)
        text = self.range.fontMetrics().elidedText(whole, Qt.TextElideMode.ElideRight, room)
        if text != self.range.text():
            self.range.setText(text)

    def show_view(self, view: View) -> None:
        """Show the verdict of this view."""
        now = tone(view)
        line = verdict_line(view, self._unit)
        if line != self._line:
            self._line = line
            self.text.setToolTip(plain_tip(line))
            self.text.setAccessibleDescription(line)
            self._fit_text()
        self._range_line = range_line(view, self._unit)
        self.range.setToolTip(plain_tip(self._range_line))
        self._fit_height()
        self._fit_range()
        self.mark.setText(_MARKS[now])
        self.worst.setVisible(now in ("slight", "bad"))
        if now != self._tone:
            self._tone = now
            theme = current_theme()
            edge = {"good": theme.good, "slight": theme.slight, "bad": theme.bad, "empty": theme.faint}[now]
            self.setStyleSheet(
                f"#verdict {{ background: {theme.banner}; border-left: 6px solid {edge}; }}"
                f"#verdict QLabel {{ color: {theme.ink}; font-weight: 600; }}"
                f"#verdict QLabel#range {{ color: {theme.faint}; font-weight: 400; }}"
            )
            self.mark.setStyleSheet(f"color: {edge}; font-size: 18px;")


class FirstSteps(QFrame):
    """Three sentences for the first start."""

    dismissed = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        text = plain_label(FIRST_STEPS)
        text.setWordWrap(True)
        done = QPushButton("Got it")
        done.setToolTip("Hide these sentences; the Help menu shows them again.")
        done.clicked.connect(self.dismissed)
        layout = QHBoxLayout(self)
        layout.setContentsMargins(10, 4, 8, 4)
        layout.addWidget(text, 1)
        layout.addWidget(done)
