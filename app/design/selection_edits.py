"""Edits of what is selected, of whatever kind: where it stands, moving and deleting it.

Every function raises `DesignError` when the edited design breaks a rule.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping

from app.design import body_edits, edits, motor_edits, part_edits
from app.design.references import KINDS, Kind, Reference, Selection, existing, selected, selected_wheels
from geometry.model.design import Design

Place = tuple[float, float]
_MOST_NAMED = 2
_WORDS: dict[Kind, str] = {
    "wheel": "wheel",
    "corner": "body corner",
    "steer motor": "steer motor",
    "drive motor": "drive motor",
    "part": "part",
}
_PARTNERS: dict[Kind, Callable[[Design, int], int | None]] = {
    "wheel": edits.mirror_partner,
    "corner": body_edits.corner_partner,
    "part": part_edits.part_partner,
}


def places_of(design: Design, references: Iterable[Reference]) -> dict[Reference, Place]:
    """Where things stand on the plan [mm]; what has no place of its own, such as a motor, is left out."""
    places: dict[Reference, Place] = {}
    for reference in references:
        if reference.kind == "wheel":
            wheel = design.wheels[reference.index]
            places[reference] = (wheel.x_mm, wheel.y_mm)
        elif reference.kind == "corner":
            places[reference] = design.body_mm[reference.index]
        elif reference.kind == "part":
            part = design.packaging.parts[reference.index]
            places[reference] = (part.x_mm, part.y_mm)
    return places


def move_to(design: Design, places: Mapping[Reference, Place], *, mirror: bool = False) -> Design:
    """Put wheels, corners and parts at places [mm]; with `mirror`, other partners follow to (x, -y)."""
    wheels = {r.index: place for r, place in places.items() if r.kind == "wheel"}
    corners = {r.index: place for r, place in places.items() if r.kind == "corner"}
    parts = {r.index: place for r, place in places.items() if r.kind == "part"}
    moved = edits.move_wheels(design, wheels, mirror=mirror) if wheels else design
    moved = part_edits.move_parts(moved, parts, mirror=mirror) if parts else moved
    return body_edits.move_corners(moved, corners, mirror=mirror) if corners else moved


def with_partners(design: Design, references: Iterable[Reference]) -> Selection:
    """Add to wheels, body corners and parts the partners that stand at their mirrored places.

    Examples
    --------
    >>> pair = edits.add_wheels(Design(), 0.0, 120.0, mirror=True)
    >>> with_partners(pair, [Reference("wheel", 0)])
    (Reference(kind='wheel', index=0), Reference(kind='wheel', index=1))
    """
    chosen = set(references)
    for kind, find in _PARTNERS.items():
        partners = (find(design, index) for index in selected(chosen, kind))
        chosen |= {Reference(kind, partner) for partner in partners if partner is not None}
    return existing(chosen, design)


def delete(design: Design, references: Iterable[Reference], *, mirror: bool = False) -> Design:
    """Remove things of any kind, with `mirror` their partners too; a body keeps at least three corners."""
    chosen = with_partners(design, references) if mirror else tuple(references)
    left = design
    # Motors first and the last ones first: to remove a wheel may take motors away, and numbers change.
    for index in reversed(selected(chosen, "steer motor")):
        left = motor_edits.delete_motor(left, "steer", index)
    for index in reversed(selected(chosen, "drive motor")):
        left = motor_edits.delete_motor(left, "drive", index)
    parts = selected(chosen, "part")
    left = part_edits.delete_parts(left, parts) if parts else left
    wheels, corners = selected_wheels(chosen), selected(chosen, "corner")
    left = edits.delete_wheels(left, wheels) if wheels else left
    return body_edits.delete_corners(left, corners) if corners else left


def bare_motors(before: Design, after: Design, references: Iterable[Reference]) -> str:
    """Say which motors a deletion took along, as the rest of a sentence; empty where it took none.

    Parameters
    ----------
    before, after : Design
        The design before and after the deletion.
    references : iterable of Reference
        What was to be deleted, of whatever kind.
    """
    asked = sum(reference.kind in ("steer motor", "drive motor") for reference in references)
    was, left = (len(d.steer_motors) + len(d.drive_motors) for d in (before, after))
    gone = was - left - asked
    if gone <= 0:
        return ""
    return f", and {'1 motor, which has' if gone == 1 else f'{gone} motors, which have'} no wheel left"


def counted(references: Iterable[Reference]) -> str:
    """Say in words what is selected.

    Examples
    --------
    >>> counted([Reference("wheel", 0), Reference("wheel", 4), Reference("corner", 1)])
    '2 wheels and body corner'
    """
    chosen = tuple(references)
    parts = []
    for kind in KINDS:
        count = len(selected(chosen, kind))
        if count:
            parts.append(_WORDS[kind] if count == 1 else f"{count} {_WORDS[kind]}s")
    return " and ".join(parts)


def named(design: Design, references: Iterable[Reference]) -> str:
    """Say in words which things they are: up to two wheels or two parts by name, all else counted."""
    chosen = tuple(references)
    parts = selected(chosen, "part")
    if len(parts) == len(chosen) and 1 <= len(parts) <= _MOST_NAMED:
        return " and ".join(design.packaging.parts[i].name for i in parts)
    wheels = selected_wheels(chosen)
    if len(wheels) == len(chosen) and 1 <= len(wheels) <= _MOST_NAMED:
        return " and ".join(design.wheels[i].name for i in wheels)
    return counted(chosen)
