"""What a chassis is made of, seen from above: each thing as an element on paper, forward up."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from app.drawing.elements import Circle, Corner, Element, Line, Outline, Point, Role, bulge_of
from geometry.kinematics.robot import Robot, robot_of
from geometry.model.design import Design
from geometry.model.packaging import Opening, Part
from geometry.model.part_outline import outline_of, tall
from geometry.packaging.solids import Solids, solids_of
from geometry.shapes.swept_outlines import Loop, Ring, swept_loops

CROSS = 4.0
"""Half the length of the lines that cross in a kingpin, and how far an axle goes beyond its wheel [mm]."""


def on_paper(x_mm: float, y_mm: float) -> Point:
    """A point of the chassis, x forward and y to the left, on paper, where forward is up."""
    return -y_mm, x_mm


@dataclass(frozen=True)
class FromAbove:
    """A chassis straight ahead, seen from above, on paper at a scale."""

    design: Design
    scale: float = 1.0

    @cached_property
    def robot(self) -> Robot:
        """The chassis as numbers."""
        return robot_of(self.design)

    @cached_property
    def solids(self) -> Solids:
        """Wheels and parts as they stand straight ahead."""
        return solids_of(self.robot, self.design)

    def at(self, x_mm: float, y_mm: float) -> Point:
        """A point of the chassis on paper."""
        x, y = on_paper(x_mm, y_mm)
        return self.scale * x, self.scale * y

    def outline(
        self, role: Role, corners: tuple[tuple[float, float], ...], *, filled: bool = False
    ) -> Outline:
        """Corners of the chassis as a closed outline."""
        return Outline(role, tuple(Corner(*self.at(*corner)) for corner in corners), filled=filled)

    def body(self) -> list[Outline]:
        """Outline of the body, and of its inside where that has one of its own."""
        design = self.design
        found = [self.outline("outline", design.body_mm)] if design.body_mm else []
        if design.packaging.inner_mm:
            found.append(self.outline("frame", design.packaging.inner_mm))
        return found

    def opening(self, opening: Opening) -> Circle | Outline:
        """A hole in floor or roof; what is in the roof is no hole of the floor, and is drawn as a frame."""
        role: Role = "opening" if opening.face == "floor" else "frame"
        x, y = opening.x_mm, opening.y_mm
        if opening.diameter_mm is not None:
            return Circle(role, self.at(x, y), 0.5 * self.scale * opening.diameter_mm)
        long, wide = 0.5 * (opening.length_mm or 0.0), 0.5 * (opening.width_mm or 0.0)
        return self.outline(
            role, ((x + long, y + wide), (x - long, y + wide), (x - long, y - wide), (x + long, y - wide))
        )

    def part(self, part: Part) -> list[Element]:
        """A part; one that lies round has a line along it."""
        if part.shape == "upright cylinder":
            radius = 0.5 * self.scale * (part.diameter_mm or 0.0)
            return [Circle("part", self.at(part.x_mm, part.y_mm), radius, filled=True)]
        corners = outline_of(part)
        made: list[Element] = [self.outline("part", tuple(corners), filled=True)]
        if part.shape == "lying cylinder":
            (ax, ay), (bx, by), (cx, cy), (dx, dy) = corners
            ahead, behind = (0.5 * (ax + bx), 0.5 * (ay + by)), (0.5 * (cx + dx), 0.5 * (cy + dy))
            made.append(Line("part", self.at(*ahead), self.at(*behind)))
        return made

    def parts(self) -> list[Element]:
        """All parts; what lies higher covers what is below it."""
        ordered = sorted(self.design.packaging.parts, key=lambda part: part.bottom_mm + tall(part))
        return [element for part in ordered for element in self.part(part)]

    def wheel(self, index: int) -> Outline:
        """A wheel with its offset and its toe."""
        corners = tuple((float(c.real), float(c.imag)) for c in self.solids.shape.corners[index])
        return self.outline("wheel", corners, filled=True)

    def axle(self, index: int) -> Line:
        """The axle of a wheel, from beyond the tyre to abreast of the kingpin."""
        wheels = self.robot.wheels
        heading = float(wheels.built_in[index])
        middle = complex(self.solids.shape.middle[index])
        left = 1j * complex(math.cos(heading), math.sin(heading))
        beyond = 0.5 * float(wheels.width[index]) + CROSS / self.scale
        pin = -float(wheels.across[index])
        ends = [middle + left * t for t in (max(beyond, pin), min(-beyond, pin))]
        return Line("axle", *(self.at(p.real, p.imag) for p in ends))

    def kingpin(self, index: int, hole_mm: float) -> list[Element]:
        """A cross where a wheel is pinned, and the hole of a wheel that turns about it."""
        wheel = self.design.wheels[index]
        x, y = self.at(wheel.x_mm, wheel.y_mm)
        made: list[Element] = [
            Line("kingpin", (x - CROSS, y), (x + CROSS, y)),
            Line("kingpin", (x, y - CROSS), (x, y + CROSS)),
        ]
        if hole_mm > 0 and wheel.kind != "fixed":
            made.append(Circle("kingpin", (x, y), 0.5 * self.scale * hole_mm))
        return made

    def sweeps(self) -> list[Element]:
        """The region that each steered wheel covers over the travel that its motor leaves it."""
        count = len(self.robot)
        turning = np.zeros(len(self.solids), dtype=bool)
        turning[:count] = self.robot.wheels.steered & self.solids.turns[:count]
        found: list[Element] = []
        loops_of = swept_loops(self.solids.sweeps.take(turning))
        for k, loops in zip(np.flatnonzero(turning).tolist(), loops_of, strict=True):
            wheel = self.design.wheels[k]
            found += [self._loop(loop, (wheel.x_mm, wheel.y_mm)) for loop in loops]
        return found

    def _loop(self, loop: Loop, about: Point) -> Element:
        if isinstance(loop, Ring):
            return Circle("sweep", self.at(*about), self.scale * loop.radius)
        corners = (Corner(*self.at(e.start.real, e.start.imag), bulge_of(e.sweep)) for e in loop)
        return Outline("sweep", tuple(corners))
