"""A chassis built from wheel places alone and driven in a physics engine that knows no steering.

The wheels are spheres on a floor, so contact is next to a point; each is held at its
heading, and driven ones are held at their speed. Everything is in metres and seconds.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import mujoco
import numpy as np

FAST = 0.2  # speed of the faster side [m/s]
STEP, SETTLE, WINDOW = 0.0005, 0.75, 0.75


@dataclass(frozen=True)
class RigWheel:
    """A wheel as it is bolted on."""

    x: float
    """Contact point [m]."""
    y: float
    radius: float
    heading: float
    """Where it points [rad]."""
    speed: float | None
    """Rolling speed relative to the faster side; None rolls free."""


@dataclass(frozen=True)
class Drive:
    """What the chassis did."""

    yaw_rate: float
    """[rad/s]"""
    centre: tuple[float, float]
    """Turn centre in the body [m]; infinite where it does not turn."""
    slip: float
    """Largest sideways speed of a contact over the speed of the fastest wheel."""
    sides: tuple[float, ...]
    """Sideways speed of each contact to its wheel's left, over the speed of the faster side."""


def _model_text(wheels: list[RigWheel]) -> str:
    height = max(wheel.radius for wheel in wheels)
    bodies, motors = [], []
    for i, wheel in enumerate(wheels):
        bodies.append(
            f'<body pos="{wheel.x!r} {wheel.y!r} {wheel.radius - height!r}" euler="0 0 {wheel.heading!r}">'
            f'<joint name="j{i}" type="hinge" axis="0 1 0"/>'
            f'<geom type="sphere" size="{wheel.radius!r}" mass="0.1"/></body>'
        )
        if wheel.speed is not None:
            motors.append(f'<velocity joint="j{i}" kv="10"/>')
    return (
        '<mujoco><compiler angle="radian"/>'
        # The motors are too stiff for an explicit step.
        f'<option timestep="{STEP}" cone="elliptic" integrator="implicitfast"/>'
        '<default><geom friction="1 0 0" condim="3" solref="0.001 1"/></default>'
        f'<worldbody><geom type="plane" size="5 5 0.1"/><body pos="0 0 {height!r}"><freejoint/>'
        '<geom type="box" size="0.05 0.05 0.01" mass="3" contype="0" conaffinity="0"/>'
        f"{''.join(bodies)}</body></worldbody><actuator>{''.join(motors)}</actuator></mujoco>"
    )


def _body_velocity(data: mujoco.MjData) -> np.ndarray:
    """Velocity of the chassis origin in its own frame and its yaw rate, (3,)."""
    w, x, y, z = data.qpos[3:7]
    yaw = math.atan2(2.0 * (w * z + x * y), 1.0 - 2.0 * (y * y + z * z))
    c, s = math.cos(yaw), math.sin(yaw)
    vx, vy = data.qvel[0], data.qvel[1]
    return np.array([c * vx + s * vy, c * vy - s * vx, data.qvel[5]])


def drive(wheels: list[RigWheel]) -> Drive:
    """Let the chassis settle and measure it over a window."""
    model = mujoco.MjModel.from_xml_string(_model_text(wheels))
    data = mujoco.MjData(model)
    data.ctrl[:] = [FAST * wheel.speed / wheel.radius for wheel in wheels if wheel.speed is not None]
    mujoco.mj_step(model, data, nstep=round(SETTLE / STEP))
    steps = round(WINDOW / STEP)
    trace = np.empty((steps, 3))
    for i in range(steps):
        mujoco.mj_step(model, data)
        trace[i] = _body_velocity(data)
    vx, vy, omega = trace.mean(axis=0)
    side = [
        (vy + omega * w.x) * math.cos(w.heading) - (vx - omega * w.y) * math.sin(w.heading) for w in wheels
    ]
    fastest = max(math.hypot(vx - omega * w.y, vy + omega * w.x) for w in wheels)
    centre = (-vy / omega, vx / omega) if abs(omega) > 1e-4 else (math.inf, math.inf)
    slip = max(abs(speed) for speed in side) / fastest
    return Drive(float(omega), centre, slip, tuple(float(speed / FAST) for speed in side))
