"""Whether a design fits at a turn and over the whole travel of its wheels, and how it stands there."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

from geometry.axes import Floats
from geometry.kinematics.robot import Robot
from geometry.model.design import Design
from geometry.model.packaging import Opening
from geometry.packaging.openings import first_refused, passage
from geometry.packaging.pairs import Pairs, near_pairs
from geometry.packaging.solids import Solids, hull_of, knows_heights, may_touch, solids_of
from geometry.packaging.walls import AtBody, near_body
from geometry.packaging.ways_out import Way, way_from_body, ways_of_pairs
from geometry.packaging.weights import Balance, balance_of

ThingKind = Literal["part", "wheel", "floor", "wall", "roof", "opening"]
_LEVEL = ("floor", "roof")


@dataclass(frozen=True)
class Thing:
    """One of the two that collide."""

    kind: ThingKind
    index: int
    """Of a part, a wheel or an opening its place in the design; of a wall the edge of the outline; else 0."""


@dataclass(frozen=True)
class Collision:
    """Two things that are nearer than wanted."""

    first: Thing
    """The one that the way out shifts: a part before a wheel."""
    second: Thing
    """The other; an opening where the first meets one and does not pass it."""
    clearance: float
    """Nearest distance, over the whole travel; 0 where they overlap [mm]."""
    wanted: float
    """Distance that is wanted [mm]."""
    depth: float
    """The least shift along x, y or z that restores what is wanted [mm]."""
    axis: str
    """The axis of that shift: x, y or z."""
    sign: int
    """1 for a shift forward, to the left or up, else -1."""
    now: bool
    """Whether they collide at this turn; else only somewhere in the travel."""
    wheel: int | None
    """The wheel whose steering brings them together; None where nothing turns."""
    steer: float | None
    """Its steer angle, nearest to straight ahead, at which they collide; None where none is known [rad]."""


@dataclass(frozen=True, eq=False)
class Fit:
    """What collides, and how the chassis stands."""

    collisions: tuple[Collision, ...]
    """Deepest first."""
    balance: Balance | None
    """None where nothing has a mass."""

    @property
    def fits(self) -> bool:
        """Whether nothing collides."""
        return not self.collisions

    @property
    def centre_of_mass(self) -> Floats | None:
        """(3,): forward, to the left, above the ground [mm]; None where nothing has a mass."""
        return None if self.balance is None else self.balance.centre


def fit_of(robot: Robot, design: Design, heading: npt.ArrayLike) -> Fit:
    """Find what collides, and how the design stands.

    Parameters
    ----------
    robot : Robot
        The design's.
    design : Design
        With its packaging.
    heading : array_like, (N,)
        Wheel headings at this turn [rad].

    Returns
    -------
    Fit
        Frozen.

    Examples
    --------
    >>> from geometry.kinematics.robot import robot_of
    >>> fit_of(robot_of(Design()), Design(), []).fits
    True
    """
    at = np.asarray(heading, dtype=np.float64)
    return Fit(tuple(collisions_of(robot, design, at)), balance_of(robot, design, at))


def collisions_of(robot: Robot, design: Design, heading: Floats) -> list[Collision]:
    """All collisions, the deepest first; parameters are those of `fit_of`."""
    solids = solids_of(robot, design)
    steer = np.where(robot.wheels.fixed, 0.0, heading - robot.wheels.built_in)
    angle = solids.steered(steer)
    allowed = may_touch(design.packaging, solids.wheels)
    found = _of_pairs(near_pairs(solids, angle, allowed))
    if knows_heights(design):
        for at in near_body(solids, hull_of(design), angle):
            found += _at_body(at, design)
    return sorted(found, key=lambda one: -one.depth)


def _thing(solids: Solids, i: int) -> Thing:
    return Thing("wheel", i) if i < solids.wheels else Thing("part", i - solids.wheels)


def _of_pairs(pairs: Pairs) -> list[Collision]:
    now, ever, clearance = pairs.too_near()
    some = now | ever
    if not some.any():
        return []
    pairs, now, ever, clearance = pairs.take(some), now[some], ever[some], clearance[some]
    wheel, first = pairs.first_angle()
    ways = ways_of_pairs(pairs, ever)
    return [
        _collision(
            (_thing(pairs.solids, int(pairs.one[k])), _thing(pairs.solids, int(pairs.other[k]))),
            (float(clearance[k]), float(pairs.wanted[k])),
            ways[k],
            (bool(now[k]), int(wheel[k]), float(first[k])),
        )
        for k in range(len(now))
    ]


def _at_body(at: AtBody, design: Design) -> list[Collision]:
    now, ever, clearance, edge = at.too_near()
    some = now | ever
    if not some.any():
        return []
    at, now, ever, clearance, edge = at.take(some), now[some], ever[some], clearance[some], edge[some]
    wheel, first = at.first_angle()
    of_face = [n for n, hole in enumerate(design.packaging.openings) if _is_in(hole, at.face)]
    found = []
    for k in range(len(now)):
        travel = bool(ever[k])
        tried = {n: passage(at, k, design.packaging.openings[n], travel=travel) for n in of_face}
        if any(one.passes for one in tried.values()):
            continue
        second = Thing(at.face, int(edge[k]) if at.face == "wall" else 0)  # type: ignore[arg-type]
        way, here, angle = way_from_body(at, k, travel=travel), bool(now[k]), float(first[k])
        missed = {n: one for n, one in tried.items() if one.meets}
        if missed:
            second = Thing("opening", min(missed))
            shifts = [Way(*shift) for one in missed.values() for shift in one.shifts]
            way = min([way, *shifts], key=lambda one: abs(one.shift))
            holes = [design.packaging.openings[n] for n in missed]
            here = here and not any(passage(at, k, hole, travel=False).passes for hole in holes)
            angle = first_refused(at, k, holes) if wheel[k] >= 0 else angle
        gaps = (float(clearance[k]), float(at.wanted[k]))
        found.append(
            _collision((_thing(at.solids, int(at.which[k])), second), gaps, way, (here, int(wheel[k]), angle))
        )
    return found


def _is_in(opening: Opening, face: str) -> bool:
    return opening.face == face or (face == "wall" and opening.face not in _LEVEL)


def _collision(
    things: tuple[Thing, Thing],
    gaps: tuple[float, float],
    way: Way,
    turned: tuple[bool, int, float],
) -> Collision:
    now, wheel, steer = turned
    return Collision(
        *things,
        clearance=gaps[0],
        wanted=gaps[1],
        depth=abs(way.shift),
        axis=way.axis,
        sign=-1 if way.shift < 0 else 1,
        now=now,
        wheel=wheel if wheel >= 0 else None,
        steer=steer if wheel >= 0 and np.isfinite(steer) else None,
    )
