"""Groups of steered wheels on common motors, judged as built over a range of turns."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, fields

import numpy as np

from geometry.axes import Bools, Floats, frozen_array
from geometry.kinematics.alignment import alignment_of
from geometry.kinematics.as_built import MotorArrays, moved_by
from geometry.kinematics.ideal import Solution
from geometry.kinematics.motion import Motion, from_turn
from geometry.kinematics.off_course import goes_off_course, radius_error
from geometry.kinematics.shared_steering import SteerGroup, common_travel
from geometry.model.base_axle import Base
from geometry.model.wheel_arrays import WheelArrays
from geometry.transmission.steer_law import Gears
from geometry.turn_range.shared_landmarks import motor_landmarks, taken_by_motor
from geometry.turn_range.sweep import JUMPS, Landmark

# Drag up to which a grouping loses nothing [mm/m], and change of the motion, the faster side at 1.
EXACT, _UNMOVED = 1e-6, 1e-7

Group = tuple[tuple[int, float], ...]


@dataclass(frozen=True)
class Grouping:
    """One way to hang all steered wheels on motors, and what it does over the range."""

    groups: tuple[Group, ...]
    """For each motor its wheels, as pairs of index and ratio; the first has ratio 1."""
    worst: float
    """Largest drag of any wheel at any turn; wheels that pivot do not count [mm/m]."""
    mean: float
    """Mean drag of all wheels over all turns [mm/m]."""
    worst_wheel: int
    """The wheel with the largest drag."""
    worst_turn: float
    """Turn input at which it drags so."""
    drag: tuple[float, ...]
    """(N,): largest drag of each wheel [mm/m]."""
    lost: tuple[float, ...]
    """(N,): how much more each wheel drags at most than if every wheel had a motor [mm/m]."""
    exact: bool
    """True where no wheel drags more and the chassis moves as if every wheel had a motor."""
    radius_error: float
    """Largest error of the turn radius, as share of the radius or, where that is less, of
    the half-track; ``inf`` where the chassis does not turn at all."""
    off_course: bool
    """True where the yaw rate is somewhere off by half of the largest or more. Wheels
    that all stay parallel may drag nothing at all, but they do not turn a chassis."""
    flips: tuple[Landmark, ...]
    """Where steer angles jump, of the kinds `sweep.JUMPS`, by rising turn; one for each wheel that jumps."""
    shaft: tuple[tuple[float, float], ...]
    """For each motor the least and the largest shaft angle that it takes [rad]."""

    @property
    def motors(self) -> int:
        """Number of motors."""
        return len(self.groups)


@dataclass(frozen=True)
class Taken:
    """What one motor does over M turns."""

    group: Group
    shaft: Floats
    """(M,): angles from straight ahead [rad]."""
    heading: Floats
    """(M, G): where its wheels point [rad]."""
    flips: tuple[Landmark, ...]
    """Where its wheels' steer angles jump."""


@dataclass(frozen=True)
class GroupingResponses:
    """B groupings over M turns."""

    drag: Floats
    """(B, M, N), 0 where a wheel pivots [mm/m]."""
    twist: Floats
    """(B, M, 3): the motion as built."""


def taken_by(wheels: WheelArrays, base: Base, group: Group, turn: Floats) -> Taken:
    """Work out a motor that leaves its wheels their whole travel.

    Parameters
    ----------
    wheels : WheelArrays
        N wheels.
    base : Base
        Base axle and reference points.
    group : Group
        Its G wheels.
    turn : ndarray, (M,)
        Turn inputs, rising.

    Returns
    -------
    Taken
        Arrays of shape (M,) and (M, G).
    """
    shaft, heading = steering_of(wheels, group, from_turn(turn, base))
    marks = motor_landmarks(wheels, _motor_of(wheels, group), base, turn)
    return Taken(group, shaft, heading, tuple(mark for mark in marks if mark.kind in JUMPS))


