"""The one font of all paper, and how wide its texts are; no font of the system is asked."""

from __future__ import annotations

import io
from functools import lru_cache
from importlib.resources import files
from typing import NamedTuple

FAMILY = "DejaVu Sans"


def font_bytes() -> bytes:
    """The font as the bytes of a TrueType file."""
    return (files("app.drawing") / "font" / "DejaVuSans.ttf").read_bytes()


class _Metrics(NamedTuple):
    per_em: int
    glyphs: dict[int, str]
    """Name of the glyph of a character."""
    advances: dict[str, int]


@lru_cache(maxsize=1)
def _metrics() -> _Metrics:
    from fontTools.ttLib import TTFont  # late: 0.1 s that a start of the window need not wait for

    with TTFont(io.BytesIO(font_bytes()), lazy=True) as font:
        advances = {name: advance for name, (advance, _) in font["hmtx"].metrics.items()}
        return _Metrics(font["head"].unitsPerEm, dict(font.getBestCmap()), advances)


@lru_cache(maxsize=4096)
def text_width(text: str, height: float) -> float:
    """How wide a text is [mm], by the advances of its characters (kerning aside).

    Parameters
    ----------
    text : str
        As it is printed: see `printable`.
    height : float
        Of the font [mm].
    """
    metrics = _metrics()
    lacking = metrics.advances[".notdef"]
    units = sum(
        metrics.advances[metrics.glyphs[ord(c)]] if ord(c) in metrics.glyphs else lacking for c in text
    )
    return height * units / metrics.per_em


def printable(text: str) -> str:
    """A text as it can be printed: each character that the font lacks as U+XXXX.

    Examples
    --------
    >>> printable("reed 潮")
    'reed U+6F6E'
    """
    glyphs = _metrics().glyphs
    return "".join(c if ord(c) in glyphs and c.isprintable() else f"U+{ord(c):04X}" for c in text)
