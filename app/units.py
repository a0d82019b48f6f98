"""Typed text to numbers and back: the only place of `app` that knows 25.4 and pi/180."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
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
_DEGREES_PER = dict.fromkeys(("°", "º", "deg", "degrees"), 1.0)
_NO_SUM = "is not a number; type one such as 12.5 or 12,5, or a sum such as 132+10"
_NO_LENGTH = "is not a length; use mm, cm, m or in"
_NO_ANGLE = "is not an angle; type degrees, such as 12.5°"
_SUFFIX = {"mm": "mm", "inch": "in"}
# An inch is some 25 mm: two decimals more tell as much, and a thousandth is the finest that builders use.
_MORE_DIGITS, _MOST_DIGITS = 2, 3

# Signs and spaces that keyboards and web pages put where ASCII is meant.
_PLAIN = str.maketrans(
    {"\u2212": "-", "\u2013": "-", "\u00a0": " ", "\u202f": " ", "\u2009": " ", "\uff0c": ","}
)
_NUMBER = re.compile(r"[+-]?(?:[0-9]+(?:[.,][0-9]*)?|[.,][0-9]+)(?:[eE][+-]?[0-9]{1,6})?")
_THOUSANDS = re.compile(r"[+-]?[1-9][0-9]{0,2},[0-9]{3}")
_MANY_MARKS = re.compile(r"[+-]?[0-9]+(?:[., '’][0-9]+){2,}|[+-]?[0-9]+[ '’][0-9]+(?:[.,][0-9]+)?")
_LONGEST = 60
_LONGEST_SUM = 120
_TOKEN = re.compile(
    r"(?P<number>(?:[0-9]+(?:[.,][0-9]*)?|[.,][0-9]+)(?:[eE][+-]?[0-9]{1,6})?)"
    r"|(?P<unit>[\"″”°º]|[a-zA-Z]+)|(?P<sign>[-+/])|(?P<gap> +)"
)
# A hyphen right between a whole number and a proper fraction: many write 5-1/4 for 5 1/4.
_HYPHENED = re.compile(r"(?<![0-9.,/])([0-9]+)-([0-9]+)/([0-9]+)(?![0-9.,])")

Train = tuple[tuple[int, ...], ...]
Proportion = tuple[float, float]
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
        A number with mm, cm, m, in, inch or ``"`` behind it, or alone; or a sum of such
        numbers and of fractions, as `parse_sum` has it. A unit in a sum counts also for the
        terms before it that have none.
    unit : 'mm' or 'inch'
        The unit of what has none.

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
    >>> parse_length("132+10", "mm"), parse_length("5 1/4 in", "mm"), parse_length("12 mm + 1/4 in", "mm")
    (142.0, 133.35, 18.35)
    """
    if _is_sum(text):
        return _Sum(text, _MM_PER, _SUFFIX[unit], _NO_LENGTH).value()
    number, suffix = _split(text)
    if suffix and suffix not in _MM_PER:
        raise UnitError(f"{_shown(text)} {_NO_LENGTH}")
    length = parse_number(number) * (_MM_PER[suffix] if suffix else _MM_PER[_SUFFIX[unit]])
    if math.isinf(length):
        raise UnitError(f"{_shown(text)} is too large for a length")
    return length


def parse_angle(text: str) -> float:
    """Read an angle, with a degree sign, ``deg`` or nothing behind it; or a sum of such.

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
    >>> parse_angle("-28,8°"), parse_angle("90 deg"), parse_angle("45 - 1/2°")
    (-28.8, 90.0, 44.5)
    """
    if _is_sum(text):
        return _Sum(text, _DEGREES_PER, "°", _NO_ANGLE).value()
    number, suffix = _split(text)
    if suffix and suffix not in _DEGREES_PER:
        raise UnitError(f"{_shown(text)} {_NO_ANGLE}")
    return parse_number(number)


def parse_sum(text: str) -> float:
    """Read a number, a fraction, or a sum of them.

    Parameters
    ----------
    text : str
        What `parse_number` reads; or ``132+10``, ``264/2``, ``5 1/4``, ``-3 + 1,5``.

    Returns
    -------
    float
        A finite number: the sum without rounding on the way.

    Raises
    ------
    UnitError
        If the text is none of these, divides by 0, is too large or too long, or can be read
        in two ways (``5-1/4``, ``1/2/3``).

    Examples
    --------
    >>> parse_sum("132+10"), parse_sum("5 1/4"), parse_sum("-3 + 1,5"), parse_sum("1e+3")
    (142.0, 5.25, -1.5, 1000.0)
    """
    return _Sum(text, {}, "", _NO_SUM).value() if _is_sum(text) else parse_number(text)


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


