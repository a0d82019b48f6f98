"""The plan: the chassis from above, drawn whole from each view; it asks, and shows what it is told.

The canvas is one widget that paints each mark in pixels through its camera. That keeps the
turn from chassis to screen in one place, and a redraw costs less than moving scene items.
"""

from __future__ import annotations

import numpy as np
from PySide6.QtCore import QEvent, QPointF, QSize, Qt, Signal
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

from app.design import selection_edits
from app.design.references import Reference
from app.document import Document
from app.picture.view import View
from app.theme import current_theme, pen
from app.units import show_length
from app.views.camera import Camera
from app.views.centres import draw_labels_and_centres
from app.views.gestures import Gesture, Pan, Pointer, Press, gesture_for, snap_step
from app.views.ground import draw_base_axle, draw_forward_mark, draw_ground, draw_scale_bar
from app.views.ideal import draw_ghosts
from app.views.motor_lines import draw_motor_lines, motor_under
from app.views.picking import thing_under, wheel_under
from app.views.scene import PlanOptions, Scene
from app.views.turning import draw_arcs, draw_axle_lines
from app.views.wheels import draw_wheels

_CLICK_PX = 3
_FIT_MARGIN = 60
MARKS = (
    draw_ground,
    draw_base_axle,
    draw_arcs,
    draw_axle_lines,
    draw_forward_mark,
    draw_wheels,
    draw_ghosts,
    draw_motor_lines,
    draw_labels_and_centres,
    draw_scale_bar,
)
"""What draws the plan, from the ground up."""
_ARROWS = {
    Qt.Key.Key_Up: (1, 0),
    Qt.Key.Key_Down: (-1, 0),
    Qt.Key.Key_Left: (0, 1),
    Qt.Key.Key_Right: (0, -1),
}
_ADDING = Qt.KeyboardModifier.ShiftModifier | Qt.KeyboardModifier.ControlModifier


