from __future__ import annotations

import numpy as np
import pytest

from app.design.samples import sample_design
from geometry.kinematics.robot import robot_of
from geometry.model.design import Design
from geometry.model.packaging import Packaging, Part
from geometry.model.wheel import Wheel
from geometry.packaging.inertia import joined
from geometry.packaging.masses import LEAST_DEFAULT, Weighed, bodies_of, body_outline, part_lump, weighed
from geometry.packaging.weights import balance_of
from sample_chassis import SAMPLES
from tests.geometry.packaging.laden import BARE, LADEN

LONE = Design(wheels=(Wheel(name="one", x_mm=40, y_mm=-20, kind="steered"),))
ALL = {
    "laden": LADEN,
    "bare": BARE,
    "no outline": LADEN.edited(body_mm=()),
    "one wheel": LONE,
    "no wheels": Design(body_mm=((0, 0), (100, 0), (0, 50))),
    "nothing": Design(),
    **{sample.key: sample_design(sample.key) for sample in SAMPLES},
}


def middles(robot):
    """Middle of each wheel, straight ahead, from the kingpin on, (N, 3)."""
    w = robot.wheels
    at = w.x + 1j * w.y + (w.along + 1j * w.across) * np.exp(1j * w.built_in)
    return np.stack([at.real, at.imag, 0.5 * w.diameter], axis=1)


@pytest.mark.parametrize("design", ALL.values(), ids=ALL)
def test_all_that_moves_as_one_has_together_the_mass_and_the_centre_of_the_balance(design) -> None:
    found = weighed(design)
    robot = robot_of(design)
    bodies = bodies_of(robot, found)
    balance = balance_of(robot, found.design, robot.wheels.built_in)
    lumps = [bodies.base, *(lump for lump in bodies.carriers if lump is not None), *bodies.wheels]
    places = [lump.centre for lump in lumps[: len(lumps) - len(robot)]] + list(middles(robot))
    masses = np.array([lump.mass for lump in lumps])
    assert masses.sum() == pytest.approx(balance.mass, rel=1e-12)
    assert masses @ places / masses.sum() == pytest.approx(balance.centre, abs=1e-9)
    assert (masses > 0).all()


def test_masses_that_are_given_stay_and_the_others_go_by_volume() -> None:
    assert weighed(LADEN) == Weighed(LADEN, body=False, wheels=(), parts=())
    mast = LADEN.packaging.parts[1]
    parts = tuple(part.edited(mass_kg=0) if part is mast else part for part in LADEN.packaging.parts)
    wheels = (LADEN.wheels[0].edited(mass_kg=0), *LADEN.wheels[1:])
    found = weighed(LADEN.edited(wheels=wheels, packaging=LADEN.packaging.edited(parts=parts)))
    assert (found.body, found.wheels, found.parts) == (False, (0,), (1,))
    # pi / 4 d2 l, in m3, times 1000 kg/m3.
    assert found.design.packaging.parts[1].mass_kg == pytest.approx(np.pi / 4 * 0.02**2 * 0.16 * 1000)
    assert found.design.wheels[0].mass_kg == pytest.approx(np.pi / 4 * 0.06**2 * 0.025 * 1000)
    assert found.design.wheels[1:] == LADEN.wheels[1:]


def test_a_body_without_a_mass_weighs_what_its_outline_holds() -> None:
    design = Design(body_mm=((0, 0), (0, 200), (300, 200)), packaging=Packaging(floor_mm=20, roof_mm=120))
    assert weighed(design).design.packaging.body_mass_kg == pytest.approx(0.5 * 0.3 * 0.2 * 0.1 * 100)


def test_defaults_are_masses_that_a_design_can_hold() -> None:
    huge = Part(name="huge", length_mm=10_000, width_mm=10_000, height_mm=10_000)
    tiny = Part(name="tiny", length_mm=0.1, width_mm=0.1, height_mm=0.1)
    found = weighed(Design(packaging=Packaging(parts=(huge, tiny)))).design.packaging.parts
    assert [part.mass_kg for part in found] == [10_000, LEAST_DEFAULT]


def test_what_turns_with_a_kingpin_bears_its_parts_or_a_share_of_its_wheel() -> None:
    robot = robot_of(LADEN)
    bodies = bodies_of(robot, weighed(LADEN))
    # The hub is heavier than a tenth of its wheel, the flag is not; the tail has nothing mounted.
    assert bodies.shared == (1, 4)
    assert bodies.carriers[0].mass == pytest.approx(0.15)
    assert bodies.carriers[1].mass == pytest.approx(0.002 + 0.011)
    assert [bodies.carriers[n] for n in (2, 3)] == [None, None]
    assert [lump.mass for lump in bodies.wheels] == pytest.approx([0.12, 0.099, 0.1, 0.13, 0.054])
    # What is mounted on a wheel that does not steer stands still.
    assert bodies.base.mass == pytest.approx(0.9 + 0.7 + 0.2 + 0.3 + 0.05)


def test_a_share_and_the_rest_are_together_the_wheel() -> None:
    """Of a caster with toe, about its middle and along its own axle."""
    wheel = Wheel(name="tail", x_mm=30, y_mm=40, kind="caster", trail_mm=25, mass_kg=0.2, toe_deg=30)
    design = Design(wheels=(wheel,))
    robot = robot_of(design)
    bodies = bodies_of(robot, weighed(design))
    share, rest = bodies.carriers[0], bodies.wheels[0]
    assert share.centre == pytest.approx(middles(robot)[0])
    c, s = np.cos(robot.wheels.built_in[0]), np.sin(robot.wheels.built_in[0])
    back = np.array([[c, s, 0], [-s, c, 0], [0, 0, 1]])
    # m r2 / 2 about the axle, m (3 r2 + l2) / 12 across.
    told = np.diag([0.2 * (3 * 900 + 625) / 12, 0.1 * 900, 0.2 * (3 * 900 + 625) / 12])
    assert back @ share.inertia @ back.T + rest.inertia == pytest.approx(told)


def test_a_body_without_an_outline_lies_about_the_middle_of_the_kingpins() -> None:
    outline = np.array(body_outline(LADEN.edited(body_mm=())))
    pins = np.array([(w.x_mm, w.y_mm) for w in LADEN.wheels])
    assert outline.mean(axis=0) == pytest.approx(pins.mean(axis=0))
    assert np.ptp(outline, axis=0) == pytest.approx(np.ptp(pins, axis=0))
    assert np.ptp(body_outline(LONE), axis=0) == pytest.approx([60, 60])


def test_the_base_is_its_body_and_parts_joined() -> None:
    bodies = bodies_of(robot_of(LADEN), weighed(LADEN))
    bare = bodies_of(robot_of(LADEN), weighed(LADEN.edited(packaging=LADEN.packaging.edited(parts=()))))
    parts = [part_lump(LADEN.packaging.parts[p]) for p in (0, 1, 2, 5)]
    whole = joined([bare.base, *parts])
    assert bodies.base.inertia == pytest.approx(whole.inertia)
