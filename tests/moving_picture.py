"""Make the moving picture of the README: ``python -m tests.moving_picture``.

A wheel is dragged and the turn slid, in the program's own window and without a screen. ImageMagick's
``convert`` joins the pictures; look at the result before it is kept.
"""

from __future__ import annotations

import math
import os
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import QImage, QPainter
from PySide6.QtWidgets import QApplication

from app.design.references import references_to
from app.design.samples import sample_design
from app.document import Document
from app.settings import Settings
from app.theme import LIGHT, colour, pen
from app.window.main_window import MainWindow
from tests.mouse import move_to, pixel, press_at, release_at

PLACE = Path(__file__).parents[1] / "app" / "help" / "drag-and-turn.gif"
WIDE, TALL, SHOWN = 1024, 640, 760
DRAG, SLIDE, DELAY_CS = 12, 24, 10
MOST_BYTES = 1_000_000


def frames(window: MainWindow) -> Iterator[QImage]:
    """The window step by step: a wheel out and back, then the turn from right to left and back."""
    canvas, document = window.canvas, window.document
    wheel = document.design.wheels[0]
    start = pixel(canvas, wheel.x_mm, wheel.y_mm)
    press_at(canvas, start)
    for step in range(DRAG + 1):
        share = math.sin(math.pi * step / DRAG)
        at = start + QPointF(-34.0 * share, -22.0 * share)
        move_to(canvas, at)
        yield _shot(window, QPointF(canvas.mapTo(window, at.toPoint())))
    release_at(canvas, start)
    slider = window.middle.turn.slider
    for step in range(SLIDE + 1):
        turn = 0.3 + 0.5 * math.sin(2.0 * math.pi * step / SLIDE)
        document.set_turn(turn)
        handle = QPointF(slider.place_of(turn), 18.0)
        yield _shot(window, QPointF(slider.mapTo(window, handle.toPoint())))


def _shot(window: MainWindow, pointer: QPointF) -> QImage:
    QApplication.processEvents()
    image = window.grab().toImage()
    painter = QPainter(image)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(pen(LIGHT.on_accent, 2.0))
    painter.setBrush(colour(LIGHT.ink))
    painter.drawEllipse(pointer, 6.0, 6.0)
    painter.end()
    return image.scaledToWidth(SHOWN, Qt.TransformationMode.SmoothTransformation)


def main() -> int:
    """Write the picture; 1 where it is too large."""
    application = QApplication(sys.argv[:1])
    application.setStyle("Fusion")
    with tempfile.TemporaryDirectory() as folder:
        os.environ["AXLEWRIGHT_HOME"] = folder
        document = Document(sample_design("marsh_scout_six"))
        window = MainWindow(document, Settings(appearance="light", welcome_dismissed=True))
        window.resize(WIDE, TALL)
        window.show()
        document.select(references_to("wheel", {0}))
        window.canvas.setFocus()
        QApplication.processEvents()
        window.canvas.fit()
        window.canvas.zoom(0.9)
        names = []
        for number, image in enumerate(frames(window)):
            names.append(f"{folder}/{number:03}.png")
            image.save(names[-1])
        document.close()
        words = ["convert", "-delay", str(DELAY_CS), "-loop", "0", *names]
        subprocess.run(
            [*words, "+dither", "-fuzz", "2%", "-colors", "48", "-layers", "Optimize", str(PLACE)], check=True
        )
        window.hide()
    size = PLACE.stat().st_size
    print(f"{PLACE.name}: {len(names)} pictures, {size} bytes")
    return 0 if size <= MOST_BYTES else 1


if __name__ == "__main__":
    sys.exit(main())
