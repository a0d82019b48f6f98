"""The box around a robot that stands straight, and the lanes that a box can be moved through."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from geometry.turning_space.outlines import Outlines


@dataclass(frozen=True)
class Box:
    """The smallest box along x and y around body, tyres and parts, wheels straight ahead [mm]."""

    front: float
    rear: float
    left: float
    right: float

    @property
    def length(self) -> float:
        """Along x [mm]."""
        return self.front - self.rear

    @property
    def width(self) -> float:
        """Along y [mm]."""
        return self.left - self.right


def box_of(straight: Outlines) -> Box | None:
    """The box around one outline; None around nothing."""
    corners = straight.corners[0]
    if not len(corners):
        return None
    (rear, right), (front, left) = corners.min(axis=0).tolist(), corners.max(axis=0).tolist()
    return Box(front, rear, left, right)


def any_motion_lane(length: float, width: float) -> float:
    """Narrowest right-angled lane through which a box can be steered by whatever motion.

    Parameters
    ----------
    length, width : float
        Sides of the box; it goes ahead along its length, in both lanes [mm].

    Returns
    -------
    float
        Width, the same before and after the corner [mm].

    Notes
    -----
    With the ends of one long side on the two outer walls and turned by t, the lane's inner corner asks for
    ``(W + L sin t cos t) / (sin t + cos t)``: largest at 45 degrees or at an end.

    Examples
    --------
    >>> round(any_motion_lane(360.0, 260.0), 3), round(any_motion_lane(100.0, 100.0), 3)
    (311.127, 106.066)
    """
    return float(max(width, (length + 2.0 * width) / (2.0 * np.sqrt(2.0))))


def sliding_lane(length: float, width: float) -> float:
    """The same where the box may also slide sideways, and so need not turn at all.

    Examples
    --------
    >>> sliding_lane(100.0, 100.0), round(sliding_lane(360.0, 260.0), 3)
    (100.0, 311.127)
    """
    return min(max(length, width), any_motion_lane(length, width))
