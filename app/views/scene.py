"""What a mark is drawn from: the view, the camera, the theme and what is under the mouse."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt
from PySide6.QtCore import QPointF
from PySide6.QtGui import QFont, QPolygonF

from app.design.references import Reference
from app.picture.view import View
from app.theme import Theme
from app.units import LengthUnit
from app.views.camera import Camera
from geometry.axes import Floats

_FARTHEST_MM = 1e12
CROSS_PX = 12.0
"""Half the size of the cross at the turn centre [px]."""


@dataclass(frozen=True)
class PlanOptions:
    """What the person wants to see."""

    full_circles: bool = False
    labels: bool = True
    ideal: bool = True
    """Whether what would suit is shown beside what the motors do."""
    unit: LengthUnit = "mm"
    faint_lines: bool = False
    """Whether axle lines step back behind what is laid out."""
    motors: bool = False
    """Whether it is shown which motor does what."""
    obstacles: tuple[tuple[float, float, float, float], ...] = ()
    """Left, top, right and bottom of what floats on the plan [px]."""


@dataclass(frozen=True)
class Scene:
    """Everything that a drawing function may use."""

    view: View
    camera: Camera
    theme: Theme
    options: PlanOptions
    font: QFont
    hover: Reference | None = None
    """What is under the mouse."""
    ratio: float = 1.0
    """Device pixels for a pixel."""

    @cached_property
    def contacts(self) -> Floats:
        """Contact points on the screen, (N, 2) [px]."""
        return self.camera.to_screen(self.view.contacts)

    @cached_property
    def centre(self) -> Floats:
        """Turn centre on the screen, (2,) [px]; not finite straight ahead."""
        centre = self.view.centre
        if not np.isfinite(centre).all():
            return centre
        # A centre may be so far away that its pixel is no number; its direction is the same from here.
        return self.camera.to_screen(np.clip(centre, -_FARTHEST_MM, _FARTHEST_MM))

    @cached_property
    def ghosts(self) -> tuple[int, ...]:
        """Wheels whose ideal angle is shown beside the angle that the motors give them."""
        if not self.view.motored or not self.options.ideal:
            return ()
        return tuple(row.index for row in self.view.rows if row.differs)


def polygon(points: npt.ArrayLike) -> QPolygonF:
    """Points (K, 2) [px] as a Qt polygon."""
    return QPolygonF([QPointF(x, y) for x, y in np.asarray(points, dtype=np.float64).tolist()])


def wheel_corners(view: View) -> Floats:
    """Corners of every tyre seen from above, (N, 4, 2) [mm]."""
    return tyre_corners(view, view.heading, view.contacts)


def tyre_corners(view: View, heading: Floats, contact: Floats) -> Floats:
    """Corners of every tyre at a heading (N,) [rad] and a contact point (N, 2), (N, 4, 2) [mm]."""
    wheels = view.design.wheels
    half = 0.5 * np.array([(w.diameter_mm, w.width_mm) for w in wheels]).reshape(-1, 1, 2)
    signs = np.array([(1, 1), (1, -1), (-1, -1), (-1, 1)], dtype=np.float64)
    local = signs * half
    cos, sin = np.cos(heading)[:, None], np.sin(heading)[:, None]
    turned = np.stack(
        [local[..., 0] * cos - local[..., 1] * sin, local[..., 0] * sin + local[..., 1] * cos], axis=-1
    )
    return np.asarray(turned + contact[:, None, :])
