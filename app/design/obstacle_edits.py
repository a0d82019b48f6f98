"""Edits of a course by hand: an end or a side of an obstacle drawn elsewhere, a new one, a copy.

Functions from design to design, as in `driving_edits`, or from an obstacle to its changed numbers.
The end and the side that are not drawn stay where they are.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from app.design import driving_edits
from app.design.edits import snap
from app.units import degrees
from geometry.driving.ready_courses import reach_of
from geometry.model.design import Design
from geometry.model.driving import Course, Obstacle, ObstacleKind
from geometry.model.part_outline import turned

Point = tuple[float, float]

# From here on the numbers of a file are rounding [mm, degrees].
_DIGITS = 6
_LEAST_MM = 0.1
_COPY_MM = 100.0
# Places that are nearer than this are one [mm].
_SAME_MM = 1.0
_AHEAD_MM = 600.0
# From here on a copy stands behind what is copied, since a course ends at twice as far [mm].
_FAR_MM = 50_000.0
_NEW = {
    "wall": Obstacle(kind="wall", turn_deg=90.0, length_mm=600.0),
    "post": Obstacle(kind="post", width_mm=40.0),
    "box": Obstacle(kind="box", length_mm=100.0, width_mm=100.0),
    "gate": Obstacle(kind="gate", length_mm=400.0, width_mm=40.0),
}


def ends_of(obstacle: Obstacle) -> tuple[Point, ...]:
    """Two ends with the length between them, of a gate the middles of its posts; none of a post [mm].

    Examples
    --------
    >>> ends_of(Obstacle(kind="gate", x_mm=50.0, length_mm=400.0, width_mm=40.0))
    ((50.0, 200.0), (50.0, -200.0))
    """
    if obstacle.kind == "post":
        return ()
    return tuple(_off(obstacle, way, 0.5 * (obstacle.length_mm or 0.0)) for way in _ways(obstacle))


def sides_of(obstacle: Obstacle) -> tuple[Point, ...]:
    """Middles of the sides of a box that have its width between them; of a post a place on its rim [mm]."""
    half = 0.5 * (obstacle.width_mm or 0.0)
    if obstacle.kind == "post":
        return (_off(obstacle, turned(obstacle.turn_deg), half),)
    if obstacle.kind != "box":
        return ()
    c, s = turned(obstacle.turn_deg)
    return _off(obstacle, (-s, c), half), _off(obstacle, (s, -c), half)


def end_drawn(obstacle: Obstacle, end: int, to: Point, step: float | None) -> dict[str, float]:
    """Numbers of an obstacle with an end at a place, while the other end stays.

    Parameters
    ----------
    obstacle : Obstacle
        A wall, a box or a gate.
    end : int
        Which of `ends_of`.
    to : (x, y)
        Where the end is drawn [mm].
    step : float, optional
        The length is a multiple of it, and the turn of whole degrees [mm]; None for neither.
    """
    fixed = ends_of(obstacle)[1 - end]
    dx, dy = to[0] - fixed[0], to[1] - fixed[1]
    length, turn = math.hypot(dx, dy), obstacle.turn_deg
    if length > _LEAST_MM:
        own = (90.0 if obstacle.kind == "gate" else 0.0) + 180.0 * end
        turn = _wrapped(degrees(math.atan2(dy, dx)) - own)
    if step is not None:
        length, turn = snap(length, step), float(round(turn))
    length = max(length, step or _LEAST_MM)
    drawn = obstacle.edited(length_mm=_rounded(length), turn_deg=_rounded(turn))
    # Where the end that stays would come to, were the middle left alone.
    now = ends_of(drawn)[1 - end]
    return {
        "x_mm": _rounded(obstacle.x_mm + fixed[0] - now[0]),
        "y_mm": _rounded(obstacle.y_mm + fixed[1] - now[1]),
        "length_mm": _rounded(length),
        "turn_deg": _rounded(turn),
    }


def side_drawn(obstacle: Obstacle, side: int, to: Point, step: float | None) -> dict[str, float]:
    """Numbers of a box with a side at a place, while the other side stays; or of a post about its middle.

    Parameters
    ----------
    obstacle : Obstacle
        A box or a post.
    side : int
        Which of `sides_of`.
    to : (x, y)
        Where it is drawn [mm].
    step : float, optional
        The width is a multiple of it [mm].
    """
    if obstacle.kind == "post":
        width = 2.0 * math.hypot(to[0] - obstacle.x_mm, to[1] - obstacle.y_mm)
        return {"width_mm": _rounded(max(snap(width, step), step or _LEAST_MM))}
    fixed = sides_of(obstacle)[1 - side]
    c, s = turned(obstacle.turn_deg)
    x, y = (-s, c) if side == 0 else (s, -c)
    width = max(snap((to[0] - fixed[0]) * x + (to[1] - fixed[1]) * y, step), step or _LEAST_MM)
    return {
        "x_mm": _rounded(fixed[0] + 0.5 * width * x),
        "y_mm": _rounded(fixed[1] + 0.5 * width * y),
        "width_mm": _rounded(width),
    }


def turn_start(design: Design, course: int, to: Point, step: float | None) -> Design:
    """Have the robot look from its start to a place [mm]; by whole degrees unless `step` is None."""
    now = design.driving.courses[course]
    dx, dy = to[0] - now.start_x_mm, to[1] - now.start_y_mm
    if not dx and not dy:
        return design
    turn = degrees(math.atan2(dy, dx))
    turn = _rounded(turn if step is None else float(round(turn)))
    return driving_edits.change_course(design, course, start_heading_deg=turn)


def new_obstacle(design: Design, course: Course, kind: ObstacleKind, middle: Point | None) -> Obstacle:
    """An obstacle of plain size at a place; ahead of the start where the robot stands there, or with None."""
    plain = _NEW[kind]
    half = 0.5 * max(plain.length_mm or 0.0, plain.width_mm or 0.0)
    room = reach_of(design) + half
    c, s = turned(course.start_heading_deg)
    start = course.start_x_mm, course.start_y_mm
    place = middle
    if place is None or math.dist(place, start) < room:
        ahead = max(_AHEAD_MM, snap(room, _COPY_MM))
        place = start[0] + ahead * c, start[1] + ahead * s
    turn = _rounded(_wrapped(plain.turn_deg + course.start_heading_deg))
    return _free(
        plain.edited(x_mm=_rounded(place[0]), y_mm=_rounded(place[1]), turn_deg=turn), course.obstacles
    )


def duplicate_obstacle(design: Design, course: int, index: int) -> Design:
    """Add a copy of an obstacle at the end, a little ahead of it where there is nothing yet."""
    there = design.driving.courses[course].obstacles
    return driving_edits.add_obstacle(design, course, _free(there[index], there))


def _free(obstacle: Obstacle, there: Sequence[Obstacle]) -> Obstacle:
    """The same, moved ahead step by step until no other has its middle there."""
    x, y = obstacle.x_mm, obstacle.y_mm
    way = _COPY_MM if x < _FAR_MM else -_COPY_MM  # a course ends somewhere
    while any(math.dist((x, y), (one.x_mm, one.y_mm)) < _SAME_MM for one in there):
        x += way
    return obstacle.edited(x_mm=_rounded(x))


def _ways(obstacle: Obstacle) -> tuple[Point, Point]:
    """From the middle to either end."""
    c, s = turned(obstacle.turn_deg)
    x, y = (-s, c) if obstacle.kind == "gate" else (c, s)
    return (x, y), (-x, -y)


def _off(obstacle: Obstacle, way: Point, far: float) -> Point:
    return obstacle.x_mm + way[0] * far, obstacle.y_mm + way[1] * far


def _wrapped(turn_deg: float) -> float:
    """The same turn from -180 to 180 degrees."""
    return (turn_deg + 180.0) % 360.0 - 180.0


def _rounded(value: float) -> float:
    return round(value, _DIGITS) + 0.0
