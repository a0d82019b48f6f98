"""Measures of a robot as built: what room it takes at each turn.

Turning circles are diameters after SAE J695: kerb to kerb to the contact of the outermost tyre, wall to wall
to the outermost point of the robot. The turn centre is that of the motion that results, so that a
chassis that drags is measured as it turns and not as it was asked to.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from geometry.axes import Bools, Floats, frozen_array
from geometry.kinematics.alignment import contacts
from geometry.kinematics.motion import from_turn
from geometry.kinematics.robot import Response, Robot
from geometry.model.design import Design
from geometry.turning_space.about_centre import AboutCentre, about_centre, fixed_centre_lane, kerb_gap
from geometry.turning_space.box import Box, any_motion_lane, box_of, sliding_lane
from geometry.turning_space.guided import least_radius
from geometry.turning_space.outlines import Outlines, outlines_of
from geometry.turning_space.swept import SweptMeasures, swept_measures

PATH_TURNS = (0.5 * np.pi, np.pi, 2.0 * np.pi)
"""How far the path turns for the smallest radius of a turn from and to straight [rad]."""
# A centre further away than that counts as straight ahead, since nothing is left of its digits [mm].
_FARTHEST = 1e9
# A lead shorter than this is none: the wheels stand on the base axle [mm].
_SHORTEST_LEAD = 1e-6
_BLOCK = 128


@dataclass(frozen=True, eq=False)
class Measures:
    """Room that a robot takes at M turns; read-only arrays, ``inf`` where there is no such measure."""

    turns: Floats
    """(M,): turn inputs."""
    response: Response
    """How the robot moves there."""
    centre: Floats
    """(M, 2): turn centres of the motions that result [mm]; ``inf`` straight ahead."""
    box: Box | None
    """Around body, tyres and parts, straight ahead; None where there is nothing."""
    neighbour: float
    """Width of the neighbour at the kerb [mm]."""
    kerb_to_kerb: Floats
    """(M,): diameter of the circle of the outermost contact [mm]; ``inf`` straight, and without wheels."""
    wall_to_wall: Floats
    """(M,): diameter of the circle of the outermost point [mm]; ``inf`` straight ahead."""
    inner_radius: Floats
    """(M,): radius of the circle that stays free in the middle, 0 where the centre is in the outline [mm];
    ``inf`` straight ahead."""
    off_tracking: Floats
    """(M, N): how much nearer to the centre each contact runs than a point abreast of the foremost contact,
    at the wheel's own y [mm]; 0 straight ahead."""
    lane: Floats
    """(M,): narrowest right-angled lane with this fixed centre [mm]; ``inf`` straight ahead."""
    kerb_gap: Floats
    """(M,): shortest gap at a kerb entered backwards in one move; ``inf`` where none can be [mm]."""
    tail_swing: Floats
    """(M,): how far the tail swings over the kerb then; ``inf`` where there is no gap [mm]."""
    inner_wheel: Floats
    """(M,): radius of the innermost rear contact in the steady circle; ``inf`` straight, without wheels [mm].
    Rear are wheels that stand nearer to the base axle than to the foremost contact, or behind it."""
    least_inner_wheel: Floats
    """(M, 3): its smallest radius in turns of `PATH_TURNS` from and to straight [mm], see `guided`."""
    _turning: Outlines
    _straight: Outlines

    def __len__(self) -> int:
        """Number of turns."""
        return len(self.turns)

    @property
    def straight(self) -> Bools:
        """(M,): whether the robot runs straight there, or so nearly that it has no turn centre."""
        return np.isinf(self.centre[:, 0])

    @property
    def width_to_turn(self) -> Floats:
        """(M,): width between walls in which to turn about with this fixed centre [mm].

        The diameter of the outer circle, on the spot twice the farthest point: that wall to wall.
        """
        return self.wall_to_wall

    @property
    def centre_inside(self) -> Bools:
        """(M,): whether the turn centre lies within the outline."""
        return np.asarray(self.inner_radius == 0.0)

    @cached_property
    def any_motion_lane(self) -> float:
        """Narrowest right-angled lane with any motion, for the box around all [mm]; 0 around nothing."""
        return any_motion_lane(self.box.length, self.box.width) if self.box else 0.0

    @cached_property
    def sliding_lane(self) -> float:
        """The same where the robot may slide sideways [mm]."""
        return sliding_lane(self.box.length, self.box.width) if self.box else 0.0

    def swept(self, row: int) -> SweptMeasures | None:
        """One turn measured anew pose by pose, without turn centre or closed forms; None straight ahead."""
        if self.straight[row] or self.box is None:
            return None
        twist = self.response.motion.twist
        return swept_measures(self._turning, self._straight, twist, row, self.neighbour)


