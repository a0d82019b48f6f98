"""Curves that an affine map takes to curves of the same kind, and their flattening to a chord error."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from geometry.errors import AxlewrightError

Floats = npt.NDArray[np.float64]

MOST_POINTS = 20_000
"""Points of one flattened curve; more are no outline of a chassis."""
FARTHEST = 1e9
"""The largest coordinate that is followed, in any unit; squares and areas of it stay exact enough."""
_FIRST_STEPS = 16
# Of what is allowed, measured at the middle of each chord: the largest may stand beside the middle.
_SAFE = 0.5
# Radii this near to each other, as share of them, make a circle.
_ROUND = 1e-6


class CurveError(AxlewrightError):
    """A curve that cannot be flattened: endless numbers, or far too many points."""


@dataclass(frozen=True)
class Lines:
    """A chain of straight lines.

    Parameters
    ----------
    points
        (K, D), D of 2 or 3 coordinates, in the file's unit.
    """

    points: Floats

    def moved(self, matrix: Floats, shift: Floats) -> Lines:
        """Map each point p to ``matrix @ p + shift``."""
        return Lines(self.points @ matrix.T + shift)

    def flat(self, error: float) -> Floats:  # noqa: ARG002 - as of every curve
        """The points, (K, 2)."""
        return _finite(self.points[:, :2])


@dataclass(frozen=True)
class Arc:
    """A part of an ellipse, ``centre + u cos t + v sin t`` from t = `start` over `sweep` radians.

    Any affine image of an arc is one again, exactly: u and v need not be at right angles.
    """

    centre: Floats
    u: Floats
    v: Floats
    start: float
    sweep: float

    def moved(self, matrix: Floats, shift: Floats) -> Arc:
        """Map each point p to ``matrix @ p + shift``."""
        centre = matrix @ self.centre + shift
        return Arc(centre, matrix @ self.u, matrix @ self.v, self.start, self.sweep)

    def flat(self, error: float) -> Floats:
        """Points on the arc, (K, 2); no chord is further than `error` from it.

        The arc is an affine image of a unit circle, which a chord over an angle d leaves by 1 - cos(d/2);
        the map stretches that by no more than its greatest singular value.
        """
        stretch = self._singular()[0]
        if not stretch <= FARTHEST or not math.isfinite(self.start + self.sweep):
            raise CurveError("holds numbers that are not finite, or far too large")
        step = 2.0 * math.acos(max(1.0 - error / stretch, -1.0)) if stretch > 0 else math.pi
        least = max(2, math.ceil(abs(self.sweep) / (0.5 * math.pi)))
        count = _counted(max(abs(self.sweep) / max(step, 1e-12), least))
        t = self.start + self.sweep * np.linspace(0.0, 1.0, count + 1)[:, None]
        return _finite(self.centre[:2] + self.u[:2] * np.cos(t) + self.v[:2] * np.sin(t))

    @property
    def radius(self) -> float | None:
        """Its radius where it is part of a circle as seen from above; else None."""
        great, small = self._singular()
        return great if great > 0 and great - small <= _ROUND * great else None

    def _singular(self) -> tuple[float, float]:
        """Half the axes of the whole ellipse in the plane, the greater first."""
        axes = np.column_stack((self.u[:2], self.v[:2]))
        if not np.isfinite(axes).all():
            return math.inf, math.inf
        with np.errstate(over="ignore"):
            great, small = np.linalg.svd(axes, compute_uv=False)
        return float(great), float(small)


@dataclass(frozen=True)
class Cubic:
    """A cubic Bézier curve of four control points, (4, D)."""

    points: Floats

    def moved(self, matrix: Floats, shift: Floats) -> Cubic:
        """Map each point p to ``matrix @ p + shift``."""
        return Cubic(self.points @ matrix.T + shift)

    def flat(self, error: float) -> Floats:
        """Points on the curve, (K, 2); no chord is further than `error` from it.

        A chord over a step h of the parameter is off by at most h² max|B''| / 8, and B'' is between its
        values at both ends, 6 (p0 - 2 p1 + p2) and 6 (p1 - 2 p2 + p3).
        """
        p = _finite(self.points[:, :2])
        with np.errstate(over="ignore", invalid="ignore"):
            bent = 6.0 * np.linalg.norm(p[:-2] - 2.0 * p[1:-1] + p[2:], axis=1).max()
        count = _counted(max(math.sqrt(bent / (8.0 * error)), 1.0) if math.isfinite(bent) else math.inf)
        t = np.linspace(0.0, 1.0, count + 1)[:, None]
        s = 1.0 - t
        return _finite(s**3 * p[0] + 3 * s * s * t * p[1] + 3 * s * t * t * p[2] + t**3 * p[3])


@dataclass(frozen=True)
class Spline:
    """A B-spline, rational or not.

    Parameters
    ----------
    controls
        Control points, (K, D).
    knots
        Ends of its spans, ascending: between two of them it is smooth.
    evaluated
        Takes control points and values of the parameter, (M,); returns points, (M, 2). Weights do not change
        under an affine map, so the control points alone are mapped.
    """

    controls: Floats
    knots: Floats
    evaluated: Callable[[Floats, Floats], Floats]

    def moved(self, matrix: Floats, shift: Floats) -> Spline:
        """Map each point p to ``matrix @ p + shift``."""
        return Spline(self.controls @ matrix.T + shift, self.knots, self.evaluated)

    def flat(self, error: float) -> Floats:
        """Points on the curve, (K, 2); no chord is further than `error` from it.

        The steps of each span are halved until the points half-way are within half of `error` of the chords.
        """
        if not np.isfinite(self.controls).all():
            raise CurveError("holds numbers that are not finite, or far too large")
        spans = np.unique(self.knots)
        steps = _FIRST_STEPS
        while True:
            # Twice as many as are kept: each second one is the half-way of a chord.
            inner = [np.linspace(a, b, 2 * steps, endpoint=False) for a, b in itertools.pairwise(spans)]
            t = np.concatenate([*inner, spans[-1:]])
            if len(t) > 2 * MOST_POINTS:
                raise CurveError(f"needs more than {MOST_POINTS:,} points; choose a larger chord error")
            points = _finite(self.evaluated(self.controls, t))
            if distances(points[1::2], points[:-1:2], points[2::2]).max(initial=0.0) <= _SAFE * error:
                return points[::2]
            steps *= 2


Curve = Lines | Arc | Cubic | Spline


def distances(points: Floats, start: Floats, end: Floats) -> Floats:
    """Distance of each point to a line with two ends, (M,); `start` and `end` may be one pair for all."""
    along = end - start
    square = np.sum(along * along, axis=-1)
    share = np.sum((points - start) * along, axis=-1) / np.where(square > 0, square, 1.0)
    nearest = start + np.clip(share, 0.0, 1.0)[..., None] * along
    return np.asarray(np.linalg.norm(points - nearest, axis=-1))


def _counted(wanted: float) -> int:
    if not wanted <= MOST_POINTS:  # also where it is not a number
        raise CurveError(f"needs more than {MOST_POINTS:,} points; choose a larger chord error")
    return max(math.ceil(wanted), 1)


def _finite(points: Floats) -> Floats:
    if not (np.abs(points) <= FARTHEST).all():  # also where one is not a number
        raise CurveError("holds numbers that are not finite, or far too large")
    return points
