"""Chassis that written code finds hard: hardly any wheels, flips, extreme numbers, nasty names."""

from __future__ import annotations

from collections.abc import Callable

from app.design.samples import sample_design
from geometry.model.design import Design
from geometry.model.motors import DriveMotor, Gearing, SteerMotor
from geometry.model.wheel import Wheel
from tests.unpacked import unpacked

# Comment ends, quotes, escapes, trigraphs, words of C and Python, no letters at all, and a bidi override.
NASTY_NAMES = (
    '*/ #error "1" /*',
    '"""; import os; """',
    "??/",
    "\\",
    "while",
    "%s ${p} $head {0}",
    "\u202eleft\u200b",
    "/*/**/*/",
    "'] = 0 #",
    "steers",
)


def single_wheel() -> Design:
    """One steered wheel, ahead of a base axle that the builder chose."""
    return Design(wheels=(Wheel(name="only", x_mm=200.0, y_mm=0.0, kind="steered"),), base_axle_x_mm=0.0)


def single_fixed_wheel() -> Design:
    """One wheel that cannot steer."""
    return Design(wheels=(Wheel(name="only", x_mm=0.0, y_mm=0.0),))


def two_driven() -> Design:
    """Two fixed wheels with a motor each; nothing steers."""
    wheels = tuple(Wheel(name=n, x_mm=0.0, y_mm=y, driven=True) for n, y in (("L", 90.0), ("R", -90.0)))
    motors = tuple(DriveMotor(name=f"motor {n}", wheels=(_on(n),), usable_rpm=61.7) for n in ("L", "R"))
    return Design(wheels=wheels, drive_motors=motors)


def short_travel(key: str) -> Callable[[], Design]:
    """A sample whose steered wheels turn no further than 80 degrees, so that they flip."""

    def made() -> Design:
        design = sample_design(key)
        return design.edited(wheels=tuple(_short(w) for w in design.wheels), name=f"{key} that flips")

    return made


def _short(wheel: Wheel) -> Wheel:
    return wheel.edited(travel_min_deg=-80.0, travel_max_deg=80.0) if wheel.kind == "steered" else wheel


def mixed_motors() -> Design:
    """Each corner on a motor of another kind: counts, reversed pulses, degrees by gears, none at all."""
    design = short_travel("marsh_scout_six")()
    corners = [wheel.name for wheel in design.wheels if wheel.kind == "steered"]
    return design.edited(
        steer_motors=(
            SteerMotor(name="fine", wheels=(_on(corners[0], -0.5),), unit="counts", counts_per_turn=1e6),
            SteerMotor(
                name="servo", wheels=(_on(corners[1]),), unit="microseconds", reversed=True, zero_deg=3.5
            ),
            SteerMotor(
                name="geared",
                wheels=(Gearing(wheel=corners[2], train=((12, 20, 36), (10, 40))),),
                travel_min_deg=-3_600.0,
                travel_max_deg=3_600.0,
            ),
        )
    )


def trailing(travel: float) -> Callable[[], Design]:
    """Two steered, driven wheels with trail, lateral offset and toe, each on motors of its own."""

    def made() -> Design:
        sides = (("left", 1.0), ("right", -1.0))
        front = tuple(
            Wheel(
                name=name,
                x_mm=70.0,
                y_mm=60.0 * side,
                kind="steered",
                trail_mm=20.0,
                lateral_offset_mm=10.0 * side,
                toe_deg=2.0,
                travel_min_deg=-travel,
                travel_max_deg=travel,
                driven=True,
            )
            for name, side in sides
        )
        rear = tuple(Wheel(name=f"rear {name}", x_mm=0.0, y_mm=80.0 * side) for name, side in sides)
        return Design(
            wheels=front + rear,
            steer_motors=tuple(SteerMotor(name=f"turn {w.name}", wheels=(_on(w.name, -2.0),)) for w in front),
            drive_motors=tuple(DriveMotor(name=f"drive {w.name}", wheels=(_on(w.name),)) for w in front),
        )

    return made


def finest_counts() -> Design:
    """The most counts a turn and the most turns that the model allows: 200 million counts of travel."""
    design = single_wheel()
    motor = SteerMotor(
        name="finest",
        wheels=(_on("only", 0.05),),
        unit="counts",
        counts_per_turn=1e7,
        zero_deg=-1_000.0,
        travel_min_deg=-3_600.0,
        travel_max_deg=3_600.0,
    )
    return design.edited(steer_motors=(motor,))


def finest_gears() -> Design:
    """Ten thousand turns of the motor for one of the wheel, and a hold that any place satisfies."""
    motor = SteerMotor(
        name="geared",
        wheels=(_on("only", 1e-4),),
        unit="counts",
        counts_per_turn=1e7,
        top_speed_deg_s=36_000.0,
    )
    motor = motor.edited(travel_min_deg=-3_600.0, travel_max_deg=3_600.0)
    design = single_wheel().edited(steer_motors=(motor,))
    return design.edited(controller=design.controller.edited(hold_within_deg=180.0))


