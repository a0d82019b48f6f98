"""The design: wheels, body outline, motors, references and settings, all that the builder sets."""

from __future__ import annotations

from typing import Self

import numpy as np
from pydantic import Field, model_validator

from geometry.errors import Problem
from geometry.model.controller import Controller
from geometry.model.driving import Driving
from geometry.model.frozen import BrokenRule, Frozen, Name, same_name_problems
from geometry.model.motors import MOST_MOTORS, DriveMotor, SteerMotor, motor_problems
from geometry.model.packaging import Packaging
from geometry.model.wheel import Position, Wheel
from geometry.model.wheel_arrays import straight_contacts, wheel_arrays
from geometry.plane import crossing_edges, points_outside

Corner = tuple[Position, Position]

# Two kingpins nearer than this are the same place for a builder [mm].
SAME_POINT_MM = 0.01
# A contact nearer than this to the centre line stands beside it on neither side, and the
# points of the side speeds are at least this far apart [mm].
BESIDE_MM = 1.0
MOST_WHEELS = 64
MOST_CORNERS = 200


class Design(Frozen):
    """A whole chassis, immutable and always valid."""

    name: Name = Field("New chassis", description="Name of the chassis")
    notes: str = Field("", max_length=4_000, description="Free text")
    wheels: tuple[Wheel, ...] = Field((), max_length=MOST_WHEELS)
    body_mm: tuple[Corner, ...] = Field(
        (), max_length=MOST_CORNERS, description="Corners of the body outline as [x, y]; empty for none"
    )
    base_axle_x_mm: Position | None = Field(
        None, description="Line across the chassis on which turn centres lie; null: from the fixed wheels"
    )
    steer_motors: tuple[SteerMotor, ...] = Field(
        (), max_length=MOST_MOTORS, description="Motors that turn wheels about their kingpins"
    )
    drive_motors: tuple[DriveMotor, ...] = Field(
        (), max_length=MOST_MOTORS, description="Motors that drive wheels"
    )
    left_reference: Name | None = Field(
        None, description="Wheel whose side speed is v_L; null: chosen by rule"
    )
    right_reference: Name | None = Field(
        None, description="Wheel whose side speed is v_R; null: chosen by rule"
    )
    hole_pitch_mm: float | None = Field(
        None, ge=0.1, le=1_000, description="Pitch of the hole pattern; null: none"
    )
    largest_turn: float = Field(
        1.0, ge=0.01, le=1, description="Largest turn input in use; checks and tables stop there"
    )
    aligned_within_deg: float = Field(
        0.5, ge=0.001, le=45, description="Slip angle up to which a wheel is aligned"
    )
    slight_drag_within_deg: float = Field(
        2.0, ge=0.001, le=45, description="Slip angle up to which drag is slight"
    )

    controller: Controller = Field(Controller(), description="What the robot's controller gets")
    packaging: Packaging = Field(Packaging(), description="The body in height, and what must fit inside")
    driving: Driving = Field(Driving(), description="How it is driven on the screen")

    @model_validator(mode="after")
    def _check(self) -> Self:
        broken = [
            *same_name_problems("wheels", [wheel.name for wheel in self.wheels]),
            *_place_problems(self.wheels),
            *_body_problems(self.body_mm),
            *_reference_problems(self),
            *_packaging_problems(self),
            *motor_problems(
                {wheel.name: (wheel.kind, wheel.driven) for wheel in self.wheels},
                self.steer_motors,
                self.drive_motors,
            ),
        ]
        if self.slight_drag_within_deg < self.aligned_within_deg:
            rule = f"must be at least aligned_within_deg, which is {self.aligned_within_deg:g}"
            broken.append(Problem("slight_drag_within_deg", rule, f"{self.slight_drag_within_deg:g}"))
        if broken:
            raise BrokenRule(*broken)
        return self

    def index_of(self, name: str) -> int:
        """Return the position of the wheel of that name, which must exist."""
        return next(i for i, wheel in enumerate(self.wheels) if wheel.name == name)


