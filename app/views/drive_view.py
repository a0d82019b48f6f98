"""The robot on its course, from above: walls and posts, the track that it leaves, where it touches.

Keys and the mouse are the sticks: arrows or W, A, S, D; a drag from where the mouse is pressed is one stick.
On a course of the chassis a press on an obstacle is for the `CourseHand`.
Tracks and swept space are pictures of their own (`tracks`).
"""

from __future__ import annotations

import math

import numpy as np
from PySide6.QtCore import QEvent, QLineF, QPointF, QRectF, QSize, Qt
from PySide6.QtGui import (
    QContextMenuEvent,
    QFocusEvent,
    QGuiApplication,
    QHideEvent,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPolygonF,
    QResizeEvent,
    QShowEvent,
    QWheelEvent,
)
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.drive_session import DriveSession
from app.picture.view import View
from app.plain import plain_tip
from app.simulation.frame import Frame
from app.simulation.inputs import AT_REST, Input, sides, stick
from app.theme import colour, current_theme, pen, sized
from app.units import MM_PER_INCH, LengthUnit, show_length
from app.views.camera import Camera
from app.views.course_hand import CourseHand
from app.views.ground import nice_step
from app.views.obstacles import box_of, draw_obstacles, middle_of
from app.views.pad_hand import PadHand
from app.views.parts import draw_warning
from app.views.scene import polygon, tyre_corners
from app.views.tracks import Shown, Tracks
from geometry.axes import Floats
from geometry.model.part_outline import turned

Key = Qt.Key
_FORWARD, _BACK = {Key.Key_Up, Key.Key_W}, {Key.Key_Down, Key.Key_S}
_LEFT, _RIGHT = {Key.Key_Left, Key.Key_A}, {Key.Key_Right, Key.Key_D}
_DRIVING = _FORWARD | _BACK | _LEFT | _RIGHT
_STICK_PX = 80.0
"""How far the mouse is dragged for a full stick [px]."""
_SLOW = 0.5
"""Share of full speed by keys without Shift."""
_FIT_MARGIN = 50.0
_LEAST_GRID_PX = 40.0


