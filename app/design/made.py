"""What was made from a design: remembered by a hash, so that a file from an older design is known as such."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from typing import Literal

from pydantic import Field

from app.design.files import design_text
from geometry.model.design import Design
from geometry.model.frozen import Frozen

MOST_KEPT = 40
_EVERYBODYS = {Design().name, "New chassis"}
"""Names that a chassis has before it is given one: they do not tell whose a file is."""
What = Literal["table", "code", "plan", "gauge", "sheet", "drawing"]
WHATS: tuple[What, ...] = ("table", "code", "plan", "gauge", "sheet", "drawing")
"""What can be made."""


class MadeFile(Frozen):
    """A file, or a folder of files, that was written from a design."""

    what: What
    design: str = Field(max_length=64, description="SHA-256 of the design's file")
    name: str = Field("", max_length=40, description="name of the chassis")
    place: str = Field("", max_length=4_096)
    at: str = Field("", max_length=40, description="when, ISO 8601")


def hash_of(design: Design) -> str:
    """SHA-256 of all that a file of the design holds, as hexadecimal digits."""
    return hashlib.sha256(design_text(design).encode()).hexdigest()


def latest(made: Iterable[MadeFile], what: What, design: Design) -> tuple[MadeFile | None, bool]:
    """The newest file of a kind that was made from a chassis, and whether from the design as it is.

    Parameters
    ----------
    made : iterable of MadeFile
        The newest first.
    what : str
        Kind of file.
    design : Design
        As it is now; an older one is known by the chassis' name.
    """
    of_kind = [one for one in made if one.what == what]
    if not of_kind:
        return None, False
    now = hash_of(design)
    for one in of_kind:
        if one.design == now:
            return one, True
    if design.name in _EVERYBODYS:
        return None, False
    return next((one for one in of_kind if one.name == design.name), None), False
