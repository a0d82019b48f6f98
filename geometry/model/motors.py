"""Motors: which one turns or drives which wheels, and through which gears.

A gear train is a list of meshing chains on common shafts: ``((12, 20, 36), (10, 40))`` is
a 12-tooth gear that drives a 36-tooth one through an idler of 20, on whose shaft a gear
of 10 drives one of 40. Each mesh of two external gears turns the sense round, and an
idler changes the sense alone:

    ratio = product of first / last of each chain, times (-1) for each external mesh

(train value, any text on machine elements). A ring gear, toothed inside, has a negative
number of teeth (ISO 21771), so that its mesh keeps the sense. A belt or a chain keeps it
too: write its ratio as a number.
"""

from __future__ import annotations

import difflib
import itertools
import math
from collections.abc import Mapping, Sequence
from typing import Annotated, Literal, Self, TypeVar

from pydantic import Field, model_validator

from geometry.axes import Floats
from geometry.errors import Problem
from geometry.model.frozen import BrokenRule, Frozen, Name

Teeth = Annotated[int, Field(ge=-1_000, le=1_000)]
GearChain = tuple[Teeth, ...]

Part = Annotated[float, Field(ge=-1e6, le=1e6)]

SMALLEST_RATIO, LARGEST_RATIO = 1e-4, 1e3
MOST_MOTORS = 64

Angle = TypeVar("Angle", float, Floats)

SteerUnit = Literal["degrees", "counts", "microseconds"]
STEER_UNITS: tuple[SteerUnit, ...] = ("degrees", "counts", "microseconds")


def ratio_of_train(train: Sequence[Sequence[int]]) -> float:
    """Turns of the last gear for each turn of the first; negative where the sense turns round.

    Parameters
    ----------
    train : sequence of sequences of int
        Numbers of teeth of each chain of meshing gears; none is 0, each chain has two or more.

    Returns
    -------
    float
        Signed ratio, output by input.

    Examples
    --------
    >>> ratio_of_train([[12, 36]])  # one mesh turns the sense round
    -0.3333333333333333
    >>> ratio_of_train([[12, 20, 36], [10, 40]])
    -0.08333333333333333
    >>> ratio_of_train([[20, -80]])  # inside a ring gear
    0.25
    """
    ratio = 1.0
    for chain in train:
        for driver, driven in itertools.pairwise(chain):
            ratio *= -driver / driven
    return ratio


class Gearing(Frozen):
    """How one wheel hangs on a motor: by a ratio, by two numbers, or by a train; by one of the three.

    Two numbers, such as 12:36, are kept as they were typed. They are no text beside a ratio: nothing
    that is written twice could disagree.
    """

    wheel: Name = Field(description="Wheel that the motor turns or drives")
    ratio: float | None = Field(
        None,
        ge=-LARGEST_RATIO,
        le=LARGEST_RATIO,
        description="Turns of the wheel for each turn of the motor, negative in the other sense; "
        "null: from the train or the proportion",
    )
    train: tuple[GearChain, ...] = Field(
        (),
        max_length=10,
        description="Gear train from the motor on: teeth of each chain of meshing gears, idlers "
        "included; a ring gear counts as negative",
    )
    proportion: tuple[Part, Part] | None = Field(
        None,
        description="The ratio as two numbers, turns of the wheel : turns of the motor, such as 12:36; "
        "null where the ratio or the train is given",
    )

    @model_validator(mode="after")
    def _check(self) -> Self:
        problems = _gearing_problems(self.ratio, self.train, self.proportion)
        if problems:
            raise BrokenRule(*problems)
        return self

    @property
    def turns(self) -> float:
        """Turns of the wheel for each turn of the motor."""
        if self.ratio is not None:
            return self.ratio
        if self.proportion is not None:
            wheel, motor = self.proportion
            return wheel / motor
        return ratio_of_train(self.train)


def _gearing_problems(
    ratio: float | None, train: tuple[GearChain, ...], proportion: tuple[float, float] | None
) -> list[Problem]:
    if proportion is not None:
        return _proportion_problems(ratio, train, proportion)
    if ratio is not None and train:
        return [Problem("ratio", "must be null where a train is given; keep one of the two", f"{ratio:g}")]
    if ratio is not None:
        if abs(ratio) < SMALLEST_RATIO:
            rule = f"must not be 0: at least {SMALLEST_RATIO:g} either way, or the wheel would never turn"
            return [Problem("ratio", rule, f"{ratio:g}")]
        return []
    if not train:
        return [Problem("ratio", "must be a number, or train must list the gears")]
    broken = []
    for i, chain in enumerate(train):
        if not 2 <= len(chain) <= 20:
            broken.append(Problem(f"train[{i}]", "must list 2 to 20 gears that mesh", f"{len(chain)}"))
        broken += [
            Problem(f"train[{i}][{j}]", "must not be 0: a gear has teeth", "0")
            for j, teeth in enumerate(chain)
            if teeth == 0
        ]
        broken += [
            Problem(f"train[{i}]", "must not let two ring gears mesh", f"{a} with {b}")
            for a, b in itertools.pairwise(chain)
            if a < 0 and b < 0
        ]
    if not broken and not SMALLEST_RATIO <= abs(ratio_of_train(train)) <= LARGEST_RATIO:
        rule = f"must give a ratio from {SMALLEST_RATIO:g} to {LARGEST_RATIO:g}"
        broken.append(Problem("train", rule, f"{ratio_of_train(train):.3g}"))
    return broken


