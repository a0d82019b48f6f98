"""One wheel, as the builder sets it."""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from geometry.errors import Problem
from geometry.model.frozen import BrokenRule, Frozen, Name

Kind = Literal["fixed", "steered", "caster"]
KINDS: tuple[Kind, ...] = ("fixed", "steered", "caster")

Position = Annotated[float, Field(ge=-10_000, le=10_000)]


class Wheel(Frozen):
    """One wheel. Lengths in millimetres and angles in degrees, as in the file."""

    name: Name = Field(description="Name, unique within the chassis")
    x_mm: Position = Field(description="Kingpin, forward of the origin")
    y_mm: Position = Field(description="Kingpin, to the left of the origin")
    kind: Kind = Field("fixed", description="fixed, steered, or caster (follows by itself)")
    diameter_mm: float = Field(60.0, ge=5, le=2_000, description="Rolling diameter")
    width_mm: float = Field(25.0, ge=1, le=1_000, description="Tyre width")
    trail_mm: float = Field(
        0.0, ge=-1_000, le=1_000, description="Contact point behind the kingpin, along the wheel"
    )
    lateral_offset_mm: float = Field(
        0.0, ge=-1_000, le=1_000, description="Contact point to the left of the kingpin, across the wheel"
    )
    toe_deg: float = Field(
        0.0,
        ge=-45,
        le=45,
        description="Built-in angle, toe-in positive (ISO 8855); a wheel whose contact point is on "
        "the centre line counts as a left-hand one",
    )
    travel_min_deg: float = Field(-180.0, ge=-180, le=0, description="Furthest steer angle to the right")
    travel_max_deg: float = Field(180.0, ge=0, le=180, description="Furthest steer angle to the left")
    driven: bool = Field(default=False, description="Driven by a motor; otherwise it rolls free")
    load_share: float = Field(
        1.0, ge=0.001, le=1_000, description="Weight that it carries, relative to the others"
    )
    mass_kg: float = Field(0.0, ge=0, le=10_000, description="Mass of the wheel itself")

    @model_validator(mode="after")
    def _check(self) -> Self:
        if self.travel_min_deg >= self.travel_max_deg:
            rule = f"must be above travel_min_deg, which is {self.travel_min_deg:g}"
            raise BrokenRule(Problem("travel_max_deg", rule, f"{self.travel_max_deg:g}"))
        return self
