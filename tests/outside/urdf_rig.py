"""A written URDF, loaded by a physics engine with a free joint and driven over a floor.

Steering joints are held at given angles by stiff position motors, driven wheels at given speeds; joints that
follow another get no motor. Everything is in metres, radians and seconds.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import mujoco
import numpy as np

STEP = 0.0005


@dataclass(frozen=True)
class Path:
    """Where the base went, a row for each step: (T, 3) x, y, heading."""

    poses: np.ndarray

    def circle(self) -> tuple[np.ndarray, float]:
        """Centre and radius of the circle that fits its places with the least sum of squares."""
        x, y = self.poses[:, 0], self.poses[:, 1]
        rows = np.stack([2.0 * x, 2.0 * y, np.ones(len(x))], axis=1)
        cx, cy, rest = np.linalg.lstsq(rows, x**2 + y**2, rcond=None)[0]
        return np.array([cx, cy]), math.sqrt(rest + cx**2 + cy**2)

    def centre_in_the_body(self) -> np.ndarray:
        """Mean place of that centre as the base sees it, (2,)."""
        apart = (self.circle()[0] - self.poses[:, :2]) @ (1.0, 1j)
        seen = (apart * np.exp(-1j * self.poses[:, 2])).mean()
        return np.array([seen.real, seen.imag])

    @property
    def yaw_rate(self) -> float:
        """Mean over the time [rad/s]."""
        return self.turned / ((len(self.poses) - 1) * STEP)

    @property
    def turned(self) -> float:
        """Angle by which it turned."""
        return float(self.poses[-1, 2] - self.poses[0, 2])


def spec_of(text: str) -> mujoco.MjSpec:
    """The file as it is, but for what its own comment asks for, a free base, and for small steps of time."""
    spec = mujoco.MjSpec.from_string(text)
    spec.compiler.fusestatic = False
    spec.body("base_link").add_freejoint()
    spec.option.timestep = STEP
    # The motors are too stiff for an explicit step.
    spec.option.integrator = mujoco.mjtIntegrator.mjINT_IMPLICITFAST
    return spec


def on_a_floor(spec: mujoco.MjSpec, *, point_like: bool) -> None:
    """Add a floor; wheels become spheres where contact shall be next to a point."""
    spec.option.cone = mujoco.mjtCone.mjCONE_ELLIPTIC
    spec.worldbody.add_geom(type=mujoco.mjtGeom.mjGEOM_PLANE, size=[50, 50, 0.1])
    for geom in spec.geoms:
        geom.friction = [1, 0, 0]
        geom.condim = 3
        geom.solref = [0.001, 1]
        if point_like and geom.parent.name.endswith("_wheel"):
            geom.type = mujoco.mjtGeom.mjGEOM_SPHERE


def add_motors(spec: mujoco.MjSpec, steer: dict[str, float], roll: dict[str, float]) -> dict[str, float]:
    """Give joints a motor each; what each shall be told, by the motor's name, which is the joint's."""
    mass = sum(body.mass for body in spec.bodies)
    for name in steer:
        motor = spec.add_actuator(name=name, target=name, trntype=mujoco.mjtTrn.mjTRN_JOINT)
        motor.set_to_position(kp=100.0 * mass, kv=mass)
        spec.joint(name).actfrclimited = mujoco.mjtLimited.mjLIMITED_FALSE
    for name in roll:
        motor = spec.add_actuator(name=name, target=name, trntype=mujoco.mjtTrn.mjTRN_JOINT)
        motor.set_to_velocity(kv=3.0 * mass)
        spec.joint(name).actfrclimited = mujoco.mjtLimited.mjLIMITED_FALSE
    return {**steer, **roll}


def held(model: mujoco.MjModel, told: dict[str, float], seconds: float) -> mujoco.MjData:
    """Hold motors as told for a time."""
    data = mujoco.MjData(model)
    for name, value in told.items():
        data.actuator(name).ctrl[0] = value
    mujoco.mj_step(model, data, nstep=round(seconds / STEP))
    return data


def drive(
    model: mujoco.MjModel, told: dict[str, float], start: dict[str, float], settle: float, seconds: float
) -> Path:
    """Hold motors as told, begin with joints that stand as `start` says, and follow the base."""
    data = mujoco.MjData(model)
    for name, value in start.items():
        data.joint(name).qpos[0] = value
    for name, value in told.items():
        data.actuator(name).ctrl[0] = value
    mujoco.mj_step(model, data, nstep=round(settle / STEP))
    poses = np.empty((round(seconds / STEP), 3))
    for pose in poses:
        mujoco.mj_step(model, data)
        w, x, y, z = data.qpos[3:7]
        pose[:] = data.qpos[0], data.qpos[1], math.atan2(2.0 * (w * z + x * y), 1.0 - 2.0 * (y * y + z * z))
    poses[:, 2] = np.unwrap(poses[:, 2])
    return Path(poses)