def _proportion_problems(
    ratio: float | None, train: tuple[GearChain, ...], proportion: tuple[float, float]
) -> list[Problem]:
    wheel, motor = proportion
    shown = f"{wheel:g}:{motor:g}"
    if ratio is not None or train:
        other = "ratio" if ratio is not None else "train"
        return [Problem("proportion", f"must be null where a {other} is given; keep one of the two", shown)]
    zero = [i for i, part in enumerate(proportion) if part == 0]
    if zero:
        rule = "must not be 0: the wheel would never turn, or the motor would not"
        return [Problem(f"proportion[{zero[0]}]", rule, "0")]
    if not SMALLEST_RATIO <= abs(wheel / motor) <= LARGEST_RATIO:
        rule = f"must give a ratio from {SMALLEST_RATIO:g} to {LARGEST_RATIO:g} either way"
        return [Problem("proportion", rule, shown)]
    return []


class SteerMotor(Frozen):
    """A motor that turns one or several wheels about their kingpins.

    Its reading is what its own scale says. Its shaft angle is counted from straight ahead:
    ``shaft = reading - zero_deg``, negated where it is reversed; a wheel's steer angle is
    the shaft angle times its ratio.
    """

    name: Name = Field(description="Name, unique among the motors")
    wheels: tuple[Gearing, ...] = Field(max_length=64, description="Wheels that it turns")
    zero_deg: float = Field(0.0, ge=-3_600, le=3_600, description="Reading with its wheels straight ahead")
    reversed: bool = Field(
        default=False, description="True where its reading grows as its shaft turns clockwise"
    )
    travel_min_deg: float = Field(-180.0, ge=-3_600, le=3_600, description="Lowest reading it can take")
    travel_max_deg: float = Field(180.0, ge=-3_600, le=3_600, description="Highest reading it can take")
    top_speed_deg_s: float = Field(180.0, ge=0.1, le=36_000, description="Largest speed of its shaft")
    backlash_deg: float = Field(0.0, ge=0, le=45, description="Play at its shaft, from end to end")
    step_deg: float = Field(0.0, ge=0, le=45, description="Smallest step of its shaft; 0: stepless")
    unit: SteerUnit = Field(
        "degrees", description="What its controller is told: degrees, counts, or microseconds of pulse"
    )
    counts_per_turn: float = Field(
        4_096.0, ge=1, le=1e7, description="Counts for a whole turn of its shaft, where told in counts"
    )
    neutral_us: float = Field(
        1_500.0, ge=100, le=10_000, description="Pulse at the reading 0, where told in microseconds"
    )
    us_per_90_deg: float = Field(
        1_000.0, ge=1, le=10_000, description="Change of the pulse for 90 degrees of reading"
    )

    @model_validator(mode="after")
    def _check(self) -> Self:
        low, high = self.travel_min_deg, self.travel_max_deg
        broken = _wheel_list_problems(self.wheels)
        if low >= high:
            rule = f"must be above travel_min_deg, which is {low:g}; swap the two"
            broken.append(Problem("travel_max_deg", rule, f"{high:g}"))
        elif not low <= self.zero_deg <= high:
            rule = f"must lie within the travel, {low:g} to {high:g}, so that its wheels can stand straight"
            broken.append(Problem("zero_deg", rule, f"{self.zero_deg:g}"))
        if broken:
            raise BrokenRule(*broken)
        return self


class DriveMotor(Frozen):
    """A motor that drives one or several wheels."""

    name: Name = Field(description="Name, unique among the motors")
    wheels: tuple[Gearing, ...] = Field(max_length=64, description="Wheels that it drives")
    reversed: bool = Field(default=False, description="Whether a positive command turns its shaft backward")
    no_load_rpm: float = Field(200.0, ge=0.1, le=100_000, description="Speed of its shaft without load")
    usable_rpm: float = Field(150.0, ge=0.1, le=100_000, description="Speed that it keeps under load")
    units_per_turn: float | None = Field(
        None,
        ge=1e-3,
        le=1e7,
        description="Its own units (such as encoder counts) for each turn of its shaft; null: turns",
    )

    @model_validator(mode="after")
    def _check(self) -> Self:
        broken = _wheel_list_problems(self.wheels)
        if self.usable_rpm > self.no_load_rpm:
            rule = f"must be at most no_load_rpm, which is {self.no_load_rpm:g}"
            broken.append(Problem("usable_rpm", rule, f"{self.usable_rpm:g}"))
        if broken:
            raise BrokenRule(*broken)
        return self


