"""What must fit inside: parts with their masses, and the body as a hollow thing with openings.

Heights are measured upward from the ground on which the wheels stand, all lengths in millimetres.
The outline of the body itself is `Design.body_mm`.
"""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from geometry.errors import Problem
from geometry.model.frozen import BrokenRule, Frozen, Name, same_name_problems
from geometry.model.wheel import Position

PartKind = Literal["controller", "battery", "motor", "gear box", "other"]
PART_KINDS: tuple[PartKind, ...] = ("controller", "battery", "motor", "gear box", "other")
Shape = Literal["box", "upright cylinder", "lying cylinder"]
SHAPES: tuple[Shape, ...] = ("box", "upright cylinder", "lying cylinder")
Face = Literal["floor", "roof", "left", "right", "front", "rear"]
FACES: tuple[Face, ...] = ("floor", "roof", "left", "right", "front", "rear")

MOST_PARTS, MOST_OPENINGS, MOST_PAIRS, MOST_INNER_CORNERS = 200, 100, 500, 200
SMALLEST_MM, LARGEST_MM = 0.1, 10_000.0

Size = Annotated[float, Field(ge=SMALLEST_MM, le=LARGEST_MM)]
Gap = Annotated[float, Field(ge=0, le=1_000)]
Height = Annotated[float, Field(ge=-1_000, le=10_000)]

# Which sizes a shape has; it has no others.
SIZES: dict[Shape, tuple[str, ...]] = {
    "box": ("length_mm", "width_mm", "height_mm"),
    "upright cylinder": ("diameter_mm", "height_mm"),
    "lying cylinder": ("length_mm", "diameter_mm"),
}
_EVERY_SIZE = ("length_mm", "width_mm", "height_mm", "diameter_mm")


class Room(Frozen):
    """Room that a part wants beyond its sides, for plugs and screws; sides as the part is turned."""

    front_mm: Gap = Field(0.0, description="Beyond its front end")
    rear_mm: Gap = Field(0.0, description="Beyond its rear end")
    left_mm: Gap = Field(0.0, description="Beyond its left side")
    right_mm: Gap = Field(0.0, description="Beyond its right side")
    above_mm: Gap = Field(0.0, description="Above it")
    below_mm: Gap = Field(0.0, description="Below it")


class Part(Frozen):
    """A thing that must fit: a box, or a cylinder that stands or lies."""

    name: Name = Field(description="Name, unique among the parts")
    kind: PartKind = Field("other", description="What it is")
    shape: Shape = Field("box", description="box, upright cylinder, or lying cylinder (along its own x)")
    x_mm: Position = Field(0.0, description="Its middle, forward of the origin")
    y_mm: Position = Field(0.0, description="Its middle, to the left of the origin")
    bottom_mm: Height = Field(0.0, description="Its lower edge, above the ground")
    turn_deg: float = Field(0.0, ge=-180, le=180, description="Turned about its middle, seen from above")
    length_mm: Size | None = Field(None, description="Along its own x; of a box or a lying cylinder")
    width_mm: Size | None = Field(None, description="Across; of a box")
    height_mm: Size | None = Field(None, description="Upward; of a box or an upright cylinder")
    diameter_mm: Size | None = Field(None, description="Of a cylinder")
    mass_kg: float = Field(0.0, ge=0, le=10_000, description="Mass, in the middle of its shape")
    clearance_mm: Gap = Field(0.0, description="Least distance to all else that it wants")
    room: Room = Field(Room(), description="Room for plugs and screws")
    motor: Name | None = Field(None, description="Motor of the chassis that this part is; null: none")
    mounted_on: Name | None = Field(
        None, description="Wheel with whose kingpin it turns; null: it stands still in the body"
    )

    @model_validator(mode="after")
    def _check(self) -> Self:
        wanted = SIZES[self.shape]
        broken = []
        for key in _EVERY_SIZE:
            given = getattr(self, key) is not None
            if given != (key in wanted):
                rule = (
                    f"must be given for the shape {self.shape}"
                    if not given
                    else (f"must be null for the shape {self.shape}, which has {' and '.join(wanted)}")
                )
                broken.append(Problem(key, rule, "null" if not given else f"{getattr(self, key):g}"))
        if self.motor is not None and self.kind != "motor":
            broken.append(Problem("motor", "must be null for a part that is no motor", repr(self.motor)))
        if broken:
            raise BrokenRule(*broken)
        return self


