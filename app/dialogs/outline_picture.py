"""The picture of an imported drawing: what is taken, beside the chassis as it is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from PySide6.QtCore import QEvent, QPointF, QSize, Qt, Signal
from PySide6.QtGui import QMouseEvent, QPainter, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.design.facts import Facts
from app.design.outline_edits import NO_SHIFT, Shift
from app.design.outline_files.drawing import Circle, Drawing, Shape
from app.picture.view import Command, View
from app.theme import colour, current_theme, pen
from app.views.camera import Camera
from app.views.scene import polygon, wheel_corners
from geometry.axes import Floats
from geometry.model.design import Design

_MARGIN = (24, 34, 24, 24)
_CROSS_PX = 9
_REACH_PX = 14
"""How near to a point of the drawing a click must be to mean it [px]."""


@dataclass(frozen=True)
class Pictured:
    """What the picture shows."""

    drawing: Drawing | None = None
    """Of the layers that are ticked."""
    body: Shape | None = None
    holes: Sequence[Shape] = field(default=())
    shift: Shift = NO_SHIFT


class OutlinePicture(QWidget):
    """Forward is up, as on the plan; a click on a corner or a centre chooses that point."""

    picked = Signal(float, float)
    """A point of the drawing as it is laid, without the shift [mm]."""

    def __init__(self, design: Design) -> None:
        super().__init__()
        self._design = design
        view = View(Facts(design), Command(turn=0.0))
        self._tyres = wheel_corners(view) if design.wheels else np.empty((0, 4, 2))
        self._shown = Pictured()
        self._camera = Camera()
        self.setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setAccessibleName("Picture of the drawing on the chassis")
        self.setToolTip(
            "Filled: the chassis as it is. Thick: what becomes the body. Violet: openings. "
            "Dashed: open paths, which are not taken. Click a corner or a centre to make it the origin."
        )

    def sizeHint(self) -> QSize:
        """A picture wants room."""
        return QSize(420, 300)

    def minimumSizeHint(self) -> QSize:
        """Below this nothing can be told."""
        return QSize(200, 160)

    def show_drawing(self, shown: Pictured) -> None:
        """Draw this from now on."""
        self._shown = shown
        self.update()

    def changeEvent(self, event: QEvent) -> None:
        """Follow a change from light to dark or back."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.PaletteChange:
            self.update()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Choose the nearest corner or centre."""
        points = self._points()
        if event.button() != Qt.MouseButton.LeftButton or not len(points):
            return
        seen = self._camera.to_screen(points + self._shown.shift)
        at = event.position()
        off = np.hypot(seen[:, 0] - at.x(), seen[:, 1] - at.y())
        nearest = int(np.argmin(off))
        if off[nearest] <= _REACH_PX:
            x, y = points[nearest].tolist()
            self.picked.emit(x, y)

    def _points(self) -> Floats:
        """Corners of outlines and centres of circles, as the drawing is laid (K, 2) [mm]."""
        drawing = self._shown.drawing
        if drawing is None:
            return np.empty((0, 2))
        centres = np.array([(circle.x, circle.y) for circle in drawing.circles]).reshape(-1, 2)
        return np.concatenate([centres, *(outline.points for outline in drawing.outlines)])

    def _extent(self) -> Floats:
        """All that must be in sight (K, 2) [mm]."""
        drawing, shift = self._shown.drawing, np.array(self._shown.shift)
        points = [self._tyres.reshape(-1, 2), np.array(self._design.body_mm).reshape(-1, 2), np.zeros((1, 2))]
        if drawing is not None:
            boxes = np.array([shape.bounds for shape in drawing.shapes]).reshape(-1, 2)
            points += [boxes + shift, *(path.points + shift for path in drawing.open_paths)]
        return np.concatenate(points)

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002
        """Draw the chassis, then the drawing over it."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        theme = current_theme()
        painter.fillRect(self.rect(), colour(theme.paper))
        self._camera = Camera().resized(self.width(), self.height()).fitted(self._extent(), _MARGIN)
        self._draw_chassis(painter)
        self._draw_drawing(painter)
        self._draw_axes(painter)
        painter.end()

    def _draw_chassis(self, painter: QPainter) -> None:
        theme = current_theme()
        painter.setPen(pen(theme.body_line))
        painter.setBrush(colour(theme.body))
        if self._design.body_mm:
            painter.drawPolygon(polygon(self._camera.to_screen(np.array(self._design.body_mm))))
        painter.setPen(pen(theme.tyre_line))
        for wheel, corners in zip(self._design.wheels, self._tyres, strict=True):
            painter.setBrush(colour(theme.wheel(wheel.kind)))
            painter.drawPolygon(polygon(self._camera.to_screen(corners)))

    def _draw_drawing(self, painter: QPainter) -> None:
        theme, shown = current_theme(), self._shown
        if shown.drawing is None:
            return
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(pen(theme.faint, 1.0))
        for shape in shown.drawing.shapes:
            self._draw_shape(painter, shape)
        painter.setPen(pen(theme.bad, 1.0, Qt.PenStyle.DashLine))
        for path in shown.drawing.open_paths:
            painter.drawPolyline(polygon(self._camera.to_screen(path.points + shown.shift)))
        painter.setPen(pen(theme.motor, 2.0))
        for shape in shown.holes:
            self._draw_shape(painter, shape)
        if shown.body is not None:
            painter.setPen(pen(theme.accent, 2.5))
            self._draw_shape(painter, shown.body)

    def _draw_shape(self, painter: QPainter, shape: Shape) -> None:
        shift = np.array(self._shown.shift)
        if isinstance(shape, Circle):
            x, y = self._camera.to_screen(np.array([shape.x, shape.y]) + shift).tolist()
            r = 0.5 * shape.diameter * self._camera.scale
            painter.drawEllipse(QPointF(x, y), r, r)
        else:
            painter.drawPolygon(polygon(self._camera.to_screen(shape.points + shift)))

    def _draw_axes(self, painter: QPainter) -> None:
        """The origin of the chassis, and which way is forward."""
        theme = current_theme()
        painter.setPen(pen(theme.ink, 1.0))
        x, y = self._camera.to_screen(np.zeros(2)).tolist()
        painter.drawLine(QPointF(x - _CROSS_PX, y), QPointF(x + _CROSS_PX, y))
        painter.drawLine(QPointF(x, y - _CROSS_PX), QPointF(x, y + _CROSS_PX))
        painter.setPen(pen(theme.faint, 1.0))
        painter.setFont(self.font())
        painter.drawText(self.rect().adjusted(10, 8, -10, -8), Qt.AlignmentFlag.AlignTop, "▲ forward")
