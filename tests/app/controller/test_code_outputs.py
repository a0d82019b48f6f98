"""What the code's whole numbers mean, turned back to shafts, wheels and speeds."""

from __future__ import annotations

import numpy as np
import pytest

from app.controller.code_outputs import (
    bare_whole,
    command_whole,
    drive_outputs,
    shaft_of_whole,
    steer_of_bare_whole,
    turns_of_whole,
)
from geometry.transmission.scale import LinearScale
from tests.app.scouts import drive_motor, scout, steer_motor

ANGLES = np.linspace(-1.2, 1.2, 25)


@pytest.mark.parametrize("unit", ["degrees", "counts", "microseconds"])
@pytest.mark.parametrize("turned", [False, True])
def test_shafts_come_back_from_what_their_motors_are_told(unit: str, turned: bool) -> None:
    motor = steer_motor("a", {"front left": 0.5}, unit=unit, reversed=turned, zero_deg=7.0)
    scale = LinearScale(motor)
    found = shaft_of_whole(motor, scale, command_whole(motor, scale, ANGLES))
    np.testing.assert_allclose(found, ANGLES, atol=1e-12)


def test_wheels_without_a_motor_come_back_too() -> None:
    np.testing.assert_allclose(steer_of_bare_whole(bare_whole(ANGLES)), ANGLES, atol=1e-15)
    assert steer_of_bare_whole(np.array([9_000.0]))[0] == pytest.approx(np.pi / 2)


@pytest.mark.parametrize(
    ("changes", "usable_rpm"),
    [
        ({}, 150.0),
        ({"usable_rpm": 3.0, "no_load_rpm": 4.0}, 3.0),
        ({"units_per_turn": 360.0}, 150.0),
        ({"units_per_turn": 0.5, "usable_rpm": 90.0}, 90.0),
    ],
)
def test_the_usable_speed_comes_back_in_turns_a_second(changes: dict[str, float], usable_rpm: float) -> None:
    motor = drive_motor("d", {"middle left": 1.0}, **changes)
    (output,) = drive_outputs(scout(motor))
    found = turns_of_whole(motor, output, np.array([output.usable, -0.5 * output.usable]))
    np.testing.assert_allclose(found, np.array([usable_rpm, -0.5 * usable_rpm]) / 60.0, rtol=1e-12)
