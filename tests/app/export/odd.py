"""Chassis of all kinds, for what writes a whole design: laden, bare, many-wheeled, tiny, huge, hostile."""

from __future__ import annotations

from app.design.samples import sample_design
from geometry.model.design import Design
from geometry.model.motors import Gearing, SteerMotor
from geometry.model.packaging import Packaging
from geometry.model.wheel import Wheel
from sample_chassis import SAMPLES
from tests.app.export.robots import many_wheels
from tests.geometry.packaging.laden import BARE, LADEN

HOSTILE = (
    "--><robot/><!--",
    "----",
    "a--b-",
    '"/><link name="x"/>',
    "]]>&amp;<![CDATA[",
    "base_link",
    "front left",
    "Front-Left",
    "左の車輪",
    "عجلة",
    "\u202e\ufffe\U000e0001*/",
    "<img src='x'>",
    "x" * 40,
)


def hostile() -> Design:
    """Every wheel, part and motor bears a name that would like to be something else."""
    wheels = tuple(
        Wheel(name=name, x_mm=100.0 * n, y_mm=50.0 * (-1) ** n, kind="steered", driven=True)
        for n, name in enumerate(HOSTILE)
    )
    part = LADEN.packaging.parts[0]
    parts = tuple(part.edited(name=name) for name in HOSTILE)
    motors = (
        SteerMotor(name="--><!-- m --", wheels=tuple(Gearing(wheel=name, ratio=1.0) for name in HOSTILE[:3])),
    )
    return Design(
        name="--><x/>", wheels=wheels, steer_motors=motors, packaging=LADEN.packaging.edited(parts=parts)
    )


ODD: dict[str, Design] = {
    "laden": LADEN,
    "bare": BARE,
    "no outline": BARE.edited(body_mm=()),
    "24 wheels": many_wheels(24),
    "hostile": hostile(),
    "huge": Design(
        wheels=tuple(
            Wheel(
                name=f"{x} {y}", x_mm=x, y_mm=y, kind="steered", diameter_mm=1500, width_mm=600, driven=True
            )
            for x in (-4500, 4500)
            for y in (-4500, 4500)
        ),
        body_mm=((-5000, -3500), (5000, -3500), (4000, 3500), (-5000, 3500)),
        packaging=Packaging(floor_mm=800, roof_mm=3000),
    ),
    "tiny": Design(wheels=(Wheel(name="w", x_mm=0, y_mm=30, diameter_mm=5, width_mm=1),)),
    **{sample.key: sample_design(sample.key) for sample in SAMPLES},
}
