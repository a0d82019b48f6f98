"""References to the things of a design: what is selected, gripped or chosen is named by kind and number.

A number alone does not say what it counts, and it means another thing after an edit. A reference says the
kind, and `kept` carries it over an edit to the same thing.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal, get_args

from geometry.model.design import Corner, Design
from geometry.model.motors import DriveMotor, SteerMotor
from geometry.model.packaging import Part
from geometry.model.wheel import Wheel

Kind = Literal["wheel", "corner", "steer motor", "drive motor", "part"]
KINDS: tuple[Kind, ...] = get_args(Kind)


@dataclass(frozen=True)
class Reference:
    """One thing of a design."""

    kind: Kind
    index: int
    """Its place in the list of all things of its kind, from 0."""


Selection = tuple[Reference, ...]
"""Each thing once, ordered as the kinds are and then by number: equal selections compare equal."""


def references_to(kind: Kind, indices: Iterable[int]) -> Selection:
    """Refer to several things of one kind.

    Examples
    --------
    >>> references_to("wheel", {4, 0})
    (Reference(kind='wheel', index=0), Reference(kind='wheel', index=4))
    """
    return tuple(Reference(kind, index) for index in sorted(set(indices)))


def selected(selection: Iterable[Reference], kind: Kind) -> tuple[int, ...]:
    """Numbers of the things of one kind, ascending."""
    return tuple(sorted({reference.index for reference in selection if reference.kind == kind}))


def selected_wheels(selection: Iterable[Reference]) -> tuple[int, ...]:
    """Numbers of the wheels, ascending.

    Examples
    --------
    >>> selected_wheels((Reference("wheel", 3), Reference("corner", 1), Reference("wheel", 0)))
    (0, 3)
    """
    return selected(selection, "wheel")


def existing(references: Iterable[Reference], design: Design) -> Selection:
    """Make a selection of the references to things that the design has."""
    there = [r for r in set(references) if 0 <= r.index < len(_things(design, r.kind))]
    return tuple(sorted(there, key=lambda r: (KINDS.index(r.kind), r.index)))


def kept(references: Iterable[Reference], before: Design, after: Design) -> Selection:
    """Carry references over an edit.

    A wheel, a motor or a part is known by its name; where no thing has that name any more and there are as
    many as before, it was renamed, and the one in its place is meant. A body corner has no name: where there
    are as many as before it is known by its number, else by its place.

    Parameters
    ----------
    references : iterable of Reference
        Things of the design before.
    before, after : Design
        The design before and after the edit, in either direction of time.

    Returns
    -------
    tuple of Reference
        The same things after the edit; those that are gone are left out.
    """
    if before is after:
        return existing(references, after)
    carried = (_carried(reference, before, after) for reference in existing(references, before))
    return existing((reference for reference in carried if reference is not None), after)


def _carried(reference: Reference, before: Design, after: Design) -> Reference | None:
    kind, index = reference.kind, reference.index
    marks, now = _marks(before, kind), _marks(after, kind)
    if kind == "corner" and len(marks) == len(now):
        return reference
    if marks[index] in now:
        return Reference(kind, now.index(marks[index]))
    # Nothing else that was there before may stand in its place: then it is gone, and not renamed.
    if len(marks) == len(now) and now[index] not in marks:
        return reference
    return None


def _marks(design: Design, kind: Kind) -> list[str | Corner]:
    """What each thing of a kind is known by: its name, or the place of a corner."""
    return [thing if isinstance(thing, tuple) else thing.name for thing in _things(design, kind)]


def _things(design: Design, kind: Kind) -> Sequence[Wheel | SteerMotor | DriveMotor | Corner | Part]:
    by_kind: dict[Kind, Sequence[Wheel | SteerMotor | DriveMotor | Corner | Part]] = {
        "wheel": design.wheels,
        "corner": design.body_mm,
        "steer motor": design.steer_motors,
        "drive motor": design.drive_motors,
        "part": design.packaging.parts,
    }
    return by_kind[kind]
