"""What moves as one, with its mass: the base, what turns with each kingpin, each wheel.

Where no mass is given a default stands in.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from geometry.kinematics.robot import Robot
from geometry.model.design import Corner, Design
from geometry.model.packaging import Part
from geometry.model.part_outline import way_of
from geometry.model.wheel import Wheel
from geometry.packaging.inertia import Lump, box_lump, cylinder_lump, joined, prism_lump
from geometry.packaging.solids import size_of

BODY_DENSITY, WHEEL_DENSITY, PART_DENSITY = 100.0, 1_000.0, 1_000.0
"""Of what has no mass of its own: the body with the air in it, wheels, parts [kg/m3]."""
LEAST_DEFAULT = 0.001
"""Least default mass [kg]."""
CARRIER_SHARE = 0.1
"""Share of a wheel's mass that turns with its kingpin and does not roll, where no part that weighs as much
is mounted there: something must have a mass between two joints."""
_MOST = next(m.le for m in Wheel.model_fields["mass_kg"].metadata if hasattr(m, "le"))
_MM3 = 1e-9


@dataclass(frozen=True)
class Weighed:
    """A design all of whose body, wheels and parts have a mass."""

    design: Design
    body: bool
    """Whether the mass of the body is a default."""
    wheels: tuple[int, ...]
    """Wheels whose mass is a default."""
    parts: tuple[int, ...]
    """Parts whose mass is a default."""


@dataclass(frozen=True, eq=False)
class Bodies:
    """What moves as one of a design with N wheels; in the frame of the chassis, wheels straight ahead."""

    base: Lump
    carriers: tuple[Lump | None, ...]
    """(N,): what turns with each kingpin but does not roll; None for fixed wheels."""
    wheels: tuple[Lump, ...]
    """(N,): what rolls, each in a frame of its own: the middle of the wheel, y along the axle."""
    shared: tuple[int, ...]
    """Wheels that gave a share of their mass to their carrier."""


def weighed(design: Design) -> Weighed:
    """Give what has no mass a default, by its volume.

    Examples
    --------
    >>> wheels = (Wheel(name="L", x_mm=0, y_mm=50, mass_kg=0.2), Wheel(name="R", x_mm=0, y_mm=-50))
    >>> found = weighed(Design(wheels=wheels))
    >>> found.wheels, [round(w.mass_kg, 4) for w in found.design.wheels], found.body
    ((1,), [0.2, 0.0707], True)
    """
    packaging = design.packaging
    wheels = tuple(n for n, wheel in enumerate(design.wheels) if wheel.mass_kg <= 0)
    parts = tuple(p for p, part in enumerate(packaging.parts) if part.mass_kg <= 0)
    body = packaging.body_mass_kg <= 0
    mass = packaging.body_mass_kg
    if body:
        volume = abs(_area(body_outline(design))) * (packaging.roof_mm - packaging.floor_mm)
        mass = _default(volume, BODY_DENSITY)
    filled = design.edited(
        wheels=tuple(
            w.edited(mass_kg=_default(_cylinder(w.diameter_mm, w.width_mm), WHEEL_DENSITY))
            if n in wheels
            else w
            for n, w in enumerate(design.wheels)
        ),
        packaging=packaging.edited(
            body_mass_kg=mass,
            parts=tuple(
                part.edited(mass_kg=_default(_volume(part), PART_DENSITY)) if p in parts else part
                for p, part in enumerate(packaging.parts)
            ),
        ),
    )
    return Weighed(filled, body, wheels, parts)


def bodies_of(robot: Robot, weighed: Weighed) -> Bodies:
    """Lay a design out as what moves as one; their masses and centre are those of the design's balance.

    Parameters
    ----------
    robot : Robot
        The design's.
    weighed : Weighed
        The design, with a mass for everything.
    """
    design = weighed.design
    packaging, wheels = design.packaging, robot.wheels
    body = prism_lump(packaging.body_mass_kg, body_outline(design), packaging.floor_mm, packaging.roof_mm)
    base, mounted = [body], [list[Lump]() for _ in design.wheels]
    for part in packaging.parts:
        n = None if part.mounted_on is None else design.index_of(part.mounted_on)
        (base if n is None or wheels.fixed[n] else mounted[n]).append(part_lump(part))
    carriers: list[Lump | None] = []
    rolling: list[Lump] = []
    shared = []
    for n, wheel in enumerate(design.wheels):
        rolls, carrier = wheel.mass_kg, mounted[n]
        if not wheels.fixed[n] and sum(lump.mass for lump in carrier) < CARRIER_SHARE * wheel.mass_kg:
            rolls *= 1.0 - CARRIER_SHARE
            carrier = [*carrier, _wheel_in_place(robot, n, wheel.mass_kg - rolls)]
            shared.append(n)
        carriers.append(None if wheels.fixed[n] else joined(carrier))
        rolling.append(cylinder_lump(rolls, (0, 0, 0), wheel.diameter_mm, wheel.width_mm, (0, 1, 0)))
    return Bodies(joined(base), tuple(carriers), tuple(rolling), tuple(shared))


def part_lump(part: Part) -> Lump:
    """A part as a mass in its place, filled evenly."""
    length, width, height = size_of(part)
    centre = (part.x_mm, part.y_mm, part.bottom_mm + 0.5 * height)
    cos, sin = way_of(part)
    match part.shape:
        case "upright cylinder":
            return cylinder_lump(part.mass_kg, centre, width, height, (0, 0, 1))
        case "lying cylinder":
            return cylinder_lump(part.mass_kg, centre, width, length, (cos, sin, 0))
        case _:
            return box_lump(part.mass_kg, centre, (length, width, height), math.atan2(sin, cos))


def body_outline(design: Design) -> tuple[Corner, ...]:
    """Outline of the body, in mm.

    Without one a rectangle about the middle of the kingpins, as large as they reach, and not smaller than
    the largest wheel.
    """
    if design.body_mm:
        return design.body_mm
    pins = np.array([(wheel.x_mm, wheel.y_mm) for wheel in design.wheels] or [(0.0, 0.0)])
    least = max((wheel.diameter_mm for wheel in design.wheels), default=1.0)
    x, y = (float(v) for v in pins.mean(axis=0))
    a, b = (0.5 * max(float(v), least) for v in np.ptp(pins, axis=0))
    return (x - a, y - b), (x + a, y - b), (x + a, y + b), (x - a, y + b)


def _wheel_in_place(robot: Robot, n: int, mass: float) -> Lump:
    """A wheel straight ahead, of that mass."""
    w = robot.wheels
    toe = complex(np.exp(1j * w.built_in[n]))
    at = complex(w.x[n], w.y[n]) + complex(w.along[n], w.across[n]) * toe
    centre = (at.real, at.imag, 0.5 * float(w.diameter[n]))
    return cylinder_lump(mass, centre, float(w.diameter[n]), float(w.width[n]), (-toe.imag, toe.real, 0))


def _default(volume: float, density: float) -> float:
    """A mass that a design can hold, of a volume in mm3."""
    return float(min(max(volume * _MM3 * density, LEAST_DEFAULT), _MOST))


def _volume(part: Part) -> float:
    length, width, height = size_of(part)
    if part.shape == "box":
        return length * width * height
    return _cylinder(width, height if part.shape == "upright cylinder" else length)


def _cylinder(diameter: float, length: float) -> float:
    return 0.25 * math.pi * diameter**2 * length


def _area(outline: tuple[Corner, ...]) -> float:
    x, y = np.array(outline).T
    return 0.5 * float(x @ np.roll(y, -1) - np.roll(x, -1) @ y)
