"""Small chassis with parts, and what they make of them."""

from __future__ import annotations

import numpy as np

from geometry.kinematics.robot import robot_of
from geometry.model.design import Design
from geometry.model.packaging import Packaging, Part
from geometry.model.wheel import Wheel
from geometry.packaging.fit import collisions_of, fit_of

BODY = ((180.0, 84.0), (-180.0, 84.0), (-180.0, -84.0), (180.0, -84.0))


def box(name="box", x=0.0, y=0.0, bottom=30.0, size=(40.0, 20.0, 10.0), **more):
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


def post(name="post", x=0.0, y=0.0, bottom=30.0, size=(10.0, 10.0), **more):
    """An upright cylinder by diameter and height."""
    shape = {"shape": "upright cylinder", "diameter_mm": size[0], "height_mm": size[1]}
    return Part(name=name, x_mm=x, y_mm=y, bottom_mm=bottom, **shape, **more)


def rod(name="rod", x=0.0, y=0.0, bottom=30.0, size=(40.0, 10.0), **more):
    """A lying cylinder by length and diameter."""
    shape = {"shape": "lying cylinder", "length_mm": size[0], "diameter_mm": size[1]}
    return Part(name=name, x_mm=x, y_mm=y, bottom_mm=bottom, **shape, **more)


def wheel(name="wheel", x=0.0, y=0.0, **more):
    """A wheel 60 by 25, steered unless said otherwise."""
    return Wheel(**{"name": name, "x_mm": x, "y_mm": y, "kind": "steered", **more})


def chassis(*parts, wheels=(), body=BODY, **packaging):
    """A design of these."""
    return Design(wheels=tuple(wheels), body_mm=body, packaging=Packaging(**{"parts": parts, **packaging}))


def fit(design, *, degrees=0.0):
    """Its fit with every steered wheel at one steer angle."""
    robot = robot_of(design)
    steer = np.where(robot.wheels.fixed, 0.0, np.radians(degrees))
    return fit_of(robot, design, robot.wheels.built_in + steer)


def found(design, *, degrees=0.0):
    """Its collisions."""
    return fit(design, degrees=degrees).collisions


def told(design, **turn):
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


def kinds(design, **turn):
    """Which kinds of things collide."""
    return sorted((c.first.kind, c.second.kind) for c in found(design, **turn))


def pairs_of(design, heading=None):
    """Both things of each collision at headings, by kind and index."""
    robot = robot_of(design)
    at = robot.wheels.built_in if heading is None else heading
    return {
        ((c.first.kind, c.first.index), (c.second.kind, c.second.index)): c
        for c in collisions_of(robot, design, at)
    }
