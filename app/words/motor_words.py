"""What a motor holds, in words: names apart from ratios, whatever a wheel is called."""

from __future__ import annotations

import re
from collections.abc import Iterable

from app.units import show_gearing
from geometry.model.motors import Gearing

_MINUS = "\u2212"
# Where a name could be read on into the ratio behind it, or as two wheels.
_MISLEADING = re.compile(r"[×,;“”]|[xX*:]\s*[-+\u2212]?\s*[0-9]")


def ratio_words(gearing: Gearing) -> str:
    """How a wheel is geared: a ratio, two numbers or the teeth of a train, as typed but with a true minus.

    Examples
    --------
    >>> ratio_words(Gearing(wheel="left", ratio=-0.5)), ratio_words(Gearing(wheel="left", train=((12, 36),)))
    ('−0.5', '12-36')
    >>> ratio_words(Gearing(wheel="left", proportion=(12.0, 36.0)))
    '12:36'
    """
    text = show_gearing(gearing.ratio, gearing.train, gearing.proportion)
    return text if gearing.train else text.replace("-", _MINUS)


def held_parts(gearing: Gearing) -> tuple[str, str]:
    """The wheel and its ratio as two texts, for what shows them apart.

    Examples
    --------
    >>> held_parts(Gearing(wheel="front left", ratio=1.0))
    ('front left', '× 1')
    >>> held_parts(Gearing(wheel="wheel 1 x 1", train=((12, 20, 36), (10, 40))))
    ('“wheel 1 x 1”', '× (12-20-36, 10-40)')
    """
    name = f"“{gearing.wheel}”" if _MISLEADING.search(gearing.wheel) else gearing.wheel
    ratio = ratio_words(gearing)
    return name, f"× ({ratio})" if "," in ratio else f"× {ratio}"


def held_words(gearings: Iterable[Gearing]) -> str:
    """All that a motor holds.

    Examples
    --------
    >>> held_words([Gearing(wheel="front left", ratio=1.0), Gearing(wheel="rear left", ratio=-1.0)])
    'front left × 1, rear left × −1'
    """
    return ", ".join(" ".join(held_parts(gearing)) for gearing in gearings)
