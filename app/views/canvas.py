"""The plan: the chassis from above, drawn whole from each view; it asks, and shows what it is told.

The canvas is one widget that paints each mark in pixels through its camera. That keeps the
turn from chassis to screen in one place, and a redraw costs less than moving scene items.
"""

from __future__ import annotations

import numpy as np
from PySide6.QtCore import QEvent, QPoint, QPointF, QSize, Qt, Signal
from PySide6.QtGui import (
    QContextMenuEvent,
    QFocusEvent,
    QGuiApplication,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QResizeEvent,
    QWheelEvent,
)
from PySide6.QtWidgets import QMenu, QSizePolicy, QWidget

from app.design import body_edits, edits
from app.document import Document
from app.picture.view import View
from app.theme import colour, current_theme, pen
from app.units import show_length
from app.views.camera import Camera
from app.views.centres import draw_labels_and_centres
from app.views.gestures import Band, DragCorner, DragWheels, Gesture, band_rectangle, snap_step
from app.views.ground import draw_base_axle, draw_forward_mark, draw_ground, draw_scale_bar
from app.views.ideal import draw_ghosts
from app.views.picking import corner_under, wheel_under
from app.views.scene import PlanOptions, Scene
from app.views.turning import draw_arcs, draw_axle_lines
from app.views.wheels import draw_wheels

_CLICK_PX = 3
_FIT_MARGIN = 60
_MARKS = (
    draw_ground,
    draw_base_axle,
    draw_arcs,
    draw_axle_lines,
    draw_forward_mark,
    draw_wheels,
    draw_ghosts,
    draw_labels_and_centres,
    draw_scale_bar,
)
_ARROWS = {
    Qt.Key.Key_Up: (1, 0),
    Qt.Key.Key_Down: (-1, 0),
    Qt.Key.Key_Left: (0, 1),
    Qt.Key.Key_Right: (0, -1),
}


