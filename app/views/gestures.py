"""What the mouse does on the plan: a list of gestures, each asked in turn whether a press is its own.

A gesture starts from the committed design each time it moves, so that there is no drift,
snapping has no memory, and a cancel is free.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import ClassVar, Protocol

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QPainter

from app.design import edits, selection_edits
from app.design.references import Reference, kept, references_to
from app.document import Document
from app.theme import colour, pen
from app.views.camera import Camera
from app.views.distances import draw_lines, lines_of
from app.views.scene import Scene
from geometry.model.design import Design

FREE_STEP_MM = 1.0
"""Places snap to this where the chassis has no hole pitch."""


@dataclass(frozen=True)
class Pointer:
    """Where the mouse is."""

    x: float
    y: float
    """Chassis point, forward and to the left [mm]."""
    px: float = 0.0
    py: float = 0.0
    """Pixel of the widget."""
    free: bool = False
    """Whether the hand asks to leave the grid."""


@dataclass(frozen=True)
class Press:
    """A press of the left button."""

    at: Pointer
    under: Reference | None
    """What is under the mouse."""
    adding: bool = False
    """Whether a key is held that adds to the selection: Shift or Ctrl."""


class Surface(Protocol):
    """What a gesture may ask of the widget that it happens on."""

    symmetric: bool
    """Whether partners on the other side follow."""

    @property
    def shows_parts(self) -> bool:
        """Whether parts can be gripped."""

    @property
    def document(self) -> Document:
        """The document that is shown."""

    @property
    def camera(self) -> Camera:
        """Where the widget looks."""

    def look_by(self, camera: Camera) -> None:
        """Look by another camera."""

    def place_for_new(self) -> tuple[float, float] | None:
        """Where the person points to with a new wheel [mm]."""


class Gesture:
    """One press, moves and a release; by itself it does nothing, and keeps others from the press."""

    cursor: ClassVar[Qt.CursorShape] = Qt.CursorShape.ArrowCursor
    """What the mouse looks like meanwhile."""

    def move(self, at: Pointer) -> None:
        """Follow the mouse; not called while it is where it was pressed, but for a few pixels."""

    def finish(self) -> None:
        """Make what is shown one step."""

    def cancel(self) -> None:
        """Leave everything as it was."""

    def draw(self, painter: QPainter, scene: Scene) -> None:
        """Draw what belongs to the gesture itself, over all marks."""


GestureMaker = Callable[[Surface, Press], Gesture | None]
"""Answers with a gesture where the press is its own, else with None."""


def gesture_for(surface: Surface, press: Press) -> Gesture | None:
    """Ask each gesture in turn; the first that answers takes the press."""
    asked = (make(surface, press) for make in GESTURES)
    return next((gesture for gesture in asked if gesture is not None), None)


def snap_step(design: Design, *, free: bool) -> float | None:
    """The grid that places snap to [mm]; None for none."""
    return None if free else design.hole_pitch_mm or FREE_STEP_MM


def hover_cursor(surface: Surface, under: Reference | None, *, adding: bool) -> Qt.CursorShape:
    """What the mouse looks like where nothing is pressed: it shows what a press would begin."""
    if under is not None:
        return Qt.CursorShape.PointingHandCursor if adding else DragSelected.cursor
    if adding:
        return Band.cursor
    return FirstAxle.hovering if not surface.document.design.wheels else Qt.CursorShape.OpenHandCursor


def add_wheels(document: Document, x: float, y: float, like: int | None = None, *, mirror: bool) -> bool:
    """Add a wheel, with `mirror` a pair, as one step, and select the one or the left one."""
    count = len(document.design.wheels)
    label = "Add a pair of wheels" if mirror and abs(y) > 0 else "Add wheel"
    if not document.edit(label, lambda d: edits.add_wheels(d, x, y, like, mirror=mirror)):
        return False
    document.select((Reference("wheel", count),))
    return True


def toggle(surface: Surface, press: Press) -> Gesture | None:
    """Select one more, or one less."""
    if press.under is None or not press.adding:
        return None
    surface.document.select({*surface.document.selection} ^ {press.under})
    return Gesture()


def drag(surface: Surface, press: Press) -> Gesture | None:
    """Grip what is under the mouse; it alone, unless it is one of several that are selected."""
    if press.under is None:
        return None
    if press.under not in surface.document.selection:
        surface.document.select((press.under,))
    return DragSelected(surface.document, press.under, press.at, mirror=surface.symmetric)


def choose(surface: Surface, press: Press) -> Gesture | None:
    """Select what has no place of its own that could be dragged, such as a motor."""
    under = press.under
    if under is None or selection_edits.places_of(surface.document.design, (under,)):
        return None
    surface.document.select((under,))
    return Gesture()


def band(surface: Surface, press: Press) -> Gesture | None:
    """Add the wheels within a rectangle to the selection."""
    return Band(surface.document, press.at, parts=surface.shows_parts) if press.adding else None


def first_axle(surface: Surface, press: Press) -> Gesture | None:
    """Where there is no wheel yet, a click puts the first axle there."""
    if press.under is not None or surface.document.design.wheels:
        return None
    return FirstAxle(surface, press.at)


def pan(surface: Surface, press: Press) -> Gesture | None:
    """Move the plan; a click clears the selection."""
    return Pan(surface, press.at)


GESTURES: tuple[GestureMaker, ...] = (toggle, choose, drag, band, first_axle, pan)
"""In the order in which they are asked."""


class DragSelected(Gesture):
    """Move all that is selected together, the gripped one onto the grid."""

    cursor = Qt.CursorShape.SizeAllCursor

    def __init__(self, document: Document, gripped: Reference, at: Pointer, *, mirror: bool) -> None:
        self._document = document
        self._gripped = gripped
        self._mirror = mirror
        self._start = selection_edits.places_of(document.design, {*document.selection, gripped})
        x, y = self._start[gripped]
        self._grip = (x - at.x, y - at.y)
        self._moved = False
        self._partner = (
            edits.mirror_partner(document.design, gripped.index) if gripped.kind == "wheel" else None
        )

    def move(self, at: Pointer) -> None:
        """Preview all of it at the mouse."""
        self._moved = True
        step = snap_step(self._document.design, free=at.free)
        to = (edits.snap(at.x + self._grip[0], step), edits.snap(at.y + self._grip[1], step))
        x, y = self._start[self._gripped]
        dx, dy = to[0] - x, to[1] - y
        places = {reference: (px + dx, py + dy) for reference, (px, py) in self._start.items()}
        places[self._gripped] = to  # a sum of differences could miss the hole by its last bit
        self._document.preview(lambda d: selection_edits.move_to(d, places, mirror=self._mirror))

    def finish(self) -> None:
        """Make the move one step."""
        what = selection_edits.counted(self._start)
        if len(self._start) == 1 and self._gripped.kind != "corner":
            what = selection_edits.named(self._document.design, self._start)
        self._document.commit_preview(f"Move {what}")

    def cancel(self) -> None:
        """Put it back."""
        self._document.cancel_preview()

    def draw(self, painter: QPainter, scene: Scene) -> None:
        """Write beside it where it stands, and how far it is from what is near."""
        if self._moved:
            lines = lines_of(scene.view, self._gripped, self._partner, scene.options.unit)
            draw_lines(painter, scene, self._gripped, lines)


class Band(Gesture):
    """Select wheels and parts within a rectangle, beside what is selected already."""

    cursor = Qt.CursorShape.CrossCursor

    def __init__(self, document: Document, at: Pointer, *, parts: bool) -> None:
        self._document = document
        self._parts = references_to("part", range(len(document.design.packaging.parts) if parts else 0))
        self._start = self._end = (at.x, at.y)
        self._before = document.selection
        self._design = document.design

    def move(self, at: Pointer) -> None:
        """Stretch the rectangle."""
        self._end = (at.x, at.y)
        low = tuple(map(min, self._start, self._end))
        high = tuple(map(max, self._start, self._end))
        design = self._document.design
        every = (*references_to("wheel", range(len(design.wheels))), *self._parts)
        places = selection_edits.places_of(design, every)
        inside = [r for r, (x, y) in places.items() if low[0] <= x <= high[0] and low[1] <= y <= high[1]]
        self._document.select((*self._before, *inside))

    def cancel(self) -> None:
        """Select what was selected before."""
        self._document.select(kept(self._before, self._design, self._document.design))

    def draw(self, painter: QPainter, scene: Scene) -> None:
        """Draw the rectangle."""
        first, second = (QPointF(*p) for p in scene.camera.to_screen((self._start, self._end)).tolist())
        painter.setPen(pen(scene.theme.accent, 1.0, Qt.PenStyle.DashLine))
        painter.setBrush(colour(scene.theme.accent, 30))
        painter.drawRect(QRectF(first, second).normalized())


class Pan(Gesture):
    """Move the plan under the mouse; where it is let go unmoved, that was a click on the ground."""

    cursor = Qt.CursorShape.ClosedHandCursor

    def __init__(self, surface: Surface, at: Pointer) -> None:
        self._surface = surface
        self._last = at
        self._moved = False

    def move(self, at: Pointer) -> None:
        """Keep what was pressed under the mouse."""
        gap = (at.px - self._last.px, at.py - self._last.py)
        self._last, self._moved = at, True
        self._surface.look_by(self._surface.camera.panned(*gap))

    def finish(self) -> None:
        """Clear the selection after a click."""
        if not self._moved:
            self.click()

    def click(self) -> None:
        """What a release does where nothing was moved."""
        self._surface.document.select(())

    def cancel(self) -> None:
        """Leave the plan where it was moved to: nothing else was changed."""


class FirstAxle(Pan):
    """A click puts the first axle where it is, as a pair with symmetry; a drag moves the plan."""

    hovering: ClassVar[Qt.CursorShape] = Qt.CursorShape.CrossCursor

    def click(self) -> None:
        """Add the pair, or one wheel."""
        place = self._surface.place_for_new()
        if place is not None:
            add_wheels(self._surface.document, *place, mirror=self._surface.symmetric)
