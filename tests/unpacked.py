"""A chassis as it was before anything was said of what must fit in it."""

from __future__ import annotations

from geometry.model.design import Design
from geometry.model.driving import Driving
from geometry.model.packaging import Packaging


def unpacked(design: Design) -> Design:
    """The same wheels and motors without parts, which name motors, masses and scripts."""
    wheels = tuple(wheel.edited(mass_kg=0.0) for wheel in design.wheels)
    return design.edited(packaging=Packaging(), driving=Driving(), wheels=wheels)
