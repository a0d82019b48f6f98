"""Drawings painted by Qt: for the writer of PDF, for print, and for looking at pages in the window.

With `pdf` the one module of its room that knows Qt, which is imported once something is painted. The font
is that of `app.drawing.lettering` and no other: it is given a family name of its own, since Qt may take a
system's font for one of the same name.
"""

from __future__ import annotations

import math
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

from app import qt_check
from app.controller.export_error import ExportError
from app.drawing.elements import (
    Arc,
    ArcEdge,
    Circle,
    Dimension,
    Drawing,
    Element,
    Line,
    Outline,
    Text,
    arc_edge,
    edges,
    on_circle,
    parts_of,
)
from app.drawing.layers import LAYERS, Layer
from app.drawing.lettering import FAMILY, font_bytes, printable
from app.drawing.pages import Page

if TYPE_CHECKING:
    from PySide6.QtCore import QMessageLogContext, QtMsgType
    from PySide6.QtGui import QFont, QPainter, QPainterPath, QPen

_OUR_FAMILY = "Paper Sheet"
"""As long as `FAMILY`: it is put in its place in the font."""
_EM = 1000
"""Pixels of the font, which is then scaled: Qt takes whole numbers only."""
_LARGEST_PIECE = 0.25 * math.pi
"""Of an arc that is drawn by one curve [rad]; the curve is then within 4e-6 of the radius."""


@contextmanager
def painting_ready() -> Iterator[QFont]:
    """Have what Qt needs to paint texts, with no screen, and the font to paint them with.

    Raises
    ------
    ExportError
        If Qt does not load here; says what lacks and how to get it.
    """
    lacking = qt_check.paper_trouble()
    if lacking:
        raise ExportError(lacking)
    try:
        from PySide6.QtGui import QGuiApplication
    except ImportError as error:
        raise ExportError(qt_check.paper_import_trouble(error)) from error

    if QGuiApplication.instance() is not None:
        yield _font()
        return
    from PySide6.QtCore import qInstallMessageHandler

    before = qInstallMessageHandler(_only_fatal)
    made = QGuiApplication(["axlewright", "-platform", "offscreen"])
    try:
        yield _font()
    finally:
        made.shutdown()
        qInstallMessageHandler(before)


def _only_fatal(kind: QtMsgType, context: QMessageLogContext, message: str) -> None:  # noqa: ARG001 - Qt's
    """Say what ends the process; the system's fonts and its locale do not matter to paper."""
    if kind.name == "QtFatalMsg":
        sys.stderr.write(f"{message}\n")


def _font() -> QFont:
    from PySide6.QtCore import QByteArray
    from PySide6.QtGui import QFont, QFontDatabase

    if _OUR_FAMILY not in QFontDatabase.families():
        renamed = font_bytes()
        for code in ("utf-16-be", "ascii"):
            renamed = renamed.replace(FAMILY.encode(code), _OUR_FAMILY.encode(code))
        QFontDatabase.addApplicationFontFromData(QByteArray(renamed))
    font = QFont(_OUR_FAMILY)
    font.setPixelSize(_EM)
    font.setKerning(False)
    font.setFeature(QFont.Tag("liga"), 0)  # copied text would have one sign for two letters
    font.setHintingPreference(QFont.HintingPreference.PreferNoHinting)
    font.setStyleStrategy(QFont.StyleStrategy.NoFontMerging)
    return font


def paint_page(painter: QPainter, page: Page, font: QFont) -> None:
    """Paint a page on a painter whose unit is a millimetre, y up, its origin the page's lower left corner."""
    from PySide6.QtCore import QRectF

    if page.window is not None:
        left, low, right, high = page.window.clip
        painter.save()
        painter.setClipRect(QRectF(left, low, right - left, high - low))
        paint_drawing(painter, page.window.drawing, font)
        painter.restore()
    paint_drawing(painter, page.drawing, font)


def paint_drawing(painter: QPainter, drawing: Drawing, font: QFont) -> None:
    """Paint a drawing, as `paint_page` does."""
    for element in drawing.elements:
        for part in parts_of(element) if isinstance(element, Dimension) else (element,):
            _paint(painter, part, font)


def _paint(painter: QPainter, element: Element, font: QFont) -> None:
    from PySide6.QtCore import Qt
    from PySide6.QtGui import QColor

    layer = LAYERS[element.role]
    if isinstance(element, Text):
        _paint_text(painter, element, font, layer)
        return
    filled = isinstance(element, Circle | Outline) and element.filled
    painter.setBrush(QColor(layer.ground) if filled else Qt.BrushStyle.NoBrush)
    painter.setPen(_pen(layer))
    painter.drawPath(_path(element))


def _pen(layer: Layer) -> QPen:
    from PySide6.QtCore import Qt
    from PySide6.QtGui import QColor, QPen

    pen = QPen(QColor(layer.ink))
    pen.setWidthF(layer.width)
    pen.setCapStyle(Qt.PenCapStyle.FlatCap)  # the ends of a line are those of what it stands for
    pen.setJoinStyle(Qt.PenJoinStyle.MiterJoin)
    if layer.dash:
        pen.setDashPattern([length / layer.width for length in layer.dash])
    return pen


def _path(element: Element) -> QPainterPath:
    from PySide6.QtGui import QPainterPath

    path = QPainterPath()
    match element:
        case Line():
            path.moveTo(*element.start)
            path.lineTo(*element.end)
        case Arc():
            path.moveTo(*on_circle(element.centre, element.radius, element.start))
            _add_arc(path, ArcEdge(element.centre, element.radius, element.start, element.sweep))
        case Circle():
            path.moveTo(*on_circle(element.centre, element.radius, 0.0))
            _add_arc(path, ArcEdge(element.centre, element.radius, 0.0, 2.0 * math.pi))
            path.closeSubpath()
        case Outline() if element.corners:
            path.moveTo(*element.corners[0][:2])
            for here, there in edges(element):
                if here.bulge:
                    _add_arc(path, arc_edge(here, there))
                else:
                    path.lineTo(*there[:2])
            if element.closed:
                path.closeSubpath()
    return path


def _add_arc(path: QPainterPath, arc: ArcEdge) -> None:
    """Go along an arc in pieces; a curve keeps to it best with handles of 4/3 tan(a quarter of its angle)."""
    count = max(1, math.ceil(abs(arc.sweep) / _LARGEST_PIECE - 1e-9))
    piece = arc.sweep / count
    handle = 4.0 / 3.0 * math.tan(0.25 * piece) * arc.radius
    for k in range(count):
        a, b = arc.start + k * piece, arc.start + (k + 1) * piece
        (ax, ay), (bx, by) = on_circle(arc.centre, arc.radius, a), on_circle(arc.centre, arc.radius, b)
        path.cubicTo(
            ax - handle * math.sin(a),
            ay + handle * math.cos(a),
            bx + handle * math.sin(b),
            by - handle * math.cos(b),
            bx,
            by,
        )


def _paint_text(painter: QPainter, text: Text, font: QFont, layer: Layer) -> None:
    from PySide6.QtCore import QPointF
    from PySide6.QtGui import QColor, QFontMetricsF

    shown = printable(text.text)
    share = {"left": 0.0, "middle": -0.5, "right": -1.0}[text.align]
    painter.save()
    painter.setPen(QColor(layer.ink))
    painter.setFont(font)
    painter.translate(*text.place)
    painter.rotate(math.degrees(text.turn))
    painter.scale(text.height / _EM, -text.height / _EM)
    painter.drawText(QPointF(share * QFontMetricsF(font).horizontalAdvance(shown), 0.0), shown)
    painter.restore()
