"""Make the pictures of the help from the program's own window: ``python -m tests.pictures``.

They are made without a screen, from the samples, in light colours. Run it again where the window has
changed, and look at each picture before it is kept. ``python -m tests.pictures FOLDER`` writes them
somewhere else.
"""

from __future__ import annotations

import os
import sys
import tempfile
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

import numpy as np
from PySide6.QtCore import QBuffer, QByteArray, QIODevice, Qt
from PySide6.QtGui import QImage, QImageWriter, QPainter
from PySide6.QtWidgets import QApplication, QComboBox

from app.design import driving_edits
from app.design.references import references_to
from app.design.samples import sample_design
from app.dialogs.controller_export import ControllerExportDialog
from app.document import Document
from app.settings import Settings
from app.theme import LIGHT, apply_appearance, colour
from app.window.main_window import MainWindow
from app.window.start_page import StartPage
from geometry.driving.ready_courses import radius_of_eight
from geometry.model.driving import Move, Script

PLACE = Path(__file__).parents[1] / "app" / "help"
WIDE = 680
"""Most that a picture is wide, so that the page needs no scrolling sideways [px]."""


def window_with(
    sample: str,
    *,
    turn: float,
    panel: str,
    select: int | None = None,
    size: tuple[int, int] = (1024, 640),
    before: Callable[[MainWindow], None] = lambda _window: None,
    **preferences: Any,
) -> QImage:
    """The window as it shows one sample, with one panel in sight, after what is done `before`."""
    document = Document(sample_design(sample))
    window = MainWindow(document, Settings(appearance="light", welcome_dismissed=True, **preferences))
    window.resize(*size)
    window.show()
    document.select(references_to("wheel", set() if select is None else {select}))
    document.set_turn(turn)
    window.go_to(panel)
    for box in window.panels[panel].findChildren(QComboBox):
        box.setCurrentIndex(max(box.findText("Drag", Qt.MatchFlag.MatchStartsWith), box.currentIndex()))
    window.canvas.fit()
    before(window)
    settle()
    focus = window.focusWidget()
    if focus is not None:
        focus.clearFocus()
    settle()
    image = window.grab().toImage()
    document.close()  # before the window, which else asks
    window.hide()
    window.deleteLater()
    settle()
    return image


def settle() -> None:
    """Let all that waits happen."""
    for _ in range(20):
        QApplication.processEvents()


def _collision_in_sight(window: MainWindow) -> None:
    """Look for what collides, and have the section on parts at the head of the panel."""
    window.fit_watch.look()
    settle()
    window.middle.side.area.verticalScrollBar().setValue(window.sections["parts"].y())


def _driven(window: MainWindow) -> None:
    """Drive a figure of eight about two posts, and stop on its second ring."""
    design = window.document.design
    radius = radius_of_eight(design)
    rings = [
        Move(by="radius", radius_mm=side * radius, speed=1.0, until="heading", amount=360.0)
        for side in (1, -1)
    ]
    script = Script(name="figure of eight", moves=tuple(rings))
    window.document.edit("Add a script", lambda d: driving_edits.add_script(d, script))
    session = window.middle.session
    session.choose(course="figure of eight", script=script.name)
    session.play()
    while session.state == "preparing":
        settle()
    session.pause()
    if session.shown is not None:
        session.seek(round(0.85 * session.shown.steps))
    window.middle.drive.fit()


def _numbers() -> QImage:
    apply_appearance("light")
    page = StartPage(Settings())
    page.resize(1024, 672)
    page.show()
    while not all(tile.known for tile in page.samples):
        settle()
    settle()
    image = page.grab().toImage()
    page.hide()
    page.deleteLater()
    settle()
    return image


def _build() -> QImage:
    dialog = ControllerExportDialog(
        None, sample_design("marsh_scout_motors"), "micropython", lambda *_: False
    )
    dialog.resize(1000, 640)
    dialog.show()
    while dialog.working:
        settle()
    settle()
    image = dialog.grab().toImage()
    dialog.done(0)
    return image


