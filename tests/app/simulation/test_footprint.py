"""What of the robot covers the ground, and where."""

from __future__ import annotations

import numpy as np
import pytest

from app.design.samples import sample_design
from app.simulation.footprint import footprint_of
from geometry.kinematics.alignment import contacts
from geometry.kinematics.robot import robot_of
from geometry.model.design import Design
from geometry.model.packaging import Part
from geometry.model.wheel import Wheel

TRAILING = Design(
    wheels=(
        Wheel(name="a", x_mm=100.0, y_mm=80.0, trail_mm=30.0, lateral_offset_mm=12.0, width_mm=20.0),
        Wheel(name="b", x_mm=-100.0, y_mm=-80.0, kind="fixed"),
        Wheel(name="c", x_mm=-100.0, y_mm=80.0, kind="caster", trail_mm=25.0),
    )
)
POSES = np.array([(0.0, 0.0, 0.0), (300.0, -40.0, 2.0)])


def made(design: Design):
    return footprint_of(design, robot_of(design))


def test_contacts_are_those_of_the_kinematics_put_at_the_pose() -> None:
    headings = np.array([(0.3, 0.0, -2.0), (1.2, 0.0, 0.7)])
    found = made(TRAILING).contacts(POSES, headings)
    for m, (x, y, turn) in enumerate(POSES):
        own = np.stack(contacts(robot_of(TRAILING).wheels, headings[m : m + 1]), axis=-1)[0]
        there = own[:, 0] + 1j * own[:, 1]
        want = there * np.exp(1j * turn) + complex(x, y)
        np.testing.assert_allclose(found[m, :, 0] + 1j * found[m, :, 1], want, atol=1e-9)


def test_the_outline_of_a_wheel_stands_about_its_contact_and_turns_with_it() -> None:
    footprint, headings = made(TRAILING), np.array([(0.3, 0.0, -2.0), (1.2, 0.0, 0.7)])
    outline, places = footprint.outlines(POSES, headings), footprint.contacts(POSES, headings)
    for n, mover in enumerate(footprint.movers):
        assert mover.wheel == n
        np.testing.assert_allclose(outline[n].mean(axis=1), places[:, n], atol=1e-9)
        edge = outline[n][:, 0] - outline[n][:, 1]
        turn = np.arctan2(edge[:, 1], edge[:, 0]) - POSES[:, 2] - headings[:, n]
        np.testing.assert_allclose(np.sin(turn), 0.0, atol=1e-9)
        assert np.hypot(*edge.T) == pytest.approx(TRAILING.wheels[n].diameter_mm)


def test_a_part_within_the_body_is_left_out_and_a_round_one_beyond_it_is_a_ring() -> None:
    design = sample_design("marsh_scout_motors")
    out = Part(name="mast", shape="upright cylinder", x_mm=400.0, y_mm=0.0, diameter_mm=30.0, height_mm=50.0)
    parts = (*design.packaging.parts, out)
    design = design.edited(packaging=design.packaging.edited(parts=parts))
    footprint = made(design)
    names = {mover.name for mover in footprint.movers if mover.what == "part"}
    assert "mast" in names
    assert len(names) < len(parts)
    ring = footprint.outlines(POSES, np.zeros((2, 6)))[-1][1]
    middle = np.array([300.0 + 400.0 * np.cos(2.0), -40.0 + 400.0 * np.sin(2.0)])
    np.testing.assert_allclose(np.hypot(*(ring - middle).T), 15.0)
    assert footprint.reach == pytest.approx(415.0)


def test_a_chassis_without_wheels_or_body_covers_nothing() -> None:
    footprint = made(Design())
    assert footprint.outlines(POSES, np.zeros((2, 0))) == []
    assert footprint.witnesses(POSES, np.zeros((2, 0))).shape == (2, 4, 2)
