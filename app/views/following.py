"""The view follows what was changed elsewhere: a thing that was typed out of sight is brought into it."""

from __future__ import annotations

import numpy as np

from app.design.references import Selection, existing
from app.design.selection_edits import Place, places_of
from app.views.camera import Camera
from geometry.model.design import Design

MARGIN_PX = 40
"""What was brought into sight keeps this distance from the edge."""


def changed_places(before: Design, after: Design) -> list[Place]:
    """Where the wheels and body corners stand that an edit moved or added [mm]."""
    changed: list[Place] = []
    for then, now in (
        ([(w.x_mm, w.y_mm) for w in before.wheels], [(w.x_mm, w.y_mm) for w in after.wheels]),
        (list(before.body_mm), list(after.body_mm)),
        (_of_parts(before), _of_parts(after)),
    ):
        there = set(then)
        # Where some were taken away the others have not moved.
        changed += [place for place in now if place not in there] if len(now) >= len(then) else []
    return changed


def _of_parts(design: Design) -> list[Place]:
    return [(part.x_mm, part.y_mm) for part in design.packaging.parts]


def chosen_places(design: Design, selection: Selection) -> list[Place]:
    """Where the selected wheels and body corners stand [mm]."""
    return list(places_of(design, existing(selection, design)).values())


def out_of_sight(camera: Camera, places: list[Place], *, any_of_them: bool) -> bool:
    """Whether places are beyond the canvas: one of them, or else each."""
    if not places:
        return False
    points = camera.to_screen(places)
    out = (points < 0).any(axis=1) | (points > (camera.width, camera.height)).any(axis=1)
    return bool(out.any() if any_of_them else out.all())


def brought_into_sight(camera: Camera, places: list[Place]) -> Camera | None:
    """Move a camera as little as shows all places; None where they need another scale."""
    points = camera.to_screen(places)
    low, high = points.min(axis=0), points.max(axis=0)
    end = np.array([camera.width, camera.height], dtype=np.float64) - MARGIN_PX
    if (high - low > end - MARGIN_PX).any():
        return None
    shift = np.where(low < MARGIN_PX, MARGIN_PX - low, np.where(high > end, end - high, 0.0))
    return camera.panned(*shift.tolist())