PICTURES: dict[str, Callable[[], QImage]] = {
    "robot-1-numbers.png": _numbers,
    "robot-2-window.png": partial(window_with, "marsh_scout_six", turn=0.3, panel="wheel", select=0),
    "robot-3-turn.png": partial(window_with, "marsh_scout_six", turn=0.62, panel="wheels"),
    "robot-4-motors.png": partial(window_with, "marsh_scout_motors", turn=0.3, panel="motors"),
    "robot-5-check.png": partial(window_with, "misbuilt_scout", turn=0.3, panel="plot", size=(1024, 720)),
    "robot-6-build.png": _build,
    "robot-7-fit.png": partial(
        window_with, "crowded_scout", turn=0.0, panel="parts", before=_collision_in_sight, elevation="side"
    ),
    "robot-8-drive.png": partial(window_with, "marsh_scout_motors", turn=0.0, panel="drive", before=_driven),
}
"""Every picture of the page of help by its name."""
README = "window-1280x800-light.png"
"""The picture of the README; larger than those of the help."""


def readme_picture() -> QImage:
    """The window in the stage Check, with a chassis that drags."""
    return window_with("misbuilt_scout", turn=0.3, panel="this turn", select=2, size=(1280, 800))


def framed(image: QImage) -> QImage:
    """A picture no wider than the page, with a line round it."""
    if image.width() > WIDE:
        image = image.scaledToWidth(WIDE, Qt.TransformationMode.SmoothTransformation)
    image = image.convertToFormat(QImage.Format.Format_RGB32)
    painter = QPainter(image)
    painter.setPen(colour(LIGHT.line))
    painter.drawRect(image.rect().adjusted(0, 0, -1, -1))
    painter.end()
    return image


def few_colours(image: QImage) -> QImage:
    """The same picture by its 256 most needed colours: those that stand in large areas stay as they are."""
    raw = np.frombuffer(image.constBits(), np.uint32).reshape(image.height(), -1)[:, : image.width()]
    pixels = np.stack([raw >> shift & 255 for shift in (16, 8, 0)], axis=-1).reshape(-1, 3).astype(int)
    rough, counts = np.unique(pixels, axis=0, return_counts=True)
    kept = rough[np.argsort(-counts)][:128]
    # The rest is shared out over the cells of a coarse cube, the fullest first.
    _cells, at = np.unique(rough // 24, axis=0, return_inverse=True)
    weight = np.bincount(at, counts)
    middle = np.stack([np.bincount(at, counts * rough[:, k]) / weight for k in range(3)], axis=-1)
    kept = np.concatenate([kept, middle[np.argsort(-weight)][: 256 - len(kept)].round().astype(int)])
    nearest = np.array([np.abs(kept - one).sum(axis=1).argmin() for one in rough])
    order = {tuple(one): n for n, one in enumerate(rough.tolist())}
    index = nearest[[order[tuple(one)] for one in pixels.tolist()]].astype(np.uint8)
    made = QImage(image.size(), QImage.Format.Format_Indexed8)
    made.setColorTable([0xFF000000 | r << 16 | g << 8 | b for r, g, b in kept.tolist()])
    rows = index.reshape(image.height(), image.width())
    lines = np.frombuffer(made.bits(), np.uint8).reshape(image.height(), made.bytesPerLine())
    lines[:, : image.width()] = rows
    return made


def png(image: QImage) -> bytes:
    """A picture as the bytes of a small file, by as many colours as one byte can tell."""
    data = QByteArray()
    buffer = QBuffer(data)
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    writer = QImageWriter(buffer, QByteArray(b"png"))
    writer.setCompression(100)
    writer.write(few_colours(image))
    return bytes(data.data())


def main(words: list[str]) -> int:
    """Make all of them; those that are named by the page and no others."""
    place = Path(words[0]) if words else PLACE
    with tempfile.TemporaryDirectory() as home:
        os.environ["AXLEWRIGHT_HOME"] = home
        application = QApplication.instance() or QApplication(sys.argv[:1])
        application.setStyle("Fusion")  # type: ignore[attr-defined]
        place.mkdir(parents=True, exist_ok=True)
        for name, make in PICTURES.items():
            data = png(framed(make()))
            (place / name).write_bytes(data)
            print(f"{name}: {len(data) / 1000:.0f} kB")
        (place / README).write_bytes(png(readme_picture()))
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