class DriveView(QWidget):
    """The course as it is driven; it shows what the session tells, and hands it what is asked for."""

    def __init__(self, session: DriveSession, view: View) -> None:
        super().__init__()
        self._session = session
        self._view = view
        self._unit: LengthUnit = "mm"
        self._camera = Camera()
        self._fitted = True
        self._held: set[int] = set()
        self._fast = False
        self._stick: tuple[QPointF, QPointF] | None = None
        self._pan: QPointF | None = None
        self._tracks = Tracks(session)
        self.snapping = True
        """Whether what is dragged snaps to the grid."""
        self.hand = CourseHand(session, self)
        """What lays the course out."""
        self.setMouseTracking(True)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setAccessibleName("Robot on its course, from above")
        self.setAccessibleDescription(
            "Arrow keys or W, A, S and D drive, Shift drives faster, Space stops; drag the mouse as a stick. "
            "Comma and full stop choose an obstacle, Alt with an arrow key moves it, Delete deletes it."
        )
        session.frame_changed.connect(self._show_frame)
        session.state_changed.connect(self._state)
        self.pad = PadHand(session, self)
        self.pad.pushed.connect(self._ask)
        session.chosen_changed.connect(self._show_chosen)
        session.document.undo_stack.indexChanged.connect(self._give_up)

    def sizeHint(self) -> QSize:
        """A course wants room."""
        return QSize(760, 560)

    def minimumSizeHint(self) -> QSize:
        """Below this nothing can be seen."""
        return QSize(240, 160)

    def set_unit(self, unit: LengthUnit) -> None:
        """Show lengths in another unit."""
        self._unit = unit
        self.update()

    def show_left(self, *, tracks: bool, swept: bool) -> None:
        """Show or hide the tracks of the wheels and the space that the robot swept."""
        self._tracks.show(Shown(tracks, swept))
        self.update()

    def show_view(self, view: View) -> None:
        """Draw this chassis from now on."""
        other = view.design is not self._view.design
        self._view = view
        if not self.isVisible():
            return  # a drag on the plan must not pay for it
        if other:
            self._fit_anew()
        self.update()

    def showEvent(self, event: QShowEvent) -> None:
        """Take up what was changed meanwhile."""
        super().showEvent(event)
        self.pad.follow()
        if self._fitted:
            self.fit()

    def hideEvent(self, event: QHideEvent) -> None:
        """Drive nothing that is out of sight."""
        super().hideEvent(event)
        self.pad.follow()

    def refresh_theme(self) -> None:
        """Follow a change from light to dark or back."""
        self._tracks.forget()
        self.update()

    def _state(self) -> None:
        if self._session.state in ("idle", "playing", "paused"):
            self._let_go()
        if self._session.moving:
            self._give_up()
        self._fit_anew()
        self.update()

    def _give_up(self, _index: int = 0) -> None:
        """Give up what the hand drags on the course."""
        self.hand.cancel()
        self.update()

    def _show_chosen(self) -> None:
        """Show what is chosen, also where it was out of sight."""
        course, chosen = self._session.course, self._session.chosen
        if course is not None and chosen is not None and self.isVisible():
            px, py = self._camera.to_screen(middle_of(course, chosen)).tolist()
            if not self.rect().contains(round(px), round(py)):
                self.fit()
        self.update()

    # Where it looks --------------------------------------------------------------------------

    @property
    def camera(self) -> Camera:
        """Where it looks, in the frame of the course."""
        return self._camera

    @property
    def view(self) -> View:
        """What it shows."""
        return self._view

    @property
    def drawn(self) -> bool:
        """Whether all that was driven so far is in the picture of tracks and swept space."""
        return self._tracks.finished

    def pose(self) -> tuple[float, float, float]:
        """Where the robot is: x, y [mm] and heading [rad]."""
        frame, course = self._session.frame, self._session.course_in(self._view.design)
        if frame is not None:
            return frame.pose
        if course is None:
            return 0.0, 0.0, 0.0
        cos, sin = turned(course.start_heading_deg)
        return course.start_x_mm, course.start_y_mm, math.atan2(sin, cos)

    def fit(self) -> None:
        """Show the course, the track and the robot."""
        self._fitted = True
        self._look(self._camera.fitted(self._seen(), _FIT_MARGIN))

    def _fit_anew(self) -> None:
        """Show all of it again, unless the person moved the view, or drags something on it."""
        if self._fitted and not self.hand.dragging:
            self.fit()

    def _seen(self) -> list[tuple[float, float]]:
        """Corners of what is to be seen [mm]."""
        x, y, _ = self.pose()
        reach = 0.75 * self._view.facts.size
        points = [(x - reach, y - reach), (x + reach, y + reach)]
        course = self._session.course
        for obstacle in () if course is None else course.obstacles:
            points += box_of(obstacle)
        line = self._session.track.points
        if len(line):
            # The robot stands at each end of its track.
            points += [tuple((line[:, :2].min(axis=0) - reach).tolist())]
            points += [tuple((line[:, :2].max(axis=0) + reach).tolist())]
        if course is None and self._session.shown is None:
            points += [(-1_000.0, -1_000.0), (1_000.0, 1_000.0)]
        return points

    def zoom(self, factor: float) -> None:
        """Zoom about the middle."""
        self._fitted = False
        self._look(self._camera.zoomed(factor, 0.5 * self.width(), 0.5 * self.height()))

    def _look(self, camera: Camera) -> None:
        self._camera = camera
        self._session.middle = camera.x, camera.y
        self.update()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Show the same at another size."""
        self._camera = self._camera.resized(event.size().width(), event.size().height())
        if self._fitted:
            self.fit()

    def _show_frame(self, frame: Frame | None) -> None:
        if frame is None:
            if self._fitted:
                self.fit()
        elif self._fitted and not self._sees(frame):
            self.fit()
        if self.isVisible():
            self.update()

    def _sees(self, frame: Frame) -> bool:
        """Whether all of the robot is in sight."""
        px, py = (float(v) for v in self._camera.to_screen(frame.pose[:2]))
        near = 0.5 * self._view.facts.size * self._camera.scale
        return near <= px <= self.width() - near and near <= py <= self.height() - near

    # Drawing ---------------------------------------------------------------------------------

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002
        """Draw grid, course, track, robot and touches."""
        theme, tracks = current_theme(), self._tracks
        tracks.catch_up(self._session.frame, self._camera, self.devicePixelRatioF())
        painter = QPainter(self)
        tracks.draw_ground(painter, self._camera)
        self._draw_grid(painter)
        tracks.draw_lines(painter, self._camera)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        self._draw_course(painter)
        self._draw_robot(painter)
        self.hand.draw_above(painter, theme)
        self._draw_contacts(painter)
        self._draw_words(painter)
        self.hand.draw_numbers(painter, theme, self.font(), self.devicePixelRatioF(), self._unit)
        if self.hasFocus():
            painter.setRenderHint(QPainter.RenderHint.Antialiasing, on=False)
            painter.setPen(pen(theme.accent, 1.0))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRect(self.rect().adjusted(0, 0, -1, -1))
        painter.end()
        if not tracks.finished:
            self.update()

    @property
    def grid_mm(self) -> float:
        """From one line of the grid to the next, round in the unit on the screen [mm]."""
        unit = MM_PER_INCH if self._unit == "inch" else 1.0
        return nice_step(_LEAST_GRID_PX / self._camera.scale / unit) * unit

    def _draw_grid(self, painter: QPainter) -> None:
        camera, theme = self._camera, current_theme()
        step = self.grid_mm
        x_low, y_low = camera.to_chassis(camera.width, camera.height)
        x_high, y_high = camera.to_chassis(0, 0)
        lines = []
        for n in range(math.ceil(x_low / step), math.floor(x_high / step) + 1):
            py = float(camera.to_screen((n * step, 0.0))[1])
            lines.append(QLineF(0, py, camera.width, py))
        for n in range(math.ceil(y_low / step), math.floor(y_high / step) + 1):
            px = float(camera.to_screen((0.0, n * step))[0])
            lines.append(QLineF(px, 0, px, camera.height))
        painter.setPen(pen(theme.grid_strong))
        painter.drawLines(lines)
        wide = step * camera.scale
        painter.setPen(pen(theme.ink, 1.5))
        y = camera.height - 14.0
        painter.drawLine(QLineF(14, y, 14 + wide, y))
        painter.setFont(sized(self.font(), "small"))
        painter.drawText(QPointF(14, y - 5), show_length(step, self._unit))

    def _draw_course(self, painter: QPainter) -> None:
        course = self._session.course_in(self._view.design)
        if course is not None:
            draw_obstacles(painter, current_theme(), self._camera, course)
        self.hand.draw_below(painter, current_theme())

    def _draw_robot(self, painter: QPainter) -> None:
        theme, design = current_theme(), self._view.design
        x, y, heading = self.pose()
        cos, sin = math.cos(heading), math.sin(heading)

        def placed(points: Floats) -> Floats:
            there = points @ np.array([[cos, sin], [-sin, cos]]) + np.array([x, y])
            return self._camera.to_screen(there)

        if design.body_mm:
            painter.setPen(pen(theme.body_line, 1.2))
            painter.setBrush(colour(theme.body, 200))
            painter.drawPolygon(polygon(placed(np.array(design.body_mm))))
        if not design.wheels:
            return
        frame = self._session.frame
        known = frame is not None and len(frame.headings) == len(design.wheels)
        headings = (
            np.array(frame.headings) if known and frame is not None else self._view.robot.wheels.built_in
        )
        kingpins = np.array([(w.x_mm, w.y_mm) for w in design.wheels])
        offset = np.array([(-w.trail_mm, w.lateral_offset_mm) for w in design.wheels])
        c, s = np.cos(headings), np.sin(headings)
        contacts = kingpins + np.stack(
            [offset[:, 0] * c - offset[:, 1] * s, offset[:, 0] * s + offset[:, 1] * c], axis=1
        )
        struck = {contact.name for contact in frame.contacts if contact.what == "wheel"} if frame else set()
        for wheel, corners in zip(design.wheels, tyre_corners(self._view, headings, contacts), strict=True):
            painter.setPen(pen(theme.bad, 2.6) if wheel.name in struck else pen(theme.tyre_line, 1.2))
            painter.setBrush(colour(theme.wheel(wheel.kind)))
            painter.drawPolygon(polygon(placed(corners)))
        ahead = placed(np.array([(0.0, 0.0), (0.12 * self._view.facts.size, 0.0)]))
        painter.setPen(pen(theme.faint, 1.6))
        painter.drawLine(QPointF(*ahead[0].tolist()), QPointF(*ahead[1].tolist()))

    def _draw_contacts(self, painter: QPainter) -> None:
        frame, theme = self._session.frame, current_theme()
        if frame is None:
            return
        for contact in frame.contacts:
            at = QPointF(*self._camera.to_screen((contact.x_mm, contact.y_mm)).tolist())
            draw_warning(painter, theme, at)

    def _draw_words(self, painter: QPainter) -> None:
        session, theme = self._session, current_theme()
        painter.setFont(sized(self.font(), "text", strong=True))
        words = ""
        if session.state == "preparing":
            words = "The robot's code is being written …"
        elif session.state == "idle" and session.frame is None and self._view.design.wheels:
            words = "Press Drive, then use the arrow keys or drag the mouse on the ground; or play a script."
            if session.hand != "keys":
                there = "Push a stick of the game pad to drive" if session.pads else "Plug in a game pad"
                words = f"{there}; or play a script."
        elif not self._view.design.wheels:
            words = "No wheels yet: lay out the chassis first."
        elif session.frame is not None and session.frame.holding:
            words = "The drive waits until the wheels are near their angles."
        if words:
            painter.setPen(pen(theme.ink))
            painter.drawText(
                QRectF(12, 12, self.width() - 24, 60),
                int(Qt.TextFlag.TextWordWrap | Qt.AlignmentFlag.AlignHCenter),
                words,
            )
        if self._stick is not None:
            start, end = self._stick
            painter.setPen(pen(theme.accent, 1.6))
            painter.setBrush(colour(theme.accent, 40))
            painter.drawEllipse(start, _STICK_PX, _STICK_PX)
            painter.setBrush(colour(theme.accent))
            painter.drawPolygon(QPolygonF([start, end]))
            painter.drawLine(start, end)
            painter.drawEllipse(end, 8, 8)

    # Sticks ----------------------------------------------------------------------------------

    def asked(self) -> Input:
        """What keys and mouse ask for now; where they rest, what a game pad does."""
        mixes, pad = self._session.mixes, self.pad.asked
        if pad is not None and self._stick is None and not self._held:
            return pad
        if self._stick is not None:
            gap = self._stick[1] - self._stick[0]
            # In twentieths: a hand cannot hold it finer, and a recording keeps each change.
            throttle, turn = (
                max(-1.0, min(1.0, round(-20 * g / _STICK_PX) / 20)) for g in (gap.y(), gap.x())
            )
        else:
            full = 1.0 if self._fast else _SLOW
            throttle = full * (bool(self._held & _FORWARD) - bool(self._held & _BACK))
            turn = full * (bool(self._held & _LEFT) - bool(self._held & _RIGHT))
        if not throttle and not turn:
            return AT_REST if not mixes else stick(0.0, 0.0)
        if mixes:
            return stick(throttle, turn)
        # Without mixing in the code the sides are asked for themselves.
        left, right = throttle - turn, throttle + turn
        most = max(abs(left), abs(right), 1.0)
        return sides(left / most, right / most)

    def _ask(self) -> None:
        self._session.ask(self.asked())

    def _let_go(self) -> None:
        self._held.clear()
        self._stick = None
        self._fast = False

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Drive while a key is held; Space stops."""
        key = event.key()
        if self.hand.key(event):
            self.update()
            return
        if key == Key.Key_Space or (key == Key.Key_Escape and self._session.moving):
            self._let_go()
            self._ask()
            self._session.stop()
            return
        if key in _DRIVING or key == Key.Key_Shift:
            if event.isAutoRepeat():
                return
            self._fast = bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier) or key == Key.Key_Shift
            if key in _DRIVING:
                if self._session.state in ("idle", "paused") and self._view.design.wheels:
                    self._session.start_live()
                self._held.add(key)
            self._ask()
            return
        super().keyPressEvent(event)

    def event(self, event: QEvent) -> bool:
        """Take Delete for what is chosen on the course before an action of the window takes it."""
        taken = event.type() == QEvent.Type.ShortcutOverride and self.hand.wants(event)
        if taken:
            event.accept()
        return taken or super().event(event)

    def keyReleaseEvent(self, event: QKeyEvent) -> None:
        """Let go of a key."""
        if event.isAutoRepeat():
            return
        if event.key() == Key.Key_Shift:
            self._fast = False
        self._held.discard(event.key())
        self._ask()
        super().keyReleaseEvent(event)

    def focusOutEvent(self, event: QFocusEvent) -> None:
        """Let go of all sticks: nothing drives that nobody holds."""
        super().focusOutEvent(event)
        if event.reason() != Qt.FocusReason.PopupFocusReason:
            self.hand.cancel()
        self._let_go()
        self._ask()
        self.update()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Grip what is under the mouse; on the ground the left button is a stick, another moves the view."""
        left = event.button() == Qt.MouseButton.LeftButton
        if event.button() == Qt.MouseButton.RightButton and self.hand.dragging:
            self.hand.cancel()
        elif left and self.hand.press(event.position()):
            self.update()
        elif left and self._view.design.wheels:
            self._stick = event.position(), event.position()
            if self._session.state in ("idle", "paused"):
                self._session.start_live()
                self._stick = event.position(), event.position()
            self.update()
        elif event.button() in (Qt.MouseButton.MiddleButton, Qt.MouseButton.RightButton):
            self._pan = event.position()

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Lead what is gripped or the stick, or move the view."""
        if self.hand.dragging:
            free = bool(event.modifiers() & Qt.KeyboardModifier.AltModifier)
            self.hand.move(event.position(), free=free)
        elif self._stick is not None:
            gap = event.position() - self._stick[0]
            far = math.hypot(gap.x(), gap.y())
            self._stick = self._stick[0], self._stick[0] + gap * min(1.0, _STICK_PX / max(far, 1.0))
            self._ask()
            self.update()
        elif self._pan is not None:
            gap = event.position() - self._pan
            self._pan, self._fitted = event.position(), False
            self._look(self._camera.panned(gap.x(), gap.y()))
        elif self.hand.hover(event.position()):
            self.setToolTip(plain_tip(self.hand.tip))
            self.update()
        self.setCursor(self.hand.cursor)

    def leaveEvent(self, event: QEvent) -> None:
        """Nothing is under the mouse any more."""
        super().leaveEvent(event)
        self.hand.leave()
        self.update()

    def contextMenuEvent(self, event: QContextMenuEvent) -> None:
        """Offer what can be done with the obstacle under the mouse, or by key with the chosen one."""
        if QGuiApplication.mouseButtons() & Qt.MouseButton.LeftButton:
            return  # it gave up a drag
        at = event.pos()
        if event.reason() == QContextMenuEvent.Reason.Mouse:
            grip = self.hand.under(QPointF(at))
            if grip is None:
                return
            self._session.pick(grip.thing)
        menu = self.hand.menu(self)
        if menu is not None:
            self._pan = None
            menu.exec(event.globalPos())
            menu.deleteLater()

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Let go."""
        if event.button() == Qt.MouseButton.LeftButton:
            if self.hand.dragging:
                self._finish_drag()
            self._stick = None
            self._ask()
        self._pan = None
        self.update()

    def _finish_drag(self) -> None:
        """Make it a step; the view stays, unless something is out of sight now."""
        fitted, self._fitted = self._fitted, False
        self.hand.finish()
        self._fitted = fitted
        if fitted and not self._in_sight(self._seen()):
            self.fit()

    def _in_sight(self, points: list[tuple[float, float]]) -> bool:
        there = self._camera.to_screen(points)
        return bool((there >= 0).all() and (there <= (self.width(), self.height())).all())

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        """Show all of it again."""
        if event.button() != Qt.MouseButton.LeftButton:
            self.fit()
        elif self.hand.press(event.position()):
            self.update()

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Zoom about the mouse."""
        at = event.position()
        self._fitted = False
        self._look(self._camera.zoomed(1.2 ** (event.angleDelta().y() / 120.0), at.x(), at.y()))
        event.accept()
