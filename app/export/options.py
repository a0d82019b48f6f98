"""Words of the command line to settings of the controller, laid over those of the chassis."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from app.units import UnitError, parse_number
from geometry.chassis import Design
from geometry.controller import METHODS, PARTS
from geometry.errors import CommandError
from geometry.motors import STEER_UNITS

# The longer ending first: "mm" is the end of neither of the others.
_ERROR_UNITS = (("mm/m", "mm_per_m"), ("mm", "mm_per_m"), ("deg", "deg"), ("°", "deg"))
SPACINGS = ("even", "free")
MOST_DIGITS = 9


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
        If an option is no number, or none of the known words.
    DesignError
        If a number is out of range.
    """
    given = {name: word for name, word in options.items() if word is not None}
    changes: dict[str, Any] = {}
    for name, known in (("method", METHODS), ("spacing", SPACINGS)):
        if name in given:
            changes[name] = _known(name, given[name], known)
    if "error" in given:
        changes["error"], changes["error_unit"] = error_of(given["error"])
    if "speed_error" in given:
        changes["speed_error_permille"] = 10.0 * _number(
            "speed_error", given["speed_error"].removesuffix("%")
        )
    if "largest_bytes" in given:
        word = given["largest_bytes"]
        changes["largest_bytes"] = None if word == "none" else whole("largest_bytes", word)
    if "prefix" in given:
        changes["prefix"] = given["prefix"]
    for name, on in (("without", False), ("with", True)):
        for word in given[name].split(",") if name in given else ():
            changes[_known(name, word.strip().replace("-", "_"), PARTS)] = on
    if "unit" in given:
        unit = _known("unit", given["unit"], STEER_UNITS)
        motors = tuple(motor.edited(unit=unit) for motor in design.steer_motors)
        design = design.edited(steer_motors=motors)
    return design.edited(controller=design.controller.edited(**changes))


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


def whole(name: str, word: str) -> int:
    """Read a whole number.

    Raises
    ------
    CommandError
        If it is none.
    """
    if not (word.isascii() and word.isdigit() and len(word) <= MOST_DIGITS):
        raise CommandError(f"--{name.replace('_', '-')} must be a whole number (got {word!r})")
    return int(word)


def _number(name: str, word: str, such: str = "") -> float:
    try:
        return parse_number(word.strip())
    except UnitError:
        rule = f"must be a number {such}".strip()
        raise CommandError(f"--{name.replace('_', '-')} {rule} (got {word!r})") from None


def _known(name: str, word: str, known: tuple[str, ...]) -> str:
    if word not in known:
        raise CommandError(f"--{name} must be one of {', '.join(known)} (got {word!r})")
    return word
