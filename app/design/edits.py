"""Edits: functions from design to design, each validated as a whole.

Every function raises `DesignError` when the edited design breaks a rule, with places such
as ``wheels[3].y_mm``; the design that it was given is never changed.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Mapping
from typing import Any

from app.design.body_edits import (
    add_corner,
    body_size,
    delete_corner,
    fit_body,
    move_corner,
    overhangs,
    set_body_size,
    set_overhang,
)
from app.design.motor_edits import followed, names_of_motors
from app.design.part_links import parts_followed
from geometry.errors import DesignError, Problem
from geometry.model.design import Design
from geometry.model.wheel import Wheel

__all__ = [
    "add_corner",
    "add_wheel",
    "add_wheels",
    "body_size",
    "change_chassis",
    "change_wheels",
    "delete_corner",
    "delete_wheels",
    "duplicate_mirrored",
    "fit_body",
    "mirror_partner",
    "move_corner",
    "move_wheels",
    "next_axle",
    "overhangs",
    "partner_name",
    "rename_wheel",
    "set_body_size",
    "set_overhang",
    "snap",
]

# Two wheels this near to mirrored places are partners [mm].
PARTNER_WITHIN_MM = 0.5
# A wheel this near to the centre line has no partner: it is its own mirror image [mm].
ON_CENTRE_LINE_MM = 0.25

# Where the first pair of a chassis stands, to either side of the centre line [mm].
FIRST_Y_MM = 120.0
# A new axle stands so many diameters behind the one before it, where no two axles say how far.
_AXLE_GAP = 1.5

_SIDE_WORD = re.compile(r"\b(left|right)\b", re.IGNORECASE)
_MADE_NAME = re.compile(r"wheel \d+", re.IGNORECASE)
_LONGEST_NAME = 40


def snap(value_mm: float, pitch_mm: float | None) -> float:
    """Move a coordinate to the nearest multiple of the pitch [mm]; None leaves it alone.

    Examples
    --------
    >>> snap(13.0, 8.0), snap(13.0, None), snap(-3.9, 8.0)
    (16.0, 13.0, 0.0)
    """
    if pitch_mm is None:
        return value_mm
    # Cut the rounding of the product, so that 3 * 0.1 is stored as 0.3.
    return round(round(value_mm / pitch_mm) * pitch_mm, 9) + 0.0


def mirror_partner(design: Design, index: int) -> int | None:
    """Find the wheel that stands at the mirrored place of another.

    Returns
    -------
    int or None
        The nearest other wheel within 0.5 mm of (x, -y); None for a wheel on the centre
        line, or where there is none.
    """
    wheel = design.wheels[index]
    if abs(wheel.y_mm) <= ON_CENTRE_LINE_MM:
        return None
    return _wheel_at(design, wheel.x_mm, -wheel.y_mm, but=index)


def move_wheels(design: Design, places: Mapping[int, tuple[float, float]], *, mirror: bool = False) -> Design:
    """Put kingpins at places.

    Parameters
    ----------
    design : Design
        The design before.
    places : mapping of int to (float, float)
        New x and y of wheels by their index [mm].
    mirror : bool
        Whether partners follow to (x, -y), unless they are given a place themselves.
        Partners are those of `design`, not of the moved one.

    Returns
    -------
    Design
        The design after.
    """
    moves = dict(places)
    if mirror:
        for index, (x, y) in places.items():
            partner = mirror_partner(design, index)
            if partner is not None and partner not in places:
                moves[partner] = (x, 0.0 - y)
    return _with_wheels(design, {i: {"x_mm": x, "y_mm": y} for i, (x, y) in moves.items()})


def change_wheels(design: Design, indices: Iterable[int], *, mirror: bool = False, **fields: Any) -> Design:
    """Set fields of several wheels.

    Parameters
    ----------
    design : Design
        The design before.
    indices : iterable of int
        The wheels.
    mirror : bool
        Whether their partners get the mirrored values: y and lateral offset negated,
        travel ends swapped and negated, the name left alone, all else the same.
    **fields
        Fields of `Wheel` and their new values.

    Returns
    -------
    Design
        The design after; references follow a changed name.
    """
    chosen = dict.fromkeys(indices)
    changes = dict.fromkeys(chosen, fields)
    if mirror:
        partners = (mirror_partner(design, index) for index in chosen)
        changes |= {p: _mirrored(fields) for p in partners if p is not None and p not in chosen}
    return _with_wheels(design, changes)


def rename_wheel(design: Design, index: int, name: str, *, mirror: bool = False) -> Design:
    """Give a wheel another name; references to it follow.

    With `mirror` its partner gets the name of the other side, where `partner_name` has one.
    """
    changes = {index: {"name": name.strip()}}
    other = partner_name(design, index, name) if mirror else None
    partner = mirror_partner(design, index)
    if other is not None and partner is not None:
        changes[partner] = {"name": other}
    return _with_wheels(design, changes)


def partner_name(design: Design, index: int, name: str) -> str | None:
    """Say what the partner of a wheel is called once the wheel has a new name.

    Returns
    -------
    str or None
        The name with the words left and right swapped. None where the partner keeps its own:
        the name has neither word, there is no partner, the partner was given a name that does not
        belong to the wheel's, or another wheel has the swapped one.

    Examples
    --------
    >>> pair = add_wheels(Design(), 0.0, 120.0, mirror=True)
    >>> partner_name(pair, 0, "front left"), partner_name(pair, 0, "nose")
    ('front right', None)
    """
    partner = mirror_partner(design, index)
    swapped = _swapped(name.strip())
    if partner is None or swapped == name.strip() or len(swapped) > _LONGEST_NAME:
        return None
    now = design.wheels[partner].name
    ours = _MADE_NAME.fullmatch(now) or now.casefold() == _swapped(design.wheels[index].name).casefold()
    taken = {wheel.name.casefold() for i, wheel in enumerate(design.wheels) if i not in (index, partner)}
    if not ours or now == swapped or swapped.casefold() in taken:
        return None
    return swapped


def add_wheel(design: Design, x_mm: float, y_mm: float, like: int | None = None) -> Design:
    """Add a wheel at the end of the list, with a fresh name such as "wheel 7".

    Parameters
    ----------
    design : Design
        The design before.
    x_mm, y_mm : float
        Kingpin [mm].
    like : int, optional
        Wheel whose properties it copies, mirrored if it stands on the other side.
    """
    place = {"name": _fresh_name(design), "x_mm": x_mm, "y_mm": y_mm}
    values: dict[str, Any] = {}
    if like is not None:
        pattern = design.wheels[like]
        values = dict(pattern)
        if pattern.y_mm * y_mm < 0:
            values |= _mirrored(values)
    return design.edited(wheels=(*design.wheels, values | place))


def add_wheels(design: Design, x_mm: float, y_mm: float, like: int | None = None, *, mirror: bool) -> Design:
    """Add a wheel, with `mirror` as a pair: the left one first, then its mirror image.

    So near to the centre line that the tyres of a pair would touch, it is one wheel on that line.

    Parameters
    ----------
    design : Design
        The design before.
    x_mm, y_mm : float
        Kingpin of either wheel of the pair [mm].
    like : int, optional
        Wheel whose properties they copy, each for its side.
    mirror : bool
        Whether it is a pair.
    """
    if not mirror:
        return add_wheel(design, x_mm, y_mm, like)
    width = (Wheel(name="new", x_mm=0, y_mm=0) if like is None else design.wheels[like]).width_mm
    if abs(y_mm) <= max(0.5 * width, ON_CENTRE_LINE_MM):
        return add_wheel(design, x_mm, 0.0, like)
    left = add_wheel(design, x_mm, abs(y_mm), like)
    return add_wheel(left, x_mm, -abs(y_mm), len(design.wheels))


def next_axle(design: Design, step_mm: float, like: int | None = None) -> tuple[float, float]:
    """Find the place of the next axle: behind the rearmost one, as far as that is behind the one before it.

    Parameters
    ----------
    design : Design
        The design.
    step_mm : float
        The grid, for what no other wheel says [mm].
    like : int, optional
        Wheel whose distance from the centre line it keeps; the rearmost one if not given.

    Returns
    -------
    (x, y) : float
        Kingpin of its left wheel [mm].
    """
    if not design.wheels:
        return 0.0, snap(FIRST_Y_MM, step_mm)
    rearmost = min(design.wheels, key=lambda wheel: wheel.x_mm)
    pattern = rearmost if like is None else design.wheels[like]
    aside = abs(pattern.y_mm) if abs(pattern.y_mm) > ON_CENTRE_LINE_MM else snap(FIRST_Y_MM, step_mm)
    ahead = [w.x_mm - rearmost.x_mm for w in design.wheels if w.x_mm - rearmost.x_mm > PARTNER_WITHIN_MM]
    gap, widest = min(ahead, default=0.0), max(rearmost.diameter_mm, pattern.diameter_mm)
    if gap > widest:
        return round(rearmost.x_mm - gap, 9) + 0.0, aside
    # Down to the grid, so that it is never nearer.
    behind = math.floor((rearmost.x_mm - _AXLE_GAP * widest) / step_mm + 1e-9)
    return round(behind * step_mm, 9) + 0.0, aside


def duplicate_mirrored(design: Design, indices: Iterable[int]) -> Design:
    """Add the mirror image of each wheel, at the end of the list in the same order.

    Raises
    ------
    DesignError
        If a wheel stands on the centre line, or another stands at its mirrored place.
    """
    made = design
    for index in dict.fromkeys(indices):
        wheel = design.wheels[index]
        place = f"wheels[{index}]"
        if abs(wheel.y_mm) <= ON_CENTRE_LINE_MM:
            rule = f"({wheel.name}) stands on the centre line and has no mirrored place; move it aside first"
            raise DesignError([Problem(place, rule, f"y {wheel.y_mm:g}")])
        taken = _wheel_at(made, wheel.x_mm, -wheel.y_mm, but=index)
        if taken is not None:
            rule = f"({wheel.name}) has its mirrored place taken by {made.wheels[taken].name}"
            raise DesignError([Problem(place, rule, f"x {wheel.x_mm:g}, y {-wheel.y_mm:g}")])
        values = {**dict(wheel), **_mirrored(dict(wheel)), "name": _mirrored_name(made, wheel.name)}
        made = made.edited(wheels=(*made.wheels, values))
    return made


def delete_wheels(design: Design, indices: Iterable[int]) -> Design:
    """Remove wheels; references to them become None, so that the rule chooses again."""
    gone = set(indices)
    kept = tuple(wheel for i, wheel in enumerate(design.wheels) if i not in gone)
    names = {wheel.name for wheel in kept}
    motors = followed(design, kept, {})
    return design.edited(
        wheels=kept,
        **motors,
        **parts_followed(design, wheels=names, motors=names_of_motors(motors)),
        left_reference=design.left_reference if design.left_reference in names else None,
        right_reference=design.right_reference if design.right_reference in names else None,
    )


def change_chassis(design: Design, **fields: Any) -> Design:
    """Set fields of the chassis itself, such as ``name`` or ``base_axle_x_mm``."""
    return design.edited(**fields)


def _with_wheels(design: Design, changes: Mapping[int, Mapping[str, Any]]) -> Design:
    """Change fields of wheels by index; validated in one go, so that places are complete."""
    wheels: tuple[Any, ...] = tuple(
        {**dict(wheel), **changes[i]} if i in changes else wheel for i, wheel in enumerate(design.wheels)
    )
    renamed = {design.wheels[i].name: change["name"] for i, change in changes.items() if "name" in change}
    motors = followed(design, wheels, renamed)
    parts = parts_followed(design, renamed_wheels=renamed, motors=names_of_motors(motors))
    if not renamed:
        return design.edited(wheels=wheels, **motors, **parts)
    left, right = design.left_reference, design.right_reference
    return design.edited(
        wheels=wheels,
        **motors,
        **parts,
        left_reference=None if left is None else renamed.get(left, left),
        right_reference=None if right is None else renamed.get(right, right),
    )


def _mirrored(fields: Mapping[str, Any]) -> dict[str, Any]:
    """The same fields for the wheel on the other side; without the name."""
    mirrored = {key: value for key, value in fields.items() if key != "name"}
    for key in ("y_mm", "lateral_offset_mm"):
        if key in mirrored:
            mirrored[key] = 0.0 - mirrored[key]
    for key, other in (("travel_min_deg", "travel_max_deg"), ("travel_max_deg", "travel_min_deg")):
        mirrored.pop(key, None)
        if other in fields:
            mirrored[key] = 0.0 - fields[other]
    return mirrored


def _wheel_at(design: Design, x: float, y: float, *, but: int) -> int | None:
    gaps = [
        (max(abs(other.x_mm - x), abs(other.y_mm - y)), i)
        for i, other in enumerate(design.wheels)
        if i != but
    ]
    gap, index = min(gaps, default=(PARTNER_WITHIN_MM + 1.0, None))
    return index if gap <= PARTNER_WITHIN_MM else None


def _names(design: Design) -> set[str]:
    return {wheel.name.casefold() for wheel in design.wheels}


def _fresh_name(design: Design) -> str:
    taken = _names(design)
    number = len(design.wheels) + 1
    while f"wheel {number}" in taken:
        number += 1
    return f"wheel {number}"


def _mirrored_name(design: Design, name: str) -> str:
    """Swap the words left and right, keeping capitals; else a fresh name."""
    swapped = _swapped(name)
    if swapped.casefold() in _names(design) or len(swapped) > _LONGEST_NAME:
        return _fresh_name(design)
    return swapped


def _swapped(name: str) -> str:
    return _SIDE_WORD.sub(lambda found: _other_side(found.group()), name)


def _other_side(word: str) -> str:
    other = "right" if word.casefold() == "left" else "left"
    if word.isupper():
        return other.upper()
    return other.capitalize() if word[0].isupper() else other
