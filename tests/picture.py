"""What a picture shows: colours that occur in it."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
from PySide6.QtGui import QColor, QImage


def pixels(image: QImage) -> npt.NDArray[np.int_]:
    """Red, green, blue and opacity of each pixel, 0 to 255: rows, columns, 4."""
    plain = image.convertToFormat(QImage.Format.Format_RGBA8888)
    rows = np.frombuffer(plain.constBits(), np.uint8).reshape(plain.height(), plain.bytesPerLine())
    return rows[:, : 4 * plain.width()].reshape(plain.height(), plain.width(), 4).astype(int)


def shows(image: QImage, colour: str, *, least: int = 3, near: int = 12) -> bool:
    """Whether so many pixels have a colour, but for so much of each part."""
    shade = QColor(colour)
    wanted = np.array((shade.red(), shade.green(), shade.blue()))
    return int((np.abs(pixels(image)[..., :3] - wanted).max(axis=2) <= near).sum()) >= least
