"""What of the robot covers the ground, and where: outlines of its body, wheels and parts, and its contacts.

Poses are (M, 3), x, y [mm] and heading [rad] in the frame of the course; headings of wheels are (M, N) [rad].
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from app.simulation.surroundings import Mover, Surroundings
from geometry.axes import Floats
from geometry.kinematics.robot import Robot
from geometry.model.design import Design
from geometry.model.driving import Course

_RING = 48
"""Corners for a round part; they lie on its rim."""


@dataclass(frozen=True, eq=False)
class Footprint:
    """The outlines of one chassis."""

    robot: Robot
    movers: tuple[Mover, ...]
    """Body, wheels, and the parts that reach beyond the body."""

    @property
    def kingpins(self) -> Floats:
        """(N, 2) [mm]."""
        return np.stack([self.robot.wheels.x, self.robot.wheels.y], axis=1)

    def contacts(self, pose: Floats, heading: Floats) -> Floats:
        """Where the wheels touch the ground, (M, N, 2) [mm]."""
        offset = np.stack([self.robot.wheels.along, self.robot.wheels.across], axis=1)
        return _at_poses(_turned(offset, heading) + self.kingpins, pose)

    def witnesses(self, pose: Floats, heading: Floats) -> Floats:
        """Points that tell the place of all of it: contacts, front of each tyre, a square around all.

        Returns
        -------
        ndarray, (M, 2 N + 4, 2)
            In the frame of the course [mm].
        """
        front = np.stack(
            [self.robot.wheels.along + 0.5 * self.robot.wheels.diameter, self.robot.wheels.across], axis=1
        )
        fronts = _at_poses(_turned(front, heading) + self.kingpins, pose)
        reach = self.reach
        square = np.array([(reach, reach), (-reach, reach), (-reach, -reach), (reach, -reach)])
        around = _at_poses(np.broadcast_to(square, (len(pose), 4, 2)), pose)
        return np.concatenate([self.contacts(pose, heading), fronts, around], axis=1)

    @property
    def reach(self) -> float:
        """How far its outlines lie from the origin of the chassis along x or y at most [mm]."""
        still = [
            float(np.abs(mover.points).max()) + mover.radius for mover in self.movers if mover.wheel is None
        ]
        return max([*still, float(np.abs(self.kingpins).max(initial=0.0))])

    def outlines(self, pose: Floats, heading: Floats) -> list[Floats]:
        """Corners of each outline in the course, each (M, V, 2) [mm]; round ones as polygons."""
        found = []
        for mover in self.movers:
            points = _corners(mover)
            if mover.wheel is None:
                there = np.broadcast_to(points, (len(pose), *points.shape))
            else:
                turn = np.broadcast_to(heading[:, mover.wheel, None], (len(pose), len(points)))
                there = _turned(points, turn) + self.kingpins[mover.wheel]
            found.append(_at_poses(there, pose))
        return found


def footprint_of(design: Design, robot: Robot) -> Footprint:
    """Gather what of a chassis covers the ground."""
    return Footprint(robot, Surroundings(design, robot, Course(name="empty")).movers)


def _corners(mover: Mover) -> Floats:
    if not mover.radius:
        return mover.points
    angle = np.arange(_RING) * (2.0 * np.pi / _RING)
    return np.asarray(mover.points[0] + mover.radius * np.stack([np.cos(angle), np.sin(angle)], axis=1))


def _turned(points: Floats, angle: Floats) -> Floats:
    """Points (V, 2), each turned by the angles (M, V) of its own, (M, V, 2)."""
    cos, sin = np.cos(angle), np.sin(angle)
    x, y = points.T
    return np.stack([cos * x - sin * y, sin * x + cos * y], axis=-1)


def _at_poses(points: Floats, pose: Floats) -> Floats:
    """Points of the body (M, V, 2) in the frame of the course."""
    cos, sin = np.cos(pose[:, 2])[:, None], np.sin(pose[:, 2])[:, None]
    x, y = points[..., 0], points[..., 1]
    return np.stack([cos * x - sin * y + pose[:, :1], sin * x + cos * y + pose[:, 1:2]], axis=-1)
