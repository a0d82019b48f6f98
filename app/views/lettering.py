"""Text over the marks of the plan: letters with a rim in the colour of the paper, and no plate below them.

To stroke the rim of a text takes a hundred times as long as to draw an image of it, so images are
kept. Numbers, which change at each step of a drag, are put together from the rims of their characters.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import lru_cache
from typing import Literal

from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import QFont, QFontMetricsF, QImage, QPaintEngine, QPainter, QPainterPath, QPen

from app.theme import colour, sized

Style = Literal["name", "bold", "small", "small bold"]
RIM_PX = 2.0
"""How far the rim reaches beyond the letters [px]."""
_SPARE_PX = 3.0
"""Free border of an image, for the rim and what leans out of its box [px]."""
_KEPT_FONTS = 8


class Lettering:
    """The fonts of the texts on the plan, how large texts are in them, and how they are drawn.

    Made by `lettering`, which keeps it.
    """

    def __init__(self, font: QFont, ratio: float) -> None:
        small = sized(font, "small")
        bold, small_bold = QFont(font), QFont(small)
        for heavy in (bold, small_bold):
            heavy.setWeight(QFont.Weight.DemiBold)
        self._fonts: dict[Style, QFont] = {
            "name": QFont(font),
            "bold": bold,
            "small": small,
            "small bold": small_bold,
        }
        self._metrics = {style: QFontMetricsF(font) for style, font in self._fonts.items()}
        self._ratio = ratio
        self.heights: dict[Style, float] = {s: math.ceil(m.height()) for s, m in self._metrics.items()}
        """Height of a line [px]."""
        # Kept for this object alone: a cache of the class would keep each object for ever.
        self.width: Callable[[str, Style], float] = lru_cache(maxsize=4096)(self._width)
        """Width of a text in a style [px]."""
        self.elided: Callable[[str, Style, float], str] = lru_cache(maxsize=256)(self._elided)
        """A text with its middle left out where it is wider than a width [px]."""
        self._image = lru_cache(maxsize=512)(self._make_image)
        self._rim = lru_cache(maxsize=256)(self._make_rim)

    def _width(self, text: str, style: Style) -> float:
        return math.ceil(self._metrics[style].horizontalAdvance(text))

    def _elided(self, text: str, style: Style, wide: float) -> str:
        return self._metrics[style].elidedText(text, Qt.TextElideMode.ElideMiddle, wide)

    def named(self, text: str, style: Style, wide: float) -> str:
        """A name for a place of a width [px], cut short to half of it at most: "l…o" tells nothing."""
        cut = self.elided(text, style, wide)
        return cut if 2 * len(cut) >= len(text) else ""

    def draw(
        self,
        painter: QPainter,
        text: str,
        style: Style,
        at: tuple[float, float],
        colours: tuple[str, str],
    ) -> None:
        """Draw a text whose box begins at a pixel, in the colours of its letters and of its rim."""
        if painter.paintEngine().type() != QPaintEngine.Type.Raster:
            self._draw_as_text(painter, text, style, at, colours)
            return
        x, y = (round((p - _SPARE_PX) * self._ratio) / self._ratio for p in at)
        painter.drawImage(QPointF(x, y), self._image(text, style, *colours))

    def _draw_as_text(
        self,
        painter: QPainter,
        text: str,
        style: Style,
        at: tuple[float, float],
        colours: tuple[str, str],
    ) -> None:
        """Draw a text as text on the outline of its rim, for a drawing that is worked on elsewhere."""
        baseline = at[1] + self._metrics[style].ascent()
        self._stroke_rim(painter, text, style, (at[0], baseline), colours[1])
        before = painter.font()
        painter.setFont(self._fonts[style])
        painter.setPen(colour(colours[0]))
        painter.drawText(QPointF(at[0], baseline), text)
        painter.setFont(before)

    def _stroke_rim(
        self, painter: QPainter, text: str, style: Style, at: tuple[float, float], rim: str
    ) -> None:
        """Stroke the rim of a text that begins at a place on its baseline."""
        path = QPainterPath()
        path.addText(*at, self._fonts[style], text)
        painter.strokePath(path, _rim_pen(rim))

    def _blank(self, wide: float, style: Style) -> QImage:
        """A clear image for a text of a width, with its border."""
        ratio, tall = self._ratio, self.heights[style]
        image = QImage(
            math.ceil((wide + 2 * _SPARE_PX) * ratio),
            math.ceil((tall + 2 * _SPARE_PX) * ratio),
            QImage.Format.Format_ARGB32_Premultiplied,
        )
        image.setDevicePixelRatio(ratio)
        image.fill(Qt.GlobalColor.transparent)
        return image

    def _make_image(self, text: str, style: Style, tone: str, rim: str) -> QImage:
        """A text with its rim; an image and not a pixmap, since it may outlive the application."""
        image = self._blank(self.width(text, style), style)
        baseline = _SPARE_PX + self._metrics[style].ascent()
        painter = QPainter(image)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setFont(self._fonts[style])
        if style == "small" and any(letter.isdigit() for letter in text) and text.isprintable():
            x = 0.0
            for letter in text:
                left = round(x * self._ratio) / self._ratio
                painter.drawImage(QPointF(left, 0.0), self._rim(letter, style, rim))
                x += self._metrics[style].horizontalAdvance(letter)
        else:
            self._stroke_rim(painter, text, style, (_SPARE_PX, baseline), rim)
        painter.setPen(colour(tone))
        painter.drawText(QPointF(_SPARE_PX, baseline), text)
        painter.end()
        return image

    def _make_rim(self, letter: str, style: Style, rim: str) -> QImage:
        """The rim of one character."""
        image = self._blank(self.width(letter, style), style)
        baseline = _SPARE_PX + self._metrics[style].ascent()
        painter = QPainter(image)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        self._stroke_rim(painter, letter, style, (_SPARE_PX, baseline), rim)
        painter.end()
        return image


@lru_cache(maxsize=8)
def _rim_pen(rim: str) -> QPen:
    made = QPen(colour(rim), 2 * RIM_PX)
    made.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
    return made


_known: dict[tuple[str, float], Lettering] = {}


def lettering(font: QFont, ratio: float = 1.0) -> Lettering:
    """The lettering of a font at so many device pixels for a pixel, the one of before where it is known."""
    key = (font.key(), ratio)
    found = _known.get(key)
    if found is None:
        while len(_known) >= _KEPT_FONTS:
            _known.pop(next(iter(_known)))
        found = _known[key] = Lettering(font, ratio)
    return found
