"""Chassis that a build sheet finds hard: many wheels and parts, long and foreign names, tiny, huge, empty."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

from app.design.samples import sample_design
from geometry.model.design import Design
from geometry.model.motors import DriveMotor, Gearing, SteerMotor
from geometry.model.packaging import Packaging, Part
from geometry.model.wheel import Wheel
from sample_chassis import SAMPLES
from tests.whole.odd_robots import mixed_motors, short_travel, trailing

HOSTILE = (
    "</script><script>alert(1)</script>",
    '"><img src=x onerror=alert(1)>',
    "'><svg onload=alert(1)>",
    "<!-- & --> ]]>",
    "&lt;b&gt;",
    "</title></style>",
)
GREEK, ARABIC, JAPANESE = "εμπρός αριστερά", "الأمام اليسار", "前左の車輪"


def crowd(wheels: int = 24, parts: int = 60) -> Design:
    """Many wheels in pairs and many parts, each with a name of 40 letters, and motors that hold several."""
    made = tuple(
        Wheel(
            name=f"{'front' if n < wheels / 2 else 'rear'} wheel of the long marsh hauler {n:02}"[:40].ljust(
                40, "x"
            ),
            x_mm=60.0 * (wheels / 4 - n // 2),
            y_mm=150.0 if n % 2 == 0 else -150.0,
            kind="steered",
            diameter_mm=50.0,
            width_mm=20.0,
            driven=n < 6,
            travel_min_deg=-80.0,
            travel_max_deg=80.0,
            mass_kg=0.1,
        )
        for n in range(wheels)
    )
    things = tuple(
        Part(
            name=f"part of the survey gear number {n:02} spare"[:40].ljust(40, "y"),
            x_mm=20.0 * (n // 6 - 5),
            y_mm=18.0 * (n % 6 - 2.5),
            bottom_mm=30.0,
            length_mm=15.0,
            width_mm=12.0,
            height_mm=10.0,
            mass_kg=0.05,
        )
        for n in range(parts)
    )
    held = tuple(Gearing(wheel=w.name, train=((12, 20, 36), (10, 40))) for w in made[:8])
    steer = SteerMotor(name="steering motor of the foremost eight wheels"[:40], wheels=held)
    drive = tuple(
        DriveMotor(
            name=f"drive motor of wheel number {n:02}", wheels=(Gearing(wheel=made[n].name, ratio=1.0),)
        )
        for n in range(6)
    )
    half = 60.0 * (wheels / 4) + 60.0
    return Design(
        name="Long marsh hauler with two dozen wheels",
        wheels=made,
        body_mm=((half, 120), (-half, 120), (-half, -120), (half, -120)),
        base_axle_x_mm=0.0,
        largest_turn=0.3,
        packaging=Packaging(parts=things),
        steer_motors=(steer,),
        drive_motors=drive,
    )


def named(*names: str) -> Design:
    """The sample with four motors, with these names for its first wheels, motors and part."""
    design = sample_design("marsh_scout_motors")
    new = {wheel.name: name for wheel, name in zip(design.wheels, names, strict=False)}

    def held(gearings: tuple[Gearing, ...]) -> tuple[Gearing, ...]:
        return tuple(g.edited(wheel=new.get(g.wheel, g.wheel)) for g in gearings)

    first = design.steer_motors[0]
    steer = (
        first.edited(name=f"{names[-1]}"[:40], wheels=held(first.wheels)),
        *(m.edited(wheels=held(m.wheels)) for m in design.steer_motors[1:]),
    )
    parts = tuple(
        part.edited(name=names[0] if n == 0 else part.name, motor=None)
        for n, part in enumerate(design.packaging.parts)
    )
    return design.edited(
        name=names[0],
        notes=" ".join(names),
        wheels=tuple(w.edited(name=new.get(w.name, w.name)) for w in design.wheels),
        steer_motors=steer,
        drive_motors=tuple(m.edited(wheels=held(m.wheels)) for m in design.drive_motors),
        packaging=design.packaging.edited(parts=parts),
    )


def scaled(times: float) -> Design:
    """The six-wheeled sample so many times as large."""
    design = sample_design("marsh_scout_six")
    keys = ("x_mm", "y_mm", "diameter_mm", "width_mm")
    wheels = tuple(w.edited(**{key: times * getattr(w, key) for key in keys}) for w in design.wheels)
    body = tuple((times * x, times * y) for x, y in design.body_mm)
    return design.edited(wheels=wheels, body_mm=body)


DESIGNS: dict[str, Callable[[], Design]] = {
    **{sample.key: partial(sample_design, sample.key) for sample in SAMPLES},
    "crowd": crowd,
    "foreign": lambda: named(GREEK, ARABIC, JAPANESE),
    "hostile": lambda: named(*HOSTILE),
    "tiny": lambda: scaled(0.25),
    "huge": lambda: scaled(30.0),
    "empty": Design,
    "flips": short_travel("marsh_scout_six"),
    "mixed motors": mixed_motors,
    "trailing": trailing(80.0),
}
