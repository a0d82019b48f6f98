"""Steer laws: from the shaft of a steer motor to the steer angles of the wheels that hang on it.

A law is smooth, and each wheel's angle is strictly monotone on a range of shaft angles that
holds 0, where every wheel stands straight ahead. Gears turn each wheel by a fixed share of
the shaft angle; other transmissions need not. All angles are in radians, counted from
straight ahead.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np

from geometry.axes import Floats


class SteerLaw(Protocol):
    """How the G wheels of one steer motor follow its shaft."""

    @property
    def ratio(self) -> Floats | None:
        """(G,): steer angle by shaft angle, where every wheel follows in proportion; else None."""

    @property
    def ends(self) -> tuple[float, float]:
        """Least and largest shaft angle for which it holds [rad]; infinite for gears."""

    @property
    def steepest(self) -> Floats:
        """(G,): largest size of each wheel's slope within `ends`."""

    def angles(self, shaft: Floats) -> Floats:
        """Steer angles (..., G) at shaft angles (...) within `ends` [rad]."""

    def slopes(self, shaft: Floats) -> Floats:
        """Change of the steer angles by that of the shaft, (..., G), never 0."""

    def shaft_of(self, wheel: int, angle: Floats) -> Floats:
        """Shaft angles at which one wheel, by its place in the group, has steer angles (...) [rad].

        Angles out of the law's reach give the nearer of its ends.
        """


@dataclass(frozen=True, eq=False)
class Gears:
    """Every wheel follows in a fixed ratio.

    Examples
    --------
    >>> Gears(np.array([1.0, -0.5])).angles(np.array([0.2]))
    array([[ 0.2, -0.1]])
    """

    ratio: Floats
    """(G,): steer angle of each wheel by shaft angle; never 0."""

    @property
    def ends(self) -> tuple[float, float]:
        """Gears turn without end."""
        return -np.inf, np.inf

    @property
    def steepest(self) -> Floats:
        """(G,): the sizes of the ratios."""
        return np.abs(self.ratio)

    def angles(self, shaft: Floats) -> Floats:
        """Steer angles (..., G) [rad]."""
        return np.asarray(np.asarray(shaft)[..., None] * self.ratio)

    def slopes(self, shaft: Floats) -> Floats:
        """The ratios, (..., G)."""
        return np.broadcast_to(self.ratio, (*np.shape(shaft), len(self.ratio)))

    def shaft_of(self, wheel: int, angle: Floats) -> Floats:
        """Shaft angles (...) [rad]."""
        return np.asarray(angle / self.ratio[wheel])


@dataclass(frozen=True, eq=False)
class Part:
    """Some of the wheels of another law, by their places in its group."""

    law: SteerLaw
    places: tuple[int, ...]

    @property
    def ratio(self) -> Floats | None:
        """Of these wheels."""
        return None if self.law.ratio is None else self.law.ratio[list(self.places)]

    @property
    def ends(self) -> tuple[float, float]:
        """Of the whole law."""
        return self.law.ends

    @property
    def steepest(self) -> Floats:
        """Of these wheels."""
        return self.law.steepest[list(self.places)]

    def angles(self, shaft: Floats) -> Floats:
        """Steer angles of these wheels [rad]."""
        return np.asarray(self.law.angles(shaft)[..., list(self.places)])

    def slopes(self, shaft: Floats) -> Floats:
        """Slopes of these wheels."""
        return np.asarray(self.law.slopes(shaft)[..., list(self.places)])

    def shaft_of(self, wheel: int, angle: Floats) -> Floats:
        """Shaft angles [rad]."""
        return self.law.shaft_of(self.places[wheel], angle)


def inverse(law: SteerLaw, wheel: int, angle: Floats, low: float, high: float) -> Floats:
    """Shaft angles at which a wheel has given steer angles, for laws that have no closed inverse.

    A wheel's angle is monotone over the shaft, so halving finds it; it ends where two
    neighbouring numbers are reached.

    Parameters
    ----------
    law : SteerLaw
        The law.
    wheel : int
        Place of the wheel in the group.
    angle : ndarray
        Steer angles [rad].
    low, high : float
        Finite shaft angles between which to look [rad].

    Returns
    -------
    ndarray
        Shaft angles, of the shape of `angle`; an end where the angle is out of reach [rad].
    """
    wanted = np.asarray(angle, dtype=np.float64)
    start, end = law.angles(np.array([low, high]))[:, wheel]
    rising = end > start
    below, above = np.full(wanted.shape, low), np.full(wanted.shape, high)
    while True:
        middle = 0.5 * (below + above)
        inside = (middle > below) & (middle < above)
        if not inside.any():
            break
        short = (law.angles(middle)[..., wheel] < wanted) == rising
        below, above = np.where(inside & short, middle, below), np.where(inside & ~short, middle, above)
    near, far = (np.abs(law.angles(one)[..., wheel] - wanted) for one in (below, above))
    found = np.where(near <= far, below, above)
    found = np.where((wanted >= end) == rising, high, found)
    return np.where((wanted <= start) == rising, low, found)
