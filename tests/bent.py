"""A bent steer law and a bent scale, for tests: no file can hold them yet.

The law of each wheel is ``angle = r (q + b (1 - cos q))``, whose slope ``r (1 + b sin q)`` is r at 0
and never 0 for a b below 1. The scale is ``told = t_0 + g (q + c q^2 / 2)`` in degrees of shaft,
monotone while ``c |q| < 1``.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from geometry.axes import Floats
from geometry.kinematics.as_built import steer_group
from geometry.kinematics.robot import Robot
from geometry.transmission.scale import Scale
from geometry.transmission.steer_law import Gears, SteerLaw, inverse


@dataclass(frozen=True, eq=False)
class BentLaw:
    """See the head of this module."""

    slope_at_0: Floats
    bend: float | Floats = 0.4
    reach: float = np.pi

    ratio: None = None

    @property
    def ends(self) -> tuple[float, float]:
        return -self.reach, self.reach

    @property
    def steepest(self) -> Floats:
        return np.abs(self.slope_at_0) * (1.0 + np.abs(self.bend))

    def angles(self, shaft: Floats) -> Floats:
        q = np.asarray(shaft)[..., None]
        return np.asarray(self.slope_at_0 * (q + self.bend * (1.0 - np.cos(q))))

    def slopes(self, shaft: Floats) -> Floats:
        return np.asarray(self.slope_at_0 * (1.0 + self.bend * np.sin(np.asarray(shaft)[..., None])))

    def shaft_of(self, wheel: int, angle: Floats) -> Floats:
        return inverse(self, wheel, angle, *self.ends)


@dataclass(frozen=True, eq=False)
class BentScale:
    """See the head of this module."""

    ends: tuple[float, float]
    middle: float = 1_500.0
    gain: float = 10.0
    """Units for a degree of shaft at 0."""
    curve: float = 0.004
    """Change of the slope by its own size, for a degree of shaft."""

    @property
    def least_slope(self) -> float:
        return min(self.gain * (1.0 + self.curve * float(np.degrees(end))) for end in self.ends)

    def command(self, shaft: Floats) -> Floats:
        q = np.degrees(np.asarray(shaft))
        return np.asarray(self.middle + self.gain * (q + 0.5 * self.curve * q * q))

    def shaft(self, told: Floats) -> Floats:
        height = (np.asarray(told) - self.middle) / self.gain
        return np.asarray(np.radians((np.sqrt(1.0 + 2.0 * self.curve * height) - 1.0) / self.curve))


def with_laws(robot: Robot, laws: Mapping[int, SteerLaw], scales: Mapping[int, Scale] | None = None) -> Robot:
    """A robot some of whose steer motors have other laws or scales."""
    scales = {} if scales is None else scales
    every = tuple(scales.get(k, own) for k, own in enumerate(robot.motors.scales))
    steer = tuple(
        steer_group(robot.wheels, group.wheels, laws.get(k, group.law), every[k].ends)
        for k, group in enumerate(robot.motors.steer)
    )
    return replace(robot, motors=replace(robot.motors, steer=steer, scales=every))


def straightened(law: SteerLaw) -> Gears:
    """The law replaced by its slope at 0: what a test of a bent one must tell apart."""
    return Gears(np.asarray(law.slopes(np.array(0.0))))
