"""The chassis from the side or from the front: body, wheels and parts over the ground; parts are dragged.

From the left side, so that forward is to the left; from the front, so that the left side is to the right.
It shows all of the chassis always, and has no zoom of its own.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QFocusEvent,
    QFontMetricsF,
    QHideEvent,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QResizeEvent,
)
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.design import edits, part_edits, selection_edits
from app.design.references import Reference, references_to, selected, selected_wheels
from app.document import Document
from app.picture.view import View
from app.plain import plain_tip
from app.theme import colour, current_theme, mixed, pen, sized
from app.units import LengthUnit, show_length
from app.views.gestures import Pointer, snap_step
from app.views.lettering import lettering
from app.views.measuring import (
    Measure,
    caught_upright,
    draw_line,
    draw_mass_centre,
    mass_centre,
    measured,
)
from app.views.parts import draw_opening, draw_warning, placed_outline
from geometry.model.design import Design
from geometry.model.packaging import Part
from geometry.model.part_outline import box_of, tall, way_of

From = Literal["side", "front"]
_MARGIN, _LEAST_PX, _CLICK_PX = 14.0, 8.0, 3
# A lying cylinder within a degree of the line of sight is seen as a circle.
_END_ON = 0.9998
_GROUND_PX = 20.0
"""Room below the ground for words [px]."""
_FOOT_PX, _APART_PX = 8, 16
"""Words below the ground: from the edge, and from each other [px]."""


@dataclass(frozen=True)
class Sight:
    """Where the view looks: pixels of a place along and above the ground."""

    scale: float
    """Pixels for a millimetre."""
    along: float
    """Place at the middle of the width [mm]."""
    middle: float
    """The middle of the width [px]."""
    ground: float
    """The ground [px]."""
    way: float
    """1 where the place grows to the right, -1 to the left."""

    def px(self, along: float) -> float:
        """Pixel of a place along [mm]."""
        return self.middle + self.way * (along - self.along) * self.scale

    def py(self, height: float) -> float:
        """Pixel of a height [mm]."""
        return self.ground - height * self.scale

    def place(self, px: float, py: float) -> tuple[float, float]:
        """Place along and height of a pixel [mm]."""
        return self.along + self.way * (px - self.middle) / self.scale, (self.ground - py) / self.scale


class ElevationView(QWidget):
    """One view from the side or from the front; the document holds all that it shows."""

    numbers_asked = Signal(object)
    """A `Reference` to the thing whose numbers the person wants to type."""
    measure_taken = Signal()
    """Measuring began here, or was given up: other views need not wait for it any more."""

    def __init__(self, document: Document) -> None:
        super().__init__()
        self._document = document
        self._view = document.view
        self._from: From = "side"
        self._unit: LengthUnit = "mm"
        self.symmetric = True
        self.snapping = True
        self._hover: Reference | None = None
        self._struck: frozenset[Reference] = frozenset()
        self._grip: tuple[Reference, float, float] | None = None
        self._pressed: QPointF | None = None
        self._held: Sight | None = None
        self._measuring = False
        self._leading = False
        """Whether an end of what is measured follows the mouse."""
        self._measure: Measure | None = None
        """What was measured last; it stays until the next press."""
        self.setMouseTracking(True)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        document.changed.connect(self.show_view)
        document.undo_stack.indexChanged.connect(self.cancel)
        self._name()

    def _name(self) -> None:
        self.setAccessibleName(f"Chassis from the {self._from}")
        self.setAccessibleDescription(
            "Arrow keys move the selected parts along and up; Esc gives a drag or a measure up."
        )

    def look_from(self, side: From) -> None:
        """Look from the side or from the front."""
        if side != self._from:
            self.end_measuring()
        self._from = side
        self._name()
        self.update()

    def set_unit(self, unit: LengthUnit) -> None:
        """Show lengths in another unit."""
        self._unit = unit
        self.update()

    def show_struck(self, struck: frozenset[Reference]) -> None:
        """Mark what collides."""
        if struck != self._struck:
            self._struck = struck
            self.update()

    def show_view(self, view: View) -> None:
        """Draw this view from now on."""
        self._view = view
        if self.isVisible():
            self.update()

    def refresh_theme(self) -> None:
        """Follow a change from light to dark or back."""
        self.update()

    def measure(self) -> None:
        """Let the next drag measure."""
        self.cancel()
        self._measuring = True
        self.setCursor(Measure.cursor)
        self.update()

    def end_measuring(self) -> None:
        """Measure no more, and show nothing that was measured."""
        self._measuring = self._leading = False
        self._measure = None
        self.unsetCursor()
        self.update()

    @property
    def measured(self) -> Measure | None:
        """What was measured last, while it is shown."""
        return self._measure

    def sizeHint(self) -> QSize:
        """Wide and low."""
        return QSize(600, 120)

    # Where things are ------------------------------------------------------------------------

    def _axis(self) -> int:
        return 0 if self._from == "side" else 1

    def sight(self) -> Sight:
        """Where it looks; while something is dragged, where it looked when that began."""
        return self._held or self._fitted()

    def _fitted(self) -> Sight:
        design, axis = self._view.design, self._axis()
        ends = [corner[axis] for corner in design.body_mm]
        top = design.packaging.roof_mm if design.body_mm else 0.0
        for wheel in design.wheels:
            at = (wheel.x_mm, wheel.y_mm)[axis]
            ends += [at - 0.5 * wheel.diameter_mm, at + 0.5 * wheel.diameter_mm]
            top = max(top, wheel.diameter_mm)
        for part in design.packaging.parts:
            box = box_of(part)
            ends += [box[axis], box[axis + 2]]
            top = max(top, part.bottom_mm + tall(part))
        low, high = (min(ends), max(ends)) if ends else (-100.0, 100.0)
        wide = max(self.width() - 2 * _MARGIN, 1.0) / max(high - low, 1.0)
        up = max(self.height() - _MARGIN - _GROUND_PX, 1.0) / max(top, 10.0)
        way = -1.0 if self._from == "side" else 1.0
        ground = self.height() - _GROUND_PX
        return Sight(min(wide, up, 50.0), 0.5 * (low + high), 0.5 * self.width(), ground, way)

    def box_px(self, part: Part) -> QRectF:
        """Where a part is [px]."""
        outline, axis, sight = placed_outline(self._view, part), self._axis(), self.sight()
        low, high = float(outline[:, axis].min()), float(outline[:, axis].max())
        bottom = part.bottom_mm
        return QRectF(
            QPointF(sight.px(low), sight.py(bottom)), QPointF(sight.px(high), sight.py(bottom + tall(part)))
        ).normalized()

    def wheel_px(self, index: int) -> QRectF:
        """Where a wheel is, as it is turned [px]."""
        wheel, sight = self._view.design.wheels[index], self.sight()
        at = float(self._view.contacts[index][self._axis()])
        heading = float(self._view.heading[index])
        along, across = abs(math.cos(heading)), abs(math.sin(heading))
        if self._from == "front":
            along, across = across, along
        half = 0.5 * (wheel.diameter_mm * along + wheel.width_mm * across)
        return QRectF(
            QPointF(sight.px(at - half), sight.py(0.0)),
            QPointF(sight.px(at + half), sight.py(wheel.diameter_mm)),
        ).normalized()

    def thing_at(self, at: QPointF) -> Reference | None:
        """The part under a pixel, the smallest of several; else a wheel."""
        found = []
        for i, part in enumerate(self._view.design.packaging.parts):
            box = self.box_px(part)
            spare = max(0.5 * (_LEAST_PX - min(box.width(), box.height())), 0.0)
            if box.adjusted(-spare, -spare, spare, spare).contains(at):
                found.append((box.width() * box.height(), -i))
        if found:
            return Reference("part", -min(found)[1])
        wheels = range(len(self._view.design.wheels))
        under = [i for i in wheels if self.wheel_px(i).contains(at)]
        return Reference("wheel", under[-1]) if under else None

    # Drawing ---------------------------------------------------------------------------------

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002
        """Draw ground, body, parts and wheels."""
        theme, sight = current_theme(), self.sight()
        painter = QPainter(self)
        painter.fillRect(self.rect(), colour(theme.paper))
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(pen(theme.line))
        painter.drawLine(0, 0, self.width(), 0)
        self._draw_body(painter, sight)
        self._draw_openings(painter, sight)
        self._draw_parts(painter)
        self._draw_wheels(painter)
        painter.setPen(pen(theme.edge, 1.4))
        painter.drawLine(QPointF(0, sight.ground), QPointF(self.width(), sight.ground))
        self._draw_foot(painter)
        self._draw_measure(painter, sight)
        if self.hasFocus():
            painter.setRenderHint(QPainter.RenderHint.Antialiasing, on=False)
            painter.setPen(pen(theme.accent, 1.0))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRect(self.rect().adjusted(0, 0, -1, -1))
        painter.end()

    def foot(self) -> list[tuple[str, QRectF]]:
        """What is written below the ground, and where, from the left; none meets another [px]."""
        metrics = QFontMetricsF(sized(self.font(), "small"))
        ends = ("← forward", "") if self._from == "side" else ("← right", "left →")
        wide = [math.ceil(metrics.horizontalAdvance(words)) for words in ends]
        room = self.width() - 2 * _FOOT_PX
        # Beside the way on the right stands what there is to say, and is cut where it has no room.
        free = max(room - sum(wide) - _APART_PX * (1 + bool(ends[1])), 0)
        told = metrics.elidedText(self._told(), Qt.TextElideMode.ElideMiddle, free)
        tall, last = metrics.height(), math.ceil(metrics.horizontalAdvance(told))
        top, right = self.height() - 3.0 - tall, _FOOT_PX + room
        end = right - wide[1]
        told_at = end - _APART_PX * bool(ends[1]) - last
        return [
            (ends[0], QRectF(_FOOT_PX, top, wide[0], tall)),
            (told, QRectF(told_at, top, last, tall)),
            (ends[1], QRectF(end, top, wide[1], tall)),
        ]

    def _told(self) -> str:
        """What is measured, else what is dragged, else how high the body is."""
        packaging, found = self._view.design.packaging, self._measure
        if found is not None:
            return measured(found.start, found.end, self._unit, ("xy"[self._axis()], "up"))
        heights = (
            f"floor {show_length(packaging.floor_mm, self._unit)}, "
            f"roof {show_length(packaging.roof_mm, self._unit)}"
        )
        return self._dragged_words() or (heights if self._view.design.body_mm else "no body yet")

    def _draw_foot(self, painter: QPainter) -> None:
        theme = current_theme()
        painter.setFont(sized(self.font(), "small"))
        for n, (words, place) in enumerate(self.foot()):
            painter.setPen(pen(theme.accent if n == 1 and self._measure is not None else theme.faint))
            painter.drawText(place.adjusted(0, 0, 2, 0), Qt.AlignmentFlag.AlignLeft, words)

    def _draw_measure(self, painter: QPainter, sight: Sight) -> None:
        """Draw what is measured, whose words stand in the foot, and the centre of mass to measure from."""
        theme, axis, found = current_theme(), self._axis(), self._measure
        mass = mass_centre(self._view) if self._measuring or found is not None else None
        if mass is not None:
            draw_mass_centre(painter, theme, QPointF(sight.px(mass[axis]), sight.py(mass[2])))
        if found is not None:
            ends = [QPointF(sight.px(along), sight.py(up)) for along, up in (found.start, found.end)]
            draw_line(painter, theme, ends[0], ends[1])

    def _dragged_words(self) -> str:
        if self._grip is None or self._pressed is not None:
            return ""
        part = self._view.design.packaging.parts[self._grip[0].index]
        at = part.x_mm if self._from == "side" else part.y_mm
        word = "x" if self._from == "side" else "y"
        up = show_length(part.bottom_mm, self._unit)
        return f"{part.name}: {word} {show_length(at, self._unit)}, lower edge {up}"

    def _draw_body(self, painter: QPainter, sight: Sight) -> None:
        design, theme = self._view.design, current_theme()
        if not design.body_mm:
            return
        axis, packaging = self._axis(), design.packaging
        ends = [corner[axis] for corner in design.body_mm]
        wall = packaging.wall_mm
        outer = _box(sight, min(ends), max(ends), packaging.floor_mm, packaging.roof_mm)
        painter.setPen(pen(theme.body_line, 1.2))
        painter.setBrush(colour(theme.body))
        painter.drawRect(outer)
        inside = [corner[axis] for corner in packaging.inner_mm] or [min(ends) + wall, max(ends) - wall]
        top = packaging.roof_mm - (wall if packaging.has_roof else 0.0)
        if wall * sight.scale > 1.0 and max(inside) > min(inside):
            painter.setPen(pen(theme.body_line, 0.8))
            painter.setBrush(colour(theme.paper))
            painter.drawRect(_box(sight, min(inside), max(inside), packaging.floor_mm + wall, top))

    def _draw_openings(self, painter: QPainter, sight: Sight) -> None:
        """Draw the holes in the faces that are looked at, dashed."""
        faces = ("left", "right") if self._from == "side" else ("front", "rear")
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(pen(current_theme().faint, 1.2, Qt.PenStyle.DashLine))
        for opening in self._view.design.packaging.openings:
            if opening.face in faces:
                along = opening.x_mm if self._from == "side" else opening.y_mm
                at = QPointF(sight.px(along), sight.py(opening.z_mm))
                draw_opening(painter, opening, at, sight.scale, upright=False)

    def _draw_parts(self, painter: QPainter) -> None:
        theme, chosen = current_theme(), set(selected(self._view.selection, "part"))
        painter.setFont(sized(self.font(), "small"))
        letters = lettering(self.font(), self.devicePixelRatioF())
        for i, part in enumerate(self._view.design.packaging.parts):
            box = self.box_px(part)
            lit = i in chosen
            painter.setBrush(colour(theme.part, 215))
            if lit or Reference("part", i) == self._hover:
                tone = theme.accent if lit else mixed(theme.accent, theme.paper, 0.55)
                painter.setPen(pen(tone, 5.0 if lit else 3.0))
                self._draw_shape(painter, part, box)
            hit = Reference("part", i) in self._struck
            painter.setPen(pen(theme.bad, 2.4) if hit else pen(theme.body_line, 1.2))
            self._draw_shape(painter, part, box)
            if hit:
                draw_warning(painter, theme, QPointF(box.center().x(), box.bottom() - 6.0))
                painter.setBrush(colour(theme.part, 215))
            painter.setPen(pen(theme.ink))
            metrics = painter.fontMetrics()
            if box.height() >= metrics.height() and box.width() > 3 * metrics.height():
                words = letters.named(part.name, "small", float(int(box.width()) - 6))
                painter.drawText(box, Qt.AlignmentFlag.AlignCenter, words)

    def _draw_shape(self, painter: QPainter, part: Part, box: QRectF) -> None:
        forward, left = way_of(part)
        ahead = left if self._from == "side" else forward
        if part.shape == "lying cylinder" and abs(ahead) > _END_ON:
            painter.drawEllipse(box)
        else:
            painter.drawRect(box)

    def _draw_wheels(self, painter: QPainter) -> None:
        theme, chosen = current_theme(), set(selected_wheels(self._view.selection))
        for i, wheel in enumerate(self._view.design.wheels):
            box = self.wheel_px(i)
            painter.setBrush(colour(theme.wheel(wheel.kind), 110))
            hit = Reference("wheel", i) in self._struck
            plain = pen(theme.bad, 2.4) if hit else pen(theme.tyre_line, 1.2)
            painter.setPen(pen(theme.accent, 3.0) if i in chosen else plain)
            heading = float(self._view.heading[i])
            round_ = abs(math.sin(heading) if self._from == "side" else math.cos(heading)) < 0.5
            if round_:
                painter.drawEllipse(box)
            else:
                painter.drawRoundedRect(box, 3.0, 3.0)

    # Mouse and keys --------------------------------------------------------------------------

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Select what is there, and grip a part; or measure from there."""
        if event.button() == Qt.MouseButton.RightButton and (self._grip is not None or self._leading):
            self.cancel()
        if event.button() != Qt.MouseButton.LeftButton or self._grip is not None:
            return
        at = event.position()
        self._measure = None
        if self._measuring:
            self._measure, self._leading = Measure(self._caught, self._pointer(event)), True
            self.measure_taken.emit()
            self.update()
            return
        thing = self.thing_at(at)
        document = self._document
        if event.modifiers() & (Qt.KeyboardModifier.ShiftModifier | Qt.KeyboardModifier.ControlModifier):
            if thing is not None:
                document.select({*document.selection} ^ {thing})
            return
        if thing is None or thing not in document.selection:
            document.select(() if thing is None else (thing,))
        if thing is not None and thing.kind == "part":
            part = self._view.design.packaging.parts[thing.index]
            along, height = self.sight().place(at.x(), at.y())
            self._held = self._fitted()
            self._pressed = at
            self._grip = thing, (part.x_mm, part.y_mm)[self._axis()] - along, part.bottom_mm - height

    def _pointer(self, event: QMouseEvent) -> Pointer:
        at = event.position()
        free = bool(event.modifiers() & Qt.KeyboardModifier.AltModifier) or not self.snapping
        return Pointer(*self.sight().place(at.x(), at.y()), at.x(), at.y(), free)

    def _caught(self, at: Pointer) -> tuple[float, float]:
        sight = self.sight()
        return caught_upright(self._view, self._axis(), lambda p: (sight.px(p[0]), sight.py(p[1])), at)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Drag the part, and all that is selected with it; or lead the end of what is measured."""
        at = event.position()
        if self._leading and self._measure is not None:
            self._measure.move(self._pointer(event))
            self.update()
            return
        if self._grip is None:
            under = self.thing_at(at)
            if under != self._hover:
                self._hover = under
                self.setToolTip(plain_tip(self._tip(under)))
                on_part = under is not None and under.kind == "part"
                if not self._measuring:
                    self.setCursor(Qt.CursorShape.SizeAllCursor if on_part else Qt.CursorShape.ArrowCursor)
                self.update()
            return
        if self._pressed is not None:
            if (at - self._pressed).manhattanLength() <= _CLICK_PX:
                return
            self._pressed = None
        gripped, along_off, height_off = self._grip
        along, height = self.sight().place(at.x(), at.y())
        free = bool(event.modifiers() & Qt.KeyboardModifier.AltModifier) or not self.snapping
        design = self._document.design
        grid = snap_step(design, free=free)
        to = edits.snap(along + along_off, grid), edits.snap(height + height_off, None if free else 1.0)
        part = design.packaging.parts[gripped.index]
        self._ask(to[0] - (part.x_mm, part.y_mm)[self._axis()], to[1] - part.bottom_mm, preview=True)

    def _tip(self, thing: Reference | None) -> str:
        if thing is None:
            return ""
        design = self._view.design
        if thing.kind == "wheel":
            return design.wheels[thing.index].name
        part = design.packaging.parts[thing.index]
        top = show_length(part.bottom_mm + tall(part), self._unit)
        return f"{part.name}: from {show_length(part.bottom_mm, self._unit)} to {top} above the ground"

    def _ask(self, along: float, up: float, *, preview: bool) -> bool:
        """Move the selected parts along and up [mm]; partners on the other side follow."""
        chosen, mirror = selected(self._document.selection, "part"), self.symmetric
        dx, dy = (along, 0.0) if self._from == "side" else (0.0, along)

        def moved(design: Design) -> Design:
            return part_edits.shift_parts(design, chosen, (dx, dy, up), mirror=mirror)

        if preview:
            return self._document.preview(moved)
        words = selection_edits.counted(references_to("part", chosen))
        return self._document.edit(f"Nudge {words}", moved, merge_key=f"nudge parts {chosen}")

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Make the move one step; what was measured stays."""
        if event.button() == Qt.MouseButton.LeftButton and self._leading:
            self._measuring = self._leading = False
            self.unsetCursor()
        if event.button() == Qt.MouseButton.LeftButton and self._grip is not None:
            grip, moved = self._grip, self._pressed is None
            self._grip = self._pressed = self._held = None
            if moved:
                name = self._document.design.packaging.parts[grip[0].index].name
                self._document.commit_preview(f"Move {name}")
            self.update()

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        """Ask for the numbers of what is there."""
        thing = self.thing_at(event.position())
        if thing is not None and event.button() == Qt.MouseButton.LeftButton:
            self._document.select((thing,))
            self.numbers_asked.emit(thing)

    def cancel(self, _index: int = 0) -> None:
        """Give a drag up, and what was measured."""
        if self._measure is not None:
            self._leading, self._measure = False, None
            self.update()
        if self._grip is not None:
            self._grip = self._pressed = self._held = None
            self._document.cancel_preview()
            self.update()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Nudge parts, cancel."""
        key = Qt.Key(event.key())
        arrows = {
            Qt.Key.Key_Left: (-1, 0),
            Qt.Key.Key_Right: (1, 0),
            Qt.Key.Key_Up: (0, 1),
            Qt.Key.Key_Down: (0, -1),
        }
        if key == Qt.Key.Key_Escape:
            if self._measuring or self._measure is not None:
                self.end_measuring()
                self.measure_taken.emit()
            elif self._grip is not None:
                self.cancel()
            else:
                self._document.select(())
        elif key in arrows:
            if not selected(self._document.selection, "part"):
                self._document.message.emit("Select a part first; the arrow keys then move it.")
                return
            held = event.modifiers()
            step = 0.1 if held & Qt.KeyboardModifier.AltModifier else 1.0
            step *= 10 if held & Qt.KeyboardModifier.ShiftModifier else 1
            right, up = arrows[key]
            self._ask(right * step * self.sight().way, up * step, preview=False)
        else:
            super().keyPressEvent(event)

    def leaveEvent(self, event: QEvent) -> None:  # noqa: ARG002
        """Nothing is under the mouse any more."""
        self._hover = None
        self.update()

    def focusInEvent(self, event: QFocusEvent) -> None:
        """Show where the keyboard is."""
        super().focusInEvent(event)
        self.update()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        """Give a drag up when another window takes over."""
        super().focusOutEvent(event)
        if event.reason() != Qt.FocusReason.PopupFocusReason:
            self.cancel()
        self.update()

    def hideEvent(self, event: QHideEvent) -> None:
        """Do not wait for a measure out of sight."""
        super().hideEvent(event)
        self.end_measuring()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Show all of it at another size."""
        super().resizeEvent(event)
        self._held = None


def _box(sight: Sight, low: float, high: float, bottom: float, top: float) -> QRectF:
    return QRectF(
        QPointF(sight.px(low), sight.py(bottom)), QPointF(sight.px(high), sight.py(top))
    ).normalized()