class Opening(Frozen):
    """A hole in a face of the body, a rectangle or a circle, for an axle, a wheel or a hand.

    The middle is given by the two coordinates that lie in the face: x and y for floor and roof,
    x and z for left and right, y and z for front and rear; z is a height above the ground.
    """

    face: Face = Field("floor", description="floor, roof, left, right, front or rear")
    x_mm: Position = Field(0.0, description="Middle, forward of the origin; not used at front and rear")
    y_mm: Position = Field(0.0, description="Middle, to the left; not used at left and right")
    z_mm: Height = Field(0.0, description="Middle, above the ground; not used in floor and roof")
    length_mm: Size | None = Field(
        None, description="Of a rectangle along x; along y at front and rear; null for a circle"
    )
    width_mm: Size | None = Field(
        None, description="Of a rectangle along y in floor and roof, else upward; null for a circle"
    )
    diameter_mm: Size | None = Field(None, description="Of a circle; null for a rectangle")

    @model_validator(mode="after")
    def _check(self) -> Self:
        round_, sides = self.diameter_mm is not None, (self.length_mm is not None, self.width_mm is not None)
        if round_ == any(sides) or (not round_ and not all(sides)):
            rule = "must have either diameter_mm, or both length_mm and width_mm"
            raise BrokenRule(Problem("diameter_mm", rule, "null" if not round_ else f"{self.diameter_mm:g}"))
        return self


class Packaging(Frozen):
    """The body in height, and all that must fit inside it."""

    floor_mm: Height = Field(20.0, description="Underside of the body's floor, above the ground")
    roof_mm: Height = Field(120.0, description="Upper side of the body's roof, above the ground")
    wall_mm: float = Field(3.0, ge=0, le=1_000, description="Thickness of walls, floor and roof")
    has_roof: bool = Field(default=True, description="Whether the body is closed above")
    inner_mm: tuple[tuple[Position, Position], ...] = Field(
        (), max_length=MOST_INNER_CORNERS, description="Outline of the inside as [x, y]; empty: by wall_mm"
    )
    body_mass_kg: float = Field(0.0, ge=0, le=10_000, description="Mass of the bare body")
    openings: tuple[Opening, ...] = Field((), max_length=MOST_OPENINGS, description="Holes in the body")
    parts: tuple[Part, ...] = Field((), max_length=MOST_PARTS, description="What must fit")
    may_touch: tuple[tuple[Name, Name], ...] = Field(
        (), max_length=MOST_PAIRS, description="Pairs of parts, by name, that may touch or overlap"
    )

    @model_validator(mode="after")
    def _check(self) -> Self:
        broken = [*same_name_problems("parts", [part.name for part in self.parts]), *_pair_problems(self)]
        if self.roof_mm <= self.floor_mm + 2 * self.wall_mm:
            rule = f"must be above floor_mm by more than two walls, {self.floor_mm + 2 * self.wall_mm:g}"
            broken.append(Problem("roof_mm", rule, f"{self.roof_mm:g}"))
        if self.inner_mm and len(self.inner_mm) < 3:
            broken.append(
                Problem("inner_mm", "must have at least 3 corners, or none", str(len(self.inner_mm)))
            )
        if broken:
            raise BrokenRule(*broken)
        return self


def _pair_problems(packaging: Packaging) -> list[Problem]:
    names = {part.name for part in packaging.parts}
    broken = []
    for i, pair in enumerate(packaging.may_touch):
        for j, name in enumerate(pair):
            if name not in names:
                rule = "must name a part of this chassis"
                broken.append(Problem(f"may_touch[{i}][{j}]", rule, repr(name)))
        if pair[0] == pair[1]:
            broken.append(Problem(f"may_touch[{i}]", "must name two parts, not one twice", repr(pair[0])))
    return broken
