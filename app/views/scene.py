"""What a mark is drawn from: the view, the camera, the theme and what is under the mouse."""

from __future__ import annotations

from dataclasses import dataclass, field
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
from app.views.placing import Box, Memory
from geometry.axes import Floats
from geometry.plane import clip_line

_FARTHEST_MM = 1e12
_EDGE = 26.0
"""How far from the edge the mark of an unseen turn centre stands [px]."""
CROSS_PX = 12.0
"""Half the size of the cross at the turn centre [px]."""


@dataclass(frozen=True)
class PlanOptions:
    """What the person wants to see."""

    full_circles: bool = False
    labels: bool = True
    ideal: bool = True
    """Whether what would suit is shown beside what the motors do."""
    tracks: bool = True
    """Whether each wheel leaves a track on the course."""
    swept: bool = True
    """Whether the space that the robot swept is shown there."""
    unit: LengthUnit = "mm"
    faint_lines: bool = False
    """Whether axle lines step back behind what is laid out."""
    motors: bool = False
    """Whether it is shown which motor does what."""
    parts: bool = False
    """Whether parts are shown, and can be gripped."""
    obstacles: tuple[Box, ...] = ()
    """Left, top, right and bottom of what floats on the plan [px]."""


@dataclass(frozen=True)
class Axles:
    """The axle lines on the screen, clipped to the canvas."""

    start: Floats
    """Contact points, (N, 2) [px]."""
    across: Floats
    """Directions of the lines, (N, 2)."""
    t_in: Floats
    """How far along it each line enters the canvas, (N,) [px]."""
    t_out: Floats
    """How far along it each line leaves it, (N,) [px]; below `t_in` where it misses the canvas."""
    toward: Floats
    """How far along it the nearest point to the turn centre is, (N,) [px]; 0 straight ahead."""


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
    struck: frozenset[Reference] = frozenset()
    """Parts and wheels that collide."""
    passing: tuple[Box, ...] = ()
    """What lies over the plan for a moment, and texts avoid too, as a note [px]."""
    memory: Memory = field(default_factory=Memory)
    """Where the texts stood when they were drawn last; who draws them brings it up to date."""

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
    def axles(self) -> Axles:
        """Where the axle lines run."""
        start = self.contacts
        # A left normal (-sin, cos) in the chassis points to (-cos, sin) on the screen, y down.
        across = np.stack([-np.cos(self.view.heading), np.sin(self.view.heading)], axis=1)
        end = (self.camera.width + 4.0, self.camera.height + 4.0)
        t_in, t_out = clip_line(start, across, (-4.0, -4.0), end)
        toward = np.zeros(len(start))
        if np.isfinite(self.view.centre).all():
            toward = np.einsum("ni,ni->n", self.centre - start, across)
        return Axles(start, across, t_in, t_out, toward)

    @cached_property
    def arrows(self) -> tuple[Floats, Floats]:
        """Where each arrow starts and ends, twice (N, 2) [px]; nan before a wheel that does not roll."""
        view = self.view
        roll = view.alignment.roll[0]
        fastest = float(np.abs(roll).max(initial=0.0))
        share = roll / fastest if fastest > 0 else np.zeros(len(roll))
        share = np.where(np.abs(share) < 1e-3, np.nan, share)
        ahead = np.stack([-np.sin(view.heading), -np.cos(view.heading)], axis=1) * np.sign(share)[:, None]
        radius = np.array([0.5 * w.diameter_mm for w in view.design.wheels]) * self.camera.scale
        start = self.contacts + ahead * (radius + 3.0)[:, None]
        return start, start + ahead * (7.0 + 15.0 * np.abs(share))[:, None]

    @cached_property
    def edge_arrow(self) -> tuple[Floats, Floats]:
        """Tip (2,) [px] and direction (2,) of the arrow at the edge to an unseen turn centre."""
        camera = self.camera
        middle = np.array([0.5 * camera.width, 0.5 * camera.height])
        direction = self.centre - middle
        direction /= np.hypot(*direction)
        low, high = (_EDGE, _EDGE), (camera.width - _EDGE, camera.height - _EDGE)
        _, t = clip_line([middle], [direction], low, high)
        return middle + t[0] * direction, direction

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