def measures_of(
    robot: Robot, design: Design, turns: npt.ArrayLike, neighbour_mm: float | None = None
) -> Measures:
    """Measure the room that a robot takes at some turns, driving forward.

    Parameters
    ----------
    robot : Robot
        The design as numbers.
    design : Design
        Its body and parts; heights do not count.
    turns : array_like, (M,)
        Turn inputs.
    neighbour_mm : float, optional
        Width of the neighbour at the kerb; that of the robot's own box if not given [mm].

    Returns
    -------
    Measures
        As built.

    Raises
    ------
    CommandError
        If a turn input is not a number or out of range.

    Notes
    -----
    Kerb to kerb and wall to wall as SAE J695 defines them. The smallest radius of a turn from and to straight
    is that which tables of design vehicles state for a half turn (see `guided`).

    Examples
    --------
    A body of 360 x 260 mm that turns on the spot about its middle, and runs straight:

    >>> from geometry.kinematics.robot import robot_of
    >>> body = ((180, 130), (-180, 130), (-180, -130), (180, -130))
    >>> design = Design(body_mm=body)
    >>> found = measures_of(robot_of(design), design, [1.0, 0.0])
    >>> found.width_to_turn.round(3), found.inner_radius, found.kerb_to_kerb
    (array([444.072,     inf]), array([ 0., inf]), array([inf, inf]))
    """
    motion = from_turn(turns, robot.base)
    response = robot.at(motion)
    level = robot.at(from_turn(0.0, robot.base))
    standing = outlines_of(design, robot.wheels, level.solution.heading, level.solution.steer)
    turning = outlines_of(design, robot.wheels, response.solution.heading, response.solution.steer)
    box = box_of(standing)
    centre = np.array(response.centre)
    centre[np.abs(centre).max(axis=1) > _FARTHEST] = np.inf
    straight = np.isinf(centre[:, 0])
    about = np.where(straight[:, None], 0.0, centre)
    to_left = response.motion.twist[:, 2] > 0
    neighbour = neighbour_mm if neighbour_mm is not None else (box.width if box else 0.0)
    room = _room(turning, standing, about, to_left, neighbour)
    wheels = _wheels(robot, response, level, about, to_left, straight)

    def told(values: Floats) -> Floats:
        shaped = straight.reshape((-1,) + (1,) * (values.ndim - 1))
        return frozen_array(np.where(shaped, np.inf, values))

    return Measures(
        turns=frozen_array(np.atleast_1d(np.asarray(turns, dtype=np.float64))),
        response=response,
        centre=frozen_array(centre),
        box=box,
        neighbour=float(neighbour),
        kerb_to_kerb=told(2.0 * wheels.radius.max(axis=1, initial=0.0) if len(robot) else room.none),
        wall_to_wall=told(room.outer * 2.0),
        inner_radius=told(room.inner),
        off_tracking=wheels.off_tracking,
        lane=told(room.lane),
        kerb_gap=told(room.gap),
        tail_swing=told(room.tail),
        inner_wheel=told(wheels.inner),
        least_inner_wheel=told(wheels.least),
        _turning=turning,
        _straight=standing,
    )


@dataclass(frozen=True, eq=False)
class _Room:
    outer: Floats
    inner: Floats
    lane: Floats
    gap: Floats
    tail: Floats
    none: Floats


def _room(turning: Outlines, standing: Outlines, about: Floats, to_left: Bools, neighbour: float) -> _Room:
    none = np.full(len(about), np.inf)
    if not turning.first:
        return _Room(none, none, none, none, none, none)
    same = Outlines(
        np.broadcast_to(standing.corners, turning.corners.shape), standing.follows, standing.first
    )
    moving: AboutCentre = about_centre(turning, about, to_left)
    lane = fixed_centre_lane(moving, about_centre(same, about, to_left))
    gap, tail = kerb_gap(moving, np.full(len(about), neighbour))
    return _Room(moving.outer, moving.inner, lane, gap, tail, none)


@dataclass(frozen=True, eq=False)
class _Wheels:
    radius: Floats
    off_tracking: Floats
    inner: Floats
    least: Floats


def _wheels(
    robot: Robot, response: Response, level: Response, about: Floats, to_left: Bools, straight: Bools
) -> _Wheels:
    if not len(robot):
        none = np.zeros((len(about), 0))
        nowhere = np.full((len(about), len(PATH_TURNS)), np.inf)
        return _Wheels(none, frozen_array(none), nowhere[:, 0], nowhere)
    x, y = contacts(robot.wheels, response.solution.heading)
    foremost = float(contacts(robot.wheels, level.solution.heading)[0].max())
    side = np.where(to_left, 1.0, -1.0)[:, None]
    radius = np.hypot(x - about[:, :1], y - about[:, 1:])
    off = np.hypot(foremost - about[:, :1], y - about[:, 1:]) - radius
    lead = foremost - about[:, 0]
    axle = np.hypot(lead, about[:, 1] - robot.base.middle)
    ahead = np.asarray((x - about[:, :1] > 0.5 * lead[:, None]) & (lead > _SHORTEST_LEAD)[:, None])
    ahead &= ~ahead.all(axis=1, keepdims=True)
    inner = np.where(ahead, np.inf, radius).min(axis=1)
    least = np.broadcast_to(inner[:, None], (len(about), len(PATH_TURNS))).copy()
    # Where no wheel stands ahead of the base axle nothing lags behind: the least is the steady circle.
    led = np.flatnonzero(~straight & (lead > _SHORTEST_LEAD))
    for block in np.split(led, range(_BLOCK, len(led), _BLOCK)):
        paths = len(PATH_TURNS)
        rows = np.repeat(block, paths)  # all paths of one turn side by side, for one pass through all
        own_x, own_y = x[rows] - about[rows, :1], side[rows] * (y[rows] - robot.base.middle)
        angle = np.tile(PATH_TURNS, len(block))
        found, _ = least_radius(lead[rows], axle[rows], own_x, own_y, angle)
        least[block] = np.where(ahead[rows], np.inf, found).min(axis=1).reshape(-1, paths)
    return _Wheels(radius, frozen_array(np.where(straight[:, None], 0.0, off)), inner, least)
