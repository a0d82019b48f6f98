"""The six-wheeled sample with motors that suit it, or do not."""

from __future__ import annotations

from app.design.samples import sample_design
from geometry.model.design import Design
from geometry.model.motors import DriveMotor, Gearing, SteerMotor


def steer_motor(name: str, wheels: dict[str, float], **more: object) -> SteerMotor:
    """A steer motor that turns wheels by ratios."""
    gearings = tuple(Gearing(wheel=wheel, ratio=ratio) for wheel, ratio in wheels.items())
    return SteerMotor.model_validate({"name": name, "wheels": gearings, **more})


def drive_motor(name: str, wheels: dict[str, float], **more: object) -> DriveMotor:
    """A drive motor that drives wheels by ratios."""
    gearings = tuple(Gearing(wheel=wheel, ratio=ratio) for wheel, ratio in wheels.items())
    return DriveMotor.model_validate({"name": name, "wheels": gearings, **more})


def scout(*motors: SteerMotor | DriveMotor) -> Design:
    """The six-wheeled sample with these motors."""
    steer = tuple(motor for motor in motors if isinstance(motor, SteerMotor))
    drive = tuple(motor for motor in motors if isinstance(motor, DriveMotor))
    return sample_design("marsh_scout_six").edited(steer_motors=steer, drive_motors=drive)


# Equal angles in front, and in the rear: some wheel always drags.
FRONT = steer_motor("front", {"front left": 1.0, "front right": 1.0})
REAR = steer_motor("rear", {"rear left": 1.0, "rear right": 1.0})
# Equal and opposite angles on one side: exact.
RIGHT = steer_motor("right", {"front right": 1.0, "rear right": -1.0}, zero_deg=5.0, reversed=True)
LEFT = steer_motor("left", {"front left": 1.0, "rear left": -1.0})
DRIVES = (drive_motor("drive left", {"middle left": 1.0}), drive_motor("drive right", {"middle right": 1.0}))
BOTH = drive_motor("both", {"middle left": 1.0, "middle right": 1.0})
