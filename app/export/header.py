"""What every written file says of itself at its head, and which parts of the code it holds."""

from __future__ import annotations

import textwrap
import unicodedata
from collections.abc import Callable, Iterable

from app.controller.code_outputs import FULL, MOST_MS
from app.controller.formula import GROUP, WHEEL, functions_of
from app.controller.programme import Programme
from app.words.alignment_summary import verdict_lines
from app.words.bounds import rounded_up

_PART_WORDS = {
    "mixing": "mixing of throttle and turn",
    "dead_band": "dead band",
    "scaling": "slow down evenly where a motor would pass its usable speed",
    "clamp": "clamp to travel",
    "limiter": "limit of the steering's speed",
    "hold": "hold of the drive until the steering is there",
}
_WIDTH = 90
CAUTIONS = (
    "First run with the wheels off the ground, fingers clear of the steering,",
    "a fused battery, and a low speed. Check each motor's direction one by one.",
    "Not for road vehicles, and not for carrying people.",
)


def shown(name: str) -> str:
    """A name as it may stand in a comment of any language, in quotes.

    Examples
    --------
    >>> shown('Cart */ "2"')
    '"Cart * / "2""'
    """
    return f'"{shown_plain(name)}"'


def shown_plain(text: str) -> str:
    """A text as it may stand in a comment of any language.

    Examples
    --------
    >>> shown_plain('*/ drags')
    '* / drags'
    """
    plain = "".join(c if unicodedata.category(c)[0] not in "CZ" or c == " " else "?" for c in text)
    while "*/" in plain or "/*" in plain:
        plain = plain.replace("*/", "* /").replace("/*", "/ *")
    return plain


def speed_names(programme: Programme) -> tuple[tuple[str, str], ...]:
    """Name and meaning of each speed that is returned."""
    if programme.drive:
        return tuple((o.name, f"speed of {shown(o.label)}, {o.unit}") for o in programme.drive)
    return (
        ("left_permille", "speed of the left side, thousandths of full"),
        ("right_permille", "speed of the right side, thousandths of full"),
    )


def head_lines(programme: Programme, calls: tuple[str, ...]) -> list[str]:
    """Lines of the comment at the head of a file, without comment marks.

    Parameters
    ----------
    programme : Programme
        What is written.
    calls : tuple of str
        How to call it, in the language of the file.
    """
    controller = programme.controller
    lines = [
        f"Motor targets for the chassis {shown(programme.design.name)}, written by Axlewright.",
        f"Chassis fingerprint (SHA-256): {programme.fingerprint[:16]}",
        *(shown_plain(line) for line in verdict_lines(programme.chassis.facts)),
        _method_line(programme),
        *(line for words in programme.given_up for line in textwrap.wrap(words, _WIDTH)),
    ]
    if programme.steer:
        bound = rounded_up(programme.bound_deg, 3)
        lines.append(f"Largest error of a steering angle at any turn: {bound:g} degrees at the wheel")
        lines.append(f"    (asked for: {controller.error:g} {_error_words(programme)}),")
        lines.append("    against the angles that the check shows, be they aligned or not.")
    if programme.drive:
        bound = rounded_up(programme.bound_permille, 3)
        lines.append(f"Largest error of a motor's speed: {bound:g} thousandths of its full speed.")
    parts = [words for part, words in _PART_WORDS.items() if part in programme.parts]
    lines += [f"Parts: {parts[0]}," if len(parts) > 1 else f"Parts: {''.join(parts) or 'none'}."]
    lines += [f"    {words}{'.' if words == parts[-1] else ','}" for words in parts[1:]]
    lines += ["", *calls, "", "Steering targets, in order:"]
    lines += [f"    {o.name}: {shown(o.label)}, {o.unit}" for o in programme.steer] or ["    none"]
    lines.append("Speeds, in order:")
    lines += [f"    {name}: {words}" for name, words in speed_names(programme)]
    return [*lines, "", *CAUTIONS]


def input_lines(programme: Programme) -> list[str]:
    """What may be handed over at a call, and how much time it may count."""
    lines = [f"Inputs are whole numbers from -{FULL} to {FULL}; a positive turn is to the left. ms is the"]
    if programme.parts & {"limiter", "hold"}:
        return [
            *lines,
            f"time since the last call; more than {MOST_MS} counts as {MOST_MS}, so that after a pause the",
            "steering does not leap: call it more often than that.",
        ]
    return [*lines, "time since the last call, on which nothing depends here."]


def _method_line(programme: Programme) -> str:
    table = programme.table
    if programme.formula:
        return "By formula: arctangents on the controller."
    if table is None:
        return "Nothing here depends on the turn, so there is no table."
    spaced = "evenly spaced" if table.spacing == "even" else "freely spaced"
    return f"By table: {len(table.nodes)} {spaced} rows, {programme.size} bytes; whole numbers only."


def _error_words(programme: Programme) -> str:
    unit = programme.controller.error_unit
    return "degrees at the wheel" if unit == "deg" else "mm of drag per metre"


def flags_of(programme: Programme) -> set[str]:
    """Parts of a template that are kept for a programme."""
    table, parts = programme.table, set(programme.parts)
    flags: set[str] = {*parts}
    for name, holds in (
        ("place", bool(parts & {"limiter", "hold"})),
        ("steer", bool(programme.steer)),
        ("drive", bool(programme.drive)),
        ("creep", programme.controller.creep_permille > 0),
        ("formula", programme.formula is not None),
        ("moving", programme.formula is not None and bool(functions_of(programme.formula))),
        ("group", programme.formula is not None and programme.formula.follows(GROUP)),
        ("lead", programme.formula is not None and programme.formula.follows(WHEEL)),
        ("trail", programme.formula is not None and programme.formula.trails),
        ("columns", bool(programme.steer or programme.drive)),
    ):
        if holds:
            flags.add(name)
    if table is not None:
        flags |= {"table", table.spacing}
        if table.value_bytes == 4:
            flags.add("wide")
        if table.turn_bytes == 4:
            flags.add("wide_turn")
        if (table.shift < 0).any():
            flags.add("coarse")
    return flags


def plain_values(programme: Programme, listed: Callable[[Iterable[object]], str]) -> dict[str, str]:
    """What every language is told alike, each list written as `listed` does."""
    controller, steer = programme.controller, programme.steer
    return {
        "p": controller.prefix,
        "steers": str(len(steer)),
        "speeds": str(len(speed_names(programme))),
        "columns": str(len(programme.chassis.outputs)),
        "turn_one": str(programme.turn_one),
        "last": str(programme.last),
        "dead": str(controller.dead_band_permille),
        "creep": str(controller.creep_permille),
        "low": listed(o.low for o in steer),
        "high": listed(o.high for o in steer),
        "rate": listed(o.per_second for o in steer),
        "within": listed(o.within for o in steer),
        "top": listed(o.top for o in programme.drive),
    }
