"""What collides, as a list whose entries select the two things, and how the chassis stands, in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QRect, QSize, Qt, QTimer
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QFrame,
    QListWidget,
    QListWidgetItem,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from app.design import part_edits
from app.design.references import Reference
from app.document import Document
from app.plain import plain_label, plain_tip
from app.theme import colour, current_theme
from app.units import LengthUnit
from geometry.model.design import Design

if TYPE_CHECKING:
    from geometry.packaging.fit import Collision, Fit

_MOST_SHOWN = 20
_PADDING, _MOST_TALL = 8, 10_000
_TALLEST = 220
"""As tall as the list of collisions becomes [px]."""


def struck(collision: Collision) -> tuple[Reference, ...]:
    """The parts and wheels that a collision is between."""
    things = (collision.first, collision.second)
    found = []
    for thing in things:
        if thing.kind == "part":
            found.append(Reference("part", thing.index))
        elif thing.kind == "wheel":
            found.append(Reference("wheel", thing.index))
    return tuple(found)


class FitList(QWidget):
    """Collisions, the deepest first; a click selects both."""

    def __init__(self, document: Document) -> None:
        super().__init__()
        self._document = document
        self._unit: LengthUnit = "mm"
        self._fit: Fit | None = None
        self._design = document.design
        self.list = QListWidget()
        self.list.setAccessibleName("Collisions")
        self.list.setWordWrap(True)
        self.list.setFrameShape(QFrame.Shape.NoFrame)
        self.list.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.list.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.list.setToolTip("Choose one to select what collides.")
        self.list.itemClicked.connect(self._choose)
        self.list.itemActivated.connect(self._choose)
        self.state = plain_label()
        self.state.setWordWrap(True)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(12, 4, 12, 0)
        layout.setSpacing(2)
        layout.addWidget(self.state)
        layout.addWidget(self.list)
        self._show()

    def set_unit(self, unit: LengthUnit) -> None:
        """Show lengths in another unit."""
        self._unit = unit
        self._show()

    def show_fit(self, fit: Fit | None, design: Design) -> None:
        """Show what was found of a design; the one that is shown may be another by now."""
        self._fit, self._design = fit, design
        self._show()

    def _show(self) -> None:
        fit, design = self._fit, self._design
        self.list.setVisible(fit is not None and not fit.fits)
        if fit is None:
            self.state.setText("Looking for collisions …")
            return
        # Late, here and below: the window opens sooner without it.
        from app.words.fit_words import collision_words

        count = len(fit.collisions)
        told = "1 collision:" if count == 1 else f"{count} collisions, the deepest first:"
        self.state.setText(told if count else "Nothing collides, at this turn or over all travel.")
        sentences = [collision_words(design, one, self._unit) for one in fit.collisions[:_MOST_SHOWN]]
        lines = [f"▲ {words[:1].upper()}{words[1:]}." for words in sentences]
        if lines == [self.list.item(i).text() for i in range(self.list.count())]:
            return
        self.list.clear()
        for line in lines:
            item = QListWidgetItem(line)
            item.setToolTip(plain_tip(line))
            item.setForeground(colour(current_theme().bad))
            self.list.addItem(item)
        self._fit_height()

    def _fit_height(self) -> None:
        """As tall as the words are at this width."""
        metrics, wide = self.list.fontMetrics(), max(self.list.viewport().width() - _PADDING, 40)
        whole = 0
        for i in range(self.list.count()):
            item = self.list.item(i)
            words = QRect(0, 0, wide, _MOST_TALL)
            high = metrics.boundingRect(words, Qt.TextFlag.TextWordWrap, item.text()).height() + _PADDING
            item.setSizeHint(QSize(wide, high))
            whole += high
        tall = min(whole + _PADDING, _TALLEST)
        if tall != self.list.minimumHeight():
            self.list.setFixedHeight(tall)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Words wrap otherwise at another width."""
        super().resizeEvent(event)
        if event.size().width() != event.oldSize().width():
            QTimer.singleShot(0, self, self._fit_height)  # once the list has its width

    def refresh_theme(self) -> None:
        """Follow a change from light to dark or back."""
        for i in range(self.list.count()):
            self.list.item(i).setForeground(colour(current_theme().bad))

    def _choose(self, item: QListWidgetItem) -> None:
        fit = self._fit
        if fit is None or self._document.view.design is not self._design:
            return  # what it names may be another thing by now
        self._document.select(struck(fit.collisions[self.list.row(item)]))


class Stance(QWidget):
    """Mass, weights on the wheels and tipping; a button takes the weights for load shares."""

    def __init__(self, document: Document) -> None:
        super().__init__()
        self._document = document
        self._unit: LengthUnit = "mm"
        self._fit: Fit | None = None
        self._design = document.design
        self.words = plain_label()
        self.words.setWordWrap(True)
        self.words.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.use = QPushButton("Use as load shares")
        self.use.setToolTip("Take the weights on the wheels for their load shares.")
        self.use.clicked.connect(
            lambda: self._document.edit("Use weights as load shares", part_edits.take_load_shares)
        )
        layout = QVBoxLayout(self)
        layout.setContentsMargins(12, 0, 12, 8)
        layout.addWidget(self.words)
        layout.addWidget(self.use, 0, Qt.AlignmentFlag.AlignLeft)
        self.hide()

    def set_unit(self, unit: LengthUnit) -> None:
        """Show lengths in another unit."""
        self._unit = unit
        self.show_fit(self._fit, self._design)

    def show_fit(self, fit: Fit | None, design: Design) -> None:
        """Show how a design stands; nothing where it has no masses."""
        self._fit, self._design = fit, design
        balance = None if fit is None else fit.balance
        self.setVisible(balance is not None)
        if balance is not None:
            from app.words.fit_words import balance_lines

            lines = balance_lines(design, balance, self._unit)
            self.words.setText("\n".join(" ".join(line.split()) for line in lines))
            self.use.setEnabled(balance.loads is not None)
