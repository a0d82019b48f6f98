"""Masses and weights: where the centre of mass is, what each wheel carries, when the chassis tips."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from geometry.axes import Bools, Floats, frozen_array
from geometry.kinematics.robot import Robot, robot_of
from geometry.model.design import Design
from geometry.model.wheel import Wheel
from geometry.model.wheel_arrays import WheelArrays
from geometry.packaging.solids import size_of

GRAVITY = 9.81
"""[m/s2 = N/kg]"""
# Loads below this share of the weight are none; the same of places, relative to the largest distance.
_NOTHING = 1e-12
_STEPS = 200
# Wheels that stand nearer than this to the centre stand right below it [mm].
_ONE_PLACE = 1e-6


@dataclass(frozen=True, eq=False)
class Balance:
    """How the chassis stands on its wheels; arrays are read-only."""

    mass: float
    """Of body, parts and wheels [kg]."""
    centre: Floats
    """(3,): centre of mass, forward, to the left, above the ground [mm]."""
    loads: Floats | None
    """(N,): weight on each wheel [N]; None where no wheels can carry it without pulling."""
    lifted: tuple[int, ...]
    """Wheels that carry nothing, though others do."""
    tipping: tuple[Tipping, ...]
    """For each side of the polygon of the contact points, counter-clockwise; empty where there is none."""

    @property
    def least_tipping(self) -> Tipping | None:
        """The side over which it tips first."""
        return min(self.tipping, key=lambda side: side.angle, default=None)


@dataclass(frozen=True)
class Tipping:
    """A side of the polygon of the contact points, between two wheels."""

    first: int
    second: int
    margin: float
    """From the centre of mass to the side, seen from above; below 0 outside [mm]."""
    angle: float
    """How far it may lean to that side until it tips; below 0 where it falls by itself [rad]."""


def spring_loads(x: npt.ArrayLike, y: npt.ArrayLike, centre: npt.ArrayLike, weight: float) -> Floats | None:
    """Loads on n wheels: those that hold the weight with the least sum of squares, none below 0.

    Parameters
    ----------
    x, y : array_like, (N,)
        Contact points [mm].
    centre : array_like, (2,)
        Where the weight acts [mm].
    weight : float
        [N], or any unit.

    Returns
    -------
    ndarray or None
        (N,), in the unit of the weight; None where the centre is not above the polygon of the wheels.

    Notes
    -----
    Equal springs under a rigid body sink in a plane: N = max(0, p + q x + r y), the conditions of the least
    sum of squares. The three numbers make least a convex function, half the sum of the squares less what
    they take from weight and moments; Newton steps with the exact place of the least along each come
    to its least in a few steps, since it is made of parabolas.

    Examples
    --------
    >>> spring_loads([1, 1, -1, -1], [1, -1, 1, -1], (0.5, 0), 4.0)
    array([1.5, 1.5, 0.5, 0.5])
    >>> spring_loads([1, 1, -1], [1, -1, 0], (2, 0), 4.0) is None
    True
    """
    px, py = np.asarray(x, dtype=np.float64), np.asarray(y, dtype=np.float64)
    cx, cy = np.asarray(centre, dtype=np.float64)
    if not len(px):
        return None
    size = max(float(np.hypot(px - cx, py - cy).max()), _ONE_PLACE)
    rows = np.stack([np.ones(len(px)), (px - cx) / size, (py - cy) / size])
    wanted = np.array([1.0, 0.0, 0.0])
    plane = np.linalg.lstsq(rows @ rows.T, wanted, rcond=1e-12)[0]
    for _ in range(_STEPS):
        pressed = plane @ rows
        left = wanted - rows @ np.maximum(pressed, 0.0)
        if np.abs(left).max() < _NOTHING:
            break
        held = rows[:, pressed > 0]
        pull = _NOTHING * len(px) * np.eye(3)
        step = np.linalg.solve(held @ held.T + pull, left)
        plane = plane + _along(plane @ rows, step @ rows, float(step @ wanted)) * step
    loads = np.maximum(plane @ rows, 0.0)
    loads = _polished(rows, wanted, loads > 1e-9)
    if (loads < -1e-9).any() or np.abs(rows @ loads - wanted).max() > 1e-7:
        return None
    return np.asarray(np.maximum(loads, 0.0) * weight)


def _along(pressed: Floats, change: Floats, gain: float) -> float:
    """Where along a step the convex function is least: its slope there is made of straight pieces."""
    with np.errstate(divide="ignore", invalid="ignore"):
        bends = -pressed / change
    places = np.unique(bends[np.isfinite(bends) & (bends > 0)])
    slopes = np.maximum(pressed[:, None] + change[:, None] * places, 0.0).T @ change - gain
    after = np.flatnonzero(slopes >= 0)
    start = float(places[after[0] - 1]) if after.size and after[0] else 0.0
    if not after.size and places.size:
        start = float(places[-1])
    end = float(places[after[0]]) if after.size else start + 1.0
    middle = pressed + change * 0.5 * (start + end)
    bending = float((change[middle > 0] ** 2).sum())
    slope = float(np.maximum(pressed + change * start, 0.0) @ change) - gain
    return start - slope / bending if bending > 0 else end


def _polished(rows: Floats, wanted: Floats, held: Bools) -> Floats:
    """Loads on the wheels that carry, to the last digits."""
    loads = np.zeros(rows.shape[1])
    if held.any():
        some = rows[:, held]
        loads[held] = np.linalg.lstsq(some, wanted, rcond=1e-12)[0]
    return loads


def tipping_of(x: npt.ArrayLike, y: npt.ArrayLike, centre: npt.ArrayLike) -> tuple[Tipping, ...]:
    """Over which sides a chassis tips, and how far it may lean.

    Parameters
    ----------
    x, y : array_like, (N,)
        Contact points [mm].
    centre : array_like, (3,)
        Centre of mass, its height last [mm].

    Examples
    --------
    >>> sides = tipping_of([180, 180, -180, -180], [150, -150, 150, -150], (0, 0, 120))
    >>> [round(float(np.degrees(side.angle)), 3) for side in sides]
    [51.34, 56.31, 51.34, 56.31]
    """
    px, py = np.asarray(x, dtype=np.float64), np.asarray(y, dtype=np.float64)
    cx, cy, height = (float(v) for v in np.asarray(centre, dtype=np.float64))
    around = _around(px, py)
    found = []
    for a, b in zip(around, [*around[1:], *around[:1]], strict=True):
        ex, ey = px[b] - px[a], py[b] - py[a]
        margin = float((ex * (cy - py[a]) - ey * (cx - px[a])) / np.hypot(ex, ey))
        found.append(Tipping(a, b, margin, float(np.arctan2(margin, height))))
    return tuple(found)


def _around(x: Floats, y: Floats) -> list[int]:
    """Corners of the smallest convex polygon around points, counter-clockwise; empty where it has no area."""
    order = np.lexsort((y, x))

    def chain(indices: npt.NDArray[np.intp]) -> list[int]:
        kept: list[int] = []
        for i in indices:
            while len(kept) > 1:
                a, b = kept[-2], kept[-1]
                turn = (x[b] - x[a]) * (y[i] - y[b]) - (y[b] - y[a]) * (x[i] - x[b])
                if turn > 1e-9:
                    break
                kept.pop()
            kept.append(int(i))
        return kept[:-1]

    around = chain(order) + chain(order[::-1])
    return around if len(around) > 2 else []


def contact_points(wheels: WheelArrays, heading: npt.ArrayLike) -> tuple[Floats, Floats]:
    """Contact points of wheels that head so, (N,) each [mm]."""
    at = (wheels.along + 1j * wheels.across) * np.exp(1j * np.asarray(heading))
    return np.asarray(wheels.x + at.real), np.asarray(wheels.y + at.imag)


def balance_of(robot: Robot, design: Design, heading: npt.ArrayLike) -> Balance | None:
    """How a design stands; None for one without any mass.

    Parameters
    ----------
    robot : Robot
        The design's.
    design : Design
        With the masses of body, parts and wheels.
    heading : array_like, (N,)
        Wheel headings [rad].
    """
    x, y = contact_points(robot.wheels, heading)
    steer = np.asarray(heading, dtype=np.float64) - robot.wheels.built_in
    places = [(*_body_middle(design), 0.5 * (design.packaging.floor_mm + design.packaging.roof_mm))]
    masses = [design.packaging.body_mass_kg]
    for part in design.packaging.parts:
        at = complex(part.x_mm, part.y_mm)
        if part.mounted_on is not None:
            n = design.index_of(part.mounted_on)
            pin = complex(robot.wheels.x[n], robot.wheels.y[n])
            at = pin + (at - pin) * np.exp(1j * steer[n])
        places.append((at.real, at.imag, part.bottom_mm + 0.5 * size_of(part)[2]))
        masses.append(part.mass_kg)
    for n, wheel in enumerate(design.wheels):
        places.append((float(x[n]), float(y[n]), 0.5 * wheel.diameter_mm))
        masses.append(wheel.mass_kg)
    mass = float(sum(masses))
    if mass <= 0:
        return None
    centre = np.array(masses) @ np.array(places) / mass
    loads = spring_loads(x, y, centre[:2], mass * GRAVITY)
    lifted = () if loads is None else tuple(int(n) for n in np.flatnonzero(loads <= 1e-9 * mass * GRAVITY))
    return Balance(
        mass,
        frozen_array(centre),
        None if loads is None else frozen_array(loads),
        lifted,
        tipping_of(x, y, centre),
    )


def _body_middle(design: Design) -> tuple[float, float]:
    """Centroid of the outline; without one the middle of the kingpins, without wheels the origin [mm]."""
    if not design.body_mm:
        pins = [(wheel.x_mm, wheel.y_mm) for wheel in design.wheels] or [(0.0, 0.0)]
        x, y = np.mean(pins, axis=0)
        return float(x), float(y)
    corner = np.array(design.body_mm)
    start = corner[0]
    a, b = corner - start, np.roll(corner, -1, axis=0) - start
    cross = a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]
    x, y = start + ((a + b) * cross[:, None]).sum(axis=0) / (3.0 * cross.sum())
    return float(x), float(y)


def load_shares(design: Design) -> tuple[float, ...] | None:
    """Load shares of a design's wheels from its masses, straight ahead; their mean is 1.

    A lifted wheel has the least share that a wheel can have. None where there is no mass, or where the
    wheels cannot carry it.
    """
    robot = robot_of(design)
    balance = balance_of(robot, design, robot.wheels.built_in)
    if balance is None or balance.loads is None:
        return None
    share = balance.loads / balance.loads.mean()
    least = next(m.ge for m in Wheel.model_fields["load_share"].metadata if hasattr(m, "ge"))
    return tuple(float(max(least, s)) for s in share)