def show_length(
    mm: float, unit: LengthUnit, *, digits: int | None = None, of_mm: int = 2, suffix: bool = True
) -> str:
    """Write a length in the person's unit; an infinite one is "∞" alone.

    Parameters
    ----------
    mm : float
        Length [mm].
    unit : 'mm' or 'inch'
        Unit to show.
    digits : int, optional
        Most decimals, whatever the unit.
    of_mm : int
        Most decimals of millimetres, where `digits` is not given; inches follow by `decimals`.
    suffix : bool
        Whether the unit stands behind the number.

    Examples
    --------
    >>> show_length(12.5, "mm"), show_length(12.5, "inch"), show_length(float("inf"), "mm")
    ('12.5 mm', '0.492 in', '∞')
    """
    name = _SUFFIX[unit]
    length = mm / _MM_PER[name]
    number = show_number(length, decimals(unit, of_mm) if digits is None else digits)
    number = f"{length:.3g}" if 1e12 <= abs(length) < math.inf else number  # not hundreds of digits
    return f"{number} {name}" if suffix and math.isfinite(mm) else number


def decimals(unit: LengthUnit, of_mm: int) -> int:
    """Decimals of a length or a drag where millimetres would have `of_mm`: the one rule of rounding.

    Examples
    --------
    >>> decimals("mm", 1), decimals("inch", 0), decimals("inch", 1), decimals("inch", 2)
    (1, 2, 3, 3)
    """
    return of_mm if unit == "mm" else min(of_mm + _MORE_DIGITS, _MOST_DIGITS)


def in_length_unit(mm: float, unit: LengthUnit) -> float:
    """Millimetres in the person's unit, without rounding."""
    return mm / _MM_PER[_SUFFIX[unit]]


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
    proportion = parse_proportion(plain)
    return parse_number(plain) if proportion is None else proportion[0] / proportion[1]


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


def parse_proportion(text: str) -> Proportion | None:
    """Read a ratio that is typed as two numbers, turns of the wheel : turns of the motor.

    Parameters
    ----------
    text : str
        What was typed.

    Returns
    -------
    (wheel, motor) : floats, or None
        None where the text has no colon, and so is typed in another way.

    Raises
    ------
    UnitError
        If one of the two is no number, or the second divides by nothing.

    Examples
    --------
    >>> parse_proportion("12:36"), parse_proportion("0.5")
    ((12.0, 36.0), None)
    """
    wheel, colon, motor = text.partition(":")
    if not colon:
        return None
    below = parse_number(motor)
    above = parse_number(wheel)
    if not below or math.isinf(above / below):
        raise UnitError(f"{_shown(text)} divides by nothing; type turns of the wheel : turns of the motor")
    return above, below


def show_gearing(ratio: float | None, train: Train = (), proportion: Proportion | None = None) -> str:
    """Write a ratio, the teeth of a train, or two numbers, as `parse_gearing` reads them.

    Examples
    --------
    >>> show_gearing(-0.5), show_gearing(None, ((12, 20, 36), (10, 40))), show_gearing(None, ((20, -80),))
    ('-0.5', '12-20-36, 10-40', '20-80r')
    >>> show_gearing(None, (), (12.0, 36.0))
    '12:36'
    """
    if ratio is not None:
        return show_number(ratio, 6)
    if proportion is not None:
        return ":".join(_as_typed(part) for part in proportion)
    return ", ".join(
        "-".join(f"{-gear}{_RING}" if gear < 0 else f"{gear}" for gear in chain) for chain in train
    )


def _as_typed(part: float) -> str:
    """A number with all its digits, and no point where it is whole."""
    return repr(int(part)) if part.is_integer() and abs(part) < 1e15 else repr(part)


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


def _is_sum(text: str) -> bool:
    """Whether a sign stands behind a number, other than the one of its power of ten."""
    plain = text.translate(_PLAIN).strip()
    bare = plain.rstrip('"″”°º abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ')
    return _NUMBER.fullmatch(bare) is None and re.search('[0-9a-zA-Z"″”°º.,] *[-+/]', plain) is not None


@dataclass
class _Term:
    """One term of a sum: a number without its unit, and the unit if it has one."""

    value: Fraction
    unit: str


