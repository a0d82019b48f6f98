"""The robot: frozen numbers of one design, and what it does.

Two questions lead to a response. `Robot.at` asks what becomes of wanted motions: what the
motors take, and how the chassis moves then. `Robot.moved` asks how it moves with given wheel
angles and motor speeds. The first is the second with the settings that the motors choose.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import numpy.typing as npt

from geometry.axes import Bools, Floats, frozen_array
from geometry.kinematics.alignment import Alignment, alignment, alignment_of, states
from geometry.kinematics.as_built import MotorArrays, as_built, motor_arrays, moved_by, narrowed
from geometry.kinematics.drive_speeds import lengthwise_slip, speed_limit
from geometry.kinematics.ideal import TRAVEL_SLACK, Solution, contact_speeds, solve
from geometry.kinematics.motion import Motion, from_turn, turn_centre, velocity_at
from geometry.model.base_axle import Base, base_of
from geometry.model.design import Design
from geometry.model.wheel_arrays import WheelArrays, wheel_arrays


@dataclass(frozen=True, eq=False)
class Robot:
    """A design as numbers; it knows neither ranges of turns nor words."""

    wheels: WheelArrays
    base: Base
    motors: MotorArrays
    """Motors with their laws and scales; empty where every wheel runs as if it had its own."""
    aligned_within: float
    """Slip angle up to which a wheel is aligned [rad]."""
    slight_within: float
    """Slip angle up to which drag is slight [rad]."""

    def __len__(self) -> int:
        """Number of wheels."""
        return len(self.wheels)

    @cached_property
    def without_motors(self) -> Robot:
        """The same wheels, each steered and driven by itself."""
        none = MotorArrays((), (), self.motors.driven)
        return replace(self, motors=none) if self.motors else self

    @cached_property
    def motor_travel(self) -> WheelArrays:
        """The wheels with the travel that their steer motors leave them."""
        return narrowed(self.wheels, self.motors)

    @cached_property
    def full_speed(self) -> float:
        """Largest speed straight ahead that the drive motors allow [mm/s]; ``inf`` without any."""
        return float(speed_limit(self.motors, self.at(from_turn(0.0, self.base)).drive)[0])

    def at(self, motion: Motion) -> Response:
        """What becomes of M wanted motions.

        Parameters
        ----------
        motion : Motion
            M motions that are asked for.

        Returns
        -------
        Response
            With the settings of the motors. Without motors every wheel takes its ideal angle
            and the chassis moves as wanted.
        """
        if self.motors:
            built = as_built(self.wheels, self.motors, motion)
            return Response(
                self, built.ideal, built.solution, built.shaft, built.drive, built.mismatch, built.stopped
            )
        ideal = solve(self.wheels, motion)
        return _unmotored(self, ideal, ideal)

    def moved(self, steer: Floats, drive: Floats, wanted: Motion) -> Response:
        """How the chassis moves with wheels that stand, and motors that turn, as given.

        Parameters
        ----------
        steer : ndarray, (M, N)
            Steer angles of the wheels; those of casters do not count, and fixed wheels have 0 [rad].
        drive : ndarray, (M, D)
            Turns of each drive motor for each mm that the faster side should go, signed [1/mm].
        wanted : Motion
            M motions that are asked for: a part of the motion that no wheel settles is as wanted,
            and driven wheels without a motor turn as it asks of them.

        Returns
        -------
        Response
            Shaft angles are those of each motor's first wheel. Without motors the chassis moves
            as wanted, and its wheels drag for it.
        """
        ideal = solve(self.wheels, wanted)
        steer = np.where(self.wheels.caster, ideal.steer, steer)
        limited = self._stands_at_an_end(steer, ideal)
        if not self.motors:
            return _unmotored(self, ideal, self._led(steer, ideal, limited))
        solution, turned, mismatch = moved_by(self.wheels, self.motors, ideal, steer, limited, drive)
        groups = self.motors.steer
        shaft = [group.law.shaft_of(0, steer[:, group.wheels[0]]) for group in groups]
        stopped = [limited[:, group.wheels].any(axis=1) for group in groups]
        rows = len(wanted)
        return Response(
            self,
            ideal,
            solution,
            frozen_array(np.stack(shaft, axis=1) if shaft else np.zeros((rows, 0))),
            turned,
            mismatch,
            frozen_array(np.stack(stopped, axis=1) if stopped else np.zeros((rows, 0)), bool),
        )

    def _stands_at_an_end(self, steer: Floats, ideal: Solution) -> Bools:
        """Where a steered wheel stands at an end of its travel, and not where it should."""
        travel = self.motor_travel
        at_end = (steer <= travel.low + TRAVEL_SLACK) | (steer >= travel.high - TRAVEL_SLACK)
        return np.asarray(at_end & self.wheels.steered & ((steer != ideal.steer) | ideal.limited))

    def _led(self, steer: Floats, ideal: Solution, limited: Bools) -> Solution:
        """The wheels of a chassis that is led along the wanted motion, whatever their angles."""
        wheels, twist = self.wheels, ideal.motion.twist
        suits = steer == ideal.steer
        heading = np.where(suits, ideal.heading, steer + wheels.built_in)
        vx, vy = velocity_at(twist, wheels.x, wheels.y)
        roll, side = contact_speeds(vx, vy, twist[:, 2:3], heading, wheels.along, wheels.across)
        turned = np.abs(heading - ideal.heading)
        opposite = (turned > 0.5 * np.pi) & (turned < 1.5 * np.pi) & wheels.steered
        return Solution(
            ideal.motion,
            steer=frozen_array(steer),
            heading=frozen_array(heading),
            # At its ideal angle a wheel has the solver's own zeros.
            roll=frozen_array(np.where(suits, ideal.roll, roll)),
            side=frozen_array(np.where(suits, ideal.side, side)),
            branch=frozen_array(ideal.branch ^ opposite, np.int8),
            limited=frozen_array(limited, bool),
            unreachable=ideal.unreachable,
        )


@dataclass(frozen=True, eq=False)
class Response:
    """What a robot does at M motions; read-only arrays, none with NaN.

    Alignment and states are worked out when first asked for.
    """

    robot: Robot
    ideal: Solution
    """Every wheel by itself, for the wanted motions."""
    solution: Solution
    """The wheels as they stand, and the motion that follows."""
    shaft: Floats
    """(M, K): shaft angle of each steer motor from straight ahead [rad]."""
    drive: Floats
    """(M, D): turns of each drive motor for each mm that the faster side should go, signed [1/mm]."""
    mismatch: Floats
    """(M, N): rolling speed that the motors ask of a wheel less that which it has; 0 for
    wheels that are not driven [speed units]."""
    stopped: Bools
    """(M, K): steer motors that their travel stops short."""

    def __len__(self) -> int:
        """Number of motions."""
        return len(self.ideal.motion)

    @property
    def wanted(self) -> Motion:
        """The motions that are asked for."""
        return self.ideal.motion

    @property
    def motion(self) -> Motion:
        """The motions that result."""
        return self.solution.motion

    @cached_property
    def alignment(self) -> Alignment:
        """How the wheels suit the motions that result, by the solver's own speeds."""
        return alignment_of(self.robot.wheels, self.solution)

    @cached_property
    def seen(self) -> Alignment:
        """The same by twists and headings alone, whatever made them, as the picture shows it.

        It equals `alignment` but for rounding, which may choose another worst wheel of equals;
        so both are kept.
        """
        return alignment(self.robot.wheels, self.motion.twist, self.solution.heading)

    @cached_property
    def states(self) -> npt.NDArray[np.int8]:
        """(M, N): indices into `alignment.STATES`."""
        return states(self.alignment, self.robot.aligned_within, self.robot.slight_within)

    @cached_property
    def seen_states(self) -> npt.NDArray[np.int8]:
        """(M, N): the same of `seen`."""
        return states(self.seen, self.robot.aligned_within, self.robot.slight_within)

    @cached_property
    def lengthwise_slip(self) -> Floats:
        """(M, N): how much too far (positive) or too little the motors roll each driven wheel [mm/m]."""
        return lengthwise_slip(self.solution, self.mismatch)

    @cached_property
    def centre(self) -> Floats:
        """(M, 2): turn centres of the motions that result [mm]; ``inf`` straight ahead."""
        return turn_centre(self.motion.twist)

    @cached_property
    def wanted_centre(self) -> Floats:
        """(M, 2): turn centres that are asked for [mm]; ``inf`` straight ahead."""
        return turn_centre(self.wanted.twist)

    @cached_property
    def centre_gap(self) -> Floats:
        """(M,): from the turn centre asked for to the one that results [mm].

        0 where both run straight; ``inf`` where only one of them has a turn centre.
        """
        here, there = (np.isfinite(each[:, 0]) for each in (self.centre, self.wanted_centre))
        both, either = here & there, here | there
        off = np.where(both[:, None], self.centre, 0.0) - np.where(both[:, None], self.wanted_centre, 0.0)
        return np.where(either & ~both, np.inf, np.hypot(off[:, 0], off[:, 1]))


def _unmotored(robot: Robot, ideal: Solution, solution: Solution) -> Response:
    rows = len(ideal.motion)
    nothing, still = np.zeros((rows, 0)), np.zeros((rows, len(robot)))
    return Response(
        robot,
        ideal,
        solution,
        frozen_array(nothing),
        frozen_array(nothing),
        frozen_array(still),
        frozen_array(nothing, bool),
    )


def robot_of(design: Design) -> Robot:
    """Lay a design out as numbers.

    Examples
    --------
    >>> len(robot_of(Design()))
    0
    """
    wheels = wheel_arrays(design)
    radian = np.degrees(1.0)
    return Robot(
        wheels,
        base_of(design),
        motor_arrays(design, wheels),
        float(design.aligned_within_deg / radian),
        float(design.slight_drag_within_deg / radian),
    )