def fitted_camera(view: View, camera: Camera) -> Camera:
    """A camera of the same size that shows the whole chassis, and the turn centre where it is near."""
    points = [(w.x_mm, w.y_mm) for w in view.design.wheels] + list(view.design.body_mm)
    if not points:
        points = [(-100.0, -100.0), (100.0, 100.0)]
    pad = 0.1 * view.facts.size
    low, high = np.min(points, axis=0) - pad, np.max(points, axis=0) + pad
    points = [tuple(low), tuple(high)]
    if np.isfinite(view.centre).all() and np.hypot(*view.centre) < 2.2 * view.facts.size:
        points.append(tuple(view.centre))
    return camera.fitted(points, _FIT_MARGIN)


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
        self._pan: Pan | None = None
        self._pressed: QPointF | None = None
        self._hover: Reference | None = None
        self.setMouseTracking(True)
        self.setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setAccessibleName("Plan of the chassis from above")
        self.setAccessibleDescription(
            "Forward is up. Arrow keys move the selected wheels or body corners, "
            "comma and full stop select the next wheel."
        )
        document.changed.connect(self.show_view)
        # A gesture goes on from the committed design, so it ends where that is changed under it.
        document.undo_stack.indexChanged.connect(self.cancel_gesture)
        document.opened.connect(self._forget_gesture)

    # What is shown ---------------------------------------------------------------------

    @property
    def document(self) -> Document:
        """The document that is shown."""
        return self._document

    @property
    def camera(self) -> Camera:
        """Where the plan looks."""
        return self._camera

    def show_view(self, view: View) -> None:
        """Draw this view from now on."""
        self._view = view
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
        self._camera = fitted_camera(self._view, self._camera)
        self.update()

    def zoom(self, factor: float) -> None:
        """Zoom about the middle."""
        self.look_by(self._camera.zoomed(factor, 0.5 * self.width(), 0.5 * self.height()))

    def look_by(self, camera: Camera) -> None:
        """Look by another camera from now on."""
        self._fitted = False
        self._camera = camera
        self.update()

    def sizeHint(self) -> QSize:
        """A plan wants room."""
        return QSize(760, 560)

    def minimumSizeHint(self) -> QSize:
        """Below this nothing can be gripped."""
        return QSize(240, 160)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Keep showing the same place, or the whole where it was fitted."""
        self._camera = self._camera.resized(event.size().width(), event.size().height())
        if self._fitted:
            self._camera = fitted_camera(self._view, self._camera)

    def scene(self) -> Scene:
        """What the marks are drawn from."""
        return Scene(
            self._view,
            self._camera,
            self._theme,
            self._options,
            self.font(),
            self._hover,
            self.devicePixelRatioF(),
        )

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002
        """Draw every mark, from the ground up."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setFont(self.font())
        scene = self.scene()
        for draw in MARKS:
            draw(painter, scene)
        if self._gesture is not None:
            self._gesture.draw(painter, scene)
        if self.hasFocus():
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setRenderHint(QPainter.RenderHint.Antialiasing, on=False)
            painter.setPen(pen(self._theme.accent, 1.0))
            painter.drawRect(self.rect().adjusted(0, 0, -1, -1))
        painter.end()

    # What is under the mouse -------------------------------------------------------------

    def wheel_at(self, px: float, py: float) -> int | None:
        """The wheel under a pixel; where several are, the nearest."""
        return wheel_under(self._view, self._camera, px, py)

    def thing_at(self, at: QPointF) -> Reference | None:
        """The motor where motors are drawn, else the wheel or body corner under a pixel."""
        motor = motor_under(self._view, self._camera, at.x(), at.y()) if self._options.motors else None
        return motor or thing_under(self._view, self._camera, at.x(), at.y())

    def _update_hover(self, at: QPointF) -> None:
        under = self.thing_at(at)
        if under != self._hover:
            self._hover = under
            over = under is not None
            self.setCursor(Qt.CursorShape.OpenHandCursor if over else Qt.CursorShape.ArrowCursor)
            self.update()
        x, y = self._camera.to_chassis(at.x(), at.y())
        unit = self._options.unit
        self.pointed.emit(f"x {show_length(x, unit, digits=1)}, y {show_length(y, unit, digits=1)}")

    # Mouse -------------------------------------------------------------------------------

    def _pointer(self, event: QMouseEvent) -> Pointer:
        at = event.position()
        free = bool(event.modifiers() & Qt.KeyboardModifier.AltModifier) or not self.snapping
        return Pointer(*self._camera.to_chassis(at.x(), at.y()), at.x(), at.y(), free)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Start a gesture; the middle button moves the plan even in the midst of one."""
        if event.button() == Qt.MouseButton.RightButton and self._gesture is not None:
            self.cancel_gesture()
        elif event.button() == Qt.MouseButton.MiddleButton:
            self._pan = Pan(self, self._pointer(event))
        elif event.button() == Qt.MouseButton.LeftButton and self._gesture is None:
            self._pressed = event.position()
            adding = bool(event.modifiers() & _ADDING)
            press = Press(self._pointer(event), self.thing_at(event.position()), adding)
            self._gesture = gesture_for(self, press)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Follow the mouse."""
        if self._pan is not None:
            self._pan.move(self._pointer(event))
            return
        if self._gesture is None:
            self._update_hover(event.position())
            return
        if self._pressed is not None:
            if (event.position() - self._pressed).manhattanLength() <= _CLICK_PX:
                return
            self._pressed = None
        self._gesture.move(self._pointer(event))
        self.update()

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Finish a gesture."""
        if event.button() == Qt.MouseButton.MiddleButton:
            self._pan = None
        elif event.button() == Qt.MouseButton.LeftButton and self._gesture is not None:
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
        self.look_by(self._camera.zoomed(1.2**turns, at.x(), at.y()))
        event.accept()

    def leaveEvent(self, event: QEvent) -> None:  # noqa: ARG002
        """Nothing is under the mouse any more."""
        self._hover = None
        self.pointed.emit("")
        self.update()

    def cancel_gesture(self, _index: int = 0) -> None:
        """Give up what the mouse is doing."""
        gesture = self._gesture
        self._forget_gesture()
        if gesture is not None:
            gesture.cancel()

    def _forget_gesture(self) -> None:
        # Another chassis was opened: there is nothing to give back any more.
        self._gesture = self._pan = self._pressed = None
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
            under = self.thing_at(QPointF(event.pos()))
            if under is not None and under not in self._document.selection:
                self._document.select((under,))
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
            chosen = self._view.selected_wheels or ((-1,) if step > 0 else (0,))
            now = chosen[-1] if step > 0 else chosen[0]
            self._document.select((Reference("wheel", (now + step) % count),))

    def _nudge(self, way: tuple[int, int], held: Qt.KeyboardModifier) -> None:
        design = self._document.design
        fine = bool(held & Qt.KeyboardModifier.AltModifier)
        step = 0.1 if fine else snap_step(design, free=not self.snapping) or 1.0
        step *= 10 if held & Qt.KeyboardModifier.ShiftModifier else 1
        dx, dy = way[0] * step, way[1] * step
        mirror = self.symmetric
        places = selection_edits.places_of(design, self._document.selection)
        if not places:
            self._document.message.emit("Select a wheel first; the arrow keys then move it.")
            return
        # Whole steps stay whole: 0.1 added ten times would not be 1.
        moved = {reference: (round(x + dx, 6), round(y + dy, 6)) for reference, (x, y) in places.items()}
        self._document.edit(
            f"Nudge {selection_edits.counted(places)}",
            lambda d: selection_edits.move_to(d, moved, mirror=mirror),
            merge_key=f"nudge {tuple(places)}",
        )