def _wheel_list_problems(wheels: tuple[Gearing, ...]) -> list[Problem]:
    if not wheels:
        return [Problem("wheels", "must hold at least one wheel; give it one, or remove the motor")]
    return []


def motor_problems(
    kinds: Mapping[str, tuple[str, bool]],
    steer: tuple[SteerMotor, ...],
    drive: tuple[DriveMotor, ...],
) -> list[Problem]:
    """Find what is wrong between motors and wheels.

    Parameters
    ----------
    kinds : mapping of str to (str, bool)
        Kind of each wheel by its name, and whether it is driven.
    steer, drive : tuples of motors
        All motors of a chassis.

    Returns
    -------
    list of Problem
        With places such as ``steer_motors[1].wheels[0].wheel``.
    """
    broken: list[Problem] = []
    names: dict[str, str] = {}
    groups: tuple[tuple[str, tuple[SteerMotor | DriveMotor, ...]], ...] = (
        ("steer_motors", steer),
        ("drive_motors", drive),
    )
    for group, motors in groups:
        holders: dict[str, str] = {}
        for i, motor in enumerate(motors):
            place = f"{group}[{i}]"
            first = names.setdefault(motor.name.casefold(), place)
            if first != place:
                rule = f"must differ from {first}.name; capitals do not count"
                broken.append(Problem(f"{place}.name", rule, repr(motor.name)))
            for j, gearing in enumerate(motor.wheels):
                where = f"{place}.wheels[{j}].wheel"
                rule = _wheel_rule(gearing.wheel, kinds, holders, group)
                if rule:
                    broken.append(Problem(where, rule, repr(gearing.wheel)))
                holders.setdefault(gearing.wheel, motor.name)
    return broken


def _wheel_rule(
    wheel: str, kinds: Mapping[str, tuple[str, bool]], holders: Mapping[str, str], group: str
) -> str:
    if wheel not in kinds:
        close = difflib.get_close_matches(wheel, list(kinds), n=1)
        remedy = f"did you mean {close[0]}?" if close else "take it off the motor"
        return f"must name a wheel of this chassis; {remedy}"
    if wheel in holders:
        return f"must not be held twice: {holders[wheel]} holds it already; take it off one of them"
    kind, driven = kinds[wheel]
    if group == "steer_motors" and kind != "steered":
        return f"must be a steered wheel, but it is {kind}; make it steered, or take it off the motor"
    if group == "drive_motors" and not driven:
        return "must be a driven wheel; mark it as driven, or take it off the motor"
    return ""


def shaft_range(motor: SteerMotor) -> tuple[float, float]:
    """Travel of the shaft, counted from straight ahead [degrees].

    Examples
    --------
    >>> left = Gearing(wheel="left", ratio=1.0)
    >>> shaft_range(SteerMotor(name="A", wheels=(left,), zero_deg=30.0, reversed=True))
    (-150.0, 210.0)
    """
    low, high = motor.travel_min_deg - motor.zero_deg, motor.travel_max_deg - motor.zero_deg
    return (0.0 - high, 0.0 - low) if motor.reversed else (low, high)


def reading_of_shaft(motor: SteerMotor, shaft_deg: Angle) -> Angle:
    """What the motor's own scale says at a shaft angle [degrees].

    Examples
    --------
    >>> left = Gearing(wheel="left", ratio=1.0)
    >>> reading_of_shaft(SteerMotor(name="A", wheels=(left,), zero_deg=90.0, reversed=True), 20.0)
    70.0
    """
    return motor.zero_deg + (-shaft_deg if motor.reversed else shaft_deg)


def command_of_reading(motor: SteerMotor, reading_deg: Angle) -> Angle:
    """What its controller is told for a reading: degrees, counts or microseconds.

    Examples
    --------
    >>> left = Gearing(wheel="left", ratio=1.0)
    >>> command_of_reading(SteerMotor(name="A", wheels=(left,), unit="microseconds"), 45.0)
    2000.0
    """
    match motor.unit:
        case "counts":
            return reading_deg * motor.counts_per_turn / 360.0
        case "microseconds":
            return motor.neutral_us + reading_deg * motor.us_per_90_deg / 90.0
        case _:
            return reading_deg


def rolling_per_turn(motor: DriveMotor, gearing: Gearing, diameter_mm: float) -> float:
    """How far a wheel rolls for each positive turn of its drive motor [mm]; negative backward."""
    return math.pi * diameter_mm * gearing.turns * (-1.0 if motor.reversed else 1.0)
