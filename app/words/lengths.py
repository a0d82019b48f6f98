"""Lengths within texts that are written once, in mm, turned to the person's unit."""

from __future__ import annotations

import re

from app.units import LengthUnit, show_length

_LENGTH = re.compile(
    r"(?:(?P<low>-?\d[\d ]*(?:\.\d+)?)(?P<to> to ))?(?P<high>-?\d[\d ]*(?:\.\d+)?) mm\b(?! per)"
)


def lengths_in(text: str, unit: LengthUnit) -> str:
    """Write the lengths of a text, such as a range in a tooltip, in another unit.

    Examples
    --------
    >>> lengths_in("Kingpin. -10 000 to 10 000 mm.", "inch"), lengths_in("At least 5 mm", "mm")
    ('Kingpin. -393.701 to 393.701 in.', 'At least 5 mm')
    """
    return text if unit == "mm" else _LENGTH.sub(lambda found: _turned(found, unit), text)


def _turned(found: re.Match[str], unit: LengthUnit) -> str:
    high = show_length(_value(found["high"]), unit)
    if found["low"] is None:
        return high
    return f"{show_length(_value(found['low']), unit, suffix=False)} to {high}"


def _value(text: str) -> float:
    return float(text.replace(" ", ""))
