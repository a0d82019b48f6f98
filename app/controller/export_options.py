"""Words of the command line to settings of the controller, laid over those of the chassis."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from app.units import UnitError, parse_number
from geometry.errors import CommandError
from geometry.model.controller import LARGEST_ERROR_DEG, METHODS, PARTS, Controller, prefix_rule
from geometry.model.design import Design
from geometry.model.frozen import short
from geometry.model.motors import STEER_UNITS

# The longer ending first: "mm" is the end of neither of the others.
_ERROR_UNITS = (("mm/m", "mm_per_m"), ("mm", "mm_per_m"), ("deg", "deg"), ("°", "deg"))
SPACINGS = ("even", "free")
MOST_SEED = 999_999_999
_PERMILLE_OF_PERCENT = 10.0
_ERROR_WORDS = {"deg": "degrees", "mm_per_m": "mm of drag per metre"}


def with_options(design: Design, options: Mapping[str, str | None]) -> Design:
    """Lay options over a design's controller settings and its steer motors' unit.

    Parameters
    ----------
    design : Design
        The chassis as its file says.
    options : mapping of str to str or None
        By name: method, spacing, error (``0.1deg`` or ``5mm``), speed_error (``1%``), unit,
        prefix, largest_bytes (or ``none``), without, with (parts with commas between). None: as the
        design says.

    Returns
    -------
    Design
        With the settings changed.

    Raises
    ------
    CommandError
        If an option is no number, out of range, or none of the known words.
    """
    given = {name: word for name, word in options.items() if word is not None}
    changes: dict[str, Any] = {}
    for name, known in (("method", METHODS), ("spacing", SPACINGS)):
        if name in given:
            changes[name] = _known(name, given[name], known)
    if "error" in given:
        changes["error"], changes["error_unit"] = _error_in_range(given["error"])
    if "speed_error" in given:
        changes["speed_error_permille"] = _speed_error(given["speed_error"])
    if "largest_bytes" in given:
        changes["largest_bytes"] = _largest_bytes(given["largest_bytes"])
    if "prefix" in given:
        changes["prefix"] = _prefix(given["prefix"])
    changes |= _parts(given)
    if "unit" in given:
        unit = _known("unit", given["unit"], STEER_UNITS)
        motors = tuple(motor.edited(unit=unit) for motor in design.steer_motors)
        design = design.edited(steer_motors=motors)
    return design.edited(controller=design.controller.edited(**changes))


def _parts(given: Mapping[str, str]) -> dict[str, bool]:
    """Parts of the code to put in or to leave out."""
    named = {
        name: [_known(name, word.strip().replace("-", "_"), PARTS) for word in given[name].split(",")]
        for name in ("without", "with")
        if name in given
    }
    both = sorted({*named.get("without", ())} & {*named.get("with", ())})
    if both:
        raise CommandError(
            f"--without and --with must not name the same part (got {both[0]} in both); leave it out of one"
        )
    return {word: name == "with" for name, words in named.items() for word in words}


def _error_in_range(text: str) -> tuple[float, str]:
    value, unit = error_of(text)
    least, most = _bounds("error")
    _refuse_outside("error", value, least, LARGEST_ERROR_DEG if unit == "deg" else most, _ERROR_WORDS[unit])
    return value, unit


def _speed_error(text: str) -> float:
    value = _number("speed_error", text.removesuffix("%"))
    least, most = (bound / _PERMILLE_OF_PERCENT for bound in _bounds("speed_error_permille"))
    _refuse_outside("speed_error", value, least, most, "percent of full speed")
    return _PERMILLE_OF_PERCENT * value


def _largest_bytes(word: str) -> int | None:
    least, most = _bounds("largest_bytes")
    if word == "none":
        return None
    return whole("largest_bytes", word, int(least), int(most), "; or none, for no limit")


def _prefix(word: str) -> str:
    rule = prefix_rule(word)
    if rule:
        raise CommandError(f"--prefix {rule} (got {short(word)})")
    return word


def _bounds(field: str) -> tuple[float, float]:
    """The least and the most that a number of the controller's settings may be."""
    limits: dict[str, float] = {}
    for rule in Controller.model_fields[field].metadata:
        limits |= {name: getattr(rule, name) for name in ("ge", "le") if hasattr(rule, name)}
    return limits["ge"], limits["le"]


def _refuse_outside(name: str, value: float, least: float, most: float, unit: str) -> None:
    if value < least:
        raise CommandError(f"{_option(name)} must be at least {least:g} {unit} (got {value:g})")
    if value > most:
        raise CommandError(f"{_option(name)} must be at most {most:g} {unit} (got {value:g})")


def _option(name: str) -> str:
    return f"--{name.replace('_', '-')}"


def error_of(text: str) -> tuple[float, str]:
    """Read an error with its unit: degrees at the wheel, or millimetres of drag per metre.

    Raises
    ------
    CommandError
        If it is no number with one of the units.

    Examples
    --------
    >>> error_of("0.1deg"), error_of("5 mm"), error_of("0.2")
    ((0.1, 'deg'), (5.0, 'mm_per_m'), (0.2, 'deg'))
    """
    word = text.strip()
    for ending, unit in _ERROR_UNITS:
        if word.endswith(ending):
            return _number("error", word.removesuffix(ending), "such as 0.1deg or 5mm"), unit
    return _number("error", word, "such as 0.1deg or 5mm"), "deg"


def whole(name: str, word: str, least: int, most: int, remedy: str = "") -> int:
    """Read a whole number of an option.

    Parameters
    ----------
    name : str
        Of the option, with underscores.
    word : str
        What the person typed.
    least, most : int
        Its range.
    remedy : str
        What else may be typed, as the end of a sentence.

    Raises
    ------
    CommandError
        If it is none, or out of range; with the range.

    Examples
    --------
    >>> whole("vectors", "25", 1, 100)
    25
    """
    # Python does not read a number of thousands of digits.
    digits = word.isascii() and word.isdigit() and len(word) <= len(str(most))
    if not digits or not least <= int(word) <= most:
        rule = f"must be a whole number from {least} to {most}{remedy}"
        raise CommandError(f"{_option(name)} {rule} (got {short(word)})")
    return int(word)


def _number(name: str, word: str, such: str = "") -> float:
    try:
        return parse_number(word.strip())
    except UnitError:
        rule = f"must be a number {such}".strip()
        raise CommandError(f"{_option(name)} {rule} (got {short(word)})") from None


def _known(name: str, word: str, known: tuple[str, ...]) -> str:
    if word not in known:
        raise CommandError(f"{_option(name)} must be one of {', '.join(known)} (got {short(word)})")
    return word
