"""Scales: from the shaft of a steer motor to what its controller is told, and back.

A scale is monotone over the motor's range of travel. The kinematics know nothing of it but
that range; errors, rates and the hold in the controller's code rest on its least slope.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np

from geometry.axes import Floats
from geometry.model.motors import SteerMotor, command_of_reading, reading_of_shaft, shaft_range


class Scale(Protocol):
    """How a steer motor's controller counts its shaft angle."""

    @property
    def ends(self) -> tuple[float, float]:
        """Travel of the shaft from straight ahead, low and high [rad]."""

    @property
    def least_slope(self) -> float:
        """Least change of what is told for a degree of shaft within `ends` [units/degree]."""

    def command(self, shaft: Floats) -> Floats:
        """What the controller is told for shaft angles (...) from straight ahead [rad], in its unit."""

    def shaft(self, told: Floats) -> Floats:
        """Shaft angles (...) from straight ahead for what the controller is told [rad]."""


@dataclass(frozen=True, eq=False)
class LinearScale:
    """In proportion, from the motor's own settings: zero, direction and unit."""

    motor: SteerMotor

    @property
    def ends(self) -> tuple[float, float]:
        """Travel of the shaft [rad]."""
        low, high = np.radians(shaft_range(self.motor))
        return float(low), float(high)

    @property
    def least_slope(self) -> float:
        """Units for a degree of shaft."""
        match self.motor.unit:
            case "counts":
                return self.motor.counts_per_turn / 360.0
            case "microseconds":
                return self.motor.us_per_90_deg / 90.0
            case _:
                return 1.0

    def command(self, shaft: Floats) -> Floats:
        """What is told for shaft angles (...) [rad].

        Examples
        --------
        >>> from geometry.model.motors import Gearing
        >>> servo = SteerMotor(name="A", wheels=(Gearing(wheel="left", ratio=1.0),), unit="microseconds")
        >>> float(LinearScale(servo).command(np.radians(45.0)).round(6))
        2000.0
        """
        degrees = np.degrees(1.0) * np.asarray(shaft)
        return np.asarray(command_of_reading(self.motor, reading_of_shaft(self.motor, degrees)))

    def shaft(self, told: Floats) -> Floats:
        """Shaft angles (...) for what is told [rad]."""
        motor, start = self.motor, command_of_reading(self.motor, 0.0)
        reading = (np.asarray(told, dtype=np.float64) - start) / self.least_slope
        turned = reading - motor.zero_deg
        return np.asarray(np.radians(-turned if motor.reversed else turned))
