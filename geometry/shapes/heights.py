"""Heights of shapes: upright ones, and lying cylinders and wheels, which are wide only about their axis."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from geometry.axes import Floats


@dataclass(frozen=True, eq=False)
class Heights:
    """From where to where things reach upward, and how wide the round ones are there; (N,) each [mm]."""

    low: Floats
    high: Floats
    round_: Floats
    """Radius of a lying cylinder or a wheel; 0 for what is upright."""
    lowest_axis: Floats
    """Of the round ones: where the axis is, or the lowest place that it may take."""
    highest_axis: Floats
    width: Floats
    """Of the round ones: half of the width that comes on top of the chord; of the others, half of all."""

    def take(self, index: npt.ArrayLike) -> Heights:
        """Some of them, by indices or by a mask."""
        i = np.asarray(index)
        return Heights(
            self.low[i],
            self.high[i],
            self.round_[i],
            self.lowest_axis[i],
            self.highest_axis[i],
            self.width[i],
        )

    def raised(self, by: npt.ArrayLike) -> Heights:
        """The same higher up."""
        up = np.asarray(by)
        return Heights(
            self.low + up,
            self.high + up,
            self.round_,
            self.lowest_axis + up,
            self.highest_axis + up,
            self.width,
        )

    def widest(self, low: npt.ArrayLike, high: npt.ArrayLike) -> Floats:
        """Half of the widest chord between two heights, the width of upright things included [mm].

        Examples
        --------
        A wheel of 60 at the axle, 18 above the axle, and where it does not reach:

        >>> wheel = Heights(*(np.array([v]) for v in (0.0, 60.0, 30.0, 30.0, 30.0, 0.0)))
        >>> [float(wheel.widest(low, 100.0)[0]) for low in (20.0, 48.0, 70.0)]
        [30.0, 24.0, 0.0]
        """
        off = np.maximum(
            np.maximum(np.asarray(low) - self.highest_axis, self.lowest_axis - np.asarray(high)), 0.0
        )
        return np.asarray(self.width + np.sqrt(np.maximum(self.round_**2 - off**2, 0.0)))


def height_gap(one: Heights, low: npt.ArrayLike, high: npt.ArrayLike) -> Floats:
    """Gap between the heights of things and spans of heights, below 0 where they share some [mm]."""
    return np.asarray(np.maximum(one.low - np.asarray(high), np.asarray(low) - one.high))


def joined(across: npt.ArrayLike, upward: npt.ArrayLike) -> Floats:
    """Nearest distance of two upright things from the gap of their outlines and that of their heights.

    Examples
    --------
    >>> joined([3.0, -1.0, -1.0], [4.0, 5.0, -2.0])
    array([ 5.,  5., -1.])
    """
    a, u = np.asarray(across, dtype=np.float64), np.asarray(upward, dtype=np.float64)
    apart = np.hypot(np.maximum(a, 0.0), np.maximum(u, 0.0))
    return np.asarray(np.where((a < 0) & (u < 0), np.maximum(a, u), apart))


def left_across(wanted: npt.ArrayLike, upward: npt.ArrayLike) -> Floats:
    """Gap of the outlines that is wanted of two upright things, where their heights have a gap [mm].

    Below 0 where the heights alone are far enough apart.
    """
    w, u = np.asarray(wanted, dtype=np.float64), np.maximum(np.asarray(upward, dtype=np.float64), 0.0)
    return np.asarray(np.where(u > w, -np.inf, np.sqrt(np.maximum(w**2 - u**2, 0.0))))
