"""Broken rules in the words of the window: the wheel, the motor and the field, not the path in a file."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Literal

from app.units import LengthUnit, show_length
from geometry.errors import AxlewrightError, DesignError, Problem
from geometry.model.design import Design

_WHEEL = {
    "x_mm": "x",
    "y_mm": "y",
    "toe_deg": "toe-in",
    "travel_min_deg": "travel to the right",
    "travel_max_deg": "travel to the left",
}
_MOTOR = {
    "zero_deg": "zero",
    "travel_min_deg": "lowest travel",
    "travel_max_deg": "highest travel",
    "step_deg": "smallest step",
    "top_speed_deg_s": "top speed",
    "counts_per_turn": "counts a turn",
    "neutral_us": "neutral pulse",
    "us_per_90_deg": "pulse for 90°",
    "no_load_rpm": "no-load speed",
    "usable_rpm": "usable speed",
    "units_per_turn": "units a turn",
}
_CHASSIS = {
    "name": "chassis name",
    "body_mm": "body outline",
    "base_axle_x_mm": "base axle x",
    "aligned_within_deg": "aligned within",
    "slight_drag_within_deg": "slight drag within",
}
# A field is called as in the file, without its unit, unless a table above names it.
_UNIT = re.compile(r"_(mm|deg|us|permille|deg_s)$")
_PLACE = re.compile(
    r"(?P<group>wheels|steer_motors|drive_motors)\[(?P<index>\d+)\]"
    r"(?:\.wheels\[(?P<gear>\d+)\])?(?P<rest>[\w.\[\]]*)"
)
_CORNER = re.compile(r"body_mm\[(\d+)\](?:\[(\d)\])?")
_TWICE_NAMED = re.compile(r"wheels\[\d+\] \((.*?)\)")
# Places that hold lengths, a value that is one or a place of two, and the limit in a rule.
_OF_LENGTH = re.compile(r"(?<!^body)_mm$|^body_mm(?:\[\d+\])+$|^wheels\[\d+\]$|^body (?:length|width)$")
_NUMBER = re.compile(r"-?\d+(?:\.\d+)?(?:e[+-]?\d+)?")
_LENGTHS = re.compile(rf"(?:[xy] )?{_NUMBER.pattern}(?:, y {_NUMBER.pattern})?")
_LIMIT = re.compile(
    rf"(at least |at most |above |below |from |to )({_NUMBER.pattern})(?: mm)?(?= *$|,| and| to)"
)
_IN_A_RULE = re.compile(r"(?:wheels|steer_motors|drive_motors|body_mm)\[[\w.\[\]]*|\b[a-z]+_[a-z_0-9]+\b")


def in_words(error: AxlewrightError, design: Design, unit: LengthUnit = "mm") -> str:
    """Say an error as the window names things.

    Parameters
    ----------
    error : AxlewrightError
        Broken rules of a design; any other error keeps its own text.
    design : Design
        The design that was to be changed, whose names are used.
    unit : 'mm' or 'inch'
        Unit of lengths on the screen.

    Returns
    -------
    str
        One line for each broken rule.
    """
    if not isinstance(error, DesignError):
        return str(error)
    return "\n".join(_problem_in_words(problem, design, unit) for problem in error.problems)


def field_word(owner: Literal["wheel", "motor", "chassis"], key: str) -> str:
    """What a field is called in a sentence.

    Examples
    --------
    >>> field_word("wheel", "travel_max_deg"), field_word("chassis", "hole_pitch_mm")
    ('travel to the left', 'hole pitch')
    """
    return _label(key, {"wheel": _WHEEL, "motor": _MOTOR, "chassis": _CHASSIS}[owner])


def short_words(told: str) -> str:
    r"""Say in one line what several lines say of several places.

    Examples
    --------
    >>> short_words("front left, width must be at least 1\nfront right, width must be at least 1")
    'front left, width must be at least 1; likewise front right'
    """
    first, *others = told.split("\n")
    _, comma, rule = first.partition(", ")
    parted = [line.partition(", ") for line in others]
    if not comma or not others or any(words != rule for _, _, words in parted):
        return told
    rest = parted[0][0] if len(parted) == 1 else f"{len(parted)} more"
    return f"{first}; likewise {rest}"


def _problem_in_words(problem: Problem, design: Design, unit: LengthUnit) -> str:
    found = _PLACE.fullmatch(problem.place)
    fields = _MOTOR if found and found["group"] != "wheels" else _WHEEL if found else _CHASSIS
    rule = _TWICE_NAMED.sub(r"\1", problem.rule).replace("be null", "be chosen by rule")
    rule = _IN_A_RULE.sub(lambda m: _inner(m[0], design, fields), rule)
    value = problem.value
    if unit != "mm" and _OF_LENGTH.search(problem.place) and _LENGTHS.fullmatch(value):
        # In mm the number alone says it: that is the unit of the file, and was always told so.
        value = _NUMBER.sub(lambda m: show_length(float(m[0]), unit), value)
        rule = _LIMIT.sub(lambda m: f"{m[1]}{show_length(float(m[2]), unit)}", rule)
    return str(Problem(_start(problem.place, design), rule, value))


def _start(place: str, design: Design) -> str:
    """A place as the beginning of a sentence."""
    found = _PLACE.fullmatch(place)
    if found is None:
        words = _chassis_place(place)
        return words[:1].upper() + words[1:]
    owner, field = _owner_and_field(found, design)
    return f"{owner}, {field}" if field else owner


def _inner(place: str, design: Design, fields: Mapping[str, str]) -> str:
    """A place within a sentence, where a bare field is one of the same wheel or motor."""
    found = _PLACE.fullmatch(place)
    if found is not None:
        owner, field = _owner_and_field(found, design)
        return f"the {field} of {owner}" if field else owner
    if _CORNER.fullmatch(place):
        return _chassis_place(place)
    return f"the {_label(place, fields)}"


def _owner_and_field(found: re.Match[str], design: Design) -> tuple[str, str]:
    """Name of the wheel or motor, and what of it."""
    group, index = found["group"], int(found["index"])
    owners = getattr(design, group)
    known = index < len(owners)
    field = found["rest"].lstrip(".").partition(".")[0].partition("[")[0]
    if group == "wheels":
        return owners[index].name if known else "the new wheel", _label(field, _WHEEL)
    name = owners[index].name if known else "the new motor"
    if found["gear"] is None:
        return name, _label(field, _MOTOR)
    gear = int(found["gear"])
    wheels = owners[index].wheels if known else ()
    wheel = wheels[gear].wheel if gear < len(wheels) else "the new wheel"
    return name, wheel if field == "wheel" else f"gearing of {wheel}"


def _chassis_place(place: str) -> str:
    corner = _CORNER.fullmatch(place)
    if corner is None:
        return _label(place.removeprefix("controller."), _CHASSIS)
    which = f"corner {int(corner[1]) + 1}"
    return f"{which}, {'xy'[int(corner[2])]}" if corner[2] in ("0", "1") else which


def _label(field: str, known: Mapping[str, str]) -> str:
    return known.get(field) or _UNIT.sub("", field).replace("_", " ")
