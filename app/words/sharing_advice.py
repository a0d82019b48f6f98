"""Advice on sharing steer motors, in words."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from fractions import Fraction
from typing import TYPE_CHECKING

from app.units import LengthUnit, decimals, degrees, show_angle, show_number
from app.words.lengths import drag_unit, in_drag_unit, show_drag
from geometry.model.design import Design
from geometry.turn_range.sweep import Landmark, LandmarkKind

if TYPE_CHECKING:  # the search is loaded when it is asked for
    from geometry.motor_sharing.advice import FlipFacts
    from geometry.motor_sharing.grouping import Group, Grouping

_LARGEST_DENOMINATOR = 12
_VERBS: dict[LandmarkKind, str] = {
    "flip": "flips",
    "changes end": "goes from one end of travel to the other",
    "jump": "jumps",
}
_AS_GOOD_AS_EQUAL = 1e-9
_ASTRAY = (
    "Not for use: the chassis does not turn as it is asked to. Somewhere in this range its rate of turn is "
    "off by half of the largest or more, so that little drag says nothing."
)
# Turn inputs this near are the same.
_SAME_TURN = 1e-6
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


def flips_in_short(grouping: Grouping, digits: int = 3) -> str:
    """How many wheels jump, and from which size of turn input on, with so many decimals."""
    if not grouping.flips:
        return "none"
    first = min(abs(mark.turn) for mark in grouping.flips)
    return f"{len(grouping.flips)} from {first:.{digits}f}"


def flips_words(names: Sequence[str], jumps: Iterable[Landmark]) -> str:
    """Which wheels jump at which turn inputs, or that none does."""
    marks = [(mark.turn, names[mark.wheel]) for mark in jumps if mark.wheel is not None]
    turns = sorted({f"{turn:+.3f}" for turn, _ in marks}, key=float)
    return (
        "; ".join(
            f"at {at} " + ", ".join(name for turn, name in marks if f"{turn:+.3f}" == at) for at in turns
        )
        or "none"
    )


def losses_words(names: Sequence[str], grouping: Grouping, unit: LengthUnit = "mm") -> str:
    """What each wheel loses against a motor of its own, and how far the motors turn."""
    if grouping.exact:
        lost = "No wheel loses anything against a motor of its own."
    else:
        each = [
            f"{name} {in_drag_unit(loss, unit):.{decimals(unit, 1)}f}"
            for name, loss in zip(names, grouping.lost, strict=True)
            if loss >= 0.05  # what shows as 0.0 is no loss
        ]
        least = f"less than {show_drag(0.1, unit, digits=1, suffix=False)}"
        short = drag_unit(unit, short=True)
        lost = f"Lost against a motor for each wheel, {short} at most: {', '.join(each) or least}."
    turns = "; ".join(_range(low, high) for low, high in grouping.shaft)
    astray = [_ASTRAY] if grouping.off_course else []
    return "\n".join([*astray, lost, f"Its motors turn from {turns}.", *_jumps(names, grouping)])


def _jumps(names: Sequence[str], grouping: Grouping) -> list[str]:
    """A line for each kind of jump that there is."""
    found = []
    for kind, verb in _VERBS.items():
        marks = [mark for mark in grouping.flips if mark.kind == kind]
        if marks:
            found.append(f"It {verb} {flips_words(names, marks)}.")
    return found


def _range(low: float, high: float) -> str:
    return f"{show_angle(low)} to {show_angle(high)}"


def radius_words(grouping: Grouping) -> str:
    """The largest error of the turn radius, in percent."""
    return "∞" if math.isinf(grouping.radius_error) else f"{100.0 * grouping.radius_error:.1f}"


def flip_advice(design: Design, facts: FlipFacts, unit: LengthUnit = "mm") -> str:
    """Say plainly whether a flip can be avoided, and what does; a line for each remedy."""
    names = [wheel.name for wheel in design.wheels]
    if not facts.best.flips:
        return "With the best sharing no wheel flips or jumps within this range."
    verb = "flips" if all(mark.kind == "flip" for mark in facts.best.flips) else "jumps"
    if facts.without is None:
        first = "None of the ways listed avoids a flip or another jump within this range. What does:"
    else:
        first = (
            f"The best sharing {verb} within this range. Without a flip or another jump the best is "
            f"{sharing_words(names, facts.without.groups)}, with {_worst(facts.without, unit)} at worst. "
            "For the best one:"
        )
    return "\n".join([first, *(f"– {remedy}" for remedy in _remedies(design, facts))])


def _remedies(design: Design, facts: FlipFacts) -> list[str]:
    names = [wheel.name for wheel in design.wheels]
    found = []
    if facts.travel_helps:
        short: dict[str, list[str]] = {}
        for i, low, high in facts.travel:
            wheel = design.wheels[i]
            lacks = max(wheel.travel_min_deg - degrees(low), degrees(high) - wheel.travel_max_deg)
            if lacks > _ENOUGH_DEG:
                short.setdefault(_range(low, high), []).append(wheel.name)
        if short:
            each = "; ".join(f"{angles} for {', '.join(wheels)}" for angles, wheels in short.items())
            found.append(f"more travel: {each}")
    first = min(abs(mark.turn) for mark in facts.best.flips)
    if first > 0:
        further = facts.without is None and facts.largest_turn > first + _SAME_TURN
        widest = f", or {facts.largest_turn:.3f} with {sharing_words(names, facts.widest.groups)}"
        found.append(f"a smaller range: turn inputs below {first:.3f}{widest if further else ''}")
    found.append(
        f"stop and turn: stand still {flips_words(names, facts.best.flips)}, turn these wheels, drive on"
    )
    return found


def best_for_each_number(found: Sequence[Grouping]) -> tuple[Grouping, ...]:
    """The best sharing for each number of motors, the fewest first.

    Parameters
    ----------
    found : sequence of Grouping
        Best first, as the search ranks them.

    Returns
    -------
    tuple of Grouping
        Up to the first that loses nothing against a motor for each wheel: more motors win nothing then.
    """
    best: dict[int, Grouping] = {}
    for grouping in found:
        best.setdefault(grouping.motors, grouping)
    shown = []
    for number in sorted(best):
        shown.append(best[number])
        if best[number].exact and not best[number].off_course:
            break
    return tuple(shown)


def recommended(found: Sequence[Grouping]) -> Grouping | None:
    """Which of the best for each number to take: the fewest motors that lose nothing, else the least drag."""
    exact = [grouping for grouping in found if grouping.exact and not grouping.off_course]
    return exact[0] if exact else min(found, key=lambda g: (g.off_course, g.worst, g.motors), default=None)


def sharing_lines(names: Sequence[str], groups: Iterable[Group]) -> str:
    """Groups as words, one motor a line with its short name: ``S1: front left + rear left opposite``."""
    return "\n".join(f"S{n}: {_group_words(names, group)}" for n, group in enumerate(groups, start=1))


def gain_words(names: Sequence[str], grouping: Grouping, unit: LengthUnit = "mm") -> str:
    """In one sentence what a sharing costs."""
    if grouping.off_course:
        return _ASTRAY
    if grouping.exact:
        return "Nothing is lost against a motor for each wheel."
    worst = names[grouping.worst_wheel]
    most = show_drag(grouping.worst, unit, digits=1)
    return f"{worst} drags most: up to {most}, at turn {grouping.worst_turn:+.2f}."


def _worst(grouping: Grouping, unit: LengthUnit) -> str:
    return f"{in_drag_unit(grouping.worst, unit):.{decimals(unit, 1)}f} {drag_unit(unit, short=True)}"
