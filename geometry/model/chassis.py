"""The design: wheels, body outline, base axle and reference wheels, all that the builder sets."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, fields
from typing import Annotated, Literal, Self

import numpy as np
import numpy.typing as npt
from pydantic import Field, model_validator

from geometry.axes import Bools, Floats, frozen_array
from geometry.errors import Problem
from geometry.model.controller import Controller
from geometry.model.frozen import BrokenRule, Frozen, Name
from geometry.model.motors import MOST_MOTORS, DriveMotor, SteerMotor, motor_problems
from geometry.plane import crossing_edges

Kind = Literal["fixed", "steered", "caster"]
KINDS: tuple[Kind, ...] = ("fixed", "steered", "caster")

Position = Annotated[float, Field(ge=-10_000, le=10_000)]
Corner = tuple[Position, Position]

# Two kingpins nearer than this are the same place for a builder [mm].
SAME_POINT_MM = 0.01
# A contact nearer than this to the centre line stands beside it on neither side, and the
# points of the side speeds are at least this far apart [mm].
BESIDE_MM = 1.0
MOST_WHEELS = 64
MOST_CORNERS = 200


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

    @model_validator(mode="after")
    def _check(self) -> Self:
        if self.travel_min_deg >= self.travel_max_deg:
            rule = f"must be above travel_min_deg, which is {self.travel_min_deg:g}"
            raise BrokenRule(Problem("travel_max_deg", rule, f"{self.travel_max_deg:g}"))
        return self


class Design(Frozen):
    """A whole chassis, immutable and always valid."""

    name: Name = Field("New chassis", description="Name of the chassis")
    notes: str = Field("", max_length=4_000, description="Free text")
    wheels: tuple[Wheel, ...] = Field((), max_length=MOST_WHEELS)
    body_mm: tuple[Corner, ...] = Field(
        (), max_length=MOST_CORNERS, description="Corners of the body outline as [x, y]; empty for none"
    )
    base_axle_x_mm: Position | None = Field(
        None, description="Line across the chassis on which turn centres lie; null: from the fixed wheels"
    )
    steer_motors: tuple[SteerMotor, ...] = Field(
        (), max_length=MOST_MOTORS, description="Motors that turn wheels about their kingpins"
    )
    drive_motors: tuple[DriveMotor, ...] = Field(
        (), max_length=MOST_MOTORS, description="Motors that drive wheels"
    )
    left_reference: Name | None = Field(
        None, description="Wheel whose side speed is v_L; null: chosen by rule"
    )
    right_reference: Name | None = Field(
        None, description="Wheel whose side speed is v_R; null: chosen by rule"
    )
    hole_pitch_mm: float | None = Field(
        None, ge=0.1, le=1_000, description="Pitch of the hole pattern; null: none"
    )
    largest_turn: float = Field(
        1.0, ge=0.01, le=1, description="Largest turn input in use; checks and tables stop there"
    )
    aligned_within_deg: float = Field(
        0.5, ge=0.001, le=45, description="Slip angle up to which a wheel is aligned"
    )
    slight_drag_within_deg: float = Field(
        2.0, ge=0.001, le=45, description="Slip angle up to which drag is slight"
    )

    controller: Controller = Field(Controller(), description="What the robot's controller gets")

    @model_validator(mode="after")
    def _check(self) -> Self:
        broken = [
            *_name_problems(self.wheels),
            *_place_problems(self.wheels),
            *_body_problems(self.body_mm),
            *_reference_problems(self),
            *motor_problems(
                {wheel.name: (wheel.kind, wheel.driven) for wheel in self.wheels},
                self.steer_motors,
                self.drive_motors,
            ),
        ]
        if self.slight_drag_within_deg < self.aligned_within_deg:
            rule = f"must be at least aligned_within_deg, which is {self.aligned_within_deg:g}"
            broken.append(Problem("slight_drag_within_deg", rule, f"{self.slight_drag_within_deg:g}"))
        if broken:
            raise BrokenRule(*broken)
        return self

    def index_of(self, name: str) -> int:
        """Return the position of the wheel of that name, which must exist."""
        return next(i for i, wheel in enumerate(self.wheels) if wheel.name == name)


def _name_problems(wheels: tuple[Wheel, ...]) -> list[Problem]:
    counts = Counter(wheel.name.casefold() for wheel in wheels)
    if len(counts) == len(wheels):
        return []
    first: dict[str, int] = {}
    broken = []
    for i, wheel in enumerate(wheels):
        key = wheel.name.casefold()
        if key in first:
            rule = f"must differ from wheels[{first[key]}].name; capitals do not count"
            broken.append(Problem(f"wheels[{i}].name", rule, repr(wheel.name)))
        first.setdefault(key, i)
    return broken


def _place_problems(wheels: tuple[Wheel, ...]) -> list[Problem]:
    if len(wheels) < 2:
        return []
    points = np.array([(wheel.x_mm, wheel.y_mm) for wheel in wheels])
    gap = np.abs(points[:, None, :] - points[None, :, :]).max(axis=2)
    broken = []
    for i, j in np.argwhere(np.triu(gap < SAME_POINT_MM, k=1)):
        rule = f"must not stand on wheels[{i}] ({wheels[i].name}); move one of them"
        broken.append(Problem(f"wheels[{j}].x_mm", rule, f"x {points[j, 0]:g}, y {points[j, 1]:g}"))
    return broken


def _body_problems(body: tuple[Corner, ...]) -> list[Problem]:
    if not body:
        return []
    if len(body) < 3:
        return [Problem("body_mm", "must have at least 3 corners, or none", f"{len(body)}")]
    points = np.array(body)
    for i in range(len(body)):
        if np.abs(points[i] - points[i - 1]).max() < SAME_POINT_MM:
            x, y = body[i]
            rule = f"must not repeat body_mm[{(i - 1) % len(body)}]; remove one of them"
            return [Problem(f"body_mm[{i}]", rule, f"x {x:g}, y {y:g}")]
    crossing = crossing_edges(points)
    if crossing is None:
        return []
    i, j = crossing
    rule = f"must not cross itself: the edge from body_mm[{i}] meets the edge from body_mm[{j}]"
    return [Problem("body_mm", rule)]


def _reference_problems(design: Design) -> list[Problem]:
    names = {wheel.name for wheel in design.wheels}
    broken = []
    for field, name in (
        ("left_reference", design.left_reference),
        ("right_reference", design.right_reference),
    ):
        if name is not None and name not in names:
            broken.append(Problem(field, "must name a wheel of this chassis, or be null", repr(name)))
    if broken or design.left_reference is None or design.right_reference is None:
        return broken
    _, contact_y = _straight_contacts(wheel_arrays(design))
    left, right = design.index_of(design.left_reference), design.index_of(design.right_reference)
    if contact_y[left] - contact_y[right] < BESIDE_MM:
        rule = "must stand at least 1 mm to the left of right_reference"
        broken.append(Problem("left_reference", rule, repr(design.left_reference)))
    return broken


@dataclass(frozen=True)
class WheelArrays:
    """All wheels of a design as read-only arrays of shape (N,); mm and rad."""

    x: Floats
    """Kingpin forward [mm]."""
    y: Floats
    """Kingpin to the left [mm]."""
    along: Floats
    """Contact point ahead of the kingpin along the wheel, e_x = -trail [mm]."""
    across: Floats
    """Contact point to the left of the kingpin across the wheel, e_y [mm]."""
    built_in: Floats
    """Toe as a heading, counter-clockwise positive [rad]: heading = steer + built_in."""
    low: Floats
    """Lower end of travel [rad]."""
    high: Floats
    """Upper end of travel [rad]."""
    diameter: Floats
    """Rolling diameter [mm]."""
    width: Floats
    """Tyre width [mm]."""
    load: Floats
    """Load shares, summing to 1."""
    fixed: Bools
    steered: Bools
    caster: Bools

    def __len__(self) -> int:
        """Number of wheels."""
        return len(self.x)

    def take(self, chosen: npt.ArrayLike) -> WheelArrays:
        """Some of the wheels; the load shares stay as they are.

        Parameters
        ----------
        chosen : array_like
            Indices in any order, or a mask of shape (N,).
        """
        index = np.asarray(chosen)
        index = index if index.size else index.astype(np.int64)
        return WheelArrays(**{f.name: getattr(self, f.name)[index] for f in fields(self)})


def wheel_arrays(design: Design) -> WheelArrays:
    """Lay the wheels out as arrays; here the degrees of wheels become radians.

    Toe-in is positive after ISO 8855:2011, so it turns a left-hand wheel clockwise and a
    right-hand one counter-clockwise. Left-hand is a wheel whose contact point, straight
    ahead, is at y >= 0: a lateral offset can carry it over the centre line.

    Examples
    --------
    >>> left = Wheel(name="L", x_mm=0.0, y_mm=100.0, toe_deg=1.0)
    >>> np.degrees(wheel_arrays(Design(wheels=(left,))).built_in)
    array([-1.])
    >>> len(wheel_arrays(Design()))
    0
    """
    wheels = design.wheels
    rows = [
        (
            w.x_mm,
            w.y_mm,
            -w.trail_mm,
            w.lateral_offset_mm,
            w.toe_deg,
            w.travel_min_deg,
            w.travel_max_deg,
            w.diameter_mm,
            w.width_mm,
            w.load_share,
        )
        for w in wheels
    ]
    table = np.array(rows, dtype=np.float64).reshape(len(wheels), 10).T.copy()
    x, y, along, across, toe, low, high, diameter, width, load = table
    kinds = np.array([w.kind for w in wheels], dtype="<U8")
    return WheelArrays(
        x=frozen_array(x),
        y=frozen_array(y),
        along=frozen_array(along),
        across=frozen_array(across),
        built_in=frozen_array(np.radians(np.where(y + across >= 0, 0.0 - toe, toe))),
        low=frozen_array(np.radians(low)),
        high=frozen_array(np.radians(high)),
        diameter=frozen_array(diameter),
        width=frozen_array(width),
        load=frozen_array(load / load.sum() if len(load) else load),
        fixed=frozen_array(kinds == "fixed", bool),
        steered=frozen_array(kinds == "steered", bool),
        caster=frozen_array(kinds == "caster", bool),
    )


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
    contact_x, contact_y = _straight_contacts(wheel_arrays(design))
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


def _straight_contacts(wheels: WheelArrays) -> tuple[Floats, Floats]:
    """Contact points with steered wheels and casters straight ahead, (N,) each [mm]."""
    heading = np.where(wheels.fixed, wheels.built_in, 0.0)
    tx, ty = np.cos(heading), np.sin(heading)
    return (
        wheels.x + wheels.along * tx - wheels.across * ty,
        wheels.y + wheels.along * ty + wheels.across * tx,
    )


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
