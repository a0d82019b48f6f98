"""Chassis driven in MuJoCo by the angles and speeds of the exported table.

The engine knows contact, friction and joints, and nothing of turn centres. Measured here:
yaw rate within 3e-5 of the prediction, turn centre within 0.03 %, sideways slip at most
0.02 % of the wheel speed, and every wrong table at least 47 times that slip. The bounds
below leave a little room; the factor of twelve is the least that counts as telling apart.
"""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Callable
from dataclasses import replace

import pytest

from app.controller.steering_table import slugs_of, table_of
from app.design.samples import sample_design
from app.export.csv_table import render
from geometry.model.base_axle import base_of
from geometry.model.design import Design
from tests.outside.rolling_rig import FAST, Drive, RigWheel, drive

SIX, FOUR = "marsh_scout_six", "reed_cart_four"


def rig_wheels(built: Design, told: Design, turn: float) -> list[RigWheel]:
    """Wheels standing where `built` has them, set as the exported table of `told` says."""
    (row,) = csv.DictReader(io.StringIO(render(table_of(told, [turn]))))
    found = []
    for wheel, slug in zip(built.wheels, slugs_of([w.name for w in built.wheels]), strict=True):
        steered = row.get(f"{slug}_steer_deg")
        # Toe-in turns a left-hand wheel to the right.
        toe = -wheel.toe_deg if wheel.y_mm + wheel.lateral_offset_mm >= 0 else wheel.toe_deg
        degrees = float(row[f"{slug}_heading_deg"]) if steered is None else float(steered) + toe
        heading = math.radians(degrees)
        c, s = math.cos(heading), math.sin(heading)
        found.append(
            RigWheel(
                x=0.001 * (wheel.x_mm - wheel.trail_mm * c - wheel.lateral_offset_mm * s),
                y=0.001 * (wheel.y_mm - wheel.trail_mm * s + wheel.lateral_offset_mm * c),
                radius=0.0005 * wheel.diameter_mm,
                heading=heading,
                speed=float(row[f"{slug}_speed"]) if wheel.driven else None,
            )
        )
    return found


def driven(built: Design, turn: float) -> Drive:
    return drive(rig_wheels(built, built, turn))


@pytest.mark.parametrize(
    ("sample", "turn"),
    [(SIX, 0.1), (SIX, -0.3), (SIX, 0.5), (SIX, 0.8), (SIX, 1.0), (SIX, -1.0), (FOUR, 0.1), (FOUR, -0.3)],
)
def test_a_chassis_set_by_its_table_turns_about_the_centre_and_does_not_drag(
    sample: str, turn: float
) -> None:
    design = sample_design(sample)
    base = base_of(design)
    found = driven(design, turn)
    half_track = 0.001 * base.half_track
    assert found.yaw_rate == pytest.approx(FAST * turn / half_track, rel=5e-5)
    # From the speeds alone: v_R - v_L = omega * track, and the centre is on the base axle.
    radius = half_track * (1.0 - abs(turn)) / turn
    reach = math.hypot(radius, half_track)
    assert found.centre[0] == pytest.approx(0.001 * base.x, abs=5e-4 * reach)
    assert found.centre[1] == pytest.approx(radius, abs=5e-4 * reach)
    assert found.slip < 2.5e-4


@pytest.mark.parametrize("sample", [SIX, FOUR])
def test_a_chassis_set_to_go_straight_goes_straight(sample: str) -> None:
    found = driven(sample_design(sample), 0.0)
    assert abs(found.yaw_rate) < 1e-6
    assert found.slip < 1e-5


Mutant = Callable[[Design, float], list[RigWheel]]


def swapped_sides(design: Design, turn: float) -> list[RigWheel]:
    """Each steered wheel takes the angle of its partner on the other side."""
    wheels = rig_wheels(design, design, turn)
    partner = {(w.x_mm, w.y_mm): i for i, w in enumerate(design.wheels)}
    angles = [wheels[partner[w.x_mm, -w.y_mm]].heading for w in design.wheels]
    return [replace(wheel, heading=angle) for wheel, angle in zip(wheels, angles, strict=True)]


def wrong_rear_sign(design: Design, turn: float) -> list[RigWheel]:
    """The rear corners steer the same way as the front ones."""
    return [
        replace(wheel, heading=-wheel.heading) if wheel.x < -0.01 else wheel
        for wheel in rig_wheels(design, design, turn)
    ]


def one_magnitude(design: Design, turn: float) -> list[RigWheel]:
    """Every corner turned by the mean of all, as without any geometry."""
    wheels = rig_wheels(design, design, turn)
    sizes = [
        abs(w.heading) for w, model in zip(wheels, design.wheels, strict=True) if model.kind == "steered"
    ]
    mean = sum(sizes) / len(sizes)
    return [
        replace(wheel, heading=math.copysign(mean, wheel.heading)) if model.kind == "steered" else wheel
        for wheel, model in zip(wheels, design.wheels, strict=True)
    ]


def _told_otherwise(along: float, across: float) -> Mutant:
    def made(design: Design, turn: float) -> list[RigWheel]:
        told = design.edited(
            wheels=tuple(w.edited(x_mm=along * w.x_mm, y_mm=across * w.y_mm) for w in design.wheels)
        )
        return rig_wheels(design, told, turn)

    return made


MUTANTS: dict[str, Mutant] = {
    "swapped sides": swapped_sides,
    "wrong rear sign": wrong_rear_sign,
    "one magnitude": one_magnitude,
    "wheelbase 10 % long": _told_otherwise(1.1, 1.0),
    "wheelbase 10 % short": _told_otherwise(0.9, 1.0),
    "track 10 % wide": _told_otherwise(1.0, 1.1),
    "track 10 % narrow": _told_otherwise(1.0, 0.9),
}


@pytest.mark.parametrize(
    ("sample", "turn", "mutant"),
    [(SIX, turn, mutant) for turn in (0.1, 0.3, 0.5, 1.0) for mutant in MUTANTS]
    # The rear wheels of the cart do not steer.
    + [(FOUR, turn, mutant) for turn in (0.1, 0.3) for mutant in MUTANTS if mutant != "wrong rear sign"],
)
def test_a_wrong_table_shows_at_once(sample: str, turn: float, mutant: str) -> None:
    design = sample_design(sample)
    right = driven(design, turn)
    wrong = drive(MUTANTS[mutant](design, turn))
    assert wrong.slip > 12.0 * right.slip
    assert wrong.slip > 0.001
