"""A chassis that does not turn as it is asked to, in words."""

from __future__ import annotations

import math

from app.units import LengthUnit, show_length, show_number
from geometry.turn_range.range_check import CentreError, RangeCheck

# A gap between turn centres below this is not told.
_LEAST_MM = 0.05


def turning_words(turned: CentreError, unit: LengthUnit) -> str:
    """How far the chassis turns from where it is asked to, as a sentence; empty where that is no way."""
    gap, asked, true = turned.gap, turned.asked, turned.true
    if gap <= _LEAST_MM or (math.isinf(asked) and math.isinf(true)):
        return ""
    if math.isinf(asked):
        side = "left" if true > 0 else "right"
        return f"It does not run straight, but turns to the {side} at {show_length(abs(true), unit)}."
    if math.isinf(gap):
        return "It runs straight instead of turning."
    more = abs(true) - abs(asked)
    if asked * true <= 0 or abs(more) <= _LEAST_MM:
        return f"Its turn centre lies {show_length(gap, unit, of_mm=1)} from the one asked for."
    off = f", its centre {show_length(gap, unit, of_mm=1)} off" if gap > 1.05 * abs(more) else ""
    size = show_length(abs(more), unit, of_mm=1)
    return f"It turns {size} {'wider' if more > 0 else 'tighter'} than asked{off}."


def off_course_words(check: RangeCheck, unit: LengthUnit = "mm") -> str:
    """Say that a chassis does not turn as asked, and how at one turn; empty where it does."""
    row = check.off_course
    if row is None:
        return ""
    turn = float(check.dense.turns[row])
    where = "straight ahead" if turn == 0 else f"at turn {show_number(turn, 4)}"
    how = turning_words(check.dense.centre_error(row), unit) or "It drives at less than half of the speed."
    return f"The chassis does not turn as asked, {where}: {how[:1].lower()}{how[1:]}"
