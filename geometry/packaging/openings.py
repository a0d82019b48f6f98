"""Openings: whether all of a thing that crosses a face of the body lies in one of its openings.

One opening must hold all of it; two that meet do not count as one. An opening at the left, right, front
or rear goes straight through every wall that is seen from there. What turns is tried by pieces of its
travel, of a degree or so, each grown by what it moves within the piece: so nothing that touches
passes, and what clears by less than a hundredth of its distance from the kingpin may be refused.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from geometry.axes import Floats
from geometry.model.packaging import Opening
from geometry.packaging.pairs import SLACK
from geometry.packaging.walls import AtBody
from geometry.shapes.rectangles import Points, Rectangles, gap_between

# How far a piece of the travel goes [rad].
_PIECE = 0.0175
# Towards which side the outward normal of an edge points that is seen from there.
_SEEN_FROM: dict[str, complex] = {"left": 1j, "right": -1j, "front": 1.0 + 0j, "rear": -1.0 + 0j}
# A round shape is tried as a polygon around it, with so many corners in a quarter.
_ROUND = 8
_HALVINGS = 10


@dataclass(frozen=True)
class Passage:
    """Whether a thing passes an opening, and if not, how it could be shifted to pass."""

    passes: bool
    meets: bool
    """Whether any of what crosses lies before the opening."""
    shifts: tuple[tuple[str, float], ...] = ()
    """Axis and signed shift along it after which it passes [mm]."""


@dataclass(frozen=True)
class _Crossing:
    """What crosses a face, in the two directions of the opening, about its middle [mm]."""

    points: Points
    spare: Floats
    """How far all around each point it reaches or wants room."""
    axes: tuple[str, str]


def passage(at: AtBody, k: int, opening: Opening, *, travel: bool) -> Passage:
    """Judge whether solid k of those at a face passes one of the face's openings."""
    shape, moved = _pieces(at, k, travel=travel)
    wanted = float(at.wanted[k])
    if at.face != "wall":
        corner = shape.corners - complex(opening.x_mm, opening.y_mm)
        spare = np.broadcast_to((shape.radius + moved + wanted)[:, None], corner.shape)
        return _judged(opening, _Crossing(corner.ravel(), spare.ravel(), ("x", "y")))
    crossing = _through_wall(at, k, opening, shape, moved)
    return Passage(passes=False, meets=False) if crossing is None else _judged(opening, crossing)


def first_refused(at: AtBody, k: int, openings: Sequence[Opening]) -> float:
    """The steer angle nearest to straight ahead at which solid k passes none of the openings [rad].

    Found to a thousandth of the travel; nan where it passes at all angles.
    """
    s, i = at.solids, int(at.which[k])

    def passes(low: float, high: float) -> bool:
        ends = [a.copy() for a in (s.low, s.high)]
        ends[0][i], ends[1][i] = low, max(high, low + 1e-12)
        some = replace(at, solids=replace(s, low=ends[0], high=ends[1]))
        return any(passage(some, k, opening, travel=True).passes for opening in openings)

    low, high = float(s.low[i]), float(s.high[i])
    clear, refused = 0.0, max(-low, high)
    if passes(low, high):
        return float("nan")
    if not passes(0.0, 0.0):
        return 0.0
    for _ in range(_HALVINGS):
        tried = 0.5 * (clear + refused)
        if passes(max(low, -tried), min(high, tried)):
            clear = tried
        else:
            refused = tried
    return -refused if not passes(max(low, -refused), 0.0) else refused


def _judged(opening: Opening, crossing: _Crossing) -> Passage:
    """Compare what crosses with the opening."""
    u, v, spare = crossing.points.real, crossing.points.imag, crossing.spare
    if opening.diameter_mm is not None:
        radius = 0.5 * opening.diameter_mm
        room = radius - spare
        inside = bool((np.abs(crossing.points) <= room + SLACK).all())
        half = (radius, radius)
    else:
        half = (0.5 * (opening.length_mm or 0.0), 0.5 * (opening.width_mm or 0.0))
        inside = all(bool((np.abs(w) + spare <= h + SLACK).all()) for w, h in zip((u, v), half, strict=True))
    meets = all(
        bool((w - spare).min() < h and (w + spare).max() > -h) for w, h in zip((u, v), half, strict=True)
    )
    if inside or not meets:
        return Passage(inside, meets)
    shifts = []
    for n, (along, beside) in enumerate(((u, v), (v, u))):
        if opening.diameter_mm is not None:
            squared = np.where(room >= -SLACK, (room + SLACK) ** 2 - beside**2, -1.0)
            reach = np.sqrt(np.maximum(squared, 0.0))
            fits = bool((squared >= 0).all())
        else:
            reach = half[n] - spare
            fits = bool((np.abs(beside) + spare <= half[1 - n] + SLACK).all())
        least, most = float((-reach - along).max()), float((reach - along).min())
        if fits and least <= most + SLACK:
            shifts.append((crossing.axes[n], least if least > 0 else most))
    return Passage(inside, meets, tuple(shifts))


