from __future__ import annotations

import pytest
from hypothesis import given

from app.controller import fingerprint
from app.controller.fingerprint import NEVER, fingerprint_of
from app.design.samples import sample_design
from geometry.model.controller import Controller
from geometry.model.design import Design
from geometry.model.motors import DriveMotor, Gearing, SteerMotor
from geometry.model.packaging import Packaging
from geometry.model.wheel import Wheel
from tests.strategies import motored_designs

SCOUT = sample_design("marsh_scout_motors")
# What is told of a robot and does not move it.
ASIDE = {
    "name": "other",
    "notes": "note",
    "body_mm": ((0.0, 0.0), (10.0, 0.0), (0.0, 10.0)),
    "hole_pitch_mm": 3.0,
    "aligned_within_deg": 0.7,
    "slight_drag_within_deg": 3.0,
}


def first_wheel(design: Design, **changes: object) -> Design:
    return design.edited(wheels=(design.wheels[0].edited(**changes), *design.wheels[1:]))


def first_motor(design: Design, kind: str, **changes: object) -> Design:
    first, *rest = getattr(design, kind)
    return design.edited(**{kind: (first.edited(**changes), *rest)})


def renamed(design: Design) -> Design:
    """The same robot under other names."""
    new = {wheel.name: f"w {i}" for i, wheel in enumerate(design.wheels)}

    def motor(one: SteerMotor | DriveMotor, name: str) -> SteerMotor | DriveMotor:
        return one.edited(name=name, wheels=tuple(g.edited(wheel=new[g.wheel]) for g in one.wheels))

    return design.edited(
        packaging=Packaging(),
        wheels=tuple(w.edited(name=new[w.name]) for w in design.wheels),
        steer_motors=tuple(motor(m, f"s {i}") for i, m in enumerate(design.steer_motors)),
        drive_motors=tuple(motor(m, f"d {i}") for i, m in enumerate(design.drive_motors)),
        left_reference=None,
        right_reference=None,
    )


@pytest.mark.parametrize("key", ASIDE)
def test_what_does_not_move_the_robot_does_not_count(key: str) -> None:
    assert fingerprint_of(SCOUT.edited(**{key: ASIDE[key]})) == fingerprint_of(SCOUT)


def test_a_fingerprint_has_64_digits_and_no_names() -> None:
    assert len(fingerprint_of(SCOUT)) == 64
    assert fingerprint_of(renamed(SCOUT)) == fingerprint_of(SCOUT)
    controller = SCOUT.controller.edited(prefix="other")
    assert fingerprint_of(SCOUT.edited(controller=controller)) == fingerprint_of(SCOUT)


@pytest.mark.parametrize(
    "moved",
    [
        first_wheel(SCOUT, x_mm=1.0),
        first_wheel(SCOUT, trail_mm=1.0),
        first_wheel(SCOUT, load_share=2.0),
        first_wheel(SCOUT, travel_max_deg=20.0),
        first_motor(SCOUT, "steer_motors", zero_deg=1.0),
        first_motor(SCOUT, "steer_motors", reversed=True),
        first_motor(SCOUT, "steer_motors", top_speed_deg_s=90.0),
        first_motor(SCOUT, "drive_motors", usable_rpm=20.0),
        SCOUT.edited(largest_turn=0.5),
        SCOUT.edited(base_axle_x_mm=7.0),
        SCOUT.edited(controller=SCOUT.controller.edited(error=0.3)),
        SCOUT.edited(controller=SCOUT.controller.edited(hold=False)),
    ],
)
def test_what_moves_the_robot_counts(moved: Design) -> None:
    assert fingerprint_of(moved) != fingerprint_of(SCOUT)


def test_a_train_counts_as_the_ratio_that_it_has() -> None:
    held = SCOUT.steer_motors[0].wheels
    trained = (Gearing(wheel=held[0].wheel, train=((20, -50),)), *held[1:])
    as_ratio = (Gearing(wheel=held[0].wheel, ratio=0.4), *held[1:])
    one, other = (first_motor(SCOUT, "steer_motors", wheels=w) for w in (trained, as_ratio))
    assert fingerprint_of(one) == fingerprint_of(other) != fingerprint_of(SCOUT)


def test_two_numbers_count_as_the_ratio_that_they_make() -> None:
    held = SCOUT.steer_motors[0].wheels
    typed = (Gearing(wheel=held[0].wheel, proportion=(12.0, 36.0)), *held[1:])
    as_ratio = (Gearing(wheel=held[0].wheel, ratio=12.0 / 36.0), *held[1:])
    one, other = (first_motor(SCOUT, "steer_motors", wheels=w) for w in (typed, as_ratio))
    assert fingerprint_of(one) == fingerprint_of(other) != fingerprint_of(SCOUT)


@pytest.mark.parametrize(
    ("model", "keys"),
    [
        (Wheel, "WHEEL_KEYS"),
        (SteerMotor, "STEER_MOTOR_KEYS"),
        (DriveMotor, "DRIVE_MOTOR_KEYS"),
        (Controller, "CONTROLLER_KEYS"),
    ],
)
def test_every_key_either_counts_or_never_does(model: type, keys: str) -> None:
    counted = set(getattr(fingerprint, keys)) | set(
        getattr(fingerprint, keys.replace("_KEYS", "_LATE_KEYS"), ())
    )
    assert counted | NEVER[model.__name__] == set(model.model_fields)
    assert not counted & NEVER[model.__name__]


@given(motored_designs())
def test_every_design_has_one(design: Design) -> None:
    assert fingerprint_of(design) == fingerprint_of(design.edited(notes="other"))
