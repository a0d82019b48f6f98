"""What the mouse does on the plan.

A gesture starts from the committed design each time it moves, so that there is no drift,
snapping has no memory, and a cancel is free.
"""

from __future__ import annotations

from typing import Protocol

from PySide6.QtCore import QPointF, QRectF

from app.design import body_edits, edits
from app.document import Document
from geometry.model.chassis import Design

FREE_STEP_MM = 1.0
"""Places snap to this where the chassis has no hole pitch."""


class Gesture(Protocol):
    """One press, moves and a release."""

    def move(self, x: float, y: float, *, free: bool) -> None:
        """Follow the mouse to a chassis point [mm]; `free` leaves the grid."""

    def finish(self) -> None:
        """Make what is shown one step."""

    def cancel(self) -> None:
        """Leave everything as it was."""


def snap_step(design: Design, *, free: bool) -> float | None:
    """The grid that places snap to [mm]; None for none."""
    return None if free else design.hole_pitch_mm or FREE_STEP_MM


class DragWheels:
    """Move the selected wheels together, the gripped one onto the grid."""

    def __init__(self, document: Document, gripped: int, at: tuple[float, float], *, mirror: bool) -> None:
        self._document = document
        self._gripped = gripped
        self._mirror = mirror
        wheels = document.design.wheels
        self._chosen = sorted(document.selection | {gripped})
        wheel = wheels[gripped]
        self._grip = (wheel.x_mm - at[0], wheel.y_mm - at[1])

    def move(self, x: float, y: float, *, free: bool) -> None:
        """Preview the wheels at the mouse."""
        design = self._document.design
        wheel = design.wheels[self._gripped]
        step = snap_step(design, free=free)
        at = (edits.snap(x + self._grip[0], step), edits.snap(y + self._grip[1], step))
        dx, dy = at[0] - wheel.x_mm, at[1] - wheel.y_mm
        places = {i: (design.wheels[i].x_mm + dx, design.wheels[i].y_mm + dy) for i in self._chosen}
        places[self._gripped] = at  # a sum of differences could miss the hole by its last bit
        self._document.preview(lambda d: edits.move_wheels(d, places, mirror=self._mirror))

    def finish(self) -> None:
        """Make the move one step."""
        names = [self._document.design.wheels[i].name for i in self._chosen]
        self._document.commit_preview(f"Move {names[0]}" if len(names) == 1 else f"Move {len(names)} wheels")

    def cancel(self) -> None:
        """Put the wheels back."""
        self._document.cancel_preview()


class DragCorner:
    """Move one corner of the body."""

    def __init__(self, document: Document, corner: int, at: tuple[float, float], *, mirror: bool) -> None:
        self._document = document
        self._corner = corner
        self._mirror = mirror
        x, y = document.design.body_mm[corner]
        self._grip = (x - at[0], y - at[1])

    def move(self, x: float, y: float, *, free: bool) -> None:
        """Preview the corner at the mouse."""
        step = snap_step(self._document.design, free=free)
        px, py = edits.snap(x + self._grip[0], step), edits.snap(y + self._grip[1], step)
        self._document.preview(lambda d: body_edits.move_corner(d, self._corner, px, py, mirror=self._mirror))

    def finish(self) -> None:
        """Make the move one step."""
        self._document.commit_preview("Move body corner")

    def cancel(self) -> None:
        """Put the corner back."""
        self._document.cancel_preview()


class Band:
    """Select the wheels within a rectangle."""

    def __init__(self, document: Document, at: tuple[float, float], *, add: bool) -> None:
        self._document = document
        self._start = self._end = at
        self._before = document.selection if add else frozenset()
        self._original = document.selection

    def move(self, x: float, y: float, *, free: bool) -> None:  # noqa: ARG002
        """Stretch the rectangle."""
        self._end = (x, y)
        low = tuple(map(min, self._start, self._end))
        high = tuple(map(max, self._start, self._end))
        inside = {
            i
            for i, wheel in enumerate(self._document.design.wheels)
            if low[0] <= wheel.x_mm <= high[0] and low[1] <= wheel.y_mm <= high[1]
        }
        self._document.select(self._before | inside)

    @property
    def rectangle(self) -> tuple[tuple[float, float], tuple[float, float]]:
        """Opposite corners [mm]."""
        return self._start, self._end

    def finish(self) -> None:
        """Keep the selection."""

    def cancel(self) -> None:
        """Select what was selected before."""
        self._document.select(self._original)


def band_rectangle(first: QPointF, second: QPointF) -> QRectF:
    """Rectangle between two pixels."""
    return QRectF(first, second).normalized()
