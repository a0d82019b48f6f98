"""What a robot covers of the ground: body, tyres and parts as polygons, for many turns at once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from geometry.axes import Bools, Floats, frozen_array
from geometry.kinematics.alignment import contacts
from geometry.model.design import Design
from geometry.model.packaging import Part
from geometry.model.part_outline import plan_size
from geometry.model.wheel_arrays import WheelArrays
from geometry.plane import outline_gaps, points_outside

# Corners of what is round: it stands for the circle from outside, at most 1/1600 of its radius too large.
_ROUND_CORNERS = 90
_RECTANGLE = np.array([(0.5, 0.5), (-0.5, 0.5), (-0.5, -0.5), (0.5, -0.5)])


@dataclass(frozen=True, eq=False)
class Outlines:
    """Closed polygons at M turns, edge by edge; E edges in all."""

    corners: Floats
    """(M, E, 2): corner at which each edge starts [mm]."""
    follows: tuple[int, ...]
    """(E,): number of the corner at which each edge ends."""
    first: tuple[int, ...]
    """Number of the first corner of each polygon."""

    def __len__(self) -> int:
        """Number of turns."""
        return len(self.corners)

    @property
    def ends(self) -> Floats:
        """(M, E, 2): corner at which each edge ends [mm]."""
        return np.asarray(self.corners[:, list(self.follows)])

    def nearest(self, point: Floats) -> Floats:
        """The point of each edge that is nearest to one point for each turn, (M, E, 2) [mm]."""
        along = self.ends - self.corners
        off = point[:, None, :] - self.corners
        square = np.maximum((along * along).sum(axis=2), 1e-300)
        share = np.clip((off * along).sum(axis=2) / square, 0.0, 1.0)
        return np.asarray(self.corners + share[..., None] * along)

    def hold(self, point: Floats) -> Bools:
        """Whether one point for each turn lies within a polygon, (M,)."""
        if not self.first:
            return np.zeros(len(self), dtype=bool)
        a, b, p = self.corners, self.ends, point[:, None, :]
        across = (b - a)[..., 0] * (p - a)[..., 1] - (p - a)[..., 0] * (b - a)[..., 1]
        above = a[..., 1] > p[..., 1], b[..., 1] > p[..., 1]
        met = (above[0] != above[1]) & ((across > 0) == above[1])
        odd = np.add.reduceat(met, self.first, axis=1, dtype=np.int64) % 2 == 1
        return np.asarray(odd.any(axis=1))


def tyres(wheels: WheelArrays, heading: Floats) -> Floats:
    """Tyres seen from above, as rectangles about their contact points.

    Parameters
    ----------
    wheels : WheelArrays
        N wheels.
    heading : ndarray, (M, N)
        Wheel headings [rad].

    Returns
    -------
    ndarray, (M, N, 4, 2)
        Corners, front left first, counter-clockwise as the wheel looks [mm].
    """
    x, y = contacts(wheels, heading)
    size = np.stack([wheels.diameter, wheels.width], axis=1)
    own = _RECTANGLE * size[:, None, :]
    return _placed(own, np.stack([x, y], axis=2), np.asarray(heading))


def outlines_of(design: Design, wheels: WheelArrays, heading: Floats, steer: Floats) -> Outlines:
    """Lay body, tyres and parts out as polygons.

    Parameters
    ----------
    design : Design
        Body outline and parts. Parts that lie wholly within the body are left out.
    wheels : WheelArrays
        N wheels of the design.
    heading, steer : ndarray, (M, N)
        How the wheels stand [rad]; a part on a kingpin turns with `steer`.

    Returns
    -------
    Outlines
        Without any polygon for a design with neither wheels, body nor parts. Heights do not count.
    """
    rows = len(heading)
    pieces: list[Floats] = []
    body = np.asarray(design.body_mm, dtype=np.float64).reshape(-1, 2)
    if len(body):
        pieces.append(np.broadcast_to(body, (rows, *body.shape)))
    boxes = tyres(wheels, heading)
    pieces += [boxes[:, n] for n in range(len(wheels))]
    for part in design.packaging.parts:
        shape = _part_outline(part)
        if part.mounted_on is not None:
            n = design.index_of(part.mounted_on)
            pin = np.array([wheels.x[n], wheels.y[n]])
            pieces.append(
                _placed(shape[None] - pin, np.broadcast_to(pin, (rows, 1, 2)), steer[:, n : n + 1])[:, 0]
            )
        elif not _within(shape, body):
            pieces.append(np.broadcast_to(shape, (rows, *shape.shape)))
    return _joined(pieces, rows)


def _joined(pieces: Sequence[Floats], rows: int) -> Outlines:
    counts = [piece.shape[1] for piece in pieces]
    first = [int(number) for number in np.cumsum([0, *counts])]
    follows = [
        start + (k + 1) % count for start, count in zip(first, counts, strict=False) for k in range(count)
    ]
    corners = np.concatenate(pieces, axis=1) if pieces else np.zeros((rows, 0, 2))
    return Outlines(frozen_array(corners), tuple(follows), tuple(first[: len(counts)]))


def _placed(own: Floats, place: Floats, angle: Floats) -> Floats:
    """Turn (N, K, 2) outlines by (M, N) angles and put them to (M, N, 2) places."""
    cos, sin = np.cos(angle)[..., None], np.sin(angle)[..., None]
    x, y = own[..., 0], own[..., 1]
    turned = np.stack([cos * x - sin * y, sin * x + cos * y], axis=-1)
    return np.asarray(turned + place[:, :, None, :])


def _part_outline(part: Part) -> Floats:
    """A part from above, with the wheels straight ahead, (K, 2) [mm]."""
    length, width = plan_size(part)
    if part.shape == "upright cylinder":
        angle = 2.0 * np.pi * np.arange(_ROUND_CORNERS) / _ROUND_CORNERS
        reach = 0.5 * width / np.cos(np.pi / _ROUND_CORNERS)
        own = reach * np.stack([np.cos(angle), np.sin(angle)], axis=1)
    else:
        own = _RECTANGLE * np.array([length, width])
    place = np.array([[[part.x_mm, part.y_mm]]])
    outline: Floats = _placed(own[None], place, np.radians([[part.turn_deg]]))[0, 0]
    return outline


def _within(shape: Floats, body: Floats) -> bool:
    if not len(body) or points_outside(body, shape).size:
        return False
    return float(outline_gaps(body, shape[None])[0]) > 0.0
