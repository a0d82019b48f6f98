"""The parts of a chassis as comma-separated values after RFC 4180, with the unit in each column's name."""

from __future__ import annotations

import csv
import io

from geometry.model.design import Design

_COLUMNS = (
    "name",
    "kind",
    "shape",
    "length_mm",
    "width_mm",
    "height_mm",
    "diameter_mm",
    "x_mm",
    "y_mm",
    "bottom_mm",
    "turn_deg",
    "mass_kg",
    "motor",
)
# A spreadsheet would work out a cell that begins so.
_FORMULA = ("=", "+", "-", "@")


def render(design: Design) -> str:
    """Write one line for each part, each wheel, and the body where there is one.

    What a thing has not is empty; a mass of 0 is one that nobody gave. A name that a spreadsheet would
    take for a formula has an apostrophe before it.
    """
    text = io.StringIO()
    writer = csv.DictWriter(text, _COLUMNS, restval="", lineterminator="\r\n")
    writer.writeheader()
    for part in design.packaging.parts:
        values = {key: getattr(part, key) for key in _COLUMNS}
        motor = "" if part.motor is None else _plain(part.motor)
        writer.writerow({**_written(values), "name": _plain(part.name), "motor": motor})
    for wheel in design.wheels:
        keys = ("diameter_mm", "width_mm", "x_mm", "y_mm", "mass_kg")
        values = {"kind": "wheel", **{key: getattr(wheel, key) for key in keys}}
        writer.writerow({**_written(values), "name": _plain(wheel.name)})
    if design.body_mm or design.packaging.body_mass_kg:
        writer.writerow(_written({"name": "Body", "kind": "body", "mass_kg": design.packaging.body_mass_kg}))
    return text.getvalue()


def _written(values: dict[str, object]) -> dict[str, str]:
    """Numbers with at most nine digits, nothing where there is none."""
    return {
        key: "" if value is None else format(value, ".9g") if isinstance(value, float) else str(value)
        for key, value in values.items()
    }


def _plain(name: str) -> str:
    return f"'{name}" if name.startswith(_FORMULA) else name
