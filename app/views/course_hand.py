"""The hand on the course: obstacles and the robot's start are chosen, dragged, turned, nudged and deleted.

A course of the chassis can be changed while nothing drives. A drag shows a preview that begins each time
from the committed design, and is one step at its end.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol

from PySide6.QtCore import QEvent, QPointF, Qt
from PySide6.QtGui import QFont, QKeyEvent, QPainter
from PySide6.QtWidgets import QMenu, QWidget

from app.design import driving_edits, obstacle_edits
from app.design.edits import snap
from app.drive_session import Chosen, DriveSession
from app.picture.view import View
from app.theme import Theme
from app.units import LengthUnit
from app.views.camera import Camera
from app.views.gestures import snap_step
from app.views.lettering import lettering
from app.views.obstacles import (
    Grip,
    Point,
    Start,
    called,
    draw_grips,
    draw_lit,
    draw_start,
    grip_at,
    grips_of,
    middle_of,
    numbers_of,
    obstacle_at,
    outlines_of,
    words_place,
)
from geometry.driving.swept_contact import core
from geometry.model.design import Design
from geometry.model.driving import Course
from geometry.model.part_outline import turned

KEEP_FIRST = (
    'A ready course is changed once it is kept: press "Keep with the chassis" in the section Drive by.'
)
_CHOOSE_FIRST = (
    "Choose an obstacle first: click on it, or press the comma; Alt with an arrow key then moves it."
)
_CLICK_PX = 3.0
_WAYS = {
    Qt.Key.Key_Up: (1.0, 0.0),
    Qt.Key.Key_Down: (-1.0, 0.0),
    Qt.Key.Key_Left: (0.0, 1.0),
    Qt.Key.Key_Right: (0.0, -1.0),
}
_DELETING = (Qt.Key.Key_Delete, Qt.Key.Key_Backspace)
_CURSORS = {"whole": Qt.CursorShape.SizeAllCursor}
_TIPS = {
    "end": "Drag to change length and turn; the other end stays.",
    "side": "Drag to change the width.",
    "turn": "Drag to turn the start.",
}


class Surface(Protocol):
    """What it asks of the widget that shows the course."""

    snapping: bool
    """Whether places snap to the grid."""

    @property
    def camera(self) -> Camera:
        """Where it looks."""

    @property
    def view(self) -> View:
        """What it shows."""


@dataclass(frozen=True)
class _Held:
    """What is gripped."""

    grip: Grip
    at: QPointF
    """Where it was pressed [px]."""
    off: Point
    """From the press to the place that is drawn [mm]."""
    about: Point | None = None
    """What that place turns about; None where it is moved [mm]."""
    short: float = 0.0
    """How much nearer to it the place is than the press [mm]."""

    def place(self, x: float, y: float) -> Point:
        """Where the mouse draws it to [mm]."""
        if self.about is None:
            return x + self.off[0], y + self.off[1]
        dx, dy = x - self.about[0], y - self.about[1]
        far = math.hypot(dx, dy)
        share = max(far - self.short, 0.0) / far if far > 0 else 0.0
        return self.about[0] + dx * share, self.about[1] + dy * share


def _held(course: Course, grip: Grip, at: QPointF, x: float, y: float) -> _Held:
    place, about = _place_of(course, grip), _about(course, grip)
    short = 0.0
    if about is not None and grip.part != "turn":
        short = math.dist(about, (x, y)) - math.dist(about, place)
    return _Held(grip, at, (place[0] - x, place[1] - y), about, short)


def _about(course: Course, grip: Grip) -> Point | None:
    """What stays where it is, and is turned about or drawn away from."""
    if not isinstance(grip.thing, int):
        return middle_of(course, "start") if grip.part == "turn" else None
    one = course.obstacles[grip.thing]
    if grip.part == "end":
        return obstacle_edits.ends_of(one)[1 - grip.which]
    return middle_of(course, grip.thing) if grip.part == "side" and one.kind == "post" else None


class CourseHand:
    """What mouse and keys do to the course, and what is drawn of that."""

    def __init__(self, session: DriveSession, surface: Surface) -> None:
        self._session = session
        self._surface = surface
        self._hover: Grip | None = None
        self._refused = False
        self._drag: _Held | None = None
        self._moved = False

    # What is there ---------------------------------------------------------------------------

    @property
    def course(self) -> Course | None:
        """The course of the chassis as it is shown, where it can be changed; None while something drives."""
        design = self._surface.view.design
        if self._session.moving or self._session.own_course(design) is None:
            return None
        return self._session.course_in(design)

    @property
    def dragging(self) -> bool:
        """Whether something is gripped."""
        return self._drag is not None

    def _start(self, course: Course) -> Start:
        view = self._surface.view
        far = 0.75 * view.facts.size
        if self._session.frame is not None or not view.design.body_mm:
            return Start(far)
        c, s = turned(course.start_heading_deg)
        x, y = course.start_x_mm, course.start_y_mm
        return Start(far, tuple((x + a * c - b * s, y + a * s + b * c) for a, b in view.design.body_mm))

    def grips(self) -> list[tuple[Grip, Point]]:
        """The grips of what is chosen, and where they stand [px]."""
        course = self.course
        if course is None:
            return []
        return grips_of(course, self._start(course), self._surface.camera, self._session.chosen)

    def under(self, at: QPointF) -> Grip | None:
        """What a press at a pixel would grip."""
        course = self.course
        if course is None:
            return None
        return grip_at(course, self._start(course), self._surface.camera, at, self._session.chosen)

    def _on_ready(self, at: QPointF) -> bool:
        """Whether a pixel is on an obstacle of a ready course."""
        design = self._surface.view.design
        if self._session.moving or self._session.own_course(design) is not None:
            return False
        course = self._session.course_in(design)
        return course is not None and obstacle_at(course, self._surface.camera, at) is not None

    # Mouse -----------------------------------------------------------------------------------

    def hover(self, at: QPointF) -> bool:
        """Look what is under the mouse; tell whether that is another thing than before."""
        before = self._hover, self._refused
        self._hover, self._refused = self.under(at), self._on_ready(at)
        return before != (self._hover, self._refused)

    def leave(self) -> None:
        """Nothing is under the mouse."""
        self._hover, self._refused = None, False

    @property
    def cursor(self) -> Qt.CursorShape:
        """What the mouse looks like: it shows what a press would do."""
        grip = self._drag.grip if self._drag is not None else self._hover
        if grip is None:
            return Qt.CursorShape.ForbiddenCursor if self._refused else Qt.CursorShape.ArrowCursor
        return _CURSORS.get(grip.part, Qt.CursorShape.CrossCursor)

    @property
    def tip(self) -> str:
        """What a press would do, in a sentence."""
        course, grip = self.course, self._hover
        if course is None or grip is None:
            return KEEP_FIRST if self._refused else ""
        if grip.part != "whole":
            return _TIPS[grip.part]
        more = "a click shows what turns it" if grip.thing == "start" else "a click shows its ends"
        return f"{called(course, grip.thing).capitalize()}: drag to move it; {more}."

    def press(self, at: QPointF) -> bool:
        """Choose and grip what is under the mouse; tell whether the press was for it."""
        if self._on_ready(at):
            self._session.document.message.emit(KEEP_FIRST)
            return True
        course, grip = self.course, self.under(at)
        if course is None or grip is None:
            return False
        self._session.pick(grip.thing)
        camera = self._surface.camera
        x, y = camera.to_chassis(at.x(), at.y())
        self._drag, self._moved = _held(course, grip, at, x, y), False
        return True

    def move(self, at: QPointF, *, free: bool) -> None:
        """Show what is gripped at the mouse."""
        if self._drag is None:
            return
        held, grip = self._drag, self._drag.grip
        if not self._moved and (at - held.at).manhattanLength() <= _CLICK_PX:
            return
        number = self._session.own_course(self._session.design)
        if number is None:
            self.cancel()
            return
        self._moved = True
        x, y = self._surface.camera.to_chassis(at.x(), at.y())
        step = snap_step(self._session.design, free=free or not self._surface.snapping)
        to = held.place(x, y)
        self._session.document.preview(lambda d: _drawn(d, number, grip, to, step))

    def finish(self) -> None:
        """Make it one step; none where nothing moved."""
        if self._drag is None:
            return
        grip, moved, course = self._drag.grip, self._moved, self.course
        self._drag, self._moved = None, False
        if moved and course is not None:
            word = {"whole": "Move", "turn": "Turn"}.get(grip.part, "Change")
            self._session.document.commit_preview(
                f"{word} {_article(grip.thing)}{called(course, grip.thing)}"
            )

    def cancel(self) -> None:
        """Give a drag up."""
        if self._drag is not None:
            self._drag, self._moved = None, False
            self._session.document.cancel_preview()

    # Keys ------------------------------------------------------------------------------------

    def wants(self, event: QEvent) -> bool:
        """Whether a key is for what is chosen here, and not for an action of the window."""
        there = self._session.chosen is not None and self.course is not None
        return there and isinstance(event, QKeyEvent) and event.key() in _DELETING

    def key(self, event: QKeyEvent) -> bool:
        """Nudge, delete, choose the next, give up; tell whether the key was for it."""
        key, course = Qt.Key(event.key()), self.course
        if course is None:
            return False
        alt = bool(event.modifiers() & Qt.KeyboardModifier.AltModifier)
        if key == Qt.Key.Key_Escape and (self.dragging or self._session.chosen is not None):
            if self.dragging:
                self.cancel()
            else:
                self._session.pick(None)
        elif key in _WAYS and alt:
            self._nudge(course, _WAYS[key], event.modifiers())
        elif key in _DELETING and self._session.chosen is not None:
            self.delete()
        elif key in (Qt.Key.Key_Comma, Qt.Key.Key_Period) and course.obstacles:
            self._choose_next(course, -1 if key == Qt.Key.Key_Comma else 1)
        else:
            return False
        return True

    def _choose_next(self, course: Course, step: int) -> None:
        count, now = len(course.obstacles), self._session.chosen
        if isinstance(now, int):
            self._session.pick((now + step) % count)
        else:
            self._session.pick(0 if step > 0 else count - 1)

    def _nudge(self, course: Course, way: Point, held: Qt.KeyboardModifier) -> None:
        chosen = self._session.chosen
        if chosen is None:
            self._session.document.message.emit(_CHOOSE_FIRST)
            return
        step = snap_step(self._session.design, free=not self._surface.snapping) or 1.0
        step *= 10.0 if held & Qt.KeyboardModifier.ShiftModifier else 1.0
        x, y = middle_of(course, chosen)
        to = round(x + way[0] * step, 6), round(y + way[1] * step, 6)
        words = f"Nudge {_article(chosen)}{called(course, chosen)}"
        self._edit(words, lambda d, n: _drawn(d, n, Grip(chosen), to, None), f"nudge on course {chosen}")

    def delete(self) -> None:
        """Delete the obstacle that is chosen; a start cannot be."""
        course, chosen = self.course, self._session.chosen
        if course is None or not isinstance(chosen, int):
            self._session.document.message.emit("A course has always a start: it can be moved, not deleted.")
            return
        words = f"Delete {called(course, chosen)}"
        self._edit(words, lambda d, n: driving_edits.delete_obstacles(d, n, [chosen]))

    def duplicate(self) -> None:
        """Add a copy of the obstacle that is chosen, and choose it."""
        course, chosen = self.course, self._session.chosen
        if course is None or not isinstance(chosen, int):
            return
        words, count = f"Duplicate {called(course, chosen)}", len(course.obstacles)
        if self._edit(words, lambda d, n: obstacle_edits.duplicate_obstacle(d, n, chosen)):
            self._session.pick(count)

    def _edit(self, label: str, change: Callable[[Design, int], Design], key: str | None = None) -> bool:
        self.cancel()
        number = self._session.own_course(self._session.design)
        document = self._session.document
        return number is not None and document.edit(label, lambda d: change(d, number), merge_key=key)

    def menu(self, parent: QWidget) -> QMenu | None:
        """What can be done with the obstacle that is chosen."""
        course, chosen = self.course, self._session.chosen
        if course is None or not isinstance(chosen, int):
            return None
        menu = QMenu(parent)
        menu.addAction(called(course, chosen).capitalize()).setEnabled(False)
        menu.addSeparator()
        menu.addAction("D&uplicate", self.duplicate)
        menu.addAction("Dele&te", self.delete)
        return menu

    # Drawing ---------------------------------------------------------------------------------

    def draw_below(self, painter: QPainter, theme: Theme) -> None:
        """Draw the light around what is chosen and under the mouse."""
        course, chosen = self.course, self._session.chosen
        if course is None:
            return
        hovered = None if self._hover is None else self._hover.thing
        for thing in (hovered, chosen):
            if isinstance(thing, int) and thing < len(course.obstacles):
                lit = thing == chosen
                draw_lit(painter, theme, self._surface.camera, course.obstacles[thing], chosen=lit)

    def draw_above(self, painter: QPainter, theme: Theme) -> None:
        """Draw the start, and the grips of what is chosen."""
        course, chosen, camera = self.course, self._session.chosen, self._surface.camera
        if course is None:
            return
        start = self._start(course)
        lit = chosen == "start" or (self._hover is not None and self._hover.thing == "start")
        draw_start(painter, theme, camera, course, start, lit=lit)
        hover = self._drag.grip if self._drag is not None else self._hover
        draw_grips(painter, theme, self.grips(), hover)

    def draw_numbers(
        self, painter: QPainter, theme: Theme, font: QFont, ratio: float, unit: LengthUnit
    ) -> None:
        """Write beside what is dragged where it stands, and how large it is."""
        course = self.course
        if course is None or self._drag is None or not self._moved:
            return
        camera, grip = self._surface.camera, self._drag.grip
        letters = lettering(font, ratio)
        lines = numbers_of(course, grip.thing, unit)
        high = letters.heights["name"]
        size = max(letters.width(line, "name") for line in lines), 2 * high
        here = (course.obstacles[grip.thing],) if isinstance(grip.thing, int) else ()
        covered = [outline for one in here for outline in outlines_of(one)]
        robot = self._start(course).body
        if robot:
            covered.append(core(robot))
        left, top = words_place(camera, _place_of(course, grip), size, covered)
        for n, line in enumerate(lines):
            letters.draw(painter, line, "name", (left, top + n * high), (theme.ink, theme.paper))


def _article(thing: Chosen) -> str:
    return "the " if thing == "start" else ""


def _place_of(course: Course, grip: Grip) -> Point:
    """The place that follows the mouse [mm]."""
    if isinstance(grip.thing, int) and grip.part != "whole":
        one = course.obstacles[grip.thing]
        return (obstacle_edits.ends_of if grip.part == "end" else obstacle_edits.sides_of)(one)[grip.which]
    return middle_of(course, grip.thing)


def _drawn(design: Design, number: int, grip: Grip, to: Point, step: float | None) -> Design:
    """The design with what is gripped at a place of its course [mm]."""
    course = design.driving.courses[number]
    if isinstance(grip.thing, int):
        one = course.obstacles[grip.thing]
        if grip.part == "whole":
            x, y = snap(to[0], step), snap(to[1], step)
            return driving_edits.place_obstacles(design, number, {grip.thing: (x, y)})
        draw = obstacle_edits.end_drawn if grip.part == "end" else obstacle_edits.side_drawn
        return driving_edits.change_obstacle(design, number, grip.thing, **draw(one, grip.which, to, step))
    if grip.part == "turn":
        return obstacle_edits.turn_start(design, number, to, step)
    x, y = snap(to[0], step), snap(to[1], step)
    return driving_edits.change_course(design, number, start_x_mm=x, start_y_mm=y)
