"""The six-wheeled chassis of several tests, and the velocity of a contact by plain trigonometry."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from geometry.kinematics.ideal import Solution, solve
from geometry.kinematics.motion import from_turn
from geometry.model.base_axle import base_of
from geometry.model.design import Design
from geometry.model.wheel import Wheel
from geometry.model.wheel_arrays import wheel_arrays

H, X = 120.0, 132.0
PLACES = ((X, H), (X, -H), (0.0, H), (0.0, -H), (-X, H), (-X, -H))


def six(travel: float = 180.0, **corner: Any) -> Design:
    """Six wheels, the corners steered."""
    return Design(
        wheels=tuple(
            Wheel(name=f"w{i}", x_mm=x, y_mm=y)
            if x == 0
            else Wheel(
                name=f"w{i}",
                x_mm=x,
                y_mm=y,
                kind="steered",
                travel_min_deg=-travel,
                travel_max_deg=travel,
                **corner,
            )
            for i, (x, y) in enumerate(PLACES)
        )
    )


def solved(design: Design, *turn: float, speed: float = 1.0) -> Solution:
    return solve(wheel_arrays(design), from_turn(turn, base_of(design), speed))


def contact_velocity(wheel: Wheel, heading: float, twist: np.ndarray) -> tuple[float, float]:
    """Velocity of the contact in the wheel's own frame (rolling, sideways), by plain trigonometry."""
    c, s = math.cos(heading), math.sin(heading)
    qx = wheel.x_mm + (-wheel.trail_mm) * c - wheel.lateral_offset_mm * s
    qy = wheel.y_mm + (-wheel.trail_mm) * s + wheel.lateral_offset_mm * c
    vx, vy = twist[0] - twist[2] * qy, twist[1] + twist[2] * qx
    return vx * c + vy * s, vy * c - vx * s


def fastest(design: Design, twist: np.ndarray) -> float:
    reach = max([1.0, *(abs(w.x_mm) + abs(w.y_mm) + abs(w.trail_mm) for w in design.wheels)])
    return float(abs(twist[0]) + abs(twist[1]) + abs(twist[2]) * reach)