class PlanCanvas(QWidget):
    """Top-down view of the chassis: drag, select, pan and zoom."""

    pointed = Signal(str)
    """Where the mouse is, as text."""

    def __init__(self, document: Document) -> None:
        super().__init__()
        self._document = document
        self._view = document.view
        self._camera = Camera()
        self._fitted = True
        self._theme = current_theme()
        self._options = PlanOptions()
        self.symmetric = True
        self.snapping = True
        self._gesture: Gesture | None = None
        self._panning: QPoint | None = None
        self._pressed: QPoint | None = None
        self._hover_wheel: int | None = None
        self._hover_corner: int | None = None
        self._corner: int | None = None
        self.setMouseTracking(True)
        self.setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setAccessibleName("Plan of the chassis from above")
        self.setAccessibleDescription(
            "Forward is up. Arrow keys move the selected wheels, comma and full stop select the next one."
        )
        document.changed.connect(self.show_view)
        # A gesture goes on from the committed design, so it ends where that is changed under it.
        document.undo_stack.indexChanged.connect(self.cancel_gesture)
        document.opened.connect(self.cancel_gesture)

    # What is shown ---------------------------------------------------------------------

    @property
    def camera(self) -> Camera:
        """Where the plan looks."""
        return self._camera

    def show_view(self, view: View) -> None:
        """Draw this view from now on."""
        self._view = view
        if self._corner is not None and self._corner >= len(view.design.body_mm):
            self._corner = None
        self.update()

    def set_options(self, options: PlanOptions) -> None:
        """Choose what is shown."""
        self._options = options
        self.update()

    def refresh_theme(self) -> None:
        """Follow a change from light to dark or back."""
        self._theme = current_theme()
        self.update()

    def fit(self) -> None:
        """Show the whole chassis, and the turn centre where it is near."""
        self._fitted = True
        self._camera = self._fitted_camera()
        self.update()

    def _fitted_camera(self) -> Camera:
        view = self._view
        points = [(w.x_mm, w.y_mm) for w in view.design.wheels] + list(view.design.body_mm)
        if not points:
            points = [(-100.0, -100.0), (100.0, 100.0)]
        pad = 0.1 * view.facts.size
        low, high = np.min(points, axis=0) - pad, np.max(points, axis=0) + pad
        points = [tuple(low), tuple(high)]
        if np.isfinite(view.centre).all() and np.hypot(*view.centre) < 2.2 * view.facts.size:
            points.append(tuple(view.centre))
        return self._camera.fitted(points, _FIT_MARGIN)

    def zoom(self, factor: float) -> None:
        """Zoom about the middle."""
        self._move_camera(self._camera.zoomed(factor, 0.5 * self.width(), 0.5 * self.height()))

    def _move_camera(self, camera: Camera) -> None:
        self._fitted = False
        self._camera = camera
        self.update()

    def sizeHint(self) -> QSize:
        """A plan wants room."""
        return QSize(760, 560)

    def minimumSizeHint(self) -> QSize:
        """Below this nothing can be gripped."""
        return QSize(320, 240)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Keep showing the same place, or the whole where it was fitted."""
        self._camera = self._camera.resized(event.size().width(), event.size().height())
        if self._fitted:
            self._camera = self._fitted_camera()

    def scene(self) -> Scene:
        """What the marks are drawn from."""
        return Scene(
            self._view,
            self._camera,
            self._theme,
            self._options,
            self.font(),
            self._hover_wheel,
            self._hover_corner,
            self._corner,
            self.devicePixelRatioF(),
        )

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002
        """Draw every mark, from the ground up."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setFont(self.font())
        scene = self.scene()
        for draw in _MARKS:
            draw(painter, scene)
        if isinstance(self._gesture, Band):
            first, second = (QPointF(*p) for p in self._camera.to_screen(self._gesture.rectangle).tolist())
            painter.setPen(pen(self._theme.select, 1.0, Qt.PenStyle.DashLine))
            painter.setBrush(colour(self._theme.select, 30))
            painter.drawRect(band_rectangle(first, second))
        if self.hasFocus():
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setRenderHint(QPainter.RenderHint.Antialiasing, on=False)
            painter.setPen(pen(self._theme.select, 1.0))
            painter.drawRect(self.rect().adjusted(0, 0, -1, -1))
        painter.end()

    # What is under the mouse -------------------------------------------------------------

    def wheel_at(self, px: float, py: float) -> int | None:
        """The wheel under a pixel; where several are, the nearest."""
        return wheel_under(self._view, self._camera, px, py)

    def corner_at(self, px: float, py: float) -> int | None:
        """The body corner under a pixel."""
        return corner_under(self._view, self._camera, px, py)

    def _update_hover(self, at: QPointF) -> None:
        wheel = self.wheel_at(at.x(), at.y())
        corner = None if wheel is not None else self.corner_at(at.x(), at.y())
        if (wheel, corner) != (self._hover_wheel, self._hover_corner):
            self._hover_wheel, self._hover_corner = wheel, corner
            over = wheel is not None or corner is not None
            self.setCursor(Qt.CursorShape.OpenHandCursor if over else Qt.CursorShape.ArrowCursor)
            self.update()
        x, y = self._camera.to_chassis(at.x(), at.y())
        unit = self._options.unit
        self.pointed.emit(f"x {show_length(x, unit, digits=1)}, y {show_length(y, unit, digits=1)}")

    # Mouse -------------------------------------------------------------------------------

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Start a gesture."""
        if event.button() == Qt.MouseButton.RightButton and self._gesture is not None:
            self.cancel_gesture()
            return
        if event.button() == Qt.MouseButton.MiddleButton:
            self._panning = event.position().toPoint()
            return
        if event.button() != Qt.MouseButton.LeftButton or self._gesture is not None:
            return
        self._pressed = event.position().toPoint()
        self._begin(event)

    def _begin(self, event: QMouseEvent) -> None:
        px, py = event.position().x(), event.position().y()
        at = self._camera.to_chassis(px, py)
        add = bool(
            event.modifiers() & (Qt.KeyboardModifier.ShiftModifier | Qt.KeyboardModifier.ControlModifier)
        )
        wheel = self.wheel_at(px, py)
        if wheel is not None:
            chosen = self._document.selection
            if add:
                self._document.select(chosen ^ {wheel})
                return
            if wheel not in chosen:
                self._document.select({wheel})
            self._gesture = DragWheels(self._document, wheel, at, mirror=self.symmetric)
            return
        corner = self.corner_at(px, py)
        if corner is not None:
            self._corner = corner
            self._gesture = DragCorner(self._document, corner, at, mirror=self.symmetric)
            return
        self._corner = None
        if add:
            self._gesture = Band(self._document, at, add=True)
        else:
            self._panning = event.position().toPoint()

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Follow the mouse."""
        at = event.position()
        if self._panning is not None:
            here = at.toPoint()
            gap = here - self._panning
            far = self._pressed is None or (here - self._pressed).manhattanLength() > _CLICK_PX
            if far:
                self._pressed = None
                self._move_camera(self._camera.panned(gap.x(), gap.y()))
                self._panning = here
            return
        if self._gesture is None:
            self._update_hover(at)
            return
        if self._pressed is not None:
            if (at.toPoint() - self._pressed).manhattanLength() <= _CLICK_PX:
                return
            self._pressed = None
        free = bool(event.modifiers() & Qt.KeyboardModifier.AltModifier) or not self.snapping
        self._gesture.move(*self._camera.to_chassis(at.x(), at.y()), free=free)
        self.update()

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Finish a gesture; a click on the ground clears the selection."""
        panning = (Qt.MouseButton.LeftButton, Qt.MouseButton.MiddleButton)
        if self._panning is not None and event.button() in panning:
            if self._pressed is not None and event.button() == Qt.MouseButton.LeftButton:
                self._document.select(())
            self._panning = self._pressed = None
            self.update()
            return
        if event.button() == Qt.MouseButton.LeftButton and self._gesture is not None:
            gesture, self._gesture, self._pressed = self._gesture, None, None
            gesture.finish()
            self.update()

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        """Fit the view on a double click on the ground."""
        at = event.position()
        if event.button() == Qt.MouseButton.LeftButton and self.wheel_at(at.x(), at.y()) is None:
            self.fit()

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Zoom about the mouse."""
        turns = event.angleDelta().y() / 120.0
        at = event.position()
        self._move_camera(self._camera.zoomed(1.2**turns, at.x(), at.y()))
        event.accept()

    def leaveEvent(self, event: QEvent) -> None:  # noqa: ARG002
        """Nothing is under the mouse any more."""
        self._hover_wheel = self._hover_corner = None
        self.pointed.emit("")
        self.update()

    def cancel_gesture(self, _index: int = 0) -> None:
        """Give up what the mouse is doing."""
        gesture, self._gesture = self._gesture, None
        self._panning = self._pressed = None
        if gesture is not None:
            gesture.cancel()
        self.update()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        """Cancel a drag when another window takes over."""
        if event.reason() != Qt.FocusReason.PopupFocusReason:
            self.cancel_gesture()
        self.update()

    def contextMenuEvent(self, event: QContextMenuEvent) -> None:
        """Offer what can be done here; the actions are those of the menus."""
        # A right press that gave up a drag asks for no menu: the left button is still down.
        if QGuiApplication.mouseButtons() & Qt.MouseButton.LeftButton or not self.actions():
            return
        if event.reason() == QContextMenuEvent.Reason.Mouse:
            at = event.pos()
            wheel = self.wheel_at(at.x(), at.y())
            if wheel is not None and wheel not in self._document.selection:
                self._document.select({wheel})
        menu = QMenu(self)
        menu.addActions(self.actions())
        menu.exec(event.globalPos())
        menu.deleteLater()

    # Keyboard ------------------------------------------------------------------------------

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Nudge, select the next wheel, cancel."""
        key = Qt.Key(event.key())
        if key == Qt.Key.Key_Escape:
            if self._gesture is not None:
                self.cancel_gesture()
            else:
                self._corner = None
                self._document.select(())
        elif key in _ARROWS:
            self._nudge(_ARROWS[key], event.modifiers())
        elif key in (Qt.Key.Key_Comma, Qt.Key.Key_Period):
            self.select_next(-1 if key == Qt.Key.Key_Comma else 1)
        else:
            super().keyPressEvent(event)

    def select_next(self, step: int) -> None:
        """Select the next or previous wheel, around the end."""
        count = len(self._view.design.wheels)
        if count:
            chosen = self._document.selection
            now = (max(chosen) if step > 0 else min(chosen)) if chosen else (-1 if step > 0 else 0)
            self._document.select({(now + step) % count})

    def _nudge(self, way: tuple[int, int], held: Qt.KeyboardModifier) -> None:
        design = self._document.design
        fine = bool(held & Qt.KeyboardModifier.AltModifier)
        step = 0.1 if fine else snap_step(design, free=not self.snapping) or 1.0
        step *= 10 if held & Qt.KeyboardModifier.ShiftModifier else 1
        dx, dy = way[0] * step, way[1] * step
        mirror = self.symmetric
        if self._corner is not None:
            corner = self._corner
            x, y = design.body_mm[corner]
            self._document.edit(
                "Move body corner",
                lambda d: body_edits.move_corner(d, corner, x + dx, y + dy, mirror=mirror),
                merge_key=f"nudge corner {corner}",
            )
            return
        chosen = sorted(self._document.selection)
        if not chosen:
            self._document.told.emit("Select a wheel first; the arrow keys then move it.")
            return
        # Whole steps stay whole: 0.1 added ten times would not be 1.
        places = {
            i: (round(design.wheels[i].x_mm + dx, 6), round(design.wheels[i].y_mm + dy, 6)) for i in chosen
        }
        self._document.edit(
            "Nudge wheel" if len(chosen) == 1 else "Nudge wheels",
            lambda d: edits.move_wheels(d, places, mirror=mirror),
            merge_key=f"nudge {chosen}",
        )
