"""Wheels and parts of a design as shapes with heights, laid out in arrays; mm and rad."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from geometry.axes import Bools, Floats
from geometry.kinematics.robot import Robot
from geometry.model.design import Design
from geometry.model.packaging import Packaging, Part
from geometry.shapes.heights import Heights
from geometry.shapes.rectangles import Points, Rectangles, edges_of, rectangles
from geometry.shapes.sweeps import Sweeps

Indices = npt.NDArray[np.intp]


@dataclass(frozen=True, eq=False)
class Solids:
    """All N wheels and then all P parts as they stand with every wheel straight ahead; S = N + P."""

    wheels: int
    """N."""
    shape: Rectangles
    """(S,): seen from above, at their widest."""
    heights: Heights
    along_round: Bools
    """(S,): whether the chord of a round thing lies along its length, as of wheels; else across."""
    owner: Indices
    """(S,): the wheel with whose kingpin it turns, a wheel its own; -1 for what stands still."""
    about: Points
    """(S,): the kingpin about which it turns; of what stands still its middle."""
    low: Floats
    """(S,): furthest steer angle to the right that travel and steer motor leave [rad]."""
    high: Floats
    clearance: Floats
    """(S,): the gap to all else that it wants; of wheels 0 [mm]."""

    def __len__(self) -> int:
        """Number of wheels and parts."""
        return len(self.owner)

    @cached_property
    def turns(self) -> Bools:
        """(S,): what turns at all."""
        return np.asarray((self.owner >= 0) & (self.high > self.low))

    @cached_property
    def sweeps(self) -> Sweeps:
        """All of them over their whole travel."""
        return Sweeps(self.shape, self.about, self.low, self.high)

    @cached_property
    def bounds(self) -> tuple[Points, Floats]:
        """Circles that hold all that each one sweeps: middles and radii, (S,) each."""
        far = self.sweeps.nearest_and_farthest[1]
        middle = np.where(self.turns, self.about, self.shape.middle)
        return middle, np.asarray(np.where(self.turns, far, self.shape.reach))

    def steered(self, steer: Floats) -> Floats:
        """Angle of each, (S,), from the steer angles of the wheels, (N,) [rad]."""
        if not self.wheels:
            return np.zeros(len(self))
        return np.asarray(np.where(self.owner >= 0, steer[self.owner], 0.0))

    def between(self, which: Indices, low: npt.ArrayLike, high: npt.ArrayLike) -> Rectangles:
        """Shapes of some, (K,), straight ahead, as wide as they are between two heights at the most."""
        shape, heights = self.shape.take(which), self.heights.take(which)
        length, width = np.abs(shape.along), np.abs(shape.across)
        chord, lengthwise = heights.widest(low, high), self.along_round[which]
        is_round = heights.round_ > 0
        return Rectangles(
            shape.middle,
            shape.along * np.where(is_round & lengthwise, chord / np.where(length > 0, length, 1.0), 1.0),
            shape.across * np.where(is_round & ~lengthwise, chord / np.where(width > 0, width, 1.0), 1.0),
            shape.radius,
        )

    def swept(self, which: Indices, shape: Rectangles, moved: Points) -> Sweeps:
        """The travel of some, (K,), with shapes straight ahead, all shifted with their kingpins."""
        return Sweeps(shape.shifted(moved), self.about[which] + moved, self.low[which], self.high[which])


@dataclass(frozen=True, eq=False)
class Hull:
    """The body: outline, inside, heights."""

    outline: Floats
    """(K, 2): corners; (0, 2) where there is no body [mm]."""
    inner: Floats
    """(L, 2): corners of an inside of its own; (0, 2) where the wall's thickness says it."""
    wall: float
    floor: float
    """Underside of the floor, above the ground."""
    roof: float
    """Upper side of the roof, or of the walls where there is none."""
    has_roof: bool

    @cached_property
    def edges(self) -> Rectangles:
        """Edges of the outline."""
        return edges_of(self.outline)

    @cached_property
    def inner_edges(self) -> Rectangles:
        """Edges of the inside of its own."""
        return edges_of(self.inner)

    @property
    def sense(self) -> float:
        """1 for corners in counter-clockwise order, else -1."""
        x, y = self.outline.T
        return 1.0 if float(np.sum(x * np.roll(y, -1) - y * np.roll(x, -1))) > 0 else -1.0

    def side_of(self, edge: int) -> str:
        """Towards which side an edge of the outline faces: left, right, front or rear."""
        outward = complex(self.edges.along[edge]) * -1j * self.sense
        if abs(outward.imag) >= abs(outward.real):
            return "left" if outward.imag > 0 else "right"
        return "front" if outward.real > 0 else "rear"

    @property
    def spans(self) -> dict[str, tuple[float, float]]:
        """Heights of floor, walls and roof, which together are the body [mm]."""
        inside = self.floor + self.wall, self.roof - (self.wall if self.has_roof else 0.0)
        spans = {"floor": (self.floor, inside[0]), "wall": inside}
        return {**spans, "roof": (inside[1], self.roof)} if self.has_roof else spans


