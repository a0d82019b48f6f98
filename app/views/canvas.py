"""The plan: the chassis from above, drawn whole from each view; it asks, and shows what it is told.

The canvas is one widget that paints each mark in pixels through its camera. That keeps the
turn from chassis to screen in one place, and a redraw costs less than moving scene items.
"""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QChildEvent, QEvent, QObject, QPoint, QPointF, QSize, Qt, Signal
from PySide6.QtGui import (
    QAction,
    QContextMenuEvent,
    QEnterEvent,
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

from app.design import edits, selection_edits
from app.design.references import Reference, existing
from app.document import Document
from app.picture.view import View
from app.plain import plain_tip
from app.theme import current_theme, pen
from app.units import show_length
from app.views.camera import Camera
from app.views.centres import draw_labels_and_centres
from app.views.fit import fitted_camera
from app.views.following import brought_into_sight, changed_places, chosen_places, out_of_sight
from app.views.gestures import Gesture, Pan, Pointer, Press, gesture_for, hover_cursor, snap_step
from app.views.ground import (
    draw_base_axle,
    draw_forward_mark,
    draw_ground,
    draw_scale_bar,
    grid_step,
    ground_of,
)
from app.views.ideal import draw_ghosts
from app.views.measuring import Measure, caught, draw_mass_on_plan
from app.views.motor_lines import draw_motor_lines, motor_under
from app.views.parts import draw_parts
from app.views.picking import SPOTS, Spot, spot_of, spot_under, thing_under, wheel_under
from app.views.placing import Box, Memory
from app.views.scene import PlanOptions, Scene
from app.views.tips import tip_of, title_of
from app.views.turning import draw_arcs, draw_axle_lines
from app.views.wheels import draw_wheels

_CLICK_PX = 3
FREE_PLACE_MM = 0.1
"""Where nothing snaps, a new wheel stands on a multiple of this."""
# A chassis that an edit leaves smaller than this share of what it was is fitted anew.
_SHRUNK = 0.7
MARKS = (
    draw_ground,
    draw_base_axle,
    draw_parts,
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


class PlanCanvas(QWidget):
    """Top-down view of the chassis: drag, select, pan and zoom."""

    pointed = Signal(str)
    """Where the mouse is, as text."""
    numbers_asked = Signal(object)
    """A `Reference` to the wheel or the body corner whose numbers the person wants to type."""
    centre_asked = Signal()
    """The person wants to type where the turn centre is."""
    measure_taken = Signal()
    """Measuring began here, or was given up: other views need not wait for it any more."""

    def __init__(self, document: Document) -> None:
        super().__init__()
        self._document = document
        self._view = document.view
        self._camera = Camera()
        self._fitted = True
        self._to_fit = True
        self._theme = current_theme()
        self._options = PlanOptions()
        self.symmetric = True
        self.snapping = True
        self._gesture: Gesture | None = None
        self._measure: Measure | None = None
        """What was measured last; it stays until the next press."""
        self._measuring = False
        self._pan: Pan | None = None
        self._pressed: QPointF | None = None
        self._hover: Reference | None = None
        self._spot: Spot = "ground"
        self._mouse_at: QPointF | None = None
        self._menu_at: tuple[float, float] | None = None
        self._offered: list[tuple[QAction, tuple[Spot, ...], bool]] = []
        self._passing: tuple[Box, ...] = ()
        self._struck: frozenset[Reference] = frozenset()
        self._memory = Memory()
        self.setMouseTracking(True)
        self.setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setAccessibleName("Plan of the chassis from above")
        self.setAccessibleDescription(
            "Forward is up. Arrow keys move the selected wheels or body corners, "
            "comma and full stop select the next wheel, "
            "and the menu key offers what can be done with it."
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
        if self._to_fit:
            self._to_fit = False
            self._camera = fitted_camera(self._view, self._camera, options=self._options, font=self.font())
        return self._camera

    def show_view(self, view: View) -> None:
        """Draw this view from now on; what was changed out of sight is brought into it, but for a drag."""
        before, self._view = self._view, view
        if not (view.previewing or before.previewing) and self._gesture is None:
            self._follow(before)
            self._show_tip()
        self.update()

    def _follow(self, before: View) -> None:
        """Bring into sight what an edit moved or added, or what was selected elsewhere."""
        design, edited = self._view.design, self._view.design is not before.design
        if edited:
            if self._fitted and self._view.facts.size < _SHRUNK * before.facts.size:
                self.fit()  # what it was fitted to is gone, as after undo of a wheel that was far off
                return
            places = changed_places(before.design, design)
        elif self._view.selection != before.selection:
            places = chosen_places(design, self._view.selection)
        else:
            return
        if not out_of_sight(self.camera, places, any_of_them=edited):
            return
        moved = None if self._fitted else brought_into_sight(self.camera, places)
        if moved is None:
            self.fit()
        else:
            self.look_by(moved)

    def set_options(self, options: PlanOptions) -> None:
        """Choose what is shown; a plan that is fitted is fitted anew where other things float on it."""
        before, self._options = self._options.obstacles, options
        if self._fitted and before != options.obstacles:
            self.fit()
        self.update()

    def show_struck(self, struck: frozenset[Reference]) -> None:
        """Mark what collides."""
        if struck != self._struck:
            self._struck = struck
            self.update()

    def set_passing(self, boxes: Sequence[Box]) -> None:
        """Tell what lies over the plan for a moment, as a note: texts avoid it, and the plan stays [px]."""
        self._passing = tuple(boxes)
        self.update()

    def refresh_theme(self) -> None:
        """Follow a change from light to dark or back."""
        self._theme = current_theme()
        self.update()

    def fit(self) -> None:
        """Show the whole chassis, and the turn centre where it is near."""
        # Done when it is looked at: while a window is laid out it is asked for over and over.
        self._fitted = self._to_fit = True
        self._memory.forget()
        self.update()

    def measure(self) -> None:
        """Let the next drag measure."""
        self.cancel_gesture()
        self._measuring, self._measure = True, None
        self.setFocus()
        self._show_cursor(Qt.KeyboardModifier.NoModifier)

    def end_measuring(self) -> None:
        """Measure no more, and show nothing that was measured."""
        if self._measuring or self._measure is not None:
            self.cancel_gesture()
            self._measuring = False
            self._show_cursor(Qt.KeyboardModifier.NoModifier)

    @property
    def measured(self) -> Measure | None:
        """What was measured last, while it is shown."""
        return self._measure

    def zoom(self, factor: float) -> None:
        """Zoom about the middle."""
        self.look_by(self.camera.zoomed(factor, 0.5 * self.width(), 0.5 * self.height()))

    def look_by(self, camera: Camera) -> None:
        """Look by another camera from now on."""
        self._fitted = self._to_fit = False
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
            self.fit()

    def scene(self) -> Scene:
        """What the marks are drawn from."""
        return Scene(
            self._view,
            self.camera,
            self._theme,
            self._options,
            self.font(),
            self._hover,
            self.devicePixelRatioF(),
            self._struck if self._options.parts else frozenset(),
            self._passing,
            self._memory,
        )

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002
        """Draw every mark, from the ground up."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setFont(self.font())
        scene = self.scene()
        for draw in MARKS:
            draw(painter, scene)
        if self._measuring or self._measure is not None:
            draw_mass_on_plan(painter, scene)
        drawn = self._gesture or self._measure
        if drawn is not None:
            drawn.draw(painter, scene)
        if self.hasFocus():
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setRenderHint(QPainter.RenderHint.Antialiasing, on=False)
            painter.setPen(pen(self._theme.accent, 1.0))
            painter.drawRect(self.rect().adjusted(0, 0, -1, -1))
        painter.end()

    # What is under the mouse -------------------------------------------------------------

    def wheel_at(self, px: float, py: float) -> int | None:
        """The wheel under a pixel; where several are, the nearest."""
        return wheel_under(self._view, self.camera, px, py)

    @property
    def shows_parts(self) -> bool:
        """Whether parts are shown, and can be gripped."""
        return self._options.parts

    def thing_at(self, at: QPointF) -> Reference | None:
        """The motor where motors are drawn, else the wheel or body corner under a pixel."""
        motor = motor_under(self._view, self.camera, at.x(), at.y()) if self._options.motors else None
        parts = self._options.parts
        return motor or thing_under(self._view, self.camera, at.x(), at.y(), parts=parts)

    def _spot_under(self, at: QPointF | QPoint) -> tuple[Reference | None, Spot]:
        return spot_under(self._view, self.camera, at.x(), at.y(), parts=self._options.parts)

    def _update_hover(self, at: QPointF, held: Qt.KeyboardModifier) -> None:
        self._mouse_at = at
        under, spot = self._spot_under(at)
        if self._options.motors and (motor := motor_under(self._view, self.camera, at.x(), at.y())):
            under, spot = motor, "ground"
        if (under, spot) != (self._hover, self._spot):
            lit = under != self._hover
            self._hover, self._spot = under, spot
            self._show_tip()
            if lit:
                self.update()
        self._show_cursor(held)
        self._tell_place(at)

    def _tell_place(self, at: QPointF) -> None:
        x, y = self.camera.to_chassis(at.x(), at.y())
        unit = self._options.unit
        self.pointed.emit(f"x {show_length(x, unit, of_mm=1)}, y {show_length(y, unit, of_mm=1)}")

    def _show_tip(self) -> None:
        if self._hover is not None and not existing((self._hover,), self._view.design):
            self._hover, self._spot = None, "ground"
        over = self._spot != "ground"
        tip = plain_tip(tip_of(self._view, self._hover, self._options.unit)) if over else ""
        if tip != self.toolTip():
            self.setToolTip(tip)

    def _show_cursor(self, held: Qt.KeyboardModifier) -> None:
        """Show what the mouse does, or would do if it were pressed."""
        doing = self._pan or self._gesture
        adding = bool(held & _ADDING)
        shape = doing.cursor if doing is not None else hover_cursor(self, self._hover, adding=adding)
        if doing is None and self._measuring:
            shape = Measure.cursor
        if shape != self.cursor().shape():
            self.setCursor(shape)

    def place_for_new(self) -> tuple[float, float] | None:
        """Where the person points to with a new wheel [mm].

        That is on the hole pattern, else on the grid that is drawn: a click is not meant to the millimetre.
        None where the mouse is not over the plan, or over a wheel that stands there already.
        """
        if self._menu_at is not None:
            x, y = self._menu_at
        elif self._mouse_at is not None and self.wheel_at(self._mouse_at.x(), self._mouse_at.y()) is None:
            x, y = self.camera.to_chassis(self._mouse_at.x(), self._mouse_at.y())
        else:
            return None
        step = self.step_for_new()
        return edits.snap(x, step), edits.snap(y, step)

    def step_for_new(self) -> float:
        """The grid that new wheels stand on [mm]."""
        if not self.snapping:
            return FREE_PLACE_MM
        return self._view.design.hole_pitch_mm or grid_step(ground_of(self.scene()))

    # Mouse -------------------------------------------------------------------------------

    def _pointer(self, event: QMouseEvent) -> Pointer:
        at = event.position()
        free = bool(event.modifiers() & Qt.KeyboardModifier.AltModifier) or not self.snapping
        return Pointer(*self.camera.to_chassis(at.x(), at.y()), at.x(), at.y(), free)

    def _caught(self, at: Pointer) -> tuple[float, float]:
        return caught(self._view, self.camera, at, parts=self._options.parts)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Start a gesture; the middle button moves the plan even in the midst of one."""
        if event.button() == Qt.MouseButton.RightButton and self._gesture is not None:
            self.cancel_gesture()
        elif event.button() == Qt.MouseButton.MiddleButton:
            self._pan = Pan(self, self._pointer(event))
        elif event.button() == Qt.MouseButton.LeftButton and self._gesture is None:
            self._pressed = self._mouse_at = event.position()
            adding = bool(event.modifiers() & _ADDING)
            press = Press(self._pointer(event), self.thing_at(event.position()), adding)
            self._measure = None
            if self._measuring:
                self._measure = Measure(self._caught, press.at)
                self.measure_taken.emit()
            self._gesture = self._measure or gesture_for(self, press)
        self._show_cursor(event.modifiers())

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Follow the mouse."""
        if self._pan is not None:
            self._pan.move(self._pointer(event))
            self._tell_place(event.position())
            return
        if self._gesture is None:
            self._update_hover(event.position(), event.modifiers())
            return
        if self._pressed is not None:
            if (event.position() - self._pressed).manhattanLength() <= _CLICK_PX:
                return
            self._pressed = None
        self._gesture.move(self._pointer(event))
        self._tell_place(event.position())
        self.update()

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Finish a gesture."""
        if event.button() == Qt.MouseButton.MiddleButton:
            self._pan = None
        elif event.button() == Qt.MouseButton.LeftButton and self._gesture is not None:
            gesture, self._gesture, self._pressed = self._gesture, None, None
            self._measuring = False
            gesture.finish()
            self._show_tip()
            self.update()
        self._show_cursor(event.modifiers())

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        """Ask for the numbers of what is there; fit the view on the ground."""
        if event.button() != Qt.MouseButton.LeftButton:
            return
        at = event.position()
        thing, spot = self._spot_under(at)
        if thing is not None:
            self._document.select((thing,))
            self.numbers_asked.emit(thing)
        elif spot == "centre":
            self.centre_asked.emit()
        else:
            self.fit()

    def ask_numbers(self) -> None:
        """Ask for the numbers of what is selected."""
        there = list(selection_edits.places_of(self._view.design, self._document.selection))
        if there:
            self.numbers_asked.emit(there[0])
        else:
            self._document.message.emit(
                "Select a wheel, a body corner or a part first, on the plan or in a table."
            )

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Zoom about the mouse."""
        turns = event.angleDelta().y() / 120.0
        at = event.position()
        self.look_by(self.camera.zoomed(1.2**turns, at.x(), at.y()))
        event.accept()

    def enterEvent(self, event: QEnterEvent) -> None:
        """Know where the mouse is before it moves."""
        self._mouse_at = event.position()

    def childEvent(self, event: QChildEvent) -> None:
        """Watch what floats on the plan: Qt does not tell that the mouse goes from the plan onto it."""
        super().childEvent(event)
        child = event.child()
        if event.polished() and isinstance(child, QWidget):
            child.installEventFilter(self)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Take the mouse on what floats on the plan for a mouse elsewhere."""
        if event.type() == QEvent.Type.Enter:
            self.leaveEvent(event)
        return super().eventFilter(watched, event)

    def leaveEvent(self, event: QEvent) -> None:  # noqa: ARG002
        """Nothing is under the mouse any more."""
        self._hover, self._spot, self._mouse_at = None, "ground", None
        self._show_tip()
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
        self._gesture = self._pan = self._pressed = self._measure = None
        self._show_cursor(Qt.KeyboardModifier.NoModifier)
        self.update()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        """Cancel a drag when another window takes over."""
        if event.reason() != Qt.FocusReason.PopupFocusReason:
            self.cancel_gesture()
        self.update()

    def contextMenuEvent(self, event: QContextMenuEvent) -> None:
        """Offer what can be done with what is under the mouse, or by key with what is selected."""
        # A right press that gave up a drag asks for no menu: the left button is still down.
        if QGuiApplication.mouseButtons() & Qt.MouseButton.LeftButton or not self._offered:
            return
        if event.reason() == QContextMenuEvent.Reason.Mouse:
            at = event.pos()
            thing, spot = self._spot_under(at)
            if thing is not None and thing not in self._document.selection:
                self._document.select((thing,))
            if spot == "ground":
                self._menu_at = self.camera.to_chassis(at.x(), at.y())
        else:
            at, thing, spot = self._of_selection()
        self._open_menu(at, thing, spot)

    def _open_menu(self, at: QPoint, thing: Reference | None, spot: Spot) -> None:
        menu = self._make_menu(thing, spot)
        menu.exec(self.mapToGlobal(at))
        self._menu_at = None
        menu.deleteLater()

    def _of_selection(self) -> tuple[QPoint, Reference | None, Spot]:
        """What a menu that was asked for by key belongs to, and where it opens."""
        there = list(selection_edits.places_of(self._view.design, self._document.selection))
        if not there:
            return self.rect().center(), None, "ground"
        (place,) = selection_edits.places_of(self._view.design, there[:1]).values()
        at = QPointF(*self.camera.to_screen(place).tolist()).toPoint()
        return at, there[0], spot_of(there[0])

    def offer(self, action: QAction, spots: tuple[Spot, ...] = SPOTS, *, gap: bool = False) -> None:
        """Have an action in the menus of some spots of the plan, `gap` with a line before it."""
        self.addAction(action)
        self._offered.append((action, spots, gap))

    def _make_menu(self, thing: Reference | None, spot: Spot) -> QMenu:
        menu = QMenu(self)
        menu.setToolTipsVisible(True)
        if spot != "ground":
            menu.addAction(title_of(self._view, thing).replace("&", "&&")).setEnabled(False)
            menu.addSeparator()
        for action, spots, gap in self._offered:
            if spot in spots:
                if gap:
                    menu.addSeparator()
                menu.addAction(action)
        return menu

    # Keyboard ------------------------------------------------------------------------------

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Nudge, select the next wheel, cancel."""
        key = Qt.Key(event.key())
        if key == Qt.Key.Key_Escape:
            if self._gesture is not None or self._measuring or self._measure is not None:
                self.cancel_gesture()
                self._measuring = False
                self.measure_taken.emit()
            else:
                self._document.select(())
        elif key in _ARROWS:
            self._nudge(_ARROWS[key], event.modifiers())
        elif key in (Qt.Key.Key_Comma, Qt.Key.Key_Period):
            self.select_next(-1 if key == Qt.Key.Key_Comma else 1)
        elif key == Qt.Key.Key_F10 and event.modifiers() & Qt.KeyboardModifier.ShiftModifier:
            self._open_menu(*self._of_selection())  # Qt itself knows the menu key alone here
        else:
            super().keyPressEvent(event)
        self._show_cursor(event.modifiers())

    def keyReleaseEvent(self, event: QKeyEvent) -> None:
        """Show what the mouse would do without the key."""
        super().keyReleaseEvent(event)
        self._show_cursor(event.modifiers())

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
