"""Pictures of a chassis to look at: the marks of the plan, without a document and without gestures."""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np
from PySide6.QtCore import QEvent, QPointF, QSize, Qt
from PySide6.QtGui import QImage, QPainter, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.design.facts import Facts
from app.picture.view import Command, View
from app.theme import Theme, colour, current_theme, pen
from app.units import LengthUnit
from app.views.camera import Camera
from app.views.canvas import MARKS
from app.views.fit import fitted_camera
from app.views.scene import PlanOptions, Scene, polygon, wheel_corners
from geometry.model.design import Design

_KINGPIN_PX = 1.3


class StillPlan(QWidget):
    """Shows one view whole; nothing in it can be gripped."""

    def __init__(self, view: View) -> None:
        super().__init__()
        self._view = view
        self._unit: LengthUnit = "mm"
        self.setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setAccessibleName("Picture of the chassis from above")

    def show_view(self, view: View, unit: LengthUnit) -> None:
        """Draw this view from now on."""
        self._view, self._unit = view, unit
        self.update()

    def sizeHint(self) -> QSize:
        """A picture wants room."""
        return QSize(520, 480)

    def minimumSizeHint(self) -> QSize:
        """Below this wheels cannot be told apart."""
        return QSize(160, 120)

    def changeEvent(self, event: QEvent) -> None:
        """Follow a change from light to dark or back."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.PaletteChange:
            self.update()

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002
        """Draw every mark, from the ground up."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setFont(self.font())
        camera = fitted_camera(self._view, Camera().resized(self.width(), self.height()))
        options = PlanOptions(labels=False, unit=self._unit)
        ratio = self.devicePixelRatioF()
        scene = Scene(self._view, camera, current_theme(), options, self.font(), ratio=ratio)
        for draw in MARKS:
            draw(painter, scene)
        painter.end()


@lru_cache(maxsize=64)
def small_picture(design: Design, theme: Theme, width: int, height: int, ratio: float) -> QImage:
    """Body and wheels of a chassis straight ahead, forward up, on nothing; made once.

    Parameters
    ----------
    width, height
        Size [logical px].
    ratio
        Device pixels for a pixel.

    Returns
    -------
    QImage
        And not a pixmap, since it may outlive the application.
    """
    view = View(Facts(design), Command(turn=0.0))
    image = QImage(
        math.ceil(width * ratio), math.ceil(height * ratio), QImage.Format.Format_ARGB32_Premultiplied
    )
    image.setDevicePixelRatio(ratio)
    image.fill(0)
    tyres = wheel_corners(view)
    points = np.concatenate([tyres.reshape(-1, 2), np.array(design.body_mm).reshape(-1, 2)])
    camera = Camera().resized(width, height).fitted(points, 2)
    painter = QPainter(image)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(pen(theme.body_line))
    painter.setBrush(colour(theme.body))
    if design.body_mm:
        painter.drawPolygon(polygon(camera.to_screen(np.array(design.body_mm))))
    painter.setPen(pen(theme.tyre_line))
    for wheel, corners, contact in zip(design.wheels, tyres, view.contacts, strict=True):
        painter.setBrush(colour(theme.wheel(wheel.kind)))
        painter.drawPolygon(polygon(camera.to_screen(corners)))
        if wheel.kind == "steered":
            painter.setBrush(colour(theme.paper))
            at = camera.to_screen(contact)
            painter.drawEllipse(QPointF(float(at[0]), float(at[1])), _KINGPIN_PX, _KINGPIN_PX)
    painter.end()
    return image
