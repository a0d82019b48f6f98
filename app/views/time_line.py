"""The foot of the stage Drive: drive, play, pause, rewind, the time, and curves of the script to go along."""

from __future__ import annotations

import math
from functools import partial

import numpy as np
from PySide6.QtCore import QEvent, QLineF, QObject, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QKeyEvent, QMouseEvent, QPainter, QPaintEvent
from PySide6.QtWidgets import QHBoxLayout, QMenu, QPushButton, QSizePolicy, QVBoxLayout, QWidget

from app.drive_session import DriveSession, Shown
from app.plain import plain_label, plain_tip
from app.simulation.frame import Frame
from app.simulation.inputs import STEP_S, STEP_US
from app.theme import current_theme, panel_palette, pen, sized
from app.units import LengthUnit, show_length, show_number
from app.views.scene import polygon
from geometry.axes import Floats

_LANES = ("Steer", "Speed", "Drag")
_LEFT = 60.0
_MOST_POINTS = 600
_LEAST_DRAG_MM = 0.05


class Curves(QWidget):
    """Steering, speed and drag of a script over its time; a press goes to that time."""

    sought = Signal(int)
    """A number of steps."""

    def __init__(self) -> None:
        super().__init__()
        self._steps = self._count = 0
        self._lines: list[Floats] = []
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAccessibleName("Time of the script")
        self.setAccessibleDescription("Left and right arrows go a step of time, Home and End to its ends.")
        self.setToolTip("Steering, speed and drag over the time of the script. Press to go there.")

    def sizeHint(self) -> QSize:
        """Three low lanes."""
        return QSize(300, 60)

    def minimumSizeHint(self) -> QSize:
        """One can still go along."""
        return QSize(120, 24)

    def show_run(self, shown: Shown | None) -> None:
        """Draw the curves of a run; none for live driving."""
        self._lines, self._count = [], 0
        if shown is not None:
            self._count = shown.steps
            every = max(1, self._count // _MOST_POINTS)
            steer = np.concatenate([np.abs(b.steer).max(axis=1, initial=0.0) for b in shown.blocks])[::every]
            speed = np.concatenate([np.hypot(b.twist[:, 0], b.twist[:, 1]) for b in shown.blocks])[::every]
            drag = np.concatenate([b.drag[1:].sum(axis=1) for b in shown.blocks])[::every]
            self._lines = [np.asarray(line, dtype=np.float64) for line in (steer, speed, drag)]
        self.update()

    def show_steps(self, steps: int) -> None:
        """Put the cursor after so many steps."""
        if steps != self._steps:
            self._steps = steps
            self.update()

    def _room(self) -> QRectF:
        return QRectF(_LEFT, 2.0, max(self.width() - _LEFT - 8.0, 1.0), max(self.height() - 4.0, 1.0))

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002
        """Draw lanes, curves and the cursor."""
        theme, room = current_theme(), self._room()
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setFont(sized(self.font(), "small"))
        tall = room.height() / len(_LANES)
        tones = (theme.accent, theme.ink, theme.bad)
        for n, name in enumerate(_LANES):
            top = room.top() + n * tall
            painter.setPen(pen(theme.line))
            painter.drawRect(QRectF(room.left(), top, room.width(), tall - 2.0))
            painter.setPen(pen(theme.faint))
            words = QRectF(4, top, _LEFT - 8, tall - 2.0)
            painter.drawText(words, Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft, name)
            if n < len(self._lines) and len(self._lines[n]) > 1:
                values = self._lines[n]
                most = float(values.max()) or 1.0
                across = room.left() + np.linspace(0.0, room.width(), len(values))
                down = top + (tall - 4.0) * (1.0 - values / most) + 1.0
                painter.setPen(pen(tones[n], 1.0))
                painter.drawPolyline(polygon(np.stack([across, down], axis=1)))
        if self._count:
            x = room.left() + room.width() * self._steps / self._count
            painter.setPen(pen(theme.accent, 2.0))
            painter.drawLine(QLineF(x, room.top(), x, room.bottom()))
        if self.hasFocus():
            painter.setPen(pen(theme.accent))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRect(self.rect().adjusted(0, 0, -1, -1))
        painter.end()

    def _seek(self, at: QPointF) -> None:
        room = self._room()
        share = max(0.0, min(1.0, (at.x() - room.left()) / room.width()))
        if self._count:
            self.sought.emit(round(share * self._count))

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Go there."""
        self._seek(event.position())

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Go along while the button is held."""
        if event.buttons() & Qt.MouseButton.LeftButton:
            self._seek(event.position())

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Go along by keys."""
        second = round(1.0 / STEP_S)
        by = {Qt.Key.Key_Left: -second // 10, Qt.Key.Key_Right: second // 10}
        ends = {Qt.Key.Key_Home: 0, Qt.Key.Key_End: self._count}
        key = Qt.Key(event.key())
        if self._count and key in by:
            self.sought.emit(self._steps + by[key])
        elif self._count and key in ends:
            self.sought.emit(ends[key])
        else:
            super().keyPressEvent(event)


class TimeLine(QWidget):
    """Buttons, time and drag, and below them the curves."""

    def __init__(self, session: DriveSession) -> None:
        super().__init__()
        self._session = session
        self._unit: LengthUnit = "mm"
        self.setAutoFillBackground(True)
        self.rewind = QPushButton("Rewind")
        self.rewind.setToolTip("Put the robot back to the start of the course.")
        self.rewind.clicked.connect(session.reset)
        self.play = QPushButton("Play")
        self.play.clicked.connect(self._play)
        self.drive = QPushButton("Drive")
        self.drive.clicked.connect(self._drive)
        self.keep = QPushButton("Keep as script")
        self.keep.clicked.connect(lambda _on=False: session.keep())
        self.earlier = QPushButton("Earlier")
        self.earlier.setToolTip("Keep a drive from before the last one as a script.")
        self._earlier_menu = QMenu(self.earlier)
        self._earlier_menu.aboutToShow.connect(self._list_earlier)
        self.earlier.setMenu(self._earlier_menu)
        self.time, self.told = plain_label(), plain_label()
        self.curves = Curves()
        self.curves.sought.connect(session.seek)
        row = QHBoxLayout()
        row.setSpacing(4)
        for button in (self.rewind, self.play, self.drive, self.keep, self.earlier):
            row.addWidget(button)
        row.addWidget(self.time)
        self._words: tuple[str, ...] = ("",)
        self.told.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        self.told.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        self.told.installEventFilter(self)
        row.addWidget(self.told, 1)
        column = QVBoxLayout(self)
        column.setContentsMargins(8, 4, 8, 4)
        column.setSpacing(2)
        column.addLayout(row)
        column.addWidget(self.curves, 1)
        session.frame_changed.connect(self._show_frame)
        session.state_changed.connect(self._show_state)
        self._show_state()
        self.refresh_theme()

    def set_unit(self, unit: LengthUnit) -> None:
        """Show lengths in another unit."""
        self._unit = unit
        self._show_frame(self._session.frame)

    def refresh_theme(self) -> None:
        """Follow a change from light to dark or back."""
        self.setPalette(panel_palette())
        self.curves.update()

    def _play(self) -> None:
        if self._session.state == "playing":
            self._session.pause()
        else:
            self._session.play()

    def _drive(self) -> None:
        if self._session.state == "live":
            self._session.stop()
        else:
            self._session.start_live()

    def _show_state(self) -> None:
        session = self._session
        wheels = bool(session.design.wheels)
        self.play.setText("Pause" if session.state == "playing" else "Play")
        self.play.setEnabled(
            wheels and session.script is not None and session.state not in ("live", "preparing")
        )
        why = "" if session.script is not None else " There is no script yet."
        self.play.setToolTip(plain_tip(f"Play the script that is chosen beside, or hold it.{why}"))
        self.drive.setText("Stop" if session.state in ("live", "preparing") else "Drive")
        self.drive.setEnabled(wheels and session.state != "playing")
        self.drive.setToolTip(
            "Drive by keys, mouse or game pad from the start; what is driven can be kept as a script."
        )
        driven, still = session.driven, session.state in ("idle", "paused")
        self.keep.setEnabled(bool(driven) and still)
        long = f" last, {show_number(driven[0].seconds, 1)} s" if driven and still else ""
        self.keep.setToolTip(plain_tip(f"Keep what was driven by hand{long}, as a script of the chassis."))
        self.earlier.setVisible(len(driven) > 1)
        self.earlier.setEnabled(still)
        self.rewind.setEnabled(session.frame is not None)
        self.curves.show_run(session.shown)
        self.curves.show_steps(session.steps)
        self._show_frame(session.frame)

    def _list_earlier(self) -> None:
        self._earlier_menu.clear()
        for count, recording in enumerate(self._session.driven[1:], 1):
            words = f"Keep the drive {count} before the last, {show_number(recording.seconds, 1)} s"
            self._earlier_menu.addAction(words, partial(self._session.keep, recording=recording))

    def _show_frame(self, frame: Frame | None) -> None:
        session = self._session
        if frame is None:
            self.time.setText("")
            self._tell("")
            return
        self.rewind.setEnabled(True)
        self.curves.show_steps(session.steps)
        whole = "" if session.shown is None else f" of {show_number(session.shown.steps * STEP_US / 1e6, 1)}"
        self.time.setText(f"{show_number(frame.time_s, 1)}{whole} s")
        names = [wheel.name for wheel in session.design.wheels]
        if not names or len(frame.drag) != len(names):
            self._tell("")
            return
        most = int(np.argmax(frame.drag))
        worst = f", most {names[most]} {show_length(frame.drag[most], self._unit, of_mm=1)}"
        total = show_length(math.fsum(frame.drag), self._unit, of_mm=1)
        touched = f"; {len(frame.contacts)} touched" if frame.contacts else ""
        if frame.drag[most] < _LEAST_DRAG_MM:
            worst = ""  # rounding alone would name one
        self._tell(f"dragged so far {total}{worst}{touched}", f"dragged {total}{touched}", f"drag {total}")

    def _tell(self, *words: str) -> None:
        """Say the first of these that has room beside the time: a name may be long."""
        self._words = words
        metrics, room = self.told.fontMetrics(), max(self.told.width(), 0)
        fitting = next((text for text in words if metrics.horizontalAdvance(text) <= room), words[-1])
        self.told.setText(metrics.elidedText(fitting, Qt.TextElideMode.ElideRight, room))
        self.told.setToolTip(plain_tip(words[0]) if words[0] else "")

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Shorten what is said anew where the room changes."""
        if event.type() == QEvent.Type.Resize:
            self._tell(*self._words)
        return super().eventFilter(watched, event)
