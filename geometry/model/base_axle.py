"""The base axle, and the two points on it whose speeds are the side speeds."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from geometry.axes import Floats
from geometry.model.design import BESIDE_MM, Design
from geometry.model.wheel import Kind
from geometry.model.wheel_arrays import straight_contacts, wheel_arrays

BaseSource = Literal["chosen", "fixed wheels", "steered wheels", "origin"]
_AXLE_RULES: tuple[tuple[Kind, BaseSource], ...] = (("fixed", "fixed wheels"), ("steered", "steered wheels"))


@dataclass(frozen=True)
class Base:
    """The base axle and the two points on it whose speeds are the side speeds.

    Side speeds are measured on the base axle, abreast of the contact points of the
    reference wheels; where those stand on the base axle that is their rolling speed.
    """

    x: float
    """Position of the base axle [mm]."""
    y_left: float
    """Where v_L is measured [mm]."""
    y_right: float
    """Where v_R is measured [mm]; below `y_left`."""
    left: int | None
    """Index of the left reference wheel; None where no wheel stands there."""
    right: int | None
    """Index of the right reference wheel; None where no wheel stands there."""
    source: BaseSource
    """Where `x` comes from."""

    @property
    def half_track(self) -> float:
        """Half of the distance between the reference points, h [mm]."""
        return 0.5 * (self.y_left - self.y_right)

    @property
    def middle(self) -> float:
        """Middle of the reference points [mm]."""
        return 0.5 * (self.y_left + self.y_right)


# Half-track where a chassis has no wheel beside its centre line [mm].
DEFAULT_HALF_TRACK_MM = 100.0


def base_of(design: Design) -> Base:
    """Find the base axle and the reference points of a design.

    The base axle is where the builder put it; else the load-weighted mean of the fixed
    wheels' contact points, which for one fixed axle is that axle and for two equally
    loaded parallel ones lies midway (SAE J695, turning centre); else the same mean of the
    steered wheels; else the origin.

    The side references are the builder's; else on each side, of the wheels whose contact
    points stand at least 1 mm beside the centre line straight ahead: any other before a
    caster, driven or not; then driven before free; then the one whose contact point is
    nearest to the base axle; then the outermost. A bare side mirrors the other side.

    Examples
    --------
    >>> base_of(Design())
    Base(x=0.0, y_left=100.0, y_right=-100.0, left=None, right=None, source='origin')
    """
    contact_x, contact_y = straight_contacts(wheel_arrays(design))
    x, source = _base_axle(design, contact_x)
    off_axle = np.abs(contact_x - x)
    left = _reference(design, design.left_reference, off_axle, contact_y)
    right = _reference(design, design.right_reference, off_axle, -contact_y)
    y_left = None if left is None else float(contact_y[left])
    y_right = None if right is None else float(contact_y[right])
    if y_left is None:
        y_left = -y_right if y_right is not None and y_right <= -BESIDE_MM else DEFAULT_HALF_TRACK_MM
    if y_right is not None and y_left - y_right < BESIDE_MM and design.left_reference is None:
        y_left, left = y_right + 2 * DEFAULT_HALF_TRACK_MM, None  # the chosen right stays
    if y_right is None or y_left - y_right < BESIDE_MM:
        y_right, right = (-y_left if y_left >= BESIDE_MM else y_left - 2 * DEFAULT_HALF_TRACK_MM), None
    return Base(x, y_left, y_right, left, right, source)


def _base_axle(design: Design, contact_x: Floats) -> tuple[float, BaseSource]:
    if design.base_axle_x_mm is not None:
        return design.base_axle_x_mm, "chosen"
    kinds = [wheel.kind for wheel in design.wheels]
    for kind, source in _AXLE_RULES:
        if kind in kinds:
            of_kind = [i for i, other in enumerate(kinds) if other == kind]
            places = contact_x[of_kind]
            if np.ptp(places) == 0:  # an average could differ in the last bit
                return float(places[0]), source
            loads = [design.wheels[i].load_share for i in of_kind]
            return float(np.average(places, weights=loads)), source
    return 0.0, "origin"


def _reference(design: Design, chosen: str | None, off_axle: Floats, outward: Floats) -> int | None:
    """Pick the reference wheel of one side by its contact's distances to axle and to that side [mm]."""
    if chosen is not None:
        return design.index_of(chosen)
    # A kingpin exactly 1 mm off must not fail by rounding.
    beside = [i for i in range(len(design.wheels)) if outward[i] >= BESIDE_MM - 1e-9]

    def order(i: int) -> tuple[bool, bool, float, float, str]:
        wheel = design.wheels[i]
        far = round(float(off_axle[i]), 6)
        return wheel.kind == "caster", not wheel.driven, far, -float(outward[i]), wheel.name

    return min(beside, key=order, default=None)