def steering_of(wheels: WheelArrays, group: Group, motion: Motion) -> tuple[Floats, Floats]:
    """Work out where a motor that leaves its wheels their whole travel turns them.

    Parameters
    ----------
    wheels : WheelArrays
        N wheels.
    group : Group
        Its G wheels.
    motion : Motion
        M wanted motions.

    Returns
    -------
    (shaft, heading) : ndarrays, (M,) and (M, G)
        Its angles from straight ahead, and where its wheels point [rad].
    """
    motor = _motor_of(wheels, group)
    shaft, _ = taken_by_motor(wheels, motor, motion)
    return shaft, motor.law.angles(shaft) + wheels.built_in[motor.wheels]


def _motor_of(wheels: WheelArrays, group: Group) -> SteerGroup:
    held = np.array([i for i, _ in group])
    law = Gears(frozen_array([r for _, r in group]))
    return SteerGroup(frozen_array(held, np.int64), law, *common_travel(wheels, held, law))


def judge(
    wheels: WheelArrays,
    driven: Bools,
    ideal: Solution,
    headings: Sequence[Iterable[tuple[list[int], Floats]]],
) -> GroupingResponses:
    """Judge groupings as built, by the headings that their motors take.

    Parameters
    ----------
    wheels : WheelArrays
        N wheels.
    driven : ndarray, (N,)
        Wheels that a motor drives, each at its own best speed.
    ideal : Solution
        Every wheel by itself at M turns.
    headings : B lists of (wheels, heading)
        For each motor the indices of its G wheels and where they point, (M, G) [rad]. Other
        wheels take their ideal angles.

    Returns
    -------
    GroupingResponses
        Arrays of shape (B, M, N) and (B, M, 3).
    """
    rows, many = len(ideal.motion), len(headings)
    twist, sense = np.tile(ideal.motion.twist, (many, 1)), np.tile(ideal.motion.sense, many)
    arrays = {f.name: getattr(ideal, f.name) for f in fields(ideal) if f.name != "motion"}
    tiled = Solution(Motion(twist, sense), **{n: np.tile(a, (many, 1)) for n, a in arrays.items()})
    heading = tiled.heading.copy()
    for b, groups in enumerate(headings):
        for held, taken in groups:
            heading[b * rows : (b + 1) * rows, held] = taken
    steer = heading - wheels.built_in
    built, _, _ = moved_by(wheels, MotorArrays((), (), driven), tiled, steer, tiled.limited)
    found = alignment_of(wheels, built)
    drag = np.where(found.pivots, 0.0, found.drag)
    return GroupingResponses(drag.reshape(many, rows, -1), built.motion.twist.reshape(many, rows, 3))


def grouping_of(
    taken: Sequence[Taken], base: Base, turn: Floats, drag: Floats, twist: Floats, alone: GroupingResponses
) -> Grouping:
    """Sum up one grouping.

    Parameters
    ----------
    taken : sequence of Taken
        Its motors.
    base : Base
        Base axle and reference points.
    turn : ndarray, (M,)
        Turn inputs.
    drag, twist : ndarrays, (M, N) and (M, 3)
        Its part of a `GroupingResponses`.
    alone : GroupingResponses
        The one grouping with a motor for every wheel.

    Returns
    -------
    Grouping
        Numbers of plain Python.
    """
    # Rounded, so that of mirrored turns and wheels the first is named and not what noise picks.
    row, wheel = divmod(int(drag.round(6).argmax()), drag.shape[1])
    lost = np.maximum(drag - alone.drag[0], 0.0).max(axis=0)
    moved = np.abs(twist - alone.twist[0]) * [1.0, 1.0, base.half_track]
    flips = sorted((f for motor in taken for f in motor.flips), key=lambda mark: (mark.turn, mark.wheel or 0))
    return Grouping(
        groups=tuple(motor.group for motor in taken),
        worst=float(drag[row, wheel]),
        mean=float(drag.mean()),
        worst_wheel=wheel,
        worst_turn=float(turn[row]),
        drag=tuple(drag.max(axis=0).tolist()),
        lost=tuple(lost.tolist()),
        exact=bool(lost.max() < EXACT and moved.max() < _UNMOVED),
        radius_error=float(radius_error(base, from_turn(turn, base).twist, twist)),
        off_course=bool(goes_off_course(from_turn(turn, base).twist, twist)),
        flips=tuple(flips),
        shaft=tuple((float(motor.shaft.min()), float(motor.shaft.max())) for motor in taken),
    )