def _pieces(at: AtBody, k: int, *, travel: bool) -> tuple[Rectangles, Floats]:
    """Shapes (T,) of one solid by pieces of its travel, or at this turn, and how far each moves within."""
    s, i = at.solids, int(at.which[k])
    shape = at.take(np.array([k])).shapes()
    angles, half = at.angle[[i]], 0.0
    if travel and s.turns[i]:
        pieces = max(1, math.ceil((s.high[i] - s.low[i]) / _PIECE))
        half = 0.5 * float(s.high[i] - s.low[i]) / pieces
        angles = s.low[i] + half * (2 * np.arange(pieces) + 1)
    far = float(np.abs(shape.corners - s.about[i]).max()) + float(shape.radius[0])
    turned = shape.take(np.zeros(len(angles), np.intp)).turned(s.about[i], angles)
    return turned, np.full(len(angles), far * half)


def _through_wall(at: AtBody, k: int, opening: Opening, shape: Rectangles, moved: Floats) -> _Crossing | None:
    """What of the shapes (T,) crosses the walls; None where a wall is crossed that is not seen from there."""
    hull, wanted = at.hull, float(at.wanted[k])
    seen, sense = _SEEN_FROM[opening.face], hull.sense
    along_x = seen.real == 0
    edges, found = hull.edges, []
    near = gap_between(shape.column, edges) < hull.wall + wanted + moved[:, None] - SLACK
    for e in np.flatnonzero(near.any(axis=0)):
        along = complex(edges.along[e])
        tangent = along / abs(along)
        inward = 1j * tangent * sense
        if (-inward * seen.conjugate()).real <= 1e-9:
            return None
        start, length, beyond = complex(edges.middle[e]) - along, 2.0 * abs(along), hull.wall + wanted
        for t in np.flatnonzero(near[:, e]):
            outline = _outline(shape, int(t), float(moved[t])) - start
            for normal, limit in (
                (inward, hull.wall + wanted),
                (-inward, wanted),
                (tangent, length + beyond),
                (-tangent, beyond),
            ):
                outline = _clipped(outline, normal, limit)
            found.append(outline + start)
    points = np.concatenate([np.zeros(0, complex), *found])
    if not len(points):
        return None
    across = points.real if along_x else points.imag
    middle = complex(opening.x_mm if along_x else opening.y_mm, opening.z_mm)
    return _with_heights(at, k, opening, (float(across.min()), float(across.max())), middle)


def _with_heights(
    at: AtBody, k: int, opening: Opening, across: tuple[float, float], middle: complex
) -> _Crossing:
    s, i, wanted = at.solids, int(at.which[k]), float(at.wanted[k])
    low, high = at.hull.spans["wall"]
    heights = s.heights.take(at.which[[k]]).raised(at.raised[[k]])
    bottom, top = float(heights.low[0]), float(heights.high[0])
    axes = ("x" if _SEEN_FROM[opening.face].real == 0 else "y", "z")
    radius, axis = float(heights.round_[0]), complex(s.shape.along[i])
    square = abs((axis.conjugate() * _SEEN_FROM[opening.face]).imag) <= 1e-9 * abs(axis)
    if radius > 0 and not s.along_round[i] and not s.turns[i] and square:
        # A lying cylinder goes straight through: what crosses is round.
        own, beside = 0.5 * (across[0] + across[1]), float(heights.width[0])
        box = (own - beside, own + beside, float(heights.lowest_axis[0]), float(heights.highest_axis[0]))
        spare = radius + wanted
    else:
        # What goes on above or below the wall needs no opening there.
        box = (*across, max(bottom, low + wanted), min(top, high - wanted))
        spare = wanted
    points = np.array([complex(u, v) for u in box[:2] for v in box[2:]]) - middle
    return _Crossing(points, np.full(4, spare), axes)


def _outline(shape: Rectangles, t: int, grown: float) -> Points:
    """Corners of a polygon around one rounded rectangle, grown by some more, counter-clockwise."""
    corners = shape.corners[t]
    radius = float(shape.radius[t]) + grown
    if radius <= 0:
        return np.asarray(corners)
    along, across = complex(shape.along[t]), complex(shape.across[t])
    start = math.atan2(along.imag, along.real) if along else math.atan2(-across.real, across.imag)
    step = 0.5 * math.pi / _ROUND
    quarter = start + step * (np.arange(_ROUND) + 0.5)
    turned = np.exp(1j * (quarter + 0.5 * math.pi * np.arange(4)[:, None]))
    return np.asarray((corners[:, None] + radius / math.cos(0.5 * step) * turned).ravel())


def _clipped(outline: Points, normal: complex, limit: float) -> Points:
    """The part of a convex outline whose share along a unit normal is at most a limit."""
    if not len(outline):
        return outline
    deep = (outline * normal.conjugate()).real - limit
    after, next_deep = np.roll(outline, -1), np.roll(deep, -1)
    kept = []
    for p, q, here, there in zip(outline, after, deep, next_deep, strict=True):
        if here <= 0:
            kept.append(p)
        if (here < 0 < there) or (there < 0 < here):
            kept.append(p + (q - p) * here / (here - there))
    return np.array(kept, dtype=complex)
