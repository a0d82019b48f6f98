"""The verdict in words: does every axle point at the turn centre, and if not, which does not."""

from __future__ import annotations

import math
from typing import Literal

from app.picture.view import View, WheelRow
from app.units import LengthUnit, show_angle, show_length, show_number
from app.words.off_course import off_course_words, turning_words
from app.words.remedies import notices, remedy
from geometry.turn_range.range_check import CentreError, WheelAtTurn
from geometry.turn_range.sweep import LandmarkKind

_EXACT = "the motors turn every wheel to its ideal angle"

Tone = Literal["good", "slight", "bad", "empty"]
_JUMP_WORDS: dict[LandmarkKind, str] = {
    "flip": "flips",
    "changes end": "changes its end of travel",
    "jump": "jumps",
}


def tone(view: View) -> Tone:
    """How serious the verdict is; the words carry the same."""
    if not view.design.wheels:
        return "empty"
    worst = view.verdict.state
    return "slight" if worst == "slight drag" else "bad" if worst == "drags" else "good"


def verdict_line(view: View, unit: LengthUnit) -> str:
    """One line: whether every axle points at the centre, else which does not and by how much."""
    if not view.design.wheels:
        return "No wheels yet. Add one from the Edit menu or press Insert."
    off = [row for row in view.rows if row.state in ("slight drag", "drags")]
    if not off:
        return f"{_all_aligned(view)} {turning_error(view, unit)}".rstrip()
    worst = view.rows[view.verdict.worst or 0]
    one = len(off) == 1
    count = "1 axle" if one else f"{len(off)} axles"
    if math.isinf(view.radius):
        what = f"{'is' if one else 'are'} not square to the straight run"
    else:
        what = f"{'misses' if one else 'miss'} the turn centre"
    led = "With its motors: " if view.motored else ""
    error = f" {turning_error(view, unit)}".rstrip()
    text = f"{led}{count} {what}. Worst: {worst.name}, {measures(worst, unit)}.{error}"
    shown = WheelAtTurn(
        worst.index, view.command.turn, view.radius, worst.state, worst.slip, worst.miss, worst.drag
    )
    return f"{text} {remedy(view.facts, shown, unit, view.at_turn)}"


def range_line(view: View, unit: LengthUnit) -> str:
    """One line about the whole range in use: the first fault there, or what flips; then the notices."""
    check = view.facts.check
    reach = view.design.largest_turn
    where = "Over the whole range" if reach == 1 else f"Over turns up to {reach:g}"
    if not view.design.wheels:
        return ""
    if check.worst is None:
        pivots = ", or pivoting on the centre" if check.pivoting else ""
        exact = f"; exact, {_EXACT}" if check.exact else ""
        text = f"{where}: all aligned{pivots}{exact}{_on_the_way(view)}."
        return " ".join([text, *filter(None, [off_course_words(check, unit)]), *notices(view.facts)])
    worst = check.worst
    wheels = "1 wheel drags" if len(check.faulty) == 1 else f"{len(check.faulty)} wheels drag"
    text = (
        f"{where}: {wheels}, most {view.design.wheels[worst.wheel].name} at turn {show_number(worst.turn, 3)}"
    )
    miss = f", missing by {show_length(worst.miss, unit)}" if math.isfinite(worst.miss) else ""
    also = [off_course_words(check, unit), f"Yet {_EXACT}." if check.exact else ""]
    return " ".join(
        [f"{text} (slip {show_angle(abs(worst.slip))}{miss}).", *filter(None, also), *notices(view.facts)]
    )


def turning_error(view: View, unit: LengthUnit) -> str:
    """How far the chassis turns from where it is asked to, as a sentence; empty where that is no way."""
    return turning_words(CentreError(view.radius, view.true_radius, view.gap), unit)


def _on_the_way(view: View) -> str:
    """Which wheels jump somewhere in the range, by what each does."""
    parts = []
    for kind, words in _JUMP_WORDS.items():
        found = sorted({mark.wheel or 0 for mark in view.facts.landmarks if mark.kind == kind})
        if found:
            parts.append(f"; {words} on the way: {', '.join(view.design.wheels[i].name for i in found)}")
    return "".join(parts)


def measures(row: WheelRow, unit: LengthUnit) -> str:
    """Slip, miss and drag of one wheel."""
    parts = [f"slip {show_angle(abs(row.slip))}"]
    if math.isfinite(row.miss):
        parts.append(f"misses by {show_length(row.miss, unit)}")
    parts.append(f"drags {show_number(row.drag, 0)} mm per metre")
    return ", ".join(parts)


def _all_aligned(view: View) -> str:
    flipped = [row.name for row in view.rows if "flipped" in row.notes]
    motors = view.motored
    most = max((abs(row.slip) for row in view.rows if row.state == "aligned"), default=0.0)
    within = f", within {show_angle(most, 2)}" if most > 1e-6 else ""
    if math.isinf(view.radius):
        led = "Straight ahead, with its motors" if motors else "Straight ahead"
        return f"{led}: every axle lies square to the motion{within}."
    pivoting = [row.name for row in view.rows if row.state == "pivots"]
    every = "With its motors, every" if motors else "Every"
    text = f"{every} {'other ' if pivoting else ''}axle points at the turn centre{within}."
    if pivoting:
        text = f"{', '.join(pivoting)} {'pivots' if len(pivoting) == 1 else 'pivot'} on the centre. {text}"
    if flipped:
        text += f" Flipped, rolling the other way: {', '.join(flipped)}."
    return text
