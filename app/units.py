"""Typed text to numbers and back: the only place of `app` that knows 25.4 and pi/180."""

from __future__ import annotations

import math
import re
from typing import Literal

from geometry.errors import AxlewrightError

LengthUnit = Literal["mm", "inch"]
LENGTH_UNITS: tuple[LengthUnit, ...] = ("mm", "inch")

MM_PER_INCH = 25.4
_DEGREES_PER_RADIAN = 180.0 / math.pi

_MM_PER = {
    "mm": 1.0,
    "cm": 10.0,
    "m": 1000.0,
    "in": MM_PER_INCH,
    "inch": MM_PER_INCH,
    "inches": MM_PER_INCH,
    '"': MM_PER_INCH,
    "″": MM_PER_INCH,
    "”": MM_PER_INCH,
}
_SUFFIX = {"mm": "mm", "inch": "in"}
_DIGITS: dict[LengthUnit, int] = {"mm": 2, "inch": 3}

# Signs and spaces that keyboards and web pages put where ASCII is meant.
_PLAIN = str.maketrans(
    {"\u2212": "-", "\u2013": "-", "\u00a0": " ", "\u202f": " ", "\u2009": " ", "\uff0c": ","}
)
_NUMBER = re.compile(r"[+-]?(?:[0-9]+(?:[.,][0-9]*)?|[.,][0-9]+)(?:[eE][+-]?[0-9]{1,6})?")
_THOUSANDS = re.compile(r"[+-]?[1-9][0-9]{0,2},[0-9]{3}")
_MANY_MARKS = re.compile(r"[+-]?[0-9]+(?:[., '’][0-9]+){2,}|[+-]?[0-9]+[ '’][0-9]+(?:[.,][0-9]+)?")
_LONGEST = 60


class UnitError(AxlewrightError):
    """Text that is no number, or no length or angle."""


def parse_number(text: str) -> float:
    """Read a number with a decimal point or a decimal comma.

    Parameters
    ----------
    text : str
        What the person typed: ``12.5``, ``12,5``, ``-3``, ``1e3``.

    Returns
    -------
    float
        A finite number.

    Raises
    ------
    UnitError
        If the text is no number, too large, or can be read in two ways (``1,234``).

    Examples
    --------
    >>> parse_number("12,5"), parse_number("\u22120.5"), parse_number("1e3")
    (12.5, -0.5, 1000.0)
    """
    plain = text.translate(_PLAIN).strip()
    if not plain:
        raise UnitError("a number is missing; type one such as 12.5")
    shown = _shown(text)
    if len(plain) > _LONGEST:
        raise UnitError(f"{shown} is too long for a number; type at most {_LONGEST} characters")
    if _THOUSANDS.fullmatch(plain):
        grouped, decimal = plain.replace(",", ""), plain.replace(",", ".")
        raise UnitError(f"{shown} can be read as {grouped} or as {decimal}; type one of these")
    if _NUMBER.fullmatch(plain):
        value = float(plain.replace(",", "."))
        if math.isinf(value):
            raise UnitError(f"{shown} is too large for a number")
        return value
    if _MANY_MARKS.fullmatch(plain):
        raise UnitError(f"{shown} has marks between thousands; type the digits alone, such as 1234.5")
    raise UnitError(f"{shown} is not a number; type one such as 12.5 or 12,5")


def parse_length(text: str, unit: LengthUnit) -> float:
    """Read a length.

    Parameters
    ----------
    text : str
        A number with mm, cm, m, in, inch or ``"`` behind it, or alone.
    unit : 'mm' or 'inch'
        The unit of a number that stands alone.

    Returns
    -------
    float
        Length [mm].

    Raises
    ------
    UnitError
        If the text is no length.

    Examples
    --------
    >>> parse_length("2", "inch"), parse_length("2 mm", "inch"), parse_length("1,5 cm", "mm")
    (50.8, 2.0, 15.0)
    """
    number, suffix = _split(text)
    if suffix and suffix not in _MM_PER:
        raise UnitError(f"{_shown(text)} is not a length; use mm, cm, m or in")
    length = parse_number(number) * (_MM_PER[suffix] if suffix else _MM_PER[_SUFFIX[unit]])
    if math.isinf(length):
        raise UnitError(f"{_shown(text)} is too large for a length")
    return length


def parse_angle(text: str) -> float:
    """Read an angle, with a degree sign, ``deg`` or nothing behind it.

    Returns
    -------
    float
        Angle [deg].

    Raises
    ------
    UnitError
        If the text is no angle.

    Examples
    --------
    >>> parse_angle("-28,8°"), parse_angle("90 deg")
    (-28.8, 90.0)
    """
    number, suffix = _split(text)
    if suffix not in {"", "°", "º", "deg", "degrees"}:
        raise UnitError(f"{_shown(text)} is not an angle; type degrees, such as 12.5°")
    return parse_number(number)


def show_number(value: float, digits: int) -> str:
    """Write a number with at most `digits` decimals, trailing zeros trimmed, never "-0".

    Examples
    --------
    >>> show_number(12.50, 2), show_number(-0.001, 2), show_number(float("inf"), 1)
    ('12.5', '0', '∞')
    """
    if math.isnan(value):
        return "–"
    if math.isinf(value):
        return "∞" if value > 0 else "-∞"
    text = f"{value:.{digits}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return "0" if text in {"-0", ""} else text


def show_length(mm: float, unit: LengthUnit, *, digits: int | None = None, suffix: bool = True) -> str:
    """Write a length in the person's unit; an infinite one is "∞" alone.

    Parameters
    ----------
    mm : float
        Length [mm].
    unit : 'mm' or 'inch'
        Unit to show.
    digits : int, optional
        Most decimals; 2 for mm and 3 for inches if not given.
    suffix : bool
        Whether the unit stands behind the number.

    Examples
    --------
    >>> show_length(12.5, "mm"), show_length(12.5, "inch"), show_length(float("inf"), "mm")
    ('12.5 mm', '0.492 in', '∞')
    """
    name = _SUFFIX[unit]
    number = show_number(mm / _MM_PER[name], _DIGITS[unit] if digits is None else digits)
    return f"{number} {name}" if suffix and math.isfinite(mm) else number


def show_angle(rad: float, digits: int = 1) -> str:
    """Write an angle given in radians as degrees with that many decimals, never "-0.0°".

    Examples
    --------
    >>> show_angle(-0.5026548), show_angle(-1e-9)
    ('-28.8°', '0.0°')
    """
    if math.isnan(rad):
        return "–"
    text = f"{degrees(rad):.{digits}f}"
    return f"{text.removeprefix('-') if float(text) == 0 else text}°"


def degrees(rad: float) -> float:
    """Radians to degrees."""
    return rad * _DEGREES_PER_RADIAN


def radians(deg: float) -> float:
    """Degrees to radians."""
    return deg / _DEGREES_PER_RADIAN


def _split(text: str) -> tuple[str, str]:
    """Part a number from the unit behind it."""
    plain = text.translate(_PLAIN).strip()
    number = plain.rstrip('"″”°ºabcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ')
    return number, plain[len(number) :].casefold()


def _shown(text: str) -> str:
    quoted = repr(text.strip())
    return quoted if len(quoted) <= 40 else quoted[:37] + "..."
