"""Arguments that several verbs take."""

from __future__ import annotations

import argparse

from app.design.disk import named_file
from app.units import LengthUnit, UnitError, parse_length
from geometry.errors import CommandError
from geometry.model.frozen import short
from geometry.turn_range.sweep import turns_between


def add_file(parser: argparse.ArgumentParser) -> None:
    """Take the chassis file, as ``options.file``."""
    parser.add_argument("file", metavar="FILE", type=named_file, help="chassis file")


def add_turns(parser: argparse.ArgumentParser, rows_help: str) -> None:
    """Take turn inputs, either so many or those that are named; `turns_of` reads them."""
    which = parser.add_mutually_exclusive_group()
    which.add_argument("--rows", metavar="N", help=rows_help)
    which.add_argument(
        "--turn",
        metavar="A,B,C",
        help="turn inputs from -1 to 1, with decimal points; also beyond the largest turn in use",
    )


def turns_of(options: argparse.Namespace, reach: float, most: int) -> list[float] | None:
    """Turns that the person asked for; None without any wish.

    Parameters
    ----------
    options : argparse.Namespace
        With the words of ``--rows`` and ``--turn``.
    reach : float
        The largest turn input in use; so many rows are spread from -reach to reach.
    most : int
        The largest number of rows.

    Raises
    ------
    CommandError
        If a word is no number, or out of range.
    """
    if options.turn is not None:
        rule = "--turn must be numbers from -1 to 1 with commas between"
        return [turn_of(word, rule) for word in options.turn.split(",")]
    if options.rows is None:
        return None
    if not (options.rows.isascii() and options.rows.isdigit() and len(options.rows) < 10):
        raise CommandError(f"--rows must be a whole number from 2 to {most} (got {short(options.rows)})")
    rows = int(options.rows)
    if not 2 <= rows <= most:
        raise CommandError(f"--rows must be a whole number from 2 to {most} (got {rows})")
    turns: list[float] = turns_between(-reach, reach, rows).tolist()
    return turns


def turn_of(word: str, rule: str) -> float:
    """A turn input as typed.

    Raises
    ------
    CommandError
        With the rule and the word if that is no number, or a number out of range.
    """
    try:
        # Python also takes other scripts' digits, and 0_1 for 1.
        turn = float(word) if word.isascii() and "_" not in word else None
    except ValueError:
        turn = None
    if turn is None:
        raise CommandError(f"{rule} (got {short(word)})")
    if not -1.0 <= turn <= 1.0:
        raise CommandError(f"--turn must be from -1 to 1 (got {word.strip()[:40]})")
    return turn


def length_of(option: str, word: str, unit: LengthUnit = "mm") -> float:
    """A length as typed [mm], in `unit` where none is typed.

    Raises
    ------
    CommandError
        With the option and the rule if that is no length.
    """
    try:
        return parse_length(word, unit)
    except UnitError as error:
        raise CommandError(f"{option}: {error}") from error