def fine_motors() -> Design:
    """Motors of so many counts, told so exactly, that a value takes four bytes."""
    design = sample_design("marsh_scout_motors")
    motors = tuple(motor.edited(counts_per_turn=1e6) for motor in design.steer_motors)
    return design.edited(steer_motors=motors, controller=design.controller.edited(error=0.01))


def near_the_stopped_side() -> Design:
    """A wheel that turns so fast near a turn input of a half that a turn step takes four bytes."""
    return Design(
        wheels=(
            Wheel(name="near", x_mm=8.0, y_mm=100.0, kind="steered"),
            Wheel(name="left", x_mm=0.0, y_mm=100.0),
            Wheel(name="right", x_mm=0.0, y_mm=-100.0),
        )
    )


def slow_drive() -> Design:
    """Motors so slow that their speeds need hundredths, on gears that the outer wheel soon overruns."""
    design = sample_design("marsh_scout_motors")
    motors = tuple(m.edited(usable_rpm=2.5, units_per_turn=17.5) for m in design.drive_motors)
    return design.edited(drive_motors=motors)


def unlike_drives() -> Design:
    """Drive motors of unlike usable speed, the last one the slowest, and one told in its own units."""
    design = sample_design("marsh_scout_motors")
    first, last = design.drive_motors
    slow = last.edited(usable_rpm=0.6 * last.usable_rpm, units_per_turn=17.5)
    return design.edited(drive_motors=(first, slow))


def mixed_motors_turned() -> Design:
    """The same corners with the motor of the least travel first."""
    design = mixed_motors()
    return design.edited(steer_motors=design.steer_motors[::-1], name="mixed, the other way round")


def unlike_wheels() -> Design:
    """A motor of one wheel, and one of two wheels that turn against each other and suit no one angle."""
    wheels = (
        Wheel(name="lone", x_mm=120.0, y_mm=75.0, kind="steered", driven=True),
        Wheel(name="front", x_mm=90.0, y_mm=-70.0, kind="steered", toe_deg=1.0, driven=True),
        Wheel(name="rear", x_mm=-140.0, y_mm=-60.0, kind="steered"),
        Wheel(name="left", x_mm=0.0, y_mm=80.0, driven=True),
        Wheel(name="right", x_mm=0.0, y_mm=-80.0),
    )
    both = SteerMotor(name="both", wheels=(_on("front", 0.5), _on("rear", -0.5)), unit="counts")
    return Design(
        wheels=wheels,
        steer_motors=(SteerMotor(name="one", wheels=(_on("lone"),)), both),
        drive_motors=(
            DriveMotor(name="middle", wheels=(_on("left"),)),
            DriveMotor(name="turned", wheels=(_on("front"),)),
        ),
    )


def nastily_named() -> Design:
    """Names that try to break out of comments, strings and identifiers."""
    design = unpacked(sample_design("marsh_scout_motors"))
    new = {w.name: NASTY_NAMES[i] for i, w in enumerate(design.wheels)}

    def renamed(motor: SteerMotor | DriveMotor, name: str) -> SteerMotor | DriveMotor:
        return motor.edited(name=name, wheels=tuple(g.edited(wheel=new[g.wheel]) for g in motor.wheels))

    more = NASTY_NAMES[len(new) :]
    changes = {
        "name": NASTY_NAMES[0] + NASTY_NAMES[2],
        "wheels": tuple(w.edited(name=new[w.name]) for w in design.wheels),
        "steer_motors": tuple(renamed(m, more[i]) for i, m in enumerate(design.steer_motors)),
        "drive_motors": tuple(renamed(m, more[i + 2]) for i, m in enumerate(design.drive_motors)),
    }
    return design.edited(left_reference=None, right_reference=None, **changes)


def _on(wheel: str, ratio: float = 1.0) -> Gearing:
    return Gearing(wheel=wheel, ratio=ratio)


ODD: dict[str, Callable[[], Design]] = {
    "a single wheel": single_wheel,
    "a single fixed wheel": single_fixed_wheel,
    "two driven wheels": two_driven,
    "motors": lambda: sample_design("marsh_scout_motors"),
    "flips": short_travel("marsh_scout_six"),
    "flips with motors": short_travel("marsh_scout_motors"),
    "misbuilt flips": short_travel("misbuilt_scout"),
    "trail that flips": trailing(80.0),
    "trail to the travel's end": trailing(40.0),
    "mixed motors": mixed_motors,
    "finest counts": finest_counts,
    "finest gears": finest_gears,
    "slow drive": slow_drive,
    "nasty names": nastily_named,
}
MORE: dict[str, Callable[[], Design]] = {
    "values of four bytes": fine_motors,
    "turn steps of four bytes": near_the_stopped_side,
    "unlike drives": unlike_drives,
    "unlike wheels": unlike_wheels,
    "mixed motors, turned round": mixed_motors_turned,
}
"""Chassis that are easy for all but the written code."""