class _Sum:
    """Reads one sum from left to right; `value` is all that is asked of it."""

    def __init__(self, text: str, units: Mapping[str, float], default: str, refusal: str) -> None:
        self._text = text
        self._plain = text.translate(_PLAIN).strip()
        self._units, self._default, self._refusal = units, default, refusal
        self._tokens: list[tuple[str, str]] = []
        self._at = 0

    def value(self) -> float:
        """The sum in the units' own measure.

        Raises
        ------
        UnitError
            If the text is no sum, or can be read in two ways.
        """
        if len(self._plain) > _LONGEST_SUM:
            raise self._error(f"is too long for a sum; type at most {_LONGEST_SUM} characters")
        self._refuse_hyphened()
        self._cut()
        total = sum(
            (term.value * self._factor(term.unit) for term in self._with_units(self._terms())), Fraction(0)
        )
        try:
            return float(total)
        except OverflowError:
            raise self._error("is too large for a number") from None

    def _error(self, why: str) -> UnitError:
        return UnitError(f"{_shown(self._text)} {why}")

    def _factor(self, unit: str) -> Fraction:
        # Through the text of it: 25.4 in binary is not quite an inch.
        return Fraction(repr(self._units[unit])) if unit else Fraction(1)

    def _refuse_hyphened(self) -> None:
        for whole, above, below in _HYPHENED.findall(self._plain):
            if int(above) < int(below):
                raise self._error(
                    f"can be read as {whole} {above}/{below} or as {whole} - {above}/{below}; "
                    "type one of these, with the spaces"
                )

    def _cut(self) -> None:
        at = 0
        while at < len(self._plain):
            found = _TOKEN.match(self._plain, at)
            if found is None:
                raise self._error(self._refusal)
            if found.lastgroup != "gap":
                self._tokens.append((str(found.lastgroup), found[0]))
            at = found.end()

    def _next(self, *kinds: str) -> str:
        """The text of the next token where it is of one of these kinds, which is used up; else nothing."""
        if self._at < len(self._tokens) and self._tokens[self._at][0] in kinds:
            self._at += 1
            return self._tokens[self._at - 1][1]
        return ""

    def _terms(self) -> list[_Term]:
        terms: list[_Term] = []
        sign = self._next("sign")
        while True:
            if sign == "/":
                raise self._error(
                    "divides twice; type one fraction for each term, such as 1/2"
                    if terms
                    else "begins with /; type a number before it"
                )
            term = self._term()
            terms.append(_Term(-term.value if sign == "-" else term.value, term.unit))
            if self._at == len(self._tokens):
                return terms
            sign = self._next("sign")
            if not sign:
                raise self._error("has two numbers side by side; type + or - between them")

    def _term(self) -> _Term:
        first = self._number()
        unit = self._unit()
        value = self._value(first)
        if not unit and self._at < len(self._tokens) and self._tokens[self._at][0] == "number":
            value += self._fraction_behind(first)
            unit = self._unit()
        elif self._at < len(self._tokens) and self._tokens[self._at] == ("sign", "/"):
            self._at += 1
            value /= self._not_zero(self._number())
            below = self._unit()
            if unit and below:
                raise self._error("divides by a unit; type a number alone behind the /")
            unit = unit or below
        return _Term(value, unit)

    def _number(self) -> str:
        found = self._next("number")
        if found:
            return found
        if self._at and self._at < len(self._tokens) and self._tokens[self._at][0] == "sign":
            raise self._error("has two signs side by side; type one of them")
        if self._at == len(self._tokens):
            raise self._error("ends too soon; type a number behind its last sign")
        raise self._error(self._refusal)

    def _unit(self) -> str:
        unit = self._next("unit").casefold()
        if unit and unit not in self._units:
            raise self._error(self._refusal)
        return unit

    def _value(self, number: str) -> Fraction:
        value = parse_number(number)  # refuses what is too large, or has marks between thousands
        # A power of ten far below the least float would be a fraction of a million digits.
        return Fraction(number.replace(",", ".")) if value else Fraction(0)

    def _not_zero(self, number: str) -> Fraction:
        value = self._value(number)
        if not value:
            raise self._error("divides by 0; type another number behind the /")
        return value

    def _fraction_behind(self, whole: str) -> Fraction:
        """The proper fraction behind a whole number, as in 5 1/4."""
        above = self._next("number")
        below = self._next("number") if self._next("sign") == "/" else ""
        if not (whole.isdigit() and above.isdigit() and below.isdigit()):
            raise self._error("has two numbers side by side; type + or - between them")
        part = self._value(above) / self._not_zero(below)
        if part >= 1 or (len(above) == 3 and len(whole) <= 3):
            raise self._error(
                f"can be read as {whole} + {above}/{below} or as {whole}{above}/{below}; type one of these"
            )
        return part

    def _with_units(self, terms: list[_Term]) -> list[_Term]:
        """Give each term its unit: that of the next one that has some, else the one on the screen."""
        named = [term.unit for term in terms if term.unit]
        if not named:
            return [_Term(term.value, self._default) for term in terms]
        if not terms[-1].unit and self._factor(named[-1]) != self._factor(self._default):
            raise self._error(
                f"leaves open the unit of its last number, {named[-1]} or {self._default}; type it behind"
            )
        unit, found = self._default, []
        for term in reversed(terms):
            unit = term.unit or unit
            found.append(_Term(term.value, unit))
        return found


def _split(text: str) -> tuple[str, str]:
    """Part a number from the unit behind it."""
    plain = text.translate(_PLAIN).strip()
    number = plain.rstrip('"″”°ºabcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ')
    return number, plain[len(number) :].casefold()


def _shown(text: str) -> str:
    quoted = repr(text.strip())
    return quoted if len(quoted) <= 40 else quoted[:37] + "..."
