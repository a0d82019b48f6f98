"""The one place where chassis millimetres become pixels: forward is up, left is left."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from geometry.axes import Floats

LEAST_SCALE, MOST_SCALE = 1e-3, 50.0


@dataclass(frozen=True)
class Camera:
    """Where the plan looks, and how large."""

    x: float = 0.0
    """Chassis point at the middle of the canvas, forward [mm]."""
    y: float = 0.0
    """Chassis point at the middle of the canvas, to the left [mm]."""
    scale: float = 1.0
    """Pixels for a millimetre."""
    width: int = 400
    """Canvas [px]."""
    height: int = 300
    """Canvas [px]."""

    def to_screen(self, points: npt.ArrayLike) -> Floats:
        """Chassis points (..., 2) [mm] to pixels, x to the right and y down."""
        p = np.asarray(points, dtype=np.float64)
        out = np.empty_like(p)
        out[..., 0] = 0.5 * self.width - (p[..., 1] - self.y) * self.scale
        out[..., 1] = 0.5 * self.height - (p[..., 0] - self.x) * self.scale
        return out

    def to_chassis(self, px: float, py: float) -> tuple[float, float]:
        """One pixel to the chassis point under it [mm]."""
        return (
            self.x + (0.5 * self.height - py) / self.scale,
            self.y + (0.5 * self.width - px) / self.scale,
        )

    def resized(self, width: int, height: int) -> Camera:
        """The same place on a canvas of another size."""
        return replace(self, width=max(width, 1), height=max(height, 1))

    def panned(self, dx: float, dy: float) -> Camera:
        """Moved so that what is under the mouse follows it by (dx, dy) pixels."""
        return replace(self, x=self.x + dy / self.scale, y=self.y + dx / self.scale)

    def zoomed(self, factor: float, px: float, py: float) -> Camera:
        """Larger by a factor, the point under the pixel staying where it is."""
        scale = min(max(self.scale * factor, LEAST_SCALE), MOST_SCALE)
        x, y = self.to_chassis(px, py)
        ratio = self.scale / scale
        return replace(self, scale=scale, x=x + (self.x - x) * ratio, y=y + (self.y - y) * ratio)

    def fitted(self, points: npt.ArrayLike, margin: float | Sequence[float]) -> Camera:
        """Showing all points within a margin in pixels; unchanged without points.

        The margin is one for all edges, or those at the left, top, right and bottom [px].
        """
        p = np.asarray(points, dtype=np.float64).reshape(-1, 2)
        p = p[np.isfinite(p).all(axis=1)]
        if not len(p):
            return self
        left, top, right, bottom = np.broadcast_to(np.asarray(margin, dtype=np.float64), 4).tolist()
        low, high = p.min(axis=0), p.max(axis=0)
        tall, wide = np.maximum(high - low, 1.0)
        scale = min((self.height - top - bottom) / tall, (self.width - left - right) / wide)
        scale = float(min(max(scale, LEAST_SCALE), MOST_SCALE))
        middle = 0.5 * (low + high)
        # What the margins leave free has its own middle, and there the middle of the points is seen.
        x, y = middle[0] - 0.5 * (bottom - top) / scale, middle[1] - 0.5 * (right - left) / scale
        return replace(self, x=float(x), y=float(y), scale=scale)
