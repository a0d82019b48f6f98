"""Drawings painted by Qt, which is imported once something is painted.

The font is that of `app.drawing.lettering` and no other: it is given a family name of its own, since Qt may
take a system's font for one of the same name.
"""

from __future__ import annotations

import math
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

from app.drawing.elements import (
    Arc,
    ArcEdge,
    Circle,
    Drawing,
    Line,
    Outline,
    Text,
    arc_edge,
    edges,
    on_circle,
)
from app.drawing.layers import LAYERS, Layer
from app.drawing.lettering import FAMILY, font_bytes, printable, text_width
from app.export.drawing_parts import Part, parts
from app.units import degrees

if TYPE_CHECKING:
    from PySide6.QtCore import QMessageLogContext, QtMsgType
    from PySide6.QtGui import QFont, QPainter, QPainterPath, QPen

_OUR_FAMILY = "Paper Sheet"
"""As long as `FAMILY`: it is put in its place in the font."""
_EM = 1000
"""Pixels of the font, which is then scaled: Qt takes whole numbers only."""
_LONGEST_PIECE = 0.25 * math.pi
"""Of an arc that is painted by one curve [rad]; the curve is then within 4e-6 of the radius."""


@contextmanager
def painting_ready() -> Iterator[QFont]:
    """Have what Qt needs to paint texts, with no screen, and the font to paint them with.

    Raises
    ------
    ImportError
        If Qt does not load here.
    """
    from PySide6.QtCore import qInstallMessageHandler
    from PySide6.QtGui import QGuiApplication

    if QGuiApplication.instance() is not None:
        yield _font()
        return
    # Without an application, a text ends the process.
    before = qInstallMessageHandler(_only_fatal)
    made = QGuiApplication(["axlewright", "-platform", "offscreen"])
    try:
        yield _font()
    finally:
        made.shutdown()
        qInstallMessageHandler(before)


def _only_fatal(kind: QtMsgType, context: QMessageLogContext, message: str) -> None:  # noqa: ARG001 - Qt's
    """Say what ends the process; that the system has no fonts, or another locale, does not matter here."""
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
    font.setFeature(QFont.Tag("liga"), 0)  # as wide as `text_width` says
    font.setHintingPreference(QFont.HintingPreference.PreferNoHinting)
    font.setStyleStrategy(QFont.StyleStrategy.NoFontMerging)
    return font


def paint_drawing(painter: QPainter, drawing: Drawing, font: QFont) -> None:
    """Paint a drawing on a painter whose unit is a millimetre, y up."""
    for part in parts(drawing.elements):
        _paint(painter, part, font)


def _paint(painter: QPainter, part: Part, font: QFont) -> None:
    from PySide6.QtCore import Qt
    from PySide6.QtGui import QColor

    layer = LAYERS[part.role]
    if isinstance(part, Text):
        _paint_text(painter, part, font, layer)
        return
    filled = isinstance(part, Circle | Outline) and part.filled
    painter.setBrush(QColor(layer.ground) if filled else Qt.BrushStyle.NoBrush)
    painter.setPen(_pen(layer))
    painter.drawPath(_path(part))


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


def _path(part: Line | Arc | Circle | Outline) -> QPainterPath:
    from PySide6.QtGui import QPainterPath

    path = QPainterPath()
    match part:
        case Line():
            path.moveTo(*part.start)
            path.lineTo(*part.end)
        case Arc():
            path.moveTo(*on_circle(part.centre, part.radius, part.start))
            _add_arc(path, ArcEdge(part.centre, part.radius, part.start, part.sweep))
        case Circle():
            path.moveTo(*on_circle(part.centre, part.radius, 0.0))
            _add_arc(path, ArcEdge(part.centre, part.radius, 0.0, -2.0 * math.pi))
            path.closeSubpath()
        case Outline():
            path.moveTo(*part.corners[0][:2])
            for here, there in edges(part):
                if here.bulge:
                    _add_arc(path, arc_edge(here, there))
                else:
                    path.lineTo(*there[:2])
            if part.closed:
                path.closeSubpath()
    return path


def _add_arc(path: QPainterPath, arc: ArcEdge) -> None:
    """Go along an arc in pieces; a curve keeps to it best with handles of 4/3 tan(a quarter of its angle)."""
    count = max(1, math.ceil(abs(arc.sweep) / _LONGEST_PIECE - 1e-9))
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
    from PySide6.QtGui import QColor

    shown = printable(text.text)
    share = {"left": 0.0, "middle": -0.5, "right": -1.0}[text.align]
    painter.save()
    painter.setPen(QColor(layer.ink))
    painter.setFont(font)
    painter.translate(*text.place)
    painter.rotate(degrees(text.turn))
    painter.scale(text.height / _EM, -text.height / _EM)
    painter.drawText(QPointF(share * text_width(shown, _EM), 0.0), shown)
    painter.restore()
