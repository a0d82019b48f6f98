"""Chassis whose gauges are hard to draw: crowded, lopsided, tiny, huge, with motors of every unit."""

from __future__ import annotations

from app.design.samples import sample_design
from geometry.model.design import Design
from geometry.model.motors import Gearing, SteerMotor
from geometry.model.wheel import Wheel
from sample_chassis import SAMPLES
from tests.app.export.robots import flipping, many_wheels
from tests.app.scouts import FRONT, LEFT, REAR, RIGHT, scout


def wheel(name: str, x: float, y: float, **more: object) -> Wheel:
    return Wheel.model_validate({"name": name, "x_mm": x, "y_mm": y, "kind": "steered", **more})


def pair(*motors: SteerMotor, x: float = 100.0, y: float = 80.0, **more: object) -> Design:
    """Two wheels that mirror each other, on motors by the names left and right, before a fixed axle."""
    fixed = tuple(Wheel(name=f"rear {n}", x_mm=-x, y_mm=side) for n, side in (("l", y), ("r", -y)))
    steered = (wheel("left", x, y, **more), wheel("right", x, -y, **more))
    return Design(name="Pair", wheels=(*steered, *fixed), steer_motors=motors)


def servo(name: str, on: str, **more: object) -> SteerMotor:
    return SteerMotor.model_validate({"name": name, "wheels": (Gearing(wheel=on, ratio=1.0),), **more})


def geared(name: str, on: str, **more: object) -> SteerMotor:
    """By a train that turns the sense round and goes to a third."""
    gearing = Gearing(wheel=on, train=((12, 36),))
    return SteerMotor.model_validate(
        {"name": name, "wheels": (gearing,), "travel_min_deg": -300, "travel_max_deg": 300, **more}
    )


PULSES = pair(
    servo("servo l", "left", unit="microseconds", zero_deg=5.0, us_per_90_deg=900.0),
    servo("servo r", "right", unit="microseconds", zero_deg=-3.0, reversed=True, neutral_us=1_520.0),
    travel_min_deg=-70,
    travel_max_deg=70,
)
COUNTS = pair(
    geared("motor l", "left", unit="counts", counts_per_turn=1_000_000.0, zero_deg=40.0),
    geared("motor r", "right", unit="counts", counts_per_turn=2_048.0, reversed=True),
    travel_min_deg=-40,
    travel_max_deg=95,
)
DEGREES = pair(servo("head", "left", zero_deg=10.25), geared("tail", "right", zero_deg=-7.5, reversed=True))
LONG = "Λ" * 40
CASES: dict[str, Design] = {
    **{sample.key: sample_design(sample.key) for sample in SAMPLES},
    "pulses": PULSES,
    "counts": COUNTS,
    "degrees": DEGREES,
    "flips": flipping(),
    "flips without motors": pair(travel_min_deg=-60, travel_max_deg=60, x=-100.0).edited(
        base_axle_x_mm=150.0
    ),
    "shared": scout(FRONT, REAR),
    "shared by side": scout(RIGHT, LEFT),
    "toe": pair(toe_deg=4.0, trail_mm=8.0),
    "much toe": pair(toe_deg=-40.0),
    "offset": pair(lateral_offset_mm=18.0),
    "far offset": pair(lateral_offset_mm=-60.0, trail_mm=50.0, diameter_mm=40.0),
    "thin": pair(width_mm=2.0, diameter_mm=110.0),
    "tiny": pair(x=20.0, y=14.0, diameter_mm=8.0, width_mm=3.0),
    "huge": pair(x=4_000.0, y=1_500.0, diameter_mm=900.0, width_mm=250.0),
    "over the rim": pair(x=4_000.0, y=1_500.0, diameter_mm=1_800.0, width_mm=250.0, trail_mm=300.0),
    "all round": pair(),
    "hardly any travel": pair(travel_min_deg=-0.5, travel_max_deg=0.5),
    "one way": pair(travel_min_deg=0, travel_max_deg=170),
    "twelve": many_wheels(12),
    "long names": Design(
        name="潮" * 40,
        wheels=(wheel("潮" * 20, 100, 0, toe_deg=3), wheel(LONG, -100, 0), Wheel(name="f", x_mm=0, y_mm=90)),
        steer_motors=(servo("W" * 40, LONG), servo("Ж" * 40, "潮" * 20, unit="microseconds")),
    ),
}
