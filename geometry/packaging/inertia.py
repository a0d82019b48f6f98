"""Lumps of mass: where their centre is, and how they resist being turned; mm and kg.

Box, cylinder and prism have closed forms (any text on mechanics); lumps are joined by the theorem of
parallel axes (Huygens and Steiner). All are filled evenly.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from geometry.axes import Floats, frozen_array


@dataclass(frozen=True, eq=False)
class Lump:
    """A rigid thing as a mass; arrays are read-only."""

    mass: float
    """[kg]"""
    centre: Floats
    """(3,): centre of mass [mm]."""
    inertia: Floats
    """(3, 3): about the centre of mass, along the axes of the frame [kg mm2]."""


def box_lump(mass: float, centre: npt.ArrayLike, size: tuple[float, float, float], turn: float = 0.0) -> Lump:
    """A box that stands upright.

    Parameters
    ----------
    mass : float
        [kg]
    centre : array_like, (3,)
        Its middle [mm].
    size : (float, float, float)
        Along its own x and y, and upward [mm].
    turn : float
        About the vertical through its middle [rad].

    Examples
    --------
    >>> np.diag(box_lump(12.0, (0, 0, 0), (1.0, 2.0, 3.0)).inertia)
    array([13., 10.,  5.])
    """
    square = np.square(np.asarray(size, dtype=np.float64))
    own = np.diag(mass / 12.0 * (square.sum() - square))
    c, s = np.cos(turn), np.sin(turn)
    turned = np.array([[c, -s, 0.0], [s, c, 0.0], [0.0, 0.0, 1.0]])
    return _lump(mass, centre, turned @ own @ turned.T)


def cylinder_lump(
    mass: float, centre: npt.ArrayLike, diameter: float, length: float, axis: npt.ArrayLike
) -> Lump:
    """A round cylinder.

    Parameters
    ----------
    mass : float
        [kg]
    centre : array_like, (3,)
        Its middle [mm].
    diameter, length : float
        [mm]
    axis : array_like, (3,)
        Unit vector along its axis.

    Examples
    --------
    A disc and a rod:

    >>> np.diag(cylinder_lump(4.0, (0, 0, 0), 2.0, 0.0, (0, 1, 0)).inertia)
    array([1., 2., 1.])
    >>> np.diag(cylinder_lump(12.0, (0, 0, 0), 0.0, 1.0, (0, 0, 1)).inertia)
    array([1., 1., 0.])
    """
    along = np.asarray(axis, dtype=np.float64)
    radius = 0.5 * diameter
    axial, across = 0.5 * mass * radius**2, mass * (3.0 * radius**2 + length**2) / 12.0
    return _lump(mass, centre, across * np.eye(3) + (axial - across) * np.outer(along, along))


def prism_lump(mass: float, outline: npt.ArrayLike, low: float, high: float) -> Lump:
    """An upright prism over an outline that does not cross itself, in either sense.

    Parameters
    ----------
    mass : float
        [kg]
    outline : array_like, (K, 2)
        Corners seen from above [mm].
    low, high : float
        Heights of its two ends [mm].

    Examples
    --------
    >>> square = prism_lump(12.0, [(0, 0), (1, 0), (1, 2), (0, 2)], 0.0, 3.0)
    >>> square.centre, np.diag(square.inertia)
    (array([0.5, 1. , 1.5]), array([13., 10.,  5.]))
    """
    corner = np.asarray(outline, dtype=np.float64)
    # Far from the origin the sums would lose digits.
    start = corner.mean(axis=0)
    x, y = (corner - start).T
    u, v = np.roll(x, -1), np.roll(y, -1)
    cross = x * v - u * y
    area = 0.5 * cross.sum()
    cx, cy = (x + u) @ cross / (6.0 * area), (y + v) @ cross / (6.0 * area)
    xx = (x * x + x * u + u * u) @ cross / (12.0 * area) - cx**2
    yy = (y * y + y * v + v * v) @ cross / (12.0 * area) - cy**2
    xy = (x * v + 2.0 * x * y + 2.0 * u * v + u * y) @ cross / (24.0 * area) - cx * cy
    zz = (high - low) ** 2 / 12.0
    inertia = mass * np.array([[yy + zz, -xy, 0.0], [-xy, xx + zz, 0.0], [0.0, 0.0, xx + yy]])
    return _lump(mass, (start[0] + cx, start[1] + cy, 0.5 * (low + high)), inertia)


def joined(lumps: Sequence[Lump]) -> Lump:
    """Several lumps as one; at least one of them has a mass.

    Examples
    --------
    >>> halves = [box_lump(1.0, (x, 0, 0), (1.0, 1.0, 1.0)) for x in (-0.5, 0.5)]
    >>> whole = box_lump(2.0, (0, 0, 0), (2.0, 1.0, 1.0))
    >>> bool(np.allclose(joined(halves).inertia, whole.inertia))
    True
    """
    masses = np.array([lump.mass for lump in lumps])
    places = np.array([lump.centre for lump in lumps])
    mass = float(masses.sum())
    centre = masses @ places / mass
    inertia = np.zeros((3, 3))
    for lump, off in zip(lumps, places - centre, strict=True):
        inertia += lump.inertia + lump.mass * (off @ off * np.eye(3) - np.outer(off, off))
    return _lump(mass, centre, inertia)


def _lump(mass: float, centre: npt.ArrayLike, inertia: Floats) -> Lump:
    return Lump(mass, frozen_array(centre), frozen_array(inertia))
