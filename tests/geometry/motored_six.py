"""The six-wheeled chassis of several tests with motors, and what it becomes as built."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
import numpy.typing as npt

from geometry.kinematics.as_built import AsBuilt, as_built, motor_arrays
from geometry.kinematics.motion import Motion, from_turn
from geometry.model.base_axle import base_of
from geometry.model.design import Design
from geometry.model.motors import DriveMotor, Gearing, SteerMotor
from geometry.model.wheel import Wheel
from geometry.model.wheel_arrays import wheel_arrays
from tests.geometry.six_wheels import six

TURNS = np.linspace(-1.0, 1.0, 401)
# Two wheels on one motor agree nearly everywhere, but turn round amid two of 2001 even turns.
PAIR = Design(
    wheels=(
        Wheel(
            name="rear", x_mm=-50, y_mm=100, kind="steered", lateral_offset_mm=10, toe_deg=40, load_share=0.1
        ),
        Wheel(name="front", x_mm=50, y_mm=150, kind="steered", driven=True),
    ),
    steer_motors=(
        SteerMotor(name="S", wheels=(Gearing(wheel="front", ratio=1.0), Gearing(wheel="rear", ratio=1.0))),
    ),
    drive_motors=(DriveMotor(name="D", wheels=(Gearing(wheel="front", ratio=1.0),)),),
    base_axle_x_mm=0.0,
)


def steer(name: str, **ratios: float) -> SteerMotor:
    return SteerMotor(name=name, wheels=tuple(Gearing(wheel=w, ratio=r) for w, r in ratios.items()))


def drive(name: str, **ratios: float) -> DriveMotor:
    return DriveMotor(name=name, wheels=tuple(Gearing(wheel=w, ratio=r) for w, r in ratios.items()))


def with_driven(design: Design, names: Iterable[str]) -> Design:
    chosen = set(names)
    return design.edited(wheels=tuple(w.edited(driven=w.name in chosen) for w in design.wheels))


def four_motors(error: float = 0.0, travel: float = 135.0) -> Design:
    """Two motors drive the middle wheels; one steers the left corners, one the right: front +1, rear -1."""
    return with_driven(six(travel), ("w2", "w3")).edited(
        steer_motors=(
            steer("steer left", w0=1.0, w4=-(1.0 + error)),
            steer("steer right", w1=1.0, w5=-(1.0 + error)),
        ),
        drive_motors=(drive("drive left", w2=1.0), drive("drive right", w3=1.0)),
    )


def otherwise_driven(design: Design, *motors: DriveMotor, more: Iterable[str] = ()) -> Design:
    """The same chassis with these drive motors, their wheels and `more` driven."""
    names = [*(g.wheel for motor in motors for g in motor.wheels), *more]
    return with_driven(design.edited(drive_motors=()), names).edited(drive_motors=motors)


def run(design: Design, motion: Motion) -> AsBuilt:
    arrays = wheel_arrays(design)
    return as_built(arrays, motor_arrays(design, arrays), motion)


def over(design: Design, turns: npt.ArrayLike = TURNS, speed: float = 1.0) -> AsBuilt:
    return run(design, from_turn(turns, base_of(design), speed))
