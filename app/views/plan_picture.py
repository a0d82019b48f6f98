"""The plan as a picture to take away: on paper, so always in the light colours, and with nothing selected."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

from PySide6.QtCore import QBuffer, QByteArray, QIODevice, QRect, QSize
from PySide6.QtGui import QFont, QFontInfo, QImage, QImageWriter, QPainter
from PySide6.QtSvg import QSvgGenerator

from app.picture.view import View
from app.theme import LIGHT, colour
from app.units import MM_PER_INCH
from app.views.canvas import MARKS
from app.views.ground import draw_body, draw_grid, draw_ground, ground_of
from app.views.placing import Memory
from app.views.scene import Scene

SCALES = (1, 2, 4)
"""How many times as fine as the screen a PNG can be."""
COPIED_SCALE = 2
"""The same of the picture on the clipboard."""
_DPI = 96


@dataclass(frozen=True)
class PlanPicture:
    """What the plan shows, as a picture."""

    scene: Scene
    """As the plan has it."""

    @property
    def size(self) -> QSize:
        """Width and height on the screen [px]."""
        return QSize(self.scene.camera.width, self.scene.camera.height)

    def image(self, scale: float) -> QImage:
        """The picture in pixels, so many times as fine as the screen."""
        made = QImage(self.size * scale, QImage.Format.Format_RGB32)
        made.setDevicePixelRatio(scale)
        dots = round(1000.0 * _DPI * scale / MM_PER_INCH)
        made.setDotsPerMeterX(dots)
        made.setDotsPerMeterY(dots)
        painter = QPainter(made)
        _draw(painter, self._on_paper(scale))
        painter.end()
        return made

    def png(self, scale: float) -> bytes:
        """The picture as the bytes of a PNG file."""
        data = QByteArray()
        buffer = QBuffer(data)
        buffer.open(QIODevice.OpenModeFlag.WriteOnly)
        QImageWriter(buffer, QByteArray(b"png")).write(self.image(scale))
        buffer.close()
        return bytes(data.data())

    def svg(self) -> bytes:
        """The picture as an SVG file of lines, areas and texts, to be worked on elsewhere."""
        data = QByteArray()
        buffer = QBuffer(data)
        generator = QSvgGenerator()
        generator.setOutputDevice(buffer)
        generator.setResolution(_DPI)
        generator.setSize(self.size)
        generator.setViewBox(QRect(0, 0, self.size.width(), self.size.height()))
        generator.setTitle(self.scene.view.design.name)
        generator.setDescription("The chassis from above, forward is up. Not to scale.")
        painter = QPainter(generator)
        _draw(painter, self._on_paper(1.0))
        painter.end()
        # A font of this machine may lack on another; this says what is near enough.
        return re.sub(rb'font-family="([^"]*)"', rb'font-family="\1, sans-serif"', bytes(data.data()))

    def _on_paper(self, scale: float) -> Scene:
        scene = self.scene
        view = View(scene.view.facts, scene.view.command, alone=scene.view.alone)
        font = QFont(scene.font)
        font.setPixelSize(QFontInfo(scene.font).pixelSize())  # whatever the picture's dots
        # What floats on the window is not on paper, and the plan keeps its own places.
        options = replace(scene.options, obstacles=())
        return replace(
            scene,
            view=view,
            theme=LIGHT,
            options=options,
            font=font,
            hover=None,
            ratio=scale,
            passing=(),
            memory=Memory(),
        )


def _draw(painter: QPainter, scene: Scene) -> None:
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setFont(scene.font)
    for draw in MARKS:
        (_draw_ground if draw is draw_ground else draw)(painter, scene)


def _draw_ground(painter: QPainter, scene: Scene) -> None:
    """Draw grid and body as lines: the plan keeps them as pixels."""
    camera, ground = scene.camera, ground_of(scene)
    painter.fillRect(0, 0, camera.width, camera.height, colour(scene.theme.paper))
    draw_grid(painter, ground)
    draw_body(painter, ground)
