"""The same measures by another way: the outline in one pose after another, and the arcs looked at closer.

Nothing here uses the turn centre or a closed form of `about_centre`: poses come from the twist, walls from
what the outline covers. Slow, for one turn at a time; what it gives proves the closed forms.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from geometry.axes import Floats
from geometry.kinematics.motion import pose_after
from geometry.turning_space.outlines import Outlines

_POSES, _CLOSER, _TIMES, _PEAKS = 721, 33, 5, 6


@dataclass(frozen=True)
class SweptMeasures:
    """What one outline sweeps at one turn, found pose by pose [mm]."""

    wall_to_wall: float
    inner_radius: float
    lane: float
    kerb_gap: float
    tail_swing: float


def swept_measures(
    outlines: Outlines, straight: Outlines, twist: Floats, row: int, neighbour: float
) -> SweptMeasures:
    """Measure one turn pose by pose.

    Parameters
    ----------
    outlines, straight : Outlines
        M outlines in the turn, and one straight ahead; at least one polygon.
    twist : ndarray, (M, 3)
        Motions; that of the row must turn.
    row : int
        Which turn.
    neighbour : float
        Width of the neighbour at the kerb [mm].
    """
    swept = _Swept(outlines, straight, twist, row)
    gap, tail = swept.kerb(neighbour)
    return SweptMeasures(swept.wall_to_wall(), swept.inner_radius(), swept.lane(), gap, tail)


class _Swept:
    """One outline that turns to the left, mirrored where the robot turns to the right."""

    def __init__(self, outlines: Outlines, straight: Outlines, twist: Floats, row: int) -> None:
        side = 1.0 if twist[row, 2] > 0 else -1.0
        mirror = np.array([1.0, side])
        self._start = outlines.corners[row] * mirror
        self._ends = outlines.ends[row] * mirror
        self._straight = straight.corners[0] * mirror
        # Angle in place of time: one radian for each unit of it.
        self._twist = np.array([[1.0, side, side]]) * twist[row] / abs(twist[row, 2])

    def _moved(self, points: Floats, angle: Floats) -> Floats:
        """Points in the frame of the start, (T, P, 2)."""
        pose = pose_after(self._twist, angle)[0]
        cos, sin = np.cos(pose[:, 2:]), np.sin(pose[:, 2:])
        x = cos * points[:, 0] - sin * points[:, 1] + pose[:, :1]
        y = sin * points[:, 0] + cos * points[:, 1] + pose[:, 1:2]
        return np.stack([x, y], axis=2)

    def _reach(self, x: float, y: float, turned: float) -> float:
        """Farthest of the corners in a direction while the robot turns so far."""
        direction = np.array([x, y])
        return _largest(lambda angle: (self._moved(self._start, angle) @ direction).max(axis=1), turned)

    def wall_to_wall(self) -> float:
        """Width between walls that a whole turn takes; the same in every direction."""
        return self._reach(0.0, 1.0, 2.0 * np.pi) + self._reach(0.0, -1.0, 2.0 * np.pi)

    def inner_radius(self) -> float:
        """Radius of what stays free in the middle of a whole turn."""
        around = np.linspace(0.0, 2.0 * np.pi, 8, endpoint=False)
        middle = self._moved(np.zeros((1, 2)), around).mean(axis=0)[0]
        return 0.0 if self._covers(middle) else float(_gap(middle, self._start, self._ends))

    def _covers(self, point: Floats) -> bool:
        """Whether the first pose covers a point: some polygon winds round it."""
        a, b = self._start - point, self._ends - point
        turned = np.arctan2(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0], (a * b).sum(axis=1))
        winding, corner = 0.0, 0
        for k in range(len(a)):
            winding += turned[k]
            if (self._ends[k] == self._start[corner]).all():
                if abs(winding) > np.pi:
                    return True
                winding, corner = 0.0, k + 1
        return False

    def lane(self) -> float:
        """Narrowest right-angled lane, run-in and run-out included."""
        quarter = 0.5 * np.pi
        end = self._moved(self._straight, np.array([quarter]))[0]
        wall_1 = min(-self._reach(0.0, -1.0, quarter), float(self._straight[:, 1].min()))
        wall_2 = max(self._reach(1.0, 0.0, quarter), float(end[:, 0].max()))
        last = self._moved(self._start, np.array([quarter]))[0]
        run_in = max(self._straight[:, 1].max(), self._start[:, 1].max()) - wall_1
        run_out = wall_2 - min(end[:, 0].min(), last[:, 0].min())

        def nearer_wall(angle: Floats) -> Floats:
            a, b = self._moved(self._start, angle), self._moved(self._ends, angle)
            one, two = a[..., 1] - wall_1, wall_2 - a[..., 0]
            more, less = b[..., 1] - wall_1 - one, wall_2 - b[..., 0] - two
            # Along an edge both are straight lines: the lower is highest at an end or where they cross.
            even = np.abs(more - less) > 0
            share = np.clip((two - one) / np.where(even, more - less, 1.0), 0.0, 1.0)
            crossing = np.minimum(one + share * more, two + share * less)
            return np.asarray(np.maximum(np.minimum(one, two), crossing).max(axis=1))

        inside = 0.0 if self.inner_radius() > 0 else self._at_the_middle(wall_1, wall_2)
        return float(max(run_in, run_out, _largest(nearer_wall, quarter), inside))

    def _at_the_middle(self, wall_1: float, wall_2: float) -> float:
        middle = self._moved(np.zeros((1, 2)), np.array([0.0, np.pi])).mean(axis=0)[0]
        return float(min(middle[1] - wall_1, wall_2 - middle[0]))

    def kerb(self, neighbour: float) -> tuple[float, float]:
        """Length of the kerb gap, and how far the tail swings over the kerb."""
        kerb = float(self._start[:, 1].min())
        line = kerb + neighbour
        middle = self._moved(np.zeros((1, 2)), np.array([0.0, np.pi])).mean(axis=0)[0]
        if line > middle[1] + 1e-9 * max(1.0, abs(float(middle[1]))):
            return np.inf, np.inf

        def ahead(angle: Floats) -> Floats:
            a, b = self._moved(self._start, angle), self._moved(self._ends, angle)
            rise = b[..., 1] - a[..., 1]
            share = (line - a[..., 1]) / np.where(rise == 0, np.inf, rise)
            crosses = (share > 0) & (share < 1)
            on_line = a[..., 0] + share * (b[..., 0] - a[..., 0])
            here = np.maximum(
                np.where(a[..., 1] <= line, a[..., 0], -np.inf), np.where(crosses, on_line, -np.inf)
            )
            return np.asarray(here.max(axis=1))

        gap = _largest(ahead, np.pi) - float(self._start[:, 0].min())
        return gap, self._reach(0.0, -1.0, 0.5 * np.pi) + kerb


def _largest(of: Callable[[Floats], Floats], turned: float) -> float:
    """The largest value while an angle runs from 0 to `turned`; the highest peaks are looked at closer."""
    angle = np.linspace(0.0, turned, _POSES)
    value = of(angle)
    padded = np.concatenate([[-np.inf], value, [-np.inf]])
    peaks = np.flatnonzero((value >= padded[:-2]) & (value >= padded[2:]))
    best = float(value.max())
    for k in peaks[np.argsort(-value[peaks], kind="stable")][:_PEAKS].tolist():
        low, high = angle[max(k - 1, 0)], angle[min(k + 1, len(angle) - 1)]
        for _ in range(_TIMES):
            close = np.linspace(low, high, _CLOSER)
            value_close = of(close)
            at = int(value_close.argmax())
            best = max(best, float(value_close[at]))
            low, high = close[max(at - 1, 0)], close[min(at + 1, _CLOSER - 1)]
    return best


def _gap(point: Floats, start: Floats, end: Floats) -> float:
    along, off = end - start, point - start
    share = np.clip((off * along).sum(axis=1) / np.maximum((along**2).sum(axis=1), 1e-300), 0.0, 1.0)
    return float(np.linalg.norm(off - share[:, None] * along, axis=1).min())
