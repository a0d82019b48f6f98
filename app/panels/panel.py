"""What every panel has in common: when it is told of a change, and what the window may ask of it."""

from __future__ import annotations

from typing import ClassVar

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QWidget

from app.document import Document
from app.picture.view import View
from app.units import LengthUnit


class Panel(QWidget):
    """A part of the window that shows one side of the chassis; a row of the registry makes it.

    A panel says how it shows a picture of the world in `show_view`, and never asks whether it has to:
    it is called when there is something new and somebody may see it.
    """

    OF_THE_RANGE: ClassVar[bool] = False
    """Whether it shows the whole range of turns, of which a drag tells less often."""
    action_asked = Signal(str)
    """Key of an action of the window that the panel has a button for."""

    def __init__(self, document: Document) -> None:
        super().__init__()
        self._document = document
        self._seen = True
        self.symmetric = True
        """Whether the partner on the other side follows a change."""
        told = document.range_changed if self.OF_THE_RANGE else document.changed
        told.connect(self.follow)

    def show_view(self, view: View) -> None:
        """Show this picture of the world."""

    def summary(self, view: View) -> str:  # noqa: ARG002
        """What it holds in a few words, for the head of its section."""
        return ""

    def set_unit(self, unit: LengthUnit) -> None:
        """Show lengths in another unit."""

    def refresh_theme(self) -> None:
        """Follow a change from light to dark or back."""

    def set_seen(self, *, seen: bool) -> None:
        """Rest while nobody sees it, and then catch up."""
        self._seen = seen
        self.refresh()

    def follow(self, view: View) -> None:
        """Show a picture, unless the panel rests, or may wait for the end of a drag, which tells it again."""
        if self._seen and (not view.previewing or self._in_sight()):
            self.show_view(view)

    def refresh(self) -> None:
        """Show the picture of now, unless the panel rests."""
        self.follow(self._document.view)

    def _in_sight(self) -> bool:
        # What is scrolled away is still visible to Qt.
        return self.isVisible() and not self.visibleRegion().isEmpty()
