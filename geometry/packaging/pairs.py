"""Pairs of wheels and parts that come too near each other, at one turn or over the whole travel.

Seen from above by exact distances; in height a wheel or a lying cylinder counts as wide as its widest
chord within the heights of the other, grown by the wanted clearance. Of two round things that lie, each
is taken so, which may call two too near that pass above and below one another's bulge; it never misses.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace

import numpy as np

from geometry.axes import Bools, Floats
from geometry.packaging.solids import Indices, Solids
from geometry.shapes.heights import height_gap, joined, left_across
from geometry.shapes.rectangles import Points, Rectangles, gap_between
from geometry.shapes.sweeps import SHRUNK, Sweeps, first_nearer, gap_of_sweeps, swept_gap

# Nearer than wanted by less than this is rounding: it only touches [mm].
SLACK = 0.5 * SHRUNK
# Steps of the search for the first angle of two that turn, and what counts as straight ahead [rad].
_HALVINGS, _STRAIGHT = 14, 1e-3


@dataclass(frozen=True, eq=False)
class Pairs:
    """K pairs of solids and what is known of them; the first may be shifted on trial."""

    solids: Solids
    one: Indices
    """(K,): the solid that would be shifted: of a wheel and a part the part."""
    other: Indices
    wanted: Floats
    """(K,): the gap that is wanted [mm]."""
    angle: Floats
    """(S,): steer angle of each solid at this turn [rad]."""
    raised: Floats
    """(K,): how far `one` is raised on trial [mm]."""
    moved: Points
    """(K,): how far `one` is shifted on trial, with its kingpin [mm]."""

    def take(self, index: Bools | Indices) -> Pairs:
        """Some of them."""
        return replace(
            self,
            one=self.one[index],
            other=self.other[index],
            wanted=self.wanted[index],
            raised=self.raised[index],
            moved=self.moved[index],
        )

    def shapes(self) -> tuple[Rectangles, Rectangles]:
        """Both straight ahead, as wide as they are in the heights that they share."""
        s, w = self.solids, self.wanted
        a, b = s.heights.take(self.one).raised(self.raised), s.heights.take(self.other)
        # Seen from a solid that is raised the other is lower.
        one = s.between(self.one, b.low - w - self.raised, b.high + w - self.raised)
        return one, s.between(self.other, a.low - w, a.high + w)

    def upward(self) -> Floats:
        """Gap of the heights, (K,) [mm]."""
        b = self.solids.heights.take(self.other)
        return height_gap(self.solids.heights.take(self.one).raised(self.raised), b.low, b.high)

    def needed(self) -> Floats:
        """Gap of the outlines that is wanted, (K,); ``-inf`` where the heights are far enough apart."""
        return left_across(self.wanted, self.upward())

    def at_this_turn(self) -> Floats:
        """Gap of the outlines at this turn, (K,) [mm]."""
        one, other = self.shapes()
        s = self.solids
        return gap_between(
            one.turned(s.about[self.one], self.angle[self.one]).shifted(self.moved),
            other.turned(s.about[self.other], self.angle[self.other]),
        )

    @property
    def turning(self) -> tuple[Bools, Bools]:
        """Which of the two turn, (K,) each; two that turn as one do not turn against each other."""
        s = self.solids
        apart = s.owner[self.one] != s.owner[self.other]
        return s.turns[self.one] & apart, s.turns[self.other] & apart

    def both_turning(self) -> tuple[Sweeps, Sweeps]:
        """The travel of both."""
        one, other = self.shapes()
        s = self.solids
        return s.swept(self.one, one, self.moved), s.swept(self.other, other, np.zeros_like(self.moved))

    def turning_and_still(self) -> tuple[Sweeps, Rectangles]:
        """The travel of the one that turns, and the other; in all pairs it is the same of the two."""
        one, other = self.both_turning()
        return (one, other.shape) if self.turning[0][0] else (other, one.shape)

    def over_the_travel(self) -> Floats:
        """Least gap of the outlines over the travel of both, each for itself, (K,) [mm]."""
        found = np.full(len(self.one), np.inf)
        first, second = self.turning
        for which in (first & ~second, second & ~first):
            if which.any():
                found[which] = swept_gap(*self.take(which).turning_and_still())
        both = first & second
        if both.any():
            found[both] = gap_of_sweeps(*self.take(both).both_turning())
        rest = ~first & ~second
        if rest.any():
            found[rest] = self.take(rest).at_this_turn()
        return found

    def too_near(self) -> tuple[Bools, Bools, Floats]:
        """Whether they are too near at this turn and somewhere in the travel, and the nearest distance."""
        needed, upward = self.needed(), self.upward()
        now, ever = self.at_this_turn(), self.over_the_travel()
        least = joined(np.minimum(now, ever), upward).clip(0.0)
        return now < needed - SLACK, ever < needed - SLACK, least

    def first_angle(self) -> tuple[Indices, Floats]:
        """The wheel that turns, and its steer angle nearest to straight ahead at which they are too near.

        Of two that turn it is the angle of the first, with the other anywhere in its travel; -1 and nan
        where none turns, (K,) each [rad].
        """
        s = self.solids
        first, second = self.turning
        wheel = np.where(first, s.owner[self.one], np.where(second, s.owner[self.other], -1))
        angle = np.full(len(self.one), np.nan)
        needed = np.maximum(self.needed(), 0.0)
        for which in (first & ~second, second & ~first):
            if which.any():
                angle[which] = first_nearer(*self.take(which).turning_and_still(), needed[which])
        both = first & second
        if both.any():
            angle[both] = _first_of_two(*self.take(both).both_turning(), needed[both])
        return wheel, angle


def _first_of_two(one: Sweeps, other: Sweeps, needed: Floats) -> Floats:
    """Least turn from straight ahead by which the first comes too near the region of the other, (K,)."""
    clear, near = np.zeros(len(needed)), np.maximum(-one.low, one.high)
    for _ in range(_HALVINGS):
        tried = 0.5 * (clear + near)
        part = replace(one, low=np.maximum(one.low, -tried), high=np.minimum(one.high, tried))
        met = gap_of_sweeps(part, other) < needed - SLACK
        clear, near = np.where(met, clear, tried), np.where(met, tried, near)
    right = replace(one, low=np.maximum(one.low, -near), high=np.zeros(len(near)))
    to_right = gap_of_sweeps(right, other) < needed - SLACK
    found = np.where(to_right, -near, near)
    return np.where(np.abs(found) < _STRAIGHT, 0.0, found)


def near_pairs(solids: Solids, angle: Floats, allowed: Collection[tuple[int, int]]) -> Pairs:
    """All pairs that could come too near, by circles around them and by their heights."""
    count = len(solids)
    lower, higher = np.triu_indices(count, k=1)
    wanted = np.maximum(solids.clearance[lower], solids.clearance[higher])
    middle, radius = solids.bounds
    low, high = solids.heights.low, solids.heights.high
    near = np.abs(middle[lower] - middle[higher]) - radius[lower] - radius[higher] < wanted
    near &= np.maximum(low[lower] - high[higher], low[higher] - high[lower]) < wanted
    # Nothing is tried against the wheel whose kingpin carries it.
    near &= solids.owner[higher] != lower
    if allowed:
        free = np.zeros((count, count), dtype=bool)
        free[tuple(np.array(sorted(allowed)).T)] = True
        near &= ~free[lower, higher]
    lower, higher, wanted = lower[near], higher[near], wanted[near]
    part_and_wheel = (lower < solids.wheels) & (higher >= solids.wheels)
    one, other = np.where(part_and_wheel, higher, lower), np.where(part_and_wheel, lower, higher)
    still = np.zeros(len(one))
    return Pairs(solids, one, other, wanted, angle, still, still.astype(np.complex128))
