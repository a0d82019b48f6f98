"""The picture of the chassis that the form makes, and what must be said about it."""

from __future__ import annotations

from PySide6.QtCore import QEvent, Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QHBoxLayout, QPlainTextEdit, QVBoxLayout, QWidget

from app.design.facts import Facts
from app.design.first_chassis import FirstChassis
from app.dialogs.first_chassis import FirstChassisForm
from app.document import FIRST_TURN
from app.icons import shared_picture
from app.picture.view import Command, View
from app.plain import plain_label
from app.theme import current_theme
from app.views.still import StillPlan

_ROOM_FOR_A_LINE = 90
"""Height of the picture's column for each line of its sentences that shows at once [px]."""


class FirstChassisPicture(QWidget):
    """The chassis of a form in a gentle left turn, and below it what becomes of it."""

    def __init__(self, form: FirstChassisForm) -> None:
        super().__init__()
        self._form = form
        self.picture = StillPlan(_view(form.found))
        self._mark = plain_label()
        self._mark.setFixedSize(16, 16)
        self.line = plain_label()
        self.line.setWordWrap(True)
        self.line.setAccessibleName("What becomes of these numbers")
        self.notes = QPlainTextEdit()
        self.notes.setReadOnly(True)
        self.notes.setTabChangesFocus(True)
        self.notes.setFrameShape(QPlainTextEdit.Shape.NoFrame)
        self.notes.setAccessibleName("More about this chassis")
        self.notes.setToolTip("What became other than asked.")
        self.notes.viewport().setAutoFillBackground(False)
        self.notes.document().setDocumentMargin(0)
        self.notes.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        words = QHBoxLayout()
        words.setContentsMargins(16, 8, 16, 8)
        words.setSpacing(8)
        words.addWidget(self._mark, 0, Qt.AlignmentFlag.AlignTop)
        words.addWidget(self.line, 1)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(0)
        layout.addWidget(self.picture, 1)
        layout.addLayout(words)
        below = QHBoxLayout()
        below.setContentsMargins(40, 0, 8, 10)
        below.addWidget(self.notes)
        layout.addLayout(below)
        form.shown.connect(self.follow)
        self.follow()

    def follow(self) -> None:
        """Show what the form holds."""
        form, theme = self._form, current_theme()
        tone, text = form.said
        self.picture.show_view(_view(form.found), form.unit)
        key, ink = {"good": ("done", theme.good), "bad": ("wrong", theme.bad)}.get(
            tone, ("open", theme.faint)
        )
        self._mark.setPixmap(shared_picture(key, ink, theme.panel, self.devicePixelRatioF()))
        self.line.setText(text)
        notes = "\n".join(form.notes)
        if notes != self.notes.toPlainText():
            self.notes.setPlainText(notes)
        self.notes.setVisible(bool(notes))
        self._fit_notes()

    def _fit_notes(self) -> None:
        """As high as the sentences, and no higher than some lines, below which they scroll."""
        metrics = self.notes.fontMetrics()
        room = max(self.width() - 64, 120)
        tall = sum(
            metrics.boundingRect(0, 0, room, 4_000, int(Qt.TextFlag.TextWordWrap), text).height()
            for text in self._form.notes
        )
        lines = max(self.height() // _ROOM_FOR_A_LINE, 3)
        self.notes.setFixedHeight(min(tall, lines * metrics.lineSpacing()) + 2)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Give the sentences their lines."""
        super().resizeEvent(event)
        self._fit_notes()

    def changeEvent(self, event: QEvent) -> None:
        """Follow light and dark."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.PaletteChange:
            self.follow()


def _view(found: FirstChassis) -> View:
    """The picture in a gentle left turn, as the window opens."""
    return View(Facts(found.design), Command(turn=min(FIRST_TURN, found.design.largest_turn)))
