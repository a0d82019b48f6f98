"""What stands on a course, and what of the robot may touch it, seen from above.

Obstacles reach as high as the robot. Each thing of the robot is an outline: the body, each wheel as the
rectangle of its diameter and width at its heading, each part. In a step the whole robot goes along
an arc with its wheels as they stand; before that the wheels turn about their kingpins to where they stand
in this step. Both are followed exactly.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, sin

import numpy as np

from app.simulation.frame import Block, Contact, Toucher
from app.simulation.inputs import STEP_S
from app.units import radians
from geometry.axes import Floats, wrap
from geometry.driving.swept_contact import Core, core, first_touches, gap_between, overlaps
from geometry.driving.way import steps_of
from geometry.kinematics.robot import Robot
from geometry.model.design import Design
from geometry.model.driving import Course, Obstacle
from geometry.model.packaging import Part
from geometry.model.part_outline import plan_size
from geometry.plane import points_outside

_UNTURNED = np.array([(0.5, 0.5), (-0.5, 0.5), (-0.5, -0.5), (0.5, -0.5)])


@dataclass(frozen=True, eq=False)
class Mover:
    """One thing of the robot."""

    what: Toucher
    name: str
    points: Floats
    """(V, 2): corners in the body frame, or from the kingpin with the wheel straight ahead [mm]."""
    radius: float = 0.0
    wheel: int | None = None
    """Wheel with whose kingpin it turns; None for what stands still in the body."""


@dataclass(frozen=True)
class Standing:
    """One outline of an obstacle; a gate has two."""

    core: Core
    obstacle: int
    kind: str


class Surroundings:
    """A course with a robot on it, as outlines."""

    def __init__(self, design: Design, robot: Robot, course: Course) -> None:
        self.movers = tuple(mover for mover in movers_of(design, robot) if not _covered(mover, design))
        self.standing = tuple(
            Standing(one, i, obstacle.kind)
            for i, obstacle in enumerate(course.obstacles)
            for one in cores_of(obstacle)
        )
        wheels = robot.wheels
        self._kingpins = np.column_stack([wheels.x, wheels.y])
        self._reach = max((self._reach_of(mover) for mover in self.movers), default=0.0)
        self._middles = np.array([one.core.points.mean(axis=0) for one in self.standing]).reshape(-1, 2)
        self._sizes = np.array(
            [
                np.hypot(*(one.core.points - middle).T).max() + one.core.radius
                for one, middle in zip(self.standing, self._middles, strict=True)
            ]
        )

    def touched_at(self, heading: Floats, pose: Floats) -> tuple[Contact, ...]:
        """What touches as the robot stands at the start.

        Parameters
        ----------
        heading : ndarray, (N,)
            Where the wheels point [rad].
        pose : ndarray, (3,)
            Of the chassis [mm, mm, rad].
        """
        return tuple(
            self._contact(mover, one, 0.0, self._placed(mover, heading, pose), -1)
            for mover in self.movers
            for one in self.standing
            if overlaps(self._placed(mover, heading, pose), one.core)
        )

    def contacts(
        self, block: Block, before: Floats, known: frozenset[tuple[str, str, int]]
    ) -> tuple[Contact, ...]:
        """First touches in a block, in their order.

        Parameters
        ----------
        block : Block
            Steps that are solved.
        before : ndarray, (N,)
            Where the wheels pointed before the first of them [rad].
        known : frozenset of (what, name, obstacle)
            Those that touched already, which are not told again.
        """
        near = self._near(block.pose)
        found: list[Contact] = []
        for mover in self.movers if near else ():
            standing = [one for one in near if (mover.what, mover.name, one.obstacle) not in known]
            if not standing:
                continue
            seen: set[int] = set()
            for time, o, placed, move in sorted(
                self._touches(mover, block, before, standing), key=lambda touch: touch[:2]
            ):
                obstacle = standing[o].obstacle
                if obstacle not in seen:
                    seen.add(obstacle)
                    found.append(self._contact(mover, standing[o], time, placed, move))
        return tuple(sorted(found, key=lambda contact: (contact.time_s, contact.obstacle)))

    def _near(self, pose: Floats) -> list[Standing]:
        """What stands within reach of the box around all places of the robot."""
        if not self.standing:
            return []
        # Between two poses an arc goes beyond both by less than the robot's own reach.
        low, high = pose[:, :2].min(axis=0), pose[:, :2].max(axis=0)
        way = np.hypot(*np.diff(pose[:, :2], axis=0).T).max(initial=0.0)
        beyond = np.maximum(np.maximum(low - self._middles, self._middles - high), 0.0)
        near = np.hypot(*beyond.T) <= self._sizes + self._reach + way + 1.0
        return [self.standing[i] for i in np.flatnonzero(near).tolist()]

    def _reach_of(self, mover: Mover) -> float:
        """How far a mover is from the origin of the chassis at most, however its wheel points [mm]."""
        size = float(np.hypot(*mover.points.T).max()) + mover.radius
        return size if mover.wheel is None else size + float(np.hypot(*self._kingpins[mover.wheel]))

    def _touches(
        self, mover: Mover, block: Block, before: Floats, standing: list[Standing]
    ) -> list[tuple[float, int, Core, int]]:
        """First touches of outlines that stand: when, which, how the mover lies then, at which move."""
        start = block.pose[:-1]
        cores = tuple(one.core for one in standing)
        points = self._in_body(mover, block.heading)
        along = first_touches(points, mover.radius, block.twist, STEP_S, start, cores)
        firsts = [(along, block.twist, points, 1.0)]
        if mover.wheel is not None:
            n = mover.wheel
            headings = np.concatenate([before[None], block.heading])
            turned = wrap(headings[1:, n] - headings[:-1, n])
            if turned.any():
                x, y = self._kingpins[n]
                rate = turned / STEP_S
                about = np.column_stack([rate * y, -rate * x, rate])
                points = self._in_body(mover, headings[:-1])
                pivoted = first_touches(points, mover.radius, about, STEP_S, start, cores)
                # It turns at the start of the step.
                firsts.insert(0, (pivoted, about, points, 0.0))
        touches = []
        for shares, twist, outline, scale in firsts:
            for o in np.flatnonzero(np.isfinite(shares).any(axis=0)).tolist():
                m = int(np.flatnonzero(np.isfinite(shares[:, o]))[0])
                share = float(shares[m, o])
                step = steps_of(twist[m : m + 1], share * STEP_S)[0]
                placed = Core(_placed(_placed(outline[m], step), start[m]), mover.radius)
                time = (block.first + m + scale * share) * STEP_S
                touches.append((time, o, placed, block.moves[m]))
        return touches

    def _contact(self, mover: Mover, one: Standing, time: float, placed: Core, move: int) -> Contact:
        _, place = gap_between(placed, one.core)
        if one.core.radius:
            # On the rim of the post, where it faces the robot.
            _, facing = gap_between(one.core, placed)
            away = facing - place
            size = float(np.hypot(*away))
            place = place + away * (min(one.core.radius, size) / size if size else 0.0)
        return Contact(
            time, float(place[0]), float(place[1]), mover.what, mover.name, one.obstacle, one.kind, move
        )

    def _placed(self, mover: Mover, heading: Floats, pose: Floats) -> Core:
        return Core(_placed(self._in_body(mover, heading[None])[0], pose), mover.radius)

    def _in_body(self, mover: Mover, heading: Floats) -> Floats:
        """Corners of a mover in the body frame at wheel headings (M, N): (M, V, 2)."""
        if mover.wheel is None:
            return np.broadcast_to(mover.points, (len(heading), *mover.points.shape))
        n = mover.wheel
        c, s = np.cos(heading[:, n])[:, None], np.sin(heading[:, n])[:, None]
        x, y = mover.points.T
        return np.asarray(np.stack([c * x - s * y, s * x + c * y], axis=-1) + self._kingpins[n])


def _placed(points: Floats, pose: Floats) -> Floats:
    x, y, turned = pose
    return np.asarray(_turned(points, float(turned)) + np.array([x, y]))


def _turned(points: Floats, angle: float) -> Floats:
    c, s = cos(angle), sin(angle)
    return np.asarray(points @ np.array([[c, s], [-s, c]]))


def movers_of(design: Design, robot: Robot) -> tuple[Mover, ...]:
    """List body, wheels and parts of a chassis."""
    wheels = robot.wheels
    found = [
        Mover(
            "wheel",
            wheel.name,
            _UNTURNED * (wheel.diameter_mm, wheel.width_mm) + (wheels.along[n], wheels.across[n]),
            wheel=n,
        )
        for n, wheel in enumerate(design.wheels)
    ]
    if design.body_mm:
        found.append(Mover("body", design.name, np.array(design.body_mm)))
    return (*found, *(_mover_of_part(part, design, robot) for part in design.packaging.parts))


def _covered(mover: Mover, design: Design) -> bool:
    """Whether a part lies within the body outline, so that the body touches first."""
    if mover.what != "part" or mover.wheel is not None or not design.body_mm:
        return False
    if points_outside(design.body_mm, mover.points).size:
        return False
    gap, _ = gap_between(Core(mover.points), core(design.body_mm))
    return gap > mover.radius


def _mover_of_part(part: Part, design: Design, robot: Robot) -> Mover:
    middle = np.array([part.x_mm, part.y_mm])
    length, width = plan_size(part)
    points, radius = np.zeros((1, 2)), 0.5 * width
    if part.shape != "upright cylinder":
        points, radius = _turned(_UNTURNED * (length, width), radians(part.turn_deg)), 0.0
    if part.mounted_on is None:
        return Mover("part", part.name, points + middle, radius)
    n = design.index_of(part.mounted_on)
    # As drawn it stands with the wheel straight ahead, that is at its built-in heading.
    kingpin = np.array([design.wheels[n].x_mm, design.wheels[n].y_mm])
    return Mover(
        "part", part.name, _turned(points + middle - kingpin, -float(robot.wheels.built_in[n])), radius, n
    )


def cores_of(obstacle: Obstacle) -> tuple[Core, ...]:
    """Outlines of an obstacle in the frame of the course."""
    length, width = obstacle.length_mm or 0.0, obstacle.width_mm or 0.0
    points, radius = np.zeros((1, 1, 2)), 0.5 * width
    match obstacle.kind:
        case "wall":
            points, radius = np.array([[(-0.5 * length, 0.0), (0.5 * length, 0.0)]]), 0.0
        case "box":
            points, radius = (_UNTURNED * (length, width))[None], 0.0
        case "gate":
            points = np.array([[(0.0, 0.5 * length)], [(0.0, -0.5 * length)]])
        case _:
            pass
    pose = np.array([obstacle.x_mm, obstacle.y_mm, radians(obstacle.turn_deg)])
    return tuple(core(_placed(one, pose), radius) for one in points)
