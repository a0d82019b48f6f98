"""Random shapes, and the same drawn in Shapely."""

from __future__ import annotations

from typing import Any

import numpy as np
import shapely

from geometry.axes import Floats
from geometry.shapes.rectangles import Rectangles, rectangles
from geometry.shapes.sweeps import Sweeps


def scattered(
    random: np.random.Generator, count: int, spread: float = 60.0, size: float = 30.0, round_: float = 0.0
) -> Rectangles:
    """Rectangles of all sizes and angles; a tenth of them have no width, a tenth are points."""
    sides = random.uniform(0.5, size, (2, count))
    sides[1, random.random(count) < 0.1] = 0.0
    sides[:, random.random(count) < 0.1] = 0.0
    x, y = random.uniform(-spread, spread, (2, count))
    radius = random.uniform(0.0, round_, count) if round_ else 0.0
    return rectangles(x, y, sides[0], sides[1], random.uniform(-np.pi, np.pi, count), radius)


def polygons(shapes: Rectangles) -> Any:
    """The rectangles within the roundings."""
    corners = shapes.corners
    return shapely.convex_hull(
        shapely.multipoints(shapely.points(np.stack([corners.real, corners.imag], axis=-1)))
    )


def turning(
    random: np.random.Generator, count: int, spread: float = 40.0, size: float = 30.0, off: float = 40.0
) -> Sweeps:
    """Rectangles that turn about points beside them, through any ranges that hold 0."""
    shape = scattered(random, count, spread, size)
    about = shape.middle + random.uniform(-off, off, count) + 1j * random.uniform(-off, off, count)
    low, high = -random.uniform(0.0, np.pi, count), random.uniform(0.0, np.pi, count)
    return Sweeps(shape, about, low, high)


def posed(sweeps: Sweeps, i: int, angles: Floats) -> Rectangles:
    """One of the shapes at some angles."""
    one = sweeps.shape.take(np.full(len(angles), i))
    return one.turned(sweeps.about[i], np.asarray(angles))
