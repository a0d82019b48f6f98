"""All wheels of a design as arrays; here the degrees of wheels become radians."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from typing import Protocol

import numpy as np
import numpy.typing as npt

from geometry.axes import Bools, Floats, frozen_array
from geometry.model.wheel import Wheel


class HasWheels(Protocol):
    """A design, or whatever else has wheels."""

    @property
    def wheels(self) -> Sequence[Wheel]:
        """All N wheels."""


@dataclass(frozen=True)
class WheelArrays:
    """All wheels of a design as read-only arrays of shape (N,); mm and rad."""

    x: Floats
    """Kingpin forward [mm]."""
    y: Floats
    """Kingpin to the left [mm]."""
    along: Floats
    """Contact point ahead of the kingpin along the wheel, e_x = -trail [mm]."""
    across: Floats
    """Contact point to the left of the kingpin across the wheel, e_y [mm]."""
    built_in: Floats
    """Toe as a heading, counter-clockwise positive [rad]: heading = steer + built_in."""
    low: Floats
    """Lower end of travel [rad]."""
    high: Floats
    """Upper end of travel [rad]."""
    diameter: Floats
    """Rolling diameter [mm]."""
    width: Floats
    """Tyre width [mm]."""
    load: Floats
    """Load shares, summing to 1."""
    fixed: Bools
    steered: Bools
    caster: Bools

    def __len__(self) -> int:
        """Number of wheels."""
        return len(self.x)

    def take(self, chosen: npt.ArrayLike) -> WheelArrays:
        """Some of the wheels; the load shares stay as they are.

        Parameters
        ----------
        chosen : array_like
            Indices in any order, or a mask of shape (N,).
        """
        index = np.asarray(chosen)
        index = index if index.size else index.astype(np.int64)
        return WheelArrays(**{f.name: getattr(self, f.name)[index] for f in fields(self)})


def wheel_arrays(design: HasWheels) -> WheelArrays:
    """Lay the wheels out as arrays.

    Toe-in is positive after ISO 8855:2011, so it turns a left-hand wheel clockwise and a
    right-hand one counter-clockwise. Left-hand is a wheel whose contact point, straight
    ahead, is at y >= 0: a lateral offset can carry it over the centre line.

    Examples
    --------
    >>> from geometry.model.design import Design
    >>> left = Wheel(name="L", x_mm=0.0, y_mm=100.0, toe_deg=1.0)
    >>> np.degrees(wheel_arrays(Design(wheels=(left,))).built_in)
    array([-1.])
    >>> len(wheel_arrays(Design()))
    0
    """
    wheels = design.wheels
    rows = [
        (
            w.x_mm,
            w.y_mm,
            -w.trail_mm,
            w.lateral_offset_mm,
            w.toe_deg,
            w.travel_min_deg,
            w.travel_max_deg,
            w.diameter_mm,
            w.width_mm,
            w.load_share,
        )
        for w in wheels
    ]
    table = np.array(rows, dtype=np.float64).reshape(len(wheels), 10).T.copy()
    x, y, along, across, toe, low, high, diameter, width, load = table
    kinds = np.array([w.kind for w in wheels], dtype="<U8")
    return WheelArrays(
        x=frozen_array(x),
        y=frozen_array(y),
        along=frozen_array(along),
        across=frozen_array(across),
        built_in=frozen_array(np.radians(np.where(y + across >= 0, 0.0 - toe, toe))),
        low=frozen_array(np.radians(low)),
        high=frozen_array(np.radians(high)),
        diameter=frozen_array(diameter),
        width=frozen_array(width),
        load=frozen_array(load / load.sum() if len(load) else load),
        fixed=frozen_array(kinds == "fixed", bool),
        steered=frozen_array(kinds == "steered", bool),
        caster=frozen_array(kinds == "caster", bool),
    )


def straight_contacts(wheels: WheelArrays) -> tuple[Floats, Floats]:
    """Contact points with steered wheels and casters straight ahead, (N,) each [mm]."""
    heading = np.where(wheels.fixed, wheels.built_in, 0.0)
    tx, ty = np.cos(heading), np.sin(heading)
    return (
        wheels.x + wheels.along * tx - wheels.across * ty,
        wheels.y + wheels.along * ty + wheels.across * tx,
    )
