"""A mouse for tests: real Qt events at chassis coordinates on the plan, or at pixels of a widget."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QPoint, QPointF, Qt
from PySide6.QtGui import QMouseEvent, QWheelEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QWidget

from app.views.canvas import PlanCanvas

Button = Qt.MouseButton
Held = Qt.KeyboardModifier
Place = tuple[float, float]
LEFT = Qt.MouseButton.LeftButton
MIDDLE = Qt.MouseButton.MiddleButton
RIGHT = Qt.MouseButton.RightButton
NONE = Qt.KeyboardModifier.NoModifier
ALT = Qt.KeyboardModifier.AltModifier
SHIFT = Qt.KeyboardModifier.ShiftModifier
CONTROL = Qt.KeyboardModifier.ControlModifier


def pixel(canvas: PlanCanvas, x: float, y: float) -> QPointF:
    """Where a chassis point is on the canvas."""
    return QPointF(*canvas.camera.to_screen((x, y)).tolist())


def press(canvas: PlanCanvas, x: float, y: float, *, button: Button = LEFT, held: Held = NONE) -> None:
    press_at(canvas, pixel(canvas, x, y), button=button, held=held)


def move(canvas: PlanCanvas, x: float, y: float, *, button: Button = LEFT, held: Held = NONE) -> None:
    move_to(canvas, pixel(canvas, x, y), button=button, held=held)


def release(canvas: PlanCanvas, x: float, y: float, *, button: Button = LEFT, held: Held = NONE) -> None:
    release_at(canvas, pixel(canvas, x, y), button=button, held=held)


def drag(
    canvas: PlanCanvas, start: Place, end: Place, *, steps: int = 5, button: Button = LEFT, held: Held = NONE
) -> None:
    """Press, go there in steps, release; the camera stays where it was at the press."""
    first, last = pixel(canvas, *start), pixel(canvas, *end)
    press_at(canvas, first, button=button, held=held)
    for n in range(1, steps + 1):
        move_to(canvas, first + (last - first) * (n / steps), button=button, held=held)
    release_at(canvas, last, button=button, held=held)


def click(canvas: PlanCanvas, x: float, y: float, *, button: Button = LEFT, held: Held = NONE) -> None:
    press(canvas, x, y, button=button, held=held)
    release(canvas, x, y, button=button, held=held)


def press_at(widget: QWidget, at: QPointF, *, button: Button = LEFT, held: Held = NONE) -> None:
    # Qt's own test events know whole pixels only; a real press also gives the focus.
    if widget.focusPolicy() & Qt.FocusPolicy.ClickFocus:
        widget.setFocus(Qt.FocusReason.MouseFocusReason)
    _send(widget, QEvent.Type.MouseButtonPress, at, button, button, held)


def move_to(widget: QWidget, at: QPointF, *, button: Button = LEFT, held: Held = NONE) -> None:
    _send(widget, QEvent.Type.MouseMove, at, Qt.MouseButton.NoButton, button, held)


def release_at(widget: QWidget, at: QPointF, *, button: Button = LEFT, held: Held = NONE) -> None:
    _send(widget, QEvent.Type.MouseButtonRelease, at, button, Qt.MouseButton.NoButton, held)


def double_click(widget: QWidget, at: QPointF) -> None:
    QTest.mouseDClick(widget, LEFT, NONE, at.toPoint())
    # Qt's own leaves the button down.
    QTest.mouseRelease(widget, LEFT, NONE, at.toPoint())


def hover(canvas: PlanCanvas, x: float, y: float) -> None:
    move(canvas, x, y, button=Qt.MouseButton.NoButton)


def wheel(widget: QWidget, at: QPointF, notches: float, *, held: Held = NONE) -> bool:
    """Turn the mouse wheel; whether the widget took it, and leaves nothing to what it stands in."""
    event = QWheelEvent(
        at,
        QPointF(widget.mapToGlobal(at.toPoint())),
        QPoint(),
        QPoint(0, round(120 * notches)),
        Qt.MouseButton.NoButton,
        held,
        Qt.ScrollPhase.NoScrollPhase,
        False,
    )
    QApplication.sendEvent(widget, event)
    return event.isAccepted()


def _send(
    widget: QWidget, kind: QEvent.Type, at: QPointF, button: Button, buttons: Button, held: Held
) -> None:
    event = QMouseEvent(kind, at, QPointF(widget.mapToGlobal(at.toPoint())), button, buttons, held)
    QApplication.sendEvent(widget, event)
