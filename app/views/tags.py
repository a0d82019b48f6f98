"""Short texts on plates beside the marks of the turn centre, placed so that none covers another."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QFontMetricsF, QPainter

from app.theme import colour, pen
from app.views.camera import Camera
from app.views.scene import Scene

# Directions in which a text may stand beside its mark, x right and y down.
_BELOW, _ABOVE, _LEFT, _RIGHT = (0, 1), (0, -1), (-1, 0), (1, 0)
_AROUND = (_BELOW, _ABOVE, _LEFT, _RIGHT, (1, 1), (-1, 1), (1, -1), (-1, -1))
# Gaps between a mark and its text that are tried, the near ones first [px].
_GAPS = (4.0, 22.0, 42.0, 66.0, 94.0)
_EDGE = 4.0
"""Least distance between a plate and the edge of the canvas [px]."""


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


def place_tags(
    tags: Sequence[Tag], taken: Iterable[QRectF], camera: Camera, metrics: QFontMetricsF
) -> list[tuple[Tag, QRectF]]:
    """Find a plate for each tag that meets no other plate and no mark.

    Parameters
    ----------
    tags : sequence of Tag
        The most important first; one that finds no place is left out unless it is needed.
    taken : iterable of QRectF
        Plates that stand already [px].
    camera : Camera
        Size of the canvas.
    metrics : QFontMetricsF
        Of the font that they are drawn in.

    Returns
    -------
    list of (Tag, QRectF)
        Those that are drawn, each with its plate [px].
    """
    full = list(taken)
    marks = [tag.mark for tag in tags]
    placed = []
    for tag in tags:
        choices = list(_plates(tag, camera, metrics))
        overlaps = [_overlap(plate, [*full, *marks]) for plate in choices]
        least = min(overlaps)
        if least > 0 and not tag.needed:
            continue
        plate = choices[overlaps.index(least)]
        full.append(plate)
        placed.append((tag, plate))
    return placed


def _plates(tag: Tag, camera: Camera, metrics: QFontMetricsF) -> Iterator[QRectF]:
    """Places of a tag's plate within the canvas, the best first."""
    wide, tall = metrics.horizontalAdvance(tag.text) + 12, metrics.height() + 4
    around = (_ABOVE, _BELOW, *_AROUND[2:]) if tag.above else _AROUND
    for gap in _GAPS:
        for dx, dy in around:
            x = tag.at[0] + dx * (tag.reach + gap + 0.5 * wide) - 0.5 * wide
            y = tag.at[1] + dy * (tag.reach + gap + 0.5 * tall) - 0.5 * tall
            yield QRectF(
                min(max(x, _EDGE), max(camera.width - wide - _EDGE, _EDGE)),
                min(max(y, _EDGE), max(camera.height - tall - _EDGE, _EDGE)),
                wide,
                tall,
            )


def _overlap(plate: QRectF, others: list[QRectF]) -> float:
    """Area that a plate shares with others [px²]."""
    shared = (plate.intersected(other) for other in others if plate.intersects(other))
    return sum(part.width() * part.height() for part in shared)


def draw_tag(painter: QPainter, scene: Scene, tag: Tag, plate: QRectF) -> None:
    """Draw a text on its plate."""
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(colour(scene.theme.paper))
    painter.drawRoundedRect(plate, 4, 4)
    painter.setPen(pen(tag.tone))
    painter.drawText(plate, int(Qt.AlignmentFlag.AlignCenter), tag.text)
