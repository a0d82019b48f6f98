"""What every view of a chassis asks first: its scale, and whether there is anything to draw."""

from __future__ import annotations

from geometry.errors import AxlewrightError
from geometry.model.design import Design

LEAST_SCALE, LARGEST_SCALE = 0.001, 10.0
NOTHING = "This chassis has no wheels, no body and no parts yet, so there is nothing to draw."


def check_scale(scale: float) -> None:
    """Refuse a scale out of range.

    Raises
    ------
    AxlewrightError
        If it is not from 0.001 to 10.
    """
    if not LEAST_SCALE <= scale <= LARGEST_SCALE:
        raise AxlewrightError(
            f"the scale must be from {LEAST_SCALE:g} to {LARGEST_SCALE:g} (got {scale:g}); 1 is full size"
        )


def has_nothing(design: Design) -> bool:
    """Whether a design has nothing that a view could show."""
    packaging = design.packaging
    return not (design.wheels or design.body_mm or packaging.parts or packaging.openings)
