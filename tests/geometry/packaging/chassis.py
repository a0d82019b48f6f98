"""Small chassis with parts, and what they make of them."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import numpy as np

from geometry.axes import Floats
from geometry.kinematics.robot import robot_of
from geometry.model.design import Design
from geometry.model.packaging import Packaging, Part
from geometry.model.wheel import Wheel
from geometry.packaging.fit import Collision, Fit, collisions_of, fit_of

BODY = ((180.0, 84.0), (-180.0, 84.0), (-180.0, -84.0), (180.0, -84.0))


def box(
    name: str = "box",
    x: float = 0.0,
    y: float = 0.0,
    bottom: float = 30.0,
    size: tuple[float, ...] = (40.0, 20.0, 10.0),
    **more: Any,
) -> Part:
    """A box by the three sides."""
    length, width, height = size
    return Part(
        name=name,
        x_mm=x,
        y_mm=y,
        bottom_mm=bottom,
        length_mm=length,
        width_mm=width,
        height_mm=height,
        **more,
    )


def post(
    name: str = "post",
    x: float = 0.0,
    y: float = 0.0,
    bottom: float = 30.0,
    size: tuple[float, ...] = (10.0, 10.0),
    **more: Any,
) -> Part:
    """An upright cylinder by diameter and height."""
    shape: dict[str, Any] = {"shape": "upright cylinder", "diameter_mm": size[0], "height_mm": size[1]}
    return Part(name=name, x_mm=x, y_mm=y, bottom_mm=bottom, **shape, **more)


def rod(
    name: str = "rod",
    x: float = 0.0,
    y: float = 0.0,
    bottom: float = 30.0,
    size: tuple[float, ...] = (40.0, 10.0),
    **more: Any,
) -> Part:
    """A lying cylinder by length and diameter."""
    shape: dict[str, Any] = {"shape": "lying cylinder", "length_mm": size[0], "diameter_mm": size[1]}
    return Part(name=name, x_mm=x, y_mm=y, bottom_mm=bottom, **shape, **more)


def wheel(name: str = "wheel", x: float = 0.0, y: float = 0.0, **more: Any) -> Wheel:
    """A wheel 60 by 25, steered unless said otherwise."""
    return Wheel(**{"name": name, "x_mm": x, "y_mm": y, "kind": "steered", **more})


def chassis(
    *parts: Part, wheels: Iterable[Wheel] = (), body: tuple[tuple[float, float], ...] = BODY, **packaging: Any
) -> Design:
    """A design of these."""
    return Design(wheels=tuple(wheels), body_mm=body, packaging=Packaging(**{"parts": parts, **packaging}))


def fit(design: Design, *, degrees: float = 0.0) -> Fit:
    """Its fit with every steered wheel at one steer angle."""
    robot = robot_of(design)
    steer = np.where(robot.wheels.fixed, 0.0, np.radians(degrees))
    return fit_of(robot, design, robot.wheels.built_in + steer)


def found(design: Design, *, degrees: float = 0.0) -> tuple[Collision, ...]:
    """Its collisions."""
    return fit(design, degrees=degrees).collisions


def told(design: Design, **turn: float) -> list[tuple[str, str, float, str, int]]:
    """Its collisions as words: kind and index of both, depth, and the way out."""
    return [
        (
            f"{c.first.kind} {c.first.index}",
            f"{c.second.kind} {c.second.index}",
            round(c.depth, 4),
            c.axis,
            c.sign,
        )
        for c in found(design, **turn)
    ]


def kinds(design: Design, **turn: float) -> list[tuple[str, str]]:
    """Which kinds of things collide."""
    return sorted((c.first.kind, c.second.kind) for c in found(design, **turn))


Pair = tuple[tuple[str, int], tuple[str, int]]


def pairs_of(design: Design, heading: Floats | None = None) -> dict[Pair, Collision]:
    """Both things of each collision at headings, by kind and index."""
    robot = robot_of(design)
    at = robot.wheels.built_in if heading is None else heading
    return {
        ((c.first.kind, c.first.index), (c.second.kind, c.second.index)): c
        for c in collisions_of(robot, design, at)
    }
