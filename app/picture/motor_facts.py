"""What the motors panel shows of one motor, computed from a view."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from app.picture.view import View
from app.units import degrees
from geometry.axes import Floats
from geometry.kinematics.drive_speeds import least_mismatch_rolling, speed_limit
from geometry.model.motors import LARGEST_RATIO, SMALLEST_RATIO, reading_of_shaft

# A wheel whose contact moves less than this share of the faster side stands still.
_AT_REST = 1e-9
# A first wheel that is nearer to straight ahead asks for no ratio [rad].
_STRAIGHT = 1e-9


@dataclass(frozen=True)
class SteerNow:
    """A steer motor at the turn shown."""

    shaft: float
    """Shaft angle from straight ahead [deg]."""
    reading: float
    """What its own scale says [deg]."""
    command: float
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
    off: float
    """How far it stands off the angle that would suit this turn."""
    suits: float
    """Ratio with which it would stand right where the motor's first wheel does; NaN where none does, and
    where its transmission has no ratio."""


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
        self._response = view.response
        self._motors = view.robot.motors

    def steer_now(self, index: int) -> SteerNow:
        """A steer motor's angle, reading and command."""
        shaft = self._response.shaft[0, index]
        angle = degrees(float(shaft))
        reading = reading_of_shaft(self._view.design.steer_motors[index], angle)
        command = float(self._motors.scales[index].command(shaft))
        return SteerNow(angle, reading, command, bool(self._response.stopped[0, index]))

    def steered_wheels(self, index: int) -> dict[str, SteeredWheel]:
        """Travel, step, play and error of each wheel of a steer motor, and the ratio that suits, by name."""
        motor, group = self._view.design.steer_motors[index], self._motors.steer[index]
        ends = degrees(1.0) * group.law.angles(np.array([group.low, group.high]))
        sizes = np.abs(group.law.slopes(self._response.shaft[0, index])).tolist()
        # Where the travels share no angle, the lower end stays above the higher one.
        order = np.sign(group.law.slopes(np.array(0.0)))
        ideal = self._response.ideal.steer[0, group.wheels]
        off = np.abs(self._response.solution.steer[0, group.wheels] - ideal)
        suits = self._suiting_ratios(index, ideal)
        found = {}
        for n, (gearing, two) in enumerate(zip(motor.wheels, ends.T.tolist(), strict=True)):
            low, high = two if order[n] > 0 else two[::-1]
            step, play = motor.step_deg * sizes[n], motor.backlash_deg * sizes[n]
            found[gearing.wheel] = SteeredWheel(low, high, step, play, degrees(float(off[n])), suits[n])
        return found

    def _suiting_ratios(self, index: int, ideal: Floats) -> list[float]:
        """Ratios that take all wheels of a steer motor to their ideal angles with its first one."""
        law = self._motors.steer[index].law
        if law.ratio is None or abs(ideal[0]) < _STRAIGHT:
            return [math.nan] * len(ideal)
        shaft = float(law.shaft_of(0, ideal[:1])[0])
        ratios = [float(f"{angle / shaft:.9g}") for angle in ideal.tolist()]
        return [ratio if SMALLEST_RATIO <= abs(ratio) <= LARGEST_RATIO else math.nan for ratio in ratios]

    def drive_now(self, index: int) -> DriveNow:
        """Speed limits of the chassis, and this motor's part in them."""
        here = float(speed_limit(self._motors, self._response.drive)[0])
        turns = float(self._response.drive[0, index])
        turns_s = turns * here if math.isfinite(here) else 0.0
        usable = self._motors.drive[index].usable
        return DriveNow(here, self._view.robot.full_speed, turns_s, abs(turns_s) >= usable * (1 - 1e-9))

    def driven_wheels(self, index: int) -> dict[str, DrivenWheel]:
        """Slip of each wheel of a drive motor, and the ratio that suits this turn, by name."""
        motor, group = self._view.design.drive_motors[index], self._motors.drive[index]
        suits = least_mismatch_rolling(group, self._response.ideal.roll[0]) / group.rolling
        solution, found = self._response.solution, {}
        for n, gearing in enumerate(motor.wheels):
            i = group.wheels[n]
            moved = float(np.hypot(solution.roll[0, i], solution.side[0, i]))
            slip = 1000.0 * float(self._response.mismatch[0, i]) / moved if moved > _AT_REST else math.nan
            ratio = float(f"{gearing.turns * float(suits[n]):.9g}")
            usable = SMALLEST_RATIO <= abs(ratio) <= LARGEST_RATIO
            found[gearing.wheel] = DrivenWheel(slip, ratio if usable else math.nan)
        return found
