"""The verdict in words: first of the whole range in use, then of the turn that is shown, then what to do.

The range rules: a chassis that is good at this turn and bad elsewhere is not good.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Literal

from app.design.facts import Facts
from app.picture.view import View, WheelRow
from app.units import LengthUnit, show_angle, show_length, show_number
from app.words.lengths import show_drag
from app.words.notices import notices, some_names
from app.words.off_course import off_course_words, turning_words
from geometry.kinematics.alignment import ALIGNED
from geometry.turn_range.range_check import CentreError, WheelAtTurn
from geometry.turn_range.sweep import LandmarkKind

_EXACT = "the motors turn every wheel to its ideal angle"
# Turns closer than this are one turn in words, as they are when shown with two decimals.
_SAME_TURN = 0.005
# A slip angle below this is not told [rad].
_ROUNDING = 1e-6

Tone = Literal["good", "slight", "bad", "empty"]
_JUMP_WORDS: dict[LandmarkKind, str] = {
    "flip": "Flips",
    "changes end": "Changes its end of travel",
    "jump": "Jumps",
}


def tone(facts: Facts) -> Tone:
    """How serious the verdict on the range in use is; the words of `headline` carry the same."""
    check = facts.check
    if not facts.design.wheels:
        return "empty"
    if check.off_course is not None or (check.worst is not None and check.worst.state == "drags"):
        return "bad"
    return "good" if check.aligned else "slight"


def headline(facts: Facts, unit: LengthUnit) -> str:
    """One sentence on the whole range in use: aligned, or where and how much it drags at most."""
    check = facts.check
    if not facts.design.wheels:
        return "Nothing to check yet."
    worst = check.worst
    if check.off_course is not None and (worst is None or worst.state != "drags"):
        return off_course_words(check, unit)
    if worst is not None:
        return _drag_words(facts, worst, unit)
    # What shared motors do has no simple roots, so that only the turns looked at are known.
    motors = bool(facts.robot.motors)
    return _led(facts, f"aligned at every turn{' checked' if motors else ''}{_up_to(facts)}.")


def this_turn(view: View, unit: LengthUnit) -> str:
    """One line on the turn that is shown: whether every axle points at the centre, else which does not."""
    if not view.design.wheels:
        return "No wheels yet. Add one from the Edit menu or press Insert: the verdict appears with it."
    off = [row for row in view.rows if row.state in ("slight drag", "drags")]
    text = _off(view, off, unit) if off else _all_aligned(view, unit)
    return f"{_named_turn(view)}: {text} {turning_error(view, unit)}".rstrip()


def what_to_do(facts: Facts, unit: LengthUnit) -> tuple[str, ...]:
    """What else there is to say of the range, sentence by sentence, the most helpful first.

    Of a chassis that drags the worst wheel with the remedy for it; of an aligned one what flips or
    pivots on the way; then what is taken for granted.
    """
    check = facts.check
    if not facts.design.wheels:
        return ()
    worst = check.worst
    if worst is None:
        exact = f"Exact: {_EXACT}." if check.exact else ""
        told = [exact, _within(facts), _pivots(facts), *_on_the_way(facts)]
    else:
        count = len(check.faulty)
        wheels = "1 wheel drags" if count == 1 else f"{count} wheels drag"
        miss = f", missing by {show_length(worst.miss, unit)}" if math.isfinite(worst.miss) else ""
        name = facts.design.wheels[worst.wheel].name
        slip = show_angle(abs(worst.slip))
        told = [
            f"{wheels}, most {name} at turn {show_number(worst.turn, 3)} (slip {slip}{miss}).",
            # Each remedy is proved by trials: that is for the end of a drag.
            "" if facts.previewing else _remedy(facts, worst, unit),
            _off_course_too(facts, worst, unit),
            f"Yet {_EXACT}." if check.exact else "",
        ]
    return tuple(filter(None, [*told, *notices(facts)]))


def _remedy(facts: Facts, worst: WheelAtTurn, unit: LengthUnit) -> str:
    # Late: a window that opens with a good chassis looks for no causes.
    from app.words.remedies import on_screen, remedy

    return on_screen(remedy(facts, worst, unit))


def longest_lines(facts: Facts, unit: LengthUnit) -> tuple[str, str]:
    """About the longest headline and the longest line on a turn of a design, to keep room for them."""
    wheels = facts.design.wheels
    if not wheels:
        return "", ""
    in_use = "" if facts.design.largest_turn == 1 else " in use"
    name = max((wheel.name for wheel in wheels), key=len)
    length = show_length(max(1000.0, 4.0 * facts.size) + 0.125, unit, of_mm=1)
    most = show_drag(1000.0, unit) if unit == "mm" else show_drag(988.0, unit)
    turned = f" It turns {length} tighter than asked, its centre {length} off." if facts.robot.motors else ""
    off = f"slip 90.0°, misses by {length}, drags {most}.{turned}"
    return (
        _led(facts, f"it drags over part of the range{in_use}, by up to {most}."),
        f"This turn, -0.9999: {len(wheels)} axles miss the turn centre. Worst: {name}, {off}",
    )


def turning_error(view: View, unit: LengthUnit) -> str:
    """How far the chassis turns from where it is asked to, as a sentence; empty where that is no way."""
    return turning_words(CentreError(view.radius, view.true_radius, view.gap), unit)


def measures(row: WheelRow, unit: LengthUnit) -> str:
    """Slip, miss and drag of one wheel."""
    parts = [f"slip {show_angle(abs(row.slip))}"]
    if math.isfinite(row.miss):
        parts.append(f"misses by {show_length(row.miss, unit)}")
    parts.append(f"drags {show_drag(row.drag, unit, digits=0)}")
    return ", ".join(parts)


def _drag_words(facts: Facts, worst: WheelAtTurn, unit: LengthUnit) -> str:
    how = "it drags" if worst.state == "drags" else "slight drag"
    return _led(facts, f"{how} {_extent(facts)}, by up to {show_drag(worst.drag, unit)}.")


def _off_course_too(facts: Facts, worst: WheelAtTurn, unit: LengthUnit) -> str:
    """Of a chassis that drags and does not turn as asked: that of the two that is not the headline."""
    if facts.check.off_course is None:
        return ""
    return off_course_words(facts.check, unit) if worst.state == "drags" else _drag_words(facts, worst, unit)


def _led(facts: Facts, text: str) -> str:
    if facts.robot.motors:
        return f"With these motors{'' if text.startswith('it ') else ':'} {text}"
    text = text.removeprefix("it ")
    return text[:1].upper() + text[1:]


def _up_to(facts: Facts) -> str:
    reach = facts.design.largest_turn
    return "" if reach == 1 else f" in use, up to {reach:g}"


def _extent(facts: Facts) -> str:
    """Where in the range some wheel drags."""
    check = facts.check
    turns, in_use = check.faulty_turns, "" if facts.design.largest_turn == 1 else " in use"
    if len(turns) == len(check.dense.turns):
        return f"at every turn{in_use}"
    if (abs(turns) >= 1.0 - _SAME_TURN).all():
        return "on the spot"
    if (abs(turns) <= _SAME_TURN).all():
        return "straight ahead"
    return f"over part of the range{in_use}"


def _named_turn(view: View) -> str:
    turn = view.command.turn
    if turn == 0:
        return "This turn, straight ahead"
    return "This turn, on the spot" if abs(turn) == 1 else f"This turn, {show_number(turn, 4)}"


def _off(view: View, off: Sequence[WheelRow], unit: LengthUnit) -> str:
    worst = view.rows[view.verdict.worst or 0]
    one = len(off) == 1
    count = "1 axle" if one else f"{len(off)} axles"
    if math.isinf(view.true_radius):
        what = f"{'is' if one else 'are'} not square to the straight run"
    else:
        what = f"{'misses' if one else 'miss'} the turn centre"
    return f"{count} {what}. Worst: {worst.name}, {measures(worst, unit)}."


def _all_aligned(view: View, unit: LengthUnit) -> str:
    flipped = [row.name for row in view.rows if "flipped" in row.notes]
    pivoting = [row.name for row in view.rows if row.state == "pivots"]
    most = max((abs(row.slip) for row in view.rows if row.state == "aligned"), default=0.0)
    within = f", within {show_angle(most, 2)}" if most > _ROUNDING else ""
    radius = view.true_radius
    if math.isinf(radius):
        return f"every axle lies square to the motion{within}."
    where = f", {show_length(abs(radius), unit)} {'left' if radius > 0 else 'right'}"
    # On the spot the centre is on the centre line, to neither side.
    where = "" if abs(radius) < 0.05 else where
    text = f"every {'other ' if pivoting else ''}axle points at the turn centre{where}{within}."
    if pivoting:
        verb = "pivots" if len(pivoting) == 1 else "pivot"
        text = f"{some_names(pivoting)} {verb} on the centre, {text}"
    if flipped:
        text += f" Flipped, rolling the other way: {some_names(flipped)}."
    return text


def _within(facts: Facts) -> str:
    """How far axles are off that count as aligned; nothing where they are off by no more than rounding."""
    response = facts.check.dense.response
    slip = abs(response.alignment.slip[response.states == ALIGNED])
    most = float(slip.max(initial=0.0))
    if most <= _ROUNDING:
        return ""
    told = show_angle(most, 2)
    off = f"up to {told} off" if float(told.removesuffix("°")) else "off by less than 0.01°"
    limit = f"{facts.design.aligned_within_deg:g}°"
    return f"Within {limit}, which counts as aligned, but not exact: axles are {off}."


def _pivots(facts: Facts) -> str:
    """Which wheels stand on the centre somewhere in the range."""
    names = [facts.design.wheels[n].name for n in facts.check.pivoting]
    return f"Pivots on the centre on the way: {some_names(names)}." if names else ""


def _on_the_way(facts: Facts) -> list[str]:
    """Which wheels jump somewhere in the range, by what each does."""
    told = []
    for kind, words in _JUMP_WORDS.items():
        found = sorted({mark.wheel or 0 for mark in facts.landmarks if mark.kind == kind})
        if found:
            told.append(f"{words} on the way: {some_names([facts.design.wheels[i].name for i in found])}.")
    return told
