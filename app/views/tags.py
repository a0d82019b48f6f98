"""Short texts beside the marks of the turn centre, and how the lines of any text are drawn."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

from PySide6.QtCore import QLineF, QRectF
from PySide6.QtGui import QPainter

from app.theme import pen
from app.views.lettering import RIM_PX, Lettering, Style, lettering
from app.views.placing import PLACES, Piece, Spot
from app.views.scene import Scene

# What each place costs where a text had better stand below its mark, and above it.
_BELOW = (10.0, 14.0, 12.0, 10.0, 14.0, 12.0, 0.0, 4.0)
_ABOVE = (10.0, 12.0, 14.0, 10.0, 12.0, 14.0, 4.0, 0.0)
_GAP_PX = 3.0
_FREE_END_PX = 3.0


class Line(NamedTuple):
    """One line of a text."""

    text: str
    style: Style
    tone: str


@dataclass(frozen=True)
class Tag:
    """A text that belongs to a mark."""

    text: str
    at: tuple[float, float]
    """Middle of the mark [px]."""
    reach: float
    """Half the size of the mark, kept free of other texts [px]."""
    tone: str
    above: bool = False
    """Whether it stands above its mark where both places are free, else below."""
    needed: bool = False
    """Whether it is drawn even where no place is free."""

    @property
    def mark(self) -> QRectF:
        """Where the mark itself is."""
        x, y = self.at
        return QRectF(x - self.reach, y - self.reach, 2 * self.reach, 2 * self.reach)

    @property
    def lines(self) -> tuple[Line, ...]:
        """What it is, and below that what there is to say of it."""
        what, _, more = self.text.replace(": ", ", ").partition(", ")
        first = Line(what, "small bold", self.tone)
        return (first, Line(more, "small", self.tone)) if more else (first,)


def size_of(lines: Sequence[Line], letters: Lettering) -> tuple[float, float]:
    """Width and height of lines with their rim [px]."""
    wide = max(letters.width(line.text, line.style) for line in lines)
    tall = sum(letters.heights[line.style] for line in lines)
    return wide + 2 * RIM_PX, tall + 2 * RIM_PX


def piece_of(key: str, tag: Tag, letters: Lettering) -> Piece:
    """A tag, to be placed; the line below its name goes first where room is short."""
    lines = tag.lines
    return Piece(
        key=key,
        at=tag.at,
        reach=(tag.reach + _GAP_PX,) * len(PLACES),
        sizes=tuple(size_of(lines[:count], letters) for count in range(len(lines), 0, -1)),
        costs=_ABOVE if tag.above else _BELOW,
        name=len(lines) - 1,
        first=True,
        needed=tag.needed,
        held=True,
    )


def plate_of(spot: Spot) -> QRectF:
    """Where a text stands [px]."""
    left, top, right, bottom = spot.box
    return QRectF(left, top, right - left, bottom - top)


def draw_tag(painter: QPainter, scene: Scene, tag: Tag, spot: Spot) -> None:
    """Draw the lines of a tag that have room."""
    if tag.reach:
        draw_leader(painter, spot, tag.reach, tag.tone)
    draw_lines(painter, scene, tag.lines[: len(tag.lines) - spot.size], spot)


def draw_lines(painter: QPainter, scene: Scene, lines: Sequence[Line], spot: Spot) -> None:
    """Draw lines where they stand, towards their mark."""
    letters = lettering(scene.font, scene.ratio)
    left, top, right, _ = spot.box
    y, room = top + RIM_PX, right - left - 2 * RIM_PX
    for line in lines:
        spare = room - letters.width(line.text, line.style)
        x = left + RIM_PX + spare * 0.5 * (1 - spot.side)
        letters.draw(painter, line.text, line.style, (x, y), (line.tone, scene.theme.paper))
        y += letters.heights[line.style]


def draw_leader(painter: QPainter, spot: Spot, reach: float, tone: str) -> None:
    """Draw a thin line from a text that stands away from its mark to the edge of the mark."""
    if not spot.far:
        return
    (x, y), (left, top, right, bottom) = spot.piece.at, spot.box
    dx, dy = min(max(x, left), right) - x, min(max(y, top), bottom) - y
    away = math.hypot(dx, dy)
    if away > reach + _FREE_END_PX:
        share = (reach + _FREE_END_PX) / away
        painter.setPen(pen(tone, 1.0))
        painter.drawLine(QLineF(x + share * dx, y + share * dy, x + dx, y + dy))
