"""What the motors panel shows of one motor, computed from a view."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from app.look import View
from app.units import degrees
from geometry.as_built import AsBuilt, MotorArrays, as_built
from geometry.driving import least_mismatch_rolling, speed_limit
from geometry.motors import LARGEST_RATIO, SMALLEST_RATIO, reading_of_shaft, told_of_reading

# A wheel whose contact moves less than this share of the faster side stands still.
_AT_REST = 1e-9


@dataclass(frozen=True)
class SteerNow:
    """A steer motor at the turn shown."""

    shaft: float
    """Shaft angle from straight ahead [deg]."""
    reading: float
    """What its own scale says [deg]."""
    told: float
    """What its controller is told, in its unit."""
    stopped: bool
    """Whether its travel stops it short."""


@dataclass(frozen=True)
class SteeredWheel:
    """What a steer motor makes of one wheel [deg]."""

    low: float
    """Furthest to the right that the motor can turn it, given its own travel and that of its other
    wheels; above `high` where the travels share no angle."""
    high: float
    """Furthest to the left."""
    step: float
    """Turn of the wheel for the smallest step of the motor; 0: stepless."""
    play: float
    """Play at the wheel, from end to end."""


@dataclass(frozen=True)
class DriveNow:
    """A drive motor at the turn shown, and the largest speed of the whole chassis."""

    here: float
    """Largest speed of the faster side at this turn [mm/s]."""
    straight: float
    """The same straight ahead [mm/s]."""
    turns_s: float
    """What this motor turns at the largest speed here [turns/s]."""
    limits: bool
    """Whether it is this motor that sets the largest speed here."""


@dataclass(frozen=True)
class DrivenWheel:
    """What a drive motor makes of one wheel."""

    slip: float
    """Rolled too far (positive) or too little for each metre travelled [mm/m]; NaN where it stands."""
    suits: float
    """Ratio that agrees with the motor's first wheel at this turn; NaN where none does."""


class MotorFacts:
    """All motors at the turn shown."""

    def __init__(self, view: View) -> None:
        self._view = view
        self._motors: MotorArrays = view.facts.check.motors
        self._built: AsBuilt = view.built or as_built(view.facts.wheels, self._motors, view.asked)

    def steer_now(self, index: int) -> SteerNow:
        """A steer motor's angle, reading and command."""
        motor = self._view.design.steer_motors[index]
        shaft = degrees(float(self._built.shaft[0, index]))
        reading = reading_of_shaft(motor, shaft)
        return SteerNow(shaft, reading, told_of_reading(motor, reading), bool(self._built.stopped[0, index]))

    def steered_wheels(self, index: int) -> dict[str, SteeredWheel]:
        """Travel, step and play of each wheel of a steer motor, by name."""
        motor, group = self._view.design.steer_motors[index], self._motors.steer[index]
        found = {}
        for gearing in motor.wheels:
            ends = degrees(group.low) * gearing.turns, degrees(group.high) * gearing.turns
            low, high = ends if gearing.turns > 0 else ends[::-1]
            size = abs(gearing.turns)
            found[gearing.wheel] = SteeredWheel(low, high, motor.step_deg * size, motor.backlash_deg * size)
        return found

    def drive_now(self, index: int) -> DriveNow:
        """Speed limits of the chassis, and this motor's part in them."""
        here = float(speed_limit(self._motors, self._built.drive)[0])
        turns = float(self._built.drive[0, index])
        turns_s = turns * here if math.isfinite(here) else 0.0
        usable = self._motors.drive[index].usable
        return DriveNow(here, self._view.facts.full_speed, turns_s, abs(turns_s) >= usable * (1 - 1e-9))

    def driven_wheels(self, index: int) -> dict[str, DrivenWheel]:
        """Slip of each wheel of a drive motor, and the ratio that suits this turn, by name."""
        motor, group = self._view.design.drive_motors[index], self._motors.drive[index]
        suits = least_mismatch_rolling(group, self._built.ideal.roll[0]) / group.rolling
        solution, found = self._built.solution, {}
        for n, gearing in enumerate(motor.wheels):
            i = group.wheels[n]
            moved = float(np.hypot(solution.roll[0, i], solution.side[0, i]))
            slip = 1000.0 * float(self._built.mismatch[0, i]) / moved if moved > _AT_REST else math.nan
            ratio = float(f"{gearing.turns * float(suits[n]):.9g}")
            usable = SMALLEST_RATIO <= abs(ratio) <= LARGEST_RATIO
            found[gearing.wheel] = DrivenWheel(slip, ratio if usable else math.nan)
        return found
