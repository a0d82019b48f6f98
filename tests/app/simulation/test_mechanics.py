"""Drag by closed forms, motors with steps and ends, and what moves without motors."""

from __future__ import annotations

import numpy as np
import pytest

from app.design.edits import change_wheels
from app.design.samples import sample_design
from geometry.kinematics.motion import from_turn
from geometry.model.driving import Move, Script
from tests.app.scouts import DRIVES, LEFT, RIGHT, scout, steer_motor
from tests.app.simulation.driven import code_of, headless, joined, with_controller

SIX = sample_design("marsh_scout_six")


def test_a_wheel_with_toe_drags_by_its_sine_over_the_way() -> None:
    design = change_wheels(SIX, [2], toe_deg=3.0)
    blocks = headless(code_of(design), Script(name="s", moves=(Move(turn=0.0, speed=0.7, amount=2.0),)))
    way, drag = joined(blocks, "distance")[-1], joined(blocks, "drag")[-1]
    assert way > 300.0
    assert drag[2] == pytest.approx(way * np.sin(np.radians(3.0)), rel=1e-9)
    assert np.delete(drag, 2).max() < 1e-9


def test_a_trailing_wheel_drags_about_its_kingpin_while_the_robot_stands() -> None:
    front = [n for n, w in enumerate(SIX.wheels) if w.kind == "steered"][:1]
    design = with_controller(change_wheels(SIX, front, trail_mm=12.0), hold=True, creep_permille=0)
    # Held at rest until the steering is there, which this move does not wait for.
    blocks = headless(code_of(design), Script(name="s", moves=(Move(turn=0.6, speed=0.5, amount=0.2),)))
    heading, way = joined(blocks, "heading"), joined(blocks, "distance")
    assert way[40] == 0.0
    turned = abs(heading[39, front[0]])
    assert turned > 0.3
    assert joined(blocks, "drag")[40, front[0]] == pytest.approx(12.0 * turned, rel=1e-9)


def test_a_stepper_stands_at_whole_steps_of_its_shaft() -> None:
    coarse = [m.edited(step_deg=2.5, backlash_deg=0.0) for m in (LEFT, RIGHT)]
    blocks = headless(
        code_of(scout(*coarse, *DRIVES)), Script(name="s", moves=(Move(turn=0.21, speed=0.6, amount=3.0),))
    )
    steer = np.degrees(joined(blocks, "steer")[-1])
    fine = np.degrees(
        joined(
            headless(
                code_of(scout(LEFT, RIGHT, *DRIVES)),
                Script(name="s", moves=(Move(turn=0.21, speed=0.6, amount=3.0),)),
            ),
            "steer",
        )[-1]
    )
    np.testing.assert_allclose(steer / 2.5, np.round(steer / 2.5), atol=1e-9)
    assert 0.05 < np.abs(steer - fine).max() <= 1.25 + 0.11


def test_a_motor_stops_at_its_end_of_travel_even_without_the_clamp() -> None:
    short = [
        steer_motor(
            "left", {"front left": 1.0, "rear left": -1.0}, travel_min_deg=-20.0, travel_max_deg=20.0
        ),
        RIGHT,
    ]
    design = with_controller(scout(*short, *DRIVES), clamp=False)
    blocks = headless(code_of(design), Script(name="s", moves=(Move(turn=0.5, speed=0.6, amount=3.0),)))
    assert np.degrees(np.abs(joined(blocks, "steer")[:, 0])).max() == pytest.approx(20.0, abs=1e-9)


def test_without_motors_the_chassis_moves_as_its_sides_ask() -> None:
    blocks = headless(code_of(SIX), Script(name="s", moves=(Move(turn=0.3, speed=0.5, amount=4.0),)))
    twist = joined(blocks, "twist")[700]
    base = code_of(SIX).programme.chassis.robot.base
    due = from_turn(0.3, base, 0.5 * SIX.driving.full_speed_mm_s).twist[0]
    # Sides are whole thousandths.
    np.testing.assert_allclose(twist, due, rtol=2e-3, atol=1e-9)
