"""A chassis with all that can weigh something, lopsided on purpose."""

from __future__ import annotations

from geometry.model.design import Design
from geometry.model.motors import DriveMotor, Gearing, SteerMotor
from geometry.model.packaging import Packaging, Part
from geometry.model.wheel import Wheel

WHEELS = (
    Wheel(
        name="front left",
        x_mm=150,
        y_mm=140,
        kind="steered",
        trail_mm=12,
        lateral_offset_mm=20,
        toe_deg=3,
        travel_min_deg=-70,
        travel_max_deg=50,
        mass_kg=0.12,
    ),
    Wheel(name="front right", x_mm=150, y_mm=-140, kind="steered", toe_deg=3, mass_kg=0.11, diameter_mm=80),
    Wheel(name="rear left", x_mm=-140, y_mm=150, toe_deg=2, mass_kg=0.1, driven=True, lateral_offset_mm=5),
    Wheel(name="rear right", x_mm=-140, y_mm=-150, mass_kg=0.13, driven=True, width_mm=40),
    Wheel(name="tail", x_mm=-260, y_mm=10, kind="caster", trail_mm=25, mass_kg=0.06, diameter_mm=40),
)
PARTS = (
    Part(
        name="battery",
        kind="battery",
        x_mm=-40,
        y_mm=12,
        bottom_mm=30,
        turn_deg=35,
        length_mm=120,
        width_mm=60,
        height_mm=40,
        mass_kg=0.7,
    ),
    Part(
        name="mast",
        shape="upright cylinder",
        x_mm=80,
        y_mm=-30,
        bottom_mm=100,
        height_mm=160,
        diameter_mm=20,
        mass_kg=0.2,
    ),
    Part(
        name="drive",
        kind="motor",
        shape="lying cylinder",
        x_mm=-100,
        y_mm=60,
        bottom_mm=25,
        turn_deg=-70,
        length_mm=70,
        diameter_mm=30,
        mass_kg=0.3,
    ),
    Part(
        name="hub",
        mounted_on="front left",
        x_mm=160,
        y_mm=120,
        bottom_mm=50,
        turn_deg=20,
        length_mm=30,
        width_mm=20,
        height_mm=25,
        mass_kg=0.15,
    ),
    Part(
        name="flag",
        mounted_on="front right",
        shape="upright cylinder",
        x_mm=150,
        y_mm=-140,
        bottom_mm=90,
        height_mm=60,
        diameter_mm=4,
        mass_kg=0.002,
    ),
    Part(
        name="guard",
        mounted_on="rear left",
        x_mm=-140,
        y_mm=120,
        bottom_mm=60,
        length_mm=60,
        width_mm=5,
        height_mm=10,
        mass_kg=0.05,
    ),
)
# Clockwise, with a bay and a slanted nose.
BODY = ((-180, -90), (-180, 90), (-60, 90), (-60, 40), (60, 40), (60, 90), (150, 60), (190, 0), (150, -80))
LADEN = Design(
    name="Laden",
    wheels=WHEELS,
    body_mm=BODY,
    base_axle_x_mm=-140,
    steer_motors=(
        SteerMotor(
            name="front",
            wheels=(
                Gearing(wheel="front right", ratio=0.5),
                Gearing(wheel="front left", train=((12, 20), (30, 60))),
            ),
            travel_min_deg=-90,
            travel_max_deg=100,
            top_speed_deg_s=240,
        ),
    ),
    drive_motors=(
        DriveMotor(
            name="rear",
            reversed=True,
            usable_rpm=120,
            wheels=(Gearing(wheel="rear left", ratio=0.5), Gearing(wheel="rear right", ratio=-0.75)),
        ),
    ),
    packaging=Packaging(floor_mm=25, roof_mm=95, wall_mm=2, body_mass_kg=0.9, parts=PARTS),
)
BARE = LADEN.edited(
    wheels=tuple(wheel.edited(mass_kg=0) for wheel in WHEELS),
    packaging=LADEN.packaging.edited(body_mass_kg=0, parts=tuple(part.edited(mass_kg=0) for part in PARTS)),
)
"""The same without any mass."""
