"""Numbers, and comments that no name can break out of, for files of XML."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from collections.abc import Sequence
from typing import Any

from app.export.header import shown_plain


def comment(text: str) -> ET.Element[Any]:
    """A comment; two hyphens cannot stand in one, so that a blank parts them.

    Examples
    --------
    >>> ET.tostring(comment("a --> b--"), encoding="unicode")
    '<!-- a - -> b- - -->'
    """
    plain = shown_plain(text)
    while "--" in plain:
        plain = plain.replace("--", "- -")
    return ET.Comment(f" {plain} ")


def number(value: float) -> str:
    """A number with twelve digits, never a negative zero.

    Examples
    --------
    >>> number(0.1 + 0.2), number(-0.0), number(1e-9)
    ('0.3', '0', '1e-09')
    """
    return format(value + 0.0, ".12g")


def metres(place_mm: Sequence[float]) -> str:
    """Lengths of a design in metres, with blanks between; noise below a billionth of one is none.

    Examples
    --------
    >>> metres((1500.0, -0.25, 6e-15))
    '1.5 -0.00025 0'
    """
    return " ".join(number(round(0.001 * float(value), 12)) for value in place_mm)
