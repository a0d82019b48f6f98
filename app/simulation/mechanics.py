"""From what the code tells the motors to where the robot goes: slew, play, ramps, motion as built, poses."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf

import numpy as np

from app.controller.code_outputs import (
    FULL,
    bare_wheels,
    shaft_of_whole,
    steer_of_bare_whole,
    turns_of_whole,
)
from app.controller.programme import Programme
from app.simulation.inputs import STEP_S
from app.simulation.robot_code import Answer
from app.units import radians
from geometry.axes import Floats, frozen_array
from geometry.driving.slew import slewed, with_play
from geometry.driving.wanted import wanted_at
from geometry.driving.way import poses_along, way_of_point
from geometry.kinematics.motion import Motion, from_sides


@dataclass(frozen=True, eq=False)
class State:
    """Where motors and chassis are after a step."""

    shaft: Floats
    """(C,): shaft of each steer motor, then steer angle of each steered wheel without one [rad]."""
    gears: Floats
    """(C,): the same behind the play of the gears [rad]."""
    drive: Floats
    """(S,): speed of each drive motor [turns/s], or of the left and right side [mm/s]."""
    heading: Floats
    """(N,): where the wheels point [rad]."""
    pose: Floats
    """(3,): of the chassis [mm, mm, rad]."""
    drag: Floats
    """(N,): dragged sideways since the start [mm]."""
    distance: float
    """Way of the middle of the base axle since the start [mm]."""


@dataclass(frozen=True, eq=False)
class Solved:
    """What M steps come to; arrays as in `frame.Block`, the rows of motors as in `State`."""

    steer: Floats
    heading: Floats
    rate: Floats
    roll: Floats
    side: Floats
    drive: Floats
    twist: Floats
    pose: Floats
    drag: Floats
    distance: Floats
    shaft: Floats
    gears: Floats
    sped: Floats

    def state(self, step: int) -> State:
        """Where all is after a step, from 0."""
        return State(
            self.shaft[step],
            self.gears[step],
            self.sped[step],
            self.heading[step],
            self.pose[step + 1],
            self.drag[step + 1],
            float(self.distance[step + 1]),
        )


class Mechanics:
    """The motors and the chassis of a design, as far as a run needs them."""

    def __init__(self, programme: Programme) -> None:
        self.programme = programme
        self.robot = programme.chassis.robot
        design, robot = programme.design, self.robot
        self._bare = bare_wheels(design)
        motors, bare = design.steer_motors, len(self._bare)
        own = radians(design.controller.wheel_speed_deg_s)
        speeds = [radians(m.top_speed_deg_s) for m in motors] + [own] * bare
        self._fastest = STEP_S * np.array(speeds)
        self._play = np.array([radians(m.backlash_deg) for m in motors] + [0.0] * bare)
        self._finest = np.array([radians(m.step_deg) for m in motors] + [0.0] * bare)
        groups, wheels = robot.motors.steer, robot.wheels
        self._low = np.array([g.low for g in groups] + [wheels.low[n] for n in self._bare])
        self._high = np.array([g.high for g in groups] + [wheels.high[n] for n in self._bare])
        driving = design.driving
        full = [group.usable for group in robot.motors.drive] or [driving.full_speed_mm_s] * 2
        share = STEP_S / driving.ramp_s if driving.ramp_s else inf
        self._ramp = share * np.array(full)

    @property
    def full_speed(self) -> float:
        """Speed of the faster side at full command: of the drive motors, else the design's own [mm/s]."""
        robot = self.robot
        return robot.full_speed if robot.motors.drive else self.programme.design.driving.full_speed_mm_s

    def at_rest(self, pose: tuple[float, float, float]) -> State:
        """Switched on at a pose, wheels straight ahead."""
        wheels = self.robot.wheels
        outputs = len(self._fastest)
        return State(
            shaft=np.zeros(outputs),
            gears=np.zeros(outputs),
            drive=np.zeros(len(self._ramp)),
            heading=wheels.built_in,
            pose=np.array(pose),
            drag=np.zeros(len(wheels)),
            distance=0.0,
        )

    def solved(self, start: State, answers: Sequence[Answer]) -> Solved:
        """What so many steps come to.

        The same rows give the same bits; in a batch of another shape a step may differ in the last ones.

        Parameters
        ----------
        start : State
            Before the first step.
        answers : sequence of Answer
            What the code last said at each of M steps.
        """
        wheels, base = self.robot.wheels, self.robot.base
        shaft = slewed(self._shafts(answers), start.shaft, self._fastest)
        gears = with_play(shaft, start.gears, self._play)
        steer = self._steer(gears)
        sped = slewed(self._drives(answers), start.drive, self._ramp)
        response = self.robot.moved(steer, self._turns(sped), self._wanted(steer, sped, answers))
        twist = response.motion.twist
        heading = self._as_they_swing(response.solution.heading, twist, start.heading)
        rate = np.diff(heading, axis=0, prepend=start.heading[None]) / STEP_S
        rate[:, ~wheels.steered] = 0.0
        side = response.solution.side + wheels.along * rate
        drag = np.concatenate([start.drag[None], STEP_S * np.abs(side)])
        way = way_of_point(twist, STEP_S, base.x, base.middle)
        return Solved(
            steer=frozen_array(steer),
            heading=frozen_array(heading),
            rate=frozen_array(rate),
            roll=response.solution.roll,
            side=frozen_array(side),
            drive=frozen_array(self._turns(sped)),
            twist=twist,
            pose=frozen_array(poses_along(twist, STEP_S, start.pose)),
            drag=frozen_array(np.cumsum(drag, axis=0)),
            distance=frozen_array(np.cumsum(np.concatenate([[start.distance], way]))),
            shaft=shaft,
            gears=gears,
            sped=sped,
        )

    def steady_twist(self, answers: Sequence[Answer]) -> Floats:
        """Motions (M, 3) once all motors are where the code wants them [mm/s, mm/s, rad/s]."""
        steer, sped = self._steer(self._shafts(answers)), self._drives(answers)
        return self.robot.moved(steer, self._turns(sped), self._wanted(steer, sped, answers)).motion.twist

    def way_speed(self, twist: Floats) -> Floats:
        """Speeds of the middle of the base axle, which the distance counts, (M,) [mm/s]."""
        return way_of_point(twist, 1.0, self.robot.base.x, self.robot.base.middle)

    def _shafts(self, answers: Sequence[Answer]) -> Floats:
        """Where the steering shall go, in the steps that the motors have and within their travel."""
        design = self.programme.design
        whole = np.array([answer.steer for answer in answers], dtype=np.float64)
        whole = whole.reshape(len(answers), len(self._fastest))
        columns = [
            shaft_of_whole(motor, scale, whole[:, k])
            for k, (motor, scale) in enumerate(
                zip(design.steer_motors, self.robot.motors.scales, strict=True)
            )
        ]
        columns += [steer_of_bare_whole(whole[:, k]) for k in range(len(columns), whole.shape[1])]
        if not columns:
            return whole
        angles = np.stack(columns, axis=1)
        stepped = np.flatnonzero(self._finest)
        if stepped.size:
            finest = self._finest[stepped]
            angles[:, stepped] = finest * np.round(angles[:, stepped] / finest)
        return np.asarray(np.clip(angles, self._low, self._high))

    def _steer(self, gears: Floats) -> Floats:
        groups = self.robot.motors.steer
        steer = np.zeros((len(gears), len(self.robot)))
        for k, group in enumerate(groups):
            steer[:, group.wheels] = group.law.angles(gears[:, k])
        steer[:, self._bare] = gears[:, len(groups) :]
        return steer

    def _drives(self, answers: Sequence[Answer]) -> Floats:
        whole = np.array([answer.speed for answer in answers], dtype=np.float64)
        programme = self.programme
        if not programme.drive:
            return np.asarray(whole * (self.full_speed / FULL))
        motors = zip(programme.design.drive_motors, programme.drive, strict=True)
        return np.stack([turns_of_whole(m, o, whole[:, d]) for d, (m, o) in enumerate(motors)], axis=1)

    def _turns(self, sped: Floats) -> Floats:
        return sped if self.robot.motors.drive else np.zeros((len(sped), 0))

    def _wanted(self, steer: Floats, sped: Floats, answers: Sequence[Answer]) -> Motion:
        if not self.robot.motors.drive:
            return from_sides(sped[:, 0], sped[:, 1], self.robot.base)
        turn = np.array([answer.step for answer in answers], dtype=np.float64) / self.programme.turn_one
        return wanted_at(self.robot, steer, sped, turn)

    def _as_they_swing(self, heading: Floats, twist: Floats, before: Floats) -> Floats:
        """Casters stay as they are while the chassis is at rest."""
        casters = np.flatnonzero(self.robot.wheels.caster)
        if not casters.size:
            return heading
        moving = (twist != 0).any(axis=1)
        last = np.maximum.accumulate(np.where(moving, np.arange(1, len(twist) + 1), 0))
        found = heading.copy()
        found[:, casters] = np.concatenate([before[None, casters], heading[:, casters]])[last]
        return found
