"""The closed form: what the controller needs to find the outputs with arctangents.

With s the turn input and h the half-track, the kingpin of a wheel moves with
``vx = 1 - |s| + s ax`` and ``vy = s ay``: from straight ahead along a straight line. Its steer
angle is ``atan2(vy, vx) +- asin(s ex / |v|)``, plus a constant that holds between two jumps:
less its toe, and half a turn where it has flipped. The motor's angle is that by its ratio, held
within the travel. A drive motor's speed is the sum of its wheels' rolling speeds
``vx cos t + vy sin t - s ey``, each with a weight.

Where wheels that share a motor do not suit one angle, but turn equally far and have no trail,
the angle is half the argument of ``z = sum w (vx + i m vy)^2 exp(-2 i m toe)``, m the sign of each
ratio (see `geometry.kinematics.shared_steering`): a quadratic of ``1 - |s|`` and s.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from geometry.axes import Floats
from geometry.lookup_table.fixed_point import Counts

FORMULA_TURN_ONE = 65_536
# What the angle of a piece follows.
STAYS, WHEEL, GROUP = 0, 1, 2


@dataclass(frozen=True)
class Piece:
    """The angle of one steering output on one stretch."""

    offset: float
    """What is added, or the angle itself where it stays [rad]."""
    follows: int
    """STAYS, or what it follows: the leading WHEEL, or the whole GROUP."""
    lead: int = 1
    """Sign of the trail's part: -1 where the wheel has flipped."""
    group: tuple[float, ...] = ()
    """Of z, turned back by twice the offset: three numbers of its real and three of its imaginary part,
    with ``(1 - |s|)^2``, ``(1 - |s|) s`` and ``s^2``."""

    @property
    def numbers(self) -> tuple[float, int, int]:
        """All but the group."""
        return self.offset, self.follows, self.lead


@dataclass(frozen=True)
class Angle:
    """One steering output: its leading wheel, and what is told for its angle."""

    ax: float
    ay: float
    ex: float
    """By half-track, as in this module's head."""
    ratio: float
    """Steer angle of that wheel by the motor's angle."""
    low: float
    """Lowest angle of the motor [rad]."""
    high: float
    """Highest angle of the motor [rad]."""
    told: float
    """What is told straight ahead [whole numbers]."""
    told_per_rad: float
    """What is told for each rad more."""


@dataclass(frozen=True)
class Rolling:
    """One wheel's part in the speed of its drive motor."""

    weight: float
    """Whole numbers of the output for a rolling speed of 1."""
    ax: float
    ay: float
    ey: float
    built_in: float
    """Where it points with its steering straight ahead [rad]."""
    angle: int
    """The steering output that turns it; -1 for none."""
    ratio: float


@dataclass(frozen=True)
class Formula:
    """All constants of the closed form."""

    starts: tuple[int, ...]
    """First turn step of each stretch between jumps; the first one reaches down to the end."""
    angles: tuple[Angle, ...]
    pieces: tuple[tuple[Piece, ...], ...]
    """For each stretch, one for each angle."""
    rollings: tuple[tuple[Rolling, ...], ...]
    """For each drive motor, its wheels."""

    def follows(self, what: int) -> bool:
        """Whether any angle follows that somewhere."""
        return any(piece.follows == what for row in self.pieces for piece in row)

    @property
    def trails(self) -> bool:
        """Whether a leading wheel has trail."""
        return self.follows(WHEEL) and any(angle.ex != 0 for angle in self.angles)

    def values(self, steps: Counts) -> Floats:
        """Outputs at turn steps (M,), (M, C) [whole numbers, unrounded]."""
        s = np.asarray(steps) / FORMULA_TURN_ONE
        stretch = np.maximum(np.searchsorted(self.starts, steps, side="right") - 1, 0)
        angle = np.zeros((len(s), len(self.angles)))
        for k, one in enumerate(self.angles):
            for i, pieces in enumerate(self.pieces):
                here = stretch == i
                angle[here, k] = motor_angle(one, pieces[k], s[here])
        columns = [one.told + one.told_per_rad * angle[:, k] for k, one in enumerate(self.angles)]
        columns += [np.sum([_rolling(w, s, angle) for w in wheels], axis=0) for wheels in self.rollings]
        return np.stack(columns, axis=1)

    def whole(self, steps: Counts) -> Counts:
        """Outputs at turn steps as the code answers them, halves away from 0, (M, C)."""
        values = self.values(steps)
        return np.asarray(np.copysign(np.floor(np.abs(values) + 0.5), values)).astype(np.int64)


def functions_of(formula: Formula) -> tuple[str, ...]:
    """Names of the mathematical functions that the controller needs, as C and Python both have them."""
    names = {"atan2"} if formula.follows(WHEEL) or formula.follows(GROUP) else set()
    names |= {"asin", "sqrt"} if formula.trails else set()
    return tuple(sorted(names | ({"cos", "sin"} if formula.rollings else set())))


def motor_angle(one: Angle, piece: Piece, s: Floats) -> Floats:
    """Angle of a motor at turn inputs (M,) of one stretch [rad]."""
    angle = np.full(len(s), piece.offset)
    if piece.follows == GROUP:
        terms = np.stack([(1.0 - np.abs(s)) ** 2, (1.0 - np.abs(s)) * s, s * s])
        angle += 0.5 * np.arctan2(np.array(piece.group[3:]) @ terms, np.array(piece.group[:3]) @ terms)
    if piece.follows == WHEEL:
        vx, vy = 1.0 - np.abs(s) + s * one.ax, s * one.ay
        speed = np.sqrt(vx * vx + vy * vy)
        pull = np.divide(s * one.ex, speed, out=np.zeros(len(s)), where=speed > 0)
        angle += np.arctan2(vy, vx) + piece.lead * np.arcsin(np.clip(pull, -1.0, 1.0))
    return np.clip(angle / one.ratio, one.low, one.high)


def _rolling(wheel: Rolling, s: Floats, angle: Floats) -> Floats:
    heading = np.full(len(s), wheel.built_in)
    if wheel.angle >= 0:
        heading += wheel.ratio * angle[:, wheel.angle]
    along = (1.0 - np.abs(s) + s * wheel.ax) * np.cos(heading) + s * wheel.ay * np.sin(heading)
    return np.asarray(wheel.weight * (along - s * wheel.ey))
