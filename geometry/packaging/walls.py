"""Wheels and parts against the body: its floor, its walls, its roof, as far as they have no opening.

The floor and the roof fill the outline; the walls lie between them, as thick inward from each edge of
the outline as they are given, or from the outline to an inside of its own. What stands wholly inside
or wholly outside is clear of all three. Walls of no thickness still are walls.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from geometry.axes import Bools, Floats
from geometry.packaging.pairs import SLACK
from geometry.packaging.solids import Hull, Indices, Solids
from geometry.shapes.heights import height_gap, joined, left_across
from geometry.shapes.rectangles import Points, Rectangles, gap_between, holds
from geometry.shapes.sweeps import first_nearer, swept_gap


@dataclass(frozen=True, eq=False)
class AtBody:
    """K solids against one of floor, wall and roof."""

    solids: Solids
    hull: Hull
    face: str
    """floor, wall or roof."""
    which: Indices
    """(K,): the solids."""
    angle: Floats
    """(S,): steer angle of each solid at this turn [rad]."""
    raised: Floats
    """(K,): how far each is raised on trial [mm]."""
    moved: Points
    """(K,): how far each is shifted on trial, with its kingpin [mm]."""

    def take(self, index: Bools | Indices) -> AtBody:
        """Some of them."""
        return replace(self, which=self.which[index], raised=self.raised[index], moved=self.moved[index])

    @property
    def wanted(self) -> Floats:
        """Gap that each wants, (K,) [mm]."""
        return self.solids.clearance[self.which]

    def shapes(self) -> Rectangles:
        """Straight ahead, as wide as they are in the heights of the face, (K,)."""
        low, high = self.hull.spans[self.face]
        w = self.wanted
        return self.solids.between(self.which, low - w - self.raised, high + w - self.raised)

    def upward(self) -> Floats:
        """Gap of the heights, (K,) [mm]."""
        return height_gap(
            self.solids.heights.take(self.which).raised(self.raised), *self.hull.spans[self.face]
        )

    def needed(self) -> Floats:
        """Gap of the outlines that is wanted, (K,); ``-inf`` where the heights are far enough apart."""
        return left_across(self.wanted, self.upward())

    def gaps(self, *, travel: bool) -> tuple[Floats, Indices]:
        """Gap to the solid body as seen from above, below 0 where they overlap, and the nearest edge, (K,).

        Parameters
        ----------
        travel : bool
            Over the whole travel; else at this turn.
        """
        shape, hull = self.shapes(), self.hull
        angle = np.zeros(len(self.which)) if travel else self.angle[self.which]
        middle = shape.turned(self.solids.about[self.which], angle).middle + self.moved
        inside = holds(hull.outline, middle)
        to_edge = self._to_edges(shape, hull.edges, travel=travel)
        edge, apart = to_edge.argmin(axis=1), to_edge.min(axis=1)
        if self.face != "wall":
            return np.where(inside | (apart < -SLACK), -np.inf, apart), edge
        if not len(hull.inner):
            return np.where(inside, apart - hull.wall, apart), edge
        within = self._to_edges(shape, hull.inner_edges, travel=travel).min(axis=1)
        within = np.where(holds(hull.inner, middle), within, -np.inf)
        return np.where(inside, np.minimum(within, apart), apart), edge

    def _to_edges(self, shape: Rectangles, edges: Rectangles, *, travel: bool) -> Floats:
        """Gaps (K, E); ``inf`` where circles around them show that they are far apart."""
        s, k = self.solids, len(self.which)
        middle, radius = s.bounds[0][self.which], s.bounds[1][self.which]
        middle = middle + self.moved
        reach = np.abs(middle[:, None] - _nearest_on(edges, middle)) - radius[:, None]
        near = reach < (self.wanted + self.hull.wall + 1.0)[:, None]
        # The nearest edge is always looked at, so that there is a number for each.
        near[np.arange(k), reach.argmin(axis=1)] = True
        found = np.full(near.shape, np.inf)
        i, e = np.nonzero(near)
        turning = s.turns[self.which][i] if travel else np.zeros(len(i), dtype=bool)
        if turning.any():
            j = i[turning]
            sweeps = s.swept(self.which[j], shape.take(j), self.moved[j])
            found[j, e[turning]] = swept_gap(sweeps, edges.take(e[turning]))
        if not turning.all():
            j, edge = i[~turning], e[~turning]
            owner = self.which[j]
            here = shape.take(j).turned(s.about[owner], self.angle[owner]).shifted(self.moved[j])
            found[j, edge] = gap_between(here, edges.take(edge))
        return found

    def too_near(self) -> tuple[Bools, Bools, Floats, Indices]:
        """Too near at this turn, somewhere in the travel, the nearest distance, and the edge there."""
        needed, upward = self.needed(), self.upward()
        now, edge_now = self.gaps(travel=False)
        ever, edge_ever = self.gaps(travel=True)
        least = joined(np.minimum(now, ever), upward).clip(0.0)
        edge = np.where(now < needed - SLACK, edge_now, edge_ever)
        return now < needed - SLACK, ever < needed - SLACK, least, edge

    def first_angle(self) -> tuple[Indices, Floats]:
        """The wheel that turns, -1 where none does, and its first steer angle that is too near [rad]."""
        s, k = self.solids, len(self.which)
        wheel = np.where(s.turns[self.which], s.owner[self.which], -1)
        shape, needed = self.shapes(), np.maximum(self.needed(), 0.0)
        gap, _ = replace(self, angle=np.zeros(len(s))).gaps(travel=False)
        thick = needed + np.where(holds(self.hull.outline, shape.middle), self.hull.wall, 0.0)
        edges = self.hull.edges
        if self.face == "wall" and len(self.hull.inner):
            edges, thick = self.hull.inner_edges, needed
        i, e = np.indices((k, len(edges.middle))).reshape(2, -1)
        sweeps = s.swept(self.which[i], shape.take(i), self.moved[i])
        found = first_nearer(sweeps, edges.take(e), thick[i]).reshape(k, -1)
        found = np.where(np.isnan(found), np.inf, found)
        first = np.take_along_axis(found, np.abs(found).argmin(axis=1)[:, None], axis=1)[:, 0]
        first = np.where(gap < self.needed() - SLACK, 0.0, first)
        return wheel, np.where((wheel >= 0) & np.isfinite(first), first, np.nan)


def _nearest_on(edges: Rectangles, points: Points) -> Points:
    """Points of edges (E,) that are nearest to points (K,), (K, E)."""
    rel = points[:, None] - edges.middle
    share = (edges.along.conj() * rel).real / np.maximum(np.abs(edges.along) ** 2, 1e-300)
    return np.asarray(edges.middle + share.clip(-1.0, 1.0) * edges.along)


def near_body(solids: Solids, hull: Hull, angle: Floats) -> list[AtBody]:
    """Wheels and parts against floor, walls and roof, as far as they share heights with them."""
    found: list[AtBody] = []
    if not len(hull.outline) or not len(solids):
        return found
    for face, (low, high) in hull.spans.items():
        which = np.flatnonzero(height_gap(solids.heights, low, high) < solids.clearance)
        if which.size:
            still = np.zeros(len(which))
            found.append(AtBody(solids, hull, face, which, angle, still, still.astype(np.complex128)))
    return found