def _place_problems(wheels: tuple[Wheel, ...]) -> list[Problem]:
    if len(wheels) < 2:
        return []
    points = np.array([(wheel.x_mm, wheel.y_mm) for wheel in wheels])
    gap = np.abs(points[:, None, :] - points[None, :, :]).max(axis=2)
    broken = []
    for i, j in np.argwhere(np.triu(gap < SAME_POINT_MM, k=1)):
        rule = f"must not stand on wheels[{i}] ({wheels[i].name}); move one of them"
        broken.append(Problem(f"wheels[{j}].x_mm", rule, f"x {points[j, 0]:g}, y {points[j, 1]:g}"))
    return broken


def _body_problems(body: tuple[Corner, ...]) -> list[Problem]:
    if not body:
        return []
    if len(body) < 3:
        return [Problem("body_mm", "must have at least 3 corners, or none", f"{len(body)}")]
    points = np.array(body)
    for i in range(len(body)):
        if np.abs(points[i] - points[i - 1]).max() < SAME_POINT_MM:
            x, y = body[i]
            rule = f"must not repeat body_mm[{(i - 1) % len(body)}]; remove one of them"
            return [Problem(f"body_mm[{i}]", rule, f"x {x:g}, y {y:g}")]
    crossing = crossing_edges(points)
    if crossing is None:
        return []
    i, j = crossing
    rule = f"must not cross itself: the edge from body_mm[{i}] meets the edge from body_mm[{j}]"
    return [Problem("body_mm", rule)]


def _packaging_problems(design: Design) -> list[Problem]:
    packaging = design.packaging
    broken = []
    if packaging.inner_mm and not _body_problems(packaging.inner_mm):
        broken += _inner_problems(design)
    for problem in _body_problems(packaging.inner_mm) if len(packaging.inner_mm) >= 3 else ():
        place, rule = (
            text.replace("body_mm", "packaging.inner_mm") for text in (problem.place, problem.rule)
        )
        broken.append(Problem(place, rule, problem.value))
    wheels = {wheel.name for wheel in design.wheels}
    motors = {m.name for m in design.steer_motors} | {m.name for m in design.drive_motors}
    for i, part in enumerate(packaging.parts):
        if part.motor is not None and part.motor not in motors:
            rule = "must name a motor of this chassis, or be null"
            broken.append(Problem(f"packaging.parts[{i}].motor", rule, repr(part.motor)))
        if part.mounted_on is not None and part.mounted_on not in wheels:
            rule = "must name a wheel of this chassis, or be null"
            broken.append(Problem(f"packaging.parts[{i}].mounted_on", rule, repr(part.mounted_on)))
    return broken


def _inner_problems(design: Design) -> list[Problem]:
    """An inside needs a body around it: each corner within the outline or on it."""
    if not design.body_mm:
        return [Problem("packaging.inner_mm", "must be empty where body_mm is: there is nothing around it")]
    outside = points_outside(design.body_mm, design.packaging.inner_mm)
    if not outside.size:
        return []
    i = int(outside[0])
    x, y = design.packaging.inner_mm[i]
    rule = "must lie within body_mm, which is around it"
    return [Problem(f"packaging.inner_mm[{i}]", rule, f"x {x:g}, y {y:g}")]


def _reference_problems(design: Design) -> list[Problem]:
    names = {wheel.name for wheel in design.wheels}
    broken = []
    for field, name in (
        ("left_reference", design.left_reference),
        ("right_reference", design.right_reference),
    ):
        if name is not None and name not in names:
            broken.append(Problem(field, "must name a wheel of this chassis, or be null", repr(name)))
    if broken or design.left_reference is None or design.right_reference is None:
        return broken
    _, contact_y = straight_contacts(wheel_arrays(design))
    left, right = design.index_of(design.left_reference), design.index_of(design.right_reference)
    if contact_y[left] - contact_y[right] < BESIDE_MM:
        rule = "must stand at least 1 mm to the left of right_reference"
        broken.append(Problem("left_reference", rule, repr(design.left_reference)))
    return broken
