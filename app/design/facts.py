"""What follows from a design alone: its robot, the check over its range, and its size."""

from __future__ import annotations

from functools import cached_property

import numpy as np

from geometry.kinematics.robot import Robot, robot_of
from geometry.model.design import Design
from geometry.turn_range.range_check import DENSE_ROWS, RangeCheck
from geometry.turn_range.sweep import Landmark

# While something is dragged: what decides the verdict is still among them, less of what lies between.
PREVIEW_ROWS = 201
# So far from the worst turn of before the worst one is sought anew, step by step of a drag.
_NEAR = (0.0, 1e-4, 1e-3, 3e-3)
# What a robot is made from; an edit of anything else leaves it as it is.
_READ_BY_ROBOT = (
    "wheels",
    "base_axle_x_mm",
    "steer_motors",
    "drive_motors",
    "left_reference",
    "right_reference",
    "aligned_within_deg",
    "slight_drag_within_deg",
)


class Facts:
    """A design with its robot and its check, each worked out once.

    Parameters
    ----------
    design : Design
        The design.
    previewing : bool
        Whether something is being dragged: fewer turns of the range are looked at then.
    robot : Robot, optional
        Numbers to use in place of the design's own, for transmissions that no file holds.
    like : Facts, optional
        Of the design before an edit: what the edit did not touch is taken from there.
    """

    def __init__(
        self,
        design: Design,
        *,
        previewing: bool = False,
        robot: Robot | None = None,
        like: Facts | None = None,
    ) -> None:
        self.design = design
        self.previewing = previewing
        rows = PREVIEW_ROWS if previewing else DENSE_ROWS
        same = like is not None and _same_robot(like.design, design)
        if robot is None:
            robot = like.robot if like is not None and same else robot_of(design)
        self.robot: Robot = robot
        kept = like is not None and robot is like.robot and design.largest_turn == like.design.largest_turn
        if like is not None and kept and rows == like.check.rows:
            check = like.check
        else:
            also = _near_the_worst(like.check) if like is not None and previewing else ()
            check = RangeCheck(robot, design.largest_turn, rows, also)
        self.check: RangeCheck = check

    @property
    def landmarks(self) -> tuple[Landmark, ...]:
        """Turns at which something happens."""
        return self.check.landmarks

    @cached_property
    def size(self) -> float:
        """Longest side of the box around wheels and body, at least 1 [mm]."""
        points = [(w.x_mm, w.y_mm) for w in self.design.wheels] + list(self.design.body_mm)
        if len(points) < 2:
            return 200.0
        return max(float(np.ptp(np.array(points), axis=0).max()), 1.0)


def _near_the_worst(before: RangeCheck) -> tuple[float, ...]:
    """Turns around the worst of before a drag or a step of it.

    With motors no closed form tells the worst turn, and the few turns of a drag seldom hold it: the
    verdict would give less than it gives at rest. Steps that nobody judged hand on what they were given.
    """
    if not before.robot.motors:
        return ()
    if not before.judged and before.rows < DENSE_ROWS:
        return before.also
    if before.worst is None:
        return ()
    turn = before.worst.turn
    return tuple(turn + sign * step for step in _NEAR for sign in (1.0, -1.0))


def _same_robot(before: Design, after: Design) -> bool:
    return all(
        getattr(before, name) is getattr(after, name) or getattr(before, name) == getattr(after, name)
        for name in _READ_BY_ROBOT
    )
