"""Finds what collides, a moment after each change: it takes longer than a step of a drag may take."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, QTimer, Signal

from app.design.references import Reference
from app.document import Document
from geometry.model.design import Design

if TYPE_CHECKING:
    from geometry.packaging.fit import Fit

WAIT_MS, WAIT_IN_DRAG_MS = 60, 250
"""Changes within this time are looked at together; in a drag it must not take much of each second."""
_WAIT_AT_START_MS = 250
"""What is in sight comes first."""


class FitWatch(QObject):
    """What collides, and how the chassis stands, of the picture of a moment ago."""

    found = Signal(object)
    """The `Fit` of the design and the turn that are shown."""

    def __init__(self, document: Document) -> None:
        super().__init__(document)
        self._document = document
        self.fit: Fit | None = None
        """None before the first look."""
        self.design: Design = document.design
        """What was looked at: the design that is shown may be another by now."""
        self.struck: frozenset[Reference] = frozenset()
        """Parts and wheels that collide."""
        self._timer = QTimer(self)
        self._timer.setSingleShot(True)
        self._timer.timeout.connect(self.look)
        document.changed.connect(self._soon)
        document.closed.connect(self._timer.stop)
        self._timer.start(_WAIT_AT_START_MS)

    def _soon(self) -> None:
        wait = WAIT_IN_DRAG_MS if self._document.view.previewing else WAIT_MS
        if not self._timer.isActive() or wait < self._timer.remainingTime():
            self._timer.start(wait)

    def look(self) -> None:
        """Look now."""
        # Late: the window opens sooner without it.
        from app.panels.fit_list import struck
        from geometry.packaging.fit import fit_of

        self._timer.stop()
        view = self._document.view
        self.fit, self.design = fit_of(view.robot, view.design, view.heading), view.design
        self.struck = frozenset(reference for one in self.fit.collisions for reference in struck(one))
        self.found.emit(self.fit)
