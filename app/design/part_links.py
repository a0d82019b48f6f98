"""Parts that are tied to a motor or mounted on a wheel follow these: their names, and their end."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import Any

from geometry.model.design import Design

_NOTHING: Mapping[str, str] = {}


def parts_followed(
    design: Design,
    *,
    wheels: Collection[str] | None = None,
    motors: Collection[str] | None = None,
    renamed_wheels: Mapping[str, str] = _NOTHING,
    renamed_motors: Mapping[str, str] = _NOTHING,
) -> dict[str, Any]:
    """The section on parts after wheels or motors were renamed or removed.

    Parameters
    ----------
    design : Design
        The design before.
    wheels, motors : collection of str, optional
        Names that there are afterwards; not given: none is removed.
    renamed_wheels, renamed_motors : mapping of str to str
        New names by old ones.

    Returns
    -------
    dict
        ``packaging``, to be handed to `Design.edited`; empty where no part is touched.
    """
    changed = False
    parts = []
    for part in design.packaging.parts:
        mounted = _followed(part.mounted_on, wheels, renamed_wheels)
        motor = _followed(part.motor, motors, renamed_motors)
        same = (mounted, motor) == (part.mounted_on, part.motor)
        changed = changed or not same
        parts.append(part if same else part.edited(mounted_on=mounted, motor=motor))
    return {"packaging": design.packaging.edited(parts=tuple(parts))} if changed else {}


def _followed(name: str | None, there: Collection[str] | None, renamed: Mapping[str, str]) -> str | None:
    if name is None:
        return None
    now = renamed.get(name, name)
    return None if there is not None and now not in there else now
