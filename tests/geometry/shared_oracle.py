"""What one motor's wheels drag at a shaft angle by plain trigonometry; the least by brute force."""

from __future__ import annotations

import math

import numpy as np
from scipy.optimize import minimize_scalar

from geometry.model.design import Design
from geometry.model.motors import SteerMotor


def heading_of(design: Design, motor: SteerMotor, name: str, shaft: np.ndarray) -> np.ndarray:
    """Where a wheel of the motor points [rad]."""
    wheel = next(w for w in design.wheels if w.name == name)
    turns = next(g.turns for g in motor.wheels if g.wheel == name)
    # Toe-in turns a left-hand wheel to the right.
    toe = -wheel.toe_deg if wheel.y_mm + wheel.lateral_offset_mm >= 0 else wheel.toe_deg
    return turns * shaft + math.radians(toe)


def dragged(design: Design, motor: SteerMotor, twist: np.ndarray, shaft: np.ndarray) -> np.ndarray:
    """Load-weighted sum of squared sideways speeds of the contacts."""
    total = np.zeros(np.shape(shaft))
    for gearing in motor.wheels:
        wheel = next(w for w in design.wheels if w.name == gearing.wheel)
        d = heading_of(design, motor, gearing.wheel, np.asarray(shaft))
        qx = wheel.x_mm - wheel.trail_mm * np.cos(d) - wheel.lateral_offset_mm * np.sin(d)
        qy = wheel.y_mm - wheel.trail_mm * np.sin(d) + wheel.lateral_offset_mm * np.cos(d)
        vx, vy = twist[0] - twist[2] * qy, twist[1] + twist[2] * qx
        total = total + wheel.load_share * (vy * np.cos(d) - vx * np.sin(d)) ** 2
    return total


def size_of_drag(design: Design, motor: SteerMotor, twist: np.ndarray) -> float:
    """What the sum would be about if every wheel went sideways."""
    held = {g.wheel for g in motor.wheels}
    parts = [
        w.load_share
        * (
            (twist[0] - twist[2] * w.y_mm) ** 2
            + (twist[1] + twist[2] * w.x_mm) ** 2
            + (twist[2] * w.trail_mm) ** 2
        )
        for w in design.wheels
        if w.name in held
    ]
    return float(sum(parts))


def shaft_ends(design: Design, motor: SteerMotor) -> tuple[float, float]:
    """Shaft angles that the motor and each of its wheels can take [rad]."""
    sign = -1.0 if motor.reversed else 1.0
    ends = [sign * (end - motor.zero_deg) for end in (motor.travel_min_deg, motor.travel_max_deg)]
    low, high = min(ends), max(ends)
    for gearing in motor.wheels:
        wheel = next(w for w in design.wheels if w.name == gearing.wheel)
        sides = [wheel.travel_min_deg / gearing.turns, wheel.travel_max_deg / gearing.turns]
        low, high = max(low, min(sides)), min(high, max(sides))
    return math.radians(low), math.radians(high)


def least_drag(design: Design, motor: SteerMotor, twist: np.ndarray) -> float:
    """The least sum over the travel: a dense grid, and a bounded search about its lowest places."""
    low, high = shaft_ends(design, motor)
    grid = np.linspace(low, high, 721)
    values = dragged(design, motor, twist, grid)
    best = float(values.min())
    if low == high:
        return best
    step = grid[1] - grid[0]
    for place in grid[np.argsort(values)[:3]]:
        found = minimize_scalar(
            lambda q: float(dragged(design, motor, twist, np.asarray(q))),
            bounds=(max(low, place - step), min(high, place + step)),
            method="bounded",
            options={"xatol": 1e-10},
        )
        best = min(best, float(found.fun))
    return best
