"""Drag in the person's unit, and lengths and drags within texts that are written once, in mm."""

from __future__ import annotations

import re

from app.units import LengthUnit, decimals, show_length, show_number

_DRAG_UNITS: dict[LengthUnit, tuple[str, str]] = {
    "mm": ("mm per metre", "mm/m"),
    "inch": ("in per foot", "in/ft"),
}
_INCHES_IN_A_FOOT, _MM_IN_A_METRE = 12.0, 1000.0
# From here on a drag is told without decimals [mm per metre].
_COARSE_DRAG = 10.0

_NUMBER = r"-?\d[\d ]*(?:\.\d+)?"
_LENGTH = re.compile(rf"(?:(?P<low>{_NUMBER}) to )?(?P<high>{_NUMBER}) mm\b(?P<drag> per metre)?")


def lengths_in(text: str, unit: LengthUnit) -> str:
    """Write the lengths of a text, such as a range in a tooltip, in another unit.

    Examples
    --------
    >>> lengths_in("Kingpin. -10 000 to 10 000 mm.", "inch"), lengths_in("At least 5 mm", "mm")
    ('Kingpin. -393.701 to 393.701 in.', 'At least 5 mm')
    >>> lengths_in("It drags up to 524 mm per metre, and it is 12.7 mm wide.", "inch")
    'It drags up to 6.29 in per foot, and it is 0.5 in wide.'
    """
    return text if unit == "mm" else _LENGTH.sub(lambda found: _turned(found, unit), text)


def _turned(found: re.Match[str], unit: LengthUnit) -> str:
    if found["drag"]:
        return show_drag(_value(found["high"]), unit)
    high = show_length(_value(found["high"]), unit)
    if found["low"] is None:
        return high
    return f"{show_length(_value(found['low']), unit, suffix=False)} to {high}"


def _value(text: str) -> float:
    return float(text.replace(" ", ""))


def drag_unit(unit: LengthUnit, *, short: bool = False) -> str:
    """What drag and slip are told in; beside lengths in inches it is inches for each foot rolled."""
    return _DRAG_UNITS[unit][short]


def in_drag_unit(mm_per_m: float, unit: LengthUnit) -> float:
    """A drag in the person's unit, without rounding."""
    return mm_per_m if unit == "mm" else mm_per_m * _INCHES_IN_A_FOOT / _MM_IN_A_METRE


def show_drag(mm_per_m: float, unit: LengthUnit, *, digits: int | None = None, suffix: bool = True) -> str:
    """Write a drag or a slip in the person's unit.

    Parameters
    ----------
    mm_per_m : float
        Drag [mm per metre].
    digits : int, optional
        Most decimals that mm per metre would have; if not given 1 below 10, and 0 from there on.

    Examples
    --------
    >>> show_drag(524.2, "mm"), show_drag(9.74, "mm"), show_drag(524.2, "inch"), show_drag(9.74, "inch")
    ('524 mm per metre', '9.7 mm per metre', '6.29 in per foot', '0.117 in per foot')
    """
    if digits is None:
        digits = 0 if abs(mm_per_m) >= _COARSE_DRAG else 1
    number = show_number(in_drag_unit(mm_per_m, unit), decimals(unit, digits))
    return f"{number} {drag_unit(unit)}" if suffix else number
