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

Train = tuple[tuple[int, ...], ...]
"""Teeth of each chain of meshing gears; a ring gear counts as negative."""
_RING = "r"
_MESHES = re.compile(r"[0-9]\s*r?\s*-", re.IGNORECASE)
_CHAIN = re.compile(r"\s*[0-9]{1,9}\s*r?(?:\s*-\s*[0-9]{1,9}\s*r?)+\s*", re.IGNORECASE)
_LONGEST_TRAIN = 400


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


def parse_gearing(text: str) -> float | Train:
    """Read how a wheel is geared to its motor: a ratio, or the teeth of a train.

    Parameters
    ----------
    text : str
        A ratio, turns of the wheel by turns of the motor: ``-0.5`` or ``1:3``. Or teeth
        from the motor on, ``12-20-36, 10-40``: a hyphen where two gears mesh, a comma where
        the next gear sits on the same shaft, ``80r`` for a ring gear.

    Returns
    -------
    float or tuple of tuples of int
        A ratio, or a train.

    Raises
    ------
    UnitError
        If the text is neither.

    Examples
    --------
    >>> parse_gearing("-0,5"), parse_gearing("1:4"), parse_gearing("12-20-36, 10-40")
    (-0.5, 0.25, ((12, 20, 36), (10, 40)))
    >>> parse_gearing("20-80r")
    ((20, -80),)
    """
    plain = text.translate(_PLAIN).strip()
    if not plain:
        raise UnitError("the gearing is missing; type a ratio such as -0.5, or teeth such as 12-36")
    if _MESHES.search(plain):
        return _parse_train(plain)
    if ":" in plain:
        return _parse_proportion(plain)
    return parse_number(plain)


def _parse_train(text: str) -> Train:
    if len(text) > _LONGEST_TRAIN:
        raise UnitError(
            f"{_shown(text)} is too long for a gear train; type at most {_LONGEST_TRAIN} characters"
        )
    train = []
    for chain in re.split("[,;]", text):
        if not _CHAIN.fullmatch(chain):
            raise UnitError(
                f"{_shown(chain)} is no chain of gears; type whole numbers of teeth with a hyphen where "
                "two gears mesh, such as 12-20-36, and r behind a ring gear, such as 20-80r"
            )
        train.append(tuple(_teeth(gear) for gear in chain.split("-")))
    return tuple(train)


def _teeth(text: str) -> int:
    plain = text.strip().casefold()
    ring = plain.endswith(_RING)
    number = int(plain.removesuffix(_RING))
    return -number if ring else number


def _parse_proportion(text: str) -> float:
    wheel, _, motor = text.partition(":")
    below = parse_number(motor)
    ratio = parse_number(wheel) / below if below else math.inf
    if math.isinf(ratio):
        raise UnitError(f"{_shown(text)} divides by nothing; type turns of the wheel : turns of the motor")
    return ratio


def show_gearing(ratio: float | None, train: Train = ()) -> str:
    """Write a ratio, or the teeth of a train, as `parse_gearing` reads them.

    Examples
    --------
    >>> show_gearing(-0.5), show_gearing(None, ((12, 20, 36), (10, 40))), show_gearing(None, ((20, -80),))
    ('-0.5', '12-20-36, 10-40', '20-80r')
    """
    if ratio is not None:
        return show_number(ratio, 6)
    return ", ".join(
        "-".join(f"{-gear}{_RING}" if gear < 0 else f"{gear}" for gear in chain) for chain in train
    )


def show_speed(mm_s: float, unit: LengthUnit) -> str:
    """Write a speed in metres or inches per second; an infinite one is "∞" alone.

    Examples
    --------
    >>> show_speed(471.2, "mm"), show_speed(471.2, "inch"), show_speed(float("inf"), "mm")
    ('0.471 m/s', '18.6 in/s', '∞')
    """
    if not math.isfinite(mm_s):
        return show_number(mm_s, 3)
    per, name, digits = (_MM_PER["m"], "m/s", 3) if unit == "mm" else (MM_PER_INCH, "in/s", 1)
    return f"{mm_s / per:.{digits}f} {name}"


def _split(text: str) -> tuple[str, str]:
    """Part a number from the unit behind it."""
    plain = text.translate(_PLAIN).strip()
    number = plain.rstrip('"″”°ºabcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ')
    return number, plain[len(number) :].casefold()


def _shown(text: str) -> str:
    quoted = repr(text.strip())
    return quoted if len(quoted) <= 40 else quoted[:37] + "..."