def knows_heights(design: Design) -> bool:
    """Whether anything is said of what must fit: until then the body is an outline without heights."""
    return bool(design.body_mm) and design.packaging != Packaging()


def hull_of(design: Design) -> Hull:
    """Lay the body out."""
    packaging = design.packaging
    return Hull(
        np.array(design.body_mm, dtype=np.float64).reshape(-1, 2),
        np.array(packaging.inner_mm, dtype=np.float64).reshape(-1, 2),
        packaging.wall_mm,
        packaging.floor_mm,
        packaging.roof_mm,
        packaging.has_roof,
    )


def solids_of(robot: Robot, design: Design) -> Solids:
    """Lay wheels and parts out; room for plugs belongs to its part.

    A wheel stands on the ground above its contact point. A cylinder with room beside it is as wide as if
    it were shifted through that room. A caster turns all round; a part on a kingpin turns with the wheel,
    and its place is that with the wheel straight ahead.
    """
    wheels, parts = robot.wheels, design.packaging.parts
    count = len(robot)
    travel = robot.motor_travel
    low = np.where(wheels.fixed, 0.0, np.where(wheels.caster, -np.pi, travel.low))
    high = np.where(wheels.fixed, 0.0, np.where(wheels.caster, np.pi, travel.high))
    kingpin = wheels.x + 1j * wheels.y
    contact = kingpin + (wheels.along + 1j * wheels.across) * np.exp(1j * wheels.built_in)
    half = 0.5 * wheels.diameter
    turned = rectangles(contact.real, contact.imag, half, 0.5 * wheels.width, wheels.built_in)
    rows = np.array([_row(part) for part in parts], dtype=np.float64).reshape(len(parts), 13).T
    x, y, angle, long, wide, radius, bottom, top, round_, axis_low, axis_high, beyond, clearance = rows
    still = rectangles(x, y, long, wide, angle, radius)
    owner = np.array([-1 if p.mounted_on is None else design.index_of(p.mounted_on) for p in parts], np.intp)
    of = np.concatenate([np.arange(count), owner]).astype(np.intp)
    pin = np.concatenate([kingpin, still.middle])
    pin = np.where(of >= 0, np.append(kingpin, 0)[of], pin)
    nothing = np.zeros(count)
    return Solids(
        count,
        Rectangles(*(np.concatenate([getattr(turned, k), getattr(still, k)]) for k in _SHAPE)),
        Heights(
            *(
                np.concatenate(pair)
                for pair in (
                    (nothing, bottom),
                    (wheels.diameter, top),
                    (half, round_),
                    (half, axis_low),
                    (half, axis_high),
                    (nothing, beyond),
                )
            )
        ),
        np.arange(len(of)) < count,
        of,
        pin,
        np.where(of >= 0, np.append(low, 0.0)[of], 0.0),
        np.where(of >= 0, np.append(high, 0.0)[of], 0.0),
        np.concatenate([nothing, clearance]),
    )


_SHAPE = ("middle", "along", "across", "radius")


def size_of(part: Part) -> tuple[float, float, float]:
    """Length, width and height of the box around a part, without its room [mm]."""
    diameter = part.diameter_mm or 0.0
    match part.shape:
        case "upright cylinder":
            return diameter, diameter, part.height_mm or 0.0
        case "lying cylinder":
            return part.length_mm or 0.0, diameter, diameter
        case _:
            return part.length_mm or 0.0, part.width_mm or 0.0, part.height_mm or 0.0


def _row(part: Part) -> tuple[float, ...]:
    """A part as numbers: middle, angle, half sides, rounding, heights, round cross-section, clearance."""
    room, angle = part.room, np.radians(part.turn_deg)
    length, width, height = size_of(part)
    shift = 0.5 * np.exp(1j * angle) * complex(room.front_mm - room.rear_mm, room.left_mm - room.right_mm)
    ahead, beside = 0.5 * (room.front_mm + room.rear_mm), 0.5 * (room.left_mm + room.right_mm)
    lies, stands = part.shape == "lying cylinder", part.shape == "upright cylinder"
    r = 0.5 * width
    return (
        part.x_mm + shift.real,
        part.y_mm + shift.imag,
        float(angle),
        ahead + (0.0 if stands else 0.5 * length),
        beside + (0.0 if stands else r),
        r if stands else 0.0,
        part.bottom_mm - room.below_mm,
        part.bottom_mm + height + room.above_mm,
        r if lies else 0.0,
        part.bottom_mm + r - room.below_mm,
        part.bottom_mm + r + room.above_mm,
        beside if lies else 0.0,
        part.clearance_mm,
    )


def may_touch(packaging: Packaging, first: int) -> set[tuple[int, int]]:
    """Pairs of solids that may touch, the lower number first, where parts count from `first` on."""
    index = {part.name: first + i for i, part in enumerate(packaging.parts)}
    pairs = ((index[a], index[b]) for a, b in packaging.may_touch)
    return {(min(pair), max(pair)) for pair in pairs}
