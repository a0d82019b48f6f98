"""What a wheel, a body corner or the turn centre says of itself while the mouse rests on it."""

from __future__ import annotations

import numpy as np

from app.design.references import Reference
from app.picture.view import View
from app.units import LengthUnit, show_angle, show_length
from geometry.model.part_outline import tall


def wheel_tip(view: View, index: int, unit: LengthUnit) -> str:
    """Name, kind, place, angle and state of a wheel."""
    wheel, row = view.design.wheels[index], view.rows[index]
    kind = f"{wheel.kind}, driven" if wheel.driven else wheel.kind
    points = (
        f"steered to {show_angle(row.steer)}"
        if wheel.kind == "steered"
        else f"points {show_angle(row.heading)}"
    )
    return (
        f"{wheel.name}: {kind}\n{_place(wheel.x_mm, wheel.y_mm, unit)}\n"
        f"{points}, {'; '.join((row.state, *row.notes))}"
    )


def corner_tip(view: View, index: int, unit: LengthUnit) -> str:
    """Number and place of a corner of the body."""
    return f"body corner {index + 1}\n{_place(*view.design.body_mm[index], unit)}"


def part_tip(view: View, index: int, unit: LengthUnit) -> str:
    """Name, kind, place and heights of a part."""
    part = view.design.packaging.parts[index]
    top = show_length(part.bottom_mm + tall(part), unit)
    return (
        f"{part.name}: {part.kind}\n{_place(part.x_mm, part.y_mm, unit)}\n"
        f"from {show_length(part.bottom_mm, unit)} to {top} above the ground"
    )


def centre_tip(view: View, unit: LengthUnit) -> str:
    """Radius and place of the turn centre."""
    x, y = view.centre.tolist()
    size = abs(view.true_radius)
    side = "left" if view.true_radius > 0 else "right"
    radius = (
        "on the chassis centre line" if size < 0.05 else f"radius {show_length(size, unit, of_mm=1)} {side}"
    )
    return f"turn centre: {radius}\n{_place(x, y, unit)}"


def tip_of(view: View, thing: Reference | None, unit: LengthUnit) -> str:
    """What a thing says; of the turn centre where there is none given."""
    if thing is None:
        return centre_tip(view, unit) if np.isfinite(view.centre).all() else ""
    tips = {"wheel": wheel_tip, "part": part_tip}
    return tips.get(thing.kind, corner_tip)(view, thing.index, unit)


def title_of(view: View, thing: Reference | None) -> str:
    """What the menu of a thing is headed by; that of the turn centre where there is none given."""
    if thing is None:
        return "turn centre"
    if thing.kind == "wheel":
        return view.design.wheels[thing.index].name
    if thing.kind == "part":
        return view.design.packaging.parts[thing.index].name
    return f"body corner {thing.index + 1}"


def _place(x: float, y: float, unit: LengthUnit) -> str:
    return f"x {show_length(x, unit)}, y {show_length(y, unit)}"
