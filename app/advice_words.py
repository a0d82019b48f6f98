"""Advice on sharing steer motors, in words."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from fractions import Fraction

from app.units import degrees, show_angle, show_number
from geometry.advice import FlipFacts
from geometry.chassis import Design
from geometry.grouping import Group, Grouping

_LARGEST_DENOMINATOR = 12
_AS_GOOD_AS_EQUAL = 1e-9
# Travel that is short by less is there [deg].
_ENOUGH_DEG = 0.01


def sharing_words(names: Sequence[str], groups: Iterable[Group]) -> str:
    """Groups as words: ``front left + rear left opposite; front right alone``."""
    return "; ".join(_group_words(names, group) for group in groups)


def _group_words(names: Sequence[str], group: Group) -> str:
    if len(group) == 1:
        return f"{names[group[0][0]]} alone"
    return " + ".join(_wheel_words(names[wheel], ratio) for wheel, ratio in group)


def _wheel_words(name: str, ratio: float) -> str:
    if ratio in (1.0, -1.0):
        return name if ratio > 0 else f"{name} opposite"
    simple = Fraction(ratio).limit_denominator(_LARGEST_DENOMINATOR)
    exact = abs(float(simple) - ratio) < _AS_GOOD_AS_EQUAL
    return f"{name} at {simple if exact else show_number(ratio, 4)}"


def flips_in_short(grouping: Grouping) -> str:
    """How many wheels jump, and from which size of turn input on."""
    if not grouping.flips:
        return "none"
    first = min(abs(mark.turn) for mark in grouping.flips)
    return f"{len(grouping.flips)} from {first:.3f}"


def flips_words(names: Sequence[str], grouping: Grouping) -> str:
    """Which wheels jump at which turns, or that none does."""
    if not grouping.flips:
        return "none"
    return ", ".join(
        f"{names[mark.wheel]} at {mark.turn:+.3f}" for mark in grouping.flips if mark.wheel is not None
    )


def losses_words(names: Sequence[str], grouping: Grouping) -> str:
    """What each wheel loses against a motor of its own, and how far the motors turn."""
    if grouping.exact:
        lost = "No wheel loses anything against a motor of its own."
    else:
        each = [
            f"{name} {loss:.1f}"
            for name, loss in zip(names, grouping.lost, strict=True)
            if loss >= 0.05  # what shows as 0.0 is no loss
        ]
        lost = f"Lost against a motor for each wheel, mm/m at most: {', '.join(each) or 'less than 0.1'}."
    turns = [f"{show_angle(low)} to {show_angle(high)}" for low, high in grouping.shaft]
    flips = f" Flips: {flips_words(names, grouping)}." if grouping.flips else ""
    return f"{lost} The motors turn from {'; '.join(turns)}.{flips}"


def radius_words(grouping: Grouping) -> str:
    """The largest error of the turn radius, in percent."""
    return "∞" if math.isinf(grouping.radius_error) else f"{100.0 * grouping.radius_error:.1f}"


def flip_advice(design: Design, facts: FlipFacts, reach: float) -> str:
    """Say plainly whether a flip can be avoided, and what does."""
    names = [wheel.name for wheel in design.wheels]
    if not facts.best.flips:
        return "With the best sharing no wheel flips within this range."
    flips = flips_words(names, facts.best)
    if facts.without is not None:
        first = (
            f"The best sharing makes a wheel flip: {flips}. Without a flip the best is "
            f"{sharing_words(names, facts.without.groups)}, with {facts.without.worst:.1f} mm/m at worst."
        )
    else:
        first = f"Every sharing makes a wheel flip within this range; the best one: {flips}."
    return f"{first} What helps: {_remedies(design, facts, reach)}."


def _remedies(design: Design, facts: FlipFacts, reach: float) -> str:
    names = [wheel.name for wheel in design.wheels]
    found = []
    if facts.travel_helps:
        short = [
            f"{names[i]} {show_angle(low)} to {show_angle(high)}"
            for i, low, high in facts.travel
            if degrees(low) < design.wheels[i].travel_min_deg - _ENOUGH_DEG
            or degrees(high) > design.wheels[i].travel_max_deg + _ENOUGH_DEG
        ]
        if short:
            found.append(f"more travel for the best one ({', '.join(short)})")
    if 0 < facts.largest_turn < reach:
        widest = sharing_words(names, facts.widest.groups)
        found.append(f"turns below {facts.largest_turn:.3f} only ({widest})")
    found.append("to stop there, turn the wheels, and drive on")
    return ", or ".join(found)
