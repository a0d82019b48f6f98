"""A chassis as numbers, and its outputs over the turn, as exact as they can be told."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf

import numpy as np

from app.controller.code_outputs import (
    DriveOutput,
    SteerOutput,
    bare_wheels,
    bare_whole,
    command_whole,
    drive_outputs,
    steer_outputs,
    units_of_rpm,
)
from app.controller.export_error import NO_WHEELS, ExportError
from app.design.facts import Facts
from geometry.axes import Floats
from geometry.kinematics.motion import from_turn
from geometry.kinematics.robot import Robot
from geometry.lookup_table.error_band import OutputCurves
from geometry.lookup_table.fit import breaks_and_kinks
from geometry.model.controller import Controller
from geometry.model.design import Design
from geometry.turn_range.sweep import Landmark


@dataclass(frozen=True)
class ChassisOutputs:
    """A design as numbers, with what its outputs are over the turn."""

    facts: Facts
    """The design, its robot, and the check over the whole range in use, the motors included."""
    steer: tuple[SteerOutput, ...]
    drive: tuple[DriveOutput, ...]

    @property
    def design(self) -> Design:
        """The design."""
        return self.facts.design

    @property
    def robot(self) -> Robot:
        """Its numbers."""
        return self.facts.robot

    @property
    def marks(self) -> tuple[Landmark, ...]:
        """Turns at which something happens, in rising order."""
        return self.facts.landmarks

    @property
    def full_speed(self) -> float:
        """Speed of the faster side at an input of 1 [mm/s]; ``inf`` without drive motors."""
        return self.robot.full_speed

    @property
    def outputs(self) -> tuple[SteerOutput | DriveOutput, ...]:
        """All that depends on the turn, steering first, (C,)."""
        return (*self.steer, *self.drive)

    def values(self, turn: Floats) -> Floats:
        """What the outputs should be at turn inputs (M,): (M, C), steering first; unrounded.

        Speeds are those at full speed straight ahead, not slowed for the turn.
        """
        response = self.robot.at(from_turn(turn, self.robot.base))
        scales = zip(self.design.steer_motors, self.robot.motors.scales, strict=True)
        columns = [command_whole(m, scale, response.shaft[:, k]) for k, (m, scale) in enumerate(scales)]
        columns += [bare_whole(response.solution.steer[:, n]) for n in bare_wheels(self.design)]
        for d, motor in enumerate(self.design.drive_motors):
            rpm = 60.0 * self.full_speed * response.drive[:, d]
            columns.append(rpm * units_of_rpm(motor) * self.drive[d].per_unit)
        return np.stack(columns, axis=1) if columns else np.zeros((len(turn), 0))


def chassis_outputs(facts: Facts) -> ChassisOutputs:
    """Lay a design out for export.

    Raises
    ------
    ExportError
        If there is nothing to export, or a motor's numbers do not fit.
    """
    design, robot = facts.design, facts.robot
    if not design.wheels:
        raise ExportError(NO_WHEELS)
    if robot.motors.drive and robot.full_speed == inf:
        raise ExportError(
            "no drive motor turns when the chassis goes straight ahead, so its full speed is unknown; "
            "check the gear ratios of each drive motor's wheels"
        )
    return ChassisOutputs(facts, steer_outputs(design, robot), drive_outputs(design))


def curves_of(chassis: ChassisOutputs, rounding: float) -> OutputCurves:
    """The outputs over the turn, with what the table may be off before its last rounding.

    Raises
    ------
    ExportError
        If an output's unit is too coarse for the error that is allowed.
    """
    allowed = []
    for output in chassis.outputs:
        left = output.allowed - rounding
        if left <= 0:
            raise ExportError(_too_coarse(chassis.design.controller, output, rounding))
        allowed.append(left)
    breaks, kinks = breaks_and_kinks(chassis.marks)
    reach = chassis.design.largest_turn
    return OutputCurves(chassis.values, -reach, reach, allowed, breaks, kinks, len(chassis.robot.wheels))


def _too_coarse(controller: Controller, output: SteerOutput | DriveOutput, rounding: float) -> str:
    if isinstance(output, SteerOutput):
        times = 1.1 * rounding / output.allowed
        return (
            f"{output.label} is told in {output.unit}, of which 1 is {1 / output.per_degree:.3g} degrees at "
            f"the wheel: rounding alone costs more than {asked(controller, 1.0)}; the best is about "
            f"{asked(controller, times)}: allow that, or tell the motor in a finer unit"
        )
    best = 1100.0 * rounding / output.usable
    return (
        f"{output.label} is told in {output.unit}: rounding alone costs more than "
        f"{controller.speed_error_permille:g} thousandths of its full speed; allow {best:.3g}"
    )


def asked(controller: Controller, times: float) -> str:
    """A multiple of the allowed error, in the unit in which it was given."""
    unit = "degrees at the wheel" if controller.error_unit == "deg" else "mm of drag per metre"
    return f"{controller.error * times:.3g} {unit}"
