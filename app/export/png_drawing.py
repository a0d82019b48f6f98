"""A drawing as a picture in PNG, at a resolution that is chosen; Qt paints it."""

from __future__ import annotations

import math

from app.controller.export_error import ExportError
from app.drawing.elements import Drawing
from app.export.drawing_parts import Frame, frame_of
from app.export.painting import paint_drawing, painting_ready
from app.units import MM_PER_INCH

LEAST_DPI, MOST_DPI, USUAL_DPI = 50, 1200, 200
MOST_PIXELS = 100_000_000
"""Four bytes each while it is painted."""
_MM_PER_METRE = 1000.0


def render(drawing: Drawing, dpi: int | None = None) -> bytes:
    """Paint a drawing on white.

    Parameters
    ----------
    drawing : Drawing
        Of any size.
    dpi : int, optional
        Pixels for each inch of its full size, 50 to 1200; not given: 200, or as many as a picture can have.

    Raises
    ------
    ExportError
        If that is out of range, the picture would be too large, or there is nothing on the drawing.
    ImportError
        If Qt does not load here.
    """
    frame = frame_of(drawing)
    chosen = min(USUAL_DPI, _most_dpi(frame)) if dpi is None else _checked(dpi, frame)
    scale = chosen / MM_PER_INCH
    return _painted(drawing, frame, scale)


def _most_dpi(frame: Frame) -> float:
    """The resolution at which a picture has nearly as many pixels as it may."""
    return 0.999 * MM_PER_INCH * math.sqrt(MOST_PIXELS / (frame.width * frame.height))


def _checked(dpi: int, frame: Frame) -> int:
    if not LEAST_DPI <= dpi <= MOST_DPI:
        raise ExportError(f"the resolution must be from {LEAST_DPI} to {MOST_DPI} dpi (got {dpi})")
    across, up = (math.ceil(side * dpi / MM_PER_INCH) for side in (frame.width, frame.height))
    if across * up > MOST_PIXELS:
        most = math.floor(_most_dpi(frame))
        helps = (
            f"choose {most} or less" if most >= LEAST_DPI else "choose none, and it gets as many as it can"
        )
        raise ExportError(
            f"at {dpi} dpi the picture would have {across:,} by {up:,} pixels, and it may have "
            f"{MOST_PIXELS:,} in all; {helps}"
        )
    return dpi


def _painted(drawing: Drawing, frame: Frame, scale: float) -> bytes:
    """The bytes of the file; `scale` in pixels for a millimetre."""
    from PySide6.QtCore import QBuffer, QIODevice, Qt
    from PySide6.QtGui import QImage, QPainter

    with painting_ready() as font:
        size = math.ceil(frame.width * scale), math.ceil(frame.height * scale)
        image = QImage(*size, QImage.Format.Format_RGB32)
        if image.isNull():
            raise ExportError(
                f"there is no memory for a picture of {size[0]:,} by {size[1]:,} pixels; choose fewer dpi"
            )
        dots = round(scale * _MM_PER_METRE)
        image.setDotsPerMeterX(dots)
        image.setDotsPerMeterY(dots)
        image.fill(Qt.GlobalColor.white)
        painter = QPainter(image)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.scale(scale, -scale)
        painter.translate(-frame.left, -frame.low - frame.height)
        paint_drawing(painter, drawing, font)
        painter.end()
        buffer = QBuffer()
        buffer.open(QIODevice.OpenModeFlag.WriteOnly)
        image.save(buffer, "PNG")  # type: ignore[call-overload]
        return bytes(buffer.data().data())
