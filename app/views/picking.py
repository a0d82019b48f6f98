"""What is under a pixel: the wheel or the body corner that a press would grip, and the turn centre."""

from __future__ import annotations

from typing import Literal, get_args

import numpy as np

from app.design.references import Reference
from app.picture.view import View
from app.views.camera import Camera
from app.views.parts import part_under

Spot = Literal["wheel", "corner", "part", "centre", "ground"]
"""What a place of the plan may belong to."""
SPOTS: tuple[Spot, ...] = get_args(Spot)
CORNER_REACH_PX = 9.0
CENTRE_REACH_PX = 12.0
WHEEL_REACH_PX = 10.0


def thing_under(view: View, camera: Camera, px: float, py: float, *, parts: bool = False) -> Reference | None:
    """What a press at a pixel would grip: a wheel, else a body corner, else a part where they are shown."""
    wheel = wheel_under(view, camera, px, py)
    if wheel is not None:
        return Reference("wheel", wheel)
    corner = corner_under(view, camera, px, py)
    if corner is not None:
        return Reference("corner", corner)
    part = part_under(view, camera, px, py) if parts else None
    return None if part is None else Reference("part", part)


def spot_under(
    view: View, camera: Camera, px: float, py: float, *, parts: bool = False
) -> tuple[Reference | None, Spot]:
    """Say what a pixel belongs to, and which thing it is; what can be gripped comes before the centre."""
    thing = thing_under(view, camera, px, py, parts=parts)
    if thing is not None:
        return thing, spot_of(thing)
    return None, "centre" if centre_under(view, camera, px, py) else "ground"


def spot_of(thing: Reference) -> Spot:
    """Which menu belongs to a thing that can be gripped."""
    return {"wheel": "wheel", "part": "part"}.get(thing.kind, "corner")  # type: ignore[return-value]


def centre_under(view: View, camera: Camera, px: float, py: float) -> bool:
    """Whether the cross at the turn centre is under a pixel."""
    if not view.design.wheels or not np.isfinite(view.centre).all():
        return False
    x, y = camera.to_screen(view.centre).tolist()
    return bool(np.hypot(x - px, y - py) <= CENTRE_REACH_PX)


def wheel_under(view: View, camera: Camera, px: float, py: float) -> int | None:
    """The wheel under a pixel; where several are, the one whose kingpin is nearest."""
    wheels = view.design.wheels
    if not wheels:
        return None
    reach = WHEEL_REACH_PX / camera.scale
    at = np.array(camera.to_chassis(px, py))
    gap = at - view.contacts
    cos, sin = np.cos(view.heading), np.sin(view.heading)
    half = np.array([(0.5 * w.diameter_mm, 0.5 * w.width_mm) for w in wheels])
    along, across = np.abs(gap[:, 0] * cos + gap[:, 1] * sin), np.abs(gap[:, 1] * cos - gap[:, 0] * sin)
    on_tyre = (along <= np.maximum(half[:, 0], reach)) & (across <= np.maximum(half[:, 1], reach))
    away = np.hypot(at[0] - view.robot.wheels.x, at[1] - view.robot.wheels.y)
    hit = np.where(on_tyre | (away <= reach), away, np.inf)
    nearest = int(hit.argmin())
    return nearest if np.isfinite(hit[nearest]) else None


def corner_under(view: View, camera: Camera, px: float, py: float) -> int | None:
    """The body corner under a pixel."""
    if not view.design.body_mm:
        return None
    gap = camera.to_screen(np.array(view.design.body_mm)) - (px, py)
    away = np.hypot(gap[:, 0], gap[:, 1])
    nearest = int(away.argmin())
    return nearest if away[nearest] <= CORNER_REACH_PX else None
