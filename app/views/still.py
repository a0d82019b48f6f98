"""A picture of a chassis to look at: the marks of the plan, without a document and without gestures."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QSize
from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.picture.view import View
from app.theme import current_theme
from app.units import LengthUnit
from app.views.camera import Camera
from app.views.canvas import MARKS, fitted_camera
from app.views.scene import PlanOptions, Scene


class StillPlan(QWidget):
    """Shows one view whole; nothing in it can be gripped."""

    def __init__(self, view: View) -> None:
        super().__init__()
        self._view = view
        self._unit: LengthUnit = "mm"
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
        return QSize(240, 200)

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
